//! What is added hides, and never shows more; a place on the clear-view map keeps what the map said.

use super::Law;
use crate::Lot;
use crate::plausible::{plausible, small};
use crate::shrink::Held;
use glam::DVec2;
use tapemark_core::blocking::{Moments, Places, Seen, Span, clear_map, lanes, moved};
use tapemark_core::cover::cover;
use tapemark_core::facts::shot_facts;
use tapemark_core::plan::{Piece, PieceKind, PieceShape, Plan};

/// The laws of this file.
pub(super) const LAWS: &[Law] = &[
    Law {
        name: "thing-added",
        says: "A thing more shows no more of any face",
        allows: "1e-6 of a face",
        source: "what stands in the way hides",
        plans: 24,
        plan: small,
        ask: thing_added,
    },
    Law {
        name: "cloth-hung",
        says: "Hung cloth leaves no more to cover",
        allows: "10 cm²",
        source: "what stands in the way hides",
        plans: 40,
        plan: plausible,
        ask: cloth_hung,
    },
    Law {
        name: "map-place",
        says: "A camera carried to a place of the clear-view map sees what the map said",
        allows: "12 % of a face: the map asks few of its points",
        source: "one quantity, asked two ways",
        plans: 24,
        plan: small,
        ask: map_keeps_its_word,
    },
];

/// A plan with a thing more between the first camera and the first mark, or anywhere by lot.
fn with_thing(plan: &Plan, seed: u64) -> Plan {
    let mut lot = Lot(seed);
    let mut out = plan.clone();
    let from = plan.cameras.first().map_or(DVec2::ZERO, |c| DVec2::from_array(c.position_m));
    let mark = plan.shots.iter().flat_map(|s| &s.marks).next();
    let to = mark.map_or(DVec2::splat(2.0), |m| DVec2::from_array(m.position_m));
    let at = from.lerp(to, lot.between(0.3, 0.8)) + DVec2::new(lot.between(-0.2, 0.2), lot.between(-0.2, 0.2));
    let mut piece = Piece::new("one-thing-more", "One thing more", at.to_array(), [0.3, 0.2], 1.55);
    piece.rotation_deg = lot.steps(0.0, 359.0, 1.0);
    out.location.pieces.push(piece);
    out
}

/// The clear share of every face over the whole move, and how much is in frame.
fn clear_shares(plan: &Plan) -> Vec<(String, f64)> {
    let mut out = Vec::new();
    for shot in &plan.shots {
        for at in [0.0, 0.3, 0.7].map(|u| u * shot.length_s) {
            for p in shot_facts(plan, shot, at).people {
                out.push((format!("{} at {at:.1} s: {}", shot.id, p.person), p.clear_share.unwrap_or(1.0)));
            }
        }
    }
    out
}

fn thing_added(plan: &Plan) -> Held {
    let (before, after) = (clear_shares(plan), clear_shares(&with_thing(plan, 3)));
    let mut worst = 0.0_f64;
    for ((who, b), (_, a)) in before.iter().zip(&after) {
        if *a > b + 1e-6 {
            return Err(format!("{who}: {b} clear, with a thing more {a}"));
        }
        worst = worst.max((a - b) / 1e-6);
    }
    Ok(worst)
}

fn cloth_hung(plan: &Plan) -> Held {
    let mut hung = with_thing(plan, 9);
    if let Some(piece) = hung.location.pieces.last_mut() {
        piece.kind = PieceKind::Drape;
        piece.top_m = 2.2;
        piece.shape = PieceShape::Box { width_m: 1.5, depth_m: 0.02 };
    }
    let area = |p: &Plan| {
        let c = cover(p, &p.shots);
        [("walls", c.wall_m2), ("floors", c.floor_m2), ("ceilings", c.ceiling_m2)]
    };
    let mut worst = 0.0_f64;
    for ((what, b), (_, a)) in area(plan).into_iter().zip(area(&hung)) {
        if a > b + 1e-3 {
            return Err(format!("{what}: {b} m², with cloth hung {a} m²"));
        }
        worst = worst.max((a - b) / 1e-3);
    }
    Ok(worst)
}

/// How far the map's few samples of a face may be off, of all.
const MAP_SHARE: f64 = 0.12;

/// Carries the camera to some places of the map and asks there.
fn map_keeps_its_word(plan: &Plan) -> Held {
    let mut worst = 0.0_f64;
    for shot in &plan.shots {
        let moments = Moments::of(plan, shot);
        let (Some(map), Some(places)) = (clear_map(plan, shot, &moments, 0.4), Places::of(plan, shot, &moments)) else {
            continue;
        };
        let open: Vec<usize> = (0..map.least.len()).filter(|i| map.ruled_out[*i].is_none()).collect();
        for i in open.iter().step_by((open.len() / 6).max(1)) {
            let (at, said) = (map.middle(*i), f64::from(map.least[*i]));
            let aim = places.aim(at);
            let mut next = plan.clone();
            let Some(camera) = plan.shot_camera(shot) else { continue };
            let there = moved(camera, at, aim);
            next.cameras.iter_mut().filter(|c| c.id == there.id).for_each(|c| *c = there.clone());
            let told = lanes(&next, shot, &Moments::of(&next, shot));
            let seen = |s: &Span| s.seen != Seen::TurnedAway;
            let least = told.iter().filter(|l| l.required).flat_map(|l| &l.spans).filter(|s| seen(s));
            let least = least.filter_map(|s| s.least_clear_share).fold(1.0, f64::min);
            let off = (least - said).abs() / MAP_SHARE;
            worst = worst.max(off);
            if off > 1.0 {
                return Err(format!("{} at {at}: the map says {said}, the camera there sees {least}", shot.id));
            }
        }
    }
    Ok(worst)
}
