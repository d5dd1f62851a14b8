//! Moments that are still to come, as keepers write them: "in 10 days", "on 12 May at 18:00", "every other Sunday at 6 pm".
//!
//!   in 10 days | tomorrow | sunday | on 12 May | 12.5. | march 3 | the 5th | 2027-05-12   a day
//!   at 18:00 | 6 pm | um 18 Uhr | noon | in the evening                                   an hour
//!   every day | every 2 weeks | every Sunday and Wednesday | every 1 March | daily        a rule
//!   3 days before … is due | when … is due                                                before a date of an animal
//!
//! In: a [`Flat`] message, from which what was read is taken out, and the keeper's day. Out: an [`Ahead`] that still may
//! have two meanings or none. Never: a clock, a zone. A day without a year is the next such day.

mod patterns; // what is looked for, and what it means

use std::ops::Range;

use jiff::civil::{Date, Time};
use serde::Deserialize;

use super::flat::Flat;
use patterns::{Book, Found};

/// What a span is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each is its name
pub enum Unit {
    Seconds,
    Minutes,
    Hours,
    Days,
    Weeks,
    Months,
    Years,
}

/// A day that is to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Day {
    /// This day; it may be today.
    On(Date),
    /// The first of these whose hour is not over.
    NextOf(Vec<Date>),
    /// One of these: which is asked.
    Which(Vec<Date>),
    /// "Tomorrow", of which nobody knows in the small hours whether it has begun.
    Tomorrow(Date),
    /// There is no such day ("30 February").
    Never,
    /// A stretch of days, of which one must be said ("in May", "spring").
    Stretch {
        /// As it was said.
        said: String,
        /// Its months, those of seasons (`true`) as in the northern half of the world; empty for a week or a year.
        months: Vec<(i8, bool)>,
    },
}

/// When something is to happen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum When {
    /// So long from now.
    In(u32, Unit),
    /// On a day.
    Day(Day),
    /// Again and again, from a day on where one was said.
    Every {
        /// Every so many.
        every: u32,
        /// Of these.
        unit: Unit,
        /// Days of the week, Monday is 1.
        on: Vec<i8>,
        /// The first day.
        from: Option<Day>,
    },
    /// So many days before (after, where below 0) an animal is due.
    Due {
        /// Days before.
        days_before: i32,
        /// Where its name stands in the message.
        place: Range<usize>,
    },
}

/// An hour on the wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hour {
    /// This one.
    At(Time),
    /// "At 6": in the morning or in the evening.
    Either(Time, Time),
    /// There is no such hour.
    Never,
}

/// A moment as it was said.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Ahead {
    /// When; none where only an hour or nothing was said.
    pub when: Option<When>,
    /// The hour.
    pub at: Option<Hour>,
}

/// Takes everything that tells a moment out of a message; `today` is the day where the keeper is.
#[must_use]
pub fn take(flat: &mut Flat, today: Date) -> Ahead {
    let mut out = Ahead::default();
    let Some(book) = Book::get() else { return out };
    let mut hour_is_todays = false;
    for (pattern, meaning) in &book.patterns {
        let mut from = 0;
        while let Some(hit) = pattern.captures_at(flat.text(), from) {
            let Some(whole) = hit.get(0) else { break };
            let tail = [' ', ',', ';', '!', '?', ')'];
            let place = whole.start()..whole.start() + whole.as_str().trim_end_matches(tail).len();
            from = whole.end().max(whole.start() + 1);
            match meaning(book, &hit, today) {
                Some(Found::When(When::Every { every, unit, on, from: None })) if out.starts() => {
                    // "Starting 1 March, every week."
                    let Some(When::Day(day)) = out.when.take() else { break };
                    out.when = Some(When::Every { every, unit, on, from: Some(day) });
                }
                Some(Found::When(When::Day(day))) if out.repeats() => {
                    if let Some(When::Every { from: first @ None, .. }) = &mut out.when {
                        *first = Some(day);
                    }
                }
                Some(Found::When(when)) if out.when.is_none() => out.when = Some(when),
                Some(Found::Hour(hour)) if out.at.is_none() => out.at = Some(hour),
                Some(Found::HourToday(hour)) if out.at.is_none() => {
                    out.at = Some(hour);
                    hour_is_todays = true;
                }
                _ => continue,
            }
            flat.take(place);
            from = 0;
        }
    }
    if hour_is_todays && out.when.is_none() {
        out.when = Some(When::Day(Day::On(today)));
    }
    out
}

impl Ahead {
    fn starts(&self) -> bool {
        matches!(self.when, Some(When::Day(_)))
    }

    fn repeats(&self) -> bool {
        matches!(self.when, Some(When::Every { from: None, .. }))
    }

    /// Whether nothing was said of a moment.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.when.is_none() && self.at.is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A Wednesday.
    const TODAY: Date = jiff::civil::date(2026, 11, 25);

    fn day(day: &Day) -> String {
        let list = |days: &[Date]| days.iter().map(ToString::to_string).collect::<Vec<_>>().join("|");
        match day {
            Day::On(day) => day.to_string(),
            Day::NextOf(days) => format!("next of {}", list(days)),
            Day::Which(days) => format!("{}?", list(days)),
            Day::Tomorrow(day) => format!("tomorrow {day}"),
            Day::Never => "no such day".to_owned(),
            Day::Stretch { said, .. } => format!("when in {said:?}?"),
        }
    }

