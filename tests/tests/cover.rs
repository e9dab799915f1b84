//! How much cloth covers what the lens sees, against polygon clipping by a general-purpose library.

use tapemark_acceptance::*;
use tapemark_core::cover::{Seen, SurfaceKind, cover};
use tapemark_core::plan::*;

fn plan_of(setup: &serde_json::Value) -> Plan {
    let n = |v: &serde_json::Value| v.as_f64().unwrap();
    let mut plan = Plan::empty();
    let outline = setup["outline"].as_array().unwrap().iter().map(|p| [n(&p[0]), n(&p[1])]).collect();
    let mut room = Room::new("room", "Room", outline);
    room.ceiling_m = n(&setup["ceiling"]);
    plan.location.rooms.push(room);
    let w = &setup["window"];
    plan.location.openings.push(Opening {
        id: "w".into(),
        name: "window".into(),
        room: "room".into(),
        edge: w["edge"].as_u64().unwrap() as usize,
        offset_m: n(&w["offset"]),
        width_m: n(&w["width"]),
        sill_m: n(&w["sill"]),
        head_m: n(&w["head"]),
        kind: OpeningKind::Window { transmittance: 0.8 },
        unknown: Default::default(),
    });
    let d = &setup["drape"];
    if !d.is_null() {
        let mut drape = Piece::new(
            "drape",
            "drape",
            [n(&d["at"][0]), n(&d["at"][1])],
            [n(&d["width"]), n(&d["depth"])],
            n(&d["top"]),
        );
        (drape.kind, drape.rotation_deg) = (PieceKind::Drape, n(&d["turn"]));
        plan.location.pieces.push(drape);
    }
    for (i, c) in setup["cameras"].as_array().unwrap().iter().enumerate() {
        let id = format!("cam-{i}");
        let mut camera = Camera::new(id.as_str(), &id, [n(&c["eye"][0]), n(&c["eye"][1])], n(&c["pan"]));
        (camera.lens_height_m, camera.tilt_deg, camera.lens.focal_mm) =
            (n(&c["eye"][2]), n(&c["tilt"]), n(&c["focal"]));
        camera.format = Format {
            name: "test".into(),
            width_mm: n(&c["sensor"][0]),
            height_mm: n(&c["sensor"][1]),
            circle_of_confusion_mm: None,
        };
        camera.aspect = camera.format.width_mm / camera.format.height_mm;
        plan.cameras.push(camera);
        if i > 0 {
            plan.shots.push(Shot::new(format!("shot-{}", i + 1).as_str(), "2", "rig-1"));
        }
        plan.shots[i].camera = Some(id.as_str().into());
    }
    plan
}

/// 80 rooms with a window and hung cloth, one or two shots, against shapely 2.2.0
/// (tests/reference/make_cover.py): every surface within 0.5 % (and a square centimetre).
#[test]
fn areas_in_frame_agree_with_shapely() {
    let set: serde_json::Value = serde_json::from_str(include_str!("../reference/cover.json")).unwrap();
    let (mut surfaces, mut two) = (0, 0);
    for (k, setup) in set["setups"].as_array().unwrap().iter().enumerate() {
        let plan = plan_of(setup);
        let found = cover(&plan, &plan.shots);
        two += i32::from(plan.shots.len() > 1);
        let total: f64 = setup["areas_m2"].as_object().unwrap().values().map(|v| v.as_f64().unwrap()).sum();
        let mut sum = 0.0;
        for (name, area) in setup["areas_m2"].as_object().unwrap() {
            let area = area.as_f64().unwrap();
            let got: f64 = found
                .surfaces
                .iter()
                .filter(|s| match (name.as_str(), s.kind) {
                    ("floor", SurfaceKind::Floor) | ("ceiling", SurfaceKind::Ceiling) => true,
                    (edge, SurfaceKind::Wall) => {
                        let i: usize = edge.strip_prefix("edge ").map_or(usize::MAX, |n| n.parse().unwrap());
                        let Some(a) = plan.location.rooms[0].outline_m.get(i) else { return false };
                        let b = plan.location.rooms[0].outline_m[(i + 1) % plan.location.rooms[0].outline_m.len()];
                        // On that edge's line, between its ends.
                        s.stretches_m.iter().flatten().all(|p| {
                            let on = |k: usize| {
                                let (low, high) = (a[k].min(b[k]) - 1e-3, a[k].max(b[k]) + 1e-3);
                                (low..=high).contains(&p[k])
                            };
                            on(0) && on(1)
                        })
                    }
                    _ => false,
                })
                .map(|s| s.area_m2)
                .sum();
            assert!((got - area).abs() <= 0.005 * area + 1e-4, "set-up {k}, {name}: {got} for {area}");
            sum += got;
            surfaces += 1;
        }
        assert!((sum - total).abs() <= 0.005 * total + 1e-4);
        within(found.wall_m2 + found.floor_m2 + found.ceiling_m2, total, 0.005 * total + 1e-3);
    }
    println!("{surfaces} surfaces, {two} rooms with two shots");
    assert!(surfaces > 150 && two > 20);
}

