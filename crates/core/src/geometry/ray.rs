//! Where a segment meets each kind of solid.

use super::shapes::{BoxSolid, Cap, Cylinder, Ellipsoid, Panel, Sheet};
use glam::{Vec2, Vec3};

/// Ends of a segment touch what they stand on; hits nearer than this share are not hits.
pub(super) const EPS: f32 = 1e-4;

/// A segment from `p` to `p + r`.
pub(super) struct Ray {
    pub p: Vec3,
    pub r: Vec3,
}

fn within(t0: f32, t1: f32) -> Option<f32> {
    let (low, high) = (t0.max(EPS), t1.min(1.0 - EPS));
    (low < high).then_some(low)
}

impl Ray {
    #[inline]
    pub fn panel(&self, x: &Panel) -> Option<f32> {
        let r = self.r.truncate();
        let denominator = r.perp_dot(x.d);
        let to = x.a - self.p.truncate();
        let t = to.perp_dot(x.d) / denominator;
        let s = to.perp_dot(r) / denominator;
        let z = self.p.z + t * self.r.z;
        // A parallel ray gives NaN or infinity, and fails every comparison.
        (t > EPS && t < 1.0 - EPS && (0.0..=1.0).contains(&s) && z >= x.z0 && z <= x.z1).then_some(t)
    }

    /// Whether any of the segment, ends and all, lies in a box.
    #[inline]
    pub fn boxed_whole(&self, x: &BoxSolid) -> bool {
        self.box_span(x).is_some_and(|(t0, t1)| t0 <= 1.0 && t1 >= 0.0)
    }

    /// Whether any of the segment, ends and all, lies in a cylinder.
    #[inline]
    pub fn cylinder_whole(&self, x: &Cylinder) -> bool {
        self.cylinder_span(x).is_some_and(|(t0, t1)| t0 <= 1.0 && t1 >= 0.0)
    }

    /// Whether the segment may come within a distance of an ellipsoid: by the sphere round it.
    #[inline]
    pub fn ellipsoid_near(&self, x: &Ellipsoid, radius: f32) -> bool {
        let t = ((x.centre - self.p).dot(self.r) / self.r.length_squared().max(1e-12)).clamp(0.0, 1.0);
        let reach = x.inv_half.min_element().recip() * 1.0001 + 1e-5 + radius;
        (self.p + self.r * t).distance_squared(x.centre) < reach * reach
    }

    /// As [`Lanes::near`], for one panel; `limit` is the squared distance times the squared length on the plan.
    #[inline]
    pub fn passes(&self, x: &Panel, low: Vec3, high: Vec3, limit: f32) -> bool {
        let (a, b) = (x.a, x.a + x.d);
        let (sa, sb) =
            (self.r.truncate().perp_dot(a - self.p.truncate()), self.r.truncate().perp_dot(b - self.p.truncate()));
        let aside = sa * sb > 0.0 && (sa * sa).min(sb * sb) > limit;
        !aside
            && a.x.min(b.x) <= high.x
            && a.x.max(b.x) >= low.x
            && a.y.min(b.y) <= high.y
            && a.y.max(b.y) >= low.y
            && x.z0 <= high.z
            && x.z1 >= low.z
    }

    #[inline]
    pub fn boxed(&self, x: &BoxSolid) -> Option<f32> {
        let (t0, t1) = self.box_span(x)?;
        within(t0, t1)
    }

    #[inline]
    pub fn cylinder(&self, x: &Cylinder) -> Option<f32> {
        let (t0, t1) = self.cylinder_span(x)?;
        within(t0, t1)
    }

    /// Where the line enters and leaves a box.
    #[inline]
    pub fn box_span(&self, x: &BoxSolid) -> Option<(f32, f32)> {
        let local = |v: Vec3| Vec3::new(v.x * x.axis.x + v.y * x.axis.y, v.y * x.axis.x - v.x * x.axis.y, v.z);
        let (o, d) = (local(self.p - x.centre), local(self.r));
        let (mut t0, mut t1) = (f32::NEG_INFINITY, f32::INFINITY);
        for k in 0..3 {
            if d[k].abs() < 1e-12 {
                if o[k].abs() > x.half[k] {
                    return None;
                }
            } else {
                let (u, v) = ((-x.half[k] - o[k]) / d[k], (x.half[k] - o[k]) / d[k]);
                t0 = t0.max(u.min(v));
                t1 = t1.min(u.max(v));
            }
        }
        (t0 <= t1).then_some((t0, t1))
    }

    /// Where the line enters and leaves a cylinder.
    #[inline]
    pub fn cylinder_span(&self, x: &Cylinder) -> Option<(f32, f32)> {
        let local = |v: Vec2| Vec2::new(v.dot(x.axis), x.axis.perp_dot(v)) * x.inv_half;
        let (o, d) = (local(self.p.truncate() - x.centre), local(self.r.truncate()));
        let (mut t0, mut t1) = unit_roots(o.length_squared(), o.dot(d), d.length_squared())?;
        if self.r.z.abs() < 1e-12 {
            if self.p.z < x.z0 || self.p.z > x.z1 {
                return None;
            }
        } else {
            let (u, v) = ((x.z0 - self.p.z) / self.r.z, (x.z1 - self.p.z) / self.r.z);
            t0 = t0.max(u.min(v));
            t1 = t1.min(u.max(v));
        }
        (t0 <= t1).then_some((t0, t1))
    }

    #[inline]
    pub fn ellipsoid(&self, x: &Ellipsoid) -> Option<f32> {
        let local =
            |v: Vec3| Vec3::new(v.x * x.axis.x + v.y * x.axis.y, v.y * x.axis.x - v.x * x.axis.y, v.z) * x.inv_half;
        let (o, d) = (local(self.p - x.centre), local(self.r));
        let (t0, t1) = unit_roots(o.length_squared(), o.dot(d), d.length_squared())?;
        within(t0, t1)
    }

    #[inline]
    pub fn sheet(&self, x: &Sheet) -> Option<f32> {
        let v = x.centre - self.p;
        let t = x.normal.dot(v) / x.normal.dot(self.r);
        let at = self.r * t - v;
        // A parallel ray gives NaN or infinity, and fails every comparison.
        (t > EPS && t < 1.0 - EPS && x.places.iter().all(|p| p.dot(at).abs() <= 1.0)).then_some(t)
    }

    pub fn cap(&self, x: &Cap) -> Option<f32> {
        let t = (x.z - self.p.z) / self.r.z;
        if !(t > EPS && t < 1.0 - EPS) {
            return None;
        }
        x.holds((self.p + self.r * t).truncate()).then_some(t)
    }
}

/// Where |o + t d| = 1: entering and leaving parameter. `oo`, `od`, `dd` are the dot products.
#[inline]
pub(crate) fn unit_roots(oo: f32, od: f32, dd: f32) -> Option<(f32, f32)> {
    if dd < 1e-20 {
        return (oo <= 1.0).then_some((f32::NEG_INFINITY, f32::INFINITY));
    }
    let discriminant = od * od - dd * (oo - 1.0);
    if discriminant <= 0.0 {
        return None;
    }
    let root = discriminant.sqrt();
    Some(((-od - root) / dd, (-od + root) / dd))
}
