//! What the core computed, in words: for the command line and the panels alike.

use crate::cli::ShotDaylight;
use tapemark_core::blocking::ClearMap;
use tapemark_core::continuity::{CarryOver, Difference, Match};
use tapemark_core::cover::{Cover, SurfaceKind};
use tapemark_core::edit::{Item, ItemRef};
use tapemark_core::facts::ShotFacts;
use tapemark_core::kit::{Foil, KitList, StandIn, Way};
use tapemark_core::light::{Reached, Reading, Role, Spot, SunSpell};
use tapemark_core::notices::Severity;
use tapemark_core::order::{DayOrder, tasks_in_words};
use tapemark_core::plan::Plan;
use tapemark_core::power::{CableRun, CircuitLoad, Rebalance};
use tapemark_core::scene::piece_label;
use tapemark_core::units::{format_length, format_stop};

/// Severity in words.
#[must_use]
pub fn severity(s: Severity) -> &'static str {
    match s {
        Severity::Hint => "hint",
        Severity::Problem => "problem",
        Severity::Caution => "caution",
    }
}

/// What the lens sees of walls, floors and ceilings, a line each.
#[must_use]
pub fn cover_lines(plan: &Plan, c: &Cover) -> Vec<String> {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = vec![format!(
        "in frame: {:.1} m² of wall, {:.1} m² of floor, {:.1} m² of ceiling",
        c.wall_m2, c.floor_m2, c.ceiling_m2
    )];
    if c.wall_cloth_m > 0.0 {
        out.push(format!("cloth for the walls: {} off a roll {} wide", l(c.wall_cloth_m), l(c.roll_width_m)));
    }
    for s in &c.surfaces {
        let drops = if s.drops == 1 { "1 drop".to_string() } else { format!("{} drops", s.drops) };
        out.push(match s.kind {
            SurfaceKind::Wall => format!(
                "{}: {} along, {} to {} up, {:.1} m²: {drops} of {}",
                s.name,
                l(s.running_m),
                l(s.heights_m[0]),
                l(s.heights_m[1]),
                s.area_m2,
                l(s.heights_m[1] - s.heights_m[0])
            ),
            _ => format!("{}: {:.1} m²", s.name, s.area_m2),
        });
    }
    out
}

/// A clear-view map in words: how much of the floor is open, why the rest is not, and the best places.
pub(crate) fn clear_text(plan: &Plan, map: &ClearMap) -> String {
    let l = |m: f64| format_length(m, plan.length_unit);
    let share = |n: usize| 100.0 * n as f64 / map.least.len().max(1) as f64;
    let open: Vec<usize> = (0..map.least.len()).filter(|i| map.ruled_out[*i].is_none()).collect();
    let clear = open.iter().filter(|i| f64::from(map.least[**i]) >= plan.limits.face_share).count();
    let mut out = vec![format!(
        "{:.0} % of the floor's box is open to the camera; from {:.0} % every face is clear through the whole move",
        share(open.len()),
        share(clear)
    )];
    let mut reasons: Vec<(usize, &str)> = Vec::new();
    for r in map.ruled_out.iter().flatten() {
        match reasons.iter_mut().find(|x| x.1 == r.label()) {
            Some(x) => x.0 += 1,
            None => reasons.push((1, r.label())),
        }
    }
    reasons.sort_by_key(|r| std::cmp::Reverse(r.0));
    out.extend(reasons.iter().map(|(n, why)| format!("  {:.0} % ruled out: {why}", share(*n))));
    let mut best = open;
    best.sort_by(|a, b| map.least[*b].total_cmp(&map.least[*a]));
    for i in best.iter().take(3) {
        let p = map.middle(*i);
        out.push(format!("  east {}, north {}: at worst {:.0} % seen", l(p.x), l(p.y), map.least[*i] * 100.0));
    }
    out.join("\n")
}

