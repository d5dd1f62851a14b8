//! What a file of ours changes in a herd: records that are new, records that differ, records that are there already.
//!
//! An animal of the file is one of the herd where code, name and species agree; a clutch where its own code or its parents
//! and its day agree; anything else where all of it agrees. So a second import of the same file changes nothing, and a
//! file of another collection never overwrites an animal that only has the same code.

use std::collections::{HashMap, HashSet};

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use serde_json::Value;

use super::Bad;
use super::shape::{self, MOST_CODE};
use crate::collection::animal::{Animal, AnimalId, ClutchId, Number};
use crate::collection::change::{Change, Ids, Record};
use crate::collection::events::{Clutch, EventId, Meeting, OwnNumber};
use crate::collection::herd::Herd;
use crate::collection::reminder::rule::moment;
use crate::collection::reminder::{MOST_OPEN, Reminder};
use crate::collection::rules::{self, Fault, limits};
use crate::reading::dates::When;
use crate::reading::places;
use crate::species::{Catalogue, Species};

/// What a file changes.
#[derive(Debug, Clone, Default)]
pub struct Merged {
    /// The records to be saved.
    pub change: Change,
    /// Animals that are new, in the order of the file.
    pub new: Vec<Animal>,
    /// Animals that differ, as they shall be.
    pub changed: Vec<Animal>,
    /// Records of other kinds that are new or differ.
    pub n_other: usize,
    /// Records that are there already.
    pub n_same: usize,
    /// Records that cannot be taken.
    pub bad: Vec<Bad>,
    /// The herd as it would be.
    pub herd: Herd,
    /// The collection is nearly full.
    pub near: Option<String>,
}

/// Says what the portable herd of a file changes in a herd.
///
/// # Errors
/// [`Fault`] when the collection would have more than it can hold.
pub fn merge(herd: &Herd, file: &Herd, catalogue: &Catalogue, today: Date) -> Result<Merged, Fault> {
    let mut merging = Merging::new(herd, file, catalogue, today);
    merging.animals(file);
    merging.others(file);
    let mut out = merging.out;
    let year = today.year();
    // What a code stood for once must not become another animal's: on paper and in old sheets it lives on.
    if !out.change.is_empty() && file.next_number > out.herd.next_number && file.next_number <= MOST_CODE + 1 {
        out.herd.next_number = file.next_number;
        out.change.number_from(file.next_number);
    }
    let this_year = out.herd.events_in(year).saturating_sub(herd.events_in(year));
    let near = rules::size(herd, out.new.len(), this_year, today)?;
    Ok(Merged { near, ..out })
}

struct Merging<'a> {
    before: &'a Herd,
    catalogue: &'a Catalogue,
    today: Date,
    ids: Ids,
    /// From the file's animals to the herd's.
    animals: HashMap<AnimalId, AnimalId>,
    clutches: HashMap<ClutchId, ClutchId>,
    out: Merged,
}

impl<'a> Merging<'a> {
    fn new(before: &'a Herd, file: &Herd, catalogue: &'a Catalogue, today: Date) -> Self {
        let last = file.animals.iter().map(|a| a.number.0).filter(|n| *n <= MOST_CODE).max().unwrap_or(0);
        // A fresh code must be none that another animal of the file brings along.
        let ids = Ids::new(before.next_number.max(last.saturating_add(1)));
        let out = Merged { herd: before.clone(), change: Change::new("import", ""), ..Merged::default() };
        Self { before, catalogue, today, ids, animals: HashMap::new(), clutches: HashMap::new(), out }
    }

    fn bad(&mut self, place: impl Into<String>, reason: impl Into<String>) {
        self.out.bad.push(Bad { place: place.into(), reason: reason.into() });
    }

