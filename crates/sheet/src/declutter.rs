//! Moves words off one another and off the symbols they name.

use crate::font::text_width_mm;
use crate::marks::{Align, Layer, Mark, Shape, Weight};
use glam::DVec2;
use std::collections::HashMap;

/// A box on paper, millimetres: middle and half size.
#[derive(Clone, Copy)]
struct Taken {
    at: DVec2,
    half: DVec2,
}

impl Taken {
    fn overlap(&self, o: &Taken) -> f64 {
        let d = (self.half + o.half - (self.at - o.at).abs()).max(DVec2::ZERO);
        d.x * d.y
    }
}

/// What is taken, by cells of the paper, so that a label asks only what lies near it.
#[derive(Default)]
struct Paper {
    list: Vec<Taken>,
    cells: HashMap<[i32; 2], Vec<u32>>,
    /// How often it was asked, and in which asking each was last counted.
    asked: u32,
    counted: Vec<u32>,
}

/// Width of a cell, millimetres.
const CELL_MM: f64 = 12.0;

impl Paper {
    fn cells_of(t: &Taken) -> impl Iterator<Item = [i32; 2]> {
        let at = |v: DVec2| (v / CELL_MM).floor().clamp(DVec2::splat(-1e6), DVec2::splat(1e6)).as_ivec2();
        let (low, high) = (at(t.at - t.half), at(t.at + t.half));
        // What covers a whole large drawing is met in its first cells; symbols are far smaller.
        let high = high.min(low + 64);
        (low.x..=high.x).flat_map(move |x| (low.y..=high.y).map(move |y| [x, y]))
    }
    fn take(&mut self, t: Taken) {
        let n = self.list.len() as u32;
        self.list.push(t);
        self.counted.push(0);
        for cell in Paper::cells_of(&t) {
            self.cells.entry(cell).or_default().push(n);
        }
    }
    /// Area of a box that is taken, counting what lies over what twice.
    fn covered(&mut self, here: &Taken) -> f64 {
        self.asked += 1;
        let mut sum = 0.0;
        for n in Paper::cells_of(here).filter_map(|c| self.cells.get(&c)).flatten() {
            // What lies in several cells counts once.
            let last = &mut self.counted[*n as usize];
            if *last != self.asked {
                *last = self.asked;
                sum += self.list[*n as usize].overlap(here);
            }
        }
        sum
    }
}

/// How much a label may keep covered before a piece's name is left out, as a share of its own area.
const LEFT_OUT: f64 = 0.35;

/// Words of a turn before this always stand: the names of cast and camera.
const KEPT: u8 = 2;

/// Furthest a piece's name moves from its middle, millimetres.
const ON_PIECE_MM: f64 = 5.0;

/// Where a label stands over something by less than this it only touches it, square millimetres.
const TOUCHES_MM2: f64 = 0.2;

