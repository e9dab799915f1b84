//! Who is in frame, whose face is seen, and who or what hides it.

mod clear_map;
mod framing;
mod moments;
mod places;
mod suggest;

pub use clear_map::{ClearMap, clear_map};
pub use framing::{Framing, lens_for_size, place_for_size};
pub(crate) use moments::leaps;
pub use moments::{LOOKS_PER_S, Lane, Moment, Moments, Seen, Span, Walk, lanes, walks};
pub use places::{Aim, Places, RuledOut};
pub use suggest::{STEP_M, Suggestion, moved, suggest, unclear};

use places::looks_this_way;

use crate::geometry::{Eight, EightHits, Few, OwnerIx, Solids};
use crate::scene::{Placed, View, proportions};
use glam::{DVec3, Vec3};
use std::sync::OnceLock;
use wide::f32x8;

/// Points a face may be sampled at: enough of them must be turned to the lens.
const FACE_POINTS: [usize; 5] = [512, 1024, 2048, 4096, 32_768];
/// Which of these tells how much of a face is turned to the lens.
const FOR_TURNED: usize = 2;
/// With less of the face turned to the lens, the coarsest lattice has too few points there.
const FEW_TELL: f32 = 0.2;
/// Points turned to the lens that are asked about what hides them.
const ASKED: f32 = 640.0;

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

/// Points spread evenly over the half of the unit sphere with y ≥ 0, side by side in eights, each with the area
/// of a head it stands for.
struct Lattice {
    eights: Vec<[f32x8; 4]>,
    whole: f32,
}

/// Fibonacci lattices.
fn half_sphere(level: usize) -> &'static Lattice {
    static LATTICES: OnceLock<[Lattice; 5]> = OnceLock::new();
    let lattice = |n: usize| {
        let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
        let points: Vec<Vec3> = (0..n)
            .map(|i| {
                let y = (i as f64 + 0.5) / n as f64;
                let ring = (1.0 - y * y).sqrt();
                let (s, c) = (i as f64 * golden).sin_cos();
                DVec3::new(ring * c, y, ring * s).as_vec3()
            })
            .collect();
        // Area of the ellipsoid's element over the sphere's, but for a constant: |M⁻ᵀ u|. All heads have the
        // same proportions.
        let half = Vec3::new(
            proportions::HEAD_BREADTH as f32,
            proportions::HEAD_LENGTH as f32,
            (1.0 - proportions::CHIN) as f32,
        );
        let areas: Vec<f32> = points.iter().map(|u| (*u / half).length()).collect();
        let eights = points
            .chunks_exact(8)
            .zip(areas.chunks_exact(8))
            .map(|(p, a)| {
                let lanes = |f: &dyn Fn(usize) -> f32| f32x8::from(std::array::from_fn(f));
                [lanes(&|i| p[i].x), lanes(&|i| p[i].y), lanes(&|i| p[i].z), lanes(&|i| a[i])]
            })
            .collect();
        let whole = areas.iter().sum();
        Lattice { eights, whole }
    };
    &LATTICES.get_or_init(|| FACE_POINTS.map(lattice))[level]
}

/// A head as a unit sphere: the face is the half that looks the way the person faces. Points of the lattice are
/// mapped to the ellipsoid with the area the map gives each.
struct Head {
    centre: Vec3,
    axes: [Vec3; 3],
    half: Vec3,
}

