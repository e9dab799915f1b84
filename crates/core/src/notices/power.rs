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

const CODE: &str = "local code and a licensed electrician decide";

pub(super) fn power(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    for load in &facts.circuits {
        let (amps, name) = (load.current_a, if load.name.is_empty() { load.circuit.as_str() } else { &load.name });
        if amps > load.limit_a + 1e-9 {
            let over = if amps > load.breaker_a { "over its breaker" } else { "over its continuous limit" };
            c.say(
                "circuit-overloaded",
                Severity::Caution,
                load.circuit.as_str(),
                None,
                format!(
                    "circuit {name} carries {amps:.1} A, {over} of {:.1} A",
                    if amps > load.breaker_a { load.breaker_a } else { load.limit_a }
                ),
                "move a lamp to another circuit; local code and a licensed electrician decide",
            );
        }
    }
    for run in &facts.cables {
        in_frame(c, scene, run);
        voltage(c, plan, run);
        for x in &run.crossings {
            let (code, what) = if x.shut_door {
                ("cable-under-door", format!("{}'s cable runs under {}, which stands shut", run.name, x.name))
            } else {
                ("cable-across-door", format!("{}'s cable lies across {}", run.name, x.name))
            };
            c.say(
                code,
                Severity::Caution,
                run.fixture.as_str(),
                Some(DVec2::from_array(x.at_m)),
                what,
                "lead it over the door's head or under a ramp, tape it down flat, and never pinch it in a door",
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
            format!("{}'s cable lies in frame on its way to the outlet", run.name),
            "run it round outside the wedge or behind a piece, and tape it down",
        );
    }
}

fn voltage(c: &mut Collector, plan: &Plan, run: &CableRun) {
    if run.drop_share <= plan.limits.drop_share {
        return;
    }
    let light = if run.light_loss_stops > 0.05 {
        format!(" and {:.1} stops of light", run.light_loss_stops)
    } else {
        String::new()
    };
    c.say(
        "voltage-drop",
        Severity::Problem,
        run.fixture.as_str(),
        run.path_m.last().map(|p| DVec2::from_array(*p)),
        format!(
            "{}'s {} of {} mm² cable loses {:.1} % of the voltage{light}",
            run.name,
            format_length(run.cable_m, plan.length_unit),
            run.conductor_mm2,
            run.drop_share * 100.0
        ),
        "use thicker cable or a nearer outlet, and unroll the whole reel",
    );
}

fn water(c: &mut Collector, plan: &Plan, facts: &ShotFacts) {
    for run in facts.cables.iter().filter(|r| r.wet) {
        c.say(
            "cable-in-the-wet",
            Severity::Caution,
            run.fixture.as_str(),
            run.path_m.first().map(|p| DVec2::from_array(*p)),
            format!("{}'s cable lies where water is about", run.name),
            format!("feed it through a residual-current device, keep plugs off the floor, or light from the next room; {CODE}"),
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
                format!("{} stands where water is about", f.label()),
                format!("use a battery lamp there, or light from the next room; {CODE}"),
            );
        }
    }
}
