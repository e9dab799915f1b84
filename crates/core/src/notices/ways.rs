//! Ways through the rooms: whether the crew gets by, and out in a hurry.

use super::{Collector, Severity};
use crate::blocking::Moments;
use crate::facts::ShotFacts;
use crate::geometry::{Owner, Solids, WallPiece, bearing_dir, closest_on_segment, point_in_polygon, segment_crossing};
use crate::plan::{Mount, OpeningKind, Plan};
use crate::scene::Scene;
use glam::DVec2;
use std::collections::BinaryHeap;
use tapemark_words::{figure, say};

/// Size of the cells a way is looked for in, metres.
const CELL_M: f64 = 0.1;
/// Most cells.
const MOST: f64 = 250_000.0;
/// Further than this from everything is wide enough for anybody, metres.
const WIDE_M: f64 = 1.0;
/// A stand's feet reach about this far, metres (common practice, no source).
const FEET_M: f64 = 0.35;
/// A tripod takes less, and its operator stands so far behind the lens, metres (common practice, no source).
pub(crate) const TRIPOD_M: f64 = 0.2;
const OPERATOR_BEHIND_M: f64 = 0.6;
/// Narrower than this nobody passes, metres (common practice, no source).
const SQUEEZE_M: f64 = 0.45;
/// What stands within this of where the operator stands is stepped round: they stand there already, metres (common
/// practice, no source).
const STEP_OFF_M: f64 = 0.45;
/// An operator stands no further than this from the lens, metres, and no further before it than a hand on it reaches.
const OPERATES_M: f64 = 0.9;
const BESIDE_M: f64 = 0.25;

/// Free floor round every cell: distance to the nearest wall or piece, metres; negative outside rooms.
#[derive(Debug, Clone)]
pub(crate) struct Floor {
    low: DVec2,
    cell_m: f64,
    nx: usize,
    ny: usize,
    free_m: Vec<f32>,
}

impl Floor {
    /// What rooms, walls and pieces leave free. Doors count as open: a leaf can be moved.
    pub fn of(plan: &Plan, solids: &Solids) -> Floor {
        let rooms: Vec<Vec<DVec2>> =
            plan.location.rooms.iter().map(|r| r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect()).collect();
        let corners = || rooms.iter().flatten().copied();
        let low = corners().fold(DVec2::INFINITY, DVec2::min) - 0.3;
        let high = corners().fold(DVec2::NEG_INFINITY, DVec2::max) + 0.3;
        if !(high - low).is_finite() {
            return Floor { low: DVec2::ZERO, cell_m: CELL_M, nx: 0, ny: 0, free_m: Vec::new() };
        }
        let size = high - low;
        let cell_m = CELL_M.max((size.x * size.y / MOST).sqrt());
        let (nx, ny) = ((size.x / cell_m).ceil() as usize, (size.y / cell_m).ceil() as usize);
        let middle = |i: usize| low + DVec2::new((i % nx) as f64 + 0.5, (i / nx) as f64 + 0.5) * cell_m;
        // Inside a room, or in the thickness of a wall where an opening is.
        let doorways: Vec<(DVec2, DVec2)> = plan
            .location
            .openings
            .iter()
            .filter(|o| o.sill_m < 0.05)
            .filter_map(|o| crate::geometry::opening_ends(plan, o).map(|(a, b, _)| (a, b)))
            .collect();
        let mut free_m: Vec<f32> = (0..nx * ny)
            .map(|i| {
                let p = middle(i);
                let open = rooms.iter().any(|r| point_in_polygon(p, r))
                    || doorways.iter().any(|(a, b)| closest_on_segment(p, *a, *b).distance(p) < 0.3);
                if open { WIDE_M as f32 } else { -1.0 }
            })
            .collect();
        let keep = |o| !matches!(solids.owner_of(o), Some(Owner::Door(_) | Owner::Person(_)));
        let mut segments: Vec<(DVec2, DVec2)> = Vec::new();
        for z in [0.1, 0.8, 1.5] {
            segments.extend(solids.outlines_at(z).into_iter().filter(|s| keep(s.2)).map(|(a, b, _)| (a, b)));
        }
        for (a, b) in segments {
            let (l, h) = (a.min(b) - WIDE_M, a.max(b) + WIDE_M);
            let cell = |p: DVec2| ((p - low) / cell_m).floor().max(DVec2::ZERO);
            let (from, to) = (cell(l), cell(h));
            for y in from.y as usize..=(to.y as usize).min(ny - 1) {
                for x in from.x as usize..=(to.x as usize).min(nx - 1) {
                    let i = y * nx + x;
                    let p = middle(i);
                    let d = closest_on_segment(p, a, b).distance(p) as f32;
                    free_m[i] = free_m[i].min(d);
                }
            }
        }
        for piece in plan.location.pieces.iter().filter(|p| p.base_m < 1.8) {
            let ring = crate::scene::footprint(piece);
            (0..nx * ny).filter(|i| point_in_polygon(middle(*i), &ring)).for_each(|i| free_m[i] = -1.0);
        }
        Floor { low, cell_m, nx, ny, free_m }
    }

