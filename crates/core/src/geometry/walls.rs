//! Walls from room outlines: each room has its own inner faces, cut where a neighbour ends and by openings.
//!
//! Outlines are the taped inner faces. Two edges that face each other across no more than the walls' thickness
//! are the two faces of one wall, and an opening in either cuts both. Outlines that touch are a wall without
//! thickness.

use crate::plan::{Hinge, Location, Opening, OpeningKind, Plan, Room, Swing};
use glam::DVec2;
use std::sync::Arc;

/// Tapes disagree by as much: faces further apart than the walls' thickness by this are still one wall, and so
/// are faces that overlap by it, metres.
const TAPE_SLACK_M: f64 = 0.03;
/// Faces nearer than this touch: one sheet stands for both, metres.
const TOUCHING_M: f64 = 1e-4;
/// A doorway deeper than this has reveals, metres.
const REVEAL_M: f64 = 2e-3;
/// Cosine of the angle between edges that still face each other (15°).
const FACING: f64 = 0.965_9;
/// Shorter stretches of wall are rounding, metres.
const CRUMB_M: f64 = 1e-6;

/// What part of a wall a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WallPart {
    /// Floor to ceiling.
    Full,
    /// Over an opening.
    Above(usize),
    /// Under a window.
    Below(usize),
    /// The side of an opening between two faces of a wall.
    Jamb(usize),
}

/// What is behind a face: another face of the same wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Behind {
    /// Place of the room it bounds in the plan's list.
    pub room: usize,
    /// Which edge of that room's outline.
    pub edge: usize,
    /// Distance from face to face at the piece's two ends, metres; not below zero.
    pub gap_m: [f64; 2],
}

impl Behind {
    /// Whether the two faces are one sheet.
    #[must_use]
    pub fn touches(&self) -> bool {
        self.gap_m[0].max(self.gap_m[1]) < TOUCHING_M
    }
}

/// A straight upright piece of a wall's face. Its room lies to the left of `a → b`.
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
    /// Place of its room in the plan's list.
    pub room: usize,
    /// Which edge of that room's outline.
    pub edge: usize,
    /// The wall's other face; none where nobody lives behind.
    pub behind: Option<Behind>,
}

impl WallPiece {
    /// Unit vector out of the face, into its room.
    #[must_use]
    pub fn inward(&self) -> DVec2 {
        (self.b - self.a).normalize_or_zero().perp()
    }
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
    /// How far it opens before it meets a wall, degrees, where the plan opens it further.
    pub stopped_deg: Option<f64>,
}

impl Leaf {
    /// How far it opens from shut until it meets a wall, degrees; none when it never does.
    fn meets_deg(&self, a: DVec2, b: DVec2) -> Option<f64> {
        let shut = self.shut_tip - self.hinge;
        let long = shut.length();
        // How far from shut, the way it turns; 0 to 360.
        let turned = |p: DVec2| (-self.turn * shut.angle_to(p)).to_degrees().rem_euclid(360.0);
        let (from, way) = (a - self.hinge, b - a);
        // Where the wall crosses the free edge's arc: |from + t·way| = long.
        let (half, square) = (from.dot(way), way.length_squared());
        let root = (half * half - square * (from.length_squared() - long * long)).max(-1.0);
        let crossings = [-1.0, 1.0].map(|sign| (-half + sign * root.max(0.0).sqrt()) / square);
        let on_the_arc =
            crossings.into_iter().filter(|t| root >= 0.0 && (0.0..=1.0).contains(t)).map(|t| from + way * t);
        let within = |p: &DVec2| (HINGE_M..=long).contains(&p.length());
        let ends = [from, b - self.hinge].into_iter().filter(within);
        let met = on_the_arc.chain(ends).map(turned).filter(|deg| *deg > OFF_THE_WALL_DEG && *deg < 359.0);
        met.min_by(f64::total_cmp)
    }
}

/// An opening's place on the plan.
#[derive(Debug, Clone, PartialEq)]
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
    /// Places of the rooms it leads to in the plan's list; empty: outside.
    pub leads_to: Vec<usize>,
    /// Depth of the doorway at its two ends, metres; 0 in a wall without thickness to the light.
    pub depth_m: [f64; 2],
}

/// A level face between the two faces of a wall: under the head of an opening, or its sill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lintel {
    /// Corners, counter-clockwise seen from above, metres.
    pub ring: [DVec2; 4],
    /// Height, metres.
    pub z: f64,
    /// Which way it looks.
    pub looks: Looks,
    /// Index of the opening in the plan's list.
    pub opening: usize,
}

