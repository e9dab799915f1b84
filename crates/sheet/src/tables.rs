//! The sheet's words: shot, lens, marks, lamps, power, notices.

use crate::font::{fitted, wrapped};
use crate::frame::frame_marks;
use crate::heat::{MapLegend, clear_legend, light_legend};
use crate::marks::{Align, Layer, Line, Mark, Shape, Weight};
use crate::page::{SheetSpec, wanted_lx};
use crate::palette::{Palette, person_ink};
use glam::DVec2;
use tapemark_core::cover::SurfaceKind;
use tapemark_core::day::WorkedShot;
use tapemark_core::facts::ShotFacts;
use tapemark_core::frame::{Developed, FrameSpec, picture};
use tapemark_core::light::{Role, sun_spells};
use tapemark_core::notices::Severity;
use tapemark_core::plan::{Gel, Plan, Shot};
use tapemark_core::taping::TapeLine;
use tapemark_core::units::{LengthUnit, LevelUnit, format_length, format_stop};

/// What the lens sees, developed at the shot's stop.
pub(crate) fn seen(plan: &Plan, w: &WorkedShot<'_>, pixels: usize) -> Option<Developed> {
    let (camera, view) = (plan.shot_camera(w.shot)?, w.scene.view.as_ref()?);
    let spec = FrameSpec::for_view(view, pixels).cut_finer(2);
    let seen = picture(plan, &w.scene, plan.shot_rig(w.shot).as_deref(), &w.light, spec)?;
    Some(seen.developed(camera, &plan.exposure, 2))
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
        let text = fitted(right, SMALL, Weight::Regular, self.width * 0.66);
        self.word(self.x + self.width, &text, SMALL, Weight::Regular, Align::Right);
        self.y += 3.5;
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
        let name = format!("Shot {} — {}", shot.name, shot.size.label());
        self.word(self.x, &fitted(&name, 3.4, Weight::Bold, self.width), 3.4, Weight::Bold, Align::Left);
        self.y += 4.0;
        self.paragraph(&shot.description, SMALL, Weight::Regular, Palette::PAPER.ink);
    }

    pub(crate) fn camera(&mut self, plan: &Plan, facts: &ShotFacts) {
        let Some(c) = &facts.camera else { return };
        let l = |m: f64| format_length(m, plan.length_unit);
        self.heading("Camera");
        self.pair(
            "lens",
            &format!(
                "{} mm, T{}, {} × {:.1} mm",
                trim(c.focal_mm),
                trim(c.t_stop),
                trim(c.sensor_mm[0]),
                c.sensor_mm[1]
            ),
        );
        self.pair("angle of view", &format!("{:.1}° × {:.1}°", c.horizontal_angle_deg, c.vertical_angle_deg));
        self.pair("lens height, pan, tilt", &format!("{}, {:.0}°, {:.0}°", l(c.position_m[2]), c.pan_deg, c.tilt_deg));
        self.pair("from the walls", &taping(&c.tape, plan.length_unit));
        self.pair("focus", &format!("{}: {} to {}", l(c.focus_m), l(c.near_m), c.far_m.map_or("∞".into(), l)));
        self.pair("behind the camera", &c.room_behind_m.map_or("open".into(), l));
        self.pair(
            "level wanted",
            &format!("{:.0} lx ({:.0} fc)", c.wanted_lx, c.wanted_lx / tapemark_core::units::LX_PER_FC),
        );
        if let Some(s) = &c.background {
            let falls = s.falls_at_stops.map_or(String::new(), |f| format!(", {f:+.1} stops from middle grey"));
            self.pair("spot behind the face", &format!("{:.1} cd/m²{falls}", s.luminance_cd_m2));
        }
    }

    pub(crate) fn people(&mut self, plan: &Plan, facts: &ShotFacts) {
        if facts.people.is_empty() {
            return;
        }
        self.heading("Faces");
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
            self.word(
                self.x + self.width,
                &fitted(&p.sight, SMALL, Weight::Regular, self.width * 0.62),
                SMALL,
                Weight::Regular,
                Align::Right,
            );
            self.y += 3.4;
            let light = p.reading.as_ref().map_or("no light".to_string(), |r| {
                let stops = p.exposure_stops.map_or(String::new(), |s| format!(", {s:+.1} stops"));
                let colour = r.cct_k.map_or(String::new(), |k| format!(", {k:.0} K"));
                format!("{:.0} lx, {}{stops}{colour}", r.illuminance_lx, format_stop(r.t_stop))
            });
            let far =
                p.distance_m.map_or(String::new(), |m| format!("{} from lens", format_length(m, plan.length_unit)));
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
        self.heading("Marks");
        for m in &shot.marks {
            let name = plan.person(&m.person).map_or("", |p| p.name.as_str());
            let when = m.to_s.map_or(format!("{:.0} s on", m.from_s), |to| format!("{:.0}–{to:.0} s", m.from_s));
            let tape = tapemark_core::taping::tape_lines(plan, m.position_m.into());
            self.pair(&format!("{name}, {when}"), &format!("walls {}", taping(&tape, plan.length_unit)));
        }
    }

    pub(crate) fn lamps(&mut self, plan: &Plan, shot: &Shot, facts: &ShotFacts) {
        let Some(rig) = plan.shot_rig(shot).filter(|r| !r.fixtures.is_empty()) else { return };
        self.heading(&format!("Lamps — {}", rig.name));
        for (i, f) in rig.fixtures.iter().enumerate() {
            if !self.room_for(10.0) {
                return;
            }
            let Some(x) = facts.fixtures.iter().find(|x| x.fixture == f.id) else { continue };
            let mut name = format!("L{} {}", i + 1, f.label());
            if f.label() != x.head {
                name = format!("{name}, {}", x.head);
            }
            let state = if f.on { format!("{} %", (f.dimmer * 100.0).round()) } else { "off".into() };
            self.word(self.x, &fitted(&name, SMALL, Weight::Bold, self.width * 0.8), SMALL, Weight::Bold, Align::Left);
            self.word(self.x + self.width, &state, SMALL, Weight::Regular, Align::Right);
            self.y += 3.3;
            let gels: Vec<&str> =
                f.gels.iter().map(Gel::name).chain(f.diffusion.as_ref().map(|d| d.name.as_str())).collect();
            let dressing = if gels.is_empty() { "no gel".into() } else { gels.join(" + ") };
            let colour = x.cct_k.map_or(String::new(), |k| format!("{k:.0} K, "));
            let aim = format!(
                "↑{}, pan {:.0}°, tilt {:.0}°",
                format_length(f.height_m, plan.length_unit),
                f.pan_deg,
                f.tilt_deg
            );
            let line = format!("{colour}{dressing}; {aim}");
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
                    let role = match part.role {
                        Role::Key => "key",
                        Role::Fill => "fill",
                        Role::Back => "back",
                        Role::None => return None,
                    };
                    Some(format!("{role} on {} {:.0} lx", p.name, part.direct_lx + part.bounced_lx))
                })
                .collect();
            let line =
                format!("{:.1} A; walls {}; {}", x.current_a, taping(&x.tape, plan.length_unit), roles.join(", "));
            self.ink_word(
                self.x,
                &fitted(&line, 2.1, Weight::Regular, self.width),
                2.1,
                Weight::Regular,
                Align::Left,
                Palette::PAPER.quiet,
            );
            self.y += 3.9;
        }
    }

    pub(crate) fn power(&mut self, facts: &ShotFacts) {
        let used: Vec<_> = facts.circuits.iter().filter(|c| c.load_w > 0.0).collect();
        if used.is_empty() {
            return;
        }
        self.heading("Power");
        for c in used {
            self.pair(
                &c.name,
                &format!(
                    "{:.0} W, {:.1} A of {:.1} A continuous ({:.0} A breaker)",
                    c.load_w, c.current_a, c.limit_a, c.breaker_a
                ),
            );
        }
    }

    /// Black cloth over what the lens sees, by its largest walls.
    pub(crate) fn cloth(&mut self, plan: &Plan, facts: &ShotFacts) {
        let Some(c) = facts.cover.as_ref().filter(|c| c.wall_m2 > 0.0) else { return };
        let l = |m: f64| format_length(m, plan.length_unit);
        self.heading("Walls in frame, cloth to cover them");
        for s in c.surfaces.iter().filter(|s| s.kind == SurfaceKind::Wall).take(4) {
            self.pair(
                &s.name,
                &format!(
                    "{} along, to {} up: {} × {}",
                    l(s.running_m),
                    l(s.heights_m[1]),
                    s.drops,
                    l(s.heights_m[1] - s.heights_m[0])
                ),
            );
        }
        let roll = format!("off a roll {} wide", l(c.roll_width_m));
        self.pair(&roll, &format!("{}, {:.1} m²", l(c.wall_cloth_m), c.wall_m2));
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
        let Some(developed) = seen(plan, w, PICTURE_PIXELS) else { return };
        self.heading("What the lens sees");
        let corner = DVec2::new(self.x, self.y);
        self.marks
            .extend(frame_marks(&developed, &[], corner, width).into_iter().map(|m| Mark { layer: Layer::Page, ..m }));
        self.y += width / aspect + 2.0;
    }

    pub(crate) fn notices(&mut self, facts: &ShotFacts) {
        if facts.notices.is_empty() {
            return;
        }
        self.heading("Notices");
        for n in &facts.notices {
            let ink = if n.severity == Severity::Hint { Palette::PAPER.quiet } else { Palette::PAPER.wrong };
            let lead = if n.severity == Severity::Caution { "Caution: " } else { "" };
            self.paragraph(&format!("{lead}{} — {}.", n.what, n.remedy), 2.1, Weight::Regular, ink);
            self.y += 0.8;
        }
    }

    /// Sun and sky outside, and when direct sun comes in on the day.
    pub(crate) fn sun(&mut self, plan: &Plan, w: &WorkedShot<'_>) {
        let Some(d) = &w.facts.daylight else { return };
        self.heading("Sun");
        self.pair(
            &format!("at {}", d.clock),
            &format!(
                "{:.0}° up, azimuth {:.0}°, {:.0} lx; sky {:.0} lx",
                d.sun.elevation_deg, d.sun.azimuth_deg, d.sun_lx, d.sky_lx
            ),
        );
        let spells = sun_spells(plan, w.shot);
        for s in &spells {
            self.pair(&format!("sun on {}", s.what), &format!("{} to {}", s.from, s.to));
        }
        if spells.is_empty() {
            self.pair("direct sun", "on no face, floor or lens all day");
        }
    }

    pub(crate) fn legend(&mut self, w: &WorkedShot<'_>, spec: &SheetSpec) {
        self.heading("Legend");
        let p = Palette::PAPER;
        let entries: [(&str, Line); 5] = [
            ("in focus between", Line::new(p.camera.faded(0.6), 0.2).dashed(0.6, 0.6)),
            ("tape to wall", Line::new(p.quiet, 0.2).dashed(0.7, 0.7)),
            ("face clear", Line::new(p.clear, 0.3)),
            ("face hidden", Line::new(p.wrong, 0.5).dashed(1.5, 1.0)),
            ("cable", Line::new(p.ink.faded(0.75), 0.3).dashed(2.4, 0.5)),
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
    s.trim_end_matches('0').trim_end_matches('.').to_string()
}

fn taping(lines: &[TapeLine], unit: LengthUnit) -> String {
    if lines.is_empty() {
        return "not in a room".into();
    }
    lines.iter().map(|t| format_length(t.distance_m, unit)).collect::<Vec<_>>().join(" and ")
}
