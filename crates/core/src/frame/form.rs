//! The forms a picture is made of, and where a line of sight first meets one.

use crate::geometry::{OwnerIx, point_in_polygon, unit_roots};
use crate::light::InRoom;
use glam::{DVec2, Vec2, Vec3};

/// A form in space.
#[derive(Debug, Clone)]
pub(super) enum Form {
    /// An upright rectangle on `a` to `a + d`.
    Panel { a: Vec2, d: Vec2, z0: f32, z1: f32 },
    /// A level polygon.
    Level { ring: Vec<DVec2>, z: f32 },
    /// A box on three square unit vectors.
    Box { centre: Vec3, axes: [Vec3; 3], half: Vec3 },
    /// An upright elliptical cylinder with its lids.
    Round { centre: Vec2, axis: Vec2, inv_half: Vec2, z0: f32, z1: f32 },
    /// An ellipsoid turned about the vertical.
    Ball { centre: Vec3, axis: Vec2, inv_half: Vec3 },
}

/// What a form is covered with.
#[derive(Debug, Clone)]
pub(super) enum Coat {
    /// One finish all over.
    Even([f32; 3]),
    /// One finish on each side of a panel: left of `a → a + d`, right of it; black where no room is.
    Sides([[f32; 3]; 2]),
    /// A head: skin where the face is, hair above and behind. Unit vector the face looks along.
    Head(Vec2),
    /// A lamp's front, which shines along a direction: linear sRGB, cd/m², and what the rest is covered with.
    Shining { along: Vec3, light: [f32; 3], rest: [f32; 3] },
    /// Shines on every side.
    Glowing([f32; 3]),
}

/// Where the light that the rooms return to a form comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Around {
    /// The patches of its own surface.
    Patches,
    /// The patches of the rooms that its front and its back look into, where these are known.
    Faces {
        /// Out of its front.
        front: Vec3,
        /// The rooms before and behind it.
        rooms: [Option<InRoom>; 2],
    },
    /// The light round a middle point, by place in a list.
    Middle(u32),
}

/// A form with its coat.
#[derive(Debug, Clone)]
pub(super) struct Prop {
    pub form: Form,
    pub coat: Coat,
    /// Whose, so that it does not stand in its own light.
    pub owner: OwnerIx,
    pub around: Around,
    /// The room it belongs to, where that is known.
    pub room: Option<InRoom>,
    /// A sphere round it.
    pub middle: Vec3,
    pub radius: f32,
}

/// Skin and hair: mid tones chosen for a face that reads as one stop over middle grey (common practice, no
/// source).
pub(super) const SKIN: [f32; 3] = [0.42, 0.30, 0.23];
const HAIR: [f32; 3] = [0.06, 0.045, 0.035];

impl Prop {
    pub fn new(form: Form, coat: Coat, owner: OwnerIx, around: Around) -> Prop {
        let (middle, radius) = bound(&form);
        Prop { form, coat, owner, around, room: None, middle, radius }
    }

    /// Reflectance and own light (linear sRGB, cd/m²) at a point with its outward normal.
    pub fn coat_at(&self, at: Vec3, normal: Vec3) -> ([f32; 3], [f32; 3]) {
        const DARK: [f32; 3] = [0.0; 3];
        match &self.coat {
            Coat::Even(c) => (*c, DARK),
            Coat::Sides([left, right]) => {
                let Form::Panel { d, .. } = &self.form else { return (*left, DARK) };
                let on_left = Vec2::new(-d.y, d.x).dot(normal.truncate()) > 0.0;
                (if on_left { *left } else { *right }, DARK)
            }
            Coat::Head(front) => {
                let Form::Ball { centre, inv_half, .. } = &self.form else { return (SKIN, DARK) };
                let v = at - *centre;
                let forward = v.truncate().dot(*front) * inv_half.y;
                let up = v.z * inv_half.z;
                let face = forward > 0.05 && up < 0.62 || up < -0.25 && forward > -0.45;
                (if face { SKIN } else { HAIR }, DARK)
            }
            Coat::Shining { along, light, rest } => {
                if normal.dot(*along) > 0.7 {
                    ([0.05; 3], *light)
                } else {
                    (*rest, DARK)
                }
            }
            Coat::Glowing(light) => ([0.3; 3], *light),
        }
    }
}

