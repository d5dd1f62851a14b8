//! The shape of a file: TOML, tables, keys, types and closed lists, texts without stray blanks, and sources that exist.

use std::collections::HashSet;

use serde::Deserialize;
use toml::Spanned;
use toml::de::{DeTable, DeValue, Deserializer, Error, ValueDeserializer};

use super::{Problem, label, line};
use crate::species::care::Care;
use crate::species::entries::{AllelePair, Ambiguous, Citation, Combo, Complex, Family, File, Gene, Meta, PairWarning};

/// Sources that are not citations.
const PLAIN: [&str; 2] = ["common practice, no source", "memory"];

/// The tables of a file that are written as `[[table]]`.
const LISTS: [&str; 8] = ["citation", "complex", "family", "gene", "allele_pair", "pair_warning", "combo", "ambiguous"];

/// Reads one file, with the mistakes that do not keep it from being read: stray blanks and sources.
///
/// # Errors
/// Every mistake of shape; of each entry only the first that keeps it from being read.
pub(super) fn read(name: &str, text: &str) -> Result<(File, Vec<Problem>), Vec<Problem>> {
    let (tree, broken) = DeTable::parse_recoverable(text);
    let mut shape = Shape { name, text, problems: Vec::new() };
    if !broken.is_empty() {
        for error in broken {
            shape.error("file".to_owned(), &error);
        }
        return Err(shape.problems);
    }
    shape.blanks_and_sources(tree.get_ref());
    match File::deserialize(Deserializer::from(tree)) {
        Ok(file) => Ok((file, shape.problems)),
        Err(first) => {
            let known = shape.problems.len();
            shape.each_entry(DeTable::parse_recoverable(text).0.into_inner());
            if shape.problems.len() == known {
                shape.error("file".to_owned(), &first);
            }
            Err(shape.problems)
        }
    }
}

struct Shape<'a> {
    name: &'a str,
    text: &'a str,
    problems: Vec<Problem>,
}

impl Shape<'_> {
    fn say(&mut self, place: String, at: Option<usize>, what: String) {
        let line = at.and_then(|at| line(self.text, at));
        self.problems.push(Problem { file: self.name.to_owned(), line, place, what });
    }

    fn error(&mut self, place: String, error: &Error) {
        self.say(place, error.span().map(|s| s.start), error.message().to_owned());
    }

    /// Reads the entries one by one, so that a mistake in one does not hide those of the next.
    fn each_entry(&mut self, tree: DeTable<'_>) {
        if !tree.contains_key("meta") {
            self.say("meta".to_owned(), None, "table [meta] is missing".to_owned());
        }
        for (key, value) in tree {
            match key.get_ref().as_ref() {
                "meta" => self.one::<Meta>("meta".to_owned(), value),
                "care" => self.one::<Care>("care".to_owned(), value),
                "citation" => self.list::<Citation>("citation", value),
                "complex" => self.list::<Complex>("complex", value),
                "family" => self.list::<Family>("family", value),
                "gene" => self.list::<Gene>("gene", value),
                "allele_pair" => self.list::<AllelePair>("allele_pair", value),
                "pair_warning" => self.list::<PairWarning>("pair_warning", value),
                "combo" => self.list::<Combo>("combo", value),
                "ambiguous" => self.list::<Ambiguous>("ambiguous", value),
                other => {
                    let allowed = LISTS.join("]], [[");
                    let what = format!("unknown table; allowed: [meta], [care], [[{allowed}]]");
                    self.say(other.to_owned(), Some(key.span().start), what);
                }
            }
        }
    }

    fn list<'de, T: Deserialize<'de>>(&mut self, table: &str, value: Spanned<DeValue<'de>>) {
        let at = value.span().start;
        let DeValue::Array(entries) = value.into_inner() else {
            self.say(table.to_owned(), Some(at), format!("must be written as [[{table}]]"));
            return;
        };
        for (n, entry) in entries.into_iter().enumerate() {
            self.one::<T>(label(table, n, Some(&entry)), entry);
        }
    }

    fn one<'de, T: Deserialize<'de>>(&mut self, place: String, value: Spanned<DeValue<'de>>) {
        if let Err(error) = T::deserialize(ValueDeserializer::from(value)) {
            self.error(place, &error);
        }
    }

    fn blanks_and_sources(&mut self, tree: &DeTable<'_>) {
        let mut walk = Walk { citations: HashSet::new(), used: HashSet::new(), found: Vec::new() };
        let citations = tree.get("citation").and_then(|c| c.get_ref().as_array());
        let ids = citations.into_iter().flatten().filter_map(|c| c.get_ref().get("id")?.get_ref().as_str());
        walk.citations.extend(ids);
        for (key, value) in tree {
            let table = key.get_ref().as_ref();
            if let Some(entries) = value.get_ref().as_array() {
                for (n, entry) in entries.iter().enumerate() {
                    walk.value("", entry);
                    self.tell(&mut walk, || label(table, n, Some(entry)));
                }
            } else {
                walk.value("", value);
                self.tell(&mut walk, || table.to_owned());
            }
        }
        for (n, entry) in citations.into_iter().flatten().enumerate() {
            let id = entry.get_ref().get("id").and_then(|v| v.get_ref().as_str()).unwrap_or_default();
            // Most are used by a source; only the others are looked for in the notes.
            if !id.is_empty() && !walk.used.contains(id) && !is_mentioned(tree, id) {
                let what = "is not used by any entry".to_owned();
                self.say(label("citation", n, Some(entry)), Some(entry.span().start), what);
            }
        }
    }

    fn tell(&mut self, walk: &mut Walk<'_>, place: impl Fn() -> String) {
        for (at, what) in walk.found.drain(..) {
            self.say(place(), Some(at), what);
        }
    }
}

