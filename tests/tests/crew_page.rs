//! The page for the crew's phones: whole, harmless and small; worked in a real browser by pointer and keyboard.

use base64::Engine;
use sha2::{Digest, Sha256};
use std::path::Path;
use std::process::Command;
use tapemark::files::demo;
use tapemark_acceptance::tool;
use tapemark_core::kit::KitFile;
use tapemark_core::plan::Plan;
use tapemark_core::progress::Progress;
use tapemark_sheet::to_html;

fn page(plan: &Plan) -> String {
    to_html(plan, &KitFile::default(), &Progress::default()).unwrap()
}

/// The demo with names that a page must not take for its own.
fn hostile() -> Plan {
    let mut plan = demo();
    plan.title = "</title><script>alert('title')</script>".into();
    plan.cast[0].name = "\"><img src=x onerror=alert(1)>".into();
    plan.cast[1].name = "'; alert(2); '\\\" ]]> <!-- מרים".into();
    plan.shots[0].description = "</svg></article><script>alert(3)</script>".into();
    plan.shots[1].name = "javascript:alert(4)".into();
    plan
}

/// The text between two marks.
fn between<'a>(page: &'a str, from: &str, to: &str) -> &'a str {
    let start = page.find(from).unwrap() + from.len();
    &page[start..start + page[start..].find(to).unwrap()]
}

/// The content security policy (W3C) names the only style and the only script by their hashes, and lets nothing be
/// fetched.
#[test]
fn its_policy_allows_its_own_parts_alone() {
    let page = page(&hostile());
    let policy = between(&page, "http-equiv=\"Content-Security-Policy\" content=\"", "\"").to_string();
    for (part, text) in
        [("style-src", between(&page, "<style>", "</style>")), ("script-src", between(&page, "<script>", "</script>"))]
    {
        let hash = base64::engine::general_purpose::STANDARD.encode(Sha256::digest(text.as_bytes()));
        assert!(policy.contains(&format!("{part} 'sha256-{hash}'")), "{policy}");
    }
    assert!(policy.starts_with("default-src 'none'; img-src data:;"), "{policy}");
    // One script, one style, no address and no handler but what stands in a name as text.
    assert_eq!((page.matches("<script").count(), page.matches("<style").count()), (1, 1));
    assert!(!page.contains("<img src=x") && !page.contains(" style=\""));
    let addresses = page.matches("http://").count() + page.matches("https://").count();
    assert_eq!(addresses, page.matches("http://www.w3.org/2000/svg").count());
}

/// 400 KB and 45 KB a shot.
#[test]
fn it_is_small() {
    for plan in [demo(), hostile(), twelve_shots(), many_rooms()] {
        let bytes = page(&plan).len();
        assert!(bytes <= 400_000 + 45_000 * plan.shots.len(), "{bytes} bytes for {} shots", plan.shots.len());
    }
}

/// Twelve rooms like the demo's in a row, its shots in the first.
fn many_rooms() -> Plan {
    let mut plan = demo();
    let mut location = (*plan.location).clone();
    let rooms = location.rooms.clone();
    for n in 1..12 {
        for r in &rooms {
            let mut r = r.clone();
            r.id = format!("{}-{n}", r.id).into();
            r.outline_m.iter_mut().for_each(|c| c[1] += 6.0 * n as f64);
            location.rooms.push(r);
        }
        let pieces: Vec<_> = location.pieces.iter().take(20).cloned().collect();
        for mut p in pieces {
            p.id = format!("{}-{n}", p.id).into();
            p.position_m[1] += 6.0 * n as f64;
            location.pieces.push(p);
        }
    }
    plan.location = location.into();
    plan
}

/// The demo's shots four times over.
fn twelve_shots() -> Plan {
    let mut plan = demo();
    let shots = plan.shots.clone();
    for n in 1..4 {
        for s in &shots {
            let mut s = s.clone();
            s.id = format!("{}-{n}", s.id).into();
            s.name = format!("{}{}", s.name, ["", "a", "b", "c"][n]);
            s.cuts_with.clear();
            s.variant_of = None;
            plan.shots.push(s);
        }
    }
    plan
}

