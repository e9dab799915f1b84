//! Where else the camera could stand: what rules a place out, and how much of every face it sees.

use super::moments::Moments;
use super::{Head, contains, face_view_among, sees};
use crate::facts::{TURNED_AWAY, standing_outlines};
use crate::geometry::{OwnerIx, bearing_deg, bearing_dir, point_in_polygon, strip_clearance_m};
use crate::plan::{Camera, Mount, Plan, Shot};
use crate::scene::{Placed, View, footprint, piece_label, turn_deg};
use crate::units::format_length;
use glam::{DVec2, DVec3};
use serde::Serialize;
use tapemark_words::say;

/// Why the camera cannot stand somewhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RuledOut {
    /// Outside every room.
    Outside,
    /// In a piece.
    InPiece,
    /// In the way of somebody.
    InPerson,
    /// The operator does not fit behind it.
    NoRoomBehind,
    /// A wanted face is nearer than the lens focuses.
    TooClose,
    /// The wanted faces do not fit in the frame.
    DoesNotFit,
    /// A lamp or its stand is in frame.
    LampInFrame,
    /// A wanted face never looks this way.
    TurnedAway,
}

impl RuledOut {
    /// In words.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            RuledOut::Outside => say!("outside-the-rooms"),
            RuledOut::InPiece => say!("furniture-stands-here"),
            RuledOut::InPerson => say!("somebody-stands-or-walks-here"),
            RuledOut::NoRoomBehind => say!("no-room-behind-the-camera"),
            RuledOut::TooClose => say!("nearer-than-the-lens-focuses"),
            RuledOut::DoesNotFit => say!("the-faces-do-not-fit-in"),
            RuledOut::LampInFrame => say!("a-lamp-or-its-stand-is"),
            RuledOut::TurnedAway => say!("a-face-wanted-never-looks-this"),
        }
    }
}

/// Which way a camera looks from a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// Bearing, degrees.
    pub pan_deg: f64,
    /// Up positive, degrees.
    pub tilt_deg: f64,
}

/// A person's body is about this wide from its middle, metres.
const BODY_M: f64 = 0.30;
/// Every so many looks of a camera move, lamps in frame are looked for.
const LAMP_LOOKS: usize = 6;
/// Points of a stand, as shares of its head's height.
const STAND: [f64; 5] = [1.0, 0.75, 0.5, 0.25, 0.0];

/// A wanted head at one look, as a still camera would have it.
#[derive(Debug, Clone, Copy)]
struct Wanted {
    at: DVec2,
    chin_m: f64,
    crown_m: f64,
    half_m: f64,
    /// How far the camera's own move has panned by then, degrees.
    panned_deg: f64,
}

/// A shot, ready to be asked about many camera places. The lens, its height and the framing stay: from every
/// place the wanted faces are held about the middle of the frame, tilted as much over or under them as now.
pub struct Places<'a> {
    plan: &'a Plan,
    pub(super) shot: &'a Shot,
    pub(super) camera: &'a Camera,
    pub(super) moments: &'a Moments,
    /// Required people present, by their place in each moment's list.
    pub(super) required: Vec<Vec<usize>>,
    rooms: Vec<Vec<DVec2>>,
    pieces: Vec<(Vec<DVec2>, f64)>,
    segments: Vec<(DVec2, DVec2)>,
    wanted: Vec<Wanted>,
    lamps: Vec<Vec<DVec3>>,
    tilt_over_deg: f64,
    half_angles: (f64, f64),
}

