//! Drawings in, plans out, and the picture under the plan.

use super::dialogs::{Ask, Wanted};
use super::errands::Lane;
use super::state::Editor;
use crate::cli::{read_outlines, write_crew_page, write_lists, write_on, write_phones};
use crate::files::{self, Replace};
use glam::DVec2;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tapemark_core::edit::{Edit, Settings};
use tapemark_core::plan::{PlanError, Underlay};
use tapemark_core::progress::Progress;
use tapemark_core::units::parse_length_m;
use tapemark_words::say;

/// The picture under the plan and how it is being scaled.
#[derive(Default)]
pub(crate) struct UnderlayShown {
    loaded: Option<(PathBuf, Option<egui::TextureHandle>)>,
    /// The ends of the known length, while they are being clicked.
    pub points: Option<Vec<DVec2>>,
    typed: String,
}

/// Width a picture is laid at before it is scaled, metres.
const FIRST_WIDTH_M: f64 = 10.0;

impl Editor {
    /// A file dropped on the window: a plan, a kit, a drawing or a picture.
    pub(crate) fn take_dropped(&mut self, path: PathBuf) {
        let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase();
        let name = files::name_of(&path).to_lowercase();
        match ending.as_str() {
            "png" | "jpg" | "jpeg" => {
                let shot = self.board.under_pointer.clone().unwrap_or_else(|| self.shot.clone());
                self.set_storyboard(&shot, &path);
            }
            "dxf" | "svg" => self.read_drawing(path, None),
            _ if name.ends_with("tapemark-kit.json") => self.open_kit(&path),
            _ => self.guarded(Ask::ThenOpenThis(path)),
        }
    }

    /// Opens the kit file that was in use.
    pub(crate) fn open_remembered_kit(&mut self) {
        if let Some(kit) = self.memory.kit.as_ref().and_then(|p| files::read_kit(p).ok()) {
            self.kit_saved = kit.clone();
            self.kit = kit;
        }
    }

    /// Opens a kit file; from now on it is written back as it changes.
    pub(crate) fn open_kit(&mut self, path: &Path) {
        match files::read_kit(path) {
            Ok(kit) => {
                self.kit_saved = kit.clone();
                self.kit = kit;
                self.memory.kit = Some(path.to_path_buf());
                self.memory.write();
                self.tell(say!("opened-path", path = path.display()));
            }
            Err(e) => self.ask = Some(Ask::Trouble(e)),
        }
    }

    /// Writes the kit file in use when it has changed and nothing is being dragged.
    pub(crate) fn keep_kit(&mut self) {
        if self.kit == self.kit_saved {
            return;
        }
        let Some(path) = self.memory.kit.clone() else { return };
        self.kit_saved = self.kit.clone();
        let text = tapemark_core::kit::kit_to_json(&self.kit);
        if let Err(e) = files::write_atomically(&path, text.as_bytes()) {
            self.ask = Some(Ask::Trouble(e));
        }
    }

    pub(crate) fn bring_in(&mut self) {
        self.choose(Wanted::Drawing, "", |editor, path| editor.read_drawing(path, None));
    }

    fn read_drawing(&mut self, path: PathBuf, unit_m: Option<f64>) {
        let what = say!("reading-path", path = files::name_of(&path));
        let drawing = path.clone();
        self.send(
            what,
            move || read_outlines(&drawing, unit_m),
            move |editor, found| match found {
                Ok(found) => editor.take_outlines(&path, &found),
                // A drawing without a unit is asked for one.
                Err(e) if e.lacks_unit => editor.ask = Some(Ask::Unit(path)),
                Err(e) => editor.ask = Some(Ask::Trouble(e.error)),
            },
        );
    }

