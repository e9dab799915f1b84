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

/// The list to tape by has every mark, camera and stand once, room by room, and its way is short: of few places as short as
/// the best of all orders, of many no longer than the nearest next.
#[test]
fn the_list_is_walked_in_a_short_way() {
    use tapemark_core::walk::{TapedPlace, entrance, taping_walk, way_m};
    let (mut few, mut best_of_all) = (0, 0);
    for seed in 0..120 {
        let plan = if seed % 2 == 0 { plausible(seed) } else { small(seed) };
        let walk = taping_walk(&plan);
        let wanted: Vec<[f64; 2]> = plan
            .shots
            .iter()
            .flat_map(|s| {
                let camera = plan.shot_camera(s).into_iter();
                let places =
                    camera.flat_map(|c| std::iter::once(c.position_m).chain(c.marks.iter().map(|m| m.position_m)));
                let lamps = plan.shot_fixtures(s).into_iter().map(|f| f.position_m);
                places.chain(lamps).chain(s.marks.iter().map(|m| m.position_m)).collect::<Vec<_>>()
            })
            .collect();
        let near = |p: &[f64; 2], t: &TapedPlace| (p[0] - t.at_m[0]).hypot(p[1] - t.at_m[1]) < 0.011;
        assert!(wanted.iter().all(|p| walk.iter().any(|t| near(p, t))), "seed {seed}: a place is not in the list");
        assert!(walk.iter().all(|t| wanted.iter().any(|p| near(p, t))), "seed {seed}: a place is nobody's");
        // A room is finished before the next one is begun.
        let rooms: Vec<Option<usize>> = walk.iter().map(|t| t.room).collect();
        let changes = rooms.windows(2).filter(|w| w[0] != w[1]).count();
        let mut different = rooms.clone();
        different.sort_unstable();
        different.dedup();
        assert!(changes < different.len().max(1), "seed {seed}: {rooms:?}");
        if walk.len() <= 7 {
            few += 1;
            let found = way_m(&walk, entrance(&plan));
            let best = orders(walk.clone()).iter().map(|o| way_m(o, entrance(&plan))).fold(f64::INFINITY, f64::min);
            assert!(found <= best + 1e-9, "seed {seed}: {found} m where {best} m do");
            best_of_all += usize::from(found <= best + 1e-9);
        }
    }
    println!("of {few} lists with up to seven places {best_of_all} are in the best order of all");
    assert!(few >= 20 && best_of_all * 10 >= few * 9, "{best_of_all} of {few}");
}

/// Every order of some places.
fn orders<T: Clone>(list: Vec<T>) -> Vec<Vec<T>> {
    if list.len() <= 1 {
        return vec![list];
    }
    (0..list.len())
        .flat_map(|i| {
            let mut rest = list.clone();
            let first = rest.remove(i);
            orders(rest).into_iter().map(move |mut o| {
                o.insert(0, first.clone());
                o
            })
        })
        .collect()
}
