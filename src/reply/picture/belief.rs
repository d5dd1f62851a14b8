//! How sure a possible het is, clutch after clutch.

use super::canvas::{Canvas, INNER, Ink, MARGIN, SMALL, Side, Style, TEXT};
use super::{Millionths, Picture, part, percent};

/// Steps that are drawn; the first ones beyond are left out.
const MOST_STEPS: usize = 14;

/// What was believed of an animal, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Belief {
    /// Whom and what it is about.
    pub title: String,
    /// What came in, and the chance after it.
    pub steps: Vec<(String, Millionths)>,
}

pub(super) fn draw(data: &Belief, mut canvas: Canvas) -> Picture {
    canvas.paragraph(&data.title, Style::TITLE);
    canvas.space(8.0);
    let mut alt = vec![data.title.clone()];
    let left_out = data.steps.len().saturating_sub(MOST_STEPS);
    if left_out > 0 {
        let text = format!("{left_out} earlier ones are not shown");
        canvas.paragraph(&text, Style::SMALL);
        alt.push(text);
    }
    let figure = 96.0;
    let scale = INNER - figure;
    let mut before = None;
    for (what, share) in data.steps.iter().skip(left_out) {
        canvas.paragraph(what, Style::TEXT);
        let y = canvas.y + 2.0;
        canvas.rect(MARGIN, y, scale, TEXT, Ink::Field);
        let x = MARGIN + part(*share, scale);
        canvas.rect(MARGIN, y, (x - MARGIN).max(1.5), TEXT, Ink::Kind(1));
        // Where it stood before.
        if let Some(before) = before {
            canvas.line((before, y), (before, y + TEXT), Ink::Text, 1.0, "2 3");
        }
        canvas.text(MARGIN + INNER, y - 1.0, &percent(*share), Style::BOLD.to(Side::Left));
        before = Some(x);
        canvas.y = y + TEXT + 9.0;
        alt.push(format!("{what}: {}", percent(*share)));
    }
    for (at, name) in [(0, "0 %"), (500_000, "50 %"), (1_000_000, "100 %")] {
        let side = match at {
            0 => Side::Right,
            500_000 => Side::Middle,
            _ => Side::Left,
        };
        canvas.text(MARGIN + part(at, scale), canvas.y, name, Style::SMALL.to(side));
    }
    canvas.space(SMALL * 1.4);
    if data.steps.len() > 1 {
        canvas.space(4.0);
        canvas.paragraph("Dotted: where it stood before.", Style::SMALL);
    }
    canvas.finish(&alt.join("\n"))
}
