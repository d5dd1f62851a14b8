//! Runs: true genotypes, drawn clutch by clutch, under the policy.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use rustc_hash::FxHashMap;

use super::super::draws::{pick, unit};
use super::super::merit::Merit;
use super::super::world::World;
use super::decided::Decided;
use super::guise::Guises;
use super::policy::{Class, Mind, Pairs, Policy, Question, Rules, mates};
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

/// What all threads share: the project, and what has been decided in it.
pub(super) struct Stage<'a> {
    project: &'a Played<'a>,
    world: &'a World,
    rules: Rules<'a>,
    founders: Vec<Founder>,
    take: f64,
    rest: f64,
    hatchlings: Vec<f64>, // of a clutch that was laid
    paired: Decided<Pairs>,
    held: Decided<Arc<[Class]>>,
}

/// Counts of a season, over one run or many: done, clutches, hatched, kept, held.
type Sums = [u64; 5];

/// What a season of a run came to.
#[derive(Default)]
struct Season {
    /// Whether a female and a male of the goal hatched.
    goals: [bool; 2],
    clutches: u32,
    hatched: u32,
    held: u32,
}

impl<'a> Stage<'a> {
    pub(super) fn new(
        project: &'a Played<'a>,
        world: &'a World,
        merit: &'a Merit,
        founders: Vec<Founder>,
        take: f64,
    ) -> Stage<'a> {
        let mut hatchlings = world.hatchlings.clone();
        if take > 0.0 {
            hatchlings[0] -= 1.0 - take;
            for chance in &mut hatchlings {
                *chance = (*chance / take).max(0.0);
            }
        }
        Stage {
            project,
            world,
            rules: Rules::new(world, merit, project),
            founders,
            take,
            rest: to_f64(&project.rest),
            hatchlings,
            paired: Decided::default(),
            held: Decided::default(),
        }
    }

    /// Plays the runs one by one, each on whichever thread is free: what comes of a run depends on nothing else.
    pub(super) fn play(&self, runs: Runs, go_on: &(dyn Fn(u32) -> bool + Sync)) -> Story {
        let (next, played) = (AtomicU32::new(0), AtomicU32::new(0));
        let n = self.project.seasons as usize;
        let some = || {
            let mut player = Player::new(self);
            let mut sums: Vec<Sums> = vec![[0; 5]; n];
            loop {
                let replicate = next.fetch_add(1, Ordering::Relaxed);
                if replicate >= runs.replicates {
                    return sums;
                }
                // A run that is cut short does not count.
                let Some(came) = player.run(runs.seed, replicate, &|| go_on(played.load(Ordering::Relaxed))) else {
                    return sums;
                };
                played.fetch_add(1, Ordering::Relaxed);
                for (sum, n) in sums.iter_mut().flatten().zip(came.iter().flatten()) {
                    *sum += n;
                }
            }
        };
        let all = std::thread::scope(|scope| {
            let others: Vec<_> = (1..runs.threads).map(|_| scope.spawn(some)).collect();
            let mut all = vec![some()];
            for other in others {
                all.push(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
            }
            all
        });
        let played = played.into_inner();
        let runs = f64::from(played.max(1));
        // Sums of small counts over at most a million runs: exact as floating-point numbers.
        let mean = |i: usize| {
            let of_season = |season: usize| all.iter().map(|sums| sums[season][i]).sum::<u64>() as f64 / runs;
            (0..n).map(of_season).collect::<Vec<_>>()
        };
        let mut done = mean(0);
        for season in 1..n {
            done[season] += done[season - 1];
        }
        Story { done, clutches: mean(1), hatched: mean(2), kept: mean(3), held: mean(4), replicates: played }
    }
}

/// One that plays run after run, with what remains of its earlier thoughts.
struct Player<'s, 'a> {
    stage: &'s Stage<'a>,
    guises: Guises<'a>,
    mind: Mind<'a>,
    catches: FxHashMap<(u64, u64), Arc<Catch>>,
}

impl<'s, 'a> Player<'s, 'a> {
    fn new(stage: &'s Stage<'a>) -> Player<'s, 'a> {
        Player {
            stage,
            guises: Guises::new(&stage.world.kinds),
            mind: Mind::new(&stage.rules, stage.project.kinship.as_ref()),
            catches: FxHashMap::default(),
        }
    }

    /// One run; `None` if it was cut short.
    fn run(&mut self, seed: u64, replicate: u32, go_on: &dyn Fn() -> bool) -> Option<Vec<Sums>> {
        let seasons = self.stage.project.seasons;
        let mut sums: Vec<Sums> = vec![[0; 5]; seasons as usize];
        let pair = self.stage.project.both_sexes;
        let mut herd = self.start(&mut stream(seed, replicate, u32::MAX));
        // Of a pair, one may be there already.
        let mut goals = [false; 2];
        for beast in &herd {
            goals[usize::from(beast.class.male)] |= pair && self.stage.world.kinds.is_wanted(beast.truth);
        }
        herd = self.hold(herd, seasons);
        for (season, sum) in (0..).zip(sums.iter_mut()) {
            if !go_on() {
                return None;
            }
            let left = seasons - season;
            let pairs = self.pairs(&herd, left);
            let came = self.season(&mut herd, &pairs, &mut stream(seed, replicate, season));
            goals = [goals[0] || came.goals[0], goals[1] || came.goals[1]];
            let done = if pair { goals[0] && goals[1] } else { goals[0] || goals[1] };
            *sum = [u32::from(done), came.clutches, came.hatched, 0, came.held].map(u64::from);
            if done {
                break;
            }
            herd = self.hold(herd, left - 1);
            for beast in herd.iter_mut().filter(|beast| beast.young) {
                sum[3] += 1;
                beast.young = false;
            }
        }
        Some(sums)
    }

