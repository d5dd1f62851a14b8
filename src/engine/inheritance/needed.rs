//! How many repetitions bring a chance to a level, when each repetition misses with a chance that is itself uncertain.
//!
//! In: weights and chances of a miss. Out: the least number, decided exactly.
//! How: floating point says where to look; fixed point with 256 binary digits and a known slack decides there; only where
//! the level lies within the slack (a tie) are the exact powers worked out.

use num_bigint::BigUint;
use num_traits::{One, ToPrimitive, Zero};

use crate::engine::odds::{self, Odds};

/// Binary digits after the point.
const DIGITS: u64 = 256;
/// The largest number that is looked for.
const LARGEST: u64 = 1 << 62;
/// Exact powers are worked out up to this many binary digits.
const MAX_EXACT_DIGITS: u64 = 1 << 20;

/// A number of 0 to 1 known to lie between `low` and `low + slack`, both in units of 2^-256.
#[derive(Debug, Clone)]
struct Near {
    low: BigUint,
    slack: BigUint,
}

impl Near {
    fn of(numerator: &BigUint, denominator: &BigUint) -> Self {
        Self { low: (numerator << DIGITS) / denominator, slack: BigUint::one() }
    }

    fn one() -> Self {
        Self { low: BigUint::one() << DIGITS, slack: BigUint::zero() }
    }

    /// Both factors are at most 1, so the product lacks at most what both lack, and one unit is cut off.
    fn times(&self, other: &Self) -> Self {
        Self { low: (&self.low * &other.low) >> DIGITS, slack: &self.slack + &other.slack + 1_u8 }
    }

    fn pow(&self, mut n: u64) -> Self {
        let (mut power, mut square) = (Self::one(), self.clone());
        loop {
            if n & 1 == 1 {
                power = power.times(&square);
            }
            n >>= 1;
            if n == 0 {
                return power;
            }
            square = square.times(&square);
        }
    }
}

/// A trial that is repeated: for each kind of parents its weight and the chance of a miss.
pub(super) struct Repeated {
    total: BigUint,
    misses: Vec<(BigUint, Near)>,
    /// The same chances as whole numbers over one denominator, if these are affordable.
    exact: Option<(Vec<BigUint>, BigUint)>,
}

impl Repeated {
    /// Weights over `total`, misses over `denominator`.
    pub(super) fn exact(misses: Vec<(BigUint, BigUint)>, total: BigUint, denominator: BigUint) -> Self {
        let near = misses.iter().map(|(weight, miss)| (weight.clone(), Near::of(miss, &denominator))).collect();
        let exact = misses.into_iter().map(|(_, miss)| miss).collect();
        Self { total, misses: near, exact: Some((exact, denominator)) }
    }

    /// The trial "one clutch of `eggs`, if it is laid at all", from the trial "one egg".
    pub(super) fn in_clutches(self, eggs: u32, take: &Odds) -> Self {
        let (taken, tries) = (take.numer().magnitude(), take.denom().magnitude());
        let untaken = tries - taken;
        let misses = self.misses.iter().map(|(weight, miss)| {
            let clutch = miss.pow(eggs.into());
            // 1 - take + take * miss, where take is at most 1
            let low = (&untaken << DIGITS) + taken * clutch.low;
            (weight.clone(), Near { low: low / tries, slack: clutch.slack + 1_u8 })
        });
        let exact = self.exact.as_ref().and_then(|(misses, denominator)| {
            if denominator.bits().saturating_mul(eggs.into()) > MAX_EXACT_DIGITS {
                return None;
            }
            let whole = denominator.pow(eggs);
            let clutch = misses.iter().map(|miss| &untaken * &whole + taken * miss.pow(eggs)).collect();
            Some((clutch, whole * tries))
        });
        Self { misses: misses.collect(), exact, total: self.total }
    }

