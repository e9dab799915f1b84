//! Cutting rooms and pieces into patches.

use super::beyond::fronts;
use super::bounce::Patch;
use super::crowd;
use super::rooms::{NOWHERE, Rooms};
use super::sky::holes;
use crate::geometry::{Lintel, Looks, WallPart, WallPiece, Walls, cut_by, signed_area};
use crate::plan::{Finish, Piece, PieceShape, Plan, Room};
use crate::scene::footprint;
use glam::{DVec2, DVec3};
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// Most patches of a plan; coarser patches are used where more would be needed.
const MAX_PATCHES: f64 = 1_250.0;
/// Sine of the angle between edges that are one line still.
const SAME_LINE: f64 = 1e-6;
/// Ends of faces nearer than this meet, metres.
const SAME_PLACE_M: f64 = 1e-6;
/// A door leaf's finish.
pub(crate) const DOOR: Finish = Finish { reflectance_rgb: [0.5; 3] };

/// In rooms that are not near the light walls, floors and ceilings are cut this many times as coarse, and pieces
/// only stand in the way.
const AFAR: f64 = 3.0;

/// When a patch is in force: rooms are cut both finely and coarsely.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Choice {
    /// Always.
    Always,
    /// Where a room is near the light.
    Near(u16),
    /// Where it is not.
    Afar(u16),
}

impl Choice {
    /// Whether it is in force where these rooms are near the light.
    pub fn holds(&self, near: &[bool]) -> bool {
        let is_near = |room: &u16| near.get(usize::from(*room)).copied().unwrap_or(true);
        match self {
            Choice::Always => true,
            Choice::Near(room) => is_near(room),
            Choice::Afar(room) => !is_near(room),
        }
    }
}

/// Size of the patches in rooms near the light where patches of a size are wanted: coarser where there would be too
/// many.
pub(super) fn fine_m(plan: &Plan, patch_m: f64, near: &[bool]) -> f64 {
    let area = *plan.location.derived(|_| SurfaceArea(surface_area_m2(plan)));
    let least = (area.0 / MAX_PATCHES).sqrt();
    let all_near = near.iter().all(|n| *n);
    // Where only some rooms are cut finely, the whole area says nothing of their number.
    patch_m.max(0.1).max(if all_near { least } else { least.min(0.6) })
}

