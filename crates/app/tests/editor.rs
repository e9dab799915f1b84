//! The whole job by pointer and keyboard.

mod window;

use egui::{Event, Key, Modifiers, vec2};
use egui_kittest::kittest::Queryable;
use glam::DVec2;
use tapemark::editor::{Chooser, Tool, Wanted};
use tapemark::files;
use tapemark_core::plan::{HeadClass, Plan};
use window::{Window, button, click, click_at, drag, hover, key, problems, type_length, until, window_at, window_on};

#[test]
fn from_an_empty_floor_to_a_sheet() {
    let mut h = window_on(Plan::empty());
    // Draw: two walls by clicking, two by calling out their lengths.
    key(&mut h, Key::R);
    assert_eq!(h.state().tool, Tool::Room);
    click(&mut h, [0.0, 0.0]);
    hover(&mut h, [4.0, 0.0]);
    type_length(&mut h, "5.5");
    hover(&mut h, [5.5, 2.0]);
    type_length(&mut h, "13'1 1/2\"");
    click(&mut h, [0.0, 4.0]);
    key(&mut h, Key::Enter);
    let room = &h.state().plan.location.rooms[0];
    let wanted = [[0.0, 0.0], [5.5, 0.0], [5.5, 4.0005], [0.0, 4.0]];
    assert_eq!(room.outline_m.len(), 4, "{:?}", room.outline_m);
    for (got, want) in room.outline_m.iter().zip(wanted) {
        assert!((got[0] - want[0]).abs() < 0.03 && (got[1] - want[1]).abs() < 0.03, "{:?}", room.outline_m);
    }

    // A door and a window on its walls.
    key(&mut h, Key::D);
    click(&mut h, [5.5, 3.0]);
    key(&mut h, Key::W);
    click(&mut h, [3.0, 4.0]);
    assert_eq!(h.state().plan.location.openings.len(), 2);

    // Camera, two people, a lamp.
    key(&mut h, Key::C);
    click(&mut h, [2.0, 0.9]);
    key(&mut h, Key::P);
    click(&mut h, [2.0, 3.4]);
    key(&mut h, Key::P);
    click(&mut h, [2.0, 2.3]);
    h.state_mut().take(Tool::Lamp(HeadClass::SoftBox));
    click(&mut h, [4.6, 1.0]);
    let plan = &h.state().plan;
    assert_eq!((plan.cameras.len(), plan.cast.len(), plan.rigs[0].fixtures.len()), (1, 2, 1));

    // The second person stands before the first.
    assert!(problems(&h).contains(&"face-hidden"), "{:?}", problems(&h));
    h.get_all_by_label_contains("hidden by Person 2").next().expect("said in words");

    // Dragging the camera until both are clear: one step of undo.
    let depth = h.state().undo_depth();
    drag(&mut h, [2.0, 0.9], [0.75, 0.9]);
    assert_eq!(h.state().undo_depth(), depth + 1);
    assert!((h.state().plan.cameras[0].position_m[0] - 0.75).abs() < 0.051);
    // Turned by its handle toward the two.
    key(&mut h, Key::V);
    let camera = h.state().plan.cameras[0].position_m;
    drag(&mut h, [camera[0], camera[1] + 0.75], [camera[0] + 0.6, camera[1] + 1.0]);
    assert!(h.state().plan.cameras[0].pan_deg > 15.0, "{}", h.state().plan.cameras[0].pan_deg);
    assert!(!problems(&h).contains(&"face-hidden"), "{:?}", h.state().facts().notices);

    // Back and forth.
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run_steps(2);
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run_steps(2);
    assert!(problems(&h).contains(&"face-hidden"));
    h.key_press_modifiers(Modifiers::COMMAND, Key::Y);
    h.run_steps(2);
    h.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    h.run_steps(2);
    assert!(!problems(&h).contains(&"face-hidden"));

    // Saved, reopened, exported.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("room.tapemark.json");
    assert!(h.state().unsaved());
    let sheet = folder.path().join("room.pdf");
    let chooser = |plan: &std::path::Path, sheet: &std::path::Path| -> Chooser {
        let (plan, sheet) = (plan.to_path_buf(), sheet.to_path_buf());
        std::sync::Arc::new(move |wanted, _| Some(if wanted == Wanted::Sheet { sheet.clone() } else { plan.clone() }))
    };
    h.state_mut().chooser = chooser(&path, &sheet);
    h.key_press_modifiers(Modifiers::COMMAND, Key::S);
    h.run_steps(3);
    assert!(!h.state().unsaved());
    let kept = h.state().plan.clone();
    let mut again = window_on(Plan::empty());
    again.state_mut().chooser = chooser(&path, &sheet);
    again.key_press_modifiers(Modifiers::COMMAND, Key::O);
    again.run_steps(4);
    assert_eq!(again.state().plan, kept);
    again.key_press_modifiers(Modifiers::COMMAND, Key::E);
    again.run_steps(4);
    again.get_by_label_contains("Choose the file").click();
    again.run_steps(4);
    assert!(std::fs::read(&sheet).unwrap().starts_with(b"%PDF"));
}

