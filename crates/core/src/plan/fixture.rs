//! Lamps, what is put before them, and rigs.

use super::{CandelaTable, Curve, FixtureId, OutletId, RigId, Spectrum, Unknown};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use tapemark_words::say;

/// A lighting state, used by one or more shots.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Rig {
    /// Id.
    pub id: RigId,
    /// Name on the plan.
    pub name: String,
    /// Its lamps.
    #[serde(default)]
    pub fixtures: Vec<Fixture>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

impl Rig {
    /// A rig with no lamp in it.
    #[must_use]
    pub fn new(id: impl Into<RigId>, name: &str) -> Rig {
        Rig { id: id.into(), name: name.into(), fixtures: Vec::new(), unknown: Unknown::new() }
    }
}

/// A lamp on a stand, clamp or ceiling.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Fixture {
    /// Id.
    pub id: FixtureId,
    /// Name on the plan.
    #[serde(default)]
    pub name: String,
    /// What kind of head.
    pub head: Head,
    /// What makes the light.
    pub lamp: LampType,
    /// Electrical power, watts.
    pub watts: f64,
    /// Light leaving the head, lumens; absent: from watts, lamp and head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub output_lm: Option<f64>,
    /// Correlated colour temperature before gels, kelvin; what a Planckian or daylight spectrum is made from.
    pub cct_k: f64,
    /// What the light is made of before gels.
    #[serde(default, skip_serializing_if = "Spectrum::is_usual")]
    pub spectrum: Spectrum,
    /// Measured intensity by direction; with it the head's own beam is not used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub candela: Option<Arc<CandelaTable>>,
    /// Where, metres.
    pub position_m: [f64; 2],
    /// Floor to the middle of the head, metres.
    pub height_m: f64,
    /// Bearing it points to, degrees clockwise from +y.
    #[serde(default)]
    pub pan_deg: f64,
    /// Up positive, degrees.
    #[serde(default)]
    pub tilt_deg: f64,
    /// What holds it.
    #[serde(default)]
    pub mount: Mount,
    /// Whether it burns.
    #[serde(default = "default_on")]
    pub on: bool,
    /// Light level, 0–1 of full.
    #[serde(default = "default_dimmer")]
    pub dimmer: f64,
    /// Leaves of the barn doors.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub barn_doors: Option<BarnDoors>,
    /// Egg-crate grid on an area head: angle at which its cells hide the face, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grid_cutoff_deg: Option<f64>,
    /// Gels before it, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub gels: Vec<Gel>,
    /// Diffusion before it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diffusion: Option<Diffusion>,
    /// Scrims before it, stops of loss.
    #[serde(default)]
    pub scrim_stops: f64,
    /// The outlet it is plugged into.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outlet: Option<OutletId>,
    /// Real power over apparent power; absent: usual for the lamp.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_factor: Option<f64>,
    /// Copper of its cable, square millimetres; absent: 1.5.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cable_mm2: Option<f64>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
fn is_zero(v: &f64) -> bool {
    *v == 0.0
}
fn default_on() -> bool {
    true
}
fn default_dimmer() -> f64 {
    1.0
}

/// What makes the light in a head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LampType {
    /// Tungsten-halogen: hot.
    Tungsten,
    /// Light-emitting diodes.
    Led,
    /// Fluorescent tubes.
    Fluorescent,
}

/// Drivers and ballasts correct their power factor from this power on, watts (IEC 61000-3-2 asks for it of more than
/// 25 W).
const CORRECTED_FROM_W: f64 = 25.0;

impl LampType {
    /// Bare-lamp luminous efficacy in a head, lumens a watt (common practice, no source): a builder's 500 W tube
    /// gives about 9500 lm, a 20 W spiral bulb about 1200 lm.
    #[must_use]
    pub fn efficacy_lm_w(self, head: HeadClass) -> f64 {
        match (self, head) {
            (LampType::Tungsten, HeadClass::WorkLight) => 19.0,
            (LampType::Tungsten, _) => 25.0,
            (LampType::Led, _) => 100.0,
            (LampType::Fluorescent, HeadClass::BareBulb | HeadClass::Practical) => 60.0,
            (LampType::Fluorescent, _) => 80.0,
        }
    }
    /// Real power over apparent power: 1 for a filament, 0.9 for a driver or ballast with power-factor correction,
    /// 0.55 for the small ones without (common practice, no source for the values).
    #[must_use]
    pub fn power_factor(self, watts: f64) -> f64 {
        match self {
            LampType::Tungsten => 1.0,
            LampType::Led | LampType::Fluorescent if watts <= CORRECTED_FROM_W => 0.55,
            LampType::Led | LampType::Fluorescent => 0.9,
        }
    }
    /// Whether it burns hot enough to scorch.
    #[must_use]
    pub fn hot(self) -> bool {
        self == LampType::Tungsten
    }
    /// The trade's name.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            LampType::Tungsten => say!("tungsten"),
            LampType::Led => say!("led"),
            LampType::Fluorescent => say!("fluorescent"),
        }
    }
}

