//! Type and colours of the window.

use egui::style::NumberFormatter;
use egui::{Color32, FontData, FontDefinitions, FontFamily, Stroke, Visuals};
use std::cell::Cell;
use std::sync::Arc;
use tapemark_sheet::{BOLD_TTF, Ink, Palette, REGULAR_TTF, Typeface};
use tapemark_words::localized;

/// Puts the drawing's typeface before the built-in ones, and has numbers written as in the language.
pub fn fonts(ctx: &egui::Context) {
    fonts_with(ctx, &[]);
}

/// The same with typefaces of the system after all others.
pub(crate) fn fonts_with(ctx: &egui::Context, others: &[Arc<Typeface>]) {
    let mut fonts = FontDefinitions::default();
    fonts.font_data.insert("inter".into(), Arc::new(FontData::from_static(REGULAR_TTF)));
    fonts.font_data.insert("inter-bold".into(), Arc::new(FontData::from_static(BOLD_TTF)));
    fonts.families.entry(FontFamily::Proportional).or_default().insert(0, "inter".into());
    for face in others {
        let name = format!("{} {}", face.family, face.index);
        let data = FontData { index: face.index, ..FontData::from_owned(face.data.as_ref().clone()) };
        fonts.font_data.insert(name.clone(), Arc::new(data));
        fonts.families.values_mut().for_each(|list| list.push(name.clone()));
    }
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
    Dark,
    /// Light.
    Light,
    /// As the system says; light where it says nothing.
    #[default]
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
            Shade::Light => Palette::LIGHT,
            Shade::System if SYSTEM_IS_DARK.get() => Palette::DARK,
            Shade::System => Palette::LIGHT,
            Shade::Contrast => Palette::CONTRAST,
            Shade::Night => Palette::NIGHT,
        }
    }
}

/// The colours of the window's own parts; the plan has those of its palette.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tokens {
    /// Bars and panels.
    pub panel: Color32,
    /// What lies on them: cards, fields, buttons.
    pub card: Color32,
    /// Divides, nothing else.
    pub line: Color32,
    /// The border of every control.
    pub edge: Color32,
    /// Text.
    pub ink: Color32,
    /// Names and second thoughts; nothing is fainter.
    pub dim: Color32,
    /// What is chosen or can be taken hold of.
    pub accent: Color32,
    /// Text on the accent and on a warning.
    pub on_accent: Color32,
    /// What is well.
    pub good: Color32,
    /// What is not.
    pub warn: Color32,
}

impl Tokens {
    /// Words where a picture is not there yet: it is black in every look.
    pub(crate) fn on_picture(&self) -> Color32 {
        if NIGHT.get() { self.dim } else { Color32::from_gray(190) }
    }
}

impl Shade {
    /// The window's colours in this look.
    #[must_use]
    pub fn tokens(self) -> Tokens {
        let hex = |rgb: u32| Color32::from_rgb((rgb >> 16) as u8, (rgb >> 8) as u8, rgb as u8);
        let p = self.palette();
        let of_plan = |panel: Color32, card: Color32, on_accent: Color32| Tokens {
            panel,
            card,
            line: colour(p.quiet),
            edge: colour(p.quiet),
            ink: colour(p.ink),
            dim: colour(p.quiet),
            accent: colour(p.selected),
            on_accent,
            good: colour(p.clear),
            warn: colour(p.wrong),
        };
        match self {
            Shade::Contrast => of_plan(Color32::BLACK, Color32::from_gray(24), Color32::BLACK),
            Shade::Night => of_plan(hex(0x00_0a_0c), hex(0x00_14_17), hex(0x00_08_0a)),
            _ if p == Palette::LIGHT => Tokens {
                panel: hex(0xfa_f8_f5),
                card: hex(0xff_ff_ff),
                line: hex(0xde_da_d2),
                edge: hex(0x7d_7a_71),
                ink: hex(0x23_25_2a),
                dim: hex(0x62_64_5f),
                accent: hex(0x2f_6f_8f),
                on_accent: hex(0xff_ff_ff),
                good: hex(0x25_6d_50),
                warn: hex(0xa6_4c_15),
            },
            _ => Tokens {
                panel: hex(0x22_23_27),
                card: hex(0x2a_2b_30),
                line: hex(0x34_36_3c),
                edge: hex(0x7c_7f_87),
                ink: hex(0xec_ea_e6),
                dim: hex(0xa9_a8_a4),
                accent: hex(0x79_b8_d4),
                on_accent: hex(0x18_19_1b),
                good: hex(0x6c_c3_9b),
                warn: hex(0xf0_95_5a),
            },
        }
    }
}

