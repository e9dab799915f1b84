//! Which shots a change is seen in.

use crate::plan::{Plan, Shot, ShotId};

/// Shots that are lit, framed or played differently after a change; all of them when the place or the exposure
/// changed. Words and notes of other shots do not count.
#[must_use]
pub fn touched(before: &Plan, after: &Plan) -> Vec<ShotId> {
    let whole =
        before.location != after.location || before.exposure != after.exposure || before.daylight != after.daylight;
    after.shots.iter().filter(|s| whole || differs(before, after, s)).map(|s| s.id.clone()).collect()
}

fn differs(before: &Plan, after: &Plan, shot: &Shot) -> bool {
    let Some(was) = before.shot(&shot.id) else { return true };
    let people =
        |plan: &Plan, s: &Shot| s.marks.iter().filter_map(|m| plan.person(&m.person).cloned()).collect::<Vec<_>>();
    was != shot
        || before.shot_fixtures(was) != after.shot_fixtures(shot)
        || before.shot_camera(was) != after.shot_camera(shot)
        || people(before, was) != people(after, shot)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::edit::{Edit, ItemRef, apply};
    use crate::plan::{Fixture, HeadClass};
    use glam::DVec2;

    #[test]
    fn a_lamp_of_a_shared_rig_touches_its_shots() {
        let mut plan = Plan::empty();
        plan.rigs[0].fixtures.push(Fixture::new("lamp-1", HeadClass::Panel, [0.0, 0.0], 0.0));
        plan.shots.push(Shot::new("shot-2", "2", "rig-1"));
        plan.rigs.push(crate::plan::Rig::new("rig-2", "Rig 2"));
        plan.shots.push(Shot::new("shot-3", "3", "rig-2"));
        let moved = Edit::Move { items: vec![ItemRef::Fixture("lamp-1".into())], by: DVec2::X };
        let names = |p: &Plan, q: &Plan| touched(p, q).iter().map(ToString::to_string).collect::<Vec<_>>();
        assert_eq!(names(&plan, &apply(&plan, &moved).unwrap()), ["shot-1", "shot-2"]);
        // Once the second shot has its own lamp, each moves alone.
        let own = apply(&plan, &Edit::OwnLamp { shot: "shot-2".into(), fixture: "lamp-1".into() }).unwrap();
        assert_eq!(names(&own, &apply(&own, &moved).unwrap()), ["shot-1"]);
        let id = own.shots[1].lamps[0].fixture.id.clone();
        let alone = Edit::Move { items: vec![ItemRef::Fixture(id)], by: DVec2::X };
        assert_eq!(names(&own, &apply(&own, &alone).unwrap()), ["shot-2"]);
    }
}
