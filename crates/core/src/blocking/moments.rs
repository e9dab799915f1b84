//! A shot from its first second to its last: who is where at every look, and what the lens sees of them.

use super::{FaceView, face_view_among, may_be_seen};
use crate::facts::TURNED_AWAY;
use crate::geometry::{OwnerIx, Solids};
use crate::notices::Floor;
use crate::plan::{Location, Mark, Person, PersonId, Plan, Shared, Shot};
use crate::power::Floorway;
use crate::scene::{Placed, Stage, View, add_body, owner_name};
use glam::DVec2;
use rayon::prelude::*;
use serde::Serialize;
use std::sync::{Arc, OnceLock};
use tapemark_words::say;

/// Looks a second: half of 25 frames.
pub const LOOKS_PER_S: f64 = 12.5;
/// Most looks at one shot.
const MOST_LOOKS: f64 = 4_000.0;

/// The people of a shot at one look.
#[derive(Debug, Clone)]
pub struct Moment {
    /// When, seconds.
    pub at_s: f64,
    /// Everyone present.
    pub people: Vec<Placed>,
    /// Their bodies.
    pub bodies: Solids,
    /// Whether everyone stands as at the look before.
    pub as_before: bool,
}

/// Everyone's places over a whole shot. Depends on rooms, cast and marks, not on the camera: dragging that asks
/// anew but places nobody again.
#[derive(Debug, Clone)]
pub struct Moments {
    /// What stands still.
    pub stage: Stage,
    /// The looks, in order; one when nothing moves.
    pub list: Vec<Moment>,
    length_s: f64,
    of: Placing,
    floorway: OnceLock<Arc<Floorway>>,
}

/// What places depend on.
#[derive(Debug, Clone, PartialEq)]
struct Placing {
    location: Shared<Location>,
    cast: Vec<Person>,
    marks: Vec<Mark>,
    times: Vec<f64>,
}

impl Placing {
    fn of(plan: &Plan, shot: &Shot) -> Placing {
        Placing {
            location: plan.location.clone(),
            cast: plan.cast.clone(),
            marks: shot.marks.clone(),
            times: looks(plan, shot),
        }
    }
}

impl Moments {
    /// Places everyone of a shot at every look.
    #[must_use]
    pub fn of(plan: &Plan, shot: &Shot) -> Moments {
        Moments::on(Stage::of(plan), plan, shot)
    }

    /// As [`Moments::of`], on a stage that is already built.
    #[must_use]
    pub fn on(stage: Stage, plan: &Plan, shot: &Shot) -> Moments {
        let of = Placing::of(plan, shot);
        let mut list: Vec<Moment> = Vec::new();
        for at_s in of.times.iter().copied() {
            let people = stage.people(plan, shot, at_s);
            let as_before = list.last().is_some_and(|m| m.people == people);
            let bodies = match list.last() {
                Some(m) if as_before => m.bodies.clone(),
                _ => {
                    let mut bodies = Solids::default();
                    people.iter().for_each(|p| add_body(&mut bodies, p));
                    bodies
                }
            };
            list.push(Moment { at_s, people, bodies, as_before });
        }
        Moments { stage, list, length_s: shot.length_s, of, floorway: OnceLock::new() }
    }

    /// Whether they are the places of this shot as the plan now is.
    #[must_use]
    pub fn fits(&self, plan: &Plan, shot: &Shot) -> bool {
        self.length_s == shot.length_s
            && self.of.location == plan.location
            && self.of.cast == plan.cast
            && self.of.marks == shot.marks
            && self.of.times == looks(plan, shot)
    }

    /// The stage of a plan whose place and cast are these moments' own.
    #[must_use]
    pub fn stage_of(&self, plan: &Plan) -> Option<&Stage> {
        (self.of.location == plan.location && self.of.cast == plan.cast).then_some(&self.stage)
    }

    /// What the lens sees of a person's face at a look.
    #[must_use]
    pub fn face(&self, moment: &Moment, view: &View, person: &Placed) -> FaceView {
        face_view_among(&[self.stage.solids(), &moment.bodies], view, person)
    }

