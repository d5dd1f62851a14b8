//! A copy of everything out, and a file in.

use super::asked::question;
use super::changed::{UNDO, sentence};
use super::{Added, count, in_full, list_of};
use crate::collection::files::merge::Merged;
use crate::collection::files::sheet::{Columns, Rows};
use crate::collection::files::{Bad, FileError, Form};
use crate::collection::herd::Herd;
use crate::reply::{Kind, Reply, Row};
use crate::species::Catalogue;

/// Animals that are shown before an import.
const ROWS: usize = 10;
/// Faults that are named.
const FAULTS: usize = 10;

/// What a file holds that is handed over.
pub(in crate::conversation) fn exported(herd: &Herd, form: Form) -> Reply {
    let animals = count(herd.animals.len(), "animal", "animals");
    let others = herd.n_records() - herd.animals.len();
    let mut reply = match form {
        Form::Sheet => Reply::sentence(format!("One sheet of {animals}, as CSV.")),
        Form::Tables => Reply::sentence(format!("{}, as CSV tables in a zip file.", with_others(&animals, others))),
        Form::Json => Reply::sentence(format!("{}, as JSON.", with_others(&animals, others))),
    };
    reply.notes.push(match form {
        Form::Sheet => "Weights, pairings and clutches are not in it; say \"export\" for everything.".to_owned(),
        _ => "Say \"import\" with that file to take it in again.".to_owned(),
    });
    reply
}

fn with_others(animals: &str, others: usize) -> String {
    match others {
        0 => animals.to_owned(),
        n => format!("{animals} and {}", count(n, "other record", "other records")),
    }
}

/// A file was named where it cannot be fetched.
pub(in crate::conversation) fn send_the_file() -> Reply {
    Reply {
        kind: Kind::Question,
        ..Reply::sentence("Which file? Say \"import\" and its name, or paste the table behind the word.")
    }
}

/// A file that cannot be taken.
pub(in crate::conversation) fn file_refused(error: &FileError) -> Reply {
    let mut text = error.to_string();
    if let Some(first) = text.get(..1).map(str::to_uppercase) {
        text.replace_range(..1, &first);
    }
    Reply::refusal(format!("{text}. Nothing was saved."))
}

pub(in crate::conversation) fn no_such_species(key: &str) -> String {
    format!("its species \"{key}\" is not in the catalogue of this program")
}

pub(in crate::conversation) fn unclear_in_cell(word: &str) -> String {
    format!("\"{word}\" in its genes can be read in several ways; write which one is meant")
}

pub(in crate::conversation) fn unread_in_cell(word: &str) -> String {
    format!("\"{word}\" in its genes is no gene that I know")
}

/// What an import is called among the changes.
pub(in crate::conversation) fn imported_past(new: usize, changed: usize, other: usize) -> String {
    format!("imported {}", list_of(&parts(new, changed, other)))
}

fn parts(new: usize, changed: usize, other: usize) -> Vec<String> {
    let mut parts = Vec::new();
    if new > 0 {
        parts.push(count(new, "new animal", "new animals"));
    }
    if changed > 0 {
        parts.push(count(changed, "changed animal", "changed animals"));
    }
    if other > 0 {
        parts.push(count(other, "other record", "other records"));
    }
    parts
}

/// A file of ours, shown first.
pub(in crate::conversation) fn import_first(catalogue: &Catalogue, herd: &Herd, merged: &Merged, word: &str) -> Reply {
    let parts = parts(merged.new.len(), merged.changed.len(), merged.n_other);
    let mut reply = Reply { kind: Kind::Question, ..Reply::sentence(format!("This file brings {}:", list_of(&parts))) };
    let changed = merged.changed.iter().map(|new| {
        let was =
            herd.animal(new.id).map_or_else(String::new, |old| format!(" (was {})", in_full(catalogue, herd, old)));
        format!("changed: {}{was}", in_full(catalogue, &merged.herd, new))
    });
    let new = merged.new.iter().map(|new| in_full(catalogue, &merged.herd, new));
    reply.rows = changed.chain(new).take(ROWS).map(Row::heading).collect();
    let n = merged.new.len() + merged.changed.len();
    if n > ROWS {
        reply.rest = Some(format!("and {} more", n - ROWS));
    }
    if merged.n_same > 0 {
        reply.notes.push(format!("{} here already.", count(merged.n_same, "record is", "records are")));
    }
    reply.notes.extend(faults(&merged.bad));
    reply.notes.extend(merged.near.iter().map(|near| format!("Note: {near}.")));
    reply.notes.push(to_save(word));
    reply
}

fn to_save(word: &str) -> String {
    format!("Type \"{word}\" to save this; anything else saves nothing.")
}

/// The first faults, and how many more there are.
fn faults(bad: &[Bad]) -> Vec<String> {
    let mut out: Vec<String> =
        bad.iter().take(FAULTS).map(|b| sentence(&format!("Left out, {}: {}", b.place, b.reason))).collect();
    if bad.len() > FAULTS {
        out.push(format!("And {} more left out.", bad.len() - FAULTS));
    }
    out
}

