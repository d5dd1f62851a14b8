//! A keeper's animals of one species as the season's search takes them: who can be paired, with whom, and for what.

use std::collections::HashMap;

use super::super::Desk;
use super::super::goals::{in_order, target};
use super::super::ready::{Readiness, Rest, readiness};
use crate::collection::animal::{Animal, AnimalId, Belief, Sex};
use crate::collection::events::Limits;
use crate::collection::evidence::Evidence;
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::conversation::cautions::harmful;
use crate::conversation::odds::wanted;
use crate::conversation::plan::World;
use crate::engine::inheritance::clutch::ClutchSize;
use crate::engine::inheritance::genotype::Genome;
use crate::engine::inheritance::locus::Sex as EngineSex;
use crate::engine::odds::{Odds, none, odds, parse, sure};
use crate::engine::planning::project::decide::Objective;
use crate::engine::planning::season::{Aim, Candidate, Room};
use crate::engine::planning::{Animal as Bred, Tell};
use crate::reading::requests::Target;
use crate::species::genetics::Sits;
use crate::species::{GeneId, Species, SpeciesId};

/// Seasons that a goal without a year is looked ahead.
const AHEAD: u32 = 8;
/// A goal further away is looked at as if it were due then.
const MOST_AHEAD: i16 = 15;
/// Each goal counts this much of the one before it.
const NEXT_GOAL: f64 = 0.5;
/// A goal that is reached counts this much of what it did.
const REACHED: f64 = 0.25;

/// A goal of the season.
pub(in crate::conversation) struct Wish {
    /// Its place among the keeper's goals, from 1.
    pub(in crate::conversation) number: usize,
    /// What it is.
    pub(in crate::conversation) target: Target,
    /// Its limits.
    pub(in crate::conversation) limits: Limits,
    /// An animal that is it already.
    pub(in crate::conversation) reached: Option<AnimalId>,
    /// What is said to the engine.
    pub(in crate::conversation) aim: Aim,
}

/// An animal of the season.
pub(in crate::conversation) struct Player {
    /// Who.
    pub(in crate::conversation) id: AnimalId,
    /// Whether it can be paired.
    pub(in crate::conversation) state: Readiness,
}

/// The animals of one species.
pub(in crate::conversation) struct Scene {
    /// Which species.
    pub(in crate::conversation) species: SpeciesId,
    /// What the species gives to plan with.
    pub(in crate::conversation) world: World,
    /// The animals, in the order of the search.
    pub(in crate::conversation) players: Vec<Player>,
    /// The same, for the engine.
    pub(in crate::conversation) candidates: Vec<Candidate>,
    /// The goals.
    pub(in crate::conversation) wishes: Vec<Wish>,
    /// Kinship of those that are related.
    kin: HashMap<(usize, usize), Odds>,
    /// Closer relatives are not paired.
    pub(in crate::conversation) closest: Odds,
    /// Pairs whose young can come to serious harm, and by which genes.
    harm: HashMap<(usize, usize), Vec<GeneId>>,
}

/// What is asked of a scene beside the goals.
pub(super) struct Wanting<'a> {
    /// Places of goals; empty is all.
    pub(super) goals: &'a [usize],
    /// Animals that are left out.
    pub(super) skip: &'a [AnimalId],
    /// Possible hets are left out.
    pub(super) certain: bool,
    /// Relatives may be paired, or none at all; where nothing is said, none closer than half siblings.
    pub(super) relatives: Option<bool>,
}

impl Scene {
    /// The animals of a species, with the goals for it; nothing where too little is known of the species.
    pub(super) fn of(desk: &Desk<'_>, herd: &Herd, species: &Species, wanting: &Wanting<'_>) -> Option<Scene> {
        let world = World::of(species)?;
        let here: Vec<&Animal> = herd.here().filter(|a| a.species == species.key()).collect();
        let wishes = wishes(desk, species, &here, wanting);
        let mut players = Vec::with_capacity(here.len());
        let mut candidates = Vec::with_capacity(here.len());
        for animal in &here {
            let mut state = readiness(desk.today, species, herd, animal);
            if state.why.is_none() && wanting.skip.contains(&animal.id) {
                state.why = Some(Rest::Skipped);
            }
            if state.why.is_none() && wanting.certain && is_only_possible(animal, species, &wishes) {
                state.why = Some(Rest::Possible);
            }
            let male = animal.sex == Sex::Male;
            let serves = match (state.why, male) {
                (Some(_), _) => 0,
                (None, true) => world.females_per_male,
                (None, false) => 1,
            };
            candidates.push(Candidate {
                animal: Bred {
                    genome: genome(species, animal, wanting.certain),
                    sex: if male { EngineSex::Male } else { EngineSex::Female },
                    // Of unknown sex it is of no use until somebody looks.
                    ready: if state.why == Some(Rest::Unsexed) { MOST_AHEAD.unsigned_abs().into() } else { state.wait },
                },
                serves,
            });
            players.push(Player { id: animal.id, state });
        }
        let kin = kinships(species, herd, &here, &candidates);
        let closest = closest(&wishes, wanting.relatives);
        let harm = harms(species, &here, &candidates);
        Some(Scene { species: species.id, world, players, candidates, wishes, kin, closest, harm })
    }

