//! Nothing is lost where files meet the world: links, pipes, names, full disks, journals nobody can read.

#![cfg(unix)]

use std::fs::{self, File};
use std::io::Write;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, SystemTime};
use tapemark::files;
use tapemark::journal::{self, Keeper};
use tapemark_core::plan::{Plan, Shot};

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn titled(title: &str) -> Plan {
    Plan { title: title.into(), ..Plan::empty() }
}

fn tapemark(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tapemark")).args(args).stdin(Stdio::null()).output().unwrap()
}

fn words(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn name(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn a_link_stays_a_link() {
    let d = folder();
    fs::create_dir(d.path().join("far")).unwrap();
    let (file, link) = (d.path().join("far/plan.tapemark.json"), d.path().join("link.tapemark.json"));
    files::write(&file, &titled("old")).unwrap();
    symlink("far/plan.tapemark.json", &link).unwrap();
    files::write(&link, &titled("new")).unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(files::read(&file).unwrap().title, "new");
    // A link that leads nowhere yet.
    let (there, ahead) = (d.path().join("far/later.tapemark.json"), d.path().join("ahead.tapemark.json"));
    symlink(&there, &ahead).unwrap();
    files::write(&ahead, &titled("later")).unwrap();
    assert_eq!(files::read(&there).unwrap().title, "later");
    // In a circle.
    let round = d.path().join("round");
    symlink(&round, &round).unwrap();
    assert!(files::write(&round, &titled("x")).is_err());
}

#[test]
fn further_names_mode_and_mask_are_kept() {
    let d = folder();
    let (a, b) = (d.path().join("a.tapemark.json"), d.path().join("b.tapemark.json"));
    files::write(&a, &titled("old")).unwrap();
    fs::set_permissions(&a, fs::Permissions::from_mode(0o640)).unwrap();
    fs::hard_link(&a, &b).unwrap();
    files::write(&a, &titled("new")).unwrap();
    assert_eq!(files::read(&b).unwrap().title, "new");
    assert_eq!(fs::metadata(&a).unwrap().ino(), fs::metadata(&b).unwrap().ino());
    fs::remove_file(&b).unwrap();
    files::write(&a, &titled("newer")).unwrap();
    assert_eq!(fs::metadata(&a).unwrap().mode() & 0o777, 0o640);
    // A new file by the user's mask, as the program itself makes it.
    let made = d.path().join("made.tapemark.json");
    let run = format!("umask 027; exec '{}' new -o '{}'", env!("CARGO_BIN_EXE_tapemark"), made.display());
    assert!(Command::new("sh").args(["-c", &run]).status().unwrap().success());
    assert_eq!(fs::metadata(&made).unwrap().mode() & 0o777, 0o640);
}

#[test]
fn a_read_only_file_is_not_written_over() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &titled("old")).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o444)).unwrap();
    let e = files::write(&file, &titled("new")).unwrap_err();
    assert!(e.place.contains("plan.tapemark.json") && !e.remedy.is_empty());
    assert_eq!(files::read(&file).unwrap().title, "old");
}

#[test]
fn pipes_and_devices_are_refused_at_once() {
    let d = folder();
    let pipe = d.path().join("pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    for odd in [name(&pipe), "/dev/zero", "/dev/tty", "/proc/kmsg", "/proc/self/mem"] {
        if !Path::new(odd).exists() {
            continue;
        }
        let done = tapemark(&["facts", odd]);
        assert_eq!(done.status.code(), Some(2), "{odd}: {}", words(&done));
    }
    assert!(files::write(&pipe, &Plan::empty()).is_err());
    assert!(!fs::metadata(&pipe).unwrap().is_file());
}

#[test]
fn the_plan_before_is_kept_beside() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &titled("one")).unwrap();
    assert!(!files::previous_name(&file).exists());
    files::write(&file, &titled("two")).unwrap();
    assert_eq!(files::read(&files::previous_name(&file)).unwrap().title, "one");
    // Writing the same again loses nothing.
    files::write(&file, &titled("two")).unwrap();
    assert_eq!(files::read(&files::previous_name(&file)).unwrap().title, "one");
}

#[test]
fn what_a_killed_program_left_is_cleared() {
    let d = folder();
    let (left, held) = (d.path().join(".tapemark-left"), d.path().join(".tapemark-held"));
    let long_ago = SystemTime::now() - Duration::from_secs(60);
    for path in [&left, &held] {
        let mut file = File::create(path).unwrap();
        file.write_all(b"half").unwrap();
        file.set_modified(long_ago).unwrap();
    }
    let writing = File::open(&held).unwrap();
    writing.lock().unwrap();
    files::write(&d.path().join("plan.tapemark.json"), &Plan::empty()).unwrap();
    assert!(!left.exists() && held.exists());
}

