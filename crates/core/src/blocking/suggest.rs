//! What would keep every wanted face clear: the smallest turn, lens or shift of the camera, or shift of one mark.

use super::framing::baseline;
use super::moments::{Lane, Moments, Seen, lanes};
use super::places::{Aim, Places};
use super::{face_view_among, in_frame_share, looks_this_way};
use crate::edit::{Edit, Item};
use crate::geometry::distance_to_outline;
use crate::notices::{Baseline, Broken};
use crate::plan::{Camera, Mark, PersonId, Plan, Shot};
use crate::scene::{Placed, View, footprint};
use crate::taping::room_at;
use crate::units::format_length;
use glam::DVec2;
use rayon::prelude::*;
use serde::Serialize;
use tapemark_words::{figure, say};

/// Candidates lie this far apart, metres; the best is then drawn nearer.
pub const STEP_M: f64 = 0.05;
/// Furthest a camera is shifted, metres.
const CAMERA_REACH_M: f64 = 3.0;
/// Furthest a mark is shifted, metres.
const MARK_REACH_M: f64 = 1.2;
/// People keep this far apart, middle to middle, and marks this far from furniture, metres (common practice, no
/// source).
const APART_M: f64 = 0.45;
const FROM_PIECE_M: f64 = 0.2;
/// Other places looked for when one breaks something, and how far from it, metres.
const ELSEWHERE: usize = 3;
const ELSEWHERE_M: f64 = 0.25;
/// Focal lengths a set of primes may have, millimetres (common practice, no source).
const PRIMES_MM: [f64; 16] =
    [100.0, 85.0, 75.0, 65.0, 50.0, 40.0, 35.0, 32.0, 28.0, 25.0, 24.0, 21.0, 18.0, 16.0, 14.0, 12.0];
/// Settings of a zoom that are tried on its way to its short end.
const ZOOM_STEPS: i32 = 24;
/// Every so many looks, a shifted mark is first asked whether its person is in frame and turned to the lens.
const ROUGH_LOOKS: usize = 10;

/// A change that keeps every wanted face clear: whole in frame, turned to the lens and seen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Suggestion {
    /// What is moved: the camera's or the mark's id.
    pub item: String,
    /// From where, metres.
    pub from_m: [f64; 2],
    /// To where, metres.
    pub to_m: [f64; 2],
    /// How far, metres; 0 when the camera only turns or takes another lens.
    pub distance_m: f64,
    /// The focal length it takes, millimetres; absent: the one in use.
    pub focal_mm: Option<f64>,
    /// The least visible share then, 0–1.
    pub least_clear_share: f64,
    /// In words.
    pub what: String,
    /// What it breaks in the shots it touches and in their cuts, the worst first.
    pub broken: Vec<Broken>,
    /// The change itself, one step of undo.
    #[serde(skip)]
    pub edit: Edit,
}

/// Offsets of a grid about nothing, nearest first.
fn offsets(reach_m: f64) -> Vec<DVec2> {
    let n = (reach_m / STEP_M) as i32;
    let mut out: Vec<DVec2> = (-n..=n)
        .flat_map(|i| (-n..=n).map(move |j| DVec2::new(f64::from(i), f64::from(j)) * STEP_M))
        .filter(|v| v.length() <= reach_m)
        .collect();
    out.sort_by(|a, b| a.length_squared().total_cmp(&b.length_squared()));
    out
}

