//! The plan on screen: looking at it, and what the pointer does to it.

use super::command::Command;
use super::draw::{self, PX_PER_MM};
use super::foot::MAP_STRENGTH;
use super::hit::Hit;
use super::rail::{OFF, RAIL_W};
use super::state::{Editor, Tool};
use super::theme::colour;
use super::tools::Drag;
use egui::{Align2, Color32, CursorIcon, PointerButton, Pos2, Rect, Sense, Stroke, pos2, vec2};
use glam::DVec2;
use tapemark_core::edit::ItemRef;
use tapemark_core::geometry::bearing_dir;
use tapemark_core::optics::stops_between;
use tapemark_core::units::{LX_PER_FC, LengthUnit, LevelUnit};
use tapemark_sheet::{Mark, PlanLook, Shape, clear_mark, heat_mark};
use tapemark_words::{figure, say, signed};

/// Where the window looks at the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Camera2d {
    pub centre: DVec2,
    pub px_per_m: f64,
    pub rect: Rect,
    pub fitted: bool,
    pub wheel_in_lines: bool,
    /// Whether a person has zoomed or panned: then a new window size changes nothing.
    pub touched: bool,
}

impl Default for Camera2d {
    fn default() -> Self {
        Camera2d {
            centre: DVec2::ZERO,
            px_per_m: 90.0,
            rect: Rect::from_min_size(Pos2::ZERO, vec2(800.0, 600.0)),
            fitted: false,
            wheel_in_lines: true,
            touched: false,
        }
    }
}

impl Camera2d {
    pub fn to_screen(self, p: DVec2) -> Pos2 {
        let c = self.rect.center();
        let v = (p - self.centre) * self.px_per_m;
        pos2(c.x + v.x as f32, c.y - v.y as f32)
    }
    pub fn to_plan(self, p: Pos2) -> DVec2 {
        let v = p - self.rect.center();
        self.centre + DVec2::new(f64::from(v.x), f64::from(-v.y)) / self.px_per_m
    }
    pub fn zoom_about(&mut self, at: Pos2, factor: f64) {
        self.touched = true;
        let under = self.to_plan(at);
        self.px_per_m = (self.px_per_m * factor).clamp(2.0, 2000.0);
        self.centre += under - self.to_plan(at);
    }
    pub fn pan(&mut self, by_m: DVec2) {
        self.touched = true;
        self.centre -= by_m;
    }
    /// A way on screen as one on the plan, metres.
    fn way_m(&self, by: egui::Vec2) -> DVec2 {
        DVec2::new(f64::from(by.x), f64::from(-by.y)) / self.px_per_m
    }
    fn fit(&mut self, low: DVec2, high: DVec2) {
        let size = (high - low).max(DVec2::splat(1.0));
        // The tools lie over the left edge.
        let rail = f64::from(RAIL_W + OFF);
        let room = DVec2::new(f64::from(self.rect.width()) - rail - 80.0, f64::from(self.rect.height()) - 80.0)
            .max(DVec2::splat(50.0));
        self.px_per_m = (room.x / size.x).min(room.y / size.y).min(200.0);
        self.centre = (low + high) * 0.5 - DVec2::new(0.5 * rail / self.px_per_m, 0.0);
        self.fitted = true;
        self.touched = false;
    }
}

/// A raster over the floor as a texture: plan rows run up, a texture's down.
fn floor_texture(ctx: &egui::Context, name: &str, mark: &Mark, options: egui::TextureOptions) -> egui::TextureHandle {
    let Shape::Raster { rgba, nx, ny, .. } = &mark.shape else { unreachable!("a map over the floor is a raster") };
    let rows: Vec<u8> = rgba.chunks(nx * 4).rev().flatten().copied().collect();
    ctx.load_texture(name, egui::ColorImage::from_rgba_unmultiplied([*nx, *ny], &rows), options)
}

