//! The fewest plugs to move so that no circuit is over its limit.

use super::{CircuitLoad, Floorway, circuit_of, current_a, loads};
use crate::edit::{Edit, Item};
use crate::plan::{Circuit, CircuitId, Fixture, FixtureId, OutletId, Plan, Rig};
use glam::DVec2;
use serde::Serialize;
use tapemark_words::say;

/// One plug moved.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Replug {
    /// The lamp.
    pub fixture: FixtureId,
    /// Its name.
    pub name: String,
    /// The outlet it leaves; absent: it was on none.
    pub from: Option<OutletId>,
    /// The outlet it goes to.
    pub to: OutletId,
    /// That outlet's circuit.
    pub circuit: CircuitId,
    /// Cable over the floor more than before, metres.
    pub more_cable_m: f64,
}

/// What is found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rebalance {
    /// Plugs to move; empty when nothing helps or nothing is needed.
    pub moves: Vec<Replug>,
    /// Whether every circuit is within its continuous limit afterwards.
    pub holds: bool,
    /// What is short over all circuits together when nothing helps, amperes.
    pub short_a: f64,
    /// Loads afterwards.
    pub after: Vec<CircuitLoad>,
    #[serde(skip)]
    rig: Rig,
}

impl Rebalance {
    /// The moves as one edit.
    #[must_use]
    pub fn edit(&self) -> Edit {
        let moved = |f: &&Fixture| self.moves.iter().any(|m| m.fixture == f.id);
        let edits = self.rig.fixtures.iter().filter(moved);
        let edits = edits.map(|f| Edit::Put(Item::Fixture { rig: self.rig.id.clone(), fixture: f.clone() })).collect();
        Edit::Together { label: say!("move-plugs").into(), edits }
    }
}

/// Most plugs moved at once; more is another lighting plan.
const MOST_MOVES: usize = 5;
/// Most ways tried for one number of plugs.
const MOST_TRIED: usize = 200_000;

