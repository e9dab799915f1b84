//! Numbers a crew knows by heart: sheets, bulbs, currents, clearances, sensors, focus from the sensor mark.

use tapemark_acceptance::{near, portrait, within};
use tapemark_core::colour::{Bands, cct_duv, correction_share};
use tapemark_core::facts::shot_facts;
use tapemark_core::geometry::direction3;
use tapemark_core::light::{Emitter, axis_gain, gain, light_colour};
use tapemark_core::optics::depth_of_field_m;
use tapemark_core::plan::*;
use tapemark_core::power::current_a;

/// On a head's axis a quarter, half and full sheet take about a third, three quarters and one and a half stops
/// (common practice, no source), in all and once, before an open-face, a Fresnel and a panel; no more light passes
/// than the sheet lets through.
#[test]
fn a_sheet_takes_its_stops_on_the_axis_once() {
    for class in [HeadClass::OpenFace, HeadClass::Fresnel, HeadClass::Panel, HeadClass::SoftBox, HeadClass::WorkLight] {
        for (name, stops) in [("quarter diffusion", 1.0 / 3.0), ("half diffusion", 0.75), ("full diffusion", 1.5)] {
            let bare = Fixture::new("f", class, [0.0, 0.0], 0.0);
            let with = Fixture { diffusion: Diffusion::sheet(name), ..bare.clone() };
            let axis = direction3(bare.pan_deg, bare.tilt_deg);
            let cd = |f: &Fixture| {
                let e = Emitter::of(f);
                e.gain * e.intensity_cd(axis)
            };
            let lost = (cd(&bare) / cd(&with)).log2();
            within(lost, stops, 0.02);
            within(-axis_gain(&with).log2(), lost, 1e-6);
            assert!(gain(&with) <= with.diffusion.as_ref().unwrap().transmittance + 1e-9);
        }
    }
    // A narrow spot spreads by many times its beam and loses more (conservation of energy).
    let mut spot = Fixture::new("f", HeadClass::Fresnel, [0.0, 0.0], 0.0);
    spot.head = Head::Fresnel { flood: 0.0 };
    spot.diffusion = Diffusion::sheet("full diffusion");
    assert!(-axis_gain(&spot).log2() > 2.5);
    near(gain(&spot), spot.diffusion.as_ref().unwrap().transmittance, 1e-9);
}

/// A sheet of an older file, by its name then, says what it said: transmittance and spread.
#[test]
fn an_older_sheet_is_read_unchanged() {
    let old = r#"{"name": "light diffusion", "transmittance": 0.85, "spread_deg": 12.0}"#;
    let sheet: Diffusion = serde_json::from_str(old).unwrap();
    assert_eq!((sheet.transmittance, sheet.spread_deg, sheet.axis_loss_stops), (0.85, 12.0, None));
    assert_eq!(stock_name(&sheet.name), "light diffusion");
    let f = Fixture { diffusion: Some(sheet.clone()), ..Fixture::new("f", HeadClass::OpenFace, [0.0, 0.0], 0.0) };
    near(gain(&f), 0.85, 1e-12);
    let written: Diffusion = serde_json::from_str(&serde_json::to_string(&sheet).unwrap()).unwrap();
    assert_eq!(written, sheet);
}

/// A builder's 500 W halogen tube gives about 9500 lm and a 20 W spiral bulb about 1200 lm (printed on their boxes;
/// common practice, no source).
#[test]
fn lumens_on_the_box() {
    let tube = LampType::Tungsten.efficacy_lm_w(HeadClass::WorkLight) * 500.0;
    near(tube, 9500.0, 0.02);
    let mut bulb = Fixture::new("f", HeadClass::BareBulb, [0.0, 0.0], 0.0);
    (bulb.lamp, bulb.watts) = (LampType::Fluorescent, 20.0);
    near(bulb.rated_lm(), 1200.0, 0.02);
}

