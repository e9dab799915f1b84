//! Carrying out an edit: on a copy, refused whole when the result would not be a plan.

use super::{Edit, Item, ItemRef, Refused, Required};
use crate::geometry::room_edges;
use crate::plan::{Fixture, Mark, OwnLamp, Plan, Shared, Shot, first_problem_after, newly_crossed};
use glam::DVec2;
use tapemark_words::say;

/// Carries out an edit on a plan.
///
/// # Errors
/// Says why when the result would not be a valid plan; the plan is then unchanged.
pub fn apply(plan: &Plan, edit: &Edit) -> Result<Plan, Refused> {
    let mut next = plan.clone();
    carry_out(&mut next, edit)?;
    if !Shared::is_same(&plan.location, &next.location) {
        fit_openings(&mut next);
    }
    if let Some(p) = first_problem_after(plan, &next) {
        return Err(Refused(format!("{}: {}", p.what, p.remedy)));
    }
    match newly_crossed(plan, &next) {
        None => Ok(next),
        Some(c) => Err(Refused(format!("{}: {}", c.what, c.remedy))),
    }
}

fn put<T>(list: &mut Vec<T>, item: T, same: impl Fn(&T) -> bool) {
    match list.iter_mut().find(|x| same(x)) {
        Some(place) => *place = item,
        None => list.push(item),
    }
}

fn carry_out(plan: &mut Plan, edit: &Edit) -> Result<(), Refused> {
    match edit {
        Edit::Put(item) => put_item(plan, item.clone())?,
        Edit::Together { edits, .. } => {
            for e in edits {
                carry_out(plan, e)?;
            }
        }
        Edit::Remove(items) => {
            for item in items {
                remove(plan, item)?;
            }
        }
        Edit::Move { items, by } => {
            for item in items {
                shift(plan, item, *by);
            }
        }
        Edit::Turn { items, by_deg } => {
            for item in items {
                turn(plan, item, *by_deg);
            }
        }
        Edit::Paste { items, by, rig, shot } => {
            let mut new_rooms: Vec<(crate::plan::RoomId, crate::plan::RoomId)> = Vec::new();
            for item in items {
                let mut copy = renamed(plan, item.clone(), rig, shot);
                if let (Item::Room(old), Item::Room(new)) = (item, &copy) {
                    new_rooms.push((old.id.clone(), new.id.clone()));
                }
                if let Item::Opening(o) = &mut copy {
                    match new_rooms.iter().find(|(old, _)| *old == o.room) {
                        Some((_, new)) => o.room = new.clone(),
                        // A door copied alone goes along its wall.
                        None => o.offset_m += o.width_m + 0.2,
                    }
                }
                let reference = copy.reference();
                put_item(plan, copy)?;
                shift(plan, &reference, *by);
            }
        }
        Edit::MoveCorner { room, corner, to } => {
            let r = plan.location.rooms.iter_mut().find(|r| &r.id == room).ok_or_else(|| gone(say!("room")))?;
            *r.outline_m.get_mut(*corner).ok_or_else(|| gone(say!("corner")))? = to.to_array();
        }
        Edit::AddCorner { room, edge, at } => add_corner(plan, room, *edge, *at)?,
        Edit::RemoveCorner { room, corner } => remove_corner(plan, room, *corner)?,
        Edit::SetEdgeLength { room, edge, length_m } => set_edge_length(plan, room, *edge, *length_m)?,
        Edit::MoveWall { room, edge, by } => {
            let r = plan.location.rooms.iter_mut().find(|r| &r.id == room).ok_or_else(|| gone(say!("room")))?;
            let (a, b) = room_edges(r).nth(*edge).ok_or_else(|| gone(say!("wall")))?;
            let across = (b - a).normalize_or_zero().perp();
            super::shared_wall::slide(&mut r.outline_m, *edge, [across * by.dot(across); 2]);
        }
        Edit::SlideWall { room, edge, by } => {
            let r = plan.location.rooms.iter_mut().find(|r| &r.id == room).ok_or_else(|| gone(say!("room")))?;
            if *edge >= r.outline_m.len() {
                return Err(gone(say!("wall")));
            }
            super::shared_wall::slide(&mut r.outline_m, *edge, *by);
        }
        Edit::PlaceCamera { camera, shot } => {
            put_item(plan, Item::Camera(camera.clone()))?;
            let s = plan.shots.iter_mut().find(|s| &s.id == shot).ok_or_else(|| gone(say!("shot")))?;
            s.camera = Some(camera.id.clone());
        }
        Edit::UseCamera { shot, camera } => {
            let s = plan.shots.iter_mut().find(|s| &s.id == shot).ok_or_else(|| gone(say!("shot")))?;
            s.camera.clone_from(camera);
        }
        Edit::RequireFace { shot, person, required } => {
            let s = plan.shots.iter_mut().find(|s| &s.id == shot).ok_or_else(|| gone(say!("shot")))?;
            s.faces.retain(|p| p != person);
            if *required == Required::Yes {
                s.faces.push(person.clone());
            }
        }
        Edit::OrderShots(ids) => {
            let mut next = Vec::with_capacity(plan.shots.len());
            for id in ids {
                let i = plan.shots.iter().position(|s| &s.id == id).ok_or_else(|| gone(say!("shot")))?;
                next.push(plan.shots.remove(i));
            }
            next.append(&mut plan.shots);
            plan.shots = next.into();
        }
        Edit::OwnLamp { shot, fixture } => {
            let s = plan.shot(shot).ok_or_else(|| gone(say!("shot")))?;
            let lamp = plan.rig(&s.rig).and_then(|r| r.fixtures.iter().find(|f| &f.id == fixture));
            let mut copy = lamp.ok_or_else(|| gone(say!("lamp")))?.clone();
            copy.id = plan.fresh_id(&format!("{fixture}-of-{shot}")).into();
            let own = OwnLamp { replaces: Some(fixture.clone()), fixture: copy };
            let s = plan.shots.iter_mut().find(|s| &s.id == shot).ok_or_else(|| gone(say!("shot")))?;
            s.lamps.push(own);
        }
        Edit::Settings(s) => {
            plan.title.clone_from(&s.title);
            plan.notes.clone_from(&s.notes);
            plan.location.name.clone_from(&s.location_name);
            plan.length_unit = s.length_unit;
            plan.exposure = s.exposure.clone();
            plan.limits = s.limits.clone();
            plan.location.north_deg = s.north_deg;
            plan.location.mains_v = s.mains_v;
            plan.location.latitude_deg = s.latitude_deg;
            plan.location.longitude_deg = s.longitude_deg;
            plan.daylight.clone_from(&s.daylight);
            plan.day = s.day.clone();
            plan.location.underlay.clone_from(&s.underlay);
        }
    }
    Ok(())
}

