//! What makes a plan: every reference resolves, every number is a measurement, every outline closes.

use super::checker::{Checker, MAX_M, Problem};
use super::too_many::{too_long, too_many};
use super::{Fixture, Gel, Head, OpeningKind, PieceShape, Plan, Rig, Shared, Shot, Spectrum};
use crate::colour::Bands;
use glam::DVec2;
use std::fmt::Arguments;
use tapemark_words::{figure, say};

/// Whether a path names a file in the plan's folder or below it.
fn stays_beside(path: &str) -> bool {
    !path.is_empty()
        && path.len() <= 400
        && !path.contains(['\\', ':', '\0'])
        && path.split('/').all(|part| !matches!(part, "" | "." | ".."))
}

/// Lists what keeps the plan from being one, in file order; empty: it is valid.
#[must_use]
pub fn validate(plan: &Plan) -> Vec<Problem> {
    checked(plan, None)
}

/// The first problem of a plan that was made of a valid one: what the two share need not be looked at again.
#[must_use]
pub(crate) fn first_problem_after(valid: &Plan, plan: &Plan) -> Option<Problem> {
    if checked(plan, Some(valid)).is_empty() {
        return None;
    }
    validate(plan).into_iter().next()
}

fn checked(plan: &Plan, valid: Option<&Plan>) -> Vec<Problem> {
    let mut c = match valid {
        Some(valid) => Checker::quick(ids(valid).eq(ids(plan))),
        None => Checker::default(),
    };
    let l = &plan.location;
    let e = &plan.exposure;
    c.range("exposure.ei", e.ei, 1.0, 1_000_000.0, "");
    c.range("exposure.frame_rate", e.frame_rate, 0.1, 10_000.0, say!("frames-a-second"));
    c.range("exposure.shutter_deg", e.shutter_deg, 0.1, 360.0, say!("degrees"));
    c.range("exposure.white_balance_k", e.white_balance_k, 1000.0, 40_000.0, "K");
    if let Some(k) = e.calibration_c {
        c.range("exposure.calibration_c", k, 100.0, 1000.0, "lx·s");
    }
    if let Some(k) = e.spot_k {
        c.range("exposure.spot_k", k, 5.0, 50.0, "cd/m²·s");
    }
    let m = &plan.limits;
    c.range("limits.room_behind_m", m.room_behind_m, 0.0, 100.0, "m");
    c.range("limits.operator_width_m", m.operator_width_m, 0.1, 10.0, "m");
    c.range("limits.face_share", m.face_share, 0.0, 1.0, "");
    c.range("limits.exposure_stops", m.exposure_stops, 0.0, 20.0, say!("stops"));
    c.range("limits.continuous_load_share", m.continuous_load_share, 0.1, 1.0, "");
    c.range("limits.hot_clearance_m", m.hot_clearance_m, 0.0, 10.0, "m");
    c.range("limits.hot_side_clearance_m", m.hot_side_clearance_m, 0.0, 10.0, "m");
    c.range("limits.walkway_m", m.walkway_m, 0.0, 10.0, "m");
    c.range("limits.slip_m", m.slip_m, 0.0, crate::margins::REACH_M, "m");
    c.range("limits.cloth_roll_m", m.cloth_roll_m, 0.1, 20.0, "m");
    c.angle("location.north_deg", l.north_deg);
    c.range("location.wall_thickness_m", l.wall_thickness_m, 0.0, 2.0, "m");
    c.range("location.mains_v", l.mains_v, 90.0, 500.0, "V");
    if let Some(v) = l.latitude_deg {
        c.range("location.latitude_deg", v, -90.0, 90.0, say!("degrees"));
    }
    if let Some(v) = l.longitude_deg {
        c.range("location.longitude_deg", v, -180.0, 180.0, say!("degrees"));
    }
    too_many(&mut c, plan);
    too_long(&mut c, plan);
    if !c.problems.is_empty() {
        return c.problems;
    }
    if let Some(d) = &plan.daylight {
        c.range("daylight.utc_offset_h", d.utc_offset_h, -14.0, 14.0, say!("hours"));
        c.range("daylight.sky_type", f64::from(d.sky_type), 1.0, 15.0, say!("cie-s-011"));
        c.range("daylight.ground_reflectance", d.ground_reflectance, 0.0, 1.0, "");
    }
    // What a plan that was valid shares with this one is valid still, unless it names what is gone.
    let same_place = valid.is_some_and(|v| Shared::is_same(&v.location, &plan.location));
    if same_place {
        c.take_ids(plan.location.ids());
    } else {
        location(&mut c, plan, valid);
    }
    let same_outlets = valid.filter(|v| same_place || outlet_ids(v).eq(outlet_ids(plan)));
    people_and_cameras(&mut c, plan);
    if same_outlets.is_some_and(|v| Shared::is_same(&v.rigs, &plan.rigs)) {
        c.take_ids(plan.rigs.iter().flat_map(rig_ids));
    } else {
        rigs(&mut c, plan);
    }
    day(&mut c, plan);
    if same_outlets.is_some_and(|v| Shared::is_same(&v.shots, &plan.shots) && same_names(v, plan)) {
        c.take_ids(plan.shots.iter().flat_map(shot_ids));
    } else {
        shots(&mut c, plan);
    }
    c.problems
}

