//! A plan played out: when such projects are done, with how many clutches, young and animals held.
//!
//! The policy that is played decides anew each season from what is there; where a goal is too wide for that in the time an
//! answer has, the plan is carried out as it stands, and that is said.

use std::time::Instant;

use super::founders::Kind;
use super::phases::Relations;
use super::world::{SEED, World};
use super::{Frame, Laid, stand_in};
use crate::conversation::odds::wanted;
use crate::engine::odds::{Odds, half, none, to_f64};
use crate::engine::planning::project::play::{Kinship, Played, Runs, Story, play};
use crate::engine::planning::route::Route;
use crate::engine::planning::{Animal as Bred, Tell};
use crate::reading::requests::Target;
use crate::species::Species;
use crate::species::genetics::{Carries, Sits};

/// Runs of a project: a standard error of half a point. A program that is not optimised plays fewer.
pub(super) const RUNS: u32 = if cfg!(debug_assertions) { 100 } else { 10_000 };
/// With fewer runs than this the shares would swing by more than they say.
const FEWEST_RUNS: u32 = 20;
/// Room that is reckoned with where none is said, and beside those that are there.
const ROOM: usize = 16;
const ROOM_BESIDE: usize = 10;
/// Females that are kept of which one is as good as the other.
const FEMALES: usize = 4;
/// Seasons beyond those booked, and the most that are played.
const SEASONS_BEYOND: u32 = 3;
const MOST_SEASONS: u32 = 20;
/// A search for a pair of threads at most: a question must not take the whole machine.
const THREADS: usize = 2;

/// An animal of the keeper's as it is believed to be.
#[derive(Debug, Clone)]
pub(in crate::conversation) struct Believed {
    /// Its genes of the goal, with chances.
    pub(in crate::conversation) carries: Vec<Carries>,
    pub(in crate::conversation) sex: crate::engine::inheritance::locus::Sex,
    /// Seasons until it can be paired.
    pub(in crate::conversation) ready: u32,
}

/// What comes of a plan.
pub(super) struct Outlook {
    /// The chance to be done by each season.
    pub(super) done: Vec<f64>,
    /// The whole story, where a policy was played.
    pub(super) story: Option<Story>,
    /// Animals there is room for.
    pub(super) room: usize,
}

/// How a plan is varied.
#[derive(Clone, Copy)]
pub(super) struct Variation {
    /// Females kept of one kind.
    pub(super) females: usize,
    /// Tenths of the time left that it may take.
    pub(super) tenths: u32,
}

impl Default for Variation {
    fn default() -> Self {
        Self { females: FEMALES, tenths: 7 }
    }
}

/// The outlook of a plan as it was laid.
pub(super) fn outlook(
    species: &Species,
    goal: &Target,
    laid: &Laid,
    frame: &Frame<'_>,
    variation: Variation,
) -> Option<Outlook> {
    of_route(species, goal, (&laid.world, &laid.kinds, laid.n_own), &laid.route, frame, variation)
}

/// The outlook of a route from these animals, of which the first are the keeper's own.
pub(super) fn of_route(
    species: &Species,
    goal: &Target,
    (world, kinds, n_own): (&World, &[Kind], usize),
    route: &Route,
    frame: &Frame<'_>,
    variation: Variation,
) -> Option<Outlook> {
    let mut animals = founders(species, kinds, n_own, route, frame);
    let kinship = frame.kinship.as_ref().map(|limit| kinship(limit, animals.len(), n_own, frame));
    let seconds = second_founders(kinds, n_own, route, frame);
    animals.extend(seconds.into_iter().filter_map(|k| kinds.get(k)).map(|kind| World::bred(species, kind)));
    let room = frame.room.map_or_else(|| ROOM.max(animals.len() + ROOM_BESIDE), usize::from);
    let females = u32::try_from(variation.females).unwrap_or(1);
    let as_it_stands = || {
        let done = world.forecast(species, goal, kinds, route, females)?;
        Some(Outlook { done, story: None, room })
    };
    let of_year = frame.by_year.and_then(|by| u32::try_from(by - frame.first_year + 1).ok()).unwrap_or(0);
    let booked = u32::try_from(route.seasons).unwrap_or(MOST_SEASONS);
    let project = Played {
        genetics: &world.genetics,
        tell: Tell::Look,
        animals,
        goal: wanted(species, goal),
        both_sexes: frame.pair,
        seasons: booked.saturating_add(SEASONS_BEYOND).max(of_year).min(MOST_SEASONS),
        maturity: world.maturity,
        clutch: world.season_of_a_female(),
        rest: world.rests.clone(),
        females_per_male: world.females_per_male,
        clutches: frame.clutches.map(u32::from),
        space: room,
        females_alike: variation.females,
        on_the_way: route.kept(),
        kinship,
    };
    let left = world.until.saturating_duration_since(Instant::now());
    let until = Instant::now() + left / 10 * variation.tenths;
    let threads = std::thread::available_parallelism().map_or(1, usize::from).min(THREADS);
    let runs = Runs { replicates: RUNS, seed: SEED, threads };
    match play(&project, runs, &|_| Instant::now() < until) {
        Ok(story) if story.replicates >= FEWEST_RUNS.min(RUNS) => {
            Some(Outlook { done: story.done.clone(), story: Some(story), room })
        }
        _ => as_it_stands(),
    }
}

