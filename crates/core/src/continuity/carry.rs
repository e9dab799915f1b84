//! Carrying a light over: where the lamps of the next shot stand so that its face looks as in the last one.

use super::lamps::{aim, lit_lamp, own_stem, partner, put};
use super::{Difference, FaceLight, Lit, differences, face_light};
use crate::edit::{Edit, Item};
use crate::light::{Ground, Part, Role, face_readings, full_gain, gain, set_level};
use crate::notices::{Baseline, Broken, Severity};
use crate::optics;
use crate::plan::{Fixture, FixtureId, Mount, PersonId, Plan, Shot};
use crate::taping::room_at;
use glam::{DVec2, DVec3};
use serde::Serialize;
use tapemark_words::{figure, say};

/// One lamp's new place and level.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CarriedLamp {
    /// The lamp of the later shot; a fresh id for one that its rig lacks.
    pub fixture: FixtureId,
    /// Its name.
    pub name: String,
    /// The lamp of the earlier shot whose part it takes.
    pub like: FixtureId,
    /// What that lamp does there.
    pub role: Role,
    /// Where to, metres.
    pub position_m: [f64; 2],
    /// Floor to head, metres.
    pub height_m: f64,
    /// Bearing, degrees.
    pub pan_deg: f64,
    /// Tilt, degrees.
    pub tilt_deg: f64,
    /// Share of full light.
    pub dimmer: f64,
    /// Scrims, stops.
    pub scrim_stops: f64,
    /// How far from where it would stand with nothing in the way, metres.
    pub aside_m: f64,
    /// Whether it must be added to the later rig.
    pub added: bool,
}

/// A light carried over, measured after doing it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CarryOver {
    /// Whose face.
    pub person: PersonId,
    /// Lamps and their places.
    pub lamps: Vec<CarriedLamp>,
    /// The light that is carried.
    pub wanted: FaceLight,
    /// Differences as the plan is.
    pub before: Vec<Difference>,
    /// Differences left.
    pub after: Vec<Difference>,
    /// Whether all that is left is within tolerance.
    pub matches: bool,
    /// What stands in the way of more, a line each.
    pub reasons: Vec<String>,
    /// What it had to break in the later shot, in shots its rig lights and in their cuts, the worst first.
    pub broken: Vec<Broken>,
    /// The change as one edit.
    #[serde(skip)]
    pub edit: Option<Edit>,
}

/// A lamp's place seen from the face: toward the lens, to the lens's right, up; metres.
fn in_lens_frame(face: DVec3, eye: DVec3, at: DVec3) -> DVec3 {
    let (f, r) = frame(face, eye);
    let v = at - face;
    DVec3::new(v.truncate().dot(f), v.truncate().dot(r), v.z)
}

/// Unit vectors on the plan toward the lens and to the lens's right.
fn frame(face: DVec3, eye: DVec3) -> (DVec2, DVec2) {
    let f = (eye - face).truncate().normalize_or_zero();
    // The lens looks against f; its right is f turned a quarter counter-clockwise.
    (f, f.perp())
}

fn out_of_lens_frame(face: DVec3, eye: DVec3, v: DVec3) -> DVec3 {
    let (f, r) = frame(face, eye);
    face + (f * v.x + r * v.y).extend(v.z)
}

/// Lamps that a unit carries about; practicals and ceiling lamps belong to the place.
fn carried(f: &Fixture) -> bool {
    f.on && matches!(f.mount, Mount::Stand | Mount::Clamp)
}

/// Furthest a lamp may be brought aside, and how finely places are tried.
const TURNS_DEG: [f64; 13] = [0.0, 5.0, -5.0, 10.0, -10.0, 15.0, -15.0, 20.0, -20.0, 30.0, -30.0, 40.0, -40.0];
const NEARER: [f64; 8] = [1.0, 0.92, 0.84, 0.76, 0.68, 0.6, 0.5, 0.4];
/// A face lit from nearer than this is not lit but burnt, metres.
const NEAREST_M: f64 = 0.5;
/// Times other places are looked for when something is broken, and how far from those that broke it, metres.
const TRIES: usize = 4;
const ELSEWHERE_M: f64 = 0.3;