    fn cell(&self, p: DVec2) -> Option<usize> {
        let c = ((p - self.low) / self.cell_m).floor();
        let inside = c.x >= 0.0 && c.y >= 0.0 && c.x < self.nx as f64 && c.y < self.ny as f64;
        inside.then_some(c.y as usize * self.nx + c.x as usize)
    }

    fn middle(&self, i: usize) -> DVec2 {
        self.low + DVec2::new((i % self.nx) as f64 + 0.5, (i / self.nx) as f64 + 0.5) * self.cell_m
    }

    /// Where somebody can stand who works a lens: the place nearest to `wanted` with room for a body, in sight of the
    /// lens and not before it; the roomiest where none has room. `None`: no floor there.
    fn stand(
        &self,
        wanted: DVec2,
        eye: DVec2,
        ahead: DVec2,
        walls: &[WallPiece],
        discs: &[(DVec2, f64)],
    ) -> Option<DVec2> {
        let reach = (OPERATES_M / self.cell_m).ceil() as i64;
        let centre = ((eye - self.low) / self.cell_m).floor();
        let mut best: Option<((f64, f64), DVec2)> = None;
        for y in -reach..=reach {
            for x in -reach..=reach {
                let Some(i) = self.cell(self.low + (centre + DVec2::new(x as f64 + 0.5, y as f64 + 0.5)) * self.cell_m)
                else {
                    continue;
                };
                let p = self.middle(i);
                let beyond = walls.iter().any(|w| w.z0 < 1.0 && segment_crossing(eye, p, w.a, w.b).is_some());
                if p.distance(eye) > OPERATES_M || (p - eye).dot(ahead) > BESIDE_M || beyond {
                    continue;
                }
                let room = discs.iter().map(|(at, r)| at.distance(p) - r).fold(f64::from(self.free_m[i]), f64::min);
                if room <= 0.0 {
                    continue;
                }
                // Short of room counts first, then how far from where one would stand.
                let cost = ((0.5 * SQUEEZE_M - room).max(0.0), p.distance(wanted));
                if best.is_none_or(|(b, _)| cost < b) {
                    best = Some((cost, p));
                }
            }
        }
        best.map(|b| b.1)
    }

