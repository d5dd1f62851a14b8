//! Headings to columns: one row of headings or two, units in them, and the order of day and month in a column of dates.

use std::collections::HashSet;
use std::sync::OnceLock;

use regex::Regex;

use super::words::{Words, plain};
use super::{Ask, DayOrder, Role, Unit};
use crate::collection::files::{FileError, Table};

/// Rows in which headings are looked for: titles and dates of print stand above them.
const HEAD_ROWS: usize = 12;

/// One column that was understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// What it holds.
    pub role: Role,
    /// Its place in a row.
    pub at: usize,
    /// Its heading as it stands there.
    pub heading: String,
    /// The unit that the heading names.
    pub unit: Option<Unit>,
}

/// What was understood of a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Columns {
    /// Columns that are used.
    pub used: Vec<Column>,
    /// Headings of columns that are not.
    pub unused: Vec<String>,
    /// The place of the first row below the headings.
    pub(super) first: usize,
}

impl Columns {
    /// The column of a role.
    #[must_use]
    pub fn of(&self, role: Role) -> Option<&Column> {
        self.used.iter().find(|c| c.role == role)
    }
}

/// Finds the headings of a sheet and what they say.
///
/// # Errors
/// [`FileError::NoHeadings`].
pub fn columns(table: &Table) -> Result<Columns, FileError> {
    let row = |n: usize| table.rows.get(n).map_or(&[][..], |r| r.1.as_slice());
    let mut best: Option<(usize, Columns)> = None;
    for n in 0..table.rows.len().min(HEAD_ROWS) {
        let one = understood(row(n), n + 1);
        let two = understood(&joined(row(n), row(n + 1)), n + 2);
        // Two rows count only where the second says something that the first does not.
        let below = understood(row(n + 1), n + 2);
        let two = (has_no_data(row(n + 1)) && n + 1 < table.rows.len()).then_some(two);
        for (found, rows_like) in [Some(one), two.filter(|t| !below.used.is_empty() || adds_units(t))]
            .into_iter()
            .flatten()
            .map(|c| (score(&c), c))
        {
            if best.as_ref().is_none_or(|b| found > b.0) {
                best = Some((found, rows_like));
            }
        }
    }
    let tells = |c: &Columns| {
        let known: HashSet<Role> = c.used.iter().map(|x| x.role).collect();
        known.len() >= 2 || known.contains(&Role::Genes)
    };
    best.map(|b| b.1).filter(tells).ok_or(FileError::NoHeadings)
}

fn score(columns: &Columns) -> usize {
    columns.used.len() * 2 + columns.used.iter().filter(|c| c.unit.is_some()).count()
}

fn adds_units(columns: &Columns) -> bool {
    columns.used.iter().any(|c| c.unit.is_some())
}

/// A second row of headings holds no figures and no sex of an animal.
fn has_no_data(row: &[String]) -> bool {
    let Some(words) = Words::get() else { return false };
    let is_sex = |cell: &String| {
        let cell = plain(cell);
        [&words.sexes.male, &words.sexes.female].into_iter().flatten().any(|w| *w == cell && !matches!(w.as_str(), "h"))
    };
    !row.is_empty() && !row.iter().any(|c| c.chars().any(|x| x.is_ascii_digit()) || is_sex(c))
}

/// Two rows of headings as one: a merged cell of the upper row stands over all the empty ones beside it.
fn joined(upper: &[String], lower: &[String]) -> Vec<String> {
    let mut over = String::new();
    (0..upper.len().max(lower.len()))
        .map(|n| {
            let above = upper.get(n).map_or("", |c| c.trim());
            let below = lower.get(n).map_or("", |c| c.trim());
            if !above.is_empty() {
                above.clone_into(&mut over);
            }
            // Over nothing of its own a merged cell says nothing.
            match (above.is_empty(), below.is_empty()) {
                (_, true) => above.to_owned(),
                (true, false) => format!("{over} {below}").trim().to_owned(),
                (false, false) => format!("{above} {below}"),
            }
        })
        .collect()
}

fn understood(row: &[String], first: usize) -> Columns {
    let mut out = Columns { used: Vec::new(), unused: Vec::new(), first };
    // Headings that fit whole come before those that only hold a word.
    let mut roles: Vec<Option<Role>> = row.iter().map(|cell| whole(cell)).collect();
    for (n, cell) in row.iter().enumerate() {
        if roles[n].is_none() {
            roles[n] = by_word(cell).filter(|role| !roles.contains(&Some(*role)));
        }
    }
    for (at, (cell, role)) in row.iter().zip(roles).enumerate() {
        let heading = cell.trim().to_owned();
        match role {
            Some(role) if out.of(role).is_none() => {
                let unit = (role == Role::Weight).then(|| unit(cell)).flatten();
                out.used.push(Column { role, at, heading, unit });
            }
            _ if heading.is_empty() => {}
            _ => out.unused.push(heading),
        }
    }
    out
}

