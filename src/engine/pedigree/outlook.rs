//! Outlooks: what a pair would give, what its young would tell, and what a new record has moved.
//!
//! In: records and two animals, or two posteriors. Out: chances and numbers of young.
//! Two animals with young in common are not independent: the likelier one carries, the likelier the visual young are
//! its, so a pair is weighed together. Start at [`together`] and [`moved`].

use num_bigint::BigUint;
use num_traits::{ToPrimitive, Zero};

use super::descent::AnimalId;
use super::evidence::{Effort, EvidenceError, Known, Posterior, network, sum};
use super::meiosis::Meiosis;
use super::records::{Clutch, Families, Records};
use super::weight::Weight;
use crate::engine::inheritance::clutch::Figure;
use crate::engine::inheritance::cross::Parent;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Genetics, LocusId};
use crate::engine::inheritance::tries;
use crate::engine::odds::{Odds, none, sure};

/// Nobody waits for more young than this to be sure of one animal.
pub const MOST_EGGS: u32 = 1000;
/// Rounded chances that differ by less are the same.
const SAME: f64 = 1e-9;

/// A male and a female at one locus, with everything that is known of the collection.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    cases: Vec<Case>,
}

/// One possibility.
#[derive(Debug, Clone, PartialEq)]
struct Case {
    sire: Genotype,
    dam: Genotype,
    chance: Figure,
    /// Live young with their shares of all eggs.
    young: Vec<(Genotype, Odds)>,
    /// Per allele: the share of live young, among all live ones, that show it.
    shows: Vec<Odds>,
}

/// How many more young settle whether a parent carries an allele.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EggsToBeSure {
    /// Young in a row that do not show it, until the chance that the parent carries it is below the level asked for.
    /// `None` if it never is (the other parent may be the one that does not carry), or only after [`MOST_EGGS`].
    pub until_unlikely: Option<u32>,
    /// Young until one has shown it, with the chance asked for, if the parent carries it. `None` if no number is enough.
    pub until_shown: Option<u64>,
}

/// Weighs two animals together; they need not have met.
///
/// # Errors
/// As [`super::evidence::weigh`], and [`EvidenceError::NotThere`].
pub fn together(
    genetics: &Genetics,
    records: &Records,
    sire: AnimalId,
    dam: AnimalId,
    locus: LocusId,
) -> Result<Together, EvidenceError> {
    // Only a male and a female can be paired; as a couple without young they have their sexes.
    let couple = Clutch { sires: vec![(sire, sure())], dam: Some(dam), ..Clutch::default() };
    let mut records = records.clone();
    records.clutches.push(couple);
    let families = Families::new(genetics, &records)?;
    let mut network = network(&families)?;
    let at = |animal| {
        let missing = EvidenceError::NotThere { animal, locus };
        network.at(animal, locus).map(|(genotypes, var)| (genotypes.to_vec(), var)).ok_or(missing)
    };
    let ((sires, sire_var), (dams, dam_var)) = (at(sire)?, at(dam)?);
    let mut meiosis = Meiosis::new(genetics, locus).ok_or(EvidenceError::NotThere { animal: sire, locus })?;
    let var = match (sire_var, dam_var) {
        (Some(a), Some(b)) if a != b => Some(network.pair(a, b)),
        (one, other) => one.or(other),
    };
    let chances = Known::of(&mut network, &Effort::default())?.take(var);
    let mut cases = Vec::new();
    let pairs = sires.iter().flat_map(|s| dams.iter().map(move |d| (*s, *d)));
    for ((sire, dam), chance) in pairs.zip(chances) {
        cases.push(Case::new(genetics, locus, &mut meiosis, (sire, dam), chance));
    }
    Ok(Together { cases })
}

impl Case {
    fn new(
        genetics: &Genetics,
        id: LocusId,
        meiosis: &mut Meiosis,
        (sire, dam): (Genotype, Genotype),
        chance: Figure,
    ) -> Case {
        let young = meiosis.shares(sire, dam);
        let live: Odds = young.iter().map(|(_, share)| share).sum();
        let n_alleles = genetics.locus(id).map_or(0, crate::engine::inheritance::locus::Locus::n_alleles);
        let shows = (0..=u8::MAX).take(n_alleles).map(AlleleId).map(|allele| {
            let shown = |g: &Genotype| meiosis.locus().look_of(*g).alleles().any(|a| a == allele);
            let sum: Odds = young.iter().filter(|(g, _)| shown(g)).map(|(_, share)| share).sum();
            if live.is_zero() { none() } else { sum / &live }
        });
        let shows = shows.collect();
        Case { sire, dam, chance, young, shows }
    }

    fn carries(&self, parent: Parent, allele: AlleleId) -> bool {
        let own = match parent {
            Parent::Sire => self.sire,
            Parent::Dam => self.dam,
        };
        own.copies_of(allele) > 0
    }

    fn shows(&self, allele: AlleleId) -> Odds {
        self.shows.get(usize::from(allele.0)).cloned().unwrap_or_else(none)
    }
}

impl Together {
    /// The genotypes of sire and dam with the chance of both together; the chances sum to 1.
    pub fn cases(&self) -> impl Iterator<Item = (Genotype, Genotype, &Figure)> {
        self.cases.iter().map(|case| (case.sire, case.dam, &case.chance))
    }

