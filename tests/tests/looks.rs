//! The window's and the sheet's colours against published measures.

use tapemark::editor::Shade;
use tapemark_core::plan::Plan;
use tapemark_sheet::{Ink, Palette, PlanLook, person_ink, plan_marks};

/// Relative luminance and contrast ratio (W3C, WCAG 2.1, definitions).
fn luminance(i: Ink) -> f64 {
    let c = |v: u8| {
        let v = f64::from(v) / 255.0;
        if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * c(i.r) + 0.7152 * c(i.g) + 0.0722 * c(i.b)
}

fn contrast(a: Ink, b: Ink) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// WCAG 2.1: 4.5 : 1 for text (1.4.3), 7 : 1 where more is asked for (1.4.6).
#[test]
fn inks_can_be_read() {
    for (palette, least) in
        [(Palette::PAPER, 4.5), (Palette::LIGHT, 4.5), (Palette::DARK, 4.5), (Palette::CONTRAST, 7.0)]
    {
        for ink in [palette.ink, palette.quiet, palette.camera, palette.clear, palette.wrong] {
            for behind in [palette.paper, palette.floor] {
                let ratio = contrast(ink, behind);
                assert!(ratio >= least, "{ink:?} on {behind:?}: {ratio:.2}");
            }
        }
    }
    assert!(contrast(Palette::NIGHT.ink, Palette::NIGHT.paper) >= 4.5);
}

/// Every pair of the window's colours that meets on screen: text 4.5 : 1, the borders of controls 3 : 1 (WCAG 2.2, 1.4.3
/// and 1.4.11).
#[test]
fn the_windows_parts_can_be_read() {
    for (shade, _) in Shade::ALL {
        let t = shade.tokens();
        let ink = |c: tapemark::editor::Colour| Ink::rgb(c.r(), c.g(), c.b());
        let ratio = |a, b| contrast(ink(a), ink(b));
        for ground in [t.panel, t.card] {
            for (name, text) in [("ink", t.ink), ("dim", t.dim), ("good", t.good), ("warn", t.warn)] {
                assert!(ratio(text, ground) >= 4.5, "{shade:?}: {name} {:.2}", ratio(text, ground));
            }
            assert!(ratio(t.edge, ground) >= 3.0, "{shade:?}: edge {:.2}", ratio(t.edge, ground));
            assert!(ratio(t.accent, ground) >= 3.0, "{shade:?}: accent {:.2}", ratio(t.accent, ground));
        }
        for ground in [t.accent, t.warn] {
            assert!(ratio(t.on_accent, ground) >= 4.5, "{shade:?}: on it {:.2}", ratio(t.on_accent, ground));
        }
    }
}

#[test]
fn the_night_look_has_no_red() {
    let p = Palette::NIGHT;
    for ink in [p.paper, p.floor, p.wall, p.ink, p.quiet, p.piece, p.glass, p.camera, p.wrong, p.clear, p.selected] {
        assert_eq!(ink.r, 0, "{ink:?}");
        assert!(luminance(ink) < 0.5, "dim: {ink:?}");
    }
}

/// Okabe & Ito 2008 (Color Universal Design), the eight colours that all kinds of colour vision tell apart, without
/// black and yellow.
#[test]
fn people_have_the_published_colours() {
    let published = [(213, 94, 0), (0, 114, 178), (0, 158, 115), (204, 121, 167), (86, 180, 233), (230, 159, 0)];
    for (n, (r, g, b)) in published.into_iter().enumerate() {
        assert_eq!(person_ink(n), Ink::rgb(r, g, b));
    }
}

/// A bounce board is lighter than black cloth in every look, by the 3 : 1 that WCAG 2.1 asks of graphics (1.4.11).
#[test]
fn white_is_lighter_than_black() {
    for p in [Palette::PAPER, Palette::DARK, Palette::CONTRAST, Palette::NIGHT] {
        assert!(luminance(p.white()) > luminance(p.black()));
        assert!(contrast(p.white(), p.black()) >= 3.0, "{:.2}", contrast(p.white(), p.black()));
    }
}

/// On the screen no words lie over others, at any zoom, on the demo and on plans that nobody tuned.
#[test]
fn no_words_lie_over_others_on_the_screen() {
    let mut plans: Vec<(String, Plan)> = vec![("demo".into(), tapemark::files::demo())];
    plans.extend((0..20).map(|seed| (format!("seed {seed}"), tapemark_acceptance::plausible::plausible(seed))));
    let mut over = Vec::new();
    let mut count = 0;
    for (name, plan) in &plans {
        for shot in plan.shots.iter().take(2) {
            let worked = tapemark_core::day::worked(plan, shot, 0.0);
            for mm_per_m in [4.0, 9.0, 18.0, 40.0] {
                let look = PlanLook { sparing: true, text_mm: 2.7, ..PlanLook::paper(mm_per_m) };
                let marks = plan_marks(plan, shot, &worked.scene, &worked.facts, &look);
                let boxes = tapemark_sheet::word_boxes(&marks, mm_per_m);
                count += boxes.len();
                for (i, ([low, high], words)) in boxes.iter().enumerate() {
                    for ([from, to], others) in &boxes[i + 1..] {
                        let shared = (high.min(*to) - low.max(*from)).max(glam::DVec2::ZERO);
                        let least = ((*high - *low).element_product()).min((*to - *from).element_product());
                        if shared.x * shared.y > 0.1 * least {
                            over.push(format!("{name} at {mm_per_m} mm/m: \"{words}\" and \"{others}\""));
                        }
                    }
                }
            }
        }
    }
    assert!(count > 500, "{count}");
    assert!(over.is_empty(), "{} of {count}: {over:#?}", over.len());
}
