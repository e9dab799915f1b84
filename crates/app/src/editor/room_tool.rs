//! A room drawn corner by corner, by pointer, by tape measurements or by key.

use super::draw::label;
use super::state::{Editor, Tool};
use super::theme::colour;
use super::tools::{SNAP_PX, to_grid};
use egui::{Align2, Color32, PointerButton, Stroke, vec2};
use glam::DVec2;
use tapemark_core::edit::Item;
use tapemark_core::geometry::closest_on_segment;
use tapemark_core::plan::Room;
use tapemark_core::units::{format_length, parse_length_m};
use tapemark_words::say;

/// A room being drawn.
#[derive(Debug, Clone, Default)]
pub(crate) struct RoomDraft {
    pub points: Vec<DVec2>,
    pub typed: String,
}

impl Editor {
    pub(super) fn room_gestures(&mut self, ui: &egui::Ui, response: &egui::Response) {
        let snap = self.snapping(ui);
        let next = self.by_key.or(self.pointer.map(|p| if snap { self.snapped_point(p) } else { p }));
        let (mut enter, mut back) = (false, false);
        if !self.room_draft.points.is_empty() {
            ui.input(|i| {
                for event in &i.events {
                    match event {
                        egui::Event::Text(t) => self
                            .room_draft
                            .typed
                            .extend(t.chars().filter(|c| "0123456789.,'\"/ mcftin′″½¼¾".contains(*c))),
                        egui::Event::Key { key: egui::Key::Enter, pressed: true, .. } => enter = true,
                        egui::Event::Key { key: egui::Key::Backspace, pressed: true, .. } => back = true,
                        _ => {}
                    }
                }
            });
        }
        if back && self.room_draft.typed.pop().is_none() {
            self.room_draft.points.pop();
        }
        let by_key = self.by_key.filter(|_| self.room_draft.typed.trim().is_empty());
        if let Some(p) = by_key.filter(|_| ui.input(|i| i.key_pressed(egui::Key::Enter))) {
            // By key, Enter puts a corner; on a corner that is there it closes the room.
            if self.room_draft.points.len() >= 3 && self.room_draft.points.iter().any(|q| q.distance(p) < 0.01) {
                self.close_room();
            } else {
                self.add_room_point(p);
            }
        } else if enter {
            if self.room_draft.typed.trim().is_empty() {
                self.close_room();
            } else if let (Some(last), Some(next)) = (self.room_draft.points.last().copied(), next) {
                match parse_length_m(&self.room_draft.typed, self.plan.length_unit) {
                    Ok(length) if length > 0.0 => {
                        let dir = (next - last).try_normalize().unwrap_or(DVec2::X);
                        self.room_draft.typed.clear();
                        self.add_room_point(last + dir * length);
                        if self.by_key.is_some() {
                            self.by_key = Some(last + dir * length);
                        }
                    }
                    Ok(_) => self.tell(say!("a-wall-is-longer-than-nothing")),
                    Err(e) => self.tell(e.to_string()),
                }
            }
        }
        let double = response.double_clicked();
        if response.clicked_by(PointerButton::Primary)
            && !double
            && let Some(at) = response.interact_pointer_pos()
        {
            let p = self.view.to_plan(at);
            let first = self.room_draft.points.first().copied();
            if self.room_draft.points.len() >= 3
                && first.is_some_and(|f| self.view.to_screen(f).distance(at) < SNAP_PX as f32 * 1.3)
            {
                self.close_room();
            } else {
                let p = if snap { self.snapped_point(p) } else { p };
                self.room_draft.typed.clear();
                self.add_room_point(p);
            }
        }
        if double {
            self.close_room();
        }
    }

    fn add_room_point(&mut self, p: DVec2) {
        if self.room_draft.points.last().is_none_or(|l| l.distance(p) > 0.01) {
            self.room_draft.points.push(p);
        }
    }

    /// Snaps to corners, then walls, then right angles from the last corner and level with the first, then
    /// the grid.
    fn snapped_point(&self, p: DVec2) -> DVec2 {
        let reach = SNAP_PX / self.view.px_per_m;
        for w in &self.scene.walls.runs {
            for end in [w.a, w.b] {
                if end.distance(p) < reach {
                    return end;
                }
            }
        }
        let mut to = to_grid(p);
        if let Some(last) = self.room_draft.points.last() {
            let v = p - *last;
            let near = 12.0_f64.to_radians().tan();
            if v.x.abs() < v.y.abs() * near {
                to.x = last.x;
            } else if v.y.abs() < v.x.abs() * near {
                to.y = last.y;
            }
            if let Some(first) = self.room_draft.points.first()
                && self.room_draft.points.len() > 1
            {
                if (to.x - first.x).abs() < reach && to.x != last.x {
                    to.x = first.x;
                }
                if (to.y - first.y).abs() < reach && to.y != last.y {
                    to.y = first.y;
                }
            }
            return to;
        }
        for w in &self.scene.walls.runs {
            let on = closest_on_segment(p, w.a, w.b);
            if on.distance(p) < reach {
                return on;
            }
        }
        to
    }

    fn close_room(&mut self) {
        let points = std::mem::take(&mut self.room_draft).points;
        if points.len() < 3 {
            self.tell(say!("a-room-needs-at-least-three"));
            return;
        }
        let id = self.plan.fresh_id("room");
        let name = say!("room-n", n = self.plan.location.rooms.len() + 1);
        let first = self.plan.location.rooms.is_empty();
        let room = Room::new(id, &name, points.iter().map(|p| p.to_array()).collect());
        if self.add(Item::Room(room)) && first {
            self.view.fitted = false;
        }
    }

    pub(crate) fn paint_draft(&self, painter: &egui::Painter, ink: Color32) {
        if self.tool != Tool::Room {
            return;
        }
        let palette = self.look.palette();
        let (words, behind) = (colour(palette.ink), colour(palette.paper));
        let to = |p: DVec2| self.view.to_screen(p);
        let points = &self.room_draft.points;
        for pair in points.windows(2) {
            painter.line_segment([to(pair[0]), to(pair[1])], Stroke::new(3.0, ink));
            let middle = (pair[0] + pair[1]) * 0.5;
            label(
                painter,
                to(middle),
                Align2::CENTER_CENTER,
                &format_length(pair[0].distance(pair[1]), self.plan.length_unit),
                words,
                behind,
            );
        }
        for p in points {
            painter.circle_filled(to(*p), 5.0, ink);
        }
        let Some(pointer) = self.pointer else { return };
        let next = if self.snap && self.by_key.is_none() { self.snapped_point(pointer) } else { pointer };
        painter.circle_stroke(to(next), 5.0, Stroke::new(1.5, ink));
        let Some(last) = points.last() else { return };
        painter.line_segment([to(*last), to(next)], Stroke::new(1.5, ink));
        let typed = &self.room_draft.typed;
        let text = if typed.is_empty() {
            format_length(last.distance(next), self.plan.length_unit)
        } else {
            say!("typed-enter", typed)
        };
        label(painter, to(next) + vec2(18.0, -18.0), Align2::LEFT_BOTTOM, &text, words, behind);
        if points.len() >= 3 {
            label(
                painter,
                to(points[0]) + vec2(0.0, 12.0),
                Align2::CENTER_TOP,
                say!("click-here-or-enter-closes-the"),
                words,
                behind,
            );
        }
    }
}
