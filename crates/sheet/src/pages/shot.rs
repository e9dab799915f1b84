//! A shot's page: the plan of its rooms, what the lens sees, the storyboard, marks and numbers.

use super::{Picture, flow, l};
use crate::frame::frame_marks;
use crate::lists::List;
use crate::marks::{Align, Layer, Mark, Weight};
use crate::page::{COLUMN, Crop, FOOT, Fit, MARGIN, Page, SheetSpec, drawn_plan, extent, foot, window_frame};
use crate::palette::Palette;
use crate::tables::Column;
use glam::DVec2;
use tapemark_core::day::WorkedShot;
use tapemark_core::frame::Developed;
use tapemark_core::plan::Plan;
use tapemark_words::{figure, say};

/// Height of the strip of pictures under the plan, millimetres.
const STRIP: f64 = 46.0;
/// Pixels across the picture of what the lens sees.
pub(super) const PIXELS: usize = 640;

pub(super) fn page(
    plan: &Plan,
    w: &WorkedShot<'_>,
    spec: &SheetSpec,
    frame: Option<&Developed>,
    board: Option<&Picture>,
    marks: Option<&List>,
) -> Page {
    let (width_mm, height_mm) = spec.paper.size_mm();
    let window = [MARGIN, MARGIN, width_mm - MARGIN * 2.0 - COLUMN, height_mm - MARGIN - FOOT - STRIP - 6.0];
    let fit = Fit::of(extent(plan, w.shot, Crop::Shot), spec.scale, window);
    let clipped = drawn_plan(plan, w, spec, &fit);
    let mut column = Column::new(window[2] + MARGIN, MARGIN, COLUMN, height_mm - MARGIN - 3.0);
    column.of_shot(plan, w, spec);
    let mut out = vec![window_frame(window)];
    out.append(&mut column.marks);
    foot(&mut out, plan, fit.denominator, window, height_mm);
    strip(plan, w, (frame, board), marks, window, &mut out);
    Page {
        title: say!("title-shot", title = plan.title, shot = w.shot.name),
        width_mm,
        height_mm,
        paper: Palette::PAPER.paper,
        marks: out,
        clip: Some(window),
        clipped,
        scale_denominator: fit.denominator,
    }
}

fn label(at: DVec2, text: &str) -> Mark {
    flow::words(at, text, 2.2, Weight::Bold, Align::Left, Palette::PAPER.quiet)
}

/// Pictures and marks under the plan.
fn strip(
    plan: &Plan,
    w: &WorkedShot<'_>,
    (frame, board): (Option<&Developed>, Option<&Picture>),
    marks: Option<&List>,
    window: [f64; 4],
    out: &mut Vec<Mark>,
) {
    let p = Palette::PAPER;
    let top = window[3] + 13.0;
    let (mut x, right) = (window[0], window[2]);
    let height = STRIP - 6.0;
    if let Some(frame) = frame {
        let aspect = frame.width as f64 / frame.height as f64;
        let width = (height * aspect).min(78.0);
        out.push(label(DVec2::new(x, top - 2.0), say!("what-the-lens-sees")));
        let corner = DVec2::new(x, top);
        out.extend(frame_marks(frame, &[], corner, width).into_iter().map(|m| Mark { layer: Layer::Page, ..m }));
        x += width + 4.0;
    }
    if let Some(b) = board {
        out.push(label(DVec2::new(x, top - 2.0), say!("storyboard")));
        let room = DVec2::new(((right - x) * 0.55).min(60.0), height);
        let (m, size) = b.fitted(DVec2::new(x, top), room);
        out.extend(m);
        x += size.x + 4.0;
    }
    let room = right - x;
    if room < 40.0 {
        return;
    }
    out.push(label(DVec2::new(x, top - 2.0), say!("marks-label")));
    let mut y = top + 1.5;
    // The columns of the list of marks by their keys.
    let Some(list) = marks else { return };
    let at = |key: &str| list.heads.iter().position(|h| h.key == key).unwrap_or(0);
    let shown = |row: &[crate::lists::Cell], key: &str| row[at(key)].shown(plan);
    for row in list.rows.iter().filter(|r| r[at("shot")].plain() == w.shot.name) {
        if y > top + height - 2.0 {
            break;
        }
        let to = shown(row, "to_s");
        let when = if to.is_empty() {
            say!("from-then-on", from_s = shown(row, "from_s"))
        } else {
            format!("{}–{to} s", shown(row, "from_s"))
        };
        let walls = match (shown(row, "tape_1_m"), shown(row, "tape_2_m")) {
            (a, _) if a.is_empty() => say!("not-in-a-room").into(),
            (a, b) if b.is_empty() => a,
            (a, b) => say!("a-and", a, b),
        };
        let name = crate::font::fitted(&shown(row, "person"), 2.3, Weight::Bold, room * 0.3);
        out.push(flow::words(DVec2::new(x, y), &name, 2.3, Weight::Bold, Align::Left, p.ink));
        let text = crate::font::fitted(&say!("when-walls", when, walls), 2.2, Weight::Regular, room * 0.68);
        out.push(flow::words(DVec2::new(right, y), &text, 2.2, Weight::Regular, Align::Right, p.ink));
        y += 3.4;
    }
    let marks_of_camera = plan.shot_camera(w.shot).map(|c| c.marks.as_slice()).unwrap_or_default();
    for m in marks_of_camera {
        if y > top + height - 2.0 {
            break;
        }
        out.push(flow::words(DVec2::new(x, y), say!("camera"), 2.3, Weight::Bold, Align::Left, p.camera));
        let text = say!(
            "at-s-east-position",
            at_s = figure(m.at_s, 1),
            position_m = l(plan, m.position_m[0]),
            position_m_2 = l(plan, m.position_m[1])
        );
        out.push(flow::words(DVec2::new(right, y), &text, 2.2, Weight::Regular, Align::Right, p.ink));
        y += 3.4;
    }
    if !w.shot.notes.is_empty() {
        y += 1.0;
        for line in crate::font::wrapped(&w.shot.notes, 2.3, Weight::Regular, room) {
            if y > top + height - 2.0 {
                break;
            }
            out.push(flow::words(DVec2::new(x, y), &line, 2.3, Weight::Regular, Align::Left, p.ink));
            y += 3.2;
        }
    }
}
