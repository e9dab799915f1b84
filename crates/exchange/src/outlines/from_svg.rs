//! Lines of a drawing in scalable vector graphics.

use super::Polyline;
use crate::ExchangeError;
use glam::DVec2;
use resvg::{tiny_skia, usvg};
use tapemark_words::say;

/// References to patterns, clips, masks, filters and markers.
const REFERENCE: &str = "url(";

/// The text with those references broken: outlines need none of them, and circles of them never end.
fn without_references(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    let lower = text.to_ascii_lowercase();
    while let Some(at) = lower[text.len() - rest.len()..].find(REFERENCE) {
        out += &rest[..at];
        out += "not(";
        rest = &rest[at + REFERENCE.len()..];
    }
    out + rest
}

/// Most attributes held against one another: a reader looks through those an element has for each that it reads.
const MOST_COMPARED: usize = 100_000_000;
/// Most characters of style rules times elements: a reader tries every rule on every element.
const MOST_STYLED: usize = 100_000_000;

/// How many attributes are held against one another when each is looked for among those of its element.
fn attributes_compared(text: &str) -> usize {
    // An element's attributes all lie before the next sign of less-than.
    text.split('<').map(|tag| tag.matches('=').count()).map(|n| n.saturating_mul(n)).fold(0, usize::saturating_add)
}

pub(super) fn lines(bytes: &[u8], unit: Option<f64>) -> Result<Vec<Polyline>, ExchangeError> {
    let bad = |what: String| ExchangeError::new(what, say!("save-it-again-as-plain-svg"));
    let text = std::str::from_utf8(bytes).map_err(|_| bad(say!("the-svg-file-is-not-text").into()))?;
    let text = without_references(text);
    let words = || bad(say!("the-svg-file-has-too-many").into());
    if attributes_compared(&text) > MOST_COMPARED {
        return Err(words());
    }
    let reading = usvg::roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let page = usvg::roxmltree::Document::parse_with_options(&text, reading)
        .map_err(|e| bad(say!("the-svg-file-could-not-be", e)))?;
    // Entities may spell a reference that the text did not show.
    let refers = |s: &str| s.to_ascii_lowercase().contains(REFERENCE);
    if page.descendants().any(|n| n.attributes().any(|a| refers(a.value())) || n.text().is_some_and(refers)) {
        return Err(bad(say!("the-svg-file-hides-references").into()));
    }
    let style: usize =
        page.descendants().filter(|n| n.has_tag_name("style")).filter_map(|n| n.text()).map(str::len).sum();
    if style.saturating_mul(text.matches('<').count()) > MOST_STYLED {
        return Err(words());
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
