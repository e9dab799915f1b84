//! How much black cloth covers what the lens sees: walls, floors and ceilings inside the frame over a whole shot,
//! or over all shots of a location, less what hangs already.
//!
//! Every surface is a polygon in its own plane. The part inside the frame is the surface cut by the four planes
//! of the field of view; other walls, doors and hung cloth take away their shadows as seen from the lens.
//! Furniture and people take nothing away: cloth hangs behind them. Polygons are joined and cut by `geo`.

use crate::blocking::LOOKS_PER_S;
use crate::geometry::{Walls, cut_by, opening_ends, room_edges, signed_area};
use crate::plan::{PieceKind, Plan, RoomId, Shot};
use crate::scene::{View, footprint};
use geo::{Area, BooleanOps, BoundingRect, Coord, LineString, MultiPolygon, Polygon};
use glam::{DVec2, DVec3};
use serde::Serialize;
use tapemark_words::say;

/// A kind of surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SurfaceKind {
    /// An upright wall, without its openings.
    Wall,
    /// A floor.
    Floor,
    /// A ceiling.
    Ceiling,
}

/// The part of a surface that the lens sees.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Seen {
    /// What it is called.
    pub name: String,
    /// Its room.
    pub room: RoomId,
    /// What it is.
    pub kind: SurfaceKind,
    /// Area inside the frame, m².
    pub area_m2: f64,
    /// Metres along the wall with cloth on them (walls), or the longest way across (floors and ceilings).
    pub running_m: f64,
    /// Lowest and highest point, metres above the floor.
    pub heights_m: [f64; 2],
    /// Stretches along the wall, from one end to the other on the plan, metres.
    pub stretches_m: Vec<[[f64; 2]; 2]>,
    /// Drops of cloth side by side, each from the highest point down to the lowest.
    pub drops: usize,
    /// Length of cloth off the roll, metres.
    pub cloth_m: f64,
    /// Outlines in the surface's own plane (metres along, metres up; east and north for floors and ceilings).
    pub outlines_m: Vec<Vec<[f64; 2]>>,
}

impl Seen {
    /// So little of it that nobody covers it.
    #[must_use]
    pub fn is_sliver(&self) -> bool {
        self.drops == 0
    }
}

/// What the lens sees of walls, floors and ceilings.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Cover {
    /// Surface by surface, largest first; the last may be [slivers](Seen::is_sliver).
    pub surfaces: Vec<Seen>,
    /// All walls, m².
    pub wall_m2: f64,
    /// All floors, m².
    pub floor_m2: f64,
    /// All ceilings, m².
    pub ceiling_m2: f64,
    /// Cloth off a roll for the walls, metres.
    pub wall_cloth_m: f64,
    /// Width of that roll, metres.
    pub roll_width_m: f64,
}

impl Cover {
    /// The surfaces without slivers.
    pub fn told(&self) -> impl Iterator<Item = &Seen> {
        self.surfaces.iter().filter(|s| !s.is_sliver())
    }
}

/// A surface in its own plane.
struct Surface {
    name: String,
    room: RoomId,
    kind: SurfaceKind,
    origin: DVec3,
    u: DVec3,
    v: DVec3,
    normal: DVec3,
    outline: MultiPolygon<f64>,
}

impl Surface {
    fn on(&self, p: DVec3) -> DVec2 {
        let d = p - self.origin;
        DVec2::new(d.dot(self.u), d.dot(self.v))
    }
    fn height(&self, p: DVec3) -> f64 {
        (p - self.origin).dot(self.normal)
    }
}

fn polygon(points: impl IntoIterator<Item = DVec2>) -> Polygon<f64> {
    let ring: Vec<Coord<f64>> = points.into_iter().map(|p| Coord { x: p.x, y: p.y }).collect();
    Polygon::new(LineString::new(ring), Vec::new())
}

fn rectangle(low: DVec2, high: DVec2) -> Polygon<f64> {
    polygon([low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)])
}

/// Compass words of a wall by the way it faces.
fn side_word(plan: &Plan, outward: DVec2) -> &'static str {
    let bearing = crate::geometry::normalize_deg(crate::geometry::bearing_deg(outward) - plan.location.north_deg);
    [say!("north"), say!("east"), say!("south"), say!("west")][((bearing + 45.0) / 90.0) as usize % 4]
}

