//! A wall between two rooms, moved by hand: both faces go, and *Only this room* is one click away.

mod window;

use egui_kittest::kittest::Queryable;
use tapemark_core::edit::ItemRef;
use tapemark_core::plan::{Plan, Room};
use window::{drag, window_on};

#[test]
fn a_wall_takes_the_face_behind_it_along() {
    let mut plan = Plan::empty();
    plan.location.rooms.push(Room::new("hall", "Hall", vec![[0., 0.], [1.4, 0.], [1.4, 6.], [0., 6.]]));
    plan.location.rooms.push(Room::new("room", "Room", vec![[1.52, 1.], [5., 1.], [5., 4.], [1.52, 4.]]));
    let mut h = window_on(plan.clone());
    h.state_mut().selected = [ItemRef::Room("hall".into())].into();
    h.run_steps(3);
    drag(&mut h, [1.4, 3.0], [1.6, 3.0]);
    let corner = |p: &Plan, room: usize, k: usize| p.location.rooms[room].outline_m[k][0];
    let moved = corner(&h.state().plan, 0, 1) - 1.4;
    assert!((moved - 0.2).abs() < 0.051, "{moved}");
    assert!((corner(&h.state().plan, 1, 0) - 1.52 - moved).abs() < 1e-9, "the room's face goes along");
    h.get_by_label_contains("The wall of Room moved along");
    h.get_by_label("Only this room").click();
    h.run_steps(3);
    assert!((corner(&h.state().plan, 0, 1) - 1.4 - moved).abs() < 1e-9);
    assert_eq!(corner(&h.state().plan, 1, 0), 1.52);
    assert!(h.query_by_label("Only this room").is_none());
    h.state_mut().undo();
    assert_eq!(h.state().plan, plan, "one step of undo");
}
