//! From a wanted light to what to do to each lamp.

use super::ground::{Ground, Unfit};
use super::levels::{set_level, solve_levels};
use super::{Emitter, Role, Spot, Transport, background, face_readings, gain, middle_grey_cd_m2};
use crate::edit::{Edit, Item};
use crate::notices::{Baseline, Broken, Severity};
use crate::optics;
use crate::plan::{Fixture, FixtureId, Mount, PersonId, Plan, Rig, Shot};
use crate::scene::Scene;
use glam::{DVec2, DVec3};
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
/// Nearest a lamp is brought to a face, metres.
const NEAREST_M: f64 = 0.7;
/// Times a lamp is moved and measured again.
const MOVES: usize = 8;

/// Places nearer are tried this far apart, metres.
const STEP_M: f64 = 0.05;
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
fn measure(
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
    let mut work = Attempt {
        plan,
        shot,
        scene,
        goal,
        rig: before.clone(),
        before,
        light: transport.clone(),
        key: None,
        moved: Vec::new(),
        held: Vec::new(),
        stopped: Vec::new(),
        ground: None,
        baseline: None,
    };
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
            .extend(work.stopped.iter().map(|(name, why)| say!("name-comes-no-nearer", name, why = why.in_words())));
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

/// A rig on its way to a goal.
struct Attempt<'a> {
    plan: &'a Plan,
    shot: &'a Shot,
    scene: &'a Scene,
    goal: &'a Goal,
    before: Rig,
    rig: Rig,
    light: Transport,
    /// The lamp that is the key at first stays it: at 2:1 fill is as strong.
    key: Option<FixtureId>,
    moved: Vec<FixtureId>,
    /// Lamps that stay where they were: elsewhere they break something.
    held: Vec<FixtureId>,
    /// Lamps that would come nearer, and what forbids it.
    stopped: Vec<(String, Unfit)>,
    ground: Option<Ground>,
    baseline: Option<Baseline>,
}