#[test]
fn the_demo_problem_goes_when_the_camera_is_dragged() {
    let mut h = window_on(files::demo());
    h.get_by_label_contains("2  medium close-up").click();
    h.run_steps(3);
    assert_eq!(problems(&h), ["face-hidden"]);
    drag(&mut h, [4.4, 1.2], [4.45, 2.75]);
    let handle = ahead(&h, 0.75);
    drag(&mut h, handle, [1.55, 2.35]);
    assert!(!problems(&h).contains(&"face-hidden"), "{:?}", h.state().facts().notices);
}

/// The place of the selected camera's handle.
fn ahead(h: &Window<'_>, metres: f64) -> [f64; 2] {
    let e = h.state();
    let c = e.plan.shot_camera(e.plan.shot(&e.shot).unwrap()).unwrap();
    let d = tapemark_core::geometry::bearing_dir(c.pan_deg) * metres;
    [c.position_m[0] + d.x, c.position_m[1] + d.y]
}

#[test]
fn select_copy_paste_delete_and_undo() {
    let mut h = window_on(files::demo());
    click(&mut h, [5.8, 0.3]);
    assert_eq!(h.state().selected.len(), 1);
    h.event(Event::Copy);
    h.step();
    h.event(Event::Paste(String::new()));
    h.run_steps(2);
    assert_eq!(h.state().plan.location.pieces.len(), 6);
    key(&mut h, Key::Delete);
    assert_eq!(h.state().plan.location.pieces.len(), 5);
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run_steps(2);
    assert_eq!(h.state().plan.location.pieces.len(), 6);
    h.key_press_modifiers(Modifiers::COMMAND, Key::A);
    h.run_steps(2);
    assert!(h.state().selected.len() > 12);
    key(&mut h, Key::ArrowRight);
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run_steps(2);
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run_steps(2);
    assert_eq!(h.state().plan, files::demo());
}

#[test]
fn a_length_is_typed_in_the_property_editor() {
    let mut h = window_on(files::demo());
    click(&mut h, [2.9, 2.35]);
    h.get_by_label("Width").click();
    h.run_steps(2);
    let field = h.get_by_role_and_label(egui::Role::TextInput, "Width");
    field.focus();
    h.run_steps(2);
    h.key_press_modifiers(Modifiers::COMMAND, Key::A);
    h.run_steps(1);
    h.event(Event::Text("6'".into()));
    h.run_steps(1);
    key(&mut h, Key::Enter);
    h.run_steps(3);
    let tapemark_core::plan::PieceShape::Box { width_m, .. } = h.state().plan.location.pieces[0].shape else {
        panic!()
    };
    assert!((width_m - 1.8288).abs() < 1e-9, "{width_m}");
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run_steps(3);
    assert_eq!(h.state().plan, files::demo());
}

