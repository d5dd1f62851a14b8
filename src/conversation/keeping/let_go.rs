//! What animals are doing, and letting them go.

use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::{Animal, AnimalId};
use crate::collection::change::Change;
use crate::collection::herd::Herd;
use crate::collection::rules;
use crate::conversation::sentences::keeping as say;
use crate::reading::dates::Said;
use crate::reading::records::edit::Those;
use crate::reading::records::kinds::Status;

/// From so many animals on a change is shown first.
const SHOWN_FIRST: usize = 2;

pub(super) fn status(desk: &Desk<'_>, those: &Those, status: Status, on: Option<&Said>) -> Result<Done, Stop> {
    let on = desk.when(on)?;
    let animals = animals(desk, those)?;
    if animals.is_empty() {
        return Err(Stop::say(say::which_ones(status)));
    }
    let since = on.unwrap_or(crate::reading::dates::When::Day(desk.today));
    let mut change = Change::new("status", say::status_past(&animals, status));
    for animal in &animals {
        if since.first() > desk.today {
            let fault = rules::was_there(animal, say::status_word(status), since, desk.today);
            fault.map_err(|f| Stop::say(say::fault(&f.to_string())))?;
        }
        if animal.hatched.is_some_and(|h| since.last() < h.first()) {
            let fault = rules::was_there(animal, say::status_word(status), since, desk.today);
            fault.map_err(|f| Stop::say(say::fault(&f.to_string())))?;
        }
        let mut new = (*animal).clone();
        new.status = status;
        new.status_on = Some(since);
        change.put(&new);
    }
    let about = animals.iter().map(|a| a.id).collect();
    Ok(confirmed(desk, &animals, change, say::status_now(&animals, status, since), about, say::status_word(status)))
}

pub(super) fn remove(desk: &Desk<'_>, those: &Those) -> Result<Done, Stop> {
    let animals = animals(desk, those)?;
    if animals.is_empty() {
        return Err(Stop::say(say::nothing_fits()));
    }
    let gone: Vec<AnimalId> = animals.iter().map(|a| a.id).collect();
    let mut change = Change::new("remove", say::removed_past(&animals));
    let n_events = drop_all(desk.herd, &gone, &mut change);
    let reply = say::removed(desk.catalogue, desk.herd, &animals, n_events);
    Ok(confirmed(desk, &animals, change, reply, Vec::new(), "remove"))
}

/// Lets animals go with all that is recorded of them alone. Young and clutches stay, and remember the parent in words.
fn drop_all(herd: &Herd, gone: &[AnimalId], change: &mut Change) -> usize {
    let is_gone = |id: Option<AnimalId>| id.is_some_and(|id| gone.contains(&id));
    let words = |id: Option<AnimalId>| id.and_then(|id| herd.animal(id)).map(Animal::called);
    let mut n = 0;
    for weight in herd.weights.iter().filter(|w| gone.contains(&w.animal_id)) {
        change.drop(weight);
        n += 1;
    }
    for meal in herd.meals.iter().filter(|m| gone.contains(&m.animal_id)) {
        change.drop(meal);
        n += 1;
    }
    for sign in herd.signs.iter().filter(|s| gone.contains(&s.animal_id)) {
        change.drop(sign);
        n += 1;
    }
    for meeting in &herd.meetings {
        let (sire, dam) = (is_gone(meeting.sire_id), is_gone(meeting.dam_id));
        if !sire && !dam {
            continue;
        }
        let mut new = meeting.clone();
        if sire {
            new.sire_out = words(meeting.sire_id);
            new.sire_id = None;
        }
        if dam {
            new.dam_out = words(meeting.dam_id);
            new.dam_id = None;
        }
        if new.sire_id.is_none() && new.dam_id.is_none() {
            change.drop(meeting);
            n += 1;
        } else {
            change.put(&new);
        }
    }
    let mut clutches_gone = Vec::new();
    for clutch in &herd.clutches {
        let (sire, dam) = (is_gone(clutch.sire_id), is_gone(clutch.dam_id));
        if !sire && !dam {
            continue;
        }
        let mut new = clutch.clone();
        if sire {
            new.sire_out = words(clutch.sire_id);
            new.sire_id = None;
        }
        if dam {
            new.dam_out = words(clutch.dam_id);
            new.dam_id = None;
        }
        if new.sire_id.is_none() && new.dam_id.is_none() {
            clutches_gone.push(clutch.id);
            change.drop(clutch);
            herd.own_numbers.iter().filter(|own| own.clutch_id == Some(clutch.id)).for_each(|own| change.drop(own));
            n += 1;
        } else {
            change.put(&new);
        }
    }
    for animal in &herd.animals {
        if gone.contains(&animal.id) {
            continue;
        }
        let mut new = animal.clone();
        if is_gone(animal.sire_id) {
            new.sire_out = words(animal.sire_id);
            new.sire_id = None;
        }
        if is_gone(animal.dam_id) {
            new.dam_out = words(animal.dam_id);
            new.dam_id = None;
        }
        if animal.clutch_id.is_some_and(|c| clutches_gone.contains(&c)) {
            new.clutch_id = None;
        }
        if new != *animal {
            change.put(&new);
        }
    }
    for animal in herd.animals.iter().filter(|a| gone.contains(&a.id)) {
        change.drop(animal);
    }
    n
}

/// One animal is changed at once; several are shown first.
fn confirmed(
    desk: &Desk<'_>,
    animals: &[&Animal],
    change: Change,
    reply: crate::reply::Reply,
    about: Vec<AnimalId>,
    word: &str,
) -> Done {
    if animals.len() < SHOWN_FIRST {
        return Done::save(change, reply, about);
    }
    let word = word.replace(' ', "-");
    let shown = Box::new(say::change_first(desk.catalogue, desk.herd, animals, &word));
    Done::Confirm { word, shown, change, reply: Box::new(reply) }
}

/// The animals that a change is about.
fn animals<'a>(desk: &Desk<'a>, those: &Those) -> Result<Vec<&'a Animal>, Stop> {
    match those {
        Those::Named(who) => {
            let mut out: Vec<&Animal> = Vec::new();
            for called in who {
                let animal = desk.one(called, Care::Writes)?;
                if !out.iter().any(|a| a.id == animal.id) {
                    out.push(animal);
                }
            }
            Ok(out)
        }
        Those::All(filter) => super::looked::fitting(desk, filter),
    }
}
