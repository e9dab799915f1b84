//! How much black cloth covers what the lens sees: walls, floors and ceilings inside the frame over a whole shot,
//! or over all shots of a location, less what hangs already.
//!
//! Every surface is a polygon in its own plane. The part inside the frame is the surface cut by the four planes
//! of the field of view; other walls, doors and hung cloth take away their shadows as seen from the lens.
//! Furniture and people take nothing away: cloth hangs behind them.

use crate::blocking::LOOKS_PER_S;
use crate::geometry::{Area, WallPart, Walls, cut_by, signed_area};
use crate::plan::{PieceKind, Plan, RoomId, Shot};
use crate::scene::{View, footprint};
use glam::{DVec2, DVec3};
use rayon::prelude::*;
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
    outline: Area,
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

fn rectangle(low: DVec2, high: DVec2) -> Vec<DVec2> {
    vec![low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)]
}

/// Compass words of a wall by the way it faces.
fn side_word(plan: &Plan, outward: DVec2) -> &'static str {
    let bearing = crate::geometry::normalize_deg(crate::geometry::bearing_deg(outward) - plan.location.north_deg);
    [say!("north"), say!("east"), say!("south"), say!("west")][((bearing + 45.0) / 90.0) as usize % 4]
}

fn surfaces(plan: &Plan, walls: &Walls) -> Vec<Surface> {
    let mut out = Vec::new();
    for (index, room) in plan.location.rooms.iter().enumerate() {
        for run in walls.runs.iter().filter(|r| r.room == index) {
            let Some(along) = (run.b - run.a).try_normalize() else { continue };
            let parts = walls
                .pieces
                .iter()
                .filter(|w| w.room == index && w.edge == run.edge && !matches!(w.part, WallPart::Jamb(_)));
            let rings = parts.map(|w| {
                let x = |p: DVec2| along.dot(p - run.a);
                rectangle(DVec2::new(x(w.a), w.z0), DVec2::new(x(w.b), w.z1))
            });
            let inward = run.inward();
            out.push(Surface {
                name: say!("inward-wall-of-room", inward = side_word(plan, -inward), room = room.name),
                room: room.id.clone(),
                kind: SurfaceKind::Wall,
                origin: run.a.extend(0.0),
                u: along.extend(0.0),
                v: DVec3::Z,
                normal: inward.extend(0.0),
                outline: Area::of(rings),
            });
        }
        // About a corner of its own, so that a room far from the plan's origin is measured as finely.
        let corner = DVec2::from_array(room.outline_m[0]);
        let ring: Vec<DVec2> = room.outline_m.iter().map(|p| DVec2::from_array(*p) - corner).collect();
        for (kind, z, normal, word) in [
            (SurfaceKind::Floor, 0.0, DVec3::Z, say!("floor")),
            (SurfaceKind::Ceiling, room.ceiling_m, DVec3::NEG_Z, say!("ceiling")),
        ] {
            out.push(Surface {
                name: say!("part-of-room", part = word, room = room.name),
                room: room.id.clone(),
                kind,
                origin: corner.extend(z),
                u: DVec3::X,
                v: DVec3::Y,
                normal,
                outline: Area::of([ring.clone()]),
            });
        }
    }
    out
}

