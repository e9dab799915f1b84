//! A tree of boxes over many things, eight side by side at every fork, so that one instruction tests eight.

use super::lanes::LANES;
use super::ray::Ray;
use glam::Vec3;
use wide::f32x8;

/// An upright box along the axes: low and high corner.
pub(super) type Bounds = (Vec3, Vec3);

/// Eight boxes, and what each holds.
#[derive(Debug, Clone, Copy)]
struct Fork {
    low: [[f32; LANES]; 3],
    high: [[f32; LANES]; 3],
    /// A fork, or a leaf's place among the things plus [`LEAF`].
    holds: [u32; LANES],
}

/// What is held from here on is a thing.
const LEAF: u32 = 1 << 31;
/// A coordinate that nothing has, metres.
const NOWHERE: f32 = 1e30;
/// Nothing is divided by less.
const TINY: f32 = 1e-12;
/// Boxes are this much wider than what they hold, so that rounding never loses a touch.
const HAIR_M: f32 = 1e-4;
/// Forks waiting to be opened: eight at each of more levels than there are things.
const WAITING: usize = 96;

impl Fork {
    /// Boxes that no segment comes near.
    const EMPTY: Fork = Fork { low: [[NOWHERE; LANES]; 3], high: [[NOWHERE; LANES]; 3], holds: [0; LANES] };

    /// One bit for each box that a segment comes within `radius` of, along each axis.
    #[inline]
    fn near(&self, from: Vec3, inverse: Vec3, radius: f32) -> u32 {
        let (mut t0, mut t1) = (f32x8::ZERO, f32x8::ONE);
        for k in 0..3 {
            let (at, inverse) = (f32x8::splat(from[k]), f32x8::splat(inverse[k]));
            let u = (f32x8::from(self.low[k]) - f32x8::splat(radius) - at) * inverse;
            let v = (f32x8::from(self.high[k]) + f32x8::splat(radius) - at) * inverse;
            t0 = t0.fast_max(u.fast_min(v));
            t1 = t1.fast_min(u.fast_max(v));
        }
        t0.simd_le(t1).to_bitmask()
    }
}

/// The tree.
#[derive(Debug, Clone, Default)]
pub(super) struct Tree {
    forks: Vec<Fork>,
}

impl Tree {
    /// Over things by their bounds: each is told by its place in the list.
    pub fn of(bounds: &[Bounds]) -> Tree {
        let mut tree = Tree::default();
        if !bounds.is_empty() {
            let mut list: Vec<u32> = (0..bounds.len() as u32).collect();
            tree.fork(bounds, &mut list);
        }
        tree
    }

    /// Puts some things under a fork and gives its place.
    fn fork(&mut self, bounds: &[Bounds], list: &mut [u32]) -> u32 {
        let place = self.forks.len();
        self.forks.push(Fork::EMPTY);
        for (k, part) in eighths(bounds, list).into_iter().enumerate() {
            if part.is_empty() {
                continue;
            }
            let (low, high) = round(bounds, part);
            let holds = if let [one] = part { LEAF + *one } else { self.fork(bounds, part) };
            let fork = &mut self.forks[place];
            for axis in 0..3 {
                (fork.low[axis][k], fork.high[axis][k]) = (low[axis] - HAIR_M, high[axis] + HAIR_M);
            }
            fork.holds[k] = holds;
        }
        place as u32
    }

    /// Calls for each thing whose box a segment comes within `radius` of, until told to stop.
    #[inline]
    pub fn each_near(&self, ray: &Ray, radius: f32, mut ask: impl FnMut(u32) -> bool) -> bool {
        if self.forks.is_empty() {
            return false;
        }
        let inverse = Vec3::from(ray.r.to_array().map(|r| 1.0 / if r.abs() < TINY { TINY } else { r }));
        let mut waiting = [0_u32; WAITING];
        let mut count = 1;
        while count > 0 {
            count -= 1;
            let fork = &self.forks[waiting[count] as usize];
            let mut near = fork.near(ray.p, inverse, radius);
            while near != 0 {
                let holds = fork.holds[near.trailing_zeros() as usize];
                near &= near - 1;
                if holds >= LEAF {
                    if ask(holds - LEAF) {
                        return true;
                    }
                } else {
                    waiting[count] = holds;
                    count += 1;
                }
            }
        }
        false
    }
}

/// The box round some things.
fn round(bounds: &[Bounds], list: &[u32]) -> Bounds {
    list.iter().fold((Vec3::INFINITY, Vec3::NEG_INFINITY), |(low, high), i| {
        let (l, h) = bounds[*i as usize];
        (low.min(l), high.max(h))
    })
}

/// Some things in eight parts of about as many, halved three times across the longest side of where their middles lie.
fn eighths<'a>(bounds: &[Bounds], list: &'a mut [u32]) -> Vec<&'a mut [u32]> {
    let mut parts = vec![list];
    for _ in 0..3 {
        parts = parts.into_iter().flat_map(|part| halves(bounds, part)).collect();
    }
    parts
}

fn halves<'a>(bounds: &[Bounds], list: &'a mut [u32]) -> [&'a mut [u32]; 2] {
    let middle = |i: u32| bounds[i as usize].0 + bounds[i as usize].1;
    let (low, high) = list
        .iter()
        .fold((Vec3::INFINITY, Vec3::NEG_INFINITY), |(low, high), i| (low.min(middle(*i)), high.max(middle(*i))));
    let span = high - low;
    let axis = if span.x >= span.y && span.x >= span.z {
        0
    } else if span.y >= span.z {
        1
    } else {
        2
    };
    let half = list.len().div_ceil(2);
    if half < list.len() {
        // Ties by place in the list, so that the tree is the same every time.
        list.select_nth_unstable_by(half, |a, b| middle(*a)[axis].total_cmp(&middle(*b)[axis]).then(a.cmp(b)));
    }
    let (a, b) = list.split_at_mut(half);
    [a, b]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Every box that a segment passes through is found.
        #[test]
        fn none_is_passed_over(
            places in prop::collection::vec(prop::array::uniform6(0.0..1.0f32), 1..200),
            p in prop::array::uniform3(-2.0..8.0f32),
            q in prop::array::uniform3(-2.0..8.0f32),
            radius in 0.0..0.5f32,
        ) {
            let bounds: Vec<Bounds> = places
                .iter()
                .map(|p| {
                    let low = Vec3::new(p[0], p[1], p[2]) * 6.0;
                    (low, low + Vec3::new(p[3], p[4], p[5]))
                })
                .collect();
            let tree = Tree::of(&bounds);
            let ray = Ray { p: Vec3::from_array(p), r: Vec3::from_array(q) - Vec3::from_array(p) };
            let mut found = vec![false; bounds.len()];
            tree.each_near(&ray, radius, |i| {
                found[i as usize] = true;
                false
            });
            for (i, (low, high)) in bounds.iter().enumerate() {
                let inside = |t: f32| {
                    let at = ray.p + ray.r * t;
                    at.cmpge(*low - radius).all() && at.cmple(*high + radius).all()
                };
                if (0..=400).any(|n| inside(n as f32 / 400.0)) {
                    prop_assert!(found[i], "{i} of {}", bounds.len());
                }
            }
        }
    }
}
