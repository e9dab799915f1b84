//! The plan's plane: bearings, polygons, segments.

use glam::{DVec2, DVec3};

/// Unit vector of a bearing in degrees clockwise from +y.
#[must_use]
pub fn bearing_dir(deg: f64) -> DVec2 {
    let (s, c) = deg.to_radians().sin_cos();
    DVec2::new(s, c)
}

/// Bearing of a vector, degrees in 0..360; the zero vector gives 0.
#[must_use]
pub fn bearing_deg(v: DVec2) -> f64 {
    if v == DVec2::ZERO { 0.0 } else { normalize_deg(v.x.atan2(v.y).to_degrees()) }
}

/// An angle brought into 0..360.
#[must_use]
pub fn normalize_deg(deg: f64) -> f64 {
    let r = deg.rem_euclid(360.0);
    if r >= 360.0 { 0.0 } else { r }
}

/// A vector turned clockwise by a bearing.
#[must_use]
pub fn rotate_bearing(v: DVec2, deg: f64) -> DVec2 {
    let (s, c) = deg.to_radians().sin_cos();
    DVec2::new(v.x * c + v.y * s, -v.x * s + v.y * c)
}

/// Unit vector of a bearing and a tilt (up positive), degrees.
#[must_use]
pub fn direction3(pan_deg: f64, tilt_deg: f64) -> DVec3 {
    let flat = bearing_dir(pan_deg);
    let (s, c) = tilt_deg.to_radians().sin_cos();
    DVec3::new(flat.x * c, flat.y * c, s)
}

/// Area of a polygon, positive when its corners run counter-clockwise.
#[must_use]
pub fn signed_area(points: &[DVec2]) -> f64 {
    let n = points.len();
    (0..n).map(|i| points[i].perp_dot(points[(i + 1) % n])).sum::<f64>() * 0.5
}

/// Whether a point lies inside a simple polygon (even-odd rule; the border counts either way).
#[must_use]
pub fn point_in_polygon(p: DVec2, points: &[DVec2]) -> bool {
    let mut inside = false;
    let n = points.len();
    for i in 0..n {
        let (a, b) = (points[i], points[(i + 1) % n]);
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            inside = !inside;
        }
    }
    inside
}

/// Where two segments cross: parameters along each in 0..=1; none when parallel or apart.
#[must_use]
pub fn segment_crossing(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> Option<(f64, f64)> {
    let (r, s) = (b - a, d - c);
    let denominator = r.perp_dot(s);
    if denominator.abs() < 1e-12 {
        return None;
    }
    let t = (c - a).perp_dot(s) / denominator;
    let u = (c - a).perp_dot(r) / denominator;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then_some((t, u))
}

/// The first two edges of a closed polygon that meet though they are not neighbours, or that fold back.
#[must_use]
pub fn polygon_self_crossing(points: &[DVec2]) -> Option<(usize, usize)> {
    let n = points.len();
    for i in 0..n {
        let (a, b) = (points[i], points[(i + 1) % n]);
        for j in i + 1..n {
            let (c, d) = (points[j], points[(j + 1) % n]);
            let neighbours = j == i + 1 || (i == 0 && j == n - 1);
            if neighbours {
                // Folding straight back over the neighbour.
                let (u, v) = if j == i + 1 { (b - a, d - c) } else { (d - c, b - a) };
                if n > 3 && u.perp_dot(v).abs() < 1e-9 * u.length() * v.length() && u.dot(v) < 0.0 {
                    return Some((i, j));
                }
            } else if segment_crossing(a, b, c, d).is_some() || collinear_overlap(a, b, c, d) {
                return Some((i, j));
            }
        }
    }
    None
}

fn collinear_overlap(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> bool {
    let u = b - a;
    let length = u.length();
    if u.perp_dot(c - a).abs() > 1e-9 * length || u.perp_dot(d - a).abs() > 1e-9 * length {
        return false;
    }
    let (s, t) = (u.dot(c - a) / length, u.dot(d - a) / length);
    s.min(t) < length - 1e-9 && s.max(t) > 1e-9
}

/// The point of a segment nearest to `p`.
#[must_use]
pub fn closest_on_segment(p: DVec2, a: DVec2, b: DVec2) -> DVec2 {
    let u = b - a;
    let l2 = u.length_squared();
    if l2 == 0.0 { a } else { a + u * ((p - a).dot(u) / l2).clamp(0.0, 1.0) }
}

/// Distance from a point to a segment.
#[must_use]
pub fn point_segment_distance(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    p.distance(closest_on_segment(p, a, b))
}

/// Distance from a point to a polygon; 0 inside.
#[must_use]
pub fn distance_to_outline(p: DVec2, outline: &[DVec2]) -> f64 {
    if point_in_polygon(p, outline) {
        return 0.0;
    }
    (0..outline.len())
        .map(|i| point_segment_distance(p, outline[i], outline[(i + 1) % outline.len()]))
        .fold(f64::INFINITY, f64::min)
}

/// The part of a polygon, flat or in space, where `inside` is not negative (a linear function; Sutherland &
/// Hodgman 1974).
pub(crate) fn cut_by<P>(ring: &[P], inside: impl Fn(P) -> f64) -> Vec<P>
where
    P: Copy + std::ops::Add<Output = P> + std::ops::Mul<f64, Output = P>,
{
    let mut next = Vec::with_capacity(ring.len() + 2);
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        let (da, db) = (inside(a), inside(b));
        if da >= 0.0 {
            next.push(a);
        }
        if (da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0) {
            let t = da / (da - db);
            next.push(a * (1.0 - t) + b * t);
        }
    }
    next
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn bearings_run_clockwise_from_up() {
        assert!((bearing_dir(90.0) - DVec2::X).length() < 1e-12);
        assert!((bearing_deg(DVec2::new(0.0, -1.0)) - 180.0).abs() < 1e-12);
        assert!((rotate_bearing(DVec2::Y, 90.0) - DVec2::X).length() < 1e-12);
    }

    #[test]
    fn bow_tie_crosses() {
        let p = [DVec2::new(0., 0.), DVec2::new(1., 1.), DVec2::new(1., 0.), DVec2::new(0., 1.)];
        assert!(polygon_self_crossing(&p).is_some());
        let q = [DVec2::new(0., 0.), DVec2::new(1., 0.), DVec2::new(1., 1.), DVec2::new(0., 1.)];
        assert!(polygon_self_crossing(&q).is_none());
        assert_eq!(signed_area(&q), 1.0);
    }

    proptest! {
        #[test]
        fn bearing_round_trip(d in 0.0..360.0f64) {
            let back = bearing_deg(bearing_dir(d));
            prop_assert!((back - d).abs() < 1e-9 || (back - d).abs() > 359.999_999);
        }
    }
}
