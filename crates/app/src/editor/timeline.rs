//! The time bar under the plan: a lane for each person, coloured by how the lens sees them.

use super::state::Editor;
use super::theme::colour;
use egui::{Align2, FontId, Rect, Sense, Stroke, Ui, pos2, vec2};
use tapemark_core::blocking::{Lane, Seen, Span};
use tapemark_sheet::person_ink;
use tapemark_words::{figure, say};

const LANE_H: f32 = 17.0;
const NAMES_W: f32 = 92.0;

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
    pub(crate) fn time_bar(&mut self, ui: &mut Ui) {
        let length = self.current_shot().length_s.max(1e-3);
        let lanes = self.facts.lanes.clone();
        if lanes.is_empty() {
            return;
        }
        let height = LANE_H * lanes.len() as f32 + 4.0;
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click_and_drag());
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Slider, true, say!("time-bar")));
        let bar =
            Rect::from_min_max(pos2(rect.left() + NAMES_W, rect.top() + 2.0), rect.right_bottom() - vec2(8.0, 2.0));
        let at = |s: f64| bar.left() + (s / length) as f32 * bar.width();
        let palette = self.look.palette();
        let painter = ui.painter_at(rect);
        let small = FontId::proportional(11.0);
        let mut under = None;
        let hover = response.hover_pos();
        for (i, lane) in lanes.iter().enumerate() {
            let y = bar.top() + LANE_H * i as f32;
            let row = Rect::from_min_max(pos2(bar.left(), y + 1.0), pos2(bar.right(), y + LANE_H - 1.0));
            let n = self.plan.cast.iter().position(|c| c.id == lane.person).unwrap_or(0);
            painter.circle_filled(pos2(rect.left() + 10.0, row.center().y), 4.5, colour(person_ink(n)));
            painter.text(
                pos2(rect.left() + 20.0, row.center().y),
                Align2::LEFT_CENTER,
                &lane.name,
                small.clone(),
                colour(if lane.required { palette.ink } else { palette.quiet }),
            );
            for s in &lane.spans {
                let part = Rect::from_min_max(pos2(at(s.from_s), row.top()), pos2(at(s.to_s), row.bottom()));
                let (fill, ink) = match s.seen {
                    Seen::InFrame => (colour(palette.clear).gamma_multiply(0.75), colour(palette.paper)),
                    Seen::Hidden => (colour(palette.wrong), colour(palette.paper)),
                    Seen::Cut | Seen::TurnedAway => {
                        (colour(palette.selected).gamma_multiply(0.7), colour(palette.paper))
                    }
                    Seen::OutOfFrame => (colour(palette.quiet).gamma_multiply(0.35), colour(palette.ink)),
                    Seen::Absent => (egui::Color32::TRANSPARENT, colour(palette.quiet)),
                };
                // A face nobody asked for is told quietly.
                let fill = if lane.required { fill } else { fill.gamma_multiply(0.45) };
                painter.rect_filled(part.shrink2(vec2(0.5, 0.0)), 2.0, fill);
                let by = s.by.as_ref().map_or(String::new(), |b| say!("by-b", b));
                let words = format!("{}{by}", s.seen.label());
                if part.width() > 7.0 * words.len() as f32 {
                    painter.text(part.center(), Align2::CENTER_CENTER, words, small.clone(), ink);
                }
                if hover.is_some_and(|p| part.contains(p)) {
                    under = Some(span_text(lane, s));
                }
            }
            for m in self.current_shot().marks.iter().filter(|m| m.person == lane.person && m.from_s > 0.0) {
                painter.vline(at(m.from_s), row.y_range(), Stroke::new(1.5, colour(palette.ink)));
            }
        }
        let x = at(self.seconds.min(length));
        painter.vline(x, bar.y_range(), Stroke::new(2.0, colour(palette.ink)));
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