fn surfaces(plan: &Plan) -> Vec<Surface> {
    let mut out = Vec::new();
    for room in &plan.location.rooms {
        let points: Vec<DVec2> = room.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
        let turn = if signed_area(&points) > 0.0 { 1.0 } else { -1.0 };
        for (a, b) in room_edges(room) {
            let length = a.distance(b);
            let Some(along) = (b - a).try_normalize() else { continue };
            let inward = along.perp() * turn;
            let mut outline = MultiPolygon::new(vec![rectangle(DVec2::ZERO, DVec2::new(length, room.ceiling_m))]);
            for o in &plan.location.openings {
                let Some((p, q, _)) = opening_ends(plan, o) else { continue };
                let aside = |x: DVec2| along.perp_dot(x - a).abs();
                if aside(p) > 0.05 || aside(q) > 0.05 {
                    continue;
                }
                let (s, t) = (along.dot(p - a), along.dot(q - a));
                let hole = rectangle(DVec2::new(s.min(t), o.sill_m), DVec2::new(s.max(t), o.head_m));
                outline = outline.difference(&hole);
            }
            out.push(Surface {
                name: say!("inward-wall-of-room", inward = side_word(plan, -inward), room = room.name),
                room: room.id.clone(),
                kind: SurfaceKind::Wall,
                origin: a.extend(0.0),
                u: along.extend(0.0),
                v: DVec3::Z,
                normal: inward.extend(0.0),
                outline,
            });
        }
        for (kind, z, normal, word) in [
            (SurfaceKind::Floor, 0.0, DVec3::Z, say!("floor")),
            (SurfaceKind::Ceiling, room.ceiling_m, DVec3::NEG_Z, say!("ceiling")),
        ] {
            out.push(Surface {
                name: say!("part-of-room", part = word, room = room.name),
                room: room.id.clone(),
                kind,
                origin: DVec3::new(0.0, 0.0, z),
                u: DVec3::X,
                v: DVec3::Y,
                normal,
                outline: MultiPolygon::new(vec![polygon(points.iter().copied())]),
            });
        }
    }
    out
}

/// Flat things that hide a surface from the lens: walls, doors, hung cloth and flags.
fn hiders(plan: &Plan) -> Vec<Vec<DVec3>> {
    let walls = Walls::of(plan);
    let upright =
        |a: DVec2, b: DVec2, z: [f64; 2]| vec![a.extend(z[0]), b.extend(z[0]), b.extend(z[1]), a.extend(z[1])];
    let mut out: Vec<Vec<DVec3>> = walls.pieces.iter().map(|w| upright(w.a, w.b, [w.z0, w.z1])).collect();
    for place in &walls.openings {
        if let Some(leaf) = place.leaf {
            out.push(upright(leaf.hinge, leaf.tip, [0.0, leaf.top_m]));
        }
    }
    for p in &plan.location.pieces {
        if !matches!(p.kind, PieceKind::Drape | PieceKind::Flag) {
            continue;
        }
        if let Some([c, a, u]) = p.sheet() {
            out.push(vec![c - a - u, c + a - u, c + a + u, c - a + u]);
            continue;
        }
        let ring = footprint(p);
        for i in 0..ring.len() {
            out.push(upright(ring[i], ring[(i + 1) % ring.len()], [p.base_m, p.top_m]));
        }
        for z in [p.base_m, p.top_m] {
            out.push(ring.iter().map(|q| q.extend(z)).collect());
        }
    }
    out
}

/// A hider counts from this far off a surface, metres: what touches it is part of it.
const OFF_M: f64 = 1e-3;
/// Smaller shadows are rounding, m².
const CRUMB_M2: f64 = 1e-6;
/// For smaller parts of a surface, seen past a hinge or a jamb, nobody hangs cloth, m².
const SLIVER_M2: f64 = 5e-3;

/// What one view sees of a surface.
fn seen_from(view: &View, s: &Surface, hiders: &[Vec<DVec3>]) -> Option<MultiPolygon<f64>> {
    let high = s.height(view.eye);
    if high <= OFF_M {
        return None;
    }
    // The surface's box cut by the field of view.
    let bounds = s.outline.bounding_rect()?;
    let corner = |x: f64, y: f64| s.origin + s.u * x + s.v * y;
    let (low, top) = (bounds.min(), bounds.max());
    let mut ring = vec![corner(low.x, low.y), corner(top.x, low.y), corner(top.x, top.y), corner(low.x, top.y)];
    let (right, up, forward) = view.axes();
    let (w, h) = (view.sensor_mm.0 / (2.0 * view.focal_mm), view.sensor_mm.1 / (2.0 * view.focal_mm));
    let planes = [forward * w - right, forward * w + right, forward * h - up, forward * h + up, forward];
    for n in planes {
        ring = cut_by(&ring, |p| n.dot(p - view.eye));
    }
    if ring.len() < 3 {
        return None;
    }
    let mut seen = s.outline.intersection(&polygon(ring.iter().map(|p| s.on(*p))));
    for hider in hiders {
        // Between lens and surface, and before the lens.
        let mut part = cut_by(hider, |p| s.height(p) - OFF_M);
        part = cut_by(&part, |p| high * 0.999_9 - s.height(p));
        for n in planes {
            part = cut_by(&part, |p| n.dot(p - view.eye));
        }
        if part.len() < 3 {
            continue;
        }
        let thrown = part.iter().map(|p| s.on(view.eye + (*p - view.eye) * (high / (high - s.height(*p)))));
        let shadow = polygon(thrown);
        if shadow.unsigned_area() > CRUMB_M2 {
            seen = seen.difference(&shadow);
        }
        if seen.0.is_empty() {
            return None;
        }
    }
    Some(seen)
}

