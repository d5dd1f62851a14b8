//! Dates: what is due, how late she is, the season, the year, a file of them, and the numbers they are counted by.
//!
//! In: what is asked, the herd, the day. Out: a reply, or a number to be saved. The counting is in `collection::calendar`,
//! the sentences in `sentences::keeping::calendar`. Start at [`answer`].

mod dates; // what is due and how late it is
mod numbers; // the keeper's own numbers
mod season; // months of a species
mod year; // the year, and a file of it

pub(super) use dates::{follows, hatches};

use super::{Desk, Done, Stop};
use crate::collection::calendar::learned::{Learned, learned};
use crate::collection::calendar::numbers::{Interval, Numbers};
use crate::conversation::sentences::keeping::calendar as say;
use crate::reading::places::Half;
use crate::reading::records::calendar::CalendarAsked;
use crate::species::{Species, SpeciesId};

/// Answers a question about dates.
pub(super) fn answer(desk: &Desk<'_>, asked: &CalendarAsked) -> Result<Done, Stop> {
    match asked {
        CalendarAsked::Due { who, stage } => dates::due(desk, who, *stage),
        CalendarAsked::Late { who } => dates::late(desk, who),
        CalendarAsked::DayOf { who, day, species } => dates::day_of(desk, who.as_ref(), *day, *species),
        CalendarAsked::After { .. } => dates::after(desk, asked),
        CalendarAsked::Again { who } => season::again(desk, who),
        CalendarAsked::Season { species, part, half, place } => {
            Ok(season::season(desk, *species, *part, *half, place.as_deref()))
        }
        CalendarAsked::Year { who, span, half } => year::year(desk, who.as_ref(), *span, *half),
        CalendarAsked::File => year::file(desk),
        CalendarAsked::Own { item, species, clutch, tenths } => {
            numbers::own(desk, *item, *species, clutch.as_ref(), *tenths)
        }
        CalendarAsked::UseMine { species } => numbers::use_mine(desk, *species),
        CalendarAsked::UseDefault { species } => Ok(numbers::use_default(desk, *species)),
        CalendarAsked::Numbers { species } => numbers::numbers(desk, *species),
    }
}

/// The half of the world that the keeper is in; `None` where nobody has said.
fn half_kept(desk: &Desk<'_>) -> Option<Half> {
    desk.herd.half()
}

/// A species' numbers as this keeper has them.
fn numbers_of<'a>(desk: &Desk<'a>, species: &'a Species) -> Numbers<'a> {
    Numbers::of(species, desk.herd, half_kept(desk).unwrap_or(Half::North))
}

/// The keeper's own median of an interval, where the default is used instead and it says something else.
fn own_median(desk: &Desk<'_>, numbers: &Numbers<'_>, interval: Interval) -> Option<Learned> {
    let used = numbers.days(interval, None)?;
    if !used.basis.is_default() {
        return None;
    }
    learned(numbers.species, desk.herd, interval)
}

/// "your own median of pre-lay shed to laying is …", for what a date rests on.
fn offered(desk: &Desk<'_>, numbers: &Numbers<'_>, interval: Interval) -> Option<String> {
    let found = own_median(desk, numbers, interval)?;
    Some(say::learned(&found, say::interval_words(interval, numbers.is_live_bearing())))
}

/// The species that a question is about: named, of the place, the only one that is kept; asked where there are several.
fn species_meant(desk: &Desk<'_>, named: Option<SpeciesId>) -> Result<SpeciesId, Stop> {
    if let Some(id) = named.or(desk.fixed.species).or(desk.species) {
        return Ok(id);
    }
    let kept = kept(desk);
    if let [only] = kept[..] {
        return Ok(only);
    }
    let all: Vec<SpeciesId> =
        if kept.is_empty() { desk.catalogue.species().iter().map(|s| s.id).collect() } else { kept };
    let names = all.iter().map(|id| desk.catalogue.get(*id).name().to_owned()).collect();
    Err(Stop::ask(say::which_kind(names), super::Ask::Species(all)))
}

/// The species that are kept, in the order of the catalogue.
fn kept(desk: &Desk<'_>) -> Vec<SpeciesId> {
    let is_kept = |species: &&Species| desk.herd.here().any(|a| a.species == species.key());
    desk.catalogue.species().iter().filter(is_kept).map(|s| s.id).collect()
}
