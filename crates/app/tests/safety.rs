//! What happens when things go wrong: work left behind, files that change or are newer, folders that cannot be
//! written.

mod window;

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use std::path::Path;
use tapemark::editor::Editor;
use tapemark::{files, journal};
use tapemark_core::edit::{Edit, Settings};
use tapemark_core::plan::Plan;
use window::window;

fn titled(plan: &Plan, title: &str) -> Edit {
    Edit::Settings(Box::new(Settings { title: title.into(), ..Settings::of(plan) }))
}

/// An editor on a saved plan, with a change that is not saved but in the journal.
fn left_with_a_change(folder: &Path) -> std::path::PathBuf {
    let path = folder.join("plan.tapemark.json");
    files::write(&path, &files::demo()).unwrap();
    let mut editor = Editor::new(Plan::empty(), None);
    editor.open_file(&path);
    editor.keep_journal(&folder.join("journals"));
    assert!(editor.edit(&titled(&editor.plan.clone(), "Changed at the scout")));
    editor.settle_journal();
    // As after a kill: the lock goes, the journal stays.
    drop(editor);
    path
}

fn opened(path: &Path) -> Editor {
    let mut editor = Editor::new(Plan::empty(), None);
    editor.patient = true;
    editor.open_file(path);
    editor
}

/// A window that finds what was left behind, and asks about it.
fn asked_about_it(folder: &Path, path: &Path) -> egui_kittest::Harness<'static, Editor> {
    let mut editor = opened(path);
    editor.keep_journal(&folder.join("journals"));
    let h = window(editor);
    assert!(h.query_by_label("Work that was not saved").is_some());
    h
}

#[test]
fn work_left_behind_is_offered_and_comes_back_unsaved() {
    let folder = tempfile::tempdir().unwrap();
    let path = left_with_a_change(folder.path());
    let mut h = asked_about_it(folder.path(), &path);
    assert!(h.query_by_label("Changed at the scout").is_some());
    h.get_by_label("Bring it back").click();
    h.run_steps(4);
    assert_eq!(h.state().plan.title, "Changed at the scout");
    assert!(h.state().unsaved(), "it is not in the file yet");
    assert_eq!(h.state().path.as_deref(), Some(path.as_path()));
    // Should the program end again now, it is still there.
    drop(h);
    let left = journal::look(&folder.path().join("journals")).found;
    assert_eq!(left.iter().map(|f| f.plan.title.as_str()).collect::<Vec<_>>(), ["Changed at the scout"]);
}

#[test]
fn work_thrown_away_is_gone_and_saved_work_is_not_offered() {
    let folder = tempfile::tempdir().unwrap();
    let path = left_with_a_change(folder.path());
    let journals = folder.path().join("journals");
    let mut editor = opened(&path);
    editor.keep_journal(&journals);
    let mut h = window(editor);
    h.get_by_label("Throw it away").click();
    h.run_steps(4);
    assert!(h.query_by_label("Work that was not saved").is_none());
    assert!(journal::look(&journals).found.is_empty());
    // Saved, then ended without warning: the file has it all.
    assert!(h.state_mut().edit(&titled(&files::demo(), "Saved")));
    assert!(h.state_mut().save_to(&path));
    drop(h);
    assert!(journal::look(&journals).found.is_empty());
    assert_eq!(files::read(&path).unwrap().title, "Saved");
}

#[test]
fn a_damaged_journal_gives_what_is_whole() {
    let folder = tempfile::tempdir().unwrap();
    left_with_a_change(folder.path());
    let journals = folder.path().join("journals");
    let path = journal::journals(&journals).remove(0);
    let whole = std::fs::read(&path).unwrap();
    for cut in [0, 5, whole.len() / 2, whole.len() - 1] {
        std::fs::write(&path, &whole[..cut]).unwrap();
        assert!(journal::look(&journals).found.is_empty(), "cut at {cut}: nothing but the plan as it was opened");
        std::fs::write(&path, &whole).unwrap();
    }
    // Noise after the last whole line, and a bit that turned over in it.
    let mut noisy = whole.clone();
    noisy.extend(b"00000000 {\"changed\":[{\"op\":\"remove\",\"path\":\"/shots\"}]}\n\xff\xfe half a line");
    std::fs::write(&path, &noisy).unwrap();
    assert_eq!(journal::read(&path).unwrap().plan.title, "Changed at the scout");
    let mut turned = whole.clone();
    let last = turned.len() - 10;
    turned[last] ^= 4;
    std::fs::write(&path, &turned).unwrap();
    assert_eq!(journal::read(&path).unwrap().plan, files::demo());
}

#[test]
fn a_file_that_another_wrote_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.tapemark.json");
    files::write(&path, &files::demo()).unwrap();
    let mut h = window(opened(&path));
    assert!(h.state_mut().edit(&titled(&files::demo(), "Mine")));
    let theirs = Plan { title: "Theirs".into(), ..files::demo() };
    files::write(&path, &theirs).unwrap();
    assert!(!h.state_mut().save_to(&path));
    h.run_steps(3);
    h.get_by_label("Do not save").click();
    h.run_steps(3);
    assert_eq!(files::read(&path).unwrap().title, "Theirs");
    h.key_press_modifiers(Modifiers::COMMAND, Key::S);
    h.run_steps(3);
    h.get_by_label("Save over it").click();
    h.run_steps(3);
    assert_eq!(files::read(&path).unwrap().title, "Mine");
}

