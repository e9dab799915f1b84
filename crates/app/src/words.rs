//! What the core computed, in words: for the command line and the panels alike.

use crate::cli::ShotDaylight;
use tapemark_core::blocking::{ClearMap, Framing, Lane, Suggestion};
use tapemark_core::continuity::{CarryOver, Difference, Match};
use tapemark_core::cover::{Cover, SurfaceKind};
use tapemark_core::edit::{Item, ItemRef};
use tapemark_core::facts::ShotFacts;
use tapemark_core::kit::{Foil, KitList, StandIn, Thing, Way};
use tapemark_core::light::{Part, Reached, Reading, Spot, SunSpell};
use tapemark_core::notices::{Broken, Severity};
use tapemark_core::order::{DayOrder, PersonDay, tasks_in_words};
use tapemark_core::plan::Plan;
use tapemark_core::power::{CableRun, CircuitLoad, Rebalance};
use tapemark_core::scene::piece_label;
use tapemark_core::units::{format_length, format_stop};
use tapemark_sheet::{margin_words, margins_words};
use tapemark_words::{figure, say, signed};

/// Severity in words.
#[must_use]
pub fn severity(s: Severity) -> &'static str {
    match s {
        Severity::Hint => say!("hint"),
        Severity::Problem => say!("problem"),
        Severity::Caution => say!("caution"),
    }
}

