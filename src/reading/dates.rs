//! Dates as keepers write them: without a year, as seasons, as "'21", in three languages.
//!
//! In: a [`Flat`] message and the day it was written on. Out: [`Said`], each with every meaning it can have; two
//! meanings are asked about, none is no date at all ("31 February").
//! Never: a clock. A date without a year is the last such day, because records tell what has happened.
//! Seasons are those of the northern half of the world, as the trade's calendars are.

use std::collections::HashMap;
use std::fmt;
use std::ops::Range;
use std::str::FromStr;
use std::sync::OnceLock;

use jiff::civil::Date;
use jiff::{Span, ToSpan as _};
use regex::{Captures, Regex};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::flat::Flat;

/// A date as precise as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub enum When {
    /// A day.
    Day(Date),
    /// A month of a year.
    Month(i16, i8),
    /// A season; winter counts to the year in which it begins.
    Season(i16, Season),
    /// A year.
    Year(i16),
}

/// A season.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Season {
    /// March to May.
    Spring,
    /// June to August.
    Summer,
    /// September to November.
    Autumn,
    /// December to February.
    Winter,
}

impl Season {
    const ALL: [(Self, &'static str, i8); 4] = [
        (Self::Spring, "spring", 3),
        (Self::Summer, "summer", 6),
        (Self::Autumn, "autumn", 9),
        (Self::Winter, "winter", 12),
    ];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::ALL.into_iter().find(|s| s.0 == self).map_or("", |s| s.1)
    }

    pub(crate) fn first_month(self) -> i8 {
        Self::ALL.into_iter().find(|s| s.0 == self).map_or(1, |s| s.2)
    }
}

impl When {
    /// The first day it can be.
    #[must_use]
    pub fn first(self) -> Date {
        let day = |y, m| Date::new(y, m, 1).unwrap_or(Date::MIN);
        match self {
            Self::Day(date) => date,
            Self::Month(y, m) => day(y, m),
            Self::Season(y, season) => day(y, season.first_month()),
            Self::Year(y) => day(y, 1),
        }
    }

    /// The last day it can be.
    #[must_use]
    pub fn last(self) -> Date {
        let after =
            |span: Span| self.first().checked_add(span).and_then(|d| d.checked_sub(1.day())).unwrap_or(Date::MAX);
        match self {
            Self::Day(date) => date,
            Self::Month(..) => after(1.month()),
            Self::Season(..) => after(3.months()),
            Self::Year(_) => after(1.year()),
        }
    }

    /// As a person writes it: "3 December 2025", "June 2024", "spring 2021", "2021".
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Day(d) => format!("{} {} {}", d.day(), month_name(d.month()), d.year()),
            Self::Month(y, m) => format!("{} {y}", month_name(m)),
            Self::Season(y, Season::Winter) => format!("winter {y}/{:02}", (y + 1).rem_euclid(100)),
            Self::Season(y, season) => format!("{} {y}", season.name()),
            Self::Year(y) => y.to_string(),
        }
    }
}

/// The name of a month, from 1; nothing for what is none.
pub(crate) fn month_name(month: i8) -> &'static str {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    usize::try_from(month - 1).ok().and_then(|m| NAMES.get(m)).copied().unwrap_or("")
}

/// "2021", "2021-spring", "2021-06", "2021-06-03".
impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Day(date) => write!(f, "{date}"),
            Self::Month(y, m) => write!(f, "{y:04}-{m:02}"),
            Self::Season(y, season) => write!(f, "{y:04}-{}", season.name()),
            Self::Year(y) => write!(f, "{y:04}"),
        }
    }
}

/// A text that is no date as [`When`] writes them.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{0:?} is no date: write 2021, 2021-06, 2021-06-03 or 2021-spring")]
pub struct NotADate(pub String);

impl FromStr for When {
    type Err = NotADate;

