//! Light off the rooms' own surfaces: diffuse interreflection between patches, solved once per emitter.
//!
//! Surfaces are cut into patches. The share of what leaves one patch that reaches another is Lambert's
//! polygon formula from the receiving patch's middle, made reciprocal, times whether the two middles see
//! each other. Each emitter is solved apart at unit output in three thirds of the spectrum, so that
//! dimming, gels and switching are factors ([`Radiosity`] holds no gain and no colour).

use super::area::per_luminance;
use super::{Emitter, Receiver, Shape, solve};
use crate::colour::{Xyz, linear_srgb, xyz_from_linear_srgb};
use crate::geometry::{OwnerIx, Solids};
use crate::plan::{Plan, Receptor};
use crate::scene::Scene;
use glam::{DVec2, DVec3};
use rayon::prelude::*;

/// One flat piece of a surface.
#[derive(Debug, Clone)]
pub(super) struct Patch {
    /// Middle.
    pub at: DVec3,
    /// Unit vector out of the surface.
    pub normal: DVec3,
    /// Corners, counter-clockwise seen from the front.
    pub corners: Vec<DVec3>,
    /// Area, m².
    pub area_m2: f64,
    /// Reflectance in three thirds of the spectrum.
    pub reflectance: [f64; 3],
    /// Neighbours on one surface share a number.
    pub block: u32,
}

/// The rooms' surfaces and how they see each other. Depends on geometry and finishes only.
#[derive(Debug, Clone)]
pub struct Surfaces {
    patches: Vec<Patch>,
    factors: Factors,
}

/// What leaves every patch for one emitter at unit output.
#[derive(Debug, Clone)]
pub struct Radiosity {
    /// Exitance by patch, three thirds of the spectrum, lm/m² of an emitter of equal thirds.
    exitance: Vec<[f32; 3]>,
    /// Direct light by patch, lux.
    direct: Vec<f32>,
}

/// Distance off a surface at which it is asked for light, metres.
const OFF_M: f64 = 2e-3;
/// Past this many patch areas (distance squared) a patch counts as a point: within half a percent.
const FAR: f64 = 40.0;
/// Iteration stops when no patch changes by more than this share of the brightest.
const SETTLED: f32 = 1e-4;
/// Most rounds of light: at a reflectance of 0.98 what is left after these is under 1 %.
const ROUNDS: usize = 400;

impl Surfaces {
    /// Cuts the surfaces of a placed scene into patches about `patch_m` across and links them.
    #[must_use]
    pub fn of(plan: &Plan, scene: &Scene, patch_m: f64) -> Surfaces {
        let patches = super::patches::cut(plan, scene, patch_m);
        let factors = link(&scene.solids, &patches);
        Surfaces { patches, factors }
    }

