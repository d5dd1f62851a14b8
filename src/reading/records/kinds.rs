//! Kinds of things that happen to animals, one word each; the collection keeps them under the same words.

use serde::{Deserialize, Serialize};

/// What an animal is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Kept, of any age.
    #[default]
    Active,
    /// Not grown yet.
    Growing,
    /// Not bred this season.
    Resting,
    /// To be sold.
    ForSale,
    /// Sold or given away.
    Sold,
    /// Dead.
    Died,
}

impl Status {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::Active, Self::Growing, Self::Resting, Self::ForSale, Self::Sold, Self::Died];

    /// Whether the animal is still with its keeper.
    #[must_use]
    pub fn is_here(self) -> bool {
        !matches!(self, Self::Sold | Self::Died)
    }

    /// Its name in files.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Self::Active => "active",
            Self::Growing => "growing",
            Self::Resting => "resting",
            Self::ForSale => "for_sale",
            Self::Sold => "sold",
            Self::Died => "died",
        }
    }
}

/// How sure a sex is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sexed {
    /// By size, tail or feeling.
    Guessed,
    /// The keeper says so.
    #[default]
    Stated,
    /// Popped, probed or seen otherwise.
    Seen,
    /// It has laid or sired.
    Proven,
}

/// A sign of a female that will lay or give birth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SignKind {
    /// Seeking the cool end, eating big or not at all.
    Building,
    /// Follicles felt or seen, with their size where told.
    Follicles,
    /// Ovulation.
    Ovulation,
    /// The shed after ovulation.
    PrelayShed,
    /// Carrying eggs or young.
    Gravid,
}

/// What a copy of everything is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FormSaid {
    /// A table for each kind of record.
    #[default]
    Tables,
    /// One sheet of the animals.
    Sheet,
    /// One JSON object.
    Json,
}

/// What two animals did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MeetingKind {
    /// Put together.
    Introduced,
    /// Seen mating.
    Lock,
    /// Taken apart.
    Separated,
}

/// An event of a season, in its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stage {
    /// Put together or seen mating.
    Paired,
    /// Ovulation.
    Ovulation,
    /// Seen to carry.
    Gravid,
    /// The shed before laying, or after ovulation.
    Shed,
    /// Eggs, or birth.
    Laying,
    /// The first egg is cut.
    Pip,
    /// The young leave the eggs.
    Hatch,
    /// The young shed for the first time.
    FirstShed,
    /// The young are offered their first meal.
    FirstMeal,
}
