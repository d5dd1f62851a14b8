//! Mendel G. (1866) Versuche über Pflanzen-Hybriden. Verh. naturf. Vereines in Brünn IV (for 1865), 3-47.
//!
//! The counts are his; the ratios come from the engine; the chi-squares are computed (those of the seven characters
//! agree with public re-analyses of Fisher 1936, Ann. Sci. 1:115-137, a citation from memory). "Visual" is what he
//! calls recessive, allele 0 what he calls dominant.

use hatchward::engine::inheritance::cross::Offspring;
use hatchward::engine::inheritance::genotype::Genotype;
use hatchward::engine::inheritance::locus::{LocusId, Look};
use hatchward::engine::odds::{Odds, none, odds};

use crate::pairs::{animal, chi_square, clear, close, het, visual, young};

fn hybrids(n: usize) -> Offspring {
    young(&animal(&vec![het(); n]), &animal(&vec![het(); n]))
}

/// The share of a look; `true` = the recessive shows.
fn share(offspring: &Offspring, recessive: &[bool]) -> Odds {
    let fits = |looks: &[(LocusId, Look)]| looks.iter().zip(recessive).all(|((_, look), r)| look.is_wild() != *r);
    offspring.looks().filter(|look| fits(&look.looks)).map(|look| look.probability).sum()
}

/// Reads his notation: `A` pure dominant, `a` pure recessive, `Aa` hybrid.
fn genotypes(written: &str) -> Vec<Genotype> {
    let letters = written.to_ascii_lowercase().chars().collect::<std::collections::BTreeSet<_>>();
    let of = |letter: char| match (written.contains(letter.to_ascii_uppercase()), written.contains(letter)) {
        (true, true) => het(),
        (true, false) => clear(),
        _ => visual(),
    };
    letters.into_iter().map(of).collect()
}

fn by_genotype(offspring: &Offspring, counts: &[(&str, f64)]) -> (f64, f64) {
    let outcomes: Vec<_> = offspring.outcomes().collect();
    let rows = counts.iter().map(|(written, n)| {
        let wanted = genotypes(written);
        let found = outcomes.iter().find(|o| o.genotypes.iter().map(|(_, g)| *g).eq(wanted.iter().copied()));
        (*n, found.map_or_else(none, |o| o.probability.clone()))
    });
    chi_square(&rows.collect::<Vec<_>>())
}

#[test]
fn seven_characters_segregate_3_to_1() {
    // Seed shape, seed colour, flower colour, pod form, pod colour, flower position, stem length.
    let counts = [
        (5474.0, 1850.0, 0.2629, 0.608),
        (6022.0, 2001.0, 0.0150, 0.903),
        (705.0, 224.0, 0.3907, 0.532),
        (882.0, 299.0, 0.0635, 0.801),
        (428.0, 152.0, 0.4506, 0.502),
        (651.0, 207.0, 0.3497, 0.554),
        (787.0, 277.0, 0.6065, 0.436),
    ];
    let offspring = hybrids(1);
    let (dominant, recessive) = (share(&offspring, &[false]), share(&offspring, &[true]));
    assert_eq!((&dominant, &recessive), (&odds(3, 4), &odds(1, 4)));
    let mut sum = 0.0;
    for (a, b, chi2, p) in counts {
        let found = chi_square(&[(a, dominant.clone()), (b, recessive.clone())]);
        close(found.0, chi2, 5e-5);
        close(found.1, p, 5e-4);
        sum += found.0;
    }
    close(sum, 2.1389, 1e-4);
    let pooled = chi_square(&[(14949.0, dominant), (5010.0, recessive)]);
    close(pooled.0, 0.1096, 5e-5);
}

#[test]
fn two_thirds_of_the_dominants_are_hybrids() {
    // The progeny of second-generation dominants, hybrid : pure. Counts from memory; chi-squares computed.
    let counts = [
        (372.0, 193.0, 0.1735),
        (353.0, 166.0, 0.4249),
        (64.0, 36.0, 0.3200),
        (71.0, 29.0, 0.8450),
        (60.0, 40.0, 2.0000),
        (65.0, 35.0, 0.1250),
        (67.0, 33.0, 0.0050),
        (72.0, 28.0, 1.2800),
    ];
    let normal = hybrids(1).looks().next().unwrap();
    let (_, given) = &normal.genotypes[0];
    let chance = |g: Genotype| given.iter().find(|(found, _)| *found == g).unwrap().1.clone();
    assert_eq!(chance(het()), odds(2, 3));
    for (hybrid, pure, chi2) in counts {
        close(chi_square(&[(hybrid, chance(het())), (pure, chance(clear()))]).0, chi2, 5e-5);
    }
}

