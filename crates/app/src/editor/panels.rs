//! The bar along the top, and the line that says what the hand can do.

use super::command::Command;
use super::icons::{self, Icon};
use super::state::{Editor, Tool};
use super::theme::{Shade, bold_family, colour};

use egui::{RichText, Ui};
use tapemark_core::edit::{Edit, Item, Settings};
use tapemark_core::light::sun_spells;
use tapemark_core::plan::Clock;
use tapemark_core::units::{LengthUnit, format_length};
use tapemark_words::{figure, say};

/// Width of the pages' buttons in the bar, and of what stands at its right end, points.
const PAGES_W: f32 = 300.0;
const ENDS_W: f32 = 210.0;

impl Editor {
    pub(crate) fn menu_bar(&mut self, ui: &mut Ui) {
        let mut run = None;
        let whole = ui.max_rect();
        let middle = whole.center().x.min(whole.right() - ENDS_W - PAGES_W * 0.5);
        ui.add_space(8.0);
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
                item(ui, Command::CrewPage, true);
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
            let star = if self.unsaved() { " •" } else { "" };
            let file = self
                .path
                .as_ref()
                .and_then(|p| p.file_name())
                .map_or(say!("not-saved-yet").into(), |n| n.to_string_lossy().to_string());
            ui.add_space(10.0);
            let title = RichText::new(format!("{}{star}", self.plan.title)).family(family(ui));
            // The title gives way to what can be clicked.
            let room = (middle - PAGES_W * 0.5 - ui.cursor().left() - 12.0).max(40.0);
            ui.scope(|ui| {
                ui.set_max_width(room);
                ui.add(egui::Label::new(title).truncate());
                if ui.available_width() > 60.0 {
                    ui.add(egui::Label::new(RichText::new(file).weak()).truncate());
                }
            });
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let keys = Command::Find.shortcut().map(|s| super::language::keys(s.modifiers, s.logical_key));
                let find = ui.add_sized(egui::vec2(84.0, 26.0), egui::Button::new(keys.unwrap_or_default()));
                let name = Command::Find.label();
                find.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, name));
                icons::beside(ui, find.rect, Icon::Find);
                if find.on_hover_text(name).clicked() {
                    run = Some(Command::Find);
                }
                for (c, icon, label) in [
                    (Command::Redo, Icon::Redo, self.history.redo_label()),
                    (Command::Undo, Icon::Undo, self.history.undo_label()),
                ] {
                    let some = label.is_some();
                    let name = label.map_or_else(|| c.label().to_string(), |l| format!("{}: {l}", c.label()));
                    if icons::button(ui, 26.0, icon, (false, some), &name).on_hover_text(name.clone()).clicked() {
                        run = Some(c);
                    }
                }
                let mut unit = self.plan.length_unit;
                for (u, word) in [(LengthUnit::FeetInches, say!("ft-in")), (LengthUnit::Metres, "m")] {
                    let button = egui::Button::new(word).selected(unit == u);
                    if ui
                        .add_sized(egui::vec2(if u == LengthUnit::Metres { 28.0 } else { 40.0 }, 24.0), button)
                        .clicked()
                    {
                        unit = u;
                    }
                }
                if unit != self.plan.length_unit {
                    let s = Settings { length_unit: unit, ..Settings::of(&self.plan) };
                    self.edit(&Edit::Settings(Box::new(s)));
                }
            });
        });
        // The pages stand in the middle of the bar, or beside the title where it is narrow.
        let rect = egui::Rect::from_center_size(egui::pos2(middle, whole.center().y), egui::vec2(PAGES_W, 28.0));
        ui.scope_builder(egui::UiBuilder::new().max_rect(rect), |ui| {
            let t = self.look.tokens();
            ui.painter().rect(
                rect,
                8.0,
                t.line.gamma_multiply(0.6),
                egui::Stroke::new(1.0, t.line),
                egui::StrokeKind::Inside,
            );
            ui.spacing_mut().item_spacing.x = 2.0;
            ui.horizontal_centered(|ui| {
                ui.add_space(2.0);
                for (page, c) in [
                    (super::state::Page::Plan, Command::ShowPlan),
                    (super::state::Page::Board, Command::ShowBoard),
                    (super::state::Page::Day, Command::ShowDay),
                ] {
                    let wide = egui::vec2((PAGES_W - 8.0) / 3.0, 24.0);
                    if ui.add_sized(wide, egui::Button::selectable(self.page == page, c.label())).clicked() {
                        run = Some(c);
                    }
                }
            });
        });
        if let Some(c) = run {
            self.run(c, &ui.ctx().clone());
        }
    }

    /// The time of day and when the sun comes in.
    pub(super) fn daylight_panel(&mut self, ui: &mut Ui) {
        let Some(day) = self.plan.daylight.clone() else { return };
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
        ui.horizontal(|ui| {
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
                ui.add(egui::Label::new(RichText::new(self.status_text(usual)).weak()).truncate());
            });
        });
    }
}

pub(super) fn tool_tip(tool: Tool) -> &'static str {
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
