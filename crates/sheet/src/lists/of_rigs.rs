//! Lists of the lighting states: lamps, circuits, cables.

use super::of_shots::{taped, walled};
use super::{Cell, List};
use crate::tables::aim_words;
use tapemark_core::day::{DayFacts, RigFacts};
use tapemark_core::grip::GripFacts;
use tapemark_core::plan::Plan;
use tapemark_core::taping::room_at;
use tapemark_words::say;

pub(crate) fn lamps(plan: &Plan, rigs: &[RigFacts]) -> List {
    let mut l = List::new(
        "lamps",
        say!("lamps-label"),
        &[
            ("rig", say!("rig-label"), 1.3),
            ("shots", say!("shots"), 0.8),
            ("lamp", say!("lamp-label"), 1.3),
            ("head", say!("head"), 1.5),
            ("watts_w", "W", 0.6),
            ("dimmer_percent", say!("dimmer-percent"), 0.7),
            ("scrim_stops", say!("scrim"), 0.6),
            ("gels", say!("gels"), 1.6),
            ("cct_k", "K", 0.6),
            ("height_m", say!("up"), 0.8),
            ("pan_deg", say!("pan"), 0.6),
            ("tilt_deg", say!("tilt"), 0.6),
            ("aim", say!("aimed-at"), 1.4),
            ("east_m", say!("east-label"), 0.0),
            ("north_m", say!("north-label"), 0.0),
            ("tape_1_m", say!("from-wall"), 0.9),
            ("wall_1", say!("wall-letter"), 0.5),
            ("tape_2_m", say!("and-wall"), 0.9),
            ("wall_2", say!("wall-letter"), 0.5),
            ("outlet", say!("outlet-label"), 0.9),
        ],
    );
    for r in rigs {
        for (f, aim) in r.rig.fixtures.iter().zip(&r.aims) {
            let tape = tapemark_core::taping::tape_lines(plan, f.position_m.into());
            let gels = f.sheets_before();
            let colour = tapemark_core::colour::cct_duv(tapemark_core::light::light_colour(f)).map(|c| c.0);
            l.rows.push(vec![
                Cell::text(&r.rig.name),
                Cell::text(r.shots.join(" ")),
                Cell::text(f.label()),
                Cell::text(f.generic_name()),
                Cell::Number(f.watts, 0),
                Cell::Number(if f.on { f.dimmer * 100.0 } else { 0.0 }, 0),
                Cell::Number(f.scrim_stops, 1),
                Cell::text(gels.join(" + ")),
                Cell::number(colour, 0),
                Cell::Length(f.height_m),
                Cell::Number(f.pan_deg, 0),
                Cell::Number(f.tilt_deg, 0),
                Cell::text(aim.as_ref().map_or(String::new(), |a| aim_words(plan, f, a))),
                Cell::Length(f.position_m[0]),
                Cell::Length(f.position_m[1]),
                taped(&tape, 0),
                walled(plan, f.position_m, &tape, 0),
                taped(&tape, 1),
                walled(plan, f.position_m, &tape, 1),
                Cell::text(f.outlet.as_ref().map_or(String::new(), |o| plan.location.outlet_name(o))),
            ]);
        }
    }
    l
}

/// Flags, drapes and boards as they are to be set up.
pub(crate) fn grip(plan: &Plan, of: &[GripFacts]) -> List {
    let mut l = List::new(
        "grip",
        say!("grip"),
        &[
            ("grip", say!("what-to-set-up"), 1.4),
            ("kind", say!("kind"), 1.2),
            ("room", say!("room-label"), 1.1),
            ("width_m", say!("across"), 0.7),
            ("length_m", say!("edge-to-edge"), 0.8),
            ("lower_m", say!("lower-edge"), 0.8),
            ("upper_m", say!("upper-edge"), 0.8),
            ("facing_deg", say!("facing-deg"), 0.6),
            ("tilt_deg", say!("tilt"), 0.6),
            ("east_m", say!("east-label"), 0.0),
            ("north_m", say!("north-label"), 0.0),
            ("tape_1_m", say!("from-wall"), 0.9),
            ("wall_1", say!("wall-letter"), 0.5),
            ("tape_2_m", say!("and-wall"), 0.9),
            ("wall_2", say!("wall-letter"), 0.5),
        ],
    );
    for g in of {
        l.rows.push(vec![
            Cell::text(&g.name),
            Cell::text(g.kind.label()),
            Cell::text(room_at(plan, g.position_m.into()).map_or("", |r| &r.name)),
            Cell::Length(g.width_m),
            Cell::Length(g.length_m),
            Cell::Length(g.heights_m[0]),
            Cell::Length(g.heights_m[1]),
            Cell::Number(g.facing_deg, 0),
            Cell::number(g.tilt_deg, 0),
            Cell::Length(g.position_m[0]),
            Cell::Length(g.position_m[1]),
            taped(&g.tape, 0),
            walled(plan, g.position_m, &g.tape, 0),
            taped(&g.tape, 1),
            walled(plan, g.position_m, &g.tape, 1),
        ]);
    }
    l
}

pub(super) fn circuits(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "circuits",
        say!("circuits-label"),
        &[
            ("rig", say!("rig-label"), 1.5),
            ("circuit", say!("circuit-label"), 2.0),
            ("load_w", "W", 0.8),
            ("apparent_va", "VA", 0.8),
            ("current_a", "A", 0.8),
            ("limit_a", say!("continuous-a"), 1.0),
            ("breaker_a", say!("breaker-a"), 1.0),
            ("holds", say!("holds"), 0.8),
        ],
    );
    for r in &day.rigs {
        for c in &r.circuits {
            let holds = c.current_a <= c.limit_a + 1e-9;
            l.rows.push(vec![
                Cell::text(&r.rig.name),
                Cell::text(&c.name),
                Cell::Number(c.load_w, 0),
                Cell::Number(c.apparent_va, 0),
                Cell::Number(c.current_a, 2),
                Cell::Number(c.limit_a, 1),
                Cell::Number(c.breaker_a, 0),
                Cell::text(if holds { say!("yes") } else { say!("no-label") }),
            ]);
        }
    }
    l
}

pub(super) fn cables(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "cables",
        say!("cables"),
        &[
            ("rig", say!("rig-label"), 1.5),
            ("lamp", say!("lamp-label"), 1.6),
            ("outlet", say!("outlet-label"), 1.0),
            ("floor_m", say!("over-floor"), 1.0),
            ("cable_m", say!("cable"), 1.0),
            ("conductor_mm2", "mm²", 0.6),
            ("current_a", "A", 0.7),
            ("drop_v", say!("v-lost"), 0.8),
            ("drop_percent", "%", 0.6),
            ("light_loss_stops", say!("stops-lost"), 0.9),
            ("crosses", say!("lies-across"), 1.8),
        ],
    );
    for r in &day.rigs {
        for c in &r.cables {
            let names: Vec<&str> = c.crossings.iter().map(|x| x.name.as_str()).collect();
            l.rows.push(vec![
                Cell::text(&r.rig.name),
                Cell::text(&c.name),
                Cell::text(plan.location.outlet_name(&c.outlet)),
                Cell::Length(c.floor_m),
                Cell::Length(c.cable_m),
                Cell::Number(c.conductor_mm2, 2),
                Cell::Number(c.current_a, 2),
                Cell::Number(c.drop_v + c.feed_drop_v.unwrap_or(0.0), 2),
                Cell::Number(c.drop_share * 100.0, 2),
                Cell::Number(c.light_loss_stops, 3),
                Cell::text(names.join(", ")),
            ]);
        }
    }
    l
}
