//! Light off the rooms' own surfaces, against closed forms and conservation.

use glam::DVec3;
use tapemark_acceptance::*;
use tapemark_core::geometry::OwnerIx;
use tapemark_core::light::*;
use tapemark_core::plan::*;
use tapemark_core::scene::Scene;

fn cavity(size: [f64; 3], reflectance: [f64; 3]) -> Plan {
    let mut plan = Plan::empty();
    let [x, y, z] = size;
    let mut room = Room::new("room", "Room", vec![[0., 0.], [x, 0.], [x, y], [0., y]]);
    room.ceiling_m = z;
    let finish = Finish { reflectance_rgb: reflectance };
    room.finishes = Finishes { walls: finish, floor: finish, ceiling: finish };
    plan.location.rooms.push(room);
    plan
}

fn lit(plan: &Plan, at: [f64; 2], height_m: f64) -> (Scene, Transport) {
    let mut rig = Rig::new("r", "R");
    rig.fixtures.push(bulb_100_cd(at, height_m));
    let scene = Scene::of(plan, &plan.shots[0], 0.0);
    let t = Transport::of(plan, Some(&rig), &scene, 0.5, None);
    (scene, t)
}

/// Integrating cavity: the light that has bounced at least once is Φρ/(A(1 − ρ)) on the mean of the walls
/// (integrating-sphere theory, any photometry text); in a cube lit from its middle it is nearly even.
#[test]
fn integrating_cavity() {
    for rho in [0.2, 0.5, 0.8, 0.95] {
        let plan = cavity([3.0, 3.0, 3.0], [rho; 3]);
        let (scene, t) = lit(&plan, [1.5, 1.5], 1.5);
        let flux = 400.0 * std::f64::consts::PI;
        let wanted = flux * rho / (54.0 * (1.0 - rho));
        // The mean over all six walls, at 6 × 6 points each.
        let (mut sum, mut count) = (0.0, 0);
        for i in 0..6 {
            for j in 0..6 {
                let (u, v) = (0.25 + 0.5 * f64::from(i), 0.25 + 0.5 * f64::from(j));
                let e = 0.003;
                for (at, n) in [
                    (DVec3::new(u, v, e), DVec3::Z),
                    (DVec3::new(u, v, 3.0 - e), DVec3::NEG_Z),
                    (DVec3::new(e, u, v), DVec3::X),
                    (DVec3::new(3.0 - e, u, v), DVec3::NEG_X),
                    (DVec3::new(u, e, v), DVec3::Y),
                    (DVec3::new(u, 3.0 - e, v), DVec3::NEG_Y),
                ] {
                    sum += t.parts(&scene, &flat(at, n), OwnerIx::NONE)[0].1.y;
                    count += 1;
                }
            }
        }
        near(sum / f64::from(count), wanted, 0.02);
    }
}

/// What the lamp emits is what the surfaces take in (conservation of energy), in rooms of several shapes.
#[test]
fn energy_is_conserved_in_closed_rooms() {
    for (size, rho) in [([3.0, 3.0, 3.0], 0.5), ([6.0, 2.0, 2.5], 0.7), ([8.0, 5.0, 2.4], 0.3)] {
        let plan = cavity(size, [rho; 3]);
        let (scene, t) = lit(&plan, [size[0] * 0.4, size[1] * 0.6], size[2] * 0.5);
        let emitter = &t.emitters()[0];
        let r = &t.surfaces().solve(&scene.solids, &[emitter])[0];
        near(t.surfaces().absorbed_lm(r), 400.0 * std::f64::consts::PI, 0.005);
    }
}

/// In a black room nothing bounces; a door that is shut lets nothing through.
#[test]
fn black_walls_and_shut_doors() {
    let plan = cavity([4.0, 4.0, 2.5], [0.0; 3]);
    let (scene, t) = lit(&plan, [2.0, 2.0], 1.5);
    assert_eq!(t.parts(&scene, &flat(DVec3::new(1.0, 1.0, 1.0), DVec3::Z), OwnerIx::NONE)[0].1.y, 0.0);

    let mut plan = cavity([4.0, 4.0, 2.5], [0.7; 3]);
    let mut next = plan.location.rooms[0].clone();
    next.id = "next".into();
    next.outline_m = vec![[4., 0.], [7., 0.], [7., 4.], [4., 4.]];
    plan.location.rooms.push(next);
    plan.location.openings.push(Opening {
        id: "door".into(),
        name: String::new(),
        room: "room".into(),
        edge: 1,
        offset_m: 1.5,
        width_m: 0.9,
        sill_m: 0.0,
        head_m: 2.0,
        kind: OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg: 0.0 },
        unknown: Unknown::new(),
    });
    let there = flat(DVec3::new(5.5, 0.5, 1.0), DVec3::Z);
    let (scene, t) = lit(&plan, [1.0, 2.0], 1.5);
    let shut = t.parts(&scene, &there, OwnerIx::NONE)[0].1.y;
    plan.location.openings[0].kind = OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg: 90.0 };
    let (scene, t) = lit(&plan, [1.0, 2.0], 1.5);
    let open = t.parts(&scene, &there, OwnerIx::NONE)[0].1.y;
    assert!(shut < 1e-6 && open > 0.1, "{shut} {open}");
}