/// A spot reading in words.
#[must_use]
pub fn spot_text(s: &Spot) -> String {
    let falls = s.falls_at_stops.map_or(String::new(), |f| format!(", {f:+.1} stops from middle grey"));
    format!("{}: {:.1} cd/m², {}{falls}", s.surface, s.luminance_cd_m2, format_stop(s.t_stop))
}

/// What the goal solver found, a line each.
#[must_use]
pub fn goal_lines(plan: &Plan, r: &Reached) -> Vec<String> {
    let behind = r.background_stops.map_or(String::new(), |b| format!(", wall behind {b:+.1} stops"));
    let lead = if r.met { "Reached" } else { "Nearest" };
    let mut out = vec![format!("{lead}: {}, {:.1}:1{behind}", format_stop(r.t_stop), r.ratio)];
    for c in &r.changes {
        let level = if !c.on {
            "off".into()
        } else if c.scrim_stops > 0.0 {
            format!("{:.1} stops of scrim, dimmer {:.1} %", c.scrim_stops, c.dimmer * 100.0)
        } else {
            format!("dimmer {:.1} %", c.dimmer * 100.0)
        };
        let place = if c.position_m.is_some() {
            format!(", to {} from the face", format_length(c.distance_m, plan.length_unit))
        } else {
            String::new()
        };
        out.push(format!("{}: {level}{place}", c.name));
    }
    if r.changes.is_empty() {
        out.push("nothing to change".into());
    }
    out.extend(r.reasons.iter().map(|why| format!("Because {why}")));
    out
}

pub(crate) fn daylight_text(d: &ShotDaylight) -> String {
    let mut out = vec![format!(
        "shot {} at {}: sun {:.1}° up at azimuth {:.1}°, sky {:.0} lx, sun {:.0} lx",
        d.shot, d.now.clock, d.now.sun.elevation_deg, d.now.sun.azimuth_deg, d.now.sky_lx, d.now.sun_lx
    )];
    out.extend(d.direct_sun.iter().map(|s| format!("  {}", spell_text(s))));
    if d.direct_sun.is_empty() {
        out.push("  no direct sun on faces, floor or lens all day".into());
    }
    out.join("\n")
}

/// A stretch of direct sun in words.
#[must_use]
pub fn spell_text(s: &SunSpell) -> String {
    format!("sun on {} from {} to {}", s.what, s.from, s.to)
}

