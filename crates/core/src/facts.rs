//! Everything computed of a shot, as one value.

use crate::attempt::{Answer, Failed, attempt, kept};
use crate::blocking::{Lane, Moments, Seen, Walk, cut_at_share, face_view, lanes, walks};
use crate::cover::{Cover, cover};
use crate::geometry::{Owner, Solids, bearing_dir, strip_clearance_m};
use crate::grip::{GripFacts, grip};
use crate::light::{
    Detail, FINE_PATCH_M, Reading, Sky, Spot, SunPlace, Transport, background, face_readings, plan_sun, toward_sun,
};
use crate::margins::{Margin, Margins, ShotMargins};
use crate::notices::{self, Notice};
use crate::optics;
use crate::plan::{CameraId, Clock, Fixture, PersonId, Plan, RigId, Shot, ShotId, ShotSize};
use crate::power::{self, CableRun, CircuitLoad};
use crate::scene::{Placed, Scene, View};
use crate::taping::{TapeLine, tape_lines};
use glam::DVec2;
use rayon::prelude::*;
use serde::Serialize;
use tapemark_words::say;

/// Everything computed of one shot at one moment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShotFacts {
    /// Which shot.
    pub shot: ShotId,
    /// Its name.
    pub name: String,
    /// The moment, seconds from the start.
    pub at_s: f64,
    /// The rig that lights it.
    pub rig: RigId,
    /// The camera; absent until placed.
    pub camera: Option<CameraFacts>,
    /// People present.
    pub people: Vec<PersonFacts>,
    /// Stretches of the shot in which a required face is not seen enough.
    pub hidden: Vec<HiddenStretch>,
    /// Everyone from the first second to the last.
    pub lanes: Vec<Lane>,
    /// Who walks when, how far and how fast.
    pub walks: Vec<Walk>,
    /// Walls, floors and ceilings inside the frame; worked out when nothing moves.
    pub cover: Option<Cover>,
    /// Fixtures and where to tape their stands.
    pub fixtures: Vec<FixtureFacts>,
    /// Flags, drapes and boards in the rooms of the shot.
    pub grip: Vec<GripFacts>,
    /// Sun and sky at the shot's time of day; absent in the dark.
    pub daylight: Option<DaylightFacts>,
    /// Load per circuit.
    pub circuits: Vec<CircuitLoad>,
    /// Cables from outlet to lamp.
    pub cables: Vec<CableRun>,
    /// What the shot gets wrong.
    pub notices: Vec<Notice>,
    /// Answers that could not be worked out; their places are empty.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub failed: Vec<Failed>,
}

impl ShotFacts {
    /// Whether an answer could not be worked out.
    #[must_use]
    pub fn has_failed(&self, answer: Answer) -> bool {
        self.failed.iter().any(|f| f.answer == answer)
    }
}

/// What is outside the windows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DaylightFacts {
    /// Time of day.
    pub clock: Clock,
    /// Where the sun stands.
    #[serde(flatten)]
    pub sun: SunPlace,
    /// Sky on open level ground, lux.
    pub sky_lx: f64,
    /// Sun on a surface facing it, lux.
    pub sun_lx: f64,
}

/// The camera's numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CameraFacts {
    /// Which.
    pub camera: CameraId,
    /// Name.
    pub name: String,
    /// Lens position, metres.
    pub position_m: [f64; 3],
    /// Bearing, degrees.
    pub pan_deg: f64,
    /// Up positive, degrees.
    pub tilt_deg: f64,
    /// Focal length, millimetres.
    pub focal_mm: f64,
    /// Delivered width and height on the sensor, millimetres.
    pub sensor_mm: [f64; 2],
    /// Horizontal angle of view, degrees.
    pub horizontal_angle_deg: f64,
    /// Vertical angle of view, degrees.
    pub vertical_angle_deg: f64,
    /// Focus distance in force, metres.
    pub focus_m: f64,
    /// Close focus of the lens, metres.
    pub close_focus_m: f64,
    /// Near limit of the depth of field, metres.
    pub near_m: f64,
    /// Far limit, metres; absent: infinity.
    pub far_m: Option<f64>,
    /// Hyperfocal distance, metres.
    pub hyperfocal_m: f64,
    /// From the lens's viewpoint back to the sensor mark, metres: focus, near, far, close focus and hyperfocal
    /// distance count from that mark.
    pub sensor_behind_m: f64,
    /// Circle of confusion, millimetres.
    pub circle_of_confusion_mm: f64,
    /// Free depth behind the camera over the operator's width, metres; absent: open.
    pub room_behind_m: Option<f64>,
    /// Whether the operator fits.
    pub operator_fits: bool,
    /// By how much over the whole shot; worked out when nothing moves, absent where they do not fit.
    pub fits_behind_margin: Option<Margin>,
    /// Stop set.
    pub t_stop: f64,
    /// Level that gives that stop a normal exposure, lux.
    pub wanted_lx: f64,
    /// What the spot meter reads behind the first face needed; worked out when nothing moves.
    pub background: Option<Spot>,
    /// Where to tape it.
    pub tape: Vec<TapeLine>,
}