#[test]
fn two_characters_give_9_3_3_1() {
    let offspring = hybrids(2);
    let shares: Vec<Odds> = offspring.looks().map(|look| look.probability).collect();
    assert_eq!(shares, [odds(9, 16), odds(3, 16), odds(3, 16), odds(1, 16)]);
    // Round yellow, round green, wrinkled yellow, wrinkled green.
    let seeds = [(315.0, [false, false]), (108.0, [false, true]), (101.0, [true, false]), (32.0, [true, true])];
    let (chi2, p) = chi_square(&seeds.map(|(n, look)| (n, share(&offspring, &look))));
    close(chi2, 0.4700, 5e-5);
    close(p, 0.9254, 5e-5);
    let plants = [
        ("AB", 38.0),
        ("Ab", 35.0),
        ("aB", 28.0),
        ("ab", 30.0),
        ("ABb", 65.0),
        ("aBb", 68.0),
        ("AaB", 60.0),
        ("Aab", 67.0),
        ("AaBb", 138.0),
    ];
    let (chi2, p) = by_genotype(&offspring, &plants);
    close(chi2, 2.8110, 5e-5);
    close(p, 0.9457, 5e-5);
}

#[test]
fn three_characters_give_27_genotypes_and_8_looks() {
    let plants = [
        ("ABC", 8.0),
        ("ABc", 14.0),
        ("AbC", 9.0),
        ("Abc", 11.0),
        ("aBC", 8.0),
        ("aBc", 10.0),
        ("abC", 10.0),
        ("abc", 7.0),
        ("ABCc", 22.0),
        ("AbCc", 17.0),
        ("aBCc", 25.0),
        ("abCc", 20.0),
        ("ABbC", 15.0),
        ("ABbc", 18.0),
        ("aBbC", 19.0),
        ("aBbc", 24.0),
        ("AaBC", 14.0),
        ("AaBc", 18.0),
        ("AabC", 20.0),
        ("Aabc", 16.0),
        ("ABbCc", 45.0),
        ("aBbCc", 36.0),
        ("AaBCc", 38.0),
        ("AabCc", 40.0),
        ("AaBbC", 49.0),
        ("AaBbc", 48.0),
        ("AaBbCc", 78.0),
    ];
    let offspring = hybrids(3);
    assert_eq!(offspring.n_outcomes(), 27u8.into());
    assert_eq!(offspring.n_looks(), 8u8.into());
    let (chi2, p) = by_genotype(&offspring, &plants);
    close(chi2, 15.3224, 5e-5);
    close(p, 0.9511, 5e-5);
    let looks = [
        (269.0, [false, false, false]),
        (98.0, [false, false, true]),
        (86.0, [false, true, false]),
        (88.0, [true, false, false]),
        (27.0, [false, true, true]),
        (34.0, [true, false, true]),
        (30.0, [true, true, false]),
        (7.0, [true, true, true]),
    ];
    let (chi2, p) = chi_square(&looks.map(|(n, look)| (n, share(&offspring, &look))));
    close(chi2, 2.6730, 5e-5);
    close(p, 0.9135, 5e-5);
}

#[test]
fn backcrosses_give_equal_parts() {
    let counts = [
        ("AaBb", "AB", [("AB", 20.0), ("ABb", 23.0), ("AaB", 25.0), ("AaBb", 22.0)], 0.5778),
        ("AB", "AaBb", [("AB", 25.0), ("ABb", 19.0), ("AaB", 22.0), ("AaBb", 21.0)], 0.8621),
        ("AaBb", "ab", [("AaBb", 31.0), ("Aab", 26.0), ("aBb", 27.0), ("ab", 26.0)], 0.6182),
        ("ab", "AaBb", [("AaBb", 24.0), ("Aab", 25.0), ("aBb", 22.0), ("ab", 27.0)], 0.5306),
        ("Aab", "aBb", [("AaBb", 47.0), ("aBb", 40.0), ("Aab", 38.0), ("ab", 41.0)], 1.0843),
    ];
    for (sire, dam, plants, chi2) in counts {
        let offspring = young(&animal(&genotypes(sire)), &animal(&genotypes(dam)));
        close(by_genotype(&offspring, &plants).0, chi2, 5e-5);
    }
}
