//! The house wiring: load per circuit, cables round the walls, voltage lost in them, a better spread.

mod cable;
mod rebalance;
mod route;

pub use cable::{
    Conductor, REFERENCE_C, WORKING_C, drop_v, light_share_at, resistance_ohm_km, temperature_factor, warmer_tungsten_k,
};
pub use rebalance::{Rebalance, Replug, rebalance};
pub use route::{Crossing, Floorway, Route, Stood};

use crate::geometry::bearing_dir;
use crate::notices::TRIPOD_M;
use crate::plan::{CircuitId, Fixture, FixtureId, LampType, Mount, OutletId, Plan, Rig, Shot};
use crate::taping::room_at;
use glam::DVec2;
use serde::Serialize;
use tapemark_words::say;

/// Cautions that go with every word about power.
#[must_use]
pub fn power_caution() -> &'static str {
    say!("figures-for-planning")
}

/// The load of one circuit in a rig.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CircuitLoad {
    /// Which.
    pub circuit: CircuitId,
    /// Its name.
    pub name: String,
    /// Watts plugged in, all at full.
    pub load_w: f64,
    /// Volt-amperes plugged in.
    pub apparent_va: f64,
    /// Amperes: volt-amperes over volts.
    pub current_a: f64,
    /// Breaker, amperes.
    pub breaker_a: f64,
    /// Continuous limit in force, amperes.
    pub limit_a: f64,
    /// What is plugged in.
    pub fixtures: Vec<FixtureId>,
}

/// Current a fixture draws at full, amperes: I = P / (V · power factor).
#[must_use]
pub fn current_a(f: &Fixture, mains_v: f64) -> f64 {
    f.watts / f.power_factor_in_force().max(0.05) / mains_v
}

/// The circuit an outlet is wired to.
#[must_use]
pub fn circuit_of<'a>(plan: &'a Plan, outlet: &OutletId) -> Option<&'a CircuitId> {
    plan.location.outlets.iter().find(|o| &o.id == outlet).map(|o| &o.circuit)
}

/// Loads of every circuit in a rig. Lamps count at full power whatever the dimmer says.
#[must_use]
pub fn loads(plan: &Plan, rig: &Rig) -> Vec<CircuitLoad> {
    plan.location
        .circuits
        .iter()
        .map(|circuit| {
            let on_it: Vec<_> = rig
                .fixtures
                .iter()
                .filter(|f| f.on && f.outlet.as_ref().and_then(|o| circuit_of(plan, o)) == Some(&circuit.id))
                .collect();
            let sum = |f: &dyn Fn(&Fixture) -> f64| on_it.iter().fold(0.0, |s, x| s + f(x));
            let load_w = sum(&|f| f.watts);
            let current = sum(&|f| current_a(f, plan.location.mains_v));
            CircuitLoad {
                circuit: circuit.id.clone(),
                name: circuit.name.clone(),
                load_w,
                apparent_va: current * plan.location.mains_v,
                current_a: current,
                breaker_a: circuit.breaker_a,
                limit_a: circuit.breaker_a * plan.limits.continuous_load_share,
                fixtures: on_it.iter().map(|f| f.id.clone()).collect(),
            }
        })
        .collect()
}

/// Cable kept in a loop at either end and taped slack, metres (common practice, no source).
pub const SLACK_M: f64 = 1.0;

/// One lamp's cable.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableRun {
    /// The lamp.
    pub fixture: FixtureId,
    /// Its name.
    pub name: String,
    /// The outlet it is plugged into.
    pub outlet: OutletId,
    /// The circuit of that outlet.
    pub circuit: CircuitId,
    /// Corners of the run over the floor, metres.
    pub path_m: Vec<[f64; 2]>,
    /// Over the floor, metres.
    pub floor_m: f64,
    /// With the way up to the head and some slack, metres.
    pub cable_m: f64,
    /// Copper, square millimetres.
    pub conductor_mm2: f64,
    /// Current at full, amperes.
    pub current_a: f64,
    /// Voltage lost in the fixed wiring, with all that hangs on the circuit, volts; absent: unknown.
    pub feed_drop_v: Option<f64>,
    /// Voltage lost in the cable, volts.
    pub drop_v: f64,
    /// All that is lost as a share of the mains, 0–1.
    pub drop_share: f64,
    /// Light that is lost with it, stops.
    pub light_loss_stops: f64,
    /// Colour temperature of a tungsten lamp at the voltage left, kelvin.
    pub cct_k: Option<f64>,
    /// Openings it lies across.
    pub crossings: Vec<Crossing>,
    /// Whether it lies where water is about.
    pub wet: bool,
}

