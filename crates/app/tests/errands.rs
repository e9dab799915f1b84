//! What would hold the frames up is done beside them: paper is written and drawings are read while the plan is edited.

mod window;

use egui::{Event, Key, ViewportCommand, ViewportEvent, ViewportId};
use egui_kittest::kittest::Queryable;
use tapemark::editor::Wanted;
use tapemark::files;
use tapemark_core::edit::{Edit, ItemRef};
use tapemark_sheet::SheetSpec;
use window::{Window, drop_file, until, window_on, worked_out};

/// An editor on the demo that waits for nothing, as on a person's desk.
fn on_a_desk<'a>() -> Window<'a> {
    let mut h = window_on(files::demo());
    h.state_mut().patient = false;
    h
}

/// The close button of the window; what the editor tells the system.
fn close(h: &mut Window<'_>) -> Vec<ViewportCommand> {
    h.input_mut().viewports.entry(ViewportId::ROOT).or_default().events.push(ViewportEvent::Close);
    h.step();
    h.input_mut().viewports.entry(ViewportId::ROOT).or_default().events.clear();
    told(h)
}

fn told(h: &Window<'_>) -> Vec<ViewportCommand> {
    h.output().viewport_output.get(&ViewportId::ROOT).map(|v| v.commands.clone()).unwrap_or_default()
}

#[test]
fn paper_is_written_while_the_plan_is_edited() {
    let folder = tempfile::tempdir().unwrap();
    let mut h = on_a_desk();
    let (day, sheet) = (folder.path().join("day.pdf"), folder.path().join("sheet.svg"));
    h.state_mut().export(&day, &SheetSpec::default(), true);
    h.state_mut().export(&sheet, &SheetSpec::default(), false);
    assert!(!h.state().worked_out() && !day.exists());
    h.step();
    h.get_by_label_contains("Writing day.pdf …");
    h.get_by_label_contains("1 more after it");
    // Meanwhile the plan goes on; what is written is the plan as it was.
    let person = ItemRef::Mark(h.state().plan.shots[0].marks[0].id.clone());
    assert!(h.state_mut().edit(&Edit::Remove(vec![person])));
    worked_out(&mut h);
    h.get_by_label_contains("Wrote ");
    let as_it_was = tapemark_sheet::to_svg(&tapemark_sheet::compose(
        &files::demo(),
        &files::demo().shots[0],
        &SheetSpec::default(),
    ));
    assert_eq!(std::fs::read_to_string(&sheet).unwrap(), as_it_was);
    assert!(std::fs::read(&day).unwrap().starts_with(b"%PDF"));
}

#[test]
fn a_drawing_is_read_beside_the_frames_and_its_unit_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let drawing = folder.path().join("flat.svg");
    std::fs::write(&drawing, "<svg xmlns='http://www.w3.org/2000/svg'><rect width='500' height='400'/></svg>").unwrap();
    let mut h = on_a_desk();
    let rooms = h.state().plan.location.rooms.len();
    let chosen = drawing.clone();
    h.state_mut().chooser = std::sync::Arc::new(move |wanted, _| (wanted == Wanted::Drawing).then(|| chosen.clone()));
    h.key_press_modifiers(egui::Modifiers::COMMAND, Key::K);
    h.run_steps(2);
    h.event(Event::Text("bring in".into()));
    h.run_steps(2);
    window::key(&mut h, Key::Enter);
    worked_out(&mut h);
    h.get_by_label("1 cm").click();
    h.run_steps(2);
    worked_out(&mut h);
    assert_eq!(h.state().plan.location.rooms.len(), rooms + 1);
    h.state_mut().undo();
    assert_eq!(h.state().plan, files::demo());
}