    fn from_str(text: &str) -> Result<Self, NotADate> {
        let bad = || NotADate(text.chars().take(40).collect());
        let mut parts = text.splitn(3, '-');
        let year = parts.next().filter(|y| y.len() == 4).and_then(|y| y.parse::<i16>().ok()).ok_or_else(bad)?;
        let Some(second) = parts.next() else { return Ok(Self::Year(year)) };
        if let Some((season, ..)) = Season::ALL.into_iter().find(|s| s.1 == second) {
            return if parts.next().is_none() { Ok(Self::Season(year, season)) } else { Err(bad()) };
        }
        let month = two(second).filter(|m| (1..=12).contains(m)).ok_or_else(bad)?;
        match parts.next() {
            None => Ok(Self::Month(year, month)),
            Some(day) => two(day).and_then(|d| Date::new(year, month, d).ok()).map(Self::Day).ok_or_else(bad),
        }
    }
}

fn two(text: &str) -> Option<i8> {
    (text.len() == 2 && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok())?
}

impl From<When> for String {
    fn from(when: When) -> Self {
        when.to_string()
    }
}

impl TryFrom<String> for When {
    type Error = NotADate;

    fn try_from(text: String) -> Result<Self, NotADate> {
        text.parse()
    }
}

/// A date of a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// Its place in the [`Flat`] text.
    pub place: Range<usize>,
    /// What it can mean: one, two to choose from, or none where there is no such day.
    pub meanings: Vec<When>,
}

/// The word lists as they are written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    months: HashMap<String, Vec<String>>,
    seasons: HashMap<Season, Vec<String>>,
    days: HashMap<String, Vec<String>>,
    weekdays: HashMap<String, Vec<String>>,
    units: HashMap<Unit, Vec<String>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Unit {
    Days,
    Weeks,
    Months,
    Years,
}

