//! What hatches: how many young a clutch has, and what the young of two kinds are.

use std::collections::BTreeSet;

use super::super::Animal;
use super::super::Tell;
use super::super::kinds::Kinds;
use super::{MOST_EGGS, MOST_KINDS, ProjectError};
use crate::engine::inheritance::clutch::{ClutchSize, Wanted};
use crate::engine::inheritance::locus::{Genetics, LocusId, Sex};
use crate::engine::odds::{Odds, none, to_f64};

/// What of a Poisson number is left out above.
const TAIL: f64 = 1e-13;

/// A species and a clutch size, reduced to what a goal needs.
#[derive(Debug)]
pub(in crate::engine::planning) struct World {
    pub(in crate::engine::planning) kinds: Kinds,
    goal_sex: Option<Sex>,
    /// The chance of each number of hatchlings, no clutch included.
    pub(in crate::engine::planning) hatchlings: Vec<f64>,
}

/// One kind of young that does not end the project.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::engine::planning) struct Young {
    pub(in crate::engine::planning) sex: Sex,
    pub(in crate::engine::planning) code: u64,
    /// Its share of the hatchlings, those lost to lethal genotypes counted in.
    pub(in crate::engine::planning) share: f64,
}

/// The young of a pair; the shares that are missing to 1 are lost.
#[derive(Debug, Clone, Default)]
pub(in crate::engine::planning) struct Litter {
    pub(in crate::engine::planning) goal: f64,
    pub(in crate::engine::planning) young: Vec<Young>,
}

impl World {
    /// `beside` are loci that matter beside those of the goal.
    pub(in crate::engine::planning) fn new(
        genetics: &Genetics,
        founders: &[&Animal],
        goal: &Wanted,
        clutch: &ClutchSize,
        beside: &BTreeSet<LocusId>,
    ) -> Result<World, ProjectError> {
        clutch.check()?;
        let goal_loci: BTreeSet<LocusId> = goal.loci().map(|(id, _)| id).collect();
        // A free locus without lethal genotypes changes nothing.
        let lethal = |id: LocusId| {
            genetics.locus(id).is_some_and(|locus| !locus.lethal().is_empty())
                && founders.iter().any(|founder| founder.genome.get(id).is_some())
        };
        let matters = |id: LocusId| goal_loci.contains(&id) || beside.contains(&id) || lethal(id);
        let kinds = Kinds::new(genetics, founders, goal, Tell::Genotype, &matters)?;
        if kinds.count() > MOST_KINDS {
            return Err(ProjectError::TooManyKinds { n: kinds.count() });
        }
        Ok(World { kinds, goal_sex: goal.sex(), hatchlings: hatchlings(clutch)? })
    }

    /// Whether a goal may be of this sex.
    pub(super) fn is_sex_wanted(&self, sex: Sex) -> bool {
        self.goal_sex.is_none_or(|wanted| wanted == sex)
    }

    /// The share of the hatchlings of a pair that end the project.
    pub(in crate::engine::planning) fn goal(&self, sire: u64, dam: u64) -> f64 {
        if !self.kinds.missing.is_empty() {
            return 0.0;
        }
        let of_sex = |sex: Sex| {
            let wanted = self.kinds.loci().iter().map(|locus| {
                let [sire, dam] = [sire, dam].map(|kind| u8::try_from(locus.number(kind)).unwrap_or(0));
                locus.give(sire, dam, sex).wanted
            });
            self.kinds.open_share_of(sex) * wanted.product::<f64>()
        };
        [Sex::Female, Sex::Male].into_iter().filter(|sex| self.is_sex_wanted(*sex)).map(of_sex).sum()
    }

    /// All living young of a pair: kind, sex, whether it is the goal, and its share of the hatchlings.
    pub(super) fn all_young(&self, sire: u64, dam: u64) -> Vec<((u64, Sex, bool), f64)> {
        let of_sex = |sex: Sex| {
            let wanted = self.is_sex_wanted(sex);
            let young = self.kinds.young(sire, dam, sex).into_iter();
            young.map(move |child| ((child.code, sex, wanted && self.kinds.is_wanted(child.code)), child.share))
        };
        [Sex::Female, Sex::Male].into_iter().flat_map(of_sex).collect()
    }