fn gone(kind: &str) -> Refused {
    Refused(say!("the-is-no-longer-in-the", kind))
}

fn put_item(plan: &mut Plan, item: Item) -> Result<(), Refused> {
    let l = &mut plan.location;
    match item {
        Item::Room(x) => {
            let id = x.id.clone();
            put(&mut l.rooms, x, |y| y.id == id);
        }
        Item::Opening(x) => {
            let id = x.id.clone();
            put(&mut l.openings, x, |y| y.id == id);
        }
        Item::Piece(x) => {
            let id = x.id.clone();
            put(&mut l.pieces, x, |y| y.id == id);
        }
        Item::Circuit(x) => {
            let id = x.id.clone();
            put(&mut l.circuits, x, |y| y.id == id);
        }
        Item::Outlet(x) => {
            let id = x.id.clone();
            put(&mut l.outlets, x, |y| y.id == id);
        }
        Item::Person(x) => {
            let id = x.id.clone();
            put(&mut plan.cast, x, |y| y.id == id);
        }
        Item::Camera(x) => {
            let id = x.id.clone();
            put(&mut plan.cameras, x, |y| y.id == id);
        }
        Item::Rig(x) => {
            let id = x.id.clone();
            put(&mut plan.rigs, x, |y| y.id == id);
        }
        Item::Fixture { rig, fixture } => {
            let id = fixture.id.clone();
            if let Some(own) = plan.shots.iter_mut().flat_map(|s| &mut s.lamps).find(|l| l.fixture.id == id) {
                own.fixture = fixture;
                return Ok(());
            }
            let r = plan.rigs.iter_mut().find(|r| r.id == rig).ok_or_else(|| gone(say!("rig")))?;
            put(&mut r.fixtures, fixture, |y| y.id == id);
        }
        Item::Shot(x) => {
            let id = x.id.clone();
            let mut x = x;
            if plan.shot(&id).is_some_and(|old| old.rig != x.rig) {
                // Its own lamps stood for lamps of the rig it leaves.
                x.lamps.retain(|l| l.replaces.is_none());
            }
            put(&mut plan.shots, x, |y| y.id == id);
        }
        Item::Mark { shot, mark } => {
            let s = plan.shots.iter_mut().find(|s| s.id == shot).ok_or_else(|| gone(say!("shot")))?;
            let id = mark.id.clone();
            put(&mut s.marks, mark, |y| y.id == id);
        }
    }
    Ok(())
}

