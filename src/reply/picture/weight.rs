//! A female's weight over a year, with what happened to her.

use super::Picture;
use super::canvas::{Canvas, INNER, Ink, MARGIN, SMALL, Side, Style};

/// Room at the left for grams.
const LEFT: f64 = 52.0;
/// The height of the field.
const HEIGHT: f64 = 190.0;
const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
/// Events that are listed.
const MOST_MARKS: usize = 12;

/// Weights and events.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weight {
    /// Whom it is about.
    pub title: String,
    /// The month in which it begins, from 1.
    pub first_month: u8,
    /// The day of that month on which it begins, from 1.
    pub first_day: u8,
    /// Days that are shown.
    pub days: u32,
    /// The weights, in order.
    pub weighings: Vec<Weighing>,
    /// What happened.
    pub marks: Vec<Mark>,
    /// The least weight to breed at, in grams.
    pub breeds_at: Option<u32>,
    /// What the shaded days are, and from which to which they go.
    pub shaded: Option<(String, Vec<(u32, u32)>)>,
}

/// A weight.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weighing {
    /// Days from the beginning.
    pub day: u32,
    /// In grams.
    pub grams: u32,
    /// The day in words.
    pub on: String,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Days from the beginning.
    pub day: u32,
    /// What, with its date.
    pub what: String,
}

pub(super) fn draw(data: &Weight, mut canvas: Canvas) -> Picture {
    canvas.paragraph(&data.title, Style::TITLE);
    canvas.space(10.0);
    let top = canvas.y;
    let grams = data.weighings.iter().map(|w| w.grams).chain(data.breeds_at);
    let (low, high) = (grams.clone().min().unwrap_or(0), grams.max().unwrap_or(1));
    let step = nice((high - low).max(high / 10).max(4) / 4);
    let (low, high) = (low / step * step, (high / step + 1) * step);
    let (x0, width) = (MARGIN + LEFT, INNER - LEFT - 6.0);
    let days = data.days.max(1);
    let x = |day: u32| x0 + width * f64::from(day.min(days)) / f64::from(days);
    let y = |grams: u32| top + HEIGHT * (1.0 - f64::from(grams.saturating_sub(low)) / f64::from((high - low).max(1)));
    for (from, to) in data.shaded.iter().flat_map(|shaded| &shaded.1) {
        canvas.rect(x(*from), top, (x(*to) - x(*from)).max(1.0), HEIGHT, Ink::Field);
    }
    for line in (0..).map(|k| low + k * step).take_while(|g| *g <= high) {
        canvas.line((x0, y(line)), (x0 + width, y(line)), Ink::Line, 0.7, "1 3");
        canvas.text(x0 - 6.0, y(line) - SMALL * 0.6, &format!("{line} g"), Style::SMALL.to(Side::Left));
    }
    let months = days.div_ceil(30).clamp(1, 24);
    let every = months.div_ceil(9);
    // A month's name stands where it begins; the one that is cut at the start has none.
    for month in (1..months).filter(|m| m % every == 0) {
        let name = MONTHS[(usize::from(data.first_month.clamp(1, 12)) - 1 + month as usize) % 12];
        let begins = (month * 365 / 12).saturating_sub(u32::from(data.first_day.max(1)) - 1);
        canvas.text(x(begins), top + HEIGHT + 5.0, name, Style::SMALL);
    }
    if let Some(at) = data.breeds_at {
        canvas.line((x0, y(at)), (x0 + width, y(at)), Ink::Stroke(0), 1.5, "6 4");
    }
    let points: Vec<(f64, f64)> = data.weighings.iter().map(|w| (x(w.day), y(w.grams))).collect();
    canvas.curve(&points, Ink::Stroke(1), 2.5, "");
    for point in &points {
        canvas.disc(point.0, point.1, 3.5, Some(Ink::Kind(1)), Ink::Text);
    }
    let mut alt = vec![data.title.clone()];
    alt.extend(data.weighings.iter().map(|w| format!("{}: {} g", w.on, w.grams)));
    for mark in data.marks.iter().take(MOST_MARKS) {
        canvas.line((x(mark.day), top), (x(mark.day), top + HEIGHT), Ink::Stroke(4), 1.0, "2 2");
        canvas.diamond(x(mark.day), top + HEIGHT, 4.0, Some(Ink::Kind(4)), Ink::Text);
    }
    canvas.y = top + HEIGHT + 26.0;
    if let Some(at) = data.breeds_at {
        let text = format!("Broken line: {at} g, the least that common practice breeds at");
        canvas.paragraph(&text, Style::SMALL);
        alt.push(text);
    }
    if let Some((what, _)) = &data.shaded {
        let text = format!("Shaded: {what}");
        canvas.paragraph(&text, Style::SMALL);
        alt.push(text);
    }
    for mark in data.marks.iter().take(MOST_MARKS) {
        let line = canvas.y;
        canvas.diamond(MARGIN + 6.0, line + 8.0, 4.0, Some(Ink::Kind(4)), Ink::Text);
        canvas.y = canvas.lines(MARGIN + 20.0, line, INNER - 20.0, &mark.what, Style::TEXT) + 2.0;
        alt.push(mark.what.clone());
    }
    canvas.finish(&alt.join("\n"))
}

/// The next round number of grams.
fn nice(step: u32) -> u32 {
    let mut ten = 1;
    while ten * 10 <= step.max(1) {
        ten *= 10;
    }
    [1, 2, 5, 10].into_iter().map(|n| n * ten).find(|n| *n >= step).unwrap_or(ten * 10).max(1)
}