/// What holds a lamp up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Mount {
    /// A stand on the floor.
    #[default]
    Stand,
    /// A clamp on furniture, a shelf or a pipe.
    Clamp,
    /// Fixed in or under the ceiling.
    Ceiling,
    /// Standing on furniture as part of the set.
    Set,
}

/// A lamp head. Beam angle: where intensity falls to half its peak; field angle: to a tenth
/// (the usual stage and film definitions).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "type")]
pub enum Head {
    /// Reflector without a lens.
    OpenFace {
        /// Full angle at half of peak, degrees.
        beam_deg: f64,
        /// Full angle at a tenth of peak, degrees.
        field_deg: f64,
    },
    /// Lens and movable lamp.
    Fresnel {
        /// 0 full spot, 1 full flood.
        flood: f64,
    },
    /// A cloth front lit from behind: an even, diffuse area.
    SoftBox {
        /// Across, metres.
        width_m: f64,
        /// High, metres.
        height_m: f64,
    },
    /// A panel of diodes.
    Panel {
        /// Across, metres.
        width_m: f64,
        /// High, metres.
        height_m: f64,
        /// Full angle at half of peak, degrees; 120 is a diffuse face.
        beam_deg: f64,
    },
    /// Tubes side by side.
    FluorescentBank {
        /// Across, metres.
        width_m: f64,
        /// High, metres.
        height_m: f64,
    },
    /// A builder's lamp.
    WorkLight {
        /// Full angle at half of peak, degrees.
        beam_deg: f64,
        /// Full angle at a tenth of peak, degrees.
        field_deg: f64,
    },
    /// A bulb without a shade: even in all directions.
    BareBulb,
    /// A shaded lamp seen in the picture: even in all directions, less the shade's loss.
    Practical,
}

/// A head without its settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HeadClass {
    /// Open-face.
    OpenFace,
    /// Fresnel.
    Fresnel,
    /// Soft box.
    SoftBox,
    /// Panel.
    Panel,
    /// Fluorescent bank.
    FluorescentBank,
    /// Work light.
    WorkLight,
    /// Bare bulb.
    BareBulb,
    /// Practical.
    Practical,
}

impl HeadClass {
    /// All classes.
    pub const ALL: [HeadClass; 8] = [
        HeadClass::OpenFace,
        HeadClass::Fresnel,
        HeadClass::SoftBox,
        HeadClass::Panel,
        HeadClass::FluorescentBank,
        HeadClass::WorkLight,
        HeadClass::BareBulb,
        HeadClass::Practical,
    ];
    /// The trade's name.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            HeadClass::OpenFace => say!("open-face"),
            HeadClass::Fresnel => say!("fresnel"),
            HeadClass::SoftBox => say!("soft-box"),
            HeadClass::Panel => say!("panel"),
            HeadClass::FluorescentBank => say!("fluorescent-bank"),
            HeadClass::WorkLight => say!("work-light"),
            HeadClass::BareBulb => say!("bare-bulb"),
            HeadClass::Practical => say!("practical"),
        }
    }
    /// A generic head of this class with its usual lamp, watts and colour temperature
    /// (common practice, no source).
    #[must_use]
    pub fn usual(self) -> (Head, LampType, f64, f64) {
        match self {
            HeadClass::OpenFace => {
                (Head::OpenFace { beam_deg: 50.0, field_deg: 80.0 }, LampType::Tungsten, 800.0, 3200.0)
            }
            HeadClass::Fresnel => (Head::Fresnel { flood: 0.5 }, LampType::Tungsten, 650.0, 3200.0),
            HeadClass::SoftBox => (Head::SoftBox { width_m: 0.8, height_m: 0.8 }, LampType::Led, 150.0, 5600.0),
            HeadClass::Panel => {
                (Head::Panel { width_m: 0.3, height_m: 0.3, beam_deg: 120.0 }, LampType::Led, 60.0, 5600.0)
            }
            HeadClass::FluorescentBank => {
                (Head::FluorescentBank { width_m: 0.6, height_m: 0.35 }, LampType::Fluorescent, 220.0, 5600.0)
            }
            HeadClass::WorkLight => {
                (Head::WorkLight { beam_deg: 80.0, field_deg: 120.0 }, LampType::Tungsten, 500.0, 3000.0)
            }
            HeadClass::BareBulb => (Head::BareBulb, LampType::Led, 10.0, 2700.0),
            HeadClass::Practical => (Head::Practical, LampType::Led, 8.0, 2700.0),
        }
    }
}

