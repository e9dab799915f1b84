//! Light adds up, and black cloth never makes it more.

use super::Law;
use crate::Lot;
use crate::plausible::{plausible, small};
use crate::shrink::Held;
use glam::{DVec2, DVec3};
use tapemark_core::facts::shot_facts;
use tapemark_core::frame::{FrameSpec, picture};
use tapemark_core::geometry::{OwnerIx, bearing_deg, opening_ends};
use tapemark_core::light::{FINE_PATCH_M, MapFacing, MapLight, MapSpec, Receiver, Transport, light_map, reading, spot};
use tapemark_core::plan::{Finish, Piece, PieceKind, PieceShape, Plan, Receptor, Shot};
use tapemark_core::scene::Scene;

/// The laws of this file.
pub(super) const LAWS: &[Law] = &[
    Law {
        name: "superposition",
        says: "Lamps together light as the sum of lamps alone",
        allows: "1 % of light, 1 mlx: rooms far from a lamp are cut coarser",
        source: "light adds up (linear optics)",
        plans: 12,
        plan: small,
        ask: adds_up,
    },
    Law {
        name: "black-cloth",
        says: "Cloth that returns nothing makes nothing brighter",
        allows: "2 % of light, 0.05 lx",
        source: "what is taken out of light's way cannot add to it",
        plans: 24,
        plan: small,
        ask: black_cloth,
    },
    Law {
        name: "board-outside",
        says: "A board that returns nothing, outside before an opening, makes nothing brighter",
        allows: "2 % of light, 0.05 lx",
        source: "what is taken out of light's way cannot add to it",
        plans: 16,
        plan: plausible,
        ask: board_outside,
    },
    Law {
        name: "map-and-meter",
        says: "The light map reads what the meter reads there",
        allows: "what the meter reads within the cell, 2 % of light, 0.05 lx",
        source: "one quantity, asked two ways",
        plans: 12,
        plan: plausible,
        ask: map_and_meter,
    },
    Law {
        name: "picture-and-spot",
        says: "A pixel of the picture holds what the spot meter reads there",
        allows: "10 % of light at the 95th percentile, 30 % at any, 2 % of the picture's mean and 5 mcd/m², 15 cm off corners, where the surface is \
                 the spot meter's and evenly lit",
        source: "one quantity, asked two ways",
        plans: 12,
        plan: plausible,
        ask: picture_and_spot,
    },
];

/// Levels at every face of a shot and at a few places of its rooms, lux.
fn levels(plan: &Plan, shot: &Shot) -> Vec<f64> {
    let scene = Scene::of(plan, shot, 0.0);
    let transport = Transport::of(plan, plan.shot_rig(shot).as_deref(), &scene, FINE_PATCH_M, None);
    let mut lot = Lot(11);
    let mut out: Vec<f64> = Vec::new();
    for room in &plan.location.rooms {
        let corner = |i: usize| DVec2::from_array(room.outline_m[i % room.outline_m.len()]);
        for i in 0..room.outline_m.len() {
            let middle = (corner(i) + corner(i + 1) + corner(i + 2)) / 3.0;
            let at = middle.extend(lot.between(0.3, 1.8));
            let to = Receiver { at, toward: DVec3::Z, receptor: Receptor::Dome };
            out.push(reading(plan, &scene, &transport, &to, OwnerIx::NONE).illuminance_lx);
        }
    }
    let facts = shot_facts(plan, shot, 0.0);
    out.extend(facts.people.iter().map(|p| p.reading.as_ref().map_or(0.0, |r| r.illuminance_lx)));
    out
}

/// A plan with one of a rig's lamps, or with none, and dark windows.
fn with_lamp(plan: &Plan, rig: usize, lamp: Option<usize>) -> Plan {
    let mut out = plan.clone();
    for (k, f) in out.rigs[rig].fixtures.iter_mut().enumerate() {
        f.on &= Some(k) == lamp;
    }
    if lamp.is_some() {
        out.daylight = None;
    }
    out
}

