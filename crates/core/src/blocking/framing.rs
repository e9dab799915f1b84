//! Lens or place for a wanted shot size.

use super::moments::Moments;
use super::places::{Aim, Places, RuledOut};
use super::suggest::moved;
use crate::edit::{Edit, Item};
use crate::geometry::OwnerIx;
use crate::notices::{Baseline, Broken};
use crate::optics;
use crate::plan::{PersonId, Plan, Shot, ShotSize};
use crate::scene::Scene;
use glam::{DVec2, DVec3};
use serde::Serialize;
use tapemark_words::{figure, say};

/// Head-room over a crown, as a share of the frame's height (common practice, no source).
const HEAD_ROOM: f64 = 0.08;

impl ShotSize {
    /// Height framed on a standing person, as a share of their height: from the usual cut to the crown with
    /// head-room (common practice, no source).
    #[must_use]
    pub fn framed_share(self) -> f64 {
        let cut = match self {
            ShotSize::Wide => return 2.0,
            ShotSize::Full => -0.04,
            ShotSize::MediumFull => 0.27,
            ShotSize::Medium => 0.53,
            ShotSize::MediumClose => 0.70,
            ShotSize::Close => 0.82,
            ShotSize::ExtremeClose => 0.895,
        };
        (1.0 - cut) / (1.0 - HEAD_ROOM)
    }
}

/// Places round a person that are asked what they break.
const OPEN: usize = 6;

/// The notices of the shots a shot's camera takes.
pub(super) fn baseline(plan: &Plan, shot: &Shot) -> Baseline {
    Baseline::of(plan, |s| s.id == shot.id || s.camera.is_some() && s.camera == shot.camera)
}

/// A way to frame a person at a wanted size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Framing {
    /// The size wanted.
    pub size: ShotSize,
    /// On whom.
    pub person: PersonId,
    /// Focal length, millimetres.
    pub focal_mm: f64,
    /// Where the camera stands, metres.
    pub position_m: [f64; 2],
    /// Distance along the lens axis, metres.
    pub distance_m: f64,
    /// Why the room does not allow it; absent when it does.
    pub refused: Option<String>,
    /// What it breaks in the shots of this camera and in their cuts, the worst first.
    pub broken: Vec<Broken>,
    /// The change itself, one step of undo.
    #[serde(skip)]
    pub edit: Edit,
}

/// The tilt that puts a crown just under the head-room from a lens at a distance on the plan.
fn tilt_for(crown_m: f64, lens_height_m: f64, distance_m: f64, sensor_h_mm: f64, focal_mm: f64) -> f64 {
    // The crown's ray lies this far over the axis.
    let over = ((1.0 - 2.0 * HEAD_ROOM) * sensor_h_mm / (2.0 * focal_mm)).atan();
    ((crown_m - lens_height_m).atan2(distance_m) - over).to_degrees().clamp(-89.0, 89.0)
}

/// The focal length that frames a person at a size from where the camera is.
#[must_use]
pub fn lens_for_size(plan: &Plan, shot: &Shot, scene: &Scene, person: &PersonId, size: ShotSize) -> Option<Framing> {
    let (camera, view, p) = (plan.shot_camera(shot)?, scene.view.as_ref()?, scene.placed(person)?);
    let way = p.position - view.eye.truncate();
    let d = way.length();
    let framed = size.framed_share() * p.crown_m;
    // Thin lens: field = s·(d − f)/f.
    let focal_mm = view.sensor_mm.1 * d * 1000.0 / (framed * 1000.0 + view.sensor_mm.1);
    let mut c = camera.clone();
    c.lens.focal_mm = focal_mm;
    c.pan_deg = crate::geometry::bearing_deg(way);
    c.tilt_deg = tilt_for(p.crown_m, view.eye.z, d, view.sensor_mm.1, focal_mm);
    let refused = match camera.lens.zoom_mm {
        Some([short, long]) if focal_mm < short || focal_mm > long => {
            Some(say!("the-zoom-goes-from-to-mm", short = figure(short, 0), long = figure(long, 0)))
        }
        _ if d + camera.sensor_behind_m < camera.lens.close_focus_m => {
            Some(say!("nearer-than-the-lens-focuses").into())
        }
        _ => None,
    };
    let edit = Edit::Put(Item::Camera(c));
    let broken = if refused.is_none() { baseline(plan, shot).after(&edit) } else { Vec::new() };
    Some(Framing {
        size,
        person: person.clone(),
        focal_mm,
        position_m: camera.position_m,
        distance_m: d,
        refused,
        broken,
        edit,
    })
}

