//! Light over the floor: a grid of readings at one height.

use super::{Receiver, Transport, solve};
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
    /// Distance of the nodes for bounced light, metres.
    pub bounce_cell_m: f64,
}

impl MapSpec {
    /// A map with bounced light.
    #[must_use]
    pub fn new(height_m: f64, cell_m: f64, facing: MapFacing) -> MapSpec {
        MapSpec { height_m, cell_m, facing, light: MapLight::WithBounces, bounce_cell_m: BOUNCE_CELL_M }
    }
}

/// A grid of illuminance. Cell (i, j) is centred at origin + ((i + ½)·cell, (j + ½)·cell).
#[derive(Debug, Clone, PartialEq)]
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
    /// The brightest cell, lux.
    #[must_use]
    pub fn max_lx(&self) -> f64 {
        self.level_lx.iter().copied().filter(|v| v.is_finite()).fold(0.0_f32, f32::max).into()
    }
}

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

/// Maps a rig's light over all rooms. Cells are solved in parallel.
#[must_use]
pub fn light_map(plan: &Plan, scene: &Scene, transport: &Transport, spec: &MapSpec) -> LightMap {
    let rooms: Vec<(Vec<DVec2>, DVec2, DVec2)> = plan
        .location
        .rooms
        .iter()
        .map(|r| {
            let points: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
            let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
            let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
            (points, low, high)
        })
        .collect();
    let low = rooms.iter().map(|r| r.1).fold(DVec2::INFINITY, DVec2::min);
    let high = rooms.iter().map(|r| r.2).fold(DVec2::NEG_INFINITY, DVec2::max);
    if rooms.is_empty() || !low.is_finite() {
        return LightMap { origin: DVec2::ZERO, cell_m: spec.cell_m, nx: 0, ny: 0, level_lx: Vec::new() };
    }
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
    let bounced = (spec.light == MapLight::WithBounces)
        .then(|| transport.grid(plan, scene, low, high, spec.bounce_cell_m.max(cell_m), receiver));
    let walls: Vec<(DVec2, DVec2)> = scene
        .walls
        .pieces
        .iter()
        .filter(|w| w.z0 <= spec.height_m && spec.height_m <= w.z1)
        .map(|w| (w.a, w.b))
        .collect();
    let mut level_lx = vec![f32::NAN; nx * ny];
    level_lx.par_chunks_mut(nx).enumerate().for_each(|(j, row)| {
        for (i, out) in row.iter_mut().enumerate() {
            let p = low + DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * cell_m;
            if !rooms.iter().any(|(points, a, b)| p.cmpge(*a).all() && p.cmple(*b).all() && point_in_polygon(p, points))
            {
                continue;
            }
            let to = receiver(p);
            let direct: f64 =
                transport.emitters().iter().map(|e| e.gain * solve(&scene.solids, e, &to, OwnerIx::NONE)).sum();
            *out = (direct + bounced.as_ref().map_or(0.0, |g| g.at(p, &walls))) as f32;
        }
    });
    LightMap { origin: low, cell_m, nx, ny, level_lx }
}
