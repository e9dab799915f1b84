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
        let corners: Vec<Vec3> = match &emitter.shape {
            Shape::Point { at, .. } => vec![at.as_vec3()],
            Shape::Area(face) => face.corners().map(|c| c.as_vec3()).to_vec(),
            Shape::Sky { hole, .. } => hole.corners().map(|c| c.as_vec3()).to_vec(),
            Shape::Sun { .. } | Shape::Open(_) => return Between::Unknown,
        };
        let middle = |points: &[Vec3]| points.iter().sum::<Vec3>() / points.len() as f32;
        let radius = |points: &[Vec3], c: Vec3| points.iter().map(|p| p.distance(c)).fold(0.0, f32::max);
        let (here, there) = (middle(group), middle(&corners));
        // A tube wide enough for the wider end; a hair more, so that rounding loses nothing.
        let reach = radius(group, here).max(radius(&corners, there)) * 1.0001 + 1e-4;
        let few = solids.in_the_way(here, there, reach, skip);
        if solids.hides(&few, group, &corners, skip) { Between::Hidden } else { Between::Some(Box::new(few)) }
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
