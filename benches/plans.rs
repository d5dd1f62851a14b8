//! What a keeper waits for: routes from a collection.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::engine::inheritance::clutch::{ClutchSize, Wanted};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexSystem};
use hatchward::engine::odds::odds;
use hatchward::engine::planning::route::{Problem, plan};
use hatchward::engine::planning::{Animal, Maturity, Tell};

fn pair(a: u8, b: u8) -> Genotype {
    Genotype::pair(AlleleId(a), AlleleId(b))
}

fn species(recessives: usize, visibles: usize) -> Genetics {
    let mut loci = vec![Locus::trade(&[Mode::Recessive]); recessives];
    loci.extend(vec![Locus::trade(&[Mode::IncompleteDominant]); visibles]);
    Genetics::new(loci, Some(SexSystem::Xy)).unwrap()
}

/// Carriers of one gene each, or of two where `rich`, in both sexes; a quarter of them not ready yet.
fn collection(n: u16, n_loci: u16, rich: bool) -> Vec<Animal> {
    let one = |i: u16| {
        let mut genome = Genome::wild().with(LocusId(i % n_loci), Belief::sure(pair(0, 1)));
        if rich {
            genome.set(LocusId((i * 7 + i / n_loci) % n_loci), Belief::sure(pair(0, 1)));
        }
        let sex = if (i / 2).is_multiple_of(2) { Sex::Male } else { Sex::Female };
        Animal { genome, sex, ready: u32::from(i % 4 == 3) }
    };
    (0..n).map(one).collect()
}

/// Visual at the recessives, one or two copies at the others.
fn goal(recessives: u16, visibles: u16) -> Wanted {
    let goal = (0..recessives).map(LocusId).fold(Wanted::any(), |goal, id| goal.with(id, [pair(1, 1)]));
    let visible = (recessives..recessives + visibles).map(LocusId);
    visible.fold(goal, |goal, id| goal.with(id, [pair(0, 1), pair(1, 1)]))
}

fn routes(c: &mut Criterion) {
    for (recessives, visibles, animals) in [(2u16, 2u16, 40), (3, 3, 200), (4, 2, 200)] {
        let genetics = species(recessives.into(), visibles.into());
        let problem = Problem {
            genetics: &genetics,
            tell: Tell::Genotype,
            animals: collection(animals, recessives + visibles, animals > 40),
            offers: Vec::new(),
            goal: goal(recessives, visibles),
            maturity: Maturity { female: 3, male: 2 },
            clutch: ClutchSize::Eggs { eggs: 7, hatch: odds(9, 10), take: odds(4, 5) },
            clutches: 2,
            confidence: odds(9, 10),
            budget: None,
        };
        let name = format!("routes to {recessives} recessives and {visibles} visible genes from {animals} animals");
        c.bench_function(&name, |b| b.iter(|| plan(black_box(&problem), &mut || true).unwrap()));
    }
}

criterion_group!(benches, routes);
criterion_main!(benches);