/// Which way a level face looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Looks {
    /// Up: a sill or a threshold.
    Up,
    /// Down: what is under a head.
    Down,
}

/// All walls of a plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Walls {
    /// Solid pieces of the faces, and the jambs of openings between two faces.
    pub pieces: Vec<WallPiece>,
    /// Every room's edges uncut, for drawing and dimensions.
    pub runs: Vec<WallPiece>,
    /// Openings.
    pub openings: Vec<OpeningPlace>,
    /// Heads, sills and thresholds between two faces.
    pub lintels: Vec<Lintel>,
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
    let inward = dir.perp() * turning(room);
    let start = a + dir * o.offset_m;
    Some((start, start + dir * o.width_m, inward))
}

/// +1 for an outline that runs counter-clockwise, −1 for one that runs clockwise.
fn turning(room: &Room) -> f64 {
    let points: Vec<DVec2> = room.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
    if super::signed_area(&points) > 0.0 { 1.0 } else { -1.0 }
}

/// An edge of a room, turned so that the room lies to the left of `a → b`.
struct Edge {
    room: usize,
    edge: usize,
    a: DVec2,
    b: DVec2,
    dir: DVec2,
    length: f64,
    top: f64,
}

/// A stretch of an edge across which another edge faces it.
#[derive(Clone, Copy)]
struct Facing {
    from: f64,
    to: f64,
    other: usize,
    gap: [f64; 2],
}

impl Facing {
    fn gap_at(&self, s: f64) -> f64 {
        let t = if self.to > self.from { (s - self.from) / (self.to - self.from) } else { 0.0 };
        (self.gap[0] + (self.gap[1] - self.gap[0]) * t).max(0.0)
    }
}

/// A stretch of an edge that an opening cuts.
#[derive(Clone, Copy)]
struct Cut {
    from: f64,
    to: f64,
    opening: usize,
    z: [f64; 2],
}

impl Edge {
    fn at(&self, s: f64) -> DVec2 {
        self.a + self.dir * s
    }

    fn along(&self, p: DVec2) -> f64 {
        self.dir.dot(p - self.a)
    }

    /// Where another edge faces this one across no more than `thick_m` and the tapes' slack.
    fn facing(&self, other: &Edge, index: usize, thick_m: f64) -> Option<Facing> {
        if self.dir.dot(other.dir) > -FACING {
            return None;
        }
        // The other runs the other way: its far end comes first along this one.
        let outward = -self.dir.perp();
        let (s, t) = (self.along(other.b), self.along(other.a));
        let (g, h) = (outward.dot(other.b - self.a), outward.dot(other.a - self.a));
        let slope = (h - g) / (t - s);
        let gap = |x: f64| g + slope * (x - s);
        let (mut from, mut to) = (s.max(0.0), t.min(self.length));
        for (limit, sign) in [(-TAPE_SLACK_M, 1.0), (thick_m + TAPE_SLACK_M + 1e-9, -1.0)] {
            // What is left where sign·(gap − limit) is not below zero.
            let (u, v) = (sign * (gap(from) - limit), sign * (gap(to) - limit));
            match (u < 0.0, v < 0.0) {
                (true, true) => return None,
                (true, false) => from += (to - from) * (-u / (v - u)),
                (false, true) => to -= (to - from) * (-v / (u - v)),
                (false, false) => {}
            }
        }
        (to - from > CRUMB_M).then(|| Facing { from, to, other: index, gap: [gap(from), gap(to)] })
    }
}

impl Walls {
    /// As [`Walls::of`], worked out once for a place.
    #[must_use]
    pub fn shared(plan: &Plan) -> Arc<Walls> {
        plan.location.derived(|_| Walls::of(plan))
    }