fn remove(plan: &mut Plan, item: &ItemRef) -> Result<(), Refused> {
    let l = &mut plan.location;
    match item {
        ItemRef::Room(id) => {
            l.rooms.retain(|x| &x.id != id);
            l.openings.retain(|o| &o.room != id);
        }
        ItemRef::Opening(id) => l.openings.retain(|x| &x.id != id),
        ItemRef::Piece(id) => l.pieces.retain(|x| &x.id != id),
        ItemRef::Circuit(id) => {
            let orphaned: Vec<_> = l.outlets.iter().filter(|o| &o.circuit == id).map(|o| o.id.clone()).collect();
            l.circuits.retain(|x| &x.id != id);
            for outlet in orphaned {
                remove(plan, &ItemRef::Outlet(outlet))?;
            }
        }
        ItemRef::Outlet(id) => {
            l.outlets.retain(|x| &x.id != id);
            for f in fixtures_mut(plan) {
                if f.outlet.as_ref() == Some(id) {
                    f.outlet = None;
                }
            }
        }
        ItemRef::Person(id) => {
            plan.cast.retain(|x| &x.id != id);
            for s in &mut plan.shots {
                s.marks.retain(|m| &m.person != id);
                s.faces.retain(|p| p != id);
            }
        }
        ItemRef::Camera(id) => {
            plan.cameras.retain(|x| &x.id != id);
            for s in &mut plan.shots {
                if s.camera.as_ref() == Some(id) {
                    s.camera = None;
                }
            }
        }
        ItemRef::Rig(id) => {
            if let Some(s) = plan.shots.iter().find(|s| &s.rig == id) {
                return Err(Refused(say!("shot-is-lit-by-this-rig", name = s.name)));
            }
            plan.rigs.retain(|x| &x.id != id);
        }
        ItemRef::Fixture(id) => {
            plan.rigs.iter_mut().for_each(|r| r.fixtures.retain(|f| &f.id != id));
            let stays = |l: &OwnLamp| &l.fixture.id != id && l.replaces.as_ref() != Some(id);
            plan.shots.iter_mut().for_each(|s| s.lamps.retain(stays));
        }
        ItemRef::Shot(id) => {
            if plan.shots.len() == 1 {
                return Err(Refused(say!("a-plan-keeps-at-least-one").into()));
            }
            plan.shots.retain(|x| &x.id != id);
            for s in &mut plan.shots {
                s.cuts_with.retain(|x| x != id);
                if s.variant_of.as_ref() == Some(id) {
                    s.variant_of = None;
                }
            }
            plan.day.pins.retain(|p| &p.shot != id);
        }
        ItemRef::Mark(id) => plan.shots.iter_mut().for_each(|s| s.marks.retain(|m| &m.id != id)),
    }
    Ok(())
}

/// Every lamp: the rigs' and the shots' own.
fn fixtures_mut(plan: &mut Plan) -> impl Iterator<Item = &mut Fixture> {
    let own = plan.shots.iter_mut().flat_map(|s| s.lamps.iter_mut().map(|l| &mut l.fixture));
    plan.rigs.iter_mut().flat_map(|r| &mut r.fixtures).chain(own)
}

fn add(p: &mut [f64; 2], by: DVec2) {
    p[0] += by.x;
    p[1] += by.y;
}

