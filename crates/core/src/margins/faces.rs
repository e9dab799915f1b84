//! Clear: how far the person, anybody else or the camera may slip before a face shows too little.

use super::frame::head_out;
use super::search::{Judged, nearest_break};
use super::{Look, Looks, Margin, Slips};
use crate::blocking::{clear_share_among, face_view_among};
use crate::facts::TURNED_AWAY;
use crate::geometry::Solids;
use crate::plan::PersonId;
use crate::scene::{Placed, View, add_body};
use glam::{DVec2, DVec3};
use rayon::prelude::*;
use std::f64::consts::SQRT_2;

/// An edge that moves over a head by half its breadth covers at most this share of the face: on a sphere, zones of
/// one height have one area (Archimedes), half of it for a hemisphere; as much again for faces half turned.
const COVERS: f64 = 0.75;
/// Turning by one radian turns no more than this share of a face away (half of it on a sphere).
const TURNS: f64 = 0.7;
/// So much more of the face must stay clear than the plan asks before a whole square of slips holds: few points of a
/// face are asked.
const SPARE: f64 = 0.02;
/// The looks at which things come nearest are asked first: what a head so much larger shows tells, metres.
const LARGER_M: f64 = 0.12;
/// So many questions are asked at a time with one reach, so that the answer does not depend on who is first.
const AT_A_TIME: usize = 8;
/// The way from lens to face is asked about in pieces, by their shares of it.
const PIECES: [f64; 7] = [0.0, 0.1, 0.2, 0.35, 0.55, 0.8, 1.0];

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
        over if over >= rate * half * SQRT_2 => Judged::Holds,
        _ => Judged::Unsure,
    })
}

/// The slip that leaves too little of a face to see.
fn hidden(stage: &Solids, limit: f64, look: &Look<'_>, p: &Placed, slips: &Slips, reach: f64) -> Option<DVec2> {
    let (eye, radius) = (look.view.eye, p.head_half.max_element());
    let room = reach * SQRT_2 + radius;
    let (low, high) = (eye.min(p.head) - room, eye.max(p.head) + room);
    let near = stage.within(low.truncate(), high.truncate());
    let bodies = &look.moment.bodies;
    match slips {
        Slips::Person(id) if *id == p.person => nearest_break(reach, |d, half| {
            let (there, aside) = (moved(p, d), half * SQRT_2);
            let lines = Lines { eye, face: &there, wide: [0.0, radius + aside] };
            let question = Question { limit, aside, shadow: |_| 1.0 };
            question.judge(&[], &[&near, bodies], &lines, &look.view)
        }),
        Slips::Person(id) => {
            let other = look.moment.people.iter().find(|q| &q.person == id)?;
            let mut rest = Solids::default();
            look.moment.people.iter().filter(|q| q.owner != other.owner).for_each(|q| add_body(&mut rest, q));
            nearest_break(reach, |d, half| {
                let mut body = Solids::default();
                add_body(&mut body, &moved(other, d));
                let aside = half * SQRT_2;
                let lines = Lines { eye, face: p, wide: [aside, radius + aside] };
                let question = Question { limit, aside, shadow: |from: f64| 1.0 / from };
                question.judge(&[&near, &rest], &[&body], &lines, &look.view)
            })
        }
        Slips::Camera(_) => nearest_break(reach, |d, half| {
            let view = View { eye: eye + d.extend(0.0), ..look.view.clone() };
            let aside = half * SQRT_2;
            let lines = Lines { eye: view.eye, face: p, wide: [aside, radius] };
            let question = Question { limit, aside, shadow: |from: f64| (1.0 - from) / from };
            question.judge(&[], &[&near, bodies], &lines, &view)
        }),
        Slips::Lamp(_) => None,
    }
}

/// The lines of sight of all slips of a square: how wide they lie about the way from its middle's lens to its
/// middle's face, at the lens and at the face.
struct Lines<'a> {
    eye: DVec3,
    face: &'a Placed,
    wide: [f64; 2],
}

impl Lines<'_> {
    /// Whether anything may stand in their way, and from which share of the way on.
    fn met(&self, solids: &[&Solids]) -> Option<f64> {
        let way = self.face.head - self.eye;
        let wide = |share: f64| self.wide[0] + (self.wide[1] - self.wide[0]) * share;
        let piece = PIECES.windows(2).find(|w| {
            let [a, b] = [w[0], w[1]].map(|share| (self.eye + way * share).as_vec3());
            let radius = wide(w[0]).max(wide(w[1])) as f32;
            solids.iter().any(|s| !s.in_the_way(a, b, radius, self.face.owner).is_empty())
        });
        piece.map(|w| w[0].max(PIECES[1]))
    }

    /// Whether the face stays clear whatever in `moving` comes nearer by `aside`, `still` standing where it is.
    fn hold(&self, limit: f64, still: &[&Solids], moving: &[&Solids], aside: f64, view: &View) -> bool {
        let way = [self.eye.as_vec3(), self.face.head.as_vec3()];
        let radius = self.wide[0].max(self.wide[1]) as f32;
        let wider = |s: &&Solids| {
            let few = s.in_the_way(way[0], way[1], radius, self.face.owner);
            s.widened(&few, aside as f32)
        };
        let Some(wider) = moving.iter().map(wider).collect::<Option<Vec<Solids>>>() else { return false };
        let all: Vec<&Solids> = still.iter().copied().chain(&wider).collect();
        // Turning to the lens shows parts of the face that were not asked about.
        let far = (self.face.head - self.eye).truncate().length() - aside;
        let turns = TURNS * aside / far.max(0.2);
        clear_share_among(&all, view, self.face) >= (limit + SPARE + turns).min(1.0)
    }
}

/// What is asked of a square of slips.
struct Question<S> {
    limit: f64,
    /// How far its slips lie from its middle, metres.
    aside: f64,
    /// How far the shadow of a thing at a share of the way goes over the face for a slip of one.
    shadow: S,
}

impl<S: Fn(f64) -> f64> Question<S> {
    /// `still` and `moving` are all that may hide the face; of `moving` a slip may bring something before it.
    fn judge(&self, still: &[&Solids], moving: &[&Solids], lines: &Lines<'_>, view: &View) -> Judged {
        let Some(from) = lines.met(moving) else { return Judged::Holds };
        let all: Vec<&Solids> = still.iter().chain(moving).copied().collect();
        let over = clear_share_among(&all, view, lines.face) - self.limit;
        let covered = COVERS * (self.shadow)(from) * self.aside / lines.face.head_half.x;
        if over < 0.0 {
            Judged::Breaks
        } else if self.aside > 0.0 && (over >= covered || lines.hold(self.limit, still, moving, self.aside, view)) {
            Judged::Holds
        } else {
            Judged::Unsure
        }
    }
}

/// What is seen of a larger head: the less, the nearer something is to hiding the face.
fn larger_share(stage: &Solids, look: &Look<'_>, p: &Placed) -> f64 {
    let larger = Placed { head_half: p.head_half + LARGER_M, ..p.clone() };
    clear_share_among(&[stage, &look.moment.bodies], &look.view, &larger)
}

fn moved(p: &Placed, by: DVec2) -> Placed {
    Placed { position: p.position + by, head: p.head + by.extend(0.0), ..p.clone() }
}
