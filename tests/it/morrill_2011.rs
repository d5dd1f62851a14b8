//! Morrill B.H., Rickords L.F., Sutherland C., Julander J.G. (2011) Herpetol. Rev. 42:226-231: 783 ball python clutches
//! with 5,344 eggs, 81 % hatched (seen in the Conservation Evidence summary, study 9927).
//!
//! From these, 5.528 hatchlings a clutch and all chances below are computed.

use hatchward::engine::inheritance::clutch::{Chances, ClutchSize};
use hatchward::engine::inheritance::genotype::Belief;
use hatchward::engine::odds::{Odds, odds, sure, to_f64};

use crate::pairs::{all_visual, animal, close, het, visual, visual_from, young};

fn hatchlings() -> ClutchSize {
    let mean = odds(5344, 783) * odds(81, 100);
    ClutchSize::Poisson { mean, take: sure() }
}

/// Chance 1/2, 1/4, 1/8, 1/16 and 1/64 per young.
fn chances() -> [Chances; 5] {
    [(0, 1), (1, 0), (1, 1), (2, 0), (3, 0)].map(|(n_quarters, n_halves)| {
        let n: usize = n_quarters + n_halves;
        let dam: Vec<_> = (0..n).map(|i| if i < n_quarters { het() } else { visual() }).collect();
        let wanted = all_visual(u16::try_from(n).unwrap());
        Chances::of(&young(&animal(&vec![het(); n]), &animal(&dam)), &wanted).unwrap()
    })
}

#[test]
fn at_least_one_in_a_clutch() {
    let eggs = ClutchSize::Eggs { eggs: 7, hatch: odds(81, 100), take: sure() };
    let table = [
        (ClutchSize::young(6), [0.984_375, 0.822_021, 0.551_205, 0.321_066, 0.090_163]),
        (eggs, [0.973_599, 0.794_830, 0.526_334, 0.304_872, 0.085_300]),
        (hatchlings(), [0.936_970, 0.748_941, 0.498_943, 0.292_146, 0.082_754]),
    ];
    for (size, expected) in table {
        for (chances, expected) in chances().iter().zip(expected) {
            close(chances.in_clutch(&size).unwrap().at_least_one.to_f64(), expected, 5.1e-7);
        }
    }
}

#[test]
fn clutches_for_a_certainty() {
    let expected = [(2, 2), (3, 4), (5, 7), (9, 14), (35, 54)];
    for (chances, (for_95, for_99)) in chances().iter().zip(expected) {
        assert_eq!(chances.clutches_for(&odds(95, 100), &hatchlings()), Ok(Some(for_95)));
        assert_eq!(chances.clutches_for(&odds(99, 100), &hatchlings()), Ok(Some(for_99)));
    }
}

#[test]
fn a_clutch_of_six_of_two_carriers() {
    let chances = visual_from(Belief::sure(het()), Belief::sure(het()));
    let distribution = chances.distribution(6).unwrap();
    let expected = [0.17798, 0.35596, 0.29663, 0.13184, 0.03296, 0.00439, 0.00024];
    for (found, expected) in distribution.iter().zip(expected) {
        close(to_f64(found), expected, 5.1e-6);
    }
    assert_eq!(distribution.iter().sum::<Odds>(), sure());
    let none_in = |n| 1.0 - to_f64(&chances.at_least_one(n).unwrap());
    close(none_in(6), 0.177_979, 5e-7);
    close(none_in(7), 0.133_484, 5e-7);
    let all_one_sex =
        sure() - visual_from(Belief::sure(visual()), Belief::sure(visual())).one_of_each(6).unwrap().unwrap();
    assert_eq!(all_one_sex, odds(1, 32));
}
