//! A collection out to a file and in from one: our own files, which come back without loss, and a stranger's sheet.
//!
//! In: a herd, or the bytes of a file. Out: bytes, or [`Incoming`]: our own records, or the table of a sheet whose columns
//! still have to be understood (`sheet`).
//! May touch: `reading`, `species`. Never: a disk, a sentence of the talk.
//! Invariant: what was written is read back as the same records (`portable`), whatever a cell holds.
//! Start at [`export`] and [`read`]; `merge` says what a file changes in a herd.

pub mod merge; // what a file changes in a herd
pub mod portable; // a herd in numbers of its own
pub mod sheet; // a stranger's sheet: columns, dates, units, rows

mod cells; // values in cells, exact
mod json; // everything in one object
mod shape; // texts and numbers as the database takes them
mod tables; // one table a kind of record
mod text; // encodings, delimiters, broken quotes, formulas

use std::io::{Cursor, Read as _, Write as _};

use jiff::civil::Date;
use thiserror::Error;

use super::animal::{Animal, Belief};
use super::herd::Herd;
pub use text::{Table, table};

/// The largest file, unpacked or not: a full collection with a long note for each of its animals fits.
pub const MOST_BYTES: u64 = 20 << 20;
/// The most lines of a sheet.
pub const MOST_LINES: usize = 5_000;
/// The most columns of a sheet.
pub const MOST_COLUMNS: usize = 64;

/// What a collection is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Everything, in one JSON object.
    Json,
    /// Everything, a CSV table for each kind of record, in a zip file.
    Tables,
    /// The animals alone, one CSV table.
    Sheet,
}

impl Form {
    /// The form that the end of a file's name says.
    #[must_use]
    pub fn of_name(name: &str) -> Option<Self> {
        Some(match name.rsplit_once('.')?.1.to_lowercase().as_str() {
            "json" => Self::Json,
            "zip" => Self::Tables,
            "csv" => Self::Sheet,
            _ => return None,
        })
    }

    /// The end of a file's name.
    #[must_use]
    pub fn end(self) -> &'static str {
        match self {
            Self::Json => "json",
            Self::Tables => "zip",
            Self::Sheet => "csv",
        }
    }
}

/// What words mean for the species of a key; an error is the reason why they cannot be taken.
pub type ReadWords<'a> = dyn Fn(&str, &str) -> Result<Vec<Belief>, String> + 'a;

/// Looks in the trade's words, which a sheet shows beside the exact records.
pub struct Words<'a> {
    /// The words of an animal's genes.
    pub write: &'a dyn Fn(&Animal) -> String,
    /// The genes that words mean.
    pub read: &'a ReadWords<'a>,
}

impl std::fmt::Debug for Words<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Words")
    }
}

/// Why a file cannot be taken at all.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[allow(missing_docs)] // each variant is its sentence, its fields are the values in it
pub enum FileError {
    #[error("the file has {} KiB; {} KiB is the most. Send it in parts", bytes.div_ceil(1024), MOST_BYTES / 1024)]
    TooLarge { bytes: u64 },
    #[error("the file is empty")]
    Empty,
    #[error("this is a workbook of a spreadsheet program: save its sheet as CSV there, and send that")]
    Workbook,
    #[error("this file is neither a CSV table nor JSON nor a zip file of tables")]
    Strange,
    #[error("the zip file cannot be opened: {reason}")]
    Zip { reason: String },
    #[error("this is no JSON of a collection: {reason}")]
    Json { reason: String },
    #[error("this file is of version {version}, made by a newer Hatchward; this program knows up to {known}")]
    Newer { version: u64, known: u64 },
    #[error("the sheet has {lines} lines; {MOST_LINES} is the most. Send it in parts")]
    TooManyLines { lines: usize },
    #[error("line {line} has {columns} columns; {MOST_COLUMNS} is the most")]
    TooManyColumns { line: usize, columns: usize },
    #[error("no line of headings was found: the first line should name its columns (name, sex, genes, hatched, …)")]
    NoHeadings,
}

