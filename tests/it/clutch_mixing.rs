//! Eggs of a pair share their parents: a clutch mixes over the parents first. No source needed; values computed.

use hatchward::engine::inheritance::genotype::Belief;
use hatchward::engine::odds::{half, odds, sure, to_f64};
use num_traits::pow;

use crate::pairs::{close, possible_het, visual, visual_from};

#[test]
fn six_hatchlings_of_an_uncertain_pair() {
    let two_thirds = possible_het(&odds(2, 3));
    // The pair, the right chance of at least one visual, and the wrong one (eggs averaged as if independent).
    let table = [
        (possible_het(&half()), Belief::sure(visual()), 0.492_187_5, 0.822_021),
        (two_thirds.clone(), Belief::sure(visual()), 0.656_25, 0.912_209),
        (two_thirds.clone(), two_thirds, 0.365_343, 0.506_730),
    ];
    for (sire, dam, right, wrong) in table {
        let chances = visual_from(sire, dam);
        close(to_f64(&chances.at_least_one(6).unwrap()), right, 5e-7);
        close(1.0 - to_f64(&pow(sure() - chances.per_egg(), 6)), wrong, 5e-7);
        assert_eq!(chances.at_least_one(1), Ok(chances.per_egg()));
    }
}

#[test]
fn more_eggs_do_not_help_beyond_the_parents() {
    let chances = visual_from(possible_het(&odds(2, 3)), Belief::sure(visual()));
    assert_eq!(chances.reach(), odds(2, 3));
    assert_eq!(chances.eggs_for(&odds(2, 3)), None);
    assert_eq!(chances.eggs_for(&odds(9, 10)), None);
    // 2/3 (1 - 2^-n) >= 66/100 first at n = 7, computed.
    assert_eq!(chances.eggs_for(&odds(66, 100)), Some(7));
}
