//! The panel at the right: what the lens sees, one line of verdict, then one leaf of fields at a time.

use super::icons::{self, Icon};
use super::panels::{family, heading};
use super::state::Editor;
use egui::{Align2, FontId, PopupCloseBehavior, Rect, RichText, Sense, Stroke, Ui, pos2, vec2};
use glam::DVec2;
use tapemark_core::edit::{Item, ItemRef};
use tapemark_core::notices::{Notice, Severity};
use tapemark_words::say;

/// What the panel shows under the verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Leaf {
    /// The fields of what is selected.
    Selection,
    /// What is computed of the shot.
    #[default]
    Readings,
    /// What can be worked out: clear faces, a size, light that is wanted, cloth.
    Find,
    /// The fields of the shot, its rig and the plan.
    Shot,
}

impl Leaf {
    const ALL: [Leaf; 4] = [Leaf::Selection, Leaf::Readings, Leaf::Find, Leaf::Shot];
}

/// Height of the verdict, points.
const VERDICT_H: f32 = 34.0;
/// Most share of the window's height that the picture takes.
const PICTURE_SHARE: f32 = 0.34;

impl Editor {
    pub(crate) fn right_panel(&mut self, ui: &mut Ui) {
        self.follow_selection();
        ui.add_space(6.0);
        let most = ui.ctx().content_rect().height() * PICTURE_SHARE;
        self.lens_small(ui, most);
        self.verdict(ui);
        self.leaf_bar(ui);
        let leaf = self.leaf;
        egui::ScrollArea::vertical().id_salt(("leaf", leaf as u8)).auto_shrink([false, false]).show(ui, |ui| {
            ui.add_space(4.0);
            match leaf {
                Leaf::Selection if self.selected.is_empty() => {
                    ui.add(egui::Label::new(RichText::new(say!("nothing-is-selected")).weak()).wrap());
                }
                Leaf::Selection => self.properties(ui),
                Leaf::Readings => self.numbers(ui),
                Leaf::Find => self.finds(ui),
                Leaf::Shot => {
                    self.shot_fields(ui);
                    ui.separator();
                    self.storyboard_fields(ui);
                    if self.plan.daylight.is_some() {
                        ui.separator();
                        self.daylight_panel(ui);
                    }
                }
            }
            ui.add_space(10.0);
        });
    }

    /// What is selected comes to the front; when nothing is any more, the readings do.
    fn follow_selection(&mut self) {
        if self.selected != self.leaf_of {
            self.leaf = match (self.selected.is_empty(), self.leaf) {
                (false, _) => Leaf::Selection,
                (true, Leaf::Selection) => Leaf::Readings,
                (true, other) => other,
            };
            self.leaf_of = self.selected.clone();
        }
    }

