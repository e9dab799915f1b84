//! Small drawings for tools and actions, after the drawings of the plan: walls as bars, a door by its swing, a person
//! from above.

use super::state::Tool;
use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, pos2};
use std::f32::consts::{FRAC_PI_2, PI, TAU};

/// What a drawing shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Icon {
    Tool(Tool),
    Undo,
    Redo,
    Play,
    Pause,
    Find,
    Open,
}

/// Side of the square that the drawings are told in.
const SIDE: f32 = 20.0;

struct Pen<'a> {
    painter: &'a Painter,
    rect: Rect,
    ink: Color32,
}

impl Pen<'_> {
    fn at(&self, (x, y): (f32, f32)) -> Pos2 {
        let scale = self.rect.width() / SIDE;
        pos2(self.rect.left() + x * scale, self.rect.top() + y * scale)
    }
    fn stroke(&self, width: f32) -> Stroke {
        Stroke::new(width * self.rect.width() / SIDE, self.ink)
    }
    fn line(&self, points: &[(f32, f32)], width: f32) {
        self.painter.add(Shape::line(points.iter().map(|p| self.at(*p)).collect(), self.stroke(width)));
    }
    fn ring(&self, points: &[(f32, f32)], width: f32) {
        self.painter.add(Shape::closed_line(points.iter().map(|p| self.at(*p)).collect(), self.stroke(width)));
    }
    fn fill(&self, points: &[(f32, f32)]) {
        let points = points.iter().map(|p| self.at(*p)).collect();
        self.painter.add(Shape::convex_polygon(points, self.ink, Stroke::NONE));
    }
    fn arc(&self, (x, y): (f32, f32), (rx, ry): (f32, f32), from: f32, to: f32, width: f32) {
        let on = |i: usize| {
            let (s, c) = (from + (to - from) * i as f32 / 24.0).sin_cos();
            (x + rx * c, y + ry * s)
        };
        self.line(&(0..=24).map(on).collect::<Vec<_>>(), width);
    }
    fn disc(&self, centre: (f32, f32), radius: f32) {
        self.painter.circle_filled(self.at(centre), radius * self.rect.width() / SIDE, self.ink);
    }
}

