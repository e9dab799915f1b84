//! Room outlines from a drawing: closed polylines, and lines that join to a ring.

use crate::ExchangeError;
use dxf::entities::EntityType;
use dxf::enums::Units;
use glam::DVec2;
use resvg::{tiny_skia, usvg};
use tapemark_core::edit::{Edit, Item};
use tapemark_core::geometry::{point_in_polygon, polygon_self_crossing, signed_area};
use tapemark_core::plan::{Plan, Room};
use tapemark_words::say;

/// A drawing's kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawing {
    /// Drawing exchange format, text or binary.
    Dxf,
    /// Scalable vector graphics.
    Svg,
}

/// Outlines found in a drawing, metres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outlines {
    /// Closed outlines that can be rooms, counter-clockwise, largest first.
    pub rooms: Vec<Vec<DVec2>>,
    /// What was left out and why, a line each.
    pub left_out: Vec<String>,
}

/// Largest drawing that is read, bytes.
pub const MAX_DRAWING_BYTES: usize = 64 << 20;
/// Most points of all lines together.
const MAX_POINTS: usize = 200_000;
/// Most rooms taken.
const MAX_ROOMS: usize = 500;
/// Smaller outlines are furniture and symbols, m².
const LEAST_ROOM_M2: f64 = 1.0;
/// Ends this near are one corner, metres.
const JOIN_M: f64 = 0.02;
/// Curves are cut so that no chord leaves them by more than this, metres.
const CHORD_M: f64 = 0.01;

/// Reads a drawing's outlines. A unit of the drawing is `metres_per_unit` long; where that is not said, a DXF file's
/// own unit is taken.
///
/// # Errors
/// When the file cannot be read, is too large, or says no unit and none is given.
pub fn outlines(bytes: &[u8], kind: Drawing, metres_per_unit: Option<f64>) -> Result<Outlines, ExchangeError> {
    if bytes.len() > MAX_DRAWING_BYTES {
        return Err(ExchangeError::new(say!("the-drawing-is-too-large"), say!("choose-one-under-64-mb-or")));
    }
    if metres_per_unit.is_some_and(|m| !(1e-6..=1e4).contains(&m)) {
        return Err(ExchangeError::new(say!("that-is-no-length-of-a"), say!("write-metres-a-unit-like-0")));
    }
    let mut left_out = Vec::new();
    let lines = match kind {
        Drawing::Dxf => dxf_lines(bytes, metres_per_unit, &mut left_out)?,
        Drawing::Svg => svg_lines(bytes, metres_per_unit)?,
    };
    if lines.iter().map(|(p, _)| p.len()).sum::<usize>() > MAX_POINTS {
        return Err(ExchangeError::new(
            say!("the-drawing-has-too-many-points"),
            say!("save-the-walls-alone-without-hatches"),
        ));
    }
    if lines.iter().any(|(p, _)| p.iter().any(|q| !q.is_finite() || q.abs().max_element() > 9_000.0)) {
        return Err(ExchangeError::new(say!("the-drawing-reaches-further-than-9"), say!("check-the-unit-or-move-the")));
    }
    Ok(rooms_of(lines, left_out))
}

type Polyline = (Vec<DVec2>, bool);

fn unit_m(units: Units) -> Option<f64> {
    Some(match units {
        Units::Inches => 0.0254,
        Units::Feet => 0.3048,
        Units::Millimeters => 0.001,
        Units::Centimeters => 0.01,
        Units::Meters => 1.0,
        Units::Decimeters => 0.1,
        Units::Yards => 0.9144,
        Units::Kilometers => 1000.0,
        _ => return None,
    })
}

/// Deepest that groups within groups are read.
const MOST_GROUPS: i32 = 100;

/// Whether groups in a drawing (codes 102 and 1002) lie too deep in one another for a reader that goes into each.
fn nested_too_deep(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let (mut depth, mut deepest, mut code) = (0_i32, 0, None);
    for line in text.lines().map(str::trim) {
        if matches!(code, Some(102 | 1002)) {
            depth = match line.as_bytes().first() {
                Some(b'{') => depth + 1,
                Some(b'}') => (depth - 1).max(0),
                _ => depth,
            };
            deepest = deepest.max(depth);
        }
        code = line.parse::<i32>().ok();
    }
    deepest > MOST_GROUPS
}

