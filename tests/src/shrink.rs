//! From a plan that breaks a law to the least one that breaks it still, and where such specimens are kept.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use tapemark_core::edit::{Edit, ItemRef, apply};
use tapemark_core::plan::{Finishes, Plan, to_json};

/// Whether a plan holds to something: how far it is off, as a share of what is allowed, or what is wrong.
pub type Held = Result<f64, String>;

/// A law's answer for a plan; a panic breaks it.
pub fn held(law: impl Fn(&Plan) -> Held, plan: &Plan) -> Held {
    catch_unwind(AssertUnwindSafe(|| law(plan))).unwrap_or_else(|e| {
        let text = e.downcast_ref::<String>().map(String::as_str).or_else(|| e.downcast_ref::<&str>().copied());
        Err(format!("a panic: {}", text.unwrap_or("without words")))
    })
}

/// Everything that can be left out of a plan, what most depends on first.
fn parts(plan: &Plan) -> Vec<ItemRef> {
    let l = &plan.location;
    let mut out: Vec<ItemRef> = Vec::new();
    out.extend(plan.shots.iter().map(|x| ItemRef::Shot(x.id.clone())));
    out.extend(plan.rigs.iter().map(|x| ItemRef::Rig(x.id.clone())));
    out.extend(l.rooms.iter().map(|x| ItemRef::Room(x.id.clone())));
    out.extend(plan.cast.iter().map(|x| ItemRef::Person(x.id.clone())));
    out.extend(plan.cameras.iter().map(|x| ItemRef::Camera(x.id.clone())));
    out.extend(plan.rigs.iter().flat_map(|r| &r.fixtures).map(|x| ItemRef::Fixture(x.id.clone())));
    out.extend(plan.shots.iter().flat_map(|s| &s.lamps).map(|x| ItemRef::Fixture(x.fixture.id.clone())));
    out.extend(l.pieces.iter().map(|x| ItemRef::Piece(x.id.clone())));
    out.extend(l.openings.iter().map(|x| ItemRef::Opening(x.id.clone())));
    out.extend(plan.shots.iter().flat_map(|s| &s.marks).map(|x| ItemRef::Mark(x.id.clone())));
    out.extend(l.circuits.iter().map(|x| ItemRef::Circuit(x.id.clone())));
    out.extend(l.outlets.iter().map(|x| ItemRef::Outlet(x.id.clone())));
    out
}

/// Ways to make a plan plainer without taking anything out of it.
const PLAINER: [fn(&mut Plan); 9] = [
    |p| p.daylight = None,
    |p| p.location.north_deg = 0.0,
    |p| p.location.rooms.iter_mut().for_each(|r| r.finishes = Finishes::default()),
    |p| p.cameras.iter_mut().for_each(|c| c.marks.clear()),
    |p| p.cameras.iter_mut().for_each(|c| (c.roll_deg, c.tilt_deg) = (0.0, 0.0)),
    |p| p.rigs.iter_mut().flat_map(|r| &mut r.fixtures).for_each(|f| f.gels.clear()),
    |p| p.rigs.iter_mut().flat_map(|r| &mut r.fixtures).for_each(|f| f.barn_doors = None),
    |p| p.rigs.iter_mut().flat_map(|r| &mut r.fixtures).for_each(|f| (f.candela, f.diffusion) = (None, None)),
    |p| p.shots.iter_mut().for_each(|s| (s.description, s.notes) = Default::default()),
];

/// The least plan that fails still, by leaving out one thing after another for at most so long.
#[must_use]
pub fn shrink(plan: &Plan, fails: impl Fn(&Plan) -> bool, at_most: Duration) -> Plan {
    let until = Instant::now() + at_most;
    let mut least = plan.clone();
    loop {
        let before = least.clone();
        for part in parts(&before) {
            if Instant::now() > until {
                return least;
            }
            // What went with another part is no longer there.
            if let Ok(next) = apply(&least, &Edit::Remove(vec![part]))
                && next != least
                && fails(&next)
            {
                least = next;
            }
        }
        for plainer in PLAINER {
            let mut next = least.clone();
            plainer(&mut next);
            if next != least && Instant::now() < until && fails(&next) {
                least = next;
            }
        }
        if least == before {
            return least;
        }
    }
}

/// Where specimens are kept.
#[must_use]
pub fn specimens() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("specimens")
}

/// Keeps the least plan that breaks a law: among the specimens with `TAPEMARK_SPECIMENS=write`, otherwise in the
/// folder for passing things. Where it lies.
///
/// # Panics
/// When it cannot be written.
#[must_use]
pub fn keep_specimen(name: &str, plan: &Plan) -> PathBuf {
    let kept = std::env::var("TAPEMARK_SPECIMENS").is_ok_and(|v| v == "write");
    let folder = if kept { specimens() } else { std::env::temp_dir() };
    std::fs::create_dir_all(&folder).expect("the folder can be made");
    let path = folder.join(format!("{name}.tapemark.json"));
    std::fs::write(&path, to_json(plan)).expect("the specimen can be written");
    path
}

/// How many plans a law is asked about, and from which seed on.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Plans: `TAPEMARK_PLANS`, or as many as the law says.
    pub plans: u64,
    /// First seed: `TAPEMARK_SEED`, or 1.
    pub seed: u64,
}

impl Asked {
    /// So many, unless the environment says otherwise.
    #[must_use]
    pub fn usually(plans: u64) -> Asked {
        let number = |name| std::env::var(name).ok().and_then(|n: String| n.parse().ok());
        Asked { plans: number("TAPEMARK_PLANS").unwrap_or(plans), seed: number("TAPEMARK_SEED").unwrap_or(1) }
    }
}
