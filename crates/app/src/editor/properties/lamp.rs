//! Fields of lamps.

use super::super::dialogs::{Ask, Wanted};
use super::super::fields::{choice, degrees, length, number, sign, text, tick};
use super::super::state::Editor;
use super::{grid, position, title};
use crate::files;
use egui::Ui;
use std::path::Path;
use tapemark_core::colour::CurveOf;
use tapemark_core::edit::{Edit, Item, ItemRef};
use tapemark_core::plan::{
    BarnDoors, Diffusion, Fixture, FixtureId, Gel, Head, HeadClass, LampType, Mount, Spectrum, stock_name,
};
use tapemark_core::units::LengthUnit;
use tapemark_words::{figure, say};

impl Editor {
    /// Measured candelas, spectra and gels from files.
    pub(super) fn lamp_files(&mut self, ui: &mut Ui, f: &mut Fixture) -> bool {
        let mut wanted = None;
        let mut changed = false;
        ui.horizontal_wrapped(|ui| {
            for (name, tip, what) in [
                (say!("candelas"), say!("an-lm-63-file-of-the"), Wanted::Candela),
                (say!("spectrum"), say!("a-table-of-wavelength-and-relative"), Wanted::Spectrum),
                (say!("gel"), say!("a-table-of-wavelength-and-transmission"), Wanted::Gel),
            ] {
                if ui.button(name).on_hover_text(tip).clicked() {
                    wanted = Some(what);
                }
            }
        });
        if let Some(table) = &f.candela {
            let mut gone = false;
            ui.horizontal_wrapped(|ui| {
                ui.weak(say!("measured-cd-at-most", table = table.name, table_2 = figure(table.peak_cd(), 0)));
                gone = sign(ui, "×", say!("back-to-the-heads-own-beam")).clicked();
            });
            if gone {
                f.candela = None;
                changed = true;
            }
        }
        if let Some(wanted) = wanted {
            let lamp = ItemRef::Fixture(f.id.clone());
            self.choose(wanted, "", move |editor, path| editor.take_lamp_file(&lamp, wanted, &path));
        }
        changed
    }

    /// Reads a lamp's file and gives it what it holds.
    fn take_lamp_file(&mut self, lamp: &ItemRef, wanted: Wanted, path: &Path) {
        let Some(Item::Fixture { rig, fixture: mut f }) = lamp.get(&self.plan) else { return };
        let read = match wanted {
            Wanted::Candela => files::candela(path).map(|t| f.candela = Some(t.into())),
            Wanted::Spectrum => files::curve(path, CurveOf::Lamp).map(|c| f.spectrum = Spectrum::Measured(c)),
            _ => files::curve(path, CurveOf::Gel).map(|c| f.gels.push(Gel::Measured(c))),
        };
        match read {
            Ok(()) => drop(self.edit(&Edit::Put(Item::Fixture { rig, fixture: f }))),
            Err(e) => self.ask = Some(Ask::Trouble(e)),
        }
    }

    /// Which shots a lamp lights, and whether this shot has it its own way.
    pub(super) fn whose_lamp(&mut self, ui: &mut Ui, id: &FixtureId) {
        let names: Vec<String> = self.plan.shots_lit_by(id).map(|s| s.name.clone()).collect();
        ui.weak(say!("lights-shots", names = names.join(", ")));
        let facts = self.facts.fixtures.iter().find(|f| &f.fixture == id);
        let lamp = self.plan.shot_fixtures(self.current_shot()).into_iter().find(|f| &f.id == id);
        if let Some((lamp, aim)) = lamp.zip(facts.and_then(|f| f.aim.as_ref())) {
            ui.weak(say!("aimed-label", aim = tapemark_sheet::aim_words(&self.plan, lamp, aim)));
        }
        if let Some(m) = facts.and_then(|f| f.out_of_frame_margin.as_ref()) {
            ui.weak(say!("out-of-frame-by", by = tapemark_sheet::margin_words(m, self.plan.length_unit)));
        }
        let shot = self.current_shot();
        let own = shot.lamps.iter().any(|l| &l.fixture.id == id);
        let (shot, name) = (shot.id.clone(), shot.name.clone());
        if own {
            if ui.button(say!("as-in-the-rig-again")).on_hover_text(say!("this-shots-own-way-of-the")).clicked() {
                self.edit(&Edit::Remove(vec![ItemRef::Fixture(id.clone())]));
            }
        } else if names.len() > 1 {
            let tip = say!("from-now-on-changes-to-it");
            if ui.button(say!("its-own-way-in-shot", name)).on_hover_text(tip).clicked()
                && self.edit(&Edit::OwnLamp { shot: shot.clone(), fixture: id.clone() })
            {
                let lamps = self.plan.shot(&shot).map(|s| s.lamps.clone()).unwrap_or_default();
                let copy = lamps.iter().find(|l| l.replaces.as_ref() == Some(id));
                self.selected = copy.map(|l| ItemRef::Fixture(l.fixture.id.clone())).into_iter().collect();
            }
        }
    }

