//! Habits people have: everything by keyboard and by name, looks, numbers as they are written.

mod window;

use egui::{Event, Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use tapemark::editor::{Command, Editor, Shade, Tool};
use tapemark::files;

fn demo<'a>() -> Harness<'a, Editor> {
    let mut editor = Editor::new(files::demo(), None);
    editor.patient = true;
    window::window(editor)
}

fn typed(h: &mut Harness<'_, Editor>, text: &str) {
    h.key_press_modifiers(Modifiers::COMMAND, Key::K);
    h.run_steps(2);
    h.event(Event::Text(text.into()));
    h.run_steps(2);
    h.key_press(Key::Enter);
    h.run_steps(3);
}

#[test]
fn everything_is_found_by_its_name() {
    let mut h = demo();
    typed(&mut h, "storybo");
    assert!(h.query_by_label("Storyboard").is_some());
    assert_eq!(h.state().page, tapemark::editor::Page::Board);
    typed(&mut h, "tool bounce");
    assert_eq!(h.state().tool, Tool::Board);
    let shots = h.state().plan.shots.len();
    typed(&mut h, "new shot");
    assert_eq!(h.state().plan.shots.len(), shots + 1);
    // Names are told apart: each command's is its own.
    let mut names: Vec<&str> = Command::ALL.iter().map(|c| c.label()).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), Command::ALL.len());
}

#[test]
fn what_is_not_there_does_nothing_and_escape_closes() {
    let mut h = demo();
    let before = h.state().plan.clone();
    typed(&mut h, "no such thing");
    assert!(h.query_by_label("Nothing is called that.").is_some());
    h.key_press(Key::Escape);
    h.run_steps(2);
    assert!(h.query_by_label("What to do").is_none());
    assert!(h.state().plan == before);
}

#[test]
fn every_look_draws() {
    let mut h = demo();
    for (look, _) in Shade::ALL {
        h.state_mut().look = look;
        h.run_steps(2);
        assert!(h.query_by_label("View").is_some());
    }
}

#[test]
fn a_right_click_offers_what_can_be_done_with_what_lies_there() {
    let mut h = demo();
    let piece = h.state().plan.location.pieces[0].clone();
    let at = h.state().on_screen(glam::DVec2::from_array(piece.position_m));
    let press = |pressed| Event::PointerButton {
        pos: at,
        button: egui::PointerButton::Secondary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    h.event(Event::PointerMoved(at));
    h.run_steps(1);
    h.event(press(true));
    h.run_steps(1);
    h.event(press(false));
    h.run_steps(3);
    let before = h.state().plan.location.pieces.len();
    h.get_by_label("Delete").click();
    h.run_steps(3);
    assert_eq!(h.state().plan.location.pieces.len(), before - 1);
    assert!(!h.state().plan.location.pieces.iter().any(|p| p.id == piece.id));
}

/// Who cannot see the drawing hears what is on it: AccessKit is told in words.
#[test]
fn the_plan_is_told_in_words() {
    let h = demo();
    let told = h.get_by_label("plan: 2 rooms, shot 1").value().unwrap_or_default();
    for words in ["shot 1 at 0.0 s", "Cam A", "Mara: clear", "lx"] {
        assert!(told.contains(words), "{words} in {told}");
    }
}
