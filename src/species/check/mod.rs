//! The rules for a catalogue file: a mistake is named with its file, line and entry, and with what is allowed.
//!
//! In: the text of a file. Out: every [`Problem`], not only the first. The shape comes first (`shape`): the further rules
//! rely on whole tables, so they are silent about a file that cannot be read. Start at [`check`].

mod care; // care numbers: order, units, months
mod combos; // combinations, allele pairs, warnings, ambiguous words
mod genes; // genes, loci, families
mod shape; // keys, types, closed lists, sources
mod words; // no name means two things unless the file says which

use std::collections::HashMap;
use std::fmt;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::entries::{File, Gene};
use super::names::joined;

/// Genes of one file, genes of one locus and files of one catalogue: far above any real one, and within the id types.
const MOST: (usize, usize, usize) = (10_000, 200, 200);

/// One mistake in a catalogue file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The file.
    pub file: String,
    /// Its line, from 1.
    pub line: Option<usize>,
    /// The entry or key.
    pub place: String,
    /// What is wrong and what is allowed.
    pub what: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "{}:{line}: {}: {}", self.file, self.place, self.what),
            None => write!(f, "{}: {}: {}", self.file, self.place, self.what),
        }
    }
}

/// One problem a line.
#[must_use]
pub fn list(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// Every rule for these files, name and text each: what each file must keep, and that no two claim a species word.
#[must_use]
pub fn check(files: &[(String, String)]) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut read = Vec::new();
    for (name, text) in files {
        match shape::read(name, text) {
            Ok((file, found)) => {
                problems.extend(found);
                problems.extend(rules(name, text, &file, words::far_misspellings));
                read.push((name.as_str(), file));
            }
            Err(found) => problems.extend(found),
        }
    }
    problems.extend(across(&read));
    problems
}

/// One file, read without any rule but its shape: for those that come with the program, which the tests check.
///
/// # Errors
/// The first thing that keeps it from being read.
pub fn shape_only(name: &str, text: &str) -> Result<File, Vec<Problem>> {
    toml::from_str(text).map_err(|error| {
        let line = error.span().and_then(|span| line(text, span.start));
        vec![Problem { file: name.to_owned(), line, place: "file".to_owned(), what: error.message().to_owned() }]
    })
}

/// One file that somebody wrote, checked as it is at every start: all rules but the distance of misspellings from their names, which costs
/// more than all others together and cannot change an answer ([`check`] has it).
///
/// # Errors
/// Every problem found.
pub fn file(name: &str, text: &str) -> Result<File, Vec<Problem>> {
    let (file, mut problems) = shape::read(name, text)?;
    problems.extend(rules(name, text, &file, |_| {}));
    if problems.is_empty() { Ok(file) } else { Err(problems) }
}

/// What no file can keep alone: a word for a species belongs to one of them, and there are not too many.
#[must_use]
pub fn across(files: &[(&str, File)]) -> Vec<Problem> {
    let mut owner: HashMap<String, &str> = HashMap::new();
    let mut problems = Vec::new();
    let mut say = |name: &str, what: String| {
        problems.push(Problem { file: name.to_owned(), line: None, place: "meta".to_owned(), what });
    };
    for (n, (name, file)) in files.iter().enumerate() {
        if n == MOST.2 {
            say(name, format!("a catalogue has room for {} species", MOST.2));
        }
        let meta = &file.meta;
        for word in [&meta.species, &meta.name].into_iter().chain(&meta.names) {
            let first = owner.entry(joined(word)).or_insert(name);
            if first != name {
                say(name, format!("the species word {word:?} is taken by {first}"));
            }
        }
    }
    problems
}

