//! By how much answers hold: closed forms by school geometry, and every slip on a 1 cm grid tried one by one.

use glam::DVec2;
use tapemark::files;
use tapemark_acceptance::*;
use tapemark_core::blocking::{Moments, face_view_among, sees};
use tapemark_core::facts::{TURNED_AWAY, focus_m, room_behind_m, shot_facts};
use tapemark_core::geometry::{OwnerIx, bearing_deg};
use tapemark_core::margins::{Margin, REACH_M, ShotMargins, Slips};
use tapemark_core::optics;
use tapemark_core::plan::*;
use tapemark_core::scene::{Stage, View};

/// How near the search comes to the truth, metres (docs/method.md).
const SEARCHED_M: f64 = 0.01;

fn margins(plan: &Plan) -> ShotMargins {
    let shot = &plan.shots[0];
    ShotMargins::of(plan, shot, &Moments::of(plan, shot))
}

/// A plan with somebody or something shifted all along its move.
fn slipped(plan: &Plan, who: &Slips, by: DVec2) -> Plan {
    let mut plan = plan.clone();
    let shift = |p: &mut [f64; 2]| *p = (DVec2::from_array(*p) + by).to_array();
    match who {
        Slips::Person(id) => {
            plan.shots[0].marks.iter_mut().filter(|m| &m.person == id).for_each(|m| shift(&mut m.position_m));
        }
        Slips::Camera(id) => {
            let camera = plan.cameras.iter_mut().find(|c| &c.id == id).unwrap();
            shift(&mut camera.position_m);
            camera.marks.iter_mut().for_each(|m| shift(&mut m.position_m));
        }
        Slips::Lamp(id) => {
            let rigs = plan.rigs.iter_mut().flat_map(|r| &mut r.fixtures);
            rigs.filter(|f| &f.id == id).for_each(|f| shift(&mut f.position_m));
            let own = plan.shots[0].lamps.iter_mut().map(|l| &mut l.fixture);
            own.filter(|f| &f.id == id).for_each(|f| shift(&mut f.position_m));
        }
    }
    plan
}

/// When on a mark or a walk it was looked, and whether the answer held.
type Leg = Vec<(f64, bool)>;

/// The looks of the shot at which an answer is to hold: all on marks, and on walks that keep it throughout. None
/// where a mark fails.
fn held(plan: &Plan, id: &PersonId, answer: &dyn Fn(&Plan, &PersonId, f64) -> Option<bool>) -> Option<Vec<f64>> {
    let shot = &plan.shots[0];
    let moments = Moments::of(plan, shot);
    let mut legs: Vec<(Option<usize>, Leg)> = Vec::new();
    let mut gone = true;
    for m in &moments.list {
        let Some(p) = m.people.iter().find(|p| &p.person == id) else {
            gone = true;
            continue;
        };
        if gone || legs.last().is_none_or(|l| l.0 != p.mark) {
            legs.push((p.mark, Vec::new()));
        }
        gone = false;
        if let (Some(leg), Some(holds)) = (legs.last_mut(), answer(plan, id, m.at_s)) {
            leg.1.push((m.at_s, holds));
        }
    }
    let mut out = Vec::new();
    for (mark, looks) in legs {
        let all = looks.iter().all(|l| l.1);
        if !all && mark.is_some() {
            return None;
        }
        if all {
            out.extend(looks.iter().map(|l| l.0));
        }
    }
    (!out.is_empty()).then_some(out)
}

/// What a person's answers are at a moment of a plan.
struct At {
    in_frame: bool,
    clear: bool,
    depth_m: f64,
    face_in: bool,
}

fn at(stage: &Stage, plan: &Plan, id: &PersonId, at_s: f64) -> At {
    let shot = &plan.shots[0];
    let scene = stage.scene(plan, shot, at_s);
    let view = scene.view.clone().unwrap();
    let p = scene.placed(id).unwrap();
    let face = face_view_among(&[&scene.solids], &view, p);
    let in_frame = face.in_frame >= 1.0;
    At {
        in_frame,
        clear: in_frame && face.turned >= TURNED_AWAY && face.clear >= plan.limits.face_share,
        depth_m: view.project(p.face()).map_or(f64::NAN, |x| x.1),
        face_in: tapemark_core::blocking::contains(&view, p.face()),
    }
}

