//! Short words for the tests of the engine: loci, genotypes, animals.

use hatchward::engine::inheritance::clutch::{Chances, Wanted};
use hatchward::engine::inheritance::cross::{Offspring, cross};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, SexSystem};
use hatchward::engine::odds::{Odds, sure};
use statrs::distribution::{ChiSquared, ContinuousCDF};

pub(crate) fn pair(a: u8, b: u8) -> Genotype {
    Genotype::pair(AlleleId(a), AlleleId(b))
}

pub(crate) fn sided(x: u8, y: u8) -> Genotype {
    Genotype::sided(AlleleId(x), AlleleId(y))
}

/// The three genotypes of a locus with two alleles.
pub(crate) fn clear() -> Genotype {
    pair(0, 0)
}
pub(crate) fn het() -> Genotype {
    pair(0, 1)
}
pub(crate) fn visual() -> Genotype {
    pair(1, 1)
}

/// Carries one copy with this chance, else none.
pub(crate) fn possible_het(chance: &Odds) -> Belief {
    Belief::mix([(het(), chance.clone()), (clear(), sure() - chance)]).unwrap()
}

/// So many recessive loci in a species with XY sexes.
pub(crate) fn recessives(n: usize) -> Genetics {
    Genetics::new(vec![Locus::trade(&[Mode::Recessive]); n], Some(SexSystem::Xy)).unwrap()
}

pub(crate) fn animal(genotypes: &[Genotype]) -> Genome {
    believed(genotypes.iter().copied().map(Belief::sure))
}

pub(crate) fn believed(beliefs: impl IntoIterator<Item = Belief>) -> Genome {
    (0..).map(LocusId).zip(beliefs).collect()
}

/// Two animals at recessive loci.
pub(crate) fn young(sire: &Genome, dam: &Genome) -> Offspring {
    cross(&recessives(16), sire, dam).unwrap()
}

/// Visual at the first `n` loci.
pub(crate) fn all_visual(n: u16) -> Wanted {
    (0..n).fold(Wanted::any(), |wanted, i| wanted.with(LocusId(i), [visual()]))
}

/// The chances of young that are visual at the one locus of both parents.
pub(crate) fn visual_from(sire: Belief, dam: Belief) -> Chances {
    Chances::of(&young(&believed([sire]), &believed([dam])), &all_visual(1)).unwrap()
}

/// Pearson's chi-square of counts against shares that sum to 1, and its p-value.
pub(crate) fn chi_square(counts: &[(f64, Odds)]) -> (f64, f64) {
    let total: f64 = counts.iter().map(|(n, _)| n).sum();
    let shares: Odds = counts.iter().map(|(_, share)| share).sum();
    assert_eq!(shares, sure());
    let terms = counts.iter().map(|(n, share)| {
        let expected = total * hatchward::engine::odds::to_f64(share);
        (n - expected).powi(2) / expected
    });
    let chi2: f64 = terms.sum();
    let degrees = u32::try_from(counts.len() - 1).unwrap();
    (chi2, 1.0 - ChiSquared::new(degrees.into()).unwrap().cdf(chi2))
}

#[track_caller]
pub(crate) fn close(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected}");
}
