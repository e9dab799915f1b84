//! Every list of a plan as data: written as CSV in SI units, or set as a table on paper in the plan's units.

use tapemark_core::day::DayFacts;
use tapemark_core::kit::KitFile;
use tapemark_core::light::Role;
use tapemark_core::notices::Severity;
use tapemark_core::order::tasks_in_words;
use tapemark_core::plan::{Gel, Plan};
use tapemark_core::units::format_length;

/// One value of a list.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A number shown with this many decimals.
    Number(f64, usize),
    /// Metres.
    Length(f64),
    /// Nothing.
    Empty,
}

impl Cell {
    fn text(t: impl Into<String>) -> Cell {
        Cell::Text(t.into())
    }
    fn number(v: Option<f64>, decimals: usize) -> Cell {
        v.map_or(Cell::Empty, |v| Cell::Number(v, decimals))
    }
    fn length(v: Option<f64>) -> Cell {
        v.map_or(Cell::Empty, Cell::Length)
    }
    /// As CSV has it: SI, a full stop for the decimals.
    #[must_use]
    pub fn plain(&self) -> String {
        match self {
            Cell::Text(t) => t.clone(),
            Cell::Number(v, d) => format!("{:.*}", *d, v + 0.0),
            Cell::Length(m) => format!("{m:.3}"),
            Cell::Empty => String::new(),
        }
    }
    /// As paper has it: lengths in the plan's unit.
    #[must_use]
    pub fn shown(&self, plan: &Plan) -> String {
        match self {
            Cell::Length(m) => format_length(*m, plan.length_unit),
            other => other.plain(),
        }
    }
}

/// A column: its key in the CSV with its unit, its title on paper, and its share of the paper's width (0: only
/// in the CSV).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Head {
    /// Key.
    pub key: &'static str,
    /// Title.
    pub title: &'static str,
    /// Share of the width.
    pub share: f64,
}

/// A list.
#[derive(Debug, Clone, PartialEq)]
pub struct List {
    /// Short name, that of its file.
    pub name: &'static str,
    /// Title on paper.
    pub title: &'static str,
    /// Columns.
    pub heads: Vec<Head>,
    /// Rows.
    pub rows: Vec<Vec<Cell>>,
}

impl List {
    fn new(name: &'static str, title: &'static str, heads: &[(&'static str, &'static str, f64)]) -> List {
        let heads = heads.iter().map(|(key, title, share)| Head { key, title, share: *share }).collect();
        List { name, title, heads, rows: Vec::new() }
    }
    /// Name of its CSV file.
    #[must_use]
    pub fn file_name(&self) -> String {
        format!("{}.csv", self.name)
    }
    /// As CSV (RFC 4180).
    #[must_use]
    pub fn csv(&self) -> String {
        let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        // Writing to memory does not fail.
        let _ = out.write_record(self.heads.iter().map(|h| h.key));
        for row in &self.rows {
            let _ = out.write_record(row.iter().map(|c| harmless(&c.plain())));
        }
        out.into_inner().ok().and_then(|b| String::from_utf8(b).ok()).unwrap_or_default()
    }
}

/// A name that a spreadsheet would take for a formula is marked as text.
fn harmless(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']) && text.parse::<f64>().is_err();
    if formula { format!("'{text}") } else { text.into() }
}

/// Every list of a plan.
#[must_use]
pub fn lists(plan: &Plan, kit: &KitFile) -> Vec<List> {
    let day = DayFacts::of(plan, kit, 0.0);
    lists_of(plan, &day)
}

/// As [`lists`], from what is already worked out.
#[must_use]
pub fn lists_of(plan: &Plan, day: &DayFacts<'_>) -> Vec<List> {
    vec![
        shots(plan, day),
        marks(plan, day),
        readings(day),
        lamps(plan, day),
        circuits(day),
        cables(day),
        kit(day),
        stand_ins(day),
        order(plan, day),
        calls(day),
        cuts(plan, day),
        cover(day),
        notices(plan, day),
    ]
}

