//! Pictures of an answer: data in, SVG out, and PNG made of it.
//!
//! In: a [`Drawing`], which a reply holds beside its text. Out: a [`Picture`] as wide as a phone, in a dark or a light
//! theme, with words that say the same. Never: a gene, a database, a chat. What is drawn is drawn from the subject:
//! eggs of a clutch, copies of an allele, generations. No meaning stands in colour alone: each kind has a mark besides.
//! Start at [`Drawing::draw`].

mod belief; // how sure a possible het is, clutch by clutch
mod canvas; // shapes and text to SVG
mod clutch; // an average clutch, and the spread of luck
mod curves; // the chance to be done, plan beside plan
mod family; // ancestors and young of one animal
mod font; // how wide a text is
mod plan; // a project from phase to phase
mod png; // pixels to a small file
mod season; // who goes to whom
mod square; // gametes against gametes, or gene by gene
mod weight; // a female's weight over a year

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg;
use thiserror::Error;

use canvas::Canvas;

pub use belief::Belief;
pub use clutch::{Clutch, KindOfYoung, Luck};
pub use curves::{Curve, Curves};
pub use family::{Family, MOST as MOST_RELATIVES, Relative, nearest};
pub use plan::{Phase, Plan};
pub use season::{Pairing, Resting, Season};
pub use square::{Cell, Factor, Gamete, Share, Square};
pub use weight::{Mark, Weighing, Weight};

/// A share in millionths.
pub type Millionths = u32;

/// A chance within 0 and 1 as a share; what lies outside is cut.
#[must_use]
pub fn millionths(chance: f64) -> Millionths {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // cut to what fits
    let rounded = (chance.clamp(0.0, 1.0) * 1_000_000.0).round() as Millionths;
    rounded
}

/// Pixels of a PNG for each pixel of the drawing.
const SCALE: f32 = 2.0;
/// Letters on a picture: more are no glance, and about 60 bytes of a file each.
const MOST_LETTERS: usize = 1_300;
/// The longest side of a PNG, in pixels.
const MOST_PIXELS: f64 = 12_000.0;

/// On what ground a picture is looked at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Theme {
    /// Light on dark.
    #[default]
    Dark,
    /// Dark on light.
    Light,
}

/// What a picture shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Drawing {
    /// The odds as eggs of a clutch.
    Clutch(Clutch),
    /// Gametes against gametes, or the genes one by one.
    Square(Square),
    /// A project's phases.
    Plan(Plan),
    /// The chance to be done, plan beside plan.
    Curves(Curves),
    /// Who goes to whom.
    Season(Season),
    /// The family of one animal.
    Family(Family),
    /// How sure a possible het is.
    Belief(Belief),
    /// Weights over a year.
    Weight(Weight),
}

/// A finished picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// The drawing as SVG.
    pub svg: String,
    /// The same in words.
    pub alt: String,
    /// Its width in pixels.
    pub width: f64,
    /// Its height in pixels.
    pub height: f64,
    /// Where every line of text stands.
    pub placed: Vec<Placed>,
    /// Where every filled shape stands that no text may lie on.
    pub solid: Vec<Placed>,
}

/// A line of text or a shape, and the room it takes, in pixels from the upper left corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// What is written, or the kind of shape.
    pub text: String,
    /// Its left edge.
    pub x: f64,
    /// Its upper edge.
    pub y: f64,
    /// How wide it is.
    pub width: f64,
    /// How high it is.
    pub height: f64,
}

/// A picture that could not be made.
#[derive(Debug, Error)]
pub enum PictureError {
    /// The drawing is not understood by the renderer.
    #[error("the picture could not be drawn: {0}")]
    Drawing(String),
    /// It would be too large.
    #[error("the picture would be {0:.0} pixels high, more than can be drawn; ask for less at once")]
    Size(f64),
}

impl Drawing {
    /// Draws it; what would be too much to read has its longest texts cut, and `alt` says them whole.
    #[must_use]
    pub fn draw(&self, theme: Theme) -> Picture {
        let mut picture = self.within(Canvas::new(theme, usize::MAX));
        for most in [60, 40, 30, 24, 16] {
            if picture.n_letters() <= MOST_LETTERS {
                break;
            }
            picture = self.within(Canvas::new(theme, most));
        }
        picture
    }

    fn within(&self, canvas: Canvas) -> Picture {
        match self {
            Drawing::Clutch(data) => clutch::draw(data, canvas),
            Drawing::Square(data) => square::draw(data, canvas),
            Drawing::Plan(data) => plan::draw(data, canvas),
            Drawing::Curves(data) => curves::draw(data, canvas),
            Drawing::Season(data) => season::draw(data, canvas),
            Drawing::Family(data) => family::draw(data, canvas),
            Drawing::Belief(data) => belief::draw(data, canvas),
            Drawing::Weight(data) => weight::draw(data, canvas),
        }
    }
}

impl Picture {
    fn n_letters(&self) -> usize {
        self.placed.iter().map(|line| line.text.chars().count()).sum()
    }

    /// The picture as PNG, at twice its size.
    ///
    /// # Errors
    /// [`PictureError`] when it is too large or the renderer refuses it.
    pub fn png(&self) -> Result<Vec<u8>, PictureError> {
        let refused = |e: &dyn std::fmt::Display| PictureError::Drawing(e.to_string());
        if self.height * f64::from(SCALE) > MOST_PIXELS {
            return Err(PictureError::Size(self.height * f64::from(SCALE)));
        }
        let options = usvg::Options {
            fontdb: font::database(),
            font_family: font::FAMILY.to_owned(),
            ..usvg::Options::default()
        };
        let tree = usvg::Tree::from_str(&self.svg, &options).map_err(|e| refused(&e))?;
        let size = tree.size().to_int_size().scale_by(SCALE).ok_or_else(|| refused(&"it is empty"))?;
        let mut pixels = Pixmap::new(size.width(), size.height()).ok_or_else(|| refused(&"it is empty"))?;
        resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut pixels.as_mut());
        png::encode(&pixels)
    }
}

/// Shown in percent: "6.25 %", no more digits than it has.
fn percent(share: Millionths) -> String {
    let hundredths = (share + 50) / 100;
    if share > 0 && hundredths == 0 {
        return "under 0.01 %".to_owned();
    }
    let (whole, part) = (hundredths / 100, hundredths % 100);
    match part {
        0 => format!("{whole} %"),
        p if p % 10 == 0 => format!("{whole}.{} %", p / 10),
        p => format!("{whole}.{p:02} %"),
    }
}

/// To the nearest whole percent; what is not sure is not said to be, nor what can come to be impossible.
fn rounded(share: Millionths) -> String {
    match (whole(share), share) {
        (0, 1..) => "under 1 %".to_owned(),
        (1_000_000, ..=999_999) => "over 99 %".to_owned(),
        (near, _) => percent(near),
    }
}

/// The same to the nearest whole percent.
fn whole(share: Millionths) -> Millionths {
    (share + 5_000) / 10_000 * 10_000
}

/// A share of a length.
fn part(share: Millionths, of: f64) -> f64 {
    f64::from(share) / 1_000_000.0 * of
}
