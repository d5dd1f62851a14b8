//! Clutches: several eggs of one pair of parents.
//!
//! In: [`Offspring`] and a wish. Out: chances per egg, per clutch, and how many are needed.
//! Invariant: the parents are the same animals for every egg, so every answer is taken for each possible pair of their
//! genotypes and mixed last; mixing per egg first would promise far too much.

use std::collections::{BTreeMap, HashMap};

use num_bigint::{BigInt, BigUint};
use num_integer::Integer;
use num_traits::{One, Zero};
use thiserror::Error;

use super::cross::{self, Factor, Offspring};
use super::genotype::Genotype;
use super::locus::{LocusId, Sex};
use super::needed::Repeated;
use crate::engine::odds::{self, Odds};

/// Which young count.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wanted {
    genotypes: BTreeMap<LocusId, Vec<Genotype>>,
    sex: Option<Sex>,
}

impl Wanted {
    /// All live young.
    #[must_use]
    pub fn any() -> Self {
        Self::default()
    }

    /// Only those with one of these genotypes at this locus.
    #[must_use]
    pub fn with(mut self, locus: LocusId, genotypes: Vec<Genotype>) -> Self {
        self.genotypes.insert(locus, genotypes);
        self
    }

    /// Only those of this sex. Nothing counts where the sex of eggs is not known at all.
    #[must_use]
    pub fn of_sex(mut self, sex: Sex) -> Self {
        self.sex = Some(sex);
        self
    }

    fn counts(&self, locus: LocusId, genotype: Genotype) -> bool {
        self.genotypes.get(&locus).is_none_or(|wanted| wanted.contains(&genotype))
    }
}

/// How many young a clutch has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClutchSize {
    /// A known number of eggs.
    Eggs {
        /// Eggs laid.
        eggs: u32,
        /// The chance of each to hatch, 0 to 1.
        hatch: Odds,
        /// The chance that there is a clutch at all, 0 to 1.
        take: Odds,
    },
    /// A number of hatchlings that varies as Poisson's law has it.
    Poisson {
        /// Hatchlings on average.
        mean: Odds,
        /// The chance that there is a clutch at all, 0 to 1.
        take: Odds,
    },
}

/// Why clutch questions cannot be answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum ClutchError {
    /// The parents may be too many different pairs.
    #[error("the parents may be of {n} or more different kinds, at most {max} are weighed", max = Chances::MAX_PARTS)]
    TooUncertain {
        /// How many.
        n: usize,
    },
}

/// The chance that an egg lives and counts: exact, averaged over the parents' genotypes.
///
/// Not to be raised to the number of eggs: see [`Chances`].
#[must_use]
pub fn per_egg(offspring: &Offspring, wanted: &Wanted) -> Odds {
    let mut product = SexSplit::start(offspring, wanted);
    let mut denominator = product.start_denominator.clone();
    for factor in factors(offspring, wanted) {
        let q = split(&factor, wanted, factor.live.iter().map(|class| (class.sex, class.genotype, &class.weight)));
        product.value = product.value.times(&q);
        denominator *= &factor.denominator;
    }
    odds::share(&product.value.of(wanted.sex), &denominator)
}

/// The chances of both sexes and of all, in whole numbers over a denominator kept elsewhere.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Split {
    any: BigUint,
    male: BigUint,
    female: BigUint,
}

impl Split {
    fn times(&self, other: &Self) -> Self {
        Self { any: &self.any * &other.any, male: &self.male * &other.male, female: &self.female * &other.female }
    }

    fn of(&self, sex: Option<Sex>) -> BigUint {
        match sex {
            None => self.any.clone(),
            Some(Sex::Male) => self.male.clone(),
            Some(Sex::Female) => self.female.clone(),
        }
    }
}

/// Where the products begin: with the share of each sex, unless a sex-linked factor brings it along.
struct SexSplit {
    value: Split,
    start_denominator: BigUint,
}

impl SexSplit {
    fn start(offspring: &Offspring, wanted: &Wanted) -> Self {
        let one = BigUint::one();
        let linked = factors(offspring, wanted).iter().any(|factor| factor.linked);
        match offspring.genetics.sex() {
            _ if linked => Self {
                value: Split { any: one.clone(), male: one.clone(), female: one.clone() },
                start_denominator: one,
            },
            Some(sex) => {
                let share = sex.share_of_males();
                let (male, any) = (share.numer().magnitude().clone(), share.denom().magnitude().clone());
                let female = &any - &male;
                Self { value: Split { any: any.clone(), male, female }, start_denominator: any }
            }
            None => Self {
                value: Split { any: one.clone(), male: BigUint::zero(), female: BigUint::zero() },
                start_denominator: one,
            },
        }
    }
}

