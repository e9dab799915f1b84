//! What stands against a shot, and its numbers.

use super::aside::Job;
use super::panels::{family, heading};
use super::state::Editor;
use super::theme::colour;

use egui::{Color32, RichText, Ui};
use tapemark_core::facts::PersonFacts;
use tapemark_core::light::{Goal, Role, Seen, reach};
use tapemark_core::notices::{Notice, Severity};
use tapemark_core::units::{LengthUnit, format_length, format_stop};
use tapemark_sheet::{margin_words, margins_words, person_ink};
use tapemark_words::{figure, say, signed};

impl Editor {
    /// Notices one under the other; the place of one that was clicked.
    pub(super) fn notice_list(&self, ui: &mut Ui, list: &[&Notice]) -> Option<[f64; 2]> {
        let palette = self.look.palette();
        let mut show = None;
        for n in list {
            let (ink, lead) = match n.severity {
                Severity::Hint => (colour(palette.quiet), say!("hint-label")),
                Severity::Problem => (colour(palette.wrong), say!("problem-label")),
                Severity::Caution => (colour(palette.selected), say!("caution-c")),
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
            if response.response.interact(egui::Sense::click()).on_hover_text(say!("click-to-show-it-on-the")).clicked()
            {
                show = n.place_m;
            }
        }
        show
    }

    pub(super) fn numbers(&mut self, ui: &mut Ui) {
        let l = |m: f64| format_length(m, self.plan.length_unit);
        let palette = self.look.palette();
        if let Some(c) = &self.facts.camera {
            heading(
                ui,
                &say!(
                    "name-focal-mm-at-t",
                    name = c.name,
                    focal_mm = figure(c.focal_mm, 0),
                    t_stop = figure(c.t_stop, 1)
                ),
            );
            let behind = c.room_behind_m.map_or(say!("open").into(), l);
            let fits = if c.operator_fits { say!("the-operator-fits") } else { say!("the-operator-does-not-fit") };
            let fits_by = c
                .fits_behind_margin
                .as_ref()
                .map_or(String::new(), |m| format!(" {}", margin_words(m, self.plan.length_unit)));
            let rows = [
                (
                    say!("angle-of-view"),
                    format!("{}° × {}°", figure(c.horizontal_angle_deg, 1), figure(c.vertical_angle_deg, 1)),
                ),
                (
                    say!("in-focus"),
                    say!("from-to", from = l(c.near_m), to = c.far_m.map_or(say!("infinity-word").into(), l)),
                ),
                (say!("focus-close-focus"), format!("{}, {}", l(c.focus_m), l(c.close_focus_m))),
                (say!("behind-the-camera"), format!("{behind}: {fits}{fits_by}")),
                (
                    say!("behind-the-face"),
                    c.background.as_ref().map_or(say!("nothing-lit").into(), |s| {
                        let falls =
                            s.falls_at_stops.map_or(String::new(), |f| say!("f-stops-from-grey", f = signed(f, 1)));
                        let light =
                            say!("luminance-cd-m2-cd-m-falls", luminance_cd_m2 = figure(s.luminance_cd_m2, 0), falls);
                        match s.seen {
                            Seen::Surface => light,
                            Seen::Outside => format!("{}: {light}", s.surface),
                        }
                    }),
                ),
                (
                    say!("a-spot-meter-will-show"),
                    c.background.as_ref().map_or(say!("nothing-lit").into(), |s| {
                        say!(
                            "t-stop-with-k",
                            t_stop = format_stop(s.spot_meter_t_stop),
                            k = figure(self.plan.exposure.spot_k_in_force(), 1)
                        )
                    }),
                ),
                (
                    say!("exposure-wants"),
                    say!(
                        "wanted-lx-per-fc",
                        wanted_lx = figure(c.wanted_lx, 0),
                        lx_per_fc = figure(c.wanted_lx / tapemark_core::units::LX_PER_FC, 0)
                    ),
                ),
            ];
            // Words wrap rather than widen the panel.
            let most = (ui.available_width() * 0.62).max(60.0);
            let grid = egui::Grid::new("camera numbers").num_columns(2).max_col_width(most);
            grid.spacing([10.0, 3.0]).show(ui, |ui| {
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
        let loaded: Vec<_> = self.facts.circuits.iter().filter(|c| c.load_w > 0.0).collect();
        if !loaded.is_empty() {
            ui.add_space(4.0);
            heading(ui, say!("power"));
            for c in loaded {
                ui.label(crate::words::load_text(c));
            }
            ui.weak(say!("local-code-and-a-licensed-electrician"));
        }
    }

    /// Asks for light at a face and offers what reaches it.
    pub(super) fn wish_panel(&mut self, ui: &mut Ui) {
        if self.facts.people.is_empty() {
            return;
        }
        ui.add_space(4.0);
        let people: Vec<_> = self.facts.people.iter().map(|p| (Some(p.person.clone()), p.name.clone())).collect();
        let mut apply = false;
        ui.collapsing(say!("light-wanted-at-a-face"), |ui| {
            let w = &mut self.wish;
            if !people.iter().any(|p| p.0 == w.person) {
                w.person = people[0].0.clone();
            }
            let mut changed = false;
            egui::Grid::new("wish").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
                if let Some(p) = super::fields::choice(ui, say!("face"), &w.person, &people) {
                    w.person = p;
                    changed = true;
                }
                changed |= super::fields::number(ui, say!("key-stop-t"), &mut w.t_stop, 0.7..=22.0, 0.1, "");
                changed |= super::fields::number(ui, say!("key-to-fill"), &mut w.ratio, 1.1..=32.0, 0.1, ":1");
                changed |= super::fields::tick(ui, say!("wall-behind-as-well"), &mut w.wall);
                if w.wall {
                    changed |= super::fields::number(
                        ui,
                        say!("wall-falls-at"),
                        &mut w.background_stops,
                        -6.0..=3.0,
                        0.1,
                        say!("stops-word"),
                    );
                }
            });
            if changed {
                (w.found, w.job) = (None, None);
            }
            if let Some(found) = w.job.as_ref().and_then(Job::answer) {
                (w.found, w.job) = (Some(found), None);
            }
            if ui.add_enabled(w.job.is_none(), egui::Button::new(say!("work-it-out"))).clicked()
                && let Some(person) = w.person.clone()
            {
                let background_stops = w.wall.then_some(w.background_stops);
                let goal = Goal { person, t_stop: w.t_stop, ratio: w.ratio, background_stops };
                let shot = self.plan.shot(&self.shot).unwrap_or(&self.plan.shots[0]).clone();
                let (plan, scene, light) = (self.plan.clone(), self.scene.clone(), self.transport.clone());
                w.found = None;
                w.job = Job::start(ui.ctx(), move || reach(&plan, &shot, &scene, &light, &goal));
            }
            if w.job.is_some() {
                ui.weak(say!("looking"));
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
                    apply = ui.add_enabled(some, egui::Button::new(say!("set-the-lamps-so"))).clicked();
                }
            }
        });
        if apply && let Some(Ok(found)) = self.wish.found.take() {
            self.edit(&found.edit());
        }
    }
}

fn person(ui: &mut Ui, p: &PersonFacts, ink: Color32, [clear, wrong, quiet]: [Color32; 3], unit: LengthUnit) {
    ui.horizontal(|ui| {
        super::leaves::cast_title(ui, ink, &p.name);
        if !p.required {
            ui.weak(say!("face-not-needed-word"));
        }
    });
    let good = p.is_clear();
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
        ui.weak(say!(
            "from-the-sensor-frame-wide",
            unit = format_length(d, unit),
            unit_2 = format_length(w, unit),
            size
        ));
    }
    let margins = margins_words(&p.margins, unit);
    if !margins.is_empty() {
        ui.weak(margins);
    }
    let Some(r) = &p.reading else { return };
    let stops = p.exposure_stops.map_or(String::new(), |s| say!("s-stops-b", s = signed(s, 1)));
    let hue = r.cct_k.map_or(String::new(), |k| format!(", {} K", figure(k, 0)));
    ui.label(say!(
        "illuminance-lx-illuminance-fc-word",
        illuminance_lx = figure(r.illuminance_lx, 0),
        illuminance_fc = figure(r.illuminance_fc, 1),
        t_stop = format_stop(r.t_stop),
        stops,
        hue
    ));
    for part in r.parts.iter().filter(|q| q.role != Role::None) {
        let share = (part.direct_lx + part.bounced_lx) / r.illuminance_lx.max(1e-9);
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(egui::vec2(60.0, 6.0), egui::Sense::hover());
            ui.painter().rect_filled(rect, 2.0, quiet.gamma_multiply(0.35));
            let mut bar = rect;
            bar.set_width(rect.width() * share.clamp(0.0, 1.0) as f32);
            ui.painter().rect_filled(bar, 2.0, ink);
            let words = say!(
                "part-direct-lx-bounced-lx",
                part = part.name,
                direct_lx = figure(part.direct_lx, 0),
                bounced_lx = figure(part.bounced_lx, 0),
                role = part.role_in_words()
            );
            ui.add(egui::Label::new(RichText::new(words).weak()).wrap());
        });
    }
}
