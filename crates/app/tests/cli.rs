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
    // The editor speaks the system's language (POSIX: LC_ALL comes before all else), unless it is told otherwise.
    for (locale, args, words) in [
        ("C", vec!["demo"], "no display"),
        ("de_AT.UTF-8", vec!["demo"], "kein Bildschirm"),
        ("de_AT.UTF-8", vec!["demo", "--language", "en"], "no display"),
    ] {
        let out = Command::new(env!("CARGO_BIN_EXE_tapemark"))
            .args(args)
            .current_dir(folder.path())
            .env("LC_ALL", locale)
            .env("XDG_CONFIG_HOME", folder.path())
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY")
            .output()
            .unwrap();
        assert!(out.status.success());
        assert!(text(&out.stdout).contains(words), "{locale}: {}", text(&out.stdout));
        assert!(folder.path().join("tapemark-sheet.pdf").exists());
    }
}

#[test]
fn help_everywhere() {
    for command in
        ["facts", "reading", "daylight", "spot", "goal", "attach", "sheet", "notices", "schema", "new", "demo"]
    {
        assert!(tapemark(&[command, "--help"]).status.success(), "{command}");
    }
}

#[test]
fn daylight_goals_and_lamp_files_answer_on_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.tapemark.json");
    let file = path.to_str().unwrap();
    let mut plan: serde_json::Value = serde_json::from_slice(&std::fs::read(demo()).unwrap()).unwrap();
    std::fs::write(&path, plan.to_string()).unwrap();
    let dark = tapemark(&["daylight", file]);
    assert_eq!(dark.status.code(), Some(2));
    assert!(text(&dark.stderr).contains("latitude_deg"));
    plan["daylight"] = serde_json::json!({
        "date": "2026-06-21", "clock": "18:30", "utc_offset_h": 2.0, "sky_type": 12, "ground_reflectance": 0.2
    });
    std::fs::write(&path, plan.to_string()).unwrap();
    let out = tapemark(&["daylight", file, "--shot", "1", "--json"]);
    let v: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert!(v[0]["elevation_deg"].as_f64().unwrap() > 0.0);
    assert!(v[0]["direct_sun"].as_array().unwrap().iter().any(|s| s["on"] == "floor"));

    // A goal that would break the cut to the next shot names it and is not said to be reached.
    let after = folder.path().join("after.tapemark.json");
    let demo_file = demo();
    let goal = ["--shot", "1", "--stop", "2.8", "--ratio", "4:1"];
    let mut args = vec!["goal", demo_file.to_str().unwrap()];
    args.extend(goal);
    args.push("--json");
    let out = tapemark(&args);
    let v: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(out.status.code(), Some(1), "{}", text(&out.stderr));
    assert!(v["broken"].as_array().unwrap().iter().any(|b| b["code"] == "light-does-not-match"), "{v}");

    // With no cut to keep it is reached, written elsewhere, and holds there.
    let alone = folder.path().join("alone.tapemark.json");
    let mut free: serde_json::Value = serde_json::from_slice(&std::fs::read(&demo_file).unwrap()).unwrap();
    for shot in free["shots"].as_array_mut().unwrap() {
        shot.as_object_mut().unwrap().remove("cuts_with");
    }
    std::fs::write(&alone, free.to_string()).unwrap();
    let mut args = vec!["goal", alone.to_str().unwrap()];
    args.extend(goal);
    args.extend(["-o", after.to_str().unwrap(), "--json"]);
    let out = tapemark(&args);
    assert!(out.status.success(), "{}", text(&out.stderr));
    let again =
        tapemark(&["goal", after.to_str().unwrap(), "--shot", "1", "--stop", "2.8", "--ratio", "4:1", "--json"]);
    let v: serde_json::Value = serde_json::from_slice(&again.stdout).unwrap();
    assert_eq!(v["met"], true);
    let spot = tapemark(&["spot", demo_file.to_str().unwrap(), "--shot", "1"]);
    assert!(text(&spot.stdout).contains("wall of Workshop"));

    // A measured lamp.
    let ies = folder.path().join("lamp.ies");
    std::fs::write(&ies, "TEST\nTILT=NONE\n1 -1 1 3 1 1 2 0 0 0\n1 1 100\n0 45 90\n0\n900 500 0\n").unwrap();
    let out = tapemark(&["attach", file, "--fixture", "lamp-2", "--candela", ies.to_str().unwrap()]);
    assert!(out.status.success(), "{}", text(&out.stderr));
    assert!(std::fs::read_to_string(&path).unwrap().contains("\"photometry\": \"C\""));
    std::fs::write(&ies, "TEST\nTILT=NONE\n1 -1 1 3 1 1 2 0 0 0\n1 1 100\n0 45 90\n0\n900 -500 0\n").unwrap();
    let before = std::fs::read(&path).unwrap();
    let out = tapemark(&["attach", file, "--fixture", "lamp-2", "--candela", ies.to_str().unwrap()]);
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("negative") && text(&out.stderr).contains("line 7"), "{}", text(&out.stderr));
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn frame_writes_what_the_lens_sees() {
    let dir = tempfile::tempdir().unwrap();
    let (plan, out) = (dir.path().join("demo.tapemark.json"), dir.path().join("frame.png"));
    std::fs::write(&plan, tapemark::files::DEMO_JSON).unwrap();
    let run = |more: &[&str]| {
        let args = ["frame", plan.to_str().unwrap(), "--shot", "1", "-o", out.to_str().unwrap(), "--width", "240"];
        let mut c = Command::new(env!("CARGO_BIN_EXE_tapemark"));
        c.args(args).args(more).output().unwrap()
    };
    let size_and_bytes = || {
        let picture = image::open(&out).unwrap().to_rgb8();
        // The delivered aspect is 1.85.
        assert_eq!(picture.dimensions(), (240, 130));
        picture.into_raw()
    };
    assert!(run(&[]).status.success());
    let plain = size_and_bytes();
    assert!(run(&["--over", "thirds,head-room"]).status.success());
    assert_ne!(plain, size_and_bytes());
    assert!(run(&["--levels", "--at", "6"]).status.success());
    assert_ne!(plain, size_and_bytes());
    let refused = run(&["--over", "nothing"]);
    assert!(!refused.status.success());
}

