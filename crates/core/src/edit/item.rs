//! Items of a plan, by value and by reference.

use crate::plan::{
    Camera, CameraId, Circuit, CircuitId, Fixture, FixtureId, Mark, MarkId, Opening, OpeningId, Outlet, OutletId,
    Person, PersonId, Piece, PieceId, Plan, Rig, RigId, Room, RoomId, Shot, ShotId,
};
use crate::scene::footprint;
use glam::DVec2;
use serde::{Deserialize, Serialize};
use tapemark_words::say;

/// An item by value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "item")]
pub enum Item {
    /// A room.
    Room(Room),
    /// An opening.
    Opening(Opening),
    /// A piece.
    Piece(Piece),
    /// A circuit.
    Circuit(Circuit),
    /// An outlet.
    Outlet(Outlet),
    /// A person.
    Person(Person),
    /// A camera.
    Camera(Camera),
    /// A rig.
    Rig(Rig),
    /// A fixture, with its rig.
    Fixture {
        /// The rig.
        rig: RigId,
        /// The fixture.
        fixture: Fixture,
    },
    /// A shot.
    Shot(Shot),
    /// A mark, with its shot.
    Mark {
        /// The shot.
        shot: ShotId,
        /// The mark.
        mark: Mark,
    },
}

/// An item by id.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ItemRef {
    /// A room.
    Room(RoomId),
    /// An opening.
    Opening(OpeningId),
    /// A piece.
    Piece(PieceId),
    /// A circuit.
    Circuit(CircuitId),
    /// An outlet.
    Outlet(OutletId),
    /// A person.
    Person(PersonId),
    /// A camera.
    Camera(CameraId),
    /// A rig.
    Rig(RigId),
    /// A fixture.
    Fixture(FixtureId),
    /// A shot.
    Shot(ShotId),
    /// A mark.
    Mark(MarkId),
}

impl Item {
    /// Its reference.
    #[must_use]
    pub fn reference(&self) -> ItemRef {
        match self {
            Item::Room(x) => ItemRef::Room(x.id.clone()),
            Item::Opening(x) => ItemRef::Opening(x.id.clone()),
            Item::Piece(x) => ItemRef::Piece(x.id.clone()),
            Item::Circuit(x) => ItemRef::Circuit(x.id.clone()),
            Item::Outlet(x) => ItemRef::Outlet(x.id.clone()),
            Item::Person(x) => ItemRef::Person(x.id.clone()),
            Item::Camera(x) => ItemRef::Camera(x.id.clone()),
            Item::Rig(x) => ItemRef::Rig(x.id.clone()),
            Item::Fixture { fixture, .. } => ItemRef::Fixture(fixture.id.clone()),
            Item::Shot(x) => ItemRef::Shot(x.id.clone()),
            Item::Mark { mark, .. } => ItemRef::Mark(mark.id.clone()),
        }
    }
}

impl ItemRef {
    /// The kind in words.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            ItemRef::Room(_) => say!("room"),
            ItemRef::Opening(_) => say!("opening"),
            ItemRef::Piece(_) => say!("piece"),
            ItemRef::Circuit(_) => say!("circuit"),
            ItemRef::Outlet(_) => say!("outlet"),
            ItemRef::Person(_) => say!("person"),
            ItemRef::Camera(_) => say!("camera"),
            ItemRef::Rig(_) => say!("rig"),
            ItemRef::Fixture(_) => say!("lamp"),
            ItemRef::Shot(_) => say!("shot"),
            ItemRef::Mark(_) => say!("mark"),
        }
    }
    /// The id as text.
    #[must_use]
    pub fn id(&self) -> &str {
        match self {
            ItemRef::Room(x) => x.as_str(),
            ItemRef::Opening(x) => x.as_str(),
            ItemRef::Piece(x) => x.as_str(),
            ItemRef::Circuit(x) => x.as_str(),
            ItemRef::Outlet(x) => x.as_str(),
            ItemRef::Person(x) => x.as_str(),
            ItemRef::Camera(x) => x.as_str(),
            ItemRef::Rig(x) => x.as_str(),
            ItemRef::Fixture(x) => x.as_str(),
            ItemRef::Shot(x) => x.as_str(),
            ItemRef::Mark(x) => x.as_str(),
        }
    }

    /// The item's value; none when the plan no longer has it.
    #[must_use]
    pub fn get(&self, plan: &Plan) -> Option<Item> {
        let l = &plan.location;
        Some(match self {
            ItemRef::Room(id) => Item::Room(l.rooms.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Opening(id) => Item::Opening(l.openings.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Piece(id) => Item::Piece(l.pieces.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Circuit(id) => Item::Circuit(l.circuits.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Outlet(id) => Item::Outlet(l.outlets.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Person(id) => Item::Person(plan.cast.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Camera(id) => Item::Camera(plan.cameras.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Rig(id) => Item::Rig(plan.rigs.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Fixture(id) => {
                let of_rigs = plan.rigs.iter().flat_map(|r| r.fixtures.iter().map(|f| (&r.id, f)));
                let own = plan.shots.iter().flat_map(|s| s.lamps.iter().map(|l| (&s.rig, &l.fixture)));
                let (rig, fixture) = of_rigs.chain(own).find(|(_, f)| &f.id == id)?;
                Item::Fixture { rig: rig.clone(), fixture: fixture.clone() }
            }
            ItemRef::Shot(id) => Item::Shot(plan.shots.iter().find(|x| &x.id == id)?.clone()),
            ItemRef::Mark(id) => plan.shots.iter().find_map(|s| {
                s.marks.iter().find(|m| &m.id == id).map(|m| Item::Mark { shot: s.id.clone(), mark: m.clone() })
            })?,
        })
    }

    /// Its middle on the plan; none for items without a place.
    #[must_use]
    pub fn position(&self, plan: &Plan) -> Option<DVec2> {
        let middle = |points: &[DVec2]| points.iter().sum::<DVec2>() / points.len().max(1) as f64;
        Some(match self.get(plan)? {
            Item::Room(r) => middle(&r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect::<Vec<_>>()),
            Item::Opening(o) => {
                let (a, b, _) = crate::geometry::opening_ends(plan, &o)?;
                (a + b) * 0.5
            }
            Item::Piece(p) => DVec2::from_array(p.position_m),
            Item::Outlet(o) => DVec2::from_array(o.position_m),
            Item::Camera(c) => DVec2::from_array(c.position_m),
            Item::Fixture { fixture, .. } => DVec2::from_array(fixture.position_m),
            Item::Mark { mark, .. } => DVec2::from_array(mark.position_m),
            _ => return None,
        })
    }

    /// Which way it points, degrees; none for items that cannot turn.
    #[must_use]
    pub fn bearing(&self, plan: &Plan) -> Option<f64> {
        Some(match self.get(plan)? {
            Item::Piece(p) => p.rotation_deg,
            Item::Camera(c) => c.pan_deg,
            Item::Fixture { fixture, .. } => fixture.pan_deg,
            Item::Mark { mark, .. } => mark.facing_deg,
            _ => return None,
        })
    }

    /// Outline on the plan, for items that have one.
    #[must_use]
    pub fn outline(&self, plan: &Plan) -> Option<Vec<DVec2>> {
        match self.get(plan)? {
            Item::Room(r) => Some(r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect()),
            Item::Piece(p) => Some(footprint(&p)),
            _ => None,
        }
    }
}
