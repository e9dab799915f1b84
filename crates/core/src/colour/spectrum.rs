//! Spectral power and transmission, 380–780 nm at 5 nm, the step at which CIE 015 tabulates its observers
//! and illuminants.

use super::cmf::{CMF_1931_ABOVE, CMF_1931_BELOW};
use super::{CMF_1931, FIRST_NM, STEP_NM, Xyz, cct_duv};
use crate::plan::Curve;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use tapemark_words::say;

/// Wavelengths held.
pub const BANDS: usize = CMF_1931.len();
/// Last wavelength, nanometres.
const LAST_NM: f64 = FIRST_NM + STEP_NM * (BANDS - 1) as f64;
/// Second radiation constant, metre kelvin (CIE 015: 1.4388e-2).
const C2_M_K: f64 = 1.4388e-2;

/// Relative power, or transmission, by wavelength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bands(pub [f64; BANDS]);

fn nm(i: usize) -> f64 {
    FIRST_NM + STEP_NM * i as f64
}

fn planck_at(nm: f64, kelvin: f64) -> f64 {
    let metres = nm * 1e-9;
    // Scaled by (560 nm)^5 so that the numbers stay near one; the scale cancels in every ratio.
    (560e-9 / metres).powi(5) / (C2_M_K / (metres * kelvin)).exp_m1()
}

fn weighed<'a>(values: impl Iterator<Item = (f64, &'a [f64; 3])>) -> Xyz {
    values.fold(Xyz::default(), |sum, (v, c)| sum + Xyz { x: c[0], y: c[1], z: c[2] } * v)
}

/// A Planckian radiator's tristimulus values with Y = 1, over the observer's whole range.
#[must_use]
pub fn planck_xyz(kelvin: f64) -> Xyz {
    let below = CMF_1931_BELOW.len() as f64;
    let all = CMF_1931_BELOW.iter().chain(&CMF_1931).chain(&CMF_1931_ABOVE);
    let xyz = weighed(all.enumerate().map(|(i, c)| (planck_at(FIRST_NM + STEP_NM * (i as f64 - below), kelvin), c)));
    xyz * (1.0 / xyz.y)
}

impl Bands {
    /// A value at every wavelength.
    #[must_use]
    pub fn from_fn(f: impl Fn(f64) -> f64) -> Bands {
        Bands(std::array::from_fn(|i| f(nm(i))))
    }

    /// A Planckian radiator.
    #[must_use]
    pub fn planck(kelvin: f64) -> Bands {
        Bands::from_fn(|nm| planck_at(nm, kelvin))
    }

    /// CIE daylight at a correlated colour temperature, 4000 K to 25 000 K (CIE 015: x from T, y from x,
    /// S0 + M1·S1 + M2·S2); temperatures outside are brought to the nearer end.
    #[must_use]
    pub fn daylight(kelvin: f64) -> Bands {
        let t = kelvin.clamp(4000.0, 25_000.0);
        let x = if t <= 7000.0 {
            -4.6070e9 / t.powi(3) + 2.9678e6 / t.powi(2) + 0.09911e3 / t + 0.244_063
        } else {
            -2.0064e9 / t.powi(3) + 1.9018e6 / t.powi(2) + 0.24748e3 / t + 0.237_040
        };
        let y = -3.0 * x * x + 2.870 * x - 0.275;
        let m = 0.0241 + 0.2562 * x - 0.7341 * y;
        let (m1, m2) = ((-1.3515 - 1.7703 * x + 5.9114 * y) / m, (0.0300 - 31.4424 * x + 30.0717 * y) / m);
        let [s0, s1, s2] = ["S0", "S1", "S2"].map(|s| table().get(s).copied().unwrap_or(Bands([0.0; BANDS])));
        // The series may dip below nothing at the violet end of very low temperatures.
        Bands(std::array::from_fn(|i| (s0.0[i] + m1 * s1.0[i] + m2 * s2.0[i]).max(0.0)))
    }

    /// A CIE illuminant by its symbol.
    #[must_use]
    pub fn cie(symbol: &str) -> Option<Bands> {
        table().get(symbol).filter(|_| !symbol.starts_with('S')).copied()
    }

