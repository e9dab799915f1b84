//! What the lens sees, as a drawing: the picture with lines laid over it.

use crate::marks::{Align, Ink, Layer, Line, Mark, Shape, Weight};
use crate::page::Page;
use crate::palette::level_colour;
use glam::DVec2;
use tapemark_core::frame::{Developed, Guide, Overlay};

/// Width of a frame drawn by itself, millimetres.
pub const FRAME_WIDTH_MM: f64 = 160.0;

/// A level in stops from middle grey as a colour: the ramp of the light over the floor, four stops down to four
/// up.
#[must_use]
pub fn stops_colour(stops: f64) -> [u8; 3] {
    let ink = level_colour((stops + 4.0) / 8.0);
    [ink.r, ink.g, ink.b]
}

/// The picture with its guides in a box on a page: corner and width in millimetres, y down.
#[must_use]
pub fn frame_marks(picture: &Developed, guides: &[Guide], corner_mm: DVec2, width_mm: f64) -> Vec<Mark> {
    let cell = width_mm / picture.width as f64;
    let size = DVec2::new(picture.width as f64, picture.height as f64) * cell;
    let mut out = vec![Mark::new(
        Layer::Light,
        Shape::Raster { origin: corner_mm, cell, nx: picture.width, ny: picture.height, rgba: picture.rgba.clone() },
    )];
    out.extend(guide_marks(guides, corner_mm, size));
    out
}

/// The guides alone, in a box on a page: corner and size in millimetres, y down.
#[must_use]
pub fn guide_marks(guides: &[Guide], corner_mm: DVec2, size_mm: DVec2) -> Vec<Mark> {
    let mut out = Vec::with_capacity(guides.len() * 3);
    let place = |p: DVec2| corner_mm + DVec2::new((p.x + 1.0) * 0.5, (1.0 - p.y) * 0.5) * size_mm;
    for g in guides {
        let ink = guide_ink(g.overlay);
        let points: Vec<DVec2> = g.points.iter().map(|p| place(*p)).collect();
        let first = points[0];
        // Dark under light, so that a line shows on any picture.
        let under = Line::new(Ink::rgb(0, 0, 0).faded(0.45), 0.55);
        out.push(Mark::new(Layer::Sight, Shape::Polyline { points: points.clone(), line: under }));
        out.push(Mark::new(Layer::Sight, Shape::Polyline { points, line: Line::new(ink, 0.25) }));
        if !g.text.is_empty() {
            out.push(Mark::new(
                Layer::Words,
                Shape::Text {
                    at: first + DVec2::new(1.2, 2.0),
                    text: g.text.clone(),
                    size_mm: 2.3,
                    ink,
                    weight: Weight::Regular,
                    align: Align::Left,
                    turn_deg: 0.0,
                    halo: Some(Ink::rgb(0, 0, 0)),
                },
            ));
        }
    }
    out
}

fn guide_ink(overlay: Overlay) -> Ink {
    match overlay {
        Overlay::Thirds => Ink::rgb(230, 230, 230),
        Overlay::SafeArea => Ink::rgb(190, 190, 190),
        Overlay::HeadRoom => Ink::rgb(240, 228, 66),
        Overlay::Horizon => Ink::rgb(86, 180, 233),
        Overlay::Focus => Ink::rgb(230, 159, 0),
    }
}

/// A page that holds nothing but the picture and its guides.
#[must_use]
pub fn frame_page(picture: &Developed, guides: &[Guide]) -> Page {
    let height_mm = FRAME_WIDTH_MM * picture.height as f64 / picture.width as f64;
    Page {
        title: String::new(),
        width_mm: FRAME_WIDTH_MM,
        height_mm,
        paper: Ink::rgb(0, 0, 0),
        marks: frame_marks(picture, guides, DVec2::ZERO, FRAME_WIDTH_MM),
        clip: None,
        clipped: Vec::new(),
        scale_denominator: 1.0,
    }
}
