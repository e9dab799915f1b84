//! Furniture, dressing and grip.

use super::rooms::{Floor, finish, tenth};
use super::{Sizes, keep, names};
use crate::Lot;
use glam::DVec2;
use tapemark_core::plan::{Finish, Piece, PieceKind, PieceShape, Plan};

/// Sets the pieces.
pub(super) fn set(lot: &mut Lot, plan: &mut Plan, sizes: &Sizes, floor: &Floor) {
    for i in 0..lot.below(sizes.pieces + 1) {
        let id = format!("piece-{}", i + 1);
        let piece = match lot.below(10) {
            0..=3 => furniture(lot, floor, &id),
            4 | 5 => drape(lot, floor, &id),
            6 => flag(lot, floor, &id),
            7 => mirror(lot, floor, &id),
            8 => board(lot, floor, &id),
            _ => dressing(lot, floor, &id),
        };
        keep(plan, |p| p.location.pieces.push(piece));
    }
}

fn bearing(lot: &mut Lot) -> f64 {
    if lot.percent(50) { 90.0 * lot.below(4) as f64 } else { lot.steps(0.0, 359.9, 0.1) }
}

fn furniture(lot: &mut Lot, floor: &Floor, id: &str) -> Piece {
    let at = floor.anywhere(lot);
    let size = [lot.steps(0.3, 2.2, 0.01), lot.steps(0.3, 1.1, 0.01)];
    let top = lot.one(&[0.45, 0.74, 0.9, 1.2, 1.98, 2.4]).unwrap_or(0.74);
    let mut piece = Piece::new(id, &names::thing(lot), at.to_array(), size, top);
    piece.shape = match lot.below(6) {
        0 => PieceShape::Round { diameter_m: lot.steps(0.3, 1.4, 0.01) },
        1 => outline(lot, size),
        _ => piece.shape,
    };
    piece.rotation_deg = bearing(lot);
    piece.finish = finish(lot, 0.05, 0.8);
    if lot.percent(15) {
        // On a wall: a shelf, a cupboard.
        piece.base_m = lot.steps(0.3, 1.5, 0.05);
        piece.top_m = piece.base_m + lot.steps(0.05, 0.9, 0.05);
    }
    piece
}

/// A corner sofa, a desk with a bay, a wedge.
fn outline(lot: &mut Lot, [w, d]: [f64; 2]) -> PieceShape {
    let (x, y) = (w * 0.5, d * 0.5);
    let (cut_x, cut_y) = (w * lot.steps(0.2, 0.7, 0.1), d * lot.steps(0.2, 0.7, 0.1));
    let mut points_m = match lot.below(3) {
        0 => vec![[-x, -y], [x, -y], [x, y - cut_y], [x - cut_x, y - cut_y], [x - cut_x, y], [-x, y]],
        1 => vec![[-x, -y], [x, -y], [-x + cut_x, y]],
        _ => vec![[-x, -y], [x, -y], [x, y], [cut_x * 0.3, y], [0.0, y - cut_y], [-x, y]],
    };
    if lot.percent(40) {
        points_m.reverse();
    }
    PieceShape::Outline { points_m }
}

fn dressing(lot: &mut Lot, floor: &Floor, id: &str) -> Piece {
    let at = floor.anywhere(lot);
    let mut piece = Piece::new(id, &names::thing(lot), at.to_array(), [0.2, 0.2], 1.0);
    piece.kind = PieceKind::Dressing;
    piece.base_m = lot.one(&[0.0, 0.0, 0.74, 1.2]).unwrap_or(0.0);
    piece.top_m = piece.base_m + lot.steps(0.1, 1.2, 0.01);
    piece.shape = match lot.below(3) {
        0 => PieceShape::Round { diameter_m: lot.steps(0.08, 0.6, 0.01) },
        1 => PieceShape::Box { width_m: lot.steps(0.05, 0.9, 0.01), depth_m: lot.steps(0.02, 0.5, 0.01) },
        _ => outline(lot, [0.5, 0.4]),
    };
    piece.rotation_deg = bearing(lot);
    piece.finish = finish(lot, 0.02, 0.9);
    piece
}

