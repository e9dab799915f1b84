//! A rig's light in its rooms, direct and bounced, kept for as long as nothing it depends on changes.

use super::bounce::{BounceGrid, Detail, Radiosity, Surfaces, bounced_xyz};
use super::map::{Area, MapShows, channels};
use super::rooms::Rooms;
use super::{Emitter, Receiver, Shape, Sky, daylight_emitters, emitters, solve};
use crate::colour::Xyz;
use crate::geometry::OwnerIx;
use crate::plan::{Location, Plan, Rig, Shared};
use crate::scene::{Placed, Scene};
use glam::{DVec2, DVec3};
use rayon::prelude::*;
use std::cell::Cell;
use std::sync::Arc;

/// Size of patches for answers that stand, metres.
pub const FINE_PATCH_M: f64 = 0.35;

/// What the surfaces' view of each other depends on.
#[derive(Debug, Clone, PartialEq)]
struct Geometry {
    location: Shared<Location>,
    people: Vec<Placed>,
    patch_m: f64,
    /// Rooms worked out finely.
    near: Vec<bool>,
}

/// What becomes of surfaces that do not fit.
#[derive(Clone, Copy, PartialEq)]
enum Unfit {
    Link,
    Keep,
}

/// A rig's light, solved per emitter. Dragging the camera, dimming, gelling and switching re-solve nothing;
/// moving one lamp re-solves one.
#[derive(Debug, Clone)]
pub struct Transport {
    geometry: Arc<Geometry>,
    surfaces: Arc<Surfaces>,
    list: Vec<Emitter>,
    solved: Vec<Arc<Radiosity>>,
    detail: Detail,
    /// Whether what bounces is still that of lamps as they were.
    stale: bool,
}

impl Transport {
    /// Solves a rig in a scene, taking over what `before` already knows.
    #[must_use]
    pub fn of(plan: &Plan, rig: Option<&Rig>, scene: &Scene, patch_m: f64, before: Option<&Transport>) -> Transport {
        Transport::solved_on(plan, rig, scene, patch_m, before, Unfit::Link)
    }

    /// The same without linking surfaces anew, which takes long in large plans: on those of `before` as they
    /// were, or with none, so that nothing bounces. It [fits](Self::fits) only when nothing but lamps changed.
    #[must_use]
    pub fn at_once(plan: &Plan, rig: Option<&Rig>, scene: &Scene, before: Option<&Transport>) -> Transport {
        let patch_m = before.map_or(f64::INFINITY, |b| b.geometry.patch_m);
        Transport::solved_on(plan, rig, scene, patch_m, before, Unfit::Keep)
    }

    fn solved_on(
        plan: &Plan,
        rig: Option<&Rig>,
        scene: &Scene,
        patch_m: f64,
        before: Option<&Transport>,
        unfit: Unfit,
    ) -> Transport {
        let mut list = rig.map(emitters).unwrap_or_default();
        list.extend(daylight_emitters(plan, &scene.walls, scene.clock));
        let near = Rooms::of(plan).near(scene, &list);
        let wanted = Geometry { location: plan.location.clone(), people: scene.people.clone(), patch_m, near };
        let same = before.filter(|b| b.surfaces.is_linked() && (unfit == Unfit::Keep || *b.geometry == wanted));
        let (geometry, surfaces) = match same {
            Some(b) => (b.geometry.clone(), b.surfaces.clone()),
            None if unfit == Unfit::Keep => (Arc::new(wanted), Arc::new(Surfaces::none(plan))),
            None => {
                let surfaces = Surfaces::in_rooms(plan, scene, patch_m, &wanted.near);
                (Arc::new(wanted), Arc::new(surfaces))
            }
        };
        let stale = Cell::new(false);
        let known = |e: &Emitter| {
            let before = same?;
            let i = before.list.iter().position(|o| o.fixture == e.fixture)?;
            let moved = before.list[i].shape != e.shape;
            if unfit == Unfit::Link && (moved || before.stale) {
                return None;
            }
            stale.set(stale.get() || moved || before.stale);
            Some(before.solved[i].clone())
        };
        let mut solved: Vec<Option<Arc<Radiosity>>> = list.iter().map(known).collect();
        let (places, new): (Vec<usize>, Vec<&Emitter>) =
            list.iter().enumerate().filter(|(i, _)| solved[*i].is_none()).unzip();
        for (i, radiosity) in places.into_iter().zip(surfaces.solve(&scene.solids, &new)) {
            solved[i] = Some(radiosity);
        }
        let solved = solved.into_iter().flatten().collect();
        Transport { geometry, surfaces, list, solved, detail: Detail::Near, stale: stale.get() }
    }

    /// The same light without what solving more would take: for many that are kept at a time.
    #[must_use]
    pub fn settled(self) -> Transport {
        Transport { surfaces: Arc::new(self.surfaces.settled()), ..self }
    }

