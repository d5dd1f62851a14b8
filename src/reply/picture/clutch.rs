//! The odds of a pairing as eggs: what an average clutch holds, and how far luck spreads around it.

use super::canvas::{Canvas, INNER, Ink, MARGIN, MARKS, Side, Style, TEXT, WIDTH, mark_of, wrapped};
use super::{Millionths, Picture, percent};

/// Eggs that are drawn; of larger clutches that many stand for all.
const MOST_EGGS: u32 = 80;
/// Kinds that are listed; the rest is counted.
const MOST_KINDS: usize = MARKS;
/// Bars of the spread; what is rarer at its upper end stands together.
const MOST_BARS: usize = 10;
/// The widest egg.
const EGG: f64 = 34.0;

/// The odds as eggs of a clutch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clutch {
    /// The pairing as it was understood.
    pub title: String,
    /// Young of the clutch.
    pub eggs: u32,
    /// The number of young was said, not taken from what is usual.
    pub stated: bool,
    /// What one young is called: "egg", "young".
    pub unit: String,
    /// The kinds of young, the likeliest first.
    pub kinds: Vec<KindOfYoung>,
    /// What is said of the kinds that are not listed.
    pub rest: Option<String>,
    /// The spread of the kind that was asked for, or of the first.
    pub luck: Option<Luck>,
}

/// A kind of young.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KindOfYoung {
    /// Its look and what it carries.
    pub name: String,
    /// "1/4".
    pub fraction: String,
    /// Its share per egg.
    pub share: Millionths,
}

/// How many of a kind a clutch has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Luck {
    /// The kind.
    pub name: String,
    /// The chance of none, one, two, …
    pub chances: Vec<Millionths>,
}

pub(super) fn draw(data: &Clutch, mut canvas: Canvas) -> Picture {
    canvas.paragraph(&data.title, Style::TITLE);
    canvas.space(4.0);
    let units = if data.eggs == 1 { data.unit.clone() } else { plural(&data.unit) };
    let head = if data.stated {
        format!("An average clutch of {} {units}", data.eggs)
    } else {
        format!("An average clutch, taken as {} {units}", data.eggs)
    };
    canvas.paragraph(&head, Style::SMALL);
    canvas.space(8.0);
    let drawn = data.eggs.clamp(1, MOST_EGGS);
    eggs(&mut canvas, &average(&data.kinds, drawn));
    canvas.space(8.0);
    let mut alt = vec![data.title.clone(), format!("{head}:")];
    for (n, kind) in data.kinds.iter().take(MOST_KINDS).enumerate() {
        row(&mut canvas, n, kind);
        alt.push(format!("{}: {} ({})", kind.name, kind.fraction, percent(kind.share)));
    }
    let hidden = data.kinds.len().saturating_sub(MOST_KINDS);
    let left: Millionths = data.kinds.iter().skip(MOST_KINDS).map(|k| k.share).sum();
    let rest = (hidden > 0).then(|| format!("and {hidden} rarer kinds, together {}", percent(left)));
    if let Some(line) = &rest {
        canvas.egg(MARGIN + 8.0, canvas.y + 9.0, 13.0, None);
        canvas.y = canvas.lines(MARGIN + 26.0, canvas.y + 1.0, INNER - 26.0, line, Style::SMALL) + 5.0;
        alt.push(line.clone());
    }
    if let Some(line) = &data.rest {
        canvas.paragraph(line, Style::SMALL);
        alt.push(line.clone());
    }
    if let Some(luck) = &data.luck {
        alt.extend(spread(&mut canvas, luck, data, &units));
    }
    canvas.finish(&alt.join("\n"))
}

fn plural(unit: &str) -> String {
    if unit == "egg" { "eggs".to_owned() } else { unit.to_owned() }
}

