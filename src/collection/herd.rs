//! Everything of one keeper, and finding in it. Pure: loaded whole, so that every question is answered from one state.

use std::collections::HashMap;

use jiff::civil::Date;
use serde::Deserialize;

use super::animal::{Animal, AnimalId, Number};
use super::events::{CarrierFrequency, Clutch, Goal, Meal, Meeting, OwnNumber, Sign, Weight};
use super::name;
use super::place::Home;
use super::reminder::Reminder;
use super::{animal::ClutchId, change::Ids};

/// Everything of one keeper, by the order in which it was recorded.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
pub struct Herd {
    /// The short code of the next animal.
    pub next_number: i32,
    /// All animals, gone ones included.
    pub animals: Vec<Animal>,
    /// All weights.
    pub weights: Vec<Weight>,
    /// All meals.
    pub meals: Vec<Meal>,
    /// All signs.
    pub signs: Vec<Sign>,
    /// All meetings.
    pub meetings: Vec<Meeting>,
    /// All clutches.
    pub clutches: Vec<Clutch>,
    /// All goals.
    pub goals: Vec<Goal>,
    /// How common genes are among animals of unknown parents; those that are not named are carried by none.
    pub frequencies: Vec<CarrierFrequency>,
    /// Care numbers of the keeper's own.
    pub own_numbers: Vec<OwnNumber>,
    /// Where the keeper is.
    pub home: Option<Home>,
    /// What the keeper wants to hear again; those that were told lately, too.
    pub reminders: Vec<Reminder>,
}

/// What a name stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// One animal, by its name or code.
    One(AnimalId),
    /// One animal whose name is spelt a little differently.
    Near(AnimalId),
    /// Several of that name.
    Several(Vec<AnimalId>),
    /// Nobody.
    Nobody,
}

impl Herd {
    /// A herd without animals.
    #[must_use]
    pub fn empty() -> Self {
        Self { next_number: 1, ..Self::default() }
    }

    /// Numbers for new records of this herd.
    #[must_use]
    pub fn ids(&self) -> Ids {
        Ids::new(self.next_number)
    }

    /// One animal.
    #[must_use]
    pub fn animal(&self, id: AnimalId) -> Option<&Animal> {
        self.animals.iter().find(|a| a.id == id)
    }

    /// One clutch.
    #[must_use]
    pub fn clutch(&self, id: ClutchId) -> Option<&Clutch> {
        self.clutches.iter().find(|c| c.id == id)
    }

    /// Animals that are still here.
    pub fn here(&self) -> impl Iterator<Item = &Animal> {
        self.animals.iter().filter(|a| a.status.is_here())
    }

    /// The animal of a short code.
    #[must_use]
    pub fn numbered(&self, number: Number) -> Option<&Animal> {
        self.animals.iter().find(|a| a.number == number)
    }

    /// Who is meant by a name as typed, code and possessive included: "Biscuit", "biscuits'", "#14".
    ///
    /// Animals that are gone are found only where nobody here has the name.
    #[must_use]
    pub fn find(&self, typed: &str) -> Found {
        let typed = typed.trim().trim_start_matches("the ");
        if let Some(number) = typed.strip_prefix('#').and_then(|n| n.trim().parse().ok()) {
            return self.numbered(Number(number)).map_or(Found::Nobody, |a| Found::One(a.id));
        }
        let key = name::key(typed.trim_end_matches("'s").trim_end_matches("\u{2019}s"));
        if key.is_empty() {
            return Found::Nobody;
        }
        let exact = |a: &&Animal| a.name.as_ref().is_some_and(|n| n.key() == key);
        let mut ids: Vec<AnimalId> = self.here().filter(exact).map(|a| a.id).collect();
        if ids.is_empty() {
            ids = self.animals.iter().filter(exact).map(|a| a.id).collect();
        }
        match ids[..] {
            [one] => return Found::One(one),
            [] => {}
            _ => return Found::Several(ids),
        }
        let ids = self.near(&key);
        match ids[..] {
            [] => Found::Nobody,
            [one] => Found::Near(one),
            _ => Found::Several(ids),
        }
    }

    /// Animals here whose name is nearest to a key, within the distance that a slip of the pen makes.
    fn near(&self, key: &str) -> Vec<AnimalId> {
        // One slip in a short name would make another name of it ("Pip" and "Pia").
        let most = match key.chars().count() {
            0..=3 => return Vec::new(),
            4..=7 => 1,
            _ => 2,
        };
        let mut best: Vec<AnimalId> = Vec::new();
        let mut least = most + 1;
        for animal in self.here() {
            let Some(name) = &animal.name else { continue };
            // A name that is longer or shorter by more is further away than that.
            let bytes = if name.key().is_ascii() && key.is_ascii() { 1 } else { 4 };
            if name.key().len().abs_diff(key.len()) > most * bytes {
                continue;
            }
            let distance = strsim::osa_distance(name.key(), key);
            if distance < least {
                least = distance;
                best.clear();
            }
            if distance == least && distance <= most {
                best.push(animal.id);
            }
        }
        best
    }

    /// Animals of one name, for telling a new one apart.
    pub fn namesakes<'a>(&'a self, name: &'a name::Name) -> impl Iterator<Item = &'a Animal> {
        let key = name.key();
        self.here().filter(move |a| a.name.as_ref().is_some_and(|n| n.key() == key))
    }

    /// The last weight of each animal.
    #[must_use]
    pub fn last_weights(&self) -> HashMap<AnimalId, &Weight> {
        let mut last: HashMap<AnimalId, &Weight> = HashMap::new();
        for weight in &self.weights {
            let newer = last.get(&weight.animal_id).is_none_or(|old| (old.on, old.id) <= (weight.on, weight.id));
            if newer {
                last.insert(weight.animal_id, weight);
            }
        }
        last
    }

    /// The weights of one animal, oldest first.
    #[must_use]
    pub fn weights_of(&self, id: AnimalId) -> Vec<&Weight> {
        let mut weights: Vec<&Weight> = self.weights.iter().filter(|w| w.animal_id == id).collect();
        weights.sort_by_key(|w| (w.on, w.id));
        weights
    }

    /// Events of a year.
    #[must_use]
    pub fn events_in(&self, year: i16) -> usize {
        let of = |date: Date| usize::from(date.year() == year);
        self.weights.iter().map(|w| of(w.on)).sum::<usize>()
            + self.meals.iter().map(|m| of(m.on)).sum::<usize>()
            + self.signs.iter().map(|s| of(s.on.first())).sum::<usize>()
            + self.meetings.iter().map(|m| of(m.on.first())).sum::<usize>()
            + self.clutches.iter().filter_map(|c| c.laid).map(|w| of(w.first())).sum::<usize>()
    }

    /// Whether nothing at all is kept.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.n_records() == 0
    }

    /// How many records there are in all.
    #[must_use]
    pub fn n_records(&self) -> usize {
        self.animals.len()
            + self.weights.len()
            + self.meals.len()
            + self.signs.len()
            + self.meetings.len()
            + self.clutches.len()
            + self.goals.len()
            + self.frequencies.len()
            + self.own_numbers.len()
            + usize::from(self.home.is_some())
            + self.reminders.len()
    }
}
