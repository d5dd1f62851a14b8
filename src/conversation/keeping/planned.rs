//! The plan towards a goal from what is kept, and what changes it.

use super::evidence::as_believed;
use super::goals::{numbered, settled, target};
use super::ready::{Readiness, readiness};
use super::{Desk, Done, Stop, added};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::events::{Goal, Limits};
use crate::collection::evidence::Evidence;
use crate::collection::herd::Herd;
use crate::conversation::plan::{self, Believed, Frame, Kind, Priced};
use crate::conversation::sentences::keeping as say;
use crate::engine::inheritance::locus::Sex as EngineSex;
use crate::engine::odds::{Odds, none, parse, sure};
use crate::reading::records::goals::{LimitsSaid, PlanFor, PlanMore, part};
use crate::reading::records::money::Offer;
use crate::reading::requests::{Reading, Target};
use crate::species::{GeneId, Species};

/// Animals of one kind beyond so many make no plan faster.
const MOST_ALIKE: usize = 2;
/// Animals that a plan is played out from.
const MOST_BELIEVED: usize = 24;
/// Goals whose plans are looked at when something is recorded.
const MOST_GOALS: usize = 3;
/// The months from which on the season to come is next year's.
pub(super) const NEW_SEASON: i8 = 7;

pub(super) fn plan(
    desk: &Desk<'_>,
    towards: &PlanFor,
    within: &LimitsSaid,
    more: Option<&PlanMore>,
) -> Result<Done, Stop> {
    let (species, wish, kept) = match towards {
        PlanFor::Goal(number) => {
            let goal = if number.is_none() { super::goals::in_order(desk).first().copied() } else { None };
            let goal = match goal {
                Some(first) => first,
                None => numbered(desk, *number)?,
            };
            let species = of_goal(desk, goal)?;
            (species, target(species, goal), goal.limits.clone())
        }
        PlanFor::Told(reading, wish) => {
            let species = told(desk, reading)?;
            let same =
                desk.herd.goals.iter().find(|g| g.species == species.key() && target(species, g).genes == wish.genes);
            (species, wish.clone(), same.and_then(|g| g.limits.clone()))
        }
    };
    let limits = settled(desk, species, within, &kept.unwrap_or_default())?.unwrap_or_default();
    let ((offers, unsure), money) = match more {
        Some(PlanMore::Offers(said)) => (priced(desk, species, &said.offers)?, said.money),
        _ => (<_>::default(), None),
    };
    let now = if within.scratch { Herd::empty() } else { as_believed(desk) };
    let scene = Scene::of(desk, species, &now, &wish, &limits);
    let kin = |a: usize, b: usize| scene.kin(a, b);
    let seasons_with = |bought: Vec<Kind>| {
        let frame = scene.frame(desk, &limits, &kin, bought, None);
        plan::laid(species, &wish, scene.kinds.clone(), &frame).ok().map(|laid| laid.seasons())
    };
    let bought = match more {
        Some(PlanMore::Buy(words)) => match part(words) {
            Some(part) => {
                let all = plan::to_buy(species, &wish).into_iter().filter(|kind| kind.plays(part));
                let best = all.min_by_key(|kind| seasons_with(vec![kind.clone()]).unwrap_or(u64::MAX));
                vec![best.ok_or_else(|| Stop::say(say::goals::buy_what(words)))?]
            }
            None => bought(desk, species, words)?,
        },
        _ => Vec::new(),
    };
    let with = if bought.is_empty() { None } else { seasons_with(bought.clone()) };
    let before = if bought.is_empty() { None } else { seasons_with(Vec::new()) };
    let frame = Frame {
        offers,
        budget: money.or(limits.budget_cents),
        ..scene.frame(desk, &limits, &kin, bought, more.cloned())
    };
    let mut reply = plan::drawn(species, &wish, scene.kinds.clone(), &frame);
    if let (Some(before), Some(after)) = (before, with) {
        reply.answer.insert(0, say::goals::bought_saves(before, after));
    }
    reply.notes.extend(say::goals::unsure_offers(&unsure));
    let words = say::goals::limits(Some(species), &limits);
    if !words.is_empty() && reply.kind == crate::reply::Kind::Answer {
        reply.understood.push_str(&words);
    }
    Ok(Done::about(reply, Vec::new()))
}

fn of_goal<'a>(desk: &Desk<'a>, goal: &Goal) -> Result<&'a Species, Stop> {
    let found = desk.catalogue.species().iter().find(|s| s.key() == goal.species);
    found.ok_or_else(|| Stop::say(say::unknown_species(&goal.species)))
}

fn told<'a>(desk: &Desk<'a>, reading: &Reading) -> Result<&'a Species, Stop> {
    reading.species.map(|id| desk.catalogue.get(id)).ok_or_else(|| Stop::say(plan::ask_goal()))
}

