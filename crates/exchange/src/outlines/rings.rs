//! Lines joined to rings, and those of them that can be rooms.

use super::{Outlines, Polyline};
use glam::DVec2;
use std::collections::HashMap;
use tapemark_core::geometry::{point_in_polygon, polygon_self_crossing, signed_area};
use tapemark_core::plan::MOST;
use tapemark_words::say;

/// Smaller outlines are furniture and symbols, m².
const LEAST_ROOM_M2: f64 = 1.0;
/// Ends this near are one corner, metres.
const JOIN_M: f64 = 0.02;
/// Most corners of the outlines that are held against one another.
const MOST_CORNERS_LOOKED_AT: usize = 10_000;

/// Joins loose ends to rings and keeps what can be a room.
pub(super) fn rooms_of(lines: Vec<Polyline>, mut left_out: Vec<String>) -> Outlines {
    let mut rings: Vec<Vec<DVec2>> = Vec::new();
    let mut loose: Vec<Vec<DVec2>> = Vec::new();
    for (points, closed) in lines {
        let points = cleaned(points, closed);
        if closed || points.first().zip(points.last()).is_some_and(|(a, b)| points.len() > 3 && a.distance(*b) < JOIN_M)
        {
            rings.push(points);
        } else if points.len() > 1 {
            loose.push(points);
        }
    }
    let (mut joined, open) = join(loose);
    rings.append(&mut joined);
    if open > 0 {
        left_out.push(say!("lines-that-close-no-outline", open));
    }
    let (mut small, mut crossing, mut many) = (0, 0, 0);
    rings = rings
        .into_iter()
        .filter_map(|r| {
            let mut r = cleaned(r, true);
            let area = signed_area(&r);
            if r.len() < 3 || area.abs() < LEAST_ROOM_M2 {
                small += 1;
                return None;
            }
            if r.len() > MOST.corners {
                many += 1;
                return None;
            }
            if polygon_self_crossing(&r).is_some() {
                crossing += 1;
                return None;
            }
            if area < 0.0 {
                r.reverse();
            }
            Some(r)
        })
        .collect();
    rings.sort_by(|a, b| signed_area(b).total_cmp(&signed_area(a)));
    let found = rings.len();
    let looked_at = within(&rings, MOST_CORNERS_LOOKED_AT);
    rings.truncate(looked_at);
    let rings = drawn_once(rings);
    let (mut rooms, outer, inner) = between_walls(&rings);
    if outer > 0 {
        left_out.push(say!("outlines-round-the-outside-of-the", outer));
    }
    if inner > 0 {
        left_out.push(say!("inner-outlines-inside-a-room", inner));
    }
    if small > 0 {
        left_out.push(say!("small-outlines-under-least-room-m2", small, least_room_m2 = LEAST_ROOM_M2));
    }
    if crossing > 0 {
        left_out.push(say!("outlines-that-cross-themselves", crossing));
    }
    if many > 0 {
        left_out.push(say!("outlines-of-too-many-corners", many, most = MOST.corners));
    }
    if found > looked_at {
        left_out.push(say!("outlines-smaller-than-those", smaller = found - looked_at, looked_at));
    }
    let most = within(&rooms, MOST.walls).min(MOST.rooms);
    if rooms.len() > most {
        left_out.push(say!("rooms-beyond-the-largest", more = rooms.len() - most, most));
        rooms.truncate(most);
    }
    Outlines { rooms, left_out }
}

/// How many of the first outlines have so many corners together.
fn within(rings: &[Vec<DVec2>], corners: usize) -> usize {
    let mut sum = 0;
    rings
        .iter()
        .take_while(|r| {
            sum += r.len();
            sum <= corners
        })
        .count()
}

/// Drawn twice is one room.
fn drawn_once(rings: Vec<Vec<DVec2>>) -> Vec<Vec<DVec2>> {
    let mut kept: Vec<Vec<DVec2>> = Vec::new();
    for r in rings {
        let same = |k: &Vec<DVec2>| k.len() == r.len() && r.iter().all(|p| k.iter().any(|q| p.distance(*q) < JOIN_M));
        if !kept.iter().any(same) {
            kept.push(r);
        }
    }
    kept
}