/// Radiance RGBE shares one exponent and keeps eight bits a channel (Ward, Graphics Gems II, 1991): within 1/256 of
/// the largest channel.
#[test]
fn a_luminance_picture_holds_what_core_says() {
    use tapemark_core::{frame, light, plan, scene};
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("frame.hdr");
    let write = |more: &[&str]| {
        let (plan, out) = (demo(), out.to_str().unwrap());
        let args = ["frame", plan.to_str().unwrap(), "--shot", "1", "--at", "2", "-o", out, "--width", "160"];
        tapemark(&[&args[..], more].concat())
    };
    assert!(write(&[]).status.success());
    let head = std::fs::read(&out).unwrap();
    assert!(text(&head[..200]).contains("luminance in cd/m2"));
    let found = image::open(&out).unwrap().to_rgb32f();
    let plan = plan::from_json(tapemark::files::DEMO_JSON.as_bytes()).unwrap();
    let shot = &plan.shots[0];
    let (scene, rig) = (scene::Scene::of(&plan, shot, 2.0), plan.shot_rig(shot));
    let light = light::Transport::of(&plan, rig.as_deref(), &scene, light::FINE_PATCH_M, None);
    let spec = frame::FrameSpec::for_view(scene.view.as_ref().unwrap(), 160).cut_finer(2);
    let wanted = frame::picture(&plan, &scene, rig.as_deref(), &light, spec).unwrap().folded(2);
    assert_eq!((found.width() as usize, found.height() as usize), (wanted.width, wanted.height));
    for (pixel, core) in found.pixels().zip(&wanted.light) {
        let largest = core.iter().copied().fold(0.0, f32::max);
        for (a, b) in pixel.0.iter().zip(core) {
            // A channel below zero lies outside the primaries' triangle; the file holds 0 for it.
            assert!((a - b.max(0.0)).abs() <= largest / 256.0 + 1e-6, "{pixel:?} for {core:?}");
        }
    }
    assert!(wanted.light.iter().any(|c| c[1] > 1.0), "lit");
    for bad in [&["--levels"][..], &["--over", "thirds"]] {
        assert_eq!(write(bad).status.code(), Some(2));
    }
}