    /// Writes something beside the frames, then says that it has been written.
    pub(crate) fn write_aside<T: Send + 'static>(
        &mut self,
        path: PathBuf,
        write: impl FnOnce(&Path, &Progress) -> Result<T, PlanError> + Send + 'static,
        told: impl FnOnce(T, &Path) -> String + Send + 'static,
    ) {
        let what = say!("writing-path", path = files::name_of(&path));
        let to = path.clone();
        let progress = Arc::new(Progress::default());
        let watched = progress.clone();
        self.send_on(
            Lane::Paper,
            (what, Some(progress.clone())),
            move || write(&to, &watched),
            move |editor, written| match written {
                Ok(written) => editor.tell(told(written, &path)),
                Err(_) if progress.is_stopped() => editor.tell(say!("stopped-nothing-was-written")),
                Err(e) => editor.ask = Some(Ask::Trouble(e)),
            },
        );
    }

    fn take_outlines(&mut self, path: &Path, found: &tapemark_exchange::Outlines) {
        let left = if found.left_out.is_empty() {
            String::new()
        } else {
            say!("left-out-left-out", left_out = found.left_out.join(", "))
        };
        match found.edit(&self.plan) {
            Some(edit) => {
                if self.edit(&edit) {
                    self.tell(say!("rooms-brought-in-left", rooms = found.rooms.len(), left));
                    self.view.fitted = false;
                }
            }
            None => self.tell(say!("no-room-outline-was-found-in", path = path.display(), left)),
        }
    }

    pub(crate) fn ask_unit(&mut self, ctx: &egui::Context, path: PathBuf) {
        let (mut chosen, mut keep) = (None, true);
        egui::Modal::new(egui::Id::unique("unit")).show(ctx, |ui| {
            ui.heading(say!("how-long-is-a-unit-of"));
            ui.horizontal(|ui| {
                for (name, m) in [
                    (say!("n-1-mm"), 0.001),
                    (say!("n-1-cm"), 0.01),
                    ("1 m", 1.0),
                    (say!("n-1-in"), 0.0254),
                    (say!("n-1-ft"), 0.3048),
                    (say!("n-1-px-1-96-in"), 0.0254 / 96.0),
                ] {
                    if ui.button(name).clicked() {
                        chosen = Some(m);
                    }
                }
            });
            if ui.button(say!("cancel")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Escape)) {
                keep = false;
            }
        });
        match chosen {
            Some(unit) => self.read_drawing(path, Some(unit)),
            None if keep => self.ask = Some(Ask::Unit(path)),
            None => {}
        }
    }

    pub(crate) fn hand_on(&mut self) {
        let name = format!("shot-{}.glb", self.current_shot().name);
        self.choose(Wanted::HandOn, &name, |editor, path| {
            let (plan, shot, at_s) = (editor.plan.clone(), editor.current_shot().clone(), editor.seconds);
            editor.write_aside(
                path,
                move |to, _| write_on(&plan, &shot, at_s, to),
                |(), to| say!("wrote-path", path = to.display()),
            );
        });
    }

    pub(crate) fn write_lists(&mut self) {
        self.choose(Wanted::Folder, "", |editor, folder| {
            let (plan, kit, beside) = (editor.plan.clone(), editor.kit.clone(), editor.path.clone());
            editor.write_aside(
                folder,
                move |to, _| write_lists(&plan, &kit, to, Replace::Own, beside.as_deref()),
                |_, to| say!("wrote-the-lists-into", folder = to.display()),
            );
        });
    }

    pub(crate) fn write_crew_page(&mut self) {
        let name = self.path.as_deref().and_then(Path::file_prefix).map_or("day".into(), |n| n.to_string_lossy());
        self.choose(Wanted::CrewPage, &format!("{name}.html"), |editor, path| {
            let (plan, kit) = (editor.plan.clone(), editor.kit.clone());
            editor.write_aside(
                path,
                move |to, progress| write_crew_page(&plan, &kit, to, progress),
                |(), to| say!("wrote-path", path = to.display()),
            );
        });
    }

    pub(crate) fn write_phones(&mut self) {
        self.choose(Wanted::Folder, "", |editor, folder| {
            let (plan, beside) = (editor.plan.clone(), editor.path.clone());
            editor.write_aside(
                folder,
                move |to, progress| write_phones(&plan, None, to, (Replace::Own, beside.as_deref()), progress),
                |names, to| say!("wrote-names-pictures-into-folder", names = names.len(), folder = to.display()),
            );
        });
    }

    /// Lays a picture under the plan, then asks for a length known in it.
    pub(crate) fn choose_underlay(&mut self) {
        if self.path.is_none() {
            self.tell(say!("save-the-plan-first-the-picture"));
        } else {
            self.choose(Wanted::Underlay, "", Editor::lay_underlay);
        }
    }

    fn lay_underlay(&mut self, from: PathBuf) {
        let Some(plan) = self.path.clone() else { return };
        let what = say!("reading-path", path = files::name_of(&from));
        let (beside, picture) = (plan.clone(), from.clone());
        let keep = move || {
            let read = files::picture(&picture)?;
            let width = f64::from(read.width().max(1));
            files::keep(&beside, "underlay", read).map(|k| (k, width))
        };
        self.send(what, keep, move |editor, kept| match kept {
            // Meanwhile the plan was saved elsewhere: the picture goes there too.
            Ok(_) if editor.path.as_ref() != Some(&plan) => editor.lay_underlay(from),
            Ok((kept, width)) => {
                let metres_per_pixel = FIRST_WIDTH_M / (width * kept.scale).max(1.0);
                let laid = Underlay { file: kept.name, origin_m: [0.0, 0.0], metres_per_pixel, opacity: 0.5 };
                editor.underlay.loaded = None;
                editor.set_underlay(Some(laid));
                editor.start_scaling();
            }
            Err(e) => editor.ask = Some(Ask::Trouble(e)),
        });
    }

    pub(crate) fn set_underlay(&mut self, underlay: Option<Underlay>) {
        self.edit(&Edit::Settings(Box::new(Settings { underlay, ..Settings::of(&self.plan) })));
    }

    /// The next two clicks on the plan are the ends of a known length.
    pub(crate) fn start_scaling(&mut self) {
        self.underlay.points = Some(Vec::new());
        self.page = super::state::Page::Plan;
        self.tell(say!("click-both-ends-of-a-length"));
    }

    /// A click while a known length is being shown; whether it was one.
    pub(crate) fn click_known_length(&mut self, p: DVec2) -> bool {
        let Some(points) = &mut self.underlay.points else { return false };
        points.push(p);
        if points.len() == 2 {
            self.ask = Some(Ask::Scale);
        }
        true
    }

    pub(crate) fn ask_scale(&mut self, ctx: &egui::Context) {
        let Some([a, b]) = self.underlay.points.as_ref().and_then(|p| <[DVec2; 2]>::try_from(p.clone()).ok()) else {
            self.underlay.points = None;
            return;
        };
        let (mut keep, mut set) = (true, false);
        let unit = self.plan.length_unit;
        egui::Modal::new(egui::Id::unique("scale")).show(ctx, |ui| {
            let name = ui.heading(say!("how-long-is-it"));
            let field = egui::TextEdit::singleline(&mut self.underlay.typed).hint_text(say!("n-3-6-360cm-1110"));
            ui.add(field).labelled_by(name.id).request_focus();
            if let Err(e) = parse_length_m(&self.underlay.typed, unit) {
                ui.weak(e.to_string());
            }
            ui.horizontal(|ui| {
                set = ui.button(say!("scale-the-picture")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Enter));
                if ui.button(say!("cancel")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Escape)) {
                    keep = false;
                }
            });
        });
        if set && let Ok(m) = parse_length_m(&self.underlay.typed, unit) {
            keep = false;
            if let Some(u) = self.plan.location.underlay.clone()
                && a.distance(b) > 1e-6
                && m > 0.0
            {
                self.set_underlay(Some(u.scaled(a, m / a.distance(b))));
            }
        }
        if keep {
            self.ask = Some(Ask::Scale);
        } else {
            self.underlay.points = None;
            self.underlay.typed.clear();
        }
    }

    /// Paints the picture under the plan.
    pub(crate) fn paint_underlay(&mut self, painter: &egui::Painter) {
        let Some(u) = self.plan.location.underlay.clone() else { return };
        let Some(file) = self.path.as_ref().and_then(|p| p.parent()).map(|f| f.join(&u.file)) else { return };
        if self.underlay.loaded.as_ref().is_none_or(|(at, _)| *at != file) {
            let texture = files::picture(&file).ok().map(|p| {
                let image =
                    egui::ColorImage::from_rgba_unmultiplied([p.width() as usize, p.height() as usize], p.as_raw());
                painter.ctx().load_texture("underlay", image, egui::TextureOptions::LINEAR)
            });
            if texture.is_none() {
                self.tell(say!("the-picture-under-the-plan-is", file = file.display()));
            }
            self.underlay.loaded = Some((file, texture));
        }
        if let Some((_, Some(t))) = &self.underlay.loaded {
            let low = DVec2::from_array(u.origin_m);
            let size = t.size_vec2();
            let high = low + DVec2::new(f64::from(size.x), f64::from(size.y)) * u.metres_per_pixel;
            let rect = egui::Rect::from_two_pos(self.view.to_screen(low), self.view.to_screen(high));
            let whole = egui::Rect::from_min_max(egui::pos2(0.0, 0.0), egui::pos2(1.0, 1.0));
            painter.image(t.id(), rect, whole, super::theme::tint().gamma_multiply(u.opacity as f32));
        }
        let ink = super::theme::colour(self.look.palette().selected);
        for p in self.underlay.points.iter().flatten() {
            painter.circle_stroke(self.view.to_screen(*p), 6.0, egui::Stroke::new(2.0, ink));
        }
    }

    /// Fields of the picture under the plan.
    pub(crate) fn underlay_fields(&mut self, ui: &mut egui::Ui) {
        let mut choose = ui.button(say!("picture-under-the-plan")).clicked();
        let Some(mut u) = self.plan.location.underlay.clone() else {
            if choose {
                self.choose_underlay();
            }
            return;
        };
        let (mut changed, mut away, mut scale) = (false, false, false);
        let unit = self.plan.length_unit;
        egui::Grid::new("underlay").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
            changed |= super::fields::length(ui, say!("left-edge-at"), &mut u.origin_m[0], unit);
            changed |= super::fields::length(ui, say!("lower-edge-at"), &mut u.origin_m[1], unit);
            changed |= super::fields::number(ui, say!("strength"), &mut u.opacity, 0.0..=1.0, 0.01, "");
        });
        ui.horizontal(|ui| {
            scale = ui.button(say!("scale-by-a-known-length")).clicked();
            away = ui.button(say!("take-the-picture-away")).clicked();
        });
        if std::mem::take(&mut choose) {
            self.choose_underlay();
        } else if away {
            self.set_underlay(None);
        } else if scale {
            self.start_scaling();
        } else if changed {
            let settings = Settings { underlay: Some(u), ..Settings::of(&self.plan) };
            self.edit_live(&Edit::Settings(Box::new(settings)));
        }
    }
}
