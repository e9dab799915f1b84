//! PDF through krilla; text stays text, with its typeface embedded as a subset.

use crate::SheetError;
use crate::font::{BOLD_TTF, REGULAR_TTF, text_width_mm};
use crate::marks::{Align, Ink, Line, Mark, Shape, Weight};
use crate::page::Page;
use crate::svg::CAP_HALF;
use crate::typefaces::{Face, Run, Typeface, runs};
use glam::DVec2;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Rect, Size, Transform};
use krilla::image::Image;
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};
use std::sync::Arc;
use tapemark_words::say;

/// Points in a millimetre.
const PT: f64 = 72.0 / 25.4;

/// Writes pages as one PDF in real size.
///
/// # Errors
/// When a page has no size or the writer fails.
pub fn to_pdf(pages: &[Page]) -> Result<Vec<u8>, SheetError> {
    let font = |data: &'static [u8]| {
        Font::new(data.to_vec().into(), 0).ok_or_else(|| SheetError(say!("the-typeface-could-not-be-read").into()))
    };
    let mut fonts = Fonts { own: [font(REGULAR_TTF)?, font(BOLD_TTF)?], system: Vec::new() };
    let mut document = krilla::Document::new();
    if let Some(first) = pages.first() {
        document.set_metadata(Metadata::new().title(first.title.clone()).creator("Tapemark".into()));
    }
    for page in pages {
        let settings = PageSettings::from_wh((page.width_mm * PT) as f32, (page.height_mm * PT) as f32)
            .ok_or_else(|| SheetError(say!("the-page-has-no-size").into()))?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        surface.push_transform(&Transform::from_scale(PT as f32, PT as f32));
        for mark in &page.marks {
            draw(&mut surface, mark, &mut fonts);
        }
        if let Some([l, t, r, b]) = page.clip
            && let Some(clip) = rectangle(l, t, r, b)
        {
            surface.push_clip_path(&clip, &FillRule::NonZero);
            for mark in &page.clipped {
                draw(&mut surface, mark, &mut fonts);
            }
            surface.pop();
        }
        surface.pop();
        surface.finish();
        sheet.finish();
    }
    document.finish().map_err(|e| SheetError(say!("the-pdf-could-not-be-written", e = format!("{:?}", e))))
}

fn rectangle(l: f64, t: f64, r: f64, b: f64) -> Option<Path> {
    let mut builder = PathBuilder::new();
    builder.push_rect(Rect::from_ltrb(l as f32, t as f32, r as f32, b as f32)?);
    builder.finish()
}

fn fill(ink: Ink) -> Fill {
    Fill { paint: rgb::Color::new(ink.r, ink.g, ink.b).into(), opacity: opacity(ink), rule: FillRule::NonZero }
}

fn opacity(ink: Ink) -> NormalizedF32 {
    NormalizedF32::new(f32::from(ink.a) / 255.0).unwrap_or(NormalizedF32::ONE)
}

fn stroke(line: &Line) -> Stroke {
    Stroke {
        paint: rgb::Color::new(line.ink.r, line.ink.g, line.ink.b).into(),
        width: line.width_mm as f32,
        opacity: opacity(line.ink),
        line_join: LineJoin::Round,
        dash: line.dash_mm.map(|[dash, gap]| StrokeDash { array: vec![dash as f32, gap as f32], offset: 0.0 }),
        ..Stroke::default()
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Ends {
    Open,
    Closed,
}

fn path(points: &[DVec2], ends: Ends) -> Option<Path> {
    let mut builder = PathBuilder::new();
    let first = points.first()?;
    builder.move_to(first.x as f32, first.y as f32);
    for p in &points[1..] {
        builder.line_to(p.x as f32, p.y as f32);
    }
    if ends == Ends::Closed {
        builder.close();
    }
    builder.finish()
}

/// Typefaces of a document: each system's is read once.
struct Fonts {
    own: [Font; 2],
    system: Vec<(Arc<Typeface>, Font)>,
}

impl Fonts {
    fn of(&mut self, run: &Run<'_>, weight: Weight) -> Font {
        let own = &self.own[usize::from(weight == Weight::Bold)];
        let Face::System(face) = &run.face else { return own.clone() };
        if let Some((_, font)) = self.system.iter().find(|(f, _)| Arc::ptr_eq(f, face)) {
            return font.clone();
        }
        let font = Font::new(face.data.clone().into(), face.index).unwrap_or_else(|| own.clone());
        self.system.push((face.clone(), font.clone()));
        font
    }
}

fn draw(surface: &mut Surface<'_>, mark: &Mark, fonts: &mut Fonts) {
    match &mark.shape {
        Shape::Polyline { points, line } => {
            if let Some(p) = path(points, Ends::Open) {
                surface.set_fill(None);
                surface.set_stroke(Some(stroke(line)));
                surface.draw_path(&p);
            }
        }
        Shape::Polygon { points, fill: inside, line } => {
            if let Some(p) = path(points, Ends::Closed)
                && (inside.is_some() || line.is_some())
            {
                surface.set_fill(inside.map(fill));
                surface.set_stroke(line.as_ref().map(stroke));
                surface.draw_path(&p);
            }
        }
        Shape::Text { at, text, size_mm, ink, weight, align, turn_deg, halo } => {
            let width = text_width_mm(text, *size_mm, *weight);
            let left = match align {
                Align::Left => 0.0,
                Align::Middle => -width * 0.5,
                Align::Right => -width,
            };
            surface.push_transform(&Transform::from_translate(at.x as f32, at.y as f32));
            surface.push_transform(&Transform::from_rotate(*turn_deg as f32));
            if let Some(h) = halo {
                // The halo is a plain box: stroked text would be text twice for whoever reads the file.
                let (pad, half) = (size_mm * 0.1, size_mm * 0.5);
                if let Some(p) = rectangle(left - pad, -half, left + width + pad, half) {
                    surface.set_stroke(None);
                    surface.set_fill(Some(fill(h.faded(0.8))));
                    surface.draw_path(&p);
                }
            }
            surface.set_stroke(None);
            surface.set_fill(Some(fill(*ink)));
            let mut from = left;
            for run in runs(text, *weight) {
                let point = Point::from_xy(from as f32, (size_mm * CAP_HALF) as f32);
                let direction = match run.right_to_left {
                    true => TextDirection::RightToLeft,
                    false => TextDirection::LeftToRight,
                };
                surface.draw_text(point, fonts.of(&run, *weight), *size_mm as f32, run.text, false, direction);
                from += run.width_em * size_mm;
            }
            surface.pop();
            surface.pop();
        }
        Shape::Raster { origin, cell, nx, ny, rgba } => {
            if *nx == 0 || *ny == 0 {
                return;
            }
            let image = Image::from_rgba8(rgba.clone(), *nx as u32, *ny as u32);
            if let Some(size) = Size::from_wh((*nx as f64 * cell) as f32, (*ny as f64 * cell) as f32) {
                surface.push_transform(&Transform::from_translate(origin.x as f32, origin.y as f32));
                surface.draw_image(image, size);
                surface.pop();
            }
        }
    }
}
