//! Sheets: true to scale, whole, and made of real text.

use tapemark::files::demo;
use tapemark_acceptance::within;
use tapemark_core::light::MapShows;
use tapemark_core::plan::{Clock, Date, Daylight};
use tapemark_sheet::*;

fn page(scale: Scale) -> Page {
    let plan = demo();
    compose(&plan, &plan.shots[0], &SheetSpec { scale, ..SheetSpec::default() })
}

/// Width of the widest floor on paper, the workshop's, read back from the SVG by a general-purpose XML
/// library.
fn floor_width_mm(svg: &str) -> f64 {
    let tree = roxmltree::Document::parse(svg).unwrap();
    let width = |points: &str| {
        let xs: Vec<f64> = points.split(' ').map(|p| p.split(',').next().unwrap().parse().unwrap()).collect();
        xs.iter().copied().fold(f64::MIN, f64::max) - xs.iter().copied().fold(f64::MAX, f64::min)
    };
    tree.descendants()
        .filter(|n| n.has_tag_name("polygon") && n.attribute("fill") == Some("#faf9f6"))
        .map(|n| width(n.attribute("points").unwrap()))
        .fold(0.0, f64::max)
}

/// At 1:50 a 6.2 m room is 124 mm wide, at 1:25 248 mm (definition of scale, ISO 5455).
#[test]
fn a_room_is_drawn_to_scale() {
    let widths = |scale| {
        let svg = to_svg(&page(scale));
        let tree = roxmltree::Document::parse(&svg).unwrap();
        assert_eq!(tree.root_element().attribute("width"), Some("297mm"));
        floor_width_mm(&svg)
    };
    within(widths(Scale::OneTo(50)), 124.0, 0.01);
    within(widths(Scale::OneTo(25)), 248.0, 0.01);
}

/// "Fit" chooses a scale that rulers have.
#[test]
fn fit_is_a_usual_scale() {
    let p = page(Scale::Fit);
    assert_eq!(p.scale_denominator, 50.0);
}

/// A4 is 297 × 210 mm (ISO 216): 841.89 × 595.28 points in the PDF's page box.
#[test]
fn a_pdf_page_is_a4() {
    let pdf = to_pdf(&[page(Scale::Fit)]).unwrap();
    assert!(pdf.starts_with(b"%PDF-"));
    let text = String::from_utf8_lossy(&pdf);
    let at = text.find("/MediaBox").expect("a page box in the clear");
    let numbers: Vec<f64> = text[at + 9..at + 80]
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|s| s.parse().ok())
        .take(4)
        .collect();
    within(numbers[2], 841.89, 0.02);
    within(numbers[3], 595.28, 0.02);
    assert!(text.contains("/FontFile3") || text.contains("/FontFile2"), "the typeface is embedded");
}

/// A PNG at 100 dots an inch is 297/25.4 × 100 = 1169 pixels wide; read back by a general-purpose library.
#[test]
fn a_png_has_its_pixels() {
    let png = to_png(&page(Scale::Fit), 100.0).unwrap();
    let image = image::load_from_memory(&png).unwrap().to_rgb8();
    assert_eq!(image.dimensions(), (1169, 827));
    let dark = image.pixels().filter(|p| p.0.iter().all(|c| *c < 90)).count();
    assert!(dark > 5_000, "walls and words are drawn: {dark}");
}

#[test]
fn the_sheet_says_what_the_crew_needs() {
    let plan = demo();
    let svg = to_svg(&compose(&plan, &plan.shots[1], &SheetSpec { light_height_m: Some(1.5), ..SheetSpec::default() }));
    for words in [
        "Shot 2",
        "hidden by Jonas",
        "scale 1:50",
        "from the walls",
        "Sandbag every stand",
        "half CTO",
        "Power",
        "Legend",
        "N</text>",
    ] {
        assert!(svg.contains(words), "{words}");
    }
    assert!(svg.contains("@font-face"), "the typeface travels with the drawing");
}

#[test]
fn text_from_a_plan_cannot_break_the_drawing() {
    let mut plan = demo();
    plan.title = "<b>&\"\u{7}]]> ½".into();
    plan.location.pieces[0].name = "</svg>".into();
    let svg = to_svg(&compose(&plan, &plan.shots[0], &SheetSpec::default()));
    assert!(roxmltree::Document::parse(&svg).is_ok());
    assert!(to_png(&compose(&plan, &plan.shots[0], &SheetSpec::default()), 60.0).is_ok());
}

#[test]
fn an_empty_plan_has_a_sheet() {
    let plan = tapemark_core::plan::Plan::empty();
    let p = compose(&plan, &plan.shots[0], &SheetSpec::default());
    assert!(to_pdf(std::slice::from_ref(&p)).is_ok() && to_png(&p, 72.0).is_ok());
    assert!(to_png(&p, 1e9).is_err(), "an absurd resolution is refused");
}