/// The factors that bear on the wish: wanted loci (wild ones if no parent lists them), loci that lose eggs, the sex-linked one.
fn factors(offspring: &Offspring, wanted: &Wanted) -> Vec<Factor> {
    let mut bearing: Vec<Factor> = offspring
        .factors
        .iter()
        .filter(|f| f.has_lethal || f.linked || wanted.genotypes.contains_key(&f.locus))
        .cloned()
        .collect();
    for &locus in wanted.genotypes.keys().filter(|&&id| offspring.factors.iter().all(|f| f.locus != id)) {
        bearing.extend(cross::factor(&offspring.genetics, locus, None, None));
    }
    bearing
}

fn split<'a>(
    factor: &Factor,
    wanted: &Wanted,
    live: impl Iterator<Item = (Option<Sex>, Genotype, &'a BigUint)>,
) -> Split {
    let mut sums = Split { any: BigUint::zero(), male: BigUint::zero(), female: BigUint::zero() };
    for (sex, _, weight) in live.filter(|(_, genotype, _)| wanted.counts(factor.locus, *genotype)) {
        sums.any += weight;
        if sex != Some(Sex::Female) {
            sums.male += weight;
        }
        if sex != Some(Sex::Male) {
            sums.female += weight;
        }
    }
    sums
}

/// The chance per egg for each possible pair of the parents' genotypes; pairs with the same chances are one entry.
#[derive(Debug, Clone)]
pub struct Chances {
    /// Weights over `total`, chances over `denominator`.
    parts: Vec<(BigUint, Split)>,
    total: BigUint,
    denominator: BigUint,
    sexed: bool,
}

impl Chances {
    /// The most kinds of parents that are weighed against one another.
    pub const MAX_PARTS: usize = 1 << 16;

    /// Weighs the parents' genotypes.
    ///
    /// # Errors
    /// [`ClutchError::TooUncertain`] beyond [`Chances::MAX_PARTS`] kinds of parents with different chances.
    pub fn of(offspring: &Offspring, wanted: &Wanted) -> Result<Self, ClutchError> {
        let start = SexSplit::start(offspring, wanted);
        let mut parts = vec![(BigUint::one(), start.value)];
        let (mut total, mut denominator) = (BigUint::one(), start.start_denominator);
        for factor in factors(offspring, wanted) {
            let (kinds, kinds_total, kinds_denominator) = kinds(offspring, &factor, wanted)?;
            parts = merged(parts.iter().flat_map(|(weight, q)| {
                kinds.iter().map(move |(kind_weight, kind_q)| (weight * kind_weight, q.times(kind_q)))
            }))?;
            total *= kinds_total;
            denominator *= kinds_denominator;
        }
        for (_, q) in &mut parts {
            match wanted.sex {
                None => {}
                Some(Sex::Male) => (q.any, q.female) = (q.male.clone(), BigUint::zero()),
                Some(Sex::Female) => (q.any, q.male) = (q.female.clone(), BigUint::zero()),
            }
        }
        parts.sort_by(|a, b| a.1.any.cmp(&b.1.any).then_with(|| a.1.male.cmp(&b.1.male)));
        Ok(Self { parts, total, denominator, sexed: offspring.genetics.sex().is_some() })
    }

    /// The same where each egg hatches with this chance, 0 to 1: an egg that does not hatch does not count.
    #[must_use]
    pub fn with_hatch(&self, hatch: &Odds) -> Self {
        let scale = hatch.numer().magnitude();
        let scaled = |q: &BigUint| q * scale;
        let parts = self.parts.iter().map(|(weight, q)| {
            let q = Split { any: scaled(&q.any), male: scaled(&q.male), female: scaled(&q.female) };
            (weight.clone(), q)
        });
        Self { parts: parts.collect(), denominator: &self.denominator * hatch.denom().magnitude(), ..self.clone() }
    }

    /// Whether the sex of eggs is known to be one or the other, so that [`Chances::one_of_each`] means something.
    #[must_use]
    pub fn is_sexed(&self) -> bool {
        self.sexed
    }

