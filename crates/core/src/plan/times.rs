//! Times of marks that follow one another: nobody can be at the next mark before leaving the one before.
//!
//! Old files may hold such times, and open; an edit that brings new ones is refused.

use super::{Camera, Mark, Plan, Shot, ShotId};
use tapemark_words::{figure, say};

/// Marks this near in time begin at once, seconds.
const AT_ONCE_S: f64 = 1e-6;

/// A mark that begins before the one before it is left.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Crossed {
    /// In which shot; absent: on a camera's move.
    pub shot: Option<ShotId>,
    /// Person or camera.
    pub who: String,
    /// The mark before and the mark.
    pub marks: [String; 2],
    /// What is wrong, with the place.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

/// The marks of everyone in a shot that cross in time.
pub(crate) fn crossed_in(plan: &Plan, shot: &Shot) -> Vec<Crossed> {
    let mut marks: Vec<&Mark> = shot.marks.iter().collect();
    // Of marks that begin at once, those in the file first.
    marks.sort_by(|a, b| a.person.cmp(&b.person).then(a.from_s.total_cmp(&b.from_s)));
    let pairs = marks.windows(2).filter(|w| w[0].person == w[1].person);
    let crossing = |w: &&[&Mark]| w[1].from_s < w[0].to_s.unwrap_or(0.0) || w[1].from_s - w[0].from_s < AT_ONCE_S;
    pairs
        .filter(crossing)
        .map(|w| {
            let name = plan.person(&w[0].person).map_or("", |p| p.name.as_str());
            let (shot_name, arrives) = (shot.name.as_str(), figure(w[1].from_s, 1));
            let left_s = w[0].to_s.filter(|to| w[1].from_s < *to);
            let what = match left_s {
                Some(to) => say!("arrives-before-leaving", shot = shot_name, name, arrives, leaves = figure(to, 1)),
                None => say!("two-marks-begin-at-once", shot = shot_name, name, arrives),
            };
            let least = figure(left_s.unwrap_or(w[0].from_s), 1);
            Crossed {
                shot: Some(shot.id.clone()),
                who: w[0].person.to_string(),
                marks: [w[0].id.to_string(), w[1].id.to_string()],
                what,
                remedy: say!("let-arrive-after", least),
            }
        })
        .collect()
}

/// The marks of a camera's move whose times do not rise.
pub(crate) fn crossed_of(camera: &Camera) -> Vec<Crossed> {
    let times: Vec<f64> = std::iter::once(0.0).chain(camera.marks.iter().map(|m| m.at_s)).collect();
    (1..times.len())
        .filter(|i| times[*i] - times[i - 1] < AT_ONCE_S)
        .map(|i| {
            let (at, before) = (figure(times[i], 1), figure(times[i - 1], 1));
            Crossed {
                shot: None,
                who: camera.id.to_string(),
                marks: [i.to_string(), (i + 1).to_string()],
                what: say!("camera-marks-do-not-rise", camera = camera.name, mark = i + 1, at, before = before),
                remedy: say!("let-the-camera-be-there-later", before),
            }
        })
        .collect()
}

/// The first times a plan has crossed that the plan it was made of has not.
pub(crate) fn newly_crossed(before: &Plan, after: &Plan) -> Option<Crossed> {
    let new = |had: &[Crossed], c: &Crossed| !had.iter().any(|h| h.shot == c.shot && h.marks == c.marks);
    let of_shots = after.shots.iter().enumerate().filter_map(|(i, s)| {
        let old = before.shots.get(i).filter(|o| o.id == s.id).or_else(|| before.shot(&s.id));
        if old.is_some_and(|o| o.marks == s.marks) {
            return None;
        }
        let had = old.map(|o| crossed_in(before, o)).unwrap_or_default();
        crossed_in(after, s).into_iter().find(|c| new(&had, c))
    });
    let of_cameras = after.cameras.iter().filter_map(|k| {
        let old = before.camera(&k.id);
        if old.is_some_and(|o| o.marks == k.marks) {
            return None;
        }
        let had = old.map(crossed_of).unwrap_or_default();
        crossed_of(k).into_iter().find(|c| new(&had, c))
    });
    of_shots.chain(of_cameras).next()
}
