//! Rooms, openings, pieces and power.

use super::{CircuitId, OpeningId, OutletId, PieceId, RoomId, Unknown};
use crate::geometry::rotate_bearing;
use glam::{DVec2, DVec3};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tapemark_words::say;

/// The place: rooms and what stands in them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Location {
    /// Name on the sheet.
    #[serde(default)]
    pub name: String,
    /// Bearing of true north on the plan, degrees clockwise from +y.
    #[serde(default)]
    pub north_deg: f64,
    /// Degrees north; for daylight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub latitude_deg: Option<f64>,
    /// Degrees east; for daylight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub longitude_deg: Option<f64>,
    /// Thickness of walls, metres: how far apart two rooms' faces of one wall may lie, and how thick outside walls
    /// are drawn.
    #[serde(default = "default_wall_m")]
    pub wall_thickness_m: f64,
    /// Mains voltage, volts.
    #[serde(default = "default_mains_v")]
    pub mains_v: f64,
    /// Rooms.
    #[serde(default)]
    pub rooms: Vec<Room>,
    /// Doors, windows and passages.
    #[serde(default)]
    pub openings: Vec<Opening>,
    /// Furniture and set dressing.
    #[serde(default)]
    pub pieces: Vec<Piece>,
    /// Power circuits.
    #[serde(default)]
    pub circuits: Vec<Circuit>,
    /// Wall outlets.
    #[serde(default)]
    pub outlets: Vec<Outlet>,
    /// A picture under the plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub underlay: Option<Underlay>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

fn default_wall_m() -> f64 {
    0.12
}
fn default_mains_v() -> f64 {
    230.0
}

impl Location {
    /// Ids of everything in it.
    pub(crate) fn ids(&self) -> impl Iterator<Item = &str> {
        (self.rooms.iter().map(|x| x.id.as_str()))
            .chain(self.openings.iter().map(|x| x.id.as_str()))
            .chain(self.pieces.iter().map(|x| x.id.as_str()))
            .chain(self.circuits.iter().map(|x| x.id.as_str()))
            .chain(self.outlets.iter().map(|x| x.id.as_str()))
    }

    /// What an outlet is called on the plan and in lists: S and its place among them; nothing for one that is not there.
    #[must_use]
    pub fn outlet_name(&self, id: &OutletId) -> String {
        self.outlets.iter().position(|o| &o.id == id).map_or(String::new(), |n| format!("S{}", n + 1))
    }
}

impl Default for Location {
    fn default() -> Self {
        Location {
            name: String::new(),
            north_deg: 0.0,
            latitude_deg: None,
            longitude_deg: None,
            wall_thickness_m: default_wall_m(),
            mains_v: default_mains_v(),
            rooms: Vec::new(),
            openings: Vec::new(),
            pieces: Vec::new(),
            circuits: Vec::new(),
            outlets: Vec::new(),
            underlay: None,
            unknown: Unknown::new(),
        }
    }
}

/// A room: a closed outline and a ceiling.
///
/// Edge `i` runs from corner `i` to corner `i + 1`; the last closes the outline, which is the taped inner face of
/// its walls. Edges that face each other across at most the walls' thickness and 3 cm are the two faces of one
/// wall, and an opening in either cuts both. Outlines that touch are a wall without thickness to the light.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Room {
    /// Id.
    pub id: RoomId,
    /// Name on the plan.
    #[serde(default)]
    pub name: String,
    /// Corners in metres, in order; at least three, not crossing.
    pub outline_m: Vec<[f64; 2]>,
    /// Floor to ceiling, metres.
    #[serde(default = "default_ceiling_m")]
    pub ceiling_m: f64,
    /// Surface finishes.
    #[serde(default)]
    pub finishes: Finishes,
    /// Whether water is about: a bathroom, a yard.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub wet: bool,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

fn default_ceiling_m() -> f64 {
    2.5
}

impl Room {
    /// A room with an outline and common finishes.
    #[must_use]
    pub fn new(id: impl Into<RoomId>, name: &str, outline_m: Vec<[f64; 2]>) -> Room {
        Room {
            id: id.into(),
            name: name.into(),
            outline_m,
            ceiling_m: default_ceiling_m(),
            finishes: Finishes::default(),
            wet: false,
            unknown: Unknown::new(),
        }
    }
}

/// The finishes of a room's surfaces.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finishes {
    /// Walls.
    pub walls: Finish,
    /// Floor.
    pub floor: Finish,
    /// Ceiling.
    pub ceiling: Finish,
}

