//! Pixels to PNG with a palette: a drawing has few colours, so a quarter of the bytes is enough.

use resvg::tiny_skia::Pixmap;
use rustc_hash::FxHashMap;

use super::PictureError;
use super::canvas::Ink;

/// Colours of a palette: those that the theme draws with, and what lies between them at the edges of letters. Twice as many
/// made files a twentieth larger, and nobody could see it.
const MOST_COLOURS: usize = 48;

/// Red, green, blue.
type Colour = [u8; 3];

/// The pixels as a PNG file.
///
/// # Errors
/// [`PictureError::Drawing`] when they cannot be encoded.
pub(super) fn encode(pixels: &Pixmap) -> Result<Vec<u8>, PictureError> {
    let (palette, places) = palette(pixels);
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.concat());
    // A tenth more bytes than at level 4 in the fullest drawings, and a fifth less time.
    encoder.set_deflate_compression(png::DeflateCompression::Level(2));
    encoder.set_filter(png::Filter::NoFilter);
    let refused = |e: png::EncodingError| PictureError::Drawing(e.to_string());
    let mut writer = encoder.write_header().map_err(refused)?;
    writer.write_image_data(&places).map_err(refused)?;
    writer.finish().map_err(refused)?;
    Ok(bytes)
}

/// Colours, and for each pixel which of them is nearest.
fn palette(pixels: &Pixmap) -> (Vec<Colour>, Vec<u8>) {
    let colours = || pixels.data().chunks_exact(4).map(|p| [p[0], p[1], p[2]]);
    let mut counts: FxHashMap<Colour, u32> = FxHashMap::default();
    // Most pixels are like the one before: only the first of a run is looked up.
    let mut run: (Colour, u32) = ([0; 3], 0);
    for colour in colours() {
        if colour != run.0 {
            *counts.entry(run.0).or_default() += run.1;
            run = (colour, 0);
        }
        run.1 += 1;
    }
    *counts.entry(run.0).or_default() += run.1;
    let mut all: Vec<(Colour, u32)> = counts.into_iter().filter(|(_, n)| *n > 0).collect();
    // What is drawn with comes first, however few its pixels are.
    let inks = Ink::all();
    all.sort_unstable_by_key(|(colour, n)| (!inks.contains(colour), std::cmp::Reverse(*n), *colour));
    let palette: Vec<Colour> = all.iter().take(MOST_COLOURS).map(|c| c.0).collect();
    let nearest: FxHashMap<Colour, u8> = all.iter().map(|(colour, _)| (*colour, nearest(&palette, *colour))).collect();
    let mut places = Vec::with_capacity(pixels.data().len() / 4);
    let mut last = ([0; 3], nearest.get(&[0; 3]).copied().unwrap_or(0));
    for colour in colours() {
        if colour != last.0 {
            last = (colour, nearest.get(&colour).copied().unwrap_or(0));
        }
        places.push(last.1);
    }
    (palette, places)
}

fn nearest(palette: &[Colour], colour: Colour) -> u8 {
    let far = |other: &Colour| -> u32 { other.iter().zip(colour).map(|(a, b)| u32::from(a.abs_diff(b)).pow(2)).sum() };
    let place = palette.iter().enumerate().min_by_key(|(_, other)| far(other)).map_or(0, |(place, _)| place);
    u8::try_from(place).unwrap_or(0)
}
