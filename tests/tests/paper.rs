//! The whole day on paper: read back by poppler, legible in black and white, and as it was looked at.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use tapemark::files::{demo, read_kit};
use tapemark_acceptance::{tool, within};
use tapemark_core::kit::KitFile;
use tapemark_core::progress::Progress;
use tapemark_sheet::*;

fn kit() -> KitFile {
    read_kit(&PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../assets/demo/bag.tapemark-kit.json")).unwrap()
}

/// A storyboard picture of our own: a horizon and a figure.
fn drawing() -> Picture {
    let (width, height) = (64, 36);
    let at = |i: usize| {
        let (x, y) = (i % width, i / width);
        let figure = (28..36).contains(&x) && y > 10;
        if figure {
            [40, 40, 40, 255]
        } else if y > 24 {
            [170, 150, 120, 255]
        } else {
            [225, 225, 230, 255]
        }
    };
    Picture { width, height, rgba: (0..width * height).flat_map(at).collect() }
}

/// The day's pages on A4 and on Letter, worked out once for all tests.
fn pages(paper: Paper) -> &'static [Page] {
    static ALL: OnceLock<[Vec<Page>; 2]> = OnceLock::new();
    let all = ALL.get_or_init(|| [worked_out(Paper::A4), worked_out(Paper::Letter)]);
    &all[usize::from(paper == Paper::Letter)]
}

fn worked_out(paper: Paper) -> Vec<Page> {
    let plan = demo();
    let spec = SheetSpec { paper, ..SheetSpec::default() };
    day_pages(&plan, &kit(), &spec, &|s| (s.name == "1").then(drawing), &Progress::default()).unwrap()
}

fn words(page: &Page) -> String {
    let all = page.marks.iter().chain(&page.clipped);
    let texts = all.filter_map(|m| if let Shape::Text { text, .. } = &m.shape { Some(text.as_str()) } else { None });
    texts.collect::<Vec<_>>().join("\n")
}

/// Cover, a page per lighting state, a page per shot, then light, kit, power and order, each with what it must say.
#[test]
fn every_page_is_there_and_says_its_part() {
    let all: Vec<String> = pages(Paper::A4).iter().map(words).collect();
    let page_with = |parts: &[&str]| all.iter().position(|p| parts.iter().all(|w| p.contains(w)));
    let wanted: [&[&str]; 10] = [
        &["The Last Firing", "Shot list", "Cautions", "licensed"],
        &["Rig: Workshop evening — shots 1, 2", "half CTO", "From wall"],
        &["Rig: Corridor — shots 3"],
        &[
            "Shot 1 — medium full shot",
            "What the lens sees",
            "Storyboard",
            "Marks",
            "Faces",
            "Lamps — Workshop evening",
        ],
        &["Shot 2 — medium close-up", "hidden by Jonas"],
        &["Shot 3 — medium close-up"],
        &["Readings", "Shots that cut together", "key direction"],
        &["Kit", "extension cable", "Stand-ins for missing lamps", "Foil"],
        &["Power", "workshop sockets", "Cables", "electrician"],
        &["Order of the day", "no order costs less", "Courier"],
    ];
    let mut last = 0;
    for parts in wanted {
        let at = page_with(parts).unwrap_or_else(|| panic!("no page says {parts:?}"));
        assert!(at >= last, "{parts:?} comes too early");
        last = at;
    }
    let n = all.len();
    assert!(all.iter().enumerate().all(|(i, p)| p.contains(&format!("{} of {n}", i + 1))), "pages are numbered");
}

/// Nothing is printed off the page, on A4 (ISO 216) as on Letter (ANSI A).
#[test]
fn everything_is_on_the_paper() {
    for paper in [Paper::A4, Paper::Letter] {
        for p in pages(paper) {
            for m in &p.marks {
                if let Shape::Text { at, text, size_mm, weight, align, .. } = &m.shape {
                    let w = text_width_mm(text, *size_mm, *weight);
                    let left = match align {
                        Align::Left => at.x,
                        Align::Middle => at.x - w * 0.5,
                        Align::Right => at.x - w,
                    };
                    assert!(
                        left >= 2.0 && left + w <= p.width_mm - 2.0 && at.y > 2.0 && at.y < p.height_mm - 2.0,
                        "{text:?} at {at} on {}",
                        p.title
                    );
                }
            }
        }
    }
}

