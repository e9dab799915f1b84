//! Which rooms matter to a rig's bounced light, and by which openings rooms see each other.

use super::{Emitter, Shape};
use crate::geometry::{Area, Walls, point_in_polygon, signed_area};
use crate::plan::{OpeningKind, Plan};
use crate::scene::{Scene, View};
use glam::{DVec2, Vec3};
use std::sync::Arc;

/// No room.
pub(super) const NOWHERE: u16 = u16::MAX;
/// Up to this many rooms all are worked out alike.
const FEW_ROOMS: usize = 6;
/// A room that begins this far behind an opening is beside it, metres.
const BEHIND_M: [f64; 2] = [0.15, 0.45];

/// A way through a wall: its ends on the plan, and its foot and head, metres.
#[derive(Debug, Clone, Copy)]
struct Way {
    ends: (DVec2, DVec2),
    z: [f64; 2],
}

/// A plan's rooms and the openings between them and to the outside.
#[derive(Debug, Clone)]
pub(super) struct Rooms {
    outlines: Vec<Vec<DVec2>>,
    /// An upright box round each: low and high corner.
    boxes: Vec<(DVec2, DVec2)>,
    /// By room: its openings that are not shut.
    holes: Vec<Vec<Way>>,
    /// Pairs of rooms that an opening joins, and its ends.
    joined: Vec<([u16; 2], [DVec2; 2])>,
}

impl Rooms {
    pub fn of(plan: &Plan) -> Arc<Rooms> {
        plan.location.derived(|_| Rooms::new(plan))
    }

    fn new(plan: &Plan) -> Rooms {
        let outlines: Vec<Vec<DVec2>> =
            plan.location.rooms.iter().map(|r| r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect()).collect();
        let boxed = |points: &Vec<DVec2>| {
            let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
            (low, points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max))
        };
        let boxes = outlines.iter().map(boxed).collect();
        let mut rooms = Rooms { holes: vec![Vec::new(); outlines.len()], boxes, outlines, joined: Vec::new() };
        for place in &Walls::shared(plan).openings {
            if matches!(plan.location.openings[place.index].kind, OpeningKind::Door { open_deg, .. } if open_deg < 0.5)
            {
                continue;
            }
            let Some(inside) =
                plan.location.rooms.iter().position(|r| r.id == plan.location.openings[place.index].room)
            else {
                continue;
            };
            let opening = &plan.location.openings[place.index];
            let way = Way { ends: (place.a, place.b), z: [opening.sill_m, opening.head_m] };
            rooms.holes[inside].push(way);
            for to in place.leads_to.iter().copied().filter(|to| *to != inside) {
                rooms.holes[to].push(way);
                rooms.joined.push(([inside as u16, to as u16], [place.a, place.b]));
            }
            if place.leads_to.is_empty() {
                // Two openings in walls further apart make a way too.
                let middle = (place.a + place.b) * 0.5;
                let beyond = BEHIND_M.iter().map(|d| rooms.at(middle - place.inward * *d)).find(|r| *r != NOWHERE);
                rooms.joined.extend(beyond.map(|to| ([inside as u16, to], [place.a, place.b])));
            }
        }
        rooms
    }

    /// The room a point of the floor lies in.
    pub fn at(&self, p: DVec2) -> u16 {
        self.outlines.iter().position(|o| point_in_polygon(p, o)).map_or(NOWHERE, |i| i as u16)
    }

    /// A thing's outline, counter-clockwise, cut where it goes through walls, each part with the room it lies in; none
    /// where it lies whole in the room it belongs to.
    pub fn cut_up(&self, own: u16, ring: &[DVec2]) -> Option<Vec<(Vec<DVec2>, u16)>> {
        let low = ring.iter().copied().fold(DVec2::INFINITY, DVec2::min);
        let high = ring.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
        let is_near = |i: &usize| low.cmple(self.boxes[*i].1).all() && self.boxes[*i].0.cmple(high).all();
        let near: Vec<usize> = (0..self.outlines.len()).filter(is_near).collect();
        let whole = match self.outlines.get(usize::from(own)) {
            None => near.is_empty(),
            Some(outline) => {
                let inside = |p: &DVec2| low.cmplt(*p).all() && p.cmplt(high).all();
                ring.iter().all(|p| point_in_polygon(*p, outline)) && !outline.iter().any(inside)
            }
        };
        if whole {
            return None;
        }
        let all = Area::of([ring.to_vec()]);
        let size = all.area_m2();
        let mut parts = Vec::new();
        for i in &near {
            let within = all.within(&self.outlines[*i]);
            let m2 = within.area_m2();
            // What only touches a wall is not cut by it.
            if m2 > size - LITTLE_M2 {
                return None;
            }
            if m2 > LITTLE_M2 {
                parts.extend(within.outlines().map(|o| (o, *i as u16)));
            }
        }
        let outlines: Vec<Vec<DVec2>> = near.iter().map(|i| self.outlines[*i].clone()).collect();
        parts.extend(all.without(&outlines).outlines().map(|o| (o, NOWHERE)));
        parts.iter_mut().filter(|(o, _)| signed_area(o) < 0.0).for_each(|(o, _)| o.reverse());
        (!parts.is_empty()).then_some(parts)
    }

    /// Which rooms are worked out finely: where lamps and people are and the camera stands, and those it looks into
    /// from there.
    pub fn near(&self, scene: &Scene, emitters: &[Emitter]) -> Vec<bool> {
        let count = self.outlines.len();
        if self.are_few() {
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
        if let Some(view) = &scene.view {
            let here = self.at(view.eye.truncate());
            for ([a, b], [p, q]) in self.joined.iter().filter(|j| j.0.contains(&here)) {
                let there = if *a == here { *b } else { *a };
                if there != NOWHERE && may_look_through(view, *p, *q) {
                    own[usize::from(there)] = true;
                }
            }
        }
        own
    }

    /// By room: whether anything in it may be seen from within `radius` of a point of a room.
    pub fn seen_from(&self, (a, from): (u16, DVec2), radius: f64) -> Vec<bool> {
        let to = self.boxes.iter().zip(0_u16..);
        to.map(|((low, high), b)| self.may_see((a, from, radius), (b, (*low + *high) * 0.5, low.distance(*high) * 0.5)))
            .collect()
    }

    /// The room an emitter shines in, its middle, and how far round it it shines from; none for what comes from
    /// everywhere. The sky behind an opening shines in the room the opening is of.
    pub fn home(&self, emitter: &Emitter) -> Option<(u16, DVec2, f64)> {
        const WITHIN_M: f64 = 0.1;
        match &emitter.shape {
            Shape::Sun { .. } | Shape::Open(_) => None,
            Shape::Sky { hole, .. } => {
                let from = hole.centre + hole.inward * WITHIN_M;
                Some((self.at(from.truncate()), from.truncate(), hole.reach_m() + WITHIN_M))
            }
            _ => {
                let from = emitter.at().truncate();
                Some((self.at(from), from, emitter.reach_m()))
            }
        }
    }

    /// By room: whether anything in it may be seen from an emitter; none where every room may.
    pub fn seen_by(&self, emitter: &Emitter) -> Option<Vec<bool>> {
        let (room, from, reach) = self.home(emitter).filter(|_| self.are_many())?;
        Some(self.seen_from((room, from), reach))
    }

    /// Upright boxes round the rooms, grown a little: low and high corner.
    pub fn boxes(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        self.boxes.iter().map(|(low, high)| (*low - 0.05, *high + 0.05))
    }

    /// Whether there are so few that all are worked out alike.
    pub fn are_few(&self) -> bool {
        self.outlines.len() <= FEW_ROOMS
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
            .all(|r| self.holes[usize::from(*r)].iter().any(|w| passes((from, here), (to, there), w.ends.0, w.ends.1)))
    }
}