impl Attempt<'_> {
    fn relight(&mut self) {
        let patch_m = self.light.patch_m();
        self.light = Transport::of(self.plan, Some(&self.rig), self.scene, patch_m, Some(&self.light));
    }

    fn measure(&self) -> Result<Measured, String> {
        measure(self.plan, self.shot, self.scene, &self.light, &self.goal.person, self.key.as_ref())
    }

    /// Sets the levels that come nearest to the goal where the lamps stand, and measures them.
    fn set_levels(&mut self) -> Result<Result<Measured, String>, String> {
        let m = self.measure()?;
        self.key = self.light.emitters().get(m.key).map(|e| e.fixture.clone());
        let levels = solve_levels(&self.rig, &self.light, &m, self.plan, self.goal);
        for (e, level) in self.light.emitters().iter().zip(&levels) {
            if let Some(f) = self.rig.fixtures.iter_mut().find(|f| f.id == e.fixture) {
                set_level(f, gain(f) * level);
            }
        }
        self.relight();
        Ok(self.measure())
    }

    fn judged(&self, m: &Result<Measured, String>) -> Reached {
        judged(self.plan, &self.before, &self.rig, m, self.goal, self.scene, &self.moved)
    }

    /// What the changes break in every shot they touch.
    fn broken(&mut self, found: &Reached) -> Vec<Broken> {
        if found.changes.is_empty() {
            return Vec::new();
        }
        let rig = &self.shot.rig;
        self.baseline.get_or_insert_with(|| Baseline::of(self.plan, |s| &s.rig == rig)).after(&found.edit())
    }

    /// Puts lamps back that moved and thereby broke something; whether there was one.
    fn hold_what_breaks(&mut self, broken: &[Broken], unavoidable: &[Broken]) -> bool {
        let same = |a: &Broken, b: &Broken| a.code == b.code && a.shot == b.shot && a.item == b.item;
        let new: Vec<&Broken> = broken.iter().filter(|b| !unavoidable.iter().any(|u| same(u, b))).collect();
        if new.is_empty() || self.moved.is_empty() {
            return false;
        }
        let named: Vec<FixtureId> =
            self.moved.iter().filter(|id| new.iter().any(|b| b.item == id.as_str())).cloned().collect();
        let back = if named.is_empty() { self.moved.clone() } else { named };
        for f in self.rig.fixtures.iter_mut().filter(|f| back.contains(&f.id)) {
            if let Some(old) = self.before.fixtures.iter().find(|b| b.id == f.id) {
                (f.position_m, f.height_m) = (old.position_m, old.height_m);
            }
        }
        self.moved.retain(|id| !back.contains(id));
        self.held.extend(back);
        true
    }

    /// A lamp at full and still too weak is brought nearer: the key, and the strongest of the fill.
    fn bring_nearer(&mut self, after: &Measured) -> bool {
        let total = optics::lx_for_stop(self.goal.t_stop, &self.plan.exposure);
        let fill = (0..after.at_face.len())
            .filter(|i| *i != after.key && self.rig.fixtures.iter().any(|f| f.id == self.light.emitters()[*i].fixture))
            .max_by(|a, b| after.at_face[*a].total_cmp(&after.at_face[*b]));
        let fill_now: f64 = after.fill.iter().sum();
        let weak = [
            Some((after.key, total * (1.0 - 1.0 / self.goal.ratio) / (after.total_lx - fill_now).max(1e-9))),
            fill.map(|i| (i, 1.0 + (total / self.goal.ratio - fill_now) / after.at_face[i].max(1e-9))),
        ];
        let mut any = false;
        for (i, short) in weak.into_iter().flatten().filter(|w| w.1 > 1.02) {
            let e = self.light.emitters()[i].clone();
            any |= self.bring_one_nearer(&e, short);
        }
        any
    }

    /// Moves a lamp along its line to the face until inverse square makes up for what is missing, or as far as it may.
    fn bring_one_nearer(&mut self, e: &Emitter, short: f64) -> bool {
        let Some(face) = self.scene.placed(&self.goal.person).map(|p| p.face()) else { return false };
        let Some(at) = self.rig.fixtures.iter().position(|f| f.id == e.fixture) else { return false };
        let lamp = &self.rig.fixtures[at];
        if self.held.contains(&lamp.id) || lamp.mount != Mount::Stand {
            return false;
        }
        let head = DVec2::from_array(lamp.position_m).extend(lamp.height_m);
        let distance = head.distance(face);
        let wanted = (distance / short.sqrt()).max(NEAREST_M);
        let others: Vec<&Fixture> = self.rig.fixtures.iter().collect();
        let lit = || self.plan.shots.iter().filter(|s| s.rig == self.shot.rig);
        let ground = self.ground.get_or_insert_with(|| Ground::of(self.plan, lit()));
        let mut stopped: Option<Unfit> = None;
        let steps = ((distance - 0.02 - wanted) / STEP_M).ceil().max(0.0) as usize;
        let found =
            (0..steps).map(|k| face + (head - face) * ((wanted + STEP_M * k as f64) / distance)).find(|to: &DVec3| {
                let why = ground.unfit(self.plan, lamp, &others, *to, face);
                let free = why.is_none();
                stopped = stopped.take().or(why);
                free
            });
        if let Some(why) = stopped {
            let name = lamp.label();
            self.stopped.retain(|s| s.0 != name);
            self.stopped.push((name, why));
        }
        let Some(to) = found else { return false };
        let round = |v: f64| (v * 1000.0).round() / 1000.0;
        let lamp = &mut self.rig.fixtures[at];
        lamp.position_m = to.truncate().to_array().map(round);
        lamp.height_m = round(to.z);
        if !self.moved.contains(&lamp.id) {
            self.moved.push(lamp.id.clone());
        }
        true
    }
}

fn judged(
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
