//! The property editor: every field of what is selected.

use super::dialogs::{Ask, Wanted};
use super::fields::{choice, degrees, length, number, text, tick};
use super::state::Editor;
use crate::files;
use egui::{Grid, Ui};
use tapemark_core::colour::CurveOf;
use tapemark_core::edit::{Edit, Item, ItemRef, Required};
use tapemark_core::plan::{
    BarnDoors, Build, Camera, Date, Daylight, Diffusion, Feed, Finish, Fixture, FixtureId, Format, Gel, Head,
    HeadClass, Hinge, LampType, Mark, Mount, Opening, OpeningKind, Piece, PieceKind, PieceShape, Pose, Room, Spectrum,
    Swing,
};
use tapemark_core::units::LengthUnit;

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
                        title(ui, "Outlet");
                        let options: Vec<_> =
                            self.plan.location.circuits.iter().map(|c| (c.id.clone(), c.name.clone())).collect();
                        let mut circuit = self.plan.location.circuits.iter().find(|c| c.id == o.circuit).cloned();
                        let (mut moved, mut changed) = (false, false);
                        grid(ui, |ui| {
                            if let Some(id) = choice(ui, "Circuit", &o.circuit, &options) {
                                o.circuit = id;
                                moved = true;
                            }
                            if let Some(c) = &mut circuit {
                                changed |= text(ui, "Circuit name", &mut c.name);
                                changed |= number(ui, "Breaker", &mut c.breaker_a, 1.0..=125.0, 1.0, " A");
                                let mut known = c.feed.is_some();
                                if tick(ui, "fixed wiring is known", &mut known) {
                                    c.feed = known.then_some(Feed { length_m: 10.0, conductor_mm2: 2.5 });
                                    changed = true;
                                }
                                if let Some(f) = &mut c.feed {
                                    changed |= length(ui, "Board to outlet", &mut f.length_m, unit);
                                    changed |= number(ui, "Its copper", &mut f.conductor_mm2, 0.5..=50.0, 0.5, " mm²");
                                }
                            }
                        });
                        if moved {
                            self.edit(&Edit::Put(Item::Outlet(o.clone())));
                        } else if changed && let Some(c) = circuit {
                            self.edit_live(&Edit::Put(Item::Circuit(c)));
                        }
                        if ui.button("Put on a circuit of its own").clicked() {
                            let id = self.plan.fresh_id("circuit");
                            let n = self.plan.location.circuits.len() + 1;
                            let c = tapemark_core::plan::Circuit {
                                id: id.clone().into(),
                                name: format!("circuit {n}"),
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
                title(ui, &format!("{n} items"));
                ui.label("Drag, turn with alt and the arrow keys, copy or delete them together.");
            }
        }
    }

    fn shot_fields(&mut self, ui: &mut Ui) {
        let mut shot = self.current_shot().clone();
        title(ui, &format!("Shot {}", shot.name));
        let sizes: Vec<_> = tapemark_core::plan::ShotSize::ALL.iter().map(|s| (*s, s.label().to_string())).collect();
        let rigs: Vec<_> = self.plan.rigs.iter().map(|r| (r.id.clone(), r.name.clone())).collect();
        let cameras: Vec<_> = self.plan.cameras.iter().map(|c| (Some(c.id.clone()), c.name.clone())).collect();
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, "Shot", &mut shot.name);
            changed |= text(ui, "What happens", &mut shot.description);
            changed |= number(ui, "Length", &mut shot.length_s, 0.5..=3600.0, 0.5, " s");
            if let Some(s) = choice(ui, "Size wanted", &shot.size, &sizes) {
                shot.size = s;
                changed = true;
            }
            if let Some(r) = choice(ui, "Rig", &shot.rig, &rigs) {
                shot.rig = r;
                changed = true;
            }
            if let Some(c) = choice(ui, "Camera place", &shot.camera, &cameras) {
                shot.camera = c;
                changed = true;
            }
            let mut takes = f64::from(shot.takes.unwrap_or(self.plan.day.takes));
            if number(ui, "Takes", &mut takes, 1.0..=100.0, 1.0, "") {
                shot.takes = Some(takes.round() as u32);
                changed = true;
            }
            changed |= text(ui, "Notes", &mut shot.notes);
        });
        if changed {
            self.edit_live(&Edit::Put(Item::Shot(shot)));
        }
        ui.horizontal_wrapped(|ui| {
            ui.label("Faces that must be seen:");
            let shot = self.current_shot().clone();
            for p in self.plan.cast.clone() {
                let mut wanted = shot.faces.contains(&p.id);
                if ui.checkbox(&mut wanted, &p.name).changed() {
                    let required = if wanted { Required::Yes } else { Required::No };
                    self.edit(&Edit::RequireFace { shot: shot.id.clone(), person: p.id, required });
                }
            }
        });
        if self.plan.shots.len() > 1 {
            ui.horizontal_wrapped(|ui| {
                ui.label("Cuts together with:");
                let mut shot = self.current_shot().clone();
                let others: Vec<_> = self.plan.shots.iter().filter(|s| s.id != shot.id).cloned().collect();
                for other in others {
                    let mut on = shot.cuts_with.contains(&other.id);
                    if ui.checkbox(&mut on, &other.name).changed() {
                        shot.cuts_with.retain(|id| *id != other.id);
                        if on {
                            shot.cuts_with.push(other.id);
                        }
                        self.edit(&Edit::Put(Item::Shot(shot.clone())));
                    }
                }
            });
        }
        if let Some(mut rig) = self.plan.rig(&self.current_shot().rig).cloned() {
            let lights: Vec<String> =
                self.plan.shots.iter().filter(|s| s.rig == rig.id).map(|s| s.name.clone()).collect();
            let mut named = false;
            ui.push_id("rig", |ui| grid(ui, |ui| named = text(ui, "Rig's name", &mut rig.name)));
            ui.weak(format!("Lights shots {}", lights.join(", ")));
            if named {
                self.edit_live(&Edit::Put(Item::Rig(rig)));
            }
            let unused: Vec<_> =
                self.plan.rigs.iter().filter(|r| !self.plan.shots.iter().any(|s| s.rig == r.id)).cloned().collect();
            for r in unused {
                if ui.button(format!("Delete rig {}, which lights no shot", r.name)).clicked() {
                    self.edit(&Edit::Remove(vec![ItemRef::Rig(r.id)]));
                }
            }
        }
        ui.horizontal(|ui| {
            if ui.button("Copy the rig").on_hover_text("This shot gets a copy of its rig to be changed apart").clicked()
            {
                self.copy_rig();
            }
            if ui.button("New rig").clicked() {
                let id = self.plan.fresh_id("rig");
                let name = format!("Rig {}", self.plan.rigs.len() + 1);
                let mut shot = self.current_shot().clone();
                shot.rig = id.clone().into();
                self.commit();
                if self.edit_live(&Edit::Put(Item::Rig(tapemark_core::plan::Rig::new(id, &name)))) {
                    self.edit_live(&Edit::Put(Item::Shot(shot)));
                }
                self.commit();
            }
            if ui.button("Delete shot").clicked() {
                let id = self.shot.clone();
                self.edit(&Edit::Remove(vec![ItemRef::Shot(id)]));
            }
        });
        ui.collapsing("Metering and limits", |ui| self.settings_fields(ui));
        self.underlay_fields(ui);
    }

    fn settings_fields(&mut self, ui: &mut Ui) {
        let unit = self.plan.length_unit;
        let mut s = tapemark_core::edit::Settings::of(&self.plan);
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, "Title", &mut s.title);
            changed |= text(ui, "Location", &mut s.location_name);
            changed |= number(ui, "EI", &mut s.exposure.ei, 25.0..=25_600.0, 25.0, "");
            changed |= number(ui, "Frame rate", &mut s.exposure.frame_rate, 1.0..=240.0, 1.0, " fps");
            changed |= number(ui, "Shutter", &mut s.exposure.shutter_deg, 1.0..=360.0, 1.0, "°");
            changed |= number(ui, "White balance", &mut s.exposure.white_balance_k, 2000.0..=10_000.0, 50.0, " K");
            use tapemark_core::plan::Receptor;
            let receptors = [(Receptor::Dome, "dome".to_string()), (Receptor::Flat, "flat".to_string())];
            if let Some(r) = choice(ui, "Meter's receptor", &s.exposure.receptor, &receptors) {
                s.exposure.receptor = r;
                changed = true;
            }
            changed |= length(ui, "Room behind camera", &mut s.limits.room_behind_m, unit);
            changed |= length(ui, "Way out at least", &mut s.limits.walkway_m, unit);
            changed |= number(ui, "Face share wanted", &mut s.limits.face_share, 0.0..=1.0, 0.01, "");
            changed |= number(ui, "Exposure tolerance", &mut s.limits.exposure_stops, 0.1..=8.0, 0.1, " stops");
            changed |= number(ui, "Mains", &mut s.mains_v, 100.0..=400.0, 1.0, " V");
            changed |= degrees(ui, "North on the plan", &mut s.north_deg, -180.0..=360.0);
            changed |= daylight_fields(ui, &mut s);
        });
        if changed {
            self.edit_live(&Edit::Settings(Box::new(s)));
        }
    }

    fn room_fields(&mut self, ui: &mut Ui, mut r: Room, unit: LengthUnit) {
        title(ui, "Room");
        let mut changed = false;
        let mut wall = None;
        grid(ui, |ui| {
            changed |= text(ui, "Name", &mut r.name);
            changed |= length(ui, "Ceiling", &mut r.ceiling_m, unit);
            changed |= tick(ui, "water is about", &mut r.wet);
            for (name, f) in [
                ("Walls", &mut r.finishes.walls),
                ("Floor", &mut r.finishes.floor),
                ("Ceiling finish", &mut r.finishes.ceiling),
            ] {
                changed |= finish(ui, name, f);
            }
            let edges: Vec<f64> = tapemark_core::geometry::room_edges(&r).map(|(a, b)| a.distance(b)).collect();
            for (i, was) in edges.into_iter().enumerate() {
                let mut m = was;
                if length(ui, &format!("Wall {}", i + 1), &mut m, unit) {
                    wall = Some((i, m));
                }
            }
        });
        if let Some((edge, length_m)) = wall {
            self.edit(&Edit::SetEdgeLength { room: r.id.clone(), edge, length_m });
        } else if changed {
            self.edit_live(&Edit::Put(Item::Room(r)));
        }
        ui.weak("Double-click a wall to add a corner, a corner to take it away.");
    }

    fn opening_fields(&mut self, ui: &mut Ui, mut o: Opening, unit: LengthUnit) {
        title(
            ui,
            match o.kind {
                OpeningKind::Door { .. } => "Door",
                OpeningKind::Window { .. } => "Window",
                OpeningKind::Passage => "Passage",
            },
        );
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, "Name", &mut o.name);
            changed |= length(ui, "From the corner", &mut o.offset_m, unit);
            changed |= length(ui, "Width", &mut o.width_m, unit);
            changed |= length(ui, "Sill", &mut o.sill_m, unit);
            changed |= length(ui, "Head", &mut o.head_m, unit);
            match &mut o.kind {
                OpeningKind::Door { hinge, swing, open_deg } => {
                    changed |= degrees(ui, "Stands open", open_deg, 0.0..=180.0);
                    if let Some(h) =
                        choice(ui, "Hinge", hinge, &[(Hinge::Near, "near end".into()), (Hinge::Far, "far end".into())])
                    {
                        *hinge = h;
                        changed = true;
                    }
                    if let Some(s) = choice(
                        ui,
                        "Swings",
                        swing,
                        &[(Swing::In, "into the room".into()), (Swing::Out, "out of it".into())],
                    ) {
                        *swing = s;
                        changed = true;
                    }
                }
                OpeningKind::Window { transmittance } => {
                    changed |= number(ui, "Glass lets through", transmittance, 0.0..=1.0, 0.01, "");
                }
                OpeningKind::Passage => {}
            }
        });
        if changed {
            self.edit_live(&Edit::Put(Item::Opening(o)));
        }
    }

    fn piece_fields(&mut self, ui: &mut Ui, mut p: Piece, unit: LengthUnit) {
        title(ui, "Piece");
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, "Name", &mut p.name);
            let kinds = [
                (PieceKind::Furniture, "furniture".to_string()),
                (PieceKind::Dressing, "set dressing".into()),
                (PieceKind::Drape, "drape".into()),
                (PieceKind::Flag, "flag".into()),
                (PieceKind::Mirror, "mirror".into()),
            ];
            if let Some(k) = choice(ui, "Kind", &p.kind, &kinds) {
                p.kind = k;
                changed = true;
            }
            let round = matches!(p.shape, PieceShape::Round { .. });
            if !matches!(p.shape, PieceShape::Outline { .. })
                && let Some(r) = choice(ui, "Shape", &round, &[(false, "rectangle".into()), (true, "round".into())])
            {
                p.shape = if r {
                    PieceShape::Round { diameter_m: 0.8 }
                } else {
                    PieceShape::Box { width_m: 0.8, depth_m: 0.8 }
                };
                changed = true;
            }
            match &mut p.shape {
                PieceShape::Box { width_m, depth_m } => {
                    changed |= length(ui, "Width", width_m, unit);
                    changed |= length(ui, "Depth", depth_m, unit);
                }
                PieceShape::Round { diameter_m } => changed |= length(ui, "Diameter", diameter_m, unit),
                PieceShape::Outline { .. } => {}
            }
            changed |= length(ui, "Top", &mut p.top_m, unit);
            changed |= length(ui, "Underside", &mut p.base_m, unit);
            changed |= degrees(ui, "Turned", &mut p.rotation_deg, -360.0..=360.0);
            changed |= finish(ui, "Finish", &mut p.finish);
        });
        changed |= position(ui, &mut p.position_m, unit);
        if changed {
            self.edit_live(&Edit::Put(Item::Piece(p)));
        }
    }

    fn camera_fields(&mut self, ui: &mut Ui, mut c: Camera, unit: LengthUnit) {
        title(ui, "Camera");
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, "Name", &mut c.name);
            let formats: Vec<(String, String)> =
                Format::KNOWN.iter().map(|f| (f.0.to_string(), f.0.to_string())).collect();
            if let Some(name) = choice(ui, "Format", &c.format.name.clone(), &formats)
                && let Some(i) = Format::KNOWN.iter().position(|f| f.0 == name)
            {
                c.format = Format::known(i);
                changed = true;
            }
            changed |= number(ui, "Sensor width", &mut c.format.width_mm, 1.0..=100.0, 0.1, " mm");
            changed |= number(ui, "Sensor height", &mut c.format.height_mm, 1.0..=100.0, 0.1, " mm");
            changed |= number(ui, "Delivered aspect", &mut c.aspect, 0.4..=4.0, 0.01, " : 1");
            changed |= number(ui, "Lens", &mut c.lens.focal_mm, 4.0..=800.0, 0.5, " mm");
            changed |= number(ui, "T-stop", &mut c.lens.t_stop, 0.7..=32.0, 0.1, "");
            changed |= number(ui, "Neutral density", &mut c.nd_stops, 0.0..=12.0, 0.3, " stops");
            changed |= length(ui, "Close focus", &mut c.lens.close_focus_m, unit);
            changed |= length(ui, "Lens height", &mut c.lens_height_m, unit);
            changed |= degrees(ui, "Pan", &mut c.pan_deg, -360.0..=360.0);
            changed |= degrees(ui, "Tilt", &mut c.tilt_deg, -90.0..=90.0);
            changed |= degrees(ui, "Roll", &mut c.roll_deg, -180.0..=180.0);
            let mut on_face = c.focus_m.is_none();
            if tick(ui, "Focus on the nearest face wanted", &mut on_face) {
                c.focus_m = if on_face { None } else { self.facts.camera.as_ref().map(|f| f.focus_m) };
                changed = true;
            }
            if let Some(f) = &mut c.focus_m {
                changed |= length(ui, "Focus at", f, unit);
            }
        });
        changed |= position(ui, &mut c.position_m, unit);
        changed |= self.camera_move_fields(ui, &mut c, unit);
        if changed {
            self.edit_live(&Edit::Put(Item::Camera(c)));
        }
    }

    /// The later places of a camera move.
    fn camera_move_fields(&mut self, ui: &mut Ui, c: &mut Camera, unit: LengthUnit) -> bool {
        let mut changed = false;
        let mut gone = None;
        for i in 0..c.marks.len() {
            ui.push_id(("camera mark", i), |ui| {
                title(ui, &format!("Camera mark {}", i + 2));
                let m = &mut c.marks[i];
                grid(ui, |ui| {
                    changed |= number(ui, "Here at", &mut m.at_s, 0.0..=3600.0, 0.1, " s");
                    changed |= length(ui, "Lens height", &mut m.lens_height_m, unit);
                    changed |= degrees(ui, "Pan", &mut m.pan_deg, -360.0..=360.0);
                    changed |= degrees(ui, "Tilt", &mut m.tilt_deg, -90.0..=90.0);
                    changed |= number(ui, "Lens", &mut m.focal_mm, 4.0..=800.0, 0.5, " mm");
                });
                changed |= position(ui, &mut m.position_m, unit);
                if ui.button("Take this camera mark away").clicked() {
                    gone = Some(i);
                }
            });
        }
        if let Some(i) = gone {
            c.marks.remove(i);
            changed = true;
        }
        if ui.button("Add a later camera mark").clicked() {
            let before = c.marks.last().map_or(0.0, |m| m.at_s);
            let end = tapemark_core::scene::View::at(c, before);
            let aside = end.axes().0 * 0.5;
            c.marks.push(tapemark_core::plan::CameraMark {
                at_s: before + 3.0,
                position_m: [end.eye.x + aside.x, end.eye.y + aside.y],
                lens_height_m: end.eye.z,
                pan_deg: end.pan_deg,
                tilt_deg: end.tilt_deg,
                focal_mm: end.focal_mm,
            });
            changed = true;
        }
        changed
    }

    fn mark_fields(&mut self, ui: &mut Ui, shot: tapemark_core::plan::ShotId, mut m: Mark, unit: LengthUnit) {
        title(ui, "Person's mark");
        let (mut moved, mut grown) = (false, false);
        let Some(mut person) = self.plan.person(&m.person).cloned() else { return };
        let mut wanted = self.current_shot().faces.contains(&m.person);
        let mut toggled = false;
        grid(ui, |ui| {
            grown |= text(ui, "Name", &mut person.name);
            grown |= length(ui, "Height", &mut person.height_m, unit);
            let builds = [
                (Build::Slight, "slight".to_string()),
                (Build::Medium, "medium".into()),
                (Build::Broad, "broad".into()),
            ];
            if let Some(b) = choice(ui, "Build", &person.build, &builds) {
                person.build = b;
                grown = true;
            }
            let poses = [
                (Pose::Standing, "standing".to_string()),
                (Pose::Seated, "seated".into()),
                (Pose::Kneeling, "kneeling".into()),
            ];
            if let Some(p) = choice(ui, "Pose", &m.pose, &poses) {
                m.pose = p;
                moved = true;
            }
            moved |= degrees(ui, "Facing", &mut m.facing_deg, -360.0..=360.0);
            moved |= number(ui, "Arrives", &mut m.from_s, 0.0..=3600.0, 0.1, " s");
            let mut leaves = m.to_s.is_some();
            if tick(ui, "Leaves this mark", &mut leaves) {
                m.to_s = leaves.then_some(m.from_s + 2.0);
                moved = true;
            }
            if let Some(to) = &mut m.to_s {
                moved |= number(ui, "Leaves", to, m.from_s..=3600.0, 0.1, " s");
            }
            toggled = tick(ui, "Face must be seen", &mut wanted);
        });
        moved |= position(ui, &mut m.position_m, unit);
        if toggled {
            let required = if wanted { Required::Yes } else { Required::No };
            self.edit(&Edit::RequireFace { shot, person: m.person, required });
        } else if grown {
            self.edit_live(&Edit::Put(Item::Person(person)));
        } else if moved {
            self.edit_live(&Edit::Put(Item::Mark { shot, mark: m }));
        } else if ui.button("Add a later mark").clicked() {
            let mut next = m.clone();
            next.id = self.plan.fresh_id("mark").into();
            m.to_s = Some(m.to_s.unwrap_or(m.from_s + 2.0));
            next.from_s = m.to_s.unwrap_or(0.0) + 2.0;
            next.to_s = None;
            next.position_m[0] += 1.0;
            let reference = ItemRef::Mark(next.id.clone());
            self.commit();
            let done = self.edit_live(&Edit::Put(Item::Mark { shot: shot.clone(), mark: m }))
                && self.edit_live(&Edit::Put(Item::Mark { shot, mark: next }));
            self.commit();
            if done {
                self.selected = [reference].into();
            }
        }
    }

    /// Measured candelas, spectra and gels from files.
    fn lamp_files(&mut self, ui: &mut Ui, f: &mut Fixture) -> bool {
        let mut wanted = None;
        let mut changed = false;
        ui.horizontal_wrapped(|ui| {
            for (name, tip, what) in [
                ("Candelas…", "An LM-63 file of the lamp's measured intensity", Wanted::Candela),
                ("Spectrum…", "A table of wavelength and relative power", Wanted::Spectrum),
                ("Gel…", "A table of wavelength and transmission, added to the stack", Wanted::Gel),
            ] {
                if ui.button(name).on_hover_text(tip).clicked() {
                    wanted = Some(what);
                }
            }
        });
        if let Some(table) = &f.candela {
            let mut gone = false;
            ui.horizontal(|ui| {
                ui.weak(format!("measured: {}, {:.0} cd at most", table.name, table.peak_cd()));
                gone = ui.small_button("×").on_hover_text("Back to the head's own beam").clicked();
            });
            if gone {
                f.candela = None;
                changed = true;
            }
        }
        let Some(path) = wanted.and_then(|w| (self.chooser)(w, "")) else { return changed };
        let read = match wanted {
            Some(Wanted::Candela) => files::candela(&path).map(|t| f.candela = Some(t.into())),
            Some(Wanted::Spectrum) => files::curve(&path, CurveOf::Lamp).map(|c| f.spectrum = Spectrum::Measured(c)),
            _ => files::curve(&path, CurveOf::Gel).map(|c| f.gels.push(Gel::Measured(c))),
        };
        match read {
            Ok(()) => true,
            Err(e) => {
                self.ask = Some(Ask::Trouble(e));
                changed
            }
        }
    }

    /// Gives the shot a copy of its rig.
    fn copy_rig(&mut self) {
        let mut shot = self.current_shot().clone();
        let Some(rig) = self.plan.shot_rig(&shot).map(|r| r.into_owned()) else { return };
        let id = self.plan.fresh_id("rig");
        let name = format!("{} for {}", rig.name, shot.name);
        let lamp = |(i, f): (usize, &Fixture)| Fixture { id: format!("{id}-lamp-{}", i + 1).into(), ..f.clone() };
        let fixtures = rig.fixtures.iter().enumerate().map(lamp).collect();
        let copy = tapemark_core::plan::Rig { id: id.clone().into(), name, fixtures, unknown: rig.unknown };
        shot.rig = id.into();
        shot.lamps.clear();
        let edits = vec![Edit::Put(Item::Rig(copy)), Edit::Put(Item::Shot(shot))];
        self.edit(&Edit::Together { label: "copy the rig".into(), edits });
    }

    /// Which shots a lamp lights, and whether this shot has it its own way.
    fn whose_lamp(&mut self, ui: &mut Ui, id: &FixtureId) {
        let names: Vec<String> = self.plan.shots_lit_by(id).map(|s| s.name.clone()).collect();
        ui.weak(format!("Lights shots {}", names.join(", ")));
        let shot = self.current_shot();
        let own = shot.lamps.iter().any(|l| &l.fixture.id == id);
        let (shot, name) = (shot.id.clone(), shot.name.clone());
        if own {
            if ui.button("As in the rig again").on_hover_text("This shot's own way of the lamp is dropped").clicked() {
                self.edit(&Edit::Remove(vec![ItemRef::Fixture(id.clone())]));
            }
        } else if names.len() > 1 {
            let tip = "From now on changes to it are seen in this shot alone";
            if ui.button(format!("Its own way in shot {name}")).on_hover_text(tip).clicked()
                && self.edit(&Edit::OwnLamp { shot: shot.clone(), fixture: id.clone() })
            {
                let lamps = self.plan.shot(&shot).map(|s| s.lamps.clone()).unwrap_or_default();
                let copy = lamps.iter().find(|l| l.replaces.as_ref() == Some(id));
                self.selected = copy.map(|l| ItemRef::Fixture(l.fixture.id.clone())).into_iter().collect();
            }
        }
    }

    fn lamp_fields(&mut self, ui: &mut Ui, rig: tapemark_core::plan::RigId, mut f: Fixture, unit: LengthUnit) {
        title(ui, &f.generic_name());
        self.whose_lamp(ui, &f.id);
        let mut changed = false;
        let mut outlets: Vec<(Option<tapemark_core::plan::OutletId>, String)> = vec![(None, "none".into())];
        outlets.extend(self.plan.location.outlets.iter().map(|o| {
            let circuit = self
                .plan
                .location
                .circuits
                .iter()
                .find(|c| c.id == o.circuit)
                .map(|c| c.name.as_str())
                .unwrap_or_default();
            (Some(o.id.clone()), format!("{} ({circuit})", o.id))
        }));
        grid(ui, |ui| {
            changed |= text(ui, "Name", &mut f.name);
            changed |= tick(ui, "Burning", &mut f.on);
            let mut percent = f.dimmer * 100.0;
            if number(ui, "Dimmer", &mut percent, 0.0..=100.0, 1.0, " %") {
                f.dimmer = percent / 100.0;
                changed = true;
            }
            let classes: Vec<_> = HeadClass::ALL.iter().map(|c| (*c, c.label().to_string())).collect();
            if let Some(class) = choice(ui, "Head", &f.head.class(), &classes) {
                (f.head, f.lamp, f.watts, f.cct_k) = class.usual();
                changed = true;
            }
            match &mut f.head {
                Head::OpenFace { beam_deg, field_deg } | Head::WorkLight { beam_deg, field_deg } => {
                    changed |= degrees(ui, "Beam", beam_deg, 5.0..=150.0);
                    changed |= degrees(ui, "Field", field_deg, 6.0..=170.0);
                    *field_deg = field_deg.max(*beam_deg + 1.0);
                }
                Head::Fresnel { flood } => changed |= number(ui, "Spot 0 – flood 1", flood, 0.0..=1.0, 0.01, ""),
                Head::SoftBox { width_m, height_m } | Head::FluorescentBank { width_m, height_m } => {
                    changed |= length(ui, "Face width", width_m, unit);
                    changed |= length(ui, "Face height", height_m, unit);
                }
                Head::Panel { width_m, height_m, beam_deg } => {
                    changed |= length(ui, "Face width", width_m, unit);
                    changed |= length(ui, "Face height", height_m, unit);
                    changed |= degrees(ui, "Beam", beam_deg, 10.0..=120.0);
                }
                Head::BareBulb | Head::Practical => {}
            }
            changed |= number(ui, "Power", &mut f.watts, 1.0..=20_000.0, 5.0, " W");
            let lamps = [LampType::Tungsten, LampType::Led, LampType::Fluorescent].map(|l| (l, l.label().to_string()));
            if let Some(l) = choice(ui, "Lamp", &f.lamp, &lamps) {
                f.lamp = l;
                changed = true;
            }
            let mut lumens = f.rated_lm();
            if number(ui, "Output", &mut lumens, 1.0..=1e6, 50.0, " lm") {
                f.output_lm = Some(lumens);
                changed = true;
            }
            changed |= number(ui, "Colour temperature", &mut f.cct_k, 1800.0..=10_000.0, 50.0, " K");
            let mut spectra =
                vec![(Spectrum::Planck, "glowing wire".to_string()), (Spectrum::Daylight, "daylight".into())];
            spectra.extend(
                tapemark_core::colour::Bands::cie_symbols()
                    .iter()
                    .map(|s| (Spectrum::Cie { symbol: (*s).into() }, format!("CIE {s}"))),
            );
            if let Spectrum::Measured(curve) = &f.spectrum {
                spectra.push((f.spectrum.clone(), format!("measured: {}", curve.name)));
            }
            if let Some(s) = choice(ui, "Spectrum", &f.spectrum, &spectra) {
                f.spectrum = s;
                changed = true;
            }
            changed |= gel_fields(ui, &mut f);
            let options: Vec<_> = std::iter::once("none")
                .chain(Diffusion::SHEETS.iter().map(|s| s.0))
                .map(|n| (n.to_string(), n.to_string()))
                .collect();
            let now = f.diffusion.as_ref().map_or("none".to_string(), |d| d.name.clone());
            if let Some(name) = choice(ui, "Diffusion", &now, &options) {
                f.diffusion = Diffusion::sheet(&name);
                changed = true;
            }
            changed |= number(ui, "Scrims", &mut f.scrim_stops, 0.0..=6.0, 0.5, " stops");
            changed |= length(ui, "Height", &mut f.height_m, unit);
            changed |= degrees(ui, "Pan", &mut f.pan_deg, -360.0..=360.0);
            changed |= degrees(ui, "Tilt", &mut f.tilt_deg, -90.0..=90.0);
            let mounts = [
                (Mount::Stand, "stand".to_string()),
                (Mount::Clamp, "clamp".into()),
                (Mount::Ceiling, "ceiling".into()),
                (Mount::Set, "on the set".into()),
            ];
            if let Some(m) = choice(ui, "Mount", &f.mount, &mounts) {
                f.mount = m;
                changed = true;
            }
            if let Some(o) = choice(ui, "Outlet", &f.outlet, &outlets) {
                f.outlet = o;
                changed = true;
            }
            let mut factor = f.power_factor_in_force();
            if number(ui, "Power factor", &mut factor, 0.1..=1.0, 0.01, "") {
                f.power_factor = Some(factor);
                changed = true;
            }
            let mut copper = f.cable_mm2_in_force();
            if number(ui, "Cable's copper", &mut copper, 0.5..=50.0, 0.25, " mm²") {
                f.cable_mm2 = Some(copper);
                changed = true;
            }
            if f.head.area_m().is_some() {
                let mut grid = f.grid_cutoff_deg.is_some();
                if tick(ui, "Grid before it", &mut grid) {
                    f.grid_cutoff_deg = grid.then_some(40.0);
                    changed = true;
                }
                if let Some(cutoff) = &mut f.grid_cutoff_deg {
                    changed |= degrees(ui, "Grid hides past", cutoff, 5.0..=80.0);
                }
            }
            if f.head.beam_field_deg().is_some() {
                let mut doors = f.barn_doors.is_some();
                if tick(ui, "Barn doors", &mut doors) {
                    f.barn_doors =
                        doors.then_some(BarnDoors { left_deg: 45.0, right_deg: 45.0, top_deg: 45.0, bottom_deg: 45.0 });
                    changed = true;
                }
                if let Some(b) = &mut f.barn_doors {
                    for (name, v) in [
                        ("Left leaf", &mut b.left_deg),
                        ("Right leaf", &mut b.right_deg),
                        ("Upper leaf", &mut b.top_deg),
                        ("Lower leaf", &mut b.bottom_deg),
                    ] {
                        changed |= degrees(ui, name, v, -45.0..=90.0);
                    }
                }
            }
        });
        changed |= position(ui, &mut f.position_m, unit);
        changed |= self.lamp_files(ui, &mut f);
        if changed {
            self.edit_live(&Edit::Put(Item::Fixture { rig, fixture: f }));
        }
    }
}

