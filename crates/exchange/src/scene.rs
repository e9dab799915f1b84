//! A shot as a binary glTF 2.0 scene: rooms, pieces, people, the shot's lens and its lamps in candela.

use crate::ExchangeError;
use glam::{DMat3, DQuat, DVec2, DVec3};
use gltf_json as json;
use gltf_json::extensions::scene::khr_lights_punctual as punctual;
use gltf_json::validation::Checked::Valid;
use gltf_json::validation::USize64;
use tapemark_core::colour::look_srgb;
use tapemark_core::geometry::direction3;
use tapemark_core::light::Emitter;
use tapemark_core::plan::{Finish, Plan, Shot};
use tapemark_core::scene::{Scene, body_triangles, footprint, piece_label};
use tapemark_words::say;

type Triangle = [DVec3; 3];

struct Writer {
    root: json::Root,
    bytes: Vec<u8>,
    nodes: Vec<json::Index<json::Node>>,
}

/// Plan axes (x east, y up the plan, z up) to glTF's (x right, y up, z toward the viewer).
fn turned(p: DVec3) -> DVec3 {
    DVec3::new(p.x, p.z, -p.y)
}

impl Writer {
    fn material(&mut self, name: &str, finish: Finish) -> json::Index<json::Material> {
        let [r, g, b] = finish.reflectance_rgb.map(|v| v as f32);
        self.root.push(json::Material {
            name: Some(name.into()),
            double_sided: true,
            pbr_metallic_roughness: json::material::PbrMetallicRoughness {
                base_color_factor: json::material::PbrBaseColorFactor([r, g, b, 1.0]),
                metallic_factor: json::material::StrengthFactor(0.0),
                roughness_factor: json::material::StrengthFactor(1.0),
                ..Default::default()
            },
            ..Default::default()
        })
    }

    fn view(&mut self, data: &[u8]) -> json::Index<json::buffer::View> {
        let offset = self.bytes.len();
        self.bytes.extend_from_slice(data);
        self.root.push(json::buffer::View {
            buffer: json::Index::new(0),
            byte_length: USize64::from(data.len()),
            byte_offset: Some(USize64::from(offset)),
            byte_stride: None,
            name: None,
            target: Some(Valid(json::buffer::Target::ArrayBuffer)),
            extensions: None,
            extras: Default::default(),
        })
    }

    fn points(&mut self, list: &[[f32; 3]], bounds: bool) -> json::Index<json::Accessor> {
        let data: Vec<u8> = list.iter().flatten().flat_map(|v| v.to_le_bytes()).collect();
        let view = self.view(&data);
        let bound = |pick: fn(f32, f32) -> f32, first: f32| {
            let mut out = [first; 3];
            list.iter().for_each(|p| (0..3).for_each(|k| out[k] = pick(out[k], p[k])));
            bounds.then(|| json::Value::from(Vec::from(out)))
        };
        let (min, max) = (bound(f32::min, f32::INFINITY), bound(f32::max, f32::NEG_INFINITY));
        self.root.push(json::Accessor {
            buffer_view: Some(view),
            byte_offset: Some(USize64(0)),
            count: USize64::from(list.len()),
            component_type: Valid(json::accessor::GenericComponentType(json::accessor::ComponentType::F32)),
            type_: Valid(json::accessor::Type::Vec3),
            min,
            max,
            name: None,
            normalized: false,
            sparse: None,
            extensions: None,
            extras: Default::default(),
        })
    }

    fn node(&mut self, node: json::Node) {
        let ix = self.root.push(node);
        self.nodes.push(ix);
    }

    fn mesh(&mut self, name: &str, triangles: &[Triangle], finish: Finish) {
        let (mut at, mut normals) = (Vec::new(), Vec::new());
        for t in triangles {
            let t = t.map(turned);
            let Some(n) = (t[1] - t[0]).cross(t[2] - t[0]).try_normalize() else { continue };
            at.extend(t.map(|p| p.as_vec3().to_array()));
            normals.extend([n.as_vec3().normalize().to_array(); 3]);
        }
        if at.is_empty() {
            return;
        }
        let material = self.material(name, finish);
        let position = self.points(&at, true);
        let normal = self.points(&normals, false);
        let attributes = [(json::mesh::Semantic::Positions, position), (json::mesh::Semantic::Normals, normal)];
        let primitive = json::mesh::Primitive {
            attributes: attributes.into_iter().map(|(s, a)| (Valid(s), a)).collect(),
            extensions: None,
            extras: Default::default(),
            indices: None,
            material: Some(material),
            mode: Valid(json::mesh::Mode::Triangles),
            targets: None,
        };
        let mesh = self.root.push(json::Mesh {
            extensions: None,
            extras: Default::default(),
            name: Some(name.into()),
            primitives: vec![primitive],
            weights: None,
        });
        self.node(json::Node { mesh: Some(mesh), name: Some(name.into()), ..Default::default() });
    }
}

