//! The sheet's words: shot, lens, marks, lamps, power, notices.

use crate::font::{fitted, text_width_mm, wrapped};
use crate::frame::frame_marks;
use crate::heat::{MapLegend, clear_legend, light_legend};
use crate::margins::margin_words;
use crate::marks::{Align, Layer, Line, Mark, Shape, Weight};
use crate::page::{SheetSpec, wanted_lx};
use crate::palette::{Palette, person_ink};
use glam::DVec2;
use tapemark_core::aim::{Aim, AimedAt, wall_letter};
use tapemark_core::attempt::{Answer, Failed, attempt};
use tapemark_core::cover::SurfaceKind;
use tapemark_core::day::WorkedShot;
use tapemark_core::facts::ShotFacts;
use tapemark_core::frame::{Developed, FrameSpec, picture};
use tapemark_core::light::{Role, sun_spells};
use tapemark_core::margins::Margin;
use tapemark_core::notices::{Severity, failed_text, is_margin};
use tapemark_core::plan::{Fixture, Plan, Shot};
use tapemark_core::taping::{TapeLine, TapedFrom, taped_from};
use tapemark_core::units::{LevelUnit, format_length, format_stop};
use tapemark_words::{figure, localized, say, signed};

/// What the lens sees, developed at the shot's stop, its pixels as wide as asked for; none without a camera.
///
/// # Errors
/// When the picture could not be worked out.
pub(crate) fn try_seen(plan: &Plan, w: &WorkedShot<'_>, pixels: usize) -> Result<Option<Developed>, Failed> {
    Ok(try_seen_in_sizes(plan, w, pixels, [1])?.map(|[developed]| developed))
}

/// The same picture in several sizes, each by so much smaller.
fn try_seen_in_sizes<const N: usize>(
    plan: &Plan,
    w: &WorkedShot<'_>,
    pixels: usize,
    smaller: [usize; N],
) -> Result<Option<[Developed; N]>, Failed> {
    let (Some(camera), Some(view)) = (plan.shot_camera(w.shot), w.scene.view.as_ref()) else { return Ok(None) };
    attempt(Answer::Picture, || {
        let spec = FrameSpec::for_view(view, pixels).cut_finer(2);
        let seen = picture(plan, &w.scene, plan.shot_rig(w.shot).as_deref(), &w.light, spec)?;
        Some(smaller.map(|n| seen.developed(camera, &plan.exposure, 2 * n)))
    })
}

/// The same, and half as wide, where a missing picture leaves its places empty.
pub(crate) fn seen_twice(plan: &Plan, w: &WorkedShot<'_>, pixels: usize) -> Option<[Developed; 2]> {
    try_seen_in_sizes(plan, w, pixels, [1, 2]).ok().flatten()
}

/// As [`try_seen`], where a missing picture leaves its place empty.
pub(crate) fn seen(plan: &Plan, w: &WorkedShot<'_>, pixels: usize) -> Option<Developed> {
    try_seen(plan, w, pixels).ok().flatten()
}

/// A column of words running down the page.
pub(crate) struct Column {
    pub marks: Vec<Mark>,
    x: f64,
    y: f64,
    width: f64,
    bottom: f64,
}

const SMALL: f64 = 2.3;
/// Pixels across the picture of what the lens sees, and the least width worth printing.
const PICTURE_PIXELS: usize = 480;
const LEAST_PICTURE_MM: f64 = 28.0;

impl Column {
    pub(crate) fn new(x: f64, y: f64, width: f64, bottom: f64) -> Column {
        Column { marks: Vec::new(), x, y, width, bottom }
    }

    fn word(&mut self, x: f64, text: &str, size_mm: f64, weight: Weight, align: Align) {
        self.ink_word(x, text, size_mm, weight, align, Palette::PAPER.ink);
    }

