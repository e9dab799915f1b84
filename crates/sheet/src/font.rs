//! The drawing's typeface (Inter, SIL Open Font License 1.1; see assets/fonts).

use crate::marks::Weight;
use crate::typefaces::{is_plain, is_unseen, runs};
use std::sync::OnceLock;
use unicode_segmentation::UnicodeSegmentation;

/// Family name.
pub const FAMILY: &str = "Inter";
/// Regular weight.
pub const REGULAR_TTF: &[u8] = include_bytes!("../../../assets/fonts/Inter-Regular.otf");
/// Semi-bold weight.
pub const BOLD_TTF: &[u8] = include_bytes!("../../../assets/fonts/Inter-SemiBold.otf");

fn face(weight: Weight) -> Option<&'static ttf_parser::Face<'static>> {
    static FACES: OnceLock<[Option<ttf_parser::Face<'static>>; 2]> = OnceLock::new();
    let faces = FACES.get_or_init(|| [REGULAR_TTF, BOLD_TTF].map(|data| ttf_parser::Face::parse(data, 0).ok()));
    faces[usize::from(weight == Weight::Bold)].as_ref()
}

/// Whether the drawing's own typeface has a character.
pub(crate) fn owns(c: char) -> bool {
    c.is_ascii() || face(Weight::Regular).is_some_and(|f| f.glyph_index(c).is_some())
}

/// Width at a type size of one in the drawing's own typeface, without kerning.
pub(crate) fn own_width_em(text: &str, weight: Weight) -> f64 {
    let Some(face) = face(weight) else { return text.chars().count() as f64 * 0.55 };
    let units: f64 = text
        .chars()
        .filter(|c| !is_unseen(*c))
        .map(|c| {
            face.glyph_index(c)
                .and_then(|g| face.glyph_hor_advance(g))
                .map_or(0.55 * f64::from(face.units_per_em()), f64::from)
        })
        .sum();
    units / f64::from(face.units_per_em())
}

/// Width of a line of text, millimetres, without kerning; what the drawing's own typeface lacks, as shaped in the
/// system's typeface for it.
#[must_use]
pub fn text_width_mm(text: &str, size_mm: f64, weight: Weight) -> f64 {
    size_mm
        * match is_plain(text) {
            true => own_width_em(text, weight),
            false => runs(text, weight).iter().map(|r| r.width_em).sum::<f64>(),
        }
}

/// Text cut with an ellipsis to fit a width, between what readers take for characters.
#[must_use]
pub fn fitted(text: &str, size_mm: f64, weight: Weight, width_mm: f64) -> String {
    if text_width_mm(text, size_mm, weight) <= width_mm {
        return text.into();
    }
    let mut out = "";
    for (at, cluster) in text.grapheme_indices(true) {
        let longer = &text[..at + cluster.len()];
        if text_width_mm(&format!("{longer}…"), size_mm, weight) > width_mm {
            break;
        }
        out = longer;
    }
    format!("{}…", out.trim_end())
}

/// Text broken into lines that fit a width: between words, and within a word that is wider, as in scripts that leave no
/// room between words.
#[must_use]
pub fn wrapped(text: &str, size_mm: f64, weight: Weight, width_mm: f64) -> Vec<String> {
    let fits = |line: &str| text_width_mm(line, size_mm, weight) <= width_mm;
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        if fits(word) {
            line = word.to_string();
            continue;
        }
        for cluster in word.graphemes(true) {
            let longer = format!("{line}{cluster}");
            if !line.is_empty() && !fits(&longer) {
                lines.push(std::mem::take(&mut line));
            }
            line.push_str(cluster);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}