    /// The symbols [`Bands::cie`] knows, fluorescent lamps first.
    #[must_use]
    pub fn cie_symbols() -> Vec<&'static str> {
        [FLUORESCENT, LED].iter().flat_map(|text| symbols(text)).collect()
    }

    /// A curve on the bands.
    ///
    /// A point on every band is taken as it stands. Finer curves are averaged with the triangular weight
    /// that makes the sum equal to integrating against the observer between its bands; coarser ones are
    /// interpolated by a cubic through the four nearest points. Outside the curve its end values hold
    /// (CIE 015 on missing ends).
    #[must_use]
    pub fn of_curve(curve: &Curve) -> Bands {
        let points = &curve.points;
        if points.is_empty() {
            return Bands([0.0; BANDS]);
        }
        let on_band = |w: f64| points.iter().find(|p| (p[0] - w).abs() < 1e-6).map(|p| p[1]);
        let within = |w: f64| w >= points[0][0] && w <= points[points.len() - 1][0];
        let mean_step = (points[points.len() - 1][0] - points[0][0]) / (points.len().max(2) - 1) as f64;
        let fine = mean_step < STEP_NM - 1e-6;
        Bands::from_fn(|w| {
            if !fine && let Some(v) = on_band(w) {
                return v;
            }
            if !fine && within(w) {
                return cubic(points, w).max(0.0);
            }
            if !fine {
                return linear(points, w);
            }
            // Triangle of ± one step in quarter nanometres.
            let (mut sum, mut weights) = (0.0, 0.0);
            for k in -20..=20 {
                let away = f64::from(k) * 0.25;
                let weight = 1.0 - away.abs() / STEP_NM;
                // At the ends half of the triangle lies outside the visible range.
                if (FIRST_NM..=LAST_NM).contains(&(w + away)) {
                    sum += weight * linear(points, w + away);
                    weights += weight;
                }
            }
            sum / weights
        })
    }

    /// Band by band.
    #[must_use]
    pub fn times(&self, other: &Bands) -> Bands {
        Bands(std::array::from_fn(|i| self.0[i] * other.0[i]))
    }

    /// All bands by one factor.
    #[must_use]
    pub fn scaled(&self, k: f64) -> Bands {
        Bands(self.0.map(|v| v * k))
    }

    /// Tristimulus values for the CIE 1931 2° observer, in the units of the bands. Past its ends a spectrum
    /// goes on as its last value (CIE 015 on missing ends).
    #[must_use]
    pub fn xyz(&self) -> Xyz {
        let ends = CMF_1931_BELOW.iter().map(|c| (self.0[0], c));
        let above = CMF_1931_ABOVE.iter().map(|c| (self.0[BANDS - 1], c));
        weighed(ends.chain(self.0.iter().copied().zip(&CMF_1931)).chain(above))
    }

    /// Scaled to Y = 1; none if the eye would see nothing.
    #[must_use]
    pub fn normalised(&self) -> Option<Bands> {
        let y = self.xyz().y;
        (y > 0.0 && y.is_finite()).then(|| self.scaled(1.0 / y))
    }

    /// Turned as one Planckian into another: exact for thermal light, and the definition of a mired shift.
    #[must_use]
    pub fn turned_k(&self, from_k: f64, to_k: f64) -> Bands {
        Bands(std::array::from_fn(|i| self.0[i] * planck_at(nm(i), to_k) / planck_at(nm(i), from_k)))
    }

    /// Shifted by mireds from its own colour temperature; light too far from the locus to have one is
    /// shifted as 5500 K is.
    #[must_use]
    pub fn shifted_mired(&self, shift: f64) -> Bands {
        let from = cct_duv(self.xyz()).map_or(5500.0, |c| c.0);
        self.turned_k(from, super::shifted_k(from, shift).clamp(1000.0, 50_000.0))
    }
}

fn linear(points: &[[f64; 2]], w: f64) -> f64 {
    let after = points.partition_point(|p| p[0] < w);
    match (after.checked_sub(1).map(|i| points[i]), points.get(after)) {
        (Some(a), Some(b)) => a[1] + (b[1] - a[1]) * (w - a[0]) / (b[0] - a[0]).max(1e-9),
        (Some(a), None) => a[1],
        (None, Some(b)) => b[1],
        (None, None) => 0.0,
    }
}

/// The cubic through the four nearest points (Lagrange).
fn cubic(points: &[[f64; 2]], w: f64) -> f64 {
    if points.len() < 4 {
        return linear(points, w);
    }
    let after = points.partition_point(|p| p[0] < w);
    let first = after.saturating_sub(2).min(points.len() - 4);
    let four = &points[first..first + 4];
    let mut sum = 0.0;
    for (i, a) in four.iter().enumerate() {
        let mut term = a[1];
        for (j, b) in four.iter().enumerate() {
            if i != j {
                term *= (w - b[0]) / (a[0] - b[0]);
            }
        }
        sum += term;
    }
    sum
}

const FLUORESCENT: &str = include_str!("../../../../assets/spectra/cie-fluorescent.csv");
const LED: &str = include_str!("../../../../assets/spectra/cie-led.csv");
const DAYLIGHT: &str = include_str!("../../../../assets/spectra/cie-daylight.csv");