    /// The widest that the narrowest place on a way between two points can be, metres, with discs in the way.
    pub fn widest_way_m(&self, from: DVec2, to: DVec2, discs: &[(DVec2, f64)]) -> f64 {
        let (Some(start), Some(end)) = (self.cell(from), self.cell(to)) else { return 0.0 };
        let free = |i: usize| {
            let p = self.middle(i);
            let floor = f64::from(self.free_m[i]);
            // Off the spot one steps sideways past whatever is beside it, but through no wall and no piece.
            if p.distance(from) < STEP_OFF_M && floor > 0.6 * self.cell_m {
                return WIDE_M;
            }
            discs.iter().map(|(at, r)| at.distance(p) - r).fold(floor, f64::min)
        };
        // Widest path: the way is grown from the start, always at its widest open end.
        let mut seen = vec![false; self.free_m.len()];
        let mut heap = BinaryHeap::new();
        let key = |m: f64| (m * 1e4) as i64;
        // Whoever starts beside something starts there all the same.
        heap.push((key(WIDE_M), start));
        while let Some((width, i)) = heap.pop() {
            if std::mem::replace(&mut seen[i], true) {
                continue;
            }
            if i == end {
                // A cell's middle lies up to half a cell beside the true middle of the way.
                return 2.0 * (width as f64 / 1e4) + self.cell_m * 0.5;
            }
            let (x, y) = (i % self.nx, i / self.nx);
            let beside = [
                (x > 0).then(|| i - 1),
                (x + 1 < self.nx).then(|| i + 1),
                (y > 0).then(|| i - self.nx),
                (y + 1 < self.ny).then(|| i + self.nx),
            ];
            for j in beside.into_iter().flatten().filter(|j| !seen[*j]) {
                let there = key(if j == end { WIDE_M } else { free(j) }).min(width);
                if there > 0 {
                    heap.push((there, j));
                }
            }
        }
        0.0
    }
}

/// The way out from behind the camera to the nearest exit, with stands and the tripod where they are.
pub(super) fn ways(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts, moments: &Moments) {
    let (Some(view), Some(camera)) = (&scene.view, &facts.camera) else { return };
    let exits: Vec<(String, String, DVec2)> = scene
        .walls
        .openings
        .iter()
        .filter_map(|place| {
            let o = &plan.location.openings[place.index];
            let way_out = matches!(o.kind, OpeningKind::Door { .. } | OpeningKind::Passage);
            let middle = (place.a + place.b) * 0.5;
            let outside = middle - place.inward * (plan.location.wall_thickness_m + 0.1);
            let name = if o.name.is_empty() { say!("the-exit").to_string() } else { o.name.clone() };
            (way_out && place.leads_to.is_empty() && crate::taping::room_at(plan, outside).is_none())
                .then(|| (o.id.to_string(), name, middle))
        })
        .collect();
    if exits.is_empty() {
        return;
    }
    let stands = plan
        .shot_fixtures(c.shot)
        .into_iter()
        .filter(|f| f.mount == Mount::Stand)
        .map(|f| (DVec2::from_array(f.position_m), FEET_M));
    let mut discs: Vec<(DVec2, f64)> = stands.collect();
    // The operator starts where they stand, as far back as the wall allows, or beside that where there is room.
    let (eye, ahead) = (view.eye.truncate(), bearing_dir(view.pan_deg));
    let behind = camera.room_behind_m.map_or(OPERATOR_BEHIND_M, |r| OPERATOR_BEHIND_M.min(0.7 * r));
    let wanted_at = eye - ahead * behind;
    let floor = moments.floor(plan);
    let from = floor.stand(wanted_at, eye, ahead, &scene.walls.pieces, &discs).unwrap_or(wanted_at);
    discs.push((eye, TRIPOD_M));
    let best = exits
        .iter()
        .map(|(id, name, at)| (floor.widest_way_m(from, *at, &discs), id, name, *at))
        // Of ways equally wide, the one to the nearest exit.
        .max_by(|a, b| a.0.total_cmp(&b.0).then(b.3.distance(from).total_cmp(&a.3.distance(from))));
    let Some((width, id, name, at)) = best else { return };
    let wanted = plan.limits.walkway_m;
    if width < SQUEEZE_M {
        c.say(
            "exit-blocked",
            Severity::Caution,
            id,
            Some(at),
            say!("from-behind-the-camera-there-is", name),
            say!("clear-a-way-out-before-anybody"),
        );
    } else if width < wanted - 1e-9 {
        c.say(
            "walkway-narrow",
            Severity::Caution,
            id,
            Some(at),
            say!("the-way-from-the-camera-to", name, width = figure(width, 2), wanted = figure(wanted, 2)),
            say!("move-stands-and-furniture-off-it"),
        );
    }
}
