//! Sun and sky, and what of them comes through the openings.

use super::area::{self, is_enough, per_luminance};
use super::beyond::{before_openings, hidden_outside};
use super::open::{OUTSIDE_M, OpenSky, Roofs, sun_in_the_open};
use super::{Emitter, Fineness, Outside, Receiver, Shape};
use crate::colour::{Bands, Xyz};
use crate::geometry::{Eight, Few, OwnerIx, Solids, Walls, direction3, point_in_polygon};
use crate::plan::{Clock, Daylight, FixtureId, OpeningKind, Plan};
use glam::{DVec2, DVec3};
use solar_positioning::time::JulianDate;
use solar_positioning::{Location, SolarPositions, delta_t};
use std::sync::Arc;
use tapemark_words::say;
use wide::f32x8;

/// Where the sun stands, as seen from the place.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct SunPlace {
    /// Above the horizon, degrees, with refraction.
    pub elevation_deg: f64,
    /// Clockwise from true north, degrees.
    pub azimuth_deg: f64,
}

/// How much higher refraction puts what stands at a true elevation, degrees, at 1013 mbar and 15 °C: Sæmundsson's
/// formula as in Reda & Andreas 2004; under −0.575°, where it has no meaning, falling as 1/tan (as in NOAA's solar
/// calculator, from memory), so that the sun goes down without a jump.
fn refraction_deg(true_deg: f64) -> f64 {
    const LOWEST_DEG: f64 = -0.575;
    let air = (1013.25 / 1010.0) * (283.0 / 288.15);
    let raised = |h: f64| air * 1.02 / (60.0 * (h + 10.3 / (h + 5.11)).to_radians().tan());
    if true_deg >= LOWEST_DEG {
        raised(true_deg)
    } else {
        raised(LOWEST_DEG) * LOWEST_DEG.to_radians().tan() / true_deg.max(-89.0).to_radians().tan()
    }
}

/// The sun by the NREL solar position algorithm (Reda & Andreas 2004), ±0.0003°. Hours count from midnight
/// UTC and may lie outside the day.
#[must_use]
pub fn sun_place(latitude_deg: f64, longitude_deg: f64, date: crate::plan::Date, utc_h: f64) -> Option<SunPlace> {
    let delta = delta_t::estimate_from_date(date.year, date.month).ok()?;
    let midnight = JulianDate::from_utc(date.year, date.month, date.day, 0, 0, 0.0, delta).ok()?;
    let time = JulianDate::new(midnight.julian_date() + utc_h / 24.0, delta).ok()?;
    let place = Location { latitude: latitude_deg, longitude: longitude_deg };
    let sun = SolarPositions::new().at_from_julian(time, place, 0.0, None).ok()?;
    let true_deg = sun.elevation_angle();
    Some(SunPlace { elevation_deg: true_deg + refraction_deg(true_deg), azimuth_deg: sun.azimuth() })
}

/// The sun of a plan at a time on its clock; none without daylight or a place on the globe.
#[must_use]
pub fn plan_sun(plan: &Plan, clock: Clock) -> Option<SunPlace> {
    let day = plan.daylight.as_ref()?;
    let (lat, long) = (plan.location.latitude_deg?, plan.location.longitude_deg?);
    sun_place(lat, long, day.date, clock.hours() - day.utc_offset_h)
}

/// Unit vector on the plan toward the sun.
#[must_use]
pub fn toward_sun(plan: &Plan, sun: &SunPlace) -> DVec3 {
    direction3(plan.location.north_deg + sun.azimuth_deg, sun.elevation_deg)
}

/// a, b, c, d, e of the fifteen skies of CIE S 011 (ISO 15469), from memory.
const SKIES: [[f64; 5]; 15] = [
    [4.0, -0.70, 0.0, -1.0, 0.0],
    [4.0, -0.70, 2.0, -1.5, 0.15],
    [1.1, -0.80, 0.0, -1.0, 0.0],
    [1.1, -0.80, 2.0, -1.5, 0.15],
    [0.0, -1.00, 0.0, -1.0, 0.0],
    [0.0, -1.00, 2.0, -1.5, 0.15],
    [0.0, -1.00, 5.0, -2.5, 0.30],
    [0.0, -1.00, 10.0, -3.0, 0.45],
    [-1.0, -0.55, 2.0, -1.5, 0.15],
    [-1.0, -0.55, 5.0, -2.5, 0.30],
    [-1.0, -0.55, 10.0, -3.0, 0.45],
    [-1.0, -0.32, 10.0, -3.0, 0.45],
    [-1.0, -0.32, 16.0, -3.0, 0.30],
    [-1.0, -0.15, 16.0, -3.0, 0.30],
    [-1.0, -0.15, 24.0, -2.8, 0.15],
];

