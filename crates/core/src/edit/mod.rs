//! Every change to a plan is one of these, so that undo, menus, shortcuts and tests share them.

mod apply;
mod history;
mod item;
mod shared_wall;
mod touched;

pub use apply::apply;
pub use history::{History, MOST_STEPS};
pub use item::{Item, ItemRef};
pub use shared_wall::{WithBehind, with_walls_behind};
pub use touched::touched;

use crate::plan::{CameraId, Exposure, FixtureId, Limits, PersonId, RigId, RoomId, ShotId};
use crate::units::LengthUnit;
use glam::DVec2;
use tapemark_words::say;

/// A change to a plan.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// Adds an item, or puts it in place of the one with its id.
    Put(Item),
    /// Takes items away, with what depends on them.
    Remove(Vec<ItemRef>),
    /// Moves items by metres.
    Move {
        /// Which.
        items: Vec<ItemRef>,
        /// How far.
        by: DVec2,
    },
    /// Turns items to the right about their own middle, degrees.
    Turn {
        /// Which.
        items: Vec<ItemRef>,
        /// How far.
        by_deg: f64,
    },
    /// Adds copies under fresh ids, moved by metres; fixtures go to the rig and marks to the shot named.
    Paste {
        /// What.
        items: Vec<Item>,
        /// How far from the originals.
        by: DVec2,
        /// Rig that receives fixtures.
        rig: RigId,
        /// Shot that receives marks.
        shot: ShotId,
    },
    /// Moves a corner of a room.
    MoveCorner {
        /// Which room.
        room: RoomId,
        /// Which corner.
        corner: usize,
        /// Where to.
        to: DVec2,
    },
    /// Adds a corner on an edge of a room.
    AddCorner {
        /// Which room.
        room: RoomId,
        /// Edge it lies on.
        edge: usize,
        /// Where.
        at: DVec2,
    },
    /// Takes a corner away.
    RemoveCorner {
        /// Which room.
        room: RoomId,
        /// Which corner.
        corner: usize,
    },
    /// Sets the length of a room's edge, moving the corners after it along the edge.
    SetEdgeLength {
        /// Which room.
        room: RoomId,
        /// Which edge.
        edge: usize,
        /// New length, metres.
        length_m: f64,
    },
    /// Moves a wall of a room; its corners slide along the walls beside it.
    MoveWall {
        /// Which room.
        room: RoomId,
        /// Which edge.
        edge: usize,
        /// How far, metres; only what is square to the wall counts.
        by: DVec2,
    },
    /// Moves a wall of a room by another way at each end, for the face behind a wall that was turned.
    SlideWall {
        /// Which room.
        room: RoomId,
        /// Which edge.
        edge: usize,
        /// How far its first and its second corner go, metres.
        by: [DVec2; 2],
    },
    /// Adds a camera and gives it to a shot.
    PlaceCamera {
        /// The camera.
        camera: crate::plan::Camera,
        /// The shot.
        shot: ShotId,
    },
    /// Gives a shot another camera place.
    UseCamera {
        /// The shot.
        shot: ShotId,
        /// The camera.
        camera: Option<CameraId>,
    },
    /// Whether a shot needs a person's face.
    RequireFace {
        /// The shot.
        shot: ShotId,
        /// Who.
        person: PersonId,
        /// Whether it does.
        required: Required,
    },
    /// Puts shots in another order: every id of the storyboard, once.
    OrderShots(Vec<ShotId>),
    /// Gives a shot a copy of a rig's lamp to be changed alone, under a fresh id.
    OwnLamp {
        /// The shot.
        shot: ShotId,
        /// The rig's lamp.
        fixture: FixtureId,
    },
    /// Several edits as one.
    Together {
        /// What undo calls them.
        label: String,
        /// In order.
        edits: Vec<Edit>,
    },
    /// Changes the plan's own texts and settings.
    Settings(Box<Settings>),
}

/// Whether a shot needs a face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Required {
    /// It must be seen.
    Yes,
    /// It may be hidden.
    No,
}

/// A plan's own texts and settings.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Title.
    pub title: String,
    /// Location's name.
    pub location_name: String,
    /// Notes.
    pub notes: String,
    /// Unit shown.
    pub length_unit: LengthUnit,
    /// Metering.
    pub exposure: Exposure,
    /// Thresholds.
    pub limits: Limits,
    /// North on the plan, degrees.
    pub north_deg: f64,
    /// Mains voltage, volts.
    pub mains_v: f64,
    /// Degrees north.
    pub latitude_deg: Option<f64>,
    /// Degrees east.
    pub longitude_deg: Option<f64>,
    /// Day, hour and sky.
    pub daylight: Option<crate::plan::Daylight>,
    /// The shooting day.
    pub day: crate::plan::Day,
    /// The picture under the plan.
    pub underlay: Option<crate::plan::Underlay>,
}

impl Settings {
    /// A plan's settings as they are.
    #[must_use]
    pub fn of(plan: &crate::plan::Plan) -> Settings {
        Settings {
            title: plan.title.clone(),
            location_name: plan.location.name.clone(),
            notes: plan.notes.clone(),
            length_unit: plan.length_unit,
            exposure: plan.exposure.clone(),
            limits: plan.limits.clone(),
            north_deg: plan.location.north_deg,
            mains_v: plan.location.mains_v,
            latitude_deg: plan.location.latitude_deg,
            longitude_deg: plan.location.longitude_deg,
            daylight: plan.daylight.clone(),
            day: plan.day.clone(),
            underlay: plan.location.underlay.clone(),
        }
    }
}

/// Why an edit was refused; the plan is as it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused(pub String);

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}
impl std::error::Error for Refused {}

impl Edit {
    /// What undo calls it.
    #[must_use]
    pub fn label(&self) -> String {
        let n = |items: usize, one: &str| if items == 1 { one.to_string() } else { say!("so-many-items", items) };
        match self {
            Edit::Put(item) => say!("change-item", item = item.reference().kind()),
            Edit::Remove(items) => {
                say!("delete-kind", kind = n(items.len(), items.first().map_or(say!("thing"), ItemRef::kind)))
            }
            Edit::Move { items, .. } => {
                say!("move-kind", kind = n(items.len(), items.first().map_or(say!("thing"), ItemRef::kind)))
            }
            Edit::Turn { items, .. } => {
                say!("turn-kind", kind = n(items.len(), items.first().map_or(say!("thing"), ItemRef::kind)))
            }
            Edit::Paste { items, .. } => say!("paste-items", items = n(items.len(), say!("thing"))),
            Edit::MoveCorner { .. } => say!("move-corner").into(),
            Edit::AddCorner { .. } => say!("add-corner").into(),
            Edit::RemoveCorner { .. } => say!("delete-corner").into(),
            Edit::SetEdgeLength { .. } => say!("set-wall-length").into(),
            Edit::MoveWall { .. } | Edit::SlideWall { .. } => say!("move-wall").into(),
            Edit::PlaceCamera { .. } => say!("place-camera").into(),
            Edit::UseCamera { .. } => say!("choose-camera").into(),
            Edit::RequireFace { .. } => say!("required-face").into(),
            Edit::OrderShots(_) => say!("order-of-shots").into(),
            Edit::OwnLamp { .. } => say!("lamp-of-this-shot-alone").into(),
            Edit::Together { label, .. } => label.clone(),
            Edit::Settings(_) => say!("plan-settings").into(),
        }
    }
}
