//! Eight lines of sight at a time: from one point to eight others.

use super::OwnerIx;
use super::few::Few;
use super::ray::{EPS, Ray};
use super::shapes::{BoxSolid, Cylinder, Ellipsoid, Panel, Sheet};
use super::solids::{Kind, Solids};
use glam::{Vec2, Vec3};
use wide::f32x8;

/// Lines from one point to eight others.
#[derive(Debug, Clone, Copy)]
pub struct Eight {
    from: Vec3,
    x: f32x8,
    y: f32x8,
    z: f32x8,
}

/// The first thing each of eight lines meets.
#[derive(Debug, Clone, Copy)]
pub struct EightHits {
    /// Share of the way, 0–1; infinite where nothing is met.
    pub t: [f32; 8],
    /// Whose.
    pub owner: [OwnerIx; 8],
}

impl EightHits {
    /// Nothing met.
    pub const NONE: EightHits = EightHits { t: [f32::INFINITY; 8], owner: [OwnerIx::NONE; 8] };
}

/// Lines that lie this close together are asked about all things near them at once, metres.
const NARROW_M: f32 = 0.2;
/// Larger than any share of the way.
const FAR: f32 = f32::INFINITY;
/// Nothing is divided by less.
const TINY: f32 = 1e-20;

impl Eight {
    /// Lines from a point to eight points, given coordinate by coordinate.
    #[must_use]
    pub fn to(from: Vec3, [x, y, z]: [f32x8; 3]) -> Eight {
        let off = |v: f32x8, c: f32| v - f32x8::splat(c);
        Eight { from, x: off(x, from.x), y: off(y, from.y), z: off(z, from.z) }
    }

    /// Lines from a point to eight points.
    #[must_use]
    pub fn to_points(from: Vec3, points: [Vec3; 8]) -> Eight {
        Eight::to(from, [0, 1, 2].map(|k| f32x8::from(points.map(|p| p[k]))))
    }

    /// Lines from a point along eight vectors, each as long as its line.
    #[must_use]
    pub fn along(from: Vec3, [x, y, z]: [f32x8; 3]) -> Eight {
        Eight { from, x, y, z }
    }

    /// The middle of the eight ends, and how far from it the furthest lies: a tube so wide round the way there holds
    /// all lines.
    pub(super) fn tube(&self) -> (Ray, f32) {
        let r = Vec3::new(self.x.reduce_add(), self.y.reduce_add(), self.z.reduce_add()) * 0.125;
        let off = |v: f32x8, c: f32| v - f32x8::splat(c);
        let (x, y, z) = (off(self.x, r.x), off(self.y, r.y), off(self.z, r.z));
        let furthest2 = (x * x + y * y + z * z).to_array().into_iter().fold(0.0, f32::max);
        (Ray { p: self.from, r }, furthest2.sqrt() * 1.0001 + 1e-4)
    }

    fn kept(low: f32x8, high: f32x8) -> f32x8 {
        let (low, high) = (low.fast_max(f32x8::splat(EPS)), high.fast_min(f32x8::splat(1.0 - EPS)));
        low.simd_lt(high).select(low, f32x8::splat(FAR))
    }

    #[inline]
    fn panel(&self, p: &Panel) -> f32x8 {
        let to = p.a - self.from.truncate();
        let (dx, dy) = (f32x8::splat(p.d.x), f32x8::splat(p.d.y));
        // A parallel lane gives infinity or NaN, which fail every comparison.
        let inverse = f32x8::ONE / (self.x * dy - self.y * dx);
        let t = f32x8::splat(to.perp_dot(p.d)) * inverse;
        let s = (f32x8::splat(to.x) * self.y - f32x8::splat(to.y) * self.x) * inverse;
        let z = f32x8::splat(self.from.z) + t * self.z;
        let hit = t.simd_gt(f32x8::splat(EPS))
            & t.simd_lt(f32x8::splat(1.0 - EPS))
            & (s - f32x8::HALF).abs().simd_le(f32x8::HALF)
            & z.simd_ge(f32x8::splat(p.z0))
            & z.simd_le(f32x8::splat(p.z1));
        hit.select(t, f32x8::splat(FAR))
    }

