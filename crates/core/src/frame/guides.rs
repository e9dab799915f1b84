//! Lines laid over what the lens sees.

use crate::facts::ShotFacts;
use crate::plan::Shot;
use crate::scene::{Scene, View};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};
use tapemark_words::{figure, say};

/// A kind of line over the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Overlay {
    /// The frame in thirds.
    Thirds,
    /// What every screen shows: action within 93 % and titles within 90 % of width and height (SMPTE ST 2046-1,
    /// from memory).
    SafeArea,
    /// Space over the highest head.
    HeadRoom,
    /// The height of the lens, as far as the eye goes.
    Horizon,
    /// Where the depth of field begins and ends on the floor.
    Focus,
}

impl Overlay {
    /// All of them.
    pub const ALL: [Overlay; 5] =
        [Overlay::Thirds, Overlay::SafeArea, Overlay::HeadRoom, Overlay::Horizon, Overlay::Focus];
    /// The trade's name.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Overlay::Thirds => say!("thirds"),
            Overlay::SafeArea => say!("safe-area"),
            Overlay::HeadRoom => say!("head-room"),
            Overlay::Horizon => say!("horizon"),
            Overlay::Focus => say!("focus"),
        }
    }
}

/// A line over the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Guide {
    /// Its kind.
    pub overlay: Overlay,
    /// Points with x right and y up in −1..=1.
    pub points: Vec<DVec2>,
    /// What is written at its first point.
    pub text: String,
}

/// The lines of an overlay for a scene.
#[must_use]
pub fn guides(overlay: Overlay, shot: &Shot, scene: &Scene, facts: &ShotFacts) -> Vec<Guide> {
    let line = |a: [f64; 2], b: [f64; 2], text: String| Guide {
        overlay,
        points: vec![DVec2::from_array(a), DVec2::from_array(b)],
        text,
    };
    let ring = |share: f64, text: &str| Guide {
        overlay,
        points: [[-1.0, 1.0], [1.0, 1.0], [1.0, -1.0], [-1.0, -1.0], [-1.0, 1.0]]
            .map(|p| DVec2::from_array(p) * share)
            .to_vec(),
        text: text.into(),
    };
    let Some(view) = &scene.view else { return Vec::new() };
    match overlay {
        Overlay::Thirds => [-1.0 / 3.0, 1.0 / 3.0]
            .into_iter()
            .flat_map(|t| [line([t, -1.0], [t, 1.0], String::new()), line([-1.0, t], [1.0, t], String::new())])
            .collect(),
        Overlay::SafeArea => vec![ring(0.93, say!("action")), ring(0.90, say!("titles"))],
        Overlay::HeadRoom => head_room(shot, scene, view)
            .map(|(y, name)| {
                let share = ((1.0 - y) * 50.0).round();
                line([-1.0, y], [1.0, y], say!("share-over-name", share, name))
            })
            .into_iter()
            .collect(),
        Overlay::Horizon => {
            let far = |turn: f64| {
                let d = crate::geometry::bearing_dir(view.pan_deg + turn).extend(0.0);
                view.project(view.eye + d * 1e6).map(|p| p.0)
            };
            match (far(-30.0), far(30.0)) {
                (Some(a), Some(b)) => {
                    clipped(a, b).map(|[a, b]| line(a, b, say!("horizon").into())).into_iter().collect()
                }
                _ => Vec::new(),
            }
        }
        Overlay::Focus => {
            let Some(c) = &facts.camera else { return Vec::new() };
            [(Some(c.near_m), say!("in-focus-from")), (c.far_m, say!("to"))]
                .into_iter()
                .filter_map(|(m, word)| {
                    let m = m?;
                    let [a, b] = floor_line(view, m - c.sensor_behind_m)?;
                    Some(line(a, b, format!("{} {} m", word, figure(m, 2))))
                })
                .collect()
        }
    }
}

/// Height in frame of the highest needed crown, and whose.
fn head_room(shot: &Shot, scene: &Scene, view: &View) -> Option<(f64, String)> {
    scene
        .people
        .iter()
        .filter(|p| shot.faces.is_empty() || shot.faces.contains(&p.person))
        .filter_map(|p| {
            let (at, _) = view.project(p.position.extend(p.crown_m))?;
            (at.x.abs() <= 1.0 && at.y.abs() <= 1.0).then(|| (at.y, p.name.clone()))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// Where the plane at a depth along the lens axis meets the floor, in the frame.
fn floor_line(view: &View, depth_m: f64) -> Option<[[f64; 2]; 2]> {
    let (_, _, forward) = view.axes();
    let flat = DVec3::new(forward.x, forward.y, 0.0);
    let along = flat.length_squared();
    if along < 1e-6 {
        return None;
    }
    // On the floor, forward · (p − eye) = depth.
    let foot = DVec3::new(view.eye.x, view.eye.y, 0.0) + flat * ((depth_m + forward.z * view.eye.z) / along);
    let side = DVec3::new(-flat.y, flat.x, 0.0).normalize() * 50.0;
    let (a, b) = (view.project(foot - side)?.0, view.project(foot + side)?.0);
    clipped(a, b)
}

/// The part of a line that lies in the frame (Liang & Barsky 1984).
fn clipped(a: DVec2, b: DVec2) -> Option<[[f64; 2]; 2]> {
    let d = b - a;
    let (mut t0, mut t1) = (0.0_f64, 1.0_f64);
    for (p, q) in [(-d.x, a.x + 1.0), (d.x, 1.0 - a.x), (-d.y, a.y + 1.0), (d.y, 1.0 - a.y)] {
        if p == 0.0 {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            t0 = t0.max(q / p);
        } else {
            t1 = t1.min(q / p);
        }
    }
    (t0 < t1).then(|| [(a + d * t0).to_array(), (a + d * t1).to_array()])
}
