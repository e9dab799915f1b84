//! A day of work at one window: memory stays where it is.
//!
//! A few hundred gestures in an ordinary run; `TAPEMARK_DAY_GESTURES` says how many otherwise. Four hours with a gesture
//! every two seconds are 7200.

#![cfg(target_os = "linux")]

use egui::{Event, Key, Modifiers};
use glam::DVec2;
use tapemark::editor::Editor;
use tapemark::files;
use tapemark_acceptance::{Frames, Lot};

/// Counts what is held: what the system's allocator keeps of many threads' rooms comes and goes by 80 MiB.
#[global_allocator]
static HELD: peak_alloc::PeakAlloc = peak_alloc::PeakAlloc;

/// Memory the system gives this process, MiB.
fn resident_mib() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|l| l.starts_with("VmRSS")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse::<f64>().unwrap() / 1024.0
}

/// Frames until nothing is worked out in the background any more: what that holds meanwhile is no growth.
fn settle(w: &mut Frames) {
    let mut calm = 0;
    for _ in 0..3000 {
        w.frame(Vec::new());
        calm = if w.editor.worked_out() { calm + 1 } else { 0 };
        if calm == 60 {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    panic!("the window does not come to rest");
}

fn press(key: Key, modifiers: Modifiers) -> Event {
    Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers }
}

#[test]
fn a_day_of_edits_shows_no_growth() {
    let gestures: usize = std::env::var("TAPEMARK_DAY_GESTURES").ok().and_then(|n| n.parse().ok()).unwrap_or(240);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("day.tapemark.json");
    let mut w = Frames::of(Editor::new(files::demo(), None));
    assert!(w.editor.save_to(&path));
    w.editor.keep_journal(&folder.path().join("journals"));
    let mut lot = Lot(26);
    let mut readings = Vec::new();
    for n in 0..gestures {
        match lot.below(12) {
            // Something is dragged to and fro.
            0..=5 => {
                let plan = &w.editor.plan;
                let shot = plan.shot(&w.editor.shot).unwrap();
                let mut places: Vec<[f64; 2]> = plan.shot_fixtures(shot).iter().map(|f| f.position_m).collect();
                places.extend(plan.shot_camera(shot).map(|c| c.position_m));
                places.extend(shot.marks.iter().map(|m| m.position_m));
                let from = DVec2::from_array(lot.one(&places).unwrap());
                let to = from + DVec2::new(lot.between(-0.4, 0.4), lot.between(-0.4, 0.4));
                let (a, b) =
                    (w.editor.on_screen(from), w.editor.on_screen(to.clamp(DVec2::splat(0.3), DVec2::splat(4.3))));
                w.drag(a, b, 5);
            }
            6 | 7 => w.frame(vec![press(Key::Z, Modifiers::COMMAND)]),
            8 => w.frame(vec![press(Key::Z, Modifiers::COMMAND | Modifiers::SHIFT)]),
            9 => w.frame(vec![press(Key::PageDown, Modifiers::NONE)]),
            10 => w.frame(vec![press(if lot.below(2) == 0 { Key::F3 } else { Key::F2 }, Modifiers::NONE)]),
            _ => {
                w.frame(vec![press(Key::PageUp, Modifiers::NONE)]);
                if n % 20 == 0 {
                    assert!(w.editor.save_to(&path));
                }
            }
        }
        w.frame(Vec::new());
        if n % (gestures / 8).max(1) == 0 {
            // Always before the same page: another one holds other pictures.
            w.frame(vec![press(Key::F2, Modifiers::NONE)]);
            settle(&mut w);
            readings.push(f64::from(HELD.current_usage_as_mb()));
        }
    }
    w.editor.settle_journal();
    w.frame(vec![press(Key::F2, Modifiers::NONE)]);
    settle(&mut w);
    let (middle, end) = (readings[readings.len() / 2], f64::from(HELD.current_usage_as_mb()));
    let resident = resident_mib();
    println!("{gestures} gestures, MiB held: {readings:.1?}, {end:.1} at the end; {resident:.0} resident");
    // Undo keeps its steps; nothing else may grow.
    assert!(end - middle < 4.0, "from {middle:.1} to {end:.1} MiB: {readings:.1?}");
    assert!(resident < 300.0, "{resident:.0} MiB");
    // The journal is begun anew before it grows without end.
    let journals = std::fs::read_dir(folder.path().join("journals")).unwrap().flatten();
    let bytes: u64 = journals.filter_map(|f| f.metadata().ok()).map(|m| m.len()).sum();
    assert!(bytes < 32 << 20, "{bytes} bytes of journal");
    assert!(tapemark_core::plan::validate(&w.editor.plan).is_empty());
}