/// What a pattern found means.
type Meaning = fn(&Words, &Captures<'_>, Date) -> Vec<When>;

struct Words {
    months: HashMap<String, i8>,
    seasons: HashMap<String, Season>,
    days: HashMap<String, i32>,
    weekdays: HashMap<String, i8>,
    units: HashMap<String, Unit>,
    /// In the order in which they are tried; what one has taken is not looked at by the next.
    patterns: Vec<(Regex, Meaning)>,
}

impl Words {
    fn get() -> Option<&'static Self> {
        static WORDS: OnceLock<Option<Words>> = OnceLock::new();
        // A broken word file of our own is found by the tests; without it no date is read.
        WORDS.get_or_init(|| Self::new(include_str!("../../config/words/dates.toml"))).as_ref()
    }

    fn new(text: &str) -> Option<Self> {
        let file: File = toml::from_str(text).ok()?;
        let months = turned(file.months, |k| k.parse().ok())?;
        let seasons = turned(file.seasons, |k| Some(*k))?;
        let days = turned(file.days, |k| k.parse().ok())?;
        let weekdays = turned(file.weekdays, |k| k.parse().ok())?;
        let units = turned(file.units, |k| Some(*k))?;
        let either = |words: Vec<&String>| {
            let mut words: Vec<&str> = words.into_iter().map(String::as_str).collect();
            words.sort_by_key(|w| std::cmp::Reverse(w.len()));
            format!("(?:{})", words.join("|"))
        };
        let m = either(months.keys().collect());
        let season = either(seasons.keys().collect());
        let day = either(days.keys().collect());
        let weekday = either(weekdays.keys().collect());
        let unit = either(units.keys().collect());
        let y = r"(?:(?:19|20)\d\d|'\d\d)";
        let patterns: Vec<(String, Meaning)> = vec![
            (r"\b((?:19|20)\d\d)[-/](\d\d?)[-/](\d\d?)\b".into(), |_, c, _| date(c, 1, 2, 3)),
            (r"\b(\d\d?)\.\s?(\d\d?)\.\s?((?:19|20)?\d\d)\b".into(), |_, c, _| date(c, 3, 2, 1)),
            (r"\b(\d\d?)[/-](\d\d?)[/-]((?:19|20)?\d\d)\b".into(), |_, c, _| either_way(c, Some(3), None)),
            (r"\b(?:am|vom|seit|on|el)\s+(\d\d?)\.(\d\d?)\.?(?:\s|$|[,;!?)])".into(), |_, c, today| {
                without_year(number(c, 2), number(c, 1), today)
            }),
            (r"\b([123]\d)\.(1?\d)\.(?:\s|$|[,;!?)])".into(), |_, c, today| without_year(number(c, 2), number(c, 1), today)),
            (format!(r"\b(\d\d?)(?:st|nd|rd|th|\.)?\s*(?:of\s+|de\s+)?({m})\b\.?(?:,?\s*(?:of\s+|de\s+)?({y}))?"), |w, c, today| {
                named(w, c, (1, 2, 3), today)
            }),
            (
                format!(
                    r"\b({m})\b\.?\s+(?:the\s+)?(\d\d?)(?:st|nd|rd|th)?\b(?:,?\s+({y}))?(?:\s*(?:eggs?|g|gr|grams?|gms|kg|good|slugs?|babies|[+%x.]|\d))?"
                ),
                |w, c, today| {
                    // "may 12 eggs": the number belongs to what follows it.
                    let whole = c.get(0).map_or(0, |x| x.end());
                    let date = c.get(3).or_else(|| c.get(2)).map_or(0, |x| x.end());
                    let tail = c.get(0).map_or("", |x| x.as_str());
                    let suffix = tail.contains("th") || tail.contains("st") || tail.contains("nd") || tail.contains("rd");
                    if whole > date && c.get(3).is_none() && !suffix { Vec::new() } else { named(w, c, (2, 1, 3), today) }
                },
            ),
            (format!(r"\b(?:(?:in|early|mid|late|around|im|en)[\s-]+)?({m})\b\.?\s*(?:of\s+|de\s+)?({y})"), |w, c, today| {
                match (word(&w.months, c, 1), year(c, 2, today)) {
                    (Some(m), Some(y)) => vec![When::Month(y, m)],
                    _ => Vec::new(),
                }
            }),
            (r"\b(\d\d?)[/.]((?:19|20)\d\d)\b".into(), |_, c, _| month(number(c, 2), number(c, 1))),
            (r"\b((?:19|20)\d\d)-(\d\d)\b".into(), |_, c, _| month(number(c, 1), number(c, 2))),
            (
                format!(r"\b(?:(last|this|early|mid|late|in|the|im|letzten|en|pasado|pasada)\s+)*({season})\b(?:\s+(?:of\s+|de\s+)?({y}|\d\d/\d\d))?"),
                in_season,
            ),
            (
                format!(r"\b(?:last|this|in|since|early|mid|late|around|im|letzten|seit|en|desde|hatched|born|laid|geschlupft)\s+({m})\b"),
                |w, c, today| {
                    let Some(m) = word(&w.months, c, 1) else { return Vec::new() };
                    let y = today.year() - i16::from(m > today.month());
                    vec![When::Month(y, m)]
                },
            ),
            (format!(r"\b({day})\b"), |w, c, today| back(today, i64::from(word(&w.days, c, 1).unwrap_or(0)).days())),
            (format!(r"\b(?:on\s+|last\s+|this\s+|am\s+|letzten\s+|el\s+)?({weekday})\b"), |w, c, today| {
                let Some(wanted) = word(&w.weekdays, c, 1) else { return Vec::new() };
                let ago = i64::from((today.weekday().to_monday_one_offset() - wanted).rem_euclid(7));
                if ago == 0 { [back(today, 0.days()), back(today, 7.days())].concat() } else { back(today, ago.days()) }
            }),
            (format!(r"\b(?:vor|hace)\s+(\d{{1,3}}|einem|einer|un|una)\s+({unit})\b"), ago),
            (format!(r"\b(\d{{1,3}}|a|an|one)\s+({unit})\s+ago\b"), ago),
            (r"\b(?:on\s+)?the\s+(\d\d?)(?:st|nd|rd|th)\b".into(), |_, c, today| the_nth(number(c, 1), today)),
            (r"\b(?:on|since|laid|hatched|born|locked|paired|bred|date|dated|weighed)\s+(\d\d?)[/-](\d\d?)\b".into(), |_, c, today| {
                either_way(c, None, Some(today))
            }),
            (r"\b(?:cbb?|ch|nz|dnz|wf|f)\s?'?(\d\d)\b".into(), |_, c, today| year(c, 1, today).map(When::Year).into_iter().collect()),
            (r"(?:\bfrom\s+|\bin\s+|\bborn\s+|\bhatched\s+|\byear:?\s+|\bvon\s+|\bde\s+|\bcbb?\s?|\bnz\s?)?\b((?:19|20)\d\d)\b(?:\s*(?:g|gr|gs|grams?|gramm|gramos|gms|kg)\b)?".into(), |_, c, today| {
                let whole = c.get(0).map_or("", |x| x.as_str());
                if whole.ends_with(|x: char| x.is_ascii_digit()) { year(c, 1, today).map(When::Year).into_iter().collect() } else { Vec::new() }
            }),
            (r"'(\d\d)\b".into(), |_, c, today| year(c, 1, today).map(When::Year).into_iter().collect()),
        ];
        let patterns =
            patterns.into_iter().map(|(p, f)| Some((Regex::new(&p).ok()?, f))).collect::<Option<Vec<_>>>()?;
        Some(Self { months, seasons, days, weekdays, units, patterns })
    }
}

