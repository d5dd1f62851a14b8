//! Rows to be saved together: a [`Change`] happens whole or not at all, and can be taken back.

use serde::Serialize;
use serde_json::Value;

use super::animal::{Animal, AnimalId, ClutchId, Number};
use super::events::{CarrierFrequency, Clutch, EventId, Goal, Meal, Meeting, OwnNumber, Sign, Weight};
use super::place::Home;
use super::reminder::Reminder;

/// One kind of record, as the database knows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// [`Animal`].
    Animal,
    /// [`Weight`].
    Weight,
    /// [`Meal`].
    Meal,
    /// [`Sign`].
    Sign,
    /// [`Meeting`].
    Meeting,
    /// [`Clutch`].
    Clutch,
    /// [`Goal`].
    Goal,
    /// [`CarrierFrequency`].
    CarrierFrequency,
    /// [`OwnNumber`].
    OwnNumber,
    /// [`Home`].
    Home,
    /// [`Reminder`].
    Reminder,
}

impl Kind {
    /// Its table.
    #[must_use]
    pub fn table(self) -> &'static str {
        match self {
            Self::Animal => "animal",
            Self::Weight => "weight",
            Self::Meal => "meal",
            Self::Sign => "sign",
            Self::Meeting => "meeting",
            Self::Clutch => "clutch",
            Self::Goal => "goal",
            Self::CarrierFrequency => "carrier_frequency",
            Self::OwnNumber => "own_number",
            Self::Home => "home",
            Self::Reminder => "reminder",
        }
    }
}

/// A record that can be saved.
pub trait Record: Serialize {
    /// Its kind.
    const KIND: Kind;
    /// Its number.
    fn id(&self) -> i64;
    /// The version that was seen; 0 for a new one.
    fn version(&self) -> i32;
}

macro_rules! records {
    ($($type:ident),*) => {$(
        impl Record for $type {
            const KIND: Kind = Kind::$type;
            fn id(&self) -> i64 {
                self.id.0
            }
            fn version(&self) -> i32 {
                self.version
            }
        }
    )*};
}
records!(Animal, Weight, Meal, Sign, Meeting, Clutch, Goal, CarrierFrequency, OwnNumber, Home, Reminder);

/// One row of a change.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Row {
    pub(super) kind: &'static str,
    pub(super) id: i64,
    pub(super) seen: Option<i32>,
    #[serde(rename = "row")]
    pub(super) shall: Option<Value>,
}

/// Rows to be saved together, with the sentence that tells of them.
#[derive(Debug, Clone, Default)]
pub struct Change {
    pub(super) kind: &'static str,
    pub(super) said: String,
    pub(super) rows: Vec<Row>,
    /// The next short code is this one or a later one, also where the animals of the codes before are gone.
    pub(super) next_number: Option<i32>,
}

impl Change {
    /// A change without rows. `kind` is a word for counting ("add", "weight"); `said` our own sentence about it, in the
    /// past: "added Biscuit (#3)".
    #[must_use]
    pub fn new(kind: &'static str, said: impl Into<String>) -> Self {
        Self { kind, said: said.into(), rows: Vec::new(), next_number: None }
    }

    /// Adds a record, or changes the one that was seen.
    pub fn put<R: Record>(&mut self, record: &R) {
        let seen = (record.version() > 0).then(|| record.version());
        // These types are plain rows: they always have a JSON form.
        let row = serde_json::to_value(record).unwrap_or_default();
        self.rows.push(Row { kind: R::KIND.table(), id: record.id(), seen, shall: Some(row) });
    }

    /// Lets a record go.
    pub fn drop<R: Record>(&mut self, record: &R) {
        self.rows.push(Row { kind: R::KIND.table(), id: record.id(), seen: Some(record.version()), shall: None });
    }

    /// Short codes go on from here, or later: codes of animals that are gone are never given again. Nothing to take back.
    pub(super) fn number_from(&mut self, next: i32) {
        self.next_number = Some(next);
    }

    /// The same change under another sentence.
    #[must_use]
    pub fn saying(mut self, said: impl Into<String>) -> Self {
        self.said = said.into();
        self
    }

    /// Our own sentence about it.
    #[must_use]
    pub fn said(&self) -> &str {
        &self.said
    }

    /// Whether there is nothing to save.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// How many rows it has.
    #[must_use]
    pub fn n_rows(&self) -> usize {
        self.rows.len()
    }
}

/// Numbers for records that are not saved yet: below 0, so that records of one change can name each other. The store
/// gives them their lasting numbers.
#[derive(Debug, Clone)]
pub struct Ids {
    last: i64,
    number: i32,
}

impl Ids {
    pub(super) fn new(number: i32) -> Self {
        Self { last: 0, number }
    }

    fn next(&mut self) -> i64 {
        self.last -= 1;
        self.last
    }

    /// For an animal, with its short code.
    pub fn animal(&mut self) -> (AnimalId, Number) {
        let number = Number(self.number);
        self.number += 1;
        (AnimalId(self.next()), number)
    }

    /// For a clutch.
    pub fn clutch(&mut self) -> ClutchId {
        ClutchId(self.next())
    }

    /// For anything else.
    pub fn event(&mut self) -> EventId {
        EventId(self.next())
    }

    /// For anything else, the n-th from here.
    #[must_use]
    pub fn nth_event(mut self, n: usize) -> EventId {
        for _ in 1..n {
            self.next();
        }
        self.event()
    }
}