    fn ink_word(&mut self, x: f64, text: &str, size_mm: f64, weight: Weight, align: Align, ink: crate::marks::Ink) {
        self.marks.push(Mark::new(
            Layer::Page,
            Shape::Text {
                at: DVec2::new(x, self.y),
                text: text.into(),
                size_mm,
                ink,
                weight,
                align,
                turn_deg: 0.0,
                halo: None,
            },
        ));
    }

    fn room_for(&self, mm: f64) -> bool {
        self.y + mm <= self.bottom
    }

    fn heading(&mut self, text: &str) {
        if !self.room_for(9.0) {
            return;
        }
        self.y += 3.2;
        self.word(self.x, text, 2.7, Weight::Bold, Align::Left);
        self.y += 2.4;
        let line = Line::new(Palette::PAPER.quiet, 0.15);
        self.marks.push(Mark::new(
            Layer::Page,
            Shape::Polyline { points: vec![DVec2::new(self.x, self.y), DVec2::new(self.x + self.width, self.y)], line },
        ));
        self.y += 2.2;
    }

    fn pair(&mut self, left: &str, right: &str) {
        if !self.room_for(3.6) {
            return;
        }
        self.ink_word(self.x, left, SMALL, Weight::Regular, Align::Left, Palette::PAPER.quiet);
        let text = fitted(right, SMALL, Weight::Regular, self.left_beside(left, Weight::Regular));
        self.word(self.x + self.width, &text, SMALL, Weight::Regular, Align::Right);
        self.y += 3.5;
    }

    /// Width that is left on a line beside a word at its start, millimetres.
    fn left_beside(&self, word: &str, weight: Weight) -> f64 {
        self.width - text_width_mm(word, SMALL, weight) - SMALL
    }

    fn paragraph(&mut self, text: &str, size_mm: f64, weight: Weight, ink: crate::marks::Ink) {
        for line in wrapped(text, size_mm, weight, self.width) {
            if !self.room_for(size_mm * 1.4) {
                return;
            }
            self.ink_word(self.x, &line, size_mm, weight, Align::Left, ink);
            self.y += size_mm * 1.4;
        }
    }

    /// Everything said of a shot: title, notices, camera, faces, lamps, power, cloth, and what the lines mean.
    pub(crate) fn of_shot(&mut self, plan: &Plan, w: &WorkedShot<'_>, spec: &SheetSpec) {
        self.title(plan, w.shot);
        self.notices(&w.facts);
        self.camera(plan, &w.facts);
        self.people(plan, &w.facts);
        self.lamps(plan, w.shot, &w.facts);
        self.grip(plan, &w.facts);
        self.power(&w.facts);
        self.cloth(plan, &w.facts);
        self.sun(plan, w);
        self.legend(w, spec);
    }

    pub(crate) fn title(&mut self, plan: &Plan, shot: &Shot) {
        self.y += 2.0;
        self.word(self.x, &fitted(&plan.title, 4.2, Weight::Bold, self.width), 4.2, Weight::Bold, Align::Left);
        self.y += 5.4;
        self.ink_word(
            self.x,
            &fitted(&plan.location.name, SMALL, Weight::Regular, self.width),
            SMALL,
            Weight::Regular,
            Align::Left,
            Palette::PAPER.quiet,
        );
        self.y += 5.2;
        let name = say!("shot-size", shot = shot.name, size = shot.size.label());
        self.word(self.x, &fitted(&name, 3.4, Weight::Bold, self.width), 3.4, Weight::Bold, Align::Left);
        self.y += 4.0;
        self.paragraph(&shot.description, SMALL, Weight::Regular, Palette::PAPER.ink);
    }

