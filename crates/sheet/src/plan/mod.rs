//! A shot drawn in plan metres.

mod place;
mod shot;

use crate::marks::{Align, Ink, Layer, Line, Mark, Shape, Weight};
use crate::pages::Picture;
use crate::palette::Palette;
use glam::DVec2;
use std::collections::BTreeSet;
use std::sync::Arc;
use tapemark_core::edit::ItemRef;
use tapemark_core::facts::ShotFacts;
use tapemark_core::plan::{Plan, Shot};
use tapemark_core::scene::Scene;
use tapemark_core::units::LengthUnit;

/// How a plan is drawn.
#[derive(Debug, Clone, PartialEq)]
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
    /// For a screen, on which one can look nearer: words that find no room are left out, none lies over another, a wall
    /// or a symbol, and dimensions stand outside the walls where there is room.
    pub sparing: bool,
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
            sparing: false,
        }
    }
}

/// Furthest the camera's field is drawn, metres.
const REACH_M: f64 = 30.0;

/// Draws a shot: rooms, openings, pieces, people, lamps, camera, field, dimensions.
#[must_use]
pub fn plan_marks(plan: &Plan, shot: &Shot, scene: &Scene, facts: &ShotFacts, look: &PlanLook) -> Vec<Mark> {
    drawn(plan, shot, scene, facts, look, &BTreeSet::new()).0
}

/// The place as a shot drawn over it left it, its words moved off those of the shot.
#[derive(Debug, Clone)]
pub struct PlaceDrawn {
    marks: Vec<Mark>,
    apart: BTreeSet<ItemRef>,
}

impl PlaceDrawn {
    /// The place of a shot without the pieces that are to be moved about in it.
    #[must_use]
    pub fn of(
        (plan, shot): (&Plan, &Shot),
        scene: &Scene,
        facts: &ShotFacts,
        look: &PlanLook,
        apart: &BTreeSet<ItemRef>,
    ) -> PlaceDrawn {
        let (marks, of_place) = drawn(plan, shot, scene, facts, look, apart);
        let marks = marks.into_iter().zip(of_place).filter_map(|(m, of_place)| of_place.then_some(m)).collect();
        PlaceDrawn { marks, apart: apart.clone() }
    }

    /// The pieces drawn with the shot.
    #[must_use]
    pub fn apart(&self) -> &BTreeSet<ItemRef> {
        &self.apart
    }

    /// Its marks, layer by layer.
    #[must_use]
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// The marks of a shot over it, layer by layer, for the frames of a gesture that leaves the place as it is: the
    /// words of the place stay where they are. Within a layer the place comes first, as in a whole drawing.
    #[must_use]
    pub fn shot_over(
        &self,
        (plan, shot): (&Plan, &Shot),
        scene: &Scene,
        facts: &ShotFacts,
        look: &PlanLook,
    ) -> Vec<Mark> {
        let mut d = Draw::new(plan, look);
        d.shot(plan, shot, scene, facts, &self.apart);
        crate::declutter::declutter(&mut d.out, look.mm_per_m, look.sparing);
        d.out.sort_by_key(|m| m.layer);
        d.out
    }
}

/// A whole drawing, and which of its marks are the place's.
fn drawn(
    plan: &Plan,
    shot: &Shot,
    scene: &Scene,
    facts: &ShotFacts,
    look: &PlanLook,
    apart: &BTreeSet<ItemRef>,
) -> (Vec<Mark>, Vec<bool>) {
    let mut d = Draw::new(plan, look);
    d.rooms(plan, scene);
    d.underlay(plan);
    d.pieces(plan, |p| !apart.contains(&ItemRef::Piece(p.id.clone())));
    d.outlets(plan);
    let place = d.out.len();
    d.shot(plan, shot, scene, facts, apart);
    let kept = crate::declutter::declutter(&mut d.out, look.mm_per_m, look.sparing);
    let mut marks: Vec<(Mark, bool)> = d.out.into_iter().zip(kept.into_iter().map(|i| i < place)).collect();
    marks.sort_by_key(|(m, _)| m.layer);
    marks.into_iter().unzip()
}

impl<'a> Draw<'a> {
    fn new(plan: &Plan, look: &'a PlanLook) -> Draw<'a> {
        Draw {
            out: Vec::with_capacity(128),
            look,
            unit: plan.length_unit,
            face_share: plan.limits.face_share,
            turn: turn::REST,
        }
    }
}

impl Draw<'_> {
    /// All that a shot puts into the place.
    fn shot(&mut self, plan: &Plan, shot: &Shot, scene: &Scene, facts: &ShotFacts, apart: &BTreeSet<ItemRef>) {
        let d = self;
        let look = d.look;
        d.turn = turn::REST;
        d.pieces(plan, |p| apart.contains(&ItemRef::Piece(p.id.clone())));
        d.sun(plan, scene);
        if let Some(view) = &scene.view {
            d.field(scene, view, facts);
        }
        d.turn = turn::LAMPS;
        for (i, f) in plan.shot_fixtures(shot).into_iter().enumerate() {
            d.lamp(i, f, facts);
        }
        d.turn = turn::REST;
        if look.taping {
            for g in &facts.grip {
                d.tape(DVec2::from_array(g.position_m), &g.tape);
            }
        }
        d.turn = turn::CAST;
        d.moves(plan, shot);
        for p in &scene.people {
            let n = plan.cast.iter().position(|c| c.id == p.person).unwrap_or(0);
            d.person(n, p, shot, facts);
        }
        if let Some(camera) = plan.shot_camera(shot)
            && let Some(view) = &scene.view
        {
            d.turn = turn::CAMERA;
            d.camera(&camera.name, ItemRef::Camera(camera.id.clone()), view, facts);
        }
        d.turn = turn::REST;
        d.cables(facts);
        if look.cover
            && let Some(cover) = &facts.cover
        {
            d.cover(plan, cover);
        }
    }
}

/// A piece narrower than this share of its name goes without.
const SMALL_PIECE: f64 = 0.2;

struct Draw<'a> {
    out: Vec<Mark>,
    look: &'a PlanLook,
    unit: LengthUnit,
    face_share: f64,
    /// The turn of the words that are written now.
    turn: u8,
}

/// In which turn words find their place: the cast first, then the camera, lamps, rooms, things, dimensions.
mod turn {
    pub const CAST: u8 = 0;
    pub const CAMERA: u8 = 1;
    pub const LAMPS: u8 = 2;
    pub const ROOMS: u8 = 3;
    pub const REST: u8 = 4;
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
        let shape = Shape::Text {
            at,
            text: text.into(),
            size_mm: self.look.text_mm * size,
            ink,
            weight,
            align: Align::Middle,
            turn_deg,
            halo,
        };
        // Beside a name what is written of a thing waits for all names.
        let turn = if weight == Weight::Bold { self.turn } else { self.turn.max(turn::REST) };
        self.out.push(Mark { turn, ..Mark::new(layer, shape) });
    }
    /// Paper millimetres as plan metres.
    fn mm(&self, mm: f64) -> f64 {
        mm / self.look.mm_per_m
    }
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