fn adds_up(plan: &Plan) -> Held {
    let mut plan = plan.clone();
    plan.shots.iter_mut().for_each(|s| s.lamps.clear());
    let mut worst = 0.0_f64;
    for shot in &plan.shots {
        let Some(rig) = plan.rigs.iter().position(|r| r.id == shot.rig) else { continue };
        let whole = levels(&plan, shot);
        // With no lamp the daylight is left; each lamp alone has none.
        let mut sum = levels(&with_lamp(&plan, rig, None), shot);
        for k in 0..plan.rigs[rig].fixtures.len() {
            let alone = levels(&with_lamp(&plan, rig, Some(k)), shot);
            sum.iter_mut().zip(alone).for_each(|(s, v)| *s += v);
        }
        for (i, (all, sum)) in whole.iter().zip(&sum).enumerate() {
            let off = (all - sum).abs() / (1e-3 + 1e-2 * all.abs());
            if off > 1.0 {
                return Err(format!("place {i}: {all} lx together, {sum} lx one by one"));
            }
            worst = worst.max(off);
        }
    }
    Ok(worst)
}

/// Cloth that returns nothing, upright, somewhere in the first room or where people would be.
fn cloth(plan: &Plan, seed: u64) -> Piece {
    let mut lot = Lot(seed);
    let around = plan
        .location
        .rooms
        .first()
        .map_or([[0.0, 0.0], [4.0, 4.0], [4.0, 0.0]], |r| [r.outline_m[0], r.outline_m[1], r.outline_m[2]]);
    let [a, b, c] = around.map(DVec2::from_array);
    let (u, v) = (lot.between(0.1, 0.5), lot.between(0.1, 0.4));
    let at = a * (1.0 - u - v) + b * u + c * v;
    let mut piece = Piece::new("black-cloth", "Black cloth", at.to_array(), [1.4, 0.02], 2.0);
    piece.kind = PieceKind::Drape;
    piece.shape = PieceShape::Sheet { width_m: 1.4, lean_m: 0.0 };
    piece.base_m = 0.2;
    piece.rotation_deg = lot.steps(0.0, 359.0, 1.0);
    piece.finish = Finish { reflectance_rgb: [0.0; 3] };
    piece
}

fn black_cloth(plan: &Plan) -> Held {
    let mut hung = plan.clone();
    hung.location.pieces.push(cloth(plan, 5));
    nothing_brighter(plan, &hung)
}

/// A black board across what is seen through each opening, 1.2 m outside it.
fn board_outside(plan: &Plan) -> Held {
    let mut hung = plan.clone();
    for (i, o) in plan.location.openings.iter().enumerate() {
        let Some((a, b, inward)) = opening_ends(plan, o) else { continue };
        let at = (a + b) * 0.5 - inward * (plan.location.wall_thickness_m + 1.2);
        let mut board = Piece::new(format!("board-{i}"), "Board", at.to_array(), [2.4, 0.02], 2.2);
        board.rotation_deg = bearing_deg(-inward);
        board.finish = Finish { reflectance_rgb: [0.0; 3] };
        hung.location.pieces.push(board);
    }
    nothing_brighter(plan, &hung)
}

fn nothing_brighter(plan: &Plan, hung: &Plan) -> Held {
    let mut worst = 0.0_f64;
    for shot in &plan.shots {
        for (i, (b, a)) in levels(plan, shot).iter().zip(levels(hung, shot)).enumerate() {
            // Bounced light is solved to two in a hundred.
            let off = (a - b) / (b * 0.02 + 0.05);
            if off > 1.0 {
                return Err(format!("{}, place {i}: {b} lx, with what is black {a} lx", shot.id));
            }
            worst = worst.max(off);
        }
    }
    Ok(worst)
}

fn map_and_meter(plan: &Plan) -> Held {
    let Some(shot) = plan.shots.first() else { return Ok(0.0) };
    let scene = Scene::of(plan, shot, 0.0);
    let transport = Transport::of(plan, plan.shot_rig(shot).as_deref(), &scene, FINE_PATCH_M, None);
    let spec = MapSpec { light: MapLight::Direct, ..MapSpec::new(1.2, 0.4, MapFacing::Up) };
    let map = light_map(plan, &scene, &transport, &spec);
    let meter = |p: DVec2| -> f64 {
        let to = Receiver { at: p.extend(1.2), toward: DVec3::Z, receptor: Receptor::Flat };
        reading(plan, &scene, &transport, &to, OwnerIx::NONE).parts.iter().map(|part| part.direct_lx).sum()
    };
    let mut worst = 0.0_f64;
    for (i, level) in map.level_lx.iter().enumerate().filter(|(_, l)| !l.is_nan()).step_by(5) {
        let middle = DVec2::new((i % map.nx) as f64 + 0.5, (i / map.nx) as f64 + 0.5) * map.cell_m + map.origin;
        // To one cell: between the darkest and the brightest of its middle and its sides and corners.
        let beside: [DVec2; 9] =
            std::array::from_fn(|k| DVec2::new((k % 3) as f64 - 1.0, (k / 3) as f64 - 1.0) * 0.5 * map.cell_m);
        let read = beside.map(|d| meter(middle + d));
        let (low, high) = read.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
        let level = f64::from(*level);
        let off = (low - level).max(level - high).max(0.0) / (0.02 * level + 0.05);
        if off > 1.0 {
            return Err(format!("at {middle} the meter reads {low} to {high} lx, the map says {level} lx"));
        }
        worst = worst.max(off);
    }
    Ok(worst)
}

