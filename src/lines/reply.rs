//! `ask --json` and `chat --json`: a reply as one JSON object.
//!
//! `format` is `"hatchward-reply"`, `version` is 1. The version is raised when a key changes its meaning or goes; new keys
//! may come without that. Every key is always there:
//! - `kind`: `"answer"`, `"question"` (something has to be asked back: see `choices`), `"refusal"` or `"silence"`;
//! - `cautions`, `answer`, `choices`, `notes`, `assumed`, `unread`: lists of sentences or words, in the order of reading;
//! - `understood`: the pairing in one line, or empty; `rest`: what is said of kinds that are not shown, or null;
//! - `rows`: `{"fraction","percent","kind","in_clutch"}`, the last null without a clutch; a heading has an empty fraction;
//! - `grid`: null, or `{"top":[…],"lines":[{"side":…,"cells":[…]}]}`;
//! - `moment`: null, or the moment that the answer names, in UTC (RFC 3339);
//! - `offer`: null, or how a reminder of what is told is set, as a sentence;
//! - `text`: all of it as plain text.

use serde::Serialize;

use super::parts::to_line;
use crate::reply::Reply;

/// The version of the object.
pub const VERSION: u32 = 1;

#[derive(Serialize)]
struct Object<'a> {
    format: &'static str,
    version: u32,
    kind: &'static str,
    cautions: &'a [String],
    understood: &'a str,
    answer: &'a [String],
    choices: &'a [String],
    grid: Option<Grid<'a>>,
    rows: Vec<Row<'a>>,
    rest: Option<&'a str>,
    notes: &'a [String],
    assumed: &'a [String],
    unread: &'a [String],
    moment: Option<String>,
    offer: Option<&'a str>,
    text: String,
}

#[derive(Serialize)]
struct Grid<'a> {
    top: &'a [String],
    lines: Vec<Line<'a>>,
}

#[derive(Serialize)]
struct Line<'a> {
    side: &'a str,
    cells: &'a [String],
}

#[derive(Serialize)]
struct Row<'a> {
    fraction: &'a str,
    percent: &'a str,
    kind: &'a str,
    in_clutch: Option<&'a str>,
}

/// The object of a reply, or of silence, on one line.
#[must_use]
pub fn object(reply: Option<&Reply>) -> String {
    let silence = Reply::default();
    let kind = reply.map_or("silence", |r| r.kind.id());
    let reply = reply.unwrap_or(&silence);
    let rows = reply.rows.iter().map(|r| Row {
        fraction: &r.fraction,
        percent: &r.percent,
        kind: &r.kind,
        in_clutch: r.in_clutch.as_deref(),
    });
    let grid = reply.grid.as_ref().map(|grid| Grid {
        top: &grid.top,
        lines: grid.lines.iter().map(|(side, cells)| Line { side, cells }).collect(),
    });
    to_line(&Object {
        format: "hatchward-reply",
        version: VERSION,
        kind,
        cautions: &reply.cautions,
        understood: &reply.understood,
        answer: &reply.answer,
        choices: &reply.choices,
        grid,
        rows: rows.collect(),
        rest: reply.rest.as_deref(),
        notes: &reply.notes,
        assumed: &reply.assumed,
        unread: &reply.unread,
        moment: reply.moment.map(|at| at.to_string()),
        offer: reply.offer.as_ref().map(|offer| offer.says.as_str()),
        text: reply.text(),
    })
}
