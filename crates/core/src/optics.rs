//! Lens and exposure formulas.

use crate::plan::{Camera, Exposure, Format};

/// The part of a sensor that is delivered, millimetres: the aspect ratio crops height or width.
#[must_use]
pub fn delivered_mm(format: &Format, aspect: f64) -> (f64, f64) {
    if aspect >= format.width_mm / format.height_mm {
        (format.width_mm, format.width_mm / aspect)
    } else {
        (format.height_mm * aspect, format.height_mm)
    }
}

/// Angle of view 2·atan(w / 2f), degrees, focused at infinity.
#[must_use]
pub fn angle_of_view_deg(sensor_mm: f64, focal_mm: f64) -> f64 {
    2.0 * (sensor_mm / (2.0 * focal_mm)).atan().to_degrees()
}

/// Width of the field at a distance from the lens, metres, for a lens focused there.
///
/// Thin lens: the image lies at f·d/(d − f), so the field is w·(d − f)/f. At or inside the focal length
/// there is no image and the field is 0.
#[must_use]
pub fn field_m(sensor_mm: f64, focal_mm: f64, distance_m: f64) -> f64 {
    (sensor_mm * (distance_m - focal_mm / 1000.0) / focal_mm).max(0.0)
}

/// Distance at which a field of a given width is framed, metres: the inverse of [`field_m`].
#[must_use]
pub fn distance_for_field_m(sensor_mm: f64, focal_mm: f64, field_m: f64) -> f64 {
    field_m * focal_mm / sensor_mm + focal_mm / 1000.0
}

/// Circle of confusion, millimetres: as set, or diagonal / 1500.
#[must_use]
pub fn circle_of_confusion_mm(format: &Format) -> f64 {
    format.circle_of_confusion_mm.unwrap_or_else(|| format.width_mm.hypot(format.height_mm) / 1500.0)
}

/// Hyperfocal distance f²/(N·c) + f, metres.
#[must_use]
pub fn hyperfocal_m(focal_mm: f64, f_number: f64, coc_mm: f64) -> f64 {
    (focal_mm * focal_mm / (f_number * coc_mm) + focal_mm) / 1000.0
}

/// Near and far limit of the depth of field, metres; far is infinite at and past the hyperfocal distance.
#[must_use]
pub fn depth_of_field_m(focal_mm: f64, f_number: f64, coc_mm: f64, focus_m: f64) -> (f64, f64) {
    let h = hyperfocal_m(focal_mm, f_number, coc_mm);
    let f = focal_mm / 1000.0;
    let near = focus_m * (h - f) / (h + focus_m - 2.0 * f);
    let far = if focus_m >= h { f64::INFINITY } else { focus_m * (h - f) / (h - focus_m) };
    (near, far)
}

/// The stop an incident level calls for: N²/t = E·S/C (ISO 2720).
#[must_use]
pub fn stop_for_lx(illuminance_lx: f64, exposure: &Exposure) -> f64 {
    (illuminance_lx.max(0.0) * exposure.ei * exposure.time_s() / exposure.c()).sqrt()
}

/// The level that a stop calls for, lux: the inverse of [`stop_for_lx`].
#[must_use]
pub fn lx_for_stop(n: f64, exposure: &Exposure) -> f64 {
    n * n * exposure.c() / (exposure.ei * exposure.time_s())
}

/// The level that gives a camera's set stop and neutral density a normal exposure, lux.
#[must_use]
pub fn wanted_lx(camera: &Camera, exposure: &Exposure) -> f64 {
    lx_for_stop(camera.lens.t_stop, exposure) * camera.nd_stops.exp2()
}

/// A level over or under another, in stops; −∞ for darkness.
#[must_use]
pub fn stops_between(level_lx: f64, wanted_lx: f64) -> f64 {
    (level_lx / wanted_lx).log2()
}
