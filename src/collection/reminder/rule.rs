//! When a reminder comes again: the moments of a rule in a time zone. Pure: no clock, no database.
//!
//! In: a [`Rule`], a zone, a moment. Out: the next moment after it. Every moment is worked out from the rule's first day, so
//! that nothing drifts, however late one was delivered or how often one was put off.
//! Invariants: a rule of days and more keeps its hour by the clock on the wall when clocks change; an hour that does not
//! exist on a day moves forward by as much as the clock does; one that comes twice is its first; each moment is later
//! than the one before. Start at [`Rule::next`].

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp, ToSpan as _};
use serde::{Deserialize, Serialize};

/// What a rule counts in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// Hours that pass, whatever the clock says.
    Hours,
    /// Days.
    Days,
    /// Weeks, from Monday on.
    Weeks,
    /// Months; a day that a month does not have is its last.
    Months,
    /// Years; 29 February is 28 February in common years.
    Years,
}

/// A reminder that comes again and again.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Rule {
    /// Every so many units, from 1.
    pub every: u16,
    /// What is counted.
    pub unit: Unit,
    /// In a rule of weeks the days of the week, Monday is 1; empty means that of the first day.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub on: Vec<i8>,
    /// The day that is counted from.
    pub from: Date,
    /// The hour on the wall.
    pub at: Time,
}

/// A day and an hour on the wall as a moment; `None` beyond the calendar's end.
///
/// An hour that is left out when clocks go forward moves forward with them; of one that comes twice it is the first.
#[must_use]
pub fn moment(day: Date, at: Time, zone: &TimeZone) -> Option<Timestamp> {
    zone.to_ambiguous_timestamp(day.to_datetime(at)).compatible().ok()
}

impl Rule {
    /// The first moment after `after` that is not before the first day of the rule; `None` beyond the calendar's end.
    #[must_use]
    pub fn next(&self, zone: &TimeZone, after: Timestamp) -> Option<Timestamp> {
        let every = i64::from(self.every.max(1));
        if self.unit == Unit::Hours {
            let first = moment(self.from, self.at, zone)?;
            let step = every * 3600;
            let gone = (after.as_second() - first.as_second()).div_euclid(step) + 1;
            return first.checked_add((gone.max(0) * step).seconds()).ok();
        }
        // The day of `after` on the wall is at most one period behind the next moment.
        let today = after.to_zoned(zone.clone()).date();
        let gone = self.periods_until(today) / every;
        // One earlier, because the day of a month can be later than it looks; as many more as a skipped day needs.
        (gone.saturating_sub(1).max(0)..gone + 4)
            .flat_map(|n| self.days_of(n * every))
            .filter(|day| *day >= self.from)
            .filter_map(|day| moment(day, self.at, zone))
            .find(|moment| *moment > after)
    }

    /// Whole units from the first day to this one.
    fn periods_until(&self, day: Date) -> i64 {
        let days = i64::from(self.from.until(day).map_or(0, |span| span.get_days()));
        match self.unit {
            Unit::Hours | Unit::Days => days,
            Unit::Weeks => (days + i64::from(self.from.weekday().to_monday_zero_offset())).div_euclid(7),
            Unit::Months => 12 * i64::from(day.year() - self.from.year()) + i64::from(day.month() - self.from.month()),
            Unit::Years => i64::from(day.year() - self.from.year()),
        }
    }