    /// Where the lines pass between −h and h along one axis.
    #[inline]
    fn slab(o: f32, d: f32x8, h: f32) -> (f32x8, f32x8) {
        let tiny = d.abs().simd_lt(f32x8::splat(TINY));
        let inverse = f32x8::ONE / tiny.select(f32x8::splat(TINY), d);
        let (u, v) = (f32x8::splat(-h - o) * inverse, f32x8::splat(h - o) * inverse);
        (u.fast_min(v), u.fast_max(v))
    }

    #[inline]
    fn turned(&self, axis: Vec2) -> (f32x8, f32x8) {
        let (c, s) = (f32x8::splat(axis.x), f32x8::splat(axis.y));
        (self.x * c + self.y * s, self.y * c - self.x * s)
    }

    #[inline]
    fn boxed(&self, b: &BoxSolid) -> f32x8 {
        let v = self.from - b.centre;
        let (dx, dy) = self.turned(b.axis);
        let (ox, oy) = (v.truncate().dot(b.axis), b.axis.perp_dot(v.truncate()));
        let (mut t0, mut t1) = Eight::slab(ox, dx, b.half.x);
        for (u, v) in [Eight::slab(oy, dy, b.half.y), Eight::slab(v.z, self.z, b.half.z)] {
            t0 = t0.fast_max(u);
            t1 = t1.fast_min(v);
        }
        Eight::kept(t0, t1)
    }

    /// Where |o + t·d| = 1; an empty stretch where it never is.
    #[inline]
    fn roots(oo: f32, od: f32x8, dd: f32x8) -> (f32x8, f32x8) {
        let dd = dd.fast_max(f32x8::splat(TINY));
        let discriminant = od * od - dd * f32x8::splat(oo - 1.0);
        let met = discriminant.simd_gt(f32x8::ZERO);
        let root = discriminant.fast_max(f32x8::ZERO).sqrt();
        let inverse = f32x8::ONE / dd;
        let (a, b) = ((-od - root) * inverse, (root - od) * inverse);
        (met.select(a, f32x8::splat(FAR)), met.select(b, f32x8::splat(-FAR)))
    }

    #[inline]
    fn cylinder(&self, c: &Cylinder) -> f32x8 {
        let v = self.from.truncate() - c.centre;
        let o = Vec2::new(v.dot(c.axis), c.axis.perp_dot(v)) * c.inv_half;
        let (dx, dy) = self.turned(c.axis);
        let (dx, dy) = (dx * f32x8::splat(c.inv_half.x), dy * f32x8::splat(c.inv_half.y));
        let od = f32x8::splat(o.x) * dx + f32x8::splat(o.y) * dy;
        let (t0, t1) = Eight::roots(o.length_squared(), od, dx * dx + dy * dy);
        let (middle, half) = ((c.z0 + c.z1) * 0.5, (c.z1 - c.z0) * 0.5);
        let (u, v) = Eight::slab(self.from.z - middle, self.z, half);
        Eight::kept(t0.fast_max(u), t1.fast_min(v))
    }

    #[inline]
    fn sheet(&self, s: &Sheet) -> f32x8 {
        let v = s.centre - self.from;
        let dot = |n: Vec3| self.x * f32x8::splat(n.x) + self.y * f32x8::splat(n.y) + self.z * f32x8::splat(n.z);
        // A parallel lane gives infinity or NaN, which fail every comparison.
        let t = f32x8::splat(s.normal.dot(v)) / dot(s.normal);
        let mut hit = t.simd_gt(f32x8::splat(EPS)) & t.simd_lt(f32x8::splat(1.0 - EPS));
        for p in s.places {
            hit &= (t * dot(p) - f32x8::splat(p.dot(v))).abs().simd_le(f32x8::ONE);
        }
        hit.select(t, f32x8::splat(FAR))
    }