/// Steps of the tables of a sky's two functions.
const STEPS: usize = 1024;

/// A sky's gradation by the sine of the elevation, and its indicatrix by the sine of half the angle to the sun, in even
/// steps from 0 to 1: a point is asked for hundreds of directions, each of three transcendental functions.
#[derive(Debug, Clone, PartialEq)]
struct Tables {
    gradation: Vec<f64>,
    scattering: Vec<f64>,
}

impl Tables {
    fn of([a, b, c, k, e]: [f64; 5]) -> Tables {
        // The gradation has no value at the horizon itself.
        let gradation = |z: f64| (1.0 + a * (b / z.max(0.01)).exp()).max(0.0);
        let scattering = |half: f64| {
            let chi = 2.0 * half.min(1.0).asin();
            let cos = chi.cos();
            (1.0 + c * ((k * chi).exp() - (k * std::f64::consts::FRAC_PI_2).exp()) + e * cos * cos).max(0.0)
        };
        let table = |f: &dyn Fn(f64) -> f64| (0..=STEPS).map(|n| f(n as f64 / STEPS as f64)).collect();
        Tables { gradation: table(&gradation), scattering: table(&scattering) }
    }

    fn at(table: &[f64], x: f64) -> f64 {
        let x = x.clamp(0.0, 1.0) * STEPS as f64;
        let n = (x as usize).min(STEPS - 1);
        table[n] + (table[n + 1] - table[n]) * (x - n as f64)
    }

    /// φ by the sine of the elevation.
    fn gradation(&self, z: f64) -> f64 {
        Tables::at(&self.gradation, z)
    }

    /// f by the cosine of the angle to the sun.
    fn scattering(&self, cos: f64) -> f64 {
        Tables::at(&self.scattering, ((1.0 - cos).max(0.0) * 0.5).sqrt())
    }
}

/// A sky and the ground under it: luminance by direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Sky {
    terms: Tables,
    sun: DVec3,
    /// cd/m² per unit of the relative luminance.
    scale: f64,
    ground_cd_m2: f64,
    /// Light of the whole sky on open level ground, lux.
    pub diffuse_lx: f64,
    /// Light of the sun on a surface facing it, lux; 0 behind clouds.
    pub direct_lx: f64,
}

impl Sky {
    /// The sky of a day with the sun at a place; none from nautical dusk on, when the sun is 12° down.
    ///
    /// Relative luminance by CIE S 011; its sum over the sky is brought to the horizontal illuminance of
    /// [`diffuse_lx`], and the sun to 127.5·exp(−c·m) klx with c 0.21 for clear and 0.80 for partly cloudy skies
    /// (IES Handbook, from memory), times the part of its disc that is up.
    #[must_use]
    pub fn of(day: &Daylight, sun: DVec3) -> Option<Sky> {
        let sine = sun.z.clamp(-1.0, 1.0);
        let elevation_deg = sine.asin().to_degrees();
        if elevation_deg < DARK_DEG {
            return None;
        }
        let haze = match day.sky_type {
            ..=5 => None,
            6..=10 => Some(0.80),
            _ => Some(0.21),
        };
        let diffuse_lx = diffuse_lx(day.sky_type, elevation_deg);
        let sunlight = haze.map_or(0.0, |k: f64| 127_500.0 * (-k * air_mass(sine)).exp());
        let direct_lx = sunlight * disc_up(elevation_deg);
        // Under the horizon the glow stays where the sun went down.
        let sun = sun.with_z(sun.z.max(0.0)).try_normalize().unwrap_or(DVec3::Z);
        let terms = Tables::of(SKIES[usize::from(day.sky_type.clamp(1, 15)) - 1]);
        let mut sky = Sky { terms, sun, scale: 1.0, ground_cd_m2: 0.0, diffuse_lx, direct_lx };
        sky.scale = diffuse_lx / sky.horizontal();
        let ground = day.ground_reflectance * (diffuse_lx + direct_lx * sine.max(0.0));
        sky.ground_cd_m2 = ground / std::f64::consts::PI;
        Some(sky)
    }

