//! A reply as text: one thing a line, plain, or wrapped and coloured for a terminal.

use std::fmt::Write as _;

use anstyle::{AnsiColor, Style};
use unicode_width::UnicodeWidthStr as _;

use super::{Grid, Reply, Row};

/// How text is laid out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Page {
    /// Columns of the terminal; `None` leaves lines as long as they are.
    pub width: Option<usize>,
    /// Whether colour and weight may be used. Nothing is said by them alone.
    pub colour: bool,
}

/// Narrower than this nothing can be laid out.
const NARROWEST: usize = 20;
/// Weights and the one colour that can be read on dark and on light alike.
const BOLD: Style = Style::new().bold();
const ALARM: Style = AnsiColor::Red.on_default().bold();
const PLAIN: Style = Style::new();

impl Reply {
    /// The reply as text, without a line end at the end.
    #[must_use]
    pub fn draw(&self, page: Page) -> String {
        let mut out = Out { page, text: String::new() };
        for caution in &self.cautions {
            out.line("", &[(ALARM, "Caution:"), (PLAIN, &format!(" {caution}"))]);
        }
        if !self.understood.is_empty() {
            out.line("  ", &[(BOLD, &self.understood)]);
        }
        for line in &self.answer {
            let indent = if line.starts_with("  ") { "    " } else { "" };
            out.line(indent, &[(PLAIN, line)]);
        }
        for (n, choice) in (1..).zip(&self.choices) {
            out.line("     ", &[(BOLD, &format!("  {n}.")), (PLAIN, &format!(" {choice}"))]);
        }
        if let Some(grid) = &self.grid {
            out.grid(grid);
        }
        out.rows(&self.rows);
        if let Some(rest) = &self.rest {
            out.line("  ", &[(PLAIN, &format!("  {rest}"))]);
        }
        for note in self.offer.iter().map(|offer| &offer.says).chain(&self.notes) {
            out.line("", &[(PLAIN, note)]);
        }
        if !self.assumed.is_empty() {
            out.line("", &[(PLAIN, &format!("I took it that {}.", self.assumed.join("; ")))]);
        }
        if !self.unread.is_empty() {
            out.line("", &[(PLAIN, &format!("Words I did not understand: {}.", self.unread.join(", ")))]);
        }
        out.text.truncate(out.text.trim_end().len());
        out.text
    }
}

struct Out {
    page: Page,
    text: String,
}

impl Out {
    /// One thing, in pieces with a style each; wrapped lines begin with `indent`.
    fn line(&mut self, indent: &str, pieces: &[(Style, &str)]) {
        let whole: String = pieces.iter().map(|(_, text)| *text).collect();
        let wrapped = match self.page.width {
            Some(width) => {
                let options = textwrap::Options::new(width.max(NARROWEST))
                    .subsequent_indent(indent)
                    .word_splitter(textwrap::WordSplitter::NoHyphenation);
                textwrap::wrap(&whole, options).join("\n")
            }
            None => whole,
        };
        if self.page.colour {
            self.paint(&wrapped, pieces);
        } else {
            self.text.push_str(&wrapped);
        }
        self.text.push('\n');
    }

    /// Puts the styles of the pieces on text that may have been wrapped: only the blanks differ.
    fn paint(&mut self, wrapped: &str, pieces: &[(Style, &str)]) {
        let mut rest = wrapped;
        for (n, (style, piece)) in pieces.iter().enumerate() {
            let signs = piece.chars().filter(|c| !c.is_whitespace()).count();
            let end = if n + 1 == pieces.len() {
                rest.len()
            } else {
                let mut seen = 0;
                rest.char_indices()
                    .find(|(_, c)| {
                        seen += usize::from(!c.is_whitespace());
                        seen > signs || seen == signs && c.is_whitespace()
                    })
                    .map_or(rest.len(), |(i, _)| i)
            };
            let (here, after) = rest.split_at(end);
            let blank = here.len() - here.trim_start().len();
            let _ = write!(self.text, "{}{style}{}{style:#}", &here[..blank], &here[blank..]);
            rest = after;
        }
    }

