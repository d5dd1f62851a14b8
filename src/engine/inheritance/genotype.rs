//! Genotypes: the two alleles of an animal at a locus, and what is believed of them.
//!
//! In: alleles and exact weights. Out: [`Genotype`], [`Belief`], [`Genome`]. Invariant: the weights of a belief sum to exactly 1.
//! Not here: whether an animal of this species can have it (`locus`).

use std::collections::BTreeMap;

use num_bigint::{BigInt, BigUint};
use num_integer::Integer;
use num_traits::{One, Zero};
use thiserror::Error;

use super::locus::{AlleleId, LocusId};
use crate::engine::odds::{self, Odds};

/// A pair of alleles at one locus.
///
/// Unordered, except for the sex with unlike sex chromosomes at a sex-linked locus: there the sides matter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Genotype {
    sided: bool,
    first: AlleleId,
    second: AlleleId,
}

impl Genotype {
    /// Two wild alleles.
    pub const WILD: Self = Self { sided: false, first: AlleleId::WILD, second: AlleleId::WILD };

    /// Two alleles in no order.
    #[must_use]
    pub fn pair(a: AlleleId, b: AlleleId) -> Self {
        Self { sided: false, first: a.min(b), second: a.max(b) }
    }

    /// The allele on the X (or Z), then the one on the Y (or W), which may be [`AlleleId::NONE`].
    #[must_use]
    pub fn sided(x: AlleleId, y: AlleleId) -> Self {
        Self { sided: true, first: x, second: y }
    }

    /// Whether the order says which sex chromosome each allele is on.
    #[must_use]
    pub fn is_sided(self) -> bool {
        self.sided
    }

    /// Both alleles: in the order of the locus, or X (Z) side first.
    #[must_use]
    pub fn alleles(self) -> (AlleleId, AlleleId) {
        (self.first, self.second)
    }

    /// How many copies of an allele there are, 0 to 2.
    #[must_use]
    pub fn copies_of(self, allele: AlleleId) -> u8 {
        u8::from(self.first == allele) + u8::from(self.second == allele)
    }

    /// Whether no allele but the wild one is there.
    #[must_use]
    pub fn is_wild(self) -> bool {
        [self.first, self.second].into_iter().all(|a| a == AlleleId::WILD || a == AlleleId::NONE)
    }
}

/// What is wrong with a belief.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum BeliefError {
    /// A chance below 0.
    #[error("a chance of {chance} for {genotype:?}")]
    Negative {
        /// The genotype.
        genotype: Genotype,
        /// Its chance.
        chance: Odds,
    },
    /// The chances do not add up.
    #[error("chances add up to {sum}, not to 1")]
    NotOne {
        /// Their sum.
        sum: Odds,
    },
}

/// Exact weights over the genotypes an animal may have at one locus. They sum to 1 and none is 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Belief {
    // Whole numbers over one denominator: crosses multiply many of them, and fractions would be reduced each time.
    weights: Vec<(Genotype, BigUint)>,
    total: BigUint,
}

impl Belief {
    /// No doubt.
    #[must_use]
    pub fn sure(genotype: Genotype) -> Self {
        Self { weights: vec![(genotype, BigUint::one())], total: BigUint::one() }
    }

    /// Several genotypes with their chances. One named twice has the sum; chances of 0 are dropped.
    ///
    /// # Errors
    /// [`BeliefError`] if a chance is negative or the sum is not exactly 1.
    pub fn mix(chances: Vec<(Genotype, Odds)>) -> Result<Self, BeliefError> {
        if let Some((genotype, chance)) = chances.iter().find(|(_, chance)| *chance < odds::none()) {
            return Err(BeliefError::Negative { genotype: *genotype, chance: chance.clone() });
        }
        let sum: Odds = chances.iter().map(|(_, chance)| chance).sum();
        if sum != odds::sure() {
            return Err(BeliefError::NotOne { sum });
        }
        let total = chances.iter().fold(BigInt::one(), |lcm, (_, chance)| lcm.lcm(chance.denom()));
        let mut weights = BTreeMap::<Genotype, BigUint>::new();
        for (genotype, chance) in chances {
            let weight = chance.numer() * (&total / chance.denom());
            *weights.entry(genotype).or_default() += weight.magnitude();
        }
        weights.retain(|_, weight| !weight.is_zero());
        Ok(Self { weights: weights.into_iter().collect(), total: total.magnitude().clone() })
    }