/// Drawn toward where it came from while it still holds: five halvings of the last step.
fn drawn_nearer(by: DVec2, mut holds: impl FnMut(DVec2) -> bool) -> DVec2 {
    let length = by.length();
    if length <= 0.0 {
        return by;
    }
    let (mut low, mut high) = (((length - 1.5 * STEP_M) / length).max(0.0), 1.0);
    for _ in 0..5 {
        let middle = 0.5 * (low + high);
        if holds(by * middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    by * high
}

/// Required people with the stretches over which they are there and not clear: out of frame, cut by its edge, turned
/// away, or seen less than `share`.
#[must_use]
pub fn unclear(plan: &Plan, shot: &Shot, moments: &Moments, share: f64) -> Vec<Lane> {
    let mut wish = plan.clone();
    wish.limits.face_share = share;
    let mut out = lanes(&wish, shot, moments);
    for lane in &mut out {
        lane.spans.retain(|s| !matches!(s.seen, Seen::InFrame | Seen::Absent));
    }
    out.retain(|l| l.required && !l.spans.is_empty());
    out
}

/// Everything that keeps each wanted face whole in frame, turned to the lens and seen to `share` or more for the whole
/// move: another way to turn the camera or another lens on it, its smallest shift, and that of each mark of those who
/// hide or are not clear. Smallest first, turning before another lens before moving; nothing when all is clear already.
///
/// A shift that breaks something in a shot it touches gives way to another near by that does not; what is broken still
/// is named.
#[must_use]
pub fn suggest(plan: &Plan, shot: &Shot, moments: &Moments, share: f64) -> Vec<Suggestion> {
    let Some(camera) = plan.shot_camera(shot) else { return Vec::new() };
    let unclear = unclear(plan, shot, moments, share);
    if unclear.is_empty() {
        return Vec::new();
    }
    let search = Search { plan, shot, camera, moments, share, baseline: baseline(plan, shot) };
    let mut out = search.of_the_camera();
    let hiders: Vec<&String> = unclear.iter().flat_map(|l| &l.spans).filter_map(|s| s.by.as_ref()).collect();
    let movable = |m: &Mark| {
        let name = plan.person(&m.person).map(|p| p.name.clone()).unwrap_or_default();
        unclear.iter().any(|l| l.person == m.person) || hiders.contains(&&name)
    };
    for mark in shot.marks.iter().filter(|m| movable(m)) {
        // Nobody's mark brings another person into the frame, or turns them to the lens.
        let needs_more = |l: &Lane| l.person != mark.person && l.spans.iter().any(|s| s.seen != Seen::Hidden);
        if !unclear.iter().any(needs_more) {
            out.extend(search.of_a_mark(mark));
        }
    }
    // The sort is stable: of what moves nothing, turning comes before another lens.
    out.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m));
    out
}

/// A camera with its whole move at another place.
#[must_use]
pub fn moved(camera: &Camera, to: DVec2, aim: Aim) -> Camera {
    let mut c = camera.clone();
    let by = to - DVec2::from_array(c.position_m);
    let (pan, tilt) = (crate::scene::turn_deg(c.pan_deg, aim.pan_deg), aim.tilt_deg - c.tilt_deg);
    c.position_m = to.to_array();
    c.pan_deg = crate::geometry::normalize_deg(aim.pan_deg);
    c.tilt_deg = aim.tilt_deg;
    for m in &mut c.marks {
        m.position_m = (DVec2::from_array(m.position_m) + by).to_array();
        m.pan_deg += pan;
        m.tilt_deg = (m.tilt_deg + tilt).clamp(-90.0, 90.0);
    }
    c
}

/// A camera at another focal length, with its whole move.
fn at_focal(camera: &Camera, focal_mm: f64) -> Camera {
    let mut c = camera.clone();
    let by = focal_mm / c.lens.focal_mm;
    c.lens.focal_mm = focal_mm;
    c.marks.iter_mut().for_each(|m| m.focal_mm = (m.focal_mm * by).clamp(1.0, 2000.0));
    c
}

/// Wider focal lengths that a lens can be set to or a prime has, the longest first.
fn wider_mm(camera: &Camera) -> Vec<f64> {
    let now = camera.lens.focal_mm;
    match camera.lens.zoom_mm {
        Some([short, _]) if short < now => {
            let step = |i: i32| now * (short / now).powf(f64::from(i) / f64::from(ZOOM_STEPS));
            (1..=ZOOM_STEPS).map(step).collect()
        }
        Some(_) => Vec::new(),
        None => PRIMES_MM.into_iter().filter(|f| *f < now - 0.5).collect(),
    }
}

fn with_camera(plan: &Plan, camera: &Camera) -> Plan {
    let mut next = plan.clone();
    next.cameras.iter_mut().filter(|c| c.id == camera.id).for_each(|c| *c = camera.clone());
    next
}

/// A shot whose wanted faces are not clear, and the notices of what a change to it touches.
struct Search<'a> {
    plan: &'a Plan,
    shot: &'a Shot,
    camera: &'a Camera,
    moments: &'a Moments,
    share: f64,
    baseline: Baseline,
}

