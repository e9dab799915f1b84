//! Every answer there is about a plan, by name, without files or a window.

use crate::plausible::of_sizes;
use glam::DVec3;
use tapemark_core::blocking::{Moments, clear_map, lens_for_size, place_for_size, suggest};
use tapemark_core::continuity::carry_over;
use tapemark_core::cover::cover;
use tapemark_core::day::{DayFacts, rig_facts, worked};
use tapemark_core::facts::shot_facts;
use tapemark_core::frame::{FrameSpec, picture};
use tapemark_core::kit::{KitFile, kit_list};
use tapemark_core::light::{
    FINE_PATCH_M, Goal, MapFacing, MapShows, MapSpec, Transport, background, light_map, reach, spot, sun_spells,
};
use tapemark_core::notices;
use tapemark_core::order::order;
use tapemark_core::plan::{Plan, Shot, ShotSize, from_json, to_json};
use tapemark_core::progress::Progress;
use tapemark_core::scene::Scene;
use tapemark_exchange::{to_dxf, to_glb};
use tapemark_sheet::{PHONE_DPI, SheetSpec, compose, day_pages, frame_page, lists, phone_page, to_pdf, to_png, to_svg};

/// An answer: worked out and thrown away. It panics when it is wrong.
pub type Answer = fn(&Plan);

/// All of them.
pub const ANSWERS: [(&str, Answer); 22] = [
    ("facts", |p| each(p, |s| drop(shot_facts(p, s, 0.0)))),
    ("facts later", |p| each(p, |s| finite(p, s, s.length_s * 0.5))),
    ("notices", |p| drop(notices::of_plan(p))),
    ("day", |p| drop(DayFacts::of(p, &KitFile::default(), 0.0))),
    ("order", |p| drop(order(p))),
    ("kit", |p| drop(kit_list(p, &KitFile::default()))),
    ("power", |p| drop(rig_facts(p))),
    ("cover", |p| drop(cover(p, &p.shots))),
    ("clear view", |p| each(p, |s| drop(clear_map(p, s, &Moments::of(p, s), 0.25)))),
    ("suggestions", |p| each(p, |s| drop(suggest(p, s, &Moments::of(p, s), 0.85)))),
    ("sizes", |p| each(p, |s| sizes(p, s))),
    ("goal", |p| each(p, |s| goal(p, s))),
    ("carry-over", carried),
    ("spot", |p| each(p, |s| spots(p, s))),
    ("daylight", |p| each(p, |s| drop(sun_spells(p, s)))),
    ("frame", |p| each(p, |s| frame(p, s))),
    ("light map", |p| each(p, |s| maps(p, s))),
    ("lists", |p| lists(p, &KitFile::default()).iter().for_each(|l| drop(l.csv()))),
    ("sheet", sheet),
    ("day on paper", |p| {
        let pages = day_pages(p, &KitFile::default(), &SheetSpec::default(), &|_| None, &Progress::default());
        drop(pages.map(|all| to_pdf(&all)));
    }),
    ("phone", |p| {
        p.shots.iter().take(1).for_each(|s| drop(to_png(&phone_page(p, &worked(p, s, 0.0), None), PHONE_DPI)));
    }),
    ("hand-over", |p| each(p, |s| hand_over(p, s))),
];

/// Asks everything.
pub fn ask(plan: &Plan) {
    ANSWERS.iter().for_each(|(_, answer)| answer(plan));
}

/// The plan of a seed for long runs: as many rooms and people as usual, fewer shots.
#[must_use]
pub fn of_long_run(seed: u64) -> Plan {
    use crate::plausible::Sizes;
    of_sizes(seed, &Sizes { rigs: 2, shots: 2, ..Sizes::USUAL })
}

fn each(plan: &Plan, answer: impl Fn(&Shot)) {
    plan.shots.iter().for_each(answer);
}

fn lit(plan: &Plan, shot: &Shot) -> (Scene, Transport) {
    let scene = Scene::of(plan, shot, 0.0);
    let transport = Transport::of(plan, plan.shot_rig(shot).as_deref(), &scene, FINE_PATCH_M, None);
    (scene, transport)
}