impl Editor {
    pub(crate) fn canvas(&mut self, ui: &mut egui::Ui) {
        let rect = ui.available_rect_before_wrap();
        let response = ui.allocate_rect(rect, Sense::click_and_drag());
        let words =
            say!("plan-rooms-shot-name", rooms = self.plan.location.rooms.len(), name = self.current_shot().name);
        // The drawing in words, for who hears it read.
        response.widget_info(|| egui::WidgetInfo {
            current_text_value: Some(crate::words::facts_text(&self.plan, &self.facts)),
            ..egui::WidgetInfo::labeled(egui::Role::Canvas, true, words.clone())
        });
        let resized = self.view.rect.size() != rect.size();
        let held = response.is_pointer_button_down_on() || self.drag.is_some();
        if held {
            // The panel of what is taken hold of may be wider; the plan stays where it is under the pointer.
            self.view.centre -= self.view.way_m(self.view.rect.center() - rect.center());
        }
        self.view.rect = rect;
        if !self.view.fitted || (resized && !self.view.touched && !held) {
            self.fit();
        }
        self.look_around(ui, &response);
        ui.input(|i| {
            if i.pointer.is_moving() || i.pointer.any_pressed() {
                self.by_key = None;
                self.by_finger = i.any_touches();
            }
        });
        self.pointer = self.by_key.or(response.hover_pos().map(|p| self.view.to_plan(p)));
        self.gestures(ui, &response);
        self.menu_here(&response);
        self.refresh();
        let painter = ui.painter_at(rect);
        self.paint_plan(&painter);
        self.paint_overlays(&painter, &response);
        if response.hovered() {
            ui.ctx().set_cursor_icon(self.cursor(&response));
        }
        self.rail(ui, rect);
    }

    fn fit(&mut self) {
        let points: Vec<DVec2> = super::command::everything(&self.plan, self.current_shot())
            .iter()
            .flat_map(|r| r.outline(&self.plan).unwrap_or_else(|| r.position(&self.plan).into_iter().collect()))
            .collect();
        if points.is_empty() {
            self.view.fit(DVec2::splat(-1.0), DVec2::new(7.0, 5.0));
        } else {
            let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
            let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
            self.view.fit(low, high);
        }
    }

    /// The menu of what lies under the pointer, on a right click.
    fn menu_here(&mut self, response: &egui::Response) {
        if (response.secondary_clicked() || response.long_touched())
            && let Some(Hit::Item(item)) = response.interact_pointer_pos().and_then(|at| self.hit(at))
            && !self.selected.contains(&item)
        {
            self.selected = [item].into();
        }
        let some = !self.selected.is_empty();
        let list = [
            (Command::Cut, some),
            (Command::Copy, some),
            (Command::Paste, !self.clipboard.is_empty()),
            (Command::Duplicate, some),
            (Command::Delete, some),
            (Command::SelectAll, true),
            (Command::Fit, true),
        ];
        let mut chosen = None;
        response.context_menu(|ui| {
            for (command, enabled) in list {
                if ui.add_enabled(enabled, egui::Button::new(command.label())).clicked() {
                    chosen = Some(command);
                    ui.close();
                }
            }
        });
        if let Some(command) = chosen {
            self.run(command, &response.ctx.clone());
        }
    }

    /// Wheel zooms about the pointer; two fingers pan, with ctrl or a pinch they zoom; middle or right
    /// drag pans.
    fn look_around(&mut self, ui: &egui::Ui, response: &egui::Response) {
        if let Some(fingers) = ui.input(|i| i.multi_touch()).filter(|_| response.contains_pointer()) {
            // Two fingers look about; what one finger had begun to drag goes back.
            self.give_up_drag();
            self.view.zoom_about(fingers.center_pos, f64::from(fingers.zoom_delta));
            let d = fingers.translation_delta;
            self.view.pan(self.view.way_m(d));
            return;
        }
        if let Some(at) = response.hover_pos() {
            let (zoom, wheel, scroll) = ui.input(|i| {
                let lines = i
                    .events
                    .iter()
                    .any(|e| matches!(e, egui::Event::MouseWheel { unit: egui::MouseWheelUnit::Line, .. }));
                (i.zoom_delta(), lines, i.smooth_scroll_delta)
            });
            let fingers = ui.input(|i| {
                i.events.iter().any(|e| matches!(e, egui::Event::MouseWheel { unit: egui::MouseWheelUnit::Point, .. }))
            });
            // A wheel's motion is smoothed over later frames, which carry no event of their own.
            self.view.wheel_in_lines = wheel || (self.view.wheel_in_lines && !fingers);
            if zoom != 1.0 {
                self.view.zoom_about(at, f64::from(zoom));
            } else if scroll != egui::Vec2::ZERO {
                if self.view.wheel_in_lines {
                    self.view.zoom_about(at, f64::from(scroll.y / 220.0).exp());
                } else {
                    self.view.pan(self.view.way_m(scroll));
                }
            }
        }
        if response.dragged_by(PointerButton::Middle) || response.dragged_by(PointerButton::Secondary) {
            let d = response.drag_delta();
            self.view.pan(self.view.way_m(d));
        }
    }

