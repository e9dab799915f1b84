//! Areas in a plane, joined and cut on a grid of a hundredth of a millimetre: on whole numbers nothing that
//! nearly touches can go wrong.

use crate::geometry::signed_area;
use glam::DVec2;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use i_overlay::i_shape::int::shape::IntShapes;

/// Grid lines a metre.
const PER_M: f64 = 1e5;
/// The grid reaches this far, metres: past the largest room there may be.
const FURTHEST_M: f64 = 20_000.0;
/// So many areas are joined at a time.
const AT_A_TIME: usize = 4;

/// An area of any number of parts with holes. Never overlaps itself.
#[derive(Debug, Clone, Default)]
pub(crate) struct Area(IntShapes<i32>);

fn on_grid(p: DVec2) -> IntPoint<i32> {
    let v = (p.clamp(DVec2::splat(-FURTHEST_M), DVec2::splat(FURTHEST_M)) * PER_M).round();
    IntPoint::new(v.x as i32, v.y as i32)
}

fn off_grid(p: &IntPoint<i32>) -> DVec2 {
    DVec2::new(f64::from(p.x), f64::from(p.y)) / PER_M
}

/// A ring on the grid, counter-clockwise; none when nothing is left of it there.
fn contour(ring: &[DVec2]) -> Option<Vec<IntPoint<i32>>> {
    let mut out: Vec<IntPoint<i32>> = ring.iter().copied().map(on_grid).collect();
    out.dedup();
    let round: Vec<DVec2> = out.iter().map(off_grid).collect();
    let area = signed_area(&round);
    if area < 0.0 {
        out.reverse();
    }
    (out.len() >= 3 && area != 0.0).then_some(out)
}

impl Area {
    /// What any of some simple rings covers.
    pub fn of(rings: impl IntoIterator<Item = Vec<DVec2>>) -> Area {
        let mut overlay = Overlay::new(16);
        rings.into_iter().filter_map(|r| contour(&r)).for_each(|c| overlay.add_contour(&c, ShapeType::Subject));
        Area(overlay.overlay(OverlayRule::Subject, FillRule::NonZero))
    }

    /// What any of some areas covers.
    pub fn joined(areas: impl Iterator<Item = Area>) -> Area {
        let join = |list: &[Area]| {
            let mut overlay = Overlay::new(64 * list.len());
            list.iter().for_each(|a| overlay.add_source(&a.0, ShapeType::Subject));
            Area(overlay.overlay(OverlayRule::Subject, FillRule::NonZero))
        };
        // Neighbours first, and what comes of them again: an outline goes through few joins.
        let mut list: Vec<Area> = areas.collect();
        while list.len() > 1 {
            list = list.chunks(AT_A_TIME).map(join).collect();
        }
        list.pop().unwrap_or_default()
    }

    /// The part inside a ring.
    pub fn within(&self, ring: &[DVec2]) -> Area {
        let Some(clip) = contour(ring) else { return Area::default() };
        let mut overlay = Overlay::new(64);
        overlay.add_source(&self.0, ShapeType::Subject);
        overlay.add_contour(&clip, ShapeType::Clip);
        Area(overlay.overlay(OverlayRule::Intersect, FillRule::NonZero))
    }

    /// What is left outside some rings.
    pub fn without(self, rings: &[Vec<DVec2>]) -> Area {
        if rings.is_empty() || self.is_empty() {
            return self;
        }
        let mut overlay = Overlay::new(64);
        overlay.add_source(&self.0, ShapeType::Subject);
        rings.iter().filter_map(|r| contour(r)).for_each(|c| overlay.add_contour(&c, ShapeType::Clip));
        Area(overlay.overlay(OverlayRule::Difference, FillRule::NonZero))
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Its size, m².
    pub fn area_m2(&self) -> f64 {
        self.parts().map(|(m2, _)| m2).sum()
    }

    /// Low and high corner of the box round all of it; none when empty.
    pub fn bounds(&self) -> Option<[DVec2; 2]> {
        let boxes = self.parts().map(|(_, b)| b);
        boxes.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])])
    }

    /// Size in m² and box of each part.
    pub fn parts(&self) -> impl Iterator<Item = (f64, [DVec2; 2])> + '_ {
        self.0.iter().map(|shape| {
            let rings: Vec<Vec<DVec2>> = shape.iter().map(|c| c.iter().map(off_grid).collect()).collect();
            let size = |r: &Vec<DVec2>| signed_area(r).abs();
            let holes: f64 = rings.iter().skip(1).map(size).sum();
            let outer = rings.first();
            let low = outer.into_iter().flatten().copied().fold(DVec2::INFINITY, DVec2::min);
            let high = outer.into_iter().flatten().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
            (outer.map_or(0.0, size) - holes, [low, high])
        })
    }

    /// Outer rings, metres.
    pub fn outlines(&self) -> impl Iterator<Item = Vec<DVec2>> + '_ {
        self.0.iter().filter_map(|shape| shape.first()).map(|c| c.iter().map(off_grid).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, side: f64) -> Vec<DVec2> {
        vec![DVec2::new(x, x), DVec2::new(x + side, x), DVec2::new(x + side, x + side), DVec2::new(x, x + side)]
    }

    #[test]
    fn a_hole_is_not_covered() {
        let ring = Area::of([square(0.0, 4.0)]).without(&[square(1.0, 2.0)]);
        assert!((ring.area_m2() - 12.0).abs() < 1e-9);
        // Joined with what fills a corner of the hole.
        let more = Area::joined([ring.clone(), Area::of([square(1.0, 1.0)])].into_iter());
        assert!((more.area_m2() - 13.0).abs() < 1e-9);
        assert!((ring.within(&square(0.0, 2.0)).area_m2() - 3.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_comes_of_slivers_and_of_nothing() {
        let flat = vec![DVec2::ZERO, DVec2::X, DVec2::new(0.5, 1e-7)];
        assert!(Area::of([flat.clone()]).is_empty());
        assert!(Area::joined(std::iter::empty()).is_empty());
        assert_eq!(Area::of([square(0.0, 1.0)]).without(&[flat]).area_m2(), 1.0);
        assert!(Area::default().bounds().is_none());
    }
}
