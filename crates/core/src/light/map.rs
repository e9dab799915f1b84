//! Light over the floor: a grid of readings at one height.

use super::between::Between;
use super::rooms::NOWHERE;
use super::slope::Slope;
use super::{Fineness, Receiver, Shape, Transport, solve};
use crate::colour::{Xyz, look_srgb};
use crate::geometry::{OwnerIx, point_in_polygon};
use crate::plan::{Plan, Receptor};
use crate::scene::Scene;
use glam::{DVec2, DVec3};
use rayon::prelude::*;

/// Which way the grid's receptors look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MapFacing {
    /// A dome pointed at the lens, as a meter is held.
    #[default]
    Lens,
    /// A flat receptor lying level, looking up.
    Up,
}

/// What a map shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MapShows {
    /// Level.
    #[default]
    Level,
    /// Key and fill over fill, stops.
    KeyFill,
    /// Colour at the plan's white balance.
    Colour,
}

/// What to map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapSpec {
    /// Height above the floor, metres.
    pub height_m: f64,
    /// Cell size, metres.
    pub cell_m: f64,
    /// Which way receptors look.
    pub facing: MapFacing,
    /// Which light.
    pub light: MapLight,
    /// What of it.
    pub shows: MapShows,
    /// Distance of the nodes for bounced light, metres.
    pub bounce_cell_m: f64,
}

impl MapSpec {
    /// A map with bounced light.
    #[must_use]
    pub fn new(height_m: f64, cell_m: f64, facing: MapFacing) -> MapSpec {
        MapSpec {
            height_m,
            cell_m,
            facing,
            light: MapLight::WithBounces,
            shows: MapShows::Level,
            bounce_cell_m: BOUNCE_CELL_M,
        }
    }
}

/// A grid of illuminance. Cell (i, j) is centred at origin + ((i + ½)·cell, (j + ½)·cell).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LightMap {
    /// Lower left corner, metres.
    pub origin: DVec2,
    /// Cell size, metres.
    pub cell_m: f64,
    /// Cells east.
    pub nx: usize,
    /// Cells north.
    pub ny: usize,
    /// Row by row from the south, lux; NaN outside every room.
    pub level_lx: Vec<f32>,
    /// Key and fill over fill in stops, cell by cell; empty unless asked for.
    pub key_fill_stops: Vec<f32>,
    /// The light's look at the plan's white balance, sRGB, cell by cell; empty unless asked for.
    pub look_srgb: Vec<[u8; 3]>,
}

impl LightMap {
    /// The level at a point, lux; none outside.
    #[must_use]
    pub fn at(&self, p: DVec2) -> Option<f64> {
        let c = (p - self.origin) / self.cell_m;
        if c.x < 0.0 || c.y < 0.0 || c.x >= self.nx as f64 || c.y >= self.ny as f64 {
            return None;
        }
        let v = self.level_lx[c.y as usize * self.nx + c.x as usize];
        v.is_finite().then_some(f64::from(v))
    }
    /// Key and fill over fill at a point, stops; none outside or where it was not asked for.
    #[must_use]
    pub fn key_fill_at(&self, p: DVec2) -> Option<f64> {
        let c = (p - self.origin) / self.cell_m;
        if self.key_fill_stops.is_empty() || self.at(p).is_none() {
            return None;
        }
        Some(self.key_fill_stops[c.y as usize * self.nx + c.x as usize].into())
    }
    /// The brightest cell, lux.
    #[must_use]
    pub fn max_lx(&self) -> f64 {
        self.level_lx.iter().copied().filter(|v| v.is_finite()).fold(0.0_f32, f32::max).into()
    }
}

/// Most cells a side of a tile that asks once what may stand in the way of a lamp, and its width, metres.
const TILE: usize = 6;
const TILE_M: f64 = 0.6;
/// With so many cells a tile's light of the sky is asked for at its corners first.
const SPARED: usize = 9;

/// Most cells of a map: coarser cells are used where a plan would need more.
const MAX_CELLS: f64 = 400_000.0;

/// Which light a map shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MapLight {
    /// Straight from the lamps.
    Direct,
    /// And off the rooms' surfaces, at nodes [`BOUNCE_CELL_M`] apart or less and between them by interpolation.
    #[default]
    WithBounces,
}

/// Distance of the nodes at which bounced light is worked out, metres.
pub const BOUNCE_CELL_M: f64 = 0.5;

/// How far round what stands in the open a map reaches, metres.
const ROUND_M: f64 = 2.0;
/// What stands further from the rooms than this is not on it, metres.
const FAR_M: f64 = 30.0;

