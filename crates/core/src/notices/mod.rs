//! What a plan gets wrong: with severity, place and remedy.

mod margins;
mod power;
mod trade;
mod ways;

pub use margins::is_margin;
pub(crate) use ways::Floor;

use crate::blocking;
use crate::blocking::Moments;
use crate::facts::{ShotFacts, TURNED_AWAY, shot_facts};
use crate::geometry::{Owner, OwnerIx, distance_to_outline, point_in_polygon};
use crate::light::Transport;
use crate::plan::{Mount, Plan, Shot, ShotId};
use crate::scene::{Scene, footprint, piece_label};
use glam::DVec2;
use serde::Serialize;
use tapemark_words::{figure, say};

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Worth knowing.
    Hint,
    /// The shot suffers.
    Problem,
    /// Someone can be hurt.
    Caution,
}

/// Something a plan gets wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Notice {
    /// Stable name of the kind of notice.
    pub code: &'static str,
    /// How bad.
    pub severity: Severity,
    /// In which shot; absent: the whole plan.
    pub shot: Option<ShotId>,
    /// The item it is about.
    pub item: String,
    /// Where on the plan, metres.
    pub place_m: Option<[f64; 2]>,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

/// Cables, hot heads and mains: said on every sheet.
#[must_use]
pub fn caution() -> &'static str {
    say!("hot-heads-and-mains")
}

struct Collector<'a> {
    shot: &'a Shot,
    out: Vec<Notice>,
}

impl Collector<'_> {
    fn say(
        &mut self,
        code: &'static str,
        severity: Severity,
        item: &str,
        place: Option<DVec2>,
        what: String,
        remedy: impl Into<String>,
    ) {
        self.out.push(Notice {
            code,
            severity,
            shot: Some(self.shot.id.clone()),
            item: item.into(),
            place_m: place.map(|p| p.to_array()),
            what,
            remedy: remedy.into(),
        });
    }
}

/// Every notice of a plan, shot by shot.
#[must_use]
pub fn of_plan(plan: &Plan) -> Vec<Notice> {
    let of_shots = plan.shots.iter().flat_map(|s| shot_facts(plan, s, 0.0).notices);
    of_shots.chain(of_cuts(&crate::continuity::of_plan(plan), plan)).collect()
}

/// What does not match between shots that cut together.
#[must_use]
pub fn of_cuts(matches: &[crate::continuity::Match], plan: &Plan) -> Vec<Notice> {
    let name = |id: &ShotId| plan.shot(id).map_or("", |s| s.name.as_str());
    matches
        .iter()
        .filter(|m| !m.matches)
        .map(|m| {
            let off: Vec<String> = m.differences.iter().filter(|d| !d.within).map(|d| d.in_words()).collect();
            Notice {
                code: "light-does-not-match",
                severity: Severity::Problem,
                shot: Some(m.second.shot.clone()),
                item: m.person.to_string(),
                place_m: None,
                what: say!(
                    "light-does-not-match",
                    name = m.name,
                    shot = name(&m.first.shot),
                    shot_2 = name(&m.second.shot),
                    off = off.join(", ")
                ),
                remedy: say!("carry-the-light-over-or-widen").into(),
            }
        })
        .collect()
}

/// The notices of one shot at the moment of its facts.
#[must_use]
pub fn of_shot(
    plan: &Plan,
    shot: &Shot,
    scene: &Scene,
    facts: &ShotFacts,
    moments: &Moments,
    transport: &Transport,
) -> Vec<Notice> {
    let mut c = Collector { shot, out: Vec::new() };
    camera(&mut c, plan, scene, facts);
    faces(&mut c, plan, scene, facts);
    fixtures(&mut c, plan, scene, facts);
    doors(&mut c, plan, scene);
    trade::all(&mut c, plan, scene, facts, moments, transport);
    ways::ways(&mut c, plan, scene, facts, moments);
    power::power(&mut c, plan, scene, facts);
    margins::barely(&mut c, plan, scene, facts);
    c.out
}

