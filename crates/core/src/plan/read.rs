//! Reading and writing plan files as text; the file itself is the caller's.

use super::unknown::first_lost_key;
use super::{FORMAT, Plan, VERSION, validate};
use serde::Deserialize;
use tapemark_words::say;

/// Largest plan file that is read, bytes.
pub const MAX_PLAN_BYTES: usize = 64 * 1024 * 1024;

/// Most numbers, texts, lists and the like in a plan file. What a version does not know is kept as it is, at several
/// hundred bytes each.
pub const MAX_PLAN_VALUES: usize = 1_000_000;

/// About how many values a JSON text holds: one for each list and object, and one for each comma between them.
fn values(text: &[u8]) -> usize {
    let (mut count, mut in_text, mut escaped) = (1, false, false);
    for b in text {
        match b {
            _ if escaped => escaped = false,
            b'\\' if in_text => escaped = true,
            b'"' => in_text = !in_text,
            b',' | b'[' | b'{' if !in_text => count += 1,
            _ => {}
        }
    }
    count
}

/// Why a plan could not be read: what, where and the remedy, one line each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanError {
    /// What is wrong.
    pub what: String,
    /// Where: a JSON path, with line and column where known.
    pub place: String,
    /// What to do.
    pub remedy: String,
}

impl std::fmt::Display for PlanError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let [what, place, remedy] = self.brief();
        f.write_str(&say!("error-place-remedy", what, place, remedy))
    }
}
impl std::error::Error for PlanError {}

impl PlanError {
    /// What, where and the remedy, each at a length that can be read: a file may hold a text of megabytes where a number
    /// is wanted.
    #[must_use]
    pub fn brief(&self) -> [String; 3] {
        const MOST: usize = 400;
        let cut = |text: &String| {
            if text.chars().count() <= MOST {
                return text.clone();
            }
            let last = text.chars().rev().take(MOST / 4).collect::<Vec<_>>();
            text.chars().take(MOST - MOST / 4).chain(['…']).chain(last.into_iter().rev()).collect()
        };
        [&self.what, &self.place, &self.remedy].map(cut)
    }

    fn new(what: impl Into<String>, place: impl Into<String>, remedy: impl Into<String>) -> PlanError {
        PlanError { what: what.into(), place: place.into(), remedy: remedy.into() }
    }
}

/// Reads what this version knows of a plan that a newer one wrote, and that one's version; none when it is not
/// such a plan, or makes no sense without what is missing.
#[must_use]
pub fn from_newer_json(bytes: &[u8]) -> Option<(Plan, u64)> {
    let bytes = bytes.get(..MAX_PLAN_BYTES).unwrap_or(bytes);
    if values(bytes) > MAX_PLAN_VALUES {
        return None;
    }
    let mut value: serde_json::Value = serde_json::from_slice(bytes).ok()?;
    let version = value.get("version")?.as_u64().filter(|v| *v > u64::from(VERSION))?;
    value["version"] = VERSION.into();
    read(value.to_string().as_bytes()).ok().map(|plan| (plan, version))
}

/// Reads what this version knows of a plan that holds keys which would be lost if it were written again, and the place
/// of the first; none when it is no such plan.
#[must_use]
pub fn from_json_with_unknown_keys(bytes: &[u8]) -> Option<(Plan, String)> {
    let plan = read(bytes).ok()?;
    lost_key(bytes).map(|key| (plan, key))
}

/// The place of the first key that would be lost if a plan were written again.
fn lost_key(bytes: &[u8]) -> Option<String> {
    first_lost_key(&serde_json::from_slice(without_mark(bytes)).ok()?)
}

/// A text without the mark that some programs put before UTF-8.
fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes)
}

#[derive(Deserialize)]
struct Envelope {
    format: Option<String>,
    version: Option<serde_json::Value>,
}

/// Reads a plan from JSON text and validates it.
///
/// # Errors
/// Names the first thing that is wrong: not UTF-8, not JSON, another format, a newer version, a key of
/// the wrong type, a value that makes no plan (see [`validate`]), or a key that would be lost if the plan were written
/// again: only the plan, its place, its day, its limits and what has an id keep keys that they do not know.
pub fn from_json(bytes: &[u8]) -> Result<Plan, PlanError> {
    let plan = read(bytes)?;
    match lost_key(bytes) {
        Some(key) => Err(PlanError::new(say!("no-version-knows-this-key"), key, say!("take-the-key-out-or-open-it"))),
        None => Ok(plan),
    }
}

