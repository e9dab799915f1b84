//! The command line as scripts use it.

use std::path::PathBuf;
use std::process::{Command, Output};

fn demo() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../assets/demo/last-firing.tapemark.json")
}

fn tapemark(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tapemark"))
        .args(args)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).to_string()
}

#[test]
fn facts_in_words_and_as_json() {
    let plan = demo();
    let plan = plan.to_str().unwrap();
    let out = tapemark(&["facts", plan]);
    assert!(out.status.success() && text(&out.stdout).contains("Mara"));
    let out = tapemark(&["facts", plan, "--shot", "shot-1", "--at", "8", "--json"]);
    let v: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(v["at_s"], 8.0);
    for key in ["focus_m", "near_m", "far_m", "horizontal_angle_deg", "wanted_lx", "room_behind_m"] {
        assert!(v["camera"][key].is_number(), "{key}");
    }
    assert!(v["people"][0]["reading"]["illuminance_lx"].is_number());
    let out = tapemark(&["facts", plan, "--shot", "9"]);
    assert_eq!(out.status.code(), Some(2));
    assert_eq!(text(&out.stderr).lines().count(), 3, "what, where, remedy");
}

#[test]
fn a_reading_has_every_fixtures_part() {
    let plan = demo();
    let args =
        ["reading", plan.to_str().unwrap(), "--rig", "rig-1", "--point", "2.6,3.0,1.5", "--toward", "0,-1,0", "--json"];
    let v: serde_json::Value = serde_json::from_slice(&tapemark(&args).stdout).unwrap();
    let parts = v["parts"].as_array().unwrap();
    assert_eq!(parts.len(), 3);
    let sum: f64 = parts.iter().map(|p| p["direct_lx"].as_f64().unwrap() + p["bounced_lx"].as_f64().unwrap()).sum();
    assert!((sum - v["illuminance_lx"].as_f64().unwrap()).abs() < 1e-6);
    assert!(v["cct_k"].as_f64().unwrap() > 2000.0);
    let bad =
        tapemark(&["reading", plan.to_str().unwrap(), "--rig", "rig-1", "--point", "2,NaN,1", "--toward", "0,1,0"]);
    assert_eq!(bad.status.code(), Some(2));
}

#[test]
fn notices_tell_by_their_exit_status() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(tapemark(&["notices", demo().to_str().unwrap()]).status.code(), Some(1));
    let broken = folder.path().join("broken.json");
    std::fs::write(&broken, "{").unwrap();
    let out = tapemark(&["notices", broken.to_str().unwrap()]);
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("remedy:"));
}

#[test]
fn a_new_plan_opens_and_is_not_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("new.tapemark.json");
    let path = path.to_str().unwrap();
    assert!(tapemark(&["new", "-o", path]).status.success());
    assert!(tapemark(&["facts", path]).status.success());
    let again = tapemark(&["new", "-o", path]);
    assert_eq!(again.status.code(), Some(2));
}

#[test]
fn sheets_of_three_kinds() {
    let folder = tempfile::tempdir().unwrap();
    for (name, lead) in [("a.pdf", &b"%PDF"[..]), ("a.svg", b"<svg"), ("a.png", b"\x89PNG")] {
        let path = folder.path().join(name);
        let out = tapemark(&[
            "sheet",
            demo().to_str().unwrap(),
            "--shot",
            "2",
            "-o",
            path.to_str().unwrap(),
            "--scale",
            "1:50",
        ]);
        assert!(out.status.success(), "{}", text(&out.stderr));
        assert!(std::fs::read(&path).unwrap().starts_with(lead));
    }
    let out = tapemark(&["sheet", demo().to_str().unwrap(), "-o", "a.doc"]);
    assert!(text(&out.stderr).contains(".pdf, .svg or .png"));
}

#[test]
fn the_schema_is_json() {
    let v: serde_json::Value = serde_json::from_slice(&tapemark(&["schema"]).stdout).unwrap();
    assert!(v["properties"]["location"].is_object());
}

#[test]
fn without_a_display_the_demo_writes_its_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_tapemark"))
        .arg("demo")
        .current_dir(folder.path())
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .unwrap();
    assert!(out.status.success());
    assert!(text(&out.stdout).contains("no display"));
    assert!(folder.path().join("tapemark-sheet.pdf").exists());
}

#[test]
fn help_everywhere() {
    for command in ["facts", "reading", "sheet", "notices", "schema", "new", "demo"] {
        assert!(tapemark(&[command, "--help"]).status.success(), "{command}");
    }
}
