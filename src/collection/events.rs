//! What happens to animals: weights, meals, signs, meetings, clutches; goals; how common genes are elsewhere;
//! and care numbers of the keeper's own.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::animal::{AnimalId, Belief, ClutchId, Parent, Sex, parent};
use crate::engine::odds::Odds;
use crate::reading::dates::When;
use crate::reading::records::kinds::{MeetingKind, SignKind};

/// The number of any other record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EventId(pub(super) i64);

/// An animal on the scales.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Weight {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// Who.
    pub animal_id: AnimalId,
    /// When.
    pub on: Date,
    /// Grams.
    pub grams: i32,
}

/// A meal taken or refused.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Meal {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// Who.
    pub animal_id: AnimalId,
    /// When.
    pub on: Date,
    /// Eaten; else refused.
    pub taken: bool,
    /// What was offered.
    pub prey: Option<String>,
}

/// A sign seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sign {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// Who.
    pub animal_id: AnimalId,
    /// When.
    pub on: When,
    /// What.
    pub kind: SignKind,
    /// Of follicles, in millimetres.
    pub size_mm: Option<i16>,
}

/// A male and a female together. At least one of them is kept here.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Meeting {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// When.
    pub on: When,
    /// What.
    pub kind: MeetingKind,
    /// The male, if kept here.
    pub sire_id: Option<AnimalId>,
    /// The male elsewhere, in words.
    pub sire_out: Option<String>,
    /// The female, if kept here.
    pub dam_id: Option<AnimalId>,
    /// The female elsewhere, in words.
    pub dam_out: Option<String>,
}

/// Hatched young of one look.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Young {
    /// Males.
    pub males: u8,
    /// Females.
    pub females: u8,
    /// Not sexed.
    pub unsexed: u8,
    /// What they show; empty for normal-looking.
    pub genes: Vec<Belief>,
    /// Their look is not told yet: it changes with age, or nobody looked.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub untold: bool,
}

impl Young {
    /// How many.
    #[must_use]
    pub fn n(&self) -> u32 {
        u32::from(self.males) + u32::from(self.females) + u32::from(self.unsexed)
    }
}

/// A male kept here that may be a father.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PossibleSire {
    /// Who.
    pub id: AnimalId,
    /// How likely he is; those of one clutch sum to 1.
    #[serde(with = "super::animal::chance")]
    pub chance: Odds,
}

/// Who may have fathered a clutch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PossibleSires {
    /// The males, as told.
    pub of: Vec<PossibleSire>,
    /// Each young has its own father; else one of them fathered all.
    pub mixed: bool,
}

/// Eggs of one laying, or a litter, and what hatched.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Clutch {
    /// Its record.
    pub id: ClutchId,
    /// Counts its changes.
    pub version: i32,
    /// The keeper's own code: "23-04".
    pub code: Option<String>,
    /// The father, if kept here.
    pub sire_id: Option<AnimalId>,
    /// The father elsewhere, in words.
    pub sire_out: Option<String>,
    /// The males that may be the father; then there is no other.
    #[serde(default)]
    pub sires: Option<PossibleSires>,
    /// The mother, if kept here.
    pub dam_id: Option<AnimalId>,
    /// The mother elsewhere, in words.
    pub dam_out: Option<String>,
    /// When it was laid or born.
    pub laid: Option<When>,
    /// Good eggs.
    pub eggs: Option<i16>,
    /// Infertile eggs.
    pub slugs: Option<i16>,
    /// Eggs that may be bad.
    pub doubtful: Option<i16>,
    /// Incubation, in tenths of a degree Celsius.
    pub warmth: Option<i16>,
    /// When the first egg was cut.
    #[serde(default)]
    pub pipped: Option<When>,
    /// When it hatched.
    pub hatched: Option<When>,
    /// Eggs or young lost after laying.
    pub lost: Option<i16>,
    /// The young by look.
    pub young: Vec<Young>,
    /// Anything else.
    pub notes: Option<String>,
}

impl PossibleSires {
    /// The same males under other numbers; nothing where one of them has none.
    #[must_use]
    pub fn renumbered(&self, number: impl Fn(AnimalId) -> Option<AnimalId>) -> Option<Self> {
        let of = self.of.iter().map(|sire| Some(PossibleSire { id: number(sire.id)?, chance: sire.chance.clone() }));
        Some(Self { of: of.collect::<Option<_>>()?, mixed: self.mixed })
    }
}

impl Clutch {
    /// The father.
    #[must_use]
    pub fn sire(&self) -> Parent<'_> {
        parent(self.sire_id, self.sire_out.as_deref())
    }

    /// The mother.
    #[must_use]
    pub fn dam(&self) -> Parent<'_> {
        parent(self.dam_id, self.dam_out.as_deref())
    }

    /// Those of them whose look is told.
    #[must_use]
    pub fn n_told(&self) -> u32 {
        self.young.iter().filter(|y| !y.untold).map(Young::n).sum()
    }

    /// Young that hatched, in all.
    #[must_use]
    pub fn n_young(&self) -> u32 {
        self.young.iter().map(Young::n).sum()
    }
}

/// How common a gene is among normal-looking animals of unknown parents, as far as their keeper tells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CarrierFrequency {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// The species' id in the catalogue.
    pub species: String,
    /// The gene's id there, a recessive.
    pub gene: String,
    /// The share of them that carry it, above 0 and below 1.
    #[serde(with = "super::animal::chance")]
    pub share: Odds,
}

/// A care number of the keeper's own, in place of the catalogue's default.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OwnNumber {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// The species' id in the catalogue.
    pub species: String,
    /// The clutch that it is of; else it goes for the whole species.
    #[serde(default)]
    pub clutch_id: Option<ClutchId>,
    /// The item of the care numbers: `incubation_days`.
    pub item: String,
    /// The usual value, in tenths of the item's unit.
    pub usual: i16,
    /// The least, in tenths; not told, the default's distance is kept.
    #[serde(default)]
    pub low: Option<i16>,
    /// The greatest, in tenths.
    #[serde(default)]
    pub high: Option<i16>,
    /// Of so many own records it is the median; else the keeper told it.
    #[serde(default)]
    pub records: Option<i16>,
}

/// An animal that the keeper works towards.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Goal {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// The species' id in the catalogue.
    pub species: String,
    /// What it shall have.
    pub genes: Vec<Belief>,
    /// Its sex, where that matters.
    pub sex: Sex,
    /// What its keeper calls it.
    #[serde(default)]
    pub name: Option<String>,
    /// Its place among the keeper's goals, 1 is the first.
    #[serde(default)]
    pub rank: Option<i16>,
    /// Within what it is to be reached.
    #[serde(default)]
    pub limits: Option<Limits>,
}

/// Within what a goal is to be reached; what is not said does not limit.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Limits {
    /// The last year.
    pub by_year: Option<i16>,
    /// Money for purchases, in hundredths.
    pub budget_cents: Option<i64>,
    /// Clutches a season.
    pub clutches: Option<u8>,
    /// Animals there is room for.
    pub room: Option<u16>,
    /// Genes that no animal of the project shall have, by their ids.
    pub without: Vec<String>,
    /// The closest kinship of a pair, as a fraction such as "1/8"; pairs at or above it are left out.
    pub kinship: Option<String>,
    /// Purchases that are allowed: none, one, any number.
    pub purchases: Option<u8>,
    /// A male and a female of it are wanted.
    pub pair: bool,
}
