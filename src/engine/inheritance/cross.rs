//! Crosses: what one sire and one dam can give, per egg, locus by locus.
//!
//! In: two [`Genome`]s of one species. Out: [`Offspring`], one factor per locus, never multiplied out.
//! Invariant: the weights of each factor, lost eggs included, sum to exactly its denominator. Start at [`cross`].
//! Not here: questions about a clutch (`clutch`). Eggs of a pair share their parents, so they are not independent.

use std::collections::{BTreeMap, BTreeSet};

use num_bigint::BigUint;
use num_integer::Integer;
use num_traits::{One, Zero};
use thiserror::Error;

use super::genotype::{Belief, Genome, Genotype};
use super::locus::{AlleleId, Genetics, Locus, LocusId, Look, Sex, SexLink, SexSystem};
use crate::engine::odds::{self, Odds};

/// Why a pair cannot be crossed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CrossError {
    /// A genome lists a locus that the species does not have.
    #[error("the {parent:?} parent lists locus {}, which there is not", .locus.0)]
    UnknownLocus {
        /// Whose genome.
        parent: Sex,
        /// The locus.
        locus: LocusId,
    },
    /// A parent has a genotype that its sex cannot have there, or an unknown allele.
    #[error("a {parent:?} cannot be {genotype:?} at locus {}", .locus.0)]
    Impossible {
        /// Whose genome.
        parent: Sex,
        /// The locus.
        locus: LocusId,
        /// The genotype.
        genotype: Genotype,
    },
}

/// One kind of live egg at one locus (and of one sex, at a sex-linked locus).
#[derive(Debug, Clone)]
pub(super) struct Class {
    pub(super) sex: Option<Sex>,
    pub(super) genotype: Genotype,
    pub(super) look: Look,
    pub(super) weight: BigUint,
}

/// All kinds of eggs at one locus, in whole numbers over one denominator.
#[derive(Debug, Clone)]
pub(super) struct Factor {
    pub(super) locus: LocusId,
    /// The live kinds, heaviest first.
    pub(super) live: Vec<Class>,
    pub(super) denominator: BigUint,
    pub(super) linked: bool,
    pub(super) has_lethal: bool,
    sire: Belief,
    dam: Belief,
}

impl Factor {
    pub(super) fn live_weight(&self) -> BigUint {
        self.live.iter().map(|class| &class.weight).sum()
    }
}

/// What a pair can give, per egg: one factor for each locus that either parent lists, independent given the parents.
///
/// The sex is part of the outcomes only if a sex-linked locus is listed by either parent; otherwise it is independent of them.
#[derive(Debug, Clone)]
pub struct Offspring {
    pub(super) genetics: Genetics,
    pub(super) factors: Vec<Factor>,
    pub(super) sire: Genome,
    pub(super) dam: Genome,
}

/// Crosses a sire and a dam.
///
/// # Errors
/// [`CrossError`] if a genome has a locus, an allele or a genotype that it cannot have: in an XY species the sire's genotype
/// at a sex-linked locus has sides and the dam's has none; in a ZW species it is the other way round.
pub fn cross(genetics: &Genetics, sire: &Genome, dam: &Genome) -> Result<Offspring, CrossError> {
    check(genetics, sire, Sex::Male)?;
    check(genetics, dam, Sex::Female)?;
    let mut listed: BTreeSet<LocusId> = sire.loci().chain(dam.loci()).map(|(id, _)| id).collect();
    // A wild genotype that is lethal loses eggs although nobody lists its locus.
    for (id, locus) in genetics.ids() {
        if [Sex::Male, Sex::Female].into_iter().any(|sex| locus.is_lethal(genetics.wild(id, sex))) {
            listed.insert(id);
        }
    }
    let factors = listed.into_iter().filter_map(|id| factor(genetics, id, sire.get(id), dam.get(id))).collect();
    Ok(Offspring { genetics: genetics.clone(), factors, sire: sire.clone(), dam: dam.clone() })
}

