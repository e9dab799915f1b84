//! Questions: unsaved changes, files, export, trouble.

use super::state::Editor;
use crate::cli::{With, write_sheet};
use crate::files;
use crate::journal::Found;
use std::path::PathBuf;
use std::sync::Arc;
use tapemark_core::plan::{Plan, PlanError};
use tapemark_sheet::{Paper, Scale, SheetSpec};
use tapemark_words::say;

/// What the editor is asking or about to do.
#[derive(Debug, Clone)]
pub(crate) enum Ask {
    /// Something went wrong.
    Trouble(PlanError),
    /// Unsaved changes stand in the way.
    Unsaved(Box<Ask>),
    /// An empty plan.
    ThenNew,
    /// A plan to be chosen.
    ThenOpen,
    /// This plan.
    ThenOpenThis(PathBuf),
    /// The demo.
    ThenDemo,
    /// The window closes.
    ThenClose,
    /// The window closes when all is read and written.
    Finishing,
    /// Work that earlier windows left behind.
    Found(Vec<Found>),
    /// This work is brought back.
    ThenBringBack(Box<Found>),
    /// The plan's file was changed by another.
    ChangedOnDisk(PathBuf),
    /// How the sheet is made.
    Export,
    /// How long a drawing's unit is.
    Unit(PathBuf),
    /// Which length is known in the picture under the plan.
    Scale,
}

/// Which file a person is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A plan to open.
    Open,
    /// A name to save the plan under.
    Save,
    /// A name for the sheet.
    Sheet,
    /// A lamp's measured candelas.
    Candela,
    /// A lamp's spectrum.
    Spectrum,
    /// A gel's transmission.
    Gel,
    /// A storyboard picture.
    Picture,
    /// A kit file to open.
    Kit,
    /// A name to save the kit file under.
    KitSave,
    /// A drawing to bring in.
    Drawing,
    /// A picture to lie under the plan.
    Underlay,
    /// A name for what is handed on.
    HandOn,
    /// A name for the page for the crew's phones.
    CrewPage,
    /// A folder for lists or pictures.
    Folder,
}

/// Asks a person for a file; given a name to propose.
pub type Chooser = Arc<dyn Fn(Wanted, &str) -> Option<PathBuf> + Send + Sync>;

/// The system's own file dialogs.
pub(crate) fn system_chooser() -> Chooser {
    Arc::new(|wanted, name| {
        // Asked beside the window's thread, which some systems let only these do.
        let dialog = rfd::AsyncFileDialog::new();
        let pictures = ["png", "jpg", "jpeg", "PNG", "JPG", "JPEG"];
        let dialog = match wanted {
            Wanted::Open | Wanted::Save => dialog.add_filter(say!("tapemark-plan"), &["json"]),
            Wanted::Candela => dialog.add_filter(say!("lm-63-candela-file"), &["ies", "IES", "txt"]),
            Wanted::Spectrum | Wanted::Gel => dialog.add_filter(say!("table"), &["csv", "txt", "tsv"]),
            Wanted::Picture | Wanted::Underlay => dialog.add_filter(say!("picture"), &pictures),
            Wanted::Kit | Wanted::KitSave => dialog.add_filter(say!("tapemark-kit"), &["json"]),
            Wanted::Drawing => dialog.add_filter(say!("drawing"), &["dxf", "svg", "DXF", "SVG"]),
            Wanted::HandOn => dialog.add_filter(say!("gltf-scene"), &["glb"]).add_filter(say!("dxf-drawing"), &["dxf"]),
            Wanted::Folder => dialog,
            Wanted::CrewPage => dialog.add_filter("HTML", &["html"]),
            Wanted::Sheet => dialog.add_filter("PDF", &["pdf"]).add_filter("SVG", &["svg"]).add_filter("PNG", &["png"]),
        };
        let chosen = match wanted {
            Wanted::Folder => pollster::block_on(dialog.pick_folder()),
            Wanted::Save | Wanted::KitSave | Wanted::HandOn | Wanted::Sheet | Wanted::CrewPage => {
                pollster::block_on(dialog.set_file_name(name).save_file())
            }
            _ => pollster::block_on(dialog.pick_file()),
        };
        chosen.map(|file| file.path().to_path_buf())
    })
}

