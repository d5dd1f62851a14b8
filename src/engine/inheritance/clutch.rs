//! Clutches: so many eggs of the same two parents, as a keeper counts them.
//!
//! In: [`Chances`] and a [`ClutchSize`]: counted eggs, the spread of a species, or a mean. Out: what one clutch gives and
//! how many clutches a certainty takes. The mixing over the parents' genotypes comes first (`chances`).

use num_bigint::BigUint;
use num_traits::ToPrimitive;

use super::chances::{from_f64, hit_f64, within};
use super::tries;
use crate::engine::odds::{Odds, none, sure, to_f64};

pub use super::chances::{Case, Chances, ClutchError, MOST_CASES};
pub use super::wanted::{Wanted, per_egg};

/// How many eggs or hatchlings a clutch has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClutchSize {
    /// So many eggs.
    Eggs {
        /// Eggs laid.
        eggs: u64,
        /// The chance that an egg hatches.
        hatch: Odds,
        /// The chance that there is a clutch at all.
        take: Odds,
    },
    /// Between a least and a greatest number of eggs, binomially around a mean: the spread of a species.
    Spread {
        /// Least number of eggs.
        low: u64,
        /// Greatest number of eggs.
        high: u64,
        /// Their mean, within `low..=high`.
        mean: Odds,
        /// The chance that an egg hatches.
        hatch: Odds,
        /// The chance that there is a clutch at all.
        take: Odds,
    },
    /// A Poisson number of hatchlings.
    Poisson {
        /// Their mean.
        mean: Odds,
        /// The chance that there is a clutch at all.
        take: Odds,
    },
}

impl ClutchSize {
    /// So many young for sure.
    #[must_use]
    pub fn young(n: u64) -> ClutchSize {
        ClutchSize::Eggs { eggs: n, hatch: sure(), take: sure() }
    }

    /// Whether the chances are chances.
    ///
    /// # Errors
    /// [`ClutchError::NotAChance`], [`ClutchError::NotAMean`].
    pub fn check(&self) -> Result<(), ClutchError> {
        match self {
            ClutchSize::Eggs { hatch, take, .. } => within(hatch).and_then(|()| within(take)),
            ClutchSize::Spread { low, high, mean, hatch, take } => {
                if *mean < Odds::from_integer((*low).into()) || *mean > Odds::from_integer((*high).into()) {
                    return Err(ClutchError::NotAMean { mean: mean.clone() });
                }
                within(hatch).and_then(|()| within(take))
            }
            ClutchSize::Poisson { mean, take } => {
                if *mean < none() {
                    return Err(ClutchError::NotAMean { mean: mean.clone() });
                }
                within(take)
            }
        }
    }

    /// The mean number of young, if there is a clutch; exact.
    #[must_use]
    pub fn mean_young(&self) -> Odds {
        match self {
            ClutchSize::Eggs { eggs, hatch, .. } => Odds::from_integer((*eggs).into()) * hatch,
            ClutchSize::Spread { mean, hatch, .. } => mean * hatch,
            ClutchSize::Poisson { mean, .. } => mean.clone(),
        }
    }

    /// The chance that none of a clutch counts if each young counts with chance `q`, rounded.
    fn miss_f64(&self, q: &Odds) -> f64 {
        match self {
            ClutchSize::Eggs { eggs, hatch, .. } => power_f64(&(q * hatch), *eggs),
            ClutchSize::Spread { low, high, mean, hatch, .. } => {
                // Each egg beyond the least is laid with the same chance, so both kinds of egg are independent tries.
                let free = high - low;
                let laid = if free == 0 {
                    none()
                } else {
                    (mean - Odds::from_integer((*low).into())) / Odds::from_integer(free.into())
                };
                let counts = q * hatch;
                power_f64(&counts, *low) * power_f64(&(counts * laid), free)
            }
            ClutchSize::Poisson { mean, .. } => (-to_f64(&(q * mean))).exp(),
        }
    }
}

