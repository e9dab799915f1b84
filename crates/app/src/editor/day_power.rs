//! The wiring on the day's page: circuits, cables, plugs to move.

use super::state::Editor;
use super::theme::colour;
use crate::words::rebalance_lines;
use egui::{Color32, Grid, RichText, Ui};
use tapemark_core::day::RigFacts;
use tapemark_core::plan::Plan;
use tapemark_core::power::{CableRun, CircuitLoad, power_caution};
use tapemark_core::units::format_length;
use tapemark_words::{figure, say};

impl Editor {
    pub(crate) fn power_part(&mut self, ui: &mut Ui, plan: &Plan, rigs: &[RigFacts]) {
        super::panels::heading(ui, say!("power"));
        let palette = self.look.palette();
        ui.label(RichText::new(power_caution()).color(colour(palette.wrong)));
        let mut apply = None;
        for (n, r) in rigs.iter().enumerate() {
            ui.add_space(4.0);
            ui.strong(say!("rig-shots", rig = r.rig.name, shots = r.shots.join(", ")));
            ui.push_id(("wiring", n), |ui| {
                circuits(ui, &r.circuits, [colour(palette.ink), colour(palette.wrong)]);
                if !r.cables.is_empty() {
                    cables(ui, plan, &r.cables, colour(palette.wrong));
                }
            });
            for line in rebalance_lines(plan, &r.suggestion) {
                ui.label(RichText::new(line).color(colour(palette.selected)));
            }
            let some = !r.suggestion.moves.is_empty();
            if some && ui.button(say!("move-the-plugs-of-so", rig = r.rig.name)).clicked() {
                apply = Some(r.suggestion.edit());
            }
        }
        if let Some(edit) = apply {
            self.edit(&edit);
        }
    }
}

fn heads(ui: &mut Ui, names: &[&str]) {
    for h in names {
        ui.weak(*h);
    }
    ui.end_row();
}

fn circuits(ui: &mut Ui, list: &[CircuitLoad], [fine, wrong]: [Color32; 2]) {
    Grid::new("circuits").num_columns(5).spacing([14.0, 3.0]).striped(true).show(ui, |ui| {
        heads(ui, &[say!("circuit"), say!("load"), say!("with-power-factor"), say!("current"), say!("breaker")]);
        for c in list {
            let ink = if c.current_a > c.limit_a + 1e-9 { wrong } else { fine };
            for text in [
                c.name.clone(),
                format!("{} W", figure(c.load_w, 0)),
                say!("apparent-va", apparent_va = figure(c.apparent_va, 0)),
                say!("current-a-of-limit-a", current_a = figure(c.current_a, 1), limit_a = figure(c.limit_a, 1)),
                format!("{} A", figure(c.breaker_a, 0)),
            ] {
                ui.label(RichText::new(text).color(ink));
            }
            ui.end_row();
        }
    });
}

fn cables(ui: &mut Ui, plan: &Plan, list: &[CableRun], wrong: Color32) {
    let l = |m: f64| format_length(m, plan.length_unit);
    Grid::new("cables").num_columns(7).spacing([14.0, 3.0]).striped(true).show(ui, |ui| {
        heads(
            ui,
            &[
                say!("cable-of"),
                say!("outlet"),
                say!("over-the-floor"),
                say!("in-all"),
                say!("current"),
                say!("voltage-lost"),
                say!("lies-across-word"),
            ],
        );
        for run in list {
            let stops = run.light_loss_stops;
            let light = if stops > 0.005 { say!("stops-of-light", stops = figure(stops, 2)) } else { String::new() };
            let lost = run.drop_v + run.feed_drop_v.unwrap_or(0.0);
            let across: Vec<&str> = run.crossings.iter().map(|c| c.name.as_str()).collect();
            for text in [
                run.name.clone(),
                plan.location.outlet_name(&run.outlet),
                l(run.floor_m),
                say!("cable-m-of-3-conductor-mm2", cable_m = l(run.cable_m), conductor_mm2 = run.conductor_mm2),
                format!("{} A", figure(run.current_a, 1)),
                format!("{} V ({} %){}", figure(lost, 1), figure(run.drop_share * 100.0, 1), light),
            ] {
                ui.label(text);
            }
            ui.label(RichText::new(across.join(", ")).color(wrong));
            ui.end_row();
        }
    });
}
