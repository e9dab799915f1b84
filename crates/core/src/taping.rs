//! Where to lay the tape: a point's distances from two walls, or from two corners, and what those are called.

use crate::geometry::{closest_on_segment, point_in_polygon, room_edges, signed_area};
use crate::plan::{Plan, Room};
use glam::DVec2;
use serde::Serialize;

/// What a tape is held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TapedFrom {
    /// A wall, square to it.
    Wall,
    /// A corner of the room, straight across the floor.
    Corner,
}

/// A distance to tape from a wall or a corner.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TapeLine {
    /// Where the tape meets the wall, metres.
    pub wall_point_m: [f64; 2],
    /// Length, metres.
    pub distance_m: f64,
    /// What it is held to.
    pub from: TapedFrom,
}

/// The room a point stands in.
#[must_use]
pub fn room_at(plan: &Plan, p: DVec2) -> Option<&Room> {
    room_index_at(plan, p).map(|i| &plan.location.rooms[i])
}

/// The place in the plan's list of the room a point stands in.
#[must_use]
pub fn room_index_at(plan: &Plan, p: DVec2) -> Option<usize> {
    let spans =
        |r: &Room, k: usize, v: f64| r.outline_m.iter().any(|c| c[k] <= v) && r.outline_m.iter().any(|c| c[k] >= v);
    plan.location.rooms.iter().position(|r| {
        spans(r, 0, p.x) && spans(r, 1, p.y) && {
            let points: Vec<DVec2> = r.outline_m.iter().map(|c| DVec2::from_array(*c)).collect();
            point_in_polygon(p, &points)
        }
    })
}

/// Two walls are square enough to each other up to this cosine of the angle between them (65°): with a centimetre of
/// error along each tape the point found is then less than two off.
const SQUARE_COS: f64 = 0.422_618;
/// A tape across a floor longer than this is not held straight by one person, metres.
const LONGEST_M: f64 = 10.0;
/// Nearer than this two points are one, metres.
const SAME_M: f64 = 1e-6;

/// Two distances by which one person finds a point of a room again: square ones from two walls that are not parallel, or,
/// where the room has none such, straight ones from two of its corners.
///
/// A wall counts where the square from the point meets it between its ends; a corner where nothing of the room's outline
/// is between. None come back outside rooms, and fewer than two where the room has no two that cross well.
#[must_use]
pub fn tape_lines(plan: &Plan, p: DVec2) -> Vec<TapeLine> {
    let Some(room) = room_at(plan, p) else { return Vec::new() };
    let mut feet: Vec<(f64, DVec2, DVec2)> = room_edges(room)
        .filter_map(|(a, b)| {
            let u = (b - a).try_normalize()?;
            let along = (p - a).dot(u);
            let foot = a + u * along;
            let met = along >= -1e-9 && along <= a.distance(b) + 1e-9 && is_free(room, p, foot);
            met.then(|| (foot.distance(p), foot, u))
        })
        .collect();
    feet.sort_by(|x, y| x.0.total_cmp(&y.0));
    let line = |from: TapedFrom| {
        move |(distance_m, at, _): (f64, DVec2, DVec2)| TapeLine { wall_point_m: at.to_array(), distance_m, from }
    };
    // The nearest wall with the nearest that is square enough to it, or else the next nearest.
    let pair = feet.iter().enumerate().find_map(|(i, x)| {
        let y = feet[i + 1..].iter().find(|y| x.2.dot(y.2).abs() < SQUARE_COS)?;
        Some([*x, *y])
    });
    if let Some(pair) = pair {
        return pair.map(line(TapedFrom::Wall)).to_vec();
    }
    if let Some(pair) = corners(room, p) {
        return pair.map(line(TapedFrom::Corner)).to_vec();
    }
    feet.first().copied().map(line(TapedFrom::Wall)).into_iter().collect()
}

/// Whether nothing of a room's outline crosses a line from a point in it, but where it ends.
fn is_free(room: &Room, p: DVec2, to: DVec2) -> bool {
    let way = to - p;
    !room_edges(room).any(|(a, b)| {
        let (side, edge) = (way.perp_dot(b - a), b - a);
        if side.abs() < 1e-12 {
            return false;
        }
        let (t, u) = ((a - p).perp_dot(edge) / side, (a - p).perp_dot(way) / side);
        (1e-9..1.0 - 1e-6).contains(&t) && (-1e-9..=1.0 + 1e-9).contains(&u)
    })
}

/// The two corners of a room from which the lines to a point cross most squarely; none where none cross well.
fn corners(room: &Room, p: DVec2) -> Option<[(f64, DVec2, DVec2); 2]> {
    let seen: Vec<(f64, DVec2, DVec2)> = room_edges(room)
        .filter_map(|(a, _)| {
            let far = a.distance(p);
            let near = far > SAME_M && far <= LONGEST_M && is_free(room, p, a);
            near.then(|| (far, a, (p - a) / far))
        })
        .collect();
    let pairs = seen.iter().enumerate().flat_map(|(i, x)| seen[i + 1..].iter().map(move |y| [*x, *y]));
    let crossing = |pair: &[(f64, DVec2, DVec2); 2]| pair[0].2.dot(pair[1].2).abs();
    // Of pairs that cross alike the nearer; the sum of the ways does not hang on where the outline begins.
    let order = |pair: &[(f64, DVec2, DVec2); 2]| (crossing(pair) * 50.0).round() + 0.01 * (pair[0].0 + pair[1].0);
    pairs.filter(|pair| crossing(pair) < SQUARE_COS).min_by(|x, y| order(x).total_cmp(&order(y)))
}

