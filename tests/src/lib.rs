//! Shared set-ups of the acceptance checks. Every check names the source of its value.

pub mod answers;
pub mod every;
mod frames;
pub mod fuzzed;
pub mod laws;
mod lot;
pub mod plausible;
pub mod program;
pub mod shrink;
pub mod transforms;

pub use frames::Frames;
pub use lot::Lot;

use glam::{DVec2, DVec3};
use tapemark_core::geometry::{OwnerIx, Solids};
use tapemark_core::light::{Emitter, Receiver, solve};
use tapemark_core::notices::{Broken, Severity, of_plan};
use tapemark_core::plan::{Camera, Fixture, Head, HeadClass, Mark, Person, Plan, Pose, Receptor, Room};

/// Asserts that a value is within a share of another.
#[track_caller]
pub fn near(value: f64, wanted: f64, share: f64) {
    assert!((value - wanted).abs() <= share * wanted.abs(), "{value} is not within {share} of {wanted}");
}

/// Asserts that a value is within an absolute difference of another.
#[track_caller]
pub fn within(value: f64, wanted: f64, difference: f64) {
    assert!((value - wanted).abs() <= difference, "{value} is not within {difference} of {wanted}");
}

/// A flat receptor.
#[must_use]
pub fn flat(at: DVec3, toward: DVec3) -> Receiver {
    Receiver { at, toward, receptor: Receptor::Flat }
}

/// A dome receptor.
#[must_use]
pub fn dome(at: DVec3, toward: DVec3) -> Receiver {
    Receiver { at, toward, receptor: Receptor::Dome }
}

/// Illuminance in the open.
#[must_use]
pub fn open_air_lx(f: &Fixture, to: &Receiver) -> f64 {
    solve(&Solids::default(), &Emitter::of(f), to, OwnerIx::NONE)
}

/// A bulb that gives 4π·100 lm: 100 cd in every direction.
#[must_use]
pub fn bulb_100_cd(position: [f64; 2], height_m: f64) -> Fixture {
    let mut f = Fixture::new("bulb", HeadClass::BareBulb, position, 0.0);
    f.height_m = height_m;
    f.output_lm = Some(400.0 * std::f64::consts::PI);
    f
}

/// A soft box of luminance 1000 cd/m², level, pointing up the plan (+y).
#[must_use]
pub fn soft_box(width_m: f64, height_m: f64, height_above_m: f64) -> Fixture {
    let mut f = Fixture::new("box", HeadClass::SoftBox, [0.0, 0.0], 0.0);
    f.head = Head::SoftBox { width_m, height_m };
    f.output_lm = Some(1000.0 * std::f64::consts::PI * width_m * height_m);
    f.height_m = height_above_m;
    f.tilt_deg = 0.0;
    f
}

/// One big empty room, one person at a place facing a bearing, one camera.
#[must_use]
pub fn portrait(person_at: [f64; 2], facing_deg: f64, camera_at: [f64; 2], pan_deg: f64) -> Plan {
    let mut plan = Plan::empty();
    plan.location.rooms.push(Room::new("room", "Room", vec![[-10., -10.], [10., -10.], [10., 10.], [-10., 10.]]));
    plan.cast.push(Person {
        id: "a".into(),
        name: "A".into(),
        height_m: 1.75,
        build: Default::default(),
        from: None,
        until: None,
        unknown: Default::default(),
    });
    let mut camera = Camera::new("cam", "Cam A", camera_at, pan_deg);
    camera.lens_height_m = 1.75 * (1.0 + 0.87) * 0.5;
    plan.cameras.push(camera);
    let shot = &mut plan.shots[0];
    shot.camera = Some("cam".into());
    shot.faces.push("a".into());
    shot.marks.push(mark("a", person_at, facing_deg));
    plan
}

/// A mark that lasts the shot.
#[must_use]
pub fn mark(person: &str, at: [f64; 2], facing_deg: f64) -> Mark {
    Mark {
        id: format!("mark-{person}").into(),
        person: person.into(),
        position_m: at,
        facing_deg,
        from_s: 0.0,
        to_s: None,
        pose: Pose::Standing,
        unknown: Default::default(),
    }
}

/// Problems and cautions of a plan that another has not, by code, shot and item; each as often as it is new.
#[must_use]
pub fn harm(before: &Plan, after: &Plan) -> Vec<(&'static str, String, String)> {
    let of = |plan: &Plan| -> Vec<(&'static str, String, String)> {
        let all = of_plan(plan).into_iter().filter(|n| n.severity >= Severity::Problem);
        all.map(|n| (n.code, n.shot.map_or(String::new(), |s| s.to_string()), n.item)).collect()
    };
    let mut had = of(before);
    let mut new = of(after);
    new.retain(|n| had.iter().position(|h| h == n).map(|i| had.swap_remove(i)).is_none());
    new.sort();
    new
}

/// What an answer says it breaks, as [`harm`] tells it.
#[must_use]
pub fn said(broken: &[Broken]) -> Vec<(&'static str, String, String)> {
    let shot = |b: &Broken| b.shot.as_ref().map_or(String::new(), |s| s.to_string());
    let mut out: Vec<_> = broken.iter().map(|b| (b.code, shot(b), b.item.clone())).collect();
    out.sort();
    out
}

/// Points of a plan.
#[must_use]
pub fn p(x: f64, y: f64) -> DVec2 {
    DVec2::new(x, y)
}

/// A program that checks our files from outside, when it is there: named by an environment variable or found on the
/// path, and able to run the arguments given. CI asks for all of them with `TAPEMARK_TOOLS=required`.
///
/// # Panics
/// When it is required and not there.
#[must_use]
pub fn tool(variable: &str, usual: &str, proof: &[&str]) -> Option<String> {
    let name = std::env::var(variable).unwrap_or_else(|_| usual.into());
    let there = std::process::Command::new(&name).args(proof).output().is_ok_and(|o| o.status.success());
    let required = std::env::var("TAPEMARK_TOOLS").is_ok_and(|v| v == "required");
    assert!(there || !required, "{name} {proof:?} does not run here");
    if !there {
        eprintln!("not checked: {name} {proof:?} does not run here");
    }
    there.then_some(name)
}