/// One person's numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PersonFacts {
    /// Who.
    pub person: PersonId,
    /// Name.
    pub name: String,
    /// Whether the shot needs the face.
    pub required: bool,
    /// Where, metres.
    pub position_m: [f64; 2],
    /// Bearing of the face, degrees.
    pub facing_deg: f64,
    /// Share of the head inside the frame, 0–1.
    pub in_frame_share: Option<f64>,
    /// Share of the face turned to the lens, 0–1.
    pub turned_share: Option<f64>,
    /// Share of that which nothing hides, 0–1.
    pub clear_share: Option<f64>,
    /// Who or what hides the rest.
    pub hidden_by: Vec<Hider>,
    /// In words: clear, hidden by whom, out of frame, turned away.
    pub sight: String,
    /// Sensor mark to face, as a tape is held, metres.
    pub distance_m: Option<f64>,
    /// Width framed at that distance, metres.
    pub field_width_m: Option<f64>,
    /// Height framed at that distance, metres.
    pub field_height_m: Option<f64>,
    /// Size of the shot on this person.
    pub size: Option<ShotSize>,
    /// Whether the face lies within the depth of field.
    pub in_focus: Option<bool>,
    /// The meter at the face.
    pub reading: Option<Reading>,
    /// Over or under the exposure, stops; absent in darkness or without a camera.
    pub exposure_stops: Option<f64>,
    /// By how much what is seen of the face holds over the whole shot; worked out when nothing moves.
    pub margins: Margins,
    /// Where to tape the mark.
    pub tape: Vec<TapeLine>,
}

/// Who or what hides a face.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hider {
    /// In words.
    pub name: String,
    /// Share of the face hidden, 0–1.
    pub share: f64,
    /// The person, when it is one.
    pub person: Option<PersonId>,
}

/// A stretch of a shot in which a required face is hidden.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HiddenStretch {
    /// Whose face.
    pub person: PersonId,
    /// From, seconds.
    pub from_s: f64,
    /// To, seconds.
    pub to_s: f64,
    /// Least share seen.
    pub least_clear_share: f64,
    /// Who or what hides most.
    pub by: String,
}

/// A fixture's numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FixtureFacts {
    /// Which.
    pub fixture: crate::plan::FixtureId,
    /// Name.
    pub name: String,
    /// Generic head and power.
    pub head: String,
    /// Whether it burns.
    pub on: bool,
    /// Light before gels, lumens.
    pub rated_lm: f64,
    /// Intensity on its axis as set, candela.
    pub peak_cd: f64,
    /// Colour temperature after gels and dimming, kelvin.
    pub cct_k: Option<f64>,
    /// Distance from the Planckian locus in CIE 1960 uv, positive green.
    pub duv: Option<f64>,
    /// CIE 1931 chromaticity.
    pub xy: Option<[f64; 2]>,
    /// Its look at the plan's white balance, sRGB.
    pub look_srgb: [u8; 3],
    /// Light lost on its axis to gels, diffusion, scrims and dimmer, stops.
    pub loss_stops: Option<f64>,
    /// Current, amperes.
    pub current_a: f64,
    /// By how much it stays out of frame over the whole shot; worked out when nothing moves, absent where it is
    /// seen or is meant to be.
    pub out_of_frame_margin: Option<Margin>,
    /// Where to tape the stand.
    pub tape: Vec<TapeLine>,
    /// What it is aimed at; absent for a bare bulb.
    pub aim: Option<crate::aim::Aim>,
}

/// Computes everything of a shot at a moment.
#[must_use]
pub fn shot_facts(plan: &Plan, shot: &Shot, at_s: f64) -> ShotFacts {
    let moments = Moments::of(plan, shot);
    let scene = moments.stage.scene(plan, shot, at_s);
    let (transport, failed) = light_of(plan, shot, &scene);
    with_failed(facts_of_scene(plan, shot, &scene, &transport, &moments), plan, failed)
}

