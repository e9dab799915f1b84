//! What the lens sees, against a general-purpose camera model and the meter.

use glam::DVec3;
use tapemark::files::demo;
use tapemark_acceptance::*;
use tapemark_core::frame::{FrameSpec, Overlay, guides, picture};
use tapemark_core::light::{FINE_PATCH_M, Transport, spot};
use tapemark_core::plan::*;
use tapemark_core::scene::{Scene, View};

/// 2000 points through 50 cameras against OpenCV 5.0.0 `projectPoints`
/// (tests/reference/make_projections.py): within 0.01 pixel of 1920 × 1080.
#[test]
fn points_fall_where_opencv_puts_them() {
    let text = include_str!("../reference/projections.json");
    let set: serde_json::Value = serde_json::from_str(text).unwrap();
    let (w, h) = (set["width"].as_f64().unwrap(), set["height"].as_f64().unwrap());
    let mut count = 0;
    for c in set["cameras"].as_array().unwrap() {
        let n = |key: &str| c[key].as_f64().unwrap();
        let triple = |v: &serde_json::Value| {
            let f = |i: usize| v[i].as_f64().unwrap();
            DVec3::new(f(0), f(1), f(2))
        };
        let view = View {
            eye: triple(&c["eye_m"]),
            pan_deg: n("pan_deg"),
            tilt_deg: n("tilt_deg"),
            roll_deg: n("roll_deg"),
            focal_mm: n("focal_mm"),
            sensor_mm: (n("sensor_width_mm"), n("sensor_width_mm") * h / w),
        };
        for (p, px) in c["points_m"].as_array().unwrap().iter().zip(c["pixels"].as_array().unwrap()) {
            let (at, _) = view.project(triple(p)).expect("before the lens");
            within((at.x + 1.0) * 0.5 * w, px[0].as_f64().unwrap(), 0.01);
            within((1.0 - at.y) * 0.5 * h, px[1].as_f64().unwrap(), 0.01);
            count += 1;
        }
    }
    assert!(count >= 1000, "{count}");
}

fn lit_room() -> Plan {
    let mut plan = portrait([0.0, 3.0], 180.0, [0.0, 0.0], 0.0);
    plan.location.rooms[0].outline_m = vec![[-3., -2.], [3., -2.], [3., 5.], [-3., 5.]];
    plan.cameras[0].format = Format::known(0);
    plan.cameras[0].aspect = 1.5;
    plan.cameras[0].lens.focal_mm = 24.0;
    let mut key = Fixture::new("key", HeadClass::SoftBox, [2.0, 0.5], 320.0);
    key.head = Head::SoftBox { width_m: 0.6, height_m: 0.6 };
    plan.rigs[0].fixtures.push(key);
    plan
}

/// A picture's luminance is what the spot meter reads at the same points, worked out another way (each point
/// gathers from every patch): within 4 % on the walls, where bounced light is evened between patches.
#[test]
fn a_pixel_holds_what_the_spot_meter_reads() {
    let plan = lit_room();
    let scene = Scene::of(&plan, &plan.shots[0], 0.0);
    let rig = &plan.rigs[0];
    let transport = Transport::of(&plan, Some(rig), &scene, FINE_PATCH_M, None);
    let view = scene.view.as_ref().unwrap();
    let spec = FrameSpec::for_view(view, 320);
    let picture = picture(&plan, &scene, Some(rig), &transport, spec).unwrap();
    let mut asked = 0;
    for (x, y) in [(20, 40), (60, 30), (110, 60), (230, 50), (300, 90), (270, 190), (40, 200), (30, 120)] {
        let (right, up, forward) = view.axes();
        let u = 2.0 * (f64::from(x) + 0.5) / picture.width as f64 - 1.0;
        let v = 1.0 - 2.0 * (f64::from(y) + 0.5) / picture.height as f64;
        let half = |mm: f64| mm / (2.0 * view.focal_mm);
        let through = forward + right * (u * half(view.sensor_mm.0)) + up * (v * half(view.sensor_mm.1));
        let read = spot(&plan, &scene, &transport, view.eye, through).unwrap();
        let (x, y) = (x as usize, y as usize);
        near(picture.luminance_cd_m2(x, y), read.luminance_cd_m2, 0.04);
        let depth = (DVec3::from_array(read.point_m) - view.eye).dot(forward);
        near(f64::from(picture.depth_m[y * picture.width + x]), depth, 1e-3);
        asked += 1;
    }
    assert_eq!(asked, 8);
}

/// A wall that goes on in one plane behind the next room's corner is lit as in its own room, up to that corner.
#[test]
fn a_wall_is_lit_as_in_its_own_room_up_to_its_end() {
    let plan = demo();
    let shot = plan.shots.iter().find(|s| s.name == "3").unwrap();
    let scene = Scene::of(&plan, shot, 0.0);
    let rig = plan.shot_rig(shot);
    let transport = Transport::of(&plan, rig.as_deref(), &scene, FINE_PATCH_M, None);
    let view = scene.view.as_ref().unwrap();
    let picture = picture(&plan, &scene, rig.as_deref(), &transport, FrameSpec::for_view(view, 480)).unwrap();
    let at = |x: usize| picture.luminance_cd_m2(x, 40);
    for x in (60..130).step_by(5) {
        near(at(x), at(130), 0.2);
    }
}