/// A word list turned round: from the word to what it stands for.
fn turned<K: Clone, V>(table: HashMap<K, Vec<String>>, value: impl Fn(&K) -> Option<V>) -> Option<HashMap<String, V>> {
    let mut out = HashMap::new();
    for (key, words) in table {
        for word in words {
            out.insert(word, value(&key)?);
        }
    }
    Some(out)
}

/// Every date of a message, in the order of the text. `today` is the day on which it was written.
#[must_use]
pub fn dates(flat: &Flat, today: Date) -> Vec<Said> {
    let mut found: Vec<Said> = Vec::new();
    let Some(words) = Words::get() else { return found };
    for (pattern, meaning) in &words.patterns {
        for hit in pattern.captures_iter(flat.text()) {
            let Some(whole) = hit.get(0) else { continue };
            // A blank, comma or the like that a pattern looked at stays outside.
            let place =
                whole.start()..whole.start() + whole.as_str().trim_end_matches([' ', ',', ';', '!', '?', ')']).len();
            if place.is_empty() || found.iter().any(|f| f.place.start < place.end && place.start < f.place.end) {
                continue;
            }
            let mut meanings = meaning(words, &hit, today);
            meanings.dedup();
            let impossible = meanings.is_empty() && is_whole_date(whole.as_str());
            if !meanings.is_empty() || impossible {
                found.push(Said { place, meanings });
            }
        }
    }
    found.sort_by_key(|f| f.place.start);
    found
}

/// Written out with day, month and year, or a day and the name of a month: then it was meant as a date, also if there is
/// no such day.
fn is_whole_date(text: &str) -> bool {
    static WHOLE: OnceLock<Option<Regex>> = OnceLock::new();
    WHOLE
        .get_or_init(|| Regex::new(r"^(?:(?:19|20)\d\d[-/]\d\d?[-/]\d\d?|\d\d?[./-]\d\d?[./-](?:19|20)\d\d|\d\d?(?:st|nd|rd|th|\.)?\s*(?:of\s+)?[a-z]{3,})").ok())
        .as_ref()
        .is_some_and(|w| w.is_match(text))
}

fn number(hit: &Captures<'_>, group: usize) -> i16 {
    hit.get(group).and_then(|g| g.as_str().parse().ok()).unwrap_or(0)
}

fn word<V: Copy>(table: &HashMap<String, V>, hit: &Captures<'_>, group: usize) -> Option<V> {
    table.get(hit.get(group)?.as_str()).copied()
}

/// A year in full, or its last two figures: never in the future by more than the season that has begun.
fn year(hit: &Captures<'_>, group: usize, today: Date) -> Option<i16> {
    let text = hit.get(group)?.as_str().trim_start_matches('\'');
    let n: i16 = text.parse().ok()?;
    let full = if text.len() == 2 {
        let century = today.year() - today.year().rem_euclid(100);
        if century + n > today.year() + 1 { century - 100 + n } else { century + n }
    } else {
        n
    };
    // Nobody keeps an animal from before 1960; such a number is a weight or a price.
    (1960..=today.year() + 10).contains(&full).then_some(full)
}