fn shots(plan: &Plan, day: &DayFacts<'_>) -> List {
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

fn taped(lines: &[tapemark_core::taping::TapeLine], i: usize) -> Cell {
    Cell::length(lines.get(i).map(|t| t.distance_m))
}

fn marks(plan: &Plan, day: &DayFacts<'_>) -> List {
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

fn readings(day: &DayFacts<'_>) -> List {
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

fn lamps(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "lamps",
        "Lamps",
        &[
            ("rig", "Rig", 1.3),
            ("shots", "Shots", 0.8),
            ("lamp", "Lamp", 1.3),
            ("head", "Head", 1.5),
            ("watts_w", "W", 0.6),
            ("dimmer", "Dimmer", 0.7),
            ("scrim_stops", "Scrim", 0.6),
            ("gels", "Gels", 1.6),
            ("cct_k", "K", 0.6),
            ("height_m", "Up", 0.8),
            ("pan_deg", "Pan °", 0.6),
            ("tilt_deg", "Tilt °", 0.6),
            ("east_m", "East", 0.0),
            ("north_m", "North", 0.0),
            ("tape_1_m", "From wall", 0.9),
            ("tape_2_m", "and wall", 0.9),
            ("outlet", "Outlet", 0.9),
        ],
    );
    for r in &day.rigs {
        for f in &r.rig.fixtures {
            let tape = tapemark_core::taping::tape_lines(plan, f.position_m.into());
            let gels: Vec<&str> =
                f.gels.iter().map(Gel::name).chain(f.diffusion.as_ref().map(|d| d.name.as_str())).collect();
            let colour = tapemark_core::colour::cct_duv(tapemark_core::light::light_colour(f)).map(|c| c.0);
            l.rows.push(vec![
                Cell::text(&r.rig.name),
                Cell::text(r.shots.join(" ")),
                Cell::text(f.label()),
                Cell::text(f.generic_name()),
                Cell::Number(f.watts, 0),
                Cell::Number(if f.on { f.dimmer } else { 0.0 }, 3),
                Cell::Number(f.scrim_stops, 1),
                Cell::text(gels.join(" + ")),
                Cell::number(colour, 0),
                Cell::Length(f.height_m),
                Cell::Number(f.pan_deg, 0),
                Cell::Number(f.tilt_deg, 0),
                Cell::Length(f.position_m[0]),
                Cell::Length(f.position_m[1]),
                taped(&tape, 0),
                taped(&tape, 1),
                Cell::text(f.outlet.as_ref().map_or("", |o| o.as_str())),
            ]);
        }
    }
    l
}

fn circuits(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "circuits",
        "Circuits",
        &[
            ("rig", "Rig", 1.5),
            ("circuit", "Circuit", 2.0),
            ("load_w", "W", 0.8),
            ("apparent_va", "VA", 0.8),
            ("current_a", "A", 0.8),
            ("limit_a", "Continuous A", 1.0),
            ("breaker_a", "Breaker A", 1.0),
            ("holds", "Holds", 0.8),
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
                Cell::text(if holds { "yes" } else { "NO" }),
            ]);
        }
    }
    l
}

