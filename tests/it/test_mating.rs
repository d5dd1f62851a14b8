//! Test mating: how many young expose a carrier.
//!
//! The method is that of the textbooks (Falconer & Mackay 1996; Bourdon 2000; Nicholas 2010; citations from memory,
//! printed tables not seen); the values are computed. The two worked problems were seen: a bull and his daughters in a
//! university problem set on syndactyly, a bull with recessive and carrier cows on albert.io; answers computed.

use hatchward::engine::inheritance::clutch::Chances;
use hatchward::engine::inheritance::genotype::Belief;
use hatchward::engine::odds::{Odds, half, odds, sure, to_f64};
use num_traits::pow;

use crate::pairs::{close, het, possible_het, visual, visual_from};

/// A carrier with this mate.
fn tested(mate: Belief) -> Chances {
    visual_from(Belief::sure(het()), mate)
}

/// The least number of mates, each with `n_young`, for this chance to see a visual young if the animal is a carrier.
fn mates_for(mate: &Belief, n_young: u64, level: &Odds) -> usize {
    let missed = sure() - tested(mate.clone()).at_least_one(n_young).unwrap();
    (0..1000).find(|&n| sure() - pow(missed.clone(), n) >= *level).unwrap()
}

#[test]
fn one_young_from_each_mate() {
    let levels = [odds(90, 100), odds(95, 100), odds(99, 100), odds(999, 1000)];
    let daughters = possible_het(&half());
    let table = [
        (Belief::sure(visual()), odds(1, 2), [4, 5, 7, 10]),
        // 16.008 mates for 99 %: some books print 16.
        (Belief::sure(het()), odds(1, 4), [9, 11, 17, 25]),
        (daughters, odds(1, 8), [18, 23, 35, 52]),
        (possible_het(&odds(2, 3)), odds(1, 6), [13, 17, 26, 38]),
    ];
    for (mate, per_young, needed) in table {
        assert_eq!(tested(mate.clone()).per_egg(), per_young);
        assert_eq!(levels.each_ref().map(|level| mates_for(&mate, 1, level)), needed);
    }
}

#[test]
fn young_of_one_known_mate() {
    let seen = |mate| move |n| to_f64(&tested(Belief::sure(mate)).at_least_one(n).unwrap());
    let recessive = [0.5, 0.75, 0.875, 0.9375, 0.96875, 0.984_375, 0.992_188, 0.996_094];
    let carrier = [0.25, 0.4375, 0.578_125, 0.683_594, 0.762_695, 0.822_021, 0.866_516, 0.899_887];
    for (n, (r, c)) in (1..).zip(recessive.into_iter().zip(carrier)) {
        close(seen(visual())(n), r, 5e-7);
        close(seen(het())(n), c, 5e-7);
    }
}

#[test]
fn several_young_from_each_daughter() {
    // Sisters from one dam are not independent trials: she is a carrier for all of them or for none.
    let daughters = possible_het(&half());
    let table =
        [(1, 0.875, 23, 35), (2, 0.78125, 13, 19), (4, 0.658_203, 8, 12), (6, 0.588_989, 6, 9), (8, 0.550_056, 6, 8)];
    for (n_young, missed, for_95, for_99) in table {
        close(1.0 - to_f64(&tested(daughters.clone()).at_least_one(n_young).unwrap()), missed, 5e-7);
        assert_eq!(mates_for(&daughters, n_young, &odds(95, 100)), for_95);
        assert_eq!(mates_for(&daughters, n_young, &odds(99, 100)), for_99);
    }
}

#[test]
fn worked_problems() {
    let missed = |mate: Belief, n| sure() - tested(mate).at_least_one(n).unwrap();
    let from_daughters = sure() - pow(missed(possible_het(&half()), 1), 20);
    close(to_f64(&from_daughters), 0.9308, 5e-5);
    assert_eq!(mates_for(&possible_het(&half()), 1, &odds(99, 100)) - 20, 15);
    let five_calves = missed(Belief::sure(visual()), 2) * missed(Belief::sure(het()), 3);
    close(to_f64(&five_calves), 0.105_468_75, 0.0);
}
