//! The light that surfaces return, looked up by place: for pictures, which ask at thousands of points.

use super::bounce::{Detail, bounced_xyz};
use super::{Receiver, Transport};
use crate::colour::linear_srgb;
use crate::geometry::OwnerIx;
use crate::plan::Receptor;
use crate::scene::Scene;
use glam::{DVec3, IVec3, Vec3};
use std::collections::HashMap;

/// A surface patch with the bounced light on it.
#[derive(Debug, Clone, Copy)]
struct Place {
    at: Vec3,
    normal: Vec3,
    /// How far its light spreads to either side, metres.
    reach: f32,
    lx: [f32; 3],
}

/// Bounced light on the rooms' surfaces as the rig is set, in lux of linear sRGB.
#[derive(Debug, Clone)]
pub struct Returned {
    places: Vec<Place>,
    cells: HashMap<IVec3, Vec<u32>>,
    cell_m: f32,
}

/// Patches whose normals differ by more than this are other surfaces (cosine).
const SAME_WAY: f32 = 0.85;

impl Returned {
    /// Bounced light on a surface at a point, evened between its patches; none where no surface was cut.
    #[must_use]
    pub fn at(&self, p: Vec3, normal: Vec3) -> Option<[f32; 3]> {
        let cell = (p / self.cell_m).floor().as_ivec3();
        let (mut sum, mut weights) = ([0.0; 3], 0.0);
        for i in self.cells.get(&cell)? {
            let place = &self.places[*i as usize];
            if place.normal.dot(normal) < SAME_WAY || (p - place.at).dot(place.normal).abs() > 0.06 {
                continue;
            }
            let weight = (1.0 - p.distance_squared(place.at) / (place.reach * place.reach)).max(0.0).powi(2);
            for (s, c) in sum.iter_mut().zip(place.lx) {
                *s += weight * c;
            }
            weights += weight;
        }
        (weights > 1e-6).then(|| sum.map(|s| s / weights))
    }
}

impl Transport {
    /// What the surfaces return as the rig is set, ready to be looked up.
    #[must_use]
    pub fn returned(&self) -> Returned {
        let colours: Vec<[f64; 3]> =
            self.emitters().iter().map(|e| linear_srgb(e.colour).map(|c| c * e.gain)).collect();
        let mut places = Vec::with_capacity(self.surfaces().len());
        let mut widest = 0.1_f32;
        for i in 0..self.surfaces().len() {
            let (at, normal, area_m2) = self.surfaces().patch(i);
            let mut lx = [0.0_f32; 3];
            for (rgb, solved) in colours.iter().zip(self.solved()) {
                let bounced = self.surfaces().bounced_on(solved, i);
                lx.iter_mut().zip(rgb).zip(bounced).for_each(|((s, c), b)| *s += *c as f32 * b);
            }
            let reach = (area_m2.sqrt() * 1.3) as f32;
            widest = widest.max(reach);
            places.push(Place { at: at.as_vec3(), normal: normal.as_vec3(), reach, lx });
        }
        let mut cells: HashMap<IVec3, Vec<u32>> = HashMap::new();
        for (i, p) in places.iter().enumerate() {
            // Flat against its surface: only the cells its disc touches.
            let span = (Vec3::ONE - p.normal * p.normal).max(Vec3::ZERO).map(f32::sqrt) * p.reach + 0.07;
            let (low, high) =
                (((p.at - span) / widest).floor().as_ivec3(), ((p.at + span) / widest).floor().as_ivec3());
            for x in low.x..=high.x {
                for y in low.y..=high.y {
                    for z in low.z..=high.z {
                        cells.entry(IVec3::new(x, y, z)).or_default().push(i as u32);
                    }
                }
            }
        }
        Returned { places, cells, cell_m: widest }
    }

    /// Bounced light at a point on flat receptors that look along +x, −x, +y, −y, +z and −z, in lux of linear
    /// sRGB as the rig is set.
    #[must_use]
    pub fn round(&self, scene: &Scene, at: DVec3, skip: OwnerIx) -> [[f32; 3]; 6] {
        [DVec3::X, DVec3::NEG_X, DVec3::Y, DVec3::NEG_Y, DVec3::Z, DVec3::NEG_Z].map(|toward| {
            let to = Receiver { at, toward, receptor: Receptor::Flat };
            let parts = self.surfaces().gather(&scene.solids, self.solved(), self.emitters(), &to, skip, Detail::Quick);
            let mut sum = [0.0_f32; 3];
            for (e, thirds) in self.emitters().iter().zip(parts) {
                let rgb = linear_srgb(bounced_xyz(e, thirds) * e.gain);
                sum.iter_mut().zip(rgb).for_each(|(s, c)| *s += c as f32);
            }
            sum
        })
    }
}
