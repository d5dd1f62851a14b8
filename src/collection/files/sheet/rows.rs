//! One row, one animal.

use std::collections::{HashMap, HashSet};

use jiff::ToSpan as _;
use jiff::civil::{Date, date};

use super::cells::{counts, price, species, status_said};
use super::columns::{self, Columns};
use super::merged;
use super::words::{Words, plain};
use super::{Ask, DayOrder, Role, Unit};
use crate::collection::files::text;
use crate::collection::files::{Bad, Table};
use crate::collection::name::{TAG_CHARS, key, tidy};
use crate::reading::Reader;
use crate::reading::dates::{self, Said, When};
use crate::reading::flat::Flat;
use crate::reading::records::add::{NewAnimal, ParentSaid};
use crate::reading::records::amounts;
use crate::reading::records::kinds::Sexed;
use crate::reading::records::message::Called;
use crate::reading::requests::SexSaid;
use crate::species::{Catalogue, SpeciesId};

/// The day that spreadsheets count from: 1 is the day after it, 45,000 is in 2023.
const SERIAL_START: Date = date(1899, 12, 30);
/// Bare numbers that are days counted so: 1968 to 2064.
const SERIALS: std::ops::RangeInclusive<i64> = 25_000..=60_000;

/// What rows are read with.
#[derive(Debug, Clone, Copy)]
pub struct With<'a> {
    /// Reads the words of cells.
    pub reader: &'a Reader,
    /// Knows species and genes.
    pub catalogue: &'a Catalogue,
    /// The species where the sheet names none.
    pub species: Option<SpeciesId>,
    /// The day of the import.
    pub today: Date,
    /// Answers on the order of dates, by heading.
    pub orders: &'a [(String, DayOrder)],
    /// Answers on units, by heading.
    pub units: &'a [(String, Unit)],
    /// The answer on cells that may be merged.
    pub merged: Option<bool>,
}

/// What the rows of a sheet hold.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Rows {
    /// Animals, parents before their young.
    pub animals: Vec<NewAnimal>,
    /// Rows that cannot be read.
    pub bad: Vec<Bad>,
    /// Rows that only count the others.
    pub n_totals: usize,
    /// Rows without any gene.
    pub n_plain: usize,
    /// Cells of the species that were empty and were taken from above.
    pub n_filled: usize,
    /// Cells that were merged with one above them.
    pub n_merged: usize,
}

/// Reads the rows below the headings.
///
/// # Errors
/// [`Ask`] where a column leaves something open that is not answered yet.
pub fn rows(table: &Table, columns: &Columns, with: With<'_>) -> Result<Rows, Ask> {
    let suspects = merged::suspects(table, columns);
    let (whole, n_merged) = match with.merged {
        _ if suspects.is_empty() => (None, 0),
        None => return Err(Ask::Merged(suspects.iter().map(|c| c.heading.clone()).collect())),
        Some(false) => (None, 0),
        Some(true) => {
            let (whole, n) = merged::filled(table, columns, &suspects);
            (Some(whole), n)
        }
    };
    let table = whole.as_ref().unwrap_or(table);
    let mut reading = Reading::new(table, columns, with)?;
    let mut out = Rows { bad: table.bad.clone(), n_merged, ..Rows::default() };
    let Some(words) = Words::get() else { return Ok(out) };
    let headings: Vec<&str> = columns.used.iter().map(|c| c.heading.as_str()).collect();
    for (line, row) in table.rows.iter().skip(columns.first) {
        let cells: Vec<&str> = row.iter().map(|c| text::plain(c).trim()).filter(|c| !c.is_empty()).collect();
        if is_total(&cells, words) {
            out.n_totals += 1;
            continue;
        }
        // A printed sheet repeats its headings.
        let repeated = cells.iter().filter(|c| headings.contains(c)).count();
        if repeated * 2 > headings.len() || reading.section(&cells) {
            continue;
        }
        match reading.animal(*line, row, &mut out) {
            Ok(animal) => out.animals.push(animal),
            Err(reason) => out.bad.push(Bad { place: format!("line {line}"), reason }),
        }
    }
    out.animals = parents_first(std::mem::take(&mut out.animals));
    Ok(out)
}

