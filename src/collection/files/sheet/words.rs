//! The words of sheets, from `config/words/sheets.toml`.

use std::collections::HashMap;
use std::sync::OnceLock;

use serde::Deserialize;

use super::{Role, Unit};
use crate::reading::flat::Flat;
use crate::reading::records::kinds::Status;

/// The lists as they are written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Words {
    /// What a heading says.
    pub(super) headings: HashMap<Role, Vec<String>>,
    /// Units in headings.
    pub(super) units: HashMap<Unit, Vec<String>>,
    /// Sexes.
    pub(super) sexes: Sexes,
    /// What an animal is doing.
    pub(super) statuses: HashMap<Status, Vec<String>>,
    /// Rows that are no animals.
    pub(super) skipped: Skipped,
}

/// Words for the sexes.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Sexes {
    pub(super) male: Vec<String>,
    pub(super) female: Vec<String>,
    pub(super) unknown: Vec<String>,
}

/// Rows that are no animals.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Skipped {
    pub(super) totals: Vec<String>,
}

impl Words {
    pub(super) fn get() -> Option<&'static Self> {
        static WORDS: OnceLock<Option<Words>> = OnceLock::new();
        // A broken word file of our own is found by the tests; without it no sheet is read.
        WORDS.get_or_init(|| toml::from_str(include_str!("../../../../config/words/sheets.toml")).ok()).as_ref()
    }
}

/// Small letters without accents, words by one blank; signs inside a word stay.
pub(super) fn plain(cell: &str) -> String {
    let flat = Flat::new(cell);
    flat.text().split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_word_file_is_sound() {
        let words: Words = toml::from_str(include_str!("../../../../config/words/sheets.toml")).expect("it parses");
        let mut seen: Vec<&String> = words.headings.values().flatten().collect();
        seen.sort();
        let n = seen.len();
        seen.dedup();
        assert_eq!(n, seen.len(), "a heading stands under two roles");
    }
}