impl Default for Finishes {
    fn default() -> Self {
        let grey = |r: f64| Finish { reflectance_rgb: [r; 3] };
        // Reflectances commonly assumed for interiors: 0.7 ceiling, 0.5 walls, 0.2 floor (EN 12464-1
        // gives ranges around them; from memory).
        Finishes { walls: grey(0.5), floor: grey(0.2), ceiling: grey(0.7) }
    }
}

/// A diffuse finish.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finish {
    /// Share of light reflected in the red, green and blue thirds of the spectrum (0 to below 1).
    pub reflectance_rgb: [f64; 3],
}

/// A hole in a wall.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Opening {
    /// Id.
    pub id: OpeningId,
    /// Name on the plan.
    #[serde(default)]
    pub name: String,
    /// The room whose outline carries it.
    pub room: RoomId,
    /// Which edge of that room's outline, from 0.
    pub edge: usize,
    /// From the edge's first corner to the opening's near side, metres.
    pub offset_m: f64,
    /// Clear width, metres.
    pub width_m: f64,
    /// Floor to the bottom of the opening, metres (0 for doors).
    #[serde(default)]
    pub sill_m: f64,
    /// Floor to the top of the opening, metres.
    pub head_m: f64,
    /// Door, window or passage.
    pub kind: OpeningKind,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

/// What fills an opening.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "type")]
pub enum OpeningKind {
    /// A hinged leaf.
    Door {
        /// Which end of the opening carries the hinge, along the edge.
        hinge: Hinge,
        /// Whether the leaf swings into its room.
        swing: Swing,
        /// How far it stands open, degrees (0 shut, 180 back against the wall).
        open_deg: f64,
    },
    /// Glass.
    Window {
        /// Share of light let through (0–1).
        transmittance: f64,
    },
    /// Nothing.
    Passage,
}

/// An end of an opening along its edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Hinge {
    /// The end nearer the edge's first corner.
    Near,
    /// The other end.
    Far,
}

/// The side a door swings to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Swing {
    /// Into the room that carries it.
    In,
    /// Out of that room.
    Out,
}

/// Furniture or set dressing: a prism.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Piece {
    /// Id.
    pub id: PieceId,
    /// Name on the plan.
    #[serde(default)]
    pub name: String,
    /// What it is.
    #[serde(default)]
    pub kind: PieceKind,
    /// Centre, metres.
    pub position_m: [f64; 2],
    /// Bearing of its front, degrees clockwise from +y.
    #[serde(default)]
    pub rotation_deg: f64,
    /// Its footprint.
    pub shape: PieceShape,
    /// Floor to its underside, metres.
    #[serde(default)]
    pub base_m: f64,
    /// Floor to its top, metres.
    pub top_m: f64,
    /// Diffuse finish.
    #[serde(default = "default_piece_finish")]
    pub finish: Finish,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

fn default_piece_finish() -> Finish {
    Finish { reflectance_rgb: [0.35, 0.3, 0.25] }
}

impl Piece {
    /// A white board 1 m square on a stand, upright.
    #[must_use]
    pub fn board(id: impl Into<PieceId>, position_m: [f64; 2], rotation_deg: f64) -> Piece {
        Piece {
            name: say!("bounce-board").into(),
            kind: PieceKind::Board,
            rotation_deg,
            shape: PieceShape::Sheet { width_m: 1.0, lean_m: 0.0 },
            base_m: 0.8,
            // White foam board (common practice, no source).
            finish: Finish { reflectance_rgb: [0.85; 3] },
            ..Piece::new(id, "", position_m, [1.0, 0.02], 1.8)
        }
    }

    /// A sheet's middle, and the vectors from it to the middle of a side edge and of its upper edge; none for
    /// another shape.
    #[must_use]
    pub fn sheet(&self) -> Option<[DVec3; 3]> {
        let PieceShape::Sheet { width_m, lean_m } = self.shape else { return None };
        let middle = DVec2::from_array(self.position_m).extend((self.base_m + self.top_m) * 0.5);
        let back = rotate_bearing(DVec2::NEG_Y, self.rotation_deg);
        let across = rotate_bearing(DVec2::X, self.rotation_deg) * (width_m * 0.5);
        Some([middle, across.extend(0.0), (back * (lean_m * 0.5)).extend((self.top_m - self.base_m) * 0.5)])
    }

    /// How far a sheet's front is tilted up from the upright, degrees.
    #[must_use]
    pub fn tilt_deg(&self) -> Option<f64> {
        let PieceShape::Sheet { lean_m, .. } = self.shape else { return None };
        Some(lean_m.atan2(self.top_m - self.base_m).to_degrees())
    }