/// (1 - q)^n, rounded.
fn power_f64(q: &Odds, n: u64) -> f64 {
    1.0 - hit_f64(q, n)
}

impl Chances {
    /// The least number of tried clutches with a chance of at least `level` that a young counts. Exact for counted
    /// eggs (unless they are too many for an exact fraction), rounded for the other sizes.
    ///
    /// `None` if no number of clutches is enough, or it is beyond `u64` (see [`Chances::clutches_for_any_level`]).
    ///
    /// # Errors
    /// As [`ClutchSize::check`].
    pub fn clutches_for(&self, level: &Odds, size: &ClutchSize) -> Result<Option<u64>, ClutchError> {
        Ok(self.clutches_for_any_level(level, size)?.and_then(|n| n.to_u64()))
    }

    /// As [`Chances::clutches_for`], however large the number.
    ///
    /// # Errors
    /// As [`ClutchSize::check`].
    pub fn clutches_for_any_level(&self, level: &Odds, size: &ClutchSize) -> Result<Option<BigUint>, ClutchError> {
        size.check()?;
        let cases: Vec<_> = match size {
            ClutchSize::Eggs { eggs, hatch, take } => {
                self.hatching(hatch)?.hit_by_case(*eggs).into_iter().map(|(weight, hit)| (weight, hit * take)).collect()
            }
            ClutchSize::Spread { take, .. } | ClutchSize::Poisson { take, .. } => {
                let hit = |q: &Odds| from_f64(1.0 - size.miss_f64(q)) * take;
                self.cases().map(|case| (case.weight, hit(&case.any))).collect()
            }
        };
        Ok(tries::least(&cases, level))
    }

    /// What one try for a clutch gives.
    ///
    /// # Errors
    /// As [`ClutchSize::check`].
    pub fn in_clutch(&self, size: &ClutchSize) -> Result<InClutch, ClutchError> {
        size.check()?;
        Ok(match size {
            ClutchSize::Eggs { eggs, hatch, take } => {
                let hatched = self.hatching(hatch)?;
                let rounded = |chance: f64| Figure::Rounded(chance * to_f64(take));
                let at_least_one = match hatched.at_least_one(*eggs) {
                    Ok(chance) => Figure::Exact(chance * take),
                    Err(_) => rounded(hatched.at_least_one_f64(*eggs)),
                };
                let one_of_each = match hatched.one_of_each(*eggs) {
                    Ok(chance) => chance.map(|chance| Figure::Exact(chance * take)),
                    Err(_) => hatched.one_of_each_f64(*eggs).map(rounded),
                };
                InClutch { at_least_one, one_of_each, expected: hatched.expected(*eggs) * take }
            }
            ClutchSize::Spread { take, .. } | ClutchSize::Poisson { take, .. } => {
                let take_f64 = to_f64(take);
                let any = |case: &Case| take_f64 * (1.0 - size.miss_f64(&case.any));
                let each = |case: &Case| {
                    let [any, male, female] = [&case.any, &case.male, &case.female].map(|q| size.miss_f64(q));
                    take_f64 * (1.0 - male - female + any).max(0.0)
                };
                InClutch {
                    at_least_one: Figure::Rounded(self.mean_f64(any)),
                    one_of_each: self.is_sexed().then(|| Figure::Rounded(self.mean_f64(each))),
                    expected: self.per_egg() * size.mean_young() * take,
                }
            }
        })
    }
}

/// What one try for a clutch gives.
#[derive(Debug, Clone, PartialEq)]
pub struct InClutch {
    /// The chance that at least one young counts.
    pub at_least_one: Figure,
    /// The chance that at least one male and one female count; `None` where nothing is known of sexes.
    pub one_of_each: Option<Figure>,
    /// The expected number of young that count, exact.
    pub expected: Odds,
}

