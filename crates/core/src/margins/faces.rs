//! Clear: how far the person, anybody else or the camera may slip before a face shows too little.

use super::frame::head_out;
use super::search::{Judged, nearest_break};
use super::{Look, Looks, Margin, Slips};
use crate::blocking::face_view_among;
use crate::facts::TURNED_AWAY;
use crate::geometry::Solids;
use crate::plan::PersonId;
use crate::scene::{Placed, View, add_body};
use glam::{DVec2, DVec3};
use rayon::prelude::*;

/// An edge that moves over a head by half its breadth covers at most this share of the face: on a sphere, zones of
/// one height have one area (Archimedes), half of it for a hemisphere; as much again for faces half turned.
const COVERS: f64 = 0.75;
/// Turning by one radian turns no more than this share of a face away (half of it on a sphere).
const TURNS: f64 = 0.7;
/// The looks at which things come nearest are asked first: what a head so much larger shows tells, metres.
const LARGER_M: f64 = 0.12;
/// So many questions are asked at a time with one reach, so that the answer does not depend on who is first.
const AT_A_TIME: usize = 8;
/// Shares of the way from lens to face that are asked whether anything is near them.
const WAYS: [f64; 6] = [0.9, 0.7, 0.5, 0.35, 0.25, 0.15];

/// By how much a face stays in frame, turned to the lens and hidden by no more than the plan allows.
pub(super) fn clear(looks: &Looks<'_>, id: &PersonId) -> Option<Margin> {
    let limit = looks.plan.limits.face_share;
    let stage = looks.moments.stage.solids();
    let shown = |look: &Look<'_>, p: &Placed| {
        let face = face_view_among(&[stage, &look.moment.bodies], &look.view, p);
        Some(face.in_frame >= 1.0 && face.turned >= TURNED_AWAY && face.clear >= limit)
    };
    let held = looks.held(id, shown);
    let own = Slips::Person(id.clone());
    let edge = held.iter().filter_map(|i| Some((head_out(&looks.list[*i], looks.placed(*i, id)?), *i)));
    let (slip, i) = edge.min_by(|a, b| a.0.total_cmp(&b.0))?;
    let mut best = looks.margin(slip, own.clone(), i);
    let turning: Vec<(usize, &Slips)> = held.iter().map(|i| (*i, &own)).collect();
    ask_all(looks, id, &mut best, &turning, |look, p, _, reach| turned_away(look, p, reach));
    let mut nearest: Vec<(f64, usize)> = held
        .par_iter()
        .filter_map(|i| Some((larger_share(stage, &looks.list[*i], looks.placed(*i, id)?), *i)))
        .collect();
    nearest.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let camera = Slips::Camera(looks.camera.clone());
    let others: Vec<Slips> =
        looks.plan.cast.iter().filter(|p| &p.id != id).map(|p| Slips::Person(p.id.clone())).collect();
    let who: Vec<&Slips> = [&own, &camera].into_iter().chain(&others).collect();
    let hiding: Vec<(usize, &Slips)> = nearest.iter().flat_map(|(_, i)| who.iter().map(|s| (*i, *s))).collect();
    ask_all(looks, id, &mut best, &hiding, |look, p, slips, reach| hidden(stage, limit, look, p, slips, reach));
    Some(best)
}

