//! Care numbers: sizes, seasons, clutches and lifetimes that plans and dates start from, from `[care]` of a catalogue file.
//!
//! In: the table as written. Out: typed ranges with unit and source. All are editable defaults, none is a rule of nature.
//! Invariant (kept by `check`): low ≤ default ≤ high, each item in the one unit of [`Care::items`]. What is not known is left out.

use serde::Deserialize;

/// What a number counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each unit is its name
pub enum Unit {
    G,
    Days,
    Months,
    Years,
    Eggs,
    Share,
    Celsius,
    Clutches,
    Seasons,
    Females,
}

impl Unit {
    /// The unit as files write it.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::G => "g",
            Self::Days => "days",
            Self::Months => "months",
            Self::Years => "years",
            Self::Eggs => "eggs",
            Self::Share => "share",
            Self::Celsius => "celsius",
            Self::Clutches => "clutches",
            Self::Seasons => "seasons",
            Self::Females => "females",
        }
    }
}

/// A range keepers commonly work with, and the value a plan starts from. Estimates, not exact.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// Least usual value.
    pub low: f64,
    /// Greatest usual value.
    pub high: f64,
    /// The value to start from: the usual one, or the middle where keepers name none.
    pub default: f64,
    /// What is counted.
    pub unit: Unit,
    /// Citation ids, or that it is common practice.
    pub source: Vec<String>,
    /// What a keeper may need to hear.
    pub note: Option<String>,
}

/// Months of the year, 1 to 12, in rooms of the northern half of the world; rooms with their own day length shift.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Months {
    /// The usual months, in season order (`[11, 12, 1, 2]`).
    pub usual: Vec<u8>,
    /// All months in which it happens, in season order.
    pub possible: Vec<u8>,
    /// Citation ids, or that it is common practice.
    pub source: Vec<String>,
}

/// Share of males among young from eggs kept at one temperature.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SexByTemperature {
    /// Constant egg temperature.
    pub celsius: f64,
    /// Share of males, 0 to 1.
    pub male_share: f64,
    /// Citation ids, or that it is common practice.
    pub source: Vec<String>,
}

macro_rules! care {
    ($($(#[$doc:meta])* $item:ident: $unit:ident,)+) => {
        /// `[care]`: every number is optional; a missing one is not known.
        #[derive(Debug, Clone, Default, PartialEq, Deserialize)]
        #[serde(deny_unknown_fields, default)]
        pub struct Care {
            $($(#[$doc])* pub $item: Option<Range>,)+
            /// Months in which animals are put together.
            pub pairing_months: Option<Months>,
            /// Months in which eggs are laid or young are born.
            pub laying_months: Option<Months>,
            /// Months in which the animals are kept cooler before they are paired.
            pub cooling_months: Option<Months>,
            /// Sex by egg temperature, coolest first; empty where sex is in the genes.
            pub sex_by_temperature: Vec<SexByTemperature>,
        }

        impl Care {
            /// Every range item: its key, its unit, and what is known of it.
            #[must_use]
            pub fn items(&self) -> Vec<(&'static str, Unit, Option<&Range>)> {
                vec![$((stringify!($item), Unit::$unit, self.$item.as_ref()),)+]
            }
        }
    };
}

care! {
    /// Weight of a female at her first breeding.
    female_first_weight: G,
    /// Age of a female at her first breeding.
    female_first_age: Years,
    /// Weight of a male at his first breeding.
    male_first_weight: G,
    /// Age of a male at his first breeding.
    male_first_age: Months,
    /// Females that one male serves in one season.
    females_per_male: Females,
    /// Days a male stays with one female.
    days_with_female: Days,
    /// Rest and feeding of a male between females.
    male_rest_days: Days,
    /// Length of the winter rest.
    winter_rest_days: Days,
    /// Temperature of the winter rest.
    winter_rest_celsius: Celsius,
    /// From ovulation to the shed before laying.
    ovulation_to_shed_days: Days,
    /// From the shed before laying to the eggs.
    shed_to_laying_days: Days,
    /// From ovulation to the eggs.
    ovulation_to_laying_days: Days,
    /// From mating to the eggs.
    mating_to_laying_days: Days,
    /// From the shed after ovulation to birth, in live-bearers.
    shed_to_birth_days: Days,
    /// Days beyond the usual one after which a laying or birth is overdue: a matter for a vet.
    laying_overdue_days: Days,
    /// Between two clutches of a season.
    between_clutches_days: Days,
    /// Length of incubation.
    incubation_days: Days,
    /// Temperature of incubation.
    incubation_celsius: Celsius,
    /// From the first cut in the egg to leaving it.
    pip_days: Days,
    /// From hatching to the first shed.
    first_shed_days: Days,
    /// From the first shed to the first meal that is offered.
    shed_to_meal_days: Days,
    /// Eggs, or young of a litter, in captivity; the default is the usual number.
    clutch_size: Eggs,
    /// Eggs of a clutch in the wild; the default is the mean.
    clutch_size_wild: Eggs,
    /// Share of eggs that are fertile; in live-bearers the share of living young, slugs and stillborn off.
    fertile_share: Share,
    /// Share of fertile eggs that hatch.
    hatch_share: Share,
    /// Weight of a hatchling or newborn in captivity.
    hatchling_weight_g: G,
    /// Clutches of a female in one season.
    clutches_per_year: Clutches,
    /// Years from one clutch or litter to the next.
    interval_years: Years,
    /// Share of paired females that produce in a season.
    producing_share: Share,
    /// From hatching to the first clutch of a female.
    maturity_female_years: Years,
    /// From hatching to the first use of a male.
    maturity_male_years: Years,
    /// Seasons in which a female breeds.
    breeding_life_seasons: Seasons,
    /// Share of her weight that a female loses by laying.
    weight_lost_share: Share,
    /// Months of feeding until a female has her weight back.
    weight_recovery_months: Months,
    /// Days that a new animal is kept apart.
    quarantine_days: Days,
}