fn rules(name: &str, text: &str, file: &File, more: impl Fn(&mut Check<'_>)) -> Vec<Problem> {
    let genes = file.gene.iter().enumerate().map(|(n, g)| (g.id.as_str(), n)).collect();
    let mut check = Check { file, genes, said: Vec::new() };
    if !genes::ids(&mut check) {
        return check.problems(name, text);
    }
    genes::meta(&mut check, name);
    genes::loci(&mut check);
    genes::each(&mut check);
    genes::families(&mut check);
    combos::pairs(&mut check);
    combos::warnings(&mut check);
    combos::each(&mut check);
    combos::repeats(&mut check);
    combos::ambiguous(&mut check);
    care::numbers(&mut check);
    words::each(&mut check);
    more(&mut check);
    check.problems(name, text)
}

/// A problem before its line is looked up: table, number of the entry in it, key or "", what.
type Said = (&'static str, usize, &'static str, String);

struct Check<'a> {
    file: &'a File,
    genes: HashMap<&'a str, usize>,
    said: Vec<Said>,
}

impl<'a> Check<'a> {
    fn say(&mut self, table: &'static str, n: usize, key: &'static str, what: impl Into<String>) {
        self.said.push((table, n, key, what.into()));
    }

    fn gene(&self, id: &str) -> Option<&'a Gene> {
        self.genes.get(id).map(|n| &self.file.gene[*n])
    }

    fn locus(&self, id: &str) -> Option<&'a str> {
        self.gene(id).and_then(|g| g.locus.as_deref())
    }

    fn members(&self, family: &str) -> impl Iterator<Item = &'a Gene> {
        self.file.gene.iter().filter(move |g| g.family.as_deref() == Some(family))
    }

    /// Lines are looked up only now: a file without mistakes is not parsed a second time.
    fn problems(self, name: &str, text: &str) -> Vec<Problem> {
        if self.said.is_empty() {
            return Vec::new();
        }
        let tree = DeTable::parse_recoverable(text).0;
        self.said
            .into_iter()
            .map(|(table, n, key, what)| {
                let at = Place::find(tree.get_ref(), table, n);
                let place = if key.is_empty() { at.label.clone() } else { format!("{}: {key}", at.label) };
                Problem { file: name.to_owned(), line: at.line(text, key), place, what }
            })
            .collect()
    }
}

/// An entry in the text of its file.
struct Place<'a> {
    label: String,
    entry: Option<&'a Spanned<DeValue<'a>>>,
}

impl<'a> Place<'a> {
    fn find(tree: &'a DeTable<'a>, table: &str, n: usize) -> Self {
        let value = tree.get(table);
        let entry = value.and_then(|v| if v.get_ref().is_array() { v.get_ref().get(n) } else { Some(v) });
        Self { label: label(table, n, entry), entry }
    }

    /// The line of the key, or that of the entry.
    fn line(&self, text: &str, key: &str) -> Option<usize> {
        let entry = self.entry?;
        let key = entry.get_ref().as_table().and_then(|t| t.get_key_value(key)).map(|(k, _)| k.span().start);
        line(text, key.unwrap_or(entry.span().start))
    }
}

/// What an entry is called: its kind with its id, its locus, its genes or its first word, or else its number.
fn label(table: &str, n: usize, entry: Option<&Spanned<DeValue<'_>>>) -> String {
    let Some(entry) = entry.and_then(|e| e.get_ref().as_table()) else { return table.to_owned() };
    if table == "meta" || table == "care" {
        return table.to_owned();
    }
    let text = |key: &str| entry.get(key).and_then(|v| v.get_ref().as_str()).map(str::to_owned);
    let texts = |key: &str| -> Option<Vec<&str>> {
        Some(entry.get(key)?.get_ref().as_array()?.iter().filter_map(|v| v.get_ref().as_str()).collect())
    };
    let name = match table {
        "pair_warning" => texts("genes").map(|g| g.join(" + ")),
        "ambiguous" => texts("words").and_then(|w| w.first().map(|w| (*w).to_owned())),
        "complex" => text("locus"),
        _ => text("id"),
    };
    format!("{table} {}", name.unwrap_or_else(|| (n + 1).to_string()))
}

/// The line of a byte of the text, from 1.
fn line(text: &str, at: usize) -> Option<usize> {
    Some(text.get(..at)?.matches('\n').count() + 1)
}
