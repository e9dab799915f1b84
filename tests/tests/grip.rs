//! Flags, drapes and boards: told, listed, drawn and taped as they are to be set up.

use tapemark::files::demo;
use tapemark_acceptance::within;
use tapemark_core::facts::shot_facts;
use tapemark_core::kit::KitFile;
use tapemark_core::plan::{Fixture, Piece, PieceKind, PieceShape, Plan};
use tapemark_core::progress::Progress;
use tapemark_sheet::{Page, Paper, SheetSpec, compose, day_pages, lists, to_svg};

/// A board of one metre, 1.5 m up in its middle, tilted 30° up, in the workshop 1.2 m and 0.9 m from its walls.
fn plan_with_a_board() -> Plan {
    let mut plan = demo();
    let mut board = Piece::board("board", [1.2, 0.9], 40.0);
    (board.name, board.base_m, board.top_m) = ("poly board".into(), 1.0, 2.0);
    board.set_tilt_deg(30.0);
    plan.location.pieces.push(board);
    plan
}

fn words(page: &Page) -> String {
    let svg = to_svg(page);
    let tree = roxmltree::Document::parse(&svg).unwrap();
    tree.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect::<Vec<_>>().join("\n")
}

/// cos 30° = 0.8660 in a table of cosines: a metre tilted by 30° reaches 0.866 m up.
#[test]
fn a_tilted_board_is_told_as_it_is_set_up() {
    let plan = plan_with_a_board();
    let facts = shot_facts(&plan, &plan.shots[0], 0.0);
    let [board] = &facts.grip[..] else { panic!("{:?}", facts.grip) };
    within(board.tilt_deg.unwrap(), 30.0, 1e-9);
    within(board.length_m, 1.0, 1e-9);
    within(board.heights_m[0], 1.5 - 0.4330, 1e-4);
    within(board.heights_m[1], 1.5 + 0.4330, 1e-4);
    let tape: Vec<f64> = board.tape.iter().map(|t| t.distance_m).collect();
    within(tape[0], 0.9, 1e-9);
    within(tape[1], 1.2, 1e-9);
}

#[test]
fn it_is_on_the_sheet_in_the_lists_and_on_the_rigs_page() {
    let plan = plan_with_a_board();
    let sheet = words(&compose(&plan, &plan.shots[0], &SheetSpec::default()));
    assert!(sheet.contains("1.07 m to 1.93 m up, faces 40°, tilt 30°; 0.90 m from A, 1.20 m from D"), "{sheet}");
    let list = lists(&plan, &KitFile::default()).into_iter().find(|l| l.name == "grip").unwrap().csv();
    assert!(
        list.contains("poly board,bounce board,Workshop,1.000,1.000,1.067,1.933,40,30,1.200,0.900,0.900,A,1.200,D"),
        "{list}"
    );
    let pages = day_pages(&plan, &KitFile::default(), &SheetSpec::default(), &|_| None, &Progress::default()).unwrap();
    let rig = pages.iter().map(words).find(|w| w.contains("Edge to edge")).unwrap();
    assert!(rig.contains("poly board"), "{rig}");
}

/// What stands in another room than the shot's is not on its sheet; furniture never is.
#[test]
fn only_the_grip_of_the_shots_own_rooms() {
    let mut plan = plan_with_a_board();
    plan.location.rooms.push(tapemark_core::plan::Room::new(
        "shed",
        "Shed",
        vec![[20.0, 0.0], [24.0, 0.0], [24.0, 3.0], [20.0, 3.0]],
    ));
    let mut flag = Piece::new("flag", "flag", [22.0, 1.5], [0.6, 0.02], 1.8);
    flag.kind = PieceKind::Flag;
    plan.location.pieces.push(flag);
    let names =
        |plan: &Plan| shot_facts(plan, &plan.shots[0], 0.0).grip.into_iter().map(|g| g.name).collect::<Vec<_>>();
    assert_eq!(names(&plan), ["poly board"]);
    plan.location.pieces.last_mut().unwrap().position_m = [3.0, 1.0];
    assert_eq!(names(&plan), ["poly board", "flag"]);
}

/// A rig's list goes on to another page when its own is full: no lamp is left out.
#[test]
fn every_lamp_of_a_large_rig_is_on_paper() {
    let mut plan = demo();
    let one = plan.rigs[0].fixtures[0].clone();
    for i in 0..70 {
        let name = format!("spare {i}");
        plan.rigs[0].fixtures.push(Fixture { id: name.as_str().into(), name, on: false, ..one.clone() });
    }
    let spec = SheetSpec { paper: Paper::A4, ..SheetSpec::default() };
    let pages = day_pages(&plan, &KitFile::default(), &spec, &|_| None, &Progress::default()).unwrap();
    let rig: String = pages.iter().map(words).filter(|w| w.contains("Lamps") && !w.contains("Notices")).collect();
    for i in 0..70 {
        assert!(rig.contains(&format!("spare {i}\n")), "{i}");
    }
}

/// Prices with a currency and without: no stray space.
#[test]
fn a_price_with_and_without_a_currency() {
    let mut kit = tapemark_core::kit::kit_list(&demo(), &KitFile::default());
    assert_eq!(kit.price(12.5), "12.50");
    kit.currency = "EUR".into();
    assert_eq!(kit.price(12.5), "12.50 EUR");
}

/// A flag of any outline is as wide as its corners lie apart across its front (by subtraction).
#[test]
fn a_flag_of_any_outline() {
    let mut plan = plan_with_a_board();
    let flag = plan.location.pieces.last_mut().unwrap();
    flag.kind = PieceKind::Flag;
    flag.shape = PieceShape::Outline { points_m: vec![[-0.3, -0.1], [0.5, -0.1], [0.1, 0.4]] };
    let facts = shot_facts(&plan, &plan.shots[0], 0.0);
    within(facts.grip[0].width_m, 0.8, 1e-12);
    assert_eq!(facts.grip[0].tilt_deg, None);
}
