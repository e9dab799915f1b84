//! Rules of the trade as notices: set-ups made by hand, raised when the rule is broken and quiet when it is kept.
//! The rules themselves are common practice, no source; the geometry is worked out beside each.

use tapemark_acceptance::*;
use tapemark_core::facts::shot_facts;
use tapemark_core::plan::*;

fn codes(plan: &Plan, shot: usize) -> Vec<&'static str> {
    shot_facts(plan, &plan.shots[shot], 0.0).notices.iter().map(|n| n.code).collect()
}

fn second(plan: &mut Plan, at: [f64; 2], facing: f64) {
    plan.cast.push(Person {
        id: "b".into(),
        name: "B".into(),
        height_m: 1.75,
        build: Build::Medium,
        from: None,
        until: None,
        unknown: Default::default(),
    });
    plan.shots[0].marks.push(mark("b", at, facing));
}

/// A at the origin facing +y, lens 3 m before them, an open-face lamp to one side.
fn lit(lamp_at: [f64; 2], height_m: f64) -> Plan {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 3.0], 180.0);
    let v = glam::DVec2::from_array(lamp_at);
    let mut f = Fixture::new("lamp", HeadClass::OpenFace, lamp_at, tapemark_core::geometry::bearing_deg(-v));
    f.name = "key".into();
    f.height_m = height_m;
    f.tilt_deg = ((1.6 - height_m) / v.length()).atan().to_degrees();
    f.output_lm = Some(40_000.0);
    plan.rigs[0].fixtures.push(f);
    plan
}

/// B midway between lamp and face, as tall as the line is high, throws a shadow on it; half a metre aside not.
#[test]
fn a_persons_shadow_on_a_face() {
    let mut plan = lit([3.0, 3.0], 1.7);
    second(&mut plan, [1.5, 1.5], 0.0);
    assert!(codes(&plan, 0).contains(&"shadow-on-face"), "{:?}", codes(&plan, 0));
    plan.shots[0].marks[1].position_m = [1.9, 1.1];
    assert!(!codes(&plan, 0).contains(&"shadow-on-face"));
}

/// A low lamp straight behind the operator shines through them; one 3 m high passes over 1.75 m: 0.35 m behind a
/// lens at 3 m, with the lamp at 5 m, its line is 1.6 + 1.4·3.35/5 = 2.5 m high there.
#[test]
fn the_operators_shadow() {
    let plan = lit([0.0, 5.0], 1.6);
    assert!(codes(&plan, 0).contains(&"operator-shadow"), "{:?}", codes(&plan, 0));
    let plan = lit([0.0, 5.0], 3.0);
    assert!(!codes(&plan, 0).contains(&"operator-shadow"));
}

/// A wall 1 m behind A: a hard lamp at 45° throws the head's shadow 1 m to the side, in frame; a lamp from the
/// lens's own side of a longer lens's frame does not.
#[test]
fn a_hard_shadow_on_the_wall() {
    let mut plan = lit([3.0, 3.0], 1.7);
    plan.location.rooms[0].outline_m = vec![[-10., -1.], [10., -1.], [10., 10.], [-10., 10.]];
    plan.cameras[0].lens.focal_mm = 18.0;
    assert!(codes(&plan, 0).contains(&"shadow-on-wall"), "{:?}", codes(&plan, 0));
    plan.cameras[0].lens.focal_mm = 85.0;
    assert!(!codes(&plan, 0).contains(&"shadow-on-wall"));
}

/// A low lamp 2 m behind the operator throws their shadow beside A on the wall in frame: the line from (0.8, 5) over
/// the operator's head at (0, 3.35) meets the wall at y = −1 at x = −2.1. From 3.4 m up it falls on the floor.
#[test]
fn the_operators_shadow_on_the_wall() {
    let mut plan = lit([0.8, 5.0], 1.7);
    plan.location.rooms[0].outline_m = vec![[-10., -1.], [10., -1.], [10., 10.], [-10., 10.]];
    plan.location.rooms[0].ceiling_m = 4.0;
    plan.cameras[0].lens.focal_mm = 14.0;
    assert!(codes(&plan, 0).contains(&"operator-shadow-on-wall"), "{:?}", codes(&plan, 0));
    plan.rigs[0].fixtures[0].height_m = 3.4;
    assert!(!codes(&plan, 0).contains(&"operator-shadow-on-wall"));
}

