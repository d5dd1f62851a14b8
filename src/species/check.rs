//! The rules for a catalogue file: a mistake is named with its file, line and entry, and with what is allowed.
//!
//! In: the text of a file. Out: every [`Problem`], not only the first. Shapes, unknown keys and closed lists are checked
//! while the file is read ([`parse`]); what entries say of one another is checked here ([`at_start`]).

use std::collections::{HashMap, HashSet};
use std::fmt;

use super::entries::{File, Gene, Inheritance, Part, Then};

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

/// Parses one file.
///
/// # Errors
/// The problem, with its line; for an unknown key or value the message names those that are allowed.
pub fn parse(name: &str, text: &str) -> Result<File, Problem> {
    toml::from_str(text).map_err(|e: toml::de::Error| Problem {
        file: name.to_owned(),
        line: e.span().and_then(|s| text.get(..s.start)).map(|before| before.matches('\n').count() + 1),
        place: "file".to_owned(),
        what: e.message().to_owned(),
    })
}

struct Check<'a> {
    name: &'a str,
    text: &'a str,
    problems: Vec<Problem>,
}

impl Check<'_> {
    fn say(&mut self, kind: &str, id: &str, what: String) {
        let line = self.text.lines().position(|l| {
            l.split_once('=')
                .is_some_and(|(k, v)| matches!(k.trim(), "id" | "locus" | "species") && v.trim() == format!("\"{id}\""))
        });
        let place = if id.is_empty() { kind.to_owned() } else { format!("{kind} {id}") };
        self.problems.push(Problem { file: self.name.to_owned(), line: line.map(|l| l + 1), place, what });
    }
}

/// What entries say of one another: every id exists, loci and complexes agree, an animal fits its two alleles a locus.
#[must_use]
pub fn at_start(name: &str, text: &str, file: &File) -> Vec<Problem> {
    let mut check = Check { name, text, problems: Vec::new() };
    let stem = name.trim_end_matches(".toml");
    if file.meta.schema != 1 {
        check.say("meta", "", format!("schema is {}; allowed: 1", file.meta.schema));
    }
    if file.meta.species != stem {
        check.say("meta", &file.meta.species, format!("the file is named {stem:?}: species and file name must agree"));
    }
    ids(&mut check, file);
    let genes: HashMap<&str, &Gene> = file.gene.iter().map(|g| (g.id.as_str(), g)).collect();
    loci(&mut check, file);
    for gene in &file.gene {
        one_gene(&mut check, file, gene, &genes);
    }
    for pair in &file.allele_pair {
        let good = pair.alleles.len() == 2
            && pair
                .alleles
                .iter()
                .all(|a| genes.get(a.as_str()).is_some_and(|g| g.locus.as_ref() == Some(&pair.locus)));
        if !good {
            check.say(
                "allele_pair",
                &pair.id,
                format!("alleles must be two genes at locus {:?}, found {:?}", pair.locus, pair.alleles),
            );
        }
    }
    for combo in &file.combo {
        parts(&mut check, file, "combo", &combo.id, &combo.genes, &genes);
        for look in
            combo.looks.iter().filter(|l| genes.get(l.as_str()).is_none_or(|g| g.inheritance != Inheritance::Polygenic))
        {
            check.say("combo", &combo.id, format!("looks: {look:?} is not a polygenic look of this file"));
        }
    }
    for warning in &file.pair_warning {
        for gene in warning.genes.iter().filter(|g| !genes.contains_key(g.as_str())) {
            check.say("pair_warning", &warning.genes.join(" + "), format!("no gene {gene:?}"));
        }
        if warning.genes.len() != 2 {
            check.say(
                "pair_warning",
                &warning.genes.join(" + "),
                "needs two genes (the same twice for two copies)".to_owned(),
            );
        }
    }
    for (item, unit, range) in file.care.items() {
        let Some(range) = range else { continue };
        if !(range.low <= range.default && range.default <= range.high) {
            check.say(
                "care",
                item,
                format!("low, default and high must rise, found {}, {}, {}", range.low, range.default, range.high),
            );
        }
        if range.unit != unit {
            check.say("care", item, format!("unit is {:?}; allowed: {:?}", range.unit.key(), unit.key()));
        }
    }
    ambiguous(&mut check, file, &genes);
    check.problems
}

fn ids(check: &mut Check<'_>, file: &File) {
    let kinds: [(&str, Vec<&str>); 5] = [
        ("citation", file.citation.iter().map(|x| x.id.as_str()).collect()),
        ("family", file.family.iter().map(|x| x.id.as_str()).collect()),
        ("gene", file.gene.iter().map(|x| x.id.as_str()).collect()),
        ("allele_pair", file.allele_pair.iter().map(|x| x.id.as_str()).collect()),
        ("combo", file.combo.iter().map(|x| x.id.as_str()).collect()),
    ];
    for (kind, all) in kinds {
        let mut seen = HashSet::new();
        for id in all {
            let snake = id.starts_with(|c: char| c.is_ascii_lowercase())
                && id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
            if !snake {
                check.say(kind, id, "id must be snake_case: small letters, digits and _".to_owned());
            }
            if !seen.insert(id) {
                check.say(kind, id, "id is used twice".to_owned());
            }
        }
    }
}

