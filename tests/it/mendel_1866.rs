//! Mendel G. (1866) Versuche über Pflanzen-Hybriden. Verh. naturf. Vereines in Brünn IV, 3–47.
//!
//! The engine's ratios are the expected ones; the counts are Mendel's. The chi-squares were worked out from both.

use hatchward::engine::inheritance::genotype::Genotype;
use hatchward::engine::inheritance::locus::LocusId;
use hatchward::engine::odds::{odds, to_f64};
use statrs::distribution::{ChiSquared, ContinuousCDF};

use crate::pairs::{chi_square, crossed, genome, het, near, pure, recessives};

/// Chances of the looks of hybrid × hybrid, normal-looking at the loci of the mask's zero bits.
fn second_generation(n: usize) -> Vec<f64> {
    let hybrid = genome(&vec![het(); n]);
    let offspring = crossed(&recessives(n), &hybrid, &hybrid);
    let mut shares = vec![0.0; 1 << n];
    for row in offspring.looks() {
        let visual = row.genotypes.iter().filter(|(_, genotypes)| genotypes[0].0 == pure());
        shares[visual.map(|(locus, _)| 1 << locus.0).sum::<usize>()] = to_f64(&row.probability);
    }
    shares
}

#[test]
fn seven_traits_three_to_one() {
    // Mendel 1866 (counts confirmed in two re-analyses of Fisher R.A. 1936, Ann. Sci. 1:115–137).
    let traits = [
        (5474, 1850, 0.2629),
        (6022, 2001, 0.0150),
        (705, 224, 0.3907),
        (882, 299, 0.0635),
        (428, 152, 0.4506),
        (651, 207, 0.3497),
        (787, 277, 0.6065),
    ];
    let shares = second_generation(1);
    let mut sum = 0.0;
    for (dominant, recessive, expected) in traits {
        let found = chi_square(&[dominant, recessive], &shares);
        near(found, expected, 5e-5);
        sum += found;
    }
    near(sum, 2.1389, 5e-5);
    let p = 1.0 - ChiSquared::new(7.0).expect("seven degrees of freedom").cdf(sum);
    near(p, 0.9518, 5e-5);
}

#[test]
fn second_generation_dominants_are_two_carriers_to_one_pure() {
    // Mendel 1866 (counts from memory; chi-squares computed).
    let f3 = [(372, 193, 0.1735), (353, 166, 0.4249), (64, 36, 0.32), (71, 29, 0.845), (60, 40, 2.0), (65, 35, 0.125)];
    let hybrid = genome(&[het()]);
    let offspring = crossed(&recessives(1), &hybrid, &hybrid);
    let normal = offspring.looks().next().expect("the commonest look");
    assert_eq!(normal.probability, odds(3, 4));
    assert_eq!(normal.genotypes, vec![(LocusId(0), vec![(het(), odds(2, 3)), (Genotype::WILD, odds(1, 3))])]);
    let shares: Vec<f64> = normal.genotypes[0].1.iter().map(|(_, chance)| to_f64(chance)).collect();
    for (carriers, plain, expected) in f3 {
        near(chi_square(&[carriers, plain], &shares), expected, 5e-5);
    }
}

#[test]
fn two_traits_nine_three_three_one() {
    // Mendel 1866: 315 round yellow, 101 wrinkled yellow, 108 round green, 32 wrinkled green (confirmed).
    near(chi_square(&[315, 101, 108, 32], &second_generation(2)), 0.47, 5e-5);
}

#[test]
fn nine_genotypes_of_two_traits() {
    // Mendel 1866, 529 plants (confirmed). Pure forms, forms mixed at one place, at both.
    let hybrid = genome(&[het(), het()]);
    let outcomes: Vec<f64> =
        crossed(&recessives(2), &hybrid, &hybrid).outcomes().map(|outcome| to_f64(&outcome.probability)).collect();
    let falling = [138, 65, 68, 60, 67, 38, 35, 28, 30];
    near(chi_square(&falling, &outcomes), 2.8110, 5e-5);
}

#[test]
fn twenty_seven_genotypes_of_three_traits() {
    // Mendel 1866, 639 plants (all 27 counts confirmed). Mixed at three, two, one, no place: weights 8, 4, 2, 1.
    let falling =
        [78, 45, 36, 38, 40, 49, 48, 22, 17, 25, 20, 15, 18, 19, 24, 14, 18, 20, 16, 8, 14, 9, 11, 8, 10, 10, 7];
    let hybrid = genome(&[het(); 3]);
    let outcomes: Vec<f64> =
        crossed(&recessives(3), &hybrid, &hybrid).outcomes().map(|outcome| to_f64(&outcome.probability)).collect();
    near(chi_square(&falling, &outcomes), 15.3224, 5e-5);
    // By look: A-B-C-, then those with a, b, ab, c, ac, bc, abc.
    near(chi_square(&[269, 88, 86, 30, 98, 34, 27, 7], &second_generation(3)), 2.6730, 5e-5);
}

#[test]
fn backcrosses_give_equal_classes() {
    // Mendel 1866 (counts confirmed).
    let (hybrid, plain) = (genome(&[het(), het()]), genome(&[Genotype::WILD; 2]));
    let recessive = genome(&[pure(), pure()]);
    let counts = [
        (&hybrid, &plain, [20, 23, 25, 22], 0.5778),
        (&plain, &hybrid, [25, 19, 22, 21], 0.8621),
        (&hybrid, &recessive, [31, 26, 27, 26], 0.6182),
        (&recessive, &hybrid, [24, 25, 22, 27], 0.5306),
    ];
    for (sire, dam, seen, expected) in counts {
        let offspring = crossed(&recessives(2), sire, dam);
        let shares: Vec<f64> = offspring.outcomes().map(|outcome| to_f64(&outcome.probability)).collect();
        assert_eq!(shares, [0.25; 4]);
        near(chi_square(&seen, &shares), expected, 5e-5);
    }
    // Flower colour and stem, one trait mixed in each parent.
    let offspring = crossed(&recessives(2), &genome(&[het(), pure()]), &genome(&[pure(), het()]));
    let shares: Vec<f64> = offspring.looks().map(|row| to_f64(&row.probability)).collect();
    near(chi_square(&[47, 40, 38, 41], &shares), 1.0843, 5e-5);
}

#[test]
fn double_hets_and_visuals() {
    // Common practice, no source.
    let [dh, one, other] = [[het(), het()], [pure(), het()], [het(), pure()]].map(|parent| genome(&parent));
    let both = |sire, dam| {
        let offspring = crossed(&recessives(2), sire, dam);
        let found = offspring.outcomes().find(|outcome| outcome.genotypes.iter().all(|(_, g)| *g == pure()));
        found.expect("both visual").probability
    };
    assert_eq!(both(&dh, &dh), odds(1, 16));
    assert_eq!(both(&one, &dh), odds(1, 8));
    assert_eq!(both(&one, &other), odds(1, 4));
}