/// Of outlines, largest first: the rooms; how many run round the outside of the walls; how many lie inside a room.
fn between_walls(rings: &[Vec<DVec2>]) -> (Vec<Vec<DVec2>>, usize, usize) {
    let inside = |a: &[DVec2], b: &[DVec2]| a.iter().all(|p| point_in_polygon(*p, b));
    // An outline round others that fill most of it is the outside of the walls.
    let (outer, rooms): (Vec<_>, Vec<_>) = (0..rings.len()).partition(|i| {
        let within: f64 = rings[i + 1..].iter().filter(|r| inside(r, &rings[*i])).map(|r| signed_area(r)).sum();
        within > 0.5 * signed_area(&rings[*i])
    });
    // What stands inside a room is furniture.
    let (inner, rooms): (Vec<usize>, Vec<usize>) =
        rooms.iter().partition(|i| rooms.iter().take_while(|o| o < i).any(|o| inside(&rings[**i], &rings[*o])));
    (rooms.into_iter().map(|i| rings[i].clone()).collect(), outer.len(), inner.len())
}

/// Without corners that repeat or lie on a straight line.
fn cleaned(points: Vec<DVec2>, closed: bool) -> Vec<DVec2> {
    let mut out: Vec<DVec2> = Vec::with_capacity(points.len());
    for p in points {
        if out.last().is_none_or(|q| q.distance(p) > 1e-4) {
            out.push(p);
        }
    }
    if closed {
        while out.len() > 1 && out[0].distance(out[out.len() - 1]) < 1e-4 {
            out.pop();
        }
        let n = out.len();
        let straight = |i: usize| {
            let (a, b, c) = (out[(i + n - 1) % n], out[i], out[(i + 1) % n]);
            let (u, v) = ((b - a).normalize_or_zero(), (c - b).normalize_or_zero());
            u.perp_dot(v).abs() < 1e-6 && u.dot(v) > 0.0
        };
        if n > 3 {
            out = (0..n).filter(|i| !straight(*i)).map(|i| out[i]).collect();
        }
    }
    out
}

/// Joins lines end to end; the rings, and how many lines are left.
fn join(mut loose: Vec<Vec<DVec2>>) -> (Vec<Vec<DVec2>>, usize) {
    let mut ends = Ends::of(&loose);
    let mut rings = Vec::new();
    let mut open = 0;
    for first in (0..loose.len()).rev() {
        let mut chain = ends.take(first, &mut loose);
        let mut used = usize::from(!chain.is_empty());
        while let Some(end) = chain.last().copied() {
            if chain.len() > 3 && end.distance(chain[0]) < JOIN_M {
                chain.pop();
                rings.push(chain);
                used = 0;
                break;
            }
            let Some(next) = ends.near(end, &loose) else { break };
            let mut line = ends.take(next, &mut loose);
            if line[0].distance(end) >= JOIN_M {
                line.reverse();
            }
            chain.extend(line.into_iter().skip(1));
            used += 1;
        }
        open += used;
    }
    (rings, open)
}

/// The ends of lines not joined yet, by the square of [`JOIN_M`] they lie in.
struct Ends {
    squares: HashMap<(i64, i64), Vec<usize>>,
    joined: Vec<bool>,
}

/// Most lines of a square that are looked at for one end.
const MOST_OF_A_SQUARE: usize = 64;

impl Ends {
    fn of(lines: &[Vec<DVec2>]) -> Ends {
        let mut squares: HashMap<_, Vec<usize>> = HashMap::new();
        for (i, line) in lines.iter().enumerate() {
            for end in [line[0], line[line.len() - 1]] {
                squares.entry(Ends::square(end)).or_default().push(i);
            }
        }
        Ends { squares, joined: vec![false; lines.len()] }
    }

    fn square(at: DVec2) -> (i64, i64) {
        let s = (at / JOIN_M).floor();
        (s.x as i64, s.y as i64)
    }

    /// A line, which from now on is joined; empty if it was.
    fn take(&mut self, i: usize, lines: &mut [Vec<DVec2>]) -> Vec<DVec2> {
        self.joined[i] = true;
        std::mem::take(&mut lines[i])
    }

    /// A line not joined yet with an end near a point.
    fn near(&mut self, at: DVec2, lines: &[Vec<DVec2>]) -> Option<usize> {
        let (x, y) = Ends::square(at);
        let joined = &self.joined;
        for key in (x - 1..=x + 1).flat_map(|x| (y - 1..=y + 1).map(move |y| (x, y))) {
            let Some(here) = self.squares.get_mut(&key) else { continue };
            let mut k = here.len();
            while k > here.len().saturating_sub(MOST_OF_A_SQUARE) {
                k -= 1;
                let line = here[k];
                if joined[line] {
                    here.swap_remove(k);
                    k = k.min(here.len());
                } else if lines[line].first().into_iter().chain(lines[line].last()).any(|p| p.distance(at) < JOIN_M) {
                    return Some(line);
                }
            }
        }
        None
    }
}