    /// The name of whom or what an owner stands for.
    #[must_use]
    pub fn name_of(&self, plan: &Plan, ix: OwnerIx) -> String {
        owner_name(plan, self.stage.solids().owner_of(ix))
    }

    /// The floor as cables lie on it, worked out once.
    pub(crate) fn floorway(&self, plan: &Plan) -> &Floorway {
        self.floorway.get_or_init(|| Floorway::of(plan))
    }

    /// Takes over what walls and openings alone decide from moments worked out before.
    #[must_use]
    pub fn keeping(self, before: &Moments) -> Moments {
        let (a, b) = (&self.of.location, &before.of.location);
        match before.floorway.get() {
            Some(floor) if a.rooms == b.rooms && a.openings == b.openings => {
                Moments { floorway: OnceLock::from(floor.clone()), ..self }
            }
            _ => self,
        }
    }

    /// The free floor, worked out once for a place.
    pub(crate) fn floor(&self, plan: &Plan) -> Arc<Floor> {
        plan.location.derived(|_| Floor::of(plan, self.stage.solids()))
    }

    /// Middle between a look and the one before: where a state that changed between them began.
    fn border(&self, i: usize) -> f64 {
        if i == 0 { 0.0 } else { 0.5 * (self.list[i - 1].at_s + self.list[i].at_s) }
    }
}

/// The moments at which something can change in a shot.
fn looks(plan: &Plan, shot: &Shot) -> Vec<f64> {
    let moves = shot.marks.iter().any(|m| m.from_s > 0.0 || m.to_s.is_some())
        || plan.shot_camera(shot).is_some_and(|c| !c.marks.is_empty());
    if !moves {
        return vec![0.0];
    }
    let step = (1.0 / LOOKS_PER_S).max(shot.length_s / MOST_LOOKS);
    let count = (shot.length_s / step).ceil() as usize;
    (0..=count).map(|i| (i as f64 * step).min(shot.length_s)).collect()
}

/// How a person is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// In frame, and enough of the face is clear.
    InFrame,
    /// In frame, but the frame's edge cuts the head.
    Cut,
    /// In frame, turned away from the lens.
    TurnedAway,
    /// In frame, hidden by somebody or something.
    Hidden,
    /// Out of frame.
    OutOfFrame,
    /// Not there yet, or gone.
    Absent,
}

impl Seen {
    /// In words.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Seen::InFrame => say!("in-frame"),
            Seen::Cut => say!("cut-by-the-frames-edge"),
            Seen::TurnedAway => say!("turned-away"),
            Seen::Hidden => say!("hidden"),
            Seen::OutOfFrame => say!("out-of-frame"),
            Seen::Absent => say!("not-there"),
        }
    }
}

/// A stretch of a shot over which a person is seen alike.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Span {
    /// From, seconds.
    pub from_s: f64,
    /// To, seconds.
    pub to_s: f64,
    /// How.
    pub seen: Seen,
    /// Who or what hides most of the face, when hidden.
    pub by: Option<String>,
    /// Least share of the face seen, 0–1; absent when there is no face to see.
    pub least_clear_share: Option<f64>,
}

/// One person over a whole shot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lane {
    /// Who.
    pub person: PersonId,
    /// Name.
    pub name: String,
    /// Whether the shot needs the face.
    pub required: bool,
    /// Stretches, from the first second to the last without a gap.
    pub spans: Vec<Span>,
}

