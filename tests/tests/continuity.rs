//! Whether shots match, against published colour differences and set-ups worked by hand.

use tapemark_acceptance::{Lot, harm, near, said, within};
use tapemark_core::colour::planck_xyz;
use tapemark_core::continuity::*;
use tapemark_core::edit::apply;
use tapemark_core::plan::*;

/// Sharma, Wu & Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary test data, and
/// mathematical observations", Color Research & Application 30 (2005), table 1: all 34 pairs (from memory, each pair
/// checked with colour-science 0.4.7).
#[test]
fn ciede2000_of_sharma_2005() {
    let pairs: [([f64; 3], [f64; 3], f64); 34] = [
        ([50.0000, 2.6772, -79.7751], [50.0000, 0.0000, -82.7485], 2.0425),
        ([50.0000, 3.1571, -77.2803], [50.0000, 0.0000, -82.7485], 2.8615),
        ([50.0000, 2.8361, -74.0200], [50.0000, 0.0000, -82.7485], 3.4412),
        ([50.0000, -1.3802, -84.2814], [50.0000, 0.0000, -82.7485], 1.0000),
        ([50.0000, -1.1848, -84.8006], [50.0000, 0.0000, -82.7485], 1.0000),
        ([50.0000, -0.9009, -85.5211], [50.0000, 0.0000, -82.7485], 1.0000),
        ([50.0000, 0.0000, 0.0000], [50.0000, -1.0000, 2.0000], 2.3669),
        ([50.0000, -1.0000, 2.0000], [50.0000, 0.0000, 0.0000], 2.3669),
        ([50.0000, 2.4900, -0.0010], [50.0000, -2.4900, 0.0009], 7.1792),
        ([50.0000, 2.4900, -0.0010], [50.0000, -2.4900, 0.0010], 7.1792),
        ([50.0000, 2.4900, -0.0010], [50.0000, -2.4900, 0.0011], 7.2195),
        ([50.0000, 2.4900, -0.0010], [50.0000, -2.4900, 0.0012], 7.2195),
        ([50.0000, -0.0010, 2.4900], [50.0000, 0.0009, -2.4900], 4.8045),
        ([50.0000, -0.0010, 2.4900], [50.0000, 0.0010, -2.4900], 4.8045),
        ([50.0000, -0.0010, 2.4900], [50.0000, 0.0011, -2.4900], 4.7461),
        ([50.0000, 2.5000, 0.0000], [50.0000, 0.0000, -2.5000], 4.3065),
        ([50.0000, 2.5000, 0.0000], [73.0000, 25.0000, -18.0000], 27.1492),
        ([50.0000, 2.5000, 0.0000], [61.0000, -5.0000, 29.0000], 22.8977),
        ([50.0000, 2.5000, 0.0000], [56.0000, -27.0000, -3.0000], 31.9030),
        ([50.0000, 2.5000, 0.0000], [58.0000, 24.0000, 15.0000], 19.4535),
        ([50.0000, 2.5000, 0.0000], [50.0000, 3.1736, 0.5854], 1.0000),
        ([50.0000, 2.5000, 0.0000], [50.0000, 3.2972, 0.0000], 1.0000),
        ([50.0000, 2.5000, 0.0000], [50.0000, 1.8634, 0.5757], 1.0000),
        ([50.0000, 2.5000, 0.0000], [50.0000, 3.2592, 0.3350], 1.0000),
        ([60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644),
        ([63.0109, -31.0961, -5.8663], [62.8187, -29.7946, -4.0864], 1.2630),
        ([61.2901, 3.7196, -5.3901], [61.4292, 2.2480, -4.9620], 1.8731),
        ([35.0831, -44.1164, 3.7933], [35.0232, -40.0716, 1.5901], 1.8645),
        ([22.7233, 20.0904, -46.6940], [23.0331, 14.9730, -42.5619], 2.0373),
        ([36.4612, 47.8580, 18.3852], [36.2715, 50.5065, 21.2231], 1.4146),
        ([90.8027, -2.0831, 1.4410], [91.1528, -1.6435, 0.0447], 1.4441),
        ([90.9257, -0.5406, -0.9208], [88.6381, -0.8985, -0.7239], 1.5381),
        ([6.7747, -0.2908, -2.4247], [5.8714, -0.0985, -2.2286], 0.6377),
        ([2.0776, 0.0795, -1.1350], [0.9033, -0.0636, -0.5514], 0.9082),
    ];
    for (a, b, wanted) in pairs {
        within(ciede2000(a, b), wanted, 5e-5);
        within(ciede2000(b, a), wanted, 5e-5);
    }
}

/// A grey card of 18.4 % in Planckian light under another Planckian white: CIELAB by colour-science 0.4.7
/// (`sd_blackbody`, `sd_to_XYZ` by integration, `XYZ_to_Lab`).
#[test]
fn a_grey_card_in_a_light() {
    for (white, light, lab) in [
        (3200.0, 3200.0, [49.978, 0.0, 0.0]),
        (3200.0, 5600.0, [49.978, -8.034, -33.96]),
        (5600.0, 3200.0, [49.978, 8.267, 26.152]),
        (4300.0, 2700.0, [49.978, 11.103, 27.104]),
        (5600.0, 6500.0, [49.978, -0.492, -5.406]),
    ] {
        let got = grey_card_lab(planck_xyz(light), white).unwrap();
        for (g, w) in got.iter().zip(lab) {
            within(*g, w, 0.1);
        }
    }
}

/// A dark hall, a person in its middle looking south, a lens 3 m south of them, a key 45° to the lens's right and
/// 45° up at 2 m, a weak fill beside the lens.
fn hall() -> Plan {
    let mut plan = Plan::empty();
    let mut room = Room::new("hall", "Hall", vec![[-8., -8.], [8., -8.], [8., 8.], [-8., 8.]]);
    room.ceiling_m = 6.0;
    let black = Finish { reflectance_rgb: [0.02; 3] };
    room.finishes = Finishes { walls: black, floor: black, ceiling: black };
    plan.location.rooms.push(room);
    plan.exposure.white_balance_k = 3200.0;
    plan.cast.push(Person {
        id: "p".into(),
        name: "P".into(),
        height_m: 1.75,
        build: Build::Medium,
        from: None,
        until: None,
        unknown: Unknown::new(),
    });
    let mut second = Shot::new("shot-2", "2", "rig-2");
    plan.rigs.push(Rig::new("rig-2", "Rig 2"));
    second.cuts_with.push("shot-1".into());
    plan.shots.push(second);
    // The second shot looks at the person from the east.
    for (i, (facing, lens)) in [(180.0, [0.0, -3.0]), (90.0, [3.0, 0.0])].into_iter().enumerate() {
        let id = format!("camera-{}", i + 1);
        let mut camera = Camera::new(id.as_str(), "Cam", lens, if i == 0 { 0.0 } else { 270.0 });
        camera.lens_height_m = 1.64;
        plan.cameras.push(camera);
        plan.shots[i].camera = Some(id.as_str().into());
        plan.shots[i].faces = vec!["p".into()];
        plan.shots[i].marks.push(Mark {
            id: format!("m{i}").into(),
            person: "p".into(),
            position_m: [0.0, 0.0],
            facing_deg: facing,
            from_s: 0.0,
            to_s: None,
            pose: Pose::Standing,
            unknown: Unknown::new(),
        });
    }
    // Seen by the lens in the south, right is east.
    let face = [0.0, -0.1];
    let far = 2.0_f64;
    let key = lamp("key", [face[0] + far * 0.5, face[1] - far * 0.5], 1.64 + far * 0.5_f64.sqrt(), 1.0);
    plan.rigs[0].fixtures = vec![key, lamp("fill", [-0.6, -3.0], 1.64, 0.2)];
    plan
}

fn lamp(id: &str, at: [f64; 2], height_m: f64, dimmer: f64) -> Fixture {
    let mut f = Fixture::new(id, HeadClass::BareBulb, at, 0.0);
    (f.mount, f.height_m, f.dimmer, f.lamp, f.cct_k) = (Mount::Stand, height_m, dimmer, LampType::Led, 3200.0);
    (f.watts, f.output_lm) = (100.0, Some(10_000.0));
    f.name = id.into();
    f
}

fn light_of(plan: &Plan, shot: usize) -> FaceLight {
    face_light(plan, &Lit::of(plan, &plan.shots[shot], 0.0), &"p".into()).unwrap()
}

/// The key stands at 45° across and 45° up by construction.
#[test]
fn key_direction_by_hand() {
    let plan = hall();
    let light = light_of(&plan, 0);
    assert_eq!(light.key.as_ref().unwrap().as_str(), "key");
    within(light.key_across_deg.unwrap(), 45.0, 1.0);
    within(light.key_up_deg.unwrap(), 45.0, 1.0);
}

/// Halving the fill of a black room opens key:fill by nearly a stop (arithmetic); dimming all by a stop leaves it
/// and lowers the face by one stop; a full blue correction shifts by its −130 mired (its definition).
#[test]
fn differences_by_hand() {
    let plan = hall();
    let first = light_of(&plan, 0);
    let mut less = plan.clone();
    less.rigs[0].fixtures[1].dimmer = 0.1;
    let second = light_of(&less, 0);
    let fill = |l: &FaceLight| 1.0 / l.key_fill_stops.unwrap().exp2();
    assert!(second.key_fill_stops.unwrap() - first.key_fill_stops.unwrap() > 0.6, "{} {}", fill(&first), fill(&second));
    let mut dim = plan.clone();
    dim.rigs[0].fixtures.iter_mut().for_each(|f| f.dimmer *= 0.5);
    let dimmed = light_of(&dim, 0);
    within(dimmed.face_stops.unwrap() - first.face_stops.unwrap(), -1.0, 1e-6);
    within(dimmed.key_fill_stops.unwrap(), first.key_fill_stops.unwrap(), 1e-6);
    let mut blue = plan.clone();
    for f in &mut blue.rigs[0].fixtures {
        f.gels.push(Gel::correction(0));
    }
    let d = differences(&plan.limits.matching, &first, &light_of(&blue, 0));
    let of = |what| d.iter().find(|x| x.what == what).unwrap();
    within(of(Compared::ColourTemperature).difference.unwrap(), -130.0, 3.0);
    assert!(!of(Compared::ColourTemperature).within && !of(Compared::Colour).within);
    assert!(of(Compared::KeyDirection).difference.unwrap() < 0.1);
}

/// In a dark hall the light turns with the lens: carried over to a lens a quarter turn on, everything is the same.
#[test]
fn a_light_carried_round_the_hall() {
    let plan = hall();
    let found = carry_over(&plan, &plan.shots[0], &plan.shots[1], &"p".into()).unwrap();
    assert!(found.matches, "{:?}", found.after);
    assert!(found.lamps.iter().all(|l| l.added && l.aside_m < 0.05));
    let key = found.lamps.iter().find(|l| l.like.as_str() == "key").unwrap();
    // South-east of the face seen from the south is north-east of it seen from the east.
    within(key.position_m[0], 1.1, 0.02);
    within(key.position_m[1], 1.0, 0.02);
    for d in &found.after {
        let most = match d.what {
            Compared::KeyDirection => 1.0,
            Compared::Colour | Compared::ColourTemperature => 1.0,
            _ => 0.05,
        };
        assert!(d.difference.is_none_or(|v| v.abs() < most), "{d:?}");
    }
    let next = apply(&plan, found.edit.as_ref().unwrap()).unwrap();
    let matched = matched(&next, &next.shots[0], &next.shots[1]);
    assert!(matched.len() == 1 && matched[0].matches);
}

/// With a wall where the key would stand, the lamp stands aside, the reason is said, and the residual is stated.
#[test]
fn a_wall_in_the_way_is_said() {
    let mut plan = hall();
    plan.location.rooms[0].outline_m = vec![[-8., -8.], [8., -8.], [8., 1.1], [-8., 1.1]];
    let found = carry_over(&plan, &plan.shots[0], &plan.shots[1], &"p".into()).unwrap();
    let key = found.lamps.iter().find(|l| l.like.as_str() == "key").unwrap();
    assert!(key.aside_m > 0.05 && key.position_m[1] < 1.1 - 0.15);
    assert!(found.reasons.iter().any(|r| r.contains("aside")));
    let direction = found.after.iter().find(|d| d.what == Compared::KeyDirection).unwrap();
    assert!(direction.difference.unwrap() > 1.0);
    // The level is made up for.
    let face = found.after.iter().find(|d| d.what == Compared::Face).unwrap();
    within(face.difference.unwrap(), 0.0, 0.3);
}

/// Shots that share a rig: the carried lamps become the later shot's own and the earlier shot keeps its light.
#[test]
fn a_shared_rig_stays_as_it_is() {
    let mut plan = hall();
    plan.shots[1].rig = "rig-1".into();
    let found = carry_over(&plan, &plan.shots[0], &plan.shots[1], &"p".into()).unwrap();
    let next = apply(&plan, found.edit.as_ref().unwrap()).unwrap();
    assert_eq!(next.rigs[0], plan.rigs[0]);
    assert_eq!(next.shots[1].lamps.len(), 2);
    let first = light_of(&next, 0);
    near(first.face_stops.unwrap(), light_of(&plan, 0).face_stops.unwrap(), 1e-9);
    assert!(found.matches, "{:?}", found.after);
}

/// A day's matches, which take over light already solved, are those of pairs compared one by one.
#[test]
fn a_day_compares_as_pairs_do() {
    let mut plan = tapemark::files::demo();
    let all: Vec<_> = plan.shots.iter().map(|s| s.id.clone()).collect();
    for s in &mut plan.shots {
        s.cuts_with = all.iter().filter(|o| **o != s.id).cloned().collect();
    }
    let one_by_one: Vec<_> = pairs(&plan).into_iter().flat_map(|(a, b)| matched(&plan, a, b)).collect();
    assert!(!one_by_one.is_empty());
    assert_eq!(of_plan(&plan), one_by_one);
    assert_eq!(tapemark_core::day::DayFacts::of(&plan, &Default::default(), 0.0).matches, one_by_one);
}

/// A hot lamp keeps its distance from people and furniture, whatever light is carried (safety; the distance is the
/// plan's own): beside a sofa where the key would stand, it stands elsewhere, or the answer says it does not fit.
#[test]
fn a_hot_key_is_not_carried_to_the_sofa() {
    let mut plan = hall();
    plan.rigs[0].fixtures[0].lamp = LampType::Tungsten;
    plan.location.pieces.push(Piece::new("sofa", "sofa", [1.5, 1.2], [0.5, 0.5], 2.2));
    let found = carry_over(&plan, &plan.shots[0], &plan.shots[1], &"p".into()).unwrap();
    let next = apply(&plan, found.edit.as_ref().unwrap()).unwrap();
    assert_eq!(said(&found.broken), harm(&plan, &next));
    assert!(!found.broken.iter().any(|b| b.code.starts_with("hot-")), "{:?}", found.broken);
}

/// The law of every carried light: what is said to be broken is what the notices of the changed plan add.
#[test]
fn whatever_a_carried_light_breaks_is_said() {
    let mut plans = vec![(tapemark::files::demo(), "mara")];
    let mut lot = Lot(11);
    for _ in 0..3 {
        let mut plan = hall();
        let size = lot.between(2.0, 4.0);
        plan.location.rooms[0].outline_m = vec![[-size, -4.0], [4.0, -4.0], [4.0, size], [-size, size]];
        plan.location.pieces.push(Piece::new(
            "post",
            "post",
            [lot.between(0.7, 1.5), lot.between(0.5, 1.5)],
            [0.3, 0.3],
            2.4,
        ));
        plan.rigs[0].fixtures[0].lamp = lot.one(&[LampType::Led, LampType::Tungsten]).unwrap();
        plans.push((plan, "p"));
    }
    for (plan, who) in plans {
        for (from, to) in [(0, 1), (1, 0)] {
            let Ok(found) = carry_over(&plan, &plan.shots[from], &plan.shots[to], &who.into()) else { continue };
            let next = apply(&plan, found.edit.as_ref().unwrap()).unwrap();
            assert_eq!(said(&found.broken), harm(&plan, &next), "{found:#?}");
        }
    }
}

/// A lamp behind and over a head lights its hair and not its face (geometry: the head is in the way): it is a backlight
/// all the same, with its level on the hair, I·cos θ/d² by hand.
#[test]
fn a_backlight_is_a_backlight() {
    let mut plan = hall();
    // Behind the head as the lens in the south sees it, and up.
    let back = lamp("back", [0.0, 1.5], 3.2, 0.5);
    plan.rigs[0].fixtures.push(back);
    let shot = &plan.shots[0];
    let lit = Lit::of(&plan, shot, 0.0);
    let (_, r) = tapemark_core::light::face_readings(&plan, &lit.scene, &lit.light).remove(0);
    let part = r.parts.iter().find(|p| p.fixture.as_str() == "back").unwrap();
    assert_eq!(part.role, tapemark_core::light::Role::Back);
    let p = &lit.scene.people[0];
    let to = tapemark_core::light::hair_receiver(p, lit.scene.view.as_ref().unwrap().eye);
    let v = glam::DVec3::new(0.0, 1.5, 3.2) - to.at;
    // A bare bulb of 10 000 lm at half: Φ/4π candela all round.
    let by_hand = 0.5 * 10_000.0 / (4.0 * std::f64::consts::PI) * v.normalize().dot(to.toward) / v.length_squared();
    near(part.hair_lx.unwrap(), by_hand, 0.02);
    assert!(part.role_in_words().contains("hair"));
    // Carried over, out of frame to one side, it lights the hair of the later shot as much.
    let stand = plan.rigs[0].fixtures.last_mut().unwrap();
    stand.position_m = [2.4, 1.5];
    let found = carry_over(&plan, &plan.shots[0], &plan.shots[1], &"p".into()).unwrap();
    assert!(found.lamps.iter().any(|l| l.like.as_str() == "back"));
    let hair = found.after.iter().find(|d| d.what == Compared::Hair).unwrap();
    within(hair.difference.unwrap(), 0.0, 0.1);
}