/// IEC 61000-3-2 asks lamps for power-factor correction above 25 W; small LED and spiral bulbs are at 0.5 to 0.6
/// (common practice, no source): 11 W at 230 V draw 80 to 96 mA.
#[test]
fn small_bulbs_draw_more_than_their_watts() {
    let mut bulb = Fixture::new("f", HeadClass::BareBulb, [0.0, 0.0], 0.0);
    for lamp in [LampType::Led, LampType::Fluorescent] {
        (bulb.lamp, bulb.watts) = (lamp, 11.0);
        assert!((0.080..=0.096).contains(&current_a(&bulb, 230.0)));
        bulb.watts = 60.0;
        near(current_a(&bulb, 230.0), 60.0 / 230.0 / 0.9, 1e-9);
    }
    (bulb.lamp, bulb.watts) = (LampType::Tungsten, 11.0);
    near(current_a(&bulb, 230.0), 11.0 / 230.0, 1e-9);
}

fn hot_near(piece_at: [f64; 2]) -> bool {
    let mut plan = portrait([0.0, 6.0], 180.0, [0.0, 9.0], 180.0);
    let mut f = Fixture::new("hot", HeadClass::OpenFace, [0.0, 0.0], 0.0);
    (f.tilt_deg, f.height_m) = (0.0, 1.5);
    plan.rigs[0].fixtures.push(f);
    plan.location.pieces.push(Piece::new("cloth", "cloth", piece_at, [0.2, 0.2], 2.0));
    shot_facts(&plan, &plan.shots[0], 0.0).notices.iter().any(|n| n.code == "hot-lamp-near")
}

/// A hot head wants about a metre ahead and half a metre beside (common practice, no source; markings and local rules
/// decide).
#[test]
fn a_hot_head_wants_more_room_ahead() {
    assert!(hot_near([0.0, 0.9]), "0.8 m ahead");
    assert!(!hot_near([0.0, 1.3]), "1.2 m ahead");
    assert!(!hot_near([0.0, -0.9]), "0.8 m behind");
    assert!(!hot_near([0.8, 0.0]), "0.7 m beside");
    assert!(hot_near([0.5, 0.0]), "0.4 m beside");
    assert!(hot_near([0.0, -0.5]), "0.4 m behind");
}

/// A face two thirds of a stop off is noticed by the eye that grades (common practice, no source); a plan that states
/// its own tolerance keeps it.
#[test]
fn the_usual_tolerance_is_seven_tenths() {
    within(Limits::default().exposure_stops, 0.7, 1e-12);
    let kept: Limits = serde_json::from_value(serde_json::json!({
        "room_behind_m": 0.7, "operator_width_m": 0.6, "face_share": 0.85, "exposure_stops": 1.5,
        "continuous_load_share": 0.8, "hot_clearance_m": 1.0
    }))
    .unwrap();
    within(kept.exposure_stops, 1.5, 1e-12);
    within(kept.hot_side_clearance_m, 0.5, 1e-12);
}

/// A shot that wants a close-up and frames a full figure is told so, with the size it has; at its size it is not.
#[test]
fn a_size_that_is_missed_is_told() {
    let mut plan = portrait([0.0, 6.0], 180.0, [0.0, 0.0], 0.0);
    let codes =
        |plan: &Plan| -> Vec<&str> { shot_facts(plan, &plan.shots[0], 0.0).notices.iter().map(|n| n.code).collect() };
    let framed = shot_facts(&plan, &plan.shots[0], 0.0).people[0].size.unwrap();
    plan.shots[0].size = framed;
    assert!(!codes(&plan).contains(&"size-missed"));
    plan.shots[0].size = if framed == ShotSize::Close { ShotSize::Wide } else { ShotSize::Close };
    assert!(codes(&plan).contains(&"size-missed"));
}

