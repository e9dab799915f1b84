//! Typefaces for names in scripts that the drawing's own lacks: looked for when a text first needs one.

use super::Editor;
use super::theme;
use egui::Event;
use std::sync::Arc;
use tapemark_core::plan::{Plan, to_json};
use tapemark_sheet::{Typeface, Weight, scripts_without_typeface, typefaces_for};
use tapemark_words::say;

/// Which typefaces the window has beside its own.
#[derive(Default)]
pub(crate) struct Scripts {
    looked_at: Option<Plan>,
    faces: Vec<Arc<Typeface>>,
    /// Scripts told to have none.
    told: Vec<&'static str>,
}

impl Editor {
    /// Looks for typefaces when the plan or what is typed has characters that none of the window's has.
    pub(crate) fn tend_scripts(&mut self, ctx: &egui::Context) {
        let typed: Vec<String> = ctx.input(|i| {
            let text = |e: &Event| match e {
                Event::Text(t) | Event::Paste(t) | Event::Ime(egui::ImeEvent::Commit(t)) => Some(t.clone()),
                _ => None,
            };
            i.events.iter().filter_map(text).filter(|t| !t.is_ascii()).collect()
        });
        let mut texts = typed;
        if self.drag.is_none() && self.scripts.looked_at.as_ref() != Some(&self.plan) {
            let json = to_json(&self.plan);
            texts.extend((!json.is_ascii()).then_some(json));
            self.scripts.looked_at = Some(self.plan.clone());
        }
        if texts.is_empty() {
            return;
        }
        // Line by line, so that what is written from the right turns no other line.
        let lines = || texts.iter().flat_map(|t| t.lines());
        let new: Vec<Arc<Typeface>> = typefaces_for(lines(), Weight::Regular)
            .into_iter()
            .filter(|f| !self.scripts.faces.iter().any(|known| Arc::ptr_eq(known, f)))
            .collect();
        if !new.is_empty() {
            self.scripts.faces.extend(new);
            theme::fonts_with(ctx, &self.scripts.faces);
        }
        let mut missing: Vec<&'static str> = scripts_without_typeface(lines()).into_iter().collect();
        missing.retain(|script| !self.scripts.told.contains(script));
        if !missing.is_empty() {
            self.tell(say!("notice-script-without-typeface", scripts = missing.join(", ")));
            self.scripts.told.extend(missing);
        }
    }
}
