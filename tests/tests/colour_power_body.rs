//! Colour, power and body proportions against published values.

use tapemark_acceptance::{near, within};
use tapemark_core::colour::*;
use tapemark_core::plan::*;
use tapemark_core::power::loads;
use tapemark_core::units::{LX_PER_FC, M_PER_FT};

/// Planckian chromaticities for the CIE 1931 observer, 380–780 nm at 5 nm, from the general-purpose Python
/// library colour-science 0.4.7 (`sd_blackbody`, `sd_to_XYZ` by integration).
#[test]
fn planckian_chromaticities() {
    for (k, x, y) in [
        (2000.0, 0.526_678, 0.413_300),
        (2700.0, 0.459_863, 0.410_605),
        (3200.0, 0.423_366, 0.398_962),
        (4300.0, 0.368_122, 0.368_711),
        (5600.0, 0.330_215, 0.339_115),
        (6500.0, 0.313_545, 0.323_672),
        (10_000.0, 0.280_658, 0.288_353),
    ] {
        let (gx, gy) = planck_xyz(k).xy().unwrap();
        within(gx, x, 0.0005);
        within(gy, y, 0.0005);
    }
}

/// CIE standard illuminant A: x = 0.44758, y = 0.40745 at 2855.5 K on the present radiation constant
/// (CIE 015:2018).
#[test]
fn illuminant_a() {
    let (x, y) = planck_xyz(2855.5).xy().unwrap();
    within(x, 0.44758, 0.0005);
    within(y, 0.40745, 0.0005);
}

/// Mixtures of two Planckian lights by illuminance: CCT and Duv by Ohno's 2013 method in colour-science 0.4.7.
#[test]
fn mixed_light() {
    for (parts, cct, duv) in [
        ([(3200.0, 1.0), (5600.0, 1.0)], 4137.6, -0.002_59),
        ([(2700.0, 3.0), (6500.0, 1.0)], 3215.3, -0.004_82),
        ([(3200.0, 2.0), (10_000.0, 1.0)], 4296.8, -0.006_36),
    ] {
        let sum = parts.iter().fold(Xyz::default(), |s, (k, e)| s + planck_xyz(*k) * *e);
        let (k, d) = cct_duv(sum).unwrap();
        within(k, cct, 10.0);
        within(d, duv, 0.0003);
    }
}

/// Tungsten to daylight, 3200 K to 5500 K, is −131 mired: the nominal shift of the blue conversion filter
/// (common practice, no source; the arithmetic is 10⁶/5500 − 10⁶/3200).
#[test]
fn mired_shift_of_tungsten_to_daylight() {
    within(mired_shift(3200.0, 5500.0), -131.0, 0.5);
    near(shifted_k(3200.0, mired_shift(3200.0, 5500.0)), 5500.0, 1e-9);
}

/// A tungsten lamp at half its light is about 8 % lower in colour temperature (rerating exponents of the
/// IES Lighting Handbook, from memory: 2^(−0.42/3.38) = 0.917).
#[test]
fn dimming_warms_tungsten() {
    near(dimmed_tungsten_k(3200.0, 0.5), 3200.0 * 0.9175, 1e-3);
}

/// 1 fc = 10.7639 lx; 1 ft = 0.3048 m exactly (NIST Special Publication 811).
#[test]
fn units() {
    within(LX_PER_FC, 10.763_91, 1e-5);
    assert_eq!(M_PER_FT, 0.3048);
}

/// 2 kW on 230 V is 8.7 A; a 16 A breaker carries 12.8 A continuously (the 80 % rule of NEC 210.20(A), and
/// common code practice; local code decides).
#[test]
fn current_and_continuous_load() {
    let mut plan = tapemark::files::demo();
    plan.rigs[0].fixtures[1].watts = 2000.0;
    plan.rigs[0].fixtures[1].outlet = Some("outlet-3".into());
    let all = loads(&plan, &plan.rigs[0]);
    let corridor = all.iter().find(|c| c.circuit.as_str() == "circuit-2").unwrap();
    within(corridor.current_a, 8.70, 0.005);
    near(all[0].limit_a, 12.8, 1e-12);
    near(corridor.limit_a, 8.0, 1e-12);
    let notices = tapemark_core::notices::of_plan(&plan);
    assert!(notices.iter().any(|n| n.code == "circuit-overloaded"));
}

/// Eye height 0.936 and shoulder height 0.818 of stature (Drillis & Contini 1966, from memory).
#[test]
fn a_standing_body() {
    let person = Person {
        id: "a".into(),
        name: "A".into(),
        height_m: 1.75,
        build: Build::Medium,
        from: None,
        until: None,
        unknown: Unknown::new(),
    };
    let body = tapemark_core::scene::stand(&person, Pose::Standing, glam::DVec2::ZERO, 0.0, None);
    within(body.head.z, 0.936 * 1.75, 0.01);
    within(body.shoulder_m, 0.818 * 1.75, 1e-9);
    within(body.crown_m, 1.75, 1e-12);
}
