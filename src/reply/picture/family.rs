//! The family of one animal: ancestors above, young below, each generation a column of boxes with lines between.

use super::Picture;
use super::canvas::{Canvas, INNER, Ink, MARGIN, Side, Style, cut, wrapped};

/// From one column to the next.
const GAP: f64 = 14.0;
/// Between two boxes of a column.
const APART: f64 = 6.0;
/// Between the edge of a box and its text.
const INSET: f64 = 6.0;
/// Generations that have a column.
const MOST_COLUMNS: u32 = 3;
/// Relatives that are drawn on either side: as many as there are ancestors within three generations.
pub const MOST: usize = 14;
/// What the sign on a box says.
const TWICE: &str = "stands in this family more than once";

/// One animal's family.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Family {
    /// The animal.
    pub name: String,
    /// What it is.
    pub about: String,
    /// Its ancestors: each after the animal whose parent it is, `depth` 1 for parents.
    pub ancestors: Vec<Relative>,
    /// Its young: each after its parent, `depth` 1 for its own.
    pub young: Vec<Relative>,
    /// Kinship and inbreeding in words.
    pub notes: Vec<String>,
}

/// A relative.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Relative {
    /// Generations away.
    pub depth: u32,
    /// "♂" or "♀", or nothing.
    pub sex: String,
    /// Its name.
    pub name: String,
    /// Its looks, what it carries and how sure that is.
    pub about: String,
    /// It stands in this family more than once.
    pub again: bool,
}

/// A box with those that hang on it.
struct Branch<'a> {
    relative: &'a Relative,
    branches: Vec<Branch<'a>>,
    /// The height of its own box.
    own: f64,
    /// The height that it takes with all that hang on it.
    height: f64,
}

/// Where the columns stand, and how many letters a text in them has.
#[derive(Clone, Copy)]
struct Columns {
    width: f64,
    most: usize,
}

/// So many of a family at most, each after the one it hangs on: whole generations, the nearest first.
pub fn nearest<T>(all: &[T], most: usize, depth: impl Fn(&T) -> u32) -> Vec<&T> {
    let within = |most_depth: u32| all.iter().filter(|one| depth(one) <= most_depth).count();
    let deepest = all.iter().map(&depth).max().unwrap_or(0);
    let shown = (1..=deepest).rev().find(|d| within(*d) <= most).unwrap_or(1);
    all.iter().filter(|one| depth(one) <= shown).take(most).collect()
}

pub(super) fn draw(data: &Family, mut canvas: Canvas) -> Picture {
    canvas.paragraph(&data.name, Style::TITLE);
    canvas.paragraph(&data.about, Style::TEXT);
    let mut alt = vec![format!("{}: {}", data.name, data.about)];
    for (head, relatives) in [("Parents and further back", &data.ancestors), ("Young", &data.young)] {
        if relatives.is_empty() {
            continue;
        }
        canvas.space(10.0);
        canvas.paragraph(head, Style::BOLD);
        canvas.space(4.0);
        alt.push(head.to_owned());
        tree(&mut canvas, relatives, &mut alt);
    }
    if data.ancestors.iter().chain(&data.young).any(|r| r.again) {
        canvas.space(6.0);
        canvas.disc(MARGIN + 5.0, canvas.y + 7.0, 4.0, Some(Ink::Kind(0)), Ink::Text);
        canvas.y = canvas.whole(MARGIN + 16.0, canvas.y, INNER - 16.0, TWICE, Style::SMALL);
        alt.push(format!("\"again\": {TWICE}"));
    }
    for note in &data.notes {
        canvas.space(6.0);
        canvas.paragraph(note, Style::SMALL);
        alt.push(note.clone());
    }
    canvas.finish(&alt.join("\n"))
}

fn tree(canvas: &mut Canvas, relatives: &[Relative], alt: &mut Vec<String>) {
    let drawn = nearest(relatives, MOST, |relative| relative.depth);
    let depth = drawn.iter().map(|r| r.depth.clamp(1, MOST_COLUMNS)).max().unwrap_or(1);
    let columns = Columns { width: (INNER - GAP * f64::from(depth)) / f64::from(depth), most: canvas.most };
    let (branches, _) = grown(&drawn, 1, columns);
    let top = canvas.y;
    let mut middles = Vec::new();
    let mut y = top;
    for branch in &branches {
        middles.push(hang(canvas, branch, columns, (y, branch.height)));
        y += branch.height + APART;
    }
    // All of the first column hang on the animal itself.
    joined(canvas, MARGIN, top.min(middles.first().copied().unwrap_or(top)), &middles, MARGIN + GAP);
    canvas.y = y;
    for one in &drawn {
        let again = if one.again { " (again)" } else { "" };
        let name = format!("{} {}{again}", one.sex, one.name);
        alt.push(format!("{}{}: {}", "  ".repeat((one.depth.clamp(1, 9) - 1) as usize), name.trim(), one.about));
    }
    let more = relatives.len() - drawn.len();
    if more > 0 {
        let text = format!("and {more} more");
        canvas.paragraph(&text, Style::SMALL);
        alt.push(text);
    }
}

