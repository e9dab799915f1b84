//! The storyboard picture of a shot, beside what the lens sees or over it.

use super::state::Editor;
use crate::files;
use egui::{Rect, Ui, pos2, vec2};
use std::path::PathBuf;
use tapemark_core::edit::{Edit, Item};
use tapemark_core::plan::PlanError;
use tapemark_words::say;

/// The picture in hand and how it is shown.
pub(crate) struct Storyboard {
    /// How much of it covers the lens's picture, 0–1.
    pub over: f32,
    /// Whether it is shown beside the lens's picture.
    pub beside: bool,
    /// Which file is loaded, and it or why it could not be.
    loaded: Option<(PathBuf, Result<egui::TextureHandle, PlanError>)>,
}

impl Default for Storyboard {
    fn default() -> Self {
        Storyboard { over: 0.0, beside: true, loaded: None }
    }
}

impl Storyboard {
    /// The file may have changed under its name.
    pub(crate) fn forget(&mut self) {
        self.loaded = None;
    }
}

impl Editor {
    fn storyboard_file(&self) -> Option<PathBuf> {
        let name = self.current_shot().picture.as_ref()?;
        let folder = self.path.as_ref()?.parent()?;
        Some(folder.join(name))
    }

    fn load_storyboard(&mut self, ctx: &egui::Context) {
        let Some(file) = self.storyboard_file() else {
            self.storyboard.loaded = None;
            return;
        };
        if self.storyboard.loaded.as_ref().is_some_and(|(at, _)| *at == file) {
            return;
        }
        let texture = files::picture(&file).map(|p| {
            let size = [p.width() as usize, p.height() as usize];
            let image = egui::ColorImage::from_rgba_unmultiplied(size, p.as_raw());
            ctx.load_texture("storyboard", image, egui::TextureOptions::LINEAR)
        });
        self.storyboard.loaded = Some((file, texture));
    }

    /// Paints it over the lens's picture.
    pub(crate) fn paint_storyboard(&mut self, painter: &egui::Painter, rect: Rect) {
        self.load_storyboard(painter.ctx());
        let Some((_, Ok(texture))) = &self.storyboard.loaded else { return };
        if self.storyboard.over <= 0.0 {
            return;
        }
        painter.image(
            texture.id(),
            fitted(texture, rect),
            WHOLE,
            super::theme::tint().gamma_multiply(self.storyboard.over),
        );
    }

    /// The picture beside, and what is done with it.
    pub(crate) fn storyboard_fields(&mut self, ui: &mut Ui) {
        let has = self.current_shot().picture.is_some();
        let mut choose = false;
        ui.horizontal_wrapped(|ui| {
            choose =
                ui.button(say!("storyboard-picture")).on_hover_text(say!("png-or-jpeg-copied-beside-the")).clicked();
            if has {
                ui.spacing_mut().slider_width = 70.0;
                ui.add(
                    egui::Slider::new(&mut self.storyboard.over, 0.0..=1.0).show_value(false).text(say!("drawn-over")),
                )
                .on_hover_text(say!("how-much-of-it-covers-the"));
                ui.toggle_value(&mut self.storyboard.beside, say!("beside"));
                if ui.button(say!("take-away")).clicked() {
                    let mut shot = self.current_shot().clone();
                    shot.picture = None;
                    self.edit(&Edit::Put(Item::Shot(shot)));
                }
            }
        });
        if choose {
            self.choose_storyboard();
        }
        match &self.storyboard.loaded {
            Some((_, Err(e))) => {
                ui.label(format!("{}; {}", e.what, e.remedy));
            }
            Some((_, Ok(texture))) if self.storyboard.beside => {
                let size = texture.size_vec2();
                let width = ui.available_width();
                let (rect, _) =
                    ui.allocate_exact_size(vec2(width, (width * size.y / size.x).min(260.0)), egui::Sense::hover());
                ui.painter().image(texture.id(), fitted(texture, rect), WHOLE, super::theme::tint());
            }
            _ => {}
        }
    }
}

pub(super) const WHOLE: Rect = Rect { min: pos2(0.0, 0.0), max: pos2(1.0, 1.0) };

/// As large as fits, in the middle.
pub(super) fn fitted(texture: &egui::TextureHandle, rect: Rect) -> Rect {
    let size = texture.size_vec2();
    let scale = (rect.width() / size.x).min(rect.height() / size.y);
    Rect::from_center_size(rect.center(), size * scale)
}
