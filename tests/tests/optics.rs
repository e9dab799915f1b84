//! View angles, field, depth of field and exposure against published values.

use tapemark_acceptance::{near, within};
use tapemark_core::optics::*;
use tapemark_core::plan::{Camera, Exposure, Format, Receptor};
use tapemark_core::scene::View;
use tapemark_core::units::LX_PER_FC;

/// Lens tables for the 36 × 24 mm format (ISO 1007) print these angles, to 0.1°; e.g. S. F. Ray, Applied
/// Photographic Optics (from memory).
#[test]
fn angles_of_view_of_the_full_frame_lens_table() {
    for (focal, horizontal, vertical) in
        [(24.0, 73.7, 53.1), (35.0, 54.4, 37.8), (50.0, 39.6, 27.0), (85.0, 23.9, 16.1), (135.0, 15.2, 10.2)]
    {
        within(angle_of_view_deg(36.0, focal), horizontal, 0.06);
        within(angle_of_view_deg(24.0, focal), vertical, 0.06);
    }
}

/// The diagonal of 36 × 24 mm is 43.27 mm, and its circle of confusion by the 1/1500 rule 0.029 mm
/// (common practice: "0.03 mm"; no source).
#[test]
fn the_full_frame_circle_of_confusion_is_the_usual_three_hundredths() {
    let c = circle_of_confusion_mm(&Format::known(0));
    within(c, 0.029, 0.001);
}

/// Field tables for the 35 mm camera aperture give a 50 mm lens about 5 ft of width at 10 ft
/// (24.89/50 × 10 ft = 4.98 ft; common practice, no source). The thin-lens term takes 2 % at this
/// distance.
#[test]
fn field_width_of_the_camera_aperture_at_ten_feet() {
    near(field_m(24.89, 50.0, 10.0 * 0.3048), 4.98 * 0.3048, 0.02);
}

/// At 1:1 (twice the focal length) the field is the sensor: the thin-lens equation of any optics text.
#[test]
fn at_life_size_the_field_is_the_sensor() {
    near(field_m(36.0, 100.0, 0.2), 0.036, 1e-12);
    near(distance_for_field_m(36.0, 100.0, 0.036), 0.2, 1e-12);
}

/// Worked example in the encyclopaedia article "Hyperfocal distance" (Wikipedia, from memory): 50 mm, f/8,
/// c = 0.03 mm gives 10 467 mm.
#[test]
fn hyperfocal_worked_example() {
    within(hyperfocal_m(50.0, 8.0, 0.03), 10.467, 0.0005);
}

/// Focused at the hyperfocal distance everything from half of it to infinity is sharp: its definition
/// (ISO 517 usage; any optics text).
#[test]
fn at_hyperfocal_depth_runs_from_half_to_infinity() {
    let h = hyperfocal_m(50.0, 8.0, 0.03);
    let (near_m, far_m) = depth_of_field_m(50.0, 8.0, 0.03, h);
    near(near_m, h / 2.0, 1e-9);
    assert!(far_m.is_infinite());
}

/// The focus distance is the harmonic mean of the near and far limits (Ray, Applied Photographic Optics,
/// from memory).
#[test]
fn focus_is_the_harmonic_mean_of_the_limits() {
    for focus in [0.8, 2.0, 5.0] {
        let (n, f) = depth_of_field_m(35.0, 2.8, 0.0179, focus);
        near(2.0 / (1.0 / n + 1.0 / f), focus, 1e-9);
    }
}

/// ISO 2720 incident-light equation, and the trade's check that EI 100 at 24 fps, 180° and T2.8 wants
/// about 100 fc (common practice, no source), within a third of a stop. The flat disc compares lamps: it does not
/// change what an exposure wants (ISO 2720 gives it a constant of its own, 240 to 400, for flat copy).
#[test]
fn a_hundred_foot_candles_at_t2_8_and_ei_100() {
    let e = |receptor| Exposure { ei: 100.0, frame_rate: 24.0, shutter_deg: 180.0, receptor, ..Exposure::default() };
    let fc = |receptor| lx_for_stop(2.8, &e(receptor)) / LX_PER_FC;
    assert!((fc(Receptor::Dome) / 100.0).log2().abs() < 0.34);
    near(fc(Receptor::Flat), fc(Receptor::Dome), 1e-12);
}

