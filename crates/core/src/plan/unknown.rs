//! Keys of a plan file that no version of this program knows, and that would be lost when it is written again.

use serde_json::{Map, Value};
use std::sync::OnceLock;

/// The place of the first key that would be lost: objects that keep what they do not know say so in the schema
/// (`additionalProperties`), all others hold the keys of the schema alone.
pub(super) fn first_lost_key(plan: &Value) -> Option<String> {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    let schema = SCHEMA.get_or_init(super::read::schema);
    lost_in(plan, &[schema], schema, "")
}

/// `schema` is one of those that a value is held to; those it leads to, alternatives and references resolved.
fn leaves<'a>(schema: &'a Value, root: &'a Value, out: &mut Vec<&'a Map<String, Value>>) {
    let Some(object) = schema.as_object() else { return };
    if let Some(name) = object.get("$ref").and_then(Value::as_str).and_then(|r| r.strip_prefix("#/$defs/")) {
        leaves(&root["$defs"][name], root, out);
    }
    for key in ["oneOf", "anyOf", "allOf"] {
        for one in object.get(key).and_then(Value::as_array).into_iter().flatten() {
            leaves(one, root, out);
        }
    }
    out.push(object);
}

/// Whether an object may be of a kind: a kind that names itself in a key has that there.
fn may_be(object: &Map<String, Value>, leaf: &Map<String, Value>) -> bool {
    let named = leaf.get("properties").and_then(Value::as_object).into_iter().flatten();
    let mut named = named.filter_map(|(key, p)| Some((key, p.get("const")?)));
    named.all(|(key, name)| object.get(key) == Some(name))
}

fn lost_in(value: &Value, schemas: &[&Value], root: &Value, at: &str) -> Option<String> {
    let mut all = Vec::new();
    schemas.iter().for_each(|s| leaves(s, root, &mut all));
    match value {
        Value::Object(object) => {
            let here: Vec<_> = all.into_iter().filter(|leaf| may_be(object, leaf)).collect();
            let tells = |leaf: &&Map<String, Value>| leaf.contains_key("properties");
            let keeps = here.iter().any(|leaf| leaf.get("additionalProperties").is_some_and(|a| *a != false));
            object.iter().find_map(|(key, value)| {
                let next: Vec<&Value> = here.iter().filter_map(|leaf| leaf.get("properties")?.get(key)).collect();
                let at = if at.is_empty() { key.clone() } else { format!("{at}.{key}") };
                match next.is_empty() {
                    true if keeps || !here.iter().any(tells) => None,
                    true => Some(at),
                    false => lost_in(value, &next, root, &at),
                }
            })
        }
        Value::Array(list) => {
            let next: Vec<&Value> = all.iter().filter_map(|leaf| leaf.get("items")).collect();
            let one = |(i, value): (usize, &Value)| lost_in(value, &next, root, &format!("{at}[{i}]"));
            if next.is_empty() { None } else { list.iter().enumerate().find_map(one) }
        }
        _ => None,
    }
}
