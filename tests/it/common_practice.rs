//! What every breeder knows: common practice, no source.

use hatchward::engine::inheritance::clutch::{Chances, Wanted, per_egg};
use hatchward::engine::inheritance::genotype::Genotype;
use hatchward::engine::inheritance::locus::LocusId;
use hatchward::engine::odds::{Odds, half, odds};

use crate::pairs::{all_visual, animal, clear, het, visual, young};

fn double_visual(sire: [Genotype; 2], dam: [Genotype; 2]) -> Odds {
    per_egg(&young(&animal(&sire), &animal(&dam)), &all_visual(2)).unwrap()
}

#[test]
fn double_visuals_from_carriers_and_visuals() {
    let carrier = [het(), het()];
    assert_eq!(double_visual(carrier, carrier), odds(1, 16));
    assert_eq!(double_visual([visual(), het()], carrier), odds(1, 8));
    assert_eq!(double_visual([visual(), het()], [het(), visual()]), odds(1, 4));
}

#[test]
fn a_clutch_often_shows_no_double_visual() {
    let pair = young(&animal(&[het(), het()]), &animal(&[het(), het()]));
    let chances = Chances::of(&pair, &all_visual(2)).unwrap();
    for n_eggs in 6..=8 {
        assert!(chances.at_least_one(n_eggs).unwrap() < half());
    }
}

#[test]
fn two_genes_that_must_both_be_there_give_9_to_7() {
    // Bateson's sweet peas: purple needs both. The ratio from memory.
    let both = [LocusId(0), LocusId(1)].into_iter().fold(Wanted::any(), |w, locus| w.with(locus, [clear(), het()]));
    let second = young(&animal(&[het(), het()]), &animal(&[het(), het()]));
    assert_eq!(per_egg(&second, &both), Ok(odds(9, 16)));
}
