//! The spot meter: luminance of a surface as the lens sees it.

use super::reading::DARK_LX;
use super::{Receiver, Transport};
use crate::colour::{Xyz, linear_srgb, xyz_from_linear_srgb};
use crate::geometry::{Owner, OwnerIx, closest_on_segment, point_segment_distance};
use crate::plan::{Exposure, Finish, Plan, Receptor, Shot};
use crate::scene::{Scene, Stage, footprint, piece_label};
use crate::taping::room_at;
use glam::{DVec2, DVec3};
use serde::Serialize;
use tapemark_words::say;

/// The luminance that a stop renders as middle grey, cd/m²: L = K·N²/(S·t) with K from the dome's C.
#[must_use]
pub fn middle_grey_cd_m2(n: f64, exposure: &Exposure) -> f64 {
    exposure.k() * n * n / (exposure.ei * exposure.time_s())
}

/// What a spot meter looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// A surface of the plan.
    Surface,
    /// Open sky, or the ground outside, as bright as the day makes them.
    Outside,
}

/// What a spot meter reads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spot {
    /// Where it looks, metres.
    pub point_m: [f64; 3],
    /// Unit vector out of the surface.
    pub normal: [f64; 3],
    /// Which surface.
    pub surface: String,
    /// Whether that is a surface or what lies outside.
    pub seen: Seen,
    /// Light on it, lux; none on the sky.
    pub illuminance_lx: f64,
    /// What it sends back, cd/m².
    pub luminance_cd_m2: f64,
    /// Stop that would render it as middle grey.
    pub t_stop: f64,
    /// Stop that a spot meter of the plan's own constant K will show.
    pub spot_meter_t_stop: f64,
    /// Over or under middle grey at the shot's stop; absent in darkness or without a camera.
    pub falls_at_stops: Option<f64>,
    /// CIE 1931 chromaticity.
    pub xy: Option<[f64; 2]>,
}

/// A surface met on the way: where, which way it faces, what it is and returns.
struct Met {
    at: DVec3,
    normal: DVec3,
    name: String,
    finish: Finish,
}

/// Furthest a spot meter looks, metres.
const REACH_M: f64 = 200.0;

fn met(plan: &Plan, from: DVec3, direction: DVec3) -> Option<Met> {
    // People are looked through: the meter is read before they are asked to stand.
    let scene = Stage::of(plan).scene(plan, &Shot::new("spot", "spot", ""), 0.0);
    let to = from + direction * REACH_M;
    let wall = scene.solids.first_hit(from.as_vec3(), to.as_vec3(), OwnerIx::NONE);
    let mut best = wall.map_or(REACH_M, |h| f64::from(h.t) * REACH_M);
    let mut level = None;
    for room in &plan.location.rooms {
        for (z, normal, finish, part) in [
            (0.0, DVec3::Z, room.finishes.floor, say!("floor")),
            (room.ceiling_m, DVec3::NEG_Z, room.finishes.ceiling, say!("ceiling")),
        ] {
            let t = (z - from.z) / direction.z;
            if t > 1e-6 && t < best && normal.dot(direction) < 0.0 {
                let at = from + direction * t;
                if room_at(plan, at.truncate()).is_some_and(|r| r.id == room.id) {
                    best = t;
                    level = Some(Met { at, normal, name: say!("part-of-room", part, room = room.name), finish });
                }
            }
        }
    }
    if level.is_some() {
        return level;
    }
    let hit = wall?;
    let at = from + direction * best;
    let p = at.truncate();
    let facing = |n: DVec2| if n.extend(0.0).dot(direction) > 0.0 { -n } else { n };
    let across = |a: DVec2, b: DVec2| {
        let d = (b - a).normalize_or_zero();
        facing(DVec2::new(-d.y, d.x))
    };
    let (normal, name, finish) = match scene.solids.owner_of(hit.owner)? {
        Owner::Piece(id) => {
            let piece = plan.location.pieces.iter().find(|x| &x.id == id)?;
            if let Some([_, across, up]) = piece.sheet() {
                let front = across.cross(up).normalize_or_zero();
                let normal = if front.dot(direction) > 0.0 { -front } else { front };
                return Some(Met { at, normal, name: piece_label(piece), finish: piece.finish });
            }
            let ring = footprint(piece);
            let edge = (0..ring.len())
                .map(|i| (ring[i], ring[(i + 1) % ring.len()]))
                .min_by(|a, b| point_segment_distance(p, a.0, a.1).total_cmp(&point_segment_distance(p, b.0, b.1)))?;
            let to_edge = closest_on_segment(p, edge.0, edge.1).distance(p);
            let normal = if (at.z - piece.top_m).abs() < to_edge.max(1e-3) && direction.z < 0.0 {
                DVec3::Z
            } else if (at.z - piece.base_m).abs() < to_edge.max(1e-3) && direction.z > 0.0 {
                DVec3::NEG_Z
            } else {
                across(edge.0, edge.1).extend(0.0)
            };
            (normal, piece_label(piece), piece.finish)
        }
        Owner::Door(_) => {
            let leaf = scene.walls.openings.iter().filter_map(|o| o.leaf).min_by(|a, b| {
                point_segment_distance(p, a.hinge, a.tip).total_cmp(&point_segment_distance(p, b.hinge, b.tip))
            })?;
            (across(leaf.hinge, leaf.tip).extend(0.0), scene.name_of(plan, hit.owner), super::patches::DOOR)
        }
        _ => {
            let w =
                scene.walls.pieces.iter().min_by(|a, b| {
                    point_segment_distance(p, a.a, a.b).total_cmp(&point_segment_distance(p, b.a, b.b))
                })?;
            let normal = across(w.a, w.b);
            // The outside of a house is taken to be painted as the room behind it.
            let (name, room) = match room_at(plan, p + normal * 0.05) {
                Some(room) => (say!("wall-of-room", room = room.name), room),
                None => {
                    let room = room_at(plan, p - normal * 0.05)?;
                    (say!("outside-wall-of-room", room = room.name), room)
                }
            };
            (normal.extend(0.0), name, room.finishes.walls)
        }
    };
    Some(Met { at, normal, name, finish })
}

