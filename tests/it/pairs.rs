//! Short ways to write loci and parents for the tests of the engine.

use hatchward::engine::inheritance::clutch::{Chances, Wanted};
use hatchward::engine::inheritance::cross::{Offspring, cross};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, SexSystem};
use hatchward::engine::odds::Odds;

pub(crate) const WILD: AlleleId = AlleleId::WILD;
pub(crate) const A: AlleleId = AlleleId(1);

pub(crate) fn het() -> Genotype {
    Genotype::pair(WILD, A)
}

pub(crate) fn pure() -> Genotype {
    Genotype::pair(A, A)
}

/// So many recessive loci, half of the eggs male.
pub(crate) fn recessives(n: usize) -> Genetics {
    Genetics::new(vec![Locus::trade(&[Mode::Recessive]); n], Some(SexSystem::Xy)).expect("plain loci")
}

/// A genome with these genotypes at loci 0, 1, …
pub(crate) fn genome(genotypes: &[Genotype]) -> Genome {
    (0..).map(LocusId).zip(genotypes.iter().map(|&g| Belief::sure(g))).collect()
}

/// A possible het at locus 0.
pub(crate) fn maybe_het(chance: Odds) -> Genome {
    let rest = Odds::from_integer(1.into()) - &chance;
    let belief = Belief::mix(vec![(het(), chance), (Genotype::WILD, rest)]).expect("adds up");
    [(LocusId(0), belief)].into_iter().collect()
}

pub(crate) fn crossed(genetics: &Genetics, sire: &Genome, dam: &Genome) -> Offspring {
    cross(genetics, sire, dam).expect("genomes of these loci")
}

/// Visuals at the first `n` loci.
pub(crate) fn visual(n: u16) -> Wanted {
    (0..n).fold(Wanted::any(), |wanted, locus| wanted.with(LocusId(locus), vec![pure()]))
}

pub(crate) fn chances(offspring: &Offspring, wanted: &Wanted) -> Chances {
    Chances::of(offspring, wanted).expect("few kinds of parents")
}

/// The statistic of counts against shares (which are scaled to sum to 1).
pub(crate) fn chi_square(counts: &[u32], shares: &[f64]) -> f64 {
    assert_eq!(counts.len(), shares.len());
    let n = f64::from(counts.iter().sum::<u32>());
    let whole: f64 = shares.iter().sum();
    counts
        .iter()
        .zip(shares)
        .map(|(&seen, share)| (f64::from(seen) - n * share / whole).powi(2) / (n * share / whole))
        .sum()
}

#[track_caller]
pub(crate) fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected}");
}
