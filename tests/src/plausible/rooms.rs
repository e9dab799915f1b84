//! Rooms that adjoin as taped rooms do, and the holes in their walls.

use super::{Sizes, keep, names};
use crate::Lot;
use glam::DVec2;
use tapemark_core::geometry::{bearing_deg, polygon_self_crossing, signed_area};
use tapemark_core::plan::{Finish, Finishes, Hinge, Opening, OpeningKind, Plan, Room, Swing};

/// Turns whose sine and cosine are fractions, so that they are the same on every machine.
const TURNS: [(f64, f64); 9] = [
    (1.0, 0.0),
    (0.0, 1.0),
    (-1.0, 0.0),
    (0.8, 0.6),
    (0.6, -0.8),
    (12.0 / 13.0, 5.0 / 13.0),
    (15.0 / 17.0, -8.0 / 17.0),
    (20.0 / 29.0, 21.0 / 29.0),
    (35.0 / 37.0, 12.0 / 37.0),
];

/// Where things may stand.
pub(super) struct Floor {
    /// Rooms' outlines; one square of garden where there is no room.
    pub outlines: Vec<Vec<DVec2>>,
}

impl Floor {
    /// A place in a room given by its number, as a tape would give it.
    pub fn within(&self, lot: &mut Lot, room: usize) -> DVec2 {
        let outline = &self.outlines[room % self.outlines.len()];
        let (low, high) = bounds(outline);
        for _ in 0..40 {
            let p = DVec2::new(lot.steps(low.x, high.x, 0.01), lot.steps(low.y, high.y, 0.01));
            if holds(outline, p) {
                return p;
            }
        }
        middle_of_an_ear(outline)
    }
    /// A place in any room, seldom outside.
    pub fn anywhere(&self, lot: &mut Lot) -> DVec2 {
        let room = lot.below(self.outlines.len());
        let p = self.within(lot, room);
        if lot.percent(4) { p + DVec2::new(lot.steps(-4.0, 4.0, 0.1), lot.steps(-4.0, 4.0, 0.1)) } else { p }
    }
    /// A place so far in front of a wall, and the bearing into the room.
    pub fn by_a_wall(&self, lot: &mut Lot, off_m: f64) -> (DVec2, f64) {
        let room = lot.below(self.outlines.len());
        let outline = &self.outlines[room];
        let i = lot.below(outline.len());
        let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
        let along = (b - a).normalize_or_zero();
        let left = DVec2::new(-along.y, along.x);
        let inward = if signed_area(outline) > 0.0 { left } else { -left };
        let p = a.lerp(b, lot.steps(0.15, 0.85, 0.05)) + inward * off_m;
        (p, tenth(bearing_deg(inward)))
    }
    /// The room a place is in.
    pub fn room_of(&self, p: DVec2) -> Option<usize> {
        self.outlines.iter().position(|o| holds(o, p))
    }
}

/// A bearing as it is kept: to a tenth of a degree.
pub(super) fn tenth(deg: f64) -> f64 {
    (deg * 10.0).round() / 10.0
}

fn bounds(outline: &[DVec2]) -> (DVec2, DVec2) {
    outline.iter().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| (l.min(*p), h.max(*p)))
}

