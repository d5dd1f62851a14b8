//! A canvas of one width that grows downwards: shapes and text in, SVG out.
//!
//! Everything that is written is measured with the font it is drawn in, so nothing leaves the canvas; where each text
//! stands is kept for the tests of the layout.

use std::borrow::Cow;
use std::fmt::Write as _;

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

use super::font;
use super::{Picture, Placed, Theme};

/// The width of every picture, in pixels of a phone.
pub(super) const WIDTH: f64 = 400.0;
/// The empty space on all sides.
pub(super) const MARGIN: f64 = 16.0;
/// The width that there is to write on.
pub(super) const INNER: f64 = WIDTH - 2.0 * MARGIN;
/// The size of ordinary text.
pub(super) const TEXT: f64 = 13.0;
/// The size of small text.
pub(super) const SMALL: f64 = 11.0;
/// The size of a title.
pub(super) const TITLE: f64 = 15.0;
/// From one line to the next, as a share of the size.
const LINE: f64 = 1.3;
/// The longest text of one place; the rest is said to be left out.
const MOST_SIGNS: usize = 400;
/// Stands at the end of a text that is cut.
const CUT: char = '\u{2026}';
/// Says what that sign stands for.
const CUT_SAID: &str = "\u{2026}: too long for the picture; the words beside it say it whole.";
/// Stands for a sign that the font does not have.
const UNKNOWN: char = '\u{25a1}';

/// Colours by what they are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    /// Text.
    Text,
    /// Text beside the main thing.
    Quiet,
    /// Lines that hold things together.
    Line,
    /// The ground of a box.
    Field,
    /// The ground of everything.
    Ground,
    /// The colour of one kind, from 0 on.
    Kind(usize),
    /// The same for a line, which has no dark edge that would set it off from a light ground.
    Stroke(usize),
}

/// Colours of kinds: told apart by people who see few colours too, and always together with a mark.
const KINDS: [&str; 8] = ["#E69F00", "#56B4E9", "#009E73", "#F0E442", "#CC79A7", "#4C8DD6", "#E06A2B", "#9AA0A6"];

/// The same, dark enough for lines on a light ground.
const STROKES: [&str; 8] = ["#A36F00", "#1C7AB5", "#007A58", "#857800", "#A84B80", "#2F62AB", "#B34A12", "#63696F"];

/// The marks drawn over the colours of kinds: no two kinds have the same.
const SHAPES: [&str; 12] = [
    "",
    "<path d=\"M0 3H6\"/>",
    "<path d=\"M0 6L6 0\"/>",
    "<path d=\"M3 0V6\"/>",
    "<circle cx=\"3\" cy=\"3\" r=\"1.1\" fill=\"#1B1D21\"/>",
    "<path d=\"M0 0L6 6M0 6L6 0\"/>",
    "<path d=\"M0 3H6M3 0V6\"/>",
    "<path d=\"M0 0L6 6\"/>",
    "<path d=\"M0 0H3V3H0ZM3 3H6V6H3Z\" fill=\"#1B1D21\" stroke=\"none\"/>",
    "<circle cx=\"3\" cy=\"3\" r=\"1.9\"/>",
    "<path d=\"M0 4.5L3 1.5L6 4.5\"/>",
    "<path d=\"M0 1.5H6V4.5H0Z\" fill=\"#1B1D21\" stroke=\"none\"/>",
];

/// How many kinds have a mark of their own.
pub(super) const MARKS: usize = SHAPES.len();

/// The mark of the kind at this place; those beyond have none and are drawn as a shell.
pub(super) fn mark_of(place: usize) -> Option<usize> {
    (place < MARKS).then_some(place)
}

