//! What every message costs before any odds: reading it, and answering it whole.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::conversation::Talk;
use hatchward::reading::{Context, Reader};
use hatchward::species::Catalogue;

/// An ordinary message, the longest kind that is ordinary, and small talk.
const MESSAGES: [(&str, &str); 3] = [
    ("an ordinary message", "1.0 pastel het clown x 0.1 clown, 7 eggs?"),
    (
        "a long message with slips",
        "hey guys, thinking of putting my super pastle enchi 66% het clown boy to a 1500g mojave het clwon/pied girl \
         this season, what are the odds of at least one clown in 6 eggs? she is 4 years old, thanks",
    ),
    ("small talk", "that pairing is fire lol, congrats on the clutch"),
];

fn reading(c: &mut Criterion) {
    let catalogue = Catalogue::builtin().unwrap();
    let reader = Reader::new(&catalogue).unwrap();
    for (name, said) in MESSAGES {
        c.bench_function(&format!("read {name}"), |b| {
            b.iter(|| reader.read(&catalogue, black_box(said), Context::default()));
        });
    }
}

fn answering(c: &mut Criterion) {
    let catalogue = Catalogue::builtin().unwrap();
    let reader = Reader::new(&catalogue).unwrap();
    let double_hets = "dh clown pied pastel enchi x dh clown pied pastel enchi, 7 eggs";
    for (name, said) in [MESSAGES[0], MESSAGES[1], ("a table of four genes", double_hets)] {
        c.bench_function(&format!("answer {name}"), |b| {
            b.iter(|| Talk::new(&catalogue, &reader, None).turn(black_box(said)).map(|reply| reply.text()));
        });
    }
}

fn starting(c: &mut Criterion) {
    c.bench_function("start: the catalogues", |b| b.iter(|| Catalogue::builtin().unwrap()));
    let catalogue = Catalogue::builtin().unwrap();
    c.bench_function("start: the reader", |b| b.iter(|| Reader::new(black_box(&catalogue)).unwrap()));
}

fn crossing(c: &mut Criterion) {
    let catalogue = Catalogue::builtin().unwrap();
    let species = &catalogue.species()[0];
    c.bench_function("the loci of a species", |b| b.iter(|| black_box(species).genetics(false).unwrap()));
}

criterion_group!(benches, reading, answering, starting, crossing);
criterion_main!(benches);
