//! Castle W.E. & Little C.C. (1910) On a modified Mendelian ratio among yellow mice. Science 32:868-870.
//!
//! A dominant coat colour whose homozygotes die before birth. Counts from memory, chi-squares computed.

use hatchward::engine::inheritance::clutch::{Wanted, per_egg};
use hatchward::engine::inheritance::cross::cross;
use hatchward::engine::inheritance::locus::{Genetics, Locus, LocusId, Mode};
use hatchward::engine::odds::{odds, sure};

use crate::pairs::{animal, chi_square, close, het, visual};

#[test]
fn yellow_by_yellow_loses_a_quarter_and_gives_2_to_1() {
    let genetics = Genetics::new(vec![Locus::trade(&[Mode::Dominant]).with_lethal(visual())], None).unwrap();
    let yellow = animal(&[het()]);
    let young = cross(&genetics, &yellow, &yellow).unwrap();
    assert_eq!(young.lost(), odds(1, 4));
    let live = sure() - young.lost();
    let shares: Vec<_> = young.looks().map(|look| look.probability / &live).collect();
    assert_eq!(shares, [odds(2, 3), odds(1, 3)]);
    // A yellow young has one copy for sure: the look leaves no other genotype.
    assert!(young.looks().all(|look| look.genotypes.is_empty()));
    assert_eq!(per_egg(&young, &Wanted::any()), Ok(odds(3, 4)));
    assert_eq!(per_egg(&young, &Wanted::any().with(LocusId(0), [visual()])), Ok(odds(0, 1)));

    close(chi_square(&[(800.0, shares[0].clone()), (435.0, shares[1].clone())]).0, 1.9838, 5e-5);
    close(chi_square(&[(800.0, odds(3, 4)), (435.0, odds(1, 4))]).0, 68.83, 5e-3);
}