/// Asks how far each may slip at each look and keeps the least.
fn ask_all(
    looks: &Looks<'_>,
    id: &PersonId,
    best: &mut Margin,
    questions: &[(usize, &Slips)],
    ask: impl Fn(&Look<'_>, &Placed, &Slips, f64) -> Option<DVec2> + Sync,
) {
    for some in questions.chunks(AT_A_TIME) {
        let reach = best.margin_m;
        let slips: Vec<Option<f64>> = some
            .par_iter()
            .map(|(i, s)| ask(&looks.list[*i], looks.placed(*i, id)?, s, reach).map(DVec2::length))
            .collect();
        for ((i, who), slip) in some.iter().zip(slips) {
            if let Some(slip) = slip.filter(|s| *s < best.margin_m) {
                *best = looks.margin(slip, (*who).clone(), *i);
            }
        }
    }
}

/// The slip of the person, or of the camera the other way, that turns the face away.
fn turned_away(look: &Look<'_>, p: &Placed, reach: f64) -> Option<DVec2> {
    let turned = |d: DVec2| face_view_among(&[], &look.view, &moved(p, d)).turned - TURNED_AWAY;
    let far = (look.view.eye - p.head).truncate().length() - reach;
    let rate = TURNS / far.max(0.2);
    nearest_break(reach, |d, half| match turned(d) {
        over if over < 0.0 => Judged::Breaks,
        over if over >= rate * half * std::f64::consts::SQRT_2 => Judged::Holds,
        _ => Judged::Unsure,
    })
}

/// The slip that leaves too little of a face to see.
fn hidden(stage: &Solids, limit: f64, look: &Look<'_>, p: &Placed, slips: &Slips, reach: f64) -> Option<DVec2> {
    let bodies = &look.moment.bodies;
    match slips {
        Slips::Person(id) if *id == p.person => {
            let face = |d: DVec2| (look.view.clone(), moved(p, d));
            let question = Question { limit, shadow: 1.0, head_half_m: p.head_half.x };
            nearest_break(reach, |d, half| question.judge(&[stage, bodies], face(d), half))
        }
        Slips::Person(id) => {
            let other = look.moment.people.iter().find(|q| &q.person == id)?;
            let mut rest = Solids::default();
            look.moment.people.iter().filter(|q| q.owner != other.owner).for_each(|q| add_body(&mut rest, q));
            let far = (p.head - look.view.eye).length();
            let off = other.position.distance(look.view.eye.truncate()) - other.body_half[0] - reach;
            let question = Question { limit, shadow: (far / off.max(0.25)).max(1.0), head_half_m: p.head_half.x };
            nearest_break(reach, |d, half| {
                let mut body = Solids::default();
                add_body(&mut body, &moved(other, d));
                let radius = p.head_half.max_element() + half * std::f64::consts::SQRT_2;
                let near = |r: f64| body.in_the_way(look.view.eye.as_vec3(), p.head.as_vec3(), r as f32, p.owner);
                if half > 0.0 && near(radius).is_empty() {
                    return Judged::Holds;
                }
                question.judge(&[stage, &rest, &body], (look.view.clone(), p.clone()), half)
            })
        }
        Slips::Camera(_) => {
            let question =
                Question { limit, shadow: camera_shadow(stage, bodies, look, p, reach), head_half_m: p.head_half.x };
            let face = |d: DVec2| (View { eye: look.view.eye + d.extend(0.0), ..look.view }, p.clone());
            nearest_break(reach, |d, half| question.judge(&[stage, bodies], face(d), half))
        }
        Slips::Lamp(_) => None,
    }
}

/// How far shadows go over a face when the camera slips by one: (face − thing)/thing, by their distances from the
/// lens.
fn camera_shadow(stage: &Solids, bodies: &Solids, look: &Look<'_>, p: &Placed, reach: f64) -> f64 {
    let way = p.head - look.view.eye;
    let radius = (p.head_half.max_element() + reach) as f32;
    let open = |share: f64| {
        let to = (look.view.eye + way * share).as_vec3();
        [stage, bodies].iter().all(|s| s.in_the_way(look.view.eye.as_vec3(), to, radius, p.owner).is_empty())
    };
    let from = WAYS.into_iter().find(|share| open(*share)).unwrap_or(0.1);
    ((1.0 - from) / from).max(0.25)
}

/// What is asked of a square of slips.
struct Question {
    limit: f64,
    /// How far a shadow goes over the face for a slip of one.
    shadow: f64,
    head_half_m: f64,
}

impl Question {
    fn judge(&self, solids: &[&Solids], (view, p): (View, Placed), half: f64) -> Judged {
        let clear = face_view_among(solids, &view, &p).clear;
        let aside = self.shadow * half * std::f64::consts::SQRT_2;
        let over = clear - self.limit;
        if over < 0.0 {
            Judged::Breaks
        } else if over >= COVERS * aside / self.head_half_m || (clear >= 1.0 && wholly_seen(solids, &view, &p, aside)) {
            Judged::Holds
        } else {
            Judged::Unsure
        }
    }
}

/// Whether a head that holds all places of this one up to a distance aside is seen whole, with nothing inside it.
fn wholly_seen(solids: &[&Solids], view: &View, p: &Placed, aside: f64) -> bool {
    let larger = larger(p, aside);
    let radius = larger.head_half.max_element();
    let way = view.eye - larger.head;
    let (middle, before) = (larger.head.as_vec3(), (larger.head + way.normalize_or_zero() * 0.01).as_vec3());
    way.length() > 2.0 * radius
        && solids.iter().all(|s| s.in_the_way(middle, before, radius as f32, p.owner).is_empty())
        && face_view_among(solids, view, &larger).clear >= 1.0
}

/// A head whose face holds the face at all places up to a distance aside.
fn larger(p: &Placed, aside: f64) -> Placed {
    let grown = DVec3::new(2.0 * aside, 2.0 * aside, aside);
    Placed { head: p.head - p.face_normal() * aside, head_half: p.head_half + grown, ..p.clone() }
}

/// What is seen of a larger head: the less, the nearer something is to hiding the face.
fn larger_share(stage: &Solids, look: &Look<'_>, p: &Placed) -> f64 {
    face_view_among(&[stage, &look.moment.bodies], &look.view, &larger(p, LARGER_M)).clear
}

fn moved(p: &Placed, by: DVec2) -> Placed {
    Placed { position: p.position + by, head: p.head + by.extend(0.0), ..p.clone() }
}
