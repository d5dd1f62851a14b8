//! The patterns of moments ahead, in the order in which they are tried, and what each means.

use std::collections::HashMap;
use std::sync::OnceLock;

use jiff::ToSpan as _;
use jiff::civil::{Date, Time};
use regex::{Captures, Regex};
use serde::Deserialize;

use super::super::dates::Season;
use super::super::day_words::{DayWords, either, turned};
use super::{Day, Hour, Unit, When};

#[derive(Debug, Deserialize)]
struct Words {
    units: HashMap<Unit, Vec<String>>,
    numbers: HashMap<String, Vec<String>>,
    days: HashMap<String, Vec<String>>,
    hours: HashMap<String, Vec<String>>,
    often: HashMap<Unit, Vec<String>>,
}

/// What a pattern found means; `None` where it is no moment after all.
pub(super) type Meaning = fn(&Book, &Captures<'_>, Date) -> Option<Found>;

/// One thing found.
pub(super) enum Found {
    When(When),
    Hour(Hour),
    /// "Tonight": an hour that is today's where no day is said.
    HourToday(Hour),
}

pub(super) struct Book {
    months: HashMap<String, i8>,
    seasons: HashMap<String, Season>,
    weekdays: HashMap<String, i8>,
    units: HashMap<String, Unit>,
    numbers: HashMap<String, u32>,
    days: HashMap<String, i32>,
    hours: HashMap<String, Time>,
    often: HashMap<String, Unit>,
    /// In the order in which they are tried; what one has taken is not looked at by the next.
    pub(super) patterns: Vec<(Regex, Meaning)>,
}

impl Book {
    pub(super) fn get() -> Option<&'static Self> {
        static BOOK: OnceLock<Option<Book>> = OnceLock::new();
        // A broken word file of our own is found by the tests; without it no moment is read.
        BOOK.get_or_init(Self::new).as_ref()
    }

    #[allow(clippy::too_many_lines)] // a table of patterns
    fn new() -> Option<Self> {
        let DayWords { months, seasons: by_season, weekdays } = DayWords::read()?;
        let words: Words = toml::from_str(include_str!("../../../config/words/reminders.toml")).ok()?;
        let seasons = either(by_season.keys());
        let units = turned(words.units, |k| Some(*k))?;
        let numbers = turned(words.numbers, |k| k.parse().ok())?;
        let days = turned(words.days, |k| k.parse().ok())?;
        let hours = turned(words.hours, |k| k.parse().ok())?;
        let often = turned(words.often, |k| Some(*k))?;
        let (m, wd, u) = (either(months.keys()), either(weekdays.keys()), either(units.keys()));
        let n = format!(r"(?:\d{{1,6}}|{})", either(numbers.keys()));
        let y = r"(?:19|20|21)\d\d";
        let each = r"(?:every|each|jede[nrsm]?|alle|cada|todos los)";
        let th = r"(?:st|nd|rd|th|\.)?";
        let on = r"(?:\b(?:on|am|el|vom|ab|from|starting|beginning|den|der|this|coming|the)\s+)*\b";
        let at = r"(?:\b(?:at|um|a las|around|by|gegen)\s+|@\s?)";
        let more = format!(r"((?:\s*(?:,|and|und|y|&)\s*(?:{wd})s?)*)");
        let (part, day, how_often) = (either(hours.keys()), either(days.keys()), either(often.keys()));
        let patterns: Vec<(String, Meaning)> = vec![
            (
                format!(
                    r"\b(?:({n})\s+({u})\s+(before|prior to|ahead of|after|past|vor|nach)|on the day(?: that)?|the day|when|as soon as|wenn)\s+(?:the\s+)?(.{{1,80}}?)(?:'s?)?\s+(?:is\s+due|are\s+due|due\s+date|is\s+expected|lays|will\s+lay|gives\s+birth|eggs\s+(?:are\s+due|hatch|pip)|clutch\s+(?:is\s+due|hatches|pips)|hatch(?:es)?|pips?|dran\s+ist|legt)\b"
                ),
                before_due,
            ),
            (
                format!(
                    r"\b{each}\s+(?:year\s+(?:on\s+)?)?(?:the\s+)?(?:(\d{{1,2}}){th}\s*(?:of\s+)?({m})|({m})\s+(?:the\s+)?(\d{{1,2}})(?:st|nd|rd|th)?)\b"
                ),
                every_date,
            ),
            (
                format!(
                    r"\b(?:{each}\s+month\s+on\s+the\s+(\d{{1,2}}){th}|(?:on\s+the\s+|{each}\s+)(\d{{1,2}})(?:st|nd|rd|th)\s+of\s+(?:the|each|every)\s+month)\b"
                ),
                every_nth,
            ),
            (
                format!(
                    r"\b{each}\s+(?:(other|second|zweiten?|otr[oa]|{n}){th}\s+)?(?:({wd})s?{more}|({u}|morning|evening|night|afternoon))\b(?:\s+(?:on|am|el)\s+({wd})s?{more}\b)?"
                ),
                every,
            ),
            (format!(r"\b{each}\s+({seasons}|{m})\b"), every_stretch),
            (format!(r"\b({how_often})\b"), |b, c, _| {
                let unit = *b.often.get(group(c, 1))?;
                Some(Found::When(When::Every { every: 1, unit, on: Vec::new(), from: None }))
            }),
            (
                format!(r"(?:{at}|\b)(\d{{1,2}})([:h.])(\d\d)(\s*uhr\b|\s*h\b|\s*o'?clock\b)?(?:\s*([ap])\.?m\b\.?)?"),
                clock,
            ),
            (format!(r"(?:{at}|\b)(\d{{1,2}})\s*(?:([ap])\.?m\b\.?|(?:uhr|h|o'?clock)\b)"), |_, c, _| {
                Some(Found::Hour(hour(number(c, 1), 0, group(c, 2))))
            }),
            (format!(r"{at}(\d{{1,2}})(?:\s|$|[,;.!?])"), bare_hour),
            (
                format!(
                    r"\b(?:in|en|after|um|nach)\s+(?:another\s+)?({n})\s+({u})\b(?:\s+(?:time|from now))?|\b({n})\s+({u})\s+(?:from now|from today|later)\b"
                ),
                |b, c, _| {
                    let of = if c.get(1).is_some() { (1, 2) } else { (3, 4) };
                    Some(Found::When(When::In(b.number(group(c, of.0)), *b.units.get(group(c, of.1))?)))
                },
            ),
            (format!(r"\b({part})\b"), |b, c, _| {
                let hour = Hour::At(*b.hours.get(group(c, 1))?);
                let today = ["this", "tonight", "heute", "esta"].iter().any(|w| group(c, 1).starts_with(w));
                Some(if today { Found::HourToday(hour) } else { Found::Hour(hour) })
            }),
            (format!(r"{on}({y})-(\d{{1,2}})-(\d{{1,2}})\b"), |_, c, _| {
                day_of(number(c, 1), number(c, 2), number(c, 3))
            }),
            (format!(r"{on}(\d{{1,2}})\.\s?(\d{{1,2}})\.\s?({y}|\d\d)\b"), |_, c, _| {
                day_of(year(c, 3)?, number(c, 2), number(c, 1))
            }),
            (format!(r"{on}(\d{{1,2}})\.\s?(\d{{1,2}})\.(?:\s|$|[,;!?:)])"), |_, c, today| {
                Some(Found::When(When::Day(next_such(number(c, 2), number(c, 1), today))))
            }),
            (format!(r"{on}(\d{{1,2}})/(\d{{1,2}})(?:/({y}|\d\d))?\b"), slashed),
            (
                format!(r"{on}(\d{{1,2}}){th}\s*(?:of\s+|de\s+)?({m})\b\.?(?:,?\s*(?:of\s+|de\s+)?({y})\b)?"),
                |b, c, today| named(b, c, (1, 2, 3), today),
            ),
            (format!(r"{on}({m})\b\.?\s+(?:the\s+)?(\d{{1,2}})(?:st|nd|rd|th)?\b(?:,?\s+({y})\b)?"), |b, c, today| {
                named(b, c, (2, 1, 3), today)
            }),
            (format!(r"\b({day})\b"), |b, c, today| {
                let ahead = *b.days.get(group(c, 1))?;
                let day = today.checked_add(ahead.days()).ok()?;
                Some(Found::When(When::Day(if ahead == 1 { Day::Tomorrow(day) } else { Day::On(day) })))
            }),
            (format!(r"{on}(?:(next|nachsten|proximo)\s+)?({wd})\b(\s+(?:in\s+a|next)\s+week)?"), |b, c, today| {
                let wanted = *b.weekdays.get(group(c, 2))?;
                let ahead = i64::from((wanted - today.weekday().to_monday_one_offset()).rem_euclid(7));
                let day = |days: i64| today.checked_add(days.days()).ok();
                let (this, next) = (day(ahead)?, day(ahead + 7)?);
                Some(Found::When(When::Day(match (c.get(1), c.get(3), ahead) {
                    (_, Some(_), _) => Day::On(next),
                    // On a Sunday "next Sunday" is a week away; on other days half of the world means the one after.
                    (Some(_), _, 0) => Day::On(next),
                    (Some(_), _, _) => Day::Which(vec![this, next]),
                    (None, _, 0) => Day::NextOf(vec![this, next]),
                    (None, _, _) => Day::On(this),
                })))
            }),
            (r"\b(?:on\s+)?the\s+(\d{1,2})(?:st|nd|rd|th)\b".to_owned(), |_, c, today| {
                let n = number(c, 1);
                let of = |ahead: i64| {
                    let month = today.first_of_month().checked_add(ahead.months()).ok()?;
                    Date::new(month.year(), month.month(), i8::try_from(n).ok()?).ok()
                };
                let days: Vec<Date> = (0..3).filter_map(of).filter(|d| *d >= today).take(2).collect();
                Some(Found::When(When::Day(match days[..] {
                    [] => Day::Never,
                    [first, ..] if first > today => Day::On(first),
                    _ => Day::NextOf(days),
                })))
            }),
            (
                format!(
                    r"\b(?:(?:in|this|coming|im|en|early|late)\s+(?:the\s+)?|next\s+)({seasons}|{m})\b|\b((?:next|this)\s+(?:week|month|year)|nachste woche|proxima semana)\b"
                ),
                |b, c, _| {
                    let said = c.get(0)?.as_str().trim().to_owned();
                    Some(Found::When(When::Day(Day::Stretch { said, months: b.months_of(group(c, 1)) })))
                },
            ),
        ];
        let patterns =
            patterns.into_iter().map(|(p, f)| Some((Regex::new(&p).ok()?, f))).collect::<Option<Vec<_>>>()?;
        Some(Self { months, seasons: by_season, weekdays, units, numbers, days, hours, often, patterns })
    }

    /// The months of a month or season.
    fn months_of(&self, word: &str) -> Vec<(i8, bool)> {
        if let Some(month) = self.months.get(word) {
            return vec![(*month, false)];
        }
        let first = self.seasons.get(word).map(|season| season.first_month());
        first.map_or_else(Vec::new, |first| (0..3).map(|n| ((first + n - 1).rem_euclid(12) + 1, true)).collect())
    }

    fn number(&self, text: &str) -> u32 {
        text.parse().ok().or_else(|| self.numbers.get(text).copied()).unwrap_or(u32::MAX)
    }
}

