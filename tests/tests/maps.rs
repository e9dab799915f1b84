//! Maps over the floor against closed forms.

use glam::DVec2;
use tapemark_acceptance::*;
use tapemark_core::light::*;
use tapemark_core::plan::*;
use tapemark_core::scene::Scene;

/// A black room, so that no wall adds anything.
fn black_room(fixtures: Vec<Fixture>) -> (Plan, Rig) {
    let mut plan = Plan::empty();
    let mut room = Room::new("room", "Room", vec![[0., 0.], [6., 0.], [6., 4.], [0., 4.]]);
    let black = Finish { reflectance_rgb: [0.0; 3] };
    room.finishes = Finishes { walls: black, floor: black, ceiling: black };
    plan.location.rooms.push(room);
    let mut rig = Rig::new("r", "R");
    rig.fixtures = fixtures;
    (plan, rig)
}

fn map(plan: &Plan, rig: &Rig, shows: MapShows) -> LightMap {
    let scene = Scene::of(plan, &plan.shots[0], 0.0);
    let light = Transport::of(plan, Some(rig), &scene, FINE_PATCH_M, None);
    light_map(plan, &scene, &light, &MapSpec { shows, ..MapSpec::new(1.0, 0.1, MapFacing::Up) })
}

fn bulb(id: &str, at: [f64; 2], candela: f64, cct_k: f64) -> Fixture {
    let mut f = bulb_100_cd(at, 2.5);
    f.id = id.into();
    f.output_lm = Some(4.0 * std::f64::consts::PI * candela);
    f.cct_k = cct_k;
    f
}

/// Horizontal illuminance of a bulb at a cell's middle: I·h/d³ (inverse-square and cosine law).
fn level(at: DVec2, lamp: [f64; 2], candela: f64) -> f64 {
    let h = 1.5_f64;
    candela * h / (at.distance_squared(DVec2::from_array(lamp)) + h * h).powf(1.5)
}

/// Every cell of the level map is the sum of the closed forms; of the key:fill map, (key + fill)/fill in stops,
/// the stronger lamp being the key.
#[test]
fn levels_and_key_to_fill_are_closed_forms() {
    let (a, b) = ([1.5, 2.0], [4.5, 2.5]);
    let (plan, rig) = black_room(vec![bulb("a", a, 400.0, 5600.0), bulb("b", b, 100.0, 5600.0)]);
    let (levels, key_fill) = (map(&plan, &rig, MapShows::Level), map(&plan, &rig, MapShows::KeyFill));
    let mut cells = 0;
    for j in 0..levels.ny {
        for i in 0..levels.nx {
            let at = levels.origin + DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * levels.cell_m;
            let (key, fill) = (level(at, a, 400.0), level(at, b, 100.0));
            near(levels.at(at).unwrap(), key + fill, 1e-4);
            within(key_fill.key_fill_at(at).unwrap(), ((key + fill) / fill).log2(), 1e-3);
            cells += 1;
        }
    }
    assert_eq!(cells, 60 * 40);
}

/// Where the plan is balanced to the lamp the light looks neutral (the definition of white balance); a warmer
/// lamp looks red over green over blue, and a bluer one the other way round (Planck's law).
#[test]
fn colours_are_those_of_the_white_balance() {
    for (cct_k, order) in [(3200.0, -1), (5600.0, 0), (9000.0, 1)] {
        let (mut plan, rig) = black_room(vec![bulb("a", [3.0, 2.0], 100.0, cct_k)]);
        plan.exposure.white_balance_k = 5600.0;
        let shown = map(&plan, &rig, MapShows::Colour);
        let [r, g, b] = shown.look_srgb[shown.nx * shown.ny / 2 + shown.nx / 2];
        match order {
            -1 => assert!(r > g && g > b, "{r} {g} {b}"),
            0 => assert!(r.abs_diff(b) <= 1 && r.abs_diff(g) <= 1, "{r} {g} {b}"),
            _ => assert!(b > g && g > r, "{r} {g} {b}"),
        }
        near(shown.at(DVec2::new(3.05, 2.05)).unwrap(), level(DVec2::new(3.05, 2.05), [3.0, 2.0], 100.0), 1e-4);
    }
}

/// The map past a wall's end is that of two half rooms: behind a screen no direct light, beside it all of it;
/// the shadow's edge falls where similar triangles put it.
#[test]
fn a_screen_casts_its_shadow_where_triangles_say() {
    let (mut plan, rig) = black_room(vec![bulb("a", [1.0, 2.0], 100.0, 5600.0)]);
    let mut screen = Piece::new("s", "screen", [3.0, 2.0], [0.02, 1.0], 2.6);
    screen.finish.reflectance_rgb = [0.0; 3];
    plan.location.pieces.push(screen);
    let levels = map(&plan, &rig, MapShows::Level);
    for j in 0..levels.ny {
        for i in 0..levels.nx {
            let at = levels.origin + DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * levels.cell_m;
            // From x = 1 past the screen's edges at x = 3, y = 1.5 and 2.5.
            let half = 0.25 * (at.x - 1.0);
            if at.x > 3.2 && ((at.y - 2.0).abs() - half).abs() > 0.02 {
                let wanted = if (at.y - 2.0).abs() < half { 0.0 } else { level(at, [1.0, 2.0], 100.0) };
                within(levels.at(at).unwrap(), wanted, 1e-3 + wanted * 1e-4);
            }
        }
    }
}
