//! The editor's window: it shows what the core computes and turns gestures into edits.

mod answers;
mod aside;
mod blocking_panel;
mod board;
mod canvas;
mod command;
mod day;
mod day_power;
mod dialogs;
mod draw;
mod errands;
mod exchange;
mod fields;
mod finder;
mod foot;
mod glossary;
mod hit;
mod icons;
mod language;
mod layout;
mod leaves;
mod lens;
mod panels;
mod properties;
mod rail;
mod refine;
mod room_tool;
mod safety;
mod scripts;
mod state;
mod storyboard;
mod strip;
mod theme;
mod timeline;
mod tools;
mod walls;

pub use command::Command;
pub use dialogs::{Chooser, Wanted};
pub use egui::Color32 as Colour;
pub use language::language_of;
pub use leaves::Leaf;
pub use state::{Editor, LightShown, Page, Tool};
pub use theme::{Shade, Tokens, fonts as load_fonts};
pub use timeline::span_text;

use crate::files::Memory;
use std::path::PathBuf;
use std::process::ExitCode;
use tapemark_core::plan::{Plan, PlanError};
use tapemark_words::say;

impl Editor {
    /// One frame of the whole window.
    pub fn show(&mut self, ui: &mut egui::Ui) {
        theme::apply(ui.ctx(), self.look);
        ui.ctx().set_zoom_factor(self.memory.layout.type_size);
        self.tend_scripts(ui.ctx());
        self.refresh();
        self.shortcuts(ui.ctx());
        self.tend_blocking(ui.ctx());
        egui::Panel::top("menu bar").exact_size(BAR_H).resizable(false).show(ui, |ui| self.menu_bar(ui));
        // Last, as it is read last and the Tab key comes to it last; the pages leave it the room that it took before.
        let (pages, bar) = ui.available_rect_before_wrap().split_top_bottom_at_y(ui.max_rect().bottom() - self.bar_px);
        ui.scope_builder(egui::UiBuilder::new().max_rect(pages), |ui| self.show_page(ui));
        ui.scope_builder(egui::UiBuilder::new().max_rect(bar), |ui| self.show_bar(ui));
        self.show_finder(ui.ctx());
        self.dialogs(ui.ctx());
        self.settle(ui.ctx());
    }

    /// Time and status along the lower edge, under a line.
    fn show_bar(&mut self, ui: &mut egui::Ui) {
        let moment = self.seconds;
        let frame = egui::Frame::side_top_panel(ui.style());
        ui.painter().rect_filled(ui.max_rect(), 0.0, frame.fill);
        let bar = frame.show(ui, |ui| {
            ui.set_min_width(ui.available_width());
            if self.page != Page::Day {
                self.time_bar(ui);
            }
            self.status_bar(ui);
        });
        let (rect, line) = (bar.response.rect, ui.visuals().widgets.noninteractive.bg_stroke);
        ui.painter().hline(rect.x_range(), rect.top() + 0.5 * line.width, line);
        if (rect.height().ceil() - self.bar_px).abs() > 0.5 {
            self.bar_px = rect.height().ceil();
            ui.ctx().request_discard("the bar's height");
        }
        if self.seconds != moment {
            ui.ctx().request_repaint();
        }
    }

    fn show_page(&mut self, ui: &mut egui::Ui) {
        match self.page {
            Page::Plan => self.show_plan(ui),
            Page::Board => {
                egui::Panel::right("shot").default_size(PANEL_W).size_range(280.0..=520.0).show(ui, |ui| {
                    self.right_panel(ui);
                });
                let fill = egui::Frame::NONE.fill(ui.visuals().panel_fill).inner_margin(10.0);
                egui::CentralPanel::default().frame(fill).show(ui, |ui| self.show_board(ui));
            }
            Page::Day => {
                let fill = egui::Frame::NONE.fill(ui.visuals().panel_fill).inner_margin(10.0);
                egui::CentralPanel::default().frame(fill).show(ui, |ui| self.show_day(ui));
            }
        }
    }

