//! The same plan elsewhere, turned, in a mirror, in feet, with a corner or a lamp told as two: lengths and angles
//! are the same to a micrometre, shares to one sample, light to two in a hundred.

use super::{Law, Limits, alike};
use crate::answers::everything;
use crate::plausible::{plausible, small};
use crate::shrink::Held;
use crate::transforms::{corners_inserted, lamps_split, mirrored, moved, outlines_reversed, turned};
use glam::DVec2;
use serde_json::{Value, json};
use tapemark_core::cover::cover;
use tapemark_core::plan::Plan;
use tapemark_core::units::LengthUnit;

/// Of a face 640 points at the least are turned to the lens; two of them may fall otherwise.
const SAMPLES: f64 = 2.0 / 640.0;
const LIMITS: Limits = Limits { length: 1e-6, share: SAMPLES, light: 0.02, seconds: 0.0801 };
const ALLOWS: &str =
    "1 µm (10 µm behind the camera), 1e-6°, 5 cm² of cover, two samples of a face, one look (0.08 s), 2 % of light";
const SYMMETRY: &str = "no place and no direction is preferred (Noether's premise); optics is linear";

/// The laws of this file.
pub(super) const LAWS: &[Law] = &[
    Law {
        name: "moved",
        says: "A plan may lie anywhere on its paper",
        allows: ALLOWS,
        source: SYMMETRY,
        plans: 24,
        plan: small,
        ask: |p| alike(p, &moved(p, DVec2::new(37.3, -12.1)), figures, LIMITS),
    },
    Law {
        name: "turned-90",
        says: "A plan may be turned by a right angle, north with it",
        allows: ALLOWS,
        source: SYMMETRY,
        plans: 16,
        plan: small,
        ask: |p| alike(p, &turned(p, 90.0), figures, LIMITS),
    },
    Law {
        name: "turned-33",
        says: "A plan may be turned by any angle, north with it",
        allows: ALLOWS,
        source: SYMMETRY,
        plans: 24,
        plan: small,
        ask: |p| alike(p, &turned(p, 33.0), figures, LIMITS),
    },
    Law {
        name: "mirrored",
        says: "A plan may be seen in a mirror, at night",
        allows: ALLOWS,
        source: SYMMETRY,
        plans: 24,
        plan: night,
        ask: in_a_mirror,
    },
    Law {
        name: "in-feet",
        says: "Feet are a way to show metres: no figure changes",
        allows: "nothing",
        source: "the international foot is 0.3048 m exactly",
        plans: 16,
        plan: small,
        ask: |p| {
            let unit = if p.length_unit == LengthUnit::Metres { LengthUnit::FeetInches } else { LengthUnit::Metres };
            alike(p, &Plan { length_unit: unit, ..p.clone() }, figures, NONE)
        },
    },
    Law {
        name: "corner-inserted",
        says: "A corner more in a straight wall changes nothing",
        allows: ALLOWS,
        source: "the same line, told as two",
        plans: 24,
        plan: small,
        ask: |p| alike(p, &corners_inserted(p), figures, LIMITS),
    },
    Law {
        name: "cloth-told-otherwise",
        says: "Cloth off the roll is the same however the walls are told",
        allows: "one drop of 3 m",
        source: "the same walls are covered",
        plans: 40,
        plan: plausible,
        ask: |p| {
            let limits = Limits { length: 3.0, ..NONE };
            let corners = alike(p, &corners_inserted(p), cloth, limits)?;
            let turned = alike(p, &outlines_reversed(p), cloth, limits)?;
            Ok(corners.max(turned))
        },
    },
    Law {
        name: "lamp-split",
        says: "Two lamps of half the light in one place are one lamp",
        allows: "1e-6 of light and current",
        source: "light and current add up",
        plans: 24,
        plan: small,
        ask: split,
    },
];

const NONE: Limits = Limits { length: 0.0, share: 0.0, light: 0.0, seconds: 0.0 };

/// What does not say where: the kit list in words goes by other laws, and so does cloth off a roll, of which a
/// drop more or less is needed for a hair's breadth.
fn figures(plan: &Plan) -> Value {
    let mut all = everything(plan);
    all["kit"] = Value::Null;
    without(&mut all, &["wall_cloth_m", "cloth_m", "drops"]);
    drop_ways(&mut all);
    all
}

/// Takes out how wide the way out is: it is measured in cells, and may be a cell wider or narrower.
fn drop_ways(value: &mut Value) {
    match value {
        Value::Array(list) => {
            list.retain(|v| v["code"] != "exit-blocked" && v["code"] != "walkway-narrow");
            list.iter_mut().for_each(drop_ways);
        }
        Value::Object(map) => map.values_mut().for_each(drop_ways),
        _ => {}
    }
}

/// Takes figures out of an answer by their keys.
pub(super) fn without(value: &mut Value, keys: &[&str]) {
    match value {
        Value::Array(list) => list.iter_mut().for_each(|v| without(v, keys)),
        Value::Object(map) => {
            map.retain(|k, _| !keys.contains(&k.as_str()));
            map.values_mut().for_each(|v| without(v, keys));
        }
        _ => {}
    }
}

/// Cloth for the walls of all shots, metres off the roll.
fn cloth(plan: &Plan) -> Value {
    json!({ "wall_cloth_m": cover(plan, &plan.shots).wall_cloth_m })
}

/// In a mirror the sun would go from west to east.
fn night(seed: u64) -> Plan {
    let mut plan = small(seed);
    plan.daylight = None;
    plan
}

fn in_a_mirror(plan: &Plan) -> Held {
    let mut other = mirrored(plan);
    if other.location.rooms.len() % 2 == 1 {
        other = outlines_reversed(&other);
    }
    alike(plan, &other, unhanded, LIMITS)
}

/// Figures but for the sign of those that say left from right.
fn unhanded(plan: &Plan) -> Value {
    fn drop_handed(value: &mut Value) {
        match value {
            Value::Array(list) => list.iter_mut().for_each(drop_handed),
            Value::Object(map) => {
                for key in ["from_lens_axis_deg", "key_across_deg"] {
                    if let Some(v) = map.get_mut(key)
                        && let Some(deg) = v.as_f64()
                    {
                        *v = deg.abs().into();
                    }
                }
                map.values_mut().for_each(drop_handed);
            }
            _ => {}
        }
    }
    let mut all = figures(plan);
    drop_handed(&mut all);
    all
}

fn split(plan: &Plan) -> Held {
    let mut own = plan.clone();
    own.shots.iter_mut().for_each(|s| s.lamps.clear());
    alike(&own, &lamps_split(&own), sums, Limits { light: 1e-6, ..LIMITS })
}

/// What lamps do together.
fn sums(plan: &Plan) -> Value {
    let all = everything(plan);
    let list = |v: &Value| v.as_array().cloned().unwrap_or_default();
    let of = |shot: &Value| {
        let faces: Vec<Value> = list(&shot["people"]).iter().map(|p| p["reading"]["illuminance_lx"].clone()).collect();
        let currents: Vec<Value> = list(&shot["circuits"]).iter().map(|c| c["current_a"].clone()).collect();
        let behind = shot["camera"]["background"]["luminance_cd_m2"].clone();
        json!({ "faces_lx": faces, "behind_cd_m2": behind, "circuits": currents })
    };
    Value::Array(list(&all["shots"]).iter().map(of).collect())
}
