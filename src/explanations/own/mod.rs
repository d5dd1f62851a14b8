//! A community's own words: its wording of topics, topics of its own, short names for genes, and the cautions that it wants
//! said in any case. A keeper has the same.
//!
//! In: checked [`Wording`]s and [`Alias`]es with who wrote them and when (both handed in). Out: what is shown in place of
//! the built-in text, and messages with short names spelled out. Never: a database, a clock. Nothing here can change the
//! odds: a short name stands for words that the reader knows, and figures in a text stay those of the engine.

pub mod aliases; // short names for genes and combinations, checked against clashes
pub mod draft; // a text as it was typed, and what may not be in it
pub mod file; // the form in which it is handed over: one TOML file
pub mod history; // versions of one topic

use std::collections::{BTreeMap, BTreeSet};

use aliases::Alias;
use draft::Wording;
use history::{By, History, NoSuchVersion};

use crate::species::names::joined;

/// Topics that a place may write or change; more than all built-in ones.
pub const MOST_TOPICS: usize = 200;
/// Short names of one place.
pub const MOST_ALIASES: usize = 200;
/// Genes of one place whose cautions are said in any case.
pub const MOST_ALWAYS: usize = 100;

/// What was taken over from other words.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TakenOver {
    /// Ids of topics with another text than before.
    pub topics: Vec<String>,
    /// Short names that are new or mean something else.
    pub aliases: Vec<String>,
    /// Ids of genes whose cautions are always said from here on.
    pub cautions: Vec<String>,
    /// So many things were the same already.
    pub same: usize,
}

impl TakenOver {
    /// Whether nothing is another way than before.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.topics.is_empty() && self.aliases.is_empty() && self.cautions.is_empty()
    }
}

/// Why a place can take no more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("there are {most} {what} already, which is the most a place can have; take one away first")]
pub struct Full {
    /// Of what.
    pub what: &'static str,
    /// How many.
    pub most: usize,
}

/// The words of one place.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Own {
    topics: BTreeMap<String, History>,
    aliases: Vec<Alias>,
    /// Keys of species, with the ids of genes whose cautions are said in any case.
    always: BTreeMap<String, BTreeSet<String>>,
}

impl Own {
    /// The wording of a topic, if the place has one now.
    #[must_use]
    pub fn wording(&self, topic: &str) -> Option<&Wording> {
        self.topics.get(topic)?.current()
    }

    /// The versions of a topic.
    #[must_use]
    pub fn history(&self, topic: &str) -> Option<&History> {
        self.topics.get(topic)
    }

    /// Every topic that was ever written here, by id.
    pub fn topics(&self) -> impl Iterator<Item = (&str, &History)> {
        self.topics.iter().map(|(id, history)| (id.as_str(), history))
    }

    /// Puts a wording in the place of the one before; the number of the new version.
    ///
    /// # Errors
    /// [`Full`] when the place has [`MOST_TOPICS`] topics and this is another one.
    pub fn write(&mut self, topic: &str, wording: Wording, by: By) -> Result<u32, Full> {
        if self.topics.len() >= MOST_TOPICS && !self.topics.contains_key(topic) {
            return Err(Full { what: "topics", most: MOST_TOPICS });
        }
        Ok(self.topics.entry(topic.to_owned()).or_default().write(Some(wording), by))
    }

    /// Goes back to the built-in text, or takes a topic of one's own away; the versions stay.
    ///
    /// # Errors
    /// [`NoSuchVersion`] when the topic was never written here.
    pub fn withdraw(&mut self, topic: &str, by: By) -> Result<u32, NoSuchVersion> {
        let history = self.topics.get_mut(topic).ok_or(NoSuchVersion { number: 0 })?;
        Ok(history.write(None, by))
    }

    /// Brings an earlier version back, as a new one; its number.
    ///
    /// # Errors
    /// [`NoSuchVersion`] when there is no such version, or it is no longer kept.
    pub fn revert(&mut self, topic: &str, version: u32, by: By) -> Result<u32, NoSuchVersion> {
        self.topics.get_mut(topic).ok_or(NoSuchVersion { number: version })?.revert(version, by)
    }

    /// The short names.
    #[must_use]
    pub fn aliases(&self) -> &[Alias] {
        &self.aliases
    }

