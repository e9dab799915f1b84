//! Plans and files that nobody means: refused or survived, with a clear word.

use tapemark::editor::Editor;
use tapemark::files;
use tapemark_acceptance::Frames;
use tapemark_core::facts::shot_facts;
use tapemark_core::kit::{KitFile, KitItem, Thing, kit_from_json, kit_to_json};
use tapemark_core::plan::{CameraMark, Fixture, Gel, PieceShape, Pin, Plan, Room, from_json, to_json};
use tapemark_core::scene::Scene;
use tapemark_sheet::{PlanLook, plan_marks};

/// A room on a grid of them.
fn room(n: usize, outline_m: Vec<[f64; 2]>) -> Room {
    let mut room = files::demo().location.rooms[0].clone();
    room.id = format!("room-{n}").as_str().into();
    room.name = format!("Room {n}");
    room.outline_m = outline_m;
    room
}

fn square(n: usize) -> Room {
    let (x, y) = ((n % 50) as f64 * 3.0, (n / 50) as f64 * 3.0);
    room(n, vec![[x, y], [x + 3.0, y], [x + 3.0, y + 3.0], [x, y + 3.0]])
}

fn with_rooms(rooms: Vec<Room>) -> Plan {
    let mut plan = files::demo();
    plan.location.openings.clear();
    plan.location.pieces.clear();
    plan.location.outlets.clear();
    for f in plan.rigs.iter_mut().flat_map(|r| &mut r.fixtures) {
        f.outlet = None;
    }
    plan.location.rooms = rooms;
    plan
}

/// It can be worked out, drawn and shown.
fn survives(plan: &Plan) {
    let read = from_json(to_json(plan).as_bytes()).unwrap();
    let shot = &read.shots[0];
    let facts = shot_facts(&read, shot, 0.0);
    let scene = Scene::of(&read, shot, 0.0);
    assert!(!plan_marks(&read, shot, &scene, &facts, &PlanLook::paper(20.0)).is_empty());
    let mut w = Frames::of(Editor::new(read, None));
    for _ in 0..3 {
        w.frame(Vec::new());
    }
}

/// It is refused with its place and what to do.
fn refused(plan: &Plan, place: &str) {
    let e = from_json(to_json(plan).as_bytes()).unwrap_err();
    assert!(e.place.contains(place), "{e}");
    assert!(e.what.contains("too many") && e.remedy.contains("at most"), "{e}");
}

fn ring(corners: usize, radius_m: f64) -> Vec<[f64; 2]> {
    (0..corners)
        .map(|i| {
            let a = i as f64 / corners as f64 * std::f64::consts::TAU;
            let r = radius_m * if i % 2 == 0 { 1.0 } else { 0.98 };
            [a.cos() * r, a.sin() * r]
        })
        .collect()
}

#[test]
fn ten_thousand_walls_are_refused() {
    refused(&with_rooms((0..2500).map(square).collect()), "location.rooms");
    refused(&with_rooms(vec![room(0, ring(10_000, 400.0))]), "location.rooms");
    refused(&with_rooms(vec![room(0, ring(101, 40.0))]), "location.rooms[0].outline_m");
}

#[test]
fn as_many_rooms_as_may_be() {
    survives(&with_rooms((0..200).map(square).collect()));
}

#[test]
fn as_many_walls_as_may_be() {
    let shift = |n: usize| ring(100, 4.0).into_iter().map(|p| [p[0] + n as f64 * 9.0, p[1]]).collect();
    survives(&with_rooms((0..10).map(|n| room(n, shift(n))).collect()));
}

#[test]
fn a_room_as_large_as_a_town() {
    survives(&with_rooms(vec![room(0, ring(100, 4_000.0))]));
}

/// A slip of the decimal point: 652 m for 6.52 m. Light in so long a room once took minutes to settle.
#[test]
fn a_wall_with_a_slip_of_the_point() {
    let mut plan = files::demo();
    plan.location.rooms[0].outline_m[1][0] = 652.0;
    plan.location.openings.clear();
    survives(&plan);
}

#[test]
fn as_many_pieces_and_lamps_as_may_be() {
    let piece = files::demo().location.pieces[0].clone();
    let mut plan = with_rooms((0..40).map(square).collect());
    plan.location.pieces = (0..2_000)
        .map(|n| {
            let mut p = piece.clone();
            p.id = format!("piece-{n}").as_str().into();
            p.shape = PieceShape::Box { width_m: 0.2, depth_m: 0.2 };
            p.position_m = [f64::from(n % 200) * 0.6 + 0.2, f64::from(n / 200) * 0.28 + 0.2];
            p
        })
        .collect();
    let lamp = plan.rigs[0].fixtures[0].clone();
    plan.rigs[0].fixtures = (0..100)
        .map(|n| {
            let mut f = lamp.clone();
            f.id = format!("many-{n}").as_str().into();
            f.position_m = [f64::from(n) * 1.2 + 0.4, 1.7];
            f
        })
        .collect();
    for s in &mut plan.shots {
        s.lamps.clear();
    }
    survives(&plan);
    plan.rigs[0].fixtures.push(Fixture { id: "one-more".into(), ..lamp });
    refused(&plan, "rigs[0].fixtures");
}

