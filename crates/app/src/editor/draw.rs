//! The sheet's marks on screen.

use super::state::Editor;
use super::theme::{bold_family, colour};
use egui::{Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, Shape as Paint, Stroke, pos2, vec2};
use glam::DVec2;
use std::collections::BTreeSet;
use tapemark_core::edit::ItemRef;
use tapemark_core::plan::{Location, Shot};
use tapemark_sheet::{Align, Line, Mark, PlaceDrawn, PlanLook, Shape, Weight, plan_marks};

/// Points on screen a millimetre of paper takes.
pub const PX_PER_MM: f32 = 4.6;

/// Paints marks given in plan metres.
pub fn paint(painter: &Painter, marks: &[Mark], place: impl Fn(DVec2) -> Pos2) {
    let seen = painter.clip_rect().expand(4.0);
    let off = |points: &[Pos2]| !seen.intersects(Rect::from_points(points));
    for mark in marks {
        match &mark.shape {
            Shape::Polyline { points, line } => {
                let points: Vec<Pos2> = points.iter().map(|p| place(*p)).collect();
                if !off(&points) {
                    stroke(painter, points, line);
                }
            }
            Shape::Polygon { points, fill, line } => {
                let points: Vec<Pos2> = points.iter().map(|p| place(*p)).collect();
                if off(&points) {
                    continue;
                }
                if let Some(ink) = fill {
                    painter.add(filled(&points, colour(*ink)));
                }
                if let Some(line) = line {
                    let mut ring = points;
                    if let Some(first) = ring.first().copied() {
                        ring.push(first);
                    }
                    stroke(painter, ring, line);
                }
            }
            Shape::Text { at, text, size_mm, ink, weight, align, turn_deg, halo } => {
                let words = Words {
                    text,
                    size: (*size_mm as f32 * PX_PER_MM).max(9.0),
                    ink: colour(*ink),
                    weight: *weight,
                    align: *align,
                    turn_deg: *turn_deg as f32,
                    halo: halo.map(colour),
                };
                write(painter, place(*at), &words);
            }
            Shape::Raster { .. } => {}
        }
    }
}

struct Words<'a> {
    text: &'a str,
    size: f32,
    ink: Color32,
    weight: Weight,
    align: Align,
    turn_deg: f32,
    halo: Option<Color32>,
}

fn write(painter: &Painter, at: Pos2, w: &Words<'_>) {
    let family = if w.weight == Weight::Bold { bold_family() } else { egui::FontFamily::Proportional };
    let known = painter.ctx().fonts(|f| f.families().contains(&family));
    let font = FontId::new(w.size, if known { family } else { egui::FontFamily::Proportional });
    let galley = painter.layout_no_wrap(w.text.to_string(), font, w.ink);
    let size = galley.size();
    let left = match w.align {
        Align::Left => 0.0,
        Align::Middle => -size.x * 0.5,
        Align::Right => -size.x,
    };
    if w.turn_deg == 0.0 {
        let rect = Rect::from_min_size(at + vec2(left, -size.y * 0.5), size);
        if let Some(h) = w.halo {
            painter.rect_filled(rect.expand2(vec2(2.0, -1.0)), 3.0, h.gamma_multiply(0.72));
        }
        painter.galley(rect.min, galley, w.ink);
        return;
    }
    let angle = w.turn_deg.to_radians();
    let turned = egui::emath::Rot2::from_angle(angle);
    let offset = turned * vec2(left, -size.y * 0.5);
    if let Some(h) = w.halo {
        let corners =
            [vec2(-2.0, 1.0), vec2(size.x + 2.0, 1.0), vec2(size.x + 2.0, size.y - 1.0), vec2(-2.0, size.y - 1.0)]
                .map(|c| at + turned * (vec2(left, -size.y * 0.5) + c));
        painter.add(Paint::convex_polygon(corners.to_vec(), h.gamma_multiply(0.72), Stroke::NONE));
    }
    painter.add(egui::epaint::TextShape::new(at + offset, galley, w.ink).with_angle(angle));
}

fn stroke(painter: &Painter, points: Vec<Pos2>, line: &Line) {
    let stroke = Stroke::new((line.width_mm as f32 * PX_PER_MM).max(1.0), colour(line.ink));
    match line.dash_mm {
        None => {
            painter.add(Paint::line(points, stroke));
        }
        Some([dash, gap]) => {
            painter.extend(Paint::dashed_line(
                &points,
                stroke,
                (dash as f32 * PX_PER_MM).max(2.0),
                (gap as f32 * PX_PER_MM).max(2.0),
            ));
        }
    }
}