#[test]
fn leaving_unsaved_work_is_asked_about() {
    let mut h = window_on(files::demo());
    click(&mut h, [2.9, 2.35]);
    key(&mut h, Key::Delete);
    h.key_press_modifiers(Modifiers::COMMAND, Key::N);
    h.run_steps(4);
    h.get_by_label_contains("changes that are not saved");
    h.get_by_label("Keep editing").click();
    h.run_steps(4);
    assert_eq!(h.state().plan.title, "The Last Firing");
    h.key_press_modifiers(Modifiers::COMMAND, Key::N);
    h.run_steps(4);
    h.get_by_label("Discard changes").click();
    h.run_steps(4);
    assert_eq!(h.state().plan, Plan::empty());
}

#[test]
fn a_broken_file_is_told_and_the_plan_stays() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("broken.tapemark.json");
    std::fs::write(&path, "{\"format\": \"tapemark-plan\", \"version\": 1,").unwrap();
    let mut h = window_on(files::demo());
    h.state_mut().open_file(&path);
    h.run_steps(3);
    h.get_by_label_contains("ends in the middle");
    assert_eq!(h.state().plan, files::demo());
}

#[test]
fn units_switch_and_scrub() {
    let mut h = window_on(files::demo());
    h.get_by_label("ft-in").click();
    h.run_steps(3);
    h.get_all_by_label_contains("'").next().expect("feet are shown");
    h.state_mut().seconds = 8.0;
    h.state_mut().go_to_shot("shot-1".into());
    h.run_steps(2);
    assert_eq!(h.state().facts().at_s, 0.0);
}

