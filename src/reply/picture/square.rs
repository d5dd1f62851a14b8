//! The square of a pairing: one parent's gametes down the side, the other's across the top, each copy drawn. For more
//! genes than a square holds, a bar for each gene.

use super::canvas::{Canvas, INNER, Ink, MARGIN, SMALL, Side, Style, WIDTH, mark_of, wrapped};
use super::{Millionths, Picture, part, percent};

/// The gametes' column at the side.
const SIDE: f64 = 74.0;
/// A cell's height.
const CELL: f64 = 66.0;
/// How genes that do not fit a square are read together.
const FACTORS: &str = "Gene by gene: the genes are independent, so one share from each is multiplied. A full disc is a copy of the gene, an empty one the wild copy.";
/// The room that two copies take.
const COPIES: f64 = 30.0;
/// What the edges of the cells say.
const EDGES: &str =
    "A whole edge: it shows. A half-filled disc: it carries something unseen; with a broken edge that is all.";
/// Genes that are drawn one by one; the others are named.
const MOST_FACTORS: usize = 10;
/// A disc for a copy.
const COPY: f64 = 6.0;

/// Gametes against gametes, or the genes one by one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Square {
    /// The pairing as it was understood.
    pub title: String,
    /// Who stands at the side and who on top: "the male", "the female".
    pub parents: [String; 2],
    /// Down the side.
    pub down: Vec<Gamete>,
    /// Across the top.
    pub across: Vec<Gamete>,
    /// A line of cells for each gamete at the side; empty where a square does not hold the genes.
    pub cells: Vec<Vec<Cell>>,
    /// The kinds that the cells belong to, each with its odds.
    pub kinds: Vec<(String, String, Millionths)>,
    /// The genes one by one, where there are too many for a square.
    pub factors: Vec<Factor>,
    /// What the signs of the alleles stand for.
    pub signs: Vec<(String, String)>,
}

/// What a parent hands on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gamete {
    /// For each gene its sign, "+" for the wild one.
    pub alleles: Vec<String>,
    /// "1/2".
    pub fraction: String,
}

/// A young.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    /// For each gene the signs of its two copies.
    pub copies: Vec<[String; 2]>,
    /// The kind that it belongs to, by its place.
    pub kind: usize,
    /// Something of the genes shows.
    pub shows: bool,
    /// It carries something that does not show.
    pub carries: bool,
}

/// One gene's young.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Factor {
    /// The gene.
    pub name: String,
    /// What the young are, with their shares.
    pub parts: Vec<Share>,
}

/// A part of a whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Share {
    /// What it is.
    pub name: String,
    /// Whether each of its two copies is of the gene; nothing where that is not drawn.
    pub copies: Option<[bool; 2]>,
    /// "1/4".
    pub fraction: String,
    /// How much.
    pub share: Millionths,
}