fn dxf_lines(bytes: &[u8], unit: Option<f64>, left_out: &mut Vec<String>) -> Result<Vec<Polyline>, ExchangeError> {
    let bad = |e: &dyn std::fmt::Display| {
        ExchangeError::new(say!("the-dxf-file-could-not-be", e), say!("save-it-again-as-dxf-r2000"))
    };
    // A binary one, or one that would take the reader down.
    if bytes.iter().take(64).any(|b| *b == 0) || nested_too_deep(bytes) {
        return Err(bad(&say!("its-structure-is-broken")));
    }
    // The library trusts the file; a lying one must not take the program with it.
    let read = std::panic::catch_unwind(|| {
        let mut reader = std::io::Cursor::new(bytes);
        dxf::Drawing::load(&mut reader)
    });
    let drawing = read.map_err(|_| bad(&say!("its-structure-is-broken")))?.map_err(|e| bad(&e))?;
    let k = unit
        .or_else(|| unit_m(drawing.header.default_drawing_units))
        .ok_or_else(|| ExchangeError::of_no_unit(say!("the-drawing-says-no-unit")))?;
    let mut out = Vec::new();
    let mut other = 0usize;
    for e in drawing.entities() {
        let arc = |centre: DVec2, r: f64, from: f64, sweep: f64| -> Vec<DVec2> {
            let most = (1.0 - (CHORD_M / k / r.max(1e-9)).min(1.0)).acos().max(0.05) * 2.0;
            let n = ((sweep.abs() / most).ceil() as usize).clamp(1, 256);
            (0..=n).map(|i| centre + DVec2::from_angle(from + sweep * i as f64 / n as f64) * r).collect()
        };
        let (points, closed): Polyline = match &e.specific {
            EntityType::Line(l) => (vec![DVec2::new(l.p1.x, l.p1.y), DVec2::new(l.p2.x, l.p2.y)], false),
            EntityType::LwPolyline(p) => {
                let vertices: Vec<(DVec2, f64)> = p.vertices.iter().map(|v| (DVec2::new(v.x, v.y), v.bulge)).collect();
                (bulged(&vertices, p.is_closed(), &arc), p.is_closed())
            }
            EntityType::Polyline(p) => {
                let vertices: Vec<(DVec2, f64)> =
                    p.vertices().map(|v| (DVec2::new(v.location.x, v.location.y), v.bulge)).collect();
                (bulged(&vertices, p.is_closed(), &arc), p.is_closed())
            }
            EntityType::Arc(a) => {
                let (from, to) = (a.start_angle.to_radians(), a.end_angle.to_radians());
                let sweep = (to - from).rem_euclid(std::f64::consts::TAU);
                (arc(DVec2::new(a.center.x, a.center.y), a.radius, from, sweep), false)
            }
            EntityType::Circle(c) => {
                let mut ring = arc(DVec2::new(c.center.x, c.center.y), c.radius, 0.0, std::f64::consts::TAU);
                ring.pop();
                (ring, true)
            }
            _ => {
                other += 1;
                continue;
            }
        };
        out.push((points.into_iter().map(|p| p * k).collect(), closed));
    }
    if other > 0 {
        left_out.push(say!("texts-blocks-and-other-things-that", other));
    }
    Ok(out)
}

