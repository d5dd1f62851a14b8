//! Many runs of the plan, one after another.

use std::rc::Rc;

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

use super::Simulation;
use super::state::{Catch, Pairing, Stage, State};

/// 2^64: a share in whole numbers, so that one draw is compared without arithmetic.
const WHOLE: f64 = 18_446_744_073_709_551_616.0;

/// The share of runs that are done within each season.
pub(super) fn chances(stage: &mut Stage<'_>, simulation: Simulation) -> Vec<f64> {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(simulation.seed);
    let mut done = vec![0u32; stage.plan.seasons as usize];
    let hatchlings = cumulated(stage.world.hatchlings.iter().copied());
    let founders: Vec<Vec<u64>> =
        stage.founders.iter().map(|kinds| cumulated(kinds.iter().map(|(_, chance)| *chance))).collect();
    let mut drawn = vec![0; founders.len()];
    let mut made = Vec::new();
    let start = stage.start();
    let mut state = start.clone();
    let mut nets: Vec<(Pairing, Net)> = Vec::new();
    for _ in 0..simulation.replicates {
        state.clone_from(&start);
        for (i, limits) in founders.iter().enumerate() {
            let kind = if limits.len() > 1 { pick(limits, random.next_u64()) } else { 0 };
            // The last limit may be a hair below 1.
            let kinds = &stage.founders[i];
            drawn[i] = kinds[kind.min(kinds.len() - 1)].0;
        }
        let finished = (0..stage.plan.seasons).find(|season| {
            stage.pairings(*season, &drawn, &state, &mut made);
            made.iter().fold(false, |finished, pairing| {
                let net = if let Some(i) = nets.iter().position(|(known, _)| known == pairing) {
                    &nets[i].1
                } else {
                    let catch = stage.catch(*pairing);
                    nets.push((*pairing, Net::new(catch)));
                    &nets[nets.len() - 1].1
                };
                let n = pick(&hatchlings, random.next_u64());
                net.hatch(stage, &mut state, n, *season, &mut random) || finished
            })
        });
        if let Some(season) = finished {
            done[season as usize] += 1;
        }
    }
    let mut so_far = 0;
    let runs = f64::from(simulation.replicates.max(1));
    done.iter()
        .map(|n| {
            so_far += n;
            f64::from(so_far) / runs
        })
        .collect()
}

/// Upper limits of draws, one for each case.
fn cumulated(shares: impl Iterator<Item = f64>) -> Vec<u64> {
    let mut sum = 0.0;
    shares
        .map(|share| {
            sum += share;
            limit(sum)
        })
        .collect()
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // saturates, and a share is not below 0
fn limit(share: f64) -> u64 {
    (share * WHOLE) as u64
}

/// The first case whose limit is above the draw.
fn pick(limits: &[u64], draw: u64) -> usize {
    limits.iter().position(|limit| draw < *limit).unwrap_or(limits.len().saturating_sub(1))
}

/// A catch, ready for draws.
struct Net {
    catch: Rc<Catch>,
    goal: u64,
    limits: Vec<u64>, // above the goal's
}

impl Net {
    fn new(catch: Rc<Catch>) -> Net {
        let mut sum = catch.goal;
        let limits = catch.young.iter().map(|young| {
            sum += young.share;
            limit(sum)
        });
        let limits = limits.collect();
        Net { goal: limit(catch.goal), limits, catch }
    }

    /// Hatches so many young; whether one is the goal.
    fn hatch(
        &self,
        stage: &Stage<'_>,
        state: &mut State,
        n: usize,
        season: u32,
        random: &mut Xoshiro256PlusPlus,
    ) -> bool {
        let mut finished = false;
        for _ in 0..n {
            let draw = random.next_u64();
            if draw < self.goal {
                finished = true;
            } else if let Some(young) = self.limits.iter().position(|limit| draw < *limit) {
                stage.place(state, &self.catch.young[young], season);
            }
        }
        finished
    }
}
