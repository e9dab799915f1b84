//! What the lens sees, beside the plan: pictures are made by a worker, so that no frame waits for one.

use super::draw;
use super::state::Editor;
use super::theme::colour;
use egui::{Rect, Sense, Ui, pos2, vec2};
use glam::DVec2;
use std::collections::BTreeSet;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};
use tapemark_core::facts::ShotFacts;
use tapemark_core::frame::{Developed, FrameSpec, Overlay, Picture, falls_at_stops, guides, picture};
use tapemark_core::light::Transport;
use tapemark_core::plan::{Plan, Shot};
use tapemark_core::scene::Scene;
use tapemark_sheet::{guide_marks, stops_colour};
use tapemark_words::{figure, say, signed};

/// Pixels folded into one, each way, in the finished picture.
const FOLD: usize = 2;
/// Widest finished picture, pixels.
const WIDEST: usize = 1280;
/// Width of the picture while something moves, pixels.
const MOVING_WIDTH: usize = 192;

/// Least time between pictures while something moves.
const BETWEEN: Duration = Duration::from_millis(250);

/// One order to the worker.
struct Order {
    number: u64,
    plan: Plan,
    shot: Shot,
    scene: Scene,
    transport: Transport,
    width: usize,
    moving: bool,
    levels: bool,
}

/// What the worker sends back.
struct Sent {
    number: u64,
    developed: Developed,
    picture: Picture,
    finished: bool,
}

/// The frame view's state.
pub(crate) struct Lens {
    pub shown: bool,
    /// Whether it takes half of the plan's place.
    pub large: bool,
    pub overlays: BTreeSet<Overlay>,
    pub levels: bool,
    orders: Option<Sender<Order>>,
    pictures: Option<Receiver<Sent>>,
    asked: u64,
    came: u64,
    stale: bool,
    width: usize,
    last_order: Option<Instant>,
    texture: Option<egui::TextureHandle>,
    picture: Option<Picture>,
    finished: bool,
}

impl Default for Lens {
    fn default() -> Self {
        Lens {
            shown: true,
            large: false,
            overlays: BTreeSet::new(),
            levels: false,
            orders: None,
            pictures: None,
            asked: 0,
            came: 0,
            stale: true,
            width: 480,
            last_order: None,
            texture: None,
            picture: None,
            finished: false,
        }
    }
}

impl Lens {
    /// The plan, shot or moment changed.
    pub fn touch(&mut self) {
        self.stale = true;
    }

    /// Whether the picture shown is the finished one of what the plan now is.
    pub fn is_finished(&self) -> bool {
        !self.stale && self.finished && self.came == self.asked
    }

    fn start(&mut self, ctx: &egui::Context) {
        if self.orders.is_some() {
            return;
        }
        let (orders, inbox) = channel::<Order>();
        let (outbox, pictures) = channel();
        let ctx = ctx.clone();
        // Without a thread there is no picture; the plan works on.
        let started =
            std::thread::Builder::new().name("lens".into()).spawn(move || work(&inbox, &outbox, &ctx)).is_ok();
        if started {
            (self.orders, self.pictures) = (Some(orders), Some(pictures));
        }
    }
}

