//! The chance to be done, season by season, of plans side by side: each with a line and a sign of its own.

use super::canvas::{Canvas, INNER, Ink, MARGIN, SMALL, Side, Style, WIDTH};
use super::{Millionths, Picture, part, rounded, whole};

/// Room at the left for percents.
const LEFT: f64 = 40.0;
/// Room at the right for the names of the lines at their ends.
const RIGHT: f64 = 84.0;
/// From one name at an end to the next.
const APART: f64 = 15.0;
/// The height of the field.
const HEIGHT: f64 = 210.0;
/// How the lines are broken.
const DASHES: [&str; 4] = ["", "8 4", "2 4", "10 4 2 4"];
/// What the lines are.
const HEAD: &str = "Chance to be done by the end of each season";
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

pub(super) fn draw(data: &Curves, mut canvas: Canvas) -> Picture {
    canvas.paragraph(&data.title, Style::TITLE);
    canvas.paragraph(HEAD, Style::SMALL);
    canvas.space(10.0);
    let top = canvas.y;
    let n = data.plans.iter().map(|p| p.done.len()).max().unwrap_or(1).max(1);
    let (x0, width) = (MARGIN + LEFT, INNER - LEFT - RIGHT);
    let step = width / count(n);
    for quarter in 0..=4u32 {
        let y = top + HEIGHT * (1.0 - f64::from(quarter) / 4.0);
        canvas.line((x0, y), (x0 + width, y), Ink::Line, 0.7, if quarter == 0 { "" } else { "1 3" });
        canvas.text(x0 - 6.0, y - SMALL * 0.6, &format!("{} %", quarter * 25), Style::SMALL.to(Side::Left));
    }
    // As many names as there is room for.
    let every = (n * 34).div_ceil(260).max(1);
    for season in (0..n).filter(|s| s % every == 0) {
        let name = match data.first_year {
            Some(year) => (i64::from(year) + i64::try_from(season).unwrap_or(0)).to_string(),
            None => (season + 1).to_string(),
        };
        canvas.text(x0 + step * (count(season) + 1.0), top + HEIGHT + 5.0, &name, Style::SMALL.to(Side::Middle));
    }
    let lines = merged(&data.plans);
    let mut ends = Vec::new();
    for (k, line) in lines.iter().enumerate() {
        let mut points = vec![(x0, top + HEIGHT)];
        for (season, share) in line.done.iter().enumerate() {
            points.push((x0 + step * (count(season) + 1.0), top + HEIGHT - part(*share, HEIGHT)));
        }
        let told = points.len();
        // Who is done stays done: a plan that is told for fewer seasons goes on level.
        if let Some(last) = points.last().copied().filter(|_| told <= n) {
            points.push((x0 + width, last.1));
        }
        canvas.curve(&points, Ink::Stroke(k), 2.5, DASHES[k % DASHES.len()]);
        for point in points.iter().take(told).skip(1) {
            sign(&mut canvas, k, *point);
        }
        ends.extend(points.last().copied());
    }
    name_ends(&mut canvas, &lines, &ends, (x0 + width + 14.0, top));
    canvas.y = top + HEIGHT + 28.0;
    let mut alt = vec![data.title.clone(), HEAD.to_owned()];
    for (k, line) in lines.iter().enumerate() {
        let y = canvas.y;
        canvas.line((MARGIN, y + 9.0), (MARGIN + 30.0, y + 9.0), Ink::Stroke(k), 2.5, DASHES[k % DASHES.len()]);
        sign(&mut canvas, k, (MARGIN + 15.0, y + 9.0));
        let told = format!("{} {}: {}", letter(k), line.names.join("; "), halfway(line.done, data.first_year));
        canvas.y = canvas.lines(MARGIN + 38.0, y, WIDTH - 2.0 * MARGIN - 38.0, &told, Style::TEXT) + 3.0;
        let all: Vec<String> = line.done.iter().map(|d| rounded(*d)).collect();
        alt.push(format!("{told} ({})", all.join(", ")));
    }
    let hidden = data.plans.len().saturating_sub(lines.iter().map(|line| line.names.len()).sum());
    if hidden > 0 {
        let text = format!("and {hidden} more plans that are not drawn");
        canvas.paragraph(&text, Style::SMALL);
        alt.push(text);
    }
    canvas.finish(&alt.join("\n"))
}

/// Plans with the same chances, as one line.
struct Line<'a> {
    names: Vec<&'a str>,
    done: &'a [Millionths],
}

/// The plans to be drawn; what would lie on another line stands beside its name.
fn merged(plans: &[Curve]) -> Vec<Line<'_>> {
    let mut lines: Vec<Line<'_>> = Vec::new();
    // To the whole percent that is told, no difference is seen.
    let same_line = |done: &[Millionths]| done.iter().map(|d| whole(*d)).collect::<Vec<_>>();
    for plan in plans {
        let same = lines.iter().position(|line| same_line(line.done) == same_line(&plan.done));
        match same {
            Some(at) => lines[at].names.push(&plan.name),
            None if lines.len() < MOST_LINES => lines.push(Line { names: vec![&plan.name], done: &plan.done }),
            None => {}
        }
    }
    lines
}

/// The letter and the chance at the end of each line, beside the field and apart from each other.
fn name_ends(canvas: &mut Canvas, lines: &[Line<'_>], ends: &[(f64, f64)], (x, top): (f64, f64)) {
    let mut order: Vec<usize> = (0..ends.len()).collect();
    order.sort_by(|a, b| ends[*a].1.total_cmp(&ends[*b].1).then(a.cmp(b)));
    let mut at: Vec<f64> = order.iter().map(|k| ends[*k].1 - SMALL * 0.6).collect();
    for k in 1..at.len() {
        at[k] = at[k].max(at[k - 1] + APART);
    }
    // Those that would run out below move up again.
    let mut most = top + HEIGHT - SMALL;
    for y in at.iter_mut().rev() {
        *y = y.min(most);
        most = *y - APART;
    }
    for (k, y) in order.into_iter().zip(at) {
        let chance = lines[k].done.last().copied().unwrap_or(0);
        let style = Style { ink: Ink::Text, ..Style::SMALL };
        canvas.line((ends[k].0 + 5.0, ends[k].1), (x - 2.0, y + SMALL * 0.6), Ink::Line, 0.7, "");
        canvas.text(x, y, &format!("{} {}", letter(k), rounded(chance)), style);
    }
}

fn letter(k: usize) -> char {
    char::from(b'A' + u8::try_from(k % 26).unwrap_or(0))
}

/// By when half of such projects are done, or how far they are at the end.
fn halfway(done: &[Millionths], first_year: Option<i16>) -> String {
    let when = |season: usize| match first_year {
        Some(year) => format!("{} (season {season})", i64::from(year) + i64::try_from(season).unwrap_or(0) - 1),
        None => format!("season {season}"),
    };
    match done.iter().position(|d| *d >= 500_000) {
        Some(season) => format!("half are done by {}", when(season + 1)),
        None => format!("{} by {}", rounded(done.last().copied().unwrap_or(0)), when(done.len())),
    }
}

fn sign(canvas: &mut Canvas, k: usize, (x, y): (f64, f64)) {
    match k % 4 {
        0 => canvas.disc(x, y, 3.5, Some(Ink::Kind(k)), Ink::Text),
        1 => canvas.diamond(x, y, 3.5, Some(Ink::Kind(k)), Ink::Text),
        2 => canvas.disc(x, y, 3.5, Some(Ink::Ground), Ink::Stroke(k)),
        _ => canvas.diamond(x, y, 3.5, Some(Ink::Ground), Ink::Stroke(k)),
    }
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}