    /// The leaves by name, the one shown under a line.
    fn leaf_bar(&mut self, ui: &mut Ui) {
        let t = self.look.tokens();
        ui.add_space(2.0);
        let row = ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 16.0;
            for leaf in Leaf::ALL {
                let name = match leaf {
                    Leaf::Selection => self.selection_name(),
                    Leaf::Readings => say!("readings").to_string(),
                    Leaf::Find => say!("leaf-find").to_string(),
                    Leaf::Shot => say!("shot-menu").to_string(),
                };
                let on = self.leaf == leaf;
                let text = RichText::new(&name).color(if on { t.ink } else { t.dim });
                let text = if on { text.family(family(ui)) } else { text };
                let button = egui::Button::new(text).frame(false).truncate().min_size(vec2(0.0, 28.0));
                let response = ui
                    .scope(|ui| {
                        ui.set_max_width(if leaf == Leaf::Selection { 110.0 } else { 100.0 });
                        ui.add(button)
                    })
                    .inner;
                response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Tab, true, on, name.clone()));
                if on {
                    let under = response.rect;
                    ui.painter().line_segment(
                        [under.left_bottom() - vec2(0.0, 1.0), under.right_bottom() - vec2(0.0, 1.0)],
                        Stroke::new(2.0, t.accent),
                    );
                }
                if response.clicked() {
                    self.leaf = leaf;
                }
            }
        });
        let y = row.response.rect.bottom();
        ui.painter().hline(ui.max_rect().x_range(), y, Stroke::new(1.0, t.line));
    }

    /// What the first leaf is called: the one thing selected, or how many are.
    fn selection_name(&self) -> String {
        let mut all = self.selected.iter();
        match (all.next(), all.count()) {
            (None, _) => say!("leaf-selection").into(),
            (Some(one), 0) => self.name_of(one),
            (Some(_), more) => say!("so-many-items", items = more + 1),
        }
    }

    fn name_of(&self, item: &ItemRef) -> String {
        let name = match item.get(&self.plan) {
            Some(Item::Room(r)) => r.name,
            Some(Item::Opening(o)) => o.name,
            Some(Item::Piece(p)) => p.name,
            Some(Item::Camera(c)) => c.name,
            Some(Item::Fixture { fixture, .. }) => fixture.name,
            Some(Item::Mark { mark, .. }) => self.plan.person(&mark.person).map_or(String::new(), |p| p.name.clone()),
            _ => String::new(),
        };
        if name.is_empty() { item.kind().into() } else { name }
    }

    /// One line: that all is clear, or the worst of what is not. A click lays the whole list over the panel.
    fn verdict(&mut self, ui: &mut Ui) {
        let t = self.look.tokens();
        ui.add_space(4.0);
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), VERDICT_H), Sense::click());
        let mut list: Vec<&Notice> = self.facts.notices.iter().collect();
        list.sort_by_key(|n| std::cmp::Reverse(rank(n.severity)));
        let worst = list.first().filter(|n| n.severity != Severity::Hint);
        let ink = match worst {
            None => t.good,
            Some(n) if n.severity == Severity::Caution => t.accent,
            Some(_) => t.warn,
        };
        let words = match worst {
            None => say!("nothing-stands-against-this-shot").to_string(),
            Some(n) => n.what.clone(),
        };
        let rest = list.len() - usize::from(worst.is_some());
        let more = if rest == 0 { String::new() } else { say!("so-many-more", more = rest) };
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, format!("{words} {more}")));
        let painter = ui.painter_at(rect);
        let edge = if response.hovered() || response.has_focus() { 2.0 } else { 1.5 };
        painter.rect(rect.shrink(1.0), 8.0, t.card, Stroke::new(edge, ink), egui::StrokeKind::Inside);
        painter.circle_filled(pos2(rect.left() + 16.0, rect.center().y), 5.0, ink);
        let mut end = rect.right() - 12.0;
        if !more.is_empty() {
            let written = painter.text(
                pos2(end - 14.0, rect.center().y),
                Align2::RIGHT_CENTER,
                &more,
                FontId::proportional(11.0),
                t.dim,
            );
            let arrow = Rect::from_center_size(pos2(end - 4.0, rect.center().y), vec2(10.0, 10.0));
            icons::paint(&painter, arrow, Icon::Open, t.dim);
            end = written.left() - 8.0;
        }
        let from = rect.left() + 28.0;
        let font = FontId::new(13.0, family(ui));
        let galley = cut_to(ui, &words, font, ink, (end - from).max(20.0));
        painter.galley(pos2(from, rect.center().y - galley.size().y * 0.5), galley, ink);
        let mut show = None;
        egui::Popup::from_toggle_button_response(&response)
            .close_behavior(PopupCloseBehavior::CloseOnClickOutside)
            .width(rect.width())
            .show(|ui| {
                ui.set_max_width(rect.width());
                let list: Vec<&Notice> = list.clone();
                egui::ScrollArea::vertical().max_height(380.0).show(ui, |ui| {
                    if list.is_empty() {
                        ui.label(say!("nothing-stands-against-this-shot"));
                    }
                    show = self.notice_list(ui, &list);
                });
            });
        if !egui::Popup::is_any_open(ui.ctx()) {
            response.on_hover_text(words);
        }
        if let Some(p) = show {
            self.view.centre = DVec2::from_array(p);
        }
    }

    /// Everything that can be worked out for this shot.
    fn finds(&mut self, ui: &mut Ui) {
        if self.facts.camera.is_none() || self.facts.people.is_empty() {
            ui.add(egui::Label::new(RichText::new(say!("place-camera-and-people-first")).weak()).wrap());
        }
        self.blocking_fields(ui);
        self.wish_panel(ui);
    }
}

/// What is told first.
fn rank(severity: Severity) -> u8 {
    match severity {
        Severity::Hint => 0,
        Severity::Caution => 1,
        Severity::Problem => 2,
    }
}

/// A person's dot in the colour of their tape, and their name.
pub(super) fn cast_title(ui: &mut Ui, ink: egui::Color32, name: &str) {
    let (rect, _) = ui.allocate_exact_size(vec2(12.0, 12.0), Sense::hover());
    ui.painter().circle(rect.center(), 5.0, ink, Stroke::new(1.0, ui.visuals().text_color()));
    heading(ui, name);
}

/// One line of words, cut with an ellipsis to a width.
pub(super) fn cut_to(
    ui: &Ui,
    words: &str,
    font: FontId,
    ink: egui::Color32,
    width: f32,
) -> std::sync::Arc<egui::Galley> {
    let mut job = egui::text::LayoutJob::simple_singleline(words.to_string(), font, ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width(width);
    ui.fonts_mut(|f| f.layout_job(job))
}

/// A rectangle of a picture's shape in a width, no higher than something.
pub(super) fn picture_size(width: f32, aspect: f32, most_high: f32) -> egui::Vec2 {
    let size = vec2(width, width / aspect);
    if size.y > most_high { vec2(most_high * aspect, most_high) } else { size }
}

/// A rectangle in the middle of a width.
pub(super) fn centred(rect: Rect, size: egui::Vec2) -> Rect {
    Rect::from_center_size(rect.center(), size)
}
