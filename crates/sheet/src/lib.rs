//! Drawing as data: one list of marks feeds the screen, SVG, PDF and PNG alike.
//!
//! [`plan_marks`] draws a shot in plan metres; [`compose`] lays it on a page in millimetres with its
//! tables; the writers turn a [`Page`] into bytes. Nothing here computes light, sight or geometry of its
//! own: it asks `tapemark-core`.
#![deny(missing_docs)]

mod crew;
mod declutter;
mod font;
mod frame;
mod heat;
mod lists;
mod margins;
mod marks;
mod page;
mod pages;
mod palette;
mod pdf;
mod plan;
mod png;
mod svg;
mod tables;
mod typefaces;

pub use crew::to_html;
pub use declutter::word_boxes;
pub use font::{BOLD_TTF, FAMILY, REGULAR_TTF, text_width_mm};
pub use frame::{FRAME_WIDTH_MM, frame_marks, frame_page, guide_marks, stops_colour};
pub use heat::{MapLegend, clear_legend, clear_mark, heat_mark, light_legend};
pub use lists::{Cell, Head, List, lists, lists_of};
pub use margins::{margin_words, margins_words};
pub use marks::{Align, Ink, Layer, Line, Mark, Shape, Weight};
pub use page::{Page, Paper, Scale, SheetSpec, compose, compose_worked, shot_extent};
pub use pages::{PHONE_DPI, Picture, Pictures, day_pages, phone_page};
pub use palette::{BACKGROUND, Palette, level_colour, person_ink};
pub use pdf::to_pdf;
pub use plan::{PlaceDrawn, PlanLook, plan_marks};
pub use png::to_png;
pub use svg::to_svg;
pub use tables::aim_words;
pub use typefaces::{Typeface, scripts_without_typeface, typefaces_for};

/// Why a sheet could not be written.
#[derive(Debug)]
pub struct SheetError(pub String);

impl std::fmt::Display for SheetError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}
impl std::error::Error for SheetError {}
