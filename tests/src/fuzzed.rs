//! What fuzzing throws bytes at, and the tests replay: whatever the bytes, an answer or an error, never a panic.

use glam::DVec3;
use tapemark::{files, journal};
use tapemark_core::facts::shot_facts;
use tapemark_core::light::read_lm63;
use tapemark_core::plan::{Plan, from_json, from_newer_json, to_json};
use tapemark_core::units::{LengthUnit, MAX_LENGTH_M, format_length, parse_length_m};
use tapemark_exchange::{Drawing, outlines};

/// Plans as small as these are worked out too.
const WORKED_OUT: usize = 16 << 10;

/// A plan's file: what is read is written and read again as the same, and can be worked out.
///
/// # Panics
/// When it is not.
pub fn plan(bytes: &[u8]) {
    let _ = from_newer_json(bytes);
    let Ok(read) = from_json(bytes) else { return };
    let text = to_json(&read);
    assert_eq!(from_json(text.as_bytes()).as_ref(), Ok(&read));
    if bytes.len() <= WORKED_OUT
        && let Some(shot) = read.shots.first()
    {
        let facts = shot_facts(&read, shot, 0.0);
        for reading in facts.people.iter().filter_map(|p| p.reading.as_ref()) {
            assert!(reading.illuminance_lx.is_finite() && reading.illuminance_lx >= 0.0);
        }
    }
}

/// A lamp's candela file: what is read gives candelas that are numbers and not below zero.
///
/// # Panics
/// When it does not.
pub fn candela(bytes: &[u8]) {
    let Ok(table) = read_lm63(bytes, "lamp") else { return };
    for d in [DVec3::X, DVec3::Y, DVec3::Z, DVec3::NEG_Z, DVec3::new(0.6, 0.48, 0.64)] {
        let candela = table.candela_at(d.x, d.y, d.z);
        assert!(candela.is_finite() && candela >= 0.0, "{d}: {candela}");
    }
    assert!(table.lumens().is_finite());
}

/// A drawing, DXF or SVG by its first byte: what comes in makes a plan.
///
/// # Panics
/// When it does not.
pub fn drawing(bytes: &[u8]) {
    let kind = if bytes.first() == Some(&b'<') { Drawing::Svg } else { Drawing::Dxf };
    for unit in [None, Some(0.001)] {
        if let Ok(found) = outlines(bytes, kind, unit) {
            let plan = Plan::empty();
            if let Some(edit) = found.edit(&plan)
                && let Ok(next) = tapemark_core::edit::apply(&plan, &edit)
            {
                assert!(tapemark_core::plan::validate(&next).is_empty());
            }
        }
    }
}

/// A picture.
pub fn picture(bytes: &[u8]) {
    let _ = files::decode_picture(bytes, "picture");
}

/// A length as it is typed: a number, and the same again from what is shown, as near as that is written.
///
/// # Panics
/// When it is not.
pub fn length(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for unit in [LengthUnit::Metres, LengthUnit::FeetInches] {
        let Ok(m) = parse_length_m(&text, unit) else { continue };
        assert!(m.is_finite());
        let shown = format_length(m, unit);
        // Rounded to half an inch, the longest that is taken may be shown as longer than that.
        if m.abs() < MAX_LENGTH_M - 1.0 {
            let again = parse_length_m(&shown, unit).expect("what is shown can be typed");
            assert!((again - m).abs() <= 0.02, "{text:?}: {m} m is shown as {shown}, which is {again} m");
        }
    }
}

/// A journal that was left behind.
///
/// # Panics
/// When the temporary folder cannot be written.
pub fn journal(bytes: &[u8]) {
    let file = tempfile::NamedTempFile::new().expect("a temporary file");
    std::fs::write(file.path(), bytes).expect("it can be written");
    if let Some(found) = journal::read(file.path()) {
        assert!(tapemark_core::plan::validate(&found.plan).is_empty());
    }
}
