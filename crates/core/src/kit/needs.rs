//! What the shots of a plan need. Rigs are struck between set-ups, so the most that any one shot needs counts.

use super::Thing;
use crate::cover::cover;
use crate::plan::{Fixture, LampType, Mount, PieceKind, Plan, Shot};
use crate::power::{CableRun, Floorway, cable_runs_on, tripods};
use serde::Serialize;
use std::collections::BTreeMap;
use tapemark_words::say;

/// Something needed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Need {
    /// What.
    pub thing: Thing,
    /// How many, in its unit.
    pub count: f64,
    /// Where it is wanted.
    pub why: String,
    /// Whether the shots work without it.
    pub only_if_wanted: bool,
}

/// A sheet of gel or diffusion: 0.61 × 0.53 m (24 × 21 in, the common sheet; common practice, no source).
pub const SHEET_M: (f64, f64) = (0.61, 0.53);
/// Lengths that extension cables are sold in, metres (common practice, no source).
pub const CABLE_LENGTHS_M: [f64; 7] = [3.0, 5.0, 10.0, 15.0, 25.0, 40.0, 50.0];
/// A gel is cut this much larger than the mouth all round, metres.
const MARGIN_M: f64 = 0.05;
/// On doors a gel hangs before the leaves: this wide, metres.
const ON_DOORS_M: f64 = 0.30;
/// Heads above this want a second sandbag, metres (common practice, no source).
const HIGH_M: f64 = 2.2;
/// A roll of cloth tape, metres, with a third kept in reserve.
const TAPE_ROLL_M: f64 = 50.0;

/// Piece of gel or diffusion a head takes, metres.
fn piece_m(f: &Fixture) -> (f64, f64) {
    match f.head.area_m() {
        Some((w, h)) => (w + 2.0 * MARGIN_M, h + 2.0 * MARGIN_M),
        None if f.barn_doors.is_some() => (ON_DOORS_M, ON_DOORS_M),
        None => (f.head.mouth_m() + 2.0 * MARGIN_M, f.head.mouth_m() + 2.0 * MARGIN_M),
    }
}

/// Sheets that pieces of these sizes are cut from: as many as fit side by side, larger ones joined from whole
/// sheets.
fn sheets(pieces: &[(f64, f64)]) -> f64 {
    let (w, h) = SHEET_M;
    let fit = |a: f64, b: f64| ((w / a + 1e-9).floor() * (h / b + 1e-9).floor()).max(0.0);
    let share: f64 = pieces
        .iter()
        .map(|(a, b)| {
            let on_one = fit(*a, *b).max(fit(*b, *a));
            if on_one >= 1.0 {
                1.0 / on_one
            } else {
                let joined = |a: f64, b: f64| (a / w).ceil() * (b / h).ceil();
                joined(*a, *b).min(joined(*b, *a))
            }
        })
        .sum();
    (share - 1e-9).ceil().max(0.0)
}

struct Most<'a> {
    count: f64,
    shot: &'a Shot,
}

