//! Direct and bounced light against a general-purpose physically based renderer (the Python package
//! `mitsuba`): nine rooms, ninety-two receivers. `tests/reference/make_reference.py` made the values.

use glam::DVec3;
use serde_json::Value;
use tapemark_acceptance::flat;
use tapemark_core::geometry::OwnerIx;
use tapemark_core::light::{Detail, FINE_PATCH_M, Transport, solve};
use tapemark_core::plan::from_json;
use tapemark_core::scene::Scene;

const ROOMS: &str = include_str!("../reference/rooms.json");

struct Compared {
    place: String,
    direct: f64,
    wanted_direct: f64,
    total: [f64; 3],
    wanted: [f64; 3],
}

fn compare(patch_m: f64) -> Vec<Compared> {
    let rooms: Value = serde_json::from_str(ROOMS).unwrap();
    let triple = |v: &Value| -> [f64; 3] { std::array::from_fn(|k| v[k].as_f64().unwrap()) };
    let mut out = Vec::new();
    for (name, room) in rooms.as_object().unwrap() {
        let plan = from_json(room["plan"].to_string().as_bytes()).unwrap();
        let scene = Scene::of(&plan, &plan.shots[0], 0.0);
        let t = Transport::of(&plan, Some(&plan.rigs[0]), &scene, patch_m, None);
        let emitter = &t.emitters()[0];
        let solved = t.surfaces().solve(&scene.solids, &[emitter]);
        for r in room["receivers"].as_array().unwrap() {
            let to = flat(DVec3::from_array(triple(&r["point_m"])), DVec3::from_array(triple(&r["toward"])));
            let direct = solve(&scene.solids, emitter, &to, OwnerIx::NONE);
            let bounced =
                t.surfaces().gather(&scene.solids, &solved, t.emitters(), &to, OwnerIx::NONE, Detail::Near)[0];
            out.push(Compared {
                place: format!("{name} {:?}", to.at),
                direct,
                wanted_direct: triple(&r["direct_rgb_lx"])[0],
                total: bounced.map(|b| b + direct),
                wanted: triple(&r["total_rgb_lx"]),
            });
        }
    }
    out
}

/// Direct light within 2 % at every receiver (the renderer's own noise is below 0.5 %).
#[test]
fn direct_light_of_ninety_receivers() {
    let all = compare(1.0);
    assert_eq!(all.len(), 92);
    for c in all {
        let error = (c.direct - c.wanted_direct).abs();
        assert!(
            error <= 0.02 * c.wanted_direct + 0.05,
            "{}: {} where the renderer has {}",
            c.place,
            c.direct,
            c.wanted_direct
        );
    }
}

/// With bounces, at the patch size that answers are given with.
#[test]
fn bounced_light_of_ninety_receivers() {
    let mut errors: Vec<(f64, String)> = Vec::new();
    for c in compare(FINE_PATCH_M) {
        for k in 0..3 {
            errors.push((
                c.total[k] / c.wanted[k] - 1.0,
                format!("{} [{k}]: {} for {}", c.place, c.total[k], c.wanted[k]),
            ));
        }
    }
    errors.sort_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
    let rms = (errors.iter().map(|e| e.0 * e.0).sum::<f64>() / errors.len() as f64).sqrt();
    let median = errors[errors.len() / 2].0.abs();
    println!("median {median:.4}, rms {rms:.4}");
    for e in errors.iter().rev().take(24) {
        println!("{:+.4} {}", e.0, e.1);
    }
    assert!(errors.last().is_some_and(|e| e.0.abs() <= 0.03), "worst {:?}", errors.last());
}
