//! A day that is not known yet: the earliest it can be, the most likely, the latest.

use jiff::ToSpan as _;
use jiff::civil::Date;

use super::numbers::Days;
use crate::reading::dates::When;

/// Days from the earliest to the latest, with the most likely among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    earliest: Date,
    likely: Date,
    latest: Date,
}

/// A day so many days later, or earlier below 0.
#[must_use]
pub fn plus(day: Date, days: i64) -> Date {
    day.checked_add(days.days()).unwrap_or(day)
}

/// Days from one day to another, below 0 where the other is before.
#[must_use]
pub fn days_between(from: Date, to: Date) -> i64 {
    to.since(from).map_or(0, |span| i64::from(span.get_days()))
}

impl Window {
    /// A window of these days; they are put in order.
    #[must_use]
    pub fn new(earliest: Date, likely: Date, latest: Date) -> Self {
        let (earliest, latest) = (earliest.min(latest), earliest.max(latest));
        Self { earliest, likely: likely.clamp(earliest, latest), latest }
    }

    /// What was seen then: a day, or a month or year that is as wide as it was told.
    #[must_use]
    pub fn of(when: When) -> Self {
        let (first, last) = (when.first(), when.last());
        Self::new(first, plus(first, days_between(first, last) / 2), last)
    }

    /// So many days after this.
    #[must_use]
    pub fn after(self, days: &Days) -> Self {
        Self::new(plus(self.earliest, days.low()), plus(self.likely, days.usual()), plus(self.latest, days.high()))
    }

    /// So many days before this.
    #[must_use]
    pub fn before(self, days: &Days) -> Self {
        Self::new(plus(self.earliest, -days.high()), plus(self.likely, -days.usual()), plus(self.latest, -days.low()))
    }

    /// The days that are in both; the most likely is this one's as far as the other allows. Nothing where they exclude
    /// each other.
    #[must_use]
    pub fn meet(self, other: Self) -> Option<Self> {
        let (earliest, latest) = (self.earliest.max(other.earliest), self.latest.min(other.latest));
        (earliest <= latest).then(|| Self { earliest, likely: self.likely.clamp(earliest, latest), latest })
    }

    /// The earliest day.
    #[must_use]
    pub fn earliest(self) -> Date {
        self.earliest
    }

    /// The most likely day.
    #[must_use]
    pub fn likely(self) -> Date {
        self.likely
    }

    /// The latest day.
    #[must_use]
    pub fn latest(self) -> Date {
        self.latest
    }

    /// Days from the earliest to the latest.
    #[must_use]
    pub fn width(self) -> i64 {
        days_between(self.earliest, self.latest)
    }

    /// Whether every day of this is one of the other.
    #[must_use]
    pub fn is_within(self, other: Self) -> bool {
        other.earliest <= self.earliest && self.latest <= other.latest
    }
}