thread_local! {
    /// Whether the window drawn by this thread is to send out no red.
    static NIGHT: Cell<bool> = const { Cell::new(false) };
    /// Whether the system of the window drawn by this thread is dark.
    static SYSTEM_IS_DARK: Cell<bool> = const { Cell::new(false) };
}

/// What pictures are multiplied with.
pub fn tint() -> Color32 {
    if NIGHT.get() { Color32::from_rgb(0, 120, 120) } else { Color32::WHITE }
}

/// Sets the window's colours, type and spacing.
pub fn apply(ctx: &egui::Context, shade: Shade) {
    NIGHT.set(shade == Shade::Night);
    SYSTEM_IS_DARK.set(ctx.system_theme() == Some(egui::Theme::Dark));
    let (p, t) = (shade.palette(), shade.tokens());
    let light = p == Palette::LIGHT;
    let mut v = if light { Visuals::light() } else { Visuals::dark() };
    // A window in which nothing moves draws nothing.
    v.text_cursor.blink = false;
    v.override_text_color = None;
    v.weak_text_color = Some(t.dim);
    v.panel_fill = t.panel;
    v.window_fill = t.card;
    v.window_stroke = Stroke::new(1.0, t.edge);
    v.extreme_bg_color = t.card;
    v.text_edit_bg_color = Some(t.card);
    v.faint_bg_color = t.panel;
    v.code_bg_color = t.line;
    v.selection.bg_fill = t.accent;
    v.selection.stroke = Stroke::new(1.0, t.on_accent);
    v.hyperlink_color = t.accent;
    v.warn_fg_color = t.warn;
    v.error_fg_color = t.warn;
    let strong = matches!(shade, Shade::Contrast | Shade::Night);
    let corner = egui::CornerRadius::same(6);
    let w = &mut v.widgets;
    for (state, fill, edge, width) in [
        (&mut w.inactive, t.card, t.edge, 1.0),
        (&mut w.hovered, t.card, t.accent, if strong { 2.0 } else { 1.5 }),
        (&mut w.active, t.line, t.accent, if strong { 2.0 } else { 1.5 }),
        (&mut w.open, t.card, t.accent, 1.0),
    ] {
        state.bg_fill = fill;
        state.weak_bg_fill = fill;
        state.bg_stroke = Stroke::new(width, edge);
        state.fg_stroke = Stroke::new(if strong { 1.5 } else { 1.0 }, t.ink);
        state.corner_radius = corner;
        state.expansion = 0.0;
    }
    w.noninteractive.bg_fill = t.panel;
    w.noninteractive.weak_bg_fill = t.panel;
    w.noninteractive.fg_stroke = Stroke::new(1.0, t.ink);
    w.noninteractive.bg_stroke = Stroke::new(1.0, t.line);
    ctx.set_theme(if light { egui::Theme::Light } else { egui::Theme::Dark });
    ctx.set_visuals(v);
    ctx.all_styles_mut(|s| {
        s.spacing.item_spacing = egui::vec2(8.0, 4.0);
        s.spacing.button_padding = egui::vec2(8.0, 3.0);
        s.spacing.interact_size.y = 24.0;
        for (style, size) in [
            (egui::TextStyle::Small, 11.0),
            (egui::TextStyle::Body, 12.0),
            (egui::TextStyle::Button, 12.0),
            (egui::TextStyle::Monospace, 12.0),
            (egui::TextStyle::Heading, 16.0),
        ] {
            if let Some(font) = s.text_styles.get_mut(&style) {
                font.size = size;
            }
        }
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