fn camera(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    let (Some(camera), Some(view)) = (&facts.camera, &scene.view) else {
        c.say(
            "no-camera",
            Severity::Hint,
            c.shot.id.clone().as_str(),
            None,
            say!("shot-has-no-camera-yet", shot = c.shot.name),
            say!("place-a-camera-on-the-plan"),
        );
        return;
    };
    let at = view.eye.truncate();
    let id = camera.camera.as_str();
    if !plan.location.rooms.is_empty() && !inside_any_room(plan, at) {
        c.say(
            "camera-outside",
            Severity::Problem,
            id,
            Some(at),
            say!("the-camera-stands-outside-every-room").into(),
            say!("move-it-inside-or-draw-the"),
        );
    }
    if let Some(piece) = plan
        .location
        .pieces
        .iter()
        .find(|p| p.base_m <= view.eye.z && view.eye.z <= p.top_m && point_in_polygon(at, &footprint(p)))
    {
        c.say(
            "camera-in-piece",
            Severity::Problem,
            id,
            Some(at),
            say!("the-camera-stands-inside", piece = piece_label(piece)),
            say!("move-the-camera-or-the-piece"),
        );
    }
    if let Some(behind) = camera.room_behind_m
        && !camera.operator_fits
    {
        c.say(
            "no-room-behind",
            Severity::Problem,
            id,
            Some(at),
            say!(
                "m-behind-the-camera-an-operator",
                behind = figure(behind, 2),
                room_behind_m = figure(plan.limits.room_behind_m, 2)
            ),
            say!("move-the-camera-forward-and-use"),
        );
    }
    if camera.focus_m < camera.close_focus_m {
        c.say(
            "too-close-to-focus",
            Severity::Problem,
            id,
            Some(at),
            say!(
                "focus-at-m-is-nearer-than",
                focus_m = figure(camera.focus_m, 2),
                close_focus_m = figure(camera.close_focus_m, 2)
            ),
            say!("move-the-camera-back-or-use"),
        );
    }
}

fn inside_any_room(plan: &Plan, p: DVec2) -> bool {
    crate::taping::room_at(plan, p).is_some()
}

fn faces(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    for h in &facts.hidden {
        let name = plan.person(&h.person).map(|p| p.name.clone()).unwrap_or_default();
        let place = scene.placed(&h.person).map(|p| p.position);
        let when = if h.from_s <= 0.0 && h.to_s >= c.shot.length_s {
            say!("the-whole-shot").to_string()
        } else {
            say!("from-s-to", from_s = figure(h.from_s, 1), to_s = figure(h.to_s, 1))
        };
        c.say(
            "face-hidden",
            Severity::Problem,
            h.person.as_str(),
            place,
            say!("face-hidden-by", name, by = h.by, when, least_clear_share = (h.least_clear_share * 100.0).round()),
            say!("move-the-camera-or-aside-until", by = h.by, name),
        );
    }
    for id in &c.shot.faces.clone() {
        let name = plan.person(id).map(|p| p.name.clone()).unwrap_or_default();
        let Some(p) = facts.people.iter().find(|p| &p.person == id) else {
            if !c.shot.marks.iter().any(|m| &m.person == id) {
                c.say(
                    "not-placed",
                    Severity::Hint,
                    id.as_str(),
                    None,
                    say!("face-wanted-without-mark", name),
                    say!("place-a-mark-or-take-the"),
                );
            }
            continue;
        };
        let place = Some(DVec2::from_array(p.position_m));
        if facts.camera.is_none() {
            continue;
        }
        let in_frame = p.in_frame_share.unwrap_or(0.0);
        if in_frame <= 0.0 {
            c.say(
                "out-of-frame",
                Severity::Problem,
                id.as_str(),
                place,
                say!("face-out-of-frame", name),
                say!("pan-tilt-or-widen-the-lens"),
            );
            continue;
        } else if in_frame < 1.0 {
            c.say(
                "cut-by-frame",
                Severity::Problem,
                id.as_str(),
                place,
                say!("head-cut-by-frame", name),
                say!("tilt-or-pan-the-camera-or"),
            );
        }
        if p.turned_share.unwrap_or(1.0) < TURNED_AWAY {
            c.say(
                "turned-away",
                Severity::Problem,
                id.as_str(),
                place,
                say!("is-turned-away", name),
                say!("turn-the-person-or-move-the"),
            );
        }
        if p.in_focus == Some(false) {
            c.say(
                "out-of-focus",
                Severity::Problem,
                id.as_str(),
                place,
                say!("face-out-of-depth-of-field", name),
                say!("stop-down-focus-there-or-bring"),
            );
        }
        if let (Some(r), Some(camera)) = (&p.reading, &facts.camera) {
            match p.exposure_stops {
                None => c.say(
                    "dark-face",
                    Severity::Problem,
                    id.as_str(),
                    place,
                    say!("no-light-reaches-s-face", name),
                    say!("aim-a-lamp-at-the-face"),
                ),
                Some(s) if s.abs() > plan.limits.exposure_stops => {
                    let (word, remedy) = if s < 0.0 {
                        (say!("under"), say!("open-the-lens-raise-the-ei"))
                    } else {
                        (say!("over"), say!("close-the-lens-add-neutral-density"))
                    };
                    c.say(
                        "face-exposure",
                        Severity::Problem,
                        id.as_str(),
                        place,
                        say!(
                            "face-over-or-under",
                            name,
                            s = figure(s.abs(), 1),
                            word,
                            illuminance_lx = figure(r.illuminance_lx, 0),
                            t_stop = camera.t_stop,
                            wanted_lx = figure(camera.wanted_lx, 0)
                        ),
                        remedy,
                    );
                }
                Some(_) => {}
            }
        }
    }
}