/// Everything that has an id of its own.
fn ids(plan: &Plan) -> impl Iterator<Item = &str> {
    let people = plan.cast.iter().map(|p| p.id.as_str());
    (plan.location.ids().chain(people).chain(plan.cameras.iter().map(|k| k.id.as_str())))
        .chain(plan.rigs.iter().flat_map(rig_ids))
        .chain(plan.shots.iter().flat_map(shot_ids))
}

fn outlet_ids(plan: &Plan) -> impl Iterator<Item = &str> {
    plan.location.outlets.iter().map(|o| o.id.as_str())
}

fn rig_ids(r: &Rig) -> impl Iterator<Item = &str> {
    std::iter::once(r.id.as_str()).chain(r.fixtures.iter().map(|f| f.id.as_str()))
}

fn shot_ids(s: &Shot) -> impl Iterator<Item = &str> {
    let lamps = s.lamps.iter().map(|l| l.fixture.id.as_str());
    std::iter::once(s.id.as_str()).chain(lamps).chain(s.marks.iter().map(|m| m.id.as_str()))
}

/// Whether everything that shots name goes by the same names in both.
fn same_names(a: &Plan, b: &Plan) -> bool {
    a.rigs.iter().flat_map(rig_ids).eq(b.rigs.iter().flat_map(rig_ids))
        && a.cast.iter().map(|p| &p.id).eq(b.cast.iter().map(|p| &p.id))
        && a.cameras.iter().map(|k| &k.id).eq(b.cameras.iter().map(|k| &k.id))
}

