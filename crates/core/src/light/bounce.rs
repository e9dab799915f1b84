//! Light off the rooms' own surfaces: diffuse interreflection between patches, solved once per emitter.
//!
//! Surfaces are cut into patches. The share of what leaves one patch that reaches another is Lambert's
//! polygon formula from the receiving patch's middle, made reciprocal, times whether the two middles see
//! each other. Each emitter is solved apart at unit output in three thirds of the spectrum, so that
//! dimming, gels and switching are factors ([`Radiosity`] holds no gain and no colour).

use super::area::per_luminance;
use super::between::Between;
use super::crowd::Crowd;
use super::factors::Factors;
use super::links::{Among, Links};
use super::patches::fine_m;
use super::rooms::{NOWHERE, Rooms};
use super::slope::Slope;
use super::sources::Seen;
use super::{Emitter, Fineness, Receiver, Shape};
use crate::colour::{Xyz, linear_srgb, xyz_from_linear_srgb};
use crate::geometry::{Eight, OwnerIx, Solids};
use crate::plan::{Plan, Receptor};
use crate::scene::{Scene, add_body};
use glam::{DVec2, DVec3, Vec3};
use rayon::prelude::*;
use std::sync::Arc;
use wide::f32x8;

/// One flat piece of a surface.
#[derive(Debug, Clone)]
pub(super) struct Patch {
    /// Middle.
    pub at: DVec3,
    /// Unit vector out of the surface.
    pub normal: DVec3,
    /// Corners, counter-clockwise seen from the front; one may lie on a side.
    pub corners: [DVec3; 4],
    /// Area, m².
    pub area_m2: f64,
    /// Reflectance in three thirds of the spectrum.
    pub reflectance: [f64; 3],
    /// Neighbours on one surface share a number.
    pub block: u32,
    /// The room it is seen in.
    pub room: u16,
    /// What it stands for, where that is many small surfaces.
    pub crowd: Option<Arc<Crowd>>,
}

impl Patch {
    /// A flat receptor on it, a little off its surface.
    pub(super) fn receiver(&self, at: DVec3) -> Receiver {
        Receiver { at: at + self.normal * OFF_M, toward: self.normal, receptor: Receptor::Flat }
    }

    /// A place on it, from 0 to 1 along its sides.
    fn within(&self, u: f64, v: f64) -> DVec3 {
        let [a, b, c, d] = self.corners;
        a.lerp(b, u).lerp(d.lerp(c, u), v)
    }

    /// Its corners, a little off its surface.
    fn corners_off(&self) -> [Vec3; 4] {
        if let Some(crowd) = &self.crowd {
            return crowd.probes;
        }
        self.corners.map(|c| (c + self.normal * OFF_M).as_vec3())
    }

    /// From its middle to beyond its corners, metres.
    pub(super) fn reach_m(&self) -> f64 {
        let corner = self.corners.iter().map(|c| c.distance_squared(self.at)).fold(0.0, f64::max);
        let probes = self.crowd.iter().flat_map(|c| &c.probes);
        probes.map(|p| p.as_dvec3().distance_squared(self.at)).fold(corner, f64::max).sqrt() + 1e-3
    }
}

/// The rooms' surfaces and how they see each other. Depends on geometry and finishes only.
#[derive(Debug, Clone)]
pub struct Surfaces {
    patches: Vec<Patch>,
    factors: Factors,
    rooms: Arc<Rooms>,
    /// What of them is known with nobody there, and their places in it.
    links: Option<(Arc<Links>, Vec<u32>)>,
    /// Who is there.
    bodies: Solids,
}

/// What leaves every patch for one emitter at unit output.
#[derive(Debug, Clone)]
pub struct Radiosity {
    /// Exitance by patch, three thirds of the spectrum, lm/m² of an emitter of equal thirds.
    exitance: Vec<[f32; 3]>,
    /// Direct light by patch, lux.
    direct: Vec<f32>,
    /// Bounced light by patch as its middle sees the other patches, three thirds of the spectrum, lux.
    bounced: Vec<[f32; 3]>,
}

