//! Genotypes: a pair of alleles at one locus, what is believed of it, and all loci of an animal.
//!
//! Invariant: the weights of a [`Belief`] are above 0 and sum to exactly 1. Whether a genotype fits its locus is
//! checked where locus and genotype meet ([`super::locus::Genetics::check`], [`super::cross::cross`]).

use std::collections::BTreeMap;
use std::fmt;

use num_traits::Zero;
use thiserror::Error;

use super::locus::{AlleleId, LocusId};
use crate::engine::odds::{Odds, none, sure};

/// Two alleles at one locus.
///
/// Plain pairs have no order (`a/b` is `b/a`). The sex with two different sex chromosomes has *sided* ones at a
/// sex-linked locus: the allele on the X (Z), then the one on the Y (W), which is [`AlleleId::NONE`] where the Y
/// does not carry the locus. Which side a copy sits on decides who inherits it, so `a|+` and `+|a` differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Genotype {
    sided: bool,
    first: AlleleId,
    second: AlleleId,
}

impl Genotype {
    /// A plain pair, in any order.
    #[must_use]
    pub fn pair(a: AlleleId, b: AlleleId) -> Genotype {
        Genotype { sided: false, first: a.min(b), second: a.max(b) }
    }

    /// A sided pair: the allele on the X (Z), then the one on the Y (W).
    #[must_use]
    pub fn sided(x: AlleleId, y: AlleleId) -> Genotype {
        Genotype { sided: true, first: x, second: y }
    }

    /// Both alleles: in the order of their numbers, or X (Z) side first.
    #[must_use]
    pub fn alleles(self) -> (AlleleId, AlleleId) {
        (self.first, self.second)
    }

    /// Whether the order says which sex chromosome an allele sits on.
    #[must_use]
    pub fn is_sided(self) -> bool {
        self.sided
    }

    /// How many copies of an allele there are: 0, 1 or 2.
    #[must_use]
    pub fn copies_of(self, allele: AlleleId) -> u8 {
        u8::from(self.first == allele) + u8::from(self.second == allele)
    }
}

/// Allele numbers, as in `0/2`, `1|0` and `1|-`; for error texts and tests.
impl fmt::Display for Genotype {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let side = |allele: AlleleId| {
            if allele == AlleleId::NONE { "-".to_owned() } else { allele.0.to_string() }
        };
        write!(f, "{}{}{}", side(self.first), if self.sided { '|' } else { '/' }, side(self.second))
    }
}

/// What is believed of one animal at one locus: exact weights over genotypes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Belief {
    weights: Vec<(Genotype, Odds)>, // by genotype, each once, weights above 0 with sum 1
}

impl Belief {
    /// This genotype and no other.
    #[must_use]
    pub fn sure(genotype: Genotype) -> Belief {
        Belief { weights: vec![(genotype, sure())] }
    }

    /// Weights over genotypes, in any order; repeated genotypes are added up, zeros are dropped.
    ///
    /// # Errors
    /// [`BeliefError`] if a weight is below 0 or they do not sum to exactly 1.
    pub fn mix(weights: impl IntoIterator<Item = (Genotype, Odds)>) -> Result<Belief, BeliefError> {
        let mut merged: BTreeMap<Genotype, Odds> = BTreeMap::new();
        for (genotype, weight) in weights {
            if weight < none() {
                return Err(BeliefError::Negative { genotype, weight });
            }
            *merged.entry(genotype).or_insert_with(none) += weight;
        }
        let sum: Odds = merged.values().sum();
        if sum != sure() {
            return Err(BeliefError::NotOne { sum });
        }
        Ok(Belief { weights: merged.into_iter().filter(|(_, weight)| !weight.is_zero()).collect() })
    }

    /// The genotypes that are possible, with their weights.
    pub fn genotypes(&self) -> impl Iterator<Item = (Genotype, &Odds)> {
        self.weights.iter().map(|(genotype, weight)| (*genotype, weight))
    }

    /// How many genotypes are possible.
    #[must_use]
    pub fn n_genotypes(&self) -> usize {
        self.weights.len()
    }

    /// The one genotype, if there is only one.
    #[must_use]
    pub fn known(&self) -> Option<Genotype> {
        match self.weights.as_slice() {
            [(genotype, _)] => Some(*genotype),
            _ => None,
        }
    }

    /// The chance of one genotype.
    #[must_use]
    pub fn chance_of(&self, genotype: Genotype) -> Odds {
        self.chance_that(|g| g == genotype)
    }

    /// The chance of the genotypes for which `counts` holds.
    pub fn chance_that(&self, counts: impl Fn(Genotype) -> bool) -> Odds {
        self.weights.iter().filter(|(genotype, _)| counts(*genotype)).map(|(_, weight)| weight).sum()
    }