impl<'a> Places<'a> {
    /// Nothing without a camera or a wanted face that is ever there.
    #[must_use]
    pub fn of(plan: &'a Plan, shot: &'a Shot, moments: &'a Moments) -> Option<Places<'a>> {
        let camera = plan.shot_camera(shot)?;
        let start = View::at(camera, 0.0);
        let required: Vec<Vec<usize>> = moments
            .list
            .iter()
            .map(|m| (0..m.people.len()).filter(|i| shot.faces.contains(&m.people[*i].person)).collect::<Vec<usize>>())
            .collect();
        let mut wanted = Vec::new();
        for (m, faces) in moments.list.iter().zip(&required) {
            if m.as_before && camera.marks.is_empty() {
                continue;
            }
            let view = View::at(camera, m.at_s);
            let (by, panned_deg) = (view.eye.truncate() - start.eye.truncate(), turn_deg(start.pan_deg, view.pan_deg));
            for p in faces.iter().map(|i| &m.people[*i]) {
                wanted.push(Wanted {
                    at: p.position - by,
                    chin_m: p.head.z - p.head_half.z,
                    crown_m: p.crown_m,
                    half_m: p.head_half.y,
                    panned_deg,
                });
            }
        }
        if wanted.is_empty() {
            return None;
        }
        if camera.marks.is_empty() {
            wanted = outermost(wanted);
        }
        let points = |r: &crate::plan::Room| r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
        let rig = plan.shot_rig(shot);
        let rig = rig.as_deref();
        let lamps = rig.map(|r| r.fixtures.as_slice()).unwrap_or_default().iter().filter(|f| f.mount != Mount::Set);
        let (h, v) = start.angles_deg();
        let mut places = Places {
            plan,
            shot,
            camera,
            moments,
            required,
            rooms: plan.location.rooms.iter().map(points).collect(),
            pieces: plan
                .location
                .pieces
                .iter()
                .filter(|p| p.base_m < camera.lens_height_m)
                .map(|p| (footprint(p), p.top_m))
                .collect(),
            segments: standing_outlines(moments.stage.solids()),
            wanted,
            lamps: lamps
                .map(|f| {
                    let at = DVec2::from_array(f.position_m);
                    let parts: &[f64] = if f.mount == Mount::Stand { &STAND } else { &[1.0] };
                    parts.iter().map(|s| at.extend(f.height_m * s)).collect()
                })
                .collect(),
            tilt_over_deg: 0.0,
            half_angles: (h * 0.5, v * 0.5),
        };
        let here = places.middle(start.eye.truncate());
        places.tilt_over_deg = (start.tilt_deg - here.tilt_deg).clamp(-places.half_angles.1, places.half_angles.1);
        Some(places)
    }

    /// The way to the middle of what is wanted.
    fn middle(&self, p: DVec2) -> Aim {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let (mut down, mut up) = (f64::INFINITY, f64::NEG_INFINITY);
        let mid = self.wanted.iter().map(|w| w.at).sum::<DVec2>() / self.wanted.len() as f64;
        let lead = bearing_deg(mid - p);
        for w in &self.wanted {
            let v = w.at - p;
            let d = v.length().max(0.05);
            let aside = turn_deg(lead, bearing_deg(v) - w.panned_deg);
            low = low.min(aside);
            high = high.max(aside);
            let middle = 0.5 * (w.chin_m + w.crown_m) - self.camera.lens_height_m;
            let rise = middle.atan2(d).to_degrees();
            down = down.min(rise);
            up = up.max(rise);
        }
        Aim { pan_deg: lead + 0.5 * (low + high), tilt_deg: 0.5 * (down + up) }
    }

    /// How the camera looks from a place.
    #[must_use]
    pub fn aim(&self, p: DVec2) -> Aim {
        let m = self.middle(p);
        Aim { pan_deg: m.pan_deg, tilt_deg: (m.tilt_deg + self.tilt_over_deg).clamp(-89.0, 89.0) }
    }

    /// Ways the camera may look from a place: framed as now, else with the wanted faces in the middle of the height.
    #[must_use]
    pub fn aims(&self, p: DVec2) -> [Aim; 2] {
        [self.aim(p), self.middle(p)]
    }

    /// The view from a place at a moment.
    #[must_use]
    pub fn view(&self, p: DVec2, aim: Aim, at_s: f64) -> View {
        let start = View::at(self.camera, 0.0);
        let mut view = View::at(self.camera, at_s);
        view.eye += (p - start.eye.truncate()).extend(0.0);
        view.pan_deg += aim.pan_deg - start.pan_deg;
        view.tilt_deg += aim.tilt_deg - start.tilt_deg;
        view
    }

    /// Why the camera cannot stand at a place; none when it can.
    #[must_use]
    pub fn ruled_out(&self, p: DVec2, aim: Aim) -> Option<RuledOut> {
        if !self.rooms.is_empty() && !self.rooms.iter().any(|r| point_in_polygon(p, r)) {
            return Some(RuledOut::Outside);
        }
        if self.pieces.iter().any(|(ring, _)| point_in_polygon(p, ring)) {
            return Some(RuledOut::InPiece);
        }
        let mut nearest = f64::INFINITY;
        let view = self.view(p, aim, 0.0);
        for w in &self.wanted {
            let d = (w.at - p).length();
            nearest = nearest.min(d - w.half_m);
            if d < BODY_M {
                return Some(RuledOut::InPerson);
            }
            let aside = turn_deg(aim.pan_deg, bearing_deg(w.at - p) - w.panned_deg).abs();
            if aside + (w.half_m / d).min(1.0).asin().to_degrees() > self.half_angles.0 {
                return Some(RuledOut::DoesNotFit);
            }
            // Heads from crown to chin.
            for z in [w.crown_m, w.chin_m] {
                let turned = View { pan_deg: view.pan_deg + w.panned_deg, ..view };
                if !contains(&turned, w.at.extend(z)) {
                    return Some(RuledOut::DoesNotFit);
                }
            }
        }
        if nearest + self.camera.sensor_behind_m < self.camera.lens.close_focus_m {
            return Some(RuledOut::TooClose);
        }
        if self.room_behind_m(p, aim) < self.plan.limits.room_behind_m {
            return Some(RuledOut::NoRoomBehind);
        }
        if self.someone_never_looks(p) {
            return Some(RuledOut::TurnedAway);
        }
        let solids = self.moments.stage.solids();
        let lamp_seen =
            |v: &View| self.lamps.iter().any(|parts| parts.iter().any(|q| sees(solids, v, *q, OwnerIx::NONE)));
        let later = || {
            // A camera that moves looks elsewhere later.
            let looks = self.moments.list.iter().step_by(LAMP_LOOKS);
            looks.map(|m| self.view(p, aim, m.at_s)).any(|v| lamp_seen(&v))
        };
        if lamp_seen(&view) || (!self.camera.marks.is_empty() && later()) {
            return Some(RuledOut::LampInFrame);
        }
        None
    }

    /// Free depth behind a place over the operator's width, metres, as far as matters.
    fn room_behind_m(&self, p: DVec2, aim: Aim) -> f64 {
        let reach = self.plan.limits.room_behind_m + self.plan.limits.operator_width_m;
        let (low, high) = (p - reach, p + reach);
        let near: Vec<(DVec2, DVec2)> = self
            .segments
            .iter()
            .filter(|(a, b)| a.min(*b).cmple(high).all() && a.max(*b).cmpge(low).all())
            .copied()
            .collect();
        strip_clearance_m(p, -bearing_dir(aim.pan_deg), self.plan.limits.operator_width_m, &near)
    }

    fn someone_never_looks(&self, p: DVec2) -> bool {
        self.shot.faces.iter().any(|id| {
            let mut there = false;
            for (m, faces) in self.moments.list.iter().zip(&self.required) {
                if m.as_before {
                    continue;
                }
                for i in faces.iter().filter(|i| &m.people[**i].person == id) {
                    there = true;
                    if looks_this_way(&m.people[*i], p.extend(self.camera.lens_height_m)) {
                        return false;
                    }
                }
            }
            there
        })
    }

    /// The least visible share of every wanted face over the whole move from a place, exactly; gives up and
    /// returns what it has when that falls below `floor`.
    #[must_use]
    pub fn least_share(&self, p: DVec2, aim: Aim, floor: f64) -> f64 {
        let mut least = 1.0_f64;
        for (m, faces) in self.moments.list.iter().zip(&self.required) {
            if m.as_before && self.camera.marks.is_empty() {
                continue;
            }
            let view = self.view(p, aim, m.at_s);
            for i in faces {
                let face = face_view_among(&[self.moments.stage.solids(), &m.bodies], &view, &m.people[*i]);
                if face.turned >= TURNED_AWAY {
                    least = least.min(face.clear);
                }
                if least < floor {
                    return least;
                }
            }
        }
        least
    }

    /// As [`Places::least_share`], and 0 when a wanted face is not whole in frame or is turned away: how clear all
    /// faces are.
    #[must_use]
    pub fn least_clear(&self, p: DVec2, aim: Aim, floor: f64) -> f64 {
        let framed = self.moments.list.iter().zip(&self.required).all(|(m, faces)| {
            if m.as_before && self.camera.marks.is_empty() {
                return true;
            }
            let view = self.view(p, aim, m.at_s);
            let clear = |q: &Placed| super::in_frame_share(&view, q) >= 1.0 && looks_this_way(q, view.eye);
            faces.iter().all(|i| clear(&m.people[*i]))
        });
        if framed { self.least_share(p, aim, floor) } else { 0.0 }
    }

    /// Why a place is ruled out, with what and whom, in words.
    #[must_use]
    pub fn why(&self, p: DVec2, ruled: RuledOut) -> String {
        let unit = self.plan.length_unit;
        let l = |m: f64| format_length(m, unit);
        let aim = self.aim(p);
        match ruled {
            RuledOut::InPiece => {
                let piece = self.plan.location.pieces.iter().find(|x| point_in_polygon(p, &footprint(x)));
                piece.map_or(ruled.label().into(), |x| say!("stands-here", x = piece_label(x)))
            }
            RuledOut::NoRoomBehind => say!(
                "behind-the-camera-where-an-operator",
                aim = l(self.room_behind_m(p, aim)),
                room_behind_m = l(self.plan.limits.room_behind_m)
            ),
            RuledOut::TooClose => {
                say!("a-face-is-nearer-than-the", close_focus_m = l(self.camera.lens.close_focus_m))
            }
            _ => ruled.label().into(),
        }
    }
}

/// Within this of the limit, the rule of thumb for how much of a face shows is not trusted.
const UNSURE: f64 = 0.2;

/// Whether enough of a face is turned to a lens. About (1 + cos)/2 of it shows; near the limit it is counted.
pub(super) fn looks_this_way(p: &Placed, eye: DVec3) -> bool {
    let v = (eye.truncate() - p.position).normalize_or_zero();
    let about = 0.5 + 0.5 * bearing_dir(p.facing_deg).dot(v);
    if (about - TURNED_AWAY).abs() > UNSURE {
        return about > TURNED_AWAY;
    }
    f64::from(Head::turned(Head::of(p).unit(eye.as_vec3())).0) >= TURNED_AWAY
}

/// Of all heads, those on the outline of their places (Andrew's monotone chain, 1979): nothing else is furthest
/// to a side. Highest crown and lowest chin of all go with each.
fn outermost(mut all: Vec<Wanted>) -> Vec<Wanted> {
    let crown = all.iter().map(|w| w.crown_m).fold(f64::NEG_INFINITY, f64::max);
    let chin = all.iter().map(|w| w.chin_m).fold(f64::INFINITY, f64::min);
    all.sort_by(|a, b| a.at.x.total_cmp(&b.at.x).then(a.at.y.total_cmp(&b.at.y)));
    all.dedup_by(|a, b| a.at == b.at);
    let half = |list: &mut dyn Iterator<Item = Wanted>| {
        let mut out: Vec<Wanted> = Vec::new();
        for w in list {
            while out.len() >= 2 {
                let (a, b) = (out[out.len() - 2].at, out[out.len() - 1].at);
                if (b - a).perp_dot(w.at - a) > 0.0 {
                    break;
                }
                out.pop();
            }
            out.push(w);
        }
        out.pop();
        out
    };
    let mut hull = if all.len() < 3 {
        all
    } else {
        let mut hull = half(&mut all.iter().copied());
        hull.extend(half(&mut all.iter().rev().copied()));
        hull
    };
    hull.iter_mut().for_each(|w| (w.crown_m, w.chin_m) = (crown, chin));
    hull
}
