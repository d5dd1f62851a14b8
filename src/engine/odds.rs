//! Exact chances: one type for every per-egg number.
//!
//! In and out: [`Odds`], an exact fraction without bounds. Never: floating point, except where a function's name ends in `_f64`.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, ToPrimitive, Zero};

/// An exact chance, share or expected number: a fraction of whole numbers of any size.
pub type Odds = BigRational;

/// The fraction `numerator / denominator`.
///
/// # Panics
/// If `denominator` is 0: this is for constants in code; text goes through [`parse`].
#[must_use]
pub fn odds(numerator: i64, denominator: i64) -> Odds {
    Odds::new(BigInt::from(numerator), BigInt::from(denominator))
}

/// Never.
#[must_use]
pub fn none() -> Odds {
    Odds::zero()
}

/// Always.
#[must_use]
pub fn sure() -> Odds {
    Odds::one()
}

/// One half, the coin of meiosis.
#[must_use]
pub fn half() -> Odds {
    odds(1, 2)
}

/// The nearest floating-point number, for ordering, drawing and words; never for a figure that is shown as exact.
#[must_use]
pub fn to_f64(odds: &Odds) -> f64 {
    odds.to_f64().unwrap_or(f64::NAN)
}

/// Reads `"2/3"`, `"0.05"`, `"3e-2"` or `"7"` exactly. `None` for anything else, for a zero denominator, or when the
/// text is longer than 200 characters or its exponent is beyond ±200 (nobody means those, and they would cost memory).
#[must_use]
pub fn parse(text: &str) -> Option<Odds> {
    let text = text.trim();
    if text.is_empty() || text.len() > 200 {
        return None;
    }
    if let Some((n, d)) = text.split_once('/') {
        let n: BigInt = n.trim().parse().ok()?;
        let d: BigInt = d.trim().parse().ok()?;
        return (!d.is_zero()).then(|| Odds::new(n, d));
    }
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((m, e)) => (m, e.parse::<i32>().ok().filter(|e| e.abs() <= 200)?),
        None => (text, 0),
    };
    let (negative, digits) = match mantissa.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, mantissa.strip_prefix('+').unwrap_or(mantissa)),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    if whole.is_empty() && fraction.is_empty()
        || !digits.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        || fraction.contains('.')
    {
        return None;
    }
    let number: BigInt = format!("{whole}{fraction}").parse().ok()?;
    let scale = exponent - i32::try_from(fraction.len()).ok()?;
    let power = BigInt::from(10).pow(scale.unsigned_abs());
    let value = if scale >= 0 { Odds::from_integer(number * power) } else { Odds::new(number, power) };
    Some(if negative { -value } else { value })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_fractions_and_decimals_exactly() {
        assert_eq!(parse("2/3"), Some(odds(2, 3)));
        assert_eq!(parse("0.05"), Some(odds(1, 20)));
        assert_eq!(parse("9e-1"), Some(odds(9, 10)));
        assert_eq!(parse("1.5E2"), Some(odds(150, 1)));
        assert_eq!(parse("-.5"), Some(odds(-1, 2)));
        for bad in ["", "1/0", "a", "1.2.3", "1e999", ".", "0x1", "1/2/3", "١"] {
            assert_eq!(parse(bad), None, "{bad:?}");
        }
    }
}
