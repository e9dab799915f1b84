//! PNG through resvg.

use crate::SheetError;
use crate::font::{BOLD_TTF, FAMILY, REGULAR_TTF};
use crate::marks::{Shape, Weight};
use crate::page::Page;
use crate::svg::{Fonts, write};
use crate::typefaces::typefaces_for;
use resvg::{tiny_skia, usvg};
use std::sync::Arc;
use tapemark_words::say;

/// Most pixels of a picture.
const MAX_PIXELS: f64 = 100e6;

/// Writes a page as PNG at a resolution in dots an inch.
///
/// # Errors
/// When the picture would be too large, or its drawing cannot be read back.
pub fn to_png(page: &Page, dots_per_inch: f64) -> Result<Vec<u8>, SheetError> {
    let scale = dots_per_inch / 25.4;
    let (w, h) = ((page.width_mm * scale).round(), (page.height_mm * scale).round());
    if !(w >= 1.0 && h >= 1.0 && w * h <= MAX_PIXELS) {
        return Err(SheetError(say!("a-picture-of-pixels-is-not", w, h)));
    }
    let mut options = usvg::Options { font_family: FAMILY.into(), ..usvg::Options::default() };
    let fonts = Arc::make_mut(&mut options.fontdb);
    fonts.load_font_data(REGULAR_TTF.to_vec());
    fonts.load_font_data(BOLD_TTF.to_vec());
    fonts.set_sans_serif_family(FAMILY);
    // What the own typeface lacks is looked for among those that stand beside it.
    let marks = page.marks.iter().chain(&page.clipped);
    for weight in [Weight::Regular, Weight::Bold] {
        let texts = marks.clone().filter_map(|m| match &m.shape {
            Shape::Text { text, weight: of, .. } if *of == weight => Some(text.as_str()),
            _ => None,
        });
        for face in typefaces_for(texts, weight) {
            fonts.load_font_source(fontdb::Source::Binary(face.data.clone()));
        }
    }
    let tree = usvg::Tree::from_str(&write(page, Fonts::Outside), &options)
        .map_err(|e| SheetError(say!("the-drawing-could-not-be-read", e)))?;
    let mut pixels = tiny_skia::Pixmap::new(w as u32, h as u32)
        .ok_or_else(|| SheetError(say!("no-memory-for-the-picture").into()))?;
    let fit = tiny_skia::Transform::from_scale(
        (w / f64::from(tree.size().width())) as f32,
        (h / f64::from(tree.size().height())) as f32,
    );
    resvg::render(&tree, fit, &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| SheetError(say!("the-picture-could-not-be-written", e)))
}

/// Plain pixels (not premultiplied) as PNG.
pub(crate) fn encode(width: u32, height: u32, rgba: &[u8]) -> Option<Vec<u8>> {
    let mut pixels = tiny_skia::Pixmap::new(width, height)?;
    for (to, from) in pixels.pixels_mut().iter_mut().zip(rgba.chunks_exact(4)) {
        *to = tiny_skia::ColorU8::from_rgba(from[0], from[1], from[2], from[3]).premultiply();
    }
    pixels.encode_png().ok()
}
