//! One moment of one shot: everything placed, ready to be asked.

use crate::geometry::{
    Owner, OwnerIx, Solids, WallPart, WallPiece, Walls, bearing_deg, bearing_dir, direction3, normalize_deg,
    rotate_bearing,
};
use crate::optics;
use crate::plan::{Build, Camera, CameraId, Clock, Mark, Person, PersonId, Piece, PieceShape, Plan, Pose, Shot};
use glam::{DVec2, DVec3};
use std::sync::Arc;
use tapemark_words::say;

/// Body proportions as shares of stature, after Drillis & Contini (1966), from memory: eye height 0.936,
/// chin 0.870, shoulder 0.818, shoulder breadth 0.259, knee 0.285, sitting height 0.520.
pub mod proportions {
    /// Eye height.
    pub const EYE: f64 = 0.936;
    /// Chin height.
    pub const CHIN: f64 = 0.870;
    /// Shoulder height.
    pub const SHOULDER: f64 = 0.818;
    /// Shoulder breadth.
    pub const BREADTH: f64 = 0.259;
    /// Knee height.
    pub const KNEE: f64 = 0.285;
    /// Seat to crown.
    pub const SITTING: f64 = 0.520;
    /// Head breadth over stature: 0.152 m at 1.75 m (common anthropometric mean, from memory).
    pub const HEAD_BREADTH: f64 = 0.152 / 1.75;
    /// Head length over stature: 0.195 m at 1.75 m (common anthropometric mean, from memory).
    pub const HEAD_LENGTH: f64 = 0.195 / 1.75;
    /// Height of a chair's seat, metres (common practice, no source).
    pub const SEAT_M: f64 = 0.45;
}

/// A person where they are at the moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Who.
    pub person: PersonId,
    /// Name.
    pub name: String,
    /// Which of the shot's marks, when on one.
    pub mark: Option<usize>,
    /// Where, metres.
    pub position: DVec2,
    /// Bearing of the face, degrees.
    pub facing_deg: f64,
    /// Crown above the floor, metres.
    pub crown_m: f64,
    /// Centre of the head.
    pub head: DVec3,
    /// Half-axes of the head: across, front to back, up, metres.
    pub head_half: DVec3,
    /// Half shoulder breadth and half chest depth, metres.
    pub body_half: [f64; 2],
    /// Shoulder height above the floor, metres.
    pub shoulder_m: f64,
    /// Their place among the solids.
    pub owner: OwnerIx,
}

impl Placed {
    /// The middle of the face: on the head's surface, at the height of the head's centre.
    #[must_use]
    pub fn face(&self) -> DVec3 {
        self.head + (bearing_dir(self.facing_deg) * self.head_half.y).extend(0.0)
    }
    /// Which way the face looks.
    #[must_use]
    pub fn face_normal(&self) -> DVec3 {
        bearing_dir(self.facing_deg).extend(0.0)
    }
}

/// The camera where it is at the moment.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// Lens position.
    pub eye: DVec3,
    /// Bearing, degrees.
    pub pan_deg: f64,
    /// Up positive, degrees.
    pub tilt_deg: f64,
    /// Clockwise seen from behind, degrees.
    pub roll_deg: f64,
    /// Focal length, millimetres.
    pub focal_mm: f64,
    /// Delivered width and height on the sensor, millimetres.
    pub sensor_mm: (f64, f64),
}

