//! Goals with their limits in words.

use super::{goal_words, grams, list_of, with_code};
use crate::collection::animal::Animal;
use crate::collection::events::{Goal, Limits};
use crate::conversation::keeping::ready::Rest;
use crate::conversation::labels::percent;
use crate::engine::odds::{none, parse};
use crate::reply::Reply;
use crate::species::{Catalogue, Species};

/// ", by 2031, at most 3 clutches a season": everything that limits a goal.
pub(in crate::conversation) fn limits(species: Option<&Species>, limits: &Limits) -> String {
    let mut parts = Vec::new();
    if limits.pair {
        parts.push("a male and a female".to_owned());
    }
    if let Some(year) = limits.by_year {
        parts.push(format!("by {year}"));
    }
    if let Some(cents) = limits.budget_cents {
        parts.push(format!("budget {}", cents / 100));
    }
    if let Some(n) = limits.clutches {
        parts.push(format!("at most {n} clutch{} a season", if n == 1 { "" } else { "es" }));
    }
    if let Some(n) = limits.room {
        parts.push(format!("room for {n}"));
    }
    for id in &limits.without {
        let name = species.and_then(|s| s.gene_by_id(id).map(|g| s.gene(g).entry.name.clone()));
        parts.push(format!("without {}", name.unwrap_or_else(|| id.clone())));
    }
    if let Some(kinship) = limits.kinship.as_deref().and_then(parse) {
        parts.push(if kinship == none() {
            "no relatives paired".to_owned()
        } else {
            format!("no pair closer than {}", percent(&kinship))
        });
    }
    match limits.purchases {
        Some(0) => parts.push("only what is here".to_owned()),
        Some(1) => parts.push("one animal may be bought".to_owned()),
        Some(n) => parts.push(format!("{n} animals may be bought")),
        None => {}
    }
    if parts.is_empty() { String::new() } else { format!(", {}", parts.join(", ")) }
}

pub(in crate::conversation) fn year_is_over(year: i16) -> Reply {
    Reply::refusal(format!("{year} is over: name a year to come. Nothing was saved."))
}

pub(in crate::conversation) fn without_what(words: &str) -> Reply {
    Reply::refusal(format!("Without what? I know no gene \"{words}\" in this species. Nothing was saved."))
}

pub(in crate::conversation) fn no_room() -> Reply {
    Reply::refusal("Without a clutch or without room nothing can hatch: name at least 1. Nothing was saved.")
}

pub(in crate::conversation) fn edited_past(catalogue: &Catalogue, goal: &Goal) -> String {
    format!("changed the goal {}", goal_words(catalogue, goal))
}

pub(in crate::conversation) fn edited(catalogue: &Catalogue, goal: &Goal) -> Reply {
    let rank = goal.rank.map_or_else(String::new, |n| format!(" It is goal {n} now."));
    let mut reply = Reply::sentence(format!("Saved: goal {}.{rank}", goal_words(catalogue, goal)));
    reply.notes.push("Say \"undo\" to take it back.".to_owned());
    reply
}

/// "With that animal 2 seasons are saved."
pub(in crate::conversation) fn bought_saves(before: u64, after: u64) -> String {
    match before.checked_sub(after) {
        Some(0) | None => format!("That purchase saves no season: {before} with it or without."),
        Some(1) => format!("That purchase saves 1 season: {before} without it, {after} with it."),
        Some(n) => format!("That purchase saves {n} seasons: {before} without it, {after} with it."),
    }
}

/// Possible hets on offer are not planned with.
pub(in crate::conversation) fn unsure_offers(words: &[String]) -> Option<String> {
    (!words.is_empty()).then(|| {
        format!(
            "Not counted, because it may carry nothing: {}. \"What should I buy\" weighs a possible het by its chance.",
            words.join(", ")
        )
    })
}

pub(in crate::conversation) fn buy_what(words: &str) -> Reply {
    Reply::refusal(format!(
        "Buy what? I read no sure gene in \"{words}\". Say for example \"what if I buy a female visual pied het clown\"."
    ))
}

pub(in crate::conversation) fn left_out(names: &[String]) -> String {
    format!("Left out by your limits: {}.", list_of(names))
}

/// Why a female rests, where that is because she laid.
pub(in crate::conversation) fn rests(animal: &Animal, why: Rest) -> Option<String> {
    match why {
        Rest::NotRegained(before, now) => Some(not_regained(animal, before, now)),
        Rest::WeightNotKnown => Some(weight_not_known(animal)),
        _ => None,
    }
}

fn not_regained(animal: &Animal, before: i32, now: i32) -> String {
    format!(
        "{} rests a season: she laid, and has {} of the {} she had before.",
        with_code(animal),
        grams(now),
        grams(before)
    )
}

fn weight_not_known(animal: &Animal) -> String {
    format!(
        "{} rests a season: she laid, and it is not known whether she has her weight back. Weigh her to have it counted.",
        with_code(animal)
    )
}

/// What a record did to a plan.
pub(in crate::conversation) fn plan_changed(
    catalogue: &Catalogue,
    goal: &Goal,
    old: Option<u64>,
    new: Option<u64>,
) -> Option<String> {
    let name = goal_words(catalogue, goal);
    let seasons = |n: u64| if n == 1 { "1 season".to_owned() } else { format!("{n} seasons") };
    Some(match (old, new?) {
        (_, 0) => format!("Your goal {name} is reached."),
        (None, new) => format!("Your goal {name} can be reached now: {}.", seasons(new)),
        (Some(old), new) if new < old => {
            format!("Your goal {name}: {} saved, if what hatched is kept ({old} \u{2192} {new}).", seasons(old - new))
        }
        (Some(old), new) => format!("Your goal {name}: {} longer ({old} \u{2192} {new}).", seasons(new - old)),
    })
}
