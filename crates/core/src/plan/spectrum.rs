//! What a lamp's light is made of, and what a gel lets through.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A curve over wavelength, point by point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Curve {
    /// What it is called.
    #[serde(default)]
    pub name: String,
    /// Wavelength in nanometres, rising, and value.
    pub points: Vec<[f64; 2]>,
}

/// The spectrum of a lamp before gels and dimming.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "type")]
pub enum Spectrum {
    /// A Planckian radiator at the fixture's colour temperature.
    #[default]
    Planck,
    /// CIE daylight at the fixture's colour temperature, 4000 K to 25 000 K.
    Daylight,
    /// A CIE illuminant by its symbol: `FL1` to `FL12`, `FL3.1` to `FL3.15`, `LED-B1` and others.
    Cie {
        /// The symbol.
        symbol: String,
    },
    /// Measured: relative power by wavelength.
    Measured(Curve),
}

impl Spectrum {
    /// Whether it is the one a fixture has when none is written.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        *self == Spectrum::Planck
    }
}
