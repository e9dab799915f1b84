//! The order of the day against exact solvers, and days worked by hand.

use serde_json::Value;
use tapemark_acceptance::within;
use tapemark_core::order::*;
use tapemark_core::plan::{Clock, Pin};

fn problem_of(v: &Value) -> Problem {
    let numbers = |key: &str| v[key].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect::<Vec<f64>>();
    let hour = |key: &str, i: usize| v[key][i].as_f64();
    let n = v["minutes"].as_array().unwrap().len();
    Problem {
        start_min: 540.0,
        minutes: numbers("minutes"),
        first_change: numbers("first_change"),
        change: v["change"]
            .as_array()
            .unwrap()
            .iter()
            .map(|row| row.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect())
            .collect(),
        windows: (0..n)
            .map(|i| Window {
                earliest: hour("earliest", i).unwrap_or(f64::NEG_INFINITY),
                latest: hour("latest", i).unwrap_or(f64::INFINITY),
            })
            .collect(),
        people: v["people"].as_array().unwrap().iter().map(|x| x.as_u64().unwrap()).collect(),
        waiting_weight: 0.25,
        pinned: vec![None; n],
    }
}

/// Random days whose cheapest order is known from CP-SAT (OR-tools 9.15) and scipy's Dijkstra
/// (tests/reference/make_order.py): exactly met up to twelve set-ups, within 2 % above.
#[test]
fn random_days_against_exact_solvers() {
    let days: Vec<Value> = serde_json::from_str(include_str!("../reference/order.json")).unwrap();
    let (mut exact, mut above, mut worst) = (0, 0, 0.0_f64);
    for v in &days {
        let p = problem_of(v);
        let solved = solve(&p);
        let mut sorted = solved.order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, (0..p.minutes.len()).collect::<Vec<_>>());
        let (cost, best) = (cost_of(&p, &solved.order).cost, v["cost"].as_f64().unwrap());
        assert!(cost >= best - 1e-6, "cheaper than the proved optimum: {cost} {best}");
        if p.minutes.len() <= EXACT_SETUPS {
            assert!(solved.exact);
            within(cost, best, 1e-6);
            exact += 1;
        } else {
            assert!(!solved.exact && cost <= best * 1.02, "{cost} against {best}");
            above += 1;
            worst = worst.max(cost / best - 1.0);
        }
    }
    println!("{exact} days exact, {above} days above twelve set-ups, worst {worst:.4}");
    assert!(exact >= 40 && above >= 20);
}

/// Pinned places are kept, and the rest is still the best for them: against every permutation.
#[test]
fn pins_are_kept() {
    let days: Vec<Value> = serde_json::from_str(include_str!("../reference/order.json")).unwrap();
    for v in days.iter().filter(|v| v["minutes"].as_array().unwrap().len() == 6) {
        let mut p = problem_of(v);
        p.pinned[2] = Some(0);
        p.pinned[5] = Some(3);
        let solved = solve(&p);
        assert_eq!((solved.order[0], solved.order[3]), (2, 5));
        let mut best = f64::INFINITY;
        permute(&mut (0..6).collect(), 0, &mut |o| {
            if o[0] == 2 && o[3] == 5 {
                best = best.min(cost_of(&p, o).cost);
            }
        });
        within(cost_of(&p, &solved.order).cost, best, 1e-9);
    }
}

fn permute(o: &mut Vec<usize>, k: usize, visit: &mut impl FnMut(&[usize])) {
    if k == o.len() {
        visit(o);
    }
    for i in k..o.len() {
        o.swap(k, i);
        permute(o, k + 1, visit);
        o.swap(k, i);
    }
}

/// The demo by hand: shots 1 and 2 share a rig, so they follow each other; the lamp of the corridor is struck between,
/// and both lamps of the workshop are kept from one to the other.
#[test]
fn the_demo_day() {
    let plan = tapemark::files::demo();
    let day = order(&plan);
    assert_eq!(day.calls.len(), 3);
    let rigs: Vec<&str> = day.calls.iter().map(|c| c.setup.rig.as_str()).collect();
    assert!(rigs == ["rig-2", "rig-1", "rig-1"] || rigs == ["rig-1", "rig-1", "rig-2"]);
    assert!(day.exact && day.cost <= day.storyboard_cost && day.troubles.is_empty());
    let same = day.calls.windows(2).find(|c| c[0].setup.rig == c[1].setup.rig).unwrap();
    assert!(same[1].lamps.iter().all(|l| l.task == LampTask::Keep) && same[1].lamps.len() == 2);
    for c in day.calls.windows(2) {
        assert!(c[1].change_at == c[0].to && c[1].from >= c[0].to);
    }
}

/// A shot with an hour of its own is taken within it where it can be, and its slack is what is left; an actor who must
/// leave is taken first.
#[test]
fn hours_are_kept() {
    let mut plan = tapemark::files::demo();
    plan.shots[2].clock = Some(Clock { minutes: 15 * 60 });
    let day = order(&plan);
    let call = day.calls.iter().find(|c| c.setup.shots[0].as_str() == "shot-3").unwrap();
    assert!(call.from.minutes >= 14 * 60 + 30 && call.to.minutes <= 15 * 60 + 30);
    within(call.slack_min.unwrap(), f64::from(15 * 60 + 30) - f64::from(call.to.minutes), 0.6);
    plan.shots[2].clock = None;
    plan.cast[0].until = Some(Clock { minutes: 10 * 60 + 30 });
    let day = order(&plan);
    assert_eq!(day.calls[2].setup.shots[0].as_str(), "shot-3");
    assert!(day.troubles.is_empty(), "{:?}", day.troubles);
    // Pinned against that, it is late and said so.
    plan.day.pins.push(Pin { shot: "shot-3".into(), place: 1 });
    let day = order(&plan);
    assert_eq!(day.calls[0].setup.shots[0].as_str(), "shot-3");
    assert!(day.calls[0].pinned);
}