/// What comes of an errand waits until the hand lets go: it neither ends a drag nor is undone by it.
#[test]
fn a_drag_goes_on_while_a_drawing_comes_in() {
    let folder = tempfile::tempdir().unwrap();
    let drawing = folder.path().join("flat.dxf");
    let corners = "10\n20\n20\n0\n10\n25\n20\n0\n10\n25\n20\n4\n10\n20\n20\n4\n";
    let outline = format!("0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n{corners}");
    let header = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n6\n0\nENDSEC\n";
    std::fs::write(&drawing, format!("{header}0\nSECTION\n2\nENTITIES\n{outline}0\nENDSEC\n0\nEOF\n")).unwrap();
    let mut h = on_a_desk();
    let rooms = h.state().plan.location.rooms.len();
    let at = h.state().on_screen(h.state().plan.cameras[0].position_m.into());
    h.event(Event::PointerMoved(at));
    h.step();
    h.event(window::button(at, true));
    h.step();
    h.event(Event::PointerMoved(at + egui::vec2(30.0, -20.0)));
    h.step();
    drop_file(&mut h, drawing);
    for i in 0..40 {
        h.event(Event::PointerMoved(at + egui::vec2(30.0 + i as f32, -20.0)));
        h.step();
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    assert_eq!(h.state().plan.location.rooms.len(), rooms);
    h.event(window::button(at + egui::vec2(69.0, -20.0), false));
    h.run_steps(2);
    let moved = h.state().plan.cameras[0].position_m;
    assert_ne!(moved, files::demo().cameras[0].position_m);
    worked_out(&mut h);
    assert_eq!(h.state().plan.location.rooms.len(), rooms + 1);
    assert_eq!(h.state().plan.cameras[0].position_m, moved);
    h.state_mut().undo();
    assert_eq!(h.state().plan.cameras[0].position_m, moved);
    h.state_mut().undo();
    assert_eq!(h.state().plan, files::demo());
}

#[test]
fn the_window_waits_for_what_is_being_written() {
    let folder = tempfile::tempdir().unwrap();
    let mut h = on_a_desk();
    let day = folder.path().join("day.pdf");
    h.state_mut().export(&day, &SheetSpec::default(), true);
    assert!(close(&mut h).contains(&ViewportCommand::CancelClose));
    h.step();
    h.get_by_label("The window closes when it is done.");
    until(&mut h, "the window closes", |h| told(h).contains(&ViewportCommand::Close));
    assert!(day.exists());
}

#[test]
fn the_window_need_not_wait() {
    let folder = tempfile::tempdir().unwrap();
    let mut h = on_a_desk();
    h.state_mut().export(&folder.path().join("day.pdf"), &SheetSpec::default(), true);
    assert!(close(&mut h).contains(&ViewportCommand::CancelClose));
    h.step();
    h.get_by_label("Stay").click();
    h.run_steps(2);
    assert!(h.query_by_label("Stay").is_none());
    h.state_mut().export(&folder.path().join("again.pdf"), &SheetSpec::default(), true);
    assert!(close(&mut h).contains(&ViewportCommand::CancelClose));
    h.step();
    h.get_by_label("Close without it").click();
    let mut all = Vec::new();
    for _ in 0..4 {
        h.step();
        all.extend(told(&h));
    }
    assert!(all.contains(&ViewportCommand::Close));
}

/// While a person looks for a name the plan goes on, and what changes is kept.
#[test]
fn the_window_goes_on_while_a_file_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let mut h = on_a_desk();
    h.state_mut().keep_journal(&folder.path().join("journals"));
    let (answer, asked) = std::sync::mpsc::channel::<std::path::PathBuf>();
    let asked = std::sync::Mutex::new(asked);
    h.state_mut().chooser = std::sync::Arc::new(move |_, _| asked.lock().unwrap().recv().ok());
    h.key_press_modifiers(egui::Modifiers::COMMAND, Key::S);
    h.run_steps(3);
    h.get_by_label("A file is being asked for …");
    let person = ItemRef::Mark(h.state().plan.shots[0].marks[0].id.clone());
    assert!(h.state_mut().edit(&Edit::Remove(vec![person])));
    h.run_steps(2);
    assert!(h.state_mut().settle_journal(), "what was changed is kept");
    let path = folder.path().join("plan.tapemark.json");
    answer.send(path.clone()).unwrap();
    until(&mut h, "it is saved", |h| !h.state().unsaved());
    assert_eq!(files::read(&path).unwrap(), h.state().plan);
}

#[test]
fn long_writing_tells_how_far_it_is_and_stops_when_told() {
    let folder = tempfile::tempdir().unwrap();
    let mut h = on_a_desk();
    let day = folder.path().join("day.pdf");
    h.state_mut().export(&day, &SheetSpec::default(), true);
    until(&mut h, "it can be stopped", |h| h.query_by_label("Stop it").is_some());
    h.get_by_label("Stop it").click();
    worked_out(&mut h);
    h.get_by_label("Stopped: nothing was written.");
    assert!(!day.exists());
}
