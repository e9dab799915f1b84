//! Habits people have: everything by keyboard and by name, looks, numbers as they are written.

mod window;

use egui::{Event, Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use tapemark::editor::{Command, Editor, Shade, Tool};
use tapemark::files;
use window::walk::{every_screen, nodes};

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

/// Controls that a screen reader would read without a name.
fn unnamed(h: &Harness<'_, Editor>) -> Vec<String> {
    use egui::accesskit::Role;
    let mut out = Vec::new();
    for node in nodes(h) {
        let n = node.accesskit_node();
        let control = matches!(
            n.role(),
            Role::Button
                | Role::CheckBox
                | Role::RadioButton
                | Role::Slider
                | Role::SpinButton
                | Role::TextInput
                | Role::MultilineTextInput
                | Role::ComboBox
                | Role::Link
                | Role::ColorWell
                | Role::Switch
                | Role::MenuItem
        );
        let named = n.label().is_some_and(|l| l.chars().any(char::is_alphanumeric));
        if control && !named {
            out.push(format!("{:?} {:?} at {:?}", n.role(), n.value(), node.rect()));
        }
    }
    out
}

/// On every screen each control has a name (WCAG 2.2, 4.1.2).
#[test]
fn every_control_has_a_name() {
    let mut wrong = Vec::new();
    every_screen(&mut demo(), |what, h| wrong.extend(unnamed(h).into_iter().map(|w| format!("{what}: {w}"))));
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{} without a name:\n{}", wrong.len(), wrong.join("\n"));
}

/// Tab goes from control to control through the whole window, in the order they are read, and back with shift.
#[test]
fn tab_goes_through_the_window() {
    let mut h = demo();
    let mut seen: Vec<String> = Vec::new();
    let focused = |h: &Harness<'_, Editor>| {
        let of = nodes(h).into_iter().find(|n| n.accesskit_node().is_focused());
        of.and_then(|n| n.accesskit_node().label().map(|name| (name, n.rect())))
    };
    let mut places = Vec::new();
    for _ in 0..200 {
        h.key_press(Key::Tab);
        h.run_steps(2);
        let Some((name, rect)) = focused(&h) else { continue };
        if seen.first() == Some(&name) && seen.len() > 10 {
            break;
        }
        seen.push(name);
        places.push(rect);
    }
    let at = |name: &str| seen.iter().position(|s| s == name).unwrap_or_else(|| panic!("{name} in {seen:?}"));
    // Menus, shots, the plan and its tools, layers, numbers, the time bar.
    assert!(at("File") < at("Select") && at("Select") < at("Outlet"), "{seen:?}");
    assert!(at("Outlet") < at("Light") && at("Light") < at("levels") && at("levels") < at("time"), "{seen:?}");
    assert!(at("time") > places.len() - 6, "the time bar is last: {seen:?}");
    h.key_press_modifiers(Modifiers::SHIFT, Key::Tab);
    h.run_steps(2);
    let (back, _) = focused(&h).unwrap();
    assert_eq!(back, seen[seen.len() - 1], "{seen:?}");
}

/// Without a pointer: a room is walked round by arrows and lengths, things are put into it, selected and moved.
#[test]
fn everything_by_keyboard() {
    let mut h = window::window_on(tapemark_core::plan::Plan::empty());
    let press = |h: &mut Harness<'_, Editor>, key: Key, times: usize| {
        for _ in 0..times {
            h.key_press(key);
            h.run_steps(2);
        }
    };
    let typed = |h: &mut Harness<'_, Editor>, text: &str| {
        h.event(Event::Text(text.into()));
        h.step();
        h.key_press(Key::Enter);
        h.run_steps(2);
    };
    press(&mut h, Key::R, 1);
    press(&mut h, Key::ArrowLeft, 1);
    press(&mut h, Key::Enter, 1);
    for (way, length) in [(Key::ArrowRight, "4.2"), (Key::ArrowUp, "3"), (Key::ArrowLeft, "4.2")] {
        press(&mut h, way, 1);
        typed(&mut h, length);
    }
    press(&mut h, Key::Enter, 1);
    let rooms = &h.state().plan.location.rooms;
    assert_eq!(rooms.len(), 1);
    let area =
        tapemark_core::geometry::signed_area(&rooms[0].outline_m.iter().map(|p| (*p).into()).collect::<Vec<_>>());
    assert!((area.abs() - 4.2 * 3.0).abs() < 0.01, "{area}");
    // A person in the middle of what is seen, half a metre to the right of it.
    press(&mut h, Key::Escape, 2);
    press(&mut h, Key::P, 1);
    h.key_press_modifiers(Modifiers::SHIFT, Key::ArrowRight);
    h.run_steps(2);
    press(&mut h, Key::Enter, 1);
    assert_eq!(h.state().plan.shots[0].marks.len(), 1);
    let before = h.state().plan.shots[0].marks[0].position_m;
    press(&mut h, Key::Escape, 2);
    press(&mut h, Key::N, 4);
    assert_eq!(h.state().selected.len(), 1);
    for _ in 0..8 {
        if matches!(h.state().selected.first(), Some(tapemark_core::edit::ItemRef::Mark(_))) {
            break;
        }
        press(&mut h, Key::N, 1);
    }
    press(&mut h, Key::ArrowUp, 2);
    let after = h.state().plan.shots[0].marks[0].position_m;
    assert!((after[1] - before[1] - 0.1).abs() < 1e-6, "{before:?} {after:?}");
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run_steps(2);
    assert!(h.state().undo_depth() > 0);
}

fn touch(h: &mut Harness<'_, Editor>, finger: u64, phase: egui::TouchPhase, pos: egui::Pos2) {
    h.event(Event::Touch {
        device_id: egui::TouchDeviceId(1),
        id: egui::TouchId(finger),
        phase,
        pos,
        force: Some(0.6),
    });
}