#[test]
fn an_answer_never_lands_on_the_plan_it_was_asked_of() {
    let d = folder();
    let file = d.path().join("plan.pdf");
    files::write_atomically(&file, files::DEMO_JSON.as_bytes()).unwrap();
    let link = d.path().join("other.pdf");
    symlink(&file, &link).unwrap();
    for output in [&file, &link] {
        let done = tapemark(&["sheet", name(&file), "-o", name(output)]);
        assert_eq!(done.status.code(), Some(2));
        assert_eq!(fs::read(&file).unwrap(), files::DEMO_JSON.as_bytes());
    }
    let glb = d.path().join("plan.glb");
    fs::copy(&file, &glb).unwrap();
    assert_eq!(tapemark(&["hand-on", name(&glb), "-o", name(&glb)]).status.code(), Some(2));
    // A list that has the plan's own name, even where everything may be replaced.
    let csv = d.path().join("shots.csv");
    fs::copy(&file, &csv).unwrap();
    assert_eq!(tapemark(&["lists", name(&csv), "-o", name(d.path()), "--force"]).status.code(), Some(2));
    // What an item or a drawing was read from.
    let items = d.path().join("items.json");
    fs::write(&items, "[]").unwrap();
    assert_eq!(tapemark(&["put", name(&file), name(&items), "-o", name(&items)]).status.code(), Some(2));
    for (kept, bytes) in [(&glb, files::DEMO_JSON), (&csv, files::DEMO_JSON), (&items, "[]")] {
        assert_eq!(fs::read(kept).unwrap(), bytes.as_bytes(), "{}", kept.display());
    }
}

#[test]
fn every_shot_has_a_phone_picture_of_its_own() {
    let d = folder();
    let mut plan = files::demo();
    // The third is what the second would be called when told apart from the first.
    let names = ["1/2", "1.2", "1-2-no-2"].map(String::from);
    for (shot, name) in plan.shots.iter_mut().zip(&names) {
        *shot = Shot { name: name.clone(), ..Shot::clone(shot) };
    }
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &plan).unwrap();
    let out = d.path().join("phones");
    let done = tapemark(&["phone", name(&file), "-o", name(&out)]);
    assert!(done.status.success(), "{}", words(&done));
    let pictures =
        || fs::read_dir(&out).unwrap().flatten().filter(|f| f.path().extension().is_some_and(|e| e == "png")).count();
    assert_eq!(pictures(), plan.shots.len());
    assert_eq!(String::from_utf8_lossy(&done.stdout).lines().count(), plan.shots.len());
}

#[test]
fn a_full_standard_output_is_told() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &titled("x")).unwrap();
    let full = File::options().write(true).open("/dev/full").unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_tapemark"))
        .args(["notices", name(&file), "--json"])
        .stdout(full)
        .stderr(Stdio::piped())
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(2), "{}", words(&done));
    assert!(words(&done).contains("standard output"));
}

#[test]
fn names_give_a_terminal_no_orders() {
    let d = folder();
    let mut plan = files::demo();
    plan.cast[0].name = "Mara\u{1b}[31m\u{9b}2J".into();
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &plan).unwrap();
    for more in [&[][..], &["--json"]] {
        let done = tapemark(&[&["facts", name(&file)], more].concat());
        let said = String::from_utf8(done.stdout).unwrap();
        assert!(said.contains("Mara") && !said.contains(|c: char| c.is_control() && c != '\n'), "{more:?}");
    }
}

#[test]
fn a_language_before_a_command_is_no_plan() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &files::demo()).unwrap();
    let before = tapemark(&["--language", "de", "notices", name(&file)]);
    let after = tapemark(&["notices", name(&file), "--language", "de"]);
    assert!(!before.stdout.is_empty(), "{}", words(&before));
    assert_eq!(before, after);
}

#[test]
fn what_is_no_number_is_refused() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &files::demo()).unwrap();
    for odd in ["NaN", "inf", "-inf", "1e999"] {
        let at = format!("--at={odd}");
        assert_eq!(tapemark(&["facts", name(&file), &at]).status.code(), Some(2), "{odd}");
    }
}

#[test]
fn a_lamp_file_goes_in_by_an_edit() {
    let d = folder();
    let plan = files::demo();
    let lamp = plan.rigs[0].fixtures[0].id.to_string();
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &plan).unwrap();
    let gel = d.path().join("gel.csv");
    let curve: String = (400..=700).step_by(20).map(|nm| format!("{nm},0.5\n")).collect();
    fs::write(&gel, curve).unwrap();
    let mut refused = None;
    for n in 0..25 {
        let done = tapemark(&["attach", name(&file), "--fixture", &lamp, "--gel", name(&gel)]);
        let now = files::read(&file).expect("the plan can always be read");
        if !done.status.success() {
            refused = Some((n, now.rigs[0].fixtures[0].gels.len()));
            break;
        }
    }
    let (n, gels) = refused.expect("a pack of gels has an end");
    assert!(n > 3 && gels <= 20, "{n} {gels}");
}

