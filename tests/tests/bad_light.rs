//! Light asked for in places where it makes no sense: an error or a notice that names place and remedy, never a
//! panic, a hang or a number that is none. (Our own rules; no outside value.)

use tapemark_acceptance::{portrait, within};
use tapemark_core::facts::shot_facts;
use tapemark_core::light::{FINE_PATCH_M, MapFacing, MapShows, MapSpec, Transport, light_map};
use tapemark_core::plan::{Curve, Fixture, HeadClass, Plan, Spectrum, from_json, to_json, validate};
use tapemark_core::scene::Scene;

fn with_lamp(at: [f64; 2], height_m: f64) -> Plan {
    let mut plan = portrait([0.0, 0.5], 180.0, [0.0, -1.9], 0.0);
    plan.location.rooms[0].outline_m = vec![[-3.0, -3.0], [3.0, -3.0], [3.0, 3.0], [-3.0, 3.0]];
    let mut f = Fixture::new("lamp", HeadClass::OpenFace, at, 0.0);
    f.height_m = height_m;
    plan.rigs[0].fixtures.push(f);
    plan
}

fn finite(plan: &Plan) {
    let facts = shot_facts(plan, &plan.shots[0], 0.0);
    let r = facts.people[0].reading.as_ref().unwrap();
    assert!(r.illuminance_lx.is_finite() && r.illuminance_lx >= 0.0);
    assert!(r.parts.iter().all(|p| p.direct_lx.is_finite() && p.bounced_lx.is_finite()));
    let scene = Scene::of(plan, &plan.shots[0], 0.0);
    let light = Transport::of(plan, plan.rigs.first(), &scene, FINE_PATCH_M, None);
    for shows in [MapShows::Level, MapShows::KeyFill, MapShows::Colour] {
        let spec = MapSpec { shows, ..MapSpec::new(1.5, 0.5, MapFacing::Lens) };
        let map = light_map(plan, &scene, &light, &spec);
        assert!(map.level_lx.iter().any(|v| v.is_finite()));
        assert!(!map.level_lx.iter().any(|v| v.is_infinite()));
    }
}

#[test]
fn a_lamp_in_a_wall_above_the_ceiling_or_in_a_face_is_survived_and_told() {
    for (at, height, code) in
        [([3.0, 1.0], 2.0, "lamp-in-wall"), ([30.0, 0.0], 2.0, "lamp-in-wall"), ([2.0, 0.0], 2.6, "lamp-above-ceiling")]
    {
        let plan = with_lamp(at, height);
        finite(&plan);
        let facts = shot_facts(&plan, &plan.shots[0], 0.0);
        let n = facts.notices.iter().find(|n| n.code == code).unwrap_or_else(|| panic!("{at:?}: {:?}", facts.notices));
        assert!(!n.remedy.is_empty() && n.place_m.is_some());
    }
    // On the face itself, and on the floor.
    let plan = with_lamp([0.0, 0.5], 1.6);
    finite(&plan);
    finite(&with_lamp([1.0, 1.0], 0.0));
}

#[test]
fn a_mirror_room_an_empty_spectrum_and_a_gel_of_nothing_are_refused() {
    let mut plan = with_lamp([1.0, 1.0], 2.0);
    plan.location.rooms[0].finishes.walls.reflectance_rgb = [1.0; 3];
    let problems = validate(&plan);
    assert!(problems[0].path.contains("reflectance_rgb") && problems[0].what.contains("outside"), "{problems:?}");
    let e = from_json(to_json(&plan).as_bytes()).unwrap_err();
    assert!(e.place.contains("reflectance_rgb") && !e.remedy.is_empty());
    // The most that is allowed still settles.
    let mut pale = with_lamp([1.0, 1.0], 2.0);
    let f = &mut pale.location.rooms[0].finishes;
    (f.walls.reflectance_rgb, f.floor.reflectance_rgb, f.ceiling.reflectance_rgb) = ([0.98; 3], [0.98; 3], [0.98; 3]);
    finite(&pale);
    for points in [vec![], vec![[500.0, 1.0]], vec![[380.0, 0.0], [780.0, 0.0]], vec![[500.0, 1.0], [400.0, 1.0]]] {
        let mut plan = with_lamp([1.0, 1.0], 2.0);
        plan.rigs[0].fixtures[0].spectrum = Spectrum::Measured(Curve { name: "x".into(), points });
        assert!(!validate(&plan).is_empty());
    }
    let mut plan = with_lamp([1.0, 1.0], 2.0);
    plan.rigs[0].fixtures[0].spectrum = Spectrum::Cie { symbol: "FL99".into() };
    assert!(validate(&plan)[0].remedy.contains("FL12"));
    within(f64::from(validate(&with_lamp([1.0, 1.0], 2.0)).len() as u32), 0.0, 0.0);
}