    pub(in crate::engine::planning) fn litter(&self, sire: u64, dam: u64) -> Litter {
        let mut litter = Litter::default();
        for ((code, sex, is_goal), share) in self.all_young(sire, dam) {
            if is_goal {
                litter.goal += share;
            } else {
                litter.young.push(Young { sex, code, share });
            }
        }
        litter
    }

    /// The chance that a clutch holds a young of this share.
    pub(in crate::engine::planning) fn some(&self, share: f64) -> f64 {
        let mut none = 0.0;
        let mut power = 1.0;
        for chance in &self.hatchlings {
            none += chance * power;
            power *= 1.0 - share;
        }
        1.0 - none
    }
}

/// The chances of 0, 1, … hatchlings from eggs of two kinds, each hatching with the chance of its kind.
fn tries(eggs: u64, hatch: f64, others: u64, other_hatch: f64) -> Result<Vec<f64>, ProjectError> {
    let all = eggs.saturating_add(others);
    let n = usize::try_from(all).ok().filter(|_| all <= MOST_EGGS).ok_or(ProjectError::Eggs)?;
    let first = usize::try_from(eggs).map_err(|_| ProjectError::Eggs)?;
    let mut chances = vec![0.0; n + 1];
    chances[0] = 1.0;
    for laid in 1..=n {
        let hatch = if laid <= first { hatch } else { other_hatch };
        for hatched in (0..=laid).rev() {
            let from_before = if hatched > 0 { chances[hatched - 1] * hatch } else { 0.0 };
            chances[hatched] = chances[hatched] * (1.0 - hatch) + from_before;
        }
    }
    Ok(chances)
}

fn hatchlings(clutch: &ClutchSize) -> Result<Vec<f64>, ProjectError> {
    let (take, mut chances) = match clutch {
        ClutchSize::Eggs { eggs, hatch, take } => (take, tries(*eggs, to_f64(hatch), 0, 0.0)?),
        ClutchSize::Spread { low, high, mean, hatch, take } => {
            // Each egg beyond the least is laid with the same chance, so both kinds of egg are independent tries.
            let free = high - low;
            let laid = if free == 0 {
                0.0
            } else {
                to_f64(&((mean - Odds::from_integer((*low).into())) / Odds::from_integer(free.into())))
            };
            (take, tries(*low, to_f64(hatch), free, to_f64(hatch) * laid)?)
        }
        ClutchSize::Poisson { mean, take } => {
            let mean = to_f64(mean);
            // 256 is exact as a floating-point number.
            if mean > MOST_EGGS as f64 {
                return Err(ProjectError::Eggs);
            }
            let mut chances = Vec::new();
            let mut term = (-mean).exp();
            let mut left = 1.0;
            for n in 1u32.. {
                chances.push(term);
                left -= term;
                term *= mean / f64::from(n);
                if f64::from(n) > mean && left < TAIL || term <= 0.0 {
                    break;
                }
            }
            (take, chances)
        }
    };
    if *take > none() || !chances.is_empty() {
        let take = to_f64(take);
        for chance in &mut chances {
            *chance *= take;
        }
        let in_all: f64 = chances.iter().skip(1).sum();
        // What rounding and the tail leave is no young, which is the careful side.
        chances[0] = 1.0 - in_all;
    }
    Ok(chances)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::odds::{odds, sure};

    #[test]
    fn numbers_of_hatchlings_sum_to_one() {
        let eggs = ClutchSize::Eggs { eggs: 3, hatch: odds(1, 2), take: odds(1, 2) };
        assert_eq!(hatchlings(&eggs).unwrap(), [0.5625, 0.1875, 0.1875, 0.0625]);
        let poisson = hatchlings(&ClutchSize::Poisson { mean: odds(11, 2), take: sure() }).unwrap();
        let mean: f64 = poisson.iter().enumerate().map(|(n, p)| f64::from(u32::try_from(n).unwrap()) * p).sum();
        assert!((mean - 5.5).abs() < 1e-9 && (poisson.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let empty = hatchlings(&ClutchSize::Poisson { mean: none(), take: sure() }).unwrap();
        assert!((empty.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(hatchlings(&ClutchSize::young(1000)).is_err());
    }
}
