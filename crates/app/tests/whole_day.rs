//! From drawing to paper: the storyboard, the shooting day, what is dropped on the window.

mod window;

use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::Queryable;
use tapemark::editor::{Tool, Wanted};
use tapemark::files;
use tapemark_core::plan::{HeadClass, Plan};
use window::{Window, click, drag, drop_file, key, until, window_on, worked_out};

/// The day is in order; the plan is saved and the whole day printed by shortcut and button.
fn order_save_and_print(h: &mut Window<'_>, plan_file: &std::path::Path) {
    key(h, Key::F4);
    worked_out(h);
    h.get_by_label_contains("no order costs less");
    h.key_press_modifiers(Modifiers::COMMAND, Key::S);
    h.run_steps(4);
    assert_eq!(files::read(plan_file).unwrap(), h.state().plan);
    h.key_press_modifiers(Modifiers::COMMAND, Key::E);
    h.run_steps(4);
    h.get_by_label("Choose the file…").click();
    h.run_steps(4);
}

#[test]
fn the_storyboard_is_put_in_order_and_a_variant_compared_and_kept() {
    let mut h = window_on(files::demo());
    let before = h.state().plan.clone();
    key(&mut h, Key::F3);
    worked_out(&mut h);
    h.get_by_label("Shot 1 later").click();
    h.run_steps(4);
    let names = |h: &Window<'_>| h.state().plan.shots.iter().map(|s| s.name.clone()).collect::<Vec<_>>();
    assert_eq!(names(&h), ["2", "1", "3"]);
    h.state_mut().undo();
    assert_eq!(h.state().plan, before);
    h.run_steps(8);
    h.get_by_label("Another way of shot 2").click();
    h.run_steps(4);
    assert_eq!(names(&h), ["1", "2", "2b", "3"]);
    let variant = h.state().plan.shots[2].clone();
    assert_eq!(variant.variant_of.as_ref().unwrap().as_str(), "shot-2");
    // Its camera is its own: moving it leaves shot 2 alone.
    assert_ne!(variant.camera, h.state().plan.shots[1].camera);
    h.get_by_label("Compare shot 2").click();
    h.run_steps(2);
    h.get_by_label("Compare shot 2b").click();
    worked_out(&mut h);
    h.get_by_label_contains("Mara: light matches");
    h.get_by_label("Keep 2b, delete 2").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Keep 2b, delete 2").click();
    h.run_steps(4);
    assert_eq!(names(&h), ["1", "2b", "3"]);
    assert!(h.state().plan.shots[1].variant_of.is_none());
    h.state_mut().undo();
    h.state_mut().undo();
    assert_eq!(h.state().plan, before);
}

#[test]
fn the_day_is_pinned_a_light_carried_over_and_a_kit_typed() {
    let mut h = window_on(files::demo());
    let before = h.state().plan.clone();
    key(&mut h, Key::F4);
    worked_out(&mut h);
    h.get_by_label("Keep shot 3 at place 2").click();
    h.run_steps(4);
    assert_eq!(h.state().plan.day.pins.len(), 1);
    worked_out(&mut h);
    h.state_mut().undo();
    assert_eq!(h.state().plan, before);
    worked_out(&mut h);
    let carry = "Carry Mara's light from 1 over to 2";
    h.get_by_label(carry).scroll_to_me();
    h.run_steps(4);
    h.get_by_label(carry).click();
    until(&mut h, "the light is carried over", |h| h.query_by_label("Place the lamps so").is_some());
    h.get_by_label("Place the lamps so").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("Place the lamps so").click();
    h.run_steps(4);
    // Shot 2 has lamps of its own now, the rig stays as it was.
    assert!(!h.state().plan.shots[1].lamps.is_empty());
    assert_eq!(h.state().plan.rigs, before.rigs);
    h.state_mut().undo();
    assert_eq!(h.state().plan, before);
}