/// An animal that can be bought, by its words: one of each sex that it may be, `unsaid` where none is said. None where it may
/// carry nothing.
fn on_sale(desk: &Desk<'_>, species: &Species, words: &str, unsaid: &[EngineSex]) -> Result<Vec<Kind>, Stop> {
    let said = desk.settled(species.id, &desk.reader.describe(desk.catalogue, words, Some(species.id)))?;
    if said.animal.genes.is_empty() {
        return Err(Stop::say(say::goals::buy_what(words)));
    }
    let genes: Vec<(GeneId, u8)> =
        said.animal.genes.iter().filter(|c| c.chance == sure()).map(|c| (c.gene, c.copies)).collect();
    if genes.is_empty() {
        return Ok(Vec::new());
    }
    let sexes = match said.animal.sex.into() {
        Sex::Male => &[EngineSex::Male][..],
        Sex::Female => &[EngineSex::Female],
        Sex::Unknown => unsaid,
    };
    Ok(sexes.iter().map(|sex| Kind { genes: genes.clone(), sex: *sex, name: None, ready: 0 }).collect())
}

/// The animal that is thought to be bought.
fn bought(desk: &Desk<'_>, species: &Species, words: &str) -> Result<Vec<Kind>, Stop> {
    let kinds = on_sale(desk, species, words, &[EngineSex::Female])?;
    if kinds.is_empty() { Err(Stop::say(say::goals::buy_what(words))) } else { Ok(kinds) }
}

/// What can be bought, and the words of what may carry nothing.
fn priced(desk: &Desk<'_>, species: &Species, offers: &[Offer]) -> Result<(Vec<Priced>, Vec<String>), Stop> {
    let (mut all, mut unsure) = (Vec::new(), Vec::new());
    for offer in offers {
        let kinds = on_sale(desk, species, &offer.words, &[EngineSex::Male, EngineSex::Female])?;
        if kinds.is_empty() {
            unsure.push(offer.words.clone());
        }
        all.extend(kinds.into_iter().map(|kind| Priced { kind, cents: offer.cents }));
    }
    Ok((all, unsure))
}

/// The keeper's animals that can serve a goal.
pub(super) struct Scene<'s> {
    pedigree: Option<Evidence<'s>>,
    pub(super) kinds: Vec<Kind>,
    ids: Vec<AnimalId>,
    pub(super) possible: Vec<(String, Kind)>,
    believed: Vec<Believed>,
    believed_ids: Vec<AnimalId>,
    notes: Vec<String>,
}

impl<'s> Scene<'s> {
    pub(super) fn of(desk: &Desk<'_>, species: &'s Species, herd: &'s Herd, wish: &Target, limits: &Limits) -> Self {
        let mut scene = Scene {
            pedigree: Evidence::pedigree(species, herd).ok(),
            kinds: Vec::new(),
            ids: Vec::new(),
            possible: Vec::new(),
            believed: Vec::new(),
            believed_ids: Vec::new(),
            notes: Vec::new(),
        };
        let mut without = Vec::new();
        let mut rested = Vec::new();
        for animal in herd.here().filter(|a| a.species == species.key()) {
            let sex = match animal.sex {
                Sex::Male => EngineSex::Male,
                Sex::Female => EngineSex::Female,
                Sex::Unknown => continue,
            };
            if animal.genes.iter().any(|b| limits.without.contains(&b.gene) && b.chance > none()) {
                without.push(animal.called());
                continue;
            }
            let here = |g: &GeneId| wish.genes.iter().any(|w| w.0 == *g);
            let of = |certain: bool| -> Vec<(GeneId, u8)> {
                let fits = |chance: &Odds| if certain { *chance == sure() } else { *chance > none() };
                let read = |b: &crate::collection::animal::Belief| {
                    Some((species.gene_by_id(&b.gene)?, b.copies)).filter(|g| here(&g.0) && fits(&b.chance))
                };
                animal.genes.iter().filter_map(read).collect()
            };
            let genes = of(true);
            let Readiness { wait: ready, why, .. } = readiness(desk.today, species, herd, animal);
            if !genes.is_empty() {
                rested.extend(why.and_then(|why| say::goals::rests(animal, why)));
            }
            let kind = Kind { genes, sex, name: Some(say::with_code(animal)), ready };
            let mut open = of(false);
            open.dedup_by_key(|g| g.0);
            if !open.is_empty() {
                scene.believe(species, animal, &here, sex, ready);
            }
            if open.len() > kind.genes.len() {
                let words = format!("{} ({})", say::with_code(animal), say::look_of(species, &animal.genes));
                scene.possible.push((words, Kind { genes: open, ..kind.clone() }));
            }
            if kind.genes.is_empty() {
                continue;
            }
            let alike =
                scene.kinds.iter().filter(|k| k.sex == kind.sex && k.genes == kind.genes && k.ready <= kind.ready);
            if alike.count() < MOST_ALIKE {
                scene.kinds.push(kind);
                scene.ids.push(animal.id);
            }
        }
        if !without.is_empty() {
            scene.notes.push(say::goals::left_out(&without));
        }
        rested.truncate(3);
        scene.notes.extend(rested);
        scene
    }

