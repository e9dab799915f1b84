//! Menus, tools, shots, numbers and the status line.

use super::command::{Command, TOOL_KEYS};
use super::state::{Editor, Tool};
use super::theme::{Shade, bold_family, colour};

use egui::{Color32, RichText, Ui};
use glam::DVec2;
use tapemark_core::edit::{Edit, Item, Settings};
use tapemark_core::facts::PersonFacts;
use tapemark_core::light::{Goal, MapFacing, MapShows, Role, reach, sun_spells};
use tapemark_core::notices::Severity;
use tapemark_core::plan::Clock;
use tapemark_core::units::{LengthUnit, LevelUnit, format_length, format_stop};
use tapemark_sheet::person_ink;

impl Editor {
    pub(crate) fn menu_bar(&mut self, ui: &mut Ui) {
        let mut run = None;
        ui.add_space(2.0);
        egui::MenuBar::new().ui(ui, |ui| {
            let mut item = |ui: &mut Ui, c: Command, enabled: bool| {
                let mut button = egui::Button::new(c.label());
                if let Some(s) = c.shortcut() {
                    button = button.shortcut_text(ui.ctx().format_shortcut(&s));
                }
                if ui.add_enabled(enabled, button).clicked() {
                    run = Some(c);
                    ui.close();
                }
            };
            ui.menu_button("File", |ui| {
                item(ui, Command::New, true);
                item(ui, Command::Open, true);
                ui.menu_button("Open recent", |ui| {
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
            ui.menu_button("Edit", |ui| {
                item(ui, Command::Find, true);
                ui.separator();
                if let Some(label) = self.history.undo_label() {
                    ui.weak(format!("last: {label}"));
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
            ui.menu_button("View", |ui| {
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
                ui.checkbox(&mut self.dimensions, "Room dimensions");
                ui.separator();
                for c in [Command::LargerType, Command::SmallerType] {
                    item(ui, c, true);
                }
                ui.separator();
                ui.label("Look of the window");
                for (shade, name) in Shade::ALL {
                    if ui.radio_value(&mut self.look, shade, name).changed() {
                        self.memory.look = Some(shade);
                        self.memory.write();
                    }
                }
            });
            ui.menu_button("Shot", |ui| {
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
                .map_or("not saved yet".into(), |n| n.to_string_lossy().to_string());
            ui.label(RichText::new(format!("{}{star}", self.plan.title)).family(family(ui)));
            ui.weak(file);
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let mut unit = self.plan.length_unit;
                ui.radio_value(&mut unit, LengthUnit::FeetInches, "ft-in");
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
        heading(ui, "Tools");
        let mut taken = None;
        egui::Grid::new("tools").num_columns(2).min_col_width(76.0).spacing([4.0, 4.0]).show(ui, |ui| {
            for (i, (key, tool, name)) in TOOL_KEYS.iter().enumerate() {
                let on = self.tool == *tool;
                let button = egui::Button::selectable(on, *name).min_size(egui::vec2(76.0, 24.0));
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
                ui.menu_button("Lamp…", |ui| {
                    for class in tapemark_core::plan::HeadClass::ALL {
                        if ui.button(class.label()).clicked() {
                            taken = Some(Tool::Lamp(class));
                            ui.close();
                        }
                    }
                })
                .response
                .on_hover_text("Click where the lamp stands; K takes a soft box");
            });
        });
        if let Some(t) = taken {
            self.take(t);
        }
        ui.add_space(8.0);
        heading(ui, "Shots");
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
        if ui.button("+ New shot like this").clicked() {
            self.run(Command::NewShot, &ui.ctx().clone());
        }
        ui.add_space(8.0);
        heading(ui, "Light over the floor");
        let before = self.light;
        ui.checkbox(&mut self.light.on, "Show");
        ui.add_enabled_ui(self.light.on, |ui| {
            egui::Grid::new("light").num_columns(2).spacing([6.0, 4.0]).show(ui, |ui| {
                super::fields::number(ui, "at height", &mut self.light.height_m, 0.0..=6.0, 0.05, " m");
            });
            ui.horizontal(|ui| {
                ui.selectable_value(&mut self.light.unit, LevelUnit::Stops, "stops");
                ui.selectable_value(&mut self.light.unit, LevelUnit::Lux, "lux");
                ui.selectable_value(&mut self.light.unit, LevelUnit::FootCandles, "fc");
            });
            ui.horizontal(|ui| {
                ui.selectable_value(&mut self.light.shows, MapShows::Level, "level");
                ui.selectable_value(&mut self.light.shows, MapShows::KeyFill, "key:fill");
                ui.selectable_value(&mut self.light.shows, MapShows::Colour, "colour");
            });
            ui.horizontal(|ui| {
                ui.selectable_value(&mut self.light.facing, MapFacing::Lens, "to the lens");
                ui.selectable_value(&mut self.light.facing, MapFacing::Up, "facing up");
            });
        });
        if before != self.light {
            self.touch_moment();
        }
        ui.add_space(4.0);
        let mut clear = self.blocking.shown;
        if ui.checkbox(&mut clear, "Clear view").on_hover_text(CLEAR_VIEW_TIP).changed() {
            self.run(Command::ClearView, &ui.ctx().clone());
        }
        self.daylight_panel(ui);
    }

    /// The time of day and when the sun comes in.
    fn daylight_panel(&mut self, ui: &mut Ui) {
        let Some(day) = self.plan.daylight.clone() else { return };
        ui.add_space(8.0);
        heading(ui, "Daylight");
        let shot = self.current_shot();
        let own = shot.clock;
        let mut minutes = own.unwrap_or(day.clock).minutes;
        ui.spacing_mut().slider_width = 110.0;
        let slider = egui::Slider::new(&mut minutes, 0..=1439)
            .step_by(5.0)
            .custom_formatter(|v, _| Clock { minutes: v as u32 }.to_string())
            .custom_parser(|t| Clock::try_from(t.to_string()).ok().map(|c| f64::from(c.minutes)));
        if ui.add(slider).on_hover_text("Time of day of this shot").changed() {
            let mut shot = self.current_shot().clone();
            shot.clock = Some(Clock { minutes });
            self.edit_live(&Edit::Put(Item::Shot(shot)));
        }
        if let Some(d) = &self.facts.daylight {
            ui.weak(if d.sun.elevation_deg > 0.0 {
                format!("sun {:.0}° up; sky {:.0}, sun {:.0} lx", d.sun.elevation_deg, d.sky_lx, d.sun_lx)
            } else {
                "the sun is down".into()
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

    fn answers(&mut self, ui: &mut Ui) {
        self.notices(ui);
        self.numbers(ui);
    }

    fn notices(&mut self, ui: &mut Ui) {
        let palette = self.look.palette();
        if self.facts.notices.is_empty() {
            ui.label(
                RichText::new("Nothing stands against this shot.").color(colour(palette.clear)).family(family(ui)),
            );
            return;
        }
        let mut show = None;
        for n in &self.facts.notices {
            let (ink, lead) = match n.severity {
                Severity::Hint => (colour(palette.quiet), "Hint"),
                Severity::Problem => (colour(palette.wrong), "Problem"),
                Severity::Caution => (colour(palette.selected), "Caution"),
            };
            let response = egui::Frame::NONE
                .stroke(egui::Stroke::new(1.0, ink))
                .corner_radius(4.0)
                .inner_margin(6.0)
                .show(ui, |ui| {
                    ui.set_width(ui.available_width());
                    ui.label(RichText::new(format!("{lead}: {}", n.what)).color(ink).family(family(ui)));
                    ui.label(&n.remedy);
                });
            if response.response.interact(egui::Sense::click()).on_hover_text("Click to show it on the plan").clicked()
            {
                show = n.place_m;
            }
        }
        if let Some(p) = show {
            self.view.centre = DVec2::from_array(p);
        }
    }

    fn numbers(&mut self, ui: &mut Ui) {
        let l = |m: f64| format_length(m, self.plan.length_unit);
        let palette = self.look.palette();
        if let Some(c) = &self.facts.camera {
            heading(ui, &format!("{}: {:.0} mm at T{:.1}", c.name, c.focal_mm, c.t_stop));
            let behind = c.room_behind_m.map_or("open".into(), l);
            let fits = if c.operator_fits { "the operator fits" } else { "the operator does not fit" };
            let rows = [
                ("angle of view", format!("{:.1}° × {:.1}°", c.horizontal_angle_deg, c.vertical_angle_deg)),
                ("in focus", format!("{} to {}", l(c.near_m), c.far_m.map_or("infinity".into(), l))),
                ("focus, close focus", format!("{}, {}", l(c.focus_m), l(c.close_focus_m))),
                ("behind the camera", format!("{behind}: {fits}")),
                (
                    "behind the face",
                    c.background.as_ref().map_or("nothing lit".into(), |s| {
                        let falls = s.falls_at_stops.map_or(String::new(), |f| format!(", {f:+.1} stops from grey"));
                        format!("{:.0} cd/m²{falls}", s.luminance_cd_m2)
                    }),
                ),
                (
                    "exposure wants",
                    format!("{:.0} lx ({:.0} fc)", c.wanted_lx, c.wanted_lx / tapemark_core::units::LX_PER_FC),
                ),
            ];
            egui::Grid::new("camera numbers").num_columns(2).spacing([10.0, 3.0]).show(ui, |ui| {
                for (name, value) in rows {
                    super::fields::taught(ui.weak(name), name);
                    ui.label(value);
                    ui.end_row();
                }
            });
        }
        for p in &self.facts.people {
            ui.add_space(4.0);
            let n = self.plan.cast.iter().position(|c| c.id == p.person).unwrap_or(0);
            person(
                ui,
                p,
                colour(person_ink(n)),
                [colour(palette.clear), colour(palette.wrong), colour(palette.quiet)],
                self.plan.length_unit,
            );
        }
        self.blocking_fields(ui);
        self.wish_panel(ui);
        let loaded: Vec<_> = self.facts.circuits.iter().filter(|c| c.load_w > 0.0).collect();
        if !loaded.is_empty() {
            ui.add_space(4.0);
            heading(ui, "Power");
            for c in loaded {
                ui.label(format!(
                    "{}: {:.0} W, {:.1} A of {:.1} A continuous",
                    c.name, c.load_w, c.current_a, c.limit_a
                ));
            }
            ui.weak("Local code and a licensed electrician decide.");
        }
    }

    /// Asks for light at a face and offers what reaches it.
    fn wish_panel(&mut self, ui: &mut Ui) {
        if self.facts.people.is_empty() {
            return;
        }
        ui.add_space(4.0);
        let people: Vec<_> = self.facts.people.iter().map(|p| (Some(p.person.clone()), p.name.clone())).collect();
        let mut apply = false;
        ui.collapsing("Light wanted at a face", |ui| {
            let w = &mut self.wish;
            if !people.iter().any(|p| p.0 == w.person) {
                w.person = people[0].0.clone();
            }
            let mut changed = false;
            egui::Grid::new("wish").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
                if let Some(p) = super::fields::choice(ui, "Face", &w.person, &people) {
                    w.person = p;
                    changed = true;
                }
                changed |= super::fields::number(ui, "Key stop T", &mut w.t_stop, 0.7..=22.0, 0.1, "");
                changed |= super::fields::number(ui, "Key to fill", &mut w.ratio, 1.1..=32.0, 0.1, ":1");
                changed |= super::fields::tick(ui, "Wall behind as well", &mut w.wall);
                if w.wall {
                    changed |=
                        super::fields::number(ui, "Wall falls at", &mut w.background_stops, -6.0..=3.0, 0.1, " stops");
                }
            });
            if changed {
                w.found = None;
            }
            if ui.button("Work it out").clicked()
                && let Some(person) = w.person.clone()
            {
                let background_stops = w.wall.then_some(w.background_stops);
                let goal = Goal { person, t_stop: w.t_stop, ratio: w.ratio, background_stops };
                let shot = self.plan.shot(&self.shot).unwrap_or(&self.plan.shots[0]);
                w.found = Some(reach(&self.plan, shot, &self.scene, &self.transport, &goal));
            }
            match &w.found {
                None => {}
                Some(Err(why)) => {
                    ui.label(why);
                }
                Some(Ok(found)) => {
                    for line in crate::words::goal_lines(&self.plan, found) {
                        ui.label(line);
                    }
                    let some = !found.changes.is_empty();
                    apply = ui.add_enabled(some, egui::Button::new("Set the lamps so")).clicked();
                }
            }
        });
        if apply && let Some(Ok(found)) = self.wish.found.take() {
            self.edit(&found.edit());
        }
    }

    pub(crate) fn status_bar(&mut self, ui: &mut Ui) {
        let wrong = colour(self.look.palette().wrong);
        for word in [&self.safety.read_only, &self.safety.trouble].into_iter().flatten() {
            ui.colored_label(wrong, word);
        }
        if self.page == super::state::Page::Day {
            ui.label(
                self.told.as_deref().unwrap_or("Whatever is changed is worked out again; Ctrl+E writes the paper"),
            );
            return;
        }
        ui.add_space(3.0);
        ui.horizontal(|ui| {
            let word = if self.playing { "Halt" } else { "Run" };
            if ui.button(word).on_hover_text("Run the move (space)").clicked() {
                self.playing = !self.playing;
            }
            let length = self.current_shot().length_s;
            let mut t = self.seconds.min(length);
            ui.spacing_mut().slider_width = 260.0;
            let slider = ui.add(egui::Slider::new(&mut t, 0.0..=length).suffix(" s").max_decimals(1).text("time"));
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
            if let Some(p) = self.pointer {
                let unit = self.plan.length_unit;
                ui.weak(format!("east {}, north {}", format_length(p.x, unit), format_length(p.y, unit)));
                if let Some(text) = self.level_text(p).filter(|_| self.light.on) {
                    ui.label(text);
                }
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let usual = match self.page {
                    super::state::Page::Plan => tool_tip(self.tool),
                    _ => "Click a picture to open its shot",
                };
                let text = self.told.clone().unwrap_or_else(|| usual.to_string());
                ui.add(egui::Label::new(text).truncate());
            });
        });
        ui.add_space(3.0);
    }
}

const CLEAR_VIEW_TIP: &str =
    "Every place of the floor by the least seen of the faces wanted; double-click a place and the camera goes there";

fn tool_tip(tool: Tool) -> &'static str {
    match tool {
        Tool::Select => "Drag to move, turn by the round handle, shift-click for several",
        Tool::Room => "Click corners, or type a wall's length and press Enter",
        Tool::Door => "Click on a wall to put a door in it",
        Tool::Window => "Click on a wall to put a window in it",
        Tool::Passage => "Click on a wall to open a passage",
        Tool::Piece => "Click where the piece stands",
        Tool::Board => "Click where the bounce board stands: it turns to the people",
        Tool::Person => "Click where the person stands",
        Tool::Camera => "Click where the lens is",
        Tool::Lamp(_) => "Click where the lamp stands",
        Tool::Outlet => "Click where the outlet is",
    }
}

/// The semi-bold family where it has been loaded.
fn family(ui: &Ui) -> egui::FontFamily {
    let bold = bold_family();
    if ui.ctx().fonts(|f| f.families().contains(&bold)) { bold } else { egui::FontFamily::Proportional }
}

pub(crate) fn heading(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).family(family(ui)).size(14.0));
}

fn person(ui: &mut Ui, p: &PersonFacts, ink: Color32, [clear, wrong, quiet]: [Color32; 3], unit: LengthUnit) {
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(egui::vec2(10.0, 10.0), egui::Sense::hover());
        ui.painter().circle_filled(rect.center(), 5.0, ink);
        heading(ui, &p.name);
        if !p.required {
            ui.weak("face not needed");
        }
    });
    let good = p.sight == "clear";
    ui.label(RichText::new(format!("{}: {}", p.name, p.sight)).color(if good {
        clear
    } else if p.required {
        wrong
    } else {
        quiet
    }));
    if let (Some(d), Some(w)) = (p.distance_m, p.field_width_m) {
        let size = p
            .size
            .filter(|_| p.in_frame_share.unwrap_or(0.0) > 0.0)
            .map_or(String::new(), |s| format!(", {}", s.label()));
        ui.weak(format!("{} from the lens, frame {} wide{size}", format_length(d, unit), format_length(w, unit)));
    }
    let Some(r) = &p.reading else { return };
    let stops = p.exposure_stops.map_or(String::new(), |s| format!(" ({s:+.1} stops)"));
    let hue = r.cct_k.map_or(String::new(), |k| format!(", {k:.0} K"));
    ui.label(format!("{:.0} lx, {:.1} fc, {}{stops}{hue}", r.illuminance_lx, r.illuminance_fc, format_stop(r.t_stop)));
    for part in r.parts.iter().filter(|q| q.role != Role::None) {
        let role = match part.role {
            Role::Key => "key",
            Role::Fill => "fill",
            Role::Back => "back",
            Role::None => "",
        };
        let share = (part.direct_lx + part.bounced_lx) / r.illuminance_lx.max(1e-9);
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(egui::vec2(60.0, 6.0), egui::Sense::hover());
            ui.painter().rect_filled(rect, 2.0, quiet.gamma_multiply(0.35));
            let mut bar = rect;
            bar.set_width(rect.width() * share.clamp(0.0, 1.0) as f32);
            ui.painter().rect_filled(bar, 2.0, ink);
            ui.weak(format!("{}: {:.0} + {:.0} lx bounced, {role}", part.name, part.direct_lx, part.bounced_lx));
        });
    }
}
