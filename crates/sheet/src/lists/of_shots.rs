//! Lists of the shots: what is shot, where people stand, what the meter reads, what cuts, what is in frame, what is wrong.

use super::{Cell, List};
use tapemark_core::day::DayFacts;
use tapemark_core::light::Role;
use tapemark_core::notices::Severity;
use tapemark_core::plan::Plan;
use tapemark_core::walk::{TapedKind, taping_walk};
use tapemark_words::say;

pub(super) fn shots(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "shots",
        say!("shot-list"),
        &[
            ("shot", say!("shot-label"), 0.6),
            ("size", say!("size"), 1.3),
            ("description", say!("what-happens"), 4.0),
            ("length_s", "s", 0.5),
            ("takes", say!("takes"), 0.6),
            ("rig", say!("rig-label"), 1.5),
            ("camera", say!("camera-label"), 0.9),
            ("lens_mm", "mm", 0.6),
            ("t_stop", "T", 0.5),
            ("lens_height_m", say!("lens-up"), 0.9),
            ("cuts_with", say!("cuts-with"), 0.9),
            ("notes", say!("notes"), 2.0),
        ],
    );
    for w in &day.shots {
        let s = w.shot;
        let camera = plan.shot_camera(s);
        let name = |id| plan.shot(id).map_or("", |s| s.name.as_str());
        let variant = s.variant_of.as_ref().map_or(String::new(), |v| say!("instead-of-v", v = name(v)));
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

/// The letter of the wall, or the letters of the corner, that the i-th distance is from.
pub(super) fn walled(plan: &Plan, at_m: [f64; 2], lines: &[tapemark_core::taping::TapeLine], i: usize) -> Cell {
    Cell::text(lines.get(i).map_or(String::new(), |t| tapemark_core::taping::taped_from(plan, at_m.into(), t)))
}

pub(super) fn marks(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "marks",
        say!("marks-to-tape"),
        &[
            ("shot", say!("shot-label"), 0.6),
            ("person", say!("who"), 1.4),
            ("from_s", say!("from-s"), 0.7),
            ("to_s", say!("to-s"), 0.7),
            ("east_m", say!("east-label"), 0.0),
            ("north_m", say!("north-label"), 0.0),
            ("facing_deg", say!("faces"), 0.8),
            ("pose", say!("pose"), 1.0),
            ("tape_1_m", say!("from-wall"), 1.0),
            ("wall_1", say!("wall-letter"), 0.5),
            ("tape_2_m", say!("and-wall"), 1.0),
            ("wall_2", say!("wall-letter"), 0.5),
        ],
    );
    for w in &day.shots {
        for m in &w.shot.marks {
            let tape = tapemark_core::taping::tape_lines(plan, m.position_m.into());
            let pose = match m.pose {
                tapemark_core::plan::Pose::Standing => say!("stands"),
                tapemark_core::plan::Pose::Seated => say!("sits"),
                tapemark_core::plan::Pose::Kneeling => say!("kneels"),
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
                walled(plan, m.position_m, &tape, 0),
                taped(&tape, 1),
                walled(plan, m.position_m, &tape, 1),
            ]);
        }
    }
    l
}

/// Everything to tape on the floor, in the order of walking it.
pub(super) fn taping(plan: &Plan) -> List {
    let mut l = List::new(
        "taping",
        say!("taping-in-order"),
        &[
            ("no", say!("no"), 0.4),
            ("room", say!("room-label"), 1.3),
            ("kind", say!("kind"), 1.0),
            ("person", say!("whose"), 1.4),
            ("number", "#", 0.3),
            ("shots", say!("shots"), 1.0),
            ("tape_1_m", say!("from-wall"), 1.0),
            ("wall_1", say!("wall-letter"), 0.5),
            ("tape_2_m", say!("and-wall"), 1.0),
            ("wall_2", say!("wall-letter"), 0.5),
            ("facing_wall", say!("faces-wall"), 0.8),
            ("facing_deg", say!("faces"), 0.7),
            ("east_m", say!("east-label"), 0.0),
            ("north_m", say!("north-label"), 0.0),
        ],
    );
    for (n, p) in taping_walk(plan).iter().enumerate() {
        let kind = match p.kind {
            TapedKind::Mark => say!("mark"),
            TapedKind::Camera => say!("camera-label"),
            TapedKind::Stand => say!("stand-of-lamp"),
        };
        let room = p.room.map(|r| &plan.location.rooms[r]);
        l.rows.push(vec![
            Cell::Number((n + 1) as f64, 0),
            Cell::text(room.map_or("", |r| r.name.as_str())),
            Cell::text(kind),
            Cell::text(&p.name),
            Cell::Number(p.number as f64, 0),
            Cell::text(p.shots.join(" ")),
            taped(&p.tape, 0),
            walled(plan, p.at_m, &p.tape, 0),
            taped(&p.tape, 1),
            walled(plan, p.at_m, &p.tape, 1),
            Cell::text(p.facing_wall.as_deref().unwrap_or_default()),
            Cell::Number(p.facing_deg, 0),
            Cell::Length(p.at_m[0]),
            Cell::Length(p.at_m[1]),
        ]);
    }
    l
}

