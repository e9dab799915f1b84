//! A scene as forms: rooms, openings, pieces, people at their true height, lamps on their stands.

use super::form::{Around, Coat, Form, Prop, SKIN};
use crate::colour::linear_srgb;
use crate::geometry::{Behind, Owner, OwnerIx, WallPart, bearing_dir, direction3, rotate_bearing};
use crate::light::{DOOR, Emitter, InRoom};
use crate::plan::{Fixture, Head, Mount, OpeningKind, Piece, PieceShape, Plan, Rig};
use crate::scene::{Placed, Scene, footprint, proportions};
use glam::{DVec2, DVec3, Vec2, Vec3};

/// Everything a picture may show, with the points at which light all round is asked for.
pub(super) struct Props {
    pub list: Vec<Prop>,
    /// Where each [`Around::Middle`] is.
    pub middles: Vec<Vec3>,
    /// The room that what is added now belongs to.
    room: Option<InRoom>,
}

/// Clothes by a person's place in the cast: middle tones near the hue each is drawn in on the plan.
const CLOTHES: [[f32; 3]; 6] = [
    [0.30, 0.13, 0.07],
    [0.07, 0.14, 0.26],
    [0.08, 0.22, 0.16],
    [0.27, 0.16, 0.23],
    [0.15, 0.24, 0.29],
    [0.29, 0.21, 0.08],
];
const TROUSERS: [f32; 3] = [0.07, 0.07, 0.09];
const EYES: [f32; 3] = [0.02, 0.02, 0.02];
const LIPS: [f32; 3] = [0.24, 0.11, 0.10];
const FRAME: [f32; 3] = [0.62, 0.60, 0.56];
const STEEL: [f32; 3] = [0.10, 0.10, 0.10];
const HOUSING: [f32; 3] = [0.05, 0.05, 0.055];

fn finish(rgb: [f64; 3]) -> [f32; 3] {
    rgb.map(|c| c as f32)
}

impl Props {
    pub fn of(plan: &Plan, scene: &Scene, rig: Option<&Rig>) -> Props {
        let mut props = Props { list: Vec::new(), middles: Vec::new(), room: None };
        props.rooms(plan, scene);
        for piece in &plan.location.pieces {
            props.room = InRoom::at(plan, DVec2::from_array(piece.position_m));
            props.piece(piece, scene.solids.owner_ix(&Owner::Piece(piece.id.clone())));
        }
        props.room = None;
        for person in &scene.people {
            let n = plan.cast.iter().position(|c| c.id == person.person).unwrap_or(0);
            props.person(person, CLOTHES[n % CLOTHES.len()]);
        }
        for f in rig.map(|r| r.fixtures.as_slice()).unwrap_or_default() {
            props.lamp(f);
        }
        props
    }

    fn add(&mut self, form: Form, coat: Coat, owner: OwnerIx, around: Around) {
        self.list.push(Prop { room: self.room, ..Prop::new(form, coat, owner, around) });
    }

    fn middle(&mut self, at: Vec3) -> Around {
        self.middles.push(at);
        Around::Middle(self.middles.len() as u32 - 1)
    }

