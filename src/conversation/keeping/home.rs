//! Where the keeper is: told, asked, and asked back about.

use super::{Ask, Desk, Done, Stop};
use crate::collection::change::Change;
use crate::collection::place::Home;
use crate::conversation::sentences::keeping as say;
use crate::reading::places::{self, Spoken};
use crate::reading::records::home::HomeSaid;

pub(super) fn home(desk: &Desk<'_>, said: &HomeSaid) -> Result<Done, Stop> {
    let (zone, half) = match said {
        HomeSaid::Asked => return Ok(Done::say(say::home::known(desk.herd))),
        HomeSaid::Half(half) => (None, Some(*half)),
        HomeSaid::Place(typed) => (Some(zone(desk, typed)?), None),
    };
    let before = desk.herd.home.as_ref();
    let new = settled(desk, zone.clone(), |home| {
        // A half that was told of another place is told anew.
        home.half = if zone.is_some() { None } else { half };
    });
    if before.is_some_and(|b| (&b.zone, b.half) == (&new.zone, new.half)) {
        return Ok(Done::say(say::home::as_it_was(desk.herd)));
    }
    let mut herd = desk.herd.clone();
    herd.home = Some(new.clone());
    let mut change = Change::new("home", say::home::told_past(&herd, zone.is_some()));
    change.put(&new);
    Ok(Done::save(change, say::home::told(&herd, zone.is_some()), Vec::new()))
}

/// The keeper's place with another zone, if one is given.
fn settled(desk: &Desk<'_>, zone: Option<&'static str>, with: impl FnOnce(&mut Home)) -> Home {
    let mut home = desk.herd.home.clone().unwrap_or_else(|| Home {
        id: desk.herd.ids().event(),
        version: 0,
        zone: None,
        half: None,
    });
    if let Some(zone) = zone {
        home.zone = Some(zone.to_owned());
    }
    with(&mut home);
    home
}

/// The zone that a place stands for; asked where it is several, refused where it is none.
pub(super) fn zone(desk: &Desk<'_>, typed: &str) -> Result<&'static str, Stop> {
    let typed = desk.fixed.place.as_deref().unwrap_or(typed);
    match places::spoken(typed) {
        Spoken::Zone(zone) => Ok(zone),
        Spoken::Several(zones) => Err(Stop::ask(say::home::which_zone(typed, zones), Ask::Zone(zones.to_vec()))),
        Spoken::Offset => Err(Stop::say(say::home::offset(typed))),
        Spoken::Unknown(near) => Err(Stop::say(say::home::no_such_zone(typed, &near))),
    }
}
