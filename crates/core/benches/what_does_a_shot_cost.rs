//! How long do the facts of a shot and the light over its floor take, on the demo plan?

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use tapemark_core::blocking::Moments;
use tapemark_core::edit::{Edit, ItemRef, apply};
use tapemark_core::facts::{facts_of_scene, shot_facts};
use tapemark_core::light::{Detail, FINE_PATCH_M, MapFacing, MapLight, MapSpec, Transport, light_map};
use tapemark_core::plan::from_json;
use tapemark_core::scene::Scene;

const DEMO: &[u8] = include_bytes!("../../../assets/demo/last-firing.tapemark.json");

fn bench(c: &mut Criterion) {
    let plan = from_json(DEMO).expect("the demo is a plan");
    for shot in &plan.shots {
        let scene = Scene::of(&plan, shot, 0.0);
        let light = Transport::of(&plan, plan.shot_rig(shot).as_deref(), &scene, FINE_PATCH_M, None);
        let moments = Moments::of(&plan, shot);
        c.bench_function(&format!("facts of shot {}, light solved", shot.name), |b| {
            b.iter(|| facts_of_scene(black_box(&plan), shot, &Scene::of(&plan, shot, 0.0), &light, &moments));
        });
    }
    let shot = &plan.shots[0];
    c.bench_function("facts of shot 1, cold", |b| b.iter(|| shot_facts(black_box(&plan), shot, 0.0)));
    let scene = Scene::of(&plan, shot, 0.0);
    let rig = plan.shot_rig(shot);
    let rig = rig.as_deref();
    let light = Transport::of(&plan, rig, &scene, FINE_PATCH_M, None);
    for (name, facing) in [("to the lens", MapFacing::Lens), ("facing up", MapFacing::Up)] {
        let spec = MapSpec { light: MapLight::Direct, ..MapSpec::new(1.5, 0.1, facing) };
        c.bench_function(&format!("direct light, 10 cm grid, both rooms, {name}"), |b| {
            b.iter(|| light_map(black_box(&plan), &scene, &light, &spec));
        });
    }
    let spec = MapSpec::new(1.5, 0.1, MapFacing::Lens);
    c.bench_function("light with bounces, 10 cm grid, both rooms", |b| {
        b.iter(|| light_map(black_box(&plan), &scene, &light, &spec));
    });
    c.bench_function("bounces, cold", |b| b.iter(|| Transport::of(black_box(&plan), rig, &scene, FINE_PATCH_M, None)));
    let mut moved = rig.cloned();
    if let Some(f) = moved.as_mut().and_then(|r| r.fixtures.first_mut()) {
        f.position_m[0] += 0.1;
    }
    c.bench_function("bounces, one lamp moved", |b| {
        b.iter(|| Transport::of(black_box(&plan), moved.as_ref(), &scene, FINE_PATCH_M, Some(&light)));
    });
    c.bench_function("open the demo", |b| b.iter(|| from_json(black_box(DEMO))));
}

/// The reference plan: 3 rooms, 40 walls, 30 pieces, 8 fixtures, 4 people.
fn big_night(c: &mut Criterion) {
    let plan = from_json(include_bytes!("../../../assets/bench/big-night.tapemark.json")).expect("a plan");
    let shot = &plan.shots[0];
    let rig = plan.shot_rig(shot);
    let rig = rig.as_deref();
    let scene = Scene::of(&plan, shot, 0.0);
    let light = Transport::of(&plan, rig, &scene, FINE_PATCH_M, None);
    let moments = Moments::of(&plan, shot);
    println!("big night: {} patches, {} primitives", light.surfaces().len(), scene.solids.len());
    let spec = MapSpec { light: MapLight::Direct, ..MapSpec::new(1.5, 0.1, MapFacing::Lens) };
    c.bench_function("big night: direct light, 10 cm grid", |b| {
        b.iter(|| light_map(black_box(&plan), &scene, &light, &spec));
    });
    c.bench_function("big night: bounces, cold", |b| {
        b.iter(|| Transport::of(black_box(&plan), rig, &scene, FINE_PATCH_M, None));
    });
    let with = |change: &dyn Fn(&mut tapemark_core::plan::Fixture)| {
        let mut r = rig.cloned();
        if let Some(f) = r.as_mut().and_then(|r| r.fixtures.first_mut()) {
            change(f);
        }
        r
    };
    let moved = with(&|f| f.position_m[0] += 0.1);
    c.bench_function("big night: one lamp moved", |b| {
        b.iter(|| Transport::of(black_box(&plan), moved.as_ref(), &scene, FINE_PATCH_M, Some(&light)));
    });
    let dimmed = with(&|f| f.dimmer = 0.5);
    c.bench_function("big night: dimmer moved", |b| {
        b.iter(|| Transport::of(black_box(&plan), dimmed.as_ref(), &scene, FINE_PATCH_M, Some(&light)));
    });
    c.bench_function("big night: facts, light solved", |b| {
        b.iter(|| facts_of_scene(black_box(&plan), shot, &Scene::of(&plan, shot, 0.0), &light, &moments));
    });
}

/// 30 rooms, 1000 pieces, 200 lamps, 60 shots.
fn large_day(c: &mut Criterion) {
    let plan = from_json(include_bytes!("../../../assets/bench/large-day.tapemark.json")).expect("a plan");
    let shot = &plan.shots[0];
    let rig = plan.shot_rig(shot);
    let rig = rig.as_deref();
    c.bench_function("large day: scene", |b| b.iter(|| Scene::of(black_box(&plan), shot, 0.0)));
    c.bench_function("large day: moments", |b| b.iter(|| Moments::of(black_box(&plan), shot)));
    let scene = Scene::of(&plan, shot, 0.0);
    c.bench_function("large day: bounces, cold", |b| {
        b.iter(|| Transport::of(black_box(&plan), rig, &scene, FINE_PATCH_M, None));
    });
    let light = Transport::of(&plan, rig, &scene, FINE_PATCH_M, None);
    println!("large day: {} patches, {} primitives", light.surfaces().len(), scene.solids.len());
    c.bench_function("large day: nothing moved", |b| {
        b.iter(|| Transport::of(black_box(&plan), rig, &scene, FINE_PATCH_M, Some(&light)));
    });
    let moments = Moments::of(&plan, shot);
    for (name, detail) in [("quick", Detail::Quick), ("near", Detail::Near)] {
        let light = light.clone().at_detail(detail);
        c.bench_function(&format!("large day: facts, {name}"), |b| {
            b.iter(|| facts_of_scene(black_box(&plan), shot, &scene, &light, &moments));
        });
    }
    let direct = MapSpec { light: MapLight::Direct, ..MapSpec::new(1.5, 0.3, MapFacing::Lens) };
    let all = MapSpec { bounce_cell_m: 1.5, ..MapSpec::new(1.5, 0.3, MapFacing::Lens) };
    for (name, spec) in [("direct", direct), ("with bounces", all)] {
        c.bench_function(&format!("large day: coarse map, {name}"), |b| {
            b.iter(|| light_map(black_box(&plan), &scene, &light, &spec));
        });
    }
    c.bench_function("large day: an edit", |b| {
        let edit = Edit::Move { items: vec![ItemRef::Piece("piece-0".into())], by: glam::DVec2::new(0.01, 0.0) };
        b.iter(|| apply(black_box(&plan), &edit));
    });
}

criterion_group!(benches, bench, big_night, large_day);
criterion_main!(benches);
