//! The family of one animal: ancestors above, young below, a line each, so that long names have room.

use super::canvas::{Canvas, INNER, Ink, MARGIN, Style};
use super::{Picture, Theme};

/// How far a generation is set in.
const STEP: f64 = 22.0;
/// Relatives that are drawn on either side.
const MOST: usize = 40;

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

pub(super) fn draw(data: &Family, theme: Theme) -> Picture {
    let mut canvas = Canvas::new(theme);
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
    for note in &data.notes {
        canvas.space(6.0);
        canvas.paragraph(note, Style::SMALL);
        alt.push(note.clone());
    }
    canvas.finish(&alt.join("\n"))
}

fn tree(canvas: &mut Canvas, relatives: &[Relative], alt: &mut Vec<String>) {
    // Where the line of each generation last stood.
    let mut last: Vec<f64> = vec![canvas.y];
    for one in relatives.iter().take(MOST) {
        let depth = one.depth.clamp(1, 4);
        let x = MARGIN + STEP * f64::from(depth - 1);
        let top = canvas.y;
        let middle = top + 9.0;
        last.truncate(depth as usize);
        if let Some(from) = last.last() {
            canvas.line((x + 4.0, *from), (x + 4.0, middle), Ink::Line, 1.5, "");
        }
        canvas.line((x + 4.0, middle), (x + 13.0, middle), Ink::Line, 1.5, "");
        let again = if one.again { " (again)" } else { "" };
        let name = format!("{} {}{again}", one.sex, one.name);
        let width = INNER - STEP * f64::from(depth - 1) - 18.0;
        let style = Style { ink: if one.again { Ink::Quiet } else { Ink::Text }, ..Style::BOLD };
        canvas.y = canvas.lines(x + 18.0, top, width, &name, style);
        if one.again {
            canvas.disc(x + 4.0, middle, 4.0, Some(Ink::Kind(0)), Ink::Text);
        }
        canvas.y = canvas.lines(x + 18.0, canvas.y, width, &one.about, Style::SMALL) + 3.0;
        if let Some(from) = last.last_mut() {
            *from = middle;
        }
        // Below its own lines, so that no line crosses a word.
        last.push(canvas.y - 3.0);
        alt.push(format!("{}{}: {}", "  ".repeat(depth as usize - 1), name.trim(), one.about));
    }
    let more = relatives.len().saturating_sub(MOST);
    if more > 0 {
        canvas.paragraph(&format!("and {more} more"), Style::SMALL);
        alt.push(format!("and {more} more"));
    }
}
