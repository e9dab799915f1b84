//! The storyboard as cards: order, variants, pictures, and two shots side by side.

use super::dialogs::{Ask, Wanted};
use super::state::{Editor, Page};
use super::storyboard::{WHOLE, fitted};
use super::theme::{bold_family, colour};
use crate::files;
use crate::words::difference_text;
use egui::{Align2, Color32, FontId, Rect, RichText, Sense, Ui, vec2};
use glam::DVec2;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use tapemark_core::continuity::{Match, matched_lit};
use tapemark_core::day::worked;
use tapemark_core::edit::{Edit, Item, ItemRef};
use tapemark_core::frame::{FrameSpec, picture};
use tapemark_core::plan::{Plan, Shot, ShotId};
use tapemark_core::units::{format_length, format_stop};
use tapemark_sheet::{Mark, Palette, PlanLook, plan_marks, shot_extent};
use tapemark_words::{figure, say, signed};

/// What was made of the shots in the background.
struct Made {
    plan: Plan,
    frames: Vec<(ShotId, usize, usize, Vec<u8>)>,
    plans: HashMap<ShotId, Drawn>,
    lines: HashMap<ShotId, Vec<(String, String)>>,
    pair: Option<(ShotId, ShotId, Vec<Match>)>,
}

/// A shot's plan as drawn, and its corners, metres.
type Drawn = (Vec<Mark>, [DVec2; 2]);

/// The board's own state.
#[derive(Default)]
pub(crate) struct Board {
    /// Shots to be compared, in the order they were chosen; at most two.
    pub compared: Vec<ShotId>,
    /// The card a dropped picture falls on.
    pub under_pointer: Option<ShotId>,
    job: Option<Receiver<Made>>,
    asked: Option<(Plan, Vec<ShotId>)>,
    frames: HashMap<ShotId, egui::TextureHandle>,
    lines: HashMap<ShotId, Vec<(String, String)>>,
    pair: Option<(ShotId, ShotId, Vec<Match>)>,
    plans: HashMap<ShotId, Drawn>,
    pictures: HashMap<PathBuf, Option<egui::TextureHandle>>,
}

impl Board {
    /// Makes everything anew.
    pub fn touch(&mut self) {
        self.asked = None;
    }

    /// Whether everything shown is of the plan as it is.
    pub fn is_ready(&self) -> bool {
        self.job.is_none() && self.asked.is_some()
    }
}

/// Scale that words keep apart at in compared plans, paper millimetres a metre.
const COMPARED_MM_PER_M: f64 = 14.0;
const CARD_W: f32 = 232.0;
const PICTURE_H: f32 = 126.0;
/// Pixels across a card's picture of what the lens sees.
const PIXELS: usize = 464;

fn make(plan: Plan, compared: &[ShotId], palette: Palette) -> Made {
    let mut plans = HashMap::new();
    let mut frames = Vec::new();
    let mut lines = HashMap::new();
    for shot in &plan.shots {
        let w = worked(&plan, shot, 0.0);
        if let (Some(camera), Some(view)) = (plan.shot_camera(shot), &w.scene.view) {
            let spec = FrameSpec::for_view(view, PIXELS);
            let rig = plan.shot_rig(shot);
            if let Some(p) = picture(&plan, &w.scene, rig.as_deref(), &w.light, spec) {
                let d = p.developed(camera, &plan.exposure, 1);
                frames.push((shot.id.clone(), d.width, d.height, d.rgba));
            }
        }
        if compared.contains(&shot.id) {
            let look = PlanLook { palette, taping: false, dimensions: false, ..PlanLook::paper(COMPARED_MM_PER_M) };
            let (low, high) = shot_extent(&plan, shot);
            plans.insert(shot.id.clone(), (plan_marks(&plan, shot, &w.scene, &w.facts, &look), [low, high]));
        }
        let l = |m: f64| format_length(m, plan.length_unit);
        let mut rows: Vec<(String, String)> = Vec::new();
        if let Some(c) = &w.facts.camera {
            rows.push((
                say!("lens").into(),
                say!(
                    "focal-mm-t-stop-word",
                    focal_mm = figure(c.focal_mm, 0),
                    t_stop = figure(c.t_stop, 1),
                    position_m = l(c.position_m[2])
                ),
            ));
            rows.push((
                say!("angle-of-view").into(),
                format!("{}° × {}°", figure(c.horizontal_angle_deg, 1), figure(c.vertical_angle_deg, 1)),
            ));
            let far = c.far_m.map_or(say!("infinity-word").into(), l);
            rows.push((say!("in-focus").into(), say!("from-to", from = l(c.near_m), to = far)));
            let behind = c.background.as_ref().and_then(|b| b.falls_at_stops);
            rows.push((
                say!("wall-behind-word").into(),
                behind.map_or(say!("nothing-lit").into(), |s| say!("so-many-stops", stops = signed(s, 1))),
            ));
        }
        for p in &w.facts.people {
            let light = p.reading.as_ref().map_or(say!("no-light").into(), |r| {
                let stops = p.exposure_stops.map_or(String::new(), |s| format!(" ({})", signed(s, 1)));
                let k = r.cct_k.map_or(String::new(), |k| format!(", {} K", figure(k, 0)));
                say!(
                    "level-and-stop",
                    illuminance_lx = figure(r.illuminance_lx, 0),
                    t_stop = format_stop(r.t_stop),
                    stops,
                    colour = k
                )
            });
            rows.push((p.name.clone(), light));
        }
        rows.push((say!("notices-word").into(), w.facts.notices.len().to_string()));
        lines.insert(shot.id.clone(), rows);
    }
    let pair = match compared {
        [a, b] => plan.shot(a).zip(plan.shot(b)).map(|(x, y)| {
            let lit = |s| tapemark_core::continuity::Lit::of(&plan, s, 0.0);
            (a.clone(), b.clone(), matched_lit(&plan, &lit(x), &lit(y)))
        }),
        _ => None,
    };
    Made { plan, frames, plans, lines, pair }
}

