//! Rigs and their lamps.

use super::pieces::facing;
use super::rooms::Floor;
use super::{Sizes, keep, names};
use crate::Lot;
use std::sync::Arc;
use tapemark_core::colour::Bands;
use tapemark_core::plan::{
    BarnDoors, CandelaTable, Curve, Diffusion, Fixture, Gel, Head, HeadClass, LampType, Mount, Photometry, Plan, Rig,
    Spectrum,
};

/// Hangs the rigs.
pub(super) fn hang(lot: &mut Lot, plan: &mut Plan, sizes: &Sizes, floor: &Floor) {
    for i in 0..=lot.below(sizes.rigs) {
        let mut rig = Rig::new(format!("rig-{}", i + 1), &names::title(lot));
        for k in 0..lot.below(sizes.lamps + 1) {
            let lamp = lamp(lot, plan, floor, &format!("lamp-{}-{}", i + 1, k + 1));
            rig.fixtures.push(lamp);
        }
        while !keep(plan, |p| p.rigs.push(rig.clone())) && rig.fixtures.pop().is_some() {}
    }
}

/// A lamp somewhere.
pub(super) fn lamp(lot: &mut Lot, plan: &Plan, floor: &Floor, id: &str) -> Fixture {
    let class = HeadClass::ALL[lot.below(HeadClass::ALL.len())];
    let room = lot.below(floor.outlines.len());
    let (at, toward) = (floor.within(lot, room), floor.within(lot, room));
    let mut f = Fixture::new(id, class, at.to_array(), facing(at, toward));
    f.name = if lot.percent(40) { names::thing(lot) } else { String::new() };
    f.head = head(lot, f.head);
    f.height_m = lot.steps(0.3, 2.6, 0.05);
    if class != HeadClass::BareBulb && class != HeadClass::Practical {
        f.mount = lot.one(&[Mount::Stand, Mount::Stand, Mount::Clamp, Mount::Ceiling, Mount::Set]).unwrap_or_default();
        f.tilt_deg = lot.steps(-60.0, 30.0, 5.0);
    }
    if lot.percent(40) {
        f.lamp = lot.one(&[LampType::Tungsten, LampType::Led, LampType::Fluorescent]).unwrap_or(f.lamp);
        f.watts = lot.one(&[8.0, 40.0, 100.0, 300.0, 650.0, 1000.0, 2000.0]).unwrap_or(f.watts);
    }
    f.output_lm = lot.percent(20).then(|| lot.steps(200.0, 30_000.0, 100.0));
    f.cct_k = if lot.percent(40) { lot.steps(2700.0, 6500.0, 100.0) } else { f.cct_k };
    f.spectrum = spectrum(lot, &mut f.cct_k);
    f.candela = lot.percent(8).then(|| Arc::new(table(lot)));
    f.on = lot.percent(90);
    f.dimmer = if lot.percent(35) { lot.steps(0.0, 1.0, 0.05) } else { 1.0 };
    f.scrim_stops = lot.one(&[0.0, 0.0, 0.0, 0.5, 1.0, 1.5]).unwrap_or(0.0);
    if f.head.beam_field_deg().is_some() && lot.percent(45) {
        let leaf = |lot: &mut Lot| lot.one(&[90.0, 60.0, 35.0, 10.0, 0.0, -20.0]).unwrap_or(90.0);
        f.barn_doors =
            Some(BarnDoors { left_deg: leaf(lot), right_deg: leaf(lot), top_deg: leaf(lot), bottom_deg: leaf(lot) });
    }
    if f.head.area_m().is_some() && lot.percent(20) {
        f.grid_cutoff_deg = Some(lot.steps(20.0, 60.0, 10.0));
    }
    for _ in 0..lot.one(&[0, 0, 0, 1, 1, 2]).unwrap_or(0) {
        f.gels.push(gel(lot));
    }
    if lot.percent(25) {
        let (name, ..) = Diffusion::SHEETS[lot.below(Diffusion::SHEETS.len())];
        f.diffusion = Diffusion::sheet(name);
    }
    f.outlet = if lot.percent(70) { lot.one(&plan.location.outlets).map(|o| o.id) } else { None };
    f.power_factor = lot.percent(10).then(|| lot.steps(0.5, 1.0, 0.05));
    f.cable_mm2 = if lot.percent(15) { lot.one(&[1.0, 2.5]) } else { None };
    f
}

fn head(lot: &mut Lot, usual: Head) -> Head {
    if lot.percent(40) {
        return usual;
    }
    let side = |lot: &mut Lot| lot.steps(0.15, 1.4, 0.05);
    let beam = |lot: &mut Lot| {
        let beam_deg = lot.steps(15.0, 90.0, 5.0);
        (beam_deg, beam_deg + lot.steps(10.0, 60.0, 5.0))
    };
    match usual {
        Head::OpenFace { .. } => {
            let (beam_deg, field_deg) = beam(lot);
            Head::OpenFace { beam_deg, field_deg }
        }
        Head::WorkLight { .. } => {
            let (beam_deg, field_deg) = beam(lot);
            Head::WorkLight { beam_deg, field_deg }
        }
        Head::Fresnel { .. } => Head::Fresnel { flood: lot.steps(0.0, 1.0, 0.1) },
        Head::SoftBox { .. } => Head::SoftBox { width_m: side(lot), height_m: side(lot) },
        Head::Panel { .. } => {
            Head::Panel { width_m: side(lot), height_m: side(lot), beam_deg: lot.steps(20.0, 120.0, 10.0) }
        }
        Head::FluorescentBank { .. } => Head::FluorescentBank { width_m: side(lot), height_m: side(lot) },
        other => other,
    }
}

fn spectrum(lot: &mut Lot, cct_k: &mut f64) -> Spectrum {
    match lot.below(10) {
        0 => {
            *cct_k = lot.steps(4000.0, 7500.0, 100.0);
            Spectrum::Daylight
        }
        1 => Spectrum::Cie { symbol: lot.one(&Bands::cie_symbols()).unwrap_or("FL1").into() },
        2 => {
            let points = (0..=20).map(|i| [380.0 + 20.0 * f64::from(i), lot.steps(0.1, 1.0, 0.01)]).collect();
            Spectrum::Measured(Curve { name: names::thing(lot), points })
        }
        _ => Spectrum::Planck,
    }
}

fn gel(lot: &mut Lot) -> Gel {
    match lot.below(3) {
        0 => Gel::colour(Gel::COLOURS[lot.below(Gel::COLOURS.len())]).unwrap_or_else(|| Gel::correction(0)),
        _ => Gel::correction(lot.below(Gel::CORRECTIONS.len())),
    }
}

/// A beam as a goniometer measures it.
fn table(lot: &mut Lot) -> CandelaTable {
    let peak = lot.steps(500.0, 8000.0, 100.0);
    let share = [1.0, 0.97, 0.86, 0.7, 0.5, 0.33, 0.2, 0.1, 0.04, 0.0];
    let squeeze = lot.one(&[1.0, 0.8]).unwrap_or(1.0);
    let row = |by: f64| share.iter().map(|s| s * by * peak).collect();
    CandelaTable {
        name: names::thing(lot),
        photometry: Photometry::C,
        vertical_deg: (0..10).map(|i| 10.0 * f64::from(i)).collect(),
        horizontal_deg: vec![0.0, 90.0],
        candela: vec![row(1.0), row(squeeze)],
    }
}
