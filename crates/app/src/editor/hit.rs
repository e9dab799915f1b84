//! What lies under the pointer.

use super::state::Editor;
use egui::Pos2;
use glam::DVec2;
use tapemark_core::edit::ItemRef;
use tapemark_core::geometry::{closest_on_segment, opening_ends, point_in_polygon, point_segment_distance, room_edges};
use tapemark_core::plan::RoomId;
use tapemark_core::scene::footprint;

/// What lies under the pointer.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Hit {
    /// The turning handle of the selected item.
    Handle(ItemRef),
    /// A corner of a selected room.
    Corner(RoomId, usize),
    /// The middle of a selected room's wall.
    Wall(RoomId, usize),
    /// An item.
    Item(ItemRef),
}

/// A place on a wall.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct OnWall {
    pub room: RoomId,
    pub edge: usize,
    pub along_m: f64,
    pub length_m: f64,
}

const REACH_PX: f64 = 9.0;
/// A finger is wider than an arrow.
const FINGER_PX: f64 = 22.0;

impl Editor {
    /// What lies under a point of the window, nearest to hand first.
    pub(crate) fn hit(&self, at: Pos2) -> Option<Hit> {
        let p = self.view.to_plan(at);
        let reach = if self.by_finger { FINGER_PX } else { REACH_PX } / self.view.px_per_m;
        if self.selected.len() == 1
            && let Some(item) = self.selected.first()
        {
            if let Some((_, handle)) = self.handle(item)
                && handle.distance(p) < reach * 1.3
            {
                return Some(Hit::Handle(item.clone()));
            }
            if let ItemRef::Room(id) = item
                && let Some(room) = self.plan.room(id)
                && let Some(i) = room.outline_m.iter().position(|c| DVec2::from_array(*c).distance(p) < reach)
            {
                return Some(Hit::Corner(id.clone(), i));
            }
            if let ItemRef::Room(id) = item
                && let Some(edge) = self.wall_handle_at(id, p, reach)
            {
                return Some(Hit::Wall(id.clone(), edge));
            }
        }
        self.item_at(p, reach).map(Hit::Item)
    }

    fn item_at(&self, p: DVec2, reach: f64) -> Option<ItemRef> {
        let shot = self.current_shot();
        let near = |q: [f64; 2], radius: f64| DVec2::from_array(q).distance(p) < radius.max(reach);
        if let Some(c) = self.plan.shot_camera(shot)
            && near(c.position_m, 0.2)
        {
            return Some(ItemRef::Camera(c.id.clone()));
        }
        if let Some(m) = shot.marks.iter().find(|m| near(m.position_m, 0.25)) {
            return Some(ItemRef::Mark(m.id.clone()));
        }
        if let Some(q) = self.scene.people.iter().find(|q| q.position.distance(p) < 0.25_f64.max(reach))
            && let Some(m) = shot.marks.iter().rfind(|m| m.person == q.person && m.from_s <= self.seconds)
        {
            return Some(ItemRef::Mark(m.id.clone()));
        }
        let lamps = self.plan.shot_fixtures(shot);
        if let Some(f) = lamps.iter().find(|f| near(f.position_m, f.head.area_m().map_or(0.2, |a| a.0 * 0.4))) {
            return Some(ItemRef::Fixture(f.id.clone()));
        }
        let l = &self.plan.location;
        if let Some(o) = l.outlets.iter().find(|o| near(o.position_m, 0.0)) {
            return Some(ItemRef::Outlet(o.id.clone()));
        }
        if let Some(o) = l.openings.iter().find(|o| {
            opening_ends(&self.plan, o)
                .is_some_and(|(a, b, _)| point_segment_distance(p, a, b) < reach.max(l.wall_thickness_m))
        }) {
            return Some(ItemRef::Opening(o.id.clone()));
        }
        // The smallest piece under the pointer: what stands on a table before the table.
        let area = |points: &[DVec2]| tapemark_core::geometry::signed_area(points).abs();
        if let Some((piece, _)) = l
            .pieces
            .iter()
            .map(|x| (x, footprint(x)))
            .filter(|(_, f)| point_in_polygon(p, f))
            .min_by(|a, b| area(&a.1).total_cmp(&area(&b.1)))
        {
            return Some(ItemRef::Piece(piece.id.clone()));
        }
        l.rooms
            .iter()
            .find(|r| {
                let points: Vec<DVec2> = r.outline_m.iter().map(|c| DVec2::from_array(*c)).collect();
                point_in_polygon(p, &points) || room_edges(r).any(|(a, b)| point_segment_distance(p, a, b) < reach)
            })
            .map(|r| ItemRef::Room(r.id.clone()))
    }

    /// The wall nearest to a point, within half a metre.
    pub(crate) fn wall_near(&self, p: DVec2) -> Option<OnWall> {
        let mut best: Option<(f64, OnWall)> = None;
        for r in &self.plan.location.rooms {
            for (edge, (a, b)) in room_edges(r).enumerate() {
                let at = closest_on_segment(p, a, b);
                let d = at.distance(p);
                if d < 0.5 && best.as_ref().is_none_or(|(least, _)| d < *least - 1e-9) {
                    best = Some((
                        d,
                        OnWall { room: r.id.clone(), edge, along_m: a.distance(at), length_m: a.distance(b) },
                    ));
                }
            }
        }
        best.map(|b| b.1)
    }
}