/// What lies outside along a direction: the sky or the ground, by day.
fn outside(plan: &Plan, scene: &Scene, transport: &Transport, from: DVec3, direction: DVec3) -> Option<Spot> {
    let (open, of_sky, of_ground) = transport.outside()?;
    let sky = direction.z > 0.0;
    let light = (if sky { of_sky } else { of_ground }) * open.luminance_cd_m2(direction);
    let at = from + direction * REACH_M;
    let name = if sky { say!("open-sky") } else { say!("ground-outside") };
    let ground_lx = light.y * std::f64::consts::PI / plan.daylight.as_ref()?.ground_reflectance.max(1e-9);
    let met = Met { at, normal: -direction, name: name.into(), finish: Finish { reflectance_rgb: [0.0; 3] } };
    let on_lx = if sky { 0.0 } else { ground_lx };
    Some(Spot { seen: Seen::Outside, ..told(plan, scene, met, on_lx, light) })
}

/// Reads the spot meter from a point along a direction: a surface, or by day the sky or the ground outside; none
/// where it meets nothing in the dark.
#[must_use]
pub fn spot(plan: &Plan, scene: &Scene, transport: &Transport, from: DVec3, direction: DVec3) -> Option<Spot> {
    let direction = direction.try_normalize()?;
    let Some(met) = met(plan, from, direction) else { return outside(plan, scene, transport, from, direction) };
    let to = Receiver { at: met.at + met.normal * 5e-3, toward: met.normal, receptor: Receptor::Flat };
    let on = transport
        .parts(scene, &to, OwnerIx::NONE)
        .into_iter()
        .fold(Xyz::default(), |sum, (direct, bounced)| sum + direct + bounced);
    let mut rgb = linear_srgb(on);
    rgb.iter_mut().zip(met.finish.reflectance_rgb).for_each(|(c, r)| *c *= r / std::f64::consts::PI);
    Some(told(plan, scene, met, on.y, xyz_from_linear_srgb(rgb)))
}

/// The reading of what sends light back.
fn told(plan: &Plan, scene: &Scene, met: Met, on_lx: f64, back: Xyz) -> Spot {
    let e = &plan.exposure;
    let luminance = back.y.max(0.0);
    let lit = on_lx.max(luminance) > DARK_LX;
    let set = scene.camera.as_ref().and_then(|id| plan.camera(id));
    Spot {
        point_m: met.at.to_array(),
        normal: met.normal.to_array(),
        surface: met.name,
        seen: Seen::Surface,
        illuminance_lx: on_lx,
        luminance_cd_m2: luminance,
        t_stop: (luminance * e.ei * e.time_s() / e.k()).sqrt(),
        spot_meter_t_stop: (luminance * e.ei * e.time_s() / e.spot_k_in_force()).sqrt(),
        falls_at_stops: set
            .map(|c| (luminance / (middle_grey_cd_m2(c.lens.t_stop, e) * c.nd_stops.exp2())).log2())
            .filter(|s| s.is_finite() && lit),
        xy: back.xy().filter(|_| lit).map(|(x, y)| [x, y]),
    }
}

/// The spot reading behind the first face the shot needs, else in the middle of the frame.
#[must_use]
pub fn background(plan: &Plan, shot: &Shot, scene: &Scene, transport: &Transport) -> Option<Spot> {
    let view = scene.view.as_ref()?;
    let face = scene.people.iter().find(|p| shot.faces.contains(&p.person)).or(scene.people.first());
    let direction = face.map_or(view.axes().2, |p| p.face() - view.eye);
    spot(plan, scene, transport, view.eye, direction)
}
