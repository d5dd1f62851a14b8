//! Text of files: encodings, delimiters, broken quotes, and cells that a spreadsheet would run as a formula.

use encoding_rs::{Encoding, MACINTOSH, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

use super::{Bad, FileError, MOST_COLUMNS, MOST_LINES};

/// The longest a quoted cell may go on before its quote counts as broken, in bytes: notes have at most 2,000 characters.
const LONGEST_CELL: usize = 32 << 10;
/// Delimiters, the likelier first.
const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// A table as it stands in a file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Table {
    /// Rows with the line each begins in, from 1; blank rows are left out. The first is not special.
    pub rows: Vec<(usize, Vec<String>)>,
    /// Lines that cannot be taken apart.
    pub bad: Vec<Bad>,
    /// The encoding, where it was guessed.
    pub encoding: Option<&'static str>,
}

/// The text of a file, and its encoding where that had to be guessed.
pub(super) fn decoded(bytes: &[u8]) -> (String, Option<&'static str>) {
    let with = |encoding: &'static Encoding| encoding.decode_with_bom_removal(bytes).0.into_owned();
    if let Some((encoding, _)) = Encoding::for_bom(bytes) {
        return (with(encoding), None);
    }
    // Sheets in two bytes a sign without a mark at the start: every other byte of plain letters is zero.
    let zeros = |odd: usize| bytes.iter().skip(odd).step_by(2).filter(|b| **b == 0).count();
    if bytes.len() >= 4 && zeros(1) * 4 > bytes.len() {
        return (with(UTF_16LE), Some("UTF-16"));
    }
    if bytes.len() >= 4 && zeros(0) * 4 > bytes.len() {
        return (with(UTF_16BE), Some("UTF-16"));
    }
    if std::str::from_utf8(bytes).is_ok() {
        return (with(UTF_8), None);
    }
    // Between letters these are umlauts and accents in the old Macintosh's own set, and hardly ever anything elsewhere.
    let mac = bytes
        .windows(3)
        .any(|w| matches!(w[1], 0x80..=0x9f) && w[0].is_ascii_lowercase() && w[2].is_ascii_lowercase() && w[1] != 0x92);
    if mac { (with(MACINTOSH), Some("Macintosh")) } else { (with(WINDOWS_1252), Some("Windows-1252")) }
}

/// Takes a text apart into rows and cells. A row whose quotes are broken is named, and the next line begins anew.
///
/// # Errors
/// [`FileError`]: too many lines or columns.
pub fn table(text: &str) -> Result<Table, FileError> {
    // The first two may be headings.
    taken_apart(text, MOST_LINES + 2)
}

/// A table of ours, which may be as long as the file's size allows.
pub(super) fn long_table(text: &str) -> Result<Table, FileError> {
    taken_apart(text, usize::MAX)
}

fn taken_apart(text: &str, most: usize) -> Result<Table, FileError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    // A line with which one spreadsheet program tells its delimiter.
    let (said, from) = match text.get(..5).filter(|s| s.starts_with("sep=")) {
        Some(head) => (head.as_bytes().last().copied(), text.find('\n').map_or(text.len(), |at| at + 1)),
        None => (None, 0),
    };
    let delimiter = said.filter(|d| DELIMITERS.contains(d)).unwrap_or_else(|| delimiter(&text[from..]));
    let mut out = Table::default();
    let mut at = from;
    let mut line = 1 + usize::from(from > 0);
    while at < text.len() {
        let (next, next_line) = stretch(text, (at, line), delimiter, most, &mut out)?;
        at = next;
        line = next_line;
    }
    Ok(out)
}

