//! Pixels to PNG with a palette: a drawing has few colours, so a quarter of the bytes is enough.

use resvg::tiny_skia::Pixmap;
use rustc_hash::FxHashMap;

use super::PictureError;

/// Colours of a palette.
const MOST_COLOURS: usize = 256;

type Colour = [u8; 3];

/// The pixels as a PNG file.
///
/// # Errors
/// [`PictureError::Drawing`] when they cannot be encoded.
pub(super) fn encode(pixels: &Pixmap) -> Result<Vec<u8>, PictureError> {
    let colours: Vec<Colour> = pixels.data().chunks_exact(4).map(|p| [p[0], p[1], p[2]]).collect();
    let (palette, places) = palette(&colours);
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::Balanced);
    encoder.set_filter(png::Filter::NoFilter);
    let refused = |e: png::EncodingError| PictureError::Drawing(e.to_string());
    let mut writer = encoder.write_header().map_err(refused)?;
    writer.write_image_data(&places).map_err(refused)?;
    writer.finish().map_err(refused)?;
    Ok(bytes)
}

/// The commonest colours, and for each pixel which of them is nearest.
fn palette(colours: &[Colour]) -> (Vec<Colour>, Vec<u8>) {
    let mut counts: FxHashMap<Colour, u32> = FxHashMap::default();
    for colour in colours {
        *counts.entry(*colour).or_default() += 1;
    }
    let mut all: Vec<(Colour, u32)> = counts.into_iter().collect();
    all.sort_unstable_by_key(|(colour, n)| (std::cmp::Reverse(*n), *colour));
    let palette: Vec<Colour> = all.iter().take(MOST_COLOURS).map(|c| c.0).collect();
    let nearest: FxHashMap<Colour, u8> = all.iter().map(|(colour, _)| (*colour, nearest(&palette, *colour))).collect();
    let places = colours.iter().map(|colour| nearest.get(colour).copied().unwrap_or(0)).collect();
    (palette, places)
}

fn nearest(palette: &[Colour], colour: Colour) -> u8 {
    let far = |other: &Colour| -> u32 { other.iter().zip(colour).map(|(a, b)| u32::from(a.abs_diff(b)).pow(2)).sum() };
    let place = palette.iter().enumerate().min_by_key(|(_, other)| far(other)).map_or(0, |(place, _)| place);
    u8::try_from(place).unwrap_or(0)
}
