//! Lines of a drawing in scalable vector graphics.

use super::Polyline;
use super::svg_limits::{MOST_COMPARED, attributes_compared, beyond, entities_spell_too_much, without_references};
use crate::ExchangeError;
use glam::DVec2;
use resvg::{tiny_skia, usvg};
use tapemark_words::say;

pub(super) fn lines(bytes: &[u8], unit: Option<f64>) -> Result<Vec<Polyline>, ExchangeError> {
    let bad = |what: String| ExchangeError::new(what, say!("save-it-again-as-plain-svg"));
    let text = std::str::from_utf8(bytes).map_err(|_| bad(say!("the-svg-file-is-not-text").into()))?;
    let text = without_references(text);
    if attributes_compared(&text) > MOST_COMPARED || entities_spell_too_much(&text) {
        return Err(bad(say!("the-svg-file-has-too-many").into()));
    }
    let reading = usvg::roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let page = usvg::roxmltree::Document::parse_with_options(&text, reading)
        .map_err(|e| bad(say!("the-svg-file-could-not-be", e)))?;
    if let Some(what) = beyond(&page) {
        return Err(bad(what));
    }
    // Pictures in it are not looked at: neither files beside it nor drawings within it.
    let options = usvg::Options {
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_xmltree(&page, &options).map_err(|e| bad(say!("the-svg-file-could-not-be", e)))?;
    // A px is 1/96 in (CSS): where the drawing is to scale on paper, say its unit.
    let k = unit.ok_or_else(|| ExchangeError::of_no_unit(say!("an-svg-drawing-has-no-unit")))?;
    let mut out = Vec::new();
    paths_of(tree.root(), k, &mut out);
    Ok(out)
}

fn paths_of(group: &usvg::Group, k: f64, out: &mut Vec<Polyline>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(g) => paths_of(g, k, out),
            usvg::Node::Path(path) => {
                let Some(data) = path.data().clone().transform(path.abs_transform()) else { continue };
                flatten(&data, k, out);
            }
            _ => {}
        }
    }
}

/// Curves become chords; y turns up.
fn flatten(path: &tiny_skia::Path, k: f64, out: &mut Vec<Polyline>) {
    use tiny_skia::PathSegment::{Close, CubicTo, LineTo, MoveTo, QuadTo};
    let at = |p: tiny_skia::Point| DVec2::new(f64::from(p.x), -f64::from(p.y)) * k;
    let mut line: Vec<DVec2> = Vec::new();
    let finish = |line: &mut Vec<DVec2>, closed: bool, out: &mut Vec<Polyline>| {
        if line.len() > 1 {
            out.push((std::mem::take(line), closed));
        }
        line.clear();
    };
    for segment in path.segments() {
        match segment {
            MoveTo(p) => {
                finish(&mut line, false, out);
                line.push(at(p));
            }
            LineTo(p) => line.push(at(p)),
            QuadTo(c, p) => {
                let (a, c, p) = (line.last().copied().unwrap_or_default(), at(c), at(p));
                let n = steps(a.distance(c) + c.distance(p));
                line.extend((1..=n).map(|i| {
                    let t = f64::from(i) / f64::from(n);
                    a.lerp(c, t).lerp(c.lerp(p, t), t)
                }));
            }
            CubicTo(c, d, p) => {
                let (a, c, d, p) = (line.last().copied().unwrap_or_default(), at(c), at(d), at(p));
                let n = steps(a.distance(c) + c.distance(d) + d.distance(p));
                line.extend((1..=n).map(|i| {
                    let t = f64::from(i) / f64::from(n);
                    let (u, v, w) = (a.lerp(c, t), c.lerp(d, t), d.lerp(p, t));
                    u.lerp(v, t).lerp(v.lerp(w, t), t)
                }));
            }
            Close => finish(&mut line, true, out),
        }
    }
    finish(&mut line, false, out);
}

fn steps(length_m: f64) -> u32 {
    ((length_m / 0.2).ceil() as u32).clamp(4, 64)
}
