//! A fixture as something that emits: intensity by angle, or an even area.

use crate::colour::{Xyz, dimmed_tungsten_k, planck_xyz, shifted_k};
use crate::geometry::{bearing_dir, direction3};
use crate::plan::{BarnDoors, Fixture, FixtureId, Gel, Head, LampType, Rig};
use glam::{DVec2, DVec3};

/// An even luminous rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// Middle.
    pub centre: DVec3,
    /// Half its width, as a vector.
    pub across: DVec3,
    /// Half its height, as a vector.
    pub up: DVec3,
    /// Unit vector it shines along.
    pub normal: DVec3,
    /// Luminance along the normal at unit output, cd/m².
    pub luminance_cd_m2: f64,
    /// Luminance falls with cos^(focus − 1); 1 is a perfectly diffuse face.
    pub focus: f64,
}

impl Face {
    /// Corners, counter-clockwise seen from the front.
    #[must_use]
    pub fn corners(&self) -> [DVec3; 4] {
        let (c, a, u) = (self.centre, self.across, self.up);
        [c - a - u, c - a + u, c + a + u, c + a - u]
    }
    /// Area, m².
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        4.0 * self.across.length() * self.up.length()
    }
}

/// What an emitter looks like from a receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Small against its distance.
    Point {
        /// Where.
        at: DVec3,
        /// Axis of the beam; none: even in all directions.
        beam: Option<Beam>,
        /// Intensity along the axis at unit output, candela.
        peak_cd: f64,
    },
    /// An even area.
    Area(Face),
}

/// Intensity by angle: half of peak at half the beam angle, a tenth at half the field angle.
///
/// I(θ) = I₀·exp(−ln 2·(θ/θ½)^p), with p from the two angles: the one smooth curve of this family
/// through both definitions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beam {
    axis: DVec3,
    right: DVec3,
    up: DVec3,
    half_beam_rad: f64,
    power: f64,
    doors: Option<BarnDoors>,
}

impl Beam {
    fn share(&self, theta: f64) -> f64 {
        if theta > std::f64::consts::FRAC_PI_2 {
            0.0
        } else {
            (-std::f64::consts::LN_2 * (theta / self.half_beam_rad).powf(self.power)).exp()
        }
    }
    /// 2π∫ share·sin θ dθ: lumens per candela of peak.
    fn steradians(&self) -> f64 {
        const N: usize = 512;
        let step = std::f64::consts::FRAC_PI_2 / N as f64;
        // Midpoint rule.
        (0..N).map(|i| (i as f64 + 0.5) * step).map(|t| self.share(t) * t.sin()).sum::<f64>()
            * step
            * std::f64::consts::TAU
    }
    fn door_passes(&self, direction: DVec3) -> bool {
        let Some(doors) = self.doors else { return true };
        let (x, y, z) = (direction.dot(self.right), direction.dot(self.up), direction.dot(self.axis));
        let (azimuth, elevation) = (x.atan2(z).to_degrees(), y.atan2(z).to_degrees());
        azimuth <= doors.right_deg
            && azimuth >= -doors.left_deg
            && elevation <= doors.top_deg
            && elevation >= -doors.bottom_deg
    }
}

/// One fixture ready to be solved.
#[derive(Debug, Clone, PartialEq)]
pub struct Emitter {
    /// Whose.
    pub fixture: FixtureId,
    /// Shape and distribution at unit output.
    pub shape: Shape,
    /// Factor for dimmer, gels, diffusion and scrims; 0 when off.
    pub gain: f64,
    /// Colour with Y = 1.
    pub colour: Xyz,
}

impl Emitter {
    /// A fixture as it stands.
    #[must_use]
    pub fn of(f: &Fixture) -> Emitter {
        let at = DVec2::from_array(f.position_m).extend(f.height_m);
        let axis = direction3(f.pan_deg, f.tilt_deg);
        let right = bearing_dir(f.pan_deg + 90.0).extend(0.0);
        let up = right.cross(axis);
        let lumens = f.rated_lm();
        let shape = match f.head {
            Head::BareBulb | Head::Practical => {
                Shape::Point { at, beam: None, peak_cd: lumens / (4.0 * std::f64::consts::PI) }
            }
            _ => match (f.head.area_m(), f.head.beam_field_deg()) {
                (Some((w, h)), _) => {
                    let focus = match f.head {
                        Head::Panel { beam_deg, .. } => focus_for(beam_deg),
                        _ => 1.0,
                    };
                    // Flux of a cos^m intensity: I₀·2π/(m + 1); I₀ = luminance × area.
                    let luminance = lumens * (focus + 1.0) / (std::f64::consts::TAU * w * h);
                    Shape::Area(Face {
                        centre: at,
                        across: right * (w * 0.5),
                        up: up * (h * 0.5),
                        normal: axis,
                        luminance_cd_m2: luminance,
                        focus,
                    })
                }
                (None, Some((beam_deg, field_deg))) => {
                    let mut beam = Beam {
                        axis,
                        right,
                        up,
                        half_beam_rad: (beam_deg * 0.5).to_radians(),
                        power: (10.0_f64.ln() / std::f64::consts::LN_2).ln() / (field_deg / beam_deg).ln(),
                        doors: None,
                    };
                    let peak_cd = lumens / beam.steradians();
                    beam.doors = f.barn_doors;
                    Shape::Point { at, beam: Some(beam), peak_cd }
                }
                (None, None) => Shape::Point { at, beam: None, peak_cd: lumens / (4.0 * std::f64::consts::PI) },
            },
        };
        Emitter { fixture: f.id.clone(), shape, gain: gain(f), colour: light_colour(f) }
    }

