//! The pictures of the guide, drawn anew: they show the window as it is.
//!
//! `TAPEMARK_PICTURES=write` writes them, to be looked at.

mod window;

use egui::{Event, Key, Modifiers, PointerButton};
use egui_kittest::kittest::Queryable;
use tapemark::editor::Shade;
use tapemark::files;
use window::pictures::{compare, finished, opened, shown};
use window::{hover, key, worked_out};

#[test]
fn the_whole_window() {
    for (name, size, per_point) in [
        ("editor-1280x800.png", [1280.0, 800.0], 1.0),
        ("editor-1920x1080.png", [1920.0, 1080.0], 1.0),
        ("editor-1920x1080-dpi2.png", [1920.0, 1080.0], 2.0),
    ] {
        let (h, painter) = opened(size, per_point);
        compare(name, &shown(&h, &painter));
    }
}

#[test]
fn a_hidden_face_and_the_clear_view() {
    let (mut h, painter) = opened([1280.0, 800.0], 1.0);
    key(&mut h, Key::PageDown);
    finished(&mut h);
    compare("hidden-face.png", &shown(&h, &painter));
    key(&mut h, Key::PageUp);
    key(&mut h, Key::E);
    finished(&mut h);
    hover(&mut h, [4.6, 0.9]);
    finished(&mut h);
    compare("clear-view.png", &shown(&h, &painter));
}

#[test]
fn the_lens_larger() {
    let (mut h, painter) = opened([1280.0, 800.0], 1.0);
    h.get_by_label("larger").click();
    finished(&mut h);
    compare("lens-larger.png", &shown(&h, &painter));
}

#[test]
fn the_storyboard_and_the_day() {
    let (mut h, painter) = opened([1280.0, 800.0], 1.0);
    key(&mut h, Key::F3);
    worked_out(&mut h);
    finished(&mut h);
    compare("storyboard.png", &shown(&h, &painter));
    key(&mut h, Key::F4);
    worked_out(&mut h);
    finished(&mut h);
    compare("shooting-day.png", &shown(&h, &painter));
}

#[test]
fn by_night_and_by_name() {
    let (mut h, painter) = opened([1280.0, 800.0], 1.0);
    h.state_mut().look = Shade::Night;
    finished(&mut h);
    let night = shown(&h, &painter);
    assert!(night.pixels().all(|p| p.0[0] == 0), "no red leaves the window");
    compare("night.png", &night);
    h.state_mut().look = Shade::Dark;
    h.key_press_modifiers(Modifiers::COMMAND, Key::K);
    h.run_steps(3);
    h.event(Event::Text("light".into()));
    finished(&mut h);
    compare("by-name.png", &shown(&h, &painter));
}

#[test]
fn a_menu_on_a_right_click() {
    let (mut h, painter) = opened([1280.0, 800.0], 1.0);
    let at = h.state().on_screen(glam::DVec2::new(4.45, 4.3));
    h.event(Event::PointerMoved(at));
    h.step();
    for pressed in [true, false] {
        let (button, modifiers) = (PointerButton::Secondary, Modifiers::NONE);
        h.event(Event::PointerButton { pos: at, button, pressed, modifiers });
        h.step();
    }
    finished(&mut h);
    compare("right-click.png", &shown(&h, &painter));
}

/// The sheet is drawn by the program itself.
#[test]
fn the_sheet_of_shot_2() {
    let folder = tempfile::tempdir().unwrap();
    let (plan, sheet) = (folder.path().join("demo.tapemark.json"), folder.path().join("sheet.png"));
    files::write(&plan, &files::demo()).unwrap();
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_tapemark"))
        .args(["sheet", plan.to_str().unwrap(), "--shot", "2", "--light", "1.5", "-o", sheet.to_str().unwrap()])
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    compare("sheet-shot-2.png", &files::picture(&sheet).unwrap());
}
