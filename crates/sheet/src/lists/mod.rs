//! Every list of a plan as data: written as CSV in SI units, or set as a table on paper in the plan's units.

mod of_day;
mod of_margins;
mod of_rigs;
mod of_shots;

use of_day::{calls, kit, order, stand_ins};
use of_margins::margins;
use of_rigs::{cables, circuits};
pub(crate) use of_rigs::{grip, lamps};
use of_shots::{cover, cuts, marks, notices, readings, shots, taping};
use tapemark_core::day::DayFacts;
use tapemark_core::grip::all_grip;
use tapemark_core::kit::KitFile;
use tapemark_core::plan::Plan;
use tapemark_core::units::format_length;
use tapemark_words::localized;

/// One value of a list.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A number shown with this many decimals.
    Number(f64, usize),
    /// Metres.
    Length(f64),
    /// Nothing.
    Empty,
}

impl Cell {
    fn text(t: impl Into<String>) -> Cell {
        Cell::Text(t.into())
    }
    fn number(v: Option<f64>, decimals: usize) -> Cell {
        v.map_or(Cell::Empty, |v| Cell::Number(v, decimals))
    }
    fn length(v: Option<f64>) -> Cell {
        v.map_or(Cell::Empty, Cell::Length)
    }
    /// As CSV has it: SI, a full stop for the decimals.
    #[must_use]
    pub fn plain(&self) -> String {
        match self {
            Cell::Text(t) => t.clone(),
            Cell::Number(v, d) => format!("{:.*}", *d, v + 0.0),
            Cell::Length(m) => format!("{m:.3}"),
            Cell::Empty => String::new(),
        }
    }
    /// As paper has it: lengths in the plan's unit.
    #[must_use]
    pub fn shown(&self, plan: &Plan) -> String {
        match self {
            Cell::Length(m) => format_length(*m, plan.length_unit),
            Cell::Number(..) => localized(self.plain()),
            Cell::Text(_) | Cell::Empty => self.plain(),
        }
    }
}

/// A column: its key in the CSV with its unit, its title on paper, and its share of the paper's width (0: only
/// in the CSV).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Head {
    /// Key.
    pub key: &'static str,
    /// Title.
    pub title: &'static str,
    /// Share of the width.
    pub share: f64,
}

/// A list.
#[derive(Debug, Clone, PartialEq)]
pub struct List {
    /// Short name, that of its file.
    pub name: &'static str,
    /// Title on paper.
    pub title: &'static str,
    /// Columns.
    pub heads: Vec<Head>,
    /// Rows.
    pub rows: Vec<Vec<Cell>>,
}

impl List {
    fn new(name: &'static str, title: &'static str, heads: &[(&'static str, &'static str, f64)]) -> List {
        let heads = heads.iter().map(|(key, title, share)| Head { key, title, share: *share }).collect();
        List { name, title, heads, rows: Vec::new() }
    }
    /// Name of its CSV file.
    #[must_use]
    pub fn file_name(&self) -> String {
        format!("{}.csv", self.name)
    }
    /// As CSV (RFC 4180).
    #[must_use]
    pub fn csv(&self) -> String {
        let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        // Writing to memory does not fail.
        let _ = out.write_record(self.heads.iter().map(|h| h.key));
        for row in &self.rows {
            let _ = out.write_record(row.iter().map(|c| harmless(&c.plain())));
        }
        out.into_inner().ok().and_then(|b| String::from_utf8(b).ok()).unwrap_or_default()
    }
}

/// A name that a spreadsheet would take for a formula is marked as text.
fn harmless(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']) && text.parse::<f64>().is_err();
    if formula { format!("'{text}") } else { text.into() }
}

/// Every list of a plan.
#[must_use]
pub fn lists(plan: &Plan, kit: &KitFile) -> Vec<List> {
    let day = DayFacts::of(plan, kit, 0.0);
    lists_of(plan, &day)
}

/// As [`lists`], from what is already worked out.
#[must_use]
pub fn lists_of(plan: &Plan, day: &DayFacts<'_>) -> Vec<List> {
    vec![
        shots(plan, day),
        marks(plan, day),
        taping(plan),
        readings(day),
        margins(plan, day),
        lamps(plan, &day.rigs),
        grip(plan, &all_grip(plan)),
        circuits(day),
        cables(plan, day),
        kit(day),
        stand_ins(day),
        order(plan, day),
        calls(day),
        cuts(plan, day),
        cover(day),
        notices(plan, day),
    ]
}
