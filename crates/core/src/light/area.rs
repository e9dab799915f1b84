//! Light from polygons: Lambert's formula where nothing is in the way, sampled where something is.

use super::beam::Look;
use super::emitter::Face;
use super::{Fineness, Receiver};
use crate::geometry::{Eight, Few, OwnerIx, Solids};
use crate::plan::Receptor;
use glam::{DVec3, Vec3};
use std::sync::LazyLock;
use wide::f32x8;

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

/// Eights of points on a face when all or none of it is seen.
const FEW: usize = 2;
/// Eights of points on a face that is partly hidden.
const MANY: usize = 40;
/// Most eights of points on a face of which little is seen.
pub(super) const MOST: usize = 160;
/// So many points seen carry a mean.
const ENOUGH: u32 = 160;
/// The same for one receiver of many, where a map or a patch evens out what is left.
const AMONG_MANY: usize = 20;

/// The n-th point of a low-discrepancy sequence on the unit square, −1..1 (Roberts' R2: additive recurrence
/// on powers of the plastic number): even in the plane and along each side, so that straight shadow edges
/// move smoothly.
pub(super) fn spread(n: usize) -> (f64, f64) {
    const PLASTIC: f64 = 1.324_717_957_244_746;
    let at = |step: f64| (0.5 + n as f64 * step).fract() * 2.0 - 1.0;
    (at(1.0 / PLASTIC), at(1.0 / (PLASTIC * PLASTIC)))
}

/// Whether more points would say no more: enough were seen, or there is nothing to see.
pub(super) fn is_enough(seen: u32) -> bool {
    seen == 0 || seen >= ENOUGH
}

/// Points over a face, eight by eight, in pairs mirrored about its middle: half of a face, cut through the
/// middle, is half.
pub(super) static POINTS: LazyLock<[(f32x8, f32x8); MOST]> = LazyLock::new(|| {
    let point = |n: usize| {
        let side = if n.is_multiple_of(2) { 1.0 } else { -1.0 };
        let (u, v) = spread(n / 2 + 1);
        ((u * side) as f32, (v * side) as f32)
    };
    std::array::from_fn(|g| {
        let eight: [(f32, f32); 8] = std::array::from_fn(|k| point(g * 8 + k));
        (f32x8::from(eight.map(|p| p.0)), f32x8::from(eight.map(|p| p.1)))
    })
});

/// Corners of a face and the middles of its sides, a little within it: what hides a part of a face as good as always
/// hides one of these, or leaves one free.
static BORDER: LazyLock<(f32x8, f32x8)> = LazyLock::new(|| {
    const IN: f32 = 0.97;
    (f32x8::from([-IN, IN, IN, -IN, 0.0, IN, 0.0, -IN]), f32x8::from([-IN, -IN, IN, IN, -IN, 0.0, IN, 0.0]))
});

/// One vector eight times over.
#[derive(Clone, Copy)]
struct Wide([f32x8; 3]);

impl Wide {
    fn splat(v: DVec3) -> Wide {
        Wide(v.as_vec3().to_array().map(f32x8::splat))
    }
    #[inline]
    fn dot(self, o: Wide) -> f32x8 {
        self.0[0] * o.0[0] + self.0[1] * o.0[1] + self.0[2] * o.0[2]
    }
}

/// Illuminance from an area at unit output, lux. `among` is what may stand in the way, where it is known.
pub(super) fn solve(
    solids: &Solids,
    face: &Face,
    to: &Receiver,
    skip: OwnerIx,
    among: Option<&Few>,
    fineness: Fineness,
) -> f64 {
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
    let radius = (face.across.length_squared() + face.up.length_squared()).sqrt() as f32;
    let centre = face.centre.as_vec3();
    let few = solids.in_the_way_of(among, origin, centre, radius, skip);
    let open = few.is_empty();
    if !open && solids.hides(&few, &[origin], &face.corners().map(|c| c.as_vec3()), skip) {
        return 0.0;
    }
    let share = if open && face.look == Look::Diffuse {
        1.0
    } else {
        let most = match fineness {
            Fineness::Meter => [MANY, MOST],
            Fineness::Many => [AMONG_MANY; 2],
        };
        seen_share(solids, face, to, skip, &few, most)
    };
    if share <= 0.0 {
        return 0.0;
    }
    let corners = face.corners().map(|c| c - to.at);
    per_luminance(&corners, to) * face.luminance_cd_m2 * share
}

/// Luminance seen over that of an even face wholly seen, weighed by what each point would do if the face were
/// even: the exact formula for an even face then carries the mean.
fn seen_share(solids: &Solids, face: &Face, to: &Receiver, skip: OwnerIx, few: &Few, most: [usize; 2]) -> f64 {
    let origin: Vec3 = to.at.as_vec3();
    let open = few.is_empty();
    let sharp = matches!(face.look, Look::Grid(_));
    let (middle, across, up) = (Wide::splat(face.centre - to.at), Wide::splat(face.across), Wide::splat(face.up));
    let (normal, toward) = (Wide::splat(face.normal), Wide::splat(to.toward));
    let (along_across, along_up) =
        (Wide::splat(face.across.normalize_or_zero()), Wide::splat(face.up.normalize_or_zero()));
    let line_to = |u: f32x8, v: f32x8| Wide(std::array::from_fn(|k| middle.0[k] + across.0[k] * u + up.0[k] * v));
    let (mut seen, mut all, mut hidden, mut points) = (0.0_f32, 0.0_f32, 0, 0_u32);
    for (n, (u, v)) in POINTS.iter().take(most[1]).enumerate() {
        if n == most[0] && (open || is_enough(points)) {
            break;
        }
        // The first few and the border decide whether more are needed.
        if n == FEW && !sharp && (hidden == 0 || hidden == FEW as u32 * 8) {
            let border =
                || solids.eight_blocked(few, &Eight::along(origin, line_to(BORDER.0, BORDER.1).0), skip) & 0xff;
            if open || border() == if hidden == 0 { 0 } else { 0xff } {
                break;
            }
        }
        let line = line_to(*u, *v);
        let inverse = f32x8::ONE / line.dot(line).fast_max(f32x8::splat(1e-6)).sqrt();
        let cos_face = (-normal.dot(line) * inverse).fast_max(f32x8::ZERO);
        let cos = toward.dot(line) * inverse;
        let response = match to.receptor {
            Receptor::Flat => cos.fast_max(f32x8::ZERO),
            Receptor::Dome => (f32x8::ONE + cos) * f32x8::HALF,
        };
        let weight = cos_face * response * inverse * inverse;
        all += weight.reduce_add();
        let look = face.look.shares(along_across.dot(line) * inverse, along_up.dot(line) * inverse, cos_face);
        let unlit = !weight.simd_gt(f32x8::ZERO).to_bitmask() & 0xff;
        let blocked = if open { 0 } else { solids.eight_blocked(few, &Eight::along(origin, line.0), skip) };
        let gone = unlit | blocked;
        points += 8 - (gone & 0xff).count_ones();
        if n < FEW {
            hidden += gone.count_ones();
        }
        if gone == 0 {
            seen += (weight * look).reduce_add();
        } else if gone != 0xff {
            let lit = (weight * look).to_array();
            seen += (0..8).filter(|k| gone >> k & 1 == 0).map(|k| lit[k]).sum::<f32>();
        }
    }
    if all > 0.0 { f64::from(seen / all) } else { 0.0 }
}
