//! How a cable lies: along the walls, round their corners and through the openings.

use crate::geometry::{Walls, closest_on_segment, point_segment_distance, segment_crossing};
use crate::plan::{OpeningId, OpeningKind, Plan};
use crate::taping::room_at;
use glam::DVec2;
use rayon::prelude::*;
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};
use std::sync::{Arc, Mutex, OnceLock};
use tapemark_words::say;

/// A cable lies this far off a wall, metres.
const OFF_WALL_M: f64 = 0.05;
/// Nearer than this to a wall, a run is along it.
const ALONG_M: f64 = 0.12;
/// A metre over open floor counts as this many along a wall: people walk there (common practice, no source).
const OPEN_FLOOR: f64 = 1.6;

/// An opening that a cable lies across.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Crossing {
    /// Which.
    pub opening: OpeningId,
    /// Its name.
    pub name: String,
    /// Where, metres.
    pub at_m: [f64; 2],
    /// Whether a door must shut over it.
    pub shut_door: bool,
}

/// A laid cable.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// Corners, outlet first.
    pub path: Vec<DVec2>,
    /// Length over the floor, metres.
    pub length_m: f64,
    /// Openings crossed.
    pub crossings: Vec<Crossing>,
}

impl Route {
    /// With a word for openings that have no name, in the language now spoken.
    fn told(mut self) -> Route {
        for c in self.crossings.iter_mut().filter(|c| c.name.is_empty()) {
            c.name = say!("an-opening").into();
        }
        self
    }
}

/// The floor as a cable sees it: walls that stop it and corners it turns at.
///
/// Furniture does not stop a cable: it lies under it or round its foot.
#[derive(Debug)]
pub struct Floorway {
    walls: Vec<(DVec2, DVec2)>,
    corners: Vec<DVec2>,
    /// From each corner to those it sees, and what the way counts: worked out where a cable comes by.
    ways: Vec<OnceLock<Vec<(usize, f64)>>>,
    openings: Vec<(OpeningId, String, DVec2, DVec2, bool)>,
    rooms: bool,
    /// Ways found already: while one lamp moves, the others' cables stay.
    found: Mutex<HashMap<[u64; 4], Route>>,
}

/// What stands on the floor that a cable goes round: where, and how far from its middle the cable keeps, metres.
pub type Stood = (DVec2, f64);

/// Corners a cable turns at on its way round what stands on the floor.
const ROUND: usize = 8;

/// Whether a stretch of cable keeps off what stands on the floor.
fn passes(round: &[Stood], p: DVec2, q: DVec2) -> bool {
    round.iter().all(|(at, r)| point_segment_distance(*at, p, q) >= *r)
}

/// Most ways remembered.
const REMEMBERED: usize = 4096;

impl Floorway {
    /// The floor of a plan, worked out once for a place.
    #[must_use]
    pub fn of(plan: &Plan) -> Arc<Floorway> {
        plan.location.derived(|_| Floorway::new(plan))
    }

    fn new(plan: &Plan) -> Floorway {
        let walls = Walls::shared(plan);
        let solid: Vec<(DVec2, DVec2)> = walls.pieces.iter().filter(|w| w.z0 < 0.01).map(|w| (w.a, w.b)).collect();
        let ends =
            solid.iter().flat_map(|(a, b)| {
                let along = (*b - *a).normalize_or_zero() * OFF_WALL_M;
                let across = along.perp();
                [*a + along + across, *a + along - across, *a - along + across, *a - along - across]
                    .into_iter()
                    .chain([*b + along + across, *b + along - across, *b - along + across, *b - along - across])
            });
        let mut corners: Vec<DVec2> = Vec::new();
        for p in ends {
            let clear = solid.iter().all(|(a, b)| point_segment_distance(p, *a, *b) > OFF_WALL_M * 0.9);
            if clear && corners.iter().all(|c| c.distance(p) > 0.01) && room_at(plan, p).is_some() {
                corners.push(p);
            }
        }
        let openings = walls
            .openings
            .iter()
            .filter_map(|place| {
                let o = plan.location.openings.get(place.index)?;
                let shut = matches!(o.kind, OpeningKind::Door { open_deg, .. } if open_deg < 5.0);
                (o.sill_m < 0.3).then(|| (o.id.clone(), o.name.clone(), place.a, place.b, shut))
            })
            .collect();
        let rooms = !plan.location.rooms.is_empty();
        let ways = corners.iter().map(|_| OnceLock::new()).collect();
        Floorway { walls: solid, corners, ways, openings, rooms, found: Mutex::default() }
    }