/// Two fingers spread apart: the plan grows about them, and nothing on it moves.
#[test]
fn two_fingers_look_about() {
    use egui::TouchPhase::{End, Move, Start};
    let mut h = demo();
    let before = h.state().plan.clone();
    let scale = |h: &Harness<'_, Editor>| {
        let [a, b] = [0.0, 1.0].map(|x| h.state().on_screen(glam::DVec2::new(x, 0.0)));
        a.distance(b)
    };
    let one = scale(&h);
    let middle = h.state().on_screen(glam::DVec2::new(2.6, 3.05));
    touch(&mut h, 1, Start, middle);
    h.event(Event::PointerMoved(middle));
    h.event(Event::PointerButton {
        pos: middle,
        button: egui::PointerButton::Primary,
        pressed: true,
        modifiers: Modifiers::NONE,
    });
    h.step();
    touch(&mut h, 2, Start, middle + egui::vec2(40.0, 0.0));
    h.step();
    for i in 1..=10 {
        let d = i as f32 * 6.0;
        touch(&mut h, 1, Move, middle - egui::vec2(d, 0.0));
        touch(&mut h, 2, Move, middle + egui::vec2(40.0 + d, 0.0));
        h.event(Event::PointerMoved(middle - egui::vec2(d, 0.0)));
        h.step();
    }
    for finger in [1, 2] {
        touch(&mut h, finger, End, middle);
    }
    h.event(Event::PointerButton {
        pos: middle,
        button: egui::PointerButton::Primary,
        pressed: false,
        modifiers: Modifiers::NONE,
    });
    h.run_steps(4);
    assert!(scale(&h) > one * 2.0, "{} from {one}", scale(&h));
    assert!(h.state().plan == before, "nothing was dragged");
}

/// Type half as large again and twice as large: menus, tools, pages and the time bar are still in the window.
#[test]
fn type_of_any_size() {
    for (size, steps) in [(1.5, 4), (2.0, 8)] {
        let mut h = demo();
        for _ in 0..steps {
            h.key_press_modifiers(Modifiers::COMMAND, Key::Plus);
            h.run_steps(2);
        }
        assert!((h.ctx.zoom_factor() - size).abs() < 1e-6);
        let window = h.ctx.content_rect();
        for name in ["File", "Select", "Outlet", "Storyboard", "Run"] {
            let rect = h.get_by_label(name).rect();
            assert!(window.expand(1.0).contains_rect(rect), "{name} at {size}: {rect:?} in {window:?}");
        }
        let [a, b] = ["Select", "Room"].map(|n| h.get_by_label(n).rect());
        assert!(!a.shrink(0.5).intersects(b), "{a:?} {b:?}");
    }
}

/// How the window was laid out is there the next time, and when another plan is opened.
#[test]
fn the_layout_is_remembered() {
    let mut h = demo();
    for key in [Key::T, Key::G, Key::L] {
        h.key_press(key);
        h.run_steps(3);
    }
    let kept = serde_json::to_string(&h.state().memory).unwrap();
    let memory: files::Memory = serde_json::from_str(&kept).unwrap();
    assert!(memory.layout.taping && !memory.layout.snap && !memory.layout.light);
    let layout = memory.layout.clone();
    let mut again = Editor::new(files::demo(), None);
    again.remember(memory);
    assert_eq!(again.layout(), layout);
    again.replace(files::demo(), None);
    assert_eq!(again.layout(), layout);
    // A memory of an earlier version, and one that is broken in part, are read as far as they go.
    let old: files::Memory = serde_json::from_str(r#"{"recent":[],"layout":{"taping":true}}"#).unwrap();
    assert!(old.layout.taping && old.layout.snap);
}

/// Pointing at a word of the trade tells what it means.
#[test]
fn words_of_the_trade_are_told() {
    let mut h = demo();
    let at = h.get_by_label("exposure wants").rect().center();
    h.event(Event::PointerMoved(at));
    h.run_steps(60);
    assert!(h.query_by_label_contains("this EI, shutter and stop call for").is_some());
    let lamp = h.state().plan.rigs[0].fixtures[1].id.clone();
    h.state_mut().selected = [tapemark_core::edit::ItemRef::Fixture(lamp)].into();
    h.run_steps(4);
    let at = h.get_all_by_label("Field").next().unwrap().rect().center();
    h.event(Event::PointerMoved(at));
    h.run_steps(60);
    assert!(h.query_by_label_contains("a tenth of the candelas").is_some());
}

/// The plan stays where it is, whatever is selected.
#[test]
fn no_panel_moves_the_plan() {
    let mut h = demo();
    let at = |h: &window::Window<'_>| [[0.0, 0.0], [5.0, 4.0]].map(|p| h.state().on_screen(p.into()));
    let before = at(&h);
    every_screen(&mut h, |what, h| assert_eq!(at(h), before, "{what}"));
}

/// Where the pointer is on the plan is told beside the plan only.
#[test]
fn the_storyboard_tells_no_place_on_the_plan() {
    let mut h = demo();
    let at = h.state().on_screen([3.0, 2.0].into());
    h.event(Event::PointerMoved(at));
    h.run_steps(2);
    let told = |h: &window::Window<'_>| {
        let words = |n: &egui_kittest::Node<'_>| n.accesskit_node().value().or_else(|| n.accesskit_node().label());
        nodes(h).iter().filter_map(words).any(|w| w.starts_with("east 3.00 m"))
    };
    assert!(told(&h));
    h.key_press(Key::F3);
    h.run_steps(3);
    assert!(!told(&h));
}
