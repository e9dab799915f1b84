//! Drawings in, plans out: files made by ezdxf, and our files read by ezdxf and the Khronos glTF validator.

use serde_json::Value;
use std::path::PathBuf;
use std::process::Command;
use tapemark_acceptance::{near, tool, within};
use tapemark_core::edit::apply;
use tapemark_core::geometry::signed_area;
use tapemark_core::plan::Plan;
use tapemark_exchange::*;

fn reference(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("reference").join(name)
}

fn dxf(name: &str, unit: Option<f64>) -> Result<Outlines, ExchangeError> {
    outlines(&std::fs::read(reference("drawings").join(name)).unwrap(), Drawing::Dxf, unit)
}

/// Two rooms drawn in millimetres by ezdxf 1.4.5 (tests/reference/make_drawings.py), one as loose lines.
#[test]
fn rooms_from_lines_and_polylines() {
    let found = dxf("two-rooms-mm.dxf", None).unwrap();
    let mut areas: Vec<f64> = found.rooms.iter().map(|r| signed_area(r)).collect();
    areas.sort_by(f64::total_cmp);
    within(areas[0], 1.6 * 4.6, 1e-6);
    within(areas[1], 6.2 * 4.6, 1e-6);
    assert!(found.left_out.iter().any(|l| l.contains("under 1 m²")), "{:?}", found.left_out);
    let plan = apply(&Plan::empty(), &found.edit(&Plan::empty()).unwrap()).unwrap();
    assert_eq!(plan.location.rooms.len(), 2);
}

/// Double walls in the format of R12: the inside is the room.
#[test]
fn the_inside_of_double_walls() {
    let found = dxf("double-walls-r12.dxf", Some(1.0)).unwrap();
    assert_eq!(found.rooms.len(), 1);
    within(signed_area(&found.rooms[0]), 15.0, 1e-6);
    assert!(found.left_out.iter().any(|l| l.contains("outside of the walls")));
}

/// A half circle 4 m across as a bulge of 1, in inches: 4 × 3 + π·2²/2.
#[test]
fn a_bay_with_an_arc() {
    let found = dxf("bay-inches.dxf", None).unwrap();
    near(signed_area(&found.rooms[0]), 12.0 + std::f64::consts::PI * 2.0, 0.01);
}

#[test]
fn a_drawing_without_a_unit_is_asked_for_one() {
    assert!(dxf("no-unit.dxf", None).unwrap_err().what.contains("unit"));
    within(signed_area(&dxf("no-unit.dxf", Some(0.3048)).unwrap().rooms[0]), 12.0 * 0.3048 * 0.3048, 1e-9);
}

/// SVG by its own rules (W3C SVG 1.1): transforms apply, y runs down, a path closes with z.
#[test]
fn rooms_from_svg() {
    let svg = br##"<svg xmlns="http://www.w3.org/2000/svg" width="900" height="700">
      <g transform="translate(100,50) scale(2)"><path d="M0 0h200v150h-200z" fill="none" stroke="#000"/></g>
      <polygon points="600,50 800,50 800,350 600,350" stroke="#000" fill="none"/></svg>"##;
    let found = outlines(svg, Drawing::Svg, Some(0.01)).unwrap();
    let mut areas: Vec<f64> = found.rooms.iter().map(|r| signed_area(r)).collect();
    areas.sort_by(f64::total_cmp);
    within(areas[0], 6.0, 1e-4);
    within(areas[1], 12.0, 1e-4);
    // The page's top is the plan's north.
    assert!(found.rooms.iter().flatten().all(|p| p.y < 0.0));
}

#[test]
fn broken_and_absurd_drawings_are_refused_with_a_remedy() {
    for bytes in [&b""[..], b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nabc\n", &[0xff; 300], b"  0\nSECTION\n  2\n"] {
        if let Err(e) = outlines(bytes, Drawing::Dxf, Some(1.0)) {
            assert!(!e.remedy.is_empty());
        }
    }
    assert!(outlines(b"<svg", Drawing::Svg, Some(1.0)).is_err());
    assert!(outlines(b"<svg xmlns='http://www.w3.org/2000/svg'/>", Drawing::Svg, Some(f64::NAN)).is_err());
    let far = br#"<svg xmlns="http://www.w3.org/2000/svg"><rect width="1e7" height="1e7"/></svg>"#;
    assert!(outlines(far, Drawing::Svg, Some(1.0)).is_err());
}