/// Flat things that hide a surface from the lens: walls, doors, hung cloth and flags.
fn hiders(plan: &Plan, walls: &Walls) -> Vec<Vec<DVec3>> {
    let upright =
        |a: DVec2, b: DVec2, z: [f64; 2]| vec![a.extend(z[0]), b.extend(z[0]), b.extend(z[1]), a.extend(z[1])];
    let mut out: Vec<Vec<DVec3>> = walls.pieces.iter().map(|w| upright(w.a, w.b, [w.z0, w.z1])).collect();
    out.extend(walls.lintels.iter().map(|l| l.ring.iter().map(|p| p.extend(l.z)).collect()));
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

/// The field of view as planes that look inward, and the plane before the lens.
fn frame_planes(view: &View) -> [DVec3; 5] {
    let (right, up, forward) = view.axes();
    let (w, h) = (view.sensor_mm.0 / (2.0 * view.focal_mm), view.sensor_mm.1 / (2.0 * view.focal_mm));
    [forward * w - right, forward * w + right, forward * h - up, forward * h + up, forward]
}

/// What one view sees of a surface; none when nothing.
fn seen_from(view: &View, s: &Surface, hiders: &[Vec<DVec3>]) -> Option<Area> {
    let high = s.height(view.eye);
    if high <= OFF_M {
        return None;
    }
    // The surface's box cut by the field of view.
    let [low, top] = s.outline.bounds()?;
    let corner = |p: DVec2| s.origin + s.u * p.x + s.v * p.y;
    let mut ring: Vec<DVec3> = rectangle(low, top).into_iter().map(corner).collect();
    let planes = frame_planes(view);
    for n in planes {
        ring = cut_by(&ring, |p| n.dot(p - view.eye));
    }
    if ring.len() < 3 {
        return None;
    }
    let in_frame: Vec<DVec2> = ring.iter().map(|p| s.on(*p)).collect();
    let mut shadows = Vec::new();
    for hider in hiders {
        // Between lens and surface, and before the lens.
        let mut part = cut_by(hider, |p| s.height(p) - OFF_M);
        part = cut_by(&part, |p| high * 0.999_9 - s.height(p));
        for n in planes {
            if part.len() < 3 {
                break;
            }
            part = cut_by(&part, |p| n.dot(p - view.eye));
        }
        if part.len() < 3 {
            continue;
        }
        let thrown = part.iter().map(|p| s.on(view.eye + (*p - view.eye) * (high / (high - s.height(*p)))));
        // What is thrown far past the surface would not fit the grid.
        let mut shadow: Vec<DVec2> = thrown.collect();
        for k in 0..2 {
            shadow = cut_by(&shadow, |p| p[k] - (low[k] - 1.0));
            shadow = cut_by(&shadow, |p| (top[k] + 1.0) - p[k]);
        }
        if signed_area(&shadow).abs() > CRUMB_M2 {
            if covers(&shadow, &in_frame) {
                return None;
            }
            shadows.push(shadow);
        }
    }
    let seen = s.outline.within(&in_frame).without(&shadows);
    (!seen.is_empty()).then_some(seen)
}

/// Whether a convex ring covers all corners of another.
fn covers(ring: &[DVec2], points: &[DVec2]) -> bool {
    let turn = signed_area(ring).signum();
    let n = ring.len();
    (0..n).all(|i| {
        let (a, b) = (ring[i], ring[(i + 1) % n]);
        points.iter().all(|p| turn * (b - a).perp_dot(*p - a) >= 0.0)
    })
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
    let walls = Walls::shared(plan);
    let hiders = hiders(plan, &walls);
    let roll = plan.limits.cloth_roll_m.max(0.05);
    let mut out = Cover { roll_width_m: roll, ..Cover::default() };
    let found: Vec<Option<Seen>> = surfaces(plan, &walls)
        .into_par_iter()
        .map(|s| {
            let all = Area::joined(views.iter().filter_map(|v| seen_from(v, &s, &hiders)));
            (all.area_m2() > CRUMB_M2).then(|| measured(&s, &all, roll))
        })
        .collect();
    for seen in found.into_iter().flatten() {
        match seen.kind {
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
fn stretches(parts: impl Iterator<Item = [DVec2; 2]>) -> (Vec<[f64; 2]>, [f64; 2]) {
    // Cutting leaves a few micrometres; nobody cuts cloth to them.
    let tidy = |m: f64| (m * 1e4).round() / 1e4 + 0.0;
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut spans: Vec<[f64; 2]> = Vec::new();
    for [from, to] in parts {
        spans.push([from.x, to.x].map(tidy));
        low = low.min(from.y);
        high = high.max(to.y);
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

fn measured(s: &Surface, all: &Area, roll_m: f64) -> Seen {
    let sliver = all.area_m2() < SLIVER_M2;
    let parts = all.parts().filter(|(m2, _)| sliver || *m2 >= SLIVER_M2);
    let (joined, [low, high]) = stretches(parts.map(|(_, bounds)| bounds));
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
    // Floors and ceilings are told in the plan's own east and north.
    let to_plane = |p: DVec2| if s.kind == SurfaceKind::Wall { p } else { p + s.origin.truncate() };
    Seen {
        name: s.name.clone(),
        room: s.room.clone(),
        kind: s.kind,
        area_m2: all.area_m2(),
        running_m: running,
        heights_m: if s.kind == SurfaceKind::Wall { [low, high] } else { [s.origin.z; 2] },
        stretches_m,
        drops,
        cloth_m,
        outlines_m: all.outlines().map(|ring| ring.into_iter().map(|p| to_plane(p).to_array()).collect()).collect(),
    }
}