/// Makes pictures: the newest order only, coarse first, finished when nothing newer waits.
fn work(inbox: &Receiver<Order>, outbox: &Sender<Sent>, ctx: &egui::Context) {
    let mut next = inbox.recv().ok();
    // One thread for pictures while something moves, since the frames need the others; then all but theirs.
    let (one, others) = (super::aside::pool_of(1, "lens aside"), super::aside::pool());
    while let Some(mut order) = next.take() {
        while let Ok(newer) = inbox.try_recv() {
            order = newer;
        }
        let Some(camera) = order.plan.shot_camera(&order.shot).cloned() else {
            next = inbox.recv().ok();
            continue;
        };
        let rig = order.plan.shot_rig(&order.shot);
        let rig = rig.as_deref();
        for finished in [false, true] {
            if finished && order.moving {
                break;
            }
            let Some(view) = &order.scene.view else { break };
            let fold = if finished { FOLD } else { 1 };
            let spec = FrameSpec::for_view(view, order.width).cut_finer(fold);
            let spec = if finished { spec } else { spec.quick() };
            let take = || picture(&order.plan, &order.scene, rig, &order.transport, spec);
            let pool = if order.moving { &one } else { &others };
            let taken = super::aside::install(pool.as_ref(), take);
            let Some(shot) = taken else { break };
            let exposure = &order.plan.exposure;
            let developed = if order.levels {
                shot.false_levels(&camera, exposure, fold, stops_colour)
            } else {
                shot.developed(&camera, exposure, fold)
            };
            if outbox.send(Sent { number: order.number, developed, picture: shot, finished }).is_err() {
                return;
            }
            ctx.request_repaint();
            if let Ok(newer) = inbox.try_recv() {
                next = Some(newer);
                break;
            }
        }
        if next.is_none() {
            next = inbox.recv().ok();
        }
    }
}

impl Editor {
    /// Takes in what the worker made and orders what is missing.
    fn tend_lens(&mut self, ctx: &egui::Context, width_px: usize) {
        self.lens.start(ctx);
        let came: Vec<Sent> = self.lens.pictures.iter().flat_map(Receiver::try_iter).collect();
        if let Some(sent) = came.into_iter().next_back() {
            let size = [sent.developed.width, sent.developed.height];
            let image = egui::ColorImage::from_rgba_unmultiplied(size, &sent.developed.rgba);
            match &mut self.lens.texture {
                Some(t) => t.set(image, egui::TextureOptions::LINEAR),
                None => self.lens.texture = Some(ctx.load_texture("lens", image, egui::TextureOptions::LINEAR)),
            }
            (self.lens.came, self.lens.finished) = (sent.number, sent.finished);
            self.lens.picture = Some(sent.picture);
        }
        let moving = self.moving();
        let width = if moving { width_px.min(MOVING_WIDTH) } else { width_px.min(WIDEST) };
        // The same picture again when a gesture has ended or the space for it has grown.
        let sharper = !moving && width > self.lens.width;
        // While something moves, pictures leave time for the frames themselves.
        let soon = self.lens.last_order.is_some_and(|t| t.elapsed() < BETWEEN);
        let coarse = !moving && !self.light_is_finished();
        if (self.lens.stale || sharper) && !coarse && !(moving && (soon || self.lens.came < self.lens.asked)) {
            // The scene of this moment, not of the frame before.
            self.refresh();
            self.lens.last_order = Some(Instant::now());
            self.lens.asked += 1;
            (self.lens.stale, self.lens.finished, self.lens.width) = (false, false, width);
            let order = Order {
                number: self.lens.asked,
                plan: self.plan.clone(),
                shot: self.current_shot().clone(),
                scene: self.scene.clone(),
                transport: self.transport.clone(),
                width,
                moving,
                levels: self.lens.levels,
            };
            if let Some(orders) = &self.lens.orders {
                let _ = orders.send(order);
            }
        }
    }