/// Everything of a file is here.
pub(in crate::conversation) fn nothing_new(merged: &Merged) -> Reply {
    let mut reply = if merged.n_same > 0 {
        Reply::sentence(format!(
            "Nothing new is in that file: {} here already. Nothing was changed.",
            count(merged.n_same, "record is", "records are")
        ))
    } else {
        Reply::refusal("Nothing in that file can be saved.")
    };
    reply.notes = faults(&merged.bad);
    reply
}

/// An import that was saved.
pub(in crate::conversation) fn imported(merged: &Merged) -> Reply {
    let mut reply =
        Reply::sentence(format!("Saved {}.", list_of(&parts(merged.new.len(), merged.changed.len(), merged.n_other))));
    if !merged.bad.is_empty() {
        reply.notes.push(format!("{} left out.", count(merged.bad.len(), "record was", "records were")));
    }
    reply.notes.push(UNDO.to_owned());
    reply
}

/// Which number of a column's dates is the day.
pub(in crate::conversation) fn which_order(heading: &str, date: &str) -> Reply {
    question(
        format!("The dates under \"{heading}\", like {date}, can be read two ways. What comes first?"),
        vec!["the day".to_owned(), "the month".to_owned()],
    )
}

/// In which unit a column's weights are.
pub(in crate::conversation) fn which_unit(heading: &str, weight: &str) -> Reply {
    question(
        format!("In which unit are the weights under \"{heading}\", like {weight}?"),
        ["g", "kg", "lb", "oz"].map(str::to_owned).to_vec(),
    )
}

/// Whether empty cells below filled ones mean the same.
pub(in crate::conversation) fn are_merged(headings: &[String]) -> Reply {
    let words: Vec<String> = headings.iter().map(|h| format!("\"{h}\"")).collect();
    question(
        format!("Under {} cells below a filled one are empty. What do the empty ones mean?", list_of(&words)),
        vec!["the same as above (merged cells)".to_owned(), "not known".to_owned()],
    )
}

/// How the columns were understood, in one line.
fn understood(columns: &Columns) -> String {
    let used: Vec<String> = columns
        .used
        .iter()
        .map(|c| {
            if c.heading.eq_ignore_ascii_case(c.role.words()) {
                c.heading.clone()
            } else {
                format!("{} = {}", c.heading, c.role.words())
            }
        })
        .collect();
    format!("Columns: {}", used.join(", "))
}

/// What was taken for granted of a sheet.
pub(in crate::conversation) fn taken_of_sheet(rows: &Rows, encoding: Option<&str>) -> Vec<String> {
    let mut out = Vec::new();
    if rows.n_plain > 0 {
        out.push(format!("{} without a gene: taken as normal-looking", count(rows.n_plain, "row", "rows")));
    }
    if rows.n_filled > 0 {
        out.push(format!("{} without a species: taken from the row above", count(rows.n_filled, "row", "rows")));
    }
    if rows.n_merged > 0 {
        out.push(format!("{} taken from the cell above", count(rows.n_merged, "empty cell was", "empty cells were")));
    }
    if let Some(encoding) = encoding {
        out.push(format!("the file was read as {encoding}"));
    }
    out
}

/// No row of a sheet is an animal.
pub(in crate::conversation) fn no_animals(columns: &Columns, rows: &Rows) -> Reply {
    let mut reply = Reply::refusal("No row of that sheet can be saved.");
    reply.understood = understood(columns);
    reply.notes = faults(&rows.bad);
    reply
}

/// A stranger's sheet, shown first.
pub(in crate::conversation) fn sheet_first(
    columns: &Columns,
    rows: &Rows,
    found: &Added,
    n_here: usize,
    word: &str,
) -> Reply {
    let n = found.lines.len();
    let mut reply = if n == 0 {
        Reply::sentence("No animal of that sheet is new. Nothing was changed.")
    } else {
        Reply { kind: Kind::Question, ..Reply::sentence(format!("I read {}:", count(n, "new animal", "new animals"))) }
    };
    reply.understood = understood(columns);
    reply.rows = found.lines.iter().take(ROWS).map(Row::heading).collect();
    if n > ROWS {
        reply.rest = Some(format!("and {} more", n - ROWS));
    }
    if n > 0 {
        reply.notes.push(to_save(word));
    }
    let mut bad: Vec<(usize, Bad)> = rows.bad.iter().map(|b| (line_of(&b.place), b.clone())).collect();
    bad.extend(
        found.bad.iter().map(|(line, reason)| (*line, Bad { place: format!("line {line}"), reason: reason.clone() })),
    );
    bad.sort();
    reply.notes.extend(faults(&bad.into_iter().map(|b| b.1).collect::<Vec<_>>()));
    if n_here > 0 {
        reply.notes.push(format!("{} here already and stay as they are.", count(n_here, "animal is", "animals are")));
    }
    if rows.n_totals > 0 {
        reply.notes.push(format!("{} of totals skipped.", count(rows.n_totals, "row", "rows")));
    }
    if !columns.unused.is_empty() {
        reply.notes.push(format!("Not used: {}.", columns.unused.join(", ")));
    }
    reply.notes.extend(found.notes.iter().map(|note| sentence(note)));
    reply.assumed.clone_from(&found.assumed);
    reply.unread.clone_from(&found.unread);
    reply
}

fn line_of(place: &str) -> usize {
    place.rsplit(' ').next().and_then(|n| n.parse().ok()).unwrap_or(0)
}
