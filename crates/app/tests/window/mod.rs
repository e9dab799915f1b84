//! The editor's window without a display.

use egui_kittest::Harness;
use tapemark::editor::Editor;

/// A window of 1280 by 800 on an editor.
pub fn window<'a>(editor: Editor) -> Harness<'a, Editor> {
    let mut h = Harness::builder()
        .with_size(egui::vec2(1280.0, 800.0))
        .with_max_steps(60)
        .with_context_setup(tapemark::editor::load_fonts)
        .build_ui_state(|ui, editor: &mut Editor| editor.show(ui), editor);
    h.run_steps(3);
    h
}
