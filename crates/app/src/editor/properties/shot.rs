//! Fields of the shot, its rig and the plan.

use super::super::fields::{choice, degrees, length, number, text, tick};
use super::super::state::Editor;
use super::{grid, title};
use egui::Ui;
use tapemark_core::edit::{Edit, Item, ItemRef, Required};
use tapemark_core::plan::{Date, Daylight, Fixture};
use tapemark_words::say;

impl Editor {
    pub(in super::super) fn shot_fields(&mut self, ui: &mut Ui) {
        let mut shot = self.current_shot().clone();
        title(ui, &say!("shot-shot-label", shot = shot.name));
        let sizes: Vec<_> = tapemark_core::plan::ShotSize::ALL.iter().map(|s| (*s, s.label().to_string())).collect();
        let rigs: Vec<_> = self.plan.rigs.iter().map(|r| (r.id.clone(), r.name.clone())).collect();
        let cameras: Vec<_> = self.plan.cameras.iter().map(|c| (Some(c.id.clone()), c.name.clone())).collect();
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, say!("shot-label"), &mut shot.name);
            changed |= text(ui, say!("what-happens"), &mut shot.description);
            changed |= number(ui, say!("length"), &mut shot.length_s, 0.5..=3600.0, 0.5, " s");
            if let Some(s) = choice(ui, say!("size-wanted"), &shot.size, &sizes) {
                shot.size = s;
                changed = true;
            }
            if let Some(r) = choice(ui, say!("rig-label"), &shot.rig, &rigs) {
                shot.rig = r;
                changed = true;
            }
            if let Some(c) = choice(ui, say!("camera-place"), &shot.camera, &cameras) {
                shot.camera = c;
                changed = true;
            }
            let mut takes = f64::from(shot.takes.unwrap_or(self.plan.day.takes));
            if number(ui, say!("takes"), &mut takes, 1.0..=100.0, 1.0, "") {
                shot.takes = Some(takes.round() as u32);
                changed = true;
            }
            changed |= text(ui, say!("notes"), &mut shot.notes);
        });
        if changed {
            self.edit_live(&Edit::Put(Item::Shot(shot)));
        }
        ui.horizontal_wrapped(|ui| {
            ui.label(say!("faces-that-must-be-seen"));
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
                ui.label(say!("cuts-together-with"));
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
            ui.push_id("rig", |ui| grid(ui, |ui| named = text(ui, say!("rigs-name"), &mut rig.name)));
            ui.weak(say!("lights-shots", names = lights.join(", ")));
            if named {
                self.edit_live(&Edit::Put(Item::Rig(rig)));
            }
            let unused: Vec<_> =
                self.plan.rigs.iter().filter(|r| !self.plan.shots.iter().any(|s| s.rig == r.id)).cloned().collect();
            for r in unused {
                if ui.button(say!("delete-rig-which-lights-no-shot", name = r.name)).clicked() {
                    self.edit(&Edit::Remove(vec![ItemRef::Rig(r.id)]));
                }
            }
        }
        ui.horizontal_wrapped(|ui| {
            if ui.button(say!("copy-the-rig")).on_hover_text(say!("this-shot-gets-a-copy-of")).clicked() {
                self.copy_rig();
            }
            if ui.button(say!("new-rig")).clicked() {
                let id = self.plan.fresh_id("rig");
                let name = say!("rig-rigs", rigs = self.plan.rigs.len() + 1);
                let mut shot = self.current_shot().clone();
                shot.rig = id.clone().into();
                self.commit();
                if self.edit_live(&Edit::Put(Item::Rig(tapemark_core::plan::Rig::new(id, &name)))) {
                    self.edit_live(&Edit::Put(Item::Shot(shot)));
                }
                self.commit();
            }
            if ui.button(say!("delete-shot")).clicked() {
                let id = self.shot.clone();
                self.edit(&Edit::Remove(vec![ItemRef::Shot(id)]));
            }
        });
        ui.collapsing(say!("metering-and-limits"), |ui| self.settings_fields(ui));
        self.underlay_fields(ui);
    }

    pub(super) fn settings_fields(&mut self, ui: &mut Ui) {
        let unit = self.plan.length_unit;
        let mut s = tapemark_core::edit::Settings::of(&self.plan);
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, say!("title"), &mut s.title);
            changed |= text(ui, say!("location"), &mut s.location_name);
            changed |= number(ui, say!("ei"), &mut s.exposure.ei, 25.0..=25_600.0, 25.0, "");
            changed |= number(ui, say!("frame-rate"), &mut s.exposure.frame_rate, 1.0..=240.0, 1.0, say!("fps"));
            changed |= number(ui, say!("shutter"), &mut s.exposure.shutter_deg, 1.0..=360.0, 1.0, "°");
            changed |=
                number(ui, say!("white-balance"), &mut s.exposure.white_balance_k, 2000.0..=10_000.0, 50.0, " K");
            use tapemark_core::plan::Receptor;
            let receptors = [(Receptor::Dome, say!("dome").to_string()), (Receptor::Flat, say!("flat").to_string())];
            if let Some(r) = choice(ui, say!("meters-receptor"), &s.exposure.receptor, &receptors) {
                s.exposure.receptor = r;
                changed = true;
            }
            let mut c = s.exposure.c();
            if number(ui, say!("domes-constant-c"), &mut c, 100.0..=1000.0, 5.0, " lx·s") {
                s.exposure.calibration_c = Some(c);
                changed = true;
            }
            let mut k = s.exposure.spot_k_in_force();
            if number(ui, say!("spot-meters-constant-k"), &mut k, 5.0..=50.0, 0.1, " cd/m²·s") {
                s.exposure.spot_k = Some(k);
                changed = true;
            }
            changed |= length(ui, say!("room-behind-camera"), &mut s.limits.room_behind_m, unit);
            changed |= length(ui, say!("way-out-at-least"), &mut s.limits.walkway_m, unit);
            changed |= length(ui, say!("hot-head-clear-ahead"), &mut s.limits.hot_clearance_m, unit);
            changed |= length(ui, say!("hot-head-clear-beside"), &mut s.limits.hot_side_clearance_m, unit);
            changed |= length(ui, say!("slip-allowed"), &mut s.limits.slip_m, unit);
            changed |= number(ui, say!("face-share-wanted"), &mut s.limits.face_share, 0.0..=1.0, 0.01, "");
            changed |= number(
                ui,
                say!("exposure-tolerance"),
                &mut s.limits.exposure_stops,
                0.1..=8.0,
                0.1,
                say!("stops-word"),
            );
            changed |= number(ui, say!("mains"), &mut s.mains_v, 100.0..=400.0, 1.0, " V");
            changed |= degrees(ui, say!("north-on-the-plan"), &mut s.north_deg, -180.0..=360.0);
            changed |= daylight_fields(ui, &mut s);
        });
        if changed {
            self.edit_live(&Edit::Settings(Box::new(s)));
        }
    }

    /// Gives the shot a copy of its rig.
    pub(super) fn copy_rig(&mut self) {
        let mut shot = self.current_shot().clone();
        let Some(rig) = self.plan.shot_rig(&shot).map(|r| r.into_owned()) else { return };
        let id = self.plan.fresh_id("rig");
        let name = say!("rig-for-shot", rig = rig.name, shot = shot.name);
        let lamp = |(i, f): (usize, &Fixture)| Fixture { id: format!("{id}-lamp-{}", i + 1).into(), ..f.clone() };
        let fixtures = rig.fixtures.iter().enumerate().map(lamp).collect();
        let copy = tapemark_core::plan::Rig { id: id.clone().into(), name, fixtures, unknown: rig.unknown };
        shot.rig = id.into();
        shot.lamps.clear();
        let edits = vec![Edit::Put(Item::Rig(copy)), Edit::Put(Item::Shot(shot))];
        self.edit(&Edit::Together { label: say!("copy-the-rig-word").into(), edits });
    }
}

