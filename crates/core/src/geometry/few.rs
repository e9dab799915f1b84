//! What stands in the way of many lines that run close together.

use super::eights::Eight;
use super::lanes::LANES;
use super::ray::Ray;
use super::shapes::{BoxSolid, Cylinder};
use super::solids::{Kind, OwnerIx, Solids};
use glam::{Vec2, Vec3};

/// Most things held by [`Few`]; with more, all are asked.
const FEW: usize = 48;

/// What may stand in the way of many lines that run close together.
#[derive(Debug, Clone)]
pub struct Few {
    list: [(Kind, u32); FEW],
    len: usize,
    all: bool,
}

impl Few {
    const NONE: Few = Few { list: [(Kind::Panel, 0); FEW], len: 0, all: false };
    /// Everything: where looking for what is in the way would take longer than asking each line by itself.
    pub const ALL: Few = Few { all: true, ..Few::NONE };

    fn push(&mut self, kind: Kind, i: usize) {
        match self.list.get_mut(self.len) {
            Some(place) => {
                *place = (kind, i as u32);
                self.len += 1;
            }
            None => self.all = true,
        }
    }
    pub(super) fn is_all(&self) -> bool {
        self.all
    }
    /// Whether nothing stands in the way.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len == 0 && !self.all
    }
}

impl Solids {
    /// What may stand between a point and anything within `radius` of another, but for `skip`.
    #[must_use]
    pub fn in_the_way(&self, from: Vec3, to: Vec3, radius: f32, skip: OwnerIx) -> Few {
        let mut few = Few::NONE;
        self.each_about(&Ray { p: from, r: to - from }, radius, skip, true, |kind, i| {
            few.push(kind, i as usize);
            // With too many all are asked, whatever else there is.
            few.all
        });
        few
    }

    /// Of what may stand in the way of many lines, what may stand in the way of a narrower bundle of them.
    fn narrowed(&self, few: &Few, from: Vec3, to: Vec3, radius: f32, skip: OwnerIx) -> Few {
        if few.all {
            return self.in_the_way(from, to, radius, skip);
        }
        let mut out = Few::NONE;
        let ray = Ray { p: from, r: to - from };
        let (low, high) = (from.min(to) - radius, from.max(to) + radius);
        let limit = radius * radius * ray.r.truncate().length_squared();
        for (kind, i) in &few.list[..few.len] {
            let n = *i as usize;
            let near = match kind {
                Kind::Panel => self.panels[n].owner != skip && ray.passes(&self.panels[n], low, high, limit),
                Kind::Box => self.boxes[n].owner != skip && ray.boxed_whole(&self.boxes[n].grown(radius)),
                Kind::Cylinder => {
                    self.cylinders[n].owner != skip && ray.cylinder_whole(&self.cylinders[n].grown(radius))
                }
                Kind::Ellipsoid => self.ellipsoids[n].owner != skip && ray.ellipsoid_near(&self.ellipsoids[n], radius),
                Kind::Cap => (low.z..=high.z).contains(&self.caps[n].z),
                Kind::Sheet => self.sheets[n].owner != skip,
            };
            if near {
                out.push(*kind, n);
            }
        }
        out
    }

    /// What was found, each with all that lies within `by` of it on the level: what a shift of so much at most brings
    /// into a line. None where that has no simple shape.
    #[must_use]
    pub fn widened(&self, few: &Few, by: f32) -> Option<Solids> {
        // An ellipse with longer half-axes lies a little within the ellipse and all that is near it.
        const ROUND: f32 = 1.06;
        if few.all {
            return None;
        }
        let mut out = Solids::default();
        let add_cylinder = |centre: Vec2, axis: Vec2, half: Vec2, z: [f32; 2], owner: OwnerIx, out: &mut Solids| {
            let z = z.map(f64::from);
            let half = (half + by * ROUND).as_dvec2().to_array();
            out.add_cylinder(centre.as_dvec2(), axis.as_dvec2(), half, z, owner);
        };
        for (kind, i) in &few.list[..few.len] {
            let n = *i as usize;
            match kind {
                Kind::Panel => {
                    let p = &self.panels[n];
                    let axis = p.d.normalize_or(Vec2::X);
                    let size = [p.d.length() + 2.0 * by, 2.0 * by].map(f64::from);
                    let z = [p.z0, p.z1].map(f64::from);
                    out.add_box((p.a + p.d * 0.5).as_dvec2(), axis.as_dvec2(), size, z, p.owner);
                }
                Kind::Box => {
                    let BoxSolid { centre, axis, half, owner } = self.boxes[n];
                    let size = [half.x, half.y].map(|h| f64::from(2.0 * (h + by)));
                    let z = [centre.z - half.z, centre.z + half.z].map(f64::from);
                    out.add_box(centre.truncate().as_dvec2(), axis.as_dvec2(), size, z, owner);
                }
                Kind::Cylinder => {
                    let Cylinder { centre, axis, inv_half, z0, z1, owner } = self.cylinders[n];
                    add_cylinder(centre, axis, inv_half.recip(), [z0, z1], owner, &mut out);
                }
                Kind::Ellipsoid => {
                    let e = &self.ellipsoids[n];
                    let half = e.inv_half.recip();
                    let z = [e.centre.z - half.z, e.centre.z + half.z];
                    add_cylinder(e.centre.truncate(), e.axis, half.truncate(), z, e.owner, &mut out);
                }
                Kind::Cap | Kind::Sheet => return None,
            }
        }
        Some(out)
    }