/// Whether an outline holds a place (even-odd rule).
fn holds(outline: &[DVec2], p: DVec2) -> bool {
    let n = outline.len();
    (0..n).fold(false, |inside, i| {
        let (a, b) = (outline[i], outline[(i + 1) % n]);
        let crosses = (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
        inside != crosses
    })
}

/// The middle of a triangle of three corners that lies inside.
fn middle_of_an_ear(outline: &[DVec2]) -> DVec2 {
    let n = outline.len();
    let middles = (0..n).map(|i| (outline[i] + outline[(i + 1) % n] + outline[(i + 2) % n]) / 3.0);
    middles.into_iter().find(|m| holds(outline, *m)).unwrap_or(outline[0])
}

fn overlap(a: &[DVec2], b: &[DVec2]) -> bool {
    let ((al, ah), (bl, bh)) = (bounds(a), bounds(b));
    let (low, high) = (al.max(bl), ah.min(bh));
    if low.x >= high.x - 1e-9 || low.y >= high.y - 1e-9 {
        return false;
    }
    // Every place of a fine lattice over what their bounds share: rooms are far larger.
    (0..32).any(|i| {
        (0..32).any(|j| {
            let at = DVec2::new((f64::from(i) + 0.5) / 32.0, (f64::from(j) + 0.5) / 32.0);
            let p = low + (high - low) * at;
            holds(a, p) && holds(b, p)
        })
    })
}

/// An outline with one side from (0, 0) to (w, 0) and the rest above it, counter-clockwise.
fn shape(lot: &mut Lot, w: f64, h: f64, tape: f64) -> Vec<DVec2> {
    let p = DVec2::new;
    let part = |lot: &mut Lot, of: f64, low: f64, high: f64| lot.steps(of * low, of * high, tape).max(0.05);
    match lot.below(12) {
        // A corner cut off, seldom by no more than a pipe's casing.
        0 | 1 => {
            let pipe = lot.percent(25);
            let (cw, ch) = if pipe { (0.06, 0.06) } else { (part(lot, w, 0.2, 0.6), part(lot, h, 0.2, 0.6)) };
            vec![p(0., 0.), p(w, 0.), p(w, h - ch), p(w - cw, h), p(0., h)]
        }
        // A far wall that leans.
        2 => vec![p(0., 0.), p(w, 0.), p(w + part(lot, h, 0.1, 1.2), h), p(0., h)],
        3 => vec![p(0., 0.), p(w, 0.), p(w, part(lot, h, 0.4, 0.95)), p(0., h)],
        // An L.
        4..=6 => {
            let (nw, nh) = (part(lot, w, 0.25, 0.6), part(lot, h, 0.25, 0.6));
            vec![p(0., 0.), p(w, 0.), p(w, h - nh), p(w - nw, h - nh), p(w - nw, h), p(0., h)]
        }
        // A U.
        7 => {
            let (left, wide, deep) = (part(lot, w, 0.2, 0.35), part(lot, w, 0.2, 0.4), part(lot, h, 0.2, 0.6));
            let (x, y) = (left + wide, h - deep);
            vec![p(0., 0.), p(w, 0.), p(w, h), p(x, h), p(x, y), p(left, y), p(left, h), p(0., h)]
        }
        // Under a stair.
        8 => vec![p(0., 0.), p(w, 0.), p(part(lot, w, 0.2, 0.8), h)],
        _ => vec![p(0., 0.), p(w, 0.), p(w, h), p(0., h)],
    }
}

/// Whether no corner is sharper than 15° and no edge shorter than 5 cm.
fn can_be_built(outline: &[DVec2]) -> bool {
    let n = outline.len();
    let pts = |i: usize| outline[i % n];
    polygon_self_crossing(outline).is_none()
        && (0..n).all(|i| {
            let (before, after) = (pts(i + n - 1) - pts(i), pts(i + 1) - pts(i));
            let cos_15 = 0.965_925_826_289_068_3;
            after.length() >= 0.05 && before.dot(after) <= cos_15 * before.length() * after.length()
        })
}

/// A room against a wall of one that is there: touching, or as far off as a wall is thick.
fn adjoining(lot: &mut Lot, outline: &[DVec2], wall_m: f64, tape: f64) -> Vec<DVec2> {
    let i = lot.below(outline.len());
    let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
    let (length, along) = ((b - a).length(), (b - a).normalize_or_zero());
    // Outlines are counter-clockwise while they are drawn.
    let out = DVec2::new(along.y, -along.x);
    let closet = lot.percent(25);
    let size = |lot: &mut Lot| if closet { lot.steps(0.6, 1.4, tape) } else { lot.steps(1.8, 5.2, tape) };
    let (mut w, h) = (size(lot), size(lot));
    let start = match lot.below(8) {
        // All of the wall.
        0 | 1 => {
            w = length;
            0.0
        }
        // Part of it, flush with a corner or not.
        2 => 0.0,
        3 => length - w,
        4 | 5 => lot.steps(-w * 0.6, length - w * 0.4, tape),
        // Corner to corner.
        6 => length,
        // Apart.
        _ => length + lot.steps(0.2, 2.0, tape),
    };
    let gap = match lot.below(4) {
        0 | 1 => 0.0,
        2 => lot.steps(0.03, wall_m + 0.03, 0.001),
        _ => wall_m,
    };
    let form = shape(lot, w, h, tape);
    // A mirror image, so that the side on the wall is kept: its corners run the other way round.
    form.into_iter().rev().map(|q| a + along * (start + q.x) + out * (gap + q.y)).collect()
}

/// Draws the rooms and their openings.
pub(super) fn draw(lot: &mut Lot, plan: &mut Plan, sizes: &Sizes, tape: f64) -> Floor {
    let wanted = if lot.percent(6) { 0 } else { 1 + lot.below(sizes.rooms) };
    let mut outlines: Vec<Vec<DVec2>> = Vec::new();
    for _ in 0..wanted * 6 {
        if outlines.len() == wanted {
            break;
        }
        let outline = match lot.one(&outlines) {
            Some(other) => adjoining(lot, &other, plan.location.wall_thickness_m, tape),
            None => {
                let (w, h) = (lot.steps(2.2, 6.0, tape), lot.steps(2.2, 5.5, tape));
                shape(lot, w, h, tape)
            }
        };
        if can_be_built(&outline) && signed_area(&outline) > 0.2 && !outlines.iter().any(|o| overlap(o, &outline)) {
            outlines.push(outline);
        }
    }
    place(lot, &mut outlines);
    for (i, outline) in outlines.iter().enumerate() {
        let mut corners: Vec<[f64; 2]> = outline.iter().map(|p| p.to_array()).collect();
        let first = lot.below(corners.len());
        corners.rotate_left(first);
        if lot.percent(40) {
            corners.reverse();
        }
        let mut room = Room::new(format!("room-{}", i + 1), &names::room(lot), corners);
        room.ceiling_m = lot.steps(2.1, 4.0, 0.01);
        room.wet = lot.percent(10);
        room.finishes = finishes(lot);
        keep(plan, |p| p.location.rooms.push(room));
    }
    for i in 0..sizes.openings * 2 {
        if plan.location.openings.len() >= sizes.openings || plan.location.rooms.is_empty() {
            break;
        }
        open(lot, plan, i + 1);
    }
    if outlines.is_empty() {
        outlines.push(vec![DVec2::ZERO, DVec2::new(6.0, 0.0), DVec2::new(6.0, 5.0), DVec2::new(0.0, 5.0)]);
    }
    Floor { outlines }
}

/// Turns and moves all outlines together, as a plan lies on its paper.
fn place(lot: &mut Lot, outlines: &mut [Vec<DVec2>]) {
    let (cos, sin) = if lot.percent(55) { (1.0, 0.0) } else { lot.one(&TURNS).unwrap_or((1.0, 0.0)) };
    let by = if lot.percent(50) { DVec2::ZERO } else { DVec2::new(lot.steps(-9., 9., 0.01), lot.steps(-9., 9., 0.01)) };
    for p in outlines.iter_mut().flatten() {
        *p = DVec2::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos) + by;
    }
}