/// A sensor "of an inch" has 16 mm of diagonal from about half an inch up and 18 mm below, divided by the number of
/// its name (common practice, no source); APS-C's wider kind is 36 mm over 1.53.
#[test]
fn sensors_of_phones() {
    let diagonal = |part: &str| {
        let (_, w, h) = Format::KNOWN.iter().find(|f| f.0.contains(part)).unwrap();
        w.hypot(*h)
    };
    near(diagonal("1/1.3"), 16.0 / 1.3, 0.02);
    near(diagonal("1/2.55"), 18.0 / 2.55, 0.02);
    near(36.0_f64.hypot(24.0) / diagonal("23.5"), 1.53, 0.01);
    assert!(Format::KNOWN.iter().all(|f| stock_name(f.0) == f.0), "English names are the kept ones");
}

/// Lens scales and focus tapes count from the sensor mark (common practice, no source): a face 2 m from the lens's
/// viewpoint, with the mark 10 cm behind it, is at 2.10 m; near and far are those of 2 m, 10 cm on.
#[test]
fn focus_counts_from_the_sensor_mark() {
    let mut plan = portrait([0.0, 2.0], 180.0, [0.0, 0.0], 0.0);
    let camera = plan.cameras[0].clone();
    let told = |plan: &Plan| {
        let f = shot_facts(plan, &plan.shots[0], 0.0);
        let face = f.people[0].distance_m.unwrap();
        (f.camera.unwrap(), face)
    };
    let (c, face) = told(&plan);
    let depth = c.focus_m - 0.1;
    assert!((1.8..2.0).contains(&depth), "{depth}");
    within(face, c.focus_m, 0.02);
    let (near_m, far_m) = depth_of_field_m(24.0, camera.lens.t_stop, c.circle_of_confusion_mm, depth);
    within(c.near_m, near_m + 0.1, 1e-9);
    within(c.far_m.unwrap(), far_m + 0.1, 1e-9);
    // Typed from the mark it is the same.
    plan.cameras[0].focus_m = Some(c.focus_m);
    within(told(&plan).0.near_m, c.near_m, 1e-9);
    // A close focus of 1.95 m from the mark is kept where the lens itself is nearer than that.
    plan.cameras[0].focus_m = None;
    plan.cameras[0].lens.close_focus_m = depth + 0.05;
    let codes =
        |plan: &Plan| shot_facts(plan, &plan.shots[0], 0.0).notices.iter().any(|n| n.code == "too-close-to-focus");
    assert!(!codes(&plan));
    plan.cameras[0].sensor_behind_m = 0.0;
    assert!(codes(&plan));
}

/// Mired shifts are differences of reciprocals: −130 turns 3200 K into 1e6/(312.5 − 130) = 5479 K. A full blue takes
/// about one and a half stops and a full amber about one (common practice, no source); less correction takes less.
#[test]
fn correction_gels_are_round_shifts() {
    let mut f = Fixture::new("f", HeadClass::OpenFace, [0.0, 0.0], 0.0);
    f.gels.push(Gel::correction(0));
    within(cct_duv(light_colour(&f)).unwrap().0, 1e6 / (1e6 / 3200.0 - 130.0), 60.0);
    let stops = |shift: f64| -correction_share(shift).log2();
    within(stops(-130.0), 1.5, 0.25);
    within(stops(160.0), 1.0, 0.3);
    for pair in [[-130.0, -65.0], [-65.0, -30.0], [-30.0, -15.0], [160.0, 80.0], [80.0, 40.0], [40.0, 20.0]] {
        assert!(stops(pair[0]) > stops(pair[1]));
    }
    // No shift: the filter's own 0.9.
    near(correction_share(0.0), 0.9, 1e-9);
    // The filter does what it says: before a Planckian it gives the next one.
    let filtered = Bands::planck(3200.0).times(&Bands::from_fn(|nm| (1.4388e7 * 130e-6 * (1.0 / nm)).exp()));
    let (k, duv) = cct_duv(filtered.xyz()).unwrap();
    near(k, 1e6 / (1e6 / 3200.0 - 130.0), 0.02);
    within(duv, 0.0, 0.002);
}
