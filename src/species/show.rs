//! One gene on a card: how it is inherited, its names, its company and its cautions with how well they are known.
//!
//! In: any name of a gene. Out: plain text, one thing a line.

use std::fmt::Write as _;

use super::entries::{AppliesTo, Inheritance, LethalStatus};
use super::names::joined;
use super::{Catalogue, GeneId, Species, SpeciesId};

/// Every gene of every species that goes by this name, an id, an alias or a listed slip.
#[must_use]
pub fn find(catalogue: &Catalogue, name: &str) -> Vec<(SpeciesId, GeneId)> {
    let wanted = joined(name);
    let mut found = Vec::new();
    for species in catalogue.species() {
        for (n, gene) in (0..).zip(species.genes()) {
            let entry = &gene.entry;
            let names = [&entry.name, &entry.id].into_iter().chain(&entry.aliases).chain(&entry.one_copy_aliases);
            let labels = entry.two_copies.iter().chain(&entry.one_copy);
            if names
                .chain(&entry.two_copies_aliases)
                .chain(&entry.misspellings)
                .chain(labels)
                .any(|n| joined(n) == wanted)
            {
                found.push((species.id, GeneId(n)));
            }
        }
    }
    found
}

/// The card of a gene.
#[must_use]
pub fn card(species: &Species, gene: GeneId) -> String {
    let it = species.gene(gene);
    let entry = &it.entry;
    let file = species.file();
    let mode = match entry.inheritance {
        Inheritance::Recessive => "recessive: shows with two copies, one copy is carried unseen (het)",
        Inheritance::IncompleteDominant => "incomplete dominant: one copy shows, two look different",
        Inheritance::Dominant => "dominant: one copy shows, two look the same",
        Inheritance::Polygenic => "a line-bred look, not a single gene: no odds",
    };
    let mut out = format!("{} ({})\n  inheritance: {mode}\n", entry.name, species.name());
    let mut line = |key: &str, text: String| {
        if !text.is_empty() {
            let _ = writeln!(out, "  {key}: {text}");
        }
    };
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
    line("does not match", entry.not_compatible_with.join(", "));
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
    out
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
