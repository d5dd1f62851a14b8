//! Words of dates: days, windows, stages, and what they rest on.

use jiff::civil::Date;

use super::super::{count, with_code};
use crate::collection::animal::Animal;
use crate::collection::calendar::course::{Course, Expected};
use crate::collection::calendar::learned::Learned;
use crate::collection::calendar::numbers::{Basis, Days};
use crate::collection::calendar::window::{Window, days_between};
use crate::reading::dates::{When, month_name};
use crate::reading::records::kinds::Stage;
use crate::reply::{Reply, Row};
use crate::species::Species;

/// Stages that are listed of one course.
const ROWS: usize = 9;

/// In a window of more days than this it is not "any day now".
const LONG_WINDOW: i64 = 40;

/// "9 February 2027".
pub(in crate::conversation) fn day(date: Date) -> String {
    When::Day(date).words()
}

/// "2 to 14 February 2027", "28 January to 14 February 2027".
pub(in crate::conversation) fn days_of(window: Window) -> String {
    let (one, other) = (window.earliest(), window.latest());
    if one == other {
        return day(one);
    }
    let first = if one.year() != other.year() {
        day(one)
    } else if one.month() != other.month() {
        format!("{} {}", one.day(), month_name(one.month()))
    } else {
        one.day().to_string()
    };
    format!("{first} to {}", day(other))
}

/// "2 to 14 February 2027, most likely the 9th".
pub(in crate::conversation) fn with_likely(window: Window) -> String {
    let (one, likely, other) = (window.earliest(), window.likely(), window.latest());
    if one == other {
        return day(one);
    }
    let likely = if (likely.year(), likely.month()) == (other.year(), other.month())
        && (one.year(), one.month()) == (other.year(), other.month())
    {
        format!("the {}", nth(likely.day()))
    } else {
        format!("{} {}", likely.day(), month_name(likely.month()))
    };
    format!("{}, most likely {likely}", days_of(window))
}

fn nth(day: i8) -> String {
    let end = match (day % 10, day) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{day}{end}")
}

/// "in 12 days", "tomorrow", "today", "3 days ago".
pub(in crate::conversation) fn away(today: Date, date: Date) -> String {
    let days = days_between(today, date);
    let n = usize::try_from(days.unsigned_abs()).unwrap_or(usize::MAX);
    match days {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        -1 => "yesterday".to_owned(),
        2.. => format!("in {}", count(n, "day", "days")),
        _ => format!("{} ago", count(n, "day", "days")),
    }
}

/// "40 to 60 days, mostly 48".
pub(in crate::conversation) fn days_words(days: &Days) -> String {
    let (low, usual, high) = (days.low(), days.usual(), days.high());
    if low == high { format!("{usual} days") } else { format!("{low} to {high} days, mostly {usual}") }
}

/// "common default, no source".
pub(in crate::conversation) fn basis_words(basis: Basis) -> String {
    match basis {
        Basis::Common => "common default, no source".to_owned(),
        Basis::Memory => "a default from memory, no source".to_owned(),
        Basis::Published => "the default, published".to_owned(),
        Basis::Warmth(tenths) => {
            format!("the common default for eggs at {} °C: warmer is quicker", celsius(i64::from(tenths)))
        }
        Basis::Told => "your own number".to_owned(),
        Basis::OfClutch => "as you said of this clutch".to_owned(),
        Basis::Median(n) => format!("your own median of {n} records"),
    }
}

/// "31.5" of 315 tenths.
pub(in crate::conversation) fn celsius(tenths: i64) -> String {
    if tenths % 10 == 0 { (tenths / 10).to_string() } else { format!("{}.{}", tenths / 10, (tenths % 10).abs()) }
}

/// The name of a stage at the head of a line.
pub(in crate::conversation) fn stage_name(stage: Stage, live: bool) -> &'static str {
    match (stage, live) {
        (Stage::Paired, _) => "Paired",
        (Stage::Ovulation, _) => "Ovulation",
        (Stage::Gravid, _) => "Seen to carry",
        (Stage::Shed, false) => "Pre-lay shed",
        (Stage::Shed, true) => "Shed after ovulation",
        (Stage::Laying, false) => "Eggs",
        (Stage::Laying, true) => "Birth",
        (Stage::Pip, _) => "First pip",
        (Stage::Hatch, _) => "Hatching",
        (Stage::FirstShed, _) => "First shed of the young",
        (Stage::FirstMeal, _) => "First meal, after that shed",
    }
}