impl Head {
    /// Its class.
    #[must_use]
    pub fn class(&self) -> HeadClass {
        match self {
            Head::OpenFace { .. } => HeadClass::OpenFace,
            Head::Fresnel { .. } => HeadClass::Fresnel,
            Head::SoftBox { .. } => HeadClass::SoftBox,
            Head::Panel { .. } => HeadClass::Panel,
            Head::FluorescentBank { .. } => HeadClass::FluorescentBank,
            Head::WorkLight { .. } => HeadClass::WorkLight,
            Head::BareBulb => HeadClass::BareBulb,
            Head::Practical => HeadClass::Practical,
        }
    }
    /// Share of the lamp's lumens that leave the head (common practice, no source).
    #[must_use]
    pub fn efficiency(&self) -> f64 {
        match self {
            Head::OpenFace { .. } => 0.6,
            Head::Fresnel { flood } => fresnel_efficiency(*flood),
            Head::SoftBox { .. } => 0.45,
            Head::Panel { .. } => 0.8,
            Head::FluorescentBank { .. } => 0.65,
            Head::WorkLight { .. } => 0.6,
            Head::BareBulb => 1.0,
            Head::Practical => 0.6,
        }
    }
    /// Beam and field angle, for heads that have them, degrees.
    #[must_use]
    pub fn beam_field_deg(&self) -> Option<(f64, f64)> {
        match *self {
            Head::OpenFace { beam_deg, field_deg } | Head::WorkLight { beam_deg, field_deg } => {
                Some((beam_deg, field_deg))
            }
            Head::Fresnel { flood } => Some((fresnel_beam_deg(flood), 18.0 + 46.0 * flood)),
            _ => None,
        }
    }
    /// Across the mouth of a head with a beam, where barn doors hang, metres (common practice, no source).
    #[must_use]
    pub fn mouth_m(&self) -> f64 {
        match self {
            Head::OpenFace { .. } => 0.18,
            Head::WorkLight { .. } => 0.16,
            _ => 2.0 * FRESNEL_RADIUS_M,
        }
    }
    /// Width and height of an area head, metres.
    #[must_use]
    pub fn area_m(&self) -> Option<(f64, f64)> {
        match *self {
            Head::SoftBox { width_m, height_m }
            | Head::Panel { width_m, height_m, .. }
            | Head::FluorescentBank { width_m, height_m } => Some((width_m, height_m)),
            _ => None,
        }
    }
}

/// Radius of a 6-inch class lens, metres.
const FRESNEL_RADIUS_M: f64 = 0.075;
/// Its focal length, metres (about its diameter; common practice, no source).
const FRESNEL_FOCAL_M: f64 = 0.15;
/// What the mirror behind the lamp adds, and what passes the lens (common practice, no source).
const FRESNEL_MIRROR_AND_LENS: f64 = 1.8 * 0.8;

/// Beam of a 6-inch class lens: about 10° at spot to 50° at flood (common practice, no source).
fn fresnel_beam_deg(flood: f64) -> f64 {
    10.0 + 40.0 * flood
}

/// Share of the lamp's light that a Fresnel throws. At spot the lamp stands in the focus of the lens; moved
/// nearer it lights more of its own half space into the lens: the edge ray leaves at half the beam's angle
/// when 1/d = 1/f + tan(β − β₀)/R (thin lens), and the lens takes in ½(1 − cos(atan(R/d))) of the sphere.
fn fresnel_efficiency(flood: f64) -> f64 {
    let opened = ((fresnel_beam_deg(flood) - fresnel_beam_deg(0.0)) * 0.5).to_radians();
    let inverse_d = 1.0 / FRESNEL_FOCAL_M + opened.tan() / FRESNEL_RADIUS_M;
    0.5 * (1.0 - (FRESNEL_RADIUS_M * inverse_d).atan().cos()) * FRESNEL_MIRROR_AND_LENS
}