fn shift(plan: &mut Plan, item: &ItemRef, by: DVec2) {
    match item {
        ItemRef::Room(id) => {
            if let Some(r) = plan.location.rooms.iter_mut().find(|r| &r.id == id) {
                r.outline_m.iter_mut().for_each(|p| add(p, by));
            }
        }
        ItemRef::Opening(id) => {
            let Some(i) = plan.location.openings.iter().position(|o| &o.id == id) else { return };
            let o = &plan.location.openings[i];
            if let Some((a, b, _)) = crate::geometry::opening_ends(plan, o) {
                let along = by.dot((b - a).normalize_or_zero());
                plan.location.openings[i].offset_m += along;
            }
        }
        ItemRef::Piece(id) => {
            if let Some(x) = plan.location.pieces.iter_mut().find(|x| &x.id == id) {
                add(&mut x.position_m, by);
            }
        }
        ItemRef::Outlet(id) => {
            if let Some(x) = plan.location.outlets.iter_mut().find(|x| &x.id == id) {
                add(&mut x.position_m, by);
            }
        }
        ItemRef::Camera(id) => {
            if let Some(x) = plan.cameras.iter_mut().find(|x| &x.id == id) {
                add(&mut x.position_m, by);
                x.marks.iter_mut().for_each(|m| add(&mut m.position_m, by));
            }
        }
        ItemRef::Fixture(id) => {
            for f in fixtures_mut(plan).filter(|f| &f.id == id) {
                add(&mut f.position_m, by);
            }
        }
        ItemRef::Mark(id) => {
            for m in plan.shots.iter_mut().flat_map(|s| &mut s.marks).filter(|m| &m.id == id) {
                add(&mut m.position_m, by);
            }
        }
        ItemRef::Circuit(_) | ItemRef::Person(_) | ItemRef::Rig(_) | ItemRef::Shot(_) => {}
    }
}

fn turn(plan: &mut Plan, item: &ItemRef, by_deg: f64) {
    let turned = |a: &mut f64| *a = crate::geometry::normalize_deg(*a + by_deg);
    match item {
        ItemRef::Piece(id) => {
            plan.location.pieces.iter_mut().filter(|x| &x.id == id).for_each(|x| turned(&mut x.rotation_deg));
        }
        ItemRef::Camera(id) => plan.cameras.iter_mut().filter(|x| &x.id == id).for_each(|x| turned(&mut x.pan_deg)),
        ItemRef::Fixture(id) => fixtures_mut(plan).filter(|f| &f.id == id).for_each(|f| turned(&mut f.pan_deg)),
        ItemRef::Mark(id) => plan
            .shots
            .iter_mut()
            .flat_map(|s| &mut s.marks)
            .filter(|m| &m.id == id)
            .for_each(|m| turned(&mut m.facing_deg)),
        ItemRef::Room(id) => {
            let Some(middle) = item.position(plan) else { return };
            if let Some(r) = plan.location.rooms.iter_mut().find(|r| &r.id == id) {
                for p in &mut r.outline_m {
                    *p = (middle + crate::geometry::rotate_bearing(DVec2::from_array(*p) - middle, by_deg)).to_array();
                }
            }
        }
        _ => {}
    }
}

/// A copy under an id of its own.
fn renamed(plan: &Plan, item: Item, rig: &crate::plan::RigId, shot: &crate::plan::ShotId) -> Item {
    let stem = |id: &str| id.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end_matches('-').to_string();
    let fresh = |id: &str| plan.fresh_id(&stem(id));
    match item {
        Item::Room(mut x) => {
            x.id = fresh(x.id.as_str()).into();
            Item::Room(x)
        }
        Item::Opening(mut x) => {
            x.id = fresh(x.id.as_str()).into();
            Item::Opening(x)
        }
        Item::Piece(mut x) => {
            x.id = fresh(x.id.as_str()).into();
            Item::Piece(x)
        }
        Item::Circuit(mut x) => {
            x.id = fresh(x.id.as_str()).into();
            Item::Circuit(x)
        }
        Item::Outlet(mut x) => {
            x.id = fresh(x.id.as_str()).into();
            Item::Outlet(x)
        }
        Item::Person(mut x) => {
            x.id = fresh(x.id.as_str()).into();
            Item::Person(x)
        }
        Item::Camera(mut x) => {
            x.id = fresh(x.id.as_str()).into();
            Item::Camera(x)
        }
        Item::Rig(mut x) => {
            let old = x.id.to_string();
            x.id = fresh(&old).into();
            for (i, f) in x.fixtures.iter_mut().enumerate() {
                f.id = format!("{}-{}-{}", x.id, stem(f.id.as_str()), i + 1).into();
            }
            Item::Rig(x)
        }
        Item::Fixture { fixture: mut x, .. } => {
            x.id = fresh(x.id.as_str()).into();
            Item::Fixture { rig: rig.clone(), fixture: x }
        }
        Item::Shot(mut x) => {
            let old = x.id.to_string();
            x.id = fresh(&old).into();
            for (i, m) in x.marks.iter_mut().enumerate() {
                m.id = format!("{}-{}-{}", x.id, stem(m.id.as_str()), i + 1).into();
            }
            for (i, l) in x.lamps.iter_mut().enumerate() {
                l.fixture.id = format!("{}-{}-{}", x.id, stem(l.fixture.id.as_str()), i + 1).into();
            }
            Item::Shot(x)
        }
        Item::Mark { mark: mut x, .. } => {
            x.id = fresh(x.id.as_str()).into();
            if let Some(s) = plan.shot(shot) {
                follow(s, &mut x);
            }
            Item::Mark { shot: shot.clone(), mark: x }
        }
    }
}