/// A record of a file that cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bad {
    /// Where it stands: "animals.csv, line 7".
    pub place: String,
    /// Why.
    pub reason: String,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Incoming {
    /// Records that this program wrote, in numbers of their own, and those of them that are damaged.
    Own(Box<Herd>, Vec<Bad>),
    /// A table whose columns are still to be understood.
    Sheet(Table),
}

/// Writes a herd, or the part of it that was chosen (see [`portable::part`]), on this day.
///
/// # Errors
/// [`FileError::Zip`] when the archive cannot be put together, which no content of a herd brings about.
pub fn export(herd: &Herd, form: Form, on: Date, words: &Words<'_>) -> Result<Vec<u8>, FileError> {
    let herd = portable::portable(herd);
    match form {
        Form::Json => Ok(json::write(&herd, on)),
        Form::Sheet => Ok(tables::write(&herd, words).swap_remove(0).1),
        Form::Tables => zipped(&tables::write(&herd, words)),
    }
}

fn zipped(files: &[(&'static str, Vec<u8>)]) -> Result<Vec<u8>, FileError> {
    let fault = |error: &dyn std::fmt::Display| FileError::Zip { reason: error.to_string() };
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).map_err(|e| fault(&e))?;
        zip.write_all(bytes).map_err(|e| fault(&e))?;
    }
    Ok(zip.finish().map_err(|e| fault(&e))?.into_inner())
}

/// Reads a file by what is in it; its name does not matter.
///
/// # Errors
/// [`FileError`]: too large, of a newer program, or nothing that can be read.
pub fn read(bytes: &[u8], words: &Words<'_>) -> Result<Incoming, FileError> {
    let size = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
    if size > MOST_BYTES {
        return Err(FileError::TooLarge { bytes: size });
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return tables::read(&unzipped(bytes)?, words).map(|(herd, bad)| Incoming::Own(Box::new(herd), bad));
    }
    // The old workbooks' own form.
    if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        return Err(FileError::Workbook);
    }
    let (text, encoding) = text::decoded(bytes);
    let start = text.trim_start();
    if start.is_empty() {
        return Err(FileError::Empty);
    }
    if start.starts_with('{') {
        return json::read(start).map(|(herd, bad)| Incoming::Own(Box::new(herd), bad));
    }
    let mut sheet = text::table(&text)?;
    sheet.encoding = encoding;
    if tables::is_own(&sheet) {
        let (herd, bad) = tables::read_table("animals.csv", &sheet, words);
        return Ok(Incoming::Own(Box::new(herd), bad));
    }
    Ok(Incoming::Sheet(sheet))
}

/// The tables in a zip file. What would unpack to more than a file may have is refused before it fills the memory.
fn unzipped(bytes: &[u8]) -> Result<Vec<(String, Vec<u8>)>, FileError> {
    let fault = |error: &dyn std::fmt::Display| FileError::Zip { reason: error.to_string() };
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| fault(&e))?;
    if zip.file_names().any(|n| n == "[Content_Types].xml" || n == "content.xml") {
        return Err(FileError::Workbook);
    }
    let mut out = Vec::new();
    let mut room = MOST_BYTES;
    for n in 0..zip.len() {
        let file = zip.by_index(n).map_err(|e| fault(&e))?;
        let name = file.name().rsplit('/').next().unwrap_or("").to_lowercase();
        if !tables::NAMES.contains(&name.as_str()) {
            continue;
        }
        let mut text = Vec::new();
        file.take(room + 1).read_to_end(&mut text).map_err(|e| fault(&e))?;
        let size = u64::try_from(text.len()).unwrap_or(u64::MAX);
        room = room.checked_sub(size).ok_or(FileError::TooLarge { bytes: MOST_BYTES + 1 })?;
        out.push((name, text));
    }
    if out.is_empty() { Err(FileError::Strange) } else { Ok(out) }
}
