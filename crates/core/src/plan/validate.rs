//! What makes a plan: every reference resolves, every number is a measurement, every outline closes.

use super::{Curve, Fixture, Gel, Head, OpeningKind, PieceShape, Plan, Spectrum};
use crate::colour::{Bands, MAX_POINTS};
use crate::geometry::{polygon_self_crossing, signed_area};
use glam::DVec2;
use std::collections::HashMap;
use std::fmt::Display;

/// Something that keeps a file from being a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What is wrong.
    pub what: String,
    /// JSON path.
    pub path: String,
    /// What to do.
    pub remedy: String,
}

struct Checker {
    problems: Vec<Problem>,
    ids: HashMap<String, String>,
}

/// Furthest from the origin anything may stand, metres.
const MAX_M: f64 = 10_000.0;
/// Most of each kind in a plan, and why so few: what is worked out of them is worked out while a person waits.
const MOST: Most =
    Most { rooms: 200, walls: 1_000, corners: 100, openings: 1_000, pieces: 2_000, lamps: 100, others: 500 };

struct Most {
    rooms: usize,
    walls: usize,
    corners: usize,
    openings: usize,
    pieces: usize,
    /// In one rig.
    lamps: usize,
    /// Shots, cameras, cast, rigs, circuits, outlets, marks of a shot.
    others: usize,
}

/// Whether a path names a file in the plan's folder or below it.
fn stays_beside(path: &str) -> bool {
    !path.is_empty()
        && path.len() <= 400
        && !path.contains(['\\', ':', '\0'])
        && path.split('/').all(|part| !matches!(part, "" | "." | ".."))
}

impl Checker {
    fn at_most(&mut self, path: &str, what: &str, n: usize, most: usize) {
        if n > most {
            let remedy = format!("keep at most {most}: draw what the shots use, and the rest in a plan of its own");
            self.say(path, format!("{n} {what} are too many"), remedy);
        }
    }
    fn say(&mut self, path: impl Into<String>, what: impl Into<String>, remedy: impl Into<String>) {
        self.problems.push(Problem { what: what.into(), path: path.into(), remedy: remedy.into() });
    }
    fn range(&mut self, path: impl Display, value: f64, low: f64, high: f64, unit: &str) {
        if !value.is_finite() {
            self.say(path.to_string(), "not a finite number", format!("write a number from {low} to {high} {unit}"));
        } else if value < low || value > high {
            self.say(
                path.to_string(),
                format!("{value} is outside {low} to {high} {unit}"),
                format!("write a number from {low} to {high} {unit}"),
            );
        }
    }
    fn point(&mut self, path: impl Display, p: [f64; 2]) {
        self.range(format_args!("{path}[0]"), p[0], -MAX_M, MAX_M, "m");
        self.range(format_args!("{path}[1]"), p[1], -MAX_M, MAX_M, "m");
    }
    fn angle(&mut self, path: impl Display, a: f64) {
        self.range(path, a, -3600.0, 3600.0, "degrees");
    }
    fn id(&mut self, path: &str, id: &str) {
        if id.is_empty() {
            self.say(format!("{path}.id"), "the id is empty", "give the item an id of its own");
        } else if let Some(first) = self.ids.insert(id.into(), path.into()) {
            self.say(
                format!("{path}.id"),
                format!("the id \"{id}\" is already used by {first}"),
                "give one of the two another id",
            );
        }
    }
    fn known(&mut self, path: impl Display, id: &str, kind: &str, found: bool) {
        if !found {
            self.say(
                path.to_string(),
                format!("there is no {kind} \"{id}\""),
                format!("name a {kind} that the plan has, or delete the item"),
            );
        }
    }
    fn curve(&mut self, path: &str, curve: &Curve, most: f64) {
        let path = format!("{path}.points");
        if curve.points.len() < 2 || curve.points.len() > MAX_POINTS {
            self.say(
                &path,
                format!("a curve of {} points", curve.points.len()),
                format!("give 2 to {MAX_POINTS} points from 380 to 780 nm"),
            );
            return;
        }
        for (i, p) in curve.points.iter().enumerate() {
            self.range(format_args!("{path}[{i}][0]"), p[0], 100.0, 10_000.0, "nm");
            self.range(format_args!("{path}[{i}][1]"), p[1], 0.0, most, "");
        }
        if curve.points.windows(2).any(|w| w[0][0] >= w[1][0]) {
            self.say(&path, "the wavelengths do not rise", "sort the points by wavelength, each once");
        }
    }
    fn outline(&mut self, path: impl Display, points: &[[f64; 2]]) {
        for (i, p) in points.iter().enumerate() {
            self.point(format_args!("{path}[{i}]"), *p);
        }
        let pts: Vec<DVec2> = points.iter().map(|p| DVec2::from_array(*p)).collect();
        if pts.iter().any(|p| !p.is_finite()) {
            return;
        }
        if pts.len() < 3 {
            self.say(
                path.to_string(),
                format!("an outline needs three corners, this has {}", pts.len()),
                "add corners or delete the item",
            );
            return;
        }
        if pts.len() > 2_000 {
            self.say(
                path.to_string(),
                format!("{} corners are too many", pts.len()),
                "simplify the outline to at most 2000 corners",
            );
            return;
        }
        for i in 0..pts.len() {
            if pts[i].distance(pts[(i + 1) % pts.len()]) < 1e-3 {
                self.say(format!("{path}[{i}]"), "two corners lie on one another", "delete one of the two corners");
                return;
            }
        }
        if let Some((a, b)) = polygon_self_crossing(&pts) {
            self.say(
                path.to_string(),
                format!("the outline crosses itself: edge {a} meets edge {b}"),
                "move a corner so that no two edges cross",
            );
        } else if signed_area(&pts).abs() < 1e-4 {
            self.say(
                path.to_string(),
                "the outline encloses no floor",
                "move a corner so that the outline has an inside",
            );
        }
    }
}

