//! Lamps out of frame: how far one, or the camera, may slip before the lens sees it or its stand.

use super::frame::{frame_planes, slip_in};
use super::search::{Judged, nearest_break};
use super::{Look, Looks, Margin, REACH_M, Slips};
use crate::blocking::{contains, sees};
use crate::geometry::{OwnerIx, Solids};
use crate::plan::{Fixture, Mount};
use crate::scene::View;
use glam::{DVec2, DVec3};

/// Points of a stand, as shares of its head's height; the notice of a lamp in frame asks the same.
const STAND: [f64; 5] = [1.0, 0.75, 0.5, 0.25, 0.0];

/// What slips by one; the other stands still.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Moved {
    Lamp,
    Camera,
}

impl Moved {
    /// The view and the point when it has slipped.
    fn by(self, view: &View, point: DVec3, slip: DVec2) -> (View, DVec3) {
        match self {
            Moved::Lamp => (view.clone(), point + slip.extend(0.0)),
            Moved::Camera => (View { eye: view.eye + slip.extend(0.0), ..*view }, point),
        }
    }
}

/// By how much a lamp and its stand stay out of frame; none when they are seen at any look, or are meant to be.
pub(super) fn out_of_frame(looks: &Looks<'_>, f: &Fixture) -> Option<Margin> {
    if f.mount == Mount::Set || looks.list.is_empty() {
        return None;
    }
    let stage = looks.moments.stage.solids();
    let at = DVec2::from_array(f.position_m);
    let parts: &[f64] = if f.mount == Mount::Stand { &STAND } else { &STAND[..1] };
    let points: Vec<DVec3> = parts.iter().map(|s| at.extend(f.height_m * s)).collect();
    // A camera that stands still has one view for all looks.
    let views: Vec<(usize, &[Look<'_>])> =
        if looks.still { vec![(0, looks.list.as_slice())] } else { looks.list.chunks(1).enumerate().collect() };
    let mut ways: Vec<(DVec2, usize, DVec3)> = Vec::new();
    for (v, (_, group)) in views.iter().enumerate() {
        let view = &group[0].view;
        for point in &points {
            let seen = || sees(stage, view, *point, OwnerIx::NONE) && group.iter().any(|l| open(l, view, *point));
            if contains(view, *point) && seen() {
                return None;
            }
            let slip = slip_in(&frame_planes(view), *point - view.eye).filter(|d| d.length() < REACH_M);
            ways.extend(slip.map(|d| (d, v, *point)));
        }
    }
    ways.sort_by(|a, b| a.0.length_squared().total_cmp(&b.0.length_squared()));
    let mut best = looks.margin(REACH_M, Slips::Lamp(f.id.clone()), 0);
    for (slip, v, point) in ways.iter().take_while(|w| w.0.length() < REACH_M) {
        if slip.length() >= best.margin_m {
            break;
        }
        let (first, group) = views[*v];
        for moved in [Moved::Lamp, Moved::Camera] {
            let slip = if moved == Moved::Lamp { *slip } else { -*slip };
            if let Some((slip_m, i)) = least(stage, group, *point, moved, slip, best.margin_m) {
                let slips = match moved {
                    Moved::Lamp => Slips::Lamp(f.id.clone()),
                    Moved::Camera => Slips::Camera(looks.camera.clone()),
                };
                best = looks.margin(slip_m, slips, first + i);
            }
        }
    }
    Some(best)
}

/// Whether nobody stands in the way of a point at a look.
fn open(look: &Look<'_>, view: &View, point: DVec3) -> bool {
    !look.moment.bodies.blocked(view.eye.as_vec3(), point.as_vec3(), OwnerIx::NONE)
}

/// The smallest slip that shows a point to one view, and at which of its looks; `into` is the smallest that brings
/// it into the frame.
fn least(
    stage: &Solids,
    group: &[Look<'_>],
    point: DVec3,
    moved: Moved,
    into: DVec2,
    reach: f64,
) -> Option<(f64, usize)> {
    let view = &group[0].view;
    let open_at = |slip: DVec2| {
        let (view, point) = moved.by(view, point, slip);
        group.iter().position(|l| open(l, &view, point))
    };
    // Where nothing hides it as it comes into the frame, that is exact.
    let (v, q) = moved.by(view, point, into);
    let entered = !stage.blocked(v.eye.as_vec3(), q.as_vec3(), OwnerIx::NONE);
    if let Some(i) = entered.then(|| open_at(into)).flatten() {
        return (into.length() < reach).then(|| (into.length(), i));
    }
    // Past walls and things alone; people only hide more.
    let slip = nearest_break(reach, |d, half| judge(&[stage], view, point, moved, d, half))?;
    if let Some(i) = open_at(slip) {
        return Some((slip.length(), i));
    }
    let mut best: Option<(f64, usize)> = None;
    for (i, look) in group.iter().enumerate() {
        let reach = best.map_or(reach, |b| b.0);
        let solids = [stage, &look.moment.bodies];
        best = nearest_break(reach, |d, half| judge(&solids, view, point, moved, d, half))
            .map(|d| (d.length(), i))
            .or(best);
    }
    best
}

fn judge(solids: &[&Solids], view: &View, point: DVec3, moved: Moved, d: DVec2, half: f64) -> Judged {
    let (there, q) = moved.by(view, point, d);
    let outside = |n: &DVec3| n.dot(q - there.eye) + (n.x.abs() + n.y.abs()) * half < 0.0;
    if frame_planes(view).iter().any(outside) {
        return Judged::Holds;
    }
    let blocked = solids.iter().any(|s| s.blocked(there.eye.as_vec3(), q.as_vec3(), OwnerIx::NONE));
    if contains(&there, q) && !blocked {
        return Judged::Breaks;
    }
    if blocked && half > 0.0 && hidden_whole(solids, &there, q, moved, half) {
        return Judged::Holds;
    }
    Judged::Unsure
}

/// Whether one thing hides the point for all slips of a square.
fn hidden_whole(solids: &[&Solids], view: &View, q: DVec3, moved: Moved, half: f64) -> bool {
    let square = |p: DVec3| {
        [(-half, -half), (half, -half), (half, half), (-half, half)].map(|(x, y)| (p + DVec3::new(x, y, 0.0)).as_vec3())
    };
    let (eyes, points) = match moved {
        Moved::Lamp => (vec![view.eye.as_vec3()], square(q).to_vec()),
        Moved::Camera => (square(view.eye).to_vec(), vec![q.as_vec3()]),
    };
    solids.iter().any(|s| {
        let few = s.in_the_way(view.eye.as_vec3(), q.as_vec3(), (half * 1.5) as f32, OwnerIx::NONE);
        s.hides(&few, &eyes, &points, OwnerIx::NONE)
    })
}
