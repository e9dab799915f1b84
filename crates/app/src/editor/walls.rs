//! Walls between two rooms: both faces move together, and *only this room* is one click away.

use super::state::Editor;
use super::tools::to_grid;
use egui::Ui;
use glam::DVec2;
use tapemark_core::edit::{Edit, WithBehind, with_walls_behind};
use tapemark_core::geometry::room_edges;
use tapemark_core::plan::{Plan, RoomId};
use tapemark_words::say;

/// A move that took walls behind along, to be made without them.
#[derive(Debug, Clone)]
pub(crate) struct TakenAlong {
    /// The move of this room alone.
    alone: Edit,
    /// The plan as the whole move left it: the offer stands until something else changes.
    after: Plan,
}

impl Editor {
    /// Moves a wall or corner of a room with the faces behind it, as one step of undo.
    pub(crate) fn edit_wall(&mut self, edit: &Edit) -> bool {
        match with_walls_behind(&self.plan, edit) {
            None => self.edit(edit),
            Some(both) => {
                let done = self.edit(&both.edit);
                if done {
                    self.offer_alone(edit.clone(), &both);
                }
                done
            }
        }
    }

    /// The same as part of a gesture that began with `base`.
    pub(crate) fn edit_wall_live(&mut self, base: &Plan, edit: &Edit) {
        match with_walls_behind(base, edit) {
            None => {
                self.taken_along = None;
                self.edit_live_from(Some(base), edit);
            }
            Some(both) => {
                if self.edit_live_from(Some(base), &both.edit) {
                    self.offer_alone(edit.clone(), &both);
                }
            }
        }
    }

    fn offer_alone(&mut self, alone: Edit, both: &WithBehind) {
        let names: Vec<&str> = both.rooms.iter().filter_map(|id| self.plan.room(id)).map(|r| r.name.as_str()).collect();
        let text = say!("the-wall-of-rooms-moved-along", rooms = names.join(", "));
        self.tell(text);
        self.taken_along = Some(TakenAlong { alone, after: self.plan.clone() });
    }

    /// The button beside what was told, while the offer stands.
    pub(crate) fn only_this_room_ui(&mut self, ui: &mut Ui) {
        let stands = self.drag.is_none() && self.taken_along.as_ref().is_some_and(|t| t.after == self.plan);
        if !stands {
            if self.drag.is_none() {
                self.taken_along = None;
            }
            return;
        }
        let button = ui.button(say!("only-this-room")).on_hover_text(say!("the-walls-of-the-other-rooms-go"));
        if button.clicked()
            && let Some(taken) = self.taken_along.take()
        {
            self.undo();
            self.edit(&taken.alone);
        }
    }

    /// The wall of a room whose middle is within reach of a point.
    pub(super) fn wall_handle_at(&self, room: &RoomId, p: DVec2, reach: f64) -> Option<usize> {
        let room = self.plan.room(room)?;
        room_edges(room).position(|(a, b)| ((a + b) * 0.5).distance(p) < reach)
    }

    /// A wall follows the pointer, by whole steps of the grid where snapping is on.
    pub(super) fn wall_follows(&mut self, room: &RoomId, edge: usize, by: DVec2, snap: bool, base: &Plan) {
        let by = if snap { to_grid(by) } else { by };
        self.edit_wall_live(base, &Edit::MoveWall { room: room.clone(), edge, by });
    }
}