    pub(crate) fn camera(&mut self, plan: &Plan, facts: &ShotFacts) {
        let Some(c) = &facts.camera else { return };
        let l = |m: f64| format_length(m, plan.length_unit);
        self.heading(say!("camera-label"));
        self.pair(
            say!("lens"),
            &say!(
                "focal-mm-t-stop",
                focal_mm = trim(c.focal_mm),
                t_stop = trim(c.t_stop),
                sensor_mm = trim(c.sensor_mm[0]),
                sensor_mm_2 = figure(c.sensor_mm[1], 1)
            ),
        );
        self.pair(
            say!("angle-of-view"),
            &format!("{}° × {}°", figure(c.horizontal_angle_deg, 1), figure(c.vertical_angle_deg, 1)),
        );
        self.pair(
            say!("lens-height-pan-tilt"),
            &format!("{}, {}°, {}°", l(c.position_m[2]), figure(c.pan_deg, 0), figure(c.tilt_deg, 0)),
        );
        self.pair(say!("from-the-walls"), &taping(plan, [c.position_m[0], c.position_m[1]], &c.tape));
        self.pair(
            say!("focus"),
            &say!(
                "focus-m-near-m-to-far",
                focus_m = l(c.focus_m),
                near_m = l(c.near_m),
                far_m = c.far_m.map_or("∞".into(), l)
            ),
        );
        let behind = c.room_behind_m.map_or(say!("open").into(), l);
        let fits = c
            .fits_behind_margin
            .as_ref()
            .map_or(String::new(), |m| format!(", {}", say!("fits-by", by = margin_words(m, plan.length_unit))));
        self.pair(say!("behind-the-camera"), &format!("{behind}{fits}"));
        self.pair(
            say!("level-wanted"),
            &say!(
                "wanted-lx-per-fc",
                wanted_lx = figure(c.wanted_lx, 0),
                lx_per_fc = figure(c.wanted_lx / tapemark_core::units::LX_PER_FC, 0)
            ),
        );
        if let Some(s) = &c.background {
            let falls = s.falls_at_stops.map_or(String::new(), |f| say!("stops-from-middle-grey", f = signed(f, 1)));
            let light = say!("luminance-cd-m2-cd-m-falls", luminance_cd_m2 = figure(s.luminance_cd_m2, 1), falls);
            self.pair(say!("spot-behind-the-face"), &outside_named(s, light));
            self.pair(
                say!("a-spot-meter-will-show"),
                &say!(
                    "t-stop-with-k",
                    t_stop = format_stop(s.spot_meter_t_stop),
                    k = figure(plan.exposure.spot_k_in_force(), 1)
                ),
            );
        }
    }

    pub(crate) fn people(&mut self, plan: &Plan, facts: &ShotFacts) {
        if facts.people.is_empty() {
            return;
        }
        self.heading(say!("faces-label"));
        for p in &facts.people {
            if !self.room_for(7.5) {
                return;
            }
            let n = plan.cast.iter().position(|c| c.id == p.person).unwrap_or(0);
            let at = DVec2::new(self.x + 1.0, self.y);
            self.marks.push(Mark::new(
                Layer::Page,
                Shape::Polygon { points: crate::marks::circle(at, 0.9), fill: Some(person_ink(n)), line: None },
            ));
            self.word(self.x + 3.0, &p.name, SMALL, Weight::Bold, Align::Left);
            let by = |m: &Margin| margin_words(m, plan.length_unit);
            let sight = match &p.margins.clear {
                Some(m) if p.is_clear() => say!("clear-by", by = by(m)),
                _ => p.sight.clone(),
            };
            self.word(
                self.x + self.width,
                &fitted(&sight, SMALL, Weight::Regular, self.left_beside(&p.name, Weight::Bold) - 3.0),
                SMALL,
                Weight::Regular,
                Align::Right,
            );
            self.y += 3.4;
            let light = p.reading.as_ref().map_or(say!("no-light").to_string(), |r| {
                let stops = p.exposure_stops.map_or(String::new(), |s| say!("s-stops", s = signed(s, 1)));
                let colour = r.cct_k.map_or(String::new(), |k| format!(", {} K", figure(k, 0)));
                say!(
                    "level-and-stop",
                    illuminance_lx = figure(r.illuminance_lx, 0),
                    t_stop = format_stop(r.t_stop),
                    stops,
                    colour
                )
            });
            let far = p.distance_m.map_or(String::new(), |m| {
                say!("length-unit-from-sensor", length_unit = format_length(m, plan.length_unit))
            });
            let focus = p.margins.in_focus.as_ref().map(|m| say!("in-focus-by", by = by(m)));
            let far = [Some(far).filter(|f| !f.is_empty()), focus].into_iter().flatten().collect::<Vec<_>>().join(", ");
            let room = self.width - 5.0 - text_width_mm(&light, 2.1, Weight::Regular);
            let far = fitted(&far, 2.1, Weight::Regular, room);
            self.ink_word(self.x + 3.0, &far, 2.1, Weight::Regular, Align::Left, Palette::PAPER.quiet);
            self.ink_word(self.x + self.width, &light, 2.1, Weight::Regular, Align::Right, Palette::PAPER.quiet);
            self.y += 3.7;
        }
    }