impl View {
    /// A camera at a moment of its move.
    #[must_use]
    pub fn at(camera: &Camera, seconds: f64) -> View {
        let mut view = View {
            eye: DVec2::from_array(camera.position_m).extend(camera.lens_height_m),
            pan_deg: camera.pan_deg,
            tilt_deg: camera.tilt_deg,
            roll_deg: camera.roll_deg,
            focal_mm: camera.lens.focal_mm,
            sensor_mm: optics::delivered_mm(&camera.format, camera.aspect),
        };
        let mut before = 0.0;
        for mark in &camera.marks {
            let u = if mark.at_s > before { ((seconds - before) / (mark.at_s - before)).clamp(0.0, 1.0) } else { 1.0 };
            if seconds <= before {
                break;
            }
            let to = DVec2::from_array(mark.position_m).extend(mark.lens_height_m);
            view.eye = view.eye.lerp(to, u);
            view.pan_deg += turn_deg(view.pan_deg, mark.pan_deg) * u;
            view.tilt_deg += (mark.tilt_deg - view.tilt_deg) * u;
            view.focal_mm += (mark.focal_mm - view.focal_mm) * u;
            before = mark.at_s;
        }
        view
    }

    /// Unit vectors right, up and forward of the camera.
    #[must_use]
    pub fn axes(&self) -> (DVec3, DVec3, DVec3) {
        let forward = direction3(self.pan_deg, self.tilt_deg);
        let flat_right = bearing_dir(self.pan_deg + 90.0).extend(0.0);
        let flat_up = flat_right.cross(forward);
        let (s, c) = self.roll_deg.to_radians().sin_cos();
        // Clockwise roll of the camera turns its right side down.
        (flat_right * c - flat_up * s, flat_up * c + flat_right * s, forward)
    }

    /// Where a point falls in the frame: x right and y up in −1..=1, and its depth along the lens axis in
    /// metres; none behind the lens.
    #[must_use]
    pub fn project(&self, p: DVec3) -> Option<(DVec2, f64)> {
        let (right, up, forward) = self.axes();
        let v = p - self.eye;
        let depth = v.dot(forward);
        (depth > 1e-6).then(|| {
            let scale = 2.0 * self.focal_mm / depth;
            (DVec2::new(v.dot(right) * scale / self.sensor_mm.0, v.dot(up) * scale / self.sensor_mm.1), depth)
        })
    }

    /// Horizontal and vertical angle of view, degrees.
    #[must_use]
    pub fn angles_deg(&self) -> (f64, f64) {
        (
            optics::angle_of_view_deg(self.sensor_mm.0, self.focal_mm),
            optics::angle_of_view_deg(self.sensor_mm.1, self.focal_mm),
        )
    }
}

/// The shorter turn from one bearing to another, −180..180 degrees.
#[must_use]
pub fn turn_deg(from: f64, to: f64) -> f64 {
    let d = normalize_deg(to - from);
    if d > 180.0 { d - 360.0 } else { d }
}

/// One moment of one shot.
#[derive(Debug, Clone)]
pub struct Scene {
    /// Walls and openings.
    pub walls: Arc<Walls>,
    /// What blocks sight and light.
    pub solids: Solids,
    /// People present.
    pub people: Vec<Placed>,
    /// The camera, when placed.
    pub view: Option<View>,
    /// Seconds from the start of the shot.
    pub seconds: f64,
    /// Which camera that is.
    pub camera: Option<CameraId>,
    /// Time of day, for what comes in at the windows.
    pub clock: Option<Clock>,
}

/// What does not move in a plan, placed once for many moments.
#[derive(Debug, Clone)]
pub struct Stage {
    walls: Arc<Walls>,
    solids: Solids,
    first_person: u32,
}

/// What blocks sight and light in a place with nobody there.
pub(crate) struct Standing(pub Solids);

impl Standing {
    /// Placed once for a place.
    pub fn of(plan: &Plan) -> Arc<Standing> {
        plan.location.derived(|_| Standing(place_solids(plan, &Walls::shared(plan))))
    }
}

impl Stage {
    /// Places walls, doors and pieces.
    #[must_use]
    pub fn of(plan: &Plan) -> Stage {
        let mut solids = Standing::of(plan).0.clone();
        // Everyone has a place among the owners, present or not, so that it is the same at every moment.
        let first_person = solids.owners.len() as u32;
        for person in &plan.cast {
            solids.owner(Owner::Person(person.id.clone()));
        }
        Stage { first_person, walls: Walls::shared(plan), solids }
    }

