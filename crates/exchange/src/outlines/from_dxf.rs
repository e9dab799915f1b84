//! Lines of a drawing in the drawing exchange format.

use super::{CHORD_M, Polyline};
use crate::ExchangeError;
use dxf::entities::EntityType;
use dxf::enums::Units;
use glam::DVec2;
use tapemark_words::say;

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

/// The file without what other programs attach to its things (codes 102 and from 1000 up): outlines need none of it,
/// and a reader that goes into groups within groups runs out of stack. None where a code is no number.
fn without_attachments(bytes: &[u8]) -> Option<Vec<u8>> {
    let bytes = bytes.strip_prefix("\u{FEFF}".as_bytes()).unwrap_or(bytes);
    let mut out = Vec::with_capacity(bytes.len());
    let mut lines = bytes.split(|b| *b == b'\n');
    let mut attached = false;
    while let Some(code) = lines.next().map(<[u8]>::trim_ascii).filter(|code| !code.is_empty()) {
        let code: i32 = std::str::from_utf8(code).ok()?.parse().ok()?;
        let value = lines.next()?;
        match code {
            102 => attached = value.trim_ascii() != b"}",
            1000.. => {}
            _ => {
                attached &= code != 0;
                if !attached {
                    out.extend_from_slice(format!("{code}\n").as_bytes());
                    out.extend_from_slice(value);
                    out.push(b'\n');
                }
            }
        }
    }
    Some(out)
}

pub(super) fn lines(
    bytes: &[u8],
    unit: Option<f64>,
    left_out: &mut Vec<String>,
) -> Result<Vec<Polyline>, ExchangeError> {
    let bad = |e: &dyn std::fmt::Display| {
        ExchangeError::new(say!("the-dxf-file-could-not-be", e), say!("save-it-again-as-dxf-r2000"))
    };
    let bytes = without_attachments(bytes).ok_or_else(|| bad(&say!("its-structure-is-broken")))?;
    // The library trusts the file; a lying one must not take the program with it.
    let read = std::panic::catch_unwind(|| dxf::Drawing::load(&mut bytes.as_slice()));
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