fn location<'a>(c: &mut Checker<'a>, plan: &'a Plan, valid: Option<&Plan>) {
    let l = &plan.location;
    for (i, r) in l.rooms.iter().enumerate() {
        let path = format_args!("location.rooms[{i}]");
        c.id(path, r.id.as_str());
        c.outline(format_args!("{path}.outline_m"), &r.outline_m);
        c.range(format_args!("{path}.ceiling_m"), r.ceiling_m, 1.0, 100.0, "m");
        for (name, f) in [("walls", &r.finishes.walls), ("floor", &r.finishes.floor), ("ceiling", &r.finishes.ceiling)]
        {
            for (k, v) in f.reflectance_rgb.iter().enumerate() {
                c.range(
                    format_args!("{path}.finishes.{name}.reflectance_rgb[{k}]"),
                    *v,
                    0.0,
                    0.98,
                    say!("a-surface-never-returns-all-light"),
                );
            }
        }
    }
    for (i, o) in l.openings.iter().enumerate() {
        let path = format_args!("location.openings[{i}]");
        c.id(path, o.id.as_str());
        c.range(format_args!("{path}.offset_m"), o.offset_m, 0.0, MAX_M, "m");
        c.range(format_args!("{path}.width_m"), o.width_m, 0.05, MAX_M, "m");
        c.range(format_args!("{path}.sill_m"), o.sill_m, 0.0, 100.0, "m");
        c.range(format_args!("{path}.head_m"), o.head_m, 0.1, 100.0, "m");
        if o.head_m <= o.sill_m {
            c.say(format!("{path}.head_m"), say!("the-openings-top-is-not-above"), say!("raise-head-m-or-lower-sill"));
        }
        match o.kind {
            OpeningKind::Door { open_deg, .. } => {
                c.range(format_args!("{path}.kind.open_deg"), open_deg, 0.0, 180.0, say!("degrees"));
            }
            OpeningKind::Window { transmittance } => {
                c.range(format_args!("{path}.kind.transmittance"), transmittance, 0.0, 1.0, "");
            }
            OpeningKind::Passage => {}
        }
        let Some(room) = plan.room(&o.room) else {
            c.known(format_args!("{path}.room"), o.room.as_str(), say!("room"), false);
            continue;
        };
        let n = room.outline_m.len();
        if o.edge >= n {
            c.say(
                format!("{path}.edge"),
                say!("room-has-no-edge", room = o.room, edge = o.edge),
                say!("name-an-edge-from-0-to", n = n.saturating_sub(1)),
            );
            continue;
        }
        let length =
            DVec2::from_array(room.outline_m[o.edge]).distance(DVec2::from_array(room.outline_m[(o.edge + 1) % n]));
        let kind = match o.kind {
            OpeningKind::Door { .. } => say!("door"),
            OpeningKind::Window { .. } => say!("window"),
            OpeningKind::Passage => say!("passage"),
        };
        if o.width_m > length + 1e-6 {
            c.say(
                format!("{path}.width_m"),
                say!("the-is-m-wide-its-wall", kind, width_m = figure(o.width_m, 2), length = figure(length, 2)),
                say!("make-it-narrower-or-the-wall"),
            );
        } else if o.offset_m + o.width_m > length + 1e-6 {
            c.say(
                format!("{path}.offset_m"),
                say!("the-ends-m-past-its-walls", kind, length = figure(o.offset_m + o.width_m - length, 2)),
                say!("move-it-back-along-the-wall"),
            );
        }
        if o.head_m > room.ceiling_m + 1e-6 {
            c.say(
                format!("{path}.head_m"),
                say!("the-is-higher-than-the", kind, ceiling_m = figure(room.ceiling_m, 2)),
                say!("lower-head-m-or-raise-the"),
            );
        }
    }
    for (i, p) in l.pieces.iter().enumerate() {
        let path = format_args!("location.pieces[{i}]");
        c.id(path, p.id.as_str());
        if valid.is_some_and(|v| v.location.pieces.get(i) == Some(p)) {
            continue;
        }
        c.point(format_args!("{path}.position_m"), p.position_m);
        c.angle(format_args!("{path}.rotation_deg"), p.rotation_deg);
        c.range(format_args!("{path}.base_m"), p.base_m, 0.0, 100.0, "m");
        c.range(format_args!("{path}.top_m"), p.top_m, 0.0, 100.0, "m");
        if p.top_m <= p.base_m {
            c.say(format!("{path}.top_m"), say!("the-pieces-top-is-not-above"), say!("raise-top-m-or-lower-base"));
        }
        for (k, v) in p.finish.reflectance_rgb.iter().enumerate() {
            c.range(format_args!("{path}.finish.reflectance_rgb[{k}]"), *v, 0.0, 0.98, "");
        }
        match &p.shape {
            PieceShape::Box { width_m, depth_m } => {
                c.range(format_args!("{path}.shape.width_m"), *width_m, 0.001, 1000.0, "m");
                c.range(format_args!("{path}.shape.depth_m"), *depth_m, 0.001, 1000.0, "m");
            }
            PieceShape::Round { diameter_m } => {
                c.range(format_args!("{path}.shape.diameter_m"), *diameter_m, 0.001, 1000.0, "m");
            }
            PieceShape::Outline { points_m } => c.outline(format_args!("{path}.shape.points_m"), points_m),
            PieceShape::Sheet { width_m, lean_m } => {
                c.range(format_args!("{path}.shape.width_m"), *width_m, 0.001, 1000.0, "m");
                c.range(format_args!("{path}.shape.lean_m"), *lean_m, -100.0, 100.0, "m");
            }
        }
    }
    for (i, k) in l.circuits.iter().enumerate() {
        let path = format_args!("location.circuits[{i}]");
        c.id(path, k.id.as_str());
        c.range(format_args!("{path}.breaker_a"), k.breaker_a, 1.0, 1000.0, "A");
        if let Some(f) = k.feed {
            c.range(format_args!("{path}.feed.length_m"), f.length_m, 0.0, 1000.0, "m");
            c.range(format_args!("{path}.feed.conductor_mm2"), f.conductor_mm2, 0.5, 400.0, "mm²");
        }
    }
    for (i, o) in l.outlets.iter().enumerate() {
        let path = format_args!("location.outlets[{i}]");
        c.id(path, o.id.as_str());
        c.point(format_args!("{path}.position_m"), o.position_m);
        c.known(
            format_args!("{path}.circuit"),
            o.circuit.as_str(),
            say!("circuit"),
            l.circuits.iter().any(|k| k.id == o.circuit),
        );
    }
    if let Some(u) = &l.underlay {
        if !stays_beside(&u.file) {
            c.say(
                "location.underlay.file",
                say!("not-a-file-beside-the-plan"),
                say!("write-a-relative-path-with-forward"),
            );
        }
        c.point("location.underlay.origin_m", u.origin_m);
        c.range("location.underlay.metres_per_pixel", u.metres_per_pixel, 1e-6, 100.0, "m");
        c.range("location.underlay.opacity", u.opacity, 0.0, 1.0, "");
    }
}