    fn ways_from(&self, i: usize) -> &[(usize, f64)] {
        if self.ways[i].get().is_none() {
            let p = self.corners[i];
            let others = self.corners.par_iter().enumerate().with_min_len(64);
            let seen = others.filter(|(j, q)| *j != i && self.sees(p, **q)).map(|(j, q)| (j, self.cost(p, *q)));
            // Not inside `get_or_init`: what waits for these may ask for the same corner.
            let _ = self.ways[i].set(seen.collect());
        }
        self.ways[i].get().map_or(&[], Vec::as_slice)
    }

    fn sees(&self, p: DVec2, q: DVec2) -> bool {
        self.walls.iter().all(|(a, b)| segment_crossing(p, q, *a, *b).is_none())
    }

    fn to_wall(&self, p: DVec2) -> f64 {
        self.walls.iter().map(|(a, b)| point_segment_distance(p, *a, *b)).fold(f64::INFINITY, f64::min)
    }

    fn cost(&self, p: DVec2, q: DVec2) -> f64 {
        let along = [0.1, 0.5, 0.9].iter().all(|t| self.to_wall(p.lerp(q, *t)) < ALONG_M);
        p.distance(q) * if along { 1.0 } else { OPEN_FLOOR }
    }

    /// The point beside the wall nearest to `p`, on p's own side of it, for every wall square to p.
    fn feet(&self, p: DVec2) -> Vec<DVec2> {
        self.walls
            .iter()
            .filter_map(|(a, b)| {
                let foot = closest_on_segment(p, *a, *b);
                let out = (p - foot).try_normalize()?;
                let square = out.dot((*b - *a).normalize_or_zero()).abs() < 1e-6;
                let beside = foot + out * OFF_WALL_M;
                (square && p.distance(foot) > ALONG_M && self.sees(p, beside)).then_some(beside)
            })
            .collect()
    }

    /// An outlet in the face of a wall, brought off it into the room it serves: the side `toward` is reached from.
    fn off_wall(&self, p: DVec2) -> Vec<DVec2> {
        let near = self
            .walls
            .iter()
            .min_by(|u, v| point_segment_distance(p, u.0, u.1).total_cmp(&point_segment_distance(p, v.0, v.1)));
        let Some((a, b)) = near.filter(|(a, b)| point_segment_distance(p, *a, *b) < OFF_WALL_M) else {
            return vec![p];
        };
        let foot = closest_on_segment(p, *a, *b);
        let across = (*b - *a).normalize_or_zero().perp() * OFF_WALL_M;
        if foot.distance(p) < 1e-3 {
            // Right on the line: it may serve either side.
            vec![foot + across, foot - across]
        } else {
            vec![foot + across * across.dot(p - foot).signum()]
        }
    }

    /// The cheapest way from an outlet to a lamp; straight where no way is found.
    #[must_use]
    pub fn route(&self, from: DVec2, to: DVec2) -> Route {
        let ends = [from.x, from.y, to.x, to.y].map(f64::to_bits);
        if let Some(known) = self.found.lock().ok().and_then(|f| f.get(&ends).cloned()) {
            return known.told();
        }
        let route = self.sought(from, to, &[]).unwrap_or_else(|| self.laid(vec![from, to]));
        if let Ok(mut found) = self.found.lock() {
            if found.len() >= REMEMBERED {
                found.clear();
            }
            found.insert(ends, route.clone());
        }
        route.told()
    }