    /// Luminance relative to nothing in particular: φ(Z)·f(χ).
    fn relative(&self, d: DVec3) -> f64 {
        self.terms.gradation(d.z) * self.terms.scattering(d.dot(self.sun))
    }

    /// Illuminance of the relative sky on level ground: midpoint rule over altitude and azimuth.
    fn horizontal(&self) -> f64 {
        let (rings, sectors) = (90, 180);
        let mut sum = 0.0;
        for i in 0..rings {
            let (sin, cos) = ((f64::from(i) + 0.5) * std::f64::consts::FRAC_PI_2 / f64::from(rings)).sin_cos();
            for j in 0..sectors {
                let (s, c) = ((f64::from(j) + 0.5) * std::f64::consts::TAU / f64::from(sectors)).sin_cos();
                sum += self.relative(DVec3::new(cos * c, cos * s, sin)) * sin * cos;
            }
        }
        sum * std::f64::consts::FRAC_PI_2 / f64::from(rings) * std::f64::consts::TAU / f64::from(sectors)
    }

    /// Share of the ground's light that the sun gives it; the sky gives the rest.
    #[must_use]
    pub fn ground_by_sun(&self) -> f64 {
        let direct = self.direct_lx * self.sun.z.max(0.0);
        direct / (direct + self.diffuse_lx).max(1e-12)
    }

    /// Luminance in a direction from the place, cd/m²: sky above the horizon, ground below.
    #[must_use]
    pub fn luminance_cd_m2(&self, d: DVec3) -> f64 {
        if d.z > 0.0 { self.scale * self.relative(d) } else { self.ground_cd_m2 }
    }
}

/// The sun's elevation at nautical dusk, degrees: below it there is no light in the sky to work by.
pub(crate) const DARK_DEG: f64 = -12.0;
/// Up to this elevation a clear sky's light grows by equal parts a degree, degrees.
const LOW_SUN_DEG: f64 = 10.0;
/// Half of the sun's disc, degrees.
const SUN_RADIUS_DEG: f64 = 0.267;

/// Light of a sky on open level ground by the sun's elevation, lux.
///
/// By day A + B·sinᶜ(h) klx with (0.8, 15.5, 0.5) for clear, (0.3, 45, 1) for partly cloudy and (0.3, 21, 1) for
/// cloudy skies (IES Handbook, daylight availability, from memory); clear skies from there log-linear in elevation
/// between 10° and the horizon, where the square root would rise too steeply. Under the horizon the sky's own light
/// at the horizon falls as [`twilight_log_lx`] does.
#[must_use]
pub fn diffuse_lx(sky_type: u8, elevation_deg: f64) -> f64 {
    let (a, b, c) = match sky_type {
        ..=5 => (0.3, 21.0, 1.0),
        6..=10 => (0.3, 45.0, 1.0),
        _ => (0.8, 15.5, 0.5),
    };
    let by_day = |deg: f64| 1000.0 * (a + b * deg.to_radians().sin().powf(c));
    if elevation_deg < DARK_DEG {
        0.0
    } else if elevation_deg < 0.0 {
        1000.0 * a * 10.0_f64.powf(twilight_log_lx(elevation_deg) - twilight_log_lx(0.0))
    } else if elevation_deg < LOW_SUN_DEG && c < 1.0 {
        let low = 1000.0 * a;
        low * (by_day(LOW_SUN_DEG) / low).powf(elevation_deg / LOW_SUN_DEG)
    } else {
        by_day(elevation_deg)
    }
}

/// log₁₀ of the light on open level ground under a clear sky about sunset and in twilight, lux, by the sun's
/// elevation from 5° down to −12°: Janiczek & DeYoung, USNO Circular 171 (1987), cubics in elevation / 90°, from
/// memory; the pieces, which miss each other by 0.3 %, are joined where they meet.
#[must_use]
pub fn twilight_log_lx(elevation_deg: f64) -> f64 {
    const DAY: [f64; 4] = [2.88, 22.26, -207.64, 1034.30];
    const CIVIL: [f64; 4] = [2.88, 21.81, -258.11, -858.36];
    const NAUTICAL: [f64; 4] = [2.70, 12.17, -431.69, -1899.83];
    let (civil_from, nautical_from) = (-0.8, -5.0);
    let cubic = |[a, b, c, d]: [f64; 4], deg: f64| {
        let x = deg / 90.0;
        a + x * (b + x * (c + x * d))
    };
    let civil = |deg: f64| cubic(CIVIL, deg) + cubic(DAY, civil_from) - cubic(CIVIL, civil_from);
    let deg = elevation_deg.clamp(DARK_DEG, 5.0);
    if deg >= civil_from {
        cubic(DAY, deg)
    } else if deg >= nautical_from {
        civil(deg)
    } else {
        cubic(NAUTICAL, deg) + civil(nautical_from) - cubic(NAUTICAL, nautical_from)
    }
}

