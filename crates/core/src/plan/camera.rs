//! Camera places, lenses and exposure.

use super::{CameraId, Unknown};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A camera place with its lens.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Camera {
    /// Id.
    pub id: CameraId,
    /// Name on the plan.
    #[serde(default)]
    pub name: String,
    /// Lens position, metres.
    pub position_m: [f64; 2],
    /// Floor to the lens axis, metres.
    #[serde(default = "default_lens_height_m")]
    pub lens_height_m: f64,
    /// Bearing of the lens axis, degrees clockwise from +y.
    #[serde(default)]
    pub pan_deg: f64,
    /// Up positive, degrees.
    #[serde(default)]
    pub tilt_deg: f64,
    /// Clockwise as the operator sees it, degrees.
    #[serde(default)]
    pub roll_deg: f64,
    /// Sensor.
    #[serde(default)]
    pub format: Format,
    /// Delivered aspect ratio, width over height.
    #[serde(default = "default_aspect")]
    pub aspect: f64,
    /// Lens.
    #[serde(default)]
    pub lens: Lens,
    /// Focus distance from the sensor mark, metres; absent: the nearest required face.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub focus_m: Option<f64>,
    /// From the lens's viewpoint (its entrance pupil, where `position_m` is) back to the sensor mark, from which
    /// focus distances count, metres.
    #[serde(default = "default_sensor_behind_m", skip_serializing_if = "is_default_sensor_behind")]
    pub sensor_behind_m: f64,
    /// Neutral density in front of the sensor, stops.
    #[serde(default)]
    pub nd_stops: f64,
    /// Later places of a camera move, in time order; empty: the camera stands still.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<CameraMark>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

fn default_lens_height_m() -> f64 {
    1.5
}
/// A usual lens's pupil lies about 10 cm before the sensor (common practice, no source).
fn default_sensor_behind_m() -> f64 {
    0.1
}
#[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
fn is_default_sensor_behind(v: &f64) -> bool {
    *v == default_sensor_behind_m()
}
fn default_aspect() -> f64 {
    16.0 / 9.0
}

impl Camera {
    /// A camera with an APS-C sensor and a 24 mm lens.
    #[must_use]
    pub fn new(id: impl Into<CameraId>, name: &str, position_m: [f64; 2], pan_deg: f64) -> Camera {
        Camera {
            id: id.into(),
            name: name.into(),
            position_m,
            lens_height_m: default_lens_height_m(),
            pan_deg,
            tilt_deg: 0.0,
            roll_deg: 0.0,
            format: Format::default(),
            aspect: default_aspect(),
            lens: Lens::default(),
            focus_m: None,
            sensor_behind_m: default_sensor_behind_m(),
            nd_stops: 0.0,
            marks: Vec::new(),
            unknown: Unknown::new(),
        }
    }
}

/// A place of a camera move.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CameraMark {
    /// When the camera is here, seconds from the start of the shot.
    pub at_s: f64,
    /// Lens position, metres.
    pub position_m: [f64; 2],
    /// Floor to the lens axis, metres.
    pub lens_height_m: f64,
    /// Bearing, degrees clockwise from +y.
    pub pan_deg: f64,
    /// Up positive, degrees.
    pub tilt_deg: f64,
    /// Focal length, millimetres.
    pub focal_mm: f64,
}

/// A sensor's active area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Format {
    /// Generic name.
    pub name: String,
    /// Millimetres across.
    pub width_mm: f64,
    /// Millimetres high.
    pub height_mm: f64,
    /// Circle of confusion, millimetres; absent: diagonal / 1500.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circle_of_confusion_mm: Option<f64>,
}

impl Format {
    /// The formats offered: full frame 36 × 24 mm after ISO 1007; 35 mm motion-picture camera aperture
    /// 24.89 × 18.66 mm after SMPTE ST 59 (from memory); the others are common practice, no source.
    pub const KNOWN: [(&str, f64, f64); 8] = [
        ("Full frame 36 × 24", 36.0, 24.0),
        ("35 mm film aperture 24.89 × 18.66", 24.89, 18.66),
        ("APS-C 22.3 × 14.9", 22.3, 14.9),
        ("MFT 17.3 × 13.0", 17.3, 13.0),
        ("1-inch 13.2 × 8.8", 13.2, 8.8),
        ("APS-C 23.5 × 15.6", 23.5, 15.6),
        ("Phone, 1/1.3-inch 9.8 × 7.3", 9.8, 7.3),
        ("Phone, 1/2.55-inch 5.6 × 4.2", 5.6, 4.2),
    ];

