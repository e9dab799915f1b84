//! Laws that hold for every plan, asked about plans drawn by lot: what must stay the same when a plan is told
//! otherwise, and which way an answer may go when something is added. No value from outside is needed for them:
//! geometry says that a room is no brighter for lying elsewhere, and optics that light adds up.

mod edits;
mod light;
mod order;
mod place;
mod sight;

use crate::answers::{Within, same};
use crate::shrink::{Asked, Held, held, keep_specimen, shrink};
use serde_json::Value;
use std::time::Duration;
use tapemark_core::plan::{Plan, validate};

/// A law, and the plans it is asked about.
#[derive(Clone, Copy)]
pub struct Law {
    /// What its specimens and its test are called.
    pub name: &'static str,
    /// What it says.
    pub says: &'static str,
    /// What an answer may be off by.
    pub allows: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// How many plans it is asked about in an ordinary run.
    pub plans: u64,
    /// The plan of a seed.
    pub plan: fn(u64) -> Plan,
    /// Whether a plan holds to it: how far it is off, as a share of what is allowed, or what is wrong.
    pub ask: fn(&Plan) -> Held,
}

/// All laws.
#[must_use]
pub fn all() -> Vec<Law> {
    [order::LAWS, place::LAWS, light::LAWS, sight::LAWS, edits::LAWS].concat()
}

/// What came of asking a law about many plans.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// How far each was off, as a share of what is allowed, by seed.
    pub off: Vec<(u64, f64)>,
    /// Seeds of plans that broke it, and how.
    pub broken: Vec<(u64, String)>,
}

impl Law {
    /// Asks about plans by seed.
    #[must_use]
    pub fn found(&self, asked: Asked) -> Found {
        let mut found = Found::default();
        for seed in asked.seed..asked.seed + asked.plans {
            match held(self.ask, &(self.plan)(seed)) {
                Ok(off) => found.off.push((seed, off)),
                Err(why) => found.broken.push((seed, why)),
            }
        }
        found
    }

    /// Asks about as many plans as usual, or as the environment says; the first that breaks the law is made as
    /// small as it can be, kept, and named in the panic.
    ///
    /// # Panics
    /// When a plan breaks the law.
    #[track_caller]
    pub fn holds(&self) {
        let asked = Asked::usually(self.plans);
        for seed in asked.seed..asked.seed + asked.plans {
            let plan = (self.plan)(seed);
            let Err(why) = held(self.ask, &plan) else { continue };
            let least = shrink(&plan, |p| held(self.ask, p).is_err(), Duration::from_secs(60));
            let path = keep_specimen(&format!("{}-{seed}", self.name), &least);
            let least_why = held(self.ask, &least).err().unwrap_or_default();
            panic!("{}, seed {seed}: {why}\nthe least plan ({}): {least_why}", self.name, path.display());
        }
    }
}

/// The law of that name.
///
/// # Panics
/// When there is none.
#[must_use]
pub fn law(name: &str) -> Law {
    all().into_iter().find(|l| l.name == name).unwrap_or_else(|| panic!("there is no law {name}"))
}

/// What a figure's key ends with says what it is, and so how far it may be off.
#[derive(Debug, Clone, Copy)]
struct Limits {
    /// Lengths, metres, and angles, degrees.
    length: f64,
    /// Shares of faces.
    share: f64,
    /// Light, as a share of it.
    light: f64,
    /// Seconds: borders of what is seen when.
    seconds: f64,
}

/// Keys of what moves along with the plan: where things are, and words that say it.
const WHERE: [&str; 26] = [
    "position_m",
    "point_m",
    "toward",
    "normal",
    "place_m",
    "path_m",
    "at_m",
    "from_m",
    "to_m",
    "wall_point_m",
    "outline_m",
    "outlines_m",
    "stretches_m",
    "tape",
    "surface",
    "surfaces",
    "what",
    "remedy",
    "why",
    "pan_deg",
    "facing_deg",
    "azimuth_deg",
    "rotation_deg",
    "north_deg",
    "barn_doors",
    "points_m",
];

/// The keys on the way to a figure.
fn keys(path: &str) -> impl Iterator<Item = &str> {
    path.split(['.', '[', ']']).filter(|k| !k.is_empty())
}

fn is_where(path: &str) -> bool {
    keys(path).any(|k| WHERE.contains(&k))
}

fn within(path: &str, limits: Limits) -> Within {
    let last = keys(path).filter(|k| k.parse::<usize>().is_err()).last().unwrap_or_default();
    let ends = |list: &[&str]| list.iter().any(|e| last.ends_with(e));
    if ends(&["_lx", "_fc", "_cd", "_cd_m2"]) {
        // Nobody sees or meters so little.
        Within::Either(2.5 * limits.light, limits.light)
    } else if ends(&["cct_k"]) {
        Within::Either(1e-3, limits.light)
    } else if ends(&["_m2"]) {
        // Outlines are clipped on a grid of whole numbers.
        Within::Either(500.0 * limits.length, 100.0 * limits.length)
    } else if ends(&["_stops", "duv", "xy", "difference", "delta_e", "t_stop"]) {
        Within::Either(1.5 * limits.light, limits.light)
    } else if ends(&["share"]) {
        Within::Either(limits.share, 0.0)
    } else if ends(&["room_behind_m", "margin_m"]) {
        // Measured on solids of single precision: 4 µm apart at 40 m from the origin.
        Within::Either(10.0 * limits.length, 1e-9)
    } else if ends(&["_s"]) {
        Within::Either(limits.seconds, 1e-9)
    } else {
        Within::Either(limits.length, 1e-9)
    }
}

fn told_otherwise(b: &Plan) -> Result<(), String> {
    let faults = validate(b);
    if faults.is_empty() { Ok(()) } else { Err(format!("told otherwise it is no plan: {faults:?}")) }
}

/// Both are plans, and what `ask` says of them is the same within limits, places and words aside.
fn alike(a: &Plan, b: &Plan, ask: impl Fn(&Plan) -> Value, limits: Limits) -> Held {
    told_otherwise(b)?;
    same(&ask(a), &ask(b), |path| if is_where(path) { Within::Any } else { within(path, limits) })
}

/// Both are plans, and what `ask` says of them is the same to the last digits, words too.
fn equal(a: &Plan, b: &Plan, ask: impl Fn(&Plan) -> Value) -> Held {
    told_otherwise(b)?;
    same(&ask(a), &ask(b), |_| Within::Either(1e-9, 1e-9))
}
