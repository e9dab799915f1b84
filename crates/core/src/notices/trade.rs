//! Rules of the trade: shadows, reflections, focus over the move, walking, and shots that cut together.

use super::{Collector, Severity};
use crate::blocking::{Moments, contains, cut_at_share, leaps, sees};
use crate::facts::{ShotFacts, focus_m_among, size_for_cut};
use crate::geometry::{Owner, OwnerIx, Solids, bearing_dir, point_in_polygon, segment_crossing};
use crate::light::{Emitter, Receiver, Shape, Transport, solve};
use crate::optics;
use crate::plan::{OpeningKind, PieceKind, Plan, Receptor, Room, Shot, ShotSize, crossed_in, crossed_of};
use crate::scene::{Placed, Scene, View, footprint, piece_label, proportions, turn_deg};
use glam::{DVec2, DVec3};
use tapemark_words::{figure, say, signed};

/// What the operator takes up: so far behind the lens, so wide, so high, metres (common practice, no source).
const OPERATOR: (f64, f64, f64) = (0.35, 0.25, 1.75);
/// A lamp's part of the wanted level that makes its shadow seen.
const COUNTS: f64 = 0.3;
/// The least turn and size step between shots that cut together (the 30-degree rule; common practice).
const LEAST_TURN_DEG: f64 = 30.0;
/// A camera this near the line between two people takes no side, metres.
const ON_THE_LINE_M: f64 = 0.15;
/// Lens and eyes further apart in height than this read as looking up or down, metres (common practice, no source).
const EYELINE_M: f64 = 0.35;
/// Faster than this is no walk, metres a second (common practice: walking is about 1.4).
const WALK_M_S: f64 = 2.0;

pub(super) fn all(
    c: &mut Collector,
    plan: &Plan,
    scene: &Scene,
    facts: &ShotFacts,
    moments: &Moments,
    transport: &Transport,
) {
    shadows(c, plan, scene, facts, transport);
    reflections(c, plan, scene, transport);
    focus_over_the_move(c, plan, moments);
    walking(c, plan, scene, facts);
    times(c, plan);
    doors(c, plan, scene);
    eyelines(c, plan, scene, facts);
    for id in &c.shot.cuts_with.clone() {
        // Each pair is told once: by the shot that comes later.
        if let Some(other) = plan.shot(id)
            && plan.shots.iter().position(|s| &s.id == id) < plan.shots.iter().position(|s| s.id == c.shot.id)
        {
            cut(c, plan, scene, other);
        }
    }
}

/// Doors of the rooms that the shot uses, which the plan opens further than a wall lets them.
fn doors(c: &mut Collector, plan: &Plan, scene: &Scene) {
    let camera = scene.view.as_ref().map(|v| v.eye.truncate());
    let used: Vec<DVec2> = scene.people.iter().map(|p| p.position).chain(camera).collect();
    let is_used = |r: &&Room| {
        let outline: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
        used.iter().any(|p| point_in_polygon(*p, &outline))
    };
    let rooms: Vec<&Room> = plan.location.rooms.iter().filter(is_used).collect();
    for place in &scene.walls.openings {
        let Some((leaf, deg)) = place.leaf.and_then(|l| Some((l, l.stopped_deg?))) else { continue };
        let o = &plan.location.openings[place.index];
        let OpeningKind::Door { open_deg, .. } = o.kind else { continue };
        let beside = |r: &&Room| r.id == o.room || place.leads_to.iter().any(|n| plan.location.rooms[*n].id == r.id);
        if !rooms.iter().any(beside) {
            continue;
        }
        let name = if o.name.is_empty() { say!("a-door") } else { &o.name };
        c.say(
            "door-meets-a-wall",
            Severity::Hint,
            o.id.as_str(),
            Some(leaf.tip),
            say!("the-door-opens-only-so-far", name, deg = figure(deg, 0), open_deg = figure(open_deg, 0)),
            say!("look-how-far-it-opens-and"),
        );
    }
}

/// Whether a line passes through the operator behind a lens.
fn through_operator(view: &View, p: DVec3, q: DVec3) -> bool {
    let (behind, half, high) = OPERATOR;
    let at = view.eye.truncate() - bearing_dir(view.pan_deg) * behind;
    let mut body = Solids::default();
    let owner = body.owner(Owner::Wall);
    body.add_cylinder(at, DVec2::X, [half, half], [0.0, high], owner);
    body.blocked(p.as_vec3(), q.as_vec3(), OwnerIx::NONE)
}