impl Ink {
    pub(super) fn colour(self, theme: Theme) -> &'static str {
        match (self, theme) {
            (Ink::Text, Theme::Dark) => "#F2F3F5",
            (Ink::Text, Theme::Light) => "#1B1D21",
            (Ink::Quiet, Theme::Dark) => "#B5BAC1",
            (Ink::Quiet, Theme::Light) => "#4E5058",
            (Ink::Line, Theme::Dark) => "#6D7078",
            (Ink::Line, Theme::Light) => "#9A9CA3",
            (Ink::Field, Theme::Dark) => "#2B2D31",
            (Ink::Field, Theme::Light) => "#EEF0F3",
            (Ink::Ground, Theme::Dark) => "#1E1F22",
            (Ink::Ground, Theme::Light) => "#FFFFFF",
            (Ink::Stroke(n), Theme::Light) => STROKES[n % STROKES.len()],
            (Ink::Kind(n) | Ink::Stroke(n), _) => KINDS[n % KINDS.len()],
        }
    }
}

impl Ink {
    /// Red, green and blue of all colours, of both themes.
    pub(super) fn all() -> Vec<[u8; 3]> {
        let parts = |colour: &str| [1, 3, 5].map(|at| u8::from_str_radix(&colour[at..at + 2], 16).unwrap_or_default());
        let plain = [Ink::Text, Ink::Quiet, Ink::Line, Ink::Field, Ink::Ground];
        let of = |theme| plain.into_iter().map(move |ink: Ink| parts(ink.colour(theme)));
        of(Theme::Dark).chain(of(Theme::Light)).chain(KINDS.map(parts)).chain(STROKES.map(parts)).collect()
    }
}

/// To which side of its place a text runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Right,
    Left,
    Middle,
}

/// How a text is written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    pub(super) size: f64,
    pub(super) bold: bool,
    pub(super) ink: Ink,
    pub(super) side: Side,
}

impl Style {
    pub(super) const TITLE: Style = Style { size: TITLE, bold: true, ink: Ink::Text, side: Side::Right };
    pub(super) const TEXT: Style = Style { size: TEXT, bold: false, ink: Ink::Text, side: Side::Right };
    pub(super) const BOLD: Style = Style { size: TEXT, bold: true, ink: Ink::Text, side: Side::Right };
    pub(super) const SMALL: Style = Style { size: SMALL, bold: false, ink: Ink::Quiet, side: Side::Right };

    pub(super) fn to(self, side: Side) -> Style {
        Style { side, ..self }
    }

    pub(super) fn line(self) -> f64 {
        self.size * LINE
    }
}

/// A picture that is being drawn; `y` is where the next thing goes.
pub(super) struct Canvas {
    pub(super) theme: Theme,
    pub(super) y: f64,
    /// Letters that one text may have where texts are cut.
    pub(super) most: usize,
    has_cut: bool,
    body: String,
    placed: Vec<Placed>,
    solid: Vec<Placed>,
}

impl Canvas {
    pub(super) fn new(theme: Theme, most: usize) -> Self {
        Self { theme, y: MARGIN, most, has_cut: false, body: String::new(), placed: Vec::new(), solid: Vec::new() }
    }

    /// One line of text, `y` being the top of it; gives its width.
    pub(super) fn text(&mut self, x: f64, y: f64, text: &str, style: Style) -> f64 {
        let text = drawable(text);
        let width = font::width(&text, style.size, style.bold);
        if text.is_empty() {
            return 0.0;
        }
        let left = match style.side {
            Side::Right => x,
            Side::Left => x - width,
            Side::Middle => x - width / 2.0,
        };
        // On whole pixels of the PNG the same word is the same pixels, which a file holds once.
        let (left, base) = (on_pixel(left), on_pixel(y + style.size * font::ASCENT));
        let weight = if style.bold { " font-weight=\"700\"" } else { "" };
        let colour = style.ink.colour(self.theme);
        let _ = writeln!(
            self.body,
            "<text x=\"{left:.1}\" y=\"{base:.1}\" font-size=\"{}\"{weight} fill=\"{colour}\">{}</text>",
            style.size,
            escaped(&text)
        );
        let height = style.size * (font::ASCENT + font::DESCENT);
        self.placed.push(Placed { text, x: left, y, width, height });
        width
    }

