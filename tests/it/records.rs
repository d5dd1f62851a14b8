//! What the reader makes of messages about a keeper's own animals: the labelled utterances, and phrases by kind.

use std::fs;
use std::path::Path;

use hatchward::reading::Reader;
use hatchward::reading::records::Record;
use hatchward::reading::records::message::{Known, Names};
use hatchward::species::Catalogue;
use jiff::civil::date;
use serde_json::Value;

const NAMES: [&str; 30] = [
    "Biscuit", "Mango", "Juno", "Pebbles", "Luna", "Olive", "Fig", "Moss", "Rusty", "Nova", "Alfie", "Maple", "Nala",
    "Rook", "Willow", "Otto", "Pebble", "Freya", "Odin", "Sprout", "Hazel", "Bruno", "Toast", "Duchess", "Atlas",
    "Kiwi", "Pearl", "Bella", "Lola", "Clover",
];

fn kind(record: Option<&Record>) -> &'static str {
    match record {
        None => "-",
        Some(Record::Add(_)) => "add",
        Some(Record::Card(_) | Record::Share(_)) => "card",
        Some(Record::List(..)) => "list",
        Some(Record::Rename { .. }) => "rename",
        Some(Record::Correct { .. }) => "correct",
        Some(Record::Status { .. }) => "status",
        Some(Record::Remove(_)) => "remove",
        Some(Record::Weigh { .. }) => "weigh",
        Some(Record::Meal { .. }) => "meal",
        Some(Record::Meet { .. }) => "meet",
        Some(Record::Sign { .. }) => "sign",
        Some(Record::Laid { .. } | Record::Sires { .. }) => "laid",
        Some(Record::Hatched { .. } | Record::Pipped { .. }) => "hatched",
        Some(Record::Prove { .. }) => "prove",
        Some(Record::Goal { .. } | Record::GoalGone { .. } | Record::GoalEdit { .. }) => "goal",
        Some(Record::Plan { .. } | Record::PlanMore(_)) => "plan",
        Some(Record::Undo) => "undo",
        Some(Record::Changes { .. }) => "changes",
        Some(Record::Forget) => "forget",
        Some(Record::Export { .. }) => "export",
        Some(Record::Import { .. }) => "import",
        Some(Record::WhatIf { .. }) => "what-if",
        Some(Record::AllPairings { .. }) => "all-pairings",
        Some(Record::Odds { .. }) => "odds",
        Some(Record::Evidence(_) | Record::Frequency { .. }) => "evidence",
        Some(Record::Season(_)) => "season",
        Some(Record::Calendar(_)) => "calendar",
        Some(Record::Home(_)) => "home",
        Some(Record::Remind(_)) => "remind",
    }
}

fn fits(intent: &str, kind: &str) -> bool {
    match intent {
        "save_animal" => matches!(kind, "add" | "rename" | "prove" | "correct" | "status" | "remove" | "undo"),
        "record_weight" => kind == "weigh",
        "record_pairing" => matches!(kind, "meet" | "sign"),
        "record_clutch" => matches!(kind, "laid" | "hatched"),
        "list_collection" => matches!(kind, "list" | "card"),
        "export" => kind == "export",
        "forget" => kind == "forget",
        // Everything else is no record; a plan may name a goal.
        "odds" => matches!(kind, "-" | "odds"),
        // "is it worth keeping the 66s" is of the season, too.
        "plan" => matches!(kind, "-" | "goal" | "plan" | "season"),
        "prove_out" => matches!(kind, "-" | "evidence"),
        // A reminder is none of these.
        "season_calendar" => matches!(kind, "-" | "calendar"),
        "next_pairing" => matches!(kind, "season" | "evidence"),
        _ => kind == "-",
    }
}

#[test]
fn utterances() {
    let catalogue = Catalogue::builtin().expect("sound");
    let reader = Reader::new(&catalogue).expect("sound");
    for names in [Names::new(NAMES), Names::default()] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus");
        let mut files: Vec<_> = fs::read_dir(folder).expect("there").flatten().map(|e| e.path()).collect();
        files.retain(|f| f.extension().is_some_and(|e| e == "jsonl"));
        files.sort();
        let (mut right, mut all) = (0, 0);
        for file in files {
            for line in fs::read_to_string(&file).expect("text").lines().filter(|l| !l.trim().is_empty()) {
                let case: Value = serde_json::from_str(line).expect("json");
                let (said, intent) =
                    (case["text"].as_str().expect("text"), case["expect"]["intent"].as_str().unwrap_or("odds"));
                let species = case["species"].as_str().and_then(|s| catalogue.by_name(s));
                let known = Known { species, names: &names, today: date(2026, 11, 25) };
                let record = reader.record(&catalogue, said, known);
                all += 1;
                if fits(intent, kind(record.as_ref())) {
                    right += 1;
                } else {
                    println!("{intent:16} {:8} | {said}", kind(record.as_ref()));
                }
            }
        }
        println!("{right} of {all}");
        // Measured when this was written: 2,050 of 2,073. What is left is mostly of unknown names, which stay silent.
        assert!(right * 1000 >= all * 985, "{right} of {all} are told apart");
    }
}