/// Where a lamp's cable meets the floor.
fn foot(f: &Fixture) -> DVec2 {
    DVec2::from_array(f.position_m) - bearing_dir(f.pan_deg) * if f.mount == Mount::Stand { 0.05 } else { 0.0 }
}

/// The cables of a rig: round the walls and through the doors from outlet to lamp, whatever camera stands there.
#[must_use]
pub fn cable_runs(plan: &Plan, rig: &Rig) -> Vec<CableRun> {
    cable_runs_on(plan, rig, &Floorway::of(plan), &[])
}

/// A cable keeps this far off a tripod's feet, metres.
const OFF_TRIPOD_M: f64 = 0.1;

/// What of the cameras of some shots stands on the floor: their tripods where the shots begin.
#[must_use]
pub fn tripods<'s>(plan: &Plan, shots: impl IntoIterator<Item = &'s Shot>) -> Vec<Stood> {
    let cameras = shots.into_iter().filter_map(|s| plan.shot_camera(s));
    let mut out: Vec<Stood> = cameras.map(|c| (DVec2::from_array(c.position_m), TRIPOD_M + OFF_TRIPOD_M)).collect();
    out.dedup();
    out
}

/// As [`cable_runs`], on a floor already known and round what stands there.
#[must_use]
pub fn cable_runs_on(plan: &Plan, rig: &Rig, floor: &Floorway, round: &[Stood]) -> Vec<CableRun> {
    let loads = loads(plan, rig);
    rig.fixtures.iter().filter(|f| f.watts > 0.0).filter_map(|f| cable_run(plan, floor, round, &loads, f)).collect()
}

fn cable_run(plan: &Plan, floor: &Floorway, round: &[Stood], loads: &[CircuitLoad], f: &Fixture) -> Option<CableRun> {
    let outlet = plan.location.outlets.iter().find(|o| Some(&o.id) == f.outlet.as_ref())?;
    let circuit = plan.location.circuits.iter().find(|c| c.id == outlet.circuit)?;
    let route = floor.route_round(DVec2::from_array(outlet.position_m), foot(f), round);
    let up = match f.mount {
        Mount::Set => 0.3,
        _ => f.height_m,
    };
    let cable_m = route.length_m + up + SLACK_M;
    let mains = plan.location.mains_v;
    let (mm2, amps) = (f.cable_mm2_in_force(), current_a(f, mains));
    let lost = drop_v(Conductor::Flexible, mm2, cable_m, amps);
    // Whatever hangs on the circuit flows through its fixed wiring.
    let on_circuit = loads.iter().find(|l| l.circuit == circuit.id).map_or(amps, |l| l.current_a.max(amps));
    let feed = circuit.feed.map(|w| drop_v(Conductor::Fixed, w.conductor_mm2, w.length_m, on_circuit));
    let share = (lost + feed.unwrap_or(0.0)) / mains;
    let tungsten = f.lamp == LampType::Tungsten;
    Some(CableRun {
        fixture: f.id.clone(),
        name: f.label(),
        outlet: outlet.id.clone(),
        circuit: circuit.id.clone(),
        floor_m: route.length_m,
        cable_m,
        conductor_mm2: mm2,
        current_a: amps,
        feed_drop_v: feed,
        drop_v: lost,
        drop_share: share,
        light_loss_stops: -light_share_at(f.lamp, 1.0 - share).log2() + 0.0,
        cct_k: tungsten.then(|| warmer_tungsten_k(f.cct_k, 1.0 - share)),
        wet: route.path.iter().any(|p| room_at(plan, *p).is_some_and(|r| r.wet)),
        path_m: route.path.iter().map(|p| p.to_array()).collect(),
        crossings: route.crossings,
    })
}
