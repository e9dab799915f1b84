//! Room behind the camera: how far the operator's space is from the nearest thing, exactly.

use super::{Looks, Margin, Slips};
use crate::facts::standing_outlines;
use crate::geometry::{bearing_dir, point_segment_distance, strip_clearance_m};
use glam::DVec2;

/// By how much the operator fits: the smallest slip of the camera that brings something into the operator's space.
pub(super) fn fits(looks: &Looks<'_>) -> Option<Margin> {
    let limits = &looks.plan.limits;
    let (deep, wide) = (limits.room_behind_m, limits.operator_width_m);
    let segments = standing_outlines(looks.moments.stage.solids());
    let mut least: Option<(f64, usize)> = None;
    for (i, look) in looks.list.iter().enumerate().take(if looks.still { 1 } else { usize::MAX }) {
        let (at, back) = (look.view.eye.truncate(), -bearing_dir(look.view.pan_deg));
        if strip_clearance_m(at, back, wide, &segments) < deep {
            return None;
        }
        let local = |p: DVec2| DVec2::new((p - at).dot(back), (p - at).dot(back.perp()));
        let space = [DVec2::new(0.0, -0.5 * wide), DVec2::new(deep, 0.5 * wide)];
        let slip = segments.iter().map(|(a, b)| apart_m(space, local(*a), local(*b))).fold(f64::INFINITY, f64::min);
        if least.is_none_or(|(s, _)| slip < s) {
            least = Some((slip, i));
        }
    }
    let (slip, i) = least?;
    Some(looks.margin(slip, Slips::Camera(looks.camera.clone()), i))
}

/// Distance between an upright rectangle, by its low and high corner, and a segment that does not cross it.
fn apart_m([low, high]: [DVec2; 2], a: DVec2, b: DVec2) -> f64 {
    let to_space = |p: DVec2| p.distance(p.clamp(low, high));
    let corners = [low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)];
    let of_corners = corners.iter().map(|c| point_segment_distance(*c, a, b)).fold(f64::INFINITY, f64::min);
    to_space(a).min(to_space(b)).min(of_corners)
}