const ENDING: &str = "tapemark.json";

impl Editor {
    /// Does something that loses the plan, after asking when it has changed.
    pub(crate) fn guarded(&mut self, then: Ask) {
        self.commit();
        self.ask = Some(if self.unsaved() { Ask::Unsaved(Box::new(then)) } else { then });
    }

    /// Saves the plan to its file, or to one that is asked for, and goes on with what waits for that.
    pub(crate) fn save(&mut self, then: Option<Ask>) {
        match self.path.clone() {
            Some(path) => self.save_aside(&path, then),
            None => self.save_as(then),
        }
    }

    pub(crate) fn save_as(&mut self, then: Option<Ask>) {
        let name = self
            .path
            .as_ref()
            .and_then(|p| p.file_name())
            .map_or_else(|| format!("plan.{ENDING}"), |n| n.to_string_lossy().to_string());
        self.choose(Wanted::Save, &name, move |editor, path| editor.save_aside(&path, then));
    }

    pub(crate) fn dialogs(&mut self, ctx: &egui::Context) {
        if ctx.input(|i| i.viewport().close_requested()) && !self.close_now {
            self.commit();
            if self.unsaved() {
                ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
                self.ask = Some(Ask::Unsaved(Box::new(Ask::ThenClose)));
            } else if !self.errands.are_done() {
                ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
                self.ask = Some(Ask::Finishing);
            } else {
                self.finish_journal();
            }
        }
        let dropped = ctx.input(|i| i.raw.dropped_files.first().map(|f| f.path().to_path_buf()));
        if let Some(path) = dropped {
            self.take_dropped(path);
        }
        let Some(ask) = self.ask.take() else { return };
        match ask {
            Ask::ThenNew => self.replace(Plan::empty(), None),
            Ask::ThenDemo => self.replace(files::demo(), None),
            Ask::ThenOpenThis(path) => self.open_aside(path),
            Ask::ThenOpen => {
                // What was changed while the file was asked for is asked about too.
                self.choose(Wanted::Open, "", |editor, path| editor.guarded(Ask::ThenOpenThis(path)));
            }
            Ask::Found(list) => self.ask_found(ctx, list),
            Ask::ThenBringBack(found) => self.bring_back(*found),
            Ask::ChangedOnDisk(path) => self.ask_changed_on_disk(ctx, path),
            Ask::Finishing => self.ask_finishing(ctx),
            Ask::ThenClose if !self.errands.are_done() => self.ask = Some(Ask::Finishing),
            Ask::ThenClose => {
                self.finish_journal();
                self.close_now = true;
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
            Ask::Trouble(e) => {
                let mut open = true;
                egui::Modal::new(egui::Id::unique("trouble")).show(ctx, |ui| {
                    ui.set_max_width(480.0);
                    let [what, place, remedy] = e.brief();
                    ui.heading(what);
                    ui.label(place);
                    ui.label(say!("what-to-do-remedy", remedy));
                    if ui.button(say!("close")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Escape)) {
                        open = false;
                    }
                });
                if open {
                    self.ask = Some(Ask::Trouble(e));
                }
            }
            Ask::Unsaved(then) => self.ask_unsaved(ctx, then),
            Ask::Export => self.ask_export(ctx),
            Ask::Unit(path) => self.ask_unit(ctx, path),
            Ask::Scale => self.ask_scale(ctx),
        }
    }