/// Proposes places and levels for the lamps of `to` that give a face there the light it has in `from`.
///
/// Each lamp that lights the face in the earlier shot keeps its place relative to face and lens: as far toward
/// the lens, to its right and up. Where a wall, a piece, somebody or the frame is in the way it is swung round the
/// face and brought nearer by the least that helps. Levels then give each lamp the same part of the exposure, and
/// everything is measured again. A place that breaks something in a shot touched is left for another, a few times
/// over; what is broken still is named.
///
/// # Errors
/// When there is nobody, no camera or nothing to carry.
pub fn carry_over(plan: &Plan, from: &Shot, to: &Shot, person: &PersonId) -> Result<CarryOver, String> {
    let task = Task::of(plan, from, to, person)?;
    let baseline = Baseline::of(plan, |s| s.id == to.id || s.rig == to.rig);
    let mut avoid: Vec<(FixtureId, DVec2)> = Vec::new();
    let mut best: Option<(usize, CarryOver)> = None;
    for _ in 0..TRIES {
        let mut found = task.carried(&avoid)?;
        found.broken = found.edit.as_ref().map(|e| baseline.after(e)).unwrap_or_default();
        let weight = |b: &Broken| if b.severity == Severity::Caution { 100 } else { 1 };
        let cost = found.broken.iter().map(weight).sum::<usize>() + usize::from(!found.matches);
        // A lamp named by what is broken is tried elsewhere.
        let own =
            |l: &CarriedLamp, item: &str| item == l.fixture.as_str() || item.starts_with(&own_stem(&l.fixture, to));
        let named = found.lamps.iter().filter(|l| found.broken.iter().any(|b| own(l, &b.item)));
        let elsewhere: Vec<(FixtureId, DVec2)> =
            named.map(|l| (l.like.clone(), DVec2::from_array(l.position_m))).collect();
        if best.as_ref().is_none_or(|b| cost < b.0) {
            best = Some((cost, found));
        }
        if elsewhere.is_empty() {
            break;
        }
        avoid.extend(elsewhere);
    }
    best.map(|b| b.1).ok_or_else(|| say!("no-lamp-that-can-be-carried").into())
}

/// A lamp that lights the face or the hair in the earlier shot: what it does, its direct light there, its place in the
/// lens's frame.
struct Lighting<'a> {
    lamp: &'a Fixture,
    role: Role,
    on: On,
    direct_lx: f64,
    offset: DVec3,
}

/// Where a lamp's part is measured.
#[derive(Clone, Copy, PartialEq)]
enum On {
    Face,
    Hair,
}

impl On {
    /// A backlight counts where it shows.
    fn of(p: &Part) -> On {
        if p.role == Role::Back && p.hair_lx.unwrap_or(0.0) > p.direct_lx { On::Hair } else { On::Face }
    }
    fn lx(self, p: &Part) -> f64 {
        match self {
            On::Face => p.direct_lx,
            On::Hair => p.hair_lx.unwrap_or(0.0),
        }
    }
}

/// What a carried lamp shall give.
struct Target {
    fixture: FixtureId,
    on: On,
    lx: f64,
}

/// A light to be carried from one shot to another.
struct Task<'a> {
    plan: &'a Plan,
    from: &'a Shot,
    to: &'a Shot,
    person: &'a PersonId,
    lit: Lit<'a>,
    ground: Ground,
    face_a: DVec3,
    face_b: DVec3,
    eye_b: DVec3,
    wanted: FaceLight,
    now: FaceLight,
    /// The key first.
    lighting: Vec<Lighting<'a>>,
    /// Light the later exposure wants over what the earlier wants.
    exposure: f64,
}

