//! The plan file: its types, validation and migration.

mod camera;
mod candela;
mod checker;
mod day;
mod daylight;
mod fixture;
mod ids;
mod location;
mod read;
mod shared;
mod shot;
mod spectrum;
mod stock;
mod times;
mod too_many;
mod unknown;
mod validate;

pub use camera::{Camera, CameraMark, Exposure, Format, Lens, MIDDLE_GREY, Receptor};
pub use candela::{CandelaTable, MAX_CANDELA_BYTES, Photometry};
pub use checker::Problem;
pub use day::{Day, MatchLimits, Pin};
pub use daylight::{Clock, Date, Daylight};
pub use fixture::{BarnDoors, Diffusion, Fixture, Gel, Head, HeadClass, LampType, Mount, Rig};
pub use ids::{CameraId, CircuitId, FixtureId, MarkId, OpeningId, OutletId, PersonId, PieceId, RigId, RoomId, ShotId};
pub use location::{
    Circuit, Feed, Finish, Finishes, Hinge, Location, Opening, OpeningKind, Outlet, Piece, PieceKind, PieceShape, Room,
    Swing, Underlay,
};
pub use read::{MAX_PLAN_BYTES, PlanError, from_json, from_json_with_unknown_keys, from_newer_json, schema, to_json};
pub use shared::Shared;
pub use shot::{Build, Mark, OwnLamp, Person, Pose, Shot, ShotSize};
pub use spectrum::{Curve, Spectrum};
pub use stock::stock_name;
pub(crate) use times::{crossed_in, crossed_of, newly_crossed};
pub(crate) use too_many::is_longer;
pub use too_many::{MOST, Most};
pub(crate) use validate::first_problem_after;
pub use validate::validate;

use crate::units::LengthUnit;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use tapemark_words::say;

/// Keys this version does not know: kept and written back, never dropped.
pub type Unknown = serde_json::Map<String, serde_json::Value>;

/// The value of a plan file's `format` key.
pub const FORMAT: &str = "tapemark-plan";
/// The plan-file version this crate writes.
pub const VERSION: u32 = 1;

/// One location and every shot planned in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Plan {
    /// Always `tapemark-plan`.
    pub format: String,
    /// Version of the file's shape; this crate writes 1.
    pub version: u32,
    /// Title of the film or scene.
    #[serde(default)]
    pub title: String,
    /// Free notes for the whole plan.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// How lengths are shown; the file itself holds metres.
    #[serde(default)]
    pub length_unit: LengthUnit,
    /// Metering and exposure shared by all shots.
    #[serde(default)]
    pub exposure: Exposure,
    /// What must hold before a notice is raised.
    #[serde(default)]
    pub limits: Limits,
    /// Rooms, openings, pieces and power.
    #[serde(default)]
    pub location: Shared<Location>,
    /// Day, hour and sky at the windows; absent: it is dark outside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub daylight: Option<Daylight>,
    /// The people in front of the camera.
    #[serde(default)]
    pub cast: Vec<Person>,
    /// Camera places, each with its lens and move.
    #[serde(default)]
    pub cameras: Vec<Camera>,
    /// The shooting day.
    #[serde(default, skip_serializing_if = "Day::is_usual")]
    pub day: Day,
    /// Lighting states.
    #[serde(default)]
    pub rigs: Shared<Vec<Rig>>,
    /// The storyboard.
    #[serde(default)]
    pub shots: Shared<Vec<Shot>>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

