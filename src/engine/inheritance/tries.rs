//! Tries: the least number of independent tries that brings a mixture of chances to a level.
//!
//! Not stepped try by try: the number is bisected. Floating point decides where it is clear, whole numbers with an
//! error bound decide near the boundary.

use num_bigint::{BigInt, BigUint};
use num_traits::{One, Signed, ToPrimitive, Zero};

use crate::engine::odds::{Odds, none, sure, to_f64};

/// Bits beyond what the numbers themselves need, so that only an exact tie is taken for one.
const SPARE_BITS: u64 = 1024;
/// Below this a floating-point number is too near its smallest to be trusted.
const SMALLEST_F64: f64 = 1e-280;
/// How far apart two floating-point values must be, relatively, to be told apart by them alone.
const CLEAR: f64 = 1e-9;

/// The least t with `sum of weight * (1 - (1 - hit)^t) >= level`, over cases of (weight, chance to hit per try).
/// `None` if the sum of the weights that can hit is not above `level`.
pub(in crate::engine) fn least(cases: &[(Odds, Odds)], level: &Odds) -> Option<BigUint> {
    let mut able: Vec<&(Odds, Odds)> =
        cases.iter().filter(|(weight, hit)| !weight.is_zero() && hit.is_positive()).collect();
    let reach = able.iter().fold(none(), |sum, (weight, _)| sum + weight);
    // What may still be missing: the miss that can be afforded by those that can hit at all.
    let slack = &reach - level;
    if !slack.is_positive() {
        return None;
    }
    if !level.is_positive() {
        return Some(BigUint::zero());
    }
    // A case that hits for sure is never missed once there is a try; its base would be 0.
    able.retain(|(_, hit)| *hit < sure());
    let misses = Misses::new(&able, &slack);
    let mut high = BigUint::one();
    let mut low = BigUint::zero(); // not enough: level > 0
    while !misses.affordable(&high) {
        low.clone_from(&high);
        high <<= 1;
    }
    while &high - &low > BigUint::one() {
        let middle = (&high + &low) >> 1;
        if misses.affordable(&middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

struct Misses<'a> {
    cases: &'a [&'a (Odds, Odds)],
    slack: &'a Odds,
    /// (weight, ln of the chance to miss) and the slack, if floating point can hold them all.
    float: Option<(Vec<(f64, f64)>, f64)>,
}

impl<'a> Misses<'a> {
    fn new(cases: &'a [&'a (Odds, Odds)], slack: &'a Odds) -> Misses<'a> {
        let slack_f64 = to_f64(slack);
        let terms: Vec<(f64, f64)> = cases.iter().map(|(weight, hit)| (to_f64(weight), ln_miss(hit))).collect();
        let holds = slack_f64 > SMALLEST_F64
            && terms.iter().all(|(weight, ln)| *weight > SMALLEST_F64 && ln.is_finite() && *ln < -SMALLEST_F64);
        Misses { cases, slack, float: holds.then_some((terms, slack_f64)) }
    }

    /// Whether `tries` leave no greater chance of a miss than the slack.
    fn affordable(&self, tries: &BigUint) -> bool {
        if let (Some((terms, slack)), Some(n)) = (&self.float, tries.to_f64()) {
            let missed: f64 = terms.iter().map(|(weight, ln)| weight * (ln * n).exp()).sum();
            if missed < slack * (1.0 - CLEAR) {
                return true;
            }
            if missed > slack * (1.0 + CLEAR) && missed.is_finite() {
                return false;
            }
        }
        // Fixed point: whole numbers over 2^bits. A power of `tries` is off by less than 2 * tries + 2 units and so is
        // each weighted term; the weights sum to at most 1.
        let bits = SPARE_BITS + tries.bits() + self.slack.denom().bits();
        let fixed = |odds: &Odds| ((odds.numer() << bits) / odds.denom()).magnitude().clone();
        let missed: BigUint = self
            .cases
            .iter()
            .map(|(weight, hit)| (fixed(weight) * power(&fixed(&(sure() - hit)), tries, bits)) >> bits)
            .sum();
        let unsure = (tries + BigUint::from(self.cases.len() + 1)) << 3;
        BigInt::from(missed) - BigInt::from(fixed(self.slack)) <= BigInt::from(unsure)
    }
}

/// ln(1 - hit), accurate for small and for large hits.
pub(super) fn ln_miss(hit: &Odds) -> f64 {
    let f = to_f64(hit);
    if f < 0.5 { (-f).ln_1p() } else { to_f64(&(sure() - hit)).ln() }
}

/// `base^exponent` in fixed point, rounded down.
fn power(base: &BigUint, exponent: &BigUint, bits: u64) -> BigUint {
    let mut result = BigUint::one() << bits;
    for i in (0..exponent.bits()).rev() {
        result = (&result * &result) >> bits;
        if exponent.bit(i) {
            result = (&result * base) >> bits;
        }
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::odds::{half, odds};

    #[test]
    fn exact_ties_count_as_reached() {
        let coin = [(sure(), half())];
        assert_eq!(least(&coin, &odds(7, 8)), Some(3u8.into()));
        let hair = odds(7, 8) + Odds::new(1.into(), BigInt::one() << 500);
        assert_eq!(least(&coin, &hair), Some(4u8.into()));
        let below = odds(7, 8) - Odds::new(1.into(), BigInt::one() << 500);
        assert_eq!(least(&coin, &below), Some(3u8.into()));
    }

    #[test]
    fn agrees_with_counting_up() {
        let cases = [(odds(1, 3), odds(1, 4)), (odds(1, 3), odds(1, 64)), (odds(1, 6), sure()), (odds(1, 6), none())];
        for level in [(1, 10), (1, 5), (1, 2), (3, 4), (4, 5), (83, 100)] {
            let level = odds(level.0, level.1);
            let chance = |t: usize| {
                let hit = |hit: &Odds| sure() - num_traits::pow(sure() - hit, t);
                cases.iter().fold(none(), |sum, (weight, h)| sum + weight * hit(h))
            };
            let counted = (0..1000).find(|&t| chance(t) >= level).map(BigUint::from);
            assert_eq!(least(&cases, &level), counted, "{level}");
        }
        assert_eq!(least(&cases, &odds(5, 6)), None);
    }

    #[test]
    fn tiny_chances_need_huge_numbers_without_counting() {
        let q = Odds::new(1.into(), BigInt::from(4).pow(40));
        let n = least(&[(sure(), q)], &odds(19, 20)).unwrap().to_f64().unwrap();
        // -ln(1/20) * 4^40, computed.
        assert!((n / (20f64.ln() * 4f64.powi(40)) - 1.0).abs() < 1e-12, "{n}");
        let q = Odds::new(1.into(), BigInt::from(4).pow(100));
        assert!(least(&[(sure(), q)], &odds(1, 2)).unwrap().bits() > 190);
    }
}
