//! Runs: true genotypes, drawn clutch by clutch, under the policy.

use std::sync::Arc;

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use rustc_hash::FxHashMap;

use super::super::draws::{pick, unit};
use super::super::merit::Merit;
use super::super::world::World;
use super::guise::Guises;
use super::policy::{Class, Mind, Pairs, Policy, Question, Rules};
use super::{Played, Runs, Story};
use crate::engine::inheritance::locus::Sex;
use crate::engine::odds::to_f64;

use super::super::super::Tell;

/// What an animal at hand may be.
pub(super) struct Founder {
    /// Its kinds with their chances.
    pub(super) cases: Vec<(u64, f64)>,
    /// Its genotypes with their chances, locus by locus.
    pub(super) priors: Vec<Vec<(u8, f64)>>,
}

/// An animal of a run: what is seen of it, and what it is.
#[derive(Debug, Clone, Copy)]
struct Beast {
    class: Class,
    truth: u64,
    /// It hatched this season.
    young: bool,
}

/// Limits of draws and what each case is.
struct Catch {
    limits: Vec<f64>,
    young: Vec<(u64, Sex, bool)>,
}

pub(super) struct Player<'a> {
    project: &'a Played<'a>,
    world: &'a World,
    rules: Rules<'a>,
    guises: Guises<'a>,
    minds: Vec<Mind<'a>>,
    founders: Vec<Founder>,
    take: f64,
    rest: f64,
    hatchlings: Vec<f64>, // of a clutch that was laid
    catches: FxHashMap<(u64, u64), Arc<Catch>>,
    paired: FxHashMap<Question, Pairs>,
    held: FxHashMap<Question, Arc<[Class]>>,
}

/// One run, between seasons.
struct Run {
    replicate: u32,
    herd: Vec<Beast>,
}

/// What a season of a run came to.
#[derive(Default)]
struct Season {
    done: bool,
    clutches: u32,
    hatched: u32,
    held: u32,
}

/// Counts of a season over all runs: done, clutches, hatched, kept, held.
type Sums = [u64; 5];

/// Runs that go side by side: few at first, so that a large project that is cut short has some to show.
const FIRST_RUNS: u32 = 16;
const MOST_RUNS: u32 = 4096;
/// So few questions are not worth a second thread.
const FEW: usize = 8;
/// Questions between two looks at whether to go on.
const AT_ONCE: usize = 64;

