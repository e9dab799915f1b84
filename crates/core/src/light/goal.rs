//! From a wanted light to what to do to each lamp.

use super::attempt::Attempt;
use super::{Role, Spot, Transport, background, face_readings, middle_grey_cd_m2};
use crate::edit::{Edit, Item};
use crate::notices::{Broken, Severity};
use crate::optics;
use crate::plan::{FixtureId, PersonId, Plan, Rig, Shot};
use crate::scene::Scene;
use glam::DVec2;
use serde::Serialize;
use tapemark_words::{figure, say};

/// What light is wanted at a face.
#[derive(Debug, Clone, PartialEq)]
pub struct Goal {
    /// Whose face.
    pub person: PersonId,
    /// Stop the meter at the face shall read.
    pub t_stop: f64,
    /// Key and fill together over fill alone, as a ratio (2 is one stop). Fill is what stays when the key is
    /// shaded from the meter: other lamps and the key's own bounce.
    pub ratio: f64,
    /// Where the wall behind shall fall, stops from middle grey at that stop.
    pub background_stops: Option<f64>,
}

/// What to do to one fixture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    /// Which.
    pub fixture: FixtureId,
    /// What it is called.
    pub name: String,
    /// Share of full light.
    pub dimmer: f64,
    /// Scrims, stops.
    pub scrim_stops: f64,
    /// Whether it burns.
    pub on: bool,
    /// New place, when it moves, metres.
    pub position_m: Option<[f64; 2]>,
    /// New height of the head, when it moves, metres.
    pub height_m: Option<f64>,
    /// New bearing, when it moves, degrees.
    pub pan_deg: Option<f64>,
    /// From the face after the move, metres.
    pub distance_m: f64,
}

/// What can be done, measured after doing it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reached {
    /// Whether every wish is met within [`WITHIN_STOPS`] and nothing is broken.
    pub met: bool,
    /// Whether every wish is met, whatever that breaks.
    pub wishes_met: bool,
    /// Stop at the face.
    pub t_stop: f64,
    /// Key and fill over fill.
    pub ratio: f64,
    /// Where the wall behind falls.
    pub background_stops: Option<f64>,
    /// What to do, lamp by lamp; empty when nothing needs doing.
    pub changes: Vec<Change>,
    /// Why a wish is not met, one line each.
    pub reasons: Vec<String>,
    /// What it had to break in the shots these lamps light and in those that cut together with them, the worst first.
    pub broken: Vec<Broken>,
    /// The rig after the changes.
    #[serde(skip)]
    pub rig: Rig,
}

impl Reached {
    /// The changes as one edit.
    #[must_use]
    pub fn edit(&self) -> Edit {
        let rig = &self.rig.id;
        let changed = self.rig.fixtures.iter().filter(|f| self.changes.iter().any(|c| c.fixture == f.id));
        let edits = changed.map(|f| Edit::Put(Item::Fixture { rig: rig.clone(), fixture: f.clone() })).collect();
        Edit::Together { label: say!("set-lamps-for-the-light-wanted").into(), edits }
    }
}

/// How near a wish must be, stops.
pub const WITHIN_STOPS: f64 = 0.1;
/// Times lamps are moved and measured again.
const MOVES: usize = 10;
/// What a broken thing counts beside wishes that are off, in stops: a problem, a caution.
const BROKEN_STOPS: [f64; 2] = [1.0, 100.0];

/// What a rig does at the face and behind it, per emitter as it is set.
pub(super) struct Measured {
    pub total_lx: f64,
    /// Key's index and name.
    pub key: usize,
    pub key_name: String,
    /// Each emitter's light at the face.
    pub at_face: Vec<f64>,
    /// The part of it that fills: all but the key's direct light, as when the key is shaded from the meter.
    pub fill: Vec<f64>,
    pub behind: Vec<f64>,
    pub background: Option<Spot>,
}

