//! How the rooms' surfaces see each other: the share of what leaves one patch that reaches another.

use super::bounce::{FAR, OFF_M, Patch, unhidden_share};
use super::rooms::{NOWHERE, Rooms};
use crate::geometry::{Eight, Few, OwnerIx, Solids};
use glam::Vec3;
use rayon::prelude::*;
use std::collections::HashMap;

/// Row by row, which patches a patch sees and the share of their exitance that reaches it.
#[derive(Debug, Clone)]
pub(super) struct Factors {
    starts: Vec<usize>,
    entries: Vec<(u32, f32)>,
    /// Beside each entry the share as it is seen from the receiving patch's middle, before it is evened with the
    /// share back and balanced: nearer the truth of one patch, though not of the whole.
    seen: Vec<f32>,
    /// At most this share of the light comes back a round later.
    pub returned: f32,
}

impl Factors {
    /// Links patches: shares are reciprocal, and no patch gives more than there is.
    pub fn of(solids: &Solids, patches: &[Patch], rooms: &Rooms) -> Factors {
        let (mut factors, covered) = link(solids, patches, rooms);
        balance(&mut factors, &covered);
        factors.returned = factors.most_returned(patches);
        factors
    }

    /// Of nothing.
    pub fn none() -> Factors {
        Factors { starts: vec![0], entries: Vec::new(), seen: Vec::new(), returned: 0.0 }
    }

    #[inline]
    pub fn row(&self, i: usize) -> &[(u32, f32)] {
        &self.entries[self.starts[i]..self.starts[i + 1]]
    }

    /// As [`Self::row`], by what is seen from the patch's middle; no row adds up to more than one.
    #[inline]
    pub fn seen_row(&self, i: usize) -> impl Iterator<Item = (u32, f32)> + '_ {
        let row = self.starts[i]..self.starts[i + 1];
        self.entries[row.clone()].iter().map(|e| e.0).zip(self.seen[row].iter().copied())
    }

    /// An upper bound on the share of light that one round gives back: for any weights above zero, the largest
    /// growth of a weight in a round is one (Collatz 1942); a few rounds from even weights bring it near the truth.
    fn most_returned(&self, patches: &[Patch]) -> f32 {
        let reflectance: Vec<f32> =
            patches.iter().map(|p| p.reflectance.iter().fold(0.0_f64, |a, r| a.max(*r)) as f32).collect();
        let mut weights = vec![1.0_f32; patches.len()];
        // No row adds up to more than one.
        let mut most = reflectance.iter().copied().fold(0.0, f32::max);
        for _ in 0..5 {
            let next: Vec<f32> = (0..patches.len())
                .into_par_iter()
                .with_min_len(64)
                .map(|i| reflectance[i] * self.row(i).iter().map(|(j, f)| f * weights[*j as usize]).sum::<f32>())
                .collect();
            let growth =
                next.iter().zip(&weights).map(|(a, b)| if *b > 1e-12 { a / b } else { 0.0 }).fold(0.0, f32::max);
            most = most.min(growth);
            weights = next;
        }
        most
    }
}

/// Neighbouring patches of one surface, for one answer to many questions of sight.
struct Block {
    list: Vec<u32>,
    normal: Vec3,
    corners: [Vec3; 4],
    middle: Vec3,
    radius: f32,
    room: u16,
}

fn blocks(patches: &[Patch]) -> Vec<Block> {
    let count = patches.iter().map(|p| p.block as usize + 1).max().unwrap_or(0);
    let mut lists = vec![Vec::new(); count];
    for (i, p) in patches.iter().enumerate() {
        lists[p.block as usize].push(i as u32);
    }
    lists.into_iter().filter(|l: &Vec<u32>| !l.is_empty()).map(|list| Block::of(patches, list)).collect()
}

impl Block {
    fn of(patches: &[Patch], list: Vec<u32>) -> Block {
        let first = &patches[list[0] as usize];
        let normal = first.normal.as_vec3();
        let (u, v) = normal.any_orthonormal_pair();
        let (u, v) = if normal.z.abs() > 0.5 { (u, v) } else { (Vec3::Z.cross(normal), Vec3::Z) };
        let from = off(first);
        let (mut low, mut high) = ([f32::INFINITY; 2], [f32::NEG_INFINITY; 2]);
        for c in list.iter().flat_map(|i| &patches[*i as usize].corners) {
            let to = c.as_vec3() - from;
            for (k, x) in [to.dot(u), to.dot(v)].into_iter().enumerate() {
                (low[k], high[k]) = (low[k].min(x), high[k].max(x));
            }
        }
        let at = |x: f32, y: f32| from + u * x + v * y;
        let corners = [at(low[0], low[1]), at(high[0], low[1]), at(high[0], high[1]), at(low[0], high[1])];
        let middle = at((low[0] + high[0]) * 0.5, (low[1] + high[1]) * 0.5);
        let (room, radius) = (first.room, middle.distance(corners[0]) * 1.0001 + 1e-4);
        Block { list, normal, corners, middle, radius, room }
    }

