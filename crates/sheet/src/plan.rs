//! A shot drawn in plan metres.

use crate::font::text_width_mm;
use crate::marks::{Align, Ink, Layer, Line, Mark, Shape, Weight, circle, ellipse};
use crate::pages::Picture;
use crate::palette::{Palette, person_ink};
use glam::DVec2;
use std::sync::Arc;
use tapemark_core::cover::{Cover, SurfaceKind};
use tapemark_core::edit::ItemRef;
use tapemark_core::facts::{ShotFacts, TURNED_AWAY};
use tapemark_core::geometry::{bearing_dir, rotate_bearing, visible_region};
use tapemark_core::light::{Emitter, plan_sun, sun_patches, toward_sun};
use tapemark_core::plan::{Fixture, Mount, OpeningKind, PieceKind, Plan, Shot};
use tapemark_core::scene::{Placed, Scene, View, footprint, piece_label};
use tapemark_core::taping::{TapeLine, room_at};
use tapemark_core::units::{LengthUnit, format_length};

/// How a plan is drawn.
#[derive(Debug, Clone)]
pub struct PlanLook {
    /// Colours.
    pub palette: Palette,
    /// Height of ordinary type, millimetres on paper.
    pub text_mm: f64,
    /// Room dimensions.
    pub dimensions: bool,
    /// Distances to tape.
    pub taping: bool,
    /// Lines of sight from lens to faces.
    pub sight: bool,
    /// What black cloth would cover.
    pub cover: bool,
    /// The picture that lies under the plan.
    pub underlay: Option<Arc<Picture>>,
    /// Millimetres on paper a metre of plan takes, to keep words apart.
    pub mm_per_m: f64,
}

impl PlanLook {
    /// As printed.
    #[must_use]
    pub fn paper(mm_per_m: f64) -> PlanLook {
        PlanLook {
            palette: Palette::PAPER,
            text_mm: 2.4,
            dimensions: true,
            taping: true,
            sight: true,
            cover: false,
            underlay: None,
            mm_per_m,
        }
    }
}

/// Furthest the camera's field is drawn, metres.
const REACH_M: f64 = 30.0;

/// Draws a shot: rooms, openings, pieces, people, lamps, camera, field, dimensions.
#[must_use]
pub fn plan_marks(plan: &Plan, shot: &Shot, scene: &Scene, facts: &ShotFacts, look: &PlanLook) -> Vec<Mark> {
    let mut d = Draw { out: Vec::with_capacity(128), look, unit: plan.length_unit, face_share: plan.limits.face_share };
    d.rooms(plan, scene);
    d.underlay(plan);
    d.sun(plan, scene);
    d.pieces(plan);
    if let Some(view) = &scene.view {
        d.field(scene, view, facts);
    }
    for (i, f) in plan.shot_fixtures(shot).into_iter().enumerate() {
        d.lamp(i, f, facts);
    }
    d.moves(plan, shot);
    for p in &scene.people {
        let n = plan.cast.iter().position(|c| c.id == p.person).unwrap_or(0);
        d.person(n, p, shot, facts);
    }
    if let Some(camera) = plan.shot_camera(shot)
        && let Some(view) = &scene.view
    {
        d.camera(&camera.name, ItemRef::Camera(camera.id.clone()), view, facts);
    }
    d.outlets(plan);
    d.cables(facts);
    if look.cover
        && let Some(cover) = &facts.cover
    {
        d.cover(plan, cover);
    }
    crate::declutter::declutter(&mut d.out, look.mm_per_m);
    d.out.sort_by_key(|m| m.layer);
    d.out
}

/// A piece narrower than this share of its name goes without.
const SMALL_PIECE: f64 = 0.2;

struct Draw<'a> {
    out: Vec<Mark>,
    look: &'a PlanLook,
    unit: LengthUnit,
    face_share: f64,
}

