//! The generator of plausible plans: the same every time, valid, and with everything in them that the format has.

use tapemark_acceptance::plausible::{plausible, small};
use tapemark_core::plan::{
    Gel, HeadClass, OpeningKind, PieceKind, PieceShape, Plan, Pose, Spectrum, from_json, to_json, validate,
};
use tapemark_core::units::LengthUnit;

const SEEDS: std::ops::Range<u64> = 0..400;

#[test]
fn a_seed_is_a_plan() {
    for seed in SEEDS {
        let plan = plausible(seed);
        assert_eq!(plan, plausible(seed), "seed {seed}");
        assert!(validate(&plan).is_empty(), "seed {seed}");
        assert!(validate(&small(seed)).is_empty(), "small, seed {seed}");
        assert_eq!(from_json(to_json(&plan).as_bytes()).as_ref(), Ok(&plan), "seed {seed}");
        assert!(!plan.shots.is_empty() && !plan.rigs.is_empty(), "seed {seed}");
    }
}

/// Counts plans that have something, and asks for at least one in a hundred.
fn some(what: &str, plans: &[Plan], has: impl Fn(&Plan) -> bool) {
    let n = plans.iter().filter(|p| has(p)).count();
    assert!(n * 100 >= plans.len(), "{what}: {n} of {}", plans.len());
}

#[test]
fn everything_the_format_has_is_in_some() {
    let plans: Vec<Plan> = SEEDS.map(plausible).collect();
    let lamps = |p: &Plan| p.rigs.iter().flat_map(|r| r.fixtures.clone()).collect::<Vec<_>>();
    for n in 0..=5 {
        some(&format!("{n} rooms"), &plans, |p| p.location.rooms.len() == n);
    }
    for class in HeadClass::ALL {
        some(class.label(), &plans, |p| lamps(p).iter().any(|f| f.head.class() == class));
    }
    for kind in PieceKind::ALL {
        some(kind.label(), &plans, |p| p.location.pieces.iter().any(|x| x.kind == kind));
    }
    for pose in [Pose::Standing, Pose::Seated, Pose::Kneeling] {
        some(&format!("{pose:?}"), &plans, |p| p.shots.iter().any(|s| s.marks.iter().any(|m| m.pose == pose)));
    }
    for name in Gel::COLOURS.into_iter().chain(Gel::CORRECTIONS.map(|c| c.0)) {
        some(name, &plans, |p| lamps(p).iter().any(|f| f.gels.iter().any(|g| g.name() == name)));
    }
    for name in ["quarter diffusion", "half diffusion", "full diffusion"] {
        some(name, &plans, |p| lamps(p).iter().any(|f| f.diffusion.as_ref().is_some_and(|d| d.name == name)));
    }
    let shape = |what: &str, is: fn(&PieceShape) -> bool| {
        some(what, &plans, |p| p.location.pieces.iter().any(|x| is(&x.shape)));
    };
    shape("round", |s| matches!(s, PieceShape::Round { .. }));
    shape("outline", |s| matches!(s, PieceShape::Outline { .. }));
    shape("sheet", |s| matches!(s, PieceShape::Sheet { .. }));
    shape("leaning", |s| matches!(s, PieceShape::Sheet { lean_m, .. } if *lean_m != 0.0));
    let opening = |what: &str, is: fn(&OpeningKind) -> bool| {
        some(what, &plans, |p| p.location.openings.iter().any(|x| is(&x.kind)));
    };
    opening("window", |k| matches!(k, OpeningKind::Window { .. }));
    opening("passage", |k| matches!(k, OpeningKind::Passage));
    opening("open door", |k| matches!(k, OpeningKind::Door { open_deg, .. } if *open_deg > 0.0));
    some("measured spectrum", &plans, |p| lamps(p).iter().any(|f| matches!(f.spectrum, Spectrum::Measured(_))));
    some("CIE spectrum", &plans, |p| lamps(p).iter().any(|f| matches!(f.spectrum, Spectrum::Cie { .. })));
    some("candelas", &plans, |p| lamps(p).iter().any(|f| f.candela.is_some()));
    some("barn doors", &plans, |p| lamps(p).iter().any(|f| f.barn_doors.is_some()));
    some("camera move", &plans, |p| p.cameras.iter().any(|c| !c.marks.is_empty()));
    some("roll", &plans, |p| p.cameras.iter().any(|c| c.roll_deg != 0.0));
    some("walk", &plans, |p| p.shots.iter().any(|s| s.marks.len() > p.cast.len()));
    some("own lamp", &plans, |p| p.shots.iter().any(|s| !s.lamps.is_empty()));
    some("cut", &plans, |p| p.shots.iter().any(|s| !s.cuts_with.is_empty()));
    some("day", &plans, |p| p.daylight.is_some() && p.location.latitude_deg.is_some());
    some("night", &plans, |p| p.daylight.is_none());
    some("feet", &plans, |p| p.length_unit == LengthUnit::FeetInches);
    some("outlets", &plans, |p| !p.location.outlets.is_empty());
    let written_in = |what: &str, low: char, high: char| {
        some(what, &plans, |p| to_json(p).chars().any(|c| (low..=high).contains(&c)));
    };
    written_in("Greek", 'α', 'ω');
    written_in("Cyrillic", 'а', 'я');
    written_in("Han", '一', '鿿');
}