/// What the lens sees of walls, floors and ceilings, a line each.
#[must_use]
pub fn cover_lines(plan: &Plan, c: &Cover) -> Vec<String> {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = vec![say!(
        "in-frame-m-of-wall",
        wall_m2 = figure(c.wall_m2, 1),
        floor_m2 = figure(c.floor_m2, 1),
        ceiling_m2 = figure(c.ceiling_m2, 1)
    )];
    if c.wall_cloth_m > 0.0 {
        out.push(say!("cloth-for-the-walls-off-a", wall_cloth_m = l(c.wall_cloth_m), roll_width_m = l(c.roll_width_m)));
    }
    for s in c.told() {
        let drops = say!("so-many-drops", drops = s.drops);
        out.push(match s.kind {
            SurfaceKind::Wall => say!(
                "along-to-up-m-of",
                name = s.name,
                running_m = l(s.running_m),
                heights_m = l(s.heights_m[0]),
                heights_m_2 = l(s.heights_m[1]),
                area_m2 = figure(s.area_m2, 1),
                drops,
                heights_m_3 = l(s.heights_m[1] - s.heights_m[0])
            ),
            _ => format!("{}: {} m²", s.name, figure(s.area_m2, 1)),
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
    let mut out =
        vec![say!("of-the-floors-box-is-open", open = figure(share(open.len()), 0), clear = figure(share(clear), 0))];
    let mut reasons: Vec<(usize, &str)> = Vec::new();
    for r in map.ruled_out.iter().flatten() {
        match reasons.iter_mut().find(|x| x.1 == r.label()) {
            Some(x) => x.0 += 1,
            None => reasons.push((1, r.label())),
        }
    }
    reasons.sort_by_key(|r| std::cmp::Reverse(r.0));
    out.extend(reasons.iter().map(|(n, why)| say!("share-ruled-out", n = figure(share(*n), 0), why)));
    let mut best = open;
    best.sort_by(|a, b| map.least[*b].total_cmp(&map.least[*a]));
    for i in best.iter().take(3) {
        let p = map.middle(*i);
        out.push(say!("east-north-at-worst-seen", x = l(p.x), y = l(p.y), least = figure(map.least[*i] * 100.0, 0)));
    }
    out.join("\n")
}

/// A spot reading in words.
#[must_use]
pub fn spot_text(s: &Spot) -> String {
    let falls = s.falls_at_stops.map_or(String::new(), |f| say!("stops-from-middle-grey", f = signed(f, 1)));
    say!(
        "spot-line",
        surface = s.surface,
        luminance_cd_m2 = figure(s.luminance_cd_m2, 1),
        t_stop = format_stop(s.t_stop),
        falls,
        meter = format_stop(s.spot_meter_t_stop)
    )
}

/// What the goal solver found, a line each.
#[must_use]
pub fn goal_lines(plan: &Plan, r: &Reached) -> Vec<String> {
    let behind = r.background_stops.map_or(String::new(), |b| say!("wall-behind-b-stops", b = signed(b, 1)));
    let lead = match (r.met, r.wishes_met) {
        (true, _) => say!("reached"),
        (_, true) => say!("reached-but"),
        _ => say!("nearest"),
    };
    let mut out = vec![format!("{}: {}, {}:1{}", lead, format_stop(r.t_stop), figure(r.ratio, 1), behind)];
    for c in &r.changes {
        let level = if !c.on {
            say!("off").into()
        } else if c.scrim_stops > 0.0 {
            say!("stops-of-scrim-dimmer", scrim_stops = figure(c.scrim_stops, 1), dimmer = figure(c.dimmer * 100.0, 1))
        } else {
            say!("dimmer-dimmer", dimmer = figure(c.dimmer * 100.0, 1))
        };
        let place = c.height_m.filter(|_| c.position_m.is_some()).map_or(String::new(), |height_m| {
            let l = |m: f64| format_length(m, plan.length_unit);
            let pan_deg = figure(c.pan_deg.unwrap_or(0.0), 0);
            say!("to-from-the-face", distance_m = l(c.distance_m))
                + &say!("head-up-and-pan", height_m = l(height_m), pan_deg)
        });
        out.push(format!("{}: {level}{place}", c.name));
    }
    if r.changes.is_empty() {
        out.push(say!("nothing-to-change").into());
    }
    out.extend(r.reasons.iter().map(|why| say!("because-why", why)));
    out.extend(broken_lines(&r.broken));
    out
}

/// What a change breaks, a line each.
#[must_use]
pub fn broken_lines(broken: &[Broken]) -> Vec<String> {
    let line = |b: &Broken| {
        if b.shot.is_some() {
            say!("but-in-shot-what", shot = b.shot_name, what = b.what)
        } else {
            say!("but-what", what = b.what)
        }
    };
    broken.iter().map(line).collect()
}

/// A suggestion, a line, and one for each thing it breaks.
#[must_use]
pub fn suggestion_lines(s: &Suggestion) -> Vec<String> {
    let least_clear_share = figure(s.least_clear_share * 100.0, 0);
    let mut out = vec![say!("what-least-clear-share-seen", what = s.what, least_clear_share)];
    out.extend(broken_lines(&s.broken));
    out
}

/// Why there is no suggestion: all is clear, or what is not and that nothing small does it; a line each.
#[must_use]
pub fn no_suggestion_lines(unclear: &[Lane]) -> Vec<String> {
    if unclear.is_empty() {
        return vec![say!("all-is-clear-already").into()];
    }
    let spans = unclear.iter().flat_map(|l| l.spans.iter().map(|s| crate::editor::span_text(l, s)));
    spans.chain([say!("no-small-shift-does-it-move").to_string()]).collect()
}

/// A way to frame a size, a line, and one for each thing it breaks.
pub(crate) fn framing_lines(plan: &Plan, f: &Framing) -> Vec<String> {
    let l = |m: f64| format_length(m, plan.length_unit);
    let no = f.refused.as_ref().map_or(String::new(), |w| say!("not-possible-w", w));
    let [x, y] = f.position_m;
    let mut out = vec![say!(
        "focal-mm-mm-from-distance-m",
        focal_mm = figure(f.focal_mm, 1),
        distance_m = l(f.distance_m),
        x = l(x),
        y = l(y),
        no
    )];
    out.extend(broken_lines(&f.broken));
    out
}

pub(crate) fn daylight_text(d: &ShotDaylight) -> String {
    let mut out = vec![say!(
        "shot-at-sun-up-at-azimuth",
        shot = d.shot,
        clock = d.now.clock,
        elevation_deg = figure(d.now.sun.elevation_deg, 1),
        azimuth_deg = figure(d.now.sun.azimuth_deg, 1),
        sky_lx = figure(d.now.sky_lx, 0),
        sun_lx = figure(d.now.sun_lx, 0)
    )];
    out.extend(d.direct_sun.iter().map(|s| format!("  {}", spell_text(s))));
    if d.direct_sun.is_empty() {
        out.push(say!("no-direct-sun-on-faces-floor").into());
    }
    out.join("\n")
}

/// A stretch of direct sun in words.
#[must_use]
pub fn spell_text(s: &SunSpell) -> String {
    say!("sun-on-from-to", what = s.what, from = s.from, to = s.to)
}

pub(crate) fn facts_text(plan: &Plan, f: &ShotFacts) -> String {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = vec![say!("shot-at-seconds", name = f.name, at_s = figure(f.at_s, 1))];
    match &f.camera {
        None => out.push(say!("no-camera-placed").into()),
        Some(c) => {
            out.push(say!(
                "camera-line",
                name = c.name,
                focal_mm = c.focal_mm,
                t_stop = c.t_stop,
                horizontal_angle_deg = figure(c.horizontal_angle_deg, 1),
                vertical_angle_deg = figure(c.vertical_angle_deg, 1),
                position_m = l(c.position_m[2])
            ));
            out.push(say!(
                "focus-to-close-focus",
                focus_m = l(c.focus_m),
                near_m = l(c.near_m),
                far_m = c.far_m.map_or(say!("infinity-word").into(), l),
                close_focus_m = l(c.close_focus_m)
            ));
            out.push(say!(
                "behind-the-camera-room-behind",
                room_behind_m = c.room_behind_m.map_or(say!("open").into(), l),
                operator_fits = match &c.fits_behind_margin {
                    Some(m) => format!(", {}", say!("fits-by", by = margin_words(m, plan.length_unit))),
                    None if c.operator_fits => String::new(),
                    None => say!("colon-operator-does-not-fit").into(),
                }
            ));
            out.push(say!("exposure-wants-wanted-lx", wanted_lx = figure(c.wanted_lx, 0)));
            if let Some(s) = &c.background {
                out.push(say!("behind-the-face-s", s = spot_text(s)));
            }
        }
    }
    for p in &f.people {
        out.push(format!("  {}{}: {}", p.name, if p.required { "" } else { say!("face-not-needed") }, p.sight));
        if let (Some(d), Some(w)) = (p.distance_m, p.field_width_m) {
            out.push(say!(
                "away-frame-wide",
                d = l(d),
                w = l(w),
                size = p.size.map_or(String::new(), |s| format!(", {}", s.label()))
            ));
        }
        let margins = margins_words(&p.margins, plan.length_unit);
        if !margins.is_empty() {
            out.push(format!("    {margins}"));
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
        out.push(say!(
            "walk-line",
            name,
            distance_m = l(w.distance_m),
            from_s = figure(w.from_s, 1),
            to_s = figure(w.to_s, 1),
            speed_m_s = figure(w.speed_m_s, 2)
        ));
    }
    for x in f.fixtures.iter().filter(|x| x.on) {
        let colour = match (x.cct_k, x.duv) {
            (Some(k), Some(d)) => {
                say!("kelvin-and-duv", k = figure(k, 0), d = signed(d, 4))
            }
            _ => x.xy.map_or(say!("no-colour").into(), |[px, py]| format!("x {} y {}", figure(px, 3), figure(py, 3))),
        };
        out.push(say!(
            "lamp-lm-cd-on-its-axis",
            name = x.name,
            rated_lm = figure(x.rated_lm, 0),
            peak_cd = figure(x.peak_cd, 0),
            colour,
            loss_stops = figure(x.loss_stops.unwrap_or(0.0) + 0.0, 1)
        ));
        if let Some(m) = &x.out_of_frame_margin {
            out.push(format!("    {}", say!("out-of-frame-by", by = margin_words(m, plan.length_unit))));
        }
    }
    for g in &f.grip {
        let (size, set_up) = (g.size_in_words(plan.length_unit), g.set_up_in_words(plan.length_unit));
        out.push(say!("grip-line", name = g.name, size, set_up));
    }
    if let Some(d) = &f.daylight {
        out.push(say!(
            "daylight-at-sky-lx-sun-lx",
            clock = d.clock,
            sky_lx = figure(d.sky_lx, 0),
            sun_lx = figure(d.sun_lx, 0)
        ));
    }
    for c in f.circuits.iter().filter(|c| c.load_w > 0.0) {
        out.push(say!("circuit-line", load = load_text(c)));
    }
    for n in &f.notices {
        out.push(format!("  {}: {} ({})", severity(n.severity), n.what, n.remedy));
    }
    out.join("\n")
}

pub(crate) fn reading_text(r: &Reading) -> String {
    let colour = match (r.cct_k, r.duv) {
        (Some(k), Some(d)) => {
            say!("comma-kelvin-and-duv", k = figure(k, 0), d = signed(d, 4))
        }
        _ => String::new(),
    };
    let mut out = vec![say!(
        "lux-and-foot-candles",
        illuminance_lx = figure(r.illuminance_lx, 0),
        illuminance_fc = figure(r.illuminance_fc, 1),
        t_stop = format_stop(r.t_stop),
        colour
    )];
    let nothing = |p: &Part| p.fixture.as_str() == "sky" && p.direct_lx + p.bounced_lx <= 0.0;
    for p in r.parts.iter().filter(|p| !nothing(p)) {
        out.push(say!(
            "lx-direct-lx-bounced",
            name = p.name,
            direct_lx = figure(p.direct_lx, 1),
            bounced_lx = figure(p.bounced_lx, 1),
            role = p.role_in_words()
        ));
    }
    out.join("\n")
}

/// One difference in words.
#[must_use]
pub fn difference_text(d: &Difference) -> String {
    let mark = if d.within { "" } else { say!("colon-does-not-match") };
    say!("difference-tolerated", d = d.in_words(), tolerance = figure(d.tolerance, 1), mark)
}

/// Two shots compared on a face, a line each.
#[must_use]
pub fn match_lines(plan: &Plan, m: &Match) -> Vec<String> {
    let name = |id| plan.shot(id).map_or("", |s| s.name.as_str());
    let verdict = if m.matches { say!("matches") } else { say!("does-not-match-verdict") };
    let mut out =
        vec![say!("cut-line", shot = name(&m.first.shot), shot_2 = name(&m.second.shot), name = m.name, verdict)];
    out.extend(m.differences.iter().map(|d| format!("  {}", difference_text(d))));
    out
}

/// A light carried over, a line each.
#[must_use]
pub fn carry_lines(plan: &Plan, c: &CarryOver) -> Vec<String> {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = Vec::new();
    for lamp in &c.lamps {
        let added = if lamp.added { say!("to-be-added") } else { "" };
        out.push(say!(
            "east-north-up-pan-tilt-dimmer",
            lamp = lamp.name,
            added,
            position_m = l(lamp.position_m[0]),
            position_m_2 = l(lamp.position_m[1]),
            height_m = l(lamp.height_m),
            pan_deg = figure(lamp.pan_deg, 0),
            tilt_deg = signed(lamp.tilt_deg, 0),
            dimmer = figure(lamp.dimmer * 100.0, 1)
        ));
        if lamp.scrim_stops > 0.0
            && let Some(last) = out.last_mut()
        {
            *last += &say!("and-scrims", scrim_stops = figure(lamp.scrim_stops, 1));
        }
    }
    out.push(if c.matches { say!("left-after-that-all-tolerated").into() } else { say!("left-after-that").into() });
    out.extend(c.after.iter().map(|d| format!("  {}", difference_text(d))));
    out.extend(c.reasons.iter().map(|why| say!("because-why", why)));
    out.extend(broken_lines(&c.broken));
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

/// What is on a circuit, in short.
pub(crate) fn load_text(c: &CircuitLoad) -> String {
    say!(
        "load-of-circuit",
        name = c.name,
        load_w = figure(c.load_w, 0),
        current_a = figure(c.current_a, 1),
        limit_a = figure(c.limit_a, 1)
    )
}

/// A circuit's load in words.
#[must_use]
pub fn circuit_text(c: &CircuitLoad) -> String {
    say!(
        "w-va-a-of-a-continuous",
        name = c.name,
        load_w = figure(c.load_w, 0),
        apparent_va = figure(c.apparent_va, 0),
        current_a = figure(c.current_a, 1),
        limit_a = figure(c.limit_a, 1),
        breaker_a = figure(c.breaker_a, 0),
        limit_a_2 = if c.current_a > c.limit_a + 1e-9 { say!("colon-too-much") } else { "" }
    )
}

/// A cable in words.
#[must_use]
pub fn cable_text(plan: &Plan, r: &CableRun) -> String {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = say!(
        "of-3-mm-over-the-floor",
        name = r.name,
        cable_m = l(r.cable_m),
        conductor_mm2 = r.conductor_mm2,
        floor_m = l(r.floor_m),
        outlet = r.outlet,
        current_a = figure(r.current_a, 1),
        feed_drop_v = figure(r.drop_v + r.feed_drop_v.unwrap_or(0.0), 1),
        drop_share = figure(r.drop_share * 100.0, 1)
    );
    if r.light_loss_stops > 0.005 {
        out += &say!("stops-of-light", stops = figure(r.light_loss_stops, 2));
    }
    if !r.crossings.is_empty() {
        let names: Vec<&str> = r.crossings.iter().map(|c| c.name.as_str()).collect();
        out += &say!("across-names", names = names.join(say!("and-word")));
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
        return vec![say!("no-spread-of-the-plugs-holds", short_a = figure(s.short_a, 1))];
    }
    let name = |id| plan.location.circuits.iter().find(|c| &c.id == id).map_or("", |c| c.name.as_str());
    s.moves
        .iter()
        .map(|m| {
            say!(
                "suggestion-plug-into-on-of-cable",
                name = m.name,
                to = m.to,
                circuit = name(&m.circuit),
                more_cable_m = format_signed(m.more_cable_m)
            )
        })
        .collect()
}

fn format_signed(m: f64) -> String {
    format!("{} m", signed(m, 1))
}

/// A count in its unit.
#[must_use]
pub fn count_text(n: f64, thing: &Thing) -> String {
    let unit = thing.unit_of(n);
    let n = if n.fract() == 0.0 { figure(n, 0) } else { figure(n, 1) };
    if unit.is_empty() { n } else { format!("{n} {unit}") }
}

/// The kit list, a line each.
#[must_use]
pub fn kit_lines(k: &KitList) -> Vec<String> {
    let mut out = Vec::new();
    for l in &k.lines {
        let missing = if l.missing > 0.0 {
            let price = l.cost.map_or(String::new(), |c| format!(" {}", k.price(c)));
            say!(
                "missing-and-how",
                missing = count_text(l.missing, &l.thing),
                way = if l.way == Way::Unpriced { say!("find") } else { l.way.label() },
                price
            )
        } else {
            say!("owned-word").into()
        };
        let wish = if l.only_if_wanted { say!("if-wanted") } else { "" };
        out.push(format!("{} × {}{wish}: {}{missing}", count_text(l.needed, &l.thing), l.name, l.why));
    }
    out.push(say!("to-carry-weight-kg-volume", weight_kg = figure(k.weight_kg, 0), volume_l = figure(k.volume_l, 0)));
    out.push(say!(
        "rent-buy-lines-without-a-price",
        rent_cost = k.price(k.rent_cost),
        buy_cost = k.price(k.buy_cost),
        unpriced = k.unpriced
    ));
    out.extend(k.stand_ins.iter().map(stand_in_text));
    out
}

/// A stand-in in words.
#[must_use]
pub fn stand_in_text(s: &StandIn) -> String {
    let foil = if s.foil == Foil::Leaves { say!("with-foil-leaves") } else { "" };
    let wall = s.wall_stops.map_or(String::new(), |v| say!("stops-on-the-wall-behind", v = signed(v, 1)));
    let spill = say!(
        "of-its-light-astray-was",
        spill_share = figure(s.spill_share * 100.0, 0),
        spill_share_before = figure(s.spill_share_before * 100.0, 0)
    );
    let colour = s.mired.filter(|m| m.abs() >= 1.0).map_or(String::new(), |m| say!("comma-mired", m = signed(m, 0)));
    let hand = if s.loss_stops <= s.in_hand_stops { say!("dimmer-and-scrims-make-up-for") } else { "" };
    say!(
        "instead-of-shot-stops-where-it",
        missing = s.missing,
        shot = s.shot,
        by = s.by,
        foil,
        loss_stops = signed(-s.loss_stops, 1),
        spill,
        wall,
        colour,
        hand
    )
}

/// The call sheet, a line each.
#[must_use]
pub fn order_lines(plan: &Plan, d: &DayOrder) -> Vec<String> {
    let mut out = Vec::new();
    for c in &d.calls {
        let rig = plan.rig(&c.setup.rig).map_or("", |r| r.name.as_str());
        let camera =
            c.setup.camera.as_ref().and_then(|id| plan.camera(id)).map_or(say!("no-camera-yet"), |k| k.name.as_str());
        let pinned = if c.pinned { say!("pinned") } else { "" };
        let slack = c.slack_min.map_or(String::new(), |s| say!("slack-s-min", s = figure(s, 0)));
        out.push(say!(
            "change-min-to-shot",
            place = c.place,
            change_at = c.change_at,
            change_min = figure(c.change_min, 0),
            from = c.from,
            to = c.to,
            names = c.setup.names.join(", "),
            pinned,
            rig,
            camera,
            slack
        ));
        let tasks = tasks_in_words(&c.lamps);
        if !tasks.is_empty() {
            out.push(format!("   {tasks}"));
        }
    }
    out.extend(d.people.iter().map(call_text));
    out.push(say!(
        "ends-min-before-the-wrap-cost",
        ends = d.ends,
        slack_min = figure(d.slack_min, 0),
        cost = figure(d.cost, 0),
        storyboard_cost = figure(d.storyboard_cost, 0),
        proved = proof_text(d)
    ));
    out.extend(d.troubles.iter().map(|t| say!("trouble-t", t)));
    out
}

/// When somebody is called and free.
pub(crate) fn call_text(p: &PersonDay) -> String {
    say!("called-free-waits-min", name = p.name, call = p.call, release = p.release, waits_min = figure(p.waits_min, 0))
}

/// Whether a better order could be.
pub(crate) fn proof_text(d: &DayOrder) -> &'static str {
    if d.exact { say!("no-order-costs-less") } else { say!("the-best-found") }
}

/// What a thing on the plan is called.
pub(crate) fn item_name(plan: &Plan, item: &ItemRef) -> String {
    let named = |name: &str, kind: &str| if name.is_empty() { kind.to_string() } else { name.to_string() };
    match item.get(plan) {
        Some(Item::Room(r)) => named(&r.name, say!("room")),
        Some(Item::Opening(o)) => named(&o.name, say!("opening")),
        Some(Item::Piece(p)) => piece_label(&p).to_string(),
        Some(Item::Camera(c)) => named(&c.name, say!("camera")),
        Some(Item::Mark { mark, .. }) => {
            plan.person(&mark.person).map_or(say!("mark").into(), |p| say!("mark-of-name", name = p.name))
        }
        Some(Item::Fixture { fixture, .. }) => fixture.label(),
        Some(Item::Outlet(_)) => say!("outlet").into(),
        _ => say!("thing").into(),
    }
}