/// Another person's or the operator's shadow on a wanted face; a hard shadow on the wall in frame.
fn shadows(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts, transport: &Transport) {
    let (Some(view), Some(camera)) = (&scene.view, &facts.camera) else { return };
    let lamps: Vec<&Emitter> = transport
        .emitters()
        .iter()
        .filter(|e| e.gain > 0.0 && matches!(e.shape, Shape::Point { .. } | Shape::Area(_)))
        .collect();
    for p in scene.people.iter().filter(|p| c.shot.faces.contains(&p.person)) {
        let at = p.face() + p.face_normal() * 0.03;
        let Some(toward) = (view.eye - at).try_normalize() else { continue };
        let to = Receiver { at, toward, receptor: Receptor::Dome };
        for e in &lamps {
            let open = e.gain * solve(&Solids::default(), e, &to, OwnerIx::NONE);
            if open < COUNTS * camera.wanted_lx || p.face_normal().dot(e.at() - at) <= 0.0 {
                continue;
            }
            let real = e.gain * solve(&scene.solids, e, &to, OwnerIx::NONE);
            let blocker = || scene.solids.first_hit(at.as_vec3(), e.at().as_vec3(), p.owner).map(|h| h.owner);
            if real < 0.5 * open
                && let Some(ix) = blocker()
                && matches!(scene.solids.owner_of(ix), Some(Owner::Person(_)))
            {
                let who = scene.name_of(plan, ix);
                c.say(
                    "shadow-on-face",
                    Severity::Problem,
                    p.person.as_str(),
                    Some(p.position),
                    say!("shadow-on-face", who, name = e.name, name_2 = p.name),
                    say!("move-or-raise-the-lamp", who, name = e.name),
                );
            } else if through_operator(view, at, e.at()) {
                c.say(
                    "operator-shadow",
                    Severity::Problem,
                    p.person.as_str(),
                    Some(p.position),
                    say!("the-camera-and-its-operator-stand", name = e.name, name_2 = p.name),
                    say!("raise-the-lamp-over-the-operator"),
                );
            }
        }
    }
    // Hard shadows: heads before small sources, on a wall that the lens sees. The operator has a head too.
    let (behind, _, high) = OPERATOR;
    let operator = (view.eye.truncate() - bearing_dir(view.pan_deg) * behind).extend(high - 0.12);
    let mut heads: Vec<(DVec3, OwnerIx, String, String)> =
        scene.people.iter().map(|p| (p.head, p.owner, p.name.clone(), p.person.to_string())).collect();
    heads.push((operator, OwnerIx::NONE, say!("the-operator").into(), camera.camera.to_string()));
    for e in lamps.iter().filter(|e| matches!(e.shape, Shape::Point { .. })) {
        for (head, owner, name, item) in &heads {
            let way = (*head - e.at()).normalize_or_zero();
            let far = *head + way * 30.0;
            let Some(hit) = scene.solids.first_hit(head.as_vec3(), far.as_vec3(), *owner) else { continue };
            let at = *head + way * (30.0 * f64::from(hit.t) - 0.01);
            let on_wall = matches!(scene.solids.owner_of(hit.owner), Some(Owner::Wall));
            if !on_wall || !sees(&scene.solids, view, at, OwnerIx::NONE) {
                continue;
            }
            // The wall where the shadow falls: as the lamp would light it, and as all do.
            let to = Receiver { at, toward: -way, receptor: Receptor::Flat };
            let own = e.gain * solve(&Solids::default(), e, &to, OwnerIx::NONE);
            let all: f64 = transport.parts(scene, &to, OwnerIx::NONE).iter().map(|(d, b)| d.y + b.y).sum();
            // The operator is not among the solids: their shadow takes the lamp's part away.
            let rest = if *owner == OwnerIx::NONE { all - own } else { all };
            let reaches = !scene.solids.blocked(e.at().as_vec3(), head.as_vec3(), *owner);
            if own > COUNTS * camera.wanted_lx && own > 1.5 * rest && reaches {
                c.say(
                    if *owner == OwnerIx::NONE { "operator-shadow-on-wall" } else { "shadow-on-wall" },
                    Severity::Hint,
                    item,
                    Some(at.truncate()),
                    say!("the-hard-shadow-of-from-falls", name, name_2 = e.name),
                    say!("move-off-the-wall-soften-the"),
                );
            }
        }
    }
}