/// Focus limits of the plan as it stands: focus stays when somebody slips.
fn focus_limits(stage: &Stage, plan: &Plan, at_s: f64) -> (f64, f64) {
    let shot = &plan.shots[0];
    let scene = stage.scene(plan, shot, at_s);
    let view: View = scene.view.clone().unwrap();
    let camera = plan.shot_camera(shot).unwrap();
    let focus = focus_m(plan, shot, &scene, &view);
    let coc = optics::circle_of_confusion_mm(&camera.format);
    optics::depth_of_field_m(view.focal_mm, camera.lens.t_stop, coc, focus)
}

/// Slips of a grid whose lengths lie between two.
fn grid(from_m: f64, to_m: f64, step_m: f64) -> Vec<DVec2> {
    let n = (to_m / step_m).ceil() as i32;
    let all = (-n..=n).flat_map(|x| (-n..=n).map(move |y| DVec2::new(f64::from(x), f64::from(y)) * step_m));
    all.filter(|d| d.length() > from_m && d.length() <= to_m).collect()
}

/// Tries every slip of the grid: those within the margin keep the answer, and one a little past it breaks it.
/// `holds` says whether the answer holds with somebody shifted. The grid is 1 cm, coarser where it has more than
/// `most` slips. How many slips were tried.
fn tried(what: &str, m: &Margin, all: &[Slips], most: f64, holds: &dyn Fn(&Slips, DVec2) -> bool) -> usize {
    let mut count = 0;
    let within_m = m.margin_m - SEARCHED_M;
    let across = (most / std::f64::consts::PI).sqrt().max(3.0);
    for who in all {
        for d in grid(0.0, within_m, (within_m / across).max(0.01)) {
            count += 1;
            assert!(holds(who, d), "{what}: {m:?}, yet {who:?} slips by {d} ({:.3} m)", d.length());
        }
    }
    if !m.or_more {
        let breaks = grid(m.margin_m - 0.01, m.margin_m + 0.02, 0.005).into_iter().any(|d| !holds(&m.slips, d));
        assert!(breaks, "{what}: {m:?}, yet no slip 2 cm past it breaks it");
    }
    count
}