    /// The same belief over changed genotypes; those that become equal are added up.
    #[must_use]
    pub fn map(&self, change: impl Fn(Genotype) -> Genotype) -> Belief {
        let mut merged: BTreeMap<Genotype, Odds> = BTreeMap::new();
        for (genotype, weight) in &self.weights {
            *merged.entry(change(*genotype)).or_insert_with(none) += weight;
        }
        Belief { weights: merged.into_iter().collect() }
    }

    /// The belief after learning that `counts` holds of the animal; `None` if that is impossible.
    pub fn given(&self, counts: impl Fn(Genotype) -> bool) -> Option<Belief> {
        let total = self.chance_that(&counts);
        if total.is_zero() {
            return None;
        }
        let weights = self.weights.iter().filter(|(genotype, _)| counts(*genotype));
        Some(Belief { weights: weights.map(|(genotype, weight)| (*genotype, weight / &total)).collect() })
    }
}

/// Why weights are not a belief.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum BeliefError {
    /// A weight below 0.
    #[error("the chance of {genotype} is {weight}, below 0")]
    Negative {
        /// Of which genotype.
        genotype: Genotype,
        /// The weight.
        weight: Odds,
    },
    /// The weights do not sum to 1.
    #[error("the chances add up to {sum} instead of 1")]
    NotOne {
        /// What they sum to.
        sum: Odds,
    },
}

/// All loci of an animal; those not listed are wild.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Genome {
    loci: BTreeMap<LocusId, Belief>,
}

impl Genome {
    /// An animal that is wild throughout.
    #[must_use]
    pub fn wild() -> Genome {
        Genome::default()
    }

    /// The same animal with this belief at a locus.
    #[must_use]
    pub fn with(mut self, locus: LocusId, belief: Belief) -> Genome {
        self.set(locus, belief);
        self
    }

    /// Sets the belief at a locus.
    pub fn set(&mut self, locus: LocusId, belief: Belief) {
        self.loci.insert(locus, belief);
    }

    /// Forgets a locus: it is wild again. Gives what was believed of it.
    pub fn remove(&mut self, locus: LocusId) -> Option<Belief> {
        self.loci.remove(&locus)
    }

    /// What is believed of a listed locus.
    #[must_use]
    pub fn get(&self, locus: LocusId) -> Option<&Belief> {
        self.loci.get(&locus)
    }

    /// The listed loci.
    pub fn loci(&self) -> impl Iterator<Item = (LocusId, &Belief)> {
        self.loci.iter().map(|(id, belief)| (*id, belief))
    }
}

impl FromIterator<(LocusId, Belief)> for Genome {
    fn from_iter<I: IntoIterator<Item = (LocusId, Belief)>>(loci: I) -> Genome {
        Genome { loci: loci.into_iter().collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::odds::{half, odds};

    fn pair(a: u8, b: u8) -> Genotype {
        Genotype::pair(AlleleId(a), AlleleId(b))
    }

    #[test]
    fn pairs_have_no_order_and_sides_do() {
        assert_eq!(pair(1, 0), pair(0, 1));
        let sided = |x, y| Genotype::sided(AlleleId(x), AlleleId(y));
        assert_ne!(sided(1, 0), sided(0, 1));
        assert_ne!(sided(0, 0), pair(0, 0));
        assert_eq!(pair(1, 1).copies_of(AlleleId(1)), 2);
        let written = [pair(2, 0), sided(1, 0), Genotype::sided(AlleleId(1), AlleleId::NONE)].map(|g| g.to_string());
        assert_eq!(written, ["0/2", "1|0", "1|-"]);
    }

    #[test]
    fn beliefs_sum_to_one_or_are_refused() {
        let mixed =
            Belief::mix([(pair(0, 1), odds(1, 3)), (pair(1, 0), odds(1, 3)), (pair(0, 0), odds(1, 3))]).unwrap();
        assert_eq!(mixed.chance_of(pair(0, 1)), odds(2, 3));
        assert_eq!(Belief::mix([(pair(0, 0), odds(1, 1)), (pair(1, 1), none())]), Ok(Belief::sure(pair(0, 0))));
        assert_eq!(Belief::mix([]), Err(BeliefError::NotOne { sum: none() }));
        assert_eq!(Belief::mix([(pair(0, 0), half())]), Err(BeliefError::NotOne { sum: half() }));
        let below = [(pair(0, 0), odds(3, 2)), (pair(0, 1), odds(-1, 2))];
        assert!(matches!(Belief::mix(below), Err(BeliefError::Negative { .. })));
    }

    #[test]
    fn learning_rescales_what_is_left() {
        let quarter = odds(1, 4);
        let young = [(pair(0, 0), quarter.clone()), (pair(0, 1), half()), (pair(1, 1), quarter)];
        let young = Belief::mix(young).unwrap();
        let normal = young.given(|g| g.copies_of(AlleleId(1)) < 2).unwrap();
        assert_eq!(normal.chance_of(pair(0, 1)), odds(2, 3));
        assert_eq!(young.given(|_| false), None);
        let known = young.map(|_| pair(0, 0)).known();
        assert_eq!(known, Some(pair(0, 0)));
    }
}