/// An upright sheet that reflects: its name, middle, half its width, its bottom and top.
struct Glass {
    name: String,
    id: String,
    middle: DVec2,
    along: DVec2,
    z: [f64; 2],
}

fn glasses(plan: &Plan, scene: &Scene) -> Vec<Glass> {
    let mut out = Vec::new();
    for place in &scene.walls.openings {
        let o = &plan.location.openings[place.index];
        if matches!(o.kind, OpeningKind::Window { .. }) {
            out.push(Glass {
                name: if o.name.is_empty() { say!("the-window").into() } else { o.name.clone() },
                id: o.id.to_string(),
                middle: (place.a + place.b) * 0.5,
                along: (place.b - place.a) * 0.5,
                z: [o.sill_m, o.head_m],
            });
        }
    }
    for p in plan.location.pieces.iter().filter(|p| p.kind == PieceKind::Mirror) {
        let ring = footprint(p);
        for i in 0..ring.len() {
            let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
            out.push(Glass {
                name: piece_label(p),
                id: p.id.to_string(),
                middle: (a + b) * 0.5,
                along: (b - a) * 0.5,
                z: [p.base_m, p.top_m],
            });
        }
    }
    out
}

/// Where a lens sees a point by way of a sheet of glass: the mirror image's line crosses the sheet there.
fn reflected(g: &Glass, eye: DVec3, q: DVec3) -> Option<DVec3> {
    let normal = g.along.perp().normalize_or_zero().extend(0.0);
    let middle = g.middle.extend(0.0);
    let (e, d) = ((eye - middle).dot(normal), (q - middle).dot(normal));
    // Both on one side, and the glass between eye and image.
    if e * d <= 1e-9 {
        return None;
    }
    let image = q - normal * (2.0 * d);
    let at = eye + (image - eye) * (e / (e + d));
    let aside = (at - middle).truncate().dot(g.along) / g.along.length_squared();
    (aside.abs() <= 1.0 && at.z >= g.z[0] && at.z <= g.z[1]).then_some(at)
}

/// Lamps and the camera itself, seen in windows and mirrors.
fn reflections(c: &mut Collector, plan: &Plan, scene: &Scene, transport: &Transport) {
    let Some(view) = &scene.view else { return };
    for g in glasses(plan, scene) {
        let own = scene.solids.owner_ix(&Owner::Piece(g.id.as_str().into()));
        let seen = |q: DVec3| {
            reflected(&g, view.eye, q).filter(|at| {
                // A hair before the glass, so that the wall round a window is not in the way.
                let before = *at + (view.eye - *at) * 1e-3;
                contains(view, *at)
                    && !scene.solids.blocked(view.eye.as_vec3(), before.as_vec3(), own)
                    && !scene.solids.blocked(q.as_vec3(), before.as_vec3(), own)
            })
        };
        if let Some(at) = seen(view.eye) {
            c.say(
                "camera-in-reflection",
                Severity::Problem,
                &g.id,
                Some(at.truncate()),
                say!("the-lens-sees-itself-in", name = g.name),
                say!("turn-the-camera-or-the-glass"),
            );
        }
        for e in transport.emitters().iter().filter(|e| e.gain > 0.0) {
            if !matches!(e.shape, Shape::Point { .. } | Shape::Area(_)) {
                continue;
            }
            if let Some(at) = seen(e.at()) {
                c.say(
                    "lamp-in-reflection",
                    Severity::Problem,
                    e.fixture.as_str(),
                    Some(at.truncate()),
                    say!("name-is-seen-in-name", name = e.name, name_2 = g.name),
                    say!("move-the-lamp-or-tilt-the"),
                );
            }
        }
    }
}