/// A mirror on the wall behind A, square to the lens, shows the lens itself (angle in = angle out, on the axis);
/// 2 m aside it does not, but shows the lamp when it lies half way between the two images.
#[test]
fn reflections_in_a_mirror_and_a_window() {
    let mut plan = portrait([1.0, 0.0], 0.0, [0.0, 3.0], 180.0);
    plan.cameras[0].lens.focal_mm = 18.0;
    let mut mirror = Piece::new("mirror", "mirror", [0.0, -1.0], [0.6, 0.02], 2.0);
    mirror.kind = PieceKind::Mirror;
    mirror.base_m = 1.0;
    plan.location.pieces.push(mirror);
    assert!(codes(&plan, 0).contains(&"camera-in-reflection"), "{:?}", codes(&plan, 0));
    plan.location.pieces[0].position_m = [-1.0, -1.0];
    assert!(!codes(&plan, 0).contains(&"camera-in-reflection"));
    // Lens and lamp both 4 m before the mirror's plane: it must lie half way between them, at −1 of 0 and −2.
    let mut f = Fixture::new("lamp", HeadClass::BareBulb, [-2.0, 3.0], 0.0);
    f.height_m = 1.6;
    plan.rigs[0].fixtures.push(f);
    assert!(codes(&plan, 0).contains(&"lamp-in-reflection"), "{:?}", codes(&plan, 0));
    plan.rigs[0].fixtures[0].position_m = [-0.6, 3.0];
    assert!(!codes(&plan, 0).contains(&"lamp-in-reflection"));
    // The same off a window in the wall behind.
    plan.location.pieces.clear();
    plan.location.rooms[0].outline_m = vec![[-10., -1.], [10., -1.], [10., 10.], [-10., 10.]];
    plan.location.openings.push(Opening {
        id: "w".into(),
        name: "window".into(),
        room: "room".into(),
        edge: 0,
        offset_m: 9.4,
        width_m: 0.6,
        sill_m: 1.0,
        head_m: 2.0,
        kind: OpeningKind::Window { transmittance: 0.8 },
        unknown: Default::default(),
    });
    assert!(codes(&plan, 0).contains(&"lamp-in-reflection"), "half way is −0.3: {:?}", codes(&plan, 0));
}

/// Two shots of A and B face to face: a camera on the other side of their line crosses it.
fn two_shots(second_camera: [f64; 2], pan_deg: f64) -> Plan {
    let mut plan = portrait([-0.8, 0.0], 90.0, [0.0, -3.0], 0.0);
    second(&mut plan, [0.8, 0.0], 270.0);
    plan.cameras[0].lens.focal_mm = 24.0;
    let mut shot = plan.shots[0].clone();
    (shot.id, shot.name, shot.camera) = ("shot-2".into(), "2".into(), Some("cam-2".into()));
    shot.marks.iter_mut().for_each(|m| m.id = format!("{}-2", m.id).into());
    shot.cuts_with = vec!["shot-1".into()];
    let mut camera = plan.cameras[0].clone();
    (camera.id, camera.position_m, camera.pan_deg) = ("cam-2".into(), second_camera, pan_deg);
    plan.cameras.push(camera);
    plan.shots.push(shot);
    plan
}

#[test]
fn crossing_the_axis() {
    assert!(codes(&two_shots([0.5, 3.0], 190.0), 1).contains(&"crosses-axis"));
    assert!(!codes(&two_shots([2.0, -2.0], 320.0), 1).contains(&"crosses-axis"));
}

