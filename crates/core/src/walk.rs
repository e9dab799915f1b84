//! Everything to tape on the floor, in the order one person walks it.

use crate::geometry::{bearing_dir, segment_crossing};
use crate::plan::{OpeningKind, Plan};
use crate::taping::{LetteredWall, TapeLine, lettered_walls, room_index_at, tape_lines};
use glam::DVec2;
use serde::Serialize;

/// What is taped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TapedKind {
    /// Where somebody stands.
    Mark,
    /// Where a camera stands.
    Camera,
    /// Where a lamp's stand stands.
    Stand,
}

/// A place to tape.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TapedPlace {
    /// What stands there.
    pub kind: TapedKind,
    /// Whose it is.
    pub name: String,
    /// Which of theirs, from 1.
    pub number: usize,
    /// Names of the shots it is for, in the order of the storyboard.
    pub shots: Vec<String>,
    /// Where, metres.
    pub at_m: [f64; 2],
    /// The room's place in the plan's list; none outside.
    pub room: Option<usize>,
    /// Distances to tape; none outside rooms.
    pub tape: Vec<TapeLine>,
    /// Bearing of the face, the lens or the lamp, degrees.
    pub facing_deg: f64,
    /// Letter of the wall of its room that this looks at.
    pub facing_wall: Option<String>,
}

/// Places nearer than this are one, metres.
const SAME_M: f64 = 0.01;
/// Going into another room weighs as much as this way, metres: a room is finished first.
const OTHER_ROOM_M: f64 = 100.0;
/// No room is longer, metres.
const FAR_M: f64 = 1e4;
/// Up to so many places all orders are compared.
const FEW: usize = 9;
/// So often the way is improved at most.
const ROUNDS: usize = 40;

/// Every mark, camera and lamp stand of a plan once, room by room in the order of a short way that begins at the first
/// door to the outside: the shortest of few places; of many nearest next, then shortened by turning stretches of it round
/// (2-opt) and moving single places.
#[must_use]
pub fn taping_walk(plan: &Plan) -> Vec<TapedPlace> {
    let places = places(plan);
    if places.is_empty() {
        return places;
    }
    let order = short_way(&places, entrance(plan));
    order.into_iter().map(|i| places[i].clone()).collect()
}

/// Length of the way through places from where it begins, metres, with what changes of room weigh.
#[must_use]
pub fn way_m(places: &[TapedPlace], from: [f64; 2]) -> f64 {
    let first = places.first().map_or(0.0, |p| DVec2::from_array(from).distance(p.at_m.into()));
    first + places.windows(2).map(|w| step_m(&w[0], &w[1])).sum::<f64>()
}

/// Where the way begins: inside the first door or passage that leads outside, else at the first room's first corner.
#[must_use]
pub fn entrance(plan: &Plan) -> [f64; 2] {
    let walls = crate::geometry::Walls::shared(plan);
    let door = walls
        .openings
        .iter()
        .find(|o| o.leads_to.is_empty() && !matches!(plan.location.openings[o.index].kind, OpeningKind::Window { .. }));
    let corner = plan.location.rooms.first().and_then(|r| r.outline_m.first()).copied();
    door.map(|o| ((o.a + o.b) * 0.5).to_array()).or(corner).unwrap_or([0.0; 2])
}

fn step_m(a: &TapedPlace, b: &TapedPlace) -> f64 {
    let way = DVec2::from_array(a.at_m).distance(b.at_m.into());
    if a.room == b.room { way } else { way + OTHER_ROOM_M }
}

fn places(plan: &Plan) -> Vec<TapedPlace> {
    let walls = lettered_walls(plan);
    let mut out: Vec<TapedPlace> = Vec::new();
    let mut add = |kind: TapedKind, name: &str, shot: &str, at_m: [f64; 2], facing_deg: f64| {
        let is_same = |p: &&mut TapedPlace| {
            p.kind == kind && p.name == name && DVec2::from_array(p.at_m).distance(at_m.into()) < SAME_M
        };
        if let Some(known) = out.iter_mut().find(is_same) {
            if !known.shots.iter().any(|s| s == shot) {
                known.shots.push(shot.into());
            }
            return;
        }
        let number = 1 + out.iter().filter(|p| p.kind == kind && p.name == name).count();
        let at = DVec2::from_array(at_m);
        let room = room_index_at(plan, at);
        out.push(TapedPlace {
            kind,
            name: name.into(),
            number,
            shots: vec![shot.into()],
            at_m,
            room,
            tape: tape_lines(plan, at),
            facing_deg,
            facing_wall: room.and_then(|room| faced(&walls, room, at, facing_deg)),
        });
    };
    for shot in &plan.shots {
        for m in &shot.marks {
            let name = plan.person(&m.person).map_or("", |p| p.name.as_str());
            add(TapedKind::Mark, name, &shot.name, m.position_m, m.facing_deg);
        }
        if let Some(c) = plan.shot_camera(shot) {
            add(TapedKind::Camera, &c.name, &shot.name, c.position_m, c.pan_deg);
            for m in &c.marks {
                add(TapedKind::Camera, &c.name, &shot.name, m.position_m, m.pan_deg);
            }
        }
        for f in plan.shot_fixtures(shot) {
            add(TapedKind::Stand, &f.label(), &shot.name, f.position_m, f.pan_deg);
        }
    }
    out
}

