//! How soon does the frame view show something, and how long does the finished picture take?

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use tapemark_core::frame::{FrameSpec, picture};
use tapemark_core::light::{FINE_PATCH_M, Transport};
use tapemark_core::plan::from_json;
use tapemark_core::scene::Scene;

fn bench(c: &mut Criterion) {
    for (name, json) in [
        ("demo", &include_bytes!("../../../assets/demo/last-firing.tapemark.json")[..]),
        ("big night", &include_bytes!("../../../assets/bench/big-night.tapemark.json")[..]),
    ] {
        let plan = from_json(json).expect("a plan");
        let shot = &plan.shots[0];
        let rig = plan.shot_rig(shot);
        let rig = rig.as_deref();
        let scene = Scene::of(&plan, shot, 0.0);
        let light = Transport::of(&plan, rig, &scene, FINE_PATCH_M, None);
        let whole = FrameSpec { width: 480, height: 270, coarse: 4, fine: 1 };
        for (stage, spec) in [("first picture", whole.quick()), ("finished picture", whole)] {
            c.bench_function(&format!("{name}: {stage}, 480 × 270"), |b| {
                b.iter(|| picture(black_box(&plan), &scene, rig, &light, spec));
            });
        }
    }
}

criterion_group!(benches, bench);
criterion_main!(benches);
