//! Maps over the floor as cells of colour, and what their colours mean.

use crate::marks::{Ink, Layer, Mark, Shape};
use crate::palette::level_colour;
use tapemark_core::blocking::ClearMap;
use tapemark_core::light::{LightMap, MapShows};
use tapemark_core::units::{LX_PER_FC, LevelUnit};
use tapemark_words::{figure, say, signed};

/// Key to fill of the brightest colour, stops.
const WIDEST_KEY_FILL_STOPS: f64 = 5.0;

/// Light over the floor as cells of colour: the level, u = 0 four stops under `wanted_lx`, u = 1 four over; or
/// key to fill, u = 0 none, u = 1 five stops; or the light's own look, dark where it is dark.
#[must_use]
pub fn heat_mark(map: &LightMap, wanted_lx: f64, opacity: f64) -> Mark {
    let mut rgba = Vec::with_capacity(map.level_lx.len() * 4);
    for (i, level) in map.level_lx.iter().enumerate() {
        let ink = if level.is_finite() {
            let stops = (f64::from(*level) / wanted_lx).max(1e-9).log2();
            match (map.look_srgb.get(i), map.key_fill_stops.get(i)) {
                (Some([r, g, b]), _) => {
                    let dim = |c: u8| (f64::from(c) * (0.5 * stops).exp2().clamp(0.25, 1.0)).round() as u8;
                    Ink::rgb(dim(*r), dim(*g), dim(*b)).faded(opacity)
                }
                (_, Some(k)) => level_colour(f64::from(*k) / WIDEST_KEY_FILL_STOPS).faded(opacity),
                _ => level_colour((stops + 4.0) / 8.0).faded(opacity),
            }
        } else {
            Ink { r: 0, g: 0, b: 0, a: 0 }
        };
        rgba.extend([ink.r, ink.g, ink.b, ink.a]);
    }
    Mark::new(Layer::Light, Shape::Raster { origin: map.origin, cell: map.cell_m, nx: map.nx, ny: map.ny, rgba })
}

/// The clear-view map as cells of colour: dark where a face is hidden, bright where all are clear; nothing where
/// the camera cannot stand.
#[must_use]
pub fn clear_mark(map: &ClearMap, opacity: f64) -> Mark {
    let mut rgba = Vec::with_capacity(map.least.len() * 4);
    for (least, ruled) in map.least.iter().zip(&map.ruled_out) {
        let ink = match ruled {
            None => level_colour(f64::from(*least)).faded(opacity),
            Some(_) => Ink { r: 0, g: 0, b: 0, a: 0 },
        };
        rgba.extend([ink.r, ink.g, ink.b, ink.a]);
    }
    Mark::new(Layer::Light, Shape::Raster { origin: map.origin, cell: map.cell_m, nx: map.nx, ny: map.ny, rgba })
}

/// What the colours of a map mean.
#[derive(Debug, Clone, PartialEq)]
pub struct MapLegend {
    /// From dark to bright, each with its numbers.
    pub swatches: Vec<(Ink, Vec<String>)>,
    /// What the numbers are.
    pub words: String,
}

const SWATCHES: usize = 9;

fn legend(words: impl Into<String>, numbers: impl Fn(f64) -> Vec<String>) -> MapLegend {
    let shares = (0..SWATCHES).map(|i| i as f64 / (SWATCHES - 1) as f64);
    MapLegend { swatches: shares.map(|s| (level_colour(s), numbers(s))).collect(), words: words.into() }
}

/// What the colours of a light map mean, in one unit or several.
#[must_use]
pub fn light_legend(shows: MapShows, wanted_lx: f64, units: &[LevelUnit]) -> MapLegend {
    match shows {
        MapShows::Colour => {
            MapLegend { swatches: Vec::new(), words: say!("colour-at-the-white-balance-darker").into() }
        }
        MapShows::KeyFill => legend(say!("key-and-fill-over-fill"), |s| {
            vec![format!("{}:1", figure((s * WIDEST_KEY_FILL_STOPS).exp2(), 1))]
        }),
        MapShows::Level => {
            let words: Vec<&str> = units
                .iter()
                .map(|u| match u {
                    LevelUnit::Lux => say!("lux"),
                    LevelUnit::FootCandles => say!("foot-candles"),
                    LevelUnit::Stops => say!("stops-from-the-exposure-wanted"),
                })
                .collect();
            legend(words.join(say!("and")), |s| {
                let stops = s * 8.0 - 4.0;
                let lx = wanted_lx * stops.exp2();
                units
                    .iter()
                    .map(|u| match u {
                        LevelUnit::Lux => figure(lx, 0),
                        LevelUnit::FootCandles => figure(lx / LX_PER_FC, 1),
                        LevelUnit::Stops => signed(stops, 0),
                    })
                    .collect()
            })
        }
    }
}

/// What the colours of a clear-view map mean.
#[must_use]
pub fn clear_legend() -> MapLegend {
    legend(say!("least-seen-of-the-faces-wanted"), |s| vec![format!("{} %", figure(s * 100.0, 0))])
}