    /// Where everyone stands, taped from two walls.
    pub(crate) fn taped_marks(&mut self, plan: &Plan, shot: &Shot) {
        if shot.marks.is_empty() {
            return;
        }
        self.heading(say!("marks-label"));
        for m in &shot.marks {
            let name = plan.person(&m.person).map_or("", |p| p.name.as_str());
            let when = m.to_s.map_or(say!("from-then-on", from_s = figure(m.from_s, 0)), |to| {
                format!("{}–{} s", figure(m.from_s, 0), figure(to, 0))
            });
            let tape = tapemark_core::taping::tape_lines(plan, m.position_m.into());
            self.pair(&format!("{name}, {when}"), &taping(plan, m.position_m, &tape));
        }
    }

    pub(crate) fn lamps(&mut self, plan: &Plan, shot: &Shot, facts: &ShotFacts) {
        let Some(rig) = plan.shot_rig(shot).filter(|r| !r.fixtures.is_empty()) else { return };
        self.heading(&say!("lamps-rig", rig = rig.name));
        for (i, f) in rig.fixtures.iter().enumerate() {
            if !self.room_for(10.0) {
                return;
            }
            let Some(x) = facts.fixtures.iter().find(|x| x.fixture == f.id) else { continue };
            let mut name = format!("L{} {}", i + 1, f.label());
            if f.label() != x.head {
                name = format!("{name}, {}", x.head);
            }
            let state = if f.on { format!("{} %", (f.dimmer * 100.0).round()) } else { say!("off").into() };
            self.word(self.x, &fitted(&name, SMALL, Weight::Bold, self.width * 0.8), SMALL, Weight::Bold, Align::Left);
            self.word(self.x + self.width, &state, SMALL, Weight::Regular, Align::Right);
            self.y += 3.3;
            let gels = f.sheets_before();
            let dressing = if gels.is_empty() { say!("no-gel").into() } else { gels.join(" + ") };
            let colour = x.cct_k.map_or(String::new(), |k| format!("{} K, ", figure(k, 0)));
            let aim = say!(
                "height-m-pan-deg-tilt",
                height_m = format_length(f.height_m, plan.length_unit),
                pan_deg = figure(f.pan_deg, 0),
                tilt_deg = figure(f.tilt_deg, 0)
            );
            let at = x.aim.as_ref().map(|a| format!(", {}", aim_words(plan, f, a))).unwrap_or_default();
            let line = format!("{colour}{dressing}; {aim}{at}");
            self.ink_word(
                self.x,
                &fitted(&line, 2.1, Weight::Regular, self.width),
                2.1,
                Weight::Regular,
                Align::Left,
                Palette::PAPER.quiet,
            );
            self.y += 3.1;
            let roles: Vec<String> = facts
                .people
                .iter()
                .filter_map(|p| {
                    let part = p.reading.as_ref()?.parts.iter().find(|q| q.fixture == f.id)?;
                    if part.role == Role::None {
                        return None;
                    }
                    Some(say!(
                        "role-on-name-bounced-lx",
                        role = part.role_in_words(),
                        name = p.name,
                        bounced_lx = figure(part.direct_lx + part.bounced_lx, 0)
                    ))
                })
                .collect();
            let little = x.out_of_frame_margin.as_ref().filter(|m| m.margin_m < plan.limits.slip_m);
            let out = little.map(|m| say!("out-of-frame-by", by = margin_words(m, plan.length_unit)));
            let roles: Vec<String> = roles.into_iter().chain(out).collect();
            let line = say!(
                "current-a-walls-tape-roles",
                current_a = figure(x.current_a, 1),
                outlet = f.outlet.as_ref().map_or(String::new(), |o| format!("{}, ", plan.location.outlet_name(o))),
                tape = taping(plan, f.position_m, &x.tape),
                roles = roles.join(", ")
            );
            self.paragraph(&line, 2.1, Weight::Regular, Palette::PAPER.quiet);
            self.y += 0.96;
        }
    }