/// Pixels across the pictures asked about, and between those asked.
const PICTURE: usize = 160;
const APART: usize = 11;
/// Nearer to a corner than half a patch light is led on from further off, metres.
const CORNER_M: f64 = 0.15;

fn picture_and_spot(plan: &Plan) -> Held {
    let mut worst = 0.0_f64;
    let mut offs = Vec::new();
    for shot in &plan.shots {
        let scene = Scene::of(plan, shot, 0.0);
        let Some(view) = scene.view.as_ref() else { continue };
        let rig = plan.shot_rig(shot);
        let transport = Transport::of(plan, rig.as_deref(), &scene, FINE_PATCH_M, None);
        let spec = FrameSpec { coarse: 1, ..FrameSpec::for_view(view, PICTURE) };
        let Some(seen) = picture(plan, &scene, rig.as_deref(), &transport, spec) else { continue };
        let count = seen.width * seen.height;
        let mean = (0..count).map(|i| seen.luminance_cd_m2(i % seen.width, i / seen.width)).sum::<f64>() / count as f64;
        let (right, up, forward) = view.axes();
        let half = |mm: f64| mm / (2.0 * view.focal_mm);
        let ray = |x: usize, y: usize| {
            let u = 2.0 * (x as f64 + 0.5) / seen.width as f64 - 1.0;
            let v = 1.0 - 2.0 * (y as f64 + 0.5) / seen.height as f64;
            forward + right * (u * half(view.sensor_mm.0)) + up * (v * half(view.sensor_mm.1))
        };
        let corners: Vec<DVec2> =
            plan.location.rooms.iter().flat_map(|r| &r.outline_m).map(|c| DVec2::from_array(*c)).collect();
        let meter = |x: usize, y: usize| {
            let through = ray(x, y);
            let read = spot(plan, &scene, &transport, view.eye, through)?;
            let depth = (DVec3::from_array(read.point_m) - view.eye).dot(forward);
            // People, lamps, doors and frames are in the picture alone.
            let same = (f64::from(seen.depth_m[y * seen.width + x]) - depth).abs() < 2e-3 * depth;
            let at = DVec2::new(read.point_m[0], read.point_m[1]);
            (same && corners.iter().all(|c| c.distance(at) > CORNER_M)).then_some(read)
        };
        for y in (1..seen.height.saturating_sub(1)).step_by(APART) {
            for x in (1..seen.width - 1).step_by(APART) {
                let Some(read) = meter(x, y) else { continue };
                // A shadow's edge lies elsewhere by as much as either asks few points of a lamp.
                let beside = [(x - 1, y), (x + 1, y), (x, y - 1), (x, y + 1)];
                let (surface, point, read) = (read.surface, read.point_m, read.luminance_cd_m2);
                let even = |b: f64| (b - read).abs() <= 0.03 * read + 0.01 * mean;
                if !beside.into_iter().all(|(x, y)| meter(x, y).is_some_and(|b| even(b.luminance_cd_m2))) {
                    continue;
                }
                let shown = seen.luminance_cd_m2(x, y);
                let by = (shown - read).abs();
                offs.push(by / (0.1 * read + 0.02 * mean + 5e-3));
                let off = by / (0.3 * read + 0.02 * mean + 5e-3);
                if off > 1.0 {
                    return Err(format!(
                        "{}, pixel {x}, {y}: the picture shows {shown} cd/m², the spot meter reads {read} on {surface} at \
                         {point:.3?} (mean {mean})",
                        shot.id
                    ));
                }
                worst = worst.max(off);
            }
        }
    }
    offs.sort_by(f64::total_cmp);
    match offs.get(offs.len() * 95 / 100) {
        Some(off) if *off > 1.0 => Err(format!("one pixel in twenty is off by {off} of what is allowed for most")),
        Some(off) => Ok(worst.max(*off)),
        None => Ok(worst),
    }
}