fn is_total(cells: &[&str], words: &Words) -> bool {
    let first = cells.first().map(|c| plain(c)).unwrap_or_default();
    let first = first.trim_end_matches([':', '.']);
    words.skipped.totals.iter().any(|w| first == w || first.strip_prefix(w).is_some_and(|r| r.starts_with([' ', ':'])))
}

struct Reading<'a> {
    columns: &'a Columns,
    with: With<'a>,
    orders: HashMap<Role, DayOrder>,
    unit: Option<Unit>,
    /// Names in the sheet, by their keys.
    names: HashSet<String>,
    /// From a row's own code to its name.
    codes: HashMap<String, String>,
    /// What a line over the rows said of those below it.
    species: Option<SpeciesId>,
    sex: SexSaid,
}

impl<'a> Reading<'a> {
    fn new(table: &'a Table, columns: &'a Columns, with: With<'a>) -> Result<Self, Ask> {
        let mut orders = HashMap::new();
        let mut unit = None;
        for column in &columns.used {
            let answered = |list: &[(String, DayOrder)]| list.iter().find(|a| a.0 == column.heading).map(|a| a.1);
            let order = match columns::order(table, columns, column) {
                Ok(order) => order,
                Err(ask) => Some(answered(with.orders).ok_or(ask)?),
            };
            orders.extend(order.map(|order| (column.role, order)));
            if column.role == Role::Weight {
                unit = match columns::weight_unit(table, columns, column) {
                    Ok(unit) => unit,
                    Err(ask) => Some(with.units.iter().find(|a| a.0 == column.heading).map(|a| a.1).ok_or(ask)?),
                };
            }
        }
        let mut reading = Self {
            columns,
            with,
            orders,
            unit,
            names: HashSet::new(),
            codes: HashMap::new(),
            species: with.species,
            sex: SexSaid::Unknown,
        };
        for (_, row) in table.rows.iter().skip(columns.first) {
            let (name, code) = (reading.cell(row, Role::Name), reading.cell(row, Role::Code));
            let called = if name.is_empty() { code } else { name };
            if !called.is_empty() {
                reading.names.insert(key(called));
            }
            if !code.is_empty() && !name.is_empty() {
                reading.codes.insert(key(code), name.to_owned());
            }
        }
        Ok(reading)
    }

