//! The shooting day: when it starts, what changes cost, what is pinned.

use super::{Clock, ShotId, Unknown};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The shooting day and what its changes cost. The defaults are common practice, no source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Day {
    /// First shot's set-up begins.
    pub start: Clock,
    /// The place must be left by then.
    pub wrap: Clock,
    /// Striking one rig for another, before its lamps are counted, minutes.
    pub rig_change_min: f64,
    /// Setting, moving or striking one lamp, minutes.
    pub lamp_min: f64,
    /// Moving the camera to another place, minutes.
    pub camera_move_min: f64,
    /// Rehearsing and marking a set-up before its first take, minutes.
    pub rehearse_min: f64,
    /// Takes of a shot that says nothing of its own.
    pub takes: u32,
    /// Slate, reset and talk about each take, minutes.
    pub between_takes_min: f64,
    /// How far from its own hour a shot may be taken, minutes.
    pub window_min: f64,
    /// What a minute of a waiting actor weighs against a minute of the day (1: as much).
    pub waiting_weight: f64,
    /// Places in the day kept by hand.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pins: Vec<Pin>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

impl Default for Day {
    fn default() -> Self {
        Day {
            start: Clock { minutes: 9 * 60 },
            wrap: Clock { minutes: 18 * 60 },
            rig_change_min: 10.0,
            lamp_min: 4.0,
            camera_move_min: 6.0,
            rehearse_min: 8.0,
            takes: 4,
            between_takes_min: 1.5,
            window_min: 30.0,
            waiting_weight: 0.25,
            pins: Vec::new(),
            unknown: Unknown::new(),
        }
    }
}

impl Day {
    pub(super) fn is_usual(&self) -> bool {
        *self == Day::default()
    }
}

/// A set-up kept at a place in the day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Pin {
    /// Any shot of the set-up.
    pub shot: ShotId,
    /// Its set-up's place in the day, from 1.
    pub place: usize,
}

/// How much the light of shots that cut together may differ. The defaults are common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct MatchLimits {
    /// Key direction relative to the lens, degrees.
    pub key_angle_deg: f64,
    /// Key:fill, stops.
    pub key_fill_stops: f64,
    /// Face level over what each exposure wants, stops.
    pub face_stops: f64,
    /// Colour of the light on the face, CIEDE2000.
    pub delta_e: f64,
    /// Colour temperature, mired.
    pub mired: f64,
    /// Level behind the face, stops.
    pub background_stops: f64,
    /// Hair light against the face, stops.
    pub hair_stops: f64,
}

impl Default for MatchLimits {
    fn default() -> Self {
        MatchLimits {
            key_angle_deg: 30.0,
            key_fill_stops: 0.7,
            face_stops: 0.5,
            delta_e: 6.0,
            mired: 20.0,
            background_stops: 1.0,
            hair_stops: 1.0,
        }
    }
}

impl MatchLimits {
    pub(super) fn is_usual(&self) -> bool {
        *self == MatchLimits::default()
    }
}