/// The ground that a map shows: the rooms, and where something stands in no room the open ground round it.
#[derive(Debug, Clone)]
pub(super) struct Area {
    pub low: DVec2,
    pub high: DVec2,
    rooms: Vec<(Vec<DVec2>, DVec2, DVec2)>,
    /// Corners of the open ground.
    open: Option<(DVec2, DVec2)>,
}

impl Area {
    /// None when there is neither room nor anything in the open.
    fn of(plan: &Plan, scene: &Scene, transport: &Transport) -> Option<Area> {
        let boxed = |points: &[DVec2]| {
            let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
            (low, points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max))
        };
        let room = |r: &crate::plan::Room| {
            let points: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
            let (low, high) = boxed(&points);
            (points, low, high)
        };
        let rooms: Vec<(Vec<DVec2>, DVec2, DVec2)> = plan.location.rooms.iter().map(room).collect();
        let mut area = Area { low: DVec2::INFINITY, high: DVec2::NEG_INFINITY, rooms, open: None };
        let lamps = transport.emitters().iter().filter(|e| !e.is_daylight()).map(|e| e.at().truncate());
        let mut outside: Vec<DVec2> = scene.people.iter().map(|p| p.position).chain(lamps).collect();
        outside.extend(plan.location.pieces.iter().map(|p| DVec2::from_array(p.position_m)));
        outside.retain(|p| !area.in_room(*p));
        // What stands far off is a slip or another day's.
        let near = area.rooms.iter().map(|r| (r.1, r.2)).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
        if let Some((a, b)) = near.or(outside.first().map(|p| (*p, *p))) {
            outside.retain(|p| p.cmpge(a - FAR_M).all() && p.cmple(b + FAR_M).all());
        }
        if !outside.is_empty() {
            let (low, high) = boxed(&outside);
            area.open = Some((low - ROUND_M, high + ROUND_M));
        }
        let all = area.rooms.iter().map(|r| (r.1, r.2)).chain(area.open);
        let (low, high) =
            all.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(a, b), (low, high)| (a.min(low), b.max(high)));
        (area.low, area.high) = (low, high);
        (low.is_finite() && high.is_finite()).then_some(area)
    }

    fn in_room(&self, p: DVec2) -> bool {
        self.rooms.iter().any(|(points, a, b)| p.cmpge(*a).all() && p.cmple(*b).all() && point_in_polygon(p, points))
    }

    /// Whether a point of the plan is shown.
    pub fn holds(&self, p: DVec2) -> bool {
        self.open.is_some_and(|(a, b)| p.cmpge(a).all() && p.cmple(b).all()) || self.in_room(p)
    }
}