    /// The days of the period that is so many units after the first.
    fn days_of(&self, units: i64) -> Vec<Date> {
        let from = |start: Date, span: Span| start.checked_add(span).ok();
        match self.unit {
            Unit::Hours | Unit::Days => from(self.from, units.days()).into_iter().collect(),
            Unit::Weeks => {
                let back = i64::from(self.from.weekday().to_monday_zero_offset());
                let own = [self.from.weekday().to_monday_one_offset()];
                let on = if self.on.is_empty() { &own[..] } else { &self.on[..] };
                let mut days: Vec<Date> = on
                    .iter()
                    .filter_map(|day| from(self.from, (units * 7 - back + i64::from(*day) - 1).days()))
                    .collect();
                days.sort_unstable();
                days
            }
            // Counted from the first day itself, so that the 31st comes back after a short month.
            Unit::Months => from(self.from, units.months()).into_iter().collect(),
            Unit::Years => from(self.from, units.years()).into_iter().collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::{date, time};

    use super::*;
    use crate::reading::places::zone;

    fn rule(every: u16, unit: Unit, from: Date, at: Time) -> Rule {
        Rule { every, unit, on: Vec::new(), from, at }
    }

    /// The next moments of a rule as clocks on the wall show them, with their distance from UTC.
    #[track_caller]
    fn check(rule: &Rule, name: &str, after: &str, on_the_wall: &[&str]) {
        let zone = zone(name).expect("a zone");
        let mut at: Timestamp = after.parse().expect("a moment");
        let mut heard = Vec::new();
        for _ in on_the_wall {
            at = rule.next(&zone, at).expect("a next moment");
            heard.push(at.to_zoned(zone.clone()).strftime("%Y-%m-%d %H:%M%:z").to_string());
        }
        assert_eq!(heard, on_the_wall, "{rule:?} in {name}");
    }

    // All clocks below: IANA time zone database 2025b.

    #[test]
    fn a_rule_keeps_its_hour_when_clocks_go_forward_and_back() {
        // Berlin 2027: forward on 28 March at 02:00, back on 31 October at 03:00.
        check(
            &rule(1, Unit::Weeks, date(2027, 3, 21), time(18, 0, 0, 0)),
            "Europe/Berlin",
            "2027-03-20T00:00:00Z",
            &["2027-03-21 18:00+01:00", "2027-03-28 18:00+02:00", "2027-04-04 18:00+02:00"],
        );
        check(
            &rule(1, Unit::Days, date(2027, 10, 30), time(18, 0, 0, 0)),
            "Europe/Berlin",
            "2027-10-30T00:00:00Z",
            &["2027-10-30 18:00+02:00", "2027-10-31 18:00+01:00", "2027-11-01 18:00+01:00"],
        );
    }

    #[test]
    fn an_hour_that_does_not_exist_moves_forward() {
        check(
            &rule(1, Unit::Days, date(2027, 3, 27), time(2, 30, 0, 0)),
            "Europe/Berlin",
            "2027-03-26T12:00:00Z",
            &["2027-03-27 02:30+01:00", "2027-03-28 03:30+02:00", "2027-03-29 02:30+02:00"],
        );
    }

    #[test]
    fn an_hour_that_comes_twice_fires_once() {
        check(
            &rule(1, Unit::Days, date(2027, 10, 30), time(2, 30, 0, 0)),
            "Europe/Berlin",
            "2027-10-29T12:00:00Z",
            &["2027-10-30 02:30+02:00", "2027-10-31 02:30+02:00", "2027-11-01 02:30+01:00"],
        );
    }

    #[test]
    fn hours_pass_whatever_the_clock_says() {
        check(
            &rule(12, Unit::Hours, date(2027, 3, 27), time(18, 0, 0, 0)),
            "Europe/Berlin",
            "2027-03-27T12:00:00Z",
            &["2027-03-27 18:00+01:00", "2027-03-28 07:00+02:00", "2027-03-28 19:00+02:00"],
        );
    }

    #[test]
    fn zones_with_half_hours() {
        // Kolkata is at +05:30 all year.
        check(
            &rule(1, Unit::Days, date(2027, 3, 27), time(0, 15, 0, 0)),
            "Asia/Kolkata",
            "2027-03-26T18:44:59Z",
            &["2027-03-27 00:15+05:30", "2027-03-28 00:15+05:30"],
        );
        // Lord Howe's clocks change by half an hour: forward on 3 October 2027 at 02:00, back on 4 April 2027 at 02:00.
        check(
            &rule(1, Unit::Days, date(2027, 10, 2), time(2, 15, 0, 0)),
            "Australia/Lord_Howe",
            "2027-10-01T00:00:00Z",
            &["2027-10-02 02:15+10:30", "2027-10-03 02:45+11:00", "2027-10-04 02:15+11:00"],
        );
        check(
            &rule(1, Unit::Days, date(2027, 4, 3), time(1, 45, 0, 0)),
            "Australia/Lord_Howe",
            "2027-04-02T00:00:00Z",
            &["2027-04-03 01:45+11:00", "2027-04-04 01:45+11:00", "2027-04-05 01:45+10:30"],
        );
    }

    #[test]
    fn at_the_date_line() {
        check(
            &rule(1, Unit::Days, date(2026, 12, 31), time(9, 0, 0, 0)),
            "Pacific/Kiritimati",
            "2026-12-30T18:00:00Z",
            &["2026-12-31 09:00+14:00", "2027-01-01 09:00+14:00"],
        );
        // Apia went over the line: 30 December 2011 does not exist there. Its reminder comes with the next day's, once.
        check(
            &rule(1, Unit::Days, date(2011, 12, 29), time(9, 0, 0, 0)),
            "Pacific/Apia",
            "2011-12-29T00:00:00Z",
            &["2011-12-29 09:00-10:00", "2011-12-31 09:00+14:00", "2012-01-01 09:00+14:00"],
        );
    }

    #[test]
    fn weeks_on_several_days_and_every_other_week() {
        let mut weekly = rule(1, Unit::Weeks, date(2026, 12, 2), time(18, 0, 0, 0));
        weekly.on = vec![7, 3];
        check(
            &weekly,
            "Europe/Berlin",
            "2026-12-01T00:00:00Z",
            &["2026-12-02 18:00+01:00", "2026-12-06 18:00+01:00", "2026-12-09 18:00+01:00"],
        );
        weekly.every = 2;
        check(
            &weekly,
            "Europe/Berlin",
            "2026-12-02T18:00:00Z",
            &["2026-12-06 18:00+01:00", "2026-12-16 18:00+01:00", "2026-12-20 18:00+01:00"],
        );
    }

    #[test]
    fn a_day_that_a_month_or_year_does_not_have_is_its_last() {
        check(
            &rule(1, Unit::Months, date(2027, 1, 31), time(9, 0, 0, 0)),
            "Etc/UTC",
            "2027-01-01T00:00:00Z",
            &["2027-01-31 09:00+00:00", "2027-02-28 09:00+00:00", "2027-03-31 09:00+00:00"],
        );
        check(
            &rule(1, Unit::Years, date(2028, 2, 29), time(9, 0, 0, 0)),
            "Etc/UTC",
            "2028-02-01T00:00:00Z",
            &["2028-02-29 09:00+00:00", "2029-02-28 09:00+00:00", "2030-02-28 09:00+00:00"],
        );
    }

    proptest::proptest! {
        #[test]
        fn the_next_is_later_and_nothing_lies_between(
            every in 1_u16..40, unit in 0..5_usize, from in 0..4000_i64, second in 0..86_400_i64, wait in -30..5000_i64,
            place in 0..5_usize,
        ) {
            let unit = [Unit::Hours, Unit::Days, Unit::Weeks, Unit::Months, Unit::Years][unit];
            let name = ["Europe/Berlin", "Australia/Lord_Howe", "Pacific/Apia", "America/St_Johns", "Etc/UTC"][place];
            let zone = zone(name).expect("a zone");
            let from = date(2024, 1, 1) + from.days();
            let rule = rule(every, unit, from, Time::midnight() + second.seconds());
            let after = moment(from, Time::midnight(), &zone).expect("a moment") + (wait * 24).hours();
            let next = rule.next(&zone, after).expect("a next moment");
            proptest::prop_assert!(next > after);
            // From anywhere before it, it is the same moment.
            let between = after.checked_add(((next.as_second() - after.as_second()) / 2).seconds()).expect("a moment");
            proptest::prop_assert_eq!(rule.next(&zone, between), Some(next));
        }
    }
}
