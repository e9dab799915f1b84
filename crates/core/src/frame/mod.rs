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
const MOST_PIXELS: usize = 64_000_000;

impl FrameSpec {
    /// A size that has the delivered aspect ratio, as near as whole pixels come.
    #[must_use]
    pub fn for_view(view: &View, width: usize) -> FrameSpec {
        let aspect = (view.sensor_mm.0 / view.sensor_mm.1).clamp(0.05, 50.0);
        let width = width.clamp(16, 16_384);
        let height = ((width as f64 / aspect).round() as usize).clamp(1, MOST_PIXELS / width);
        FrameSpec { width, height, coarse: 4, fine: 1 }
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

/// What each pixel shows.
fn look(props: &Props, rays: &Rays, spec: FrameSpec) -> Vec<Pixel> {
    let empty = Pixel { distance: f32::INFINITY, normal: Vec3::ZERO, albedo: [0.0; 3], own: [0.0; 3], prop: NOTHING };
    let mut pixels = vec![empty; spec.width * spec.height];
    pixels.par_chunks_mut(spec.width * TILE).enumerate().for_each(|(band, rows)| {
        let (y0, high) = (band * TILE, rows.len() / spec.width);
        for x0 in (0..spec.width).step_by(TILE) {
            let wide = TILE.min(spec.width - x0);
            let corner = |dx: usize, dy: usize| rays.through((x0 + dx) as f32, (y0 + dy) as f32);
            let axis = rays.through(x0 as f32 + wide as f32 * 0.5, y0 as f32 + high as f32 * 0.5);
            let spread = [corner(0, 0), corner(wide, 0), corner(0, high), corner(wide, high)]
                .iter()
                .map(|c| c.dot(axis).clamp(-1.0, 1.0).acos())
                .fold(0.0, f32::max);
            let near: Vec<(u32, &Prop)> = props
                .list
                .iter()
                .enumerate()
                .filter(|(_, p)| {
                    let v = p.middle - rays.eye;
                    let d = v.length();
                    d <= p.radius
                        || (v.dot(axis) / d).clamp(-1.0, 1.0).acos() <= spread + (p.radius / d).min(1.0).asin() + 1e-4
                })
                .map(|(i, p)| (i as u32, p))
                .collect();
            for y in 0..high {
                for x in x0..x0 + wide {
                    let r = rays.through(x as f32 + 0.5, (y0 + y) as f32 + 0.5);
                    let mut best: Option<(f32, Vec3, u32, &Prop)> = None;
                    for (i, p) in &near {
                        if let Some((t, n)) = p.form.met(rays.eye, r)
                            && best.is_none_or(|b| t < b.0)
                        {
                            best = Some((t, n, *i, p));
                        }
                    }
                    if let Some((t, n, prop, p)) = best {
                        let (albedo, own) = p.coat_at(rays.eye + r * t, n);
                        rows[y * spec.width + x] = Pixel { distance: t, normal: n, albedo, own, prop };
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
    let view = scene.view.as_ref()?;
    let props = Props::of(plan, scene, rig);
    let rays = Rays::of(view, spec);
    let (pixels, returned) = rayon::join(|| look(&props, &rays, spec), || transport.returned(scene));
    let lit = Lit::of(scene, transport, returned, &props, &pixels);
    let levels = light::levels(&lit, &props, &rays, &pixels, spec);
    let light = pixels
        .par_iter()
        .zip(&levels)
        .enumerate()
        .map(|(i, (p, e))| {
            if p.prop == NOTHING {
                let (x, y) = (i % spec.width, i / spec.width);
                return lit.outside(rays.through(x as f32 + 0.5, y as f32 + 0.5));
            }
            let k = std::f32::consts::FRAC_1_PI;
            [0, 1, 2].map(|c| p.albedo[c] * e[c] * k + p.own[c])
        })
        .collect();
    let depth_m = pixels
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let r = rays.through((i % spec.width) as f32 + 0.5, (i / spec.width) as f32 + 0.5);
            p.distance * r.dot(rays.forward)
        })
        .collect();
    Some(Picture { width: spec.width, height: spec.height, light, depth_m })
}
