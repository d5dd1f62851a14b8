//! Dates as keepers write them: without a year, as seasons, as "'21", in three languages.
//!
//! In: a [`Flat`] message and the day it was written on. Out: [`Said`], each with every meaning it can have; two
//! meanings are asked about, none is no date at all ("31 February").
//! Never: a clock. A date without a year is the last such day, because records tell what has happened.
//! Seasons are those of the northern half of the world, as the trade's calendars are.

mod patterns; // what is looked for, and what it can mean

use std::fmt;
use std::ops::Range;
use std::str::FromStr;
use std::sync::OnceLock;

use jiff::civil::Date;
use jiff::{Span, ToSpan as _};
use regex::Regex;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::flat::Flat;
use patterns::Words;

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
