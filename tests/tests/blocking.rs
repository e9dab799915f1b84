//! Who is seen, hidden and framed, against hand-worked geometry.

use tapemark_acceptance::*;
use tapemark_core::blocking::face_view;
use tapemark_core::facts::{room_behind_m, shot_facts};
use tapemark_core::geometry::{Solids, signed_area, visible_region};
use tapemark_core::plan::*;
use tapemark_core::scene::Scene;

fn seen(plan: &Plan) -> tapemark_core::blocking::FaceView {
    let scene = Scene::of(plan, &plan.shots[0], 0.0);
    face_view(&scene.solids, scene.view.as_ref().unwrap(), scene.placed(&"a".into()).unwrap())
}

/// Full face all of the face's half is turned to a far lens, in profile half, from behind none: shares of
/// a half-ellipsoid by symmetry.
#[test]
fn full_face_profile_and_back() {
    within(seen(&portrait([0.0, 0.0], 0.0, [0.0, 9.0], 180.0)).turned, 1.0, 0.03);
    within(seen(&portrait([0.0, 0.0], 90.0, [0.0, 9.0], 180.0)).turned, 0.5, 0.03);
    within(seen(&portrait([0.0, 0.0], 180.0, [0.0, 9.0], 180.0)).turned, 0.0, 0.03);
}

/// A board whose edge lies on the line from the lens to the head's middle hides half of the face
/// (symmetry).
#[test]
fn a_board_to_the_middle_hides_half() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 4.0], 180.0);
    plan.location.pieces.push(Piece::new("board", "board", [1.0, 2.0], [2.0, 0.02], 2.3));
    within(seen(&plan).clear, 0.5, 0.02);
    let facts = shot_facts(&plan, &plan.shots[0], 0.0);
    assert_eq!(facts.people[0].hidden_by[0].name, "board");
    assert!(facts.notices.iter().any(|n| n.code == "face-hidden"));
}

/// A board whose top is level with the middle of the head and of the lens hides the lower half (symmetry).
#[test]
fn a_low_board_hides_the_lower_half() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 4.0], 180.0);
    let level = plan.cameras[0].lens_height_m;
    plan.location.pieces.push(Piece::new("board", "board", [0.0, 2.0], [2.0, 0.02], level));
    within(seen(&plan).clear, 0.5, 0.02);
}

/// One person exactly before another of the same height hides the whole face; aside by more than both
/// half head breadths, scaled by distance, none of it (similar triangles).
#[test]
fn a_person_in_line_hides_the_face_and_aside_does_not() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 4.0], 180.0);
    plan.cast.push(Person {
        id: "b".into(),
        name: "B".into(),
        height_m: 1.85,
        build: Build::Medium,
        from: None,
        until: None,
        unknown: Unknown::new(),
    });
    plan.shots[0].marks.push(mark("b", [0.0, 1.0], 0.0));
    assert!(seen(&plan).clear < 0.05);
    let facts = shot_facts(&plan, &plan.shots[0], 0.0);
    assert!(facts.people[0].sight.contains("most by B"), "{}", facts.people[0].sight);
    plan.shots[0].marks[1].position_m[0] = 0.5;
    assert!(seen(&plan).clear > 0.999);
}

/// An open door hides what is behind its leaf, shut it hides everything beyond (geometry by hand).
#[test]
fn a_door_as_it_stands() {
    let mut plan = portrait([0.0, 2.0], 180.0, [0.0, -4.0], 0.0);
    plan.location.rooms = vec![
        Room::new("s", "S", vec![[-5., -5.], [5., -5.], [5., 0.], [-5., 0.]]),
        Room::new("n", "N", vec![[-5., 0.], [5., 0.], [5., 5.], [-5., 5.]]),
    ];
    plan.location.openings.push(Opening {
        id: "door".into(),
        name: "the door".into(),
        room: "n".into(),
        edge: 0,
        offset_m: 4.5,
        width_m: 1.0,
        sill_m: 0.0,
        head_m: 2.1,
        kind: OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg: 0.0 },
        unknown: Unknown::new(),
    });
    assert_eq!(seen(&plan).clear, 0.0);
    let set = |plan: &mut Plan, deg: f64| {
        plan.location.openings[0].kind = OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg: deg };
    };
    set(&mut plan, 90.0);
    assert!(seen(&plan).clear > 0.999);
    // At 45° the leaf's end still stands across the line of sight.
    set(&mut plan, 45.0);
    assert!(seen(&plan).clear < 0.2);
}

/// Room behind the camera is the distance to the wall along the lens axis (subtraction), less where
/// something narrower than the operator stands.
#[test]
fn room_behind_the_camera() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 8.8], 180.0);
    let measure = |plan: &Plan| {
        let scene = Scene::of(plan, &plan.shots[0], 0.0);
        room_behind_m(plan, &scene, scene.view.as_ref().unwrap())
    };
    within(measure(&plan), 1.2, 1e-5);
    plan.location.pieces.push(Piece::new("post", "post", [0.25, 9.5], [0.04, 0.04], 2.0));
    within(measure(&plan), 0.68, 1e-5);
    let facts = shot_facts(&plan, &plan.shots[0], 0.0);
    assert!(facts.notices.iter().any(|n| n.code == "no-room-behind"));
}

