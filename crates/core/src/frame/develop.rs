//! From luminance to a picture on a screen: exposure, white balance, levels in stops.

use super::Picture;
use crate::colour::{linear_srgb, planck_xyz};
use crate::light::middle_grey_cd_m2;
use crate::plan::{Camera, Exposure, MIDDLE_GREY};
use rayon::prelude::*;

/// A picture as four bytes a pixel, sRGB and opacity, rows from the top.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Developed {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Bytes.
    pub rgba: Vec<u8>,
}

/// Below this share of white the picture is linear; above, highlights roll off toward white.
const SHOULDER: f32 = 0.7;

/// Where a luminance falls, stops from middle grey as the camera is set; −∞ for darkness.
#[must_use]
pub fn falls_at_stops(luminance_cd_m2: f64, camera: &Camera, exposure: &Exposure) -> f64 {
    (luminance_cd_m2 / grey_cd_m2(camera, exposure)).log2()
}

fn grey_cd_m2(camera: &Camera, exposure: &Exposure) -> f64 {
    middle_grey_cd_m2(camera.lens.t_stop, exposure) * camera.nd_stops.exp2()
}

fn roll_off(v: f32) -> f32 {
    if v <= SHOULDER { v.max(0.0) } else { 1.0 - (1.0 - SHOULDER) * (-(v - SHOULDER) / (1.0 - SHOULDER)).exp() }
}

fn encoded(v: f32) -> u8 {
    let e = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
    (e * 255.0).round().clamp(0.0, 255.0) as u8
}

impl Picture {
    /// Luminance of a pixel, cd/m².
    #[must_use]
    pub fn luminance_cd_m2(&self, x: usize, y: usize) -> f64 {
        let [r, g, b] = self.light[y * self.width + x].map(f64::from);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// `fold` × `fold` pixels become one: the mean of their light, the nearest depth.
    #[must_use]
    pub fn folded(&self, fold: usize) -> Picture {
        let fold = fold.max(1);
        let (width, height) = (self.width / fold, self.height / fold);
        let share = 1.0 / (fold * fold) as f32;
        let within = |i: usize| {
            let first = i / width * fold * self.width + i % width * fold;
            (0..fold * fold).map(move |k| first + k / fold * self.width + k % fold)
        };
        let mean = |i: usize| {
            let mut sum = [0.0; 3];
            within(i).for_each(|k| sum.iter_mut().zip(self.light[k]).for_each(|(s, v)| *s += v * share));
            sum
        };
        let nearest = |i: usize| within(i).map(|k| self.depth_m[k]).fold(f32::INFINITY, f32::min);
        let all = 0..width * height;
        Picture { width, height, light: all.clone().map(mean).collect(), depth_m: all.map(nearest).collect() }
    }

    /// The picture at the camera's stop and the plan's white balance. `fold` × `fold` pixels become one, after
    /// exposure, so that edges are smooth.
    ///
    /// White balance scales the three linear sRGB channels so that a Planckian radiator of the set temperature
    /// is neutral at its own luminance.
    #[must_use]
    pub fn developed(&self, camera: &Camera, exposure: &Exposure, fold: usize) -> Developed {
        let gain = (MIDDLE_GREY / grey_cd_m2(camera, exposure)) as f32;
        let white = linear_srgb(planck_xyz(exposure.white_balance_k)).map(|w| gain / (w as f32).max(1e-3));
        self.each(fold, |light| [0, 1, 2].map(|c| roll_off(light[c] * white[c])))
    }

    /// Levels in stops from middle grey, coloured by `ink` (stops to linear 0–1 red, green and blue).
    #[must_use]
    pub fn false_levels(
        &self,
        camera: &Camera,
        exposure: &Exposure,
        fold: usize,
        ink: impl Fn(f64) -> [u8; 3] + Sync,
    ) -> Developed {
        let fold = fold.max(1);
        let grey = grey_cd_m2(camera, exposure);
        let (w, h) = (self.width / fold, self.height / fold);
        let rgba = (0..w * h)
            .into_par_iter()
            .with_min_len(512)
            .flat_map_iter(|i| {
                let l = self.luminance_cd_m2(i % w * fold, i / w * fold);
                let [r, g, b] = ink((l / grey).max(1e-9).log2());
                [r, g, b, 255]
            })
            .collect();
        Developed { width: w, height: h, rgba }
    }

    fn each(&self, fold: usize, shade: impl Fn([f32; 3]) -> [f32; 3] + Sync) -> Developed {
        let fold = fold.max(1);
        let (w, h) = (self.width / fold, self.height / fold);
        let share = 1.0 / (fold * fold) as f32;
        let rgba = (0..w * h)
            .into_par_iter()
            .with_min_len(512)
            .flat_map_iter(|i| {
                let (x, y) = (i % w * fold, i / w * fold);
                let mut sum = [0.0; 3];
                for k in 0..fold * fold {
                    let p = self.light[(y + k / fold) * self.width + x + k % fold];
                    sum.iter_mut().zip(shade(p)).for_each(|(s, v)| *s += v * share);
                }
                let [r, g, b] = sum.map(encoded);
                [r, g, b, 255]
            })
            .collect();
        Developed { width: w, height: h, rgba }
    }
}