/// 15° round and the same size jumps; 45° round does not; 15° with a longer lens does not.
#[test]
fn the_thirty_degree_rule() {
    // Round A at (−0.8, 0): the first camera is at bearing from A of atan2(0.8, −3).
    let round = |deg: f64| {
        let v = tapemark_core::geometry::rotate_bearing(glam::DVec2::new(0.8, -3.0), deg);
        [v.x - 0.8, v.y]
    };
    let pan = |at: [f64; 2]| tapemark_core::geometry::bearing_deg(glam::DVec2::new(-0.8 - at[0], -at[1]));
    let plan = two_shots(round(-15.0), pan(round(-15.0)));
    assert!(codes(&plan, 1).contains(&"jumps"), "{:?}", codes(&plan, 1));
    let mut longer = plan.clone();
    longer.cameras[1].lens.focal_mm = 70.0;
    assert!(!codes(&longer, 1).contains(&"jumps"));
    let plan = two_shots(round(-45.0), pan(round(-45.0)));
    assert!(!codes(&plan, 1).contains(&"jumps"), "{:?}", codes(&plan, 1));
}

/// Eyes of 1.75 m stand at 0.936 of it, 1.64 m (Drillis & Contini): a close lens at 1.1 m looks up.
#[test]
fn the_lens_and_the_eyes() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 1.2], 180.0);
    plan.cameras[0].lens.focal_mm = 50.0;
    assert!(!codes(&plan, 0).contains(&"lens-off-eyeline"));
    plan.cameras[0].lens_height_m = 1.1;
    plan.cameras[0].tilt_deg = 22.0;
    assert!(codes(&plan, 0).contains(&"lens-off-eyeline"), "{:?}", codes(&plan, 0));
    let mut plan = two_shots([2.0, -2.0], 320.0);
    plan.cameras[1].lens_height_m = 1.0;
    assert!(codes(&plan, 1).contains(&"eyelines-differ"));
}

/// Focus set at 4 m, wide open: a walk from 4 m to 2 m leaves the depth of field on the way, and one to 0.3 m
/// comes nearer than a close focus of 0.5 m.
#[test]
fn focus_over_the_move() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 4.0], 180.0);
    plan.cameras[0].lens = Lens { focal_mm: 50.0, t_stop: 2.0, close_focus_m: 0.5, ..Lens::default() };
    plan.cameras[0].focus_m = Some(4.0);
    plan.shots[0].marks[0].to_s = Some(1.0);
    let mut to = mark("a", [0.0, 2.0], 0.0);
    (to.id, to.from_s) = ("m2".into(), 4.0);
    plan.shots[0].marks.push(to);
    assert!(codes(&plan, 0).contains(&"out-of-focus-later"), "{:?}", codes(&plan, 0));
    assert!(!codes(&plan, 0).contains(&"too-close-later"));
    plan.cameras[0].lens.focal_mm = 12.0;
    plan.shots[0].marks[1].position_m = [0.0, 3.6];
    assert!(codes(&plan, 0).contains(&"too-close-later"), "{:?}", codes(&plan, 0));
    // The other way round: at T16 with 12 mm everything from half the hyperfocal distance is sharp.
    plan.cameras[0].lens.t_stop = 16.0;
    plan.shots[0].marks[1].position_m = [0.0, 2.0];
    assert!(!codes(&plan, 0).contains(&"out-of-focus-later"));
}

/// 6 m in 2 s is 3 m/s: a run. 6 m in 5 s is a walk. A table on the straight way is walked through.
#[test]
fn walking_from_mark_to_mark() {
    let mut plan = portrait([-3.0, 0.0], 90.0, [0.0, 8.0], 180.0);
    plan.shots[0].marks[0].to_s = Some(1.0);
    let mut to = mark("a", [3.0, 0.0], 90.0);
    (to.id, to.from_s) = ("m2".into(), 3.0);
    plan.shots[0].marks.push(to);
    assert!(codes(&plan, 0).contains(&"walks-too-fast"));
    plan.shots[0].marks[1].from_s = 6.0;
    assert!(!codes(&plan, 0).contains(&"walks-too-fast"));
    assert!(!codes(&plan, 0).contains(&"walks-through"));
    plan.location.pieces.push(Piece::new("table", "table", [0.0, 0.0], [1.0, 1.0], 0.7));
    assert!(codes(&plan, 0).contains(&"walks-through"));
}

