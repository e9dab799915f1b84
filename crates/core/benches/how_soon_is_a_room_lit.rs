//! How soon is the light known at all receivers of each reference room, from nothing, bounces and all? With
//! `TAPEMARK_ROOMS_OUT` set to a folder the errors against the reference are written there for
//! `benches/equal_error.py`.

use criterion::{Criterion, criterion_group, criterion_main};
use glam::DVec3;
use serde_json::Value;
use std::hint::black_box;
use tapemark_core::geometry::OwnerIx;
use tapemark_core::light::{FINE_PATCH_M, Receiver, Transport};
use tapemark_core::plan::{Plan, Receptor, Spectrum, from_json};
use tapemark_core::scene::Scene;

const ROOMS: &str = include_str!("../../../tests/reference/rooms.json");

fn levels(plan: &Plan, receivers: &[Receiver]) -> Vec<f64> {
    let scene = Scene::of(plan, &plan.shots[0], 0.0);
    let light = Transport::of(plan, Some(&plan.rigs[0]), &scene, FINE_PATCH_M, None);
    receivers
        .iter()
        .map(|to| light.parts(&scene, to, OwnerIx::NONE).iter().map(|(direct, bounced)| direct.y + bounced.y).sum())
        .collect()
}

fn bench(c: &mut Criterion) {
    let rooms: Value = serde_json::from_str(ROOMS).expect("reference rooms");
    let triple = |v: &Value| DVec3::from_array(std::array::from_fn(|k| v[k].as_f64().expect("a number")));
    let mut errors = serde_json::Map::new();
    let mut group = c.benchmark_group("room lit");
    for (name, room) in rooms.as_object().expect("rooms by name") {
        let mut plan = from_json(room["plan"].to_string().as_bytes()).expect("a plan");
        // The renderers' lamp sends out equal red, green and blue.
        for f in &mut plan.rigs[0].fixtures {
            (f.spectrum, f.cct_k) = (Spectrum::Daylight, 6504.0);
        }
        let list = room["receivers"].as_array().expect("receivers");
        let receivers: Vec<Receiver> = list
            .iter()
            .map(|r| Receiver { at: triple(&r["point_m"]), toward: triple(&r["toward"]), receptor: Receptor::Flat })
            .collect();
        // The luminance of linear sRGB (IEC 61966-2-1).
        let wanted = list.iter().map(|r| triple(&r["total_rgb_lx"]).dot(DVec3::new(0.2126, 0.7152, 0.0722)));
        let squares: f64 = levels(&plan, &receivers).iter().zip(wanted).map(|(a, b)| (a / b - 1.0).powi(2)).sum();
        errors.insert(name.clone(), (squares / receivers.len() as f64).sqrt().into());
        group.bench_function(name, |b| b.iter(|| levels(black_box(&plan), &receivers)));
    }
    group.finish();
    if let Some(folder) = std::env::var_os("TAPEMARK_ROOMS_OUT") {
        let path = std::path::PathBuf::from(folder).join("rooms.json");
        std::fs::write(path, Value::Object(errors).to_string()).expect("the folder can be written to");
    }
}

criterion_group!(benches, bench);
criterion_main!(benches);
