//! The tools, as a rail of drawings over the plan.

use super::command::TOOL_KEYS;
use super::icons::{self, Icon};
use super::panels::tool_tip;
use super::state::{Editor, Tool};
use egui::{Align2, FontId, Rect, Sense, Ui, pos2, vec2};
use tapemark_core::plan::HeadClass;
use tapemark_words::say;

/// Width of the rail and its distance from the canvas's edge, points.
pub(super) const RAIL_W: f32 = 42.0;
pub(super) const OFF: f32 = 12.0;
const MOST: f32 = 34.0;

impl Editor {
    /// The rail at the left of a canvas.
    pub(super) fn rail(&mut self, ui: &mut Ui, canvas: Rect) {
        let count = TOOL_KEYS.len() as f32 + 1.0;
        let side = ((canvas.height() - 2.0 * OFF - 8.0) / count).clamp(24.0, MOST);
        let size = vec2(RAIL_W, side * count + 8.0);
        let rect = Rect::from_min_size(canvas.min + vec2(OFF, OFF), size);
        let t = self.look.tokens();
        ui.painter().rect(rect, 10.0, t.card, egui::Stroke::new(1.0, t.line), egui::StrokeKind::Inside);
        // Between the buttons nothing reaches the plan.
        ui.interact(rect, ui.scope_id().with("rail"), Sense::click_and_drag());
        let mut taken = None;
        let inside = Rect::from_min_size(rect.min + vec2((RAIL_W - side) * 0.5, 4.0), vec2(side, size.y - 8.0));
        ui.scope_builder(egui::UiBuilder::new().max_rect(inside), |ui| {
            ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
            for (key, tool, name) in TOOL_KEYS {
                let on = self.tool == tool;
                let button = icons::button(ui, side, Icon::Tool(tool), (on, true), say!(name));
                self.key_of(ui, button.rect, on, key.name());
                if button.on_hover_text(format!("{} ({})\n{}", say!(name), key.name(), tool_tip(tool))).clicked() {
                    taken = Some(tool);
                }
                // The lamps come before what they are plugged into.
                if tool == Tool::Camera {
                    let on = matches!(self.tool, Tool::Lamp(_));
                    let button = icons::button(
                        ui,
                        side,
                        Icon::Tool(Tool::Lamp(HeadClass::SoftBox)),
                        (on, true),
                        say!("lamp-ask"),
                    );
                    self.key_of(ui, button.rect, on, "K");
                    let button = button.on_hover_text(say!("click-where-the-lamp-stands-k"));
                    egui::Popup::menu(&button).align(egui::RectAlign::RIGHT_START).show(|ui| {
                        for class in HeadClass::ALL {
                            if ui.button(class.label()).clicked() {
                                taken = Some(Tool::Lamp(class));
                                ui.close();
                            }
                        }
                    });
                }
            }
        });
        if let Some(t) = taken {
            self.take(t);
        }
    }

    /// The key that takes a tool, small in its corner.
    fn key_of(&self, ui: &Ui, rect: Rect, on: bool, key: &str) {
        let t = self.look.tokens();
        let at = pos2(rect.right() - 3.0, rect.bottom() - 1.0);
        let ink = if on { t.on_accent } else { t.dim };
        ui.painter().text(at, Align2::RIGHT_BOTTOM, key, FontId::proportional(8.0), ink);
    }
}
