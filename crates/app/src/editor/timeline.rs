//! The time bar under the plan: a lane for each person, coloured by how the lens sees them.

use super::icons::{self, Icon};
use super::state::Editor;
use super::theme::colour;
use egui::{Align2, FontId, Rect, Sense, Stroke, Ui, pos2, vec2};
use tapemark_core::blocking::{Lane, Seen, Span};
use tapemark_sheet::person_ink;
use tapemark_words::{figure, say};

const LANE_H: f32 = 22.0;
const NAMES_W: f32 = 96.0;
/// Height of the seconds under the lanes, points.
const RULER_H: f32 = 16.0;
/// Side of the round button that runs the move, points.
const RUN: f32 = 36.0;

/// Seconds between two numbers on a ruler of a length, so that they stand at least so many points apart.
fn step_s(length_s: f64, wide: f32) -> f64 {
    let least = 60.0 * length_s / f64::from(wide.max(1.0));
    let steps = [0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0];
    steps.into_iter().find(|s| *s >= least).unwrap_or(1200.0)
}

/// A stretch in words.
pub fn span_text(lane: &Lane, s: &Span) -> String {
    let by = s.by.as_ref().map_or(String::new(), |b| say!("by-b", b));
    let share = match (s.seen, s.least_clear_share) {
        (Seen::Hidden, Some(c)) => say!("at-worst-c-seen", c = figure(c * 100.0, 0)),
        _ => String::new(),
    };
    say!(
        "lane-seen-by-from",
        lane = lane.name,
        seen = s.seen.label(),
        by,
        from_s = figure(s.from_s, 1),
        to_s = figure(s.to_s, 1),
        share
    )
}

impl Editor {
    /// The button that runs the move, the moment, and the lanes of the cast over the seconds.
    pub(crate) fn time_bar(&mut self, ui: &mut Ui) {
        let length = self.current_shot().length_s.max(1e-3);
        ui.add_space(4.0);
        ui.horizontal_top(|ui| {
            self.run_button(ui, length);
            ui.vertical(|ui| self.lanes(ui, length));
        });
    }

