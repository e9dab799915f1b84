//! Light from polygons: Lambert's formula where nothing is in the way, sampled where something is.

use super::Receiver;
use super::beam::Look;
use super::emitter::Face;
use crate::geometry::{OwnerIx, Solids};
use crate::plan::Receptor;
use glam::DVec3;

/// Illuminance per unit luminance of a diffuse polygon on a plane at the origin with normal `n`:
/// ½ Σ Θᵢ Γᵢ·n (Lambert 1760; in e.g. Arvo 1994). Corners run counter-clockwise seen from its front.
///
/// Clips to the plane's horizon. The polygon must not contain the origin.
#[must_use]
pub fn lambert_polygon(corners: &[DVec3], n: DVec3) -> f64 {
    // A convex polygon gains at most one corner by the cut; the odd concave one goes to the heap.
    let len = corners.len();
    let (mut few, mut many) = ([DVec3::ZERO; 12], Vec::new());
    let clipped: &mut [DVec3] = if len * 2 <= few.len() {
        &mut few
    } else {
        many.resize(len * 2, DVec3::ZERO);
        &mut many
    };
    let mut count = 0;
    for i in 0..len {
        let (a, b) = (corners[i], corners[(i + 1) % len]);
        let (da, db) = (a.dot(n), b.dot(n));
        if da >= 0.0 {
            clipped[count] = a;
            count += 1;
        }
        if (da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0) {
            clipped[count] = a + (b - a) * (da / (da - db));
            count += 1;
        }
    }
    if count < 3 { 0.0 } else { vector_irradiance(&clipped[..count], n).max(0.0) }
}

/// ½ Σ Θᵢ Γᵢ·n without the horizon: the polygon's vector irradiance along `n` per unit luminance.
pub(super) fn vector_irradiance(corners: &[DVec3], n: DVec3) -> f64 {
    let count = corners.len();
    let mut sum = 0.0;
    for i in 0..count {
        let (a, b) = (corners[i], corners[(i + 1) % count]);
        let cross = b.cross(a);
        let sine = cross.length();
        if sine > 0.0 {
            sum += sine.atan2(a.dot(b)) * cross.dot(n) / sine;
        }
    }
    sum * 0.5
}

/// Solid angle of a polygon from the origin, steradians (Van Oosterom & Strackee 1983, a fan of triangles).
#[must_use]
pub fn solid_angle_sr(corners: &[DVec3]) -> f64 {
    let mut sum = 0.0;
    for i in 1..corners.len() - 1 {
        let (a, b, c) = (corners[0].normalize(), corners[i].normalize(), corners[i + 1].normalize());
        sum += 2.0 * a.dot(b.cross(c)).atan2(1.0 + a.dot(b) + b.dot(c) + c.dot(a));
    }
    sum.abs()
}

/// Illuminance per unit luminance of an even polygon, its corners seen from the receiver.
pub(super) fn per_luminance(corners: &[DVec3], to: &Receiver) -> f64 {
    match to.receptor {
        Receptor::Flat => lambert_polygon(corners, to.toward),
        // The cardioid is half the flat response without a horizon plus half the plain solid angle.
        Receptor::Dome => 0.5 * (solid_angle_sr(corners) + vector_irradiance(corners, to.toward)),
    }
}

/// Points on a face when all or none of it is seen.
const FEW: usize = 16;
/// Points on a face that is partly hidden.
const MANY: usize = 160;

/// The n-th point of a low-discrepancy sequence on the unit square, −1..1 (Roberts' R2: additive recurrence
/// on powers of the plastic number): even in the plane and along each side, so that straight shadow edges
/// move smoothly.
pub(super) fn spread(n: usize) -> (f64, f64) {
    const PLASTIC: f64 = 1.324_717_957_244_746;
    let at = |step: f64| (0.5 + n as f64 * step).fract() * 2.0 - 1.0;
    (at(1.0 / PLASTIC), at(1.0 / (PLASTIC * PLASTIC)))
}

/// Illuminance from an area at unit output, lux.
pub(super) fn solve(solids: &Solids, face: &Face, to: &Receiver, skip: OwnerIx) -> f64 {
    let behind = face.normal.dot(to.at - face.centre);
    if behind <= 1e-6 {
        return 0.0;
    }
    if to.receptor == Receptor::Flat {
        // All corners below the receptor's horizon.
        let reach = to.toward.dot(face.across).abs() + to.toward.dot(face.up).abs();
        if to.toward.dot(face.centre - to.at) + reach <= 0.0 {
            return 0.0;
        }
    }
    let origin = to.at.as_vec3();
    let radius = (face.across.length_squared() + face.up.length_squared()).sqrt();
    let few = solids.in_the_way(origin, face.centre.as_vec3(), radius as f32, skip);
    let open = few.is_empty();
    if !open && solids.hides(&few, origin, face.corners().map(|c| c.as_vec3()), skip) {
        return 0.0;
    }
    let (across, up) = (face.across.normalize_or_zero(), face.up.normalize_or_zero());
    // Luminance seen, weighed by what each point would do if the face were even; the exact formula for an
    // even face then carries the mean.
    let (mut seen, mut all, mut hidden) = (0.0, 0.0, 0);
    let sharp = matches!(face.look, Look::Grid(_));
    let most = if open && face.look == Look::Diffuse { 0 } else { MANY };
    for n in 0..most {
        // The first few decide whether more are needed.
        if n == FEW && !sharp && (hidden == 0 || hidden == FEW) {
            break;
        }
        // Points come in pairs mirrored about the middle: half of a face, cut through the middle, is half.
        let side = if n % 2 == 0 { 1.0 } else { -1.0 };
        let (u, v) = spread(n / 2 + 1);
        let point = face.centre + (face.across * u + face.up * v) * side;
        let v = point - to.at;
        let d2 = v.length_squared().max(1e-6);
        let d = d2.sqrt();
        let cos_face = -face.normal.dot(v) / d;
        let weight = cos_face.max(0.0) * to.response(to.toward.dot(v) / d) / d2;
        if weight <= 0.0 {
            hidden += usize::from(n < FEW);
            continue;
        }
        all += weight;
        let look = face.look.share(-across.dot(v) / d, -up.dot(v) / d, cos_face);
        if look > 0.0 && !open && solids.blocked_by(&few, origin, point.as_vec3(), skip) {
            hidden += usize::from(n < FEW);
        } else {
            seen += weight * look;
        }
    }
    if most == 0 {
        (seen, all) = (1.0, 1.0);
    }
    if all <= 0.0 || seen <= 0.0 {
        return 0.0;
    }
    let corners = face.corners().map(|c| c - to.at);
    per_luminance(&corners, to) * face.luminance_cd_m2 * (seen / all)
}