    /// The same light, answering at a lesser detail: for frames while something is dragged.
    #[must_use]
    pub fn at_detail(mut self, detail: Detail) -> Transport {
        self.detail = detail;
        self
    }

    /// How closely it answers.
    #[must_use]
    pub fn detail(&self) -> Detail {
        self.detail
    }

    /// Size of its patches, metres.
    #[must_use]
    pub fn patch_m(&self) -> f64 {
        self.geometry.patch_m
    }

    /// Whether it was solved for these rooms, pieces and people.
    #[must_use]
    pub fn fits(&self, plan: &Plan, scene: &Scene) -> bool {
        !self.stale
            && self.geometry.location == plan.location
            && self.geometry.people == scene.people
            && self.geometry.near == Rooms::of(plan).near(scene, &self.list)
    }

    /// The emitters solved.
    #[must_use]
    pub fn emitters(&self) -> &[Emitter] {
        &self.list
    }

    /// Sky and ground outside, with the colours of both, Y = 1: the ground's is that of sun and sky together. None in
    /// the dark.
    #[must_use]
    pub fn outside(&self) -> Option<(&Sky, Xyz, Xyz)> {
        let (sky, blue) = self.list.iter().find_map(|e| match &e.shape {
            Shape::Open(open) => Some((&*open.sky, e.colour)),
            _ => None,
        })?;
        let sun = self.list.iter().find(|e| matches!(e.shape, Shape::Sun { .. })).map_or(blue, |e| e.colour);
        let share = sky.ground_by_sun();
        Some((sky, blue, blue * (1.0 - share) + sun * share))
    }

    /// What leaves every surface, emitter by emitter.
    pub(super) fn solved(&self) -> &[Arc<Radiosity>] {
        &self.solved
    }

    /// The surfaces.
    #[must_use]
    pub fn surfaces(&self) -> &Surfaces {
        &self.surfaces
    }

    /// What the surfaces take in of each emitter at unit output, lumens.
    #[must_use]
    pub fn absorbed_lm(&self) -> Vec<f64> {
        self.solved.iter().map(|r| self.surfaces.absorbed_lm(r)).collect()
    }

    /// Each emitter's direct light and bounced light at a receiver, as set: tristimulus values in lux.
    #[must_use]
    pub fn parts(&self, scene: &Scene, to: &Receiver, skip: OwnerIx) -> Vec<(Xyz, Xyz)> {
        let bounced = self.surfaces.gather(&scene.solids, &self.solved, &self.list, to, skip, self.detail);
        self.list
            .iter()
            .zip(bounced)
            .map(|(e, thirds)| {
                (e.colour * (e.gain * solve(&scene.solids, e, to, skip)), bounced_xyz(e, thirds) * e.gain)
            })
            .collect()
    }

    /// Each emitter's light on the wall a spot meter has read, lux.
    pub(super) fn parts_of_wall(&self, scene: &Scene, spot: &super::Spot) -> Vec<f64> {
        if spot.seen == super::Seen::Outside {
            return vec![0.0; self.list.len()];
        }
        let (at, toward) = (DVec3::from_array(spot.point_m), DVec3::from_array(spot.normal));
        let to = Receiver { at: at + toward * 5e-3, toward, receptor: crate::plan::Receptor::Flat };
        self.parts(scene, &to, OwnerIx::NONE).iter().map(|(d, b)| d.y + b.y).collect()
    }

    /// Bounced light on a grid of nodes over the ground that a map shows, in the channels of what it shows. Bounced light of
    /// the key fills.
    pub(super) fn grid(
        &self,
        scene: &Scene,
        area: &Area,
        cell_m: f64,
        receiver: impl Fn(DVec2) -> Receiver + Sync,
        shows: MapShows,
    ) -> BounceGrid {
        let (low, size) = (area.low, area.high - area.low);
        let (nx, ny) = ((size.x / cell_m).ceil() as usize + 1, (size.y / cell_m).ceil() as usize + 1);
        // Nodes lie half a cell in, so that none falls on a wall of a room whose corner is the grid's.
        let origin = low - DVec2::splat(cell_m * 0.5);
        let (nx, ny) = (nx + 1, ny + 1);
        let lx = (0..nx * ny)
            .into_par_iter()
            .map(|i| {
                let p = origin + DVec2::new((i % nx) as f64, (i / nx) as f64) * cell_m;
                if !area.holds(p) {
                    return [f32::NAN; 3];
                }
                let to = receiver(p);
                let all =
                    self.surfaces.gather(&scene.solids, &self.solved, &self.list, &to, OwnerIx::NONE, Detail::Quick);
                let mut sum = [0.0; 3];
                for (e, t) in self.list.iter().zip(all) {
                    let part = channels(shows, bounced_xyz(e, t) * e.gain, false);
                    sum.iter_mut().zip(part).for_each(|(s, v): (&mut f64, f64)| *s += v);
                }
                sum.map(|v| v as f32)
            })
            .collect();
        BounceGrid { origin, cell_m, nx, ny, lx }
    }
}
