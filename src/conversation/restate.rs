//! A request in the program's own words: what is kept of a talk instead of what a member typed.
//!
//! In: a reading. Out: lines that, read one after the other as turns of a talk, lead back to it. Names come from the
//! catalogue alone; words that were not understood, names of animals and chatter are left out.
//! Invariant (held by `tests/it/restating.rs` over the corpus): the same genes, sexes, wish and amounts are read back.

use std::fmt::Write as _;

use num_traits::One;

use crate::engine::odds::{Odds, odds};
use crate::reading::requests::{Animal, Aspect, Intent, Pairing, Reading, SexSaid, Side, Target};
use crate::species::{Catalogue, GeneId, Species};

/// The request in words that read back to it; empty where there is nothing to keep.
#[must_use]
pub fn restate(catalogue: &Catalogue, reading: &Reading) -> String {
    if reading.intent != Intent::Odds {
        return String::new();
    }
    let Some(id) = reading.species else { return String::new() };
    let species = catalogue.get(id);
    let mut text = format!("{}: ", species.name());
    text.push_str(&pairing(species, &reading.pairing));
    if let Some(other) = &reading.compare {
        let _ = write!(text, " versus {}", pairing(species, other));
    }
    if reading.pairing.shown.all {
        text.push_str("\nshow all");
    }
    text
}

/// A share as it is offered to choose from: "66 %".
#[must_use]
pub fn share(chance: &Odds) -> String {
    if chance.is_one() { "100 %".to_owned() } else { format!("{} %", percent(chance)) }
}

fn pairing(species: &Species, pairing: &Pairing) -> String {
    let mut text = String::new();
    if let Some(wish) = &pairing.target {
        text.push_str(match pairing.aspect {
            Aspect::HowMany => "how many eggs for ",
            Aspect::Possible => "is it possible to get ",
            Aspect::WhyNone => "why no ",
            _ => "odds on ",
        });
        text.push_str(&target(species, wish));
        if pairing.both_sexes {
            text.push_str(" pair");
        }
        text.push_str(" from ");
    }
    let parents: Vec<String> = pairing.parents.iter().map(|p| animal(species, p)).collect();
    text.push_str(&parents.join(" x "));
    if let Some(n) = pairing.clutch_size {
        let _ = write!(text, ", {n} eggs");
    }
    if let Some(n) = pairing.clutches {
        let _ = write!(text, ", {n} clutches");
    }
    if let Some(certainty) = &pairing.certainty {
        let _ = write!(text, ", {}% certain", percent(certainty));
    }
    if pairing.shown.without_normals {
        text.push_str(", without the normals");
    }
    text.push_str(match pairing.aspect {
        Aspect::Best => ", best possible?",
        Aspect::Square => ", punnett square",
        Aspect::Safe => ", is it safe?",
        Aspect::Hets => ", het percentages",
        _ => "",
    });
    text
}

fn target(species: &Species, target: &Target) -> String {
    let mut words: Vec<String> = Vec::new();
    match target.sex {
        SexSaid::Male => words.push("male".to_owned()),
        SexSaid::Female => words.push("female".to_owned()),
        SexSaid::Unknown => {}
    }
    if target.genes.is_empty() {
        words.push("normal".to_owned());
    }
    let mut hets = Vec::new();
    for (gene, copies) in &target.genes {
        if target.hets.contains(gene) {
            hets.push(format!("het {}", species.gene(*gene).entry.name));
        } else {
            words.push(copies_of(species, *gene, *copies));
        }
    }
    words.append(&mut hets);
    words.join(" ")
}