    fn pairs(&mut self, herd: &[Beast], left: u32) -> Pairs {
        let mut policy = Policy { rules: &self.stage.rules, guises: &self.guises, mind: &mut self.mind };
        self.stage.paired.of(question(herd, left), |question| policy.pairs(question))
    }

    /// Lets go whom the policy does not hold.
    fn hold(&mut self, mut herd: Vec<Beast>, left: u32) -> Vec<Beast> {
        let mut policy = Policy { rules: &self.stage.rules, guises: &self.guises, mind: &mut self.mind };
        let held = self.stage.held.of(question(&herd, left), |question| policy.hold(question));
        let mut next = 0;
        // Both are sorted by class.
        herd.retain(|beast| {
            while next < held.len() && held[next] < beast.class {
                next += 1;
            }
            let stays = held.get(next) == Some(&beast.class);
            next += usize::from(stays);
            stays
        });
        herd
    }

    fn start(&mut self, random: &mut Xoshiro256PlusPlus) -> Vec<Beast> {
        let mut herd = Vec::with_capacity(self.stage.founders.len());
        for (animal, founder) in self.stage.project.animals.iter().zip(&self.stage.founders) {
            let case = pick(founder.cases.iter().map(|(_, chance)| *chance), unit(random));
            let truth = founder.cases[case.unwrap_or(founder.cases.len() - 1)].0;
            let guise = match self.stage.project.tell {
                Tell::Genotype => self.guises.of_kind(truth),
                Tell::Look => self.guises.of(&founder.priors),
            };
            let ready = u8::try_from(animal.ready).unwrap_or(u8::MAX);
            let line = self.mind.lines().of_founder(herd.len());
            let class = Class { male: animal.sex == Sex::Male, ready, guise, line };
            herd.push(Beast { class, truth, young: false });
        }
        herd.sort_by_key(|beast| beast.class);
        herd
    }

    fn season(&mut self, herd: &mut Vec<Beast>, pairs: &Pairs, random: &mut Xoshiro256PlusPlus) -> Season {
        let mut came = Season { held: u32::try_from(herd.len()).unwrap_or(u32::MAX), ..Season::default() };
        let mut young = Vec::new();
        // All mates first: a clutch changes what is believed of them.
        let classes: Vec<Class> = herd.iter().map(|beast| beast.class).collect();
        for (sire, dam) in mates(&classes, pairs, self.stage.project.females_per_male) {
            self.clutch(herd, [sire, dam], random, &mut young, &mut came);
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
        let (takes, rests, n) = (unit(random) < self.stage.take, unit(random) < self.stage.rest, unit(random));
        if !takes {
            return;
        }
        came.clutches += 1;
        let n = pick(self.stage.hatchlings.iter().copied(), n).unwrap_or(0);
        let catch = self.catch(herd[sire].truth, herd[dam].truth);
        let first = young.len();
        let mut seen = Vec::with_capacity(n);
        let guises = [herd[sire].class.guise, herd[dam].class.guise];
        let line = self.mind.lines().of_young(herd[sire].class.line, herd[dam].class.line);
        for _ in 0..n {
            let draw = unit(random);
            let Some(case) = catch.limits.iter().position(|limit| draw < *limit) else { continue };
            let (truth, sex, goal) = catch.young[case];
            came.hatched += 1;
            came.goals[usize::from(sex == Sex::Male)] |= goal;
            seen.push((truth, sex));
            let guise = match self.stage.project.tell {
                Tell::Genotype => self.guises.of_kind(truth),
                Tell::Look => 0, // once the parents are judged
            };
            let ready = u8::try_from(self.stage.project.maturity.of(sex).max(1)).unwrap_or(u8::MAX);
            young.push(Beast { class: Class { male: sex == Sex::Male, ready, guise, line }, truth, young: true });
        }
        if self.stage.project.tell == Tell::Look {
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
        let mut litter = self.stage.world.all_young(sire, dam);
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

fn question(herd: &[Beast], left: u32) -> Question {
    (left, herd.iter().map(|beast| beast.class).collect())
}

/// The luck of one season of one run.
fn stream(seed: u64, replicate: u32, season: u32) -> Xoshiro256PlusPlus {
    let run = u64::from(replicate) << 32 | u64::from(season);
    Xoshiro256PlusPlus::seed_from_u64(seed ^ run.wrapping_mul(0x9e37_79b9_7f4a_7c15))
}
