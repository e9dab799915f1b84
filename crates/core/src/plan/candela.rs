//! Measured intensity by direction.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tapemark_words::say;

/// Largest candela file that is read, bytes.
pub const MAX_CANDELA_BYTES: usize = 8 * 1024 * 1024;

/// How a goniometer's two angles turn (ANSI/IES LM-75).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Photometry {
    /// Polar axis upright: azimuth, then elevation.
    A,
    /// Polar axis across: elevation, then azimuth.
    B,
    /// Polar axis along the beam: angle from the axis, then round it.
    C,
}

/// A table of candelas as LM-63 files hold it, at full output.
///
/// The head's axis is where type C counts 0° (its nadir) and types A and B count 0°, 0°; type C's
/// horizontal 0° lies to the head's right, seen from behind, and 90° up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CandelaTable {
    /// What it is called.
    #[serde(default)]
    pub name: String,
    /// Type of photometry.
    pub photometry: Photometry,
    /// Vertical angles, degrees, rising.
    pub vertical_deg: Vec<f64>,
    /// Horizontal angles, degrees, rising.
    pub horizontal_deg: Vec<f64>,
    /// Candelas: for each horizontal angle a row over the vertical angles.
    pub candela: Vec<Vec<f64>>,
}

/// Place between two entries: index of the lower one and share of the upper one.
fn place(list: &[f64], v: f64) -> Option<(usize, f64)> {
    let (first, last) = (*list.first()?, *list.last()?);
    if v < first - 1e-6 || v > last + 1e-6 {
        return None;
    }
    let i = list.partition_point(|x| *x <= v).saturating_sub(1).min(list.len().saturating_sub(2));
    let Some(next) = list.get(i + 1) else { return Some((0, 0.0)) };
    Some((i, ((v - list[i]) / (next - list[i])).clamp(0.0, 1.0)))
}

impl CandelaTable {
    /// Candelas in a direction by its parts to the right, up and along the axis (a unit vector).
    #[must_use]
    pub fn candela_at(&self, right: f64, up: f64, along: f64) -> f64 {
        let (vertical, horizontal) = match self.photometry {
            Photometry::A => (up.clamp(-1.0, 1.0).asin(), right.atan2(along)),
            Photometry::B => (up.atan2(along), right.clamp(-1.0, 1.0).asin()),
            Photometry::C => (along.clamp(-1.0, 1.0).acos(), up.atan2(right)),
        };
        let (vertical, horizontal) = (vertical.to_degrees(), horizontal.to_degrees());
        let Some((v, dv)) = place(&self.vertical_deg, vertical) else { return 0.0 };
        let Some((h, dh)) = self.horizontal(horizontal) else { return 0.0 };
        let row = |h: usize| {
            let row = &self.candela[h];
            let next = row.get(v + 1).copied().unwrap_or(row[v]);
            row[v] + (next - row[v]) * dv
        };
        let next = if h + 1 < self.candela.len() { h + 1 } else { 0 };
        row(h) + (row(next) - row(h)) * dh
    }

    /// Place among the horizontal angles, after the symmetry the table stands for.
    fn horizontal(&self, degrees: f64) -> Option<(usize, f64)> {
        let list = &self.horizontal_deg;
        let (first, last) = (*list.first()?, *list.last()?);
        if list.len() == 1 {
            return Some((0, 0.0));
        }
        if self.photometry != Photometry::C {
            // One side given stands for both.
            let side = if first >= -1e-6 { degrees.abs() } else { degrees };
            return place(list, side);
        }
        let round = degrees.rem_euclid(360.0);
        let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
        let folded = if near(first, 0.0) && near(last, 90.0) {
            let half = if round > 180.0 { 360.0 - round } else { round };
            if half > 90.0 { 180.0 - half } else { half }
        } else if near(first, 0.0) && near(last, 180.0) {
            if round > 180.0 { 360.0 - round } else { round }
        } else if near(first, 90.0) && near(last, 270.0) {
            // Alike on both sides of the plane 90°–270°.
            if (90.0..=270.0).contains(&round) { round } else { (540.0 - round).rem_euclid(360.0) }
        } else {
            round
        };
        match place(list, folded) {
            Some(at) => Some(at),
            // Between the last plane and the first again.
            None if near(first, 0.0) && last > 180.0 => {
                Some((list.len() - 1, ((folded - last) / (360.0 - last)).clamp(0.0, 1.0)))
            }
            None => None,
        }
    }

    /// Light in all directions, lumens.
    #[must_use]
    pub fn lumens(&self) -> f64 {
        // Midpoint rule over the cosine from the axis and round it; as fine as tables usually are.
        let (rings, sectors) = (720, 144);
        let mut sum = 0.0;
        for i in 0..rings {
            let theta = (f64::from(i) + 0.5) * std::f64::consts::PI / f64::from(rings);
            let (sin, along) = theta.sin_cos();
            for j in 0..sectors {
                let (s, c) = ((f64::from(j) + 0.5) * std::f64::consts::TAU / f64::from(sectors)).sin_cos();
                sum += self.candela_at(sin * c, sin * s, along) * sin;
            }
        }
        sum * std::f64::consts::PI / f64::from(rings) * std::f64::consts::TAU / f64::from(sectors)
    }

    /// The strongest entry, candelas.
    #[must_use]
    pub fn peak_cd(&self) -> f64 {
        self.candela.iter().flatten().copied().fold(0.0, f64::max)
    }

    /// What keeps it from being a table; none: it is one.
    #[must_use]
    pub fn flaw(&self) -> Option<String> {
        let rising = |l: &[f64]| l.iter().all(|v| v.is_finite()) && l.windows(2).all(|w| w[0] < w[1]);
        if self.vertical_deg.len() < 2 || self.horizontal_deg.is_empty() {
            return Some(say!("it-needs-two-vertical-angles-and").into());
        }
        if !rising(&self.vertical_deg) || !rising(&self.horizontal_deg) {
            return Some(say!("its-angles-do-not-rise").into());
        }
        if self.candela.len() != self.horizontal_deg.len()
            || self.candela.iter().any(|r| r.len() != self.vertical_deg.len())
        {
            return Some(say!(
                "it-has-no-candelas",
                horizontal_deg = self.horizontal_deg.len(),
                vertical_deg = self.vertical_deg.len()
            ));
        }
        if self.candela.iter().flatten().any(|c| !c.is_finite() || *c < 0.0) {
            return Some(say!("a-candela-is-negative-or-not").into());
        }
        if self.peak_cd() <= 0.0 {
            return Some(say!("all-its-candelas-are-0").into());
        }
        let (v, h) = match self.photometry {
            Photometry::C => ((0.0, 180.0), (0.0, 360.0)),
            _ => ((-90.0, 90.0), (-180.0, 180.0)),
        };
        let outside = |l: &[f64], (low, high): (f64, f64)| l.iter().any(|a| *a < low - 1e-6 || *a > high + 1e-6);
        if outside(&self.vertical_deg, v) || outside(&self.horizontal_deg, h) {
            return Some(say!("an-angle-lies-outside-what-type", photometry = format!("{:?}", self.photometry)));
        }
        None
    }
}