/// Everything that has to be read stands in the page itself.
#[test]
fn it_says_what_the_paper_says() {
    let plan = demo();
    let page = page(&plan);
    for s in &plan.shots {
        assert!(page.contains(&s.description), "{}", s.name);
    }
    for words in [
        "Mara, 0.0 s on: 1.55 m from C",
        "half CTO",
        "licensed",
        "Order of the day",
        "workshop sockets",
        "hidden by Jonas",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert_eq!(page.matches("<svg class=\"plan\"").count(), plan.shots.len());
    assert_eq!(page.matches("data:image/jpeg;base64,").count(), plan.shots.len());
    // The same bytes each time.
    assert_eq!(page, self::page(&plan));
}

/// Somebody's own marks carry their name, however many they have; what can be ticked is told apart, and a place that is
/// new at the head of the list leaves the ticks of the others.
#[test]
fn marks_and_ticks_are_somebodys() {
    let plan = demo();
    let text = page(&plan);
    let taping = between(&text, "<section id=\"marks\">", "</table>");
    for person in &plan.cast {
        let mut places: Vec<[f64; 2]> = Vec::new();
        for m in plan.shots.iter().flat_map(|s| &s.marks).filter(|m| m.person == person.id) {
            if !places.contains(&m.position_m) {
                places.push(m.position_m);
            }
        }
        let rows = taping.matches(&format!("<tr data-who=\"{}\">", person.name)).count();
        assert_eq!(rows, places.len(), "{}", person.name);
    }
    let ticks = |text: &str| -> Vec<String> {
        text.split("data-tick=\"").skip(1).map(|t| t.split('"').next().unwrap().to_string()).collect()
    };
    let before = ticks(&text);
    let mut apart = before.clone();
    apart.sort();
    apart.dedup();
    assert_eq!(apart.len(), before.len(), "two things share a tick");
    let mut more = plan.clone();
    let mut extra = more.shots[2].marks[0].clone();
    (extra.position_m, extra.from_s, extra.to_s) = ([7.0, 0.3], 90.0, None);
    more.shots[2].marks.push(extra);
    let after = ticks(&page(&more));
    let lost: Vec<&String> = before.iter().filter(|t| t.starts_with("To tape") && !after.contains(t)).collect();
    assert!(lost.is_empty(), "{lost:?}");
}

/// Cards stand in the order in which the shots are taken.
#[test]
fn cards_stand_as_shots_are_taken() {
    let plan = demo();
    let text = page(&plan);
    let order = tapemark_core::order::order(&plan);
    let taken: Vec<&str> =
        order.calls.iter().flat_map(|c| &c.setup.shots).map(|id| plan.shot(id).unwrap().description.as_str()).collect();
    let places: Vec<usize> = taken.iter().map(|d| text.find(d).unwrap()).collect();
    assert!(places.is_sorted(), "{taken:?} stand at {places:?}");
}

/// A real browser: html-validate and axe-core find nothing, nothing is fetched or run but the page's own script, ticks are
/// kept, and with scripts or storage off it can still be read.
#[test]
fn a_browser_works_it() {
    let Some(node) = tool("TAPEMARK_NODE", "node", &["--version"]) else { return };
    let Some(browser) = tool("TAPEMARK_BROWSER", "chromium", &["--version"]) else { return };
    let tools = std::env::var("TAPEMARK_BROWSER_TOOLS").unwrap_or_default();
    if !Path::new(&tools).join("playwright-core").is_dir() {
        let required = std::env::var("TAPEMARK_TOOLS").is_ok_and(|t| t == "required");
        assert!(!required, "playwright-core is not in TAPEMARK_BROWSER_TOOLS");
        eprintln!("not checked: no playwright-core in TAPEMARK_BROWSER_TOOLS");
        return;
    }
    let browser = std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default())
        .map(|p| p.join(&browser))
        .find(|p| p.is_file())
        .unwrap_or(browser.into());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("browser/crew_page.mjs");
    let folder = tempfile::tempdir().unwrap();
    for (n, (plan, schemes)) in [(demo(), "light,dark"), (hostile(), "light")].into_iter().enumerate() {
        let file = folder.path().join(format!("day-{n}.html"));
        std::fs::write(&file, page(&plan)).unwrap();
        let run = Command::new(&node)
            .arg(&script)
            .args([Path::new(&tools), &browser, &file])
            .args([plan.cast[0].name.as_str(), schemes])
            .output()
            .unwrap();
        let said = [run.stdout, run.stderr].map(|b| String::from_utf8_lossy(&b).to_string()).concat();
        assert!(run.status.success() && said.contains("ok"), "page {n}: {said}");
    }
}