/// Lamps on no outlet count as a plug to move; lamps that do not burn are left alone.
#[must_use]
pub fn rebalance(plan: &Plan, rig: &Rig) -> Rebalance {
    let mut circuits: Vec<&Circuit> = plan.location.circuits.iter().collect();
    circuits.sort_by(|a, b| (&a.name, &a.id).cmp(&(&b.name, &b.id)));
    let limit: Vec<f64> = circuits.iter().map(|c| c.breaker_a * plan.limits.continuous_load_share).collect();
    let at = |id: &CircuitId| circuits.iter().position(|c| &c.id == id);
    let mut lamps: Vec<&Fixture> = rig.fixtures.iter().filter(|f| f.on && f.watts > 0.0).collect();
    // Of ways that are as good the one that comes first by name, in whatever order they are listed.
    lamps.sort_by_cached_key(|f| (f.label(), f.id.clone()));
    let amps: Vec<f64> = lamps.iter().map(|f| current_a(f, plan.location.mains_v)).collect();
    let now: Vec<Option<usize>> =
        lamps.iter().map(|f| f.outlet.as_ref().and_then(|o| circuit_of(plan, o)).and_then(at)).collect();
    let load_of = |where_to: &[Option<usize>]| {
        let mut load = vec![0.0; circuits.len()];
        for (a, c) in amps.iter().zip(where_to) {
            if let Some(c) = c {
                load[*c] += a;
            }
        }
        load
    };
    let over = |load: &[f64]| load.iter().zip(&limit).map(|(l, m)| (l - m).max(0.0)).sum::<f64>();
    let fine = |w: &[Option<usize>]| w.iter().all(Option::is_some) && over(&load_of(w)) <= 1e-9;
    let mut found =
        Rebalance { moves: Vec::new(), holds: fine(&now), short_a: 0.0, after: loads(plan, rig), rig: rig.clone() };
    if found.holds || circuits.is_empty() || plan.location.outlets.is_empty() {
        return found;
    }
    // The nearest outlet of each circuit for each lamp, by cable.
    let floor = Floorway::of(plan);
    let way = |f: &Fixture, o: &crate::plan::Outlet| {
        floor.route(DVec2::from_array(o.position_m), DVec2::from_array(f.position_m)).length_m
    };
    let nearest: Vec<Vec<Option<(OutletId, f64)>>> = lamps
        .iter()
        .map(|f| {
            let mut best: Vec<Option<(OutletId, f64)>> = vec![None; circuits.len()];
            for o in &plan.location.outlets {
                let Some(c) = at(&o.circuit) else { continue };
                let m = way(f, o);
                if best[c].as_ref().is_none_or(|b| is_less(m, b.1) || (!is_less(b.1, m) && o.id < b.0)) {
                    best[c] = Some((o.id.clone(), m));
                }
            }
            best
        })
        .collect();
    let cable_now: Vec<f64> = lamps
        .iter()
        .map(|f| plan.location.outlets.iter().find(|o| Some(&o.id) == f.outlet.as_ref()).map_or(0.0, |o| way(f, o)))
        .collect();
    let mut search =
        Search { amps: &amps, now: &now, limit: &limit, nearest: &nearest, cable: &cable_now, best: None, tried: 0 };
    for moves in 1..=MOST_MOVES.min(lamps.len()) {
        search.tried = 0;
        let mut where_to = now.clone();
        let mut load = load_of(&now);
        search.go(0, moves, &mut where_to, &mut load, 0.0);
        if search.best.is_some() {
            break;
        }
    }
    let Some((_, where_to)) = search.best else {
        let total: f64 = amps.iter().sum();
        found.short_a = (total - limit.iter().sum::<f64>()).max(over(&load_of(&now)).min(total)).max(0.0);
        return found;
    };
    for (i, f) in lamps.iter().enumerate() {
        let (Some(c), true) = (where_to[i], where_to[i] != now[i]) else { continue };
        let Some((outlet, m)) = nearest[i][c].clone() else { continue };
        found.moves.push(Replug {
            fixture: f.id.clone(),
            name: f.label(),
            from: f.outlet.clone(),
            to: outlet.clone(),
            circuit: circuits[c].id.clone(),
            more_cable_m: m - cable_now[i],
        });
        found.rig.fixtures.iter_mut().filter(|x| x.id == f.id).for_each(|x| x.outlet = Some(outlet.clone()));
    }
    found.holds = true;
    found.after = loads(plan, &found.rig);
    found
}

/// Whether a length is less by more than the last digits of a sum.
fn is_less(a: f64, b: f64) -> bool {
    a < b - 1e-9
}

struct Search<'a> {
    amps: &'a [f64],
    now: &'a [Option<usize>],
    limit: &'a [f64],
    nearest: &'a [Vec<Option<(OutletId, f64)>>],
    cable: &'a [f64],
    /// Cable more than before, and where each lamp goes.
    best: Option<(f64, Vec<Option<usize>>)>,
    tried: usize,
}

impl Search<'_> {
    /// Tries every way to move exactly `left` more lamps from `i` on.
    fn go(&mut self, i: usize, left: usize, where_to: &mut [Option<usize>], load: &mut [f64], cable: f64) {
        self.tried += 1;
        if self.tried > MOST_TRIED {
            return;
        }
        if left == 0 {
            let holds =
                where_to.iter().all(Option::is_some) && load.iter().zip(self.limit).all(|(l, m)| *l <= m + 1e-9);
            if holds && self.best.as_ref().is_none_or(|b| is_less(cable, b.0)) {
                self.best = Some((cable, where_to.to_vec()));
            }
            return;
        }
        if self.amps.len() - i < left {
            return;
        }
        self.go(i + 1, left, where_to, load, cable);
        for c in 0..self.limit.len() {
            let Some((_, m)) = &self.nearest[i][c] else { continue };
            if self.now[i] == Some(c) {
                continue;
            }
            let more = cable + m - self.cable[i];
            where_to[i] = Some(c);
            load[c] += self.amps[i];
            if let Some(from) = self.now[i] {
                load[from] -= self.amps[i];
            }
            self.go(i + 1, left - 1, where_to, load, more);
            load[c] -= self.amps[i];
            if let Some(from) = self.now[i] {
                load[from] += self.amps[i];
            }
            where_to[i] = self.now[i];
        }
    }
}
