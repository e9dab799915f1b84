//! A shot's plan as DXF, metres, a layer for each kind of thing.

use crate::ExchangeError;
use chrono::{Local, TimeZone, Utc};
use dxf::entities::{Circle, Entity, EntityType, LwPolyline, Text};
use dxf::enums::{AcadVersion, Units};
use dxf::tables::Layer;
use dxf::{Color, LwPolylineVertex, Point};
use glam::DVec2;
use tapemark_core::geometry::{Walls, bearing_dir};
use tapemark_core::plan::{Plan, Shot};
use tapemark_core::power::{Floorway, cable_runs_on, tripods};
use tapemark_core::scene::{footprint, piece_label};
use tapemark_words::say;

/// Layers with their colours in the format's own palette of numbers.
const LAYERS: [(&str, u8); 9] = [
    ("ROOMS", 7),
    ("WALLS", 8),
    ("OPENINGS", 5),
    ("PIECES", 30),
    ("OUTLETS", 6),
    ("LAMPS", 40),
    ("CABLES", 9),
    ("CAMERA", 4),
    ("MARKS", 3),
];

struct Sheet {
    drawing: dxf::Drawing,
}

impl Sheet {
    fn put(&mut self, layer: &str, what: EntityType) {
        let mut e = Entity::new(what);
        e.common.layer = layer.into();
        self.drawing.add_entity(e);
    }
    fn polyline(&mut self, layer: &str, points: &[DVec2], closed: bool) {
        let mut p = LwPolyline {
            vertices: points.iter().map(|p| LwPolylineVertex { x: p.x, y: p.y, ..Default::default() }).collect(),
            ..Default::default()
        };
        p.set_is_closed(closed);
        self.put(layer, EntityType::LwPolyline(p));
    }
    fn text(&mut self, layer: &str, at: DVec2, value: &str) {
        // Control characters would end the line.
        let value: String = value.chars().filter(|c| !c.is_control()).collect();
        let text = Text { location: Point::new(at.x, at.y, 0.0), text_height: 0.12, value, ..Default::default() };
        self.put(layer, EntityType::Text(text));
    }
    fn circle(&mut self, layer: &str, at: DVec2, radius: f64) {
        self.put(layer, EntityType::Circle(Circle::new(Point::new(at.x, at.y, 0.0), radius)));
    }
}

/// Takes the time and the random numbers out of a header, so that one plan is always the same bytes: the format's
/// first day, which counts alike in every time zone, and ids of zeros.
fn undated(header: &mut dxf::Header) {
    let local = Local.with_ymd_and_hms(1900, 1, 1, 0, 0, 0).earliest().unwrap_or_default();
    let utc = Utc.with_ymd_and_hms(1900, 1, 1, 0, 0, 0).earliest().unwrap_or_default();
    (header.creation_date, header.update_date) = (local, local);
    (header.creation_date_universal, header.update_date_universal) = (utc, utc);
    (header.fingerprint_guid, header.version_guid) = Default::default();
}

/// Writes a shot's plan: rooms, walls, openings, pieces, outlets, lamps, cables, camera and marks.
///
/// # Errors
/// When the library cannot write.
pub fn to_dxf(plan: &Plan, shot: &Shot) -> Result<Vec<u8>, ExchangeError> {
    let mut s = Sheet { drawing: dxf::Drawing::new() };
    undated(&mut s.drawing.header);
    s.drawing.header.version = AcadVersion::R2010;
    s.drawing.header.default_drawing_units = Units::Meters;
    for (name, colour) in LAYERS {
        s.drawing.add_layer(Layer { name: name.into(), color: Color::from_index(colour), ..Default::default() });
    }
    for r in &plan.location.rooms {
        let points: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
        s.polyline("ROOMS", &points, true);
        let middle = points.iter().sum::<DVec2>() / points.len().max(1) as f64;
        s.text("ROOMS", middle, &r.name);
    }
    let walls = Walls::of(plan);
    for w in walls.pieces.iter().filter(|w| w.z0 < 0.01) {
        s.polyline("WALLS", &[w.a, w.b], false);
    }
    for place in &walls.openings {
        s.polyline("OPENINGS", &[place.a, place.b], false);
        if let Some(leaf) = place.leaf {
            s.polyline("OPENINGS", &[leaf.hinge, leaf.tip], false);
        }
    }
    for p in &plan.location.pieces {
        s.polyline("PIECES", &footprint(p), true);
        s.text("PIECES", DVec2::from_array(p.position_m), &piece_label(p));
    }
    for o in &plan.location.outlets {
        let at = DVec2::from_array(o.position_m);
        s.circle("OUTLETS", at, 0.05);
        s.text("OUTLETS", at + DVec2::splat(0.08), o.id.as_str());
    }
    for f in plan.shot_fixtures(shot) {
        let at = DVec2::from_array(f.position_m);
        s.circle("LAMPS", at, 0.12);
        s.polyline("LAMPS", &[at, at + bearing_dir(f.pan_deg) * 0.5], false);
        s.text("LAMPS", at + DVec2::splat(0.15), &format!("{} {:.2} m up", f.label(), f.height_m));
    }
    for run in plan
        .shot_rig(shot)
        .map(|r| cable_runs_on(plan, &r, &Floorway::of(plan), &tripods(plan, [shot])))
        .unwrap_or_default()
    {
        let points: Vec<DVec2> = run.path_m.iter().map(|p| DVec2::from_array(*p)).collect();
        s.polyline("CABLES", &points, false);
    }
    if let Some(c) = plan.shot_camera(shot) {
        let at = DVec2::from_array(c.position_m);
        let reach = |a: f64| at + bearing_dir(c.pan_deg + a) * 1.5;
        s.polyline("CAMERA", &[reach(-15.0), at, reach(15.0)], false);
        s.text("CAMERA", at + DVec2::splat(0.1), &format!("{} {} mm", c.name, c.lens.focal_mm));
    }
    for m in &shot.marks {
        let at = DVec2::from_array(m.position_m);
        s.circle("MARKS", at, 0.25);
        s.polyline("MARKS", &[at, at + bearing_dir(m.facing_deg) * 0.35], false);
        s.text("MARKS", at + DVec2::splat(0.28), plan.person(&m.person).map_or("", |p| p.name.as_str()));
    }
    let mut out = Vec::new();
    s.drawing
        .save(&mut out)
        .map_err(|e| ExchangeError::new(say!("the-dxf-file-could-not-be-written", e), say!("report-this")))?;
    Ok(out)
}