    /// Text within a width, cut where the picture would hold too much; gives where the next thing goes.
    pub(super) fn lines(&mut self, x: f64, y: f64, width: f64, text: &str, style: Style) -> f64 {
        let text = cut(text, self.most);
        self.has_cut |= matches!(text, Cow::Owned(_));
        self.whole(x, y, width, &text, style)
    }

    /// The same, never cut.
    pub(super) fn whole(&mut self, x: f64, y: f64, width: f64, text: &str, style: Style) -> f64 {
        let mut at = y;
        for line in wrapped(text, width, style) {
            self.text(x, at, &line, style);
            at += style.line();
        }
        at
    }

    /// Text over the whole width at the place of the next thing, never cut.
    pub(super) fn paragraph(&mut self, text: &str, style: Style) {
        self.y = self.whole(MARGIN, self.y, INNER, text, style);
    }

    pub(super) fn space(&mut self, height: f64) {
        self.y += height;
    }

    /// A shape that no text may lie on.
    fn solid(&mut self, shape: &str, x: f64, y: f64, width: f64, height: f64) {
        self.solid.push(Placed { text: shape.to_owned(), x, y, width, height });
    }

    pub(super) fn rect(&mut self, x: f64, y: f64, width: f64, height: f64, fill: Ink) {
        if !matches!(fill, Ink::Field | Ink::Ground) {
            self.solid("bar", x, y, width, height);
        }
        let colour = fill.colour(self.theme);
        let _ = writeln!(
            self.body,
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" rx=\"4\" fill=\"{colour}\"/>"
        );
    }

    /// A box of which only the edge is drawn, so thick and broken like this.
    pub(super) fn frame(&mut self, x: f64, y: f64, width: f64, height: f64, edge: Ink, stroke: (f64, &str)) {
        let colour = edge.colour(self.theme);
        let (thick, dash) = (stroke.0, dashes(stroke.1));
        let _ = writeln!(
            self.body,
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" rx=\"4\" fill=\"none\" \
             stroke=\"{colour}\" stroke-width=\"{thick}\"{dash}/>"
        );
    }

    /// A bar in the colour and with the mark of a kind.
    pub(super) fn bar(&mut self, x: f64, y: f64, width: f64, height: f64, kind: usize) {
        self.rect(x, y, width, height, Ink::Kind(kind));
        let _ = writeln!(
            self.body,
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" rx=\"4\" fill=\"url(#m{})\"/>",
            kind % MARKS
        );
    }

    pub(super) fn line(&mut self, from: (f64, f64), to: (f64, f64), ink: Ink, thick: f64, dash: &str) {
        let colour = ink.colour(self.theme);
        let dash = dashes(dash);
        let _ = writeln!(
            self.body,
            "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"{colour}\" stroke-width=\"{thick}\"{dash}/>",
            from.0, from.1, to.0, to.1
        );
    }

    /// A line through many points.
    pub(super) fn curve(&mut self, points: &[(f64, f64)], ink: Ink, thick: f64, dash: &str) {
        let colour = ink.colour(self.theme);
        let mut path = String::new();
        for (x, y) in points {
            let _ = write!(path, "{x:.1},{y:.1} ");
        }
        let dash = dashes(dash);
        let _ = writeln!(
            self.body,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{thick}\" stroke-linejoin=\"round\"{dash}/>",
            path.trim_end()
        );
    }

