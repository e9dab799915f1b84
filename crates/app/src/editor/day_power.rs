//! The wiring on the day's page: circuits, cables, plugs to move.

use super::state::Editor;
use super::theme::colour;
use crate::words::rebalance_lines;
use egui::{Color32, Grid, RichText, Ui};
use tapemark_core::day::RigFacts;
use tapemark_core::plan::Plan;
use tapemark_core::power::{CableRun, CircuitLoad, POWER_CAUTION};
use tapemark_core::units::format_length;

impl Editor {
    pub(crate) fn power_part(&mut self, ui: &mut Ui, plan: &Plan, rigs: &[RigFacts]) {
        super::panels::heading(ui, "Power");
        let palette = self.look.palette();
        ui.label(RichText::new(POWER_CAUTION).color(colour(palette.wrong)));
        let mut apply = None;
        for (n, r) in rigs.iter().enumerate() {
            ui.add_space(4.0);
            ui.strong(format!("{} (shots {})", r.rig.name, r.shots.join(", ")));
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
            if some && ui.button(format!("Move the plugs of {} so", r.rig.name)).clicked() {
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
        heads(ui, &["circuit", "load", "with power factor", "current", "breaker"]);
        for c in list {
            let ink = if c.current_a > c.limit_a + 1e-9 { wrong } else { fine };
            for text in [
                c.name.clone(),
                format!("{:.0} W", c.load_w),
                format!("{:.0} VA", c.apparent_va),
                format!("{:.1} A of {:.1} A continuous", c.current_a, c.limit_a),
                format!("{:.0} A", c.breaker_a),
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
        heads(ui, &["cable of", "outlet", "over the floor", "in all", "current", "voltage lost", "lies across"]);
        for run in list {
            let stops = run.light_loss_stops;
            let light = if stops > 0.005 { format!(", {stops:.2} stops of light") } else { String::new() };
            let lost = run.drop_v + run.feed_drop_v.unwrap_or(0.0);
            let across: Vec<&str> = run.crossings.iter().map(|c| c.name.as_str()).collect();
            for text in [
                run.name.clone(),
                run.outlet.to_string(),
                l(run.floor_m),
                format!("{} of 3 × {} mm²", l(run.cable_m), run.conductor_mm2),
                format!("{:.1} A", run.current_a),
                format!("{lost:.1} V ({:.1} %){light}", run.drop_share * 100.0),
            ] {
                ui.label(text);
            }
            ui.label(RichText::new(across.join(", ")).color(wrong));
            ui.end_row();
        }
    });
}