    /// Derives the walls of a plan.
    #[must_use]
    pub fn of(plan: &Plan) -> Walls {
        let l = &plan.location;
        let edges = edges(l);
        let facing: Vec<Vec<Facing>> = edges
            .iter()
            .enumerate()
            .map(|(i, e)| {
                let others = edges.iter().enumerate().filter(|(j, _)| *j != i);
                others.filter_map(|(j, o)| e.facing(o, j, l.wall_thickness_m)).collect()
            })
            .collect();
        let mut walls = Walls::default();
        let mut cuts: Vec<Vec<Cut>> = edges.iter().map(|_| Vec::new()).collect();
        for (index, o) in l.openings.iter().enumerate() {
            walls.place_opening(plan, index, o, &edges, &facing, &mut cuts);
        }
        for (i, e) in edges.iter().enumerate() {
            let full = |a, b, behind| WallPiece {
                a,
                b,
                z0: 0.0,
                z1: e.top,
                part: WallPart::Full,
                room: e.room,
                edge: e.edge,
                behind,
            };
            walls.runs.push(full(e.a, e.b, None));
            for (from, to) in elementary(e.length, &facing[i], &cuts[i]) {
                let middle = (from + to) * 0.5;
                let over = |f: &&Facing| f.from <= middle && middle <= f.to;
                let nearest =
                    facing[i].iter().filter(over).min_by(|x, y| x.gap_at(middle).total_cmp(&y.gap_at(middle)));
                let behind = nearest.map(|f| Behind {
                    room: edges[f.other].room,
                    edge: edges[f.other].edge,
                    gap_m: [f.gap_at(from), f.gap_at(to)],
                });
                let here: Vec<Cut> = cuts[i].iter().filter(|c| c.from <= middle && middle <= c.to).copied().collect();
                let whole = full(e.at(from), e.at(to), behind);
                walls.pieces.extend(solid_parts(e.top, &here).map(|(z0, z1, part)| WallPiece {
                    z0,
                    z1,
                    part,
                    ..whole
                }));
            }
        }
        walls.stop_leaves();
        walls
    }

    /// A leaf opens as far as the first wall in its way: what stands beyond would be cut by it.
    fn stop_leaves(&mut self) {
        for place in &mut self.openings {
            let Some(leaf) = &mut place.leaf else { continue };
            let shut = leaf.shut_tip - leaf.hinge;
            let along = shut.normalize_or_zero();
            let open_deg = along.angle_to(leaf.tip - leaf.hinge).to_degrees().abs();
            let in_the_way = self.pieces.iter().filter(|w| {
                let own =
                    matches!(w.part, WallPart::Jamb(_)) || (w.b - w.a).normalize_or_zero().dot(along).abs() > FACING;
                w.z0 < leaf.top_m && !own
            });
            let met = in_the_way.filter_map(|w| leaf.meets_deg(w.a, w.b)).fold(f64::INFINITY, f64::min);
            if met < open_deg {
                let stopped_deg = met - OFF_THE_WALL_DEG;
                leaf.tip = leaf.hinge + super::rotate_bearing(shut, leaf.turn * stopped_deg);
                leaf.stopped_deg = Some(stopped_deg);
            }
        }
    }

    /// Puts an opening on its own edge and on those that face it there, with the reveals between.
    fn place_opening(
        &mut self,
        plan: &Plan,
        index: usize,
        o: &Opening,
        edges: &[Edge],
        facing: &[Vec<Facing>],
        cuts: &mut [Vec<Cut>],
    ) {
        let Some((a, b, inward)) = opening_ends(plan, o) else { return };
        let mut place =
            OpeningPlace { index, a, b, inward, leaf: leaf(o, a, b, inward), leads_to: Vec::new(), depth_m: [0.0; 2] };
        let own = edges.iter().position(|e| e.edge == o.edge && plan.location.rooms[e.room].id == o.room);
        if let Some(own) = own {
            let e = &edges[own];
            let (s, t) = (e.along(a), e.along(b));
            let (from, to) = (s.min(t).max(0.0), s.max(t).min(e.length));
            let z = [o.sill_m, o.head_m];
            cuts[own].push(Cut { from, to, opening: index, z });
            for f in &facing[own] {
                let (from, to) = (from.max(f.from), to.min(f.to));
                if to - from <= CRUMB_M {
                    continue;
                }
                let other = &edges[f.other];
                let outward = -e.dir.perp();
                let (p, q) = (e.at(from), e.at(to));
                let (gp, gq) = (f.gap_at(from), f.gap_at(to));
                let (s, t) = (other.along(q + outward * gq), other.along(p + outward * gp));
                cuts[f.other].push(Cut { from: s.min(t), to: s.max(t), opening: index, z });
                if !place.leads_to.contains(&other.room) {
                    place.leads_to.push(other.room);
                }
                if gp.max(gq) > REVEAL_M {
                    let ends = if e.along(a) <= e.along(b) { [gp, gq] } else { [gq, gp] };
                    place.depth_m = [place.depth_m[0].max(ends[0]), place.depth_m[1].max(ends[1])];
                    let far = [p + outward * gp, q + outward * gq];
                    self.reveal(e, index, o, [p, q], far);
                }
            }
            place.leads_to.sort_unstable();
        }
        self.openings.push(place);
    }

