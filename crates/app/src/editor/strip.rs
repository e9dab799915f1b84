//! The shots as pictures down the left side.

use super::aside::Job;
use super::panels::family;
use super::state::Editor;
use super::storyboard::{WHOLE, fitted};
use crate::editor::Command;
use egui::{Align2, Color32, FontId, Rect, RichText, Sense, Stroke, Ui, pos2, vec2};
use std::collections::HashMap;
use std::time::{Duration, Instant};
use tapemark_core::day::worked;
use tapemark_core::frame::{FrameSpec, picture};
use tapemark_core::notices::Severity;
use tapemark_core::plan::{Plan, Shot, ShotId};
use tapemark_words::{figure, say};

/// Width of the strip, and folded to numbers where the window is narrow, points.
pub(super) const STRIP_W: f32 = 168.0;
pub(super) const FOLDED_W: f32 = 56.0;
/// A window narrower than this has the strip folded.
pub(super) const NARROW: f32 = 1100.0;
const PICTURE_W: f32 = 136.0;
const PICTURE_H: f32 = 74.0;
/// Pixels across a picture.
const PIXELS: usize = 272;
/// So long a plan stands before its pictures are made anew.
const STANDS: Duration = Duration::from_millis(600);

/// What was made of a shot.
struct Made {
    size: [usize; 2],
    rgba: Vec<u8>,
    against: usize,
}

/// A shot's picture, and how many things stand against it.
struct Card {
    of: u64,
    texture: Option<egui::TextureHandle>,
    against: usize,
}

/// The strip's own state.
#[derive(Default)]
pub(crate) struct Strip {
    cards: HashMap<ShotId, Card>,
    job: Option<(ShotId, u64, Job<Option<Made>>)>,
    /// The plan that the pictures are of, which one of all it is, and since when it stands.
    plan: Option<Plan>,
    generation: u64,
    since: Option<Instant>,
    /// Shots whose cards were on screen in the last frame.
    seen: Vec<ShotId>,
}

impl Strip {
    /// Whether every card on screen shows the plan as it is.
    pub fn is_ready(&self) -> bool {
        self.job.is_none() && self.next().is_none()
    }

    fn next(&self) -> Option<&ShotId> {
        self.seen.iter().find(|id| self.cards.get(*id).is_none_or(|c| c.of != self.generation))
    }
}

fn make(plan: &Plan, shot: &Shot) -> Option<Made> {
    let w = worked(plan, shot, 0.0);
    let against = w.facts.notices.iter().filter(|n| n.severity == Severity::Problem).count();
    let taken = plan.shot_camera(shot).zip(w.scene.view.as_ref()).and_then(|(camera, view)| {
        let rig = plan.shot_rig(shot);
        let spec = FrameSpec::for_view(view, PIXELS).quick();
        let seen = picture(plan, &w.scene, rig.as_deref(), &w.light, spec)?;
        let d = seen.developed(camera, &plan.exposure, 1);
        Some(([d.width, d.height], d.rgba))
    });
    let (size, rgba) = taken.unwrap_or_default();
    Some(Made { size, rgba, against })
}

impl Editor {
    fn tend_strip(&mut self, ctx: &egui::Context) {
        if let Some((id, of, job)) = &self.strip.job
            && let Some(made) = job.answer()
        {
            let (id, of) = (id.clone(), *of);
            self.strip.job = None;
            let made = made.unwrap_or(Made { size: [0, 0], rgba: Vec::new(), against: 0 });
            let texture = (made.size[0] > 0).then(|| {
                let image = egui::ColorImage::from_rgba_unmultiplied(made.size, &made.rgba);
                ctx.load_texture(format!("shot {id}"), image, egui::TextureOptions::LINEAR)
            });
            self.strip.cards.insert(id, Card { of, texture, against: made.against });
            ctx.request_repaint();
        }
        if self.moving() {
            return;
        }
        if self.strip.plan.as_ref() != Some(&self.plan) {
            self.strip.plan = Some(self.plan.clone());
            self.strip.generation += 1;
            self.strip.since = Some(Instant::now());
            let plan = &self.plan;
            self.strip.cards.retain(|id, _| plan.shot(id).is_some());
        }
        let Some(next) = self.strip.next().filter(|_| self.strip.job.is_none()).cloned() else { return };
        let stood = self.strip.since.map_or(STANDS, |s| s.elapsed());
        if stood < STANDS && !self.patient && !self.strip.cards.is_empty() {
            ctx.request_repaint_after(STANDS - stood);
            return;
        }
        let Some(shot) = self.plan.shot(&next).cloned() else { return };
        let plan = self.plan.clone();
        let job = Job::start(ctx, move || make(&plan, &shot));
        self.strip.job = job.map(|j| (next, self.strip.generation, j));
    }

