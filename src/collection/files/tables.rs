//! One CSV table (RFC 4180) for each kind of record, with headings for people and the exact values of every field.
//!
//! Animals are known by their codes; a parent elsewhere stands in words beside the code's column. A sheet shows an animal's
//! genes twice: in words, and as exact records. Where somebody changed the words, the words count.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::cells::{self, Holds};
use super::text::{self, Table};
use super::{Bad, FileError, Words};
use crate::collection::animal::{Animal, Basis};
use crate::collection::events::{CarrierFrequency, Clutch, EventId, Goal, Meal, Meeting, OwnNumber, Sign, Weight};
use crate::collection::herd::Herd;
use crate::collection::place::Home;
use crate::collection::reminder::Reminder;
use crate::reading::places::Half;

/// The tables' names, animals first.
pub(super) const NAMES: [&str; 11] = [
    "animals.csv",
    "weights.csv",
    "meals.csv",
    "signs.csv",
    "meetings.csv",
    "clutches.csv",
    "goals.csv",
    "collection.csv",
    "frequencies.csv",
    "own_numbers.csv",
    "reminders.csv",
];

/// The heading over an animal's genes in words.
const LOOK: &str = "genes";
/// The heading over the exact records of an animal's genes; a sheet with it is one of ours.
const RECORDS: &str = "gene records";

/// What an empty cell means where a record needs a value.
const EMPTY: &[(&str, &str)] = &[("sex", "unknown"), ("sexed", "stated"), ("status", "active")];

/// Columns: heading, field, what it holds.
type Columns = &'static [(&'static str, &'static str, Holds)];

const ANIMALS: Columns = &[
    ("code", "number", Holds::Number),
    ("name", "name", Holds::Text),
    ("species", "species", Holds::Text),
    ("sex", "sex", Holds::Text),
    ("sexed", "sexed", Holds::Text),
    (RECORDS, "genes", Holds::Genes),
    ("hatched", "hatched", Holds::Text),
    ("father code", "sire_id", Holds::Number),
    ("father elsewhere", "sire_out", Holds::Text),
    ("mother code", "dam_id", Holds::Number),
    ("mother elsewhere", "dam_out", Holds::Text),
    ("clutch", "clutch_id", Holds::Number),
    ("origin", "origin", Holds::Text),
    ("price in hundredths", "price_cents", Holds::Number),
    ("currency", "currency", Holds::Text),
    ("status", "status", Holds::Text),
    ("since", "status_on", Holds::Text),
    ("tags", "tags", Holds::Words),
    ("notes", "notes", Holds::Text),
];
const WEIGHTS: Columns =
    &[("animal code", "animal_id", Holds::Number), ("on", "on", Holds::Text), ("grams", "grams", Holds::Number)];
const MEALS: Columns = &[
    ("animal code", "animal_id", Holds::Number),
    ("on", "on", Holds::Text),
    ("taken", "taken", Holds::Flag),
    ("prey", "prey", Holds::Text),
];
const SIGNS: Columns = &[
    ("animal code", "animal_id", Holds::Number),
    ("on", "on", Holds::Text),
    ("sign", "kind", Holds::Text),
    ("size in mm", "size_mm", Holds::Number),
];
const MEETINGS: Columns = &[
    ("on", "on", Holds::Text),
    ("what", "kind", Holds::Text),
    ("male code", "sire_id", Holds::Number),
    ("male elsewhere", "sire_out", Holds::Text),
    ("female code", "dam_id", Holds::Number),
    ("female elsewhere", "dam_out", Holds::Text),
];
const CLUTCHES: Columns = &[
    ("clutch", "id", Holds::Number),
    ("own code", "code", Holds::Text),
    ("father code", "sire_id", Holds::Number),
    ("father elsewhere", "sire_out", Holds::Text),
    ("possible fathers", "sires", Holds::Object),
    ("mother code", "dam_id", Holds::Number),
    ("mother elsewhere", "dam_out", Holds::Text),
    ("laid", "laid", Holds::Text),
    ("eggs", "eggs", Holds::Number),
    ("slugs", "slugs", Holds::Number),
    ("doubtful", "doubtful", Holds::Number),
    ("warmth in tenths of a degree C", "warmth", Holds::Number),
    ("first pip", "pipped", Holds::Text),
    ("hatched", "hatched", Holds::Text),
    ("lost", "lost", Holds::Number),
    ("young", "young", Holds::Young),
    ("notes", "notes", Holds::Text),
];
const GOALS: Columns = &[
    ("species", "species", Holds::Text),
    (RECORDS, "genes", Holds::Genes),
    ("sex", "sex", Holds::Text),
    ("name", "name", Holds::Text),
    ("rank", "rank", Holds::Number),
    ("limits", "limits", Holds::Object),
];

