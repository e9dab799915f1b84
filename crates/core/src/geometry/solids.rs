//! Everything that stands in the way, in `f32` for speed, and the questions of one line at a time.

use super::lanes::{LANES, Lanes, Spheres};
use super::ray::Ray;
use super::shapes::{BoxSolid, Cap, Cylinder, Ellipsoid, Panel, Sheet};
use crate::plan::{OpeningId, PersonId, PieceId};
use glam::{DVec2, Vec2, Vec3};

/// Whose surface it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Owner {
    /// A wall.
    Wall,
    /// A door leaf.
    Door(OpeningId),
    /// Furniture, dressing, drape or flag.
    Piece(PieceId),
    /// A person.
    Person(PersonId),
}

/// Place of an owner in [`Solids::owners`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct OwnerIx(pub u32);

impl OwnerIx {
    /// Nobody: skips nothing.
    pub const NONE: OwnerIx = OwnerIx(u32::MAX);
}

/// The first thing a segment meets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Whose.
    pub owner: OwnerIx,
    /// Share of the way along the segment, 0–1.
    pub t: f32,
}

/// Everything that blocks sight and light.
#[derive(Debug, Clone, Default)]
pub struct Solids {
    /// Owners, by [`OwnerIx`].
    pub owners: Vec<Owner>,
    pub(super) panels: Vec<Panel>,
    pub(super) lanes: Vec<Lanes>,
    /// Boxes, cylinders and ellipsoids in the order of their spheres.
    things: Vec<(Kind, u32)>,
    spheres: Vec<Spheres>,
    /// A sphere round each eight of the first spheres, eight by eight: many things are passed over at once.
    outer: Vec<Spheres>,
    /// How many of the spheres they are round.
    covered: usize,
    pub(super) boxes: Vec<BoxSolid>,
    pub(super) cylinders: Vec<Cylinder>,
    pub(super) ellipsoids: Vec<Ellipsoid>,
    pub(super) caps: Vec<Cap>,
    pub(super) sheets: Vec<Sheet>,
}

#[derive(Debug, Clone, Copy)]
pub(super) enum Kind {
    Panel,
    Box,
    Cylinder,
    Ellipsoid,
    Cap,
    Sheet,
}

/// From this many things on they are gathered by place.
const MANY: usize = 64;

/// A number that lies near another's where the places lie near each other (Morton 1966), by quarter metres.
fn near_in_order(p: Vec2) -> u64 {
    let spread = |v: f32| {
        let mut x = u64::from((v * 4.0).clamp(0.0, 65_535.0) as u32);
        x = (x | x << 16) & 0x0000_ffff_0000_ffff;
        x = (x | x << 8) & 0x00ff_00ff_00ff_00ff;
        x = (x | x << 4) & 0x0f0f_0f0f_0f0f_0f0f;
        x = (x | x << 2) & 0x3333_3333_3333_3333;
        (x | x << 1) & 0x5555_5555_5555_5555
    };
    spread(p.x) | spread(p.y) << 1
}

impl Solids {
    /// Adds an owner.
    pub fn owner(&mut self, owner: Owner) -> OwnerIx {
        self.owners.push(owner);
        OwnerIx(self.owners.len() as u32 - 1)
    }
    /// The owner at a place.
    #[must_use]
    pub fn owner_of(&self, ix: OwnerIx) -> Option<&Owner> {
        self.owners.get(ix.0 as usize)
    }
    /// Where an owner is; nobody's place when it is not among them.
    #[must_use]
    pub fn owner_ix(&self, owner: &Owner) -> OwnerIx {
        self.owners.iter().position(|o| o == owner).map_or(OwnerIx::NONE, |i| OwnerIx(i as u32))
    }
    /// Number of primitives.
    #[must_use]
    pub fn len(&self) -> usize {
        self.panels.len()
            + self.boxes.len()
            + self.cylinders.len()
            + self.ellipsoids.len()
            + self.caps.len()
            + self.sheets.len()
    }
    /// Whether nothing stands here.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Puts the largest panels first, where they end most questions soonest, and where many things stand those
    /// that stand together side by side.
    pub fn settle(&mut self) {
        self.gather_things();
        let mut list = std::mem::take(&mut self.panels);
        let area = |x: &Panel| x.d.length() * (x.z1 - x.z0);
        list.sort_by(|a, b| area(b).total_cmp(&area(a)));
        self.lanes.clear();
        for panel in list {
            self.lane(&panel);
            self.panels.push(panel);
        }
    }