    /// Flags, drapes and boards: how large, how high, how tilted, where.
    pub(crate) fn grip(&mut self, plan: &Plan, facts: &ShotFacts) {
        if facts.grip.is_empty() {
            return;
        }
        self.heading(say!("grip"));
        for g in &facts.grip {
            if !self.room_for(7.0) {
                return;
            }
            let size = g.size_in_words(plan.length_unit);
            let name = fitted(&g.name, SMALL, Weight::Bold, self.left_beside(&size, Weight::Regular));
            self.word(self.x, &name, SMALL, Weight::Bold, Align::Left);
            self.word(self.x + self.width, &size, SMALL, Weight::Regular, Align::Right);
            self.y += 3.3;
            let walls = taping(plan, g.position_m, &g.tape);
            let line = format!("{}; {walls}", g.set_up_in_words(plan.length_unit));
            self.paragraph(&line, 2.1, Weight::Regular, Palette::PAPER.quiet);
            self.y += 0.96;
        }
    }

    pub(crate) fn power(&mut self, facts: &ShotFacts) {
        let used: Vec<_> = facts.circuits.iter().filter(|c| c.load_w > 0.0).collect();
        if used.is_empty() {
            return;
        }
        self.heading(say!("power"));
        for c in used {
            self.pair(
                &c.name,
                &say!(
                    "load-w-current-a",
                    load_w = figure(c.load_w, 0),
                    current_a = figure(c.current_a, 1),
                    limit_a = figure(c.limit_a, 1),
                    breaker_a = figure(c.breaker_a, 0)
                ),
            );
        }
    }

    /// Black cloth over what the lens sees, by its largest walls.
    pub(crate) fn cloth(&mut self, plan: &Plan, facts: &ShotFacts) {
        if let Some(f) = facts.failed.iter().find(|f| f.answer == Answer::Cover) {
            self.heading(say!("walls-in-frame-cloth-to-cover"));
            self.paragraph(&failed_text(f), 2.1, Weight::Regular, Palette::PAPER.wrong);
        }
        let Some(c) = facts.cover.as_ref().filter(|c| c.wall_cloth_m > 0.0) else { return };
        let l = |m: f64| format_length(m, plan.length_unit);
        self.heading(say!("walls-in-frame-cloth-to-cover"));
        for s in c.told().filter(|s| s.kind == SurfaceKind::Wall).take(4) {
            self.pair(
                &s.name,
                &say!(
                    "running-m-along-to-heights",
                    running_m = l(s.running_m),
                    heights_m = l(s.heights_m[1]),
                    drops = s.drops,
                    heights_m_2 = l(s.heights_m[1] - s.heights_m[0])
                ),
            );
        }
        let roll = say!("off-a-roll-width", roll_width_m = l(c.roll_width_m));
        self.pair(&roll, &format!("{}, {} m²", l(c.wall_cloth_m), figure(c.wall_m2, 1)));
    }

