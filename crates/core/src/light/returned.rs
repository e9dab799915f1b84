//! The light that surfaces return, looked up by place: for pictures, which ask at thousands of points.

use super::bounce::{Detail, Patch, quarters};
use super::rooms::{NOWHERE, Rooms};
use super::sources::Sources;
use super::{Emitter, Receiver, Transport};
use crate::colour::linear_srgb;
use crate::geometry::OwnerIx;
use crate::plan::Plan;
use crate::scene::Scene;
use glam::{DVec2, DVec3, IVec3, Vec2, Vec3};
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A surface patch with the bounced light on it.
#[derive(Debug, Clone, Copy)]
struct Place {
    at: Vec3,
    normal: Vec3,
    /// How far its light spreads to either side, metres.
    reach: f32,
    lx: [f32; 3],
    /// The room it is seen in.
    room: u16,
}

/// Bounced light on the rooms' surfaces as the rig is set, in lux of linear sRGB.
#[derive(Debug, Clone)]
pub struct Returned {
    places: Vec<Place>,
    /// Nets of cells, each for the places whose light spreads about as far: which spread into a cell.
    nets: Vec<Net>,
    /// What leaves each surface, linear sRGB, lm/m².
    glow: Vec<[f32; 3]>,
}

/// Places by where their light spreads to.
#[derive(Debug, Clone, Default)]
struct Net {
    cell_m: f32,
    cells: FxHashMap<IVec3, Vec<u32>>,
}

impl Place {
    /// Half the box its light spreads in: flat against its surface.
    fn span(&self) -> Vec3 {
        (Vec3::ONE - self.normal * self.normal).max(Vec3::ZERO).map(f32::sqrt) * self.reach + BESIDE_M
    }
}

/// A place's light reaches so far at the most beside its surface, metres.
const BESIDE_M: f32 = 0.07;

/// The room that a place of a surface is seen in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InRoom(u16);

impl InRoom {
    /// A room by its place in the plan's list.
    #[must_use]
    pub fn of(room: usize) -> Option<InRoom> {
        u16::try_from(room).ok().map(InRoom)
    }

    /// The room that a point of a plan's floor lies in.
    #[must_use]
    pub fn at(plan: &Plan, p: DVec2) -> Option<InRoom> {
        Some(Rooms::of(plan).at(p)).filter(|room| *room != NOWHERE).map(InRoom)
    }
}

/// In which rooms an emitter may be seen.
#[derive(Debug, Clone)]
pub struct LitRooms(Option<Vec<bool>>);

impl LitRooms {
    /// Whether its light may reach a place directly.
    #[must_use]
    pub fn hold(&self, room: Option<InRoom>) -> bool {
        let (Some(seen), Some(InRoom(room))) = (&self.0, room) else { return true };
        seen.get(usize::from(room)).copied().unwrap_or(true)
    }
}

/// Patches whose normals differ by more than this are other surfaces (cosine).
const SAME_WAY: f32 = 0.85;

impl Returned {
    /// Bounced light on a surface at a point: a plane laid through its patches round it, the nearer the closer
    /// (moving least squares, Lancaster & Salkauskas 1981), so that a slope toward a corner or an edge is kept; none
    /// where no surface was cut. Of surfaces in one plane those of `room` count, where it is known and has any there.
    #[must_use]
    pub fn at(&self, p: Vec3, normal: Vec3, room: Option<InRoom>) -> Option<([f32; 3], InRoom)> {
        let (u, v) = normal.any_orthonormal_pair();
        let of_surface = || {
            let all = self.cells_at(p).flatten().map(|i| &self.places[*i as usize]);
            all.filter(|q| q.normal.dot(normal) >= SAME_WAY && (p - q.at).dot(q.normal).abs() <= 0.06)
        };
        let within = |room: InRoom| {
            let mut fit = Fit::default();
            for place in of_surface().filter(|q| q.room == room.0) {
                let d = place.at - p;
                let near = (1.0 - d.length_squared() / (place.reach * place.reach)).max(0.0);
                fit.add(near * near, Vec2::new(d.dot(u), d.dot(v)) / place.reach, place.lx);
            }
            fit.here().map(|lx| (lx, room))
        };
        room.and_then(within).or_else(|| {
            // Walls go on in the same plane behind a wall: the nearest patch tells the side.
            let nearest = of_surface().min_by(|a, b| a.at.distance_squared(p).total_cmp(&b.at.distance_squared(p)))?;
            within(InRoom(nearest.room))
        })
    }
}

/// Sums for a plane through weighed points about the place asked for.
#[derive(Default)]
struct Fit {
    weights: f32,
    /// Means of the places, and of their products: xx, xy, yy.
    first: Vec2,
    second: Vec3,
    sum: [f32; 3],
    slope: [Vec2; 3],
    low: [f32; 3],
    high: [f32; 3],
}

/// Holds the plane level where the points lie on too few sides to tell its slope, as a share of the reach squared.
const LEVEL: f32 = 0.01;
/// How far beyond the points' own range the plane may lead, as a share of that range.
const BEYOND: f32 = 0.5;

