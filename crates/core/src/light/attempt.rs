//! A rig on its way to a light that is wanted: its levels, its lamps' places, and what they break.

use super::goal::{Goal, Measured, Reached, judged, measure};
use super::ground::{Ground, Unfit};
use super::levels::{set_level, solve_levels};
use super::{Emitter, Transport, gain};
use crate::geometry::{bearing_deg, normalize_deg, rotate_bearing};
use crate::notices::{Baseline, Broken};
use crate::optics;
use crate::plan::{Fixture, FixtureId, Mount, Plan, Rig, Shot};
use crate::scene::{Scene, turn_deg};
use glam::{DVec2, DVec3};

/// Nearest a lamp is brought to a face, metres.
const NEAREST_M: f64 = 0.7;
/// Ways round the face a lamp may come nearer by when the straight one is not free, degrees.
const TURNS_DEG: [f64; 7] = [0.0, 8.0, -8.0, 16.0, -16.0, 24.0, -24.0];

/// Places nearer are tried this far apart, metres.
const STEP_M: f64 = 0.05;

/// A rig on its way to a goal.
pub(super) struct Attempt<'a> {
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
    /// Lamps that come nearer on their own line only: beside it they break something.
    straight: Vec<FixtureId>,
    /// Lamps that stay where they were: elsewhere they break something.
    held: Vec<FixtureId>,
    /// Lamps that would come nearer, and what forbids it.
    stopped: Vec<(String, Unfit)>,
    ground: Option<Ground>,
    baseline: Option<Baseline>,
}

impl<'a> Attempt<'a> {
    /// The rig as it is.
    pub fn of(
        plan: &'a Plan,
        shot: &'a Shot,
        scene: &'a Scene,
        light: &Transport,
        goal: &'a Goal,
        rig: Rig,
    ) -> Attempt<'a> {
        Attempt {
            plan,
            shot,
            scene,
            goal,
            before: rig.clone(),
            rig,
            light: light.clone(),
            key: None,
            moved: Vec::new(),
            straight: Vec::new(),
            held: Vec::new(),
            stopped: Vec::new(),
            ground: None,
            baseline: None,
        }
    }

    /// Lamps that would come nearer, by name, and what forbids it.
    pub fn stopped(&self) -> &[(String, Unfit)] {
        &self.stopped
    }

    pub fn relight(&mut self) {
        let patch_m = self.light.patch_m();
        self.light = Transport::of(self.plan, Some(&self.rig), self.scene, patch_m, Some(&self.light));
    }

    fn measure(&self) -> Result<Measured, String> {
        measure(self.plan, self.shot, self.scene, &self.light, &self.goal.person, self.key.as_ref())
    }

    /// Sets the levels that come nearest to the goal where the lamps stand, and measures them.
    pub fn set_levels(&mut self) -> Result<Result<Measured, String>, String> {
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

    pub fn judged(&self, m: &Result<Measured, String>) -> Reached {
        judged(self.plan, &self.before, &self.rig, m, self.goal, self.scene, &self.moved)
    }

    /// What the changes break in every shot they touch.
    pub fn broken(&mut self, found: &Reached) -> Vec<Broken> {
        if found.changes.is_empty() {
            return Vec::new();
        }
        let rig = &self.shot.rig;
        self.baseline.get_or_insert_with(|| Baseline::of(self.plan, |s| &s.rig == rig)).after(&found.edit())
    }

    /// Puts lamps back that moved and thereby broke something; whether there was one.
    pub fn hold_what_breaks(&mut self, broken: &[Broken], unavoidable: &[Broken]) -> bool {
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
                let turned = f.pan_deg != old.pan_deg && !self.straight.contains(&f.id);
                (if turned { &mut self.straight } else { &mut self.held }).push(f.id.clone());
                (f.position_m, f.height_m, f.pan_deg) = (old.position_m, old.height_m, old.pan_deg);
            }
        }
        self.moved.retain(|id| !back.contains(id));
        true
    }

    /// A lamp at full and still too weak is brought nearer: the key, and the strongest of the fill.
    pub fn bring_nearer(&mut self, after: &Measured) -> bool {
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

    /// Moves a lamp toward the face until inverse square makes up for what is missing, or as far as it may: along its
    /// line, else beside that.
    fn bring_one_nearer(&mut self, e: &Emitter, short: f64) -> bool {
        let Some(face) = self.scene.placed(&self.goal.person).map(|p| p.face()) else { return false };
        let Some(at) = self.rig.fixtures.iter().position(|f| f.id == e.fixture) else { return false };
        let lamp = &self.rig.fixtures[at];
        if self.held.contains(&lamp.id) || lamp.mount != Mount::Stand {
            return false;
        }
        let head = DVec2::from_array(lamp.position_m).extend(lamp.height_m);
        let distance = head.distance(face);
        // What is missing of a lamp that is not at full is spoilt by its bounce and spill: that takes more.
        let nearer = if lamp.dimmer > 0.999 && lamp.scrim_stops <= 0.0 { short.sqrt() } else { short };
        let wanted = (distance / nearer).max(NEAREST_M);
        let others: Vec<&Fixture> = self.rig.fixtures.iter().collect();
        let lit = || self.plan.shots.iter().filter(|s| s.rig == self.shot.rig);
        let ground = self.ground.get_or_insert_with(|| Ground::of(self.plan, lit()));
        let mut stopped: Option<Unfit> = None;
        let steps = ((distance - 0.02 - wanted) / STEP_M).ceil().max(0.0) as usize;
        let turns = if self.straight.contains(&lamp.id) { &TURNS_DEG[..1] } else { &TURNS_DEG[..] };
        let places = (0..steps).flat_map(|k| turns.iter().map(move |turn| (wanted + STEP_M * k as f64, *turn)));
        let place = |(far, turn): (f64, f64)| {
            let v = (head - face) * (far / distance);
            face + rotate_bearing(v.truncate(), turn).extend(v.z)
        };
        let found = places.map(place).find(|to| {
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
        let toward = |from: DVec3| bearing_deg((face - from).truncate());
        let turned = turn_deg(toward(head), toward(to));
        let lamp = &mut self.rig.fixtures[at];
        if turned.abs() > 0.01 {
            lamp.pan_deg = normalize_deg((lamp.pan_deg + turned).round());
        }
        lamp.position_m = to.truncate().to_array().map(round);
        lamp.height_m = round(to.z);
        if !self.moved.contains(&lamp.id) {
            self.moved.push(lamp.id.clone());
        }
        true
    }
}
