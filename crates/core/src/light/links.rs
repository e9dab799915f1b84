//! How the surfaces of a place see each other with nobody there, worked out once for all shots; people are taken out
//! after.

use super::bounce::{DirectOn, FAR, OFF_M, Patch, unhidden_share};
use super::crowd::{Sample, samples};
use super::factors::Factors;
use super::patches::{Choice, cut};
use super::rooms::{NOWHERE, Rooms};
use super::sky::{Hole, holes};
use super::{Emitter, Shape};
use crate::geometry::{Eight, Few, OwnerIx, Solids, Walls};
use crate::plan::Plan;
use crate::scene::Standing;
use glam::{DVec2, DVec3, Vec3};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fmt;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Two patches that may see each other.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pair {
    pub i: u32,
    pub j: u32,
    /// The share of what leaves `j` that reaches `i`, and of what leaves `i` that reaches `j`, nothing being in the way.
    pub shares: [f32; 2],
    /// How much of each other they see.
    pub open: f32,
}

/// So many blocks of the first choice, or patches, are worked out by one thread at a time.
const AT_A_TIME: usize = 64;

/// The pairs between some blocks of one choice and all of another: worked out when both are first wanted, by one thread
/// while others wait. It asks no other thread for help, so that none waits for itself.
type Found = HashMap<([Choice; 2], usize), Arc<OnceLock<Arc<Vec<Pair>>>>>;

/// The surfaces of a place, cut both finely and coarsely, and which of them see each other.
pub(super) struct Links {
    fine_m: f64,
    patches: Vec<Patch>,
    choices: Vec<Choice>,
    blocks: BTreeMap<Choice, Vec<Block>>,
    rooms: Arc<Rooms>,
    standing: Arc<Standing>,
    inside: Inside,
    /// Boxes on the plan round the patches of each choice.
    bounds: BTreeMap<Choice, (DVec2, DVec2)>,
    /// Of each patch, how many of its choice come before it.
    within_choice: Vec<u32>,
    /// Of each patch, how much of what it sees with nobody there are surfaces at the least; 0 in no room, and where no
    /// crowd is.
    closed: Vec<f32>,
    found: Mutex<Found>,
    lit: Mutex<Vec<Lit>>,
}

/// Direct light of one emitter on the patches of some choices.
struct Lit {
    shape: Shape,
    on: BTreeMap<Part, Arc<OnceLock<Vec<f32>>>>,
}

/// Some patches of a choice: which, counted in parts of [`AT_A_TIME`].
type Part = (Choice, usize);

/// The patches of a place that are in force for a shot.
pub(super) struct Among {
    pub patches: Vec<Patch>,
    /// Their places among all of [`Links`].
    pub from: Vec<u32>,
    pub factors: Factors,
}

/// Most emitters whose light is kept for a place.
const EMITTERS: usize = 512;

/// A box round nothing.
const NOTHING: (DVec2, DVec2) = (DVec2::INFINITY, DVec2::NEG_INFINITY);

fn joined((low, high): (DVec2, DVec2), (l, h): &(DVec2, DVec2)) -> (DVec2, DVec2) {
    (low.min(*l), high.max(*h))
}

impl fmt::Debug for Links {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Links")
            .field("fine_m", &self.fine_m)
            .field("patches", &self.patches.len())
            .finish_non_exhaustive()
    }
}

/// Most sizes of patches kept for a place.
const SIZES: usize = 3;

/// The links of a place by the size of its patches.
#[derive(Default)]
struct Shelf(Mutex<Vec<Arc<Links>>>);

