//! In frame and in focus: distances to planes through the lens and across its axis, exact.

use super::{Look, Looks, Margin, Slips};
use crate::blocking::{contains, head_points};
use crate::facts::focus_m_among;
use crate::optics;
use crate::plan::PersonId;
use crate::scene::{Placed, View};
use glam::{DVec2, DVec3};

/// Less of a plane's normal than this along the floor: no slip crosses it.
const LEVEL: f64 = 1e-9;

/// The four planes through the lens that bound the frame: their normals, pointing in.
pub(super) fn frame_planes(view: &View) -> [DVec3; 4] {
    let (right, up, forward) = view.axes();
    let half = |size_mm: f64| size_mm / (2.0 * view.focal_mm);
    let (wide, high) = (forward * half(view.sensor_mm.0), forward * half(view.sensor_mm.1));
    [wide - right, wide + right, high - up, high + up]
}

/// The smallest slip that takes a point out of the frame, metres; negative when it is out. The camera's own slip
/// is the same the other way.
fn slip_out(planes: &[DVec3; 4], from_eye: DVec3) -> f64 {
    let one = |n: &DVec3| {
        let (inside, flat) = (n.dot(from_eye), n.truncate().length());
        if flat > LEVEL { inside / flat } else { inside.signum() * f64::INFINITY }
    };
    planes.iter().map(one).fold(f64::INFINITY, f64::min)
}

/// The smallest slip that brings a point into the frame, exactly; none when there is none. Zero when it is in.
///
/// The slips that do are the points of a convex polygon of at most four sides: its nearest point to the origin is
/// the origin, on a side or a corner.
pub(super) fn slip_in(planes: &[DVec3; 4], from_eye: DVec3) -> Option<DVec2> {
    let sides = planes.map(|n| (n.truncate(), n.dot(from_eye)));
    let inside = |d: DVec2| sides.iter().all(|(n, s)| n.dot(d) + s >= -1e-9 * (1.0 + n.length()));
    let onto = sides.iter().filter(|(n, _)| n.length() > LEVEL).map(|(n, s)| *n * (-s / n.length_squared()));
    let corners = (0..4).flat_map(|i| (0..i).map(move |j| (i, j))).filter_map(|(i, j)| {
        let ((a, s), (b, t)) = (sides[i], sides[j]);
        let area = a.perp_dot(b);
        (area.abs() > LEVEL).then(|| DVec2::new(t * a.y - s * b.y, s * b.x - t * a.x) / area)
    });
    std::iter::once(DVec2::ZERO)
        .chain(onto)
        .chain(corners)
        .filter(|d| inside(*d))
        .min_by(|a, b| a.length_squared().total_cmp(&b.length_squared()))
}

/// By how much a head stays wholly in frame.
pub(super) fn in_frame(looks: &Looks<'_>, id: &PersonId) -> Option<Margin> {
    least(looks, id, |look, p| Some(head_out(look, p)))
}

/// The smallest slip that takes part of a head out of the frame at a look, metres; negative when it is out.
pub(super) fn head_out(look: &Look<'_>, p: &Placed) -> f64 {
    let planes = frame_planes(&look.view);
    head_points(p).iter().map(|q| slip_out(&planes, *q - look.view.eye)).fold(f64::INFINITY, f64::min)
}

/// By how much a face stays within the depth of field while it is in frame. Focus stays where it is when somebody
/// slips.
pub(super) fn in_focus(looks: &Looks<'_>, id: &PersonId) -> Option<Margin> {
    let camera = looks.plan.shot_camera(looks.shot)?;
    let coc = optics::circle_of_confusion_mm(&camera.format);
    least(looks, id, |look, p| {
        let view = &look.view;
        let (_, depth) = view.project(p.face()).filter(|_| contains(view, p.face()))?;
        let focus = focus_m_among(looks.plan, looks.shot, &look.moment.people, view);
        let (near, far) = optics::depth_of_field_m(view.focal_mm, camera.lens.t_stop, coc, focus);
        let flat = view.axes().2.truncate().length().max(LEVEL);
        Some((depth - near).min(far - depth) / flat)
    })
}

/// The least of the slips over the looks at which an answer is asked for; it fails where a slip is negative.
fn least(looks: &Looks<'_>, id: &PersonId, slip: impl Fn(&Look<'_>, &Placed) -> Option<f64>) -> Option<Margin> {
    let held = looks.held(id, |look, p| slip(look, p).map(|s| s >= 0.0));
    let slips = held.iter().filter_map(|i| Some((*i, slip(&looks.list[*i], looks.placed(*i, id)?)?)));
    let (i, s) = slips.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(looks.margin(s, Slips::Person(id.clone()), i))
}