#[test]
fn clear_view_and_suggestions_in_words_as_json_and_carried_out() {
    let plan = demo();
    let plan = plan.to_str().unwrap();
    let out = tapemark(&["clear-view", plan, "--shot", "2"]);
    assert!(text(&out.stdout).contains("nothing hides a face"), "{}", text(&out.stderr));
    let out = tapemark(&["clear-view", plan, "--shot", "2", "--cell", "0.25", "--json"]);
    let v: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let cells = v["nx"].as_u64().unwrap() * v["ny"].as_u64().unwrap();
    assert_eq!(v["least_share"].as_array().unwrap().len() as u64, cells);
    assert!(v["ruled_out"].as_array().unwrap().iter().any(|r| r == "no-room-behind"));

    // Shot 2 has Mara hidden: the first suggestion mends it.
    let dir = tempfile::tempdir().unwrap();
    let mended = dir.path().join("mended.tapemark.json");
    let out = tapemark(&["suggest", plan, "--shot", "2", "-o", mended.to_str().unwrap()]);
    assert!(out.status.success() && text(&out.stdout).contains("% seen"), "{}", text(&out.stderr));
    let out = tapemark(&["notices", mended.to_str().unwrap()]);
    assert!(!text(&out.stdout).contains("face-hidden"), "{}", text(&out.stdout));
    let out = tapemark(&["suggest", plan, "--shot", "1", "--size", "close", "--person", "mara", "--json"]);
    let v: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert!(v[0]["focal_mm"].as_f64().unwrap() > 40.0);
    assert_eq!(tapemark(&["suggest", plan, "--shot", "1", "--share", "7"]).status.code(), Some(2));
}

#[test]
fn cover_of_a_shot_and_of_all() {
    let plan = demo();
    let plan = plan.to_str().unwrap();
    let area = |more: &[&str]| {
        let out = tapemark(&[&["cover", plan, "--json"], more].concat());
        let v: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
        assert!(v["surfaces"][0]["running_m"].is_number() && v["roll_width_m"] == 1.5);
        v["wall_m2"].as_f64().unwrap()
    };
    let (one, three, all) = (area(&["--shot", "1"]), area(&["--shot", "3"]), area(&[]));
    // Together no less than each and no more than their sum.
    assert!(all >= one.max(three) - 1e-6 && all > one + three - 1e-6);
    let out = tapemark(&["cover", plan]);
    assert!(text(&out.stdout).contains("off a roll 1.50 m wide"), "{}", text(&out.stdout));
    assert!(!text(&out.stdout).contains("-0.00"));
    let dir = tempfile::tempdir().unwrap();
    let svg = dir.path().join("sheet.svg");
    let out = tapemark(&["sheet", plan, "--shot", "1", "--cover", "-o", svg.to_str().unwrap()]);
    assert!(out.status.success());
    assert!(std::fs::read_to_string(&svg).unwrap().contains("cloth 3.86 m"));
}