    /// What stands still.
    #[must_use]
    pub fn solids(&self) -> &Solids {
        &self.solids
    }

    /// Walls and openings.
    #[must_use]
    pub fn walls(&self) -> &Arc<Walls> {
        &self.walls
    }

    /// The people present at a moment.
    #[must_use]
    pub fn people(&self, plan: &Plan, shot: &Shot, seconds: f64) -> Vec<Placed> {
        plan.cast
            .iter()
            .zip(self.first_person..)
            .filter_map(|(person, ix)| {
                let placed = place(person, shot, seconds)?;
                Some(Placed { owner: OwnerIx(ix), ..placed })
            })
            .collect()
    }

    /// Adds the people and the camera of a shot at a moment.
    #[must_use]
    pub fn scene(&self, plan: &Plan, shot: &Shot, seconds: f64) -> Scene {
        let mut solids = self.solids.clone();
        let people = self.people(plan, shot, seconds);
        people.iter().for_each(|p| add_body(&mut solids, p));
        let view = plan.shot_camera(shot).map(|c| View::at(c, seconds));
        let clock = shot.clock.or(plan.daylight.as_ref().map(|d| d.clock));
        let camera = shot.camera.clone();
        Scene { walls: self.walls.clone(), solids, people, view, seconds, camera, clock }
    }
}

impl Scene {
    /// Places everything of a shot at a moment.
    #[must_use]
    pub fn of(plan: &Plan, shot: &Shot, seconds: f64) -> Scene {
        Stage::of(plan).scene(plan, shot, seconds)
    }

    /// The person, when present.
    #[must_use]
    pub fn placed(&self, id: &PersonId) -> Option<&Placed> {
        self.people.iter().find(|p| &p.person == id)
    }

    /// What an owner is called in words.
    #[must_use]
    pub fn name_of(&self, plan: &Plan, ix: OwnerIx) -> String {
        owner_name(plan, self.solids.owner_of(ix))
    }
}

/// What an owner is called in words.
#[must_use]
pub fn owner_name(plan: &Plan, owner: Option<&Owner>) -> String {
    match owner {
        Some(Owner::Wall) | None => say!("a-wall").into(),
        Some(Owner::Door(id)) => {
            let name = plan.location.openings.iter().find(|o| &o.id == id).map(|o| o.name.as_str()).unwrap_or_default();
            if name.is_empty() { say!("a-door").into() } else { name.to_string() }
        }
        Some(Owner::Piece(id)) => {
            plan.location.pieces.iter().find(|p| &p.id == id).map(piece_label).unwrap_or_default()
        }
        Some(Owner::Person(id)) => plan.person(id).map(|p| p.name.clone()).unwrap_or_default(),
    }
}

/// A piece's name, or its kind.
#[must_use]
pub fn piece_label(p: &Piece) -> String {
    if p.name.is_empty() { p.id.to_string() } else { p.name.clone() }
}

/// What an upright sheet takes of the floor, metres.
const SHEET_M: f64 = 0.02;

/// Corners of a piece's footprint on the plan; a round one as 32 corners.
#[must_use]
pub fn footprint(piece: &Piece) -> Vec<DVec2> {
    let at = DVec2::from_array(piece.position_m);
    let local: Vec<DVec2> = match &piece.shape {
        PieceShape::Box { width_m, depth_m } => {
            let (w, d) = (width_m * 0.5, depth_m * 0.5);
            vec![DVec2::new(-w, -d), DVec2::new(w, -d), DVec2::new(w, d), DVec2::new(-w, d)]
        }
        PieceShape::Round { diameter_m } => (0..32)
            .map(|i| DVec2::from_angle(f64::from(i) * std::f64::consts::TAU / 32.0) * (diameter_m * 0.5))
            .collect(),
        PieceShape::Outline { points_m } => points_m.iter().map(|p| DVec2::from_array(*p)).collect(),
        PieceShape::Sheet { width_m, lean_m } => {
            let (w, d) = (width_m * 0.5, lean_m.abs().max(SHEET_M) * 0.5);
            vec![DVec2::new(-w, -d), DVec2::new(w, -d), DVec2::new(w, d), DVec2::new(-w, d)]
        }
    };
    local.into_iter().map(|p| at + rotate_bearing(p, piece.rotation_deg)).collect()
}