/// All surfaces of a place that return light, and when each is in force. People return none; they only stand in the
/// way.
pub(super) fn cut(plan: &Plan, fine: f64, rooms: &Rooms) -> (Vec<Patch>, Vec<Choice>) {
    let walls = Walls::shared(plan);
    let coarse = !rooms.are_few();
    let mut out = Cut::default();
    // In a room: once for each choice.
    let in_room = |room: u16, out: &mut Cut, put: &dyn Fn(f64, &mut Vec<Patch>)| {
        if room == NOWHERE {
            return out.add(Choice::Always, |o| put(fine, o));
        }
        out.add(Choice::Near(room), |o| put(fine, o));
        if coarse {
            out.add(Choice::Afar(room), |o| put(fine * AFAR, o));
        }
    };
    // By place, whatever the order they are listed in: sums then come out the same to the last bit.
    let mut faces = unbroken(&walls.pieces);
    faces.sort_by(|x, y| by_place(&[x.a, x.b], &[y.a, y.b]).then(x.z0.total_cmp(&y.z0)));
    for w in &faces {
        let own = u16::try_from(w.room).unwrap_or(NOWHERE);
        in_room(own, &mut out, &|size, o| wall_face(plan, w, size, o));
    }
    let mut outside = unbroken(&fronts(plan, &walls));
    outside.sort_by(|x, y| by_place(&[x.a, x.b], &[y.a, y.b]).then(x.z0.total_cmp(&y.z0)));
    // Where rooms are many, an outside counts for the room whose opening is nearest to it.
    let insides: Vec<DVec2> =
        holes(plan, &walls).iter().map(|(.., h)| (h.centre + h.inward * 0.1).truncate()).collect();
    for w in &outside {
        let finish = plan.location.rooms.get(w.room).map_or(DOOR, |r| r.finishes.walls);
        let middle = (w.a + w.b) * 0.5;
        let nearest = insides.iter().min_by(|x, y| x.distance(middle).total_cmp(&y.distance(middle)));
        let choice = match nearest.map_or(NOWHERE, |p| rooms.at(*p)) {
            NOWHERE => Choice::Always,
            room => Choice::Near(room),
        };
        out.add(choice, |o| upright(w.a, w.b, [w.z0, w.z1], finish, fine, NOWHERE, o));
    }
    let mut lintels: Vec<&Lintel> = walls.lintels.iter().collect();
    lintels.sort_by(|x, y| by_place(&x.ring, &y.ring).then(x.z.total_cmp(&y.z)));
    for l in lintels {
        out.add(Choice::Always, |o| lintel(plan, l, fine, o));
    }
    let mut openings: Vec<_> = walls.openings.iter().collect();
    openings.sort_by(|x, y| by_place(&[x.a, x.b], &[y.a, y.b]));
    for leaf in openings.iter().filter_map(|place| place.leaf) {
        for (a, b) in [(leaf.hinge, leaf.tip), (leaf.tip, leaf.hinge)] {
            out.add(Choice::Always, |o| upright(a, b, [0.0, leaf.top_m], DOOR, fine, in_front(rooms, a, b), o));
        }
    }
    let mut list: Vec<(&Room, u16)> = plan.location.rooms.iter().zip(0_u16..).collect();
    list.sort_by(|(x, _), (y, _)| by_place(&corners(&x.outline_m), &corners(&y.outline_m)));
    for (r, n) in list {
        let mut points: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
        if signed_area(&points) < 0.0 {
            points.reverse();
        }
        in_room(n, &mut out, &|size, o| {
            level(&points, 0.0, r.finishes.floor, Side::Up, size, n, o);
            level(&points, r.ceiling_m, r.finishes.ceiling, Side::Down, size, n, o);
        });
    }
    let mut pieces: Vec<&Piece> = plan.location.pieces.iter().collect();
    pieces.sort_by(|x, y| {
        by_place(&corners(&[x.position_m]), &corners(&[y.position_m])).then(x.base_m.total_cmp(&y.base_m))
    });
    let mut things = Cut::default();
    for piece in pieces {
        let room = rooms.at(DVec2::from_array(piece.position_m));
        let choice = if room == NOWHERE { Choice::Always } else { Choice::Near(room) };
        things.add(choice, |o| piece_faces(piece, rooms, room, fine, o));
    }
    out.add_gathered(things);
    (out.patches, out.choices)
}

/// Patches with the choice each goes with.
#[derive(Default)]
struct Cut {
    patches: Vec<Patch>,
    choices: Vec<Choice>,
}

impl Cut {
    fn add(&mut self, choice: Choice, put: impl FnOnce(&mut Vec<Patch>)) {
        put(&mut self.patches);
        self.choices.resize(self.patches.len(), choice);
    }

    /// Adds others, those of a choice taken together where they are a crowd.
    fn add_gathered(&mut self, others: Cut) {
        let mut counts: BTreeMap<Choice, usize> = BTreeMap::new();
        others.choices.iter().for_each(|c| *counts.entry(*c).or_default() += 1);
        let mut crowds: BTreeMap<Choice, Vec<Patch>> = BTreeMap::new();
        let first = next_block(&self.patches);
        for (p, c) in others.patches.into_iter().zip(others.choices) {
            if counts[&c] > crowd::MOST {
                crowds.entry(c).or_default().push(p);
            } else {
                self.add(c, |o| o.push(Patch { block: first + p.block, ..p }));
            }
        }
        for (c, list) in crowds {
            let first = next_block(&self.patches);
            self.add(c, |o| o.extend(crowd::gathered(list).into_iter().map(|p| Patch { block: first + p.block, ..p })));
        }
    }
}