    /// What the lens sees, in the room that is left.
    pub(crate) fn picture(&mut self, plan: &Plan, w: &WorkedShot<'_>) {
        let Some(view) = &w.scene.view else { return };
        let spec = FrameSpec::for_view(view, PICTURE_PIXELS);
        let aspect = spec.width as f64 / spec.height as f64;
        let width = self.width.min((self.bottom - self.y - 8.0) * aspect);
        if width < LEAST_PICTURE_MM {
            return;
        }
        let developed = match try_seen(plan, w, PICTURE_PIXELS) {
            Ok(Some(developed)) => developed,
            Ok(None) => return,
            Err(f) => return self.paragraph(&failed_text(&f), 2.1, Weight::Regular, Palette::PAPER.wrong),
        };
        self.heading(say!("what-the-lens-sees"));
        let corner = DVec2::new(self.x, self.y);
        self.marks
            .extend(frame_marks(&developed, &[], corner, width).into_iter().map(|m| Mark { layer: Layer::Page, ..m }));
        self.y += width / aspect + 2.0;
    }

    pub(crate) fn notices(&mut self, facts: &ShotFacts) {
        // How little a margin is stands beside its answer.
        let told: Vec<_> = facts.notices.iter().filter(|n| !is_margin(n.code)).collect();
        if told.is_empty() {
            return;
        }
        self.heading(say!("notices"));
        for n in told {
            let ink = if n.severity == Severity::Hint { Palette::PAPER.quiet } else { Palette::PAPER.wrong };
            let lead = if n.severity == Severity::Caution { say!("caution-b") } else { "" };
            self.paragraph(&format!("{lead}{} — {}.", n.what, n.remedy), 2.1, Weight::Regular, ink);
            self.y += 0.8;
        }
    }

    /// Sun and sky outside, and when direct sun comes in on the day.
    pub(crate) fn sun(&mut self, plan: &Plan, w: &WorkedShot<'_>) {
        let Some(d) = &w.facts.daylight else { return };
        self.heading(say!("sun-label"));
        self.pair(
            &say!("at-clock", clock = d.clock),
            &say!(
                "up-azimuth-lx-sky-lx",
                elevation_deg = figure(d.sun.elevation_deg, 0),
                azimuth_deg = figure(d.sun.azimuth_deg, 0),
                sun_lx = figure(d.sun_lx, 0),
                sky_lx = figure(d.sky_lx, 0)
            ),
        );
        let spells = sun_spells(plan, w.shot);
        for s in &spells {
            self.pair(&say!("sun-on-what", what = s.what), &say!("from-to", from = s.from, to = s.to));
        }
        if spells.is_empty() {
            self.pair(say!("direct-sun"), say!("on-no-face-floor-or-lens"));
        }
    }

    pub(crate) fn legend(&mut self, w: &WorkedShot<'_>, spec: &SheetSpec) {
        self.heading(say!("legend"));
        let p = Palette::PAPER;
        let entries: [(&str, Line); 6] = [
            (say!("in-focus-between"), Line::new(p.camera.faded(0.6), 0.2).dashed(0.6, 0.6)),
            (say!("tape-to-wall"), Line::new(p.quiet, 0.2).dashed(0.7, 0.7)),
            (say!("face-clear"), Line::new(p.clear, 0.3)),
            (say!("face-hidden"), Line::new(p.wrong, 0.5).dashed(1.5, 1.0)),
            (say!("face-not-in-frame"), Line::new(p.quiet, 0.3).dashed(0.4, 1.2)),
            (say!("cable-word"), Line::new(p.ink.faded(0.75), 0.3).dashed(2.4, 0.5)),
        ];
        for pair in entries.chunks(2) {
            if !self.room_for(4.0) {
                return;
            }
            for (i, (name, line)) in pair.iter().enumerate() {
                let x = self.x + self.width * 0.5 * i as f64;
                self.marks.push(Mark::new(
                    Layer::Page,
                    Shape::Polyline { points: vec![DVec2::new(x, self.y), DVec2::new(x + 7.0, self.y)], line: *line },
                ));
                self.word(x + 8.5, name, 2.1, Weight::Regular, Align::Left);
            }
            self.y += 3.6;
        }
        if spec.light_height_m.is_some() {
            self.map_legend(&light_legend(spec.light_shows, wanted_lx(&w.facts), &[LevelUnit::Lux, LevelUnit::Stops]));
        }
        if spec.clear_view {
            self.map_legend(&clear_legend());
        }
    }