/// Lists what keeps the plan from being one, in file order; empty: it is valid.
#[must_use]
pub fn validate(plan: &Plan) -> Vec<Problem> {
    let mut c = Checker { problems: Vec::new(), ids: HashMap::new() };
    let l = &plan.location;
    let e = &plan.exposure;
    c.range("exposure.ei", e.ei, 1.0, 1_000_000.0, "");
    c.range("exposure.frame_rate", e.frame_rate, 0.1, 10_000.0, "frames a second");
    c.range("exposure.shutter_deg", e.shutter_deg, 0.1, 360.0, "degrees");
    c.range("exposure.white_balance_k", e.white_balance_k, 1000.0, 40_000.0, "K");
    if let Some(k) = e.calibration_c {
        c.range("exposure.calibration_c", k, 100.0, 1000.0, "lx·s");
    }
    let m = &plan.limits;
    c.range("limits.room_behind_m", m.room_behind_m, 0.0, 100.0, "m");
    c.range("limits.operator_width_m", m.operator_width_m, 0.1, 10.0, "m");
    c.range("limits.face_share", m.face_share, 0.0, 1.0, "");
    c.range("limits.exposure_stops", m.exposure_stops, 0.0, 20.0, "stops");
    c.range("limits.continuous_load_share", m.continuous_load_share, 0.1, 1.0, "");
    c.range("limits.hot_clearance_m", m.hot_clearance_m, 0.0, 10.0, "m");
    c.range("limits.walkway_m", m.walkway_m, 0.0, 10.0, "m");
    c.range("limits.cloth_roll_m", m.cloth_roll_m, 0.1, 20.0, "m");
    c.angle("location.north_deg", l.north_deg);
    c.range("location.wall_thickness_m", l.wall_thickness_m, 0.0, 2.0, "m");
    c.range("location.mains_v", l.mains_v, 90.0, 500.0, "V");
    if let Some(v) = l.latitude_deg {
        c.range("location.latitude_deg", v, -90.0, 90.0, "degrees");
    }
    if let Some(v) = l.longitude_deg {
        c.range("location.longitude_deg", v, -180.0, 180.0, "degrees");
    }
    too_many(&mut c, plan);
    if !c.problems.is_empty() {
        return c.problems;
    }
    if let Some(d) = &plan.daylight {
        c.range("daylight.utc_offset_h", d.utc_offset_h, -14.0, 14.0, "hours");
        c.range("daylight.sky_type", f64::from(d.sky_type), 1.0, 15.0, "(CIE S 011)");
        c.range("daylight.ground_reflectance", d.ground_reflectance, 0.0, 1.0, "");
    }
    location(&mut c, plan);
    people_and_cameras(&mut c, plan);
    rigs_and_shots(&mut c, plan);
    c.problems
}