impl Radiosity {
    /// Exitance by patch, three thirds of the spectrum, lm/m² of an emitter of equal thirds.
    pub(super) fn exitance(&self) -> &[[f32; 3]] {
        &self.exitance
    }
}

/// Distance off a surface at which it is asked for light, metres.
pub(super) const OFF_M: f64 = 2e-3;
/// Past this many patch areas (distance squared) a patch counts as a point: within half a percent.
pub(super) const FAR: f64 = 40.0;
/// What is left of the first error when rounds stop.
const SETTLED: f32 = 1e-4;
/// Most rounds of light: enough for a share of [`MOST_RETURNED`].
const ROUNDS: usize = 800;
/// Largest share of light taken to come back a round later: all of it would never settle.
const MOST_RETURNED: f32 = 0.9999;

/// Rounds after which Chebyshev's polynomials leave less than [`SETTLED`] of the first error, at a share that
/// comes back: 2σⁿ with σ = r / (1 + √(1 − r²)). Known beforehand, so that emitters solved together or apart
/// come out the same.
fn rounds(returned: f32) -> usize {
    let r = returned.clamp(1e-6, MOST_RETURNED);
    let sigma = r / (1.0 + (1.0 - r * r).sqrt());
    (((SETTLED * 0.5).ln() / sigma.ln()).ceil() as usize).clamp(2, ROUNDS)
}

impl Surfaces {
    /// Cuts the surfaces of a placed scene into patches about `patch_m` across and links them.
    #[must_use]
    pub fn of(plan: &Plan, scene: &Scene, patch_m: f64) -> Surfaces {
        Surfaces::in_rooms(plan, scene, patch_m, &vec![true; plan.location.rooms.len()])
    }

    /// The same, coarser in rooms that are not near the light.
    pub(super) fn in_rooms(plan: &Plan, scene: &Scene, patch_m: f64, near: &[bool]) -> Surfaces {
        let mut bodies = Solids::default();
        scene.people.iter().for_each(|p| add_body(&mut bodies, p));
        let links = Links::of(plan, fine_m(plan, patch_m, near));
        let Among { patches, from, factors } = links.among(near, &bodies);
        Surfaces { patches, factors, rooms: Rooms::of(plan), links: Some((links, from)), bodies }
    }

    /// The rooms they are in.
    pub(super) fn rooms(&self) -> &Rooms {
        &self.rooms
    }

    /// The same without how its patches see each other, which takes most of the room: light that is solved can be
    /// asked, no more can be [solved](Self::solve).
    pub(super) fn settled(&self) -> Surfaces {
        Surfaces { factors: Factors::none(), links: None, ..self.clone() }
    }

    /// Whether light can be solved on it.
    pub(super) fn is_linked(&self) -> bool {
        self.patches.is_empty() || self.links.is_some()
    }

