//! What is wished for, as the genotypes that count; and among the living where some young are said to die.

use crate::engine::inheritance::clutch::{Wanted, per_egg};
use crate::engine::inheritance::cross::Offspring;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Genetics, LocusId, Sex};
use crate::engine::odds::{Odds, none, sure};
use crate::reading::requests::{SexSaid, Target};
use crate::species::{GeneId, Species};

/// The genotypes that count for a wish. Genes that it does not name are free; a wish without genes is for young that
/// look normal.
#[must_use]
pub fn wanted(species: &Species, target: &Target) -> Wanted {
    let mut wanted = Wanted::any();
    if target.genes.is_empty() {
        // A catalogue that was checked has genetics.
        if let Ok(genetics) = species.genetics(false) {
            for id in (0..).map(LocusId).take(genetics.loci().len()) {
                wanted = wanted.with(id, unseen(&genetics, id));
            }
        }
    }
    let mut loci: Vec<LocusId> = target.genes.iter().filter_map(|g| species.place(g.0).map(|p| p.0)).collect();
    loci.sort_unstable();
    loci.dedup();
    for locus in loci {
        let here: Vec<(GeneId, AlleleId, u8)> = target
            .genes
            .iter()
            .filter_map(|(g, n)| species.place(*g).filter(|p| p.0 == locus).map(|p| (*g, p.1, *n)))
            .collect();
        let fits = |g: Genotype| {
            here.iter().all(|(gene, allele, n)| {
                let copies = g.copies_of(*allele);
                // One copy of a visible gene means "shows it": at least one.
                if *n == 2 {
                    copies == 2
                } else if target.hets.contains(gene) {
                    copies == 1
                } else {
                    copies >= 1
                }
            })
        };
        wanted = wanted.with(locus, both_ways(species, locus).into_iter().filter(|g| fits(*g)));
    }
    of_sex(wanted, target.sex)
}

/// The same wish for young of the sex that was said.
pub(super) fn of_sex(wanted: Wanted, sex: SexSaid) -> Wanted {
    match sex {
        SexSaid::Male => wanted.of_sex(Sex::Male),
        SexSaid::Female => wanted.of_sex(Sex::Female),
        SexSaid::Unknown => wanted,
    }
}

/// Every genotype of a locus, plain and sided.
fn both_ways(species: &Species, locus: LocusId) -> Vec<Genotype> {
    let n_alleles = species.loci().get(usize::from(locus.0)).map_or(0, |l| l.genes.len()) + 1;
    let alleles = move || (0..u8::MAX).take(n_alleles).map(AlleleId);
    let pairs = alleles().flat_map(|a| alleles().map(move |b| (a, b)));
    pairs.flat_map(|(a, b)| [Genotype::pair(a, b), Genotype::sided(a, b)]).collect()
}

/// The genotypes of a locus at which nothing shows.
fn unseen(genetics: &Genetics, id: LocusId) -> Vec<Genotype> {
    let Some(locus) = genetics.locus(id) else { return Vec::new() };
    let sided = |g: Genotype| Genotype::sided(g.alleles().0, g.alleles().1);
    let turned = |g: Genotype| Genotype::sided(g.alleles().1, g.alleles().0);
    let wild = genetics.genotypes(id).filter(|g| locus.look_of(*g).is_wild());
    wild.flat_map(|g| [g, sided(g), turned(g)]).collect()
}

/// The share of `wanted` among the young that live, if none with a genotype at one of these places does; and the share
/// of eggs lost then. `None` if none would live.
pub(super) fn among_living(young: &Offspring, wanted: &Wanted, deadly: &[(LocusId, AlleleId)]) -> Option<(Odds, Odds)> {
    let spared = |from: &Wanted| {
        let mut spared = from.clone();
        for (locus, allele) in deadly {
            let Some(factor) = young.factor(*locus) else { continue };
            let cells = factor.cells().iter().map(|c| c.genotype);
            let kept: Vec<Genotype> = cells.filter(|g| from.counts(*locus, *g) && g.copies_of(*allele) < 2).collect();
            spared = spared.with(*locus, kept);
        }
        per_egg(young, &spared).ok()
    };
    let live = spared(&Wanted::any())?;
    let hit = spared(wanted)?;
    (live > none()).then(|| (hit / &live, sure() - live))
}