/// A close-up cuts below the shoulders, a full shot shows the feet (shot sizes: common practice, no
/// source).
#[test]
fn shot_sizes_by_distance() {
    for (distance, size) in [(4.0, ShotSize::Full), (1.9, ShotSize::Medium), (0.7, ShotSize::Close)] {
        let mut plan = portrait([0.0, 0.0], 0.0, [0.0, distance], 180.0);
        plan.cameras[0].format = Format::known(0);
        plan.cameras[0].aspect = 16.0 / 9.0;
        plan.cameras[0].lens.focal_mm = 35.0;
        plan.cameras[0].tilt_deg = 0.0;
        // Framed with the eyes on the upper third.
        plan.cameras[0].tilt_deg = -(20.25_f64 / 2.0 / 35.0 / 3.0).atan().to_degrees();
        let facts = shot_facts(&plan, &plan.shots[0], 0.0);
        assert_eq!(facts.people[0].size, Some(size), "{distance} m: {:?}", facts.people[0].field_height_m);
    }
}

/// Nothing at all hides nothing.
#[test]
fn an_empty_world_is_clear() {
    let plan = portrait([0.0, 0.0], 0.0, [0.0, 4.0], 180.0);
    let scene = Scene::of(&plan, &plan.shots[0], 0.0);
    let v = face_view(&Solids::default(), scene.view.as_ref().unwrap(), &scene.people[0]);
    assert_eq!(v.clear, 1.0);
    assert_eq!(v.in_frame, 1.0);
}

/// A walker crosses the line of sight when the straight line between the marks does: from second to second
/// by proportion.
#[test]
fn a_crossing_hides_a_face_at_the_moment_it_crosses() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 4.0], 180.0);
    plan.cast.push(Person {
        id: "b".into(),
        name: "B".into(),
        height_m: 1.85,
        build: Build::Medium,
        from: None,
        until: None,
        unknown: Unknown::new(),
    });
    let mut first = mark("b", [-2.0, 1.0], 90.0);
    first.to_s = Some(2.0);
    let mut second = mark("b", [2.0, 1.0], 90.0);
    second.id = "mark-b2".into();
    second.from_s = 6.0;
    plan.shots[0].marks.extend([first, second]);
    let facts = shot_facts(&plan, &plan.shots[0], 0.0);
    let h = &facts.hidden[0];
    assert!(h.from_s <= 4.0 && h.to_s >= 4.0 && h.from_s >= 3.4 && h.to_s <= 4.6, "{h:?}");
    assert_eq!(h.by, "B");
    assert!(facts.people[0].sight.starts_with("clear"));
}

fn seen_area(eye: [f64; 2], ring: &[[f64; 2]]) -> f64 {
    let at = |i: usize| p(ring[i % ring.len()][0], ring[i % ring.len()][1]);
    let walls: Vec<_> = (0..ring.len()).map(|i| (at(i), at(i + 1))).collect();
    let seen = visible_region(p(eye[0], eye[1]), 0.0, 360.0, 100.0, &walls);
    signed_area(&seen).abs()
}

/// Visibility polygons. The first example of the CGAL manual's 2D Visibility chapter (from memory): outline (0,4)
/// (0,0) (3,2) (4,0) (4,4) (1,2) seen from (0.5, 2) is the polygon (0,4) (0,0) (3,2) (1,2), of area 4. A
/// star-shaped polygon is seen whole from its kernel (Preparata & Shamos 1985). In an L of two unit arms seen
/// from the end of one, similar triangles leave a triangle of the other.
#[test]
fn published_visibility_polygons() {
    let cgal = [[0., 4.], [0., 0.], [3., 2.], [4., 0.], [4., 4.], [1., 2.]];
    within(seen_area([0.5, 2.0], &cgal), 4.0, 0.01);
    let star: Vec<[f64; 2]> = (0..10)
        .map(|i| {
            let (r, a) = (if i % 2 == 0 { 2.0 } else { 0.8 }, f64::from(i) * std::f64::consts::PI / 5.0);
            [r * a.cos(), r * a.sin()]
        })
        .collect();
    let whole = 0.5 * 10.0 * 2.0 * 0.8 * (std::f64::consts::PI / 5.0).sin();
    within(seen_area([0.0, 0.0], &star), whole, 0.01);
    // Arms [0,3]×[0,1] and [2,3]×[0,3]; from (0.5, 0.5) past the corner (2, 1): slope 1/3, so 1/3 up at x = 3.
    let bend = [[0., 0.], [3., 0.], [3., 3.], [2., 3.], [2., 1.], [0., 1.]];
    within(seen_area([0.5, 0.5], &bend), 3.0 + 0.5 * 1.0 / 3.0, 0.01);
}
