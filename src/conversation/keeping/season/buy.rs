//! Whether possible hets are worth keeping, and what to buy: what each saves towards the goals, against what its keeper
//! says it costs. No price is ever the program's own.

use super::super::evidence::as_believed;
use super::super::goals::{in_order, target};
use super::super::planned;
use super::super::{Desk, Done, Stop};
use crate::collection::events::Goal;
use crate::collection::herd::Herd;
use crate::conversation::plan::{self, Frame, Kind};
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::season::{Offered, Saved};
use crate::engine::inheritance::locus::Sex as EngineSex;
use crate::engine::odds::{Odds, none, sure};
use crate::reading::records::money::{BuySaid, CostSaid, Offer};
use crate::reading::requests::SexSaid;
use crate::species::{GeneId, Species};

/// Goals that are looked at.
const MOST_GOALS: usize = 3;
/// Seasons beside those until it breeds in which a possible het is proven.
const PROVING: u32 = 1;

/// A goal with the plan towards it from what is here.
struct Towards<'s> {
    species: &'s Species,
    goal: &'s Goal,
    laid: plan::Laid,
    possible: Vec<(String, plan::Kind)>,
}

fn towards<'s>(desk: &Desk<'s>, now: &Herd) -> Vec<Towards<'s>> {
    let mut found = Vec::new();
    for goal in in_order(desk).into_iter().take(MOST_GOALS) {
        let Some(species) = desk.catalogue.species().iter().find(|s| s.key() == goal.species) else { continue };
        let wish = target(species, goal);
        let limits = goal.limits.clone().unwrap_or_default();
        let scene = planned::Scene::of(desk, species, now, &wish, &limits);
        let frame = Frame { saved: true, ..Frame::default() };
        if let Ok(laid) = plan::laid(species, &wish, scene.kinds.clone(), &frame) {
            found.push(Towards { species, goal, laid, possible: scene.possible });
        }
    }
    found
}

fn with_goals<'s>(desk: &Desk<'s>) -> Result<(Herd, Vec<Towards<'s>>), Stop> {
    let now = as_believed(desk);
    if desk.herd.goals.is_empty() {
        return Err(Stop::say(super::suggest::goals(desk, &now)));
    }
    let found = towards(desk, &now);
    if found.is_empty() {
        return Err(Stop::say(say::season::no_goal_for(desk.catalogue, desk.herd)));
    }
    Ok((now, found))
}

/// Whether possible hets are worth keeping: what they save if they carry, against buying a sure one.
pub(super) fn worth(desk: &Desk<'_>, costs: &CostSaid) -> Result<Done, Stop> {
    let (now, found) = with_goals(desk)?;
    let mut lines = Vec::new();
    for towards in &found {
        let wish = target(towards.species, towards.goal);
        let booked = towards.laid.seasons();
        let buys = towards.laid.savings(towards.species, &wish);
        let each = towards.possible.iter().map(|(words, kind)| {
            let after = towards.laid.seasons_with(towards.species, &wish, kind).unwrap_or(booked);
            say::season::Unproven {
                words: words.clone(),
                saved: booked.saturating_sub(after),
                chance: chance_of(&now, towards.species, &wish.genes, kind),
                years: kind.ready + PROVING,
            }
        });
        lines.push(say::season::Possible {
            goal: say::goal_words(desk.catalogue, towards.goal),
            seasons: booked,
            needs_more: towards.laid.needs_more(),
            each: each.collect(),
            buys,
        });
    }
    Ok(Done::about(say::season::worth_keeping(&lines, costs), Vec::new()))
}