impl Head {
    fn of(p: &Placed) -> Head {
        let front = p.face_normal();
        let across = DVec3::new(front.y, -front.x, 0.0);
        Head {
            centre: p.head.as_vec3(),
            axes: [across.as_vec3(), front.as_vec3(), Vec3::Z],
            half: p.head_half.as_vec3(),
        }
    }
    fn place_eight(&self, [x, y, z]: [f32x8; 3]) -> [f32x8; 3] {
        let (x, y, z) = (x * f32x8::splat(self.half.x), y * f32x8::splat(self.half.y), z * f32x8::splat(self.half.z));
        [0, 1, 2].map(|k| {
            let along = |axis: Vec3, v: f32x8| f32x8::splat(axis[k]) * v;
            f32x8::splat(self.centre[k]) + along(self.axes[0], x) + along(self.axes[1], y) + along(self.axes[2], z)
        })
    }
    /// Share of the face turned to a point (given as [`Head::unit`]), and which lattice gives enough points there.
    fn turned(from: Vec3) -> (f32, usize) {
        let lattice = half_sphere(FOR_TURNED);
        let [x, y, z] = from.to_array().map(f32x8::splat);
        let mut facing = f32x8::ZERO;
        for [px, py, pz, area] in &lattice.eights {
            let seen = (*px * x + *py * y + *pz * z).simd_gt(f32x8::ONE);
            facing += seen & *area;
        }
        let turned = facing.reduce_add() / lattice.whole;
        let level = FACE_POINTS.iter().position(|n| *n as f32 * turned >= ASKED).unwrap_or(FACE_POINTS.len() - 1);
        (turned, level)
    }
    /// Where a point lies when the head is the unit sphere: a lattice point u faces it when u · it > 1.
    fn unit(&self, p: Vec3) -> Vec3 {
        let v = p - self.centre;
        Vec3::new(v.dot(self.axes[0]), v.dot(self.axes[1]), v.dot(self.axes[2])) / self.half
    }
}

/// What may stand before a head, by set of solids; sets with nothing there are left out.
fn before<'a>(solids: &[&'a Solids], eye: Vec3, head: &Head, skip: OwnerIx) -> Vec<(&'a Solids, Few)> {
    let radius = head.half.max_element();
    let few = solids.iter().map(|s| (*s, s.in_the_way(eye, head.centre, radius, skip)));
    few.filter(|(_, few)| !few.is_empty()).collect()
}

/// How much of a person's face a point sees, past the solids.
#[must_use]
pub fn face_view(solids: &Solids, view: &View, person: &Placed) -> FaceView {
    face_view_among(&[solids], view, person)
}

/// As [`face_view`], past several sets of solids.
#[must_use]
pub fn face_view_among(solids: &[&Solids], view: &View, person: &Placed) -> FaceView {
    let eye = view.eye.as_vec3();
    let head = Head::of(person);
    let from = head.unit(eye);
    let few = before(solids, eye, &head, person.owner);
    let (turned, level) = Head::turned(from);
    let ask = |level: usize| asked(&few, &head, eye, from, level, person.owner);
    // With nothing in the way there is nothing to ask; a few points tell whether the whole face is clear or hidden.
    let answer = if few.is_empty() {
        Asked { facing: 1.0, clear: 1.0, hiders: Vec::new() }
    } else if turned < FEW_TELL {
        ask(level)
    } else {
        let first = ask(0);
        if first.clear > 0.0 && first.clear < first.facing { ask(level) } else { first }
    };
    let Asked { facing, clear, mut hiders } = answer;
    for h in &mut hiders {
        h.1 /= f64::from(facing).max(1e-12);
    }
    hiders.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    FaceView {
        turned: f64::from(turned),
        clear: if turned > 0.0 && facing > 0.0 { f64::from(clear / facing) } else { 0.0 },
        in_frame: in_frame_share(view, person),
        hidden_by: hiders,
        distance_m: person.face().distance(view.eye),
    }
}

/// The share of a face's turned-to area that nothing hides, as [`FaceView::clear`], where nobody asks what hides it.
pub(crate) fn clear_share_among(solids: &[&Solids], view: &View, person: &Placed) -> f64 {
    let eye = view.eye.as_vec3();
    let head = Head::of(person);
    let from = head.unit(eye);
    let few = before(solids, eye, &head, person.owner);
    let share = |level: usize| clear_and_facing(&few, &head, eye, from, level, person.owner);
    let (clear, facing) = share(0);
    // The coarsest lattice tells how much is turned to the lens but for where very little is.
    let little = facing < 2.0 * FEW_TELL * half_sphere(0).whole;
    if !little && (clear <= 0.0 || clear >= facing) {
        return f64::from(clear / facing);
    }
    let (turned, level) = Head::turned(from);
    let (clear, facing) =
        if turned >= FEW_TELL && (clear <= 0.0 || clear >= facing) { (clear, facing) } else { share(level) };
    if turned > 0.0 && facing > 0.0 { f64::from(clear / facing) } else { 0.0 }
}

