//! A [`Reply`] is data: what was understood, rows of odds, cautions, notes. How it looks is drawn here, never in a front.
//!
//! Invariant: cautions come first, assumptions and unread words last; nothing here knows a gene or a database.

use std::fmt::Write as _;

/// One kind of young.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// "1/4".
    pub fraction: String,
    /// "25 %".
    pub percent: String,
    /// The look and what it carries.
    pub kind: String,
    /// Chance of at least one in the clutch, where eggs were named.
    pub in_clutch: Option<String>,
}

/// An answer.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reply {
    /// Harm to animals or people, said before anything else.
    pub cautions: Vec<String>,
    /// How the pairing was understood, in one line.
    pub understood: String,
    /// The answer to the very thing that was asked.
    pub answer: Vec<String>,
    /// Kinds of young.
    pub rows: Vec<Row>,
    /// "and 37 rarer kinds, together 1/16".
    pub rest: Option<String>,
    /// What else to know.
    pub notes: Vec<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// Words that were not understood.
    pub unread: Vec<String>,
}

impl Reply {
    /// One sentence.
    #[must_use]
    pub fn sentence(text: impl Into<String>) -> Self {
        Self { answer: vec![text.into()], ..Self::default() }
    }

    /// Plain text, one thing a line.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        for caution in &self.cautions {
            let _ = writeln!(out, "Caution: {caution}");
        }
        if !self.understood.is_empty() {
            let _ = writeln!(out, "{}", self.understood);
        }
        for line in &self.answer {
            let _ = writeln!(out, "{line}");
        }
        let wide = |f: fn(&Row) -> &str| self.rows.iter().map(|r| f(r).chars().count()).max().unwrap_or(0);
        let (fraction, percent) = (wide(|r| &r.fraction), wide(|r| &r.percent));
        for row in &self.rows {
            let _ = write!(out, "  {:>fraction$}  {:>percent$}  {}", row.fraction, row.percent, row.kind);
            if let Some(clutch) = &row.in_clutch {
                let _ = write!(out, " ({clutch})");
            }
            out.push('\n');
        }
        if let Some(rest) = &self.rest {
            let _ = writeln!(out, "  {rest}");
        }
        for note in &self.notes {
            let _ = writeln!(out, "{note}");
        }
        if !self.assumed.is_empty() {
            let _ = writeln!(out, "I took it that {}.", self.assumed.join("; "));
        }
        if !self.unread.is_empty() {
            let _ = writeln!(out, "Words I did not understand: {}.", self.unread.join(", "));
        }
        out.trim_end().to_owned()
    }
}
