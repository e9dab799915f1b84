//! Commands that bring drawings in and hand plans on.

use super::{changed, fail, shots, tell};
use crate::files;
use serde_json::Value;
use std::path::Path;
use std::process::ExitCode;
use tapemark_core::edit::{Edit, Item, Settings};
use tapemark_core::plan::{Plan, PlanError, Shot, Underlay, from_json};
use tapemark_core::units::parse_length_m;
use tapemark_exchange::{Drawing, Outlines, outlines, to_dxf, to_glb};
use tapemark_words::say;

type Done = Result<ExitCode, PlanError>;

pub(super) fn ending(path: &Path) -> String {
    path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase()
}

/// Why a drawing's outlines were not read.
pub struct Unread {
    /// What is wrong, the file and the remedy.
    pub error: PlanError,
    /// Whether saying how long a unit is would mend it.
    pub lacks_unit: bool,
}

impl From<PlanError> for Unread {
    fn from(error: PlanError) -> Unread {
        Unread { error, lacks_unit: false }
    }
}

/// Reads a drawing's outlines from a file.
///
/// # Errors
/// Names what is wrong, the file and the remedy.
pub fn read_outlines(drawing: &Path, unit: Option<f64>) -> Result<Outlines, Unread> {
    let place = drawing.display().to_string();
    let kind = match ending(drawing).as_str() {
        "dxf" => Drawing::Dxf,
        "svg" => Drawing::Svg,
        other => return Err(fail(say!("is-no-kind-of-drawing", other), place, say!("choose-a-dxf-or-svg-file")).into()),
    };
    let bytes = files::drawing(drawing)?;
    outlines(&bytes, kind, unit).map_err(|e| Unread { lacks_unit: e.lacks_unit, error: fail(e.what, place, e.remedy) })
}

pub(super) fn bring_in(plan: &Path, drawing: &Path, unit: Option<f64>, output: Option<&Path>) -> Done {
    files::not_over_its_source(output.unwrap_or(plan), drawing)?;
    let before = files::read(plan)?;
    let found = read_outlines(drawing, unit).map_err(|e| e.error)?;
    let edit = found.edit(&before).ok_or_else(|| {
        let why = if found.left_out.is_empty() { String::new() } else { format!(" ({})", found.left_out.join("; ")) };
        fail(
            say!("no-room-outline-was-found", why),
            drawing.display().to_string(),
            say!("draw-rooms-as-closed-outlines-of"),
        )
    })?;
    files::write(output.unwrap_or(plan), &changed(&before, &edit)?)?;
    tell(&say!("rooms-rooms-brought-in", rooms = found.rooms.len()));
    found.left_out.iter().for_each(|l| tell(&say!("left-out-l", l)));
    Ok(ExitCode::SUCCESS)
}

/// A shot as another program's file, by the name's ending.
///
/// # Errors
/// When the ending is none of the two or the file cannot be written.
pub fn write_on(plan: &Plan, shot: &Shot, at_s: f64, output: &Path) -> Result<(), PlanError> {
    let place = output.display().to_string();
    let bytes = match ending(output).as_str() {
        "dxf" => to_dxf(plan, shot),
        "glb" => to_glb(plan, shot, at_s),
        other => {
            return Err(fail(say!("is-no-kind-of-hand-over", other), place, say!("end-the-name-in-dxf-or")));
        }
    };
    files::write_atomically(output, &bytes.map_err(|e| fail(e.what, place, e.remedy))?)
}

pub(super) fn hand_on(plan: &Path, shot: Option<&str>, at_s: f64, output: &Path) -> Done {
    files::not_over_its_source(output, plan)?;
    let plan = files::read(plan)?;
    let list = shots(&plan, shot)?;
    let first = list.first().ok_or_else(|| fail(say!("the-plan-has-no-shot"), "shots", say!("add-a-shot")))?;
    write_on(&plan, first, at_s, output)?;
    Ok(ExitCode::SUCCESS)
}

/// A length known in a picture.
pub(super) struct Known {
    pub(super) from: Option<[f64; 2]>,
    pub(super) to: Option<[f64; 2]>,
    pub(super) length: Option<String>,
}