    fn gather_things(&mut self) {
        if self.things.len() < MANY {
            return;
        }
        let list = std::mem::take(&mut self.things);
        let spheres = std::mem::take(&mut self.spheres);
        let at = |n: usize| {
            let s = &spheres[n / LANES];
            let k = n % LANES;
            (Vec3::new(s.x[k], s.y[k], s.z[k]), s.r[k])
        };
        let low = (0..list.len()).map(|n| at(n).0).fold(Vec3::INFINITY, Vec3::min);
        let mut order: Vec<usize> = (0..list.len()).filter(|n| at(*n).1 > 0.0).collect();
        order.sort_by_cached_key(|n| near_in_order((at(*n).0 - low).truncate()));
        for n in order {
            let (middle, radius) = at(n);
            self.bound(list[n].0, list[n].1 as usize, middle, radius);
        }
        // What comes later begins an eight of its own.
        while !self.things.len().is_multiple_of(LANES) {
            self.things.push((Kind::Box, u32::MAX));
        }
        self.outer.clear();
        self.covered = self.spheres.len();
        for (g, s) in self.spheres.iter().enumerate() {
            let real = (0..LANES).filter(|k| s.r[*k] > 0.0);
            let point = |k: usize| Vec3::new(s.x[k], s.y[k], s.z[k]);
            let (low, high) = real.clone().fold((Vec3::INFINITY, Vec3::NEG_INFINITY), |(a, b), k| {
                (a.min(point(k) - s.r[k]), b.max(point(k) + s.r[k]))
            });
            let middle = (low + high) * 0.5;
            let radius = real.map(|k| point(k).distance(middle) + s.r[k]).fold(0.0, f32::max);
            if g % LANES == 0 {
                self.outer.push(Spheres::EMPTY);
            }
            if let Some(o) = self.outer.last_mut() {
                let k = g % LANES;
                (o.x[k], o.y[k], o.z[k], o.r[k]) = (middle.x, middle.y, middle.z, radius * 1.0001 + 1e-5);
            }
        }
    }

    /// Calls for each thing whose sphere comes within `radius` of a segment, until told to stop.
    #[inline]
    pub(super) fn each_near(&self, ray: &Ray, radius: f32, mut ask: impl FnMut((Kind, u32)) -> bool) -> bool {
        let inverse = 1.0 / ray.r.length_squared().max(1e-12);
        let mut group = |g: usize| {
            let mut near = self.spheres[g].near(ray, inverse, radius);
            while near != 0 {
                let k = g * LANES + near.trailing_zeros() as usize;
                near &= near - 1;
                if ask(self.things[k]) {
                    return true;
                }
            }
            false
        };
        for (n, outer) in self.outer.iter().enumerate() {
            let mut near = outer.near(ray, inverse, radius);
            while near != 0 {
                let g = n * LANES + near.trailing_zeros() as usize;
                near &= near - 1;
                if group(g) {
                    return true;
                }
            }
        }
        let covered = if self.outer.is_empty() { 0 } else { self.covered };
        (covered..self.spheres.len()).any(group)
    }

    fn lane(&mut self, panel: &Panel) {
        let k = self.panels.len() % LANES;
        if k == 0 {
            self.lanes.push(Lanes::EMPTY);
        }
        if let Some(lanes) = self.lanes.last_mut() {
            (lanes.ax[k], lanes.ay[k]) = (panel.a.x, panel.a.y);
            (lanes.dx[k], lanes.dy[k]) = (panel.d.x, panel.d.y);
            (lanes.z0[k], lanes.z1[k]) = (panel.z0, panel.z1);
            lanes.owner[k] = panel.owner.0;
        }
    }

    fn bound(&mut self, kind: Kind, i: usize, middle: Vec3, radius: f32) {
        let k = self.things.len() % LANES;
        if k == 0 {
            self.spheres.push(Spheres::EMPTY);
        }
        if let Some(s) = self.spheres.last_mut() {
            // A hair wider, so that rounding never loses a touch.
            (s.x[k], s.y[k], s.z[k], s.r[k]) = (middle.x, middle.y, middle.z, radius * 1.0001 + 1e-5);
        }
        self.things.push((kind, i as u32));
    }

