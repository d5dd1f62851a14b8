//! Records that contradict each other: the fewest that do are named.

use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{LocusId, Sex};
use hatchward::engine::odds::{half, sure};
use hatchward::engine::pedigree::clash::{Clash, Fact, clash, facts, with_only};
use hatchward::engine::pedigree::descent::AnimalId;
use hatchward::engine::pedigree::evidence::{EvidenceError, weigh};
use hatchward::engine::pedigree::records::{Animal, Clutch, Place, Records, Young};
use proptest::prelude::*;

use crate::evidence_enumeration::case;
use crate::pairs::{clear, het, recessives, visual};

const A: LocusId = LocusId(0);
const B: LocusId = LocusId(1);

fn founder(genotypes: &[Genotype]) -> Animal {
    let beliefs: Genome = (0..).map(LocusId).zip(genotypes.iter().map(|g| Belief::sure(*g))).collect();
    Animal { beliefs, ..Animal::default() }
}

fn seen(
    genotypes: &[Genotype],
) -> std::collections::BTreeMap<LocusId, Vec<hatchward::engine::inheritance::locus::Look>> {
    let genetics = recessives(2);
    let looks = (0..).map(LocusId).zip(genotypes).map(|(id, g)| (id, vec![genetics.locus(id).unwrap().look_of(*g)]));
    looks.collect()
}

fn young_of(sire: usize, dam: usize, genotypes: &[Genotype]) -> Animal {
    let (sires, dam) = (vec![(AnimalId(sire), sure())], Some(AnimalId(dam)));
    Animal { sires, dam, seen: seen(genotypes), ..Animal::default() }
}

#[track_caller]
fn check(records: &Records, expected: &[Fact]) {
    let mut expected = expected.to_vec();
    expected.sort_unstable();
    let genetics = recessives(2);
    assert_eq!(weigh(&genetics, records), Err(EvidenceError::Impossible));
    assert_eq!(clash(&genetics, records).unwrap(), Some(Clash { facts: expected, smallest: true }));
}

#[test]
fn a_visual_young_of_a_parent_that_cannot_carry() {
    // The dam is a carrier, the sire came clear; other animals have nothing to do with it.
    let mut animals = vec![founder(&[clear()]), founder(&[het()]), young_of(0, 1, &[visual()])];
    for _ in 0..10 {
        animals.push(young_of(0, 1, &[clear()]));
        animals.push(founder(&[het(), het()]));
    }
    let records = Records { animals, ..Records::default() };
    let young = AnimalId(2);
    let expected = [
        Fact::Look { animal: young, locus: A },
        Fact::Sire(Place::Animal(young)),
        Fact::Founder { animal: AnimalId(0), locus: A },
    ];
    check(&records, &expected);
}

#[test]
fn an_unknown_dam_that_would_have_to_carry() {
    let mut young = young_of(0, 0, &[visual()]);
    young.dam = None;
    let records = Records { animals: vec![founder(&[het()]), young], ..Records::default() };
    let young = AnimalId(1);
    check(&records, &[Fact::Look { animal: young, locus: A }, Fact::Dam(Place::Animal(young))]);
}

#[test]
fn a_normal_young_of_two_visuals() {
    let records = Records {
        animals: vec![
            founder(&[visual()]),
            founder(&[clear(), visual()]),
            Animal { seen: seen(&[visual()]), ..young_of(0, 1, &[]) },
        ],
        clutches: vec![Clutch {
            sires: vec![(AnimalId(0), sure())],
            dam: Some(AnimalId(1)),
            young: vec![Young { seen: seen(&[clear()]), sex: Some(Sex::Male), count: 2 }],
            ..Clutch::default()
        }],
        ..Records::default()
    };
    // The visual young clashes with its clear dam; the normal young clash with nobody.
    let young = AnimalId(2);
    let expected = [
        Fact::Look { animal: young, locus: A },
        Fact::Dam(Place::Animal(young)),
        Fact::Founder { animal: AnimalId(1), locus: A },
    ];
    check(&records, &expected);
}

#[test]
fn two_loci_that_name_different_sires() {
    // One young needs the first sire, the other the second, and one of them fathered both.
    let at_b = seen(&[clear(), visual()]).remove(&B).unwrap();
    let young = |seen| Young { seen, sex: None, count: 1 };
    let records = Records {
        animals: vec![founder(&[visual(), clear()]), founder(&[clear(), visual()]), founder(&[visual(), visual()])],
        clutches: vec![Clutch {
            sires: vec![(AnimalId(0), half()), (AnimalId(1), half())],
            dam: Some(AnimalId(2)),
            young: vec![young(seen(&[visual()])), young([(B, at_b)].into())],
            ..Clutch::default()
        }],
        ..Records::default()
    };
    let expected = [
        Fact::YoungLook { clutch: 0, young: 0, locus: A },
        Fact::YoungLook { clutch: 0, young: 1, locus: B },
        Fact::Sire(Place::Clutch(0)),
        Fact::Founder { animal: AnimalId(0), locus: B },
        Fact::Founder { animal: AnimalId(1), locus: A },
    ];
    check(&records, &expected);
}

#[test]
fn what_can_be_true_does_not_clash() {
    let records = Records {
        animals: vec![founder(&[het()]), founder(&[het()]), young_of(0, 1, &[visual()])],
        ..Records::default()
    };
    assert_eq!(clash(&recessives(2), &records), Ok(None));
}

/// All sets of so many of these facts.
fn choose(facts: &[Fact], n: usize) -> Vec<Vec<Fact>> {
    if n == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for (i, fact) in facts.iter().enumerate() {
        for mut set in choose(&facts[i + 1..], n - 1) {
            set.push(*fact);
            all.push(set);
        }
    }
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(64)))]

    #[test]
    fn no_smaller_set_of_facts_clashes(bytes in prop::collection::vec(any::<u8>(), 200)) {
        let case = case(&bytes);
        let clashes = |facts: &[Fact]| {
            let records = with_only(&case.genetics, &case.records, facts);
            weigh(&case.genetics, &records) == Err(EvidenceError::Impossible)
        };
        let Some(found) = clash(&case.genetics, &case.records).unwrap() else {
            prop_assert!(weigh(&case.genetics, &case.records).is_ok());
            return Ok(());
        };
        prop_assert!(found.smallest);
        prop_assert!(clashes(&found.facts), "{found:?}");
        let all = facts(&case.genetics, &case.records);
        for n in 0..found.facts.len().min(4) {
            for set in choose(&all, n) {
                prop_assert!(!clashes(&set), "{set:?} is smaller than {found:?}");
            }
        }
    }
}