fn finishes(lot: &mut Lot) -> Finishes {
    if lot.percent(40) {
        return Finishes::default();
    }
    Finishes { walls: finish(lot, 0.05, 0.85), floor: finish(lot, 0.05, 0.5), ceiling: finish(lot, 0.3, 0.9) }
}

/// A finish, now and then of a strong colour.
pub(super) fn finish(lot: &mut Lot, low: f64, high: f64) -> Finish {
    let grey = lot.steps(low, high, 0.01);
    let reflectance_rgb = if lot.percent(30) { [(); 3].map(|()| lot.steps(low, high, 0.01)) } else { [grey; 3] };
    Finish { reflectance_rgb }
}

/// Tries to cut an opening where none is near.
fn open(lot: &mut Lot, plan: &mut Plan, number: usize) {
    let Some(room) = lot.one(&plan.location.rooms) else { return };
    let edge = lot.below(room.outline_m.len());
    let corner = |i: usize| DVec2::from_array(room.outline_m[i % room.outline_m.len()]);
    let length = corner(edge).distance(corner(edge + 1));
    let kind = match lot.below(10) {
        0..=4 => OpeningKind::Door {
            hinge: if lot.percent(50) { Hinge::Near } else { Hinge::Far },
            swing: if lot.percent(60) { Swing::In } else { Swing::Out },
            open_deg: lot.one(&[0.0, 0.0, 15.0, 45.0, 80.0, 90.0, 120.0, 180.0]).unwrap_or(0.0),
        },
        5..=7 => OpeningKind::Window { transmittance: lot.steps(0.1, 0.9, 0.05) },
        _ => OpeningKind::Passage,
    };
    let widest = length.min(2.4);
    let whole = matches!(kind, OpeningKind::Passage) && lot.percent(15);
    let width_m = if whole { length } else { lot.steps(0.55, widest.max(0.6), 0.01) };
    let offset_m = if whole { 0.0 } else { lot.steps(0.0, (length - width_m).max(0.0), 0.01) };
    let (sill_m, head_m) = match kind {
        OpeningKind::Window { .. } => {
            let sill = lot.steps(0.0, 1.3, 0.05);
            (sill, (sill + lot.steps(0.4, 1.8, 0.05)).min(room.ceiling_m))
        }
        OpeningKind::Passage if lot.percent(30) => (0.0, room.ceiling_m),
        _ => (0.0, lot.steps(1.9, 2.2, 0.01).min(room.ceiling_m)),
    };
    let opening = Opening {
        id: format!("opening-{number}").into(),
        name: if lot.percent(40) { names::thing(lot) } else { String::new() },
        room: room.id.clone(),
        edge,
        offset_m,
        width_m,
        sill_m,
        head_m,
        kind,
        unknown: Default::default(),
    };
    let middle = |o: &Opening| tapemark_core::geometry::opening_ends(plan, o).map(|(a, b, _)| (a + b) * 0.5);
    let Some(here) = middle(&opening) else { return };
    let near = plan
        .location
        .openings
        .iter()
        .any(|o| middle(o).is_some_and(|there| there.distance(here) < (o.width_m + width_m) * 0.5 + 0.05));
    if !near {
        keep(plan, |p| p.location.openings.push(opening));
    }
}
