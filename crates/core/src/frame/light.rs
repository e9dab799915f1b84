//! Light on what a picture shows: worked out on a net of points, and between them where it changes.

use super::form::{Around, Prop};
use super::props::Props;
use super::{FrameSpec, NOTHING, Pixel, Rays};
use crate::colour::linear_srgb;
use crate::geometry::OwnerIx;
use crate::light::{Emitter, LitRooms, Receiver, Returned, Sky, Transport, solve_many};
use crate::plan::Receptor;
use crate::scene::Scene;
use glam::Vec3;
use rayon::prelude::*;
use std::ops::Range;
use std::sync::OnceLock;

/// A scene's light, ready to be asked at many points.
pub(super) struct Lit<'a> {
    scene: &'a Scene,
    emitters: Vec<(&'a Emitter, [f32; 3], LitRooms)>,
    returned: Returned,
    transport: &'a Transport,
    /// The props' middles, and bounced light round each that a picture shows.
    middles: &'a [Vec3],
    round: Vec<OnceLock<[[f32; 3]; 6]>>,
    /// What is seen where no surface is met, and the colours of sky and ground.
    outside: Option<(&'a Sky, [[f32; 3]; 2])>,
}

/// Distance off a surface at which its light is asked for, metres.
const OFF_M: f32 = 4e-3;

impl<'a> Lit<'a> {
    pub fn of(scene: &'a Scene, transport: &'a Transport, props: &'a Props) -> Lit<'a> {
        let rgb = |e: &Emitter| linear_srgb(e.colour).map(|c| c as f32);
        let colour = |c| linear_srgb(c).map(|c| c as f32);
        let outside = transport.outside().map(|(sky, above, below)| (sky, [colour(above), colour(below)]));
        let emitters = transport
            .emitters()
            .iter()
            .filter(|e| e.gain > 0.0)
            .map(|e| (e, rgb(e).map(|c| c * e.gain as f32), transport.rooms_lit_by(e)))
            .collect();
        let round = props.middles.iter().map(|_| OnceLock::new()).collect();
        let returned = transport.returned(scene);
        Lit { scene, emitters, returned, transport, middles: &props.middles, round, outside }
    }

    /// Sky, ground or darkness beyond the rooms, cd/m².
    pub fn outside(&self, direction: Vec3) -> [f32; 3] {
        self.outside.map_or([0.0; 3], |(sky, [above, below])| {
            let l = sky.luminance_cd_m2(direction.as_dvec3()) as f32;
            (if direction.z > 0.0 { above } else { below }).map(|c| c * l)
        })
    }

    /// Light on a surface, lux of linear sRGB.
    pub fn on(&self, at: Vec3, normal: Vec3, prop: &Prop) -> [f32; 3] {
        let to = Receiver { at: (at + normal * OFF_M).as_dvec3(), toward: normal.as_dvec3(), receptor: Receptor::Flat };
        // A person or a round piece does not stand in its own light: its far side is dark by its normal alone.
        let skip = prop.owner;
        let bounced = match prop.around {
            Around::Patches => self.returned.at(at, normal, None).map(|(lx, room)| (lx, Some(room))),
            Around::Faces { front, rooms } => {
                // The outside of a house has no patches.
                rooms[usize::from(normal.dot(front) < 0.0)]
                    .and_then(|room| self.returned.at(at, normal, Some(room)))
                    .map(|(lx, room)| (lx, Some(room)))
            }
            Around::Middle(i) => Some((self.bounced_round(i, normal), None)),
        };
        let gathered = || self.transport.on_surface(self.scene, &self.returned, &to, skip);
        let (mut sum, room) = bounced.unwrap_or_else(|| (gathered(), None));
        for (e, rgb, _) in self.emitters.iter().filter(|(_, _, rooms)| rooms.hold(room)) {
            let lx = solve_many(&self.scene.solids, e, &to, skip) as f32;
            sum.iter_mut().zip(rgb).for_each(|(s, c)| *s += lx * c);
        }
        sum.map(|s| s.max(0.0))
    }

    fn bounced_round(&self, i: u32, n: Vec3) -> [f32; 3] {
        let i = i as usize;
        // Only what is in the picture is asked about.
        let middle = || self.middles[i].as_dvec3();
        let cube =
            self.round[i].get_or_init(|| self.transport.round(self.scene, &self.returned, middle(), OwnerIx::NONE));
        let mut sum = [0.0; 3];
        for k in 0..3 {
            let face = 2 * k + usize::from(n[k] < 0.0);
            sum.iter_mut().zip(cube[face]).for_each(|(s, c)| *s += n[k] * n[k] * c);
        }
        sum
    }
}

/// Light on the surface each pixel of some rows shows, lux of linear sRGB. `pixels` are those of the rows and of the one
/// below, where there is one.
pub(super) fn levels(
    lit: &Lit<'_>,
    props: &Props,
    rays: &Rays,
    pixels: &[Pixel],
    spec: FrameSpec,
    rows: Range<usize>,
) -> Vec<[f32; 3]> {
    let mut net = Net { lit, props, rays, pixels, spec, first: rows.start, levels: vec![UNKNOWN; pixels.len()] };
    let coarse = spec.coarse.max(1);
    net.step(coarse, None);
    let mut step = coarse;
    while step > spec.fine.max(1) {
        net.step(step / 2, Some(step));
        step /= 2;
    }
    net.fill(step, rows.len())
}

const UNKNOWN: [f32; 3] = [f32::NAN; 3];
/// Between points whose levels differ by less than this share, light is taken as even.
const EVEN: f32 = 0.06;

struct Net<'a> {
    lit: &'a Lit<'a>,
    props: &'a Props,
    rays: &'a Rays,
    pixels: &'a [Pixel],
    spec: FrameSpec,
    /// The row that the first of the pixels lies in, one of the coarsest net's.
    first: usize,
    levels: Vec<[f32; 3]>,
}

impl Net<'_> {
    fn place(&self, x: usize, y: usize) -> usize {
        (y - self.first) * self.spec.width + x
    }

    fn exact(&self, x: usize, y: usize) -> [f32; 3] {
        let p = &self.pixels[self.place(x, y)];
        if p.prop == NOTHING {
            return [0.0; 3];
        }
        let r = self.rays.through(x as f32 + 0.5, y as f32 + 0.5);
        self.lit.on(self.rays.eye + r * p.distance, p.normal, &self.props.list[p.prop as usize])
    }

    /// Fills the points of a net; between those of a coarser one where light is uneven there.
    fn step(&mut self, step: usize, before: Option<usize>) {
        let w = self.spec.width;
        let high = self.pixels.len() / w;
        let rows: Vec<Vec<(usize, [f32; 3])>> = (0..high.div_ceil(step))
            .into_par_iter()
            .map(|j| {
                let y = self.first + j * step;
                let mut out = Vec::with_capacity(w / step + 1);
                for x in (0..w).step_by(step) {
                    let i = self.place(x, y);
                    if !self.levels[i][0].is_nan() {
                        continue;
                    }
                    let known = before.and_then(|b| self.between(x, y, b, Some(EVEN)));
                    out.push((i, known.unwrap_or_else(|| self.exact(x, y))));
                }
                out
            })
            .collect();
        for (i, level) in rows.into_iter().flatten() {
            self.levels[i] = level;
        }
    }

    /// The level at a pixel from the points of a net round it that show the same surface; none when there are
    /// none, or when `even` is given and they differ by more.
    fn between(&self, x: usize, y: usize, step: usize, even: Option<f32>) -> Option<[f32; 3]> {
        let (w, h) = (self.spec.width, self.spec.height);
        let here = &self.pixels[self.place(x, y)];
        let (x0, y0) = (x / step * step, y / step * step);
        let (mut sum, mut weights) = ([0.0; 3], 0.0);
        let (mut low, mut high, mut all) = (f32::INFINITY, 0.0_f32, true);
        for (u, v) in [(x0, y0), (x0 + step, y0), (x0, y0 + step), (x0 + step, y0 + step)] {
            let wx = 1.0 - (x as f32 - u as f32).abs() / step as f32;
            let wy = 1.0 - (y as f32 - v as f32).abs() / step as f32;
            let weight = wx * wy;
            if weight <= 0.0 {
                continue;
            }
            if u >= w || v >= h {
                all = false;
                continue;
            }
            let there = &self.pixels[self.place(u, v)];
            let level = self.levels[self.place(u, v)];
            if there.prop != here.prop || there.normal.dot(here.normal) < 0.9 || level[0].is_nan() {
                all = false;
                continue;
            }
            let y = level[0] + level[1] + level[2];
            low = low.min(y);
            high = high.max(y);
            sum.iter_mut().zip(level).for_each(|(s, c)| *s += weight * c);
            weights += weight;
        }
        match even {
            Some(share) if !all || high - low > share * high => None,
            _ => (weights > 1e-4).then(|| sum.map(|s| s / weights)),
        }
    }

    /// Every pixel of so many rows from the finished net.
    fn fill(&self, step: usize, rows: usize) -> Vec<[f32; 3]> {
        let w = self.spec.width;
        (0..rows * w)
            .into_par_iter()
            .with_min_len(256)
            .map(|i| {
                if !self.levels[i][0].is_nan() {
                    return self.levels[i];
                }
                let (x, y) = (i % w, self.first + i / w);
                self.between(x, y, step, None).unwrap_or_else(|| self.exact(x, y))
            })
            .collect()
    }
}