fn bound(form: &Form) -> (Vec3, f32) {
    match form {
        Form::Panel { a, d, z0, z1 } => {
            let middle = (*a + *d * 0.5).extend((z0 + z1) * 0.5);
            (middle, 0.5 * d.length().hypot(z1 - z0))
        }
        Form::Level { ring, z } => {
            let middle = ring.iter().copied().sum::<DVec2>() / ring.len().max(1) as f64;
            let reach = ring.iter().map(|p| p.distance(middle)).fold(0.0, f64::max);
            (middle.as_vec2().extend(*z), reach as f32)
        }
        Form::Box { centre, half, .. } => (*centre, half.length()),
        Form::Round { centre, inv_half, z0, z1, .. } => {
            let reach = inv_half.min_element().recip().hypot((z1 - z0) * 0.5);
            (centre.extend((z0 + z1) * 0.5), reach)
        }
        Form::Ball { centre, inv_half, .. } => (*centre, inv_half.min_element().recip()),
    }
}

/// Nearer than this nothing is met, metres.
const NEAREST: f32 = 1e-3;

impl Form {
    /// The first meeting of a ray from `p` along unit `r`: distance and normal turned to the ray's start.
    #[inline]
    pub fn met(&self, p: Vec3, r: Vec3) -> Option<(f32, Vec3)> {
        let toward = |n: Vec3| if n.dot(r) > 0.0 { -n } else { n };
        match self {
            Form::Panel { a, d, z0, z1 } => {
                let flat = r.truncate();
                let inverse = 1.0 / flat.perp_dot(*d);
                let to = *a - p.truncate();
                let (t, s) = (to.perp_dot(*d) * inverse, to.perp_dot(flat) * inverse);
                let z = p.z + t * r.z;
                // A parallel ray gives NaN or infinity, which fail every comparison.
                (t > NEAREST && t < 1e6 && (0.0..=1.0).contains(&s) && z >= *z0 && z <= *z1)
                    .then(|| (t, toward(Vec3::new(-d.y, d.x, 0.0).normalize_or_zero())))
            }
            Form::Level { ring, z } => {
                let t = (z - p.z) / r.z;
                (t > NEAREST && t < 1e6 && point_in_polygon((p + r * t).truncate().as_dvec2(), ring))
                    .then(|| (t, toward(Vec3::Z)))
            }
            Form::Box { centre, axes, half } => {
                let v = p - *centre;
                let (mut t0, mut t1, mut n) = (f32::NEG_INFINITY, f32::INFINITY, Vec3::Z);
                for k in 0..3 {
                    let (o, d) = (v.dot(axes[k]), r.dot(axes[k]));
                    if d.abs() < 1e-9 {
                        if o.abs() > half[k] {
                            return None;
                        }
                        continue;
                    }
                    let (near, far) = ((-half[k] * d.signum() - o) / d, (half[k] * d.signum() - o) / d);
                    if near > t0 {
                        (t0, n) = (near, axes[k]);
                    }
                    t1 = t1.min(far);
                }
                (t0 < t1 && t0 > NEAREST).then(|| (t0, toward(n)))
            }
            Form::Round { centre, axis, inv_half, z0, z1 } => {
                let local = |v: Vec2| Vec2::new(v.dot(*axis), axis.perp_dot(v)) * *inv_half;
                let (o, d) = (local(p.truncate() - *centre), local(r.truncate()));
                let (mut t0, mut t1) = unit_roots(o.length_squared(), o.dot(d), d.length_squared())?;
                let side = t0;
                if r.z.abs() > 1e-9 {
                    let (u, v) = ((z0 - p.z) / r.z, (z1 - p.z) / r.z);
                    t0 = t0.max(u.min(v));
                    t1 = t1.min(u.max(v));
                } else if p.z < *z0 || p.z > *z1 {
                    return None;
                }
                (t0 < t1 && t0 > NEAREST).then(|| {
                    if t0 > side {
                        return (t0, toward(Vec3::Z));
                    }
                    let g = (o + d * t0) * *inv_half;
                    let n = *axis * g.x + axis.perp() * g.y;
                    (t0, n.extend(0.0).normalize_or_zero())
                })
            }
            Form::Ball { centre, axis, inv_half } => {
                let turned = |v: Vec3| {
                    let flat = v.truncate();
                    Vec3::new(flat.dot(*axis), axis.perp_dot(flat), v.z) * *inv_half
                };
                let (o, d) = (turned(p - *centre), turned(r));
                let (t, _) = unit_roots(o.length_squared(), o.dot(d), d.length_squared())?;
                (t > NEAREST).then(|| {
                    let g = (o + d * t) * *inv_half;
                    let n = *axis * g.x + axis.perp() * g.y;
                    (t, n.extend(g.z).normalize_or_zero())
                })
            }
        }
    }
}
