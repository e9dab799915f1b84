//! What the pointer does with each tool.

use super::draw;
use super::hit::Hit;
use super::state::{Editor, Tool};
use egui::{Color32, PointerButton};
use glam::DVec2;
use tapemark_core::edit::{Edit, Item, ItemRef, Required};
use tapemark_core::geometry::{bearing_deg, opening_ends};
use tapemark_core::plan::{
    Build, Camera, Circuit, Fixture, Hinge, Mark, Opening, OpeningKind, Outlet, Person, Piece, Plan, Pose, RoomId,
    Swing, Unknown,
};
use tapemark_words::say;

/// A drag under way.
pub(crate) enum Drag {
    /// Items follow the pointer.
    Move { items: Vec<ItemRef>, lead: Option<DVec2>, from: DVec2, base: Box<Plan> },
    /// One item turns to the pointer.
    Turn { item: ItemRef, base: Box<Plan> },
    /// A corner follows the pointer.
    Corner { room: RoomId, corner: usize, base: Box<Plan> },
    /// A wall follows the pointer, square to itself.
    Wall { room: RoomId, edge: usize, from: DVec2, base: Box<Plan> },
    /// A rectangle selects what it holds.
    Marquee { from: DVec2 },
}

/// Grid of snapping, metres.
const GRID_M: f64 = 0.05;
pub(super) const SNAP_PX: f64 = 10.0;

pub(crate) fn to_grid(p: DVec2) -> DVec2 {
    (p / GRID_M).round() * GRID_M
}

impl Editor {
    /// Whether a key belongs to the length being typed.
    pub(crate) fn typing_length(&self, key: egui::Key) -> bool {
        self.tool == Tool::Room && !self.room_draft.points.is_empty() && key != egui::Key::Escape
    }

    pub(crate) fn gestures(&mut self, ui: &egui::Ui, response: &egui::Response) {
        if self.underlay.points.is_some() {
            if response.clicked_by(PointerButton::Primary)
                && let Some(at) = response.interact_pointer_pos()
            {
                self.click_known_length(self.view.to_plan(at));
            }
            return;
        }
        if self.tool == Tool::Select {
            self.select_gestures(ui, response);
            return;
        }
        if self.tool == Tool::Room {
            self.room_gestures(ui, response);
            return;
        }
        if let Some(p) = self.by_key.filter(|_| ui.input(|i| i.key_pressed(egui::Key::Enter))) {
            self.place(p, p);
            self.by_key = None;
            return;
        }
        if response.clicked_by(PointerButton::Primary)
            && let Some(at) = response.interact_pointer_pos()
        {
            let p = self.view.to_plan(at);
            let snapped = if self.snapping(ui) { to_grid(p) } else { p };
            self.place(snapped, p);
        }
    }

    pub(super) fn snapping(&self, ui: &egui::Ui) -> bool {
        self.snap && !ui.input(|i| i.modifiers.alt)
    }

    fn select_gestures(&mut self, ui: &egui::Ui, response: &egui::Response) {
        let add = ui.input(|i| i.modifiers.shift || i.modifiers.command);
        if response.drag_started_by(PointerButton::Primary)
            && let Some(at) = ui.input(|i| i.pointer.press_origin())
        {
            self.start_drag(at, add);
        }
        if let Some(at) = response.interact_pointer_pos()
            && self.drag.is_some()
            && response.dragged_by(PointerButton::Primary)
        {
            let snap = self.snapping(ui);
            let coarse = ui.input(|i| i.modifiers.shift);
            self.follow(self.view.to_plan(at), snap, coarse);
        }
        if response.drag_stopped() && self.drag.is_some() {
            self.end_drag(response.interact_pointer_pos().map(|p| self.view.to_plan(p)), add);
        }
        if response.clicked_by(PointerButton::Primary)
            && let Some(at) = response.interact_pointer_pos()
        {
            match self.hit(at) {
                Some(Hit::Item(item)) if add && !self.selected.remove(&item) => {
                    self.selected.insert(item);
                }
                Some(Hit::Item(item)) => self.selected = [item].into(),
                Some(_) => {}
                None if !add => self.selected.clear(),
                None => {}
            }
        }
        if response.double_clicked()
            && self.blocking.shown
            && let Some(at) = response.interact_pointer_pos()
        {
            let p = self.view.to_plan(at);
            self.stand_camera(p);
        } else if response.double_clicked()
            && let Some(at) = response.interact_pointer_pos()
            && let Some(ItemRef::Room(id)) = self.selected.first().cloned()
        {
            let p = self.view.to_plan(at);
            match self.hit(at) {
                Some(Hit::Corner(room, corner)) => {
                    self.edit(&Edit::RemoveCorner { room, corner });
                }
                _ => {
                    if let Some(w) = self.wall_near(p).filter(|w| w.room == id) {
                        self.edit(&Edit::AddCorner { room: id, edge: w.edge, at: to_grid(p) });
                    }
                }
            }
        }
    }

