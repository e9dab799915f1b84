//! Sun and sky where no room is, and at the edges of the day.

use glam::DVec3;
use tapemark_acceptance::{dome, flat, mark, near, portrait};
use tapemark_core::facts::shot_facts;
use tapemark_core::frame::{FrameSpec, picture};
use tapemark_core::geometry::{OwnerIx, direction3};
use tapemark_core::light::{
    FINE_PATCH_M, MapFacing, MapSpec, Seen, Sky, Transport, daylight_emitters, diffuse_lx, light_map, solve, spot,
    sun_place, twilight_log_lx,
};
use tapemark_core::plan::{Clock, Date, Daylight, Piece, Plan, Room};
use tapemark_core::scene::Scene;

/// A meadow at 47° N at noon of an equinox under a sky: one person who faces south, one camera.
fn meadow(sky_type: u8) -> Plan {
    let mut plan = portrait([0.0, 0.0], 180.0, [0.0, -4.0], 0.0);
    plan.location.rooms.clear();
    plan.location.latitude_deg = Some(47.0);
    plan.location.longitude_deg = Some(9.0);
    plan.daylight = Some(Daylight {
        date: Date { year: 2026, month: 3, day: 20 },
        clock: Clock { minutes: 12 * 60 + 30 },
        utc_offset_h: 1.0,
        sky_type,
        ground_reflectance: 0.2,
    });
    plan
}

/// Nobody there.
fn empty(mut plan: Plan) -> Plan {
    plan.shots[0].marks.clear();
    plan.shots[0].faces.clear();
    plan
}

/// Direct light of everything at a receiver, lux.
fn level(plan: &Plan, at: DVec3, toward: DVec3) -> f64 {
    let scene = Scene::of(plan, &plan.shots[0], 0.0);
    let list = daylight_emitters(plan, &scene.walls, scene.clock);
    list.iter().map(|e| e.gain * solve(&scene.solids, e, &flat(at, toward), OwnerIx::NONE)).sum()
}

/// Open level ground gets the sky's light and the sun's times the sine of its height (definition of horizontal
/// illuminance).
#[test]
fn open_ground_gets_sun_and_sky() {
    for sky_type in [1, 5, 7, 12] {
        let plan = empty(meadow(sky_type));
        let scene = Scene::of(&plan, &plan.shots[0], 0.0);
        let facts = tapemark_core::facts::daylight_facts(&plan, &scene).unwrap();
        let wanted = facts.sky_lx + facts.sun_lx * facts.sun.elevation_deg.to_radians().sin();
        near(level(&plan, DVec3::new(3.0, 2.0, 0.8), DVec3::Z), wanted, 0.01);
    }
}

/// An upright face under an even sky (CIE S 011 type 5) sees half of the sky and half of the ground, which returns a
/// fifth: E/2 + 0.2·E/2 (configuration factors of two half-spaces at right angles are ½). Facing down it gets what
/// the ground returns.
#[test]
fn an_upright_face_gets_half_of_sky_and_ground() {
    let plan = empty(meadow(5));
    let ground = level(&plan, DVec3::new(0.0, 0.0, 1.5), DVec3::Z);
    for bearing in [0.0, 77.0, 200.0] {
        let upright = level(&plan, DVec3::new(0.0, 0.0, 1.5), direction3(bearing, 0.0));
        near(upright, ground * 0.5 * 1.2, 0.01);
    }
    near(level(&plan, DVec3::new(0.0, 0.0, 1.5), DVec3::NEG_Z), ground * 0.2, 0.01);
    // A dome that looks up weighs a direction by (1 + cos)/2: the mean of flat and whole-sphere light,
    // ½(πL + 2πL) of the sky and ½(2π − π)·0.2·L of the ground below it.
    let scene = Scene::of(&plan, &plan.shots[0], 0.0);
    let list = daylight_emitters(&plan, &scene.walls, scene.clock);
    let to = dome(DVec3::new(0.0, 0.0, 1.5), DVec3::Z);
    near(solve(&scene.solids, &list[0], &to, OwnerIx::NONE), ground * (1.5 + 0.1), 0.01);
}

/// A wall with no end hides half of an even sky from the ground at its foot (by symmetry).
#[test]
fn a_wall_with_no_end_takes_half_of_the_sky() {
    let mut plan = empty(meadow(5));
    let open = level(&plan, DVec3::new(0.0, 0.0, 0.3), DVec3::Z);
    plan.location.pieces.push(Piece::new("wall", "wall", [0.0, 0.2], [400.0, 0.2], 200.0));
    near(level(&plan, DVec3::new(0.0, 0.05, 0.3), DVec3::Z), open * 0.5, 0.02);
}