    /// What is drawn over the picture, and how large it is.
    fn lens_switches(&mut self, ui: &mut Ui) {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            if super::fields::pick(ui, self.lens.shown, say!("what-the-lens-sees")).clicked() {
                self.lens.shown = !self.lens.shown;
            }
            let levels = super::fields::pick(ui, self.lens.levels, say!("levels"));
            if levels.on_hover_text(say!("false-colours-stops-over-and-under")).clicked() {
                self.lens.levels = !self.lens.levels;
                self.lens.touch();
            }
            let config =
                egui::containers::menu::MenuConfig::new().close_behavior(egui::PopupCloseBehavior::CloseOnClickOutside);
            egui::containers::menu::MenuButton::new(say!("guides")).config(config).ui(ui, |ui| {
                for o in Overlay::ALL {
                    let mut on = self.lens.overlays.contains(&o);
                    if ui.checkbox(&mut on, o.label()).changed() {
                        if on {
                            self.lens.overlays.insert(o);
                        } else {
                            self.lens.overlays.remove(&o);
                        }
                    }
                }
            });
            let word = if self.lens.large { say!("smaller") } else { say!("larger") };
            if ui.button(word).clicked() {
                self.lens.large = !self.lens.large;
            }
        });
    }

    /// The picture with its overlays and what lies under the pointer, no higher than something.
    pub(crate) fn lens_view(&mut self, ui: &mut Ui, most_high: f32) {
        let Some(view) = self.scene.view.clone() else {
            ui.weak(say!("this-shot-has-no-camera-yet"));
            return;
        };
        let aspect = (view.sensor_mm.0 / view.sensor_mm.1) as f32;
        let room = ui.available_size();
        let size = super::leaves::picture_size(room.x, aspect, most_high.max(60.0));
        let (whole, response) = ui.allocate_exact_size(vec2(room.x, size.y), Sense::hover());
        let rect = super::leaves::centred(whole, size);
        let words = say!("what-the-lens-sees-in-shot", name = self.current_shot().name);
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, words.clone()));
        self.tend_lens(ui.ctx(), (size.x * ui.ctx().pixels_per_point()) as usize);
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, 0.0, egui::Color32::BLACK);
        if let Some(t) = &self.lens.texture {
            let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
            painter.image(t.id(), rect, whole, super::theme::tint());
        }
        self.paint_storyboard(&painter, rect);
        let lines = self.lens_lines(&self.facts);
        let per_mm = draw::PX_PER_MM;
        let marks =
            guide_marks(&lines, DVec2::ZERO, DVec2::new(f64::from(size.x / per_mm), f64::from(size.y / per_mm)));
        draw::paint(&painter, &marks, |p| rect.min + vec2(p.x as f32, p.y as f32) * per_mm);
        let under = response.hover_pos().filter(|at| rect.contains(*at));
        let under = under.and_then(|at| self.under_lens((at - rect.min) / size));
        let words = under.unwrap_or_else(|| say!("point-at-the-picture-to-read").into());
        ui.add(egui::Label::new(egui::RichText::new(words).weak()).truncate());
    }

    fn lens_lines(&self, facts: &ShotFacts) -> Vec<tapemark_core::frame::Guide> {
        let shot = self.current_shot();
        self.lens.overlays.iter().flat_map(|o| guides(*o, shot, &self.scene, facts)).collect()
    }

    /// The spot meter at a place of the picture, 0–1 across and down.
    fn under_lens(&self, at: egui::Vec2) -> Option<String> {
        let p = self.lens.picture.as_ref()?;
        let camera = self.plan.shot_camera(self.current_shot())?;
        let x = ((at.x * p.width as f32) as usize).min(p.width - 1);
        let y = ((at.y * p.height as f32) as usize).min(p.height - 1);
        let l = p.luminance_cd_m2(x, y);
        let depth = p.depth_m[y * p.width + x];
        let far = if depth.is_finite() {
            tapemark_core::units::format_length(f64::from(depth), self.plan.length_unit)
        } else {
            say!("outside").into()
        };
        let stops = falls_at_stops(l, camera, &self.plan.exposure);
        let falls = if stops.is_finite() {
            say!("stops-from-middle-grey-word", stops = signed(stops, 1))
        } else {
            say!("black").into()
        };
        Some(say!("far-l-cd-m-falls", far, l = figure(l, 1), falls))
    }

    /// The small picture over the numbers.
    pub(crate) fn lens_small(&mut self, ui: &mut Ui, most_high: f32) {
        if self.lens.shown && !self.lens.large {
            self.lens_view(ui, most_high);
        }
        self.lens_switches(ui);
    }

    /// The large picture beside the plan.
    pub(crate) fn lens_large(&mut self, ui: &mut Ui) {
        let ink = colour(self.look.palette().ink);
        ui.add_space(6.0);
        ui.colored_label(ink, say!("what-the-lens-sees-in-shot-label", name = self.current_shot().name));
        let most = ui.available_height() - 30.0;
        self.lens_view(ui, most);
    }
}