    /// The strip: a card a shot, in the order of the storyboard.
    pub(super) fn shot_strip(&mut self, ui: &mut Ui, folded: bool) {
        self.tend_strip(&ui.ctx().clone());
        self.strip.seen.clear();
        let mut go = None;
        let mut order: Option<(ShotId, usize)> = None;
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 8.0;
            ui.add_space(4.0);
            for (i, shot) in self.plan.shots.clone().iter().enumerate() {
                let response = if folded { self.folded_card(ui, shot) } else { self.strip_card(ui, shot) };
                if ui.is_rect_visible(response.rect) {
                    self.strip.seen.push(shot.id.clone());
                }
                response.dnd_set_drag_payload(shot.id.clone());
                if let Some(dropped) = response.dnd_release_payload::<ShotId>() {
                    order = Some(((*dropped).clone(), i));
                }
                let tip = format!("{}\n{}", shot.description, say!("drag-to-another-place"));
                if response.on_hover_text(tip.trim().to_string()).clicked() {
                    go = Some(shot.id.clone());
                }
            }
            let word = if folded { "+" } else { say!("new-shot-like-this-label") };
            let new = ui.add_sized(vec2(ui.available_width(), 30.0), egui::Button::new(word));
            new.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, say!("new-shot-like-this-label")));
            if new.clicked() {
                self.run(Command::NewShot, &ui.ctx().clone());
            }
        });
        // The shot looked at comes first.
        if let Some(at) = self.strip.seen.iter().position(|id| *id == self.shot) {
            self.strip.seen.swap(0, at);
        }
        if let Some(id) = go {
            self.commit();
            self.go_to_shot(id);
        }
        if let Some((id, to)) = order {
            self.reorder(&id, to);
        }
    }

    fn card_frame(&self, ui: &Ui, rect: Rect, response: &egui::Response, here: bool) {
        let t = self.look.tokens();
        let stroke = match (here, response.hovered() || response.has_focus()) {
            (true, _) => Stroke::new(2.0, t.accent),
            (false, true) => Stroke::new(1.5, t.accent),
            (false, false) => Stroke::new(1.0, t.line),
        };
        ui.painter().rect(rect.shrink(0.5), 8.0, t.card, stroke, egui::StrokeKind::Inside);
    }

    fn told_of_card(&self, response: &egui::Response, shot: &Shot) {
        let name = format!("{}  {}", shot.name, shot.size.label());
        let here = shot.id == self.shot;
        response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, here, name.clone()));
    }

    /// How many things stand against a shot, as far as it was looked at.
    fn against(&self, shot: &Shot) -> usize {
        if shot.id == self.shot {
            return self.facts.notices.iter().filter(|n| n.severity == Severity::Problem).count();
        }
        self.strip.cards.get(&shot.id).map_or(0, |c| c.against)
    }

    fn badge(&self, ui: &Ui, at: egui::Pos2, count: usize) {
        if count == 0 {
            return;
        }
        let t = self.look.tokens();
        ui.painter().circle_filled(at, 8.0, t.warn);
        let ink = t.on_accent;
        ui.painter().text(at, Align2::CENTER_CENTER, count.min(99), FontId::proportional(10.0), ink);
    }

    fn folded_card(&self, ui: &mut Ui, shot: &Shot) -> egui::Response {
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 34.0), Sense::click_and_drag());
        self.told_of_card(&response, shot);
        self.card_frame(ui, rect, &response, shot.id == self.shot);
        let t = self.look.tokens();
        let font = FontId::new(12.0, family(ui));
        let galley = super::leaves::cut_to(ui, &shot.name, font, t.ink, rect.width() - 10.0);
        ui.painter().galley(rect.center() - galley.size() * 0.5, galley, t.ink);
        self.badge(ui, rect.right_top() + vec2(-6.0, 8.0), self.against(shot));
        response
    }

    fn strip_card(&self, ui: &mut Ui, shot: &Shot) -> egui::Response {
        let t = self.look.tokens();
        let high = PICTURE_H + 50.0;
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), high), Sense::click_and_drag());
        self.told_of_card(&response, shot);
        if !ui.is_rect_visible(rect) {
            return response;
        }
        self.card_frame(ui, rect, &response, shot.id == self.shot);
        let room =
            Rect::from_min_size(rect.min + vec2((rect.width() - PICTURE_W) * 0.5, 6.0), vec2(PICTURE_W, PICTURE_H));
        let painter = ui.painter_at(rect);
        painter.rect_filled(room, 4.0, Color32::BLACK);
        match self.strip.cards.get(&shot.id).and_then(|c| c.texture.as_ref()) {
            Some(texture) => {
                painter.image(texture.id(), fitted(texture, room), WHOLE, super::theme::tint());
            }
            None => {
                let word = if shot.camera.is_none() { say!("no-camera-yet") } else { "…" };
                let at = room.center();
                painter.text(at, Align2::CENTER_CENTER, word, FontId::proportional(11.0), t.on_picture());
            }
        }
        self.badge(ui, room.right_top() + vec2(-10.0, 10.0), self.against(shot));
        let lens = self
            .plan
            .shot_camera(shot)
            .map_or(String::new(), |c| format!("{} mm T{} ", figure(c.lens.focal_mm, 0), figure(c.lens.t_stop, 1)));
        let lines = [
            (
                RichText::new(&shot.name).family(family(ui)).color(t.ink),
                format!("  {}", shot.size.label()),
                room.bottom() + 4.0,
            ),
            (RichText::new(""), format!("{lens}{} s", figure(shot.length_s, 0)), room.bottom() + 21.0),
        ];
        for (i, (bold, rest, y)) in lines.into_iter().enumerate() {
            let mut job = egui::text::LayoutJob::default();
            let bold_font = FontId::new(12.0, family(ui));
            job.append(bold.text(), 0.0, egui::TextFormat { font_id: bold_font, color: t.ink, ..Default::default() });
            let (size, ink) = if i == 0 { (12.0, t.ink) } else { (11.0, t.dim) };
            let font = FontId::proportional(size);
            job.append(&rest, 0.0, egui::TextFormat { font_id: font, color: ink, ..Default::default() });
            job.wrap = egui::text::TextWrapping::truncate_at_width(room.width());
            let galley = ui.fonts_mut(|f| f.layout_job(job));
            painter.galley(pos2(room.left(), y), galley, ink);
        }
        response
    }
}
