//! How long do the facts of a shot and the light over its floor take, on the demo plan?

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use tapemark_core::facts::shot_facts;
use tapemark_core::light::{MapFacing, MapSpec, emitters, light_map};
use tapemark_core::plan::from_json;
use tapemark_core::scene::Scene;

const DEMO: &[u8] = include_bytes!("../../../assets/demo/last-firing.tapemark.json");

fn bench(c: &mut Criterion) {
    let plan = from_json(DEMO).expect("the demo is a plan");
    for shot in &plan.shots {
        c.bench_function(&format!("facts of shot {}", shot.name), |b| {
            b.iter(|| shot_facts(black_box(&plan), shot, 0.0));
        });
    }
    let shot = &plan.shots[0];
    let scene = Scene::of(&plan, shot, 0.0);
    let list = plan.rig(&shot.rig).map(emitters).unwrap_or_default();
    for (name, facing) in [("to the lens", MapFacing::Lens), ("facing up", MapFacing::Up)] {
        let spec = MapSpec { height_m: 1.5, cell_m: 0.1, facing };
        c.bench_function(&format!("direct light, 10 cm grid, both rooms, {name}"), |b| {
            b.iter(|| light_map(black_box(&plan), &scene, &list, &spec));
        });
    }
    c.bench_function("open the demo", |b| b.iter(|| from_json(black_box(DEMO))));
}

criterion_group!(benches, bench);
criterion_main!(benches);