pub(crate) fn facts_text(plan: &Plan, f: &ShotFacts) -> String {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = vec![format!("shot {} at {:.1} s", f.name, f.at_s)];
    match &f.camera {
        None => out.push("  no camera placed".into()),
        Some(c) => {
            out.push(format!(
                "  {}: {} mm T{}, {:.1}° × {:.1}°, lens {} up",
                c.name,
                c.focal_mm,
                c.t_stop,
                c.horizontal_angle_deg,
                c.vertical_angle_deg,
                l(c.position_m[2])
            ));
            out.push(format!(
                "    focus {}: {} to {} (close focus {})",
                l(c.focus_m),
                l(c.near_m),
                c.far_m.map_or("infinity".into(), l),
                l(c.close_focus_m)
            ));
            out.push(format!(
                "    behind the camera {}{}",
                c.room_behind_m.map_or("open".into(), l),
                if c.operator_fits { "" } else { ": the operator does not fit" }
            ));
            out.push(format!("    exposure wants {:.0} lx", c.wanted_lx));
            if let Some(s) = &c.background {
                out.push(format!("    behind the face: {}", spot_text(s)));
            }
        }
    }
    for p in &f.people {
        out.push(format!("  {}{}: {}", p.name, if p.required { "" } else { " (face not needed)" }, p.sight));
        if let (Some(d), Some(w)) = (p.distance_m, p.field_width_m) {
            out.push(format!(
                "    {} away, frame {} wide{}",
                l(d),
                l(w),
                p.size.map_or(String::new(), |s| format!(", {}", s.label()))
            ));
        }
        if let Some(r) = &p.reading {
            for line in reading_text(r).lines() {
                out.push(format!("    {line}"));
            }
        }
    }
    for lane in &f.lanes {
        for s in &lane.spans {
            out.push(format!("  {}", crate::editor::span_text(lane, s)));
        }
    }
    for w in &f.walks {
        let name = plan.person(&w.person).map_or("", |p| p.name.as_str());
        out.push(format!(
            "  {name} walks {} from {:.1} s to {:.1} s: {:.2} m/s",
            l(w.distance_m),
            w.from_s,
            w.to_s,
            w.speed_m_s
        ));
    }
    for x in f.fixtures.iter().filter(|x| x.on) {
        let colour = match (x.cct_k, x.duv) {
            (Some(k), Some(d)) => format!("{k:.0} K, Duv {d:+.4}"),
            _ => x.xy.map_or("no colour".into(), |[px, py]| format!("x {px:.3} y {py:.3}")),
        };
        out.push(format!(
            "  lamp {}: {:.0} lm, {:.0} cd on its axis, {colour}, {:.1} stops lost before it",
            x.name,
            x.rated_lm,
            x.peak_cd,
            x.loss_stops.unwrap_or(0.0) + 0.0
        ));
    }
    if let Some(d) = &f.daylight {
        out.push(format!("  daylight at {}: sky {:.0} lx, sun {:.0} lx", d.clock, d.sky_lx, d.sun_lx));
    }
    for c in f.circuits.iter().filter(|c| c.load_w > 0.0) {
        out.push(format!(
            "  circuit {}: {:.0} W, {:.1} A of {:.1} A continuous",
            c.name, c.load_w, c.current_a, c.limit_a
        ));
    }
    for n in &f.notices {
        out.push(format!("  {}: {} ({})", severity(n.severity), n.what, n.remedy));
    }
    out.join("\n")
}

pub(crate) fn reading_text(r: &Reading) -> String {
    let colour = match (r.cct_k, r.duv) {
        (Some(k), Some(d)) => format!(", {k:.0} K, Duv {d:+.4}"),
        _ => String::new(),
    };
    let mut out =
        vec![format!("{:.0} lx ({:.1} fc), {}{colour}", r.illuminance_lx, r.illuminance_fc, format_stop(r.t_stop))];
    for p in &r.parts {
        let role = match p.role {
            Role::Key => "key",
            Role::Fill => "fill",
            Role::Back => "back",
            Role::None => "does not reach",
        };
        out.push(format!("  {}: {:.1} lx direct, {:.1} lx bounced ({role})", p.name, p.direct_lx, p.bounced_lx));
    }
    out.join("\n")
}

/// One difference in words.
#[must_use]
pub fn difference_text(d: &Difference) -> String {
    let mark = if d.within { "" } else { ": does not match" };
    format!("{} (tolerated {:.1}){mark}", d.in_words(), d.tolerance)
}

/// Two shots compared on a face, a line each.
#[must_use]
pub fn match_lines(plan: &Plan, m: &Match) -> Vec<String> {
    let name = |id| plan.shot(id).map_or("", |s| s.name.as_str());
    let verdict = if m.matches { "matches" } else { "does not match" };
    let mut out = vec![format!("shots {} and {}, {}: {verdict}", name(&m.first.shot), name(&m.second.shot), m.name)];
    out.extend(m.differences.iter().map(|d| format!("  {}", difference_text(d))));
    out
}

/// A light carried over, a line each.
#[must_use]
pub fn carry_lines(plan: &Plan, c: &CarryOver) -> Vec<String> {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = Vec::new();
    for lamp in &c.lamps {
        let added = if lamp.added { " (to be added)" } else { "" };
        out.push(format!(
            "{}{added}: east {}, north {}, {} up, pan {:.0}°, tilt {:+.0}°, dimmer {:.1} %",
            lamp.name,
            l(lamp.position_m[0]),
            l(lamp.position_m[1]),
            l(lamp.height_m),
            lamp.pan_deg,
            lamp.tilt_deg,
            lamp.dimmer * 100.0
        ));
    }
    out.push(if c.matches { "Left after that, all tolerated:".into() } else { "Left after that:".into() });
    out.extend(c.after.iter().map(|d| format!("  {}", difference_text(d))));
    out.extend(c.reasons.iter().map(|why| format!("Because {why}")));
    out
}