    fn start_drag(&mut self, at: egui::Pos2, add: bool) {
        self.commit();
        let from = self.view.to_plan(at);
        let base = Box::new(self.plan.clone());
        self.drag = Some(match self.hit(at) {
            Some(Hit::Handle(item)) => Drag::Turn { item, base },
            Some(Hit::Corner(room, corner)) => Drag::Corner { room, corner, base },
            Some(Hit::Wall(room, edge)) => Drag::Wall { room, edge, from, base },
            // A room under the pointer moves only when it has been selected before: dragging over a floor
            // selects what stands on it.
            Some(Hit::Item(item)) if !matches!(item, ItemRef::Room(_)) || self.selected.contains(&item) => {
                if !self.selected.contains(&item) {
                    if !add {
                        self.selected.clear();
                    }
                    self.selected.insert(item.clone());
                }
                let lead = item.position(&self.plan);
                Drag::Move { items: self.selected.iter().cloned().collect(), lead, from, base }
            }
            _ => Drag::Marquee { from },
        });
    }

    fn follow(&mut self, p: DVec2, snap: bool, coarse: bool) {
        let Some(drag) = self.drag.take() else { return };
        match &drag {
            Drag::Move { items, lead, from, base } => {
                let mut by = p - *from;
                if snap && let Some(lead) = lead {
                    by = to_grid(*lead + by) - *lead;
                }
                self.edit_live_from(Some(base), &Edit::Move { items: items.clone(), by });
            }
            Drag::Turn { item, base } => {
                if let (Some(at), Some(was)) = (item.position(base), item.bearing(base)) {
                    let step = if coarse { 15.0 } else { 1.0 };
                    let to = (bearing_deg(p - at) / step).round() * step;
                    self.edit_live_from(Some(base), &Edit::Turn { items: vec![item.clone()], by_deg: to - was });
                }
            }
            Drag::Corner { room, corner, base } => {
                let to = if snap { self.snapped_corner(p, base, room, *corner) } else { p };
                self.edit_wall_live(base, &Edit::MoveCorner { room: room.clone(), corner: *corner, to });
            }
            Drag::Wall { room, edge, from, base } => self.wall_follows(room, *edge, p - *from, snap, base),
            Drag::Marquee { .. } => {}
        }
        self.drag = Some(drag);
    }

    /// A dragged corner keeps right angles with its neighbours when it comes near them.
    fn snapped_corner(&self, p: DVec2, base: &Plan, room: &RoomId, corner: usize) -> DVec2 {
        let mut to = to_grid(p);
        if let Some(r) = base.room(room) {
            let n = r.outline_m.len();
            let reach = SNAP_PX / self.view.px_per_m;
            for k in [(corner + 1) % n, (corner + n - 1) % n] {
                let q = DVec2::from_array(r.outline_m[k]);
                if (p.x - q.x).abs() < reach {
                    to.x = q.x;
                }
                if (p.y - q.y).abs() < reach {
                    to.y = q.y;
                }
            }
        }
        to
    }

    /// Takes back what a drag has changed so far.
    pub(crate) fn give_up_drag(&mut self) {
        if self.drag.take().is_some()
            && let Some(pending) = self.pending.take()
        {
            self.plan = pending.before;
            self.touch();
        }
    }

