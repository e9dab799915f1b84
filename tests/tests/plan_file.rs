//! Plan files: what is kept, and what each fault is told as.

use serde_json::{Value, json};
use tapemark::files::{DEMO_JSON, demo, read, write};
use tapemark_core::edit::{Edit, Item, apply};
use tapemark_core::plan::{Camera, Fixture, OwnLamp, Plan, PlanError, Rig, from_json, schema, to_json};

fn broken(change: impl Fn(&mut Value)) -> PlanError {
    let mut v: Value = serde_json::from_str(DEMO_JSON).unwrap();
    change(&mut v);
    from_json(v.to_string().as_bytes()).unwrap_err()
}

#[test]
fn the_demo_opens_saves_and_opens_byte_for_byte() {
    let plan = demo();
    let text = to_json(&plan);
    assert_eq!(to_json(&from_json(text.as_bytes()).unwrap()), text);
    assert_eq!(text, DEMO_JSON, "the demo is written as the program writes it");
}

/// The demo is valid under the schema by a general-purpose JSON Schema validator (crate `jsonschema`,
/// draft 2020-12), and a plan with a text for a number is not.
#[test]
fn the_demo_fits_the_schema() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let mut v: Value = serde_json::from_str(DEMO_JSON).unwrap();
    assert!(validator.is_valid(&v));
    v["location"]["rooms"][0]["ceiling_m"] = json!("high");
    assert!(!validator.is_valid(&v));
}

#[test]
fn unknown_keys_are_kept_and_written_back() {
    let mut v: Value = serde_json::from_str(DEMO_JSON).unwrap();
    v["weather"] = json!({ "rain": true });
    v["location"]["rooms"][0]["echo_s"] = json!(0.8);
    v["shots"][1]["marks"][0]["costume"] = json!("apron");
    v["rigs"][0]["fixtures"][0]["serial"] = json!([1, 2]);
    let back: Value = serde_json::from_str(&to_json(&from_json(v.to_string().as_bytes()).unwrap())).unwrap();
    assert_eq!(back["weather"], v["weather"]);
    assert_eq!(back["location"]["rooms"][0]["echo_s"], v["location"]["rooms"][0]["echo_s"]);
    assert_eq!(back["shots"][1]["marks"][0]["costume"], v["shots"][1]["marks"][0]["costume"]);
    assert_eq!(back["rigs"][0]["fixtures"][0]["serial"], v["rigs"][0]["fixtures"][0]["serial"]);
}

#[test]
fn each_fault_has_its_own_message_and_place() {
    let cases: Vec<(PlanError, &str, &str)> = vec![
        (
            broken(|v| v["location"]["rooms"][0]["outline_m"] = json!([[0, 0], [4, 4], [4, 0], [0, 4]])),
            "crosses itself",
            "location.rooms[0].outline_m",
        ),
        (
            broken(|v| v["location"]["openings"][0]["width_m"] = json!(9.0)),
            "9.00 m wide, its wall 4.60 m",
            "location.openings[0].width_m",
        ),
        (broken(|v| v["shots"][0]["rig"] = json!("rig-9")), "no rig \"rig-9\"", "shots[0].rig"),
        (broken(|v| v["shots"][0]["camera"] = json!("camera-9")), "no camera", "shots[0].camera"),
        (
            broken(|v| {
                v["cast"][0].as_object_mut().unwrap().remove("id");
            }),
            "missing field `id`",
            "cast[0]",
        ),
        (broken(|v| v["cast"][1]["id"] = json!("mara")), "already used by cast[0]", "cast[1].id"),
        (broken(|v| v["cast"][0]["height_m"] = json!("tall")), "invalid type: string", "cast[0].height_m"),
        (
            broken(|v| v["cameras"][0]["lens"]["focal_mm"] = json!(0)),
            "outside 1 to 2000 mm",
            "cameras[0].lens.focal_mm",
        ),
        (
            broken(|v| v["location"]["rooms"][0]["outline_m"] = json!([[0, 0], [1, 0]])),
            "three corners",
            "location.rooms[0].outline_m",
        ),
        (broken(|v| v["version"] = json!(99)), "newer Tapemark", "version"),
        (broken(|v| v["version"] = json!("one")), "version is missing or is not a number", "version"),
        (broken(|v| v["format"] = json!("other")), "format is \"other\"", "format"),
        (
            broken(|v| v["location"]["rooms"][0]["finishes"]["walls"]["reflectance_rgb"] = json!([1.0, 1.0, 1.0])),
            "outside 0 to 0.98",
            "location.rooms[0].finishes.walls.reflectance_rgb[0]",
        ),
    ];
    let mut whats = std::collections::HashSet::new();
    for (error, what, place) in cases {
        assert!(error.what.contains(what), "{error}\nwanted: {what}");
        assert!(error.place.starts_with(place), "{error}\nwanted: {place}");
        assert!(!error.remedy.is_empty());
        assert!(whats.insert(error.what.clone()), "told twice: {}", error.what);
    }
}