/// A node's place and turn so that its −z looks along a direction with its y as near up as that allows.
fn placed(at: DVec3, toward: DVec3, roll_deg: f64) -> (Option<[f32; 3]>, Option<json::scene::UnitQuaternion>) {
    let z = -turned(toward).normalize_or_zero();
    let up = if z.y.abs() > 0.999 { DVec3::Z } else { DVec3::Y };
    let x = up.cross(z).normalize_or_zero();
    let turn = DQuat::from_mat3(&DMat3::from_cols(x, z.cross(x), z)) * DQuat::from_rotation_z(-roll_deg.to_radians());
    let q = turn.normalize();
    let place = turned(at).as_vec3().to_array();
    (Some(place), Some(json::scene::UnitQuaternion([q.x as f32, q.y as f32, q.z as f32, q.w as f32])))
}

/// A polygon filled at a height.
fn lid(ring: &[DVec2], z: f64) -> Vec<Triangle> {
    let flat: Vec<f64> = ring.iter().flat_map(|p| [p.x, p.y]).collect();
    let corners = earcutr::earcut(&flat, &[], 2).unwrap_or_default();
    corners.chunks_exact(3).map(|t| [t[0], t[1], t[2]].map(|i| ring[i].extend(z))).collect()
}

/// A prism: both lids and its sides.
fn prism(ring: &[DVec2], low: f64, high: f64) -> Vec<Triangle> {
    let mut out = lid(ring, low);
    out.extend(lid(ring, high));
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        out.extend(quad(a.extend(low), b.extend(low), b.extend(high), a.extend(high)));
    }
    out
}

fn quad(a: DVec3, b: DVec3, c: DVec3, d: DVec3) -> [Triangle; 2] {
    [[a, b, c], [a, c, d]]
}

