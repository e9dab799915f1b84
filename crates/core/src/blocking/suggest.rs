//! What would keep every wanted face clear: the smallest shift of the camera or of one mark; and lens or place for
//! a wanted shot size.

use super::moments::{Moments, Seen, lanes};
use super::places::{Aim, Places, RuledOut};
use super::{FaceView, face_view_among};
use crate::edit::{Edit, Item};
use crate::facts::TURNED_AWAY;
use crate::geometry::{OwnerIx, distance_to_outline};
use crate::optics;
use crate::plan::{Camera, Mark, PersonId, Plan, Shot, ShotSize};
use crate::scene::{Placed, Scene, View, footprint};
use crate::taping::room_at;
use crate::units::format_length;
use glam::{DVec2, DVec3};
use rayon::prelude::*;
use serde::Serialize;
use tapemark_words::{figure, say};

/// Candidates lie this far apart, metres; the best is then drawn nearer.
pub const STEP_M: f64 = 0.05;
/// Furthest a camera is shifted, metres.
const CAMERA_REACH_M: f64 = 3.0;
/// Furthest a mark is shifted, metres.
const MARK_REACH_M: f64 = 1.2;
/// People keep this far apart, middle to middle, and marks this far from furniture, metres (common practice, no
/// source).
const APART_M: f64 = 0.45;
const FROM_PIECE_M: f64 = 0.2;

/// A change that keeps every wanted face clear.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Suggestion {
    /// What is moved: the camera's or the mark's id.
    pub item: String,
    /// From where, metres.
    pub from_m: [f64; 2],
    /// To where, metres.
    pub to_m: [f64; 2],
    /// How far, metres.
    pub distance_m: f64,
    /// The least visible share then, 0–1.
    pub least_clear_share: f64,
    /// In words.
    pub what: String,
    /// The change itself, one step of undo.
    #[serde(skip)]
    pub edit: Edit,
}

/// Offsets of a grid about nothing, nearest first.
fn offsets(reach_m: f64) -> Vec<DVec2> {
    let n = (reach_m / STEP_M) as i32;
    let mut out: Vec<DVec2> = (-n..=n)
        .flat_map(|i| (-n..=n).map(move |j| DVec2::new(f64::from(i), f64::from(j)) * STEP_M))
        .filter(|v| v.length() <= reach_m)
        .collect();
    out.sort_by(|a, b| a.length_squared().total_cmp(&b.length_squared()));
    out
}

/// Drawn toward where it came from while it still holds: five halvings of the last step.
fn drawn_nearer(by: DVec2, mut holds: impl FnMut(DVec2) -> bool) -> DVec2 {
    let length = by.length();
    if length <= 0.0 {
        return by;
    }
    let (mut low, mut high) = (((length - 1.5 * STEP_M) / length).max(0.0), 1.0);
    for _ in 0..5 {
        let middle = 0.5 * (low + high);
        if holds(by * middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    by * high
}

/// Everything that keeps each wanted face at `share` or more for the whole move: the smallest shift of the camera,
/// and of each mark of those who hide and are hidden. Nearest first; nothing when all is clear already.
#[must_use]
pub fn suggest(plan: &Plan, shot: &Shot, moments: &Moments, share: f64) -> Vec<Suggestion> {
    let Some(camera) = plan.shot_camera(shot) else { return Vec::new() };
    let mut wish = plan.clone();
    wish.limits.face_share = share;
    let seen = lanes(&wish, shot, moments);
    let hidden: Vec<PersonId> = seen
        .iter()
        .filter(|l| l.required && l.spans.iter().any(|s| s.seen == Seen::Hidden))
        .map(|l| l.person.clone())
        .collect();
    if hidden.is_empty() {
        return Vec::new();
    }
    let mut out: Vec<Suggestion> = camera_shift(plan, shot, camera, moments, share).into_iter().collect();
    let hiders: Vec<&String> = seen.iter().flat_map(|l| &l.spans).filter_map(|s| s.by.as_ref()).collect();
    let movable = |m: &Mark| {
        let name = plan.person(&m.person).map(|p| p.name.clone()).unwrap_or_default();
        hidden.contains(&m.person) || hiders.contains(&&name)
    };
    for mark in shot.marks.iter().filter(|m| movable(m)) {
        out.extend(mark_shift(plan, shot, camera, moments, mark, share));
    }
    out.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m));
    out
}

fn camera_shift(plan: &Plan, shot: &Shot, camera: &Camera, moments: &Moments, share: f64) -> Option<Suggestion> {
    let places = Places::of(plan, shot, moments)?;
    let here = DVec2::from_array(camera.position_m);
    let holds = |by: DVec2| {
        let p = here + by;
        let aim = places.aim(p);
        places.ruled_out(p, aim).is_none() && places.least_share(p, aim, share) >= share
    };
    let found = *offsets(CAMERA_REACH_M).par_iter().with_max_len(16).find_first(|by| holds(**by))?;
    let by = drawn_nearer(found, holds);
    let to = here + by;
    let aim = places.aim(to);
    let least = places.least_share(to, aim, 0.0);
    let l = |m: f64| format_length(m, plan.length_unit);
    let what = if by.length() < 1e-6 {
        say!("keep-where-it-is-and-turn", camera = camera.name)
    } else {
        say!("move-camera-by", camera = camera.name, by = l(by.length()))
    };
    Some(Suggestion {
        item: camera.id.to_string(),
        from_m: here.to_array(),
        to_m: to.to_array(),
        distance_m: by.length(),
        least_clear_share: least,
        what,
        edit: Edit::Put(Item::Camera(moved(camera, to, aim))),
    })
}

