//! Ids are text newtypes, so that a room's cannot be passed for a rig's.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

macro_rules! id {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
        #[serde(transparent)]
        pub struct $name(pub String);
        impl $name {
            /// The id as text.
            #[must_use]
            pub fn as_str(&self) -> &str { &self.0 }
        }
        impl From<&str> for $name { fn from(s: &str) -> Self { $name(s.into()) } }
        impl From<String> for $name { fn from(s: String) -> Self { $name(s) } }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { f.write_str(&self.0) }
        }
    )+};
}

id!(
    /// A room.
    RoomId,
    /// A door, window or passage.
    OpeningId,
    /// A piece of furniture or dressing.
    PieceId,
    /// A power circuit.
    CircuitId,
    /// A wall outlet.
    OutletId,
    /// A member of the cast.
    PersonId,
    /// A camera place.
    CameraId,
    /// A lighting state.
    RigId,
    /// A lamp.
    FixtureId,
    /// A shot.
    ShotId,
    /// A person's mark in a shot.
    MarkId,
);
