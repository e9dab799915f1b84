//! The house wiring against published tables.

use glam::DVec2;
use tapemark_acceptance::{near, within};
use tapemark_core::edit::apply;
use tapemark_core::plan::*;
use tapemark_core::power::*;

/// IEC 60228, tables 2 and 3: most resistance of plain copper at 20 °C, Ω/km (as reprinted by cable makers:
/// "Power copper conductors according to IEC 60228").
#[test]
fn resistances_of_iec_60228() {
    for (mm2, fixed, flexible) in [
        (1.0, 18.1, 19.5),
        (1.5, 12.1, 13.3),
        (2.5, 7.41, 7.98),
        (4.0, 4.61, 4.95),
        (6.0, 3.08, 3.30),
        (10.0, 1.83, 1.91),
        (16.0, 1.15, 1.21),
        (35.0, 0.524, 0.554),
    ] {
        near(resistance_ohm_km(Conductor::Fixed, mm2), fixed, 1e-12);
        near(resistance_ohm_km(Conductor::Flexible, mm2), flexible, 1e-12);
    }
}

/// BS 7671 table 4D2B, two-core cable with copper conductors at 70 °C, single-phase voltage drop in mV a metre and
/// ampere: 44, 29, 18, 11, 7.3, 4.4, 2.8 for 1 to 16 mm² (from memory; 18 for 2.5 mm² as cited in print). The table
/// is rounded to two digits.
#[test]
fn voltage_drop_of_bs_7671() {
    for (mm2, mv) in [(1.0, 44.0), (1.5, 29.0), (2.5, 18.0), (4.0, 11.0), (6.0, 7.3), (10.0, 4.4), (16.0, 2.8)] {
        near(drop_v(Conductor::Fixed, mm2, 1.0, 1.0) * 1000.0, mv, 0.025);
    }
}

/// BS 7671 table 4F2B, flexible rubber cables at 90 °C: 13.2, 8.5, 5.1 and 3.2 mV/A/m for 4, 6, 10 and 16 mm²; ours
/// at that temperature. The table is for tinned wires, whose resistance is 2 to 3 % higher.
#[test]
fn voltage_drop_of_flexible_cable() {
    for (mm2, mv) in [(4.0, 13.2), (6.0, 8.5), (10.0, 5.1), (16.0, 3.2)] {
        let at_90 = temperature_factor(90.0) / temperature_factor(WORKING_C);
        near(drop_v(Conductor::Flexible, mm2, 1.0, 1.0) * 1000.0 * at_90, mv, 0.05);
    }
}

/// NEC chapter 9, table 8, uncoated stranded copper at 75 °C: 14 AWG (2.08 mm²) 3.14, 12 AWG (3.31 mm²) 1.98, 10 AWG
/// (5.26 mm²) 1.24 ohms a thousand feet (from memory). IEC 60228 gives the most a conductor may have, so ours are a few per cent higher.
#[test]
#[allow(clippy::approx_constant)] // ohms, not a circle
fn resistances_of_the_nec() {
    for (mm2, ohm_kft) in [(2.08, 3.140), (3.31, 1.98), (5.26, 1.24)] {
        let km = resistance_ohm_km(Conductor::Fixed, mm2) * temperature_factor(75.0);
        near(km * 0.3048, ohm_kft, 0.055);
    }
}

/// Copper's resistance at 70 °C is 1 / 0.833 of that at 20 °C (correction table of IEC 60228's annex, rounded).
#[test]
fn copper_warms() {
    near(temperature_factor(70.0), 1.0 / 0.833, 0.005);
    near(temperature_factor(20.0), 1.0, 1e-12);
}

/// A filament at 95 % of its voltage gives about 84 % of its light and is about 2 % warmer in colour (rerating
/// exponents 3.38 and 0.42 of the IES Lighting Handbook, from memory); a driver holds its output.
#[test]
fn light_lost_with_the_voltage() {
    within(light_share_at(LampType::Tungsten, 0.95), 0.84, 0.003);
    within(warmer_tungsten_k(3200.0, 0.95), 3132.0, 2.0);
    assert_eq!(light_share_at(LampType::Led, 0.9), 1.0);
}

