//! Castle W.E. & Little C.C. (1910) On a modified Mendelian ratio among yellow mice. Science 32:868–870.

use hatchward::engine::inheritance::clutch::{Wanted, per_egg};
use hatchward::engine::inheritance::genotype::Genotype;
use hatchward::engine::inheritance::locus::{Genetics, Locus, LocusId, Mode};
use hatchward::engine::odds::{odds, to_f64};

use crate::pairs::{chi_square, crossed, genome, het, near, pure};

#[test]
fn yellow_to_other_is_two_to_one_among_the_living() {
    let yellow = Locus::trade(&[Mode::Dominant]).with_lethal(pure());
    let genetics = Genetics::new(vec![yellow], None).expect("one locus");
    let offspring = crossed(&genetics, &genome(&[het()]), &genome(&[het()]));
    // A quarter dies before birth (confirmed in a secondary account).
    assert_eq!(offspring.lost(), odds(1, 4));
    let live: Vec<_> = offspring.outcomes().map(|o| (o.genotypes[0].1, o.probability)).collect();
    assert_eq!(live, [(het(), odds(1, 2)), (Genotype::WILD, odds(1, 4))]);
    assert_eq!(offspring.at(LocusId(0)), [(None, het(), odds(2, 3)), (None, Genotype::WILD, odds(1, 3))]);
    // Castle & Little 1910: 800 yellow, 435 other (counts from memory; chi-squares computed).
    let shares: Vec<f64> = live.iter().map(|(_, chance)| to_f64(chance)).collect();
    near(chi_square(&[800, 435], &shares), 1.9838, 5e-5);
    near(chi_square(&[800, 435], &[3.0, 1.0]), 68.83, 5e-3);
    assert_eq!(per_egg(&offspring, &Wanted::any()), odds(3, 4));
    assert_eq!(per_egg(&offspring, &Wanted::any().with(LocusId(0), vec![pure()])), odds(0, 1));
}