/// A house hides the sky that lies behind it, and its rooms get light by their openings only: in a closed room there
/// is none, whatever the sun does; the sun does not come through the roof to the wall's far side.
#[test]
fn a_closed_room_stays_dark_and_casts_a_shadow() {
    let mut plan = empty(meadow(12));
    plan.location.rooms.push(Room::new("hut", "Hut", vec![[-3.0, 2.0], [3.0, 2.0], [3.0, 6.0], [-3.0, 6.0]]));
    assert_eq!(level(&plan, DVec3::new(0.0, 4.0, 1.0), DVec3::Z), 0.0);
    let sunny = level(&plan, DVec3::new(0.0, 1.5, 1.0), DVec3::Z);
    let shady = level(&plan, DVec3::new(0.0, 6.5, 1.0), DVec3::Z);
    let open = level(&plan, DVec3::new(30.0, 30.0, 1.0), DVec3::Z);
    assert!(sunny < open && sunny > 0.8 * open, "{sunny} of {open}");
    // At noon the sun stands in the south at 43°, behind the wall of 2.5 m.
    assert!(shady < 0.25 * open, "{shady} of {open}");
}

/// Everything that shows light works in the open: facts, face readings, notices, map, picture and spot meter.
#[test]
fn a_portrait_in_a_meadow_is_lit() {
    let plan = meadow(12);
    let shot = &plan.shots[0];
    let facts = shot_facts(&plan, shot, 0.0);
    let reading = facts.people[0].reading.as_ref().unwrap();
    // In full sun at noon of an equinox: "sunny 16" speaks of about 100 000 lx (common practice, no source).
    assert!((30_000.0..130_000.0).contains(&reading.illuminance_lx), "{}", reading.illuminance_lx);
    assert!(!facts.notices.iter().any(|n| n.code == "camera-outside" || n.code == "dark-face"));
    let scene = Scene::of(&plan, shot, 0.0);
    let light = Transport::of(&plan, plan.shot_rig(shot).as_deref(), &scene, FINE_PATCH_M, None);
    let up = spot(&plan, &scene, &light, scene.view.as_ref().unwrap().eye, direction3(0.0, 30.0)).unwrap();
    assert_eq!(up.seen, Seen::Outside);
    let sky = Sky::of(plan.daylight.as_ref().unwrap(), direction3(180.0, 43.0)).unwrap();
    near(up.luminance_cd_m2, sky.luminance_cd_m2(direction3(0.0, 30.0)), 0.05);
    let down = spot(&plan, &scene, &light, DVec3::new(0.0, -4.0, 1.5), direction3(0.0, -20.0)).unwrap();
    near(down.luminance_cd_m2, 0.2 * down.illuminance_lx / std::f64::consts::PI, 1e-9);
    // The background of the portrait is outside, and falls somewhere.
    assert!(facts.camera.as_ref().unwrap().background.as_ref().unwrap().falls_at_stops.is_some());
    let view = scene.view.as_ref().unwrap();
    let shown = picture(&plan, &scene, None, &light, FrameSpec::for_view(view, 64)).unwrap();
    assert!(shown.light.iter().flatten().all(|v| v.is_finite()));
    near(shown.luminance_cd_m2(2, 1), spot_at(&plan, &scene, &light, &shown, 2, 1), 0.02);
    let map = light_map(&plan, &scene, &light, &MapSpec::new(1.2, 0.25, MapFacing::Up));
    let corner = map.at(glam::DVec2::new(-1.9, -1.9)).unwrap();
    near(corner, level(&empty(plan.clone()), DVec3::new(-1.9, -1.9, 1.2), DVec3::Z), 0.1);
}

/// What the spot meter says of a pixel.
fn spot_at(
    plan: &Plan,
    scene: &Scene,
    light: &Transport,
    shown: &tapemark_core::frame::Picture,
    x: usize,
    y: usize,
) -> f64 {
    let view = scene.view.as_ref().unwrap();
    let (right, up, forward) = view.axes();
    let u = 2.0 * (x as f64 + 0.5) / shown.width as f64 - 1.0;
    let v = 1.0 - 2.0 * (y as f64 + 0.5) / shown.height as f64;
    let half = |mm: f64| mm / (2.0 * view.focal_mm);
    let through = forward + right * (u * half(view.sensor_mm.0)) + up * (v * half(view.sensor_mm.1));
    spot(plan, scene, light, view.eye, through).unwrap().luminance_cd_m2
}