/// A chance, exact where that is possible in reasonable length.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// An exact fraction.
    Exact(Odds),
    /// Rounded: a Poisson number of young, or very many eggs.
    Rounded(f64),
}

impl Figure {
    /// The nearest floating-point number.
    #[must_use]
    pub fn to_f64(&self) -> f64 {
        match self {
            Figure::Exact(odds) => to_f64(odds),
            Figure::Rounded(f) => *f,
        }
    }
}

#[cfg(test)]
mod tests {
    use num_bigint::BigInt;
    use num_traits::One;

    use super::*;
    use crate::engine::inheritance::cross::{Offspring, cross};
    use crate::engine::inheritance::genotype::{Belief, Genome, Genotype};
    use crate::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexLink, SexSystem};
    use crate::engine::odds::{half, odds};

    const HERE: LocusId = LocusId(0);

    fn pair(a: u8, b: u8) -> Genotype {
        Genotype::pair(AlleleId(a), AlleleId(b))
    }

    fn carriers(n: usize, sex: Option<SexSystem>) -> Offspring {
        let genetics = Genetics::new(vec![Locus::trade(&[Mode::Recessive]); n], sex).unwrap();
        let carrier: Genome = (0..).map(LocusId).take(n).map(|id| (id, Belief::sure(pair(0, 1)))).collect();
        cross(&genetics, &carrier, &carrier).unwrap()
    }

    fn visual(n: u16) -> Wanted {
        (0..n).fold(Wanted::any(), |wanted, i| wanted.with(LocusId(i), [pair(1, 1)]))
    }

    #[test]
    fn a_wanted_sex_needs_sexes() {
        let young = carriers(1, None);
        assert_eq!(per_egg(&young, &visual(1).of_sex(Sex::Male)), Err(ClutchError::NoSexes));
        assert_eq!(Chances::of(&young, &visual(1).of_sex(Sex::Male)), Err(ClutchError::NoSexes));
        assert_eq!(Chances::of(&young, &visual(1)).unwrap().one_of_each(4), Ok(None));
        let warm = carriers(1, Some(SexSystem::Chance { male: odds(1, 5) }));
        assert_eq!(per_egg(&warm, &visual(1).of_sex(Sex::Male)), Ok(odds(1, 20)));
        let case = Chances::of(&warm, &visual(1)).unwrap().cases().next().unwrap();
        assert_eq!((case.any, case.male, case.female), (odds(1, 4), odds(1, 20), odds(1, 5)));
    }

    #[test]
    fn a_locus_that_nobody_lists_is_wild() {
        let young = carriers(1, Some(SexSystem::Xy));
        let elsewhere = LocusId(7);
        assert_eq!(per_egg(&young, &visual(1).with(elsewhere, [pair(0, 1)])), Ok(none()));
        assert_eq!(Chances::of(&young, &visual(1).with(elsewhere, [pair(0, 1)])).unwrap().reach(), none());
        assert_eq!(per_egg(&young, &visual(1).with(elsewhere, [pair(0, 0)])), Ok(odds(1, 4)));

        let linked = Locus::trade(&[Mode::Recessive]).with_sex_link(SexLink::OnlyX);
        let genetics = Genetics::new(vec![linked], Some(SexSystem::Xy)).unwrap();
        let young = cross(&genetics, &Genome::wild(), &Genome::wild()).unwrap();
        // Plain wild pairs are the daughters' only.
        let daughters = Wanted::any().with(HERE, [pair(0, 0)]);
        assert_eq!(per_egg(&young, &daughters), Ok(half()));
        let case = Chances::of(&young, &daughters).unwrap().cases().next().unwrap();
        assert_eq!((case.male, case.female), (none(), half()));
    }

    #[test]
    fn forty_genes_overflow_nothing() {
        let chances = Chances::of(&carriers(40, Some(SexSystem::Xy)), &visual(40)).unwrap();
        assert_eq!(chances.per_egg(), Odds::new(1.into(), BigInt::one() << 80));
        assert_eq!(chances.eggs_for(&half()), None, "beyond u64");
        assert_eq!(chances.eggs_for_any_level(&half()).unwrap().bits(), 80);
        let six = chances.at_least_one(6).unwrap();
        assert!(six > none() && six < Odds::new(6.into(), BigInt::one() << 80));
    }

    #[test]
    fn too_many_eggs_are_refused_and_rounded() {
        let chances = Chances::of(&carriers(1, Some(SexSystem::Xy)), &visual(1)).unwrap();
        let n_eggs = u64::MAX;
        assert_eq!(chances.at_least_one(n_eggs), Err(ClutchError::TooManyEggs { n_eggs }));
        assert!((chances.at_least_one_f64(n_eggs) - 1.0).abs() < 1e-12);
        assert!(matches!(chances.distribution(5000), Err(ClutchError::TooManyEggs { .. })));
        let size = ClutchSize::young(n_eggs);
        assert!(matches!(chances.in_clutch(&size).unwrap().at_least_one, Figure::Rounded(_)));
        assert_eq!(chances.clutches_for(&odds(9, 10), &size), Ok(Some(1)));
    }

    #[test]
    fn what_is_no_clutch_is_refused() {
        let chances = Chances::of(&carriers(1, None), &visual(1)).unwrap();
        let odd = ClutchSize::Eggs { eggs: 1, hatch: odds(3, 2), take: sure() };
        assert_eq!(chances.in_clutch(&odd), Err(ClutchError::NotAChance { chance: odds(3, 2) }));
        let below = ClutchSize::Poisson { mean: odds(-1, 1), take: sure() };
        assert_eq!(chances.clutches_for(&half(), &below), Err(ClutchError::NotAMean { mean: odds(-1, 1) }));
        let never = ClutchSize::Poisson { mean: odds(5, 1), take: none() };
        assert_eq!(chances.clutches_for(&half(), &never), Ok(None));
    }

    #[test]
    fn a_spread_of_sizes_is_the_mean_over_them() {
        let chances = Chances::of(&carriers(1, Some(SexSystem::Xy)), &visual(1)).unwrap();
        // 3 to 5 eggs around 4: a quarter, a half, a quarter. Hatching 4/5, so each egg counts with 1/5; computed.
        let size = ClutchSize::Spread { low: 3, high: 5, mean: odds(4, 1), hatch: odds(4, 5), take: sure() };
        let miss = |q: f64| 0.25 * (1.0 - q).powi(3) + 0.5 * (1.0 - q).powi(4) + 0.25 * (1.0 - q).powi(5);
        let found = chances.in_clutch(&size).unwrap();
        assert!((found.at_least_one.to_f64() - (1.0 - miss(0.2))).abs() < 1e-12);
        let each = found.one_of_each.unwrap().to_f64();
        assert!((each - (1.0 - 2.0 * miss(0.1) + miss(0.2))).abs() < 1e-12);
        assert_eq!(found.expected, odds(4, 5));
        let clutches = (1..99).find(|k| 1.0 - miss(0.2).powi(*k) >= 0.9).unwrap();
        assert_eq!(chances.clutches_for(&odds(9, 10), &size), Ok(u64::try_from(clutches).ok()));
        let exact = ClutchSize::Spread { low: 4, high: 4, mean: odds(4, 1), hatch: sure(), take: sure() };
        let four = chances.in_clutch(&ClutchSize::young(4)).unwrap();
        assert!((chances.in_clutch(&exact).unwrap().at_least_one.to_f64() - four.at_least_one.to_f64()).abs() < 1e-12);
        let off = ClutchSize::Spread { low: 3, high: 5, mean: odds(6, 1), hatch: sure(), take: sure() };
        assert_eq!(chances.in_clutch(&off), Err(ClutchError::NotAMean { mean: odds(6, 1) }));
    }
}
