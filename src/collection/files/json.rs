//! Everything in one JSON object: `{"format": "hatchward-collection", "version": 1, "animals": [...], ...}`.
//!
//! A record has the columns of its table in the database, without those that are empty. An animal is known by its
//! `number`; `animal_id`, `sire_id` and `dam_id` are such numbers, and `clutch_id` is the `id` of a clutch of the file.

use jiff::civil::Date;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};

use super::{Bad, FileError};
use crate::collection::herd::Herd;

const FORMAT: &str = "hatchward-collection";
const VERSION: u64 = 1;

/// Writes a portable herd, a record a line.
pub(super) fn write(herd: &Herd, on: Date) -> Vec<u8> {
    let mut out = format!(
        "{{\"format\":{},\"version\":{VERSION},\"exported_on\":\"{on}\",\"next_number\":{}",
        json!(FORMAT),
        herd.next_number
    );
    let mut list = |name: &str, records: Vec<String>| {
        out.push_str(",\n\"");
        out.push_str(name);
        out.push_str("\":[");
        out.push_str(if records.is_empty() { "" } else { "\n" });
        out.push_str(&records.join(",\n"));
        out.push(']');
    };
    list("animals", herd.animals.iter().map(|r| record(r, &["id"])).collect());
    list("weights", herd.weights.iter().map(|r| record(r, &["id"])).collect());
    list("meals", herd.meals.iter().map(|r| record(r, &["id"])).collect());
    list("signs", herd.signs.iter().map(|r| record(r, &["id"])).collect());
    list("meetings", herd.meetings.iter().map(|r| record(r, &["id"])).collect());
    list("clutches", herd.clutches.iter().map(|r| record(r, &[])).collect());
    list("goals", herd.goals.iter().map(|r| record(r, &["id"])).collect());
    list("frequencies", herd.frequencies.iter().map(|r| record(r, &["id"])).collect());
    list("own_numbers", herd.own_numbers.iter().map(|r| record(r, &["id"])).collect());
    list("reminders", herd.reminders.iter().map(|r| record(r, &["id", "channel"])).collect());
    if let Some(home) = &herd.home {
        out.push_str(",\n\"home\":");
        out.push_str(&record(home, &["id"]));
    }
    out.push_str("}\n");
    out.into_bytes()
}

fn record(record: &impl Serialize, without: &[&str]) -> String {
    // These types are plain rows: they always have a JSON form.
    let mut value = serde_json::to_value(record).unwrap_or_default();
    if let Some(fields) = value.as_object_mut() {
        fields.retain(|name, field| !field.is_null() && name != "version" && !without.contains(&name.as_str()));
    }
    value.to_string()
}

/// Reads a portable herd; damaged records are named and left out.
pub(super) fn read(text: &str) -> Result<(Herd, Vec<Bad>), FileError> {
    let whole: Map<String, Value> =
        serde_json::from_str(text).map_err(|error| FileError::Json { reason: error.to_string() })?;
    if whole.get("format").and_then(Value::as_str) != Some(FORMAT) {
        return Err(FileError::Json { reason: format!("its \"format\" is not \"{FORMAT}\"") });
    }
    match whole.get("version").and_then(Value::as_u64) {
        Some(VERSION) => {}
        Some(version) if version > VERSION => return Err(FileError::Newer { version, known: VERSION }),
        _ => return Err(FileError::Json { reason: "its \"version\" is missing".to_owned() }),
    }
    let mut bad = Vec::new();
    let next_number = whole.get("next_number").and_then(Value::as_i64).and_then(|n| i32::try_from(n).ok());
    let home = whole.get("home").map(|home| Value::Array(vec![home.clone()]));
    let home = Map::from_iter(home.map(|home| ("home".to_owned(), home)));
    let herd = Herd {
        next_number: next_number.unwrap_or(1),
        animals: list(&whole, "animals", Some("number"), &mut bad),
        weights: list(&whole, "weights", None, &mut bad),
        meals: list(&whole, "meals", None, &mut bad),
        signs: list(&whole, "signs", None, &mut bad),
        meetings: list(&whole, "meetings", None, &mut bad),
        clutches: list(&whole, "clutches", Some("id"), &mut bad),
        goals: list(&whole, "goals", None, &mut bad),
        frequencies: list(&whole, "frequencies", None, &mut bad),
        own_numbers: list(&whole, "own_numbers", None, &mut bad),
        home: list(&home, "home", None, &mut bad).pop(),
        reminders: list(&whole, "reminders", None, &mut bad),
    };
    Ok((herd, bad))
}

fn list<R: DeserializeOwned>(
    whole: &Map<String, Value>,
    name: &str,
    known_by: Option<&str>,
    bad: &mut Vec<Bad>,
) -> Vec<R> {
    let Some(value) = whole.get(name) else { return Vec::new() };
    let Some(records) = value.as_array() else {
        bad.push(Bad { place: name.to_owned(), reason: "it is no list".to_owned() });
        return Vec::new();
    };
    let mut out = Vec::new();
    for (n, record) in (1_i64..).zip(records) {
        let mut record = record.clone();
        if let Some(fields) = record.as_object_mut() {
            let id = known_by.and_then(|key| fields.get(key).cloned()).unwrap_or_else(|| n.into());
            fields.insert("id".to_owned(), id);
            fields.insert("version".to_owned(), 0.into());
        }
        match serde_json::from_value(record) {
            Ok(record) => out.push(record),
            Err(error) => bad.push(Bad { place: format!("{name}, record {n}"), reason: error.to_string() }),
        }
    }
    out
}