/// A red wall warms what faces it (trade fact: common practice, no source): the colour temperature of the
/// light there falls, and grey walls leave it as it is.
#[test]
fn a_red_wall_tints() {
    let cct = |reflectance: [f64; 3]| {
        let plan = cavity([3.0, 3.0, 2.5], reflectance);
        let mut plan = plan;
        plan.rigs[0].fixtures.push(bulb_100_cd([1.5, 1.5], 1.5));
        plan.rigs[0].fixtures[0].cct_k = 5600.0;
        let scene = Scene::of(&plan, &plan.shots[0], 0.0);
        let t = Transport::of(&plan, Some(&plan.rigs[0]), &scene, 0.5, None);
        reading(&plan, &scene, &t, &flat(DVec3::new(0.5, 1.5, 1.5), DVec3::NEG_X), OwnerIx::NONE).cct_k
    };
    let grey = cct([0.5; 3]).unwrap();
    within(grey, 5600.0, 5.0);
    assert!(cct([0.7, 0.45, 0.4]).is_some_and(|k| k < 4800.0), "{:?}", cct([0.7, 0.45, 0.4]));
}

/// Light adds (superposition): two lamps give the sum of each, and half the dimmer half the light.
#[test]
fn superposition() {
    let plan = cavity([5.0, 4.0, 2.5], [0.6, 0.5, 0.4]);
    let scene = Scene::of(&plan, &plan.shots[0], 0.0);
    let to = flat(DVec3::new(1.0, 2.0, 1.2), DVec3::X);
    let lux = |list: &[Fixture]| {
        let mut rig = Rig::new("r", "R");
        rig.fixtures = list.to_vec();
        let t = Transport::of(&plan, Some(&rig), &scene, 0.5, None);
        t.parts(&scene, &to, OwnerIx::NONE).iter().map(|(d, b)| d.y + b.y).sum::<f64>()
    };
    let a = bulb_100_cd([2.0, 1.0], 2.0);
    let mut b = bulb_100_cd([4.0, 3.0], 1.0);
    b.id = "bulb-2".into();
    near(lux(&[a.clone(), b.clone()]), lux(std::slice::from_ref(&a)) + lux(std::slice::from_ref(&b)), 1e-6);
    let mut half = a.clone();
    half.dimmer = 0.5;
    near(lux(&[half]), lux(&[a]) * 0.5, 1e-6);
}

/// Moving one lamp re-solves one: what is kept gives the same answer as solving afresh.
#[test]
fn what_is_kept_is_what_would_be_solved() {
    let mut plan = tapemark::files::demo();
    let shot = plan.shots[0].clone();
    let scene = Scene::of(&plan, &shot, 0.0);
    let before = Transport::of(&plan, plan.shot_rig(&shot).as_deref(), &scene, 0.8, None);
    plan.rigs[0].fixtures[0].position_m[0] += 0.4;
    plan.rigs[0].fixtures[1].dimmer = 0.2;
    let kept = Transport::of(&plan, plan.shot_rig(&shot).as_deref(), &scene, 0.8, Some(&before));
    let fresh = Transport::of(&plan, plan.shot_rig(&shot).as_deref(), &scene, 0.8, None);
    let to = dome(DVec3::new(2.6, 2.8, 1.5), DVec3::NEG_Y);
    for (a, b) in kept.parts(&scene, &to, OwnerIx::NONE).iter().zip(fresh.parts(&scene, &to, OwnerIx::NONE)) {
        near(a.0.y + a.1.y, b.0.y + b.1.y, 1e-9);
    }
}

