//! Finished light: fine patches and a fine map are worked out by a worker, so that no frame waits for them.

use super::state::{Editor, FINE_M, MapState};
use std::sync::mpsc::{Receiver, Sender, channel};
use tapemark_core::blocking::Moments;
use tapemark_core::facts::{ShotFacts, facts_of_scene};
use tapemark_core::light::{Detail, FINE_PATCH_M, LightMap, MapSpec, Transport, light_map};
use tapemark_core::plan::{Plan, Shot};
use tapemark_core::scene::Scene;

/// What the finished light is asked for.
struct Order {
    number: u64,
    plan: Plan,
    shot: Shot,
    scene: Scene,
    before: Transport,
    moments: Moments,
    map: Option<MapSpec>,
}

/// Finished light.
struct Done {
    number: u64,
    transport: Transport,
    facts: ShotFacts,
    map: Option<LightMap>,
}

/// The worker and what was asked of it.
#[derive(Default)]
pub(crate) struct Refiner {
    orders: Option<Sender<Order>>,
    done: Option<Receiver<Done>>,
    asked: u64,
    /// Whether the newest order is still under way.
    pub under_way: bool,
}

impl Refiner {
    fn start(&mut self, ctx: &egui::Context) {
        if self.orders.is_some() {
            return;
        }
        let (orders, inbox) = channel::<Order>();
        let (outbox, done) = channel();
        let ctx = ctx.clone();
        let pool = super::aside::pool();
        let started = std::thread::Builder::new().name("light".into()).spawn(move || {
            while let Ok(mut order) = inbox.recv() {
                while let Ok(newer) = inbox.try_recv() {
                    order = newer;
                }
                let done = super::aside::install(pool.as_ref(), || order.finish());
                if outbox.send(done).is_err() {
                    return;
                }
                ctx.request_repaint();
            }
        });
        if started.is_ok() {
            (self.orders, self.done) = (Some(orders), Some(done));
        }
    }

    /// What was asked for no longer holds.
    pub fn forget(&mut self) {
        self.asked += 1;
        self.under_way = false;
    }
}

impl Order {
    fn finish(self) -> Done {
        let rig = self.plan.shot_rig(&self.shot);
        let transport = Transport::of(&self.plan, rig.as_deref(), &self.scene, FINE_PATCH_M, Some(&self.before))
            .at_detail(Detail::Near);
        let facts = facts_of_scene(&self.plan, &self.shot, &self.scene, &transport, &self.moments);
        let map = self.map.map(|spec| light_map(&self.plan, &self.scene, &transport, &spec));
        Done { number: self.number, transport, facts, map }
    }
}

impl Editor {
    /// Whether the light shown and read is the finished one.
    #[must_use]
    pub fn light_is_finished(&self) -> bool {
        let coarse = self.transport.patch_m() > FINE_PATCH_M
            || self.transport.detail() == Detail::Quick
            || !self.transport.fits(&self.plan, &self.scene);
        !coarse && (!self.light.on || self.map_stale == MapState::Fine)
    }

    fn order(&self, number: u64) -> Order {
        let map = self.light.on.then(|| {
            let mut spec = MapSpec::new(self.light.height_m, FINE_M, self.light.facing);
            spec.shows = self.light.shows;
            spec
        });
        Order {
            number,
            plan: self.plan.clone(),
            shot: self.current_shot().clone(),
            scene: self.scene.clone(),
            before: self.transport.clone(),
            moments: self.moments.clone(),
            map,
        }
    }

    fn take_in(&mut self, done: Done) {
        (self.transport, self.facts) = (done.transport, done.facts);
        if let Some(map) = done.map {
            self.map = Some(map);
            self.texture = None;
            self.map_stale = MapState::Fine;
        }
        self.refiner.under_way = false;
        self.lens.touch();
    }

    /// Works the finished light out at once.
    pub(crate) fn finish_light(&mut self) {
        if !self.light_is_finished() {
            self.refiner.forget();
            let done = self.order(0).finish();
            self.take_in(done);
        }
    }

    /// Takes in finished light and asks for what is missing, once nothing moves.
    pub(crate) fn tend_light(&mut self, ctx: &egui::Context) {
        let came: Vec<Done> = self.refiner.done.iter().flat_map(Receiver::try_iter).collect();
        if let Some(done) = came.into_iter().next_back().filter(|d| d.number == self.refiner.asked) {
            self.take_in(done);
        }
        if self.moving() || self.refiner.under_way || self.light_is_finished() {
            return;
        }
        if self.patient {
            self.finish_light();
            ctx.request_repaint();
            return;
        }
        self.refiner.start(ctx);
        self.refiner.asked += 1;
        let order = self.order(self.refiner.asked);
        match &self.refiner.orders {
            Some(orders) if orders.send(order).is_ok() => self.refiner.under_way = true,
            // Without a thread this frame waits.
            _ => self.finish_light(),
        }
    }
}