    /// One of [`Format::KNOWN`] by its place in the list.
    #[must_use]
    pub fn known(index: usize) -> Format {
        let (name, width_mm, height_mm) = Format::KNOWN[index.min(Format::KNOWN.len() - 1)];
        Format { name: name.into(), width_mm, height_mm, circle_of_confusion_mm: None }
    }
}

impl Default for Format {
    fn default() -> Self {
        Format::known(2)
    }
}

/// A lens.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Lens {
    /// Focal length in use, millimetres.
    pub focal_mm: f64,
    /// Shortest and longest focal length of a zoom, millimetres; absent: a prime.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zoom_mm: Option<[f64; 2]>,
    /// T-stop set for the shot.
    pub t_stop: f64,
    /// Widest T-stop of the lens.
    #[serde(default = "default_widest")]
    pub widest_t_stop: f64,
    /// Nearest focus from the sensor mark, metres.
    pub close_focus_m: f64,
}

fn default_widest() -> f64 {
    1.8
}

impl Default for Lens {
    fn default() -> Self {
        Lens { focal_mm: 24.0, zoom_mm: None, t_stop: 2.8, widest_t_stop: 1.8, close_focus_m: 0.25 }
    }
}

/// What an incident meter's receptor looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Receptor {
    /// A flat disc: follows the cosine.
    Flat,
    /// A hemisphere: a cardioid, sees light from the side.
    #[default]
    Dome,
}

/// Middle grey as a share of white (common practice, no source).
pub const MIDDLE_GREY: f64 = 0.18;

/// Metering and exposure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Exposure {
    /// Exposure index.
    pub ei: f64,
    /// Frames a second.
    pub frame_rate: f64,
    /// Shutter angle, degrees.
    pub shutter_deg: f64,
    /// White balance, kelvin.
    pub white_balance_k: f64,
    /// The meter's receptor at faces: the dome for exposure, the flat disc to compare lamps.
    #[serde(default)]
    pub receptor: Receptor,
    /// Incident calibration constant of the dome, lux·second; absent: 340 (within ISO 2720's range). It sets
    /// exposure whatever receptor reads, and where a surface falls: middle grey is 0.18·C/π.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibration_c: Option<f64>,
    /// Reflected-light constant of the spot meter on the set, cd/m²·s; absent: 12.5 (ISO 2720 allows 10.6 to
    /// 13.4). It sets only the stop that meter will show.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spot_k: Option<f64>,
}

impl Default for Exposure {
    fn default() -> Self {
        Exposure {
            ei: 800.0,
            frame_rate: 25.0,
            shutter_deg: 180.0,
            white_balance_k: 4300.0,
            receptor: Receptor::Dome,
            calibration_c: None,
            spot_k: None,
        }
    }
}

impl Exposure {
    /// Exposure time of a frame, seconds.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        self.shutter_deg / 360.0 / self.frame_rate
    }
    /// The incident calibration constant in force, lx·s: the dome's.
    #[must_use]
    pub fn c(&self) -> f64 {
        self.calibration_c.unwrap_or(340.0)
    }
    /// The reflected-light constant that goes with it, cd/m²·s: an 18 % card in a level E has the luminance
    /// 0.18·E/π, so K = 0.18·C/π puts it at middle grey where the meter at the card says the exposure is right.
    #[must_use]
    pub fn k(&self) -> f64 {
        MIDDLE_GREY * self.c() / std::f64::consts::PI
    }
    /// The reflected-light constant of the spot meter on the set, cd/m²·s.
    #[must_use]
    pub fn spot_k_in_force(&self) -> f64 {
        self.spot_k.unwrap_or(12.5)
    }
    /// How many stops further closed that spot meter's stop is than the one that renders what it sees as middle
    /// grey here; positive when its constant is the smaller.
    #[must_use]
    pub fn spot_meter_reads_over_stops(&self) -> f64 {
        (self.k() / self.spot_k_in_force()).log2()
    }
}