    /// The kinship of two, none where nothing is known.
    pub(in crate::conversation) fn kinship(&self, a: usize, b: usize) -> Odds {
        self.kin.get(&(a.min(b), a.max(b))).cloned().unwrap_or_else(none)
    }

    /// Whether a male and a female may be paired.
    pub(in crate::conversation) fn may(&self, sire: usize, dam: usize) -> bool {
        self.kinship(sire, dam) <= self.closest && !self.is_taken(sire, dam) && self.harm(sire, dam).is_empty()
    }

    /// The genes by which young of these two can come to serious harm.
    pub(in crate::conversation) fn harm(&self, sire: usize, dam: usize) -> &[GeneId] {
        self.harm.get(&(sire, dam)).map_or(&[], Vec::as_slice)
    }

    /// The genes for which an animal is in no pairing at all.
    pub(in crate::conversation) fn harm_of(&self, animal: usize) -> Vec<GeneId> {
        let mates = || {
            (0..self.players.len())
                .filter(|i| self.candidates[*i].animal.sex != self.candidates[animal].animal.sex)
                .map(|i| if self.candidates[animal].animal.sex == EngineSex::Male { (animal, i) } else { (i, animal) })
        };
        if !mates().all(|(sire, dam)| !self.harm(sire, dam).is_empty()) {
            return Vec::new();
        }
        let mut genes: Vec<GeneId> = mates().flat_map(|(sire, dam)| self.harm(sire, dam).to_vec()).collect();
        // Those of the animal itself: every mate meets them.
        genes.retain(|gene| mates().all(|(sire, dam)| self.harm(sire, dam).contains(gene)));
        genes.sort_unstable();
        genes.dedup();
        genes
    }

    /// Whether a female is with another male this season.
    pub(in crate::conversation) fn is_taken(&self, sire: usize, dam: usize) -> bool {
        let with = self.players.get(dam).and_then(|p| p.state.with);
        with.is_some() && with != self.players.get(sire).map(|p| p.id)
    }

    /// The room of the search.
    pub(super) fn room<'a>(&'a self, may: &'a dyn Fn(usize, usize) -> bool) -> Room<'a> {
        Room {
            genetics: &self.world.genetics,
            tell: Tell::Look,
            animals: self.candidates.clone(),
            aims: self.wishes.iter().map(|wish| wish.aim.clone()).collect(),
            may,
            maturity: self.world.maturity,
            clutch: self.world.clutch.clone(),
            females_per_male: self.world.females_per_male,
        }
    }

    /// The place of an animal.
    pub(in crate::conversation) fn place(&self, id: AnimalId) -> Option<usize> {
        self.players.iter().position(|player| player.id == id)
    }
}

/// A clutch as it comes in a planned season: a share of the paired females produces none.
pub(super) fn hoped_for(species: &Species, clutch: &ClutchSize) -> ClutchSize {
    let producing = species.care().producing_share.as_ref().and_then(|r| parse(&r.default.to_string()));
    match (clutch.clone(), producing) {
        (ClutchSize::Spread { low, high, mean, hatch, .. }, Some(take)) => {
            ClutchSize::Spread { low, high, mean, hatch, take }
        }
        (other, _) => other,
    }
}

/// The genome of an animal; what it only possibly has may be left out.
fn genome(species: &Species, animal: &Animal, certain: bool) -> Genome {
    let counts = |b: &&Belief| !certain || b.chance == sure();
    let read = |b: &Belief| Some((species.gene_by_id(&b.gene)?, b.copies, b.chance.clone()));
    let carries: Vec<_> = animal.genes.iter().filter(counts).filter_map(read).collect();
    species.genome(&carries, Sits::Anywhere)
}

