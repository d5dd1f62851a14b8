//! The days from one event of a season to another, each with what it rests on: the keeper's own number, the temperature
//! of the eggs, or the catalogue's default.

use crate::collection::events::{Clutch, OwnNumber};
use crate::collection::herd::Herd;
use crate::reading::places::Half;
use crate::species::Species;
use crate::species::care::{Care, Range};
use crate::species::entries::Young;

/// The incubation of a species whose eggs may be kept at temperatures so many degrees apart depends on which it is.
const WARMTH_COUNTS: f64 = 4.0;
/// Of eggs at a known temperature the window is this share of the species' whole range to either side.
const AROUND: f64 = 0.25;

/// From one event to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Interval {
    /// From mating to the eggs.
    MatingToLaying,
    /// From ovulation to the shed after it.
    OvulationToShed,
    /// From that shed to the eggs, or to birth.
    ShedToLaying,
    /// From ovulation to the eggs.
    OvulationToLaying,
    /// From one clutch of a season to the next.
    BetweenClutches,
    /// From the eggs to hatching.
    Incubation,
    /// From the first cut to leaving the egg.
    Pip,
    /// From hatching or birth to the first shed.
    FirstShed,
    /// From the first shed to the first meal.
    FirstMeal,
    /// Beyond the usual day of laying, after which it is overdue.
    Overdue,
}

impl Interval {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::MatingToLaying,
        Self::OvulationToShed,
        Self::ShedToLaying,
        Self::OvulationToLaying,
        Self::BetweenClutches,
        Self::Incubation,
        Self::Pip,
        Self::FirstShed,
        Self::FirstMeal,
        Self::Overdue,
    ];

    /// The item of the care numbers, by which an own number is kept.
    #[must_use]
    pub fn item(self) -> &'static str {
        match self {
            Self::MatingToLaying => "mating_to_laying_days",
            Self::OvulationToShed => "ovulation_to_shed_days",
            Self::ShedToLaying => "shed_to_laying_days",
            Self::OvulationToLaying => "ovulation_to_laying_days",
            Self::BetweenClutches => "between_clutches_days",
            Self::Incubation => "incubation_days",
            Self::Pip => "pip_days",
            Self::FirstShed => "first_shed_days",
            Self::FirstMeal => "shed_to_meal_days",
            Self::Overdue => "laying_overdue_days",
        }
    }

    fn range(self, care: &Care) -> Option<&Range> {
        match self {
            Self::MatingToLaying => care.mating_to_laying_days.as_ref(),
            Self::OvulationToShed => care.ovulation_to_shed_days.as_ref(),
            Self::ShedToLaying => care.shed_to_laying_days.as_ref().or(care.shed_to_birth_days.as_ref()),
            Self::OvulationToLaying => care.ovulation_to_laying_days.as_ref(),
            Self::BetweenClutches => care.between_clutches_days.as_ref(),
            Self::Incubation => care.incubation_days.as_ref(),
            Self::Pip => care.pip_days.as_ref(),
            Self::FirstShed => care.first_shed_days.as_ref(),
            Self::FirstMeal => care.shed_to_meal_days.as_ref(),
            Self::Overdue => care.laying_overdue_days.as_ref(),
        }
    }
}

/// What a number rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    /// The catalogue's default, which is common practice and nobody has published.
    Common,
    /// The catalogue's default, which is from memory alone.
    Memory,
    /// The catalogue's default, published.
    Published,
    /// The catalogue's default for eggs at this temperature, in tenths of a degree Celsius.
    Warmth(i16),
    /// The keeper said so.
    Told,
    /// The keeper said so of this clutch.
    OfClutch,
    /// The median of so many of the keeper's own records.
    Median(i16),
}

impl Basis {
    /// It is the catalogue's and nobody's own.
    #[must_use]
    pub fn is_default(self) -> bool {
        matches!(self, Self::Common | Self::Memory | Self::Published | Self::Warmth(_))
    }
}

/// So many days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Days {
    low: i64,
    usual: i64,
    high: i64,
    /// What they rest on.
    pub basis: Basis,
}

impl Days {
    /// These days, put in order.
    #[must_use]
    pub fn new(low: i64, usual: i64, high: i64, basis: Basis) -> Self {
        Self { low: low.min(usual), usual, high: high.max(usual), basis }
    }

    /// The least.
    #[must_use]
    pub fn low(&self) -> i64 {
        self.low
    }

    /// The usual ones.
    #[must_use]
    pub fn usual(&self) -> i64 {
        self.usual
    }

    /// The most.
    #[must_use]
    pub fn high(&self) -> i64 {
        self.high
    }