fn group<'c>(hit: &'c Captures<'_>, n: usize) -> &'c str {
    hit.get(n).map_or("", |g| g.as_str())
}

fn number(hit: &Captures<'_>, n: usize) -> i16 {
    group(hit, n).parse().unwrap_or(-1)
}

/// "2027", "27".
fn year(hit: &Captures<'_>, n: usize) -> Option<i16> {
    let text = hit.get(n)?.as_str();
    let year: i16 = text.parse().ok()?;
    Some(if text.len() == 2 { 2000 + year } else { year })
}

fn before_due(book: &Book, hit: &Captures<'_>, _: Date) -> Option<Found> {
    let days_before = match hit.get(1) {
        None => 0,
        Some(n) => {
            let n = i32::try_from(book.number(n.as_str())).ok()?;
            let days = match book.units.get(group(hit, 2))? {
                Unit::Days => n,
                Unit::Weeks => n.checked_mul(7)?,
                _ => return None,
            };
            if matches!(group(hit, 3), "after" | "past" | "nach") { -days } else { days }
        }
    };
    Some(Found::When(When::Due { days_before, place: hit.get(4)?.range() }))
}

fn every(book: &Book, hit: &Captures<'_>, _: Date) -> Option<Found> {
    let every = match group(hit, 1) {
        "" => 1,
        "other" | "second" | "zweite" | "zweiten" | "otro" | "otra" => 2,
        n => book.number(n),
    };
    let mut on: Vec<i8> = Vec::new();
    for (first, rest) in [(2, 3), (5, 6)] {
        let words = format!("{} {}", group(hit, first), group(hit, rest));
        let day = |w: &str| book.weekdays.get(w).or_else(|| book.weekdays.get(w.strip_suffix('s')?)).copied();
        on.extend(words.split(|c: char| !c.is_alphabetic()).filter_map(day));
    }
    on.sort_unstable();
    on.dedup();
    let unit = match group(hit, 4) {
        "" => Unit::Weeks,
        "morning" | "evening" | "night" | "afternoon" => Unit::Days,
        word => *book.units.get(word)?,
    };
    Some(Found::When(When::Every { every, unit, on, from: None }))
}

