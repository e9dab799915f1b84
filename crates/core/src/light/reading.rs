//! An incident meter's reading, and each fixture's part in it.

use super::{Receiver, Shape, Transport, solve};
use crate::colour::{Xyz, cct_duv};
use crate::geometry::OwnerIx;
use crate::optics;
use crate::plan::{Exposure, FixtureId, PersonId, Plan, Receptor};
use crate::scene::{Placed, Scene};
use crate::units::LX_PER_FC;
use glam::DVec3;
use rayon::prelude::*;
use serde::Serialize;
use tapemark_words::{figure, say};

/// A hundredth of what a moonless sky gives (about 1 mlx; common practice, no source): light with no colour to see.
pub(super) const DARK_LX: f64 = 1e-5;

/// What a fixture does at a face, measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The strongest from the front.
    Key,
    /// Another from the front.
    Fill,
    /// From behind the face as the lens sees it, or on the hair alone.
    Back,
    /// Reaches neither face nor hair.
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
    /// Straight from the fixture on the crown of the head from behind, lux; absent: not a face.
    pub hair_lx: Option<f64>,
}

impl Part {
    /// What it does here, in words; a backlight with its level on the hair.
    #[must_use]
    pub fn role_in_words(&self) -> String {
        match (self.role, self.hair_lx) {
            (Role::Key, _) => say!("key").into(),
            (Role::Fill, _) => say!("fill").into(),
            (Role::Back, Some(lx)) => say!("back-so-much-on-the-hair", hair_lx = figure(lx, 0)),
            (Role::Back, None) => say!("back").into(),
            (Role::None, _) => say!("does-not-reach").into(),
        }
    }
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
            hair_lx: None,
        });
    }
    assign_roles(&mut parts);
    let lit = sum.y > DARK_LX;
    let cct = cct_duv(sum).filter(|_| lit);
    Reading {
        point_m: to.at.to_array(),
        toward: to.toward.to_array(),
        illuminance_lx: sum.y,
        illuminance_fc: sum.y / LX_PER_FC,
        t_stop: optics::stop_for_lx(sum.y, exposure),
        cct_k: cct.map(|c| c.0),
        duv: cct.map(|c| c.1),
        xy: sum.xy().filter(|_| lit).map(|(x, y)| [x, y]),
        parts,
    }
}

/// Angle on the plan at `at` from `lens` to `lamp`, degrees, positive to the right as the lens sees it.
fn plan_angle_deg(at: DVec3, lens: DVec3, lamp: DVec3) -> f64 {
    let bearing = |p: DVec3| crate::geometry::bearing_deg((p - at).truncate());
    // Seen from the lens, right is counter-clockwise about the subject.
    -crate::scene::turn_deg(bearing(lens), bearing(lamp))
}

/// A lamp that gives a smaller share of a face's light does not reach it.
const REACHES: f64 = 0.005;

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
        p.role = if p.direct_lx <= total * REACHES {
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

/// How far over the crown the hair's meter is held, metres.
const HAIR_GAP_M: f64 = 0.03;

/// Where light on the hair is measured: on the crown from behind and above, as a lens sees it, by a flat receptor leaned
/// back 45°.
#[must_use]
pub fn hair_receiver(p: &Placed, eye: DVec3) -> Receiver {
    let away = (p.head.truncate() - eye.truncate()).normalize_or_zero();
    let toward = (away.extend(0.0) + DVec3::Z).normalize();
    let at = p.head + DVec3::Z * p.head_half.z + toward * HAIR_GAP_M;
    Receiver { at, toward, receptor: Receptor::Flat }
}

/// Tells each fixture's light on the hair; one that reaches the hair and not the face is a backlight.
fn measure_hair(r: &mut Reading, scene: &Scene, transport: &Transport, to: &Receiver) {
    for (part, e) in r.parts.iter_mut().zip(transport.emitters()) {
        let lx = if e.gain > 0.0 { e.gain * e.colour.y * solve(&scene.solids, e, to, OwnerIx::NONE) } else { 0.0 };
        part.hair_lx = Some(lx);
        if part.role == Role::None && lx > REACHES * r.illuminance_lx {
            part.role = Role::Back;
        }
    }
}

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
            let mut r = reading(plan, scene, transport, &to, OwnerIx::NONE);
            // Without a lens, behind is where the face does not look.
            let eye = scene.view.as_ref().map_or(p.head + p.face_normal() * 3.0, |v| v.eye);
            measure_hair(&mut r, scene, transport, &hair_receiver(p, eye));
            (p.person.clone(), r)
        })
        .collect()
}
