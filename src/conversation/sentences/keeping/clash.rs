//! Records that cannot all be true, in words, with what may explain it.

use super::{list_of, with_code};
use crate::collection::animal::Animal;
use crate::collection::evidence::Evidence;
use crate::engine::inheritance::locus::LocusId;
use crate::engine::pedigree::clash::{Clash, Fact};
use crate::engine::pedigree::descent::AnimalId as Member;
use crate::engine::pedigree::records::Place;
use crate::reply::Reply;
use crate::species::Species;

/// Records that cannot all be true.
pub(in crate::conversation) fn clash(species: &Species, evidence: &Evidence<'_>, clash: &Clash) -> Reply {
    let mut lines = clash_lines(species, evidence, clash);
    let first = if lines.is_empty() { String::new() } else { lines.remove(0) };
    Reply { answer: vec![first], notes: lines, ..Reply::default() }
}

/// Loci whose records contradict each other, beside an answer about others.
pub(in crate::conversation) fn left_out(names: &[String]) -> Option<String> {
    (!names.is_empty()).then(|| {
        format!("Records of {} contradict each other and were left out; ask how sure one is of it.", list_of(names))
    })
}

/// The clash in two lines: the records, and what may explain it.
pub(in crate::conversation) fn clash_lines(species: &Species, evidence: &Evidence<'_>, clash: &Clash) -> Vec<String> {
    let mut facts: Vec<String> = clash.facts.iter().filter_map(|f| fact(species, evidence, f)).collect();
    facts.dedup();
    let few = if clash.smallest { "These records cannot all be true" } else { "Among these records one is wrong" };
    vec![
        format!("{few}: {}.", facts.join("; ")),
        "A wrong sire (stored sperm too), a wrong look, a wrong label or a new mutation would explain it. Nothing was changed by \
         itself; until it is cleared the labels of this gene stand as told."
            .to_owned(),
    ]
}

fn fact(species: &Species, evidence: &Evidence<'_>, fact: &Fact) -> Option<String> {
    let who = |m: Member| evidence.kept(m).map_or_else(|| "a parent elsewhere".to_owned(), with_code);
    let names = |locus: LocusId| {
        let genes = evidence.genes_at(locus);
        list_of(&genes.iter().map(|g| species.gene(*g).entry.name.clone()).collect::<Vec<_>>())
    };
    let told = |animal: &Animal, locus: LocusId| {
        let here: Vec<_> = animal
            .genes
            .iter()
            .filter(|b| species.gene_by_id(&b.gene).is_some_and(|g| evidence.genes_at(locus).contains(&g)))
            .cloned()
            .collect();
        if here.is_empty() {
            format!("carries no {}", names(locus))
        } else {
            format!("is {}", super::look_of(species, &here))
        }
    };
    Some(match fact {
        Fact::Look { animal, locus } => match evidence.kept(*animal) {
            Some(kept) => {
                let shown: Vec<_> = kept
                    .genes
                    .iter()
                    .filter(|b| {
                        species.gene_by_id(&b.gene).is_some_and(|g| {
                            evidence.genes_at(*locus).contains(&g) && (b.copies == 2 || !species.gene(g).is_recessive())
                        })
                    })
                    .cloned()
                    .collect();
                let shown =
                    if shown.is_empty() { format!("no {}", names(*locus)) } else { super::look_of(species, &shown) };
                format!("{} shows {shown}", with_code(kept))
            }
            None => format!("the look of {}", who(*animal)),
        },
        Fact::Founder { animal, locus } => match evidence.kept(*animal) {
            Some(kept) => format!("{} {} as told", with_code(kept), told(kept, *locus)),
            None => format!("what is known of {}", who(*animal)),
        },
        Fact::YoungLook { clutch, young, locus } => {
            if let Some(animal) = evidence.word_of(*clutch) {
                return Some(format!("{} {} as told", with_code(animal), told(animal, *locus)));
            }
            let kind = evidence.young(*clutch, *young)?;
            format!(
                "{} {} hatched from {}",
                kind.n(),
                super::look_of(species, &kind.genes),
                brood(evidence, Place::Clutch(*clutch))?
            )
        }
        Fact::Sire(place) | Fact::Dam(place) => {
            let dam = matches!(fact, Fact::Dam(_));
            let parents = match place {
                Place::Animal(m) => evidence.parents(*m),
                Place::Clutch(at) => {
                    evidence.clutch(*at)?;
                    evidence.parents_of_clutch(*at)
                }
            };
            let parent = parents[usize::from(dam)].map_or_else(|| "a parent elsewhere".to_owned(), who);
            format!("{parent} is the {} of {}", if dam { "mother" } else { "father" }, brood(evidence, *place)?)
        }
        Fact::Sex(animal) => format!("the sex of {}", who(*animal)),
        Fact::YoungSex { clutch, .. } => {
            format!("the sexes of the young of {}", brood(evidence, Place::Clutch(*clutch))?)
        }
    })
}

fn brood(evidence: &Evidence<'_>, place: Place) -> Option<String> {
    match place {
        Place::Animal(m) => evidence.kept(m).map(with_code),
        Place::Clutch(at) => {
            evidence.clutch(at)?;
            let name =
                |m: Option<Member>| m.and_then(|m| evidence.kept(m)).map_or_else(|| "?".to_owned(), Animal::called);
            let [sire, dam] = evidence.parents_of_clutch(at);
            Some(format!("the clutch {} × {}", name(sire), name(dam)))
        }
    }
}
