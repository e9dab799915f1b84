//! Words and tables that run down a page and on to the next.

use crate::font::{fitted, text_width_mm, wrapped};
use crate::frame::frame_marks;
use crate::lists::List;
use crate::marks::{Align, Ink, Layer, Line, Mark, Shape, Weight};
use crate::page::{MARGIN, Page, Paper};
use crate::palette::Palette;
use glam::DVec2;
use tapemark_core::frame::Developed;
use tapemark_core::plan::Plan;
use tapemark_words::say;

const TEXT: f64 = 2.5;
const LINE: f64 = 3.3;
const PAD: f64 = 0.9;
/// Kept free for the page's number.
const BOTTOM: f64 = 9.0;
/// Most lines of one cell.
const CELL_LINES: usize = 4;

/// Text at a point of a page.
pub(crate) fn words(at: DVec2, text: &str, size_mm: f64, weight: Weight, align: Align, ink: Ink) -> Mark {
    let shape = Shape::Text { at, text: text.into(), size_mm, ink, weight, align, turn_deg: 0.0, halo: None };
    Mark::new(Layer::Page, shape)
}

/// A rule across a page.
pub(crate) fn rule(from: DVec2, to: DVec2, width_mm: f64, ink: Ink) -> Mark {
    Mark::new(Layer::Page, Shape::Polyline { points: vec![from, to], line: Line::new(ink, width_mm) })
}

/// Pages being filled.
pub(crate) struct Flow {
    pages: Vec<Page>,
    size: (f64, f64),
    heading: String,
    document: String,
    y: f64,
}

impl Flow {
    /// Begins a page with a heading (empty: none).
    pub(crate) fn new(plan: &Plan, paper: Paper, heading: &str) -> Flow {
        let mut f = Flow {
            pages: Vec::new(),
            size: paper.size_mm(),
            heading: heading.into(),
            document: plan.title.clone(),
            y: 0.0,
        };
        f.turn();
        f
    }

    fn turn(&mut self) {
        let title = if self.heading.is_empty() {
            self.document.clone()
        } else {
            format!("{} — {}", self.document, self.heading)
        };
        self.pages.push(Page {
            title,
            width_mm: self.size.0,
            height_mm: self.size.1,
            paper: Palette::PAPER.paper,
            marks: Vec::new(),
            clip: None,
            clipped: Vec::new(),
            scale_denominator: 1.0,
        });
        self.y = MARGIN + 3.0;
        if !self.heading.is_empty() {
            let p = Palette::PAPER;
            let again = if self.pages.len() > 1 { say!("continued") } else { "" };
            let (x, right) = (MARGIN, self.size.0 - MARGIN);
            let heading = format!("{}{again}", self.heading);
            self.push(words(DVec2::new(x, self.y), &heading, 4.0, Weight::Bold, Align::Left, p.ink));
            let title = self.document.clone();
            self.push(words(DVec2::new(right, self.y), &title, TEXT, Weight::Regular, Align::Right, p.quiet));
            self.y += 3.6;
            self.push(rule(DVec2::new(x, self.y), DVec2::new(right, self.y), 0.3, p.ink));
            self.y += 3.4;
        }
    }

    fn push(&mut self, m: Mark) {
        if let Some(p) = self.pages.last_mut() {
            p.marks.push(m);
        }
    }

    fn width(&self) -> f64 {
        self.size.0 - 2.0 * MARGIN
    }

    fn room(&mut self, mm: f64) {
        if self.y + mm > self.size.1 - BOTTOM {
            self.turn();
        }
    }

    /// Where the next line goes, millimetres.
    pub(crate) fn y(&self) -> f64 {
        self.y
    }

    /// Leaves the page free down to here.
    pub(crate) fn down_to(&mut self, y: f64) {
        self.y = y;
    }

    /// The document's own title and what stands under it.
    pub(crate) fn title(&mut self, title: &str, under: &str) {
        let p = Palette::PAPER;
        let (x, width) = (MARGIN, self.width());
        self.y += 4.0;
        let fit = fitted(title, 8.0, Weight::Bold, width);
        self.push(words(DVec2::new(x, self.y), &fit, 8.0, Weight::Bold, Align::Left, p.ink));
        self.y += 8.0;
        let fit = fitted(under, 3.6, Weight::Regular, width);
        self.push(words(DVec2::new(x, self.y), &fit, 3.6, Weight::Regular, Align::Left, p.quiet));
        self.y += 6.0;
    }

    /// A heading within the page.
    pub(crate) fn heading(&mut self, text: &str) {
        self.room(14.0);
        self.y += 2.6;
        let ink = Palette::PAPER.ink;
        self.push(words(DVec2::new(MARGIN, self.y), text, 3.0, Weight::Bold, Align::Left, ink));
        self.y += 3.4;
    }

    /// Running words.
    pub(crate) fn paragraph(&mut self, text: &str) {
        self.lines(text, Weight::Regular, Palette::PAPER.ink);
    }

    /// A caution.
    pub(crate) fn caution(&mut self, text: &str) {
        self.lines(text, Weight::Bold, Palette::PAPER.wrong);
    }

    fn lines(&mut self, text: &str, weight: Weight, ink: Ink) {
        for line in wrapped(text, TEXT, weight, self.width()) {
            self.room(LINE);
            self.push(words(DVec2::new(MARGIN, self.y), &line, TEXT, weight, Align::Left, ink));
            self.y += LINE;
        }
        self.y += 0.8;
    }

    fn columns(&self, list: &List) -> Vec<(usize, f64, f64)> {
        let total: f64 = list.heads.iter().map(|h| h.share).sum();
        let mut x = MARGIN;
        let mut out = Vec::new();
        for (i, h) in list.heads.iter().enumerate().filter(|(_, h)| h.share > 0.0) {
            let w = self.width() * h.share / total;
            out.push((i, x, w));
            x += w;
        }
        out
    }