    pub(super) fn lamp_fields(
        &mut self,
        ui: &mut Ui,
        rig: tapemark_core::plan::RigId,
        mut f: Fixture,
        unit: LengthUnit,
    ) {
        title(ui, &f.generic_name());
        self.whose_lamp(ui, &f.id);
        let mut changed = false;
        let mut outlets: Vec<(Option<tapemark_core::plan::OutletId>, String)> = vec![(None, say!("none").into())];
        outlets.extend(self.plan.location.outlets.iter().map(|o| {
            let circuit = self
                .plan
                .location
                .circuits
                .iter()
                .find(|c| c.id == o.circuit)
                .map(|c| c.name.as_str())
                .unwrap_or_default();
            (Some(o.id.clone()), format!("{} ({circuit})", self.plan.location.outlet_name(&o.id)))
        }));
        grid(ui, |ui| {
            changed |= text(ui, say!("name"), &mut f.name);
            changed |= tick(ui, say!("burning"), &mut f.on);
            let mut percent = f.dimmer * 100.0;
            if number(ui, say!("dimmer"), &mut percent, 0.0..=100.0, 1.0, " %") {
                f.dimmer = percent / 100.0;
                changed = true;
            }
            let classes: Vec<_> = HeadClass::ALL.iter().map(|c| (*c, c.label().to_string())).collect();
            if let Some(class) = choice(ui, say!("head"), &f.head.class(), &classes) {
                (f.head, f.lamp, f.watts, f.cct_k) = class.usual();
                changed = true;
            }
            match &mut f.head {
                Head::OpenFace { beam_deg, field_deg } | Head::WorkLight { beam_deg, field_deg } => {
                    changed |= degrees(ui, say!("beam"), beam_deg, 5.0..=150.0);
                    changed |= degrees(ui, say!("field"), field_deg, 6.0..=170.0);
                    *field_deg = field_deg.max(*beam_deg + 1.0);
                }
                Head::Fresnel { flood } => changed |= number(ui, say!("spot-0-flood-1"), flood, 0.0..=1.0, 0.01, ""),
                Head::SoftBox { width_m, height_m } | Head::FluorescentBank { width_m, height_m } => {
                    changed |= length(ui, say!("face-width"), width_m, unit);
                    changed |= length(ui, say!("face-height"), height_m, unit);
                }
                Head::Panel { width_m, height_m, beam_deg } => {
                    changed |= length(ui, say!("face-width"), width_m, unit);
                    changed |= length(ui, say!("face-height"), height_m, unit);
                    changed |= degrees(ui, say!("beam"), beam_deg, 10.0..=120.0);
                }
                Head::BareBulb | Head::Practical => {}
            }
            changed |= number(ui, say!("power"), &mut f.watts, 1.0..=20_000.0, 5.0, " W");
            let lamps = [LampType::Tungsten, LampType::Led, LampType::Fluorescent].map(|l| (l, l.label().to_string()));
            if let Some(l) = choice(ui, say!("lamp-label"), &f.lamp, &lamps) {
                f.lamp = l;
                changed = true;
            }
            let mut lumens = f.rated_lm();
            if number(ui, say!("output"), &mut lumens, 1.0..=1e6, 50.0, say!("lm")) {
                f.output_lm = Some(lumens);
                changed = true;
            }
            changed |= number(ui, say!("colour-temperature-label"), &mut f.cct_k, 1800.0..=10_000.0, 50.0, " K");
            let mut spectra = vec![
                (Spectrum::Planck, say!("glowing-wire").to_string()),
                (Spectrum::Daylight, say!("daylight-word").into()),
            ];
            spectra.extend(
                tapemark_core::colour::Bands::cie_symbols()
                    .iter()
                    .map(|s| (Spectrum::Cie { symbol: (*s).into() }, say!("cie-s", s))),
            );
            if let Spectrum::Measured(curve) = &f.spectrum {
                spectra.push((f.spectrum.clone(), say!("measured-curve", curve = curve.name)));
            }
            if let Some(s) = choice(ui, say!("spectrum-label"), &f.spectrum, &spectra) {
                f.spectrum = s;
                changed = true;
            }
            changed |= gel_fields(ui, &mut f);
            let now = f.diffusion.as_ref().map_or(String::new(), |d| d.name.clone());
            // A sheet that is not on offer stays on the list while it is there.
            let other = Some(&now).filter(|n| !n.is_empty() && Diffusion::sheet(n).is_none());
            let options: Vec<_> = std::iter::once((String::new(), say!("none").to_string()))
                .chain(Diffusion::SHEETS.iter().map(|s| (s.0.to_string(), stock_name(s.0).to_string())))
                .chain(other.map(|n| (n.clone(), stock_name(n).to_string())))
                .collect();
            if let Some(name) = choice(ui, say!("diffusion"), &now, &options) {
                f.diffusion = Diffusion::sheet(&name);
                changed = true;
            }
            changed |= number(ui, say!("scrims"), &mut f.scrim_stops, 0.0..=6.0, 0.5, say!("stops-word"));
            changed |= length(ui, say!("height"), &mut f.height_m, unit);
            changed |= degrees(ui, say!("pan-label"), &mut f.pan_deg, -360.0..=360.0);
            changed |= degrees(ui, say!("tilt-label"), &mut f.tilt_deg, -90.0..=90.0);
            let mounts = [
                (Mount::Stand, say!("stand").to_string()),
                (Mount::Clamp, say!("clamp").into()),
                (Mount::Ceiling, say!("ceiling").into()),
                (Mount::Set, say!("on-the-set").into()),
            ];
            if let Some(m) = choice(ui, say!("mount"), &f.mount, &mounts) {
                f.mount = m;
                changed = true;
            }
            if let Some(o) = choice(ui, say!("outlet-label"), &f.outlet, &outlets) {
                f.outlet = o;
                changed = true;
            }
            let mut factor = f.power_factor_in_force();
            if number(ui, say!("power-factor"), &mut factor, 0.1..=1.0, 0.01, "") {
                f.power_factor = Some(factor);
                changed = true;
            }
            let mut copper = f.cable_mm2_in_force();
            if number(ui, say!("cables-copper"), &mut copper, 0.5..=50.0, 0.25, say!("mm-word")) {
                f.cable_mm2 = Some(copper);
                changed = true;
            }
            if f.head.area_m().is_some() {
                let mut grid = f.grid_cutoff_deg.is_some();
                if tick(ui, say!("grid-before-it"), &mut grid) {
                    f.grid_cutoff_deg = grid.then_some(40.0);
                    changed = true;
                }
                if let Some(cutoff) = &mut f.grid_cutoff_deg {
                    changed |= degrees(ui, say!("grid-hides-past"), cutoff, 5.0..=80.0);
                }
            }
            if f.head.beam_field_deg().is_some() {
                let mut doors = f.barn_doors.is_some();
                if tick(ui, say!("barn-doors"), &mut doors) {
                    f.barn_doors =
                        doors.then_some(BarnDoors { left_deg: 45.0, right_deg: 45.0, top_deg: 45.0, bottom_deg: 45.0 });
                    changed = true;
                }
                if let Some(b) = &mut f.barn_doors {
                    for (name, v) in [
                        (say!("left-leaf"), &mut b.left_deg),
                        (say!("right-leaf"), &mut b.right_deg),
                        (say!("upper-leaf"), &mut b.top_deg),
                        (say!("lower-leaf"), &mut b.bottom_deg),
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

/// The stack of gels: each with a cross to take it out, and a list to add from.
fn gel_fields(ui: &mut Ui, f: &mut Fixture) -> bool {
    let mut changed = false;
    let mut out = None;
    for (i, gel) in f.gels.iter().enumerate() {
        ui.label(if i == 0 { say!("gels") } else { "" });
        ui.horizontal_wrapped(|ui| {
            ui.label(stock_name(gel.name()));
            if sign(ui, "×", say!("take-this-gel-out")).clicked() {
                out = Some(i);
            }
        });
        ui.end_row();
    }
    if let Some(i) = out {
        f.gels.remove(i);
        changed = true;
    }
    let named = |g: Gel| (Some(g.clone()), stock_name(g.name()).to_string());
    let mut sheets: Vec<(Option<Gel>, String)> = vec![(None, "…".into())];
    sheets.extend((0..Gel::CORRECTIONS.len()).map(Gel::correction).map(named));
    sheets.extend(Gel::COLOURS.iter().filter_map(|n| Gel::colour(n)).map(named));
    if let Some(Some(gel)) = choice(ui, say!("add-a-gel"), &None, &sheets) {
        f.gels.push(gel);
        changed = true;
    }
    changed
}