/// The part of the sun's disc above the horizon, by the elevation of its middle.
fn disc_up(elevation_deg: f64) -> f64 {
    let x = (elevation_deg / SUN_RADIUS_DEG).clamp(-1.0, 1.0);
    0.5 + (x * (1.0 - x * x).sqrt() + x.asin()) / std::f64::consts::PI
}

/// Air mass by the sine of the sun's elevation (Kasten & Young 1989).
fn air_mass(sine: f64) -> f64 {
    let sine = sine.clamp(0.0, 1.0);
    let degrees = sine.asin().to_degrees();
    1.0 / (sine + 0.505_72 * (degrees + 6.079_95).powf(-1.6364))
}

/// Colour of direct sunlight, Y = 1: a 5778 K radiator through Rayleigh and aerosol extinction,
/// exp(−0.008735·λ^−4.08·m) and exp(−β·λ^−1.3·m) with λ in micrometres and β = 0.07 (Iqbal 1983, from
/// memory).
#[must_use]
pub fn sun_colour(sine: f64) -> Xyz {
    let m = air_mass(sine);
    let passed = Bands::from_fn(|nm| {
        let um = nm / 1000.0;
        (-(0.008_735 * um.powf(-4.08) + 0.07 * um.powf(-1.3)) * m).exp()
    });
    let light = Bands::planck(5778.0).times(&passed);
    light.normalised().map_or(crate::colour::planck_xyz(5500.0), |b| b.xyz())
}

/// A hole that daylight comes in by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Middle.
    pub centre: DVec3,
    /// Half its width, as a vector.
    pub across: DVec3,
    /// Half its height, as a vector.
    pub up: DVec3,
    /// Unit vector into the room.
    pub inward: DVec3,
    /// Share of light the glass lets through.
    pub passes: f64,
}

impl Hole {
    /// Corners in order.
    #[must_use]
    pub fn corners(&self) -> [DVec3; 4] {
        let (c, a, u) = (self.centre, self.across, self.up);
        [c - a - u, c - a + u, c + a + u, c + a - u]
    }
    /// From its middle to its corners, metres.
    pub(super) fn reach_m(&self) -> f64 {
        (self.across.length_squared() + self.up.length_squared()).sqrt()
    }
    /// Illuminance at a receiver from an even luminance of one in it, nothing being in the way.
    pub(super) fn counts_for(&self, to: &Receiver) -> f64 {
        let mut corners = self.corners().map(|c| c - to.at);
        // Counter-clockwise seen from inside.
        if (corners[1] - corners[0]).cross(corners[2] - corners[0]).dot(self.inward) < 0.0 {
            corners.reverse();
        }
        per_luminance(&corners, to).abs()
    }
    /// Where a line from a point along a direction goes through, with its distance; none if it misses.
    fn crossed(&self, from: DVec3, d: DVec3) -> Option<f64> {
        let along = d.dot(self.inward);
        if along >= -1e-9 {
            return None;
        }
        let t = (self.centre - from).dot(self.inward) / along;
        if t <= 0.0 {
            return None;
        }
        let at = from + d * t - self.centre;
        let inside = |half: DVec3| at.dot(half).abs() <= half.length_squared();
        (inside(self.across) && inside(self.up)).then_some(t)
    }
}

