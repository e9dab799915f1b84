//! Fields of rooms, openings and pieces.

use super::super::fields::{choice, degrees, length, number, text, tick};
use super::super::state::Editor;
use super::{grid, position, title};
use egui::Ui;
use tapemark_core::edit::{Edit, Item};
use tapemark_core::plan::{Finish, Hinge, Opening, OpeningKind, Piece, PieceKind, PieceShape, Room, Swing};
use tapemark_core::units::LengthUnit;

impl Editor {
    pub(super) fn room_fields(&mut self, ui: &mut Ui, mut r: Room, unit: LengthUnit) {
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

    pub(super) fn opening_fields(&mut self, ui: &mut Ui, mut o: Opening, unit: LengthUnit) {
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

    pub(super) fn piece_fields(&mut self, ui: &mut Ui, mut p: Piece, unit: LengthUnit) {
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
                (PieceKind::Board, "bounce board".into()),
            ];
            if let Some(k) = choice(ui, "Kind", &p.kind, &kinds) {
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
                let names = ["rectangle", "round", "sheet on a stand"];
                let names: Vec<(usize, String)> = names.iter().map(|n| (*n).to_string()).enumerate().collect();
                if let Some(i) = choice(ui, "Shape", &now, &names) {
                    p.shape = shapes[i].clone();
                    changed = true;
                }
            }
            if let Some(tilt) = p.tilt_deg() {
                let mut wanted = tilt;
                if degrees(ui, "Tilted up", &mut wanted, -85.0..=85.0) {
                    p.set_tilt_deg(wanted);
                    changed = true;
                }
            }
            match &mut p.shape {
                PieceShape::Box { width_m, depth_m } => {
                    changed |= length(ui, "Width", width_m, unit);
                    changed |= length(ui, "Depth", depth_m, unit);
                }
                PieceShape::Round { diameter_m } => changed |= length(ui, "Diameter", diameter_m, unit),
                PieceShape::Sheet { width_m, .. } => changed |= length(ui, "Width", width_m, unit),
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
}

pub(super) fn finish(ui: &mut Ui, label: &str, f: &mut Finish) -> bool {
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
