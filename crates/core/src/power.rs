//! Load on the house wiring: I = P / V per circuit.

use crate::plan::{CircuitId, FixtureId, Plan, Rig};
use serde::Serialize;

/// The load of one circuit in a rig.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CircuitLoad {
    /// Which.
    pub circuit: CircuitId,
    /// Its name.
    pub name: String,
    /// Watts plugged in, all at full.
    pub load_w: f64,
    /// Amperes.
    pub current_a: f64,
    /// Breaker, amperes.
    pub breaker_a: f64,
    /// Continuous limit in force, amperes.
    pub limit_a: f64,
    /// What is plugged in.
    pub fixtures: Vec<FixtureId>,
}

/// Loads of every circuit in a rig. Lamps count at full power whatever the dimmer says.
#[must_use]
pub fn loads(plan: &Plan, rig: &Rig) -> Vec<CircuitLoad> {
    plan.location
        .circuits
        .iter()
        .map(|circuit| {
            let on_it: Vec<_> =
                rig.fixtures
                    .iter()
                    .filter(|f| {
                        f.on && f.outlet.as_ref().is_some_and(|o| {
                            plan.location.outlets.iter().any(|x| &x.id == o && x.circuit == circuit.id)
                        })
                    })
                    .collect();
            let load_w: f64 = on_it.iter().map(|f| f.watts).sum();
            CircuitLoad {
                circuit: circuit.id.clone(),
                name: circuit.name.clone(),
                load_w,
                current_a: load_w / plan.location.mains_v,
                breaker_a: circuit.breaker_a,
                limit_a: circuit.breaker_a * plan.limits.continuous_load_share,
                fixtures: on_it.iter().map(|f| f.id.clone()).collect(),
            }
        })
        .collect()
}
