//! The list of margins: by how much faces, the operator and the lamps of every shot hold.

use super::{Cell, List};
use tapemark_core::day::DayFacts;
use tapemark_core::margins::{Margin, Slips};
use tapemark_core::plan::Plan;
use tapemark_words::say;

pub(super) fn margins(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "margins",
        say!("by-how-much-it-holds"),
        &[
            ("shot", say!("shot-label"), 0.6),
            ("of", say!("whose"), 1.4),
            ("holds", say!("what"), 1.4),
            ("margin_m", say!("by-label"), 1.0),
            ("or_more", say!("or-more"), 0.8),
            ("slips", say!("should-slip"), 1.4),
            ("at_s", "s", 0.6),
        ],
    );
    for w in &day.shots {
        let mut row = |of: &str, what: &str, m: &Option<Margin>| {
            let Some(m) = m else { return };
            l.rows.push(vec![
                Cell::text(&w.shot.name),
                Cell::text(of),
                Cell::text(what),
                Cell::Length(m.margin_m),
                Cell::text(if m.or_more { say!("yes") } else { "" }),
                Cell::text(if m.or_more { String::new() } else { slipping(plan, w.shot, &m.slips) }),
                if m.or_more { Cell::Empty } else { Cell::Number(m.at_s, 1) },
            ]);
        };
        for p in &w.facts.people {
            row(&p.name, say!("clear"), &p.margins.clear);
            row(&p.name, say!("in-frame"), &p.margins.in_frame);
            row(&p.name, say!("in-focus"), &p.margins.in_focus);
        }
        if let Some(c) = &w.facts.camera {
            row(&c.name, say!("the-operator-fits"), &c.fits_behind_margin);
        }
        for f in &w.facts.fixtures {
            row(&f.name, say!("out-of-frame"), &f.out_of_frame_margin);
        }
    }
    l
}

fn slipping(plan: &Plan, shot: &tapemark_core::plan::Shot, slips: &Slips) -> String {
    match slips {
        Slips::Person(id) => plan.person(id).map(|p| p.name.clone()),
        Slips::Camera(id) => plan.camera(id).map(|c| c.name.clone()),
        Slips::Lamp(id) => plan.shot_fixtures(shot).into_iter().find(|f| &f.id == id).map(|f| f.label()),
    }
    .unwrap_or_default()
}
