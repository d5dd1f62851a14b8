//! What a member waits for: the table of a pairing, the likeliest young, the chance of at least one, the eggs needed.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::engine::inheritance::clutch::{Chances, Wanted};
use hatchward::engine::inheritance::cross::cross;
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, SexSystem};
use hatchward::engine::odds::{Odds, odds, sure};

fn pair(a: u8, b: u8) -> Genotype {
    Genotype::pair(AlleleId(a), AlleleId(b))
}

/// Recessives and incomplete dominants in turn.
fn species(n_loci: usize) -> Genetics {
    let modes = [Mode::Recessive, Mode::IncompleteDominant].into_iter().cycle().take(n_loci);
    Genetics::new(modes.map(|mode| Locus::trade(&[mode])).collect(), Some(SexSystem::Xy)).unwrap()
}

fn animal(n_loci: u16, belief: &Belief) -> Genome {
    (0..n_loci).map(|i| (LocusId(i), belief.clone())).collect()
}

fn table_for_8_loci(c: &mut Criterion) {
    let genetics = species(8);
    let carrier = animal(8, &Belief::sure(pair(0, 1)));
    c.bench_function("table for 8 loci: top 12 looks, the number and share of the rest", |b| {
        b.iter(|| {
            let young = cross(&genetics, black_box(&carrier), black_box(&carrier)).unwrap();
            let top: Vec<_> = young.looks().take(12).collect();
            let rest = sure() - young.lost() - top.iter().map(|look| &look.probability).sum::<Odds>();
            (top, young.n_looks(), rest)
        });
    });
}

fn top_20_of_40_loci(c: &mut Criterion) {
    let genetics = species(40);
    let carrier = animal(40, &Belief::sure(pair(0, 1)));
    c.bench_function("top 20 outcomes of 40 segregating loci", |b| {
        b.iter(|| {
            let young = cross(&genetics, black_box(&carrier), black_box(&carrier)).unwrap();
            young.outcomes().take(20).collect::<Vec<_>>()
        });
    });
}

fn six_uncertain_loci(c: &mut Criterion) {
    let genetics = species(6);
    let possible = Belief::mix([(pair(0, 1), odds(2, 3)), (pair(0, 0), odds(1, 3))]).unwrap();
    let uncertain = animal(6, &possible);
    // Visual at the recessives, at least one copy at the others.
    let wanted = (0..6).map(LocusId).fold(Wanted::any(), |wanted, id| {
        if id.0 % 2 == 0 { wanted.with(id, [pair(1, 1)]) } else { wanted.with(id, [pair(0, 1), pair(1, 1)]) }
    });
    c.bench_function("at least one in 7 eggs, 6 loci uncertain in both parents", |b| {
        b.iter(|| {
            let young = cross(&genetics, black_box(&uncertain), black_box(&uncertain)).unwrap();
            Chances::of(&young, &wanted).unwrap().at_least_one(7).unwrap()
        });
    });
    let young = cross(&genetics, &uncertain, &uncertain).unwrap();
    let chances = Chances::of(&young, &wanted).unwrap();
    let level = chances.reach() * odds(95, 100);
    c.bench_function("eggs for 95 % of what 6 uncertain loci can reach", |b| {
        b.iter(|| chances.eggs_for(black_box(&level)).unwrap());
    });
}

criterion_group!(benches, table_for_8_loci, top_20_of_40_loci, six_uncertain_loci);
criterion_main!(benches);