    /// These, then those.
    #[must_use]
    pub fn then(&self, next: &Self) -> Self {
        // Two defaults stay one, by the weaker of them; anything of the keeper's own is the more telling.
        let basis = match self.basis {
            Basis::Memory if next.basis.is_default() => Basis::Memory,
            basis if basis.is_default() => next.basis,
            basis => basis,
        };
        Self::new(self.low + next.low, self.usual + next.usual, self.high + next.high, basis)
    }
}

/// A species' numbers as one keeper has them.
#[derive(Debug, Clone, Copy)]
pub struct Numbers<'a> {
    /// The species.
    pub species: &'a Species,
    /// Where the room is.
    pub half: Half,
    own: &'a [OwnNumber],
}

#[expect(clippy::cast_possible_truncation)] // days of a season
fn whole(value: f64) -> i64 {
    value.round() as i64
}

impl<'a> Numbers<'a> {
    /// The numbers of a species, with the keeper's own in place of the defaults.
    #[must_use]
    pub fn of(species: &'a Species, herd: &'a Herd, half: Half) -> Self {
        Self { species, half, own: &herd.own_numbers }
    }

    /// Whether the species gives birth.
    #[must_use]
    pub fn is_live_bearing(&self) -> bool {
        self.species.file().meta.young == Young::Live
    }

    /// The keeper's own number of an item, for the species or for one clutch.
    #[must_use]
    pub fn own(&self, item: &str, clutch: Option<&Clutch>) -> Option<&'a OwnNumber> {
        let id = clutch.map(|c| c.id);
        self.own.iter().find(|own| own.species == self.species.key() && own.item == item && own.clutch_id == id)
    }

    /// The days of an interval: of the clutch, of the keeper, of the catalogue, in this order.
    #[must_use]
    pub fn days(&self, interval: Interval, clutch: Option<&Clutch>) -> Option<Days> {
        let default = self.default(interval, clutch);
        if let Some(own) = clutch.and_then(|c| self.own(interval.item(), Some(c))) {
            return Some(around(own, default, Basis::OfClutch));
        }
        match self.own(interval.item(), None) {
            Some(own) => Some(around(own, default, own.records.map_or(Basis::Told, Basis::Median))),
            None => default,
        }
    }

    /// The temperature of the eggs, in tenths of a degree: that of the clutch, else the keeper's usual one.
    #[must_use]
    pub fn warmth(&self, clutch: Option<&Clutch>) -> Option<i16> {
        clutch.and_then(|c| c.warmth).or_else(|| self.own("incubation_celsius", None).map(|own| own.usual))
    }

    /// The catalogue's days, for eggs at their temperature where that counts.
    #[must_use]
    pub fn default(&self, interval: Interval, clutch: Option<&Clutch>) -> Option<Days> {
        let care = self.species.care();
        let range = interval.range(care)?;
        let said = |what: &str| range.source.iter().any(|s| s == what);
        let basis = match (said("common practice, no source"), said("memory")) {
            (true, _) => Basis::Common,
            (false, true) => Basis::Memory,
            (false, false) => Basis::Published,
        };
        if interval == Interval::Incubation
            && let (Some(tenths), Some(celsius)) = (self.warmth(clutch), &care.incubation_celsius)
            && celsius.high - celsius.low >= WARMTH_COUNTS
        {
            return Some(by_warmth(range, celsius, tenths));
        }
        Some(Days::new(whole(range.low), whole(range.default), whole(range.high), basis))
    }
}

/// Warm eggs hatch sooner: straight from the longest time at the coolest usual temperature to the shortest at the warmest.
fn by_warmth(days: &Range, celsius: &Range, tenths: i16) -> Days {
    let share = ((f64::from(tenths) / 10.0 - celsius.low) / (celsius.high - celsius.low)).clamp(0.0, 1.0);
    let usual = days.high - share * (days.high - days.low);
    let around = AROUND * (days.high - days.low);
    Days::new(
        whole((usual - around).max(days.low)),
        whole(usual),
        whole((usual + around).min(days.high)),
        Basis::Warmth(tenths),
    )
}

/// An own number with its range, or as far to either side as the default goes.
fn around(own: &OwnNumber, default: Option<Days>, basis: Basis) -> Days {
    let days = |tenths: i16| whole(f64::from(tenths) / 10.0);
    let usual = days(own.usual);
    let (below, above) = default.map_or((0, 0), |d| (d.usual - d.low, d.high - d.usual));
    let (mut low, mut high) = (own.low.map_or(usual - below, days), own.high.map_or(usual + above, days));
    if own.records.is_some() {
        // A few records that happen to agree do not make animals more punctual than they are.
        (low, high) = (low.min(usual - below), high.max(usual + above));
    }
    Days::new(low.max(0), usual, high, basis)
}