/// How many eggs of each kind an average clutch has: shares rounded so that they sum up.
fn average(kinds: &[KindOfYoung], eggs: u32) -> Vec<u32> {
    let exact: Vec<u64> = kinds.iter().map(|k| u64::from(k.share) * u64::from(eggs)).collect();
    let mut counts: Vec<u32> = exact.iter().map(|e| u32::try_from(e / 1_000_000).unwrap_or(0)).collect();
    let mut by_rest: Vec<usize> = (0..kinds.len()).collect();
    by_rest.sort_by_key(|&k| std::cmp::Reverse(exact[k] % 1_000_000));
    let all: u64 = exact.iter().sum::<u64>().div_ceil(1_000_000);
    let missing = u32::try_from(all).unwrap_or(eggs).min(eggs).saturating_sub(counts.iter().sum());
    for &k in by_rest.iter().take(missing as usize) {
        counts[k] += 1;
    }
    counts
}

fn eggs(canvas: &mut Canvas, counts: &[u32]) {
    let n: u32 = counts.iter().sum();
    let columns = f64::from(n.clamp(1, 12));
    let cell = (INNER / columns).min(EGG + 6.0);
    let width = cell - 6.0;
    let height = width * 1.28 + 8.0;
    let kinds = counts.iter().enumerate().flat_map(|(kind, n)| (0..*n).map(move |_| kind));
    for (i, kind) in (0u32..).zip(kinds) {
        let (column, line) = (f64::from(i % 12), f64::from(i / 12));
        canvas.egg(MARGIN + cell * (column + 0.5), canvas.y + height * (line + 0.5), width, mark_of(kind));
    }
    canvas.y += height * f64::from(n.div_ceil(12).max(1));
}

/// A kind with its mark, its name and its odds.
fn row(canvas: &mut Canvas, n: usize, kind: &KindOfYoung) {
    let odds = format!("{} · {}", kind.fraction, percent(kind.share));
    let odds_width = 118.0;
    let name_width = INNER - 26.0 - odds_width;
    let top = canvas.y;
    canvas.egg(MARGIN + 8.0, top + 9.0, 13.0, mark_of(n));
    let end = canvas.lines(MARGIN + 26.0, top, name_width, &kind.name, Style::TEXT);
    let mut at = top;
    for line in wrapped(&odds, odds_width - 8.0, Style::TEXT) {
        canvas.text(WIDTH - MARGIN, at, &line, Style::TEXT.to(Side::Left));
        at += Style::TEXT.line();
    }
    canvas.y = end.max(at) + 5.0;
}

fn spread(canvas: &mut Canvas, luck: &Luck, data: &Clutch, units: &str) -> Vec<String> {
    let head = format!("How far luck spreads: {} among {} {units}", luck.name, data.eggs);
    canvas.space(10.0);
    canvas.paragraph(&head, Style::BOLD);
    canvas.space(4.0);
    let mut bars: Vec<(String, Millionths)> = Vec::new();
    // Leading and trailing counts that hardly ever come stand together.
    let last = luck.chances.len().saturating_sub(1);
    let first = luck.chances.iter().position(|c| *c >= 5_000).unwrap_or(0);
    let end = luck.chances.iter().rposition(|c| *c >= 5_000).unwrap_or(last).min(first + MOST_BARS - 1);
    let below: Millionths = luck.chances[..first].iter().sum();
    if below > 0 {
        bars.push((format!("under {first}"), below));
    }
    for (n, chance) in luck.chances.iter().enumerate().take(end + 1).skip(first) {
        bars.push((if n == 0 { "none".to_owned() } else { n.to_string() }, *chance));
    }
    let above: Millionths = luck.chances.iter().skip(end + 1).sum();
    if above > 0 {
        bars.push((format!("over {end}"), above));
    }
    let most = bars.iter().map(|b| b.1).max().unwrap_or(1).max(1);
    let (label, figure) = (62.0, 92.0);
    for (name, chance) in &bars {
        let y = canvas.y;
        canvas.text(MARGIN + label - 8.0, y, name, Style::TEXT.to(Side::Left));
        let length = (INNER - label - figure) * f64::from(*chance) / f64::from(most);
        canvas.rect(MARGIN + label, y + 2.0, length.max(1.5), TEXT, Ink::Quiet);
        canvas.text(MARGIN + label + length.max(1.5) + 6.0, y, &percent(*chance), Style::TEXT);
        canvas.y += 19.0;
    }
    let mut alt = vec![format!("{head}:")];
    alt.extend(bars.iter().map(|(name, chance)| format!("{name}: {}", percent(*chance))));
    alt
}
