//! Entry fields: a label, a value, a unit.

use super::glossary::meaning;
use egui::{DragValue, Response, TextEdit, Ui};
use std::ops::RangeInclusive;
use tapemark_core::plan::MOST;
use tapemark_core::units::{LengthUnit, format_length, parse_length_m};

/// Most width of a field's name, points: a longer one wraps.
const NAME_PX: f32 = 140.0;

/// Width of a field of one value, points.
const FIELD_PX: f32 = 110.0;

/// What a field is called.
pub(crate) fn name(ui: &mut Ui, label: &str) -> Response {
    let wrapped = |ui: &mut Ui| {
        ui.set_max_width(NAME_PX);
        ui.add(egui::Label::new(label).wrap())
    };
    ui.scope(wrapped).inner
}

/// A label that says what its word means when pointed at.
fn named(ui: &mut Ui, label: &str) -> Response {
    let response = name(ui, label);
    taught(response, label)
}

/// What its word means is told to those who point at it.
pub(crate) fn taught(response: Response, label: &str) -> Response {
    match meaning(label) {
        Some(text) => response.on_hover_text(text),
        None => response,
    }
}

/// A length typed the way it is called out. Returns whether it changed.
pub fn length(ui: &mut Ui, label: &str, value_m: &mut f64, unit: LengthUnit) -> bool {
    let name = named(ui, label);
    let id = ui.scope_id().with(("length", label));
    let kept: Option<String> = ui.data(|d| d.get_temp(id));
    let mut text = kept.clone().unwrap_or_else(|| format_length(*value_m, unit));
    let width = ui.available_width().min(FIELD_PX) - 8.0;
    let response =
        ui.add(TextEdit::singleline(&mut text).id(id.with("edit")).desired_width(width)).labelled_by(name.id);
    let mut changed = false;
    if response.lost_focus() {
        ui.data_mut(|d| d.remove::<String>(id));
        if kept.is_some()
            && let Ok(m) = parse_length_m(&text, unit)
        {
            changed = (m - *value_m).abs() > 1e-9;
            *value_m = m;
        }
    } else if response.has_focus() {
        if let Err(e) = parse_length_m(&text, unit) {
            response.show_tooltip_text(e.to_string());
        }
        if response.changed() || kept.is_some() {
            ui.data_mut(|d| d.insert_temp(id, text));
        }
    }
    ui.end_row();
    changed
}

/// A number as it is typed: with a point or a decimal comma, a plus or a minus sign of any kind.
fn typed(text: &str) -> Option<f64> {
    let bare = text.trim().trim_end_matches(|c: char| c.is_alphabetic() || " °%²/".contains(c));
    bare.replace(',', ".").replace('−', "-").parse().ok().filter(|v: &f64| v.is_finite())
}

/// A number with a unit, dragged or typed. Returns whether it changed.
pub fn number(ui: &mut Ui, label: &str, value: &mut f64, range: RangeInclusive<f64>, speed: f64, suffix: &str) -> bool {
    let name = named(ui, label);
    let decimals = if speed >= 1.0 {
        0
    } else if speed >= 0.1 {
        1
    } else {
        2
    };
    let field = DragValue::new(value).range(range).speed(speed).suffix(suffix).max_decimals(decimals);
    // As wide whatever is typed into it.
    let size = egui::vec2(ui.available_width().min(FIELD_PX), ui.spacing().interact_size.y);
    let response: Response = ui.add_sized(size, field.custom_parser(typed)).labelled_by(name.id);
    ui.end_row();
    taught(response, label).changed()
}

/// A bearing or tilt in degrees.
pub fn degrees(ui: &mut Ui, label: &str, value: &mut f64, range: RangeInclusive<f64>) -> bool {
    number(ui, label, value, range, 1.0, "°")
}

/// A line of text.
pub fn text(ui: &mut Ui, label: &str, value: &mut String) -> bool {
    let name = named(ui, label);
    let width = ui.available_width();
    let response = ui
        .add(
            TextEdit::singleline(value)
                .id(ui.scope_id().with(("text", label)))
                .desired_width(width)
                .char_limit(MOST.letters),
        )
        .labelled_by(name.id);
    ui.end_row();
    taught(response, label).changed()
}

/// One of several. Returns the choice when it changed.
pub fn choice<T: PartialEq + Clone>(ui: &mut Ui, label: &str, now: &T, options: &[(T, String)]) -> Option<T> {
    let name = named(ui, label);
    let shown = options.iter().find(|o| &o.0 == now).map_or_else(|| "—".to_string(), |o| o.1.clone());
    let mut picked = None;
    let inner = egui::ComboBox::from_id_salt(label)
        .selected_text(shown)
        .width(ui.available_width().min(190.0))
        .show_ui(ui, |ui| {
            for (value, words) in options {
                if ui.selectable_label(value == now, words).clicked() && value != now {
                    picked = Some(value.clone());
                }
            }
        });
    taught(inner.response.labelled_by(name.id), label);
    ui.end_row();
    picked
}

/// One of a row that is chosen or not.
pub fn pick(ui: &mut Ui, on: bool, word: &str) -> Response {
    ui.add(egui::Button::new(word).selected(on))
}

/// Yes or no.
pub fn tick(ui: &mut Ui, label: &str, value: &mut bool) -> bool {
    ui.label("");
    let response = ui.checkbox(value, label);
    let changed = taught(response, label).changed();
    ui.end_row();
    changed
}

/// A small button of one sign, with its name told to those who point at it or have it read out.
pub(crate) fn sign(ui: &mut Ui, sign: &str, name: &str) -> Response {
    let response = ui.small_button(sign).on_hover_text(name);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, name));
    response
}