impl<'a> Task<'a> {
    fn of(plan: &'a Plan, from: &'a Shot, to: &'a Shot, person: &'a PersonId) -> Result<Task<'a>, String> {
        let a = Lit::of(plan, from, from.length_s);
        let b = Lit::of(plan, to, 0.0);
        let at = |lit: &Lit<'_>| {
            let view = lit.scene.view.clone().ok_or_else(|| say!("shot-has-no-camera", shot = lit.shot.name))?;
            let placed = lit.scene.placed(person);
            let face =
                placed.map(|p| p.face()).ok_or_else(|| say!("the-person-is-not-in-shot", shot = lit.shot.name))?;
            Ok::<_, String>((face, view.eye))
        };
        let ((face_a, eye_a), (face_b, eye_b)) = (at(&a)?, at(&b)?);
        let wanted = face_light(plan, &a, person).ok_or(say!("the-first-shots-face-cannot-be"))?;
        let now = face_light(plan, &b, person).ok_or(say!("the-second-shots-face-cannot-be"))?;
        let (_, parts) = face_readings(plan, &a.scene, &a.light)
            .into_iter()
            .find(|(id, _)| id == person)
            .ok_or(say!("the-first-shots-face-cannot-be"))?;
        let lamps_a = plan.shot_fixtures(from);
        let mut lighting: Vec<Lighting<'_>> = parts
            .parts
            .iter()
            .zip(a.light.emitters())
            .filter(|(p, _)| p.role != Role::None)
            .filter_map(|(p, e)| {
                let lamp = lamps_a.iter().find(|f| f.id == p.fixture).filter(|f| carried(f))?;
                let offset = in_lens_frame(face_a, eye_a, e.at());
                let on = On::of(p);
                Some(Lighting { lamp, role: p.role, on, direct_lx: on.lx(p), offset })
            })
            .collect();
        if lighting.is_empty() {
            return Err(say!("no-lamp-that-can-be-carried").into());
        }
        lighting.sort_by_key(|l| l.role != Role::Key);
        let exposure = optics::wanted_lx(plan.shot_camera(to).ok_or(say!("no-camera"))?, &plan.exposure)
            / optics::wanted_lx(plan.shot_camera(from).ok_or(say!("no-camera"))?, &plan.exposure);
        let ground = Ground::of(plan, std::iter::once(to));
        Ok(Task { plan, from, to, person, lit: b, ground, face_a, face_b, eye_b, wanted, now, lighting, exposure })
    }

    /// Carries the light, with lamps off the places to avoid.
    fn carried(&self, avoid: &[(FixtureId, DVec2)]) -> Result<CarryOver, String> {
        let (plan, to) = (self.plan, self.to);
        let mut reasons = Vec::new();
        let mut work = plan.clone();
        let mut lamps = Vec::new();
        let mut targets = Vec::new();
        let mut free: Vec<Fixture> = plan.shot_fixtures(to).into_iter().filter(|f| carried(f)).cloned().collect();
        for l in &self.lighting {
            let ideal = out_of_lens_frame(self.face_b, self.eye_b, l.offset);
            let (mut lamp, added) = partner(plan, self.from, to, l.lamp, &mut free);
            let avoid: Vec<DVec2> = avoid.iter().filter(|a| a.0 == l.lamp.id).map(|a| a.1).collect();
            let Some((head, aside_m)) = self.free_place(&work, &lamp, ideal, &avoid) else {
                reasons.push(say!("there-is-no-free-place-for", lamp = lamp.label()));
                continue;
            };
            aim(&mut lamp, l.lamp, self.face_a, self.face_b, head);
            if aside_m > 0.05 {
                reasons.push(say!("stands-m-aside-a-wall-a", lamp = lamp.label(), aside_m = figure(aside_m, 1)));
            }
            targets.push(Target { fixture: lamp.id.clone(), on: l.on, lx: l.direct_lx * self.exposure });
            lamps.push(CarriedLamp {
                fixture: lamp.id.clone(),
                name: lamp.label(),
                like: l.lamp.id.clone(),
                role: l.role,
                position_m: lamp.position_m,
                height_m: lamp.height_m,
                pan_deg: lamp.pan_deg,
                tilt_deg: lamp.tilt_deg,
                dimmer: lamp.dimmer,
                scrim_stops: lamp.scrim_stops,
                aside_m,
                added,
            });
            put(&mut work, to, lamp);
        }
        // What else a unit brought would only spoil the light that is carried.
        for f in &free {
            let mut off = f.clone();
            off.on = false;
            reasons.push(say!("is-switched-off-the-first-shot", f = f.label()));
            put(&mut work, to, off);
        }
        self.level(&mut work, &targets, &mut reasons);
        for l in &mut lamps {
            if let Some(f) = lit_lamp(&work, to, &l.fixture) {
                (l.dimmer, l.scrim_stops) = (f.dimmer, f.scrim_stops);
            }
        }
        let shot = work.shot(&to.id).ok_or(say!("the-shot-is-gone"))?;
        let lit = self.relit(&work, shot);
        let after = face_light(&work, &lit, self.person).ok_or(say!("the-result-cannot-be-measured"))?;
        let limits = &plan.limits.matching;
        let after = differences(limits, &self.wanted, &after);
        // The rig and the shot as they became, in one edit.
        let mut edits = vec![Edit::Put(Item::Shot(shot.clone()))];
        if let Some(r) = work.rig(&shot.rig).filter(|r| plan.rig(&shot.rig) != Some(r)) {
            edits.insert(0, Edit::Put(Item::Rig(r.clone())));
        }
        Ok(CarryOver {
            person: self.person.clone(),
            lamps,
            before: differences(limits, &self.wanted, &self.now),
            matches: after.iter().all(|d| d.within),
            after,
            wanted: self.wanted.clone(),
            reasons,
            broken: Vec::new(),
            edit: Some(Edit::Together {
                label: say!("carry-the-light-of-shot-over", name = self.from.name, to = to.name),
                edits,
            }),
        })
    }

    /// The later shot lit by the lamps of a plan at work: nobody moved.
    fn relit<'s>(&self, work: &Plan, shot: &'s Shot) -> Lit<'s> {
        Lit::of_scene(work, shot, self.lit.scene.clone(), Some(&self.lit.light))
    }

    /// The place nearest to the ideal one that is in the face's room, off walls, people and pieces, out of frame,
    /// clear of heat and sees the face; and how far that is from it.
    fn free_place(&self, work: &Plan, lamp: &Fixture, ideal: DVec3, avoid: &[DVec2]) -> Option<(DVec3, f64)> {
        let face = self.face_b;
        let v = ideal - face;
        let others = work.shot_fixtures(work.shot(&self.to.id).unwrap_or(self.to));
        let others: Vec<&Fixture> = others.into_iter().filter(|f| f.on).collect();
        let mut best: Option<(DVec3, f64)> = None;
        for turn in TURNS_DEG {
            for nearer in NEARER {
                let (s, c) = turn.to_radians().sin_cos();
                let flat = DVec2::new(v.x * c - v.y * s, v.x * s + v.y * c) * nearer;
                let mut head = face + flat.extend(v.z * nearer);
                let Some(room) = room_at(work, head.truncate()) else { continue };
                head.z = head.z.clamp(0.3, room.ceiling_m - 0.15);
                let aside = head.distance(ideal);
                let passed = best.is_some_and(|b| aside >= b.1)
                    || flat.length() < NEAREST_M.min(v.length())
                    || avoid.iter().any(|a| a.distance(head.truncate()) < ELSEWHERE_M);
                if !passed && self.ground.unfit(work, lamp, &others, head, face).is_none() {
                    best = Some((head, aside));
                }
            }
        }
        best
    }

    /// Sets levels so that each lamp gives its part directly.
    fn level(&self, work: &mut Plan, targets: &[Target], reasons: &mut Vec<String>) {
        for round in 0..2 {
            let Some(shot) = work.shot(&self.to.id).cloned() else { return };
            let lit = self.relit(work, &shot);
            let readings = face_readings(work, &lit.scene, &lit.light);
            let Some((_, r)) = readings.into_iter().find(|(id, _)| id == self.person) else { return };
            for target in targets {
                let Some(mut f) = lit_lamp(work, self.to, &target.fixture) else { continue };
                let Some(got) = r.parts.iter().find(|p| p.fixture == f.id).map(|p| target.on.lx(p)) else { continue };
                if got <= 0.0 {
                    continue;
                }
                let full = full_gain(&f);
                let wanted = gain(&f) * target.lx / got;
                if wanted > full * 1.01 && round == 1 {
                    reasons.push(say!(
                        "at-full-is-stops-too-weak",
                        f = f.label(),
                        full = figure((wanted / full).log2(), 1)
                    ));
                }
                set_level(&mut f, wanted.min(full).max(full * 1e-3));
                put(work, self.to, f);
            }
        }
    }
}