/// Whether the other face of the same wall lies in the same place and reaches as high: one sheet does for both.
fn is_doubled(plan: &Plan, w: &WallPiece) -> bool {
    let Some(behind) = w.behind.filter(|b| b.touches() && !matches!(w.part, WallPart::Jamb(_))) else { return false };
    let Some(other) = plan.location.rooms.get(behind.room) else { return false };
    let mine = plan.location.rooms.get(w.room).map_or(0.0, |r| r.ceiling_m);
    // Of two alike the one that runs to the right stays.
    let runs_back = (w.a.x, w.a.y) > (w.b.x, w.b.y);
    other.ceiling_m > mine || other.ceiling_m == mine && behind.room != w.room && runs_back
}

fn place_solids(plan: &Plan, walls: &Walls) -> Solids {
    let mut solids = Solids::default();
    let wall = solids.owner(Owner::Wall);
    for w in walls.pieces.iter().filter(|w| !is_doubled(plan, w)) {
        solids.add_panel(w.a, w.b, [w.z0, w.z1], wall);
    }
    // A ceiling stands in the way of what is higher than it: a taller wing, a drape that goes on above.
    let tops = plan.location.pieces.iter().map(|p| p.top_m);
    let highest = plan.location.rooms.iter().map(|r| r.ceiling_m).chain(tops).fold(0.0, f64::max);
    for r in plan.location.rooms.iter().filter(|r| r.ceiling_m < highest - 0.01) {
        let ring: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
        solids.add_level(&ring, r.ceiling_m, wall);
    }
    for l in &walls.lintels {
        // A threshold has the ground under it: nothing passes there.
        if l.z > 0.0 {
            let [a, b, c, d] = l.ring.map(|p| p.extend(l.z));
            solids.add_sheet((a + b + c + d) * 0.25, (c + d - a - b) * 0.25, (b + c - a - d) * 0.25, wall);
        }
    }
    for place in &walls.openings {
        if let Some(leaf) = place.leaf {
            let owner = solids.owner(Owner::Door(plan.location.openings[place.index].id.clone()));
            solids.add_panel(leaf.hinge, leaf.tip, [0.0, leaf.top_m], owner);
        }
    }
    for piece in &plan.location.pieces {
        let owner = solids.owner(Owner::Piece(piece.id.clone()));
        let at = DVec2::from_array(piece.position_m);
        let axis = rotate_bearing(DVec2::X, piece.rotation_deg);
        let z = [piece.base_m, piece.top_m];
        match &piece.shape {
            PieceShape::Box { width_m, depth_m } => solids.add_box(at, axis, [*width_m, *depth_m], z, owner),
            PieceShape::Round { diameter_m } => solids.add_cylinder(at, axis, [diameter_m * 0.5; 2], z, owner),
            PieceShape::Outline { .. } => solids.add_prism(&footprint(piece), z, owner),
            PieceShape::Sheet { .. } => {
                if let Some([middle, across, up]) = piece.sheet() {
                    solids.add_sheet(middle, across, up, owner);
                }
            }
        }
    }
    solids.settle();
    solids
}

pub(crate) fn add_body(solids: &mut Solids, p: &Placed) {
    let across = bearing_dir(p.facing_deg + 90.0);
    solids.add_cylinder(p.position, across, p.body_half, [0.0, p.shoulder_m], p.owner);
    let chin = p.head.z - p.head_half.z;
    if chin > p.shoulder_m {
        let neck = p.head_half.x * 0.8;
        solids.add_cylinder(p.position, across, [neck, neck], [p.shoulder_m, chin + p.head_half.z * 0.5], p.owner);
    }
    solids.add_ellipsoid(p.head, across, p.head_half, p.owner);
}