#[test]
fn text_that_is_no_plan() {
    let told = |bytes: &[u8]| from_json(bytes).unwrap_err().what;
    assert!(told(b"").contains("empty"));
    assert!(told(b"{\"format\": \"tapemark-plan\", \"version\": 1, ").contains("ends in the middle"));
    assert!(told(&[0xff, 0xfe, 0x00]).contains("UTF-8"));
    assert!(told(b"[1, 2]").contains("not a plan"));
    assert!(told(DEMO_JSON.replace("\"ei\": 800.0", "\"ei\": NaN").as_bytes()).contains("NaN"));
    assert!(told(DEMO_JSON.replace("\"ei\": 800.0", "\"ei\": 1e999").as_bytes()).contains("too large"));
    let deep = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    assert!(!told(deep.as_bytes()).is_empty());
    let with_mark = [b"\xEF\xBB\xBF".as_slice(), DEMO_JSON.as_bytes()].concat();
    assert!(from_json(&with_mark).is_ok());
}

#[test]
fn saving_replaces_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.tapemark.json");
    write(&path, &demo()).unwrap();
    assert_eq!(read(&path).unwrap(), demo());
    let elsewhere = folder.path().join("missing").join("a.tapemark.json");
    let error = write(&elsewhere, &demo()).unwrap_err();
    assert!(error.remedy.contains("folder"), "{error}");
    assert!(write(folder.path(), &demo()).is_err());
    // Nothing half-written is left behind.
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn a_missing_file_is_named() {
    let error = read(std::path::Path::new("no-such.tapemark.json")).unwrap_err();
    assert!(error.place.contains("no-such") && error.remedy.contains("name"));
}

/// An edit looks only at what it changed, and at what names that: it is refused as the file would be.
#[test]
fn an_edit_that_would_break_the_plan_is_refused_as_its_file_is() {
    let mut plan = demo();
    let lamp = plan.rigs[0].fixtures[0].clone();
    let own = Fixture { id: "own".into(), ..lamp.clone() };
    plan.shots[0].lamps = vec![OwnLamp { replaces: Some(lamp.id.clone()), fixture: own }];
    let plan = from_json(to_json(&plan).as_bytes()).unwrap();
    let mark = plan.shots[1].marks[0].id.to_string();
    let rig = plan.rigs[0].clone();
    let without = Rig { fixtures: rig.fixtures[1..].to_vec(), ..rig.clone() };
    let with = |change: &dyn Fn(&mut Plan)| {
        let mut file = plan.clone();
        change(&mut file);
        from_json(to_json(&file).as_bytes()).unwrap_err()
    };
    let taken = Fixture { id: mark.as_str().into(), ..lamp.clone() };
    let no_power = Fixture { watts: -1.0, ..lamp.clone() };
    let long = Camera { name: "x".repeat(501), ..plan.cameras[0].clone() };
    let put = |fixture: &Fixture| Item::Fixture { rig: rig.id.clone(), fixture: fixture.clone() };
    for (item, told) in [
        (Item::Rig(without.clone()), with(&|p| p.rigs[0] = without.clone())),
        (put(&taken), with(&|p| p.rigs[0].fixtures.push(taken.clone()))),
        (put(&no_power), with(&|p| p.rigs[0].fixtures[0] = no_power.clone())),
        (Item::Camera(long.clone()), with(&|p| p.cameras[0] = long.clone())),
    ] {
        let refused = apply(&plan, &Edit::Put(item)).unwrap_err();
        assert!(refused.0.contains(&told.what), "{refused} for {told}");
    }
}
