//! The year at a glance, of an animal or of all, and a file of it for calendar programs.

use jiff::civil::Date;

use super::super::ready::{Rest, readiness};
use super::super::who::Care;
use super::super::{Desk, Done, Stop};
use super::{half_kept, kept};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::calendar::ics::{self, Event};
use crate::collection::calendar::year::{Begins, Entry, begins, entries};
use crate::conversation::File;
use crate::conversation::sentences::keeping::calendar::{self as dates, Glance, Where};
use crate::reading::places::Half;
use crate::reading::records::calendar::Span;
use crate::reading::records::kinds::Stage;
use crate::reading::records::message::Called;
use crate::reply::LONG;
use crate::species::Species;

/// A window of more days than this stands in a calendar program on its most likely day.
const LONG_WINDOW: i64 = 31;

fn species_kept<'a>(desk: &Desk<'a>, of: Option<&Animal>) -> Vec<&'a Species> {
    match of {
        Some(animal) => desk.species_of(animal).into_iter().collect(),
        None => kept(desk).into_iter().map(|id| desk.catalogue.get(id)).collect(),
    }
}

pub(super) fn year(desk: &Desk<'_>, who: Option<&Called>, span: Span, said: Option<Half>) -> Result<Done, Stop> {
    let animal = who.map(|who| desk.one(who, Care::Reads)).transpose()?;
    if let Some(gone) = animal.filter(|a| !a.status.is_here()) {
        return Err(Stop::say(dates::no_longer_here(gone)));
    }
    if desk.herd.here().next().is_none() {
        return Err(Stop::say(dates::nobody_to_glance_at()));
    }
    let (half, by) = match (said, half_kept(desk)) {
        (Some(half), _) => (half, Where::Said(None)),
        (None, Some(half)) => (half, Where::Kept),
        (None, None) => (Half::North, Where::Taken),
    };
    let species = species_kept(desk, animal);
    let months = months(span, desk.today);
    let entries = entries(desk.catalogue, desk.herd, half, desk.today, animal.map(|a| a.id));
    let begins = begins(&species, half, desk.today);
    let glance = Glance {
        catalogue: desk.catalogue,
        herd: desk.herd,
        today: desk.today,
        half,
        by: &by,
        animal,
        span,
        months,
        entries: entries.into_iter().filter(|e| in_months(e, months, desk.today)).collect(),
        begins: begins.into_iter().filter(|b| begins_in(b, months, desk.today)).collect(),
        resting: resting(desk, animal),
    };
    let about: Vec<AnimalId> = animal.map(|a| a.id).into_iter().collect();
    Ok(Done::about(dates::glance(&glance, LONG), about))
}

/// The first and the last day that are asked for.
fn months(span: Span, today: Date) -> Option<(Date, Date)> {
    let first = match span {
        Span::Year => return None,
        Span::Month(n) => today.first_of_month().checked_add(jiff::Span::new().months(n)).ok()?,
        Span::Named(month) => {
            let year = today.year() + i16::from(month < today.month());
            Date::new(year, month, 1).ok()?
        }
    };
    Some((first, first.last_of_month()))
}

/// What is late belongs to this month.
fn in_months(entry: &Entry, months: Option<(Date, Date)>, today: Date) -> bool {
    let Some((first, last)) = months else { return true };
    let window = entry.expected.window;
    let late = window.latest() < today && (first..=last).contains(&today);
    late || window.earliest() <= last && window.latest() >= first
}

fn begins_in(begins: &Begins, months: Option<(Date, Date)>, today: Date) -> bool {
    let Some((first, last)) = months else { return true };
    begins.window.earliest() <= last && begins.window.latest() >= first && begins.window.latest() >= today
}

/// Who is not to be paired, and why.
fn resting<'a>(desk: &Desk<'a>, of: Option<&Animal>) -> Vec<(&'a Animal, Rest)> {
    let grown = |a: &&Animal| a.sex != Sex::Unknown && of.is_none_or(|one| one.id == a.id);
    let herd = desk.herd;
    let mut found: Vec<(&Animal, Rest)> = herd
        .here()
        .filter(grown)
        .filter_map(|a| Some((a, readiness(desk.today, desk.species_of(a)?, herd, a).why?)))
        .filter(|(_, why)| !matches!(why, Rest::Gravid))
        .collect();
    found.sort_by_key(|(a, _)| (a.sex != Sex::Female, a.number));
    found
}

/// "Export my calendar."
pub(super) fn file(desk: &Desk<'_>) -> Result<Done, Stop> {
    let half = half_kept(desk).unwrap_or(Half::North);
    let entries = entries(desk.catalogue, desk.herd, half, desk.today, None);
    let begins = begins(&species_kept(desk, None), half, desk.today);
    let mut events: Vec<Event> = entries.iter().filter_map(|entry| event(desk, entry)).collect();
    events.extend(begins.iter().map(|b| season_event(desk, b)));
    if events.is_empty() {
        return Err(Stop::say(dates::no_dates_to_export()));
    }
    let bytes = ics::write(&events, desk.today);
    let file = File { name: format!("calendar-{}.ics", desk.today), bytes, alt: None };
    Ok(Done::File {
        file,
        reply: Box::new(dates::calendar_exported(events.len(), entries.len(), half, half_kept(desk).is_none())),
    })
}

fn event(desk: &Desk<'_>, entry: &Entry) -> Option<Event> {
    let animal = desk.herd.animal(entry.animal)?;
    let window = entry.expected.window;
    let (first, last) = if window.width() > LONG_WINDOW {
        (window.likely(), window.likely())
    } else {
        (window.earliest(), window.latest())
    };
    Some(Event {
        // The record's number, not the code: two keepers' files may meet in one calendar.
        uid: format!("{}-{}-{}@hatchward", animal.id.bits(), entry.nth, stage_id(entry.expected.stage)),
        first,
        last,
        summary: dates::event_title(animal, entry),
        description: dates::event_text(entry),
    })
}

fn season_event(desk: &Desk<'_>, begins: &Begins) -> Event {
    let species = desk.catalogue.get(begins.species);
    let first = begins.window.earliest();
    let what = if begins.cooling { "cooling" } else { "pairing" };
    Event {
        uid: format!("{}-{what}-{}@hatchward", species.key(), first.year()),
        first,
        last: first,
        summary: dates::season_title(species, begins.cooling),
        description: dates::season_text(begins),
    }
}

fn stage_id(stage: Stage) -> &'static str {
    match stage {
        Stage::Paired => "paired",
        Stage::Ovulation => "ovulation",
        Stage::Gravid => "gravid",
        Stage::Shed => "shed",
        Stage::Laying => "laying",
        Stage::Pip => "pip",
        Stage::Hatch => "hatch",
        Stage::FirstShed => "first-shed",
        Stage::FirstMeal => "first-meal",
    }
}
