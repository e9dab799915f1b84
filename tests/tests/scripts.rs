//! Names in any script, on paper and in the window.

use std::process::Command;
use tapemark::editor::Editor;
use tapemark::files::demo;
use tapemark_acceptance::{Frames, tool};
use tapemark_core::plan::{Plan, to_json};
use tapemark_sheet::*;

/// Given names of nobody in particular in nine scripts. None has a ligature of two letters: poppler turns those round
/// where it reads from the right.
const NAMES: [(&str, &str); 9] = [
    ("Cyrillic", "Женя"),
    ("Greek", "Ελένη"),
    ("Han", "小明"),
    ("Katakana", "ハナコ"),
    ("Hangul", "지민"),
    ("Arabic", "مريم"),
    ("Hebrew", "נועה"),
    ("Devanagari", "आशा"),
    ("Thai", "มาลี"),
];

/// Whether this machine has typefaces for all of them; where tools are required it must.
fn has_typefaces() -> bool {
    let missing = scripts_without_typeface(NAMES.iter().map(|n| n.1));
    let required = std::env::var("TAPEMARK_TOOLS").is_ok_and(|t| t == "required");
    assert!(missing.is_empty() || !required, "no typeface for {missing:?}");
    missing.is_empty()
}

/// The demo with people, places, lamps and shots that are called so.
fn named() -> Plan {
    let mut plan = demo();
    let mut names = NAMES.iter().map(|n| n.1.to_string()).cycle();
    for person in &mut plan.cast {
        person.name = names.next().unwrap();
    }
    let mut rigs = plan.rigs.clone();
    for f in rigs.iter_mut().flat_map(|r| &mut r.fixtures) {
        f.name = names.next().unwrap();
    }
    plan.rigs = rigs;
    plan.title = NAMES.map(|n| n.1).join(" · ");
    plan.shots[0].description = NAMES.map(|n| n.1).join(" ");
    plan
}

/// Poppler reads back every name that was drawn, in the order it is read.
#[test]
fn poppler_reads_every_script() {
    if !has_typefaces() || tool("TAPEMARK_PDFTOTEXT", "pdftotext", &["-v"]).is_none() {
        return;
    }
    let plan = named();
    let page = compose(&plan, &plan.shots[0], &SheetSpec::default());
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("scripts.pdf");
    std::fs::write(&file, to_pdf(&[page]).unwrap()).unwrap();
    let out = Command::new("pdftotext").arg(&file).arg("-").output().unwrap();
    let text = String::from_utf8_lossy(&out.stdout).to_string();
    // Poppler marks directions by characters of their own.
    let text: String =
        text.chars().filter(|c| !matches!(c, '\u{202a}'..='\u{202e}' | '\u{200e}' | '\u{200f}')).collect();
    for (script, name) in NAMES {
        assert!(text.contains(name), "{script}: {name} is not in {text}");
    }
    // Each typeface is embedded as a subset.
    let fonts = Command::new("pdffonts").arg(&file).output().unwrap();
    let fonts = String::from_utf8_lossy(&fonts.stdout).to_string();
    for line in fonts.lines().skip(2) {
        let yes = line.split_whitespace().filter(|w| *w == "yes").count();
        assert!(yes >= 2, "not embedded: {line}");
    }
}

/// Names are cut and broken to the width they are given, whatever they are written in.
#[test]
fn any_script_is_fitted() {
    let long = NAMES.map(|n| n.1.repeat(6));
    for (name, weight) in long.iter().flat_map(|n| [(n, Weight::Regular), (n, Weight::Bold)]) {
        assert!(text_width_mm(name, 3.0, weight) > 15.0, "{name}");
    }
    let w = text_width_mm(NAMES[5].1, 3.0, Weight::Regular);
    assert!((text_width_mm(&format!("{0} {0}", NAMES[5].1), 3.0, Weight::Regular) / w - 2.0).abs() < 0.4);
}

/// A name from the right leaves the numbers after it where they are (UAX #9, isolates).
#[test]
fn numbers_stay_after_a_name_from_the_right() {
    let mut plan = demo();
    plan.cast[0].name = "נועה".into();
    let shot = &plan.shots[0];
    let page = compose(&plan, shot, &SheetSpec::default());
    let texts = page.marks.iter().chain(&page.clipped).filter_map(|m| match &m.shape {
        Shape::Text { text, .. } if text.contains("נועה") && text.chars().count() > 6 => Some(text),
        _ => None,
    });
    let mut count = 0;
    for text in texts {
        count += 1;
        assert!(text.contains("\u{2068}נועה\u{2069}"), "{text:?}");
    }
    assert!(count > 1, "the name stands in {count} texts");
}

/// A picture has the letters, not boxes: in a row of different names no two look alike.
#[test]
fn pictures_have_letters() {
    if !has_typefaces() {
        return;
    }
    let row = |text: &str| {
        let mut plan = demo();
        plan.title = text.into();
        let page = compose(&plan, &plan.shots[0], &SheetSpec::default());
        image::load_from_memory(&to_png(&page, 60.0).unwrap()).unwrap().to_luma8()
    };
    let all = ["小明小", "지민지", "אבגד", "هوزح", "อกขค"].map(row);
    for (i, a) in all.iter().enumerate() {
        assert!(all[i + 1..].iter().all(|b| a != b), "number {i} looks like another");
    }
}

/// The window loads typefaces for a plan that needs them, once, and draws on.
#[test]
fn the_window_has_letters() {
    let mut w = Frames::of(Editor::new(named(), None));
    for _ in 0..3 {
        w.frame(Vec::new());
    }
    if has_typefaces() {
        for (script, name) in NAMES {
            assert!(w.has_glyphs(name), "{script}: {name}");
        }
    }
}

/// What has no typeface at all is told by its script, and everything else is not.
#[test]
fn a_missing_script_is_told() {
    // Private use at the far end of Unicode: no typeface in common use has it.
    assert_eq!(scripts_without_typeface(["\u{10f0fd} Mara"]).into_iter().collect::<Vec<_>>(), ["Unknown"]);
    let plan = demo();
    assert!(scripts_without_typeface(to_json(&plan).lines()).is_empty());
}
