//! The laws of `tests/src/laws`, one test each. A few dozen plans in an ordinary run; `TAPEMARK_PLANS` and
//! `TAPEMARK_SEED` ask about others. A plan that breaks a law is made as small as it can be and kept; its path is in
//! the message (`TAPEMARK_SPECIMENS=write` keeps it among the specimens).

use tapemark_acceptance::laws::{all, law};

macro_rules! laws {
    ($list:ident, $($test:ident = $name:literal),+ $(,)?) => {
        $(#[test]
        fn $test() {
            law($name).holds();
        })+
        const $list: &[&str] = &[$($name),+];
    };
}

laws! {
    KEPT,
    asked_twice = "asked-twice",
    written_and_read = "written-and-read",
    shots_reversed = "shots-reversed",
    renamed = "renamed",
    moved = "moved",
    turned_90 = "turned-90",
    in_feet = "in-feet",
    lamp_split = "lamp-split",
    superposition = "superposition",
    black_cloth = "black-cloth",
    map_and_meter = "map-and-meter",
    thing_added = "thing-added",
    cloth_hung = "cloth-hung",
    map_place = "map-place",
    undone = "undone",
}

#[test]
fn every_law_tested_is_one() {
    assert!(KEPT.iter().all(|name| all().iter().any(|l| l.name == *name)));
}