    fn species(&self, key: &str) -> Option<&'a Species> {
        self.catalogue.species().iter().find(|s| s.key() == key)
    }

    fn animals(&mut self, file: &Herd) {
        let taken = self.number(file);
        self.pair_clutches(file);
        let mut put: Vec<Animal> = Vec::new();
        for one in taken {
            let mut new = one.clone();
            self.placed(&mut new, !file.clutches.is_empty());
            match shape::animal(&mut new) {
                Ok(()) => put.push(new),
                Err(reason) => {
                    self.animals.remove(&one.id);
                    self.bad(named(one), reason);
                }
            }
        }
        let differs = |new: &Animal| self.before.animal(new.id) != Some(new);
        let (put, same): (Vec<_>, Vec<_>) = put.into_iter().partition(differs);
        self.out.n_same += same.len();
        for new in &put {
            set(&mut self.out.herd, new);
        }
        let faults: Vec<(AnimalId, Option<String>)> = put.iter().map(|new| (new.id, self.fault(new))).collect();
        // An animal that was here before stays as it was.
        let gone: HashSet<AnimalId> =
            faults.iter().filter(|f| f.1.is_some() && self.before.animal(f.0).is_none()).map(|f| f.0).collect();
        self.animals.retain(|_, id| !gone.contains(id));
        for (mut new, (id, fault)) in put.into_iter().zip(faults) {
            if let Some(fault) = fault {
                self.out.herd.animals.retain(|a| a.id != id);
                self.out.herd.animals.extend(self.before.animal(id).cloned());
                self.bad(named(&new), fault);
                continue;
            }
            self.without(&mut new, &gone);
            set(&mut self.out.herd, &new);
            self.out.change.put(&new);
            if new.version == 0 { &mut self.out.new } else { &mut self.out.changed }.push(new);
        }
    }

    /// Gives each animal of the file its place in the herd; a code that stands twice is named.
    fn number<'f>(&mut self, file: &'f Herd) -> Vec<&'f Animal> {
        let mut taken = Vec::new();
        for one in &file.animals {
            if self.animals.contains_key(&one.id) {
                self.bad(named(one), format!("the code {} stands there twice", one.number));
                continue;
            }
            let here = self.before.numbered(one.number).filter(|a| is_same(a, one));
            let id = match here {
                Some(here) => here.id,
                None => self.ids.event_of_animal(),
            };
            self.animals.insert(one.id, id);
            taken.push(one);
        }
        taken
    }

    /// An animal of the file with the herd's numbers.
    fn placed(&mut self, new: &mut Animal, has_clutches: bool) {
        let own = self.animals.get(&new.id).copied().unwrap_or(new.id);
        let here = self.before.animal(own);
        let resolve = |id: AnimalId| {
            let kept = || self.before.numbered(Number(i32::try_from(id.0).unwrap_or(0))).map(|a| a.id);
            self.animals.get(&id).copied().or_else(kept)
        };
        new.sire_id = new.sire_id.and_then(resolve);
        new.dam_id = new.dam_id.and_then(resolve);
        // A sheet of animals alone says nothing of clutches.
        new.clutch_id = match (has_clutches, here) {
            (true, _) => new.clutch_id.and_then(|id| self.clutches.get(&id).copied()),
            (false, Some(here)) => here.clutch_id,
            (false, None) => None,
        };
        new.id = own;
        new.version = here.map_or(0, |a| a.version);
        if here.is_none() && (new.number.0 <= 0 || self.out.herd.numbered(new.number).is_some_and(|a| a.id != own)) {
            new.number = self.ids.animal().1;
        }
    }

    fn fault(&self, new: &Animal) -> Option<String> {
        let Some(species) = self.species(&new.species) else {
            return Some(format!("its species \"{}\" is not in the catalogue of this program", new.species));
        };
        rules::animal(&self.out.herd, species, new, self.today).err().map(|fault| fault.to_string())
    }

    /// Parents that were left out are remembered in words.
    fn without(&self, new: &mut Animal, gone: &HashSet<AnimalId>) {
        let words = |id: AnimalId| self.before.animal(id).map(Animal::called);
        if let Some(id) = new.sire_id.filter(|id| gone.contains(id)) {
            (new.sire_id, new.sire_out) = (None, words(id));
        }
        if let Some(id) = new.dam_id.filter(|id| gone.contains(id)) {
            (new.dam_id, new.dam_out) = (None, words(id));
        }
    }

    fn pair_clutches(&mut self, file: &Herd) {
        let mut free: Vec<&Clutch> = self.before.clutches.iter().collect();
        for one in &file.clutches {
            let mut new = one.clone();
            self.parents_of(&mut new.sire_id, &mut new.dam_id);
            self.sires_of(&mut new);
            let same = |c: &&Clutch| match (&c.code, &new.code) {
                (Some(a), Some(b)) => a == b,
                (None, None) => {
                    (c.sire_id, &c.sire_out, c.dam_id, &c.dam_out, c.laid)
                        == (new.sire_id, &new.sire_out, new.dam_id, &new.dam_out, new.laid)
                }
                _ => false,
            };
            let id = match free.iter().position(same) {
                Some(at) => free.remove(at).id,
                None => self.ids.clutch(),
            };
            self.clutches.insert(one.id, id);
        }
    }

    fn parents_of(&self, sire: &mut Option<AnimalId>, dam: &mut Option<AnimalId>) {
        for parent in [sire, dam] {
            *parent = parent.and_then(|id| self.animals.get(&id).copied());
        }
    }

    /// A male that was left out leaves the father unknown.
    fn sires_of(&self, clutch: &mut Clutch) {
        let sires = clutch.sires.take();
        clutch.sires = sires.and_then(|sires| sires.renumbered(|id| self.animals.get(&id).copied()));
    }

    fn others(&mut self, file: &Herd) {
        self.meetings(file);
        self.clutches(file);
        let mut weights = Known::of(&self.before.weights);
        for one in &file.weights {
            let mut new = one.clone();
            let Some(animal) = self.whose(one.animal_id, "weight", When::Day(one.on)) else { continue };
            (new.id, new.version, new.animal_id) = (self.ids.event(), 0, animal.id);
            let species = self.species(&animal.species);
            let fault = shape::weight(&new).err().or_else(|| {
                species.and_then(|s| rules::weight(&animal, s, &new, self.today).err()).map(|f| f.to_string())
            });
            if self.is_new(weights.take(&new), &place(&animal, "weight", When::Day(new.on)), fault) {
                self.out.change.put(&new);
                self.out.herd.weights.push(new);
            }
        }
        let mut meals = Known::of(&self.before.meals);
        for one in &file.meals {
            let mut new = one.clone();
            let Some(animal) = self.whose(one.animal_id, "meal", When::Day(one.on)) else { continue };
            (new.id, new.version, new.animal_id) = (self.ids.event(), 0, animal.id);
            let there = rules::was_there(&animal, "fed", When::Day(new.on), self.today).map_err(|f| f.to_string());
            let fault = shape::meal(&mut new).and(there).err();
            if self.is_new(meals.take(&new), &place(&animal, "meal", When::Day(new.on)), fault) {
                self.out.change.put(&new);
                self.out.herd.meals.push(new);
            }
        }
        let mut signs = Known::of(&self.before.signs);
        for one in &file.signs {
            let mut new = one.clone();
            let Some(animal) = self.whose(one.animal_id, "sign", one.on) else { continue };
            (new.id, new.version, new.animal_id) = (self.ids.event(), 0, animal.id);
            let there = rules::was_there(&animal, "seen", new.on, self.today).map_err(|f| f.to_string());
            let fault = shape::sign(&new).and(there).err();
            if self.is_new(signs.take(&new), &place(&animal, "sign", new.on), fault) {
                self.out.change.put(&new);
                self.out.herd.signs.push(new);
            }
        }
        self.goals(file);
        self.frequencies(file);
        self.own_numbers(file);
        self.reminders(file);
        self.home(file);
    }

    fn meetings(&mut self, file: &Herd) {
        let mut known = Known::of(&self.before.meetings);
        for one in &file.meetings {
            let mut new: Meeting = one.clone();
            self.parents_of(&mut new.sire_id, &mut new.dam_id);
            (new.id, new.version) = (self.ids.event(), 0);
            let can_be = rules::meeting(&self.out.herd, &new, self.today).map_err(|f| f.to_string());
            let fault = shape::meeting(&mut new).and(can_be).err();
            if self.is_new(known.take(&new), &format!("meeting, {}", new.on.words()), fault) {
                self.out.change.put(&new);
                self.out.herd.meetings.push(new);
            }
        }
    }

    fn clutches(&mut self, file: &Herd) {
        for one in &file.clutches {
            let mut new = one.clone();
            self.parents_of(&mut new.sire_id, &mut new.dam_id);
            self.sires_of(&mut new);
            new.id = self.clutches.get(&one.id).copied().unwrap_or(one.id);
            let here = self.before.clutch(new.id);
            new.version = here.map_or(0, |c| c.version);
            let species = [new.dam_id, new.sire_id]
                .into_iter()
                .flatten()
                .find_map(|id| self.out.herd.animal(id))
                .and_then(|a| self.species(&a.species));
            let same = here == Some(&new);
            let fault = shape::clutch(&mut new).err().or_else(|| {
                let fault = species.and_then(|s| rules::clutch(&self.out.herd, s, &new, self.today).err());
                fault.map(|f| f.to_string())
            });
            let laid = new.laid.map_or_else(String::new, |w| format!(", laid {}", w.words()));
            let refused = fault.is_some() && !same;
            if self.is_new(same, &format!("clutch{laid}"), fault) {
                self.out.change.put(&new);
                self.out.herd.clutches.retain(|c| c.id != new.id);
                self.out.herd.clutches.push(new);
            } else if refused && here.is_none() {
                self.forget_clutch(new.id);
            }
        }
    }

    /// Young of a clutch that is not taken come without it.
    fn forget_clutch(&mut self, gone: ClutchId) {
        let of_it = |a: &Animal| a.clutch_id == Some(gone);
        let lists = [&mut self.out.herd.animals, &mut self.out.new, &mut self.out.changed];
        for animal in lists.into_iter().flatten().filter(|a| of_it(a)) {
            animal.clutch_id = None;
        }
        let mut change = Change::new("import", "");
        for animal in self.out.new.iter().chain(&self.out.changed) {
            change.put(animal);
        }
        change.rows.extend(self.out.change.rows.drain(..).filter(|r| r.kind != "animal"));
        self.out.change = change;
    }

    fn goals(&mut self, file: &Herd) {
        let mut known = Known::of(&self.before.goals);
        for one in &file.goals {
            let mut new = one.clone();
            (new.id, new.version) = (self.ids.event(), 0);
            let full = self.out.herd.goals.len() >= limits::GOALS;
            let fault = if self.species(&new.species).is_none() {
                Some(format!("its species \"{}\" is not in the catalogue of this program", new.species))
            } else if full {
                Some(Fault::TooManyGoals { n: self.out.herd.goals.len(), most: limits::GOALS }.to_string())
            } else {
                shape::genes(&new.genes).err()
            };
            if self.is_new(known.take(&new), "goal", fault) {
                self.out.change.put(&new);
                self.out.herd.goals.push(new);
            }
        }
    }

    /// What the herd says of a gene already stands.
    fn frequencies(&mut self, file: &Herd) {
        for one in &file.frequencies {
            let mut new = one.clone();
            (new.id, new.version) = (self.ids.event(), 0);
            let here = self.out.herd.frequencies.iter().find(|f| (&f.species, &f.gene) == (&new.species, &new.gene));
            let fault = match (here, self.species(&new.species)) {
                (Some(here), _) if here.share == new.share => None,
                (Some(_), _) => Some("another share is here already and stays".to_owned()),
                (None, None) => {
                    Some(format!("its species \"{}\" is not in the catalogue of this program", new.species))
                }
                (None, Some(_)) => shape::frequency(&new).err(),
            };
            if self.is_new(here.is_some_and(|h| h.share == one.share), &format!("carriers of {}", one.gene), fault) {
                self.out.change.put(&new);
                self.out.herd.frequencies.push(new);
            }
        }
    }

    /// A number that is here already stays.
    fn own_numbers(&mut self, file: &Herd) {
        for one in &file.own_numbers {
            let mut new = one.clone();
            (new.id, new.version) = (self.ids.event(), 0);
            new.clutch_id = one.clutch_id.and_then(|id| self.clutches.get(&id).copied());
            let key = |n: &OwnNumber| (n.species.clone(), n.clutch_id, n.item.clone());
            let here = self.out.herd.own_numbers.iter().find(|n| key(n) == key(&new));
            let same = here.is_some_and(|h| (h.usual, h.low, h.high) == (new.usual, new.low, new.high));
            let fault = match (here, self.species(&new.species)) {
                _ if one.clutch_id.is_some() && new.clutch_id.is_none() => {
                    Some("its clutch is not in the file or was left out".to_owned())
                }
                (Some(_), _) => Some("another number is here already and stays".to_owned()),
                (None, None) => {
                    Some(format!("its species \"{}\" is not in the catalogue of this program", new.species))
                }
                (None, Some(_)) => shape::own_number(&new).err(),
            };
            if self.is_new(same, &format!("own number, {}", one.item), fault) {
                self.out.change.put(&new);
                self.out.herd.own_numbers.push(new);
            }
        }
    }

    /// A rule is there already with the same words and clock, wherever it stands; what comes once also by its moment. What
    /// is over does not come again, and a rule goes on from today.
    fn reminders(&mut self, file: &Herd) {
        let key =
            |r: &Reminder| (r.what.clone(), r.zone.clone(), r.rule.clone(), r.rule.is_none().then_some(r.next_at));
        let mut here: HashMap<_, usize> = HashMap::new();
        for one in &self.before.reminders {
            *here.entry(key(one)).or_insert(0) += 1;
        }
        let mut n_open = self.before.open_reminders().len();
        for one in &file.reminders {
            let mut new = one.clone();
            (new.id, new.version, new.channel) = (self.ids.event(), 0, None);
            new.moments.clear();
            let shaped = shape::reminder(&mut new);
            let same = here.get_mut(&key(&new)).filter(|n| **n > 0).map(|n| *n -= 1).is_some();
            let fault = shaped.and_then(|zone| self.still_comes(&mut new, &zone)).and_then(|()| {
                let full = n_open >= MOST_OPEN;
                if full { Err(format!("{MOST_OPEN} reminders are the most")) } else { Ok(()) }
            });
            if self.is_new(same, &format!("reminder {}, {}", one.number, one.what), fault.err()) {
                let taken = |n: i32| self.out.herd.reminders.iter().any(|r| r.number == n);
                if new.number < 1 || taken(new.number) {
                    new.number = self.out.herd.reminders.iter().map(|r| r.number).max().unwrap_or(0) + 1;
                }
                n_open += 1;
                self.out.change.put(&new);
                self.out.herd.reminders.push(new);
            }
        }
    }

    /// Moves what is over on to where it comes next, seen from the beginning of today.
    fn still_comes(&self, new: &mut Reminder, zone: &TimeZone) -> Result<(), String> {
        let begins = moment(self.today, Time::midnight(), zone).ok_or("its day is beyond the calendar")?;
        new.put_off = new.put_off.filter(|at| *at >= begins);
        if new.next_at < begins {
            let next = new.rule.as_ref().and_then(|rule| rule.next(zone, begins));
            new.next_at = match (next, new.put_off) {
                (Some(next), _) => next,
                (None, Some(_)) => new.next_at,
                (None, None) => return Err("its moment is over".to_owned()),
            };
        }
        Ok(())
    }

    /// Where the herd's keeper is already stands.
    fn home(&mut self, file: &Herd) {
        let Some(one) = &file.home else { return };
        let mut new = one.clone();
        (new.id, new.version) = (self.ids.event(), 0);
        let here = self.out.herd.home.as_ref();
        let same = here.is_some_and(|h| (&h.zone, h.half) == (&new.zone, new.half));
        let unknown = new.zone.as_ref().filter(|zone| places::zone(zone).is_none());
        let fault = match (here, unknown) {
            (Some(_), _) => Some("another place is here already and stays".to_owned()),
            (None, Some(zone)) => Some(format!("\"{zone}\" is no time zone that this program knows")),
            (None, None) => None,
        };
        if self.is_new(same, "home", fault) {
            self.out.change.put(&new);
            self.out.herd.home = Some(new);
        }
    }

    /// The animal that a record is about; a record without one is named.
    fn whose(&mut self, id: AnimalId, what: &str, on: When) -> Option<Animal> {
        let found = self.animals.get(&id).and_then(|id| self.out.herd.animal(*id)).cloned();
        if found.is_none() {
            self.bad(format!("{what} of #{}, {}", id.0, on.words()), "its animal is not in the file or was left out");
        }
        found
    }

    /// Counts a record that is there already, names one with a fault; whether it is to be saved.
    fn is_new(&mut self, same: bool, place: &str, fault: Option<String>) -> bool {
        match fault {
            _ if same => self.out.n_same += 1,
            Some(fault) => self.bad(place, fault),
            None => {
                self.out.n_other += 1;
                return true;
            }
        }
        false
    }
}

