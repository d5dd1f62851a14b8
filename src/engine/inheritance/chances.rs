//! Chances: what counts per egg, as a mixture over the parents' genotypes.
//!
//! In: [`Offspring`] and what is [`Wanted`]. Out: [`Chances`], which answer "at least one", "one of each sex", "how many eggs".
//! Invariant: the weights of the cases sum to exactly 1. An uncertain parent is the same parent for every egg, so
//! everything is mixed over the parents' genotypes first and over the eggs second.

use std::collections::BTreeMap;

use num_bigint::{BigInt, BigUint};
use num_integer::Integer;
use num_traits::{One, ToPrimitive, Zero};
use thiserror::Error;

use super::cross::Offspring;
use super::tries;
use super::wanted::{Share, Wanted, absent, at_locus, free_sexes};
use crate::engine::odds::{Odds, none, sure, to_f64};

/// The most different cases that a pair may have; beyond, the wish is refused.
pub const MOST_CASES: usize = 1 << 14;
/// The most bits of the exact power in one case, and of all cases together.
const MOST_BITS: u64 = 1 << 16;
const MOST_BITS_IN_ALL: u64 = 1 << 24;
/// The most eggs for which a whole distribution is given.
const MOST_EGGS_LISTED: u32 = 1000;

/// Why a clutch question cannot be answered.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ClutchError {
    /// A sex was asked for, but nothing is known of the sexes of the young.
    #[error("nothing is known of the sexes of the young")]
    NoSexes,
    /// The parents have more different cases than [`MOST_CASES`].
    #[error("the parents are too uncertain: more than {MOST_CASES} different cases")]
    TooManyCases,
    /// So many eggs that the exact fraction would fill pages; the functions in `_f64` still answer.
    #[error("{n_eggs} eggs are too many for an exact fraction")]
    TooManyEggs {
        /// How many.
        n_eggs: u64,
    },
    /// A chance outside `0..=1`.
    #[error("a chance of {chance} is not within 0 and 1")]
    NotAChance {
        /// What was given.
        chance: Odds,
    },
    /// A mean below 0, or outside the least and the greatest number of eggs.
    #[error("a mean of {mean} is below 0, or not between the least and the greatest number of eggs")]
    NotAMean {
        /// What was given.
        mean: Odds,
    },
}

/// One case of a mixture: a group of parental genotypes under which every egg has the same chances.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Case {
    /// The chance of this case; all sum to 1.
    pub weight: Odds,
    /// The chance that an egg counts.
    pub any: Odds,
    /// The chance that an egg counts and is male; 0 where nothing is known of sexes.
    pub male: Odds,
    /// The chance that an egg counts and is female; 0 where nothing is known of sexes.
    pub female: Odds,
}

/// The chances of a wish per egg, as a mixture over the parents' genotypes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chances {
    sexed: bool,
    weights_over: BigUint,
    shares_over: BigUint,
    cases: Vec<Counts>,
}

/// A case in whole numbers over the common denominators: (any, male) of an egg, and the weight.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Counts {
    any: BigUint,
    male: BigUint,
    weight: BigUint,
}

impl Chances {
    /// Mixes over what is believed of both parents; cases with equal chances are merged.
    ///
    /// # Errors
    /// [`ClutchError::NoSexes`], [`ClutchError::TooManyCases`].
    pub fn of(offspring: &Offspring, wanted: &Wanted) -> Result<Chances, ClutchError> {
        let fits = absent(offspring, wanted);
        let mut start = match free_sexes(offspring, wanted)? {
            Some(share) => BTreeMap::from([(share, fits)]),
            None => BTreeMap::from([(Share { any: sure(), male: sure() }, fits)]),
        };
        if start.values().all(Zero::is_zero) {
            start = BTreeMap::from([(Share { any: none(), male: none() }, sure())]);
        }
        let mut mixed = Chances::whole(&start, offspring.sexes.male.is_some());
        for factor in offspring.factors() {
            let here = Chances::whole(&at_locus(offspring, factor, wanted), true);
            let trivial = here.cases.iter().all(|case| case.any == here.shares_over && case.male == case.any);
            if !trivial {
                mixed = mixed.and(&here)?;
            }
        }
        Ok(mixed)
    }

    /// Whole numbers over common denominators, so that equal chances are equal numbers.
    fn whole(cases: &BTreeMap<Share, Odds>, sexed: bool) -> Chances {
        let lcm = |sum: BigInt, odds: &Odds| sum.lcm(odds.denom());
        let weights_over = cases.values().fold(BigInt::one(), lcm);
        let shares_over = cases.keys().flat_map(|share| [&share.any, &share.male]).fold(BigInt::one(), lcm);
        let scale = |odds: &Odds, over: &BigInt| (odds.numer() * (over / odds.denom())).magnitude().clone();
        let counts = cases.iter().filter(|(_, weight)| !weight.is_zero()).map(|(share, weight)| Counts {
            any: scale(&share.any, &shares_over),
            male: scale(&share.male, &shares_over),
            weight: scale(weight, &weights_over),
        });
        Chances {
            sexed,
            cases: counts.collect(),
            weights_over: weights_over.magnitude().clone(),
            shares_over: shares_over.magnitude().clone(),
        }
    }