/// Lists within things, and texts, that no one could mean.
#[test]
fn too_much_of_one_thing() {
    type Overdo = fn(&mut Plan);
    let long = || "ö".repeat(501);
    assert!(from_json(to_json(&Plan { title: "ö".repeat(500), ..files::demo() }).as_bytes()).is_ok());
    let lists: [(&str, Overdo); 5] = [
        ("day.pins", |p| p.day.pins = (1..=501).map(|place| Pin { place, shot: "shot-1".into() }).collect()),
        ("cameras[0].marks", |p| p.cameras[0].marks = vec![camera_mark(); 501]),
        ("shots[0].faces", |p| p.shots[0].faces = vec!["mara".into(); 501]),
        ("shots[1].cuts_with", |p| p.shots[1].cuts_with = vec!["shot-1".into(); 501]),
        ("rigs[0].fixtures[1].gels", |p| p.rigs[0].fixtures[1].gels = vec![Gel::correction(0); 21]),
    ];
    for (place, overdo) in lists {
        let mut plan = files::demo();
        overdo(&mut plan);
        refused(&plan, place);
    }
    for (place, plan) in [
        ("title", Plan { title: long(), ..files::demo() }),
        ("notes", Plan { notes: "ö".repeat(20_001), ..files::demo() }),
        ("cast[1].name", with(|p| p.cast[1].name = long())),
        ("location.openings[0].name", with(|p| p.location.openings[0].name = long())),
        ("location.rooms[0].name", with(|p| p.location.rooms[0].name = long())),
        ("shots[2].notes", with(|p| p.shots[2].notes = "ö".repeat(20_001))),
        ("rigs[0].fixtures[0].name", with(|p| p.rigs[0].fixtures[0].name = long())),
        ("location.pieces[0].id", with(|p| p.location.pieces[0].id = long().into())),
    ] {
        let e = from_json(to_json(&plan).as_bytes()).unwrap_err();
        assert!(e.place == place && e.what.contains("too long") && e.remedy.contains("at most"), "{e}");
    }
    let thing = |name: String| KitItem {
        thing: Thing::Other { name },
        count: 1.0,
        rent_price: None,
        buy_price: None,
        weight_kg: None,
        volume_l: None,
    };
    let kit = |name: String| KitFile { items: vec![thing(name)], ..KitFile::default() };
    assert!(kit_from_json(kit_to_json(&kit("ö".repeat(500))).as_bytes()).is_ok());
    let e = kit_from_json(kit_to_json(&kit(long())).as_bytes()).unwrap_err();
    assert!(e.place == "items[0].name" && e.what.contains("too long"), "{e}");
}

fn camera_mark() -> CameraMark {
    let k = &files::demo().cameras[0];
    CameraMark {
        at_s: 1.0,
        position_m: k.position_m,
        lens_height_m: k.lens_height_m,
        pan_deg: k.pan_deg,
        tilt_deg: k.tilt_deg,
        focal_mm: k.lens.focal_mm,
    }
}

fn with(change: impl Fn(&mut Plan)) -> Plan {
    let mut plan = files::demo();
    change(&mut plan);
    plan
}

/// Numbers at the edges of what a number can be, in the place of every number of a plan.
#[test]
fn numbers_at_the_edges() {
    let text = to_json(&files::demo());
    let number = |c: char| c.is_ascii_digit() || "+-.eE".contains(c);
    let starts: Vec<usize> = text
        .char_indices()
        .filter(|(i, c)| c.is_ascii_digit() && text[..*i].ends_with([' ', '[', '-', ':', ',']))
        .map(|(i, _)| i)
        .collect();
    assert!(starts.len() > 200);
    let mut read = 0;
    for start in starts {
        let end = start + text[start..].find(|c| !number(c)).unwrap();
        for edge in ["1e308", "1e-308", "5e-324", "1e999", "99999999999999999999", "0"] {
            let changed = format!("{}{edge}{}", &text[..start], &text[end..]);
            match from_json(changed.as_bytes()) {
                Ok(plan) => {
                    read += 1;
                    // What is read can be written, and is the same read again.
                    assert_eq!(from_json(to_json(&plan).as_bytes()).unwrap(), plan);
                }
                Err(e) => assert!(!e.what.is_empty() && !e.remedy.is_empty() && !e.place.is_empty()),
            }
        }
    }
    assert!(read > 100);
}

#[test]
fn pictures_stay_beside_the_plan() {
    let away = [
        "../a.png",
        "/etc/a.png",
        "C:\\a.png",
        "a\\..\\b.png",
        "pictures/../../a.png",
        "//server/a.png",
        "",
        "./a.png",
    ];
    for path in away {
        let mut plan = files::demo();
        plan.shots[0].picture = Some(path.into());
        let e = from_json(to_json(&plan).as_bytes()).unwrap_err();
        assert!(e.place.contains("picture") && e.remedy.contains("relative path"), "{path}: {e}");
    }
}

/// A picture of a few bytes that says it is huge is refused before its pixels are made room for.
#[test]
fn picture_bombs() {
    let mut png = Vec::new();
    image::RgbaImage::new(1, 1).write_to(&mut std::io::Cursor::new(&mut png), image::ImageFormat::Png).unwrap();
    for (w, h) in [(100_000_u32, 100_000_u32), (u32::MAX >> 1, 1), (12_000, 12_000)] {
        let mut bomb = png.clone();
        bomb[16..20].copy_from_slice(&w.to_be_bytes());
        bomb[20..24].copy_from_slice(&h.to_be_bytes());
        let sum = crc32(&bomb[12..29]);
        bomb[29..33].copy_from_slice(&sum.to_be_bytes());
        let e = files::decode_picture(&bomb, "bomb.png").unwrap_err();
        assert!(!e.remedy.is_empty(), "{e}");
    }
}

/// CRC-32 of PNG chunks (ISO/IEC 15948, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0_u32, |c, b| {
        (0..8).fold(c ^ u32::from(*b), |c, _| if c & 1 == 1 { c >> 1 ^ 0xEDB8_8320 } else { c >> 1 })
    })
}