/// Everything the shots need.
#[must_use]
pub fn needs(plan: &Plan) -> Vec<Need> {
    let taken: Vec<&Shot> = plan.shots.iter().filter(|s| s.variant_of.is_none()).collect();
    let floor = Floorway::of(plan);
    let mut things: Vec<Thing> = Vec::new();
    let mut most: BTreeMap<usize, Most<'_>> = BTreeMap::new();
    let mut cables: Vec<(f64, f64, String)> = Vec::new();
    let mut tape_m: f64 = 0.0;
    let mut spares: Vec<(f64, f64)> = Vec::new();
    for shot in &taken {
        let mut here: Vec<(Thing, f64)> = Vec::new();
        let mut add = |thing: Thing, n: f64| match here.iter_mut().find(|(t, _)| *t == thing) {
            Some(x) => x.1 += n,
            None => here.push((thing, n)),
        };
        let lamps: Vec<&Fixture> = plan.shot_fixtures(shot).into_iter().filter(|f| f.mount != Mount::Ceiling).collect();
        let mut gels: BTreeMap<(bool, &str), Vec<(f64, f64)>> = BTreeMap::new();
        for f in lamps.iter().filter(|f| f.on) {
            add(Thing::Lamp { class: f.head.class(), lamp: f.lamp, watts: f.watts }, 1.0);
            match f.mount {
                Mount::Stand => {
                    add(Thing::Stand, 1.0);
                    let heavy = f.height_m > HIGH_M || f.watts >= 1000.0 && f.lamp == LampType::Tungsten;
                    add(Thing::Sandbag, if heavy { 2.0 } else { 1.0 });
                }
                Mount::Clamp => add(Thing::Clamp, 1.0),
                _ => {}
            }
            for g in &f.gels {
                gels.entry((true, g.name())).or_default().push(piece_m(f));
            }
            if let Some(d) = &f.diffusion {
                gels.entry((false, d.name.as_str())).or_default().push(piece_m(f));
            }
            if f.scrim_stops > 0.0 {
                add(Thing::Scrims, 1.0);
            }
        }
        for ((gel, name), pieces) in gels {
            let name = name.to_string();
            add(if gel { Thing::Gel { name } } else { Thing::Diffusion { name } }, sheets(&pieces));
        }
        if shot.camera.is_some() {
            add(Thing::Tripod, 1.0);
        }
        let runs =
            plan.shot_rig(shot).map(|r| cable_runs_on(plan, &r, &floor, &tripods(plan, [*shot]))).unwrap_or_default();
        let blocks = runs.iter().map(|r| &r.outlet).collect::<std::collections::BTreeSet<_>>();
        // A wall outlet takes two plugs.
        let crowded = blocks.iter().filter(|o| runs.iter().filter(|r| &r.outlet == **o).count() > 2).count();
        if crowded > 0 {
            add(Thing::OutletBlock, crowded as f64);
        }
        longest(&mut cables, &runs, &shot.name);
        let marks = shot.marks.len() as f64 * 0.5;
        let over: f64 = runs.iter().map(|r| r.floor_m * 0.3 + r.crossings.len() as f64 * 2.0).sum();
        tape_m = tape_m.max(over + marks);
        for (thing, n) in here {
            let i = things.iter().position(|t| *t == thing).unwrap_or_else(|| {
                things.push(thing);
                things.len() - 1
            });
            let m = most.entry(i).or_insert(Most { count: 0.0, shot });
            if n > m.count {
                *m = Most { count: n, shot };
            }
        }
    }
    for (i, t) in things.iter().enumerate() {
        if let (Thing::Lamp { lamp: LampType::Tungsten, watts, .. }, Some(m)) = (t, most.get(&i)) {
            spares.push((*watts, (m.count * 0.5).ceil()));
        }
    }
    let mut out: Vec<Need> = things
        .into_iter()
        .enumerate()
        .filter_map(|(i, thing)| {
            let m = most.get(&i)?;
            Some(Need { thing, count: m.count, why: say!("shot-named", shot = m.shot.name), only_if_wanted: false })
        })
        .collect();
    out.sort_by_key(|n| rank(&n.thing));
    for (length_m, conductor_mm2, why) in cables {
        let thing = Thing::Cable { length_m, conductor_mm2 };
        match out.iter_mut().find(|n| n.thing == thing) {
            Some(n) => n.count += 1.0,
            None => out.push(Need { thing, count: 1.0, why, only_if_wanted: false }),
        }
    }
    for (watts, count) in spares {
        out.push(Need {
            thing: Thing::SpareLamp { watts },
            count,
            why: say!("one-for-every-two-that-burn").into(),
            only_if_wanted: false,
        });
    }
    for (kind, thing) in [(PieceKind::Flag, Thing::Flag), (PieceKind::Board, Thing::Board)] {
        let count = plan.location.pieces.iter().filter(|p| p.kind == kind).count() as f64;
        if count > 0.0 {
            out.push(Need { thing, count, why: say!("drawn-on-the-plan").into(), only_if_wanted: false });
        }
    }
    if tape_m > 0.0 {
        let count = (tape_m * 1.33 / TAPE_ROLL_M).ceil();
        out.push(Need { thing: Thing::Tape, count, why: say!("marks-and-cables").into(), only_if_wanted: false });
    }
    let black = cover(plan, taken.iter().copied());
    if black.wall_cloth_m > 0.0 {
        out.push(Need {
            thing: Thing::Cloth { roll_width_m: black.roll_width_m },
            count: black.wall_cloth_m.ceil(),
            why: say!("only-to-black-out-every-wall").into(),
            only_if_wanted: true,
        });
    }
    out
}

fn rank(t: &Thing) -> u8 {
    match t {
        Thing::Lamp { .. } => 0,
        Thing::Stand | Thing::Clamp | Thing::Sandbag => 1,
        Thing::Gel { .. } | Thing::Diffusion { .. } | Thing::Scrims => 2,
        _ => 3,
    }
}

/// Keeps the longest cable, the second longest and so on that any shot needs, in lengths that are sold.
fn longest(cables: &mut Vec<(f64, f64, String)>, runs: &[CableRun], shot: &str) {
    // A lamp's own lead reaches this far, metres.
    const OWN_LEAD_M: f64 = 2.0;
    let mut here: Vec<(f64, f64)> =
        runs.iter().map(|r| (r.cable_m - OWN_LEAD_M, r.conductor_mm2)).filter(|r| r.0 > 0.0).collect();
    here.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (i, (m, mm2)) in here.into_iter().enumerate() {
        let sold = CABLE_LENGTHS_M.iter().copied().find(|l| *l >= m).unwrap_or(m.ceil());
        match cables.get_mut(i) {
            Some(c) if sold > c.0 || mm2 > c.1 => *c = (sold.max(c.0), mm2.max(c.1), say!("shot-named", shot)),
            Some(_) => {}
            None => cables.push((sold, mm2, say!("shot-named", shot))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_are_cut_from_sheets() {
        // Two 0.28 m squares stand side by side on a sheet's longer edge, one row.
        assert_eq!(sheets(&[(0.28, 0.28), (0.28, 0.28)]), 1.0);
        // A 0.9 m soft box front is joined from four.
        assert_eq!(sheets(&[(0.9, 0.9)]), 4.0);
        assert_eq!(sheets(&[]), 0.0);
    }
}
