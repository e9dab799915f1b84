//! Plane and space geometry without policy: shapes in, numbers out.

mod area;
mod eights;
mod few;
mod front;
mod lanes;
mod masonry;
mod outlines;
mod plane;
mod ray;
mod shapes;
mod solids;
mod sweep;
mod tree;
mod walls;

pub(crate) use area::Area;
pub use eights::{Eight, EightHits};
pub use few::Few;
pub use front::Front;
pub use masonry::masonry;
pub(crate) use plane::cut_by;
pub use plane::{
    bearing_deg, bearing_dir, closest_on_segment, direction3, distance_to_outline, normalize_deg, point_in_polygon,
    point_segment_distance, polygon_self_crossing, rotate_bearing, segment_crossing, signed_area,
};
pub(crate) use ray::unit_roots;
pub use shapes::{BoxSolid, Cap, Cylinder, Ellipsoid, Panel, Sheet};
pub use solids::{Hit, Owner, OwnerIx, Solids};
pub use sweep::{strip_clearance_m, visible_region};
pub use walls::{Behind, Leaf, Lintel, Looks, OpeningPlace, WallPart, WallPiece, Walls, opening_ends, room_edges};