    /// Both wishes together, from independent loci.
    fn and(&self, other: &Chances) -> Result<Chances, ClutchError> {
        let mut merged: BTreeMap<(BigUint, BigUint), BigUint> = BTreeMap::new();
        for a in &self.cases {
            for b in &other.cases {
                *merged.entry((&a.any * &b.any, &a.male * &b.male)).or_default() += &a.weight * &b.weight;
            }
            if merged.len() > MOST_CASES {
                return Err(ClutchError::TooManyCases);
            }
        }
        Ok(Chances {
            sexed: self.sexed,
            cases: merged.into_iter().map(|((any, male), weight)| Counts { any, male, weight }).collect(),
            weights_over: &self.weights_over * &other.weights_over,
            shares_over: &self.shares_over * &other.shares_over,
        })
    }

    /// The same eggs, each of which hatches with this chance, independently.
    ///
    /// # Errors
    /// [`ClutchError::NotAChance`] outside `0..=1`.
    pub fn hatching(&self, hatch: &Odds) -> Result<Chances, ClutchError> {
        within(hatch)?;
        let by = hatch.numer().magnitude();
        let cases = self.cases.iter().map(|case| Counts {
            any: &case.any * by,
            male: &case.male * by,
            weight: case.weight.clone(),
        });
        Ok(Chances {
            sexed: self.sexed,
            cases: cases.collect(),
            weights_over: self.weights_over.clone(),
            shares_over: &self.shares_over * hatch.denom().magnitude(),
        })
    }

    /// The cases, in fractions.
    pub fn cases(&self) -> impl Iterator<Item = Case> {
        self.cases.iter().map(|case| {
            let any = self.share(&case.any);
            let male = if self.sexed { self.share(&case.male) } else { none() };
            let female = if self.sexed { &any - &male } else { none() };
            Case { weight: fraction(&case.weight, &self.weights_over), any, male, female }
        })
    }

    fn share(&self, n: &BigUint) -> Odds {
        fraction(n, &self.shares_over)
    }

    /// Whether something is known of the sexes of the young.
    pub(super) fn is_sexed(&self) -> bool {
        self.sexed
    }

    /// The mean over the cases of a whole number over `over`.
    fn mean(&self, over: &BigUint, of: impl Fn(&Counts) -> BigUint) -> Odds {
        let sum: BigUint = self.cases.iter().map(|case| of(case) * &case.weight).sum();
        fraction(&sum, &(over * &self.weights_over))
    }

    /// The chance that one egg counts, exact.
    #[must_use]
    pub fn per_egg(&self) -> Odds {
        self.mean(&self.shares_over, |case| case.any.clone())
    }

    /// The expected number among `n_eggs` that count, exact.
    #[must_use]
    pub fn expected(&self, n_eggs: u64) -> Odds {
        self.per_egg() * Odds::from_integer(n_eggs.into())
    }

    /// The chance that at least one of `n_eggs` counts, exact.
    ///
    /// # Errors
    /// [`ClutchError::TooManyEggs`] if the fraction would be too long; see [`Chances::at_least_one_f64`].
    pub fn at_least_one(&self, n_eggs: u64) -> Result<Odds, ClutchError> {
        let n = self.exact(n_eggs)?;
        let over = self.shares_over.pow(n);
        Ok(self.mean(&over, |case| &over - (&self.shares_over - &case.any).pow(n)))
    }

    /// The chance that at least one of `n_eggs` counts, rounded.
    #[must_use]
    pub fn at_least_one_f64(&self, n_eggs: u64) -> f64 {
        self.mean_f64(|case| hit_f64(&case.any, n_eggs))
    }

    /// The chance that at least one male and one female of `n_eggs` count, exact; `None` where nothing is known of sexes.
    ///
    /// # Errors
    /// [`ClutchError::TooManyEggs`] if the fraction would be too long; see [`Chances::one_of_each_f64`].
    pub fn one_of_each(&self, n_eggs: u64) -> Result<Option<Odds>, ClutchError> {
        if !self.sexed {
            return Ok(None);
        }
        let n = self.exact(n_eggs)?;
        let over = self.shares_over.pow(n);
        let no = |count: &BigUint| (&self.shares_over - count).pow(n);
        Ok(Some(self.mean(&over, |case| {
            let female = &case.any - &case.male;
            &over + no(&case.any) - no(&case.male) - no(&female)
        })))
    }