    /// Adds a checked short name, or changes what it stands for.
    ///
    /// # Errors
    /// [`Full`] when the place has [`MOST_ALIASES`] of them and this is another one.
    pub fn add_alias(&mut self, alias: Alias) -> Result<(), Full> {
        self.aliases.retain(|a| a.key() != alias.key());
        if self.aliases.len() >= MOST_ALIASES {
            return Err(Full { what: "short names", most: MOST_ALIASES });
        }
        self.aliases.push(alias);
        self.aliases.sort_by_key(Alias::key);
        Ok(())
    }

    /// Takes a short name away; whether there was one.
    pub fn remove_alias(&mut self, word: &str) -> bool {
        let key = joined(word);
        let before = self.aliases.len();
        self.aliases.retain(|a| a.key() != key);
        self.aliases.len() < before
    }

    /// The genes of a species, by id, whose cautions are said in any case and in full.
    pub fn always(&self, species: &str) -> impl Iterator<Item = &str> {
        self.always.get(species).into_iter().flatten().map(String::as_str)
    }

    /// Every gene whose cautions are said in any case: key of the species, id of the gene.
    pub fn all_always(&self) -> impl Iterator<Item = (&str, &str)> {
        self.always.iter().flat_map(|(species, genes)| genes.iter().map(move |gene| (species.as_str(), gene.as_str())))
    }

    /// From here on what is known against a gene is said in any case, in full and first.
    ///
    /// # Errors
    /// [`Full`] when there are [`MOST_ALWAYS`] and this is another one.
    pub fn say_always(&mut self, species: &str, gene: &str) -> Result<(), Full> {
        if self.all_always().count() >= MOST_ALWAYS && !self.always(species).any(|known| known == gene) {
            return Err(Full { what: "cautions that are always said", most: MOST_ALWAYS });
        }
        self.always.entry(species.to_owned()).or_default().insert(gene.to_owned());
        Ok(())
    }

    /// Cautions of a gene are said as everywhere again; whether that is another way than before.
    pub fn say_as_usual(&mut self, species: &str, gene: &str) -> bool {
        let changed = self.always.get_mut(species).is_some_and(|genes| genes.remove(gene));
        self.always.retain(|_, genes| !genes.is_empty());
        changed
    }

    /// Takes over what holds in other words: each text as a new version by who does it, short names, cautions. What is not
    /// in the other words stays. Says what changed.
    ///
    /// # Errors
    /// [`Full`]; what fitted before is taken over.
    pub fn take_over(&mut self, other: &Self, by: By) -> Result<TakenOver, Full> {
        let mut taken = TakenOver::default();
        for (id, wording) in other.topics().filter_map(|(id, history)| Some((id, history.current()?))) {
            if self.wording(id) == Some(wording) {
                taken.same += 1;
                continue;
            }
            self.write(id, wording.clone(), by)?;
            taken.topics.push(id.to_owned());
        }
        for alias in &other.aliases {
            if self.aliases.contains(alias) {
                taken.same += 1;
                continue;
            }
            self.add_alias(alias.clone())?;
            taken.aliases.push(alias.word().to_owned());
        }
        for (species, gene) in other.all_always() {
            if self.always(species).any(|known| known == gene) {
                taken.same += 1;
                continue;
            }
            self.say_always(species, gene)?;
            taken.cautions.push(gene.to_owned());
        }
        Ok(taken)
    }

    /// The topic to whose title or questions a message is word for word, with or without "explain" before it.
    #[must_use]
    pub fn asked_for(&self, message: &str) -> Option<&str> {
        let key = joined(message);
        let bare = key.strip_prefix("explain").unwrap_or(&key);
        if bare.is_empty() {
            return None;
        }
        let leads = |wording: &Wording| {
            wording.title.iter().chain(wording.questions()).any(|q| [bare, &key].contains(&joined(q).as_str()))
        };
        self.topics().find(|(_, history)| history.current().is_some_and(leads)).map(|(id, _)| id)
    }

    /// A message with its short names spelled out, and those that were there.
    #[must_use]
    pub fn spelled_out(&self, message: &str) -> (String, Vec<&Alias>) {
        aliases::spelled_out(&self.aliases, message)
    }
}