    /// A disc: filled, or only its edge.
    pub(super) fn disc(&mut self, x: f64, y: f64, radius: f64, fill: Option<Ink>, edge: Ink) {
        self.solid("disc", x - radius, y - radius, 2.0 * radius, 2.0 * radius);
        let fill = fill.map_or("none", |ink| ink.colour(self.theme));
        let edge = edge.colour(self.theme);
        let _ = writeln!(
            self.body,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius:.1}\" fill=\"{fill}\" stroke=\"{edge}\" stroke-width=\"1.5\"/>"
        );
    }

    /// A disc of which one half is filled.
    pub(super) fn half_disc(&mut self, x: f64, y: f64, radius: f64) {
        self.disc(x, y, radius, None, Ink::Text);
        let fill = Ink::Text.colour(self.theme);
        let _ = writeln!(
            self.body,
            "<path d=\"M{x:.1} {:.1} A{radius:.1} {radius:.1} 0 0 0 {x:.1} {:.1} Z\" fill=\"{fill}\"/>",
            y - radius,
            y + radius
        );
    }

    /// A square on its corner, of the size of such a disc.
    pub(super) fn diamond(&mut self, x: f64, y: f64, radius: f64, fill: Option<Ink>, edge: Ink) {
        self.solid("diamond", x - radius, y - radius, 2.0 * radius, 2.0 * radius);
        let fill = fill.map_or("none", |ink| ink.colour(self.theme));
        let edge = edge.colour(self.theme);
        let r = radius * 1.2;
        let _ = writeln!(
            self.body,
            "<path d=\"M{x:.1} {:.1} L{:.1} {y:.1} L{x:.1} {:.1} L{:.1} {y:.1} Z\" fill=\"{fill}\" stroke=\"{edge}\" \
             stroke-width=\"1.5\"/>",
            y - r,
            x + r,
            y + r,
            x - r
        );
    }

    /// An egg of a kind, standing upright around its middle; a broken shell where it is of none.
    pub(super) fn egg(&mut self, x: f64, y: f64, width: f64, kind: Option<usize>) {
        self.solid("egg", x - width / 2.0, y - width * 0.64, width, width * 1.28);
        let (w, h) = (width / 2.0, width * 0.64);
        let path = format!(
            "M{x:.1} {top:.1} C{a:.1} {top:.1} {r:.1} {up:.1} {r:.1} {mid:.1} C{r:.1} {low:.1} {b:.1} {bot:.1} {x:.1} {bot:.1} \
             C{c:.1} {bot:.1} {l:.1} {low:.1} {l:.1} {mid:.1} C{l:.1} {up:.1} {d:.1} {top:.1} {x:.1} {top:.1} Z",
            top = y - h,
            bot = y + h,
            mid = y + h * 0.22,
            up = y - h * 0.35,
            low = y + h * 0.72,
            r = x + w,
            l = x - w,
            a = x + w * 0.5,
            b = x + w * 0.58,
            c = x - w * 0.58,
            d = x - w * 0.5,
        );
        let edge = Ink::Text.colour(self.theme);
        let _ = match kind {
            Some(kind) => writeln!(
                self.body,
                "<path d=\"{path}\" fill=\"{}\"/><path d=\"{path}\" fill=\"url(#m{})\" stroke=\"{edge}\" stroke-width=\"1\"/>",
                Ink::Kind(kind).colour(self.theme),
                kind % MARKS
            ),
            None => writeln!(
                self.body,
                "<path d=\"{path}\" fill=\"none\" stroke=\"{edge}\" stroke-width=\"1\" stroke-dasharray=\"2.5 2\"/>"
            ),
        };
    }

    /// The finished picture; `alt` says in words what it shows.
    pub(super) fn finish(mut self, alt: &str) -> Picture {
        if self.has_cut {
            self.space(6.0);
            self.paragraph(CUT_SAID, Style::SMALL);
        }
        let height = (self.y + MARGIN).ceil();
        // A line a thing: who hears it can stop between two.
        let alt = alt.lines().map(drawable_long).collect::<Vec<_>>().join("\n");
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{height}\" viewBox=\"0 0 {WIDTH} {height}\" \
             font-family=\"{}, sans-serif\" role=\"img\">\n<title>{}</title>\n<defs>{}</defs>\n\
             <rect width=\"{WIDTH}\" height=\"{height}\" fill=\"{}\"/>\n{}</svg>\n",
            font::FAMILY,
            escaped(&alt),
            marks(),
            Ink::Ground.colour(self.theme),
            self.body
        );
        Picture { svg, alt, width: WIDTH, height, placed: self.placed, solid: self.solid }
    }
}

