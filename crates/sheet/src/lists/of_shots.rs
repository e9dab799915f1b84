//! Lists of the shots: what is shot, where people stand, what the meter reads, what cuts, what is in frame, what is wrong.

use super::{Cell, List};
use tapemark_core::day::DayFacts;
use tapemark_core::light::Role;
use tapemark_core::notices::Severity;
use tapemark_core::plan::Plan;

pub(super) fn shots(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "shots",
        "Shot list",
        &[
            ("shot", "Shot", 0.6),
            ("size", "Size", 1.3),
            ("description", "What happens", 4.0),
            ("length_s", "s", 0.5),
            ("takes", "Takes", 0.6),
            ("rig", "Rig", 1.5),
            ("camera", "Camera", 0.9),
            ("lens_mm", "mm", 0.6),
            ("t_stop", "T", 0.5),
            ("lens_height_m", "Lens up", 0.9),
            ("cuts_with", "Cuts with", 0.9),
            ("notes", "Notes", 2.0),
        ],
    );
    for w in &day.shots {
        let s = w.shot;
        let camera = plan.shot_camera(s);
        let name = |id| plan.shot(id).map_or("", |s| s.name.as_str());
        let variant = s.variant_of.as_ref().map_or(String::new(), |v| format!(" (instead of {})", name(v)));
        l.rows.push(vec![
            Cell::text(format!("{}{variant}", s.name)),
            Cell::text(s.size.label()),
            Cell::text(&s.description),
            Cell::Number(s.length_s, 1),
            Cell::Number(f64::from(s.takes.unwrap_or(plan.day.takes)), 0),
            Cell::text(plan.rig(&s.rig).map_or("", |r| r.name.as_str())),
            Cell::text(camera.map_or("", |c| c.name.as_str())),
            Cell::number(camera.map(|c| c.lens.focal_mm), 0),
            Cell::number(camera.map(|c| c.lens.t_stop), 1),
            Cell::length(camera.map(|c| c.lens_height_m)),
            Cell::text(s.cuts_with.iter().map(name).collect::<Vec<_>>().join(" ")),
            Cell::text(&s.notes),
        ]);
    }
    l
}

pub(super) fn taped(lines: &[tapemark_core::taping::TapeLine], i: usize) -> Cell {
    Cell::length(lines.get(i).map(|t| t.distance_m))
}

pub(super) fn marks(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "marks",
        "Marks to tape",
        &[
            ("shot", "Shot", 0.6),
            ("person", "Who", 1.4),
            ("from_s", "From s", 0.7),
            ("to_s", "To s", 0.7),
            ("east_m", "East", 0.0),
            ("north_m", "North", 0.0),
            ("facing_deg", "Faces °", 0.8),
            ("pose", "Pose", 1.0),
            ("tape_1_m", "From wall", 1.0),
            ("tape_2_m", "and wall", 1.0),
        ],
    );
    for w in &day.shots {
        for m in &w.shot.marks {
            let tape = tapemark_core::taping::tape_lines(plan, m.position_m.into());
            let pose = match m.pose {
                tapemark_core::plan::Pose::Standing => "stands",
                tapemark_core::plan::Pose::Seated => "sits",
                tapemark_core::plan::Pose::Kneeling => "kneels",
            };
            l.rows.push(vec![
                Cell::text(&w.shot.name),
                Cell::text(plan.person(&m.person).map_or("", |p| p.name.as_str())),
                Cell::Number(m.from_s, 1),
                Cell::number(m.to_s, 1),
                Cell::Length(m.position_m[0]),
                Cell::Length(m.position_m[1]),
                Cell::Number(m.facing_deg, 0),
                Cell::text(pose),
                taped(&tape, 0),
                taped(&tape, 1),
            ]);
        }
    }
    l
}

