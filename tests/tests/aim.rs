//! What lamps are aimed at, against the tangent and over generated plans.

use glam::{DVec2, DVec3};
use tapemark::files::demo;
use tapemark_acceptance::plausible::plausible;
use tapemark_acceptance::within;
use tapemark_core::aim::{AimedAt, aim, wall_letter};
use tapemark_core::geometry::{OwnerIx, direction3};
use tapemark_core::scene::Scene;

/// A lamp 2 m up, 1.5 m from somebody and tilted 18° down meets them at 2 − 1.5·tan 18° = 1.513 m (plane trigonometry).
#[test]
fn a_lamp_aims_as_the_tangent_says() {
    let mut plan = demo();
    let shot = plan.shots[0].clone();
    let scene = Scene::of(&plan, &shot, 0.0);
    let who = &scene.people[0];
    let mut f = plan.rigs[0].fixtures[0].clone();
    f.position_m = (who.position + DVec2::new(0.0, -1.5)).to_array();
    (f.height_m, f.pan_deg, f.tilt_deg) = (2.0, 0.0, -18.0);
    let found = aim(&plan, &scene, &f).unwrap();
    assert_eq!(found.what, AimedAt::Person { person: who.person.clone(), name: who.name.clone() });
    within(found.point_m[2], 2.0 - 1.5 * 18.0_f64.to_radians().tan(), 1e-9);
    // Turned round, with nobody there: 0.8 m before the south wall, which is A, 0.8·tan 18° under the lamp.
    plan.shots[0].marks.clear();
    let scene = Scene::of(&plan, &plan.shots[0], 0.0);
    f.position_m = [3.0, 0.8];
    f.pan_deg = 180.0;
    let found = aim(&plan, &scene, &f).unwrap();
    assert_eq!(wall_letter(&plan, &f, &found).as_deref(), Some("A"));
    within(found.point_m[1], 0.0, 1e-4);
    within(found.point_m[2], 2.0 - 0.8 * 18.0_f64.to_radians().tan(), 1e-4);
    // Straight down it is the floor, straight up the ceiling.
    f.tilt_deg = -90.0;
    assert_eq!(aim(&plan, &scene, &f).unwrap().what, AimedAt::Floor);
    f.tilt_deg = 90.0;
    let up = aim(&plan, &scene, &f).unwrap();
    assert_eq!(up.what, AimedAt::Ceiling);
    within(up.point_m[2], plan.location.rooms[0].ceiling_m, 1e-6);
}

/// In any plan the point lies on the lamp's axis, and nothing but who is aimed at stands before it.
#[test]
fn the_point_is_the_first_on_the_axis() {
    let mut count = 0;
    for seed in 0..60 {
        let plan = plausible(seed);
        for shot in &plan.shots {
            let scene = Scene::of(&plan, shot, 0.0);
            for f in plan.shot_fixtures(shot) {
                let Some(found) = aim(&plan, &scene, f) else { continue };
                count += 1;
                let from = DVec2::from_array(f.position_m).extend(f.height_m);
                let at = DVec3::from_array(found.point_m);
                assert!((at - from).dot(direction3(f.pan_deg, f.tilt_deg)) >= 0.0, "seed {seed}: behind {}", f.id);
                let way = direction3(f.pan_deg, f.tilt_deg);
                assert!((at - from).cross(way).length() < 1e-6, "seed {seed}: {} off its axis", f.id);
                // A lamp that touches something, or stands in it, begins beyond that.
                if !matches!(found.what, AimedAt::Person { .. }) && from.distance(at) > 0.05 {
                    let before = at - way * 0.02;
                    let after = from + way * 0.01;
                    let hidden = scene.solids.blocked(after.as_vec3(), before.as_vec3(), OwnerIx::NONE);
                    assert!(!hidden, "seed {seed}: something stands between {} and {:?}", f.id, found.what);
                }
            }
        }
    }
    assert!(count > 200, "{count} lamps");
}