    fn end_drag(&mut self, p: Option<DVec2>, add: bool) {
        if let Some(Drag::Marquee { from }) = self.drag.take()
            && let Some(to) = p
        {
            let (low, high) = (from.min(to), from.max(to));
            let inside = |r: &ItemRef| match r.outline(&self.plan) {
                Some(outline) => outline.iter().all(|q| q.cmpge(low).all() && q.cmple(high).all()),
                None => r.position(&self.plan).is_some_and(|q| q.cmpge(low).all() && q.cmple(high).all()),
            };
            let found: Vec<ItemRef> =
                super::command::everything(&self.plan, self.current_shot()).into_iter().filter(inside).collect();
            if !add {
                self.selected.clear();
            }
            self.selected.extend(found);
        }
        self.drag = None;
        self.commit();
        // The map was coarse while dragging.
        self.touch();
    }

    fn place(&mut self, p: DVec2, exact: DVec2) {
        match self.tool {
            Tool::Select | Tool::Room => {}
            Tool::Door | Tool::Window | Tool::Passage => self.place_opening(exact),
            Tool::Piece => {
                let id = self.plan.fresh_id("piece");
                let piece = Piece::new(id, "table", p.to_array(), [1.2, 0.7], 0.75);
                self.add(Item::Piece(piece));
            }
            Tool::Board => {
                let turned = self.toward_people(p);
                self.add(Item::Piece(Piece::board(self.plan.fresh_id("board"), p.to_array(), turned)));
            }
            Tool::Person => self.place_person(p),
            Tool::Camera => self.place_camera(p),
            Tool::Lamp(class) => {
                let mut f = Fixture::new(self.plan.fresh_id("lamp"), class, p.to_array(), self.toward_people(p));
                f.height_m = f.height_m.min(self.ceiling_at(p) - 0.2).max(0.2);
                let rig = self.current_shot().rig.clone();
                self.add(Item::Fixture { rig, fixture: f });
            }
            Tool::Outlet => self.place_outlet(p),
        }
    }

    pub(super) fn add(&mut self, item: Item) -> bool {
        let reference = item.reference();
        let done = self.edit(&Edit::Put(item));
        if done {
            self.selected = [reference].into();
            self.tool = Tool::Select;
        }
        done
    }

    fn ceiling_at(&self, p: DVec2) -> f64 {
        tapemark_core::taping::room_at(&self.plan, p).map_or(2.5, |r| r.ceiling_m)
    }

    /// Bearing from a point to the middle of the people, or up the plan.
    fn toward_people(&self, p: DVec2) -> f64 {
        let people = &self.scene.people;
        if people.is_empty() {
            return 0.0;
        }
        let middle = people.iter().map(|q| q.position).sum::<DVec2>() / people.len() as f64;
        bearing_deg(middle - p).round()
    }

    fn place_opening(&mut self, p: DVec2) {
        let Some(o) = self.opening_at(p) else {
            self.tell(say!("click-on-a-wall-doors-windows"));
            return;
        };
        self.add(Item::Opening(o));
    }

    fn opening_at(&self, p: DVec2) -> Option<Opening> {
        let wall = self.wall_near(p)?;
        let (name, width, sill, head, kind) = match self.tool {
            Tool::Window => (say!("window"), 1.2, 0.9, 2.1, OpeningKind::Window { transmittance: 0.82 }),
            Tool::Passage => (say!("passage"), 1.0, 0.0, 2.1, OpeningKind::Passage),
            _ => (
                say!("door"),
                0.9,
                0.0,
                2.05,
                OpeningKind::Door { hinge: Hinge::Near, swing: Swing::In, open_deg: 90.0 },
            ),
        };
        let width_m = f64::min(width, wall.length_m);
        let offset = ((wall.along_m - width_m * 0.5) / GRID_M).round() * GRID_M;
        Some(Opening {
            id: self.plan.fresh_id(name).into(),
            name: name.into(),
            offset_m: offset.clamp(0.0, wall.length_m - width_m),
            room: wall.room,
            edge: wall.edge,
            width_m,
            sill_m: sill,
            head_m: head,
            kind,
            unknown: Unknown::new(),
        })
    }

