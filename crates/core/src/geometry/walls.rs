//! Walls from room outlines: shared where rooms adjoin, cut by openings.

use crate::plan::{Hinge, Opening, OpeningKind, Plan, Room, Swing};
use glam::DVec2;

/// How far apart two edges may lie and still be one wall, metres.
const SAME_LINE_M: f64 = 0.03;

/// What part of a wall a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WallPart {
    /// Floor to ceiling.
    Full,
    /// Over an opening.
    Above(usize),
    /// Under a window.
    Below(usize),
}

/// A straight upright piece of wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallPiece {
    /// One end, metres.
    pub a: DVec2,
    /// Other end, metres.
    pub b: DVec2,
    /// Bottom, metres.
    pub z0: f64,
    /// Top, metres.
    pub z1: f64,
    /// Which part.
    pub part: WallPart,
}

/// A door leaf as it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leaf {
    /// Hinge, metres.
    pub hinge: DVec2,
    /// Free edge, metres.
    pub tip: DVec2,
    /// Where the free edge is when shut.
    pub shut_tip: DVec2,
    /// Bearing change from shut to fully open: +1 clockwise, −1 counter-clockwise.
    pub turn: f64,
    /// Top of the leaf, metres.
    pub top_m: f64,
}

/// An opening's place on the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpeningPlace {
    /// Index in the plan's list.
    pub index: usize,
    /// Near end, metres.
    pub a: DVec2,
    /// Far end, metres.
    pub b: DVec2,
    /// Unit vector into the room that carries it.
    pub inward: DVec2,
    /// The leaf, for doors.
    pub leaf: Option<Leaf>,
}

/// All walls of a plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Walls {
    /// Solid pieces.
    pub pieces: Vec<WallPiece>,
    /// Uncut runs, for drawing and dimensions.
    pub runs: Vec<WallPiece>,
    /// Openings.
    pub openings: Vec<OpeningPlace>,
}

/// A room's edges in order.
pub fn room_edges(room: &Room) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    let n = room.outline_m.len();
    (0..n).map(move |i| (DVec2::from_array(room.outline_m[i]), DVec2::from_array(room.outline_m[(i + 1) % n])))
}

/// The two ends of an opening and the unit vector into its room; none if room or edge is missing.
#[must_use]
pub fn opening_ends(plan: &Plan, o: &Opening) -> Option<(DVec2, DVec2, DVec2)> {
    let room = plan.room(&o.room)?;
    let (a, b) = room_edges(room).nth(o.edge)?;
    let dir = (b - a).try_normalize()?;
    let points: Vec<DVec2> = room.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
    let left = DVec2::new(-dir.y, dir.x);
    let inward = if super::signed_area(&points) > 0.0 { left } else { -left };
    let start = a + dir * o.offset_m;
    Some((start, start + dir * o.width_m, inward))
}

impl Walls {
    /// Derives the walls of a plan.
    #[must_use]
    pub fn of(plan: &Plan) -> Walls {
        let mut walls = Walls::default();
        for (index, o) in plan.location.openings.iter().enumerate() {
            if let Some((a, b, inward)) = opening_ends(plan, o) {
                walls.openings.push(OpeningPlace { index, a, b, inward, leaf: leaf(o, a, b, inward) });
            }
        }
        for room in &plan.location.rooms {
            let earlier = walls.runs.clone();
            for (a, b) in room_edges(room) {
                let length = a.distance(b);
                if length < 1e-9 {
                    continue;
                }
                let dir = (b - a) / length;
                let taken: Vec<(f64, f64)> = earlier.iter().filter_map(|w| overlap(a, dir, length, w.a, w.b)).collect();
                // A shared stretch is as high as the higher of its two rooms.
                for w in &mut walls.runs {
                    if overlap(a, dir, length, w.a, w.b).is_some() {
                        w.z1 = w.z1.max(room.ceiling_m);
                    }
                }
                for (s, e) in subtract(length, &taken) {
                    walls.runs.push(WallPiece {
                        a: a + dir * s,
                        b: a + dir * e,
                        z0: 0.0,
                        z1: room.ceiling_m,
                        part: WallPart::Full,
                    });
                }
            }
        }
        for run in walls.runs.clone() {
            walls.cut(plan, run);
        }
        walls
    }

