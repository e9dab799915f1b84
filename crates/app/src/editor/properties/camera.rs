//! Fields of cameras and marks.

use super::super::fields::{choice, degrees, length, number, text, tick};
use super::super::state::Editor;
use super::{grid, position, title};
use egui::Ui;
use tapemark_core::edit::{Edit, Item, ItemRef, Required};
use tapemark_core::plan::{Build, Camera, Format, Mark, Pose, stock_name};
use tapemark_core::units::LengthUnit;
use tapemark_words::say;

impl Editor {
    pub(super) fn camera_fields(&mut self, ui: &mut Ui, mut c: Camera, unit: LengthUnit) {
        title(ui, say!("camera-label"));
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, say!("name"), &mut c.name);
            let formats: Vec<(String, String)> =
                Format::KNOWN.iter().map(|f| (f.0.to_string(), stock_name(f.0).to_string())).collect();
            if let Some(name) = choice(ui, say!("format"), &c.format.name.clone(), &formats)
                && let Some(i) = Format::KNOWN.iter().position(|f| f.0 == name)
            {
                c.format = Format::known(i);
                changed = true;
            }
            changed |= number(ui, say!("sensor-width"), &mut c.format.width_mm, 1.0..=100.0, 0.1, say!("mm"));
            changed |= number(ui, say!("sensor-height"), &mut c.format.height_mm, 1.0..=100.0, 0.1, say!("mm"));
            changed |= number(ui, say!("delivered-aspect"), &mut c.aspect, 0.4..=4.0, 0.01, " : 1");
            changed |= number(ui, say!("lens-label"), &mut c.lens.focal_mm, 4.0..=800.0, 0.5, say!("mm"));
            changed |= number(ui, say!("t-stop"), &mut c.lens.t_stop, 0.7..=32.0, 0.1, "");
            changed |= number(ui, say!("neutral-density"), &mut c.nd_stops, 0.0..=12.0, 0.3, say!("stops-word"));
            changed |= length(ui, say!("close-focus"), &mut c.lens.close_focus_m, unit);
            changed |= length(ui, say!("sensor-behind-the-lens"), &mut c.sensor_behind_m, unit);
            changed |= length(ui, say!("lens-height"), &mut c.lens_height_m, unit);
            changed |= degrees(ui, say!("pan-label"), &mut c.pan_deg, -360.0..=360.0);
            changed |= degrees(ui, say!("tilt-label"), &mut c.tilt_deg, -90.0..=90.0);
            changed |= degrees(ui, say!("roll"), &mut c.roll_deg, -180.0..=180.0);
            let mut on_face = c.focus_m.is_none();
            if tick(ui, say!("focus-on-the-nearest-face-wanted"), &mut on_face) {
                c.focus_m = if on_face { None } else { self.facts.camera.as_ref().map(|f| f.focus_m) };
                changed = true;
            }
            if let Some(f) = &mut c.focus_m {
                changed |= length(ui, say!("focus-at"), f, unit);
            }
        });
        changed |= position(ui, &mut c.position_m, unit);
        changed |= self.camera_move_fields(ui, &mut c, unit);
        if changed {
            self.edit_live(&Edit::Put(Item::Camera(c)));
        }
    }

    /// The later places of a camera move.
    pub(super) fn camera_move_fields(&mut self, ui: &mut Ui, c: &mut Camera, unit: LengthUnit) -> bool {
        let mut changed = false;
        let mut gone = None;
        for i in 0..c.marks.len() {
            ui.push_id(("camera-mark", i), |ui| {
                title(ui, &say!("camera-mark-i", i = i + 2));
                let m = &mut c.marks[i];
                grid(ui, |ui| {
                    changed |= number(ui, say!("here-at"), &mut m.at_s, 0.0..=3600.0, 0.1, " s");
                    changed |= length(ui, say!("lens-height"), &mut m.lens_height_m, unit);
                    changed |= degrees(ui, say!("pan-label"), &mut m.pan_deg, -360.0..=360.0);
                    changed |= degrees(ui, say!("tilt-label"), &mut m.tilt_deg, -90.0..=90.0);
                    changed |= number(ui, say!("lens-label"), &mut m.focal_mm, 4.0..=800.0, 0.5, say!("mm"));
                });
                changed |= position(ui, &mut m.position_m, unit);
                if ui.button(say!("take-this-camera-mark-away")).clicked() {
                    gone = Some(i);
                }
            });
        }
        if let Some(i) = gone {
            c.marks.remove(i);
            changed = true;
        }
        if ui.button(say!("add-a-later-camera-mark")).clicked() {
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

    pub(super) fn mark_fields(
        &mut self,
        ui: &mut Ui,
        shot: tapemark_core::plan::ShotId,
        mut m: Mark,
        unit: LengthUnit,
    ) {
        title(ui, say!("persons-mark"));
        let (mut moved, mut grown) = (false, false);
        let Some(mut person) = self.plan.person(&m.person).cloned() else { return };
        let mut wanted = self.current_shot().faces.contains(&m.person);
        let mut toggled = false;
        grid(ui, |ui| {
            grown |= text(ui, say!("name"), &mut person.name);
            grown |= length(ui, say!("height"), &mut person.height_m, unit);
            let builds = [
                (Build::Slight, say!("slight").to_string()),
                (Build::Medium, say!("medium").into()),
                (Build::Broad, say!("broad").into()),
            ];
            if let Some(b) = choice(ui, say!("build"), &person.build, &builds) {
                person.build = b;
                grown = true;
            }
            let poses = [
                (Pose::Standing, say!("standing").to_string()),
                (Pose::Seated, say!("seated").into()),
                (Pose::Kneeling, say!("kneeling").into()),
            ];
            if let Some(p) = choice(ui, say!("pose"), &m.pose, &poses) {
                m.pose = p;
                moved = true;
            }
            moved |= degrees(ui, say!("facing"), &mut m.facing_deg, -360.0..=360.0);
            moved |= number(ui, say!("arrives"), &mut m.from_s, 0.0..=3600.0, 0.1, " s");
            let mut leaves = m.to_s.is_some();
            if tick(ui, say!("leaves-this-mark"), &mut leaves) {
                m.to_s = leaves.then(|| (m.from_s + 2.0).min(self.next_arrival_s(&shot, &m)));
                moved = true;
            }
            if let Some(to) = &mut m.to_s {
                moved |= number(ui, say!("leaves-label"), to, m.from_s..=3600.0, 0.1, " s");
            }
            toggled = tick(ui, say!("face-must-be-seen"), &mut wanted);
        });
        moved |= position(ui, &mut m.position_m, unit);
        if toggled {
            let required = if wanted { Required::Yes } else { Required::No };
            self.edit(&Edit::RequireFace { shot, person: m.person, required });
        } else if grown {
            self.edit_live(&Edit::Put(Item::Person(person)));
        } else if moved {
            self.edit_live(&Edit::Put(Item::Mark { shot, mark: m }));
        } else if ui.button(say!("add-a-later-mark")).clicked() {
            let mut next = m.clone();
            next.id = self.plan.fresh_id("mark").into();
            // Between this mark and one that follows already, in the middle of what is left.
            let end = self.next_arrival_s(&shot, &m);
            let left_s = m.to_s.unwrap_or((m.from_s + 2.0).min(0.5 * (m.from_s + end)));
            m.to_s = Some(left_s);
            next.from_s = (left_s + 2.0).min(0.5 * (left_s + end));
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

    /// When somebody arrives at their next mark, seconds; infinite after the last.
    fn next_arrival_s(&self, shot: &tapemark_core::plan::ShotId, mark: &Mark) -> f64 {
        let marks = self.plan.shot(shot).map(|s| s.marks.as_slice()).unwrap_or_default();
        let later = marks.iter().filter(|m| m.person == mark.person && m.from_s > mark.from_s);
        later.map(|m| m.from_s).fold(f64::INFINITY, f64::min)
    }
}