/// The letter of the wall of a room that a bearing from a point in it meets first.
fn faced(walls: &[LetteredWall], room: usize, at: DVec2, bearing_deg: f64) -> Option<String> {
    let far = at + bearing_dir(bearing_deg) * FAR_M;
    let own = walls.iter().filter(|w| w.room == room);
    let met = own.filter_map(|w| segment_crossing(at, far, w.a, w.b).map(|(along, _)| (along, w)));
    met.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, w)| w.letter.clone())
}

/// Of all orders of a few places the one with the shortest way, subset by subset (Held & Karp 1962).
fn shortest_way(count: usize, step: impl Fn(Option<usize>, Option<usize>) -> f64) -> Vec<usize> {
    // By the places that have been passed, as bits, and the last of them: the way so far and the place before.
    let mut best = vec![vec![(f64::INFINITY, usize::MAX); count]; 1 << count];
    for (i, first) in (0..count).map(|i| (i, step(None, Some(i)))) {
        best[1 << i][i] = (first, usize::MAX);
    }
    for passed in 1..1_usize << count {
        for last in (0..count).filter(|l| passed >> l & 1 == 1) {
            let (so_far, _) = best[passed][last];
            for next in (0..count).filter(|n| passed >> n & 1 == 0) {
                let way = so_far + step(Some(last), Some(next));
                let known = &mut best[passed | 1 << next][next];
                if way < known.0 {
                    *known = (way, last);
                }
            }
        }
    }
    let mut passed = (1 << count) - 1;
    let ends = (0..count).min_by(|a, b| best[passed][*a].0.total_cmp(&best[passed][*b].0));
    let mut order: Vec<usize> = Vec::with_capacity(count);
    let mut last = ends.unwrap_or(usize::MAX);
    while last != usize::MAX {
        order.push(last);
        let before = best[passed][last].1;
        passed &= !(1 << last);
        last = before;
    }
    order.reverse();
    order
}

/// The order of a short way through places, which may end anywhere.
fn short_way(places: &[TapedPlace], from: [f64; 2]) -> Vec<usize> {
    let start = |i: usize| DVec2::from_array(from).distance(places[i].at_m.into());
    let step = |a: Option<usize>, b: Option<usize>| match (a, b) {
        (Some(a), Some(b)) => step_m(&places[a], &places[b]),
        (None, Some(b)) => start(b),
        _ => 0.0,
    };
    if places.len() <= FEW {
        return shortest_way(places.len(), step);
    }
    let mut left: Vec<usize> = (0..places.len()).collect();
    let mut order: Vec<usize> = Vec::with_capacity(places.len());
    while !left.is_empty() {
        let last = order.last().copied();
        let nearest = (0..left.len()).min_by(|a, b| step(last, Some(left[*a])).total_cmp(&step(last, Some(left[*b]))));
        order.push(left.remove(nearest.unwrap_or(0)));
    }
    let at = |order: &[usize], i: isize| usize::try_from(i).ok().and_then(|i| order.get(i).copied());
    for _ in 0..ROUNDS {
        let mut better = false;
        // A stretch turned round.
        for i in 0..order.len() {
            for j in i + 1..order.len() {
                let (before, after) = (at(&order, i as isize - 1), at(&order, j as isize + 1));
                let (first, last) = (Some(order[i]), Some(order[j]));
                let saved = step(before, first) + step(last, after) - step(before, last) - step(first, after);
                if saved > 1e-9 {
                    order[i..=j].reverse();
                    better = true;
                }
            }
        }
        // A place moved to between two others.
        for i in 0..order.len() {
            let (before, here, after) = (at(&order, i as isize - 1), order[i], at(&order, i as isize + 1));
            let taken = step(before, Some(here)) + step(Some(here), after) - step(before, after);
            let mut rest = order.clone();
            rest.remove(i);
            let cost = |k: usize| {
                let (a, b) = (at(&rest, k as isize - 1), at(&rest, k as isize));
                step(a, Some(here)) + step(Some(here), b) - step(a, b)
            };
            let best = (0..=rest.len()).min_by(|a, b| cost(*a).total_cmp(&cost(*b)));
            if let Some(k) = best.filter(|k| taken - cost(*k) > 1e-9) {
                rest.insert(k, here);
                order = rest;
                better = true;
            }
        }
        if !better {
            break;
        }
    }
    order
}