fn people_and_cameras<'a>(c: &mut Checker<'a>, plan: &'a Plan) {
    for (i, p) in plan.cast.iter().enumerate() {
        let path = format_args!("cast[{i}]");
        c.id(path, p.id.as_str());
        c.range(format_args!("{path}.height_m"), p.height_m, 0.3, 3.0, "m");
    }
    for (i, k) in plan.cameras.iter().enumerate() {
        let path = format_args!("cameras[{i}]");
        c.id(path, k.id.as_str());
        c.point(format_args!("{path}.position_m"), k.position_m);
        c.range(format_args!("{path}.lens_height_m"), k.lens_height_m, 0.0, 100.0, "m");
        c.angle(format_args!("{path}.pan_deg"), k.pan_deg);
        c.range(format_args!("{path}.tilt_deg"), k.tilt_deg, -90.0, 90.0, say!("degrees"));
        c.angle(format_args!("{path}.roll_deg"), k.roll_deg);
        c.range(format_args!("{path}.aspect"), k.aspect, 0.2, 10.0, "");
        c.range(format_args!("{path}.format.width_mm"), k.format.width_mm, 0.5, 500.0, "mm");
        c.range(format_args!("{path}.format.height_mm"), k.format.height_mm, 0.5, 500.0, "mm");
        if let Some(coc) = k.format.circle_of_confusion_mm {
            c.range(format_args!("{path}.format.circle_of_confusion_mm"), coc, 1e-4, 10.0, "mm");
        }
        c.range(format_args!("{path}.lens.focal_mm"), k.lens.focal_mm, 1.0, 2000.0, "mm");
        c.range(format_args!("{path}.lens.t_stop"), k.lens.t_stop, 0.5, 128.0, "");
        c.range(format_args!("{path}.lens.widest_t_stop"), k.lens.widest_t_stop, 0.5, 128.0, "");
        c.range(format_args!("{path}.lens.close_focus_m"), k.lens.close_focus_m, 0.0, 100.0, "m");
        if let Some([short, long]) = k.lens.zoom_mm {
            c.range(format_args!("{path}.lens.zoom_mm[0]"), short, 1.0, 2000.0, "mm");
            c.range(format_args!("{path}.lens.zoom_mm[1]"), long, 1.0, 2000.0, "mm");
            if short > long {
                c.say(
                    format!("{path}.lens.zoom_mm"),
                    say!("the-zooms-short-end-is-longer"),
                    say!("write-the-shorter-focal-length-first"),
                );
            }
        }
        c.range(format_args!("{path}.sensor_behind_m"), k.sensor_behind_m, 0.0, 2.0, "m");
        if let Some(f) = k.focus_m {
            c.range(format_args!("{path}.focus_m"), f, 0.01, MAX_M, "m");
        }
        c.range(format_args!("{path}.nd_stops"), k.nd_stops, 0.0, 30.0, say!("stops"));
        for (j, mark) in k.marks.iter().enumerate() {
            let path = format_args!("{path}.marks[{j}]");
            c.range(format_args!("{path}.at_s"), mark.at_s, 0.0, 86_400.0, "s");
            c.point(format_args!("{path}.position_m"), mark.position_m);
            c.range(format_args!("{path}.lens_height_m"), mark.lens_height_m, 0.0, 100.0, "m");
            c.angle(format_args!("{path}.pan_deg"), mark.pan_deg);
            c.range(format_args!("{path}.tilt_deg"), mark.tilt_deg, -90.0, 90.0, say!("degrees"));
            c.range(format_args!("{path}.focal_mm"), mark.focal_mm, 1.0, 2000.0, "mm");
        }
    }
}

