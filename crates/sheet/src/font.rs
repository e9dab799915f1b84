//! The drawing's typeface (Inter, SIL Open Font License 1.1; see assets/fonts).

use crate::marks::Weight;
use std::sync::OnceLock;

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

/// Width of a line of text, millimetres, without kerning.
#[must_use]
pub fn text_width_mm(text: &str, size_mm: f64, weight: Weight) -> f64 {
    let Some(face) = face(weight) else { return text.chars().count() as f64 * size_mm * 0.55 };
    let units: f64 = text
        .chars()
        .map(|c| {
            face.glyph_index(c)
                .and_then(|g| face.glyph_hor_advance(g))
                .map_or(0.55 * f64::from(face.units_per_em()), f64::from)
        })
        .sum();
    units / f64::from(face.units_per_em()) * size_mm
}

/// Text cut with an ellipsis to fit a width.
#[must_use]
pub fn fitted(text: &str, size_mm: f64, weight: Weight, width_mm: f64) -> String {
    if text_width_mm(text, size_mm, weight) <= width_mm {
        return text.into();
    }
    let mut out = String::new();
    for c in text.chars() {
        out.push(c);
        if text_width_mm(&format!("{out}…"), size_mm, weight) > width_mm {
            out.pop();
            break;
        }
    }
    format!("{}…", out.trim_end())
}

/// Text broken into lines that fit a width.
#[must_use]
pub fn wrapped(text: &str, size_mm: f64, weight: Weight, width_mm: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
        if !line.is_empty() && text_width_mm(&longer, size_mm, weight) > width_mm {
            lines.push(std::mem::replace(&mut line, word.to_string()));
        } else {
            line = longer;
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}