    /// Intensity toward a unit direction at unit output, candela; an area's counts as seen from afar.
    #[must_use]
    pub fn intensity_cd(&self, direction: DVec3) -> f64 {
        match &self.shape {
            Shape::Point { beam: None, peak_cd, .. } => *peak_cd,
            Shape::Point { beam: Some(beam), peak_cd, .. } => {
                let theta = beam.axis.dot(direction).clamp(-1.0, 1.0).acos();
                if theta >= std::f64::consts::FRAC_PI_2 || !beam.door_passes(direction) {
                    0.0
                } else {
                    peak_cd * beam.share(theta)
                }
            }
            Shape::Area(face) => {
                let cos = face.normal.dot(direction);
                if cos <= 0.0 { 0.0 } else { face.luminance_cd_m2 * face.area_m2() * cos.powf(face.focus) }
            }
        }
    }

    /// Middle of the emitter.
    #[must_use]
    pub fn at(&self) -> DVec3 {
        match &self.shape {
            Shape::Point { at, .. } => *at,
            Shape::Area(face) => face.centre,
        }
    }
}

/// The exponent whose cos^m falls to half at half the beam angle.
fn focus_for(beam_deg: f64) -> f64 {
    (0.5_f64.ln() / (beam_deg * 0.5).to_radians().cos().ln()).max(1.0)
}

/// Factor on a fixture's rated light: dimmer, gels, diffusion, scrims; 0 when off.
#[must_use]
pub fn gain(f: &Fixture) -> f64 {
    if !f.on {
        return 0.0;
    }
    let gels: f64 = f.gels.iter().map(|Gel::Correction { transmittance, .. }| transmittance).product();
    f.dimmer * gels * f.diffusion.as_ref().map_or(1.0, |d| d.transmittance) * (-f.scrim_stops).exp2()
}

/// Colour of a fixture's light after its dimmer and gels, Y = 1. Gels shift the Planckian colour by their
/// mired; spectra are not computed yet.
#[must_use]
pub fn light_colour(f: &Fixture) -> Xyz {
    let mut kelvin = f.cct_k;
    if f.lamp == LampType::Tungsten {
        kelvin = dimmed_tungsten_k(kelvin, f.dimmer);
    }
    let shift: f64 = f.gels.iter().map(|Gel::Correction { mired_shift, .. }| mired_shift).sum();
    planck_xyz(shifted_k(kelvin, shift).clamp(1000.0, 50_000.0))
}

/// Every fixture of a rig that burns.
#[must_use]
pub fn emitters(rig: &Rig) -> Vec<Emitter> {
    rig.fixtures.iter().filter(|f| f.on && f.dimmer > 0.0).map(Emitter::of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::HeadClass;

    #[test]
    fn every_head_emits_its_lumens() {
        for class in HeadClass::ALL {
            let f = Fixture::new("f", class, [0.0, 0.0], 30.0);
            let e = Emitter::of(&f);
            // Integrate intensity over the sphere: 200 × 400 midpoint cells.
            let mut lumens = 0.0;
            let (n, m) = (400, 800);
            for i in 0..n {
                let z = -1.0 + (f64::from(i) + 0.5) * 2.0 / f64::from(n);
                let ring = (1.0 - z * z).sqrt();
                for j in 0..m {
                    let (s, c) = ((f64::from(j) + 0.5) * std::f64::consts::TAU / f64::from(m)).sin_cos();
                    lumens += e.intensity_cd(DVec3::new(ring * c, ring * s, z));
                }
            }
            lumens *= 4.0 * std::f64::consts::PI / f64::from(n * m);
            let error = lumens / f.rated_lm() - 1.0;
            assert!(error.abs() < 0.005, "{class:?}: {error}");
        }
    }
}
