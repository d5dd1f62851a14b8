//! The font of all pictures: how wide a text is, and which signs it has.
//!
//! Loaded once. The two files are `DejaVu` Sans, cut down to what is drawn; their licence stands beside them.

use std::sync::{Arc, OnceLock};

use resvg::usvg::fontdb::Database;
use rustc_hash::FxHashMap;
use ttf_parser::Face;

static REGULAR: &[u8] = include_bytes!("font/DejaVuSans.ttf");
static BOLD: &[u8] = include_bytes!("font/DejaVuSans-Bold.ttf");

/// The family name, as the drawing names it.
pub(super) const FAMILY: &str = "DejaVu Sans";

/// Units of an em in both files.
const UNITS: f64 = 2048.0;
/// The height of capitals and of all letters above the line, as a share of the size.
pub(super) const ASCENT: f64 = 0.93;
/// What hangs below the line.
pub(super) const DESCENT: f64 = 0.24;

/// How wide each sign is, in units of the font: ordinary and bold.
fn advances() -> &'static FxHashMap<char, [u16; 2]> {
    static ADVANCES: OnceLock<FxHashMap<char, [u16; 2]>> = OnceLock::new();
    ADVANCES.get_or_init(|| read_advances().unwrap_or_default())
}

fn read_advances() -> Option<FxHashMap<char, [u16; 2]>> {
    let (regular, bold) = (Face::parse(REGULAR, 0).ok()?, Face::parse(BOLD, 0).ok()?);
    let wide = |face: &Face<'_>, sign: char| face.glyph_index(sign).and_then(|glyph| face.glyph_hor_advance(glyph));
    let mut advances = FxHashMap::default();
    for table in regular.tables().cmap?.subtables.into_iter().filter(ttf_parser::cmap::Subtable::is_unicode) {
        table.codepoints(|code| {
            if let Some(sign) = char::from_u32(code)
                && let Some(own) = wide(&regular, sign)
            {
                advances.insert(sign, [own, wide(&bold, sign).unwrap_or(own)]);
            }
        });
    }
    Some(advances)
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
    advances().contains_key(&sign)
}

/// The width of a text of this size, in pixels.
pub(super) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let advances = advances();
    let units: u32 =
        text.chars().filter_map(|sign| advances.get(&sign)).map(|wide| u32::from(wide[usize::from(bold)])).sum();
    f64::from(units) * size / UNITS
}
