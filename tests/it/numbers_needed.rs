//! How many young for one of a wanted class.
//!
//! The columns for 95 and 99 % are, from memory, those of Sedcole J.R. (1977) Number of plants necessary to recover a trait,
//! Crop Sci. 17:667–668; every value was computed from the exact binomial.

use hatchward::engine::inheritance::clutch::{Wanted, per_egg};
use hatchward::engine::inheritance::genotype::Genotype;
use hatchward::engine::inheritance::locus::LocusId;
use hatchward::engine::odds::{Odds, odds, to_f64};
use statrs::distribution::{Binomial, Discrete, DiscreteCDF};

use crate::pairs::{chances, crossed, genome, het, near, recessives, visual};

/// A wish with this chance per egg: 3/4, or a power of 1/2, made of het × het and het × visual loci.
fn chances_of(halvings: u16) -> hatchward::engine::inheritance::clutch::Chances {
    let n = usize::from(halvings);
    let offspring = crossed(&recessives(n), &genome(&vec![het(); n]), &genome(&vec![crate::pairs::pure(); n]));
    assert_eq!(per_egg(&offspring, &visual(halvings)), odds(1, 1 << halvings));
    chances(&offspring, &visual(halvings))
}

#[test]
fn one_of_a_class() {
    let (p90, p95, p99, p999) = (odds(9, 10), odds(19, 20), odds(99, 100), odds(999, 1000));
    let table =
        [(1, 5, 7), (2, 11, 17), (3, 23, 35), (4, 47, 72), (5, 95, 146), (6, 191, 293), (7, 382, 588), (8, 766, 1177)];
    for (halvings, at_95, at_99) in table {
        let chances = chances_of(halvings);
        assert_eq!(chances.eggs_for(&p95), Some(at_95));
        // 1/4 needs 16.0078 at 99 %: 17, where some handbooks print 16.
        assert_eq!(chances.eggs_for(&p99), Some(at_99));
    }
    for (halvings, at_90) in [(1, 4), (2, 9), (3, 18), (4, 36), (6, 147)] {
        assert_eq!(chances_of(halvings).eggs_for(&p90), Some(at_90));
    }
    for (halvings, at_999) in [(1, 10), (2, 25), (3, 52), (4, 108), (6, 439)] {
        assert_eq!(chances_of(halvings).eggs_for(&p999), Some(at_999));
    }
    let hybrid = genome(&[het()]);
    let normal = Wanted::any().with(LocusId(0), vec![het(), Genotype::WILD]);
    let three_quarters = chances(&crossed(&recessives(1), &hybrid, &hybrid), &normal);
    assert_eq!((three_quarters.eggs_for(&p95), three_quarters.eggs_for(&p99)), (Some(3), Some(4)));
}

#[test]
fn one_male_and_one_female() {
    for (halvings, at_95, at_99) in [(0, 6, 8), (1, 13, 19), (2, 28, 40), (3, 58, 83), (4, 116, 167)] {
        let chances = chances_of(halvings);
        let least = |level: &Odds| (0..).find(|&n| chances.one_of_each(n) >= *level);
        assert_eq!((least(&odds(19, 20)), least(&odds(99, 100))), (Some(at_95), Some(at_99)));
    }
}

#[test]
fn agrees_with_a_statistics_library() {
    for halvings in 1..=4 {
        let chances = chances_of(halvings);
        for n in [1_u32, 6, 7, 30] {
            let binomial = Binomial::new(0.5_f64.powi(halvings.into()), n.into()).expect("a chance");
            near(to_f64(&chances.at_least_one(n)), 1.0 - binomial.cdf(0), 1e-12);
            let distribution = chances.distribution(n);
            assert_eq!(distribution.iter().sum::<Odds>(), odds(1, 1));
            for (k, chance) in (0..).zip(&distribution) {
                near(to_f64(chance), binomial.pmf(k), 1e-12);
            }
        }
    }
}
