//! A stranger's sheet: which column holds what, and each row as a new animal in the reader's terms.
//!
//! In: a table, answers to what was asked about its columns. Out: [`Columns`], then [`Rows`], or something to [`Ask`].
//! A word of a cell is read as it would be in a message, so gene words, dates and weights have one meaning everywhere.
//! Never: a record. What becomes of the animals is the business of `conversation`, as for a list that is pasted.
//! Start at [`columns()`], then [`rows()`].

mod cells; // what one cell says
mod columns; // headings, units, the order of dates
mod merged; // cells that stand for the ones below them
mod rows; // one row, one animal
mod words; // config/words/sheets.toml

pub use columns::{Column, Columns, columns};
pub use rows::{Rows, With, rows};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each is what its name says, of one animal
pub enum Role {
    Name,
    Code,
    Species,
    Sex,
    Genes,
    Hets,
    PossibleHets,
    Hatched,
    Weight,
    Weighed,
    Price,
    Sire,
    Dam,
    Parents,
    Origin,
    Acquired,
    Status,
    Notes,
    Tags,
}

impl Role {
    /// Whether it holds days.
    fn is_date(self) -> bool {
        matches!(self, Self::Hatched | Self::Weighed | Self::Acquired)
    }

    /// What it holds, for people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Code => "code",
            Self::Species => "species",
            Self::Sex => "sex",
            Self::Genes => "genes",
            Self::Hets => "hets",
            Self::PossibleHets => "possible hets",
            Self::Hatched => "hatched",
            Self::Weight => "weight",
            Self::Weighed => "day of the weight",
            Self::Price => "price",
            Self::Sire => "father",
            Self::Dam => "mother",
            Self::Parents => "parents",
            Self::Origin => "origin",
            Self::Acquired => "acquired",
            Self::Status => "status",
            Self::Notes => "notes",
            Self::Tags => "tags",
        }
    }
}

/// A unit of weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each is the unit of its name
pub enum Unit {
    G,
    Kg,
    Lb,
    Oz,
}

impl Unit {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Self; 4] = [Self::G, Self::Kg, Self::Lb, Self::Oz];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::G => "gram",
            Self::Kg => "kilo",
            Self::Lb => "pound",
            Self::Oz => "ounce",
        }
    }

    /// Its sign.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Self::G => "g",
            Self::Kg => "kg",
            Self::Lb => "lb",
            Self::Oz => "oz",
        }
    }
}

/// Which number of a date like 3/4/2021 is the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DayOrder {
    /// 3 April.
    DayFirst,
    /// 4 March.
    MonthFirst,
}

/// Something that a column leaves open.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Ask {
    /// Which number of its dates is the day; with a date of it.
    Order(String, String),
    /// The unit of its weights; with a weight of it.
    Unit(String, String),
    /// Whether the empty cells below filled ones are merged with them, under these headings.
    Merged(Vec<String>),
}