fn rigs<'a>(c: &mut Checker<'a>, plan: &'a Plan) {
    for (i, r) in plan.rigs.iter().enumerate() {
        c.id(format_args!("rigs[{i}]"), r.id.as_str());
        for (j, f) in r.fixtures.iter().enumerate() {
            fixture(c, plan, format_args!("rigs[{i}].fixtures[{j}]"), f);
        }
    }
}

fn fixture<'a>(c: &mut Checker<'a>, plan: &Plan, path: Arguments<'_>, f: &'a Fixture) {
    c.id(path, f.id.as_str());
    c.point(format_args!("{path}.position_m"), f.position_m);
    c.range(format_args!("{path}.height_m"), f.height_m, 0.0, 100.0, "m");
    c.angle(format_args!("{path}.pan_deg"), f.pan_deg);
    c.range(format_args!("{path}.tilt_deg"), f.tilt_deg, -90.0, 90.0, say!("degrees"));
    c.range(format_args!("{path}.watts"), f.watts, 0.0, 100_000.0, "W");
    c.range(format_args!("{path}.cct_k"), f.cct_k, 1000.0, 40_000.0, "K");
    c.range(format_args!("{path}.dimmer"), f.dimmer, 0.0, 1.0, "");
    c.range(format_args!("{path}.scrim_stops"), f.scrim_stops, 0.0, 20.0, say!("stops"));
    if let Some(lm) = f.output_lm {
        c.range(format_args!("{path}.output_lm"), lm, 0.0, 1e8, "lm");
    }
    if let Some((beam, field)) = f.head.beam_field_deg() {
        c.range(format_args!("{path}.head.beam_deg"), beam, 1.0, 170.0, say!("degrees"));
        c.range(format_args!("{path}.head.field_deg"), field, 1.0, 175.0, say!("degrees"));
        if field <= beam {
            c.say(
                format!("{path}.head.field_deg"),
                say!("the-field-angle-is-not-wider"),
                say!("the-field-a-tenth-of-peak"),
            );
        }
    }
    if let Head::Fresnel { flood } = f.head {
        c.range(format_args!("{path}.head.flood"), flood, 0.0, 1.0, "");
    }
    if let Head::Panel { beam_deg, .. } = f.head {
        c.range(format_args!("{path}.head.beam_deg"), beam_deg, 5.0, 120.0, say!("degrees"));
    }
    if let Some((w, h)) = f.head.area_m() {
        c.range(format_args!("{path}.head.width_m"), w, 0.01, 20.0, "m");
        c.range(format_args!("{path}.head.height_m"), h, 0.01, 20.0, "m");
    }
    if let Some(b) = f.barn_doors {
        for (name, v) in
            [("left_deg", b.left_deg), ("right_deg", b.right_deg), ("top_deg", b.top_deg), ("bottom_deg", b.bottom_deg)]
        {
            c.range(format_args!("{path}.barn_doors.{name}"), v, -89.0, 90.0, say!("degrees"));
        }
    }
    for (k, gel) in f.gels.iter().enumerate() {
        match gel {
            Gel::Correction { mired_shift, transmittance, .. } => {
                c.range(format_args!("{path}.gels[{k}].mired_shift"), *mired_shift, -600.0, 600.0, say!("mired"));
                c.range(format_args!("{path}.gels[{k}].transmittance"), *transmittance, 0.0, 1.0, "");
            }
            Gel::Measured(curve) => c.curve(&format!("{path}.gels[{k}]"), curve, 1.0),
        }
    }
    match &f.spectrum {
        Spectrum::Cie { symbol } if Bands::cie(symbol).is_none() => c.say(
            format!("{path}.spectrum.symbol"),
            say!("there-is-no-cie-illuminant", symbol),
            say!("name-one-of", names = Bands::cie_symbols().join(", ")),
        ),
        Spectrum::Measured(curve) => {
            c.curve(&format!("{path}.spectrum"), curve, 1e12);
            if Bands::of_curve(curve).normalised().is_none() {
                c.say(
                    format!("{path}.spectrum.points"),
                    say!("the-spectrum-has-no-light-in"),
                    say!("give-values-above-0-or-delete"),
                );
            }
        }
        _ => {}
    }
    if let Some(flaw) = f.candela.as_ref().and_then(|t| t.flaw()) {
        c.say(format!("{path}.candela"), flaw, say!("read-the-lamps-lm-63-file"));
    }
    if let Some(cutoff) = f.grid_cutoff_deg {
        c.range(format_args!("{path}.grid_cutoff_deg"), cutoff, 5.0, 80.0, say!("degrees"));
    }
    if let Some(d) = &f.diffusion {
        c.range(format_args!("{path}.diffusion.spread_deg"), d.spread_deg, 0.0, 80.0, say!("degrees"));
        c.range(format_args!("{path}.diffusion.transmittance"), d.transmittance, 0.0, 1.0, "");
        if let Some(stops) = d.axis_loss_stops {
            c.range(format_args!("{path}.diffusion.axis_loss_stops"), stops, 0.0, 10.0, say!("stops"));
        }
    }
    if let Some(o) = &f.outlet {
        c.known(
            format_args!("{path}.outlet"),
            o.as_str(),
            say!("outlet"),
            plan.location.outlets.iter().any(|x| &x.id == o),
        );
    }
    if let Some(factor) = f.power_factor {
        c.range(format_args!("{path}.power_factor"), factor, 0.1, 1.0, "");
    }
    if let Some(mm2) = f.cable_mm2 {
        c.range(format_args!("{path}.cable_mm2"), mm2, 0.5, 400.0, "mm²");
    }
}

