//! What a keeper waits for once a year: the pairings of a season, whom to keep, and questions about them.

use std::hint::black_box;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use hatchward::engine::inheritance::clutch::{ClutchSize, Wanted};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexSystem};
use hatchward::engine::odds::odds;
use hatchward::engine::planning::holdback::hold;
use hatchward::engine::planning::project::decide::Objective;
use hatchward::engine::planning::season::{Advice, Aim, Candidate, Limits, Pairing, Room, advise};
use hatchward::engine::planning::{Animal, Maturity, Tell};

fn pair(a: u8, b: u8) -> Genotype {
    Genotype::pair(AlleleId(a), AlleleId(b))
}

/// Recessives, then as many visible genes.
fn species(each: usize) -> Genetics {
    let mut loci = vec![Locus::trade(&[Mode::Recessive]); each];
    loci.extend(vec![Locus::trade(&[Mode::IncompleteDominant]); each]);
    Genetics::new(loci, Some(SexSystem::Xy)).unwrap()
}

/// A room as they are: visuals, hets, possible hets, one male to four females, a fifth not grown.
fn animals(n: u16, n_loci: u16) -> Vec<Candidate> {
    let one = |i: u16| {
        let mut genome = Genome::wild().with(LocusId(i % n_loci), Belief::sure(pair(u8::from(i.is_multiple_of(3)), 1)));
        let second = LocusId((i * 7 + i / n_loci) % n_loci);
        if i % 4 == 1 {
            let possible = [(pair(0, 1), odds(2, 3)), (pair(0, 0), odds(1, 3))];
            genome.set(second, Belief::mix(possible).unwrap());
        } else if i.is_multiple_of(2) {
            genome.set(second, Belief::sure(pair(0, 1)));
        }
        let sex = if i.is_multiple_of(5) { Sex::Male } else { Sex::Female };
        let ready = u32::from(i % 5 == 4);
        Candidate { animal: Animal { genome, sex, ready }, serves: if sex == Sex::Male { 5 } else { 1 } }
    };
    (0..n).map(one).collect()
}

/// Each goal is two recessives next to each other, with a visible gene on top of every second one.
fn aims(n: u16, each: u16) -> Vec<Aim> {
    let one = |i: u16| {
        let mut goal = Wanted::any();
        for recessive in [i % each, (i + 1) % each] {
            goal = goal.with(LocusId(recessive), [pair(1, 1)]);
        }
        if i % 2 == 1 {
            goal = goal.with(LocusId(each + i % each), [pair(0, 1), pair(1, 1)]);
        }
        let weight = 0.5f64.powi(i32::from(i));
        Aim { goal, seasons: 8, objective: Objective::Seasons, weight, without: Vec::new() }
    };
    (0..n).map(one).collect()
}

fn room<'a>(genetics: &'a Genetics, n: u16, goals: u16, each: u16, may: &'a dyn Fn(usize, usize) -> bool) -> Room<'a> {
    Room {
        genetics,
        tell: Tell::Look,
        animals: animals(n, 2 * each),
        aims: aims(goals, each),
        may,
        maturity: Maturity { female: 3, male: 2 },
        clutch: ClutchSize::Spread { low: 3, high: 11, mean: odds(6, 1), hatch: odds(83, 100), take: odds(7, 10) },
        females_per_male: 5,
    }
}

/// Every thirteenth pair is too closely related.
fn may(sire: usize, dam: usize) -> bool {
    !(sire * 31 + dam).is_multiple_of(13)
}

fn advised(room: &Room<'_>) -> Advice {
    advise(std::slice::from_ref(room), Limits { pairings: None }, &mut || true).unwrap()
}

fn season(c: &mut Criterion) {
    for (n, goals, each) in [(40u16, 2u16, 3u16), (200, 5, 5)] {
        let genetics = species(each.into());
        let room = room(&genetics, n, goals, each, &may);
        let mut group = c.benchmark_group("season");
        group.sample_size(10);
        group.bench_function(format!("{n} animals, {goals} goals"), |b| b.iter(|| advised(black_box(&room))));
        let advice = advised(&room);
        assert!(advice.complete && !advice.chosen.is_empty());
        // "Why not this one?" of every pair there is, from what is kept.
        group.bench_function(format!("why not, every pair of {n} animals"), |b| {
            b.iter_batched(
                || (0..room.animals.len()).flat_map(|s| (0..room.animals.len()).map(move |d| (s, d))),
                |pairs| pairs.filter_map(|(sire, dam)| advice.worth_of(Pairing { room: 0, sire, dam })).sum::<f64>(),
                BatchSize::SmallInput,
            );
        });
        if n <= 40 {
            group.bench_function(format!("whom to keep of {n} animals"), |b| {
                b.iter(|| hold(black_box(&room), Some(30), &mut || true).unwrap());
            });
        }
        group.finish();
    }
}

criterion_group!(benches, season);
criterion_main!(benches);