    fn run_button(&mut self, ui: &mut Ui, length: f64) {
        let t = self.look.tokens();
        let (rect, response) = ui.allocate_exact_size(vec2(RUN, RUN), Sense::click());
        let word = if self.playing { say!("halt") } else { say!("run") };
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, word));
        ui.painter().circle_filled(rect.center(), RUN * 0.5, t.accent);
        if response.hovered() || response.has_focus() {
            ui.painter().circle_stroke(rect.center(), RUN * 0.5 - 1.0, Stroke::new(2.0, t.ink));
        }
        let icon = if self.playing { Icon::Pause } else { Icon::Play };
        icons::paint(ui.painter(), Rect::from_center_size(rect.center(), vec2(20.0, 20.0)), icon, t.on_accent);
        if response.on_hover_text(say!("run-the-move-space")).clicked() {
            self.playing = !self.playing;
        }
        let mut now = self.seconds.min(length);
        ui.vertical(|ui| {
            ui.set_width(54.0);
            ui.add_space(6.0);
            let field = egui::DragValue::new(&mut now).range(0.0..=length).speed(0.1).suffix(" s").fixed_decimals(1);
            let field = ui.add_sized(vec2(54.0, 24.0), field);
            field.widget_info(|| egui::WidgetInfo::labeled(egui::Role::SpinButton, true, say!("time")));
            if field.changed() {
                self.playing = false;
            }
        });
        if self.playing {
            now += f64::from(ui.input(|i| i.stable_dt)).min(0.1);
            if now >= length {
                now = 0.0;
                self.playing = false;
            }
            ui.ctx().request_repaint();
        }
        if now != self.seconds {
            self.seconds = now;
            self.touch_moment();
        }
    }

    fn lanes(&mut self, ui: &mut Ui, length: f64) {
        let lanes = self.facts.lanes.clone();
        if lanes.is_empty() {
            ui.add_space(RUN);
            return;
        }
        let height = LANE_H * lanes.len() as f32 + RULER_H;
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click_and_drag());
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Slider, true, say!("time-bar")));
        let bar = Rect::from_min_max(pos2(rect.left() + NAMES_W, rect.top()), rect.right_bottom() - vec2(8.0, RULER_H));
        let at = |s: f64| bar.left() + (s / length) as f32 * bar.width();
        let (palette, t) = (self.look.palette(), self.look.tokens());
        let painter = ui.painter_at(rect);
        let small = FontId::proportional(11.0);
        let mut under = None;
        let hover = response.hover_pos();
        for (i, lane) in lanes.iter().enumerate() {
            let y = bar.top() + LANE_H * i as f32;
            let row = Rect::from_min_max(pos2(bar.left(), y + 2.0), pos2(bar.right(), y + LANE_H - 2.0));
            let n = self.plan.cast.iter().position(|c| c.id == lane.person).unwrap_or(0);
            let dot = pos2(rect.left() + 10.0, row.center().y);
            painter.circle(dot, 5.0, colour(person_ink(n)), Stroke::new(1.0, colour(palette.ink)));
            painter.with_clip_rect(Rect::from_x_y_ranges(rect.left()..=bar.left() - 4.0, row.y_range())).text(
                pos2(rect.left() + 22.0, row.center().y),
                Align2::LEFT_CENTER,
                &lane.name,
                small.clone(),
                colour(if lane.required { palette.ink } else { palette.quiet }),
            );
            for s in &lane.spans {
                let part = Rect::from_min_max(pos2(at(s.from_s), row.top()), pos2(at(s.to_s), row.bottom()));
                let (fill, ink) = match s.seen {
                    Seen::InFrame => (t.panel.lerp_to_gamma(t.good, 0.34), t.ink),
                    Seen::Hidden => (t.warn, t.on_accent),
                    Seen::Cut | Seen::TurnedAway => (t.panel.lerp_to_gamma(colour(palette.selected), 0.4), t.ink),
                    Seen::OutOfFrame => (t.panel.lerp_to_gamma(t.dim, 0.3), t.ink),
                    Seen::Absent => (egui::Color32::TRANSPARENT, colour(palette.quiet)),
                };
                // A face nobody asked for is told quietly.
                let fill = if lane.required { fill } else { fill.gamma_multiply(0.55) };
                painter.rect_filled(part.shrink2(vec2(0.5, 0.0)), 4.0, fill);
                let by = s.by.as_ref().map_or(String::new(), |b| say!("by-b", b));
                let words = format!("{}{by}", s.seen.label());
                if part.width() > 7.0 * words.len() as f32 {
                    // A mark's dot comes first.
                    let marks = self.current_shot().marks.iter().filter(|m| m.person == lane.person);
                    let dots = marks.map(|m| at(m.from_s)).filter(|x| (part.left()..part.left() + 70.0).contains(x));
                    let from = dots.fold(part.left(), f32::max);
                    let at = pos2(from + 10.0, part.center().y);
                    painter.text(at, Align2::LEFT_CENTER, words, small.clone(), ink);
                }
                if hover.is_some_and(|p| part.contains(p)) {
                    under = Some(span_text(lane, s));
                }
            }
            for m in self.current_shot().marks.iter().filter(|m| m.person == lane.person && m.from_s > 0.0) {
                let mark = pos2(at(m.from_s), row.center().y);
                painter.circle(mark, 4.0, colour(person_ink(n)), Stroke::new(1.0, t.ink));
            }
        }
        let step = step_s(length, bar.width());
        for i in 0..=(length / step) as usize {
            let s = i as f64 * step;
            let x = at(s);
            painter.vline(x, bar.bottom()..=bar.bottom() + 3.0, Stroke::new(1.0, t.dim));
            let number = figure(s, usize::from(step < 1.0));
            painter.text(pos2(x, bar.bottom() + 3.0), Align2::CENTER_TOP, number, FontId::proportional(9.0), t.dim);
        }
        let x = at(self.seconds.min(length));
        painter.vline(x, bar.y_range(), Stroke::new(2.0, t.ink));
        let head = [vec2(-5.0, -1.0), vec2(5.0, -1.0), vec2(0.0, 6.0)].map(|v| pos2(x, bar.top()) + v);
        painter.add(egui::Shape::convex_polygon(head.to_vec(), t.ink, Stroke::NONE));
        if let Some(text) = under {
            response.clone().on_hover_text(text);
        }
        if let Some(p) = response.interact_pointer_pos()
            && (response.clicked() || response.dragged())
        {
            self.playing = false;
            let t = (f64::from((p.x - bar.left()) / bar.width()) * length).clamp(0.0, length);
            if t != self.seconds {
                self.seconds = t;
                self.touch_moment();
            }
        }
        self.scrubbing = response.dragged();
    }
}
