//! Undo, what changed, erase; files at the front.

use jiff::tz::TimeZone;

use crate::collection::herd::Herd;
use crate::collection::store::Changed;
use crate::conversation::sentences::keeping::{count, list_of};
use crate::reading::dates::When;
use crate::reply::{Kind, Reply, Row};

/// Changes of one answer.
const ROWS: usize = 25;

/// What was taken back.
pub(in crate::conversation) fn undone(said: Option<&str>) -> Reply {
    match said {
        Some(said) => Reply::sentence(format!("Taken back: {said}.")),
        None => Reply::sentence("There is nothing to take back."),
    }
}

/// The same message came twice.
pub(in crate::conversation) fn saved_before(said: &str) -> Reply {
    Reply::sentence(format!("That was saved before: {said}. Nothing was saved twice."))
}

/// What was changed lately.
pub(in crate::conversation) fn changes(changes: &[Changed], days: i32) -> Reply {
    let span = match days {
        1 => "today".to_owned(),
        7 => "in the last week".to_owned(),
        31 => "in the last month".to_owned(),
        n => format!("in the last {n} days"),
    };
    if changes.is_empty() {
        return Reply::sentence(format!("Nothing was changed {span}."));
    }
    let mut reply = Reply::sentence(format!("{} {span}, the last first:", count(changes.len(), "change", "changes")));
    for change in changes.iter().take(ROWS) {
        let day = When::Day(change.at.to_zoned(TimeZone::UTC).date()).words();
        let undone = if change.undone { " (taken back)" } else { "" };
        reply.rows.push(Row::heading(format!("{day}: {}{undone}", change.said)));
    }
    if changes.len() > ROWS {
        reply.rest = Some(format!("and {} more", changes.len() - ROWS));
    }
    reply
}

/// Nothing is kept of this keeper.
pub(in crate::conversation) fn nothing_kept() -> Reply {
    Reply::sentence("Nothing is kept of you: your collection is empty.")
}

/// Before everything is erased.
pub(in crate::conversation) fn forget_first(herd: &Herd, word: &str) -> Reply {
    let mut parts = Vec::new();
    for (n, one, many) in [
        (herd.animals.len(), "animal", "animals"),
        (herd.weights.len(), "weight", "weights"),
        (herd.meals.len(), "meal", "meals"),
        (herd.signs.len(), "sign", "signs"),
        (herd.meetings.len(), "meeting", "meetings"),
        (herd.clutches.len(), "clutch", "clutches"),
        (herd.goals.len(), "goal", "goals"),
        (herd.frequencies.len(), "carrier share", "carrier shares"),
        (herd.own_numbers.len(), "care number of your own", "care numbers of your own"),
        (usize::from(herd.home.is_some()), "time zone or half of the world", ""),
        (herd.reminders.len(), "reminder", "reminders"),
    ] {
        if n > 0 {
            parts.push(count(n, one, many));
        }
    }
    let mut reply = Reply {
        kind: Kind::Question,
        ..Reply::sentence(format!("This erases {} and every change that was noted, for good.", list_of(&parts)))
    };
    reply.notes.push("Say \"export\" first if you want a copy.".to_owned());
    reply.notes.push(format!("Type \"{word}\" to erase it; anything else changes nothing."));
    reply
}

/// Everything is erased.
pub(in crate::conversation) fn forgotten() -> Reply {
    Reply::sentence("Everything is erased. Nothing of you is kept any more.")
}

/// A file that was written, or why not.
#[must_use]
pub fn written(to: &std::io::Result<std::path::PathBuf>) -> String {
    match to {
        Ok(path) => format!("Written to {}.", path.display()),
        Err(error) => format!("It could not be written here: {error}."),
    }
}

/// A file that cannot be read.
#[must_use]
pub fn no_such_file(name: &str, why: &str) -> Reply {
    Reply::refusal(format!("I cannot read {name}: {why}."))
}

/// A name whose end says no form.
#[must_use]
pub fn no_such_form() -> Reply {
    Reply::refusal(
        "The end of the file's name says the form: .zip for tables of everything, .json for everything in one object, .csv \
         for one sheet of the animals.",
    )
}

/// A file that is too large.
#[must_use]
pub fn too_large(bytes: u64, most: u64) -> Reply {
    Reply::refusal(format!(
        "That file has {} KiB; {} KiB is the most. Please send it in parts.",
        bytes.div_ceil(1024),
        most / 1024
    ))
}