impl Links {
    /// Of a plan's place, its patches about `fine_m` across in rooms near the light.
    pub fn of(plan: &Plan, fine_m: f64) -> Arc<Links> {
        let shelf = plan.location.derived(|_| Shelf::default());
        let known = || {
            let list = shelf.0.lock().unwrap_or_else(PoisonError::into_inner);
            list.iter().find(|l| l.fine_m.to_bits() == fine_m.to_bits()).cloned()
        };
        if let Some(links) = known() {
            return links;
        }
        let rooms = Rooms::of(plan);
        let standing = Standing::of(plan);
        let (patches, choices) = cut(plan, fine_m, &rooms);
        let blocks = blocks(&patches, &choices);
        let inside = Inside::of(&standing.0, &rooms);
        let mut bounds: BTreeMap<Choice, (DVec2, DVec2)> = BTreeMap::new();
        let mut counts: BTreeMap<Choice, u32> = BTreeMap::new();
        let mut within_choice = Vec::with_capacity(patches.len());
        for (p, c) in patches.iter().zip(&choices) {
            let round = bounds.entry(*c).or_insert(NOTHING);
            *round = p.corners.iter().map(|c| (c.truncate(), c.truncate())).fold(*round, |a, b| joined(a, &b));
            let count = counts.entry(*c).or_default();
            within_choice.push(*count);
            *count += 1;
        }
        let openings: Vec<Hole> = holes(plan, &Walls::shared(plan)).into_iter().map(|h| h.2).collect();
        let crowded: BTreeSet<u16> = patches.iter().filter(|p| p.crowd.is_some()).map(|p| p.room).collect();
        let at_least = |p: &Patch| if crowded.contains(&p.room) { closed(p, &openings) } else { 0.0 };
        let closed = patches.par_iter().with_min_len(64).map(at_least).collect();
        let links = Arc::new(Links {
            fine_m,
            patches,
            choices,
            blocks,
            rooms,
            standing,
            inside,
            bounds,
            within_choice,
            closed,
            found: Mutex::default(),
            lit: Mutex::default(),
        });
        let mut list = shelf.0.lock().unwrap_or_else(PoisonError::into_inner);
        if list.len() >= SIZES {
            list.remove(0);
        }
        list.push(links.clone());
        links
    }

    /// The patches in force where some rooms are near the light, and how they see each other past some people.
    pub fn among(&self, near: &[bool], bodies: &Solids) -> Among {
        let in_force = |c: &Choice| c.holds(near);
        let mut place = vec![u32::MAX; self.patches.len()];
        let (mut patches, mut from) = (Vec::new(), Vec::new());
        for (i, _) in self.choices.iter().enumerate().filter(|(_, c)| in_force(c)) {
            place[i] = patches.len() as u32;
            patches.push(self.patches[i].clone());
            from.push(i as u32);
        }
        let choices: Vec<Choice> = self.blocks.keys().copied().filter(in_force).collect();
        let both = choices.iter().enumerate().flat_map(|(n, a)| choices[n..].iter().map(|b| [*a, *b]));
        let parts = |both: [Choice; 2]| {
            let blocks = self.blocks.get(&both[0]).map_or(0, Vec::len);
            (0..blocks.div_ceil(AT_A_TIME)).map(move |part| (both, part))
        };
        let all: Vec<([Choice; 2], usize)> = both.flat_map(parts).collect();
        let pairs: Vec<Vec<Pair>> = all
            .into_par_iter()
            .with_max_len(1)
            .map(|(both, part)| {
                // Lines between them stay in a box round both.
                let (low, high) = both.iter().filter_map(|c| self.bounds.get(c)).fold(NOTHING, joined);
                let bodies = bodies.within(low, high);
                let one = |p: &Pair| {
                    let open = if bodies.is_empty() { p.open } else { self.open_past(&bodies, p) };
                    let (i, j) = (place[p.i as usize], place[p.j as usize]);
                    (open > 0.0).then_some(Pair { i, j, open, ..*p })
                };
                self.between(both, part).iter().filter_map(one).collect()
            })
            .collect();
        let people: Vec<Sample> = bodies.boxes_round().map(as_disc).collect();
        let closed: Vec<f32> = from
            .iter()
            .zip(&patches)
            .map(|(i, p)| (self.closed[*i as usize] - hidden_by(&people, p)).max(0.0))
            .collect();
        let factors = Factors::of_pairs(&patches, &pairs, &closed);
        Among { patches, from, factors }
    }

