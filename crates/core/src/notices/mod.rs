//! What a plan gets wrong: with severity, place and remedy.

mod broken;
mod margins;
mod power;
mod trade;
mod ways;

pub use broken::{Baseline, Broken};
pub use margins::is_margin;
pub(crate) use ways::{Floor, TRIPOD_M};

use crate::attempt::{Answer, Failed};
use crate::blocking;
use crate::blocking::Moments;
use crate::facts::{ShotFacts, TURNED_AWAY, one_then_all, shot_facts};
use crate::geometry::{Owner, OwnerIx, distance_to_outline, point_in_polygon};
use crate::light::Transport;
use crate::plan::{HeadClass, Mount, Plan, Shot, ShotId};
use crate::scene::{Scene, footprint, piece_label};
use glam::{DVec2, DVec3};
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
    let shots: Vec<&Shot> = plan.shots.iter().collect();
    let of_shots = one_then_all(&shots, |s| shot_facts(plan, s, 0.0).notices);
    of_shots.into_iter().flatten().chain(of_cuts(&crate::continuity::of_plan(plan), plan)).collect()
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

/// What an answer is called in words.
#[must_use]
pub fn answer_label(answer: Answer) -> &'static str {
    match answer {
        Answer::Bounces => say!("answer-bounces"),
        Answer::Readings => say!("answer-readings"),
        Answer::Background => say!("answer-background"),
        Answer::Camera => say!("answer-camera"),
        Answer::Lanes => say!("answer-lanes"),
        Answer::Cover => say!("answer-cover"),
        Answer::Margins => say!("answer-margins"),
        Answer::People => say!("answer-people"),
        Answer::Lamps => say!("answer-lamps"),
        Answer::Grip => say!("answer-grip"),
        Answer::Daylight => say!("answer-daylight"),
        Answer::Circuits => say!("answer-circuits"),
        Answer::Cables => say!("answer-cables"),
        Answer::Notices => say!("answer-notices"),
        Answer::Matches => say!("answer-matches"),
        Answer::Kit => say!("answer-kit"),
        Answer::Order => say!("answer-order"),
        Answer::Picture => say!("answer-picture"),
    }
}

/// In words: an answer could not be worked out, and why.
#[must_use]
pub fn failed_text(failed: &Failed) -> String {
    say!("not-worked-out", answer = answer_label(failed.answer), cause = failed.cause)
}