/// Thresholds a person may set; the defaults are common practice, no source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Limits {
    /// Free depth wanted behind the camera for an operator, metres.
    pub room_behind_m: f64,
    /// Width of the operator's space, metres.
    pub operator_width_m: f64,
    /// A required face showing less than this share is a notice (0–1).
    pub face_share: f64,
    /// A face this many stops under or over the exposure is a notice.
    pub exposure_stops: f64,
    /// Continuous load allowed as a share of the breaker (0–1).
    pub continuous_load_share: f64,
    /// Least distance of a hot head from people, cloth, paper and furniture ahead of it, metres. The marking on the
    /// head and local rules decide.
    pub hot_clearance_m: f64,
    /// The same beside and behind it, metres.
    #[serde(default = "default_hot_side_m", skip_serializing_if = "is_default_hot_side")]
    pub hot_side_clearance_m: f64,
    /// Width the crew wants on its way out, metres.
    #[serde(default = "default_walkway_m", skip_serializing_if = "is_default_walkway")]
    pub walkway_m: f64,
    /// Width of the roll cloth is cut from, metres.
    #[serde(default = "default_cloth_roll_m", skip_serializing_if = "is_default_cloth_roll")]
    pub cloth_roll_m: f64,
    /// How much the light of shots that cut together may differ.
    #[serde(default, skip_serializing_if = "MatchLimits::is_usual")]
    pub matching: MatchLimits,
    /// Voltage a cable may lose, as a share of the mains (0–1).
    #[serde(default = "default_drop_share", skip_serializing_if = "is_default_drop")]
    pub drop_share: f64,
    /// What holds by less than this slip of a person, the camera or a lamp is a notice, metres.
    #[serde(default = "default_slip_m", skip_serializing_if = "is_default_slip")]
    pub slip_m: f64,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

fn default_hot_side_m() -> f64 {
    0.5
}
#[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
fn is_default_hot_side(v: &f64) -> bool {
    *v == default_hot_side_m()
}
fn default_slip_m() -> f64 {
    0.15
}
#[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
fn is_default_slip(v: &f64) -> bool {
    *v == default_slip_m()
}
fn default_drop_share() -> f64 {
    0.03
}
#[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
fn is_default_drop(v: &f64) -> bool {
    *v == default_drop_share()
}
fn default_cloth_roll_m() -> f64 {
    1.5
}
#[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
fn is_default_cloth_roll(v: &f64) -> bool {
    *v == default_cloth_roll_m()
}

fn default_walkway_m() -> f64 {
    0.7
}
#[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
fn is_default_walkway(v: &f64) -> bool {
    *v == default_walkway_m()
}

impl Default for Limits {
    fn default() -> Self {
        Limits {
            room_behind_m: 0.7,
            operator_width_m: 0.6,
            face_share: 0.85,
            exposure_stops: 0.7,
            continuous_load_share: 0.8,
            hot_clearance_m: 1.0,
            hot_side_clearance_m: default_hot_side_m(),
            walkway_m: default_walkway_m(),
            cloth_roll_m: default_cloth_roll_m(),
            matching: MatchLimits::default(),
            drop_share: default_drop_share(),
            slip_m: default_slip_m(),
            unknown: Unknown::new(),
        }
    }
}

/// A way the lamps stand: a rig, or a rig with what some shots have differently.
#[derive(Debug, Clone)]
pub struct LightingState<'a> {
    /// The first shot lit so.
    pub first: &'a Shot,
    /// All shots lit so, in the order of the storyboard.
    pub shots: Vec<&'a Shot>,
}

/// Every way the lamps stand for the shots of a plan, in the order of the storyboard.
#[must_use]
pub fn lighting_states(plan: &Plan) -> Vec<LightingState<'_>> {
    let mut out: Vec<LightingState<'_>> = Vec::new();
    for shot in &plan.shots {
        match out.iter_mut().find(|l| l.first.rig == shot.rig && l.first.lamps == shot.lamps) {
            Some(l) => l.shots.push(shot),
            None => out.push(LightingState { first: shot, shots: vec![shot] }),
        }
    }
    out
}

impl Plan {
    /// A plan with no room yet, one rig and one shot, ready to be drawn on.
    #[must_use]
    pub fn empty() -> Plan {
        Plan {
            format: FORMAT.into(),
            version: VERSION,
            title: say!("untitled").into(),
            notes: String::new(),
            length_unit: LengthUnit::Metres,
            exposure: Exposure::default(),
            limits: Limits::default(),
            location: Location::default().into(),
            daylight: None,
            cast: Vec::new(),
            cameras: Vec::new(),
            day: Day::default(),
            rigs: vec![Rig::new("rig-1", say!("rig-1"))].into(),
            shots: vec![Shot::new("shot-1", "1", "rig-1")].into(),
            unknown: Unknown::new(),
        }
    }

