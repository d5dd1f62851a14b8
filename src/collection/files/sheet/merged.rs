//! Merged cells: a spreadsheet writes the words of such a cell into its first row only and leaves the rows below empty.
//!
//! What an empty cell means cannot be seen in it, and it decides who is whose parent; so it is asked, once for the sheet,
//! where the columns look so: filled at the top, empty below, and never the same words twice in a row, as a sheet without
//! merged cells has them for siblings. Species are filled in without asking (`rows`): a sheet has hardly any other reason.

use super::Role;
use super::columns::{Column, Columns};
use crate::collection::files::Table;

/// Columns in which siblings share a cell.
const FAMILY: [Role; 3] = [Role::Sire, Role::Dam, Role::Parents];
/// Columns that are merged along with those, if at all.
const BESIDE: [Role; 3] = [Role::Hatched, Role::Origin, Role::Sex];

/// Columns that look as if they held merged cells.
pub(super) fn suspects<'c>(table: &Table, columns: &'c Columns) -> Vec<&'c Column> {
    let of = |roles: &'static [Role]| {
        columns.used.iter().filter(|c| roles.contains(&c.role) && looks_merged(table, columns, c)).collect::<Vec<_>>()
    };
    let mut found = of(&FAMILY);
    if !found.is_empty() {
        found.extend(of(&BESIDE));
    }
    found
}

fn looks_merged(table: &Table, columns: &Columns, column: &Column) -> bool {
    let cells: Vec<&str> = animals(table, columns).map(|row| cell(row, column)).collect();
    let filled: Vec<&&str> = cells.iter().filter(|c| !c.is_empty()).collect();
    let empty = cells.len() - filled.len();
    let written_out = filled.windows(2).any(|pair| pair[0].eq_ignore_ascii_case(pair[1]));
    let looks = cells.first().is_some_and(|c| !c.is_empty()) && empty * 2 >= filled.len() && empty > 0 && !written_out;
    // The parents themselves stand below a cell that names them: then it does not reach down to them.
    looks && !names_its_own_row(table, columns, column)
}

/// Whether a cell that reached down over the empty ones would make an animal its own parent.
fn names_its_own_row(table: &Table, columns: &Columns, column: &Column) -> bool {
    let called = [Role::Name, Role::Code].map(|role| columns.of(role));
    let mut above = "";
    animals(table, columns).any(|row| {
        let own = cell(row, column);
        if !own.is_empty() {
            above = own;
        }
        own.is_empty() && called.iter().flatten().any(|c| !above.is_empty() && cell(row, c).eq_ignore_ascii_case(above))
    })
}

/// The table with the words of these columns in every row they stand for, and how many cells were filled.
pub(super) fn filled(table: &Table, columns: &Columns, merged: &[&Column]) -> (Table, usize) {
    let mut out = table.clone();
    let mut n = 0;
    for column in merged {
        let mut above = String::new();
        for (_, row) in out.rows.iter_mut().skip(columns.first) {
            if !is_animal(row) {
                // A line between two groups.
                above.clear();
                continue;
            }
            let own = cell(row, column);
            if !own.is_empty() {
                own.clone_into(&mut above);
            } else if !above.is_empty() {
                if row.len() <= column.at {
                    row.resize(column.at + 1, String::new());
                }
                row[column.at].clone_from(&above);
                n += 1;
            }
        }
    }
    (out, n)
}

fn animals<'t>(table: &'t Table, columns: &Columns) -> impl Iterator<Item = &'t [String]> {
    table.rows.iter().skip(columns.first).map(|r| r.1.as_slice()).filter(|row| is_animal(row))
}

/// A row with one cell alone speaks of those below it.
fn is_animal(row: &[String]) -> bool {
    row.iter().filter(|c| !c.trim().is_empty()).count() > 1
}

fn cell<'r>(row: &'r [String], column: &Column) -> &'r str {
    row.get(column.at).map_or("", |c| c.trim())
}