#[test]
fn a_lamp_its_own_way_in_one_shot() {
    let mut h = window_on(files::demo());
    let before = h.state().plan.clone();
    click(&mut h, [4.45, 4.3]);
    h.get_by_label("Lights shots 1, 2");
    h.get_by_label("Its own way in shot 1").click();
    h.run_steps(4);
    drag(&mut h, [4.45, 4.3], [4.0, 4.2]);
    let plan = &h.state().plan;
    assert_eq!(plan.rigs, before.rigs);
    assert!(plan.shots[0].lamps[0].fixture.position_m[0] < 4.2);
    h.get_by_label("As in the rig again").click();
    h.run_steps(4);
    assert!(h.state().plan.shots[0].lamps.is_empty());
}

#[test]
fn from_an_empty_plan_with_a_drawing_to_the_whole_day_on_paper() {
    let folder = tempfile::tempdir().unwrap();
    let svg = folder.path().join("scout.svg");
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" width="700" height="500"><rect x="50" y="50" width="520" height="380"/></svg>"#;
    std::fs::write(&svg, drawing).unwrap();
    let (plan_file, pdf) = (folder.path().join("day.tapemark.json"), folder.path().join("day.pdf"));
    let (a, b, c, d) = (svg.clone(), plan_file.clone(), pdf.clone(), folder.path().to_path_buf());
    let mut h = window_on(Plan::empty());
    h.state_mut().chooser = std::sync::Arc::new(move |wanted, _| {
        Some(match wanted {
            Wanted::Drawing => a.clone(),
            Wanted::Save => b.clone(),
            Wanted::Sheet => c.clone(),
            Wanted::Folder => d.clone(),
            _ => return None,
        })
    });
    // A drawing without a unit: a pixel is a centimetre.
    h.get_by_label("File").click();
    h.run_steps(4);
    h.get_by_label_contains("Bring in a drawing…").click();
    h.run_steps(4);
    h.get_by_label("1 cm").click();
    h.run_steps(8);
    let room = &h.state().plan.location.rooms[0].outline_m;
    let width = room.iter().map(|p| p[0]).fold(f64::MIN, f64::max) - room.iter().map(|p| p[0]).fold(f64::MAX, f64::min);
    assert!((width - 5.2).abs() < 1e-3, "{room:?}");
    // Camera, person, lamp, in the middle of what was brought in.
    let low = room.iter().map(|p| p[0]).fold(f64::MAX, f64::min);
    let bottom = room.iter().map(|p| p[1]).fold(f64::MAX, f64::min);
    key(&mut h, Key::C);
    click(&mut h, [low + 2.0, bottom + 0.8]);
    key(&mut h, Key::P);
    click(&mut h, [low + 2.0, bottom + 2.9]);
    h.state_mut().take(Tool::Lamp(HeadClass::SoftBox));
    click(&mut h, [low + 3.6, bottom + 1.0]);
    key(&mut h, Key::P);
    click(&mut h, [low + 3.1, bottom + 2.7]);
    h.state_mut().take(Tool::Lamp(HeadClass::OpenFace));
    click(&mut h, [low + 4.4, bottom + 3.2]);
    key(&mut h, Key::U);
    click(&mut h, [low + 5.2, bottom + 1.5]);
    // Both lamps are plugged in there; the plan knows what they draw and how their cables lie.
    let outlet = h.state().plan.location.outlets[0].id.clone();
    for mut fixture in h.state().plan.rigs[0].fixtures.clone() {
        fixture.outlet = Some(outlet.clone());
        let rig = h.state().plan.rigs[0].id.clone();
        let put = tapemark_core::edit::Edit::Put(tapemark_core::edit::Item::Fixture { rig, fixture });
        assert!(h.state_mut().edit(&put));
    }
    h.run_steps(4);
    assert_eq!(h.state().facts().cables.len(), 2);
    assert!(h.state().facts().circuits[0].current_a > 3.0);
    key(&mut h, Key::F3);
    worked_out(&mut h);
    h.get_by_label("Another way of shot 1").click();
    h.run_steps(4);
    order_save_and_print(&mut h, &plan_file);
    let bytes = std::fs::read(&pdf).unwrap();
    assert!(bytes.starts_with(b"%PDF") && bytes.len() > 40_000);
    h.get_by_label("File").click();
    h.run_steps(4);
    h.get_by_label_contains("Write the lists as CSV…").click();
    h.run_steps(4);
    assert!(std::fs::read_to_string(folder.path().join("shots.csv")).unwrap().contains("1b"));
}