    fn cut(&mut self, plan: &Plan, run: WallPiece) {
        let length = run.a.distance(run.b);
        let dir = (run.b - run.a) / length;
        let mut taken = Vec::new();
        for place in &self.openings {
            let Some((s, e)) = overlap(run.a, dir, length, place.a, place.b) else { continue };
            let o = &plan.location.openings[place.index];
            taken.push((s, e));
            let (a, b) = (run.a + dir * s, run.a + dir * e);
            if o.head_m < run.z1 - 1e-6 {
                self.pieces.push(WallPiece { a, b, z0: o.head_m, z1: run.z1, part: WallPart::Above(place.index) });
            }
            if o.sill_m > 1e-6 {
                self.pieces.push(WallPiece { a, b, z0: 0.0, z1: o.sill_m, part: WallPart::Below(place.index) });
            }
        }
        for (s, e) in subtract(length, &taken) {
            self.pieces.push(WallPiece { a: run.a + dir * s, b: run.a + dir * e, ..run });
        }
    }
}

/// The stretch of edge `a + dir·[0, length]` that segment `c..d` covers, if they lie on one line.
fn overlap(a: DVec2, dir: DVec2, length: f64, c: DVec2, d: DVec2) -> Option<(f64, f64)> {
    if dir.perp_dot(c - a).abs() > SAME_LINE_M || dir.perp_dot(d - a).abs() > SAME_LINE_M {
        return None;
    }
    let (s, t) = (dir.dot(c - a), dir.dot(d - a));
    let (low, high) = (s.min(t).max(0.0), s.max(t).min(length));
    (high - low > 1e-6).then_some((low, high))
}

/// What is left of `0..length` when the given stretches are taken out.
fn subtract(length: f64, taken: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut sorted = taken.to_vec();
    sorted.sort_by(|x, y| x.0.total_cmp(&y.0));
    let mut out = Vec::new();
    let mut at = 0.0;
    for (s, e) in sorted {
        if s - at > 1e-6 {
            out.push((at, s));
        }
        at = e.max(at);
    }
    if length - at > 1e-6 {
        out.push((at, length));
    }
    out
}

fn leaf(o: &Opening, a: DVec2, b: DVec2, inward: DVec2) -> Option<Leaf> {
    let OpeningKind::Door { hinge, swing, open_deg } = o.kind else { return None };
    let (hinge, shut_tip) = match hinge {
        Hinge::Near => (a, b),
        Hinge::Far => (b, a),
    };
    let to_side = match swing {
        Swing::In => inward,
        Swing::Out => -inward,
    };
    let shut = shut_tip - hinge;
    // Clockwise by 90° of (x, y) is (y, -x): which way round leads to the swing's side?
    let turn = if DVec2::new(shut.y, -shut.x).dot(to_side) > 0.0 { 1.0 } else { -1.0 };
    let tip = hinge + super::rotate_bearing(shut, turn * open_deg);
    Some(Leaf { hinge, tip, shut_tip, turn, top_m: o.head_m })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Unknown;

    fn two_rooms() -> Plan {
        let mut plan = Plan::empty();
        plan.location.rooms.push(Room::new("a", "A", vec![[0., 0.], [4., 0.], [4., 3.], [0., 3.]]));
        plan.location.rooms.push(Room::new("b", "B", vec![[4., 1.], [6., 1.], [6., 3.], [4., 3.]]));
        plan.location.openings.push(Opening {
            id: "d".into(),
            name: String::new(),
            room: "a".into(),
            edge: 1,
            offset_m: 1.5,
            width_m: 0.9,
            sill_m: 0.0,
            head_m: 2.0,
            kind: OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg: 90.0 },
            unknown: Unknown::new(),
        });
        plan
    }

    #[test]
    fn adjoining_rooms_share_a_wall() {
        let walls = Walls::of(&two_rooms());
        let total: f64 = walls.runs.iter().map(|w| w.a.distance(w.b)).sum();
        // 14 m round A, and B without its west wall: 2 + 2 + 2.
        assert!((total - 20.0).abs() < 1e-9, "{total}");
    }

    #[test]
    fn a_door_cuts_the_wall_once_and_swings_into_its_room() {
        let walls = Walls::of(&two_rooms());
        let floor_length: f64 = walls.pieces.iter().filter(|w| w.z0 == 0.0).map(|w| w.a.distance(w.b)).sum();
        assert!((floor_length - 19.1).abs() < 1e-9);
        let leaf = walls.openings[0].leaf.unwrap();
        // Hinge at (4, 1.5), open a right angle into room A (west).
        assert!((leaf.tip - DVec2::new(3.1, 1.5)).length() < 1e-9, "{leaf:?}");
    }
}