/// As [`shot_facts`] of several shots, side by side.
#[must_use]
pub fn facts_of_shots(plan: &Plan, shots: &[&Shot], at_s: f64) -> Vec<ShotFacts> {
    one_then_all(shots, |s| shot_facts(plan, s, at_s))
}

/// Works something out for each of several shots: the first alone, so that what all share is there for the others.
#[must_use]
pub fn one_then_all<'a, T: Send>(shots: &[&'a Shot], work: impl Fn(&'a Shot) -> T + Sync) -> Vec<T> {
    let Some((first, others)) = shots.split_first() else { return Vec::new() };
    let mut out = vec![(0, work(first))];
    // In the order of the list, so that shots of one place, which would wait for each other, are far apart.
    out.par_extend(others.iter().enumerate().par_bridge().map(|(n, s)| (n + 1, work(s))));
    out.sort_by_key(|(n, _)| *n);
    out.into_iter().map(|(_, answer)| answer).collect()
}

/// A shot's light with what surfaces return; without that where it cannot be worked out.
pub(crate) fn light_of(plan: &Plan, shot: &Shot, scene: &Scene) -> (Transport, Option<Failed>) {
    let rig = plan.shot_rig(shot);
    match attempt(Answer::Bounces, || Transport::of(plan, rig.as_deref(), scene, FINE_PATCH_M, None)) {
        Ok(light) => (light, None),
        Err(failed) => (Transport::at_once(plan, rig.as_deref(), scene, None), Some(failed)),
    }
}

/// Facts with one more answer that failed before them.
pub(crate) fn with_failed(mut facts: ShotFacts, plan: &Plan, failed: Option<Failed>) -> ShotFacts {
    if let (Some(f), Some(shot)) = (failed, plan.shot(&facts.shot)) {
        facts.notices.push(notices::not_worked_out(shot, &f));
        facts.failed.push(f);
    }
    facts
}

/// As [`shot_facts`], for a scene and a move that are already placed and light that is already solved.
#[must_use]
pub fn facts_of_scene(plan: &Plan, shot: &Shot, scene: &Scene, transport: &Transport, moments: &Moments) -> ShotFacts {
    facts_to(Extent::Whole, plan, shot, scene, transport, moments)
}

/// How much is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Extent {
    /// Everything.
    Whole,
    /// What problems and cautions are told from: no margins, no cloth.
    Problems,
}

