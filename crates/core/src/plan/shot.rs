//! Cast, marks and shots.

use super::{CameraId, Clock, Fixture, FixtureId, MarkId, PersonId, RigId, ShotId, Unknown};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tapemark_words::say;

/// A member of the cast.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Person {
    /// Id.
    pub id: PersonId,
    /// The part's name.
    pub name: String,
    /// Standing height, metres.
    pub height_m: f64,
    /// Build.
    #[serde(default)]
    pub build: Build,
    /// Comes to the set; absent: whenever wanted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Clock>,
    /// Must leave; absent: stays till the end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<Clock>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

/// How wide a person is for their height.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Build {
    /// Narrow.
    Slight,
    /// Average.
    #[default]
    Medium,
    /// Wide, or a wide costume.
    Broad,
}

/// How a person holds themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Pose {
    /// Upright.
    #[default]
    Standing,
    /// On a chair.
    Seated,
    /// On the floor or kneeling.
    Kneeling,
}

/// Where a person stands, facing where, from which second to which.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Mark {
    /// Id.
    pub id: MarkId,
    /// Who.
    pub person: PersonId,
    /// Where, metres.
    pub position_m: [f64; 2],
    /// Bearing of the face, degrees clockwise from +y.
    #[serde(default)]
    pub facing_deg: f64,
    /// Arrives, seconds from the start of the shot.
    #[serde(default)]
    pub from_s: f64,
    /// Leaves, seconds; absent: stays.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_s: Option<f64>,
    /// Standing, seated or kneeling.
    #[serde(default)]
    pub pose: Pose,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

/// One picture of the storyboard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Shot {
    /// Id.
    pub id: ShotId,
    /// Number or name on the storyboard.
    pub name: String,
    /// What happens.
    #[serde(default)]
    pub description: String,
    /// Size wanted.
    #[serde(default)]
    pub size: ShotSize,
    /// Length, seconds.
    #[serde(default = "default_length_s")]
    pub length_s: f64,
    /// Camera place; absent: not placed yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camera: Option<CameraId>,
    /// Lighting state.
    pub rig: RigId,
    /// People whose faces must be seen.
    #[serde(default)]
    pub faces: Vec<PersonId>,
    /// Where people stand.
    #[serde(default)]
    pub marks: Vec<Mark>,
    /// Lamps this shot has differently from its rig.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lamps: Vec<OwnLamp>,
    /// Shots it cuts together with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cuts_with: Vec<ShotId>,
    /// Storyboard picture: a file beside the plan, as a relative path with forward slashes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub picture: Option<String>,
    /// Time of day it is taken at; absent: the plan's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock: Option<Clock>,
    /// Takes; absent: the day's usual number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub takes: Option<u32>,
    /// The shot it is another way of taking.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub variant_of: Option<ShotId>,
    /// Notes for the crew.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

/// A lamp one shot has differently from its rig.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OwnLamp {
    /// The rig's lamp it stands for; absent: one more lamp.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<FixtureId>,
    /// The lamp as it is in this shot, under an id of its own.
    #[serde(flatten)]
    pub fixture: Fixture,
}

fn default_length_s() -> f64 {
    10.0
}

impl Shot {
    /// A shot with nobody and no camera in it yet.
    #[must_use]
    pub fn new(id: impl Into<ShotId>, name: &str, rig: impl Into<RigId>) -> Shot {
        Shot {
            id: id.into(),
            name: name.into(),
            description: String::new(),
            size: ShotSize::default(),
            length_s: default_length_s(),
            camera: None,
            rig: rig.into(),
            faces: Vec::new(),
            marks: Vec::new(),
            lamps: Vec::new(),
            cuts_with: Vec::new(),
            picture: None,
            clock: None,
            takes: None,
            variant_of: None,
            notes: String::new(),
            unknown: Unknown::new(),
        }
    }
}

/// How much of a person fills the frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ShotSize {
    /// The place, people small in it.
    Wide,
    /// Head to feet.
    Full,
    /// Head to knees.
    MediumFull,
    /// Head to waist.
    #[default]
    Medium,
    /// Head to chest.
    MediumClose,
    /// Head and shoulders.
    Close,
    /// Face or less.
    ExtremeClose,
}

impl ShotSize {
    /// All sizes, widest first.
    pub const ALL: [ShotSize; 7] = [
        ShotSize::Wide,
        ShotSize::Full,
        ShotSize::MediumFull,
        ShotSize::Medium,
        ShotSize::MediumClose,
        ShotSize::Close,
        ShotSize::ExtremeClose,
    ];
    /// The trade's name.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            ShotSize::Wide => say!("wide-shot"),
            ShotSize::Full => say!("full-shot"),
            ShotSize::MediumFull => say!("medium-full-shot"),
            ShotSize::Medium => say!("medium-shot"),
            ShotSize::MediumClose => say!("medium-close-up"),
            ShotSize::Close => say!("close-up"),
            ShotSize::ExtremeClose => say!("extreme-close-up"),
        }
    }
}