    /// No surfaces: nothing bounces.
    pub(super) fn none(plan: &Plan) -> Surfaces {
        Surfaces {
            patches: Vec::new(),
            factors: Factors::none(),
            rooms: Rooms::of(plan),
            links: None,
            bodies: Solids::default(),
        }
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

    /// The patches.
    pub(super) fn patches(&self) -> &[Patch] {
        &self.patches
    }

    /// Bounced light on a patch from one emitter at unit output, three thirds of the spectrum, lux.
    pub(super) fn bounced_on(&self, radiosity: &Radiosity, i: usize) -> [f32; 3] {
        radiosity.bounced[i]
    }

    /// Solves emitters at unit output, several side by side.
    #[must_use]
    pub fn solve(&self, solids: &Solids, emitters: &[&Emitter]) -> Vec<Arc<Radiosity>> {
        let mut out = Vec::with_capacity(emitters.len());
        let mut rest = emitters;
        while !rest.is_empty() {
            // Eight emitters fill three eights of numbers, two fill one.
            let (now, later) = rest.split_at(if rest.len() > 2 { rest.len().min(8) } else { rest.len() });
            let direct: Vec<Vec<f32>> = now.iter().map(|e| self.direct(solids, e)).collect();
            out.extend(match now.len() {
                ..=2 => self.spread::<1>(direct),
                3..=5 => self.spread::<2>(direct),
                _ => self.spread::<3>(direct),
            });
            rest = later;
        }
        out
    }

    fn direct(&self, solids: &Solids, emitter: &Emitter) -> Vec<f32> {
        let known = self.links.as_ref().filter(|_| !matches!(emitter.shape, Shape::Sun { .. } | Shape::Open(_)));
        let Some((links, from)) = known else {
            let on = DirectOn::of(&self.rooms, solids, emitter);
            return self.patches.par_iter().with_min_len(16).map(|p| on.patch(p)).collect();
        };
        let mut lit = links.direct(emitter, from);
        if !self.bodies.is_empty() {
            let shaded = |p: &Patch| Between::may_be_shaded(&self.bodies, emitter, &p.corners_off());
            lit.par_iter_mut().zip(&self.patches).with_min_len(16).for_each(|(lx, p)| {
                // What is dark with nobody there stays so.
                if *lx > 0.0 && shaded(p) {
                    *lx = direct_on(solids, emitter, p) as f32;
                }
            });
        }
        lit
    }

    /// Lets direct light go round until it settles, for emitters side by side in `L` eights of numbers, three
    /// each. Rounds are sped up by Chebyshev's polynomials, which need no more than the largest share that
    /// comes back (Golub & Varga 1961; reciprocity makes the problem a symmetric one).
    fn spread<const L: usize>(&self, direct: Vec<Vec<f32>>) -> Vec<Arc<Radiosity>> {
        let n = self.patches.len();
        let place = |e: usize, k: usize| ((3 * e + k) / 8, (3 * e + k) % 8);
        let mut reflectance = vec![[f32x8::ZERO; L]; n];
        let mut first = vec![[f32x8::ZERO; L]; n];
        for i in 0..n {
            let (mut r, mut b) = ([[0.0_f32; 8]; L], [[0.0_f32; 8]; L]);
            for (e, direct) in direct.iter().enumerate() {
                for k in 0..3 {
                    let (l, c) = place(e, k);
                    r[l][c] = self.patches[i].reflectance[k] as f32;
                    b[l][c] = r[l][c] * direct[i];
                }
            }
            (reflectance[i], first[i]) = (r.map(f32x8::from), b.map(f32x8::from));
        }
        let once = |of: &[[f32x8; L]], i: usize| -> [f32x8; L] {
            let mut sum = [f32x8::ZERO; L];
            for (j, f) in self.factors.row(i) {
                let f = f32x8::splat(*f);
                for (sum, b) in sum.iter_mut().zip(&of[*j as usize]) {
                    *sum += f * *b;
                }
            }
            std::array::from_fn(|l| first[i][l] + reflectance[i][l] * sum[l])
        };
        let share2 = self.factors.returned.min(MOST_RETURNED).powi(2);
        let mut weight = 1.0_f32;
        let (mut before, mut now) = (first.clone(), first.clone());
        for round in 0..rounds(self.factors.returned) {
            weight = match round {
                0 => 1.0,
                1 => 1.0 / (1.0 - share2 * 0.5),
                _ => 1.0 / (1.0 - share2 * weight * 0.25),
            };
            let w = f32x8::splat(weight);
            let next: Vec<[f32x8; L]> = (0..n)
                .into_par_iter()
                .with_min_len(32)
                .map(|i| {
                    let plain = once(&now, i);
                    std::array::from_fn(|l| before[i][l] + w * (plain[l] - before[i][l]))
                })
                .collect();
            (before, now) = (now, next);
        }
        // The last round by what each patch's middle sees: evened shares are right for the whole room, these for a
        // place in it.
        let last: Vec<[[f32; 8]; L]> = (0..n)
            .into_par_iter()
            .with_min_len(32)
            .map(|i| {
                let mut sum = [f32x8::ZERO; L];
                for (j, f) in self.factors.seen_row(i) {
                    let f = f32x8::splat(f);
                    for (sum, b) in sum.iter_mut().zip(&now[j as usize]) {
                        *sum += f * *b;
                    }
                }
                sum.map(|v| v.to_array())
            })
            .collect();
        let numbers: Vec<[[f32; 8]; L]> = now.iter().map(|b| b.map(|v| v.to_array())).collect();
        direct
            .into_iter()
            .enumerate()
            .map(|(e, direct)| {
                let at = |b: &[[f32; 8]; L], k: usize| {
                    let (l, c) = place(e, k);
                    b[l][c].max(0.0)
                };
                let exitance = numbers.iter().map(|b| [0, 1, 2].map(|k| at(b, k))).collect();
                let bounced = last.iter().map(|b| [0, 1, 2].map(|k| at(b, k))).collect();
                Arc::new(Radiosity { exitance, direct, bounced })
            })
            .collect()
    }

    /// Bounced light at a receiver for some emitters at unit output, three thirds of the spectrum each, lux.
    ///
    /// `list` and `emitters` run side by side.
    #[must_use]
    pub fn gather(
        &self,
        solids: &Solids,
        list: &[Arc<Radiosity>],
        emitters: &[Emitter],
        to: &Receiver,
        skip: OwnerIx,
        detail: Detail,
    ) -> Vec<[f64; 3]> {
        let mut out = vec![[0.0; 3]; list.len()];
        let seen = Seen::from(&self.rooms, to.at.truncate());
        for (j, p) in self.patches.iter().enumerate() {
            if p.crowd.is_none() && p.normal.dot(p.at - to.at) >= 0.0 {
                continue;
            }
            if !seen.holds(p) {
                continue;
            }
            if list.iter().all(|r| r.exitance[j] == [0.0; 3]) {
                continue;
            }
            if let Some(crowd) = &p.crowd {
                add_share(&mut out, list, j, crowd_share(solids, p, crowd, to, skip));
                continue;
            }
            if detail == Detail::Near && (p.at - to.at).length_squared() < NEAR * p.area_m2 {
                self.gather_near(solids, list, emitters, to, skip, j, &mut out);
                continue;
            }
            let share =
                if detail == Detail::Near { part_share(solids, p, to, skip) } else { seen_share(solids, p, to, skip) };
            add_share(&mut out, list, j, share);
        }
        out
    }

    /// A patch near the receiver, in smaller pieces, each with direct light of its own: the gradient of a hot
    /// spot or a shadow's edge shows from close by.
    #[allow(clippy::too_many_arguments)]
    fn gather_near(
        &self,
        solids: &Solids,
        list: &[Arc<Radiosity>],
        emitters: &[Emitter],
        to: &Receiver,
        skip: OwnerIx,
        j: usize,
        out: &mut [[f64; 3]],
    ) {
        let p = &self.patches[j];
        let corners = p.corners_off();
        let of = |(e, r): (&Emitter, &Arc<Radiosity>)| match r.direct[j] <= 0.0 {
            true => Between::Hidden,
            false => Between::of(solids, e, &corners, OwnerIx::NONE),
        };
        // What is dark as a whole is dark in parts.
        let between: Vec<Between> = emitters.iter().zip(list).map(of).collect();
        let lux = |k: usize, at: DVec3| {
            between[k].solve(solids, &emitters[k], &p.receiver(at), OwnerIx::NONE, Fineness::Many)
        };
        // The sky is asked for by hundreds of lines: near the corners first, within a piece of them.
        const INSET: f64 = 0.25 / PIECES as f64;
        let place = |t: f64| INSET + t * (1.0 - 2.0 * INSET);
        let slope = |k: usize| {
            let is_sky = matches!(emitters[k].shape, Shape::Sky { .. });
            is_sky.then(|| Slope::over(|u, v| lux(k, p.within(place(u), place(v))))).flatten()
        };
        let slopes: Vec<Option<Slope>> = (0..emitters.len()).map(slope).collect();
        let add = |pieces: usize, sums: &mut [[f64; 3]]| {
            // By emitter: the pieces' direct light.
            let mut means = vec![0.0; emitters.len()];
            let (mut seen, mut hidden) = (false, false);
            let place = |i: usize| ((i as f64 + 0.5) / pieces as f64 - INSET) / (1.0 - 2.0 * INSET);
            for (n, piece) in quarters(p, pieces).enumerate() {
                let (u, v) = (place(n % pieces), place(n / pieces));
                let share = seen_share(solids, &piece, to, skip);
                (seen, hidden) = (seen || share > 0.0, hidden || share <= 0.0);
                for (k, r) in list.iter().enumerate() {
                    let direct = slopes[k].as_ref().map_or_else(|| lux(k, piece.at), |s| s.at(u, v));
                    means[k] += direct * piece.area_m2 / p.area_m2;
                    for ((sum, exitance), reflectance) in sums[k].iter_mut().zip(r.exitance[j]).zip(p.reflectance) {
                        let indirect = f64::from(exitance) - reflectance * f64::from(r.direct[j]);
                        *sum += (reflectance * direct + indirect) * share;
                    }
                }
            }
            (seen && hidden)
                || means.iter().zip(list).any(|(mean, r)| {
                    let known = f64::from(r.direct[j]);
                    (mean - known).abs() > UNLIKE * mean.max(known)
                })
        };
        let mut sums = vec![[0.0; 3]; list.len()];
        if add(PIECES, &mut sums) {
            // A shadow's edge or a steep slope runs across it, or a part of it is hidden.
            sums.iter_mut().for_each(|s| *s = [0.0; 3]);
            add(2 * PIECES, &mut sums);
        }
        for (out, sum) in out.iter_mut().flatten().zip(sums.iter().flatten()) {
            *out += sum;
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
/// Twice as many pieces a side where their mean light differs from the patch's by more than this share.
const UNLIKE: f64 = 0.1;
/// Pieces a side of such a patch.
const PIECES: usize = 4;
/// Patches nearer to a lamp than these many of their areas (distance squared) are taken in 3 × 3 and 2 × 2 parts.
const BESIDE: f64 = 6.0;
const NEARBY: f64 = 24.0;
/// Parts a side of a patch that a shadow's edge crosses.
const EDGE: u32 = 2;
/// Places and weights of the three-point Gauss–Legendre rule on 0..1, exact to the fifth degree.
const GAUSS: [(f64, f64); 3] =
    [(0.112_701_665_379_258_3, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.887_298_334_620_741_7, 5.0 / 18.0)];
/// Of the two-point rule, exact to the third degree.
const GAUSS_2: [(f64, f64); 2] = [(0.211_324_865_405_187_13, 0.5), (0.788_675_134_594_812_9, 0.5)];

/// One emitter, ready to be asked what it does to patches.
pub(super) struct DirectOn<'a> {
    solids: &'a Solids,
    emitter: &'a Emitter,
    /// By room, whether it may be seen from the emitter; none where every room may.
    seen: Option<Vec<bool>>,
}

impl<'a> DirectOn<'a> {
    pub fn of(rooms: &Rooms, solids: &'a Solids, emitter: &'a Emitter) -> DirectOn<'a> {
        DirectOn { solids, emitter, seen: rooms.seen_by(emitter) }
    }

    /// Mean direct light on a patch, lux.
    pub fn patch(&self, p: &Patch) -> f32 {
        let unseen = self.seen.as_ref().is_some_and(|seen| p.room != NOWHERE && !seen[usize::from(p.room)]);
        if unseen { 0.0 } else { direct_on(self.solids, self.emitter, p) as f32 }
    }
}

/// Mean direct light on a patch.
fn direct_on(solids: &Solids, emitter: &Emitter, p: &Patch) -> f64 {
    let corners = p.corners_off();
    let between = Between::of(solids, emitter, &corners, OwnerIx::NONE);
    if matches!(between, Between::Hidden) {
        return 0.0;
    }
    let lux = |at: DVec3| between.solve(solids, emitter, &p.receiver(at), OwnerIx::NONE, Fineness::Many);
    if let Some(crowd) = &p.crowd {
        return crowd.probes.iter().map(|c| lux(c.as_dvec3() - p.normal * OFF_M)).sum::<f64>()
            / crowd.probes.len() as f64;
    }
    let [a, b, c, d] = p.corners;
    // Sunlight has sharp edges, light from close by a steep slope: both in more parts.
    let distance2 = (p.at - emitter.at()).length_squared() / p.area_m2;
    let parts = match emitter.shape {
        Shape::Sun { .. } => 3,
        _ if distance2 < BESIDE => 3,
        _ if distance2 < NEARBY => 2,
        _ => 1,
    };
    // The sky lies soft on what is further off, and takes hundreds of lines.
    let rule: &[(f64, f64)] = match emitter.shape {
        Shape::Sky { .. } if distance2 > NEARBY => &GAUSS_2,
        _ => &GAUSS,
    };
    let mean = |parts: u32| {
        let step = 1.0 / f64::from(parts);
        let (mut sum, mut weights, mut lit, mut dark) = (0.0, 0.0, false, false);
        for i in 0..parts * parts {
            let (u0, v0) = (f64::from(i % parts) * step, f64::from(i / parts) * step);
            for (u, wu) in rule {
                for (v, wv) in rule {
                    let (u, v) = (u0 + u * step, v0 + v * step);
                    let here = lux(a.lerp(b, u).lerp(d.lerp(c, u), v));
                    (lit, dark) = (lit || here > 0.0, dark || here <= 0.0);
                    // Where sides are not parallel equal steps are unequal areas.
                    let area = (b - a).lerp(c - d, v).cross((d - a).lerp(c - b, u)).length();
                    sum += wu * wv * area * here;
                    weights += wu * wv * area;
                }
            }
        }
        (sum / weights, lit && dark)
    };
    let (sum, mut edge) = mean(parts);
    if !edge && !between.is_open() {
        // A sliver along a side or over a corner.
        let lit = sum > 0.0;
        edge = [a, b, c, d].iter().any(|c| (lux(c.lerp(p.at, 0.03)) > 0.0) != lit);
    }
    // A shadow's edge runs across it.
    if edge && parts < EDGE { mean(EDGE).0 } else { sum }
}

/// A four-cornered patch cut into n × n.
pub(super) fn quarters(p: &Patch, n: usize) -> impl Iterator<Item = Patch> + '_ {
    let at = |u: f64, v: f64| p.within(u, v);
    let step = 1.0 / n as f64;
    (0..n * n).map(move |i| {
        let (u, v) = ((i % n) as f64 * step, (i / n) as f64 * step);
        let corners = [at(u, v), at(u + step, v), at(u + step, v + step), at(u, v + step)];
        Patch {
            at: at(u + step * 0.5, v + step * 0.5),
            normal: p.normal,
            corners,
            area_m2: 0.5 * (corners[2] - corners[0]).cross(corners[3] - corners[1]).length(),
            reflectance: p.reflectance,
            block: p.block,
            room: p.room,
            crowd: None,
        }
    })
}

/// A crowd is close by up to so many times its own reach.
const CLOSE_BY: f64 = 3.0;

/// Adds what a share of a patch's exitance brings, emitter by emitter.
fn add_share(out: &mut [[f64; 3]], list: &[Arc<Radiosity>], j: usize, share: f64) {
    if share > 0.0 {
        for (sum, r) in out.iter_mut().zip(list) {
            sum.iter_mut().zip(r.exitance[j]).for_each(|(sum, exitance)| *sum += f64::from(exitance) * share);
        }
    }
}

/// Illuminance at a receiver per unit exitance of a crowd: of each of its members from close by, else of a few for all.
pub(super) fn crowd_share(solids: &Solids, p: &Patch, crowd: &Crowd, to: &Receiver, skip: OwnerIx) -> f64 {
    if (p.at - to.at).length() < CLOSE_BY * p.reach_m() {
        return crowd.members.iter().map(|m| seen_share(solids, m, to, skip)).sum();
    }
    let each = p.area_m2 / crowd.probes.len() as f64;
    let one = |probe: &Vec3| {
        let v = probe.as_dvec3() - to.at;
        // From right beside it no more than a disc of its area gives.
        let d2 = v.length_squared().max(each / std::f64::consts::PI);
        let (cos, response) = (-p.normal.dot(v) / d2.sqrt(), to.response(to.toward.dot(v) / d2.sqrt()));
        let share = cos * response * each / (std::f64::consts::PI * d2);
        if share > 0.0 && !solids.blocked(to.at.as_vec3(), *probe, skip) { share } else { 0.0 }
    };
    crowd.probes.iter().map(one).sum()
}

/// Illuminance at a receiver per unit exitance of a patch.
pub(super) fn seen_share(solids: &Solids, p: &Patch, to: &Receiver, skip: OwnerIx) -> f64 {
    let share = unhidden_share(p, to);
    if share <= 0.0 || solids.blocked(to.at.as_vec3(), (p.at + p.normal * OFF_M).as_vec3(), skip) {
        return 0.0;
    }
    share
}

/// The same, of a patch of which a part may be hidden.
pub(super) fn part_share(solids: &Solids, p: &Patch, to: &Receiver, skip: OwnerIx) -> f64 {
    let whole = unhidden_share(p, to);
    if whole > 0.0 { whole * seen_part(solids, p, to, skip) } else { 0.0 }
}

/// How much of a four-cornered patch a receiver sees: through a doorway, a part of it.
fn seen_part(solids: &Solids, p: &Patch, to: &Receiver, skip: OwnerIx) -> f64 {
    let from = to.at.as_vec3();
    let [a, b, c, d] = p.corners_off();
    let middle = (p.at + p.normal * OFF_M).as_vec3();
    let reach = [a, b, c, d].map(|c| c.distance(middle)).into_iter().fold(0.0, f32::max);
    let few = solids.in_the_way(from, middle, reach * 1.0001 + 1e-4, skip);
    if few.is_empty() {
        return 1.0;
    }
    let blocked = |points: [Vec3; 8]| solids.eight_blocked(&few, &Eight::to_points(from, points), skip).count_ones();
    let at = |u: f32, v: f32| a.lerp(b, u).lerp(d.lerp(c, u), v);
    let first = blocked(std::array::from_fn(|n| at((n / 2) as f32 * 0.25 + 0.125, (n % 2) as f32 * 0.5 + 0.25)));
    if first == 0 || first == 8 {
        return f64::from(8 - first) / 8.0;
    }
    let rows = 0..8;
    let hidden: u32 =
        rows.map(|r| blocked(std::array::from_fn(|n| at(n as f32 / 8.0 + 0.0625, r as f32 / 8.0 + 0.0625)))).sum();
    f64::from(64 - hidden) / 64.0
}

/// The same with nothing in the way.
pub(super) fn unhidden_share(p: &Patch, to: &Receiver) -> f64 {
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
        per_luminance(&p.corners.map(|c| c - to.at), to)
    };
    (share / std::f64::consts::PI).max(0.0)
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
    /// Walls that may stand between a point of an upright rectangle and the nodes round it.
    pub fn walls_near(&self, low: DVec2, high: DVec2, walls: &[(DVec2, DVec2)]) -> Vec<(DVec2, DVec2)> {
        let (low, high) = (low - self.cell_m, high + self.cell_m);
        let near = |(a, b): &(DVec2, DVec2)| a.min(*b).cmple(high).all() && a.max(*b).cmpge(low).all();
        walls.iter().copied().filter(near).collect()
    }

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
