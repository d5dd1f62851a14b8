//! A [`Reply`] is data: what was understood, rows of odds, cautions, notes. How it looks as text is drawn in `text`.
//!
//! In: sentences and figures that are ready to be read. Out: a reply that a front maps to its medium.
//! Never: a gene, a database, a chat. Invariant: cautions come first, assumptions and unread words last; after
//! [`Reply::fitted`] the plain text is within its length and no number is cut. Start at [`Reply`].

mod clean; // words of a member, safe to repeat
mod fit; // what is left out of a reply that is too long
pub mod picture; // the same as a picture
mod text; // plain text, wrapped and coloured for a terminal

pub use text::Page;

/// Characters of an ordinary reply: what a phone shows without much scrolling.
pub const SHORT: usize = 900;
/// Characters of a reply to somebody who asked for more.
pub const LONG: usize = 1_600;

/// What a reply is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Kind {
    /// What was asked.
    #[default]
    Answer,
    /// Something has to be asked back first.
    Question,
    /// It cannot be answered here, or was not understood.
    Refusal,
}

impl Kind {
    /// Its name for other programs.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Kind::Answer => "answer",
            Kind::Question => "question",
            Kind::Refusal => "refusal",
        }
    }
}

/// One kind of young.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// "1/4"; empty in a heading.
    pub fraction: String,
    /// "25 %"; empty in a heading.
    pub percent: String,
    /// The look and what it carries.
    pub kind: String,
    /// Chance of at least one in the clutch, where eggs were named.
    pub in_clutch: Option<String>,
}

impl Row {
    /// A line over the rows that follow, or on those left out before.
    #[must_use]
    pub fn heading(kind: impl Into<String>) -> Row {
        Row { fraction: String::new(), percent: String::new(), kind: kind.into(), in_clutch: None }
    }

    /// Whether it holds no odds.
    #[must_use]
    pub fn is_heading(&self) -> bool {
        self.fraction.is_empty()
    }
}

/// A square of gametes: one parent's down the side, the other's across the top.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Grid {
    /// Over each column.
    pub top: Vec<String>,
    /// Each line: what stands at its side, and its cells, one a column.
    pub lines: Vec<(String, Vec<String>)>,
}

/// A reminder that can be set with one step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// How it is set in words, for whoever types.
    pub says: String,
    /// What stands on a button for it.
    pub label: String,
    /// Whom it is about, by the number of the record.
    pub about: u64,
    /// Days before the most likely day of what is due.
    pub days_before: u32,
}

/// An answer.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reply {
    /// What it is.
    pub kind: Kind,
    /// Harm to animals or people, said before anything else.
    pub cautions: Vec<String>,
    /// How the pairing was understood, in one line.
    pub understood: String,
    /// The answer to the very thing that was asked.
    pub answer: Vec<String>,
    /// Readings to choose from, numbered from 1 where they are drawn.
    pub choices: Vec<String>,
    /// A square, where one was asked for.
    pub grid: Option<Grid>,
    /// Kinds of young.
    pub rows: Vec<Row>,
    /// "and 37 rarer kinds, together 1/16".
    pub rest: Option<String>,
    /// What else to know, the most important first.
    pub notes: Vec<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// Words that were not understood.
    pub unread: Vec<String>,
    /// The same as a picture, where one was asked for.
    pub drawing: Option<Box<picture::Drawing>>,
    /// A moment that the answer names, for fronts that show it by each reader's own clock.
    pub moment: Option<jiff::Timestamp>,
    /// A reminder of what the answer tells.
    pub offer: Option<Offer>,
    /// Addresses in the answer that whoever wrote it was allowed to lead to; all others are plain text.
    pub links: Vec<String>,
}

impl Reply {
    /// One sentence.
    #[must_use]
    pub fn sentence(text: impl Into<String>) -> Self {
        Self { answer: vec![text.into()], ..Self::default() }
    }

    /// One sentence on what cannot be done.
    #[must_use]
    pub fn refusal(text: impl Into<String>) -> Self {
        Self { kind: Kind::Refusal, ..Self::sentence(text) }
    }

    /// Plain text, one thing a line.
    #[must_use]
    pub fn text(&self) -> String {
        self.draw(Page::default())
    }

    /// How many characters the plain text has.
    #[must_use]
    pub fn length(&self) -> usize {
        self.text().chars().count()
    }
}