/// A cable runs straight from stand to outlet: across the frame it is seen, behind the camera it is not.
#[test]
fn a_cable_in_frame() {
    let mut plan = lit([-3.0, 2.9], 2.0);
    plan.cameras[0].tilt_deg = -15.0;
    plan.location.circuits.push(Circuit {
        id: "c".into(),
        name: "c".into(),
        breaker_a: 16.0,
        feed: None,
        unknown: Default::default(),
    });
    plan.location.outlets.push(Outlet {
        id: "o".into(),
        position_m: [3.0, -2.0],
        circuit: "c".into(),
        unknown: Default::default(),
    });
    plan.rigs[0].fixtures[0].outlet = Some("o".into());
    assert!(codes(&plan, 0).contains(&"cable-in-frame"), "{:?}", codes(&plan, 0));
    plan.location.outlets[0].position_m = [-3.0, 6.0];
    assert!(!codes(&plan, 0).contains(&"cable-in-frame"));
}

/// A corridor 1.2 m wide with the exit at its end. A stand's feet (0.35 m) in the middle leave 0.25 m on each
/// side: blocked. Against the wall they leave 0.85 m: free. With a shelf 0.25 m deep opposite, 0.60 m: narrow.
#[test]
fn the_way_out() {
    let mut plan = Plan::empty();
    plan.location.rooms.push(Room::new("r", "Corridor", vec![[0., 0.], [1.2, 0.], [1.2, 8.], [0., 8.]]));
    plan.location.openings.push(Opening {
        id: "d".into(),
        name: "street door".into(),
        room: "r".into(),
        edge: 0,
        offset_m: 0.1,
        width_m: 1.0,
        sill_m: 0.0,
        head_m: 2.0,
        kind: OpeningKind::Door { hinge: Hinge::Near, swing: Swing::Out, open_deg: 0.0 },
        unknown: Default::default(),
    });
    plan.cameras.push(Camera::new("cam", "Cam A", [0.6, 5.0], 0.0));
    plan.shots[0].camera = Some("cam".into());
    let mut f = Fixture::new("lamp", HeadClass::Panel, [0.6, 2.5], 0.0);
    f.mount = Mount::Stand;
    plan.rigs[0].fixtures.push(f);
    assert!(codes(&plan, 0).contains(&"exit-blocked"), "{:?}", codes(&plan, 0));
    plan.rigs[0].fixtures[0].position_m = [0.0, 2.5];
    let found = codes(&plan, 0);
    assert!(!found.contains(&"exit-blocked") && !found.contains(&"walkway-narrow"), "{found:?}");
    plan.location.pieces.push(Piece::new("shelf", "shelf", [1.075, 2.5], [0.25, 1.0], 1.8));
    assert!(codes(&plan, 0).contains(&"walkway-narrow"), "{:?}", codes(&plan, 0));
}

/// A mark half a metre from the hinge, on the side a door swings to, is hit; on the other side it is not.
#[test]
fn a_door_hits_who_stands_in_its_swing() {
    let mut plan = portrait([0.5, 0.5], 0.0, [0.0, 8.0], 180.0);
    plan.location.rooms[0].outline_m = vec![[-5., 0.], [5., 0.], [5., 10.], [-5., 10.]];
    plan.location.openings.push(Opening {
        id: "d".into(),
        name: "door".into(),
        room: "room".into(),
        edge: 0,
        offset_m: 5.0,
        width_m: 0.9,
        sill_m: 0.0,
        head_m: 2.0,
        kind: OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg: 0.0 },
        unknown: Default::default(),
    });
    assert!(codes(&plan, 0).contains(&"door-hits-person"), "{:?}", codes(&plan, 0));
    plan.shots[0].marks[0].position_m = [-1.0, 0.8];
    assert!(!codes(&plan, 0).contains(&"door-hits-person"), "{:?}", codes(&plan, 0));
}