/// Writes a shot at a moment as one binary glTF file, metres.
///
/// # Errors
/// When the scene cannot be written.
pub fn to_glb(plan: &Plan, shot: &Shot, at_s: f64) -> Result<Vec<u8>, ExchangeError> {
    let scene = Scene::of(plan, shot, at_s);
    let mut w = Writer { root: json::Root::default(), bytes: Vec::new(), nodes: Vec::new() };
    w.root.asset.generator = Some("Tapemark".into());
    let grey = |v: f64| Finish { reflectance_rgb: [v; 3] };
    for r in &plan.location.rooms {
        let ring: Vec<DVec2> = r.outline_m.iter().map(|p| DVec2::from_array(*p)).collect();
        let level = |z: f64| lid(&ring, z);
        let name = if r.name.is_empty() { r.id.as_str() } else { r.name.as_str() };
        w.mesh(&format!("floor of {name}"), &level(0.0), r.finishes.floor);
        w.mesh(&format!("ceiling of {name}"), &level(r.ceiling_m), r.finishes.ceiling);
    }
    let walls: Vec<Triangle> = scene
        .walls
        .pieces
        .iter()
        .flat_map(|p| quad(p.a.extend(p.z0), p.b.extend(p.z0), p.b.extend(p.z1), p.a.extend(p.z1)))
        .collect();
    let finish = plan.location.rooms.first().map_or(grey(0.5), |r| r.finishes.walls);
    w.mesh("walls", &walls, finish);
    let leaves: Vec<Triangle> = scene
        .walls
        .openings
        .iter()
        .filter_map(|o| o.leaf)
        .flat_map(|l| quad(l.hinge.extend(0.0), l.tip.extend(0.0), l.tip.extend(l.top_m), l.hinge.extend(l.top_m)))
        .collect();
    w.mesh("doors", &leaves, grey(0.5));
    for p in &plan.location.pieces {
        let name = piece_label(p);
        w.mesh(&name, &prism(&footprint(p), p.base_m, p.top_m), p.finish);
    }
    for p in &scene.people {
        w.mesh(&p.name, &body_triangles(p), Finish { reflectance_rgb: [0.45, 0.35, 0.3] });
    }
    if let (Some(view), Some(camera)) = (&scene.view, plan.shot_camera(shot)) {
        let (_, yfov) = view.angles_deg();
        let ix = w.root.push(json::Camera {
            name: Some(format!("{}, {} mm", camera.name, view.focal_mm)),
            orthographic: None,
            perspective: Some(json::camera::Perspective {
                aspect_ratio: Some((view.sensor_mm.0 / view.sensor_mm.1) as f32),
                yfov: yfov.to_radians() as f32,
                zfar: None,
                znear: 0.05,
                extensions: None,
                extras: Default::default(),
            }),
            type_: Valid(json::camera::Type::Perspective),
            extensions: None,
            extras: Default::default(),
        });
        let (translation, rotation) = placed(view.eye, view.axes().2, view.roll_deg);
        w.node(json::Node {
            camera: Some(ix),
            name: Some(camera.name.clone()),
            translation,
            rotation,
            ..Default::default()
        });
    }
    for f in plan.shot_fixtures(shot).into_iter().filter(|f| f.on) {
        let e = Emitter::of(f);
        let toward = direction3(f.pan_deg, f.tilt_deg);
        let rgb = look_srgb(e.colour, plan.exposure.white_balance_k);
        let cone = f.head.beam_field_deg();
        let light = punctual::Light {
            color: rgb.map(|c| (f32::from(c) / 255.0).powf(2.2)),
            extensions: None,
            extras: Default::default(),
            intensity: (e.gain * e.intensity_cd(toward)) as f32,
            name: Some(f.label()),
            range: None,
            spot: cone.map(|(beam, field)| punctual::Spot {
                inner_cone_angle: (beam * 0.5).to_radians() as f32,
                outer_cone_angle: (field * 0.5).to_radians().min(std::f64::consts::FRAC_PI_2) as f32,
            }),
            type_: Valid(if cone.is_some() { punctual::Type::Spot } else { punctual::Type::Point }),
        };
        let ix = w.root.push(light);
        let (translation, rotation) = placed(e.at(), toward, 0.0);
        let extension = punctual::KhrLightsPunctual { light: ix };
        w.node(json::Node {
            name: Some(f.label()),
            translation,
            rotation,
            extensions: Some(json::extensions::scene::Node {
                khr_lights_punctual: Some(extension),
                others: Default::default(),
            }),
            ..Default::default()
        });
    }
    if w.root.extensions.is_some() {
        w.root.extensions_used.push("KHR_lights_punctual".into());
    }
    let nodes = std::mem::take(&mut w.nodes);
    if nodes.is_empty() {
        return Err(ExchangeError::new(say!("there-is-nothing-to-hand-on"), say!("draw-a-room-first")));
    }
    let scene = w.root.push(json::Scene {
        extensions: None,
        extras: Default::default(),
        name: Some(format!("{}, shot {}", plan.title, shot.name)),
        nodes,
    });
    w.root.scene = Some(scene);
    if !w.bytes.is_empty() {
        w.root.push(json::Buffer {
            byte_length: USize64::from(w.bytes.len()),
            name: None,
            uri: None,
            extensions: None,
            extras: Default::default(),
        });
    }
    glb(&w)
}

/// Chunks of a binary glTF file: header, JSON, binary; each a multiple of four bytes.
fn glb(w: &Writer) -> Result<Vec<u8>, ExchangeError> {
    let mut text = serde_json::to_vec(&w.root)
        .map_err(|e| ExchangeError::new(say!("the-scene-could-not-be-written", e), say!("report-this")))?;
    while !text.len().is_multiple_of(4) {
        text.push(b' ');
    }
    let mut bytes = w.bytes.clone();
    while !bytes.len().is_multiple_of(4) {
        bytes.push(0);
    }
    let chunks = if bytes.is_empty() { 1 } else { 2 };
    let total = 12 + 8 * chunks + text.len() + bytes.len();
    let mut out = Vec::with_capacity(total);
    let word = |v: usize| (v as u32).to_le_bytes();
    out.extend(b"glTF");
    out.extend(word(2));
    out.extend(word(total));
    out.extend(word(text.len()));
    out.extend(b"JSON");
    out.extend(&text);
    if !bytes.is_empty() {
        out.extend(word(bytes.len()));
        out.extend(b"BIN\0");
        out.extend(&bytes);
    }
    Ok(out)
}
