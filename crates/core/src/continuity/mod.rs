//! Whether the light of two shots that cut together matches, and how to make it.

mod carry;
mod lamps;

pub use carry::{CarriedLamp, CarryOver, carry_over};

use crate::colour::{Xyz, mired_shift, planck_xyz};
use crate::geometry::OwnerIx;
use crate::light::{FINE_PATCH_M, Reading, Role, Spot, Transport, face_readings, hair_receiver, reading, spot};
use crate::optics;
use crate::plan::{FixtureId, MatchLimits, Person, PersonId, Plan, Shot, ShotId};
use crate::scene::{Placed, Scene, View};
use glam::{DVec2, DVec3};
use palette::{Lab, white_point};
use rayon::prelude::*;
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use tapemark_words::{figure, say, signed};

/// The light on one face in one shot, as it is compared.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FaceLight {
    /// Which shot.
    pub shot: ShotId,
    /// The moment, seconds.
    pub at_s: f64,
    /// The lamp that measures as key; absent: none from the front.
    pub key: Option<FixtureId>,
    /// Its name.
    pub key_name: String,
    /// Key's direction on the plan from the lens, degrees, positive to the lens's right.
    pub key_across_deg: Option<f64>,
    /// Key's height over the face, degrees.
    pub key_up_deg: Option<f64>,
    /// Key and fill over fill, stops.
    pub key_fill_stops: Option<f64>,
    /// Face over what the exposure wants, stops.
    pub face_stops: Option<f64>,
    /// CIE 1931 chromaticity.
    pub xy: Option<[f64; 2]>,
    /// Correlated colour temperature, kelvin.
    pub cct_k: Option<f64>,
    /// CIELAB of a middle-grey card at the face, at the plan's white balance.
    pub lab: Option<[f64; 3]>,
    /// Wall behind the face, stops from middle grey.
    pub background_stops: Option<f64>,
    /// Light on the hair from behind, stops over the face's reading.
    pub hair_stops: Option<f64>,
}

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Compared {
    /// Key direction relative to the lens.
    KeyDirection,
    /// Key:fill.
    KeyFill,
    /// Level on the face.
    Face,
    /// Colour, CIEDE2000.
    Colour,
    /// Colour temperature.
    ColourTemperature,
    /// Level behind the face.
    Background,
    /// Light on the hair.
    Hair,
}

impl Compared {
    /// In words.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Compared::KeyDirection => say!("key-direction"),
            Compared::KeyFill => say!("key-fill"),
            Compared::Face => say!("face-level"),
            Compared::Colour => say!("colour-ciede2000"),
            Compared::ColourTemperature => say!("colour-temperature"),
            Compared::Background => say!("background"),
            Compared::Hair => say!("hair-light"),
        }
    }
    /// Unit of the difference.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Compared::KeyDirection => "°",
            Compared::Colour => "",
            Compared::ColourTemperature => say!("mired"),
            _ => say!("stops"),
        }
    }
    fn tolerance(self, m: &MatchLimits) -> f64 {
        match self {
            Compared::KeyDirection => m.key_angle_deg,
            Compared::KeyFill => m.key_fill_stops,
            Compared::Face => m.face_stops,
            Compared::Colour => m.delta_e,
            Compared::ColourTemperature => m.mired,
            Compared::Background => m.background_stops,
            Compared::Hair => m.hair_stops,
        }
    }
}

/// One difference between two shots.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    /// Of what.
    pub what: Compared,
    /// Second shot less the first; for direction and colour the distance. Absent: one of the two has none.
    pub difference: Option<f64>,
    /// How much is tolerated.
    pub tolerance: f64,
    /// Whether it is within that.
    pub within: bool,
}

impl Difference {
    /// What differs and by how much: `key:fill +0.4 stops`.
    #[must_use]
    pub fn in_words(&self) -> String {
        let (what, unit) = (self.what.label(), self.what.unit());
        let Some(v) = self.difference else { return say!("cannot-be-measured-in-both", what) };
        match self.what {
            Compared::KeyDirection => format!("{} {}{}", what, figure(v, 0), unit),
            Compared::Colour => format!("{} {}", what, figure(v, 1)),
            Compared::ColourTemperature => format!("{} {} {}", what, signed(v, 0), unit),
            _ => format!("{} {} {}", what, signed(v, 2), unit),
        }
    }
}