/// Circuits and cables, a line each.
#[must_use]
pub fn power_lines(plan: &Plan, circuits: &[CircuitLoad], cables: &[CableRun], s: &Rebalance) -> Vec<String> {
    let mut out: Vec<String> = circuits.iter().map(|c| format!("  {}", circuit_text(c))).collect();
    out.extend(cables.iter().map(|r| format!("  {}", cable_text(plan, r))));
    out.extend(rebalance_lines(plan, s).into_iter().map(|t| format!("  {t}")));
    out
}

/// A circuit's load in words.
#[must_use]
pub fn circuit_text(c: &CircuitLoad) -> String {
    format!(
        "{}: {:.0} W, {:.0} VA, {:.1} A of {:.1} A continuous on {:.0} A{}",
        c.name,
        c.load_w,
        c.apparent_va,
        c.current_a,
        c.limit_a,
        c.breaker_a,
        if c.current_a > c.limit_a + 1e-9 { ": too much" } else { "" }
    )
}

/// A cable in words.
#[must_use]
pub fn cable_text(plan: &Plan, r: &CableRun) -> String {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = format!(
        "{}: {} of 3 × {} mm² ({} over the floor) to {}, {:.1} A, {:.1} V lost ({:.1} %)",
        r.name,
        l(r.cable_m),
        r.conductor_mm2,
        l(r.floor_m),
        r.outlet,
        r.current_a,
        r.drop_v + r.feed_drop_v.unwrap_or(0.0),
        r.drop_share * 100.0
    );
    if r.light_loss_stops > 0.005 {
        out += &format!(", {:.2} stops of light", r.light_loss_stops);
    }
    if !r.crossings.is_empty() {
        let names: Vec<&str> = r.crossings.iter().map(|c| c.name.as_str()).collect();
        out += &format!("; across {}", names.join(" and "));
    }
    out
}

/// Plugs to move, a line each.
#[must_use]
pub fn rebalance_lines(plan: &Plan, s: &Rebalance) -> Vec<String> {
    if s.moves.is_empty() && s.holds {
        return Vec::new();
    }
    if s.moves.is_empty() {
        return vec![format!(
            "no spread of the plugs holds: {:.1} A too much; use fewer or weaker lamps, or battery lamps",
            s.short_a
        )];
    }
    let name = |id| plan.location.circuits.iter().find(|c| &c.id == id).map_or("", |c| c.name.as_str());
    s.moves
        .iter()
        .map(|m| {
            format!(
                "suggestion: plug {} into {} on {} ({} of cable over the floor)",
                m.name,
                m.to,
                name(&m.circuit),
                format_signed(m.more_cable_m)
            )
        })
        .collect()
}

fn format_signed(m: f64) -> String {
    format!("{m:+.1} m")
}

/// A count in its unit.
#[must_use]
pub fn count_text(n: f64, unit: &str) -> String {
    let n = if n.fract() == 0.0 { format!("{n:.0}") } else { format!("{n:.1}") };
    if unit.is_empty() { n } else { format!("{n} {unit}") }
}

/// The kit list, a line each.
#[must_use]
pub fn kit_lines(k: &KitList) -> Vec<String> {
    let mut out = Vec::new();
    for l in &k.lines {
        let missing = if l.missing > 0.0 {
            let price = l.cost.map_or(String::new(), |c| format!(" {c:.2} {}", k.currency));
            format!(
                "; {} to {}{}",
                count_text(l.missing, l.unit),
                if l.way == Way::Unpriced { "find" } else { l.way.label() },
                price.trim_end()
            )
        } else {
            "; owned".into()
        };
        let wish = if l.only_if_wanted { " (if wanted)" } else { "" };
        out.push(format!("{} × {}{wish}: {}{missing}", count_text(l.needed, l.unit), l.name, l.why));
    }
    out.push(format!("to carry: {:.0} kg, {:.0} l", k.weight_kg, k.volume_l));
    out.push(
        format!("rent {:.2}, buy {:.2} {}; {} lines without a price", k.rent_cost, k.buy_cost, k.currency, k.unpriced)
            .replace(" ;", ";"),
    );
    out.extend(k.stand_ins.iter().map(stand_in_text));
    out
}

