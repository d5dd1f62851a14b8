//! Whom to hold back, what possible hets are worth, what to buy.

use std::collections::{BTreeMap, BTreeSet};

use super::super::{count, list_of, look_of, with_code};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::herd::Herd;
use crate::conversation::labels;
use crate::conversation::plan::Saving;
use crate::engine::planning::holdback::Kept;
use crate::reply::Reply;
use crate::species::Species;

/// Young that are named.
const MOST_YOUNG: usize = 8;
/// Animals that are named as not needed.
const MOST_OTHERS: usize = 10;
/// A worth below this is nothing.
const NOTHING: f64 = 1e-6;
/// A young that adds less than this share of what the best one does is not worth its place for years.
const WORTH_A_PLACE: f64 = 0.2;

/// Who of one species is kept.
pub(in crate::conversation) struct Held<'a> {
    pub(in crate::conversation) species: &'a Species,
    pub(in crate::conversation) ids: Vec<AnimalId>,
    pub(in crate::conversation) kept: Kept,
    /// Who was needed before the young were there.
    pub(in crate::conversation) needed_before: Vec<AnimalId>,
    /// Animals there is room for.
    pub(in crate::conversation) space: Option<usize>,
}

/// "a ♀ Clown, het Piebald of Rusty × Nova".
fn young_in_words(species: &Species, herd: &Herd, animal: &Animal) -> String {
    let parent = |id: Option<AnimalId>| id.and_then(|id| herd.animal(id)).map(Animal::called);
    let from = match (parent(animal.sire_id), parent(animal.dam_id)) {
        (Some(sire), Some(dam)) => format!(" of {sire} \u{d7} {dam}"),
        (Some(one), None) | (None, Some(one)) => format!(" of {one}"),
        (None, None) => String::new(),
    };
    let look = look_of(species, &animal.genes);
    let mark = labels::mark(animal.sex.into());
    match &animal.name {
        Some(name) => format!("{name} ({mark}{look}){from}"),
        None => format!("{mark}{look}{from}"),
    }
}

