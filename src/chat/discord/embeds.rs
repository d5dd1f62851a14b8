//! A [`Reply`] drawn for the platform: an embed that reads on a phone, or the same as plain text where embeds are not
//! allowed. No sentence is built here.
//!
//! In: a reply. Out: pages of lines within the limits. Every text is escaped: nothing that a member typed becomes
//! mark-up, a link, a mention or an open code fence.
//! Invariant: cautions come first; a line is never cut in a number; the pages hold every line.

use serde_json::{Value, json};

use super::limits;
use crate::reply::{Grid, Reply};

/// Colour of the bar beside an answer; it carries no meaning.
const PLAIN: u32 = 0x6B_8E_23;
/// Colour of the bar where a caution is said; the words say it too.
const CAREFUL: u32 = 0xC7_7D_0A;
/// Characters of one page: two phone screens, and far below the limit of a description.
const PAGE: usize = 1800;
/// Columns of text that a phone shows side by side.
const SQUARE_COLUMNS: usize = 45;
/// Rows of young on one page.
const PAGE_ROWS: usize = 10;

/// One line of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Line {
    text: String,
    /// A kind of young: these are counted for the page.
    row: bool,
}

/// An answer in pages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pages {
    pages: Vec<String>,
    careful: bool,
}

impl Pages {
    /// Draws a reply.
    #[must_use]
    pub fn of(reply: &Reply) -> Self {
        let mut lines: Vec<Line> = Vec::new();
        let mut say = |text: String| lines.extend(whole(&text).map(|text| Line { text, row: false }));
        for caution in &reply.cautions {
            say(format!("**Caution:** {}", escape(caution)));
        }
        if !reply.understood.is_empty() {
            say(format!("**{}**", escape(&reply.understood)));
        }
        for line in reply.answer.iter().flat_map(|l| l.lines()) {
            say(with_links(line, &reply.links));
        }
        if let Some(moment) = reply.moment {
            // The platform shows it by the reader's own clock.
            let at = moment.as_second();
            say(format!("<t:{at}:F> (<t:{at}:R>)"));
        }
        for (n, choice) in (1..).zip(&reply.choices) {
            say(format!("{n}. {}", escape(choice)));
        }
        if let Some(grid) = &reply.grid {
            say(square(grid));
        }
        for row in &reply.rows {
            let text = if row.is_heading() {
                format!("__{}__", escape(&row.kind))
            } else {
                let clutch = row.in_clutch.as_deref().map(|c| format!(" ({})", escape(c))).unwrap_or_default();
                format!("**{}** · {} · {}{clutch}", escape(&row.fraction), escape(&row.percent), escape(&row.kind))
            };
            lines.extend(whole(&text).map(|text| Line { text, row: !row.is_heading() }));
        }
        let mut say = |text: String| lines.extend(whole(&text).map(|text| Line { text, row: false }));
        if let Some(rest) = &reply.rest {
            say(escape(rest));
        }
        for note in reply.notes.iter().flat_map(|n| n.lines()) {
            say(format!("-# {}", escape(note)));
        }
        if !reply.assumed.is_empty() {
            say(format!("I took it that {}.", escape(&reply.assumed.join("; "))));
        }
        if !reply.unread.is_empty() {
            say(format!("Words I did not understand: {}.", escape(&reply.unread.join(", "))));
        }
        Self { pages: pages(&lines), careful: !reply.cautions.is_empty() }
    }

    /// How many pages there are, at least one.
    #[must_use]
    pub fn len(&self) -> usize {
        self.pages.len().max(1)
    }

    /// Whether nothing is said at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.pages.is_empty()
    }

    /// Page `n` (from 0; too high is the last) as mark-up.
    #[must_use]
    pub fn text(&self, n: usize) -> String {
        let text = self.pages.get(n.min(self.len() - 1)).cloned().unwrap_or_default();
        if self.len() > 1 { format!("{text}\n-# page {} of {}", n.min(self.len() - 1) + 1, self.len()) } else { text }
    }

    /// Page `n` as an embed.
    #[must_use]
    pub fn embed(&self, n: usize) -> Value {
        json!({
            "description": limits::clip(&self.text(n), limits::EMBED_DESCRIPTION),
            "color": if self.careful { CAREFUL } else { PLAIN },
        })
    }

    /// Page `n` as the content of a message.
    #[must_use]
    pub fn content(&self, n: usize) -> String {
        limits::clip(&self.text(n), limits::CONTENT)
    }
}

/// A square as text that lines up, or cell by cell where a phone has no room for that.
fn square(grid: &Grid) -> String {
    let clean = |text: &str| escape(text).replace('\\', "");
    let mut table: Vec<Vec<String>> =
        vec![std::iter::once(String::new()).chain(grid.top.iter().map(|t| clean(t))).collect()];
    for (side, cells) in &grid.lines {
        table.push(std::iter::once(clean(side)).chain(cells.iter().map(|c| clean(c))).collect());
    }
    let columns = table.iter().map(Vec::len).max().unwrap_or(0);
    let wide: Vec<usize> = (0..columns)
        .map(|c| {
            table.iter().filter_map(|line| line.get(c)).map(|t| unicode_width::UnicodeWidthStr::width(t.as_str())).max()
        })
        .map(Option::unwrap_or_default)
        .collect();
    if wide.iter().sum::<usize>() + 2 * columns <= SQUARE_COLUMNS {
        let line = |cells: &Vec<String>| {
            let padded = cells.iter().zip(&wide).map(|(text, wide)| {
                let gap = wide - unicode_width::UnicodeWidthStr::width(text.as_str()).min(*wide);
                format!("{text}{}", " ".repeat(gap))
            });
            padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
        };
        // A tick inside would open or close the fence.
        let body = table.iter().map(line).collect::<Vec<_>>().join("\n").replace('`', "'");
        return format!("```\n{body}\n```");
    }
    let cells = grid.lines.iter().flat_map(|(side, cells)| {
        let line = cells
            .iter()
            .zip(&grid.top)
            .map(move |(cell, top)| format!("{} + {}: {}", escape(side), escape(top), escape(cell)));
        line.collect::<Vec<_>>()
    });
    cells.collect::<Vec<_>>().join("\n")
}