/// More than a unit of one person could mean, or wait for.
fn too_many(c: &mut Checker, plan: &Plan) {
    let l = &plan.location;
    let kinds = [
        ("location.rooms", "rooms", l.rooms.len(), MOST.rooms),
        ("location.rooms", "walls", l.rooms.iter().map(|r| r.outline_m.len()).sum(), MOST.walls),
        ("location.openings", "openings", l.openings.len(), MOST.openings),
        ("location.pieces", "pieces", l.pieces.len(), MOST.pieces),
        ("location.circuits", "circuits", l.circuits.len(), MOST.others),
        ("location.outlets", "outlets", l.outlets.len(), MOST.others),
        ("cast", "people", plan.cast.len(), MOST.others),
        ("cameras", "cameras", plan.cameras.len(), MOST.others),
        ("rigs", "rigs", plan.rigs.len(), MOST.others),
        ("shots", "shots", plan.shots.len(), MOST.others),
    ];
    for (path, what, n, most) in kinds {
        c.at_most(path, what, n, most);
    }
    for (i, r) in l.rooms.iter().enumerate() {
        c.at_most(&format!("location.rooms[{i}].outline_m"), "corners", r.outline_m.len(), MOST.corners);
    }
    for (i, p) in l.pieces.iter().enumerate() {
        if let PieceShape::Outline { points_m } = &p.shape {
            c.at_most(&format!("location.pieces[{i}].shape.points_m"), "corners", points_m.len(), MOST.corners);
        }
    }
    for (i, r) in plan.rigs.iter().enumerate() {
        c.at_most(&format!("rigs[{i}].fixtures"), "lamps", r.fixtures.len(), MOST.lamps);
    }
    for (i, s) in plan.shots.iter().enumerate() {
        c.at_most(&format!("shots[{i}].marks"), "marks", s.marks.len(), MOST.others);
        c.at_most(&format!("shots[{i}].lamps"), "lamps", s.lamps.len(), MOST.lamps);
    }
}

fn location(c: &mut Checker, plan: &Plan) {
    let l = &plan.location;
    for (i, r) in l.rooms.iter().enumerate() {
        let path = format!("location.rooms[{i}]");
        c.id(&path, r.id.as_str());
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
                    "(a surface never returns all light)",
                );
            }
        }
    }
    for (i, o) in l.openings.iter().enumerate() {
        let path = format!("location.openings[{i}]");
        c.id(&path, o.id.as_str());
        c.range(format_args!("{path}.offset_m"), o.offset_m, 0.0, MAX_M, "m");
        c.range(format_args!("{path}.width_m"), o.width_m, 0.05, MAX_M, "m");
        c.range(format_args!("{path}.sill_m"), o.sill_m, 0.0, 100.0, "m");
        c.range(format_args!("{path}.head_m"), o.head_m, 0.1, 100.0, "m");
        if o.head_m <= o.sill_m {
            c.say(format!("{path}.head_m"), "the opening's top is not above its sill", "raise head_m or lower sill_m");
        }
        match o.kind {
            OpeningKind::Door { open_deg, .. } => {
                c.range(format_args!("{path}.kind.open_deg"), open_deg, 0.0, 180.0, "degrees");
            }
            OpeningKind::Window { transmittance } => {
                c.range(format_args!("{path}.kind.transmittance"), transmittance, 0.0, 1.0, "");
            }
            OpeningKind::Passage => {}
        }
        let Some(room) = plan.room(&o.room) else {
            c.known(format_args!("{path}.room"), o.room.as_str(), "room", false);
            continue;
        };
        let n = room.outline_m.len();
        if o.edge >= n {
            c.say(
                format!("{path}.edge"),
                format!("room \"{}\" has no edge {}", o.room, o.edge),
                format!("name an edge from 0 to {}", n.saturating_sub(1)),
            );
            continue;
        }
        let length =
            DVec2::from_array(room.outline_m[o.edge]).distance(DVec2::from_array(room.outline_m[(o.edge + 1) % n]));
        let kind = match o.kind {
            OpeningKind::Door { .. } => "door",
            OpeningKind::Window { .. } => "window",
            OpeningKind::Passage => "passage",
        };
        if o.width_m > length + 1e-6 {
            c.say(
                format!("{path}.width_m"),
                format!("the {kind} is {:.2} m wide, its wall {length:.2} m", o.width_m),
                "make it narrower or the wall longer",
            );
        } else if o.offset_m + o.width_m > length + 1e-6 {
            c.say(
                format!("{path}.offset_m"),
                format!("the {kind} ends {:.2} m past its wall's corner", o.offset_m + o.width_m - length),
                "move it back along the wall",
            );
        }
        if o.head_m > room.ceiling_m + 1e-6 {
            c.say(
                format!("{path}.head_m"),
                format!("the {kind} is higher than the {:.2} m ceiling", room.ceiling_m),
                "lower head_m or raise the ceiling",
            );
        }
    }
    for (i, p) in l.pieces.iter().enumerate() {
        let path = format!("location.pieces[{i}]");
        c.id(&path, p.id.as_str());
        c.point(format_args!("{path}.position_m"), p.position_m);
        c.angle(format_args!("{path}.rotation_deg"), p.rotation_deg);
        c.range(format_args!("{path}.base_m"), p.base_m, 0.0, 100.0, "m");
        c.range(format_args!("{path}.top_m"), p.top_m, 0.0, 100.0, "m");
        if p.top_m <= p.base_m {
            c.say(format!("{path}.top_m"), "the piece's top is not above its underside", "raise top_m or lower base_m");
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
        let path = format!("location.circuits[{i}]");
        c.id(&path, k.id.as_str());
        c.range(format_args!("{path}.breaker_a"), k.breaker_a, 1.0, 1000.0, "A");
        if let Some(f) = k.feed {
            c.range(format_args!("{path}.feed.length_m"), f.length_m, 0.0, 1000.0, "m");
            c.range(format_args!("{path}.feed.conductor_mm2"), f.conductor_mm2, 0.5, 400.0, "mm²");
        }
    }
    for (i, o) in l.outlets.iter().enumerate() {
        let path = format!("location.outlets[{i}]");
        c.id(&path, o.id.as_str());
        c.point(format_args!("{path}.position_m"), o.position_m);
        c.known(
            format_args!("{path}.circuit"),
            o.circuit.as_str(),
            "circuit",
            l.circuits.iter().any(|k| k.id == o.circuit),
        );
    }
    if let Some(u) = &l.underlay {
        if !stays_beside(&u.file) {
            c.say(
                "location.underlay.file",
                "not a file beside the plan",
                "write a relative path with forward slashes and without ..",
            );
        }
        c.point("location.underlay.origin_m", u.origin_m);
        c.range("location.underlay.metres_per_pixel", u.metres_per_pixel, 1e-6, 100.0, "m");
        c.range("location.underlay.opacity", u.opacity, 0.0, 1.0, "");
    }
}