    fn place_person(&mut self, p: DVec2) {
        let shot = self.current_shot().clone();
        let waiting = self.plan.cast.iter().find(|c| !shot.marks.iter().any(|m| m.person == c.id)).cloned();
        let person = waiting.clone().unwrap_or_else(|| Person {
            id: self.plan.fresh_id("person").into(),
            name: say!("person-cast", cast = self.plan.cast.len() + 1),
            height_m: 1.72,
            build: Build::Medium,
            from: None,
            until: None,
            unknown: Unknown::new(),
        });
        let facing_deg = self.scene.view.as_ref().map_or(180.0, |v| bearing_deg(v.eye.truncate() - p).round());
        let mark = Mark {
            id: self.plan.fresh_id("mark").into(),
            person: person.id.clone(),
            position_m: p.to_array(),
            facing_deg,
            from_s: 0.0,
            to_s: None,
            pose: Pose::Standing,
            unknown: Unknown::new(),
        };
        // Person, mark and the wish to see the face are one step of undo.
        let reference = ItemRef::Mark(mark.id.clone());
        self.commit();
        let mut done = waiting.is_some() || self.edit_live(&Edit::Put(Item::Person(person.clone())));
        done = done && self.edit_live(&Edit::Put(Item::Mark { shot: shot.id.clone(), mark }));
        done = done && self.edit_live(&Edit::RequireFace { shot: shot.id, person: person.id, required: Required::Yes });
        self.commit();
        if done {
            self.selected = [reference].into();
            self.tool = Tool::Select;
        }
    }

    fn place_camera(&mut self, p: DVec2) {
        let shot = self.current_shot().clone();
        if let Some(old) = self.plan.shot_camera(&shot) {
            let by = p - DVec2::from_array(old.position_m);
            let item = ItemRef::Camera(old.id.clone());
            if self.edit(&Edit::Move { items: vec![item.clone()], by }) {
                self.selected = [item].into();
                self.tool = Tool::Select;
            }
            return;
        }
        let letter = char::from(b'A' + (self.plan.cameras.len() % 26) as u8);
        let camera =
            Camera::new(self.plan.fresh_id("camera"), &say!("cam-letter", letter), p.to_array(), self.toward_people(p));
        let item = ItemRef::Camera(camera.id.clone());
        if self.edit(&Edit::PlaceCamera { camera, shot: shot.id }) {
            self.selected = [item].into();
            self.tool = Tool::Select;
        }
    }

    fn place_outlet(&mut self, p: DVec2) {
        self.commit();
        let circuit = match self.plan.location.circuits.first() {
            Some(c) => c.id.clone(),
            None => {
                let id = self.plan.fresh_id("circuit");
                let c = Circuit {
                    id: id.clone().into(),
                    name: say!("circuit-1").into(),
                    breaker_a: 16.0,
                    feed: None,
                    unknown: Unknown::new(),
                };
                if !self.edit_live(&Edit::Put(Item::Circuit(c))) {
                    return;
                }
                id.into()
            }
        };
        let outlet = Outlet {
            id: self.plan.fresh_id("outlet").into(),
            position_m: p.to_array(),
            circuit,
            unknown: Unknown::new(),
        };
        let item = ItemRef::Outlet(outlet.id.clone());
        if self.edit_live(&Edit::Put(Item::Outlet(outlet))) {
            self.selected = [item].into();
            self.tool = Tool::Select;
        }
        self.commit();
    }

    pub(crate) fn paint_opening_ghost(&self, painter: &egui::Painter, response: &egui::Response, ink: Color32) {
        if !matches!(self.tool, Tool::Door | Tool::Window | Tool::Passage) || !response.hovered() {
            return;
        }
        let Some((a, b, inward)) =
            self.pointer.and_then(|p| self.opening_at(p)).and_then(|o| opening_ends(&self.plan, &o))
        else {
            return;
        };
        let to = |p: DVec2| self.view.to_screen(p);
        let half = inward * 0.08;
        painter.add(draw::filled(&[to(a + half), to(b + half), to(b - half), to(a - half)], ink.gamma_multiply(0.7)));
    }
}