/// Reads rows from a place on, until a broken one or the end; gives the place to go on from.
fn stretch(
    text: &str,
    (from, first_line): (usize, usize),
    delimiter: u8,
    most: usize,
    out: &mut Table,
) -> Result<(usize, usize), FileError> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(&text.as_bytes()[from..]);
    let place = |position: &csv::Position| usize::try_from(position.byte()).unwrap_or(usize::MAX);
    let mut record = csv::StringRecord::new();
    loop {
        let start = from + place(reader.position());
        // In memory and in UTF-8 there is nothing that could fail; an end is an end.
        if !matches!(reader.read_record(&mut record), Ok(true)) {
            return Ok((text.len(), first_line));
        }
        let end = (from + place(reader.position())).min(text.len());
        let raw = &text[start..end];
        // Blank lines before the row are no part of it.
        let start = start + (raw.len() - raw.trim_start_matches(['\r', '\n']).len());
        let raw = &text[start..end];
        let line = first_line + text[from..start].matches('\n').count();
        if broken(raw, &record, delimiter) {
            out.bad.push(Bad { place: format!("line {line}"), reason: "a quotation mark is not closed".to_owned() });
            let next = text[start..].find('\n').map_or(text.len(), |n| start + n + 1);
            return Ok((next, line + 1));
        }
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        if record.len() > MOST_COLUMNS && record.iter().skip(MOST_COLUMNS).any(|c| !c.trim().is_empty()) {
            return Err(FileError::TooManyColumns { line, columns: record.len() });
        }
        if out.rows.len() + out.bad.len() >= most {
            let lines = text.lines().filter(|l| !l.trim().is_empty()).count();
            return Err(FileError::TooManyLines { lines });
        }
        out.rows.push((line, record.iter().take(MOST_COLUMNS).map(str::to_owned).collect()));
    }
}

/// Whether a quote was left open: then the cell ran on over the rows behind it.
fn broken(raw: &str, record: &csv::StringRecord, delimiter: u8) -> bool {
    let odd = raw.matches('"').count() % 2 == 1;
    let long = record.iter().any(|cell| cell.len() > LONGEST_CELL);
    if !raw.trim_end().contains('\n') {
        // A single mark inside a cell ("5" rack) is only a sign.
        return odd && record.iter().any(|cell| cell.len() + 1 >= raw.trim_end().len() && raw.starts_with('"'));
    }
    if odd || long {
        return true;
    }
    // A cell that holds whole rows: two broken quotes closed one another.
    let columns = record.len().max(2) - 1;
    let d = char::from(delimiter);
    record.iter().any(|cell| cell.lines().skip(1).any(|l| l.matches(d).count() >= columns.max(2)))
}

/// The delimiter that takes the first lines apart most evenly.
fn delimiter(text: &str) -> u8 {
    let lines: Vec<&str> = text.lines().filter(|l| !l.trim().is_empty()).take(20).collect();
    let score = |d: u8| {
        let counts: Vec<usize> = lines.iter().map(|l| outside_quotes(l, d)).collect();
        let most = counts.iter().copied().max().unwrap_or(0);
        let usual = counts.iter().max_by_key(|n| counts.iter().filter(|m| m == n).count() * usize::from(**n > 0));
        let even = counts.iter().filter(|n| Some(*n) == usual && **n > 0).count();
        (even, most)
    };
    // The first of equals: a comma where nothing speaks for another.
    DELIMITERS.into_iter().rev().max_by_key(|d| score(*d)).unwrap_or(b',')
}

fn outside_quotes(line: &str, delimiter: u8) -> usize {
    let mut quoted = false;
    line.bytes()
        .filter(|b| {
            quoted ^= *b == b'"';
            *b == delimiter && !quoted
        })
        .count()
}

/// Signs with which a spreadsheet's formula may begin.
fn may_run(cell: &str) -> bool {
    cell.trim_start_matches('\'').starts_with(['=', '+', '-', '@', '\t', '\r'])
}

/// A cell that no spreadsheet runs: text that could be a formula gets an apostrophe, which says "text" there.
pub(super) fn harmless(cell: &str) -> String {
    if may_run(cell) { format!("'{cell}") } else { cell.to_owned() }
}

