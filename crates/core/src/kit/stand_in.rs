//! What takes the place of a lamp that is missing, and what it costs in light and control.

use super::{KitFile, Thing};
use crate::colour::{cct_duv, mired_shift};
use crate::continuity::Lit;
use crate::light::{Emitter, Receiver, background, face_readings, light_colour, solve};
use crate::plan::{BarnDoors, Fixture, FixtureId, HeadClass, Plan, Shot};
use glam::DVec3;
use serde::Serialize;

/// Whether foil makes leaves for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Foil {
    /// Leaves of foil where the lamp it stands for has doors.
    Leaves,
    /// As it is.
    None,
}

/// A lamp in place of another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StandIn {
    /// The lamp that is missing.
    pub missing: String,
    /// Where it was tried: the shot and the lamp.
    pub shot: String,
    /// The lamp of the plan.
    pub fixture: FixtureId,
    /// What takes its place.
    pub by: String,
    /// Whether foil makes its leaves.
    pub foil: Foil,
    /// Light lost where it counts, both at full, stops; negative: gained.
    pub loss_stops: f64,
    /// What dimmer and scrims of the missing lamp held back, stops: loss up to this is made up for.
    pub in_hand_stops: f64,
    /// Light on the wall behind against the light where it counts, more than before, stops.
    pub wall_stops: Option<f64>,
    /// Share of its light that leaves outside where the missing lamp throws a tenth of its peak or more, 0–1.
    pub spill_share: f64,
    /// The same of the missing lamp itself.
    pub spill_share_before: f64,
    /// Colour shift, mired.
    pub mired: Option<f64>,
    /// Price of a day, when it is not owned.
    pub rent_price: Option<f64>,
    /// Whether it is owned.
    pub owned: bool,
}

/// Lamps of the kit in place of those that are missing, best first for each.
#[must_use]
pub fn stand_ins(plan: &Plan, kit: &KitFile, missing: &[Thing]) -> Vec<StandIn> {
    let mut out = Vec::new();
    for thing in missing {
        // A practical is in the picture: nothing stands in for it.
        if matches!(thing, Thing::Lamp { class: HeadClass::Practical, .. }) {
            continue;
        }
        let Some((shot, f)) = used_in(plan, thing) else { continue };
        let lit = Lit::of(plan, shot, 0.0);
        let Some(place) = Place::of(plan, &lit, f) else { continue };
        let mut found: Vec<StandIn> = Vec::new();
        for item in &kit.items {
            let Thing::Lamp { class, lamp, watts } = &item.thing else { continue };
            let busy =
                plan.shot_fixtures(shot).iter().filter(|f| f.on && item.thing.serves(&thing_of(f))).count() as f64;
            let free = item.count > busy;
            if !free && item.rent_price.is_none() && item.buy_price.is_none() {
                continue;
            }
            if item.thing.serves(thing)
                || matches!(class, HeadClass::Practical | HeadClass::BareBulb)
                || found.iter().any(|s| s.by == item.thing.name())
            {
                continue;
            }
            let usual = Fixture::new(f.id.clone(), *class, f.position_m, f.pan_deg);
            let cct_k = class.usual().3;
            let base = Fixture {
                head: usual.head,
                lamp: *lamp,
                watts: *watts,
                cct_k: if *lamp == class.usual().1 {
                    cct_k
                } else if lamp.hot() {
                    3200.0
                } else {
                    5600.0
                },
                output_lm: None,
                candela: None,
                spectrum: Default::default(),
                grid_cutoff_deg: None,
                barn_doors: None,
                ..f.clone()
            };
            let takes_doors = matches!(class, HeadClass::OpenFace | HeadClass::Fresnel);
            let doors = f.barn_doors.filter(|_| base.head.beam_field_deg().is_some());
            let mut ways: Vec<(Foil, Option<BarnDoors>)> = vec![(Foil::None, doors.filter(|_| takes_doors))];
            if doors.is_some() && !takes_doors {
                ways.push((Foil::Leaves, doors));
            }
            for (foil, barn_doors) in ways {
                let tried = Fixture { barn_doors, ..base.clone() };
                found.push(place.judge(&tried, thing, &item.thing, foil, (free, item.rent_price)));
            }
        }
        found.retain(|s| s.loss_stops.is_finite() && s.loss_stops < 6.0);
        found.sort_by(|a, b| {
            let worth = |s: &StandIn| {
                (s.loss_stops - s.in_hand_stops).max(0.0)
                    + 2.0 * (s.spill_share - s.spill_share_before)
                    + if s.owned { 0.0 } else { 1.0 }
            };
            worth(a).total_cmp(&worth(b))
        });
        found.truncate(4);
        out.extend(found);
    }
    out
}