    /// A cell without blanks around it; empty where it only says that nothing is known.
    fn cell<'r>(&self, row: &'r [String], role: Role) -> &'r str {
        let Some(cell) = self.columns.of(role).and_then(|c| row.get(c.at)) else { return "" };
        let cell = text::plain(cell).trim();
        match cell.to_lowercase().as_str() {
            "?" | "-" | "--" | "n/a" | "na" | "unknown" | "none" | "unbekannt" | "\u{2014}" | "\u{2013}" | "tbd" => "",
            _ => cell,
        }
    }

    /// A line that speaks of those below it: a species, "Females".
    fn section(&mut self, cells: &[&str]) -> bool {
        let [only] = cells else { return false };
        if self.columns.used.len() < 2 {
            return false;
        }
        if let Some(species) = species(self.with.catalogue, only) {
            self.species = Some(species);
            return true;
        }
        let text = plain(only);
        let sex = match text.trim_end_matches(':') {
            "females" | "girls" | "weibchen" | "hembras" => SexSaid::Female,
            "males" | "boys" | "mannchen" | "machos" => SexSaid::Male,
            _ => return false,
        };
        self.sex = sex;
        true
    }

    fn animal(&mut self, line: usize, row: &[String], out: &mut Rows) -> Result<NewAnimal, String> {
        let said = row.iter().map(|c| c.trim()).filter(|c| !c.is_empty()).collect::<Vec<_>>().join(", ");
        let mut new = NewAnimal { line, said, ..NewAnimal::default() };
        let species = self.species_of(row, out)?;
        let (name, code) = (self.cell(row, Role::Name), self.cell(row, Role::Code));
        new.name = Some(if name.is_empty() { code } else { name }).filter(|n| !n.is_empty()).map(str::to_owned);
        if !name.is_empty() && !code.is_empty() && !code.bytes().all(|b| b.is_ascii_digit()) {
            new.tags.extend(Some(tidy(code)).filter(|t| t.chars().count() <= TAG_CHARS));
        }
        let genes = self.gene_words(row);
        new.described = self.with.reader.describe(self.with.catalogue, &genes, species);
        new.described.animal.said.clone_from(&genes);
        if new.described.species.is_none() {
            new.described.species = species;
        }
        new.unread.clone_from(&new.described.unread);
        new.unread.extend(new.described.spare.iter().filter(|s| !s.english).map(|s| s.word.clone()));
        new.unread.dedup();
        self.sex(row, &mut new)?;
        new.hatched = self.day(row, Role::Hatched)?;
        new.weighed = self.day(row, Role::Weighed)?;
        new.grams = self.grams(row)?;
        new.price = price(self.cell(row, Role::Price))?;
        self.family(row, &mut new);
        new.origin = Some(self.cell(row, Role::Origin)).filter(|o| !o.is_empty()).map(str::to_owned);
        self.rest(row, &mut new)?;
        if !new.described.has_genes() && !new.described.normal {
            if new.name.is_none() && new.described.animal.sex == SexSaid::Unknown && new.hatched.is_none() {
                return Err("it says nothing of an animal".to_owned());
            }
            out.n_plain += usize::from(new.parents.is_none() && new.sire.is_none() && new.dam.is_none());
        }
        Ok(new)
    }

    fn species_of(&mut self, row: &[String], out: &mut Rows) -> Result<Option<SpeciesId>, String> {
        let cell = self.cell(row, Role::Species);
        if cell.is_empty() {
            // A merged cell stands in its first row only.
            out.n_filled += usize::from(self.columns.of(Role::Species).is_some() && self.species.is_some());
            return Ok(self.species);
        }
        match species(self.with.catalogue, cell) {
            Some(species) => self.species = Some(species),
            None => return Err(format!("\"{cell}\" is no species that I know")),
        }
        Ok(self.species)
    }

    /// Genes and hets of all columns in the words of a message.
    fn gene_words(&self, row: &[String]) -> String {
        let mut parts = vec![self.cell(row, Role::Genes).to_owned()];
        for (role, lead) in [(Role::Hets, "het "), (Role::PossibleHets, "possible het ")] {
            let cell = self.cell(row, role);
            let text = plain(cell);
            if cell.is_empty() || matches!(text.as_str(), "no" | "no hets") {
                continue;
            }
            let says = text.split(|c: char| !c.is_alphanumeric()).any(|w| matches!(w, "het" | "hets" | "dh" | "th"));
            // "66% clown" under "hets" is a share of a het.
            let share = text.starts_with(|c: char| c.is_ascii_digit()) && text.contains('%');
            parts.push(match (says, share) {
                (true, _) => cell.to_owned(),
                (false, true) => cell.replacen('%', "% het", 1),
                (false, false) => format!("{lead}{cell}"),
            });
        }
        parts.retain(|p| !p.is_empty());
        parts.join(", ").replace(['\n', '\r'], " ")
    }

    fn sex(&self, row: &[String], new: &mut NewAnimal) -> Result<(), String> {
        let Some(words) = Words::get() else { return Ok(()) };
        let cell = self.cell(row, Role::Sex);
        let text = plain(cell);
        let guessed =
            text.contains('?') || text.starts_with("prob") || text.starts_with("poss") || text.starts_with("likely");
        let word = text
            .trim_start_matches("probably ")
            .trim_start_matches("probable ")
            .trim_start_matches("prob. ")
            .trim_start_matches("prob ")
            .trim_start_matches("possible ")
            .trim_start_matches("likely ")
            .trim_end_matches(['?', '.', ' ']);
        let is = |list: &[String]| list.iter().any(|w| w == word || w == &text);
        let sex = if text.is_empty() {
            if new.described.animal.sex == SexSaid::Unknown { self.sex } else { new.described.animal.sex }
        } else if is(&words.sexes.male) {
            SexSaid::Male
        } else if is(&words.sexes.female) {
            SexSaid::Female
        } else if is(&words.sexes.unknown) || word.is_empty() {
            SexSaid::Unknown
        } else if let Some(counts) = counts(&text) {
            new.counts = counts;
            new.described.counts = Some(counts);
            return Ok(());
        } else {
            return Err(format!("\"{cell}\" is no sex"));
        };
        new.described.animal.sex = sex;
        if guessed && sex != SexSaid::Unknown {
            new.sexed = Sexed::Guessed;
        }
        new.counts = match sex {
            SexSaid::Male => (1, 0, 0),
            SexSaid::Female => (0, 1, 0),
            SexSaid::Unknown => (0, 0, 1),
        };
        Ok(())
    }

    fn day(&self, row: &[String], role: Role) -> Result<Option<Said>, String> {
        let cell = self.cell(row, role);
        if cell.is_empty() {
            return Ok(None);
        }
        let one = |when: When| Ok(Some(Said { place: 0..0, meanings: vec![when] }));
        if let Ok(number) = cell.trim_end_matches(".0").parse::<i64>() {
            if SERIALS.contains(&number)
                && let Ok(day) = SERIAL_START.checked_add(number.days())
            {
                return one(When::Day(day));
            }
            // The last two figures of a year.
            if (0..100).contains(&number) && cell.len() == 2 {
                let this = i64::from(self.with.today.year()) % 100;
                let year = if number <= this { 2000 + number } else { 1900 + number };
                return one(When::Year(i16::try_from(year).unwrap_or(2000)));
            }
        }
        let mut parts = cell.split(|c: char| !c.is_ascii_digit()).filter(|p| !p.is_empty());
        let numbers: Vec<i16> = parts.by_ref().take(3).filter_map(|p| p.parse().ok()).collect();
        if let ([a, b, year], Some(order)) = (&numbers[..], self.orders.get(&role))
            && cell.contains(['/', '-'])
            && *a <= 31
        {
            let (day, month) = match order {
                DayOrder::DayFirst => (*a, *b),
                DayOrder::MonthFirst => (*b, *a),
            };
            let year = if *year < 100 { 2000 + year } else { *year };
            let made = i8::try_from(month).ok().zip(i8::try_from(day).ok());
            let made = made.and_then(|(month, day)| Date::new(year, month, day).ok());
            return match made {
                Some(day) => one(When::Day(day)),
                None => Err(format!("\"{cell}\" is no day of the calendar")),
            };
        }
        match dates::dates(&Flat::new(cell), self.with.today).into_iter().next() {
            Some(said) if said.meanings.is_empty() => Err(format!("\"{cell}\" is no day of the calendar")),
            Some(said) => Ok(Some(said)),
            None => Err(format!("\"{cell}\" is no date that I can read")),
        }
    }

    fn grams(&self, row: &[String]) -> Result<Option<i64>, String> {
        let cell = self.cell(row, Role::Weight).trim_start_matches(['~', '\u{2248}']).trim_start_matches("ca.").trim();
        if cell.is_empty() {
            return Ok(None);
        }
        let unit = self.unit.unwrap_or(Unit::G).sign();
        let grams = amounts::weight_cell(cell, unit).ok_or_else(|| format!("\"{cell}\" is no weight"))?;
        if grams <= 0 { Err(format!("\"{cell}\" is no weight")) } else { Ok(Some(grams)) }
    }

    fn family(&self, row: &[String], new: &mut NewAnimal) {
        let parent = |cell: &str| (!cell.is_empty()).then(|| self.parent(cell));
        new.sire = parent(self.cell(row, Role::Sire));
        new.dam = parent(self.cell(row, Role::Dam));
        let both = self.cell(row, Role::Parents);
        let joint = [" x ", " X ", " \u{d7} ", "\u{d7}"].into_iter().find(|j| both.contains(j));
        if let Some((a, b)) = joint.and_then(|j| both.split_once(j)) {
            new.parents = Some((self.parent(a.trim()), self.parent(b.trim())));
        }
    }

    /// A name of this sheet or of nobody; words where genes are told.
    fn parent(&self, cell: &str) -> ParentSaid {
        let called = || ParentSaid::Called(Called::Name(cell.to_owned()));
        let own = key(cell);
        if let Some(name) = self.codes.get(&own) {
            return ParentSaid::Called(Called::Name(name.clone()));
        }
        if self.names.contains(&own) {
            return called();
        }
        let described = self.with.reader.describe(self.with.catalogue, cell, self.species);
        if described.has_genes() || described.normal { ParentSaid::Words(cell.to_owned()) } else { called() }
    }

    fn rest(&self, row: &[String], new: &mut NewAnimal) -> Result<(), String> {
        let mut notes: Vec<String> = Vec::new();
        let status = self.cell(row, Role::Status);
        if !status.is_empty() {
            new.status = status_said(status);
            if new.status.is_none() {
                notes.push(format!("status: {status}"));
            }
        }
        if let Some(when) = self.day(row, Role::Acquired)?.and_then(|said| said.meanings.first().copied()) {
            notes.push(format!("acquired {}", when.words()));
        }
        let tags = self.cell(row, Role::Tags).split([',', ';']).map(tidy).filter(|t| !t.is_empty());
        for tag in tags {
            if tag.chars().count() > TAG_CHARS { notes.push(tag) } else { new.tags.push(tag) }
        }
        let own = self.cell(row, Role::Notes);
        notes.splice(0..0, (!own.is_empty()).then(|| own.to_owned()));
        new.notes = (!notes.is_empty()).then(|| notes.join("\n"));
        Ok(())
    }
}