/// All answers of a plan's first shot by every slip of the grid. How many margins were found, and how many slips
/// tried.
fn by_brute_force(name: &str, plan: &Plan, most: f64) -> (usize, usize) {
    let shot = &plan.shots[0];
    let stage = Stage::of(plan);
    let began = std::time::Instant::now();
    let found = margins(plan);
    println!("{name}: {:.0} ms", began.elapsed().as_secs_f64() * 1e3);
    let camera = Slips::Camera(shot.camera.clone().unwrap());
    let (mut count, mut slips) = (0, 0);
    let present: Vec<PersonId> =
        plan.cast.iter().filter(|p| shot.marks.iter().any(|m| m.person == p.id)).map(|p| p.id.clone()).collect();
    for id in &present {
        let own = Slips::Person(id.clone());
        let others = present.iter().filter(|q| *q != id).map(|q| Slips::Person(q.clone()));
        let everybody: Vec<Slips> = [own.clone(), camera.clone()].into_iter().chain(others).collect();
        let of = found.of_person(id);
        let mut one =
            |what: &str, m: &Option<Margin>, who: &[Slips], answer: &dyn Fn(&Plan, &PersonId, f64) -> Option<bool>| {
                let looks = held(plan, id, answer);
                assert_eq!(m.is_some(), looks.is_some(), "{name} {id}: {what} {m:?}");
                let (Some(m), Some(looks)) = (m, looks) else { return };
                count += 1;
                slips += tried(&format!("{name} {id}: {what}"), m, who, most / looks.len() as f64, &|who, d| {
                    let there = slipped(plan, who, d);
                    looks.iter().all(|t| answer(&there, id, *t) != Some(false))
                });
            };
        one("in frame", &of.in_frame, &everybody[..2], &|p, id, t| Some(at(&stage, p, id, t).in_frame));
        one("clear", &of.clear, &everybody, &|p, id, t| Some(at(&stage, p, id, t).clear));
        one("in focus", &of.in_focus, &everybody[..2], &|p, id, t| {
            let (now, before) = (at(&stage, p, id, t), at(&stage, plan, id, t));
            let (near, far) = focus_limits(&stage, plan, t);
            before.face_in.then_some(now.depth_m >= near - 1e-9 && now.depth_m <= far + 1e-9)
        });
    }
    let looks: Vec<f64> = Moments::of(plan, shot).list.iter().map(|m| m.at_s).collect();
    let fits = |p: &Plan| {
        looks.iter().all(|t| {
            let scene = stage.scene(p, &p.shots[0], *t);
            room_behind_m(p, &scene, scene.view.as_ref().unwrap()) >= p.limits.room_behind_m
        })
    };
    assert_eq!(found.fits_behind.is_some(), fits(plan), "{name}");
    if let Some(m) = &found.fits_behind {
        count += 1;
        slips += tried(
            &format!("{name}: fits behind"),
            m,
            std::slice::from_ref(&camera),
            most / looks.len() as f64,
            &|who, d| fits(&slipped(plan, who, d)),
        );
    }
    let rig = plan.shot_rig(shot).unwrap().into_owned();
    for f in rig.fixtures.iter().filter(|f| f.mount != Mount::Set) {
        let unseen = |p: &Plan| {
            let parts: &[f64] = if f.mount == Mount::Stand { &[1.0, 0.75, 0.5, 0.25, 0.0] } else { &[1.0] };
            let rig = p.shot_rig(&p.shots[0]).unwrap().into_owned();
            let f = rig.fixtures.iter().find(|x| x.id == f.id).unwrap();
            looks.iter().all(|t| {
                let scene = stage.scene(p, &p.shots[0], *t);
                let view = scene.view.clone().unwrap();
                let point = |s: &f64| DVec2::from_array(f.position_m).extend(f.height_m * s);
                !parts.iter().any(|s| sees(&scene.solids, &view, point(s), OwnerIx::NONE))
            })
        };
        let m = found.of_lamp(&f.id);
        assert_eq!(m.is_some(), unseen(plan), "{name} {}", f.id);
        if let Some(m) = m {
            count += 1;
            let who = [Slips::Lamp(f.id.clone()), camera.clone()];
            slips +=
                tried(&format!("{name} {}: out of frame", f.id), &m, &who, most / looks.len() as f64, &|who, d| {
                    unseen(&slipped(plan, who, d))
                });
        }
    }
    (count, slips)
}