    /// Whether all of another lies behind this one's plane.
    fn wholly_behind(&self, other: &Block) -> bool {
        other.corners.iter().all(|c| (*c - self.middle).dot(self.normal) <= 1e-4)
    }
}

/// A patch's middle, a little off its surface.
fn off(p: &Patch) -> Vec3 {
    (p.at + p.normal * OFF_M).as_vec3()
}

/// Two patches that see each other, and the share of what leaves the second that reaches the first and back.
type Pair = (u32, u32, [f32; 2]);

/// What lines from one room to another may meet: only what reaches into a box round both.
struct Inside(HashMap<[u16; 2], Solids>);

/// With more rooms than this only lines within a room are told apart.
const PAIRED_ROOMS: usize = 64;

impl Inside {
    fn of(solids: &Solids, rooms: &Rooms) -> Inside {
        let boxes: Vec<_> = rooms.boxes().collect();
        let ball = |r: usize| (r as u16, (boxes[r].0 + boxes[r].1) * 0.5, boxes[r].0.distance(boxes[r].1) * 0.5);
        let beside = |a: usize| if boxes.len() > PAIRED_ROOMS { a..a + 1 } else { a..boxes.len() };
        let pairs = (0..boxes.len()).flat_map(|a| beside(a).map(move |b| [a, b]));
        let seen: Vec<[usize; 2]> = pairs.filter(|[a, b]| rooms.may_see(ball(*a), ball(*b))).collect();
        let both = |[a, b]: [usize; 2]| {
            let (low, high) = (boxes[a].0.min(boxes[b].0), boxes[a].1.max(boxes[b].1));
            ([a as u16, b as u16], solids.within(low, high))
        };
        Inside(seen.into_par_iter().map(both).collect())
    }

    fn of_rooms(&self, a: u16, b: u16) -> Option<&Solids> {
        self.0.get(&[a.min(b), a.max(b)])
    }
}

/// Every patch's share of every other's exitance, and how much of what each sees are surfaces at all; the rest
/// are openings and people.
fn link(solids: &Solids, patches: &[Patch], rooms: &Rooms) -> (Factors, Vec<f32>) {
    let blocks = blocks(patches);
    let inside = Inside::of(solids, rooms);
    // Each pair that sees each other, once.
    let pairs: Vec<Vec<Pair>> = (0..blocks.len())
        .into_par_iter()
        .with_max_len(2)
        .map(|a| {
            let mut out = Vec::new();
            let at = |x: &Block| (x.room, x.middle.truncate().as_dvec2(), f64::from(x.radius));
            let (room, middle, radius) = at(&blocks[a]);
            let seen = rooms.seen_from((room, middle), radius);
            // A flat block sees nothing of itself.
            for b in a + 1..blocks.len() {
                let (a, b) = (&blocks[a], &blocks[b]);
                if b.room != NOWHERE && !seen[usize::from(b.room)] {
                    continue;
                }
                if a.wholly_behind(b) || b.wholly_behind(a) {
                    continue;
                }
                if a.room == b.room || rooms.may_see(at(a), at(b)) {
                    link_blocks(inside.of_rooms(a.room, b.room).unwrap_or(solids), patches, a, b, &mut out);
                }
            }
            out
        })
        .collect();
    let n = patches.len();
    let mut starts = vec![0_usize; n + 1];
    for (i, j, _) in pairs.iter().flatten() {
        starts[*i as usize + 1] += 1;
        starts[*j as usize + 1] += 1;
    }
    for i in 0..n {
        starts[i + 1] += starts[i];
    }
    let mut next = starts.clone();
    let mut entries = vec![(0_u32, 0.0_f32); starts[n]];
    let mut seen = vec![0.0_f32; starts[n]];
    let mut covered = vec![0.0_f32; n];
    for (i, j, [ij, ji]) in pairs.iter().flatten() {
        let (p, q) = (&patches[*i as usize], &patches[*j as usize]);
        let ratio = (q.area_m2 / p.area_m2) as f32;
        covered[*i as usize] += ij;
        covered[*j as usize] += ji;
        let mean = 0.5 * (ij + ji * ratio);
        (entries[next[*i as usize]], seen[next[*i as usize]]) = ((*j, mean), *ij);
        next[*i as usize] += 1;
        (entries[next[*j as usize]], seen[next[*j as usize]]) = ((*i, mean / ratio), *ji);
        next[*j as usize] += 1;
    }
    for (i, sum) in covered.iter().enumerate().filter(|c| *c.1 > 1.0) {
        seen[starts[i]..starts[i + 1]].iter_mut().for_each(|s| *s /= sum);
    }
    covered.iter_mut().for_each(|c| *c = c.min(1.0));
    (Factors { starts, entries, seen, returned: 1.0 }, covered)
}

