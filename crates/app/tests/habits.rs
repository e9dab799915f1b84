//! Habits people have: everything by keyboard and by name, looks, numbers as they are written.

use egui::{Event, Key, Modifiers, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use tapemark::editor::{Command, Editor, Shade, Tool};
use tapemark::files;

fn window<'a>() -> Harness<'a, Editor> {
    let mut editor = Editor::new(files::demo(), None);
    editor.patient = true;
    let mut h = Harness::builder()
        .with_size(vec2(1280.0, 800.0))
        .with_max_steps(60)
        .with_context_setup(tapemark::editor::load_fonts)
        .build_ui_state(|ui, editor: &mut Editor| editor.show(ui), editor);
    h.run_steps(3);
    h
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
    let mut h = window();
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
    let mut h = window();
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
    let mut h = window();
    for (look, _) in Shade::ALL {
        h.state_mut().look = look;
        h.run_steps(2);
        assert!(h.query_by_label("View").is_some());
    }
}
