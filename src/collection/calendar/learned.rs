//! What a keeper's own records say of an interval: the median, where there are enough of them.

use jiff::civil::Date;

use super::numbers::Interval;
use super::window::days_between;
use crate::collection::animal::AnimalId;
use crate::collection::events::Clutch;
use crate::collection::herd::Herd;
use crate::reading::dates::When;
use crate::reading::records::kinds::{MeetingKind, SignKind};
use crate::species::Species;

/// Fewer records than these say nothing.
pub const ENOUGH: usize = 5;
/// Signs longer before a laying than this belong to another season.
const SEASON: i64 = 120;

/// What own records say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Learned {
    /// How many there are.
    pub records: usize,
    /// The least, the middle and the most of them, in tenths of a day.
    pub low: i64,
    /// The middle one, or the mean of the middle two.
    pub median: i64,
    /// The most.
    pub high: i64,
}

/// The intervals that records can tell.
pub const TOLD: [Interval; 5] = [
    Interval::MatingToLaying,
    Interval::OvulationToShed,
    Interval::OvulationToLaying,
    Interval::ShedToLaying,
    Interval::Incubation,
];

/// What the keeper's records of a species say of an interval; nothing below [`ENOUGH`] records that are known to the day.
#[must_use]
pub fn learned(species: &Species, herd: &Herd, interval: Interval) -> Option<Learned> {
    let mut days = records(species, herd, interval);
    days.sort_unstable();
    let n = days.len();
    if n < ENOUGH {
        return None;
    }
    let median = if n % 2 == 1 { days[n / 2] * 10 } else { (days[n / 2 - 1] + days[n / 2]) * 5 };
    Some(Learned { records: n, low: days[0] * 10, median, high: days[n - 1] * 10 })
}

/// Each recorded length of an interval, in days.
fn records(species: &Species, herd: &Herd, interval: Interval) -> Vec<i64> {
    let of_species =
        |id: Option<AnimalId>| id.and_then(|id| herd.animal(id)).is_some_and(|a| a.species == species.key());
    let clutches = herd.clutches.iter().filter(|c| of_species(c.dam_id) || of_species(c.sire_id));
    let between = |clutch: &Clutch| {
        let laid = day(clutch.laid?)?;
        let dam = clutch.dam_id;
        let from = match interval {
            Interval::Incubation => return Some(days_between(laid, day(clutch.hatched?)?)).filter(|n| *n > 0),
            Interval::Pip => {
                return Some(days_between(day(clutch.pipped?)?, day(clutch.hatched?)?)).filter(|n| *n >= 0);
            }
            Interval::MatingToLaying => last(
                herd.meetings.iter().filter(|m| m.dam_id == dam && m.kind == MeetingKind::Lock).map(|m| m.on),
                laid,
            )?,
            Interval::ShedToLaying => sign(herd, dam?, SignKind::PrelayShed, laid)?,
            Interval::OvulationToLaying => sign(herd, dam?, SignKind::Ovulation, laid)?,
            Interval::OvulationToShed => {
                let shed = sign(herd, dam?, SignKind::PrelayShed, laid)?;
                return Some(days_between(sign(herd, dam?, SignKind::Ovulation, shed)?, shed));
            }
            _ => return None,
        };
        Some(days_between(from, laid))
    };
    clutches.filter_map(between).collect()
}

fn day(when: When) -> Option<Date> {
    if let When::Day(day) = when { Some(day) } else { None }
}

fn sign(herd: &Herd, dam: AnimalId, kind: SignKind, before: Date) -> Option<Date> {
    last(herd.signs.iter().filter(|s| s.animal_id == dam && s.kind == kind).map(|s| s.on), before)
}

/// The last of these before a day, in its season.
fn last(dates: impl Iterator<Item = When>, before: Date) -> Option<Date> {
    dates.filter_map(day).filter(|on| *on < before && days_between(*on, before) <= SEASON).max()
}
