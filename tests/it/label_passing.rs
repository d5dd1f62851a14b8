//! What the label of normal-looking young is, given what their parents were: the trade's "66 % het", computed.
//!
//! Common practice for 66 % and 50 %; 3/5, 4/7 and 2/5 are computed from Bayes' rule.

use hatchward::engine::inheritance::genotype::Belief;
use hatchward::engine::odds::{Odds, half, none, odds};

use crate::pairs::{believed, clear, het, possible_het, visual, young};

/// The chance that a normal-looking young carries, and the chance of a visual one per egg.
fn label(sire: Belief, dam: Belief) -> (Odds, Odds) {
    let offspring = young(&believed([sire]), &believed([dam]));
    let normal = offspring.looks().find(|look| look.looks[0].1.is_wild()).unwrap();
    let given = &normal.genotypes[0].1;
    let carries = given.iter().find(|(g, _)| *g == het()).unwrap().1.clone();
    let cells = offspring.factors()[0].cells().iter();
    (carries, cells.filter(|cell| cell.genotype == visual()).map(|cell| cell.weight.clone()).sum())
}

#[test]
fn labels_are_computed_from_both_parents() {
    let sure = Belief::sure;
    let two_thirds = possible_het(&odds(2, 3));
    let one_half = possible_het(&half());
    let table = [
        (sure(het()), sure(clear()), odds(1, 2), none()),
        (one_half.clone(), sure(clear()), odds(1, 4), none()),
        (possible_het(&odds(1, 4)), sure(clear()), odds(1, 8), none()),
        (possible_het(&odds(1, 8)), sure(clear()), odds(1, 16), none()),
        (sure(het()), sure(het()), odds(2, 3), odds(1, 4)),
        (two_thirds.clone(), sure(het()), odds(3, 5), odds(1, 6)),
        (one_half.clone(), sure(het()), odds(4, 7), odds(1, 8)),
        (two_thirds.clone(), two_thirds, odds(1, 2), odds(1, 9)),
        (one_half.clone(), one_half, odds(2, 5), odds(1, 16)),
    ];
    for (sire, dam, carries, visual) in table {
        assert_eq!(label(sire.clone(), dam.clone()), (carries.clone(), visual.clone()), "{sire:?} {dam:?}");
        assert_eq!(label(dam, sire), (carries, visual));
    }
}

#[test]
fn a_visual_parent_makes_every_normal_young_a_carrier() {
    let offspring = young(&believed([Belief::sure(visual())]), &believed([possible_het(&half())]));
    assert!(offspring.looks().all(|look| look.genotypes.is_empty()));
    assert_eq!(offspring.factors()[0].cells()[0].genotype, het());
}

#[test]
fn two_thirds_by_one_half_gives_a_visual_in_twelve() {
    assert_eq!(label(possible_het(&odds(2, 3)), possible_het(&half())).1, odds(1, 12));
}