/// Two shots compared on one face.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Match {
    /// Whose face.
    pub person: PersonId,
    /// Their name.
    pub name: String,
    /// The light in the earlier shot.
    pub first: FaceLight,
    /// The light in the later shot.
    pub second: FaceLight,
    /// Difference by difference.
    pub differences: Vec<Difference>,
    /// Whether all are within tolerance.
    pub matches: bool,
}

/// One shot's scene with its light solved.
pub struct Lit<'a> {
    /// The shot.
    pub shot: &'a Shot,
    /// The moment.
    pub scene: Scene,
    /// Its light.
    pub light: Transport,
}

impl<'a> Lit<'a> {
    /// A shot at a moment.
    #[must_use]
    pub fn of(plan: &Plan, shot: &'a Shot, at_s: f64) -> Lit<'a> {
        Lit::of_scene(plan, shot, Scene::of(plan, shot, at_s), None)
    }

    /// As [`Lit::of`] for a scene already placed; what `before` has in common with it is not worked out again.
    fn of_scene(plan: &Plan, shot: &'a Shot, scene: Scene, before: Option<&Transport>) -> Lit<'a> {
        let light = Transport::of(plan, plan.shot_rig(shot).as_deref(), &scene, FINE_PATCH_M, before);
        Lit { shot, scene, light }
    }
}

/// CIEDE2000 colour difference (CIE 142, ISO/CIE 11664-6) of two CIELAB colours.
#[must_use]
pub fn ciede2000(a: [f64; 3], b: [f64; 3]) -> f64 {
    // The white point is only a label here: the formula sees L*, a*, b* alone.
    let lab = |c: [f64; 3]| Lab::<white_point::D50, f64>::new(c[0], c[1], c[2]);
    palette::color_difference::Ciede2000::difference(lab(a), lab(b))
}

/// CIELAB of a middle-grey card (L* 50) in a light, at a white balance: what is left is the light's colour.
#[must_use]
pub fn grey_card_lab(light: Xyz, white_balance_k: f64) -> Option<[f64; 3]> {
    const GREY: f64 = 0.184;
    let white = planck_xyz(white_balance_k);
    if light.y <= 0.0 || white.y <= 0.0 {
        return None;
    }
    let f = |v: f64, n: f64| {
        let t = v / n;
        if t > (6.0_f64 / 29.0).powi(3) { t.cbrt() } else { t * (29.0_f64 / 6.0).powi(2) / 3.0 + 4.0 / 29.0 }
    };
    let k = GREY / light.y;
    let (fx, fy, fz) = (f(light.x * k, white.x / white.y), f(light.y * k, 1.0), f(light.z * k, white.z / white.y));
    Some([116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)])
}

/// Angle between two directions given across and up, degrees.
fn angle_between(a: (f64, f64), b: (f64, f64)) -> f64 {
    let v = |(across, up): (f64, f64)| crate::geometry::direction3(across, up);
    v(a).dot(v(b)).clamp(-1.0, 1.0).acos().to_degrees()
}

/// All light on the hair, bounced light with it, lux.
fn hair_lx(plan: &Plan, lit: &Lit<'_>, p: &Placed, view: &View) -> f64 {
    reading(plan, &lit.scene, &lit.light, &hair_receiver(p, view.eye), OwnerIx::NONE).illuminance_lx
}

/// What falls from a person's face to the wall behind it, as the lens sees it.
fn behind(plan: &Plan, lit: &Lit<'_>, p: &Placed, view: &View) -> Option<Spot> {
    spot(plan, &lit.scene, &lit.light, view.eye, p.face() - view.eye)
}

/// A key's direction at a face from the lens: across, positive to the lens's right, and up, degrees.
fn lens_angles(face: DVec3, eye: DVec3, lamp: DVec3) -> (f64, f64) {
    let v = lamp - face;
    let bearing = |d: DVec2| crate::geometry::bearing_deg(d);
    let across = -crate::scene::turn_deg(bearing((eye - face).truncate()), bearing(v.truncate()));
    (across, v.z.atan2(v.truncate().length()).to_degrees())
}

/// Measures the light on a face; none when the person is not there or there is no camera.
#[must_use]
pub fn face_light(plan: &Plan, lit: &Lit<'_>, person: &PersonId) -> Option<FaceLight> {
    let p = lit.scene.placed(person)?;
    let view = lit.scene.view.as_ref()?;
    let camera = plan.shot_camera(lit.shot)?;
    let (_, r) = face_readings(plan, &lit.scene, &lit.light).into_iter().find(|(id, _)| id == person)?;
    let key = r.parts.iter().position(|x| x.role == Role::Key);
    let angles = key.map(|i| lens_angles(p.face(), view.eye, lit.light.emitters()[i].seen_from(p.face())));
    let total = r.illuminance_lx;
    let fill = key.map(|i| total - r.parts[i].direct_lx);
    let stops = |v: f64| Some(v.log2()).filter(|s| s.is_finite());
    Some(FaceLight {
        shot: lit.shot.id.clone(),
        at_s: lit.scene.seconds,
        key: key.map(|i| r.parts[i].fixture.clone()),
        key_name: key.map_or_else(String::new, |i| r.parts[i].name.clone()),
        key_across_deg: angles.map(|a| a.0),
        key_up_deg: angles.map(|a| a.1),
        key_fill_stops: fill.and_then(|f| stops(total / f)),
        face_stops: Some(optics::stops_between(total, optics::wanted_lx(camera, &plan.exposure)))
            .filter(|s| s.is_finite()),
        xy: r.xy,
        cct_k: r.cct_k,
        lab: colour_of(&r).and_then(|c| grey_card_lab(c, plan.exposure.white_balance_k)),
        background_stops: behind(plan, lit, p, view).and_then(|s| s.falls_at_stops),
        hair_stops: stops(hair_lx(plan, lit, p, view) / total),
    })
}

fn colour_of(r: &Reading) -> Option<Xyz> {
    let [x, y] = r.xy?;
    (y > 0.0).then(|| Xyz { x: x / y, y: 1.0, z: (1.0 - x - y) / y })
}

/// Compares two measured faces.
#[must_use]
pub fn differences(limits: &MatchLimits, a: &FaceLight, b: &FaceLight) -> Vec<Difference> {
    let less = |x: Option<f64>, y: Option<f64>| x.zip(y).map(|(x, y)| y - x);
    let direction =
        a.key_across_deg.zip(a.key_up_deg).zip(b.key_across_deg.zip(b.key_up_deg)).map(|(x, y)| angle_between(x, y));
    let list = [
        (Compared::KeyDirection, direction),
        (Compared::KeyFill, less(a.key_fill_stops, b.key_fill_stops)),
        (Compared::Face, less(a.face_stops, b.face_stops)),
        (Compared::Colour, a.lab.zip(b.lab).map(|(x, y)| ciede2000(x, y))),
        (Compared::ColourTemperature, a.cct_k.zip(b.cct_k).map(|(x, y)| mired_shift(x, y))),
        (Compared::Background, less(a.background_stops, b.background_stops)),
        (Compared::Hair, less(a.hair_stops, b.hair_stops)),
    ];
    list.into_iter()
        .map(|(what, difference)| {
            let tolerance = what.tolerance(limits);
            Difference { what, difference, tolerance, within: difference.is_none_or(|d| d.abs() <= tolerance + 1e-9) }
        })
        .collect()
}

/// Pairs of shots that cut together, each once, in the order of the storyboard.
#[must_use]
pub fn pairs(plan: &Plan) -> Vec<(&Shot, &Shot)> {
    let mut out = Vec::new();
    for (i, a) in plan.shots.iter().enumerate() {
        for b in &plan.shots[i + 1..] {
            if a.cuts_with.contains(&b.id) || b.cuts_with.contains(&a.id) {
                out.push((a, b));
            }
        }
    }
    out
}

/// Compares two shots at the cut: the earlier at its last moment, the later at its first, on every face that
/// either wants and both show.
#[must_use]
pub fn matched(plan: &Plan, a: &Shot, b: &Shot) -> Vec<Match> {
    of_pairs(plan, &[(a, b)], |_| None)
}

/// People on whose faces two scenes are compared.
fn compared<'p>(plan: &'p Plan, a: (&Shot, &Scene), b: (&Shot, &Scene)) -> Vec<&'p Person> {
    let wanted = |p: &&Person| [a, b].iter().any(|(shot, _)| shot.faces.contains(&p.id));
    let shown = |scene: &Scene, id: &PersonId| {
        scene.view.as_ref().zip(scene.placed(id)).is_some_and(|(v, p)| {
            // In frame and turned to the lens: a back of the head has no key.
            crate::blocking::contains(v, p.face()) && p.face_normal().dot(v.eye - p.face()) > 0.0
        })
    };
    plan.cast.iter().filter(wanted).filter(|p| shown(a.1, &p.id) && shown(b.1, &p.id)).collect()
}