/// The chance that an animal of the collection carries all of a goal's genes that it may carry.
fn chance_of(herd: &Herd, species: &Species, wanted: &[(GeneId, u8)], kind: &Kind) -> Odds {
    let is_it = |a: &&crate::collection::animal::Animal| kind.name.as_deref() == Some(&*say::with_code(a));
    let Some(animal) = herd.here().find(is_it) else { return none() };
    let of = |gene: &GeneId| -> Odds {
        let all = animal.genes.iter().filter(|b| species.gene_by_id(&b.gene) == Some(*gene));
        all.map(|b| &b.chance).sum::<Odds>().min(sure())
    };
    wanted.iter().map(|(gene, _)| of(gene)).filter(|share| *share > none()).product()
}

/// What to buy for the goals.
pub(super) fn buy(desk: &Desk<'_>, said: &BuySaid) -> Result<Done, Stop> {
    let (_, found) = with_goals(desk)?;
    if !said.offers.is_empty() {
        return offered(desk, said, &found);
    }
    let mut lines = Vec::new();
    for towards in &found {
        let wish = target(towards.species, towards.goal);
        let goal = say::goal_words(desk.catalogue, towards.goal);
        let missing = if towards.laid.needs_more() {
            towards.laid.to_buy().iter().map(|kind| kind.words(towards.species)).collect()
        } else {
            Vec::new()
        };
        let buys = towards.laid.savings(towards.species, &wish);
        lines.push(say::season::Purchase { goal, seasons: towards.laid.seasons(), missing, buys });
    }
    Ok(Done::about(say::season::what_to_buy(&lines, said.money), Vec::new()))
}

/// What the keeper can buy, each by what it saves.
fn offered(desk: &Desk<'_>, said: &BuySaid, found: &[Towards<'_>]) -> Result<Done, Stop> {
    let mut all = Vec::new();
    for offer in &said.offers {
        all.push(valued(desk, offer, found)?);
    }
    let money = said.money.or_else(|| found.iter().filter_map(|t| t.goal.limits.as_ref()?.budget_cents).min());
    Ok(Done::about(say::season::offers(&all, money), Vec::new()))
}

fn valued(desk: &Desk<'_>, offer: &Offer, found: &[Towards<'_>]) -> Result<Offered, Stop> {
    let mut saved = Vec::new();
    let mut words = None;
    let mut chance = sure();
    for towards in found {
        let species = towards.species;
        let read = desk.reader.describe(desk.catalogue, &offer.words, Some(species.id));
        let whole = read.has_genes() && (!read.questions.is_empty() || !read.animal.genes.is_empty());
        if !whole {
            continue;
        }
        let read = desk.settled(species.id, &read)?;
        let genes: Vec<(GeneId, u8)> = read.animal.genes.iter().map(|c| (c.gene, c.copies)).collect();
        let wish = target(species, towards.goal);
        chance = read.animal.genes.iter().filter(|c| c.chance < sure()).map(|c| c.chance.clone()).product();
        let sexes = match read.animal.sex {
            SexSaid::Male => vec![EngineSex::Male],
            SexSaid::Female => vec![EngineSex::Female],
            SexSaid::Unknown => vec![EngineSex::Female, EngineSex::Male],
        };
        let booked = towards.laid.seasons();
        let with = |sex: EngineSex| {
            let kind = Kind { genes: genes.clone(), sex, name: None, ready: 0 };
            let after = towards.laid.seasons_with(species, &wish, &kind).unwrap_or(booked);
            (booked.saturating_sub(after), kind)
        };
        let best = sexes.into_iter().map(with).reduce(|a, b| if b.0 > a.0 { b } else { a });
        let Some((seasons, kind)) = best else { continue };
        words.get_or_insert_with(|| kind.words(species));
        let is_wanted = genes.iter().any(|(gene, _)| wish.genes.iter().any(|w| w.0 == *gene));
        if is_wanted {
            saved.push(Saved { goal: say::goal_words(desk.catalogue, towards.goal), seasons });
        }
    }
    let Some(words) = words else { return Err(Stop::say(say::season::buy_what(&offer.words))) };
    Ok(Offered { words, cents: offer.cents, chance, saved })
}