    fn ask_unsaved(&mut self, ctx: &egui::Context, then: Box<Ask>) {
        let mut next = Some(Ask::Unsaved(then.clone()));
        let (mut save, mut chosen) = (false, false);
        egui::Modal::new(egui::Id::unique("unsaved")).show(ctx, |ui| {
            ui.heading(say!("the-plan-has-changes-that-are"));
            ui.horizontal(|ui| {
                save = ui.button(say!("save")).clicked();
                if ui.button(say!("discard-changes")).clicked() {
                    next = Some(*then.clone());
                    chosen = true;
                }
                if ui.button(say!("keep-editing")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Escape)) {
                    next = None;
                }
            });
        });
        // Nothing is drawn anew while the question stands.
        if save || chosen || next.is_none() {
            ctx.request_repaint();
        }
        if save {
            next = None;
            self.save(Some(*then));
        }
        // A failed save has its own word to say.
        if self.ask.is_none() {
            self.ask = next;
        }
    }

    fn ask_export(&mut self, ctx: &egui::Context) {
        #[derive(Clone, Copy, PartialEq)]
        struct Wish {
            paper: Paper,
            scale: Scale,
            light: bool,
            clear_view: bool,
            every: bool,
        }
        let id = egui::Id::unique("export wish");
        let mut wish = ctx.data(|d| d.get_temp(id)).unwrap_or(Wish {
            paper: Paper::A4,
            scale: Scale::Fit,
            light: false,
            clear_view: false,
            every: true,
        });
        let (mut keep, mut go) = (true, false);
        egui::Modal::new(egui::Id::unique("export")).show(ctx, |ui| {
            ui.heading(say!("export-the-crews-sheet"));
            egui::Grid::new("export").num_columns(2).spacing([12.0, 6.0]).show(ui, |ui| {
                ui.label(say!("paper"));
                ui.horizontal(|ui| {
                    for (p, name) in [(Paper::A4, "A4"), (Paper::A3, "A3"), (Paper::Letter, say!("letter"))] {
                        ui.radio_value(&mut wish.paper, p, name);
                    }
                });
                ui.end_row();
                ui.label(say!("scale"));
                ui.horizontal(|ui| {
                    for (s, name) in [(Scale::Fit, say!("fit")), (Scale::OneTo(50), "1:50"), (Scale::OneTo(25), "1:25")]
                    {
                        ui.radio_value(&mut wish.scale, s, name);
                    }
                });
                ui.end_row();
                ui.label(say!("show"));
                ui.vertical(|ui| {
                    ui.checkbox(&mut wish.light, say!("light-over-the-floor-as-on"));
                    ui.checkbox(&mut wish.clear_view, say!("where-the-camera-sees-every-face"));
                    ui.checkbox(&mut wish.every, say!("the-whole-day-pdf-rigs-shots"));
                });
                ui.end_row();
            });
            ui.horizontal(|ui| {
                go = ui.button(say!("choose-the-file")).clicked();
                if ui.button(say!("cancel")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Escape)) {
                    keep = false;
                }
            });
        });
        ctx.data_mut(|d| d.insert_temp(id, wish));
        if go {
            keep = false;
            self.choose(Wanted::Sheet, "sheet.pdf", move |editor, path| {
                let spec = SheetSpec {
                    paper: wish.paper,
                    scale: wish.scale,
                    light_height_m: wish.light.then_some(editor.light.height_m),
                    light_shows: editor.light.shows,
                    clear_view: wish.clear_view,
                    cover: editor.cover,
                    underlay: crate::cli::underlay_of(&editor.plan, editor.path.as_deref()),
                    at_s: editor.seconds,
                };
                editor.export(&path, &spec, wish.every);
            });
        }
        if keep && self.ask.is_none() {
            self.ask = Some(Ask::Export);
        }
    }

    /// Writes the sheet of this shot, or of every one.
    pub fn export(&mut self, path: &std::path::Path, spec: &SheetSpec, every: bool) {
        let only = (!every).then(|| self.shot.to_string());
        let (plan, spec) = (self.plan.clone(), spec.clone());
        let with = With { kit: self.kit.clone(), beside: self.path.clone() };
        self.write_aside(
            path.to_path_buf(),
            move |to, progress| write_sheet(&plan, only.as_deref(), to, &spec, (150.0, &with), progress),
            |(), to| say!("wrote-path", path = to.display()),
        );
    }
}
