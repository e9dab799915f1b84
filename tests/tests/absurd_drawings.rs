//! Drawings that nobody means: read, or refused with a clear word, and soon.

use std::f64::consts::TAU;
use tapemark_core::edit::apply;
use tapemark_core::plan::Plan;
use tapemark_exchange::{Drawing, outlines};

/// Patterns, clips, masks and filters that refer to one another in a circle: a reader that follows them never ends,
/// and takes the program with it. Found by the fuzzer.
#[test]
fn a_drawing_that_refers_to_itself() {
    let ring = |kind: &str, by: &str| {
        let of = |i: i32| {
            let next = (i + 1) % 3;
            format!(
                "<{kind} id='a{i}'><rect width='9' height='9' {by}='URL(#a{next})' style='{by}:url(#a{next})'/></{kind}>"
            )
        };
        let all: String = (0..3).map(of).collect();
        format!("{all}<rect width='500' height='400' {by}='url(#a0)'/>")
    };
    let hidden = "<pattern id='p'><rect width='9' height='9' fill='&#117;rl(#p)'/></pattern>";
    for (body, read) in [
        (ring("pattern", "fill"), true),
        (ring("clipPath", "clip-path"), true),
        (ring("mask", "mask"), true),
        (ring("marker", "marker-start"), true),
        (
            "<filter id='f'><feImage href='#r'/></filter><rect id='r' width='500' height='400' filter='url(#f)'/>"
                .into(),
            true,
        ),
        (
            "<style>rect{fill:url(#p)}</style><pattern id='p'><rect/></pattern><rect width='500' height='400'/>".into(),
            true,
        ),
        (hidden.into(), false),
    ] {
        let svg = format!("<svg xmlns='http://www.w3.org/2000/svg' width='600' height='600'>{body}</svg>");
        let found = outlines(svg.as_bytes(), Drawing::Svg, Some(0.01));
        assert_eq!(found.is_ok(), read, "{svg}: {:?}", found.err());
        assert!(found.is_err() || !found.unwrap().rooms.is_empty(), "{svg}");
    }
}

/// Groups within groups within groups: a reader that goes into each runs out of stack. Found by the fuzzer.
#[test]
fn a_drawing_of_groups_in_groups() {
    let room = closed(&[[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]]);
    for (open, close) in [
        ("102\n{A\n", "102\n}\n"),
        ("+0102\n{\n", "102\n}\n"),
        (" +1002\n{\n", "1002\n}\n"),
        ("1002\nA\n", "1002\n} \n"),
    ] {
        let groups = open.repeat(50_000) + &close.repeat(50_000);
        let found = outlines(dxf(&format!("{room}1001\nA\n{groups}{room}")).as_bytes(), Drawing::Dxf, Some(1.0));
        assert_eq!(found.map(|f| f.rooms.len()), Ok(1), "{open}");
    }
}

fn dxf(things: &str) -> String {
    format!("0\nSECTION\n2\nENTITIES\n{things}0\nENDSEC\n0\nEOF\n")
}

fn closed(corners: &[[f64; 2]]) -> String {
    let points: String = corners.iter().map(|[x, y]| format!("10\n{x}\n20\n{y}\n")).collect();
    format!("0\nLWPOLYLINE\n8\n0\n90\n{}\n70\n1\n{points}", corners.len())
}

fn line([x, y]: [f64; 2], [u, v]: [f64; 2]) -> String {
    format!("0\nLINE\n8\n0\n10\n{x}\n20\n{y}\n11\n{u}\n21\n{v}\n")
}

fn star_of(corners: u32, radius_m: f64) -> Vec<[f64; 2]> {
    (0..corners)
        .map(|i| {
            let (turn, r) = (f64::from(i) * TAU / f64::from(corners), radius_m * if i % 2 == 0 { 1.0 } else { 0.98 });
            [turn.cos() * r, turn.sin() * r]
        })
        .collect()
}

/// Drawings of as many points as may be, in the ways that make whoever holds every line against every other wait for
/// minutes: each is read, or refused with a word.
#[test]
fn drawings_of_very_many_lines() {
    let at = |i: u32| f64::from(i.wrapping_mul(2_654_435_761) % 80_000) / 10.0;
    let room = closed(&[[-40.0, -30.0], [-20.0, -30.0], [-20.0, -20.0], [-40.0, -20.0]]);
    let loose: String = (0..98_000).map(|i| line([at(i), at(i + 1)], [at(i + 2), at(i + 3)])).collect();
    let star: String = (0..98_000).map(|i| line([0.0, 0.0], [at(i), at(i + 1)])).collect();
    let chain: String = (0..98_000)
        .map(|i| line([f64::from(i) / 20.0, f64::from(i % 2)], [f64::from(i + 1) / 20.0, f64::from((i + 1) % 2)]))
        .collect();
    let wave: Vec<[f64; 2]> = (0..190_000)
        .map(|i| {
            let (turn, r) = (f64::from(i) * TAU / 190_000.0, 100.0 + 5.0 * (f64::from(i) * 0.37).cos());
            [r * turn.cos(), r * turn.sin()]
        })
        .collect();
    let boxes: String = (0..220 * 220)
        .map(|i| {
            let (x, y) = (f64::from(i % 220) * 2.0, f64::from(i / 220) * 2.0);
            closed(&[[x, y], [x + 1.5, y], [x + 1.5, y + 1.5], [x, y + 1.5]])
        })
        .collect();
    let nested: String = (10..45_000)
        .map(|i| {
            let r = f64::from(i) / 10.0;
            closed(&[[-r, -r], [r, -r], [r, r], [-r, r]])
        })
        .collect();
    let rounds: String = (0..1900).map(|i| closed(&star_of(98, 10.0 + f64::from(i)))).collect();
    for (name, things, rooms) in [
        ("loose", loose + &room, 1),
        ("star", star + &room, 1),
        ("chain", chain + &room, 1),
        ("wave", closed(&wave) + &room, 1),
        ("boxes", boxes, 200),
        ("nested", nested, 0),
        ("rounds", rounds, 0),
    ] {
        let found = outlines(dxf(&things).as_bytes(), Drawing::Dxf, Some(1.0)).unwrap();
        assert!(found.rooms.len() >= rooms, "{name}: {} {:?}", found.rooms.len(), found.left_out);
        let plan = Plan::empty();
        assert!(found.edit(&plan).is_none_or(|e| apply(&plan, &e).is_ok()), "{name}");
    }
}

