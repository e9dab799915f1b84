//! A page: the plan at a true scale with its title block and tables.

use crate::font::wrapped;
use crate::heat::{clear_mark, heat_mark};
use crate::marks::{Align, Flip, Ink, Layer, Line, Mark, Shape, Weight};
use crate::pages::Picture;
use crate::palette::Palette;
use crate::plan::{PlanLook, plan_marks};
use crate::tables::Column;
use glam::DVec2;
use std::collections::BTreeSet;
use std::sync::Arc;
use tapemark_core::blocking::{Moments, clear_map};
use tapemark_core::day::{WorkedShot, worked};
use tapemark_core::facts::ShotFacts;
use tapemark_core::geometry::bearing_dir;
use tapemark_core::light::{MapFacing, MapShows, MapSpec, light_map};
use tapemark_core::notices::caution;
use tapemark_core::plan::{Plan, Shot};
use tapemark_core::taping::room_index_at;
use tapemark_core::units::LengthUnit;
use tapemark_words::say;

/// A page of drawn marks, millimetres, y down.
#[derive(Debug, Clone)]
pub struct Page {
    /// Title of the document.
    pub title: String,
    /// Width, millimetres.
    pub width_mm: f64,
    /// Height, millimetres.
    pub height_mm: f64,
    /// Paper colour.
    pub paper: Ink,
    /// Marks in page millimetres.
    pub marks: Vec<Mark>,
    /// Left, top, right and bottom of the plan's window.
    pub clip: Option<[f64; 4]>,
    /// Marks seen only in that window.
    pub clipped: Vec<Mark>,
    /// Plan millimetres a paper millimetre stands for.
    pub scale_denominator: f64,
}

/// Paper sizes, landscape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// ISO 216 A4.
    #[default]
    A4,
    /// ISO 216 A3.
    A3,
    /// US Letter (ANSI A).
    Letter,
}

impl Paper {
    /// Width and height, millimetres.
    #[must_use]
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (297.0, 210.0),
            Paper::A3 => (420.0, 297.0),
            Paper::Letter => (279.4, 215.9),
        }
    }
}

/// How large the plan is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// The largest usual scale at which everything fits.
    #[default]
    Fit,
    /// 1 : n.
    OneTo(u32),
}

/// What the sheet shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SheetSpec {
    /// Paper.
    pub paper: Paper,
    /// Scale.
    pub scale: Scale,
    /// Light at this height, metres; absent: not drawn.
    pub light_height_m: Option<f64>,
    /// What of the light.
    pub light_shows: MapShows,
    /// Where the camera could stand with every face clear, over the floor.
    pub clear_view: bool,
    /// What black cloth would cover, drawn along the walls.
    pub cover: bool,
    /// The picture that lies under the plan.
    pub underlay: Option<Arc<Picture>>,
    /// The moment of the shot, seconds.
    pub at_s: f64,
}

/// Scales that rulers have.
const USUAL: [u32; 10] = [10, 20, 25, 50, 75, 100, 125, 200, 250, 500];
pub(crate) const MARGIN: f64 = 8.0;
pub(crate) const COLUMN: f64 = 84.0;
pub(crate) const FOOT: f64 = 15.0;

/// Lays a shot's plan and tables on a page.
#[must_use]
pub fn compose(plan: &Plan, shot: &Shot, spec: &SheetSpec) -> Page {
    compose_worked(plan, &worked(plan, shot, spec.at_s), spec)
}

/// As [`compose`], for a shot already worked out.
#[must_use]
pub fn compose_worked(plan: &Plan, w: &WorkedShot<'_>, spec: &SheetSpec) -> Page {
    let (width_mm, height_mm) = spec.paper.size_mm();
    let window = [MARGIN, MARGIN, width_mm - MARGIN * 2.0 - COLUMN, height_mm - MARGIN - FOOT];
    let fit = Fit::of(extent(plan, w.shot, Crop::Whole), spec.scale, window);
    let clipped = drawn_plan(plan, w, spec, &fit);
    let mut column = Column::new(window[2] + MARGIN, MARGIN, COLUMN, height_mm - MARGIN);
    column.of_shot(plan, w, spec);
    column.picture(plan, w);
    let mut marks = vec![window_frame(window)];
    marks.append(&mut column.marks);
    foot(&mut marks, plan, fit.denominator, window, height_mm);
    Page {
        title: say!("title-shot", title = plan.title, shot = w.shot.name),
        width_mm,
        height_mm,
        paper: Palette::PAPER.paper,
        marks,
        clip: Some(window),
        clipped,
        scale_denominator: fit.denominator,
    }
}

