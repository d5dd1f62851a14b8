//! Clutch numbers against the binomials of a general statistics crate.

use hatchward::engine::inheritance::genotype::Belief;
use hatchward::engine::odds::{odds, to_f64};
use statrs::distribution::{Binomial, Discrete, DiscreteCDF};

use crate::pairs::{close, het, possible_het, visual_from};

#[test]
fn known_parents_give_a_binomial() {
    for n in [1u32, 2, 7, 20, 100] {
        let chances = visual_from(Belief::sure(het()), Belief::sure(het()));
        let binomial = Binomial::new(0.25, n.into()).unwrap();
        for (k, found) in (0..).zip(chances.distribution(n).unwrap()) {
            close(to_f64(&found), binomial.pmf(k), 1e-12);
        }
        close(to_f64(&chances.at_least_one(n.into()).unwrap()), binomial.sf(0), 1e-12);
        close(chances.at_least_one_f64(n.into()), binomial.sf(0), 1e-12);
    }
}

#[test]
fn an_uncertain_parent_gives_a_mixture_of_two() {
    let chances = visual_from(possible_het(&odds(2, 3)), Belief::sure(het())).hatching(&odds(4, 5)).unwrap();
    let binomial = Binomial::new(0.25 * 0.8, 9).unwrap();
    for (k, found) in (0..).zip(chances.distribution(9).unwrap()) {
        let barren = if k == 0 { 1.0 / 3.0 } else { 0.0 };
        close(to_f64(&found), binomial.pmf(k) * 2.0 / 3.0 + barren, 1e-12);
    }
}