fn fixtures(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    let Some(rig) = plan.shot_rig(c.shot) else { return };
    if rig.fixtures.iter().all(|f| !f.on) && !facts.people.is_empty() {
        c.say(
            "no-light",
            Severity::Hint,
            rig.id.as_str(),
            None,
            say!("no-lamp-burns-in", rig = rig.name),
            say!("place-a-lamp-or-switch-one"),
        );
    }
    for f in &rig.fixtures {
        let at = DVec2::from_array(f.position_m);
        let name = f.label();
        let head = at.extend(f.height_m);
        if let Some(piece) = plan
            .location
            .pieces
            .iter()
            .find(|p| p.base_m < f.height_m && f.height_m < p.top_m && point_in_polygon(at, &footprint(p)))
        {
            c.say(
                "lamp-in-piece",
                Severity::Problem,
                f.id.as_str(),
                Some(at),
                say!("name-stands-inside-piece", name, piece = piece_label(piece)),
                say!("move-the-lamp-or-the-piece"),
            );
        }
        match crate::taping::room_at(plan, at) {
            None if !plan.location.rooms.is_empty() && f.on => c.say(
                "lamp-in-wall",
                Severity::Problem,
                f.id.as_str(),
                Some(at),
                say!("stands-in-a-wall-or-outside", name),
                say!("move-the-lamp-into-a-room"),
            ),
            Some(room) if f.height_m > room.ceiling_m => c.say(
                "lamp-above-ceiling",
                Severity::Problem,
                f.id.as_str(),
                Some(at),
                say!("hangs-above-the-ceiling-of", name, room = room.name),
                say!("lower-the-lamp-or-raise-the"),
            ),
            _ => {}
        }
        if f.mount != Mount::Set
            && let Some(view) = &scene.view
        {
            let parts: &[f64] = if f.mount == Mount::Stand { &[1.0, 0.75, 0.5, 0.25, 0.0] } else { &[1.0] };
            let seen = parts.iter().any(|s| blocking::sees(&scene.solids, view, at.extend(head.z * s), OwnerIx::NONE));
            if seen {
                c.say(
                    "lamp-in-frame",
                    Severity::Problem,
                    f.id.as_str(),
                    Some(at),
                    say!("or-its-stand-is-in-frame", name),
                    say!("move-it-out-of-the-wedge"),
                );
            }
        }
        if f.on && f.lamp.hot() {
            let near = plan
                .location
                .pieces
                .iter()
                .filter(|p| {
                    p.top_m + plan.limits.hot_clearance_m > f.height_m
                        && p.base_m - plan.limits.hot_clearance_m < f.height_m
                })
                .map(|p| {
                    let dz = (f.height_m - p.top_m).max(p.base_m - f.height_m).max(0.0);
                    (distance_to_outline(at, &footprint(p)).hypot(dz), piece_label(p))
                })
                .min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((distance, piece)) = near
                && distance < plan.limits.hot_clearance_m
            {
                c.say(
                    "hot-lamp-near",
                    Severity::Caution,
                    f.id.as_str(),
                    Some(at),
                    say!(
                        "is-hot-and-m-from-keep",
                        name,
                        distance = figure(distance, 2),
                        piece,
                        hot_clearance_m = figure(plan.limits.hot_clearance_m, 2)
                    ),
                    say!("move-it-away-and-never-leave"),
                );
            }
            if let Some(p) = facts.people.iter().find(|p| {
                DVec2::from_array(p.position_m).distance(at) < plan.limits.hot_clearance_m && f.height_m < 2.4
            }) {
                c.say(
                    "hot-lamp-near-person",
                    Severity::Caution,
                    f.id.as_str(),
                    Some(at),
                    say!(
                        "is-hot-and-m-from",
                        name,
                        at = figure(DVec2::from_array(p.position_m).distance(at), 2),
                        name_2 = p.name
                    ),
                    say!("move-it-back-or-raise-it"),
                );
            }
        }
        if f.on && f.lamp.hot() && f.barn_doors.is_none() && !(f.gels.is_empty() && f.diffusion.is_none()) {
            c.say(
                "gel-on-hot-head",
                Severity::Caution,
                f.id.as_str(),
                Some(at),
                say!("is-hot-and-has-a-gel", name),
                say!("hang-heat-resistant-gel-on-doors"),
            );
        }
        if f.on && f.watts > 0.0 && f.outlet.is_none() && !plan.location.outlets.is_empty() && f.mount != Mount::Ceiling
        {
            c.say(
                "not-plugged-in",
                Severity::Hint,
                f.id.as_str(),
                Some(at),
                say!("is-on-no-outlet-its-load", name),
                say!("choose-an-outlet-for-it"),
            );
        }
    }
}

