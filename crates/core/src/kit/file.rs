//! The kit file: what a person owns and what the rest costs, shared between plans.

use crate::plan::{HeadClass, LampType, MOST, PlanError, Unknown, is_longer, stock_name};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tapemark_words::{figure, say};

/// The value of a kit file's `format` key.
pub const KIT_FORMAT: &str = "tapemark-kit";
/// The kit-file version this crate writes.
const KIT_VERSION: u32 = 1;
/// Largest kit file that is read.
pub const MAX_KIT_BYTES: usize = 4 << 20;
/// Most items.
const MAX_ITEMS: usize = 5_000;

/// What a person owns, and prices.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct KitFile {
    /// Always `tapemark-kit`.
    pub format: String,
    /// Version of the file's shape; this crate writes 1.
    pub version: u32,
    /// Currency of every price, as it shall be written.
    #[serde(default)]
    pub currency: String,
    /// Things owned or priced.
    #[serde(default)]
    pub items: Vec<KitItem>,
    /// Unknown keys.
    #[serde(flatten)]
    pub unknown: Unknown,
}

impl Default for KitFile {
    fn default() -> Self {
        KitFile {
            format: KIT_FORMAT.into(),
            version: KIT_VERSION,
            currency: String::new(),
            items: Vec::new(),
            unknown: Unknown::new(),
        }
    }
}

/// A thing owned, or only priced (count 0).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct KitItem {
    /// What it is.
    #[serde(flatten)]
    pub thing: Thing,
    /// How many there are, in the thing's unit.
    #[serde(default)]
    pub count: f64,
    /// Price of a day's rent, each.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rent_price: Option<f64>,
    /// Price to buy, each.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub buy_price: Option<f64>,
    /// Weight of one, kilograms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight_kg: Option<f64>,
    /// Volume of one packed, litres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume_l: Option<f64>,
}

/// Something to bring.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "thing")]
pub enum Thing {
    /// A lamp head with its lamp.
    Lamp {
        /// Class.
        class: HeadClass,
        /// What makes the light.
        lamp: LampType,
        /// Power, watts.
        watts: f64,
    },
    /// A lamp stand.
    Stand,
    /// A clamp that holds a lamp.
    Clamp,
    /// A sandbag.
    Sandbag,
    /// A camera support: tripod and head.
    Tripod,
    /// An extension cable.
    Cable {
        /// Length, metres.
        length_m: f64,
        /// Copper, square millimetres.
        conductor_mm2: f64,
    },
    /// A block of outlets.
    OutletBlock,
    /// A gel, by its name, in sheets.
    Gel {
        /// Name.
        name: String,
    },
    /// Diffusion, by its name, in sheets.
    Diffusion {
        /// Name.
        name: String,
    },
    /// A set of scrims for a head.
    Scrims,
    /// Black cloth, in metres off its roll.
    Cloth {
        /// Width of the roll, metres.
        roll_width_m: f64,
    },
    /// A spare lamp for a tungsten head.
    SpareLamp {
        /// Power, watts.
        watts: f64,
    },
    /// Cloth tape, in rolls.
    Tape,
    /// A roll of kitchen foil: flags and leaves for lamps without doors.
    Foil,
    /// A flag or frame.
    Flag,
    /// A bounce board.
    Board,
    /// Anything else, by its name.
    Other {
        /// Name.
        name: String,
    },
}