impl Fixture {
    /// A usual lamp of a class, on a stand.
    #[must_use]
    pub fn new(id: impl Into<FixtureId>, class: HeadClass, position_m: [f64; 2], pan_deg: f64) -> Fixture {
        let (head, lamp, watts, cct_k) = class.usual();
        let mount = match class {
            HeadClass::BareBulb => Mount::Ceiling,
            HeadClass::Practical => Mount::Set,
            _ => Mount::Stand,
        };
        Fixture {
            id: id.into(),
            name: String::new(),
            head,
            lamp,
            watts,
            output_lm: None,
            cct_k,
            spectrum: Spectrum::Planck,
            candela: None,
            position_m,
            height_m: match mount {
                Mount::Ceiling => 2.3,
                Mount::Set => 1.1,
                _ => 2.0,
            },
            pan_deg,
            tilt_deg: if mount == Mount::Stand { -15.0 } else { 0.0 },
            mount,
            on: true,
            dimmer: 1.0,
            barn_doors: None,
            grid_cutoff_deg: None,
            gels: Vec::new(),
            diffusion: None,
            scrim_stops: 0.0,
            outlet: None,
            power_factor: None,
            cable_mm2: None,
            unknown: Unknown::new(),
        }
    }

    /// Lumens leaving the head at full, before gels, diffusion and scrims.
    #[must_use]
    pub fn rated_lm(&self) -> f64 {
        self.output_lm.unwrap_or_else(|| match &self.candela {
            Some(table) => table.lumens(),
            None => self.watts * self.lamp.efficacy_lm_w(self.head.class()) * self.head.efficiency(),
        })
    }

    /// Gels and diffusion before it, as the spoken language calls them.
    #[must_use]
    pub fn sheets_before(&self) -> Vec<&str> {
        let names = self.gels.iter().map(Gel::name).chain(self.diffusion.as_ref().map(|d| d.name.as_str()));
        names.map(super::stock_name).collect()
    }

    /// Real power over apparent power in force.
    #[must_use]
    pub fn power_factor_in_force(&self) -> f64 {
        self.power_factor.unwrap_or_else(|| self.lamp.power_factor(self.watts))
    }
    /// Copper of its cable in force, square millimetres.
    #[must_use]
    pub fn cable_mm2_in_force(&self) -> f64 {
        self.cable_mm2.unwrap_or(1.5)
    }

    /// What it is called on lists: its name, or its power and class.
    #[must_use]
    pub fn label(&self) -> String {
        if self.name.is_empty() { self.generic_name() } else { self.name.clone() }
    }

    /// Power and class: `800 W open-face`, `1 kW Fresnel`.
    #[must_use]
    pub fn generic_name(&self) -> String {
        let class = self.head.class().label();
        if self.watts >= 1000.0 {
            say!("watts-kw-class", watts = (self.watts / 100.0).round() / 10.0, class)
        } else {
            format!("{} W {class}", self.watts.round())
        }
    }
}

/// Four leaves, each by its angle from straight ahead, degrees (90 wide open).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BarnDoors {
    /// Leaf on the left seen from behind the lamp.
    pub left_deg: f64,
    /// Leaf on the right seen from behind the lamp.
    pub right_deg: f64,
    /// Upper leaf.
    pub top_deg: f64,
    /// Lower leaf.
    pub bottom_deg: f64,
}

impl BarnDoors {
    /// All leaves wide open.
    pub const OPEN: BarnDoors = BarnDoors { left_deg: 90.0, right_deg: 90.0, top_deg: 90.0, bottom_deg: 90.0 };
}

/// A sheet of coloured plastic before a lamp.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "type")]
pub enum Gel {
    /// A correction gel.
    Correction {
        /// Name on the list: `full blue correction`.
        name: String,
        /// Shift in mired; negative is bluer.
        mired_shift: f64,
        /// Share of light let through (0–1).
        transmittance: f64,
    },
    /// A gel by its transmission curve, 0–1 by wavelength.
    Measured(Curve),
}