/// As [`facts_of_scene`], of as much as is asked for.
pub(crate) fn facts_to(
    extent: Extent,
    plan: &Plan,
    shot: &Shot,
    scene: &Scene,
    transport: &Transport,
    moments: &Moments,
) -> ShotFacts {
    let near = transport.detail() == Detail::Near;
    let whole = near && extent == Extent::Whole;
    let ((readings, behind), (camera, seen)) = rayon::join(
        || {
            rayon::join(
                || attempt(Answer::Readings, || face_readings(plan, scene, transport)),
                || {
                    let behind = || near.then(|| background(plan, shot, scene, transport)).flatten();
                    attempt(Answer::Background, behind)
                },
            )
        },
        || {
            let camera = attempt(Answer::Camera, || camera_facts(plan, shot, scene));
            (camera, attempt(Answer::Lanes, || lanes(plan, shot, moments)))
        },
    );
    let mut failed = Vec::new();
    let readings = kept(&mut failed, readings);
    let background = kept(&mut failed, behind);
    let slips = || if whole { ShotMargins::of(plan, shot, moments) } else { ShotMargins::default() };
    let margins = kept(&mut failed, attempt(Answer::Margins, slips));
    let camera = kept(&mut failed, camera).map(|c| CameraFacts {
        background,
        fits_behind_margin: margins.fits_behind.clone(),
        ..c
    });
    let lanes = kept(&mut failed, seen);
    let covered = || (whole && camera.is_some()).then(|| cover(plan, [shot]));
    let cover = kept(&mut failed, attempt(Answer::Cover, covered));
    let each = || {
        let one = |p: &Placed| {
            let reading = readings.iter().find(|(id, _)| id == &p.person).map(|(_, r)| r.clone());
            let facts = person_facts(plan, shot, scene, camera.as_ref(), p, reading);
            PersonFacts { margins: margins.of_person(&p.person), ..facts }
        };
        scene.people.iter().map(one).collect::<Vec<PersonFacts>>()
    };
    let people = kept(&mut failed, attempt(Answer::People, each));
    let rig = plan.shot_rig(shot);
    let rig = rig.as_deref();
    let lamp = |f: &Fixture| fixture_facts(plan, scene, f, margins.of_lamp(&f.id));
    let lamps = || rig.map(|r| r.fixtures.iter().map(lamp).collect()).unwrap_or_default();
    let tripods = || power::tripods(plan, [shot]);
    let cables = || rig.map(|r| power::cable_runs_on(plan, r, moments.floorway(plan), &tripods())).unwrap_or_default();
    let loads = || rig.map(|r| power::loads(plan, r)).unwrap_or_default();
    let mut facts = ShotFacts {
        shot: shot.id.clone(),
        name: shot.name.clone(),
        at_s: scene.seconds,
        rig: shot.rig.clone(),
        camera,
        people,
        hidden: hidden_stretches(&lanes),
        lanes,
        walks: walks(plan, shot),
        cover,
        fixtures: kept(&mut failed, attempt(Answer::Lamps, lamps)),
        grip: kept(&mut failed, attempt(Answer::Grip, || grip(plan, shot, scene))),
        daylight: kept(&mut failed, attempt(Answer::Daylight, || daylight_facts(plan, scene))),
        circuits: kept(&mut failed, attempt(Answer::Circuits, loads)),
        cables: kept(&mut failed, attempt(Answer::Cables, cables)),
        notices: Vec::new(),
        failed: Vec::new(),
    };
    let told = attempt(Answer::Notices, || notices::of_shot(plan, shot, scene, &facts, moments, transport));
    facts.notices = kept(&mut failed, told);
    facts.notices.extend(failed.iter().map(|f| notices::not_worked_out(shot, f)));
    facts.failed = failed;
    facts
}

/// Sun and sky outside at a scene's time of day; none without daylight or a place on the globe.
#[must_use]
pub fn daylight_facts(plan: &Plan, scene: &Scene) -> Option<DaylightFacts> {
    let (day, clock) = (plan.daylight.as_ref()?, scene.clock?);
    let sun = plan_sun(plan, clock)?;
    let sky = Sky::of(day, toward_sun(plan, &sun));
    let (sky_lx, sun_lx) = sky.map_or((0.0, 0.0), |s| (s.diffuse_lx, s.direct_lx));
    Some(DaylightFacts { clock, sun, sky_lx, sun_lx })
}

fn fixture_facts(plan: &Plan, scene: &Scene, f: &Fixture, out_of_frame_margin: Option<Margin>) -> FixtureFacts {
    let e = crate::light::Emitter::of(f);
    let cct = crate::colour::cct_duv(e.colour);
    FixtureFacts {
        fixture: f.id.clone(),
        name: f.label(),
        head: f.generic_name(),
        on: f.on,
        rated_lm: f.rated_lm(),
        peak_cd: e.gain * e.intensity_cd(crate::geometry::direction3(f.pan_deg, f.tilt_deg)),
        cct_k: cct.map(|c| c.0),
        duv: cct.map(|c| c.1),
        xy: e.colour.xy().map(|(x, y)| [x, y]),
        look_srgb: crate::colour::look_srgb(e.colour, plan.exposure.white_balance_k),
        loss_stops: (e.gain > 0.0).then(|| -crate::light::axis_gain(f).log2()),
        current_a: power::current_a(f, plan.location.mains_v),
        out_of_frame_margin,
        tape: tape_lines(plan, DVec2::from_array(f.position_m)),
        aim: crate::aim::aim(plan, scene, f),
    }
}

/// The focus distance in force, from the lens's viewpoint: as set, or to the nearest required face, or 3 m.
#[must_use]
pub fn focus_m(plan: &Plan, shot: &Shot, scene: &Scene, view: &View) -> f64 {
    focus_m_among(plan, shot, &scene.people, view)
}

/// As [`focus_m`], among people placed at a moment.
pub(crate) fn focus_m_among(plan: &Plan, shot: &Shot, people: &[Placed], view: &View) -> f64 {
    let nearest = |all: bool| {
        people
            .iter()
            .filter(|p| all || shot.faces.contains(&p.person))
            .filter_map(|p| view.project(p.face()).map(|(_, depth)| depth))
            .fold(f64::INFINITY, f64::min)
    };
    let set = plan.shot_camera(shot).and_then(|c| c.focus_m.map(|f| (f - c.sensor_behind_m).max(0.01)));
    set.unwrap_or_else(|| {
        let wanted = nearest(false);
        let any = if wanted.is_finite() { wanted } else { nearest(true) };
        if any.is_finite() { any } else { 3.0 }
    })
}