/// Moves the words of a drawing in plan metres apart. Names go first, then dimensions, then pieces. Returns which
/// marks of those handed over are left. A `sparing` drawing leaves out what finds no room, but for cast and camera.
pub(crate) fn declutter(marks: &mut Vec<Mark>, mm_per_m: f64, sparing: bool) -> Vec<usize> {
    let count = marks.len();
    let mut taken = Paper::default();
    marks.iter().filter_map(|m| symbol(m, mm_per_m)).for_each(|t| taken.take(t));
    if sparing {
        for ring in marks.iter().filter_map(wall) {
            along(ring, mm_per_m).into_iter().for_each(|t| taken.take(t));
        }
    }
    let mut order: Vec<usize> = (0..marks.len()).filter(|i| matches!(marks[*i].shape, Shape::Text { .. })).collect();
    order.sort_by_key(|i| {
        let kind = match (&marks[*i].layer, &marks[*i].shape) {
            (Layer::Words, Shape::Text { weight: Weight::Bold, .. }) => 0,
            (Layer::Words, _) => 1,
            (Layer::Dimensions, _) => 2,
            _ => 3,
        };
        // The sheet keeps the order in which things are drawn.
        (kind, if sparing { marks[*i].turn } else { 0 })
    });
    let mut dropped = std::collections::HashSet::new();
    for i in order {
        let (layer, turn) = (marks[i].layer, marks[i].turn);
        // A room's name stays in its room.
        let room = if sparing { floor_of(marks, i) } else { None };
        let line_mm = line_under(marks, i).map_or(f64::INFINITY, |m| m * mm_per_m);
        let Some((Taken { at: home, half }, upright)) = words(&marks[i], mm_per_m) else { continue };
        let width = 2.0 * if upright { half.y } else { half.x };
        let mut cover = |offset: DVec2| {
            let here = Taken { at: home + offset, half };
            let out = room.as_ref().is_some_and(|ring| !lies_in(ring, &here, mm_per_m));
            taken.covered(&here) + if out { 4.0 * half.x * half.y } else { 0.0 }
        };
        let mut best = (cover(DVec2::ZERO), DVec2::ZERO);
        let hardly_read = LEFT_OUT * half.x * half.y * 4.0;
        // A piece's name belongs on the piece, a dimension between the ends of its line or just past one.
        let mosts = match layer {
            Layer::Pieces => [ON_PIECE_MM; 2],
            _ => [line_mm - width * 0.5, line_mm + width],
        };
        for (most, enough) in mosts.into_iter().zip([1e-9, hardly_read]) {
            for offset in offsets(layer, half, upright).into_iter().filter(|o| o.length() <= most) {
                if best.0 <= enough {
                    break;
                }
                let c = cover(offset);
                if c < best.0 - 1e-9 {
                    best = (c, offset);
                }
            }
        }
        let covered = best.0 / (half.x * half.y * 4.0).max(1e-9);
        let left_out =
            if sparing { turn >= KEPT && best.0 > TOUCHES_MM2 } else { layer == Layer::Pieces && covered > LEFT_OUT };
        if left_out {
            dropped.insert(i);
            continue;
        }
        if let Shape::Text { at, .. } = &mut marks[i].shape {
            *at += best.1 / mm_per_m;
        }
        taken.take(Taken { at: home + best.1, half });
    }
    let mut at = 0..;
    marks.retain(|_| at.next().is_none_or(|i| !dropped.contains(&i)));
    (0..count).filter(|i| !dropped.contains(i)).collect()
}

/// The boxes of a drawing's words where they stand, in paper millimetres from the plan's origin: low and high corner,
/// with what is written. Turned words have the box of the way they are turned, level or upright.
#[must_use]
pub fn word_boxes(marks: &[Mark], mm_per_m: f64) -> Vec<([DVec2; 2], String)> {
    let boxed = |m: &Mark| {
        let (t, _) = words(m, mm_per_m)?;
        let Shape::Text { text, .. } = &m.shape else { return None };
        Some(([t.at - t.half, t.at + t.half], text.clone()))
    };
    marks.iter().filter_map(boxed).collect()
}

/// The box of a mark's words, and whether they stand upright; none of other marks.
fn words(mark: &Mark, mm_per_m: f64) -> Option<(Taken, bool)> {
    let Shape::Text { at, text, size_mm, weight, align, turn_deg, .. } = &mark.shape else { return None };
    let (width, height) = (text_width_mm(text, *size_mm, *weight), *size_mm * 1.25);
    let upright = turn_deg.abs() > 45.0;
    let half = if upright { DVec2::new(height, width) * 0.5 } else { DVec2::new(width, height) * 0.5 };
    let shift = match align {
        Align::Left => DVec2::new(width * 0.5, 0.0),
        Align::Middle => DVec2::ZERO,
        Align::Right => DVec2::new(-width * 0.5, 0.0),
    };
    Some((Taken { at: *at * mm_per_m + shift, half }, upright))
}

/// How far a dimension's figure lies from the nearer end of the line it stands on, metres; none for other words.
fn line_under(marks: &[Mark], figure: usize) -> Option<f64> {
    let Mark { layer: Layer::Dimensions, shape: Shape::Text { at, .. }, .. } = &marks[figure] else { return None };
    // The line comes just before, with the ticks at its ends between.
    marks[..figure].iter().rev().take(3).find_map(|m| {
        let Shape::Polyline { points, .. } = &m.shape else { return None };
        let [a, b] = points[..] else { return None };
        let (to_a, to_b) = (at.distance(a), at.distance(b));
        (to_a + to_b < a.distance(b) + 1e-6).then_some(to_a.min(to_b))
    })
}

