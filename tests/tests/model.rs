//! Edits drawn by lot, undone and redone, against the simplest model there is: a list of whole plans.
//!
//! Some thousand edits in an ordinary run; `TAPEMARK_EDITS` says how many otherwise.

use glam::DVec2;
use std::collections::VecDeque;
use tapemark::files::demo;
use tapemark_acceptance::Lot;
use tapemark_core::edit::{Edit, History, Item, ItemRef, MOST_STEPS, Required, Settings, apply};
use tapemark_core::plan::*;

/// A way of at most so many metres on either axis.
fn way(lot: &mut Lot, most: f64) -> DVec2 {
    DVec2::new(lot.between(-most, most), lot.between(-most, most))
}

fn everything(plan: &Plan) -> Vec<ItemRef> {
    let l = &plan.location;
    let mut out = Vec::new();
    out.extend(l.rooms.iter().map(|x| ItemRef::Room(x.id.clone())));
    out.extend(l.openings.iter().map(|x| ItemRef::Opening(x.id.clone())));
    out.extend(l.pieces.iter().map(|x| ItemRef::Piece(x.id.clone())));
    out.extend(l.circuits.iter().map(|x| ItemRef::Circuit(x.id.clone())));
    out.extend(l.outlets.iter().map(|x| ItemRef::Outlet(x.id.clone())));
    out.extend(plan.cast.iter().map(|x| ItemRef::Person(x.id.clone())));
    out.extend(plan.cameras.iter().map(|x| ItemRef::Camera(x.id.clone())));
    out.extend(plan.rigs.iter().map(|x| ItemRef::Rig(x.id.clone())));
    out.extend(plan.rigs.iter().flat_map(|r| &r.fixtures).map(|x| ItemRef::Fixture(x.id.clone())));
    out.extend(plan.shots.iter().map(|x| ItemRef::Shot(x.id.clone())));
    out.extend(plan.shots.iter().flat_map(|s| &s.marks).map(|x| ItemRef::Mark(x.id.clone())));
    out
}

fn some(plan: &Plan, lot: &mut Lot, most: usize) -> Vec<ItemRef> {
    let all = everything(plan);
    (0..=lot.below(most)).filter_map(|_| lot.one(&all)).collect()
}

/// An edit that a hand could make, sensible or not.
fn drawn(plan: &Plan, lot: &mut Lot) -> Edit {
    let room = lot.one(&plan.location.rooms);
    let shot = lot.one(&plan.shots).map_or_else(|| "shot".into(), |s| s.id);
    let rig = lot.one(&plan.rigs).map_or_else(|| "rig".into(), |r| r.id);
    let full = everything(plan).len() > 70;
    match lot.below(if full { 22 } else { 18 }) {
        0 | 1 => Edit::Move { items: some(plan, lot, 4), by: way(lot, 0.8) },
        2 => Edit::Turn { items: some(plan, lot, 3), by_deg: lot.between(-400.0, 400.0) },
        3 => {
            let items = some(plan, lot, 3).iter().filter_map(|r| r.get(plan)).collect();
            Edit::Paste { items, by: way(lot, 1.0), rig, shot }
        }
        4 | 18..=21 => Edit::Remove(some(plan, lot, if full { 6 } else { 1 })),
        5 => match room {
            Some(r) => Edit::MoveCorner { room: r.id, corner: lot.below(r.outline_m.len() + 1), to: way(lot, 7.0) },
            None => Edit::Put(Item::Room(Room::new("room-new", "New", vec![[0., 0.], [5., 0.], [5., 4.], [0., 4.]]))),
        },
        6 => match room {
            Some(r) if r.outline_m.len() < 9 => {
                Edit::AddCorner { edge: lot.below(r.outline_m.len()), at: way(lot, 6.0), room: r.id }
            }
            Some(r) => Edit::RemoveCorner { corner: lot.below(r.outline_m.len()), room: r.id },
            None => Edit::Remove(some(plan, lot, 1)),
        },
        7 => match room {
            Some(r) => {
                Edit::SetEdgeLength { edge: lot.below(r.outline_m.len()), length_m: lot.between(-0.5, 9.0), room: r.id }
            }
            None => Edit::Remove(Vec::new()),
        },
        8 => Edit::Put(Item::Piece(Piece::board(
            plan.fresh_id("board"),
            way(lot, 5.0).to_array(),
            lot.between(0.0, 360.0),
        ))),
        9 => {
            let class = HeadClass::ALL[lot.below(HeadClass::ALL.len())];
            let fixture = Fixture::new(plan.fresh_id("lamp"), class, way(lot, 5.0).to_array(), lot.between(0.0, 360.0));
            Edit::Put(Item::Fixture { rig, fixture })
        }
        10 => {
            let mut fixture = plan.rigs.iter().flat_map(|r| &r.fixtures).next().cloned();
            if let Some(f) = fixture.as_mut() {
                f.dimmer = lot.between(-0.2, 1.2);
                f.height_m = lot.between(-0.5, 5.0);
            }
            match fixture {
                Some(fixture) => Edit::Put(Item::Fixture { rig, fixture }),
                None => Edit::Remove(some(plan, lot, 1)),
            }
        }
        11 => {
            let mut ids: Vec<ShotId> = plan.shots.iter().map(|s| s.id.clone()).collect();
            if !ids.is_empty() {
                let n = lot.below(ids.len());
                ids.rotate_left(n);
            }
            Edit::OrderShots(ids)
        }
        12 => match plan.shot_fixtures(&plan.shots[lot.below(plan.shots.len())]).first() {
            Some(f) => Edit::OwnLamp { shot, fixture: f.id.clone() },
            None => Edit::Remove(Vec::new()),
        },
        13 => Edit::UseCamera { shot, camera: lot.one(&plan.cameras).map(|c| c.id) },
        14 => {
            let person = lot.one(&plan.cast).map_or_else(|| "nobody".into(), |p| p.id);
            let required = if lot.below(2) == 0 { Required::Yes } else { Required::No };
            Edit::RequireFace { shot, person, required }
        }
        15 => Edit::Settings(Box::new(Settings { notes: format!("note {}", lot.draw()), ..Settings::of(plan) })),
        16 => {
            let mut new = plan.shots[lot.below(plan.shots.len())].clone();
            new.id = plan.fresh_id("shot").into();
            new.marks.clear();
            Edit::Put(Item::Shot(new))
        }
        _ => Edit::Together {
            label: "two".into(),
            edits: vec![
                Edit::Move { items: some(plan, lot, 2), by: way(lot, 0.3) },
                Edit::Turn { items: some(plan, lot, 2), by_deg: 15.0 },
            ],
        },
    }
}