/// A camera with its whole move at another place.
#[must_use]
pub fn moved(camera: &Camera, to: DVec2, aim: Aim) -> Camera {
    let mut c = camera.clone();
    let by = to - DVec2::from_array(c.position_m);
    let (pan, tilt) = (crate::scene::turn_deg(c.pan_deg, aim.pan_deg), aim.tilt_deg - c.tilt_deg);
    c.position_m = to.to_array();
    c.pan_deg = crate::geometry::normalize_deg(aim.pan_deg);
    c.tilt_deg = aim.tilt_deg;
    for m in &mut c.marks {
        m.position_m = (DVec2::from_array(m.position_m) + by).to_array();
        m.pan_deg += pan;
        m.tilt_deg = (m.tilt_deg + tilt).clamp(-90.0, 90.0);
    }
    c
}

fn mark_shift(
    plan: &Plan,
    shot: &Shot,
    camera: &Camera,
    moments: &Moments,
    mark: &Mark,
    share: f64,
) -> Option<Suggestion> {
    let here = DVec2::from_array(mark.position_m);
    let room = room_at(plan, here).map(|r| r.id.clone());
    let holds = |by: DVec2| {
        let to = here + by;
        if room.is_some() && room_at(plan, to).map(|r| &r.id) != room.as_ref() || in_piece(plan, to) {
            return None;
        }
        let mut other = shot.clone();
        other.marks.iter_mut().filter(|m| m.id == mark.id).for_each(|m| m.position_m = to.to_array());
        let there = Moments::on(moments.stage.clone(), plan, &other);
        least_as_framed(shot, camera, moments, &there, share).filter(|least| *least >= share)
    };
    let list = offsets(MARK_REACH_M);
    let found = *list.par_iter().with_max_len(8).find_first(|by| by.length() > 0.0 && holds(**by).is_some())?;
    let by = drawn_nearer(found, |by| holds(by).is_some());
    let least = holds(by)?;
    let to = here + by;
    let name = plan.person(&mark.person).map(|p| p.name.clone()).unwrap_or_default();
    let l = |m: f64| format_length(m, plan.length_unit);
    let when = if mark.from_s > 0.0 { say!("of-the-time", from_s = figure(mark.from_s, 1)) } else { String::new() };
    Some(Suggestion {
        item: mark.id.to_string(),
        from_m: here.to_array(),
        to_m: to.to_array(),
        distance_m: by.length(),
        least_clear_share: least,
        what: say!("move-name-s-mark-when-by", name, when, by = l(by.length())),
        edit: Edit::Put(Item::Mark { shot: shot.id.clone(), mark: Mark { position_m: to.to_array(), ..mark.clone() } }),
    })
}

fn in_piece(plan: &Plan, p: DVec2) -> bool {
    plan.location.pieces.iter().filter(|x| x.base_m < 1.0).any(|x| distance_to_outline(p, &footprint(x)) < FROM_PIECE_M)
}

/// The least share with the camera as it is; none when people run into each other, or when a wanted head that was
/// whole in frame no longer is.
fn least_as_framed(shot: &Shot, camera: &Camera, before: &Moments, after: &Moments, floor: f64) -> Option<f64> {
    let mut least = 1.0_f64;
    let still = camera.marks.is_empty();
    for (m, old) in after.list.iter().zip(&before.list) {
        if still && m.as_before && old.as_before {
            continue;
        }
        let near = |p: &Placed, q: &Placed| p.position.distance(q.position) < APART_M;
        for (i, p) in m.people.iter().enumerate() {
            // Those who already stood so near may.
            if m.people[..i].iter().zip(&old.people[..i]).any(|(q, r)| near(p, q) && !near(&old.people[i], r)) {
                return None;
            }
        }
        let view = View::at(camera, m.at_s);
        for (p, q) in m.people.iter().zip(&old.people).filter(|(p, _)| shot.faces.contains(&p.person)) {
            let face: FaceView = face_view_among(&[after.stage.solids(), &m.bodies], &view, p);
            if face.in_frame < 1.0 && super::in_frame_share(&view, q) >= 1.0 {
                return None;
            }
            if face.in_frame > 0.0 && face.turned >= TURNED_AWAY {
                least = least.min(face.clear);
            }
            if least < floor {
                return Some(least);
            }
        }
    }
    Some(least)
}

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
    Some(Framing {
        size,
        person: person.clone(),
        focal_mm,
        position_m: camera.position_m,
        distance_m: d,
        refused,
        edit: Edit::Put(Item::Camera(c)),
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
    let straight = turned(0.0);
    let first = refused(straight);
    let open = (1..=18)
        .flat_map(|i| [f64::from(i) * 5.0, f64::from(-i) * 5.0])
        .map(turned)
        .find(|at| first.is_some() && refused(*at).is_none());
    let (at, refused) = match (first, open) {
        (None, _) => (straight, None),
        (Some(_), Some(at)) => (at, None),
        (Some(why), None) => (straight, Some(why)),
    };
    Some(Framing {
        size,
        person: person.clone(),
        focal_mm: view.focal_mm,
        position_m: at.to_array(),
        distance_m: d,
        refused,
        edit: Edit::Put(Item::Camera(moved(camera, at, aimed(at)))),
    })
}
