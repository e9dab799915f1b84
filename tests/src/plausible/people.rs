//! Cast, cameras and shots.

use super::pieces::facing;
use super::rooms::{Floor, tenth};
use super::{Sizes, keep, lamps, names};
use crate::Lot;
use glam::DVec2;
use tapemark_core::plan::{
    Build, Camera, CameraMark, Clock, Format, Mark, OwnLamp, Person, Plan, Pose, Shot, ShotId, ShotSize,
};

/// Every pose there is.
const POSES: [Pose; 3] = [Pose::Standing, Pose::Seated, Pose::Kneeling];

/// Draws the cast.
pub(super) fn cast(lot: &mut Lot, plan: &mut Plan, sizes: &Sizes) {
    for i in 0..lot.below(sizes.people + 1) {
        let person = Person {
            id: format!("person-{}", i + 1).into(),
            name: names::person(lot),
            height_m: if lot.percent(15) { lot.steps(0.8, 1.5, 0.01) } else { lot.steps(1.5, 2.0, 0.01) },
            build: lot.one(&[Build::Slight, Build::Medium, Build::Broad]).unwrap_or_default(),
            from: lot.percent(20).then(|| Clock { minutes: 60 * (8 + lot.below(5) as u32) }),
            until: lot.percent(20).then(|| Clock { minutes: 60 * (14 + lot.below(6) as u32) }),
            unknown: Default::default(),
        };
        keep(plan, |p| p.cast.push(person));
    }
}

/// Draws the shots with their cameras and marks.
pub(super) fn stage(lot: &mut Lot, plan: &mut Plan, sizes: &Sizes, floor: &Floor) {
    for i in 0..=lot.below(sizes.shots) {
        let rig = lot.one(&plan.rigs).map_or_else(|| "rig-1".into(), |r| r.id);
        let mut shot = Shot::new(format!("shot-{}", i + 1), &format!("{}", i + 1), rig);
        shot.size = ShotSize::ALL[lot.below(ShotSize::ALL.len())];
        shot.length_s = lot.steps(2.0, 20.0, 0.5);
        shot.description = if lot.percent(50) { names::note(lot) } else { String::new() };
        shot.notes = if lot.percent(15) { names::note(lot) } else { String::new() };
        let room = lot.below(floor.outlines.len());
        marks(lot, plan, &mut shot, floor, room);
        if lot.percent(93) {
            let reused = if lot.percent(20) { lot.one(&plan.cameras) } else { None };
            let id = match reused {
                Some(c) => c.id,
                None => {
                    let camera = camera(lot, &shot, floor, room, i + 1);
                    let id = camera.id.clone();
                    keep(plan, |p| p.cameras.push(camera));
                    id
                }
            };
            shot.camera = plan.camera(&id).is_some().then_some(id);
        }
        own_ways(lot, plan, &mut shot, floor, i);
        keep(plan, |p| p.shots.push(shot));
    }
}

/// What a shot has differently: hour, takes, cuts, lamps.
fn own_ways(lot: &mut Lot, plan: &Plan, shot: &mut Shot, floor: &Floor, i: usize) {
    let others: Vec<ShotId> = plan.shots.iter().map(|s| s.id.clone()).collect();
    if lot.percent(50) {
        shot.cuts_with.extend(lot.one(&others));
    }
    shot.variant_of = if lot.percent(12) { lot.one(&others) } else { None };
    shot.clock = lot.percent(25).then(|| Clock { minutes: 15 * lot.below(96) as u32 });
    shot.takes = lot.percent(25).then(|| 1 + lot.below(9) as u32);
    if lot.percent(20) {
        let of_rig = plan.rig(&shot.rig).and_then(|r| lot.one(&r.fixtures));
        let mut fixture = lamps::lamp(lot, plan, floor, &format!("own-{}", i + 1));
        if let Some(f) = &of_rig
            && lot.percent(60)
        {
            fixture = tapemark_core::plan::Fixture { id: fixture.id, dimmer: lot.steps(0.0, 1.0, 0.1), ..f.clone() };
        }
        let replaces = if lot.percent(70) { of_rig.map(|f| f.id) } else { None };
        shot.lamps.push(OwnLamp { replaces, fixture });
    }
}

