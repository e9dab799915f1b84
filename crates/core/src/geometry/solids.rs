//! Everything that stands in the way, in `f32` for speed, and the questions of one line at a time.

use super::front::Settled;
use super::lanes::{LANES, Lanes, Spheres};
use super::ray::Ray;
use super::shapes::{BoxSolid, Cap, Cylinder, Ellipsoid, Panel, Sheet};
use super::tree::{Bounds, Tree};
use crate::plan::{OpeningId, PersonId, PieceId};
use glam::{DVec2, Vec2, Vec3};
use std::sync::Arc;

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

/// A tree, and the things it tells by their places.
type Planted = (Tree, Vec<(Kind, u32)>);

/// Everything that blocks sight and light.
#[derive(Debug, Clone, Default)]
pub struct Solids {
    /// Owners, by [`OwnerIx`].
    pub owners: Vec<Owner>,
    pub(super) panels: Vec<Panel>,
    pub(super) lanes: Vec<Lanes>,
    /// Boxes, cylinders, ellipsoids and sheets in the order of their spheres.
    things: Vec<(Kind, u32)>,
    spheres: Vec<Spheres>,
    /// A tree over those that stood here when it was planted, which have no sphere.
    tree: Option<Arc<Planted>>,
    /// How many of the panels are in it, and in no lane.
    pub(super) treed_panels: usize,
    pub(super) boxes: Vec<BoxSolid>,
    pub(super) cylinders: Vec<Cylinder>,
    pub(super) ellipsoids: Vec<Ellipsoid>,
    pub(super) caps: Vec<Cap>,
    pub(super) sheets: Vec<Sheet>,
    /// What stood when it was settled last.
    pub(super) settled: Option<Arc<Settled>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Panel,
    Box,
    Cylinder,
    Ellipsoid,
    Cap,
    Sheet,
}