    /// Mean direct light of an emitter at unit output on some patches with nobody there, lux: worked out once. `from` are
    /// their places among all.
    pub fn direct(&self, emitter: &Emitter, from: &[u32]) -> Vec<f32> {
        let part = |i: u32| (self.choices[i as usize], self.within_choice[i as usize] as usize / AT_A_TIME);
        let wanted: BTreeSet<Part> = from.iter().map(|i| part(*i)).collect();
        let places: Vec<(Part, Arc<OnceLock<Vec<f32>>>)> = {
            let mut list = self.lit.lock().unwrap_or_else(PoisonError::into_inner);
            let known = list.iter().position(|l| l.shape == emitter.shape).unwrap_or_else(|| {
                if list.len() >= EMITTERS {
                    list.remove(0);
                }
                list.push(Lit { shape: emitter.shape.clone(), on: BTreeMap::new() });
                list.len() - 1
            });
            wanted.into_iter().map(|p| (p, list[known].on.entry(p).or_default().clone())).collect()
        };
        let lit: BTreeMap<Part, &Vec<f32>> = places
            .par_iter()
            .with_max_len(1)
            .map(|(p, place)| (*p, place.get_or_init(|| self.lit_part(emitter, *p))))
            .collect();
        from.iter().map(|i| lit[&part(*i)][self.within_choice[*i as usize] as usize % AT_A_TIME]).collect()
    }

    fn lit_part(&self, emitter: &Emitter, (choice, part): Part) -> Vec<f32> {
        let on = DirectOn::of(&self.rooms, &self.standing.0, emitter);
        let of_choice = self.choices.iter().zip(&self.patches).filter(|(c, _)| **c == choice).map(|(_, p)| p);
        of_choice.skip(part * AT_A_TIME).take(AT_A_TIME).map(|p| on.patch(p)).collect()
    }

    /// The pairs between a part of the blocks of one choice and all of another.
    fn between(&self, both: [Choice; 2], part: usize) -> Arc<Vec<Pair>> {
        let place = self.found.lock().unwrap_or_else(PoisonError::into_inner).entry((both, part)).or_default().clone();
        place.get_or_init(|| Arc::new(self.linked(both, part))).clone()
    }

    /// Each pair of patches of two choices that sees each other, once.
    fn linked(&self, [x, y]: [Choice; 2], part: usize) -> Vec<Pair> {
        let [Some(first), Some(second)] = [x, y].map(|c| self.blocks.get(&c)) else { return Vec::new() };
        let mut out = Vec::new();
        for a in first.iter().skip(part * AT_A_TIME).take(AT_A_TIME) {
            let (room, middle, radius) = a.at();
            let seen = self.rooms.seen_from((room, middle), radius);
            for b in second {
                // A flat block sees nothing of itself.
                if x == y && b.place() <= a.place() {
                    continue;
                }
                if b.room != NOWHERE && !seen[usize::from(b.room)] {
                    continue;
                }
                if a.wholly_behind(b) || b.wholly_behind(a) {
                    continue;
                }
                let (a, b) = if a.place() < b.place() { (a, b) } else { (b, a) };
                let flat = a.flat && b.flat;
                let by_openings = || !flat || self.rooms.may_pass((a.room, &a.corners), (b.room, &b.corners));
                if a.room == b.room || self.rooms.may_see(a.at(), b.at()) && by_openings() {
                    let solids = self.inside.of_rooms(a.room, b.room).unwrap_or(&self.standing.0);
                    link_blocks(solids, &self.patches, a, b, &mut out);
                }
            }
        }
        out
    }

    /// How much two patches see of each other past some people too.
    fn open_past(&self, bodies: &Solids, pair: &Pair) -> f32 {
        let (p, q) = (&self.patches[pair.i as usize], &self.patches[pair.j as usize]);
        let (from, to) = (off(p), off(q));
        let radius = p.reach_m().max(q.reach_m()) as f32;
        let people = bodies.in_the_way(from, to, radius, OwnerIx::NONE);
        if people.is_empty() {
            return pair.open;
        }
        let solids = self.inside.of_rooms(p.room, q.room).unwrap_or(&self.standing.0);
        let things = solids.in_the_way(from, to, radius, OwnerIx::NONE);
        let ends = parts(q);
        let blocked = |from: Vec3| {
            let lines = Eight::to_points(from, std::array::from_fn(|n| ends[n % 4]));
            let by_people = bodies.eight_blocked(&people, &lines, OwnerIx::NONE);
            let by_things = if things.is_empty() { 0 } else { solids.eight_blocked(&things, &lines, OwnerIx::NONE) };
            (by_people | by_things) & 0xf
        };
        match blocked(from) {
            0 => 1.0,
            0xf => 0.0,
            _ => parts(p).iter().map(|a| (4 - blocked(*a).count_ones()) as f32).sum::<f32>() / 16.0,
        }
    }
}

