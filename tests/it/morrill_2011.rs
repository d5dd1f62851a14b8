//! Clutches of *Python regius*: Morrill B.H., Rickords L.F., Sutherland C. & Julander J.G. (2011) Herpetol. Rev. 42:226–231.
//!
//! 783 clutches, 5,344 eggs, hatching success 81 % (confirmed in a summary of the study). The chances were computed from these.

use hatchward::engine::inheritance::clutch::{Chances, ClutchSize};
use hatchward::engine::odds::{odds, sure, to_f64};
use statrs::distribution::{Discrete, Poisson};

use crate::pairs::{chances, crossed, genome, het, near, pure, recessives, visual};

fn halvings(n: u16) -> Chances {
    let loci = usize::from(n);
    let offspring = crossed(&recessives(loci), &genome(&vec![het(); loci]), &genome(&vec![pure(); loci]));
    chances(&offspring, &visual(n))
}

#[test]
fn no_visual_in_a_clutch() {
    let (carriers, visual_and_het) = (halvings(2), halvings(1));
    let none_in = |chances: &Chances, n: u32| to_f64(&chances.distribution(n)[0]);
    near(none_in(&carriers, 6), 0.177_979, 5e-7);
    near(none_in(&carriers, 7), 0.133_484, 5e-7);
    near(none_in(&visual_and_het, 6), 0.015_625, 0.0);
    near(none_in(&visual_and_het, 7), 0.007_812_5, 0.0);
    // A clutch of six to eight often shows no double visual: common practice, no source. Computed: over half of them.
    let double = halvings(4);
    assert!((6..=8).all(|n| none_in(&double, n) > 0.5));
}

#[test]
fn how_many_visuals_among_six() {
    let expected = [0.17798, 0.35596, 0.29663, 0.13184, 0.03296, 0.00439, 0.00024];
    for (chance, expected) in halvings(2).distribution(6).iter().zip(expected) {
        near(to_f64(chance), expected, 6e-6);
    }
    // All six of one sex.
    near(1.0 - to_f64(&halvings(0).one_of_each(6)), 0.03125, 1e-15);
}

#[test]
fn at_least_one_by_clutch_size() {
    let hatch = odds(81, 100);
    let mean = odds(5344 * 81, 783 * 100); // hatchlings of a clutch, 5.528
    let table = [
        (1, 0.984_375, 0.973_599, 0.936_970),
        (2, 0.822_021, 0.794_830, 0.748_941),
        (3, 0.551_205, 0.526_334, 0.498_943),
        (4, 0.321_066, 0.304_872, 0.292_146),
        (6, 0.090_163, 0.085_300, 0.082_754),
    ];
    for (n, of_six, of_seven_eggs, of_the_mean) in table {
        let chances = halvings(n);
        near(to_f64(&chances.at_least_one(6)), of_six, 5e-7);
        let seven = ClutchSize::Eggs { eggs: 7, hatch: hatch.clone(), take: sure() };
        near(chances.at_least_one_in(&seven).to_f64(), of_seven_eggs, 5e-7);
        let spread = ClutchSize::Poisson { mean: mean.clone(), take: sure() };
        near(chances.at_least_one_in(&spread).to_f64(), of_the_mean, 5e-6);
    }
}

#[test]
fn clutches_needed_under_that_spread() {
    let spread = ClutchSize::Poisson { mean: odds(5344 * 81, 783 * 100), take: sure() };
    for (n, at_95, at_99) in [(1, 2, 2), (2, 3, 4), (3, 5, 7), (4, 9, 14), (6, 35, 54)] {
        let chances = halvings(n);
        let needed = |level| chances.clutches_for(&level, &spread);
        assert_eq!((needed(odds(19, 20)), needed(odds(99, 100))), (Some(at_95), Some(at_99)));
    }
}

#[test]
fn poisson_is_binomials_mixed() {
    // Hatchlings drawn by the library's Poisson weights, each clutch judged by the exact binomial.
    let (chances, mean) = (halvings(3), 5.5);
    let poisson = Poisson::new(mean).expect("a mean");
    let mixed = |chance: &dyn Fn(u32) -> f64| (0..60).map(|n| poisson.pmf(n.into()) * chance(n)).sum::<f64>();
    let take = odds(3, 4);
    let spread = ClutchSize::Poisson { mean: odds(11, 2), take };
    let one = mixed(&|n| to_f64(&chances.at_least_one(n)));
    near(chances.at_least_one_in(&spread).to_f64(), 0.75 * one, 1e-12);
    let both = mixed(&|n| to_f64(&chances.one_of_each(n)));
    near(chances.one_of_each_in(&spread).expect("half are males").to_f64(), 0.75 * both, 1e-12);
    assert_eq!(chances.expected_in(&spread), odds(3 * 11, 4 * 2 * 8));
}
