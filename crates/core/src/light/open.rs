//! Sun and sky in the open: what of them reaches a point that lies in no room.

use super::{Fineness, Receiver, Sky};
use crate::geometry::{Eight, OwnerIx, Solids, point_in_polygon};
use crate::plan::Plan;
use glam::{DVec2, DVec3, Vec3};
use std::sync::Arc;

/// How far off something may stand in the way of sun and sky, metres.
pub(super) const OUTSIDE_M: f64 = 50.0;
/// Directions of the whole sphere, and how many of them are asked before nothing is taken to be in the way.
const RAYS: usize = 1024;
const PROBES: usize = 128;
/// Directions asked for one receiver of many where something is in the way; the first so many are even too.
const AMONG_MANY: usize = 256;
/// So many directions seen carry a mean.
const ENOUGH: usize = 40;
/// Directions asked at once.
const LANES: usize = 8;

/// A room as seen from outside: its floor and its ceiling, which let nothing through.
#[derive(Debug, Clone, PartialEq)]
struct Roof {
    ring: Vec<DVec2>,
    low: DVec2,
    high: DVec2,
    ceiling_m: f64,
}

impl Roof {
    fn covers(&self, p: DVec2) -> bool {
        p.cmpge(self.low).all() && p.cmple(self.high).all() && point_in_polygon(p, &self.ring)
    }
}

/// The rooms of a plan by what lies under their ceilings: there daylight comes in by the openings only.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Roofs {
    rooms: Vec<Roof>,
}

impl Roofs {
    /// A plan's rooms.
    #[must_use]
    pub fn of(plan: &Plan) -> Roofs {
        let roof = |r: &crate::plan::Room| {
            let ring: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
            let low = ring.iter().copied().fold(DVec2::INFINITY, DVec2::min);
            let high = ring.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
            Roof { ring, low, high, ceiling_m: r.ceiling_m }
        };
        Roofs { rooms: plan.location.rooms.iter().map(roof).collect() }
    }

    /// Whether a point of the plan lies in a room.
    #[must_use]
    pub fn are_over(&self, p: DVec2) -> bool {
        self.rooms.iter().any(|r| r.covers(p))
    }

    /// Whether a line from a point outside along a direction ends on a room's ceiling or floor from inside: it came
    /// in by an opening.
    fn are_met(&self, at: DVec3, d: DVec3) -> bool {
        self.rooms.iter().any(|r| {
            let level = if d.z > 0.0 { r.ceiling_m } else { 0.0 };
            let t = (level - at.z) / d.z;
            t > 0.0 && t.is_finite() && r.covers((at + d * t).truncate())
        })
    }
}

/// The whole sky, and the ground under it, round a point that lies in no room.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenSky {
    /// The sky.
    pub sky: Arc<Sky>,
    /// Where it does not reach.
    pub roofs: Arc<Roofs>,
    /// A fixed, evenly spread set of directions, each with its luminance times its part of the sphere, lm/m².
    rays: Vec<(Vec3, f32)>,
}

impl OpenSky {
    /// Over a plan's rooms.
    ///
    /// Directions by the golden angle, in rings of equal area (Fibonacci's lattice); every eighth first, to be asked
    /// whether anything is in the way. The sky's are brought to its light on open level ground, so that a flat receptor
    /// that looks up reads that.
    #[must_use]
    pub fn new(sky: Arc<Sky>, roofs: Arc<Roofs>) -> OpenSky {
        let part = 4.0 * std::f64::consts::PI / RAYS as f64;
        let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
        let ray = |n: usize| {
            let z = 1.0 - (2.0 * n as f64 + 1.0) / RAYS as f64;
            let (sin, cos) = (n as f64 * golden).sin_cos();
            let ring = (1.0 - z * z).max(0.0).sqrt();
            let d = DVec3::new(ring * cos, ring * sin, z);
            (d, sky.luminance_cd_m2(d) * part)
        };
        let step = RAYS / PROBES;
        let order = (0..step).flat_map(|first| (first..RAYS).step_by(step));
        let rays: Vec<(DVec3, f64)> = order.map(ray).collect();
        let level: f64 = rays.iter().map(|(d, l)| d.z.max(0.0) * l).sum();
        let even = if level > 0.0 { sky.diffuse_lx / level } else { 1.0 };
        let scaled = |(d, l): (DVec3, f64)| (d.as_vec3(), (if d.z > 0.0 { l * even } else { l }) as f32);
        OpenSky { sky, roofs, rays: rays.into_iter().map(scaled).collect() }
    }

    /// What a direction adds at a receiver, lux.
    fn part(&self, to: &Receiver, (d, l): (Vec3, f32)) -> f64 {
        to.response(to.toward.dot(d.as_dvec3())).max(0.0) * f64::from(l)
    }

    /// Illuminance at a receiver, past everything but `skip`, lux; none in rooms.
    pub(super) fn solve(&self, solids: &Solids, to: &Receiver, skip: OwnerIx, fineness: Fineness) -> f64 {
        if self.roofs.are_over(to.at.truncate()) {
            return 0.0;
        }
        let whole = || -> f64 { self.rays.iter().map(|r| self.part(to, *r)).sum() };
        let from = to.at.as_vec3();
        let few = solids.in_the_way(from, from + Vec3::X * 0.5, OUTSIDE_M as f32, skip);
        if few.is_empty() {
            return whole();
        }
        let (mut sum, mut all, mut hidden, mut seen) = (0.0, 0.0, 0, 0);
        let mut asked = 0;
        for rays in self.rays.chunks_exact(LANES) {
            if asked == PROBES && hidden == 0 {
                return whole();
            }
            // Where little is seen, as from within a doorway, so few say little.
            if asked == AMONG_MANY && fineness == Fineness::Many && (seen == 0 || seen >= ENOUGH) {
                break;
            }
            asked += LANES;
            let parts: [f64; LANES] = std::array::from_fn(|k| self.part(to, rays[k]));
            if parts.iter().all(|p| *p <= 0.0) {
                continue;
            }
            all += parts.iter().sum::<f64>();
            let ends = std::array::from_fn(|k| from + rays[k].0 * OUTSIDE_M as f32);
            let blocked = solids.eight_blocked(&few, &Eight::to_points(from, ends), skip);
            for k in (0..LANES).filter(|k| parts[*k] > 0.0) {
                if (blocked >> k) & 1 == 1 || self.roofs.are_met(to.at, rays[k].0.as_dvec3()) {
                    hidden += 1;
                } else {
                    seen += 1;
                    sum += parts[k];
                }
            }
        }
        if asked == RAYS || all <= 0.0 { sum } else { sum / all * whole() }
    }
}

/// Share of the sun that reaches a point which lies in no room.
pub(super) fn sun_in_the_open(solids: &Solids, toward: DVec3, roofs: &Roofs, at: DVec3, skip: OwnerIx) -> f64 {
    let end = at + toward * OUTSIDE_M;
    let hidden = roofs.are_met(at, toward) || solids.blocked(at.as_vec3(), end.as_vec3(), skip);
    if hidden { 0.0 } else { 1.0 }
}