/// Neighbouring patches of one surface, for one answer to many questions of sight.
struct Block {
    list: Vec<u32>,
    normal: Vec3,
    corners: [Vec3; 4],
    middle: Vec3,
    radius: f32,
    room: u16,
    /// Whether all of it lies between its corners.
    flat: bool,
}

/// The blocks of some patches, by the choice they go with.
fn blocks(patches: &[Patch], choices: &[Choice]) -> BTreeMap<Choice, Vec<Block>> {
    let count = patches.iter().map(|p| p.block as usize + 1).max().unwrap_or(0);
    let mut lists = vec![Vec::new(); count];
    for (i, p) in patches.iter().enumerate() {
        lists[p.block as usize].push(i as u32);
    }
    let mut out: BTreeMap<Choice, Vec<Block>> = BTreeMap::new();
    for list in lists.into_iter().filter(|l: &Vec<u32>| !l.is_empty()) {
        out.entry(choices[list[0] as usize]).or_default().push(Block::of(patches, list));
    }
    out
}

impl Block {
    fn of(patches: &[Patch], list: Vec<u32>) -> Block {
        let first = &patches[list[0] as usize];
        if first.crowd.is_some() {
            let corners = parts(first);
            let (middle, radius) = (first.at.as_vec3(), first.reach_m() as f32);
            let (normal, room) = (first.normal.as_vec3(), first.room);
            return Block { list, normal, corners, middle, radius, room, flat: false };
        }
        let normal = first.normal.as_vec3();
        let (u, v) = normal.any_orthonormal_pair();
        let (u, v) = if normal.z.abs() > 0.5 { (u, v) } else { (Vec3::Z.cross(normal), Vec3::Z) };
        let from = off(first);
        let (mut low, mut high) = ([f32::INFINITY; 2], [f32::NEG_INFINITY; 2]);
        for c in list.iter().flat_map(|i| &patches[*i as usize].corners) {
            let to = c.as_vec3() - from;
            for (k, x) in [to.dot(u), to.dot(v)].into_iter().enumerate() {
                (low[k], high[k]) = (low[k].min(x), high[k].max(x));
            }
        }
        let at = |x: f32, y: f32| from + u * x + v * y;
        let corners = [at(low[0], low[1]), at(high[0], low[1]), at(high[0], high[1]), at(low[0], high[1])];
        let middle = at((low[0] + high[0]) * 0.5, (low[1] + high[1]) * 0.5);
        let (room, radius) = (first.room, middle.distance(corners[0]) * 1.0001 + 1e-4);
        Block { list, normal, corners, middle, radius, room, flat: true }
    }

    /// Which comes first, whatever it was cut from.
    fn place(&self) -> u32 {
        self.list[0]
    }

    /// Its room, middle and radius on the plan.
    fn at(&self) -> (u16, DVec2, f64) {
        (self.room, self.middle.truncate().as_dvec2(), f64::from(self.radius))
    }

    /// Whether all of another lies behind this one's plane.
    fn wholly_behind(&self, other: &Block) -> bool {
        self.flat && other.corners.iter().all(|c| (*c - self.middle).dot(self.normal) <= 1e-4)
    }
}

/// How much of what a patch sees are surfaces at the least: all in a room but what leads outside, nothing being before
/// that.
fn closed(p: &Patch, openings: &[Hole]) -> f32 {
    if p.room == NOWHERE {
        return 0.0;
    }
    let to = p.receiver(p.at);
    let before = openings.iter().filter(|h| h.inward.dot(to.at - h.centre) > 0.0);
    let open: f64 = before.map(|h| h.counts_for(&to) / std::f64::consts::PI).sum();
    (1.0 - open).clamp(0.0, 1.0) as f32
}

