//! The forecast of a fixed plan: every pairing and every keeper is written down beforehand.
//!
//! Each season the steps are served from the last to the first; every ready female of the dam group that has not been
//! used this season goes to the first ready male of the sire group with room. A young goes to the first keeper entry of its step that
//! it fits and that is not full. A step stops when all its entries are full, the project when a young is in the goal.
//! Exact where the states are few, otherwise simulated from a seed.

mod exact; // the chances of all states, season by season
mod simulate; // many runs
mod state; // who is there, who is paired

use std::collections::BTreeSet;

use super::super::{Animal, Maturity};
use super::world::World;
use super::{MOST_SEASONS, ProjectError};
use crate::engine::inheritance::clutch::{ClutchSize, Wanted};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{Genetics, LocusId, Look, Sex};

/// A plan and the animals it starts from.
#[derive(Debug, Clone)]
pub struct FixedPlan<'a> {
    /// The species.
    pub genetics: &'a Genetics,
    /// The animals at hand; where several genotypes are possible, one is drawn for the whole project.
    pub animals: Vec<Animal>,
    /// How many names for keepers there are.
    pub n_names: usize,
    /// The steps, the last with the first claim on the females.
    pub steps: Vec<PlanStep>,
    /// Which young ends the project.
    pub goal: Wanted,
    /// Seasons to look at.
    pub seasons: u32,
    /// Seasons from hatching to pairing.
    pub maturity: Maturity,
    /// What one clutch gives.
    pub clutch: ClutchSize,
    /// The most females that a male serves in a season.
    pub females_per_male: u32,
}

/// A pairing that is repeated every season.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanStep {
    /// Whose males.
    pub sire: Group,
    /// Whose females.
    pub dam: Group,
    /// What is kept; a step that keeps nothing never stops.
    pub keep: Vec<Entry>,
}

/// Some animals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// One of the animals at hand, by position.
    Animal(usize),
    /// The keepers under a name, by its number.
    Keepers(usize),
}

/// Young to keep.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The name they are kept under, by its number.
    pub name: usize,
    /// Of this sex, if one is named.
    pub sex: Option<Sex>,
    /// At most so many.
    pub count: u32,
    /// What they must be or look like.
    pub fits: Fits,
}

/// What a young must be; loci not listed are free.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fits {
    /// These genotypes.
    Genotypes(Vec<(LocusId, Genotype)>),
    /// These looks.
    Looks(Vec<(LocusId, Look)>),
}

impl Fits {
    fn loci(&self) -> Vec<LocusId> {
        match self {
            Fits::Genotypes(listed) => listed.iter().map(|(id, _)| *id).collect(),
            Fits::Looks(listed) => listed.iter().map(|(id, _)| *id).collect(),
        }
    }
}

/// How to simulate, if that is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Simulation {
    /// How many runs.
    pub replicates: u32,
    /// The same seed gives the same runs.
    pub seed: u64,
    /// Whether to simulate even where exact chances are affordable.
    pub always: bool,
}

impl Default for Simulation {
    /// So many runs that the standard error is below 0.003.
    fn default() -> Simulation {
        Simulation { replicates: 40_000, seed: 0, always: false }
    }
}

/// The chance to be done within 1, 2, … seasons.
#[derive(Debug, Clone, PartialEq)]
pub struct BySeason {
    /// One chance for each season, never falling.
    pub chances: Vec<f64>,
    /// Whether they are exact (but for rounding) or simulated.
    pub exact: bool,
}

/// The chance to be done by each season.
///
/// # Errors
/// [`ProjectError`]: what makes no sense, or what is too large.
pub fn forecast(plan: &FixedPlan<'_>, simulation: Simulation) -> Result<BySeason, ProjectError> {
    if plan.seasons > MOST_SEASONS {
        return Err(ProjectError::Seasons { seasons: plan.seasons });
    }
    let entries = plan.steps.iter().flat_map(|step| &step.keep);
    let beside: BTreeSet<LocusId> = entries.flat_map(|entry| entry.fits.loci()).collect();
    let founders: Vec<&Animal> = plan.animals.iter().collect();
    let world = World::new(plan.genetics, &founders, &plan.goal, &plan.clutch, &beside)?;
    let mut stage = state::Stage::new(plan, &world)?;
    let exact = if simulation.always { None } else { exact::chances(&mut stage) };
    Ok(match exact {
        Some(chances) => BySeason { chances, exact: true },
        None => BySeason { chances: simulate::chances(&mut stage, simulation), exact: false },
    })
}
