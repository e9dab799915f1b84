//! The laws of `tests/src/laws`, one test each. A few dozen plans in an ordinary run; `TAPEMARK_PLANS` and
//! `TAPEMARK_SEED` ask about others. A plan that breaks a law is made as small as it can be and kept; its path is in
//! the message (`TAPEMARK_SPECIMENS=write` keeps it among the specimens).

use tapemark_acceptance::laws::{all, law};

macro_rules! laws {
    ($($test:ident = $name:literal),+ $(,)?) => {
        $(#[test]
        fn $test() {
            law($name).holds();
        })+
        /// What is tested here.
        const TESTED: &[&str] = &[$($name),+];
    };
}

laws! {
    asked_twice = "asked-twice",
    written_and_read = "written-and-read",
    reordered = "reordered",
    shots_reversed = "shots-reversed",
    renamed = "renamed",
    outlines_rolled = "outlines-rolled",
    outlines_reversed = "outlines-reversed",
    kit_reordered = "kit-reordered",
    moved = "moved",
    turned_90 = "turned-90",
    turned_33 = "turned-33",
    mirrored = "mirrored",
    in_feet = "in-feet",
    corner_inserted = "corner-inserted",
    cloth_told_otherwise = "cloth-told-otherwise",
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
fn every_law_has_its_test() {
    let names: Vec<&str> = all().iter().map(|l| l.name).collect();
    assert_eq!(names, TESTED);
}