fn camera_facts(plan: &Plan, shot: &Shot, scene: &Scene) -> Option<CameraFacts> {
    let camera = plan.shot_camera(shot)?;
    let view = scene.view.as_ref()?;
    let coc = optics::circle_of_confusion_mm(&camera.format);
    let focus_m = focus_m(plan, shot, scene, view);
    let (near_m, far_m) = optics::depth_of_field_m(view.focal_mm, camera.lens.t_stop, coc, focus_m);
    // Told as lens scales and tapes have it: from the sensor mark.
    let behind_m = camera.sensor_behind_m;
    let (h, v) = view.angles_deg();
    let behind = room_behind_m(plan, scene, view);
    Some(CameraFacts {
        camera: camera.id.clone(),
        name: camera.name.clone(),
        position_m: view.eye.to_array(),
        pan_deg: crate::geometry::normalize_deg(view.pan_deg),
        tilt_deg: view.tilt_deg,
        focal_mm: view.focal_mm,
        sensor_mm: [view.sensor_mm.0, view.sensor_mm.1],
        horizontal_angle_deg: h,
        vertical_angle_deg: v,
        focus_m: focus_m + behind_m,
        close_focus_m: camera.lens.close_focus_m,
        near_m: near_m + behind_m,
        far_m: far_m.is_finite().then_some(far_m + behind_m),
        hyperfocal_m: optics::hyperfocal_m(view.focal_mm, camera.lens.t_stop, coc) + behind_m,
        sensor_behind_m: behind_m,
        circle_of_confusion_mm: coc,
        room_behind_m: behind.is_finite().then_some(behind),
        operator_fits: behind >= plan.limits.room_behind_m,
        fits_behind_margin: None,
        t_stop: camera.lens.t_stop,
        wanted_lx: optics::wanted_lx(camera, &plan.exposure),
        background: None,
        tape: tape_lines(plan, view.eye.truncate()),
    })
}

/// Free depth behind the lens over the operator's width: walls, doors as they stand, and pieces that
/// reach between knee and head height.
#[must_use]
pub fn room_behind_m(plan: &Plan, scene: &Scene, view: &View) -> f64 {
    let segments = standing_outlines(&scene.solids);
    strip_clearance_m(view.eye.truncate(), -bearing_dir(view.pan_deg), plan.limits.operator_width_m, &segments)
}

/// Outlines of what an operator cannot stand in, between knee and head height: all but people.
pub(crate) fn standing_outlines(solids: &Solids) -> Vec<(DVec2, DVec2)> {
    let person = |o| matches!(solids.owner_of(o), Some(Owner::Person(_)));
    [0.4, 1.0, 1.6]
        .into_iter()
        .flat_map(|z| solids.outlines_at(z))
        .filter(|(_, _, o)| !person(*o))
        .map(|(a, b, _)| (a, b))
        .collect()
}

/// The size of shot that cuts a standing body at a share of its height.
#[must_use]
pub fn size_for_cut(cut: f64, frame_over_height: f64) -> ShotSize {
    match cut {
        c if c <= 0.0 && frame_over_height > 1.6 => ShotSize::Wide,
        c if c <= 0.12 => ShotSize::Full,
        c if c <= 0.42 => ShotSize::MediumFull,
        c if c <= 0.64 => ShotSize::Medium,
        c if c <= 0.76 => ShotSize::MediumClose,
        c if c <= 0.87 => ShotSize::Close,
        _ => ShotSize::ExtremeClose,
    }
}

