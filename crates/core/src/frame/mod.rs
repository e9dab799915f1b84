//! What the lens sees: the scene as a picture, lit by the same light that the meter reads.
//!
//! A ray through every pixel finds the surface (exact at edges); light is worked out on a coarse net of those
//! points first and between them where it changes, so that a first picture comes at once and a finer one
//! follows. The result is luminance in cd/m²; [`Picture::developed`] exposes it.

mod develop;
mod form;
mod guides;
mod light;
mod props;

pub use develop::{Developed, falls_at_stops};
pub use guides::{Guide, Overlay, guides};

use crate::light::Transport;
use crate::plan::{Plan, Rig};
use crate::scene::{Scene, View};
use form::Prop;
use glam::{Vec2, Vec3};
use light::Lit;
use props::Props;
use rayon::prelude::*;
use std::ops::Range;

/// How large and how finely lit a picture is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FrameSpec {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Light is worked out at least this often, pixels; a power of two.
    pub coarse: usize,
    /// And where it changes, down to this, pixels; a power of two.
    pub fine: usize,
}

/// Most pixels of a picture.
pub const MOST_PIXELS: usize = 64_000_000;

impl FrameSpec {
    /// A size that has the delivered aspect ratio, as near as whole pixels come.
    #[must_use]
    pub fn for_view(view: &View, width: usize) -> FrameSpec {
        let aspect = (view.sensor_mm.0 / view.sensor_mm.1).clamp(0.05, 50.0);
        let width = width.clamp(16, 16_384);
        let height = ((width as f64 / aspect).round() as usize).clamp(1, MOST_PIXELS / width);
        FrameSpec { width, height, coarse: 4, fine: 1 }
    }

    /// Whether a picture so wide has few enough pixels for its whole aspect ratio.
    #[must_use]
    pub fn is_in_bounds(view: &View, width: usize) -> bool {
        width as f64 * width as f64 * view.sensor_mm.1 / view.sensor_mm.0 <= MOST_PIXELS as f64
    }

    /// The same picture with every pixel cut into n × n, to be folded again when it is developed: edges are finer, light
    /// is worked out as often as before.
    #[must_use]
    pub fn cut_finer(self, n: usize) -> FrameSpec {
        let n = n.max(1);
        let net = n.next_power_of_two();
        FrameSpec { width: self.width * n, height: self.height * n, coarse: self.coarse * net, fine: self.fine * net }
    }

    /// The same picture lit coarsely: the first to be shown.
    #[must_use]
    pub fn quick(self) -> FrameSpec {
        FrameSpec { coarse: 8, fine: 8, ..self }
    }
}

/// What a pixel shows.
#[derive(Debug, Clone, Copy)]
struct Pixel {
    /// Distance along the ray, metres; infinite where nothing is met.
    distance: f32,
    normal: Vec3,
    albedo: [f32; 3],
    own: [f32; 3],
    prop: u32,
}

const NOTHING: u32 = u32::MAX;

/// A picture: luminance by pixel.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Linear sRGB scaled so that its luminance is in cd/m², from the top left, row by row.
    pub light: Vec<[f32; 3]>,
    /// Depth along the lens axis, metres; infinite where nothing is met.
    pub depth_m: Vec<f32>,
}

/// A view as rays through pixels.
struct Rays {
    eye: Vec3,
    right: Vec3,
    up: Vec3,
    forward: Vec3,
    size: Vec2,
}

impl Rays {
    fn of(view: &View, spec: FrameSpec) -> Rays {
        let (right, up, forward) = view.axes();
        let half = |mm: f64| mm / (2.0 * view.focal_mm);
        Rays {
            eye: view.eye.as_vec3(),
            right: (right * half(view.sensor_mm.0)).as_vec3(),
            up: (up * half(view.sensor_mm.1)).as_vec3(),
            forward: forward.as_vec3(),
            size: Vec2::new(spec.width as f32, spec.height as f32),
        }
    }
    fn through(&self, x: f32, y: f32) -> Vec3 {
        let (u, v) = (2.0 * x / self.size.x - 1.0, 1.0 - 2.0 * y / self.size.y);
        (self.forward + self.right * u + self.up * v).normalize()
    }
}

/// Pixels a side of the tiles that share a list of what they may show.
const TILE: usize = 16;