struct Walk<'a> {
    citations: HashSet<&'a str>,
    used: HashSet<&'a str>,
    found: Vec<(usize, String)>,
}

impl<'a> Walk<'a> {
    fn value(&mut self, key: &str, value: &'a Spanned<DeValue<'a>>) {
        match value.get_ref() {
            DeValue::String(text) if text.trim().len() != text.len() || text.is_empty() => {
                self.found.push((value.span().start, format!("key '{key}' is empty or has stray blanks")));
            }
            DeValue::Array(items) => {
                if is_source(key) && items.is_empty() {
                    self.found.push((value.span().start, format!("'{key}' is empty; {}", self.allowed())));
                }
                for item in items {
                    match item.get_ref().as_str() {
                        Some(name) if is_source(key) => self.source(key, name, item.span().start),
                        _ => self.value(key, item),
                    }
                }
            }
            DeValue::Table(table) => {
                for (key, value) in table {
                    self.value(key.get_ref(), value);
                }
            }
            _ => {}
        }
    }

    fn source(&mut self, key: &str, name: &'a str, at: usize) {
        if self.citations.contains(name) {
            self.used.insert(name);
        } else if !PLAIN.contains(&name) {
            self.found.push((at, format!("'{key}' names {name:?}; {}", self.allowed())));
        }
    }

    fn allowed(&self) -> String {
        let mut known: Vec<&str> = self.citations.iter().copied().collect();
        known.sort_unstable();
        format!("allowed: {:?}, {:?} or a citation id ({})", PLAIN[0], PLAIN[1], known.join(", "))
    }
}

fn is_source(key: &str) -> bool {
    key == "source" || key.ends_with("_source")
}

fn is_mentioned(tree: &DeTable<'_>, id: &str) -> bool {
    fn inside(value: &DeValue<'_>, id: &str) -> bool {
        match value {
            DeValue::String(text) => text.as_ref() != id && has_word(text, id),
            DeValue::Array(items) => items.iter().any(|i| inside(i.get_ref(), id)),
            DeValue::Table(table) => table.values().any(|v| inside(v.get_ref(), id)),
            _ => false,
        }
    }
    tree.iter().any(|(key, value)| key.get_ref() != "citation" && inside(value.get_ref(), id))
}

fn has_word(text: &str, word: &str) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    text.match_indices(word).any(|(at, _)| {
        !text[..at].chars().next_back().is_some_and(part) && !text[at + word.len()..].chars().next().is_some_and(part)
    })
}