impl<'a> Player<'a> {
    pub(super) fn new(
        project: &'a Played<'a>,
        world: &'a World,
        merit: &'a Merit,
        founders: Vec<Founder>,
        take: f64,
    ) -> Player<'a> {
        let mut hatchlings = world.hatchlings.clone();
        if take > 0.0 {
            hatchlings[0] -= 1.0 - take;
            for chance in &mut hatchlings {
                *chance = (*chance / take).max(0.0);
            }
        }
        Player {
            project,
            world,
            rules: Rules::new(world, merit, project),
            guises: Guises::new(&world.kinds),
            minds: Vec::new(),
            founders,
            take,
            rest: to_f64(&project.rest),
            hatchlings,
            catches: FxHashMap::default(),
            paired: FxHashMap::default(),
            held: FxHashMap::default(),
        }
    }

    pub(super) fn play(mut self, runs: Runs, go_on: &mut dyn FnMut(u32) -> bool) -> Story {
        self.minds = (0..runs.threads.max(1)).map(|_| Mind::new(&self.rules)).collect();
        let n = self.project.seasons as usize;
        let mut sums: Vec<Sums> = vec![[0; 5]; n];
        let (mut played, mut batch) = (0, FIRST_RUNS);
        while played < runs.replicates && go_on(played) {
            let until = runs.replicates.min(played.saturating_add(batch));
            let mut with = sums.clone();
            if !self.batch(runs.seed, played..until, &mut with, &mut || go_on(played)) {
                break;
            }
            (sums, played) = (with, until);
            batch = (batch * 2).min(MOST_RUNS);
        }
        let runs = f64::from(played.max(1));
        // Sums of small counts over at most a million runs: exact as floating-point numbers.
        let mean = |i: usize| sums.iter().map(|sum| sum[i] as f64 / runs).collect::<Vec<_>>();
        let mut done = mean(0);
        for season in 1..n {
            done[season] += done[season - 1];
        }
        Story { done, clutches: mean(1), hatched: mean(2), kept: mean(3), held: mean(4), replicates: played }
    }

    /// Plays some runs season by season; what must be decided in a season is decided for all of them at once. Whether
    /// they were played to their end.
    fn batch(
        &mut self,
        seed: u64,
        replicates: std::ops::Range<u32>,
        sums: &mut [Sums],
        go_on: &mut dyn FnMut() -> bool,
    ) -> bool {
        let begin = |replicate| Run { replicate, herd: self.start(&mut stream(seed, replicate, u32::MAX)) };
        let mut runs: Vec<Run> = replicates.map(begin).collect();
        if !self.hold(&mut runs, self.project.seasons, go_on) {
            return false;
        }
        for (season, sum) in (0..).zip(sums.iter_mut()) {
            let left = self.project.seasons - season;
            let Some(pairs) = self.pairs(&runs, left, go_on) else { return false };
            let mut going = Vec::with_capacity(runs.len());
            for (mut run, pairs) in runs.into_iter().zip(pairs) {
                let came = self.season(&mut run.herd, &pairs, &mut stream(seed, run.replicate, season));
                for (sum, n) in sum.iter_mut().zip([u32::from(came.done), came.clutches, came.hatched, 0, came.held]) {
                    *sum += u64::from(n);
                }
                if !came.done {
                    going.push(run);
                }
            }
            runs = going;
            if !self.hold(&mut runs, left - 1, go_on) {
                return false;
            }
            for beast in runs.iter_mut().flat_map(|run| &mut run.herd).filter(|beast| beast.young) {
                sum[3] += 1;
                beast.young = false;
            }
        }
        true
    }

    #[expect(clippy::redundant_closure_for_method_calls)] // the method alone is for one lifetime only
    fn pairs(&mut self, runs: &[Run], left: u32, go_on: &mut dyn FnMut() -> bool) -> Option<Vec<Pairs>> {
        let asked: Vec<Question> = runs.iter().map(|run| question(run, left)).collect();
        let Player { rules, guises, minds, paired, .. } = self;
        let all = decide(rules, guises, minds, paired, &asked, go_on, |policy, question| policy.pairs(question));
        all.then(|| asked.iter().map(|question| Arc::clone(&paired[question])).collect())
    }

    /// Lets go whom the policy does not hold.
    #[expect(clippy::redundant_closure_for_method_calls)] // the method alone is for one lifetime only
    fn hold(&mut self, runs: &mut [Run], left: u32, go_on: &mut dyn FnMut() -> bool) -> bool {
        let asked: Vec<Question> = runs.iter().map(|run| question(run, left)).collect();
        let Player { rules, guises, minds, held, .. } = self;
        if !decide(rules, guises, minds, held, &asked, go_on, |policy, question| policy.hold(question)) {
            return false;
        }
        for (run, question) in runs.iter_mut().zip(&asked) {
            let (held, mut next) = (&held[question], 0);
            // Both are sorted by class.
            run.herd.retain(|beast| {
                while next < held.len() && held[next] < beast.class {
                    next += 1;
                }
                let stays = held.get(next) == Some(&beast.class);
                next += usize::from(stays);
                stays
            });
        }
        true
    }

    fn start(&mut self, random: &mut Xoshiro256PlusPlus) -> Vec<Beast> {
        let mut herd = Vec::with_capacity(self.founders.len());
        for (animal, founder) in self.project.animals.iter().zip(&self.founders) {
            let case = pick(founder.cases.iter().map(|(_, chance)| *chance), unit(random));
            let truth = founder.cases[case.unwrap_or(founder.cases.len() - 1)].0;
            let guise = match self.project.tell {
                Tell::Genotype => self.guises.of_kind(truth),
                Tell::Look => self.guises.of(&founder.priors),
            };
            let ready = u8::try_from(animal.ready).unwrap_or(u8::MAX);
            let class = Class { male: animal.sex == Sex::Male, ready, guise };
            herd.push(Beast { class, truth, young: false });
        }
        herd.sort_by_key(|beast| beast.class);
        herd
    }

    fn season(&mut self, herd: &mut Vec<Beast>, pairs: &Pairs, random: &mut Xoshiro256PlusPlus) -> Season {
        let mut came = Season { held: u32::try_from(herd.len()).unwrap_or(u32::MAX), ..Season::default() };
        let mut used = vec![0u32; herd.len()];
        let mut young = Vec::new();
        let mut take = |class: &Class| {
            let most = if class.male { self.project.females_per_male } else { 1 };
            let found = (0..used.len()).find(|i| herd[*i].class == *class && used[*i] < most)?;
            used[found] += 1;
            Some(found)
        };
        // All mates first: a clutch changes what is believed of them.
        let mates: Vec<[usize; 2]> =
            pairs.iter().filter_map(|(male, female)| Some([take(male)?, take(female)?])).collect();
        for mates in mates {
            self.clutch(herd, mates, random, &mut young, &mut came);
        }
        if came.done {
            return came;
        }
        herd.append(&mut young);
        for beast in herd.iter_mut() {
            beast.class.ready = beast.class.ready.saturating_sub(1);
        }
        // By what is seen alone, and those alike as they came: the truth must not decide who is held.
        herd.sort_by_key(|beast| beast.class);
        came
    }

    fn clutch(
        &mut self,
        herd: &mut [Beast],
        [sire, dam]: [usize; 2],
        random: &mut Xoshiro256PlusPlus,
        young: &mut Vec<Beast>,
        came: &mut Season,
    ) {
        // The same draws are made whatever comes of them, so that two projects share their luck.
        let (takes, rests, n) = (unit(random) < self.take, unit(random) < self.rest, unit(random));
        if !takes {
            return;
        }
        came.clutches += 1;
        let n = pick(self.hatchlings.iter().copied(), n).unwrap_or(0);
        let catch = self.catch(herd[sire].truth, herd[dam].truth);
        let first = young.len();
        let mut seen = Vec::with_capacity(n);
        let guises = [herd[sire].class.guise, herd[dam].class.guise];
        for _ in 0..n {
            let draw = unit(random);
            let Some(case) = catch.limits.iter().position(|limit| draw < *limit) else { continue };
            let (truth, sex, goal) = catch.young[case];
            came.hatched += 1;
            came.done |= goal;
            seen.push((truth, sex));
            let guise = match self.project.tell {
                Tell::Genotype => self.guises.of_kind(truth),
                Tell::Look => 0, // once the parents are judged
            };
            let ready = u8::try_from(self.project.maturity.of(sex).max(1)).unwrap_or(u8::MAX);
            young.push(Beast { class: Class { male: sex == Sex::Male, ready, guise }, truth, young: true });
        }
        if self.project.tell == Tell::Look {
            let [of_sire, of_dam] = self.guises.seen(guises[0], guises[1], &seen);
            herd[sire].class.guise = of_sire;
            herd[dam].class.guise = of_dam;
            for beast in &mut young[first..] {
                beast.class.guise = self.guises.of_young(of_sire, of_dam, beast.truth, beast.class.sex());
            }
        }
        if rests {
            // Counted down once before the coming season.
            herd[dam].class.ready = 2;
        }
    }

    fn catch(&mut self, sire: u64, dam: u64) -> Arc<Catch> {
        if let Some(known) = self.catches.get(&(sire, dam)) {
            return Arc::clone(known);
        }
        let mut litter = self.world.all_young(sire, dam);
        litter.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let mut sum = 0.0;
        let limits = litter.iter().map(|(_, share)| {
            sum += share;
            sum
        });
        let catch = Arc::new(Catch { limits: limits.collect(), young: litter.iter().map(|y| y.0).collect() });
        self.catches.insert((sire, dam), Arc::clone(&catch));
        catch
    }
}

