//! The patterns of dates behind us, in the order in which they are tried, and what each can mean.

use std::collections::HashMap;
use std::sync::OnceLock;

use jiff::civil::Date;
use jiff::{Span, ToSpan as _};
use regex::{Captures, Regex};
use serde::Deserialize;

use super::super::day_words::{DayWords, TEXT, either, turned};
use super::{Season, When};

/// The word lists as they are written.
#[derive(Debug, Deserialize)]
struct File {
    days: HashMap<String, Vec<String>>,
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
pub(super) type Meaning = fn(&Words, &Captures<'_>, Date) -> Vec<When>;

pub(super) struct Words {
    months: HashMap<String, i8>,
    seasons: HashMap<String, Season>,
    days: HashMap<String, i32>,
    weekdays: HashMap<String, i8>,
    units: HashMap<String, Unit>,
    /// In the order in which they are tried; what one has taken is not looked at by the next.
    pub(super) patterns: Vec<(Regex, Meaning)>,
}

impl Words {
    pub(super) fn get() -> Option<&'static Self> {
        static WORDS: OnceLock<Option<Words>> = OnceLock::new();
        // A broken word file of our own is found by the tests; without it no date is read.
        WORDS.get_or_init(Self::new).as_ref()
    }

    fn new() -> Option<Self> {
        let DayWords { months, seasons, weekdays } = DayWords::read()?;
        let file: File = toml::from_str(TEXT).ok()?;
        let days = turned(file.days, |k| k.parse().ok())?;
        let units = turned(file.units, |k| Some(*k))?;
        let m = either(months.keys());
        let season = either(seasons.keys());
        let day = either(days.keys());
        let weekday = either(weekdays.keys());
        let unit = either(units.keys());
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
