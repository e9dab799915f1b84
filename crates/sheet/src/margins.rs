//! By how much answers hold, in words for paper, screen and command line alike.

use tapemark_core::margins::{Margin, Margins};
use tapemark_core::units::{LengthUnit, format_length};
use tapemark_words::say;

/// "by 0.12 m", or more where no slip looked at breaks it.
#[must_use]
pub fn margin_words(m: &Margin, unit: LengthUnit) -> String {
    let much = format_length(m.margin_m, unit);
    if m.or_more { say!("by-much-or-more", much) } else { say!("by-much", much) }
}

/// By how much a face is clear, in frame and in focus; empty when none of these hold or are worked out.
#[must_use]
pub fn margins_words(m: &Margins, unit: LengthUnit) -> String {
    let by = |m: &Option<Margin>| m.as_ref().map(|m| margin_words(m, unit));
    let parts = [
        by(&m.clear).map(|by| say!("clear-by", by)),
        by(&m.in_frame).map(|by| say!("in-frame-by", by)),
        by(&m.in_focus).map(|by| say!("in-focus-by", by)),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
