//! The chances of all states, season by season, egg by egg; given up when the states become many.

use rustc_hash::FxHashMap;

use super::state::{Catch, Pairing, Stage, State};

/// The most steps of work; beyond, a simulation is as quick and near enough.
const MOST_WORK: usize = 3_000_000;

type Chances = FxHashMap<State, f64>;

/// The chance to be done within each season; `None` if that takes too long.
pub(super) fn chances(stage: &mut Stage<'_>) -> Option<Vec<f64>> {
    let cases = stage.founders.iter().map(Vec::len).fold(1usize, usize::saturating_mul);
    if cases > MOST_WORK / 1000 {
        return None;
    }
    let mut done = vec![0.0; stage.plan.seasons as usize];
    let mut work = 0;
    for case in 0..cases {
        // The case's number, read with one digit an animal, says what each animal is.
        let mut digits = case;
        let mut chance = 1.0;
        let mut founders = Vec::with_capacity(stage.founders.len());
        for kinds in &stage.founders {
            let (code, share) = kinds[digits % kinds.len()];
            digits /= kinds.len();
            chance *= share;
            founders.push(code);
        }
        play(stage, &founders, chance, &mut done, &mut work)?;
    }
    for season in 1..done.len() {
        done[season] += done[season - 1];
    }
    // Rounding may add up to a hair more than 1.
    Some(done.into_iter().map(|chance: f64| chance.clamp(0.0, 1.0)).collect())
}

/// Adds what is newly done in each season.
fn play(stage: &mut Stage<'_>, founders: &[u64], chance: f64, done: &mut [f64], work: &mut usize) -> Option<()> {
    let mut now = Chances::from_iter([(stage.start(), chance)]);
    let mut made = Vec::new();
    for season in 0..stage.plan.seasons {
        let mut after = Chances::default();
        for (mut state, chance) in now.drain() {
            // When it became ready no longer matters once it is.
            for kept in state.groups.iter_mut().flatten() {
                kept.ready = kept.ready.max(season);
            }
            stage.pairings(season, founders, &state, &mut made);
            let mut young = Chances::from_iter([(state, chance)]);
            for pairing in &made {
                young = hatch(stage, *pairing, young, season, &mut done[season as usize], work)?;
            }
            for (state, chance) in young {
                *after.entry(state).or_insert(0.0) += chance;
            }
        }
        now = after;
    }
    Some(())
}

/// Hatches one clutch in every state.
fn hatch(
    stage: &mut Stage<'_>,
    pairing: Pairing,
    before: Chances,
    season: u32,
    done: &mut f64,
    work: &mut usize,
) -> Option<Chances> {
    let catch = stage.catch(pairing);
    let hatchlings = stage.world.hatchlings.clone();
    let mut after = Chances::default();
    let mut still: f64 = 1.0;
    let before_all: f64 = before.values().sum();
    let mut now = before;
    for (n, share) in hatchlings.iter().enumerate() {
        if n > 0 {
            now = one_young(stage, &catch, &now, season, work)?;
        }
        for (state, chance) in &now {
            *after.entry(state.clone()).or_insert(0.0) += share * chance;
        }
        still -= share;
        if still <= 0.0 {
            break;
        }
    }
    *done += before_all - after.values().sum::<f64>();
    Some(after)
}

/// The states after one more young that is not the goal.
fn one_young(stage: &Stage<'_>, catch: &Catch, now: &Chances, season: u32, work: &mut usize) -> Option<Chances> {
    let mut next = Chances::default();
    for (state, chance) in now {
        let mut nobody = 1.0 - catch.goal;
        for young in &catch.young {
            let mut grown = state.clone();
            if stage.place(&mut grown, young, season) {
                nobody -= young.share;
                *next.entry(grown).or_insert(0.0) += chance * young.share;
            }
        }
        *next.entry(state.clone()).or_insert(0.0) += chance * nobody.max(0.0);
        *work += 1 + catch.young.len();
    }
    (*work <= MOST_WORK).then_some(next)
}
