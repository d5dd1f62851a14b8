//! A copy of everything out, and a file in.

use std::collections::HashSet;

use super::added::{self, Namesakes, Prepared, SAVE};
use super::{Ask, Desk, Done, Stop};
use crate::collection::animal::{Animal, Belief};
use crate::collection::files::sheet::{self, Ask as ColumnAsk, With};
use crate::collection::files::{self, FileError, Form, Incoming, Table, Words, merge, portable};
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::conversation::File;
use crate::conversation::sentences::keeping as say;
use crate::reading::records::kinds::FormSaid;
use crate::reading::records::look::Filter;
use crate::reading::requests::SexSaid;

pub(super) fn export(desk: &Desk<'_>, form: FormSaid, filter: &Filter) -> Result<Done, Stop> {
    if desk.herd.is_empty() {
        return Ok(Done::say(say::nothing_kept()));
    }
    let form = match form {
        FormSaid::Tables => Form::Tables,
        FormSaid::Sheet => Form::Sheet,
        FormSaid::Json => Form::Json,
    };
    let herd = if filter.is_open() { desk.herd.clone() } else { chosen(desk, filter)? };
    let file = written(desk, &herd, form).map_err(|e| Stop::say(say::fault(&e.to_string())))?;
    Ok(Done::File { file, reply: Box::new(say::exported(&herd, form)) })
}

fn chosen(desk: &Desk<'_>, filter: &Filter) -> Result<Herd, Stop> {
    let fitting: HashSet<_> = super::looked::fitting(desk, filter)?.iter().map(|a| a.id).collect();
    if fitting.is_empty() {
        return Err(Stop::say(say::nothing_fits()));
    }
    Ok(portable::part(desk.herd, &fitting))
}

/// A herd as a file.
fn written(desk: &Desk<'_>, herd: &Herd, form: Form) -> Result<File, FileError> {
    let bytes = with_words(desk, |words| files::export(herd, form, desk.today, words))?;
    Ok(File { name: format!("collection-{}.{}", desk.today, form.end()), bytes, alt: None })
}

/// Looks in words, as a sheet shows them and takes them back.
fn with_words<R>(desk: &Desk<'_>, then: impl FnOnce(&Words<'_>) -> R) -> R {
    let of = |key: &str| desk.catalogue.species().iter().find(|s| s.key() == key);
    let write = |animal: &Animal| of(&animal.species).map(|s| say::look_of(s, &animal.genes)).unwrap_or_default();
    let read = |key: &str, text: &str| -> Result<Vec<Belief>, String> {
        let species = of(key).ok_or_else(|| say::no_such_species(key))?;
        let said = desk.reader.describe(desk.catalogue, text, Some(species.id));
        match (said.questions.first(), said.unread.first()) {
            (Some(question), _) => Err(say::unclear_in_cell(&question.about)),
            (None, Some(word)) => Err(say::unread_in_cell(word)),
            (None, None) => Ok(genes::stated(species, &said.animal)),
        }
    };
    then(&Words { write: &write, read: &read })
}

/// "import FILE", the word alone, or a table pasted behind it.
pub(super) fn import(desk: &Desk<'_>, text: &str) -> Result<Done, Stop> {
    if text.contains('\n') {
        return incoming(desk, text.as_bytes());
    }
    let name = text.trim().trim_matches(['"', '\'', '<', '>']).to_owned();
    Ok(Done::Wants { name, reply: Box::new(say::send_the_file()) })
}

/// A file that was handed in: what it changes, shown first.
pub(in crate::conversation) fn incoming(desk: &Desk<'_>, bytes: &[u8]) -> Result<Done, Stop> {
    let refused = |error: FileError| Stop::say(say::file_refused(&error));
    match with_words(desk, |words| files::read(bytes, words)).map_err(refused)? {
        Incoming::Own(herd, mut bad) => {
            let fault = |fault: crate::collection::rules::Fault| Stop::say(say::fault(&fault.to_string()));
            let mut merged = merge::merge(desk.herd, &herd, desk.catalogue, desk.today).map_err(fault)?;
            bad.append(&mut merged.bad);
            merged.bad = bad;
            if merged.change.is_empty() {
                return Ok(Done::say(say::nothing_new(&merged)));
            }
            let reply = Box::new(say::imported(&merged));
            let shown = Box::new(say::import_first(desk.catalogue, desk.herd, &merged, SAVE));
            let change =
                merged.change.saying(say::imported_past(merged.new.len(), merged.changed.len(), merged.n_other));
            Ok(Done::Confirm { word: SAVE.to_owned(), shown, change, reply })
        }
        Incoming::Sheet(table) => of_sheet(desk, &table),
    }
}

fn of_sheet(desk: &Desk<'_>, table: &Table) -> Result<Done, Stop> {
    let columns = sheet::columns(table).map_err(|error| Stop::say(say::file_refused(&error)))?;
    let with = With {
        reader: desk.reader,
        catalogue: desk.catalogue,
        species: desk.fixed.species.or(desk.species),
        today: desk.today,
        orders: &desk.fixed.orders,
        units: &desk.fixed.units,
        merged: desk.fixed.merged,
    };
    let mut rows = sheet::rows(table, &columns, with).map_err(|ask| match ask {
        ColumnAsk::Order(heading, date) => Stop::ask(say::which_order(&heading, &date), Ask::Order(heading)),
        ColumnAsk::Merged(headings) => Stop::ask(say::are_merged(&headings), Ask::Merged),
        ColumnAsk::Unit(heading, weight) => Stop::ask(say::which_unit(&heading, &weight), Ask::Unit(heading)),
    })?;
    if rows.animals.is_empty() {
        return Err(Stop::say(say::no_animals(&columns, &rows)));
    }
    for animal in &mut rows.animals {
        // One row alone is no list of its own: it must not end the whole with a question about a pronoun.
        if animal.counts == (0, 0, 0) && animal.described.animal.sex == SexSaid::Unknown {
            animal.counts = (0, 0, 1);
        }
    }
    let Prepared { change, mut found, n_here, .. } = added::prepared(desk, &rows.animals, Namesakes::AreHere)?;
    found.assumed.extend(say::taken_of_sheet(&rows, table.encoding));
    let shown = say::sheet_first(&columns, &rows, &found, n_here, SAVE);
    if change.is_empty() {
        return Ok(Done::say(shown));
    }
    let reply = Box::new(say::added_many(found.lines.len(), &found));
    Ok(Done::Confirm { word: SAVE.to_owned(), shown: Box::new(shown), change, reply })
}
