//! Type and colours of the window.

use egui::style::NumberFormatter;
use egui::{Color32, FontData, FontDefinitions, FontFamily, Stroke, Visuals};
use std::cell::Cell;
use std::sync::Arc;
use tapemark_sheet::{BOLD_TTF, Ink, Palette, REGULAR_TTF};
use tapemark_words::localized;

/// Puts the drawing's typeface before the built-in ones, and has numbers written as in the language.
pub fn fonts(ctx: &egui::Context) {
    let mut fonts = FontDefinitions::default();
    fonts.font_data.insert("inter".into(), Arc::new(FontData::from_static(REGULAR_TTF)));
    fonts.font_data.insert("inter-bold".into(), Arc::new(FontData::from_static(BOLD_TTF)));
    fonts.families.entry(FontFamily::Proportional).or_default().insert(0, "inter".into());
    let mut bold = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    bold.insert(0, "inter-bold".into());
    fonts.families.insert(bold_family(), bold);
    ctx.set_fonts(fonts);
    let write = |v, decimals| localized(egui::emath::format_with_decimals_in_range(v, decimals));
    ctx.all_styles_mut(|s| s.number_formatter = NumberFormatter::new(write));
}

/// The semi-bold family.
pub fn bold_family() -> FontFamily {
    FontFamily::Name("bold".into())
}

/// A drawing colour on screen.
pub fn colour(ink: Ink) -> Color32 {
    if NIGHT.get() {
        return Color32::from_rgba_unmultiplied(0, ink.g, ink.b, ink.a);
    }
    Color32::from_rgba_unmultiplied(ink.r, ink.g, ink.b, ink.a)
}

/// How the window looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shade {
    /// Dark, for a dim room.
    #[default]
    Dark,
    /// Light.
    Light,
    /// As the system says.
    System,
    /// Black, white and strong colours.
    Contrast,
    /// Very dim and without red, beside a lit set.
    Night,
}

impl Shade {
    /// All looks and what they are called.
    pub const ALL: [(Shade, &'static str); 5] = [
        (Shade::System, "as-the-system"),
        (Shade::Dark, "dark-label"),
        (Shade::Light, "light-label"),
        (Shade::Contrast, "high-contrast"),
        (Shade::Night, "night-on-set"),
    ];

    /// The drawing's colours.
    pub fn palette(self) -> Palette {
        match self {
            Shade::Dark => Palette::DARK,
            Shade::Light => Palette::PAPER,
            Shade::System if SYSTEM_IS_LIGHT.get() => Palette::PAPER,
            Shade::System => Palette::DARK,
            Shade::Contrast => Palette::CONTRAST,
            Shade::Night => Palette::NIGHT,
        }
    }
}

thread_local! {
    /// Whether the window drawn by this thread is to send out no red.
    static NIGHT: Cell<bool> = const { Cell::new(false) };
    /// Whether the system of the window drawn by this thread is light.
    static SYSTEM_IS_LIGHT: Cell<bool> = const { Cell::new(false) };
}

/// What pictures are multiplied with.
pub fn tint() -> Color32 {
    if NIGHT.get() { Color32::from_rgb(0, 120, 120) } else { Color32::WHITE }
}

/// Sets the window's colours and spacing.
pub fn apply(ctx: &egui::Context, shade: Shade) {
    NIGHT.set(shade == Shade::Night);
    SYSTEM_IS_LIGHT.set(ctx.system_theme() == Some(egui::Theme::Light));
    let p = shade.palette();
    let light = p == Palette::PAPER;
    let mut v = if light { Visuals::light() } else { Visuals::dark() };
    // A window in which nothing moves draws nothing.
    v.text_cursor.blink = false;
    let (panel, raised) = match shade {
        Shade::Contrast => (Color32::BLACK, Color32::from_gray(48)),
        Shade::Night => (Color32::from_rgb(0, 10, 12), Color32::from_rgb(0, 26, 30)),
        _ if light => (Color32::from_rgb(244, 243, 240), Color32::from_rgb(226, 224, 219)),
        _ => (Color32::from_rgb(31, 33, 38), Color32::from_rgb(52, 56, 63)),
    };
    v.panel_fill = panel;
    v.window_fill = panel;
    v.widgets.noninteractive.fg_stroke = Stroke::new(1.0, colour(p.ink));
    v.widgets.noninteractive.bg_stroke = Stroke::new(1.0, raised);
    v.widgets.inactive.bg_fill = raised;
    v.widgets.inactive.weak_bg_fill = raised;
    v.widgets.inactive.fg_stroke = Stroke::new(1.0, colour(p.ink));
    v.selection.bg_fill = colour(p.camera).gamma_multiply(0.55);
    v.selection.stroke = Stroke::new(1.0, colour(p.ink));
    v.hyperlink_color = colour(p.camera);
    v.warn_fg_color = colour(p.wrong);
    v.error_fg_color = colour(p.wrong);
    if matches!(shade, Shade::Contrast | Shade::Night) {
        v.override_text_color = Some(colour(p.ink));
        v.weak_text_color = Some(colour(p.quiet));
        v.extreme_bg_color = panel;
        v.faint_bg_color = panel;
        v.code_bg_color = raised;
        v.window_stroke = Stroke::new(1.0, colour(p.quiet));
        for w in [&mut v.widgets.inactive, &mut v.widgets.hovered, &mut v.widgets.active, &mut v.widgets.open] {
            w.bg_fill = raised;
            w.weak_bg_fill = raised;
            w.bg_stroke = Stroke::new(1.0, colour(p.quiet));
            w.fg_stroke = Stroke::new(1.5, colour(p.ink));
        }
        v.widgets.noninteractive.bg_stroke = Stroke::new(1.0, colour(p.quiet));
        v.widgets.hovered.bg_stroke = Stroke::new(2.0, colour(p.selected));
        v.selection.stroke = Stroke::new(2.0, colour(p.selected));
    }
    ctx.set_theme(if light { egui::Theme::Light } else { egui::Theme::Dark });
    ctx.set_visuals(v);
    ctx.all_styles_mut(|s| {
        s.spacing.item_spacing = egui::vec2(6.0, 4.0);
        s.spacing.button_padding = egui::vec2(7.0, 3.0);
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_by_night_leaves_a_window_of_another_thread_as_it_is() {
        let ink = Ink { r: 200, g: 150, b: 100, a: 255 };
        apply(&egui::Context::default(), Shade::Dark);
        let of_another = std::thread::spawn(move || {
            apply(&egui::Context::default(), Shade::Night);
            (colour(ink), tint())
        });
        assert_eq!(of_another.join().unwrap(), (Color32::from_rgb(0, 150, 100), Color32::from_rgb(0, 120, 120)));
        assert_eq!((colour(ink), tint()), (Color32::from_rgb(200, 150, 100), Color32::WHITE));
    }
}