/// A mark for each kind, drawn over its colour.
fn marks() -> String {
    const INK: &str = "stroke=\"#1B1D21\" stroke-width=\"1.4\" fill=\"none\"";
    let mut out = String::new();
    for (n, shape) in SHAPES.iter().enumerate() {
        let _ = write!(
            out,
            "<pattern id=\"m{n}\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"><g {INK}>{shape}</g></pattern>"
        );
    }
    out
}

/// The same text with only signs that can be drawn: others are shown as a box, marks that steer or pile up are dropped.
fn drawable(text: &str) -> String {
    drawable_long(text).chars().take(MOST_SIGNS).collect()
}

fn drawable_long(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.nfc() {
        if sign.is_whitespace() {
            if !out.ends_with(' ') {
                out.push(' ');
            }
        } else if font::has(sign) {
            out.push(sign);
        } else if !is_combining_mark(sign) && !sign.is_control() && !is_joiner(sign) && !out.ends_with(UNKNOWN) {
            out.push(UNKNOWN);
        }
    }
    out.trim().to_owned()
}

/// Signs that are seen only in what they do to others.
fn is_joiner(sign: char) -> bool {
    matches!(sign, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
        | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{1f3fb}'..='\u{1f3ff}' | '\u{e0000}'..='\u{e0fff}')
}

/// The nearest place that is a whole pixel at twice the size.
fn on_pixel(at: f64) -> f64 {
    (at * 2.0).round() / 2.0
}

fn dashes(dash: &str) -> String {
    if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dash}\"") }
}

/// How wide a text of this style is, as it is drawn.
pub(super) fn measured(text: &str, style: Style) -> f64 {
    font::width(&drawable(text), style.size, style.bold)
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// A text in lines that fit a width; a word that is too long for a line is broken.
pub(super) fn wrapped(text: &str, width: f64, style: Style) -> Vec<String> {
    let text = drawable(text);
    let wide = |text: &str| font::width(text, style.size, style.bold);
    let space = wide(" ");
    let mut lines: Vec<String> = Vec::new();
    // A letter's width does not hang on its neighbours, so widths add up.
    let (mut line, mut taken) = (String::new(), 0.0);
    for word in words(&text) {
        let own = wide(&word);
        if !line.is_empty() && taken + space + own <= width {
            line.push(' ');
            line.push_str(&word);
            taken += space + own;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        if own <= width {
            (line, taken) = (word, own);
            continue;
        }
        taken = 0.0;
        for sign in word.chars() {
            let one = wide(sign.encode_utf8(&mut [0; 4]));
            if !line.is_empty() && taken + one > width {
                lines.push(std::mem::take(&mut line));
                taken = 0.0;
            }
            line.push(sign);
            taken += one;
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// The same in so many letters at most, cut in its middle: names of a series differ at their end, and odds stand there.
pub(super) fn cut(text: &str, most: usize) -> Cow<'_, str> {
    let n = text.chars().count();
    if n <= most {
        return Cow::Borrowed(text);
    }
    let tail = most / 3;
    let head: String = text.chars().take(most - tail).collect();
    let end: String = text.chars().skip(n - tail).collect();
    Cow::Owned(format!("{}{CUT}{}", head.trim_end(), end.trim_start()))
}

/// The words of a text; a sign of sex, a number and a percent stay with what they belong to.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        match words.last_mut() {
            Some(last)
                if matches!(last.as_str(), "♂" | "♀")
                    || word.starts_with('%')
                    || last.chars().all(|c| c.is_ascii_digit()) && word.starts_with(char::is_lowercase) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}