fn day(y: i16, m: i16, d: i16) -> Vec<When> {
    let y = if y < 100 { 2000 + y } else { y };
    match (i8::try_from(m), i8::try_from(d)) {
        (Ok(m), Ok(d)) => Date::new(y, m, d).map(When::Day).into_iter().collect(),
        _ => Vec::new(),
    }
}

fn month(y: i16, m: i16) -> Vec<When> {
    i8::try_from(m).ok().filter(|m| (1..=12).contains(m)).map(|m| When::Month(y, m)).into_iter().collect()
}

fn date(hit: &Captures<'_>, y: usize, m: usize, d: usize) -> Vec<When> {
    day(number(hit, y), number(hit, m), number(hit, d))
}

/// "3/4": day first or month first, where both can be.
fn either_way(hit: &Captures<'_>, y: Option<usize>, today: Option<Date>) -> Vec<When> {
    let (a, b) = (number(hit, 1), number(hit, 2));
    let one = |m, d| match (y, today) {
        (Some(y), _) => day(number(hit, y), m, d),
        (None, Some(today)) => without_year(m, d, today),
        (None, None) => Vec::new(),
    };
    let mut both = one(b, a);
    both.extend(one(a, b));
    both
}

/// The last such day that is not in the future.
fn without_year(m: i16, d: i16, today: Date) -> Vec<When> {
    // 29 February may lie four years back, and eight around a century.
    (0..=8).flat_map(|back| day(today.year() - back, m, d)).find(|w| w.first() <= today).into_iter().collect()
}

fn named(words: &Words, hit: &Captures<'_>, (d, m, y): (usize, usize, usize), today: Date) -> Vec<When> {
    let Some(month) = word(&words.months, hit, m) else { return Vec::new() };
    match year(hit, y, today) {
        Some(y) => day(y, i16::from(month), number(hit, d)),
        None => without_year(i16::from(month), number(hit, d), today),
    }
}

fn back(today: Date, span: Span) -> Vec<When> {
    today.checked_sub(span).map(When::Day).into_iter().collect()
}

fn ago(words: &Words, hit: &Captures<'_>, today: Date) -> Vec<When> {
    let n = hit.get(1).map_or(1, |g| g.as_str().parse::<i64>().unwrap_or(1));
    let Some(unit) = word(&words.units, hit, 2) else { return Vec::new() };
    match unit {
        Unit::Days => back(today, n.days()),
        Unit::Weeks => back(today, (n * 7).days()),
        // Said in months or years it is not meant to the day.
        Unit::Months => today.checked_sub(n.months()).map(|d| When::Month(d.year(), d.month())).into_iter().collect(),
        Unit::Years => today.checked_sub(n.years()).map(|d| When::Year(d.year())).into_iter().collect(),
    }
}

fn the_nth(d: i16, today: Date) -> Vec<When> {
    (0..12_i64)
        .filter_map(|n| {
            let month = today.first_of_month().checked_sub(n.months()).ok()?;
            Date::new(month.year(), month.month(), i8::try_from(d).ok()?).ok()
        })
        .find(|day| *day <= today)
        .map(When::Day)
        .into_iter()
        .collect()
}