    /// Jambs, head and sill of an opening between the faces of a wall: `near` on its own face, `far` on the other.
    fn reveal(&mut self, e: &Edge, index: usize, o: &Opening, near: [DVec2; 2], far: [DVec2; 2]) {
        let jamb = |a, b| WallPiece {
            a,
            b,
            z0: o.sill_m,
            z1: o.head_m,
            part: WallPart::Jamb(index),
            room: e.room,
            edge: e.edge,
            behind: None,
        };
        self.pieces.push(jamb(near[0], far[0]));
        self.pieces.push(jamb(far[1], near[1]));
        let ring = [near[0], far[0], far[1], near[1]];
        self.lintels.push(Lintel { ring, z: o.head_m, looks: Looks::Down, opening: index });
        self.lintels.push(Lintel { ring, z: o.sill_m, looks: Looks::Up, opening: index });
    }
}

/// All rooms' edges, each with its room to the left.
fn edges(l: &Location) -> Vec<Edge> {
    let mut out = Vec::new();
    for (room, r) in l.rooms.iter().enumerate() {
        let turn = turning(r);
        for (edge, (a, b)) in room_edges(r).enumerate() {
            let (a, b) = if turn > 0.0 { (a, b) } else { (b, a) };
            let length = a.distance(b);
            if length > 1e-9 {
                out.push(Edge { room, edge, a, b, dir: (b - a) / length, length, top: r.ceiling_m });
            }
        }
    }
    out
}

/// The stretches of an edge between all places where something behind it or an opening begins or ends.
fn elementary(length: f64, facing: &[Facing], cuts: &[Cut]) -> Vec<(f64, f64)> {
    let mut stops = vec![0.0, length];
    stops.extend(facing.iter().flat_map(|f| [f.from, f.to]));
    stops.extend(cuts.iter().flat_map(|c| [c.from, c.to]));
    stops.iter_mut().for_each(|s| *s = s.clamp(0.0, length));
    stops.sort_by(f64::total_cmp);
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut at = 0.0;
    for s in stops {
        if s - at > CRUMB_M {
            out.push((at, s));
            at = s;
        }
    }
    // What was passed over as a crumb goes with the last stretch.
    if let Some(last) = out.last_mut() {
        last.1 = length;
    }
    out
}

/// What is solid of a stretch floor to ceiling past the openings that cut it, from below.
fn solid_parts(top: f64, cuts: &[Cut]) -> impl Iterator<Item = (f64, f64, WallPart)> {
    let mut holes = cuts.to_vec();
    holes.sort_by(|x, y| x.z[0].total_cmp(&y.z[0]).then(x.z[1].total_cmp(&y.z[1])));
    let mut out = Vec::new();
    let (mut at, mut under) = (0.0, None);
    for hole in &holes {
        if hole.z[0] - at > CRUMB_M && at < top {
            let part = under.map_or(WallPart::Below(hole.opening), WallPart::Above);
            out.push((at, hole.z[0].min(top), part));
        }
        if hole.z[1] >= at {
            (at, under) = (hole.z[1], Some(hole.opening));
        }
    }
    if top - at > CRUMB_M {
        out.push((at, top, under.map_or(WallPart::Full, WallPart::Above)));
    }
    out.into_iter()
}