/// Our DXF read by ezdxf: metres, no error found by its audit, the first room's corners as in the plan.
#[test]
fn ezdxf_reads_our_drawing() {
    let plan = tapemark::files::demo();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("demo.dxf");
    std::fs::write(&file, to_dxf(&plan, &plan.shots[0]).unwrap()).unwrap();
    let Some(python) = tool("TAPEMARK_PYTHON", "python3", &["-c", "import ezdxf"]) else { return };
    let out = Command::new(python).arg(reference("check_dxf.py")).arg(&file).output().unwrap();
    let v: Value =
        serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&out.stderr)));
    assert_eq!((v["units"].as_u64(), v["errors"].as_u64()), (Some(6), Some(0)), "{v}");
    for (layer, least) in [("ROOMS", 2), ("WALLS", 8), ("LAMPS", 9), ("CABLES", 3), ("MARKS", 9), ("CAMERA", 2)] {
        assert!(v["layers"][layer].as_u64().unwrap_or(0) >= least, "{layer}: {v}");
    }
    for (p, q) in v["first_room"].as_array().unwrap().iter().zip(&plan.location.rooms[0].outline_m) {
        within(p[0].as_f64().unwrap(), q[0], 1e-9);
        within(p[1].as_f64().unwrap(), q[1], 1e-9);
    }
}

/// What we write we read again.
#[test]
fn our_drawing_comes_back() {
    let plan = tapemark::files::demo();
    let found = outlines(&to_dxf(&plan, &plan.shots[0]).unwrap(), Drawing::Dxf, None).unwrap();
    let wanted: f64 = 6.2 * 4.6 + 1.6 * 4.6;
    within(found.rooms.iter().map(|r| signed_area(r)).sum(), wanted, 1e-3);
}

/// Our glTF passes the Khronos validator (gltf-validator of npm) without an error or a warning; its lens has the
/// plan's vertical angle and its lamps their candelas.
#[test]
fn khronos_validates_our_scene() {
    let plan = tapemark::files::demo();
    let bytes = to_glb(&plan, &plan.shots[0], 0.0).unwrap();
    let json_length = u32::from_le_bytes(bytes[12..16].try_into().unwrap()) as usize;
    let v: Value = serde_json::from_slice(&bytes[20..20 + json_length]).unwrap();
    let facts = tapemark_core::facts::shot_facts(&plan, &plan.shots[0], 0.0);
    let camera = facts.camera.as_ref().unwrap();
    let yfov = v["cameras"][0]["perspective"]["yfov"].as_f64().unwrap();
    near(yfov.to_degrees(), camera.vertical_angle_deg, 1e-5);
    let lights = v["extensions"]["KHR_lights_punctual"]["lights"].as_array().unwrap();
    assert_eq!(lights.len(), 3);
    near(lights[0]["intensity"].as_f64().unwrap(), facts.fixtures[0].peak_cd, 1e-4);
    // The camera's node stands at the lens: y up, z toward the reader.
    let node = v["nodes"].as_array().unwrap().iter().find(|n| n["camera"].is_number()).unwrap();
    for (k, wanted) in [camera.position_m[0], camera.position_m[2], -camera.position_m[1]].into_iter().enumerate() {
        within(node["translation"][k].as_f64().unwrap(), wanted, 1e-5);
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("demo.glb");
    std::fs::write(&file, bytes).unwrap();
    let tools = std::env::var("TAPEMARK_GLTF_VALIDATOR").unwrap_or_default();
    let Some(node) = tool("TAPEMARK_NODE", "node", &["-e", &format!("require('{tools}/gltf-validator')")]) else {
        return;
    };
    let out = Command::new(node).arg(reference("check_glb.mjs")).arg(&file).arg(&tools).output().unwrap();
    let v: Value =
        serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&out.stderr)));
    assert_eq!((v["issues"]["numErrors"].as_u64(), v["issues"]["numWarnings"].as_u64()), (Some(0), Some(0)), "{v}");
}