fn two_rooms() -> Plan {
    let mut plan = Plan::empty();
    let l = &mut plan.location;
    l.rooms.push(Room::new("a", "A", vec![[0., 0.], [5., 0.], [5., 4.], [0., 4.]]));
    l.rooms.push(Room::new("b", "B", vec![[5., 0.], [9., 0.], [9., 4.], [5., 4.]]));
    l.openings.push(Opening {
        id: "door".into(),
        name: "door".into(),
        room: "a".into(),
        edge: 1,
        offset_m: 3.0,
        width_m: 0.9,
        sill_m: 0.0,
        head_m: 2.0,
        kind: OpeningKind::Passage,
        unknown: Unknown::new(),
    });
    for (id, amps) in [("one", 10.0), ("two", 10.0)] {
        l.circuits.push(Circuit {
            id: id.into(),
            name: id.into(),
            breaker_a: amps,
            feed: None,
            unknown: Unknown::new(),
        });
    }
    for (id, at, circuit) in [("out-a", [0.05, 0.5], "one"), ("out-b", [8.95, 0.5], "two")] {
        l.outlets.push(Outlet { id: id.into(), position_m: at, circuit: circuit.into(), unknown: Unknown::new() });
    }
    plan
}

fn lamp(id: &str, at: [f64; 2], watts: f64, outlet: &str) -> Fixture {
    Fixture { watts, outlet: Some(outlet.into()), ..Fixture::new(id, HeadClass::OpenFace, at, 0.0) }
}

/// Resistive load: 2 kW at 230 V is 8.7 A and at 120 V 16.7 A; at power factor 0.9 a ninth more (arithmetic of
/// I = P / (V · PF), any electrical handbook).
#[test]
fn amperes_at_both_mains() {
    let mut f = lamp("l", [1.0, 1.0], 2000.0, "out-a");
    within(current_a(&f, 230.0), 8.6957, 1e-3);
    within(current_a(&f, 120.0), 16.6667, 1e-3);
    f.power_factor = Some(0.9);
    near(current_a(&f, 230.0), 8.6957 / 0.9, 1e-4);
}

/// A cable from the far room goes through the opening: no shorter than the taut string by the opening's corners,
/// which is √(3.95² + 2.5²) + … by hand, and no longer than along the walls.
#[test]
fn a_cable_goes_round_the_walls() {
    let mut plan = two_rooms();
    plan.rigs[0].fixtures.push(lamp("l", [2.0, 1.0], 800.0, "out-b"));
    let run = &cable_runs(&plan, &plan.rigs[0])[0];
    assert_eq!(run.crossings.len(), 1);
    let jamb = DVec2::new(5.0, 3.0);
    let taut = DVec2::new(8.95, 0.5).distance(jamb) + jamb.distance(DVec2::new(2.0, 0.95));
    let along_walls = 3.95 + 0.5 + 3.5 + 4.0 + 3.0 + 3.0;
    assert!(run.floor_m >= taut - 1e-6 && run.floor_m <= along_walls, "{} {taut}", run.floor_m);
    // Plugged in at home it crosses nothing and is shorter.
    plan.rigs[0].fixtures[0].outlet = Some("out-a".into());
    let home = &cable_runs(&plan, &plan.rigs[0])[0];
    assert!(home.crossings.is_empty() && home.floor_m < run.floor_m);
    assert!(home.floor_m >= DVec2::new(0.05, 0.5).distance(DVec2::new(2.0, 0.95)) - 1e-9);
}

/// 50 m of 1.5 mm² with 16 A: 2 × 50 × 16 × 0.0133 × 1.196 = 25 V, 11 % of 230 V: a notice, and 0.6 stops of tungsten.
#[test]
fn a_long_thin_cable_is_noticed() {
    let mut plan = two_rooms();
    plan.location.rooms[0].outline_m = vec![[0., 0.], [60., 0.], [60., 4.], [0., 4.]];
    plan.location.rooms.truncate(1);
    plan.location.openings.clear();
    plan.rigs[0].fixtures.push(lamp("l", [50.0, 1.0], 3680.0, "out-a"));
    let run = &cable_runs(&plan, &plan.rigs[0])[0];
    near(run.drop_v, 2.0 * run.cable_m * 16.0 * 0.0133 * 1.1965, 1e-3);
    near(run.light_loss_stops, -(1.0 - run.drop_share).powf(3.38).log2(), 1e-9);
    let notices = tapemark_core::notices::of_plan(&plan);
    assert!(notices.iter().any(|n| n.code == "voltage-drop"), "{notices:?}");
}

/// Two 1 kW lamps on one 10 A circuit are 8.7 A, over 80 % of it: one plug to the other circuit holds (the 80 % rule
/// of NEC 210.20(A)). Three 1.5 kW lamps do not fit anywhere.
#[test]
fn plugs_are_spread_by_the_fewest_moves() {
    let mut plan = two_rooms();
    for (id, at) in [("l1", [1.0, 1.0]), ("l2", [4.0, 3.5])] {
        plan.rigs[0].fixtures.push(lamp(id, at, 1000.0, "out-a"));
    }
    let found = rebalance(&plan, &plan.rigs[0]);
    assert!(found.holds && found.moves.len() == 1);
    // The lamp by the door costs less cable.
    assert_eq!(found.moves[0].fixture.as_str(), "l2");
    let next = apply(&plan, &found.edit()).unwrap();
    assert!(loads(&next, &next.rigs[0]).iter().all(|c| c.current_a <= c.limit_a));
    for f in &mut plan.rigs[0].fixtures {
        f.watts = 1500.0;
    }
    plan.rigs[0].fixtures.push(lamp("l3", [2.0, 2.0], 1500.0, "out-a"));
    let none = rebalance(&plan, &plan.rigs[0]);
    assert!(!none.holds && none.moves.is_empty() && none.short_a > 0.0);
}