/// Middle grey is 18 % of white (common practice): a surface that the spot meter puts at the shot's stop
/// becomes sRGB 118, as IEC 61966-2-1 encodes 0.18; one stop less halves it to 0.09, which is 85.
#[test]
fn middle_grey_is_developed_as_middle_grey() {
    let plan = lit_room();
    let (camera, exposure) = (&plan.cameras[0], &plan.exposure);
    let grey = tapemark_core::light::middle_grey_cd_m2(camera.lens.t_stop, exposure) as f32;
    // Light of the white balance's own colour.
    let white = tapemark_core::colour::linear_srgb(tapemark_core::colour::planck_xyz(exposure.white_balance_k));
    let light = |level: f32| white.map(|w| w as f32 * level);
    let picture = tapemark_core::frame::Picture {
        width: 2,
        height: 1,
        light: vec![light(grey), light(grey * 0.5)],
        depth_m: vec![1.0, 1.0],
    };
    let shown = picture.developed(camera, exposure, 1);
    for (got, want) in shown.rgba.iter().zip([118, 118, 118, 255, 85, 85, 85, 255]) {
        within(f64::from(*got), f64::from(want), 1.0);
    }
    within(tapemark_core::frame::falls_at_stops(picture.luminance_cd_m2(0, 0), camera, exposure), 0.0, 1e-3);
}

/// The wall of a room that returns 18 % everywhere, the stop set to what the incident meter says before it: spot
/// meter and picture put it at middle grey (the two meters are one: definition of K = 0.18·C/π; patches of bounced
/// light within 4 %, a twentieth of a stop).
#[test]
fn both_meters_agree_on_an_18_per_cent_wall() {
    let mut plan = lit_room();
    let grey = Finish { reflectance_rgb: [0.18; 3] };
    let f = &mut plan.location.rooms[0].finishes;
    (f.walls, f.floor, f.ceiling) = (grey, grey, grey);
    let scene = Scene::of(&plan, &plan.shots[0], 0.0);
    let rig = plan.rigs[0].clone();
    let transport = Transport::of(&plan, Some(&rig), &scene, FINE_PATCH_M, None);
    let view = scene.view.clone().unwrap();
    let (right, up, forward) = view.axes();
    let (x, y) = (20.0, 40.0);
    let spec = FrameSpec::for_view(&view, 320);
    let u = 2.0 * (x + 0.5) / spec.width as f64 - 1.0;
    let v = 1.0 - 2.0 * (y + 0.5) / spec.height as f64;
    let half = |mm: f64| mm / (2.0 * view.focal_mm);
    let through = forward + right * (u * half(view.sensor_mm.0)) + up * (v * half(view.sensor_mm.1));
    let before = spot(&plan, &scene, &transport, view.eye, through).unwrap();
    // The disc on the wall says how to set the stop.
    plan.cameras[0].lens.t_stop = tapemark_core::optics::stop_for_lx(before.illuminance_lx, &plan.exposure);
    let read = spot(&plan, &scene, &transport, view.eye, through).unwrap();
    within(read.falls_at_stops.unwrap(), 0.0, 0.001);
    near(read.t_stop, plan.cameras[0].lens.t_stop, 1e-6);
    near(read.spot_meter_t_stop / read.t_stop, 2.0_f64.powf(0.640 / 2.0), 0.001);
    let shown = picture(&plan, &scene, Some(&rig), &transport, spec).unwrap();
    let at = shown.luminance_cd_m2(x as usize, y as usize);
    within(tapemark_core::frame::falls_at_stops(at, &plan.cameras[0], &plan.exposure), 0.0, 0.06);
}

/// A head stands where its projection says, in front of the wall, and hides it (similar triangles).
#[test]
fn a_face_is_seen_where_it_projects() {
    let plan = lit_room();
    let scene = Scene::of(&plan, &plan.shots[0], 0.0);
    let transport = Transport::of(&plan, Some(&plan.rigs[0]), &scene, FINE_PATCH_M, None);
    let view = scene.view.as_ref().unwrap();
    let spec = FrameSpec { width: 301, height: 201, coarse: 4, fine: 4 };
    let picture = picture(&plan, &scene, Some(&plan.rigs[0]), &transport, spec).unwrap();
    let head = &scene.people[0];
    let (at, _) = view.project(head.head).unwrap();
    let (x, y) = ((at.x + 1.0) * 150.5, (1.0 - at.y) * 100.5);
    let depth = picture.depth_m[y as usize * 301 + x as usize];
    // The nose may stand a little before the face.
    within(f64::from(depth), 3.0 - head.head_half.y, 0.03);
    // One head to the side there is wall.
    let aside = (head.head_half.x * 2.5 * view.focal_mm / 3.0 / view.sensor_mm.0 * 301.0) as usize;
    within(f64::from(picture.depth_m[y as usize * 301 + x as usize + aside]), 5.0, 0.01);
}

/// The horizon is at the height of the lens: a level camera has it in the middle, one tilted down by a quarter
/// of its vertical angle has it above by tan(a/4)/tan(a/2) of half the height.
#[test]
fn the_horizon_lies_at_lens_height() {
    let mut plan = lit_room();
    let horizon = |plan: &Plan| {
        let scene = Scene::of(plan, &plan.shots[0], 0.0);
        let facts = tapemark_core::facts::shot_facts(plan, &plan.shots[0], 0.0);
        guides(Overlay::Horizon, &plan.shots[0], &scene, &facts)[0].points[0].y
    };
    within(horizon(&plan), 0.0, 1e-6);
    let vertical = 2.0 * (24.0_f64 / 2.0 / 24.0).atan();
    plan.cameras[0].tilt_deg = -(vertical / 4.0).to_degrees();
    within(horizon(&plan), (vertical / 4.0).tan() / (vertical / 2.0).tan(), 1e-6);
}
