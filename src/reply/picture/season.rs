//! The season: which male goes to which female, who rests.

use super::Picture;
use super::canvas::{Canvas, INNER, Ink, MARGIN, Style, WIDTH, cut, wrapped};

/// The width of an animal's box.
const BOX: f64 = 150.0;

/// A season's pairings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Season {
    /// What season it is.
    pub title: String,
    /// Who goes to whom, the best first.
    pub pairings: Vec<Pairing>,
    /// Who rests.
    pub resting: Vec<Resting>,
    /// What is said of pairings and females that are not shown.
    pub more: Vec<String>,
}

/// A male and a female.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pairing {
    /// The male's name.
    pub male: String,
    /// The female's name.
    pub female: String,
    /// What for.
    pub why: String,
}

/// A female that is not paired.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resting {
    /// Her name.
    pub name: String,
    /// Why.
    pub why: String,
}

pub(super) fn draw(data: &Season, mut canvas: Canvas) -> Picture {
    canvas.paragraph(&data.title, Style::TITLE);
    canvas.space(8.0);
    let mut alt = vec![data.title.clone()];
    let mut males: Vec<&str> = Vec::new();
    for pairing in &data.pairings {
        if !males.contains(&pairing.male.as_str()) {
            males.push(&pairing.male);
        }
    }
    for male in males {
        let top = canvas.y;
        let own: Vec<&Pairing> = data.pairings.iter().filter(|p| p.male == male).collect();
        let from = animal(&mut canvas, MARGIN, top, &format!("♂ {male}"));
        let right = WIDTH - MARGIN - BOX;
        let mut y = top;
        for pairing in own {
            let end = animal(&mut canvas, right, y, &format!("♀ {}", pairing.female));
            let (a, b) = ((MARGIN + BOX, f64::midpoint(top, from)), (right, f64::midpoint(y, end)));
            canvas.line(a, b, Ink::Stroke(1), 2.0, "");
            canvas.disc(b.0, b.1, 3.5, Some(Ink::Kind(1)), Ink::Text);
            y = canvas.lines(right, end + 2.0, BOX, &pairing.why, Style::SMALL) + 8.0;
            alt.push(format!("♂ {male} × ♀ {}: {}", pairing.female, pairing.why));
        }
        canvas.y = y.max(from + 8.0);
        canvas.space(4.0);
    }
    if !data.resting.is_empty() {
        canvas.paragraph("Resting", Style::BOLD);
        alt.push("Resting".to_owned());
        for one in &data.resting {
            let text = format!("♀ {}: {}", one.name, one.why);
            canvas.y = canvas.lines(MARGIN, canvas.y, INNER, &text, Style::TEXT);
            alt.push(text);
        }
    }
    for text in &data.more {
        canvas.space(4.0);
        canvas.paragraph(text, Style::SMALL);
        alt.push(text.clone());
    }
    canvas.finish(&alt.join("\n"))
}

/// A box with a name; gives its lower edge.
fn animal(canvas: &mut Canvas, x: f64, y: f64, name: &str) -> f64 {
    let inside = BOX - 14.0;
    let n = u32::try_from(wrapped(&cut(name, canvas.most), inside, Style::BOLD).len().max(1)).unwrap_or(1);
    let height = f64::from(n) * Style::BOLD.line() + 9.0;
    canvas.rect(x, y, BOX.min(INNER), height, Ink::Field);
    canvas.frame(x, y, BOX.min(INNER), height, Ink::Line, (1.0, ""));
    canvas.lines(x + 7.0, y + 4.0, inside, name, Style::BOLD);
    y + height
}
