//! The chance to be done, season by season, of plans side by side: each with a line and a sign of its own.

use super::canvas::{Canvas, INNER, Ink, MARGIN, SMALL, Side, Style, WIDTH};
use super::{Millionths, Picture, Theme, part, percent, whole};

/// Room at the left for percents.
const LEFT: f64 = 40.0;
/// The height of the field.
const HEIGHT: f64 = 210.0;
/// How the lines are broken.
const DASHES: [&str; 4] = ["", "8 4", "2 4", "10 4 2 4"];
/// Lines in one picture.
const MOST_LINES: usize = 8;

/// Plans side by side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Curves {
    /// What is compared.
    pub title: String,
    /// The year of the first season, where it is known.
    pub first_year: Option<i16>,
    /// The plans.
    pub plans: Vec<Curve>,
}

/// One plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Curve {
    /// What is done.
    pub name: String,
    /// The chance to be done by each season.
    pub done: Vec<Millionths>,
}

pub(super) fn draw(data: &Curves, theme: Theme) -> Picture {
    let mut canvas = Canvas::new(theme);
    canvas.paragraph(&data.title, Style::TITLE);
    canvas.paragraph("Chance to be done by the end of each season", Style::SMALL);
    canvas.space(10.0);
    let top = canvas.y;
    let n = data.plans.iter().map(|p| p.done.len()).max().unwrap_or(1).max(1);
    let (x0, width) = (MARGIN + LEFT, INNER - LEFT - 10.0);
    let step = width / count(n);
    for quarter in 0..=4u32 {
        let y = top + HEIGHT * (1.0 - f64::from(quarter) / 4.0);
        canvas.line((x0, y), (x0 + width, y), Ink::Line, 0.7, if quarter == 0 { "" } else { "1 3" });
        canvas.text(x0 - 6.0, y - SMALL * 0.6, &format!("{} %", quarter * 25), Style::SMALL.to(Side::Left));
    }
    // As many names as there is room for.
    let every = (n * 34).div_ceil(330).max(1);
    for season in (0..n).filter(|s| s % every == 0) {
        let name = match data.first_year {
            Some(year) => (i64::from(year) + i64::try_from(season).unwrap_or(0)).to_string(),
            None => (season + 1).to_string(),
        };
        canvas.text(x0 + step * (count(season) + 1.0), top + HEIGHT + 5.0, &name, Style::SMALL.to(Side::Middle));
    }
    let mut alt = vec![data.title.clone()];
    for (k, plan) in data.plans.iter().take(MOST_LINES).enumerate() {
        let mut points = vec![(x0, top + HEIGHT)];
        for (season, share) in plan.done.iter().enumerate() {
            points.push((x0 + step * (count(season) + 1.0), top + HEIGHT - part(*share, HEIGHT)));
        }
        canvas.curve(&points, Ink::Kind(k), 2.5, DASHES[k % DASHES.len()]);
        for point in points.iter().skip(1) {
            sign(&mut canvas, k, *point);
        }
    }
    canvas.y = top + HEIGHT + 28.0;
    for (k, plan) in data.plans.iter().take(MOST_LINES).enumerate() {
        let y = canvas.y;
        canvas.line((MARGIN, y + 9.0), (MARGIN + 30.0, y + 9.0), Ink::Kind(k), 2.5, DASHES[k % DASHES.len()]);
        sign(&mut canvas, k, (MARGIN + 15.0, y + 9.0));
        let half = plan.done.iter().position(|d| *d >= 500_000);
        let end = plan.done.last().copied().unwrap_or(0);
        let told = match half {
            Some(s) => format!("{}: half are done by season {}", plan.name, s + 1),
            None => format!("{}: {} by season {n}", plan.name, percent(end / 10_000 * 10_000)),
        };
        canvas.y = canvas.lines(MARGIN + 38.0, y, WIDTH - 2.0 * MARGIN - 38.0, &told, Style::TEXT) + 3.0;
        let all: Vec<String> = plan.done.iter().map(|d| percent(whole(*d))).collect();
        alt.push(format!("{told} ({})", all.join(", ")));
    }
    canvas.finish(&alt.join("\n"))
}

fn sign(canvas: &mut Canvas, k: usize, (x, y): (f64, f64)) {
    match k % 4 {
        0 => canvas.disc(x, y, 3.5, Some(Ink::Kind(k)), Ink::Text),
        1 => canvas.diamond(x, y, 3.5, Some(Ink::Kind(k)), Ink::Text),
        2 => canvas.disc(x, y, 3.5, Some(Ink::Ground), Ink::Kind(k)),
        _ => canvas.diamond(x, y, 3.5, Some(Ink::Ground), Ink::Kind(k)),
    }
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}