/// A stand-in in words.
#[must_use]
pub fn stand_in_text(s: &StandIn) -> String {
    let foil = if s.foil == Foil::Leaves { " with foil leaves" } else { "" };
    let wall = s.wall_stops.map_or(String::new(), |v| format!(", {v:+.1} stops on the wall behind"));
    let spill =
        format!(", {:.0} % of its light astray (was {:.0} %)", s.spill_share * 100.0, s.spill_share_before * 100.0);
    let colour = s.mired.filter(|m| m.abs() >= 1.0).map_or(String::new(), |m| format!(", {m:+.0} mired"));
    let hand = if s.loss_stops <= s.in_hand_stops { "; dimmer and scrims make up for it" } else { "" };
    format!(
        "instead of {} (shot {}): {}{foil}: {:+.1} stops where it counts{spill}{wall}{colour}{hand}",
        s.missing, s.shot, s.by, -s.loss_stops
    )
}

/// The call sheet, a line each.
#[must_use]
pub fn order_lines(plan: &Plan, d: &DayOrder) -> Vec<String> {
    let mut out = Vec::new();
    for c in &d.calls {
        let rig = plan.rig(&c.setup.rig).map_or("", |r| r.name.as_str());
        let camera =
            c.setup.camera.as_ref().and_then(|id| plan.camera(id)).map_or("no camera yet", |k| k.name.as_str());
        let pinned = if c.pinned { " (pinned)" } else { "" };
        let slack = c.slack_min.map_or(String::new(), |s| format!(", slack {s:.0} min"));
        out.push(format!(
            "{}. {} change {:.0} min, {} to {}: shot {}{pinned}; {rig}, {camera}{slack}",
            c.place,
            c.change_at,
            c.change_min,
            c.from,
            c.to,
            c.setup.names.join(", ")
        ));
        let tasks = tasks_in_words(&c.lamps);
        if !tasks.is_empty() {
            out.push(format!("   {tasks}"));
        }
    }
    for p in &d.people {
        out.push(format!("{}: called {}, free {}, waits {:.0} min", p.name, p.call, p.release, p.waits_min));
    }
    let proved = if d.exact { "no order costs less" } else { "the best found" };
    out.push(format!(
        "ends {}, {:.0} min before the wrap; cost {:.0} min against {:.0} in the order of the storyboard ({proved})",
        d.ends, d.slack_min, d.cost, d.storyboard_cost
    ));
    out.extend(d.troubles.iter().map(|t| format!("Trouble: {t}")));
    out
}

/// What a thing on the plan is called.
pub(crate) fn item_name(plan: &Plan, item: &ItemRef) -> String {
    let named = |name: &str, kind: &str| if name.is_empty() { kind.to_string() } else { name.to_string() };
    match item.get(plan) {
        Some(Item::Room(r)) => named(&r.name, "room"),
        Some(Item::Opening(o)) => named(&o.name, "opening"),
        Some(Item::Piece(p)) => piece_label(&p).to_string(),
        Some(Item::Camera(c)) => named(&c.name, "camera"),
        Some(Item::Mark { mark, .. }) => {
            plan.person(&mark.person).map_or("mark".into(), |p| format!("mark of {}", p.name))
        }
        Some(Item::Fixture { fixture, .. }) => fixture.label(),
        Some(Item::Outlet(_)) => "outlet".into(),
        _ => "thing".into(),
    }
}
