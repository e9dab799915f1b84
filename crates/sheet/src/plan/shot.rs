//! What a shot puts into the place: camera, people, lamps, cloth.

use super::{Draw, REACH_M, upright_deg};
use crate::marks::{Ink, Layer, Line, Mark, Shape, Weight, circle, ellipse};
use crate::palette::person_ink;
use glam::DVec2;
use tapemark_core::colour::look_srgb;
use tapemark_core::cover::{Cover, SurfaceKind};
use tapemark_core::edit::ItemRef;
use tapemark_core::facts::{ShotFacts, TURNED_AWAY};
use tapemark_core::geometry::{Owner, bearing_deg, bearing_dir, visible_region};
use tapemark_core::light::Emitter;
use tapemark_core::plan::{Fixture, Mount, Plan, Shot};
use tapemark_core::scene::{Placed, Scene, View};
use tapemark_core::taping::{TapeLine, room_at};
use tapemark_core::units::format_length;
use tapemark_words::{figure, say};

impl Draw<'_> {
    /// The walls the lens sees, as a band with running metres and heights.
    pub(super) fn cover(&mut self, plan: &Plan, cover: &Cover) {
        let ink = self.look.palette.ink;
        let inset = self.mm(0.9).max(0.03);
        for s in cover.told().filter(|s| s.kind == SurfaceKind::Wall) {
            for [a, b] in &s.stretches_m {
                let (a, b) = (DVec2::from_array(*a), DVec2::from_array(*b));
                let length = a.distance(b);
                if length < 0.02 {
                    continue;
                }
                let left = (b - a).normalize_or_zero().perp();
                let into = if room_at(plan, (a + b) * 0.5 + left * 0.1).is_some_and(|r| r.id == s.room) {
                    left
                } else {
                    -left
                };
                let (a, b) = (a + into * inset, b + into * inset);
                self.line(Layer::Walls, vec![a, b], Line::new(ink, 1.1));
                let unit = self.unit;
                let text = say!(
                    "cloth-length-heights-m-to-heights",
                    length = format_length(length, unit),
                    heights_m = format_length(s.heights_m[0], unit),
                    heights_m_2 = format_length(s.heights_m[1], unit)
                );
                let at = (a + b) * 0.5 + into * self.mm(2.6);
                let bearing = bearing_deg(b - a);
                let turn = if (45.0..135.0).contains(&(bearing % 180.0)) { 0.0 } else { -90.0 };
                self.text(Layer::Words, at, text, 0.8, ink, Weight::Regular, turn);
            }
        }
    }

    pub(super) fn field(&mut self, scene: &Scene, view: &View, facts: &ShotFacts) {
        let p = self.look.palette;
        let half = view.angles_deg().0 * 0.5;
        let segments: Vec<(DVec2, DVec2)> = scene
            .solids
            .outlines_at(view.eye.z)
            .into_iter()
            .filter(|(_, _, o)| !matches!(scene.solids.owner_of(*o), Some(Owner::Person(_))))
            .map(|(a, b, _)| (a, b))
            .collect();
        let eye = view.eye.truncate();
        let region = visible_region(eye, view.pan_deg - half, view.pan_deg + half, REACH_M, &segments);
        self.polygon(Layer::Field, region, Some(p.camera.faded(0.13)), Some(Line::new(p.camera.faded(0.7), 0.2)));
        let Some(camera) = &facts.camera else { return };
        // The frame's width at the subject, and the band in focus.
        let across = bearing_dir(view.pan_deg + 90.0);
        let forward = bearing_dir(view.pan_deg);
        let nearest = facts
            .people
            .iter()
            .filter(|q| q.required)
            .filter_map(|q| q.field_width_m.zip(q.distance_m))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        // Told from the sensor mark, drawn from the lens.
        let from_lens = |m: f64| (m - camera.sensor_behind_m).max(0.0);
        if let Some((width, distance)) = nearest.map(|(w, d)| (w, from_lens(d))) {
            let (l, r) =
                (eye + forward * distance - across * width * 0.5, eye + forward * distance + across * width * 0.5);
            self.line(Layer::Field, vec![l, r], Line::new(p.camera, 0.25));
            // Beside the person, not on the face.
            self.text(
                Layer::Words,
                r + across * self.mm(1.0) + forward * self.mm(2.5),
                say!("frame-width", width = format_length(width, self.unit)),
                0.85,
                p.camera,
                Weight::Regular,
                0.0,
            );
        }
        for (distance, dash) in [(Some(camera.near_m), 0.6), (camera.far_m, 0.6)] {
            if let Some(m) = distance.map(from_lens).filter(|m| *m < REACH_M) {
                let w = m * (half.to_radians()).tan();
                self.line(
                    Layer::Field,
                    vec![eye + forward * m - across * w, eye + forward * m + across * w],
                    Line::new(p.camera.faded(0.6), 0.15).dashed(dash, dash),
                );
            }
        }
        if !self.look.sight {
            return;
        }
        for q in facts.people.iter().filter(|q| q.required) {
            let Some(placed) = scene.placed(&q.person) else { continue };
            let to = placed.face().truncate();
            let hidden = q.clear_share.is_some_and(|c| c < self.face_share) && q.in_frame_share.unwrap_or(0.0) > 0.0;
            let line = if hidden {
                Line::new(p.wrong, 0.5).dashed(1.5, 1.0)
            } else if q.is_framed_and_turned() {
                Line::new(p.clear.faded(0.8), 0.25)
            } else {
                Line::new(p.quiet, 0.3).dashed(0.4, 1.2)
            };
            self.line(Layer::Sight, vec![eye, to], line);
            if hidden {
                let by = q.hidden_by.first().map(|h| h.name.as_str()).unwrap_or_default();
                self.text(
                    Layer::Words,
                    to - DVec2::new(0.0, placed.body_half[0] + self.mm(4.5)),
                    say!("hidden-by", by),
                    0.95,
                    p.wrong,
                    Weight::Bold,
                    0.0,
                );
            }
        }
    }

    pub(super) fn lamp(&mut self, index: usize, f: &Fixture, facts: &ShotFacts) {
        let p = self.look.palette;
        let at = DVec2::from_array(f.position_m);
        let dir = bearing_dir(f.pan_deg);
        let side = bearing_dir(f.pan_deg + 90.0);
        let item = ItemRef::Fixture(f.id.clone());
        let light = look_srgb(Emitter::of(f).colour, 4300.0);
        let glow = Ink::rgb(light[0], light[1], light[2]);
        let burning = f.on && f.dimmer > 0.0;
        if burning && let Some((beam, _)) = f.head.beam_field_deg() {
            let half = beam * 0.5;
            let reach = 1.2;
            let fan: Vec<DVec2> = std::iter::once(at)
                .chain((0..=8).map(|i| at + bearing_dir(f.pan_deg - half + beam * f64::from(i) / 8.0) * reach))
                .collect();
            self.polygon(Layer::Light, fan, Some(glow.faded(0.35)), None);
        }
        let outline = Line::new(p.ink, 0.3);
        let fill = Some(if burning { glow } else { p.paper });
        let body: Vec<DVec2> = if let Some((w, _)) = f.head.area_m() {
            let (w, d) = (w * 0.5, 0.09);
            vec![at + side * w, at + side * w * 0.6 - dir * d * 2.0, at - side * w * 0.6 - dir * d * 2.0, at - side * w]
        } else if f.head.beam_field_deg().is_some() {
            vec![
                at + side * 0.13 + dir * 0.1,
                at + side * 0.08 - dir * 0.16,
                at - side * 0.08 - dir * 0.16,
                at - side * 0.13 + dir * 0.1,
            ]
        } else {
            circle(at, 0.1)
        };
        self.polygon(Layer::Lamps, body, fill, Some(outline)).item = Some(item.clone());
        if f.mount == Mount::Stand {
            for k in 0..3 {
                let leg = bearing_dir(f.pan_deg + 60.0 + 120.0 * f64::from(k));
                self.line(Layer::Lamps, vec![at - dir * 0.05, at - dir * 0.05 + leg * 0.3], Line::new(p.quiet, 0.15));
            }
        }
        if f.head.beam_field_deg().is_some() || f.head.area_m().is_some() {
            self.line(Layer::Lamps, vec![at + dir * 0.1, at + dir * 0.45], Line::new(p.ink, 0.25));
        }
        let words = format!("L{} {}", index + 1, f.label());
        self.text(Layer::Words, at - dir * 0.25 - DVec2::new(0.0, self.mm(2.2)), words, 0.9, p.ink, Weight::Bold, 0.0);
        if self.look.taping
            && f.mount == Mount::Stand
            && let Some(x) = facts.fixtures.iter().find(|x| x.fixture == f.id)
        {
            self.tape(at, &x.tape);
        }
    }

    pub(super) fn tape(&mut self, from: DVec2, lines: &[TapeLine]) {
        let p = self.look.palette;
        for t in lines {
            let to = DVec2::from_array(t.wall_point_m);
            self.line(Layer::Dimensions, vec![from, to], Line::new(p.quiet, 0.15).dashed(0.7, 0.7));
            if from.distance(to) * self.look.mm_per_m > 5.0 {
                self.text(
                    Layer::Dimensions,
                    from.lerp(to, 0.55),
                    format_length(t.distance_m, self.unit),
                    0.8,
                    p.quiet,
                    Weight::Regular,
                    upright_deg((to - from).normalize_or_zero()),
                );
            }
        }
    }

    /// Where people have been and will be in the shot.
    pub(super) fn moves(&mut self, plan: &Plan, shot: &Shot) {
        for (n, person) in plan.cast.iter().enumerate() {
            let mut marks: Vec<_> = shot.marks.iter().filter(|m| m.person == person.id).collect();
            if marks.len() < 2 {
                continue;
            }
            marks.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
            let ink = person_ink(n);
            self.line(
                Layer::Sight,
                marks.iter().map(|m| DVec2::from_array(m.position_m)).collect(),
                Line::new(ink, 0.35).dashed(1.6, 1.0),
            );
            for m in marks {
                let at = DVec2::from_array(m.position_m);
                let arm = self.mm(1.6);
                // The floor tape's T under the feet.
                let (f, s) = (bearing_dir(m.facing_deg), bearing_dir(m.facing_deg + 90.0));
                self.line(Layer::Sight, vec![at + f * arm - s * arm, at + f * arm + s * arm], Line::new(ink, 0.5));
                self.out.push(
                    Mark::new(
                        Layer::Sight,
                        Shape::Polyline { points: vec![at + f * arm, at - f * arm], line: Line::new(ink, 0.5) },
                    )
                    .of(ItemRef::Mark(m.id.clone())),
                );
            }
        }
    }

    pub(super) fn person(&mut self, n: usize, q: &Placed, shot: &Shot, facts: &ShotFacts) {
        let p = self.look.palette;
        let ink = person_ink(n);
        let item = q.mark.and_then(|i| shot.marks.get(i)).map(|m| ItemRef::Mark(m.id.clone()));
        let dir = bearing_dir(q.facing_deg);
        let side = bearing_dir(q.facing_deg + 90.0);
        let body = ellipse(q.position, side * q.body_half[0], dir * q.body_half[1]);
        self.polygon(Layer::People, body, Some(ink.faded(0.55)), Some(Line::new(ink, 0.3))).item.clone_from(&item);
        let head = ellipse(q.position, side * q.head_half.x, dir * q.head_half.y);
        self.polygon(Layer::People, head, Some(ink), Some(Line::new(p.paper, 0.2))).item.clone_from(&item);
        let tip = q.position + dir * (q.head_half.y + 0.08);
        let nose = vec![
            tip,
            q.position + dir * q.head_half.y * 0.9 + side * 0.05,
            q.position + dir * q.head_half.y * 0.9 - side * 0.05,
        ];
        self.polygon(Layer::People, nose, Some(ink), None).item = item;
        self.text(
            Layer::Words,
            q.position - DVec2::new(0.0, q.body_half[0] + self.mm(1.6)),
            q.name.clone(),
            1.05,
            p.ink,
            Weight::Bold,
            0.0,
        );
        if self.look.taping
            && let Some(x) = facts.people.iter().find(|x| x.person == q.person)
            && x.required
            && x.turned_share.unwrap_or(1.0) >= TURNED_AWAY
        {
            self.tape(q.position, &x.tape);
        }
    }

    pub(super) fn camera(&mut self, name: &str, item: ItemRef, view: &View, facts: &ShotFacts) {
        let p = self.look.palette;
        let at = view.eye.truncate();
        let (dir, side) = (bearing_dir(view.pan_deg), bearing_dir(view.pan_deg + 90.0));
        // The lens at the point, the body behind it.
        let body = vec![
            at + side * 0.05,
            at + side * 0.05 - dir * 0.12,
            at + side * 0.09 - dir * 0.12,
            at + side * 0.09 - dir * 0.32,
            at - side * 0.09 - dir * 0.32,
            at - side * 0.09 - dir * 0.12,
            at - side * 0.05 - dir * 0.12,
            at - side * 0.05,
        ];
        self.polygon(Layer::Cameras, body, Some(p.camera), Some(Line::new(p.paper, 0.2))).item = Some(item);
        let words = say!(
            "name-focal-mm-z",
            name,
            focal_mm = figure(view.focal_mm, 0),
            z = format_length(view.eye.z, self.unit)
        );
        self.text(
            Layer::Words,
            at - dir * 0.45 - DVec2::new(0.0, self.mm(1.5)),
            words,
            1.0,
            p.camera,
            Weight::Bold,
            0.0,
        );
        if let Some(c) = &facts.camera {
            if self.look.taping {
                self.tape(at, &c.tape);
            }
            if !c.operator_fits
                && let Some(behind) = c.room_behind_m
            {
                let end = at - dir * behind;
                self.line(Layer::Sight, vec![at, end], Line::new(p.wrong, 0.5));
                self.text(
                    Layer::Words,
                    at.lerp(end, 0.5) + side * self.mm(6.0),
                    say!("behind", behind = format_length(behind, self.unit)),
                    0.95,
                    p.wrong,
                    Weight::Bold,
                    0.0,
                );
            }
        }
    }

    /// Cables as they lie.
    pub(super) fn cables(&mut self, facts: &ShotFacts) {
        let p = self.look.palette;
        for run in &facts.cables {
            let points: Vec<DVec2> = run.path_m.iter().map(|q| DVec2::from_array(*q)).collect();
            self.line(Layer::Pieces, points, Line::new(p.ink.faded(0.75), 0.3).dashed(2.4, 0.5));
            for x in &run.crossings {
                let at = DVec2::from_array(x.at_m);
                let arm = self.mm(1.3);
                for s in [1.0, -1.0] {
                    let across = DVec2::new(arm, arm * s);
                    self.line(Layer::Sight, vec![at - across, at + across], Line::new(p.wrong, 0.4));
                }
            }
        }
    }
}