/// The views a shot goes through: one, or several a second of a camera move.
fn views(plan: &Plan, shot: &Shot) -> Vec<View> {
    let Some(camera) = plan.shot_camera(shot) else { return Vec::new() };
    if camera.marks.is_empty() {
        return vec![View::at(camera, 0.0)];
    }
    let count = (shot.length_s * LOOKS_PER_S / 3.0).ceil().clamp(1.0, 400.0) as usize;
    (0..=count).map(|i| View::at(camera, shot.length_s * i as f64 / count as f64)).collect()
}

/// What the lens sees of every surface over some shots of a plan together.
#[must_use]
pub fn cover<'a>(plan: &Plan, shots: impl IntoIterator<Item = &'a Shot>) -> Cover {
    let views: Vec<View> = shots.into_iter().flat_map(|s| views(plan, s)).collect();
    let hiders = hiders(plan);
    let roll = plan.limits.cloth_roll_m.max(0.05);
    let mut out = Cover { roll_width_m: roll, ..Cover::default() };
    for s in surfaces(plan) {
        let mut all: Option<MultiPolygon<f64>> = None;
        for part in views.iter().filter_map(|v| seen_from(v, &s, &hiders)) {
            all = Some(match all {
                None => part,
                Some(before) => before.union(&part),
            });
        }
        let Some(all) = all.filter(|a| a.unsigned_area() > CRUMB_M2) else { continue };
        let seen = measured(&s, &all, roll);
        match s.kind {
            SurfaceKind::Wall => {
                out.wall_m2 += seen.area_m2;
                out.wall_cloth_m += seen.cloth_m;
            }
            SurfaceKind::Floor => out.floor_m2 += seen.area_m2,
            SurfaceKind::Ceiling => out.ceiling_m2 += seen.area_m2,
        }
        out.surfaces.push(seen);
    }
    out.surfaces.sort_by(|a, b| b.area_m2.total_cmp(&a.area_m2));
    out
}

/// Fewest drops of a width that cover stretches in their order: each starts where the last leaves cloth wanting.
/// What is left of a stretch and no wider than `spare_m` is left open.
fn fewest_drops(stretches: &[[f64; 2]], wide_m: f64, spare_m: f64) -> usize {
    let (mut drops, mut covered) = (0, f64::NEG_INFINITY);
    for [from, to] in stretches {
        let left = to - covered.max(*from);
        if left > spare_m + 1e-9 {
            let more = ((left - spare_m) / wide_m - 1e-9).ceil().max(1.0);
            drops += more as usize;
            covered = covered.max(*from) + more * wide_m;
        }
    }
    drops
}

/// Stretches that parts take up from side to side, joined where they touch, and from where to where they go up.
fn stretches<'a>(parts: impl Iterator<Item = &'a Polygon<f64>>) -> (Vec<[f64; 2]>, [f64; 2]) {
    // Cutting leaves a few micrometres; nobody cuts cloth to them.
    let tidy = |m: f64| (m * 1e4).round() / 1e4 + 0.0;
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut spans: Vec<[f64; 2]> = Vec::new();
    for b in parts.filter_map(BoundingRect::bounding_rect) {
        spans.push([b.min().x, b.max().x].map(tidy));
        low = low.min(b.min().y);
        high = high.max(b.max().y);
    }
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut joined: Vec<[f64; 2]> = Vec::new();
    for span in spans {
        match joined.last_mut() {
            Some(last) if span[0] <= last[1] + 1e-6 => last[1] = last[1].max(span[1]),
            _ => joined.push(span),
        }
    }
    (joined, if low <= high { [tidy(low), tidy(high)] } else { [0.0; 2] })
}

fn measured(s: &Surface, all: &MultiPolygon<f64>, roll_m: f64) -> Seen {
    let sliver = all.unsigned_area() < SLIVER_M2;
    let parts = all.iter().filter(|p| sliver || p.unsigned_area() >= SLIVER_M2);
    let (joined, [low, high]) = stretches(parts);
    let running: f64 = joined.iter().map(|x| x[1] - x[0]).sum();
    let (drops, cloth_m, stretches_m) = match s.kind {
        SurfaceKind::Wall => {
            // A strip this narrow is a sliver even at the drops' full height.
            let spare_m = SLIVER_M2 / (high - low).max(SLIVER_M2);
            let drops = if sliver { 0 } else { fewest_drops(&joined, roll_m, spare_m).max(1) };
            let at = |x: f64| (s.origin + s.u * x).truncate().to_array();
            (drops, drops as f64 * (high - low), joined.iter().map(|x| [at(x[0]), at(x[1])]).collect())
        }
        // Strips along the longer way.
        _ => {
            let (wide, deep) = (running, high - low);
            let strips = if sliver { 0 } else { (wide.min(deep) / roll_m - 1e-9).ceil() as usize };
            (strips, strips as f64 * wide.max(deep), Vec::new())
        }
    };
    Seen {
        name: s.name.clone(),
        room: s.room.clone(),
        kind: s.kind,
        area_m2: all.unsigned_area(),
        running_m: running,
        heights_m: if s.kind == SurfaceKind::Wall { [low, high] } else { [s.origin.z; 2] },
        stretches_m,
        drops,
        cloth_m,
        outlines_m: all.iter().map(|p| p.exterior().coords().map(|c| [c.x, c.y]).collect()).collect(),
    }
}