fn every_date(book: &Book, hit: &Captures<'_>, today: Date) -> Option<Found> {
    let (day, month) = if hit.get(2).is_some() { (1, 2) } else { (4, 3) };
    let day = next_such((*book.months.get(group(hit, month))?).into(), number(hit, day), today);
    Some(Found::When(When::Every { every: 1, unit: Unit::Years, on: Vec::new(), from: Some(day) }))
}

fn every_nth(_: &Book, hit: &Captures<'_>, today: Date) -> Option<Found> {
    let n = i8::try_from(number(hit, 1).max(number(hit, 2))).ok()?;
    // The first month that has the day: from there on the last day of a month stands in for it.
    let of = |ahead: i64| {
        let month = today.first_of_month().checked_add(ahead.months()).ok()?;
        Date::new(month.year(), month.month(), n).ok().filter(|d| *d >= today)
    };
    let from = (0..4).find_map(of).map_or(Day::Never, Day::On);
    Some(Found::When(When::Every { every: 1, unit: Unit::Months, on: Vec::new(), from: Some(from) }))
}

#[allow(clippy::unnecessary_wraps)] // it is a `Meaning`
fn every_stretch(book: &Book, hit: &Captures<'_>, _: Date) -> Option<Found> {
    let said = group(hit, 1).to_owned();
    let from = Some(Day::Stretch { months: book.months_of(&said), said });
    Some(Found::When(When::Every { every: 1, unit: Unit::Years, on: Vec::new(), from }))
}