#[test]
fn another_window_on_the_same_file_is_told_of() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.tapemark.json");
    let journals = folder.path().join("journals");
    files::write(&path, &files::demo()).unwrap();
    let mut first = opened(&path);
    first.keep_journal(&journals);
    first.settle_journal();
    let told = || {
        let mut second = Editor::new(Plan::empty(), None);
        second.keep_journal(&journals);
        second.open_file(&path);
        window(second).query_by_label_contains("Another window has this plan open").is_some()
    };
    assert!(told());
    // After it has saved too, when its journal begins anew.
    assert!(first.edit(&titled(&files::demo(), "Saved since")));
    assert!(first.save_to(&path));
    first.settle_journal();
    assert!(told());
    drop(first);
    assert!(!told());
}

#[test]
fn a_newer_file_can_be_looked_at_but_not_changed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.tapemark.json");
    let newer = files::DEMO_JSON.replace("\"version\": 1,", "\"version\": 2, \"hologram\": {\"on\": true},");
    std::fs::write(&path, &newer).unwrap();
    let mut h = window(opened(&path));
    assert!(h.query_all_by_label_contains("Written by a newer Tapemark (file version 2)").count() > 0);
    assert_eq!(h.state().plan.shots.len(), files::demo().shots.len());
    assert!(!h.state_mut().edit(&titled(&files::demo(), "Changed")));
    assert!(!h.state_mut().save_to(&path));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), newer, "the file is as it was");
    // Under another name it is a plan of this version, and may be changed.
    let copy = folder.path().join("copy.tapemark.json");
    assert!(h.state_mut().save_to(&copy));
    assert!(h.state_mut().edit(&titled(&files::demo(), "Changed")));
    let kept = std::fs::read_to_string(&copy).unwrap();
    assert!(kept.contains("hologram"), "what it does not know is kept");
}

/// A journal's folder that cannot be made, as on a full or a read-only disk: it is said, and the plan works on.
#[test]
fn a_journal_that_cannot_be_written_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let blocked = folder.path().join("a-file");
    std::fs::write(&blocked, b"").unwrap();
    let mut editor = opened(&folder.path().join("none.json"));
    editor.keep_journal(&blocked.join("journals"));
    assert!(editor.edit(&titled(&editor.plan.clone(), "On")));
    editor.settle_journal();
    let mut h = window(editor);
    h.run_steps(2);
    assert!(h.query_by_label_contains("Changes are not kept aside").is_some());
    assert_eq!(h.state().plan.title, "On");
}

/// A disk that goes while it is written to: saving says so, and the old file is untouched.
#[test]
fn a_folder_that_vanished_is_said_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let stick = folder.path().join("stick");
    std::fs::create_dir(&stick).unwrap();
    let path = stick.join("plan.tapemark.json");
    files::write(&path, &files::demo()).unwrap();
    let journals = stick.join("journals");
    let mut editor = opened(&path);
    editor.keep_journal(&journals);
    editor.settle_journal();
    assert!(editor.edit(&titled(&files::demo(), "Before it went")));
    editor.settle_journal();
    std::fs::remove_dir_all(&stick).unwrap();
    assert!(!editor.save_to(&path));
    // It is back, empty: the journal is begun anew, whole.
    std::fs::create_dir(&stick).unwrap();
    assert!(editor.edit(&titled(&files::demo(), "After it came")));
    editor.settle_journal();
    drop(editor);
    let left = journal::look(&journals).found;
    assert_eq!(left.len(), 1);
    assert_eq!(left[0].plan.title, "After it came");
}

/// Whether the window draws nothing anew once it has come to rest.
fn rests(h: &mut egui_kittest::Harness<'_, Editor>) -> bool {
    h.run_steps(30);
    !h.ctx.has_requested_repaint()
}

#[test]
fn an_open_question_draws_nothing_while_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let path = left_with_a_change(folder.path());
    let mut h = asked_about_it(folder.path(), &path);
    assert!(rests(&mut h), "work left behind");
    h.get_by_label("Ask again next time").click();
    h.run_steps(4);
    let edit = titled(&h.state().plan.clone(), "Changed here");
    assert!(h.state_mut().edit(&edit));
    files::write(&path, &Plan { title: "Changed elsewhere".into(), ..files::demo() }).unwrap();
    h.key_press_modifiers(Modifiers::COMMAND, Key::S);
    h.run_steps(4);
    assert!(h.query_by_label("Save over it").is_some());
    assert!(rests(&mut h), "changed on disk");
    h.get_by_label("Do not save").click();
    h.run_steps(4);
    h.key_press_modifiers(Modifiers::COMMAND, Key::N);
    h.run_steps(4);
    assert!(h.query_by_label("Keep editing").is_some());
    assert!(rests(&mut h), "changes that are not saved");
}
