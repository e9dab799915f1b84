//! The lamps of a later shot: which takes whose part, how it is aimed, where it is written down.

use crate::geometry::{bearing_deg, normalize_deg};
use crate::light::Emitter;
use crate::plan::{Fixture, FixtureId, Gel, LampType, Mount, OwnLamp, Plan, Shot};
use crate::scene::turn_deg;
use glam::DVec3;

/// How the id of a shot's own lamp begins that stands for a lamp.
pub(super) fn own_stem(lamp: &FixtureId, shot: &Shot) -> String {
    format!("{lamp}-of-{}", shot.id)
}

/// The lamp of the later shot that takes a lamp's part, taken off the list; a copy where there is none.
pub(super) fn partner(plan: &Plan, from: &Shot, to: &Shot, like: &Fixture, free: &mut Vec<Fixture>) -> (Fixture, bool) {
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
            copy.id = plan.fresh_id(&own_stem(&like.id, to)).into();
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
    lamp.scrim_stops = if lamp.lamp == LampType::Tungsten { like.scrim_stops } else { 0.0 };
    lamp.mount = if lamp.mount == Mount::Clamp { Mount::Stand } else { lamp.mount };
    (lamp, added)
}

/// Aims a lamp so that its axis misses the face by as much as the lamp it stands for.
pub(super) fn aim(lamp: &mut Fixture, like: &Fixture, face_a: DVec3, face_b: DVec3, head: DVec3) {
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
pub(super) fn put(plan: &mut Plan, shot: &Shot, lamp: Fixture) {
    let shared = plan.shots.iter().filter(|s| s.rig == shot.rig).count() > 1;
    let of_rig = plan.rig(&shot.rig).is_some_and(|r| r.fixtures.iter().any(|f| f.id == lamp.id));
    let id = plan.fresh_id(&own_stem(&lamp.id, shot));
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
pub(super) fn lit_lamp(plan: &Plan, shot: &Shot, id: &FixtureId) -> Option<Fixture> {
    let s = plan.shot(&shot.id)?;
    let own = s.lamps.iter().find(|l| l.replaces.as_ref() == Some(id)).map(|l| &l.fixture);
    own.cloned().or_else(|| plan.shot_fixtures(s).into_iter().find(|f| &f.id == id).cloned())
}
