//! A clutch shares its parents: what is not known of them is averaged over parents, not over eggs.
//!
//! All values computed from the formula ½(1 − (½)^6) and its like.

use hatchward::engine::inheritance::clutch::per_egg;
use hatchward::engine::odds::{odds, to_f64};

use crate::pairs::{chances, crossed, genome, maybe_het, near, pure, recessives, visual};

#[test]
fn six_hatchlings_of_uncertain_parents() {
    let known = genome(&[pure()]);
    let maybe = |n, d| maybe_het(odds(n, d));
    let table = [
        (maybe(1, 2), known.clone(), 0.492_187_5, 0.822_021),
        (maybe(2, 3), known, 0.656_25, 0.912_209),
        (maybe(2, 3), maybe(2, 3), 0.365_343, 0.506_730),
    ];
    for (sire, dam, right, per_egg_average) in table {
        let offspring = crossed(&recessives(1), &sire, &dam);
        near(to_f64(&chances(&offspring, &visual(1)).at_least_one(6)), right, 5e-7);
        // What averaging per egg would promise.
        let q = to_f64(&per_egg(&offspring, &visual(1)));
        near(1.0 - (1.0 - q).powi(6), per_egg_average, 5e-7);
    }
}

#[test]
fn no_number_of_eggs_reaches_beyond_the_parents() {
    let offspring = crossed(&recessives(1), &maybe_het(odds(2, 3)), &maybe_het(odds(2, 3)));
    let chances = chances(&offspring, &visual(1));
    assert_eq!(chances.reach(), odds(4, 9));
    assert_eq!(chances.eggs_for(&odds(4, 9)), None);
    assert_eq!(chances.eggs_for(&odds(1, 9)), Some(1));
    let n = chances.eggs_for(&odds(2, 5)).expect("below the reach");
    assert_eq!(n, 9); // 4/9 (1 − ¾⁸) = 0.39994, 4/9 (1 − ¾⁹) = 0.41107
}
