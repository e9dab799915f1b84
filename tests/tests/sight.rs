//! How much of a face is seen, against Monte Carlo rays of a general-purpose library.

use glam::DVec2;
use tapemark_acceptance::*;
use tapemark_core::blocking::{Moments, Seen, face_view, lanes, walks};
use tapemark_core::plan::*;
use tapemark_core::scene::Scene;

/// A plan of one of the set-ups in tests/reference/sight.json.
fn plan_of(setup: &serde_json::Value) -> Plan {
    let n = |v: &serde_json::Value| v.as_f64().unwrap();
    let pair = |v: &serde_json::Value| [n(&v[0]), n(&v[1])];
    let mut plan = Plan::empty();
    plan.shots[0].length_s = 6.0;
    for (i, p) in setup["people"].as_array().unwrap().iter().enumerate() {
        let id = format!("p{i}");
        let word = |key: &str| serde_json::from_value(p[key].clone()).unwrap();
        plan.cast.push(Person {
            id: id.as_str().into(),
            name: id.clone(),
            height_m: n(&p["height"]),
            build: serde_json::from_value(p["build"].clone()).unwrap(),
            from: None,
            until: None,
            unknown: Default::default(),
        });
        for (k, m) in p["marks"].as_array().unwrap().iter().enumerate() {
            let mut mark = mark(&id, pair(&m["at"]), n(&m["facing"]));
            mark.id = format!("m{i}-{k}").into();
            mark.from_s = m.get("from_s").map_or(0.0, n);
            mark.to_s = (p["marks"].as_array().unwrap().len() > 1 && k == 0).then_some(2.0);
            mark.pose = word("pose");
            plan.shots[0].marks.push(mark);
        }
    }
    for (i, b) in setup["boxes"].as_array().unwrap().iter().enumerate() {
        let id = format!("box{i}");
        let mut piece = Piece::new(id.as_str(), &id, pair(&b["at"]), pair(&b["size"]), n(&b["top"]));
        piece.rotation_deg = n(&b["turn"]);
        plan.location.pieces.push(piece);
    }
    let eye = &setup["eye"];
    let mut camera = Camera::new("cam", "Cam A", pair(eye), 0.0);
    camera.lens_height_m = n(&eye[2]);
    plan.cameras.push(camera);
    plan.shots[0].camera = Some("cam".into());
    plan
}

/// 520 random set-ups of two to four people on the move, with boxes in the way, against 60 000 random rays a
/// face through Embree (tests/reference/make_sight.py): turned and clear share within 0.01.
#[test]
fn visible_shares_agree_with_monte_carlo_rays() {
    let set: serde_json::Value = serde_json::from_str(include_str!("../reference/sight.json")).unwrap();
    let (mut faces, mut partly, mut worst) = (0, 0, 0.0_f64);
    for (k, setup) in set["setups"].as_array().unwrap().iter().enumerate() {
        let plan = plan_of(setup);
        let scene = Scene::of(&plan, &plan.shots[0], setup["at_s"].as_f64().unwrap());
        for (p, want) in scene.people.iter().zip(setup["faces"].as_array().unwrap()) {
            let got = face_view(&scene.solids, scene.view.as_ref().unwrap(), p);
            within(got.turned, want["turned"].as_f64().unwrap(), 0.01);
            // A hundredth of a face is all edge: what is clear of it means nothing.
            let Some(clear) = want["clear"].as_f64().filter(|_| want["turned"].as_f64().unwrap() > 0.01) else {
                continue;
            };
            assert!((got.clear - clear).abs() <= 0.01, "set-up {k}, {}: {} for {clear}", p.person, got.clear);
            worst = worst.max((got.clear - clear).abs());
            faces += 1;
            partly += i32::from((0.02..0.98).contains(&clear));
        }
    }
    println!("{faces} faces, {partly} partly hidden, worst {worst:.4}");
    assert!(faces > 1000 && partly > 80);
}

/// Lanes run from the first second to the last without a gap, and say what the face says at every look.
#[test]
fn lanes_cover_the_shot_and_agree_with_the_faces() {
    let set: serde_json::Value = serde_json::from_str(include_str!("../reference/sight.json")).unwrap();
    for setup in set["setups"].as_array().unwrap().iter().take(40) {
        let plan = plan_of(setup);
        let shot = &plan.shots[0];
        let moments = Moments::of(&plan, shot);
        for lane in lanes(&plan, shot, &moments) {
            assert_eq!((lane.spans[0].from_s, lane.spans.last().unwrap().to_s), (0.0, shot.length_s));
            assert!(lane.spans.windows(2).all(|w| w[0].to_s == w[1].from_s && w[0].from_s < w[0].to_s));
            for span in &lane.spans {
                let middle = 0.5 * (span.from_s + span.to_s);
                let scene = Scene::of(&plan, shot, middle);
                let p = scene.placed(&lane.person).unwrap();
                let face = face_view(&scene.solids, scene.view.as_ref().unwrap(), p);
                if span.seen == Seen::Hidden && span.to_s - span.from_s > 0.3 {
                    assert!(face.clear < plan.limits.face_share + 0.1, "{span:?} {face:?}");
                }
                if span.seen == Seen::InFrame {
                    assert!(face.in_frame == 1.0 && face.clear > plan.limits.face_share - 0.1);
                }
            }
        }
    }
}

/// Speed is way over time: 3-4-5 triangle in 5 s is 1 m/s; the walker is in its middle half way.
#[test]
fn walking_speed() {
    let mut plan = portrait([0.0, 0.0], 0.0, [0.0, 9.0], 180.0);
    plan.shots[0].marks[0].to_s = Some(1.0);
    let mut second = mark("a", [3.0, 4.0], 90.0);
    (second.id, second.from_s) = ("m2".into(), 6.0);
    plan.shots[0].marks.push(second);
    let w = &walks(&plan, &plan.shots[0])[0];
    within(w.distance_m, 5.0, 1e-12);
    within(w.speed_m_s, 1.0, 1e-12);
    let middle = Scene::of(&plan, &plan.shots[0], 3.5);
    assert!((middle.people[0].position - DVec2::new(1.5, 2.0)).length() < 1e-9);
    // Looking where they go: atan2(3, 4) from north.
    within(middle.people[0].facing_deg, 36.869_897_6, 1e-6);
}