/// The first lamp of the plan that is such a thing.
fn used_in<'a>(plan: &'a Plan, thing: &Thing) -> Option<(&'a Shot, &'a Fixture)> {
    plan.shots.iter().filter(|s| s.variant_of.is_none()).find_map(|s| {
        let is = |f: &&Fixture| thing_of(f) == *thing;
        plan.shot_fixtures(s).into_iter().filter(|f| f.on).find(is).map(|f| (s, f))
    })
}

/// A lamp of the plan as a thing of the kit.
fn thing_of(f: &Fixture) -> Thing {
    Thing::Lamp { class: f.head.class(), lamp: f.lamp, watts: f.watts }
}

/// Directions tried for where a lamp's light goes.
const DIRECTIONS: usize = 4_096;

/// Share of a lamp's light that leaves outside the directions in which another throws a tenth of its peak or
/// more: its field, cut by its doors.
fn spill_share(f: &Fixture, field_of: &Fixture) -> f64 {
    let aimed = |f: &Fixture| Emitter::of(&Fixture { pan_deg: 0.0, tilt_deg: 0.0, dimmer: 1.0, on: true, ..f.clone() });
    let (lamp, field) = (aimed(f), aimed(field_of));
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let directions = (0..DIRECTIONS).map(|i| {
        let y = 1.0 - 2.0 * (i as f64 + 0.5) / DIRECTIONS as f64;
        let (s, c) = (golden * i as f64).sin_cos();
        let r = (1.0 - y * y).sqrt();
        DVec3::new(r * c, y, r * s)
    });
    let list: Vec<(f64, f64)> = directions.map(|d| (lamp.intensity_cd(d), field.intensity_cd(d))).collect();
    let peak = list.iter().map(|l| l.1).fold(0.0, f64::max);
    let all: f64 = list.iter().map(|l| l.0).sum();
    let outside: f64 = list.iter().filter(|l| l.1 < peak * 0.1).map(|l| l.0).sum();
    if all > 0.0 { outside / all } else { 0.0 }
}

/// Where a lamp's light counts and where it does harm.
struct Place<'a> {
    lit: &'a Lit<'a>,
    before: &'a Fixture,
    counts: Receiver,
    wall: Option<Receiver>,
}

impl<'a> Place<'a> {
    fn of(plan: &Plan, lit: &'a Lit<'a>, before: &'a Fixture) -> Option<Place<'a>> {
        // It counts where the lamp does most: at the face it lights best.
        let readings = face_readings(plan, &lit.scene, &lit.light);
        let part =
            |r: &crate::light::Reading| r.parts.iter().find(|p| p.fixture == before.id).map_or(0.0, |p| p.direct_lx);
        let (_, best) = readings.iter().max_by(|a, b| part(&a.1).total_cmp(&part(&b.1)))?;
        let at = DVec3::from_array(best.point_m);
        let lamp = Emitter::of(before).at();
        let toward = (lamp - at).try_normalize()?;
        let counts = Receiver { at: at + toward * 0.25, toward, receptor: crate::plan::Receptor::Flat };
        let wall = background(plan, lit.shot, &lit.scene, &lit.light).map(|s| {
            let normal = DVec3::from_array(s.normal);
            Receiver {
                at: DVec3::from_array(s.point_m) + normal * 5e-3,
                toward: normal,
                receptor: crate::plan::Receptor::Flat,
            }
        });
        Some(Place { lit, before, counts, wall })
    }

    /// Light of a lamp at full, without scrims, lux: where it counts, and on the wall.
    fn at_full(&self, f: &Fixture) -> (f64, Option<f64>) {
        let full = Fixture { dimmer: 1.0, scrim_stops: 0.0, on: true, ..f.clone() };
        let e = Emitter::of(&full);
        let lx = |to: &Receiver| e.gain * solve(&self.lit.scene.solids, &e, to, crate::geometry::OwnerIx::NONE);
        (lx(&self.counts), self.wall.as_ref().map(lx))
    }

    fn judge(&self, tried: &Fixture, missing: &Thing, by: &Thing, foil: Foil, have: (bool, Option<f64>)) -> StandIn {
        let (was, was_wall) = self.at_full(self.before);
        let (now, now_wall) = self.at_full(tried);
        let wall = was_wall.zip(now_wall).map(|(w, n)| ((n / now) / (w / was)).log2()).filter(|s| s.is_finite());
        let colour = |f: &Fixture| cct_duv(light_colour(&Fixture { dimmer: 1.0, ..f.clone() })).map(|c| c.0);
        StandIn {
            missing: missing.name(),
            shot: self.lit.shot.name.clone(),
            fixture: self.before.id.clone(),
            by: by.name(),
            foil,
            loss_stops: (was / now).log2(),
            in_hand_stops: self.before.scrim_stops - self.before.dimmer.max(1e-3).log2(),
            wall_stops: wall,
            spill_share: spill_share(tried, self.before),
            spill_share_before: spill_share(self.before, self.before),
            mired: colour(self.before).zip(colour(tried)).map(|(a, b)| mired_shift(a, b)),
            rent_price: have.1,
            owned: have.0,
        }
    }
}