/// Day, hour, sky and place on the globe.
fn daylight_fields(ui: &mut Ui, s: &mut tapemark_core::edit::Settings) -> bool {
    let mut changed = false;
    let mut day = s.daylight.is_some();
    if tick(ui, "Daylight at the windows", &mut day) {
        s.daylight = day.then(Daylight::default);
        s.latitude_deg = s.latitude_deg.or(Some(50.0));
        s.longitude_deg = s.longitude_deg.or(Some(10.0));
        changed = true;
    }
    let Some(d) = &mut s.daylight else { return changed };
    changed |= number(ui, "Latitude", s.latitude_deg.get_or_insert(50.0), -90.0..=90.0, 0.01, "° N");
    changed |= number(ui, "Longitude", s.longitude_deg.get_or_insert(10.0), -180.0..=180.0, 0.01, "° E");
    changed |= number(ui, "Clock ahead of UTC", &mut d.utc_offset_h, -14.0..=14.0, 0.25, " h");
    for (name, value, range) in [("Month", &mut d.date.month, 1.0..=12.0), ("Day", &mut d.date.day, 1.0..=31.0)] {
        let mut v = f64::from(*value);
        if number(ui, name, &mut v, range, 1.0, "") {
            *value = v as u32;
            changed = true;
        }
    }
    // The 31st of a short month is its last day.
    while Date::try_from(String::from(d.date)).is_err() && d.date.day > 1 {
        d.date.day -= 1;
    }
    let skies = [(12, "clear"), (7, "partly cloudy"), (1, "overcast")].map(|(n, w)| (n, w.to_string()));
    if let Some(n) = choice(ui, "Sky", &d.sky_type, &skies) {
        d.sky_type = n;
        changed = true;
    }
    changed
}

