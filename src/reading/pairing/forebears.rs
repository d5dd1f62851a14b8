//! What an animal carries, given the parents it was told to have.

use super::Found;
use super::finish::lean;
use crate::engine::odds::{Odds, odds, sure};
use crate::reading::animals::{Chance, Draft};
use crate::reading::requests::{Assumed, Carried};
use crate::species::{GeneId, Species};

/// What an animal carries given its parents, as the look it shows allows: visual parent → sure het, het → half, het × het → two thirds.
pub(super) fn descend(species: &Species, animal: &mut Draft, parents: Vec<Draft>, found: &mut Found) {
    let mut parents = parents;
    if parents.len() == 2 {
        lean(species, &mut parents);
    }
    let known: Vec<GeneId> = animal.named().iter().map(|g| g.0).collect();
    if let [a, b] = &parents[..] {
        animal.settle_super(|gene| a.named().contains(&(gene, 1)) && b.named().contains(&(gene, 1)));
    }
    let parents: Vec<Vec<Carried>> = parents
        .into_iter()
        .map(|p| {
            found.questions.extend(p.questions.iter().cloned());
            p.into_animal(species).genes
        })
        .collect();
    let mut genes: Vec<GeneId> =
        parents.iter().flatten().map(|c| c.gene).filter(|g| species.gene(*g).is_recessive()).collect();
    genes.sort_unstable();
    genes.dedup();
    let mut told = Vec::new();
    for gene in genes {
        if known.contains(&gene) {
            continue;
        }
        // The chance that each parent hands the allele on, per egg.
        let hands = |p: &Vec<Carried>| {
            p.iter().filter(|c| c.gene == gene).map(|c| &c.chance * odds(i64::from(c.copies), 2)).sum::<Odds>()
        };
        let a = parents.first().map_or_else(|| odds(0, 1), hands);
        let b = parents.get(1).map_or_else(|| odds(0, 1), hands);
        let visual = &a * &b;
        if visual >= sure() {
            animal.carry(gene, 2, Chance::Sure);
            told.push(Carried { gene, copies: 2, chance: sure() });
            continue;
        }
        let one = (&a * (sure() - &b) + &b * (sure() - &a)) / (sure() - visual);
        if one > odds(0, 1) {
            told.push(Carried { gene, copies: 1, chance: one.clone() });
            animal.carry(gene, 1, if one >= sure() { Chance::Sure } else { Chance::Part(one) });
        }
    }
    if !told.is_empty() {
        animal.normal = true;
        found.assumed.push(Assumed::FromParents(told));
    }
}