fn person_facts(
    plan: &Plan,
    shot: &Shot,
    scene: &Scene,
    camera: Option<&CameraFacts>,
    p: &Placed,
    reading: Option<Reading>,
) -> PersonFacts {
    let required = shot.faces.contains(&p.person);
    let mut out = PersonFacts {
        person: p.person.clone(),
        name: p.name.clone(),
        required,
        position_m: p.position.to_array(),
        facing_deg: crate::geometry::normalize_deg(p.facing_deg),
        in_frame_share: None,
        turned_share: None,
        clear_share: None,
        hidden_by: Vec::new(),
        sight: say!("no-camera-yet").into(),
        distance_m: None,
        field_width_m: None,
        field_height_m: None,
        size: None,
        in_focus: None,
        exposure_stops: None,
        margins: Margins::default(),
        reading: None,
        tape: tape_lines(plan, p.position),
    };
    if let (Some(view), Some(camera)) = (&scene.view, camera) {
        let face = face_view(&scene.solids, view, p);
        let depth = view.project(p.face()).map(|(_, depth)| depth);
        out.hidden_by = face
            .hidden_by
            .iter()
            .map(|(ix, share)| Hider {
                name: scene.name_of(plan, *ix),
                share: *share,
                person: match scene.solids.owner_of(*ix) {
                    Some(Owner::Person(id)) => Some(id.clone()),
                    _ => None,
                },
            })
            .collect();
        out.sight = sight_in_words(face.in_frame, face.turned, face.clear, &out.hidden_by);
        out.in_frame_share = Some(face.in_frame);
        out.turned_share = Some(face.turned);
        out.clear_share = Some(face.clear);
        out.distance_m = Some(p.face().distance(view.eye - view.axes().2 * camera.sensor_behind_m));
        if let Some(depth) = depth {
            let width = optics::field_m(view.sensor_mm.0, view.focal_mm, depth);
            out.field_width_m = Some(width);
            out.field_height_m = Some(optics::field_m(view.sensor_mm.1, view.focal_mm, depth));
            let from_mark = depth + camera.sensor_behind_m;
            out.in_focus = Some(from_mark >= camera.near_m && camera.far_m.is_none_or(|f| from_mark <= f));
            if face.in_frame > 0.0 {
                let height_m = p.crown_m;
                out.size = cut_at_share(view, p, height_m)
                    .map(|cut| size_for_cut(cut, out.field_height_m.unwrap_or(0.0) / height_m));
            }
        }
        out.exposure_stops = reading
            .as_ref()
            .map(|r| optics::stops_between(r.illuminance_lx, camera.wanted_lx))
            .filter(|s| s.is_finite());
    }
    out.reading = reading;
    out
}

/// Turned away when less than this share of the face looks at the lens: past profile.
pub const TURNED_AWAY: f64 = 0.35;

/// A face counts as clear when less than this share of it is hidden.
const BARELY_HIDDEN: f64 = 0.005;

impl PersonFacts {
    /// Whether the face is wholly in frame, turned to the lens and clear of everything.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        let hidden = !self.hidden_by.is_empty() && self.clear_share.is_none_or(|s| s < 1.0 - BARELY_HIDDEN);
        self.is_framed_and_turned() && !hidden
    }

    /// Whether the head is wholly in frame and the face turned to the lens, whatever hides it.
    #[must_use]
    pub fn is_framed_and_turned(&self) -> bool {
        self.in_frame_share.is_some_and(|s| s >= 1.0) && self.turned_share.is_some_and(|s| s >= TURNED_AWAY)
    }
}

fn sight_in_words(in_frame: f64, turned: f64, clear: f64, hidden_by: &[Hider]) -> String {
    let percent = |s: f64| (s * 100.0).round() as i64;
    if in_frame <= 0.0 {
        return say!("out-of-frame").into();
    }
    let mut words = Vec::new();
    if in_frame < 1.0 {
        words.push(say!("cut-by-the-frames-edge").to_string());
    }
    if turned < TURNED_AWAY {
        words.push(say!("turned-away-from-the-lens").into());
    }
    match hidden_by.first() {
        Some(h) if clear < 1.0 - BARELY_HIDDEN => {
            words.push(say!("clear-hidden-most-by-h", clear = percent(1.0 - clear), h = h.name));
        }
        _ if words.is_empty() => words.push(say!("clear").into()),
        _ => {}
    }
    words.join(", ")
}

/// Stretches over which required faces are hidden too much.
fn hidden_stretches(lanes: &[Lane]) -> Vec<HiddenStretch> {
    lanes
        .iter()
        .filter(|l| l.required)
        .flat_map(|l| {
            l.spans.iter().filter(|s| s.seen == Seen::Hidden).map(|s| HiddenStretch {
                person: l.person.clone(),
                from_s: s.from_s,
                to_s: s.to_s,
                least_clear_share: s.least_clear_share.unwrap_or(0.0),
                by: s.by.clone().unwrap_or_default(),
            })
        })
        .collect()
}