    /// As [`Solids::in_the_way`], of what is known to stand in the way of a wider bundle, where that is.
    #[must_use]
    pub fn in_the_way_of(&self, known: Option<&Few>, from: Vec3, to: Vec3, radius: f32, skip: OwnerIx) -> Few {
        match known {
            Some(few) => self.narrowed(few, from, to, radius, skip),
            None => self.in_the_way(from, to, radius, skip),
        }
    }

    /// As [`Solids::blocked`], asking only what [`Solids::in_the_way`] found.
    #[must_use]
    pub fn blocked_by(&self, few: &Few, p: Vec3, q: Vec3, skip: OwnerIx) -> bool {
        if few.all {
            return self.blocked(p, q, skip);
        }
        let ray = Ray { p, r: q - p };
        few.list[..few.len].iter().any(|thing| self.met(*thing, &ray, skip).is_some())
    }

    /// Whether one of them alone stands between every one of some points and every one of others, and with
    /// them, the shadow of a convex thing being convex, between all that lies between the points.
    #[must_use]
    pub fn hides(&self, few: &Few, from: &[Vec3], to: &[Vec3], skip: OwnerIx) -> bool {
        let convex = |kind: Kind| !matches!(kind, Kind::Cap);
        !few.all
            && few.list[..few.len].iter().any(|t| {
                convex(t.0)
                    && from.iter().all(|p| to.iter().all(|q| self.met(*t, &Ray { p: *p, r: *q - *p }, skip).is_some()))
            })
    }

    /// Asks about each of what [`Solids::in_the_way`] found, where that is everything of what lies about eight lines, as
    /// long as it is told to go on.
    pub(super) fn each_of(&self, few: &Few, lines: &Eight, mut ask: impl FnMut(Kind, usize) -> bool) {
        if few.all {
            let (ray, radius) = lines.tube();
            self.each_about(&ray, radius, OwnerIx::NONE, false, |kind, i| !ask(kind, i as usize));
            return;
        }
        for (kind, i) in &few.list[..few.len] {
            if !ask(*kind, *i as usize) {
                return;
            }
        }
    }

    /// Calls for each thing that may come within `radius` of a segment, panels and caps too, until told to stop; those
    /// whose sphere or box does are looked at more `closely` first.
    fn each_about(&self, ray: &Ray, radius: f32, skip: OwnerIx, closely: bool, mut ask: impl FnMut(Kind, u32) -> bool) {
        let to = ray.p + ray.r;
        let (low, high) = (ray.p.min(to) - radius, ray.p.max(to) + radius);
        let flat2 = ray.r.truncate().length_squared();
        for (group, lanes) in self.lanes.iter().enumerate() {
            let mut near = lanes.near(ray, low, high, radius, flat2, skip);
            while near != 0 {
                let i = self.treed_panels + group * LANES + near.trailing_zeros() as usize;
                near &= near - 1;
                if i < self.panels.len() && ask(Kind::Panel, i as u32) {
                    return;
                }
            }
        }
        let limit = radius * radius * flat2;
        let stopped = self.each_near(ray, radius, |(kind, i)| {
            // A sphere round a table or a tall person is far wider than they are.
            let near = match kind {
                _ if !closely => true,
                Kind::Box => ray.boxed_whole(&self.boxes[i as usize].grown(radius)),
                Kind::Cylinder => ray.cylinder_whole(&self.cylinders[i as usize].grown(radius)),
                Kind::Panel => {
                    let panel = &self.panels[i as usize];
                    panel.owner != skip && ray.passes(panel, low, high, limit)
                }
                _ => true,
            };
            near && ask(kind, i)
        });
        if stopped {
            return;
        }
        for (i, x) in self.caps.iter().enumerate() {
            if x.owner != skip && (low.z..=high.z).contains(&x.z) && ask(Kind::Cap, i as u32) {
                return;
            }
        }
    }
}