/// Fixed wiring carries the whole circuit: 20 m of 2.5 mm² with 8.7 A loses 2 × 20 × 8.7 × 0.00741 × 1.196 = 3.1 V.
#[test]
fn the_fixed_wiring_counts() {
    let mut plan = two_rooms();
    plan.location.circuits[0].feed = Some(Feed { length_m: 20.0, conductor_mm2: 2.5 });
    for (id, at) in [("l1", [1.0, 1.0]), ("l2", [2.0, 1.0])] {
        plan.rigs[0].fixtures.push(lamp(id, at, 1000.0, "out-a"));
    }
    let run = &cable_runs(&plan, &plan.rigs[0])[0];
    near(run.feed_drop_v.unwrap(), 2.0 * 20.0 * 8.6957 * 0.00741 * 1.1965, 1e-3);
}

fn codes(plan: &Plan) -> Vec<&'static str> {
    tapemark_core::notices::of_plan(plan).iter().map(|n| n.code).collect()
}

/// What can hurt is said: a cable in a doorway or under a shut door, water, gel on a hot head without doors. Common
/// caution on set, no source; each with a set-up that keeps it.
#[test]
fn cautions_of_the_wiring() {
    let mut plan = two_rooms();
    plan.rigs[0].fixtures.push(lamp("l", [2.0, 1.0], 800.0, "out-a"));
    let kept = codes(&plan);
    let all = ["cable-across-door", "cable-under-door", "cable-in-the-wet", "lamp-in-the-wet", "gel-on-hot-head"];
    assert!(all.iter().all(|c| !kept.contains(c)), "{kept:?}");
    plan.rigs[0].fixtures[0].outlet = Some("out-b".into());
    assert!(codes(&plan).contains(&"cable-across-door"));
    let shut = OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg: 0.0 };
    plan.location.openings[0].kind = shut;
    assert!(codes(&plan).contains(&"cable-under-door"));
    plan.rigs[0].fixtures[0].outlet = Some("out-a".into());
    plan.location.rooms[0].wet = true;
    let wet = codes(&plan);
    assert!(wet.contains(&"cable-in-the-wet") && wet.contains(&"lamp-in-the-wet"), "{wet:?}");
    plan.location.rooms[0].wet = false;
    plan.rigs[0].fixtures[0].gels.push(Gel::correction(0));
    assert!(codes(&plan).contains(&"gel-on-hot-head"));
    plan.rigs[0].fixtures[0].barn_doors = Some(BarnDoors::OPEN);
    assert!(!codes(&plan).contains(&"gel-on-hot-head"));
}

/// A cable goes round a tripod in its way: it keeps off the tripod's feet everywhere, is longer by little, and takes the
/// straight way again when the camera is gone (geometry). Round a disc of r at distance a from either end the detour is
/// no more than (π − 2)·r.
#[test]
fn a_cable_goes_round_the_tripod() {
    let mut plan = two_rooms();
    plan.rigs[0].fixtures.push(lamp("l", [4.0, 1.5], 800.0, "out-a"));
    let free = cable_runs(&plan, &plan.rigs[0])[0].clone();
    let a = DVec2::from_array(free.path_m[free.path_m.len() - 2]);
    let b = DVec2::from_array(free.path_m[free.path_m.len() - 1]);
    let tripod = a.lerp(b, 0.5);
    plan.cameras.push(Camera::new("cam", "Cam A", tripod.to_array(), 0.0));
    plan.shots[0].camera = Some("cam".into());
    let facts = tapemark_core::facts::shot_facts(&plan, &plan.shots[0], 0.0);
    let path: Vec<DVec2> = facts.cables[0].path_m.iter().map(|p| DVec2::from_array(*p)).collect();
    let least = path
        .windows(2)
        .map(|w| {
            let t = ((tripod - w[0]).dot(w[1] - w[0]) / w[0].distance_squared(w[1])).clamp(0.0, 1.0);
            w[0].lerp(w[1], t).distance(tripod)
        })
        .fold(f64::INFINITY, f64::min);
    assert!(a.distance(b) > 0.8 && least >= 0.2, "{least} {path:?}");
    assert!(facts.cables[0].floor_m - free.floor_m < 0.5, "{} {}", facts.cables[0].floor_m, free.floor_m);
}
