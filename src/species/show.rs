//! One entry of a catalogue on a card: a gene with its inheritance, names, company and cautions with how well they are
//! known; a combination or allele pair with what it stands for; a complex, a family or an ambiguous word with its members.
//!
//! In: any name. Out: plain text, one thing a line. Start at [`find`].

use std::fmt::Write as _;

use super::entries::{self, AppliesTo, Inheritance, LethalStatus, Part, Severity, Then};
use super::names::joined;
use super::{Candidate, Catalogue, GeneId, Species, SpeciesId};

/// An entry that goes by some name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    /// A gene or a line-bred look.
    Gene(GeneId),
    /// A combination, by place in the file.
    Combo(usize),
    /// An allele pair, by place in the file.
    Pair(usize),
    /// A complex, by place in the file.
    Complex(usize),
    /// A family word with several lines, by place in the file.
    Family(usize),
    /// A word with several readings, by place in the file.
    Word(usize),
}

/// Every entry of every species that goes by this name, an id, an alias or a listed slip.
#[must_use]
pub fn find(catalogue: &Catalogue, name: &str) -> Vec<(SpeciesId, Entry)> {
    let wanted = joined(name);
    let is = |name: &String| joined(name) == wanted;
    let mut found = Vec::new();
    for species in catalogue.species() {
        let file = species.file();
        let mut add = |entry| found.push((species.id, entry));
        for (n, gene) in (0..).zip(species.genes()) {
            let entry = &gene.entry;
            let names = [&entry.name, &entry.id].into_iter().chain(&entry.aliases).chain(&entry.one_copy_aliases);
            let labels = entry.two_copies.iter().chain(&entry.one_copy);
            let tagged = tagged(species, entry);
            if names.chain(&entry.two_copies_aliases).chain(&entry.misspellings).chain(labels).chain(&tagged).any(is) {
                add(Entry::Gene(GeneId(n)));
            }
        }
        for (n, combo) in file.combo.iter().enumerate() {
            if [&combo.id, &combo.name].into_iter().chain(&combo.aliases).chain(&combo.misspellings).any(is) {
                add(Entry::Combo(n));
            }
        }
        for (n, pair) in file.allele_pair.iter().enumerate() {
            // "mojave lesser" is the pair as well: neither allele comes first.
            let alleles: Vec<String> = pair.alleles.iter().map(|id| named(species, id)).collect();
            let ways = [alleles.concat(), alleles.iter().rev().map(String::as_str).collect()];
            let names = [&pair.id, &pair.name].into_iter().chain(&pair.aliases).chain(&pair.misspellings);
            if names.chain(&ways).any(is) {
                add(Entry::Pair(n));
            }
        }
        for (n, complex) in file.complex.iter().enumerate() {
            let short = complex.name.split(['(', ',']).next().unwrap_or_default().trim().to_owned();
            if [&complex.locus, &complex.name, &short].into_iter().any(is) {
                add(Entry::Complex(n));
            }
        }
        for (n, family) in file.family.iter().enumerate() {
            if [&family.id, &family.name].into_iter().chain(&family.words).any(is) {
                add(Entry::Family(n));
            }
        }
        for (n, word) in file.ambiguous.iter().enumerate() {
            if word.words.iter().any(is) {
                add(Entry::Word(n));
            }
        }
    }
    found
}

