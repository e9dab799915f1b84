//! Plan files of every version that was ever written are read for ever, and say what they said.
//!
//! `tests/specimens/versions` keeps one of each, by the version in the file and what it is from. Nothing in there is
//! changed; a new version of the file adds one.

use serde_json::Value;
use std::path::PathBuf;
use tapemark_acceptance::shrink::specimens;
use tapemark_core::facts::shot_facts;
use tapemark_core::plan::{Plan, VERSION, from_json, to_json};

fn kept() -> Vec<(PathBuf, Vec<u8>)> {
    let folder = specimens().join("versions");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.sort();
    files.into_iter().map(|f| (f.clone(), std::fs::read(f).unwrap())).collect()
}

fn named(name: &str) -> Plan {
    let bytes = std::fs::read(specimens().join("versions").join(name)).unwrap();
    from_json(&bytes).unwrap()
}

/// Every key and value of one JSON text stands in another, which may have more.
fn holds(place: &str, old: &Value, new: &Value) {
    match (old, new) {
        (Value::Object(a), Value::Object(b)) => {
            for (k, v) in a {
                holds(&format!("{place}.{k}"), v, b.get(k).unwrap_or_else(|| panic!("{place}.{k} is gone")));
            }
        }
        (Value::Array(a), Value::Array(b)) => {
            assert_eq!(a.len(), b.len(), "{place}");
            a.iter().zip(b).enumerate().for_each(|(i, (v, w))| holds(&format!("{place}[{i}]"), v, w));
        }
        (Value::Number(a), Value::Number(b)) => assert_eq!(a.as_f64(), b.as_f64(), "{place}"),
        _ => assert_eq!(old, new, "{place}"),
    }
}

#[test]
fn every_version_is_read_and_loses_nothing() {
    let files = kept();
    for version in 1..=VERSION {
        let prefix = format!("{version}-");
        let has = files.iter().any(|(f, _)| f.file_name().unwrap().to_string_lossy().starts_with(&prefix));
        assert!(has, "no file of version {version} is kept");
    }
    for (file, bytes) in files {
        let plan = from_json(&bytes).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
        let written = to_json(&plan);
        assert!(from_json(written.as_bytes()).unwrap() == plan, "{}", file.display());
        let parsed = |text: &[u8]| serde_json::from_slice::<Value>(text).unwrap();
        let mut old = parsed(&bytes);
        old["version"] = VERSION.into();
        holds(&file.display().to_string(), &old, &parsed(written.as_bytes()));
    }
}

/// What faces read before rooms had walls of their own, by the program of that day: within half a percent.
#[test]
fn a_plan_from_before_shared_walls_reads_as_it_did() {
    let plan = named("1-before-shared-walls.tapemark.json");
    let told = [
        ("shot-1", "mara", 280.95),
        ("shot-1", "jonas", 264.83),
        ("shot-2", "mara", 315.21),
        ("shot-2", "jonas", 477.08),
        ("shot-3", "courier", 284.85),
    ];
    for (shot, person, lx) in told {
        let shot = plan.shots.iter().find(|s| s.id.as_str() == shot).unwrap();
        let facts = shot_facts(&plan, shot, 0.0);
        let face = facts.people.iter().find(|p| p.person.as_str() == person).unwrap();
        let now = face.reading.as_ref().unwrap().illuminance_lx;
        assert!((now / lx - 1.0).abs() < 0.005, "{person} in {}: {now:.2} lx, {lx} then", shot.id);
    }
}

/// The places of all objects in a JSON value.
fn objects(v: &Value, at: &str, out: &mut Vec<String>) {
    match v {
        Value::Object(map) => {
            out.push(at.to_string());
            map.iter().for_each(|(k, v)| objects(v, &format!("{at}/{k}"), out));
        }
        Value::Array(list) => list.iter().enumerate().for_each(|(i, v)| objects(v, &format!("{at}/{i}"), out)),
        _ => {}
    }
}

/// A key that nobody knows is written back wherever it stands, or the file is refused: it is never lost in silence.
#[test]
fn an_unknown_key_is_nowhere_lost() {
    let plain: Value = serde_json::from_str(tapemark::files::DEMO_JSON).unwrap();
    let mut places = Vec::new();
    objects(&plain, "", &mut places);
    assert!(places.len() > 60);
    for place in places {
        let mut with = plain.clone();
        with.pointer_mut(&place).unwrap()["of-another-day"] = serde_json::json!({ "kept": [1, "two"] });
        let Ok(plan) = from_json(with.to_string().as_bytes()) else { continue };
        let back: Value = serde_json::from_str(&to_json(&plan)).unwrap();
        let key = format!("{place}/of-another-day");
        assert_eq!(back.pointer(&key), with.pointer(&key), "{key}");
    }
}

/// A file with a key that would be lost is not read by a command; the window opens it to be looked at, also with the
/// mark that some programs put before UTF-8.
#[test]
fn a_key_that_would_be_lost_lets_the_plan_be_looked_at() {
    let mut plan: Value = serde_json::from_str(tapemark::files::DEMO_JSON).unwrap();
    plan["cameras"][0]["lens"]["of-another-day"] = 1.into();
    let folder = tempfile::tempdir().unwrap();
    for mark in ["", "\u{feff}"] {
        let file = folder.path().join("plan.tapemark.json");
        std::fs::write(&file, format!("{mark}{plan}")).unwrap();
        let refused = tapemark::files::read(&file).unwrap_err();
        assert!(refused.place.contains("cameras[0].lens.of-another-day"), "{}", refused.place);
        let opened = tapemark::files::open(&file).unwrap();
        assert!(opened.read_only.is_some_and(|why| why.contains("cameras[0].lens.of-another-day")));
    }
}