/// Seconds between two marks where nobody said how long the way takes.
const WAY_S: f64 = 2.0;

/// A copied mark of somebody who is there already comes after their last one.
fn follow(shot: &Shot, mark: &mut Mark) {
    let last = shot.marks.iter().filter(|m| m.person == mark.person).max_by(|a, b| a.from_s.total_cmp(&b.from_s));
    let Some(last) = last else { return };
    let stays = mark.to_s.map(|to| to - mark.from_s);
    mark.from_s = last.to_s.unwrap_or(last.from_s + WAY_S) + WAY_S;
    mark.to_s = stays.map(|s| mark.from_s + s);
}

fn add_corner(plan: &mut Plan, room: &crate::plan::RoomId, edge: usize, at: DVec2) -> Result<(), Refused> {
    let l = &mut plan.location;
    let r = l.rooms.iter_mut().find(|r| &r.id == room).ok_or_else(|| gone(say!("room")))?;
    if edge >= r.outline_m.len() {
        return Err(gone(say!("wall")));
    }
    let first = DVec2::from_array(r.outline_m[edge]).distance(at);
    r.outline_m.insert(edge + 1, at.to_array());
    for o in l.openings.iter_mut().filter(|o| &o.room == room) {
        if o.edge > edge {
            o.edge += 1;
        } else if o.edge == edge && o.offset_m + o.width_m * 0.5 > first {
            o.edge += 1;
            o.offset_m = (o.offset_m - first).max(0.0);
        }
    }
    Ok(())
}

fn remove_corner(plan: &mut Plan, room: &crate::plan::RoomId, corner: usize) -> Result<(), Refused> {
    let l = &mut plan.location;
    let r = l.rooms.iter_mut().find(|r| &r.id == room).ok_or_else(|| gone(say!("room")))?;
    if r.outline_m.len() <= 3 {
        return Err(Refused(say!("a-room-keeps-at-least-three").into()));
    }
    if corner >= r.outline_m.len() {
        return Err(gone(say!("corner")));
    }
    let n = r.outline_m.len();
    let before = (corner + n - 1) % n;
    let length_before = DVec2::from_array(r.outline_m[before]).distance(DVec2::from_array(r.outline_m[corner]));
    r.outline_m.remove(corner);
    for o in l.openings.iter_mut().filter(|o| &o.room == room) {
        if o.edge == corner {
            o.offset_m += length_before;
            o.edge = before;
        }
        if o.edge > corner || (corner == 0 && o.edge == n - 1) {
            o.edge -= 1;
        }
    }
    Ok(())
}

fn set_edge_length(plan: &mut Plan, room: &crate::plan::RoomId, edge: usize, length_m: f64) -> Result<(), Refused> {
    if !(length_m.is_finite() && length_m >= 0.01) {
        return Err(Refused(say!("a-wall-is-at-least-1").into()));
    }
    let r = plan.location.rooms.iter_mut().find(|r| &r.id == room).ok_or_else(|| gone(say!("room")))?;
    let n = r.outline_m.len();
    if edge >= n {
        return Err(gone(say!("wall")));
    }
    let (a, b) = (DVec2::from_array(r.outline_m[edge]), DVec2::from_array(r.outline_m[(edge + 1) % n]));
    let dir = (b - a).normalize_or_zero();
    let by = dir * (length_m - a.distance(b));
    // Every corner past the wall's far end, seen along the wall, moves with it: right angles stay right.
    let end = b.dot(dir);
    for p in &mut r.outline_m {
        if DVec2::from_array(*p).dot(dir) >= end - 1e-6 {
            add(p, by);
        }
    }
    Ok(())
}

