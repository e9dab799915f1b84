//! Spectra, gels and curves against the general-purpose library colour-science 0.4.7
//! (`reference/make_colours.py`), and against printed CIE values.

use serde_json::Value;
use tapemark_acceptance::within;
use tapemark_core::colour::{Bands, CurveOf, cct_duv, read_curve};
use tapemark_core::light::{as_set, through_gel};
use tapemark_core::plan::{Curve, Fixture, Gel, HeadClass, Spectrum};

fn reference() -> Value {
    serde_json::from_str(include_str!("../reference/colours.json")).unwrap()
}

fn bells(peaks: &Value, step: f64) -> Curve {
    let peaks: Vec<Vec<f64>> = serde_json::from_value(peaks.clone()).unwrap();
    let value = |nm: f64| peaks.iter().map(|p| p[2] * (-0.5 * ((nm - p[0]) / p[1]).powi(2)).exp()).sum();
    let count = (400.0 / step) as usize;
    let points = (0..=count).map(|i| 380.0 + step * i as f64).map(|nm| [nm, value(nm)]).collect();
    Curve { name: "bells".into(), points }
}

/// The lamp as a fixture of ours has it.
fn lamp(l: &Value) -> Fixture {
    let mut f = Fixture::new("f", HeadClass::Panel, [0.0, 0.0], 0.0);
    match l["kind"].as_str().unwrap() {
        "planck" => f.cct_k = l["k"].as_f64().unwrap(),
        "daylight" => {
            f.cct_k = l["k"].as_f64().unwrap();
            f.spectrum = Spectrum::Daylight;
        }
        "cie" => f.spectrum = Spectrum::Cie { symbol: l["symbol"].as_str().unwrap().into() },
        _ => f.spectrum = Spectrum::Measured(bells(&l["peaks"], l["step"].as_f64().unwrap())),
    }
    f
}

fn gel(g: &Value) -> Gel {
    let steps: Vec<Vec<f64>> = serde_json::from_value(g["steps"].clone()).unwrap();
    let start = g["start"].as_f64().unwrap();
    let value = |nm: f64| {
        let (mut value, mut before) = (start, start);
        for s in &steps {
            value += (s[2] - before) / (1.0 + (-(nm - s[0]) / s[1]).exp());
            before = s[2];
        }
        value
    };
    let points = (0..=80).map(|i| 380.0 + 5.0 * f64::from(i)).map(|nm| [nm, value(nm)]).collect();
    Gel::Measured(Curve { name: "gel".into(), points })
}

fn check(f: &Fixture, wanted: &Value, worst: &mut [f64; 3]) {
    let (_, xyz) = as_set(f);
    let (x, y) = xyz.xy().unwrap();
    let dxy = (x - wanted["x"].as_f64().unwrap()).abs().max((y - wanted["y"].as_f64().unwrap()).abs());
    assert!(dxy <= 0.0005, "{}: xy {x} {y}, not {wanted}", wanted["lamp"]);
    worst[0] = worst[0].max(dxy);
    if let Some(k) = wanted["cct_k"].as_f64() {
        let (cct, duv) = cct_duv(xyz).unwrap();
        let wanted_duv = wanted["duv"].as_f64().unwrap();
        assert!((cct - k).abs() <= 10.0, "{}: {cct} K, not {k} K", wanted["lamp"]);
        assert!((duv - wanted_duv).abs() <= 0.0003, "{}: Duv {duv}, not {wanted_duv}", wanted["lamp"]);
        worst[1] = worst[1].max((cct - k).abs());
        worst[2] = worst[2].max((duv - wanted_duv).abs());
    }
}

#[test]
fn two_hundred_spectra_have_the_colour_the_library_gives_them() {
    let reference = reference();
    let list = reference["spectra"].as_array().unwrap();
    assert!(list.len() >= 200);
    let mut worst = [0.0; 3];
    for s in list {
        check(&lamp(&s["lamp"]), s, &mut worst);
    }
    println!("worst of {}: xy {:.6}, CCT {:.2} K, Duv {:.6}", list.len(), worst[0], worst[1], worst[2]);
}