/// The openings of a plan that lead outside and are not shut, with their ids.
#[must_use]
pub fn holes(plan: &Plan, walls: &Walls) -> Vec<(String, String, Hole)> {
    let rooms: Vec<Vec<DVec2>> =
        plan.location.rooms.iter().map(|r| r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect()).collect();
    let mut out = Vec::new();
    for place in &walls.openings {
        let o = &plan.location.openings[place.index];
        let passes = match o.kind {
            OpeningKind::Window { transmittance } => transmittance,
            OpeningKind::Passage => 1.0,
            OpeningKind::Door { open_deg, .. } if open_deg > 0.5 => 1.0,
            OpeningKind::Door { .. } => continue,
        };
        let middle = (place.a + place.b) * 0.5;
        let outside = middle - place.inward * (plan.location.wall_thickness_m + 0.1);
        if !place.leads_to.is_empty() || rooms.iter().any(|r| point_in_polygon(outside, r)) {
            continue;
        }
        let hole = Hole {
            centre: middle.extend((o.sill_m + o.head_m) * 0.5),
            across: ((place.b - place.a) * 0.5).extend(0.0),
            up: DVec3::Z * ((o.head_m - o.sill_m) * 0.5),
            inward: place.inward.extend(0.0),
            passes,
        };
        let name = if o.name.is_empty() { o.id.to_string() } else { o.name.clone() };
        out.push((o.id.to_string(), name, hole));
    }
    out
}

/// Daylight as emitters: one for the sky through each opening, one for the sun, and one for the whole sky over
/// what lies in no room.
#[must_use]
pub fn daylight_emitters(plan: &Plan, walls: &Walls, clock: Option<Clock>) -> Vec<Emitter> {
    let (Some(day), Some(clock)) = (&plan.daylight, clock) else { return Vec::new() };
    let Some(sun) = plan_sun(plan, clock) else { return Vec::new() };
    let toward = toward_sun(plan, &sun);
    let Some(sky) = Sky::of(day, toward) else { return Vec::new() };
    let holes = holes(plan, walls);
    let roofs = Arc::new(Roofs::of(plan));
    // Blue of a clear sky and grey of clouds as daylight of these temperatures (common practice, no source).
    let sky_k = match day.sky_type {
        ..=5 => 6500.0,
        6..=10 => 7500.0,
        _ => 12_000.0,
    };
    let blue = Bands::daylight(sky_k).normalised().map_or(crate::colour::planck_xyz(sky_k), |b| b.xyz());
    let direct_lx = sky.direct_lx;
    let sky = Arc::new(sky);
    let mut out: Vec<Emitter> = holes
        .iter()
        .zip(before_openings(plan, walls))
        .map(|((id, name, hole), outside)| Emitter {
            fixture: FixtureId::from(format!("sky:{id}")),
            name: say!("sky-through-name", name),
            shape: Shape::Sky { hole: *hole, sky: sky.clone(), roofs: roofs.clone(), outside },
            gain: hole.passes,
            colour: blue,
        })
        .collect();
    if direct_lx > 0.0 {
        out.push(Emitter {
            fixture: FixtureId::from("sun".to_string()),
            name: say!("sun").into(),
            shape: Shape::Sun { toward, holes: holes.into_iter().map(|h| h.2).collect(), roofs: roofs.clone() },
            gain: direct_lx,
            colour: sun_colour(toward.z),
        });
    }
    out.push(Emitter {
        fixture: FixtureId::from("sky".to_string()),
        name: say!("open-sky").into(),
        shape: Shape::Open(Arc::new(OpenSky::new(sky, roofs))),
        gain: 1.0,
        colour: blue,
    });
    out
}

/// Parts of an opening each way.
const PARTS: usize = 4;
/// Eights of points on an opening when all or none of it is seen, and when it is partly hidden: of a clear sky a meter
/// beside the opening sees a steep slope toward the sun. The last is for an opening of which little is seen.
const EIGHTS: [usize; 3] = [12, 40, area::MOST];
/// The same for one receiver of many.
const AMONG_MANY: [usize; 3] = [6, 20, 20];