    /// As [`Floorway::route`], round what stands on the floor where there is room.
    #[must_use]
    pub fn route_round(&self, from: DVec2, to: DVec2, round: &[Stood]) -> Route {
        let cheapest = self.route(from, to);
        // What stands on an end cannot be gone round.
        let round: Vec<Stood> =
            round.iter().filter(|(p, r)| p.distance(from) > *r && p.distance(to) > *r).copied().collect();
        if cheapest.path.windows(2).all(|w| passes(&round, w[0], w[1])) {
            return cheapest;
        }
        self.sought(from, to, &round).map_or(cheapest, Route::told)
    }

    /// Points round what stands on the floor that lie on it and beside no wall.
    fn corners_round(&self, (at, r): Stood) -> impl Iterator<Item = DVec2> + '_ {
        // Chords between them keep off the disc.
        let out = r / (std::f64::consts::PI / ROUND as f64).cos() * 1.02;
        (0..ROUND)
            .map(move |i| at + DVec2::from_angle(i as f64 * std::f64::consts::TAU / ROUND as f64) * out)
            .filter(move |p| self.to_wall(*p) > OFF_WALL_M * 0.9 && self.sees(at, *p))
    }

    /// None: there is no way.
    fn sought(&self, from: DVec2, to: DVec2, round: &[Stood]) -> Option<Route> {
        if !self.rooms {
            return None;
        }
        let starts = self.off_wall(from);
        // Corners first, then the points of this run: lamp, outlet, and where either meets the walls.
        let mut nodes = self.corners.clone();
        let lamp = nodes.len();
        nodes.push(to);
        nodes.extend(&starts);
        nodes.extend(self.feet(to));
        nodes.extend(starts.iter().flat_map(|s| self.feet(*s)));
        nodes.extend(round.iter().flat_map(|d| self.corners_round(*d)));
        let n = nodes.len();
        let mut best = vec![f64::INFINITY; n];
        let mut before = vec![usize::MAX; n];
        let mut heap = BinaryHeap::new();
        // No way counts less than its length: what is left counts at least the straight line.
        let key = |m: f64, p: DVec2| ((m + p.distance(to)) * 1e6) as i64;
        for i in lamp + 1..=lamp + starts.len() {
            best[i] = from.distance(nodes[i]);
            heap.push((Reverse(key(best[i], nodes[i])), i));
        }
        let mut done = vec![false; n];
        while let Some((_, i)) = heap.pop() {
            if std::mem::replace(&mut done[i], true) {
                continue;
            }
            if i == lamp {
                break;
            }
            let here = best[i];
            let mut reach = |best: &mut [f64], j: usize, there: f64| {
                if there < best[j] {
                    best[j] = there;
                    before[j] = i;
                    heap.push((Reverse(key(there, nodes[j])), j));
                }
            };
            if i < lamp {
                let ways = self.ways_from(i).iter().filter(|(j, _)| passes(round, nodes[i], nodes[*j]));
                ways.for_each(|(j, c)| reach(&mut best, *j, here + c));
            }
            for (j, q) in nodes.iter().enumerate().skip(if i < lamp { lamp } else { 0 }) {
                let may_gain = j != i && !done[j] && here + nodes[i].distance(*q) < best[j];
                if may_gain && self.sees(nodes[i], *q) && passes(round, nodes[i], *q) {
                    reach(&mut best, j, here + self.cost(nodes[i], *q));
                }
            }
        }
        if best[lamp].is_infinite() {
            return None;
        }
        let mut path = vec![to];
        let mut i = lamp;
        while before[i] != usize::MAX {
            i = before[i];
            path.push(nodes[i]);
        }
        path.push(from);
        path.reverse();
        path.dedup_by(|a, b| a.distance(*b) < 1e-6);
        Some(self.laid(path))
    }

    /// A way with its length and what it lies across.
    fn laid(&self, path: Vec<DVec2>) -> Route {
        let crossings = self
            .openings
            .iter()
            .filter_map(|(id, name, a, b, shut)| {
                let hit = path
                    .windows(2)
                    .find_map(|s| segment_crossing(s[0], s[1], *a, *b).map(|(t, _)| s[0].lerp(s[1], t)))?;
                Some(Crossing { opening: id.clone(), name: name.clone(), at_m: hit.to_array(), shut_door: *shut })
            })
            .collect();
        Route { length_m: path.windows(2).map(|s| s[0].distance(s[1])).sum(), path, crossings }
    }
}