/// Cloth at a wall, across a room, in a doorway, or over a frame that leans.
fn drape(lot: &mut Lot, floor: &Floor, id: &str) -> Piece {
    let off_m = lot.one(&[0.02, 0.05, 0.1, 0.3]).unwrap_or(0.05);
    let (at, inward) = floor.by_a_wall(lot, off_m);
    let at_wall = lot.percent(65);
    let (at, rotation_deg) = if at_wall { (at, inward) } else { (floor.anywhere(lot), bearing(lot)) };
    let width_m = lot.steps(0.6, 3.6, 0.1);
    let mut piece = Piece::new(id, "", at.to_array(), [width_m, 0.02], 2.0);
    piece.kind = PieceKind::Drape;
    piece.name = if lot.percent(30) { names::thing(lot) } else { String::new() };
    piece.rotation_deg = rotation_deg;
    piece.base_m = lot.one(&[0.0, 0.0, 0.1, 0.8]).unwrap_or(0.0);
    piece.top_m = piece.base_m + lot.steps(1.0, 2.6, 0.1);
    piece.shape = match lot.below(4) {
        0 => PieceShape::Sheet { width_m, lean_m: lot.steps(-0.3, 0.3, 0.1) },
        1 => {
            let (w, fold) = (width_m * 0.5, 0.12);
            PieceShape::Outline {
                points_m: vec![[-w, 0.0], [0.0, fold], [w, 0.0], [w, 0.03], [0.0, fold + 0.03], [-w, 0.03]],
            }
        }
        _ => PieceShape::Box { width_m, depth_m: lot.one(&[0.005, 0.02, 0.1]).unwrap_or(0.02) },
    };
    // Black, grey, or a curtain that was there.
    piece.finish =
        if lot.percent(60) { grey(lot.one(&[0.0, 0.02, 0.05]).unwrap_or(0.02)) } else { finish(lot, 0.05, 0.7) };
    piece
}

fn grey(r: f64) -> Finish {
    Finish { reflectance_rgb: [r; 3] }
}

fn flag(lot: &mut Lot, floor: &Floor, id: &str) -> Piece {
    let at = floor.anywhere(lot);
    let width_m = lot.one(&[0.25, 0.45, 0.6, 1.2]).unwrap_or(0.6);
    let mut piece = Piece::new(id, "", at.to_array(), [width_m, 0.02], 1.6);
    piece.kind = PieceKind::Flag;
    piece.rotation_deg = bearing(lot);
    piece.base_m = lot.steps(0.6, 2.0, 0.1);
    piece.top_m = piece.base_m + lot.one(&[0.05, 0.45, 0.9, 1.2]).unwrap_or(0.45);
    piece.shape = match lot.below(4) {
        0 => PieceShape::Box { width_m, depth_m: 0.02 },
        1 => PieceShape::Round { diameter_m: width_m },
        _ => PieceShape::Sheet { width_m, lean_m: lot.steps(-0.8, 0.8, 0.1) },
    };
    piece.finish = grey(0.03);
    piece
}

fn mirror(lot: &mut Lot, floor: &Floor, id: &str) -> Piece {
    let (at, inward) = floor.by_a_wall(lot, 0.02);
    let width_m = lot.steps(0.3, 1.5, 0.1);
    let mut piece = Piece::new(id, &names::thing(lot), at.to_array(), [width_m, 0.02], 1.8);
    piece.kind = PieceKind::Mirror;
    piece.rotation_deg = inward;
    piece.base_m = lot.steps(0.0, 1.2, 0.1);
    piece.top_m = piece.base_m + lot.steps(0.4, 1.2, 0.1);
    if lot.percent(30) {
        piece.shape = PieceShape::Sheet { width_m, lean_m: lot.steps(0.0, 0.3, 0.05) };
    } else if lot.percent(15) {
        // A wardrobe with a mirror's front stands in the room.
        piece.position_m = floor.anywhere(lot).to_array();
        piece.shape = PieceShape::Box { width_m, depth_m: 0.6 };
    }
    piece.finish = grey(0.85);
    piece
}

fn board(lot: &mut Lot, floor: &Floor, id: &str) -> Piece {
    let at = floor.anywhere(lot);
    let toward = floor.anywhere(lot);
    let rotation_deg = if at.distance(toward) > 0.1 { facing(at, toward) } else { 0.0 };
    let mut piece = Piece::board(id, at.to_array(), rotation_deg);
    piece.name = if lot.percent(40) { names::thing(lot) } else { String::new() };
    piece.shape = PieceShape::Sheet { width_m: lot.one(&[0.5, 1.0, 1.2, 2.4]).unwrap_or(1.0), lean_m: 0.0 };
    piece.set_tilt_deg(lot.steps(-45.0, 60.0, 15.0));
    let cm = |m: f64| (m * 100.0).round() / 100.0;
    (piece.base_m, piece.top_m) = (cm(piece.base_m), cm(piece.top_m).max(cm(piece.base_m) + 0.01));
    if let PieceShape::Sheet { lean_m, .. } = &mut piece.shape {
        *lean_m = cm(*lean_m);
    }
    piece
}

/// The bearing from one place to another, to a tenth of a degree.
pub(super) fn facing(from: DVec2, to: DVec2) -> f64 {
    tenth(tapemark_core::geometry::bearing_deg(to - from))
}
