//! How long does it take to ask whether every face is seen through the whole move?

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use tapemark_core::blocking::{Moments, clear_map, lanes};
use tapemark_core::facts::facts_of_scene;
use tapemark_core::light::{FINE_PATCH_M, Transport};
use tapemark_core::notices::of_shot;
use tapemark_core::plan::from_json;
use tapemark_core::scene::Scene;

fn bench(c: &mut Criterion) {
    for (name, json) in [
        ("demo", &include_bytes!("../../../assets/demo/last-firing.tapemark.json")[..]),
        ("big night", &include_bytes!("../../../assets/bench/big-night.tapemark.json")[..]),
    ] {
        let plan = from_json(json).expect("a plan");
        let shot = &plan.shots[0];
        let moments = Moments::of(&plan, shot);
        println!("{name}: {} looks", moments.list.len());
        c.bench_function(&format!("{name}: everyone placed at every look"), |b| {
            b.iter(|| Moments::of(black_box(&plan), shot));
        });
        c.bench_function(&format!("{name}: everyone's lane, already placed"), |b| {
            b.iter(|| lanes(black_box(&plan), shot, &moments));
        });
        let rig = plan.shot_rig(shot);
        let rig = rig.as_deref();
        let scene = Scene::of(&plan, shot, 0.0);
        let light = Transport::of(&plan, rig, &scene, FINE_PATCH_M, None);
        let facts = facts_of_scene(&plan, shot, &scene, &light, &moments);
        c.bench_function(&format!("{name}: lanes and notices, the camera dragged"), |b| {
            b.iter(|| {
                let lanes = lanes(black_box(&plan), shot, &moments);
                (lanes, of_shot(&plan, shot, &scene, &facts, &moments, &light))
            });
        });
        c.bench_function(&format!("{name}: clear-view map at 10 cm"), |b| {
            b.iter(|| clear_map(black_box(&plan), shot, &moments, 0.1));
        });
        if let Some(map) = clear_map(&plan, shot, &moments, 0.1) {
            let open = map.ruled_out.iter().filter(|r| r.is_none()).count();
            println!("{name}: {} cells, {open} not ruled out", map.least.len());
        }
    }
}

criterion_group!(benches, bench);
criterion_main!(benches);
