//! Where else the camera could stand, what would keep the faces clear, and how to frame a size.

use super::aside::Job;
use super::state::Editor;
use super::theme::colour;
use egui::{Stroke, Ui};
use glam::DVec2;
use tapemark_core::attempt::{Answer, attempt};
use tapemark_core::blocking::{
    ClearMap, Framing, Lane, Places, Suggestion, clear_map, lens_for_size, moved, place_for_size, suggest, unclear,
};
use tapemark_core::cover::{Cover, cover as all_shots};
use tapemark_core::edit::{Edit, Item};
use tapemark_core::geometry::bearing_dir;
use tapemark_core::notices::failed_text;
use tapemark_core::plan::{PersonId, ShotSize};
use tapemark_words::{figure, say};

/// Cell of the clear-view map, metres.
const CELL_M: f64 = 0.1;

/// The clear-view map and what is suggested.
pub(crate) struct Blocking {
    /// Whether the map is drawn.
    pub shown: bool,
    pub map: Option<ClearMap>,
    pub texture: Option<egui::TextureHandle>,
    map_job: Option<Job<Option<ClearMap>>>,
    map_stale: bool,
    share: f64,
    suggestions: Option<Vec<Suggestion>>,
    /// What was not clear when the suggestions were asked for.
    unclear: Vec<Lane>,
    suggest_job: Option<Job<(Vec<Lane>, Vec<Suggestion>)>>,
    /// The suggestion drawn as a ghost.
    ghost: Option<usize>,
    person: Option<PersonId>,
    size: ShotSize,
    framing: Option<Framing>,
    framing_job: Option<Job<Option<Framing>>>,
    /// What all shots see together; none until asked for.
    all_cover: Option<Cover>,
}

impl Default for Blocking {
    fn default() -> Self {
        Blocking {
            shown: false,
            map: None,
            texture: None,
            map_job: None,
            map_stale: true,
            share: 0.85,
            suggestions: None,
            unclear: Vec::new(),
            suggest_job: None,
            ghost: None,
            person: None,
            size: ShotSize::Medium,
            framing: None,
            framing_job: None,
            all_cover: None,
        }
    }
}

impl Blocking {
    /// The plan or shot changed.
    pub fn touch(&mut self) {
        self.map_stale = true;
        self.suggestions = None;
        self.suggest_job = None;
        self.ghost = None;
        self.framing = None;
        self.framing_job = None;
        self.all_cover = None;
    }

    /// Whether the map drawn is that of the plan as it is.
    pub fn is_current(&self) -> bool {
        self.map.is_some() && !self.map_stale && self.map_job.is_none()
    }
}

impl Editor {
    /// Takes in what was worked out and orders what is missing.
    pub(crate) fn tend_blocking(&mut self, ctx: &egui::Context) {
        if let Some(answer) = self.blocking.map_job.as_ref().and_then(Job::answer) {
            self.blocking.map = answer;
            self.blocking.texture = None;
            self.blocking.map_job = None;
        }
        if let Some(answer) = self.blocking.framing_job.as_ref().and_then(Job::answer) {
            self.blocking.framing = answer;
            self.blocking.framing_job = None;
        }
        if let Some((unclear, answer)) = self.blocking.suggest_job.as_ref().and_then(Job::answer) {
            self.blocking.unclear = unclear;
            self.blocking.ghost = (!answer.is_empty()).then_some(0);
            self.blocking.suggestions = Some(answer);
            self.blocking.suggest_job = None;
        }
        if self.blocking.shown && self.blocking.map_stale && self.blocking.map_job.is_none() && !self.moving() {
            self.refresh();
            let (plan, shot, moments) = (self.plan.clone(), self.current_shot().clone(), self.moments.clone());
            self.blocking.map_stale = false;
            self.blocking.map_job = Job::start(ctx, move || clear_map(&plan, &shot, &moments, CELL_M));
        }
    }