impl Thing {
    /// Name on lists.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Thing::Lamp { class, lamp, watts } => {
                let power = if *watts >= 1000.0 {
                    say!("watts-kw", watts = (watts / 100.0).round() / 10.0)
                } else {
                    format!("{} W", figure(watts, 0))
                };
                format!("{power} {} ({})", class.label(), lamp.label())
            }
            Thing::Stand => say!("lamp-stand").into(),
            Thing::Clamp => say!("lamp-clamp").into(),
            Thing::Sandbag => say!("sandbag").into(),
            Thing::Tripod => say!("tripod").into(),
            Thing::Cable { length_m, conductor_mm2 } => {
                say!("extension-cable-length-m-3", length_m = figure(length_m, 0), conductor_mm2)
            }
            Thing::OutletBlock => say!("block-of-outlets").into(),
            Thing::Gel { name } => say!("name-sheet", name = stock_name(name)),
            Thing::Diffusion { name } => say!("name-sheet", name = stock_name(name)),
            Thing::Scrims => say!("scrim-set").into(),
            Thing::Cloth { roll_width_m } => say!("black-cloth-off-a-m-roll", roll_width_m),
            Thing::SpareLamp { watts } => say!("spare-lamp-watts-w", watts = figure(watts, 0)),
            Thing::Tape => say!("cloth-tape").into(),
            Thing::Foil => say!("black-foil").into(),
            Thing::Flag => say!("flag-or-frame").into(),
            Thing::Board => say!("bounce-board").into(),
            Thing::Other { name } => name.clone(),
        }
    }
    /// Unit of its count; empty: pieces.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        match self {
            Thing::Cloth { .. } => "m",
            Thing::Tape | Thing::Foil => say!("rolls"),
            Thing::Gel { .. } | Thing::Diffusion { .. } => say!("sheets"),
            _ => "",
        }
    }
    /// As [`Thing::unit`], of so many.
    #[must_use]
    pub fn unit_of(&self, count: f64) -> &'static str {
        match self {
            Thing::Tape | Thing::Foil if count == 1.0 => say!("roll-one"),
            Thing::Gel { .. } | Thing::Diffusion { .. } if count == 1.0 => say!("sheet-one"),
            _ => self.unit(),
        }
    }
    /// Whether it does as another: longer and thicker cable and wider cloth do.
    #[must_use]
    pub fn serves(&self, wanted: &Thing) -> bool {
        match (self, wanted) {
            (
                Thing::Lamp { class, lamp, watts },
                Thing::Lamp { class: other, lamp: other_lamp, watts: other_watts },
            ) => class == other && lamp == other_lamp && (watts - other_watts).abs() <= 0.05 * other_watts.max(1.0),
            (Thing::Cable { length_m, conductor_mm2 }, Thing::Cable { length_m: l, conductor_mm2: mm2 }) => {
                *length_m >= l - 1e-6 && *conductor_mm2 >= mm2 - 1e-6
            }
            (Thing::Cloth { roll_width_m }, Thing::Cloth { roll_width_m: w }) => *roll_width_m >= w - 1e-6,
            (Thing::SpareLamp { watts }, Thing::SpareLamp { watts: w }) => (watts - w).abs() < 0.5,
            (a, b) => a == b,
        }
    }
    /// Weight of one, kilograms (nominal; common practice, no source).
    #[must_use]
    pub fn usual_weight_kg(&self) -> f64 {
        match self {
            Thing::Lamp { class, watts, .. } => match class {
                HeadClass::OpenFace => 1.2 + watts / 800.0,
                HeadClass::Fresnel => 2.5 + watts / 300.0,
                HeadClass::SoftBox => 3.0 + watts / 100.0,
                HeadClass::Panel => 1.0 + watts / 40.0,
                HeadClass::FluorescentBank => 4.0 + watts / 80.0,
                HeadClass::WorkLight => 1.5,
                HeadClass::BareBulb | HeadClass::Practical => 0.5,
            },
            Thing::Stand => 3.0,
            Thing::Clamp => 0.6,
            Thing::Sandbag => 7.0,
            Thing::Tripod => 6.0,
            // Two cores and earth: copper 8.9 g/cm³, and as much again of rubber.
            Thing::Cable { length_m, conductor_mm2 } => length_m * conductor_mm2 * 3.0 * 0.0089 * 2.2,
            Thing::OutletBlock => 0.8,
            Thing::Gel { .. } | Thing::Diffusion { .. } => 0.03,
            Thing::Scrims => 0.3,
            Thing::Cloth { roll_width_m } => roll_width_m * 0.3,
            Thing::SpareLamp { .. } => 0.05,
            Thing::Tape => 0.5,
            Thing::Foil => 0.8,
            Thing::Flag => 1.0,
            Thing::Board => 0.8,
            Thing::Other { .. } => 1.0,
        }
    }
    /// Packed volume of one, litres (nominal; common practice, no source).
    #[must_use]
    pub fn usual_volume_l(&self) -> f64 {
        match self {
            Thing::Lamp { class, .. } => match class {
                HeadClass::SoftBox => 25.0,
                HeadClass::FluorescentBank => 30.0,
                HeadClass::Fresnel => 20.0,
                HeadClass::BareBulb | HeadClass::Practical => 4.0,
                _ => 10.0,
            },
            Thing::Stand => 8.0,
            Thing::Tripod => 20.0,
            Thing::Sandbag => 5.0,
            Thing::Cable { length_m, conductor_mm2 } => length_m * (0.12 + 0.06 * conductor_mm2),
            Thing::Cloth { roll_width_m } => roll_width_m * 0.8,
            Thing::Gel { .. } | Thing::Diffusion { .. } => 0.1,
            Thing::Flag => 6.0,
            Thing::Board => 15.0,
            _ => 1.0,
        }
    }
}

