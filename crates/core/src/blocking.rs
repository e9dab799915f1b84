//! Who is in frame, whose face is seen, and who or what hides it.

use crate::geometry::{OwnerIx, Solids};
use crate::scene::{Placed, View};
use glam::DVec3;

/// Points a face is sampled at.
pub const FACE_POINTS: usize = 96;

/// How much of one face the lens sees.
#[derive(Debug, Clone, PartialEq)]
pub struct FaceView {
    /// Share of the face's area that is turned to the lens, 0–1 (1 full face, about 0.5 profile).
    pub turned: f64,
    /// Share of the turned-to area that nothing hides, 0–1; 0 when none is turned to the lens.
    pub clear: f64,
    /// Share of the head's outline corners inside the frame, 0–1.
    pub in_frame: f64,
    /// Who or what hides it, most hidden first, with the share each hides.
    pub hidden_by: Vec<(OwnerIx, f64)>,
    /// Distance from the lens to the face, metres.
    pub distance_m: f64,
}

/// Points spread evenly over the front half of a head, with each point's outward normal and area weight.
///
/// The face is the half of the head ellipsoid that looks the way the person faces. Points are a Fibonacci
/// lattice on the unit half-sphere, mapped to the ellipsoid with the area the map gives each.
fn face_points(p: &Placed) -> impl Iterator<Item = (DVec3, DVec3, f64)> + '_ {
    let front = p.face_normal();
    let across = DVec3::new(front.y, -front.x, 0.0);
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let h = p.head_half;
    (0..FACE_POINTS).map(move |i| {
        let y = (i as f64 + 0.5) / FACE_POINTS as f64;
        let ring = (1.0 - y * y).sqrt();
        let (s, c) = (i as f64 * golden).sin_cos();
        let u = DVec3::new(ring * c, y, ring * s);
        let at = p.head + across * (u.x * h.x) + front * (u.y * h.y) + DVec3::Z * (u.z * h.z);
        let gradient = across * (u.x / h.x) + front * (u.y / h.y) + DVec3::Z * (u.z / h.z);
        // Area of the mapped element over the sphere's: product of half-axes × |M⁻ᵀ u|.
        (at, gradient.normalize(), h.x * h.y * h.z * gradient.length())
    })
}

/// How much of a person's face a point sees, past the solids.
#[must_use]
pub fn face_view(solids: &Solids, view: &View, person: &Placed) -> FaceView {
    let eye = view.eye.as_vec3();
    let (mut total, mut facing, mut clear) = (0.0, 0.0, 0.0);
    let mut hiders: Vec<(OwnerIx, f64)> = Vec::new();
    for (at, normal, area) in face_points(person) {
        total += area;
        if normal.dot(view.eye - at) <= 0.0 {
            continue;
        }
        facing += area;
        match solids.first_hit(eye, at.as_vec3(), person.owner) {
            None => clear += area,
            Some(hit) => match hiders.iter_mut().find(|(o, _)| *o == hit.owner) {
                Some((_, share)) => *share += area,
                None => hiders.push((hit.owner, area)),
            },
        }
    }
    for h in &mut hiders {
        h.1 /= facing.max(1e-12);
    }
    hiders.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    FaceView {
        turned: facing / total,
        clear: if facing > 0.0 { clear / facing } else { 0.0 },
        in_frame: in_frame_share(view, person),
        hidden_by: hiders,
        distance_m: person.face().distance(view.eye),
    }
}

/// Whether any of a head is in frame, before anything in the way is asked about.
#[must_use]
pub fn may_be_seen(view: &View, person: &Placed) -> bool {
    in_frame_share(view, person) > 0.0
}

/// Share of a head inside the frame: its six extreme points and centre, projected.
fn in_frame_share(view: &View, p: &Placed) -> f64 {
    let front = p.face_normal();
    let across = DVec3::new(front.y, -front.x, 0.0);
    let offsets = [
        DVec3::ZERO,
        across * p.head_half.x,
        across * -p.head_half.x,
        front * p.head_half.y,
        front * -p.head_half.y,
        DVec3::Z * p.head_half.z,
        DVec3::Z * -p.head_half.z,
    ];
    let inside = offsets.iter().filter(|o| contains(view, p.head + **o)).count();
    inside as f64 / offsets.len() as f64
}

/// Whether a point falls inside the frame.
#[must_use]
pub fn contains(view: &View, p: DVec3) -> bool {
    view.project(p).is_some_and(|(at, _)| at.x.abs() <= 1.0 && at.y.abs() <= 1.0)
}

/// Whether a point falls inside the frame and nothing but `skip` hides it.
#[must_use]
pub fn sees(solids: &Solids, view: &View, p: DVec3, skip: OwnerIx) -> bool {
    contains(view, p) && !solids.blocked(view.eye.as_vec3(), p.as_vec3(), skip)
}

/// The point of a body the frame's lower edge cuts, as a share of standing height (0 feet, 1 crown).
///
/// None when the head is not in front of the lens.
#[must_use]
pub fn cut_at_share(view: &View, person: &Placed, height_m: f64) -> Option<f64> {
    let (right, up, forward) = view.axes();
    let _ = right;
    let to = person.position.extend(0.0) - view.eye;
    // Solve for z on the upright line through the person where the frame's lower edge passes.
    let slope = -view.sensor_mm.1 / (2.0 * view.focal_mm);
    let denominator = up.z - slope * forward.z;
    let flat = DVec3::new(to.x, to.y, 0.0);
    if flat.dot(forward) <= 0.0 || denominator.abs() < 1e-9 {
        return None;
    }
    let dz = (slope * flat.dot(forward) - flat.dot(up)) / denominator;
    Some(((view.eye.z + dz) / height_m).clamp(0.0, 1.0))
}
