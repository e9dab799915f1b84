//! What holds, but only just: a slip within the plan's limit would break it.

use super::{Collector, Severity};
use crate::facts::ShotFacts;
use crate::margins::{Margin, Slips};
use crate::plan::{CameraId, Plan};
use crate::scene::Scene;
use crate::units::format_length;
use glam::DVec2;
use tapemark_words::say;

/// Whether a notice is of something that holds, but only just.
#[must_use]
pub fn is_margin(code: &str) -> bool {
    code.ends_with("-barely")
}

/// The margins of wanted faces, the operator and the lamps that are under the slip allowed.
pub(super) fn barely(c: &mut Collector, plan: &Plan, scene: &Scene, facts: &ShotFacts) {
    let little = |m: &Option<Margin>| m.clone().filter(|m| m.margin_m < plan.limits.slip_m);
    let by = |m: &Margin| format_length(m.margin_m, plan.length_unit);
    for p in facts.people.iter().filter(|p| p.required) {
        let (item, place) = (p.person.as_str(), Some(DVec2::from_array(p.position_m)));
        let mut hint = |code, what, remedy| c.say(code, Severity::Hint, item, place, what, remedy);
        if let Some(m) = little(&p.margins.in_frame) {
            let what = say!("in-frame-barely", name = p.name, by = by(&m));
            hint("in-frame-barely", what, say!("frame-wider-or-aim-again").to_string());
        }
        // Where the frame's edge is what ends it, that has been said.
        let edge = p.margins.in_frame.as_ref().map(|m| m.margin_m);
        if let Some(m) = little(&p.margins.clear).filter(|m| edge.is_none_or(|e| m.margin_m < e)) {
            let who = name_of(plan, &m.slips);
            let what = say!("clear-barely", name = p.name, by = by(&m), who);
            hint("clear-barely", what, say!("give-the-face-more-air", name = p.name));
        }
        if let Some(m) = little(&p.margins.in_focus) {
            let what = say!("in-focus-barely", name = p.name, by = by(&m));
            hint("in-focus-barely", what, say!("stop-down-or-pull-focus").to_string());
        }
    }
    let Some(camera) = &facts.camera else { return };
    if let Some(m) = little(&camera.fits_behind_margin) {
        let at = scene.view.as_ref().map(|v| v.eye.truncate());
        let what = say!("fits-behind-barely", by = by(&m));
        c.say("fits-behind-barely", Severity::Hint, camera.camera.as_str(), at, what, say!("move-the-camera-off-what"));
    }
    let Some(rig) = plan.shot_rig(c.shot) else { return };
    for f in &facts.fixtures {
        let Some(m) = little(&f.out_of_frame_margin) else { continue };
        let at = rig.fixtures.iter().find(|x| x.id == f.fixture).map(|x| DVec2::from_array(x.position_m));
        let what = say!("lamp-out-of-frame-barely", name = f.name, by = by(&m));
        let code = "lamp-out-of-frame-barely";
        c.say(code, Severity::Hint, f.fixture.as_str(), at, what, say!("move-it-further-out-of-frame"));
    }
}

/// Who or what slips, by name.
fn name_of(plan: &Plan, slips: &Slips) -> String {
    let camera = |id: &CameraId| plan.camera(id).map(|c| c.name.clone());
    match slips {
        Slips::Person(id) => plan.person(id).map(|p| p.name.clone()),
        Slips::Camera(id) => camera(id),
        Slips::Lamp(_) => None,
    }
    .unwrap_or_default()
}
