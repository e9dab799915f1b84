//! Type and colours of the window.

use egui::{Color32, FontData, FontDefinitions, FontFamily, Stroke, Visuals};
use std::sync::Arc;
use tapemark_sheet::{BOLD_TTF, Ink, Palette, REGULAR_TTF};

/// Puts the drawing's typeface before the built-in ones.
pub fn fonts(ctx: &egui::Context) {
    let mut fonts = FontDefinitions::default();
    fonts.font_data.insert("inter".into(), Arc::new(FontData::from_static(REGULAR_TTF)));
    fonts.font_data.insert("inter-bold".into(), Arc::new(FontData::from_static(BOLD_TTF)));
    fonts.families.entry(FontFamily::Proportional).or_default().insert(0, "inter".into());
    let mut bold = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    bold.insert(0, "inter-bold".into());
    fonts.families.insert(bold_family(), bold);
    ctx.set_fonts(fonts);
}

/// The semi-bold family.
pub fn bold_family() -> FontFamily {
    FontFamily::Name("bold".into())
}

/// A drawing colour on screen.
pub fn colour(ink: Ink) -> Color32 {
    Color32::from_rgba_unmultiplied(ink.r, ink.g, ink.b, ink.a)
}

/// Whether the window is dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shade {
    /// Dark, for a dim set.
    #[default]
    Dark,
    /// Light.
    Light,
}

impl Shade {
    /// The drawing's colours.
    pub fn palette(self) -> Palette {
        match self {
            Shade::Dark => Palette::DARK,
            Shade::Light => Palette::PAPER,
        }
    }
}

/// Sets the window's colours and spacing.
pub fn apply(ctx: &egui::Context, shade: Shade) {
    let p = shade.palette();
    let mut v = match shade {
        Shade::Dark => Visuals::dark(),
        Shade::Light => Visuals::light(),
    };
    let (panel, raised) = match shade {
        Shade::Dark => (Color32::from_rgb(31, 33, 38), Color32::from_rgb(52, 56, 63)),
        Shade::Light => (Color32::from_rgb(244, 243, 240), Color32::from_rgb(226, 224, 219)),
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
    ctx.set_theme(match shade {
        Shade::Dark => egui::Theme::Dark,
        Shade::Light => egui::Theme::Light,
    });
    ctx.set_visuals(v);
    ctx.all_styles_mut(|s| {
        s.spacing.item_spacing = egui::vec2(6.0, 4.0);
        s.spacing.button_padding = egui::vec2(7.0, 3.0);
    });
}
