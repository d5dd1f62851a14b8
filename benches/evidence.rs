//! What a breeder waits for: who carries what after a clutch, and who is related to whom.
//!
//! The networks "of the fixture" are those that a general-purpose Bayes-network library (pyAgrum 3.3.1) was asked about; its
//! times on the same machine come from the script beside them:
//!
//!     python3 -m venv venv && venv/bin/pip install pyagrum==3.3.1
//!     venv/bin/python tests/fixtures/evidence/make.py time < tests/fixtures/evidence/collection.jsonl
//!     venv/bin/python tests/fixtures/evidence/make.py time < tests/fixtures/evidence/pedigrees.jsonl
//!
//! It builds its tables in Python ("built") and weighs in C++ ("weighed"); ours read the request, build, weigh and write.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::engine::inheritance::genotype::{Belief, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexSystem};
use hatchward::engine::odds::{odds, sure};
use hatchward::engine::pedigree::descent::{AnimalId, Descent, Parents};
use hatchward::engine::pedigree::evidence::weigh;
use hatchward::engine::pedigree::kinship::relate;
use hatchward::engine::pedigree::records::{Animal, Clutch, Records, Seen, Young};
use hatchward::lines::engine::answer;

const N_LOCI: u16 = 5;

fn pair(a: u8, b: u8) -> Genotype {
    Genotype::pair(AlleleId(a), AlleleId(b))
}

fn species() -> Genetics {
    Genetics::new(vec![Locus::trade(&[Mode::Recessive]); N_LOCI.into()], Some(SexSystem::Xy)).unwrap()
}

/// A repeatable choice; benches measure the same collection every time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % n
    }
}

/// One line: founders, then generations of clutches. Every second generation two males go back to the dams of the one
/// before, so pairs are related in several ways.
struct Line {
    n_founders: usize,
    n_generations: usize,
    clutches_a_generation: usize,
    kept_a_clutch: usize,
}

/// `n_lines` lines side by side. What everybody looks like follows from genotypes that were drawn, so it is possible.
fn collection(genetics: &Genetics, line: &Line, n_lines: usize) -> Records {
    let mut dice = Dice(7);
    let mut records = Records::default();
    let mut copies: Vec<[usize; N_LOCI as usize]> = Vec::new();
    let look = |copies: &[usize; N_LOCI as usize]| -> Seen {
        let seen = (0..N_LOCI).map(LocusId).zip(copies).map(|(id, n)| {
            let genotype = if *n == 2 { pair(1, 1) } else { pair(0, 0) };
            (id, vec![genetics.locus(id).unwrap().look_of(genotype)])
        });
        seen.collect()
    };
    for _ in 0..n_lines {
        let mut males = Vec::new();
        let mut females = Vec::new();
        for i in 0..line.n_founders {
            let id = AnimalId(records.animals.len());
            let mut own = [0; N_LOCI as usize];
            let mut animal = Animal { sex: Some([Sex::Male, Sex::Female, Sex::Female][i % 3]), ..Animal::default() };
            for (locus, copies) in (0..N_LOCI).map(LocusId).zip(&mut own) {
                // A visual, a possible het, a sure het, or nothing said.
                let (belief, n) = match dice.below(4) {
                    0 => (Belief::sure(pair(1, 1)), 2),
                    1 => (Belief::mix([(pair(0, 1), odds(2, 3)), (pair(0, 0), odds(1, 3))]).unwrap(), dice.below(2)),
                    2 => (Belief::sure(pair(0, 1)), 1),
                    _ => continue,
                };
                animal.beliefs.set(locus, belief);
                *copies = n;
            }
            if animal.sex == Some(Sex::Male) {
                males.push(id);
            } else {
                females.push(id);
            }
            records.animals.push(animal);
            copies.push(own);
        }
        for _ in 0..line.n_generations {
            let (mut sons, mut daughters) = (Vec::new(), Vec::new());
            for c in 0..line.clutches_a_generation {
                // A male serves three dams.
                let sire = males[c / 3 % males.len()];
                let dam = females[dice.below(females.len())];
                let both = [sire, dam].map(|p| copies[p.0]);
                let mut egg = || {
                    let mut own = [0; N_LOCI as usize];
                    for (l, n) in own.iter_mut().enumerate() {
                        *n = both.iter().map(|own| [0, dice.below(2), 1][own[l]]).sum();
                    }
                    own
                };
                let mut clutch = Clutch { sires: vec![(sire, sure())], dam: Some(dam), ..Clutch::default() };
                for k in 0..line.kept_a_clutch {
                    let own = egg();
                    let id = AnimalId(records.animals.len());
                    let sex = if k == 0 && c % 3 == 0 { Sex::Male } else { Sex::Female };
                    if sex == Sex::Male {
                        sons.push(id);
                    } else {
                        daughters.push(id);
                    }
                    records.animals.push(Animal { sex: Some(sex), seen: look(&own), ..Animal::default() });
                    copies.push(own);
                    clutch.named.push(id);
                }
                for _ in 0..4 {
                    clutch.young.push(Young { seen: look(&egg()), sex: None, count: 1 });
                }
                records.clutches.push(clutch);
            }
            // Some of the old animals stay.
            sons.extend(males.iter().take(1));
            daughters.extend(females.iter().take(3));
            (males, females) = (sons, daughters);
        }
    }
    records
}