/// Puts people on marks, most of them in one room.
fn marks(lot: &mut Lot, plan: &Plan, shot: &mut Shot, floor: &Floor, room: usize) {
    for (k, person) in plan.cast.iter().enumerate() {
        if !lot.percent(80) {
            continue;
        }
        if lot.percent(65) {
            shot.faces.push(person.id.clone());
        }
        let mut from_s = if lot.percent(80) { 0.0 } else { lot.steps(0.5, shot.length_s * 0.5, 0.5) };
        let walks = if lot.percent(55) { 0 } else { 1 + lot.below(2) };
        for step in 0..=walks {
            let at = if lot.percent(90) { floor.within(lot, room) } else { floor.anywhere(lot) };
            // Stays a while, then walks two to twenty seconds.
            let stays = lot.steps(0.0, 4.0, 0.5);
            let last = step == walks;
            let to_s = if last && lot.percent(80) { None } else { Some(from_s + stays) };
            shot.marks.push(Mark {
                id: format!("mark-{}-{}-{}", shot.id, k + 1, step + 1).into(),
                person: person.id.clone(),
                position_m: at.to_array(),
                facing_deg: lot.steps(0.0, 359.0, 1.0),
                from_s,
                to_s,
                pose: POSES[if lot.percent(65) { 0 } else { lot.below(POSES.len()) }],
                unknown: Default::default(),
            });
            from_s += stays + lot.steps(2.0, 20.0, 0.5);
        }
    }
}

/// A camera that looks at somebody or into the room.
fn camera(lot: &mut Lot, shot: &Shot, floor: &Floor, room: usize, number: usize) -> Camera {
    let seen: Vec<DVec2> = shot.marks.iter().map(|m| DVec2::from_array(m.position_m)).collect();
    let target = lot.one(&seen).unwrap_or_else(|| floor.within(lot, room));
    let room = floor.room_of(target).unwrap_or(room);
    let place = |lot: &mut Lot| {
        let far = (0..12).map(|_| floor.within(lot, room)).find(|p| p.distance(target) > 0.9);
        far.unwrap_or(target + DVec2::new(1.5, 0.8))
    };
    let at = place(lot);
    let aim = |lot: &mut Lot, at: DVec2| {
        let off = if lot.percent(60) { lot.steps(-8.0, 8.0, 1.0) } else { 0.0 };
        let pan = tenth(facing(at, target) + off);
        if lot.percent(8) { pan + 180.0 } else { pan }
    };
    let mut camera = Camera::new(format!("camera-{number}"), &names::thing(lot), at.to_array(), aim(lot, at));
    camera.lens_height_m = lot.steps(0.4, 2.0, 0.05);
    camera.tilt_deg = if lot.percent(50) { 0.0 } else { lot.steps(-25.0, 15.0, 1.0) };
    camera.roll_deg = if lot.percent(80) { 0.0 } else { lot.steps(-20.0, 20.0, 1.0) };
    camera.format = Format::known(lot.below(Format::KNOWN.len()));
    camera.aspect = lot.one(&[16.0 / 9.0, 1.85, 2.39, 4.0 / 3.0, 1.0, 9.0 / 16.0]).unwrap_or(1.85);
    let focal_mm = lot.one(&[12.0, 16.0, 18.0, 24.0, 35.0, 50.0, 85.0]).unwrap_or(24.0);
    camera.lens.focal_mm = focal_mm;
    camera.lens.zoom_mm = lot.percent(35).then_some([focal_mm * 0.75, focal_mm * 2.5]);
    camera.lens.t_stop = lot.one(&[1.8, 2.0, 2.8, 4.0, 5.6, 8.0]).unwrap_or(2.8);
    camera.lens.close_focus_m = lot.one(&[0.25, 0.4, 0.9]).unwrap_or(0.25);
    camera.focus_m = lot.percent(25).then(|| lot.steps(0.5, 6.0, 0.1));
    camera.nd_stops = lot.one(&[0.0, 0.0, 0.0, 0.9, 2.0, 4.0]).unwrap_or(0.0);
    let mut at_s = 0.0;
    for _ in 0..lot.one(&[0, 0, 0, 1, 1, 2]).unwrap_or(0) {
        at_s += lot.steps(2.0, 20.0, 0.5);
        let to = if lot.percent(25) { DVec2::from_array(camera.position_m) } else { place(lot) };
        camera.marks.push(CameraMark {
            at_s,
            position_m: to.to_array(),
            lens_height_m: lot.steps(0.6, 1.8, 0.1),
            pan_deg: aim(lot, to),
            tilt_deg: lot.steps(-15.0, 10.0, 1.0),
            focal_mm: if camera.lens.zoom_mm.is_some() { focal_mm * lot.steps(0.8, 2.4, 0.1) } else { focal_mm },
        });
    }
    camera
}
