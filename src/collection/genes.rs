//! Beliefs as they are kept, to and from the reader's animals and the engine's genomes.

use num_traits::Zero as _;

use super::animal::{Animal, Basis, Belief, SideKept};
use crate::engine::inheritance::genotype::{self, Genome};
use crate::engine::inheritance::locus::{AlleleId, LocusId};
use crate::engine::odds::{Odds, none, sure};
use crate::reading::requests::{self, Carried, Side};
use crate::species::genetics::{Carries, Sits};
use crate::species::{GeneId, Species};

/// What a keeper says of an animal, to be kept.
#[must_use]
pub fn stated(species: &Species, said: &requests::Animal) -> Vec<Belief> {
    let side = |gene: GeneId| {
        species.gene(gene).entry.sex_linked.as_ref()?;
        Some(match said.side? {
            Side::X => SideKept::X,
            Side::Y => SideKept::Y,
        })
    };
    let belief = |gene: GeneId, copies: u8, chance: Odds| Belief {
        gene: species.gene(gene).entry.id.clone(),
        copies,
        chance,
        basis: Basis::Stated,
        side: side(gene),
    };
    let genes = said.genes.iter().map(|c| belief(c.gene, c.copies, c.chance.clone()));
    let looks = said.looks.iter().map(|g| belief(*g, 1, sure()));
    genes.chain(looks).collect()
}

/// A kept animal as the reader would have read it. Genes that the catalogue does not know (any more) are left out; see
/// [`unknown`].
#[must_use]
pub fn as_read(species: &Species, animal: &Animal) -> requests::Animal {
    let mut read = requests::Animal { sex: animal.sex.into(), said: animal.called(), ..requests::Animal::default() };
    for belief in &animal.genes {
        let Some(gene) = species.gene_by_id(&belief.gene) else { continue };
        if species.place(gene).is_none() {
            read.looks.push(gene);
            continue;
        }
        if let Some(side) = belief.side {
            read.side = Some(match side {
                SideKept::X => Side::X,
                SideKept::Y => Side::Y,
            });
        }
        read.genes.push(Carried { gene, copies: belief.copies, chance: belief.chance.clone() });
    }
    read.genes.sort_by(|a, b| {
        species.gene(a.gene).entry.id.cmp(&species.gene(b.gene).entry.id).then(a.copies.cmp(&b.copies))
    });
    read
}

/// Ids of genes that the catalogue does not know.
pub fn unknown<'a>(species: &'a Species, genes: &'a [Belief]) -> impl Iterator<Item = &'a str> {
    genes.iter().map(|b| b.gene.as_str()).filter(|id| species.gene_by_id(id).is_none())
}

/// Beliefs for the engine.
#[must_use]
pub fn genome(species: &Species, genes: &[Belief]) -> Genome {
    genome_sitting(species, genes, sits(genes))
}

/// The same with a sex-linked copy on this chromosome.
pub(super) fn genome_sitting(species: &Species, genes: &[Belief], sits: Sits) -> Genome {
    let carries: Vec<Carries> =
        genes.iter().filter_map(|b| Some((species.gene_by_id(&b.gene)?, b.copies, b.chance.clone()))).collect();
    species.genome(&carries, sits)
}

/// Where the copy of a sex-linked gene sits, if anywhere.
#[must_use]
pub fn sits(genes: &[Belief]) -> Sits {
    match genes.iter().find_map(|b| b.side) {
        Some(SideKept::X) => Sits::X,
        Some(SideKept::Y) => Sits::Y,
        None => Sits::Anywhere,
    }
}

/// The engine's belief at one locus, to be kept. `None` where it cannot be kept exactly: two different alleles at one
/// locus that are not independent of each other (either, but never both nor neither) keep their shares, but the form
/// has no way to say that one excludes the other.
#[must_use]
pub fn kept(species: &Species, locus: LocusId, belief: &genotype::Belief, basis: Basis) -> Vec<Belief> {
    let mut weights: Vec<(AlleleId, u8, Odds)> = Vec::new();
    let mut add = |allele: AlleleId, copies: u8, chance: &Odds| {
        if allele == AlleleId::WILD || allele == AlleleId::NONE {
            return;
        }
        match weights.iter_mut().find(|w| w.0 == allele && w.1 == copies) {
            Some(old) => old.2 += chance,
            None => weights.push((allele, copies, chance.clone())),
        }
    };
    for (genotype, chance) in belief.genotypes() {
        let (a, b) = genotype.alleles();
        if a == b {
            add(a, 2, chance);
        } else {
            add(a, 1, chance);
            add(b, 1, chance);
        }
    }
    weights.retain(|w| w.2 > none());
    let sided = belief.known().filter(|g| g.is_sided()).map(genotype::Genotype::alleles);
    let Some(here) = species.loci().get(usize::from(locus.0)) else { return Vec::new() };
    weights
        .into_iter()
        .filter_map(|(allele, copies, chance)| {
            let gene = here.genes.get(usize::from(allele.0).checked_sub(1)?)?;
            let side = sided.and_then(|(x, y)| match (x == allele, y == allele) {
                (true, false) => Some(SideKept::X),
                (false, true) => Some(SideKept::Y),
                _ => None,
            });
            Some(Belief { gene: species.gene(*gene).entry.id.clone(), copies, chance, basis, side })
        })
        .collect()
}

/// The chance that an animal carries at least one copy of a gene.
#[must_use]
pub fn carries(genes: &[Belief], gene: &str) -> Odds {
    let share: Odds = genes.iter().filter(|b| b.gene == gene).map(|b| &b.chance).sum();
    if share > sure() { sure() } else { share }
}

/// Whether a gene shows: two copies of a recessive, one of any other.
#[must_use]
pub fn shows(species: &Species, belief: &Belief) -> bool {
    belief.chance == sure() && may_show(species, belief)
}

/// Whether an animal with these copies could be told from one without: two copies of a recessive, one of any other.
#[must_use]
pub fn may_show(species: &Species, belief: &Belief) -> bool {
    species.gene_by_id(&belief.gene).is_some_and(|g| !species.gene(g).is_recessive() || belief.copies == 2)
}

/// A het that is not sure: a recessive with a chance between never and always.
#[must_use]
pub fn is_possible_het(species: &Species, belief: &Belief) -> bool {
    belief.chance < sure()
        && !belief.chance.is_zero()
        && species.gene_by_id(&belief.gene).is_some_and(|g| species.gene(g).is_recessive())
}
