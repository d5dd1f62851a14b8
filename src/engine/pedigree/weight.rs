//! The numbers that evidence is counted in: whole numbers of any size, or floating point of any magnitude.
//!
//! Weights are never below 0 and only their ratios within one table matter, so tables may be scaled freely: exact
//! ones to whole numbers. Sums and products of numbers that are not negative lose nothing by cancellation, so with
//! [`Wide`] a relative error of 2^-53 per operation is all there is.

use num_bigint::BigUint;
use num_integer::Integer;
use num_traits::{One, ToPrimitive, Zero};

use crate::engine::inheritance::clutch::Figure;
use crate::engine::odds::{Odds, none};

/// A number to weigh cases with.
pub(super) trait Weight: Clone {
    fn zero() -> Self;
    fn one() -> Self;
    fn is_zero(&self) -> bool;
    fn add(&mut self, other: &Self);
    fn times(&self, other: &Self) -> Self;
    /// A whole number.
    fn whole(value: &BigUint) -> Self;
    /// The same ratios, in this kind of number.
    fn scaled(values: &[Odds]) -> Vec<Self>;
    /// Smaller numbers of the same ratios, where that is worth while.
    fn reduce(values: &mut [Self]);
    /// The share of each in the sum; all 0 if the sum is.
    fn shares(values: &[Self]) -> Vec<Figure>;

    fn power(&self, exponent: u32) -> Self {
        let mut result = Self::one();
        for bit in (0..32 - exponent.leading_zeros()).rev() {
            result = result.times(&result);
            if exponent >> bit & 1 == 1 {
                result = result.times(self);
            }
        }
        result
    }
}

/// Exact.
impl Weight for BigUint {
    fn zero() -> Self {
        Zero::zero()
    }
    fn one() -> Self {
        One::one()
    }
    fn is_zero(&self) -> bool {
        Zero::is_zero(self)
    }
    fn add(&mut self, other: &Self) {
        *self += other;
    }
    fn times(&self, other: &Self) -> Self {
        self * other
    }
    fn whole(value: &BigUint) -> Self {
        value.clone()
    }
    fn scaled(values: &[Odds]) -> Vec<Self> {
        let common = values.iter().fold(num_bigint::BigInt::one(), |lcm, odds| lcm.lcm(odds.denom()));
        let mut whole: Vec<BigUint> =
            values.iter().map(|odds| (odds.numer() * (&common / odds.denom())).magnitude().clone()).collect();
        Self::reduce(&mut whole);
        whole
    }
    fn reduce(values: &mut [Self]) {
        // Only powers of two: they are nearly all of a common divisor after so many coins, and cost nothing to find.
        let twos = values.iter().filter_map(BigUint::trailing_zeros).min().unwrap_or(0);
        if twos > 0 {
            for value in values {
                *value >>= twos;
            }
        }
    }
    fn shares(values: &[Self]) -> Vec<Figure> {
        let sum: BigUint = values.iter().sum();
        let share = |value: &BigUint| {
            if Zero::is_zero(&sum) { none() } else { Odds::new(value.clone().into(), sum.clone().into()) }
        };
        values.iter().map(|value| Figure::Exact(share(value))).collect()
    }
}

/// Floating point with an exponent that never ends: `mantissa` times 2^(512 `scale`).
///
/// A thousand normal young weigh 2^-1000 against a carrier; that must not become "certainly not".
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wide {
    /// 0, or within 2^-256 to 2^256, so that a product is never out of reach.
    mantissa: f64,
    scale: i64,
}

const UP: f64 = f64::from_bits((1023 + 512) << 52); // 2^512
const DOWN: f64 = f64::from_bits((1023 - 512) << 52); // 2^-512
const LARGE: f64 = f64::from_bits((1023 + 256) << 52); // 2^256
const SMALL: f64 = f64::from_bits((1023 - 256) << 52); // 2^-256

impl Wide {
    #[inline]
    fn new(mantissa: f64, scale: i64) -> Wide {
        if mantissa > LARGE {
            Wide { mantissa: mantissa * DOWN, scale: scale + 1 }
        } else if mantissa < SMALL && mantissa > 0.0 {
            Wide { mantissa: mantissa * UP, scale: scale - 1 }
        } else {
            Wide { mantissa, scale }
        }
    }