    /// The shot of that id.
    #[must_use]
    pub fn shot(&self, id: &ShotId) -> Option<&Shot> {
        self.shots.iter().find(|s| &s.id == id)
    }
    /// The rig of that id.
    #[must_use]
    pub fn rig(&self, id: &RigId) -> Option<&Rig> {
        self.rigs.iter().find(|r| &r.id == id)
    }
    /// The lamps that light a shot: its rig's, with what the shot has differently.
    #[must_use]
    pub fn shot_rig(&self, shot: &Shot) -> Option<Cow<'_, Rig>> {
        let rig = self.rig(&shot.rig)?;
        if shot.lamps.is_empty() {
            return Some(Cow::Borrowed(rig));
        }
        let mut own = rig.clone();
        for lamp in &shot.lamps {
            let place = lamp.replaces.as_ref().and_then(|id| own.fixtures.iter_mut().find(|f| &f.id == id));
            match place {
                Some(f) => *f = lamp.fixture.clone(),
                None => own.fixtures.push(lamp.fixture.clone()),
            }
        }
        Some(Cow::Owned(own))
    }
    /// The lamps of [`Plan::shot_rig`], by reference.
    #[must_use]
    pub fn shot_fixtures<'a>(&'a self, shot: &'a Shot) -> Vec<&'a Fixture> {
        let own = |id: &FixtureId| shot.lamps.iter().find(|l| l.replaces.as_ref() == Some(id)).map(|l| &l.fixture);
        let of_rig = self.rig(&shot.rig).map(|r| r.fixtures.as_slice()).unwrap_or_default();
        let more = shot.lamps.iter().filter(|l| l.replaces.is_none()).map(|l| &l.fixture);
        of_rig.iter().map(|f| own(&f.id).unwrap_or(f)).chain(more).collect()
    }
    /// The shots lit by a fixture, in the order of the storyboard.
    pub fn shots_lit_by<'a>(&'a self, id: &'a FixtureId) -> impl Iterator<Item = &'a Shot> + 'a {
        self.shots.iter().filter(move |s| self.shot_rig(s).is_some_and(|r| r.fixtures.iter().any(|f| &f.id == id)))
    }
    /// The camera of that id.
    #[must_use]
    pub fn camera(&self, id: &CameraId) -> Option<&Camera> {
        self.cameras.iter().find(|c| &c.id == id)
    }
    /// The person of that id.
    #[must_use]
    pub fn person(&self, id: &PersonId) -> Option<&Person> {
        self.cast.iter().find(|p| &p.id == id)
    }
    /// Floor area of all rooms, m².
    #[must_use]
    pub fn floor_m2(&self) -> f64 {
        let area = |r: &Room| {
            let points: Vec<glam::DVec2> = r.outline_m.iter().map(|p| glam::DVec2::from_array(*p)).collect();
            crate::geometry::signed_area(&points).abs()
        };
        self.location.rooms.iter().map(area).sum()
    }
    /// The room of that id.
    #[must_use]
    pub fn room(&self, id: &RoomId) -> Option<&Room> {
        self.location.rooms.iter().find(|r| &r.id == id)
    }
    /// The camera a shot is taken with, if it has been placed.
    #[must_use]
    pub fn shot_camera(&self, shot: &Shot) -> Option<&Camera> {
        shot.camera.as_ref().and_then(|id| self.camera(id))
    }

    /// An id that no item of the plan has: `stem-1`, `stem-2`, …
    #[must_use]
    pub fn fresh_id(&self, stem: &str) -> String {
        let taken: std::collections::HashSet<&str> = self.all_ids().collect();
        (1..).map(|n| format!("{stem}-{n}")).find(|id| !taken.contains(id.as_str())).unwrap_or_default()
    }

    /// Every id of the plan, in file order.
    pub fn all_ids(&self) -> impl Iterator<Item = &str> {
        self.location
            .ids()
            .chain(self.cast.iter().map(|x| x.id.as_str()))
            .chain(self.cameras.iter().map(|x| x.id.as_str()))
            .chain(
                self.rigs
                    .iter()
                    .flat_map(|r| std::iter::once(r.id.as_str()).chain(r.fixtures.iter().map(|f| f.id.as_str()))),
            )
            .chain(self.shots.iter().flat_map(|s| {
                std::iter::once(s.id.as_str())
                    .chain(s.marks.iter().map(|m| m.id.as_str()))
                    .chain(s.lamps.iter().map(|l| l.fixture.id.as_str()))
            }))
    }
}