    /// Number of patches.
    #[must_use]
    pub fn len(&self) -> usize {
        self.patches.len()
    }
    /// Whether there is no surface at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.patches.is_empty()
    }

    /// Middle, normal and area in m² of a patch.
    pub(super) fn patch(&self, i: usize) -> (DVec3, DVec3, f64) {
        let p = &self.patches[i];
        (p.at, p.normal, p.area_m2)
    }

    /// Bounced light on a patch from one emitter at unit output, three thirds of the spectrum, lux.
    pub(super) fn bounced_on(&self, radiosity: &Radiosity, i: usize) -> [f32; 3] {
        let reflectance = self.patches[i].reflectance;
        [0, 1, 2].map(|k| {
            // Exitance is reflectance × (direct + bounced); a surface that returns nothing tells nothing.
            let r = reflectance[k] as f32;
            if r > 1e-4 { (radiosity.exitance[i][k] / r - radiosity.direct[i]).max(0.0) } else { 0.0 }
        })
    }

    /// Solves one emitter at unit output.
    #[must_use]
    pub fn solve(&self, solids: &Solids, emitter: &Emitter) -> Radiosity {
        let n = self.patches.len();
        let direct: Vec<f32> = self.patches.par_iter().map(|p| direct_on(solids, emitter, p) as f32).collect();
        let reflectance: Vec<[f32; 3]> = self.patches.iter().map(|p| p.reflectance.map(|r| r as f32)).collect();
        let mut exitance: Vec<[f32; 3]> = (0..n).map(|i| reflectance[i].map(|r| r * direct[i])).collect();
        let brightest = exitance.iter().flatten().copied().fold(0.0_f32, f32::max);
        if brightest <= 0.0 {
            return Radiosity { exitance, direct };
        }
        for _ in 0..ROUNDS {
            let next: Vec<[f32; 3]> = (0..n)
                .into_par_iter()
                .with_min_len(64)
                .map(|i| {
                    let mut sum = [0.0_f32; 3];
                    for (j, f) in self.factors.row(i) {
                        let b = exitance[j];
                        sum[0] += f * b[0];
                        sum[1] += f * b[1];
                        sum[2] += f * b[2];
                    }
                    [0, 1, 2].map(|k| reflectance[i][k] * (direct[i] + sum[k]))
                })
                .collect();
            let change = next
                .iter()
                .flatten()
                .zip(exitance.iter().flatten())
                .map(|(a, b)| (a - b).abs())
                .fold(0.0_f32, f32::max);
            exitance = next;
            if change < SETTLED * brightest {
                break;
            }
        }
        Radiosity { exitance, direct }
    }

    /// Bounced light at a receiver for some emitters at unit output, three thirds of the spectrum each, lux.
    ///
    /// `list` and `emitters` run side by side.
    #[must_use]
    pub fn gather(
        &self,
        solids: &Solids,
        list: &[Radiosity],
        emitters: &[Emitter],
        to: &Receiver,
        skip: OwnerIx,
        detail: Detail,
    ) -> Vec<[f64; 3]> {
        let mut out = vec![[0.0; 3]; list.len()];
        for (j, p) in self.patches.iter().enumerate() {
            if list.iter().all(|r| r.exitance[j] == [0.0; 3]) || p.normal.dot(p.at - to.at) >= 0.0 {
                continue;
            }
            if detail == Detail::Near && p.corners.len() == 4 && (p.at - to.at).length_squared() < NEAR * p.area_m2 {
                self.gather_near(solids, list, emitters, to, skip, j, &mut out);
                continue;
            }
            let share = if detail == Detail::Near && p.corners.len() == 4 {
                // A patch seen through a doorway is seen in part.
                quarters(p, 2).map(|q| seen_share(solids, &q, to, skip)).sum()
            } else {
                seen_share(solids, p, to, skip)
            };
            if share <= 0.0 {
                continue;
            }
            for (sum, r) in out.iter_mut().zip(list) {
                for (sum, exitance) in sum.iter_mut().zip(r.exitance[j]) {
                    *sum += f64::from(exitance) * share;
                }
            }
        }
        out
    }

    /// A patch near the receiver, in smaller pieces, each with direct light of its own: the gradient of a hot
    /// spot or a shadow's edge shows from close by.
    #[allow(clippy::too_many_arguments)]
    fn gather_near(
        &self,
        solids: &Solids,
        list: &[Radiosity],
        emitters: &[Emitter],
        to: &Receiver,
        skip: OwnerIx,
        j: usize,
        out: &mut [[f64; 3]],
    ) {
        let p = &self.patches[j];
        for piece in quarters(p, PIECES) {
            let share = seen_share(solids, &piece, to, skip);
            if share <= 0.0 {
                continue;
            }
            let here = Receiver { at: piece.at + p.normal * OFF_M, toward: p.normal, receptor: Receptor::Flat };
            for ((sum, r), e) in out.iter_mut().zip(list).zip(emitters) {
                let direct = solve(solids, e, &here, OwnerIx::NONE);
                for ((sum, exitance), reflectance) in sum.iter_mut().zip(r.exitance[j]).zip(p.reflectance) {
                    let indirect = f64::from(exitance) - reflectance * f64::from(r.direct[j]);
                    *sum += (reflectance * direct + indirect) * share;
                }
            }
        }
    }

    /// What the surfaces take in of one emitter at unit output, lumens: light that fell and was not returned.
    #[must_use]
    pub fn absorbed_lm(&self, radiosity: &Radiosity) -> f64 {
        // Exitance is reflectance × fallen, so what stays is exitance × (1 − ρ)/ρ.
        self.patches
            .iter()
            .zip(&radiosity.exitance)
            .map(|(p, b)| {
                let r = p.reflectance[1].max(1e-9);
                p.area_m2 * f64::from(b[1]) * (1.0 - r) / r
            })
            .sum()
    }
}

