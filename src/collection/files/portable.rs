//! A herd in numbers of its own: an animal's number is its short code, everything else is counted from 1. So a file means
//! the same in every database, and two herds with the same records are equal.

use std::collections::{HashMap, HashSet};
use std::hash::BuildHasher;

use crate::collection::animal::{Animal, AnimalId, ClutchId};
use crate::collection::events::EventId;
use crate::collection::herd::Herd;

/// The same records under portable numbers, animals by their codes.
#[must_use]
pub fn portable(herd: &Herd) -> Herd {
    let mut out = herd.clone();
    out.animals.sort_by_key(|a| a.number);
    let animals: HashMap<AnimalId, AnimalId> =
        out.animals.iter().map(|a| (a.id, AnimalId(i64::from(a.number.0)))).collect();
    let clutches: HashMap<ClutchId, ClutchId> = (1..).zip(&out.clutches).map(|(n, c)| (c.id, ClutchId(n))).collect();
    renumber(&mut out, &animals, &clutches);
    out
}

/// Gives all records other numbers: animals and clutches those of the maps (a reference that is not in them is dropped),
/// everything else a count from 1. Versions start anew.
pub(super) fn renumber(herd: &mut Herd, animals: &HashMap<AnimalId, AnimalId>, clutches: &HashMap<ClutchId, ClutchId>) {
    let mut count = 0;
    let mut next = || {
        count += 1;
        EventId(count)
    };
    let animal = |id: &mut AnimalId| *id = animals.get(id).copied().unwrap_or(AnimalId(0));
    let parent = |id: &mut Option<AnimalId>| *id = id.and_then(|id| animals.get(&id).copied());
    for one in &mut herd.animals {
        animal(&mut one.id);
        parent(&mut one.sire_id);
        parent(&mut one.dam_id);
        one.clutch_id = one.clutch_id.and_then(|id| clutches.get(&id).copied());
        one.version = 0;
    }
    for one in &mut herd.clutches {
        one.id = clutches.get(&one.id).copied().unwrap_or(ClutchId(0));
        one.sires = one.sires.take().and_then(|sires| sires.renumbered(|id| animals.get(&id).copied()));
        parent(&mut one.sire_id);
        parent(&mut one.dam_id);
        one.version = 0;
    }
    for one in &mut herd.weights {
        (one.id, one.version) = (next(), 0);
        animal(&mut one.animal_id);
    }
    for one in &mut herd.meals {
        (one.id, one.version) = (next(), 0);
        animal(&mut one.animal_id);
    }
    for one in &mut herd.signs {
        (one.id, one.version) = (next(), 0);
        animal(&mut one.animal_id);
    }
    for one in &mut herd.meetings {
        (one.id, one.version) = (next(), 0);
        parent(&mut one.sire_id);
        parent(&mut one.dam_id);
    }
    for one in &mut herd.goals {
        (one.id, one.version) = (next(), 0);
    }
    for one in &mut herd.frequencies {
        (one.id, one.version) = (next(), 0);
    }
    // A number of a clutch that is not there any more is of nothing.
    herd.own_numbers.retain(|one| one.clutch_id.is_none_or(|id| clutches.contains_key(&id)));
    for one in &mut herd.own_numbers {
        (one.id, one.version) = (next(), 0);
        one.clutch_id = one.clutch_id.and_then(|id| clutches.get(&id).copied());
    }
    for one in &mut herd.reminders {
        (one.id, one.version, one.channel) = (next(), 0, None);
        one.moments.clear();
    }
    if let Some(home) = &mut herd.home {
        (home.id, home.version) = (next(), 0);
    }
}

/// The part of a herd that is about these animals. Parents outside of it are told in words; goals stay behind,
/// what is said of animals elsewhere and of where the keeper is, and care numbers.
#[must_use]
pub fn part<S: BuildHasher>(herd: &Herd, chosen: &HashSet<AnimalId, S>) -> Herd {
    let mut out = herd.clone();
    out.goals.clear();
    out.frequencies.clear();
    out.own_numbers.clear();
    out.home = None;
    out.reminders.clear();
    out.animals.retain(|a| chosen.contains(&a.id));
    out.weights.retain(|w| chosen.contains(&w.animal_id));
    out.meals.retain(|m| chosen.contains(&m.animal_id));
    out.signs.retain(|s| chosen.contains(&s.animal_id));
    let outside = |id: &mut Option<AnimalId>, words: &mut Option<String>| {
        if let Some(other) = id.filter(|id| !chosen.contains(id)) {
            *words = herd.animal(other).map(Animal::called);
            *id = None;
        }
    };
    for one in &mut out.meetings {
        outside(&mut one.sire_id, &mut one.sire_out);
        outside(&mut one.dam_id, &mut one.dam_out);
    }
    out.meetings.retain(|m| m.sire_id.is_some() || m.dam_id.is_some());
    for one in &mut out.clutches {
        // One of several, not all of whom are here: then the father is not known here.
        one.sires = one.sires.take().filter(|sires| sires.of.iter().all(|sire| chosen.contains(&sire.id)));
        outside(&mut one.sire_id, &mut one.sire_out);
        outside(&mut one.dam_id, &mut one.dam_out);
    }
    out.clutches.retain(|c| c.sire_id.is_some() || c.sires.is_some() || c.dam_id.is_some());
    let clutches: HashSet<ClutchId> = out.clutches.iter().map(|c| c.id).collect();
    for one in &mut out.animals {
        outside(&mut one.sire_id, &mut one.sire_out);
        outside(&mut one.dam_id, &mut one.dam_out);
        one.clutch_id = one.clutch_id.filter(|c| clutches.contains(c));
    }
    out
}