/// A room 4 m square with its exit in the middle of the south wall, and a camera.
fn room_with_exit(at: [f64; 2], pan_deg: f64) -> Plan {
    let mut plan = Plan::empty();
    plan.location.rooms.push(Room::new("r", "Room", vec![[0., 0.], [4., 0.], [4., 4.], [0., 4.]]));
    plan.location.openings.push(Opening {
        id: "d".into(),
        name: "street door".into(),
        room: "r".into(),
        edge: 0,
        offset_m: 1.55,
        width_m: 0.9,
        sill_m: 0.0,
        head_m: 2.0,
        kind: OpeningKind::Door { hinge: Hinge::Near, swing: Swing::Out, open_deg: 0.0 },
        unknown: Default::default(),
    });
    plan.cameras.push(Camera::new("cam", "Cam A", at, pan_deg));
    plan.shots[0].camera = Some("cam".into());
    plan
}

/// Whoever stands at the exit is out: a camera with its back to the door, one beside it, one with a plant 0.4 m thick
/// where the operator would stand, one between its tripod and a low stool. Behind a stand in a passage of 0.8 m, between
/// a shelf and the wall, nobody gets by: 0.8 − 0.7 m are left.
#[test]
fn the_way_out_begins_where_the_operator_can_stand() {
    let blocked = |plan: &Plan| codes(plan, 0).iter().any(|c| *c == "exit-blocked" || *c == "walkway-narrow");
    for (at, pan) in [([2.0, 0.5], 0.0), ([2.0, 0.3], 0.0), ([2.6, 0.4], 300.0), ([1.2, 0.4], 60.0)] {
        assert!(!blocked(&room_with_exit(at, pan)), "{at:?}");
    }
    for (plant, top) in [([2.0, 1.9], 1.6), ([1.7, 2.0], 1.6), ([2.3, 2.1], 0.5)] {
        let mut plan = room_with_exit([2.0, 2.5], 0.0);
        plan.location.pieces.push(Piece::new("plant", "plant", plant, [0.4, 0.4], top));
        assert!(!blocked(&plan), "{plant:?}");
    }
    let mut plan = room_with_exit([2.0, 3.4], 0.0);
    plan.location.pieces.push(Piece::new("west", "shelf", [0.8, 1.5], [1.6, 0.5], 2.0));
    plan.location.pieces.push(Piece::new("east", "shelf", [3.2, 1.5], [1.6, 0.5], 2.0));
    assert!(!codes(&plan, 0).contains(&"exit-blocked"));
    let mut f = Fixture::new("lamp", HeadClass::Panel, [2.0, 1.5], 0.0);
    f.mount = Mount::Stand;
    plan.rigs[0].fixtures.push(f);
    assert!(codes(&plan, 0).contains(&"exit-blocked"), "{:?}", codes(&plan, 0));
}