/// The sides, top and underside of a piece that stands in a room.
fn piece_faces(piece: &Piece, rooms: &Rooms, room: u16, fine: f64, out: &mut Vec<Patch>) {
    if let Some(sheet) = piece.sheet() {
        return leaning(sheet, piece.finish, fine, room, out);
    }
    let mut points = footprint(piece);
    if matches!(piece.shape, PieceShape::Round { .. }) {
        // Sixteen sides round the circle: inside it they would stand in their own light.
        let middle = DVec2::from_array(piece.position_m);
        let out = 1.0 / (std::f64::consts::PI / 16.0).cos();
        points = points.into_iter().step_by(2).map(|p| middle + (p - middle) * out).collect();
    }
    if signed_area(&points) < 0.0 {
        points.reverse();
    }
    let z = [piece.base_m, piece.top_m];
    // What goes through a wall is another thing on its other side.
    let cut = rooms.cut_up(room, &points);
    let is_own = |p: DVec2, q: DVec2| cut.is_none() || lies_on(&points, p, q);
    for (ring, room) in cut.as_ref().unwrap_or(&vec![(points.clone(), room)]) {
        for (p, q) in ring.iter().zip(ring.iter().cycle().skip(1)).filter(|(p, q)| is_own(**p, **q)) {
            // Counter-clockwise outline: the outside lies to the right of each edge.
            upright(*q, *p, z, piece.finish, fine, in_front(rooms, *q, *p), out);
        }
        level(ring, piece.top_m, piece.finish, Side::Up, fine, *room, out);
        if piece.base_m > 0.01 {
            level(ring, piece.base_m, piece.finish, Side::Down, fine, *room, out);
        }
    }
}

/// Whether a line lies on a side of an outline, to the grid that outlines are cut on.
fn lies_on(outline: &[DVec2], p: DVec2, q: DVec2) -> bool {
    const GRID_M: f64 = 3e-5;
    let sides = outline.iter().zip(outline.iter().cycle().skip(1));
    sides.into_iter().any(|(a, b)| {
        let way = (*b - *a).normalize_or_zero();
        [p, q].iter().all(|c| way.perp_dot(*c - *a).abs() < GRID_M)
    })
}

fn corners(points: &[[f64; 2]]) -> Vec<DVec2> {
    points.iter().map(|p| DVec2::from_array(*p)).collect()
}

/// Which of two rows of points comes first on the plan.
fn by_place(x: &[DVec2], y: &[DVec2]) -> Ordering {
    let point = |(p, q): (&DVec2, &DVec2)| p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y));
    x.iter().zip(y).map(point).find(|o| o.is_ne()).unwrap_or_else(|| x.len().cmp(&y.len()))
}

/// Faces in one line of one room put together: a corner in a straight wall, or a neighbour that ends behind it,
/// changes nothing of what it returns.
fn unbroken(pieces: &[WallPiece]) -> Vec<WallPiece> {
    let goes_on = |x: &WallPiece, y: &WallPiece| {
        let same = x.room == y.room && x.part == y.part && x.z0 == y.z0 && x.z1 == y.z1;
        let (along, next) = (x.b - x.a, y.b - y.a);
        let straight = along.perp_dot(next).abs() <= SAME_LINE * along.length() * next.length();
        same && x.b.distance_squared(y.a) < SAME_PLACE_M.powi(2) && straight && along.dot(next) > 0.0
    };
    let mut out: Vec<WallPiece> = Vec::with_capacity(pieces.len());
    for w in pieces {
        if matches!(w.part, WallPart::Jamb(_)) {
            out.push(*w);
            continue;
        }
        let mut whole = *w;
        while let Some(i) = out.iter().position(|o| goes_on(o, &whole) || goes_on(&whole, o)) {
            let o = out.swap_remove(i);
            if goes_on(&o, &whole) { whole.a = o.a } else { whole.b = o.b }
        }
        out.push(whole);
    }
    out
}