pub(super) fn draw(data: &Square, mut canvas: Canvas) -> Picture {
    canvas.paragraph(&data.title, Style::TITLE);
    let mut alt = vec![data.title.clone()];
    canvas.space(6.0);
    if data.cells.is_empty() {
        canvas.paragraph(FACTORS, Style::SMALL);
        canvas.space(6.0);
        alt.push(FACTORS.to_owned());
        for factor in data.factors.iter().take(MOST_FACTORS) {
            alt.push(bar(&mut canvas, factor));
        }
        let more: Vec<&Factor> = data.factors.iter().skip(MOST_FACTORS).collect();
        if !more.is_empty() {
            let names: Vec<&str> = more.iter().map(|factor| factor.name.as_str()).collect();
            let line = format!("Not drawn: {}.", names.join(", "));
            canvas.paragraph(&line, Style::SMALL);
            alt.push(line);
            alt.extend(more.into_iter().map(told_factor));
        }
        return canvas.finish(&alt.join("\n"));
    }
    canvas.paragraph(&format!("Down the side: what {} hands on.", data.parents[0]), Style::SMALL);
    canvas.paragraph(&format!("Across the top: what {} hands on.", data.parents[1]), Style::SMALL);
    canvas.space(6.0);
    grid(&mut canvas, data);
    canvas.space(10.0);
    for (n, (name, fraction, share)) in data.kinds.iter().enumerate() {
        let y = canvas.y;
        canvas.egg(MARGIN + 8.0, y + 9.0, 13.0, mark_of(n));
        let odds = format!("{fraction} · {}", percent(*share));
        canvas.text(WIDTH - MARGIN, y, &odds, Style::TEXT.to(Side::Left));
        canvas.y = canvas.lines(MARGIN + 26.0, y, INNER - 150.0, name, Style::TEXT) + 4.0;
        alt.push(format!("{name}: {odds}"));
    }
    let signs: Vec<String> = data.signs.iter().map(|(sign, name)| format!("{sign} is a copy of {name}")).collect();
    let signs = format!("{}; + is the wild copy.", signs.join(", "));
    canvas.space(4.0);
    canvas.paragraph(&signs, Style::SMALL);
    canvas.space(4.0);
    canvas.paragraph(EDGES, Style::SMALL);
    alt.push("Down and across, what each hands on:".to_owned());
    let across: Vec<String> = data.across.iter().map(|g| format!("{} {}", g.fraction, g.alleles.join(" "))).collect();
    alt.push(format!("across: {}", across.join(" | ")));
    for (gamete, line) in data.down.iter().zip(&data.cells) {
        let cells: Vec<String> = line.iter().map(told).collect();
        alt.push(format!("{} {}: {}", gamete.fraction, gamete.alleles.join(" "), cells.join(" | ")));
    }
    alt.push(signs);
    canvas.finish(&alt.join("\n"))
}

fn grid(canvas: &mut Canvas, data: &Square) {
    let columns = f64::from(u32::try_from(data.across.len().max(1)).unwrap_or(1));
    let cell = (INNER - SIDE) / columns;
    let top = canvas.y;
    for (column, gamete) in (0u32..).zip(&data.across) {
        head(canvas, MARGIN + SIDE + cell * (f64::from(column) + 0.5), top, cell - 6.0, gamete);
    }
    let first = top + 44.0;
    for (line, (gamete, cells)) in (0u32..).zip(data.down.iter().zip(&data.cells)) {
        let y = first + CELL * f64::from(line);
        head(canvas, MARGIN + SIDE / 2.0 - 4.0, y + 10.0, SIDE - 10.0, gamete);
        for (column, one) in (0u32..).zip(cells) {
            let x = MARGIN + SIDE + cell * f64::from(column);
            canvas.rect(x + 2.0, y + 2.0, cell - 4.0, CELL - 4.0, Ink::Field);
            edges(canvas, (x + 2.0, y + 2.0), (cell - 4.0, CELL - 4.0), one);
            canvas.egg(x + cell / 2.0, y + 18.0, 18.0, mark_of(one.kind));
            copies(canvas, x + cell / 2.0, y + 38.0, &one.copies);
            fitted(canvas, x + cell / 2.0, y + 47.0, cell - 8.0, &written(one));
        }
    }
    canvas.y = first + CELL * f64::from(u32::try_from(data.cells.len()).unwrap_or(1));
}

/// A whole edge where something shows, a half disc where something is carried unseen, and a broken edge where that is all.
fn edges(canvas: &mut Canvas, (x, y): (f64, f64), (width, height): (f64, f64), cell: &Cell) {
    if cell.shows {
        canvas.frame(x, y, width, height, Ink::Text, (1.6, ""));
    }
    if cell.carries {
        if !cell.shows {
            canvas.frame(x, y, width, height, Ink::Quiet, (1.2, "4 3"));
        }
        canvas.half_disc(x + width - 9.0, y + 9.0, 4.5);
    }
}

