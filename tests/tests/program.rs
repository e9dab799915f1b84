//! Plans drawn by lot through the program itself: it never panics, its exit status is one it may have, what it
//! tells as JSON is JSON, and what it writes is the same whatever it runs under.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};
use tapemark_acceptance::plausible::{Sizes, of_sizes};
use tapemark_acceptance::program::run;
use tapemark_acceptance::shrink::Asked;
use tapemark_core::facts::shot_facts;
use tapemark_core::plan::{Plan, to_json};

/// A plan of a seed with a storyboard of at most two pictures.
fn plan(seed: u64) -> Plan {
    of_sizes(seed, &Sizes { rooms: 3, pieces: 6, shots: 1, rigs: 1, ..Sizes::USUAL })
}

/// What a command may end with.
struct Asks {
    args: Vec<String>,
    codes: &'static [i32],
    json: bool,
}

fn asks(file: &str, folder: &Path, plan: &Plan) -> Vec<Asks> {
    let shot = plan.shots[0].id.as_str();
    let to = |name: &str| folder.join(name).display().to_string();
    let ask = |args: &[&str], codes: &'static [i32]| Asks {
        args: args.iter().map(|a| (*a).to_string()).collect(),
        codes,
        json: args.contains(&"--json"),
    };
    let has_camera = plan.shots[0].camera.is_some();
    let (yes, either): (&[i32], &[i32]) = (&[0], &[0, 1]);
    let frame: &[i32] = if has_camera { yes } else { &[2] };
    let day = plan.daylight.is_some() && plan.location.latitude_deg.is_some();
    vec![
        ask(&["facts", file, "--json"], yes),
        ask(&["facts", file, "--shot", shot, "--at", "1.5", "--language", "de"], yes),
        ask(&["notices", file, "--json"], either),
        ask(&["cover", file, "--json"], yes),
        ask(&["power", file, "--json"], either),
        ask(&["kit", file, "--json"], yes),
        ask(&["order", file, "--json"], either),
        ask(&["continuity", file, "--json"], either),
        ask(&["daylight", file, "--json"], if day { &[0] } else { &[2] }),
        ask(&["suggest", file, "--shot", shot, "--json"], yes),
        ask(&["clear-view", file, "--shot", shot, "--cell", "0.3", "--json"], &[0, 2]),
        ask(&["goal", file, "--shot", shot, "--stop", "2.8", "--ratio", "4:1", "--json"], &[0, 1, 2]),
        ask(&["spot", file, "--shot", shot, "--json"], &[0, 2]),
        ask(&["frame", file, "--shot", shot, "-o", &to("frame.png"), "--width", "64", "--over", "all"], frame),
        ask(&["sheet", file, "--shot", shot, "-o", &to("sheet.svg"), "--cover", "--language", "de"], yes),
        ask(&["sheet", file, "-o", &to("day.pdf")], yes),
        ask(&["lists", file, "-o", &to("lists")], yes),
        ask(&["phone", file, "--shot", shot, "-o", &to("phone")], yes),
        ask(&["hand-on", file, "-o", &to("shot.dxf")], yes),
        ask(&["hand-on", file, "-o", &to("shot.glb")], yes),
    ]
}

fn words(out: &Output) -> String {
    String::from_utf8_lossy(&out.stderr).into_owned()
}

/// Runs a command and says what was wrong with how it ended.
fn fault(ask: &Asks) -> Option<String> {
    let args: Vec<&str> = ask.args.iter().map(String::as_str).collect();
    let out = run(&args, |_| {});
    let told = words(&out);
    let code = out.status.code();
    if told.contains("panicked") || !code.is_some_and(|c| ask.codes.contains(&c)) {
        return Some(format!("{args:?} ended with {code:?}: {told}"));
    }
    if code == Some(2) && told.lines().count() != 3 {
        return Some(format!("{args:?} does not say what, where and remedy: {told}"));
    }
    let parses = serde_json::from_slice::<Value>(&out.stdout).is_ok();
    (ask.json && code != Some(2) && !parses).then(|| format!("{args:?} told no JSON"))
}

