//! How long is a frame, from input to painted mesh on the CPU, while the camera is dragged?

use criterion::{Criterion, criterion_group, criterion_main};
use egui::{Event, Modifiers, PointerButton, Pos2, RawInput, Rect, pos2, vec2};
use glam::DVec2;
use tapemark::editor::Editor;

struct Window {
    ctx: egui::Context,
    editor: Editor,
    time: f64,
}

impl Window {
    fn frame(&mut self, events: Vec<Event>) -> usize {
        self.time += 1.0 / 60.0;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 800.0))),
            time: Some(self.time),
            events,
            ..RawInput::default()
        };
        let editor = &mut self.editor;
        let output = self.ctx.run_ui(input, |ui| editor.show(ui));
        self.ctx.tessellate(output.shapes, output.pixels_per_point).len()
    }
}

fn bench(c: &mut Criterion) {
    let mut w = Window { ctx: egui::Context::default(), editor: Editor::new(tapemark::files::demo(), None), time: 0.0 };
    tapemark::editor::load_fonts(&w.ctx);
    for _ in 0..4 {
        w.frame(Vec::new());
    }
    let at = w.editor.on_screen(DVec2::from_array(w.editor.plan.cameras[0].position_m));
    w.frame(vec![Event::PointerMoved(at)]);
    w.frame(vec![Event::PointerButton {
        pos: at,
        button: PointerButton::Primary,
        pressed: true,
        modifiers: Modifiers::NONE,
    }]);
    let mut n = 0_u32;
    c.bench_function("drag the camera, one frame at 1280 × 800", |b| {
        b.iter(|| {
            n += 1;
            let to = pos2(at.x - 40.0 + (n % 60) as f32, at.y - 20.0 + (n % 35) as f32);
            w.frame(vec![Event::PointerMoved(to)])
        });
    });
    assert!(w.editor.plan != tapemark::files::demo(), "the camera was dragged");
}

criterion_group!(benches, bench);
criterion_main!(benches);
