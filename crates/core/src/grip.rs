//! What is set up beside the lamps: flags, black drapes and bounce boards.

use crate::plan::{Piece, PieceId, PieceKind, PieceShape, Plan, Shot};
use crate::scene::{Scene, piece_label};
use crate::taping::{TapeLine, room_at, tape_lines};
use crate::units::{LengthUnit, format_length};
use glam::DVec2;
use serde::Serialize;
use tapemark_words::{figure, say};

/// A flag, drape or bounce board, as it is to be set up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GripFacts {
    /// Which.
    pub piece: PieceId,
    /// Name.
    pub name: String,
    /// What it is.
    pub kind: PieceKind,
    /// Its middle, metres.
    pub position_m: [f64; 2],
    /// Across, metres.
    pub width_m: f64,
    /// From its lower to its upper edge along its face, metres.
    pub length_m: f64,
    /// Floor to its lower and upper edge, metres.
    pub heights_m: [f64; 2],
    /// Bearing of its front, degrees clockwise from +y.
    pub facing_deg: f64,
    /// How far its front looks up, degrees; none for what is no sheet.
    pub tilt_deg: Option<f64>,
    /// Where to tape it.
    pub tape: Vec<TapeLine>,
}

impl GripFacts {
    fn of(plan: &Plan, p: &Piece) -> GripFacts {
        let height = p.top_m - p.base_m;
        let (width_m, lean_m) = match &p.shape {
            PieceShape::Sheet { width_m, lean_m } => (*width_m, *lean_m),
            PieceShape::Box { width_m, .. } => (*width_m, 0.0),
            PieceShape::Round { diameter_m } => (*diameter_m, 0.0),
            PieceShape::Outline { points_m } => {
                let most = |way: f64| points_m.iter().map(|c| c[0] * way).fold(0.0, f64::max);
                (most(1.0) + most(-1.0), 0.0)
            }
        };
        GripFacts {
            piece: p.id.clone(),
            name: piece_label(p),
            kind: p.kind,
            position_m: p.position_m,
            width_m,
            length_m: height.hypot(lean_m),
            heights_m: [p.base_m, p.top_m],
            facing_deg: crate::geometry::normalize_deg(p.rotation_deg),
            tilt_deg: p.tilt_deg(),
            tape: tape_lines(plan, DVec2::from_array(p.position_m)),
        }
    }
}

impl GripFacts {
    /// How large it is, in words.
    #[must_use]
    pub fn size_in_words(&self, unit: LengthUnit) -> String {
        format!("{} × {}", format_length(self.width_m, unit), format_length(self.length_m, unit))
    }

    /// How high, how turned and how tilted it is set up, in words.
    #[must_use]
    pub fn set_up_in_words(&self, unit: LengthUnit) -> String {
        say!(
            "edges-facing-tilt",
            lower_m = format_length(self.heights_m[0], unit),
            upper_m = format_length(self.heights_m[1], unit),
            facing_deg = figure(self.facing_deg, 0),
            tilt = self.tilt_deg.map_or(String::new(), |t| say!("comma-tilt", tilt_deg = figure(t, 0)))
        )
    }
}

/// The grip of a shot: what stands in the rooms of its camera, its lamps and its people, and what stands in none.
#[must_use]
pub fn grip(plan: &Plan, shot: &Shot, scene: &Scene) -> Vec<GripFacts> {
    let rig = plan.shot_rig(shot);
    let lamps = rig.iter().flat_map(|r| r.fixtures.iter()).map(|f| DVec2::from_array(f.position_m));
    let camera = scene.view.iter().map(|v| v.eye.truncate());
    grip_near(plan, lamps.chain(camera).chain(scene.people.iter().map(|p| p.position)))
}

/// The grip of all rooms, and what stands in none.
#[must_use]
pub fn all_grip(plan: &Plan) -> Vec<GripFacts> {
    plan.location.pieces.iter().filter(|p| is_grip(p)).map(|p| GripFacts::of(plan, p)).collect()
}

fn is_grip(p: &Piece) -> bool {
    matches!(p.kind, PieceKind::Flag | PieceKind::Drape | PieceKind::Board)
}

/// The grip in the rooms of some places, and what stands in no room.
#[must_use]
pub fn grip_near(plan: &Plan, places: impl Iterator<Item = DVec2>) -> Vec<GripFacts> {
    let pieces: Vec<&Piece> = plan.location.pieces.iter().filter(|p| is_grip(p)).collect();
    if pieces.is_empty() {
        return Vec::new();
    }
    let room = |p: DVec2| room_at(plan, p).map(|r| &r.id);
    let used: Vec<_> = places.filter_map(room).collect();
    let near = |p: &&Piece| room(DVec2::from_array(p.position_m)).is_none_or(|r| used.contains(&r));
    pieces.into_iter().filter(near).map(|p| GripFacts::of(plan, p)).collect()
}
