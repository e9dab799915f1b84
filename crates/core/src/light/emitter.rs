//! A fixture as something that emits: intensity by angle, or an even area.

use super::beam::{Beam, Leaves, Look, Profile};
use super::open::{OpenSky, Roofs};
use super::sky::{Hole, Sky};
use crate::colour::{Bands, Xyz, cct_duv, dimmed_tungsten_k};
use crate::geometry::{Front, bearing_dir, direction3};
use crate::plan::{Fixture, FixtureId, Gel, Head, LampType, Rig, Spectrum};
use glam::{DVec2, DVec3};
use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::Arc;

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
    /// How that changes with direction.
    pub look: Look,
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

/// What stands outside before an opening.
#[derive(Debug, Clone, PartialEq)]
pub enum Outside {
    /// Nothing: all that is seen through it is sky and ground.
    Clear,
    /// These.
    Some(Arc<Front>),
    /// Many things, of which each line is asked past what is near it.
    Many,
}

/// What an emitter looks like from a receiver.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Small against its distance.
    Point {
        /// Where.
        at: DVec3,
        /// Its beam; none: even in all directions.
        beam: Option<Beam>,
        /// Intensity along the axis at unit output, candela; with a table, the factor on it.
        peak_cd: f64,
    },
    /// An even area.
    Area(Face),
    /// Sky and ground seen through an opening.
    Sky {
        /// The opening.
        hole: Hole,
        /// The sky.
        sky: Arc<Sky>,
        /// The rooms it comes into.
        roofs: Arc<Roofs>,
        /// What stands outside before the opening.
        outside: Outside,
    },
    /// The sun, through the openings and in the open, at one lux on a surface facing it.
    Sun {
        /// Unit vector toward it.
        toward: DVec3,
        /// The openings.
        holes: Vec<Hole>,
        /// The rooms it reaches by them only.
        roofs: Arc<Roofs>,
    },
    /// The whole sky and the ground, for what lies in no room.
    Open(Arc<OpenSky>),
}

/// One fixture ready to be solved.
#[derive(Debug, Clone, PartialEq)]
pub struct Emitter {
    /// Whose.
    pub fixture: FixtureId,
    /// What it is called.
    pub name: String,
    /// Shape and distribution at unit output.
    pub shape: Shape,
    /// Factor for dimmer, gels, diffusion and scrims; 0 when off.
    pub gain: f64,
    /// Colour with Y = 1.
    pub colour: Xyz,
}

thread_local! {
    /// The fixtures last asked for: in a gesture all but one stay as they are.
    static KNOWN: RefCell<HashMap<FixtureId, (Fixture, Emitter)>> = RefCell::default();
}

/// Most fixtures remembered.
const KNOWN_MOST: usize = 1_000;

impl Emitter {
    /// A fixture as it stands.
    #[must_use]
    pub fn of(f: &Fixture) -> Emitter {
        let known = KNOWN.with_borrow(|known| known.get(&f.id).filter(|(of, _)| of == f).map(|(_, e)| e.clone()));
        known.unwrap_or_else(|| {
            let emitter = Emitter::worked_out(f);
            KNOWN.with_borrow_mut(|known| {
                if known.len() >= KNOWN_MOST {
                    known.clear();
                }
                known.insert(f.id.clone(), (f.clone(), emitter.clone()));
            });
            emitter
        })
    }