fn shots<'a>(c: &mut Checker<'a>, plan: &'a Plan) {
    for (i, s) in plan.shots.iter().enumerate() {
        let path = format_args!("shots[{i}]");
        c.id(path, s.id.as_str());
        c.range(format_args!("{path}.length_s"), s.length_s, 0.01, 86_400.0, "s");
        c.known(format_args!("{path}.rig"), s.rig.as_str(), say!("rig"), plan.rig(&s.rig).is_some());
        if let Some(k) = &s.camera {
            c.known(format_args!("{path}.camera"), k.as_str(), say!("camera"), plan.camera(k).is_some());
        }
        for (j, p) in s.faces.iter().enumerate() {
            c.known(format_args!("{path}.faces[{j}]"), p.as_str(), say!("person"), plan.person(p).is_some());
        }
        for (j, l) in s.lamps.iter().enumerate() {
            let path = format_args!("{path}.lamps[{j}]");
            fixture(c, plan, path, &l.fixture);
            if let Some(id) = &l.replaces {
                let found = plan.rig(&s.rig).is_some_and(|r| r.fixtures.iter().any(|f| &f.id == id));
                c.known(format_args!("{path}.replaces"), id.as_str(), say!("lamp-of-the-shots-rig"), found);
                if s.lamps[..j].iter().any(|o| o.replaces.as_ref() == Some(id)) {
                    c.say(
                        format!("{path}.replaces"),
                        say!("the-lamp-is-replaced-twice"),
                        say!("delete-one-of-the-two"),
                    );
                }
            }
        }
        if let Some(n) = s.takes {
            c.range(format_args!("{path}.takes"), f64::from(n), 1.0, 500.0, "");
        }
        if let Some(o) = &s.variant_of {
            c.known(format_args!("{path}.variant_of"), o.as_str(), say!("shot"), plan.shot(o).is_some());
        }
        if let Some(p) = &s.picture
            && !stays_beside(p)
        {
            c.say(
                format!("{path}.picture"),
                say!("not-a-file-beside-the-plan"),
                say!("write-a-relative-path-with-forward"),
            );
        }
        for (j, o) in s.cuts_with.iter().enumerate() {
            c.known(format_args!("{path}.cuts_with[{j}]"), o.as_str(), say!("shot"), plan.shot(o).is_some());
        }
        for (j, m) in s.marks.iter().enumerate() {
            let path = format_args!("{path}.marks[{j}]");
            c.id(path, m.id.as_str());
            c.known(format_args!("{path}.person"), m.person.as_str(), say!("person"), plan.person(&m.person).is_some());
            c.point(format_args!("{path}.position_m"), m.position_m);
            c.angle(format_args!("{path}.facing_deg"), m.facing_deg);
            c.range(format_args!("{path}.from_s"), m.from_s, 0.0, 86_400.0, "s");
            if let Some(to) = m.to_s {
                c.range(format_args!("{path}.to_s"), to, 0.0, 86_400.0, "s");
                if to < m.from_s {
                    c.say(
                        format!("{path}.to_s"),
                        say!("the-person-leaves-before-arriving"),
                        say!("make-to-s-at-least-from"),
                    );
                }
            }
        }
    }
}

