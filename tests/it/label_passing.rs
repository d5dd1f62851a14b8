//! What the normal-looking young of uncertain parents carry. All values computed by Bayes' rule on Mendel's ratios.

use hatchward::engine::inheritance::clutch::per_egg;
use hatchward::engine::inheritance::genotype::{Genome, Genotype};
use hatchward::engine::odds::{Odds, none, odds};

use crate::pairs::{crossed, genome, het, maybe_het, pure, recessives, visual};

/// The chance that young of the normal look carry one copy.
fn label(sire: &Genome, dam: &Genome) -> Odds {
    let offspring = crossed(&recessives(1), sire, dam);
    let normal = offspring.looks().find(|row| row.genotypes[0].1.iter().all(|(g, _)| *g != pure()));
    let carried = normal.expect("some look normal").genotypes.remove(0).1;
    carried.into_iter().find(|(g, _)| *g == het()).map_or_else(none, |(_, chance)| chance)
}

#[test]
fn labels_of_the_normal_looking() {
    let (known, plain) = (genome(&[het()]), genome(&[Genotype::WILD]));
    let maybe = |n, d| maybe_het(odds(n, d));
    let table = [
        (&known, &plain, odds(1, 2)),
        (&maybe(1, 2), &plain, odds(1, 4)),
        (&maybe(1, 4), &plain, odds(1, 8)),
        (&maybe(1, 8), &plain, odds(1, 16)),
        (&known, &known, odds(2, 3)), // the trade's 66 %: common practice, no source
        (&maybe(2, 3), &known, odds(3, 5)),
        (&maybe(1, 2), &known, odds(4, 7)),
        (&maybe(2, 3), &maybe(2, 3), odds(1, 2)),
        (&maybe(1, 2), &maybe(1, 2), odds(2, 5)),
        (&genome(&[pure()]), &plain, odds(1, 1)),
    ];
    for (sire, dam, expected) in table {
        assert_eq!(label(sire, dam), expected);
        assert_eq!(label(dam, sire), expected);
    }
}

#[test]
fn visuals_of_uncertain_parents() {
    let visuals = |p: Odds, q: Odds| per_egg(&crossed(&recessives(1), &maybe_het(p), &maybe_het(q)), &visual(1));
    assert_eq!(visuals(odds(2, 3), odds(2, 3)), odds(1, 9));
    assert_eq!(visuals(odds(1, 2), odds(1, 2)), odds(1, 16));
    assert_eq!(visuals(odds(2, 3), odds(1, 2)), odds(1, 12));
}

#[test]
fn normal_looking_young_of_a_double_het() {
    // Computed: 4/9 carry both, 4/9 one, 1/9 none.
    let dh = genome(&[het(), het()]);
    let offspring = crossed(&recessives(2), &dh, &dh);
    let normal = offspring.looks().next().expect("the commonest look");
    let [(_, first), (_, second)] = normal.genotypes.as_slice() else { panic!("two loci") };
    assert_eq!(first, second);
    assert_eq!(first[0], (het(), odds(2, 3)));
    assert_eq!(&first[0].1 * &second[0].1, odds(4, 9));
}