const FREQUENCIES: Columns =
    &[("species", "species", Holds::Text), ("gene", "gene", Holds::Text), ("carried by", "share", Holds::Text)];
const OWN_NUMBERS: Columns = &[
    ("species", "species", Holds::Text),
    ("clutch", "clutch_id", Holds::Number),
    ("item", "item", Holds::Text),
    ("usual in tenths", "usual", Holds::Number),
    ("least in tenths", "low", Holds::Number),
    ("most in tenths", "high", Holds::Number),
    ("own records", "records", Holds::Number),
];
const REMINDERS: Columns = &[
    ("number", "number", Holds::Number),
    ("what", "what", Holds::Text),
    ("time zone", "zone", Holds::Text),
    ("comes again", "rule", Holds::Object),
    ("next", "next_at", Holds::Text),
    ("put off to", "put_off", Holds::Text),
];
const COLLECTION: Columns = &[
    ("next code", "next_number", Holds::Number),
    ("time zone", "zone", Holds::Text),
    ("half of the world", "half", Holds::Text),
];

/// What is of no one record.
#[derive(Serialize, Deserialize)]
struct Whole {
    next_number: i32,
    zone: Option<String>,
    half: Option<Half>,
}

impl Whole {
    fn of(herd: &Herd) -> Self {
        let home = herd.home.as_ref();
        Self { next_number: herd.next_number, zone: home.and_then(|h| h.zone.clone()), half: home.and_then(|h| h.half) }
    }

    fn home(&self) -> Option<Home> {
        let told = self.zone.is_some() || self.half.is_some();
        told.then(|| Home { id: EventId(1), version: 0, zone: self.zone.clone(), half: self.half })
    }
}

/// The tables of a portable herd, animals first.
pub(super) fn write(herd: &Herd, words: &Words<'_>) -> Vec<(&'static str, Vec<u8>)> {
    vec![
        (NAMES[0], written(&herd.animals, ANIMALS, Some(&|a: &Animal| (words.write)(a)))),
        (NAMES[1], written(&herd.weights, WEIGHTS, None)),
        (NAMES[2], written(&herd.meals, MEALS, None)),
        (NAMES[3], written(&herd.signs, SIGNS, None)),
        (NAMES[4], written(&herd.meetings, MEETINGS, None)),
        (NAMES[5], written(&herd.clutches, CLUTCHES, None)),
        (NAMES[6], written(&herd.goals, GOALS, None)),
        (NAMES[8], written(&herd.frequencies, FREQUENCIES, None)),
        (NAMES[9], written(&herd.own_numbers, OWN_NUMBERS, None)),
        (NAMES[10], written(&herd.reminders, REMINDERS, None)),
        (NAMES[7], written(&[Whole::of(herd)], COLLECTION, None)),
    ]
}

