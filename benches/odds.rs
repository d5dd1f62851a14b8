//! How long the odds of large crosses take. Run with `cargo bench --bench odds`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::engine::inheritance::clutch::{Chances, Wanted};
use hatchward::engine::inheritance::cross::cross;
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, SexSystem};
use hatchward::engine::odds::{Odds, odds, sure};

fn het() -> Genotype {
    Genotype::pair(AlleleId::WILD, AlleleId(1))
}

fn mixed_modes(n: usize) -> Genetics {
    let modes = [Mode::Recessive, Mode::IncompleteDominant].into_iter().cycle();
    let loci = modes.take(n).map(|mode| Locus::trade(&[mode]));
    Genetics::new(loci.collect(), Some(SexSystem::Xy)).expect("plain loci")
}

fn hets(n: u16) -> Genome {
    (0..n).map(|locus| (LocusId(locus), Belief::sure(het()))).collect()
}

/// A possible het at each locus, each with a chance of its own.
fn possible_hets(n: u16) -> Genome {
    let belief = |locus: u16| {
        let chance = odds(i64::from(locus) + 1, i64::from(locus) + 3);
        let rest = sure() - &chance;
        Belief::mix(vec![(het(), chance), (Genotype::WILD, rest)]).expect("adds up")
    };
    (0..n).map(|locus| (LocusId(locus), belief(locus))).collect()
}

fn odds_of_crosses(criterion: &mut Criterion) {
    let (eight, eight_hets) = (mixed_modes(8), hets(8));
    criterion.bench_function("table of looks, 8 loci", |bench| {
        bench.iter(|| {
            let offspring = cross(&eight, black_box(&eight_hets), &eight_hets).expect("fits");
            let rows: Vec<_> = offspring.looks().take(12).collect();
            let shown: Odds = rows.iter().map(|row| &row.probability).sum();
            let rest = offspring.n_looks() - rows.len();
            (rows, rest, sure() - offspring.lost() - shown)
        });
    });

    let (forty, forty_hets) = (mixed_modes(40), hets(40));
    criterion.bench_function("top 20 outcomes, 40 loci", |bench| {
        bench.iter(|| {
            let offspring = cross(&forty, black_box(&forty_hets), &forty_hets).expect("fits");
            offspring.outcomes().take(20).collect::<Vec<_>>()
        });
    });

    let (six, sire, dam) = (mixed_modes(6), possible_hets(6), hets(6));
    let pure = vec![Genotype::pair(AlleleId(1), AlleleId(1))];
    let wanted = (0..6).fold(Wanted::any(), |wanted, locus| wanted.with(LocusId(locus), pure.clone()));
    for (name, dam) in [("at least one, 6 uncertain loci", &dam), ("at least one, 6 loci uncertain in both", &sire)] {
        criterion.bench_function(name, |bench| {
            bench.iter(|| {
                let offspring = cross(&six, black_box(&sire), dam).expect("fits");
                Chances::of(&offspring, &wanted).expect("few kinds").at_least_one(7)
            });
        });
    }
    // Every genotype but the wild one counts, so that each pair of parents has chances of its own.
    let seen = vec![het(), Genotype::pair(AlleleId(1), AlleleId(1))];
    let wanted = (0..6).fold(Wanted::any(), |wanted, locus| wanted.with(LocusId(locus), seen.clone()));
    criterion.bench_function("at least one with a copy of each, 6 loci uncertain in both", |bench| {
        bench.iter(|| {
            let offspring = cross(&six, black_box(&sire), &sire).expect("fits");
            Chances::of(&offspring, &wanted).expect("few kinds").at_least_one(7)
        });
    });
    let offspring = cross(&six, &sire, &sire).expect("fits");
    let chances = Chances::of(&offspring, &wanted).expect("few kinds");
    let level = chances.reach() * odds(19, 20);
    criterion.bench_function("eggs needed, 6 loci uncertain in both", |bench| {
        bench.iter(|| chances.eggs_for(black_box(&level)));
    });
}

criterion_group!(benches, odds_of_crosses);
criterion_main!(benches);