/// A journal that nobody holds: what was noted, in a folder.
fn left(folder: &Path, plan_file: Option<PathBuf>, plans: &[Plan]) -> PathBuf {
    let keeper = Keeper::start(folder, plan_file, &Plan::empty()).unwrap();
    for plan in plans {
        keeper.note(plan);
        assert!(keeper.wait());
    }
    keeper.path().to_path_buf()
}

#[test]
fn a_journal_names_its_plan_in_full() {
    let d = folder();
    let path = left(d.path(), Some("plan.tapemark.json".into()), &[titled("work")]);
    let found = journal::read(&path).unwrap();
    assert_eq!(found.plan_file, Some(std::env::current_dir().unwrap().join("plan.tapemark.json")));
}

#[test]
fn a_journal_is_read_up_to_its_fault_and_never_deleted() {
    let plans = [titled("one"), titled("two"), titled("three")];
    let spoil = |change: &dyn Fn(Vec<u8>) -> Vec<u8>| {
        let d = folder();
        let path = left(d.path(), None, &plans);
        fs::write(&path, change(fs::read(&path).unwrap())).unwrap();
        let seen = journal::look(d.path());
        (d, seen)
    };
    // Lines ended as another system ends them.
    let (_d, seen) = spoil(&|b| String::from_utf8(b).unwrap().replace('\n', "\r\n").into_bytes());
    assert_eq!((seen.found[0].plan.title.as_str(), seen.found[0].fault), ("three", false));
    // A bit over in the third line: two of its changes can be read.
    let (_d, seen) = spoil(&|mut b| {
        let line = b.iter().enumerate().filter(|(_, c)| **c == b'\n').nth(1).unwrap().0;
        b[line + 20] ^= 1;
        b
    });
    assert_eq!((seen.found[0].plan.title.as_str(), seen.found[0].fault), ("one", true));
    assert!(seen.found[0].journal.exists());
    // A bit over in the first line, and a version that is not known: set aside, whole.
    for change in [
        &(|mut b: Vec<u8>| {
            b[30] ^= 1;
            b
        }) as &dyn Fn(Vec<u8>) -> Vec<u8>,
        &|b| {
            let text = String::from_utf8(b).unwrap();
            let (first, rest) = text.split_once('\n').unwrap();
            let json = first[9..].replacen("\"version\":1", "\"version\":2", 1);
            format!("{:08x} {json}\n{rest}", crc32fast::hash(json.as_bytes())).into_bytes()
        },
    ] {
        let (_d, seen) = spoil(change);
        assert!(seen.found.is_empty());
        assert!(fs::metadata(&seen.not_read[0]).unwrap().len() > 100);
        assert!(seen.not_read[0].parent().unwrap().ends_with("not-read"));
    }
    // A last change that leads to no plan.
    let d = folder();
    let path = left(d.path(), None, &plans);
    let json = r#"{"changed":[{"op":"replace","path":"/title","value":17}]}"#;
    let line = format!("{:08x} {json}\n", crc32fast::hash(json.as_bytes()));
    fs::OpenOptions::new().append(true).open(&path).unwrap().write_all(line.as_bytes()).unwrap();
    let seen = journal::look(d.path());
    assert_eq!((seen.found[0].plan.title.as_str(), seen.found[0].fault), ("three", true));
}

#[test]
fn one_file_has_one_name() {
    let d = folder();
    let (a, b) = (d.path().join("a.tapemark.json"), d.path().join("b.tapemark.json"));
    files::write(&a, &Plan::empty()).unwrap();
    fs::hard_link(&a, &b).unwrap();
    let keeper = Keeper::start(d.path(), Some(a), &Plan::empty()).unwrap();
    assert!(keeper.wait());
    assert!(journal::open_elsewhere(d.path(), &b, None));
    assert!(!journal::open_elsewhere(d.path(), &b, Some(keeper.path())));
}