impl Editor {
    fn tend_board(&mut self, ctx: &egui::Context) {
        if let Some(made) = self.board.job.as_ref().and_then(|j| j.try_recv().ok()) {
            self.board.job = None;
            for (id, w, h, rgba) in made.frames {
                let image = egui::ColorImage::from_rgba_unmultiplied([w, h], &rgba);
                let name = format!("card {id}");
                self.board.frames.insert(id, ctx.load_texture(name, image, egui::TextureOptions::LINEAR));
            }
            self.board.lines = made.lines;
            self.board.plans = made.plans;
            self.board.pair = made.pair;
            // What came is of the plan it was asked for; a change since then asks again below.
            let compared = self.board.asked.take().map(|a| a.1).unwrap_or_default();
            self.board.asked = Some((made.plan, compared));
        }
        let fits = self.board.asked.as_ref().is_some_and(|(p, c)| *p == self.plan && *c == self.board.compared);
        if !fits && self.board.job.is_none() && !self.moving() {
            let (send, receive) = channel();
            let (plan, compared, ctx) = (self.plan.clone(), self.board.compared.clone(), ctx.clone());
            let palette = self.look.palette();
            self.board.asked = Some((plan.clone(), compared.clone()));
            let started = std::thread::Builder::new().name("board".into()).spawn(move || {
                if send.send(super::aside::in_pool(|| make(plan, &compared, palette))).is_ok() {
                    ctx.request_repaint();
                }
            });
            self.board.job = started.is_ok().then_some(receive);
        }
    }

