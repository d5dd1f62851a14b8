//! Rules for entries that name several genes: allele pairs, warnings, combinations and ambiguous words.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use super::{Check, words};
use crate::species::entries::{AppliesTo, Gene, Inheritance, Part, Then};
use crate::species::names::joined;

pub(super) fn pairs(check: &mut Check<'_>) {
    for (n, pair) in check.file.allele_pair.iter().enumerate() {
        let alleles = &pair.alleles;
        if alleles.len() != 2 || alleles[0] == alleles[1] {
            check.say("allele_pair", n, "alleles", format!("needs two different alleles, found {alleles:?}"));
        }
        for allele in alleles {
            match check.gene(allele) {
                None => check.say("allele_pair", n, "alleles", format!("no gene {allele:?}")),
                Some(gene) if gene.locus.as_ref() != Some(&pair.locus) => {
                    let what = format!(
                        "{allele:?} is at locus {:?}, not {:?}",
                        gene.locus.as_deref().unwrap_or(""),
                        pair.locus
                    );
                    check.say("allele_pair", n, "alleles", what);
                }
                Some(_) => {}
            }
        }
        if !alleles.is_sorted() {
            check.say("allele_pair", n, "alleles", "write the alleles in alphabetical order");
        }
    }
}

pub(super) fn warnings(check: &mut Check<'_>) {
    let mut seen = HashSet::new();
    for (n, warning) in check.file.pair_warning.iter().enumerate() {
        let [a, b] = &warning.genes[..] else {
            check.say("pair_warning", n, "genes", "needs two genes (the same twice for two copies)");
            continue;
        };
        for gene in [a, b] {
            if check.gene(gene).is_none() {
                check.say("pair_warning", n, "genes", format!("no gene {gene:?}"));
            }
        }
        if !seen.insert((a.min(b), a.max(b))) {
            check.say("pair_warning", n, "genes", "is listed twice");
        }
        let follows =
            |g: &Gene| g.homozygous_lethal.is_some() || g.welfare.iter().any(|w| w.applies_to != AppliesTo::OneCopy);
        if a == b && check.gene(a).is_some_and(follows) {
            let what = "already follows from the gene's own homozygous_lethal or welfare entries";
            check.say("pair_warning", n, "genes", what);
        }
    }
}

/// Each part names a gene or a family, and one or two copies.
pub(super) fn part_shapes(check: &mut Check<'_>, table: &'static str, n: usize, key: &'static str, parts: &[Part]) {
    for part in parts {
        if part.id.is_some() == part.one_of.is_some() {
            check.say(table, n, key, "each part is { id, copies } or { one_of, copies }");
        }
        if !(1..=2).contains(&part.copies) {
            check.say(table, n, key, format!("copies is {}; allowed: 1, 2", part.copies));
        }
    }
}

fn name_of(part: &Part) -> &str {
    part.id.as_deref().or(part.one_of.as_deref()).unwrap_or_default()
}

pub(super) fn each(check: &mut Check<'_>) {
    for (n, combo) in check.file.combo.iter().enumerate() {
        if combo.genes.len() + combo.looks.len() < 2 {
            check.say("combo", n, "genes", "a combination needs two parts (otherwise make it an alias)");
        }
        part_shapes(check, "combo", n, "genes", &combo.genes);
        let mut load: BTreeMap<&str, i64> = BTreeMap::new();
        let mut single: Vec<&Gene> = Vec::new();
        for part in &combo.genes {
            if let Some(family) = &part.one_of {
                if !check.file.family.iter().any(|f| f.id == *family) {
                    let known: Vec<&str> = check.file.family.iter().map(|f| f.id.as_str()).collect();
                    check.say("combo", n, "genes", format!("no family {family:?}; allowed: {}", known.join(", ")));
                }
                continue;
            }
            let gene = part.id.as_deref().and_then(|id| check.gene(id));
            let Some((gene, locus)) = gene.and_then(|g| Some((g, g.locus.as_deref()?))) else {
                check.say("combo", n, "genes", format!("no computed gene {:?}", name_of(part)));
                continue;
            };
            // Copies outside 1 and 2 are said above; the cap keeps the sum from running over.
            *load.entry(locus).or_default() += part.copies.clamp(0, 2);
            if gene.inheritance == Inheritance::Recessive && part.copies == 1 {
                single.push(gene);
            }
        }
        for (locus, copies) in load.iter().filter(|l| *l.1 > 2) {
            check.say("combo", n, "genes", format!("{copies} alleles at locus {locus:?}; an animal has two"));
        }
        for gene in single {
            if gene.locus.as_deref().and_then(|l| load.get(l)) != Some(&2) {
                check.say("combo", n, "genes", format!("one copy of recessive {:?} does not show", gene.id));
            }
        }
        let ids: Vec<&str> = combo.genes.iter().map(name_of).collect();
        if ids.iter().collect::<HashSet<_>>().len() != ids.len() {
            check.say("combo", n, "genes", "names a gene twice");
        }
        for look in &combo.looks {
            if check.gene(look).is_none_or(|g| g.inheritance != Inheritance::Polygenic) {
                check.say("combo", n, "looks", format!("{look:?} is not a polygenic look"));
            }
        }
        if ids.len() > 1 {
            let parts = ids.iter().filter_map(|id| check.gene(id));
            let own: HashSet<String> = parts.flat_map(|g| words::of_gene(g)).map(joined).collect();
            for name in std::iter::once(&combo.name).chain(&combo.aliases) {
                if spelled_by(&joined(name), &own) {
                    let what = format!("{name:?} merely lists its genes: the reader finds it by itself");
                    check.say("combo", n, "name", what);
                }
            }
        }
    }
}

