//! The clear-view map: from every place of the floor, the least visible share of every wanted face over the whole
//! move.

use super::moments::{Moment, Moments};
use super::places::{Places, RuledOut, looks_this_way};
use super::{Head, half_sphere};
use crate::geometry::{Eight, Few, OwnerIx, Solids};
use crate::plan::{Plan, Shot};
use crate::scene::{Placed, View};
use glam::{DVec2, Vec3};
use rayon::prelude::*;
use serde::Serialize;
use wide::f32x8;

/// The least visible share by place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClearMap {
    /// Lower left corner, metres.
    #[serde(rename = "origin_m")]
    pub origin: DVec2,
    /// Size of a cell, metres.
    pub cell_m: f64,
    /// Cells across.
    pub nx: usize,
    /// Cells up.
    pub ny: usize,
    /// Least share, 0–1, row by row from the lower left.
    #[serde(rename = "least_share")]
    pub least: Vec<f32>,
    /// Why the camera cannot stand there.
    pub ruled_out: Vec<Option<RuledOut>>,
}

impl ClearMap {
    /// The cell at a place.
    #[must_use]
    pub fn cell(&self, p: DVec2) -> Option<usize> {
        let c = ((p - self.origin) / self.cell_m).floor();
        let inside = c.x >= 0.0 && c.y >= 0.0 && c.x < self.nx as f64 && c.y < self.ny as f64;
        inside.then_some(c.y as usize * self.nx + c.x as usize)
    }
    /// Middle of a cell, metres.
    #[must_use]
    pub fn middle(&self, i: usize) -> DVec2 {
        self.origin + DVec2::new((i % self.nx) as f64 + 0.5, (i / self.nx) as f64 + 0.5) * self.cell_m
    }
}

/// Cells a side of the blocks that share a list of what may stand in the way.
const BLOCK: usize = 4;
/// Looks that share such a list.
const LOOKS: usize = 8;
/// Which lattice of face points the map asks.
const COARSE: usize = 0;
/// Every so many eights of that lattice: for a first answer, and for one that may count.
const FIRST: usize = 8;
const SECOND: usize = 2;
/// How far off a first answer may be.
const UNSURE: f32 = 0.25;
/// Most cells of a map.
const MOST: f64 = 4e6;

/// Works out the clear-view map of a shot; none without a camera or a wanted face.
#[must_use]
pub fn clear_map(plan: &Plan, shot: &Shot, moments: &Moments, cell_m: f64) -> Option<ClearMap> {
    let places = Places::of(plan, shot, moments)?;
    let corners = || plan.location.rooms.iter().flat_map(|r| &r.outline_m).map(|p| DVec2::from_array(*p));
    let low = corners().fold(DVec2::INFINITY, DVec2::min);
    let high = corners().fold(DVec2::NEG_INFINITY, DVec2::max);
    if !(high - low).is_finite() {
        return None;
    }
    let size = high - low;
    let cell_m = cell_m.max(0.02).max((size.x * size.y / MOST).sqrt());
    let (nx, ny) = ((size.x / cell_m).ceil().max(1.0) as usize, (size.y / cell_m).ceil().max(1.0) as usize);
    let mut map = ClearMap { origin: low, cell_m, nx, ny, least: vec![0.0; nx * ny], ruled_out: vec![None; nx * ny] };
    let spells = spells(&places);
    let bands: Vec<Vec<(usize, f32, Option<RuledOut>)>> = (0..ny.div_ceil(BLOCK) * nx.div_ceil(BLOCK))
        .into_par_iter()
        .map(|b| {
            let (bx, by) = (b % nx.div_ceil(BLOCK) * BLOCK, b / nx.div_ceil(BLOCK) * BLOCK);
            let cells = (by..(by + BLOCK).min(ny)).flat_map(|y| (bx..(bx + BLOCK).min(nx)).map(move |x| y * nx + x));
            block(&places, &map, &spells, cells)
        })
        .collect();
    for (i, least, ruled) in bands.into_iter().flatten() {
        map.least[i] = least;
        map.ruled_out[i] = ruled;
    }
    Some(map)
}

/// A few looks that follow each other, and how far anybody moves from the middle one.
struct Spell<'a> {
    looks: Vec<(&'a Moment, &'a [usize])>,
    middle: usize,
    strays_m: f32,
}

fn spells<'a>(places: &'a Places<'_>) -> Vec<Spell<'a>> {
    let still = places.camera.marks.is_empty();
    let looks: Vec<(&Moment, &[usize])> = places
        .moments
        .list
        .iter()
        .zip(&places.required)
        .filter(|(m, _)| !(m.as_before && still))
        .map(|(m, r)| (m, r.as_slice()))
        .collect();
    // Whoever comes or goes begins another spell: in each, everyone is there from its first look to its last.
    let same = |a: &Moment, b: &Moment| a.people.iter().map(|p| &p.person).eq(b.people.iter().map(|p| &p.person));
    looks
        .chunk_by(|a, b| same(a.0, b.0))
        .flat_map(|run| run.chunks(LOOKS))
        .map(|chunk| {
            let middle = chunk.len() / 2;
            let mid = &chunk[middle].0;
            let start = View::at(places.camera, mid.at_s).eye;
            let mut strays = 0.0_f64;
            for (m, _) in chunk {
                strays = strays.max((View::at(places.camera, m.at_s).eye - start).length());
                for (p, q) in m.people.iter().zip(&mid.people) {
                    // Turning sweeps the shoulders through what lies between the chest's two half-axes.
                    let turned = if p.facing_deg == q.facing_deg { 0.0 } else { p.body_half[0] - p.body_half[1] };
                    strays = strays.max(p.head.distance(q.head) + turned);
                }
            }
            Spell { looks: chunk.to_vec(), middle, strays_m: strays as f32 }
        })
        .collect()
}