fn loci(check: &mut Check<'_>, file: &File) {
    let mut at: HashMap<&str, Vec<&str>> = HashMap::new();
    for gene in &file.gene {
        if let Some(locus) = &gene.locus {
            at.entry(locus).or_default().push(&gene.id);
        }
    }
    for complex in &file.complex {
        if at.get(complex.locus.as_str()).is_none_or(|g| g.len() < 2) {
            check.say("complex", &complex.locus, "needs at least two genes at this locus".to_owned());
        }
    }
    for (locus, genes) in at {
        let complex = file.complex.iter().any(|c| c.locus == locus);
        if !complex && genes.len() > 1 {
            check.say(
                "gene",
                genes[1],
                format!("{} share the locus {locus:?}, so it needs a [[complex]]", genes.join(", ")),
            );
        } else if !complex && genes[0] != locus {
            check.say("gene", genes[0], format!("locus is {locus:?}; a locus with one gene carries the gene's id"));
        }
    }
}

fn one_gene(check: &mut Check<'_>, file: &File, gene: &Gene, genes: &HashMap<&str, &Gene>) {
    let id = gene.id.as_str();
    if gene.inheritance == Inheritance::Polygenic {
        if gene.locus.is_some() || gene.computed != Some(false) {
            check.say("gene", id, "a polygenic look has computed = false and no locus".to_owned());
        }
        parts(check, file, "gene", id, &gene.carries, genes);
    } else {
        for (key, missing) in [
            ("locus", gene.locus.is_none()),
            ("one_copy", gene.one_copy.is_none()),
            ("two_copies", gene.two_copies.is_none()),
            ("visible_with_one_copy", gene.visible_with_one_copy.is_none()),
        ] {
            if missing {
                check.say("gene", id, format!("key '{key}' is missing"));
            }
        }
        let shows = gene.inheritance != Inheritance::Recessive;
        if gene.visible_with_one_copy.is_some_and(|v| v != shows) {
            check.say("gene", id, format!("visible_with_one_copy must be {shows} for this inheritance"));
        }
        if gene.bare_name_copies.is_some_and(|n| !(1..=2).contains(&n)) {
            check.say("gene", id, "bare_name_copies; allowed: 1, 2".to_owned());
        }
    }
    let others = gene
        .not_compatible_with
        .iter()
        .chain(&gene.compatibility_unknown_with)
        .chain(&gene.possible_allele_of)
        .chain(&gene.seen_with);
    for other in others.filter(|o| !genes.contains_key(o.as_str())) {
        check.say("gene", id, format!("no gene {other:?}"));
    }
    if let Some(family) = gene.family.as_ref().filter(|f| !file.family.iter().any(|x| x.id == **f)) {
        let known: Vec<&str> = file.family.iter().map(|f| f.id.as_str()).collect();
        check.say("gene", id, format!("no family {family:?}; allowed: {}", known.join(", ")));
    }
    for source in gene.source.iter().filter(|s| !file.citation.iter().any(|c| c.id == **s)) {
        if source != "memory" && source != "common practice, no source" {
            check.say(
                "gene",
                id,
                format!("source {source:?} is neither a citation id, \"memory\" nor \"common practice, no source\""),
            );
        }
    }
    if let Some(link) = &gene.sex_linked
        && !(0.0..=0.5).contains(&link.recombination)
    {
        check.say("gene", id, format!("recombination is {}; allowed: 0 to 0.5", link.recombination));
    }
}

fn parts(check: &mut Check<'_>, file: &File, kind: &str, id: &str, parts: &[Part], genes: &HashMap<&str, &Gene>) {
    let mut load: HashMap<&str, i64> = HashMap::new();
    for part in parts {
        if !(1..=2).contains(&part.copies) {
            check.say(kind, id, format!("copies is {}; allowed: 1, 2", part.copies));
        }
        match (&part.id, &part.one_of) {
            (Some(gene), None) => match genes.get(gene.as_str()).and_then(|g| g.locus.as_deref()) {
                Some(locus) => *load.entry(locus).or_default() += part.copies,
                None => check.say(kind, id, format!("no computed gene {gene:?}")),
            },
            (None, Some(family)) if file.family.iter().any(|f| f.id == *family) => {}
            (None, Some(family)) => check.say(kind, id, format!("no family {family:?}")),
            _ => check.say(kind, id, "each part is { id, copies } or { one_of, copies }".to_owned()),
        }
    }
    for (locus, copies) in load.into_iter().filter(|l| l.1 > 2) {
        check.say(kind, id, format!("{copies} alleles at locus {locus:?}; an animal has two"));
    }
}

fn ambiguous(check: &mut Check<'_>, file: &File, genes: &HashMap<&str, &Gene>) {
    for entry in &file.ambiguous {
        let word = entry.words.first().map_or("?", String::as_str);
        if (entry.then == Then::Assume) != entry.usual.is_some() {
            check.say("ambiguous", word, "'assume' needs 'usual', 'ask' must not have it".to_owned());
        }
        if entry.usual.as_ref().is_some_and(|u| !entry.candidates.contains(u)) {
            check.say("ambiguous", word, "usual is not one of the candidates".to_owned());
        }
        for candidate in &entry.candidates {
            let known = match candidate.split_once(':') {
                Some(("combo", id)) => file.combo.iter().any(|c| c.id == id),
                Some(("pair", id)) => file.allele_pair.iter().any(|p| p.id == id),
                Some(("term", _)) => true,
                Some(_) => false,
                None => genes.contains_key(candidate.split('*').next().unwrap_or(candidate)),
            };
            if !known {
                check.say("ambiguous", word, format!("candidate {candidate:?} does not exist; write gene, gene*copies, combo:id, pair:id or term:word"));
            }
        }
    }
}