/// Bounced illuminance as tristimulus values: the emitter's colour after the surfaces it came by.
#[must_use]
pub fn bounced_xyz(emitter: &Emitter, thirds_lx: [f64; 3]) -> Xyz {
    let rgb = linear_srgb(emitter.colour);
    xyz_from_linear_srgb([rgb[0] * thirds_lx[0], rgb[1] * thirds_lx[1], rgb[2] * thirds_lx[2]])
}

/// How closely a receiver looks at the surfaces next to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// As cut into patches.
    Quick,
    /// Patches next to the receiver in smaller pieces.
    Near,
}

/// Patches nearer than this many of their areas (distance squared) are looked at in pieces.
const NEAR: f64 = 12.0;
/// Pieces a side of such a patch.
const PIECES: usize = 3;
/// Patches nearer to a lamp than these many of their areas (distance squared) are taken in 3 × 3 and 2 × 2 parts.
const BESIDE: f64 = 6.0;
const NEARBY: f64 = 24.0;
/// Places and weights of the three-point Gauss–Legendre rule on 0..1, exact to the fifth degree.
const GAUSS: [(f64, f64); 3] =
    [(0.112_701_665_379_258_3, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.887_298_334_620_741_7, 5.0 / 18.0)];

/// Mean direct light on a patch.
fn direct_on(solids: &Solids, emitter: &Emitter, p: &Patch) -> f64 {
    let lux = |at: DVec3| {
        let to = Receiver { at: at + p.normal * OFF_M, toward: p.normal, receptor: Receptor::Flat };
        solve(solids, emitter, &to, OwnerIx::NONE)
    };
    if let [a, b, c, d] = p.corners[..] {
        // Sunlight has sharp edges, light from close by a steep slope: both in more parts.
        let distance2 = (p.at - emitter.at()).length_squared() / p.area_m2;
        let parts = match emitter.shape {
            Shape::Sun { .. } => 3,
            _ if distance2 < BESIDE => 3,
            _ if distance2 < NEARBY => 2,
            _ => 1,
        };
        let step = 1.0 / f64::from(parts);
        let mut sum = 0.0;
        for i in 0..parts * parts {
            let (u0, v0) = (f64::from(i % parts) * step, f64::from(i / parts) * step);
            for (u, wu) in GAUSS {
                for (v, wv) in GAUSS {
                    let (u, v) = (u0 + u * step, v0 + v * step);
                    sum += wu * wv * lux(a.lerp(b, u).lerp(d.lerp(c, u), v));
                }
            }
        }
        return sum * step * step;
    }
    let n = p.corners.len() as f64;
    p.corners.iter().map(|c| lux(p.at + (*c - p.at) * 0.577)).sum::<f64>() / n
}

/// A four-cornered patch cut into n × n.
fn quarters(p: &Patch, n: usize) -> impl Iterator<Item = Patch> + '_ {
    let (a, b, c, d) = (p.corners[0], p.corners[1], p.corners[2], p.corners[3]);
    let at = move |u: f64, v: f64| a.lerp(b, u).lerp(d.lerp(c, u), v);
    let step = 1.0 / n as f64;
    (0..n * n).map(move |i| {
        let (u, v) = ((i % n) as f64 * step, (i / n) as f64 * step);
        Patch {
            at: at(u + step * 0.5, v + step * 0.5),
            normal: p.normal,
            corners: vec![at(u, v), at(u + step, v), at(u + step, v + step), at(u, v + step)],
            area_m2: p.area_m2 * step * step,
            reflectance: p.reflectance,
            block: p.block,
        }
    })
}

/// Illuminance at a receiver per unit exitance of a patch.
fn seen_share(solids: &Solids, p: &Patch, to: &Receiver, skip: OwnerIx) -> f64 {
    let share = unhidden_share(p, to);
    if share <= 0.0 || solids.blocked(to.at.as_vec3(), (p.at + p.normal * OFF_M).as_vec3(), skip) {
        return 0.0;
    }
    share
}