/// An answer of a shot that could not be worked out.
pub(crate) fn not_worked_out(shot: &Shot, failed: &Failed) -> Notice {
    Notice {
        code: "not-worked-out",
        severity: Severity::Problem,
        shot: Some(shot.id.clone()),
        item: shot.id.to_string(),
        place_m: None,
        what: failed_text(failed),
        remedy: say!("the-other-answers-stand").into(),
    }
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
    size(&mut c, facts);
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
    if !plan.location.rooms.is_empty() && !inside_any_room(plan, at) && !shot_in_the_open(plan, scene) {
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

/// Whether someone stands in no room: then the shot is outside, and camera and lamps may be.
fn shot_in_the_open(plan: &Plan, scene: &Scene) -> bool {
    scene.people.iter().any(|p| !inside_any_room(plan, p.position))
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

/// The size wanted, where no face that must be seen is framed at it.
fn size(c: &mut Collector, facts: &ShotFacts) {
    let wanted = c.shot.size;
    let framed: Vec<_> = facts.people.iter().filter(|p| p.required).filter_map(|p| Some((p, p.size?))).collect();
    let Some((p, got)) = framed.first() else { return };
    if framed.iter().any(|(_, s)| *s == wanted) {
        return;
    }
    c.say(
        "size-missed",
        Severity::Hint,
        p.person.as_str(),
        Some(DVec2::from_array(p.position_m)),
        say!("is-framed-as-not-as", name = p.name, got = got.label(), wanted = wanted.label()),
        say!("take-the-lens-or-the-place-for"),
    );
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
            None if !plan.location.rooms.is_empty() && f.on && !shot_in_the_open(plan, scene) => c.say(
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
            hot_head(c, plan, facts, f);
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

/// What lies within this of a head's axis is ahead of it, degrees (common practice, no source); a wider field reaches
/// further.
const AHEAD_DEG: f64 = 45.0;
/// The same of a head that is an even face.
const AHEAD_OF_A_FACE_DEG: f64 = 60.0;
/// How finely the edge of what a hot head comes near to is looked at, metres.
const EDGE_STEP_M: f64 = 0.05;
/// Above this nobody touches a head, metres.
const OUT_OF_REACH_M: f64 = 2.4;

/// How much room a hot head wants toward a direction, and which way that is in words.
fn room_wanted(plan: &Plan, f: &crate::plan::Fixture, toward: DVec3) -> (f64, &'static str) {
    let l = &plan.limits;
    let half_deg = match (f.head.class(), f.head.beam_field_deg()) {
        (HeadClass::BareBulb | HeadClass::Practical, _) => 180.0,
        (_, Some((_, field))) => (field * 0.5).max(AHEAD_DEG),
        _ => AHEAD_OF_A_FACE_DEG,
    };
    let axis = crate::geometry::direction3(f.pan_deg, f.tilt_deg);
    let off = axis.angle_between(toward.try_normalize().unwrap_or(axis)).to_degrees();
    if off <= half_deg { (l.hot_clearance_m, say!("ahead-of-it")) } else { (l.hot_side_clearance_m, say!("beside-it")) }
}

/// A hot head too near to a piece or a person: more room ahead of it than beside it.
fn hot_head(c: &mut Collector, plan: &Plan, facts: &ShotFacts, f: &crate::plan::Fixture) {
    let at = DVec2::from_array(f.position_m);
    let head = at.extend(f.height_m);
    let most = plan.limits.hot_clearance_m.max(plan.limits.hot_side_clearance_m);
    let too_near = |to: DVec3| {
        let (wanted, side) = room_wanted(plan, f, to - head);
        let distance = head.distance(to);
        (distance < wanted).then_some((distance, wanted, side))
    };
    let near = plan
        .location
        .pieces
        .iter()
        .filter_map(|p| {
            let ring = footprint(p);
            if distance_to_outline(at, &ring) > most {
                return None;
            }
            let z = f.height_m.clamp(p.base_m, p.top_m.max(p.base_m));
            let edges = (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()]));
            let points = edges.flat_map(|(a, b)| {
                let steps = (a.distance(b) / EDGE_STEP_M).ceil().clamp(1.0, 400.0);
                // The place nearest to the head, and every few centimetres: it may be beside where the rest is ahead.
                (0..=steps as u32)
                    .map(move |k| a.lerp(b, f64::from(k) / steps))
                    .chain([crate::geometry::closest_on_segment(at, a, b)])
            });
            let points = points.chain(point_in_polygon(at, &ring).then_some(at));
            let worst = points.filter_map(|q| too_near(q.extend(z))).min_by(|a, b| (a.0 / a.1).total_cmp(&(b.0 / b.1)));
            worst.map(|w| (w, piece_label(p)))
        })
        .min_by(|a, b| (a.0.0 / a.0.1).total_cmp(&(b.0.0 / b.0.1)));
    if let Some(((distance, wanted, side), piece)) = near {
        c.say(
            "hot-lamp-near",
            Severity::Caution,
            f.id.as_str(),
            Some(at),
            say!(
                "is-hot-and-m-from-keep",
                name = f.label(),
                distance = figure(distance, 2),
                piece,
                side,
                hot_clearance_m = figure(wanted, 2)
            ),
            say!("move-it-away-and-never-leave"),
        );
    }
    if f.height_m >= OUT_OF_REACH_M {
        return;
    }
    let person = facts.people.iter().find_map(|p| {
        let flat = DVec2::from_array(p.position_m).extend(f.height_m);
        too_near(flat).map(|near| (near, p))
    });
    if let Some(((distance, ..), p)) = person {
        c.say(
            "hot-lamp-near-person",
            Severity::Caution,
            f.id.as_str(),
            Some(at),
            say!("is-hot-and-m-from", name = f.label(), at = figure(distance, 2), name_2 = p.name),
            say!("move-it-back-or-raise-it"),
        );
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