    /// The chance that at least one male and one female of `n_eggs` count, rounded; `None` where nothing is known of sexes.
    #[must_use]
    pub fn one_of_each_f64(&self, n_eggs: u64) -> Option<f64> {
        let each = |case: &Case| {
            let [any, male, female] = [&case.any, &case.male, &case.female].map(|q| hit_f64(q, n_eggs));
            (male + female - any).max(0.0)
        };
        self.sexed.then(|| self.mean_f64(each))
    }

    /// The chances that exactly 0, 1, … `n_eggs` of the eggs count, exact, sum 1.
    ///
    /// # Errors
    /// [`ClutchError::TooManyEggs`] above 1000 eggs, or if the fractions would be too long.
    pub fn distribution(&self, n_eggs: u32) -> Result<Vec<Odds>, ClutchError> {
        let n = self.exact(n_eggs.into())?;
        if n > MOST_EGGS_LISTED {
            return Err(ClutchError::TooManyEggs { n_eggs: n_eggs.into() });
        }
        let over = self.shares_over.pow(n);
        let mut ways = BigUint::one();
        let mut chances = Vec::new();
        for k in 0..=n {
            if k > 0 {
                ways = ways * (n - k + 1) / k;
            }
            chances.push(self.mean(&over, |case| &ways * case.any.pow(k) * (&self.shares_over - &case.any).pow(n - k)));
        }
        Ok(chances)
    }

    /// The limit of the chance of at least one with ever more eggs of this pair, exact.
    #[must_use]
    pub fn reach(&self) -> Odds {
        self.mean(&BigUint::one(), |case| if case.any.is_zero() { BigUint::zero() } else { BigUint::one() })
    }

    /// The least number of eggs with a chance of at least `level` that one of them counts, exact.
    ///
    /// `None` if `level` is not below [`Chances::reach`], or the number is beyond `u64`
    /// (see [`Chances::eggs_for_any_level`]).
    #[must_use]
    pub fn eggs_for(&self, level: &Odds) -> Option<u64> {
        self.eggs_for_any_level(level)?.to_u64()
    }

    /// As [`Chances::eggs_for`], however large the number.
    #[must_use]
    pub fn eggs_for_any_level(&self, level: &Odds) -> Option<BigUint> {
        let cases: Vec<_> = self.cases().map(|case| (case.weight, case.any)).collect();
        tries::least(&cases, level)
    }

    /// The cases' weights, each with its chance that at least one of `n_eggs` counts: exact, or rounded where that
    /// would be too long.
    pub(super) fn hit_by_case(&self, n_eggs: u64) -> Vec<(Odds, Odds)> {
        let exact = self.exact(n_eggs);
        let over = exact.clone().map(|n| self.shares_over.pow(n));
        let cases = self.cases.iter().map(|case| {
            let hit = match (&exact, &over) {
                (Ok(n), Ok(over)) => fraction(&(over - (&self.shares_over - &case.any).pow(*n)), over),
                _ => from_f64(hit_f64(&self.share(&case.any), n_eggs)),
            };
            (fraction(&case.weight, &self.weights_over), hit)
        });
        cases.collect()
    }

    pub(super) fn mean_f64(&self, of: impl Fn(&Case) -> f64) -> f64 {
        self.cases().map(|case| to_f64(&case.weight) * of(&case)).sum::<f64>().clamp(0.0, 1.0)
    }

    /// The exponent of an exact power, or why there is none.
    fn exact(&self, n_eggs: u64) -> Result<u32, ClutchError> {
        let bits = self.shares_over.bits().saturating_mul(n_eggs);
        let in_all = bits.saturating_mul(self.cases.len() as u64);
        let fits = bits <= MOST_BITS && in_all <= MOST_BITS_IN_ALL;
        u32::try_from(n_eggs).ok().filter(|_| fits).ok_or(ClutchError::TooManyEggs { n_eggs })
    }
}

pub(super) fn within(chance: &Odds) -> Result<(), ClutchError> {
    if *chance < none() || *chance > sure() {
        return Err(ClutchError::NotAChance { chance: chance.clone() });
    }
    Ok(())
}

pub(super) fn fraction(n: &BigUint, d: &BigUint) -> Odds {
    Odds::new(BigInt::from(n.clone()), BigInt::from(d.clone()))
}

/// 1 - (1 - q)^n, rounded.
pub(super) fn hit_f64(q: &Odds, n: u64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "beyond 2^53 eggs the rounding is far below the answer's own")]
    let n = n as f64;
    if q.is_zero() || n == 0.0 { 0.0 } else { -(tries::ln_miss(q) * n).exp_m1() }
}

/// A rounded chance as a fraction, for the search of a least number.
pub(super) fn from_f64(chance: f64) -> Odds {
    Odds::from_float(chance).unwrap_or_else(none)
}