fn link_blocks(solids: &Solids, patches: &[Patch], a: &Block, b: &Block, out: &mut Vec<Pair>) {
    let few = solids.in_the_way(a.middle, b.middle, a.radius.max(b.radius), OwnerIx::NONE);
    if solids.hides(&few, &a.corners, &b.corners, OwnerIx::NONE) {
        return;
    }
    let ends: Vec<[Vec3; 4]> = b.list.iter().map(|j| parts(&patches[*j as usize])).collect();
    for i in &a.list {
        let p = &patches[*i as usize];
        let (from, quarters) = (off(p), parts(p));
        for (list, ends) in b.list.chunks(2).zip(ends.chunks(2)) {
            let blocked = if few.is_empty() {
                0
            } else {
                let points = std::array::from_fn(|n| ends[(n / 4).min(ends.len() - 1)][n % 4]);
                solids.eight_blocked(&few, &Eight::to_points(from, points), OwnerIx::NONE)
            };
            for (n, j) in list.iter().enumerate() {
                let open = match (!blocked >> (4 * n) & 0xf).count_ones() {
                    0 => 0.0,
                    4 => 1.0,
                    _ => open_between(solids, &few, &quarters, &ends[n]),
                };
                if open == 0.0 {
                    continue;
                }
                let [ij, ji] = shares(p, &patches[*j as usize]);
                if ij > 0.0 || ji > 0.0 {
                    out.push((*i, *j, [ij as f32 * open, ji as f32 * open]));
                }
            }
        }
    }
}

/// The share of lines from the quarters of one patch to those of another that nothing is in the way of.
fn open_between(solids: &Solids, few: &Few, from: &[Vec3; 4], to: &[Vec3; 4]) -> f32 {
    let blocked =
        |a: Vec3| solids.eight_blocked(few, &Eight::to_points(a, std::array::from_fn(|n| to[n % 4])), OwnerIx::NONE);
    from.iter().map(|a| (!blocked(*a) & 0xf).count_ones() as f32).sum::<f32>() / 16.0
}

/// The middles of a patch's quarters, a little off its surface.
fn parts(p: &Patch) -> [Vec3; 4] {
    p.corners.map(|c| (p.at.lerp(c, 0.5) + p.normal * OFF_M).as_vec3())
}

/// The share of what leaves `q` that reaches `p`, and of what leaves `p` that reaches `q`, nothing being in the way.
fn shares(p: &Patch, q: &Patch) -> [f64; 2] {
    let v = q.at - p.at;
    let d2 = v.length_squared();
    if d2 > FAR * p.area_m2.max(q.area_m2) {
        // Both are points to each other.
        let (here, there) = (p.normal.dot(v), -q.normal.dot(v));
        if here <= 0.0 || there <= 0.0 {
            return [0.0; 2];
        }
        let each = here * there / (std::f64::consts::PI * d2 * d2);
        return [each * q.area_m2, each * p.area_m2];
    }
    [unhidden_share(q, &p.receiver(p.at)), unhidden_share(p, &q.receiver(q.at))]
}

/// Rounds of balancing: each shrinks what is left of the error several times.
const BALANCING: usize = 8;

/// Scales rows and columns alike, so that reciprocity stays and every row adds up to what it covers
/// (symmetric scaling after Sinkhorn & Knopp 1967). Without it energy would leak or grow at each bounce.
fn balance(factors: &mut Factors, covered: &[f32]) {
    let mut scale = vec![1.0_f32; covered.len()];
    for _ in 0..BALANCING {
        scale = (0..covered.len())
            .into_par_iter()
            .with_min_len(64)
            .map(|i| {
                let sum: f32 = factors.row(i).iter().map(|(j, f)| f * scale[*j as usize]).sum::<f32>() * scale[i];
                if sum > 0.0 { scale[i] * (covered[i] / sum).sqrt() } else { scale[i] }
            })
            .collect();
    }
    // Patches coarse beside the room they are in may not come into balance: none returns more than all.
    let scale: Vec<f32> = (0..covered.len())
        .map(|i| {
            let sum: f32 = factors.row(i).iter().map(|(j, f)| f * scale[*j as usize]).sum::<f32>() * scale[i];
            if sum > 1.0 { scale[i] / sum } else { scale[i] }
        })
        .collect();
    for i in 0..covered.len() {
        let row = factors.starts[i]..factors.starts[i + 1];
        for (j, f) in &mut factors.entries[row] {
            *f *= scale[i] * scale[*j as usize];
        }
    }
}