    fn rooms(&mut self, plan: &Plan, scene: &Scene) {
        let wall = OwnerIx::NONE;
        let coat_of =
            |room: usize| plan.location.rooms.get(room).map_or([0.0; 3], |r| finish(r.finishes.walls.reflectance_rgb));
        for w in &scene.walls.pieces {
            self.room = InRoom::of(w.room);
            // Two faces in one place are met in either order: each knows the other's finish. The outside of a house
            // is taken to be painted as the room behind it.
            let other = w.behind.filter(Behind::touches).map_or(w.room, |b| b.room);
            let coat = Coat::Sides([coat_of(w.room), coat_of(other)]);
            let (a, d) = (w.a.as_vec2(), (w.b - w.a).as_vec2());
            let faces = match w.part {
                WallPart::Jamb(_) => Around::Patches,
                _ => {
                    let behind = w.behind.filter(Behind::touches).and_then(|b| InRoom::of(b.room));
                    Around::Faces { front: w.inward().extend(0.0).as_vec3(), rooms: [InRoom::of(w.room), behind] }
                }
            };
            self.add(Form::Panel { a, d, z0: w.z0 as f32, z1: w.z1 as f32 }, coat, wall, faces);
            if matches!(w.part, WallPart::Full) {
                // A skirting board tells floor from wall.
                let up = w.z0 as f32 + 0.07;
                let off = w.inward().as_vec2() * 0.004;
                let form = Form::Panel { a: a + off, d, z0: w.z0 as f32, z1: up };
                self.add(form, Coat::Even(FRAME), wall, faces);
            }
        }
        for (n, r) in plan.location.rooms.iter().enumerate() {
            let ring: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
            self.room = InRoom::of(n);
            let levels = [(0.0, r.finishes.floor, Vec3::Z), (r.ceiling_m as f32, r.finishes.ceiling, Vec3::NEG_Z)];
            for (z, f, front) in levels {
                let form = Form::Level { ring: ring.clone(), z };
                let faces = Around::Faces { front, rooms: [InRoom::of(n), None] };
                self.add(form, Coat::Even(finish(f.reflectance_rgb)), wall, faces);
            }
        }
        self.room = None;
        for l in &scene.walls.lintels {
            let room = plan.location.openings.get(l.opening).and_then(|o| plan.room(&o.room));
            let f = room.map(|r| if l.z < 0.01 { r.finishes.floor } else { r.finishes.walls });
            let coat = Coat::Even(f.map_or([0.0; 3], |f| finish(f.reflectance_rgb)));
            self.add(Form::Level { ring: l.ring.to_vec(), z: l.z as f32 }, coat, wall, Around::Patches);
        }
        for place in &scene.walls.openings {
            let o = &plan.location.openings[place.index];
            self.room = plan.location.rooms.iter().position(|r| r.id == o.room).and_then(InRoom::of);
            // An arch in a wall with a thickness shows its reveals and has no frame.
            if o.kind == OpeningKind::Passage && place.depth_m != [0.0; 2] {
                continue;
            }
            let (sill, head) = (o.sill_m as f32, o.head_m as f32);
            let along = (place.b - place.a).normalize_or_zero();
            let axes = [along.extend(0.0).as_vec3(), place.inward.extend(0.0).as_vec3(), Vec3::Z];
            let depth = (plan.location.wall_thickness_m * 0.5 + 0.015) as f32;
            // The frame stands in the thickness of the wall.
            let set_back = place.inward * (place.depth_m[0] + place.depth_m[1]) * -0.25;
            let inner = self.middle(((place.a + place.b) * 0.5 + place.inward * 0.3).extend(o.head_m * 0.6).as_vec3());
            let mut bar = |at: DVec2, z: f32, half: Vec3| {
                let form = Form::Box { centre: at.extend(f64::from(z)).as_vec3(), axes, half };
                self.add(form, Coat::Even(FRAME), wall, inner);
            };
            let (mid, tall) = ((sill + head) * 0.5, (head - sill) * 0.5);
            let half_width = (place.a.distance(place.b) * 0.5) as f32;
            let centre = (place.a + place.b) * 0.5 + set_back;
            for end in [place.a + set_back, place.b + set_back] {
                bar(end, mid, Vec3::new(0.03, depth, tall));
            }
            bar(centre, head, Vec3::new(half_width + 0.03, depth, 0.03));
            if let OpeningKind::Window { .. } = o.kind {
                bar(centre, sill, Vec3::new(half_width + 0.03, depth + 0.03, 0.025));
                bar(centre, mid, Vec3::new(0.02, 0.02, tall));
                bar(centre, mid + tall * 0.25, Vec3::new(half_width, 0.02, 0.02));
            }
            if let Some(leaf) = place.leaf {
                let v = leaf.tip - leaf.hinge;
                let dir = v.normalize_or_zero();
                let owner = scene.solids.owner_ix(&Owner::Door(o.id.clone()));
                let axes = [dir.extend(0.0).as_vec3(), dir.perp().extend(0.0).as_vec3(), Vec3::Z];
                let (middle, half) = ((leaf.hinge + leaf.tip) * 0.5, (v.length() * 0.5) as f32);
                let top = leaf.top_m as f32;
                let form = Form::Box {
                    centre: middle.extend(f64::from(top) * 0.5).as_vec3(),
                    axes,
                    half: Vec3::new(half, 0.02, top * 0.5),
                };
                // As bright as light counts it.
                self.add(form, Coat::Even(finish(DOOR.reflectance_rgb)), owner, Around::Patches);
                let knob = leaf.hinge + dir * (v.length() - 0.07);
                let form = Form::Box { centre: knob.extend(1.05).as_vec3(), axes, half: Vec3::new(0.05, 0.06, 0.012) };
                self.add(form, Coat::Even(STEEL), owner, inner);
            }
        }
    }