/// The demo scenario built up from an empty plan by the command line alone, to the day on paper.
#[test]
fn from_an_empty_plan_to_the_whole_day() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_string();
    let demo_json: serde_json::Value = serde_json::from_slice(&std::fs::read(demo()).unwrap()).unwrap();
    let plan = at("day.tapemark.json");
    assert!(tapemark(&["new", "-o", &plan]).status.success());
    // Settings merge, items are put in the order in which they lean on each other.
    let keys = ["title", "notes", "exposure", "limits"];
    let mut settings = serde_json::Map::new();
    keys.iter().for_each(|k| drop(settings.insert((*k).into(), demo_json[*k].clone())));
    let l = &demo_json["location"];
    let place = ["name", "north_deg", "latitude_deg", "longitude_deg", "wall_thickness_m", "mains_v"];
    settings.insert("location".into(), place.iter().map(|k| ((*k).to_string(), l[*k].clone())).collect());
    std::fs::write(at("settings.json"), serde_json::to_vec(&settings).unwrap()).unwrap();
    let mut items = Vec::new();
    for (list, kind) in [
        (&l["rooms"], "room"),
        (&l["openings"], "opening"),
        (&l["pieces"], "piece"),
        (&l["circuits"], "circuit"),
        (&l["outlets"], "outlet"),
        (&demo_json["cast"], "person"),
        (&demo_json["cameras"], "camera"),
        (&demo_json["rigs"], "rig"),
        (&demo_json["shots"], "shot"),
    ] {
        for x in list.as_array().unwrap() {
            let mut x = x.clone();
            x["item"] = kind.into();
            items.push(x);
        }
    }
    std::fs::write(at("items.json"), serde_json::to_vec(&items).unwrap()).unwrap();
    for file in ["settings.json", "items.json"] {
        let out = tapemark(&["put", &plan, &at(file)]);
        assert!(out.status.success(), "{}", text(&out.stderr));
    }
    assert_eq!(
        text(&tapemark(&["notices", &plan]).stdout),
        text(&tapemark(&["notices", demo().to_str().unwrap()]).stdout)
    );
    let kit = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../assets/demo/bag.tapemark-kit.json");
    let kit = kit.to_str().unwrap();
    let pdf = at("day.pdf");
    let out = tapemark(&["sheet", &plan, "-o", &pdf, "--kit", kit, "--paper", "letter"]);
    assert!(out.status.success(), "{}", text(&out.stderr));
    assert!(std::fs::read(&pdf).unwrap().len() > 100_000);
    assert!(tapemark(&["lists", &plan, "-o", &at("lists"), "--kit", kit]).status.success());
    for name in ["shots", "marks", "readings", "lamps", "circuits", "cables", "kit", "order", "continuity", "notices"] {
        assert!(std::fs::read_to_string(at(&format!("lists/{name}.csv"))).unwrap().lines().count() > 1, "{name}");
    }
    assert!(tapemark(&["phone", &plan, "--shot", "3", "-o", &at("phone")]).status.success());
    assert!(std::fs::read(at("phone/shot-3.png")).unwrap().starts_with(b"\x89PNG"));
    let bad = at("bad.json");
    std::fs::write(&bad, r#"[{"item":"room","id":"r","outline_m":[[0,0],[1,0]]}]"#).unwrap();
    let out = tapemark(&["put", &plan, &bad]);
    assert_eq!((out.status.code(), text(&out.stderr).lines().count()), (Some(2), 3));
}