    /// Counts an animal in as it is believed to be; a third of one kind adds nothing that a project could use.
    fn believe(
        &mut self,
        species: &Species,
        animal: &Animal,
        here: &dyn Fn(&GeneId) -> bool,
        sex: EngineSex,
        ready: u32,
    ) {
        let told = |b: &crate::collection::animal::Belief| {
            Some((species.gene_by_id(&b.gene)?, b.copies, b.chance.clone())).filter(|c| here(&c.0) && c.2 > none())
        };
        let carries: Vec<_> = animal.genes.iter().filter_map(told).collect();
        let alike = self.believed.iter().filter(|b| b.sex == sex && b.carries == carries && b.ready <= ready).count();
        if alike < MOST_ALIKE && self.believed.len() < MOST_BELIEVED {
            self.believed.push(Believed { carries, sex, ready });
            self.believed_ids.push(animal.id);
        }
    }

    fn kin(&self, a: usize, b: usize) -> Odds {
        let both = self.ids.get(a).zip(self.ids.get(b));
        both.map_or_else(none, |(a, b)| self.kinship(*a, *b))
    }

    fn kinship(&self, a: AnimalId, b: AnimalId) -> Odds {
        let known = self.pedigree.as_ref().and_then(|pedigree| pedigree.kinship(a, b).ok());
        known.unwrap_or_else(none)
    }

    fn kinship_of_believed(&self) -> Vec<Vec<Odds>> {
        let row = |a: &AnimalId| self.believed_ids.iter().map(|b| self.kinship(*a, *b)).collect();
        self.believed_ids.iter().map(row).collect()
    }

    fn frame<'f>(
        &self,
        desk: &Desk<'_>,
        limits: &Limits,
        kin: &'f dyn Fn(usize, usize) -> Odds,
        bought: Vec<Kind>,
        more: Option<PlanMore>,
    ) -> Frame<'f> {
        let year = desk.today.year();
        Frame {
            saved: true,
            first_year: if desk.today.month() >= NEW_SEASON { year + 1 } else { year },
            by_year: limits.by_year,
            purchases: limits.purchases,
            pair: limits.pair,
            clutches: limits.clutches,
            room: limits.room,
            kinship: limits.kinship.as_deref().and_then(parse),
            kin: Some(kin),
            budget: limits.budget_cents,
            offers: Vec::new(),
            bought,
            herd: self.believed.clone(),
            herd_kinship: if limits.kinship.is_some() { self.kinship_of_believed() } else { Vec::new() },
            possible: self.possible.clone(),
            notes: self.notes.clone(),
            more,
        }
    }
}

/// What a record changes of the plans towards the keeper's goals.
pub(super) fn news(desk: &Desk<'_>, before: &Herd, after: &Herd) -> Vec<String> {
    let mut lines = Vec::new();
    for goal in super::goals::in_order(desk).into_iter().take(MOST_GOALS) {
        let Ok(species) = of_goal(desk, goal) else { continue };
        let wish = target(species, goal);
        let limits = goal.limits.clone().unwrap_or_default();
        let seasons = |herd: &Herd| {
            let fresh = Desk { herd, ..desk.again() };
            let now = as_believed(&fresh);
            let scene = Scene::of(&fresh, species, &now, &wish, &limits);
            let kin = |a: usize, b: usize| scene.kin(a, b);
            let frame = scene.frame(&fresh, &limits, &kin, Vec::new(), None);
            plan::laid(species, &wish, scene.kinds.clone(), &frame).ok().map(|l| l.seasons())
        };
        let (old, new) = (seasons(before), seasons(after));
        if old != new {
            lines.extend(say::goals::plan_changed(desk.catalogue, goal, old, new));
        }
    }
    lines
}

/// The herd with the young of a clutch as animals, as far as they may be kept: one of each look and sex.
pub(super) fn with_young(desk: &Desk<'_>, herd: &Herd, clutch: &crate::collection::events::Clutch) -> Herd {
    let mut herd = herd.clone();
    let mut ids = desk.herd.ids();
    let Some(parent) = clutch.dam_id.or(clutch.sire_id).and_then(|id| herd.animal(id)).cloned() else { return herd };
    let Ok(species) = added::species_of(desk, &parent) else { return herd };
    for kind in clutch.young.iter().filter(|y| !y.untold && !y.genes.is_empty()) {
        // Not sexed: it may be either.
        let sexes = [
            (kind.males, Sex::Male),
            (kind.females, Sex::Female),
            (kind.unsexed, Sex::Female),
            (kind.unsexed, Sex::Male),
        ];
        let mut unsexed = false;
        for (n, sex) in sexes {
            if n == 0 || unsexed && kind.unsexed == 1 {
                continue;
            }
            unsexed |= kind.males == 0 && kind.females == 0;
            let (id, number) = ids.animal();
            let mut young = Animal::new(id, number, species.key().to_owned());
            young.sex = sex;
            young.genes.clone_from(&kind.genes);
            young.hatched = clutch.hatched;
            (young.sire_id, young.dam_id, young.clutch_id) = (clutch.sire_id, clutch.dam_id, Some(clutch.id));
            herd.animals.push(young);
        }
    }
    herd
}
