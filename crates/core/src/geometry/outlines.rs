//! Solids as triangles, and cut at a height.

use super::solids::{OwnerIx, Solids};
use glam::{DVec2, Vec2, Vec3};

impl Solids {
    /// Everything as triangles, corners in order, for comparison and export: round things in 24 sides.
    #[must_use]
    pub fn triangles(&self) -> Vec<[Vec3; 3]> {
        const SIDES: usize = 24;
        let mut out = Vec::new();
        let mut quad = |a: Vec3, b: Vec3, c: Vec3, d: Vec3| out.extend([[a, b, c], [a, c, d]]);
        let round = |i: usize| (i as f32 * std::f32::consts::TAU / SIDES as f32).sin_cos();
        for x in &self.panels {
            let b = x.a + x.d;
            quad(x.a.extend(x.z0), b.extend(x.z0), b.extend(x.z1), x.a.extend(x.z1));
        }
        for x in &self.boxes {
            let (u, v) = (x.axis * x.half.x, Vec2::new(-x.axis.y, x.axis.x) * x.half.y);
            let c = x.centre.truncate();
            let ring = [c + u + v, c - u + v, c - u - v, c + u - v];
            let (low, high) = (x.centre.z - x.half.z, x.centre.z + x.half.z);
            for i in 0..4 {
                let (p, q) = (ring[i], ring[(i + 1) % 4]);
                quad(p.extend(low), q.extend(low), q.extend(high), p.extend(high));
            }
            for z in [low, high] {
                quad(ring[0].extend(z), ring[1].extend(z), ring[2].extend(z), ring[3].extend(z));
            }
        }
        for x in &self.sheets {
            let (c, [u, v]) = (x.centre, x.halves());
            quad(c - u - v, c + u - v, c + u + v, c - u + v);
        }
        for x in &self.cylinders {
            let (u, v) = (x.axis / x.inv_half.x, Vec2::new(-x.axis.y, x.axis.x) / x.inv_half.y);
            let at = |i: usize| {
                let (s, c) = round(i);
                x.centre + u * c + v * s
            };
            for i in 0..SIDES {
                let (p, q) = (at(i), at(i + 1));
                quad(p.extend(x.z0), q.extend(x.z0), q.extend(x.z1), p.extend(x.z1));
                for z in [x.z0, x.z1] {
                    quad(x.centre.extend(z), p.extend(z), q.extend(z), q.extend(z));
                }
            }
        }
        for x in &self.ellipsoids {
            let (u, v) = (x.axis.extend(0.0) / x.inv_half.x, Vec3::new(-x.axis.y, x.axis.x, 0.0) / x.inv_half.y);
            let at = |i: usize, j: usize| {
                let ((s, c), (rise, out)) = (round(i), (std::f32::consts::PI * (j as f32 / 12.0 - 0.5)).sin_cos());
                x.centre + (u * c + v * s) * out + Vec3::Z * (rise / x.inv_half.z)
            };
            for i in 0..SIDES {
                for j in 0..12 {
                    quad(at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
                }
            }
        }
        out
    }

    /// Outlines on the plan of everything that reaches a height, metres: segments with their owners.
    #[must_use]
    pub fn outlines_at(&self, z: f64) -> Vec<(DVec2, DVec2, OwnerIx)> {
        let z = z as f32;
        let mut out = Vec::new();
        for x in &self.panels {
            if (x.z0..=x.z1).contains(&z) {
                out.push((x.a.as_dvec2(), (x.a + x.d).as_dvec2(), x.owner));
            }
        }
        for x in &self.boxes {
            if (z - x.centre.z).abs() <= x.half.z {
                let c = x.centre.truncate();
                let (u, v) = (x.axis * x.half.x, Vec2::new(-x.axis.y, x.axis.x) * x.half.y);
                let corners = [c + u + v, c - u + v, c - u - v, c + u - v].map(|p| p.as_dvec2());
                for i in 0..4 {
                    out.push((corners[i], corners[(i + 1) % 4], x.owner));
                }
            }
        }
        for x in &self.sheets {
            let (c, [u, v]) = (x.centre, x.halves());
            if (z - c.z).abs() <= v.z.abs() {
                // The level line across it at this height.
                let at = c + v * ((z - c.z) / v.z);
                out.push(((at - u).truncate().as_dvec2(), (at + u).truncate().as_dvec2(), x.owner));
            }
        }
        for x in &self.cylinders {
            if (x.z0..=x.z1).contains(&z) {
                let (u, v) = (x.axis / x.inv_half.x, Vec2::new(-x.axis.y, x.axis.x) / x.inv_half.y);
                let ring: Vec<DVec2> = (0..16)
                    .map(|i| {
                        let (s, c) = (i as f32 * std::f32::consts::TAU / 16.0).sin_cos();
                        (x.centre + u * c + v * s).as_dvec2()
                    })
                    .collect();
                for i in 0..16 {
                    out.push((ring[i], ring[(i + 1) % 16], x.owner));
                }
            }
        }
        out
    }
}