pub(super) fn underlay(
    plan: &Path,
    picture: Option<&Path>,
    known: &Known,
    origin: [f64; 2],
    output: Option<&Path>,
) -> Done {
    let before = files::read(plan)?;
    let to = output.unwrap_or(plan);
    let underlay = match picture {
        None => None,
        Some(picture) => {
            let (Some(a), Some(b), Some(length)) = (known.from, known.to, &known.length) else {
                return Err(fail(
                    say!("the-picture-has-no-scale"),
                    "--from, --to, --length",
                    say!("name-a-length-known-in-it"),
                ));
            };
            let length_m = parse_length_m(length, before.length_unit)
                .map_err(|e| fail(e.to_string(), "--length", say!("write-a-length-like-3-6")))?;
            let kept = files::keep_underlay(to, picture)?;
            let pixels = (a[0] - b[0]).hypot(a[1] - b[1]) * kept.scale;
            if pixels < 2.0 || length_m <= 0.0 {
                return Err(fail(say!("that-length-is-too-short-to"), "--from, --to", say!("choose-a-longer-one")));
            }
            Some(Underlay { file: kept.name, origin_m: origin, metres_per_pixel: length_m / pixels, opacity: 0.5 })
        }
    };
    let settings = Settings { underlay, ..Settings::of(&before) };
    files::write(to, &changed(&before, &Edit::Settings(Box::new(settings)))?)?;
    Ok(ExitCode::SUCCESS)
}

/// Puts a list of items into a plan, or merges an object into it.
pub(super) fn put(plan: &Path, items: &Path, output: Option<&Path>) -> Done {
    files::not_over_its_source(output.unwrap_or(plan), items)?;
    let before = files::read(plan)?;
    let place = items.display().to_string();
    let bad = |e: serde_json::Error| {
        fail(say!("the-items-could-not-be-read", e), place.clone(), say!("write-a-list-of-items-or"))
    };
    let value: Value = serde_json::from_slice(&files::small(items)?).map_err(bad)?;
    let next = if value.is_array() {
        let list: Vec<Item> = serde_json::from_value(value).map_err(bad)?;
        let edits = list.into_iter().map(Edit::Put).collect();
        changed(&before, &Edit::Together { label: "put items".into(), edits })?
    } else {
        let mut whole = serde_json::to_value(&before).map_err(bad)?;
        merge(&mut whole, &value);
        from_json(whole.to_string().as_bytes()).map_err(|e| fail(e.what, format!("{place}: {}", e.place), e.remedy))?
    };
    files::write(output.unwrap_or(plan), &next)?;
    Ok(ExitCode::SUCCESS)
}

/// JSON Merge Patch, RFC 7396.
fn merge(target: &mut Value, patch: &Value) {
    let Value::Object(patch) = patch else {
        *target = patch.clone();
        return;
    };
    if !target.is_object() {
        *target = Value::Object(Default::default());
    }
    let Value::Object(target) = target else { return };
    for (key, value) in patch {
        if value.is_null() {
            target.remove(key);
        } else {
            merge(target.entry(key.clone()).or_insert(Value::Null), value);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// Test cases of RFC 7396, appendix A.
    #[test]
    fn merges_as_the_rfc_says() {
        for (target, patch, wanted) in [
            (json!({"a":"b"}), json!({"a":"c"}), json!({"a":"c"})),
            (json!({"a":"b"}), json!({"b":"c"}), json!({"a":"b","b":"c"})),
            (json!({"a":"b"}), json!({"a":null}), json!({})),
            (json!({"a":"b","b":"c"}), json!({"a":null}), json!({"b":"c"})),
            (json!({"a":["b"]}), json!({"a":"c"}), json!({"a":"c"})),
            (json!({"a":"c"}), json!({"a":["b"]}), json!({"a":["b"]})),
            (json!({"a":{"b":"c"}}), json!({"a":{"b":"d","c":null}}), json!({"a":{"b":"d"}})),
            (json!({"a":[{"b":"c"}]}), json!({"a":[1]}), json!({"a":[1]})),
            (json!({"e":null}), json!({"a":1}), json!({"e":null,"a":1})),
            (json!({}), json!({"a":{"bb":{"ccc":null}}}), json!({"a":{"bb":{}}})),
        ] {
            let mut got = target.clone();
            merge(&mut got, &patch);
            assert_eq!(got, wanted, "{target} {patch}");
        }
    }
}