    /// The least number of repetitions that bring the chance of at least one hit to `level` or more.
    pub(super) fn least_for(&self, level: &Odds) -> Option<u64> {
        let scale = BigUint::one() << DIGITS;
        let floats: Vec<(f64, f64)> = self
            .misses
            .iter()
            .map(|(weight, miss)| {
                (odds::to_f64(&odds::share(weight, &self.total)), odds::to_f64(&odds::share(&miss.low, &scale)))
            })
            .collect();
        let guess = least_for_f64(&floats, odds::to_f64(level)).unwrap_or(LARGEST);
        // From the guess outwards in growing steps, then halving: the guess saves time and decides nothing.
        let (mut enough, mut short);
        let mut step = 1;
        if self.suffices(guess, level) {
            enough = guess;
            loop {
                if enough == 0 {
                    return Some(0);
                }
                short = enough.saturating_sub(step);
                if !self.suffices(short, level) {
                    break;
                }
                enough = short;
                step *= 2;
            }
        } else {
            short = guess;
            loop {
                if short >= LARGEST {
                    return None;
                }
                enough = short.saturating_add(step).min(LARGEST);
                if self.suffices(enough, level) {
                    break;
                }
                short = enough;
                step *= 2;
            }
        }
        while enough - short > 1 {
            let middle = short + (enough - short) / 2;
            if self.suffices(middle, level) { enough = middle } else { short = middle }
        }
        Some(enough)
    }

    fn suffices(&self, n: u64, level: &Odds) -> bool {
        let (hit, whole) = (level.numer().magnitude(), level.denom().magnitude());
        let allowed = ((whole - hit) * &self.total) << DIGITS;
        let (mut low, mut slack) = (BigUint::zero(), BigUint::zero());
        for (weight, miss) in &self.misses {
            let missed = miss.pow(n);
            low += weight * missed.low;
            slack += weight * missed.slack;
        }
        if &low * whole > allowed {
            return false;
        }
        if (low + slack) * whole <= allowed {
            return true;
        }
        // Within 2^-180 of the level. Ties happen where the level's fraction has as many digits as the power's, which a
        // level of a few hundred digits has only for powers that are affordable.
        match (&self.exact, u32::try_from(n)) {
            (Some((misses, denominator)), Ok(times)) if denominator.bits().saturating_mul(n) <= MAX_EXACT_DIGITS => {
                let missed: BigUint = self.misses.iter().zip(misses).map(|((w, _), miss)| w * miss.pow(times)).sum();
                missed * whole <= (whole - hit) * &self.total * denominator.pow(times)
            }
            _ => true,
        }
    }
}

/// The least number of repetitions, rounded: for chances that are themselves rounded. Weights sum to 1.
pub(super) fn least_for_f64(misses: &[(f64, f64)], level: f64) -> Option<u64> {
    let suffices = |n: u64| {
        let n = n.to_f64().unwrap_or(f64::INFINITY);
        let hit: f64 =
            misses.iter().map(|(weight, miss)| if n == 0.0 { 0.0 } else { -weight * (n * miss.ln()).exp_m1() }).sum();
        hit >= level
    };
    if !suffices(LARGEST) {
        return None;
    }
    let (mut short, mut enough) = (0, LARGEST);
    if suffices(0) {
        return Some(0);
    }
    while enough - short > 1 {
        let middle = short + (enough - short) / 2;
        if suffices(middle) { enough = middle } else { short = middle }
    }
    Some(enough)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::odds::odds;

    fn coin() -> Repeated {
        Repeated::exact(vec![(BigUint::one(), BigUint::one())], BigUint::one(), BigUint::from(2_u8))
    }

    #[test]
    fn a_tie_is_enough() {
        assert_eq!(coin().least_for(&odds(3, 4)), Some(2));
        assert_eq!(coin().least_for(&odds(3_000_001, 4_000_000)), Some(3));
        assert_eq!(coin().least_for(&odds(0, 1)), Some(0));
        let far = Odds::new(1.into(), num_bigint::BigInt::one() << 300_u32);
        assert_eq!(coin().least_for(&(odds(1, 1) - &far)), Some(300));
        assert_eq!(coin().in_clutches(2, &odds(1, 1)).least_for(&(odds(1, 1) - far)), Some(150));
    }

    #[test]
    fn a_clutch_that_is_never_laid_is_never_enough() {
        assert_eq!(coin().in_clutches(5, &odds(0, 1)).least_for(&odds(1, 2)), None);
        assert_eq!(coin().in_clutches(0, &odds(1, 1)).least_for(&odds(1, 2)), None);
    }

    #[test]
    fn rare_hits_need_many() {
        // ln 20 * 2^60 is 3.45e18; the linear approximation is good to a few repetitions.
        let rare = BigUint::one() << 60_u32;
        let trial = Repeated::exact(vec![(BigUint::one(), &rare - 1_u8)], BigUint::one(), rare.clone());
        let n = trial.least_for(&odds(19, 20)).expect("below the largest");
        let expected = 20_f64.ln() * 2_f64.powi(60);
        assert!((n.to_f64().expect("finite") / expected - 1.0).abs() < 1e-12, "{n}");
    }
}
