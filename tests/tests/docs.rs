//! The pages of `docs` that are made from the program are as the program is.
//!
//! `TAPEMARK_DOCS=write` writes them anew.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::Path;
use tapemark_core::kit::kit_schema;
use tapemark_core::plan::schema;

fn name_of(reference: &str) -> &str {
    reference.rsplit('/').next().unwrap_or(reference)
}

fn link(name: &str) -> String {
    format!("[{name}](#{})", name.to_lowercase())
}

/// A type in words, with links to those that have a part of their own.
fn type_of(v: &Value, short: &BTreeMap<String, String>) -> String {
    if let Some(r) = v["$ref"].as_str() {
        let name = name_of(r);
        return short.get(name).cloned().unwrap_or_else(|| link(name));
    }
    for key in ["anyOf", "oneOf"] {
        if let Some(list) = v[key].as_array() {
            let parts: Vec<String> = list.iter().map(|p| type_of(p, short)).filter(|t| t != "nothing").collect();
            return parts.join(" or ");
        }
    }
    if let Some(c) = v.get("const") {
        return format!("`{c}`");
    }
    if let Some(list) = v["enum"].as_array() {
        return list.iter().map(|c| format!("`{c}`")).collect::<Vec<_>>().join(", ");
    }
    let kinds: Vec<&str> = match &v["type"] {
        Value::String(s) => vec![s],
        Value::Array(list) => list.iter().filter_map(Value::as_str).collect(),
        _ => vec![],
    };
    let mut parts = Vec::new();
    for k in kinds {
        parts.push(match k {
            "null" => continue,
            "array" => {
                let each = type_of(&v["items"], short);
                match (v["minItems"].as_u64(), v["maxItems"].as_u64()) {
                    (Some(a), Some(b)) if a == b => format!("{a} of {each}"),
                    _ => format!("list of {each}"),
                }
            }
            "integer" => "whole number".into(),
            "boolean" => "true or false".into(),
            "string" => "text".into(),
            "object" if v["additionalProperties"].is_object() => {
                format!("object of {}", type_of(&v["additionalProperties"], short))
            }
            other => other.to_string(),
        });
    }
    if parts.is_empty() { "nothing".into() } else { parts.join(" or ") }
}

fn text(v: &Value) -> String {
    v["description"].as_str().unwrap_or_default().replace('\n', " ").replace('|', "\\|")
}

fn rows(out: &mut String, v: &Value, short: &BTreeMap<String, String>) {
    let Some(properties) = v["properties"].as_object() else { return };
    let required: BTreeSet<&str> = v["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    out.push_str("\n| key | holds | meaning |\n| --- | --- | --- |\n");
    for (key, p) in properties {
        let must = if required.contains(key.as_str()) { " (must be there)" } else { "" };
        let plain = |d: &&Value| d.is_number() || d.is_boolean() || d.as_str().is_some_and(|s| !s.is_empty());
        let default = p.get("default").filter(plain).map_or(String::new(), |d| format!(" Without it: `{d}`."));
        let _ = writeln!(out, "| `{key}` | {}{must} | {}{default} |", type_of(p, short), text(p));
    }
}

/// One schema as a page: what the root holds, then every type with keys of its own.
fn page(schema: &Value, out: &mut String) {
    let empty = serde_json::Map::new();
    let defs = schema["$defs"].as_object().unwrap_or(&empty);
    // Names of things and single values need no part of their own.
    let short: BTreeMap<String, String> = defs
        .iter()
        .filter(|(_, v)| v.get("properties").is_none() && v.get("oneOf").is_none() && v.get("anyOf").is_none())
        .map(|(n, v)| (n.clone(), type_of(v, &BTreeMap::new())))
        .collect();
    rows(out, schema, &short);
    let mut names: Vec<&String> = defs.keys().filter(|n| !short.contains_key(*n)).collect();
    names.sort();
    for n in names {
        let v = &defs[n];
        let _ = write!(out, "\n### {n}\n\n{}\n", text(v));
        rows(out, v, &short);
        for kind in v["oneOf"].as_array().or(v["anyOf"].as_array()).into_iter().flatten() {
            let Some(tag) =
                kind["properties"].as_object().and_then(|p| p.iter().find(|(_, v)| v.get("const").is_some()))
            else {
                let _ = write!(out, "\n- {}: {}", type_of(kind, &short), text(kind));
                continue;
            };
            let more =
                kind["$ref"].as_str().map_or(String::new(), |r| format!(" With the keys of {}.", link(name_of(r))));
            let _ = write!(out, "\n- `{}`: {}: {}{more}", tag.0, tag.1["const"], text(kind));
            for (key, p) in kind["properties"].as_object().into_iter().flatten().filter(|(k, _)| *k != tag.0) {
                let _ = write!(out, "\n  - `{key}`, {}: {}", type_of(p, &short), text(p));
            }
        }
        if !out.ends_with('\n') {
            out.push('\n');
        }
    }
}

/// What the type says is written, as a table; what a schema cannot say is in `plan-format.md`.
#[test]
fn every_key_of_the_files() {
    let mut made = String::from(
        "# Every key of the plan and kit files\n\nMade from the schemas that `tapemark schema` and `tapemark schema --kit` print. \
         What they cannot say is in [plan-format.md](plan-format.md).\n\n## The plan\n",
    );
    page(&schema(), &mut made);
    made.push_str("\n## The kit\n");
    page(&kit_schema(), &mut made);
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/plan-keys.md");
    if std::env::var_os("TAPEMARK_DOCS").is_some_and(|v| v == "write") {
        std::fs::write(&file, &made).unwrap();
    }
    let there = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(there == made, "docs/plan-keys.md is not as the schemas are: TAPEMARK_DOCS=write writes it");
    assert!(made.contains("| `reflectance_rgb` | 3 of number (must be there) |"));
    for line in made.lines().filter(|l| l.starts_with("| `")) {
        assert!(!line.contains("|  |"), "a key without a meaning: {line}");
    }
}

/// The guide is walked through in ten minutes. Reading: 238 words a minute (Brysbaert 2019, silent reading of
/// non-fiction in English). Doing: 3.05 s for each thing that is to be clicked, dragged, typed or found by its name, by
/// the keystroke-level model (Card, Moran and Newell 1980): a decision 1.35, a hand moved 0.4, a pointer moved 1.1, a
/// button pressed 0.2. Both from memory.
#[test]
fn the_walk_takes_ten_minutes() {
    let guide = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/guide.md")).unwrap();
    // Tables are looked up and pictures looked at beside the window.
    let prose: Vec<&str> = guide.lines().filter(|l| !l.starts_with(['|', '!'])).collect();
    let words: Vec<&str> = prose.iter().flat_map(|l| l.split_whitespace()).collect();
    let deeds = ["click", "double-click", "drag", "type", "press", "enter", "point", "scrub", "choose"];
    let done = words
        .iter()
        .filter(|w| {
            let bare = w.to_lowercase();
            bare.starts_with("ctrl+") || deeds.contains(&bare.trim_matches(|c: char| !c.is_alphabetic() && c != '-'))
        })
        .count();
    let named: usize = prose.iter().map(|l| l.replace("**", "").matches('*').count() / 2).sum();
    let minutes = words.len() as f64 / 238.0 + (done + named) as f64 * 3.05 / 60.0;
    assert!(words.len() > 900 && done > 20 && named > 20, "{} words, {done} deeds, {named} names", words.len());
    assert!(minutes < 10.0, "{minutes:.1} minutes: {} words, {done} deeds, {named} names", words.len());
}
