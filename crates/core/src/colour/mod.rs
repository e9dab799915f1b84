//! Colour of light: spectra, CIE 1931 2°, correlated colour temperature and Duv.

mod cmf;
mod spectrum;

pub use cmf::{CMF_1931, FIRST_NM, STEP_NM};
pub use spectrum::{BANDS, Bands, CurveError, CurveOf, MAX_POINTS, planck_xyz, read_curve};
use std::sync::OnceLock;

/// Tristimulus values.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Xyz {
    /// X.
    pub x: f64,
    /// Y: for light on a surface, its illuminance.
    pub y: f64,
    /// Z.
    pub z: f64,
}

impl std::ops::Add for Xyz {
    type Output = Xyz;
    fn add(self, o: Xyz) -> Xyz {
        Xyz { x: self.x + o.x, y: self.y + o.y, z: self.z + o.z }
    }
}
impl std::ops::Mul<f64> for Xyz {
    type Output = Xyz;
    fn mul(self, k: f64) -> Xyz {
        Xyz { x: self.x * k, y: self.y * k, z: self.z * k }
    }
}

impl Xyz {
    /// Chromaticity x, y; none in darkness.
    #[must_use]
    pub fn xy(self) -> Option<(f64, f64)> {
        let sum = self.x + self.y + self.z;
        (sum > 0.0).then(|| (self.x / sum, self.y / sum))
    }
    /// CIE 1960 u, v; none in darkness.
    #[must_use]
    pub fn uv(self) -> Option<(f64, f64)> {
        let d = self.x + 15.0 * self.y + 3.0 * self.z;
        (d > 0.0).then(|| (4.0 * self.x / d, 6.0 * self.y / d))
    }
}

const LOCUS_STEP_MIRED: f64 = 1.0;
const LOCUS_FIRST_MIRED: f64 = 20.0;
const LOCUS_POINTS: usize = 1_000;
/// Points of the locus from one first look to the next.
const LOOK_STEP: usize = 16;

fn locus() -> &'static [(f64, f64)] {
    static LOCUS: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    LOCUS.get_or_init(|| (0..LOCUS_POINTS).map(|i| locus_uv(LOCUS_FIRST_MIRED + LOCUS_STEP_MIRED * i as f64)).collect())
}

fn locus_uv(mired: f64) -> (f64, f64) {
    planck_xyz(1e6 / mired).uv().unwrap_or_default()
}

/// Correlated colour temperature in kelvin and Duv (positive: greener than the Planckian locus).
///
/// The nearest point of the Planckian locus in CIE 1960 u, v (the definition of CIE 015), found from a
/// table of the locus at 1 mired and refined by a golden-section search between its points. None in
/// darkness, and outside 1001 K to 50 000 K or further than 0.05 from the locus, where CCT says nothing.
#[must_use]
pub fn cct_duv(light: Xyz) -> Option<(f64, f64)> {
    let (u, v) = light.uv()?;
    let distance2 = |p: (f64, f64)| (p.0 - u).powi(2) + (p.1 - v).powi(2);
    let nearest_of = |points: &mut dyn Iterator<Item = usize>| {
        points.min_by(|a, b| distance2(locus()[*a]).total_cmp(&distance2(locus()[*b])))
    };
    // As near to the locus as a colour temperature says anything, distance along it falls and rises once.
    let about = nearest_of(&mut (0..LOCUS_POINTS).step_by(LOOK_STEP))?;
    let nearest = nearest_of(&mut (about.saturating_sub(LOOK_STEP)..(about + LOOK_STEP).min(LOCUS_POINTS)))?;
    if nearest == 0 || nearest == LOCUS_POINTS - 1 {
        return None;
    }
    let mid = LOCUS_FIRST_MIRED + LOCUS_STEP_MIRED * nearest as f64;
    // Through three neighbours of the table the locus is a parabola to far more digits than are shown.
    let [p, q, r] = [nearest - 1, nearest, nearest + 1].map(|i| locus()[i]);
    let on_locus = |mired: f64| {
        let s = (mired - mid) / LOCUS_STEP_MIRED;
        let curve = |p: f64, q: f64, r: f64| q + s * (0.5 * (r - p) + s * (0.5 * (r + p) - q));
        (curve(p.0, q.0, r.0), curve(p.1, q.1, r.1))
    };
    let (mut low, mut high) = (mid - LOCUS_STEP_MIRED, mid + LOCUS_STEP_MIRED);
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    for _ in 0..24 {
        let (a, b) = (high - golden * (high - low), low + golden * (high - low));
        if distance2(on_locus(a)) < distance2(on_locus(b)) { high = b } else { low = a }
    }
    let mired = (low + high) * 0.5;
    let at = on_locus(mired);
    let duv = distance2(at).sqrt();
    if duv > 0.05 {
        return None;
    }
    Some((1e6 / mired, if v >= at.1 { duv } else { -duv }))
}