pub(super) fn readings(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "readings",
        "Readings",
        &[
            ("shot", "Shot", 0.6),
            ("person", "Face", 1.2),
            ("distance_m", "From lens", 1.0),
            ("size", "Size", 1.3),
            ("sight", "Seen", 2.4),
            ("illuminance_lx", "lx", 0.7),
            ("illuminance_fc", "fc", 0.6),
            ("t_stop", "T", 0.6),
            ("exposure_stops", "Stops", 0.7),
            ("cct_k", "K", 0.7),
            ("duv", "Duv", 0.8),
            ("key", "Key", 1.4),
            ("background_stops", "Wall behind", 1.0),
        ],
    );
    for w in &day.shots {
        for p in &w.facts.people {
            let r = p.reading.as_ref();
            let key = r.and_then(|r| r.parts.iter().find(|x| x.role == Role::Key));
            let behind = w.facts.camera.as_ref().and_then(|c| c.background.as_ref()).and_then(|b| b.falls_at_stops);
            l.rows.push(vec![
                Cell::text(&w.shot.name),
                Cell::text(&p.name),
                Cell::length(p.distance_m),
                Cell::text(p.size.map_or("", |s| s.label())),
                Cell::text(&p.sight),
                Cell::number(r.map(|r| r.illuminance_lx), 1),
                Cell::number(r.map(|r| r.illuminance_fc), 1),
                Cell::number(r.map(|r| r.t_stop), 2),
                Cell::number(p.exposure_stops, 2),
                Cell::number(r.and_then(|r| r.cct_k), 0),
                Cell::number(r.and_then(|r| r.duv), 4),
                Cell::text(key.map_or("", |k| k.name.as_str())),
                Cell::number(behind, 2),
            ]);
        }
    }
    l
}

pub(super) fn cuts(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "continuity",
        "Shots that cut together",
        &[
            ("first", "From", 0.6),
            ("second", "To", 0.6),
            ("person", "Face", 1.2),
            ("what", "What", 2.0),
            ("difference", "Difference", 1.0),
            ("unit", "", 0.7),
            ("tolerance", "Tolerated", 1.0),
            ("matches", "Matches", 0.9),
        ],
    );
    let name = |id| plan.shot(id).map_or("", |s| s.name.as_str());
    for m in &day.matches {
        for d in &m.differences {
            l.rows.push(vec![
                Cell::text(name(&m.first.shot)),
                Cell::text(name(&m.second.shot)),
                Cell::text(&m.name),
                Cell::text(d.what.label()),
                Cell::number(d.difference, 2),
                Cell::text(d.what.unit()),
                Cell::Number(d.tolerance, 1),
                Cell::text(if d.within { "yes" } else { "NO" }),
            ]);
        }
    }
    l
}

pub(super) fn cover(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "cover",
        "Surfaces in frame, black cloth for the walls",
        &[
            ("shot", "Shot", 0.6),
            ("surface", "Surface", 3.0),
            ("area_m2", "m²", 0.8),
            ("running_m", "Along", 1.0),
            ("from_m", "From", 1.0),
            ("to_m", "To", 1.0),
            ("drops", "Drops", 0.7),
        ],
    );
    for w in &day.shots {
        for s in w.facts.cover.iter().flat_map(|c| &c.surfaces).filter(|s| s.area_m2 >= 0.005) {
            let wall = s.kind == tapemark_core::cover::SurfaceKind::Wall;
            let of_wall = |m: f64| if wall { Cell::Length(m) } else { Cell::Empty };
            l.rows.push(vec![
                Cell::text(&w.shot.name),
                Cell::text(&s.name),
                Cell::Number(s.area_m2, 2),
                of_wall(s.running_m),
                of_wall(s.heights_m[0]),
                of_wall(s.heights_m[1]),
                if wall { Cell::Number(s.drops as f64, 0) } else { Cell::Empty },
            ]);
        }
    }
    l
}

pub(super) fn notices(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "notices",
        "Notices and cautions",
        &[
            ("shot", "Shot", 0.6),
            ("severity", "", 1.0),
            ("code", "Code", 0.0),
            ("what", "What", 4.5),
            ("remedy", "What to do", 4.5),
        ],
    );
    let of_cuts = tapemark_core::notices::of_cuts(&day.matches, plan);
    for n in day.shots.iter().flat_map(|w| &w.facts.notices).chain(&of_cuts) {
        let severity = match n.severity {
            Severity::Hint => "hint",
            Severity::Problem => "problem",
            Severity::Caution => "CAUTION",
        };
        let shot = n.shot.as_ref().and_then(|id| plan.shot(id)).map_or("", |s| s.name.as_str());
        l.rows.push(vec![
            Cell::text(shot),
            Cell::text(severity),
            Cell::text(n.code),
            Cell::text(&n.what),
            Cell::text(&n.remedy),
        ]);
    }
    l
}
