//! Any edit, undone: the plan before.

use super::Law;
use crate::Lot;
use crate::plausible::plausible;
use crate::shrink::Held;
use glam::DVec2;
use tapemark_core::edit::{Edit, History, Item, ItemRef, Required, Settings, apply};
use tapemark_core::plan::{Camera, Piece, Plan, ShotId, to_json};

/// The laws of this file.
pub(super) const LAWS: &[Law] = &[Law {
    name: "undone",
    says: "Any edit, undone, leaves the plan before, to the byte; made again, the plan after",
    allows: "nothing",
    source: "what undo means",
    plans: 60,
    plan: plausible,
    ask: undone,
}];

/// Edits of every kind about what the plan has.
fn edits(plan: &Plan) -> Vec<Edit> {
    let mut lot = Lot(77);
    let l = &plan.location;
    let mut items: Vec<ItemRef> = Vec::new();
    items.extend(l.rooms.iter().map(|x| ItemRef::Room(x.id.clone())));
    items.extend(l.openings.iter().map(|x| ItemRef::Opening(x.id.clone())));
    items.extend(l.pieces.iter().map(|x| ItemRef::Piece(x.id.clone())));
    items.extend(l.circuits.iter().map(|x| ItemRef::Circuit(x.id.clone())));
    items.extend(l.outlets.iter().map(|x| ItemRef::Outlet(x.id.clone())));
    items.extend(plan.cast.iter().map(|x| ItemRef::Person(x.id.clone())));
    items.extend(plan.cameras.iter().map(|x| ItemRef::Camera(x.id.clone())));
    items.extend(plan.rigs.iter().map(|x| ItemRef::Rig(x.id.clone())));
    items.extend(plan.rigs.iter().flat_map(|r| &r.fixtures).map(|x| ItemRef::Fixture(x.id.clone())));
    items.extend(plan.shots.iter().flat_map(|s| &s.lamps).map(|x| ItemRef::Fixture(x.fixture.id.clone())));
    items.extend(plan.shots.iter().map(|x| ItemRef::Shot(x.id.clone())));
    items.extend(plan.shots.iter().flat_map(|s| &s.marks).map(|x| ItemRef::Mark(x.id.clone())));
    let by = DVec2::new(0.31, -0.17);
    let (rig, shot) = (plan.rigs[0].id.clone(), plan.shots[0].id.clone());
    let mut out: Vec<Edit> = Vec::new();
    for item in &items {
        out.push(Edit::Remove(vec![item.clone()]));
        out.push(Edit::Move { items: vec![item.clone()], by });
        out.push(Edit::Turn { items: vec![item.clone()], by_deg: 37.0 });
        let copy: Vec<Item> = item.get(plan).into_iter().collect();
        out.push(Edit::Paste { items: copy, by, rig: rig.clone(), shot: shot.clone() });
    }
    for r in &l.rooms {
        let corner = lot.below(r.outline_m.len());
        let to = DVec2::from_array(r.outline_m[corner]) + by * 0.3;
        out.push(Edit::MoveCorner { room: r.id.clone(), corner, to });
        out.push(Edit::AddCorner { room: r.id.clone(), edge: corner, at: to });
        out.push(Edit::RemoveCorner { room: r.id.clone(), corner });
        out.push(Edit::SetEdgeLength { room: r.id.clone(), edge: corner, length_m: 2.9 });
    }
    for f in plan.rigs.iter().flat_map(|r| &r.fixtures) {
        out.push(Edit::OwnLamp { shot: shot.clone(), fixture: f.id.clone() });
    }
    for p in &plan.cast {
        let required = if plan.shots[0].faces.contains(&p.id) { Required::No } else { Required::Yes };
        out.push(Edit::RequireFace { shot: shot.clone(), person: p.id.clone(), required });
    }
    let ids: Vec<ShotId> = plan.shots.iter().rev().map(|s| s.id.clone()).collect();
    out.push(Edit::OrderShots(ids));
    out.push(Edit::UseCamera { shot: shot.clone(), camera: None });
    out.push(Edit::PlaceCamera { camera: Camera::new("a-new-camera", "New", [1.0, 1.0], 5.0), shot });
    out.push(Edit::Put(Item::Piece(Piece::board("a-new-board", [1.0, 2.0], 30.0))));
    out.push(Edit::Settings(Box::new(Settings { north_deg: 12.0, notes: "n".into(), ..Settings::of(plan) })));
    out
}

fn undone(plan: &Plan) -> Held {
    let (before, mut made) = (to_json(plan), 0);
    for edit in edits(plan) {
        let Ok(next) = apply(plan, &edit) else { continue };
        made += 1;
        let (mut history, mut now) = (History::default(), next.clone());
        if !history.note(edit.label(), plan, &next) {
            continue;
        }
        history.undo(&mut now);
        if to_json(&now) != before {
            return Err(format!("{edit:?} is not undone"));
        }
        history.redo(&mut now);
        if now != next {
            return Err(format!("{edit:?} is not made again"));
        }
    }
    if made == 0 { Err("no edit could be made".into()) } else { Ok(0.0) }
}