/// Everyone over a whole shot; nothing before there is a camera.
#[must_use]
pub fn lanes(plan: &Plan, shot: &Shot, moments: &Moments) -> Vec<Lane> {
    let Some(camera) = plan.shot_camera(shot) else { return Vec::new() };
    let still = camera.marks.is_empty();
    let cast: Vec<_> = plan.cast.iter().filter(|p| shot.marks.iter().any(|m| m.person == p.id)).collect();
    let looks: Vec<Option<Vec<Look>>> = moments
        .list
        .par_iter()
        .with_min_len(4)
        .map(|m| {
            // Nothing moved since the look before: it answers for this one.
            if m.as_before && still {
                return None;
            }
            let view = View::at(camera, m.at_s);
            Some(cast.iter().map(|p| look(plan, moments, m, &view, &p.id)).collect())
        })
        .collect();
    cast.iter()
        .enumerate()
        .map(|(k, p)| {
            let mut spans: Vec<Span> = Vec::new();
            let mut last: Option<&Look> = None;
            for (i, answer) in looks.iter().enumerate() {
                let Some(here) = answer.as_ref().map(|a| &a[k]).or(last) else { continue };
                last = Some(here);
                let (seen, by, clear) = here;
                let by = by.map(|ix| moments.name_of(plan, ix));
                let border = moments.border(i);
                match spans.last_mut() {
                    Some(s) if s.seen == *seen && s.by == by => {
                        s.least_clear_share = s.least_clear_share.zip(*clear).map(|(a, b)| a.min(b));
                    }
                    _ => {
                        if let Some(s) = spans.last_mut() {
                            s.to_s = border;
                        }
                        spans.push(Span {
                            from_s: border,
                            to_s: moments.length_s,
                            seen: *seen,
                            by,
                            least_clear_share: *clear,
                        });
                    }
                }
            }
            Lane { person: p.id.clone(), name: p.name.clone(), required: shot.faces.contains(&p.id), spans }
        })
        .collect()
}

type Look = (Seen, Option<OwnerIx>, Option<f64>);

fn look(plan: &Plan, moments: &Moments, m: &Moment, view: &View, id: &PersonId) -> Look {
    let Some(p) = m.people.iter().find(|p| &p.person == id) else { return (Seen::Absent, None, None) };
    // Whether a face is in frame costs no ray.
    if !may_be_seen(view, p) {
        return (Seen::OutOfFrame, None, None);
    }
    let face = moments.face(m, view, p);
    let clear = Some(face.clear);
    if face.turned < TURNED_AWAY {
        (Seen::TurnedAway, None, clear)
    } else if face.clear < plan.limits.face_share {
        (Seen::Hidden, face.hidden_by.first().map(|h| h.0), clear)
    } else if face.in_frame < 1.0 {
        (Seen::Cut, None, clear)
    } else {
        (Seen::InFrame, None, clear)
    }
}

/// A person walking from one mark to the next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Walk {
    /// Who.
    pub person: PersonId,
    /// From, seconds.
    pub from_s: f64,
    /// To, seconds.
    pub to_s: f64,
    /// How far, metres.
    pub distance_m: f64,
    /// How fast, metres a second.
    pub speed_m_s: f64,
    /// From where, metres.
    pub from_m: [f64; 2],
    /// To where, metres.
    pub to_m: [f64; 2],
}

/// In less than this nobody goes anywhere, seconds.
const NO_TIME_S: f64 = 0.05;

/// Every walk of a shot that has a time to be walked in.
#[must_use]
pub fn walks(plan: &Plan, shot: &Shot) -> Vec<Walk> {
    let mut out = ways(plan, shot);
    out.retain(|w| w.to_s - w.from_s >= NO_TIME_S);
    out
}

/// Ways from mark to mark that have no time at all: whoever goes them is suddenly there.
pub(crate) fn leaps(plan: &Plan, shot: &Shot) -> Vec<Walk> {
    let mut out = ways(plan, shot);
    out.retain(|w| (0.0..NO_TIME_S).contains(&(w.to_s - w.from_s)));
    out
}

fn ways(plan: &Plan, shot: &Shot) -> Vec<Walk> {
    let mut out = Vec::new();
    for person in &plan.cast {
        let mut marks: Vec<_> = shot.marks.iter().filter(|m| m.person == person.id).collect();
        marks.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
        for pair in marks.windows(2) {
            let (a, b) = (DVec2::from_array(pair[0].position_m), DVec2::from_array(pair[1].position_m));
            let distance_m = a.distance(b);
            if distance_m < 0.05 {
                continue;
            }
            let (from_s, to_s) = (pair[0].to_s.unwrap_or(pair[1].from_s), pair[1].from_s);
            out.push(Walk {
                person: person.id.clone(),
                from_s,
                to_s,
                distance_m,
                speed_m_s: distance_m / (to_s - from_s).max(NO_TIME_S),
                from_m: a.to_array(),
                to_m: b.to_array(),
            });
        }
    }
    out
}