/// Keeps openings on their walls after a wall has changed.
fn fit_openings(plan: &mut Plan) {
    let l = &mut *plan.location;
    for o in &mut l.openings {
        let Some(room) = l.rooms.iter().find(|r| r.id == o.room) else { continue };
        let Some((a, b)) = room_edges(room).nth(o.edge) else { continue };
        let length = a.distance(b);
        o.width_m = o.width_m.min(length);
        o.offset_m = o.offset_m.clamp(0.0, (length - o.width_m).max(0.0));
        o.head_m = o.head_m.min(room.ceiling_m);
    }
}

#[cfg(test)]
mod tests {
    use super::super::History;
    use super::*;
    use crate::plan::{HeadClass, Piece, Room};
    use proptest::prelude::*;

    fn square() -> Plan {
        let mut plan = Plan::empty();
        plan.location.rooms.push(Room::new("room-1", "R", vec![[0., 0.], [4., 0.], [4., 3.], [0., 3.]]));
        plan
    }

    #[test]
    fn a_wall_length_keeps_right_angles() {
        let plan = apply(&square(), &Edit::SetEdgeLength { room: "room-1".into(), edge: 0, length_m: 5.0 }).unwrap();
        assert_eq!(plan.location.rooms[0].outline_m, [[0., 0.], [5., 0.], [5., 3.], [0., 3.]]);
    }

    #[test]
    fn a_crossing_corner_is_refused() {
        let bad = Edit::MoveCorner { room: "room-1".into(), corner: 1, to: DVec2::new(2.0, 4.0) };
        assert!(apply(&square(), &bad).unwrap_err().0.contains("crosses itself"));
    }

    #[test]
    fn pasting_a_rig_gives_its_lamps_ids_of_their_own() {
        let mut plan = square();
        plan.rigs[0].fixtures.push(Fixture::new("lamp-1", HeadClass::OpenFace, [1., 1.], 0.));
        let items = vec![Item::Rig(plan.rigs[0].clone())];
        let next =
            apply(&plan, &Edit::Paste { items, by: DVec2::ZERO, rig: "rig-1".into(), shot: "shot-1".into() }).unwrap();
        assert_eq!(next.rigs.len(), 2);
    }

    proptest! {
        /// Undoing everything gives the first plan back, redoing everything the last.
        #[test]
        fn undo_and_redo_are_exact(steps in prop::collection::vec((0..6u8, 0..4usize, -2.0..2.0f64, -2.0..2.0f64), 1..40)) {
            let first = square();
            let mut plan = first.clone();
            let mut history = History::default();
            for (kind, k, x, y) in steps {
                let piece = |n: usize| ItemRef::Piece(format!("piece-{n}").into());
                let edit = match kind {
                    0 => Edit::Put(Item::Piece(Piece::new(plan.fresh_id("piece"), "", [x, y], [0.5, 0.5], 1.0))),
                    1 => Edit::Move { items: vec![piece(k)], by: DVec2::new(x, y) },
                    2 => Edit::Remove(vec![piece(k)]),
                    3 => Edit::MoveCorner { room: "room-1".into(), corner: k, to: DVec2::new(x, y) },
                    4 => Edit::Turn { items: vec![piece(k)], by_deg: x * 90.0 },
                    _ => Edit::Settings(Box::new(super::super::Settings { title: format!("{x}"), ..super::super::Settings::of(&plan) })),
                };
                if let Ok(next) = apply(&plan, &edit) {
                    history.note(edit.label(), &plan, &next);
                    plan = next;
                }
            }
            let last = plan.clone();
            while history.undo(&mut plan).is_some() {}
            prop_assert_eq!(&plan, &first);
            while history.redo(&mut plan).is_some() {}
            prop_assert_eq!(&plan, &last);
        }
    }
}