/// "spring 2021", "last spring", "spring": a winter of one year may be the one that began or the one that ended in it.
fn in_season(words: &Words, hit: &Captures<'_>, today: Date) -> Vec<When> {
    let Some(season) = word(&words.seasons, hit, 2) else { return Vec::new() };
    if let Some(said) = hit.get(3) {
        if let Some((first, _)) = said.as_str().split_once('/') {
            return first.parse::<i16>().map(|y| When::Season(2000 + y, season)).into_iter().collect();
        }
        let Some(y) = year(hit, 3, today) else { return Vec::new() };
        let mut meanings = vec![When::Season(y, season)];
        if season == Season::Winter {
            meanings.insert(0, When::Season(y - 1, season));
            meanings.retain(|w| w.first() <= today);
        }
        return meanings;
    }
    // "fall" alone is also a verb.
    let qualified = hit.get(1).is_some();
    if !qualified {
        return Vec::new();
    }
    let this = hit.get(1).is_some_and(|g| g.as_str() == "this");
    let over = |w: &When| {
        if this { w.first() <= today } else { w.last() < today || w.first() <= today && !hit[0].contains("last") }
    };
    (0..3).map(|n| When::Season(today.year() - n, season)).find(over).into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A Wednesday.
    fn today() -> Date {
        Date::constant(2026, 11, 25)
    }

    #[track_caller]
    fn check(said: &str, meanings: &str) {
        let flat = Flat::new(said);
        let found: Vec<String> = dates(&flat, today())
            .iter()
            .map(|s| s.meanings.iter().map(ToString::to_string).collect::<Vec<_>>().join("|"))
            .collect();
        assert_eq!(found.join(" "), meanings, "dates of {said:?}");
    }

    #[test]
    fn a_date_without_a_year_is_the_last_such_day() {
        check("Rusty locked with Nova 3 Dec", "2025-12-03");
        check("locked on the 4th of june", "2026-06-04");
        check("Otto 830gr on 12 may", "2026-05-12");
        check("paired Nov 25", "2026-11-25");
        check("hatched 29 feb", "2024-02-29");
        check("Luna mit Bruno verpaart am 5.1.", "2026-01-05");
        check("log: Rusty x Nova locked 14.12.", "2025-12-14");
        check("laid on the 3rd", "2026-11-03");
        check("laid the 30th", "2026-10-30");
    }

    #[test]
    fn a_date_that_can_be_read_two_ways_has_two_meanings() {
        check("locked on 3/4", "2026-04-03|2026-03-04");
        check("hatched 03/04/2024", "2024-04-03|2024-03-04");
        check("hatched 13/04/2024", "2024-04-13");
        check("hatched 5/5/2024", "2024-05-05");
        check("hatched 3.4.2024", "2024-04-03");
        check("winter 2023", "2022-winter|2023-winter");
        check("winter 23/24", "2023-winter");
    }

    #[test]
    fn years_seasons_and_months() {
        check("add a 2022 female pastel", "2022");
        check("0.1 '21 banana enchi 1650", "2021");
        check("Kiwi superconda cb23", "2023");
        check("NZ 2024", "2024");
        check("'98", "1998");
        check("hatched spring 2021", "2021-spring");
        check("last spring", "2026-spring");
        check("hatched last june", "2026-06");
        check("in december", "2025-12");
        check("06/2023 and 2023-06", "2023-06 2023-06");
        check("June 2023, born '22", "2023-06 2022");
    }

    #[test]
    fn days_told_from_today() {
        check("today, yesterday, last night", "2026-11-25 2026-11-24 2026-11-24");
        check("ayer crucé a Lola", "2026-11-24");
        check("on monday", "2026-11-23");
        check("wednesday", "2026-11-25|2026-11-18");
        check("3 days ago, 2 weeks ago, vor 3 Monaten, 2 years ago", "2026-11-22 2026-11-11 2026-08 2024");
    }

    #[test]
    fn what_is_no_date() {
        for said in [
            "1.0 x 0.1",
            "2.3.4",
            "7+1",
            "66% het",
            "1634",
            "went 0 for 7",
            "may I",
            "2022 g",
            "may 12 eggs",
            "odds 1/4",
            "1.4kg",
        ] {
            check(said, "");
        }
    }

    #[test]
    fn a_day_that_does_not_exist_has_no_meaning() {
        for said in ["hatched 31 february", "2024-13-40", "30.02.2023"] {
            let found = dates(&Flat::new(said), today());
            assert_eq!(found.len(), 1, "{said:?}: {found:?}");
            assert!(found[0].meanings.is_empty(), "{said:?}: {found:?}");
        }
    }

    #[test]
    fn what_is_written_is_read_back() {
        for text in ["2021", "2021-06", "2021-06-03", "2021-spring", "1999-winter"] {
            assert_eq!(text.parse::<When>().map(|w| w.to_string()), Ok(text.to_owned()));
        }
        for text in ["", "21", "2021-6", "2021-13", "2021-02-30", "2021-spring-1", "x", "2021-06-03-1"] {
            assert!(text.parse::<When>().is_err(), "{text:?}");
        }
    }
}
