//! The property editor: every field of what is selected.

mod camera;
mod lamp;
mod place;
mod shot;

use super::fields::{choice, length, number, text, tick};
use super::state::Editor;
use egui::{Grid, Ui};
use tapemark_core::edit::{Edit, Item};
use tapemark_core::plan::Feed;
use tapemark_core::units::LengthUnit;
use tapemark_words::say;

impl Editor {
    /// Fields of the selection, or of the shot when nothing is selected.
    pub(crate) fn properties(&mut self, ui: &mut Ui) {
        let unit = self.plan.length_unit;
        match self.selected.len() {
            0 => self.shot_fields(ui),
            1 => {
                let Some(item) = self.selected.first().and_then(|r| r.get(&self.plan)) else { return };
                let reference = item.reference();
                ui.push_id(reference.id().to_string(), |ui| match item {
                    Item::Room(r) => self.room_fields(ui, r, unit),
                    Item::Opening(o) => self.opening_fields(ui, o, unit),
                    Item::Piece(p) => self.piece_fields(ui, p, unit),
                    Item::Camera(c) => self.camera_fields(ui, c, unit),
                    Item::Fixture { rig, fixture } => self.lamp_fields(ui, rig, fixture, unit),
                    Item::Mark { shot, mark } => self.mark_fields(ui, shot, mark, unit),
                    Item::Outlet(mut o) => {
                        title(ui, &format!("{} {}", say!("outlet-label"), self.plan.location.outlet_name(&o.id)));
                        let options: Vec<_> =
                            self.plan.location.circuits.iter().map(|c| (c.id.clone(), c.name.clone())).collect();
                        let mut circuit = self.plan.location.circuits.iter().find(|c| c.id == o.circuit).cloned();
                        let (mut moved, mut changed) = (false, false);
                        grid(ui, |ui| {
                            if let Some(id) = choice(ui, say!("circuit-label"), &o.circuit, &options) {
                                o.circuit = id;
                                moved = true;
                            }
                            if let Some(c) = &mut circuit {
                                changed |= text(ui, say!("circuit-name"), &mut c.name);
                                changed |= number(ui, say!("breaker-label"), &mut c.breaker_a, 1.0..=125.0, 1.0, " A");
                                let mut known = c.feed.is_some();
                                if tick(ui, say!("fixed-wiring-is-known"), &mut known) {
                                    c.feed = known.then_some(Feed { length_m: 10.0, conductor_mm2: 2.5 });
                                    changed = true;
                                }
                                if let Some(f) = &mut c.feed {
                                    changed |= length(ui, say!("board-to-outlet"), &mut f.length_m, unit);
                                    changed |= number(
                                        ui,
                                        say!("its-copper"),
                                        &mut f.conductor_mm2,
                                        0.5..=50.0,
                                        0.5,
                                        say!("mm-word"),
                                    );
                                }
                            }
                        });
                        if moved {
                            self.edit(&Edit::Put(Item::Outlet(o.clone())));
                        } else if changed && let Some(c) = circuit {
                            self.edit_live(&Edit::Put(Item::Circuit(c)));
                        }
                        if ui.button(say!("put-on-a-circuit-of-its")).clicked() {
                            let id = self.plan.fresh_id("circuit");
                            let n = self.plan.location.circuits.len() + 1;
                            let c = tapemark_core::plan::Circuit {
                                id: id.clone().into(),
                                name: say!("circuit-n", n),
                                breaker_a: 16.0,
                                feed: None,
                                unknown: Default::default(),
                            };
                            self.commit();
                            if self.edit_live(&Edit::Put(Item::Circuit(c))) {
                                o.circuit = id.into();
                                self.edit_live(&Edit::Put(Item::Outlet(o)));
                            }
                            self.commit();
                        }
                    }
                    _ => {}
                });
            }
            n => {
                title(ui, &say!("so-many-items", items = n));
                ui.label(say!("drag-turn-with-alt-and-the"));
            }
        }
    }
}

pub(super) fn title(ui: &mut Ui, text: &str) {
    ui.add_space(2.0);
    ui.heading(text);
}

/// Width of what the fields are called, points.
const NAMES_PX: f32 = 118.0;

/// Fields with their names, none wider than the panel: it keeps its width, and the plan its place.
pub(super) fn grid(ui: &mut Ui, add: impl FnOnce(&mut Ui)) {
    let most = (ui.available_width() - NAMES_PX - 8.0).max(NAMES_PX);
    let grid = Grid::new("fields").num_columns(2).min_col_width(NAMES_PX).max_col_width(most);
    grid.spacing([8.0, 4.0]).show(ui, add);
}

pub(super) fn position(ui: &mut Ui, p: &mut [f64; 2], unit: LengthUnit) -> bool {
    let mut changed = false;
    Grid::new("position").num_columns(2).min_col_width(NAMES_PX).spacing([8.0, 4.0]).show(ui, |ui| {
        changed |= length(ui, say!("east-label"), &mut p[0], unit);
        changed |= length(ui, say!("north-label"), &mut p[1], unit);
    });
    changed
}