/// The request that an answer of ours restates, read back from its own text: what is left of an answer whose record is
/// gone, or not written yet.
#[must_use]
pub fn request_in(text: &str) -> Option<String> {
    let bold = |line: &str| {
        let inside = line.strip_prefix("**")?.strip_suffix("**")?;
        inside.contains(" × ").then(|| unescape(inside))
    };
    text.lines().find_map(bold)
}

fn unescape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        out.push(if c == '\\' { chars.next().unwrap_or(c) } else { c });
    }
    out
}

/// A line, in pieces where it is longer than a page by itself; a fence is never parted.
fn whole(text: &str) -> impl Iterator<Item = String> + use<> {
    let mut pieces = Vec::new();
    if text.starts_with("```") {
        pieces.push(if limits::length(text) <= PAGE {
            text.to_owned()
        } else {
            limits::clip(&text.replace('`', ""), PAGE)
        });
    } else {
        let mut rest: Vec<char> = text.chars().collect();
        while rest.len() > PAGE {
            // At a blank, so that no word and no number is cut; a text without one is cut where it must.
            let end =
                rest[..PAGE].iter().rposition(|c| c.is_whitespace()).filter(|at| *at > PAGE / 2).unwrap_or(PAGE - 1);
            let end = if rest[end - 1] == '\\' { end - 1 } else { end };
            pieces.push(rest[..end].iter().collect::<String>());
            rest.drain(..end);
        }
        pieces.push(rest.into_iter().collect());
    }
    pieces.into_iter()
}

/// Lines to pages: a page ends before it grows too long or holds too many rows, never inside a line.
fn pages(lines: &[Line]) -> Vec<String> {
    let mut pages: Vec<String> = Vec::new();
    let (mut page, mut rows) = (String::new(), 0);
    for line in lines.iter().filter(|l| !l.text.trim().is_empty()) {
        let full = limits::length(&page) + limits::length(&line.text) + 1 > PAGE || line.row && rows == PAGE_ROWS;
        if full && !page.is_empty() {
            pages.push(std::mem::take(&mut page));
            rows = 0;
        }
        if !page.is_empty() {
            page.push('\n');
        }
        page.push_str(&line.text);
        rows += usize::from(line.row);
    }
    if !page.is_empty() {
        pages.push(page);
    }
    pages
}

/// An escaped line in which these addresses stay links.
fn with_links(line: &str, links: &[String]) -> String {
    if links.is_empty() {
        return escape(line);
    }
    // Nothing that ends a link, opens mark-up or hides in it.
    let plain = |c: char| c.is_ascii_alphanumeric() || "-._~:/?#&=%+,;".contains(c);
    let drawn = line.split(' ').map(|word| {
        let link = links.iter().find(|link| word.starts_with(link.as_str()) && link.starts_with("https://"));
        match link.filter(|link| link.chars().all(plain)) {
            Some(link) => format!("{link}{}", escape(&word[link.len()..])),
            None => escape(word),
        }
    });
    drawn.collect::<Vec<_>>().join(" ")
}

/// A text with everything taken out that would be more than its letters: mark-up, links, mentions, headings, direction
/// marks, piled-up accents.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    let mut marks = 0;
    let mut at_start = true;
    let mut chars = text.trim().chars().peekable();
    while let Some(c) = chars.next() {
        if unicode_normalization::char::is_combining_mark(c) {
            marks += 1;
            // Two accents on a letter are writing, more are a picture.
            if marks > 2 {
                continue;
            }
        } else {
            marks = 0;
        }
        match c {
            '\n' | '\r' | '\t' => out.push(' '),
            c if c.is_control() || invisible(c) => {}
            '\\' | '*' | '_' | '~' | '`' | '|' | '<' | '>' | '[' | ']' | '@' => {
                out.push('\\');
                out.push(c);
            }
            // A heading, a list or small print, where it opens the line.
            '#' | '-' | '+' if at_start => {
                out.push('\\');
                out.push(c);
            }
            // An address becomes no link.
            ':' if chars.peek() == Some(&'/') => out.push_str("\\:"),
            c => out.push(c),
        }
        at_start = at_start && c.is_whitespace();
    }
    out
}

/// Signs without a look of their own: direction marks, zero-width signs, fillers. The joiner of emoji stays out as well:
/// nothing of ours needs it.
fn invisible(c: char) -> bool {
    matches!(c,
        '\u{00AD}' | '\u{034F}' | '\u{061C}' | '\u{115F}' | '\u{1160}' | '\u{17B4}' | '\u{17B5}' | '\u{180B}'..='\u{180F}'
        | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{3164}' | '\u{FE00}'..='\u{FE0F}'
        | '\u{FEFF}' | '\u{FFA0}' | '\u{FFF0}'..='\u{FFFB}' | '\u{E0000}'..='\u{E0FFF}')
}
