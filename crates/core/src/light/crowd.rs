//! Many small surfaces that stand close together, taken as one: light finds its way among a thousand jars as among a
//! hundred, for what each of them does alone is small.

use super::bounce::{OFF_M, Patch};
use glam::{DVec3, Vec3};
use std::collections::BTreeMap;

/// The surfaces that one patch stands for.
#[derive(Debug)]
pub(super) struct Crowd {
    /// All of them.
    pub members: Vec<Patch>,
    /// Some of them that stand for all: each with a quarter of the area.
    pub samples: [Sample; 4],
    /// Where light is asked for: middles of these, a little off their surfaces.
    pub probes: [Vec3; 4],
}

/// A part of a patch as a small disc.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    pub at: DVec3,
    pub normal: DVec3,
    pub area_m2: f64,
}

impl Sample {
    /// The share of what leaves another that reaches this one, nothing being in the way: of a disc on its axis exact, and
    /// near it for all others.
    pub fn share_of(&self, other: &Sample) -> f64 {
        let v = other.at - self.at;
        let d2 = v.length_squared().max(1e-9);
        let (here, there) = (self.normal.dot(v), -other.normal.dot(v));
        if here <= 0.0 || there <= 0.0 {
            return 0.0;
        }
        here * there / d2 * other.area_m2 / (std::f64::consts::PI * d2 + other.area_m2)
    }
}

/// The four parts of a patch that stand for all of it.
pub(super) fn samples(p: &Patch) -> [Sample; 4] {
    if let Some(crowd) = &p.crowd {
        return crowd.samples;
    }
    p.corners.map(|c| Sample { at: p.at.lerp(c, 0.5), normal: p.normal, area_m2: p.area_m2 * 0.25 })
}

/// More patches of the pieces in a room than these are taken together.
pub(super) const MOST: usize = 600;
/// Sides of the cells in which they are, tried one after another, metres.
const CELLS_M: [f64; 7] = [0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0];

/// What is taken together: small patches in one cell of one room that look about the same way.
type Key = ([i64; 3], u16, usize);

fn key(p: &Patch, cell_m: f64) -> Option<Key> {
    let small = p.reach_m() < cell_m * 0.5;
    let axis = (0..3).fold(0, |best, k| if p.normal[k].abs() > p.normal[best].abs() { k } else { best });
    let way = 2 * axis + usize::from(p.normal[axis] < 0.0);
    let cell = (p.at / cell_m).floor().to_array().map(|c| c as i64);
    small.then_some((cell, p.room, way))
}

/// The patches of a room's pieces, so many of them taken together that few are left.
pub(super) fn gathered(list: Vec<Patch>) -> Vec<Patch> {
    let left = |cell_m: &f64| {
        let keys: std::collections::BTreeSet<Key> = list.iter().filter_map(|p| key(p, *cell_m)).collect();
        keys.len() + list.iter().filter(|p| key(p, *cell_m).is_none()).count()
    };
    let cell_m = CELLS_M.into_iter().find(|c| left(c) <= MOST).unwrap_or(CELLS_M[CELLS_M.len() - 1]);
    let mut block = list.iter().map(|p| p.block + 1).max().unwrap_or(0);
    let mut alone = Vec::new();
    let mut cells: BTreeMap<Key, Vec<Patch>> = BTreeMap::new();
    for p in list {
        match key(&p, cell_m) {
            Some(key) => cells.entry(key).or_default().push(p),
            None => alone.push(p),
        }
    }
    for mut members in cells.into_values() {
        if members.len() == 1 {
            alone.append(&mut members);
        } else {
            alone.push(together(members, block));
            block += 1;
        }
    }
    alone
}

/// One patch for several: their area, their mean place, direction and reflectance, as a square.
fn together(members: Vec<Patch>, block: u32) -> Patch {
    let area_m2: f64 = members.iter().map(|p| p.area_m2).sum();
    let mean = |of: &dyn Fn(&Patch) -> DVec3| members.iter().map(|p| of(p) * p.area_m2).sum::<DVec3>() / area_m2;
    let at = mean(&|p| p.at);
    let normal = mean(&|p| p.normal).normalize_or(members[0].normal);
    let reflectance = mean(&|p| DVec3::from_array(p.reflectance)).to_array();
    let (u, v) = normal.any_orthonormal_pair();
    let (u, v) = if u.cross(v).dot(normal) > 0.0 { (u, v) } else { (v, u) };
    let half = area_m2.sqrt() * 0.5;
    let corners = [-u - v, u - v, u + v, v - u].map(|c| at + c * half);
    let samples: [Sample; 4] = std::array::from_fn(|n| {
        let p = &members[(2 * n + 1) * members.len() / 8];
        Sample { at: p.at, normal: p.normal, area_m2: area_m2 * 0.25 }
    });
    let probes = samples.map(|s| (s.at + s.normal * OFF_M).as_vec3());
    let room = members[0].room;
    let crowd = Some(std::sync::Arc::new(Crowd { members, samples, probes }));
    Patch { at, normal, corners, area_m2, reflectance, block, room, crowd }
}