/// A disc as large as the largest side of a box, that faces whoever looks.
fn as_disc((low, high): (Vec3, Vec3)) -> Sample {
    let size = high - low;
    Sample { at: ((low + high) * 0.5).as_dvec3(), normal: DVec3::ZERO, area_m2: f64::from(size.x.max(size.y) * size.z) }
}

/// How much of what a patch sees some people hide at the most.
fn hidden_by(people: &[Sample], p: &Patch) -> f32 {
    let one = |s: &Sample| {
        let v = s.at - p.at;
        let d2 = v.length_squared();
        let cos = (p.normal.dot(v) / d2.sqrt().max(1e-6)).max(0.0);
        cos * s.area_m2 / (std::f64::consts::PI * d2 + s.area_m2)
    };
    people.iter().map(one).sum::<f64>() as f32
}

/// A patch's middle, a little off its surface.
fn off(p: &Patch) -> Vec3 {
    if let Some(crowd) = &p.crowd {
        return crowd.probes[0];
    }
    (p.at + p.normal * OFF_M).as_vec3()
}

/// What lines from one room to another may meet: only what reaches into a box round both.
struct Inside(HashMap<[u16; 2], Solids>);

/// With more rooms than this only lines within a room are told apart.
const PAIRED_ROOMS: usize = 64;

impl Inside {
    fn of(solids: &Solids, rooms: &Rooms) -> Inside {
        let boxes: Vec<_> = rooms.boxes().collect();
        let ball = |r: usize| (r as u16, (boxes[r].0 + boxes[r].1) * 0.5, boxes[r].0.distance(boxes[r].1) * 0.5);
        let beside = |a: usize| if boxes.len() > PAIRED_ROOMS { a..a + 1 } else { a..boxes.len() };
        let pairs = (0..boxes.len()).flat_map(|a| beside(a).map(move |b| [a, b]));
        let seen: Vec<[usize; 2]> = pairs.filter(|[a, b]| rooms.may_see(ball(*a), ball(*b))).collect();
        let both = |[a, b]: [usize; 2]| {
            let (low, high) = (boxes[a].0.min(boxes[b].0), boxes[a].1.max(boxes[b].1));
            ([a as u16, b as u16], solids.within(low, high))
        };
        Inside(seen.into_par_iter().map(both).collect())
    }

    fn of_rooms(&self, a: u16, b: u16) -> Option<&Solids> {
        self.0.get(&[a.min(b), a.max(b)])
    }
}

fn link_blocks(solids: &Solids, patches: &[Patch], a: &Block, b: &Block, out: &mut Vec<Pair>) {
    // Among a crowd there is always much in the way.
    let few = if a.flat && b.flat {
        solids.in_the_way(a.middle, b.middle, a.radius.max(b.radius), OwnerIx::NONE)
    } else {
        Few::ALL
    };
    // The shadow of one thing over all corners lies over all between them.
    if a.flat && b.flat && solids.hides(&few, &a.corners, &b.corners, OwnerIx::NONE) {
        return;
    }
    if !(a.flat && b.flat) && a.middle.distance(b.middle) < BESIDE * (a.radius + b.radius) {
        for (i, j) in a.list.iter().flat_map(|i| b.list.iter().map(move |j| (*i, *j))) {
            out.extend(beside(solids, &few, [i, j], &patches[i as usize], &patches[j as usize]));
        }
        return;
    }
    let ends: Vec<[Vec3; 4]> = b.list.iter().map(|j| parts(&patches[*j as usize])).collect();
    let (mut much, mut little) = (Vec::new(), Vec::new());
    for i in &a.list {
        let p = &patches[*i as usize];
        let (from, quarters) = (off(p), parts(p));
        for (n, j) in b.list.iter().enumerate() {
            let shares = shares(p, &patches[*j as usize]).map(|s| s as f32);
            let pair = Pair { i: *i, j: *j, shares, open: 1.0 };
            match shares[0].max(shares[1]) {
                most if most <= 0.0 => {}
                _ if few.is_empty() => out.push(pair),
                most if most < LITTLE && a.flat && b.flat => little.push(pair),
                _ => much.push((n, pair)),
            }
        }
        for list in much.chunks(2) {
            let points = std::array::from_fn(|n| ends[list[(n / 4).min(list.len() - 1)].0][n % 4]);
            let blocked = solids.eight_blocked(&few, &Eight::to_points(from, points), OwnerIx::NONE);
            for (n, (end, pair)) in list.iter().enumerate() {
                let open = match (!blocked >> (4 * n) & 0xf).count_ones() {
                    0 => continue,
                    4 => 1.0,
                    _ => open_between(solids, &few, &quarters, &ends[*end]),
                };
                out.push(Pair { open, ..*pair });
            }
        }
        for list in little.chunks(8) {
            let points = std::array::from_fn(|n| off(&patches[list[n.min(list.len() - 1)].j as usize]));
            let blocked = solids.eight_blocked(&few, &Eight::to_points(from, points), OwnerIx::NONE);
            out.extend(list.iter().enumerate().filter(|(n, _)| blocked >> n & 1 == 0).map(|(_, pair)| *pair));
        }
        much.clear();
        little.clear();
    }
}