#[test]
fn plans_by_lot_go_through_the_program() {
    let asked = Asked::usually(60);
    let mut faults = Vec::new();
    for seed in asked.seed..asked.seed + asked.plans {
        let plan = plan(seed);
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("plan.tapemark.json");
        std::fs::write(&file, to_json(&plan)).expect("the plan can be written");
        let all = asks(&file.display().to_string(), folder.path(), &plan);
        // Every plan is asked a few things, all of them together everything.
        let some = all.iter().enumerate().filter(|(i, _)| (*i as u64 + seed).is_multiple_of(4) || asked.plans < 10);
        faults.extend(some.filter_map(|(_, a)| fault(a)).map(|f| format!("seed {seed}: {f}")));
    }
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn the_program_says_what_the_library_says() {
    let asked = Asked::usually(6);
    for seed in asked.seed..asked.seed + asked.plans {
        let plan = plan(seed);
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("plan.tapemark.json");
        std::fs::write(&file, to_json(&plan)).expect("the plan can be written");
        let out = run(&["facts", &file.display().to_string(), "--json"], |_| {});
        let told: Value = serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
        let here: Vec<_> = plan.shots.iter().map(|s| shot_facts(&plan, s, 0.0)).collect();
        // Through text, as the program's came.
        let text = serde_json::to_string(&here).expect("facts are JSON");
        let here: Value = serde_json::from_str(&text).expect("they are");
        assert!(
            told == here,
            "seed {seed}: {:?}",
            tapemark_acceptance::answers::same(&told, &here, |_| {
                tapemark_acceptance::answers::Within::Either(0.0, 0.0)
            })
        );
    }
}

/// Everything the program writes of a plan, run in a way.
fn written(plan: &Plan, prepare: impl Fn(&mut Command)) -> Vec<(String, Vec<u8>)> {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("plan.tapemark.json");
    std::fs::write(&file, to_json(plan)).expect("the plan can be written");
    let all = asks(&file.display().to_string(), folder.path(), plan);
    let mut out = Vec::new();
    for ask in all {
        let args: Vec<&str> = ask.args.iter().map(String::as_str).collect();
        let told = run(&args, &prepare).stdout;
        // Folders of passing things have other names each time.
        let told = String::from_utf8_lossy(&told).replace(&folder.path().display().to_string(), "");
        out.push((args.first().copied().unwrap_or_default().to_string(), told.into_bytes()));
    }
    let mut folders = vec![folder.path().to_path_buf()];
    while let Some(next) = folders.pop() {
        let mut entries: Vec<_> = std::fs::read_dir(&next).expect("it is there").flatten().map(|e| e.path()).collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder.path()).map(|p| p.display().to_string()).unwrap_or_default();
                out.push((name, std::fs::read(&path).expect("it can be read")));
            }
        }
    }
    out
}

/// A way of running the program: what is set before it starts.
type Way<'a> = &'a dyn Fn(&mut Command);

#[test]
fn what_is_written_is_the_same_bytes_whatever_it_runs_under() {
    let asked = Asked::usually(1);
    let elsewhere = tempfile::tempdir().expect("a folder");
    for seed in asked.seed..asked.seed + asked.plans {
        let plan = plan(seed);
        let usual = written(&plan, |_| {});
        assert!(usual.len() > 20);
        let ways: [(&str, Way<'_>); 5] = [
            ("again", &|_| {}),
            ("on one thread", &|c| _ = c.env("RAYON_NUM_THREADS", "1")),
            ("on two threads", &|c| _ = c.env("RAYON_NUM_THREADS", "2")),
            ("in another language", &|c| _ = c.env("LANG", "de_DE.UTF-8").env("LC_ALL", "de_DE.UTF-8")),
            ("elsewhere, in the C locale", &|c| {
                _ = c.current_dir(elsewhere.path()).env("LC_ALL", "C").env("TZ", "Asia/Tokyo");
            }),
        ];
        for (how, way) in ways {
            for ((name, a), (_, b)) in usual.iter().zip(&written(&plan, way)) {
                assert!(a == b, "seed {seed}: {name} is other bytes {how}");
            }
        }
    }
}
