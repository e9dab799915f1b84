//! Everything that can be done, found by its name.

use super::command::{Command, TOOL_KEYS};
use super::language::keys;
use super::state::{Editor, Tool};
use egui::{Key, Modal, ScrollArea, TextEdit, Ui};
use tapemark_core::plan::HeadClass;
use tapemark_words::say;

/// What a line of the list does.
#[derive(Clone, Copy, PartialEq)]
enum Deed {
    Run(Command),
    Take(Tool),
}

fn deeds() -> Vec<(String, String, Deed)> {
    let mut out = Vec::new();
    for c in Command::ALL.into_iter().filter(|c| *c != Command::Find) {
        let key = c.shortcut().map_or(String::new(), |s| keys(s.modifiers, s.logical_key));
        out.push((c.label().trim_end_matches('…').to_string(), key, Deed::Run(c)));
    }
    for (key, tool, name) in TOOL_KEYS {
        out.push((say!("tool-name", name = say!(name)), key.name().to_string(), Deed::Take(tool)));
    }
    for class in HeadClass::ALL {
        out.push((say!("tool-lamp-class", class = class.label()), String::new(), Deed::Take(Tool::Lamp(class))));
    }
    out
}

/// Whether every word typed is in a name.
fn answers(name: &str, typed: &str) -> bool {
    let name = name.to_lowercase();
    typed.to_lowercase().split_whitespace().all(|w| name.contains(w))
}

impl Editor {
    /// Shows the list while it is asked for.
    pub(crate) fn show_finder(&mut self, ctx: &egui::Context) {
        let Some(mut typed) = self.finder.take() else { return };
        let (mut chosen, mut close) = (None, false);
        Modal::new(egui::Id::unique("finder")).show(ctx, |ui: &mut Ui| {
            ui.set_width(420.0);
            let name = ui.heading(say!("what-to-do"));
            let field = TextEdit::singleline(&mut typed).hint_text(say!("part-of-its-name")).desired_width(400.0);
            let field = ui.add(field).labelled_by(name.id);
            field.request_focus();
            let list: Vec<_> = deeds().into_iter().filter(|d| answers(&d.0, &typed)).collect();
            if ui.input(|i| i.key_pressed(Key::Enter)) {
                chosen = list.first().map(|d| d.2);
            }
            close = ui.input(|i| i.key_pressed(Key::Escape));
            ScrollArea::vertical().max_height(360.0).auto_shrink([false, true]).show(ui, |ui| {
                for (name, key, deed) in &list {
                    if ui.add(egui::Button::new(name).shortcut_text(key).min_size(egui::vec2(400.0, 0.0))).clicked() {
                        chosen = Some(*deed);
                    }
                }
                if list.is_empty() {
                    ui.weak(say!("nothing-is-called-that"));
                }
            });
        });
        match chosen {
            Some(Deed::Run(c)) => self.run(c, ctx),
            Some(Deed::Take(tool)) => {
                self.page = super::state::Page::Plan;
                self.tool = tool;
            }
            None if !close => self.finder = Some(typed),
            None => {}
        }
    }
}
