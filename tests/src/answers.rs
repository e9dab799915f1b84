//! Answers as lists of figures, to be compared figure by figure.

use serde_json::{Value, json};
use std::collections::BTreeMap;
use tapemark_core::day::DayFacts;
use tapemark_core::facts::shot_facts;
use tapemark_core::kit::KitFile;
use tapemark_core::notices;
use tapemark_core::plan::Plan;

/// Everything computed of a plan that is told as data, by shot, at two moments of each.
///
/// # Panics
/// When it cannot be told.
#[must_use]
pub fn everything(plan: &Plan) -> Value {
    let day = DayFacts::of(plan, &KitFile::default(), 0.0);
    let later = |n: usize| shot_facts(plan, &plan.shots[n], plan.shots[n].length_s * 0.4);
    let value = |v: Result<Value, serde_json::Error>| v.expect("answers are JSON");
    json!({
        "shots": day.shots.iter().map(|w| value(serde_json::to_value(&w.facts))).collect::<Vec<_>>(),
        "later": (0..plan.shots.len()).map(|n| value(serde_json::to_value(later(n)))).collect::<Vec<_>>(),
        "rigs": value(serde_json::to_value(&day.rigs)),
        "matches": value(serde_json::to_value(&day.matches)),
        "kit": value(serde_json::to_value(&day.kit)),
        "order": value(serde_json::to_value(&day.order)),
        "notices": value(serde_json::to_value(notices::of_plan(plan))),
    })
}

/// The facts of every shot at its first moment.
///
/// # Panics
/// When they cannot be told.
#[must_use]
pub fn facts(plan: &Plan) -> Value {
    let all = plan.shots.iter().map(|s| serde_json::to_value(shot_facts(plan, s, 0.0)).expect("facts are JSON"));
    Value::Array(all.collect())
}

/// One figure or word of an answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// A number.
    Number(f64),
    /// Anything else, as it is written.
    Word(String),
}

/// What names the items of a list, so that their order does not matter.
const NAMES: [&str; 8] = ["fixture", "person", "circuit", "opening", "piece", "shot", "code", "name"];

/// What an item of a list is called, when it has a name.
fn called(item: &Value) -> Option<String> {
    let text = |key: &str| item.get(key).and_then(Value::as_str);
    if item.get("code").is_some() {
        return Some(["code", "shot", "item"].map(|k| text(k).unwrap_or_default()).join(" "));
    }
    if item.get("kind").is_some() && item.get("room").is_some() {
        return Some(["room", "kind", "name"].map(|k| text(k).unwrap_or_default()).join(" "));
    }
    NAMES.iter().find_map(|k| text(k)).map(String::from)
}

/// An answer's figures by where they stand in it; items of lists by name where they have one, else by number.
#[must_use]
pub fn figures(value: &Value) -> BTreeMap<String, Figure> {
    let mut out = BTreeMap::new();
    walk(value, String::new(), &mut out);
    out
}

fn walk(value: &Value, path: String, out: &mut BTreeMap<String, Figure>) {
    match value {
        Value::Object(map) => map.iter().for_each(|(k, v)| walk(v, format!("{path}.{k}"), out)),
        // A list of names is a set of them.
        Value::Array(list) if list.len() > 1 && list.iter().all(Value::is_string) => {
            let mut names: Vec<&str> = list.iter().filter_map(Value::as_str).collect();
            names.sort_unstable();
            out.insert(path, Figure::Word(names.join(", ")));
        }
        Value::Array(list) => {
            let mut seen: BTreeMap<String, usize> = BTreeMap::new();
            for (i, item) in list.iter().enumerate() {
                let name = called(item).unwrap_or_else(|| format!("{i}"));
                let n = seen.entry(name.clone()).and_modify(|n| *n += 1).or_insert(0);
                let again = if *n > 0 { format!(" again {n}") } else { String::new() };
                walk(item, format!("{path}[{name}{again}]"), out);
            }
        }
        Value::Number(n) => {
            out.insert(path, Figure::Number(n.as_f64().unwrap_or(f64::NAN)));
        }
        other => {
            out.insert(path, Figure::Word(other.to_string()));
        }
    }
}

/// How much a figure may differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Within {
    /// It is not compared.
    Any,
    /// A number by that much or that share of the larger, whichever is more; words must be the same.
    Either(f64, f64),
}

/// How far the figures of two answers are apart at the most, as a share of what they may be.
///
/// # Errors
/// Says which figures differ by more than they may, and by how much.
pub fn same(a: &Value, b: &Value, within: impl Fn(&str) -> Within) -> Result<f64, String> {
    let (a, b) = (figures(a), figures(b));
    let (mut wrong, mut worst) = (Vec::new(), 0.0_f64);
    for (path, x) in &a {
        let Within::Either(by, share) = within(path) else { continue };
        match (x, b.get(path)) {
            (Figure::Number(x), Some(Figure::Number(y))) => {
                let (apart, most) = ((x - y).abs(), by.max(share * x.abs().max(y.abs())));
                if apart > most {
                    wrong.push(format!("{path}: {x} and {y}"));
                } else if apart > 0.0 {
                    worst = worst.max(apart / most);
                }
            }
            (x, Some(y)) if x == y => {}
            (x, y) => wrong.push(format!("{path}: {x:?} and {y:?}")),
        }
    }
    let more = b.keys().filter(|p| !a.contains_key(*p) && within(p) != Within::Any);
    wrong.extend(more.map(|p| format!("{p}: nothing and {:?}", b[p])));
    if wrong.is_empty() {
        return Ok(worst);
    }
    let told = wrong.iter().take(6).cloned().collect::<Vec<_>>().join("\n  ");
    Err(format!("{} figures differ:\n  {told}", wrong.len()))
}