/// One table; `look` gives a column for people in front of the exact records.
fn written<R: Serialize>(records: &[R], columns: Columns, look: Option<&dyn Fn(&R) -> String>) -> Vec<u8> {
    // The mark at the start tells spreadsheet programs that it is UTF-8.
    let mut out =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer("\u{feff}".as_bytes().to_vec());
    let shown = |heading: &str| look.is_some() && heading == RECORDS;
    let row = |cell: &dyn Fn(&str, &str, Holds) -> String, of: &dyn Fn() -> String| {
        let mut row = Vec::new();
        for (heading, field, holds) in columns {
            if shown(heading) {
                row.push(of());
            }
            row.push(cell(heading, field, *holds));
        }
        row
    };
    let headings = row(&|heading, _, _| heading.to_owned(), &|| LOOK.to_owned());
    // Writing to memory does not fail.
    let _ = out.write_record(&headings);
    for record in records {
        let value = serde_json::to_value(record).unwrap_or_default();
        let cells = row(
            &|_, field, holds| text::harmless(&cells::text(value.get(field).unwrap_or(&Value::Null), holds)),
            &|| text::harmless(&look.map(|look| look(record)).unwrap_or_default()),
        );
        let _ = out.write_record(&cells);
    }
    out.into_inner().unwrap_or_default()
}

/// Whether a table is a sheet of animals that this program wrote.
pub(super) fn is_own(table: &Table) -> bool {
    table.rows.first().is_some_and(|(_, row)| {
        let has = |heading: &str| row.iter().any(|cell| cell.trim().eq_ignore_ascii_case(heading));
        has(RECORDS) && has("code")
    })
}

/// Reads the tables of a zip file into a portable herd.
pub(super) fn read(files: &[(String, Vec<u8>)], words: &Words<'_>) -> Result<(Herd, Vec<Bad>), FileError> {
    let mut herd = Herd::default();
    let mut bad = Vec::new();
    for (name, bytes) in files {
        let (text, _) = text::decoded(bytes);
        // Several kinds of record may have more lines than a stranger's sheet.
        let table = text::long_table(&text)?;
        let (part, faults) = read_table(name, &table, words);
        herd.animals.extend(part.animals);
        herd.weights.extend(part.weights);
        herd.meals.extend(part.meals);
        herd.signs.extend(part.signs);
        herd.meetings.extend(part.meetings);
        herd.clutches.extend(part.clutches);
        herd.goals.extend(part.goals);
        herd.frequencies.extend(part.frequencies);
        herd.own_numbers.extend(part.own_numbers);
        herd.reminders.extend(part.reminders);
        herd.home = part.home.or(herd.home);
        herd.next_number = herd.next_number.max(part.next_number);
        bad.extend(faults);
    }
    Ok((herd, bad))
}

/// Reads one of our tables, by its name.
pub(super) fn read_table(name: &str, table: &Table, words: &Words<'_>) -> (Herd, Vec<Bad>) {
    let mut herd = Herd::default();
    let mut bad: Vec<Bad> =
        table.bad.iter().map(|b| Bad { place: format!("{name}, {}", b.place), reason: b.reason.clone() }).collect();
    match name {
        "animals.csv" => {
            for (line, (animal, look)) in rows::<Animal>(name, table, ANIMALS, &mut bad) {
                match reworded(animal, look.as_deref(), words) {
                    Ok(animal) => herd.animals.push(animal),
                    Err(reason) => bad.push(Bad { place: place(name, line), reason }),
                }
            }
        }
        "weights.csv" => herd.weights = plain::<Weight>(name, table, WEIGHTS, &mut bad),
        "meals.csv" => herd.meals = plain::<Meal>(name, table, MEALS, &mut bad),
        "signs.csv" => herd.signs = plain::<Sign>(name, table, SIGNS, &mut bad),
        "meetings.csv" => herd.meetings = plain::<Meeting>(name, table, MEETINGS, &mut bad),
        "clutches.csv" => herd.clutches = plain::<Clutch>(name, table, CLUTCHES, &mut bad),
        "collection.csv" => {
            let whole = plain::<Whole>(name, table, COLLECTION, &mut bad);
            herd.next_number = whole.first().map_or(0, |w| w.next_number);
            herd.home = whole.first().and_then(Whole::home);
        }
        "frequencies.csv" => herd.frequencies = plain::<CarrierFrequency>(name, table, FREQUENCIES, &mut bad),
        "own_numbers.csv" => herd.own_numbers = plain::<OwnNumber>(name, table, OWN_NUMBERS, &mut bad),
        "reminders.csv" => herd.reminders = plain::<Reminder>(name, table, REMINDERS, &mut bad),
        "goals.csv" => herd.goals = plain::<Goal>(name, table, GOALS, &mut bad),
        _ => {}
    }
    (herd, bad)
}