fn symbols(text: &'static str) -> impl Iterator<Item = &'static str> {
    text.lines().find(|l| !l.starts_with('#')).unwrap_or_default().split(',').skip(1)
}

fn table() -> &'static BTreeMap<&'static str, Bands> {
    static TABLE: OnceLock<BTreeMap<&'static str, Bands>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let mut out = BTreeMap::new();
        for text in [FLUORESCENT, LED, DAYLIGHT] {
            let rows: Vec<Vec<f64>> = text
                .lines()
                .filter(|l| !l.starts_with('#'))
                .skip(1)
                .map(|l| l.split(',').skip(1).map(|v| v.parse().unwrap_or(0.0)).collect())
                .collect();
            for (k, symbol) in symbols(text).enumerate() {
                let value = |i: usize| rows.get(i).and_then(|r: &Vec<f64>| r.get(k)).copied().unwrap_or(0.0);
                out.insert(symbol, Bands(std::array::from_fn(value)));
            }
        }
        out
    })
}

/// What a curve is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CurveOf {
    /// A lamp's relative power.
    Lamp,
    /// A gel's transmission, 0–1 or in per cent.
    Gel,
}

/// Why a table of wavelengths is no curve.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CurveError {
    /// What is wrong.
    pub what: String,
    /// Line, from 1; 0 for the whole text.
    pub line: usize,
    /// What to do.
    pub remedy: String,
}

/// Most points of a curve.
pub const MAX_POINTS: usize = 5_000;
/// Widest gap between two points, nanometres.
const MAX_GAP_NM: f64 = 25.0;

/// Reads a curve from text: wavelength in nanometres and value, one pair a line, parted by comma,
/// semicolon, tab or blanks. Lines that start with `#` and one heading are passed over. With semicolons a
/// comma is the decimal sign.
///
/// # Errors
/// Names the line and the remedy: no numbers, a value that is negative or not finite, wavelengths that do
/// not rise, gaps over 25 nm, less than 400–700 nm, nothing but zeros.
pub fn read_curve(text: &str, name: &str, of: CurveOf) -> Result<Curve, CurveError> {
    let bad = |line: usize, what: String, remedy: &str| CurveError { what, line, remedy: remedy.into() };
    let mut points: Vec<[f64; 2]> = Vec::new();
    let mut heading = false;
    for (n, raw) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let line = raw.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let fields: Vec<String> = if line.contains(';') {
            line.split(';').map(|f| f.trim().replace(',', ".")).collect()
        } else {
            line.split([',', '\t', ' ']).map(str::trim).filter(|f| !f.is_empty()).map(String::from).collect()
        };
        let numbers: Vec<f64> = fields.iter().map_while(|f| f.parse().ok()).collect();
        let [w, v, ..] = numbers[..] else {
            if points.is_empty() && !heading {
                heading = true;
                continue;
            }
            let shown: String = line.chars().take(40).collect();
            return Err(bad(n + 1, say!("is-not-a-wavelength-and-a", shown), say!("write-two-numbers-a-line-550")));
        };
        if !w.is_finite() || !v.is_finite() {
            return Err(bad(n + 1, say!("not-a-finite-number").into(), say!("write-a-number")));
        }
        if v < 0.0 {
            return Err(bad(n + 1, say!("v-is-negative", v), say!("light-and-transmission-are-never-below")));
        }
        if !(100.0..=10_000.0).contains(&w) {
            return Err(bad(n + 1, say!("is-no-wavelength-in-nanometres", w), say!("write-wavelengths-as-380-to-780")));
        }
        if let Some(last) = points.last() {
            if w <= last[0] {
                return Err(bad(
                    n + 1,
                    say!("nm-comes-after-nm", w, last = last[0]),
                    say!("sort-the-lines-by-wavelength-each"),
                ));
            }
            if w - last[0] > MAX_GAP_NM && last[0] < LAST_NM && w > FIRST_NM {
                return Err(bad(
                    n + 1,
                    say!("there-is-nothing-from-to-nm", last = last[0], w),
                    say!("give-a-value-at-least-every"),
                ));
            }
        }
        if points.len() == MAX_POINTS {
            return Err(bad(
                n + 1,
                say!("more-than-max-points", max_points = MAX_POINTS),
                say!("give-a-value-every-1-to"),
            ));
        }
        points.push([w, v]);
    }
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Err(bad(0, say!("there-is-no-number-in-it").into(), say!("write-a-wavelength-and-a-value")));
    };
    if first[0] > 400.0 || last[0] < 700.0 {
        return Err(bad(
            0,
            say!("it-runs-from-to-nm", first = first[0], last = last[0]),
            say!("give-the-values-from-380-to"),
        ));
    }
    let top = points.iter().map(|p| p[1]).fold(0.0, f64::max);
    if of == CurveOf::Gel && top > 1.0 {
        if top > 100.0 {
            return Err(bad(0, say!("it-lets-top-through", top), say!("write-transmission-as-0-to-1")));
        }
        points.iter_mut().for_each(|p| p[1] /= 100.0);
    }
    let curve = Curve { name: name.into(), points };
    if Bands::of_curve(&curve).normalised().is_none() {
        return Err(bad(0, say!("nothing-of-it-can-be-seen").into(), say!("give-a-curve-with-light-in")));
    }
    Ok(curve)
}
