//! Which language the window speaks.

use super::state::Editor;
use crate::files::Memory;

use egui::{Key, Modifiers, Ui};
use tapemark_words::{Language, say, speak, spoken};

/// The language of a run: the one asked for, or else the one chosen last, or else the system's, or else English.
#[must_use]
pub fn language_of(asked: Option<Language>, memory: &Memory, system: Option<&str>) -> Language {
    let remembered = memory.language.as_deref().and_then(Language::of_tag);
    asked.or(remembered).or_else(|| system.and_then(Language::of_tag)).unwrap_or_default()
}

impl Editor {
    /// The languages to choose from, each as those who speak it call it.
    pub(super) fn language_menu(&mut self, ui: &mut Ui) {
        ui.label(say!("language"));
        for language in Language::ALL {
            if ui.radio(spoken() == language, language.own_name()).clicked() && spoken() != language {
                self.speak(language);
            }
        }
    }

    /// Speaks a language from now on and remembers it; what was said in another is said again.
    pub fn speak(&mut self, language: Language) {
        speak(language);
        self.memory.language = Some(language.tag().into());
        self.memory.write();
        self.place = None;
        self.told = None;
        self.board.touch();
        self.day.touch();
        self.touch();
    }
}

/// A shortcut in words, as the keyboard of the language names its keys.
pub(crate) fn keys(m: Modifiers, key: Key) -> String {
    let mut out = String::new();
    for (held, name) in [(m.command || m.ctrl, say!("ctrl")), (m.shift, say!("shift")), (m.alt, say!("alt"))] {
        if held {
            out += name;
        }
    }
    out + match key {
        Key::Delete => say!("delete-key"),
        Key::Escape => say!("escape-key"),
        Key::Space => say!("space-key"),
        Key::Home => say!("home-key"),
        Key::PageDown => say!("page-down-key"),
        Key::PageUp => say!("page-up-key"),
        other => other.name(),
    }
}
