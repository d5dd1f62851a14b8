//! The names of a catalogue in a question: genes, named pairs, combinations, families of lines, complexes.
//!
//! In: a question, a catalogue, the species if one is known. Out: what it names, longest names first come first served, and
//! the words that are left. Not here: what a member means in a pairing (`reading`); here every name counts, also one that
//! is an everyday word, because somebody asks what it means.

use std::collections::HashMap;

use super::language::Language;
use super::search::{form, slips};
use crate::reading::vocabulary::is_english;
use crate::reading::words::{self, Kind};
use crate::species::names::joined;
use crate::species::show::Entry;
use crate::species::{Candidate, Catalogue, GeneId, Species, SpeciesId};

/// The longest name, in words.
const MOST_WORDS: usize = 5;

/// An entry of a species.
pub type Thing = (SpeciesId, Entry);

/// The name of an entry.
#[must_use]
pub fn name(species: &Species, entry: Entry) -> &str {
    let file = species.file();
    let name = match entry {
        Entry::Gene(gene) => Some(species.gene(gene).entry.name.as_str()),
        Entry::Combo(n) => file.combo.get(n).map(|c| c.name.as_str()),
        Entry::Pair(n) => file.allele_pair.get(n).map(|p| p.name.as_str()),
        Entry::Family(n) => file.family.get(n).map(|f| f.name.as_str()),
        Entry::Complex(n) => file.complex.get(n).and_then(|c| c.name.split(" (").next()),
        Entry::Word(n) => file.ambiguous.get(n).and_then(|w| w.words.first()).map(String::as_str),
    };
    name.unwrap_or_default()
}

/// What a question names.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Named {
    /// For each name in the order of the question: what it may be. Several where species or readings differ.
    pub names: Vec<Vec<Thing>>,
    /// The words that are no names and no fillers, as a search compares them.
    pub left: Vec<String>,
    /// The question without its names.
    pub rest: String,
    /// The species that the question names.
    pub species: Option<SpeciesId>,
}

/// Every name of a catalogue.
#[derive(Debug)]
pub struct Names {
    by_name: HashMap<String, Vec<Thing>>,
}

impl Names {
    /// The names of these species.
    #[must_use]
    pub fn new(catalogue: &Catalogue) -> Self {
        let mut all = Self { by_name: HashMap::new() };
        for species in catalogue.species() {
            all.add_species(species);
        }
        all
    }

    fn add(&mut self, name: &str, species: SpeciesId, thing: Entry) {
        let key = joined(name);
        if key.is_empty() {
            return;
        }
        let things = self.by_name.entry(key).or_default();
        if !things.contains(&(species, thing)) {
            things.push((species, thing));
        }
    }

    fn add_species(&mut self, species: &Species) {
        let (id, file) = (species.id, species.file());
        for (n, gene) in (0..).zip(species.genes()) {
            let entry = &gene.entry;
            let labels = entry.one_copy.iter().chain(&entry.two_copies);
            let names = entry.aliases.iter().chain(&entry.one_copy_aliases).chain(&entry.two_copies_aliases);
            let family = file.family.iter().find(|f| Some(&f.id) == entry.family.as_ref());
            for tag in &entry.line_tags {
                for word in family.map_or(&[][..], |f| &f.words) {
                    self.add(&format!("{tag} {word}"), id, Entry::Gene(GeneId(n)));
                    self.add(&format!("{word} {tag}"), id, Entry::Gene(GeneId(n)));
                }
                // A part of another tag ("line" of "line bred") is too common a word to stand alone.
                if !entry.line_tags.iter().any(|t| t != tag && t.split(' ').any(|w| w == tag)) {
                    self.add(tag, id, Entry::Gene(GeneId(n)));
                }
            }
            for name in [&entry.name, &entry.id].into_iter().chain(labels).chain(names).chain(&entry.misspellings) {
                // "het clown" is a label, but a question about it is one about hets.
                if !(gene.is_recessive() && entry.one_copy.as_ref() == Some(name)) {
                    self.add(name, id, Entry::Gene(GeneId(n)));
                }
            }
        }
        for (n, combo) in file.combo.iter().enumerate() {
            for name in [&combo.name].into_iter().chain(&combo.aliases).chain(&combo.misspellings) {
                self.add(name, id, Entry::Combo(n));
            }
        }
        for (n, pair) in file.allele_pair.iter().enumerate() {
            for name in [&pair.name].into_iter().chain(&pair.aliases).chain(&pair.misspellings) {
                self.add(name, id, Entry::Pair(n));
            }
        }
        for (n, family) in file.family.iter().enumerate() {
            for name in [&family.name].into_iter().chain(&family.words) {
                self.add(name, id, Entry::Family(n));
            }
        }
        for n in 0..file.complex.len() {
            self.add(name(species, Entry::Complex(n)), id, Entry::Complex(n));
        }
        for word in &file.ambiguous {
            for candidate in species.candidates(word) {
                let thing = match candidate {
                    Candidate::Gene { gene, .. } => Entry::Gene(gene),
                    Candidate::Combo(n) => Entry::Combo(n),
                    Candidate::Pair(n) => Entry::Pair(n),
                    Candidate::Term(_) => continue,
                };
                for name in &word.words {
                    self.add(name, id, thing);
                }
            }
        }
    }