    /// Puts the camera at a place, aimed at the wanted faces; says why when it cannot stand there.
    pub fn stand_camera(&mut self, at: DVec2) -> bool {
        let shot = self.current_shot().clone();
        let Some(camera) = self.plan.shot_camera(&shot).cloned() else { return false };
        let Some(places) = Places::of(&self.plan, &shot, &self.moments) else {
            self.tell(say!("no-face-is-wanted-in-this"));
            return false;
        };
        let aim = places.aim(at);
        if let Some(ruled) = places.ruled_out(at, aim) {
            let why = places.why(at, ruled);
            self.tell(say!("not-here-why", why));
            return false;
        }
        self.edit(&Edit::Put(Item::Camera(moved(&camera, at, aim))))
    }

    /// What the clear-view map says of a place.
    pub(crate) fn clear_text(&self, at: DVec2) -> Option<String> {
        let map = self.blocking.map.as_ref()?;
        let i = map.cell(at)?;
        Some(match map.ruled_out[i] {
            None => say!("faces-at-worst-seen", least = figure(map.least[i] * 100.0, 0)),
            Some(r) => {
                let shot = self.current_shot();
                Places::of(&self.plan, shot, &self.moments).map_or(r.label().into(), |p| p.why(at, r))
            }
        })
    }

    /// Ghosts of the suggestion looked at.
    pub(crate) fn paint_ghost(&self, painter: &egui::Painter) {
        let Some(s) = self.blocking.ghost.and_then(|i| self.blocking.suggestions.as_ref()?.get(i)) else { return };
        let ink = colour(self.look.palette().clear);
        let (from, to) = (DVec2::from_array(s.from_m), DVec2::from_array(s.to_m));
        let (a, b) = (self.view.to_screen(from), self.view.to_screen(to));
        painter.add(egui::Shape::dashed_line(&[a, b], Stroke::new(2.0, ink), 6.0, 4.0));
        painter.circle_stroke(b, (0.22 * self.view.px_per_m).max(10.0) as f32, Stroke::new(2.0, ink));
        if let Edit::Put(Item::Camera(c)) = &s.edit {
            let half = tapemark_core::scene::View::at(c, self.seconds).angles_deg().0 * 0.5;
            for side in [-half, half] {
                let far = to + bearing_dir(c.pan_deg + side) * 3.0;
                painter.line_segment([b, self.view.to_screen(far)], Stroke::new(1.0, ink));
            }
        }
    }

