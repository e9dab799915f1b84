//! The editor's window without a display.

#![allow(dead_code, reason = "each test program uses some of it")]

pub mod paint;
pub mod pictures;
pub mod walk;

use egui::{Event, Key, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::Harness;
use glam::DVec2;
use std::time::{Duration, Instant};
use tapemark::editor::Editor;
use tapemark_core::plan::Plan;

/// A window of 1280 by 800 on an editor.
pub fn window<'a>(editor: Editor) -> Window<'a> {
    drawn(editor, 0.25)
}

/// A window on an editor.
pub type Window<'a> = Harness<'a, Editor>;

/// A window on a plan; what is worked out beside the frames is waited for.
pub fn window_on<'a>(plan: Plan) -> Window<'a> {
    window_at(plan, 0.25)
}

/// As [`window_on`], with so many seconds from frame to frame.
pub fn window_at<'a>(plan: Plan, seconds_a_step: f32) -> Window<'a> {
    let mut editor = Editor::new(plan, None);
    editor.patient = true;
    drawn(editor, seconds_a_step)
}

fn drawn<'a>(editor: Editor, seconds_a_step: f32) -> Window<'a> {
    let mut h = Harness::builder()
        .with_step_dt(seconds_a_step)
        .with_size(vec2(1280.0, 800.0))
        .with_max_steps(60)
        .with_context_setup(tapemark::editor::load_fonts)
        .build_ui_state(|ui, editor: &mut Editor| editor.show(ui), editor);
    h.run_steps(3);
    h
}

/// A press or release of the first button.
pub fn button(at: Pos2, pressed: bool) -> Event {
    Event::PointerButton { pos: at, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE }
}

/// A click somewhere in the window.
pub fn click_at(h: &mut Window<'_>, at: Pos2) {
    h.event(Event::PointerMoved(at));
    h.step();
    h.event(button(at, true));
    h.step();
    h.event(button(at, false));
    h.step();
    // Long enough that the next click is not a double click.
    h.run_steps(30);
}

/// A click somewhere on the plan, metres.
pub fn click(h: &mut Window<'_>, plan_m: [f64; 2]) {
    let at = h.state().on_screen(DVec2::from_array(plan_m));
    click_at(h, at);
}

/// A drag from one place of the plan to another, metres.
pub fn drag(h: &mut Window<'_>, from: [f64; 2], to: [f64; 2]) {
    let (a, b) = (h.state().on_screen(DVec2::from_array(from)), h.state().on_screen(DVec2::from_array(to)));
    h.event(Event::PointerMoved(a));
    h.step();
    h.event(button(a, true));
    h.step();
    for i in 1..=8 {
        h.event(Event::PointerMoved(a + (b - a) * (i as f32 / 8.0)));
        h.step();
    }
    h.event(button(b, false));
    h.run_steps(4);
}

/// A key pressed and let go.
pub fn key(h: &mut Window<'_>, key: Key) {
    h.key_press(key);
    h.run_steps(2);
}

/// The pointer put over a place of the plan, metres.
pub fn hover(h: &mut Window<'_>, plan_m: [f64; 2]) {
    let at = h.state().on_screen(DVec2::from_array(plan_m));
    h.event(Event::PointerMoved(at));
    h.run_steps(2);
}

/// A length typed and entered.
pub fn type_length(h: &mut Window<'_>, text: &str) {
    h.event(Event::Text(text.into()));
    h.step();
    key(h, Key::Enter);
}

/// Codes of the notices shown.
pub fn problems(h: &Window<'_>) -> Vec<&'static str> {
    h.state().facts().notices.iter().map(|n| n.code).collect()
}

/// Draws frames until something holds: far longer than a busy machine takes.
pub fn until(h: &mut Window<'_>, what: &str, holds: impl Fn(&Window<'_>) -> bool) {
    let began = Instant::now();
    loop {
        h.step();
        if holds(h) {
            return;
        }
        assert!(began.elapsed() < Duration::from_secs(120), "not in two minutes: {what}");
        std::thread::sleep(Duration::from_millis(15));
    }
}

/// Waits until the page has worked out all it shows.
pub fn worked_out(h: &mut Window<'_>) {
    until(h, "the page is worked out", |h| h.state().worked_out());
    h.run_steps(3);
}

#[derive(Debug)]
struct Dropped(std::path::PathBuf);
impl egui::DroppedFile for Dropped {
    fn path(&self) -> &std::path::Path {
        &self.0
    }
    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|e| e.to_string())
    }
}

/// A file dropped on the window.
pub fn drop_file(h: &mut Window<'_>, file: impl Into<std::path::PathBuf>) {
    h.input_mut().dropped_files.push(std::sync::Arc::new(Dropped(file.into())));
}