    /// What was heard of the moment, and what was left of the message.
    #[track_caller]
    fn check(said: &str, heard: &str, left: &str) {
        let mut flat = Flat::new(said);
        let ahead = take(&mut flat, TODAY);
        let when = match &ahead.when {
            None => String::new(),
            Some(When::In(n, unit)) => format!("in {n} {unit:?}").to_lowercase(),
            Some(When::Day(d)) => day(d),
            Some(When::Every { every, unit, on, from }) => {
                let on = if on.is_empty() { String::new() } else { format!(" on {on:?}") };
                let from = from.as_ref().map_or_else(String::new, |d| format!(" from {}", day(d)));
                format!("every {every} {}{on}{from}", format!("{unit:?}").to_lowercase())
            }
            Some(When::Due { days_before, .. }) => format!("{days_before} days before due"),
        };
        let at = match ahead.at {
            None => String::new(),
            Some(Hour::At(at)) => format!(" at {}", at.strftime("%H:%M")),
            Some(Hour::Either(a, b)) => format!(" at {}|{}?", a.strftime("%H:%M"), b.strftime("%H:%M")),
            Some(Hour::Never) => " at no such hour".to_owned(),
        };
        let rest = flat.left().split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!((format!("{when}{at}").trim(), rest.as_str()), (heard, left), "{said:?}");
    }

    #[test]
    fn so_long_from_now() {
        check("in 10 days clean the racks", "in 10 days", "clean the racks");
        check("in two weeks", "in 2 weeks", "");
        check("in an hour mist", "in 1 hours", "mist");
        check("in 3 days at 18:00", "in 3 days at 18:00", "");
        check("in 10 Tagen Heizung prüfen", "in 10 days", "Heizung prüfen");
        check("en 2 semanas", "in 2 weeks", "");
        check("in 30 mins", "in 30 minutes", "");
    }

    #[test]
    fn a_day() {
        check("on 12 May at 18:00 weigh Nala", "2027-05-12 at 18:00", "weigh Nala");
        check("march 3", "2027-03-03", "");
        check("3rd of March 2028", "2028-03-03", "");
        check("tomorrow at 6pm feed", "tomorrow 2026-11-26 at 18:00", "feed");
        check("today 20:15", "2026-11-25 at 20:15", "");
        check("on sunday", "2026-11-29", "");
        check("wednesday", "next of 2026-11-25|2026-12-02", "");
        check("next sunday", "2026-11-29|2026-12-06?", "");
        check("the 5th", "2026-12-05", "");
        check("the 25th", "next of 2026-11-25|2026-12-25", "");
        check("2027-05-12", "2027-05-12", "");
        check("am 5.1. um 18 Uhr", "2027-01-05 at 18:00", "");
        check("12.05.2027", "2027-05-12", "");
        check("tonight", "2026-11-25 at 20:00", "");
        check("tomorrow evening", "tomorrow 2026-11-26 at 18:00", "");
        check("mañana a las 18:30", "tomorrow 2026-11-26 at 18:30", "");
        check("morgen früh", "tomorrow 2026-11-26", "früh");
        check("25 November", "2026-11-25", "");
        check("29 february", "2028-02-29", "");
    }

    #[test]
    fn what_has_two_meanings_or_none() {
        check("on 3/4", "2027-04-03|2027-03-04?", "");
        check("on 13/4", "2027-04-13", "");
        check("on 30 February", "no such day", "");
        check("31/31", "no such day", "");
        check("2027-02-30", "no such day", "");
        check("at 6", "at 06:00|18:00?", "");
        check("at 18", "at 18:00", "");
        check("at 25:00", "at no such hour", "");
        check("at 13pm", "at no such hour", "");
        check("at noon", "at 12:00", "");
        check("at 12 am", "at 00:00", "");
        check("in may", "when in \"in may\"?", "");
        check("next week", "when in \"next week\"?", "");
    }

    #[test]
    fn again_and_again() {
        check("every Sunday at 18:00 weigh the girls", "every 1 weeks on [7] at 18:00", "weigh the girls");
        check("every sunday and wednesday", "every 1 weeks on [3, 7]", "");
        check("every 2 weeks", "every 2 weeks", "");
        check("every other week on friday", "every 2 weeks on [5]", "");
        check("every second day", "every 2 days", "");
        check("every day at 7:30", "every 1 days at 07:30", "");
        check("every evening", "every 1 days", "");
        check("daily at 9 am", "every 1 days at 09:00", "");
        check("every second", "every 1 seconds", "");
        check("every 30 minutes", "every 30 minutes", "");
        check("every 12 hours", "every 12 hours", "");
        check("every 1 march", "every 1 years from 2027-03-01", "");
        check("every year on 1 march", "every 1 years from 2027-03-01", "");
        check("every spring", "every 1 years from when in \"spring\"?", "");
        check("every month on the 31st", "every 1 months from 2026-12-31", "");
        check("every 2 weeks from 1 december", "every 2 weeks from 2026-12-01", "");
        check("jeden Sonntag um 18 Uhr wiegen", "every 1 weeks on [7] at 18:00", "wiegen");
        check("cada 2 semanas", "every 2 weeks", "");
    }

    #[test]
    fn before_an_animal_is_due() {
        check("3 days before Nala is due", "3 days before due", "");
        check("a week before Nala's eggs hatch", "7 days before due", "");
        check("when Nala is due at 9:00", "0 days before due at 09:00", "");
        check("2 days after Nala is due", "-2 days before due", "");
    }

    #[test]
    fn what_is_no_moment() {
        for said in ["weigh 12 girls", "1.0 x 0.1", "the 3 girls", "price 12.50", "may I"] {
            check(said, "", said);
        }
    }
}