    /// The possible genotypes and their exact chances.
    pub fn genotypes(&self) -> impl Iterator<Item = (Genotype, Odds)> {
        self.weights.iter().map(|(genotype, weight)| (*genotype, odds::share(weight, &self.total)))
    }

    /// The chance of one genotype, exact.
    #[must_use]
    pub fn chance_of(&self, genotype: Genotype) -> Odds {
        self.genotypes().find(|(g, _)| *g == genotype).map_or_else(odds::none, |(_, chance)| chance)
    }

    /// The genotype, if there is no doubt.
    #[must_use]
    pub fn settled(&self) -> Option<Genotype> {
        match self.weights.as_slice() {
            [(genotype, _)] => Some(*genotype),
            _ => None,
        }
    }

    pub(super) fn weights(&self) -> &[(Genotype, BigUint)] {
        &self.weights
    }

    pub(super) fn total(&self) -> &BigUint {
        &self.total
    }
}

/// What is believed of an animal, locus by locus. Loci that are not listed are wild.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Genome {
    beliefs: BTreeMap<LocusId, Belief>,
}

impl Genome {
    /// Says what is believed at a locus, in place of what was said before.
    pub fn set(&mut self, locus: LocusId, belief: Belief) {
        self.beliefs.insert(locus, belief);
    }

    /// The belief at a locus; `None` where nothing is listed, which means wild.
    #[must_use]
    pub fn get(&self, locus: LocusId) -> Option<&Belief> {
        self.beliefs.get(&locus)
    }

    /// The listed loci, in order.
    pub fn loci(&self) -> impl Iterator<Item = (LocusId, &Belief)> {
        self.beliefs.iter().map(|(locus, belief)| (*locus, belief))
    }
}

impl FromIterator<(LocusId, Belief)> for Genome {
    fn from_iter<I: IntoIterator<Item = (LocusId, Belief)>>(listed: I) -> Self {
        Self { beliefs: listed.into_iter().collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: AlleleId = AlleleId(1);

    #[test]
    fn pairs_have_no_order_and_sides_do() {
        assert_eq!(Genotype::pair(A, AlleleId::WILD), Genotype::pair(AlleleId::WILD, A));
        assert_ne!(Genotype::sided(A, AlleleId::WILD), Genotype::sided(AlleleId::WILD, A));
        assert_ne!(Genotype::sided(AlleleId::WILD, A), Genotype::pair(AlleleId::WILD, A));
        assert_eq!(Genotype::pair(A, A).copies_of(A), 2);
        assert_eq!(Genotype::sided(A, AlleleId::NONE).copies_of(A), 1);
    }

    #[test]
    fn a_belief_adds_up_to_one() {
        let (het, wild) = (Genotype::pair(AlleleId::WILD, A), Genotype::WILD);
        let belief =
            Belief::mix(vec![(het, odds::odds(2, 3)), (wild, odds::odds(1, 3)), (Genotype::pair(A, A), odds::none())]);
        let belief = belief.expect("adds up");
        assert_eq!(belief.genotypes().count(), 2);
        assert_eq!(belief.chance_of(het), odds::odds(2, 3));
        let short = Belief::mix(vec![(het, odds::half())]);
        assert_eq!(short, Err(BeliefError::NotOne { sum: odds::half() }));
        let negative = Belief::mix(vec![(het, odds::odds(3, 2)), (wild, odds::odds(-1, 2))]);
        assert_eq!(negative, Err(BeliefError::Negative { genotype: wild, chance: odds::odds(-1, 2) }));
        assert!(Belief::mix(Vec::new()).is_err());
    }
}
