//! Where a lamp may stand for every shot it lights: out of frame, off people and walls, clear of what heat harms.

use crate::blocking::{Moments, sees};
use crate::geometry::{OwnerIx, Walls, distance_to_outline, point_in_polygon, point_segment_distance};
use crate::plan::{Fixture, Mount, Plan, Shot};
use crate::scene::{Placed, Stage, View, footprint, piece_label};
use crate::taping::room_at;
use glam::{DVec2, DVec3};
use std::sync::Arc;
use tapemark_words::say;

/// A lamp is kept this far off walls, metres.
const OFF_WALL_M: f64 = 0.2;
/// Moved less than this, a lamp by a wall may stay by it, metres.
const LITTLE_M: f64 = 1.0;
/// A stand keeps this far from where anybody stands or walks, middle to middle, metres (common practice, no source).
const OFF_PEOPLE_M: f64 = 0.5;
/// And this far from another stand and from a lens, metres (common practice, no source).
const OFF_STAND_M: f64 = 0.4;
/// Points of a stand that may be seen, as shares of its head's height.
const STAND: [f64; 5] = [1.0, 0.75, 0.5, 0.25, 0.0];
/// Looks at a shot from one to the next of which people and camera are asked for, seconds.
const EVERY_S: f64 = 0.5;

/// What keeps a lamp from standing somewhere.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Unfit {
    /// A wall, or another room.
    Wall,
    /// In a piece, or its light does not pass one.
    Piece(String),
    /// In frame of a shot, by name.
    Frame(String),
    /// In somebody's way.
    Person(String),
    /// Hot, and too near to somebody or something.
    Heat(String),
    /// Another stand or a camera.
    Gear,
}

impl Unfit {
    /// What would happen there.
    pub fn in_words(&self) -> String {
        match self {
            Unfit::Wall => say!("it-would-stand-in-a-wall").into(),
            Unfit::Piece(name) => say!("it-would-stand-at-piece", name),
            Unfit::Frame(shot) => say!("it-would-be-in-frame-of", shot),
            Unfit::Person(name) => say!("it-would-stand-in-way-of", name),
            Unfit::Heat(name) => say!("it-would-be-too-hot-for", name),
            Unfit::Gear => say!("it-would-stand-at-other-gear").into(),
        }
    }
}

/// One shot that a lamp lights: everyone's places and every view of its move.
struct Lights {
    name: String,
    views: Vec<View>,
    people: Vec<Placed>,
}

/// The floor of a plan as a lamp sees it that lights some shots.
pub(crate) struct Ground {
    walls: Arc<Walls>,
    stage: Stage,
    shots: Vec<Lights>,
}

impl Ground {
    /// For a lamp that lights these shots.
    pub fn of<'s>(plan: &Plan, shots: impl Iterator<Item = &'s Shot>) -> Ground {
        let stage = Stage::of(plan);
        let lights = |s: &Shot| {
            let moments = Moments::on(stage.clone(), plan, s);
            let mut next_s = 0.0;
            let looks = moments.list.iter().filter(|m| {
                let due = m.at_s >= next_s;
                if due {
                    next_s = m.at_s + EVERY_S;
                }
                due
            });
            let (mut views, mut people): (Vec<View>, Vec<Placed>) = (Vec::new(), Vec::new());
            for m in looks {
                if let Some(c) = plan.shot_camera(s)
                    && (views.is_empty() || !c.marks.is_empty())
                {
                    views.push(View::at(c, m.at_s));
                }
                people.extend(m.people.iter().filter(|p| !m.as_before || p.mark.is_none()).cloned());
            }
            Lights { name: s.name.clone(), views, people }
        };
        let shots = shots.map(lights).collect();
        Ground { walls: stage.walls().clone(), stage, shots }
    }

    /// Why a lamp may not stand with its head at a place, lighting a point; none when it may. Of the plan, the lamps
    /// beside it and the pieces are asked.
    pub fn unfit(&self, plan: &Plan, lamp: &Fixture, others: &[&Fixture], head: DVec3, lit: DVec3) -> Option<Unfit> {
        let at = head.truncate();
        let room = room_at(plan, at);
        let was = DVec2::from_array(lamp.position_m);
        let to_wall = |p: DVec2| {
            self.walls.pieces.iter().map(|w| point_segment_distance(p, w.a, w.b)).fold(f64::INFINITY, f64::min)
        };
        // One that stands by a wall already may stay as near to it while it is moved a little.
        let off_wall_m = if was.distance(at) < LITTLE_M { OFF_WALL_M.min(to_wall(was)) } else { OFF_WALL_M };
        if !plan.location.rooms.is_empty() && (room.is_none_or(|r| head.z > r.ceiling_m) || to_wall(at) < off_wall_m) {
            return Some(Unfit::Wall);
        }
        let stands = lamp.mount == Mount::Stand;
        let hot = lamp.on && lamp.lamp.hot();
        let clear_m = plan.limits.hot_clearance_m;
        for piece in &plan.location.pieces {
            let ring = footprint(piece);
            let in_height = piece.base_m < head.z && (stands || head.z < piece.top_m);
            if in_height && point_in_polygon(at, &ring) {
                return Some(Unfit::Piece(piece_label(piece)));
            }
            let dz = (head.z - piece.top_m).max(piece.base_m - head.z).max(0.0);
            if hot && distance_to_outline(at, &ring).hypot(dz) < clear_m {
                return Some(Unfit::Heat(piece_label(piece)));
            }
        }
        let before = lit + (head - lit).normalize_or_zero() * 0.25;
        if let Some(hit) = self.stage.solids().first_hit(before.as_vec3(), head.as_vec3(), OwnerIx::NONE) {
            let owner = self.stage.solids().owner_of(hit.owner);
            return Some(Unfit::Piece(crate::scene::owner_name(plan, owner)));
        }
        for shot in &self.shots {
            for p in &shot.people {
                let far = p.position.distance(at);
                if hot && far < clear_m && head.z < 2.4 {
                    return Some(Unfit::Heat(p.name.clone()));
                }
                if far < OFF_PEOPLE_M && (stands || head.z < p.crown_m + 0.3) {
                    return Some(Unfit::Person(p.name.clone()));
                }
            }
            for view in &shot.views {
                let parts = if stands { &STAND[..] } else { &STAND[..1] };
                if parts.iter().any(|k| sees(self.stage.solids(), view, at.extend(head.z * k), OwnerIx::NONE)) {
                    return Some(Unfit::Frame(shot.name.clone()));
                }
                if stands && view.eye.truncate().distance(at) < OFF_STAND_M {
                    return Some(Unfit::Gear);
                }
            }
        }
        let crowded = |o: &&Fixture| {
            o.id != lamp.id && o.mount == Mount::Stand && DVec2::from_array(o.position_m).distance(at) < OFF_STAND_M
        };
        (stands && others.iter().any(crowded)).then_some(Unfit::Gear)
    }
}
