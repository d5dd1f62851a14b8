//! Short names of a place: "in our group DG means desert ghost", checked against everything that the word means already.
//!
//! In: a word, what it stands for, a species. Out: an [`Alias`], or every clash. A short name is spelled out before a
//! message is read, so the reader and the odds know nothing of it.

use thiserror::Error;

use crate::explanations::Spoken;
use crate::explanations::things::{self, Names};
use crate::reading::requests::Intent;
use crate::reading::vocabulary::is_english;
use crate::reading::words::{self, Kind};
use crate::reading::{Context, Reader};
use crate::species::names::joined;
use crate::species::{Catalogue, Species, SpeciesId};

/// Characters of a short name.
pub const MOST_WORD: usize = 32;
/// Words of a short name.
const MOST_WORDS: usize = 4;
/// Characters of what it stands for.
pub const MOST_MEANS: usize = 80;

/// A checked short name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alias {
    word: String,
    means: String,
    species: String,
}

impl Alias {
    /// The word as it was typed.
    #[must_use]
    pub fn word(&self) -> &str {
        &self.word
    }

    /// What it stands for, in words that the reader knows.
    #[must_use]
    pub fn means(&self) -> &str {
        &self.means
    }

    /// The key of its species: `ball_python`.
    #[must_use]
    pub fn species(&self) -> &str {
        &self.species
    }

    /// The form in which it is compared.
    #[must_use]
    pub fn key(&self) -> String {
        joined(&self.word)
    }
}

/// Why a word cannot be a short name.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Clash {
    /// Nothing, or signs only.
    #[error("a short name is made of letters and digits, at least two of them")]
    Empty,
    /// Too long.
    #[error("a short name has at most {MOST_WORD} characters and {MOST_WORDS} words")]
    TooLong,
    /// Signs that mean something in a pairing, or that nobody sees.
    #[error("{0:?} cannot be part of a short name; use letters, digits and blanks")]
    Sign(char),
    /// A number alone.
    #[error("a number is no name: {0:?} could be a weight or a share")]
    Number(String),
    /// A name of a catalogue.
    #[error("{word:?} is {name} in {species} already")]
    Name {
        /// The word.
        word: String,
        /// The gene or combination.
        name: String,
        /// The species.
        species: String,
    },
    /// A species.
    #[error("{0:?} is the name of a species")]
    Species(String),
    /// A word that steers the reading of a pairing.
    #[error("{0:?} has a meaning in every pairing (such as het, x, male); take another word")]
    Steers(String),
    /// An everyday word.
    #[error("{0:?} is an everyday word: talk that holds it would be read as a gene")]
    Everyday(String),
    /// A topic.
    #[error("{word:?} leads to the topic {title:?}")]
    Topic {
        /// The word.
        word: String,
        /// The title.
        title: String,
    },
    /// What it stands for is not read as genes, all of it.
    #[error("I cannot read {0:?} as genes of {1}; write them as in a pairing, such as \"desert ghost\"")]
    NotRead(String, String),
}

/// What a word is checked against.
#[derive(Debug, Clone, Copy)]
pub struct Against<'a> {
    /// The catalogue.
    pub catalogue: &'a Catalogue,
    /// Its reader.
    pub reader: &'a Reader,
    /// The topics.
    pub spoken: &'a Spoken,
}