/// What each pixel of some rows shows.
fn look(props: &Props, rays: &Rays, spec: FrameSpec, rows: Range<usize>) -> Vec<Pixel> {
    let empty = Pixel { distance: f32::INFINITY, normal: Vec3::ZERO, albedo: [0.0; 3], own: [0.0; 3], prop: NOTHING };
    let mut pixels = vec![empty; spec.width * rows.len()];
    pixels.par_chunks_mut(spec.width * TILE).enumerate().for_each(|(tile, part)| {
        let (y0, high) = (rows.start + tile * TILE, part.len() / spec.width);
        for x0 in (0..spec.width).step_by(TILE) {
            let wide = TILE.min(spec.width - x0);
            let corner = |dx: usize, dy: usize| rays.through((x0 + dx) as f32, (y0 + dy) as f32);
            let axis = rays.through(x0 as f32 + wide as f32 * 0.5, y0 as f32 + high as f32 * 0.5);
            let spread = [corner(0, 0), corner(wide, 0), corner(0, high), corner(wide, high)]
                .iter()
                .map(|c| c.dot(axis).clamp(-1.0, 1.0).acos())
                .fold(0.0, f32::max);
            let (sin, cos) = (spread + 1e-4).sin_cos();
            // Whether a ball's angle off the axis is at most the tile's spread and its own half-angle.
            let reaches = |p: &Prop| {
                let v = p.middle - rays.eye;
                let d = v.length();
                let own = p.radius / d;
                d <= p.radius || v.dot(axis) / d >= cos * (1.0 - own * own).max(0.0).sqrt() - sin * own
            };
            // The nearest first: past what is met nothing is asked that begins further away.
            let begins = |p: &Prop| p.middle.distance(rays.eye) - p.radius;
            let mut near: Vec<(f32, u32, &Prop)> =
                props.list.iter().zip(0..).filter(|(p, _)| reaches(p)).map(|(p, i)| (begins(p), i, p)).collect();
            near.sort_by(|a, b| a.0.total_cmp(&b.0));
            for y in 0..high {
                for x in x0..x0 + wide {
                    let r = rays.through(x as f32 + 0.5, (y0 + y) as f32 + 0.5);
                    let mut best: Option<(f32, Vec3, u32, &Prop)> = None;
                    for (begins, i, p) in &near {
                        if best.is_some_and(|b| *begins > b.0) {
                            break;
                        }
                        // Of two at one distance the first of the list is seen.
                        if let Some((t, n)) = p.form.met(rays.eye, r)
                            && best.is_none_or(|b| t < b.0 || (t == b.0 && *i < b.2))
                        {
                            best = Some((t, n, *i, p));
                        }
                    }
                    if let Some((t, n, prop, p)) = best {
                        let (albedo, own) = p.coat_at(rays.eye + r * t, n);
                        part[y * spec.width + x] = Pixel { distance: t, normal: n, albedo, own, prop };
                    }
                }
            }
        }
    });
    pixels
}

/// Takes a picture of a scene, lit by a rig that is already solved; none without a camera.
#[must_use]
pub fn picture(
    plan: &Plan,
    scene: &Scene,
    rig: Option<&Rig>,
    transport: &Transport,
    spec: FrameSpec,
) -> Option<Picture> {
    let mut whole = Picture { width: spec.width, height: 0, light: Vec::new(), depth_m: Vec::new() };
    picture_in_bands(plan, scene, rig, transport, spec, 1, |band| {
        whole.height += band.height;
        whole.light.extend(band.light);
        whole.depth_m.extend(band.depth_m);
    })?;
    Some(whole)
}

/// Most pixels worked on at a time: at some 80 bytes each while they are.
const MOST_AT_A_TIME: usize = 400_000;

/// As [`picture`], handed over in bands of whole rows from the top, each of a height that `fold` divides (but for the
/// last): a large picture never stands in memory as a whole. What it shows does not depend on the bands.
pub fn picture_in_bands(
    plan: &Plan,
    scene: &Scene,
    rig: Option<&Rig>,
    transport: &Transport,
    spec: FrameSpec,
    fold: usize,
    mut each: impl FnMut(Picture),
) -> Option<()> {
    let view = scene.view.as_ref()?;
    let mut props = Props::of(plan, scene, rig);
    props.list.retain(|p| p.room.is_none_or(|room| transport.may_look_at(view.eye, room, p.middle, p.radius)));
    let rays = Rays::of(view, spec);
    let lit = Lit::of(scene, transport, &props);
    let unit = spec.coarse.max(1) * fold.max(1);
    let high = (MOST_AT_A_TIME / spec.width / unit).max(1) * unit;
    for first in (0..spec.height).step_by(high) {
        let rows = first..(first + high).min(spec.height);
        each(band(&lit, &props, &rays, spec, rows));
    }
    Some(())
}

fn band(lit: &Lit<'_>, props: &Props, rays: &Rays, spec: FrameSpec, rows: Range<usize>) -> Picture {
    // The row below, which begins the next band, has points of the net between which this one's lie.
    let looked_at = rows.start..(rows.end + 1).min(spec.height);
    let pixels = look(props, rays, spec, looked_at);
    let levels = light::levels(lit, props, rays, &pixels, spec, rows.clone());
    let through = |i: usize| rays.through((i % spec.width) as f32 + 0.5, (rows.start + i / spec.width) as f32 + 0.5);
    let own = &pixels[..rows.len() * spec.width];
    let light = own
        .par_iter()
        .zip(&levels)
        .enumerate()
        .map(|(i, (p, e))| {
            if p.prop == NOTHING {
                return lit.outside(through(i));
            }
            let k = std::f32::consts::FRAC_1_PI;
            [0, 1, 2].map(|c| p.albedo[c] * e[c] * k + p.own[c])
        })
        .collect();
    let depth_m = own.iter().enumerate().map(|(i, p)| p.distance * through(i).dot(rays.forward)).collect();
    Picture { width: spec.width, height: rows.len(), light, depth_m }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::FINE_PATCH_M;

    #[test]
    fn a_picture_is_the_same_however_it_is_banded() {
        let plan = crate::plan::from_json(include_bytes!("../../../../assets/demo/last-firing.tapemark.json")).unwrap();
        let shot = &plan.shots[0];
        let scene = Scene::of(&plan, shot, 0.0);
        let rig = plan.shot_rig(shot);
        let transport = Transport::of(&plan, rig.as_deref(), &scene, FINE_PATCH_M, None);
        let view = scene.view.as_ref().unwrap();
        let spec = FrameSpec::for_view(view, 96).cut_finer(2);
        let whole = picture(&plan, &scene, rig.as_deref(), &transport, spec).unwrap();
        let (props, rays) = (Props::of(&plan, &scene, rig.as_deref()), Rays::of(view, spec));
        let lit = Lit::of(&scene, &transport, &props);
        let mut light = Vec::new();
        for first in (0..spec.height).step_by(spec.coarse) {
            let rows = first..(first + spec.coarse).min(spec.height);
            light.extend(band(&lit, &props, &rays, spec, rows).light);
        }
        assert_eq!(light, whole.light);
    }
}
