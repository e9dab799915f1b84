//! Fields of rooms, openings and pieces.

use super::super::fields::{choice, degrees, length, name, number, text, tick};
use super::super::state::Editor;
use super::{grid, position, title};
use egui::Ui;
use tapemark_core::edit::{Edit, Item};
use tapemark_core::plan::{Finish, Hinge, Opening, OpeningKind, Piece, PieceKind, PieceShape, Room, Swing};
use tapemark_core::units::LengthUnit;
use tapemark_words::say;

impl Editor {
    pub(super) fn room_fields(&mut self, ui: &mut Ui, mut r: Room, unit: LengthUnit) {
        title(ui, say!("room-label"));
        let mut changed = false;
        let mut wall = None;
        grid(ui, |ui| {
            changed |= text(ui, say!("name"), &mut r.name);
            changed |= length(ui, say!("ceiling-label"), &mut r.ceiling_m, unit);
            changed |= tick(ui, say!("water-is-about"), &mut r.wet);
            for (name, f) in [
                (say!("walls-label"), &mut r.finishes.walls),
                (say!("floor-label"), &mut r.finishes.floor),
                (say!("ceiling-finish"), &mut r.finishes.ceiling),
            ] {
                changed |= finish(ui, name, f);
            }
            let edges: Vec<f64> = tapemark_core::geometry::room_edges(&r).map(|(a, b)| a.distance(b)).collect();
            for (i, was) in edges.into_iter().enumerate() {
                let mut m = was;
                if length(ui, &say!("wall-i", i = i + 1), &mut m, unit) {
                    wall = Some((i, m));
                }
            }
        });
        if let Some((edge, length_m)) = wall {
            self.edit_wall(&Edit::SetEdgeLength { room: r.id.clone(), edge, length_m });
        } else if changed {
            self.edit_live(&Edit::Put(Item::Room(r)));
        }
        ui.weak(say!("double-click-a-wall-to-add"));
    }

    pub(super) fn opening_fields(&mut self, ui: &mut Ui, mut o: Opening, unit: LengthUnit) {
        title(
            ui,
            match o.kind {
                OpeningKind::Door { .. } => say!("door-label"),
                OpeningKind::Window { .. } => say!("window-label"),
                OpeningKind::Passage => say!("passage-label"),
            },
        );
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, say!("name"), &mut o.name);
            changed |= length(ui, say!("from-the-corner"), &mut o.offset_m, unit);
            changed |= length(ui, say!("width"), &mut o.width_m, unit);
            changed |= length(ui, say!("sill"), &mut o.sill_m, unit);
            changed |= length(ui, say!("head"), &mut o.head_m, unit);
            match &mut o.kind {
                OpeningKind::Door { hinge, swing, open_deg } => {
                    changed |= degrees(ui, say!("stands-open"), open_deg, 0.0..=180.0);
                    if let Some(h) = choice(
                        ui,
                        say!("hinge"),
                        hinge,
                        &[(Hinge::Near, say!("near-end").into()), (Hinge::Far, say!("far-end").into())],
                    ) {
                        *hinge = h;
                        changed = true;
                    }
                    if let Some(s) = choice(
                        ui,
                        say!("swings"),
                        swing,
                        &[(Swing::In, say!("into-the-room").into()), (Swing::Out, say!("out-of-it").into())],
                    ) {
                        *swing = s;
                        changed = true;
                    }
                }
                OpeningKind::Window { transmittance } => {
                    changed |= number(ui, say!("glass-lets-through"), transmittance, 0.0..=1.0, 0.01, "");
                }
                OpeningKind::Passage => {}
            }
        });
        if changed {
            self.edit_live(&Edit::Put(Item::Opening(o)));
        }
    }

    pub(super) fn piece_fields(&mut self, ui: &mut Ui, mut p: Piece, unit: LengthUnit) {
        title(ui, say!("piece-label"));
        let mut changed = false;
        grid(ui, |ui| {
            changed |= text(ui, say!("name"), &mut p.name);
            let kinds = PieceKind::ALL.map(|k| (k, k.label().to_string()));
            if let Some(k) = choice(ui, say!("kind"), &p.kind, &kinds) {
                p.kind = k;
                changed = true;
            }
            let shapes = [
                PieceShape::Box { width_m: 0.8, depth_m: 0.8 },
                PieceShape::Round { diameter_m: 0.8 },
                PieceShape::Sheet { width_m: 1.0, lean_m: 0.0 },
            ];
            let same = |a: &PieceShape| std::mem::discriminant(a) == std::mem::discriminant(&p.shape);
            if let Some(now) = shapes.iter().position(same) {
                let names = [say!("rectangle"), say!("round"), say!("sheet-on-a-stand")];
                let names: Vec<(usize, String)> = names.iter().map(|n| (*n).to_string()).enumerate().collect();
                if let Some(i) = choice(ui, say!("shape"), &now, &names) {
                    p.shape = shapes[i].clone();
                    changed = true;
                }
            }
            if let Some(tilt) = p.tilt_deg() {
                let mut wanted = tilt;
                if degrees(ui, say!("tilted-up"), &mut wanted, -85.0..=85.0) {
                    p.set_tilt_deg(wanted);
                    changed = true;
                }
            }
            match &mut p.shape {
                PieceShape::Box { width_m, depth_m } => {
                    changed |= length(ui, say!("width"), width_m, unit);
                    changed |= length(ui, say!("depth"), depth_m, unit);
                }
                PieceShape::Round { diameter_m } => changed |= length(ui, say!("diameter"), diameter_m, unit),
                PieceShape::Sheet { width_m, .. } => changed |= length(ui, say!("width"), width_m, unit),
                PieceShape::Outline { .. } => {}
            }
            changed |= length(ui, say!("top"), &mut p.top_m, unit);
            changed |= length(ui, say!("underside"), &mut p.base_m, unit);
            changed |= degrees(ui, say!("turned"), &mut p.rotation_deg, -360.0..=360.0);
            changed |= finish(ui, say!("finish"), &mut p.finish);
        });
        changed |= position(ui, &mut p.position_m, unit);
        if changed {
            self.edit_live(&Edit::Put(Item::Piece(p)));
        }
    }
}

pub(super) fn finish(ui: &mut Ui, label: &str, f: &mut Finish) -> bool {
    name(ui, &say!("label-reflect", label));
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