/// A person's body as triangles, metres: for scenes handed to other programs.
#[must_use]
pub fn body_triangles(p: &Placed) -> Vec<[DVec3; 3]> {
    let mut solids = Solids::default();
    add_body(&mut solids, p);
    solids.triangles().into_iter().map(|t| t.map(|v| v.as_dvec3())).collect()
}

/// How long a walker takes to turn, seconds: half round at about 90° a quarter second (common practice, no
/// source).
const TURN_S: f64 = 0.5;

/// Where a person is at a moment; none before the first mark and after leaving the last.
#[must_use]
pub fn place(person: &Person, shot: &Shot, seconds: f64) -> Option<Placed> {
    let mut marks: Vec<(usize, &Mark)> = shot.marks.iter().enumerate().filter(|(_, m)| m.person == person.id).collect();
    marks.sort_by(|a, b| a.1.from_s.total_cmp(&b.1.from_s));
    let here = marks.iter().rposition(|(_, m)| m.from_s <= seconds + 1e-9)?;
    let (index, mark) = marks[here];
    let at = DVec2::from_array(mark.position_m);
    let leaves =
        mark.to_s.unwrap_or(if let Some((_, next)) = marks.get(here + 1) { next.from_s } else { f64::INFINITY });
    let next = marks.get(here + 1);
    let (position, facing_deg, on) = match next {
        _ if seconds <= leaves => (at, mark.facing_deg, Some(index)),
        None => return None,
        Some((_, next)) => {
            let to = DVec2::from_array(next.position_m);
            let u = ((seconds - leaves) / (next.from_s - leaves).max(1e-9)).clamp(0.0, 1.0);
            // Walkers turn where they go, look there, and turn to their mark on arriving.
            let facing = if to.distance(at) > 0.3 {
                let way = bearing_deg(to - at);
                let whole = (next.from_s - leaves).max(1e-9);
                let turning = TURN_S.min(whole / 3.0);
                let (gone, left) = ((seconds - leaves) / turning, (next.from_s - seconds) / turning);
                if left < 1.0 {
                    next.facing_deg + turn_deg(next.facing_deg, way) * left.max(0.0)
                } else {
                    mark.facing_deg + turn_deg(mark.facing_deg, way) * gone.min(1.0)
                }
            } else {
                mark.facing_deg + turn_deg(mark.facing_deg, next.facing_deg) * u
            };
            (at.lerp(to, u), facing, None)
        }
    };
    let pose = mark.pose;
    Some(stand(person, pose, position, facing_deg, on))
}

/// A person's body at a place.
#[must_use]
pub fn stand(person: &Person, pose: Pose, position: DVec2, facing_deg: f64, mark: Option<usize>) -> Placed {
    use proportions as share;
    let h = person.height_m;
    let crown_m = match pose {
        Pose::Standing => h,
        Pose::Seated => share::SEAT_M + share::SITTING * h,
        Pose::Kneeling => h * (1.0 - share::KNEE),
    };
    let wide = match person.build {
        Build::Slight => 0.9,
        Build::Medium => 1.0,
        Build::Broad => 1.25,
    };
    let half_up = h * (1.0 - share::CHIN) * 0.5;
    Placed {
        person: person.id.clone(),
        name: person.name.clone(),
        mark,
        position,
        facing_deg,
        crown_m,
        head: position.extend(crown_m - half_up),
        head_half: DVec3::new(h * share::HEAD_BREADTH * 0.5, h * share::HEAD_LENGTH * 0.5, half_up),
        body_half: [h * share::BREADTH * 0.5 * wide, h * 0.07 * wide],
        shoulder_m: crown_m - h * (1.0 - share::SHOULDER),
        owner: OwnerIx::NONE,
    }
}
