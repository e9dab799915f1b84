//! The strip under the plan: which layers are drawn, and what their colours mean.

use super::command::Command;
use super::state::Editor;
use super::theme::colour;
use egui::containers::menu::{MenuButton, MenuConfig};
use egui::{Align2, FontId, PopupCloseBehavior, Rect, RichText, Sense, Stroke, Ui, pos2, vec2};
use tapemark_core::light::{MapFacing, MapShows};
use tapemark_core::units::{LengthUnit, LevelUnit, M_PER_FT, format_length};
use tapemark_sheet::{MapLegend, clear_legend, light_legend};
use tapemark_words::say;

/// How strong maps lie over the floor: they stay under the ink.
pub(super) const MAP_STRENGTH: f64 = 0.45;
/// Height of the strip, points.
pub(super) const FOOT_H: f32 = 44.0;

/// A layer that is drawn or not.
fn layer(ui: &mut Ui, on: bool, word: &str) -> egui::Response {
    ui.add(egui::Button::new(word).selected(on).corner_radius(12.0).min_size(vec2(0.0, 24.0)))
}

fn choose<T: PartialEq>(ui: &mut Ui, now: &mut T, value: T, word: &str) {
    if super::fields::pick(ui, *now == value, word).clicked() {
        *now = value;
    }
}

impl Editor {
    /// The strip's layers at the left, the legend at the right.
    pub(super) fn foot(&mut self, ui: &mut Ui) {
        let mut run = None;
        ui.horizontal_centered(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            for (on, command, word) in [
                (self.light.on, Command::Light, say!("light-label")),
                (self.blocking.shown, Command::ClearView, say!("clear-view")),
                (self.taping, Command::Taping, say!("layer-tape")),
            ] {
                let tip = match command {
                    Command::ClearView => say!("every-place-of-the-floor"),
                    _ => command.label(),
                };
                if layer(ui, on, word).on_hover_text(tip).clicked() {
                    run = Some(command);
                }
            }
            for (on, word) in [(&mut self.dimensions, say!("layer-dimensions")), (&mut self.cover, say!("layer-cloth"))]
            {
                if layer(ui, *on, word).clicked() {
                    *on = !*on;
                }
            }
            ui.add_space(6.0);
            let before = self.light;
            if self.blocking.shown {
                self.legend(ui, &clear_legend(), false);
            } else if self.light.on {
                let legend = light_legend(self.light.shows, self.wanted_lx(), &[self.light.unit]);
                self.legend(ui, &legend, true);
            }
            if before != self.light {
                self.touch_moment();
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| self.scale(ui));
        });
        if let Some(command) = run {
            self.run(command, &ui.ctx().clone());
        }
    }

    /// The colours with their numbers, as they lie over the floor; what they show can be chosen by their words.
    fn legend(&mut self, ui: &mut Ui, legend: &MapLegend, of_light: bool) {
        let (t, floor) = (self.look.tokens(), colour(self.look.palette().floor));
        let cell = ((ui.available_width() - 250.0) / legend.swatches.len().max(1) as f32).clamp(20.0, 34.0);
        if !legend.swatches.is_empty() && ui.available_width() > 420.0 {
            let wide = cell * legend.swatches.len() as f32;
            let (rect, _) = ui.allocate_exact_size(vec2(wide, 28.0), Sense::hover());
            for (i, (swatch, numbers)) in legend.swatches.iter().enumerate() {
                let part = Rect::from_min_size(rect.min + vec2(cell * i as f32, 2.0), vec2(cell, 10.0));
                ui.painter().rect_filled(part, 0.0, floor.lerp_to_gamma(colour(*swatch), MAP_STRENGTH as f32));
                if let Some(number) = numbers.first() {
                    let at = part.center_bottom() + vec2(0.0, 2.0);
                    ui.painter().text(at, Align2::CENTER_TOP, number, FontId::proportional(10.0), t.dim);
                }
            }
        }
        if !of_light {
            ui.add(egui::Label::new(RichText::new(&legend.words).weak()).truncate());
            return;
        }
        let facing = match self.light.facing {
            MapFacing::Lens => say!("dome-to-the-lens"),
            MapFacing::Up => say!("flat-facing-up"),
        };
        let height = format_length(self.light.height_m, self.plan.length_unit);
        let whole = format!("{}{}", legend.words, say!("at-height-facing-with-bounces", height, facing));
        let room = (ui.available_width() - 96.0).max(60.0);
        let button = egui::Button::new(RichText::new(&whole).color(t.dim)).truncate();
        let config = MenuConfig::new().close_behavior(PopupCloseBehavior::CloseOnClickOutside);
        ui.scope(|ui| {
            ui.set_max_width(room);
            let (response, _) = MenuButton::from_button(button).config(config).ui(ui, |ui| self.light_fields(ui));
            response.on_hover_text(format!("{whole}\n{}", say!("click-to-choose-what-is-shown")));
        });
    }

    /// What of the light is shown, in which unit and at what height.
    fn light_fields(&mut self, ui: &mut Ui) {
        egui::Grid::new("light").num_columns(2).spacing([6.0, 4.0]).show(ui, |ui| {
            super::fields::number(ui, say!("at-height"), &mut self.light.height_m, 0.0..=6.0, 0.05, " m");
        });
        ui.horizontal(|ui| {
            choose(ui, &mut self.light.unit, LevelUnit::Stops, say!("stops"));
            choose(ui, &mut self.light.unit, LevelUnit::Lux, say!("lux"));
            choose(ui, &mut self.light.unit, LevelUnit::FootCandles, "fc");
        });
        ui.horizontal(|ui| {
            choose(ui, &mut self.light.shows, MapShows::Level, say!("level"));
            choose(ui, &mut self.light.shows, MapShows::KeyFill, say!("key-fill"));
            choose(ui, &mut self.light.shows, MapShows::Colour, say!("colour"));
        });
        ui.horizontal(|ui| {
            choose(ui, &mut self.light.facing, MapFacing::Lens, say!("to-the-lens"));
            choose(ui, &mut self.light.facing, MapFacing::Up, say!("facing-up"));
        });
    }

    /// A length of the plan as a bar.
    fn scale(&self, ui: &mut Ui) {
        let t = self.look.tokens();
        let step = match self.plan.length_unit {
            LengthUnit::Metres => 1.0,
            LengthUnit::FeetInches => M_PER_FT,
        };
        let sizes = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
        let fits = |m: &f64| m * step * self.view.px_per_m <= 72.0;
        let m = sizes.into_iter().rev().find(fits).unwrap_or(sizes[0]) * step;
        let wide = (m * self.view.px_per_m) as f32;
        let (rect, _) = ui.allocate_exact_size(vec2(80.0, 28.0), Sense::hover());
        let y = rect.center().y + 6.0;
        let (from, to) = (pos2(rect.right() - wide, y), pos2(rect.right(), y));
        ui.painter().line_segment([from, to], Stroke::new(2.0, t.ink));
        let words = format_length(m, self.plan.length_unit);
        let at = pos2((from.x + to.x) * 0.5, y - 3.0);
        ui.painter().text(at, Align2::CENTER_BOTTOM, words, FontId::proportional(10.0), t.dim);
    }
}