/// A photo dropped on a card becomes its storyboard picture, scaled down and kept beside the plan; a drawing dropped on
/// the window brings its rooms in.
#[test]
fn files_are_dropped_where_they_belong() {
    let folder = tempfile::tempdir().unwrap();
    let plan = folder.path().join("p.tapemark.json");
    files::write(&plan, &files::demo()).unwrap();
    let photo = folder.path().join("photo.jpg");
    image::RgbImage::from_pixel(3000, 2000, image::Rgb([90, 120, 150])).save(&photo).unwrap();
    let svg = folder.path().join("shed.svg");
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg"><rect x="2000" width="300" height="250"/></svg>"#;
    std::fs::write(&svg, drawing).unwrap();
    let mut h = window_on(files::demo());
    h.state_mut().path = Some(plan);
    key(&mut h, Key::F3);
    worked_out(&mut h);
    let card = h.get_by_label("Picture of shot 3").rect().center();
    h.event(Event::PointerMoved(card));
    h.run_steps(2);
    drop_file(&mut h, photo);
    h.run_steps(3);
    let kept = h.state().plan.shots[2].picture.clone().unwrap();
    let size = image::image_dimensions(folder.path().join(&kept)).unwrap();
    assert_eq!(size, (2048, 1365));
    let rooms = h.state().plan.location.rooms.len();
    drop_file(&mut h, svg);
    h.run_steps(4);
    h.get_by_label("1 cm").click();
    h.run_steps(4);
    assert_eq!(h.state().plan.location.rooms.len(), rooms + 1);
}

/// The demo's scenario by hand: both rooms from a drawing, three people, two rigs, three shots, to the day on paper.
#[test]
fn the_demo_scenario_from_an_empty_plan() {
    let folder = tempfile::tempdir().unwrap();
    let drawing =
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/drawings/two-rooms-mm.dxf");
    let (plan_file, pdf) = (folder.path().join("p.tapemark.json"), folder.path().join("p.pdf"));
    let (save, sheet) = (plan_file.clone(), pdf.clone());
    let mut h = window_on(Plan::empty());
    h.state_mut().chooser = std::sync::Arc::new(move |wanted, _| match wanted {
        Wanted::Save => Some(save.clone()),
        Wanted::Sheet => Some(sheet.clone()),
        _ => None,
    });
    drop_file(&mut h, drawing);
    h.run_steps(8);
    assert_eq!(h.state().plan.location.rooms.len(), 2);
    let place = |h: &mut Window<'_>, k: Key, at: [f64; 2]| {
        key(h, k);
        click(h, at);
    };
    // Shot 1: the workshop.
    place(&mut h, Key::D, [6.2, 3.35]);
    place(&mut h, Key::C, [4.5, 1.2]);
    place(&mut h, Key::P, [2.6, 3.05]);
    place(&mut h, Key::P, [3.5, 3.75]);
    h.state_mut().take(Tool::Lamp(HeadClass::SoftBox));
    click(&mut h, [2.75, 0.75]);
    h.state_mut().take(Tool::Lamp(HeadClass::OpenFace));
    click(&mut h, [4.45, 4.3]);
    // Shot 2 is another way of it, shot 3 the corridor in a rig of its own.
    h.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::N);
    h.run_steps(4);
    h.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::N);
    h.run_steps(4);
    key(&mut h, Key::Escape);
    key(&mut h, Key::Escape);
    h.get_by_role_and_label(egui::Role::Tab, "Shot").click();
    h.run_steps(4);
    h.get_by_label("New rig").scroll_to_me();
    h.run_steps(4);
    h.get_by_label("New rig").click();
    h.run_steps(4);
    place(&mut h, Key::P, [7.05, 3.3]);
    h.state_mut().take(Tool::Lamp(HeadClass::Panel));
    click(&mut h, [6.6, 0.6]);
    let plan = &h.state().plan;
    assert_eq!((plan.shots.len(), plan.rigs.len(), plan.cast.len()), (3, 2, 3));
    order_save_and_print(&mut h, &plan_file);
    assert!(std::fs::read(&pdf).unwrap().len() > 80_000);
}