    fn worked_out(f: &Fixture) -> Emitter {
        let at = DVec2::from_array(f.position_m).extend(f.height_m);
        let axis = direction3(f.pan_deg, f.tilt_deg);
        let right = bearing_dir(f.pan_deg + 90.0).extend(0.0);
        let up = right.cross(axis);
        let lumens = f.rated_lm();
        let leaves = |half: DVec2| f.barn_doors.map(|doors| Leaves::new(half, doors));
        let mouth = leaves(DVec2::splat(f.head.mouth_m() * 0.5));
        let beam = |profile: Profile| Beam { axis, right, up, profile, leaves: mouth };
        let shape = match (&f.candela, f.head.area_m(), f.head.beam_field_deg()) {
            (Some(table), ..) => {
                let scale = if f.output_lm.is_some() { lumens / table.lumens() } else { 1.0 };
                Shape::Point { at, beam: Some(beam(Profile::Table(table.clone()))), peak_cd: scale }
            }
            (None, Some((w, h)), _) => {
                // Flux of a cos^m intensity: I₀·2π/(m + 1); I₀ = luminance × area. A grid takes its part of it.
                let focus = match f.head {
                    Head::Panel { beam_deg, .. } if f.diffusion.is_none() => focus_for(beam_deg),
                    _ => 1.0,
                };
                let look = match f.grid_cutoff_deg {
                    Some(cutoff) => Look::Grid(cutoff.to_radians().tan()),
                    None if focus > 1.0 + 1e-9 => Look::Focused(focus),
                    None => Look::Diffuse,
                };
                Shape::Area(Face {
                    centre: at,
                    across: right * (w * 0.5),
                    up: up * (h * 0.5),
                    normal: axis,
                    luminance_cd_m2: lumens * (focus + 1.0) / (std::f64::consts::TAU * w * h),
                    look,
                })
            }
            (None, None, Some((beam_deg, field_deg))) => {
                let profile = widened(beam_deg, field_deg, f.diffusion.as_ref().map_or(0.0, |d| d.spread_deg));
                let peak_cd = lumens / profile.steradians();
                Shape::Point { at, beam: Some(beam(profile)), peak_cd }
            }
            (None, None, None) => Shape::Point { at, beam: None, peak_cd: lumens / (4.0 * std::f64::consts::PI) },
        };
        let (gain, colour) = as_set(f);
        Emitter { fixture: f.id.clone(), name: f.label(), shape, gain, colour }
    }

    /// Intensity toward a unit direction at unit output, candela; an area's counts as seen from afar.
    #[must_use]
    pub fn intensity_cd(&self, direction: DVec3) -> f64 {
        match &self.shape {
            Shape::Point { beam: None, peak_cd, .. } => *peak_cd,
            Shape::Point { beam: Some(beam), peak_cd, .. } => {
                peak_cd * beam.share(direction) * beam.open_share(direction * FAR_OFF_M)
            }
            Shape::Area(face) => {
                let cos = face.normal.dot(direction);
                let (across, up) = (face.across.normalize().dot(direction), face.up.normalize().dot(direction));
                if cos <= 0.0 {
                    0.0
                } else {
                    face.luminance_cd_m2 * face.area_m2() * cos * face.look.share(across, up, cos)
                }
            }
            // Daylight has no intensity: it is no small thing far off.
            Shape::Sky { .. } | Shape::Sun { .. } | Shape::Open(_) => 0.0,
        }
    }

    /// Whether it is sun or sky.
    #[must_use]
    pub fn is_daylight(&self) -> bool {
        matches!(self.shape, Shape::Sky { .. } | Shape::Sun { .. } | Shape::Open(_))
    }

    /// Intensity along the axis at unit output, candela.
    #[must_use]
    pub(super) fn strongest_cd(&self) -> f64 {
        match &self.shape {
            Shape::Point { beam: Some(beam), .. } => self.intensity_cd(beam.axis),
            Shape::Area(face) => self.intensity_cd(face.normal),
            _ => self.intensity_cd(DVec3::Z),
        }
    }

    /// From its middle to its furthest point, metres.
    #[must_use]
    pub(super) fn reach_m(&self) -> f64 {
        match &self.shape {
            Shape::Area(face) => face.across.length().hypot(face.up.length()) + 1e-3,
            _ => 1e-3,
        }
    }

    /// Middle of the emitter.
    #[must_use]
    pub fn at(&self) -> DVec3 {
        match &self.shape {
            Shape::Point { at, .. } => *at,
            Shape::Area(face) => face.centre,
            Shape::Sky { hole, .. } => hole.centre,
            // Far enough to be a direction, near enough to draw.
            Shape::Sun { toward, .. } => *toward * 1e4,
            Shape::Open(_) => DVec3::Z * 1e4,
        }
    }

    /// Where it appears to be from a point: the sun stands in one direction from everywhere.
    #[must_use]
    pub fn seen_from(&self, p: DVec3) -> DVec3 {
        match &self.shape {
            Shape::Sun { toward, .. } => p + *toward * 1e4,
            _ => self.at(),
        }
    }
}

/// A beam behind a sheet that spreads it: the two spreads add as squares.
fn widened(beam_deg: f64, field_deg: f64, spread_deg: f64) -> Profile {
    let wider = |angle: f64| angle.hypot(spread_deg * 2.0).min(170.0);
    let beam_deg = wider(beam_deg);
    Profile::of_angles(beam_deg, wider(field_deg).max(beam_deg * 1.02))
}

