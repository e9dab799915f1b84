//! Where to lay the tape: a point's distances from two walls.

use crate::geometry::{point_in_polygon, room_edges};
use crate::plan::{Plan, Room};
use glam::DVec2;
use serde::Serialize;

/// A distance to tape from a wall.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TapeLine {
    /// Where the tape meets the wall, metres.
    pub wall_point_m: [f64; 2],
    /// Length, metres.
    pub distance_m: f64,
}

/// The room a point stands in.
#[must_use]
pub fn room_at(plan: &Plan, p: DVec2) -> Option<&Room> {
    let spans =
        |r: &Room, k: usize, v: f64| r.outline_m.iter().any(|c| c[k] <= v) && r.outline_m.iter().any(|c| c[k] >= v);
    plan.location.rooms.iter().filter(|r| spans(r, 0, p.x) && spans(r, 1, p.y)).find(|r| {
        let points: Vec<DVec2> = r.outline_m.iter().map(|c| DVec2::from_array(*c)).collect();
        point_in_polygon(p, &points)
    })
}

/// Square distances from two walls of the point's room that are not parallel: enough to find it again.
///
/// A wall counts where the square from the point meets it between its ends. Fewer than two come back
/// outside rooms and in rooms without two such walls.
#[must_use]
pub fn tape_lines(plan: &Plan, p: DVec2) -> Vec<TapeLine> {
    let Some(room) = room_at(plan, p) else { return Vec::new() };
    let mut feet: Vec<(f64, DVec2, DVec2)> = room_edges(room)
        .filter_map(|(a, b)| {
            let u = (b - a).try_normalize()?;
            let along = (p - a).dot(u);
            (along >= -1e-9 && along <= a.distance(b) + 1e-9).then(|| {
                let foot = a + u * along;
                (foot.distance(p), foot, u)
            })
        })
        .collect();
    feet.sort_by(|x, y| x.0.total_cmp(&y.0));
    let Some(first) = feet.first().copied() else { return Vec::new() };
    // The second as square to the first as the room allows, nearest first.
    let second = feet.iter().skip(1).find(|f| f.2.dot(first.2).abs() < 0.5);
    std::iter::once(&first)
        .chain(second)
        .map(|(distance_m, foot, _)| TapeLine { wall_point_m: foot.to_array(), distance_m: *distance_m })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_is_taped_from_its_two_nearest_square_walls() {
        let mut plan = Plan::empty();
        plan.location.rooms.push(Room::new("r", "R", vec![[0., 0.], [5., 0.], [5., 4.], [0., 4.]]));
        let lines = tape_lines(&plan, DVec2::new(1.0, 3.5));
        assert_eq!(lines.iter().map(|l| l.distance_m).collect::<Vec<_>>(), [0.5, 1.0]);
        assert!(tape_lines(&plan, DVec2::new(9.0, 9.0)).is_empty());
    }
}