impl Rooms {
    /// Whether anything of a ball, which belongs to a room, may be seen from a point: it reaches into the point's own
    /// room, or lies beyond one of its openings.
    pub fn may_look_at(&self, from: DVec2, (room, to, radius): (u16, DVec2, f64)) -> bool {
        let here = self.at(from);
        if !self.are_many() || here == NOWHERE || here == room || room == NOWHERE {
            return true;
        }
        let (low, high) = self.boxes[usize::from(here)];
        let beside = to.clamp(low, high).distance(to) <= radius + 0.05;
        beside || self.holes[usize::from(here)].iter().any(|w| passes((from, 0.0), (to, radius), w.ends.0, w.ends.1))
    }

    /// Whether any line from one flat polygon in a room may reach another in another room: by an opening of each.
    pub fn may_pass(&self, (a, from): (u16, &[Vec3; 4]), (b, to): (u16, &[Vec3; 4])) -> bool {
        if a == b || a == NOWHERE || b == NOWHERE {
            return true;
        }
        [a, b].iter().all(|r| self.holes[usize::from(*r)].iter().any(|way| way.lets_by(from, to)))
    }
}

/// A part of a thing's outline smaller than this is none, m².
const LITTLE_M2: f64 = 1e-3;
/// So near the plane of an opening a polygon counts as lying on either side, metres.
const IN_PLANE_M: f64 = 1e-3;

impl Way {
    /// Whether any line from one flat polygon to another passes it. Where lines between all their corners cross its
    /// plane, every line between them crosses within (central projection keeps what lies between).
    fn lets_by(&self, from: &[Vec3; 4], to: &[Vec3; 4]) -> bool {
        let (p, q) = self.ends;
        let along = (q - p).normalize_or_zero();
        let off = |c: &Vec3| along.perp_dot(c.truncate().as_dvec2() - p);
        let (here, there) = (from.each_ref().map(off), to.each_ref().map(off));
        let beyond = |d: &[f64; 4], side: f64| d.iter().all(|d| d * side > IN_PLANE_M);
        let sides = [1.0, -1.0].map(|side| (beyond(&here, side), beyond(&there, side)));
        match sides {
            [(true, true), _] | [_, (true, true)] => return false,
            [(true, _), (_, true)] | [(_, true), (true, _)] => {}
            _ => return true,
        }
        let length = p.distance(q);
        let (mut low, mut high) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        for (a, da) in from.iter().zip(here) {
            for (b, db) in to.iter().zip(there) {
                let at = a.as_dvec3().lerp(b.as_dvec3(), da / (da - db));
                let at = DVec2::new(along.dot(at.truncate() - p), at.z);
                (low, high) = (low.min(at), high.max(at));
            }
        }
        high.x >= 0.0 && low.x <= length && high.y >= self.z[0] && low.y <= self.z[1]
    }
}

/// Whether a lens may look through an opening: some of it lies about within the frame's sides, or right beside the lens.
fn may_look_through(view: &View, p: DVec2, q: DVec2) -> bool {
    const BESIDE_M: f64 = 1.0;
    const WITHIN: f64 = 1.2;
    let steps = 8;
    (0..=steps).map(|n| p.lerp(q, f64::from(n) / f64::from(steps))).any(|at| {
        let level = view.project(at.extend(view.eye.z));
        at.distance(view.eye.truncate()) < BESIDE_M || level.is_some_and(|(place, _)| place.x.abs() < WITHIN)
    })
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