/// People, pieces and lamps by lot before a camera that looks at them; some walk, some cameras travel.
fn by_lot(seed: u64) -> Plan {
    let mut lot = Lot(seed);
    let mut plan = portrait([0.0, 0.0], 180.0, [0.0, -3.0], 0.0);
    plan.location.rooms[0].outline_m = vec![[-2.6, -4.0], [2.6, -4.0], [2.6, 2.2], [-2.6, 2.2]];
    plan.shots[0].marks.clear();
    plan.shots[0].length_s = 2.0;
    plan.cast.push(Person { id: "b".into(), name: "B".into(), height_m: 1.84, ..plan.cast[0].clone() });
    plan.shots[0].faces.push("b".into());
    let eye = DVec2::new(lot.between(-1.0, 1.0), lot.between(-3.0, -2.4));
    let camera = &mut plan.cameras[0];
    camera.position_m = eye.to_array();
    camera.lens.focal_mm = lot.between(18.0, 32.0);
    camera.tilt_deg = lot.between(-4.0, 2.0);
    camera.roll_deg = lot.between(-3.0, 3.0);
    let mut middle = DVec2::ZERO;
    for (n, id) in ["a", "b"].into_iter().enumerate() {
        let at = DVec2::new(lot.between(-0.9, 0.9), lot.between(-0.4, 1.2) + 0.5 * n as f64);
        middle += at * 0.5;
        let facing = bearing_deg(eye - at) + lot.between(-60.0, 60.0);
        let mut here = mark(id, at.to_array(), facing);
        if n == 1 && seed.is_multiple_of(3) {
            here.to_s = Some(0.5);
            let to = at + DVec2::new(lot.between(-0.6, 0.6), lot.between(-0.3, 0.3));
            let mut there = mark(id, to.to_array(), facing);
            (there.id, there.from_s) = ("mark-later".into(), 1.5);
            plan.shots[0].marks.push(there);
        }
        plan.shots[0].marks.push(here);
    }
    let camera = &mut plan.cameras[0];
    camera.pan_deg = bearing_deg(middle - eye) + lot.between(-4.0, 4.0);
    if seed % 4 == 1 {
        let to = eye + DVec2::new(lot.between(-0.4, 0.4), lot.between(-0.2, 0.3));
        camera.marks.push(CameraMark {
            at_s: 2.0,
            position_m: to.to_array(),
            lens_height_m: camera.lens_height_m,
            pan_deg: bearing_deg(middle - to),
            tilt_deg: camera.tilt_deg,
            focal_mm: camera.lens.focal_mm,
        });
    }
    let side = if lot.below(2) == 0 { -1.0 } else { 1.0 };
    let mut piece =
        Piece::new("post", "post", [side * lot.between(0.3, 0.9), lot.between(-1.6, -0.4)], [0.3, 0.3], 2.0);
    piece.rotation_deg = lot.between(0.0, 90.0);
    plan.location.pieces.push(piece);
    let rig = &mut plan.rigs[0];
    for (id, x, y) in [("l1", -2.2, lot.between(-1.0, 1.5)), ("l2", 2.2, lot.between(-1.0, 1.5))] {
        let mut f = Fixture::new(id, HeadClass::SoftBox, [x * lot.between(0.8, 1.0), y], 180.0);
        f.height_m = lot.between(1.8, 2.3);
        rig.fixtures.push(f);
    }
    plan
}

/// The demo and plans by lot: every slip of the grid within a margin keeps its answer, and one within 2 cm past it
/// breaks it.
#[test]
fn every_slip_on_a_grid_says_the_same() {
    let mut total = by_brute_force("demo", &files::demo(), 20_000.0);
    for seed in 0..14 {
        let (count, slips) = by_brute_force(&format!("lot {seed}"), &by_lot(seed), 4000.0);
        total = (total.0 + count, total.1 + slips);
    }
    println!("{} margins, {} slips", total.0, total.1);
    assert!(total.0 > 60, "{total:?}");
}

/// The same for plans as a small unit might draw them.
#[test]
fn every_slip_on_a_grid_says_the_same_in_plausible_plans() {
    let mut total = (0, 0);
    for seed in 0..24 {
        let plan = plausible::small(seed);
        if plan.shot_camera(&plan.shots[0]).is_some() {
            let (count, slips) = by_brute_force(&format!("plausible {seed}"), &plan, 3000.0);
            total = (total.0 + count, total.1 + slips);
        }
    }
    println!("{} margins, {} slips", total.0, total.1);
    assert!(total.0 > 12, "{total:?}");
}

/// Beside the frame's edge: a point's distance to a line, and to the line over the head, by similar triangles.
#[test]
fn in_frame_by_the_distance_to_the_frames_edge() {
    let mut plan = portrait([0.5, 1.0], 180.0, [0.0, -3.0], 0.0);
    plan.cameras[0].lens.focal_mm = 24.0;
    let camera = &plan.cameras[0];
    let (wide, _) = optics::delivered_mm(&camera.format, camera.aspect);
    let half = wide / (2.0 * 24.0);
    // The person's right ear is 0.5 m + half a head to the side, 4 m off.
    let breadth = 0.152;
    let edge = (half * 4.0 - 0.5 - 0.5 * breadth) / (1.0 + half * half).sqrt();
    let m = margins(&plan).of_person(&"a".into()).in_frame.unwrap();
    assert!(edge > REACH_M && m.or_more, "{edge} {m:?}");
    plan.shots[0].marks[0].position_m[0] = 1.3;
    let edge = (half * 4.0 - 1.3 - 0.5 * breadth) / (1.0 + half * half).sqrt();
    let m = margins(&plan).of_person(&"a".into()).in_frame.unwrap();
    within(m.margin_m, edge, 1e-6);
    assert_eq!((m.or_more, &m.slips), (false, &Slips::Person("a".into())));
    // Nearer, the crown leaves the frame first: the frame's upper edge rises by `high` a metre.
    plan.shots[0].marks[0].position_m = [0.0, -1.8];
    plan.cameras[0].lens_height_m = 1.5;
    let camera = &plan.cameras[0];
    let (_, tall) = optics::delivered_mm(&camera.format, camera.aspect);
    let high = tall / (2.0 * 24.0);
    let crown = 1.75 - camera.lens_height_m;
    let edge = 1.2 - crown / high;
    let m = margins(&plan).of_person(&"a".into()).in_frame.unwrap();
    within(m.margin_m, edge, 1e-6);
    // Cut by the edge, there is none.
    plan.shots[0].marks[0].position_m = [0.5, -2.0];
    assert_eq!(margins(&plan).of_person(&"a".into()).in_frame, None);
}