impl Gel {
    /// Generic correction gels: name and mired shift, in round steps of our own (a full one turns 3200 K to 5500 K and
    /// 5600 K to 2950 K; common practice, no source). What they let through is worked out:
    /// [`crate::colour::correction_share`]. A maker's values come from a file.
    pub const CORRECTIONS: [(&str, f64); 8] = [
        ("full blue correction", -130.0),
        ("half blue correction", -65.0),
        ("quarter blue correction", -30.0),
        ("eighth blue correction", -15.0),
        ("full amber correction", 160.0),
        ("half amber correction", 80.0),
        ("quarter amber correction", 40.0),
        ("eighth amber correction", 20.0),
    ];
    /// One of [`Gel::CORRECTIONS`].
    #[must_use]
    pub fn correction(index: usize) -> Gel {
        let (name, mired_shift) = Gel::CORRECTIONS[index.min(Gel::CORRECTIONS.len() - 1)];
        let transmittance = (crate::colour::correction_share(mired_shift) * 100.0).round() / 100.0;
        Gel::Correction { name: name.into(), mired_shift, transmittance }
    }
    /// Generic colour gels by name: smooth nominal curves, ours, for planning; a swatch book's printed curve
    /// read from a file is exact.
    pub const COLOURS: [&str; 7] = ["straw", "amber", "red", "green", "blue", "full plus-green", "full minus-green"];
    /// One of [`Gel::COLOURS`].
    #[must_use]
    pub fn colour(name: &str) -> Option<Gel> {
        // Rises and falls: value before, (middle nm, width nm, value after)…
        let (start, steps): (f64, &[(f64, f64, f64)]) = match name {
            "straw" => (0.25, &[(490.0, 18.0, 0.9)]),
            "amber" => (0.03, &[(545.0, 14.0, 0.88)]),
            "red" => (0.02, &[(605.0, 8.0, 0.85)]),
            "green" => (0.02, &[(490.0, 12.0, 0.65), (570.0, 14.0, 0.04), (720.0, 15.0, 0.5)]),
            "blue" => (0.55, &[(500.0, 16.0, 0.02), (720.0, 15.0, 0.6)]),
            "full plus-green" => (0.55, &[(480.0, 22.0, 0.88), (590.0, 22.0, 0.58), (720.0, 20.0, 0.85)]),
            "full minus-green" => (0.85, &[(485.0, 18.0, 0.46), (600.0, 18.0, 0.86)]),
            _ => return None,
        };
        let value = |nm: f64| {
            let mut before = start;
            let mut value = start;
            for (middle, width, after) in steps {
                value += (after - before) / (1.0 + (-(nm - middle) / (width * 0.5)).exp());
                before = *after;
            }
            (value * 1e4).round() / 1e4
        };
        let points = (0..=40).map(|i| 380.0 + 10.0 * f64::from(i)).map(|nm| [nm, value(nm)]).collect();
        Some(Gel::Measured(Curve { name: name.into(), points }))
    }
    /// Name on the list.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Gel::Correction { name, .. } => name,
            Gel::Measured(curve) => &curve.name,
        }
    }
}

/// A diffusing sheet before a lamp.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Diffusion {
    /// Name on the list: `half diffusion`.
    pub name: String,
    /// Share of light let through at most (0–1).
    pub transmittance: f64,
    /// How far it spreads a beam: half angle at half intensity of a pencil of light behind it, degrees.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub spread_deg: f64,
    /// Light lost on the axis of a usual head, in all, stops. A beam so narrow that spreading it would let more than
    /// `transmittance` through loses more. Absent: `transmittance` and what spreading the beam takes off its axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis_loss_stops: Option<f64>,
}

impl Diffusion {
    /// Generic sheets: name, stops lost on the axis of a usual head, share let through at most, spread (nominal; the
    /// losses common practice, no source).
    pub const SHEETS: [(&str, f64, f64, f64); 3] = [
        ("quarter diffusion", 1.0 / 3.0, 0.9, 5.0),
        ("half diffusion", 0.75, 0.8, 8.0),
        ("full diffusion", 1.5, 0.7, 14.0),
    ];
    /// One of [`Diffusion::SHEETS`].
    #[must_use]
    pub fn sheet(name: &str) -> Option<Diffusion> {
        let (name, loss, transmittance, spread_deg) = *Diffusion::SHEETS.iter().find(|s| s.0 == name)?;
        Some(Diffusion { name: name.into(), transmittance, spread_deg, axis_loss_stops: Some(loss) })
    }
}
