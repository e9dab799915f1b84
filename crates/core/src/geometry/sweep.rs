//! What is seen from a point on the plan, and how much room there is behind it.

use super::bearing_dir;
use glam::DVec2;

/// The part of a sector that is seen from `eye`: a fan polygon whose first corner is the eye.
///
/// Bearings in degrees; `segments` block; nothing is seen past `reach_m`.
#[must_use]
pub fn visible_region(eye: DVec2, from_deg: f64, to_deg: f64, reach_m: f64, segments: &[(DVec2, DVec2)]) -> Vec<DVec2> {
    let span = (to_deg - from_deg).clamp(0.0, 360.0);
    let mut angles: Vec<f64> = (0..=24).map(|i| span * f64::from(i) / 24.0).collect();
    for (a, b) in segments {
        for p in [a, b] {
            let v = *p - eye;
            if v.length() > reach_m * 1.5 {
                continue;
            }
            let at = super::normalize_deg(super::bearing_deg(v) - from_deg);
            if at < span {
                angles.extend([at - 1e-4, at, at + 1e-4]);
            }
        }
    }
    angles.retain(|a| (0.0..=span).contains(a));
    angles.sort_by(f64::total_cmp);
    angles.dedup();
    let mut out = vec![eye];
    for a in angles {
        let dir = bearing_dir(from_deg + a);
        let mut nearest = reach_m;
        for (p, q) in segments {
            let s = *q - *p;
            let denominator = dir.perp_dot(s);
            if denominator.abs() < 1e-12 {
                continue;
            }
            let t = (*p - eye).perp_dot(s) / denominator;
            let u = (*p - eye).perp_dot(dir) / denominator;
            if t > 1e-9 && t < nearest && (-1e-9..=1.0 + 1e-9).contains(&u) {
                nearest = t;
            }
        }
        out.push(eye + dir * nearest);
    }
    out
}

/// How far a strip of a given width runs from `from` along `dir` before it meets a segment, metres.
///
/// Exact: each segment is clipped to the strip. Infinite when nothing stands there.
#[must_use]
pub fn strip_clearance_m(from: DVec2, dir: DVec2, width_m: f64, segments: &[(DVec2, DVec2)]) -> f64 {
    let side = DVec2::new(-dir.y, dir.x);
    let half = width_m * 0.5;
    let mut nearest = f64::INFINITY;
    for (a, b) in segments {
        let (mut p, mut q) = (
            DVec2::new((*a - from).dot(dir), (*a - from).dot(side)),
            DVec2::new((*b - from).dot(dir), (*b - from).dot(side)),
        );
        if p.y > q.y {
            std::mem::swap(&mut p, &mut q);
        }
        if q.y < -half || p.y > half {
            continue;
        }
        let at = |y: f64| if (q.y - p.y).abs() < 1e-12 { p.x } else { p.x + (q.x - p.x) * (y - p.y) / (q.y - p.y) };
        let low = if p.y < -half { at(-half) } else { p.x };
        let high = if q.y > half { at(half) } else { q.x };
        // A segment that crosses the starting line leaves no room at all.
        if low.max(high) >= 0.0 {
            nearest = nearest.min(low.min(high).max(0.0));
        }
    }
    nearest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strip_sees_a_post_a_ray_would_miss() {
        let post = [(DVec2::new(0.2, -1.0), DVec2::new(0.3, -1.0))];
        assert_eq!(strip_clearance_m(DVec2::ZERO, DVec2::NEG_Y, 0.6, &post), 1.0);
        assert_eq!(strip_clearance_m(DVec2::ZERO, DVec2::NEG_Y, 0.2, &post), f64::INFINITY);
    }

    #[test]
    fn a_wedge_in_a_square_room_has_the_area_of_its_triangle() {
        let c = [DVec2::new(-2., -2.), DVec2::new(2., -2.), DVec2::new(2., 2.), DVec2::new(-2., 2.)];
        let walls: Vec<_> = (0..4).map(|i| (c[i], c[(i + 1) % 4])).collect();
        let seen = visible_region(DVec2::ZERO, -45.0, 45.0, 50.0, &walls);
        assert!((super::super::signed_area(&seen).abs() - 4.0).abs() < 1e-6);
    }
}