/// Whether all that an animal has of any goal is possible and not sure.
fn is_only_possible(animal: &Animal, species: &Species, wishes: &[Wish]) -> bool {
    let wanted = |gene: &str| {
        let id = species.gene_by_id(gene);
        wishes.iter().any(|wish| wish.target.genes.iter().any(|(g, _)| Some(*g) == id))
    };
    let has: Vec<bool> = animal.genes.iter().filter(|b| wanted(&b.gene)).map(|b| b.chance == sure()).collect();
    !has.is_empty() && has.iter().all(|sure| !sure)
}

fn wishes(desk: &Desk<'_>, species: &Species, here: &[&Animal], wanting: &Wanting<'_>) -> Vec<Wish> {
    let first_year = super::season_year(desk.today);
    let mut weight = 1.0;
    let mut found = Vec::new();
    for (n, goal) in in_order(desk).into_iter().enumerate() {
        if !wanting.goals.is_empty() && !wanting.goals.contains(&(n + 1)) {
            continue;
        }
        let own = weight;
        weight *= NEXT_GOAL;
        if goal.species != species.key() {
            continue;
        }
        let target = target(species, goal);
        let limits = goal.limits.clone().unwrap_or_default();
        let reached = here.iter().find(|a| is_it(species, a, &target)).map(|a| a.id);
        let due = limits.by_year.map(|by| (by - first_year + 1).clamp(1, MOST_AHEAD));
        let seasons = due.and_then(|n| u32::try_from(n).ok());
        let has = |a: &Animal| a.genes.iter().any(|b| limits.without.contains(&b.gene) && b.chance > none());
        let without = here.iter().enumerate().filter(|(_, a)| has(a)).map(|(i, _)| i).collect();
        let aim = Aim {
            goal: wanted(species, &target),
            seasons: seasons.unwrap_or(AHEAD),
            objective: if seasons.is_some() { Objective::Chance } else { Objective::Seasons },
            weight: if reached.is_some() && !limits.pair { own * REACHED } else { own },
            without,
        };
        found.push(Wish { number: n + 1, target, limits, reached, aim });
    }
    found
}

/// Whether an animal is surely what a goal wants.
fn is_it(species: &Species, animal: &Animal, target: &Target) -> bool {
    let sex: Sex = target.sex.into();
    let has = |(gene, copies): &(crate::species::GeneId, u8)| {
        animal
            .genes
            .iter()
            .any(|b| species.gene_by_id(&b.gene) == Some(*gene) && b.copies >= *copies && b.chance == sure())
    };
    (sex == Sex::Unknown || sex == animal.sex) && target.genes.iter().all(has)
}

fn kinships(
    species: &Species,
    herd: &Herd,
    here: &[&Animal],
    candidates: &[Candidate],
) -> HashMap<(usize, usize), Odds> {
    let mut kin = HashMap::new();
    let Ok(pedigree) = Evidence::pedigree(species, herd) else { return kin };
    // Somebody without a known parent is related to descendants alone, and those have one.
    let descends = |a: &Animal| {
        a.sire_id.is_some()
            || a.dam_id.is_some()
            || a.clutch_id.is_some()
            || a.sire_out.is_some()
            || a.dam_out.is_some()
    };
    for (a, one) in here.iter().enumerate() {
        for (b, other) in here.iter().enumerate().skip(a + 1) {
            if candidates[a].animal.sex == candidates[b].animal.sex || !descends(one) && !descends(other) {
                continue;
            }
            if let Ok(kinship) = pedigree.kinship(one.id, other.id)
                && kinship > none()
            {
                kin.insert((a, b), kinship);
            }
        }
    }
    kin
}

/// Pairs whose young can come to serious harm, by sire and dam.
fn harms(species: &Species, here: &[&Animal], candidates: &[Candidate]) -> HashMap<(usize, usize), Vec<GeneId>> {
    let read: Vec<_> = here.iter().map(|animal| genes::as_read(species, animal)).collect();
    let of = |sex: EngineSex| (0..here.len()).filter(move |i| candidates[*i].animal.sex == sex);
    let mut found = HashMap::new();
    for sire in of(EngineSex::Male) {
        for dam in of(EngineSex::Female) {
            let genes = harmful(species, &[read[sire].clone(), read[dam].clone()]);
            if !genes.is_empty() {
                found.insert((sire, dam), genes);
            }
        }
    }
    found
}

/// The closest kinship that is paired: as the keeper says now, else as a goal says, else that of half siblings.
fn closest(wishes: &[Wish], relatives: Option<bool>) -> Odds {
    match relatives {
        Some(true) => sure(),
        Some(false) => none(),
        None => {
            let said = wishes.iter().filter_map(|wish| wish.limits.kinship.as_deref().and_then(parse));
            said.min().unwrap_or_else(|| odds(1, 8))
        }
    }
}