    fn piece(&mut self, piece: &Piece, owner: OwnerIx) {
        let at = DVec2::from_array(piece.position_m);
        let axis = rotate_bearing(DVec2::X, piece.rotation_deg);
        let (z0, z1) = (piece.base_m as f32, piece.top_m as f32);
        let coat = Coat::Even(finish(piece.finish.reflectance_rgb));
        match &piece.shape {
            PieceShape::Box { width_m, depth_m } => {
                let axes = [axis.extend(0.0).as_vec3(), axis.perp().extend(0.0).as_vec3(), Vec3::Z];
                let half = Vec3::new(*width_m as f32, *depth_m as f32, z1 - z0) * 0.5;
                let centre = at.as_vec2().extend((z0 + z1) * 0.5);
                self.add(Form::Box { centre, axes, half }, coat, owner, Around::Patches);
            }
            PieceShape::Round { diameter_m } => {
                let inv_half = Vec2::splat((2.0 / diameter_m) as f32);
                let form = Form::Round { centre: at.as_vec2(), axis: axis.as_vec2(), inv_half, z0, z1 };
                self.add(form, coat, owner, Around::Patches);
            }
            PieceShape::Sheet { .. } => {
                if let Some([middle, across, up]) = piece.sheet() {
                    let (u, v) = (across.normalize_or_zero(), up.normalize_or_zero());
                    let axes = [u, v, u.cross(v)].map(|a| a.as_vec3());
                    let half = Vec3::new(across.length() as f32, up.length() as f32, 0.002);
                    self.add(Form::Box { centre: middle.as_vec3(), axes, half }, coat, owner, Around::Patches);
                }
            }
            PieceShape::Outline { .. } => {
                let ring = footprint(piece);
                for i in 0..ring.len() {
                    let (a, b) = (ring[i].as_vec2(), ring[(i + 1) % ring.len()].as_vec2());
                    self.add(Form::Panel { a, d: b - a, z0, z1 }, coat.clone(), owner, Around::Patches);
                }
                for z in [z0, z1] {
                    self.add(Form::Level { ring: ring.clone(), z }, coat.clone(), owner, Around::Patches);
                }
            }
        }
    }

    /// A person: the head and chest that blocking knows, with legs, arms, hair and features, so that height,
    /// stance and the way the face looks are seen.
    fn person(&mut self, p: &Placed, clothes: [f32; 3]) {
        let front = bearing_dir(p.facing_deg);
        let across = bearing_dir(p.facing_deg + 90.0);
        let (front2, across2) = (front.as_vec2(), across.as_vec2());
        let head_light = self.middle((p.head + (front * 0.2).extend(0.0)).as_vec3());
        let chest = p.position.extend(p.shoulder_m - 0.3);
        let body_light = self.middle((chest + (front * 0.25).extend(0.0)).as_vec3());
        let h = (2.0 * p.head_half.z) / (1.0 - proportions::CHIN);
        let wide = p.body_half[0];
        let drop = h - p.crown_m;
        let hip = (0.50 * h - drop).max(0.1);
        let mut round = |at: DVec2, half: [f64; 2], z: [f64; 2], coat: [f32; 3], light: Around| {
            let inv_half = Vec2::new(1.0 / half[0] as f32, 1.0 / half[1] as f32);
            let form = Form::Round { centre: at.as_vec2(), axis: across2, inv_half, z0: z[0] as f32, z1: z[1] as f32 };
            self.list.push(Prop::new(form, Coat::Even(coat), p.owner, light));
        };
        for s in [-1.0, 1.0] {
            let leg = p.position + across * (s * wide * 0.42);
            round(leg, [wide * 0.36, h * 0.052], [0.04, hip + 0.06], TROUSERS, body_light);
            round(leg + front * (h * 0.03), [wide * 0.3, h * 0.075], [0.0, 0.06], EYES, body_light);
        }
        round(p.position, [wide * 0.66, p.body_half[1] * 0.86], [hip, p.shoulder_m - 0.10 * h], clothes, body_light);
        let neck = p.head_half.x * 0.72;
        round(p.position, [neck, neck], [p.shoulder_m - 0.02, p.head.z], SKIN, head_light);
        let mut ball = |centre: DVec3, half: DVec3, coat: Coat, light: Around| {
            let form = Form::Ball { centre: centre.as_vec3(), axis: across2, inv_half: half.recip().as_vec3() };
            self.list.push(Prop::new(form, coat, p.owner, light));
        };
        let trunk = [
            (0.0, -0.045, [wide * 0.80, p.body_half[1] * 0.82, h * 0.050], clothes),
            (0.0, -0.135, [wide * 0.80, p.body_half[1], h * 0.130], clothes),
            (0.0, -0.270, [wide * 0.68, p.body_half[1] * 0.94, h * 0.060], clothes),
        ];
        let arm = [
            (0.84, -0.050, [h * 0.036, h * 0.036, h * 0.046], clothes),
            (0.92, -0.160, [h * 0.030, h * 0.032, h * 0.125], clothes),
            (0.96, -0.320, [h * 0.024, h * 0.026, h * 0.110], clothes),
            (0.98, -0.430, [h * 0.016, h * 0.026, h * 0.050], SKIN),
        ];
        for (s, parts) in [(1.0, &trunk[..]), (1.0, &arm[..]), (-1.0, &arm[..])] {
            for (aside, under, half, coat) in parts {
                let at = p.position + across * (s * aside * wide);
                ball(at.extend(p.shoulder_m + under * h), DVec3::from_array(*half), Coat::Even(*coat), body_light);
            }
        }
        ball(p.head, p.head_half, Coat::Head(front2), head_light);
        // Features on the face: eyes a little above its middle, nose, mouth.
        let on_face = |x: f64, z: f64| {
            let (u, w) = (x / p.head_half.x, z / p.head_half.z);
            let y = p.head_half.y * (1.0 - u * u - w * w).max(0.0).sqrt();
            p.head + (across * x + front * y).extend(z)
        };
        let [hx, hz] = [p.head_half.x, p.head_half.z];
        for s in [-1.0, 1.0] {
            ball(on_face(s * hx * 0.42, hz * 0.12), DVec3::new(0.014, 0.008, 0.008), Coat::Even(EYES), head_light);
            ball(on_face(s * hx * 0.42, hz * 0.27), DVec3::new(0.019, 0.006, 0.004), Coat::Even(EYES), head_light);
        }
        ball(on_face(0.0, -hz * 0.10), DVec3::new(0.013, 0.020, 0.024), Coat::Even(SKIN), head_light);
        ball(on_face(0.0, -hz * 0.45), DVec3::new(0.024, 0.007, 0.007), Coat::Even(LIPS), head_light);
    }