    /// Tilts a sheet about its middle, its slope staying as long as it is: degrees its front looks up.
    pub fn set_tilt_deg(&mut self, tilt_deg: f64) {
        if let PieceShape::Sheet { lean_m, .. } = &mut self.shape {
            let slope = lean_m.hypot(self.top_m - self.base_m);
            let (sin, cos) = tilt_deg.clamp(-85.0, 85.0).to_radians().sin_cos();
            *lean_m = slope * sin;
            let middle = (self.base_m + self.top_m) * 0.5;
            let half = (slope * cos * 0.5).max(0.005);
            self.base_m = (middle - half).max(0.0);
            self.top_m = self.base_m + 2.0 * half;
        }
    }

    /// A box-shaped piece standing on the floor.
    #[must_use]
    pub fn new(id: impl Into<PieceId>, name: &str, position_m: [f64; 2], size_m: [f64; 2], top_m: f64) -> Piece {
        Piece {
            id: id.into(),
            name: name.into(),
            kind: PieceKind::Furniture,
            position_m,
            rotation_deg: 0.0,
            shape: PieceShape::Box { width_m: size_m[0], depth_m: size_m[1] },
            base_m: 0.0,
            top_m,
            finish: default_piece_finish(),
            unknown: Unknown::new(),
        }
    }
}

/// What a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PieceKind {
    /// Furniture.
    #[default]
    Furniture,
    /// Set dressing.
    Dressing,
    /// Hanging cloth.
    Drape,
    /// A flag, cutter or frame.
    Flag,
    /// A mirror: its sides reflect.
    Mirror,
    /// A bounce board: a pale sheet that returns lamps' light.
    Board,
}

/// A piece's footprint about its centre, before rotation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "type")]
pub enum PieceShape {
    /// A rectangle.
    Box {
        /// Across, metres.
        width_m: f64,
        /// Front to back, metres.
        depth_m: f64,
    },
    /// A circle.
    Round {
        /// Across, metres.
        diameter_m: f64,
    },
    /// Any simple polygon.
    Outline {
        /// Corners about the centre, metres.
        points_m: Vec<[f64; 2]>,
    },
    /// A flat sheet on a stand, from its lower edge at `base_m` to its upper edge at `top_m`.
    Sheet {
        /// Across, metres.
        width_m: f64,
        /// How far the upper edge lies behind the lower one, metres: above zero the front looks up, below it
        /// looks down.
        #[serde(default)]
        lean_m: f64,
    },
}

impl PieceKind {
    /// All kinds.
    pub const ALL: [PieceKind; 6] = [
        PieceKind::Furniture,
        PieceKind::Dressing,
        PieceKind::Drape,
        PieceKind::Flag,
        PieceKind::Mirror,
        PieceKind::Board,
    ];

    /// What it is called.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            PieceKind::Furniture => say!("furniture"),
            PieceKind::Dressing => say!("set-dressing"),
            PieceKind::Drape => say!("drape"),
            PieceKind::Flag => say!("flag"),
            PieceKind::Mirror => say!("mirror"),
            PieceKind::Board => say!("bounce-board"),
        }
    }
}

/// A breaker and what hangs on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Circuit {
    /// Id.
    pub id: CircuitId,
    /// Name as on the board.
    #[serde(default)]
    pub name: String,
    /// Breaker rating, amperes.
    pub breaker_a: f64,
    /// The fixed wiring from the board to its outlets, when known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub feed: Option<Feed>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

/// Fixed wiring from the board to a circuit's outlets.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Feed {
    /// One way, metres.
    pub length_m: f64,
    /// Copper, square millimetres.
    pub conductor_mm2: f64,
}

/// A wall outlet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Outlet {
    /// Id.
    pub id: OutletId,
    /// Where, metres.
    pub position_m: [f64; 2],
    /// The circuit it is wired to.
    pub circuit: CircuitId,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

impl Underlay {
    /// The picture scaled about a point of the plan that stays where it is.
    #[must_use]
    pub fn scaled(mut self, about: DVec2, by: f64) -> Underlay {
        let origin = about + (DVec2::from_array(self.origin_m) - about) * by;
        self.origin_m = origin.to_array();
        self.metres_per_pixel *= by;
        self
    }
}

/// A picture under the plan, scaled by one known length.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Underlay {
    /// File beside the plan.
    pub file: String,
    /// Plan position of the picture's lower left corner, metres.
    pub origin_m: [f64; 2],
    /// Metres a pixel.
    pub metres_per_pixel: f64,
    /// Opacity 0–1.
    pub opacity: f64,
}