/// The branches of a list in which each stands after the one it hangs on; what is deeper than the columns hangs on the last.
fn grown<'a>(relatives: &[&'a Relative], depth: u32, columns: Columns) -> (Vec<Branch<'a>>, usize) {
    let mut branches = Vec::new();
    let mut at = 0;
    while let Some(relative) = relatives.get(at) {
        if relative.depth.min(MOST_COLUMNS) < depth {
            break;
        }
        at += 1;
        let deeper = relatives.get(at).is_some_and(|next| next.depth.min(MOST_COLUMNS) > depth);
        let (below, used) = if deeper { grown(&relatives[at..], depth + 1, columns) } else { (Vec::new(), 0) };
        at += used;
        branches.push(Branch::of(relative, below, columns));
    }
    (branches, at)
}

impl<'a> Branch<'a> {
    fn of(relative: &'a Relative, branches: Vec<Branch<'a>>, columns: Columns) -> Self {
        let mut branch = Branch { relative, branches, own: 0.0, height: 0.0 };
        let inside = columns.width - 2.0 * INSET;
        let lines = |text: &str, style: Style| {
            let n = wrapped(&cut(text, columns.most), inside, style).len();
            f64::from(u32::try_from(n).unwrap_or(0)) * style.line()
        };
        // The sign of who stands there twice has its corner of the first line.
        let sign = if relative.again { Style::SMALL.line() } else { 0.0 };
        branch.own = lines(&branch.name(), branch.name_style()) + lines(&relative.about, Style::SMALL) + 7.0 + sign;
        branch.height = branch.own.max(branch.below());
        branch
    }

    /// The height of all that hang on it.
    fn below(&self) -> f64 {
        self.branches.iter().map(|b| b.height + APART).sum::<f64>() - APART
    }

    fn name(&self) -> String {
        format!("{} {}", self.relative.sex, self.relative.name).trim().to_owned()
    }

    fn name_style(&self) -> Style {
        Style { ink: if self.relative.again { Ink::Quiet } else { Ink::Text }, ..Style::BOLD }
    }
}

/// Draws a box in the middle of its height and those that hang on it to its right; gives the middle.
fn hang(canvas: &mut Canvas, branch: &Branch<'_>, columns: Columns, place: (f64, f64)) -> f64 {
    let depth = branch.relative.depth.clamp(1, MOST_COLUMNS);
    drawn_at(canvas, branch, columns, depth, place)
}

fn drawn_at(canvas: &mut Canvas, branch: &Branch<'_>, columns: Columns, depth: u32, (y, height): (f64, f64)) -> f64 {
    let x = MARGIN + GAP + f64::from(depth - 1) * (columns.width + GAP);
    let own = branch.own;
    let middle = y + height / 2.0;
    boxed(canvas, branch, columns, (x, middle - own / 2.0), own);
    let mut at = middle - branch.below() / 2.0;
    let mut middles = Vec::new();
    for one in &branch.branches {
        middles.push(drawn_at(canvas, one, columns, (depth + 1).min(MOST_COLUMNS), (at, one.height)));
        at += one.height + APART;
    }
    let right = x + columns.width;
    joined(canvas, right + GAP / 2.0, middle, &middles, right + GAP);
    if !middles.is_empty() {
        canvas.line((right, middle), (right + GAP / 2.0, middle), Ink::Line, 1.5, "");
    }
    middle
}

fn boxed(canvas: &mut Canvas, branch: &Branch<'_>, columns: Columns, (x, y): (f64, f64), height: f64) {
    let again = branch.relative.again;
    canvas.rect(x, y, columns.width, height, Ink::Field);
    canvas.frame(x, y, columns.width, height, Ink::Line, (1.0, if again { "4 3" } else { "" }));
    let inside = columns.width - 2.0 * INSET;
    let mut top = y + 3.0;
    if again {
        canvas.disc(x + columns.width - 9.0, top + 5.0, 4.0, Some(Ink::Kind(0)), Ink::Text);
        canvas.text(x + columns.width - 17.0, top - 1.0, "again", Style::SMALL.to(Side::Left));
        top += Style::SMALL.line();
    }
    let end = canvas.lines(x + INSET, top, inside, &branch.name(), branch.name_style());
    canvas.lines(x + INSET, end, inside, &branch.relative.about, Style::SMALL);
}

/// An upright line at `x` from `from` over all the middles, with a line to the right from each.
fn joined(canvas: &mut Canvas, x: f64, from: f64, middles: &[f64], to: f64) {
    let Some(last) = middles.last() else { return };
    let first = middles.first().copied().unwrap_or(from).min(from);
    canvas.line((x, first), (x, last.max(from)), Ink::Line, 1.5, "");
    for middle in middles {
        canvas.line((x, *middle), (to, *middle), Ink::Line, 1.5, "");
    }
}