/// The same with nothing in the way.
fn unhidden_share(p: &Patch, to: &Receiver) -> f64 {
    let v = p.at - to.at;
    if p.normal.dot(v) >= 0.0 {
        return 0.0;
    }
    let d2 = v.length_squared();
    let share = if d2 > FAR * p.area_m2 {
        let d = d2.sqrt();
        let response = to.response(to.toward.dot(v) / d);
        response * -p.normal.dot(v) / d * p.area_m2 / d2
    } else {
        let mut few = [DVec3::ZERO; 8];
        let many: Vec<DVec3>;
        let corners: &[DVec3] = if p.corners.len() <= few.len() {
            for (c, out) in p.corners.iter().zip(&mut few) {
                *out = *c - to.at;
            }
            &few[..p.corners.len()]
        } else {
            many = p.corners.iter().map(|c| *c - to.at).collect();
            &many
        };
        per_luminance(corners, to)
    };
    (share / std::f64::consts::PI).max(0.0)
}

/// Row by row, which patches a patch sees and the share of their exitance that reaches it.
#[derive(Debug, Clone)]
struct Factors {
    starts: Vec<usize>,
    entries: Vec<(u32, f32)>,
}

impl Factors {
    fn row(&self, i: usize) -> impl Iterator<Item = (usize, f32)> + '_ {
        self.entries[self.starts[i]..self.starts[i + 1]].iter().map(|(j, f)| (*j as usize, *f))
    }
}

/// Neighbouring patches of one surface, for one answer to many questions of sight.
struct Block {
    list: Vec<u32>,
    middle: DVec3,
    radius: f64,
}

fn blocks(patches: &[Patch]) -> Vec<Block> {
    let count = patches.iter().map(|p| p.block as usize + 1).max().unwrap_or(0);
    let mut lists = vec![Vec::new(); count];
    for (i, p) in patches.iter().enumerate() {
        lists[p.block as usize].push(i as u32);
    }
    lists
        .into_iter()
        .filter(|l: &Vec<u32>| !l.is_empty())
        .map(|list| {
            let middle = list.iter().map(|i| patches[*i as usize].at).sum::<DVec3>() / list.len() as f64;
            let radius =
                list.iter().flat_map(|i| &patches[*i as usize].corners).map(|c| c.distance(middle)).fold(0.0, f64::max);
            Block { list, middle, radius }
        })
        .collect()
}

/// Blocks further apart than this many of their radii share an answer when four lines of sight agree.
const APART: f64 = 2.5;

/// Whether two patches' middles see each other.
fn in_sight(solids: &Solids, p: &Patch, q: &Patch) -> bool {
    !solids.blocked((p.at + p.normal * OFF_M).as_vec3(), (q.at + q.normal * OFF_M).as_vec3(), OwnerIx::NONE)
}

