//! The sheet's marks on screen.

use super::canvas::Camera2d;
use super::state::Editor;
use super::theme::{bold_family, colour};
use egui::{Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, Shape as Paint, Stroke, pos2, vec2};
use glam::DVec2;
use std::collections::BTreeSet;
use std::sync::Arc;
use tapemark_core::edit::ItemRef;
use tapemark_core::plan::{Location, Shared, Shot};
use tapemark_core::units::LengthUnit;
use tapemark_sheet::{Align, Layer, Line, Mark, PlaceDrawn, PlanLook, Shape, Weight, plan_marks};

/// Points on screen a millimetre of paper takes.
pub const PX_PER_MM: f32 = 4.6;

/// Paints marks given in plan metres.
pub fn paint(painter: &Painter, marks: &[Mark], place: impl Fn(DVec2) -> Pos2) {
    let seen = painter.clip_rect().expand(4.0);
    for mark in marks {
        if let Shape::Text { .. } = mark.shape {
            write(painter, mark, &place);
        } else {
            lines(mark, seen, &place, &mut |shape| {
                painter.add(shape);
            });
        }
    }
}

/// The fills and strokes of a mark, if any of it is seen.
fn lines(mark: &Mark, seen: Rect, place: &impl Fn(DVec2) -> Pos2, add: &mut impl FnMut(Paint)) {
    let (points, fill, line, closed) = match &mark.shape {
        Shape::Polyline { points, line } => (points, &None, Some(line), false),
        Shape::Polygon { points, fill, line } => (points, fill, line.as_ref(), true),
        Shape::Text { .. } | Shape::Raster { .. } => return,
    };
    let mut points: Vec<Pos2> = points.iter().map(|p| place(*p)).collect();
    if !seen.intersects(Rect::from_points(&points)) {
        return;
    }
    if let Some(ink) = fill {
        add(filled(&points, colour(*ink)));
    }
    if let Some(line) = line {
        if closed && let Some(first) = points.first().copied() {
            points.push(first);
        }
        stroke(points, line, add);
    }
}

/// A drawing as it was painted: fills and strokes as meshes, words to be written anew.
pub(crate) struct Painted {
    runs: Vec<(Layer, Run)>,
}

enum Run {
    Mesh(Arc<Mesh>),
    Words(usize),
}

impl Painted {
    /// Paints marks without putting them on the screen.
    fn of(painter: &Painter, marks: &[Mark], place: impl Fn(DVec2) -> Pos2) -> Painted {
        let seen = painter.clip_rect().expand(4.0);
        let ctx = painter.ctx();
        // Nothing here samples the font's texture: words are left out, and there are no discs.
        let mut to_mesh = egui::epaint::Tessellator::new(
            ctx.pixels_per_point(),
            ctx.tessellation_options(|o| *o),
            [1, 1],
            Vec::new(),
        );
        to_mesh.set_clip_rect(seen);
        let mut runs: Vec<(Layer, Run)> = Vec::new();
        let mut mesh = Mesh::default();
        for (i, mark) in marks.iter().enumerate() {
            let words = matches!(mark.shape, Shape::Text { .. });
            if !words {
                lines(mark, seen, &place, &mut |shape| to_mesh.tessellate_shape(shape, &mut mesh));
            }
            let ends = words || marks.get(i + 1).is_none_or(|next| next.layer != mark.layer);
            if ends && !mesh.is_empty() {
                runs.push((mark.layer, Run::Mesh(Arc::new(std::mem::take(&mut mesh)))));
            }
            if words {
                runs.push((mark.layer, Run::Words(i)));
            }
        }
        Painted { runs }
    }

    /// Puts on the screen what lies in some layers.
    fn paint(&self, painter: &Painter, marks: &[Mark], layer: Layer, place: &impl Fn(DVec2) -> Pos2) {
        for (of, run) in &self.runs {
            match run {
                _ if *of != layer => {}
                Run::Mesh(mesh) => {
                    painter.add(mesh.clone());
                }
                Run::Words(i) => write(painter, &marks[*i], place),
            }
        }
    }
}