/// Whether the text is one part after the other.
fn spelled_by(text: &str, parts: &HashSet<String>) -> bool {
    // From the end, so that each place is looked at once however the parts repeat.
    let mut reaches_end = vec![false; text.len() + 1];
    reaches_end[text.len()] = true;
    for at in (0..text.len()).rev().filter(|at| text.is_char_boundary(*at)) {
        reaches_end[at] =
            parts.iter().any(|p| !p.is_empty() && text[at..].starts_with(p.as_str()) && reaches_end[at + p.len()]);
    }
    reaches_end[0]
}

pub(super) fn repeats(check: &mut Check<'_>) {
    type Load<'a> = (BTreeSet<(&'a str, i64)>, BTreeSet<&'a str>);
    let mut made: HashMap<Load<'_>, (usize, &str)> = HashMap::new();
    for (n, combo) in check.file.combo.iter().enumerate() {
        let genes = combo.genes.iter().map(|p| (name_of(p), p.copies)).collect();
        let load = (genes, combo.looks.iter().map(String::as_str).collect());
        if let Some((_, first)) = made.get(&load) {
            check.say("combo", n, "genes", format!("has the same genes as {first}: make it an alias"));
        } else {
            made.insert(load, (n, &combo.id));
        }
    }
    let mut paired: HashMap<&[String], &str> = HashMap::new();
    for (n, pair) in check.file.allele_pair.iter().enumerate() {
        if let Some(first) = paired.get(&pair.alleles[..]) {
            check.say("allele_pair", n, "alleles", format!("has the same alleles as {first}"));
        } else {
            paired.insert(&pair.alleles, &pair.id);
        }
        let load = (pair.alleles.iter().map(|a| (a.as_str(), 1)).collect(), BTreeSet::new());
        if let Some((combo, _)) = made.get(&load) {
            check.say("combo", *combo, "genes", format!("is allele_pair {} again", pair.id));
        }
    }
}

/// The parts of a candidate: kind or "" for a gene, id, copies. None if it is not written as one.
pub(super) fn candidate(text: &str) -> Option<(&str, &str, Option<u8>)> {
    let (kind, rest) = text.split_once(':').unwrap_or(("", text));
    let (id, copies) = match rest.split_once('*') {
        Some((id, "1")) => (id, Some(1)),
        Some((id, "2")) => (id, Some(2)),
        Some(_) => return None,
        None => (rest, None),
    };
    let plain = !id.is_empty() && id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
    let known = if text.contains(':') { matches!(kind, "combo" | "pair" | "term") } else { true };
    (plain && known).then_some((kind, id, copies))
}

pub(super) fn ambiguous(check: &mut Check<'_>) {
    let file = check.file;
    for (n, entry) in file.ambiguous.iter().enumerate() {
        if entry.words.is_empty() || entry.candidates.is_empty() {
            check.say("ambiguous", n, "", "needs words and candidates");
        }
        if (entry.then == Then::Assume) != entry.usual.is_some() {
            check.say("ambiguous", n, "then", "'assume' needs 'usual', 'ask' must not have it");
        }
        if let Some(usual) = entry.usual.as_ref().filter(|u| !entry.candidates.contains(u)) {
            let what = format!("{usual:?} is not a candidate; allowed: {}", entry.candidates.join(", "));
            check.say("ambiguous", n, "usual", what);
        }
        for text in &entry.candidates {
            let Some((kind, id, copies)) = candidate(text) else {
                let what = format!("{text:?}: write gene, gene*copies, combo:id, pair:id or term:word");
                check.say("ambiguous", n, "candidates", what);
                continue;
            };
            let exists = match kind {
                "combo" => file.combo.iter().any(|c| c.id == id),
                "pair" => file.allele_pair.iter().any(|p| p.id == id),
                "term" => true,
                _ => check.gene(id).is_some(),
            };
            if !exists {
                check.say("ambiguous", n, "candidates", format!("{text:?} does not exist"));
            }
            if !kind.is_empty() && copies.is_some() {
                check.say("ambiguous", n, "candidates", format!("{text:?}: copies go with genes only"));
            }
        }
    }
}