/// A wall of a room by its letter.
#[derive(Debug, Clone, PartialEq)]
pub struct LetteredWall {
    /// A, B … Z, AA and so on: room by room as they are listed, wall by wall as the outline runs.
    pub letter: String,
    /// One end, metres.
    pub a: DVec2,
    /// Other end, metres; the room lies to the left of `a → b` where its outline runs counter-clockwise.
    pub b: DVec2,
    /// Unit vector into the room.
    pub inward: DVec2,
    /// Place of its room in the plan's list.
    pub room: usize,
}

impl LetteredWall {
    /// How far a point lies from it, metres.
    #[must_use]
    pub fn distance_m(&self, p: DVec2) -> f64 {
        closest_on_segment(p, self.a, self.b).distance(p)
    }
}

/// The n-th letter: A to Z, then AA, AB and so on.
fn letter(n: usize) -> String {
    let last = char::from(b'A' + (n % 26) as u8);
    if n < 26 { last.to_string() } else { format!("{}{last}", letter(n / 26 - 1)) }
}

/// All walls of a plan by letter, so that a list can say which wall a distance is from.
#[must_use]
pub fn lettered_walls(plan: &Plan) -> Vec<LetteredWall> {
    let walls = plan.location.rooms.iter().enumerate().flat_map(|(room, r)| {
        let points: Vec<DVec2> = r.outline_m.iter().map(|c| DVec2::from_array(*c)).collect();
        let turn = if signed_area(&points) < 0.0 { -1.0 } else { 1.0 };
        room_edges(r).map(move |(a, b)| (room, a, b, (b - a).normalize_or_zero().perp() * turn)).collect::<Vec<_>>()
    });
    walls.enumerate().map(|(n, (room, a, b, inward))| LetteredWall { letter: letter(n), a, b, inward, room }).collect()
}

/// The letter of the wall, or the two letters of the corner, that a distance of a point is taped from; empty where the
/// plan has no such wall.
#[must_use]
pub fn taped_from(plan: &Plan, p: DVec2, line: &TapeLine) -> String {
    let at = DVec2::from_array(line.wall_point_m);
    let Some(own) = room_index_at(plan, p) else { return String::new() };
    let walls: Vec<LetteredWall> = lettered_walls(plan).into_iter().filter(|w| w.room == own).collect();
    match line.from {
        TapedFrom::Corner => {
            let mut met: Vec<&str> =
                walls.iter().filter(|w| w.distance_m(at) < SAME_M).map(|w| w.letter.as_str()).collect();
            // The outline closes: the last wall meets the first.
            if met.len() == 2 && walls.first().is_some_and(|w| w.letter == met[0]) && walls.len() > 2 {
                let last = walls.last().map_or("", |w| w.letter.as_str());
                if met[1] == last {
                    met.swap(0, 1);
                }
            }
            met.concat()
        }
        TapedFrom::Wall => {
            // Of two that meet there the one that the tape is square to.
            let square = |w: &LetteredWall| (w.b - w.a).normalize_or_zero().dot((p - at).normalize_or_zero()).abs();
            let met = walls.iter().filter(|w| w.distance_m(at) < SAME_M);
            met.min_by(|x, y| square(x).total_cmp(&square(y))).map_or(String::new(), |w| w.letter.clone())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_is_taped_from_its_two_nearest_square_walls() {
        let mut plan = Plan::empty();
        plan.location.rooms.push(Room::new("r", "R", vec![[0., 0.], [5., 0.], [5., 4.], [0., 4.]]));
        let lines = tape_lines(&plan, DVec2::new(1.0, 3.5));
        assert_eq!(lines.iter().map(|l| l.distance_m).collect::<Vec<_>>(), [0.5, 1.0]);
        assert!(tape_lines(&plan, DVec2::new(9.0, 9.0)).is_empty());
        let names: Vec<String> = lines.iter().map(|l| taped_from(&plan, DVec2::new(1.0, 3.5), l)).collect();
        assert_eq!(names, ["C", "D"]);
    }

    /// A thin triangle has no two walls that a square meets on both and that cross well: its corners do.
    #[test]
    fn where_no_two_walls_cross_well_corners_do() {
        let mut plan = Plan::empty();
        plan.location.rooms.push(Room::new("r", "R", vec![[0., 0.], [6., 0.], [6., 1.6]]));
        let p = DVec2::new(3.0, 0.4);
        let lines = tape_lines(&plan, p);
        assert_eq!(lines.len(), 2);
        for l in &lines {
            let name = taped_from(&plan, p, l);
            assert_eq!(name.len(), if l.from == TapedFrom::Corner { 2 } else { 1 }, "{name}");
            assert!((DVec2::from_array(l.wall_point_m).distance(p) - l.distance_m).abs() < 1e-12);
        }
    }

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 51, 52, 701, 702].map(letter), ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }
}