fn clock(_: &Book, hit: &Captures<'_>, _: Date) -> Option<Found> {
    let whole = group(hit, 0);
    // "12.50" is a price or a date unless it is said to be an hour.
    let said =
        whole.starts_with(|c: char| c.is_alphabetic() || c == '@') || hit.get(4).is_some() || hit.get(5).is_some();
    (group(hit, 2) != "." || said).then(|| Found::Hour(hour(number(hit, 1), number(hit, 3), group(hit, 5))))
}

/// An hour and minute of the clock; "a" and "p" are before and after noon.
fn hour(hour: i16, minute: i16, half: &str) -> Hour {
    let hour = match (half, hour) {
        ("", hour) => hour,
        (_, 0 | 13..) => return Hour::Never,
        ("a", 12) => 0,
        ("p", hour) if hour < 12 => hour + 12,
        (_, hour) => hour,
    };
    // Midnight at the end of a day is the beginning of the next: which one is meant is not ours to guess.
    let time = i8::try_from(hour).ok().zip(i8::try_from(minute).ok()).and_then(|(h, m)| Time::new(h, m, 0, 0).ok());
    time.map_or(Hour::Never, Hour::At)
}

#[allow(clippy::unnecessary_wraps)] // it is a `Meaning`
fn bare_hour(_: &Book, hit: &Captures<'_>, _: Date) -> Option<Found> {
    let n = number(hit, 1);
    Some(Found::Hour(match (hour(n, 0, ""), hour(n, 0, "p")) {
        (Hour::At(early), Hour::At(late)) if (1..12).contains(&n) => Hour::Either(early, late),
        (one, _) => one,
    }))
}

#[allow(clippy::unnecessary_wraps)] // it is a `Meaning`
fn slashed(_: &Book, hit: &Captures<'_>, today: Date) -> Option<Found> {
    let (a, b) = (number(hit, 1), number(hit, 2));
    let of = |month: i16, day: i16| match year(hit, 3) {
        Some(year) => date(year, month, day),
        None => match next_such(month, day, today) {
            Day::On(day) => Some(day),
            _ => None,
        },
    };
    let mut days: Vec<Date> = [of(b, a), of(a, b)].into_iter().flatten().collect();
    days.dedup();
    Some(Found::When(When::Day(match days[..] {
        [] => Day::Never,
        [only] => Day::On(only),
        _ => Day::Which(days),
    })))
}

fn named(book: &Book, hit: &Captures<'_>, (d, m, y): (usize, usize, usize), today: Date) -> Option<Found> {
    let month = i16::from(*book.months.get(group(hit, m))?);
    match year(hit, y) {
        Some(year) => day_of(year, month, number(hit, d)),
        None => Some(Found::When(When::Day(next_such(month, number(hit, d), today)))),
    }
}

fn date(year: i16, month: i16, day: i16) -> Option<Date> {
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

#[allow(clippy::unnecessary_wraps)] // what a `Meaning` gives
fn day_of(year: i16, month: i16, day: i16) -> Option<Found> {
    Some(Found::When(When::Day(date(year, month, day).map_or(Day::Never, Day::On))))
}

/// The next such day, today included; 29 February waits for its year.
fn next_such(month: i16, day: i16, today: Date) -> Day {
    let of = |year: i16| date(year, month, day).filter(|d| *d >= today);
    (today.year()..today.year().saturating_add(9)).find_map(of).map_or(Day::Never, Day::On)
}
