//! Circuits, cables and water.

use super::{Collector, Severity};
use crate::blocking::sees;
use crate::facts::ShotFacts;
use crate::geometry::OwnerIx;
use crate::plan::Plan;
use crate::power::CableRun;
use crate::scene::Scene;
use crate::taping::room_at;
use crate::units::format_length;
use glam::DVec2;
use tapemark_words::{figure, say};

pub(super) fn power(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    for load in &facts.circuits {
        let (amps, name) = (load.current_a, if load.name.is_empty() { load.circuit.as_str() } else { &load.name });
        if amps > load.limit_a + 1e-9 {
            let over = if amps > load.breaker_a { say!("over-its-breaker") } else { say!("over-its-continuous-limit") };
            c.say(
                "circuit-overloaded",
                Severity::Caution,
                load.circuit.as_str(),
                None,
                say!(
                    "circuit-name-carries-amps-a-over",
                    name,
                    amps = figure(amps, 1),
                    over,
                    limit_a = figure(if amps > load.breaker_a { load.breaker_a } else { load.limit_a }, 1)
                ),
                say!("move-a-lamp-to-another-circuit"),
            );
        }
    }
    for run in &facts.cables {
        in_frame(c, scene, run);
        voltage(c, plan, run);
        for x in &run.crossings {
            let (code, what) = if x.shut_door {
                ("cable-under-door", say!("cable-runs-under-shut-door", run = run.name, name = x.name))
            } else {
                ("cable-across-door", say!("run-s-cable-lies-across-name", run = run.name, name = x.name))
            };
            c.say(
                code,
                Severity::Caution,
                run.fixture.as_str(),
                Some(DVec2::from_array(x.at_m)),
                what,
                say!("lead-it-over-the-doors-head"),
            );
        }
    }
    water(c, plan, facts);
}

/// A lamp's cable where the lens sees it.
fn in_frame(c: &mut Collector, scene: &Scene, run: &CableRun) {
    let Some(view) = &scene.view else { return };
    let seen = run.path_m.windows(2).find_map(|s| {
        let (a, b) = (DVec2::from_array(s[0]), DVec2::from_array(s[1]));
        let steps = (a.distance(b) / 0.1).ceil().max(1.0);
        (0..=steps as usize)
            .map(|i| a.lerp(b, i as f64 / steps).extend(0.01))
            .find(|p| sees(&scene.solids, view, *p, OwnerIx::NONE))
    });
    if let Some(p) = seen {
        c.say(
            "cable-in-frame",
            Severity::Hint,
            run.fixture.as_str(),
            Some(p.truncate()),
            say!("cable-lies-in-frame", run = run.name),
            say!("run-it-round-outside-the-wedge"),
        );
    }
}

fn voltage(c: &mut Collector, plan: &Plan, run: &CableRun) {
    if run.drop_share <= plan.limits.drop_share {
        return;
    }
    let light = if run.light_loss_stops > 0.05 {
        say!("and-stops-of-light", light_loss_stops = figure(run.light_loss_stops, 1))
    } else {
        String::new()
    };
    c.say(
        "voltage-drop",
        Severity::Problem,
        run.fixture.as_str(),
        run.path_m.last().map(|p| DVec2::from_array(*p)),
        say!(
            "cable-loses-voltage",
            run = run.name,
            cable_m = format_length(run.cable_m, plan.length_unit),
            conductor_mm2 = run.conductor_mm2,
            drop_share = figure(run.drop_share * 100.0, 1),
            light
        ),
        say!("use-thicker-cable-or-a-nearer"),
    );
}

fn water(c: &mut Collector, plan: &Plan, facts: &ShotFacts) {
    for run in facts.cables.iter().filter(|r| r.wet) {
        c.say(
            "cable-in-the-wet",
            Severity::Caution,
            run.fixture.as_str(),
            run.path_m.first().map(|p| DVec2::from_array(*p)),
            say!("cable-lies-in-water", run = run.name),
            say!("feed-it-through-a-residual-current", code = say!("code-and-electrician")),
        );
    }
    let shot = c.shot;
    for f in plan.shot_fixtures(shot) {
        let at = DVec2::from_array(f.position_m);
        if f.on && f.watts > 0.0 && room_at(plan, at).is_some_and(|r| r.wet) {
            c.say(
                "lamp-in-the-wet",
                Severity::Caution,
                f.id.as_str(),
                Some(at),
                say!("stands-where-water-is-about", f = f.label()),
                say!("use-a-battery-lamp-there-or", code = say!("code-and-electrician")),
            );
        }
    }
}