/// The name of a stage inside a sentence: "her ovulation".
fn whose_stage(stage: Stage, live: bool) -> &'static str {
    match (stage, live) {
        (Stage::Paired, _) => "her pairing",
        (Stage::Ovulation, _) => "her ovulation",
        (Stage::Gravid, _) => "the day she was seen to carry",
        (Stage::Shed, false) => "her pre-lay shed",
        (Stage::Shed, true) => "her shed after ovulation",
        (Stage::Laying, false) => "the eggs",
        (Stage::Laying, true) => "the birth",
        (Stage::Pip, _) => "the first pip",
        (Stage::Hatch, _) => "hatching",
        (Stage::FirstShed, _) => "the first shed",
        (Stage::FirstMeal, _) => "the first meal",
    }
}

pub(super) fn head(species: &Species, animal: &Animal) -> String {
    format!("{}, {}", with_code(animal), species.name().to_lowercase())
}

/// "in 12 days", "any day now", "3 days past the latest".
pub(super) fn standing(today: Date, window: Window) -> String {
    if today < window.earliest() {
        away(today, window.likely())
    } else if today <= window.latest() && (window.width() <= LONG_WINDOW || today > window.likely()) {
        "any day now".to_owned()
    } else if today <= window.latest() {
        format!("most likely {}", away(today, window.likely()))
    } else {
        let n = usize::try_from(days_between(window.latest(), today)).unwrap_or(0);
        format!("{} past the latest usual day", count(n, "day", "days"))
    }
}

pub(super) fn rows(reply: &mut Reply, course: &Course, last: Stage, live: bool) {
    for (stage, on) in course.seen.iter().take(ROWS) {
        reply.rows.push(Row::heading(format!("{}: {} (recorded)", stage_name(*stage, live), on.words())));
    }
    // By the months alone the days of the eggs are too wide to be told.
    let last =
        if course.expected(Stage::Laying).is_some_and(|e| e.reason.days.is_none()) { Stage::Laying } else { last };
    for expected in course.ahead.iter().filter(|e| e.stage <= last).take(ROWS) {
        reply.rows.push(Row::heading(format!(
            "{}: {}",
            stage_name(expected.stage, live),
            with_likely(expected.window)
        )));
    }
}

/// What a date is counted from, with the days and what they rest on.
pub(in crate::conversation) fn counted_from(expected: &Expected, live: bool) -> String {
    let reason = expected.reason;
    let from = whose_stage(reason.from, live);
    let on = if reason.seen { format!(" ({})", days_of(reason.on)) } else { " as expected".to_owned() };
    match reason.days {
        Some(days) => {
            format!("Counted from {from}{on}: {} ({}).", days_words(&days), basis_words(days.basis))
        }
        None => format!(
            "She was paired{on}, and no sign is recorded since: this is only the season in which her kind lays (common default, \
             no source)."
        ),
    }
}

/// The keeper's own median beside the days that were used.
pub(in crate::conversation) fn learned(found: &Learned, what: &str) -> String {
    format!(
        "Your own median of {what} is {} days ({} to {}, {} records). Say \"use mine\" to count by it.",
        celsius(found.median),
        celsius(found.low),
        celsius(found.high),
        found.records
    )
}

/// What an interval is, in words.
pub(in crate::conversation) fn interval_words(
    interval: crate::collection::calendar::numbers::Interval,
    live: bool,
) -> &'static str {
    use crate::collection::calendar::numbers::Interval;
    match (interval, live) {
        (Interval::MatingToLaying, false) => "mating to laying",
        (Interval::MatingToLaying, true) => "mating to birth",
        (Interval::OvulationToShed, false) => "ovulation to pre-lay shed",
        (Interval::OvulationToShed, true) => "ovulation to the shed after it",
        (Interval::ShedToLaying, false) => "pre-lay shed to laying",
        (Interval::ShedToLaying, true) => "shed after ovulation to birth",
        (Interval::OvulationToLaying, false) => "ovulation to laying",
        (Interval::OvulationToLaying, true) => "ovulation to birth",
        (Interval::BetweenClutches, _) => "one clutch to the next",
        (Interval::Incubation, _) => "laying to hatching",
        (Interval::Pip, _) => "first pip to leaving the egg",
        (Interval::FirstShed, _) => "hatching to the first shed",
        (Interval::FirstMeal, _) => "first shed to the first meal",
        (Interval::Overdue, _) => "usual day to overdue",
    }
}

/// "November 2027".
pub(in crate::conversation) fn month_of(date: Date) -> String {
    When::Month(date.year(), date.month()).words()
}