impl Fit {
    fn add(&mut self, weight: f32, at: Vec2, lx: [f32; 3]) {
        if weight <= 0.0 {
            return;
        }
        let none = self.weights == 0.0;
        self.weights += weight;
        self.first += at * weight;
        self.second += Vec3::new(at.x * at.x, at.x * at.y, at.y * at.y) * weight;
        for (k, lx) in lx.into_iter().enumerate() {
            self.sum[k] += lx * weight;
            self.slope[k] += at * (lx * weight);
            self.low[k] = if none { lx } else { self.low[k].min(lx) };
            self.high[k] = self.high[k].max(lx);
        }
    }

    /// The plane's height at the place asked for.
    fn here(&self) -> Option<[f32; 3]> {
        if self.weights <= 1e-6 {
            return None;
        }
        let w = 1.0 / self.weights;
        let m = self.first * w;
        let s = self.second * w;
        // Spread of the points about their middle.
        let (xx, xy, yy) = (s.x - m.x * m.x + LEVEL, s.y - m.x * m.y, s.z - m.y * m.y + LEVEL);
        let inverse = 1.0 / (xx * yy - xy * xy);
        Some(std::array::from_fn(|k| {
            let mean = self.sum[k] * w;
            let c = self.slope[k] * w - m * mean;
            let slope = Vec2::new(yy * c.x - xy * c.y, xx * c.y - xy * c.x) * inverse;
            let beyond = (self.high[k] - self.low[k]) * BEYOND;
            (mean - slope.dot(m)).clamp((self.low[k] - beyond).max(0.0), self.high[k] + beyond)
        }))
    }
}

impl Returned {
    fn of(places: Vec<Place>) -> Returned {
        // By the power of two that a place's reach lies under.
        let mut nets: BTreeMap<i32, Net> = BTreeMap::new();
        for (i, p) in places.iter().enumerate() {
            let size = p.reach.max(0.05).log2().ceil() as i32;
            let net = nets.entry(size).or_insert_with(|| Net { cell_m: (size as f32).exp2(), ..Net::default() });
            for cell in cells_round(p.at, p.span(), net.cell_m) {
                net.cells.entry(cell).or_default().push(i as u32);
            }
        }
        Returned { places, nets: nets.into_values().collect(), glow: Vec::new() }
    }

    /// The places whose light spreads to a point, and some more.
    fn cells_at(&self, p: Vec3) -> impl Iterator<Item = &Vec<u32>> {
        self.nets.iter().filter_map(move |net| net.cells.get(&(p / net.cell_m).floor().as_ivec3()))
    }

    /// Whether light changes steeply between a place and one next to it on its surface.
    fn is_uneven_at(&self, place: &Place) -> bool {
        let level = |p: &Place| p.lx.iter().sum::<f32>();
        let here = level(place);
        let span = place.span();
        let lists = self.nets.iter().flat_map(|net| {
            // Larger ones spread here; of smaller ones all within its own reach.
            let span = if net.cell_m < place.reach { span } else { Vec3::ZERO };
            cells_round(place.at, span, net.cell_m).filter_map(|cell| net.cells.get(&cell))
        });
        lists.flatten().map(|i| &self.places[*i as usize]).any(|q| {
            q.room == place.room
                && q.normal.dot(place.normal) >= SAME_WAY
                && q.at.distance_squared(place.at) < place.reach * place.reach
                && (level(q) - here).abs() > UNEVEN * level(q).max(here)
        })
    }
}

/// The cells that a box round a point touches.
fn cells_round(at: Vec3, span: Vec3, cell_m: f32) -> impl Iterator<Item = IVec3> {
    let (low, high) = (((at - span) / cell_m).floor().as_ivec3(), ((at + span) / cell_m).floor().as_ivec3());
    (low.x..=high.x)
        .flat_map(move |x| (low.y..=high.y).flat_map(move |y| (low.z..=high.z).map(move |z| IVec3::new(x, y, z))))
}

/// A patch or a part of one, the bounced light on it, and where that comes from once it was looked at.
struct Part {
    patch: Patch,
    place: Place,
    sources: Option<Arc<Sources>>,
}

/// Whether the lens may see a patch: in front of it and about within the frame.
fn may_be_seen(scene: &Scene, p: &Patch) -> bool {
    let Some(view) = &scene.view else { return true };
    let within = |c: &DVec3| view.project(*c).is_some_and(|(at, _)| at.abs().max_element() < BESIDE_FRAME);
    p.normal.dot(view.eye - p.at) > 0.0 && (within(&p.at) || p.corners.iter().any(within))
}

/// How far beside the frame a patch's corner may lie and the patch still reach into it, in halves of the frame.
const BESIDE_FRAME: f64 = 1.5;
/// Neighbours that differ by more than this share are looked at more finely.
const UNEVEN: f32 = 0.1;
/// How often a patch is halved each way where light is uneven.
const HALVED: u32 = 2;
/// How far a place's light spreads, in sides of its patch.
const REACH: f64 = 1.6;

