//! How intensity falls off with direction, and what barn doors leave of it.

use crate::plan::{BarnDoors, CandelaTable};
use glam::{DVec2, DVec3};
use std::sync::Arc;
use wide::f32x8;

/// Intensity by direction about an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Beam {
    pub(super) axis: DVec3,
    pub(super) right: DVec3,
    pub(super) up: DVec3,
    pub(super) profile: Profile,
    pub(super) leaves: Option<Leaves>,
}

/// The fall-off.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Profile {
    /// Half of peak at half the beam angle, a tenth at half the field angle:
    /// I(θ) = I₀·exp(−ln 2·(θ/θ½)^p), with p from the two angles, the one smooth curve of this family
    /// through both definitions.
    Angles { half_beam_rad: f64, power: f64 },
    /// Measured.
    Table(Arc<CandelaTable>),
}

impl Profile {
    pub fn of_angles(beam_deg: f64, field_deg: f64) -> Profile {
        Profile::Angles {
            half_beam_rad: (beam_deg * 0.5).to_radians(),
            power: (10.0_f64.ln() / std::f64::consts::LN_2).ln() / (field_deg / beam_deg).ln(),
        }
    }
    fn falloff(&self, theta: f64) -> f64 {
        match self {
            Profile::Angles { half_beam_rad, power } if theta <= std::f64::consts::FRAC_PI_2 => {
                (-std::f64::consts::LN_2 * (theta / half_beam_rad).powf(*power)).exp()
            }
            _ => 0.0,
        }
    }
    /// 2π∫ share·sin θ dθ: lumens per candela of peak.
    pub fn steradians(&self) -> f64 {
        const N: usize = 512;
        let step = std::f64::consts::FRAC_PI_2 / N as f64;
        // Midpoint rule.
        (0..N).map(|i| (i as f64 + 0.5) * step).map(|t| self.falloff(t) * t.sin()).sum::<f64>()
            * step
            * std::f64::consts::TAU
    }
}

impl Beam {
    /// Intensity toward a unit direction, as a share of the peak (a table: in candelas), without doors.
    pub(super) fn share(&self, direction: DVec3) -> f64 {
        let along = self.axis.dot(direction);
        match &self.profile {
            Profile::Table(table) => table.candela_at(self.right.dot(direction), self.up.dot(direction), along),
            angles => angles.falloff(along.clamp(-1.0, 1.0).acos()),
        }
    }
    /// Share of the mouth that the doors leave open toward a point `v` metres away.
    pub(super) fn open_share(&self, v: DVec3) -> f64 {
        let Some(leaves) = &self.leaves else { return 1.0 };
        leaves.open_share(DVec3::new(v.dot(self.right), v.dot(self.up), v.dot(self.axis)))
    }
}

/// Barn doors as leaves hinged on the edges of an even mouth: from a point in front, each hides the part of
/// the mouth past the line from its free edge. Leaves are as long as the mouth is wide, and wide enough that
/// no light goes round their sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Leaves {
    half: DVec2,
    /// Each leaf from its hinge to its free edge: out of the beam's side, and along the axis; left, right,
    /// bottom, top.
    leaves: [DVec2; 4],
}

impl Leaves {
    pub fn new(half: DVec2, doors: BarnDoors) -> Leaves {
        let length = 2.0 * half.min_element();
        let leaf = |deg: f64| DVec2::from(deg.to_radians().sin_cos()) * length;
        Leaves { half, leaves: [doors.left_deg, doors.right_deg, doors.bottom_deg, doors.top_deg].map(leaf) }
    }

    fn open_share(&self, v: DVec3) -> f64 {
        if v.z <= 0.0 {
            return 0.0;
        }
        let span = |half: f64, near: DVec2, far: DVec2, x: f64| {
            let high = Leaves::limit(half, far, x, v.z).min(half);
            let low = -Leaves::limit(half, near, -x, v.z).min(half);
            ((high - low) / (2.0 * half)).clamp(0.0, 1.0)
        };
        let [left, right, bottom, top] = self.leaves;
        span(self.half.x, left, right, v.x) * span(self.half.y, bottom, top, v.y)
    }

    /// Furthest part of the mouth, toward the leaf's own side, that a point at (x, z) sees past that leaf.
    fn limit(half: f64, leaf: DVec2, x: f64, z: f64) -> f64 {
        let (edge_x, edge_z) = (half + leaf.x, leaf.y);
        if edge_z < 1e-6 {
            return f64::INFINITY;
        }
        if z <= edge_z {
            // Beside the leaf: in front of it or behind it.
            return if x > half + z * leaf.x / leaf.y { f64::NEG_INFINITY } else { f64::INFINITY };
        }
        let k = edge_z / z;
        (edge_x - k * x) / (1.0 - k)
    }
}

/// How an area looks from different directions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Look {
    /// Even from everywhere: a diffuse face.
    Diffuse,
    /// Falls with cos^(m − 1).
    Focused(f64),
    /// A diffuse face behind square cells that hide it from the side past this tangent.
    Grid(f64),
}

impl Look {
    /// Luminance toward a direction by its parts across, up and along the face's normal, as a share of that
    /// straight ahead.
    #[must_use]
    pub fn share(&self, across: f64, up: f64, along: f64) -> f64 {
        match self {
            Look::Diffuse => 1.0,
            Look::Focused(m) => along.max(0.0).powf(m - 1.0),
            Look::Grid(tan) => {
                let open = |side: f64| (1.0 - side.abs() / (along.max(1e-9) * tan)).max(0.0);
                open(across) * open(up)
            }
        }
    }

    /// The same for eight directions at a time.
    #[must_use]
    pub(super) fn shares(&self, across: f32x8, up: f32x8, along: f32x8) -> f32x8 {
        match self {
            Look::Diffuse => f32x8::ONE,
            Look::Focused(m) => along.fast_max(f32x8::splat(1e-9)).powf_simd(f32x8::splat((*m - 1.0) as f32)),
            Look::Grid(tan) => {
                let depth = f32x8::ONE / (along.fast_max(f32x8::splat(1e-9)) * f32x8::splat(*tan as f32));
                let open = |side: f32x8| (f32x8::ONE - side.abs() * depth).fast_max(f32x8::ZERO);
                open(across) * open(up)
            }
        }
    }
}
