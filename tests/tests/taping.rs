//! Places found again by tape alone: the two distances and the letters that the list gives, worked back by school
//! geometry on plans that nobody tuned.

use glam::DVec2;
use tapemark_acceptance::plausible::{plausible, small};
use tapemark_core::plan::Plan;
use tapemark_core::taping::{LetteredWall, TapeLine, TapedFrom, lettered_walls, room_at, tape_lines, taped_from};

/// Furthest that a place set out by the list may lie off, metres: common practice, no source.
const WITHIN_M: f64 = 0.02;
/// How far a tape is read off, each way, metres, besides the rounding to whole centimetres.
const READ_OFF_M: f64 = 0.005;

/// What the crew has: a distance to the centimetre and the letters.
struct Told {
    letters: String,
    from: TapedFrom,
    distance_m: f64,
}

fn told(plan: &Plan, p: DVec2, line: &TapeLine) -> Told {
    let distance_m = (line.distance_m * 100.0).round() / 100.0;
    Told { letters: taped_from(plan, p, line), from: line.from, distance_m }
}

/// The corner where the walls of two letters meet.
fn corner(walls: &[LetteredWall], letters: &str) -> DVec2 {
    let pairs = walls.iter().flat_map(|x| walls.iter().map(move |y| (x, y)));
    let met = pairs.filter(|(x, y)| format!("{}{}", x.letter, y.letter) == letters && x.room == y.room);
    let ends: Vec<DVec2> = met.filter(|(x, y)| x.b.distance(y.a) < 1e-9).map(|(x, _)| x.b).collect();
    assert_eq!(ends.len(), 1, "{letters}");
    ends[0]
}

/// Where two taped distances put a place: on two lines parallel to walls, or where two circles about corners cross, the
/// crossing nearer to `about`, for both lie plainly apart on a floor.
fn set_out(walls: &[LetteredWall], told: &[Told], about: DVec2) -> DVec2 {
    match told[0].from {
        TapedFrom::Wall => {
            let line = |t: &Told| {
                let w = walls.iter().find(|w| w.letter == t.letters).expect("a wall of that letter");
                (w.inward, w.inward.dot(w.a) + t.distance_m)
            };
            let ((n, c), (m, d)) = (line(&told[0]), line(&told[1]));
            let whole = n.perp_dot(m);
            DVec2::new(c * m.y - d * n.y, d * n.x - c * m.x) / whole
        }
        TapedFrom::Corner => {
            let (a, b) = (corner(walls, &told[0].letters), corner(walls, &told[1].letters));
            let (r, s) = (told[0].distance_m, told[1].distance_m);
            let apart = a.distance(b);
            let along = (r * r - s * s + apart * apart) / (2.0 * apart);
            let high = (r * r - along * along).max(0.0).sqrt();
            let way = (b - a) / apart;
            let both = [1.0, -1.0].map(|side| a + way * along + way.perp() * (side * high));
            if both[0].distance(about) < both[1].distance(about) { both[0] } else { both[1] }
        }
    }
}

#[test]
fn every_place_is_found_again_within_two_centimetres() {
    let (mut worst, mut count, mut corners, mut short) = (0.0_f64, 0, 0, 0);
    let plans = (0..40).map(plausible).chain((0..60).map(small));
    for plan in plans {
        let walls = lettered_walls(&plan);
        let marks = plan.shots.iter().flat_map(|s| s.marks.iter().map(|m| m.position_m));
        let lamps = plan.rigs.iter().flat_map(|r| r.fixtures.iter().map(|f| f.position_m));
        let places = marks.chain(lamps).chain(plan.cameras.iter().map(|c| c.position_m)).map(DVec2::from_array);
        for p in places.filter(|p| room_at(&plan, *p).is_some()) {
            let lines = tape_lines(&plan, p);
            if lines.len() < 2 {
                short += 1;
                continue;
            }
            count += 1;
            corners += usize::from(lines[0].from == TapedFrom::Corner);
            for (x, y) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
                let mut told: Vec<Told> = lines.iter().map(|l| told(&plan, p, l)).collect();
                told[0].distance_m += x * READ_OFF_M;
                told[1].distance_m += y * READ_OFF_M;
                worst = worst.max(set_out(&walls, &told, p).distance(p));
            }
        }
    }
    println!("{count} places, {corners} from corners, {short} without a second distance, worst {worst:.4} m");
    assert!(count > 400 && corners > 0, "{count}, {corners}");
    assert!(worst < WITHIN_M, "{worst}");
    assert!(short * 50 < count, "{short} of {count} have no two distances that cross well");
}
