//! The same plan in another order or under other ids: every answer is the same.

use super::place::without;
use super::{Law, Limits, alike, equal, told_otherwise, within};
use crate::answers::{Within, everything, same};
use crate::plausible::{plausible, small};
use crate::shrink::Held;
use crate::transforms::{all_named, outlines_reversed, outlines_rolled, rename, renamed, reordered, shots_reversed};
use serde_json::Value;
use tapemark_core::kit::{KitFile, kit_list};
use tapemark_core::plan::{Plan, from_json, to_json};

const EXACT: &str = "1e-9 of each figure; words the same";
const SAME: &str = "the same question has the same answer";

/// The laws of this file.
pub(super) const LAWS: &[Law] = &[
    Law {
        name: "asked-twice",
        says: "Asked twice, it says the same",
        allows: "nothing",
        source: SAME,
        plans: 8,
        plan: plausible,
        ask: asked_twice,
    },
    Law {
        name: "written-and-read",
        says: "Written to a file and read again, every answer is the same",
        allows: "nothing",
        source: SAME,
        plans: 8,
        plan: plausible,
        ask: written_and_read,
    },
    Law {
        name: "reordered",
        says: "The order of rooms, openings, pieces, circuits, outlets, cameras, rigs and lamps does not matter",
        allows: "1e-9 of each figure, 1e-4 of light (where its solver stops); words the same",
        source: SAME,
        plans: 24,
        plan: small,
        ask: |p| {
            let (p, limits) = (all_named(p), Limits { length: 1e-9, share: 1e-9, light: 1e-4, seconds: 1e-9 });
            let other = reordered(&p, 7);
            told_otherwise(&other)?;
            same(&but_the_day(&p), &but_the_day(&other), |path| within(path, limits))
        },
    },
    Law {
        name: "shots-reversed",
        says: "The order of the storyboard does not matter to what is said of a shot",
        allows: EXACT,
        source: SAME,
        plans: 8,
        plan: plausible,
        ask: |p| equal(p, &shots_reversed(p), of_shots),
    },
    Law {
        name: "renamed",
        says: "Ids do not matter",
        allows: "1e-12 of each figure; words the same",
        source: SAME,
        plans: 24,
        plan: small,
        ask: by_other_ids,
    },
    Law {
        name: "outlines-rolled",
        says: "An outline may be told from any corner on",
        allows: TOLD,
        source: SAME,
        plans: 16,
        plan: small,
        ask: |p| alike(p, &outlines_rolled(p), everything, LIMITS),
    },
    Law {
        name: "outlines-reversed",
        says: "An outline may be told either way round",
        allows: TOLD,
        source: SAME,
        plans: 16,
        plan: small,
        ask: |p| alike(p, &outlines_reversed(p), everything, LIMITS),
    },
    Law {
        name: "kit-reordered",
        says: "What to bring does not hang on any order",
        allows: EXACT,
        source: SAME,
        plans: 60,
        plan: plausible,
        ask: |p| {
            let p = all_named(p);
            equal(&p, &shots_reversed(&reordered(&p, 3)), kit)
        },
    },
];

const TOLD: &str = "1 µm, 1e-6 of a face, 2 % of light";
const LIMITS: Limits = Limits { length: 1e-6, share: 1e-6, light: 0.02, seconds: 1e-9 };

fn asked_twice(plan: &Plan) -> Held {
    let (a, b) = (everything(plan), everything(plan));
    if a == b { Ok(0.0) } else { same(&a, &b, |_| Within::Either(0.0, 0.0)) }
}

fn written_and_read(plan: &Plan) -> Held {
    let again = from_json(to_json(plan).as_bytes()).map_err(|e| e.to_string())?;
    let (a, b) = (everything(plan), everything(&again));
    if a == b { Ok(0.0) } else { same(&a, &b, |_| Within::Either(0.0, 0.0)) }
}

/// What does not hang on the order of the storyboard: the order of the day may be another of the same cost.
fn but_the_day(plan: &Plan) -> Value {
    let mut all = everything(plan);
    let cost = all["order"]["cost"].take();
    all["order"] = cost;
    all
}

/// What is said of shots, but for what is said of two: that stands with the later one.
fn of_shots(plan: &Plan) -> Value {
    let all = everything(plan);
    let mut of_one = Value::Array(vec![all["shots"].clone(), all["later"].clone(), all["notices"].clone()]);
    fn drop_pairs(value: &mut Value, plan: &Plan) {
        match value {
            Value::Array(list) => {
                list.retain(|v| !plan.shots.iter().any(|s| v["item"] == s.id.as_str()));
                list.iter_mut().for_each(|v| drop_pairs(v, plan));
            }
            Value::Object(map) => map.values_mut().for_each(|v| drop_pairs(v, plan)),
            _ => {}
        }
    }
    drop_pairs(&mut of_one, plan);
    of_one
}

fn by_other_ids(plan: &Plan) -> Held {
    let plan = all_named(plan);
    let (other, names) = renamed(&plan);
    let mut before = everything(&plan);
    rename(&mut before, &names);
    same(&before, &everything(&other), |_| Within::Either(1e-12, 1e-12))
}

fn kit(plan: &Plan) -> Value {
    let mut list = serde_json::to_value(kit_list(plan, &KitFile::default())).unwrap_or_default();
    // The first shot that needs a thing is named beside it.
    without(&mut list, &["why"]);
    list
}