/// Area of a face's points that are turned to the lens and that nothing hides, and of all that are turned to it.
fn clear_and_facing(
    few: &[(&Solids, Few)],
    head: &Head,
    eye: Vec3,
    from: Vec3,
    level: usize,
    skip: OwnerIx,
) -> (f32, f32) {
    let unit = from.to_array().map(f32x8::splat);
    let (mut clear, mut facing) = (f32x8::ZERO, f32x8::ZERO);
    for [x, y, z, area] in &half_sphere(level).eights {
        let turned = (*x * unit[0] + *y * unit[1] + *z * unit[2]).simd_gt(f32x8::ONE);
        let lanes = turned.to_bitmask();
        if lanes == 0 {
            continue;
        }
        let here = turned & *area;
        facing += here;
        let ray = Eight::to(eye, head.place_eight([*x, *y, *z]));
        let mut hidden = 0;
        for (s, few) in few {
            hidden |= s.eight_blocked(few, &ray, skip);
            if hidden & lanes == lanes {
                break;
            }
        }
        match hidden & lanes {
            0 => clear += here,
            all if all == lanes => {}
            some => {
                let mut left = here.to_array();
                (0..8).filter(|i| some >> i & 1 == 1).for_each(|i| left[i] = 0.0);
                clear += f32x8::from(left);
            }
        }
    }
    (clear.reduce_add(), facing.reduce_add())
}

/// What stands in the way of the points of a face.
struct Asked {
    facing: f32,
    clear: f32,
    hiders: Vec<(OwnerIx, f64)>,
}

fn asked(few: &[(&Solids, Few)], head: &Head, eye: Vec3, from: Vec3, level: usize, skip: OwnerIx) -> Asked {
    let mut out = Asked { facing: 0.0, clear: 0.0, hiders: Vec::new() };
    let unit = from.to_array().map(f32x8::splat);
    for [x, y, z, area] in &half_sphere(level).eights {
        let turned = (*x * unit[0] + *y * unit[1] + *z * unit[2]).simd_gt(f32x8::ONE).to_bitmask();
        if turned == 0 {
            continue;
        }
        let ray = Eight::to(eye, head.place_eight([*x, *y, *z]));
        let mut hits = EightHits::NONE;
        for (s, few) in few {
            s.first_hits(few, &ray, skip, &mut hits);
        }
        let area = area.to_array();
        for i in (0..8).filter(|i| turned >> i & 1 == 1) {
            out.facing += area[i];
            if hits.t[i] > 1.0 {
                out.clear += area[i];
                continue;
            }
            match out.hiders.iter_mut().find(|(o, _)| *o == hits.owner[i]) {
                Some((_, share)) => *share += f64::from(area[i]),
                None => out.hiders.push((hits.owner[i], f64::from(area[i]))),
            }
        }
    }
    out
}

/// Whether any of a head is in frame, before anything in the way is asked about.
#[must_use]
pub fn may_be_seen(view: &View, person: &Placed) -> bool {
    in_frame_share(view, person) > 0.0
}

/// A head's centre and six extreme points.
pub(crate) fn head_points(p: &Placed) -> [DVec3; 7] {
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
    offsets.map(|o| p.head + o)
}

/// Share of a head inside the frame: its six extreme points and centre, projected.
fn in_frame_share(view: &View, p: &Placed) -> f64 {
    let points = head_points(p);
    points.iter().filter(|q| contains(view, **q)).count() as f64 / points.len() as f64
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