/// How close the animals that are there are, and how close a pair may be; those bought are unrelated to all.
fn kinship(limit: &Odds, n: usize, n_own: usize, frame: &Frame<'_>) -> Kinship {
    let known = |a: usize, b: usize| match frame.kin {
        _ if !frame.herd.is_empty() => frame.herd_kinship.get(a).and_then(|row| row.get(b)).cloned(),
        Some(kin) if a < n_own && b < n_own => Some(kin(a, b)),
        _ => None,
    };
    let between = |a: usize, b: usize| {
        let itself = if a == b { half() } else { none() };
        to_f64(&known(a, b).unwrap_or_else(none).max(itself))
    };
    Kinship { limit: to_f64(limit), between: (0..n).map(|a| (0..n).map(|b| between(a, b)).collect()).collect() }
}

/// The founders that it takes twice to pair no relatives beyond the limit, as far as nobody that is there stands in.
pub(super) fn second_founders(kinds: &[Kind], n_own: usize, route: &Route, frame: &Frame<'_>) -> Vec<usize> {
    let Some(limit) = frame.kinship.as_ref().filter(|_| frame.purchases != Some(0)) else { return Vec::new() };
    let relations = Relations::new(route, n_own, frame.kin);
    let over = (0..route.steps.len()).filter(|step| relations.of_step(*step, &[]) > *limit);
    let mut twice: Vec<usize> = over.filter_map(|step| relations.mended(step, limit)).flatten().collect();
    twice.sort_unstable();
    twice.dedup();
    twice.retain(|founder| stand_in(kinds, n_own, frame, *founder).is_none());
    twice
}

/// Whom the project starts with: the keeper's animals as they are believed to be, and those that the route buys.
fn founders(species: &Species, kinds: &[Kind], n_own: usize, route: &Route, frame: &Frame<'_>) -> Vec<Bred> {
    let believed = |animal: &Believed| Bred {
        genome: species.genome(&animal.carries, Sits::Anywhere),
        sex: animal.sex,
        ready: animal.ready,
    };
    let own = kinds.iter().take(n_own).map(|kind| World::bred(species, kind));
    let mut animals: Vec<Bred> =
        if frame.herd.is_empty() { own.collect() } else { frame.herd.iter().map(believed).collect() };
    let bought = super::visible::founders(route).into_iter().filter(|k| *k >= n_own);
    animals.extend(bought.filter_map(|k| kinds.get(k)).map(|kind| World::bred(species, kind)));
    animals
}

/// The first season by whose end so large a share is done, from 1.
pub(super) fn season_of(done: &[f64], share: f64) -> Option<usize> {
    done.iter().position(|chance| *chance >= share).map(|k| k + 1)
}

impl Outlook {
    /// All clutches of an average project, young that hatched, and young kept.
    pub(super) fn sums(&self) -> Option<[f64; 3]> {
        let story = self.story.as_ref()?;
        Some([&story.clutches, &story.hatched, &story.kept].map(|by_season| by_season.iter().sum()))
    }

    /// How far the shares may be off, in points.
    pub(super) fn error(&self) -> f64 {
        self.story.as_ref().map_or(0.5, |story| story.error() * 100.0)
    }
}