fn people_and_cameras(c: &mut Checker, plan: &Plan) {
    for (i, p) in plan.cast.iter().enumerate() {
        let path = format!("cast[{i}]");
        c.id(&path, p.id.as_str());
        c.range(format_args!("{path}.height_m"), p.height_m, 0.3, 3.0, "m");
    }
    for (i, k) in plan.cameras.iter().enumerate() {
        let path = format!("cameras[{i}]");
        c.id(&path, k.id.as_str());
        c.point(format_args!("{path}.position_m"), k.position_m);
        c.range(format_args!("{path}.lens_height_m"), k.lens_height_m, 0.0, 100.0, "m");
        c.angle(format_args!("{path}.pan_deg"), k.pan_deg);
        c.range(format_args!("{path}.tilt_deg"), k.tilt_deg, -90.0, 90.0, "degrees");
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
                    "the zoom's short end is longer than its long end",
                    "write the shorter focal length first",
                );
            }
        }
        if let Some(f) = k.focus_m {
            c.range(format_args!("{path}.focus_m"), f, 0.01, MAX_M, "m");
        }
        c.range(format_args!("{path}.nd_stops"), k.nd_stops, 0.0, 30.0, "stops");
        for (j, mark) in k.marks.iter().enumerate() {
            let path = format!("{path}.marks[{j}]");
            c.range(format_args!("{path}.at_s"), mark.at_s, 0.0, 86_400.0, "s");
            c.point(format_args!("{path}.position_m"), mark.position_m);
            c.range(format_args!("{path}.lens_height_m"), mark.lens_height_m, 0.0, 100.0, "m");
            c.angle(format_args!("{path}.pan_deg"), mark.pan_deg);
            c.range(format_args!("{path}.tilt_deg"), mark.tilt_deg, -90.0, 90.0, "degrees");
            c.range(format_args!("{path}.focal_mm"), mark.focal_mm, 1.0, 2000.0, "mm");
        }
    }
}