/// Illuminance from the sky seen through an opening, lux, before its glass. What stands outside before the
/// opening hides the sky.
pub(super) fn solve_sky(
    solids: &Solids,
    (hole, sky, outside): (&Hole, &Sky, &Outside),
    to: &Receiver,
    skip: OwnerIx,
    among: Option<&Few>,
    fineness: Fineness,
) -> f64 {
    if hole.inward.dot(to.at - hole.centre) <= 1e-6 {
        return 0.0;
    }
    let origin = to.at.as_vec3();
    let few = solids.in_the_way_of(among, origin, hole.centre.as_vec3(), hole.reach_m() as f32, skip);
    if solids.hides(&few, &[origin], &hole.corners().map(|c| c.as_vec3()), skip) {
        return 0.0;
    }
    let open = few.is_empty();
    // By part of the opening: what its points weigh, and what of that is seen.
    let mut parts = [[0.0; 2]; PARTS * PARTS];
    let [first, usual, most] = match fineness {
        Fineness::Meter => EIGHTS,
        Fineness::Many => AMONG_MANY,
    };
    let (mut hidden, mut points) = (0, 0);
    let place = |x: f64| (((x + 1.0) * 0.5 * PARTS as f64) as usize).min(PARTS - 1);
    for (n, (u, v)) in area::POINTS.iter().take(most).enumerate() {
        if n == usual && is_enough(points) || n == first && (hidden == 0 || hidden == first * 8) {
            break;
        }
        let (u, v) = (u.to_array().map(f64::from), v.to_array().map(f64::from));
        let lines: [DVec3; 8] = std::array::from_fn(|k| hole.centre + hole.across * u[k] + hole.up * v[k] - to.at);
        let weights = lines.map(|line| {
            let inverse = line.length_squared().max(1e-6).sqrt().recip();
            -hole.inward.dot(line) * to.response(to.toward.dot(line) * inverse) * inverse.powi(3)
        });
        let along = [0, 1, 2].map(|axis| f32x8::from(lines.map(|line| line[axis] as f32)));
        let mut blocked = 0;
        if weights.iter().any(|w| *w > 0.0) {
            if !open {
                blocked = solids.eight_blocked(&few, &Eight::along(origin, along), skip);
            }
            blocked |= hidden_outside(solids, outside, (to.at, lines), blocked, skip);
        }
        for k in 0..8 {
            let lit = weights[k] > 0.0;
            if lit {
                let part = &mut parts[place(u[k]) * PARTS + place(v[k])];
                part[0] += weights[k];
                if blocked >> k & 1 == 0 {
                    points += 1;
                    part[1] += weights[k] * sky.luminance_cd_m2(lines[k].normalize());
                    continue;
                }
            }
            hidden += usize::from(n < first);
        }
    }
    let [all, seen] = parts.iter().fold([0.0; 2], |sum, p| [sum[0] + p[0], sum[1] + p[1]]);
    if all <= 0.0 || seen <= 0.0 {
        return 0.0;
    }
    // Each part by the exact formula for an even one times the mean luminance of what is seen in it: beside an opening
    // a few points say little of how much each part counts.
    let step = 1.0 / PARTS as f64;
    (0..PARTS * PARTS)
        .map(|k| {
            let at = |i: usize| (2.0 * i as f64 + 1.0) * step - 1.0;
            let middle = hole.centre + hole.across * at(k / PARTS) + hole.up * at(k % PARTS);
            let part = Hole { centre: middle, across: hole.across * step, up: hole.up * step, ..*hole };
            let mean = if parts[k][0] > 0.0 { parts[k][1] / parts[k][0] } else { seen / all };
            part.counts_for(to) * mean
        })
        .sum()
}

/// Share of the sun that reaches a point through the openings.
#[must_use]
pub fn sun_reaches(solids: &Solids, toward: DVec3, holes: &[Hole], at: DVec3, skip: OwnerIx) -> f64 {
    holes
        .iter()
        .filter_map(|h| h.crossed(at, toward).map(|t| (h, t)))
        .find(|(_, t)| !solids.blocked(at.as_vec3(), (at + toward * (t + OUTSIDE_M)).as_vec3(), skip))
        .map_or(0.0, |(h, _)| h.passes)
}

/// Share of the sun that reaches a point: in a room through its openings, in the open past what stands there.
#[must_use]
pub fn sun_share(solids: &Solids, toward: DVec3, holes: &[Hole], roofs: &Roofs, at: DVec3, skip: OwnerIx) -> f64 {
    if roofs.are_over(at.truncate()) {
        sun_reaches(solids, toward, holes, at, skip)
    } else {
        sun_in_the_open(solids, toward, roofs, at, skip)
    }
}

