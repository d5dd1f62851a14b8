//! The font of all pictures: how wide a text is, and which signs it has.
//!
//! Loaded once. The two files are `DejaVu` Sans, cut down to what is drawn; their licence stands beside them.

use std::sync::{Arc, OnceLock};

use resvg::usvg::fontdb::Database;
use ttf_parser::Face;

static REGULAR: &[u8] = include_bytes!("font/DejaVuSans.ttf");
static BOLD: &[u8] = include_bytes!("font/DejaVuSans-Bold.ttf");

/// The family name, as the drawing names it.
pub(super) const FAMILY: &str = "DejaVu Sans";

/// The height of capitals and of all letters above the line, as a share of the size.
pub(super) const ASCENT: f64 = 0.93;
/// What hangs below the line.
pub(super) const DESCENT: f64 = 0.24;

struct Faces {
    regular: Face<'static>,
    bold: Face<'static>,
}

fn faces() -> Option<&'static Faces> {
    static FACES: OnceLock<Option<Faces>> = OnceLock::new();
    FACES
        .get_or_init(|| Some(Faces { regular: Face::parse(REGULAR, 0).ok()?, bold: Face::parse(BOLD, 0).ok()? }))
        .as_ref()
}

/// The font as the renderer wants it.
pub(super) fn database() -> Arc<Database> {
    static DATABASE: OnceLock<Arc<Database>> = OnceLock::new();
    Arc::clone(DATABASE.get_or_init(|| {
        let mut fonts = Database::new();
        fonts.load_font_data(REGULAR.to_vec());
        fonts.load_font_data(BOLD.to_vec());
        Arc::new(fonts)
    }))
}

/// Whether the font has this sign.
pub(super) fn has(sign: char) -> bool {
    faces().is_some_and(|f| f.regular.glyph_index(sign).is_some())
}

/// The width of a text of this size, in pixels.
pub(super) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let Some(faces) = faces() else { return 0.0 };
    let face = if bold { &faces.bold } else { &faces.regular };
    let units: u32 = text
        .chars()
        .filter_map(|sign| face.glyph_index(sign).and_then(|glyph| face.glyph_hor_advance(glyph)))
        .map(u32::from)
        .sum();
    f64::from(units) * size / f64::from(face.units_per_em())
}
