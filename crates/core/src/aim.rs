//! What a lamp is aimed at, so that it can be set without degrees.

use crate::geometry::{Owner, OwnerIx, direction3};
use crate::light::{Emitter, Shape};
use crate::plan::{Fixture, PersonId, PieceId, Plan};
use crate::scene::Scene;
use crate::taping::{lettered_walls, room_at};
use glam::{DVec2, DVec3};
use serde::Serialize;

/// What a lamp's axis meets.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "at")]
pub enum AimedAt {
    /// Somebody: the axis passes within reach of their middle.
    Person {
        /// Who.
        person: PersonId,
        /// Name.
        name: String,
    },
    /// Something that stands there.
    Thing {
        /// Which.
        piece: PieceId,
        /// Name.
        name: String,
    },
    /// A wall: [`wall_letter`] says which.
    Wall,
    /// A door's leaf.
    Door,
    /// The floor.
    Floor,
    /// The ceiling.
    Ceiling,
    /// Nothing within 30 m.
    Open,
}

/// What a lamp is aimed at, and where.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Aim {
    /// What.
    #[serde(flatten)]
    pub what: AimedAt,
    /// The point on the lamp's axis, metres.
    pub point_m: [f64; 3],
}

/// So far beside the middle of somebody an axis still aims at them, metres.
const BESIDE_M: f64 = 0.4;
/// So far over somebody's head too, metres.
const OVER_M: f64 = 0.25;
/// Nothing further off is aimed at, metres.
const FAR_M: f64 = 30.0;
/// So near a wall's line a point lies on it, metres.
const ON_WALL_M: f64 = 0.02;

/// What a lamp is aimed at in a scene: the first person the axis passes, else the first thing it meets. None for a bare
/// bulb, which has no axis.
#[must_use]
pub fn aim(plan: &Plan, scene: &Scene, f: &Fixture) -> Option<Aim> {
    if matches!(Emitter::of(f).shape, Shape::Point { beam: None, .. }) {
        return None;
    }
    let from = DVec2::from_array(f.position_m).extend(f.height_m);
    let way = direction3(f.pan_deg, f.tilt_deg);
    let hit = scene.solids.first_hit(from.as_vec3(), (from + way * FAR_M).as_vec3(), OwnerIx::NONE);
    let solid_m = hit.map_or(FAR_M, |h| f64::from(h.t) * FAR_M);
    // The floor is under everything, the ceiling over the lamp's room.
    let level = |z: f64| (z - from.z) / way.z;
    let floor_m = if way.z < 0.0 { level(0.0) } else { f64::INFINITY };
    let ceiling_m = match room_at(plan, from.truncate()) {
        Some(room) if way.z > 0.0 && from.z < room.ceiling_m => level(room.ceiling_m),
        _ => f64::INFINITY,
    };
    let person = scene.people.iter().filter_map(|p| {
        let flat = way.truncate();
        let along = (p.position - from.truncate()).dot(flat) / flat.length_squared().max(1e-9);
        let at = from + way * along;
        let near = at.truncate().distance(p.position) <= BESIDE_M && (0.0..=p.crown_m + OVER_M).contains(&at.z);
        (near && along > 0.0 && along <= solid_m.min(floor_m).min(ceiling_m) + BESIDE_M).then_some((along, p))
    });
    let point = |m: f64| (from + way * m).to_array();
    if let Some((m, p)) = person.min_by(|a, b| a.0.total_cmp(&b.0)) {
        let what = AimedAt::Person { person: p.person.clone(), name: p.name.clone() };
        return Some(Aim { what, point_m: point(m) });
    }
    let first_m = solid_m.min(floor_m).min(ceiling_m);
    let what = match hit.filter(|_| solid_m <= first_m).and_then(|h| scene.solids.owner_of(h.owner)) {
        Some(Owner::Piece(id)) => {
            let name = plan.location.pieces.iter().find(|p| &p.id == id).map_or(String::new(), |p| p.name.clone());
            AimedAt::Thing { piece: id.clone(), name }
        }
        Some(Owner::Door(_)) => AimedAt::Door,
        Some(Owner::Person(id)) => {
            let name = plan.person(id).map_or(String::new(), |p| p.name.clone());
            AimedAt::Person { person: id.clone(), name }
        }
        Some(Owner::Wall) => AimedAt::Wall,
        None if floor_m <= first_m => AimedAt::Floor,
        None if ceiling_m <= first_m => AimedAt::Ceiling,
        None => AimedAt::Open,
    };
    Some(Aim { what, point_m: point(first_m) })
}

/// The letter of the wall that a lamp is aimed at; none where it is aimed at something else. Facts do not hold it: letters
/// run with the outline, wherever that begins.
#[must_use]
pub fn wall_letter(plan: &Plan, f: &Fixture, aim: &Aim) -> Option<String> {
    if aim.what != AimedAt::Wall {
        return None;
    }
    let at = DVec3::from_array(aim.point_m).truncate();
    let way = direction3(f.pan_deg, f.tilt_deg).truncate();
    let walls = lettered_walls(plan).into_iter().filter(|w| w.inward.dot(way) < 0.0);
    let nearest = walls.min_by(|a, b| a.distance_m(at).total_cmp(&b.distance_m(at)))?;
    (nearest.distance_m(at) <= ON_WALL_M).then_some(nearest.letter)
}
