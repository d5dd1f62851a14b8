//! One animal of a collection.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::name::Name;
use crate::engine::odds::{Odds, parse};
use crate::reading::dates::When;
use crate::reading::records::kinds::{Sexed, Status};
use crate::reading::requests::SexSaid;

/// The number of a keeper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct KeeperId(pub(crate) i64);

/// The number of an animal's record. What people see is its [`Number`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct AnimalId(pub(super) i64);

impl AnimalId {
    /// As it is written in the id of a button.
    #[must_use]
    pub fn bits(self) -> u64 {
        self.0.cast_unsigned()
    }

    /// The way back from [`AnimalId::bits`]; whether it is an animal of the keeper shows when it is looked for.
    #[must_use]
    pub fn of_bits(bits: u64) -> Self {
        Self(bits.cast_signed())
    }
}

/// The number of a clutch's record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ClutchId(pub(super) i64);

/// The short code of an animal among those of its keeper, never given twice: "#14".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Number(pub i32);

impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{}", self.0)
    }
}

/// Male, female or not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sex {
    /// Male.
    Male,
    /// Female.
    Female,
    /// Not known.
    #[default]
    Unknown,
}

impl From<SexSaid> for Sex {
    fn from(said: SexSaid) -> Self {
        match said {
            SexSaid::Male => Self::Male,
            SexSaid::Female => Self::Female,
            SexSaid::Unknown => Self::Unknown,
        }
    }
}

impl From<Sex> for SexSaid {
    fn from(sex: Sex) -> Self {
        match sex {
            Sex::Male => Self::Male,
            Sex::Female => Self::Female,
            Sex::Unknown => Self::Unknown,
        }
    }
}

/// Where a belief comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Worked out from the parents and the look.
    Inferred,
    /// The keeper says so.
    Stated,
    /// Shown by its own young or parents.
    Proven,
}

/// Copies of one gene with their chance. Two of one gene are alternatives, as in the reader's animals.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Belief {
    /// The gene's id in its species' catalogue.
    pub gene: String,
    /// Copies, 1 or 2.
    pub copies: u8,
    /// Exact chance of these copies.
    #[serde(with = "chance")]
    pub chance: Odds,
    /// Where it comes from.
    pub basis: Basis,
    /// On which sex chromosome a male's copy sits, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<SideKept>,
}

/// See [`crate::reading::requests::Side`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SideKept {
    /// From his mother.
    X,
    /// From his father.
    Y,
}

pub(super) mod chance {
    //! Chances as they are written: "1" or "2/3".
    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    use super::{Odds, parse};

    pub(in crate::collection) fn serialize<S: Serializer>(odds: &Odds, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&odds.to_string())
    }

    pub(in crate::collection) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Odds, D::Error> {
        let text = String::deserialize(from)?;
        parse(&text).ok_or_else(|| D::Error::custom(format_args!("{text:?} is no chance")))
    }
}

/// A parent: an animal of the collection, or one outside as told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parent<'a> {
    /// In the collection.
    Kept(AnimalId),
    /// Outside, in words.
    Outside(&'a str),
    /// Not known.
    Unknown,
}

/// One animal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Animal {
    /// Its record.
    pub id: AnimalId,
    /// Counts its changes, from 1; 0 before it is saved.
    pub version: i32,
    /// Its short code.
    pub number: Number,
    /// Its name, if it has one.
    pub name: Option<Name>,
    /// The species' id in the catalogue.
    pub species: String,
    /// Its sex.
    pub sex: Sex,
    /// How sure the sex is.
    pub sexed: Sexed,
    /// What is believed of its genes; loci that are not named are wild.
    pub genes: Vec<Belief>,
    /// When it hatched or was born.
    pub hatched: Option<When>,
    /// Where it comes from, in words.
    pub origin: Option<String>,
    /// Price paid, in hundredths.
    pub price_cents: Option<i64>,
    /// The price's currency, three letters.
    pub currency: Option<String>,
    /// Its father, if kept here.
    pub sire_id: Option<AnimalId>,
    /// Its father elsewhere, in words.
    pub sire_out: Option<String>,
    /// Its mother, if kept here.
    pub dam_id: Option<AnimalId>,
    /// Its mother elsewhere, in words.
    pub dam_out: Option<String>,
    /// The clutch it hatched from, if recorded here.
    pub clutch_id: Option<ClutchId>,
    /// What it is doing.
    pub status: Status,
    /// Since when.
    pub status_on: Option<When>,
    /// Words to group by.
    pub tags: Vec<String>,
    /// Anything else.
    pub notes: Option<String>,
}

impl Animal {
    /// A new animal with nothing known but its species.
    #[must_use]
    pub fn new(id: AnimalId, number: Number, species: String) -> Self {
        Self {
            id,
            version: 0,
            number,
            name: None,
            species,
            sex: Sex::Unknown,
            sexed: Sexed::Stated,
            genes: Vec::new(),
            hatched: None,
            origin: None,
            price_cents: None,
            currency: None,
            sire_id: None,
            sire_out: None,
            dam_id: None,
            dam_out: None,
            clutch_id: None,
            status: Status::Active,
            status_on: None,
            tags: Vec::new(),
            notes: None,
        }
    }

    /// Nobody, with these genes: for words about genes alone.
    #[must_use]
    pub fn new_like(genes: &[Belief]) -> Self {
        let mut animal = Self::new(AnimalId(0), Number(0), String::new());
        animal.genes = genes.to_vec();
        animal
    }

    /// Its father.
    #[must_use]
    pub fn sire(&self) -> Parent<'_> {
        parent(self.sire_id, self.sire_out.as_deref())
    }

    /// Its mother.
    #[must_use]
    pub fn dam(&self) -> Parent<'_> {
        parent(self.dam_id, self.dam_out.as_deref())
    }

    /// What it is called: its name, else its code.
    #[must_use]
    pub fn called(&self) -> String {
        self.name.as_ref().map_or_else(|| self.number.to_string(), ToString::to_string)
    }
}

pub(super) fn parent(kept: Option<AnimalId>, outside: Option<&str>) -> Parent<'_> {
    match (kept, outside) {
        (Some(id), _) => Parent::Kept(id),
        (None, Some(words)) => Parent::Outside(words),
        (None, None) => Parent::Unknown,
    }
}