#[test]
fn forty_pairs_of_spectrum_and_gel_pass_what_the_library_passes() {
    let reference = reference();
    let list = reference["pairs"].as_array().unwrap();
    assert!(list.len() >= 40);
    let mut worst = [0.0; 3];
    for pair in list {
        let mut f = lamp(&pair["lamp"]);
        let (before, _) = as_set(&f);
        f.gels.push(gel(&pair["gel"]));
        check(&f, pair, &mut worst);
        within(as_set(&f).0 / before, pair["passed"].as_f64().unwrap(), 0.002);
    }
    println!("worst of {}: xy {:.6}, CCT {:.2} K, Duv {:.6}", list.len(), worst[0], worst[1], worst[2]);
}

/// CIE 015 prints these chromaticities for its illuminants (from memory: D65 0.3127 0.3290, FL2 0.3721
/// 0.3751, FL11 0.3805 0.3769).
#[test]
fn printed_chromaticities_of_cie_illuminants() {
    for (bands, x, y) in [
        (Bands::daylight(6504.0), 0.3127, 0.3290),
        (Bands::cie("FL2").unwrap(), 0.3721, 0.3751),
        (Bands::cie("FL11").unwrap(), 0.3805, 0.3769),
    ] {
        let xy = bands.xyz().xy().unwrap();
        within(xy.0, x, 0.0002);
        within(xy.1, y, 0.0002);
    }
}

/// The definition of a mired shift: 3200 K to 5500 K is −131 (handbook value), and stacked gels add.
#[test]
fn correction_gels_shift_thermal_light_by_their_mireds_and_stack() {
    let light = Bands::planck(3200.0);
    let gel = |shift: f64| Gel::Correction { name: "g".into(), mired_shift: shift, transmittance: 0.5 };
    let one = through_gel(&light, &gel(-130.7)).0;
    within(cct_duv(one.xyz()).unwrap().0, 5500.0, 5.0);
    let half = through_gel(&light, &gel(-65.35)).0;
    let two = through_gel(&half, &gel(-65.35)).0;
    within(cct_duv(two.xyz()).unwrap().0, 5500.0, 5.0);
}

#[test]
fn curves_are_read_with_any_usual_mark_and_refused_with_place_and_remedy() {
    let rows: Vec<String> = (0..=40).map(|i| format!("{},{}", 380 + 10 * i, 0.5)).collect();
    let plain = read_curve(&rows.join("\n"), "a", CurveOf::Lamp).unwrap();
    let decimal_commas: Vec<String> = (0..=40).map(|i| format!("{};0,5", 380 + 10 * i)).collect();
    assert_eq!(read_curve(&decimal_commas.join("\r\n"), "a", CurveOf::Lamp).unwrap(), plain);
    let with_heading = format!("\u{feff}# made by hand\nwavelength\tpower\n{}", rows.join("\n").replace(',', "\t"));
    assert_eq!(read_curve(&with_heading, "a", CurveOf::Lamp).unwrap(), plain);
    let percent: Vec<String> = (0..=40).map(|i| format!("{} 50", 380 + 10 * i)).collect();
    assert_eq!(read_curve(&percent.join("\n"), "a", CurveOf::Gel).unwrap(), plain);
    for (text, line) in [
        ("", 0),
        ("# nothing\n\n", 0),
        ("380,0\n400,0\n420,x\n", 3),
        ("380,1\n400,-1\n", 2),
        ("380,1\n370,1\n", 2),
        ("380,1\n400,NaN\n", 2),
        ("380,1\n600,1\n", 2),
        ("500,1\n510,1\n", 0),
    ] {
        let e = read_curve(text, "a", CurveOf::Lamp).unwrap_err();
        assert_eq!(e.line, line, "{text:?}: {e:?}");
        assert!(!e.remedy.is_empty());
    }
    let dark: Vec<String> = (0..=40).map(|i| format!("{},0", 380 + 10 * i)).collect();
    assert!(read_curve(&dark.join("\n"), "a", CurveOf::Lamp).unwrap_err().what.contains("every value is 0"));
}