fn block(
    places: &Places<'_>,
    map: &ClearMap,
    spells: &[Spell<'_>],
    cells: impl Iterator<Item = usize>,
) -> Vec<(usize, f32, Option<RuledOut>)> {
    let mut out: Vec<(usize, f32, Option<RuledOut>)> = Vec::with_capacity(BLOCK * BLOCK);
    let mut open: Vec<(usize, DVec2)> = Vec::new();
    for i in cells {
        let p = map.middle(i);
        let ruled = places.ruled_out(p, places.aim(p));
        if ruled.is_none() {
            open.push((out.len(), p));
        }
        out.push((i, 1.0, ruled));
    }
    let Some((_, first)) = open.first() else { return out };
    let (low, high) = open.iter().fold((*first, *first), |(l, h), (_, p)| (l.min(*p), h.max(*p)));
    let (centre, reach) = ((low + high) * 0.5, low.distance(high) * 0.5);
    let eye = |p: DVec2| p.extend(places.camera.lens_height_m).as_vec3();
    let start = View::at(places.camera, 0.0).eye;
    let still = places.moments.stage.solids();
    for spell in spells {
        let (mid, faces) = spell.looks[spell.middle];
        let by = (View::at(places.camera, mid.at_s).eye - start).as_vec3();
        for face in faces {
            let person = &mid.people[*face];
            let head = person.head.as_vec3();
            let around = person.head_half.max_element() as f32;
            // What may ever stand between any place of the block and the face during the spell.
            let wide = around + reach as f32 + 2.0 * spell.strays_m;
            let few = |solids: &Solids, from: Vec3, radius: f32| solids.in_the_way(from, head, radius, person.owner);
            let whole = [few(still, eye(centre) + by, wide), few(&mid.bodies, eye(centre) + by, wide)];
            if whole.iter().all(Few::is_empty) {
                continue;
            }
            for (k, p) in &open {
                if out[*k].1 <= 0.0 {
                    continue;
                }
                let from = eye(*p) + by;
                let loose = around + 2.0 * spell.strays_m;
                if spell.looks.len() > 1
                    && few(still, from, loose).is_empty()
                    && few(&mid.bodies, from, loose).is_empty()
                {
                    continue;
                }
                for (m, faces) in &spell.looks {
                    let Some(person) = faces.iter().map(|i| &m.people[*i]).find(|q| q.person == person.person) else {
                        continue;
                    };
                    let from = eye(*p) + (View::at(places.camera, m.at_s).eye - start).as_vec3();
                    let share = roughly_clear(still, m, from, person, out[*k].1);
                    out[*k].1 = out[*k].1.min(share);
                }
            }
        }
    }
    out
}

/// The clear share of a face by few points; 1 where it is turned away. More than `least` it may be rough.
fn roughly_clear(still: &Solids, m: &Moment, eye: Vec3, person: &Placed, least: f32) -> f32 {
    let head = Head::of(person);
    let around = head.half.max_element();
    let few = [
        (still, still.in_the_way(eye, head.centre, around, person.owner)),
        (&m.bodies, m.bodies.in_the_way(eye, head.centre, around, person.owner)),
    ];
    if few.iter().all(|(_, f)| f.is_empty()) || !looks_this_way(person, eye.as_dvec3()) {
        return 1.0;
    }
    // Few points first: more only where the face may be the worst seen so far.
    let first = share_of(&head, &few, eye, person.owner, FIRST);
    if first <= 0.0 || first >= 1.0 || first > least + UNSURE {
        return first;
    }
    share_of(&head, &few, eye, person.owner, SECOND)
}

fn share_of(head: &Head, few: &[(&Solids, Few); 2], eye: Vec3, skip: OwnerIx, every: usize) -> f32 {
    let unit = head.unit(eye).to_array().map(f32x8::splat);
    let (mut facing, mut clear) = (0.0, 0.0);
    for [x, y, z, area] in half_sphere(COARSE).eights.iter().step_by(every) {
        let turned = (*x * unit[0] + *y * unit[1] + *z * unit[2]).simd_gt(f32x8::ONE);
        let bits = turned.to_bitmask();
        if bits == 0 {
            continue;
        }
        let ray = Eight::to(eye, head.place_eight([*x, *y, *z]));
        let mut blocked = 0;
        for (s, few) in few {
            if blocked != 0xff {
                blocked |= s.eight_blocked(few, &ray, skip);
            }
        }
        let area = area.to_array();
        for (i, a) in area.iter().enumerate().filter(|(i, _)| bits >> i & 1 == 1) {
            facing += a;
            if blocked >> i & 1 == 0 {
                clear += a;
            }
        }
    }
    if facing > 0.0 { clear / facing } else { 1.0 }
}
