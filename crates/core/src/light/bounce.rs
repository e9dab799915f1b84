//! Light off the rooms' own surfaces: diffuse interreflection between patches, solved once per emitter.
//!
//! Surfaces are cut into patches. The share of what leaves one patch that reaches another is Lambert's
//! polygon formula from the receiving patch's middle, made reciprocal, times whether the two middles see
//! each other. Each emitter is solved apart at unit output in three thirds of the spectrum, so that
//! dimming, gels and switching are factors ([`Radiosity`] holds no gain and no colour).

use super::area::{lambert_polygon, solid_angle_sr, vector_irradiance};
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
}

/// The rooms' surfaces and how they see each other. Depends on geometry and finishes only.
#[derive(Debug, Clone)]
pub struct Surfaces {
    patches: Vec<Patch>,
    /// Row i: share of the light on patch i that comes from each patch's exitance.
    factors: Vec<f32>,
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
                    let row = &self.factors[i * n..(i + 1) * n];
                    let mut sum = [0.0_f32; 3];
                    for (f, b) in row.iter().zip(&exitance) {
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
        }
    })
}

/// Illuminance at a receiver per unit exitance of a patch.
fn seen_share(solids: &Solids, p: &Patch, to: &Receiver, skip: OwnerIx) -> f64 {
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
        let corners: Vec<DVec3> = p.corners.iter().map(|c| *c - to.at).collect();
        match to.receptor {
            Receptor::Flat => lambert_polygon(&corners, to.toward),
            Receptor::Dome => 0.5 * (solid_angle_sr(&corners) + vector_irradiance(&corners, to.toward)),
        }
    };
    if share <= 0.0 || solids.blocked(to.at.as_vec3(), (p.at + p.normal * OFF_M).as_vec3(), skip) {
        return 0.0;
    }
    share / std::f64::consts::PI
}

/// Every patch's share of every other's exitance, made reciprocal and never giving more than there is.
fn link(solids: &Solids, patches: &[Patch]) -> Vec<f32> {
    let n = patches.len();
    let mut one_way = vec![0.0_f32; n * n];
    one_way.par_chunks_mut(n.max(1)).enumerate().for_each(|(i, row)| {
        let p = &patches[i];
        let to = Receiver { at: p.at + p.normal * OFF_M, toward: p.normal, receptor: Receptor::Flat };
        for (j, out) in row.iter_mut().enumerate() {
            if i != j && p.normal.dot(patches[j].at - to.at) > -patches[j].area_m2.sqrt() {
                *out = seen_share(solids, &patches[j], &to, OwnerIx::NONE) as f32;
            }
        }
    });
    // How much of what patch i sees are surfaces at all; the rest are openings and people.
    let covered: Vec<f32> = one_way.chunks(n.max(1)).map(|row| row.iter().sum::<f32>().min(1.0)).collect();
    let mut factors = vec![0.0_f32; n * n];
    factors.par_chunks_mut(n.max(1)).enumerate().for_each(|(i, row)| {
        for (j, out) in row.iter_mut().enumerate() {
            let ratio = (patches[j].area_m2 / patches[i].area_m2) as f32;
            *out = 0.5 * (one_way[i * n + j] + one_way[j * n + i] * ratio);
        }
    });
    balance(&mut factors, &covered);
    factors
}

/// Rounds of balancing: each shrinks what is left of the error several times.
const BALANCING: usize = 8;

/// Scales rows and columns alike, so that reciprocity stays and every row adds up to what it covers
/// (symmetric scaling after Sinkhorn & Knopp 1967). Without it energy would leak or grow at each bounce.
fn balance(factors: &mut [f32], covered: &[f32]) {
    let n = covered.len();
    for _ in 0..BALANCING {
        let scale: Vec<f32> = factors
            .par_chunks(n.max(1))
            .zip(covered)
            .map(|(row, target)| {
                let sum: f32 = row.iter().sum();
                if sum > 0.0 { (target / sum).sqrt() } else { 1.0 }
            })
            .collect();
        factors.par_chunks_mut(n.max(1)).enumerate().for_each(|(i, row)| {
            for (f, s) in row.iter_mut().zip(&scale) {
                *f *= scale[i] * s;
            }
        });
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