fn question(run: &Run, left: u32) -> Question {
    (left, run.herd.iter().map(|beast| beast.class).collect())
}

/// Decides what has not been decided yet, on as many threads as there are minds; whether all of it was.
fn decide<'a, T: Send>(
    rules: &Rules<'a>,
    guises: &Guises<'a>,
    minds: &mut [Mind<'a>],
    known: &mut FxHashMap<Question, T>,
    asked: &[Question],
    go_on: &mut dyn FnMut() -> bool,
    by: impl Fn(&mut Policy<'_, 'a>, &Question) -> T + Sync,
) -> bool {
    let mut new: Vec<&Question> = asked.iter().filter(|question| !known.contains_key(*question)).collect();
    new.sort_unstable();
    new.dedup();
    for some in new.chunks(AT_ONCE) {
        if !go_on() {
            return false;
        }
        let threads = if some.len() < FEW { 1 } else { minds.len() };
        let think = |(i, mind): (usize, &mut Mind<'a>)| {
            let mut policy = Policy { rules, guises, mind };
            let own = some.iter().skip(i).step_by(threads);
            own.map(|question| ((*question).clone(), by(&mut policy, question))).collect::<Vec<_>>()
        };
        let decided = std::thread::scope(|scope| {
            let mut minds = minds.iter_mut().enumerate().take(threads);
            let first = minds.next();
            let think = &think;
            let others: Vec<_> = minds.map(|mind| scope.spawn(move || think(mind))).collect();
            let mut decided = first.map(think).unwrap_or_default();
            for other in others {
                match other.join() {
                    Ok(more) => decided.extend(more),
                    Err(panic) => std::panic::resume_unwind(panic),
                }
            }
            decided
        });
        known.extend(decided);
    }
    true
}

/// The luck of one season of one run.
fn stream(seed: u64, replicate: u32, season: u32) -> Xoshiro256PlusPlus {
    let run = u64::from(replicate) << 32 | u64::from(season);
    Xoshiro256PlusPlus::seed_from_u64(seed ^ run.wrapping_mul(0x9e37_79b9_7f4a_7c15))
}
