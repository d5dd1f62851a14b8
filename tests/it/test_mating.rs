//! Test mating: how many normal young expose a carrier.
//!
//! Textbook treatments, from memory for the pages: Falconer & Mackay (1996), Bourdon (2000), Nicholas (1987). Values computed.

use hatchward::engine::inheritance::cross::Offspring;
use hatchward::engine::odds::{odds, to_f64};

use crate::pairs::{chances, crossed, genome, het, maybe_het, near, pure, recessives, visual};

fn carrier_with(mate: &hatchward::engine::inheritance::genotype::Genome) -> Offspring {
    crossed(&recessives(1), &genome(&[het()]), mate)
}

#[test]
fn young_needed_of_one_mate() {
    let levels = [odds(9, 10), odds(19, 20), odds(99, 100), odds(999, 1000)];
    for (mate, needed) in [(pure(), [4, 5, 7, 10]), (het(), [9, 11, 17, 25])] {
        let chances = chances(&carrier_with(&genome(&[mate])), &visual(1));
        assert_eq!(levels.each_ref().map(|level| chances.eggs_for(level)), needed.map(Some));
    }
}

#[test]
fn detection_by_number_of_young() {
    let recessive = chances(&carrier_with(&genome(&[pure()])), &visual(1));
    for (n, expected) in (1..).zip([0.5, 0.75, 0.875, 0.9375, 0.96875, 0.984_375, 0.992_188, 0.996_094]) {
        near(to_f64(&recessive.at_least_one(n)), expected, 5e-7);
    }
    let carrier = chances(&carrier_with(&genome(&[het()])), &visual(1));
    for (n, expected) in (1..).zip([0.25, 0.4375, 0.578_125, 0.683_594, 0.762_695, 0.822_021, 0.866_516, 0.899_887]) {
        near(to_f64(&carrier.at_least_one(n)), expected, 5e-7);
    }
}

#[test]
fn siblings_from_one_dam_are_not_independent() {
    // A carrier's own daughter is a carrier with chance 1/2; m young of one daughter miss with ½ + ½(¾)^m.
    let daughter = chances(&carrier_with(&maybe_het(odds(1, 2))), &visual(1));
    for (m, miss) in [(1, 0.875), (2, 0.78125), (4, 0.658_203), (6, 0.588_989), (8, 0.550_056)] {
        near(1.0 - to_f64(&daughter.at_least_one(m)), miss, 5e-7);
    }
    // One young from each of several daughters: per egg 1/8, and the daughters differ.
    assert_eq!(daughter.at_least_one(1), odds(1, 8));
    // A mate that is a carrier with chance 2/3: 1/6 per young.
    assert_eq!(chances(&carrier_with(&maybe_het(odds(2, 3))), &visual(1)).at_least_one(1), odds(1, 6));
}

#[test]
fn five_dominant_calves_of_a_carrier() {
    // A published exercise (albert.io, test mates; text confirmed, value computed): two recessive cows, three carriers.
    let miss = |mate| odds(1, 1) - chances(&carrier_with(&genome(&[mate])), &visual(1)).at_least_one(1);
    let all_missed = miss(pure()) * miss(pure()) * miss(het()) * miss(het()) * miss(het());
    near(to_f64(&all_missed), 0.105_468_75, 0.0);
}
