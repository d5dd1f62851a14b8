//! What is believed of several animals at one locus, all together.
//!
//! Relatives' genotypes hang together, so a belief is a weight for each combination of genotypes, not for each animal.
//! Loci are independent of one another and have a belief each. Weights are floating point; they sum to 1 after [`Joint::rescale`].

use rustc_hash::FxHashMap;

/// A set of genotypes, by their numbers.
pub(super) type Mask = [u64; 3];

/// All genotypes.
pub(super) const ANY: Mask = [u64::MAX; 3];

pub(super) fn holds(mask: &Mask, genotype: u8) -> bool {
    mask[usize::from(genotype / 64)] >> (genotype % 64) & 1 == 1
}

pub(super) fn mask_of(genotypes: impl Iterator<Item = u8>) -> Mask {
    let mut mask = [0; 3];
    for genotype in genotypes {
        mask[usize::from(genotype / 64)] |= 1 << (genotype % 64);
    }
    mask
}

/// The belief ran over what can be held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct TooMany;

/// The most combinations of one belief.
const MOST_CASES: usize = 1 << 17;

/// The belief of one locus.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Joint {
    bits: u32, // of a genotype's number
    n: usize,
    /// Combinations, one number each, sorted; the first animal in the lowest bits.
    cases: Vec<(u128, f64)>,
}

impl Joint {
    /// Of nobody, at a locus with so many genotypes.
    pub(super) fn new(n_genotypes: usize) -> Joint {
        let bits = usize::BITS - n_genotypes.saturating_sub(1).leading_zeros();
        Joint { bits: bits.max(1), n: 0, cases: vec![(0, 1.0)] }
    }

    pub(super) fn cases(&self) -> &[(u128, f64)] {
        &self.cases
    }

    /// The genotype of an animal in a case.
    pub(super) fn genotype(&self, case: u128, animal: usize) -> u8 {
        let shift = self.bits * u32::try_from(animal).unwrap_or(0);
        // At most 8 bits are left.
        u8::try_from(case >> shift & ((1 << self.bits) - 1)).unwrap_or(0)
    }

    fn placed(&self, genotype: u8, animal: usize) -> u128 {
        u128::from(genotype) << (self.bits * u32::try_from(animal).unwrap_or(0))
    }

    /// Adds an animal, whose genotypes and their chances may hang on the others'.
    pub(super) fn push(&mut self, genotypes: impl Fn(&Joint, u128, &mut Vec<(u8, f64)>)) -> Result<(), TooMany> {
        if self.bits as usize * (self.n + 1) > 128 {
            return Err(TooMany);
        }
        let mut here = Vec::new();
        let mut cases = Vec::with_capacity(self.cases.len());
        for &(case, weight) in &self.cases {
            here.clear();
            genotypes(self, case, &mut here);
            cases.extend(here.iter().map(|&(g, share)| (case | self.placed(g, self.n), weight * share)));
            if cases.len() > MOST_CASES {
                return Err(TooMany);
            }
        }
        cases.retain(|(_, weight)| *weight > 0.0);
        self.cases = cases;
        self.n += 1;
        self.sort();
        Ok(())
    }

    /// Weighs every case.
    pub(super) fn weigh(&mut self, likelihood: impl Fn(&Joint, u128) -> f64) {
        let weights: Vec<f64> = self.cases.iter().map(|&(case, weight)| weight * likelihood(self, case)).collect();
        for (case, weight) in self.cases.iter_mut().zip(weights) {
            case.1 = weight;
        }
        self.cases.retain(|(_, weight)| *weight > 0.0);
    }

    /// Makes the weights sum to 1; gives what they summed to.
    pub(super) fn rescale(&mut self) -> f64 {
        let sum: f64 = self.cases.iter().map(|(_, weight)| weight).sum();
        if sum > 0.0 {
            for (_, weight) in &mut self.cases {
                *weight /= sum;
            }
        }
        sum
    }

    /// The belief of some of the animals, in the order given.
    pub(super) fn of(&self, animals: &[usize]) -> Joint {
        let mut merged: FxHashMap<u128, f64> = FxHashMap::default();
        for &(case, weight) in &self.cases {
            let picked = animals.iter().enumerate();
            let own = picked.map(|(place, &animal)| self.placed(self.genotype(case, animal), place)).sum();
            *merged.entry(own).or_insert(0.0) += weight;
        }
        let mut joint = Joint { bits: self.bits, n: animals.len(), cases: merged.into_iter().collect() };
        joint.sort();
        joint
    }

    /// The chances of one animal's genotypes.
    pub(super) fn marginal(&self, animal: usize) -> Vec<(u8, f64)> {
        let of_one = self.of(&[animal]);
        of_one.cases.iter().map(|&(case, weight)| (of_one.genotype(case, 0), weight)).collect()
    }

    /// The genotypes that an animal may have.
    pub(super) fn support(&self, animal: usize) -> Mask {
        mask_of(self.cases.iter().map(|&(case, _)| self.genotype(case, animal)))
    }

    fn sort(&mut self) {
        self.cases.sort_unstable_by_key(|(case, _)| *case);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn relatives_hang_together() {
        let mut joint = Joint::new(3);
        joint.push(|_, _, here| here.extend([(0, 0.5), (1, 0.5)])).unwrap();
        // Twins: the same genotype.
        joint.push(|joint, case, here| here.push((joint.genotype(case, 0), 1.0))).unwrap();
        assert_eq!(joint.cases().len(), 2);
        joint.weigh(|joint, case| if joint.genotype(case, 0) == 1 { 0.25 } else { 0.75 });
        assert!((joint.rescale() - 0.5).abs() < 1e-15);
        assert_eq!(joint.marginal(1), [(0, 0.75), (1, 0.25)]);
        assert_eq!(joint.of(&[1]), joint.of(&[0]));
        assert!(holds(&joint.support(1), 1) && !holds(&joint.support(1), 2));
    }

    #[test]
    fn what_cannot_be_held_is_said() {
        let mut joint = Joint::new(3);
        for _ in 0..64 {
            joint.push(|_, _, here| here.push((2, 1.0))).unwrap();
        }
        assert_eq!(joint.push(|_, _, here| here.push((2, 1.0))), Err(TooMany));
        let mut many = Joint::new(4);
        let all = |_: &Joint, _: u128, here: &mut Vec<(u8, f64)>| here.extend((0..4).map(|g| (g, 0.25)));
        assert_eq!((0..20).find(|_| many.push(all).is_err()), Some(8));
    }
}
