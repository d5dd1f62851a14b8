//! Goals: named, ranked, limited; and what cannot be a goal.

use super::{Desk, Done, Stop};
use crate::collection::animal::Belief;
use crate::collection::change::Change;
use crate::collection::events::{Goal, Limits};
use crate::collection::genes;
use crate::collection::rules::limits;
use crate::conversation::plan;
use crate::conversation::sentences::{self, keeping as say};
use crate::reading::records::described::Described;
use crate::reading::records::goals::{GoalEdit, LimitsSaid};
use crate::reading::requests::Target;
use crate::species::Species;

/// Characters of a goal's name.
const NAME: usize = 80;

pub(super) fn goal(
    desk: &Desk<'_>,
    said: &Described,
    words: &str,
    within: &LimitsSaid,
    name: Option<&str>,
) -> Result<Done, Stop> {
    let id = desk.species_said(said)?;
    let species = desk.catalogue.get(id);
    let again =
        if said.species == Some(id) { said.clone() } else { desk.reader.describe(desk.catalogue, words, Some(id)) };
    let said = desk.settled(id, &again)?;
    if desk.herd.goals.len() >= limits::GOALS {
        let fault = crate::collection::rules::Fault::TooManyGoals { n: desk.herd.goals.len(), most: limits::GOALS };
        return Err(Stop::say(say::fault(&fault.to_string())));
    }
    let goal = Goal {
        id: desk.herd.ids().event(),
        version: 0,
        species: species.key().to_owned(),
        genes: genes::stated(species, &said.animal),
        sex: said.animal.sex.into(),
        name: name.map(|n| n.chars().take(NAME).collect()),
        rank: None,
        limits: settled(desk, species, within, &Limits::default())?,
    };
    let wanted = target(species, &goal);
    // What cannot be, or harms the animal, is declined at once, with the reason.
    if let Some(no) = plan::refusal(species, &wanted) {
        return Err(Stop::say(no));
    }
    let mut change = Change::new("goal", say::goal_past(species, &goal));
    change.put(&goal);
    let assumed = said.assumed.iter().map(|a| sentences::assumed(desk.catalogue, species, a)).collect();
    Ok(Done::save(change, say::goal(desk.catalogue, &goal, desk.herd.goals.len() + 1, assumed), Vec::new()))
}

/// Limits as they are kept: what was before, with what is said now.
pub(super) fn settled(
    desk: &Desk<'_>,
    species: &Species,
    said: &LimitsSaid,
    before: &Limits,
) -> Result<Option<Limits>, Stop> {
    let mut out = before.clone();
    let year = desk.today.year();
    let by = said.by_year.or_else(|| said.years.and_then(|n| i16::try_from(n).ok()).map(|n| year.saturating_add(n)));
    if let Some(by) = by {
        if by < year {
            return Err(Stop::say(say::goals::year_is_over(by)));
        }
        out.by_year = Some(by);
    }
    if let Some(words) = &said.without {
        let described = desk.reader.describe(desk.catalogue, words, Some(species.id));
        let named = described.animal.genes.iter().map(|c| c.gene).chain(described.animal.looks.iter().copied());
        let ids: Vec<String> = named.map(|g| species.gene(g).entry.id.clone()).collect();
        if ids.is_empty() {
            return Err(Stop::say(say::goals::without_what(words)));
        }
        out.without.extend(ids);
        out.without.sort();
        out.without.dedup();
    }
    if said.clutches == Some(0) || said.room == Some(0) {
        return Err(Stop::say(say::goals::no_room()));
    }
    out.budget_cents = said.budget_cents.or(out.budget_cents);
    out.clutches = said.clutches.and_then(|n| u8::try_from(n).ok()).or(out.clutches);
    out.room = said.room.or(out.room);
    out.kinship = said.kinship.as_ref().map(ToString::to_string).or(out.kinship);
    // No money buys nothing.
    let broke = (said.budget_cents == Some(0)).then_some(0);
    out.purchases = said.purchases.or(broke).or(out.purchases);
    out.pair |= said.pair;
    Ok((out != Limits::default()).then_some(out))
}

/// The goal as the planner takes it.
pub(super) fn target(species: &Species, goal: &Goal) -> Target {
    let gene = |b: &Belief| species.gene_by_id(&b.gene).map(|g| (g, b.copies));
    Target { genes: goal.genes.iter().filter_map(gene).collect(), sex: goal.sex.into(), hets: Vec::new() }
}

/// Goals in their order: ranked ones first, then as they were told.
pub(super) fn in_order<'h>(desk: &Desk<'h>) -> Vec<&'h Goal> {
    let mut goals: Vec<&Goal> = desk.herd.goals.iter().collect();
    goals.sort_by_key(|g| g.rank.unwrap_or(i16::MAX));
    goals
}

/// The goal of a number in the list; the only one where none is said.
pub(super) fn numbered<'h>(desk: &Desk<'h>, number: Option<usize>) -> Result<&'h Goal, Stop> {
    let goals = in_order(desk);
    match (number, goals.len()) {
        (_, 0) => Err(Stop::say(say::no_goals())),
        (None, 1) => Ok(goals[0]),
        (Some(n), all) if n >= 1 && n <= all => Ok(goals[n - 1]),
        _ => Err(Stop::say(say::which_goal(desk.catalogue, desk.herd))),
    }
}

pub(super) fn goal_gone(desk: &Desk<'_>, number: Option<usize>) -> Result<Done, Stop> {
    let goal = numbered(desk, number)?;
    let mut change = Change::new("goal", say::goal_gone_past(desk.catalogue, goal));
    change.drop(goal);
    Ok(Done::save(change, say::goal_gone(desk.catalogue, goal), Vec::new()))
}

pub(super) fn edit(desk: &Desk<'_>, number: Option<usize>, edit: &GoalEdit) -> Result<Done, Stop> {
    let goal = numbered(desk, number)?;
    let species = desk
        .catalogue
        .species()
        .iter()
        .find(|s| s.key() == goal.species)
        .ok_or_else(|| Stop::say(say::unknown_species(&goal.species)))?;
    let mut change = Change::new("goal", say::goals::edited_past(desk.catalogue, goal));
    let mut new = goal.clone();
    match edit {
        GoalEdit::Limits(said) => {
            let before = goal.limits.clone().unwrap_or_default();
            new.limits = settled(desk, species, said, &before)?;
        }
        GoalEdit::Name(name) => new.name = Some(name.chars().take(NAME).collect()),
        GoalEdit::Rank(place) => {
            // All get their rank anew, so that no two share one.
            let mut goals = in_order(desk);
            let from = goals.iter().position(|g| g.id == goal.id).unwrap_or(0);
            let moved = goals.remove(from);
            let to = place.saturating_sub(1).min(goals.len());
            goals.insert(to, moved);
            for (at, other) in goals.into_iter().enumerate() {
                let rank = i16::try_from(at + 1).ok();
                if other.id == goal.id {
                    new.rank = rank;
                } else if other.rank != rank {
                    let mut other = other.clone();
                    other.rank = rank;
                    change.put(&other);
                }
            }
        }
    }
    change.put(&new);
    Ok(Done::save(change, say::goals::edited(desk.catalogue, &new), Vec::new()))
}
