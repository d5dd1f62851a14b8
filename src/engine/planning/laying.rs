//! Clutches in floating point: the chance that a clutch holds none of what is wanted, and how many clutches it takes.
//!
//! Chances are rounded; the number of clutches is exact wherever exact fractions are affordable.

use num_traits::{One, Pow, ToPrimitive};

use crate::engine::inheritance::clutch::ClutchSize;
use crate::engine::odds::{Odds, none, sure, to_f64};

/// The most bits of an exact power; beyond, a tie within rounding counts as reached.
const MOST_BITS: u64 = 1 << 16;
/// How near to a whole number of clutches (relative) the exact fractions are asked.
const NEAR: f64 = 1e-7;

/// A clutch size, ready for arithmetic.
#[derive(Debug, Clone)]
pub(super) struct Laying {
    size: ClutchSize,
    take: f64,
    eggs: f64,
    /// Eggs beyond `eggs` that may be laid, each with the chance `laid`.
    free: f64,
    laid: f64,
    hatch: f64,
    poisson: bool,
}

impl Laying {
    pub(super) fn new(size: &ClutchSize) -> Laying {
        let whole = |eggs: &u64| eggs.to_f64().unwrap_or(f64::MAX);
        let (take, eggs, hatch, poisson) = match size {
            ClutchSize::Eggs { eggs, hatch, take } => (to_f64(take), whole(eggs), to_f64(hatch), false),
            ClutchSize::Spread { low, hatch, take, .. } => (to_f64(take), whole(low), to_f64(hatch), false),
            ClutchSize::Poisson { mean, take } => (to_f64(take), to_f64(mean), 1.0, true),
        };
        let (free, laid) = match size {
            ClutchSize::Spread { low, high, mean, .. } if high > low => {
                let free = whole(&(high - low));
                (free, (to_f64(mean) - whole(low)) / free)
            }
            _ => (0.0, 0.0),
        };
        Laying { size: size.clone(), take, eggs, free, laid, hatch, poisson }
    }

    /// The chance that a clutch gives at least one, if an egg that hatches counts with this share.
    pub(super) fn some(&self, share: f64) -> f64 {
        let counting = self.hatch * share;
        let log_none = if self.poisson { -self.eggs * counting } else { self.eggs * (-counting).ln_1p() };
        // No eggs: 0 * ln(0) is not a number.
        let log_none = if self.eggs == 0.0 { 0.0 } else { log_none };
        let log_none = if self.free == 0.0 { log_none } else { log_none + self.free * (-counting * self.laid).ln_1p() };
        -self.take * log_none.exp_m1()
    }

    /// The least number of clutches that give at least one with this confidence, at least 1; `None` if none do.
    pub(super) fn clutches_for(&self, share: f64, confidence: &Odds) -> Option<u64> {
        let some = self.some(share);
        if some <= 0.0 {
            return None;
        }
        let missing = 1.0 - to_f64(confidence);
        if *confidence == sure() {
            return (some >= 1.0).then_some(1);
        }
        let needed = missing.ln() / (-some).ln_1p();
        let nearest = needed.round();
        let clutches = if (needed - nearest).abs() > NEAR * needed.max(1.0) {
            needed.ceil()
        } else if nearest < 1.0 || self.is_enough(share, nearest, confidence) {
            nearest
        } else {
            nearest + 1.0
        };
        clutches.max(1.0).to_u64()
    }

    /// Whether so many clutches reach the confidence, where rounding cannot tell; exact if that is affordable.
    fn is_enough(&self, share: f64, clutches: f64, confidence: &Odds) -> bool {
        let (ClutchSize::Eggs { eggs, hatch, take }, Some(share)) = (&self.size, Odds::from_float(share)) else {
            return true;
        };
        let none_of_egg = sure() - hatch * share;
        let bits = |odds: &Odds| odds.denom().bits().max(odds.numer().bits());
        let (Ok(eggs), Some(clutches)) = (u32::try_from(*eggs), clutches.to_u32()) else {
            return true;
        };
        let in_all = bits(&none_of_egg).saturating_mul(eggs.into()).saturating_add(bits(take));
        if in_all.saturating_mul(clutches.into()) > MOST_BITS {
            return true;
        }
        let none_of_clutch = sure() - take * (Odds::one() - none_of_egg.pow(eggs));
        sure() - none_of_clutch.pow(clutches) >= *confidence
    }

    /// Whether a clutch can give anything at all.
    #[cfg(test)]
    fn is_barren(&self) -> bool {
        self.some(1.0) <= 0.0
    }
}

/// The share as an exact fraction in words of the engine; 0 for what is not a number.
pub(super) fn exactly(share: f64) -> Odds {
    Odds::from_float(share).unwrap_or_else(none)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::odds::odds;

    #[test]
    fn ties_are_decided_exactly() {
        let one = Laying::new(&ClutchSize::young(1));
        for k in 1..=30u32 {
            let level = sure() - odds(1, 2).pow(k);
            assert_eq!(one.clutches_for(0.5, &level), Some(u64::from(k)), "{level}");
            let above = level + odds(1, 1 << 40);
            assert_eq!(one.clutches_for(0.5, &above), Some(u64::from(k) + 1), "{above}");
        }
    }

    #[test]
    fn what_never_comes_takes_no_number_of_clutches() {
        let barren = ClutchSize::Eggs { eggs: 0, hatch: sure(), take: sure() };
        assert!(Laying::new(&barren).is_barren());
        assert_eq!(Laying::new(&barren).clutches_for(1.0, &odds(9, 10)), None);
        let one = Laying::new(&ClutchSize::young(1));
        assert_eq!(one.clutches_for(0.0, &odds(9, 10)), None);
        assert_eq!(one.clutches_for(0.5, &sure()), None);
        assert_eq!(one.clutches_for(1.0, &sure()), Some(1));
        assert_eq!(one.clutches_for(0.5, &none()), Some(1));
    }

    #[test]
    fn small_shares_do_not_drown_in_rounding() {
        // ln 10 / share to 12 digits; computed.
        let one = Laying::new(&ClutchSize::young(1));
        let share = 0.5f64.powi(40);
        let found = one.clutches_for(share, &odds(9, 10)).and_then(|n| n.to_f64()).unwrap();
        assert!((found * share / std::f64::consts::LN_10 - 1.0).abs() < 1e-9, "{found}");
    }
}