/// Nobody arrives before they leave (arithmetic). New times that cross are refused, with what, where and remedy; an old
/// file that holds them opens and is told so, and no walk takes less than no time.
#[test]
fn nobody_arrives_before_leaving() {
    use tapemark_core::blocking::walks;
    use tapemark_core::edit::{Edit, Item, apply};
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 5.0], 180.0);
    let shot = plan.shots[0].id.clone();
    plan.shots[0].marks[0].to_s = Some(4.0);
    let mut next = mark("a", [2.0, 0.0], 0.0);
    (next.id, next.from_s) = ("mark-2".into(), 3.0);
    let put = |m: &Mark| Edit::Put(Item::Mark { shot: shot.clone(), mark: m.clone() });
    let why = apply(&plan, &put(&next)).unwrap_err().to_string();
    assert!(why.contains("3.0") && why.contains("4.0") && why.contains("shot 1"), "{why}");
    next.from_s = 4.0;
    let ends_as_it_begins = apply(&plan, &put(&next)).unwrap();
    assert!(walks(&ends_as_it_begins, &ends_as_it_begins.shots[0]).is_empty());
    assert!(codes(&ends_as_it_begins, 0).contains(&"no-time-to-walk"));
    next.from_s = 6.0;
    let good = apply(&plan, &put(&next)).unwrap();
    within(walks(&good, &good.shots[0])[0].speed_m_s, 1.0, 1e-9);
    // The mark before may not be left later than the next begins either.
    let mut late = good.shots[0].marks[0].clone();
    late.to_s = Some(7.0);
    assert!(apply(&good, &put(&late)).is_err());
    // A copy of a mark comes after the last one.
    let items = vec![Item::Mark { shot: shot.clone(), mark: good.shots[0].marks[1].clone() }];
    let rig = good.rigs[0].id.clone();
    let pasted = apply(&good, &Edit::Paste { items, by: glam::DVec2::X, rig, shot: shot.clone() }).unwrap();
    assert!(pasted.shots[0].marks[2].from_s > 6.0);
    // An old file.
    let mut old = good.clone();
    old.shots[0].marks[1].from_s = 3.0;
    let old = from_json(to_json(&old).as_bytes()).unwrap();
    assert!(walks(&old, &old.shots[0]).is_empty());
    assert!(codes(&old, 0).contains(&"marks-cross-in-time"));
    // What it holds already does not stand in the way of another edit.
    let mut turned = old.shots[0].marks[0].clone();
    turned.facing_deg = 45.0;
    assert!(apply(&old, &put(&turned)).is_ok());
}

/// A camera's marks follow each other in time.
#[test]
fn a_camera_is_at_one_place_at_a_time() {
    use tapemark_core::edit::{Edit, Item, apply};
    let plan = portrait([0.0, 0.0], 0.0, [0.0, 5.0], 180.0);
    let at = |at_s: f64| CameraMark {
        at_s,
        position_m: [1.0, 5.0],
        lens_height_m: 1.5,
        pan_deg: 180.0,
        tilt_deg: 0.0,
        focal_mm: 24.0,
    };
    let with = |times: &[f64]| {
        let mut c = plan.cameras[0].clone();
        c.marks = times.iter().map(|t| at(*t)).collect();
        c
    };
    assert!(apply(&plan, &Edit::Put(Item::Camera(with(&[2.0, 4.0])))).is_ok());
    let why = apply(&plan, &Edit::Put(Item::Camera(with(&[4.0, 2.0])))).unwrap_err().to_string();
    assert!(why.contains("Cam A") && why.contains("2.0") && why.contains("4.0"), "{why}");
    assert!(apply(&plan, &Edit::Put(Item::Camera(with(&[0.0])))).is_err());
    let mut old = plan.clone();
    old.cameras[0] = with(&[4.0, 2.0]);
    assert!(codes(&old, 0).contains(&"marks-cross-in-time"));
}

/// A leaf of 0.9 m hinged 0.1 m from the corner meets the side wall at 90° + asin(0.1/0.9) = 96.4°: told, and drawn
/// just short of it, where the plan opens it to 120°; opened to 90° nothing stops it.
#[test]
fn a_door_that_a_wall_stops() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 3.0], 180.0);
    let door = |open_deg: f64| Opening {
        id: "door".into(),
        name: "Back door".into(),
        room: "room".into(),
        edge: 0,
        offset_m: 0.1,
        width_m: 0.9,
        sill_m: 0.0,
        head_m: 2.0,
        kind: OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg },
        unknown: Unknown::new(),
    };
    plan.location.openings = vec![door(120.0)];
    let told = |plan: &Plan| {
        let notices = shot_facts(plan, &plan.shots[0], 0.0).notices;
        notices.into_iter().find(|n| n.code == "door-meets-a-wall")
    };
    let place = told(&plan).and_then(|n| n.place_m).expect("it is told");
    let turned = (place[1] + 10.0).atan2(place[0] + 9.9).to_degrees();
    assert!((92.0..96.4).contains(&turned), "{turned}");
    plan.location.openings = vec![door(90.0)];
    assert!(told(&plan).is_none());
}