#[test]
fn continuity_power_kit_and_order_answer() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_string();
    let plan = demo();
    let plan = plan.to_str().unwrap();
    let value = |args: &[&str]| {
        let out = tapemark(args);
        let v: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
        (out.status.code().unwrap(), v)
    };
    let (code, v) = value(&["continuity", plan, "--json"]);
    assert_eq!((code, v[0]["name"].as_str(), v[0]["differences"].as_array().unwrap().len()), (0, Some("Mara"), 7));
    let carried = at("carried.json");
    let (_, v) = value(&["carry-over", plan, "--from", "1", "--to", "2", "-o", &carried, "--json"]);
    assert_eq!(v["lamps"].as_array().unwrap().len(), 2);
    assert!(tapemark(&["facts", &carried]).status.success());
    let (code, v) = value(&["power", plan, "--json"]);
    assert_eq!((code, v.as_array().unwrap().len()), (0, 2));
    assert!(v[0]["cables"][0]["cable_m"].as_f64().unwrap() > 2.0);
    let (_, v) = value(&["kit", plan, "--json"]);
    assert!(v["weight_kg"].as_f64().unwrap() > 10.0);
    let pinned = at("pinned.json");
    let (code, v) = value(&["order", plan, "--pin", "3=3", "-o", &pinned, "--json"]);
    assert_eq!((code, v["calls"][2]["setup"]["names"][0].as_str()), (0, Some("3")));
    let (_, v) = value(&["order", &pinned, "--json"]);
    assert_eq!(v["calls"][2]["pinned"], true);
    assert_eq!(tapemark(&["order", plan, "--pin", "3=0"]).status.code(), Some(2));
    // Too much for the corridor's breaker: power says so by its exit status, and -o moves the plug.
    let mut heavy: serde_json::Value = serde_json::from_slice(&std::fs::read(demo()).unwrap()).unwrap();
    heavy["rigs"][1]["fixtures"][0]["watts"] = 2200.0.into();
    let (file, moved) = (at("heavy.json"), at("moved.json"));
    std::fs::write(&file, serde_json::to_vec(&heavy).unwrap()).unwrap();
    assert_eq!(tapemark(&["power", &file, "-o", &moved]).status.code(), Some(1));
    assert_eq!(tapemark(&["power", &moved]).status.code(), Some(0));
}

#[test]
fn drawings_come_in_and_go_out() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_string();
    let drawing = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/drawings/two-rooms-mm.dxf");
    let plan = at("p.tapemark.json");
    assert!(tapemark(&["new", "-o", &plan]).status.success());
    let out = tapemark(&["bring-in", &plan, drawing.to_str().unwrap()]);
    assert!(text(&out.stdout).starts_with("2 rooms brought in"), "{}", text(&out.stderr));
    for name in ["p.dxf", "p.glb"] {
        assert!(tapemark(&["hand-on", &plan, "-o", &at(name)]).status.success());
    }
    assert_eq!(tapemark(&["hand-on", &plan, "-o", &at("p.xyz")]).status.code(), Some(2));
    // A picture 400 pixels wide in which 200 pixels are known to be 5 m: 0.025 m a pixel.
    let picture = at("scan.png");
    image::RgbaImage::from_pixel(400, 300, image::Rgba([200, 210, 220, 255])).save(&picture).unwrap();
    let out = tapemark(&["underlay", &plan, &picture, "--from", "100,50", "--to", "300,50", "--length", "5m"]);
    assert!(out.status.success(), "{}", text(&out.stderr));
    let v: serde_json::Value = serde_json::from_slice(&std::fs::read(&plan).unwrap()).unwrap();
    assert!((v["location"]["underlay"]["metres_per_pixel"].as_f64().unwrap() - 0.025).abs() < 1e-12);
    assert!(folder.path().join(v["location"]["underlay"]["file"].as_str().unwrap()).exists());
    assert!(tapemark(&["sheet", &plan, "--shot", "1", "-o", &at("s.pdf")]).status.success());
}

/// cos 30° = 0.8660 in a table of cosines: a board of a metre tilted by 30° reaches 0.866 m up.
#[test]
fn a_board_is_told_as_it_is_set_up() {
    let mut plan = tapemark::files::demo();
    let mut board = tapemark_core::plan::Piece::board("board", [1.2, 0.9], 40.0);
    (board.name, board.base_m, board.top_m) = ("poly board".into(), 1.0, 2.0);
    board.set_tilt_deg(30.0);
    plan.location.pieces.push(board);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("board.tapemark.json");
    tapemark::files::write(&path, &plan).unwrap();
    let told = text(&tapemark(&["facts", path.to_str().unwrap(), "--shot", "shot-1"]).stdout);
    assert!(told.contains("grip poly board: 1.00 m × 1.00 m, 1.07 m to 1.93 m up, faces 40°, tilt 30°"), "{told}");
}
