//! The same plan told otherwise: in another order, under other ids, elsewhere, turned, in a mirror.

use crate::Lot;
use glam::DVec2;
use std::collections::BTreeMap;
use tapemark_core::geometry::rotate_bearing;
use tapemark_core::plan::{Fixture, Hinge, Opening, OpeningKind, PieceShape, Plan, Room, from_json, to_json};

/// Does something to every lamp, of rigs and of shots.
pub fn each_lamp(plan: &mut Plan, mut change: impl FnMut(&mut Fixture)) {
    plan.rigs.iter_mut().flat_map(|r| &mut r.fixtures).for_each(&mut change);
    plan.shots.iter_mut().flat_map(|s| &mut s.lamps).map(|l| &mut l.fixture).for_each(&mut change);
}

/// Maps every place and every bearing of a plan; places by `place`, bearings by `bearing`.
fn mapped(plan: &Plan, place: impl Fn(DVec2) -> DVec2, bearing: impl Fn(f64) -> f64) -> Plan {
    let mut out = plan.clone();
    let at = |p: &mut [f64; 2]| *p = place(DVec2::from_array(*p)).to_array();
    out.location.rooms.iter_mut().flat_map(|r| &mut r.outline_m).for_each(at);
    for p in &mut out.location.pieces {
        at(&mut p.position_m);
        p.rotation_deg = bearing(p.rotation_deg);
    }
    out.location.outlets.iter_mut().for_each(|o| at(&mut o.position_m));
    for c in &mut out.cameras {
        at(&mut c.position_m);
        c.pan_deg = bearing(c.pan_deg);
        for m in &mut c.marks {
            at(&mut m.position_m);
            m.pan_deg = bearing(m.pan_deg);
        }
    }
    each_lamp(&mut out, |f| {
        at(&mut f.position_m);
        f.pan_deg = bearing(f.pan_deg);
    });
    for m in out.shots.iter_mut().flat_map(|s| &mut s.marks) {
        at(&mut m.position_m);
        m.facing_deg = bearing(m.facing_deg);
    }
    out
}

/// Everything moved by metres.
#[must_use]
pub fn moved(plan: &Plan, by: DVec2) -> Plan {
    mapped(plan, |p| p + by, |b| b)
}

/// Everything turned to the right about the origin, north too.
#[must_use]
pub fn turned(plan: &Plan, by_deg: f64) -> Plan {
    let mut out = mapped(plan, |p| rotate_bearing(p, by_deg), |b| b + by_deg);
    out.location.north_deg += by_deg;
    out
}

/// Left for right. What runs round an outline runs the other way round then, and stays where it was on its edge.
#[must_use]
pub fn mirrored(plan: &Plan) -> Plan {
    let mut out = mapped(plan, |p| DVec2::new(-p.x, p.y), |b| -b);
    out.location.north_deg = -out.location.north_deg;
    for p in &mut out.location.pieces {
        if let PieceShape::Outline { points_m } = &mut p.shape {
            points_m.iter_mut().for_each(|q| q[0] = -q[0]);
        }
    }
    out.cameras.iter_mut().for_each(|c| c.roll_deg = -c.roll_deg);
    each_lamp(&mut out, |f| {
        if let Some(b) = &mut f.barn_doors {
            std::mem::swap(&mut b.left_deg, &mut b.right_deg);
        }
    });
    out
}

fn openings_of<'a>(plan: &'a mut Plan, room: &'a Room) -> impl Iterator<Item = &'a mut Opening> {
    plan.location.openings.iter_mut().filter(|o| o.room == room.id)
}

fn edge_m(room: &Room, edge: usize) -> f64 {
    let corner = |i: usize| DVec2::from_array(room.outline_m[i % room.outline_m.len()]);
    corner(edge).distance(corner(edge + 1))
}

/// Every outline told the other way round.
#[must_use]
pub fn outlines_reversed(plan: &Plan) -> Plan {
    let mut out = plan.clone();
    for (i, room) in plan.location.rooms.iter().enumerate() {
        let n = room.outline_m.len();
        for o in openings_of(&mut out, room) {
            o.offset_m = (edge_m(room, o.edge) - o.offset_m - o.width_m).max(0.0);
            o.edge = (2 * n - 2 - o.edge) % n;
            if let OpeningKind::Door { hinge, .. } = &mut o.kind {
                *hinge = if *hinge == Hinge::Near { Hinge::Far } else { Hinge::Near };
            }
        }
        out.location.rooms[i].outline_m.reverse();
    }
    out
}

/// Every outline told from another corner on.
#[must_use]
pub fn outlines_rolled(plan: &Plan) -> Plan {
    let mut out = plan.clone();
    for (i, room) in plan.location.rooms.iter().enumerate() {
        let n = room.outline_m.len();
        openings_of(&mut out, room).for_each(|o| o.edge = (o.edge + n - 1) % n);
        out.location.rooms[i].outline_m.rotate_left(1);
    }
    out
}