/// Facts in which every number is one: shares lie between none and all, no light is negative.
fn finite(plan: &Plan, shot: &Shot, at_s: f64) {
    let facts = shot_facts(plan, shot, at_s);
    for p in &facts.people {
        for share in [p.in_frame_share, p.turned_share, p.clear_share].into_iter().flatten() {
            assert!((0.0..=1.0 + 1e-6).contains(&share), "{}: a share of {share}", p.person);
        }
        if let Some(r) = &p.reading {
            assert!(r.illuminance_lx.is_finite() && r.illuminance_lx >= 0.0, "{}: {} lx", p.person, r.illuminance_lx);
        }
    }
    for lane in &facts.lanes {
        let in_order = lane.spans.windows(2).all(|w| w[0].to_s == w[1].from_s);
        assert!(in_order && lane.spans.iter().all(|s| s.from_s <= s.to_s), "{}: spans out of order", lane.person);
    }
    if let Some(c) = &facts.cover {
        assert!(c.surfaces.iter().all(|s| s.area_m2 >= 0.0 && s.area_m2.is_finite()), "a surface without an area");
    }
}

fn sizes(plan: &Plan, shot: &Shot) {
    let (scene, moments) = (Scene::of(plan, shot, 0.0), Moments::of(plan, shot));
    for person in shot.faces.iter().take(1) {
        for size in [ShotSize::Full, ShotSize::Close] {
            let _ = lens_for_size(plan, shot, &scene, person, size);
            let _ = place_for_size(plan, shot, &scene, &moments, person, size);
        }
    }
}

fn goal(plan: &Plan, shot: &Shot) {
    let (scene, transport) = lit(plan, shot);
    for person in shot.faces.iter().take(1) {
        let goal = Goal { person: person.clone(), t_stop: 2.8, ratio: 4.0, background_stops: Some(-1.0) };
        if let Ok(found) = reach(plan, shot, &scene, &transport, &goal) {
            let next = tapemark_core::edit::apply(plan, &found.edit());
            assert!(next.is_ok(), "what reaches the goal cannot be done: {:?}", next.err());
        }
    }
}

fn carried(plan: &Plan) {
    let Some((a, b)) = plan.shots.first().zip(plan.shots.get(1)) else { return };
    for person in plan.cast.iter().take(1) {
        if let Ok(found) = carry_over(plan, a, b, &person.id)
            && let Some(edit) = &found.edit
        {
            let next = tapemark_core::edit::apply(plan, edit);
            assert!(next.is_ok(), "what carries the light over cannot be done: {:?}", next.err());
        }
    }
}

fn spots(plan: &Plan, shot: &Shot) {
    let (scene, transport) = lit(plan, shot);
    let _ = background(plan, shot, &scene, &transport);
    let eye = scene.view.as_ref().map_or(DVec3::Z, |v| v.eye);
    for d in [DVec3::X, DVec3::NEG_Y, DVec3::NEG_Z, DVec3::new(0.5, 0.7, 0.1)] {
        let _ = spot(plan, &scene, &transport, eye, d);
    }
}

fn frame(plan: &Plan, shot: &Shot) {
    let (scene, transport) = lit(plan, shot);
    let (Some(camera), Some(view)) = (plan.shot_camera(shot), &scene.view) else { return };
    let rig = plan.shot_rig(shot);
    let spec = FrameSpec::for_view(view, 96);
    let picture = picture(plan, &scene, rig.as_deref(), &transport, spec).expect("there is a camera");
    assert!(picture.light.iter().flatten().all(|l| l.is_finite() && *l >= 0.0), "light that is no light");
    let page = frame_page(&picture.developed(camera, &plan.exposure, 1), &[]);
    drop(to_png(&page, 24.0).expect("a small picture can be written"));
}

fn maps(plan: &Plan, shot: &Shot) {
    let (scene, transport) = lit(plan, shot);
    for shows in [MapShows::Level, MapShows::KeyFill, MapShows::Colour] {
        let spec = MapSpec { shows, ..MapSpec::new(1.5, 0.25, MapFacing::Lens) };
        let map = light_map(plan, &scene, &transport, &spec);
        assert!(map.level_lx.iter().all(|l| !l.is_infinite() && *l >= 0.0 || l.is_nan()), "a level that is none");
    }
}

fn sheet(plan: &Plan) {
    let spec = SheetSpec { light_height_m: Some(1.5), clear_view: false, cover: true, ..SheetSpec::default() };
    for shot in plan.shots.iter().take(1) {
        let page = compose(plan, shot, &spec);
        let svg = to_svg(&page);
        assert!(roxmltree::Document::parse(&svg).is_ok(), "the drawing is no XML");
        drop(to_pdf(std::slice::from_ref(&page)).expect("a page can be written as PDF"));
        drop(to_png(&page, 40.0).expect("a page can be written as PNG"));
    }
}

fn hand_over(plan: &Plan, shot: &Shot) {
    assert!(to_dxf(plan, shot).is_ok(), "no drawing");
    assert!(to_glb(plan, shot, 0.0).is_ok(), "no scene");
    assert_eq!(from_json(to_json(plan).as_bytes()).as_ref(), Ok(plan));
}