/// How many times wider the sheet before a head makes its light, as solid angles: what spreading it takes off its
/// axis. One where there is no beam to widen.
fn sheet_widens(f: &Fixture) -> f64 {
    let Some(d) = &f.diffusion else { return 1.0 };
    match (&f.candela, f.head, f.head.beam_field_deg()) {
        (Some(_), ..) => 1.0,
        (None, Head::Panel { beam_deg, .. }, _) => (focus_for(beam_deg) + 1.0) * 0.5,
        (None, _, Some((beam, field))) => {
            widened(beam, field, d.spread_deg).steradians() / widened(beam, field, 0.0).steradians()
        }
        _ => 1.0,
    }
}

/// Share of a head's light that passes the sheet before it: as much as loses on the axis what the sheet is known to
/// lose there, and no more than it lets through.
fn sheet_passes(f: &Fixture) -> f64 {
    let Some(d) = &f.diffusion else { return 1.0 };
    d.axis_loss_stops.map_or(d.transmittance, |stops| ((-stops).exp2() * sheet_widens(f)).min(d.transmittance))
}

/// Factor on a fixture's intensity along its axis, against the bare head at full; 0 when off.
#[must_use]
pub fn axis_gain(f: &Fixture) -> f64 {
    gain(f) / sheet_widens(f)
}

/// The exponent whose cos^m falls to half at half the beam angle.
fn focus_for(beam_deg: f64) -> f64 {
    (0.5_f64.ln() / (beam_deg * 0.5).to_radians().cos().ln()).max(1.0)
}

/// A distance from which a lamp's mouth is a point, metres.
const FAR_OFF_M: f64 = 1e4;

/// A fixture's spectrum before gels: as its lamp makes it at its dimmer, with Y = 1.
#[must_use]
pub fn lamp_bands(f: &Fixture) -> Bands {
    let cct_k = f.cct_k.clamp(1000.0, 50_000.0);
    let full = match &f.spectrum {
        Spectrum::Planck => Bands::planck(cct_k),
        Spectrum::Daylight => Bands::daylight(cct_k),
        Spectrum::Cie { symbol } => Bands::cie(symbol).unwrap_or_else(|| Bands::planck(cct_k)),
        Spectrum::Measured(curve) => Bands::of_curve(curve),
    };
    let full = full.normalised().unwrap_or_else(|| Bands::planck(cct_k));
    if f.lamp == LampType::Tungsten && f.dimmer < 1.0 {
        let from = cct_duv(full.xyz()).map_or(cct_k, |c| c.0);
        let dimmed = full.turned_k(from, dimmed_tungsten_k(from, f.dimmer).max(1000.0));
        return dimmed.normalised().unwrap_or(full);
    }
    full
}

/// Light after one gel, and the share of it that passed.
#[must_use]
pub fn through_gel(light: &Bands, gel: &Gel) -> (Bands, f64) {
    match gel {
        Gel::Correction { mired_shift, transmittance, .. } => {
            (light.shifted_mired(*mired_shift).normalised().unwrap_or(*light), *transmittance)
        }
        Gel::Measured(curve) => {
            let passed = light.times(&Bands::of_curve(curve));
            let share = passed.xyz().y / light.xyz().y.max(1e-30);
            match passed.normalised() {
                Some(next) => (next, share),
                None => (*light, 0.0),
            }
        }
    }
}

/// Factor on a fixture's rated light as it is set (0 when off), and the colour of what leaves it, Y = 1:
/// lamp and dimmer, then gel after gel by their curves, then diffusion and scrims, which take no colour.
#[must_use]
pub fn as_set(f: &Fixture) -> (f64, Xyz) {
    let mut light = lamp_bands(f);
    let mut share = 1.0;
    for gel in &f.gels {
        let (next, passed) = through_gel(&light, gel);
        light = next;
        share *= passed;
    }
    let level = if f.on { f.dimmer } else { 0.0 };
    let loss = sheet_passes(f) * (-f.scrim_stops).exp2();
    (level * share * loss, light.xyz())
}

/// Factor on a fixture's rated light: dimmer, gels, diffusion, scrims; 0 when off.
#[must_use]
pub fn gain(f: &Fixture) -> f64 {
    as_set(f).0
}

/// Colour of a fixture's light after its dimmer and gels, Y = 1.
#[must_use]
pub fn light_colour(f: &Fixture) -> Xyz {
    as_set(f).1
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