fn check(genetics: &Genetics, genome: &Genome, parent: Sex) -> Result<(), CrossError> {
    for (locus, belief) in genome.loci() {
        if genetics.locus(locus).is_none() {
            return Err(CrossError::UnknownLocus { parent, locus });
        }
        if let Some((genotype, _)) = belief.weights().iter().find(|(g, _)| !genetics.fits(locus, parent, *g)) {
            return Err(CrossError::Impossible { parent, locus, genotype: *genotype });
        }
    }
    Ok(())
}

/// The factor of one locus; an unlisted belief is wild.
pub(super) fn factor(genetics: &Genetics, id: LocusId, sire: Option<&Belief>, dam: Option<&Belief>) -> Option<Factor> {
    let locus = genetics.locus(id)?;
    let believed =
        |belief: Option<&Belief>, sex| belief.cloned().unwrap_or_else(|| Belief::sure(genetics.wild(id, sex)));
    let (sire, dam) = (believed(sire, Sex::Male), believed(dam, Sex::Female));
    let (eggs, mut denominator) = zygotes(genetics, locus, &sire, &dam);
    let shared = eggs.iter().fold(denominator.clone(), |gcd, egg| if gcd.is_one() { gcd } else { gcd.gcd(&egg.2) });
    denominator /= &shared;
    let mut live: Vec<Class> = eggs
        .into_iter()
        .filter(|(_, genotype, _)| !locus.is_lethal(*genotype))
        .map(|(sex, genotype, weight)| Class { sex, genotype, look: locus.look_of(genotype), weight: weight / &shared })
        .collect();
    live.sort_by(|a, b| b.weight.cmp(&a.weight));
    let linked = locus.sex_link().is_some();
    Some(Factor { locus: id, live, denominator, linked, has_lethal: !locus.lethal().is_empty(), sire, dam })
}

type Egg = (Option<Sex>, Genotype, BigUint);
type Gametes = Vec<(AlleleId, BigUint)>;

/// The kinds of eggs of two parents at a locus, the lost ones too: whole numbers and the denominator they sum to.
fn zygotes(genetics: &Genetics, locus: &Locus, sire: &Belief, dam: &Belief) -> (Vec<Egg>, BigUint) {
    let mut eggs = BTreeMap::<(Option<Sex>, Genotype), BigUint>::new();
    let mut lay = |sex, ours: &Gametes, theirs: &Gametes, join: fn(AlleleId, AlleleId) -> Genotype| {
        for (a, n) in ours {
            for (b, m) in theirs {
                *eggs.entry((sex, join(*a, *b))).or_default() += n * m;
            }
        }
    };
    let denominator = match (locus.sex_link(), genetics.sex().and_then(SexSystem::heterogametic)) {
        (Some(link), Some(hetero)) => {
            let (unlike, alike) = if hetero == Sex::Male { (sire, dam) } else { (dam, sire) };
            let homo = if hetero == Sex::Male { Sex::Female } else { Sex::Male };
            let plain = gametes(alike);
            let (with_x, with_y, scale) = sexed_gametes(unlike, link);
            lay(Some(homo), &plain, &with_x, Genotype::pair);
            // The other parent has two X (or Z): its gamete is always on that side.
            lay(Some(hetero), &plain, &with_y, Genotype::sided);
            // Two alleles of the one parent, two chromosomes of the other.
            alike.total() * unlike.total() * scale * 4_u8
        }
        _ => {
            lay(None, &gametes(sire), &gametes(dam), Genotype::pair);
            sire.total() * dam.total() * 4_u8
        }
    };
    (eggs.into_iter().map(|((sex, genotype), weight)| (sex, genotype, weight)).collect(), denominator)
}

/// The alleles a parent hands on; the weights sum to twice the belief's total.
fn gametes(belief: &Belief) -> Gametes {
    let mut handed = Gametes::new();
    for (genotype, weight) in belief.weights() {
        let (a, b) = genotype.alleles();
        add(&mut handed, a, weight.clone());
        add(&mut handed, b, weight.clone());
    }
    handed
}

