//! How long a picture takes, from the data to a PNG at twice the width of a phone, and how large it is: as people mostly see
//! them, and the worst that can come. Ours: at most 60 ms on one core and 150 KiB (the size is a test, too).

#[path = "../tests/it/pictures/data.rs"]
#[allow(dead_code)] // the edges are for the tests
mod data;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hatchward::reply::picture::Theme;

fn pictures(criterion: &mut Criterion) {
    for (how, drawings) in [("usual", data::usual()), ("worst", data::worst())] {
        for (name, drawing) in drawings {
            let (picture, mut n_bytes) = (drawing.draw(Theme::Dark), 0);
            criterion.bench_function(&format!("{how}: {name}"), |bench| {
                bench.iter(|| n_bytes = black_box(&drawing).draw(Theme::Dark).png().map_or(0, |png| png.len()));
            });
            println!("{how}: {name}: {:.1} KiB, {} pixels high", n_bytes as f64 / 1024.0, 2.0 * picture.height);
        }
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = pictures
}
criterion_main!(benches);