    /// The entries: weight of the parents, then the chance per egg of a wanted one, a wanted male, a wanted female. Exact.
    pub fn parts(&self) -> impl Iterator<Item = (Odds, Odds, Odds, Odds)> {
        let share = |q: &BigUint| odds::share(q, &self.denominator);
        self.parts
            .iter()
            .map(move |(weight, q)| (odds::share(weight, &self.total), share(&q.any), share(&q.male), share(&q.female)))
    }

    /// The chance per egg, averaged over the parents. Exact.
    #[must_use]
    pub fn per_egg(&self) -> Odds {
        let sum: BigUint = self.parts.iter().map(|(weight, q)| weight * &q.any).sum();
        odds::share(&sum, &(&self.total * &self.denominator))
    }

    /// The chance of at least one wanted among `n_eggs`. Exact; the fraction's length grows with `n_eggs`.
    #[must_use]
    pub fn at_least_one(&self, n_eggs: u32) -> Odds {
        odds::sure() - self.mixed(n_eggs, |q| vec![(BigInt::one(), q.any.clone())])
    }

    /// The chances of 0, 1, … `n_eggs` wanted among `n_eggs`. Exact.
    #[must_use]
    pub fn distribution(&self, n_eggs: u32) -> Vec<Odds> {
        let whole = &self.total * self.denominator.pow(n_eggs);
        let mut sums = vec![BigUint::zero(); n_eggs as usize + 1];
        for (weight, q) in &self.parts {
            let hits = powers(&q.any, n_eggs);
            let misses = powers(&(&self.denominator - &q.any), n_eggs);
            let mut ways = BigUint::one();
            for k in 0..=n_eggs {
                sums[k as usize] += weight * &ways * &hits[k as usize] * &misses[(n_eggs - k) as usize];
                ways = ways * (n_eggs - k) / (k + 1); // the next binomial number, always whole
            }
        }
        sums.iter().map(|sum| odds::share(sum, &whole)).collect()
    }

    /// How many wanted `n_eggs` hold on average. Exact.
    #[must_use]
    pub fn expected(&self, n_eggs: u32) -> Odds {
        self.per_egg() * Odds::from_integer(n_eggs.into())
    }

    /// The chance of at least one wanted male and one wanted female among `n_eggs`. Exact; 0 if eggs have no known sex.
    #[must_use]
    pub fn one_of_each(&self, n_eggs: u32) -> Odds {
        if !self.sexed {
            return odds::none();
        }
        // 1 - (no male) - (no female) + (neither)
        let minus = self.mixed(n_eggs, |q| {
            let either = &q.male + &q.female;
            vec![(BigInt::one(), q.male.clone()), (BigInt::one(), q.female.clone()), (-BigInt::one(), either)]
        });
        odds::sure() - minus
    }

    /// The limit of [`Chances::at_least_one`] with ever more eggs: the weight of the parents that can give a wanted one.
    #[must_use]
    pub fn reach(&self) -> Odds {
        let able: BigUint = self.parts.iter().filter(|(_, q)| !q.any.is_zero()).map(|(weight, _)| weight).sum();
        odds::share(&able, &self.total)
    }

    /// The least number of eggs whose chance of at least one wanted is `level` or more.
    ///
    /// `None` if [`Chances::reach`] is not above the level, or the number is beyond 2⁶².
    #[must_use]
    pub fn eggs_for(&self, level: &Odds) -> Option<u64> {
        if *level >= self.reach() {
            return None;
        }
        let misses = self.parts.iter().map(|(weight, q)| (weight.clone(), &self.denominator - &q.any)).collect();
        Repeated::exact(misses, self.total.clone(), self.denominator.clone()).least_for(level)
    }

