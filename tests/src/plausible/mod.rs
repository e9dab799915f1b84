//! Plans as a small unit might draw them, by seed: the same seed gives the same plan on every machine.
//!
//! No angle is worked out with more digits than it is kept with, and nothing is taken from a list whose order is
//! not fixed.

mod lamps;
mod names;
mod people;
mod pieces;
mod rooms;

use crate::Lot;
use tapemark_core::plan::{Circuit, Clock, Date, Daylight, Exposure, Feed, Outlet, Pin, Plan, Receptor, validate};
use tapemark_core::units::{LengthUnit, M_PER_IN};

/// Most of each kind in a plan.
#[derive(Debug, Clone, Copy)]
pub struct Sizes {
    /// Rooms.
    pub rooms: usize,
    /// Doors, windows and passages.
    pub openings: usize,
    /// Pieces.
    pub pieces: usize,
    /// People.
    pub people: usize,
    /// Rigs.
    pub rigs: usize,
    /// Lamps in a rig.
    pub lamps: usize,
    /// Shots.
    pub shots: usize,
}

impl Sizes {
    /// As a location with a scene's storyboard.
    pub const USUAL: Sizes = Sizes { rooms: 5, openings: 7, pieces: 9, people: 4, rigs: 3, lamps: 5, shots: 4 };
    /// As one corner of it: soon worked out.
    pub const SMALL: Sizes = Sizes { rooms: 2, openings: 3, pieces: 4, people: 2, rigs: 1, lamps: 3, shots: 1 };
}

/// A plan by its seed.
#[must_use]
pub fn plausible(seed: u64) -> Plan {
    of_sizes(seed, &Sizes::USUAL)
}

/// A plan by its seed that is soon worked out.
#[must_use]
pub fn small(seed: u64) -> Plan {
    of_sizes(seed, &Sizes::SMALL)
}

/// A plan by its seed, with at most so much in it.
///
/// # Panics
/// When what is made is no plan.
#[must_use]
pub fn of_sizes(seed: u64, sizes: &Sizes) -> Plan {
    let mut lot = Lot(seed.wrapping_mul(0xd134_2543_de82_ef95).wrapping_add(1));
    let mut plan = Plan::empty();
    plan.rigs.clear();
    plan.shots.clear();
    let tape = settings(&mut lot, &mut plan);
    let floor = rooms::draw(&mut lot, &mut plan, sizes, tape);
    power(&mut lot, &mut plan, &floor);
    pieces::set(&mut lot, &mut plan, sizes, &floor);
    people::cast(&mut lot, &mut plan, sizes);
    lamps::hang(&mut lot, &mut plan, sizes, &floor);
    people::stage(&mut lot, &mut plan, sizes, &floor);
    pins(&mut lot, &mut plan);
    let faults = validate(&plan);
    assert!(faults.is_empty(), "seed {seed}: {faults:?}");
    plan
}

/// Keeps a change to a plan when what comes of it is one still.
fn keep(plan: &mut Plan, change: impl FnOnce(&mut Plan)) -> bool {
    let mut next = plan.clone();
    change(&mut next);
    let good = validate(&next).is_empty();
    if good {
        *plan = next;
    }
    good
}

/// Draws the plan's own settings; what a tape is read to, metres.
fn settings(lot: &mut Lot, plan: &mut Plan) -> f64 {
    plan.title = names::title(lot);
    if lot.percent(20) {
        plan.notes = names::note(lot);
    }
    let feet = lot.percent(30);
    plan.length_unit = if feet { LengthUnit::FeetInches } else { LengthUnit::Metres };
    plan.exposure = Exposure {
        ei: lot.one(&[100.0, 400.0, 800.0, 1600.0, 3200.0]).unwrap_or(800.0),
        frame_rate: lot.one(&[24.0, 25.0, 30.0, 50.0]).unwrap_or(25.0),
        shutter_deg: lot.one(&[90.0, 172.8, 180.0, 360.0]).unwrap_or(180.0),
        white_balance_k: lot.steps(2800.0, 6500.0, 100.0),
        receptor: if lot.percent(30) { Receptor::Flat } else { Receptor::Dome },
        calibration_c: lot.percent(10).then(|| lot.steps(240.0, 400.0, 10.0)),
    };
    let feet_mains = feet && lot.percent(70);
    let l = &mut plan.location;
    l.name = names::place(lot);
    l.mains_v = if feet_mains { 120.0 } else { 230.0 };
    l.wall_thickness_m = lot.one(&[0.05, 0.1, 0.12, 0.12, 0.2, 0.36]).unwrap_or(0.12);
    if lot.percent(60) {
        l.north_deg = lot.steps(0.0, 359.0, 1.0);
    }
    if lot.percent(70) {
        l.latitude_deg = Some(lot.steps(-60.0, 66.0, 0.1));
        l.longitude_deg = Some(lot.steps(-170.0, 170.0, 0.1));
    }
    if lot.percent(45) {
        plan.daylight = Some(Daylight {
            date: Date { year: 2026, month: 1 + lot.below(12) as u32, day: 1 + lot.below(28) as u32 },
            clock: Clock { minutes: 5 * lot.below(288) as u32 },
            utc_offset_h: lot.steps(-5.0, 9.0, 0.5),
            sky_type: 1 + lot.below(15) as u8,
            ground_reflectance: lot.steps(0.05, 0.8, 0.05),
        });
    }
    if feet { M_PER_IN * 0.5 } else { 0.01 }
}

fn power(lot: &mut Lot, plan: &mut Plan, floor: &rooms::Floor) {
    for i in 0..lot.below(4) {
        let feed = lot.percent(40).then(|| Feed {
            length_m: lot.steps(3.0, 40.0, 0.5),
            conductor_mm2: lot.one(&[1.5, 2.5, 4.0]).unwrap_or(2.5),
        });
        let circuit = Circuit {
            id: format!("circuit-{}", i + 1).into(),
            name: if lot.percent(70) { names::thing(lot) } else { String::new() },
            breaker_a: lot.one(&[6.0, 10.0, 13.0, 16.0, 20.0, 32.0]).unwrap_or(16.0),
            feed,
            unknown: Default::default(),
        };
        keep(plan, |p| p.location.circuits.push(circuit));
    }
    let circuits: Vec<_> = plan.location.circuits.iter().map(|c| c.id.clone()).collect();
    for i in 0..lot.below(7) {
        let Some(circuit) = lot.one(&circuits) else { break };
        // Most at a wall, as they are.
        let at = if lot.percent(85) { floor.by_a_wall(lot, 0.02).0 } else { floor.anywhere(lot) };
        let outlet = Outlet {
            id: format!("outlet-{}", i + 1).into(),
            position_m: at.to_array(),
            circuit,
            unknown: Default::default(),
        };
        keep(plan, |p| p.location.outlets.push(outlet));
    }
}

fn pins(lot: &mut Lot, plan: &mut Plan) {
    if plan.shots.len() < 2 || !lot.percent(25) {
        return;
    }
    let shot = plan.shots[lot.below(plan.shots.len())].id.clone();
    let place = 1 + lot.below(2);
    keep(plan, |p| p.day.pins.push(Pin { shot, place }));
}
