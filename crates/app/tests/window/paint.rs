//! What the window shows, painted without a graphics driver: the same everywhere.

use egui::epaint::{ImageData, Primitive, TextureId, Vertex};
use egui::{Color32, ColorImage, Pos2, TextureFilter, TexturesDelta};
use egui_kittest::TestRenderer;
use image::RgbaImage;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

struct Texture {
    image: ColorImage,
    smooth: bool,
}

/// The textures a window has handed over so far.
#[derive(Default, Clone)]
pub struct Painter {
    textures: Rc<RefCell<HashMap<TextureId, Texture>>>,
}

impl TestRenderer for Painter {
    fn handle_delta(&mut self, delta: &mut TexturesDelta) {
        let mut textures = self.textures.borrow_mut();
        for (id, d) in delta.set.drain().flat_map(|(id, list)| list.into_iter().map(move |d| (id, d))) {
            let ImageData::Color(image) = &d.image;
            let smooth = d.options.magnification == TextureFilter::Linear;
            match (d.pos, textures.get_mut(&id)) {
                (Some([x, y]), Some(there)) => {
                    let (w, h) = (image.width(), image.height());
                    for row in 0..h {
                        let to = (y + row) * there.image.width() + x;
                        there.image.pixels[to..to + w].copy_from_slice(&image.pixels[row * w..(row + 1) * w]);
                    }
                }
                _ => {
                    textures.insert(id, Texture { image: (**image).clone(), smooth });
                }
            }
        }
        // What is let go is still on the frame before: nothing is short of room here.
        delta.free.clear();
    }
}

impl Texture {
    fn at(&self, x: isize, y: isize) -> [f32; 4] {
        let [w, h] = self.image.size;
        let (x, y) = (x.clamp(0, w as isize - 1) as usize, y.clamp(0, h as isize - 1) as usize);
        self.image.pixels[y * w + x].to_array().map(f32::from)
    }

    fn sample(&self, uv: Pos2) -> [f32; 4] {
        let (x, y) = (uv.x * self.image.width() as f32, uv.y * self.image.height() as f32);
        if !self.smooth {
            return self.at(x.floor() as isize, y.floor() as isize);
        }
        let (x, y) = (x - 0.5, y - 0.5);
        let (fx, fy) = (x - x.floor(), y - y.floor());
        let (x, y) = (x.floor() as isize, y.floor() as isize);
        let (a, b, c, d) = (self.at(x, y), self.at(x + 1, y), self.at(x, y + 1), self.at(x + 1, y + 1));
        std::array::from_fn(|k| (a[k] * (1.0 - fx) + b[k] * fx) * (1.0 - fy) + (c[k] * (1.0 - fx) + d[k] * fx) * fy)
    }
}

struct Sheet {
    pixels: Vec<[f32; 4]>,
    width: usize,
    height: usize,
}

impl Sheet {
    /// One triangle, its edges shared with neighbours painted once (top-left rule), colours over what is there.
    fn triangle(&mut self, t: [&Vertex; 3], per_point: f32, clip: [f32; 4], texture: &Texture) {
        let p = t.map(|v| (v.pos.x * per_point, v.pos.y * per_point));
        let cross = |a: (f32, f32), b: (f32, f32), c: (f32, f32)| (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
        let area = cross(p[0], p[1], p[2]);
        if area == 0.0 || !area.is_finite() {
            return;
        }
        let (p, t) = if area < 0.0 { ([p[0], p[2], p[1]], [t[0], t[2], t[1]]) } else { (p, t) };
        let area = area.abs();
        let span = |k: fn((f32, f32)) -> f32, low: f32, high: f32, most: usize| {
            let (a, b) = p.iter().fold((f32::MAX, f32::MIN), |(a, b), q| (a.min(k(*q)), b.max(k(*q))));
            let from = (a.max(low) - 0.5).ceil().max(0.0) as usize;
            (from, ((b.min(high) - 0.5).floor().max(-1.0) as isize + 1).clamp(0, most as isize) as usize)
        };
        let (x0, x1) = span(|q| q.0, clip[0], clip[2], self.width);
        let (y0, y1) = span(|q| q.1, clip[1], clip[3], self.height);
        // An edge owns its pixels when it is a top or a left one.
        let owns: [bool; 3] = std::array::from_fn(|k| {
            let (a, b) = (p[(k + 1) % 3], p[(k + 2) % 3]);
            (a.1 == b.1 && b.0 > a.0) || b.1 < a.1
        });
        let colours = t.map(|v| v.color.to_array().map(f32::from));
        for y in y0..y1 {
            for x in x0..x1 {
                let at = (x as f32 + 0.5, y as f32 + 0.5);
                let w: [f32; 3] = std::array::from_fn(|k| cross(p[(k + 1) % 3], p[(k + 2) % 3], at));
                if (0..3).any(|k| w[k] < 0.0 || (w[k] == 0.0 && !owns[k])) {
                    continue;
                }
                let w = w.map(|v| v / area);
                let mix = |f: &dyn Fn(usize) -> f32| w[0] * f(0) + w[1] * f(1) + w[2] * f(2);
                let texel = texture.sample(Pos2::new(mix(&|k| t[k].uv.x), mix(&|k| t[k].uv.y)));
                let over: [f32; 4] = std::array::from_fn(|c| mix(&|k| colours[k][c]) * texel[c] / 255.0);
                let under = &mut self.pixels[y * self.width + x];
                let left = 1.0 - over[3] / 255.0;
                *under = std::array::from_fn(|c| over[c] + under[c] * left);
            }
        }
    }
}

impl Painter {
    /// The window as it was last drawn.
    pub fn paint(&self, ctx: &egui::Context, output: &egui::FullOutput) -> RgbaImage {
        let per_point = output.pixels_per_point;
        let size = ctx.content_rect().size() * per_point;
        let (width, height) = (size.x.round() as usize, size.y.round() as usize);
        let mut sheet = Sheet { pixels: vec![[0.0, 0.0, 0.0, 255.0]; width * height], width, height };
        let textures = self.textures.borrow();
        for part in ctx.tessellate(output.shapes.clone(), per_point) {
            let Primitive::Mesh(mesh) = part.primitive else { continue };
            let Some(texture) = textures.get(&mesh.texture_id) else { continue };
            let c = part.clip_rect;
            let clip = [c.min.x, c.min.y, c.max.x, c.max.y].map(|v| (v * per_point).round());
            for i in mesh.indices.chunks_exact(3) {
                let t = [0, 1, 2].map(|k| &mesh.vertices[i[k] as usize]);
                sheet.triangle(t, per_point, clip, texture);
            }
        }
        let bytes = sheet.pixels.iter().flat_map(|p| {
            let c = Color32::from_rgb(p[0].round() as u8, p[1].round() as u8, p[2].round() as u8);
            c.to_array()
        });
        RgbaImage::from_raw(width as u32, height as u32, bytes.collect()).unwrap()
    }
}