    fn cells(&self, plan: &Plan, list: &List, row: usize) -> Vec<Vec<String>> {
        let cell = |i: usize, w: f64| {
            let text = list.rows[row][i].shown(plan);
            let mut lines = wrapped(&text, TEXT, Weight::Regular, w - 2.0 * PAD);
            lines.truncate(CELL_LINES);
            // A single word may be wider than its column.
            lines.iter().map(|t| fitted(t, TEXT, Weight::Regular, w - 2.0 * PAD)).collect::<Vec<_>>()
        };
        self.columns(list).into_iter().map(|(i, _, w)| cell(i, w)).collect()
    }

    /// Height a list takes as a table without its title, millimetres.
    pub(crate) fn height_of(&self, plan: &Plan, list: &List) -> f64 {
        let rows: f64 = (0..list.rows.len())
            .map(|r| self.cells(plan, list, r).iter().map(Vec::len).max().unwrap_or(1).max(1) as f64 * LINE + 2.0 * PAD)
            .sum();
        rows + LINE + 2.0 * PAD + 9.5
    }

    /// Pictures side by side with what they are under them.
    pub(crate) fn pictures(&mut self, list: &[(String, Developed)]) {
        const ACROSS: usize = 4;
        const GAP: f64 = 4.0;
        let width = (self.width() - GAP * (ACROSS as f64 - 1.0)) / ACROSS as f64;
        for row in list.chunks(ACROSS) {
            let height = row.iter().map(|(_, d)| width * d.height as f64 / d.width as f64).fold(0.0, f64::max);
            self.room(height + 6.0);
            for (i, (name, d)) in row.iter().enumerate() {
                let corner = DVec2::new(MARGIN + (width + GAP) * i as f64, self.y);
                for m in frame_marks(d, &[], corner, width) {
                    self.push(Mark { layer: Layer::Page, ..m });
                }
                let at = DVec2::new(corner.x, self.y + height + 2.4);
                self.push(words(
                    at,
                    &fitted(name, TEXT, Weight::Regular, width),
                    TEXT,
                    Weight::Regular,
                    Align::Left,
                    Palette::PAPER.ink,
                ));
            }
            self.y += height + 6.0;
        }
    }

    /// A list as a table, its heads again on each page.
    pub(crate) fn table(&mut self, plan: &Plan, list: Option<&List>) {
        let Some(list) = list.filter(|l| !l.rows.is_empty()) else { return };
        let p = Palette::PAPER;
        self.heading(list.title);
        let columns = self.columns(list);
        self.heads(list, &columns);
        for r in 0..list.rows.len() {
            let cells = self.cells(plan, list, r);
            let height = cells.iter().map(Vec::len).max().unwrap_or(1).max(1) as f64 * LINE + 2.0 * PAD;
            if self.y + height > self.size.1 - BOTTOM {
                self.turn();
                self.heads(list, &columns);
            }
            for ((i, x, w), lines) in columns.iter().zip(&cells) {
                let number = !matches!(list.rows[r][*i], crate::lists::Cell::Text(_));
                for (k, t) in lines.iter().enumerate() {
                    let y = self.y + PAD + LINE * (k as f64 + 0.5);
                    let (at, align) = if number { (x + w - PAD, Align::Right) } else { (x + PAD, Align::Left) };
                    self.push(words(DVec2::new(at, y), t, TEXT, Weight::Regular, align, p.ink));
                }
                if list.heads[*i].key == "packed" {
                    let (a, b) = (DVec2::new(x + PAD, self.y + PAD), DVec2::new(x + PAD + 2.6, self.y + PAD + 2.6));
                    let points = vec![a, DVec2::new(b.x, a.y), b, DVec2::new(a.x, b.y)];
                    let line = Some(Line::new(p.ink, 0.2));
                    self.push(Mark::new(Layer::Page, Shape::Polygon { points, fill: None, line }));
                }
            }
            self.y += height;
            let (x, right) = (MARGIN, self.size.0 - MARGIN);
            self.push(rule(DVec2::new(x, self.y), DVec2::new(right, self.y), 0.1, p.quiet));
        }
        self.y += 1.5;
    }

    fn heads(&mut self, list: &List, columns: &[(usize, f64, f64)]) {
        let p = Palette::PAPER;
        let (x, right) = (MARGIN, self.size.0 - MARGIN);
        let height = LINE + 2.0 * PAD;
        let corners = [(x, self.y), (right, self.y), (right, self.y + height), (x, self.y + height)];
        let points = corners.map(|(x, y)| DVec2::new(x, y)).to_vec();
        self.push(Mark::new(Layer::Page, Shape::Polygon { points, fill: Some(Ink::rgb(232, 232, 232)), line: None }));
        for (i, x, w) in columns {
            let head = list.heads[*i];
            let text = fitted(head.title, 2.3, Weight::Bold, w - PAD);
            let number =
                list.rows.iter().any(|r| !matches!(r[*i], crate::lists::Cell::Text(_) | crate::lists::Cell::Empty));
            let (at, align) = if number { (x + w - PAD, Align::Right) } else { (x + PAD, Align::Left) };
            // A title wider than its numbers may reach into the margin to its left.
            debug_assert!(text_width_mm(&text, 2.3, Weight::Bold) <= w + 1e-6);
            self.push(words(DVec2::new(at, self.y + height * 0.5), &text, 2.3, Weight::Bold, align, p.ink));
        }
        self.y += height;
    }

    /// The pages.
    pub(crate) fn done(self) -> Vec<Page> {
        self.pages
    }
}