/// Where the sun lies on the floor: for each opening its shadow-free outline, clipped to the rooms. What stands
/// in the room is not taken out.
#[must_use]
pub fn sun_patches(plan: &Plan, walls: &Walls, toward: DVec3) -> Vec<Vec<DVec2>> {
    if toward.z <= 0.01 {
        return Vec::new();
    }
    let mut out = Vec::new();
    for (.., hole) in holes(plan, walls) {
        if toward.dot(hole.inward) >= 0.0 {
            continue;
        }
        let mut quad: Vec<DVec2> = hole.corners().iter().map(|c| (*c - toward * (c.z / toward.z)).truncate()).collect();
        if crate::geometry::signed_area(&quad) < 0.0 {
            quad.reverse();
        }
        // Into the room the opening is in; what shines on through a further door is not drawn.
        let own = crate::taping::room_at(plan, (hole.centre + hole.inward * 0.1).truncate());
        if let Some(room) = own {
            let mut ring: Vec<DVec2> = room.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
            for i in 0..4 {
                let (a, b) = (quad[i], quad[(i + 1) % 4]);
                ring = crate::geometry::cut_by(&ring, |p| (b - a).perp_dot(p - a));
            }
            if ring.len() >= 3 && crate::geometry::signed_area(&ring).abs() > 1e-4 {
                out.push(ring);
            }
        }
    }
    out
}

/// What the sun falls on.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case", tag = "on")]
pub enum Sunlit {
    /// A person's face.
    Face {
        /// Whose, by name.
        name: String,
    },
    /// The floor of a room.
    Floor {
        /// Which, by name.
        name: String,
    },
    /// The front of the lens.
    Lens,
}

impl std::fmt::Display for Sunlit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Sunlit::Face { name } => f.write_str(&say!("face-of", name)),
            Sunlit::Floor { name } => f.write_str(&say!("floor-of", name)),
            Sunlit::Lens => f.write_str(say!("the-lens")),
        }
    }
}

/// A stretch of the day in which direct sun falls on something.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SunSpell {
    /// What it falls on.
    #[serde(flatten)]
    pub what: Sunlit,
    /// From, clock time.
    pub from: Clock,
    /// To, clock time.
    pub to: Clock,
}

/// How often the day is looked at, minutes.
const LOOK_MIN: u32 = 5;

/// When on the plan's day direct sun falls on the faces of a shot (on every mark they take), on the floor of a
/// room or on the lens, looked at every five minutes. Clouds are not asked: it is when the sun would.
#[must_use]
pub fn sun_spells(plan: &Plan, shot: &crate::plan::Shot) -> Vec<SunSpell> {
    if plan.daylight.is_none() {
        return Vec::new();
    }
    let stage = crate::scene::Stage::of(plan);
    let moments: Vec<crate::scene::Scene> =
        shot.marks.iter().map(|m| m.from_s).chain([0.0]).map(|t| stage.scene(plan, shot, t)).collect();
    let Some(first) = moments.last() else { return Vec::new() };
    let all: Vec<Hole> = holes(plan, &first.walls).into_iter().map(|h| h.2).collect();
    let roofs = Roofs::of(plan);
    let mut out: Vec<SunSpell> = Vec::new();
    for minutes in (0..24 * 60).step_by(LOOK_MIN as usize) {
        let clock = Clock { minutes };
        let Some(sun) = plan_sun(plan, clock).filter(|s| s.elevation_deg > 0.0) else { continue };
        let toward = toward_sun(plan, &sun);
        let mut lit: Vec<Sunlit> = Vec::new();
        for scene in &moments {
            for p in &scene.people {
                let what = Sunlit::Face { name: p.name.clone() };
                let at = p.face() + p.face_normal() * 0.01;
                if !lit.contains(&what)
                    && p.face_normal().dot(toward) > 0.0
                    && sun_share(&scene.solids, toward, &all, &roofs, at, OwnerIx::NONE) > 0.0
                {
                    lit.push(what);
                }
            }
            if let Some(view) = &scene.view
                && !lit.contains(&Sunlit::Lens)
                && view.axes().2.dot(toward) > 0.0
                && sun_share(&scene.solids, toward, &all, &roofs, view.eye, OwnerIx::NONE) > 0.0
            {
                lit.push(Sunlit::Lens);
            }
        }
        for ring in sun_patches(plan, &first.walls, toward) {
            let middle = ring.iter().copied().sum::<DVec2>() / ring.len() as f64;
            let room = crate::taping::room_at(plan, middle)
                .map(|r| Sunlit::Floor { name: if r.name.is_empty() { r.id.to_string() } else { r.name.clone() } });
            if let Some(what) = room.filter(|w| !lit.contains(w)) {
                lit.push(what);
            }
        }
        for what in lit {
            match out.iter_mut().rev().find(|s| s.what == what && s.to.minutes + LOOK_MIN == minutes) {
                Some(spell) => spell.to = clock,
                None => out.push(SunSpell { what, from: clock, to: clock }),
            }
        }
    }
    out
}