    fn from_odds(odds: &Odds) -> Wide {
        let (n, d) = (odds.numer().magnitude(), odds.denom().magnitude());
        // 64 bits of a number are more than floating point holds; the rest is a power of two.
        let top = |n: &BigUint| {
            let beyond = n.bits().saturating_sub(64);
            ((n >> beyond).to_f64().unwrap_or(0.0), i64::try_from(beyond).unwrap_or(i64::MAX))
        };
        let ((n, n_beyond), (d, d_beyond)) = (top(n), top(d));
        if n == 0.0 {
            return Wide::zero();
        }
        let power = n_beyond - d_beyond;
        let scale = power.div_euclid(512);
        let rest = power.rem_euclid(512);
        // rest is within 0..512, a power that floating point has; in two halves so that the product is in range.
        let half = f64::powi(2.0, i32::try_from(rest / 2).unwrap_or(0));
        let other = f64::powi(2.0, i32::try_from(rest - rest / 2).unwrap_or(0));
        let first = Wide::new(n / d * half, scale);
        Wide::new(first.mantissa * other, first.scale)
    }

    /// The natural logarithm; that of 0 is below all others.
    pub(super) fn ln(self) -> f64 {
        self.mantissa.ln() + self.scale as f64 * (512.0 * std::f64::consts::LN_2)
    }

    /// This number over `unit`, which is not 0 and not much smaller.
    pub(super) fn over(self, unit: Wide) -> f64 {
        match self.scale - unit.scale {
            0 => self.mantissa / unit.mantissa,
            1 => self.mantissa / unit.mantissa * UP,
            -1 => self.mantissa / unit.mantissa * DOWN,
            _ => 0.0,
        }
    }
}

impl Weight for Wide {
    fn zero() -> Self {
        Wide { mantissa: 0.0, scale: 0 }
    }
    fn one() -> Self {
        Wide { mantissa: 1.0, scale: 0 }
    }
    fn is_zero(&self) -> bool {
        self.mantissa == 0.0
    }
    #[inline]
    fn add(&mut self, other: &Self) {
        if self.scale == other.scale {
            *self = Wide::new(self.mantissa + other.mantissa, self.scale);
        } else if other.mantissa == 0.0 {
        } else if self.mantissa == 0.0 {
            *self = *other;
        } else {
            let (large, small) = if self.scale > other.scale { (*self, *other) } else { (*other, *self) };
            let added = if large.scale - small.scale == 1 { small.mantissa * DOWN } else { 0.0 };
            *self = Wide::new(large.mantissa + added, large.scale);
        }
    }
    #[inline]
    fn times(&self, other: &Self) -> Self {
        Wide::new(self.mantissa * other.mantissa, self.scale + other.scale)
    }
    fn whole(value: &BigUint) -> Self {
        Wide::from_odds(&Odds::from_integer(value.clone().into()))
    }
    fn scaled(values: &[Odds]) -> Vec<Self> {
        values.iter().map(Wide::from_odds).collect()
    }
    fn reduce(_: &mut [Self]) {}
    fn shares(values: &[Self]) -> Vec<Figure> {
        let mut sum = Wide::zero();
        for value in values {
            sum.add(value);
        }
        values.iter().map(|v| Figure::Rounded(if sum.is_zero() { 0.0 } else { v.over(sum) })).collect()
    }
}

/// Below this, relative to the largest of a table, plain floating point gives up; the square is still in its reach.
const TINY: f64 = 1e-150;

