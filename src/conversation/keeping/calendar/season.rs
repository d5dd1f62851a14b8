//! The months of a species, and when an animal can be paired again.

use jiff::ToSpan as _;
use jiff::civil::Date;

use super::super::ready::{Rest, readiness};
use super::super::who::Care;
use super::super::{Desk, Done, Stop};
use super::{half_kept, kept, numbers_of};
use crate::collection::animal::{Animal, Sex};
use crate::collection::calendar::course::{self, Told};
use crate::collection::calendar::months;
use crate::collection::calendar::window::{Window, plus};
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::calendar::{self as dates, Again, Where};
use crate::reading::dates::When;
use crate::reading::places::Half;
use crate::reading::records::calendar::Part;
use crate::reading::records::kinds::Stage;
use crate::reading::records::message::Called;
use crate::species::{Species, SpeciesId};

pub(super) fn season(
    desk: &Desk<'_>,
    named: Option<SpeciesId>,
    part: Part,
    said: Option<Half>,
    place: Option<&str>,
) -> Done {
    let (half, by) = match (said, half_kept(desk)) {
        (Some(half), _) => (half, Where::Said(place.map(str::to_owned))),
        (None, Some(half)) => (half, Where::Kept),
        (None, None) => (Half::North, Where::Taken),
    };
    let ids = named.or(desk.species).map_or_else(|| kept(desk), |id| vec![id]);
    let all = || desk.catalogue.species().iter().map(|s| s.id).collect();
    let ids = if ids.is_empty() { all() } else { ids };
    let species: Vec<&Species> = ids.iter().map(|id| desk.catalogue.get(*id)).collect();
    Done::say(dates::seasons(&species, part, half, &by))
}

/// "When can I pair Olive again?"
pub(super) fn again(desk: &Desk<'_>, who: &Called) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    if !animal.status.is_here() {
        return Err(Stop::say(dates::no_longer_here(animal)));
    }
    let species = super::super::added::species_of(desk, animal)?;
    let half = half_kept(desk);
    let mut found =
        Again { animal, species, today: desk.today, season: None, now: false, why: Vec::new(), rests_on: Vec::new() };
    let state = readiness(desk.today, species, desk.herd, animal);
    let mut from = desk.today;
    if let Some(why) = state.why {
        found.why.push(say::season::rest_sentence(animal, why));
        let until = match why {
            Rest::Young(until) => Some(until),
            Rest::Light(_, _, until) => until,
            _ => None,
        };
        from = from.max(until.unwrap_or(from));
    }
    from = from.max(if animal.sex == Sex::Male {
        male_from(desk, animal, species, &mut found)
    } else {
        female_from(desk, animal, species, half, &mut found)
    });
    match &species.care().pairing_months {
        Some(months) => {
            found.season = months::season(half.unwrap_or(Half::North), months, from)
                .map(|w| Window::new(w.earliest().max(from), w.likely().max(from), w.latest()));
            found.now = state.why.is_none() && found.season.is_some_and(|w| w.earliest() <= desk.today);
            let north = half.unwrap_or(Half::North);
            found.rests_on.push(dates::pairing_months(species, months, north, half.is_none()));
        }
        None => found.now = state.why.is_none() && from <= desk.today,
    }
    Ok(Done::about(dates::again(&found), vec![animal.id]))
}

/// The first day on which a male has rested.
fn male_from(desk: &Desk<'_>, animal: &Animal, species: &Species, found: &mut Again<'_>) -> Date {
    let last = desk.herd.meetings.iter().filter(|m| m.sire_id == Some(animal.id)).map(|m| m.on.last()).max();
    let (Some(last), Some(rest)) = (last, &species.care().male_rest_days) else { return desk.today };
    #[expect(clippy::cast_possible_truncation)] // days
    let from = plus(last, rest.default.round() as i64);
    if from > desk.today {
        found.why.push(dates::male_rests(animal, last, rest));
    }
    from
}

/// The first day of a season in which she can be paired, after her last one.
fn female_from(desk: &Desk<'_>, animal: &Animal, species: &Species, half: Option<Half>, found: &mut Again<'_>) -> Date {
    let care = species.care();
    let numbers = numbers_of(desk, species);
    let open = course::of_female(&numbers, desk.herd, animal, desk.today, Told::default());
    let running = open.as_ref().filter(|c| c.carries()).and_then(|c| c.expected(Stage::Laying)).map(|e| e.window);
    let laid = desk.herd.clutches.iter().filter(|c| c.dam_id == Some(animal.id)).filter_map(|c| c.laid);
    let laid = laid.map(When::last).max();
    let Some(end) = running.map(Window::likely).or(laid) else { return desk.today };
    if let Some(window) = running {
        found.why.push(dates::carries_now(animal, window, numbers.is_live_bearing()));
    }
    // Who lays every few weeks goes on in the same season.
    if care.between_clutches_days.is_some() {
        return end.max(desk.today);
    }
    let Some(months) = &care.pairing_months else { return end.max(desk.today) };
    let years = care.interval_years.as_ref();
    let half = half.unwrap_or(Half::North);
    // The next season that begins after she laid, or gave birth.
    let mut next = months::season(half, months, end);
    if next.is_some_and(|w| w.earliest() <= end) {
        next = next.and_then(|w| months::season(half, months, w.latest().tomorrow().ok()?));
    }
    let Some(next) = next else { return end.max(desk.today) };
    #[expect(clippy::cast_possible_truncation)] // a few years
    let skipped = years.map_or(0, |y| y.default.round() as i64 - 1).max(0);
    let from = next.earliest().checked_add(skipped.years()).unwrap_or(next.earliest());
    // A season that begins before she can have her weight back begins later for her.
    #[expect(clippy::cast_possible_truncation)] // months of feeding
    let fed = care.weight_recovery_months.as_ref().map_or(0, |m| m.low.round() as i64);
    let from = from.max(end.checked_add(fed.months()).unwrap_or(from));
    if from > desk.today || running.is_some() || !found.why.is_empty() {
        found.rests_on.extend(dates::rests_between(animal, species, running.is_none().then_some(end)));
    }
    from.max(desk.today)
}