/// Writes the words of a mark.
fn write(painter: &Painter, mark: &Mark, place: &impl Fn(DVec2) -> Pos2) {
    let Shape::Text { at, text, size_mm, ink, weight, align, turn_deg, halo } = &mark.shape else { return };
    let (at, ink, halo) = (place(*at), colour(*ink), halo.map(colour));
    let family = if *weight == Weight::Bold { bold_family() } else { egui::FontFamily::Proportional };
    let known = painter.ctx().fonts(|f| f.families().contains(&family));
    let size = (*size_mm as f32 * PX_PER_MM).max(9.0);
    let font = FontId::new(size, if known { family } else { egui::FontFamily::Proportional });
    let galley = painter.layout_no_wrap(text.clone(), font, ink);
    let size = galley.size();
    let left = match align {
        Align::Left => 0.0,
        Align::Middle => -size.x * 0.5,
        Align::Right => -size.x,
    };
    if *turn_deg == 0.0 {
        let rect = Rect::from_min_size(at + vec2(left, -size.y * 0.5), size);
        if let Some(h) = halo {
            painter.rect_filled(rect.expand2(vec2(2.0, -1.0)), 3.0, h.gamma_multiply(0.72));
        }
        painter.galley(rect.min, galley, ink);
        return;
    }
    let angle = (*turn_deg as f32).to_radians();
    let turned = egui::emath::Rot2::from_angle(angle);
    let offset = turned * vec2(left, -size.y * 0.5);
    if let Some(h) = halo {
        let corners =
            [vec2(-2.0, 1.0), vec2(size.x + 2.0, 1.0), vec2(size.x + 2.0, size.y - 1.0), vec2(-2.0, size.y - 1.0)]
                .map(|c| at + turned * (vec2(left, -size.y * 0.5) + c));
        painter.add(Paint::convex_polygon(corners.to_vec(), h.gamma_multiply(0.72), Stroke::NONE));
    }
    painter.add(egui::epaint::TextShape::new(at + offset, galley, ink).with_angle(angle));
}

fn stroke(points: Vec<Pos2>, line: &Line, add: &mut impl FnMut(Paint)) {
    let stroke = Stroke::new((line.width_mm as f32 * PX_PER_MM).max(1.0), colour(line.ink));
    match line.dash_mm {
        None => add(Paint::line(points, stroke)),
        Some([dash, gap]) => {
            Paint::dashed_line(&points, stroke, (dash as f32 * PX_PER_MM).max(2.0), (gap as f32 * PX_PER_MM).max(2.0))
                .into_iter()
                .for_each(add);
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

/// The place as drawn for a gesture that leaves it as it is.
pub(crate) struct KeptPlace {
    look: PlanLook,
    unit: LengthUnit,
    location: Shared<Location>,
    drawn: PlaceDrawn,
    /// As painted, and where the window looked.
    painted: Option<(Camera2d, f32, Painted)>,
}

impl KeptPlace {
    /// Sees to it that it has been painted for where the window looks now.
    fn be_painted(&mut self, painter: &Painter, view: Camera2d) {
        let per_point = painter.ctx().pixels_per_point();
        if !self.painted.as_ref().is_some_and(|(at, scale, _)| *at == view && *scale == per_point) {
            let painted = Painted::of(painter, self.drawn.marks(), |p| view.to_screen(p));
            self.painted = Some((view, per_point, painted));
        }
    }
}

impl Editor {
    /// Paints the plan. In a gesture that leaves the place as it is, or moves pieces in it, the place is drawn and
    /// painted once.
    pub(super) fn paint_marks(&mut self, painter: &Painter, look: &PlanLook) {
        let shot = self.current_shot().clone();
        let view = self.view;
        let place = |p| view.to_screen(p);
        let mut kept = if self.moving() { Some(self.kept_place(&shot, look)) } else { None };
        let marks = match &kept {
            Some(k) => k.drawn.shot_over((&self.plan, &shot), &self.scene, &self.facts, look),
            None => plan_marks(&self.plan, &shot, &self.scene, &self.facts, look),
        };
        if let Some(k) = &mut kept {
            k.be_painted(painter, view);
        }
        for layer in Layer::ALL {
            if layer == Layer::Light {
                self.paint_floor(painter);
            }
            if let Some(k) = &kept
                && let Some((.., painted)) = &k.painted
            {
                painted.paint(painter, k.drawn.marks(), layer, &place);
            }
            let (from, to) = (marks.partition_point(|m| m.layer < layer), marks.partition_point(|m| m.layer <= layer));
            paint(painter, &marks[from..to], place);
        }
        self.place = kept;
    }

    fn kept_place(&mut self, shot: &Shot, look: &PlanLook) -> KeptPlace {
        let apart: BTreeSet<ItemRef> =
            self.selected.iter().filter(|i| matches!(i, ItemRef::Piece(_))).cloned().collect();
        let stays = |then: &Location, now: &Location| {
            let mut all = then.pieces.iter().zip(&now.pieces);
            then.wall_thickness_m == now.wall_thickness_m
                && (&then.rooms, &then.openings, &then.outlets) == (&now.rooms, &now.openings, &now.outlets)
                && then.pieces.len() == now.pieces.len()
                && all.all(|(a, b)| a == b || apart.contains(&ItemRef::Piece(a.id.clone())))
        };
        if let Some(k) = self.place.take()
            && k.look == *look
            && k.unit == self.plan.length_unit
            && k.drawn.apart() == &apart
            && (Shared::is_same(&k.location, &self.plan.location) || stays(&k.location, &self.plan.location))
        {
            return k;
        }
        KeptPlace {
            look: look.clone(),
            unit: self.plan.length_unit,
            location: self.plan.location.clone(),
            drawn: PlaceDrawn::of((&self.plan, shot), &self.scene, &self.facts, look, &apart),
            painted: None,
        }
    }
}