/// In focus: the face's distance to the near limit; with the lens tilted, further along the floor by 1/cos.
#[test]
fn in_focus_by_the_depth_left() {
    let mut plan = portrait([0.0, 1.0], 180.0, [0.0, -3.0], 0.0);
    plan.cameras[0].lens.focal_mm = 50.0;
    let face = 4.0 - 0.5 * 0.195;
    for (focus, t_stop) in [(None, 2.8), (Some(face + 0.2), 2.8), (Some(face - 0.1), 4.0)] {
        // The scale of a lens counts from the sensor mark.
        let from_mark = focus.map(|f| f + plan.cameras[0].sensor_behind_m);
        (plan.cameras[0].focus_m, plan.cameras[0].lens.t_stop) = (from_mark, t_stop);
        let coc = optics::circle_of_confusion_mm(&plan.cameras[0].format);
        let (near, far) = optics::depth_of_field_m(50.0, t_stop, coc, focus.unwrap_or(face));
        let m = margins(&plan).of_person(&"a".into()).in_focus.unwrap();
        let left = (face - near).min(far - face);
        within(m.margin_m, left.min(REACH_M), 1e-6);
    }
    (plan.cameras[0].focus_m, plan.cameras[0].lens.t_stop) = (Some(3.0), 1.8);
    assert_eq!(margins(&plan).of_person(&"a".into()).in_focus, None);
}

/// The operator's space is 0.7 m deep and 0.6 m wide: a wall 0.8 m behind leaves 10 cm, one 0.35 m to the side 5.
#[test]
fn the_operator_fits_by_the_nearest_wall() {
    let mut plan = portrait([0.0, 1.0], 180.0, [0.0, -3.0], 0.0);
    let room = |x: f64, y: f64| vec![[x, y], [5.0, y], [5.0, 5.0], [x, 5.0]];
    plan.location.rooms[0].outline_m = room(-5.0, -3.8);
    let m = margins(&plan).fits_behind.unwrap();
    within(m.margin_m, 0.10, 1e-6);
    assert_eq!(m.slips, Slips::Camera("cam".into()));
    plan.location.rooms[0].outline_m = room(-0.35, -3.8);
    within(margins(&plan).fits_behind.unwrap().margin_m, 0.05, 1e-6);
    // Both a corner's distance off: Pythagoras.
    plan.location.rooms[0].outline_m = room(-5.0, -5.0);
    let mut post = Piece::new("post", "post", [0.33 + 0.1, -3.74 - 0.1], [0.2, 0.2], 2.0);
    post.base_m = 0.0;
    plan.location.pieces.push(post);
    within(margins(&plan).fits_behind.unwrap().margin_m, 0.05, 1e-6);
    plan.location.rooms[0].outline_m = room(-5.0, -3.6);
    assert_eq!(margins(&plan).fits_behind, None);
}