/// The card of an entry.
#[must_use]
pub fn card(species: &Species, entry: Entry) -> String {
    let file = species.file();
    match entry {
        Entry::Gene(gene) => gene_card(species, gene),
        Entry::Combo(n) => file.combo.get(n).map_or_else(String::new, |combo| {
            let mut card = Card::new(species, &combo.name, "a combination");
            card.line("is", parts(species, &combo.genes));
            card.line("with the look", names_of(species, &combo.looks));
            card.line("names", combo.aliases.join(", "));
            cautions(species, &mut card, combo.genes.iter().filter_map(|part| part.id.clone()));
            card.line("note", combo.note.clone().unwrap_or_default());
            card.line("known from", evidence(species, &combo.source));
            card.text
        }),
        Entry::Pair(n) => file.allele_pair.get(n).map_or_else(String::new, |pair| {
            let mut card = Card::new(species, &pair.name, "two alleles of one locus");
            card.line(
                "is",
                format!(
                    "one copy each of {}: it hands on one or the other, never both",
                    names_of(species, &pair.alleles)
                ),
            );
            card.line("look", pair.look.clone());
            card.line("names", pair.aliases.join(", "));
            cautions(species, &mut card, pair.alleles.iter().cloned());
            card.line("note", pair.note.clone().unwrap_or_default());
            card.line("known from", evidence(species, &pair.source));
            card.text
        }),
        Entry::Complex(n) => file.complex.get(n).map_or_else(String::new, |complex| {
            let mut card =
                Card::new(species, &complex.name, "a complex: genes of one locus, an animal has room for two");
            let genes = species.loci().iter().find(|l| l.id == complex.locus).map_or(&[][..], |l| &l.genes);
            let genes: Vec<&str> = genes.iter().map(|g| species.gene(*g).entry.name.as_str()).collect();
            card.line("genes", genes.join(", "));
            let pairs = file.allele_pair.iter().filter(|p| p.locus == complex.locus);
            card.line("pairs", pairs.map(|p| p.name.as_str()).collect::<Vec<_>>().join(", "));
            card.line("published gene", complex.published_gene.clone().unwrap_or_default());
            card.line("note", complex.note.clone().unwrap_or_default());
            card.line("known from", evidence(species, &complex.source));
            card.text
        }),
        Entry::Family(n) => file.family.get(n).map_or_else(String::new, |family| {
            let mut card = Card::new(species, &family.name, "one word for several lines");
            let lines = species.genes().iter().filter(|g| g.entry.family.as_ref() == Some(&family.id));
            card.line("lines", lines.map(|g| g.entry.name.as_str()).collect::<Vec<_>>().join(", "));
            let bare = if family.bare == "ask" {
                "is asked about: different lines may not match".to_owned()
            } else {
                format!("means {}", names_of(species, std::slice::from_ref(&family.bare)))
            };
            card.line("the bare word", bare);
            card.line("note", family.note.clone().unwrap_or_default());
            card.text
        }),
        Entry::Word(n) => file.ambiguous.get(n).map_or_else(String::new, |word| {
            let mut card = Card::new(species, &word.words.join(", "), "a word with several readings");
            let reading = |text: &String| candidate(species, species.candidate(text));
            card.line("may be", word.candidates.iter().map(reading).collect::<Vec<_>>().join("; "));
            card.line(
                "here it",
                match (word.then, &word.usual) {
                    (Then::Assume, Some(usual)) => format!("is taken as {}, and the reply says so", reading(usual)),
                    _ => "is asked about".to_owned(),
                },
            );
            card.line("note", word.note.clone().unwrap_or_default());
            card.text
        }),
    }
}

struct Card {
    text: String,
}

impl Card {
    fn new(species: &Species, name: &str, what: &str) -> Card {
        Card { text: format!("{name} ({}): {what}\n", species.name()) }
    }

    fn line(&mut self, key: &str, text: impl AsRef<str>) {
        let text = text.as_ref();
        if !text.is_empty() {
            let _ = writeln!(self.text, "  {key}: {text}");
        }
    }
}

/// The words of a family with the tag of one of its lines: "vpi axanthic", "axanthic vpi".
fn tagged(species: &Species, gene: &entries::Gene) -> Vec<String> {
    let family = species.file().family.iter().find(|f| Some(&f.id) == gene.family.as_ref());
    let words = family.map_or(&[][..], |f| &f.words);
    let both = |tag: &String, word: &String| [format!("{tag} {word}"), format!("{word} {tag}")];
    gene.line_tags.iter().flat_map(|tag| words.iter().flat_map(move |word| both(tag, word))).collect()
}

/// What is known against the genes of a combination or pair, as far as it is said unasked.
fn cautions(species: &Species, card: &mut Card, ids: impl Iterator<Item = String>) {
    for gene in ids.filter_map(|id| species.gene_by_id(&id)) {
        let entry = &species.gene(gene).entry;
        for harm in entry.welfare.iter().filter(|w| w.severity >= Severity::Caution) {
            let copies = if harm.applies_to == AppliesTo::TwoCopies { " (two copies)" } else { "" };
            card.line(
                "caution",
                format!("{}{copies}: {} [{}]", entry.name, harm.issue, evidence(species, &harm.source)),
            );
        }
    }
}

/// Names of genes by id.
fn names_of(species: &Species, ids: &[String]) -> String {
    ids.iter().map(|id| named(species, id)).collect::<Vec<_>>().join(", ")
}

fn named(species: &Species, id: &str) -> String {
    species.gene_by_id(id).map_or_else(|| id.to_owned(), |g| species.gene(g).entry.name.clone())
}

/// The parts of a combination in words.
fn parts(species: &Species, parts: &[Part]) -> String {
    let part = |part: &Part| {
        let copies = if part.copies >= 2 { 2 } else { 1 };
        match (&part.id, &part.one_of) {
            (Some(id), _) => {
                species.gene_by_id(id).map_or_else(|| id.clone(), |g| species.gene(g).label(copies).to_owned())
            }
            (None, Some(family)) => {
                let family = species.file().family.iter().find(|f| f.id == *family).map_or(family, |f| &f.name);
                let het = if copies == 1 { "het " } else { "" };
                format!("{het}{family} of one line")
            }
            (None, None) => String::new(),
        }
    };
    parts.iter().map(part).collect::<Vec<_>>().join(", ")
}

