//! What stands in front of a plane, told once for many lines that go out through it.

use super::OwnerIx;
use super::eights::Eight;
use super::solids::{Kind, Solids};
use glam::Vec3;
use std::sync::Arc;

/// How many things of each kind stood when [`Solids::settle`] was called: those keep their places for as long as it is
/// not called again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Settled {
    pub counts: [usize; 6],
}

/// Things of some settled [`Solids`] that reach in front of a plane.
#[derive(Debug, Clone)]
pub struct Front {
    of: Arc<Settled>,
    list: Vec<(Kind, u32)>,
}

impl PartialEq for Front {
    fn eq(&self, other: &Front) -> bool {
        Arc::ptr_eq(&self.of, &other.of) && self.list == other.list
    }
}

/// With more things in front lines are asked one by one, each past what is near it.
const MOST: usize = 128;
const KINDS: [Kind; 6] = [Kind::Panel, Kind::Box, Kind::Cylinder, Kind::Ellipsoid, Kind::Cap, Kind::Sheet];

impl Solids {
    pub(super) fn counts(&self) -> [usize; 6] {
        [
            self.panels.len(),
            self.boxes.len(),
            self.cylinders.len(),
            self.ellipsoids.len(),
            self.caps.len(),
            self.sheets.len(),
        ]
    }

    /// What reaches at least `off` in front of a plane and comes within `reach` of a point on it; none where that is too
    /// much to ask one after another, or where nothing is [settled](Self::settle).
    #[must_use]
    pub fn in_front(&self, at: Vec3, normal: Vec3, off: f32, reach: f32) -> Option<Front> {
        let of = self.settled.clone()?;
        let is_front = |thing: &(Kind, u32)| {
            let (low, high) = self.bounds(*thing);
            let foremost = Vec3::select(normal.cmpgt(Vec3::ZERO), high, low);
            (foremost - at).dot(normal) >= off && at.clamp(low, high).distance(at) <= reach
        };
        let all = KINDS.iter().zip(of.counts).flat_map(|(kind, n)| (0..n as u32).map(move |i| (*kind, i)));
        let list: Vec<(Kind, u32)> = all.filter(is_front).take(MOST + 1).collect();
        (list.len() <= MOST).then_some(Front { of, list })
    }

    /// One bit for each of eight lines that something in front, or something that came after settling, stands in; none
    /// where the front is of other solids.
    #[must_use]
    pub fn eight_blocked_in_front(&self, front: &Front, ray: &Eight, skip: OwnerIx) -> Option<u32> {
        if !self.settled.as_ref().is_some_and(|own| Arc::ptr_eq(own, &front.of)) {
            return None;
        }
        let later = KINDS
            .iter()
            .zip(front.of.counts.iter().zip(self.counts()))
            .flat_map(|(kind, (from, to))| (*from as u32..to as u32).map(move |i| (*kind, i)));
        let mut blocked = 0;
        for (kind, i) in front.list.iter().copied().chain(later) {
            blocked |= self.eight_stopped(ray, kind, i as usize, skip);
            if blocked == 0xff {
                break;
            }
        }
        Some(blocked)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Owner;
    use glam::DVec2;
    use proptest::prelude::*;

    proptest! {
        /// Lines that begin at the plane meet what the whole says they meet.
        #[test]
        fn the_front_says_what_all_say(
            places in prop::collection::vec(prop::array::uniform3(-6.0..6.0f64), 1..12),
            ends in prop::array::uniform24(-9.0..9.0f32),
            turn in 0.0..6.0f64,
        ) {
            let mut s = Solids::default();
            let wall = s.owner(Owner::Wall);
            for [x, y, z] in &places {
                let axis = DVec2::from_angle(turn + x);
                s.add_box(DVec2::new(*x, *y), axis, [0.7, 1.9], [z - 0.5, z + 0.8], wall);
                s.add_panel(DVec2::new(*y, *z), DVec2::new(*x, *z), [x - 1.0, x + 1.0], wall);
            }
            s.settle();
            let normal = DVec2::from_angle(turn).extend(0.0).as_vec3();
            let front = s.in_front(Vec3::ZERO, normal, 0.0, 50.0).unwrap();
            // Somebody came later.
            s.add_cylinder(DVec2::from_angle(turn) * 2.0, DVec2::X, [0.3, 0.2], [-1.0, 1.0], wall);
            let to: [Vec3; 8] = std::array::from_fn(|k| {
                let end = Vec3::new(ends[3 * k], ends[3 * k + 1], ends[3 * k + 2]);
                end - normal * (end.dot(normal) - end.dot(normal).abs())
            });
            let bits = s.eight_blocked_in_front(&front, &Eight::to_points(Vec3::ZERO, to), OwnerIx::NONE).unwrap();
            for (k, end) in to.iter().enumerate() {
                prop_assert_eq!(bits >> k & 1 == 1, s.blocked(Vec3::ZERO, *end, OwnerIx::NONE));
            }
            prop_assert_eq!(s.within(DVec2::splat(-9.0), DVec2::splat(9.0)).eight_blocked_in_front(&front, &Eight::to_points(Vec3::ZERO, to), OwnerIx::NONE), None);
        }
    }
}
