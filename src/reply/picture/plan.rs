//! A project from phase to phase, downwards in time: pairings, who is kept, what is bought, the chance to be done.

use super::canvas::{Canvas, INNER, Ink, MARGIN, Side, Style, TEXT, WIDTH, measured};
use super::{Millionths, Picture, part, rounded};

/// The column of the seasons.
const GUTTER: f64 = 30.0;
/// Letters that are too few to say who is kept and with which odds.
const SHORT: usize = 60;
/// Seasons whose chance is shown.
const MOST_BARS: usize = 12;
/// Over what has to be bought.
const BUY: &str = "Bought to begin with";
/// Over what could be bought.
const FASTER: &str = "Faster with";

/// A project's phases.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// What the project is.
    pub title: String,
    /// What is bought before anything is paired.
    pub start: Vec<String>,
    /// Its phases in the order of their seasons.
    pub phases: Vec<Phase>,
    /// What could be bought, and what it saves.
    pub purchases: Vec<String>,
    /// The year of the first season, where it is known.
    pub first_year: Option<i16>,
    /// The chance to be done by each season.
    pub done: Vec<Millionths>,
}

/// One pairing, for as long as it goes on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phase {
    /// Its first season, from 1.
    pub from: u32,
    /// Its last.
    pub to: u32,
    /// Who is paired.
    pub pairing: String,
    /// Who is kept, or that it is the goal, with the odds.
    pub keep: Vec<String>,
}

pub(super) fn draw(data: &Plan, mut canvas: Canvas) -> Picture {
    canvas.paragraph(&data.title, Style::TITLE);
    canvas.space(8.0);
    let mut alt = vec![data.title.clone()];
    if !data.start.is_empty() {
        alt.push(bought(&mut canvas, &data.start));
    }
    let mut reached = 0;
    for (n, phase) in data.phases.iter().enumerate() {
        if n > 0 || !data.start.is_empty() {
            // Until young can breed, nothing is paired.
            let waits = if n > 0 { phase.from.saturating_sub(reached + 1) } else { 0 };
            let y = canvas.y;
            canvas.line(
                (MARGIN + 8.0, y),
                (MARGIN + 8.0, y + if waits > 0 { 26.0 } else { 10.0 }),
                Ink::Line,
                2.0,
                "2 4",
            );
            if waits > 0 {
                let text = format!("{} to grow", seasons(waits));
                canvas.text(MARGIN + GUTTER, y + 4.0, &text, Style::SMALL);
                alt.push(text);
            }
            canvas.space(if waits > 0 { 26.0 } else { 10.0 });
        }
        reached = reached.max(phase.to);
        alt.push(one(&mut canvas, phase, data.first_year, n + 1 == data.phases.len()));
    }
    if !data.purchases.is_empty() {
        canvas.space(12.0);
        canvas.paragraph(FASTER, Style::BOLD);
        alt.push(FASTER.to_owned());
    }
    for purchase in &data.purchases {
        canvas.space(4.0);
        canvas.diamond(MARGIN + 6.0, canvas.y + 8.0, 4.0, None, Ink::Text);
        canvas.y = canvas.lines(MARGIN + 20.0, canvas.y, INNER - 20.0, purchase, Style::TEXT);
        alt.push(purchase.clone());
    }
    if data.done.iter().any(|d| *d > 0) {
        alt.extend(chances(&mut canvas, data));
    }
    canvas.finish(&alt.join("\n"))
}

/// What has to be bought stands before the first season, with the sign of a purchase.
fn bought(canvas: &mut Canvas, start: &[String]) -> String {
    let top = canvas.y;
    let x = MARGIN + GUTTER;
    canvas.y = canvas.whole(x, top, INNER - GUTTER, BUY, Style::SMALL);
    for one in start {
        canvas.y = canvas.lines(x, canvas.y, INNER - GUTTER, one, Style::BOLD);
    }
    let middle = MARGIN + 8.0;
    canvas.line((middle, top + 16.0), (middle, canvas.y), Ink::Line, 2.0, "");
    canvas.diamond(middle, top + 8.0, 6.0, Some(Ink::Kind(0)), Ink::Text);
    format!("{BUY}: {}", start.join(", "))
}