    #[inline]
    fn ellipsoid(&self, e: &Ellipsoid) -> f32x8 {
        let v = self.from - e.centre;
        let flat = v.truncate();
        let o = Vec3::new(flat.dot(e.axis), e.axis.perp_dot(flat), v.z) * e.inv_half;
        let (dx, dy) = self.turned(e.axis);
        let (dx, dy) = (dx * f32x8::splat(e.inv_half.x), dy * f32x8::splat(e.inv_half.y));
        let dz = self.z * f32x8::splat(e.inv_half.z);
        let od = f32x8::splat(o.x) * dx + f32x8::splat(o.y) * dy + f32x8::splat(o.z) * dz;
        let (t0, t1) = Eight::roots(o.length_squared(), od, dx * dx + dy * dy + dz * dz);
        Eight::kept(t0, t1)
    }
}

impl Solids {
    fn eight_meets(&self, ray: &Eight, kind: Kind, i: usize) -> (f32x8, OwnerIx) {
        match kind {
            Kind::Panel => (ray.panel(&self.panels[i]), self.panels[i].owner),
            Kind::Box => (ray.boxed(&self.boxes[i]), self.boxes[i].owner),
            Kind::Cylinder => (ray.cylinder(&self.cylinders[i]), self.cylinders[i].owner),
            Kind::Ellipsoid => (ray.ellipsoid(&self.ellipsoids[i]), self.ellipsoids[i].owner),
            Kind::Sheet => (ray.sheet(&self.sheets[i]), self.sheets[i].owner),
            Kind::Cap => {
                let cap = &self.caps[i];
                let splat = f32x8::splat;
                let t = splat(cap.z - ray.from.z) / ray.z;
                let (x, y) = (splat(ray.from.x) + ray.x * t, splat(ray.from.y) + ray.y * t);
                let near = t.simd_gt(splat(EPS))
                    & t.simd_lt(splat(1.0 - EPS))
                    & x.simd_ge(splat(cap.low.x))
                    & x.simd_le(splat(cap.high.x))
                    & y.simd_ge(splat(cap.low.y))
                    & y.simd_le(splat(cap.high.y));
                let mut left = near.to_bitmask();
                if left == 0 {
                    return (splat(FAR), cap.owner);
                }
                let (t, x, y) = (t.to_array(), x.to_array(), y.to_array());
                let mut met = [FAR; 8];
                while left != 0 {
                    let k = left.trailing_zeros() as usize;
                    left &= left - 1;
                    if cap.holds(Vec2::new(x[k], y[k])) {
                        met[k] = t[k];
                    }
                }
                (f32x8::from(met), cap.owner)
            }
        }
    }

    /// The first thing each of eight lines meets of what [`Solids::in_the_way`] found, taken together with what
    /// is already known.
    pub fn first_hits(&self, few: &Few, ray: &Eight, skip: OwnerIx, known: &mut EightHits) {
        let mut best = f32x8::from(known.t);
        self.each_of(few, ray, |kind, i| {
            let (t, owner) = self.eight_meets(ray, kind, i);
            if owner == skip {
                return true;
            }
            let mut nearer = t.simd_lt(best).to_bitmask();
            best = best.fast_min(t);
            while nearer != 0 {
                known.owner[nearer.trailing_zeros() as usize] = owner;
                nearer &= nearer - 1;
            }
            true
        });
        known.t = best.to_array();
    }

