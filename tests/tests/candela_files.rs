//! Candela files: the forms and types of ANSI/IES LM-63, and files that are broken or lie.

use glam::DVec3;
use tapemark_acceptance::{flat, near, open_air_lx, within};
use tapemark_core::light::{Emitter, read_lm63};
use tapemark_core::plan::{Fixture, HeadClass, Photometry};

/// A file whose candelas follow cos θ: a diffuse disc of 1000 cd, which gives π·1000 lm (Lambert).
fn cosine(head: &str, kind: &str) -> String {
    let angles: Vec<f64> = (0..=36).map(|i| 2.5 * f64::from(i)).collect();
    let list = |v: &[f64]| v.iter().map(|x| format!("{x:.4}")).collect::<Vec<_>>().join(" ");
    let candela: Vec<f64> = angles.iter().map(|a| 1000.0 * a.to_radians().cos()).collect();
    format!(
        "{head}\nTILT=NONE\n1 -1 1.0 37 1 1 2 0.1 0.1 0\n1.0 {kind} 100\n{}\n0\n{}\n",
        list(&angles),
        list(&candela)
    )
}

#[test]
fn every_form_from_1986_to_2019_reads_alike() {
    let plain = read_lm63(cosine("MADE FOR A TEST", "1").as_bytes(), "t").unwrap();
    near(plain.lumens(), std::f64::consts::PI * 1000.0, 0.002);
    for head in [
        "IESNA91\n[TEST] 1\n[MANUFAC] none",
        "IESNA:LM-63-1995\n[TEST] 1",
        "IESNA:LM-63-2002\n[TEST] 1\n[MORE] x",
        "IES:LM-63-2019\n[TEST] 1",
    ] {
        let kind = if head.contains("2019") { "1.00001" } else { "1" };
        let table = read_lm63(cosine(head, kind).as_bytes(), "t").unwrap();
        assert_eq!(table.candela, plain.candela, "{head}");
        assert_eq!(table.photometry, Photometry::C);
    }
    // Other encodings, line ends and separators.
    let text = cosine("IESNA:LM-63-2002\n[TEST] L\u{e4}mp", "1");
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    let wide: Vec<u8> = [0xFF, 0xFE].into_iter().chain(text.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let commas = text.replace('\n', "\r\n").replace("0 ", "0, ");
    for bytes in [latin, wide, commas.into_bytes(), format!("\u{feff}{text}").into_bytes()] {
        assert_eq!(read_lm63(&bytes, "t").unwrap().candela, plain.candela);
    }
    let tilted = text.replace("TILT=NONE", "TILT=INCLUDE\n1\n3\n0 45 90\n1.0 0.9 0.8");
    assert_eq!(read_lm63(tilted.as_bytes(), "t").unwrap().candela, plain.candela);
}

/// Inverse square and cosine on the axis, and to the side by the table: 1000 cd·cos 40° at 2 m.
#[test]
fn a_lamp_with_a_table_lights_by_it() {
    let mut f = Fixture::new("f", HeadClass::OpenFace, [0.0, 0.0], 0.0);
    f.candela = Some(read_lm63(cosine("X", "1").as_bytes(), "t").unwrap().into());
    f.tilt_deg = 0.0;
    f.height_m = 1.0;
    let at = |deg: f64| {
        let d = tapemark_core::geometry::direction3(deg, 0.0);
        open_air_lx(&f, &flat(DVec3::new(0.0, 0.0, 1.0) + d * 2.0, -d))
    };
    near(at(0.0), 250.0, 1e-6);
    near(at(40.0), 250.0 * 40.0_f64.to_radians().cos(), 1e-4);
    near(f.rated_lm(), std::f64::consts::PI * 1000.0, 0.002);
    f.output_lm = Some(2000.0 * std::f64::consts::PI);
    near(Emitter::of(&f).intensity_cd(DVec3::Y), 2000.0, 0.002);
}

fn small(photometry: u8, vertical: &str, horizontal: &str, rows: &str) -> String {
    let (v, h) = (vertical.split_whitespace().count(), horizontal.split_whitespace().count());
    format!("X\nTILT=NONE\n1 -1 1 {v} {h} {photometry} 2 0 0 0\n1 1 100\n{vertical}\n{horizontal}\n{rows}\n")
}

/// The symmetries LM-63 defines by the last horizontal angle: 0 round, 90 quarters, 180 two halves, 360 none.
#[test]
fn the_last_horizontal_angle_tells_the_symmetry() {
    let read = |text: String| read_lm63(text.as_bytes(), "t").unwrap();
    // At 45° from the axis: what lies right, up, left, down.
    let round = |t: &tapemark_core::plan::CandelaTable| {
        let s = std::f64::consts::FRAC_1_SQRT_2;
        [(s, 0.0), (0.0, s), (-s, 0.0), (0.0, -s)].map(|(r, u)| t.candela_at(r, u, s).round())
    };
    assert_eq!(round(&read(small(1, "0 45 90", "0", "9 5 0"))), [5.0; 4]);
    assert_eq!(round(&read(small(1, "0 45 90", "0 90", "9 5 0 9 3 0"))), [5.0, 3.0, 5.0, 3.0]);
    assert_eq!(round(&read(small(1, "0 45 90", "0 90 180", "9 5 0 9 3 0 9 1 0"))), [5.0, 3.0, 1.0, 3.0]);
    assert_eq!(round(&read(small(1, "0 45 90", "90 180 270", "9 5 0 9 3 0 9 1 0"))), [3.0, 5.0, 3.0, 1.0]);
    let full = small(1, "0 45 90", "0 90 180 270 360", "9 5 0 9 4 0 9 3 0 9 2 0 9 5 0");
    assert_eq!(round(&read(full)), [5.0, 4.0, 3.0, 2.0]);
    // Types A and B: 30° right and 30° up.
    let (s, c) = 30.0_f64.to_radians().sin_cos();
    for kind in [3, 2] {
        let t = read(small(kind, "-30 0 30", "-30 0 30", "1 2 3 4 9 6 7 8 10"));
        within(t.candela_at(s, 0.0, c), 8.0, 1e-9);
        within(t.candela_at(0.0, s, c), 6.0, 1e-9);
        within(t.candela_at(-s, 0.0, c), 2.0, 1e-9);
        assert_eq!(t.candela_at(1.0, 0.0, 0.0), 0.0);
    }
}

#[test]
fn broken_and_lying_files_are_refused_with_line_and_remedy() {
    let good = small(1, "0 45 90", "0 90", "9 5 0 9 3 0");
    let huge = good.replace("1 -1 1 3 2", "1 -1 1 999999999 999999999");
    let cases: Vec<(String, &str)> = vec![
        (String::new(), "TILT="),
        ("just words\nand more".into(), "TILT="),
        (good.replace("TILT=NONE", "TILT=other.tlt"), "elsewhere"),
        (good.replace("9 5 0 9 3 0", "9 5 0 9 3"), "ends where"),
        (good.replace("9 5 0 9 3 0", "9 5 0 9 3 0 4"), "more numbers"),
        (good.replace("9 5 0", "9 -5 0"), "negative"),
        (good.replace("9 5 0", "9 NaN 0"), "no measure"),
        (good.replace("9 5 0", "9 1e300 0"), "no measure"),
        (good.replace("9 5 0", "9 five 0"), "no number"),
        (good.replace("9 5 0 9 3 0", "0 0 0 0 0 0"), "all its candelas are 0"),
        (good.replace("0 45 90", "0 95 90"), "do not rise"),
        (good.replace("0 45 90", "0 45 990"), "outside"),
        (good.replace(" 1 2 0 0 0", " 7 2 0 0 0"), "type of photometry"),
        (good.replace("1 -1 1 3 2", "1 -1 1 -3 2"), "no count"),
        (good.replace("1 -1 1 3 2", "1 -1 1 2.5 2"), "no count"),
        (good.replace("1 -1 1 3 2", "1 -1 0 3 2"), "multiplied by 0"),
        (huge, "no count"),
    ];
    for (text, part) in cases {
        let e = read_lm63(text.as_bytes(), "t").unwrap_err();
        assert!(e.what.contains(part), "{part}: {e:?}");
        assert!(!e.remedy.is_empty());
    }
    assert!(read_lm63(&vec![b'1'; 9 << 20], "t").unwrap_err().what.contains("MiB"));
    // Noise of any kind ends in an error, never a panic.
    let mut seed = 12_345_u32;
    for n in 0..2_000_usize {
        let mut bytes = good.clone().into_bytes();
        for _ in 0..1 + n % 4 {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let at = seed as usize % bytes.len();
            bytes[at] = (seed >> 16) as u8;
        }
        let _ = read_lm63(&bytes, "t");
    }
}
