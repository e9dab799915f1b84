//! Menus, tools, shots, numbers and the status line.

use super::command::{Command, TOOL_KEYS};
use super::state::{Editor, Tool};
use super::theme::{Shade, bold_family, colour};

use egui::{RichText, Ui};
use tapemark_core::edit::{Edit, Item, Settings};
use tapemark_core::light::{MapFacing, MapShows, sun_spells};
use tapemark_core::notices::Severity;
use tapemark_core::plan::Clock;
use tapemark_core::units::{LengthUnit, LevelUnit, format_length};
use tapemark_words::{figure, say};

impl Editor {
    pub(crate) fn menu_bar(&mut self, ui: &mut Ui) {
        let mut run = None;
        ui.add_space(2.0);
        egui::MenuBar::new().ui(ui, |ui| {
            let mut item = |ui: &mut Ui, c: Command, enabled: bool| {
                let mut button = egui::Button::new(c.label());
                if let Some(s) = c.shortcut() {
                    button = button.shortcut_text(super::language::keys(s.modifiers, s.logical_key));
                }
                if ui.add_enabled(enabled, button).clicked() {
                    run = Some(c);
                    ui.close();
                }
            };
            ui.menu_button(say!("file"), |ui| {
                item(ui, Command::New, true);
                item(ui, Command::Open, true);
                ui.menu_button(say!("open-recent"), |ui| {
                    for path in self.memory.recent.clone() {
                        if ui.button(path.display().to_string()).clicked() {
                            self.guarded(super::dialogs::Ask::ThenOpenThis(path));
                            ui.close();
                        }
                    }
                });
                item(ui, Command::Demo, true);
                ui.separator();
                item(ui, Command::Save, true);
                item(ui, Command::SaveAs, true);
                item(ui, Command::Export, true);
                item(ui, Command::Lists, true);
                item(ui, Command::Phone, true);
                ui.separator();
                item(ui, Command::BringIn, true);
                item(ui, Command::Underlay, true);
                item(ui, Command::HandOn, true);
                ui.separator();
                item(ui, Command::Quit, true);
            });
            ui.menu_button(say!("edit-label"), |ui| {
                item(ui, Command::Find, true);
                ui.separator();
                if let Some(label) = self.history.undo_label() {
                    ui.weak(say!("last-label", label));
                }
                item(ui, Command::Undo, self.history.undo_label().is_some());
                item(ui, Command::Redo, self.history.redo_label().is_some());
                ui.separator();
                let some = !self.selected.is_empty();
                for c in [Command::Cut, Command::Copy] {
                    item(ui, c, some);
                }
                item(ui, Command::Paste, !self.clipboard.is_empty());
                item(ui, Command::Duplicate, some);
                item(ui, Command::Delete, some);
                item(ui, Command::SelectAll, true);
                item(ui, Command::NextThing, true);
                item(ui, Command::PreviousThing, true);
            });
            ui.menu_button(say!("view"), |ui| {
                for c in [Command::ShowPlan, Command::ShowBoard, Command::ShowDay] {
                    item(ui, c, true);
                }
                ui.separator();
                for c in [
                    Command::ZoomIn,
                    Command::ZoomOut,
                    Command::Fit,
                    Command::Light,
                    Command::ClearView,
                    Command::Taping,
                    Command::Snap,
                ] {
                    item(ui, c, true);
                }
                ui.checkbox(&mut self.dimensions, say!("room-dimensions"));
                ui.separator();
                for c in [Command::LargerType, Command::SmallerType] {
                    item(ui, c, true);
                }
                ui.separator();
                self.language_menu(ui);
                ui.separator();
                ui.label(say!("look-of-the-window"));
                for (shade, name) in Shade::ALL {
                    if ui.radio_value(&mut self.look, shade, say!(name)).changed() {
                        self.memory.look = Some(shade);
                        self.memory.write();
                    }
                }
            });
            ui.menu_button(say!("shot-menu"), |ui| {
                for c in [Command::NewShot, Command::Variant, Command::NextShot, Command::PreviousShot, Command::Play] {
                    item(ui, c, true);
                }
            });
            ui.separator();
            for (page, c) in [
                (super::state::Page::Plan, Command::ShowPlan),
                (super::state::Page::Board, Command::ShowBoard),
                (super::state::Page::Day, Command::ShowDay),
            ] {
                if ui.selectable_label(self.page == page, c.label()).clicked() {
                    run = Some(c);
                }
            }
            ui.separator();
            let star = if self.unsaved() { " •" } else { "" };
            let file = self
                .path
                .as_ref()
                .and_then(|p| p.file_name())
                .map_or(say!("not-saved-yet").into(), |n| n.to_string_lossy().to_string());
            ui.label(RichText::new(format!("{}{star}", self.plan.title)).family(family(ui)));
            ui.weak(file);
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let mut unit = self.plan.length_unit;
                ui.radio_value(&mut unit, LengthUnit::FeetInches, say!("ft-in"));
                ui.radio_value(&mut unit, LengthUnit::Metres, "m");
                if unit != self.plan.length_unit {
                    let s = Settings { length_unit: unit, ..Settings::of(&self.plan) };
                    self.edit(&Edit::Settings(Box::new(s)));
                }
            });
        });
        ui.add_space(2.0);
        if let Some(c) = run {
            self.run(c, &ui.ctx().clone());
        }
    }

    pub(crate) fn left_panel(&mut self, ui: &mut Ui) {
        ui.add_space(6.0);
        heading(ui, say!("tools"));
        let mut taken = None;
        egui::Grid::new("tools").num_columns(2).min_col_width(76.0).spacing([4.0, 4.0]).show(ui, |ui| {
            for (i, (key, tool, name)) in TOOL_KEYS.iter().enumerate() {
                let on = self.tool == *tool;
                let button = egui::Button::selectable(on, say!(name)).min_size(egui::vec2(76.0, 24.0));
                if ui.add(button).on_hover_text(format!("{} ({})", tool_tip(*tool), key.name())).clicked() {
                    taken = Some(*tool);
                }
                if i % 2 == 1 {
                    ui.end_row();
                }
            }
            let lamp = matches!(self.tool, Tool::Lamp(_));
            ui.scope(|ui| {
                if lamp {
                    ui.visuals_mut().widgets.inactive.weak_bg_fill = ui.visuals().selection.bg_fill;
                }
                ui.menu_button(say!("lamp-ask"), |ui| {
                    for class in tapemark_core::plan::HeadClass::ALL {
                        if ui.button(class.label()).clicked() {
                            taken = Some(Tool::Lamp(class));
                            ui.close();
                        }
                    }
                })
                .response
                .on_hover_text(say!("click-where-the-lamp-stands-k"));
            });
        });
        if let Some(t) = taken {
            self.take(t);
        }
        ui.add_space(8.0);
        heading(ui, say!("shots-heading"));
        let mut go = None;
        for shot in &self.plan.shots {
            let bad = if shot.id == self.shot {
                self.facts.notices.iter().any(|n| n.severity > Severity::Hint)
            } else {
                false
            };
            let text = format!("{}  {}{}", shot.name, shot.size.label(), if bad { "  !" } else { "" });
            if ui
                .add(egui::Button::selectable(shot.id == self.shot, text).min_size(egui::vec2(158.0, 24.0)))
                .on_hover_text(&shot.description)
                .clicked()
            {
                go = Some(shot.id.clone());
            }
        }
        if let Some(id) = go {
            self.commit();
            self.go_to_shot(id);
        }
        if ui.button(say!("new-shot-like-this-label")).clicked() {
            self.run(Command::NewShot, &ui.ctx().clone());
        }
        ui.add_space(8.0);
        heading(ui, say!("light-over-the-floor"));
        let before = self.light;
        ui.checkbox(&mut self.light.on, say!("show"));
        ui.add_enabled_ui(self.light.on, |ui| {
            egui::Grid::new("light").num_columns(2).spacing([6.0, 4.0]).show(ui, |ui| {
                super::fields::number(ui, say!("at-height"), &mut self.light.height_m, 0.0..=6.0, 0.05, " m");
            });
            ui.horizontal_wrapped(|ui| {
                ui.selectable_value(&mut self.light.unit, LevelUnit::Stops, say!("stops"));
                ui.selectable_value(&mut self.light.unit, LevelUnit::Lux, say!("lux"));
                ui.selectable_value(&mut self.light.unit, LevelUnit::FootCandles, "fc");
            });
            ui.horizontal_wrapped(|ui| {
                ui.selectable_value(&mut self.light.shows, MapShows::Level, say!("level"));
                ui.selectable_value(&mut self.light.shows, MapShows::KeyFill, say!("key-fill"));
                ui.selectable_value(&mut self.light.shows, MapShows::Colour, say!("colour"));
            });
            ui.horizontal_wrapped(|ui| {
                ui.selectable_value(&mut self.light.facing, MapFacing::Lens, say!("to-the-lens"));
                ui.selectable_value(&mut self.light.facing, MapFacing::Up, say!("facing-up"));
            });
        });
        if before != self.light {
            self.touch_moment();
        }
        ui.add_space(4.0);
        let mut clear = self.blocking.shown;
        if ui.checkbox(&mut clear, say!("clear-view")).on_hover_text(say!("every-place-of-the-floor")).changed() {
            self.run(Command::ClearView, &ui.ctx().clone());
        }
        self.daylight_panel(ui);
    }

    /// The time of day and when the sun comes in.
    fn daylight_panel(&mut self, ui: &mut Ui) {
        let Some(day) = self.plan.daylight.clone() else { return };
        ui.add_space(8.0);
        heading(ui, say!("daylight"));
        let shot = self.current_shot();
        let own = shot.clock;
        let mut minutes = own.unwrap_or(day.clock).minutes;
        ui.spacing_mut().slider_width = 110.0;
        let slider = egui::Slider::new(&mut minutes, 0..=1439)
            .step_by(5.0)
            .custom_formatter(|v, _| Clock { minutes: v as u32 }.to_string())
            .custom_parser(|t| Clock::try_from(t.to_string()).ok().map(|c| f64::from(c.minutes)));
        if ui.add(slider).on_hover_text(say!("time-of-day-of-this-shot")).changed() {
            let mut shot = self.current_shot().clone();
            shot.clock = Some(Clock { minutes });
            self.edit_live(&Edit::Put(Item::Shot(shot)));
        }
        if let Some(d) = &self.facts.daylight {
            ui.weak(if d.sun.elevation_deg > 0.0 {
                say!(
                    "sun-up-sky-sun-lx",
                    elevation_deg = figure(d.sun.elevation_deg, 0),
                    sky_lx = figure(d.sky_lx, 0),
                    sun_lx = figure(d.sun_lx, 0)
                )
            } else if d.sky_lx > 0.0 {
                let sky_lx = figure(d.sky_lx, if d.sky_lx < 10.0 { 2 } else { 0 });
                say!("twilight-sun-down-sky-lx", down_deg = figure(-d.sun.elevation_deg, 0), sky_lx)
            } else {
                say!("the-sun-is-down").into()
            });
        }
        if self.spells.is_none() && self.drag.is_none() && self.pending.is_none() {
            self.spells = Some(sun_spells(&self.plan, self.current_shot()));
        }
        for s in self.spells.iter().flatten() {
            ui.weak(crate::words::spell_text(s));
        }
    }

    pub(crate) fn right_panel(&mut self, ui: &mut Ui) {
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.add_space(6.0);
            self.lens_small(ui);
            if self.selected.is_empty() {
                self.answers(ui);
                ui.separator();
                self.properties(ui);
            } else {
                self.notices(ui);
                ui.separator();
                self.properties(ui);
                ui.separator();
                self.numbers(ui);
            }
            ui.add_space(10.0);
        });
    }

    /// What is under way, or was last told, or what is usually said.
    fn status_text(&self, usual: &str) -> String {
        self.errands.in_words().or_else(|| self.told.clone()).unwrap_or_else(|| usual.into())
    }

    /// How far what is under way has come, and a way to stop it.
    fn way_to_stop(&mut self, ui: &mut Ui) {
        let Some(progress) = self.errands.progress() else { return };
        let (done, of) = progress.steps();
        if of == 0 {
            return;
        }
        ui.add(egui::ProgressBar::new(done as f32 / of as f32).desired_width(90.0));
        if ui.add_enabled(!progress.is_stopped(), egui::Button::new(say!("stop-it"))).clicked() {
            progress.stop();
        }
    }

    pub(crate) fn status_bar(&mut self, ui: &mut Ui) {
        let wrong = colour(self.look.palette().wrong);
        for word in [&self.safety.read_only, &self.safety.trouble].into_iter().flatten() {
            ui.colored_label(wrong, word);
        }
        if self.page == super::state::Page::Day {
            let usual = say!("whatever-is-changed-is-worked-out");
            ui.horizontal(|ui| {
                self.way_to_stop(ui);
                ui.label(self.status_text(usual));
            });
            return;
        }
        ui.add_space(3.0);
        ui.horizontal(|ui| {
            let word = if self.playing { say!("halt") } else { say!("run") };
            if ui.button(word).on_hover_text(say!("run-the-move-space")).clicked() {
                self.playing = !self.playing;
            }
            let length = self.current_shot().length_s;
            let mut t = self.seconds.min(length);
            ui.spacing_mut().slider_width = 260.0;
            let slider =
                ui.add(egui::Slider::new(&mut t, 0.0..=length).suffix(" s").max_decimals(1).text(say!("time")));
            if slider.changed() {
                self.playing = false;
            }
            if self.playing {
                t += f64::from(ui.input(|i| i.stable_dt)).min(0.1);
                if t >= length {
                    t = 0.0;
                    self.playing = false;
                }
                ui.ctx().request_repaint();
            }
            if t != self.seconds {
                self.seconds = t;
                self.touch_moment();
            }
            ui.separator();
            if let Some(p) = self.pointer.filter(|_| self.page == super::state::Page::Plan) {
                let unit = self.plan.length_unit;
                ui.weak(say!("east-unit-north-y", unit = format_length(p.x, unit), y = format_length(p.y, unit)));
                if let Some(text) = self.level_text(p).filter(|_| self.light.on) {
                    ui.label(text);
                }
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let usual = match self.page {
                    super::state::Page::Plan => tool_tip(self.tool),
                    _ => say!("click-a-picture-to-open-its"),
                };
                self.only_this_room_ui(ui);
                self.way_to_stop(ui);
                ui.add(egui::Label::new(self.status_text(usual)).truncate());
            });
        });
        ui.add_space(3.0);
    }
}

fn tool_tip(tool: Tool) -> &'static str {
    match tool {
        Tool::Select => say!("drag-to-move-turn-by-the"),
        Tool::Room => say!("click-corners-or-type-a-walls"),
        Tool::Door => say!("click-on-a-wall-to-put"),
        Tool::Window => say!("click-on-a-wall-to-put-label"),
        Tool::Passage => say!("click-on-a-wall-to-open"),
        Tool::Piece => say!("click-where-the-piece-stands"),
        Tool::Board => say!("click-where-the-bounce-board-stands"),
        Tool::Person => say!("click-where-the-person-stands"),
        Tool::Camera => say!("click-where-the-lens-is"),
        Tool::Lamp(_) => say!("click-where-the-lamp-stands"),
        Tool::Outlet => say!("click-where-the-outlet-is"),
    }
}

/// The semi-bold family where it has been loaded.
pub(super) fn family(ui: &Ui) -> egui::FontFamily {
    let bold = bold_family();
    if ui.ctx().fonts(|f| f.families().contains(&bold)) { bold } else { egui::FontFamily::Proportional }
}

pub(crate) fn heading(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).family(family(ui)).size(14.0));
}