fn cables(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "cables",
        "Cables",
        &[
            ("rig", "Rig", 1.5),
            ("lamp", "Lamp", 1.6),
            ("outlet", "Outlet", 1.0),
            ("floor_m", "Over floor", 1.0),
            ("cable_m", "Cable", 1.0),
            ("conductor_mm2", "mm²", 0.6),
            ("current_a", "A", 0.7),
            ("drop_v", "V lost", 0.8),
            ("drop_percent", "%", 0.6),
            ("light_loss_stops", "Stops lost", 0.9),
            ("crosses", "Lies across", 1.8),
        ],
    );
    for r in &day.rigs {
        for c in &r.cables {
            let names: Vec<&str> = c.crossings.iter().map(|x| x.name.as_str()).collect();
            l.rows.push(vec![
                Cell::text(&r.rig.name),
                Cell::text(&c.name),
                Cell::text(c.outlet.as_str()),
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

fn kit(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "kit",
        "Kit",
        &[
            ("packed", "✓", 0.3),
            ("needed", "No.", 0.6),
            ("unit", "", 0.7),
            ("thing", "What", 3.4),
            ("why", "Where", 2.4),
            ("owned", "Owned", 0.7),
            ("missing", "Missing", 0.8),
            ("way", "How", 0.8),
            ("cost", "Cost", 0.8),
            ("weight_kg", "kg", 0.7),
            ("volume_l", "l", 0.6),
        ],
    );
    for k in &day.kit.lines {
        let decimals = usize::from(k.needed.fract() != 0.0);
        l.rows.push(vec![
            Cell::Empty,
            Cell::Number(k.needed, decimals),
            Cell::text(k.unit),
            Cell::text(&k.name),
            Cell::text(&k.why),
            Cell::Number(k.owned, decimals),
            Cell::Number(k.missing, decimals),
            Cell::text(if k.only_if_wanted { "if wanted" } else { k.way.label() }),
            Cell::number(k.cost, 2),
            Cell::Number(k.weight_kg, 1),
            Cell::Number(k.volume_l, 0),
        ]);
    }
    l
}

fn stand_ins(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "stand-ins",
        "Stand-ins for missing lamps",
        &[
            ("missing", "Missing", 2.0),
            ("shot", "Shot", 0.6),
            ("by", "Instead", 2.0),
            ("foil", "Foil", 0.8),
            ("loss_stops", "Stops lost", 0.9),
            ("in_hand_stops", "In hand", 0.8),
            ("wall_stops", "More on wall", 1.0),
            ("spill_share", "Astray", 0.7),
            ("spill_share_before", "was", 0.6),
            ("mired", "Mired", 0.7),
            ("owned", "Owned", 0.7),
            ("rent_price", "Rent", 0.7),
        ],
    );
    for s in &day.kit.stand_ins {
        l.rows.push(vec![
            Cell::text(&s.missing),
            Cell::text(&s.shot),
            Cell::text(&s.by),
            Cell::text(if s.foil == tapemark_core::kit::Foil::Leaves { "leaves" } else { "" }),
            Cell::Number(s.loss_stops, 2),
            Cell::Number(s.in_hand_stops, 2),
            Cell::number(s.wall_stops, 2),
            Cell::Number(s.spill_share, 2),
            Cell::Number(s.spill_share_before, 2),
            Cell::number(s.mired, 0),
            Cell::text(if s.owned { "yes" } else { "no" }),
            Cell::number(s.rent_price, 2),
        ]);
    }
    l
}

fn order(plan: &Plan, day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "order",
        "Order of the day",
        &[
            ("place", "No.", 0.4),
            ("change_at", "Change", 0.7),
            ("change_min", "min", 0.5),
            ("from", "From", 0.6),
            ("to", "To", 0.6),
            ("shots", "Shots", 0.9),
            ("rig", "Rig", 1.4),
            ("camera", "Camera", 0.9),
            ("cast", "Cast", 1.6),
            ("slack_min", "Slack", 0.6),
            ("lamps", "Lamps at the change", 3.6),
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
            Cell::text(format!("{}{}", c.setup.names.join(" "), if c.pinned { " pinned" } else { "" })),
            Cell::text(plan.rig(&c.setup.rig).map_or("", |r| r.name.as_str())),
            Cell::text(camera.map_or("", |k| k.name.as_str())),
            Cell::text(cast.join(", ")),
            Cell::number(c.slack_min, 0),
            Cell::text(tasks_in_words(&c.lamps)),
        ]);
    }
    l
}

fn calls(day: &DayFacts<'_>) -> List {
    let mut l = List::new(
        "cast-calls",
        "Cast",
        &[("person", "Who", 2.0), ("call", "Called", 1.0), ("release", "Free", 1.0), ("waits_min", "Waits min", 1.0)],
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

fn cuts(plan: &Plan, day: &DayFacts<'_>) -> List {
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

fn cover(day: &DayFacts<'_>) -> List {
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

fn notices(plan: &Plan, day: &DayFacts<'_>) -> List {
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