#[test]
fn edits_by_lot_equal_the_model() {
    let wanted: usize = std::env::var("TAPEMARK_EDITS").ok().and_then(|n| n.parse().ok()).unwrap_or(3000);
    let mut lot = Lot(2026);
    let (mut plan, mut history) = (demo(), History::default());
    // The model: the plan, the plans before each step, and those that undo left.
    let mut model = plan.clone();
    let (mut done, mut undone): (VecDeque<Plan>, Vec<Plan>) = (VecDeque::new(), Vec::new());
    let (mut made, mut refused, mut back) = (0, 0, 0);
    let mut step = 0_usize;
    while made < wanted {
        step += 1;
        match lot.below(10) {
            0 | 1 => {
                let undid = history.undo(&mut plan).is_some();
                assert_eq!(undid, !done.is_empty(), "step {step}");
                if let Some(before) = done.pop_back() {
                    undone.push(std::mem::replace(&mut model, before));
                    back += 1;
                }
            }
            2 => {
                let redid = history.redo(&mut plan).is_some();
                assert_eq!(redid, !undone.is_empty(), "step {step}");
                if let Some(after) = undone.pop() {
                    done.push_back(std::mem::replace(&mut model, after));
                }
            }
            _ => {
                let edit = drawn(&plan, &mut lot);
                let Ok(next) = apply(&plan, &edit) else {
                    refused += 1;
                    continue;
                };
                made += 1;
                assert_eq!(history.note(edit.label(), &plan, &next), model != next, "step {step}");
                if model != next {
                    done.push_back(std::mem::replace(&mut model, next.clone()));
                    undone.clear();
                    if done.len() > MOST_STEPS {
                        done.pop_front();
                    }
                }
                plan = next;
            }
        }
        assert!(plan == model, "step {step}");
        assert_eq!(history.depth(), done.len());
        if step.is_multiple_of(101) {
            let faults = validate(&plan);
            assert!(faults.is_empty(), "step {step}: {faults:?}");
            let text = to_json(&plan);
            let again = from_json(text.as_bytes()).unwrap();
            assert_eq!(again, plan, "step {step}");
            assert_eq!(to_json(&again), text, "saved, opened and saved again it is the same, byte for byte");
        }
    }
    assert!(back > wanted / 8, "{back} were taken back");
    println!("{made} edits, {refused} refused, {back} taken back");
}