/// Pairs that give each other no more than this share see each other by one line, and are many: what one misses another
/// has.
const LITTLE: f32 = 5e-4;

/// A crowd lies beside another patch up to so many times the reach of both.
const BESIDE: f32 = 1.5;

/// A crowd and another patch beside each other: of each pair of their samples by itself, since some are near and hidden
/// while others are far and seen.
fn beside(solids: &Solids, few: &Few, [i, j]: [u32; 2], p: &Patch, q: &Patch) -> Option<Pair> {
    let (here, there) = (samples(p), samples(q));
    let ends = there.map(|s| (s.at + s.normal * OFF_M).as_vec3());
    let mut shares = [0.0_f64; 2];
    let mut seen = 0;
    for m in &here {
        let lines = Eight::to_points((m.at + m.normal * OFF_M).as_vec3(), std::array::from_fn(|n| ends[n % 4]));
        let blocked = if few.is_empty() { 0 } else { solids.eight_blocked(few, &lines, OwnerIx::NONE) };
        for s in (0..4).filter(|n| blocked >> n & 1 == 0).map(|n| &there[n]) {
            shares[0] += 0.25 * m.share_of(s);
            shares[1] += 0.25 * s.share_of(m);
            seen += 1;
        }
    }
    // As shares of what is seen, since people are taken out of that.
    let open = seen as f32 / 16.0;
    (shares[0] + shares[1] > 0.0).then(|| Pair { i, j, shares: shares.map(|s| s as f32 / open), open })
}

/// The share of lines from the quarters of one patch to those of another that nothing is in the way of.
fn open_between(solids: &Solids, few: &Few, from: &[Vec3; 4], to: &[Vec3; 4]) -> f32 {
    let blocked =
        |a: Vec3| solids.eight_blocked(few, &Eight::to_points(a, std::array::from_fn(|n| to[n % 4])), OwnerIx::NONE);
    from.iter().map(|a| (!blocked(*a) & 0xf).count_ones() as f32).sum::<f32>() / 16.0
}

/// The middles of a patch's quarters, a little off its surface.
fn parts(p: &Patch) -> [Vec3; 4] {
    if let Some(crowd) = &p.crowd {
        return crowd.probes;
    }
    p.corners.map(|c| (p.at.lerp(c, 0.5) + p.normal * OFF_M).as_vec3())
}

/// The share of what leaves `q` that reaches `p`, and of what leaves `p` that reaches `q`, nothing being in the way.
fn shares(p: &Patch, q: &Patch) -> [f64; 2] {
    let v = q.at - p.at;
    let d2 = v.length_squared();
    if d2 > FAR * p.area_m2.max(q.area_m2) {
        // Both are points to each other.
        let (here, there) = (p.normal.dot(v), -q.normal.dot(v));
        if here <= 0.0 || there <= 0.0 {
            return [0.0; 2];
        }
        let each = here * there / (std::f64::consts::PI * d2 * d2);
        return [each * q.area_m2, each * p.area_m2];
    }
    [unhidden_share(q, &p.receiver(p.at)), unhidden_share(p, &q.receiver(q.at))]
}