/// The alleles handed on with the X (or Z) and with the Y (or W); each sums to the belief's total times the scale.
fn sexed_gametes(belief: &Belief, link: &SexLink) -> (Gametes, Gametes, BigUint) {
    let (swapped, scale) = match link {
        SexLink::OnlyX => (BigUint::zero(), BigUint::one()),
        SexLink::Recombining(r) => (r.numer().magnitude().clone(), r.denom().magnitude().clone()),
    };
    let kept = &scale - &swapped;
    let (mut with_x, mut with_y) = (Gametes::new(), Gametes::new());
    for (genotype, weight) in belief.weights() {
        let (x, y) = genotype.alleles();
        add(&mut with_x, x, weight * &kept);
        add(&mut with_x, y, weight * &swapped);
        add(&mut with_y, y, weight * &kept);
        add(&mut with_y, x, weight * &swapped);
    }
    (with_x, with_y, scale)
}

fn add(handed: &mut Gametes, allele: AlleleId, weight: BigUint) {
    if weight.is_zero() {
        return;
    }
    match handed.iter_mut().find(|(a, _)| *a == allele) {
        Some((_, sum)) => *sum += weight,
        None => handed.push((allele, weight)),
    }
}

/// The eggs of one possible pair of parents at a locus: the weight of this pair and of each live kind.
pub(super) struct PairTable {
    pub(super) weight: BigUint,
    pub(super) live: Vec<Egg>,
}

impl Factor {
    /// How many pairs of genotypes the parents may be.
    pub(super) fn n_pairs(&self) -> usize {
        self.sire.weights().len().saturating_mul(self.dam.weights().len())
    }

    /// One table per possible pair of parents' genotypes; then the total of the pairs' weights and the denominator of the tables.
    pub(super) fn pair_tables(&self, genetics: &Genetics) -> (Vec<PairTable>, BigUint, BigUint) {
        let mut tables = Vec::with_capacity(self.n_pairs());
        let mut denominator = BigUint::one();
        let Some(locus) = genetics.locus(self.locus) else { return (tables, BigUint::one(), denominator) };
        for (sire, n) in self.sire.weights() {
            for (dam, m) in self.dam.weights() {
                let (mut live, sum) = zygotes(genetics, locus, &Belief::sure(*sire), &Belief::sure(*dam));
                live.retain(|(_, genotype, _)| !locus.is_lethal(*genotype));
                denominator = sum; // the same for every pair: it depends on the sex link alone
                tables.push(PairTable { weight: n * m, live });
            }
        }
        (tables, self.sire.total() * self.dam.total(), denominator)
    }
}

impl Offspring {
    /// The share of eggs lost to lethal genotypes, exact.
    #[must_use]
    pub fn lost(&self) -> Odds {
        let mut live = odds::sure();
        for factor in self.factors.iter().filter(|factor| factor.has_lethal) {
            live *= odds::share(&factor.live_weight(), &factor.denominator);
        }
        odds::sure() - live
    }

    /// The loci that outcomes name: those that a parent lists.
    pub fn loci(&self) -> impl Iterator<Item = LocusId> {
        self.factors.iter().map(|factor| factor.locus)
    }

    /// What may be at one locus of a live egg, whatever is at the others: sex (at a sex-linked locus), genotype, chance given
    /// that the egg lives. Empty if no egg lives or no parent lists the locus.
    #[must_use]
    pub fn at(&self, locus: LocusId) -> Vec<(Option<Sex>, Genotype, Odds)> {
        let Some(factor) = self.factors.iter().find(|factor| factor.locus == locus) else { return Vec::new() };
        let live = factor.live_weight();
        factor.live.iter().map(|class| (class.sex, class.genotype, odds::share(&class.weight, &live))).collect()
    }

    /// The genetics of the cross.
    #[must_use]
    pub fn genetics(&self) -> &Genetics {
        &self.genetics
    }

    /// The sire and the dam.
    #[must_use]
    pub fn parents(&self) -> (&Genome, &Genome) {
        (&self.sire, &self.dam)
    }
}
