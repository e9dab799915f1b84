//! What a vector drawing of rooms never asks for, and what would keep or take down a reader that trusts it.

use resvg::usvg::roxmltree::{Document, Node};
use std::str::FromStr;
use svgtypes::{Length, PathParser, PathSegment};
use tapemark_words::say;

/// References to patterns, clips, masks, filters and markers.
const REFERENCE: &str = "url(";
/// Most attributes held against one another: a reader looks through those an element has for each that it reads.
pub(super) const MOST_COMPARED: usize = 100_000_000;
/// Most characters of style rules times elements: a reader tries every rule on every element.
const MOST_STYLED: usize = 100_000_000;
/// Most characters of styles times themselves: a reader counts lines from the start for each declaration.
const MOST_DECLARED: usize = 20_000_000_000;
/// What declares an entity.
const ENTITY: &str = "<!ENTITY";
/// Most characters that entities stand for, times how often any is named.
const MOST_SPELT: usize = 10_000_000;
/// Most segments of all paths.
const MOST_SEGMENTS: usize = super::MAX_POINTS;
/// Most closings of one outline after another: a reader goes into each.
const MOST_CLOSINGS: usize = 100;
/// Largest radius, and furthest that an outline with arcs reaches, in units of the drawing: curves are cut the finer
/// the rounder they are.
const MOST_RADIUS: f64 = 1e7;

/// The text with references to patterns and the like broken: outlines need none, and circles of them never end.
pub(super) fn without_references(text: &str) -> String {
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

/// How many attributes are held against one another when each is looked for among those of its element.
pub(super) fn attributes_compared(text: &str) -> usize {
    // An element's attributes all lie before the next sign of less-than.
    text.split('<').map(|tag| squared(tag.matches('=').count())).fold(0, usize::saturating_add)
}

/// Whether entities of the text spell more than it says: one within another, or long ones many times.
pub(super) fn entities_spell_too_much(text: &str) -> bool {
    let mut spelt = 0;
    for declared in text.split(ENTITY).skip(1) {
        // What it stands for is between the first quotation mark and the next of its kind.
        let value = declared.split_once(['"', '\'']).map(|(before, after)| {
            let mark = declared.as_bytes()[before.len()] as char;
            after.split_once(mark).map_or(after, |(value, _)| value)
        });
        let value = value.unwrap_or_default();
        if value.contains('&') {
            return true;
        }
        spelt += value.len();
    }
    spelt.saturating_mul(text.matches('&').count()) > MOST_SPELT
}

fn squared(n: usize) -> usize {
    n.saturating_mul(n)
}

/// What of a page is more than a drawing of rooms has; none when it can be read.
pub(super) fn beyond(page: &Document<'_>) -> Option<String> {
    // Entities may spell a reference that the text did not show.
    let refers = |s: &str| s.to_ascii_lowercase().contains(REFERENCE);
    if page.descendants().any(|n| n.attributes().any(|a| refers(a.value())) || n.text().is_some_and(refers)) {
        return Some(say!("the-svg-file-hides-references").into());
    }
    (styles_too_long(page) || curves_too_many(page)).then(|| say!("the-svg-file-has-too-many").into())
}

fn styles_too_long(page: &Document<'_>) -> bool {
    let (mut rules, mut declared, mut elements) = (0_usize, 0_usize, 0_usize);
    for n in page.descendants() {
        elements += usize::from(n.is_element());
        declared = declared.saturating_add(squared(n.attribute("style").map_or(0, str::len)));
        if n.is_text() && n.ancestors().any(|a| a.has_tag_name("style")) {
            rules += n.text().map_or(0, str::len);
        }
    }
    declared.saturating_add(squared(rules)) > MOST_DECLARED || rules.saturating_mul(elements) > MOST_STYLED
}

fn curves_too_many(page: &Document<'_>) -> bool {
    let mut segments = 0;
    page.descendants().filter(Node::is_element).any(|n| {
        let round = |name: &str| {
            let length = n.attribute(name).and_then(|v| Length::from_str(v).ok());
            length.is_some_and(|l| l.number.abs() > MOST_RADIUS)
        };
        ["r", "rx", "ry", "width", "height"].into_iter().any(round)
            || n.attribute("d").is_some_and(|d| path_beyond(d, &mut segments))
    })
}

fn path_beyond(d: &str, segments: &mut usize) -> bool {
    let (mut closings, mut furthest, mut round) = (0, 0.0_f64, false);
    for segment in PathParser::from(d).map_while(Result::ok) {
        *segments += 1;
        closings = if matches!(segment, PathSegment::ClosePath { .. }) { closings + 1 } else { 0 };
        round |= matches!(segment, PathSegment::EllipticalArc { .. });
        furthest = furthest.max(reach(segment));
        // An arc that is too small for its ends is made larger until it reaches them.
        if (round && furthest > MOST_RADIUS) || closings > MOST_CLOSINGS || *segments > MOST_SEGMENTS {
            return true;
        }
    }
    false
}

/// The largest number of where a segment ends, and of an arc's radii.
fn reach(segment: PathSegment) -> f64 {
    let numbers = match segment {
        PathSegment::MoveTo { x, y, .. }
        | PathSegment::LineTo { x, y, .. }
        | PathSegment::CurveTo { x, y, .. }
        | PathSegment::SmoothCurveTo { x, y, .. }
        | PathSegment::Quadratic { x, y, .. }
        | PathSegment::SmoothQuadratic { x, y, .. } => [x, y, 0.0, 0.0],
        PathSegment::HorizontalLineTo { x, .. } => [x, 0.0, 0.0, 0.0],
        PathSegment::VerticalLineTo { y, .. } => [y, 0.0, 0.0, 0.0],
        PathSegment::EllipticalArc { rx, ry, x, y, .. } => [rx, ry, x, y],
        PathSegment::ClosePath { .. } => [0.0; 4],
    };
    numbers.into_iter().map(f64::abs).fold(0.0, f64::max)
}