/// From this many things on they are put under a tree.
const MANY: usize = 48;

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

    /// Readies what stands here for many questions: the largest panels first, where they end most questions soonest,
    /// or where there are many things a tree over all.
    pub fn settle(&mut self) {
        let mut list = std::mem::take(&mut self.panels);
        let area = |x: &Panel| x.d.length() * (x.z1 - x.z0);
        list.sort_by(|a, b| area(b).total_cmp(&area(a)));
        self.lanes.clear();
        for panel in list {
            self.lane(&panel);
            self.panels.push(panel);
        }
        self.plant();
        self.settled = Some(Arc::new(Settled { counts: self.counts() }));
    }

    /// Puts all things under a tree where they are many, and the panels too where those are.
    fn plant(&mut self) {
        if self.things.len() < MANY && self.panels.len() < MANY {
            return;
        }
        let mut list: Vec<(Kind, u32)> = self.things.clone();
        if self.panels.len() >= MANY {
            list.extend((0..self.panels.len() as u32).map(|i| (Kind::Panel, i)));
            self.treed_panels = self.panels.len();
            self.lanes.clear();
        }
        let bounds: Vec<Bounds> = list.iter().map(|thing| self.bounds(*thing)).collect();
        self.tree = Some(Arc::new((Tree::of(&bounds), list)));
        // What comes later is asked one eight after another.
        self.things.clear();
        self.spheres.clear();
    }

    /// The boxes along the axes that boxes, round things and sheets lie in: low and high corner.
    pub(crate) fn boxes_round(&self) -> impl Iterator<Item = (Vec3, Vec3)> + '_ {
        let treed = self.tree.iter().flat_map(|t| &t.1);
        treed.chain(&self.things).map(|thing| self.bounds(*thing))
    }

    /// The box along the axes that a thing lies in.
    pub(super) fn bounds(&self, (kind, i): (Kind, u32)) -> Bounds {
        let i = i as usize;
        let turned = |axis: Vec2, half: Vec2| {
            // Of a rectangle; an ellipse lies within.
            Vec2::new(axis.x.abs() * half.x + axis.y.abs() * half.y, axis.y.abs() * half.x + axis.x.abs() * half.y)
        };
        let about = |middle: Vec3, half: Vec3| (middle - half, middle + half);
        match kind {
            Kind::Panel => {
                let p = &self.panels[i];
                let (a, b) = (p.a, p.a + p.d);
                (a.min(b).extend(p.z0), a.max(b).extend(p.z1))
            }
            Kind::Box => {
                let b = &self.boxes[i];
                about(b.centre, turned(b.axis, b.half.truncate()).extend(b.half.z))
            }
            Kind::Cylinder => {
                let c = &self.cylinders[i];
                let half = turned(c.axis, c.inv_half.recip());
                ((c.centre - half).extend(c.z0), (c.centre + half).extend(c.z1))
            }
            Kind::Ellipsoid => {
                let e = &self.ellipsoids[i];
                let half = e.inv_half.recip();
                about(e.centre, turned(e.axis, half.truncate()).extend(half.z))
            }
            Kind::Sheet => {
                let s = &self.sheets[i];
                let [u, v] = s.halves();
                about(s.centre, u.abs() + v.abs())
            }
            Kind::Cap => {
                let c = &self.caps[i];
                (c.low.extend(c.z), c.high.extend(c.z))
            }
        }
    }

    /// Calls for each thing whose sphere or box comes within `radius` of a segment, until told to stop.
    #[inline]
    pub(super) fn each_near(&self, ray: &Ray, radius: f32, mut ask: impl FnMut((Kind, u32)) -> bool) -> bool {
        let inverse = 1.0 / ray.r.length_squared().max(1e-12);
        let group = |g: usize, ask: &mut dyn FnMut((Kind, u32)) -> bool| {
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
        if let Some((tree, list)) = self.tree.as_deref()
            && tree.each_near(ray, radius, |i| ask(list[i as usize]))
        {
            return true;
        }
        (0..self.spheres.len()).any(|g| group(g, &mut ask))
    }

    fn lane(&mut self, panel: &Panel) {
        let k = (self.panels.len() - self.treed_panels) % LANES;
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
        let mut out = Solids::default();
        let panels = self.panels.iter().filter(|p| {
            let (a, b) = (p.a.min(p.a + p.d), p.a.max(p.a + p.d));
            b.cmpge(low).all() && a.cmple(high).all()
        });
        for panel in panels {
            out.lane(panel);
            out.panels.push(*panel);
        }
        let treed = self.tree.iter().flat_map(|t| &t.1).filter(|t| !matches!(t.0, Kind::Panel));
        for (kind, i) in treed.chain(&self.things) {
            let (from, to) = self.bounds((*kind, *i));
            if to.truncate().cmplt(low).any() || from.truncate().cmpgt(high).any() {
                continue;
            }
            let (middle, reach, i) = ((from + to) * 0.5, from.distance(to) * 0.5, *i as usize);
            match kind {
                Kind::Box => {
                    out.bound(Kind::Box, out.boxes.len(), middle, reach);
                    out.boxes.push(self.boxes[i]);
                }
                Kind::Cylinder => {
                    out.bound(Kind::Cylinder, out.cylinders.len(), middle, reach);
                    out.cylinders.push(self.cylinders[i]);
                }
                Kind::Ellipsoid => {
                    out.bound(Kind::Ellipsoid, out.ellipsoids.len(), middle, reach);
                    out.ellipsoids.push(self.ellipsoids[i]);
                }
                Kind::Sheet => {
                    out.bound(Kind::Sheet, out.sheets.len(), middle, reach);
                    out.sheets.push(self.sheets[i]);
                }
                Kind::Panel | Kind::Cap => {}
            }
        }
        out.caps.clone_from(&self.caps);
        out.plant();
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
    /// Adds a level sheet on any simple polygon, which is seen from both sides.
    pub fn add_level(&mut self, points: &[DVec2], z: f64, owner: OwnerIx) {
        self.caps.push(Cap::of(points, z as f32, owner));
    }

    /// Adds a prism on any simple polygon.
    pub fn add_prism(&mut self, points: &[DVec2], z: [f64; 2], owner: OwnerIx) {
        for i in 0..points.len() {
            self.add_panel(points[i], points[(i + 1) % points.len()], z, owner);
        }
        for level in z {
            if level > 0.0 {
                self.add_level(points, level, owner);
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
                let first = self.treed_panels + group * LANES;
                let panels = first..(first + LANES).min(self.panels.len());
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
