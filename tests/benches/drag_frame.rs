//! How long is a frame, from input to painted mesh on the CPU, while something is dragged?

use criterion::{Criterion, criterion_group, criterion_main};
use egui::{Event, pos2};
use glam::DVec2;
use std::time::{Duration, Instant};
use tapemark::editor::{Editor, Page};
use tapemark_acceptance::Frames;
use tapemark_core::plan::{Plan, from_json};

fn open(plan: Plan) -> Frames {
    let mut w = Frames::of(Editor::new(plan, None));
    w.frame(Vec::new());
    w
}

/// Opened, and all that is worked out beside the frames done.
fn settled(plan: Plan) -> Frames {
    let mut w = open(plan);
    settle(&mut w);
    w
}

fn settle(w: &mut Frames) {
    while !(w.editor.light_is_finished() && w.editor.lens_is_finished()) {
        std::thread::sleep(Duration::from_millis(20));
        w.frame(Vec::new());
    }
}

/// Drags whatever lies at a point of the plan to and fro.
fn drag(c: &mut Criterion, name: &str, w: &mut Frames, from: [f64; 2]) {
    let before = w.editor.plan.clone();
    let at = w.editor.on_screen(DVec2::from_array(from));
    w.frame(vec![Event::PointerMoved(at)]);
    w.frame(vec![Frames::press(at, true)]);
    let mut n = 0_u32;
    let mut last = at;
    c.bench_function(name, |b| {
        b.iter(|| {
            n += 1;
            last = pos2(at.x - 10.0 + (n % 30) as f32, at.y - 8.0 + (n % 17) as f32);
            w.frame(vec![Event::PointerMoved(last)]);
        });
    });
    assert!(n == 0 || w.editor.plan != before, "{name}: something was dragged");
    w.frame(vec![Frames::press(last, false)]);
    w.frame(Vec::new());
}

fn bench(c: &mut Criterion) {
    let mut w = settled(tapemark::files::demo());
    let camera = w.editor.plan.cameras[0].position_m;
    drag(c, "drag the camera, one frame at 1280 × 800", &mut w, camera);
}

/// 30 rooms, 1000 pieces, 200 lamps, 60 shots.
fn large(c: &mut Criterion) {
    let bytes = include_bytes!("../../assets/bench/large-day.tapemark.json");
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
    // A storyboard of 60 shots takes longer than this: it is worked out beside the frames all the while.
    w = settled(from_json(bytes).expect("a plan"));
    w.editor.page = Page::Board;
    w.frame(Vec::new());
    w.editor.page = Page::Plan;
    // Until the panels stand where they stood.
    (0..30).for_each(|_| w.frame(Vec::new()));
    drag(c, "large day: drag the camera while the storyboard is worked out, one frame", &mut w, camera);
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