fn one_line() -> Line {
    Line { n_founders: 20, n_generations: 6, clutches_a_generation: 10, kept_a_clutch: 3 }
}

fn evidence(c: &mut Criterion) {
    let genetics = species();
    let records = collection(&genetics, &one_line(), 1);
    assert_eq!((records.animals.len(), records.clutches.len()), (200, 60));
    c.bench_function("who carries what: 200 animals, 60 clutches, 5 recessive loci", |b| {
        b.iter(|| weigh(&genetics, black_box(&records)).unwrap());
    });
    let more = one_more(&genetics, &records);
    c.bench_function("one more clutch result: 200 animals, 61 clutches, 5 recessive loci", |b| {
        b.iter(|| weigh(&genetics, black_box(&more)).unwrap());
    });
    let records = collection(&genetics, &one_line(), 10);
    assert_eq!(records.animals.len(), 2000);
    c.bench_function("who carries what: 2,000 animals, 600 clutches, 5 recessive loci", |b| {
        b.iter(|| weigh(&genetics, black_box(&records)).unwrap());
    });
}

/// The records with a clutch of normal-looking young from the last pair; nothing of the answer before is kept.
fn one_more(genetics: &Genetics, records: &Records) -> Records {
    let mut more = records.clone();
    let last = records.clutches.last().unwrap();
    let normal = |id| vec![genetics.locus(id).unwrap().look_of(pair(0, 0))];
    let seen: Seen =
        (0..N_LOCI).map(LocusId).filter(|id| can_be_normal(records, last, *id)).map(|id| (id, normal(id))).collect();
    more.clutches.push(Clutch { named: Vec::new(), young: vec![Young { seen, sex: None, count: 6 }], ..last.clone() });
    more
}

/// Two visuals give visuals only.
fn can_be_normal(records: &Records, clutch: &Clutch, id: LocusId) -> bool {
    let shows = |animal: AnimalId| {
        let animal = &records.animals[animal.0];
        let seen = animal.seen.get(&id).is_some_and(|looks| looks.iter().all(|l| !l.is_wild()));
        seen || animal.beliefs.get(id).is_some_and(|b| b.genotypes().all(|(g, _)| g == pair(1, 1)))
    };
    !(shows(clutch.sires[0].0) && shows(clutch.dam.unwrap()))
}

/// The networks that the general-purpose library was asked about, from the request to the answer.
fn of_the_fixture(c: &mut Criterion) {
    let requests = |text: &str| -> Vec<String> {
        let of = |line: &str| serde_json::from_str::<serde_json::Value>(line).unwrap()["request"].to_string();
        text.lines().map(of).collect()
    };
    for (name, text) in [
        ("the collection of the fixture", include_str!("../tests/fixtures/evidence/collection.jsonl")),
        ("the 42 looped pedigrees of the fixture", include_str!("../tests/fixtures/evidence/pedigrees.jsonl")),
    ] {
        let requests = requests(text);
        c.bench_function(name, |b| b.iter(|| requests.iter().map(|r| answer(black_box(r)).len()).sum::<usize>()));
    }
}

fn kinship(c: &mut Criterion) {
    let genetics = species();
    let records = collection(&genetics, &one_line(), 10);
    let mut parents = vec![Parents::default(); records.animals.len()];
    for clutch in &records.clutches {
        for young in &clutch.named {
            parents[young.0] = Parents { sires: clutch.sires.iter().map(|(sire, _)| *sire).collect(), dam: clutch.dam };
        }
    }
    c.bench_function("kinship of 2,000 animals", |b| {
        b.iter(|| {
            let descent = Descent::new(black_box(parents.clone()), &[]).unwrap();
            relate(&descent, &[(AnimalId(1999), AnimalId(1998))]).unwrap()
        });
    });
}

criterion_group!(benches, evidence, of_the_fixture, kinship);
criterion_main!(benches);
