//! Who can be paired this season: by age, weight, rest, and what has happened since.
//!
//! In: an animal, its herd, the day, the care numbers of its species (defaults that a catalogue can change). Out:
//! [`Readiness`]. What is not recorded is not held against an animal, but for a female that laid: without a weight she rests.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::events::{Meeting, Weight};
use crate::collection::herd::Herd;
use crate::reading::dates::When;
use crate::reading::records::kinds::{MeetingKind, SignKind, Status};
use crate::species::Species;

/// A female is rested unless she is back within so much of her weight of the days before she laid.
const REGAINED: f64 = 0.95;
/// The days before a laying in which she is at her heaviest.
const DAYS_BEFORE: i32 = 60;
/// A laying longer ago than this was of the season before the last.
const A_SEASON: i32 = 300;
/// Signs and meetings longer ago than this were of another season.
const THIS_SEASON: i32 = 200;
/// Weights so many days apart tell how fast an animal grows.
const GROWTH: i32 = 30;
/// Nobody foretells a weight beyond this.
const FORETOLD: f64 = 3.0 * 365.25;

/// Why an animal is not paired.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::conversation) enum Rest {
    /// Its sex is not known.
    Unsexed,
    /// Its keeper rests it.
    Said,
    /// Its keeper counts it among those that grow up.
    Growing,
    /// Its keeper left it out of the question.
    Skipped,
    /// It only possibly carries what is wanted, and such animals were left out.
    Possible,
    /// Too young until this day.
    Young(Date),
    /// Too light: its weight, the least, and when it may be there at its pace.
    Light(i32, i32, Option<Date>),
    /// She laid, and has not regained her weight: what she had before, what she has.
    NotRegained(i32, i32),
    /// She laid, and it is not known whether she has regained her weight.
    WeightNotKnown,
    /// She carries eggs or young already.
    Gravid,
}

/// Whether an animal can be paired.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::conversation) struct Readiness {
    /// Seasons until it can.
    pub(in crate::conversation) wait: u32,
    /// Why it cannot now.
    pub(in crate::conversation) why: Option<Rest>,
    /// The male that a female is with this season.
    pub(in crate::conversation) with: Option<AnimalId>,
    /// No weight of it is known.
    pub(in crate::conversation) unweighed: bool,
}

/// Whether an animal can be paired this season.
pub(in crate::conversation) fn readiness(today: Date, species: &Species, herd: &Herd, animal: &Animal) -> Readiness {
    let care = species.care();
    let male = animal.sex == Sex::Male;
    let years = if male { &care.maturity_male_years } else { &care.maturity_female_years };
    let least = if male { &care.male_first_weight } else { &care.female_first_weight };
    let weights = herd.weights_of(animal.id);
    let mut found = Readiness { wait: 0, why: None, with: None, unweighed: weights.is_empty() && least.is_some() };
    if let (Some(hatched), Some(years)) = (animal.hatched, years) {
        let left = years.default - f64::from(days(hatched.first(), today)) / 365.25;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a few years
        if left > 0.0 {
            found.wait = left.ceil() as u32;
            found.why = later(today, left * 365.25).map(Rest::Young);
        }
    }
    // It was seen to be light: at least a season more, whatever its age.
    if let (Some(last), Some(least)) = (weights.last(), least)
        && f64::from(last.grams) < least.low
    {
        found.wait = found.wait.max(1);
        #[expect(clippy::cast_possible_truncation)] // grams of an animal
        let low = least.low.ceil() as i32;
        found.why = found.why.or(Some(Rest::Light(last.grams, low, when_grown(today, &weights, least.low))));
    }
    let more = match animal.sex {
        Sex::Unknown => Some(Rest::Unsexed),
        Sex::Female => {
            found.with = with(today, herd, animal.id);
            gravid(today, herd, animal.id).or_else(|| rests(today, herd, animal.id))
        }
        Sex::Male => None,
    };
    let more = more.or(match animal.status {
        Status::Resting => Some(Rest::Said),
        Status::Growing => Some(Rest::Growing),
        _ => None,
    });
    if let Some(why) = more {
        found.wait = found.wait.max(1);
        // Who is growing up is first of all that.
        found.why = found.why.filter(|_| why != Rest::Unsexed).or(Some(why));
    }
    found
}

