//! One HTML file for the crew: opens from a mail on any phone, asks nothing of any network, and is read whole with
//! scripts off.

use crate::font::FAMILY;
use crate::lists::{Cell, List, lists_of};
use crate::marks::{Flip, Shape};
use crate::page::{Crop, Fit, extent, own_rooms};
use crate::palette::{Palette, person_ink};
use crate::plan::{PlanLook, plan_marks};
use crate::svg;
use crate::tables::seen;
use base64::Engine;
use glam::DVec2;
use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageBuffer, Rgba};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use rayon::prelude::*;
use serde_json::json;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use tapemark_core::day::{DayFacts, WorkedShot};
use tapemark_core::kit::KitFile;
use tapemark_core::notices::{Severity, caution};
use tapemark_core::plan::{Plan, Shot};
use tapemark_core::power::power_caution;
use tapemark_core::progress::{Progress, Stopped};
use tapemark_core::scene::place;
use tapemark_core::taping::room_index_at;
use tapemark_core::units::format_length;
use tapemark_words::{figure, say, spoken};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");
/// Pixels across a shot's picture, and its quality in JPEG: about 15 KB.
const PICTURE_PIXELS: usize = 400;
const QUALITY: u8 = 70;
/// Size of a shot's plan, in the drawing's own units.
const PLAN: [f64; 2] = [120.0, 80.0];
/// Steps of a shot's moves, at most, and the shortest, seconds.
const STEPS: f64 = 60.0;
const STEP_S: f64 = 0.25;