/// A cell as it was before [`harmless`].
pub(super) fn plain(cell: &str) -> &str {
    cell.strip_prefix('\'').filter(|rest| may_run(rest)).unwrap_or(cell)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn cells(text: &str) -> Vec<String> {
        table(text).expect("a table").rows.into_iter().map(|(line, row)| format!("{line}: {}", row.join("|"))).collect()
    }

    #[test]
    fn delimiters_are_found() {
        for text in [
            "name,sex\nJuno,f\n",
            "name;sex\nJuno;f\n",
            "name\tsex\r\nJuno\tf",
            "sep=;\nname;sex\nJuno;f",
            "name|sex\nJuno|f",
        ] {
            let rows: Vec<String> = table(text).expect("a table").rows.into_iter().map(|(_, r)| r.join("/")).collect();
            assert_eq!(rows, ["name/sex", "Juno/f"], "{text:?}");
        }
        assert_eq!(cells("name;genes\nJuno;pastel, het clown\nDuke;clown, pied\n")[1], "2: Juno|pastel, het clown");
    }

    #[test]
    fn rows_know_their_lines() {
        // RFC 4180, section 2: quoted cells hold delimiters, line breaks and doubled quotes.
        let text = "name,notes\n\n\"Juno\",\"shy, \"\"warm\"\" rats\nonly\"\nDuke,x\n";
        assert_eq!(cells(text), ["1: name|notes", "3: Juno|shy, \"warm\" rats\nonly", "5: Duke|x"]);
    }

    #[test]
    fn a_broken_quote_costs_its_own_line_only() {
        let text = "name,sex,genes\nAsh,f,clown\n\"Birch,f,pied\nCedar,m,pastel\nElm,m,\"clown\"\nFir,f,\"pied\nHazel,m,spider\n";
        let read = table(text).expect("a table");
        assert_eq!(
            cells(text),
            ["1: name|sex|genes", "2: Ash|f|clown", "4: Cedar|m|pastel", "5: Elm|m|clown", "7: Hazel|m|spider"]
        );
        assert_eq!(read.bad.iter().map(|b| b.place.as_str()).collect::<Vec<_>>(), ["line 3", "line 6"]);
        assert_eq!(cells("name,rack\nAsh,5\" tub\nBirch,4\n"), ["1: name|rack", "2: Ash|5\" tub", "3: Birch|4"]);
    }

    #[test]
    fn encodings_are_told_apart() {
        for (bytes, encoding) in [
            ("name\nGrün".as_bytes().to_vec(), None),
            ("\u{feff}name\nGrün".as_bytes().to_vec(), None),
            (b"name\nGr\xfcn".to_vec(), Some("Windows-1252")),
            (b"name\nGr\x9fn".to_vec(), Some("Macintosh")),
            ("name\nGrün".encode_utf16().flat_map(u16::to_le_bytes).collect(), Some("UTF-16")),
            ("name\nGrün".encode_utf16().flat_map(u16::to_be_bytes).collect(), Some("UTF-16")),
        ] {
            assert_eq!(decoded(&bytes), ("name\nGrün".to_owned(), encoding), "{bytes:x?}");
        }
    }

    #[test]
    fn formulas_go_out_harmless_and_come_back() {
        for cell in ["=SUM(A1)", "+1", "-5", "@x", "'=x", "''=x", "'quoted'", "Juno", "", "a=b", "\t=x"] {
            let out = harmless(cell);
            assert!(!out.starts_with(['=', '+', '-', '@', '\t', '\r']), "{out:?}");
            assert_eq!(plain(&out), cell);
        }
    }

    #[test]
    fn sizes_are_limited() {
        let many = "name,sex\n".to_owned() + &"Ash,f\n".repeat(MOST_LINES + 2);
        assert_eq!(table(&many), Err(FileError::TooManyLines { lines: MOST_LINES + 3 }));
        assert_eq!(table(&"x,".repeat(65).replace(',', ",y")), Err(FileError::TooManyColumns { line: 1, columns: 66 }));
    }
}
