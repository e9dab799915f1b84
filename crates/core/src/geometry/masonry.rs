//! What walls cover on the floor plan: their bodies, between faces and outward where nobody lives behind.

use super::area::Area;
use super::{WallPart, WallPiece, Walls};
use crate::plan::Location;
use glam::DVec2;

/// A corner drawn further out than so many wall thicknesses is cut off.
const LONGEST_MITRE: f64 = 3.0;
/// Bodies thinner than this are none, metres.
const BODY_M: f64 = 1e-4;

/// The bodies of a plan's walls as rings, metres: none of them reaches into a room. Faces that touch have none.
///
/// A wall with a room behind fills the gap between the two faces; one without goes outward by
/// [`Location::wall_thickness_m`]. Outside corners are mitred.
#[must_use]
pub fn masonry(location: &Location, walls: &Walls) -> Vec<Vec<DVec2>> {
    let thick = location.wall_thickness_m;
    let rooms: Vec<Vec<DVec2>> =
        location.rooms.iter().map(|r| r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect()).collect();
    let boxes: Vec<[DVec2; 2]> = rooms.iter().map(|r| bounds(r)).collect();
    let bodies = walls
        .pieces
        .iter()
        .filter(|w| w.z0 <= 0.0 && w.part == WallPart::Full)
        .filter_map(|w| body(w, thick))
        .chain(corners(walls, thick));
    let mut out = Vec::new();
    for ring in bodies {
        let [low, high] = bounds(&ring);
        let eaten = |b: &[DVec2; 2]| b[0].cmplt(high - BODY_M).all() && b[1].cmpgt(low + BODY_M).all();
        let near: Vec<Vec<DVec2>> =
            rooms.iter().zip(&boxes).filter(|(_, b)| eaten(b)).map(|(r, _)| r.clone()).collect();
        if near.iter().all(|room| !reaches_into(&ring, room)) {
            out.push(ring);
        } else {
            out.extend(Area::of([ring]).without(&near).outlines());
        }
    }
    out
}

fn bounds(ring: &[DVec2]) -> [DVec2; 2] {
    let low = ring.iter().copied().fold(DVec2::INFINITY, DVec2::min);
    [low, ring.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max)]
}

/// Whether two rings may share more than a border: false only when a straight side of the convex `ring` parts them.
fn reaches_into(ring: &[DVec2], room: &[DVec2]) -> bool {
    let turn = super::signed_area(ring).signum();
    let parts = |i: usize| {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        let out = -(b - a).normalize_or_zero().perp() * turn;
        room.iter().all(|p| out.dot(*p - a) > -BODY_M)
    };
    !(0..ring.len()).any(parts)
}

fn body(w: &WallPiece, thick: f64) -> Option<Vec<DVec2>> {
    let [a, b] = depth(w, thick);
    let out = -w.inward();
    (a.max(b) > BODY_M).then(|| vec![w.a, w.b, w.b + out * b, w.a + out * a])
}

/// How deep a wall is at its two ends, metres.
fn depth(w: &WallPiece, thick: f64) -> [f64; 2] {
    w.behind.map_or([thick; 2], |b| b.gap_m)
}

/// What lies between the ends of two walls at an outside corner.
fn corners(walls: &Walls, thick: f64) -> Vec<Vec<DVec2>> {
    let mut out = Vec::new();
    for before in &walls.runs {
        let Some(after) = walls.runs.iter().find(|r| r.room == before.room && r.a == before.b) else { continue };
        let at = before.b;
        let (d, e) = ((before.b - before.a).normalize_or_zero(), (after.b - after.a).normalize_or_zero());
        // A room on the left turns left at its outside corners.
        let sine = d.perp_dot(e);
        if sine < 1e-3 {
            continue;
        }
        let deep = |edge: usize, end: usize| {
            let own = walls.pieces.iter().filter(|w| w.room == before.room && w.edge == edge);
            let ends = own.filter(|w| w.part == WallPart::Full).find(|w| [w.a, w.b][end].distance(at) < 1e-6);
            ends.map_or(thick, |w| depth(w, thick)[end])
        };
        let (m, n) = (deep(before.edge, 1), deep(after.edge, 0));
        if m.min(n) < BODY_M {
            continue;
        }
        let (p, q) = (at - d.perp() * m, at - e.perp() * n);
        // Where the two backs meet.
        let tip = p + d * ((q - p).perp_dot(e) / sine);
        if tip.distance(at) <= thick.max(m).max(n) * LONGEST_MITRE {
            out.push(vec![at, p, tip, q]);
        } else {
            out.push(vec![at, p, q]);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::signed_area;
    use crate::plan::{Plan, Room};

    fn plan(rooms: &[&[[f64; 2]]]) -> Plan {
        let mut plan = Plan::empty();
        plan.location.wall_thickness_m = 0.2;
        for (i, outline) in rooms.iter().enumerate() {
            plan.location.rooms.push(Room::new(format!("room-{i}"), "", outline.to_vec()));
        }
        plan
    }

    fn area(plan: &Plan) -> f64 {
        let rings = masonry(&plan.location, &Walls::of(plan));
        Area::of(rings).area_m2()
    }

    #[test]
    fn a_square_room_has_a_frame_of_wall() {
        let one = plan(&[&[[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]]]);
        assert!((area(&one) - (4.4 * 3.4 - 12.0)).abs() < 1e-6, "{}", area(&one));
    }

    #[test]
    fn a_slanting_corner_is_mitred() {
        let one = plan(&[&[[0.0, 0.0], [4.0, 0.0], [5.0, 3.0], [0.0, 3.0]]]);
        // A frame of even width round a convex ring: its length by the width, and width² Σ tan(turn / 2).
        let long = 4.0 + 10.0_f64.sqrt() + 5.0 + 3.0;
        let lean = 3.0_f64.atan2(1.0);
        let right = std::f64::consts::FRAC_PI_2;
        let tans: f64 = [right, lean, 2.0 * right - lean, right].iter().map(|t| (t / 2.0).tan()).sum();
        assert!((area(&one) - (long * 0.2 + 0.04 * tans)).abs() < 1e-4, "{} {tans} {long}", area(&one));
    }

    #[test]
    fn a_wall_eats_no_room_beside_it() {
        // 12 cm apart, past the first room's corner as well.
        let two = plan(&[
            &[[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]],
            &[[-1.0, 3.12], [6.0, 3.12], [6.0, 4.4], [-1.0, 4.4]],
        ]);
        let rooms: Vec<Vec<DVec2>> =
            two.location.rooms.iter().map(|r| r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect()).collect();
        for ring in masonry(&two.location, &Walls::of(&two)) {
            for room in &rooms {
                assert!(Area::of([ring.clone()]).within(room).area_m2() < 1e-6, "{ring:?}");
            }
            assert!(signed_area(&ring).abs() > 0.0);
        }
    }
}