fn is_same(here: &Animal, there: &Animal) -> bool {
    let key = |a: &Animal| a.name.as_ref().map(|n| n.key().to_owned());
    here.species == there.species && key(here) == key(there)
}

fn named(animal: &Animal) -> String {
    match &animal.name {
        Some(name) => format!("{name} ({})", animal.number),
        None => animal.number.to_string(),
    }
}

fn place(animal: &Animal, what: &str, on: When) -> String {
    format!("{what} of {}, {}", named(animal), on.words())
}

fn set(herd: &mut Herd, new: &Animal) {
    match herd.animals.iter_mut().find(|a| a.id == new.id) {
        Some(old) => *old = new.clone(),
        None => herd.animals.push(new.clone()),
    }
}

/// Records that are there already, each to be found once.
struct Known(HashMap<String, usize>);

impl Known {
    fn of<R: Record>(records: &[R]) -> Self {
        let mut known = HashMap::new();
        for record in records {
            *known.entry(content(record)).or_insert(0) += 1;
        }
        Self(known)
    }

    fn take<R: Record>(&mut self, record: &R) -> bool {
        match self.0.get_mut(&content(record)) {
            Some(n) if *n > 0 => {
                *n -= 1;
                true
            }
            _ => false,
        }
    }
}

/// A record without its number and version.
fn content<R: Record>(record: &R) -> String {
    let mut value = serde_json::to_value(record).unwrap_or_default();
    if let Value::Object(fields) = &mut value {
        fields.remove("id");
        fields.remove("version");
    }
    value.to_string()
}

impl Ids {
    /// A number for an animal that brings its own code along.
    fn event_of_animal(&mut self) -> AnimalId {
        let EventId(id) = self.event();
        AnimalId(id)
    }
}