/// Measures a rig; the key is the lamp named, else the one that measures as key.
pub(super) fn measure(
    plan: &Plan,
    shot: &Shot,
    scene: &Scene,
    light: &Transport,
    person: &PersonId,
    key: Option<&FixtureId>,
) -> Result<Measured, String> {
    let readings = face_readings(plan, scene, light);
    let (_, r) =
        readings.iter().find(|(p, _)| p == person).ok_or_else(|| say!("the-person-is-not-in-the").to_string())?;
    let key = r
        .parts
        .iter()
        .position(|p| key.map_or(p.role == Role::Key, |k| &p.fixture == k))
        .ok_or_else(|| say!("no-lamp-lights-this-face-from").to_string())?;
    let behind_all = background(plan, shot, scene, light);
    let behind = match &behind_all {
        None => vec![0.0; r.parts.len()],
        Some(s) => light.parts_of_wall(scene, s),
    };
    Ok(Measured {
        total_lx: r.illuminance_lx,
        key,
        key_name: r.parts[key].name.clone(),
        at_face: r.parts.iter().map(|p| p.direct_lx + p.bounced_lx).collect(),
        fill: r
            .parts
            .iter()
            .enumerate()
            .map(|(i, p)| if i == key { p.bounced_lx } else { p.direct_lx + p.bounced_lx })
            .collect(),
        behind,
        background: behind_all,
    })
}

/// Finds dimmers, scrims and, if need be, places that reach a goal; the plan is not changed.
///
/// Light is linear in the lamps' levels, so levels come from least squares with bounds (coordinate descent on
/// the shares of three wishes, drawn lightly to the levels as they are). When a lamp on a stand at full is too weak
/// it is brought nearer along its line to the face, as far as it stays out of frame, off people and clear of heat
/// in every shot it lights, and all is measured again. What is then broken in those shots and in the ones that cut
/// together with them is avoided where the lamp's old place avoids it, and named where not: one thing broken counts
/// as much as a wish a stop off.
///
/// # Errors
/// When there is nothing to begin with: nobody there, no lamp from the front.
pub fn reach(plan: &Plan, shot: &Shot, scene: &Scene, transport: &Transport, goal: &Goal) -> Result<Reached, String> {
    let sensible = goal.t_stop > 0.0 && goal.t_stop.is_finite() && goal.ratio > 1.0 && goal.ratio.is_finite();
    if !sensible {
        return Err(say!("ask-for-a-stop-above-0").into());
    }
    let before = plan.shot_rig(shot).ok_or_else(|| say!("the-shot-has-no-rig").to_string())?.into_owned();
    let mut work = Attempt::of(plan, shot, scene, transport, goal, before);
    let mut best: Option<(f64, Reached)> = None;
    let mut unavoidable: Option<Vec<Broken>> = None;
    for _ in 0..MOVES {
        let after = work.set_levels()?;
        let mut found = work.judged(&after);
        let off_stops = off(&found, goal);
        let may_count = best.as_ref().is_none_or(|b| off_stops < b.0);
        if may_count {
            found.broken = work.broken(&found);
            found.met = found.wishes_met && found.broken.is_empty();
        }
        let known = unavoidable.get_or_insert_with(|| found.broken.clone());
        let held = work.hold_what_breaks(&found.broken, known);
        let (done, wishes_met) = (found.met, found.wishes_met);
        let cost = off_stops + found.broken.iter().map(cost_of).sum::<f64>();
        if may_count && best.as_ref().is_none_or(|b| cost < b.0) {
            best = Some((cost, found));
        }
        let Ok(after) = after else { break };
        if done || !held && (wishes_met || !work.bring_nearer(&after)) {
            break;
        }
        work.relight();
    }
    let Some((_, mut best)) = best else { return Err(say!("nothing-could-be-tried").into()) };
    if !best.wishes_met {
        best.reasons
            .extend(work.stopped().iter().map(|(name, why)| say!("name-comes-no-nearer", name, why = why.in_words())));
    }
    Ok(best)
}