    fn rows(&mut self, rows: &[Row]) {
        let wide = |of: fn(&Row) -> &str| rows.iter().map(|r| of(r).width()).max().unwrap_or(0);
        let (fraction, percent) = (wide(|r| &r.fraction), wide(|r| &r.percent));
        let indent = " ".repeat(2 + fraction + 2 + percent + 2);
        for row in rows {
            if row.is_heading() {
                self.line("  ", &[(PLAIN, &format!("  {}", row.kind))]);
                continue;
            }
            let clutch = row.in_clutch.as_ref().map_or_else(String::new, |c| format!(" ({c})"));
            self.line(
                &indent,
                &[
                    (BOLD, &format!("  {}", right(&row.fraction, fraction))),
                    (PLAIN, &format!("  {}  {}{clutch}", right(&row.percent, percent), row.kind)),
                ],
            );
        }
    }

    fn grid(&mut self, grid: &Grid) {
        let side = grid.lines.iter().map(|(side, _)| side.width()).max().unwrap_or(0);
        let columns: Vec<usize> = (0..grid.top.len())
            .map(|k| {
                let cells = grid.lines.iter().filter_map(|(_, cells)| cells.get(k));
                cells.chain(grid.top.get(k)).map(|cell| cell.width()).max().unwrap_or(0)
            })
            .collect();
        let line = |cells: &[String]| -> String {
            cells.iter().zip(&columns).flat_map(|(cell, wide)| ["  ".to_owned(), left(cell, *wide)]).collect()
        };
        self.grid_line(&format!("  {}", " ".repeat(side)), &line(&grid.top));
        for (name, cells) in &grid.lines {
            self.grid_line(&format!("  {}", left(name, side)), &line(cells));
        }
    }

    /// A line of a grid is never wrapped: its columns are its meaning.
    fn grid_line(&mut self, side: &str, cells: &str) {
        let page = self.page.width.take();
        self.line("", &[(BOLD, side), (PLAIN, cells.trim_end())]);
        self.page.width = page;
    }
}

fn right(text: &str, wide: usize) -> String {
    format!("{}{text}", " ".repeat(wide.saturating_sub(text.width())))
}

fn left(text: &str, wide: usize) -> String {
    format!("{text}{}", " ".repeat(wide.saturating_sub(text.width())))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reply() -> Reply {
        Reply {
            cautions: vec!["Spider: wobble (published).".into()],
            understood: "Ball python: Spider × Clown".into(),
            rows: vec![
                Row {
                    fraction: "1/2".into(),
                    percent: "50 %".into(),
                    kind: "虎斑, het Clown, het Piebald".into(),
                    in_clutch: None,
                },
                Row { fraction: "19/40".into(), percent: "47.5 %".into(), kind: "Clown".into(), in_clutch: None },
            ],
            ..Reply::default()
        }
    }

    #[test]
    fn rows_are_aligned_and_wrapped_under_their_kind() {
        let drawn = reply().draw(Page { width: Some(34), colour: false });
        let expected = "Caution: Spider: wobble\n(published).\nBall python: Spider × Clown\n    1/2    50 %  虎斑, het Clown,\n                 het Piebald\n  19/40  47.5 %  Clown";
        assert_eq!(drawn, expected);
        assert!(drawn.lines().all(|line| line.width() <= 34));
    }

    #[test]
    fn colour_changes_no_word() {
        for width in [None, Some(24), Some(80)] {
            let coloured = reply().draw(Page { width, colour: true });
            assert_ne!(coloured, reply().draw(Page { width, colour: false }));
            assert_eq!(
                anstream::adapter::strip_str(&coloured).to_string(),
                reply().draw(Page { width, colour: false })
            );
        }
    }
}
