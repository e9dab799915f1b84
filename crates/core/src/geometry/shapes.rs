//! The shapes that things are made of.

use super::solids::OwnerIx;
use glam::{DVec2, Vec2, Vec3};

/// An upright rectangle.
#[derive(Debug, Clone, Copy)]
pub struct Panel {
    pub(super) a: Vec2,
    pub(super) d: Vec2,
    pub(super) z0: f32,
    pub(super) z1: f32,
    pub(super) owner: OwnerIx,
}

/// A box on a rotated rectangle.
#[derive(Debug, Clone, Copy)]
pub struct BoxSolid {
    pub(super) centre: Vec3,
    pub(super) axis: Vec2,
    pub(super) half: Vec3,
    pub(super) owner: OwnerIx,
}

impl BoxSolid {
    /// The box with everything within `by` of it.
    pub(super) fn grown(&self, by: f32) -> BoxSolid {
        BoxSolid { half: self.half + by, ..*self }
    }
}

/// An upright cylinder on a rotated ellipse.
#[derive(Debug, Clone, Copy)]
pub struct Cylinder {
    pub(super) centre: Vec2,
    pub(super) axis: Vec2,
    pub(super) inv_half: Vec2,
    pub(super) z0: f32,
    pub(super) z1: f32,
    pub(super) owner: OwnerIx,
}

impl Cylinder {
    /// The cylinder with everything within `by` of it.
    pub(super) fn grown(&self, by: f32) -> Cylinder {
        let wider = self.inv_half.recip() + by;
        Cylinder { inv_half: wider.recip(), z0: self.z0 - by, z1: self.z1 + by, ..*self }
    }
}

/// An ellipsoid turned about the vertical.
#[derive(Debug, Clone, Copy)]
pub struct Ellipsoid {
    pub(super) centre: Vec3,
    pub(super) axis: Vec2,
    pub(super) inv_half: Vec3,
    pub(super) owner: OwnerIx,
}

/// A flat rectangle that leans any way.
#[derive(Debug, Clone, Copy)]
pub struct Sheet {
    pub(super) centre: Vec3,
    pub(super) normal: Vec3,
    /// Half sides over their squared lengths: a point's place along each is −1 to 1 on the sheet.
    pub(super) places: [Vec3; 2],
    pub(super) owner: OwnerIx,
}

impl Sheet {
    pub(super) fn halves(&self) -> [Vec3; 2] {
        self.places.map(|v| v / v.length_squared())
    }
}

/// A level polygon.
#[derive(Debug, Clone)]
pub struct Cap {
    pub(super) points: Vec<DVec2>,
    /// Corners of the upright box round them, a hair wider.
    pub(super) low: Vec2,
    pub(super) high: Vec2,
    pub(super) z: f32,
    pub(super) owner: OwnerIx,
}

impl Cap {
    pub(super) fn of(points: &[DVec2], z: f32, owner: OwnerIx) -> Cap {
        const HAIR_M: f32 = 1e-3;
        let flat = || points.iter().map(|p| p.as_vec2());
        let low = flat().fold(Vec2::INFINITY, Vec2::min) - HAIR_M;
        let high = flat().fold(Vec2::NEG_INFINITY, Vec2::max) + HAIR_M;
        Cap { points: points.to_vec(), low, high, z, owner }
    }

    /// Whether a point of its level lies on it.
    pub(super) fn holds(&self, at: Vec2) -> bool {
        at.cmpge(self.low).all() && at.cmple(self.high).all() && super::point_in_polygon(at.as_dvec2(), &self.points)
    }
}
