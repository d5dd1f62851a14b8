//! Evidence against a general-purpose Bayes-network library: pyAgrum 3.3.1, by hand with `tests/fixtures/evidence/make.py`.

use hatchward::engine::odds;
use hatchward::lines::engine::answer;
use serde_json::{Map, Value};

fn chance(value: &Value) -> f64 {
    match value {
        Value::String(text) => odds::to_f64(&odds::parse(text).unwrap()),
        other => other.as_f64().unwrap(),
    }
}

/// Every chance of every animal at every locus, here and there; how many lines there were.
fn check(lines: &str) -> usize {
    let none = Map::new();
    for line in lines.lines() {
        let line: Value = serde_json::from_str(line).unwrap();
        let id = &line["request"]["id"];
        let found: Value = serde_json::from_str(&answer(&line["request"].to_string())).unwrap();
        assert_eq!(found["standard_error"], Value::Null, "{id} is summed, not estimated");
        for (animal, loci) in line["posterior"].as_object().unwrap() {
            for (locus, expected) in loci.as_object().unwrap() {
                let found = found["posterior"][animal][locus].as_object().unwrap_or(&none);
                let expected = expected.as_object().unwrap();
                for genotype in expected.keys().chain(found.keys()) {
                    let [found, expected] = [found, expected].map(|chances| chances.get(genotype).map_or(0.0, chance));
                    assert!((found - expected).abs() < 1e-9, "{id}, {animal}, {locus}, {genotype}: {found} {expected}");
                }
            }
        }
    }
    lines.lines().count()
}

#[test]
fn looped_pedigrees() {
    assert_eq!(check(include_str!("../fixtures/evidence/pedigrees.jsonl")), 42);
}

#[test]
fn a_collection_of_200_animals() {
    assert_eq!(check(include_str!("../fixtures/evidence/collection.jsonl")), 1);
}
