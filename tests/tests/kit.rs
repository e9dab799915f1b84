//! What to bring, counted by hand on the demo, and stand-ins against the arithmetic of light.

use tapemark_acceptance::{near, within};
use tapemark_core::kit::*;
use tapemark_core::plan::*;

fn kit(items: Vec<(Thing, f64, Option<f64>, Option<f64>)>) -> KitFile {
    KitFile {
        items: items
            .into_iter()
            .map(|(thing, count, rent_price, buy_price)| KitItem {
                thing,
                count,
                rent_price,
                buy_price,
                weight_kg: None,
                volume_l: None,
            })
            .collect(),
        ..KitFile::default()
    }
}

/// The demo's workshop: a soft box and an open-face on stands, a practical; the corridor: a panel on a clamp. Rigs are
/// struck between, so two stands do. A 0.9 m soft box front is joined from four sheets of 0.61 × 0.53 m.
#[test]
fn the_demo_by_hand() {
    let list = kit_list(&tapemark::files::demo(), &KitFile::default());
    let count = |name: &str| list.lines.iter().find(|l| l.name.contains(name)).map(|l| l.needed);
    assert_eq!(count("soft box"), Some(1.0));
    assert_eq!(count("open-face"), Some(1.0));
    assert_eq!(count("panel"), Some(1.0));
    assert_eq!(count("lamp stand"), Some(2.0));
    assert_eq!(count("lamp clamp"), Some(1.0));
    // One bag a stand, two for the head over 2.2 m.
    assert_eq!(count("sandbag"), Some(3.0));
    assert_eq!(count("half CTO"), Some(4.0));
    assert_eq!(count("half diffusion"), Some(1.0));
    assert_eq!(count("spare lamp 800 W"), Some(1.0));
    assert!(list.lines.iter().all(|l| l.missing == l.needed && l.way == Way::Unpriced));
    let cloth = list.lines.iter().find(|l| l.name.contains("black cloth")).unwrap();
    assert!(cloth.only_if_wanted && cloth.unit == "m");
}

/// One long cable that is owned serves one run, not every shorter one as well; prices are sums of what is missing, each
/// by its cheaper way.
#[test]
fn nothing_is_counted_twice() {
    let plan = tapemark::files::demo();
    let cable = |length_m| Thing::Cable { length_m, conductor_mm2: 1.5 };
    let list = kit_list(
        &plan,
        &kit(vec![
            (cable(50.0), 1.0, None, None),
            (Thing::Sandbag, 1.0, Some(2.0), Some(14.0)),
            (Thing::Tape, 0.0, None, Some(9.0)),
            (Thing::Stand, 5.0, None, None),
        ]),
    );
    let owned: f64 = list.lines.iter().filter(|l| matches!(l.thing, Thing::Cable { .. })).map(|l| l.owned).sum();
    assert_eq!(owned, 1.0);
    let sandbags = list.lines.iter().find(|l| l.thing == Thing::Sandbag).unwrap();
    assert_eq!((sandbags.missing, sandbags.way, sandbags.cost), (2.0, Way::Rent, Some(4.0)));
    let stands = list.lines.iter().find(|l| l.thing == Thing::Stand).unwrap();
    assert_eq!((stands.owned, stands.missing), (2.0, 0.0));
    assert_eq!((list.rent_cost, list.buy_cost), (4.0, 9.0));
    let weight: f64 = list.lines.iter().filter(|l| !l.only_if_wanted).map(|l| l.weight_kg).sum();
    near(list.weight_kg, weight, 1e-12);
    // Three stands of 3 kg … the list's own nominal weights; copper is 8.96 g/cm³ (physical constant).
    let ten_m = cable(10.0).usual_weight_kg();
    assert!(ten_m > 10.0 * 3.0 * 1.5e-6 * 8960.0 && ten_m < 4.0, "{ten_m}");
}

/// The same head with half the watts gives a stop less and strays as much (arithmetic); a work light without leaves
/// strays more than with foil.
#[test]
fn stand_ins_by_arithmetic() {
    let plan = tapemark::files::demo();
    let lamp = |class, watts| Thing::Lamp { class, lamp: LampType::Tungsten, watts };
    let list = kit_list(
        &plan,
        &kit(vec![
            (lamp(HeadClass::OpenFace, 400.0), 1.0, None, None),
            (lamp(HeadClass::WorkLight, 500.0), 2.0, None, None),
        ]),
    );
    let of = |name: &str, foil: Foil| {
        list.stand_ins.iter().find(|s| s.missing.contains("800 W") && s.by.contains(name) && s.foil == foil).unwrap()
    };
    let half = of("400 W open-face", Foil::None);
    within(half.loss_stops, 1.0, 1e-6);
    within(half.spill_share, half.spill_share_before, 1e-9);
    within(half.wall_stops.unwrap(), 0.0, 1e-6);
    // The demo's back lamp burns at half behind three stops of scrim: four stops in hand.
    within(half.in_hand_stops, 4.0, 1e-6);
    let (bare, leaves) = (of("work light", Foil::None), of("work light", Foil::Leaves));
    assert!(bare.spill_share > leaves.spill_share && leaves.spill_share > leaves.spill_share_before);
    assert!(bare.loss_stops > 0.5, "less light from a wider, weaker lamp: {}", bare.loss_stops);
    within(bare.loss_stops, leaves.loss_stops, 1e-6);
}

#[test]
fn a_broken_kit_file_is_refused_with_place_and_remedy() {
    for text in [
        "{}",
        r#"{"format":"tapemark-plan","version":1}"#,
        r#"{"format":"tapemark-kit","version":9}"#,
        r#"{"format":"tapemark-kit","version":1,"items":[{"thing":"stand","count":-1}]}"#,
        r#"{"format":"tapemark-kit","version":1,"items":[{"thing":"stand","count":1e300}]}"#,
        r#"{"format":"tapemark-kit","version":1,"items":[{"thing":"unicorn"}]}"#,
    ] {
        let e = kit_from_json(text.as_bytes()).unwrap_err();
        assert!(!e.remedy.is_empty() && !e.what.is_empty(), "{text}");
    }
    let kit = kit(vec![(Thing::Gel { name: "half CTO".into() }, 2.0, None, Some(7.5))]);
    assert_eq!(kit_from_json(kit_to_json(&kit).as_bytes()).unwrap(), kit);
    let schema = kit_schema();
    let value: serde_json::Value = serde_json::from_str(&kit_to_json(&kit)).unwrap();
    assert!(jsonschema::validator_for(&schema).unwrap().is_valid(&value));
}
