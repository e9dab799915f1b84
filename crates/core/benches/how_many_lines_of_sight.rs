//! How many lines of sight a second does one thread answer in the big-night plan? With `TAPEMARK_LINES_OUT` set
//! to a folder the lines and triangles are written there for `benches/compare.py`.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use glam::Vec3;
use std::hint::black_box;
use tapemark_core::geometry::OwnerIx;
use tapemark_core::plan::from_json;
use tapemark_core::scene::Scene;

const LINES: usize = 100_000;

fn lines() -> Vec<(Vec3, Vec3)> {
    let mut seed = 1_u64;
    let mut draw = move || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 40) as f32 / (1_u64 << 24) as f32
    };
    let mut point = move || Vec3::new(draw() * 14.0, draw() * 8.0, draw() * 2.5);
    (0..LINES).map(|_| (point(), point())).collect()
}

fn bench(c: &mut Criterion) {
    let plan = from_json(include_bytes!("../../../assets/bench/big-night.tapemark.json")).expect("a plan");
    let scene = Scene::of(&plan, &plan.shots[0], 0.0);
    let lines = lines();
    if let Some(folder) = std::env::var_os("TAPEMARK_LINES_OUT") {
        let folder = std::path::PathBuf::from(folder);
        let lines: Vec<[[f32; 3]; 2]> = lines.iter().map(|(a, b)| [a.to_array(), b.to_array()]).collect();
        let triangles: Vec<[[f32; 3]; 3]> = scene.solids.triangles().iter().map(|t| t.map(|p| p.to_array())).collect();
        let blocked = lines
            .iter()
            .filter(|[a, b]| scene.solids.blocked(Vec3::from_array(*a), Vec3::from_array(*b), OwnerIx::NONE));
        let share = blocked.count() as f64 / LINES as f64;
        let text = serde_json::json!({ "lines": lines, "triangles": triangles, "blocked_share": share }).to_string();
        std::fs::write(folder.join("lines.json"), text).expect("the folder can be written to");
    }
    let mut group = c.benchmark_group("lines of sight");
    group.throughput(Throughput::Elements(LINES as u64));
    group.bench_function("one thread", |b| {
        b.iter(|| {
            lines.iter().filter(|(p, q)| scene.solids.blocked(black_box(*p), black_box(*q), OwnerIx::NONE)).count()
        });
    });
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
