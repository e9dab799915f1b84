//! Levels that meet wishes, as dimmers and scrims that exist.

use super::goal::{Goal, Measured};
use super::{Transport, gain, middle_grey_cd_m2};
use crate::optics;
use crate::plan::{Fixture, LampType, Plan, Rig};

/// What the scrims of a usual set take, alone and together: singles of half a stop and doubles of a stop, of which a
/// head holds three at most (common practice, no source).
pub const SCRIM_STOPS: [f64; 7] = [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0];

/// The most that scrims take of a loss without taking more, stops.
fn scrims_within(loss_stops: f64) -> f64 {
    SCRIM_STOPS.into_iter().rfind(|s| *s <= loss_stops + 1e-9).unwrap_or(0.0)
}

/// Level each emitter is to have as a share of what it has.
pub(super) fn solve_levels(rig: &Rig, light: &Transport, m: &Measured, plan: &Plan, goal: &Goal) -> Vec<f64> {
    let list = light.emitters();
    let most: Vec<f64> = list
        .iter()
        .map(|e| rig.fixtures.iter().find(|f| f.id == e.fixture).map_or(1.0, |f| full_gain(f) / e.gain.max(1e-12)))
        .collect();
    let fixed: Vec<bool> = list.iter().map(|e| !rig.fixtures.iter().any(|f| f.id == e.fixture)).collect();
    let total = optics::lx_for_stop(goal.t_stop, &plan.exposure);
    // Each wish as a row over the emitters and the value it shall have, in shares of that value.
    let fill_wanted = total / goal.ratio;
    let mut rows: Vec<(Vec<f64>, f64)> = vec![(m.at_face.clone(), total), (m.fill.clone(), fill_wanted)];
    if let (Some(stops), Some(spot)) = (goal.background_stops, &m.background) {
        let wanted = middle_grey_cd_m2(goal.t_stop, &plan.exposure) * stops.exp2();
        let scale = spot.luminance_cd_m2 / m.behind.iter().sum::<f64>().max(1e-12);
        rows.push((m.behind.iter().map(|b| b * scale).collect(), wanted));
    }
    let rows: Vec<Vec<f64>> =
        rows.into_iter().map(|(row, wanted)| row.into_iter().map(|v| v / wanted.max(1e-9)).collect()).collect();
    let mut x = vec![1.0_f64; list.len()];
    const KEEP: f64 = 1e-6;
    for _ in 0..4_000 {
        for i in 0..x.len() {
            if fixed[i] {
                continue;
            }
            let (mut top, mut bottom) = (KEEP, KEEP);
            for row in &rows {
                let rest: f64 = row.iter().zip(&x).enumerate().filter(|(j, _)| *j != i).map(|(_, (a, b))| a * b).sum();
                top += row[i] * (1.0 - rest);
                bottom += row[i] * row[i];
            }
            x[i] = (top / bottom).clamp(0.0, most[i]);
        }
    }
    x
}

/// A fixture's factor with its dimmer full and no scrim in it.
pub(crate) fn full_gain(f: &Fixture) -> f64 {
    let mut full = f.clone();
    (full.dimmer, full.scrim_stops, full.on) = (1.0, 0.0, true);
    gain(&full)
}

/// Sets dimmer and scrims to a factor. Tungsten is scrimmed first, because dimming turns it orange; other
/// lamps keep the scrims they have.
pub(crate) fn set_level(f: &mut Fixture, factor: f64) {
    let full = full_gain(f);
    if factor < full * 1e-4 {
        f.on = false;
        return;
    }
    let loss = (full / factor).log2().max(0.0);
    let most = if f.lamp == LampType::Tungsten { loss } else { f.scrim_stops.min(loss) };
    let kept = scrims_within(most);
    f.scrim_stops = kept;
    f.dimmer = ((-(loss - kept)).exp2() * 1000.0).round() / 1000.0;
    f.dimmer = f.dimmer.clamp(0.001, 1.0);
}