/// Wanted faces outside the depth of field, or nearer than the lens focuses, later in the move.
fn focus_over_the_move(c: &mut Collector, plan: &Plan, moments: &Moments) {
    let Some(camera) = plan.shot_camera(c.shot) else { return };
    let coc = optics::circle_of_confusion_mm(&camera.format);
    for id in c.shot.faces.clone() {
        let (mut from, mut to, mut near): (f64, f64, Option<f64>) = (f64::INFINITY, 0.0, None);
        for m in &moments.list {
            let view = View::at(camera, m.at_s);
            let Some(p) = m.people.iter().find(|p| p.person == id) else { continue };
            let Some((at, depth)) = view.project(p.face()) else { continue };
            if at.x.abs() > 1.0 || at.y.abs() > 1.0 {
                continue;
            }
            let focus = focus_m_among(plan, c.shot, &m.people, &view);
            let (low, high) = optics::depth_of_field_m(view.focal_mm, camera.lens.t_stop, coc, focus);
            if depth < low || depth > high {
                (from, to) = (from.min(m.at_s), to.max(m.at_s));
            }
            let from_mark = depth + camera.sensor_behind_m;
            if from_mark < camera.lens.close_focus_m {
                near = Some(near.map_or(from_mark, |n: f64| n.min(from_mark)));
            }
        }
        let name = plan.person(&id).map(|p| p.name.clone()).unwrap_or_default();
        // At the moment looked at, the face's own notice says it.
        if from > 0.0 && from.is_finite() {
            c.say(
                "out-of-focus-later",
                Severity::Problem,
                id.as_str(),
                None,
                say!("face-leaves-depth-of-field", name, from = figure(from, 1), to = figure(to, 1)),
                say!("pull-focus-there-stop-down-or"),
            );
        }
        if let Some(d) = near {
            c.say(
                "too-close-later",
                Severity::Problem,
                id.as_str(),
                None,
                say!(
                    "comes-within-m-nearer-than-the",
                    name,
                    d = figure(d, 2),
                    close_focus_m = figure(camera.lens.close_focus_m, 2)
                ),
                say!("keep-the-mark-further-off-or"),
            );
        }
    }
}

/// Walks that are too fast, or that lead through a wall or a piece.
fn walking(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    for w in &facts.walks {
        let (a, b) = (DVec2::from_array(w.from_m), DVec2::from_array(w.to_m));
        let name = plan.person(&w.person).map(|p| p.name.clone()).unwrap_or_default();
        if w.speed_m_s > WALK_M_S {
            c.say(
                "walks-too-fast",
                Severity::Hint,
                w.person.as_str(),
                Some(b),
                say!(
                    "walk-is-a-run",
                    name,
                    from_s = figure(w.to_s - w.from_s, 1),
                    distance_m = figure(w.distance_m, 1),
                    speed_m_s = figure(w.speed_m_s, 1)
                ),
                say!("give-the-move-more-time-or"),
            );
        }
        let wall = scene.walls.pieces.iter().filter(|x| x.z0 < 1.0).any(|x| segment_crossing(a, b, x.a, x.b).is_some());
        let piece = plan.location.pieces.iter().filter(|p| p.base_m < 1.0).find(|p| {
            let ring = footprint(p);
            let crosses = |i: usize| segment_crossing(a, b, ring[i], ring[(i + 1) % ring.len()]).is_some();
            point_in_polygon((a + b) * 0.5, &ring) || (0..ring.len()).any(crosses)
        });
        let through = if wall { Some(say!("a-wall").to_string()) } else { piece.map(piece_label) };
        if let Some(what) = through {
            c.say(
                "walks-through",
                Severity::Problem,
                w.person.as_str(),
                Some((a + b) * 0.5),
                say!("way-leads-through", name, from_s = figure(w.from_s, 1), what),
                say!("put-a-mark-in-between-that"),
            );
        }
    }
}

/// Marks that cross in time, and ways that have none.
fn times(c: &mut Collector, plan: &Plan) {
    for x in crossed_in(plan, c.shot) {
        let place = c.shot.marks.iter().find(|m| m.id.as_str() == x.marks[1]).map(|m| DVec2::from_array(m.position_m));
        c.say("marks-cross-in-time", Severity::Problem, &x.who, place, x.what, x.remedy);
    }
    for x in plan.shot_camera(c.shot).map(crossed_of).unwrap_or_default() {
        c.say("marks-cross-in-time", Severity::Problem, &x.who, None, x.what, x.remedy);
    }
    for w in leaps(plan, c.shot) {
        let name = plan.person(&w.person).map_or("", |p| p.name.as_str());
        let (at, far) = (figure(w.to_s, 1), figure(w.distance_m, 1));
        c.say(
            "no-time-to-walk",
            Severity::Hint,
            w.person.as_str(),
            Some(DVec2::from_array(w.to_m)),
            say!("is-suddenly-further", name, at, far),
            say!("let-leave-the-mark-before-sooner"),
        );
    }
}