/// A garden beside a house: the one outside is lit by the open sky, the one inside by the window alone.
#[test]
fn a_garden_beside_a_house() {
    let mut plan = meadow(1);
    plan.location.rooms.push(Room::new("hut", "Hut", vec![[-3.0, 2.0], [3.0, 2.0], [3.0, 6.0], [-3.0, 6.0]]));
    let mut inside = plan.cast[0].clone();
    inside.id = "b".into();
    plan.cast.push(inside);
    plan.shots[0].marks.push(mark("b", [0.0, 4.0], 180.0));
    let facts = shot_facts(&plan, &plan.shots[0], 0.0);
    let lx = |i: usize| facts.people[i].reading.as_ref().unwrap().illuminance_lx;
    assert!(lx(0) > 1_000.0);
    assert_eq!(lx(1), 0.0);
    assert!(facts.people[0].reading.as_ref().unwrap().parts.iter().any(|p| p.fixture.as_str() == "sky"));
}

/// Light on level ground in twilight: the Explanatory Supplement to the Astronomical Almanac (Seidelmann 1992, from
/// memory) gives 3.4 lx when civil and 0.008 lx when nautical twilight ends, at −6° and −12°; about 400 to 800 lx at
/// sunset is what photographers' tables give (common practice, no source).
#[test]
fn published_twilight() {
    near(10.0_f64.powf(twilight_log_lx(-6.0)), 3.4, 0.03);
    near(10.0_f64.powf(twilight_log_lx(-12.0)), 0.008, 0.05);
    assert!((400.0..=800.0).contains(&10.0_f64.powf(twilight_log_lx(-0.0))));
    // The clear sky here begins from its own level at the horizon, a few per cent from the published one.
    near(diffuse_lx(12, -6.0), 3.4, 0.1);
    near(diffuse_lx(12, -12.0), 0.008, 0.1);
}

/// From nautical dusk to the zenith a sky's light grows, without a jump, for all fifteen skies; below there is none.
#[test]
fn the_day_breaks_without_a_jump() {
    for sky_type in 1..=15 {
        let mut last = diffuse_lx(sky_type, -12.0);
        assert!(last > 0.0 && last < 0.01);
        assert_eq!(diffuse_lx(sky_type, -12.01), 0.0);
        for i in 1..=10_200 {
            let h = -12.0 + f64::from(i) * 0.01;
            let now = diffuse_lx(sky_type, h);
            assert!(now >= last, "sky {sky_type} at {h}°: {now} after {last}");
            assert!(now < last * 1.03, "sky {sky_type} at {h}°: {now} after {last}");
            last = now;
        }
    }
}

/// The sun goes to nothing at the horizon as its disc of half a degree sets, and skies stay finite and positive in
/// every direction with the sun on or under the horizon.
#[test]
fn the_sun_sets_without_a_jump() {
    for sky_type in 1..=15 {
        let day = Daylight { sky_type, ..Daylight::default() };
        for h in [-11.9, -8.0, -5.0, -0.8, -0.2, 0.0, 0.2, 3.0] {
            let sky = Sky::of(&day, direction3(120.0, h)).unwrap();
            for d in [DVec3::Z, direction3(120.0, 0.5), direction3(300.0, 20.0), direction3(120.0, 45.0)] {
                let l = sky.luminance_cd_m2(d);
                // No part of a sky of E lux outshines thirty even ones.
                assert!(l > 0.0 && l < 30.0 * sky.diffuse_lx, "sky {sky_type} at {h}°: {l}");
            }
        }
        assert!(Sky::of(&day, direction3(120.0, -12.1)).is_none());
    }
    let mut last = 0.0;
    for i in -40..=60 {
        let h = f64::from(i) * 0.01;
        let direct = Sky::of(&Daylight::default(), direction3(120.0, h)).unwrap().direct_lx;
        assert!(h >= -0.267 || direct == 0.0, "{h}°: {direct}");
        assert!(direct >= last && direct - last < 10.0, "{h}°: {direct} after {last}");
        last = direct;
    }
    assert!(last > 100.0);
}

/// On the evening of the equinox at 47° N light falls every ten seconds by less than 7 %: refraction does not let
/// the sun drop at once when it touches the horizon. (At civil dusk light halves in about six minutes there: 10.5° an
/// hour straight down, and 0.6 of a decade a degree by the cubics above.)
#[test]
fn dusk_falls_without_a_jump() {
    let date = Date { year: 2026, month: 3, day: 20 };
    let mut last: Option<f64> = None;
    for i in 0..600 {
        let hour = 17.0 + f64::from(i) / 6.0 / 60.0;
        let sun = sun_place(47.0, 9.0, date, hour).unwrap();
        let now = diffuse_lx(12, sun.elevation_deg);
        if let Some(before) = last
            && now > 0.02
        {
            assert!(now <= before * 1.001 && now > before * 0.93, "{hour}: {now} after {before}");
        }
        last = Some(now);
    }
}
