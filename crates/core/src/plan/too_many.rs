//! How much a plan may hold.

use super::checker::Checker;
use super::{Fixture, PieceShape, Plan, Spectrum};
use std::fmt::Display;
use tapemark_words::say;

/// Most of each kind in a plan, and why so few: what is worked out of them is worked out while a person waits.
pub const MOST: Most = Most {
    rooms: 200,
    walls: 1_000,
    corners: 100,
    openings: 1_000,
    pieces: 2_000,
    lamps: 100,
    gels: 20,
    others: 500,
    letters: 500,
    letters_of_notes: 20_000,
};

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
    /// Before one lamp.
    pub gels: usize,
    /// Shots, cameras, cast, rigs, circuits, outlets, pins; marks of a shot or a camera.
    pub others: usize,
    /// Of a name.
    pub letters: usize,
    /// Of notes and descriptions.
    pub letters_of_notes: usize,
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
        c.at_most(&format!("shots[{i}].faces"), say!("people"), s.faces.len(), MOST.others);
        c.at_most(&format!("shots[{i}].cuts_with"), say!("shots-word"), s.cuts_with.len(), MOST.others);
    }
    for (i, k) in plan.cameras.iter().enumerate() {
        c.at_most(&format!("cameras[{i}].marks"), say!("marks"), k.marks.len(), MOST.others);
    }
    c.at_most("day.pins", say!("pins"), plan.day.pins.len(), MOST.others);
}

/// Whether a text has more letters than that.
pub(crate) fn is_longer(text: &str, most: usize) -> bool {
    // A letter is a byte or more.
    text.len() > most && text.chars().count() > most
}

/// Texts longer than anybody reads on a plan.
pub(super) fn too_long(c: &mut Checker<'_>, plan: &Plan) {
    let l = &plan.location;
    c.text("title", &plan.title, MOST.letters);
    c.text("notes", &plan.notes, MOST.letters_of_notes);
    c.text("location.name", &l.name, MOST.letters);
    let named = [
        ("location.rooms", l.rooms.iter().map(|r| &r.name).collect::<Vec<_>>()),
        ("location.openings", l.openings.iter().map(|o| &o.name).collect()),
        ("location.pieces", l.pieces.iter().map(|p| &p.name).collect()),
        ("location.circuits", l.circuits.iter().map(|k| &k.name).collect()),
        ("cast", plan.cast.iter().map(|p| &p.name).collect()),
        ("cameras", plan.cameras.iter().map(|k| &k.name).collect()),
        ("rigs", plan.rigs.iter().map(|r| &r.name).collect()),
        ("shots", plan.shots.iter().map(|s| &s.name).collect()),
    ];
    for (kind, names) in named {
        for (i, name) in names.into_iter().enumerate() {
            c.text(format_args!("{kind}[{i}].name"), name, MOST.letters);
        }
    }
    for (i, k) in plan.cameras.iter().enumerate() {
        c.text(format_args!("cameras[{i}].format.name"), &k.format.name, MOST.letters);
    }
    for (i, r) in plan.rigs.iter().enumerate() {
        for (j, f) in r.fixtures.iter().enumerate() {
            of_a_lamp(c, format_args!("rigs[{i}].fixtures[{j}]"), f);
        }
    }
    for (i, s) in plan.shots.iter().enumerate() {
        c.text(format_args!("shots[{i}].description"), &s.description, MOST.letters_of_notes);
        c.text(format_args!("shots[{i}].notes"), &s.notes, MOST.letters_of_notes);
        c.text(format_args!("shots[{i}].picture"), s.picture.as_deref().unwrap_or_default(), MOST.letters);
        for (j, o) in s.lamps.iter().enumerate() {
            of_a_lamp(c, format_args!("shots[{i}].lamps[{j}].fixture"), &o.fixture);
        }
    }
}

fn of_a_lamp(c: &mut Checker<'_>, path: impl Display + Copy, f: &Fixture) {
    c.at_most_of(format_args!("{path}.gels"), say!("gels-word"), f.gels.len(), MOST.gels);
    c.text(format_args!("{path}.name"), &f.name, MOST.letters);
    for (k, gel) in f.gels.iter().enumerate() {
        c.text(format_args!("{path}.gels[{k}].name"), gel.name(), MOST.letters);
    }
    if let Spectrum::Measured(curve) = &f.spectrum {
        c.text(format_args!("{path}.spectrum.name"), &curve.name, MOST.letters);
    }
    if let Some(d) = &f.diffusion {
        c.text(format_args!("{path}.diffusion.name"), &d.name, MOST.letters);
    }
    if let Some(table) = &f.candela {
        c.text(format_args!("{path}.candela.name"), &table.name, MOST.letters);
    }
}
