//! A project played out season by season under a policy: pair what is there to the best use, see what hatches, keep what
//! helps, and decide anew. Nothing but luck differs between runs, and the luck comes from a seed.
//!
//! The policy looks one season ahead by hopes (`project::hope`) over what a keeper can know: genotypes are drawn, looks are
//! seen, possible hets stay possible until a clutch proves them. The figures are of this policy, so they are what a keeper can count
//! on who follows the season's advice; they are never multiplied together from single steps.
//! Start at [`play`].

mod decided; // answers that are known
mod guise; // what is believed of an animal
mod policy; // whom to pair, whom to hold
mod run; // run after run

use std::collections::BTreeSet;

use super::super::{Animal, Maturity, Tell};
pub use super::lines::Kinship;
use super::merit::Merit;
use super::world::World;
use super::{MOST_SEASONS, ProjectError};
use crate::engine::inheritance::clutch::{ClutchSize, Wanted};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{Genetics, LocusId};
use crate::engine::odds::{Odds, to_f64};

/// A project to be played.
#[derive(Debug, Clone)]
pub struct Played<'a> {
    /// The species.
    pub genetics: &'a Genetics,
    /// How genotypes are told.
    pub tell: Tell,
    /// The animals at hand; where several genotypes are possible, one is drawn for each run.
    pub animals: Vec<Animal>,
    /// Which young ends the project.
    pub goal: Wanted,
    /// It takes one of either sex.
    pub both_sexes: bool,
    /// Seasons to play.
    pub seasons: u32,
    /// Seasons from hatching to pairing.
    pub maturity: Maturity,
    /// What one clutch gives; `take` is how often a paired female gives one.
    pub clutch: ClutchSize,
    /// The chance that a female that laid rests in the season after.
    pub rest: Odds,
    /// The most females that a male serves in a season.
    pub females_per_male: u32,
    /// The most clutches of a season.
    pub clutches: Option<u32>,
    /// The most animals that are held.
    pub space: usize,
    /// Females that are held of which one is as good as the other.
    pub females_alike: usize,
    /// Kinds that a plan keeps on its way to the goal. Where animals can be of very many kinds, young of these, and of kinds
    /// one gene better, are all that is hoped for.
    pub on_the_way: Vec<Vec<(LocusId, Genotype)>>,
    /// Which relatives are not paired; anybody is where it is not said.
    pub kinship: Option<Kinship>,
}

/// How often to play, and with what luck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Runs {
    /// How many runs.
    pub replicates: u32,
    /// The same seed gives the same runs; two projects with one seed share their luck as far as they are alike.
    pub seed: u64,
    /// On how many threads; the outcome is the same on any number.
    pub threads: usize,
}

/// What came of the runs. Means are over all runs; a project that is done does nothing more.
#[derive(Debug, Clone, PartialEq)]
pub struct Story {
    /// The share of runs that are done within 1, 2, … seasons.
    pub done: Vec<f64>,
    /// Clutches laid in each season.
    pub clutches: Vec<f64>,
    /// Young hatched in each season.
    pub hatched: Vec<f64>,
    /// Young of each season that were kept beyond it.
    pub kept: Vec<f64>,
    /// Animals held in each season while the project goes on.
    pub held: Vec<f64>,
    /// How many runs were played: fewer than asked for where the allowance ended.
    pub replicates: u32,
}

impl Story {
    /// The standard error of the shares, at most.
    #[must_use]
    pub fn error(&self) -> f64 {
        0.5 / f64::from(self.replicates.max(1)).sqrt()
    }
}

/// Plays a project. `go_on` hears once a season how many runs have been played, on every thread; after a no, the runs that were
/// begun do not count.
///
/// # Errors
/// [`ProjectError`]: what makes no sense, or what is too large.
pub fn play(project: &Played<'_>, runs: Runs, go_on: &(dyn Fn(u32) -> bool + Sync)) -> Result<Story, ProjectError> {
    if project.seasons > MOST_SEASONS {
        return Err(ProjectError::Seasons { seasons: project.seasons });
    }
    let founders: Vec<&Animal> = project.animals.iter().collect();
    let world = World::new(project.genetics, &founders, &project.goal, &project.clutch, &BTreeSet::new())?;
    let merit = Merit::new(project.genetics, &world.kinds, &project.goal);
    let mut kinds = Vec::with_capacity(founders.len());
    for (i, animal) in project.animals.iter().enumerate() {
        let cases = world.kinds.of(project.genetics, i, animal)?;
        let priors = world.kinds.priors(project.genetics, i, animal)?;
        kinds.push(run::Founder {
            cases: cases.into_iter().map(|(code, chance)| (code, to_f64(&chance))).collect(),
            priors,
        });
    }
    let take = match &project.clutch {
        ClutchSize::Eggs { take, .. } | ClutchSize::Spread { take, .. } | ClutchSize::Poisson { take, .. } => take,
    };
    Ok(run::Stage::new(project, &world, &merit, kinds, to_f64(take)).play(runs, go_on))
}