    /// The board fills the window's middle.
    pub(crate) fn show_board(&mut self, ui: &mut Ui) {
        self.tend_board(&ui.ctx().clone());
        self.board.under_pointer = None;
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.add_space(8.0);
            if self.board.compared.len() == 2 {
                self.compare(ui);
                ui.separator();
            }
            let mut order: Option<(ShotId, usize)> = None;
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing = vec2(10.0, 10.0);
                for (i, shot) in self.plan.shots.clone().iter().enumerate() {
                    let card = self.card(ui, i, shot);
                    if ui.rect_contains_pointer(card.rect) {
                        self.board.under_pointer = Some(shot.id.clone());
                    }
                    if let Some(dropped) = card.dnd_release_payload::<ShotId>() {
                        order = Some(((*dropped).clone(), i));
                    }
                }
            });
            if let Some((id, to)) = order {
                self.reorder(&id, to);
            }
            ui.add_space(8.0);
            ui.weak(say!("drag-a-card-to-put-it"));
        });
    }

    /// Puts a shot at a place of the storyboard.
    pub(super) fn reorder(&mut self, id: &ShotId, to: usize) {
        let mut ids: Vec<ShotId> = self.plan.shots.iter().map(|s| s.id.clone()).collect();
        let Some(from) = ids.iter().position(|x| x == id) else { return };
        let moved = ids.remove(from);
        ids.insert(to.min(ids.len()), moved);
        self.edit(&Edit::OrderShots(ids));
    }

    fn card(&mut self, ui: &mut Ui, i: usize, shot: &Shot) -> egui::Response {
        let t = self.look.tokens();
        let here = shot.id == self.shot;
        let stroke = if here { t.accent } else { t.line };
        let frame = egui::Frame::NONE
            .fill(t.card)
            .stroke(egui::Stroke::new(if here { 2.0 } else { 1.0 }, stroke))
            .corner_radius(8.0)
            .inner_margin(6.0);
        let mut action = None;
        let whole = frame.show(ui, |ui| {
            ui.set_width(CARD_W);
            ui.vertical(|ui| {
                let (rect, response) = ui.allocate_exact_size(vec2(CARD_W, PICTURE_H), Sense::click_and_drag());
                self.card_picture(ui, rect, shot);
                response.widget_info(|| {
                    egui::WidgetInfo::labeled(egui::Role::Button, true, say!("picture-of-shot", shot = shot.name))
                });
                response.dnd_set_drag_payload(shot.id.clone());
                if response.on_hover_text(say!("click-to-open-the-shot-drag")).clicked() {
                    action = Some(CardAction::Open);
                }
                let family = bold_family();
                let known = ui.ctx().fonts(|f| f.families().contains(&family));
                let mut title = RichText::new(format!("{}  {}", shot.name, shot.size.label()));
                if known {
                    title = title.family(family);
                }
                ui.label(title);
                let camera = self.plan.shot_camera(shot);
                let lens = camera.map_or(say!("no-camera-yet").into(), |c| {
                    say!(
                        "name-focal-mm-t-word",
                        name = c.name,
                        focal_mm = figure(c.lens.focal_mm, 0),
                        t_stop = figure(c.lens.t_stop, 1)
                    )
                });
                let rig = self.plan.rig(&shot.rig).map_or("", |r| r.name.as_str());
                let own =
                    if shot.lamps.is_empty() { String::new() } else { say!("lamps-own", lamps = shot.lamps.len()) };
                ui.add(egui::Label::new(format!("{}; {} s", lens, figure(shot.length_s, 0))).truncate());
                ui.add(egui::Label::new(RichText::new(format!("{rig}{own}")).weak()).truncate());
                if let Some(of) = shot.variant_of.as_ref().and_then(|id| self.plan.shot(id)) {
                    ui.add(egui::Label::new(say!("another-way-of", of = of.name)).truncate());
                }
                let words = if shot.notes.is_empty() { &shot.description } else { &shot.notes };
                ui.add(egui::Label::new(words.as_str()).truncate());
                ui.horizontal_wrapped(|ui| {
                    ui.spacing_mut().item_spacing = vec2(4.0, 4.0);
                    let mut button = |ui: &mut Ui, text: &str, tip: String, on: bool, a: CardAction| {
                        let b = ui.add_enabled(on, egui::Button::new(text).small());
                        b.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, on, tip.clone()));
                        if b.on_hover_text(tip).clicked() {
                            action = Some(a);
                        }
                    };
                    let n = &shot.name;
                    button(ui, "←", say!("shot-n-earlier", n), i > 0, CardAction::Earlier);
                    button(ui, "→", say!("shot-n-later", n), i + 1 < self.plan.shots.len(), CardAction::Later);
                    button(ui, say!("variant"), say!("another-way-of-shot", n), true, CardAction::Variant);
                    let on = self.board.compared.contains(&shot.id);
                    button(
                        ui,
                        if on { say!("side-by-side") } else { say!("side-by-side-label") },
                        say!("compare-shot-n", n),
                        true,
                        CardAction::Compare,
                    );
                });
            });
        });
        match action {
            None => {}
            Some(CardAction::Open) => {
                self.commit();
                self.go_to_shot(shot.id.clone());
                self.page = Page::Plan;
            }
            Some(CardAction::Earlier) => self.reorder(&shot.id, i - 1),
            Some(CardAction::Later) => self.reorder(&shot.id, i + 1),
            Some(CardAction::Variant) => self.make_variant(&shot.id.clone()),
            Some(CardAction::Compare) => {
                let list = &mut self.board.compared;
                if let Some(at) = list.iter().position(|x| *x == shot.id) {
                    list.remove(at);
                } else {
                    if list.len() == 2 {
                        list.remove(0);
                    }
                    list.push(shot.id.clone());
                }
            }
        }
        whole.response
    }

    /// A copy of a shot with its own camera place and marks, named after it, right behind it.
    pub fn make_variant(&mut self, of: &ShotId) {
        let Some(at) = self.plan.shots.iter().position(|s| &s.id == of) else { return };
        let from = self.plan.shots[at].clone();
        let first = from.variant_of.clone().unwrap_or_else(|| from.id.clone());
        let n = self.plan.shots.iter().filter(|s| s.variant_of.as_ref() == Some(&first)).count();
        let letter = char::from(b'b' + (n.min(24) as u8));
        let name = self.plan.shot(&first).map_or("?", |s| s.name.as_str()).to_string();
        let mut shot = from.clone();
        shot.id = self.plan.fresh_id("shot").into();
        shot.name = format!("{name}{letter}");
        shot.variant_of = Some(first);
        for m in &mut shot.marks {
            m.id = format!("{}-{}", shot.id, m.id).into();
        }
        for l in &mut shot.lamps {
            l.fixture.id = format!("{}-{}", shot.id, l.fixture.id).into();
        }
        let mut edits = Vec::new();
        if let Some(mut camera) = self.plan.shot_camera(&from).cloned() {
            camera.id = self.plan.fresh_id("camera").into();
            camera.name = format!("{} {}", camera.name, shot.name);
            shot.camera = Some(camera.id.clone());
            edits.push(Edit::Put(Item::Camera(camera)));
        }
        let id = shot.id.clone();
        edits.push(Edit::Put(Item::Shot(shot)));
        let mut ids: Vec<ShotId> = self.plan.shots.iter().map(|s| s.id.clone()).collect();
        ids.insert(at + 1, id.clone());
        edits.push(Edit::OrderShots(ids));
        if self.edit(&Edit::Together { label: say!("variant-of-shot-name", name), edits }) {
            self.go_to_shot(id);
        }
    }

    fn board_texture(&mut self, ctx: &egui::Context, shot: &Shot) -> Option<egui::TextureHandle> {
        let name = shot.picture.as_ref()?;
        let file = self.path.as_ref()?.parent()?.join(name);
        let made = self.board.pictures.entry(file.clone()).or_insert_with(|| {
            let p = files::picture(&file).ok()?;
            let p = image::imageops::thumbnail(
                &p,
                640.min(p.width()),
                (640 * p.height() / p.width().max(1)).max(1).min(p.height()),
            );
            let size = [p.width() as usize, p.height() as usize];
            let image = egui::ColorImage::from_rgba_unmultiplied(size, p.as_raw());
            Some(ctx.load_texture("board picture", image, egui::TextureOptions::LINEAR))
        });
        made.clone()
    }

    fn card_picture(&mut self, ui: &Ui, rect: Rect, shot: &Shot) {
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, 3.0, Color32::from_gray(18));
        let board = self.board_texture(ui.ctx(), shot);
        let seen = self.board.frames.get(&shot.id).cloned();
        let paint = |t: &egui::TextureHandle, rect: Rect| {
            painter.image(t.id(), fitted(t, rect), WHOLE, super::theme::tint());
        };
        match (&board, &seen) {
            (Some(b), Some(f)) => {
                // The drawing on the left, what the lens sees on the right.
                let (l, r) = rect.split_left_right_at_fraction(0.5);
                paint(b, l);
                paint(f, r);
            }
            (Some(t), None) | (None, Some(t)) => paint(t, rect),
            (None, None) => {
                let text = if shot.camera.is_none() { say!("no-camera-yet") } else { "…" };
                painter.text(rect.center(), Align2::CENTER_CENTER, text, FontId::proportional(13.0), Color32::GRAY);
            }
        }
    }

    /// Two shots side by side: picture, lens, readings, and what differs at a face.
    fn compare(&mut self, ui: &mut Ui) {
        let ids = self.board.compared.clone();
        let shots: Vec<Shot> = ids.iter().filter_map(|id| self.plan.shot(id).cloned()).collect();
        let [a, b] = &shots[..] else {
            self.board.compared.retain(|id| self.plan.shot(id).is_some());
            return;
        };
        let width = ((ui.available_width() - 30.0) / 2.0).clamp(200.0, 560.0);
        ui.horizontal_top(|ui| {
            for shot in [a, b] {
                ui.vertical(|ui| {
                    ui.set_width(width);
                    ui.strong(say!("shot-size", shot = shot.name, size = shot.size.label()));
                    let (rect, _) = ui.allocate_exact_size(vec2(width, width * 0.5), Sense::hover());
                    self.card_picture(ui, rect, shot);
                    self.compared_plan(ui, &shot.id, vec2(width, width * 0.6));
                    let rows = self.board.lines.get(&shot.id).cloned().unwrap_or_default();
                    egui::Grid::new(("compared", shot.id.as_str())).num_columns(2).spacing([12.0, 2.0]).show(
                        ui,
                        |ui| {
                            for (name, value) in rows {
                                ui.weak(name);
                                ui.label(value);
                                ui.end_row();
                            }
                        },
                    );
                });
                ui.add_space(10.0);
            }
        });
        let palette = self.look.palette();
        match &self.board.pair {
            Some((x, y, found)) if *x == a.id && *y == b.id => {
                if found.is_empty() {
                    ui.weak(say!("no-face-is-turned-to-the"));
                }
                for m in found {
                    ui.strong(say!(
                        "name-light-matches",
                        name = m.name,
                        matches = if m.matches { say!("matches") } else { say!("does-not-match-verdict") }
                    ));
                    for d in &m.differences {
                        let ink = if d.within { palette.ink } else { palette.wrong };
                        ui.label(RichText::new(difference_text(d)).color(colour(ink)));
                    }
                }
            }
            _ => {
                ui.weak(say!("comparing"));
            }
        }
        ui.horizontal(|ui| {
            if ui.button(say!("put-away")).clicked() {
                self.board.compared.clear();
            }
            let variant = b.variant_of.as_ref() == Some(&a.id) || a.variant_of.as_ref() == Some(&b.id);
            for (keep, drop) in [(a, b), (b, a)] {
                if variant && ui.button(say!("keep-delete-drop", keep = keep.name, drop = drop.name)).clicked() {
                    self.keep_variant(keep.clone(), drop);
                }
            }
        });
    }

    fn compared_plan(&self, ui: &mut Ui, shot: &ShotId, size: egui::Vec2) {
        let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, 3.0, colour(self.look.palette().paper));
        let Some((marks, [low, high])) = self.board.plans.get(shot) else { return };
        let span = (*high - *low).max(DVec2::splat(0.5)) * 1.12;
        let px_per_m = (f64::from(rect.width()) / span.x).min(f64::from(rect.height()) / span.y);
        let middle = (*low + *high) * 0.5;
        super::draw::paint(&painter, marks, |p| {
            let d = (p - middle) * px_per_m;
            rect.center() + vec2(d.x as f32, -d.y as f32)
        });
    }

    /// One of two ways is kept: the other is deleted and the kept one is nobody's variant.
    fn keep_variant(&mut self, mut keep: Shot, drop: &Shot) {
        keep.variant_of = None;
        self.board.compared.clear();
        let edits = vec![Edit::Remove(vec![ItemRef::Shot(drop.id.clone())]), Edit::Put(Item::Shot(keep.clone()))];
        if self.edit(&Edit::Together { label: say!("keep-shot-keep", keep = keep.name), edits }) {
            self.go_to_shot(keep.id);
        }
    }

    /// Keeps a picture as a shot's storyboard.
    pub(crate) fn set_storyboard(&mut self, shot: &ShotId, from: &Path) {
        let Some(plan) = self.path.clone() else {
            self.tell(say!("save-the-plan-first-the-picture"));
            return;
        };
        let what = say!("reading-path", path = files::name_of(from));
        let (shot, from, beside) = (shot.clone(), from.to_path_buf(), plan.clone());
        let (of, picture) = (shot.clone(), from.clone());
        self.send(
            what,
            move || files::keep_picture(&beside, of.as_str(), &picture),
            move |editor, kept| match kept {
                // Meanwhile the plan was saved elsewhere: the picture goes there too.
                Ok(_) if editor.path.as_ref() != Some(&plan) => editor.set_storyboard(&shot, &from),
                Ok(name) => {
                    let Some(mut s) = editor.plan.shot(&shot).cloned() else { return };
                    s.picture = Some(name);
                    editor.board.pictures.clear();
                    editor.storyboard.forget();
                    editor.edit(&Edit::Put(Item::Shot(s)));
                }
                Err(e) => editor.ask = Some(Ask::Trouble(e)),
            },
        );
    }

    /// Asks for a shot's storyboard picture.
    pub(crate) fn choose_storyboard(&mut self) {
        if self.path.is_none() {
            self.tell(say!("save-the-plan-first-the-picture"));
            return;
        }
        let shot = self.shot.clone();
        self.choose(Wanted::Picture, "", move |editor, from| editor.set_storyboard(&shot, &from));
    }
}

#[derive(Clone, Copy)]
enum CardAction {
    Open,
    Earlier,
    Later,
    Variant,
    Compare,
}