/// The room that an upright face looks into; its front lies to the left of `a → b`.
fn in_front(rooms: &Rooms, a: DVec2, b: DVec2) -> u16 {
    rooms.at((a + b) * 0.5 + (b - a).perp().normalize_or_zero() * 0.03)
}

/// Of all walls, floors, ceilings and pieces of a place.
#[derive(Clone, Copy)]
struct SurfaceArea(f64);

fn surface_area_m2(plan: &Plan) -> f64 {
    let walls: f64 = Walls::shared(plan).pieces.iter().map(|w| w.a.distance(w.b) * (w.z1 - w.z0)).sum();
    let rooms: f64 = plan
        .location
        .rooms
        .iter()
        .map(|r| 2.0 * signed_area(&r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect::<Vec<_>>()).abs())
        .sum();
    let pieces: f64 = plan
        .location
        .pieces
        .iter()
        .map(|p| {
            let f = footprint(p);
            let round: f64 = (0..f.len()).map(|i| f[i].distance(f[(i + 1) % f.len()])).sum();
            signed_area(&f).abs() * 2.0 + round * (p.top_m - p.base_m)
        })
        .sum();
    walls + rooms + pieces
}

/// A face of a wall, or the jamb of an opening, which lies in no room.
fn wall_face(plan: &Plan, w: &WallPiece, size: f64, out: &mut Vec<Patch>) {
    let Some(room) = plan.location.rooms.get(w.room) else { return };
    let own = u16::try_from(w.room).unwrap_or(NOWHERE);
    let seen_in = if matches!(w.part, WallPart::Jamb(_)) { NOWHERE } else { own };
    upright(w.a, w.b, [w.z0, w.z1], room.finishes.walls, size, seen_in, out);
}

/// A head, sill or threshold between two faces.
fn lintel(plan: &Plan, l: &Lintel, size: f64, out: &mut Vec<Patch>) {
    let Some(room) = plan.location.openings.get(l.opening).and_then(|o| plan.room(&o.room)) else { return };
    let (finish, side) = match l.looks {
        Looks::Down => (room.finishes.walls, Side::Down),
        Looks::Up if l.z < 0.01 => (room.finishes.floor, Side::Up),
        Looks::Up => (room.finishes.walls, Side::Up),
    };
    level(&l.ring, l.z, finish, side, size, NOWHERE, out);
}

/// Patches a side of a block: coarse ones stand alone.
fn per_block(size: f64) -> u32 {
    if size > 1.2 { 1 } else { 2 }
}

fn next_block(out: &[Patch]) -> u32 {
    out.iter().rev().take(4_000).map(|p| p.block + 1).max().unwrap_or(0)
}

/// An upright rectangle whose front lies to the left of `a → b`.
fn upright(a: DVec2, b: DVec2, z: [f64; 2], finish: Finish, size: f64, room: u16, out: &mut Vec<Patch>) {
    let length = a.distance(b);
    let height = z[1] - z[0];
    if length < 1e-6 || height < 1e-6 {
        return;
    }
    let (nx, nz) = ((length / size).ceil(), (height / size).ceil());
    let per = per_block(size);
    let dir = (b - a) / length;
    let normal = DVec3::new(-dir.y, dir.x, 0.0);
    let first = next_block(out);
    let high = (nz as u32).div_ceil(per);
    for i in 0..nx as usize {
        for k in 0..nz as usize {
            let at =
                |u: f64, v: f64| (a + dir * (length * (i as f64 + u) / nx)).extend(z[0] + height * (k as f64 + v) / nz);
            // Seen from the left of a → b, a lies to the right.
            let corners = [at(1.0, 0.0), at(0.0, 0.0), at(0.0, 1.0), at(1.0, 1.0)];
            out.push(Patch {
                at: at(0.5, 0.5),
                normal,
                corners,
                area_m2: length * height / (nx * nz),
                block: first + i as u32 / per * high + k as u32 / per,
                reflectance: finish.reflectance_rgb,
                room,
                crowd: None,
            });
        }
    }
}

