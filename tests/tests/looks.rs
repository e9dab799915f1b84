//! The window's and the sheet's colours against published measures.

use tapemark_sheet::{Ink, Palette, person_ink};

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
    for (palette, least) in [(Palette::PAPER, 4.5), (Palette::DARK, 4.5), (Palette::CONTRAST, 7.0)] {
        for ink in [palette.ink, palette.quiet, palette.camera, palette.clear, palette.wrong] {
            for behind in [palette.paper, palette.floor] {
                let ratio = contrast(ink, behind);
                assert!(ratio >= least, "{ink:?} on {behind:?}: {ratio:.2}");
            }
        }
    }
    assert!(contrast(Palette::NIGHT.ink, Palette::NIGHT.paper) >= 4.5);
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
