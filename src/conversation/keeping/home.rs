//! Where the keeper is: told, asked, and asked back about.

use super::{Ask, Desk, Done, Stop, remind};
use crate::collection::change::Change;
use crate::collection::herd::Herd;
use crate::collection::place::Home;
use crate::conversation::sentences::keeping as say;
use crate::reading::places::{self, Spoken};
use crate::reading::records::home::HomeSaid;

pub(super) fn home(desk: &Desk<'_>, said: &HomeSaid) -> Result<Done, Stop> {
    let (new, zone) = match said {
        HomeSaid::Asked => return Ok(Done::say(say::home::known(desk.herd))),
        HomeSaid::Half(half) => (Home { half: Some(*half), ..known(desk) }, None),
        HomeSaid::Place(typed) => {
            let zone = zone(desk, typed)?;
            (with_zone(desk, zone).0, Some(zone))
        }
    };
    let before = desk.herd.home.as_ref();
    if before.is_some_and(|b| (&b.zone, b.half) == (&new.zone, new.half)) {
        return Ok(Done::say(say::home::as_it_was(desk.herd)));
    }
    let herd = Herd { home: Some(new.clone()), ..desk.herd.clone() };
    let mut change = Change::new("home", say::home::told_past(&herd, zone.is_some()));
    change.put(&new);
    let mut reply = say::home::told(&herd, zone.is_some());
    let moved = zone.map(|zone| remind::moved_to(desk, zone)).unwrap_or_default();
    for (_, reminder) in &moved {
        change.put(reminder);
    }
    if !moved.is_empty() {
        reply.notes.insert(0, say::home::reminders_moved(moved.len()));
    }
    Ok(Done::save(change, reply, Vec::new()))
}

/// What is known of where the keeper is.
fn known(desk: &Desk<'_>) -> Home {
    let new = || Home { id: desk.herd.ids().event(), version: 0, zone: None, half: None };
    desk.herd.home.clone().unwrap_or_else(new)
}

/// The keeper's place with this zone, and the herd with it. A half that was told of another place is told anew.
pub(super) fn with_zone(desk: &Desk<'_>, zone: &str) -> (Home, Herd) {
    // Two records of one change must not have one number.
    let id = |home: Home| if home.version == 0 { Home { id: desk.herd.ids().nth_event(2), ..home } } else { home };
    let home = id(Home { zone: Some(zone.to_owned()), half: None, ..known(desk) });
    let herd = Herd { home: Some(home.clone()), ..desk.herd.clone() };
    (home, herd)
}

/// The zone that a place stands for; asked where it is several, refused where it is none.
fn zone(desk: &Desk<'_>, typed: &str) -> Result<&'static str, Stop> {
    let typed = desk.fixed.place.as_deref().unwrap_or(typed);
    match places::spoken(typed) {
        Spoken::Zone(zone) => Ok(zone),
        Spoken::Several(zones) => Err(Stop::ask(say::home::which_zone(typed, zones), Ask::Zone(zones.to_vec()))),
        Spoken::Offset => Err(Stop::say(say::home::offset(typed))),
        Spoken::Unknown(near) => Err(Stop::say(say::home::no_such_zone(typed, &near))),
    }
}

/// The zone of a place that was asked for: what is none is asked for again.
pub(super) fn asked_zone(desk: &Desk<'_>, typed: &str) -> Result<&'static str, Stop> {
    zone(desk, typed).map_err(|stop| match stop {
        Stop::Say(reply) => Stop::ask(say::home::again(*reply), Ask::Home),
        ask @ Stop::Ask(..) => ask,
    })
}