/// A lens square to a wall sees w·d/f by h·d/f of it (similar triangles): running metres, height, and drops of a
/// 1.5 m roll by division.
#[test]
fn running_metres_and_drops() {
    let mut plan = portrait([0.0, 5.0], 180.0, [0.0, 0.0], 0.0);
    plan.location.rooms[0].outline_m = vec![[-5., -2.], [5., -2.], [5., 6.], [-5., 6.]];
    plan.location.rooms[0].ceiling_m = 4.0;
    plan.cameras[0].format = Format { name: "t".into(), width_mm: 24.0, height_mm: 12.0, circle_of_confusion_mm: None };
    plan.cameras[0].aspect = 2.0;
    plan.cameras[0].lens.focal_mm = 36.0;
    plan.cameras[0].lens_height_m = 1.5;
    let found = cover(&plan, &plan.shots);
    let wall = &found.surfaces[0];
    // 24/36 · 6 = 4 m wide, 12/36 · 6 = 2 m high about 1.5 m.
    within(wall.running_m, 4.0, 1e-6);
    within(wall.heights_m[0], 0.5, 1e-6);
    within(wall.heights_m[1], 2.5, 1e-6);
    within(wall.area_m2, 8.0, 1e-6);
    assert_eq!(wall.name, "north wall of Room");
    assert_eq!(wall.drops, 3, "4 m from a roll of 1.5 m");
    within(wall.cloth_m, 6.0, 1e-6);
    // Two drops of 1.999 m leave 2 mm by 2 m open: 40 cm², a sliver. Of 1.997 m they leave 120 cm² (by multiplication).
    for (roll_m, drops) in [(1.999, 2), (1.997, 3)] {
        plan.limits.cloth_roll_m = roll_m;
        let found = cover(&plan, &plan.shots);
        assert_eq!(found.surfaces.iter().find(|s| s.kind == SurfaceKind::Wall).unwrap().drops, drops);
    }
    plan.limits.cloth_roll_m = 1.5;
    // A cloth 1 m wide hung half way hides 2 m of the wall over its whole height: half is left, in two parts.
    let mut drape = Piece::new("d", "drape", [0.0, 3.0], [1.0, 0.001], 4.0);
    drape.kind = PieceKind::Drape;
    plan.location.pieces.push(drape);
    let found = cover(&plan, &plan.shots);
    let wall = found.surfaces.iter().find(|s| s.kind == SurfaceKind::Wall).unwrap();
    within(wall.area_m2, 4.0, 0.01);
    assert_eq!(wall.stretches_m.len(), 2);
    // Two stretches of 1 m with 2 m between: a drop each off 1.5 m, one over all of it off 4 m (by subtraction).
    assert_eq!(wall.drops, 2);
    plan.limits.cloth_roll_m = 4.01;
    let found = cover(&plan, &plan.shots);
    let wall = found.surfaces.iter().find(|s| s.kind == SurfaceKind::Wall).unwrap();
    assert_eq!(wall.drops, 1);
    within(wall.cloth_m, 2.0, 1e-6);
    // With 2.5 m the first reaches only to the second stretch's middle: 1 + 2 + 1 m from a 2.5 m roll.
    plan.limits.cloth_roll_m = 2.5;
    let found = cover(&plan, &plan.shots);
    assert_eq!(found.surfaces.iter().find(|s| s.kind == SurfaceKind::Wall).unwrap().drops, 2);
}

/// What is seen past a hinge or a jamb, a few square centimetres of the next room, wants no cloth
/// (common practice, no source): in the demo's corridor three walls do.
#[test]
fn slivers_want_no_cloth() {
    let plan = from_json(include_bytes!("../../assets/demo/last-firing.tapemark.json")).unwrap();
    let found = cover(&plan, [&plan.shots[2]]);
    let walls: Vec<&str> = found.told().filter(|s| s.kind == SurfaceKind::Wall).map(|s| s.name.as_str()).collect();
    assert!(found.surfaces.iter().any(Seen::is_sliver));
    // Two drops for 1.60 m, one for 0.80 m, and one for the 1.5027 m that it all but covers.
    within(found.wall_cloth_m, 4.0 * (found.surfaces[0].heights_m[1] - found.surfaces[0].heights_m[0]), 1e-3);
    assert_eq!(walls, ["north wall of Corridor", "east wall of Corridor", "west wall of Corridor"]);
}
