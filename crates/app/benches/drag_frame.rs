//! How long is a frame, from input to painted mesh on the CPU, while something is dragged?

use criterion::{Criterion, criterion_group, criterion_main};
use egui::{Event, Modifiers, PointerButton, Pos2, RawInput, Rect, pos2, vec2};
use glam::DVec2;
use std::time::{Duration, Instant};
use tapemark::editor::Editor;
use tapemark_core::plan::{Plan, from_json};

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
        let mut output = self.ctx.run_ui(input, |ui| editor.show(ui));
        output.textures_delta.clear();
        self.ctx.tessellate(std::mem::take(&mut output.shapes), output.pixels_per_point).len()
    }
}

fn open(plan: Plan) -> Window {
    let mut w = Window { ctx: egui::Context::default(), editor: Editor::new(plan, None), time: 0.0 };
    tapemark::editor::load_fonts(&w.ctx);
    w.frame(Vec::new());
    w
}

/// Opened, and all that is worked out beside the frames done.
fn settled(plan: Plan) -> Window {
    let mut w = open(plan);
    settle(&mut w);
    w
}

fn settle(w: &mut Window) {
    while !(w.editor.light_is_finished() && w.editor.lens_is_finished()) {
        std::thread::sleep(Duration::from_millis(20));
        w.frame(Vec::new());
    }
}

/// Drags whatever lies at a point of the plan to and fro.
fn drag(c: &mut Criterion, name: &str, w: &mut Window, from: [f64; 2]) {
    let before = w.editor.plan.clone();
    let at = w.editor.on_screen(DVec2::from_array(from));
    let press = |pos, pressed| Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    w.frame(vec![Event::PointerMoved(at)]);
    w.frame(vec![press(at, true)]);
    let mut n = 0_u32;
    let mut last = at;
    c.bench_function(name, |b| {
        b.iter(|| {
            n += 1;
            last = pos2(at.x - 10.0 + (n % 30) as f32, at.y - 8.0 + (n % 17) as f32);
            w.frame(vec![Event::PointerMoved(last)])
        });
    });
    assert!(n == 0 || w.editor.plan != before, "{name}: something was dragged");
    w.frame(vec![press(last, false)]);
    w.frame(Vec::new());
}

fn bench(c: &mut Criterion) {
    let mut w = settled(tapemark::files::demo());
    let camera = w.editor.plan.cameras[0].position_m;
    drag(c, "drag the camera, one frame at 1280 × 800", &mut w, camera);
}

/// 30 rooms, 1000 pieces, 200 lamps, 60 shots.
fn large(c: &mut Criterion) {
    let bytes = include_bytes!("../../../assets/bench/large-day.tapemark.json");
    let plan = from_json(bytes).expect("a plan");
    let mut w = settled(plan);
    let (camera, lamp, piece) = (
        w.editor.plan.cameras[0].position_m,
        w.editor.plan.rigs[0].fixtures[0].position_m,
        w.editor.plan.location.pieces[0].position_m,
    );
    drag(c, "large day: drag the camera, one frame", &mut w, camera);
    drag(c, "large day: drag a lamp, one frame", &mut w, lamp);
    drag(c, "large day: drag a piece, one frame", &mut w, piece);
    if let Ok(status) = std::fs::read_to_string("/proc/self/status") {
        let resident = status.lines().find(|l| l.starts_with("VmRSS")).unwrap_or_default();
        println!("large day: {resident}");
    }
    drop(w);
    c.bench_function("large day: open, to the first frame", |b| {
        b.iter_custom(|times| {
            let mut sum = Duration::ZERO;
            for _ in 0..times {
                let began = Instant::now();
                let mut w = open(from_json(bytes).expect("a plan"));
                sum += began.elapsed();
                // What is worked out beside the frames would go on beside the next one.
                settle(&mut w);
            }
            sum
        });
    });
}

criterion_group!(benches, bench, large);
criterion_main!(benches);