/// Plain floating point: the fastest. Where the numbers of a table differ by more than it can tell apart for sure, all
/// become [`f64::NAN`], and the sum has to be done again with [`Wide`].
impl Weight for f64 {
    fn zero() -> Self {
        0.0
    }
    fn one() -> Self {
        1.0
    }
    fn is_zero(&self) -> bool {
        *self == 0.0
    }
    fn add(&mut self, other: &Self) {
        *self += other;
    }
    fn times(&self, other: &Self) -> Self {
        self * other
    }
    fn whole(value: &BigUint) -> Self {
        value.to_f64().filter(|f| f.is_finite()).unwrap_or(f64::NAN)
    }
    fn scaled(values: &[Odds]) -> Vec<Self> {
        let number = |odds: &Odds| {
            let number = crate::engine::odds::to_f64(odds);
            if number == 0.0 && !odds.is_zero() { f64::NAN } else { number }
        };
        values.iter().map(number).collect()
    }
    fn reduce(values: &mut [Self]) {
        let mut largest = 0.0f64;
        let mut least = f64::MAX;
        for &value in values.iter() {
            largest = largest.max(value);
            least = if value > 0.0 { least.min(value) } else { least };
        }
        let by = 1.0 / largest;
        if largest > 0.0 && (least * by < TINY || !by.is_normal()) || values.iter().any(|v| v.is_nan()) {
            values.fill(f64::NAN);
        } else if largest > 0.0 {
            for value in values {
                *value *= by;
            }
        }
    }
    fn shares(values: &[Self]) -> Vec<Figure> {
        let sum: f64 = values.iter().sum();
        values.iter().map(|value| Figure::Rounded(if sum == 0.0 { 0.0 } else { value / sum })).collect()
    }
    /// A number that shrinks to nothing is not taken for "never".
    fn power(&self, exponent: u32) -> Self {
        let power = self.powf(f64::from(exponent));
        if power == 0.0 && *self != 0.0 || !power.is_finite() { f64::NAN } else { power }
    }
}

/// Only what is possible at all.
impl Weight for bool {
    fn zero() -> Self {
        false
    }
    fn one() -> Self {
        true
    }
    fn is_zero(&self) -> bool {
        !self
    }
    fn add(&mut self, other: &Self) {
        *self |= other;
    }
    fn times(&self, other: &Self) -> Self {
        *self && *other
    }
    fn whole(value: &BigUint) -> Self {
        !Zero::is_zero(value)
    }
    fn scaled(values: &[Odds]) -> Vec<Self> {
        values.iter().map(|odds| !odds.is_zero()).collect()
    }
    fn reduce(_: &mut [Self]) {}
    fn shares(values: &[Self]) -> Vec<Figure> {
        values.iter().map(|&v| Figure::Exact(if v { crate::engine::odds::sure() } else { none() })).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::odds::odds;

    fn rounded(figure: &Figure) -> f64 {
        match figure {
            Figure::Exact(odds) => crate::engine::odds::to_f64(odds),
            Figure::Rounded(f) => *f,
        }
    }

    #[test]
    fn wide_numbers_never_vanish() {
        let half = Wide::scaled(&[odds(1, 2)])[0];
        let tiny = half.power(100_000);
        assert!(!tiny.is_zero());
        let shares = Wide::shares(&[tiny, tiny, tiny.times(&half).times(&half)]);
        assert!((rounded(&shares[0]) - 4.0 / 9.0).abs() < 1e-15);
        let huge =
            Wide::scaled(&[Odds::new(BigUint::from(3u8).pow(5000).into(), BigUint::from(7u8).pow(3000).into())])[0];
        let also = Wide::scaled(&[odds(3, 1)])[0].power(5000).times(&Wide::scaled(&[odds(1, 7)])[0].power(3000));
        assert!((huge.over(also) - 1.0).abs() < 1e-11, "{huge:?} {also:?}");
        assert_eq!(Wide::shares(&[Wide::zero(), half, tiny]).iter().map(rounded).collect::<Vec<_>>(), [0.0, 1.0, 0.0]);
    }

    #[test]
    fn exact_weights_keep_their_ratios() {
        let scaled = BigUint::scaled(&[odds(1, 6), none(), odds(1, 4)]);
        assert_eq!(scaled, [2u8, 0, 3].map(BigUint::from));
        let shares: Vec<Figure> = BigUint::shares(&scaled);
        assert_eq!(shares, [odds(2, 5), none(), odds(3, 5)].map(Figure::Exact));
        assert_eq!(BigUint::from(3u8).power(5), BigUint::from(243u8));
        assert_eq!(BigUint::from(3u8).power(0), BigUint::from(1u8));
    }
}