fn candidate(species: &Species, candidate: Option<Candidate>) -> String {
    let file = species.file();
    match candidate {
        Some(Candidate::Gene { gene, copies }) => {
            let it = species.gene(gene);
            it.label(copies.unwrap_or_else(|| it.bare_copies())).to_owned()
        }
        Some(Candidate::Combo(n)) => {
            file.combo.get(n).map_or_else(String::new, |c| format!("{} ({})", c.name, parts(species, &c.genes)))
        }
        Some(Candidate::Pair(n)) => file.allele_pair.get(n).map_or_else(String::new, |p| p.name.clone()),
        Some(Candidate::Term(word)) => format!("no gene ({word})"),
        None => String::new(),
    }
}

/// A gene.
fn gene_card(species: &Species, gene: GeneId) -> String {
    let it = species.gene(gene);
    let entry = &it.entry;
    let file = species.file();
    let mode = match entry.inheritance {
        Inheritance::Recessive => "recessive: shows with two copies, one copy is carried unseen (het)",
        Inheritance::IncompleteDominant => "incomplete dominant: one copy shows, two look different",
        Inheritance::Dominant => "dominant: one copy shows, two look the same",
        Inheritance::Polygenic => "a line-bred look, not a single gene: no odds",
    };
    let mut card = Card { text: format!("{} ({})\n", entry.name, species.name()) };
    let mut line = |key: &str, text: String| card.line(key, text);
    line("inheritance", mode.to_owned());
    if it.locus.is_some() {
        line("one copy", it.label(1).to_owned());
        line("two copies", it.label(2).to_owned());
    }
    if let Some(locus) = it.locus.and_then(|l| species.loci().get(l)).filter(|l| l.genes.len() > 1) {
        let fellows: Vec<&str> =
            locus.genes.iter().filter(|g| **g != gene).map(|g| species.gene(*g).entry.name.as_str()).collect();
        line("complex", format!("{}, with {}: an animal has room for two", locus.name, fellows.join(", ")));
    }
    line("names", entry.aliases.join(", "));
    let pairs: Vec<&str> =
        file.allele_pair.iter().filter(|p| p.alleles.contains(&entry.id)).map(|p| p.name.as_str()).collect();
    line("pairs", pairs.join(", "));
    let has = |c: &&super::entries::Combo| c.genes.iter().any(|p| p.id.as_ref() == Some(&entry.id));
    let combos: Vec<&str> = file.combo.iter().filter(has).map(|c| c.name.as_str()).collect();
    line("combinations", combos.join(", "));
    line("does not match", names_of(species, &entry.not_compatible_with));
    line("may or may not match", names_of(species, &entry.compatibility_unknown_with));
    let family = file.family.iter().find(|f| Some(&f.id) == entry.family.as_ref());
    line("line of", family.map_or_else(String::new, |f| f.name.clone()));
    for harm in &entry.welfare {
        let who = match harm.applies_to {
            AppliesTo::OneCopy => "one copy",
            AppliesTo::TwoCopies => "two copies",
            AppliesTo::AnyCopies => "any copies",
        };
        line("caution", format!("{who}: {} [{}]", harm.issue, evidence(species, &harm.source)));
    }
    if let Some(lethal) = &entry.homozygous_lethal {
        let how = if lethal.status == LethalStatus::Reported { "reported" } else { "suspected" };
        let note = lethal.note.as_deref().unwrap_or("");
        line("two copies lethal", format!("{how}. {note} [{}]", evidence(species, &lethal.source)));
    }
    if let Some(linked) = &entry.sex_linked {
        for rule in &linked.rules {
            line("sex-linked", rule.clone());
        }
        line("crossovers", format!("{} of the sire's young, a keepers' figure", linked.recombination));
    }
    line("note", entry.note.clone().unwrap_or_default());
    line("known from", evidence(species, &entry.source));
    card.text
}

/// The grade of evidence: the published source in full, or that nothing is published.
fn evidence(species: &Species, sources: &[String]) -> String {
    let text: Vec<&str> = sources
        .iter()
        .map(|s| match species.file().citation.iter().find(|c| c.id == *s) {
            Some(citation) => citation.text.as_str(),
            None if s == "memory" => "trade knowledge from memory",
            None => "keepers report, nothing published",
        })
        .collect();
    text.join("; ")
}
