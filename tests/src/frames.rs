//! The editor's frames without a window.

use egui::{Event, Modifiers, PointerButton, Pos2, RawInput, Rect, vec2};
use tapemark::editor::Editor;

/// An editor and the frames it draws, sixty a second.
pub struct Frames {
    ctx: egui::Context,
    /// The editor.
    pub editor: Editor,
    time: f64,
}

impl Frames {
    /// Of an editor, in a window of 1280 by 800.
    #[must_use]
    pub fn of(editor: Editor) -> Frames {
        let ctx = egui::Context::default();
        tapemark::editor::load_fonts(&ctx);
        Frames { ctx, editor, time: 0.0 }
    }

    /// The next frame.
    pub fn frame(&mut self, events: Vec<Event>) {
        self.time += 1.0 / 60.0;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 800.0))),
            time: Some(self.time),
            events,
            ..RawInput::default()
        };
        let editor = &mut self.editor;
        let mut output = self.ctx.run_ui(input, |ui| editor.show(ui));
        output.textures_delta.clear();
        self.ctx.tessellate(std::mem::take(&mut output.shapes), output.pixels_per_point);
    }

    /// Whether the window has a glyph for each character.
    #[must_use]
    pub fn has_glyphs(&self, text: &str) -> bool {
        self.ctx.fonts_mut(|f| f.has_glyphs(&egui::FontId::proportional(14.0), text))
    }

    /// The first button pressed or let go.
    #[must_use]
    pub fn press(pos: Pos2, pressed: bool) -> Event {
        Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE }
    }

    /// A drag in so many frames.
    pub fn drag(&mut self, from: Pos2, to: Pos2, frames: u32) {
        self.frame(vec![Event::PointerMoved(from)]);
        self.frame(vec![Frames::press(from, true)]);
        for i in 1..=frames {
            self.frame(vec![Event::PointerMoved(from + (to - from) * (i as f32 / frames as f32))]);
        }
        self.frame(vec![Frames::press(to, false)]);
        self.frame(Vec::new());
    }
}