fn rigs_and_shots(c: &mut Checker, plan: &Plan) {
    for (i, r) in plan.rigs.iter().enumerate() {
        let path = format!("rigs[{i}]");
        c.id(&path, r.id.as_str());
        for (j, f) in r.fixtures.iter().enumerate() {
            fixture(c, plan, &format!("{path}.fixtures[{j}]"), f);
        }
    }
    shots(c, plan);
}

fn fixture(c: &mut Checker, plan: &Plan, path: &str, f: &Fixture) {
    c.id(path, f.id.as_str());
    c.point(format_args!("{path}.position_m"), f.position_m);
    c.range(format_args!("{path}.height_m"), f.height_m, 0.0, 100.0, "m");
    c.angle(format_args!("{path}.pan_deg"), f.pan_deg);
    c.range(format_args!("{path}.tilt_deg"), f.tilt_deg, -90.0, 90.0, "degrees");
    c.range(format_args!("{path}.watts"), f.watts, 0.0, 100_000.0, "W");
    c.range(format_args!("{path}.cct_k"), f.cct_k, 1000.0, 40_000.0, "K");
    c.range(format_args!("{path}.dimmer"), f.dimmer, 0.0, 1.0, "");
    c.range(format_args!("{path}.scrim_stops"), f.scrim_stops, 0.0, 20.0, "stops");
    if let Some(lm) = f.output_lm {
        c.range(format_args!("{path}.output_lm"), lm, 0.0, 1e8, "lm");
    }
    if let Some((beam, field)) = f.head.beam_field_deg() {
        c.range(format_args!("{path}.head.beam_deg"), beam, 1.0, 170.0, "degrees");
        c.range(format_args!("{path}.head.field_deg"), field, 1.0, 175.0, "degrees");
        if field <= beam {
            c.say(
                format!("{path}.head.field_deg"),
                "the field angle is not wider than the beam angle",
                "the field (a tenth of peak) is wider than the beam (half of peak)",
            );
        }
    }
    if let Head::Fresnel { flood } = f.head {
        c.range(format_args!("{path}.head.flood"), flood, 0.0, 1.0, "");
    }
    if let Head::Panel { beam_deg, .. } = f.head {
        c.range(format_args!("{path}.head.beam_deg"), beam_deg, 5.0, 120.0, "degrees");
    }
    if let Some((w, h)) = f.head.area_m() {
        c.range(format_args!("{path}.head.width_m"), w, 0.01, 20.0, "m");
        c.range(format_args!("{path}.head.height_m"), h, 0.01, 20.0, "m");
    }
    if let Some(b) = f.barn_doors {
        for (name, v) in
            [("left_deg", b.left_deg), ("right_deg", b.right_deg), ("top_deg", b.top_deg), ("bottom_deg", b.bottom_deg)]
        {
            c.range(format_args!("{path}.barn_doors.{name}"), v, -89.0, 90.0, "degrees");
        }
    }
    for (k, gel) in f.gels.iter().enumerate() {
        match gel {
            Gel::Correction { mired_shift, transmittance, .. } => {
                c.range(format_args!("{path}.gels[{k}].mired_shift"), *mired_shift, -600.0, 600.0, "mired");
                c.range(format_args!("{path}.gels[{k}].transmittance"), *transmittance, 0.0, 1.0, "");
            }
            Gel::Measured(curve) => c.curve(&format!("{path}.gels[{k}]"), curve, 1.0),
        }
    }
    match &f.spectrum {
        Spectrum::Cie { symbol } if Bands::cie(symbol).is_none() => c.say(
            format!("{path}.spectrum.symbol"),
            format!("there is no CIE illuminant \"{symbol}\""),
            format!("name one of: {}", Bands::cie_symbols().join(", ")),
        ),
        Spectrum::Measured(curve) => {
            c.curve(&format!("{path}.spectrum"), curve, 1e12);
            if Bands::of_curve(curve).normalised().is_none() {
                c.say(
                    format!("{path}.spectrum.points"),
                    "the spectrum has no light in it",
                    "give values above 0, or delete the spectrum",
                );
            }
        }
        _ => {}
    }
    if let Some(flaw) = f.candela.as_ref().and_then(|t| t.flaw()) {
        c.say(format!("{path}.candela"), flaw, "read the lamp's LM-63 file again, or delete the table");
    }
    if let Some(cutoff) = f.grid_cutoff_deg {
        c.range(format_args!("{path}.grid_cutoff_deg"), cutoff, 5.0, 80.0, "degrees");
    }
    if let Some(d) = &f.diffusion {
        c.range(format_args!("{path}.diffusion.spread_deg"), d.spread_deg, 0.0, 80.0, "degrees");
        c.range(format_args!("{path}.diffusion.transmittance"), d.transmittance, 0.0, 1.0, "");
    }
    if let Some(o) = &f.outlet {
        c.known(format_args!("{path}.outlet"), o.as_str(), "outlet", plan.location.outlets.iter().any(|x| &x.id == o));
    }
    if let Some(factor) = f.power_factor {
        c.range(format_args!("{path}.power_factor"), factor, 0.1, 1.0, "");
    }
    if let Some(mm2) = f.cable_mm2 {
        c.range(format_args!("{path}.cable_mm2"), mm2, 0.5, 400.0, "mm²");
    }
}