fn read(bytes: &[u8]) -> Result<Plan, PlanError> {
    if bytes.len() > MAX_PLAN_BYTES {
        return Err(PlanError::new(
            say!("the-file-is-mib-a-plan", bytes = bytes.len() >> 20, max_plan_bytes = MAX_PLAN_BYTES >> 20),
            say!("the-file"),
            say!("open-a-plan-file-or-keep"),
        ));
    }
    let bytes = without_mark(bytes);
    let text = std::str::from_utf8(bytes).map_err(|e| {
        PlanError::new(
            say!("the-file-is-not-utf-8"),
            say!("byte-e", e = e.valid_up_to()),
            say!("open-a-tapemark-json-plan-or"),
        )
    })?;
    if text.trim().is_empty() {
        return Err(PlanError::new(say!("the-file-is-empty"), say!("the-file"), say!("open-the-backup-beside-it-or")));
    }
    let count = values(text.as_bytes());
    if count > MAX_PLAN_VALUES {
        return Err(PlanError::new(
            say!("the-file-holds-too-many-values", count, most = MAX_PLAN_VALUES),
            say!("the-file"),
            say!("take-out-what-others-put-there"),
        ));
    }
    let envelope: Envelope = serde_json::from_str(text).map_err(|e| syntax(text, &e))?;
    if envelope.format.as_deref() != Some(FORMAT) {
        return Err(PlanError::new(
            match envelope.format {
                Some(other) => say!("the-file-says-its-format-is", other, format = FORMAT),
                None => say!("the-file-has-no-format", format = FORMAT),
            },
            "format",
            say!("open-a-tapemark-json-plan"),
        ));
    }
    match envelope.version.as_ref().map(serde_json::Value::as_u64) {
        Some(Some(v)) if v == u64::from(VERSION) => {}
        Some(Some(v)) if v > u64::from(VERSION) => {
            return Err(PlanError::new(
                say!("the-plan-was-written-by-a", v, version = VERSION),
                "version",
                say!("update-tapemark-the-file-has-not"),
            ));
        }
        _ => {
            return Err(PlanError::new(
                say!("the-plans-version-is-missing-or"),
                "version",
                say!("set-version", version = VERSION),
            ));
        }
    }
    let de = &mut serde_json::Deserializer::from_str(text);
    let plan: Plan = serde_path_to_error::deserialize(de).map_err(|e| {
        let path = e.path().to_string();
        let inner = e.into_inner();
        if inner.is_data() {
            let message = inner.to_string();
            let bare = message.split(" at line ").next().unwrap_or(&message).to_string();
            let remedy = if bare.contains("missing field") {
                say!("add-the-key-or-delete-the")
            } else {
                say!("give-the-key-a-value-of")
            };
            PlanError::new(
                bare,
                say!("path-line-and-column", path, line = inner.line(), column = inner.column()),
                remedy,
            )
        } else {
            let mut error = syntax(text, &inner);
            if path != "." {
                error.place = format!("{path} ({})", error.place);
            }
            error
        }
    })?;
    if let Some(problem) = validate(&plan).into_iter().next() {
        return Err(PlanError::new(problem.what, problem.path, problem.remedy));
    }
    Ok(plan)
}

fn syntax(text: &str, e: &serde_json::Error) -> PlanError {
    let place = say!("line-and-column", e = e.line(), e_2 = e.column());
    let line = text.lines().nth(e.line().saturating_sub(1)).unwrap_or_default();
    let bare = e.to_string();
    let bare = bare.split(" at line ").next().unwrap_or(&bare);
    if e.is_eof() {
        return PlanError::new(say!("the-file-ends-in-the-middle"), place, say!("open-the-backup-beside-it-the"));
    }
    if bare.contains("number out of range") {
        return PlanError::new(say!("a-number-is-too-large-to"), place, say!("write-a-finite-number"));
    }
    if ["NaN", "nan", "Infinity", "inf"].iter().any(|w| line.contains(w)) && bare.contains("expected") {
        return PlanError::new(say!("nan-and-infinity-are-not-numbers"), place, say!("write-a-finite-number"));
    }
    if e.is_data() {
        return PlanError::new(say!("this-is-not-a-plan", bare), place, say!("open-a-tapemark-json-plan"));
    }
    if bare.contains("recursion limit") {
        return PlanError::new(say!("the-file-is-nested-too-deeply"), place, say!("open-a-tapemark-json-plan"));
    }
    PlanError::new(say!("the-file-is-not-json", bare), place, say!("mend-the-text-there-or-open"))
}

/// Writes a plan as JSON text with a stable key order and a final newline.
///
/// # Panics
/// Never for a plan that validates: its keys are text and its numbers finite.
#[must_use]
pub fn to_json(plan: &Plan) -> String {
    let mut text = serde_json::to_string_pretty(plan).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of the plan file.
#[must_use]
pub fn schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(Plan).to_value();
    if let Some(object) = schema.as_object_mut() {
        object.insert("title".into(), "Tapemark plan file, version 1".into());
    }
    schema
}