pub(super) fn readings(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "readings",
        say!("readings"),
        &[
            ("shot", say!("shot-label"), 0.6),
            ("person", say!("face"), 1.2),
            ("distance_m", say!("from-sensor"), 1.0),
            ("size", say!("size"), 1.3),
            ("sight", say!("seen"), 2.4),
            ("illuminance_lx", "lx", 0.7),
            ("illuminance_fc", "fc", 0.6),
            ("t_stop", "T", 0.6),
            ("exposure_stops", say!("stops-label"), 0.7),
            ("cct_k", "K", 0.7),
            ("duv", say!("duv"), 0.8),
            ("key", say!("key-label"), 1.4),
            ("back", say!("back-label"), 1.2),
            ("hair_lx", say!("hair-lx-label"), 0.8),
            ("background_stops", say!("wall-behind"), 1.0),
        ],
    );
    for w in &day.shots {
        for p in &w.facts.people {
            let r = p.reading.as_ref();
            let key = r.and_then(|r| r.parts.iter().find(|x| x.role == Role::Key));
            let backs = r.map(|r| r.parts.as_slice()).unwrap_or_default().iter().filter(|x| x.role == Role::Back);
            let back = backs.max_by(|a, b| a.hair_lx.unwrap_or(0.0).total_cmp(&b.hair_lx.unwrap_or(0.0)));
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
                Cell::text(back.map_or("", |b| b.name.as_str())),
                Cell::number(back.and_then(|b| b.hair_lx), 0),
                Cell::number(behind, 2),
            ]);
        }
    }
    l
}

pub(super) fn cuts(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "continuity",
        say!("shots-that-cut-together"),
        &[
            ("first", say!("from"), 0.6),
            ("second", say!("to-label"), 0.6),
            ("person", say!("face"), 1.2),
            ("what", say!("what"), 2.0),
            ("difference", say!("difference"), 1.0),
            ("unit", "", 0.7),
            ("tolerance", say!("tolerated"), 1.0),
            ("matches", say!("matches-label"), 0.9),
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
                Cell::text(if d.within { say!("yes") } else { say!("no-label") }),
            ]);
        }
    }
    l
}

pub(super) fn cover(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "cover",
        say!("surfaces-in-frame-black-cloth-for"),
        &[
            ("shot", say!("shot-label"), 0.6),
            ("surface", say!("surface"), 3.0),
            ("area_m2", "m²", 0.8),
            ("running_m", say!("along"), 1.0),
            ("from_m", say!("from"), 1.0),
            ("to_m", say!("to-label"), 1.0),
            ("drops", say!("drops"), 0.7),
        ],
    );
    for w in &day.shots {
        if let Some(f) = w.facts.failed.iter().find(|f| f.answer == tapemark_core::attempt::Answer::Cover) {
            let mut row = vec![Cell::text(&w.shot.name), Cell::text(tapemark_core::notices::failed_text(f))];
            row.resize_with(l.heads.len(), || Cell::Empty);
            l.rows.push(row);
        }
        for s in w.facts.cover.iter().flat_map(tapemark_core::cover::Cover::told) {
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
        say!("notices-and-cautions"),
        &[
            ("shot", say!("shot-label"), 0.6),
            ("severity", "", 1.0),
            ("code", say!("code"), 0.0),
            ("what", say!("what"), 4.5),
            ("remedy", say!("what-to-do"), 4.5),
        ],
    );
    let of_cuts = tapemark_core::notices::of_cuts(&day.matches, plan);
    for n in day.shots.iter().flat_map(|w| &w.facts.notices).chain(&of_cuts) {
        let severity = match n.severity {
            Severity::Hint => say!("hint"),
            Severity::Problem => say!("problem"),
            Severity::Caution => say!("caution-label"),
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