/// Day, hour, sky and place on the globe.
fn daylight_fields(ui: &mut Ui, s: &mut tapemark_core::edit::Settings) -> bool {
    let mut changed = false;
    let mut day = s.daylight.is_some();
    if tick(ui, say!("daylight-at-the-windows"), &mut day) {
        s.daylight = day.then(Daylight::default);
        s.latitude_deg = s.latitude_deg.or(Some(50.0));
        s.longitude_deg = s.longitude_deg.or(Some(10.0));
        changed = true;
    }
    let Some(d) = &mut s.daylight else { return changed };
    changed |= number(ui, say!("latitude"), s.latitude_deg.get_or_insert(50.0), -90.0..=90.0, 0.01, "° N");
    changed |= number(ui, say!("longitude"), s.longitude_deg.get_or_insert(10.0), -180.0..=180.0, 0.01, "° E");
    changed |= number(ui, say!("clock-ahead-of-utc"), &mut d.utc_offset_h, -14.0..=14.0, 0.25, " h");
    for (name, value, range) in
        [(say!("month"), &mut d.date.month, 1.0..=12.0), (say!("day"), &mut d.date.day, 1.0..=31.0)]
    {
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
    let skies =
        [(12, say!("clear")), (7, say!("partly-cloudy")), (1, say!("overcast"))].map(|(n, w)| (n, w.to_string()));
    if let Some(n) = choice(ui, say!("sky"), &d.sky_type, &skies) {
        d.sky_type = n;
        changed = true;
    }
    changed
}
