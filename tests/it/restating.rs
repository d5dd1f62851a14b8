//! What is kept of a talk is the program's own wording, and it leads back to the same request.

use std::sync::OnceLock;

use hatchward::conversation::{Talk, restate};
use hatchward::reading::requests::{Intent, Pairing, Reading};
use hatchward::reading::{Context, Reader};
use hatchward::species::{Catalogue, SpeciesId};
use serde_json::Value;

fn books() -> &'static (Catalogue, Reader) {
    static BOOKS: OnceLock<(Catalogue, Reader)> = OnceLock::new();
    BOOKS.get_or_init(|| {
        let catalogue = Catalogue::builtin().expect("the built-in catalogues are valid");
        let reader = Reader::new(&catalogue).expect("the word files are valid");
        (catalogue, reader)
    })
}

/// The request without the words it was read from.
fn bare(pairing: &Pairing) -> Pairing {
    let mut bare = pairing.clone();
    for parent in &mut bare.parents {
        parent.said.clear();
        // What a member calls an animal is theirs, and not kept.
        parent.name = None;
        parent.looks.clear();
        parent.genes.sort_by_key(|a| (a.gene, a.copies));
    }
    if let Some(target) = &mut bare.target {
        target.genes.sort_unstable();
        target.hets.sort_unstable();
    }
    bare
}

fn through(text: &str) -> Option<Reading> {
    let (catalogue, reader) = books();
    let mut talk = Talk::new(catalogue, reader, None);
    for line in text.lines() {
        talk.turn(line);
    }
    talk.understood().cloned()
}

/// Messages of a corpus file that are read as odds without a question back.
fn understood(file: &str) -> Vec<(String, Reading)> {
    let (catalogue, reader) = books();
    let mut found = Vec::new();
    for line in file.lines().filter(|l| !l.trim().is_empty()) {
        let case: Value = serde_json::from_str(line).expect("a corpus line is JSON");
        let text = case["text"].as_str().expect("a case has a text").to_owned();
        let species: Option<SpeciesId> = case["species"].as_str().and_then(|s| catalogue.by_name(&s.replace('_', " ")));
        let reading = reader.read(catalogue, &text, Context { species, ..Context::default() });
        if reading.intent == Intent::Odds && reading.questions.is_empty() && reading.species.is_some() {
            found.push((text, reading));
        }
    }
    found
}

#[test]
fn requests_of_the_corpus_are_restated_and_read_back_alike() {
    let mut all = 0;
    let mut lost = Vec::new();
    for file in [
        include_str!("../corpus/ball_python_pairings.jsonl"),
        include_str!("../corpus/other_species_pairings.jsonl"),
        include_str!("../corpus/other_utterances.jsonl"),
    ] {
        for (text, reading) in understood(file) {
            all += 1;
            let kept = restate::restate(&books().0, &reading);
            let back = through(&kept);
            let same = back.as_ref().is_some_and(|b| {
                b.species == reading.species
                    && b.questions.is_empty()
                    && bare(&b.pairing) == bare(&reading.pairing)
                    && b.compare.as_ref().map(bare) == reading.compare.as_ref().map(bare)
            });
            if !same {
                lost.push(format!("{text:?}\n    kept {kept:?}\n"));
            }
        }
    }
    println!("restated alike: {} of {all}", all - lost.len());
    assert!(lost.len() * 50 <= all, "{} of {all} are not read back alike:\n{}", lost.len(), lost.join(""));
}
