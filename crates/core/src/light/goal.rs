//! From a wanted light to what to do to each lamp.

use super::{Emitter, Role, Spot, Transport, background, face_readings, gain, middle_grey_cd_m2};
use crate::edit::{Edit, Item};
use crate::optics;
use crate::plan::{Fixture, FixtureId, LampType, PersonId, Plan, Rig, Shot};
use crate::scene::Scene;
use crate::taping::room_at;
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
    /// From the face after the move, metres.
    pub distance_m: f64,
}

/// What can be done, measured after doing it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reached {
    /// Whether every wish is met within [`WITHIN_STOPS`].
    pub met: bool,
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

/// What a rig does at the face and behind it, per emitter as it is set.
struct Measured {
    total_lx: f64,
    /// Key's index and name.
    key: usize,
    key_name: String,
    /// Each emitter's light at the face.
    at_face: Vec<f64>,
    /// The part of it that fills: all but the key's direct light, as when the key is shaded from the meter.
    fill: Vec<f64>,
    behind: Vec<f64>,
    background: Option<Spot>,
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
/// the shares of three wishes, drawn lightly to the levels as they are). When a lamp at full is too weak it is
/// brought nearer along its line to the face, and all is measured again.
///
/// # Errors
/// When there is nothing to begin with: nobody there, no lamp from the front.
pub fn reach(plan: &Plan, shot: &Shot, scene: &Scene, transport: &Transport, goal: &Goal) -> Result<Reached, String> {
    let sensible = goal.t_stop > 0.0 && goal.t_stop.is_finite() && goal.ratio > 1.0 && goal.ratio.is_finite();
    if !sensible {
        return Err(say!("ask-for-a-stop-above-0").into());
    }
    let rig = plan.shot_rig(shot).ok_or_else(|| say!("the-shot-has-no-rig").to_string())?;
    let rig = &*rig;
    let mut work = plan.clone();
    set_rig(&mut work, rig);
    let mut light = transport.clone();
    let mut moved: Vec<FixtureId> = Vec::new();
    let mut best: Option<Reached> = None;
    // The lamp that is the key at first stays it: at 2:1 fill is as strong.
    let mut key: Option<FixtureId> = None;
    for _ in 0..MOVES {
        let now = work.rig(&shot.rig).cloned().unwrap_or_else(|| rig.clone());
        let m = measure(&work, shot, scene, &light, &goal.person, key.as_ref())?;
        key = light.emitters().get(m.key).map(|e| e.fixture.clone());
        let levels = solve_levels(&now, &light, &m, plan, goal);
        let mut next = now.clone();
        for (e, level) in light.emitters().iter().zip(&levels) {
            if let Some(f) = next.fixtures.iter_mut().find(|f| f.id == e.fixture) {
                set_level(f, gain(f) * level);
            }
        }
        set_rig(&mut work, &next);
        light = Transport::of(&work, Some(&next), scene, light.patch_m(), Some(&light));
        let after = measure(&work, shot, scene, &light, &goal.person, key.as_ref());
        let found = judged(plan, rig, &next, &after, goal, scene, &moved);
        let better = best.as_ref().is_none_or(|b| off(&found, goal) < off(b, goal));
        let done = found.met;
        if better {
            best = Some(found);
        }
        if done {
            break;
        }
        // A lamp at full and still too weak is brought nearer: the key, then the strongest of the fill.
        let Ok(after) = after else { break };
        let total = optics::lx_for_stop(goal.t_stop, &plan.exposure);
        let fill = (0..after.at_face.len())
            .filter(|i| *i != after.key && next.fixtures.iter().any(|f| f.id == light.emitters()[*i].fixture))
            .max_by(|a, b| after.at_face[*a].total_cmp(&after.at_face[*b]));
        let fill_now: f64 = after.fill.iter().sum();
        let weak = [
            Some((after.key, total * (1.0 - 1.0 / goal.ratio) / (after.total_lx - fill_now).max(1e-9))),
            fill.map(|i| (i, 1.0 + (total / goal.ratio - fill_now) / after.at_face[i].max(1e-9))),
        ];
        let mut any = false;
        for (i, short) in weak.into_iter().flatten().filter(|w| w.1 > 1.02) {
            let e = &light.emitters()[i];
            if bring_nearer(&mut work, shot, scene, e, goal, short) {
                moved.push(e.fixture.clone());
                any = true;
            }
        }
        if !any {
            break;
        }
        let next = work.rig(&shot.rig).cloned().unwrap_or_else(|| rig.clone());
        light = Transport::of(&work, Some(&next), scene, light.patch_m(), Some(&light));
    }
    best.ok_or_else(|| say!("nothing-could-be-tried").into())
}

/// Sum of how far off the wishes are, stops.
fn off(r: &Reached, goal: &Goal) -> f64 {
    let stops = |a: f64, b: f64| (a / b).log2().abs();
    2.0 * stops(r.t_stop, goal.t_stop)
        + stops(r.ratio, goal.ratio)
        + goal.background_stops.zip(r.background_stops).map_or(0.0, |(a, b)| (a - b).abs())
}

fn set_rig(plan: &mut Plan, rig: &Rig) {
    if let Some(r) = plan.rigs.iter_mut().find(|r| r.id == rig.id) {
        *r = rig.clone();
    }
}

/// Level each emitter is to have as a share of what it has.
fn solve_levels(rig: &Rig, light: &Transport, m: &Measured, plan: &Plan, goal: &Goal) -> Vec<f64> {
    let list = light.emitters();
    let most: Vec<f64> = list
        .iter()
        .map(|e| rig.fixtures.iter().find(|f| f.id == e.fixture).map_or(1.0, |f| full_gain(f) / e.gain.max(1e-12)))
        .collect();
    let fixed: Vec<bool> = list.iter().map(|e| !rig.fixtures.iter().any(|f| f.id == e.fixture)).collect();
    let total = optics::lx_for_stop(goal.t_stop, &plan.exposure);
    // Each wish as a row over the emitters and the value it shall have, in shares of that value.
    let fill_wanted = total / goal.ratio;
    let mut rows: Vec<(Vec<f64>, f64)> = vec![(m.at_face.clone(), total), (m.fill.clone(), fill_wanted)];
    if let (Some(stops), Some(spot)) = (goal.background_stops, &m.background) {
        let wanted = middle_grey_cd_m2(goal.t_stop, &plan.exposure) * stops.exp2();
        let scale = spot.luminance_cd_m2 / m.behind.iter().sum::<f64>().max(1e-12);
        rows.push((m.behind.iter().map(|b| b * scale).collect(), wanted));
    }
    let rows: Vec<Vec<f64>> =
        rows.into_iter().map(|(row, wanted)| row.into_iter().map(|v| v / wanted.max(1e-9)).collect()).collect();
    let mut x = vec![1.0_f64; list.len()];
    const KEEP: f64 = 1e-6;
    for _ in 0..4_000 {
        for i in 0..x.len() {
            if fixed[i] {
                continue;
            }
            let (mut top, mut bottom) = (KEEP, KEEP);
            for row in &rows {
                let rest: f64 = row.iter().zip(&x).enumerate().filter(|(j, _)| *j != i).map(|(_, (a, b))| a * b).sum();
                top += row[i] * (1.0 - rest);
                bottom += row[i] * row[i];
            }
            x[i] = (top / bottom).clamp(0.0, most[i]);
        }
    }
    x
}

/// A fixture's factor with its dimmer full and no scrim in it.
fn full_gain(f: &Fixture) -> f64 {
    let mut full = f.clone();
    (full.dimmer, full.scrim_stops, full.on) = (1.0, 0.0, true);
    gain(&full)
}

/// Sets dimmer and scrims to a factor. Tungsten is scrimmed first, because dimming turns it orange; other
/// lamps keep the scrims they have.
fn set_level(f: &mut Fixture, factor: f64) {
    let full = full_gain(f);
    if factor < full * 1e-4 {
        f.on = false;
        return;
    }
    let loss = (full / factor).log2().max(0.0);
    let halves = (loss * 2.0 + 1e-9).floor() * 0.5;
    let kept = if f.lamp == LampType::Tungsten { halves.min(3.0) } else { f.scrim_stops.min(halves) };
    f.scrim_stops = kept;
    f.dimmer = ((-(loss - kept)).exp2() * 1000.0).round() / 1000.0;
    f.dimmer = f.dimmer.clamp(0.001, 1.0);
}

/// Moves a lamp along its line to the face until inverse square makes up for what is missing.
fn bring_nearer(plan: &mut Plan, shot: &Shot, scene: &Scene, e: &Emitter, goal: &Goal, short: f64) -> bool {
    let Some(face) = scene.people.iter().find(|p| p.person == goal.person).map(|p| p.face()) else { return false };
    let room = |p: DVec2| room_at(plan, p).map(|r| &r.id);
    let at = e.at();
    let distance = at.distance(face);
    let nearer = (distance / short.sqrt()).max(NEAREST_M);
    if nearer > distance - 0.02 {
        return false;
    }
    let to = face.truncate() + (at - face).truncate() * (nearer / distance);
    if room(to) != room(at.truncate()) {
        return false;
    }
    let found =
        plan.rigs.iter_mut().filter(|r| r.id == shot.rig).flat_map(|r| &mut r.fixtures).find(|f| f.id == e.fixture);
    let Some(f) = found else { return false };
    f.position_m = to.to_array();
    true
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
            distance_m: DVec2::from_array(f.position_m).extend(f.height_m).distance(face),
        })
        .collect();
    let mut out = Reached {
        met: false,
        t_stop: 0.0,
        ratio: 1.0,
        background_stops: None,
        changes,
        reasons: Vec::new(),
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
    out.met = out.reasons.is_empty();
    out
}