    /// The panel: keep faces clear, frame a size.
    pub(crate) fn blocking_fields(&mut self, ui: &mut Ui) {
        if self.facts.camera.is_none() || self.facts.people.is_empty() {
            return;
        }
        let mut taken: Option<Edit> = None;
        egui::CollapsingHeader::new(say!("keep-the-faces-clear")).default_open(true).show(ui, |ui| {
            let share = self.blocking.share;
            egui::Grid::new("keep clear").num_columns(2).show(ui, |ui| {
                let mut percent = share * 100.0;
                if super::fields::number(ui, say!("seen-at-least"), &mut percent, 5.0..=100.0, 1.0, " %") {
                    self.blocking.share = percent / 100.0;
                    self.blocking.suggestions = None;
                }
            });
            let busy = self.blocking.suggest_job.is_some();
            if ui.add_enabled(!busy, egui::Button::new(say!("find-the-smallest-shift"))).clicked() {
                let (plan, shot, moments) = (self.plan.clone(), self.current_shot().clone(), self.moments.clone());
                self.blocking.suggestions = None;
                self.blocking.suggest_job = Job::start(ui.ctx(), move || {
                    (unclear(&plan, &shot, &moments, share), suggest(&plan, &shot, &moments, share))
                });
            }
            if busy {
                ui.weak(say!("looking"));
            }
            let Some(list) = self.blocking.suggestions.clone() else { return };
            if list.is_empty() {
                for line in crate::words::no_suggestion_lines(&self.blocking.unclear) {
                    ui.label(line);
                }
            }
            for (i, s) in list.iter().enumerate() {
                let mut lines = crate::words::suggestion_lines(s).into_iter();
                ui.horizontal_wrapped(|ui| {
                    let on = self.blocking.ghost == Some(i);
                    let text = lines.next().unwrap_or_default();
                    if ui.selectable_label(on, text).on_hover_text(say!("shows-it-on-the-plan")).clicked() {
                        self.blocking.ghost = Some(i);
                    }
                    if ui.button(say!("do-it")).clicked() {
                        taken = Some(s.edit.clone());
                    }
                });
                for line in lines {
                    ui.colored_label(colour(self.look.palette().wrong), line);
                }
            }
        });
        egui::CollapsingHeader::new(say!("frame-at-a-size")).show(ui, |ui| {
            let people: Vec<_> = self.facts.people.iter().map(|p| (p.person.clone(), p.name.clone())).collect();
            let mut person = match &self.blocking.person {
                Some(p) if people.iter().any(|q| &q.0 == p) => p.clone(),
                _ => people[0].0.clone(),
            };
            egui::Grid::new("frame at").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
                if let Some(p) = super::fields::choice(ui, say!("whom"), &person, &people) {
                    person = p;
                    self.blocking.framing = None;
                }
                let sizes: Vec<_> = ShotSize::ALL.iter().map(|s| (*s, s.label().to_string())).collect();
                if let Some(s) = super::fields::choice(ui, say!("size"), &self.blocking.size, &sizes) {
                    self.blocking.size = s;
                    self.blocking.framing = None;
                }
            });
            self.blocking.person = Some(person.clone());
            let (size, shot) = (self.blocking.size, self.current_shot().clone());
            ui.horizontal_wrapped(|ui| {
                let lens = ui.button(say!("lens-from-here")).clicked();
                let place = ui.button(say!("place-with-this-lens")).clicked();
                if lens || place {
                    let (plan, scene, moments) = (self.plan.clone(), self.scene.clone(), self.moments.clone());
                    self.blocking.framing = None;
                    self.blocking.framing_job = Job::start(ui.ctx(), move || {
                        if lens {
                            lens_for_size(&plan, &shot, &scene, &person, size)
                        } else {
                            place_for_size(&plan, &shot, &scene, &moments, &person, size)
                        }
                    });
                }
            });
            if self.blocking.framing_job.is_some() {
                ui.weak(say!("looking"));
            }
            if let Some(f) = self.blocking.framing.clone() {
                let far = tapemark_core::units::format_length(f.distance_m, self.plan.length_unit);
                ui.label(say!("focal-mm-from-far", focal_mm = figure(f.focal_mm, 0), far));
                for line in crate::words::broken_lines(&f.broken) {
                    ui.colored_label(colour(self.look.palette().wrong), line);
                }
                match &f.refused {
                    Some(why) => {
                        ui.colored_label(colour(self.look.palette().wrong), say!("not-possible-why", why));
                    }
                    None if ui.button(say!("set-it-so")).clicked() => taken = Some(f.edit),
                    None => {}
                }
            }
        });
        if let Some(edit) = taken {
            self.edit(&edit);
        }
        self.cover_fields(ui);
    }

    /// Black cloth over what the lens sees.
    fn cover_fields(&mut self, ui: &mut Ui) {
        if let Some(f) = self.facts.failed.iter().find(|f| f.answer == Answer::Cover) {
            ui.colored_label(colour(self.look.palette().wrong), failed_text(f));
        }
        let Some(cover) = self.facts.cover.clone() else { return };
        egui::CollapsingHeader::new(say!("cloth-over-what-the-lens-sees")).show(ui, |ui| {
            ui.checkbox(&mut self.cover, say!("draw-it-on-the-plan"));
            let mut s = tapemark_core::edit::Settings::of(&self.plan);
            let unit = self.plan.length_unit;
            let mut changed = false;
            egui::Grid::new("roll").num_columns(2).show(ui, |ui| {
                changed = super::fields::length(ui, say!("width-of-the-roll"), &mut s.limits.cloth_roll_m, unit);
            });
            if changed {
                self.edit(&Edit::Settings(Box::new(s)));
            }
            for line in crate::words::cover_lines(&self.plan, &cover) {
                ui.label(line);
            }
            let together = || attempt(Answer::Cover, || all_shots(&self.plan, &self.plan.shots)).unwrap_or_default();
            let all = self.blocking.all_cover.get_or_insert_with(together);
            ui.weak(say!("all-shots-together"));
            for line in crate::words::cover_lines(&self.plan, all).iter().take(2) {
                ui.label(line);
            }
        });
    }
}
