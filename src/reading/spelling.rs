//! Slips of the pen: which known word a misspelt one stands for.
//!
//! In: one unknown joined word. Out: the nearest names within the slips its length allows, never a guess between two genes.
//! Short words get none, distance grows with length, ties are all returned. An ordinary English word is the caller's to keep out.

use std::collections::HashMap;

use super::lexicon::{Lexicon, Meaning, Sense};
use super::vocabulary::{Role, Vocabulary};
use crate::species::SpeciesId;

/// What a slip can be healed to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Known {
    /// A name of a catalogue, by its place in [`Spelling`].
    Name(u32),
    /// A word of the vocabulary.
    Word(Role),
    /// The name of a species.
    Species(SpeciesId),
}

/// The words that slips are compared with, by length.
#[derive(Debug, Default)]
pub(super) struct Spelling {
    by_length: HashMap<usize, Vec<Entry>>,
    names: Vec<(Box<str>, Vec<Sense>)>,
}

/// A word that slips are compared with.
#[derive(Debug)]
struct Entry {
    word: Box<str>,
    letters: u32,
    known: Known,
}

impl Entry {
    fn new(word: &str, known: Known) -> Self {
        Self { word: word.into(), letters: letters(word), known }
    }
}

/// The set of letters of a word, a bit each. One slip changes at most two of them, so most words are ruled out by
/// counting bits, long before their distance is worked out.
fn letters(word: &str) -> u32 {
    word.bytes().fold(0, |set, b| set | 1 << (if b.is_ascii_lowercase() { b - b'a' } else { 26 + b % 6 }))
}

/// A slip that was healed.
#[derive(Debug, Clone)]
pub(super) struct Healed<'a> {
    /// Slips between the two.
    pub distance: usize,
    /// What is meant.
    pub known: Known,
    /// Its senses, for a name.
    pub senses: &'a [Sense],
    /// The right spelling, joined.
    pub word: &'a str,
}

/// Slips allowed in a word of so many letters.
#[must_use]
pub(super) fn allowed(letters: usize) -> usize {
    match letters {
        0..=3 => 0,
        4..=6 => 1,
        _ => 2,
    }
}

impl Spelling {
    /// The words of a lexicon and a vocabulary.
    #[must_use]
    pub(super) fn new(lexicon: &Lexicon, vocabulary: &Vocabulary) -> Self {
        let mut all = Self::default();
        for (name, senses) in lexicon.names() {
            // Listed slips are exact names already; a slip of a slip is nobody's word. Tags and short forms are too short to guess.
            let senses: Vec<Sense> =
                senses.iter().copied().filter(|s| !s.slip && !matches!(s.meaning, Meaning::Tag(_))).collect();
            if name.chars().count() < 4 || senses.is_empty() {
                continue;
            }
            let place = u32::try_from(all.names.len()).unwrap_or(u32::MAX);
            all.by_length.entry(name.len()).or_default().push(Entry::new(name, Known::Name(place)));
            all.names.push((name.into(), senses));
        }
        for (word, role) in vocabulary.healable() {
            all.by_length.entry(word.len()).or_default().push(Entry::new(word, Known::Word(role)));
        }
        for (word, id) in lexicon.species_names().filter(|(word, _)| word.len() >= 6) {
            all.by_length.entry(word.len()).or_default().push(Entry::new(word, Known::Species(id)));
        }
        for words in all.by_length.values_mut() {
            words.sort_by(|a, b| a.word.cmp(&b.word));
        }
        all
    }

    /// Everything at the least distance from `word`, within the slips allowed; names of `species` only.
    #[must_use]
    pub(super) fn nearest(&self, word: &str, species: Option<SpeciesId>) -> Vec<Healed<'_>> {
        self.within(word, species, allowed(word.chars().count()))
    }

    /// At most three names to offer for an unknown word, nearest first, then by name.
    #[must_use]
    pub(super) fn offers(&self, word: &str, species: Option<SpeciesId>) -> Vec<Healed<'_>> {
        let letters = word.chars().count();
        if letters < 3 {
            return Vec::new();
        }
        let mut found = self.collect(word, species, if letters < 5 { 1 } else { 2 });
        found.retain(|h| matches!(h.known, Known::Name(_)));
        found.sort_by(|a, b| a.distance.cmp(&b.distance).then(a.word.cmp(b.word)));
        found.truncate(3);
        found
    }

    fn within(&self, word: &str, species: Option<SpeciesId>, slips: usize) -> Vec<Healed<'_>> {
        let mut found = self.collect(word, species, slips);
        if let Some(least) = found.iter().map(|h| h.distance).min() {
            found.retain(|h| h.distance == least);
        }
        found
    }

    fn collect(&self, word: &str, species: Option<SpeciesId>, slips: usize) -> Vec<Healed<'_>> {
        let mut found = Vec::new();
        if slips == 0 {
            return found;
        }
        let first = word.as_bytes().first();
        let own = letters(word);
        let most = u32::try_from(2 * slips).unwrap_or(u32::MAX);
        for length in word.len().saturating_sub(slips)..=word.len() + slips {
            for Entry { word: known, letters, known: what } in
                self.by_length.get(&length).map_or(&[][..], Vec::as_slice)
            {
                if (letters ^ own).count_ones() > most {
                    continue;
                }
                // The longer word sets how many slips are forgiven, and one slip more is not forgiven to a wrong first letter.
                let limit = slips.min(allowed(known.chars().count()).max(1));
                let distance = strsim::osa_distance(word, known);
                if distance == 0 || distance > limit || (distance > 1 && first != known.as_bytes().first()) {
                    continue;
                }
                let senses = match what {
                    Known::Name(place) => {
                        let senses = &self.names[*place as usize].1;
                        if species.is_some_and(|s| senses.iter().all(|x| x.species != s)) {
                            continue;
                        }
                        senses.as_slice()
                    }
                    Known::Word(_) | Known::Species(_) => &[],
                };
                found.push(Healed { distance, known: *what, senses, word: known });
            }
        }
        found
    }
}
