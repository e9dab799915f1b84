//! What stands between an emitter and many receivers that lie together, asked once for all of them.

use super::{Emitter, Fineness, Receiver, Shape, solve_among};
use crate::geometry::{Few, OwnerIx, Solids};
use glam::Vec3;

/// How an emitter is seen from a group of receivers.
pub(super) enum Between {
    /// From none of them.
    Hidden,
    /// Past some of these.
    Some(Box<Few>),
    /// To be asked one by one: sun and sky are everywhere.
    Unknown,
}

impl Between {
    /// For receivers that all lie between some points, past everything but `skip`.
    pub fn of(solids: &Solids, emitter: &Emitter, group: &[Vec3], skip: OwnerIx) -> Between {
        let Some(corners) = corners(emitter) else { return Between::Unknown };
        let (here, there, reach) = tube(group, &corners);
        let few = solids.in_the_way(here, there, reach, skip);
        if solids.hides(&few, group, &corners, skip) { Between::Hidden } else { Between::Some(Box::new(few)) }
    }

    /// Whether anything may stand between an emitter and the receivers; where that is not told from one tube of lines
    /// it may.
    pub fn may_be_shaded(solids: &Solids, emitter: &Emitter, group: &[Vec3]) -> bool {
        let Some(corners) = corners(emitter) else { return !solids.is_empty() };
        let (here, there, reach) = tube(group, &corners);
        !solids.in_the_way(here, there, reach, OwnerIx::NONE).is_empty()
    }

    /// Whether nothing stands in the way of any of them.
    pub fn is_open(&self) -> bool {
        matches!(self, Between::Some(few) if few.is_empty())
    }

    /// Illuminance at a receiver of the group from the emitter at unit output, lux.
    pub fn solve(&self, solids: &Solids, emitter: &Emitter, to: &Receiver, skip: OwnerIx, fineness: Fineness) -> f64 {
        match self {
            Between::Hidden => 0.0,
            Between::Some(few) => solve_among(solids, emitter, to, skip, Some(few), fineness),
            Between::Unknown => solve_among(solids, emitter, to, skip, None, fineness),
        }
    }
}

/// The corners of what an emitter shines from; none of sun and sky, which are everywhere.
fn corners(emitter: &Emitter) -> Option<Vec<Vec3>> {
    match &emitter.shape {
        Shape::Point { at, .. } => Some(vec![at.as_vec3()]),
        Shape::Area(face) => Some(face.corners().map(|c| c.as_vec3()).to_vec()),
        Shape::Sky { hole, .. } => Some(hole.corners().map(|c| c.as_vec3()).to_vec()),
        Shape::Sun { .. } | Shape::Open(_) => None,
    }
}

/// The middles of two groups of points, and how wide a tube round the way between them holds all lines between both: as
/// wide as the wider end; a hair more, so that rounding loses nothing.
fn tube(from: &[Vec3], to: &[Vec3]) -> (Vec3, Vec3, f32) {
    let middle = |points: &[Vec3]| points.iter().sum::<Vec3>() / points.len() as f32;
    let radius = |points: &[Vec3], c: Vec3| points.iter().map(|p| p.distance(c)).fold(0.0, f32::max);
    let (here, there) = (middle(from), middle(to));
    (here, there, radius(from, here).max(radius(to, there)) * 1.0001 + 1e-4)
}
