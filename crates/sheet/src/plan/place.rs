//! The place: rooms, openings, pieces, outlets, the sun on the floor.

use super::{Draw, SMALL_PIECE, turn, upright_deg};
use crate::font::text_width_mm;
use crate::marks::{Align, Layer, Line, Mark, Shape, Weight, circle};
use glam::DVec2;
use tapemark_core::edit::ItemRef;
use tapemark_core::geometry::{OpeningPlace, WallPart, WallPiece, masonry, rotate_bearing, signed_area};
use tapemark_core::light::{plan_sun, sun_patches, toward_sun};
use tapemark_core::plan::{OpeningKind, Piece, PieceKind, Plan};
use tapemark_core::scene::{Scene, footprint, piece_label};
use tapemark_core::taping::{lettered_walls, room_at};
use tapemark_core::units::format_length;
use tapemark_words::say;

impl Draw<'_> {
    /// Where the sun lies on the floor at the shot's time of day.
    pub(super) fn sun(&mut self, plan: &Plan, scene: &Scene) {
        let Some(clock) = scene.clock else { return };
        let Some(sun) = plan_sun(plan, clock).filter(|s| s.elevation_deg > 0.0) else { return };
        let ink = self.look.palette.selected;
        for ring in sun_patches(plan, &scene.walls, toward_sun(plan, &sun)) {
            let middle = ring.iter().copied().sum::<DVec2>() / ring.len() as f64;
            self.polygon(Layer::Field, ring, Some(ink.faded(0.16)), Some(Line::new(ink, 0.25).dashed(1.2, 0.8)));
            self.text(Layer::Words, middle, say!("sun-clock", clock), 0.85, ink, Weight::Regular, 0.0);
        }
    }

    pub(super) fn rooms(&mut self, plan: &Plan, scene: &Scene) {
        let p = self.look.palette;
        for r in &plan.location.rooms {
            let points: Vec<DVec2> = r.outline_m.iter().map(|c| DVec2::from_array(*c)).collect();
            self.polygon(Layer::Floor, points, Some(p.floor), None).item = Some(ItemRef::Room(r.id.clone()));
        }
        let thick = plan.location.wall_thickness_m;
        for ring in masonry(&plan.location, &scene.walls) {
            self.polygon(Layer::Walls, ring, Some(p.wall), Some(Line::new(p.wall, 0.1)));
        }
        // Outlines that touch leave no room for a wall: a line.
        let touching = |w: &&WallPiece| w.part == WallPart::Full && w.behind.is_some_and(|b| b.touches());
        for w in scene.walls.pieces.iter().filter(|w| w.z0 <= 0.0).filter(touching) {
            self.line(Layer::Walls, vec![w.a, w.b], Line::new(p.wall, THIN_WALL_MM));
        }
        for place in &scene.walls.openings {
            let o = &plan.location.openings[place.index];
            let (near, far) = faces(place, thick);
            let item = ItemRef::Opening(o.id.clone());
            let hole = vec![place.a + near, place.b + near, place.b + far[1], place.a + far[0]];
            match o.kind {
                OpeningKind::Window { .. } => {
                    self.polygon(Layer::Walls, hole, Some(p.glass.faded(0.25)), Some(Line::new(p.wall, 0.2))).item =
                        Some(item);
                    let mid = far.map(|f| (near + f) * 0.5);
                    self.line(Layer::Walls, vec![place.a + mid[0], place.b + mid[1]], Line::new(p.glass, 0.5));
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
        let mut letters = lettered_walls(plan).into_iter().map(|w| w.letter);
        for r in &plan.location.rooms {
            let points: Vec<DVec2> = r.outline_m.iter().map(|c| DVec2::from_array(*c)).collect();
            let letters: Vec<String> = letters.by_ref().take(points.len()).collect();
            let top = points.iter().map(|q| q.y).fold(f64::NEG_INFINITY, f64::max);
            let left = points.iter().map(|q| q.x).fold(f64::INFINITY, f64::min);
            let at = DVec2::new(left, top) + DVec2::new(self.mm(2.0), -self.mm(7.0));
            let words = format!("{}  ↑{}", r.name, format_length(r.ceiling_m, self.unit));
            let words = Mark::new(
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
            );
            self.out.push(Mark { turn: turn::ROOMS, ..words }.of(ItemRef::Room(r.id.clone())));
            if self.look.dimensions || self.look.taping {
                self.room_dimensions(plan, &points, &letters);
            }
        }
    }

    /// The length of each wall of a room, on a line along it: inside, or outside where that is wanted and free. Where
    /// distances to tape are drawn the wall's letter comes before it.
    pub(super) fn room_dimensions(&mut self, plan: &Plan, points: &[DVec2], letters: &[String]) {
        let p = self.look.palette;
        let n = points.len();
        let ccw = signed_area(points) > 0.0;
        for i in 0..n {
            let (a, b) = (points[i], points[(i + 1) % n]);
            let length = a.distance(b);
            let letter = letters.get(i).filter(|_| self.look.taping);
            let is_long = length * self.look.mm_per_m >= 9.0 && self.look.dimensions;
            if !is_long && letter.is_none() {
                continue;
            }
            let dir = (b - a) / length;
            let inward = if ccw { DVec2::new(-dir.y, dir.x) } else { DVec2::new(dir.y, -dir.x) };
            let thick = plan.location.wall_thickness_m;
            let reach = thick + self.mm(7.0);
            let in_a_room = |share: f64| {
                [0.3, 0.65, 1.0].iter().any(|far| room_at(plan, a.lerp(b, share) - inward * (reach * far)).is_some())
            };
            let outside = self.look.sparing && ![0.08, 0.3, 0.5, 0.7, 0.92].into_iter().any(in_a_room);
            let at = if outside { -inward * (thick + self.mm(3.2)) } else { inward * self.mm(2.6) };
            let tick = inward * self.mm(0.9);
            let line = Line::new(p.quiet, 0.12);
            if is_long {
                self.line(Layer::Dimensions, vec![a + at, b + at], line);
                for end in [a, b] {
                    self.line(Layer::Dimensions, vec![end + at - tick, end + at + tick], line);
                }
            }
            let far = is_long.then(|| format_length(length, self.unit));
            let words: Vec<String> = letter.cloned().into_iter().chain(far).collect();
            let (ink, weight) = if letter.is_some() { (p.ink, Weight::Bold) } else { (p.quiet, Weight::Regular) };
            let turned = if is_long { upright_deg(dir) } else { 0.0 };
            self.text(Layer::Dimensions, (a + b) * 0.5 + at, words.join("  "), 0.9, ink, weight, turned);
        }
    }

    pub(super) fn pieces(&mut self, plan: &Plan, which: impl Fn(&Piece) -> bool) {
        let p = self.look.palette;
        for piece in plan.location.pieces.iter().filter(|p| which(p)) {
            let points = footprint(piece);
            let (fill, line) = match piece.kind {
                PieceKind::Drape | PieceKind::Flag => (p.black().faded(0.75), Line::new(p.ink, 0.5)),
                PieceKind::Dressing => (p.piece.faded(0.7), Line::new(p.quiet, 0.2).dashed(1.2, 0.6)),
                PieceKind::Mirror => (p.glass.faded(0.5), Line::new(p.glass, 0.5)),
                PieceKind::Furniture => (p.piece, Line::new(p.quiet, 0.25)),
                PieceKind::Board => (p.white(), Line::new(p.ink, 0.5)),
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

    pub(super) fn outlets(&mut self, plan: &Plan) {
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
            // Into the room, off the wall it sits in.
            let into = room_at(plan, at).map_or(DVec2::NEG_Y, |r| {
                let corners = r.outline_m.iter().map(|c| DVec2::from_array(*c));
                let middle = corners.sum::<DVec2>() / r.outline_m.len().max(1) as f64;
                (middle - at).try_normalize().unwrap_or(DVec2::NEG_Y)
            });
            let name = plan.location.outlet_name(&o.id);
            self.text(Layer::Pieces, at + into * self.mm(2.9), name, 0.75, p.quiet, Weight::Regular, 0.0);
        }
    }
}

/// Pen of a wall between outlines that touch, millimetres on paper.
const THIN_WALL_MM: f64 = 0.6;
/// Half the depth an opening is drawn with in such a wall, metres.
const THIN_OPENING_M: f64 = 0.02;

/// From an opening's line to the near face of its wall, and to the far one at its two ends.
fn faces(place: &OpeningPlace, thick: f64) -> (DVec2, [DVec2; 2]) {
    if place.leads_to.is_empty() {
        return (DVec2::ZERO, [place.inward * -thick; 2]);
    }
    if place.depth_m == [0.0; 2] {
        return (place.inward * THIN_OPENING_M, [place.inward * -THIN_OPENING_M; 2]);
    }
    (DVec2::ZERO, place.depth_m.map(|d| place.inward * -d))
}

/// Whether a footprint is much longer up the plan than across, so that its name reads better along it.
fn deeper_than_wide(points: &[DVec2]) -> bool {
    let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
    let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
    let size = high - low;
    size.y > size.x * 1.5
}