/// Parents that stand in the same sheet come before their young, otherwise all stays in its order.
fn parents_first(animals: Vec<NewAnimal>) -> Vec<NewAnimal> {
    let name = |said: &ParentSaid| match said {
        ParentSaid::Called(Called::Name(name)) => Some(key(name)),
        _ => None,
    };
    let mut open: HashMap<String, usize> = HashMap::new();
    for own in animals.iter().filter_map(|a| a.name.as_ref()) {
        *open.entry(key(own)).or_insert(0) += 1;
    }
    let mut waiting = animals;
    let mut out = Vec::new();
    loop {
        let before = waiting.len();
        let mut next = Vec::new();
        for animal in waiting {
            let both = animal.parents.iter().flat_map(|(a, b)| [a, b]);
            let waits = [&animal.sire, &animal.dam]
                .into_iter()
                .flatten()
                .chain(both)
                .filter_map(name)
                .any(|parent| open.get(&parent).is_some_and(|n| *n > 0));
            if waits {
                next.push(animal);
                continue;
            }
            if let Some(n) = animal.name.as_ref().and_then(|own| open.get_mut(&key(own))) {
                *n -= 1;
            }
            out.push(animal);
        }
        // What waits for itself is refused when it is looked at.
        if next.len() == before || next.is_empty() {
            out.extend(next);
            return out;
        }
        waiting = next;
    }
}