/// What lamps give is what the surfaces take in (conservation of energy), over forty random closed rooms of
/// random shape, finish and lamps: within half a percent.
#[test]
fn energy_is_kept_in_random_closed_rooms() {
    use tapemark_core::light::{FINE_PATCH_M, Transport};
    let mut seed = 20_261_125_u64;
    let mut draw = |low: f64, high: f64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((seed >> 33) as f64 / f64::from(1_u32 << 31))
    };
    let mut worst = 0.0_f64;
    for n in 0..40 {
        let mut plan = Plan::empty();
        let (w, d) = (draw(1.5, 9.0), draw(1.5, 9.0));
        let outline = if n % 3 == 0 {
            let (cut_w, cut_d) = (w * draw(0.3, 0.6), d * draw(0.3, 0.6));
            vec![[0.0, 0.0], [w, 0.0], [w, d - cut_d], [w - cut_w, d - cut_d], [w - cut_w, d], [0.0, d]]
        } else {
            vec![[0.0, 0.0], [w, 0.0], [w, d], [0.0, d]]
        };
        let mut room = Room::new("r", "R", outline);
        room.ceiling_m = draw(2.1, 4.0);
        let mut grey = || Finish { reflectance_rgb: [draw(0.05, 0.9); 3] };
        (room.finishes.walls, room.finishes.floor, room.finishes.ceiling) = (grey(), grey(), grey());
        let ceiling = room.ceiling_m;
        plan.location.rooms.push(room);
        for (i, class) in [HeadClass::BareBulb, HeadClass::SoftBox, HeadClass::OpenFace].into_iter().enumerate() {
            let mut f = Fixture::new(format!("f{i}"), class, [0.0, 0.0], draw(0.0, 360.0));
            f.position_m = [w * draw(0.25, 0.4), d * draw(0.25, 0.4)];
            f.height_m = ceiling * draw(0.4, 0.7);
            f.tilt_deg = draw(-40.0, 20.0);
            f.output_lm = Some(1000.0);
            plan.rigs[0].fixtures.push(f);
        }
        let scene = Scene::of(&plan, &plan.shots[0], 0.0);
        let light = Transport::of(&plan, plan.rigs.first(), &scene, FINE_PATCH_M, None);
        for (e, lm) in light.emitters().iter().zip(light.absorbed_lm()) {
            let error = lm / 1000.0 - 1.0;
            worst = worst.max(error.abs());
            assert!(error.abs() < 0.005, "room {n}, {}: {error}", e.name);
        }
    }
    println!("worst {worst:.5}");
}

/// A small tilted board returns ρE/π · A · cos θ₁ cos θ₂ / s² to a plane that faces it (the configuration factor
/// between two elements; Howell, A Catalog of Radiation Heat Transfer Configuration Factors, definition A-1),
/// E being the inverse-square law and Lambert's cosine on the board.
#[test]
fn a_tilted_board_returns_what_its_angles_say() {
    for tilt_deg in [-50.0, -20.0, 0.0, 30.0, 60.0_f64] {
        let mut plan = Plan::empty();
        let mut board = Piece::board("board", [0.0, 2.0], 180.0);
        board.shape = PieceShape::Sheet { width_m: 0.12, lean_m: 0.0 };
        (board.base_m, board.top_m) = (1.44, 1.56);
        board.set_tilt_deg(tilt_deg);
        assert!((board.tilt_deg().unwrap() - tilt_deg).abs() < 1e-9);
        plan.location.pieces.push(board);
        // The lamp in front of it, the receiver beside the lamp.
        let (lamp, at) = (DVec3::new(0.3, 0.0, 1.2), DVec3::new(-0.4, 0.4, 1.9));
        let (scene, t) = lit(&plan, [lamp.x, lamp.y], lamp.z);
        let middle = DVec3::new(0.0, 2.0, 1.5);
        let (sin, cos) = tilt_deg.to_radians().sin_cos();
        let normal = DVec3::new(0.0, -cos, sin);
        let (to_lamp, to_eye) = (lamp - middle, at - middle);
        let on_board = 100.0 * normal.dot(to_lamp.normalize()).max(0.0) / to_lamp.length_squared();
        let toward = -to_eye.normalize();
        let wanted = 0.85 * on_board / std::f64::consts::PI * 0.12 * 0.12 * normal.dot(to_eye.normalize()).max(0.0)
            / to_eye.length_squared();
        let parts = t.parts(&scene, &flat(at, toward), OwnerIx::NONE);
        near(parts[0].1.y, wanted, 0.01);
        // And it casts a shadow: behind it the lamp is not seen.
        let behind = middle + (middle - lamp) * 0.5;
        let shaded = t.parts(&scene, &flat(behind, (lamp - behind).normalize()), OwnerIx::NONE)[0].0.y;
        let edge_on = normal.dot(to_lamp.normalize()).abs() < 0.1;
        assert!(edge_on || shaded == 0.0, "{tilt_deg}: {shaded}");
    }
}
