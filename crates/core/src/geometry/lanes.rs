//! Panels and bounding spheres side by side, so that one instruction tests eight.

use super::OwnerIx;
use super::ray::{EPS, Ray};
use glam::Vec3;
use wide::f32x8;

/// Panels side by side, so that one instruction tests several.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lanes {
    pub ax: [f32; LANES],
    pub ay: [f32; LANES],
    pub dx: [f32; LANES],
    pub dy: [f32; LANES],
    pub z0: [f32; LANES],
    pub z1: [f32; LANES],
    pub owner: [u32; LANES],
}

/// How many stand side by side.
pub(super) const LANES: usize = 8;

impl Lanes {
    /// Lanes with no panel in them: a segment never meets a panel without length.
    pub const EMPTY: Lanes = Lanes {
        ax: [0.0; LANES],
        ay: [0.0; LANES],
        dx: [0.0; LANES],
        dy: [0.0; LANES],
        z0: [0.0; LANES],
        z1: [0.0; LANES],
        owner: [0; LANES],
    };

    /// One bit for each panel that may come within `radius` of a segment: overlapping boxes, and not wholly on
    /// one side further off. `flat2` is the squared length of the segment on the plan.
    #[inline]
    pub fn near(&self, ray: &Ray, low: Vec3, high: Vec3, radius: f32, flat2: f32, skip: OwnerIx) -> u32 {
        let (p, r) = (ray.p, ray.r);
        let limit = radius * radius * flat2;
        let mut hits = 0_u32;
        for k in 0..LANES {
            let (x, y) = (self.ax[k], self.ay[k]);
            let (u, v) = (x + self.dx[k], y + self.dy[k]);
            let (sa, sb) = (r.x * (y - p.y) - r.y * (x - p.x), r.x * (v - p.y) - r.y * (u - p.x));
            let aside = (sa * sb > 0.0) & ((sa * sa).min(sb * sb) > limit);
            let hit = (x.min(u) <= high.x)
                & (x.max(u) >= low.x)
                & (y.min(v) <= high.y)
                & (y.max(v) >= low.y)
                & (self.z0[k] <= high.z)
                & (self.z1[k] >= low.z)
                & (self.owner[k] != skip.0)
                & !aside;
            hits |= u32::from(hit) << k;
        }
        hits
    }

    #[inline]
    pub fn any(&self, ray: &Ray, skip: OwnerIx) -> bool {
        let (px, py, pz) = (f32x8::splat(ray.p.x), f32x8::splat(ray.p.y), f32x8::splat(ray.p.z));
        let (rx, ry, rz) = (f32x8::splat(ray.r.x), f32x8::splat(ray.r.y), f32x8::splat(ray.r.z));
        let (dx, dy) = (f32x8::from(self.dx), f32x8::from(self.dy));
        let (x, y) = (f32x8::from(self.ax) - px, f32x8::from(self.ay) - py);
        // A parallel lane gives infinity or NaN, which fail every comparison.
        let inverse = f32x8::ONE / (rx * dy - ry * dx);
        let t = (x * dy - y * dx) * inverse;
        let s = (x * ry - y * rx) * inverse;
        let z = pz + t * rz;
        let hit = t.simd_gt(f32x8::splat(EPS))
            & t.simd_lt(f32x8::splat(1.0 - EPS))
            & (s - f32x8::HALF).abs().simd_le(f32x8::HALF)
            & z.simd_ge(f32x8::from(self.z0))
            & z.simd_le(f32x8::from(self.z1));
        let mut met = hit.to_bitmask();
        while met != 0 {
            if self.owner[met.trailing_zeros() as usize] != skip.0 {
                return true;
            }
            met &= met - 1;
        }
        false
    }
}

/// Bounding spheres side by side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spheres {
    pub x: [f32; LANES],
    pub y: [f32; LANES],
    pub z: [f32; LANES],
    pub r: [f32; LANES],
}

impl Spheres {
    /// Spheres that nothing comes near.
    pub const EMPTY: Spheres =
        Spheres { x: [0.0; LANES], y: [0.0; LANES], z: [0.0; LANES], r: [f32::NEG_INFINITY; LANES] };

    /// One bit for each that comes within `radius` of a segment; `inverse` is 1/|r|².
    #[inline]
    pub fn near(&self, ray: &Ray, inverse: f32, radius: f32) -> u32 {
        let (rx, ry, rz) = (f32x8::splat(ray.r.x), f32x8::splat(ray.r.y), f32x8::splat(ray.r.z));
        let x = f32x8::from(self.x) - f32x8::splat(ray.p.x);
        let y = f32x8::from(self.y) - f32x8::splat(ray.p.y);
        let z = f32x8::from(self.z) - f32x8::splat(ray.p.z);
        let t = ((x * rx + y * ry + z * rz) * f32x8::splat(inverse)).max(f32x8::ZERO).min(f32x8::ONE);
        let (x, y, z) = (x - t * rx, y - t * ry, z - t * rz);
        let reach = f32x8::from(self.r) + f32x8::splat(radius);
        let near = (x * x + y * y + z * z).simd_lt(reach * reach) & reach.simd_gt(f32x8::ZERO);
        near.to_bitmask()
    }
}
