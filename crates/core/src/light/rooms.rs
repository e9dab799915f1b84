//! Which rooms matter to a rig's bounced light, and by which openings rooms see each other.

use super::{Emitter, Shape};
use crate::geometry::point_in_polygon;
use crate::plan::{OpeningKind, Plan};
use crate::scene::Scene;
use glam::DVec2;

/// No room.
pub(super) const NOWHERE: u16 = u16::MAX;
/// Up to this many rooms all are worked out alike.
const FEW_ROOMS: usize = 6;
/// A room that begins this far behind an opening is beside it, metres.
const BEHIND_M: [f64; 2] = [0.15, 0.45];

/// A plan's rooms and the openings between them and to the outside.
#[derive(Debug, Clone)]
pub(super) struct Rooms {
    outlines: Vec<Vec<DVec2>>,
    /// An upright box round each: low and high corner.
    boxes: Vec<(DVec2, DVec2)>,
    /// By room: its openings that are not shut.
    holes: Vec<Vec<(DVec2, DVec2)>>,
    /// Pairs of rooms that an opening joins.
    joined: Vec<(u16, u16)>,
}

impl Rooms {
    pub fn of(plan: &Plan, scene: &Scene) -> Rooms {
        let outlines: Vec<Vec<DVec2>> =
            plan.location.rooms.iter().map(|r| r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect()).collect();
        let boxed = |points: &Vec<DVec2>| {
            let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
            (low, points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max))
        };
        let boxes = outlines.iter().map(boxed).collect();
        let mut rooms = Rooms { holes: vec![Vec::new(); outlines.len()], boxes, outlines, joined: Vec::new() };
        for place in &scene.walls.openings {
            if matches!(plan.location.openings[place.index].kind, OpeningKind::Door { open_deg, .. } if open_deg < 0.5)
            {
                continue;
            }
            let Some(inside) =
                plan.location.rooms.iter().position(|r| r.id == plan.location.openings[place.index].room)
            else {
                continue;
            };
            rooms.holes[inside].push((place.a, place.b));
            for to in place.leads_to.iter().copied().filter(|to| *to != inside) {
                rooms.holes[to].push((place.a, place.b));
                rooms.joined.push((inside as u16, to as u16));
            }
            if place.leads_to.is_empty() {
                // Two openings in walls further apart make a way too.
                let middle = (place.a + place.b) * 0.5;
                let beyond = BEHIND_M.iter().map(|d| rooms.at(middle - place.inward * *d)).find(|r| *r != NOWHERE);
                rooms.joined.extend(beyond.map(|to| (inside as u16, to)));
            }
        }
        rooms
    }

    /// The room a point of the floor lies in.
    pub fn at(&self, p: DVec2) -> u16 {
        self.outlines.iter().position(|o| point_in_polygon(p, o)).map_or(NOWHERE, |i| i as u16)
    }

    /// Which rooms are worked out finely: where lamps and people are and the camera stands, and the rooms next
    /// to them.
    pub fn near(&self, scene: &Scene, emitters: &[Emitter]) -> Vec<bool> {
        let count = self.outlines.len();
        if count <= FEW_ROOMS {
            return vec![true; count];
        }
        let mut points: Vec<DVec2> = scene.people.iter().map(|p| p.position).collect();
        points.extend(scene.view.as_ref().map(|v| v.eye.truncate()));
        for e in emitters {
            match &e.shape {
                Shape::Sun { holes, .. } => points.extend(holes.iter().map(|h| (h.centre + h.inward * 0.1).truncate())),
                Shape::Open(_) => {}
                Shape::Sky { hole, .. } => points.push((hole.centre + hole.inward * 0.1).truncate()),
                _ => points.push(e.at().truncate()),
            }
        }
        let mut own = vec![false; count];
        for room in points.into_iter().map(|p| self.at(p)).filter(|r| *r != NOWHERE) {
            own[usize::from(room)] = true;
        }
        let mut near = own.clone();
        for (a, b) in &self.joined {
            let (a, b) = (usize::from(*a), usize::from(*b));
            near[a] |= own[b];
            near[b] |= own[a];
        }
        near
    }

    /// By room: whether anything in it may be seen from within `radius` of a point of a room.
    pub fn seen_from(&self, (a, from): (u16, DVec2), radius: f64) -> Vec<bool> {
        let to = self.boxes.iter().zip(0_u16..);
        to.map(|((low, high), b)| self.may_see((a, from, radius), (b, (*low + *high) * 0.5, low.distance(*high) * 0.5)))
            .collect()
    }

    /// Upright boxes round the rooms, grown a little: low and high corner.
    pub fn boxes(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        self.boxes.iter().map(|(low, high)| (*low - 0.05, *high + 0.05))
    }

    /// Whether there are so many that passing over some is worth asking.
    pub fn are_many(&self) -> bool {
        self.outlines.len() > 2
    }

    /// Whether anything within a distance of a point of one room may see anything within another distance of a
    /// point of another room: by an opening of each. Where either lies in no room there is no telling.
    pub fn may_see(&self, (a, from, here): (u16, DVec2, f64), (b, to, there): (u16, DVec2, f64)) -> bool {
        if a == b || a == NOWHERE || b == NOWHERE {
            return true;
        }
        [a, b]
            .iter()
            .all(|r| self.holes[usize::from(*r)].iter().any(|(p, q)| passes((from, here), (to, there), *p, *q)))
    }
}

/// Whether lines from about one point to about another may pass an opening: not when both its ends lie on one side
/// further off than the lines spread there, or beyond an end.
fn passes((from, here): (DVec2, f64), (to, there): (DVec2, f64), p: DVec2, q: DVec2) -> bool {
    let d = to - from;
    let length2 = d.length_squared().max(1e-12);
    let (v, w) = (p - from, q - from);
    let (a, b) = (d.perp_dot(v), d.perp_dot(w));
    let (t, u) = (d.dot(v), d.dot(w));
    let spread = |along: f64| here + (there - here) * (along / length2).clamp(0.0, 1.0);
    let off = |side: f64, along: f64| side * side > spread(along) * spread(along) * length2;
    if a * b > 0.0 && off(a, t) && off(b, u) {
        return false;
    }
    let length = length2.sqrt();
    t.max(u) >= -here * length && t.min(u) <= length2 + there * length
}