impl Search<'_> {
    /// The camera turned where it stands, with another lens there, and shifted.
    fn of_the_camera(&self) -> Vec<Suggestion> {
        let here = DVec2::from_array(self.camera.position_m);
        let holds_here = |plan: &Plan| -> Option<Aim> {
            let places = Places::of(plan, self.shot, self.moments)?;
            places.aims(here).into_iter().find(|aim| self.holds(&places, here, *aim))
        };
        let mut out = Vec::new();
        if let Some(aim) = holds_here(self.plan) {
            out.extend(self.stood(self.plan, here, aim));
            return out;
        }
        for focal_mm in wider_mm(self.camera) {
            let plan = with_camera(self.plan, &at_focal(self.camera, focal_mm));
            if let Some(aim) = holds_here(&plan) {
                out.extend(self.stood(&plan, here, aim));
                break;
            }
        }
        out.extend(self.shift(self.plan));
        out
    }

    /// Whether every wanted face is clear over the whole move from a place where the camera can stand.
    fn holds(&self, places: &Places<'_>, p: DVec2, aim: Aim) -> bool {
        places.ruled_out(p, aim).is_none() && places.least_clear(p, aim, self.share) >= self.share
    }

    /// The smallest shift of the camera as a plan has it, aimed at the wanted faces.
    fn shift(&self, plan: &Plan) -> Option<Suggestion> {
        let places = Places::of(plan, self.shot, self.moments)?;
        let here = DVec2::from_array(self.camera.position_m);
        let holds = |by: DVec2| self.holds(&places, here + by, places.aim(here + by));
        let list = offsets(CAMERA_REACH_M);
        self.elsewhere(|avoid| {
            let far = |by: &DVec2| avoid.iter().all(|a: &DVec2| a.distance(here + *by) > ELSEWHERE_M);
            let found = *list.par_iter().with_max_len(16).find_first(|by| far(by) && holds(**by))?;
            let to = here + drawn_nearer(found, holds);
            self.stood(plan, to, places.aim(to))
        })
    }

    /// Asks for a change, and for others elsewhere while it breaks something: the first that breaks nothing, else the
    /// first.
    fn elsewhere(&self, mut ask: impl FnMut(&[DVec2]) -> Option<Suggestion>) -> Option<Suggestion> {
        let mut avoid = Vec::new();
        let mut first: Option<Suggestion> = None;
        for _ in 0..=ELSEWHERE {
            let Some(found) = ask(&avoid) else { break };
            if found.broken.is_empty() {
                return Some(found);
            }
            avoid.push(DVec2::from_array(found.to_m));
            first = first.or(Some(found));
        }
        first
    }

    /// The camera of a plan at a place, as a suggestion.
    fn stood(&self, plan: &Plan, to: DVec2, aim: Aim) -> Option<Suggestion> {
        let camera = plan.shot_camera(self.shot)?;
        let least = Places::of(plan, self.shot, self.moments)?.least_clear(to, aim, 0.0);
        let here = DVec2::from_array(self.camera.position_m);
        let distance_m = here.distance(to);
        let name = &camera.name;
        let focal = camera.lens.focal_mm;
        let other_lens = (focal - self.camera.lens.focal_mm).abs() > 1e-9;
        let what = if distance_m > 1e-6 {
            say!("move-camera-by", camera = name, by = format_length(distance_m, plan.length_unit))
        } else if other_lens && camera.lens.zoom_mm.is_some() {
            say!("zoom-camera-to", camera = name, focal = figure(focal, 0))
        } else if other_lens {
            say!("put-another-prime-on", camera = name, focal = figure(focal, 0))
        } else {
            say!("keep-where-it-is-and-turn", camera = name)
        };
        let edit = Edit::Put(Item::Camera(moved(camera, to, aim)));
        Some(Suggestion {
            item: camera.id.to_string(),
            from_m: here.to_array(),
            to_m: to.to_array(),
            distance_m,
            focal_mm: other_lens.then_some(focal),
            least_clear_share: least,
            what,
            broken: self.baseline.after(&edit),
            edit,
        })
    }

    /// The smallest shift of a mark that leaves every wanted face clear.
    fn of_a_mark(&self, mark: &Mark) -> Option<Suggestion> {
        let (plan, shot) = (self.plan, self.shot);
        let here = DVec2::from_array(mark.position_m);
        let room = room_at(plan, here).map(|r| r.id.clone());
        let least = |by: DVec2| {
            let to = here + by;
            if room.is_some() && room_at(plan, to).map(|r| &r.id) != room.as_ref() || in_piece(plan, to) {
                return None;
            }
            let mut other = shot.clone();
            other.marks.iter_mut().filter(|m| m.id == mark.id).for_each(|m| m.position_m = to.to_array());
            if !self.may_be_clear(&other, &mark.person) {
                return None;
            }
            let there = Moments::on(self.moments.stage.clone(), plan, &other);
            self.least_as_framed(&there).filter(|least| *least >= self.share)
        };
        let list = offsets(MARK_REACH_M);
        let name = plan.person(&mark.person).map(|p| p.name.clone()).unwrap_or_default();
        self.elsewhere(|avoid| {
            let may =
                |by: &DVec2| by.length() > 0.0 && avoid.iter().all(|a: &DVec2| a.distance(here + *by) > ELSEWHERE_M);
            let found = *list.par_iter().with_max_len(8).find_first(|by| may(by) && least(**by).is_some())?;
            let by = drawn_nearer(found, |by| least(by).is_some());
            let to = here + by;
            let l = |m: f64| format_length(m, plan.length_unit);
            let when =
                if mark.from_s > 0.0 { say!("of-the-time", from_s = figure(mark.from_s, 1)) } else { String::new() };
            let mark = Mark { position_m: to.to_array(), ..mark.clone() };
            let edit = Edit::Put(Item::Mark { shot: shot.id.clone(), mark: mark.clone() });
            Some(Suggestion {
                item: mark.id.to_string(),
                from_m: here.to_array(),
                to_m: to.to_array(),
                distance_m: by.length(),
                focal_mm: None,
                least_clear_share: least(by)?,
                what: say!("move-name-s-mark-when-by", name, when, by = l(by.length())),
                broken: self.baseline.after(&edit),
                edit,
            })
        })
    }

    /// Whether a wanted person is in frame and turned to the lens at a few looks: what costs no line of sight is asked
    /// first.
    fn may_be_clear(&self, other: &Shot, person: &PersonId) -> bool {
        if !self.shot.faces.contains(person) {
            return true;
        }
        self.moments.list.iter().step_by(ROUGH_LOOKS).all(|m| {
            let view = View::at(self.camera, m.at_s);
            let people = self.moments.stage.people(self.plan, other, m.at_s);
            let there = people.iter().find(|p| &p.person == person);
            there.is_none_or(|p| in_frame_share(&view, p) >= 1.0 && looks_this_way(p, view.eye))
        })
    }

    /// The least clear share with the camera as it is; none when people run into each other or a wanted face is not
    /// whole in frame and turned to the lens.
    fn least_as_framed(&self, after: &Moments) -> Option<f64> {
        let mut least = 1.0_f64;
        let still = self.camera.marks.is_empty();
        for (m, old) in after.list.iter().zip(&self.moments.list) {
            if still && m.as_before && old.as_before {
                continue;
            }
            let near = |p: &Placed, q: &Placed| p.position.distance(q.position) < APART_M;
            for (i, p) in m.people.iter().enumerate() {
                // Those who already stood so near may.
                if m.people[..i].iter().zip(&old.people[..i]).any(|(q, r)| near(p, q) && !near(&old.people[i], r)) {
                    return None;
                }
            }
            let view = View::at(self.camera, m.at_s);
            for p in m.people.iter().filter(|p| self.shot.faces.contains(&p.person)) {
                if in_frame_share(&view, p) < 1.0 || !looks_this_way(p, view.eye) {
                    return None;
                }
                least = least.min(face_view_among(&[after.stage.solids(), &m.bodies], &view, p).clear);
                if least < self.share {
                    return Some(least);
                }
            }
        }
        Some(least)
    }
}

fn in_piece(plan: &Plan, p: DVec2) -> bool {
    plan.location.pieces.iter().filter(|x| x.base_m < 1.0).any(|x| distance_to_outline(p, &footprint(x)) < FROM_PIECE_M)
}