    /// The least number of tries for a clutch, each of this size, whose chance of at least one wanted is `level` or more.
    ///
    /// Exact for a known number of eggs, rounded as floating point for Poisson's law. `None` as for [`Chances::eggs_for`],
    /// or if such clutches never hold a young.
    #[must_use]
    pub fn clutches_for(&self, level: &Odds, size: &ClutchSize) -> Option<u64> {
        match size {
            ClutchSize::Eggs { eggs, hatch, take } => {
                let hatching = self.with_hatch(hatch);
                if *level >= hatching.reach() {
                    return None;
                }
                let misses = hatching.parts.iter().map(|(w, q)| (w.clone(), &hatching.denominator - &q.any)).collect();
                Repeated::exact(misses, hatching.total, hatching.denominator).in_clutches(*eggs, take).least_for(level)
            }
            ClutchSize::Poisson { mean, take } => {
                if *level >= self.reach() {
                    return None;
                }
                let (mean, take) = (odds::to_f64(mean), odds::to_f64(take));
                let misses = self.floats().map(|(weight, q, ..)| (weight, 1.0 + take * (-mean * q).exp_m1()));
                super::needed::least_for_f64(&misses.collect::<Vec<_>>(), odds::to_f64(level))
            }
        }
    }

    /// The mean over the parents of a signed sum of (1 - chance)^n.
    fn mixed(&self, n: u32, terms: impl Fn(&Split) -> Vec<(BigInt, BigUint)>) -> Odds {
        let mut sum = BigInt::zero();
        for (weight, q) in &self.parts {
            for (sign, chance) in terms(q) {
                sum += sign * BigInt::from(weight * (&self.denominator - chance).pow(n));
            }
        }
        Odds::new(sum, BigInt::from(&self.total * self.denominator.pow(n)))
    }

    /// Weight, any, male, female, rounded.
    fn floats(&self) -> impl Iterator<Item = (f64, f64, f64, f64)> {
        self.parts().map(|(weight, any, male, female)| {
            (odds::to_f64(&weight), odds::to_f64(&any), odds::to_f64(&male), odds::to_f64(&female))
        })
    }

    /// How many binary digits the denominator of an answer about `n_eggs` may have: what exactness costs.
    #[must_use]
    pub fn digits(&self, n_eggs: u32) -> u64 {
        self.total.bits().saturating_add(self.denominator.bits().saturating_mul(n_eggs.into()))
    }
}

/// A chance that is exact where that is affordable and possible, or else rounded.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// The exact fraction.
    Exact(Odds),
    /// The nearest floating-point number, good to about 12 digits.
    Rounded(f64),
}

impl Figure {
    /// The rounded value of either.
    #[must_use]
    pub fn to_f64(&self) -> f64 {
        match self {
            Self::Exact(exact) => odds::to_f64(exact),
            Self::Rounded(rounded) => *rounded,
        }
    }
}

/// Beyond this many binary digits fractions are rounded: nobody reads them and they take long to reduce.
const MAX_EXACT_DIGITS: u64 = 1 << 14;

impl Chances {
    /// The chance of at least one wanted in a clutch of this size.
    #[must_use]
    pub fn at_least_one_in(&self, size: &ClutchSize) -> Figure {
        match size {
            ClutchSize::Eggs { eggs, hatch, take } => {
                let hatching = self.with_hatch(hatch);
                if hatching.digits(*eggs) <= MAX_EXACT_DIGITS {
                    return Figure::Exact(take * hatching.at_least_one(*eggs));
                }
                let chance = hatching.floats().map(|(weight, any, ..)| -weight * miss_m1(any, *eggs)).sum::<f64>();
                Figure::Rounded(odds::to_f64(take) * chance)
            }
            ClutchSize::Poisson { mean, take } => {
                let mean = odds::to_f64(mean);
                let chance = self.floats().map(|(weight, any, ..)| -weight * (-mean * any).exp_m1()).sum::<f64>();
                Figure::Rounded(odds::to_f64(take) * chance)
            }
        }
    }

    /// The chance of at least one wanted male and one wanted female in a clutch of this size; `None` if eggs have no known sex.
    #[must_use]
    pub fn one_of_each_in(&self, size: &ClutchSize) -> Option<Figure> {
        if !self.sexed {
            return None;
        }
        Some(match size {
            ClutchSize::Eggs { eggs, hatch, take } => {
                let hatching = self.with_hatch(hatch);
                if hatching.digits(*eggs) <= MAX_EXACT_DIGITS {
                    return Some(Figure::Exact(take * hatching.one_of_each(*eggs)));
                }
                let chance = hatching.floats().map(|(weight, _, male, female)| {
                    weight * (miss_m1(male + female, *eggs) - miss_m1(male, *eggs) - miss_m1(female, *eggs))
                });
                Figure::Rounded(odds::to_f64(take) * chance.sum::<f64>())
            }
            ClutchSize::Poisson { mean, take } => {
                let mean = odds::to_f64(mean);
                // Under Poisson's law the numbers of males and of females are independent.
                let chance = self
                    .floats()
                    .map(|(weight, _, male, female)| weight * (-mean * male).exp_m1() * (-mean * female).exp_m1());
                Figure::Rounded(odds::to_f64(take) * chance.sum::<f64>())
            }
        })
    }