    fn cursor(&self, response: &egui::Response) -> CursorIcon {
        match (&self.drag, self.tool) {
            (Some(Drag::Move { .. } | Drag::Corner { .. } | Drag::Wall { .. }), _) => CursorIcon::Grabbing,
            (Some(Drag::Turn { .. }), _) => CursorIcon::AllScroll,
            (_, Tool::Select) => match response.hover_pos().and_then(|p| self.hit(p)) {
                Some(Hit::Handle(_)) => CursorIcon::AllScroll,
                Some(_) => CursorIcon::Grab,
                None => CursorIcon::Default,
            },
            _ => CursorIcon::Crosshair,
        }
    }

    fn paint_plan(&mut self, painter: &egui::Painter) {
        let palette = self.look.palette();
        painter.rect_filled(self.view.rect, 0.0, colour(palette.paper));
        self.paint_grid(painter);
        let look = PlanLook {
            palette,
            text_mm: 2.7,
            dimensions: self.dimensions,
            taping: self.taping,
            sight: true,
            cover: self.cover,
            underlay: None,
            mm_per_m: self.view.px_per_m / f64::from(PX_PER_MM),
            sparing: true,
        };
        self.paint_marks(painter, &look);
    }

    /// What lies over the floors: the picture under the plan, light, clear view.
    pub(super) fn paint_floor(&mut self, painter: &egui::Painter) {
        self.paint_underlay(painter);
        if self.light.on
            && let Some(map) = self.map.as_ref().filter(|m| m.nx > 0)
        {
            let texture = self.texture.get_or_insert_with(|| {
                let mark = heat_mark(map, self.facts.camera.as_ref().map_or(300.0, |c| c.wanted_lx), MAP_STRENGTH);
                floor_texture(painter.ctx(), "light", &mark, egui::TextureOptions::LINEAR)
            });
            let high = map.origin + DVec2::new(map.nx as f64, map.ny as f64) * map.cell_m;
            draw::light(painter, texture, [self.view.to_screen(map.origin), self.view.to_screen(high)]);
        }
        if self.blocking.shown
            && let Some(map) = &self.blocking.map
        {
            let texture = self.blocking.texture.get_or_insert_with(|| {
                floor_texture(
                    painter.ctx(),
                    "clear view",
                    &clear_mark(map, MAP_STRENGTH),
                    egui::TextureOptions::NEAREST,
                )
            });
            let high = map.origin + DVec2::new(map.nx as f64, map.ny as f64) * map.cell_m;
            draw::light(painter, texture, [self.view.to_screen(map.origin), self.view.to_screen(high)]);
        }
    }

    fn paint_grid(&self, painter: &egui::Painter) {
        let palette = self.look.palette();
        let step = match self.plan.length_unit {
            LengthUnit::Metres => 1.0,
            LengthUnit::FeetInches => 5.0 * 0.3048,
        };
        if step * self.view.px_per_m < 14.0 {
            return;
        }
        let ink = colour(palette.quiet).gamma_multiply(0.16);
        let low = self.view.to_plan(self.view.rect.left_bottom());
        let high = self.view.to_plan(self.view.rect.right_top());
        let mut x = (low.x / step).floor() * step;
        while x <= high.x {
            painter.vline(self.view.to_screen(DVec2::new(x, 0.0)).x, self.view.rect.y_range(), Stroke::new(1.0, ink));
            x += step;
        }
        let mut y = (low.y / step).floor() * step;
        while y <= high.y {
            painter.hline(self.view.rect.x_range(), self.view.to_screen(DVec2::new(0.0, y)).y, Stroke::new(1.0, ink));
            y += step;
        }
    }