/// Brackets and what stands in them only describe.
fn bare(cell: &str) -> String {
    let text = plain(cell);
    let head = text.split(['(', '[']).next().unwrap_or("");
    let head = head.trim_matches(|c: char| !c.is_alphanumeric() && c != '#');
    if head.is_empty() { text } else { head.to_owned() }
}

fn whole(cell: &str) -> Option<Role> {
    let words = Words::get()?;
    let text = bare(cell);
    words.headings.iter().find(|(_, list)| list.contains(&text)).map(|(role, _)| *role)
}

/// The longest heading of the lists whose words stand in this one.
fn by_word(cell: &str) -> Option<Role> {
    let words = Words::get()?;
    let text = format!(" {} ", bare(cell).replace(|c: char| !c.is_alphanumeric() && c != '#', " "));
    let text = text.split(' ').filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ");
    let text = format!(" {text} ");
    words
        .headings
        .iter()
        .flat_map(|(role, list)| list.iter().map(move |w| (*role, w)))
        // A letter or two say something only alone.
        .filter(|(_, w)| w.chars().count() > 2 && text.contains(&format!(" {w} ")))
        .max_by(|a, b| a.1.len().cmp(&b.1.len()).then(b.1.cmp(a.1)))
        .map(|(role, _)| role)
}

fn unit(cell: &str) -> Option<Unit> {
    let words = Words::get()?;
    let text = plain(cell);
    let mut parts = text.split(|c: char| !c.is_alphanumeric());
    parts.find_map(|p| words.units.iter().find(|(_, list)| list.iter().any(|w| w == p)).map(|(unit, _)| *unit))
}

/// The order of the dates of a column: what its cells show, else something to ask. None where no date needs one.
pub(super) fn order(table: &Table, columns: &Columns, column: &Column) -> Result<Option<DayOrder>, Ask> {
    static DATE: OnceLock<Option<Regex>> = OnceLock::new();
    let pattern = DATE.get_or_init(|| Regex::new(r"^\s*(\d{1,2})[/-](\d{1,2})[/-](?:\d\d|\d{4})\b").ok());
    let Some(pattern) = pattern.as_ref().filter(|_| column.role.is_date()) else { return Ok(None) };
    let cells = table.rows.iter().skip(columns.first).filter_map(|(_, row)| row.get(column.at));
    let mut doubtful = None;
    let (mut day, mut month) = (false, false);
    for cell in cells {
        let Some(hit) = pattern.captures(cell) else { continue };
        let (a, b): (u8, u8) = (hit[1].parse().unwrap_or(0), hit[2].parse().unwrap_or(0));
        match (a > 12, b > 12) {
            (true, false) => day = true,
            (false, true) => month = true,
            (false, false) if a != b => {
                doubtful.get_or_insert_with(|| cell.trim().to_owned());
            }
            _ => {}
        }
    }
    match (day, month, doubtful) {
        (true, false, _) => Ok(Some(DayOrder::DayFirst)),
        (false, true, _) => Ok(Some(DayOrder::MonthFirst)),
        (_, _, None) => Ok(None),
        (_, _, Some(date)) => Err(Ask::Order(column.heading.clone(), date)),
    }
}

/// The unit of bare numbers in a column of weights: the heading's, else grams where they are large enough to be nothing
/// else, else something to ask. None where no number is bare.
pub(super) fn weight_unit(table: &Table, columns: &Columns, column: &Column) -> Result<Option<Unit>, Ask> {
    if column.unit.is_some() {
        return Ok(column.unit);
    }
    let cells = table.rows.iter().skip(columns.first).filter_map(|(_, row)| row.get(column.at));
    let bare: Vec<(f64, &String)> =
        cells.filter_map(|cell| Some((crate::reading::records::amounts::decimal(cell.trim(), true)?, cell))).collect();
    let Some((_, example)) = bare.first() else { return Ok(None) };
    // No clutch of any species here has hatchlings of under 1 g, and no adult has 12 kg and all others less.
    let most = bare.iter().map(|b| b.0).fold(0.0, f64::max);
    if most > 60.0 { Ok(Some(Unit::G)) } else { Err(Ask::Unit(column.heading.clone(), example.trim().to_owned())) }
}