/// Maps a rig's light over all rooms, and over the open ground round what stands there. Cells are solved in parallel.
#[must_use]
pub fn light_map(plan: &Plan, scene: &Scene, transport: &Transport, spec: &MapSpec) -> LightMap {
    let Some(area) = Area::of(plan, scene, transport) else {
        return LightMap { origin: DVec2::ZERO, cell_m: spec.cell_m, nx: 0, ny: 0, ..LightMap::default() };
    };
    let (low, high) = (area.low, area.high);
    let size = high - low;
    let cell_m = spec.cell_m.max(0.01).max((size.x * size.y / MAX_CELLS).sqrt());
    let (nx, ny) = ((size.x / cell_m).ceil().max(1.0) as usize, (size.y / cell_m).ceil().max(1.0) as usize);
    let eye = scene.view.as_ref().map(|v| v.eye);
    let receiver = |p: DVec2| {
        let at = p.extend(spec.height_m);
        let (toward, receptor) = match (spec.facing, eye) {
            (MapFacing::Lens, Some(eye)) => ((eye - at).try_normalize().unwrap_or(DVec3::Z), Receptor::Dome),
            _ => (DVec3::Z, Receptor::Flat),
        };
        Receiver { at, toward, receptor }
    };
    let key = (spec.shows == MapShows::KeyFill).then(|| key_of(scene, transport)).flatten();
    let bounced = (spec.light == MapLight::WithBounces)
        .then(|| transport.grid(scene, &area, spec.bounce_cell_m.max(cell_m), receiver, spec.shows));
    let walls: Vec<(DVec2, DVec2)> = scene
        .walls
        .pieces
        .iter()
        .filter(|w| w.z0 <= spec.height_m && spec.height_m <= w.z1)
        .map(|w| (w.a, w.b))
        .collect();
    let mut cells = vec![[f32::NAN; 3]; nx * ny];
    let place = |i: usize, j: usize| low + DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * cell_m;
    let tile = ((TILE_M / cell_m).round() as usize).clamp(1, TILE);
    let around = transport.surfaces().rooms();
    let homes: Vec<Option<(u16, DVec2, f64)>> = transport.emitters().iter().map(|e| around.home(e)).collect();
    cells.par_chunks_mut(nx * tile).enumerate().for_each(|(band, rows)| {
        let first = band * tile;
        let many = rows.len() / nx;
        for from in (0..nx).step_by(tile) {
            let across = from..(from + tile).min(nx);
            let list: Vec<(usize, DVec2)> = (0..many)
                .flat_map(|j| across.clone().map(move |i| (j, i)))
                .map(|(j, i)| (j * nx + i, place(i, first + j)))
                .filter(|(_, p)| area.holds(*p))
                .collect();
            let Some(((_, a), (_, b))) = list.first().zip(list.last()) else { continue };
            let (a, b) = list.iter().fold((*a, *b), |(a, b), (_, p)| (a.min(*p), b.max(*p)));
            let corners = [a, DVec2::new(b.x, a.y), b, DVec2::new(a.x, b.y)].map(|p| p.extend(spec.height_m).as_vec3());
            if let Some(grid) = &bounced {
                let near = grid.walls_near(a, b, &walls);
                for (n, p) in &list {
                    rows[*n] = grid.at(*p, &near).map(|v| v as f32);
                }
            } else {
                list.iter().for_each(|(n, _)| rows[*n] = [0.0; 3]);
            }
            let middle = (a + b) * 0.5;
            let room = if around.are_many() { around.at(middle) } else { NOWHERE };
            let alone = list.iter().all(|(_, p)| room == NOWHERE || around.at(*p) == room);
            for (k, e) in transport.emitters().iter().enumerate() {
                let here = (room, middle, a.distance(b) * 0.5 + 1e-3);
                if alone && homes[k].is_some_and(|home| !around.may_see(home, here)) {
                    continue;
                }
                let between = Between::of(&scene.solids, e, &corners, OwnerIx::NONE);
                if matches!(between, Between::Hidden) {
                    continue;
                }
                let lux =
                    |p: DVec2| e.gain * between.solve(&scene.solids, e, &receiver(p), OwnerIx::NONE, Fineness::Meter);
                let size = (b - a).max(DVec2::splat(1e-9));
                let slope = (matches!(e.shape, Shape::Sky { .. }) && list.len() >= SPARED)
                    .then(|| Slope::over(|u, v| lux(a + size * DVec2::new(u, v))))
                    .flatten();
                for (n, p) in &list {
                    let lx = match &slope {
                        Some(slope) => slope.at((p.x - a.x) / size.x, (p.y - a.y) / size.y),
                        None => lux(*p),
                    };
                    let part = channels(spec.shows, e.colour * lx, key == Some(k));
                    rows[*n].iter_mut().zip(part).for_each(|(s, v)| *s += v as f32);
                }
            }
        }
    });
    let mut map = LightMap { origin: low, cell_m, nx, ny, ..LightMap::default() };
    match spec.shows {
        MapShows::Level => map.level_lx = cells.iter().map(|c| c[0]).collect(),
        MapShows::KeyFill => {
            map.level_lx = cells.iter().map(|c| c[0] + c[1]).collect();
            map.key_fill_stops = cells.iter().map(|c| ((c[0] + c[1]) / c[1].max(1e-6)).log2()).collect();
        }
        MapShows::Colour => {
            map.level_lx = cells.iter().map(|c| c[1]).collect();
            let wb = plan.exposure.white_balance_k;
            let xyz = |c: &[f32; 3]| Xyz { x: c[0].into(), y: c[1].into(), z: c[2].into() };
            map.look_srgb =
                cells.iter().map(|c| if c[1].is_finite() { look_srgb(xyz(c), wb) } else { [0; 3] }).collect();
        }
    }
    map
}

/// What a map adds up for one emitter's light: level, or direct key and the rest, or all three values.
pub(super) fn channels(shows: MapShows, light: Xyz, key: bool) -> [f64; 3] {
    match shows {
        MapShows::Level => [light.y, 0.0, 0.0],
        MapShows::KeyFill if key => [light.y, 0.0, 0.0],
        MapShows::KeyFill => [0.0, light.y, 0.0],
        MapShows::Colour => [light.x, light.y, light.z],
    }
}

/// The key of the first face in the scene by its direct light; without a face, the strongest lamp.
fn key_of(scene: &Scene, transport: &Transport) -> Option<usize> {
    let list = transport.emitters();
    let strength = |e: &super::Emitter| match scene.people.first() {
        Some(p) => {
            let at = p.face() + p.face_normal() * 0.03;
            let to = Receiver { at, toward: p.face_normal(), receptor: Receptor::Dome };
            e.gain * solve(&scene.solids, e, &to, OwnerIx::NONE)
        }
        None => e.gain * e.strongest_cd(),
    };
    list.iter().enumerate().max_by(|a, b| strength(a.1).total_cmp(&strength(b.1))).map(|(i, _)| i)
}