    /// How many wanted a clutch of this size holds on average. Exact.
    #[must_use]
    pub fn expected_in(&self, size: &ClutchSize) -> Odds {
        match size {
            ClutchSize::Eggs { eggs, hatch, take } => take * hatch * self.expected(*eggs),
            ClutchSize::Poisson { mean, take } => take * mean * self.per_egg(),
        }
    }

    /// The limit of the chance with ever more eggs of such clutches: 0 where no egg hatches.
    #[must_use]
    pub fn reach_in(&self, size: &ClutchSize) -> Odds {
        match size {
            ClutchSize::Eggs { hatch, .. } => self.with_hatch(hatch).reach(),
            ClutchSize::Poisson { .. } => self.reach(),
        }
    }

    /// The least number of eggs laid (`hatch` counts, `take` does not), or of hatchlings for Poisson's law.
    #[must_use]
    pub fn eggs_for_in(&self, level: &Odds, size: &ClutchSize) -> Option<u64> {
        match size {
            ClutchSize::Eggs { hatch, .. } => self.with_hatch(hatch).eggs_for(level),
            ClutchSize::Poisson { .. } => self.eggs_for(level),
        }
    }

    /// The exact chances of 0, 1, … `eggs` wanted in a clutch of a known number of eggs; `None` for Poisson's law, whose
    /// number has no end.
    #[must_use]
    pub fn distribution_in(&self, size: &ClutchSize) -> Option<Vec<Odds>> {
        let ClutchSize::Eggs { eggs, hatch, take } = size else { return None };
        let mut chances = self.with_hatch(hatch).distribution(*eggs);
        for chance in &mut chances {
            *chance *= take;
        }
        chances[0] += odds::sure() - take;
        Some(chances)
    }
}

/// (1 - q)^n - 1, without losing the small ones.
fn miss_m1(q: f64, n: u32) -> f64 {
    if n == 0 { 0.0 } else { (f64::from(n) * (-q).ln_1p()).exp_m1() }
}

fn powers(base: &BigUint, n: u32) -> Vec<BigUint> {
    std::iter::successors(Some(BigUint::one()), |power| Some(power * base)).take(n as usize + 1).collect()
}

type Kinds = (Vec<(BigUint, Split)>, BigUint, BigUint);

/// The different chances that one locus gives over the parents' genotypes, with weights; then the two denominators.
fn kinds(offspring: &Offspring, factor: &Factor, wanted: &Wanted) -> Result<Kinds, ClutchError> {
    let n = factor.n_pairs();
    if n > Chances::MAX_PARTS {
        return Err(ClutchError::TooUncertain { n });
    }
    let (tables, mut total, mut denominator) = factor.pair_tables(&offspring.genetics);
    let mut kinds = merged(tables.into_iter().map(|table| {
        let q = split(factor, wanted, table.live.iter().map(|(sex, genotype, weight)| (*sex, *genotype, weight)));
        (table.weight, q)
    }))?;
    // Small numbers now are small products later.
    let shared = kinds.iter().fold(denominator.clone(), |gcd, (_, q)| gcd.gcd(&q.any).gcd(&q.male).gcd(&q.female));
    let shared_weight = kinds.iter().fold(total.clone(), |gcd, (weight, _)| gcd.gcd(weight));
    for (weight, q) in &mut kinds {
        *weight /= &shared_weight;
        q.any /= &shared;
        q.male /= &shared;
        q.female /= &shared;
    }
    total /= shared_weight;
    denominator /= shared;
    Ok((kinds, total, denominator))
}

fn merged(parts: impl Iterator<Item = (BigUint, Split)>) -> Result<Vec<(BigUint, Split)>, ClutchError> {
    let mut sums = HashMap::<Split, BigUint>::new();
    for (weight, q) in parts {
        *sums.entry(q).or_default() += weight;
        if sums.len() > Chances::MAX_PARTS {
            return Err(ClutchError::TooUncertain { n: sums.len() });
        }
    }
    Ok(sums.into_iter().map(|(q, weight)| (weight, q)).collect())
}