/// A lamp beside the frame: its distance to the line of the frame's edge. Behind a wall, whatever it slips, unseen.
#[test]
fn a_lamp_stays_out_by_its_distance_to_the_wedge() {
    let mut plan = portrait([0.0, 1.0], 180.0, [0.0, -3.0], 0.0);
    plan.cameras[0].lens.focal_mm = 24.0;
    let camera = &plan.cameras[0];
    let half = optics::delivered_mm(&camera.format, camera.aspect).0 / 48.0;
    let mut f = Fixture::new("lamp", HeadClass::SoftBox, [half * 2.0 + 0.2, -1.0], 180.0);
    f.height_m = 1.6;
    plan.rigs[0].fixtures.push(f);
    let m = margins(&plan).of_lamp(&"lamp".into()).unwrap();
    within(m.margin_m, 0.2 / (1.0 + half * half).sqrt(), 1e-6);
    // A board from floor to ceiling before it: only past its edge is it seen.
    plan.location.pieces.push(Piece::new("board", "board", [half * 2.0, -2.0], [2.0, 0.05], 3.0));
    let hidden = margins(&plan).of_lamp(&"lamp".into()).unwrap();
    assert!(hidden.margin_m > m.margin_m + 0.1, "{hidden:?} {m:?}");
    plan.rigs[0].fixtures[0].mount = Mount::Set;
    assert_eq!(margins(&plan).of_lamp(&"lamp".into()), None);
}

/// A face that is to be seen whole, beside a board halfway: the distance of its cheek to the line over the board's
/// edge.
#[test]
fn clear_by_the_distance_to_the_line_over_an_edge() {
    let mut plan = portrait([0.0, 1.0], 180.0, [0.0, -3.0], 0.0);
    plan.limits.face_share = 1.0;
    plan.cameras[0].lens.focal_mm = 20.0;
    // The board's edge is 0.15 m to the right, 2 m from the lens and from the head.
    plan.location.pieces.push(Piece::new("board", "board", [0.15 + 0.5, -1.0], [1.0, 0.01], 3.0));
    let line = DVec2::new(0.15, 2.0 - 0.005).normalize();
    let normal = DVec2::new(line.y, -line.x);
    let head = DVec2::new(0.0, 4.0);
    // Half-axes of a head of 1.75 m: 0.076 m across, 0.0975 m to the front (the front is towards −y).
    let cheek = DVec2::new(0.076 * normal.x, 0.0975 * normal.y).length();
    let expected = -(head.dot(normal)) - cheek;
    let m = margins(&plan).of_person(&"a".into()).clear.unwrap();
    within(m.margin_m, expected, 0.012);
    assert!(!m.or_more);
    // Nothing there: the frame is what ends it.
    plan.location.pieces.clear();
    let of = margins(&plan).of_person(&"a".into());
    assert_eq!(of.clear.unwrap().margin_m, of.in_frame.unwrap().margin_m);
}

/// Under the slip allowed it is a hint, with its number; without one to allow for there is none. Facts carry what
/// the notices say.
#[test]
fn what_barely_holds_is_a_hint() {
    let mut plan = portrait([1.3, 1.0], 180.0, [0.0, -3.0], 0.0);
    plan.cameras[0].lens.focal_mm = 24.0;
    plan.location.rooms[0].outline_m = vec![[-5., -3.8], [5., -3.8], [5., 5.], [-5., 5.]];
    let codes = |plan: &Plan| -> Vec<&'static str> {
        shot_facts(plan, &plan.shots[0], 0.0).notices.iter().map(|n| n.code).filter(|c| c.ends_with("barely")).collect()
    };
    plan.limits.slip_m = REACH_M;
    let wide = codes(&plan);
    assert!(wide.contains(&"in-frame-barely") && wide.contains(&"fits-behind-barely"), "{wide:?}");
    plan.limits.slip_m = 0.0;
    assert_eq!(codes(&plan), Vec::<&str>::new());
    let facts = shot_facts(&plan, &plan.shots[0], 0.0);
    let json = serde_json::to_value(&facts).unwrap();
    assert_eq!(json["camera"]["fits_behind_margin"]["margin_m"].as_f64().map(|m| (m * 1e6).round()), Some(1e5));
    assert!(json["people"][0]["margins"]["in_frame"]["margin_m"].is_f64());
    assert_eq!(json["people"][0]["margins"]["in_frame"]["slips"]["person"], "a");
    // The plan's slip is kept in its file.
    plan.limits.slip_m = 0.02;
    let again = from_json(&to_json(&plan).into_bytes()).unwrap();
    assert_eq!(again.limits.slip_m, 0.02);
}
