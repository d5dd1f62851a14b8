//! What a keeper waits for: routes from a collection, and projects played out.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::engine::inheritance::clutch::{ClutchSize, Wanted};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexSystem};
use hatchward::engine::odds::odds;
use hatchward::engine::planning::project::fixed::{Entry, Fits, FixedPlan, Group, PlanStep, Simulation, forecast};
use hatchward::engine::planning::project::play::{Played, Runs, play};
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

fn problem(genetics: &Genetics, animals: Vec<Animal>, goal: Wanted) -> Problem<'_> {
    Problem {
        genetics,
        tell: Tell::Genotype,
        animals,
        offers: Vec::new(),
        goal,
        maturity: Maturity { female: 3, male: 2 },
        clutch: ClutchSize::Eggs { eggs: 7, hatch: odds(9, 10), take: odds(4, 5) },
        clutches: 2,
        confidence: odds(9, 10),
        budget: None,
    }
}

fn routes(c: &mut Criterion) {
    for (recessives, visibles, animals) in [(2u16, 2u16, 40), (3, 3, 200), (4, 2, 200)] {
        let genetics = species(recessives.into(), visibles.into());
        let animals_here = collection(animals, recessives + visibles, animals > 40);
        let problem = problem(&genetics, animals_here, goal(recessives, visibles));
        let name = format!("routes to {recessives} recessives and {visibles} visible genes from {animals} animals");
        c.bench_function(&name, |b| b.iter(|| plan(black_box(&problem), &mut || true).unwrap()));
    }
}

/// Visuals of the recessives, the first visible genes on top, one male and one female of them; looks are seen.
fn founders(recessives: u16, visibles: u16) -> Vec<Animal> {
    let one = |i: u16| {
        let mut genome = Genome::wild().with(LocusId(i), Belief::sure(pair(1, 1)));
        if i < visibles {
            genome.set(LocusId(recessives + i), Belief::sure(pair(0, 1)));
        }
        Animal { genome, sex: if i.is_multiple_of(2) { Sex::Male } else { Sex::Female }, ready: 0 }
    };
    (0..recessives).map(one).collect()
}

/// The kinds that the least-time plan keeps on its way.
fn kept(genetics: &Genetics, recessives: u16, visibles: u16) -> Vec<Vec<(LocusId, Genotype)>> {
    let problem = problem(genetics, founders(recessives, visibles), goal(recessives, visibles));
    let route = plan(&problem, &mut || true).unwrap().pareto.into_iter().next().unwrap();
    route.kept()
}

fn played(c: &mut Criterion) {
    let all = [(2u16, 0u16, 6, 10_000), (2, 0, 10, 10_000), (2, 1, 8, 1_000), (2, 2, 10, 500), (3, 2, 14, 40)];
    for (recessives, visibles, seasons, replicates) in all {
        for threads in [1, 2] {
            let genetics = species(recessives.into(), visibles.into());
            let project = Played {
                genetics: &genetics,
                tell: Tell::Look,
                animals: founders(recessives, visibles),
                goal: goal(recessives, visibles),
                both_sexes: false,
                seasons,
                maturity: Maturity { female: 3, male: 2 },
                clutch: ClutchSize::Spread {
                    low: 3,
                    high: 11,
                    mean: odds(6, 1),
                    hatch: odds(83, 100),
                    take: odds(7, 10),
                },
                rest: odds(0, 1),
                females_per_male: 5,
                clutches: None,
                space: 16,
                females_alike: 4,
                on_the_way: kept(&genetics, recessives, visibles),
                kinship: None,
            };
            let name = format!(
                "play {recessives} recessives and {visibles} visible genes, {seasons} seasons, {replicates} runs, {threads} threads"
            );
            let runs = Runs { replicates, seed: 1, threads };
            c.bench_function(&name, |b| b.iter(|| play(black_box(&project), runs, &|_| true).unwrap()));
        }
    }
}

/// Double hets from two visuals, then the goal from them: six seasons as they are written down.
fn fixed(c: &mut Criterion) {
    let genetics = species(2, 0);
    let het = |name, sex, count| Entry {
        name,
        sex: Some(sex),
        count,
        fits: Fits::Genotypes(vec![(LocusId(0), pair(0, 1)), (LocusId(1), pair(0, 1))]),
    };
    let plan = FixedPlan {
        genetics: &genetics,
        animals: founders(2, 0),
        n_names: 2,
        steps: vec![
            PlanStep {
                sire: Group::Animal(0),
                dam: Group::Animal(1),
                keep: vec![het(0, Sex::Male, 1), het(1, Sex::Female, 3)],
            },
            PlanStep { sire: Group::Keepers(0), dam: Group::Keepers(1), keep: Vec::new() },
        ],
        goal: goal(2, 0),
        seasons: 6,
        maturity: Maturity { female: 3, male: 2 },
        clutch: ClutchSize::Eggs { eggs: 6, hatch: odds(83, 100), take: odds(7, 10) },
        females_per_male: 5,
    };
    let simulation = Simulation { replicates: 10_000, seed: 1, always: true };
    c.bench_function("carry out a fixed six-season plan 10,000 times", |b| {
        b.iter(|| forecast(black_box(&plan), simulation).unwrap());
    });
}

criterion_group! { name = benches; config = Criterion::default().sample_size(10); targets = routes, played, fixed }
criterion_main!(benches);