    /// Those that reach into an upright box on the plan, for lines that stay in it. Owners keep their places; the
    /// list of them stays behind.
    #[must_use]
    pub fn within(&self, low: DVec2, high: DVec2) -> Solids {
        let (low, high) = (low.as_vec2(), high.as_vec2());
        let near = |at: Vec2, reach: f32| (at + reach).cmpge(low).all() && (at - reach).cmple(high).all();
        let mut out = Solids::default();
        let panels = self.panels.iter().filter(|p| {
            let (a, b) = (p.a.min(p.a + p.d), p.a.max(p.a + p.d));
            b.cmpge(low).all() && a.cmple(high).all()
        });
        for panel in panels {
            out.lane(panel);
            out.panels.push(*panel);
        }
        for (n, (kind, i)) in self.things.iter().enumerate() {
            let (s, k, i) = (&self.spheres[n / LANES], n % LANES, *i as usize);
            if s.r[k] <= 0.0 || !near(Vec2::new(s.x[k], s.y[k]), s.r[k]) {
                continue;
            }
            let middle = Vec3::new(s.x[k], s.y[k], s.z[k]);
            match kind {
                Kind::Box => {
                    out.bound(Kind::Box, out.boxes.len(), middle, s.r[k]);
                    out.boxes.push(self.boxes[i]);
                }
                Kind::Cylinder => {
                    out.bound(Kind::Cylinder, out.cylinders.len(), middle, s.r[k]);
                    out.cylinders.push(self.cylinders[i]);
                }
                Kind::Ellipsoid => {
                    out.bound(Kind::Ellipsoid, out.ellipsoids.len(), middle, s.r[k]);
                    out.ellipsoids.push(self.ellipsoids[i]);
                }
                Kind::Sheet => {
                    out.bound(Kind::Sheet, out.sheets.len(), middle, s.r[k]);
                    out.sheets.push(self.sheets[i]);
                }
                Kind::Panel | Kind::Cap => {}
            }
        }
        out.caps.clone_from(&self.caps);
        out
    }

    /// Adds an upright rectangle.
    pub fn add_panel(&mut self, a: DVec2, b: DVec2, z: [f64; 2], owner: OwnerIx) {
        let panel = Panel { a: a.as_vec2(), d: (b - a).as_vec2(), z0: z[0] as f32, z1: z[1] as f32, owner };
        self.lane(&panel);
        self.panels.push(panel);
    }
    /// Adds a box: centre, unit vector along its width, width, depth, and height range.
    pub fn add_box(&mut self, centre: DVec2, axis: DVec2, size: [f64; 2], z: [f64; 2], owner: OwnerIx) {
        let half = Vec3::new(size[0] as f32, size[1] as f32, (z[1] - z[0]) as f32) * 0.5;
        let middle = centre.extend((z[0] + z[1]) * 0.5).as_vec3();
        self.bound(Kind::Box, self.boxes.len(), middle, half.length());
        self.boxes.push(BoxSolid { centre: middle, axis: axis.as_vec2(), half, owner });
    }
    /// Adds an upright cylinder: centre, unit vector along its first half-axis, half-axes, height range.
    pub fn add_cylinder(&mut self, centre: DVec2, axis: DVec2, half: [f64; 2], z: [f64; 2], owner: OwnerIx) {
        let middle = centre.extend((z[0] + z[1]) * 0.5).as_vec3();
        let reach = half[0].max(half[1]).hypot((z[1] - z[0]) * 0.5) as f32;
        self.bound(Kind::Cylinder, self.cylinders.len(), middle, reach);
        self.cylinders.push(Cylinder {
            centre: centre.as_vec2(),
            axis: axis.as_vec2(),
            inv_half: Vec2::new(1.0 / half[0] as f32, 1.0 / half[1] as f32),
            z0: z[0] as f32,
            z1: z[1] as f32,
            owner,
        });
    }
    /// Adds an ellipsoid: centre, unit vector along its first half-axis, half-axes.
    pub fn add_ellipsoid(&mut self, centre: glam::DVec3, axis: DVec2, half: glam::DVec3, owner: OwnerIx) {
        self.bound(Kind::Ellipsoid, self.ellipsoids.len(), centre.as_vec3(), half.max_element() as f32);
        self.ellipsoids.push(Ellipsoid {
            centre: centre.as_vec3(),
            axis: axis.as_vec2(),
            inv_half: half.recip().as_vec3(),
            owner,
        });
    }
    /// Adds a flat rectangle: middle, and the vectors from it to the middles of two neighbouring sides.
    pub fn add_sheet(&mut self, middle: glam::DVec3, across: glam::DVec3, up: glam::DVec3, owner: OwnerIx) {
        let centre = middle.as_vec3();
        self.bound(
            Kind::Sheet,
            self.sheets.len(),
            centre,
            (across.length_squared() + up.length_squared()).sqrt() as f32,
        );
        let places = [across, up].map(|v| (v / v.length_squared().max(1e-12)).as_vec3());
        self.sheets.push(Sheet { centre, normal: across.cross(up).normalize_or_zero().as_vec3(), places, owner });
    }
    /// Adds a prism on any simple polygon.
    pub fn add_prism(&mut self, points: &[DVec2], z: [f64; 2], owner: OwnerIx) {
        for i in 0..points.len() {
            self.add_panel(points[i], points[(i + 1) % points.len()], z, owner);
        }
        for level in z {
            if level > 0.0 {
                self.caps.push(Cap { points: points.to_vec(), z: level as f32, owner });
            }
        }
    }

