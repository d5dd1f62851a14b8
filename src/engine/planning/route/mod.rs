//! Routes: the least-time plans from a collection to a goal, for each amount of money.
//!
//! In: a [`Problem`]. Out: [`Routes`]: every plan that is not beaten in both price and seasons, as steps that a
//! sentence can be made of. The model is simple on purpose: each step waits for one kind of keeper with the asked confidence, a
//! kind once had is had in any number, steps run side by side. What really happens under chance is for a forecast.
//! Start at [`plan`]. Invariant: seasons and prices are exactly the least of this model unless [`Routes::complete`] is false.

mod offers; // which animals to buy
mod search; // the least time for one set of founders
mod steps; // a found route, read back as steps

use thiserror::Error;

use super::kinds::Kinds;
pub use super::kinds::{KindError, MOST_GENOTYPES};
use super::laying::Laying;
use super::{Animal, Maturity, Tell};
use crate::engine::inheritance::clutch::{ClutchError, ClutchSize, Wanted};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{Genetics, LocusId, Sex};
use crate::engine::odds::{Odds, none, sure};

use search::{Pace, Search, Source};

/// An animal on sale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// The animal.
    pub animal: Animal,
    /// Its price, not below 0.
    pub price: Odds,
}

/// What is asked.
#[derive(Debug, Clone)]
pub struct Problem<'a> {
    /// The species.
    pub genetics: &'a Genetics,
    /// How genotypes are told.
    pub tell: Tell,
    /// The animals at hand, of certain genotypes.
    pub animals: Vec<Animal>,
    /// The animals on sale; each can be bought once, at the start.
    pub offers: Vec<Offer>,
    /// Which young ends the project.
    pub goal: Wanted,
    /// Seasons from hatching to pairing.
    pub maturity: Maturity,
    /// What one clutch gives.
    pub clutch: ClutchSize,
    /// Clutches a season of each step, at least 1.
    pub clutches: u64,
    /// The chance with which each step is to succeed within its seasons, within `0..=1`.
    pub confidence: Odds,
    /// The most money there is; `None` is any.
    pub budget: Option<Odds>,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RouteError {
    /// An animal or a goal that the species does not have, or too much that differs.
    #[error(transparent)]
    Kinds(#[from] KindError),
    /// A clutch that is none.
    #[error(transparent)]
    Clutch(#[from] ClutchError),
    /// A confidence outside `0..=1`.
    #[error("a confidence of {confidence} is not within 0 and 1")]
    Confidence {
        /// What was given.
        confidence: Odds,
    },
    /// No clutch a season.
    #[error("no clutch a season: at least one is needed")]
    NoClutches,
    /// A price or a budget below 0.
    #[error("money of {money} is below 0")]
    Money {
        /// What was given.
        money: Odds,
    },
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Routes {
    /// Every plan not beaten in both price and seasons, cheapest first; empty if the goal cannot be had.
    pub pareto: Vec<Route>,
    /// The fewest crossings in a row to the goal, time and numbers ignored, with any purchase within the budget; 0 if
    /// an animal is the goal already, `None` if it cannot be had.
    pub generations: Option<u64>,
    /// The loci of the goal at which neither an animal nor any descendant can have what is wanted: the allele is missing.
    pub missing: Vec<LocusId>,
    /// Whether the search ran to its end; if not, better plans may exist.
    pub complete: bool,
}

/// One plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Route {
    /// What the bought animals cost together.
    pub price: Odds,
    /// Seasons used; 0 if an animal is the goal already.
    pub seasons: u64,
    /// The offers bought, by position.
    pub buy: Vec<usize>,
    /// The steps, each after those that it needs.
    pub steps: Vec<Step>,
}

impl Route {
    /// The kinds that are kept on the way to the goal.
    #[must_use]
    pub fn kept(&self) -> Vec<Vec<(LocusId, Genotype)>> {
        let keepers = self.steps.iter().filter_map(|step| match &step.keep {
            Keep::Keeper { genotypes, .. } => Some(genotypes.clone()),
            Keep::Goal => None,
        });
        keepers.collect()
    }
}

/// One pairing, kept up until its keeper is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The father.
    pub sire: Parent,
    /// The mother.
    pub dam: Parent,
    /// The first season, counted from 0.
    pub season: u64,
    /// How many seasons are booked for the confidence.
    pub seasons: u64,
    /// How many clutches are booked for the confidence.
    pub clutches: u64,
    /// The chance per egg that it is the keeper, its sex included; exact where chromosomes halve.
    pub per_egg: Odds,
    /// What is kept.
    pub keep: Keep,
}

/// A parent of a step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parent {
    /// Where it comes from.
    pub from: From,
    /// Its genotypes at all loci.
    pub genotypes: Vec<(LocusId, Genotype)>,
}