/// The stack of gels: each with a cross to take it out, and a list to add from.
fn gel_fields(ui: &mut Ui, f: &mut Fixture) -> bool {
    let mut changed = false;
    let mut out = None;
    for (i, gel) in f.gels.iter().enumerate() {
        ui.label(if i == 0 { "Gels" } else { "" });
        ui.horizontal(|ui| {
            ui.label(gel.name());
            if ui.small_button("×").on_hover_text("Take this gel out").clicked() {
                out = Some(i);
            }
        });
        ui.end_row();
    }
    if let Some(i) = out {
        f.gels.remove(i);
        changed = true;
    }
    let mut sheets: Vec<(Option<Gel>, String)> = vec![(None, "…".into())];
    sheets.extend((0..Gel::CORRECTIONS.len()).map(Gel::correction).map(|g| (Some(g.clone()), g.name().to_string())));
    sheets.extend(Gel::COLOURS.iter().filter_map(|n| Gel::colour(n)).map(|g| (Some(g.clone()), g.name().to_string())));
    if let Some(Some(gel)) = choice(ui, "Add a gel", &None, &sheets) {
        f.gels.push(gel);
        changed = true;
    }
    changed
}

fn title(ui: &mut Ui, text: &str) {
    ui.add_space(2.0);
    ui.heading(text);
}

fn grid(ui: &mut Ui, add: impl FnOnce(&mut Ui)) {
    Grid::new("fields").num_columns(2).min_col_width(118.0).spacing([8.0, 4.0]).show(ui, add);
}

fn position(ui: &mut Ui, p: &mut [f64; 2], unit: LengthUnit) -> bool {
    let mut changed = false;
    Grid::new("position").num_columns(2).min_col_width(118.0).spacing([8.0, 4.0]).show(ui, |ui| {
        changed |= length(ui, "East", &mut p[0], unit);
        changed |= length(ui, "North", &mut p[1], unit);
    });
    changed
}

fn finish(ui: &mut Ui, label: &str, f: &mut Finish) -> bool {
    ui.label(format!("{label} reflect"));
    let mut changed = false;
    ui.horizontal(|ui| {
        for (v, name) in f.reflectance_rgb.iter_mut().zip(["r ", "g ", "b "]) {
            changed |=
                ui.add(egui::DragValue::new(v).range(0.0..=0.95).speed(0.01).max_decimals(2).prefix(name)).changed();
        }
    });
    ui.end_row();
    changed
}