pub(crate) fn wanted_lx(facts: &ShotFacts) -> f64 {
    facts.camera.as_ref().map_or(300.0, |c| c.wanted_lx)
}

/// Cells of the clear-view map on paper, metres.
const CLEAR_CELL_M: f64 = 0.05;

/// A shot's plan in its window on the page.
pub(crate) fn drawn_plan(plan: &Plan, w: &WorkedShot<'_>, spec: &SheetSpec, fit: &Fit) -> Vec<Mark> {
    let look = PlanLook { cover: spec.cover, underlay: spec.underlay.clone(), ..PlanLook::paper(fit.mm_per_m) };
    let mut drawn = plan_marks(plan, w.shot, &w.scene, &w.facts, &look);
    if let Some(height_m) = spec.light_height_m {
        let shown = MapSpec { shows: spec.light_shows, ..MapSpec::new(height_m, 0.025, MapFacing::Lens) };
        let map = light_map(plan, &w.scene, &w.light, &shown);
        drawn.push(heat_mark(&map, wanted_lx(&w.facts), 0.55));
    }
    if spec.clear_view
        && let Some(map) = clear_map(plan, w.shot, &Moments::of(plan, w.shot), CLEAR_CELL_M)
    {
        drawn.push(clear_mark(&map, 0.55));
    }
    drawn.sort_by_key(|m| m.layer);
    drawn.iter().map(|m| m.mapped(|p| fit.place(p), fit.mm_per_m, Flip::Rows)).collect()
}

/// The border of a plan's window.
pub(crate) fn window_frame(window: [f64; 4]) -> Mark {
    let corners = [(window[0], window[1]), (window[2], window[1]), (window[2], window[3]), (window[0], window[3])];
    let points = corners.map(|(x, y)| DVec2::new(x, y)).to_vec();
    Mark::new(Layer::Page, Shape::Polygon { points, fill: None, line: Some(Line::new(Palette::PAPER.quiet, 0.2)) })
}

/// How the plan lies on paper.
pub(crate) struct Fit {
    /// Paper millimetres a metre takes.
    pub mm_per_m: f64,
    /// Plan millimetres a paper millimetre stands for.
    pub denominator: f64,
    middle: DVec2,
    centre: DVec2,
}

impl Fit {
    /// An extent of the plan as large as a window allows, at no ruler's scale: for screens.
    pub(crate) fn filling((low, high): (DVec2, DVec2), window: [f64; 4]) -> Fit {
        let size = (high - low).max(DVec2::splat(0.5)) * 1000.0;
        let needed = (size.x / (window[2] - window[0] - 5.0)).max(size.y / (window[3] - window[1] - 5.0));
        Fit::of((low, high), Scale::OneTo(needed.ceil() as u32), window)
    }
    /// An extent of the plan in a window of the page.
    pub(crate) fn of((low, high): (DVec2, DVec2), scale: Scale, window: [f64; 4]) -> Fit {
        let size = (high - low).max(DVec2::splat(0.5));
        let room = DVec2::new(window[2] - window[0] - 14.0, window[3] - window[1] - 14.0);
        let denominator = match scale {
            Scale::OneTo(n) => f64::from(n.max(1)),
            Scale::Fit => {
                let needed = (size.x * 1000.0 / room.x).max(size.y * 1000.0 / room.y);
                USUAL.iter().map(|n| f64::from(*n)).find(|n| *n >= needed).unwrap_or((needed / 100.0).ceil() * 100.0)
            }
        };
        Fit {
            mm_per_m: 1000.0 / denominator,
            denominator,
            middle: (low + high) * 0.5,
            centre: DVec2::new((window[0] + window[2]) * 0.5, (window[1] + window[3]) * 0.5),
        }
    }
    /// A point of the plan on the page.
    pub(crate) fn place(&self, p: DVec2) -> DVec2 {
        let d = (p - self.middle) * self.mm_per_m;
        DVec2::new(self.centre.x + d.x, self.centre.y - d.y)
    }
}

/// How much of the plan is drawn.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Crop {
    /// All of it.
    Whole,
    /// The rooms that the shot is played and lit in.
    Shot,
}

/// The corners of what must be drawn of a shot: the rooms it is played and lit in, metres.
#[must_use]
pub fn shot_extent(plan: &Plan, shot: &Shot) -> (DVec2, DVec2) {
    extent(plan, shot, Crop::Shot)
}