    /// What a question names. `species` is that of the place or the talk; a name it does not have is looked for elsewhere.
    #[must_use]
    pub fn of(&self, language: &Language, catalogue: &Catalogue, question: &str, species: Option<SpeciesId>) -> Named {
        let text = words::words(question);
        let words: Vec<&words::Word> = text.words.iter().filter(|w| !matches!(w.kind, Kind::Sign(_))).collect();
        let mut named = Named::default();
        let mut rest = Vec::new();
        let mut at = 0;
        while at < words.len() {
            let joined_from =
                |at: usize, n: usize| words[at..at + n].iter().map(|w| w.form.as_str()).collect::<String>();
            let run = |n| joined_from(at, n);
            let longest = MOST_WORDS.min(words.len() - at);
            if let Some((n, id)) = (1..=longest).rev().find_map(|n| Some((n, species_named(catalogue, &run(n))?))) {
                named.species = named.species.or(Some(id));
                at += n;
                continue;
            }
            let found = (1..=longest).rev().find_map(|n| {
                // One filler is no name: "a", "does", and "may" in a catalogue of one's own.
                (n > 1 || !language.is_filler(&run(1)))
                    .then(|| self.exactly(&run(n)))
                    .flatten()
                    .map(|f| (n, f.to_vec()))
            });
            // "a super" gives way to the name in "a super mojave".
            let inside = |n: usize| (n..longest).any(|more| self.exactly(&joined_from(at + 1, more)).is_some());
            if let Some((n, things)) = found.filter(|(n, _)| !language.is_filler(&run(1)) || !inside(*n)) {
                named.names.push(things);
                at += n;
                continue;
            }
            if let Some(word) = form(language, words[at]).filter(|w| !language.is_filler(w)) {
                named.left.push(word);
            }
            rest.push(words[at].form.as_str());
            at += 1;
        }
        named.rest = rest.join(" ");
        let wanted = named.species.or(species);
        for things in &mut named.names {
            if things.iter().any(|t| Some(t.0) == wanted) {
                things.retain(|t| Some(t.0) == wanted);
            }
        }
        // Names that one species has together are of that species: "ghost and desert ghost".
        if named.names.len() > 1 && wanted.is_none() {
            let all = |id: SpeciesId| named.names.iter().all(|things| things.iter().any(|t| t.0 == id));
            let shared: Vec<SpeciesId> = catalogue.species().iter().map(|s| s.id).filter(|id| all(*id)).collect();
            if let [only] = shared[..] {
                named.names.iter_mut().for_each(|things| things.retain(|t| t.0 == only));
            }
        }
        named
    }

    /// What goes by this joined name, or by its singular.
    #[must_use]
    pub fn exactly(&self, name: &str) -> Option<&[Thing]> {
        let singular = name.strip_suffix('s').filter(|s| s.len() > 2);
        self.by_name.get(name).or_else(|| self.by_name.get(singular?)).map(Vec::as_slice)
    }

    /// What the words of a question may be slips of: the nearest names, at most three.
    #[must_use]
    pub fn nearly(&self, language: &Language, question: &str) -> Vec<Thing> {
        let text = words::words(question);
        let words: Vec<&str> = text.words.iter().filter(|w| w.kind == Kind::Letters).map(|w| w.form.as_str()).collect();
        let mut near: Vec<(usize, &str, &[Thing])> = Vec::new();
        for n in 1..=3 {
            for run in words.windows(n) {
                let run_joined = run.concat();
                let slips = slips(&run_joined);
                if slips == 0 || run.iter().any(|w| language.is_filler(w)) || n == 1 && is_english(&run_joined) {
                    continue;
                }
                for (name, things) in &self.by_name {
                    if name.len().abs_diff(run_joined.len()) > slips {
                        continue;
                    }
                    let distance = strsim::osa_distance(name, &run_joined);
                    if distance <= slips && (distance < 2 || name.as_bytes().first() == run_joined.as_bytes().first()) {
                        near.push((distance, name, things));
                    }
                }
            }
        }
        near.sort_unstable_by_key(|n| (n.0, n.1));
        let least = near.first().map_or(0, |n| n.0);
        let mut found: Vec<Thing> = Vec::new();
        for thing in near.iter().take_while(|n| n.0 == least).flat_map(|n| n.2) {
            if !found.contains(thing) {
                found.push(*thing);
            }
        }
        found.truncate(3);
        found
    }
}

/// A species by its name, or by the plural of it.
fn species_named(catalogue: &Catalogue, word: &str) -> Option<SpeciesId> {
    let singular = word.strip_suffix('s').filter(|s| s.len() > 2);
    catalogue.by_name(word).or_else(|| catalogue.by_name(singular?))
}
