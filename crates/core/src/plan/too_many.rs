//! How much a plan may hold.

use super::checker::Checker;
use super::{PieceShape, Plan};
use tapemark_words::say;

/// Most of each kind in a plan, and why so few: what is worked out of them is worked out while a person waits.
pub const MOST: Most =
    Most { rooms: 200, walls: 1_000, corners: 100, openings: 1_000, pieces: 2_000, lamps: 100, others: 500 };

/// Most of each kind in a plan.
#[derive(Debug, Clone, Copy)]
pub struct Most {
    /// Rooms.
    pub rooms: usize,
    /// Walls of all rooms.
    pub walls: usize,
    /// Corners of an outline.
    pub corners: usize,
    /// Doors, windows and passages.
    pub openings: usize,
    /// Pieces.
    pub pieces: usize,
    /// In one rig.
    pub lamps: usize,
    /// Shots, cameras, cast, rigs, circuits, outlets, marks of a shot.
    pub others: usize,
}

/// More than a unit of one person could mean, or wait for.
pub(super) fn too_many(c: &mut Checker<'_>, plan: &Plan) {
    let l = &plan.location;
    let kinds = [
        ("location.rooms", say!("rooms"), l.rooms.len(), MOST.rooms),
        ("location.rooms", say!("walls"), l.rooms.iter().map(|r| r.outline_m.len()).sum(), MOST.walls),
        ("location.openings", say!("openings"), l.openings.len(), MOST.openings),
        ("location.pieces", say!("pieces"), l.pieces.len(), MOST.pieces),
        ("location.circuits", say!("circuits"), l.circuits.len(), MOST.others),
        ("location.outlets", say!("outlets"), l.outlets.len(), MOST.others),
        ("cast", say!("people"), plan.cast.len(), MOST.others),
        ("cameras", say!("cameras"), plan.cameras.len(), MOST.others),
        ("rigs", say!("rigs"), plan.rigs.len(), MOST.others),
        ("shots", say!("shots-word"), plan.shots.len(), MOST.others),
    ];
    for (path, what, n, most) in kinds {
        c.at_most(path, what, n, most);
    }
    for (i, r) in l.rooms.iter().enumerate() {
        c.at_most(&format!("location.rooms[{i}].outline_m"), say!("corners"), r.outline_m.len(), MOST.corners);
    }
    for (i, p) in l.pieces.iter().enumerate() {
        if let PieceShape::Outline { points_m } = &p.shape {
            c.at_most(&format!("location.pieces[{i}].shape.points_m"), say!("corners"), points_m.len(), MOST.corners);
        }
    }
    for (i, r) in plan.rigs.iter().enumerate() {
        c.at_most(&format!("rigs[{i}].fixtures"), say!("lamps"), r.fixtures.len(), MOST.lamps);
    }
    for (i, s) in plan.shots.iter().enumerate() {
        c.at_most(&format!("shots[{i}].marks"), say!("marks"), s.marks.len(), MOST.others);
        c.at_most(&format!("shots[{i}].lamps"), say!("lamps"), s.lamps.len(), MOST.lamps);
    }
}