fn is_convex(points: &[Pos2]) -> bool {
    let n = points.len();
    let turn = |i: usize| {
        let (a, b, c) = (points[i], points[(i + 1) % n], points[(i + 2) % n]);
        (b - a).x * (c - b).y - (b - a).y * (c - b).x
    };
    // A star turns one way all the time as well; no outline here has more corners than it needs for that.
    (3..=40).contains(&n) && ((0..n).all(|i| turn(i) >= 0.0) || (0..n).all(|i| turn(i) <= 0.0)) && winds_once(points)
}

fn winds_once(points: &[Pos2]) -> bool {
    let n = points.len();
    let angle = |i: usize| {
        let (v, w) = (points[(i + 1) % n] - points[i], points[(i + 2) % n] - points[(i + 1) % n]);
        (v.x * w.y - v.y * w.x).atan2(v.x * w.x + v.y * w.y)
    };
    ((0..n).map(angle).sum::<f32>().abs() - std::f32::consts::TAU).abs() < 0.5
}

/// A filled polygon that need not be convex.
pub fn filled(points: &[Pos2], ink: Color32) -> Paint {
    if is_convex(points) {
        let mut mesh = Mesh::default();
        for p in points {
            mesh.colored_vertex(*p, ink);
        }
        for i in 2..points.len() as u32 {
            mesh.add_triangle(0, i - 1, i);
        }
        return Paint::mesh(mesh);
    }
    let flat: Vec<f64> = points.iter().flat_map(|p| [f64::from(p.x), f64::from(p.y)]).collect();
    let mut mesh = Mesh::default();
    if let Ok(triangles) = earcutr::earcut(&flat, &[], 2) {
        for p in points {
            mesh.colored_vertex(*p, ink);
        }
        for t in triangles.chunks_exact(3) {
            mesh.add_triangle(t[0] as u32, t[1] as u32, t[2] as u32);
        }
    }
    Paint::mesh(mesh)
}

/// The light map as a picture.
pub fn light(painter: &Painter, texture: &egui::TextureHandle, corners: [Pos2; 2]) {
    let rect = Rect::from_two_pos(corners[0], corners[1]);
    painter.image(texture.id(), rect, Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0)), super::theme::tint());
}

/// Plain text for overlays.
pub fn label(painter: &Painter, at: Pos2, anchor: Align2, text: &str, ink: Color32, behind: Color32) {
    let galley = painter.layout_no_wrap(text.to_string(), FontId::proportional(13.0), ink);
    let rect = anchor.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand(4.0), 4.0, behind);
    painter.galley(rect.min, galley, ink);
}

impl Editor {
    /// The marks of the plan. In a gesture that leaves the place as it is, or moves pieces in it, the place is drawn
    /// once.
    pub(super) fn drawn(&mut self, shot: &Shot, look: &PlanLook) -> Vec<Mark> {
        if !self.moving() {
            self.place = None;
            return plan_marks(&self.plan, shot, &self.scene, &self.facts, look);
        }
        let apart: BTreeSet<ItemRef> =
            self.selected.iter().filter(|i| matches!(i, ItemRef::Piece(_))).cloned().collect();
        let stays = |then: &Location, now: &Location| {
            let mut all = then.pieces.iter().zip(&now.pieces);
            then.wall_thickness_m == now.wall_thickness_m
                && (&then.rooms, &then.openings, &then.outlets) == (&now.rooms, &now.openings, &now.outlets)
                && then.pieces.len() == now.pieces.len()
                && all.all(|(a, b)| a == b || apart.contains(&ItemRef::Piece(a.id.clone())))
        };
        let current = self.place.as_ref().is_some_and(|(l, unit, at, place)| {
            l == look && *unit == self.plan.length_unit && place.apart() == &apart && stays(at, &self.plan.location)
        });
        let what = (&self.plan, shot);
        if !current {
            let place = PlaceDrawn::of(what, &self.scene, &self.facts, look, &apart);
            self.place = Some((look.clone(), self.plan.length_unit, self.plan.location.clone(), place));
        }
        let place = &self.place.as_ref().expect("just drawn").3;
        place.with_shot(what, &self.scene, &self.facts, look)
    }
}