/// The place from which the lens in use frames a person at a size: on the line the camera is on now, else round
/// the person to where the room allows it.
#[must_use]
pub fn place_for_size(
    plan: &Plan,
    shot: &Shot,
    scene: &Scene,
    moments: &Moments,
    person: &PersonId,
    size: ShotSize,
) -> Option<Framing> {
    let (camera, view, p) = (plan.shot_camera(shot)?, scene.view.as_ref()?, scene.placed(person)?);
    let framed = size.framed_share() * p.crown_m;
    let d = optics::distance_for_field_m(view.sensor_mm.1, view.focal_mm, framed);
    let line = (view.eye.truncate() - p.position).try_normalize().unwrap_or(DVec2::NEG_Y);
    // Only this person has to fit: the others may be cut by a closer size.
    let mut alone = shot.clone();
    alone.faces = vec![person.clone()];
    let places = Places::of(plan, &alone, moments);
    let aimed = |at: DVec2| Aim {
        pan_deg: crate::geometry::bearing_deg(p.position - at),
        tilt_deg: tilt_for(p.crown_m, view.eye.z, d, view.sensor_mm.1, view.focal_mm),
    };
    let refused = |at: DVec2| {
        let why = places.as_ref().and_then(|q| q.ruled_out(at, aimed(at)).map(|r| (r, q.why(at, r))));
        // A close size cuts the crown on purpose.
        why.filter(|(r, _)| *r != RuledOut::DoesNotFit).map(|w| w.1).or_else(|| {
            let face = p.face();
            let eye = DVec3::new(at.x, at.y, view.eye.z);
            scene.solids.blocked(eye.as_vec3(), face.as_vec3(), p.owner).then(|| {
                match scene.solids.first_hit(eye.as_vec3(), face.as_vec3(), p.owner) {
                    Some(h) => say!("is-in-the-way", owner = scene.name_of(plan, h.owner)),
                    None => scene.name_of(plan, OwnerIx::NONE),
                }
            })
        })
    };
    let turned = |deg: f64| p.position + crate::geometry::rotate_bearing(line, deg) * d;
    let framing = |at: DVec2, refused: Option<String>, broken: Vec<Broken>| Framing {
        size,
        person: person.clone(),
        focal_mm: view.focal_mm,
        position_m: at.to_array(),
        distance_m: d,
        refused,
        broken,
        edit: Edit::Put(Item::Camera(moved(camera, at, aimed(at)))),
    };
    let straight = turned(0.0);
    let why = refused(straight);
    let round = (1..=18).flat_map(|i| [f64::from(i) * 5.0, f64::from(-i) * 5.0]).map(turned);
    let open: Vec<DVec2> = why
        .is_none()
        .then_some(straight)
        .into_iter()
        .chain(round.filter(|at| refused(*at).is_none()))
        .take(OPEN)
        .collect();
    let Some(first) = open.first() else { return Some(framing(straight, why, Vec::new())) };
    // The first that breaks nothing, else the first.
    let baseline = baseline(plan, shot);
    let mut best: Option<Framing> = None;
    for at in &open {
        let edit = framing(*at, None, Vec::new()).edit;
        let broken = baseline.after(&edit);
        let clean = broken.is_empty();
        if clean || best.is_none() {
            best = Some(framing(*at, None, broken));
        }
        if clean {
            break;
        }
    }
    best.or_else(|| Some(framing(*first, None, Vec::new())))
}