/// Share of light that a smooth correction filter of a mired shift lets through: exp(−c₂·Δ·(1/λ − 1/λ₀)) turns one
/// Planckian radiator into another (Wien's law), brought to 0.9 at the end it favours, λ₀ 430 nm for blue and 640 nm
/// for amber, and even beyond those. Blue before 3200 K, amber before daylight of 5600 K.
#[must_use]
pub fn correction_share(mired_shift: f64) -> f64 {
    const PEAK: f64 = 0.9;
    const ENDS_NM: [f64; 2] = [430.0, 640.0];
    const C2_NM_K: f64 = 1.4388e7;
    let (peak_nm, light) =
        if mired_shift <= 0.0 { (ENDS_NM[0], Bands::planck(3200.0)) } else { (ENDS_NM[1], Bands::daylight(5600.0)) };
    let passed = Bands::from_fn(|nm| {
        let off = 1.0 / nm.clamp(ENDS_NM[0], ENDS_NM[1]) - 1.0 / peak_nm;
        PEAK * (-C2_NM_K * mired_shift * 1e-6 * off).exp()
    });
    light.times(&passed).xyz().y / light.xyz().y.max(1e-30)
}

/// A colour temperature after a shift in mired.
#[must_use]
pub fn shifted_k(kelvin: f64, mired_shift: f64) -> f64 {
    1e6 / (1e6 / kelvin + mired_shift).max(20.0)
}

/// The mired shift that takes one colour temperature to another.
#[must_use]
pub fn mired_shift(from_k: f64, to_k: f64) -> f64 {
    1e6 / to_k - 1e6 / from_k
}

/// Colour temperature of a tungsten lamp dimmed to a share of its light.
///
/// Light follows the voltage to the power 3.38 and colour temperature to the power 0.42 (the lamp
/// rerating exponents of the IES Lighting Handbook, from memory).
#[must_use]
pub fn dimmed_tungsten_k(kelvin: f64, level: f64) -> f64 {
    kelvin * level.clamp(0.01, 1.0).powf(0.42 / 3.38)
}

/// The look of a light at a white balance, as display sRGB with its brightest channel full.
#[must_use]
pub fn look_srgb(light: Xyz, white_balance_k: f64) -> [u8; 3] {
    let white = linear_srgb(planck_xyz(white_balance_k));
    let rgb = linear_srgb(light);
    let scaled: Vec<f64> = rgb.iter().zip(white).map(|(c, w)| (c / w.max(1e-6)).max(0.0)).collect();
    let top = scaled.iter().copied().fold(1e-9, f64::max);
    let mut out = [0u8; 3];
    for (o, c) in out.iter_mut().zip(scaled) {
        let c = c / top;
        let encoded = if c <= 0.003_130_8 { 12.92 * c } else { 1.055 * c.powf(1.0 / 2.4) - 0.055 };
        *o = (encoded * 255.0).round().clamp(0.0, 255.0) as u8;
    }
    out
}

/// XYZ to linear sRGB (IEC 61966-2-1).
#[must_use]
pub fn linear_srgb(c: Xyz) -> [f64; 3] {
    [
        3.2406 * c.x - 1.5372 * c.y - 0.4986 * c.z,
        -0.9689 * c.x + 1.8758 * c.y + 0.0415 * c.z,
        0.0557 * c.x - 0.2040 * c.y + 1.0570 * c.z,
    ]
}

/// Linear sRGB to XYZ: the inverse of [`linear_srgb`] to its printed digits.
#[must_use]
pub fn xyz_from_linear_srgb([r, g, b]: [f64; 3]) -> Xyz {
    let m = glam::DMat3::from_cols_array(&[3.2406, -0.9689, 0.0557, -1.5372, 1.8758, -0.2040, -0.4986, 0.0415, 1.0570]);
    let v = m.inverse() * glam::DVec3::new(r, g, b);
    Xyz { x: v.x, y: v.y, z: v.z }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_planckian_is_its_own_cct() {
        for k in [1500.0, 2700.0, 3200.0, 5600.0, 10_000.0, 20_000.0] {
            let (cct, duv) = cct_duv(planck_xyz(k)).unwrap();
            assert!((cct - k).abs() < 0.5, "{k}: {cct}");
            assert!(duv.abs() < 1e-6);
        }
    }

    #[test]
    fn darkness_has_no_colour() {
        assert_eq!(cct_duv(Xyz::default()), None);
    }
}