/// A stand's feet spread about this far from its post, metres (common practice, no source).
const STAND_FOOT_M: f64 = 0.45;

fn doors(c: &mut Collector, plan: &Plan, scene: &Scene) {
    let Some(rig) = plan.shot_rig(c.shot) else { return };
    for place in &scene.walls.openings {
        let Some(leaf) = place.leaf else { continue };
        let o = &plan.location.openings[place.index];
        let middle = (place.a + place.b) * 0.5;
        let width = place.a.distance(place.b);
        for f in rig.fixtures.iter().filter(|f| f.mount == Mount::Stand) {
            let at = DVec2::from_array(f.position_m);
            let swing_side = (at - leaf.hinge).length() < width + STAND_FOOT_M && {
                let v = crate::geometry::rotate_bearing(leaf.shut_tip - leaf.hinge, leaf.turn * 90.0);
                (at - leaf.hinge).dot(v) > -STAND_FOOT_M * width
            };
            let in_doorway = at.distance(middle) < width * 0.5 + STAND_FOOT_M;
            if in_doorway || swing_side && blocks_swing(leaf, at, width) {
                c.say(
                    "door-blocked",
                    Severity::Caution,
                    f.id.as_str(),
                    Some(at),
                    say!(
                        "stand-in-the-way-of",
                        f = f.label(),
                        id = scene.name_of(plan, scene.solids.owner_ix(&Owner::Door(o.id.clone())))
                    ),
                    say!("move-the-stand-people-must-get"),
                );
            }
        }
        for p in &scene.people {
            let v = p.position - leaf.hinge;
            if v.length() < width + STANDING_M && blocks_swing(leaf, p.position, width - STAND_FOOT_M + STANDING_M) {
                c.say(
                    "door-hits-person",
                    Severity::Caution,
                    p.person.as_str(),
                    Some(p.position),
                    say!(
                        "name-stands-where-id-swings",
                        name = p.name,
                        id = scene.name_of(plan, scene.solids.owner_ix(&Owner::Door(o.id.clone())))
                    ),
                    say!("move-the-mark-out-of-the"),
                );
            }
        }
    }
}

/// Half the depth and breadth of a person who stands, metres.
const STANDING_M: f64 = 0.25;

fn blocks_swing(leaf: crate::geometry::Leaf, at: DVec2, width: f64) -> bool {
    let v = at - leaf.hinge;
    let shut = leaf.shut_tip - leaf.hinge;
    let angle = crate::scene::turn_deg(crate::geometry::bearing_deg(shut), crate::geometry::bearing_deg(v)) * leaf.turn;
    v.length() < width + STAND_FOOT_M && (0.0..=100.0).contains(&angle)
}