/// Draws an icon into a square.
pub(crate) fn paint(painter: &Painter, rect: Rect, icon: Icon, ink: Color32) {
    let pen = Pen { painter, rect, ink };
    match icon {
        Icon::Tool(Tool::Select) => pen
            .ring(&[(5.0, 3.0), (5.0, 16.0), (8.4, 12.8), (10.8, 17.6), (13.0, 16.5), (10.7, 11.9), (15.2, 11.6)], 1.5),
        Icon::Tool(Tool::Room) => {
            pen.line(&[(12.0, 4.0), (3.5, 4.0), (3.5, 16.0), (16.5, 16.0), (16.5, 8.0)], 2.2);
            pen.disc((16.5, 4.0), 1.6);
        }
        Icon::Tool(Tool::Door) => {
            pen.line(&[(2.0, 15.5), (5.5, 15.5)], 2.4);
            pen.line(&[(14.5, 15.5), (18.0, 15.5)], 2.4);
            pen.line(&[(5.5, 15.5), (5.5, 5.0)], 1.6);
            pen.arc((5.5, 15.5), (9.5, 10.0), -FRAC_PI_2, 0.0, 1.2);
        }
        Icon::Tool(Tool::Window) => {
            pen.ring(&[(2.0, 7.0), (18.0, 7.0), (18.0, 13.0), (2.0, 13.0)], 1.4);
            pen.line(&[(2.0, 10.0), (18.0, 10.0)], 1.2);
        }
        Icon::Tool(Tool::Passage) => {
            pen.ring(&[(2.0, 7.5), (6.5, 7.5), (6.5, 12.5), (2.0, 12.5)], 1.5);
            pen.ring(&[(13.5, 7.5), (18.0, 7.5), (18.0, 12.5), (13.5, 12.5)], 1.5);
            pen.line(&[(10.0, 16.5), (10.0, 4.5)], 1.2);
            pen.line(&[(8.0, 6.5), (10.0, 4.3), (12.0, 6.5)], 1.2);
        }
        Icon::Tool(Tool::Piece) => {
            pen.ring(&[(2.5, 5.0), (17.5, 5.0), (17.5, 15.5), (2.5, 15.5)], 1.4);
            pen.line(&[(2.5, 8.2), (17.5, 8.2)], 1.2);
            pen.line(&[(5.5, 8.2), (5.5, 15.5)], 1.2);
            pen.line(&[(14.5, 8.2), (14.5, 15.5)], 1.2);
            pen.line(&[(10.0, 8.2), (10.0, 15.5)], 1.0);
        }
        Icon::Tool(Tool::Board) => {
            pen.ring(&[(3.0, 12.0), (15.0, 4.0), (16.5, 6.2), (4.5, 14.2)], 1.4);
            pen.line(&[(10.5, 15.5), (13.8, 11.2)], 1.2);
            pen.line(&[(14.2, 17.0), (16.0, 12.4)], 1.2);
        }
        Icon::Tool(Tool::Person) => {
            pen.arc((10.0, 11.0), (8.0, 4.4), 0.0, TAU, 1.4);
            pen.disc((10.0, 10.6), 3.3);
            pen.line(&[(10.0, 6.8), (10.0, 3.0)], 1.4);
        }
        Icon::Tool(Tool::Camera) => {
            pen.ring(&[(7.0, 11.0), (13.0, 11.0), (13.0, 18.0), (7.0, 18.0)], 1.4);
            pen.fill(&[(8.4, 8.0), (11.6, 8.0), (11.6, 11.0), (8.4, 11.0)]);
            pen.line(&[(8.6, 7.6), (3.5, 2.2)], 1.2);
            pen.line(&[(11.4, 7.6), (16.5, 2.2)], 1.2);
        }
        Icon::Tool(Tool::Lamp(_)) => {
            pen.ring(&[(7.2, 3.0), (12.8, 3.0), (15.0, 9.0), (5.0, 9.0)], 1.4);
            for (from, to) in [((6.0, 11.6), (3.6, 16.8)), ((10.0, 11.6), (10.0, 17.4)), ((14.0, 11.6), (16.4, 16.8))] {
                pen.line(&[from, to], 1.3);
            }
        }
        Icon::Tool(Tool::Outlet) => {
            pen.arc((10.0, 10.0), (7.0, 7.0), 0.0, TAU, 1.4);
            pen.line(&[(7.6, 7.6), (7.6, 12.4)], 1.6);
            pen.line(&[(12.4, 7.6), (12.4, 12.4)], 1.6);
        }
        Icon::Undo | Icon::Redo => {
            let x = |x: f32| if icon == Icon::Undo { x } else { SIDE - x };
            let (from, to) = if icon == Icon::Undo { (-FRAC_PI_2, FRAC_PI_2) } else { (-FRAC_PI_2, -FRAC_PI_2 - PI) };
            pen.arc((x(11.0), 11.0), (4.8, 4.8), from, to, 1.5);
            pen.line(&[(x(11.0), 6.2), (x(4.5), 6.2)], 1.5);
            pen.line(&[(x(7.6), 3.2), (x(4.4), 6.2), (x(7.6), 9.2)], 1.5);
        }
        Icon::Play => pen.fill(&[(7.0, 4.5), (16.0, 10.0), (7.0, 15.5)]),
        Icon::Find => {
            pen.arc((8.6, 8.6), (5.2, 5.2), 0.0, TAU, 1.5);
            pen.line(&[(12.4, 12.4), (17.0, 17.0)], 1.8);
        }
        Icon::Open => pen.fill(&[(4.0, 7.0), (16.0, 7.0), (10.0, 14.0)]),
        Icon::Pause => {
            pen.fill(&[(6.0, 5.0), (8.8, 5.0), (8.8, 15.0), (6.0, 15.0)]);
            pen.fill(&[(11.2, 5.0), (14.0, 5.0), (14.0, 15.0), (11.2, 15.0)]);
        }
    }
}

/// Draws an icon at the left end of a control.
pub(crate) fn beside(ui: &egui::Ui, control: Rect, icon: Icon) {
    let at = pos2(control.left() + 14.0, control.center().y);
    paint(ui.painter(), Rect::from_center_size(at, egui::Vec2::splat(14.0)), icon, ui.visuals().weak_text_color());
}

/// A button that shows a drawing; its name is told to those who point at it or have it read out.
pub(crate) fn button(
    ui: &mut egui::Ui,
    side: f32,
    icon: Icon,
    (on, enabled): (bool, bool),
    name: &str,
) -> egui::Response {
    let sense = if enabled { egui::Sense::click() } else { egui::Sense::hover() };
    let (rect, response) = ui.allocate_exact_size(egui::Vec2::splat(side), sense);
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, enabled, on, name));
    let look = ui.style().interact_selectable(&response, on);
    let v = ui.visuals();
    let ink = match (on, enabled) {
        (true, _) => v.selection.stroke.color,
        (false, true) => v.text_color(),
        (false, false) => v.weak_text_color().gamma_multiply(0.6),
    };
    if on {
        ui.painter().rect_filled(rect, 6.0, v.selection.bg_fill);
    } else if enabled && (response.hovered() || response.has_focus()) {
        ui.painter().rect_stroke(rect.shrink(0.5), 6.0, look.bg_stroke, egui::StrokeKind::Inside);
    }
    paint(ui.painter(), Rect::from_center_size(rect.center(), egui::Vec2::splat(20.0_f32.min(side - 6.0))), icon, ink);
    response
}
