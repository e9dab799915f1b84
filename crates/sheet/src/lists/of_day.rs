//! Lists of the day: kit, stand-ins, order, calls.

use super::{Cell, List};
use tapemark_core::day::DayFacts;
use tapemark_core::order::tasks_in_words;
use tapemark_core::plan::Plan;
use tapemark_words::say;

pub(super) fn kit(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "kit",
        say!("kit"),
        &[
            ("packed", "✓", 0.3),
            ("needed", say!("no"), 0.6),
            ("unit", "", 0.7),
            ("thing", say!("what"), 3.4),
            ("why", say!("where"), 2.4),
            ("owned", say!("owned-label"), 0.7),
            ("missing", say!("missing"), 0.8),
            ("way", say!("how"), 0.8),
            ("cost", say!("cost"), 0.8),
            ("weight_kg", "kg", 0.7),
            ("volume_l", "l", 0.6),
        ],
    );
    for k in &day.kit.lines {
        let decimals = usize::from(k.needed.fract() != 0.0);
        l.rows.push(vec![
            Cell::Empty,
            Cell::Number(k.needed, decimals),
            Cell::text(k.thing.unit_of(k.needed)),
            Cell::text(&k.name),
            Cell::text(&k.why),
            Cell::Number(k.owned, decimals),
            Cell::Number(k.missing, decimals),
            Cell::text(if k.only_if_wanted { say!("if-wanted-word") } else { k.way.label() }),
            Cell::number(k.cost, 2),
            Cell::Number(k.weight_kg, 1),
            Cell::Number(k.volume_l, 0),
        ]);
    }
    l
}

pub(super) fn stand_ins(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "stand-ins",
        say!("stand-ins-for-missing-lamps"),
        &[
            ("missing", say!("missing"), 2.0),
            ("shot", say!("shot-label"), 0.6),
            ("by", say!("instead"), 2.0),
            ("foil", say!("foil"), 0.8),
            ("loss_stops", say!("stops-lost"), 0.9),
            ("in_hand_stops", say!("in-hand"), 0.8),
            ("wall_stops", say!("more-on-wall"), 1.0),
            ("spill_share", say!("astray"), 0.7),
            ("spill_share_before", say!("was"), 0.6),
            ("mired", say!("mired-label"), 0.7),
            ("owned", say!("owned-label"), 0.7),
            ("rent_price", say!("rent-label"), 0.7),
        ],
    );
    for s in &day.kit.stand_ins {
        l.rows.push(vec![
            Cell::text(&s.missing),
            Cell::text(&s.shot),
            Cell::text(&s.by),
            Cell::text(if s.foil == tapemark_core::kit::Foil::Leaves { say!("leaves") } else { "" }),
            Cell::Number(s.loss_stops, 2),
            Cell::Number(s.in_hand_stops, 2),
            Cell::number(s.wall_stops, 2),
            Cell::Number(s.spill_share, 2),
            Cell::Number(s.spill_share_before, 2),
            Cell::number(s.mired, 0),
            Cell::text(if s.owned { say!("yes") } else { say!("no-word") }),
            Cell::number(s.rent_price, 2),
        ]);
    }
    l
}

pub(super) fn order(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "order",
        say!("order-of-the-day"),
        &[
            ("place", say!("no"), 0.4),
            ("change_at", say!("change"), 0.7),
            ("change_min", say!("min"), 0.5),
            ("from", say!("from"), 0.6),
            ("to", say!("to-label"), 0.6),
            ("shots", say!("shots"), 0.9),
            ("rig", say!("rig-label"), 1.4),
            ("camera", say!("camera-label"), 0.9),
            ("cast", say!("cast"), 1.6),
            ("slack_min", say!("slack"), 0.6),
            ("lamps", say!("lamps-at-the-change"), 3.6),
        ],
    );
    for c in &day.order.calls {
        let cast: Vec<&str> = c.setup.cast.iter().filter_map(|id| plan.person(id)).map(|p| p.name.as_str()).collect();
        let camera = c.setup.camera.as_ref().and_then(|id| plan.camera(id));
        l.rows.push(vec![
            Cell::Number(c.place as f64, 0),
            Cell::text(c.change_at.to_string()),
            Cell::Number(c.change_min, 0),
            Cell::text(c.from.to_string()),
            Cell::text(c.to.to_string()),
            Cell::text(format!("{}{}", c.setup.names.join(" "), if c.pinned { say!("pinned-word") } else { "" })),
            Cell::text(plan.rig(&c.setup.rig).map_or("", |r| r.name.as_str())),
            Cell::text(camera.map_or("", |k| k.name.as_str())),
            Cell::text(cast.join(", ")),
            Cell::number(c.slack_min, 0),
            Cell::text(tasks_in_words(&c.lamps)),
        ]);
    }
    l
}

pub(super) fn calls(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "cast-calls",
        say!("cast"),
        &[
            ("person", say!("who"), 2.0),
            ("call", say!("called"), 1.0),
            ("release", say!("free"), 1.0),
            ("waits_min", say!("waits-min"), 1.0),
        ],
    );
    for p in &day.order.people {
        l.rows.push(vec![
            Cell::text(&p.name),
            Cell::text(p.call.to_string()),
            Cell::text(p.release.to_string()),
            Cell::Number(p.waits_min, 0),
        ]);
    }
    l
}