    fn map_legend(&mut self, legend: &MapLegend) {
        if !self.room_for(8.0) {
            return;
        }
        let cell = self.width / legend.swatches.len().max(1) as f64;
        let mut deepest = 0.0_f64;
        for (i, (ink, numbers)) in legend.swatches.iter().enumerate() {
            let x = self.x + cell * i as f64;
            let corners =
                [(x, 0.0), (x + cell, 0.0), (x + cell, 3.0), (x, 3.0)].map(|(x, y)| DVec2::new(x, self.y + y));
            let shape = Shape::Polygon { points: corners.to_vec(), fill: Some(*ink), line: None };
            self.marks.push(Mark::new(Layer::Page, shape));
            let y = self.y;
            for (row, number) in numbers.iter().enumerate() {
                self.y = y + 4.8 + 2.6 * row as f64;
                deepest = deepest.max(self.y + 3.0 - y);
                self.word(x + cell * 0.5, number, 1.9, Weight::Regular, Align::Middle);
            }
            self.y = y;
        }
        self.y += deepest;
        self.paragraph(&legend.words, 2.1, Weight::Regular, Palette::PAPER.quiet);
    }
}

fn trim(v: f64) -> String {
    let s = format!("{v:.2}");
    localized(s.trim_end_matches('0').trim_end_matches('.').to_string())
}

/// The distances by which a place is found again, each with the letter of its wall or of the corner between two.
pub(crate) fn taping(plan: &Plan, place_m: [f64; 2], lines: &[TapeLine]) -> String {
    if lines.is_empty() {
        return say!("not-in-a-room").into();
    }
    let one = |t: &TapeLine| {
        let far = format_length(t.distance_m, plan.length_unit);
        let wall = taped_from(plan, place_m.into(), t);
        match t.from {
            TapedFrom::Wall => say!("so-far-from-wall", far, wall),
            TapedFrom::Corner => say!("so-far-from-corner", far, wall),
        }
    };
    lines.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// A spot reading's words; of the sky or the ground outside, with its name before it.
fn outside_named(s: &tapemark_core::light::Spot, light: String) -> String {
    match s.seen {
        tapemark_core::light::Seen::Surface => light,
        tapemark_core::light::Seen::Outside => format!("{}: {light}", s.surface),
    }
}

/// What a lamp is aimed at, in words.
#[must_use]
pub fn aim_words(plan: &Plan, f: &Fixture, aim: &Aim) -> String {
    let up = format_length(aim.point_m[2], plan.length_unit);
    match &aim.what {
        AimedAt::Person { name, .. } | AimedAt::Thing { name, .. } => say!("aim-at-name-so-high", name, up),
        AimedAt::Wall => {
            let letter = wall_letter(plan, f, aim).unwrap_or_default();
            say!("aim-at-wall-so-high", letter, up)
        }
        AimedAt::Door => say!("aim-at-door-so-high", up),
        AimedAt::Floor => say!("aim-at-floor").into(),
        AimedAt::Ceiling => say!("aim-at-ceiling").into(),
        AimedAt::Open => say!("aim-into-open").into(),
    }
}