    fn paint_overlays(&self, painter: &egui::Painter, response: &egui::Response) {
        let palette = self.look.palette();
        let chosen = colour(palette.selected);
        for item in &self.selected {
            self.paint_selected(painter, item, chosen);
        }
        if let Some(Drag::Marquee { from }) = &self.drag
            && let Some(to) = response.interact_pointer_pos()
        {
            let rect = Rect::from_two_pos(self.view.to_screen(*from), to);
            painter.rect_filled(rect, 0.0, chosen.gamma_multiply(0.12));
            painter.rect_stroke(rect, 0.0, Stroke::new(1.0, chosen), egui::StrokeKind::Inside);
        }
        self.paint_draft(painter, chosen);
        self.paint_ghost(painter);
        self.paint_opening_ghost(painter, response, chosen);
        if self.plan.location.rooms.is_empty() && self.room_draft.points.is_empty() {
            let text = if self.tool == Tool::Room {
                say!("click-the-first-corner-of-the")
            } else {
                say!("an-empty-floor-take-the-room")
            };
            draw::label(
                painter,
                self.view.rect.center(),
                Align2::CENTER_CENTER,
                text,
                colour(palette.ink),
                colour(palette.floor),
            );
        }
        if self.drag.is_none()
            && let (Some(at), Some(hover)) = (self.pointer, response.hover_pos())
            && matches!(self.hit(hover), None | Some(Hit::Item(ItemRef::Room(_))))
            && let Some(text) =
                if self.blocking.shown { self.clear_text(at) } else { self.level_text(at).filter(|_| self.light.on) }
        {
            draw::label(
                painter,
                hover + vec2(16.0, 18.0),
                Align2::LEFT_TOP,
                &text,
                colour(palette.ink),
                colour(palette.paper).gamma_multiply(0.85),
            );
        }
    }

    /// The level under a point in words; none outside rooms.
    pub(crate) fn level_text(&self, at: DVec2) -> Option<String> {
        let map = self.map.as_ref()?;
        if let Some(stops) = map.key_fill_at(at) {
            return Some(say!("stops-1-key-to-fill", stops = figure(stops.exp2(), 1)));
        }
        let lx = map.at(at)?;
        let stops = stops_between(lx, self.wanted_lx());
        Some(match self.light.unit {
            LevelUnit::Lux => say!("lx", lx = figure(lx, 0)),
            LevelUnit::FootCandles => say!("lx-per-fc", lx_per_fc = figure(lx / LX_PER_FC, 1)),
            LevelUnit::Stops if stops.is_finite() => say!("so-many-stops", stops = signed(stops, 1)),
            LevelUnit::Stops => say!("dark").into(),
        })
    }

    fn paint_selected(&self, painter: &egui::Painter, item: &ItemRef, ink: Color32) {
        let stroke = Stroke::new(2.0, ink);
        let to = |p: DVec2| self.view.to_screen(p);
        if let Some(outline) = item.outline(&self.plan) {
            let points: Vec<Pos2> = outline.iter().map(|p| to(*p)).collect();
            painter.add(egui::Shape::closed_line(points.clone(), stroke));
            if matches!(item, ItemRef::Room(_)) {
                for (i, p) in points.iter().enumerate() {
                    painter.rect_filled(Rect::from_center_size(*p, vec2(9.0, 9.0)), 1.0, ink);
                    // A wall is taken by its middle.
                    let q = points[(i + 1) % points.len()];
                    if p.distance(q) > 40.0 {
                        let along = (q - *p).normalized();
                        let half = along * 7.0;
                        painter.line_segment([p.lerp(q, 0.5) - half, p.lerp(q, 0.5) + half], Stroke::new(6.0, ink));
                    }
                }
            }
        } else if let Some(at) = item.position(&self.plan) {
            painter.circle_stroke(to(at), (0.32 * self.view.px_per_m).max(14.0) as f32, stroke);
        }
        if self.selected.len() == 1
            && let Some((from, handle)) = self.handle(item)
        {
            painter.line_segment([to(from), to(handle)], Stroke::new(1.0, ink));
            painter.circle_filled(to(handle), 6.0, ink);
        }
    }

    /// Middle of an item and its turning handle.
    pub(crate) fn handle(&self, item: &ItemRef) -> Option<(DVec2, DVec2)> {
        let at = item.position(&self.plan)?;
        let reach = 0.75_f64.max(46.0 / self.view.px_per_m);
        Some((at, at + bearing_dir(item.bearing(&self.plan)?) * reach))
    }
}
