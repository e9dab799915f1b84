//! A wall between two rooms has two faces: when one moves, the other goes with it.

use super::{Edit, apply};
use crate::geometry::{Walls, room_edges};
use crate::plan::{Plan, RoomId};
use glam::DVec2;

/// An edit with what it does to the rooms behind the walls it moves.
#[derive(Debug, Clone, PartialEq)]
pub struct WithBehind {
    /// The edit and the moves of the other faces, as one.
    pub edit: Edit,
    /// The rooms whose walls go along, once each.
    pub rooms: Vec<RoomId>,
}

/// A shorter move of a wall is rounding, metres.
const MOVED_M: f64 = 1e-6;

/// An edit of a room's corner or wall, with the moves of the faces behind; none when there are none, or when the
/// edit is of another kind or would be refused.
#[must_use]
pub fn with_walls_behind(plan: &Plan, edit: &Edit) -> Option<WithBehind> {
    let (Edit::MoveCorner { room, .. } | Edit::SetEdgeLength { room, .. } | Edit::MoveWall { room, .. }) = edit else {
        return None;
    };
    let index = plan.location.rooms.iter().position(|r| &r.id == room)?;
    let after = apply(plan, edit).ok()?;
    let (was, is) = (&plan.location.rooms[index], after.location.rooms.get(index)?);
    let n = was.outline_m.len();
    if is.outline_m.len() != n {
        return None;
    }
    let corner = |r: &crate::plan::Room, i: usize| DVec2::from_array(r.outline_m[i % n]);
    let walls = Walls::of(plan);
    let mut edits = vec![edit.clone()];
    let mut rooms: Vec<RoomId> = Vec::new();
    let mut done: Vec<(usize, usize)> = Vec::new();
    for piece in walls.pieces.iter().filter(|w| w.room == index) {
        let Some(behind) = piece.behind.filter(|b| b.room != index && !done.contains(&(b.room, b.edge))) else {
            continue;
        };
        let (a, b) = (corner(was, piece.edge), corner(was, piece.edge + 1));
        let across = (b - a).normalize_or_zero().perp();
        let moved = [corner(is, piece.edge) - a, corner(is, piece.edge + 1) - b].map(|v| v.dot(across));
        if moved.iter().all(|m| m.abs() < MOVED_M) {
            continue;
        }
        done.push((behind.room, behind.edge));
        let other = &plan.location.rooms[behind.room];
        let Some((c, d)) = room_edges(other).nth(behind.edge) else { continue };
        // The other face goes as far as this one does beside each of its ends.
        let along = |p: DVec2| ((p - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
        let by = |p: DVec2| across * (moved[0] + (moved[1] - moved[0]) * along(p));
        edits.push(Edit::SlideWall { room: other.id.clone(), edge: behind.edge, by: [by(c), by(d)] });
        if !rooms.contains(&other.id) {
            rooms.push(other.id.clone());
        }
    }
    if rooms.is_empty() {
        return None;
    }
    let whole = Edit::Together { label: edit.label(), edits };
    // Where the rooms behind cannot follow, the edit stays what it was.
    apply(plan, &whole).is_ok().then_some(WithBehind { edit: whole, rooms })
}

/// The two corners of an edge of an outline moved, sliding along their other edges so that those keep their lines.
pub(super) fn slide(outline: &mut [[f64; 2]], edge: usize, by: [DVec2; 2]) {
    let n = outline.len();
    let at = |i: usize| DVec2::from_array(outline[i % n]);
    let (a, b) = (at(edge), at(edge + 1));
    let (before, after) = (at(edge + n - 1), at(edge + 2));
    let (p, q) = (a + by[0], b + by[1]);
    let line = q - p;
    let meet = |from: DVec2, to: DVec2, otherwise: DVec2| {
        let way = to - from;
        let cross = line.perp_dot(way);
        // Nearly in line with the wall: no crossing worth the name.
        if cross.abs() < 0.1 * line.length() * way.length() {
            return otherwise;
        }
        p + line * ((from - p).perp_dot(way) / cross)
    };
    let (p2, q2) = (meet(before, a, p), meet(after, b, q));
    outline[edge % n] = p2.to_array();
    outline[(edge + 1) % n] = q2.to_array();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Room;

    /// A hall 1.4 m wide and a room beside it, a wall of 12 cm between.
    fn plan() -> Plan {
        let mut plan = Plan::empty();
        plan.location.rooms.push(Room::new("hall", "Hall", vec![[0., 0.], [1.4, 0.], [1.4, 6.], [0., 6.]]));
        plan.location.rooms.push(Room::new("room", "Room", vec![[1.52, 1.], [5., 1.], [5., 4.], [1.52, 4.]]));
        plan
    }

    #[test]
    fn a_hall_made_wider_takes_the_wall_with_it() {
        let plan = plan();
        let edit = Edit::SetEdgeLength { room: "hall".into(), edge: 0, length_m: 1.6 };
        let both = with_walls_behind(&plan, &edit).unwrap();
        assert_eq!(both.rooms, ["room".into()]);
        let next = apply(&plan, &both.edit).unwrap();
        let near = |p: [f64; 2], q: [f64; 2]| DVec2::from_array(p).distance(DVec2::from_array(q)) < 1e-9;
        assert!(near(next.location.rooms[0].outline_m[1], [1.6, 0.]));
        assert!(near(next.location.rooms[1].outline_m[0], [1.72, 1.]), "{:?}", next.location.rooms[1].outline_m);
        assert!(near(next.location.rooms[1].outline_m[3], [1.72, 4.]));
        // Alone it eats the wall; the far wall of the room stays in both.
        assert!(near(next.location.rooms[1].outline_m[1], [5., 1.]));
    }

    #[test]
    fn an_outside_wall_moves_alone() {
        let edit = Edit::MoveWall { room: "hall".into(), edge: 3, by: DVec2::new(-0.3, 0.0) };
        assert_eq!(with_walls_behind(&plan(), &edit), None);
        let next = apply(&plan(), &edit).unwrap();
        assert_eq!(next.location.rooms[0].outline_m, [[-0.3, 0.], [1.4, 0.], [1.4, 6.], [-0.3, 6.]]);
    }

    #[test]
    fn an_oblique_neighbour_keeps_its_lines() {
        let mut outline = [[0., 0.], [4., 0.], [5., 3.], [0., 3.]];
        slide(&mut outline, 2, [DVec2::new(0.0, 0.6); 2]);
        let end = DVec2::from_array(outline[2]);
        assert!(end.distance(DVec2::new(5.2, 3.6)) < 1e-9 && outline[3] == [0., 3.6], "{outline:?}");
    }
}
