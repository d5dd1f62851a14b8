//! What a species gives a plan to work with, and the questions put to the engine.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::CONFIDENCE;
use super::founders::{Kind, Priced, to_buy};
use super::phases::{count, eggs};
use crate::conversation::odds::{Laying, wanted};
use crate::engine::inheritance::clutch::ClutchSize;
use crate::engine::inheritance::locus::{Genetics, LocusId, Sex};
use crate::engine::odds::{Odds, none, odds, parse, sure};
use crate::engine::planning::project::fixed::{Entry, Fits, FixedPlan, Group, PlanStep, Simulation, forecast};
use crate::engine::planning::route::{From, Keep, Offer, Parent, Problem, Route, Routes, plan};
use crate::engine::planning::{Animal as Bred, Maturity, Tell};
use crate::reading::requests::Target;
use crate::species::Species;
use crate::species::genetics::Sits;

/// Steps of the search for one plan; beyond, the best so far is given.
const MOST_STEPS: u32 = 400_000;
/// How long a plan may take; what is found by then is told, and that it was cut short. A program that is not optimised
/// takes its time.
const LONGEST: Duration = Duration::from_secs(if cfg!(debug_assertions) { 60 } else { 10 });
/// Steps of a search between two looks at the clock.
const NOW_AND_THEN: u32 = 256;
/// Runs of a plan that is carried out as it stands: a standard error below half a point.
const RUNS: u32 = 10_000;
/// The seed of every forecast: the same question gets the same answer.
pub(super) const SEED: u64 = 1;

/// What a species gives a plan to work with.
pub(in crate::conversation) struct World {
    pub(in crate::conversation) genetics: Genetics,
    pub(in crate::conversation) clutch: ClutchSize,
    pub(in crate::conversation) maturity: Maturity,
    /// Females that a male serves in a season.
    pub(in crate::conversation) females_per_male: u32,
    /// Eggs of a usual clutch.
    pub(in crate::conversation) eggs: u64,
    /// Clutches that a female lays in a season.
    pub(in crate::conversation) per_season: u64,
    /// How often a female that is paired lays in a season.
    pub(super) takes: Odds,
    /// The chance that a female that laid rests in the next season.
    pub(super) rests: Odds,
    /// When an answer must be there.
    pub(super) until: Instant,
    /// A search was ended before it had looked at everything.
    pub(in crate::conversation) cut: AtomicBool,
}

impl World {
    pub(in crate::conversation) fn of(species: &Species) -> Option<Self> {
        let care = species.care();
        // Seasons are yearly; an animal that is ready within a season is paired in the next.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // care numbers are small and positive
        let seasons = |years: f64| years.ceil().max(1.0) as u32;
        let maturity = Maturity {
            female: seasons(care.maturity_female_years.as_ref()?.default),
            male: seasons(care.maturity_male_years.as_ref()?.default),
        };
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // as above
        let females_per_male = care.females_per_male.as_ref().map_or(5, |r| r.default.round() as u32);
        let laying = Laying::usual(species, 1)?;
        let eggs = match &laying {
            Laying::Usual { eggs, .. } => eggs[1],
            Laying::Stated { n, .. } => u64::from(*n),
        };
        let clutch = laying.size();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // as above
        let per_season = care.clutches_per_year.as_ref().map_or(1, |r| r.default.round().max(1.0) as u64);
        let exact = |share: f64| parse(&share.to_string()).unwrap_or_else(none);
        // An interval of two years is a year of rest after each clutch.
        let rests = care.interval_years.as_ref().map_or(0.0, |r| (r.default - 1.0).clamp(0.0, 1.0));
        Some(Self {
            per_season,
            takes: care.producing_share.as_ref().map_or_else(sure, |r| exact(r.default)),
            rests: exact(rests),
            until: Instant::now() + LONGEST,
            genetics: species.genetics(false).ok()?,
            clutch,
            maturity,
            females_per_male,
            eggs,
            cut: AtomicBool::new(false),
        })
    }

    /// "2 clutches a season".
    pub(super) fn clutches_a_season(&self, n: u64) -> String {
        match n.saturating_mul(self.per_season) {
            1 => "one clutch a season".to_owned(),
            n => format!("{n} clutches a season"),
        }
    }

    pub(super) fn bred(species: &Species, kind: &Kind) -> Bred {
        let carries: Vec<_> = kind.genes.iter().map(|(g, n)| (*g, *n, sure())).collect();
        Bred { genome: species.genome(&carries, Sits::Anywhere), sex: kind.sex, ready: kind.ready }
    }

