//! The command line: parse arguments, build the program, run one command; no logic.
use std::io::{BufRead, Write};
fn main() {
    let catalogue = hatchward::species::Catalogue::builtin().unwrap();
    let reader = hatchward::reading::Reader::new(&catalogue).unwrap();
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        writeln!(out, "{}", hatchward::lines::reading::read(&reader, &catalogue, &line.unwrap())).unwrap();
    }
}