/// What a parent hands on, drawn and written.
fn head(canvas: &mut Canvas, x: f64, y: f64, width: f64, gamete: &Gamete) {
    let n = f64::from(u32::try_from(gamete.alleles.len()).unwrap_or(1));
    for (k, sign) in gamete.alleles.iter().enumerate() {
        let at = x + (f64::from(u32::try_from(k).unwrap_or(0)) - (n - 1.0) / 2.0) * 20.0;
        copy(canvas, at, y + COPY + 2.0, k, sign);
    }
    fitted(canvas, x, y + 17.0, width, &format!("{} {}", gamete.alleles.join(" "), gamete.fraction));
}

fn copies(canvas: &mut Canvas, x: f64, y: f64, copies: &[[String; 2]]) {
    let n = f64::from(u32::try_from(copies.len()).unwrap_or(1));
    for (k, pair) in copies.iter().enumerate() {
        let middle = x + (f64::from(u32::try_from(k).unwrap_or(0)) - (n - 1.0) / 2.0) * 36.0;
        copy(canvas, middle - 8.0, y, k, &pair[0]);
        copy(canvas, middle + 8.0, y, k, &pair[1]);
    }
}

/// One copy: full where it is not the wild one; a disc for the first gene, a diamond for the second.
fn copy(canvas: &mut Canvas, x: f64, y: f64, gene: usize, sign: &str) {
    let fill = (sign != "+").then_some(Ink::Text);
    if gene == 0 {
        canvas.disc(x, y, COPY - 1.0, fill, Ink::Text);
    } else {
        canvas.diamond(x, y, COPY - 1.0, fill, Ink::Text);
    }
}

/// One line in the middle, as small as it has to be.
fn fitted(canvas: &mut Canvas, x: f64, y: f64, width: f64, text: &str) {
    let style = Style::SMALL.to(Side::Middle);
    let small = Style { size: SMALL - 2.0, ..style };
    let style = if wrapped(text, width, style).len() > 1 { small } else { style };
    if let Some(line) = wrapped(text, width, style).first() {
        canvas.text(x, y, line, style);
    }
}

/// A cell in words, with what its edges say.
fn told(cell: &Cell) -> String {
    let said = match (cell.shows, cell.carries) {
        (true, true) => " (shows, carries)",
        (true, false) => " (shows)",
        (false, true) => " (carries)",
        (false, false) => "",
    };
    written(cell) + said
}

fn written(cell: &Cell) -> String {
    cell.copies.iter().map(|pair| pair.concat()).collect::<Vec<_>>().join(" ")
}

/// One gene: a bar parted by its young, and what each part is.
fn bar(canvas: &mut Canvas, factor: &Factor) -> String {
    canvas.paragraph(&factor.name, Style::BOLD);
    let mut x = MARGIN;
    for (n, share) in factor.parts.iter().enumerate() {
        let width = part(share.share, INNER);
        canvas.bar(x, canvas.y, width.max(1.0), 18.0, n);
        x += width;
    }
    canvas.space(24.0);
    for (n, share) in factor.parts.iter().enumerate() {
        let y = canvas.y;
        canvas.egg(MARGIN + 8.0, y + 8.0, 12.0, Some(n));
        let drawn = if let Some([one, other]) = share.copies {
            let sign = |full: bool| if full { "" } else { "+" };
            copy(canvas, MARGIN + 28.0, y + 8.0, 0, sign(one));
            copy(canvas, MARGIN + 43.0, y + 8.0, 0, sign(other));
            COPIES
        } else {
            0.0
        };
        let text = told_share(share);
        canvas.y = canvas.lines(MARGIN + 26.0 + drawn, y, INNER - 26.0 - drawn, &text, Style::TEXT) + 2.0;
    }
    canvas.space(8.0);
    told_factor(factor)
}

fn told_share(share: &Share) -> String {
    format!("{} {} ({})", share.fraction, share.name, percent(share.share))
}

/// A gene and its parts in words.
fn told_factor(factor: &Factor) -> String {
    let parts: Vec<String> = factor.parts.iter().map(told_share).collect();
    format!("{}: {}", factor.name, parts.join(", "))
}