    fn show_plan(&mut self, ui: &mut egui::Ui) {
        let folded = ui.max_rect().width() < strip::NARROW;
        let wide = if folded { strip::FOLDED_W } else { strip::STRIP_W };
        egui::Panel::left("shots").exact_size(wide).resizable(false).show(ui, |ui| self.shot_strip(ui, folded));
        // The plan and its tools are read before the numbers; those keep the width they had.
        let large = self.lens.shown && self.lens.large;
        let [numbers, lens] = self.panels_px;
        let mut middle = ui.available_rect_before_wrap();
        middle.max.x = (middle.max.x - numbers - if large { lens } else { 0.0 }).max(middle.min.x);
        // A child that takes no room of its parent: the panels then get theirs.
        self.show_middle(&mut ui.new_child(egui::UiBuilder::new().max_rect(middle)));
        let right = egui::Panel::right("numbers").default_size(PANEL_W).size_range(280.0..=520.0);
        let mut now = [right.show(ui, |ui| self.right_panel(ui)).response.rect.width(), lens];
        if large {
            let half = ui.available_width() * 0.55;
            let right = egui::Panel::right("what the lens sees").default_size(half).size_range(240.0..=2000.0);
            now[1] = right.show(ui, |ui| self.lens_large(ui)).response.rect.width();
        }
        if now.iter().zip(self.panels_px).any(|(x, y)| (x - y).abs() > 0.5) {
            self.panels_px = now;
            ui.ctx().request_discard("the panels' width");
        }
    }

    /// The plan with its tools, and the strip of layers under it.
    fn show_middle(&mut self, ui: &mut egui::Ui) {
        let paper = theme::colour(self.look.palette().paper);
        let (canvas, foot) = ui.max_rect().split_top_bottom_at_y(ui.max_rect().bottom() - foot::FOOT_H);
        ui.painter().rect_filled(foot, 0.0, paper);
        ui.scope_builder(egui::UiBuilder::new().max_rect(canvas), |ui| self.canvas(ui));
        let inside = foot.shrink2(egui::vec2(12.0, 0.0));
        ui.scope_builder(egui::UiBuilder::new().max_rect(inside), |ui| self.foot(ui));
    }
}

/// Height of the bar along the top, points.
const BAR_H: f32 = 40.0;
/// Width of the panel of numbers when it is first shown, points.
const PANEL_W: f32 = 328.0;

impl eframe::App for Editor {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        self.show(ui);
        if let Some(path) = std::env::var_os("TAPEMARK_FIRST_FRAME")
            && !std::mem::replace(&mut self.first_frame_told, true)
        {
            // For the start-up measurement: a file that appears when the first frame has been laid out.
            let _ = std::fs::write(path, b"");
        }
    }
}

/// The window's picture in the task bar; an empty one should it not be read.
fn icon() -> egui::IconData {
    eframe::icon_data::from_png_bytes(include_bytes!("../../../../assets/desktop/tapemark.png")).unwrap_or_default()
}

/// What a window begins with.
pub enum Start {
    /// A plan that is in no file.
    Unsaved(Box<Plan>),
    /// A plan as its file has it.
    File(Box<crate::files::Opened>, PathBuf),
}

/// Opens the window.
///
/// # Errors
/// When no window can be made.
pub fn run(start: Start, memory: Memory) -> Result<ExitCode, PlanError> {
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("Tapemark")
            .with_app_id("tapemark")
            .with_icon(icon())
            .with_inner_size([1280.0, 800.0])
            .with_min_inner_size([900.0, 560.0])
            .with_drag_and_drop(true),
        ..eframe::NativeOptions::default()
    };
    eframe::run_native(
        "Tapemark",
        options,
        Box::new(move |cc| {
            theme::fonts(&cc.egui_ctx);
            let (plan, file) = match start {
                Start::Unsaved(plan) => (*plan, None),
                Start::File(opened, path) => (opened.plan, Some((path, opened.fingerprint, opened.read_only))),
            };
            let mut editor = Editor::new(plan, file.as_ref().map(|f| f.0.clone()));
            editor.remember(memory);
            editor.open_remembered_kit();
            if let Some((path, fingerprint, read_only)) = file {
                editor.note_opened(&path, fingerprint, read_only);
            }
            editor.keep_journal(&crate::journal::folder());
            editor.warn_of_other_windows();
            Ok(Box::new(editor))
        }),
    )
    .map(|()| ExitCode::SUCCESS)
    .map_err(|e| PlanError {
        what: say!("the-window-could-not-be-opened", e),
        place: say!("the-display").into(),
        remedy: say!("check-the-graphics-driver-tapemark-sheet").into(),
    })
}
