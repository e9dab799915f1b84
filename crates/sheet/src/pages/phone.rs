//! A shot on a phone: one tall picture to send to a friend.

use super::flow;
use crate::frame::frame_marks;
use crate::marks::{Align, Flip, Layer, Mark, Weight};
use crate::page::{Crop, Fit, Page, extent, window_frame};
use crate::palette::Palette;
use crate::plan::{PlanLook, plan_marks};
use crate::tables::{Column, seen};
use glam::DVec2;
use tapemark_core::day::WorkedShot;
use tapemark_core::plan::{Clock, Plan};
use tapemark_words::say;

/// Dots an inch at which the page is 1080 pixels wide.
pub const PHONE_DPI: f64 = 1080.0 / WIDTH * 25.4;
/// A page of 9 : 16.
const WIDTH: f64 = 90.0;
const HEIGHT: f64 = 160.0;
const EDGE: f64 = 4.0;

/// A shot for a phone: who, when and where to stand; the plan; what the lens sees.
#[must_use]
pub fn phone_page(plan: &Plan, w: &WorkedShot<'_>, call: Option<Clock>) -> Page {
    let p = Palette::PAPER;
    let mut marks = Vec::new();
    let words = |y: f64, text: &str, size: f64, weight: Weight| {
        flow::words(
            DVec2::new(EDGE, y),
            &crate::font::fitted(text, size, weight, WIDTH - 2.0 * EDGE),
            size,
            weight,
            Align::Left,
            p.ink,
        )
    };
    marks.push(words(6.0, &plan.title, 4.2, Weight::Bold));
    let when = call.map_or(String::new(), |c| say!("from-c", c));
    marks.push(words(
        11.5,
        &say!("shot-size-when", shot = w.shot.name, size = w.shot.size.label(), when),
        3.6,
        Weight::Bold,
    ));
    let mut y = 16.0;
    for line in crate::font::wrapped(&w.shot.description, 2.9, Weight::Regular, WIDTH - 2.0 * EDGE).into_iter().take(3)
    {
        marks.push(words(y, &line, 2.9, Weight::Regular));
        y += 3.8;
    }
    if let Some(frame) = seen(plan, w, 720) {
        let aspect = frame.width as f64 / frame.height as f64;
        let width = (WIDTH - 2.0 * EDGE).min(40.0 * aspect);
        let corner = DVec2::new((WIDTH - width) * 0.5, y);
        marks.extend(frame_marks(&frame, &[], corner, width).into_iter().map(|m| Mark { layer: Layer::Page, ..m }));
        y += width / aspect + 3.0;
    }
    let window = [EDGE, y, WIDTH - EDGE, y + 54.0];
    let fit = Fit::filling(extent(plan, w.shot, Crop::Shot), window);
    let look = PlanLook { dimensions: false, ..PlanLook::paper(fit.mm_per_m) };
    let drawn = plan_marks(plan, w.shot, &w.scene, &w.facts, &look);
    let clipped = drawn.iter().map(|m| m.mapped(|p| fit.place(p), fit.mm_per_m, Flip::Rows)).collect();
    marks.push(window_frame(window));
    let mut column = Column::new(EDGE, window[3] + 2.0, WIDTH - 2.0 * EDGE, HEIGHT - EDGE);
    column.taped_marks(plan, w.shot);
    column.camera(plan, &w.facts);
    marks.append(&mut column.marks);
    Page {
        title: say!("title-shot", title = plan.title, shot = w.shot.name),
        width_mm: WIDTH,
        height_mm: HEIGHT,
        paper: p.paper,
        marks,
        clip: Some(window),
        clipped,
        scale_denominator: fit.denominator,
    }
}