#[test]
fn wheel_zooms_about_the_pointer() {
    let mut h = window_on(files::demo());
    let at = h.state().on_screen(DVec2::new(1.0, 1.0));
    h.event(Event::PointerMoved(at));
    h.step();
    h.event(Event::MouseWheel {
        unit: egui::MouseWheelUnit::Line,
        delta: vec2(0.0, 3.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Wheel,
        modifiers: Modifiers::NONE,
    });
    h.run_steps(20);
    let now = h.state().on_screen(DVec2::new(1.0, 1.0));
    assert!((now - at).length() < 1.0, "the point under the pointer stays");
    let apart = h.state().on_screen(DVec2::new(2.0, 1.0)).x - now.x;
    assert!(apart > 95.0, "nearer than before: {apart}");
}

#[test]
fn light_asked_for_is_worked_out_set_and_undone_in_one_step() {
    let mut h = window_on(files::demo());
    let before = h.state().plan.clone();
    h.get_by_label("Find").click();
    h.run_steps(4);
    h.get_by_label("Light wanted at a face").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Light wanted at a face").click();
    h.run_steps(20);
    h.get_by_label("Work it out").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Work it out").click();
    until(&mut h, "the goal is worked out", |h| h.query_by_label("Set the lamps so").is_some());
    h.run_steps(6);
    h.get_by_label("Set the lamps so").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Set the lamps so").click();
    h.run_steps(6);
    assert_ne!(h.state().plan.rigs, before.rigs);
    let shot = h.state().facts();
    let r = shot.people[0].reading.as_ref().unwrap();
    assert!((2.0 * (r.t_stop / 2.8).log2()).abs() < 0.1, "{}", r.t_stop);
    assert_eq!(h.state().undo_depth(), 1);
    h.state_mut().undo();
    assert_eq!(h.state().plan, before);
}

#[test]
fn a_measured_lamp_and_a_bad_file_by_button() {
    let folder = tempfile::tempdir().unwrap();
    let ies = folder.path().join("lamp.ies");
    std::fs::write(&ies, "TEST\nTILT=NONE\n1 -1 1 3 1 1 2 0 0 0\n1 1 100\n0 45 90\n0\n900 500 0\n").unwrap();
    let mut h = window_on(files::demo());
    let chosen = ies.clone();
    h.state_mut().chooser = std::sync::Arc::new(move |wanted, _| (wanted == Wanted::Candela).then(|| chosen.clone()));
    // The back lamp of the demo's first rig.
    click(&mut h, [4.45, 4.3]);
    h.get_by_label("Candelas…").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Candelas…").click();
    h.run_steps(6);
    let table = h.state().plan.rigs[0].fixtures[1].candela.clone().unwrap();
    assert_eq!(table.peak_cd(), 900.0);
    std::fs::write(&ies, "no lamp at all").unwrap();
    let before = h.state().plan.clone();
    h.get_by_label("Candelas…").click();
    h.run_steps(6);
    h.get_by_label_contains("TILT= line");
    assert_eq!(h.state().plan, before);
}

#[test]
fn daylight_moves_with_its_slider() {
    let mut plan = files::demo();
    plan.daylight = Some(tapemark_core::plan::Daylight { utc_offset_h: 2.0, ..Default::default() });
    let mut h = window_on(plan);
    assert!(h.state().facts().daylight.as_ref().unwrap().sun.elevation_deg > 50.0);
    let mut shot = h.state().current_shot().clone();
    shot.clock = Some(tapemark_core::plan::Clock { minutes: 23 * 60 });
    let edit = tapemark_core::edit::Edit::Put(tapemark_core::edit::Item::Shot(shot));
    h.state_mut().edit(&edit);
    h.run_steps(4);
    assert!(h.state().facts().daylight.as_ref().unwrap().sun.elevation_deg < 0.0);
    h.get_by_role_and_label(egui::Role::Tab, "Shot").click();
    h.run_steps(4);
    h.get_by_label("the sun is down");
}

#[test]
fn the_lens_sees_while_the_plan_is_worked_on() {
    let mut h = window_on(files::demo());
    until(&mut h, "the picture comes", |h| h.state().lens_is_finished());
    h.get_by_label("what the lens sees in shot 1");
    // A change orders another; the frame does not wait for it.
    let camera = h.state().plan.cameras[0].position_m;
    drag(&mut h, camera, [camera[0] - 0.4, camera[1] + 0.2]);
    until(&mut h, "and comes again", |h| h.state().lens_is_finished());
    h.get_by_label("Guides").click();
    h.run_steps(3);
    h.get_by_label("thirds").click();
    h.run_steps(2);
    h.key_press(Key::Escape);
    h.run_steps(2);
    h.get_by_label("larger").click();
    h.run_steps(3);
    h.get_by_label("smaller");
}

#[test]
fn a_suggestion_is_taken_and_undone_in_one_step() {
    let mut h = window_on(files::demo());
    h.state_mut().go_to_shot("shot-2".into());
    h.get_by_label("Find").click();
    h.run_steps(4);
    assert!(problems(&h).contains(&"face-hidden"));
    let before = h.state().plan.clone();
    h.get_by_label("Find the smallest shift").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Find the smallest shift").click();
    until(&mut h, "suggestions come", |h| h.query_all_by_label("Do it").next().is_some());
    h.run_steps(4);
    h.get_all_by_label("Do it").next().unwrap().scroll_to_me();
    h.run_steps(4);
    h.get_all_by_label("Do it").next().unwrap().click();
    h.run_steps(4);
    assert!(!problems(&h).contains(&"face-hidden"), "{:?}", problems(&h));
    assert_eq!(h.state().undo_depth(), 1);
    h.state_mut().undo();
    h.run_steps(2);
    assert_eq!(h.state().plan, before);
}

#[test]
fn a_place_on_the_clear_view_takes_the_camera() {
    let mut h = window_at(files::demo(), 1.0 / 60.0);
    key(&mut h, Key::E);
    until(&mut h, "the clear view comes", |h| h.state().clear_view_is_current());
    // A place ruled out is refused in words and nothing moves.
    let camera = h.state().plan.cameras[0].clone();
    assert!(!h.state_mut().stand_camera(DVec2::new(0.55, 4.0)));
    assert_eq!(h.state().plan.cameras[0], camera);
    // By the pointer: a double click.
    let at = h.state().on_screen(DVec2::new(5.0, 2.6));
    h.event(Event::PointerMoved(at));
    h.step();
    for pressed in [true, false, true, false] {
        h.event(button(at, pressed));
        h.step();
    }
    h.run_steps(6);
    let moved = &h.state().plan.cameras[0];
    assert!((DVec2::from_array(moved.position_m) - DVec2::new(5.0, 2.6)).length() < 0.05, "{:?}", moved.position_m);
    assert_ne!(moved.pan_deg, camera.pan_deg);
    assert!(!problems(&h).contains(&"out-of-frame"), "{:?}", problems(&h));
}

#[test]
fn the_time_bar_scrubs() {
    let mut h = window_on(files::demo());
    let bar = h.get_by_label("time bar").rect();
    let at = egui::pos2(bar.left() + bar.width() * 0.5, bar.center().y);
    click_at(&mut h, at);
    let t = h.state().seconds;
    assert!((4.0..8.0).contains(&t), "{t}");
    assert_eq!(h.state().facts().at_s, t);
    assert_eq!(h.state().undo_depth(), 0, "looking at another second changes nothing");
}

#[test]
fn a_storyboard_picture_is_kept_beside_the_plan() {
    let dir = tempfile::tempdir().unwrap();
    let (plan, drawn) = (dir.path().join("night.tapemark.json"), dir.path().join("drawn.png"));
    image::RgbaImage::from_pixel(40, 20, image::Rgba([200, 80, 20, 255])).save(&drawn).unwrap();
    let mut h = window_on(files::demo());
    let chosen = drawn.clone();
    h.state_mut().chooser = std::sync::Arc::new(move |wanted, _| (wanted == Wanted::Picture).then(|| chosen.clone()));
    // Not saved yet: it is told, and nothing changes.
    h.get_by_role_and_label(egui::Role::Tab, "Shot").click();
    h.run_steps(3);
    h.get_by_label("Storyboard picture…").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Storyboard picture…").click();
    h.run_steps(3);
    assert!(h.state().plan.shots[0].picture.is_none());
    assert!(h.state_mut().save_to(&plan));
    h.get_by_label("Storyboard picture…").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Storyboard picture…").click();
    h.run_steps(3);
    let name = h.state().plan.shots[0].picture.clone().expect("kept");
    assert!(name.starts_with("night-pictures/shot-1-") && name.ends_with(".png"), "{name}");
    assert_eq!(files::picture(&dir.path().join(&name)).unwrap().dimensions(), (40, 20));
    h.get_by_label("beside");
    // A picture that has gone is told with its remedy, and the plan stays.
    std::fs::remove_file(dir.path().join(&name)).unwrap();
    let e = files::picture(&dir.path().join(&name)).unwrap_err();
    assert!(e.what.contains("could not be opened") && !e.remedy.is_empty());
    // A file that is no picture, and one that lies about its size.
    std::fs::write(&drawn, b"not a picture").unwrap();
    assert!(files::picture(&drawn).is_err());
    h.state_mut().undo();
    assert!(h.state().plan.shots[0].picture.is_none());
    // A path that climbs out of the folder is refused when the plan is read.
    let mut climbing = files::demo();
    climbing.shots[0].picture = Some("../secret.png".into());
    assert!(!tapemark_core::plan::validate(&climbing).is_empty());
}

/// The panel of what is taken hold of is wider than the one before: the plan does not move under the pointer.
#[test]
fn the_plan_stays_where_it_is_under_the_pointer() {
    let mut h = window_on(files::demo());
    h.run_steps(4);
    let corner = |h: &Window<'_>| h.state().on_screen(DVec2::ZERO);
    let (before, camera) = (corner(&h), h.state().plan.cameras[0].position_m);
    let at = h.state().on_screen(DVec2::from_array(camera));
    h.event(Event::PointerMoved(at));
    h.step();
    h.event(button(at, true));
    h.step();
    for i in 1..=12 {
        h.event(Event::PointerMoved(at - vec2(6.0, 3.0) * i as f32));
        h.step();
        assert!(corner(&h).distance(before) < 0.01, "step {i}");
    }
    h.event(button(at - vec2(72.0, 36.0), false));
    h.run_steps(30);
    assert!(corner(&h).distance(before) < 0.01);
}