/// Every patch's share of every other's exitance, made reciprocal and never giving more than there is.
fn link(solids: &Solids, patches: &[Patch]) -> Factors {
    let blocks = blocks(patches);
    // Exchange area of each pair that sees each other, once a pair, and what either covers of the other.
    let pairs: Vec<Vec<(u32, u32, [f32; 2])>> = (0..blocks.len())
        .into_par_iter()
        .map(|a| {
            let mut out = Vec::new();
            for b in a..blocks.len() {
                link_blocks(solids, patches, &blocks[a], &blocks[b], a == b, &mut out);
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
    // How much of what patch i sees are surfaces at all; the rest are openings and people.
    let mut covered = vec![0.0_f32; n];
    for (i, j, [ij, ji]) in pairs.iter().flatten() {
        let (p, q) = (&patches[*i as usize], &patches[*j as usize]);
        let ratio = (q.area_m2 / p.area_m2) as f32;
        covered[*i as usize] += ij;
        covered[*j as usize] += ji;
        let mean = 0.5 * (ij + ji * ratio);
        entries[next[*i as usize]] = (*j, mean);
        next[*i as usize] += 1;
        entries[next[*j as usize]] = (*i, mean / ratio);
        next[*j as usize] += 1;
    }
    covered.iter_mut().for_each(|c| *c = c.min(1.0));
    let mut factors = Factors { starts, entries };
    balance(&mut factors, &covered);
    factors
}

fn link_blocks(
    solids: &Solids,
    patches: &[Patch],
    a: &Block,
    b: &Block,
    same: bool,
    out: &mut Vec<(u32, u32, [f32; 2])>,
) {
    if same {
        // A flat block sees nothing of itself.
        return;
    }
    let (first_a, first_b) = (&patches[a.list[0] as usize], &patches[b.list[0] as usize]);
    // Wholly behind one another: nothing to ask.
    if first_a.normal.dot(b.middle - first_a.at) < -b.radius || first_b.normal.dot(a.middle - first_b.at) < -a.radius {
        return;
    }
    let apart = a.middle.distance(b.middle) > APART * (a.radius + b.radius);
    let mut known = None;
    if apart {
        let ends = |x: &Block| [x.list[0] as usize, x.list[x.list.len() - 1] as usize];
        let seen = ends(a)
            .into_iter()
            .flat_map(|i| ends(b).map(|j| (i, j)))
            .filter(|(i, j)| in_sight(solids, &patches[*i], &patches[*j]))
            .count();
        known = match seen {
            0 => Some(false),
            4 => Some(true),
            _ => None,
        };
    }
    if known == Some(false) {
        return;
    }
    let off = |p: &Patch| Receiver { at: p.at + p.normal * OFF_M, toward: p.normal, receptor: Receptor::Flat };
    for i in &a.list {
        let p = &patches[*i as usize];
        let to_p = off(p);
        for j in &b.list {
            let q = &patches[*j as usize];
            let (ij, ji) = (unhidden_share(q, &to_p), unhidden_share(p, &off(q)));
            if (ij > 0.0 || ji > 0.0) && (known == Some(true) || in_sight(solids, p, q)) {
                out.push((*i, *j, [ij as f32, ji as f32]));
            }
        }
    }
}

/// Rounds of balancing: each shrinks what is left of the error several times.
const BALANCING: usize = 8;

/// Scales rows and columns alike, so that reciprocity stays and every row adds up to what it covers
/// (symmetric scaling after Sinkhorn & Knopp 1967). Without it energy would leak or grow at each bounce.
fn balance(factors: &mut Factors, covered: &[f32]) {
    for _ in 0..BALANCING {
        let scale: Vec<f32> = covered
            .iter()
            .enumerate()
            .map(|(i, target)| {
                let sum: f32 = factors.row(i).map(|e| e.1).sum();
                if sum > 0.0 { (target / sum).sqrt() } else { 1.0 }
            })
            .collect();
        for i in 0..covered.len() {
            let row = factors.starts[i]..factors.starts[i + 1];
            for (j, f) in &mut factors.entries[row] {
                *f *= scale[i] * scale[*j as usize];
            }
        }
    }
}

/// A grid of the plan's floor for bounced light: coarser than direct light, which changes faster.
#[derive(Debug, Clone)]
pub(super) struct BounceGrid {
    pub origin: DVec2,
    pub cell_m: f64,
    pub nx: usize,
    pub ny: usize,
    /// What a map adds up, at every node that lies in a room; NaN elsewhere.
    pub lx: Vec<[f32; 3]>,
}

impl BounceGrid {
    /// The level between nodes: the mean of the four round a point, weighted by nearness, leaving out those
    /// outside and those that a wall hides from the point.
    pub fn at(&self, p: DVec2, walls: &[(DVec2, DVec2)]) -> [f64; 3] {
        let c = (p - self.origin) / self.cell_m;
        let (x, y) = (c.x.floor().clamp(0.0, self.nx as f64 - 2.0), c.y.floor().clamp(0.0, self.ny as f64 - 2.0));
        let (mut sum, mut weights) = ([0.0; 3], 0.0);
        for (dx, dy) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
            let node = DVec2::new(x + dx, y + dy);
            let lx = self.lx[node.y as usize * self.nx + node.x as usize];
            if !lx[0].is_finite() {
                continue;
            }
            let weight = (1.0 - (c.x - node.x).abs()).max(0.0) * (1.0 - (c.y - node.y).abs()).max(0.0) + 1e-6;
            let at = self.origin + node * self.cell_m;
            if walls.iter().any(|(a, b)| crate::geometry::segment_crossing(p, at, *a, *b).is_some()) {
                continue;
            }
            sum.iter_mut().zip(lx).for_each(|(s, v)| *s += weight * f64::from(v));
            weights += weight;
        }
        if weights > 0.0 { sum.map(|s| s / weights) } else { [0.0; 3] }
    }
}
