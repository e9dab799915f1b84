//! Rooms that share all, part or none of a wall: each side belongs to its own room, in whatever order they stand.

use glam::DVec3;
use tapemark_acceptance::flat;
use tapemark_core::geometry::OwnerIx;
use tapemark_core::light::{FINE_PATCH_M, Transport};
use tapemark_core::plan::{Plan, from_json};
use tapemark_core::scene::Scene;

const TOUCHING: &str = include_str!("../specimens/hall-beside-room.tapemark.json");
const THICK: &str = include_str!("../specimens/hall-and-thick-wall.tapemark.json");

fn lit(plan: &Plan, at: DVec3, toward: DVec3) -> f64 {
    let scene = Scene::of(plan, &plan.shots[0], 0.0);
    let light = Transport::of(plan, plan.rigs.first(), &scene, FINE_PATCH_M, None);
    light.parts(&scene, &flat(at, toward), OwnerIx::NONE).iter().map(|(d, b)| d.y + b.y).sum()
}

/// Receivers in the hall, in the room before both ends of the arch, and in the arch.
const RECEIVERS: [([f64; 3], DVec3); 5] = [
    ([0.7, 1.0, 1.5], DVec3::NEG_X),
    ([0.3, 3.3, 1.2], DVec3::X),
    ([2.6, 3.4, 1.5], DVec3::NEG_X),
    ([4.2, 2.2, 0.8], DVec3::Z),
    ([1.46, 3.4, 1.0], DVec3::Y),
];

/// The same bits whichever room is listed first, and wherever its outline begins.
#[test]
fn the_order_of_rooms_changes_nothing() {
    for text in [TOUCHING, THICK] {
        let plan = from_json(text.as_bytes()).unwrap();
        let mut other = plan.clone();
        other.location.rooms.reverse();
        for (at, toward) in RECEIVERS {
            let (a, b) = (lit(&plan, at.into(), toward), lit(&other, at.into(), toward));
            assert!(a > 1.0 && a.to_bits() == b.to_bits(), "{at:?}: {a} and {b}");
        }
    }
}

/// An opening carried by either room of a wall is the same opening.
#[test]
fn the_side_an_opening_is_drawn_from_changes_nothing() {
    for text in [TOUCHING, THICK] {
        let plan = from_json(text.as_bytes()).unwrap();
        let mut other = plan.clone();
        // The arch is 0.9 m from the room's upper corner, 4.9 m up the plan: 2.9 to 4.0 m along the hall's side.
        let arch = &mut other.location.openings[0];
        (arch.room, arch.edge, arch.offset_m) = ("hall".into(), 1, 2.9);
        for (at, toward) in RECEIVERS {
            let (a, b) = (lit(&plan, at.into(), toward), lit(&other, at.into(), toward));
            // Reveals take the finish of the room that carries the opening: 0.6 for 0.7.
            assert!((a / b - 1.0).abs() < 0.02, "{at:?}: {a} and {b}");
        }
    }
}

/// A wall of 12 cm instead of none lets less through the arch from aside, and never more light than 1.02 times.
#[test]
fn a_wall_with_a_thickness_shades_its_opening() {
    let (thin, thick) = (from_json(TOUCHING.as_bytes()).unwrap(), from_json(THICK.as_bytes()).unwrap());
    // Far aside in the room, lit through the arch by the hall's bulb: direct light grazes the jamb.
    let dark = |p: &Plan| {
        let mut p = p.clone();
        p.rigs[0].fixtures.truncate(1);
        p
    };
    let at = DVec3::new(2.0, 4.0, 1.0);
    let (a, b) = (lit(&dark(&thin), at, DVec3::NEG_X), lit(&dark(&thick), at + DVec3::X * 0.12, DVec3::NEG_X));
    assert!(b < a * 1.02 && b > 0.2 * a, "{a} {b}");
}
