//! Carrying a light over: where the lamps of the next shot stand so that its face looks as in the last one.

use super::{Difference, FaceLight, Lit, differences, face_light};
use crate::blocking::sees;
use crate::edit::{Edit, Item};
use crate::geometry::{OwnerIx, bearing_deg, normalize_deg, point_in_polygon};
use crate::light::{Emitter, Role, face_readings, gain};
use crate::optics;
use crate::plan::{Fixture, FixtureId, Gel, Mount, OwnLamp, PersonId, Plan, Shot};
use crate::scene::{Scene, footprint, turn_deg};
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
/// A lamp is kept this far off walls, metres.
const OFF_WALL_M: f64 = 0.2;
/// A face lit from nearer than this is not lit but burnt, metres.
const NEAREST_M: f64 = 0.5;

/// Proposes places and levels for the lamps of `to` that give a face there the light it has in `from`.
///
/// Each lamp that lights the face in the earlier shot keeps its place relative to face and lens: as far toward
/// the lens, to its right and up. Where a wall, a piece or the frame is in the way it is swung round the face
/// and brought nearer by the least that helps. Dimmers then give each lamp the same part of the exposure, and
/// everything is measured again.
///
/// # Errors
/// When there is nobody, no camera or nothing to carry.
pub fn carry_over(plan: &Plan, from: &Shot, to: &Shot, person: &PersonId) -> Result<CarryOver, String> {
    let a = Lit::of(plan, from, from.length_s);
    let b = Lit::of(plan, to, 0.0);
    let at = |lit: &Lit<'_>| {
        let view = lit.scene.view.clone().ok_or_else(|| say!("shot-has-no-camera", shot = lit.shot.name))?;
        let placed = lit.scene.placed(person);
        let face = placed.map(|p| p.face()).ok_or_else(|| say!("the-person-is-not-in-shot", shot = lit.shot.name))?;
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
    let lighting: Vec<(&Fixture, Role, f64, DVec3)> = parts
        .parts
        .iter()
        .zip(a.light.emitters())
        .filter(|(p, _)| p.role != Role::None)
        .filter_map(|(p, e)| {
            let f = lamps_a.iter().find(|f| f.id == p.fixture).filter(|f| carried(f))?;
            Some((*f, p.role, p.direct_lx, in_lens_frame(face_a, eye_a, e.at())))
        })
        .collect();
    if lighting.is_empty() {
        return Err(say!("no-lamp-that-can-be-carried").into());
    }
    let mut reasons = Vec::new();
    let mut work = plan.clone();
    let mut lamps = Vec::new();
    let mut targets = Vec::new();
    let mut free: Vec<Fixture> = plan.shot_fixtures(to).into_iter().filter(|f| carried(f)).cloned().collect();
    let mut edits = Vec::new();
    let exposure = optics::wanted_lx(plan.shot_camera(to).ok_or(say!("no-camera"))?, &plan.exposure)
        / optics::wanted_lx(plan.shot_camera(from).ok_or(say!("no-camera"))?, &plan.exposure);
    let mut order: Vec<usize> = (0..lighting.len()).collect();
    order.sort_by_key(|i| lighting[*i].1 != Role::Key);
    for i in order {
        let (like, role, direct_lx, offset) = &lighting[i];
        let ideal = out_of_lens_frame(face_b, eye_b, *offset);
        let (mut lamp, added) = partner(plan, from, to, like, &mut free);
        let Some((head, aside_m)) = free_place(&work, &b.scene, to, &lamp, face_b, ideal) else {
            reasons.push(say!("there-is-no-free-place-for", lamp = lamp.label()));
            continue;
        };
        aim(&mut lamp, like, face_a, face_b, head);
        if aside_m > 0.05 {
            reasons.push(say!("stands-m-aside-a-wall-a", lamp = lamp.label(), aside_m = figure(aside_m, 1)));
        }
        targets.push((lamp.id.clone(), direct_lx * exposure));
        lamps.push(CarriedLamp {
            fixture: lamp.id.clone(),
            name: lamp.label(),
            like: like.id.clone(),
            role: *role,
            position_m: lamp.position_m,
            height_m: lamp.height_m,
            pan_deg: lamp.pan_deg,
            tilt_deg: lamp.tilt_deg,
            dimmer: lamp.dimmer,
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
    level(&mut work, to, person, &targets, &mut reasons);
    for l in &mut lamps {
        if let Some(f) = lit_lamp(&work, to, &l.fixture) {
            l.dimmer = f.dimmer;
        }
    }
    let shot = work.shot(&to.id).ok_or(say!("the-shot-is-gone"))?;
    let after = face_light(&work, &Lit::of(&work, shot, 0.0), person).ok_or(say!("the-result-cannot-be-measured"))?;
    let limits = &plan.limits.matching;
    let after = differences(limits, &wanted, &after);
    // The rig and the shot as they became, in one edit.
    edits.push(Edit::Put(Item::Shot(shot.clone())));
    if let Some(r) = work.rig(&shot.rig).filter(|r| plan.rig(&shot.rig) != Some(r)) {
        edits.insert(0, Edit::Put(Item::Rig(r.clone())));
    }
    Ok(CarryOver {
        person: person.clone(),
        lamps,
        before: differences(limits, &wanted, &now),
        matches: after.iter().all(|d| d.within),
        after,
        wanted,
        reasons,
        edit: Some(Edit::Together {
            label: say!("carry-the-light-of-shot-over", name = from.name, to = to.name),
            edits,
        }),
    })
}

/// The lamp of the later shot that takes a lamp's part, taken off the list; a copy where there is none.
fn partner(plan: &Plan, from: &Shot, to: &Shot, like: &Fixture, free: &mut Vec<Fixture>) -> (Fixture, bool) {
    let shared = from.rig == to.rig;
    let cost = |f: &Fixture| {
        let class = f64::from(u8::from(f.head.class() != like.head.class())) * 4.0;
        let lamp = f64::from(u8::from(f.lamp != like.lamp)) * 2.0;
        class + lamp + (f.rated_lm().max(1.0) / like.rated_lm().max(1.0)).log2().abs()
    };
    let same = free.iter().position(|f| shared && f.id == like.id);
    let best = same.or_else(|| {
        let near = (0..free.len()).min_by(|a, b| cost(&free[*a]).total_cmp(&cost(&free[*b])));
        near.filter(|i| cost(&free[*i]) < 4.0)
    });
    let (mut lamp, added) = match best {
        Some(i) => (free.remove(i), false),
        None => {
            let mut copy = like.clone();
            copy.id = plan.fresh_id(&format!("{}-of-{}", like.id, to.id)).into();
            copy.outlet = None;
            (copy, true)
        }
    };
    // The same colour: the same gels before the same source, else the correction gel that comes nearest.
    if lamp.lamp == like.lamp && (lamp.cct_k - like.cct_k).abs() < 1.0 {
        lamp.gels.clone_from(&like.gels);
    } else if let Some(want) = crate::colour::cct_duv(crate::light::light_colour(like)).map(|c| c.0) {
        let miss = |f: &Fixture| {
            crate::colour::cct_duv(crate::light::light_colour(f))
                .map_or(1e9, |c| crate::colour::mired_shift(c.0, want).abs())
        };
        lamp.gels.clear();
        let mut best = lamp.clone();
        for i in 0..Gel::CORRECTIONS.len() {
            let mut tried = lamp.clone();
            tried.gels = vec![Gel::correction(i)];
            if miss(&tried) < miss(&best) {
                best = tried;
            }
        }
        lamp = best;
    }
    lamp.diffusion.clone_from(&like.diffusion);
    lamp.scrim_stops = like.scrim_stops;
    lamp.mount = if lamp.mount == Mount::Clamp { Mount::Stand } else { lamp.mount };
    (lamp, added)
}

/// The place nearest to the ideal one that is in the face's room, off walls and pieces, out of frame and sees
/// the face; and how far that is from it.
fn free_place(
    plan: &Plan,
    scene: &Scene,
    shot: &Shot,
    lamp: &Fixture,
    face: DVec3,
    ideal: DVec3,
) -> Option<(DVec3, f64)> {
    let view = scene.view.as_ref()?;
    let v = ideal - face;
    let others: Vec<DVec2> = plan
        .shot_fixtures(plan.shot(&shot.id).unwrap_or(shot))
        .into_iter()
        .filter(|f| f.id != lamp.id && f.on && f.mount == Mount::Stand)
        .map(|f| DVec2::from_array(f.position_m))
        .collect();
    let mut best: Option<(DVec3, f64)> = None;
    for turn in TURNS_DEG {
        for nearer in NEARER {
            let (s, c) = turn.to_radians().sin_cos();
            let flat = DVec2::new(v.x * c - v.y * s, v.x * s + v.y * c) * nearer;
            let mut head = face + flat.extend(v.z * nearer);
            let p = head.truncate();
            let Some(room) = room_at(plan, p) else { continue };
            head.z = head.z.clamp(0.3, room.ceiling_m - 0.15);
            if flat.length() < NEAREST_M.min(v.length()) || near_wall(scene, p) {
                continue;
            }
            let in_piece = plan.location.pieces.iter().any(|q| {
                q.base_m < head.z
                    && (lamp.mount == Mount::Stand || head.z < q.top_m)
                    && point_in_polygon(p, &footprint(q))
            });
            let in_frame =
                [1.0, 0.6, 0.2].iter().any(|k| sees(&scene.solids, view, p.extend(head.z * k), OwnerIx::NONE));
            let in_lens = p.distance(view.eye.truncate()) < 0.4;
            let crowded =
                others.iter().any(|o| o.distance(p) < 0.4) || scene.people.iter().any(|q| q.position.distance(p) < 0.4);
            if in_piece
                || in_frame
                || in_lens
                || crowded
                || scene.solids.blocked(face_out(face, head).as_vec3(), head.as_vec3(), OwnerIx::NONE)
            {
                continue;
            }
            let aside = head.distance(ideal);
            if best.is_none_or(|b| aside < b.1) {
                best = Some((head, aside));
            }
        }
    }
    best
}

/// Just before the face, on the lamp's side: the head itself is not in the way of its own light.
fn face_out(face: DVec3, head: DVec3) -> DVec3 {
    face + (head - face).normalize_or_zero() * 0.25
}

fn near_wall(scene: &Scene, p: DVec2) -> bool {
    scene.walls.pieces.iter().any(|w| crate::geometry::point_segment_distance(p, w.a, w.b) < OFF_WALL_M)
}

/// Aims a lamp so that its axis misses the face by as much as the lamp it stands for.
fn aim(lamp: &mut Fixture, like: &Fixture, face_a: DVec3, face_b: DVec3, head: DVec3) {
    let angles = |from: DVec3, to: DVec3| {
        let v = to - from;
        (bearing_deg(v.truncate()), v.z.atan2(v.truncate().length()).to_degrees())
    };
    let (pan_a, tilt_a) = angles(Emitter::of(like).at(), face_a);
    let (pan_b, tilt_b) = angles(head, face_b);
    lamp.position_m = head.truncate().to_array();
    lamp.height_m = head.z;
    lamp.pan_deg = normalize_deg(pan_b + turn_deg(pan_a, like.pan_deg));
    lamp.tilt_deg = (tilt_b + like.tilt_deg - tilt_a).clamp(-90.0, 90.0);
    let round = |v: f64, step: f64| (v / step).round() * step;
    lamp.position_m = lamp.position_m.map(|v| round(v, 0.01));
    lamp.height_m = round(lamp.height_m, 0.01);
    lamp.pan_deg = round(lamp.pan_deg, 0.5);
    lamp.tilt_deg = round(lamp.tilt_deg, 0.5);
}

/// Puts a lamp where the shot has it: among its own lamps when the rig lights other shots too.
fn put(plan: &mut Plan, shot: &Shot, lamp: Fixture) {
    let shared = plan.shots.iter().filter(|s| s.rig == shot.rig).count() > 1;
    let of_rig = plan.rig(&shot.rig).is_some_and(|r| r.fixtures.iter().any(|f| f.id == lamp.id));
    let id = plan.fresh_id(&format!("{}-of-{}", lamp.id, shot.id));
    let Some(s) = plan.shots.iter_mut().find(|s| s.id == shot.id) else { return };
    if let Some(own) = s.lamps.iter_mut().find(|l| l.fixture.id == lamp.id) {
        own.fixture = lamp;
    } else if let Some(own) = s.lamps.iter_mut().find(|l| l.replaces.as_ref() == Some(&lamp.id)) {
        own.fixture = Fixture { id: own.fixture.id.clone(), ..lamp };
    } else if of_rig && shared {
        let replaces = Some(lamp.id.clone());
        s.lamps.push(OwnLamp { replaces, fixture: Fixture { id: id.into(), ..lamp } });
    } else if shared {
        s.lamps.push(OwnLamp { replaces: None, fixture: lamp });
    } else if let Some(r) = plan.rigs.iter_mut().find(|r| r.id == shot.rig) {
        match r.fixtures.iter_mut().find(|f| f.id == lamp.id) {
            Some(f) => *f = lamp,
            None => r.fixtures.push(lamp),
        }
    }
}

/// The lamp that stands for an id in a shot: itself, or the shot's own in its place.
fn lit_lamp(plan: &Plan, shot: &Shot, id: &FixtureId) -> Option<Fixture> {
    let s = plan.shot(&shot.id)?;
    let own = s.lamps.iter().find(|l| l.replaces.as_ref() == Some(id)).map(|l| &l.fixture);
    own.cloned().or_else(|| plan.shot_fixtures(s).into_iter().find(|f| &f.id == id).cloned())
}

/// Sets dimmers so that each lamp gives its part directly.
fn level(plan: &mut Plan, to: &Shot, person: &PersonId, targets: &[(FixtureId, f64)], reasons: &mut Vec<String>) {
    for round in 0..2 {
        let Some(shot) = plan.shot(&to.id).cloned() else { return };
        let lit = Lit::of(plan, &shot, 0.0);
        let Some((_, r)) = face_readings(plan, &lit.scene, &lit.light).into_iter().find(|(id, _)| id == person) else {
            return;
        };
        for (id, target) in targets {
            let Some(mut f) = lit_lamp(plan, to, id) else { continue };
            let Some(got) = r.parts.iter().find(|p| p.fixture == f.id).map(|p| p.direct_lx) else { continue };
            if got <= 0.0 {
                continue;
            }
            let full = gain(&Fixture { dimmer: 1.0, ..f.clone() });
            let wanted = gain(&f) * target / got;
            if wanted > full * 1.01 && round == 1 {
                reasons.push(say!(
                    "at-full-is-stops-too-weak",
                    f = f.label(),
                    full = figure((wanted / full).log2(), 1)
                ));
            }
            f.dimmer = ((wanted / full).clamp(0.001, 1.0) * 1000.0).round() / 1000.0;
            put(plan, to, f);
        }
    }
}
