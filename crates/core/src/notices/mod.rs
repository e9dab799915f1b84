//! What a plan gets wrong: with severity, place and remedy.

mod power;
mod trade;
mod ways;

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
pub const CAUTION: &str = "Tungsten heads burn skin and scorch cloth: keep clear, never leave them alone. Sandbag every stand, tape every cable, keep exits free. Mains and overhead rigging: local code and a licensed practitioner decide.";

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
                what: format!(
                    "{}'s light does not match from shot {} to {}: {}",
                    m.name,
                    name(&m.first.shot),
                    name(&m.second.shot),
                    off.join(", ")
                ),
                remedy: "carry the light over, or widen what is tolerated".into(),
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
    c.out
}

fn camera(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    let (Some(camera), Some(view)) = (&facts.camera, &scene.view) else {
        c.say(
            "no-camera",
            Severity::Hint,
            c.shot.id.clone().as_str(),
            None,
            format!("shot {} has no camera yet", c.shot.name),
            "place a camera on the plan",
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
            "the camera stands outside every room".into(),
            "move it inside, or draw the room it stands in",
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
            format!("the camera stands inside {}", piece_label(piece)),
            "move the camera or the piece",
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
            format!("{behind:.2} m behind the camera; an operator wants {:.2} m", plan.limits.room_behind_m),
            "move the camera forward and use a wider lens, or shoot from a monitor beside it",
        );
    }
    if camera.focus_m < camera.close_focus_m {
        c.say(
            "too-close-to-focus",
            Severity::Problem,
            id,
            Some(at),
            format!(
                "focus at {:.2} m is nearer than the lens's close focus of {:.2} m",
                camera.focus_m, camera.close_focus_m
            ),
            "move the camera back, or use a longer lens from further away",
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
            "the whole shot".to_string()
        } else {
            format!("{:.1} s to {:.1} s", h.from_s, h.to_s)
        };
        c.say(
            "face-hidden",
            Severity::Problem,
            h.person.as_str(),
            place,
            format!("{name}'s face is hidden by {}, {when}: {} % seen", h.by, (h.least_clear_share * 100.0).round()),
            format!("move the camera or {} aside until {name} is clear", h.by),
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
                    format!("{name}'s face is wanted but {name} has no mark in the shot"),
                    "place a mark, or take the face off the list",
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
                format!("{name}'s face is out of frame"),
                "pan, tilt or widen the lens, or move the mark",
            );
            continue;
        } else if in_frame < 1.0 {
            c.say(
                "cut-by-frame",
                Severity::Problem,
                id.as_str(),
                place,
                format!("{name}'s head is cut by the frame's edge"),
                "tilt or pan the camera, or move it back",
            );
        }
        if p.turned_share.unwrap_or(1.0) < TURNED_AWAY {
            c.say(
                "turned-away",
                Severity::Problem,
                id.as_str(),
                place,
                format!("{name} is turned away from the lens"),
                "turn the person or move the camera round",
            );
        }
        if p.in_focus == Some(false) {
            c.say(
                "out-of-focus",
                Severity::Problem,
                id.as_str(),
                place,
                format!("{name}'s face is outside the depth of field"),
                "stop down, focus there, or bring the faces to one distance",
            );
        }
        if let (Some(r), Some(camera)) = (&p.reading, &facts.camera) {
            match p.exposure_stops {
                None => c.say(
                    "dark-face",
                    Severity::Problem,
                    id.as_str(),
                    place,
                    format!("no light reaches {name}'s face"),
                    "aim a lamp at the face, or take away what shades it",
                ),
                Some(s) if s.abs() > plan.limits.exposure_stops => {
                    let (word, remedy) = if s < 0.0 {
                        ("under", "open the lens, raise the EI, or bring a lamp nearer")
                    } else {
                        ("over", "close the lens, add neutral density, or dim the key")
                    };
                    c.say(
                        "face-exposure",
                        Severity::Problem,
                        id.as_str(),
                        place,
                        format!(
                            "{name}'s face is {:.1} stops {word}: {:.0} lx where T{} wants {:.0} lx",
                            s.abs(),
                            r.illuminance_lx,
                            camera.t_stop,
                            camera.wanted_lx
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
            format!("no lamp burns in {}", rig.name),
            "place a lamp or switch one on",
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
                format!("{name} stands inside {}", piece_label(piece)),
                "move the lamp or the piece",
            );
        }
        match crate::taping::room_at(plan, at) {
            None if !plan.location.rooms.is_empty() && f.on => c.say(
                "lamp-in-wall",
                Severity::Problem,
                f.id.as_str(),
                Some(at),
                format!("{name} stands in a wall or outside: its light does not reach the rooms"),
                "move the lamp into a room",
            ),
            Some(room) if f.height_m > room.ceiling_m => c.say(
                "lamp-above-ceiling",
                Severity::Problem,
                f.id.as_str(),
                Some(at),
                format!("{name} hangs above the ceiling of {}", room.name),
                "lower the lamp or raise the ceiling",
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
                    format!("{name} or its stand is in frame"),
                    "move it out of the wedge, hide it behind a piece, or rig it higher",
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
                    format!(
                        "{name} is hot and {distance:.2} m from {piece}; keep {:.2} m",
                        plan.limits.hot_clearance_m
                    ),
                    "move it away, and never leave a burning lamp alone; the maker's distance decides",
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
                    format!("{name} is hot and {:.2} m from {}", DVec2::from_array(p.position_m).distance(at), p.name),
                    "move it back or raise it; sandbag the stand",
                );
            }
        }
        if f.on && f.lamp.hot() && f.barn_doors.is_none() && !(f.gels.is_empty() && f.diffusion.is_none()) {
            c.say(
                "gel-on-hot-head",
                Severity::Caution,
                f.id.as_str(),
                Some(at),
                format!("{name} is hot and has a gel or diffusion without doors to clip it to"),
                "hang heat-resistant gel on doors or a frame, a hand's breadth off the glass; watch it for smoke",
            );
        }
        if f.on && f.watts > 0.0 && f.outlet.is_none() && !plan.location.outlets.is_empty() && f.mount != Mount::Ceiling
        {
            c.say(
                "not-plugged-in",
                Severity::Hint,
                f.id.as_str(),
                Some(at),
                format!("{name} is on no outlet: its load is counted nowhere"),
                "choose an outlet for it",
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
                    format!(
                        "{}'s stand is in the way of {}",
                        f.label(),
                        scene.name_of(plan, scene.solids.owner_ix(&Owner::Door(o.id.clone())))
                    ),
                    "move the stand: people must get out in a hurry",
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
                    format!(
                        "{} stands where {} swings",
                        p.name,
                        scene.name_of(plan, scene.solids.owner_ix(&Owner::Door(o.id.clone())))
                    ),
                    "move the mark out of the swing, or keep the door open and wedged during the take",
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