/// Whom to hold back, and who is not needed.
pub(in crate::conversation) fn holdback(herd: &Herd, young: &[AnimalId], all: &[Held<'_>]) -> Reply {
    let mut reply =
        Reply { understood: "Whom to keep, by what each adds to your goals".to_owned(), ..Reply::default() };
    let mut any = false;
    for held in all {
        any |= of_species(&mut reply, herd, young, held);
    }
    if !any {
        reply
            .notes
            .push("No young of the last months are recorded; this is about the animals that you have.".to_owned());
    }
    reply.notes.push(
        "This weighs goals alone: feeding, kinks and temper of each young are yours to see, and a vet's where in doubt. Wait two or three sheds where colours still change."
            .to_owned(),
    );
    reply
}

fn of_species(reply: &mut Reply, herd: &Herd, young: &[AnimalId], held: &Held<'_>) -> bool {
    let kept = &held.kept;
    let is_young = |i: usize| young.contains(&held.ids[i]);
    let mut hatched: Vec<usize> = (0..held.ids.len()).filter(|i| is_young(*i)).collect();
    hatched.sort_by(|a, b| kept.beside_kept[*b].total_cmp(&kept.beside_kept[*a]).then(a.cmp(b)));
    let words = |i: usize| herd.animal(held.ids[i]).map(|a| young_in_words(held.species, herd, a));
    let most = hatched.iter().map(|i| kept.beside_kept[*i]).fold(0.0, f64::max);
    let (keep, spare): (Vec<usize>, Vec<usize>) =
        hatched.iter().filter(|i| kept.kept[**i]).partition(|i| kept.beside_kept[**i] >= most * WORTH_A_PLACE);
    for (n, i) in keep.iter().take(MOST_YOUNG).enumerate() {
        reply.answer.extend(words(*i).map(|who| format!("{}. Keep {who}.", n + 1)));
    }
    let spare: BTreeSet<String> = spare.into_iter().filter_map(words).collect();
    if !spare.is_empty() {
        let named: Vec<String> = spare.into_iter().take(MOST_YOUNG).collect();
        reply.answer.push(format!("Adds little, if there is a place to spare: {}.", list_of(&named)));
    }
    if keep.is_empty() && !hatched.is_empty() {
        reply.answer.push("None of the young brings a goal nearer than what you have.".to_owned());
    }
    let mut rest: BTreeMap<String, usize> = BTreeMap::new();
    for i in hatched.iter().filter(|i| !kept.kept[**i]) {
        if let Some(who) = words(*i) {
            *rest.entry(who).or_default() += 1;
        }
    }
    if !rest.is_empty() {
        let named: Vec<String> = rest.into_keys().take(MOST_YOUNG).collect();
        reply.answer.push(format!("Can go: {}.", list_of(&named)));
    }
    let old = |needed: bool| {
        let is = move |i: &usize| !is_young(*i) && kept.needed[*i] == needed;
        (0..held.ids.len()).filter(is).filter_map(|i| herd.animal(held.ids[i]))
    };
    let (replaced, idle): (Vec<&Animal>, Vec<&Animal>) = old(false).partition(|a| held.needed_before.contains(&a.id));
    if !replaced.is_empty() {
        let names: Vec<String> = replaced.into_iter().map(with_code).collect();
        reply.answer.push(format!("With these kept, the young take the place of {}.", list_of(&names)));
    }
    let idle: Vec<String> = idle.into_iter().map(with_code).collect();
    if !idle.is_empty() {
        let some: Vec<String> = idle.iter().take(MOST_OTHERS).cloned().collect();
        let more = idle.len().saturating_sub(MOST_OTHERS);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        reply.answer.push(format!("No goal needs any longer: {}{more}.", list_of(&some)));
    }
    let mut best: Vec<usize> = (0..held.ids.len()).filter(|i| !is_young(*i) && kept.worth[*i] > NOTHING).collect();
    best.sort_by(|a, b| kept.worth[*b].total_cmp(&kept.worth[*a]).then(a.cmp(b)));
    let best: Vec<String> = best.into_iter().take(3).filter_map(|i| herd.animal(held.ids[i])).map(with_code).collect();
    if !best.is_empty() {
        reply.notes.push(format!("Your goals hang most on {}.", list_of(&best)));
    }
    if let Some(space) = held.space {
        let n = kept.kept.iter().filter(|k| **k).count();
        let over = (0..held.ids.len()).filter(|i| !is_young(*i) && !kept.kept[*i] && kept.needed[*i]);
        let over: Vec<String> = over.filter_map(|i| herd.animal(held.ids[i])).map(with_code).collect();
        let go =
            if over.is_empty() { String::new() } else { format!(" For that, least is lost by {}.", list_of(&over)) };
        reply.notes.push(format!("Within your room for {space}: {} kept.{go}", count(n, "animal", "animals")));
    }
    if !kept.complete {
        reply.notes.push("The search was cut short: who was not looked at is kept.".to_owned());
    }
    let lone = [Sex::Male, Sex::Female].into_iter().find(|sex| {
        let left = (0..held.ids.len()).filter(|i| kept.kept[*i]).filter_map(|i| herd.animal(held.ids[i]));
        left.clone().count() > 0 && left.clone().all(|a| a.sex != *sex)
    });
    if let Some(sex) = lone {
        let word = if sex == Sex::Male { "male" } else { "female" };
        reply.notes.push(format!("Then no {word} is left: one has to come from elsewhere."));
    }
    !hatched.is_empty()
}

/// Possible hets of one goal.
pub(in crate::conversation) struct Possible {
    pub(in crate::conversation) goal: String,
    /// Seasons booked without counting on any of them.
    pub(in crate::conversation) seasons: u64,
    /// Animals have to be bought for it.
    pub(in crate::conversation) needs_more: bool,
    /// Each in words, with the seasons that are saved if it carries.
    pub(in crate::conversation) each: Vec<(String, u64)>,
    /// What sure animals would save.
    pub(in crate::conversation) buys: Vec<Saving>,
}

fn seasons(n: u64) -> String {
    count(usize::try_from(n).unwrap_or(usize::MAX), "season", "seasons")
}

/// Whether possible hets are worth keeping.
pub(in crate::conversation) fn worth_keeping(all: &[Possible]) -> Reply {
    let mut reply = Reply { understood: "Possible hets: prove them, or buy sure ones?".to_owned(), ..Reply::default() };
    for goal in all {
        if goal.each.is_empty() {
            reply.answer.push(format!("{}: none of your animals only possibly carries its genes.", goal.goal));
            continue;
        }
        let booked = if goal.needs_more { " with purchases" } else { "" };
        reply.answer.push(format!(
            "{}: {} booked{booked}, counting on none of them.",
            goal.goal,
            seasons(goal.seasons)
        ));
        let (useful, idle): (Vec<_>, Vec<_>) = goal.each.iter().partition(|(_, saved)| *saved > 0);
        for (who, saved) in useful.iter().take(MOST_YOUNG) {
            reply.answer.push(format!("{who}: worth proving; if it carries, {} saved.", seasons(*saved)));
        }
        if !idle.is_empty() {
            let names: Vec<String> = idle.iter().take(MOST_YOUNG).map(|(who, _)| who.clone()).collect();
            reply.answer.push(format!("Saves no season even if it carries: {}.", list_of(&names)));
        }
        let sure: Vec<String> = goal.buys.iter().map(Saving::words).collect();
        if !sure.is_empty() {
            reply.answer.push(format!("Bought sure instead, without proving: {}.", sure.join("; ")));
        }
    }
    reply.notes.push(
        "Keeping one costs its feed and place for the seasons until it breeds, and proving takes a clutch or more with a \
         visual; a sure one costs its price now. Below that cost buy, above it prove."
            .to_owned(),
    );
    reply.notes.push(
        "\"how sure is\" and a name tells where one stands; \"who should I prove out first\" which first.".to_owned(),
    );
    reply
}

/// What could be bought for one goal.
pub(in crate::conversation) struct Purchase {
    pub(in crate::conversation) goal: String,
    /// Seasons booked as it stands.
    pub(in crate::conversation) seasons: u64,
    /// What the goal cannot be reached without.
    pub(in crate::conversation) missing: Vec<String>,
    /// What would save seasons.
    pub(in crate::conversation) buys: Vec<Saving>,
}

/// What to buy.
pub(in crate::conversation) fn what_to_buy(all: &[Purchase], money: Option<i64>) -> Reply {
    let mut reply = Reply { understood: "What buying in would save".to_owned(), ..Reply::default() };
    for goal in all {
        if !goal.missing.is_empty() {
            reply.answer.push(format!("{}: needed at all: {}.", goal.goal, list_of(&goal.missing)));
        }
        if goal.buys.is_empty() {
            if goal.missing.is_empty() {
                reply.answer.push(format!(
                    "{}: no single purchase saves a season; {} booked with what you have.",
                    goal.goal,
                    seasons(goal.seasons)
                ));
            }
            continue;
        }
        let each = goal.buys.iter().map(|saving| {
            let price = money.map_or_else(String::new, |cents| {
                let each = cents / 100 / i64::try_from(saving.seasons.max(1)).unwrap_or(i64::MAX);
                format!(" ({each} a season saved)")
            });
            format!("{}{price}", saving.words())
        });
        reply.answer.push(format!("{}: {}.", goal.goal, each.collect::<Vec<_>>().join("; ")));
    }
    reply.notes.push(match money {
        Some(_) => "Prices are your own to weigh; I name none. Quarantine a new animal for 90 days or more.".to_owned(),
        None => "Prices are yours: \"what should I buy for 800\" divides one by what it saves. Quarantine a new animal for 90 days or more.".to_owned(),
    });
    reply
}