fn days(from: Date, to: Date) -> i32 {
    to.since(from).map_or(0, |span| span.get_days())
}

#[expect(clippy::cast_possible_truncation)] // a few years
fn later(today: Date, days: f64) -> Option<Date> {
    today.checked_add((days.ceil() as i64).days()).ok()
}

/// When an animal reaches a weight, if it goes on as between its last weight and the one at least a month before.
fn when_grown(today: Date, weights: &[&Weight], grams: f64) -> Option<Date> {
    let last = weights.last()?;
    let before = weights.iter().rev().find(|w| days(w.on, last.on) >= GROWTH)?;
    let a_day = f64::from(last.grams - before.grams) / f64::from(days(before.on, last.on));
    let left = (grams - f64::from(last.grams)) / a_day - f64::from(days(last.on, today));
    (a_day > 0.0 && left < FORETOLD).then(|| later(today, left.max(0.0))).flatten()
}

/// A female that laid last season and is not known to have regained her weight.
fn rests(today: Date, herd: &Herd, id: AnimalId) -> Option<Rest> {
    let laid = herd.clutches.iter().filter(|c| c.dam_id == Some(id)).filter_map(|c| c.laid).max_by_key(|w| w.last())?;
    if !(0..=A_SEASON).contains(&days(laid.last(), today)) {
        return None;
    }
    let weights = herd.weights_of(id);
    let before = weights
        .iter()
        .filter(|w| w.on <= laid.last() && days(w.on, laid.first()) <= DAYS_BEFORE)
        .map(|w| w.grams)
        .max();
    let now = weights.last().filter(|w| w.on > laid.last()).map(|w| w.grams);
    match (before, now) {
        (Some(before), Some(now)) if f64::from(now) >= REGAINED * f64::from(before) => None,
        (Some(before), Some(now)) => Some(Rest::NotRegained(before, now)),
        _ => Some(Rest::WeightNotKnown),
    }
}

/// The last laying of a female, if she laid.
fn laid_last(herd: &Herd, id: AnimalId) -> Option<Date> {
    herd.clutches.iter().filter(|c| c.dam_id == Some(id)).filter_map(|c| c.laid).map(When::last).max()
}

/// A female that shows that she carries, and has not laid since.
fn gravid(today: Date, herd: &Herd, id: AnimalId) -> Option<Rest> {
    let laid = laid_last(herd, id);
    let carries = |kind: SignKind| matches!(kind, SignKind::Ovulation | SignKind::PrelayShed | SignKind::Gravid);
    let shown = herd.signs.iter().filter(|s| s.animal_id == id && carries(s.kind)).map(|s| s.on.last());
    let open = shown.filter(|on| laid.is_none_or(|laid| *on > laid) && days(*on, today) <= THIS_SEASON);
    open.max().map(|_| Rest::Gravid)
}

/// The male kept here that a female was put with this season, and has not been taken from without a mating.
fn with(today: Date, herd: &Herd, id: AnimalId) -> Option<AnimalId> {
    let laid = laid_last(herd, id);
    let this_season = |m: &&Meeting| {
        let on = m.on.last();
        m.dam_id == Some(id) && laid.is_none_or(|laid| on > laid) && (0..=THIS_SEASON).contains(&days(on, today))
    };
    let mut met: Vec<&Meeting> = herd.meetings.iter().filter(this_season).collect();
    met.sort_by_key(|m| m.on.last());
    let here = |id: Option<AnimalId>| id.filter(|id| herd.animal(*id).is_some_and(|a| a.status.is_here()));
    let mated = met.iter().rev().find(|m| m.kind == MeetingKind::Lock);
    mated.or_else(|| met.last().filter(|m| m.kind == MeetingKind::Introduced)).and_then(|m| here(m.sire_id))
}