/// Black and white: every word stands out from white paper by 4.5 : 1 or more (WCAG 2.1, success criterion 1.4.3),
/// and what is wrong is said in words, not by colour alone.
#[test]
fn words_are_legible_without_colour() {
    let linear = |c: u8| {
        let v = f64::from(c) / 255.0;
        if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    let all = pages(Paper::A4);
    for p in all {
        for m in p.marks.iter().chain(&p.clipped) {
            if let Shape::Text { text, ink, .. } = &m.shape {
                let y = 0.2126 * linear(ink.r) + 0.7152 * linear(ink.g) + 0.0722 * linear(ink.b);
                // Faded ink over white.
                let y = y * f64::from(ink.a) / 255.0 + 1.0 - f64::from(ink.a) / 255.0;
                let contrast = 1.05 / (y + 0.05);
                assert!(contrast >= 4.5, "{text:?} on {}: {contrast:.2}", p.title);
            }
        }
    }
    assert!(all.iter().any(|p| words(p).contains("problem")));
}

/// Poppler reads the text and the sizes: A4 is 841.89 × 595.28 pt, Letter 792 × 612 pt.
#[test]
fn poppler_reads_the_pdf() {
    if tool("TAPEMARK_PDFTOTEXT", "pdftotext", &["-v"]).is_none() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (paper, width, height) in [(Paper::A4, 841.89, 595.28), (Paper::Letter, 792.0, 612.0)] {
        let all = pages(paper);
        let file = folder.path().join("day.pdf");
        std::fs::write(&file, to_pdf(all).unwrap()).unwrap();
        let run = |program: &str, args: &[&str]| {
            let out = Command::new(program).args(args).arg(&file).arg("-").output().unwrap();
            String::from_utf8_lossy(&out.stdout).to_string()
        };
        let text = run("pdftotext", &["-layout"]);
        assert_eq!(text.matches('\u{c}').count(), all.len());
        for w in ["Shot list", "Mara glazes at the table", "black cloth off a 1.5 m roll", "Order of the day", "4.60 m"]
        {
            assert!(text.contains(w), "{w}");
        }
        let info = Command::new("pdfinfo").arg(&file).output().unwrap();
        let info = String::from_utf8_lossy(&info.stdout).to_string();
        let size = info.lines().find(|l| l.starts_with("Page size:")).unwrap();
        let numbers: Vec<f64> = size.split_whitespace().filter_map(|t| t.parse().ok()).collect();
        within(numbers[0], width, 0.02);
        within(numbers[1], height, 0.02);
        assert!(info.contains(&format!("Pages:           {}", all.len())), "{info}");
    }
}

/// A phone's picture is 1080 × 1920 pixels and says where to stand.
#[test]
fn a_picture_for_a_phone() {
    let plan = demo();
    let w = tapemark_core::day::worked(&plan, &plan.shots[0], 0.0);
    let page = phone_page(&plan, &w, None);
    let png = to_png(&page, PHONE_DPI).unwrap();
    let size = image::load_from_memory(&png).unwrap().to_rgb8().dimensions();
    assert_eq!(size, (1080, 1920));
    assert!(words(&page).contains("Mara, 0 s on") && words(&page).contains("1.55 m from C"));
}

/// CSV: every list has its head and as many fields in every row; numbers are SI with a full stop.
#[test]
fn lists_are_csv() {
    let plan = demo();
    let all = lists(&plan, &kit());
    let names: Vec<&str> = all.iter().map(|l| l.name).collect();
    for wanted in ["shots", "marks", "readings", "lamps", "circuits", "cables", "kit", "order", "continuity", "notices"]
    {
        assert!(names.contains(&wanted), "{wanted}");
    }
    for l in &all {
        let text = l.csv();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let heads = reader.headers().unwrap().len();
        assert_eq!(heads, l.heads.len());
        let rows: Vec<_> = reader.records().map(Result::unwrap).collect();
        assert_eq!(rows.len(), l.rows.len());
    }
    let marks = all.iter().find(|l| l.name == "marks").unwrap().csv();
    assert!(marks.contains("1,Mara,0.0,,2.600,3.050,155,stands,1.550,C,2.600,D"), "{marks}");
    // A name that a spreadsheet would run is text.
    let mut bad = plan.clone();
    bad.shots[0].notes = "=1+1".into();
    let text = lists(&bad, &kit())[0].csv();
    assert!(text.contains("'=1+1"));
}

/// Pages as they were looked at, 40 dots an inch. `TAPEMARK_GOLDEN=write` draws them anew: look at them before you
/// keep them.
#[test]
fn pages_look_as_they_were_looked_at() {
    let plan = demo();
    let day = pages(Paper::A4);
    let find = |w: &str| day.iter().find(|p| words(p).contains(w)).unwrap();
    let phone = phone_page(&plan, &tapemark_core::day::worked(&plan, &plan.shots[1], 0.0), None);
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("golden");
    for (name, page, dpi) in [
        ("cover", find("Shot list"), 40.0),
        ("rig", find("Rig: Workshop"), 40.0),
        ("shot", find("Shot 1 — medium full shot"), 40.0),
        ("kit", find("Stand-ins"), 40.0),
        ("order", find("Lamps at the change"), 40.0),
        ("phone", &phone, 80.0),
    ] {
        let file = golden.join(format!("{name}.png"));
        let png = to_png(page, dpi).unwrap();
        if std::env::var("TAPEMARK_GOLDEN").is_ok_and(|v| v == "write") {
            std::fs::write(&file, &png).unwrap();
        }
        let now = image::load_from_memory(&png).unwrap().to_luma8();
        let then = image::load_from_memory(&std::fs::read(&file).unwrap()).unwrap().to_luma8();
        assert_eq!(now.dimensions(), then.dimensions(), "{name}");
        // Light is worked out in floats: a grey may differ by a step, a line may not.
        let off = now.pixels().zip(then.pixels()).filter(|(a, b)| a.0[0].abs_diff(b.0[0]) > 24).count();
        let share = off as f64 / now.pixels().len() as f64;
        assert!(share < 0.002, "{name} differs from tests/golden/{name}.png in {:.2} % of its pixels", share * 100.0);
    }
}

/// Work that nobody waits for any more ends without pages.
#[test]
fn stopped_work_gives_no_pages() {
    let progress = Progress::default();
    progress.stop();
    let found = day_pages(&demo(), &kit(), &SheetSpec::default(), &|_| None, &progress);
    assert!(found.is_err());
    assert_eq!(progress.steps().0, 0);
}