/// Both faces of a flat rectangle: its middle, and the vectors to the middles of two neighbouring sides. What
/// it returns matters from close by, so it is cut finer than walls.
fn leaning([middle, across, up]: [DVec3; 3], finish: Finish, size: f64, room: u16, out: &mut Vec<Patch>) {
    let (width, height) = (across.length() * 2.0, up.length() * 2.0);
    let (nx, ny) = ((width / size * 2.0).ceil(), (height / size * 2.0).ceil());
    for across in [across, -across] {
        let block = next_block(out);
        for i in 0..nx as usize {
            for k in 0..ny as usize {
                let at = |u: f64, v: f64| {
                    middle + across * ((i as f64 + u) / nx * 2.0 - 1.0) + up * ((k as f64 + v) / ny * 2.0 - 1.0)
                };
                out.push(Patch {
                    at: at(0.5, 0.5),
                    normal: across.cross(up).normalize_or_zero(),
                    corners: [at(0.0, 0.0), at(1.0, 0.0), at(1.0, 1.0), at(0.0, 1.0)],
                    area_m2: width * height / (nx * ny),
                    block,
                    reflectance: finish.reflectance_rgb,
                    room,
                    crowd: None,
                });
            }
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Side {
    Up,
    Down,
}

/// The direction of a polygon's longest side: a grid along it fits however the polygon lies. Of sides as long the
/// one that lies first on the plan.
fn along(points: &[DVec2]) -> DVec2 {
    let side = |i: usize| (points[i], points[(i + 1) % points.len()]);
    let longest = (0..points.len()).map(|i| side(i).0.distance(side(i).1)).fold(0.0, f64::max);
    let sides = (0..points.len()).map(side).filter(|(a, b)| a.distance(*b) > longest * (1.0 - 1e-9));
    let first = sides.min_by(|x, y| by_place(&[(x.0 + x.1) * 0.5], &[(y.0 + y.1) * 0.5]));
    let along = first.map_or(DVec2::X, |(a, b)| (b - a).normalize_or(DVec2::X));
    // Grids along the axes stay in their digits.
    if along.x.abs() < 1e-9 || along.y.abs() < 1e-9 { DVec2::X } else { along }
}

/// A level polygon (counter-clockwise), cut by a square grid along its longest side.
fn level(points: &[DVec2], z: f64, finish: Finish, side: Side, size: f64, room: u16, out: &mut Vec<Patch>) {
    let points = without_straight_corners(points);
    if points.len() < 3 {
        return;
    }
    let along = along(&points);
    let points: Vec<DVec2> = points.iter().map(|p| DVec2::new(p.dot(along), along.perp_dot(*p))).collect();
    let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
    let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
    let span = high - low;
    let (nx, ny) = ((span.x / size).ceil().max(1.0), (span.y / size).ceil().max(1.0));
    let step = DVec2::new(span.x / nx, span.y / ny);
    let first = next_block(out);
    let per = per_block(size);
    let high = (ny as u32).div_ceil(per);
    for i in 0..nx as usize {
        for j in 0..ny as usize {
            let from = low + step * DVec2::new(i as f64, j as f64);
            for quad in quads(&clipped(&points, from, from + step)) {
                let area = signed_area(&quad);
                if area < 1e-6 {
                    continue;
                }
                let up = side == Side::Up;
                let at = |p: DVec2| along.rotate(p).extend(z);
                let [a, b, c, d] = quad.map(at);
                out.push(Patch {
                    at: at(centroid(&quad, area)),
                    normal: if up { DVec3::Z } else { DVec3::NEG_Z },
                    corners: if up { [a, b, c, d] } else { [d, c, b, a] },
                    area_m2: area,
                    block: first + i as u32 / per * high + j as u32 / per,
                    reflectance: finish.reflectance_rgb,
                    room,
                    crowd: None,
                });
            }
        }
    }
}

/// Corners nearer than this are one, and a corner nearer than this to the line past it is none, metres.
const SAME_CORNER_M: f64 = 1e-7;

/// A polygon without corners that lie on another or on the line past them.
fn without_straight_corners(ring: &[DVec2]) -> Vec<DVec2> {
    let mut ring = ring.to_vec();
    let mut i = 0;
    while ring.len() >= 3 && i < ring.len() {
        let n = ring.len();
        let (a, b, c) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
        let (to, past) = (b - a, c - b);
        if to.length() < SAME_CORNER_M || to.perp_dot(past).abs() < SAME_CORNER_M * (c - a).length() {
            ring.remove(i);
            i = i.saturating_sub(1);
        } else {
            i += 1;
        }
    }
    ring
}

/// A counter-clockwise polygon in four-cornered parts; of a triangle the fourth corner is the middle of its longest
/// side. What has no area has no parts.
fn quads(ring: &[DVec2]) -> Vec<[DVec2; 4]> {
    let ring = without_straight_corners(ring);
    let n = ring.len();
    let turns = |i: usize| (ring[(i + 1) % n] - ring[i]).perp_dot(ring[(i + 2) % n] - ring[(i + 1) % n]);
    match n {
        ..3 => Vec::new(),
        3 => vec![with_a_fourth([ring[0], ring[1], ring[2]])],
        _ if (0..n).all(|i| turns(i) > 0.0) => {
            // A convex one loses three sides at a time.
            let mut out = Vec::new();
            let mut at = 1;
            while at + 2 < n {
                out.push([ring[0], ring[at], ring[at + 1], ring[at + 2]]);
                at += 2;
            }
            if at + 1 < n {
                out.push(with_a_fourth([ring[0], ring[at], ring[at + 1]]));
            }
            out
        }
        _ => {
            let flat: Vec<f64> = ring.iter().flat_map(|p| p.to_array()).collect();
            let corners = earcutr::earcut(&flat, &[], 2).unwrap_or_default();
            let triangles = corners.chunks_exact(3).map(|t| [ring[t[0]], ring[t[1]], ring[t[2]]]);
            triangles
                .map(|[a, b, c]| with_a_fourth(if signed_area(&[a, b, c]) < 0.0 { [a, c, b] } else { [a, b, c] }))
                .collect()
        }
    }
}

/// A triangle as a four-cornered polygon.
fn with_a_fourth([a, b, c]: [DVec2; 3]) -> [DVec2; 4] {
    let (ab, bc, ca) = (a.distance(b), b.distance(c), c.distance(a));
    if ab >= bc && ab >= ca {
        [a, (a + b) * 0.5, b, c]
    } else if bc >= ca {
        [a, b, (b + c) * 0.5, c]
    } else {
        [a, b, c, (c + a) * 0.5]
    }
}

fn centroid(points: &[DVec2], area: f64) -> DVec2 {
    let n = points.len();
    // From a corner: far from the origin digits would be lost.
    let from = points[0];
    let sum: DVec2 = (0..n)
        .map(|i| {
            let (a, b) = (points[i] - from, points[(i + 1) % n] - from);
            (a + b) * a.perp_dot(b)
        })
        .sum();
    from + sum / (6.0 * area)
}

/// A polygon clipped to an upright rectangle (Sutherland & Hodgman 1974).
fn clipped(points: &[DVec2], low: DVec2, high: DVec2) -> Vec<DVec2> {
    let mut ring = points.to_vec();
    let edges: [(DVec2, f64); 4] =
        [(DVec2::X, low.x), (DVec2::NEG_X, -high.x), (DVec2::Y, low.y), (DVec2::NEG_Y, -high.y)];
    for (n, limit) in edges {
        ring = cut_by(&ring, |p| p.dot(n) - limit);
    }
    ring
}