/// Everything the crew needs of a plan on one page for phones: shots with plan and picture, marks, lamps, kit and the order
/// of the day. It has no part outside itself, and its content security policy allows none.
///
/// # Errors
/// When it was stopped.
pub fn to_html(plan: &Plan, kit: &KitFile, progress: &Progress) -> Result<String, Stopped> {
    progress.expect(plan.shots.len());
    let day = DayFacts::watched(plan, kit, 0.0, progress)?;
    let lists = lists_of(plan, &day);
    let list = |name: &str| lists.iter().find(|l| l.name == name).filter(|l| !l.rows.is_empty());
    // As they are shot.
    let mut shots: Vec<&WorkedShot<'_>> = day.shots.iter().collect();
    let called = |w: &WorkedShot<'_>| day.order.calls.iter().position(|c| c.setup.shots.contains(&w.shot.id));
    shots.sort_by_key(|w| called(w).unwrap_or(usize::MAX));
    let cards: Vec<Markup> =
        shots.par_iter().map(|w| progress.step(|| card(plan, w, &day))).collect::<Result<_, _>>()?;
    let parts: [(&str, &str, Markup); 5] = [
        ("shots", say!("shots-label"), html! { div.cards { @for c in &cards { (c) } } }),
        ("marks", say!("marks-to-tape"), tables(plan, &[(list("taping"), true), (list("marks"), false)])),
        (
            "lamps",
            say!("lamps-label"),
            html! {
                p.caution { (caution()) }
                (tables(plan, &[(list("lamps"), true), (list("grip"), true)]))
                p.caution { (power_caution()) }
                (tables(plan, &[(list("circuits"), false), (list("cables"), true)]))
            },
        ),
        ("kit", say!("kit"), tables(plan, &[(list("kit"), true), (list("stand-ins"), false)])),
        (
            "order",
            say!("order-of-the-day"),
            tables(plan, &[(list("order"), false), (list("cast-calls"), false), (list("notices"), false)]),
        ),
    ];
    let hash = |text: &str| base64::engine::general_purpose::STANDARD.encode(Sha256::digest(text.as_bytes()));
    let policy = format!(
        "default-src 'none'; img-src data:; style-src 'sha256-{}'; script-src 'sha256-{}'; base-uri 'none'; form-action 'none'",
        hash(STYLE),
        hash(SCRIPT)
    );
    let key = format!("{:x}", Sha256::digest(plan.title.as_bytes()))[..16].to_string();
    let page = html! {
        (DOCTYPE)
        html lang=(spoken().tag()) data-plan=(key) {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content="Tapemark";
                title { (plan.title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (plan.title) }
                    p { (plan.location.name) }
                    p { (say!("from-to-clock", from = plan.day.start, to = plan.day.wrap)) }
                }
                nav aria-label=(say!("parts-of-the-page")) {
                    @for (id, title, _) in &parts { a href={ "#" (id) } { (title) } }
                }
                main {
                    div.hand hidden {
                        div {
                            label for="who" { (say!("whose-marks")) }
                            select #who {
                                option value="" { (say!("everyone")) }
                                @for p in &plan.cast { option value=(p.name) { (p.name) } }
                            }
                        }
                        button #dim type="button" aria-pressed="false" { (say!("dark-on-set")) }
                        button #as-text type="button" { (say!("ticks-as-text")) " (" span #count {} ")" }
                    }
                    p.told #not-kept hidden role="status" { (say!("ticks-are-not-kept")) }
                    textarea #text hidden readonly aria-label=(say!("ticks-as-text")) {}
                    noscript { p.told { (say!("without-script-nothing-is-ticked")) } }
                    @for (id, title, body) in &parts {
                        section id=(id) { h2 { (title) } (body) }
                    }
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    Ok(page.into_string())
}

/// A shot: what happens, the picture, the plan, who stands where, the camera, what stands against it.
fn card(plan: &Plan, w: &WorkedShot<'_>, day: &DayFacts<'_>) -> Markup {
    let shot = w.shot;
    let call = day.order.calls.iter().find(|c| c.setup.shots.contains(&shot.id)).map(|c| c.from);
    let fit = Fit::filling(extent(plan, shot, Crop::Shot), [0.0, 0.0, PLAN[0], PLAN[1]]);
    let alt = say!("picture-of-shot-by-lens", shot = shot.name);
    let of_plan = say!("plan-of-shot", shot = shot.name);
    let against: Vec<_> = w.facts.notices.iter().filter(|n| n.severity != Severity::Hint).collect();
    let names: Vec<&str> = shot.marks.iter().filter_map(|m| plan.person(&m.person)).map(|p| p.name.as_str()).collect();
    html! {
        article data-cast=(json!(names)) {
            h3 {
                (shot.name) " · " (shot.size.label())
                @if let Some(call) = call { span { (say!("called-at", call)) } }
            }
            @if !shot.description.is_empty() { p { (shot.description) } }
            @if let Some(jpeg) = picture(plan, w) { img alt=(alt) src={ "data:image/jpeg;base64," (jpeg) }; }
            (PreEscaped(drawing(plan, w, &fit, &of_plan)))
            @if let Some(moves) = moves(plan, shot, &fit) {
                input type="range" hidden min="0" max=(moves.1) value="0" data-moves=(moves.0)
                    aria-label=(say!("moment-of-shot", shot = shot.name));
                output {}
            }
            ul {
                @for m in &shot.marks {
                    @let name = plan.person(&m.person).map_or("", |p| p.name.as_str());
                    li data-who=(name) { (mark_words(plan, name, m)) }
                }
            }
            (camera(plan, w))
            @if against.is_empty() { p.good { (say!("nothing-stands-against-this-shot")) } }
            ul { @for n in &against { li { strong.bad { (n.what) } br; (n.remedy) } } }
            (tick(&format!("{}: {}", say!("shot-done"), shot.name), say!("shot-done")))
        }
    }
}

fn mark_words(plan: &Plan, name: &str, m: &tapemark_core::plan::Mark) -> String {
    let lines = tapemark_core::taping::tape_lines(plan, m.position_m.into());
    let walls = crate::tables::taping(plan, m.position_m, &lines);
    say!("name-from-second-at", name, from_s = figure(m.from_s, 1), walls)
}

fn camera(plan: &Plan, w: &WorkedShot<'_>) -> Markup {
    let Some(c) = &w.facts.camera else { return html! {} };
    let l = |m: f64| format_length(m, plan.length_unit);
    let focus = say!(
        "focus-m-near-m-to-far",
        focus_m = l(c.focus_m),
        near_m = l(c.near_m),
        far_m = c.far_m.map_or("∞".into(), l)
    );
    let at = [c.position_m[0], c.position_m[1]];
    html! {
        dl {
            dt { (say!("lens")) } dd { (figure(c.focal_mm, 0)) " mm, T" (figure(c.t_stop, 1)) }
            dt { (say!("lens-height-pan-tilt")) }
            dd { (l(c.position_m[2])) ", " (figure(c.pan_deg, 0)) "°, " (figure(c.tilt_deg, 0)) "°" }
            dt { (say!("from-the-walls")) } dd { (crate::tables::taping(plan, at, &c.tape)) }
            dt { (say!("focus")) } dd { (focus) }
        }
    }
}

/// A line to tick. Its words are its name: a plan that is written again keeps the ticks of what stayed.
fn tick(key: &str, words: &str) -> Markup {
    html! { label.tick { input type="checkbox" disabled data-tick=(key); span { (words) } } }
}

/// Lists one after another, with something to tick before each row or without.
fn tables(plan: &Plan, lists: &[(Option<&List>, bool)]) -> Markup {
    html! { @for (list, ticks) in lists { @if let Some(list) = list { (table(plan, list, *ticks)) } } }
}

/// What each row of a list is called among ticks: its words but for its place in the list, so that what stays is still
/// ticked when the plan is written again; told apart where two say the same.
fn keys(plan: &Plan, list: &List, shown: &[usize]) -> Vec<String> {
    let mut met: HashMap<String, usize> = HashMap::new();
    let key = |row: &Vec<Cell>| {
        let told = shown.iter().filter(|i| list.heads[**i].key != "no");
        let words: Vec<String> = told.map(|i| row[*i].shown(plan)).filter(|w| !w.is_empty()).collect();
        let key = format!("{}: {}", list.title, words.join(" "));
        let count = met.entry(key.clone()).or_default();
        *count += 1;
        if *count > 1 { format!("{key} ({count})") } else { key }
    };
    list.rows.iter().map(key).collect()
}

fn table(plan: &Plan, list: &List, ticks: bool) -> Markup {
    let shown: Vec<usize> = (0..list.heads.len()).filter(|i| list.heads[*i].share > 0.0).collect();
    let person = list.heads.iter().position(|h| h.key == "person");
    let row_keys = keys(plan, list, &shown);
    html! {
        div.table tabindex="0" role="region" aria-label=(list.title) {
            table.stack {
                caption { (list.title) }
                thead {
                    tr {
                        @if ticks { th scope="col" { (say!("done-label")) } }
                        @for i in &shown {
                            @let title = list.heads[*i].title;
                            @if title.is_empty() { td {} } @else { th scope="col" { (title) } }
                        }
                    }
                }
                tbody {
                    @for (row, key) in list.rows.iter().zip(&row_keys) {
                        @let words: Vec<String> = shown.iter().map(|i| row[*i].shown(plan)).collect();
                        tr data-who=[person.map(|p| row[p].plain())] {
                            @if ticks {
                                td data-label=(say!("done-label")) {
                                    input type="checkbox" disabled data-tick=(key) aria-label=(words.join(" "));
                                }
                            }
                            @for (i, text) in shown.iter().zip(&words) { td data-label=(list.heads[*i].title) { (text) } }
                        }
                    }
                }
            }
        }
    }
}

fn picture(plan: &Plan, w: &WorkedShot<'_>) -> Option<String> {
    let frame = seen(plan, w, PICTURE_PIXELS)?;
    let pixels: ImageBuffer<Rgba<u8>, _> = ImageBuffer::from_raw(frame.width as u32, frame.height as u32, frame.rgba)?;
    let mut bytes = Vec::new();
    let rgb = DynamicImage::from(pixels).into_rgb8();
    JpegEncoder::new_with_quality(&mut bytes, QUALITY).encode_image(&rgb).ok()?;
    Some(base64::engine::general_purpose::STANDARD.encode(bytes))
}

/// The plan round a shot.
fn drawing(plan: &Plan, w: &WorkedShot<'_>, fit: &Fit, title: &str) -> String {
    let look = PlanLook { dimensions: false, ..PlanLook::paper(fit.mm_per_m) };
    let marks = plan_marks(&without_other_rooms(plan, w.shot), w.shot, &w.scene, &w.facts, &look);
    let mut out = format!(
        r#"<svg class="plan" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {} {}" role="img" aria-label="{}" font-family="{FAMILY}, sans-serif">"#,
        PLAN[0],
        PLAN[1],
        svg::escaped(title)
    );
    out.push_str(&format!(
        r#"<rect width="{}" height="{}" fill="{}"/>"#,
        PLAN[0],
        PLAN[1],
        svg::colour(Palette::PAPER.paper)
    ));
    for m in &marks {
        let drawn = m.mapped(|p| fit.place(p), fit.mm_per_m, Flip::Rows).shape;
        if is_seen(&drawn) {
            svg::shape(&mut out, &drawn);
        }
    }
    out.push_str("</svg>");
    out
}

/// A plan without what stands in rooms that the shot is neither played nor lit in: a page holds many shots.
fn without_other_rooms(plan: &Plan, shot: &Shot) -> Plan {
    let own = own_rooms(plan, shot);
    let mut location = (*plan.location).clone();
    location.pieces.retain(|p| room_index_at(plan, p.position_m.into()).is_none_or(|i| own.contains(&i)));
    Plan { location: location.into(), ..plan.clone() }
}

/// Whether anything of a shape may lie in the drawing.
fn is_seen(shape: &Shape) -> bool {
    let room = DVec2::from_array(PLAN);
    let within = |points: &[DVec2]| {
        let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
        let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
        high.cmpge(DVec2::ZERO).all() && low.cmple(room).all()
    };
    match shape {
        Shape::Polyline { points, .. } | Shape::Polygon { points, .. } => within(points),
        Shape::Text { at, .. } => within(&[*at]),
        Shape::Raster { .. } => true,
    }
}

/// Where everyone is from moment to moment in the drawing's units, as JSON, and the number of the last moment; none where
/// nobody moves.
fn moves(plan: &Plan, shot: &Shot, fit: &Fit) -> Option<(String, usize)> {
    let step_s = (shot.length_s / STEPS).max(STEP_S);
    let last = (shot.length_s / step_s).floor() as usize;
    let tenths = |v: f64| (v * 10.0).round() / 10.0;
    let mut moving = false;
    let mut tracks = Vec::new();
    for (n, person) in plan.cast.iter().enumerate() {
        let place = |i: usize| place(person, shot, i as f64 * step_s).map(|p| fit.place(p.position).to_array());
        let at: Vec<Option<[f64; 2]>> = (0..=last).map(|i| place(i).map(|p| p.map(tenths))).collect();
        if at.iter().any(Option::is_some) {
            moving |= at.windows(2).any(|w| w[0] != w[1]);
            tracks.push(json!({ "ink": svg::colour(person_ink(n)), "at": at }));
        }
    }
    moving.then(|| (json!({ "step_s": step_s, "tracks": tracks }).to_string(), last))
}