/// What must be on the plan: rooms, and whatever stands outside them.
pub(crate) fn extent(plan: &Plan, shot: &Shot, crop: Crop) -> (DVec2, DVec2) {
    let mut points: Vec<DVec2> = shot_points(plan, shot);
    let own = own_rooms(plan, shot);
    let whole = crop == Crop::Whole || own.is_empty();
    let rooms = plan.location.rooms.iter().enumerate().filter(|(i, _)| whole || own.contains(i));
    points.extend(rooms.flat_map(|(_, r)| &r.outline_m).map(|p| DVec2::from_array(*p)));
    if whole {
        points.extend(plan.location.pieces.iter().flat_map(tapemark_core::scene::footprint));
    }
    if points.is_empty() {
        return (DVec2::splat(-2.0), DVec2::splat(2.0));
    }
    (
        points.iter().copied().fold(DVec2::INFINITY, DVec2::min),
        points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max),
    )
}

/// Places in the plan's list of the rooms that a shot is played and lit in.
pub(crate) fn own_rooms(plan: &Plan, shot: &Shot) -> BTreeSet<usize> {
    shot_points(plan, shot).iter().filter_map(|p| room_index_at(plan, *p)).collect()
}

/// Where the shot's people, camera and lamps stand.
fn shot_points(plan: &Plan, shot: &Shot) -> Vec<DVec2> {
    let mut points: Vec<DVec2> = Vec::new();
    points.extend(shot.marks.iter().map(|m| DVec2::from_array(m.position_m)));
    points.extend(plan.shot_camera(shot).map(|c| DVec2::from_array(c.position_m)));
    points.extend(plan.shot_fixtures(shot).iter().map(|f| DVec2::from_array(f.position_m)));
    points
}

pub(crate) fn foot(marks: &mut Vec<Mark>, plan: &Plan, denominator: f64, window: [f64; 4], height_mm: f64) {
    let p = Palette::PAPER;
    let text = |at: DVec2, text: String, size_mm: f64, weight: Weight, align: Align, ink: Ink| {
        Mark::new(Layer::Page, Shape::Text { at, text, size_mm, ink, weight, align, turn_deg: 0.0, halo: None })
    };
    // Scale bar: a round number of metres or feet about 40 mm long.
    let unit_mm = match plan.length_unit {
        LengthUnit::Metres => 1000.0,
        LengthUnit::FeetInches => 304.8,
    } / denominator;
    let count =
        [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0].into_iter().filter(|n| n * unit_mm <= 60.0).fold(1.0_f64, f64::max);
    let (x, y) = (window[0], window[3] + 4.0);
    let segments = 4;
    for i in 0..segments {
        let (a, b) = (
            x + count * unit_mm * f64::from(i) / f64::from(segments),
            x + count * unit_mm * f64::from(i + 1) / f64::from(segments),
        );
        let corners = vec![DVec2::new(a, y), DVec2::new(b, y), DVec2::new(b, y + 1.6), DVec2::new(a, y + 1.6)];
        let fill = if i % 2 == 0 { p.ink } else { p.paper };
        marks.push(Mark::new(
            Layer::Page,
            Shape::Polygon { points: corners, fill: Some(fill), line: Some(Line::new(p.ink, 0.15)) },
        ));
    }
    let unit = match plan.length_unit {
        LengthUnit::Metres => "m",
        LengthUnit::FeetInches => "ft",
    };
    let end = x + count * unit_mm;
    marks.push(text(
        DVec2::new(end + 2.0, y + 0.8),
        say!("count-unit-scale-1-denominator", count, unit, denominator),
        2.6,
        Weight::Bold,
        Align::Left,
        p.ink,
    ));
    // North.
    let at = DVec2::new(window[2] - 6.0, y + 3.2);
    let n = bearing_dir(plan.location.north_deg);
    let (dir, side) = (DVec2::new(n.x, -n.y), DVec2::new(n.y, n.x));
    marks.push(Mark::new(
        Layer::Page,
        Shape::Polygon {
            points: vec![at + dir * 4.0, at - dir * 2.5 + side * 2.0, at - dir * 1.2, at - dir * 2.5 - side * 2.0],
            fill: Some(p.ink),
            line: None,
        },
    ));
    marks.push(text(at + DVec2::new(-7.0, 0.0), "N".into(), 3.0, Weight::Bold, Align::Middle, p.ink));
    for (i, line) in
        wrapped(caution(), 2.1, Weight::Regular, window[2] - window[0] - 20.0).into_iter().take(2).enumerate()
    {
        marks.push(text(
            DVec2::new(window[0], height_mm - MARGIN - 2.6 + 2.9 * i as f64),
            line,
            2.1,
            Weight::Regular,
            Align::Left,
            p.wrong,
        ));
    }
}