/// As [`matched`], on light already solved.
#[must_use]
pub fn matched_lit(plan: &Plan, a: &Lit<'_>, b: &Lit<'_>) -> Vec<Match> {
    compared(plan, (a.shot, &a.scene), (b.shot, &b.scene))
        .into_iter()
        .filter_map(|p| {
            let (first, second) = (face_light(plan, a, &p.id)?, face_light(plan, b, &p.id)?);
            let differences = differences(&plan.limits.matching, &first, &second);
            let matches = differences.iter().all(|d| d.within);
            Some(Match { person: p.id.clone(), name: p.name.clone(), first, second, differences, matches })
        })
        .collect()
}

/// Every pair of shots that cut together, compared.
#[must_use]
pub fn of_plan(plan: &Plan) -> Vec<Match> {
    of_pairs(plan, &pairs(plan), |_| None)
}

/// Pairs of shots, compared. A shot's light already solved, if there is some, is not solved again where nothing
/// has moved since.
#[must_use]
pub fn of_pairs<'t>(
    plan: &Plan,
    pairs: &[(&Shot, &Shot)],
    before: impl Fn(&Shot) -> Option<&'t Transport> + Sync,
) -> Vec<Match> {
    // The scene of every shot as it begins and as it ends, where a cut asks for it: most cuts share theirs.
    let mut scenes: Vec<(&Shot, Scene)> = Vec::new();
    let mut places: HashMap<(&str, bool), usize> = HashMap::new();
    let mut cuts: Vec<[usize; 2]> = Vec::new();
    for (a, b) in pairs {
        cuts.push([(*a, true), (*b, false)].map(|(shot, ends)| {
            *places.entry((shot.id.as_str(), ends)).or_insert_with(|| {
                let at_s = if ends { shot.length_s } else { 0.0 };
                scenes.push((shot, Scene::of(plan, shot, at_s)));
                scenes.len() - 1
            })
        }));
    }
    let seen = |i: usize| (scenes[i].0, &scenes[i].1);
    cuts.retain(|[a, b]| !compared(plan, seen(*a), seen(*b)).is_empty());
    // Light is solved where a face is compared only.
    let asked: HashSet<usize> = cuts.iter().flatten().copied().collect();
    let lit: Vec<Option<Lit<'_>>> = scenes
        .into_par_iter()
        .enumerate()
        .map(|(i, (shot, scene))| asked.contains(&i).then(|| Lit::of_scene(plan, shot, scene, before(shot))))
        .collect();
    let of_cut = |[a, b]: [usize; 2]| lit[a].as_ref().zip(lit[b].as_ref()).map(|(a, b)| matched_lit(plan, a, b));
    cuts.into_par_iter().filter_map(of_cut).flatten_iter().collect()
}