/// The same of vector graphics.
#[test]
fn drawings_of_very_many_words() {
    let svg = |attributes: &str, body: &str| {
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='600' height='600' {attributes}>{body}<rect width='500' height='400'/></svg>"
        )
    };
    let many = |n: u32, f: &dyn Fn(u32) -> String| (0..n).map(f).collect::<String>();
    let styles = many(20_000, &|i| format!(".c{i} g rect{{fill:red}}"));
    let rects = "<rect width='5' height='4'/>".repeat(20_000);
    let doubled = |kind: &str| {
        many(30, &|i| format!("<{kind} id='a{}'><use href='#a{i}'/><use href='#a{i}'/></{kind}>", i + 1))
            + "<use href='#a30'/>"
    };
    for (name, text) in [
        ("attributes", svg(&many(100_000, &|i| format!("a{i}='1' ")), "")),
        ("styles", svg("", &format!("<style>{styles}</style>{rects}"))),
        ("groups used twice", svg("", &doubled("g"))),
        ("symbols used twice", svg("", &doubled("symbol"))),
        ("used by itself", svg("", "<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>")),
        ("deep", svg("", &("<g opacity='0.9'>".repeat(100_000) + &"</g>".repeat(100_000)))),
        (
            "names",
            svg(&many(10_000, &|i| format!("xmlns:n{i}='u{i}' ")), &many(50_000, &|i| format!("<n{}:g/>", i % 10_000))),
        ),
        ("closed again and again", svg("", &format!("<path d='M0 0L5 5{}'/>", "z".repeat(100_000)))),
        ("closed by entities", {
            let path = format!("<!DOCTYPE svg [<!ENTITY z '{}'>]>", "z".repeat(10_000));
            path + &svg("", &format!("<path d='M0 0L5 5{}'/>", "&z;".repeat(20)))
        }),
        ("declared again and again", svg("", &format!("<rect style='{}'/>", "fill:red;".repeat(100_000)))),
        ("huge and round", svg("", &"<circle r='1e36'/>".repeat(1000))),
        ("huge arcs", svg("", &format!("<path d='M0 0{}'/>", "A1e36 1e36 0 1 1 1e36 0".repeat(1000)))),
        ("an arc to far away", svg("", &format!("<path d='M0 0H13A72 66 73 0 0 4 {}'/>", "1".repeat(120)))),
        ("an arc from far away", svg("", "<path d='M0 0H1e60A72 66 73 0 0 4 1'/>")),
        ("long entities in text", {
            let long = format!("<!DOCTYPE svg [<!ENTITY a ']>{}'>]>", "a".repeat(100_000));
            long + &svg("", &format!("<text>{}</text>", "&a;".repeat(10_000)))
        }),
        ("entities in entities", {
            let doubled = many(9, &|i| format!("<!ENTITY e{} '&e{i};&e{i};'>", i + 1));
            format!("<!DOCTYPE svg [<!ENTITY e0 \"{}\">{doubled}]>", "a".repeat(5_000))
                + &svg("", &"&e9;".repeat(1_000))
        }),
        ("entities for names", {
            let names = "<!DOCTYPE svg [<!ENTITY ns 'http://www.w3.org/2000/svg'>]>";
            names.to_string() + &svg("xmlns:x='&ns;'", "")
        }),
        ("long entities", {
            let long = format!("<!DOCTYPE svg [<!ENTITY a '{}'>]>", "a".repeat(100_000));
            long + &svg("", &format!("<g id='{}'/>", "&a;".repeat(10_000)))
        }),
        ("ids", svg("", &many(100_000, &|i| format!("<g id='a'/><use href='#b{i}'/>")))),
    ] {
        let found = outlines(text.as_bytes(), Drawing::Svg, Some(0.01));
        assert!(
            found.as_ref().is_ok_and(|f| f.rooms.len() == 1) || found.as_ref().is_err_and(|e| !e.remedy.is_empty()),
            "{name}"
        );
    }
}