    /// The plans from these animals that are not beaten in price and seasons, with what is on offer and so many clutches a
    /// season of each pairing.
    pub(super) fn routes(
        &self,
        species: &Species,
        goal: &Target,
        kinds: &[Kind],
        offers: &[Priced],
        clutches: u64,
    ) -> Option<Routes> {
        let offer = |priced: &Priced| Offer {
            animal: Self::bred(species, &priced.kind),
            price: Odds::new(priced.cents.into(), 100.into()),
        };
        let problem = Problem {
            genetics: &self.genetics,
            tell: Tell::Look,
            animals: kinds.iter().map(|k| Self::bred(species, k)).collect(),
            offers: offers.iter().map(offer).collect(),
            goal: wanted(species, goal),
            maturity: self.maturity,
            clutch: self.clutch.clone(),
            clutches: clutches.saturating_mul(self.per_season),
            confidence: odds(CONFIDENCE.0, CONFIDENCE.1),
            budget: None,
        };
        let mut left = MOST_STEPS;
        let mut go_on = || {
            left = left.saturating_sub(1);
            // The clock is looked at now and then only.
            left > 0 && (!left.is_multiple_of(NOW_AND_THEN) || Instant::now() < self.until)
        };
        let routes = plan(&problem, &mut go_on).ok()?;
        self.cut.fetch_or(!routes.complete, Ordering::Relaxed);
        Some(routes)
    }

    /// The least-time plan from these animals with so many clutches a season of each pairing.
    pub(in crate::conversation) fn route(
        &self,
        species: &Species,
        goal: &Target,
        kinds: &[Kind],
        clutches: u64,
    ) -> Option<Route> {
        self.routes(species, goal, kinds, &[], clutches)?.pareto.into_iter().next()
    }

    /// A season of a female: all its clutches together, and none as often as females miss a season.
    pub(super) fn season_of_a_female(&self) -> ClutchSize {
        let n = self.per_season;
        match &self.clutch {
            ClutchSize::Spread { low, high, mean, hatch, .. } => ClutchSize::Spread {
                low: low * n,
                high: high * n,
                mean: mean * Odds::from_integer(n.into()),
                hatch: hatch.clone(),
                take: self.takes.clone(),
            },
            other => other.clone(),
        }
    }

    /// The plan carried out as it stands: the chance to be done by each season, with so many females kept of every round.
    pub(super) fn forecast(
        &self,
        species: &Species,
        goal: &Target,
        kinds: &[Kind],
        route: &Route,
        females: u32,
    ) -> Option<Vec<f64>> {
        let goal_loci: Vec<LocusId> = wanted(species, goal).loci().map(|(id, _)| id).collect();
        let group = |parent: &Parent| match parent.from {
            From::Owned(k) | From::Bought(k) => Group::Animal(k),
            From::Step(k) => Group::Keepers(k),
        };
        let steps = route.steps.iter().enumerate().map(|(k, step)| PlanStep {
            sire: group(&step.sire),
            dam: group(&step.dam),
            keep: match &step.keep {
                Keep::Goal => Vec::new(),
                Keep::Keeper { sex, genotypes } => vec![Entry {
                    name: k,
                    sex: Some(*sex),
                    count: if *sex == Sex::Female { females.max(1) } else { 1 },
                    fits: Fits::Genotypes(genotypes.iter().filter(|(id, _)| goal_loci.contains(id)).copied().collect()),
                }],
            },
        });
        let seasons = u32::try_from(route.seasons).ok()? + 6;
        let plan = FixedPlan {
            genetics: &self.genetics,
            animals: kinds.iter().map(|k| Self::bred(species, k)).collect(),
            n_names: route.steps.len(),
            steps: steps.collect(),
            goal: wanted(species, goal),
            seasons,
            maturity: self.maturity,
            clutch: self.season_of_a_female(),
            females_per_male: self.females_per_male,
        };
        let by = forecast(&plan, Simulation { replicates: RUNS, seed: SEED, always: false }).ok()?;
        Some(by.chances)
    }

    /// What each kind of animal would save if it were bought at the start, the most first.
    pub(super) fn savings(
        &self,
        species: &Species,
        goal: &Target,
        kinds: &[Kind],
        route: &Route,
        clutches: u64,
    ) -> Vec<Saving> {
        let before = eggs(route, self.eggs);
        let mut saved: Vec<Saving> = to_buy(species, goal)
            .into_iter()
            .filter(|kind| !kinds.iter().any(|k| k.is_like(kind)))
            .filter_map(|kind| {
                let with: Vec<Kind> = kinds.iter().cloned().chain([kind.clone()]).collect();
                let found = self.route(species, goal, &with, clutches)?;
                let seasons = route.seasons.checked_sub(found.seasons).filter(|n| *n > 0)?;
                Some(Saving { seasons, eggs: before.saturating_sub(eggs(&found, self.eggs)), who: kind.words(species) })
            })
            .collect();
        saved.sort_by(|a, b| (b.seasons, b.eggs).cmp(&(a.seasons, a.eggs)).then_with(|| a.who.cmp(&b.who)));
        saved.truncate(3);
        saved
    }
}

/// What an animal would save if it were bought at the start.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::conversation) struct Saving {
    /// Seasons, at least one.
    pub(in crate::conversation) seasons: u64,
    /// Eggs.
    pub(in crate::conversation) eggs: u64,
    /// The animal in words.
    pub(in crate::conversation) who: String,
}

impl Saving {
    /// "♂ Clown, het Piebald saves 2 seasons and about 31 eggs".
    pub(in crate::conversation) fn words(&self) -> String {
        let fewer = if self.eggs > 0 { format!(" and about {}", count(self.eggs, "egg")) } else { String::new() };
        format!("{} saves {}{fewer}", self.who, count(self.seasons, "season"))
    }
}