/// A polyline whose pieces may be arcs: the bulge is the tangent of a quarter of the arc's angle.
fn bulged(vertices: &[(DVec2, f64)], closed: bool, arc: &impl Fn(DVec2, f64, f64, f64) -> Vec<DVec2>) -> Vec<DVec2> {
    let n = vertices.len();
    let mut out = Vec::with_capacity(n);
    for i in 0..n {
        let (a, bulge) = vertices[i];
        out.push(a);
        let (b, _) = vertices[(i + 1) % n];
        if bulge.abs() < 1e-9 || (i + 1 == n && !closed) || a.distance(b) < 1e-12 {
            continue;
        }
        let sweep = 4.0 * bulge.atan();
        let chord = b - a;
        // From the chord's middle to the centre: to its left for arcs that turn left.
        let away = chord.perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
        let centre = (a + b) * 0.5 + away;
        let points = arc(centre, centre.distance(a), (a - centre).to_angle(), sweep);
        out.extend(points.iter().skip(1).take(points.len().saturating_sub(2)));
    }
    out
}

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

fn svg_lines(bytes: &[u8], unit: Option<f64>) -> Result<Vec<Polyline>, ExchangeError> {
    let bad = |what: String| ExchangeError::new(what, say!("save-it-again-as-plain-svg"));
    let text = std::str::from_utf8(bytes).map_err(|_| bad(say!("the-svg-file-is-not-text").into()))?;
    let text = without_references(text);
    let reading = usvg::roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let page = usvg::roxmltree::Document::parse_with_options(&text, reading)
        .map_err(|e| bad(say!("the-svg-file-could-not-be", e)))?;
    // Entities may spell a reference that the text did not show.
    let refers = |s: &str| s.to_ascii_lowercase().contains(REFERENCE);
    if page.descendants().any(|n| n.attributes().any(|a| refers(a.value())) || n.text().is_some_and(refers)) {
        return Err(bad(say!("the-svg-file-hides-references").into()));
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

/// Joins loose ends to rings and keeps what can be a room.
fn rooms_of(lines: Vec<Polyline>, mut left_out: Vec<String>) -> Outlines {
    let mut rings: Vec<Vec<DVec2>> = Vec::new();
    let mut loose: Vec<Vec<DVec2>> = Vec::new();
    for (points, closed) in lines {
        let points = cleaned(points, closed);
        if closed || points.first().zip(points.last()).is_some_and(|(a, b)| points.len() > 3 && a.distance(*b) < JOIN_M)
        {
            rings.push(points);
        } else if points.len() > 1 {
            loose.push(points);
        }
    }
    let (mut joined, open) = join(loose);
    rings.append(&mut joined);
    if open > 0 {
        left_out.push(say!("lines-that-close-no-outline", open));
    }
    let (mut small, mut crossing) = (0, 0);
    rings = rings
        .into_iter()
        .filter_map(|r| {
            let mut r = cleaned(r, true);
            let area = signed_area(&r);
            if r.len() < 3 || area.abs() < LEAST_ROOM_M2 {
                small += 1;
                return None;
            }
            if polygon_self_crossing(&r).is_some() {
                crossing += 1;
                return None;
            }
            if area < 0.0 {
                r.reverse();
            }
            Some(r)
        })
        .collect();
    rings.sort_by(|a, b| signed_area(b).total_cmp(&signed_area(a)));
    // Drawn twice is one room.
    let mut kept: Vec<Vec<DVec2>> = Vec::new();
    for r in rings {
        let same = |k: &Vec<DVec2>| k.len() == r.len() && r.iter().all(|p| k.iter().any(|q| p.distance(*q) < JOIN_M));
        if !kept.iter().any(same) {
            kept.push(r);
        }
    }
    // An outline round others that fill most of it is the outside of the walls.
    let inside = |a: &[DVec2], b: &[DVec2]| a.iter().all(|p| point_in_polygon(*p, b));
    let outer: Vec<usize> = (0..kept.len())
        .filter(|i| {
            let within: f64 =
                (0..kept.len()).filter(|j| j != i && inside(&kept[*j], &kept[*i])).map(|j| signed_area(&kept[j])).sum();
            within > 0.5 * signed_area(&kept[*i])
        })
        .collect();
    if !outer.is_empty() {
        left_out.push(say!("outlines-round-the-outside-of-the", outer = outer.len()));
    }
    let rooms: Vec<Vec<DVec2>> =
        kept.iter().enumerate().filter(|(i, _)| !outer.contains(i)).map(|(_, r)| r.clone()).collect();
    // What stands inside a room is furniture.
    let (rooms, inner): (Vec<_>, Vec<_>) =
        rooms.iter().cloned().partition(|r| !rooms.iter().any(|o| o != r && inside(r, o)));
    if !inner.is_empty() {
        left_out.push(say!("inner-outlines-inside-a-room", inner = inner.len()));
    }
    if small > 0 {
        left_out.push(say!("small-outlines-under-least-room-m2", small, least_room_m2 = LEAST_ROOM_M2));
    }
    if crossing > 0 {
        left_out.push(say!("outlines-that-cross-themselves", crossing));
    }
    let mut rooms = rooms;
    if rooms.len() > MAX_ROOMS {
        left_out.push(say!("rooms-beyond-the-first", max_rooms = rooms.len() - MAX_ROOMS, max_rooms_2 = MAX_ROOMS));
        rooms.truncate(MAX_ROOMS);
    }
    Outlines { rooms, left_out }
}

/// Without corners that repeat or lie on a straight line.
fn cleaned(points: Vec<DVec2>, closed: bool) -> Vec<DVec2> {
    let mut out: Vec<DVec2> = Vec::with_capacity(points.len());
    for p in points {
        if out.last().is_none_or(|q| q.distance(p) > 1e-4) {
            out.push(p);
        }
    }
    if closed {
        while out.len() > 1 && out[0].distance(out[out.len() - 1]) < 1e-4 {
            out.pop();
        }
        let n = out.len();
        let straight = |i: usize| {
            let (a, b, c) = (out[(i + n - 1) % n], out[i], out[(i + 1) % n]);
            let (u, v) = ((b - a).normalize_or_zero(), (c - b).normalize_or_zero());
            u.perp_dot(v).abs() < 1e-6 && u.dot(v) > 0.0
        };
        if n > 3 {
            out = (0..n).filter(|i| !straight(*i)).map(|i| out[i]).collect();
        }
    }
    out
}

/// Joins lines end to end; the rings, and how many lines are left.
fn join(mut loose: Vec<Vec<DVec2>>) -> (Vec<Vec<DVec2>>, usize) {
    let mut rings = Vec::new();
    let mut open = 0;
    while let Some(mut chain) = loose.pop() {
        let mut used = 1;
        loop {
            let end = chain[chain.len() - 1];
            if chain.len() > 3 && end.distance(chain[0]) < JOIN_M {
                chain.pop();
                rings.push(chain);
                break;
            }
            let next = loose.iter().position(|l| l[0].distance(end) < JOIN_M || l[l.len() - 1].distance(end) < JOIN_M);
            let Some(i) = next else {
                open += used;
                break;
            };
            let mut l = loose.swap_remove(i);
            if l[0].distance(end) >= JOIN_M {
                l.reverse();
            }
            chain.extend(l.into_iter().skip(1));
            used += 1;
        }
    }
    (rings, open)
}

impl Outlines {
    /// The rooms as one edit of a plan; none when there are no rooms.
    #[must_use]
    pub fn edit(&self, plan: &Plan) -> Option<Edit> {
        let mut next = plan.clone();
        let mut edits = Vec::with_capacity(self.rooms.len());
        for r in &self.rooms {
            let n = next.location.rooms.len() + 1;
            let id = next.fresh_id("room");
            // Tenths of a millimetre are enough.
            let corners = r.iter().map(|p| [(p.x * 1e4).round() / 1e4, (p.y * 1e4).round() / 1e4]).collect();
            let room = Room::new(id, &say!("room-n", n), corners);
            next.location.rooms.push(room.clone());
            edits.push(Edit::Put(Item::Room(room)));
        }
        (!edits.is_empty()).then(|| Edit::Together { label: say!("bring-in-outlines").into(), edits })
    }

    /// The drawing scaled so that a length in it becomes another.
    #[must_use]
    pub fn scaled(mut self, by: f64) -> Outlines {
        self.rooms.iter_mut().flatten().for_each(|p| *p *= by);
        self
    }
}