/// A corner more in every wall that has room for one between its openings, by the middle.
#[must_use]
pub fn corners_inserted(plan: &Plan) -> Plan {
    let mut out = plan.clone();
    for (i, room) in plan.location.rooms.iter().enumerate() {
        let edge = i % room.outline_m.len();
        let length = edge_m(room, edge);
        let own: Vec<&Opening> =
            plan.location.openings.iter().filter(|o| o.room == room.id && o.edge == edge).collect();
        let free = |at: &f64| own.iter().all(|o| *at <= o.offset_m || o.offset_m + o.width_m <= *at);
        let Some(at) = [0.5, 0.4, 0.6, 0.25, 0.75].map(|u| u * length).into_iter().find(free) else { continue };
        for o in openings_of(&mut out, room) {
            if o.edge > edge {
                o.edge += 1;
            } else if o.edge == edge && o.offset_m >= at {
                o.edge += 1;
                o.offset_m -= at;
            }
        }
        let outline = &mut out.location.rooms[i].outline_m;
        let corner = |k: usize| DVec2::from_array(outline[k % outline.len()]);
        let middle = corner(edge).lerp(corner(edge + 1), at / length);
        outline.insert(edge + 1, middle.to_array());
    }
    out
}

/// The longest list order that no item depends on, drawn by lot: rooms, openings, pieces, circuits, outlets, cast,
/// cameras, rigs, lamps, shots.
#[must_use]
pub fn reordered(plan: &Plan, seed: u64) -> Plan {
    fn shuffle<T>(lot: &mut Lot, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, lot.below(i + 1));
        }
    }
    let mut lot = Lot(seed);
    let mut out = plan.clone();
    let l = &mut *out.location;
    shuffle(&mut lot, &mut l.rooms);
    shuffle(&mut lot, &mut l.openings);
    shuffle(&mut lot, &mut l.pieces);
    shuffle(&mut lot, &mut l.circuits);
    shuffle(&mut lot, &mut l.outlets);
    shuffle(&mut lot, &mut out.cameras);
    shuffle(&mut lot, &mut out.rigs);
    out.rigs.iter_mut().for_each(|r| shuffle(&mut lot, &mut r.fixtures));
    out
}

/// The storyboard from its end to its beginning.
#[must_use]
pub fn shots_reversed(plan: &Plan) -> Plan {
    let mut out = plan.clone();
    out.shots.reverse();
    out
}

/// Every id by another, in another alphabetical order; and which by which.
///
/// # Panics
/// When the plan so renamed is none.
#[must_use]
pub fn renamed(plan: &Plan) -> (Plan, BTreeMap<String, String>) {
    let ids: Vec<&str> = plan.all_ids().collect();
    let n = ids.len();
    let names: BTreeMap<String, String> =
        ids.iter().enumerate().map(|(i, id)| ((*id).to_string(), format!("z{:04}", n - i))).collect();
    let mut value: serde_json::Value = serde_json::from_str(&to_json(plan)).expect("a plan is JSON");
    rename(&mut value, &names);
    (from_json(value.to_string().as_bytes()).expect("a plan by other ids is a plan"), names)
}

/// Puts new ids for old ones wherever a text is one.
pub fn rename(value: &mut serde_json::Value, names: &BTreeMap<String, String>) {
    match value {
        serde_json::Value::String(s) => {
            // Windows are lamps too, by a name made of the opening's.
            let (before, id) = s.strip_prefix("sky:").map_or(("", s.as_str()), |id| ("sky:", id));
            if let Some(new) = names.get(id) {
                *s = format!("{before}{new}");
            }
        }
        serde_json::Value::Array(list) => list.iter_mut().for_each(|v| rename(v, names)),
        serde_json::Value::Object(map) => map.values_mut().for_each(|v| rename(v, names)),
        _ => {}
    }
}

/// Every lamp as two of half the light and half the power in the same place.
#[must_use]
pub fn lamps_split(plan: &Plan) -> Plan {
    let half = |f: &Fixture, part: &str| Fixture {
        id: format!("{}-{part}", f.id).into(),
        output_lm: Some(f.rated_lm() * 0.5),
        watts: f.watts * 0.5,
        ..f.clone()
    };
    let mut out = plan.clone();
    for rig in &mut out.rigs {
        rig.fixtures = rig.fixtures.iter().flat_map(|f| [half(f, "first"), half(f, "second")]).collect();
    }
    out
}

/// A plan in which nothing is named by its id.
#[must_use]
pub fn all_named(plan: &Plan) -> Plan {
    let mut out = plan.clone();
    let name = |name: &mut String, stem: &str, i: usize| {
        if name.is_empty() {
            *name = format!("{stem} no. {}", i + 1);
        }
    };
    out.location.pieces.iter_mut().enumerate().for_each(|(i, x)| name(&mut x.name, "Thing", i));
    out.location.rooms.iter_mut().enumerate().for_each(|(i, x)| name(&mut x.name, "Place", i));
    out.location.openings.iter_mut().enumerate().for_each(|(i, x)| name(&mut x.name, "Way", i));
    out.location.circuits.iter_mut().enumerate().for_each(|(i, x)| name(&mut x.name, "Line", i));
    out.cameras.iter_mut().enumerate().for_each(|(i, x)| name(&mut x.name, "Eye", i));
    let mut n = 0;
    each_lamp(&mut out, |f| {
        n += 1;
        name(&mut f.name, "Light", n);
    });
    out
}