fn place(name: &str, line: usize) -> String {
    format!("{name}, line {line}")
}

/// An animal with its genes as the words say them, where somebody changed the words.
fn reworded(mut animal: Animal, look: Option<&str>, words: &Words<'_>) -> Result<Animal, String> {
    let Some(look) = look.map(|look| text::plain(look).trim()) else { return Ok(animal) };
    if look.is_empty() || look == (words.write)(&animal).trim() {
        return Ok(animal);
    }
    let said = (words.read)(&animal.species, look)?;
    let same = |a: &crate::collection::animal::Belief, b: &crate::collection::animal::Belief| {
        a.gene == b.gene && a.copies == b.copies && a.chance == b.chance
    };
    // What the words say as the record does keeps its basis.
    let old = std::mem::take(&mut animal.genes);
    animal.genes = said
        .into_iter()
        .map(|new| old.iter().find(|o| same(o, &new)).cloned().unwrap_or(new))
        .inspect(|b| debug_assert!(b.basis != Basis::Inferred || old.contains(b)))
        .collect();
    Ok(animal)
}

fn plain<R: DeserializeOwned>(name: &str, table: &Table, columns: Columns, bad: &mut Vec<Bad>) -> Vec<R> {
    rows(name, table, columns, bad).into_iter().map(|(_, (record, _))| record).collect()
}

/// Every row as a record, with its line and the words for people.
fn rows<R: DeserializeOwned>(
    name: &str,
    table: &Table,
    columns: Columns,
    bad: &mut Vec<Bad>,
) -> Vec<(usize, (R, Option<String>))> {
    let Some(((_, headings), rows)) = table.rows.split_first() else { return Vec::new() };
    let at = |heading: &str| headings.iter().position(|h| h.trim().eq_ignore_ascii_case(heading));
    let places: Vec<_> = columns.iter().map(|(heading, field, holds)| (at(heading), *field, *holds)).collect();
    let look = at(LOOK);
    let mut out = Vec::new();
    for (n, (line, row)) in (1_i64..).zip(rows) {
        let read = places
            .iter()
            .map(|(at, field, holds)| {
                let cell = at.and_then(|at| row.get(at)).map_or("", |cell| text::plain(cell));
                cells::value(cell, *holds).map(|value| ((*field).to_owned(), value))
            })
            .collect::<Result<Map<String, Value>, String>>();
        let record = read.and_then(|mut fields| {
            for (field, value) in EMPTY {
                if fields.get(*field).is_some_and(Value::is_null) {
                    fields.insert((*field).to_owned(), (*value).into());
                }
            }
            // A row that somebody added has no code yet.
            if fields.get("number").is_some_and(Value::is_null) {
                fields.insert("number".to_owned(), 0.into());
                fields.insert("id".to_owned(), (-n).into());
            } else if let Some(number) = fields.get("number").cloned() {
                fields.insert("id".to_owned(), number);
            }
            fields.entry("id").or_insert_with(|| n.into());
            fields.insert("version".to_owned(), 0.into());
            serde_json::from_value(Value::Object(fields)).map_err(|error| error.to_string())
        });
        match record {
            Ok(record) => out.push((*line, (record, look.and_then(|at| row.get(at)).cloned()))),
            Err(reason) => bad.push(Bad { place: place(name, *line), reason }),
        }
    }
    out
}