/// Where a parent comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum From {
    /// An animal at hand, by position.
    Owned(usize),
    /// An animal bought, by position among the offers.
    Bought(usize),
    /// The keeper of an earlier step, by position.
    Step(usize),
}

/// What a step waits for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Keep {
    /// An animal to breed from.
    Keeper {
        /// Its sex.
        sex: Sex,
        /// Its genotypes at all loci.
        genotypes: Vec<(LocusId, Genotype)>,
    },
    /// A young that is the goal.
    Goal,
}

/// The least-time plans for each amount of money. `go_on` is asked now and then; once it says no, what was found so
/// far is given, with [`Routes::complete`] false.
///
/// # Errors
/// [`RouteError`]: what makes no sense.
pub fn plan(problem: &Problem<'_>, go_on: &mut dyn FnMut() -> bool) -> Result<Routes, RouteError> {
    check(problem)?;
    let offered = problem.offers.iter().map(|offer| &offer.animal);
    let founders: Vec<&Animal> = problem.animals.iter().chain(offered).collect();
    let kinds = Kinds::new(problem.genetics, &founders, &problem.goal, problem.tell, &|_| true)?;
    let mut routes = Routes { pareto: Vec::new(), generations: None, missing: kinds.missing.clone(), complete: true };
    let mut sources = Vec::with_capacity(founders.len());
    for (i, animal) in founders.iter().enumerate() {
        let code = kinds.of_certain(problem.genetics, i, animal)?;
        let is_goal = kinds.is_wanted(code) && problem.goal.sex().is_none_or(|sex| sex == animal.sex);
        let offer = i.checked_sub(problem.animals.len());
        sources.push(Source { code, sex: animal.sex, ready: animal.ready.into(), is_goal, offer });
    }
    if !routes.missing.is_empty() {
        return Ok(routes);
    }
    let prices: Vec<Odds> = problem.offers.iter().map(|offer| offer.price.clone()).collect();
    let budget = problem.budget.as_ref();

    let laying = Laying::new(&problem.clutch);
    let pace = Pace::Seasons {
        laying: &laying,
        confidence: &problem.confidence,
        clutches: problem.clutches,
        maturity: problem.maturity,
    };
    let (plans, complete) =
        offers::front(&mut Search::new(&kinds, &problem.goal, pace), &sources, &prices, budget, go_on);
    routes.complete = complete;
    let reader = steps::Reader { problem, kinds: &kinds, laying: &laying, n_owned: problem.animals.len() };
    routes.pareto = plans.iter().map(|plan| reader.read(plan)).collect();

    // The time is of no account here, so an animal that is not ready yet is as good as one that is.
    let timeless: Vec<Source> = sources.iter().map(|source| Source { ready: 0, ..*source }).collect();
    let mut crossings = Search::new(&kinds, &problem.goal, Pace::Crossings);
    let (plans, complete) = offers::front(&mut crossings, &timeless, &prices, budget, go_on);
    routes.complete &= complete;
    routes.generations = plans.last().map(|plan| plan.found.seasons);
    Ok(routes)
}

fn check(problem: &Problem<'_>) -> Result<(), RouteError> {
    problem.clutch.check()?;
    if problem.confidence < none() || problem.confidence > sure() {
        return Err(RouteError::Confidence { confidence: problem.confidence.clone() });
    }
    if problem.clutches == 0 {
        return Err(RouteError::NoClutches);
    }
    let money = problem.offers.iter().map(|offer| &offer.price).chain(&problem.budget);
    match money.into_iter().find(|money| **money < none()) {
        Some(money) => Err(RouteError::Money { money: money.clone() }),
        None => Ok(()),
    }
}