/// A leaf keeps a handle's depth off a wall, degrees.
const OFF_THE_WALL_DEG: f64 = 3.0;
/// What is nearer to the hinge does not stop a leaf, metres.
const HINGE_M: f64 = 0.02;
/// The wall that a door is in stops its leaf too, degrees.
const FURTHEST_OPEN_DEG: f64 = 180.0 - OFF_THE_WALL_DEG;

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
    let tip = hinge + super::rotate_bearing(shut, turn * open_deg.clamp(-FURTHEST_OPEN_DEG, FURTHEST_OPEN_DEG));
    Some(Leaf { hinge, tip, shut_tip, turn, top_m: o.head_m, stopped_deg: None })
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
    fn a_face_is_cut_where_its_neighbour_ends() {
        let walls = Walls::of(&two_rooms());
        let total: f64 = walls.runs.iter().map(|w| w.a.distance(w.b)).sum();
        // 14 m round A and 8 m round B.
        assert!((total - 22.0).abs() < 1e-9, "{total}");
        // A's east wall: 1 m with nobody behind it, 2 m with B behind it.
        let east: Vec<f64> = walls
            .pieces
            .iter()
            .filter(|w| w.room == 0 && w.edge == 1 && w.behind.is_some() && w.part == WallPart::Full)
            .map(|w| w.a.distance(w.b))
            .collect();
        assert!((east.iter().sum::<f64>() - 1.1).abs() < 1e-9, "{east:?}");
    }

    #[test]
    fn a_door_cuts_both_faces_and_swings_into_its_room() {
        let walls = Walls::of(&two_rooms());
        let floor_length: f64 = walls.pieces.iter().filter(|w| w.z0 == 0.0).map(|w| w.a.distance(w.b)).sum();
        assert!((floor_length - 20.2).abs() < 1e-9);
        assert_eq!(walls.openings[0].leads_to, [1]);
        let leaf = walls.openings[0].leaf.unwrap();
        // Hinge at (4, 1.5), open a right angle into room A (west).
        assert!((leaf.tip - DVec2::new(3.1, 1.5)).length() < 1e-9, "{leaf:?}");
    }

    #[test]
    fn a_door_goes_through_a_taped_wall_and_has_reveals() {
        let mut plan = two_rooms();
        // B's inner face lies a wall's thickness off A's.
        plan.location.rooms[1].outline_m.iter_mut().for_each(|p| p[0] += 0.12);
        let walls = Walls::of(&plan);
        let hole = |room: usize| -> f64 {
            let above = walls.pieces.iter().filter(|w| w.room == room && matches!(w.part, WallPart::Above(_)));
            above.map(|w| w.a.distance(w.b)).sum()
        };
        assert!((hole(0) - 0.9).abs() < 1e-9 && (hole(1) - 0.9).abs() < 1e-9);
        let jambs: Vec<&WallPiece> = walls.pieces.iter().filter(|w| matches!(w.part, WallPart::Jamb(_))).collect();
        assert_eq!(jambs.len(), 2);
        for j in jambs {
            assert!((j.a.distance(j.b) - 0.12).abs() < 1e-9);
            // They look at each other.
            assert!(j.inward().dot(DVec2::new(4.06, 1.95) - j.a) > 0.0, "{j:?}");
        }
        assert_eq!(walls.lintels.len(), 2);
        assert_eq!(walls.openings[0].depth_m, [0.12; 2].map(|d: f64| walls.openings[0].depth_m[0].max(d)));
    }

    #[test]
    fn a_leaf_stops_at_a_wall() {
        let mut plan = Plan::empty();
        plan.location.rooms.push(Room::new("a", "A", vec![[0., 0.], [4., 0.], [4., 3.], [2., 3.]]));
        let mut door = two_rooms().location.openings.remove(0);
        // In the east wall, 0.1 m from the corner with the north wall, hinged on that side.
        (door.offset_m, door.kind) = (2.0, OpeningKind::Door { hinge: Hinge::Far, swing: Swing::In, open_deg: 120.0 });
        plan.location.openings.push(door);
        let tip = |plan: &Plan| Walls::of(plan).openings[0].leaf.unwrap().tip;
        // The wall lies 0.1 m from the hinge: the leaf, 0.9 m long, meets it at 90° + asin(0.1 / 0.9).
        let met = (90.0 + (0.1_f64 / 0.9).asin().to_degrees() - OFF_THE_WALL_DEG).to_radians();
        let stops = DVec2::new(4.0 - 0.9 * met.sin(), 2.9 - 0.9 * met.cos());
        assert!(tip(&plan).distance(stops) < 1e-9, "{} {stops}", tip(&plan));
        // Further from the corner nothing stops it.
        plan.location.openings[0].offset_m = 0.5;
        assert!(tip(&plan).distance(DVec2::new(4.0 - 0.9 * 0.75_f64.sqrt(), 1.4 + 0.45)) < 1e-9);
        // Nor does the wall it is in when it opens flat.
        if let OpeningKind::Door { open_deg, .. } = &mut plan.location.openings[0].kind {
            *open_deg = 180.0;
        }
        assert!((tip(&plan).distance(DVec2::new(4.0, 2.3))) < 0.05);
    }

    #[test]
    fn rooms_too_far_apart_share_nothing() {
        let mut plan = two_rooms();
        plan.location.rooms[1].outline_m.iter_mut().for_each(|p| p[0] += 0.16);
        let walls = Walls::of(&plan);
        assert!(walls.openings[0].leads_to.is_empty() && walls.pieces.iter().all(|w| w.behind.is_none()));
    }

    #[test]
    fn two_openings_over_one_stretch_leave_what_neither_takes() {
        let cut = |from: f64, to: f64, opening| Cut { from: 0.0, to: 1.0, opening, z: [from, to] };
        let left: Vec<_> = solid_parts(2.5, &[cut(1.0, 1.5, 1), cut(0.2, 0.6, 0)]).collect();
        assert_eq!(
            left,
            [(0.0, 0.2, WallPart::Below(0)), (0.6, 1.0, WallPart::Above(0)), (1.5, 2.5, WallPart::Above(1))]
        );
    }
}