fn shots(c: &mut Checker, plan: &Plan) {
    day(c, plan);
    for (i, s) in plan.shots.iter().enumerate() {
        let path = format!("shots[{i}]");
        c.id(&path, s.id.as_str());
        c.range(format_args!("{path}.length_s"), s.length_s, 0.01, 86_400.0, "s");
        c.known(format_args!("{path}.rig"), s.rig.as_str(), "rig", plan.rig(&s.rig).is_some());
        if let Some(k) = &s.camera {
            c.known(format_args!("{path}.camera"), k.as_str(), "camera", plan.camera(k).is_some());
        }
        for (j, p) in s.faces.iter().enumerate() {
            c.known(format_args!("{path}.faces[{j}]"), p.as_str(), "person", plan.person(p).is_some());
        }
        for (j, l) in s.lamps.iter().enumerate() {
            let path = format!("{path}.lamps[{j}]");
            fixture(c, plan, &path, &l.fixture);
            if let Some(id) = &l.replaces {
                let found = plan.rig(&s.rig).is_some_and(|r| r.fixtures.iter().any(|f| &f.id == id));
                c.known(format_args!("{path}.replaces"), id.as_str(), "lamp of the shot's rig", found);
                if s.lamps[..j].iter().any(|o| o.replaces.as_ref() == Some(id)) {
                    c.say(format!("{path}.replaces"), "the lamp is replaced twice", "delete one of the two");
                }
            }
        }
        if let Some(n) = s.takes {
            c.range(format_args!("{path}.takes"), f64::from(n), 1.0, 500.0, "");
        }
        if let Some(o) = &s.variant_of {
            c.known(format_args!("{path}.variant_of"), o.as_str(), "shot", plan.shot(o).is_some());
        }
        if let Some(p) = &s.picture
            && !stays_beside(p)
        {
            c.say(
                format!("{path}.picture"),
                "not a file beside the plan",
                "write a relative path with forward slashes and without ..",
            );
        }
        for (j, o) in s.cuts_with.iter().enumerate() {
            c.known(format_args!("{path}.cuts_with[{j}]"), o.as_str(), "shot", plan.shot(o).is_some());
        }
        for (j, m) in s.marks.iter().enumerate() {
            let path = format!("{path}.marks[{j}]");
            c.id(&path, m.id.as_str());
            c.known(format_args!("{path}.person"), m.person.as_str(), "person", plan.person(&m.person).is_some());
            c.point(format_args!("{path}.position_m"), m.position_m);
            c.angle(format_args!("{path}.facing_deg"), m.facing_deg);
            c.range(format_args!("{path}.from_s"), m.from_s, 0.0, 86_400.0, "s");
            if let Some(to) = m.to_s {
                c.range(format_args!("{path}.to_s"), to, 0.0, 86_400.0, "s");
                if to < m.from_s {
                    c.say(format!("{path}.to_s"), "the person leaves before arriving", "make to_s at least from_s");
                }
            }
        }
    }
}

fn day(c: &mut Checker, plan: &Plan) {
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
        c.say("day.wrap", "the day ends before it starts", "write a later wrap");
    }
    for (i, p) in d.pins.iter().enumerate() {
        let path = format!("day.pins[{i}]");
        c.known(format_args!("{path}.shot"), p.shot.as_str(), "shot", plan.shot(&p.shot).is_some());
        c.range(format_args!("{path}.place"), p.place as f64, 1.0, 10_000.0, "");
        if d.pins[..i].iter().any(|o| o.place == p.place || o.shot == p.shot) {
            c.say(&path, "the place or the shot is pinned twice", "delete one of the two pins");
        }
    }
}
