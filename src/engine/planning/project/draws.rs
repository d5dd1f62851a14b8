//! Draws: the same in every run, so that two decisions share the luck of what they share.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::Rng;

/// Where draws that choose among decisions start.
pub(super) const SEED: u64 = 0x6861_7463_6877_6172;

/// Within 0 and 1.
pub(super) fn unit(random: &mut Xoshiro256PlusPlus) -> f64 {
    // The upper 53 bits are as many as a floating-point number holds, so nothing is lost.
    (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64
}

/// The case that a draw falls on; `None` beyond all of them.
pub(super) fn pick(shares: impl Iterator<Item = f64>, draw: f64) -> Option<usize> {
    let mut sum = 0.0;
    for (i, share) in shares.enumerate() {
        sum += share;
        if draw < sum {
            return Some(i);
        }
    }
    None
}