    /// Whether anything but `skip` stands between two points.
    #[must_use]
    pub fn blocked(&self, p: Vec3, q: Vec3, skip: OwnerIx) -> bool {
        let ray = Ray { p, r: q - p };
        if self.lanes.iter().any(|x| x.any(&ray, skip)) {
            return true;
        }
        if self.each_near(&ray, 0.0, |thing| self.met(thing, &ray, skip).is_some()) {
            return true;
        }
        self.caps.iter().any(|x| x.owner != skip && ray.cap(x).is_some())
    }

    /// Where a ray meets one thing, unless it is of `skip`.
    pub(super) fn met(&self, (kind, i): (Kind, u32), ray: &Ray, skip: OwnerIx) -> Option<Hit> {
        let i = i as usize;
        let (t, owner) = match kind {
            Kind::Panel => (ray.panel(&self.panels[i]), self.panels[i].owner),
            Kind::Box => (ray.boxed(&self.boxes[i]), self.boxes[i].owner),
            Kind::Cylinder => (ray.cylinder(&self.cylinders[i]), self.cylinders[i].owner),
            Kind::Ellipsoid => (ray.ellipsoid(&self.ellipsoids[i]), self.ellipsoids[i].owner),
            Kind::Cap => (ray.cap(&self.caps[i]), self.caps[i].owner),
            Kind::Sheet => (ray.sheet(&self.sheets[i]), self.sheets[i].owner),
        };
        t.filter(|_| owner != skip).map(|t| Hit { owner, t })
    }

    /// The first thing but `skip` between two points.
    #[must_use]
    pub fn first_hit(&self, p: Vec3, q: Vec3, skip: OwnerIx) -> Option<Hit> {
        let ray = Ray { p, r: q - p };
        let mut best: Option<Hit> = None;
        let mut ask = |kind: Kind, i: usize| {
            let hit = self.met((kind, i as u32), &ray, skip);
            best = hit.filter(|h| best.is_none_or(|b| h.t < b.t)).or(best);
        };
        for (group, lanes) in self.lanes.iter().enumerate() {
            if lanes.any(&ray, skip) {
                let panels = group * LANES..((group + 1) * LANES).min(self.panels.len());
                panels.for_each(|i| ask(Kind::Panel, i));
            }
        }
        self.each_near(&ray, 0.0, |(kind, i)| {
            ask(kind, i as usize);
            false
        });
        (0..self.caps.len()).for_each(|i| ask(Kind::Cap, i));
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec3;

    fn v(x: f32, y: f32, z: f32) -> Vec3 {
        Vec3::new(x, y, z)
    }

    #[test]
    fn each_primitive_blocks_and_clears() {
        let mut s = Solids::default();
        let wall = s.owner(Owner::Wall);
        s.add_panel(DVec2::new(1.0, -1.0), DVec2::new(1.0, 1.0), [0.0, 2.0], wall);
        let table = s.owner(Owner::Piece("t".into()));
        s.add_box(DVec2::new(3.0, 0.0), DVec2::X, [1.0, 1.0], [0.0, 1.0], table);
        let post = s.owner(Owner::Piece("p".into()));
        s.add_cylinder(DVec2::new(5.0, 0.0), DVec2::X, [0.5, 0.5], [0.0, 1.0], post);
        let ball = s.owner(Owner::Piece("b".into()));
        s.add_ellipsoid(DVec3::new(7.0, 0.0, 0.5), DVec2::X, DVec3::splat(0.5), ball);
        let tri = s.owner(Owner::Piece("q".into()));
        s.add_prism(&[DVec2::new(9.0, -1.0), DVec2::new(10.0, 0.0), DVec2::new(9.0, 1.0)], [0.0, 1.0], tri);
        let hit = |p, q| s.first_hit(p, q, OwnerIx::NONE).map(|h| h.owner);
        assert_eq!(hit(v(0., 0., 0.5), v(20., 0., 0.5)), Some(wall));
        assert_eq!(hit(v(1.5, 0., 0.5), v(20., 0., 0.5)), Some(table));
        assert_eq!(hit(v(4., 0., 0.5), v(20., 0., 0.5)), Some(post));
        assert_eq!(hit(v(6., 0., 0.5), v(20., 0., 0.5)), Some(ball));
        assert_eq!(hit(v(8., 0., 0.5), v(20., 0., 0.5)), Some(tri));
        assert_eq!(hit(v(0., 0., 2.5), v(20., 0., 2.5)), None);
        // From above down onto the prism's cap.
        assert_eq!(hit(v(9.2, 0., 2.0), v(9.2, 0., 0.5)), Some(tri));
        assert!(s.blocked(v(0., 0., 0.5), v(20., 0., 0.5), wall));
    }
}