fn day(c: &mut Checker<'_>, plan: &Plan) {
    let d = &plan.day;
    for (name, v, most) in [
        ("rig_change_min", d.rig_change_min, 1440.0),
        ("lamp_min", d.lamp_min, 1440.0),
        ("camera_move_min", d.camera_move_min, 1440.0),
        ("rehearse_min", d.rehearse_min, 1440.0),
        ("between_takes_min", d.between_takes_min, 1440.0),
        ("window_min", d.window_min, 1440.0),
        ("waiting_weight", d.waiting_weight, 100.0),
    ] {
        c.range(format_args!("day.{name}"), v, 0.0, most, "");
    }
    c.range("day.takes", f64::from(d.takes), 1.0, 500.0, "");
    if d.wrap <= d.start {
        c.say("day.wrap", say!("the-day-ends-before-it-starts"), say!("write-a-later-wrap"));
    }
    for (i, p) in d.pins.iter().enumerate() {
        let path = format_args!("day.pins[{i}]");
        c.known(format_args!("{path}.shot"), p.shot.as_str(), say!("shot"), plan.shot(&p.shot).is_some());
        c.range(format_args!("{path}.place"), p.place as f64, 1.0, 10_000.0, "");
        if d.pins[..i].iter().any(|o| o.place == p.place || o.shot == p.shot) {
            c.say(path.to_string(), say!("the-place-or-the-shot-is"), say!("delete-one-of-the-two-pins"));
        }
    }
}