/// Reads a kit file.
///
/// # Errors
/// Names what is wrong, where, and the remedy.
pub fn kit_from_json(bytes: &[u8]) -> Result<KitFile, PlanError> {
    let bad = |what: String, place: String, remedy: &str| PlanError { what, place, remedy: remedy.into() };
    if bytes.len() > MAX_KIT_BYTES {
        return Err(bad(
            say!("the-kit-file-is-too-large").into(),
            say!("the-file").into(),
            say!("choose-a-kit-file-under-4"),
        ));
    }
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    let kit: KitFile = serde_path_to_error::deserialize(&mut reader).map_err(|e| {
        let place = e.path().to_string();
        bad(say!("the-kit-file-could-not-be", e = e.inner()), place, say!("correct-the-file-there-or-start"))
    })?;
    if kit.format != KIT_FORMAT {
        return Err(bad(
            say!("this-is-not-a-kit-file", format = kit.format),
            "format".into(),
            say!("choose-a-file-whose-format-is"),
        ));
    }
    if kit.version != KIT_VERSION {
        return Err(bad(
            say!("the-kit-file-has-version", version = kit.version),
            "version".into(),
            say!("this-program-reads-version-1-use"),
        ));
    }
    if kit.items.len() > MAX_ITEMS {
        return Err(bad(
            say!("so-many-items", items = kit.items.len()),
            "items".into(),
            say!("keep-at-most-5000-items"),
        ));
    }
    let names = kit.items.iter().enumerate().map(|(i, item)| (format!("items[{i}].name"), item.thing.name()));
    if let Some((place, _)) =
        std::iter::once(("currency".into(), kit.currency.clone())).chain(names).find(|t| is_longer(&t.1, MOST.letters))
    {
        let remedy = say!("shorten-it-to-most-letters", most = MOST.letters);
        return Err(bad(say!("the-text-is-too-long").into(), place, &remedy));
    }
    for (i, item) in kit.items.iter().enumerate() {
        let numbers = [
            ("count", Some(item.count)),
            ("rent_price", item.rent_price),
            ("buy_price", item.buy_price),
            ("weight_kg", item.weight_kg),
            ("volume_l", item.volume_l),
        ];
        for (name, v) in numbers {
            if v.is_some_and(|v| !v.is_finite() || !(0.0..=1e9).contains(&v)) {
                return Err(bad(
                    say!("not-a-usable-number").into(),
                    format!("items[{i}].{name}"),
                    say!("write-a-number-from-0-up"),
                ));
            }
        }
    }
    Ok(kit)
}

/// Writes a kit file.
#[must_use]
pub fn kit_to_json(kit: &KitFile) -> String {
    let mut text = serde_json::to_string_pretty(kit).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of the kit file.
#[must_use]
pub fn kit_schema() -> serde_json::Value {
    serde_json::to_value(schemars::schema_for!(KitFile)).unwrap_or_default()
}