fn animal(species: &Species, animal: &Animal) -> String {
    let mut words: Vec<String> = Vec::new();
    match animal.sex {
        SexSaid::Male => words.push("1.0".to_owned()),
        SexSaid::Female => words.push("0.1".to_owned()),
        SexSaid::Unknown => {}
    }
    match animal.side {
        Some(Side::X) => words.push("female maker".to_owned()),
        Some(Side::Y) => words.push("male maker".to_owned()),
        None => {}
    }
    let mut hets = Vec::new();
    let pair = named_pair(species, animal);
    words.extend(pair.map(|(name, _)| name.to_owned()));
    for carried in &animal.genes {
        if pair.is_some_and(|(_, genes)| genes.contains(&carried.gene)) {
            continue;
        }
        let gene = species.gene(carried.gene);
        let name = &gene.entry.name;
        // Alternatives of one gene are told by their rarer, two-copy side; the other follows from it.
        let two_side = animal.genes.iter().any(|o| o.gene == carried.gene && o.copies > carried.copies);
        match (carried.copies, carried.chance.is_one()) {
            (1, true) if gene.is_recessive() => hets.push(format!("het {name}")),
            (1, false) if gene.is_recessive() => hets.push(format!("{}% het {name}", percent(&carried.chance))),
            (1, false) if two_side => {}
            (copies, true) => words.push(copies_of(species, carried.gene, copies)),
            // "Possible super" alone is asked about; from two single copies it is one in three.
            (2, false) if carried.chance == odds(1, 3) => {
                words.push(format!("{name} (poss super, both parents were single gene {name})"));
            }
            (2, false) => words.push(format!("{}% super {name}", percent(&carried.chance))),
            (_, false) => words.push(format!("{}% {name}", percent(&carried.chance))),
        }
    }
    for look in &animal.looks {
        words.push(species.gene(*look).entry.name.clone());
    }
    if animal.genes.is_empty() && animal.looks.is_empty() {
        words.push("normal".to_owned());
    }
    words.append(&mut hets);
    if let Some(g) = animal.weight_g {
        words.push(format!("{g} g"));
    }
    if let Some(n) = animal.age_months {
        words.push(format!("{n} months old"));
    }
    words.join(" ")
}

/// "visual Clown", "Super Pastel", "Pastel".
fn copies_of(species: &Species, gene: GeneId, copies: u8) -> String {
    let gene = species.gene(gene);
    let name = &gene.entry.name;
    match (copies, gene.is_recessive()) {
        (2, true) => format!("visual {name}"),
        (_, true) => format!("het {name}"),
        // A label that only explains, "Pinstripe (two copies)", is no name that anybody writes.
        (2, false) if gene.label(2).ends_with(')') => format!("super {name}"),
        (copies, false) => gene.label(copies).to_owned(),
    }
}

/// Two alleles of one locus that have a name together, and both for sure in this animal: "het A het B" would be read as
/// two hets, of which an animal shows nothing.
fn named_pair<'a>(species: &'a Species, animal: &Animal) -> Option<(&'a str, [GeneId; 2])> {
    let sure = |g: GeneId| animal.genes.iter().any(|c| c.gene == g && c.copies == 1 && c.chance.is_one());
    species.file().allele_pair.iter().find_map(|pair| {
        let genes: Vec<GeneId> = pair.alleles.iter().filter_map(|id| species.gene_by_id(id)).collect();
        match genes[..] {
            [a, b] if a != b && sure(a) && sure(b) && species.gene(a).is_recessive() => {
                Some((pair.name.as_str(), [a, b]))
            }
            _ => None,
        }
    })
}

/// The whole percent by which a share is written in the trade: 2/3 is "66", 1/3 is "33".
fn percent(share: &Odds) -> String {
    for (n, d, label) in [(2, 3, "66"), (1, 3, "33"), (1, 2, "50"), (1, 4, "25"), (3, 4, "75")] {
        if *share == odds(n, d) {
            return label.to_owned();
        }
    }
    let hundredfold = share * odds(100, 1);
    if hundredfold.is_integer() {
        hundredfold.to_string()
    } else {
        format!("{:.2}", crate::engine::odds::to_f64(&hundredfold))
    }
}
