//! What stands outside before an opening: it hides the sky, and the house's own walls there send light in.

use super::Outside;
use super::open::OUTSIDE_M;
use super::sky::{Hole, holes};
use crate::geometry::{Eight, OwnerIx, Solids, WallPart, WallPiece, Walls};
use crate::plan::Plan;
use crate::scene::Standing;
use glam::{DVec2, DVec3};
use std::sync::Arc;
use wide::f32x8;

/// How near before an opening something must begin to be there and not in the wall's own plane, metres.
const BEFORE_M: f64 = 0.01;
/// A wall of which less is seen through an opening does not matter: its size as seen from the opening, steradians.
const LITTLE_SR: f64 = 0.02;

/// A wall further from an opening than this sends little in by it, metres.
const FAR_M: f64 = 15.0;
/// So near a thing before an opening a wall gives it light that it sends in, metres.
const BESIDE_M: f64 = 5.0;

/// Whether a point of the plan lies outside before an opening, near enough to matter.
fn is_before(hole: &Hole, p: DVec2) -> bool {
    let from = hole.centre.truncate();
    let before_m = -hole.inward.truncate().dot(p - from);
    before_m >= BEFORE_M && p.distance(from) <= OUTSIDE_M
}

/// By opening, in the order of [`holes`].
struct Before(Vec<Outside>);

/// By opening that leads outside, in the order of [`holes`]: what stands outside before it, a leaf that swings out,
/// another wing of the house, a thing. Hangs on the place alone, and is worked out once for it.
pub(super) fn before_openings(plan: &Plan, walls: &Walls) -> Vec<Outside> {
    let known = plan.location.derived(|place| {
        let of_walls = walls.pieces.iter().flat_map(|w| [w.a, w.b]);
        let of_leaves = walls.openings.iter().filter_map(|o| o.leaf).flat_map(|l| [l.tip, l.hinge]);
        let of_pieces = place.pieces.iter().flat_map(crate::scene::footprint);
        let corners: Vec<DVec2> = of_walls.chain(of_leaves).chain(of_pieces).collect();
        let solids = &Standing::of(plan).0;
        let outside = |hole: &Hole| match corners.iter().any(|c| is_before(hole, *c)) {
            false => Outside::Clear,
            true => solids
                .in_front(hole.centre.as_vec3(), -hole.inward.as_vec3(), BEFORE_M as f32, OUTSIDE_M as f32)
                .map_or(Outside::Many, |front| Outside::Some(Arc::new(front))),
        };
        Before(holes(plan, walls).iter().map(|(.., h)| outside(h)).collect())
    });
    known.0.clone()
}

/// One bit for each of eight lines from a point to an opening that meets something outside, so that it does not go on to
/// the sky. Those that are `blocked` before are not asked.
pub(super) fn hidden_outside(
    solids: &Solids,
    outside: &Outside,
    (from, lines): (DVec3, [DVec3; 8]),
    blocked: u32,
    skip: OwnerIx,
) -> u32 {
    if matches!(outside, Outside::Clear) || blocked == 0xff {
        return 0;
    }
    if let Outside::Some(front) = outside {
        let ends = lines.map(|line| line + line.normalize_or_zero() * OUTSIDE_M);
        let along = [0, 1, 2].map(|axis| f32x8::from(ends.map(|end| end[axis] as f32)));
        if let Some(bits) = solids.eight_blocked_in_front(front, &Eight::along(from.as_vec3(), along), skip) {
            return bits;
        }
    }
    let is_hidden = |line: DVec3| {
        let way = line.normalize_or_zero();
        let start = from + line + way * BEFORE_M;
        solids.blocked(start.as_vec3(), (start + way * OUTSIDE_M).as_vec3(), skip)
    };
    (0..8).filter(|k| blocked >> k & 1 == 0 && is_hidden(lines[*k])).fold(0, |bits, k| bits | 1 << k)
}

/// The walls of a house whose outsides are seen through its openings, each turned so that its outside lies to the left
/// of `a → b`: what they return comes in.
pub(super) fn fronts(plan: &Plan, walls: &Walls) -> Vec<WallPiece> {
    let holes: Vec<Hole> = holes(plan, walls).into_iter().map(|h| h.2).collect();
    let seen = |w: &WallPiece| {
        let middle = (w.a + w.b) * 0.5;
        let area_m2 = w.a.distance(w.b) * (w.z1 - w.z0);
        holes.iter().any(|hole| {
            let way = hole.centre.truncate() - middle;
            let faces = -w.inward().dot(way) / way.length().max(1e-6);
            let seen_sr = area_m2 * faces / way.length_squared().max(0.01);
            (is_before(hole, w.a) || is_before(hole, w.b)) && seen_sr > LITTLE_SR && way.length() < FAR_M
        })
    };
    let is_outside = |w: &&WallPiece| w.behind.is_none() && !matches!(w.part, WallPart::Jamb(_));
    let outside: Vec<(&WallPiece, bool)> = walls.pieces.iter().filter(is_outside).map(|w| (w, seen(w))).collect();
    // What stands before an opening is lit by the walls beside it.
    let leaves = walls.openings.iter().filter_map(|o| o.leaf).map(|l| (l.hinge + l.tip) * 0.5);
    let pieces = plan.location.pieces.iter().map(|p| DVec2::from_array(p.position_m));
    let before = leaves.chain(pieces).filter(|p| holes.iter().any(|h| is_before(h, *p)));
    let things: Vec<DVec2> = before.chain(outside.iter().filter(|o| o.1).map(|(w, _)| (w.a + w.b) * 0.5)).collect();
    let beside = |w: &WallPiece| {
        things.iter().any(|p| {
            let along = w.b - w.a;
            let t = ((*p - w.a).dot(along) / along.length_squared().max(1e-12)).clamp(0.0, 1.0);
            -w.inward().dot(*p - w.a) > BEFORE_M && p.distance(w.a + along * t) < BESIDE_M
        })
    };
    let fronts = outside.into_iter().filter(|(w, seen)| *seen || beside(w));
    fronts.map(|(w, _)| WallPiece { a: w.b, b: w.a, ..*w }).collect()
}
