//! Room outlines from a drawing: closed polylines, and lines that join to a ring.

mod from_dxf;
mod from_svg;
mod rings;
mod svg_limits;

use crate::ExchangeError;
use glam::DVec2;
use tapemark_core::edit::{Edit, Item};
use tapemark_core::plan::{Plan, Room};
use tapemark_words::say;

/// A drawing's kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawing {
    /// Drawing exchange format, text.
    Dxf,
    /// Scalable vector graphics.
    Svg,
}

/// Outlines found in a drawing, metres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outlines {
    /// Closed outlines that can be rooms, counter-clockwise, largest first.
    pub rooms: Vec<Vec<DVec2>>,
    /// What was left out and why, a line each.
    pub left_out: Vec<String>,
}

/// Largest drawing that is read, bytes.
pub const MAX_DRAWING_BYTES: usize = 64 << 20;
/// Most points of all lines together.
const MAX_POINTS: usize = 200_000;
/// Curves are cut so that no chord leaves them by more than this, metres.
const CHORD_M: f64 = 0.01;

/// Reads a drawing's outlines. A unit of the drawing is `metres_per_unit` long; where that is not said, a DXF file's
/// own unit is taken.
///
/// # Errors
/// When the file cannot be read, is too large, or says no unit and none is given.
pub fn outlines(bytes: &[u8], kind: Drawing, metres_per_unit: Option<f64>) -> Result<Outlines, ExchangeError> {
    if bytes.len() > MAX_DRAWING_BYTES {
        return Err(ExchangeError::new(say!("the-drawing-is-too-large"), say!("choose-one-under-64-mb-or")));
    }
    if metres_per_unit.is_some_and(|m| !(1e-6..=1e4).contains(&m)) {
        return Err(ExchangeError::new(say!("that-is-no-length-of-a"), say!("write-metres-a-unit-like-0")));
    }
    let mut left_out = Vec::new();
    let lines = match kind {
        Drawing::Dxf => from_dxf::lines(bytes, metres_per_unit, &mut left_out)?,
        Drawing::Svg => from_svg::lines(bytes, metres_per_unit)?,
    };
    if lines.iter().map(|(p, _)| p.len()).sum::<usize>() > MAX_POINTS {
        return Err(ExchangeError::new(
            say!("the-drawing-has-too-many-points"),
            say!("save-the-walls-alone-without-hatches"),
        ));
    }
    if lines.iter().any(|(p, _)| p.iter().any(|q| !q.is_finite() || q.abs().max_element() > 9_000.0)) {
        return Err(ExchangeError::new(say!("the-drawing-reaches-further-than-9"), say!("check-the-unit-or-move-the")));
    }
    Ok(rings::rooms_of(lines, left_out))
}

type Polyline = (Vec<DVec2>, bool);

impl Outlines {
    /// The rooms as one edit of a plan; none when there are no rooms.
    #[must_use]
    pub fn edit(&self, plan: &Plan) -> Option<Edit> {
        let mut next = plan.clone();
        let mut edits = Vec::with_capacity(self.rooms.len());
        for r in &self.rooms {
            let n = next.location.rooms.len() + 1;
            let id = next.fresh_id("room");
            // Tenths of a millimetre are enough.
            let corners = r.iter().map(|p| [(p.x * 1e4).round() / 1e4, (p.y * 1e4).round() / 1e4]).collect();
            let room = Room::new(id, &say!("room-n", n), corners);
            next.location.rooms.push(room.clone());
            edits.push(Edit::Put(Item::Room(room)));
        }
        (!edits.is_empty()).then(|| Edit::Together { label: say!("bring-in-outlines").into(), edits })
    }

    /// The drawing scaled so that a length in it becomes another.
    #[must_use]
    pub fn scaled(mut self, by: f64) -> Outlines {
        self.rooms.iter_mut().flatten().for_each(|p| *p *= by);
        self
    }
}