/// Height of a person's eyes, metres.
fn eyes_m(plan: &Plan, p: &Placed) -> f64 {
    let h = plan.person(&p.person).map_or(1.7, |x| x.height_m);
    p.crown_m - h * (1.0 - proportions::EYE)
}

/// A close size from well over or under the eyes.
fn eyelines(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    let Some(view) = &scene.view else { return };
    for p in scene.people.iter().filter(|p| c.shot.faces.contains(&p.person)) {
        let size = facts.people.iter().find(|f| f.person == p.person).and_then(|f| f.size);
        let off = view.eye.z - eyes_m(plan, p);
        if size.is_some_and(|s| s >= ShotSize::MediumClose) && off.abs() > EYELINE_M {
            let word = if off > 0.0 { say!("lens-over-eyes") } else { say!("lens-under-eyes") };
            c.say(
                "lens-off-eyeline",
                Severity::Hint,
                p.person.as_str(),
                Some(p.position),
                say!("lens-off-eyeline", off = figure(off.abs(), 2), word, name = p.name),
                say!("bring-the-lens-to-the-height"),
            );
        }
    }
}

/// What the lens of a shot makes of a person at its start.
fn framed(scene: &Scene, p: &Placed) -> Option<ShotSize> {
    let view = scene.view.as_ref()?;
    let (_, depth) = view.project(p.face())?;
    let frame = optics::field_m(view.sensor_mm.1, view.focal_mm, depth);
    cut_at_share(view, p, p.crown_m).map(|cut| size_for_cut(cut, frame / p.crown_m))
}

/// The axis, the 30-degree rule and eyelines between two shots that cut together.
fn cut(c: &mut Collector, plan: &Plan, scene: &Scene, other: &Shot) {
    let there = Scene::of(plan, other, 0.0);
    let (Some(a), Some(b)) = (&scene.view, &there.view) else { return };
    let (eye, eye_b) = (a.eye.truncate(), b.eye.truncate());
    let both: Vec<(&Placed, &Placed)> =
        scene.people.iter().filter_map(|p| Some((p, there.people.iter().find(|q| q.person == p.person)?))).collect();
    if let [(p, p_b), (q, q_b), ..] = both[..] {
        // Metres to the left of the line; on the line itself a camera takes no side.
        let side = |from: DVec2, p: &Placed, q: &Placed| {
            let off = (q.position - p.position).normalize_or_zero().perp_dot(from - p.position);
            if off.abs() < ON_THE_LINE_M { 0.0 } else { off }
        };
        if side(eye, p, q) * side(eye_b, p_b, q_b) < 0.0 {
            c.say(
                "crosses-axis",
                Severity::Problem,
                other.id.as_str(),
                Some(eye),
                say!("the-camera-crosses-the-line-between", name = p.name, q = q.name, other = other.name),
                say!("stay-on-one-side-of-the"),
            );
        }
    }
    for (p, q) in both.iter().filter(|(p, _)| c.shot.faces.contains(&p.person) && other.faces.contains(&p.person)) {
        let bearing = |from: DVec2, to: &Placed| crate::geometry::bearing_deg(from - to.position);
        let turned = turn_deg(bearing(eye, p), bearing(eye_b, q)).abs();
        let (size, size_b) = (framed(scene, p), framed(&there, q));
        if turned < LEAST_TURN_DEG && size.is_some() && size == size_b {
            c.say(
                "jumps",
                Severity::Problem,
                other.id.as_str(),
                Some(eye),
                say!("cut-with-shot-jumps-apart-and", other = other.name, name = p.name, turned = figure(turned, 0)),
                say!("turn-the-camera-30-or-more"),
            );
        }
        let (off, off_b) = (a.eye.z - eyes_m(plan, p), b.eye.z - eyes_m(plan, q));
        if (off - off_b).abs() > EYELINE_M {
            c.say(
                "eyelines-differ",
                Severity::Hint,
                other.id.as_str(),
                Some(eye),
                say!(
                    "eyelines-differ",
                    off = signed(off, 2),
                    name = p.name,
                    off_b = signed(off_b, 2),
                    other = other.name
                ),
                say!("bring-both-lenses-to-one-height"),
            );
        }
    }
}