impl Against<'_> {
    /// Checks a short name for genes of a species.
    ///
    /// # Errors
    /// Every [`Clash`].
    pub fn check(&self, word: &str, means: &str, species: SpeciesId) -> Result<Alias, Vec<Clash>> {
        let (word, means) = (word.trim(), means.trim());
        let key = joined(word);
        let mut clashes = Vec::new();
        if let Some(sign) = word.chars().find(|c| !c.is_alphanumeric() && !matches!(c, ' ' | '-' | '\'')) {
            clashes.push(Clash::Sign(sign));
        }
        if key.chars().count() < 2 {
            clashes.push(Clash::Empty);
        }
        let form = words::words(word);
        if word.chars().count() > MOST_WORD || form.words.len() > MOST_WORDS {
            clashes.push(Clash::TooLong);
        }
        if form.words.iter().any(|w| !matches!(w.kind, Kind::Letters | Kind::Number(_) | Kind::Sign(_)))
            || !form.words.iter().any(|w| w.kind == Kind::Letters)
        {
            clashes.push(Clash::Number(word.to_owned()));
        }
        if let Some((id, thing)) = Names::new(self.catalogue).exactly(&key).and_then(|t| t.first().copied()) {
            let of = self.catalogue.get(id);
            let (name, species) = (things::name(of, thing).to_owned(), of.name().to_owned());
            clashes.push(Clash::Name { word: word.to_owned(), name, species });
        }
        if self.catalogue.by_name(word).is_some() {
            clashes.push(Clash::Species(word.to_owned()));
        }
        if self.reader.role(&key).is_some() || self.reader.follow_up(&key).is_some() {
            clashes.push(Clash::Steers(word.to_owned()));
        } else if is_english(&key) {
            clashes.push(Clash::Everyday(word.to_owned()));
        }
        let leads = |t: &&super::super::topic::Topic| t.aliases.iter().chain([&t.title]).any(|a| joined(a) == key);
        if let Some(topic) = self.spoken.topics().find(leads) {
            clashes.push(Clash::Topic { word: word.to_owned(), title: topic.title.clone() });
        }
        let of = self.catalogue.get(species);
        if !self.is_read(means, of) {
            clashes.push(Clash::NotRead(means.chars().take(MOST_MEANS).collect(), of.name().to_owned()));
        }
        if !clashes.is_empty() {
            return Err(clashes);
        }
        Ok(Alias { word: word.to_owned(), means: means.to_owned(), species: of.key().to_owned() })
    }

    /// Whether these words are one animal with genes, nothing asked and nothing left over.
    fn is_read(&self, means: &str, species: &Species) -> bool {
        if means.is_empty() || means.chars().count() > MOST_MEANS || means.contains(['\n', '?']) {
            return false;
        }
        let context = Context { species: Some(species.id), ..Context::default() };
        let read = self.reader.read(self.catalogue, &format!("{means} x normal"), context);
        let [animal, other] = &read.pairing.parents[..] else { return false };
        read.intent == Intent::Odds
            && read.species == Some(species.id)
            && read.questions.is_empty()
            && read.unread.is_empty()
            && read.compare.is_none()
            && !animal.genes.is_empty()
            && other.genes.is_empty()
    }
}

/// A message with its short names spelled out, the longest first, and those that were there.
pub(super) fn spelled_out<'a>(aliases: &'a [Alias], message: &str) -> (String, Vec<&'a Alias>) {
    if aliases.is_empty() {
        return (message.to_owned(), Vec::new());
    }
    let text = words::words(message);
    let mut out = String::with_capacity(message.len());
    let mut used: Vec<&Alias> = Vec::new();
    let (mut at, mut copied) = (0, 0);
    while at < text.words.len() {
        let longest = (MOST_WORDS + 1).min(text.words.len() - at);
        let found = (1..=longest).rev().find_map(|n| {
            let run = &text.words[at..at + n];
            if run.iter().any(|w| matches!(w.kind, Kind::Sign(c) if c != '-')) {
                return None;
            }
            let place = run.first()?.place.start..run.last()?.place.end;
            let key = joined(&text.clean[place.clone()]);
            let alias = aliases.iter().find(|a| a.key() == key)?;
            Some((n, place, alias))
        });
        if let Some((n, place, alias)) = found {
            out.push_str(&text.clean[copied..place.start]);
            out.push_str(&alias.means);
            copied = place.end;
            if !used.contains(&alias) {
                used.push(alias);
            }
            at += n;
        } else {
            at += 1;
        }
    }
    if used.is_empty() {
        return (message.to_owned(), used);
    }
    out.push_str(&text.clean[copied..]);
    (out, used)
}