fn seasons(n: u32) -> String {
    if n == 1 { "1 season".to_owned() } else { format!("{n} seasons") }
}

fn when(from: u32, to: u32, first_year: Option<i16>) -> String {
    let span = if from == to { format!("Season {from}") } else { format!("Seasons {from} to {to}") };
    let year = |season: u32| first_year.map(|y| i64::from(y) + i64::from(season) - 1);
    match (year(from), year(to)) {
        (Some(a), Some(b)) if a == b => format!("{span} ({a})"),
        (Some(a), Some(b)) => format!("{span} ({a} to {b})"),
        _ => span,
    }
}

fn one(canvas: &mut Canvas, phase: &Phase, first_year: Option<i16>, last: bool) -> String {
    let top = canvas.y;
    let x = MARGIN + GUTTER;
    let width = INNER - GUTTER;
    let span = when(phase.from, phase.to, first_year);
    canvas.y = canvas.whole(x, top, width, &span, Style::SMALL);
    for line in parents(&phase.pairing, canvas.most) {
        canvas.y = canvas.lines(x, canvas.y, width, &line, Style::BOLD);
    }
    // Where little can be said of each, one stands for all that are kept.
    let n_shown = if canvas.most < SHORT { 1 } else { phase.keep.len() };
    for keep in phase.keep.iter().take(n_shown) {
        canvas.y = canvas.lines(x, canvas.y, width, keep, Style::TEXT);
    }
    if let Some(more) = phase.keep.len().checked_sub(n_shown).filter(|more| *more > 0) {
        canvas.y = canvas.lines(x, canvas.y, width, &format!("and {more} more kept"), Style::SMALL);
    }
    let middle = MARGIN + 8.0;
    canvas.line((middle, top + 16.0), (middle, canvas.y), Ink::Line, 2.0, "");
    if last {
        canvas.egg(middle, top + 9.0, 15.0, Some(3));
    } else {
        canvas.disc(middle, top + 8.0, 6.0, Some(Ink::Kind(1)), Ink::Text);
    }
    format!("{span}: {}. {}", phase.pairing, phase.keep.join(" "))
}

/// The two parents, each on a line of its own where lines are cut: the second must not be lost.
fn parents(pairing: &str, most: usize) -> Vec<String> {
    match pairing.split_once(" × ") {
        Some((sire, dam)) if most < usize::MAX => vec![sire.to_owned(), format!("× {dam}")],
        _ => vec![pairing.to_owned()],
    }
}

fn chances(canvas: &mut Canvas, data: &Plan) -> Vec<String> {
    canvas.space(12.0);
    canvas.paragraph("Chance to be done by the end of", Style::BOLD);
    canvas.space(2.0);
    let names: Vec<String> =
        (1u32..).zip(&data.done).map(|(season, _)| when(season, season, data.first_year)).collect();
    // A long project counts into three figures.
    let label = names.iter().map(|name| measured(name, Style::TEXT)).fold(0.0, f64::max) + 10.0;
    let figure = 84.0;
    let mut alt = vec!["Chance to be done by the end of".to_owned()];
    let told: Vec<(String, Millionths)> =
        names.into_iter().zip(data.done.iter().copied()).filter(|told| told.1 >= 1_000).collect();
    let n = told.iter().position(|told| told.1 >= 990_000).map_or(told.len(), |sure| sure + 1);
    // Of many seasons every second, or third, says as much; always the last.
    let every = n.div_ceil(MOST_BARS).max(1);
    for (_, (name, chance)) in told.into_iter().take(n).enumerate().filter(|(at, _)| (n - 1 - at) % every == 0) {
        let y = canvas.y;
        canvas.text(MARGIN, y, &name, Style::TEXT);
        let length = part(chance, WIDTH - 2.0 * MARGIN - label - figure);
        canvas.rect(MARGIN + label, y + 2.0, length.max(1.5), TEXT, Ink::Kind(1));
        let rounded = rounded(chance);
        canvas.text(WIDTH - MARGIN, y, &rounded, Style::TEXT.to(Side::Left));
        canvas.y += 19.0;
        alt.push(format!("{name}: {rounded}"));
    }
    alt
}