/// A diffuse card that returns 18 % has the luminance 0.18·E/π (definition of a Lambertian reflector); lit to the
/// level the incident meter wants it is middle grey, whatever C is set. A spot meter of K = 12.5 (ISO 2720's range
/// is 10.6 to 13.4) shows log₂(0.18·340/(π·12.5)) = 0.64 stops more.
#[test]
fn an_18_per_cent_card_lit_as_wanted_falls_at_nought() {
    for c in [None, Some(250.0), Some(400.0)] {
        let e = Exposure { calibration_c: c, ..Exposure::default() };
        let luminance = 0.18 * lx_for_stop(2.8, &e) / std::f64::consts::PI;
        near(tapemark_core::light::middle_grey_cd_m2(2.8, &e), luminance, 1e-12);
    }
    within(Exposure::default().spot_meter_reads_over_stops(), 0.640, 0.001);
    let real = Exposure { spot_k: Some(13.4), ..Exposure::default() };
    within(real.spot_meter_reads_over_stops(), (0.18 * 340.0 / (std::f64::consts::PI * 13.4_f64)).log2(), 1e-12);
}

/// A dome meter in full sun, about 100 000 lx (IES Lighting Handbook, from memory), gives f/16 at 1/100 s
/// and ISO 100: the "sunny 16" rule (common practice, no source), within a third of a stop.
#[test]
fn sunny_sixteen() {
    let e =
        Exposure { ei: 100.0, frame_rate: 100.0, shutter_deg: 360.0, receptor: Receptor::Dome, ..Exposure::default() };
    let stops = 2.0 * (stop_for_lx(100_000.0, &e) / 16.0).log2();
    within(stops, 0.0, 0.34);
}

/// 180° at 24 fps is 1/48 s (common practice, no source).
#[test]
fn half_a_shutter_at_24_frames_is_a_48th() {
    let e = Exposure { frame_rate: 24.0, shutter_deg: 180.0, ..Exposure::default() };
    near(e.time_s(), 1.0 / 48.0, 1e-12);
}

/// One stop is a doubling of light (ISO 2720; any text).
#[test]
fn stop_and_level_are_inverse() {
    let e = Exposure::default();
    near(stop_for_lx(lx_for_stop(4.0, &e), &e), 4.0, 1e-12);
    near(lx_for_stop(4.0, &e) / lx_for_stop(2.0_f64.powf(1.5), &e), 2.0, 1e-12);
}

/// A pinhole puts a point at half the angle of view on the frame's edge, and one at half its tangent
/// half-way (any text on perspective).
#[test]
fn projection_reaches_the_frame_edge_at_half_the_angle_of_view() {
    let mut c = Camera::new("c", "C", [0.0, 0.0], 0.0);
    c.format = Format::known(0);
    c.aspect = 1.5;
    c.lens.focal_mm = 36.0;
    c.lens_height_m = 0.0;
    let view = View::at(&c, 0.0);
    let (at, depth) = view.project(glam::DVec3::new(2.0, 4.0, 0.0)).unwrap();
    within(at.x, 1.0, 1e-12);
    within(at.y, 0.0, 1e-12);
    within(depth, 4.0, 1e-12);
    let (at, _) = view.project(glam::DVec3::new(1.0, 4.0, 4.0 / 3.0)).unwrap();
    within(at.x, 0.5, 1e-12);
    within(at.y, 1.0, 1e-9);
}

/// A 16:9 frame from a 3:2 sensor keeps the width (common practice, no source).
#[test]
fn a_wide_aspect_crops_the_height() {
    let (w, h) = delivered_mm(&Format::known(0), 16.0 / 9.0);
    assert_eq!((w, h), (36.0, 20.25));
    let (w, h) = delivered_mm(&Format::known(0), 1.0);
    assert_eq!((w, h), (24.0, 24.0));
}
