//! An incident meter's reading, and each fixture's part in it.

use super::{Receiver, Shape, Transport};
use crate::colour::{Xyz, cct_duv};
use crate::geometry::OwnerIx;
use crate::optics;
use crate::plan::{Exposure, FixtureId, PersonId, Plan};
use crate::scene::Scene;
use crate::units::LX_PER_FC;
use glam::DVec3;
use rayon::prelude::*;
use serde::Serialize;

/// What a fixture does at a face, measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The strongest from the front.
    Key,
    /// Another from the front.
    Fill,
    /// From behind the face as the lens sees it.
    Back,
    /// Does not reach the face.
    None,
}

/// A fixture's part of a reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// Which.
    pub fixture: FixtureId,
    /// What it is called.
    pub name: String,
    /// Straight from the fixture, lux.
    pub direct_lx: f64,
    /// Off walls, floors, ceilings and pieces, lux.
    pub bounced_lx: f64,
    /// What it does here.
    pub role: Role,
    /// Angle between the lens and the fixture seen from the point, degrees on the plan, positive to the
    /// lens's right.
    pub from_lens_axis_deg: Option<f64>,
}

/// An incident-meter value at a point and direction.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reading {
    /// Where, metres.
    pub point_m: [f64; 3],
    /// Unit vector the receptor looks along.
    pub toward: [f64; 3],
    /// All fixtures together, lux.
    pub illuminance_lx: f64,
    /// The same in foot-candles.
    pub illuminance_fc: f64,
    /// Stop at the plan's exposure index and shutter.
    pub t_stop: f64,
    /// Correlated colour temperature, kelvin; absent in darkness and far off the locus.
    pub cct_k: Option<f64>,
    /// Distance from the Planckian locus in CIE 1960 uv, positive green.
    pub duv: Option<f64>,
    /// CIE 1931 chromaticity.
    pub xy: Option<[f64; 2]>,
    /// Each fixture's part.
    pub parts: Vec<Part>,
}

/// Reads the meter at a point: a rig's light, direct and bounced.
#[must_use]
pub fn reading(plan: &Plan, scene: &Scene, transport: &Transport, to: &Receiver, skip: OwnerIx) -> Reading {
    let exposure: &Exposure = &plan.exposure;
    let mut sum = Xyz::default();
    let list = transport.emitters();
    let mut parts = Vec::with_capacity(list.len());
    for (e, (direct, bounced)) in list.iter().zip(transport.parts(scene, to, skip)) {
        sum = sum + direct + bounced;
        // The open sky is on every side.
        let view = scene.view.as_ref().filter(|_| !matches!(e.shape, Shape::Open(_)));
        let from_lens = view.map(|v| plan_angle_deg(to.at, v.eye, e.seen_from(to.at)));
        parts.push(Part {
            fixture: e.fixture.clone(),
            name: e.name.clone(),
            direct_lx: direct.y,
            bounced_lx: bounced.y,
            role: Role::None,
            from_lens_axis_deg: from_lens,
        });
    }
    assign_roles(&mut parts);
    let cct = cct_duv(sum);
    Reading {
        point_m: to.at.to_array(),
        toward: to.toward.to_array(),
        illuminance_lx: sum.y,
        illuminance_fc: sum.y / LX_PER_FC,
        t_stop: optics::stop_for_lx(sum.y, exposure),
        cct_k: cct.map(|c| c.0),
        duv: cct.map(|c| c.1),
        xy: sum.xy().map(|(x, y)| [x, y]),
        parts,
    }
}

/// Angle on the plan at `at` from `lens` to `lamp`, degrees, positive to the right as the lens sees it.
fn plan_angle_deg(at: DVec3, lens: DVec3, lamp: DVec3) -> f64 {
    let bearing = |p: DVec3| crate::geometry::bearing_deg((p - at).truncate());
    // Seen from the lens, right is counter-clockwise about the subject.
    -crate::scene::turn_deg(bearing(lens), bearing(lamp))
}

fn assign_roles(parts: &mut [Part]) {
    let total: f64 = parts.iter().map(|p| p.direct_lx).sum();
    let front = |p: &Part| p.from_lens_axis_deg.is_none_or(|a| a.abs() <= 100.0);
    let key = parts
        .iter()
        .enumerate()
        .filter(|(_, p)| front(p) && p.direct_lx > 0.0)
        .max_by(|a, b| a.1.direct_lx.total_cmp(&b.1.direct_lx))
        .map(|(i, _)| i);
    for (i, p) in parts.iter_mut().enumerate() {
        p.role = if p.direct_lx <= total * 0.005 {
            // From behind, even a strong lamp adds little to a meter that looks at the lens.
            if front(p) || p.direct_lx <= 0.0 { Role::None } else { Role::Back }
        } else if Some(i) == key {
            Role::Key
        } else if front(p) {
            Role::Fill
        } else {
            Role::Back
        };
    }
}

/// How far before the face the meter is held, metres.
const METER_GAP_M: f64 = 0.03;

/// The reading at each present person's face: the plan's receptor, pointed at the lens (or the way the
/// face looks while there is no camera).
#[must_use]
pub fn face_readings(plan: &Plan, scene: &Scene, transport: &Transport) -> Vec<(PersonId, Reading)> {
    scene
        .people
        .par_iter()
        .map(|p| {
            let at = p.face() + p.face_normal() * METER_GAP_M;
            let toward = scene.view.as_ref().and_then(|v| (v.eye - at).try_normalize()).unwrap_or(p.face_normal());
            let to = Receiver { at, toward, receptor: plan.exposure.receptor };
            (p.person.clone(), reading(plan, scene, transport, &to, OwnerIx::NONE))
        })
        .collect()
}