impl Transport {
    /// What the surfaces return as the rig is set, ready to be looked up; at full detail more finely where it changes
    /// from patch to patch, as beside furniture.
    #[must_use]
    pub fn returned(&self, scene: &Scene) -> Returned {
        // A crowd's light is that of each of its members.
        let members = |p: &Patch| p.crowd.as_ref().map_or_else(|| vec![p.clone()], |c| c.members.clone());
        let of_patch = |(i, p): (usize, &Patch)| {
            let lx = self.bounced_lx(i);
            members(p).into_iter().map(move |m| (m, lx))
        };
        let (patches, lx): (Vec<Patch>, Vec<[f32; 3]>) =
            self.surfaces().patches().iter().enumerate().flat_map(of_patch).unzip();
        let mut parts: Vec<Part> = patches
            .into_iter()
            .zip(lx)
            .map(|(patch, lx)| Part { place: self.place(&patch, lx), patch, sources: None })
            .collect();
        let mut returned = Returned::of(parts.iter().map(|p| p.place).collect());
        let glow = self.glow();
        for _ in 0..if self.detail() == Detail::Near { HALVED } else { 0 } {
            let uneven: Vec<bool> = returned.places.par_iter().map(|p| returned.is_uneven_at(p)).collect();
            parts = parts
                .into_par_iter()
                .zip(uneven)
                .flat_map_iter(|(part, uneven)| match uneven && may_be_seen(scene, &part.patch) {
                    true => self.quartered(scene, &glow, part),
                    false => vec![part],
                })
                .collect();
            returned = Returned::of(parts.iter().map(|p| p.place).collect());
        }
        returned.glow = glow;
        returned
    }

    /// In which rooms one of its emitters may be seen.
    #[must_use]
    pub fn rooms_lit_by(&self, emitter: &Emitter) -> LitRooms {
        LitRooms(self.surfaces().rooms().seen_by(emitter))
    }

    /// Whether anything of a ball that belongs to a room may be seen from a point.
    #[must_use]
    pub fn may_look_at(&self, from: DVec3, InRoom(room): InRoom, middle: Vec3, radius: f32) -> bool {
        let to = (room, middle.truncate().as_dvec2(), f64::from(radius));
        self.surfaces().rooms().may_look_at(from.truncate(), to)
    }

    /// What leaves each surface as the rig is set, linear sRGB, lm/m².
    fn glow(&self) -> Vec<[f32; 3]> {
        let mut glow = vec![[0.0_f32; 3]; self.surfaces().len()];
        for (e, solved) in self.emitters().iter().zip(self.solved()).filter(|(e, _)| e.gain > 0.0) {
            let rgb = linear_srgb(e.colour).map(|c| (c * e.gain) as f32);
            for (sum, exitance) in glow.iter_mut().zip(solved.exitance()) {
                sum.iter_mut().zip(rgb).zip(exitance).for_each(|((s, c), x)| *s += c * x);
            }
        }
        glow
    }

    /// A part of a patch in four, each with bounced light of its own.
    fn quartered(&self, scene: &Scene, glow: &[[f32; 3]], part: Part) -> Vec<Part> {
        let sources =
            part.sources.unwrap_or_else(|| Arc::new(self.surfaces().sources_of(&scene.solids, glow, &part.patch)));
        let list: [Patch; 4] = {
            let mut cut = quarters(&part.patch, 2);
            std::array::from_fn(|_| cut.next().unwrap_or_else(|| part.patch.clone()))
        };
        let lx = self.surfaces().light_of_parts(&scene.solids, glow, &sources, &list);
        let one = |(patch, lx)| Part { place: self.place(&patch, lx), patch, sources: Some(sources.clone()) };
        list.into_iter().zip(lx).map(one).collect()
    }

    fn place(&self, p: &Patch, lx: [f32; 3]) -> Place {
        let reach = (p.area_m2.sqrt() * REACH) as f32;
        Place { at: p.at.as_vec3(), normal: p.normal.as_vec3(), reach, lx, room: p.room }
    }

    /// Bounced light on one of the patches, lux of linear sRGB as the rig is set.
    fn bounced_lx(&self, i: usize) -> [f32; 3] {
        let mut lx = [0.0_f32; 3];
        for (e, solved) in self.emitters().iter().zip(self.solved()) {
            let rgb = linear_srgb(e.colour).map(|c| (c * e.gain) as f32);
            lx.iter_mut().zip(rgb).zip(self.surfaces().bounced_on(solved, i)).for_each(|((s, c), b)| *s += c * b);
        }
        lx
    }

    /// Bounced light at a point of a surface that no patches were cut of, lux of linear sRGB as the rig is set.
    #[must_use]
    pub fn on_surface(&self, scene: &Scene, returned: &Returned, to: &Receiver, skip: OwnerIx) -> [f32; 3] {
        self.surfaces().flat(&scene.solids, &returned.glow, to, skip)
    }

    /// Bounced light at a point on flat receptors that look along +x, −x, +y, −y, +z and −z, in lux of linear
    /// sRGB as the rig is set.
    #[must_use]
    pub fn round(&self, scene: &Scene, returned: &Returned, at: DVec3, skip: OwnerIx) -> [[f32; 3]; 6] {
        self.surfaces().round(&scene.solids, &returned.glow, at, skip)
    }
}
