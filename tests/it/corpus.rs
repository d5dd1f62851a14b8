//! The labelled corpus: every case was labelled before the reader saw it. The test prints how many are read exactly as
//! labelled, by file and by field, and holds the number that has been reached, so that it can only rise.

use std::collections::BTreeMap;

use hatchward::lines::reading;
use hatchward::reading::Reader;
use hatchward::species::Catalogue;
use serde_json::{Value, json};

fn genes(animal: &Value) -> Vec<String> {
    let mut genes: Vec<String> = animal["genes"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|g| format!("{}*{} {}", g["gene"], g["copies"], g["chance"]))
        .collect();
    genes.sort();
    genes
}

fn animals(list: &Value) -> Vec<(String, Vec<String>)> {
    list.as_array().into_iter().flatten().map(|a| (a["sex"].to_string(), genes(a))).collect()
}

fn words(list: &Value) -> Vec<String> {
    let mut words: Vec<String> =
        list.as_array().into_iter().flatten().map(|w| w.as_str().unwrap_or_default().to_lowercase()).collect();
    words.sort();
    words
}

/// The fields that differ from the label.
fn differing(expect: &Value, got: &Value) -> Vec<String> {
    let same = |field: &str, want: &Value| match field {
        "parents" => animals(want) == animals(&got[field]),
        "target" => {
            want.is_null() == got[field].is_null()
                && want["sex"] == got[field]["sex"]
                && genes(want) == genes(&got[field])
        }
        "questions" => want.as_array().is_none_or(Vec::is_empty) == got[field].as_array().is_none_or(Vec::is_empty),
        "unread" => words(want) == words(&got[field]),
        _ => *want == got[field],
    };
    expect
        .as_object()
        .into_iter()
        .flatten()
        .filter(|(field, want)| !same(field, want))
        .map(|(field, _)| field.clone())
        .collect()
}

fn run(name: &str, file: &str, at_least: usize) {
    let catalogue = Catalogue::builtin().expect("the built-in catalogues are valid");
    let reader = Reader::new(&catalogue).expect("the word files are valid");
    let (mut exact, mut all) = (0, 0);
    let mut missed: BTreeMap<String, usize> = BTreeMap::new();
    let mut which = Vec::new();
    for line in file.lines().filter(|l| !l.trim().is_empty()) {
        let case: Value = serde_json::from_str(line).expect("a corpus line is JSON");
        let asked = json!({"id": case["id"], "text": case["text"], "species": case["species"]});
        let got: Value =
            serde_json::from_str(&reading::read(&reader, &catalogue, &asked.to_string())).expect("the answer is JSON");
        let fields = differing(&case["expect"], &got);
        all += 1;
        exact += usize::from(fields.is_empty());
        if !fields.is_empty() {
            which.extend(case["id"].as_str().map(str::to_owned));
        }
        for field in fields {
            *missed.entry(field).or_default() += 1;
        }
    }
    println!("corpus {name}: {exact} of {all} read as labelled; fields that differ: {missed:?} in {}", which.join(" "));
    assert!(exact >= at_least, "{name}: {exact} of {all} read as labelled, {at_least} were before");
}

#[test]
fn ball_python_pairings_are_read_as_labelled() {
    run("ball python", include_str!("../corpus/ball_python_pairings.jsonl"), 344);
}

#[test]
fn pairings_of_other_species_are_read_as_labelled() {
    run("other species", include_str!("../corpus/other_species_pairings.jsonl"), 222);
}

#[test]
fn other_utterances_are_read_as_labelled() {
    run("other utterances", include_str!("../corpus/other_utterances.jsonl"), 217);
}

#[test]
fn pairings_by_a_second_hand_are_read_as_labelled() {
    run("second hand, pairings", include_str!("../corpus/second_hand_pairings.jsonl"), 255);
}

#[test]
fn utterances_by_a_second_hand_are_read_as_labelled() {
    run("second hand, utterances", include_str!("../corpus/second_hand_utterances.jsonl"), 138);
}

#[test]
fn pairings_by_a_third_hand_are_read_as_labelled() {
    run("third hand, pairings", include_str!("../corpus/third_hand_pairings.jsonl"), 316);
}

#[test]
fn utterances_by_a_third_hand_are_read_as_labelled() {
    run("third hand, utterances", include_str!("../corpus/third_hand_utterances.jsonl"), 209);
}

#[test]
fn harder_pairings_by_a_fourth_hand_are_read_as_labelled() {
    run("fourth hand, pairings", include_str!("../corpus/fourth_hand_pairings.jsonl"), 127);
}

#[test]
fn utterances_by_a_fourth_hand_are_read_as_labelled() {
    run("fourth hand, utterances", include_str!("../corpus/fourth_hand_utterances.jsonl"), 191);
}

#[test]
fn pairings_that_were_once_misread_are_read_as_labelled() {
    run("once misread", include_str!("../corpus/mended_pairings.jsonl"), 13);
}

#[test]
fn pairings_by_a_fifth_hand_are_read_as_labelled() {
    run("fifth hand, pairings", include_str!("../corpus/fifth_hand_pairings.jsonl"), 202);
}

#[test]
fn utterances_by_a_fifth_hand_are_read_as_labelled() {
    run("fifth hand, utterances", include_str!("../corpus/fifth_hand_utterances.jsonl"), 152);
}
