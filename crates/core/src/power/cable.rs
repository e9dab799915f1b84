//! What copper takes: resistance, voltage drop, and the light that goes with it.

use crate::plan::LampType;

/// How a conductor is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Conductor {
    /// Solid or stranded, laid in the wall: IEC 60228 class 2.
    Fixed,
    /// Fine-stranded, a cable one rolls up: IEC 60228 class 5, plain copper.
    Flexible,
}

/// Temperature of the resistances of IEC 60228, °C.
pub const REFERENCE_C: f64 = 20.0;
/// Temperature of a loaded conductor in PVC, °C: what voltage drop is tabulated at.
pub const WORKING_C: f64 = 70.0;

/// Copper, mm², and the most a kilometre may have at 20 °C in ohms: IEC 60228 tables 2 and 3 (from memory).
const FIXED: [(f64, f64); 12] = [
    (0.5, 36.0),
    (0.75, 24.5),
    (1.0, 18.1),
    (1.5, 12.1),
    (2.5, 7.41),
    (4.0, 4.61),
    (6.0, 3.08),
    (10.0, 1.83),
    (16.0, 1.15),
    (25.0, 0.727),
    (35.0, 0.524),
    (50.0, 0.387),
];
const FLEXIBLE: [(f64, f64); 12] = [
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
    (50.0, 0.386),
];

/// Resistance of one conductor at 20 °C, ohms a kilometre; sizes between the standard's by their area.
#[must_use]
pub fn resistance_ohm_km(kind: Conductor, mm2: f64) -> f64 {
    let table = match kind {
        Conductor::Fixed => &FIXED,
        Conductor::Flexible => &FLEXIBLE,
    };
    // The size at or below the one asked for, scaled by area.
    let (area, ohm) = table.iter().rev().find(|(a, _)| *a <= mm2 + 1e-9).unwrap_or(&table[0]);
    ohm * area / mm2.max(1e-3)
}

/// How much copper's resistance grows from 20 °C: (234.5 + t) / 254.5 (IEC 60228 annex, from memory).
#[must_use]
pub fn temperature_factor(celsius: f64) -> f64 {
    (234.5 + celsius) / (234.5 + REFERENCE_C)
}

/// Voltage lost over a single-phase run and back, volts: ΔV = 2 · L · I · R at the working temperature.
#[must_use]
pub fn drop_v(kind: Conductor, mm2: f64, length_m: f64, current_a: f64) -> f64 {
    2.0 * length_m / 1000.0 * resistance_ohm_km(kind, mm2) * temperature_factor(WORKING_C) * current_a
}

/// Share of a lamp's light that is left at a share of its voltage.
///
/// A filament's light follows the voltage to the power 3.38 (lamp rerating exponents of the IES Lighting
/// Handbook, from memory). Drivers and electronic ballasts hold their output over the drops that count here.
#[must_use]
pub fn light_share_at(lamp: LampType, voltage_share: f64) -> f64 {
    match lamp {
        LampType::Tungsten => voltage_share.clamp(0.05, 2.0).powf(3.38),
        LampType::Led | LampType::Fluorescent => 1.0,
    }
}

/// Colour temperature of a filament at a share of its voltage, kelvin: to the power 0.42 (same source).
#[must_use]
pub fn warmer_tungsten_k(cct_k: f64, voltage_share: f64) -> f64 {
    cct_k * voltage_share.clamp(0.05, 2.0).powf(0.42)
}
