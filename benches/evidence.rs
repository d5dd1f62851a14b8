//! What a breeder waits for: who carries what after a clutch, and who is related to whom.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::engine::inheritance::genotype::{Belief, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexSystem};
use hatchward::engine::odds::{odds, sure};
use hatchward::engine::pedigree::descent::{AnimalId, Descent, Parents};
use hatchward::engine::pedigree::evidence::weigh;
use hatchward::engine::pedigree::kinship::relate;
use hatchward::engine::pedigree::records::{Animal, Clutch, Records, Seen, Young};

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
    let records = collection(&genetics, &one_line(), 10);
    assert_eq!(records.animals.len(), 2000);
    c.bench_function("who carries what: 2,000 animals, 600 clutches, 5 recessive loci", |b| {
        b.iter(|| weigh(&genetics, black_box(&records)).unwrap());
    });
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

criterion_group!(benches, evidence, kinship);
criterion_main!(benches);