fn cost_of(b: &Broken) -> f64 {
    BROKEN_STOPS[usize::from(b.severity == Severity::Caution)]
}

/// Sum of how far off the wishes are, stops.
fn off(r: &Reached, goal: &Goal) -> f64 {
    let stops = |a: f64, b: f64| (a / b).log2().abs();
    2.0 * stops(r.t_stop, goal.t_stop)
        + stops(r.ratio, goal.ratio)
        + goal.background_stops.zip(r.background_stops).map_or(0.0, |(a, b)| (a - b).abs())
}

pub(super) fn judged(
    plan: &Plan,
    before: &Rig,
    after: &Rig,
    m: &Result<Measured, String>,
    goal: &Goal,
    scene: &Scene,
    moved: &[FixtureId],
) -> Reached {
    let face = scene.people.iter().find(|p| p.person == goal.person).map(|p| p.face()).unwrap_or_default();
    let changes = after
        .fixtures
        .iter()
        .filter(|f| before.fixtures.iter().find(|b| b.id == f.id) != Some(*f))
        .map(|f| Change {
            fixture: f.id.clone(),
            name: f.label(),
            dimmer: f.dimmer,
            scrim_stops: f.scrim_stops,
            on: f.on,
            position_m: moved.contains(&f.id).then_some(f.position_m),
            height_m: moved.contains(&f.id).then_some(f.height_m),
            pan_deg: moved.contains(&f.id).then_some(f.pan_deg),
            distance_m: DVec2::from_array(f.position_m).extend(f.height_m).distance(face),
        })
        .collect();
    let mut out = Reached {
        met: false,
        wishes_met: false,
        t_stop: 0.0,
        ratio: 1.0,
        background_stops: None,
        changes,
        reasons: Vec::new(),
        broken: Vec::new(),
        rig: after.clone(),
    };
    let m = match m {
        Ok(m) => m,
        Err(why) => {
            out.reasons.push(why.clone());
            return out;
        }
    };
    let fill = m.fill.iter().sum::<f64>().max(1e-9);
    out.t_stop = optics::stop_for_lx(m.total_lx, &plan.exposure);
    out.ratio = m.total_lx / fill;
    let middle = middle_grey_cd_m2(goal.t_stop, &plan.exposure);
    out.background_stops = m.background.as_ref().map(|s| (s.luminance_cd_m2 / middle).log2()).filter(|s| s.is_finite());
    let key_name = &m.key_name;
    let stop_off = 2.0 * (out.t_stop / goal.t_stop).log2();
    if stop_off < -WITHIN_STOPS {
        out.reasons.push(say!("at-full-as-near-as-it", key_name, stop_off = figure(-stop_off, 1)));
    } else if stop_off > WITHIN_STOPS {
        out.reasons.push(say!("the-face-stays-stops-over-what", stop_off = figure(stop_off, 1)));
    }
    let ratio_off = (out.ratio / goal.ratio).log2();
    if ratio_off < -WITHIN_STOPS {
        out.reasons.push(say!("the-fill-stays-stops-too-strong", ratio_off = figure(-ratio_off, 1), key_name));
    } else if ratio_off > WITHIN_STOPS {
        out.reasons.push(say!("the-fill-stays-stops-too-weak", ratio_off = figure(ratio_off, 1)));
    }
    if let (Some(wanted), Some(got)) = (goal.background_stops, out.background_stops) {
        if got - wanted > WITHIN_STOPS {
            out.reasons.push(say!("the-wall-behind-stays-stops-too", wanted = figure(got - wanted, 1)));
        } else if wanted - got > WITHIN_STOPS {
            out.reasons.push(say!("the-wall-behind-stays-stops-too-word", got = figure(wanted - got, 1)));
        }
    } else if goal.background_stops.is_some() {
        out.reasons.push(say!("there-is-no-lit-wall-behind").into());
    }
    out.wishes_met = out.reasons.is_empty();
    out.met = out.wishes_met;
    out
}
