//! The numbers that dates are counted by, and those of the keeper's own.

use super::super::count;
use super::words::{basis_words, celsius, days_words, interval_words};
use crate::collection::calendar::learned::Learned;
use crate::collection::calendar::numbers::{Basis, Days, Interval, Numbers};
use crate::reply::{Reply, Row};
use crate::species::Species;

const UNDO: &str = "Say \"undo\" to take it back.";

/// "58 days", "58 days (55 to 62)".
fn told(tenths: (Option<i64>, i64, Option<i64>), unit: &str) -> String {
    let (low, usual, high) = tenths;
    match (low, high) {
        (Some(low), Some(high)) if low != high => {
            format!("{} to {} {unit}, mostly {}", celsius(low), celsius(high), celsius(usual))
        }
        _ => format!("{} {unit}", celsius(usual)),
    }
}

/// What a number is of, in words.
fn item_words(interval: Option<Interval>, live: bool) -> &'static str {
    interval.map_or("the temperature of the eggs", |interval| interval_words(interval, live))
}

pub(in crate::conversation) fn own_past(species: &Species, of: &str, interval: Option<Interval>) -> String {
    let what = item_words(interval, false);
    format!(
        "{what} of {} as your own number",
        if of.is_empty() { species.name().to_lowercase() } else { of.to_owned() }
    )
}

pub(in crate::conversation) fn own_saved(
    numbers: &Numbers<'_>,
    of: &str,
    interval: Option<Interval>,
    tenths: (Option<i64>, i64, Option<i64>),
    default: Option<Days>,
) -> Reply {
    let what = item_words(interval, numbers.is_live_bearing());
    let unit = if interval.is_some() { "days" } else { "°C" };
    let of = if of.is_empty() {
        format!("for your {}s", numbers.species.name().to_lowercase())
    } else {
        format!("for {of}")
    };
    let mut reply = Reply::sentence(format!("Saved {of}: {what} {}.", told(tenths, unit)));
    if let Some(default) = default {
        reply.answer.push(format!("The default is {} ({}).", days_words(&default), basis_words(default.basis)));
    }
    reply.notes.push(UNDO.to_owned());
    reply
}

/// A number that no animal of the species can have.
pub(in crate::conversation) fn own_is_strange(
    species: &Species,
    interval: Option<Interval>,
    said: i64,
    (low, high): (f64, f64),
) -> Reply {
    let unit = if interval.is_some() { "days" } else { "°C" };
    Reply::refusal(format!(
        "{} {unit} for {} of a {}: usual is {low} to {high}. I take what is between {} and {}. Nothing was saved.",
        celsius(said),
        item_words(interval, false),
        species.name().to_lowercase(),
        (low * 0.5).floor(),
        (high * 2.0).ceil(),
    ))
}

pub(in crate::conversation) fn no_such_item(species: &Species, interval: Interval) -> Reply {
    Reply::refusal(format!(
        "The days of {} are not counted for a {}. Nothing was saved.",
        interval_words(interval, false),
        species.name().to_lowercase()
    ))
}

pub(in crate::conversation) fn mine_past(n: usize) -> String {
    format!("used {} of your own records", count(n, "median", "medians"))
}

/// The medians that count from now on.
pub(in crate::conversation) fn mine_saved(lines: Vec<String>) -> Reply {
    let mut reply =
        Reply::sentence(format!("Saved: {} of your own records from now on.", count(lines.len(), "median", "medians")));
    reply.rows = lines.into_iter().map(Row::heading).collect();
    reply.notes.push("Say \"use the default\" to go back.".to_owned());
    reply.notes.push(UNDO.to_owned());
    reply
}

pub(in crate::conversation) fn mine_line(species: &Species, interval: Interval, found: &Learned) -> String {
    format!(
        "{}, {}: {} days ({} to {}, {} records)",
        species.name(),
        interval_words(interval, false),
        celsius(found.median),
        celsius(found.low),
        celsius(found.high),
        found.records
    )
}

/// There are too few records for any.
pub(in crate::conversation) fn nothing_learned(least: usize) -> Reply {
    Reply::refusal(format!(
        "None of your intervals has {least} records that are known to the day yet; the defaults go on. Record signs, layings and \
         hatchings with their days, and I learn yours."
    ))
}

pub(in crate::conversation) fn already_mine() -> Reply {
    Reply::sentence("Your own medians are used already; nothing was saved.")
}

pub(in crate::conversation) fn default_past(n: usize) -> String {
    format!("went back to the default of {}", count(n, "number", "numbers"))
}

pub(in crate::conversation) fn default_saved(n: usize) -> Reply {
    let mut reply = Reply::sentence(format!("Saved: the default counts again for {}.", count(n, "number", "numbers")));
    reply.notes.push(UNDO.to_owned());
    reply
}

pub(in crate::conversation) fn no_own_numbers() -> Reply {
    Reply::sentence("You have no numbers of your own; the defaults are used.")
}

/// All numbers of the species that are kept.
pub(in crate::conversation) fn numbers(lines: Vec<String>) -> Reply {
    let mut reply = Reply::sentence("Dates are counted by these:");
    reply.rows = lines.into_iter().map(Row::heading).collect();
    reply.notes.push(
        "Change one by saying it: \"my ball pythons hatch at 60 days\", \"pre lay shed to eggs is 30 days here\", \"the Nala eggs \
         take 62 days\"; or \"use mine\" for your own medians."
            .to_owned(),
    );
    reply
}

pub(in crate::conversation) fn number_line(
    interval: Interval,
    days: &Days,
    live: bool,
    learned: Option<&Learned>,
) -> String {
    let mine = learned.filter(|_| !matches!(days.basis, Basis::Median(_))).map_or_else(String::new, |found| {
        format!("; your own median: {} ({} records)", celsius(found.median), found.records)
    });
    format!("{}: {} ({}){mine}", interval_words(interval, live), days_words(days), basis_words(days.basis))
}
