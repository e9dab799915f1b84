//! By how much the answers of a shot hold: the smallest slip on the floor that breaks one.
//!
//! A slip is a horizontal shift, in any direction, of a person, the camera or a lamp, with everything else where it
//! is; who moves slips all along the move. Marks are missed by about 15 cm, tapes by about 2 cm (common practice, no
//! source). What breaks an answer is looked for at every look of the shot, as [`Moments`] has them.

mod behind;
mod faces;
mod frame;
mod lamps;
mod search;

use crate::blocking::{Moment, Moments};
use crate::plan::{CameraId, FixtureId, PersonId, Plan, Shot};
use crate::scene::View;
use rayon::prelude::*;
use serde::Serialize;

/// Slips further than this are not looked at, metres.
pub const REACH_M: f64 = 0.5;

/// By how much an answer holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Margin {
    /// The smallest slip that breaks it, metres.
    pub margin_m: f64,
    /// Whether no slip up to that one breaks it: it holds by so much or more.
    pub or_more: bool,
    /// Who or what slips.
    pub slips: Slips,
    /// At which moment it breaks, seconds.
    pub at_s: f64,
}

/// Who or what slips.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Slips {
    /// Somebody misses the mark.
    Person(PersonId),
    /// The camera.
    Camera(CameraId),
    /// A lamp.
    Lamp(FixtureId),
}

/// By how much what is asked of a person holds; each is absent where it does not hold.
///
/// It must hold on every mark. A walk on which it fails somewhere is left out.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Margins {
    /// The face wholly in frame, turned to the lens, and enough of it hidden by nothing.
    pub clear: Option<Margin>,
    /// The head wholly in frame.
    pub in_frame: Option<Margin>,
    /// The face within the depth of field, focus staying where it is.
    pub in_focus: Option<Margin>,
}

/// All margins of a shot.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ShotMargins {
    people: Vec<(PersonId, Margins)>,
    lamps: Vec<(FixtureId, Option<Margin>)>,
    /// The operator behind the camera.
    pub fits_behind: Option<Margin>,
}

impl ShotMargins {
    /// Everything's margins over a whole shot; none without a camera.
    #[must_use]
    pub fn of(plan: &Plan, shot: &Shot, moments: &Moments) -> ShotMargins {
        let Some(looks) = Looks::of(plan, shot, moments) else { return ShotMargins::default() };
        let ids: Vec<&PersonId> =
            plan.cast.iter().map(|p| &p.id).filter(|id| shot.marks.iter().any(|m| m.person == **id)).collect();
        let rig = plan.shot_rig(shot);
        let fixtures = rig.as_deref().map(|r| r.fixtures.as_slice()).unwrap_or_default();
        let (people, (lamps, fits_behind)) = rayon::join(
            || ids.par_iter().map(|id| ((*id).clone(), looks.of_person(id))).collect(),
            || {
                rayon::join(
                    || fixtures.par_iter().map(|f| (f.id.clone(), lamps::out_of_frame(&looks, f))).collect(),
                    || behind::fits(&looks),
                )
            },
        );
        ShotMargins { people, lamps, fits_behind }
    }

    /// A person's.
    #[must_use]
    pub fn of_person(&self, id: &PersonId) -> Margins {
        self.people.iter().find(|(p, _)| p == id).map(|(_, m)| m.clone()).unwrap_or_default()
    }

    /// A lamp's being out of frame; absent where it is not, or is meant to be seen.
    #[must_use]
    pub fn of_lamp(&self, id: &FixtureId) -> Option<Margin> {
        self.lamps.iter().find(|(f, _)| f == id).and_then(|(_, m)| m.clone())
    }
}

/// A moment of the shot, with the camera.
struct Look<'a> {
    moment: &'a Moment,
    view: View,
}

/// The moments at which anything differs from the one before.
struct Looks<'a> {
    plan: &'a Plan,
    shot: &'a Shot,
    moments: &'a Moments,
    camera: CameraId,
    /// Whether the camera stays where it is.
    still: bool,
    list: Vec<Look<'a>>,
}

impl<'a> Looks<'a> {
    fn of(plan: &'a Plan, shot: &'a Shot, moments: &'a Moments) -> Option<Looks<'a>> {
        let camera = plan.shot_camera(shot)?;
        let still = camera.marks.is_empty();
        let list = moments
            .list
            .iter()
            .filter(|m| !(m.as_before && still))
            .map(|moment| Look { moment, view: View::at(camera, moment.at_s) })
            .collect();
        Some(Looks { plan, shot, moments, camera: camera.id.clone(), still, list })
    }

    fn of_person(&self, id: &PersonId) -> Margins {
        Margins {
            clear: faces::clear(self, id),
            in_frame: frame::in_frame(self, id),
            in_focus: frame::in_focus(self, id),
        }
    }

    /// The looks over which an answer about a person holds, walks on which it fails left out; none when it fails
    /// on a mark or there is no look left. An answer that is not asked for at a look leaves that look out.
    fn held(&self, id: &PersonId, answer: impl Fn(&Look<'_>, &crate::scene::Placed) -> Option<bool>) -> Vec<usize> {
        let mut held: Vec<usize> = Vec::new();
        let (mut leg_began, mut leg_fails, mut leg) = (0, false, None);
        for (i, look) in self.list.iter().enumerate() {
            let Some(p) = look.moment.people.iter().find(|p| &p.person == id) else {
                leg = None;
                continue;
            };
            if leg != Some(p.mark) {
                (leg, leg_began, leg_fails) = (Some(p.mark), held.len(), false);
            }
            match answer(look, p) {
                None => {}
                Some(true) if leg_fails => {}
                Some(true) => held.push(i),
                Some(false) if p.mark.is_some() => return Vec::new(),
                Some(false) => {
                    held.truncate(leg_began);
                    leg_fails = true;
                }
            }
        }
        held
    }

    /// The person at one of the looks.
    fn placed(&self, look: usize, id: &PersonId) -> Option<&crate::scene::Placed> {
        self.list[look].moment.people.iter().find(|p| &p.person == id)
    }

    fn margin(&self, slip_m: f64, slips: Slips, look: usize) -> Margin {
        let margin_m = slip_m.clamp(0.0, REACH_M);
        Margin { margin_m, or_more: slip_m >= REACH_M, slips, at_s: self.list[look].moment.at_s }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn margins_do_not_depend_on_the_number_of_threads() {
        let plan = crate::plan::from_json(include_bytes!("../../../../assets/demo/last-firing.tapemark.json")).unwrap();
        let shot = &plan.shots[0];
        let moments = Moments::of(&plan, shot);
        let by = |n| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap();
            pool.install(|| ShotMargins::of(&plan, shot, &moments))
        };
        assert_eq!(by(1), by(3));
    }
}
