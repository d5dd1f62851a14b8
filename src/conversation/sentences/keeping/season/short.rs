//! Refusals and questions about the season, and doing what was advised.

use super::super::{count, goal_words, list_of, with_code};
use crate::collection::animal::Animal;
use crate::collection::herd::Herd;
use crate::conversation::labels::target;
use crate::reading::requests::Target;
use crate::reply::{Kind, Reply, Row};
use crate::species::{Catalogue, Species};

/// Nobody is kept.
pub(in crate::conversation) fn nobody_here() -> Reply {
    Reply::refusal(
        "You keep no animals with me yet. Tell me of them, such as \"add 1.0 clown named Rusty, hatched 2022, 900g\", or import a sheet.",
    )
}

/// A season without a clutch.
pub(in crate::conversation) fn no_clutch() -> Reply {
    Reply::refusal("Without a clutch nobody is paired: name at least 1.")
}

/// Too few numbers in the catalogue.
pub(in crate::conversation) fn too_little_known(species: &Species) -> Reply {
    Reply::refusal(format!("I know too little of the breeding of {}s to plan a season.", species.name().to_lowercase()))
}

/// Goals that words fit none of.
pub(in crate::conversation) fn no_such_goal(catalogue: &Catalogue, herd: &Herd, words: &str) -> Reply {
    let mut reply = Reply::refusal(format!("None of your goals is for \"{words}\". They are:"));
    reply.rows = herd.goals.iter().map(|goal| Row::heading(goal_words(catalogue, goal))).collect();
    reply
}

/// Goals are for other species.
pub(in crate::conversation) fn no_goal_for(catalogue: &Catalogue, herd: &Herd) -> Reply {
    let mut reply = Reply::refusal("Your goals are for other animals than these. They are:");
    reply.rows = herd.goals.iter().map(|goal| Row::heading(goal_words(catalogue, goal))).collect();
    reply.notes.push("A goal is told like this: \"goal: clown pied\".".to_owned());
    reply
}

/// An animal that is no longer here.
pub(in crate::conversation) fn is_gone(animal: &Animal) -> Reply {
    let how = match super::super::status_word(animal.status) {
        "died" => "has died".to_owned(),
        word => format!("is {word}"),
    };
    Reply::refusal(format!("{} {how}, so no season counts on it.", with_code(animal)))
}

/// Two of one sex.
pub(in crate::conversation) fn same_sex(one: &Animal, other: &Animal) -> Reply {
    Reply::sentence(format!("{} and {} are of one sex by the records.", with_code(one), with_code(other)))
}

/// What was advised no longer fits.
pub(in crate::conversation) fn changed_since() -> Reply {
    Reply::refusal("Your collection has changed since. Ask \"what should I pair next\" again.")
}

/// A goal is asked for, with suggestions.
pub(in crate::conversation) fn ask_goal(
    catalogue: &Catalogue,
    herd: &Herd,
    suggested: &[(&Species, Target, Option<u64>)],
    unsexed: usize,
) -> Reply {
    let several = catalogue.species().iter().filter(|s| herd.here().any(|a| a.species == s.key())).count() > 1;
    let mut reply = Reply {
        kind: Kind::Question,
        ..Reply::sentence("What do you work towards? Pairings are chosen for a goal, and none is kept yet.")
    };
    for (species, goal, seasons) in suggested {
        let of = if several { format!(" ({})", species.name().to_lowercase()) } else { String::new() };
        let words = target(species, goal).replace(", ", " ").to_lowercase();
        let reach = seasons.map_or_else(
            || "its genes are here, but not both sexes".to_owned(),
            |n| {
                let booked = count(usize::try_from(n).unwrap_or(usize::MAX), "season", "seasons");
                format!("within reach of what you have, {booked} booked")
            },
        );
        reply.answer.push(format!("\"goal: {words}\"{of}: {reach}."));
    }
    if suggested.is_empty() {
        reply.answer.push("Your animals have no two genes yet that can be put together. Say for example \"goal: clown pied\", and I tell you what to buy.".to_owned());
    } else {
        reply.notes.push("Send one of them, or any other; then ask again. Limits can follow: \"by 2031, at most 3 clutches a season\".".to_owned());
    }
    if unsexed > 0 {
        reply.notes.push(format!(
            "{} not sexed: sexing them opens more.",
            count(unsexed, "animal here is", "animals here are")
        ));
    }
    reply
}

/// "introduced Rusty × Nova and Duke × Olive".
pub(in crate::conversation) fn introduced_past(pairs: &[String]) -> String {
    format!("introduced {}", list_of(pairs))
}

/// What was recorded.
pub(in crate::conversation) fn introduced(pairs: &[String], before: &[String]) -> Reply {
    let mut reply = Reply::sentence(format!("Saved: introduced {}, today.", list_of(pairs)));
    reply.notes.extend(already(before));
    reply.notes.push("Say \"undo\" to take it back.".to_owned());
    reply
}

/// What would be recorded.
pub(in crate::conversation) fn introduce_first(pairs: &[String], before: &[String], word: &str) -> Reply {
    let mut reply = Reply {
        kind: Kind::Question,
        ..Reply::sentence(format!("This records {} as put together today:", count(pairs.len(), "pair", "pairs")))
    };
    reply.rows = pairs.iter().map(|pair| Row::heading(pair.clone())).collect();
    reply.notes.extend(already(before));
    reply.notes.push(format!("Type \"{word}\" to do it; anything else changes nothing."));
    reply
}

fn already(before: &[String]) -> Option<String> {
    (!before.is_empty()).then(|| format!("Together already: {}.", list_of(before)))
}

/// Nothing is left to record.
pub(in crate::conversation) fn nothing_to_do(before: &[String]) -> Reply {
    if before.is_empty() {
        return Reply::refusal("Nobody was advised to be paired, so nothing is recorded.");
    }
    Reply::refusal(format!("{} are recorded already.", list_of(before)))
}
