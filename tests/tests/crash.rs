//! The editor is killed at random instants; what it had is there when it opens again.
//!
//! A few dozen times in an ordinary run. `TAPEMARK_KILLS` and `TAPEMARK_SAVE_KILLS` say how often otherwise, and
//! `TAPEMARK_SEED` from which lot on.

use glam::DVec2;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};
use tapemark::editor::Editor;
use tapemark::{files, journal};
use tapemark_acceptance::{Frames, Lot};
use tapemark_core::edit::{Edit, ItemRef, Settings, apply};
use tapemark_core::plan::Plan;

const CHILD: &str = "TAPEMARK_KILLED_CHILD";

fn begun(plan: Plan, path: &Path, journals: &Path) -> Frames {
    let mut editor = Editor::new(plan, None);
    assert!(editor.save_to(path), "the plan could be saved");
    editor.keep_journal(journals);
    Frames::of(editor)
}

/// The n-th edit of a plan: its notes say which it is, and everybody's marks and the pieces move a little.
fn nth(plan: &Plan, n: u64) -> Edit {
    let settings = Settings { notes: n.to_string(), ..Settings::of(plan) };
    let marks = plan.shots.iter().flat_map(|s| s.marks.iter().map(|m| ItemRef::Mark(m.id.clone())));
    let pieces = plan.location.pieces.iter().map(|p| ItemRef::Piece(p.id.clone()));
    let by = DVec2::from_angle(n as f64) * 0.01;
    let mut edits = vec![Edit::Settings(Box::new(settings))];
    let items: Vec<ItemRef> = marks.chain(pieces).collect();
    if !items.is_empty() {
        edits.push(Edit::Move { items, by });
    }
    Edit::Together { label: "the next".into(), edits }
}

fn edit(w: &mut Frames, n: u64) {
    let edit = nth(&w.editor.plan, n);
    assert!(w.editor.edit(&edit));
}

/// What a plan is after its first n edits.
fn after(mut plan: Plan, n: u64) -> Plan {
    for n in 1..=n {
        plan = apply(&plan, &nth(&plan, n)).expect("an edit that was made can be made");
    }
    plan
}

fn say(n: u64) {
    println!("done {n}");
    let _ = std::io::stdout().flush();
}

/// Not a test of its own: what the killed process does.
#[test]
fn child() {
    let Some(task) = std::env::var_os(CHILD) else { return };
    let folder = PathBuf::from(std::env::var_os("TAPEMARK_KILLED_FOLDER").unwrap());
    let (path, journals) = (folder.join("plan.tapemark.json"), folder.join("journals"));
    if task == "edits" {
        let mut w = begun(files::demo(), &path, &journals);
        for n in 1.. {
            edit(&mut w, n);
            w.frame(Vec::new());
            say(n);
            if n % 37 == 0 {
                // Now and then it is saved, and the journal begins anew.
                assert!(w.editor.save_to(&path));
            }
            std::thread::sleep(Duration::from_millis(3 + n * 7 % 20));
        }
    } else {
        let mut w = begun(Plan::empty(), &path, &journals);
        for n in 1.. {
            edit(&mut w, n);
            assert!(w.editor.save_to(&path));
            say(n);
        }
    }
}

struct Killed {
    folder: tempfile::TempDir,
    /// When each edit was done, before the kill.
    done: Vec<(u64, Duration)>,
}

/// Starts one, waits for its first edit, and kills it after a while.
fn kill_after(task: &str, wait: Duration) -> Killed {
    let folder = tempfile::tempdir().unwrap();
    let mut child: Child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "child", "--nocapture", "--test-threads", "1"])
        .env(CHILD, task)
        .env("TAPEMARK_KILLED_FOLDER", folder.path())
        .env("XDG_CONFIG_HOME", folder.path().join("config"))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let out = BufReader::new(child.stdout.take().unwrap());
    let (tell, told) = channel();
    let reader = std::thread::spawn(move || {
        for line in out.lines().map_while(Result::ok) {
            let number = line.rsplit_once("done ").and_then(|(_, n)| n.parse::<u64>().ok());
            if let Some(n) = number
                && tell.send((n, Instant::now())).is_err()
            {
                break;
            }
        }
    });
    let mut done = vec![told.recv_timeout(Duration::from_secs(300)).expect("the editor starts")];
    std::thread::sleep(wait);
    let killed = Instant::now();
    // SIGKILL: nothing of it runs any more.
    child.kill().unwrap();
    child.wait().unwrap();
    reader.join().unwrap();
    done.extend(told.try_iter());
    let done = done.into_iter().map(|(n, at)| (n, killed.saturating_duration_since(at))).collect();
    Killed { folder, done }
}

fn number_of(plan: &Plan) -> u64 {
    plan.notes.parse().unwrap_or(0)
}

/// The last number that is there when the editor opens again: in the journal that was left behind, or in the file. The
/// whole plan is then what so many edits make of the one begun with.
fn there(folder: &Path, begun: &Plan) -> u64 {
    let saved = files::read(&folder.join("plan.tapemark.json")).expect("the plan's file is whole");
    let left = journal::look(&folder.join("journals")).found;
    assert!(left.len() <= 1);
    let plans = left.into_iter().map(|f| f.plan).chain([saved]);
    let last = plans.max_by_key(number_of).unwrap();
    let number = number_of(&last);
    assert!(last == after(begun.clone(), number), "the plan with edit {number} is not what {number} edits make");
    number
}

fn times(variable: &str, usual: usize) -> usize {
    std::env::var(variable).ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}

fn lot(n: usize) -> Lot {
    Lot((times("TAPEMARK_SEED", 0) + n) as u64)
}

fn in_parallel(count: usize, one: impl Fn(usize) + Sync) {
    let next = std::sync::atomic::AtomicUsize::new(0);
    std::thread::scope(|s| {
        for _ in 0..6 {
            s.spawn(|| {
                loop {
                    let n = next.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
                    if n >= count {
                        return;
                    }
                    one(n);
                }
            });
        }
    });
}

/// Killed while it edits: no edit older than a second is missing.
#[test]
fn killed_at_any_instant_it_has_what_was_done_a_second_before() {
    in_parallel(times("TAPEMARK_KILLS", 12), |n| {
        // Long enough that some edit is older than a second in every run.
        let killed = kill_after("edits", Duration::from_millis(1_050 + lot(n).draw() % 2_500));
        let due = killed.done.iter().filter(|(_, ago)| *ago >= Duration::from_secs(1)).map(|d| d.0).max();
        let due = due.expect("an edit older than a second");
        let there = there(killed.folder.path(), &files::demo());
        assert!(there >= due, "run {n}: edit {due} was done a second before, {there} is there");
    });
}

/// Killed while it saves: the file is the old one or the new one, whole, and no older than the last save that was
/// done.
#[test]
fn killed_while_saving_the_file_is_whole() {
    in_parallel(times("TAPEMARK_SAVE_KILLS", 60), |n| {
        let killed = kill_after("saves", Duration::from_micros(lot(n).draw() % 30_000));
        let done = killed.done.iter().map(|d| d.0).max().unwrap_or(0);
        let saved = number_of(&files::read(&killed.folder.path().join("plan.tapemark.json")).expect("a whole file"));
        assert!(saved >= done, "run {n}: {done} was saved, {saved} is there");
        assert!(there(killed.folder.path(), &Plan::empty()) >= done);
    });
}