    /// The chance that a parent has at least one copy of an allele.
    #[must_use]
    pub fn carries(&self, parent: Parent, allele: AlleleId) -> Figure {
        sum(self.cases.iter().filter(|case| case.carries(parent, allele)).map(|case| &case.chance))
    }

    /// The chance of each live genotype in the next egg; what is missing to 1 is lost.
    #[must_use]
    pub fn next_young(&self) -> Vec<(Genotype, Figure)> {
        let mut kinds: Vec<Genotype> = self.cases.iter().flat_map(|case| case.young.iter().map(|(g, _)| *g)).collect();
        kinds.sort_unstable();
        kinds.dedup();
        let chance = |kind: Genotype| {
            let of_case = |case: &Case| {
                let share: Odds = case.young.iter().filter(|(g, _)| *g == kind).map(|(_, share)| share).sum();
                match &case.chance {
                    Figure::Exact(chance) => Figure::Exact(chance * share),
                    Figure::Rounded(chance) => Figure::Rounded(chance * crate::engine::odds::to_f64(&share)),
                }
            };
            sum(self.cases.iter().map(of_case).collect::<Vec<_>>().iter())
        };
        kinds.into_iter().map(|kind| (kind, chance(kind))).filter(|(_, chance)| chance.to_f64() > 0.0).collect()
    }

    /// How many more young of this pair settle whether a parent carries an allele: until its chance is below
    /// `unlikely` if none shows it, and until one shows it with chance `shown` if the parent carries it.
    #[must_use]
    pub fn eggs_to_be_sure(&self, parent: Parent, allele: AlleleId, unlikely: &Odds, shown: &Odds) -> EggsToBeSure {
        let chances: Vec<Odds> = self.cases.iter().map(|case| exactly(&case.chance)).collect();
        let of_carriers = || self.cases.iter().zip(&chances).filter(|(case, _)| case.carries(parent, allele));
        let all: Odds = of_carriers().map(|(_, chance)| chance).sum();
        let hits: Vec<(Odds, Odds)> = if all.is_zero() {
            Vec::new()
        } else {
            of_carriers().map(|(case, chance)| (chance / &all, case.shows(allele))).collect()
        };
        EggsToBeSure {
            until_unlikely: self.until_unlikely(parent, allele, unlikely, &chances),
            until_shown: tries::least(&hits, shown).and_then(|n| n.to_u64()),
        }
    }

    fn until_unlikely(&self, parent: Parent, allele: AlleleId, level: &Odds, chances: &[Odds]) -> Option<u32> {
        // In whole numbers: the weight of each case, and of a miss.
        let mut weights: Vec<BigUint> = Weight::scaled(chances);
        let misses: Vec<Odds> = self.cases.iter().map(|case| sure() - case.shows(allele)).collect();
        let misses: Vec<BigUint> = Weight::scaled(&misses);
        let (level_over, level) = (level.denom().magnitude().clone(), level.numer().magnitude().clone());
        for n in 0..=MOST_EGGS {
            let all: BigUint = weights.iter().sum();
            let carriers: BigUint =
                self.cases.iter().zip(&weights).filter(|(case, _)| case.carries(parent, allele)).map(|(_, w)| w).sum();
            if carriers * &level_over < &level * all {
                return Some(n);
            }
            for (weight, miss) in weights.iter_mut().zip(&misses) {
                *weight *= miss;
            }
        }
        None
    }
}

/// A rounded chance is taken for the number it is.
fn exactly(figure: &Figure) -> Odds {
    match figure {
        Figure::Exact(odds) => odds.clone(),
        Figure::Rounded(f) => Odds::from_float(*f).unwrap_or_else(none),
    }
}

/// A chance that is not what it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// Whose.
    pub animal: AnimalId,
    /// Where.
    pub locus: LocusId,
    /// Of at least one copy of this allele.
    pub allele: AlleleId,
    /// Before.
    pub before: Figure,
    /// Now.
    pub after: Figure,
}

/// Which animals' chances to carry have changed between two posteriors of the same animals, largest change first;
/// animals of only one of the two are left out. Of loci where all possible genotypes have the same alleles nothing is said.
#[must_use]
pub fn moved(before: &Posterior, after: &Posterior) -> Vec<Moved> {
    let mut all = Vec::new();
    let n = before.n_animals().min(after.n_animals());
    for animal in (0..n).map(AnimalId) {
        for locus in (0..before.n_loci().min(after.n_loci())).map(LocusId) {
            let genotypes = before.of(animal, locus).iter().chain(after.of(animal, locus));
            let mut alleles: Vec<AlleleId> = genotypes.flat_map(|(g, _)| [g.alleles().0, g.alleles().1]).collect();
            alleles.sort_unstable();
            alleles.dedup();
            for allele in alleles.into_iter().filter(|a| ![AlleleId::WILD, AlleleId::NONE].contains(a)) {
                let (before, after) = (before.carries(animal, locus, allele), after.carries(animal, locus, allele));
                let same = match (&before, &after) {
                    (Figure::Exact(a), Figure::Exact(b)) => a == b,
                    (a, b) => (a.to_f64() - b.to_f64()).abs() < SAME,
                };
                if !same {
                    all.push(Moved { animal, locus, allele, before, after });
                }
            }
        }
    }
    let change = |m: &Moved| (m.after.to_f64() - m.before.to_f64()).abs();
    all.sort_by(|a, b| change(b).total_cmp(&change(a)));
    all
}