    /// One bit for each of eight lines that something of `few` stands in.
    #[must_use]
    pub fn eight_blocked(&self, few: &Few, ray: &Eight, skip: OwnerIx) -> u32 {
        if few.is_all() && ray.tube().1 > NARROW_M {
            // Line by line each ends at the first thing it meets; four lines told twice are asked once.
            let (x, y, z) = (ray.x.to_array(), ray.y.to_array(), ray.z.to_array());
            let line = |k: usize| Vec3::new(x[k], y[k], z[k]);
            let twice = (0..4).all(|k| line(k) == line(k + 4));
            let met = |k: &usize| self.blocked(ray.from, ray.from + line(*k), skip);
            let bits = (0..if twice { 4 } else { 8 }).filter(met).fold(0, |bits, k| bits | 1 << k);
            return if twice { bits | bits << 4 } else { bits };
        }
        let mut blocked = 0;
        self.each_of(few, ray, |kind, i| {
            blocked |= self.eight_stopped(ray, kind, i, skip);
            blocked != 0xff
        });
        blocked
    }

    /// One bit for each of eight lines that a thing stands in.
    pub(super) fn eight_stopped(&self, ray: &Eight, kind: Kind, i: usize, skip: OwnerIx) -> u32 {
        let (t, owner) = self.eight_meets(ray, kind, i);
        if owner == skip { 0 } else { t.simd_lt(f32x8::splat(FAR)).to_bitmask() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Owner;
    use glam::{DVec2, DVec3};
    use proptest::prelude::*;

    proptest! {
        /// Eight at a time say what one at a time says.
        #[test]
        fn eight_lines_agree_with_one(
            c in prop::array::uniform3(-2.0..2.0f64),
            turn in 0.0..6.0f64,
            half in prop::array::uniform3(0.1..1.0f64),
            from in prop::array::uniform3(-4.0..4.0f32),
            to in prop::array::uniform24(-4.0..4.0f32),
        ) {
            let (at, axis) = (DVec2::new(c[0], c[1]), DVec2::from_angle(turn));
            let mut s = Solids::default();
            let a = s.owner(Owner::Piece("a".into()));
            s.add_box(at, axis, [half[0] * 2.0, half[1]], [c[2] - half[2], c[2] + half[2]], a);
            let b = s.owner(Owner::Piece("b".into()));
            s.add_cylinder(at + DVec2::X, axis, [half[0], half[1]], [c[2] - half[2], c[2] + half[2]], b);
            let e = s.owner(Owner::Piece("e".into()));
            s.add_ellipsoid(DVec3::new(c[0] - 1.0, c[1], c[2]), axis, DVec3::from_array(half), e);
            let w = s.owner(Owner::Wall);
            s.add_panel(at - axis, at + axis, [c[2] - 1.0, c[2] + 0.5], w);
            let q = s.owner(Owner::Piece("q".into()));
            s.add_prism(&[at, at + DVec2::new(1.0, 0.2), at + DVec2::new(0.1, 0.9)], [0.2, 1.2], q);
            let l = s.owner(Owner::Piece("l".into()));
            s.add_sheet(DVec3::new(c[1], c[0], 1.0), axis.extend(0.0) * half[0], (axis.perp() * half[1]).extend(half[2]), l);
            let from = Vec3::from_array(from);
            let few = s.in_the_way(from, Vec3::ZERO, 20.0, a);
            let lane = |k: usize| f32x8::from(std::array::from_fn::<f32, 8, _>(|i| to[3 * i + k]));
            let ray = Eight::to(from, [lane(0), lane(1), lane(2)]);
            let mut hits = EightHits::NONE;
            s.first_hits(&few, &ray, a, &mut hits);
            let blocked = s.eight_blocked(&few, &ray, a);
            for i in 0..8 {
                let q = Vec3::new(to[3 * i], to[3 * i + 1], to[3 * i + 2]);
                let one = s.first_hit(from, q, a);
                prop_assert_eq!(one.is_some(), hits.t[i] <= 1.0);
                prop_assert_eq!(one.is_some(), blocked >> i & 1 == 1);
                if let Some(h) = one {
                    prop_assert!((h.t - hits.t[i]).abs() < 1e-3, "{} {}", h.t, hits.t[i]);
                }
            }
        }
    }
}