#[test]
fn in_a_folder_only_what_an_earlier_run_wrote_is_replaced() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    files::write(&file, &files::demo()).unwrap();
    let out = d.path().join("lists");
    let lists = |more: &[&str]| tapemark(&[&["lists", name(&file), "-o", name(&out)], more].concat());
    fs::create_dir(&out).unwrap();
    let theirs = out.join("shots.csv");
    fs::write(&theirs, "mine, by hand").unwrap();
    let refused = lists(&[]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(words(&refused).contains("shots.csv") && words(&refused).contains("--force"), "{}", words(&refused));
    assert_eq!(fs::read_dir(&out).unwrap().count(), 1, "all or none");
    assert_eq!(fs::read(&theirs).unwrap(), b"mine, by hand");
    fs::remove_file(&theirs).unwrap();
    let done = lists(&[]);
    assert!(done.status.success(), "{}", words(&done));
    for told in String::from_utf8_lossy(&done.stdout).lines() {
        assert!(Path::new(told).is_file(), "{told}");
    }
    // Its own of another day, and somebody's when asked to.
    files::write(&file, &titled("later")).unwrap();
    assert!(lists(&[]).status.success());
    fs::write(out.join(".written-by-tapemark"), "").unwrap();
    fs::write(&theirs, "mine again").unwrap();
    assert_eq!(lists(&[]).status.code(), Some(2));
    assert!(lists(&["--force"]).status.success());
    assert_ne!(fs::read(&theirs).unwrap(), b"mine again");
}

proptest::proptest! {
    /// Names for files are all different, even where a disk does not tell capitals apart, and short enough for one.
    #[test]
    fn names_for_files_are_told_apart(names in proptest::collection::vec("[1aA/. é試-]{0,5}|1-no-[0-9]|.{0,200}", 0..12)) {
        let apart = files::names_apart(&names.iter().map(String::as_str).collect::<Vec<_>>());
        let folded: std::collections::BTreeSet<String> = apart.iter().map(|n| n.to_lowercase()).collect();
        proptest::prop_assert_eq!(folded.len(), names.len());
        for n in &apart {
            proptest::prop_assert!(!n.is_empty() && n.len() < 200 && !n.contains(['/', '\0']), "{n:?}");
        }
    }
}

#[test]
fn a_new_picture_of_a_shot_leaves_the_one_before() {
    let d = folder();
    let plan = d.path().join("plan.tapemark.json");
    let picture = |shade: u8| image::RgbaImage::from_pixel(4, 4, image::Rgba([shade; 4]));
    let first = files::keep(&plan, "shot-1", picture(10)).unwrap();
    let second = files::keep(&plan, "shot-1", picture(200)).unwrap();
    assert_ne!(first.name, second.name);
    let shown = |kept: &files::KeptPicture| files::picture(&d.path().join(&kept.name)).unwrap();
    assert_eq!((shown(&first), shown(&second)), (picture(10), picture(200)));
    assert_eq!(files::keep(&plan, "shot-1", picture(10)).unwrap(), first, "the same picture is one file");
}

#[test]
fn a_message_is_no_longer_than_can_be_read() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    let long = "x".repeat(3_000_000);
    fs::write(&file, files::DEMO_JSON.replacen("800.0", &format!("\"{long}\""), 1)).unwrap();
    let done = tapemark(&["notices", name(&file)]);
    assert_eq!(done.status.code(), Some(2));
    let said = words(&done);
    assert!(said.len() < 2_000 && said.contains("exposure.ei"), "{} bytes: {:.300}", said.len(), said);
}

#[test]
fn a_drawing_holds_no_character_that_xml_forbids() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    let mut plan = files::demo();
    plan.title = "a\u{fffe}b\u{ffff}c\u{1}d".into();
    files::write(&file, &plan).unwrap();
    let out = d.path().join("sheet.svg");
    let done = tapemark(&["sheet", name(&file), "--shot", "1", "-o", name(&out)]);
    assert!(done.status.success(), "{}", words(&done));
    // XML 1.0, production 2: Char.
    let allowed = |c: char| matches!(c, '\t' | '\n' | '\r' | ' '..='\u{fffd}' | '\u{10000}'..);
    let drawn = fs::read_to_string(&out).unwrap();
    assert!(drawn.contains("abcd") && drawn.chars().all(allowed));
}

#[test]
fn more_values_than_a_plan_holds_are_refused_at_once() {
    let d = folder();
    let file = d.path().join("plan.tapemark.json");
    let many = "[0, 0, 0, 0, 0, 0, 0, 0],".repeat(150_000);
    fs::write(&file, files::DEMO_JSON.replacen('{', &format!("{{\"theirs\": [{many} 0],"), 1)).unwrap();
    let done = tapemark(&["notices", name(&file)]);
    assert_eq!(done.status.code(), Some(2));
    assert!(words(&done).contains("1,000,000") || words(&done).contains("1000000"), "{}", words(&done));
    // Commas within a text are none.
    let commas = ",".repeat(1_100_000);
    fs::write(&file, files::DEMO_JSON.replacen('{', &format!("{{\"theirs\": \"\\\"{commas}\","), 1)).unwrap();
    assert_ne!(tapemark(&["notices", name(&file)]).status.code(), Some(2));
}
