//! What a change breaks: the notices of every shot it touches, before and after.

use super::{Notice, Severity, of_cuts};
use crate::blocking::Moments;
use crate::continuity::{of_pairs, pairs};
use crate::edit::{Edit, apply};
use crate::facts::{Extent, facts_to};
use crate::light::{FINE_PATCH_M, Transport};
use crate::plan::{Plan, Shared, Shot, ShotId};
use crate::scene::{Scene, Stage};
use rayon::prelude::*;
use serde::Serialize;
use std::collections::HashMap;

/// A problem or caution that is not there without the change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Broken {
    /// Code of the notice.
    pub code: &'static str,
    /// How bad.
    pub severity: Severity,
    /// In which shot; absent: the whole plan.
    pub shot: Option<ShotId>,
    /// The shot's name; empty: the whole plan.
    pub shot_name: String,
    /// The item it is about.
    pub item: String,
    /// What is wrong then.
    pub what: String,
}

/// Light, places and notices of one shot as the plan is.
struct Before {
    shot: ShotId,
    moments: Moments,
    transport: Transport,
    notices: Vec<Notice>,
}

/// A plan's notices before a change, with what was worked out for them, so that many changes can be asked about.
pub struct Baseline {
    plan: Plan,
    shots: Vec<Before>,
    cuts: Vec<Notice>,
}

type Key = (&'static str, Option<ShotId>, String);

fn key(n: &Notice) -> Key {
    (n.code, n.shot.clone(), n.item.clone())
}

/// Whether a shot is worked out from other things in one plan than in the other.
fn differs(before: &Plan, after: &Plan, shot: &Shot) -> bool {
    let whole = Shared::is_same(&before.location, &after.location) || before.location == after.location;
    let same = whole
        && before.cast == after.cast
        && before.exposure == after.exposure
        && before.limits == after.limits
        && before.daylight == after.daylight
        && after.shot(&shot.id) == Some(shot)
        && before.shot_camera(shot) == after.shot_camera(shot)
        && before.rig(&shot.rig) == after.rig(&shot.rig);
    !same
}

fn cuts_together(a: &Shot, b: &Shot) -> bool {
    a.cuts_with.contains(&b.id) || b.cuts_with.contains(&a.id)
}

/// The shots that a change to the light, camera or marks of some shots can touch: those and their cuts.
fn with_cuts(plan: &Plan, touched: impl Fn(&Shot) -> bool) -> Vec<&Shot> {
    let changed: Vec<&Shot> = plan.shots.iter().filter(|s| touched(s)).collect();
    plan.shots.iter().filter(|s| changed.iter().any(|c| c.id == s.id || cuts_together(c, s))).collect()
}

impl Baseline {
    /// The notices of the shots that `touched` picks and of those that cut together with them.
    #[must_use]
    pub fn of(plan: &Plan, touched: impl Fn(&Shot) -> bool) -> Baseline {
        let stage = Stage::of(plan);
        let work = |s: &&Shot| {
            let moments = Moments::on(stage.clone(), plan, s);
            let scene = moments.stage.scene(plan, s, 0.0);
            let transport = Transport::of(plan, plan.shot_rig(s).as_deref(), &scene, FINE_PATCH_M, None);
            let notices = facts_to(Extent::Problems, plan, s, &scene, &transport, &moments).notices;
            Before { shot: s.id.clone(), moments, transport, notices }
        };
        let shots: Vec<Before> = with_cuts(plan, touched).par_iter().map(work).collect();
        let mut out = Baseline { plan: plan.clone(), shots, cuts: Vec::new() };
        out.cuts = out.notices_of_cuts(plan, |_| true);
        out
    }

    /// What an edit of the plan breaks; nothing when it is refused.
    #[must_use]
    pub fn after(&self, edit: &Edit) -> Vec<Broken> {
        apply(&self.plan, edit).map(|next| self.broken_by(&next)).unwrap_or_default()
    }

    fn before(&self, id: &ShotId) -> Option<&Before> {
        self.shots.iter().find(|b| &b.shot == id)
    }

    /// Cuts between shots looked at, of which `changed` picks one.
    fn notices_of_cuts(&self, plan: &Plan, changed: impl Fn(&ShotId) -> bool) -> Vec<Notice> {
        let known = |s: &Shot| self.before(&s.id).is_some();
        let asked: Vec<(&Shot, &Shot)> = pairs(plan)
            .into_iter()
            .filter(|(a, b)| known(a) && known(b) && (changed(&a.id) || changed(&b.id)))
            .collect();
        of_cuts(&of_pairs(plan, &asked, |s| self.before(&s.id).map(|b| &b.transport)), plan)
    }

    /// Problems and cautions that a plan made of this one has and this one has not, the worst first.
    ///
    /// Only the shots this was made for are looked at.
    #[must_use]
    pub fn broken_by(&self, after: &Plan) -> Vec<Broken> {
        let changed: Vec<ShotId> =
            with_cuts(&self.plan, |s| differs(&self.plan, after, s)).into_iter().map(|s| s.id.clone()).collect();
        let looked: Vec<&Before> = self.shots.iter().filter(|b| changed.contains(&b.shot)).collect();
        let now = |b: &&Before| -> Vec<Notice> {
            let Some(shot) = after.shot(&b.shot) else { return Vec::new() };
            let fits = b.moments.fits(after, shot);
            let fresh = || match b.moments.stage_of(after) {
                Some(stage) => Moments::on(stage.clone(), after, shot),
                None => Moments::of(after, shot),
            };
            let placed = (!fits).then(fresh);
            let moments = placed.as_ref().unwrap_or(&b.moments);
            let scene: Scene = moments.stage.scene(after, shot, 0.0);
            let rig = after.shot_rig(shot);
            let light = Transport::of(after, rig.as_deref(), &scene, FINE_PATCH_M, Some(&b.transport));
            facts_to(Extent::Problems, after, shot, &scene, &light, moments).notices
        };
        let mut found: Vec<Notice> = looked.par_iter().flat_map_iter(now).collect();
        found.extend(self.notices_of_cuts(after, |id| changed.contains(id)));
        let mut had: HashMap<Key, usize> = HashMap::new();
        let before = looked.iter().flat_map(|b| &b.notices).chain(&self.cuts);
        for n in before.filter(|n| n.severity >= Severity::Problem) {
            *had.entry(key(n)).or_default() += 1;
        }
        let mut out: Vec<Broken> = Vec::new();
        for n in found.into_iter().filter(|n| n.severity >= Severity::Problem) {
            if let Some(left) = had.get_mut(&key(&n)).filter(|left| **left > 0) {
                *left -= 1;
                continue;
            }
            let shot_name = n.shot.as_ref().and_then(|id| after.shot(id)).map_or(String::new(), |s| s.name.clone());
            out.push(Broken {
                code: n.code,
                severity: n.severity,
                shot: n.shot,
                shot_name,
                item: n.item,
                what: n.what,
            });
        }
        out.sort_by_key(|b| std::cmp::Reverse(b.severity));
        out
    }
}