/// The drawing's taping distances find the camera again: subtraction by hand from the demo's corners.
#[test]
fn the_camera_is_taped_from_two_walls() {
    let plan = demo();
    let facts = tapemark_core::facts::shot_facts(&plan, &plan.shots[0], 0.0);
    let c = facts.camera.unwrap();
    let mut d: Vec<f64> = c.tape.iter().map(|t| t.distance_m).collect();
    d.sort_by(f64::total_cmp);
    // Camera at (4.5, 1.2) in a 6.2 × 4.6 m room: 1.2 m from the south wall, 1.7 m from the east.
    within(d[0], 1.2, 1e-9);
    within(d[1], 1.7, 1e-9);
}

/// The demo's one real problem is found.
#[test]
fn the_demo_has_one_problem_and_it_is_the_hidden_face() {
    use tapemark_core::notices::Severity;
    let list = tapemark_core::notices::of_plan(&demo());
    let wrong: Vec<_> = list.iter().filter(|n| n.severity > Severity::Hint).collect();
    assert_eq!(wrong.iter().map(|n| n.code).collect::<Vec<_>>(), ["face-hidden"]);
    assert_eq!(wrong[0].shot.as_ref().unwrap().as_str(), "shot-2");
}

/// The maps that the screen shows are on paper too, each with what its colours mean.
#[test]
fn maps_on_paper_say_what_their_colours_mean() {
    let plan = demo();
    let svg = |spec: SheetSpec| to_svg(&compose(&plan, &plan.shots[0], &spec));
    let with = |light_shows| SheetSpec { light_height_m: Some(1.5), light_shows, ..SheetSpec::default() };
    for (shows, words) in [
        (MapShows::Level, ["lux, and stops from the", "+4</text>"]),
        (MapShows::KeyFill, ["key and fill over fill", "32.0:1</text>"]),
        (MapShows::Colour, ["colour at the white balance", "darker where"]),
    ] {
        let drawn = svg(with(shows));
        assert!(words.iter().all(|w| drawn.contains(w)), "{shows:?}");
        assert!(drawn.contains("<image"), "{shows:?}");
    }
    let drawn = svg(SheetSpec { clear_view: true, ..SheetSpec::default() });
    assert!(drawn.contains("least seen of the faces") && drawn.contains("100 %</text>"));
    assert!(svg(SheetSpec::default()).contains("spot behind the face"));
}

#[test]
fn the_hours_of_sun_are_on_the_sheet() {
    let mut plan = demo();
    (plan.location.latitude_deg, plan.location.longitude_deg) = (Some(52.0), Some(5.0));
    plan.daylight = Some(Daylight {
        date: Date { year: 2026, month: 6, day: 21 },
        clock: Clock { minutes: 14 * 60 },
        utc_offset_h: 2.0,
        sky_type: 12,
        ground_reflectance: 0.2,
    });
    let svg = to_svg(&compose(&plan, &plan.shots[0], &SheetSpec::default()));
    assert!(svg.contains("Sun</text>") && svg.contains("at 14:00"), "where the sun stands");
    assert!(svg.contains("sun on ") || svg.contains("direct sun"), "and when it comes in");
}

/// While a camera is dragged the place is drawn once, and the shot over it: the same shapes as a drawing made whole.
#[test]
fn a_shot_over_its_place_is_the_whole_drawing() {
    use std::collections::BTreeSet;
    use tapemark_core::edit::ItemRef;
    use tapemark_core::{plan::Plan, scene::Scene};
    let mut plan = demo();
    let look = PlanLook::paper(20.0);
    let apart: BTreeSet<ItemRef> = [ItemRef::Piece(plan.location.pieces[1].id.clone())].into();
    let worked_out = |plan: &Plan| {
        let shot = plan.shots[0].clone();
        let scene = Scene::of(plan, &shot, 0.0);
        let facts = tapemark_core::facts::shot_facts(plan, &shot, 0.0);
        (shot, scene, facts)
    };
    let (shot, scene, facts) = worked_out(&plan);
    let place = PlaceDrawn::of((&plan, &shot), &scene, &facts, &look, &apart);
    plan.cameras[0].position_m[0] -= 0.7;
    plan.location.pieces[1].position_m[1] += 0.3;
    let (shot, scene, facts) = worked_out(&plan);
    let sorted = |marks: Vec<Mark>| {
        let (words, shapes): (Vec<_>, Vec<_>) = marks.into_iter().partition(|m| matches!(m.shape, Shape::Text { .. }));
        let mut shapes: Vec<String> = shapes.iter().map(|m| format!("{m:?}")).collect();
        shapes.sort();
        (words.len(), shapes)
    };
    let whole = sorted(plan_marks(&plan, &shot, &scene, &facts, &look));
    let over = sorted([place.marks(), &place.shot_over((&plan, &shot), &scene, &facts, &look)].concat());
    assert_eq!(over.1, whole.1);
    assert!(over.0.abs_diff(whole.0) <= 2, "{} words, {} in the whole drawing", over.0, whole.0);
}