impl Draw<'_> {
    /// The picture under the plan, over the floors it would be hidden by.
    fn underlay(&mut self, plan: &Plan) {
        let (Some(u), Some(p)) = (&plan.location.underlay, &self.look.underlay) else { return };
        let faded = |a: u8| (f64::from(a) * u.opacity).round() as u8;
        // Rows of a drawing in plan metres run up.
        let rows = p.rgba.chunks_exact(p.width.max(1) * 4).rev();
        let rgba = rows.flat_map(|row| row.chunks_exact(4).flat_map(|c| [c[0], c[1], c[2], faded(c[3])])).collect();
        let origin = DVec2::from_array(u.origin_m);
        let shape = Shape::Raster { origin, cell: u.metres_per_pixel, nx: p.width, ny: p.height, rgba };
        self.out.push(Mark::new(Layer::Floor, shape));
    }

    /// Where the sun lies on the floor at the shot's time of day.
    fn sun(&mut self, plan: &Plan, scene: &Scene) {
        let Some(clock) = scene.clock else { return };
        let Some(sun) = plan_sun(plan, clock).filter(|s| s.elevation_deg > 0.0) else { return };
        let ink = self.look.palette.selected;
        for ring in sun_patches(plan, &scene.walls, toward_sun(plan, &sun)) {
            let middle = ring.iter().copied().sum::<DVec2>() / ring.len() as f64;
            self.polygon(Layer::Field, ring, Some(ink.faded(0.16)), Some(Line::new(ink, 0.25).dashed(1.2, 0.8)));
            self.text(Layer::Words, middle, format!("sun {clock}"), 0.85, ink, Weight::Regular, 0.0);
        }
    }

    /// The walls the lens sees, as a band with running metres and heights.
    fn cover(&mut self, plan: &Plan, cover: &Cover) {
        let ink = self.look.palette.ink;
        let inset = self.mm(0.9).max(0.03);
        for s in cover.surfaces.iter().filter(|s| s.kind == SurfaceKind::Wall) {
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
                let text = format!(
                    "cloth {}, {} to {} up",
                    format_length(length, unit),
                    format_length(s.heights_m[0], unit),
                    format_length(s.heights_m[1], unit)
                );
                let at = (a + b) * 0.5 + into * self.mm(2.6);
                let bearing = tapemark_core::geometry::bearing_deg(b - a);
                let turn = if (45.0..135.0).contains(&(bearing % 180.0)) { 0.0 } else { -90.0 };
                self.text(Layer::Words, at, text, 0.8, ink, Weight::Regular, turn);
            }
        }
    }

    fn line(&mut self, layer: Layer, points: Vec<DVec2>, line: Line) {
        self.out.push(Mark::new(layer, Shape::Polyline { points, line }));
    }
    fn polygon(&mut self, layer: Layer, points: Vec<DVec2>, fill: Option<Ink>, line: Option<Line>) -> &mut Mark {
        let i = self.out.len();
        self.out.push(Mark::new(layer, Shape::Polygon { points, fill, line }));
        &mut self.out[i]
    }
    #[allow(clippy::too_many_arguments)]
    fn text(
        &mut self,
        layer: Layer,
        at: DVec2,
        text: impl Into<String>,
        size: f64,
        ink: Ink,
        weight: Weight,
        turn_deg: f64,
    ) {
        let halo = Some(self.look.palette.floor);
        self.out.push(Mark::new(
            layer,
            Shape::Text {
                at,
                text: text.into(),
                size_mm: self.look.text_mm * size,
                ink,
                weight,
                align: Align::Middle,
                turn_deg,
                halo,
            },
        ));
    }
    /// Paper millimetres as plan metres.
    fn mm(&self, mm: f64) -> f64 {
        mm / self.look.mm_per_m
    }

    fn rooms(&mut self, plan: &Plan, scene: &Scene) {
        let p = self.look.palette;
        for r in &plan.location.rooms {
            let points: Vec<DVec2> = r.outline_m.iter().map(|c| DVec2::from_array(*c)).collect();
            self.polygon(Layer::Floor, points, Some(p.floor), None).item = Some(ItemRef::Room(r.id.clone()));
        }
        let thick = plan.location.wall_thickness_m;
        for w in scene.walls.pieces.iter().filter(|w| w.z0 <= 0.0 && w.part == tapemark_core::geometry::WallPart::Full)
        {
            let offsets = band(plan, w.a, w.b, thick);
            let (a, b) = (squared_end(plan, w.b, w.a, offsets, thick), squared_end(plan, w.a, w.b, offsets, thick));
            let corners = vec![a + offsets.0, b + offsets.0, b + offsets.1, a + offsets.1];
            self.polygon(Layer::Walls, corners, Some(p.wall), Some(Line::new(p.wall, 0.1)));
        }
        for place in &scene.walls.openings {
            let o = &plan.location.openings[place.index];
            let offsets = band(plan, place.a, place.b, thick);
            let item = ItemRef::Opening(o.id.clone());
            let hole = [place.a + offsets.0, place.b + offsets.0, place.b + offsets.1, place.a + offsets.1].to_vec();
            match o.kind {
                OpeningKind::Window { .. } => {
                    self.polygon(Layer::Walls, hole, Some(p.glass.faded(0.25)), Some(Line::new(p.wall, 0.2))).item =
                        Some(item);
                    let mid = (offsets.0 + offsets.1) * 0.5;
                    self.line(Layer::Walls, vec![place.a + mid, place.b + mid], Line::new(p.glass, 0.5));
                }
                OpeningKind::Passage => {
                    self.polygon(Layer::Walls, hole, Some(p.floor), Some(Line::new(p.quiet, 0.15).dashed(1.0, 1.0)))
                        .item = Some(item);
                }
                OpeningKind::Door { .. } => {
                    self.polygon(Layer::Walls, hole, Some(p.floor), None).item = Some(item.clone());
                    if let Some(leaf) = place.leaf {
                        let shut = leaf.shut_tip - leaf.hinge;
                        let arc: Vec<DVec2> = (0..=18)
                            .map(|i| leaf.hinge + rotate_bearing(shut, leaf.turn * f64::from(i) * 5.0))
                            .collect();
                        self.line(Layer::Walls, arc, Line::new(p.quiet, 0.15).dashed(0.8, 0.8));
                        self.out.push(
                            Mark::new(
                                Layer::Walls,
                                Shape::Polyline { points: vec![leaf.hinge, leaf.tip], line: Line::new(p.wall, 0.7) },
                            )
                            .of(item),
                        );
                    }
                }
            }
        }
        for r in &plan.location.rooms {
            let points: Vec<DVec2> = r.outline_m.iter().map(|c| DVec2::from_array(*c)).collect();
            let top = points.iter().map(|q| q.y).fold(f64::NEG_INFINITY, f64::max);
            let left = points.iter().map(|q| q.x).fold(f64::INFINITY, f64::min);
            let at = DVec2::new(left, top) + DVec2::new(self.mm(2.0), -self.mm(7.0));
            let words = format!("{}  ↑{}", r.name, format_length(r.ceiling_m, self.unit));
            self.out.push(Mark::new(
                Layer::Words,
                Shape::Text {
                    at,
                    text: words,
                    size_mm: self.look.text_mm * 1.1,
                    ink: p.quiet,
                    weight: Weight::Bold,
                    align: Align::Left,
                    turn_deg: 0.0,
                    halo: Some(p.floor),
                },
            ));
            if self.look.dimensions {
                self.room_dimensions(&points);
            }
        }
    }

    fn room_dimensions(&mut self, points: &[DVec2]) {
        let p = self.look.palette;
        let n = points.len();
        let ccw = tapemark_core::geometry::signed_area(points) > 0.0;
        for i in 0..n {
            let (a, b) = (points[i], points[(i + 1) % n]);
            let length = a.distance(b);
            if length * self.look.mm_per_m < 9.0 {
                continue;
            }
            let dir = (b - a) / length;
            let inward = if ccw { DVec2::new(-dir.y, dir.x) } else { DVec2::new(dir.y, -dir.x) };
            let at = inward * self.mm(2.6);
            let tick = inward * self.mm(0.9);
            let line = Line::new(p.quiet, 0.12);
            self.line(Layer::Dimensions, vec![a + at, b + at], line);
            for end in [a, b] {
                self.line(Layer::Dimensions, vec![end + at - tick, end + at + tick], line);
            }
            self.text(
                Layer::Dimensions,
                (a + b) * 0.5 + at,
                format_length(length, self.unit),
                0.9,
                p.quiet,
                Weight::Regular,
                upright_deg(dir),
            );
        }
    }

    fn pieces(&mut self, plan: &Plan) {
        let p = self.look.palette;
        for piece in &plan.location.pieces {
            let points = footprint(piece);
            let (fill, line) = match piece.kind {
                PieceKind::Drape | PieceKind::Flag => (p.ink.faded(0.75), Line::new(p.ink, 0.5)),
                PieceKind::Dressing => (p.piece.faded(0.7), Line::new(p.quiet, 0.2).dashed(1.2, 0.6)),
                PieceKind::Mirror => (p.glass.faded(0.5), Line::new(p.glass, 0.5)),
                PieceKind::Furniture => (p.piece, Line::new(p.quiet, 0.25)),
                PieceKind::Board => (p.paper, Line::new(p.ink, 0.5)),
            };
            self.polygon(Layer::Pieces, points, Some(fill), Some(line)).item = Some(ItemRef::Piece(piece.id.clone()));
            let at = DVec2::from_array(piece.position_m);
            let ring = footprint(piece);
            let turn = if deeper_than_wide(&ring) { -90.0 } else { 0.0 };
            let words = format!("{} {}", piece_label(piece), format_length(piece.top_m, self.unit));
            // On a piece this small its name would say nothing of where it belongs.
            let wide = ring.iter().map(|p| p.distance(at)).fold(0.0, f64::max) * 2.0 * self.look.mm_per_m;
            if wide < SMALL_PIECE * text_width_mm(&words, self.look.text_mm * 0.8, Weight::Regular) {
                continue;
            }
            self.text(Layer::Pieces, at, words, 0.8, p.quiet, Weight::Regular, turn);
        }
    }

    fn field(&mut self, scene: &Scene, view: &View, facts: &ShotFacts) {
        let p = self.look.palette;
        let half = view.angles_deg().0 * 0.5;
        let segments: Vec<(DVec2, DVec2)> = scene
            .solids
            .outlines_at(view.eye.z)
            .into_iter()
            .filter(|(_, _, o)| !matches!(scene.solids.owner_of(*o), Some(tapemark_core::geometry::Owner::Person(_))))
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
        if let Some((width, distance)) = nearest {
            let (l, r) =
                (eye + forward * distance - across * width * 0.5, eye + forward * distance + across * width * 0.5);
            self.line(Layer::Field, vec![l, r], Line::new(p.camera, 0.25));
            // Beside the person, not on the face.
            self.text(
                Layer::Words,
                r + across * self.mm(1.0) + forward * self.mm(2.5),
                format!("frame {}", format_length(width, self.unit)),
                0.85,
                p.camera,
                Weight::Regular,
                0.0,
            );
        }
        for (distance, dash) in [(Some(camera.near_m), 0.6), (camera.far_m, 0.6)] {
            if let Some(m) = distance.filter(|m| *m < REACH_M) {
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
            let line =
                if hidden { Line::new(p.wrong, 0.5).dashed(1.5, 1.0) } else { Line::new(p.clear.faded(0.8), 0.25) };
            self.line(Layer::Sight, vec![eye, to], line);
            if hidden {
                let by = q.hidden_by.first().map(|h| h.name.as_str()).unwrap_or_default();
                self.text(
                    Layer::Words,
                    to - DVec2::new(0.0, placed.body_half[0] + self.mm(4.5)),
                    format!("hidden by {by}"),
                    0.95,
                    p.wrong,
                    Weight::Bold,
                    0.0,
                );
            }
        }
    }

    fn lamp(&mut self, index: usize, f: &Fixture, facts: &ShotFacts) {
        let p = self.look.palette;
        let at = DVec2::from_array(f.position_m);
        let dir = bearing_dir(f.pan_deg);
        let side = bearing_dir(f.pan_deg + 90.0);
        let item = ItemRef::Fixture(f.id.clone());
        let light = tapemark_core::colour::look_srgb(Emitter::of(f).colour, 4300.0);
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

    fn tape(&mut self, from: DVec2, lines: &[TapeLine]) {
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
    fn moves(&mut self, plan: &Plan, shot: &Shot) {
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

    fn person(&mut self, n: usize, q: &Placed, shot: &Shot, facts: &ShotFacts) {
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

    fn camera(&mut self, name: &str, item: ItemRef, view: &View, facts: &ShotFacts) {
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
        let words = format!("{name} {:.0} mm ↑{}", view.focal_mm, format_length(view.eye.z, self.unit));
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
                    format!("{} behind", format_length(behind, self.unit)),
                    0.95,
                    p.wrong,
                    Weight::Bold,
                    0.0,
                );
            }
        }
    }

    /// Cables as they lie.
    fn cables(&mut self, facts: &ShotFacts) {
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

    fn outlets(&mut self, plan: &Plan) {
        let p = self.look.palette;
        for o in &plan.location.outlets {
            let at = DVec2::from_array(o.position_m);
            self.polygon(Layer::Pieces, circle(at, self.mm(1.1)), Some(p.paper), Some(Line::new(p.ink, 0.25))).item =
                Some(ItemRef::Outlet(o.id.clone()));
            for s in [-0.35, 0.35] {
                let x = self.mm(s);
                self.line(
                    Layer::Pieces,
                    vec![at + DVec2::new(x, self.mm(0.4)), at + DVec2::new(x, -self.mm(0.4))],
                    Line::new(p.ink, 0.2),
                );
            }
        }
    }
}

/// A wall's two drawn faces about its line: outward of the one room it bounds, or centred between two.
fn band(plan: &Plan, a: DVec2, b: DVec2, thick: f64) -> (DVec2, DVec2) {
    let dir = (b - a).normalize_or_zero();
    let left = DVec2::new(-dir.y, dir.x);
    let middle = (a + b) * 0.5;
    let (in_left, in_right) =
        (room_at(plan, middle + left * 0.05).is_some(), room_at(plan, middle - left * 0.05).is_some());
    match (in_left, in_right) {
        (true, false) => (DVec2::ZERO, -left * thick),
        (false, true) => (left * thick, DVec2::ZERO),
        _ => (left * thick * 0.5, -left * thick * 0.5),
    }
}

/// The end `to` of a wall, drawn on past an outside corner so that the two walls meet squarely.
fn squared_end(plan: &Plan, from: DVec2, to: DVec2, (u, v): (DVec2, DVec2), thick: f64) -> DVec2 {
    let dir = (to - from).normalize_or_zero();
    let outward = u + v;
    if outward.length() < thick * 0.5 {
        return to;
    }
    let inside_goes_on = room_at(plan, to + dir * 0.05 - outward.normalize() * 0.05).is_some();
    let outside_is_free = room_at(plan, to + dir * thick * 0.5 + outward * 0.5).is_none();
    if !inside_goes_on && outside_is_free { to + dir * thick } else { to }
}

/// Whether a footprint is much longer up the plan than across, so that its name reads better along it.
fn deeper_than_wide(points: &[DVec2]) -> bool {
    let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
    let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
    let size = high - low;
    size.y > size.x * 1.5
}

/// Turn of text along a direction so that it reads from below or the right, degrees clockwise on paper.
fn upright_deg(dir: DVec2) -> f64 {
    let mut a = -dir.y.atan2(dir.x).to_degrees();
    if a <= -90.0 {
        a += 180.0;
    } else if a > 90.0 {
        a -= 180.0;
    }
    // A wall drawn straight up reads from the right.
    if (a - 90.0).abs() < 1e-6 { -90.0 } else { a }
}