/// Places to try, nearest first. A dimension stays on its line.
fn offsets(layer: Layer, half: DVec2, upright: bool) -> Vec<DVec2> {
    let along = |n: f64| if upright { DVec2::new(0.0, n) } else { DVec2::new(n, 0.0) };
    if layer == Layer::Dimensions {
        return [6.0, -6.0, 12.0, -12.0, 18.0, -18.0, 26.0, -26.0].map(along).to_vec();
    }
    let (w, h) = (half.x, half.y * 2.0);
    let mut out = Vec::new();
    for rows in 1..=4 {
        let y = h * 0.55 * f64::from(rows);
        out.extend([DVec2::new(0.0, -y), DVec2::new(0.0, y)]);
        for x in [w * 0.5, w, w * 1.5] {
            out.extend([DVec2::new(x, -y), DVec2::new(-x, -y), DVec2::new(x, y), DVec2::new(-x, y)]);
        }
    }
    out.extend([DVec2::new(w + 2.0, 0.0), DVec2::new(-w - 2.0, 0.0)]);
    out
}

/// The outline of the room that words stand for; none where they stand for something else.
fn floor_of(marks: &[Mark], words: usize) -> Option<Vec<DVec2>> {
    let room = marks[words].item.as_ref()?;
    marks.iter().filter(|m| m.layer == Layer::Floor && m.item.as_ref() == Some(room)).find_map(|m| match &m.shape {
        Shape::Polygon { points, .. } => Some(points.clone()),
        _ => None,
    })
}

/// Whether a box lies in an outline in metres.
fn lies_in(ring: &[DVec2], t: &Taken, mm_per_m: f64) -> bool {
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (0.0, -1.0), (0.0, 1.0)]
        .into_iter()
        .all(|(x, y)| tapemark_core::geometry::point_in_polygon((t.at + t.half * DVec2::new(x, y)) / mm_per_m, ring))
}

/// The outline of a wall, which words should not cover.
fn wall(mark: &Mark) -> Option<&[DVec2]> {
    match &mark.shape {
        // Openings lie in the walls' layer too and stand for themselves.
        Shape::Polygon { points, .. } if mark.layer == Layer::Walls && mark.item.is_none() => Some(points),
        // A wall without thickness is a line.
        Shape::Polyline { points, line } if mark.layer == Layer::Walls && mark.item.is_none() => {
            (points.len() == 2 && line.dash_mm.is_none()).then_some(points)
        }
        _ => None,
    }
}

/// Boxes along a long thin outline, however it lies.
fn along(ring: &[DVec2], mm_per_m: f64) -> Vec<Taken> {
    let n = ring.len();
    let sides = (0..n).map(|i| (ring[i], ring[(i + 1) % n]));
    let Some((a, b)) = sides.max_by(|x, y| x.0.distance_squared(x.1).total_cmp(&y.0.distance_squared(y.1))) else {
        return Vec::new();
    };
    let way = (b - a).normalize_or_zero();
    let spread = |across: DVec2| {
        let places = ring.iter().map(|p| (*p - a).dot(across));
        places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
    };
    let ((from, to), (near, far)) = (spread(way), spread(way.perp()));
    let (long, thick) = ((to - from) * mm_per_m, (far - near) * mm_per_m);
    let level = way.x.abs() < 1e-9 || way.y.abs() < 1e-9;
    let count = if level { 1 } else { (long / thick.max(1.0)).ceil().clamp(1.0, 400.0) as usize };
    let step = (to - from) / count as f64;
    let middle = |i: usize| a + way * (from + step * (i as f64 + 0.5)) + way.perp() * ((near + far) * 0.5);
    // A level one by its own size; parts of an oblique one by the box round each.
    let (half_along, half_across) = (step * mm_per_m * 0.5, thick * 0.5);
    let half = way.abs() * half_along + way.perp().abs() * half_across;
    (0..count).map(|i| Taken { at: middle(i) * mm_per_m, half }).collect()
}

/// The box of a symbol that words should not cover.
fn symbol(mark: &Mark, mm_per_m: f64) -> Option<Taken> {
    if !matches!(mark.layer, Layer::People | Layer::Lamps | Layer::Cameras) {
        return None;
    }
    let Shape::Polygon { points, .. } = &mark.shape else { return None };
    let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min) * mm_per_m;
    let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max) * mm_per_m;
    Some(Taken { at: (low + high) * 0.5, half: (high - low) * 0.5 })
}
