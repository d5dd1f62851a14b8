//! How long a picture takes: from the data to a PNG at twice the width of a phone.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::reply::picture::{Belief, Clutch, Drawing, KindOfYoung, Luck, Phase, Plan, Theme};

fn clutch() -> Drawing {
    let kind = |n: u32| KindOfYoung {
        name: format!("Pastel, het Clown, 66 % het Piebald {n}"),
        fraction: "1/8".to_owned(),
        share: 125_000,
    };
    Drawing::Clutch(Clutch {
        title: "Ball python: ♂ Pastel, het Clown × ♀ Clown, 7 eggs".to_owned(),
        eggs: 7,
        stated: true,
        unit: "egg".to_owned(),
        kinds: (0..8).map(kind).collect(),
        rest: None,
        luck: Some(Luck { name: "Clown".to_owned(), chances: vec![125_000; 8] }),
    })
}

fn plan() -> Drawing {
    let phase = |n: u32| Phase {
        from: 3 * n + 1,
        to: 3 * n + 2,
        pairing: "♂ Clown × ♀ Piebald".to_owned(),
        keep: vec!["keep ♀ het Clown, het Piebald: 1/2 of its eggs, 1 clutch".to_owned()],
    };
    Drawing::Plan(Plan {
        title: "Ball python: a project towards Clown, Piebald".to_owned(),
        start: vec!["♂ Clown".to_owned()],
        phases: (0..3).map(phase).collect(),
        purchases: Vec::new(),
        first_year: Some(2026),
        done: (1..=12).map(|n| n * 80_000).collect(),
    })
}

fn belief() -> Drawing {
    Drawing::Belief(Belief {
        title: "Nova: het Piebald".to_owned(),
        steps: (1..10).map(|n| (format!("after {n} that look normal"), 666_667 / n)).collect(),
    })
}

fn pictures(criterion: &mut Criterion) {
    for (name, drawing) in [("eggs of a clutch", clutch()), ("a plan", plan()), ("a belief", belief())] {
        criterion.bench_function(name, |bench| {
            bench.iter(|| black_box(&drawing).draw(Theme::Dark).png().map(|png| png.len()));
        });
    }
}

criterion_group!(benches, pictures);
criterion_main!(benches);