    fn lamp(&mut self, f: &Fixture) {
        let at = DVec2::from_array(f.position_m).extend(f.height_m);
        let axis = direction3(f.pan_deg, f.tilt_deg);
        let right = bearing_dir(f.pan_deg + 90.0).extend(0.0);
        let up = right.cross(axis);
        let light = self.middle(at.as_vec3());
        let none = OwnerIx::NONE;
        if f.mount == Mount::Stand {
            let form = Form::Round {
                centre: at.truncate().as_vec2(),
                axis: Vec2::X,
                inv_half: Vec2::splat(1.0 / 0.014),
                z0: 0.0,
                z1: (f.height_m - 0.05) as f32,
            };
            self.add(form, Coat::Even(STEEL), none, light);
            for k in 0..3 {
                let foot = direction3(f.pan_deg + 60.0 + 120.0 * f64::from(k), -40.0);
                let middle = at.truncate().extend(0.42) + foot * 0.28;
                let side = foot.cross(DVec3::Z).normalize();
                let axes = [foot.as_vec3(), side.as_vec3(), foot.cross(side).as_vec3()];
                let form = Form::Box { centre: middle.as_vec3(), axes, half: Vec3::new(0.32, 0.008, 0.008) };
                self.add(form, Coat::Even(STEEL), none, light);
            }
        }
        let emitter = Emitter::of(f);
        let rgb = linear_srgb(emitter.colour);
        let shines = |cd: f64, area_m2: f64| rgb.map(|c| (c.max(0.0) * cd * emitter.gain / area_m2) as f32);
        let axes = [right.as_vec3(), axis.as_vec3(), up.as_vec3()];
        match f.head {
            Head::BareBulb | Head::Practical => {
                let r = if matches!(f.head, Head::BareBulb) { 0.03 } else { 0.11 };
                let glow = shines(emitter.intensity_cd(axis), std::f64::consts::PI * r * r);
                let form = Form::Ball { centre: at.as_vec3(), axis: Vec2::X, inv_half: Vec3::splat(1.0 / r as f32) };
                self.add(form, Coat::Glowing(glow), none, light);
            }
            _ => {
                let (w, h) = f.head.area_m().unwrap_or((f.head.mouth_m(), f.head.mouth_m()));
                let deep = if f.head.area_m().is_some() { 0.06 } else { 0.22 };
                let glow = shines(emitter.intensity_cd(axis), w * h);
                let coat = Coat::Shining { along: axis.as_vec3(), light: glow, rest: HOUSING };
                // The front lies a hair behind the place the light leaves from.
                let centre = (at - axis * (deep * 0.5 + 0.01)).as_vec3();
                let half = Vec3::new(w as f32, deep as f32, h as f32) * 0.5 + Vec3::new(0.015, 0.0, 0.015);
                self.add(Form::Box { centre, axes, half }, coat, none, light);
            }
        }
    }
}
