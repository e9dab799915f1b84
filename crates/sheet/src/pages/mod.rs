//! The whole day on paper: cover, a page per lighting state, a page per shot, kit, power and order.

mod flow;
mod phone;
mod shot;

pub use phone::{PHONE_DPI, phone_page};

use crate::lists::{List, grip, lamps, lists_of};
use crate::marks::{Layer, Mark, Shape};
use crate::page::{Crop, FOOT, Fit, MARGIN, Page, SheetSpec, drawn_plan, extent, foot, window_frame};
use crate::palette::Palette;
use crate::tables::seen_twice;
use flow::Flow;
use glam::DVec2;
use rayon::prelude::*;
use tapemark_core::day::{DayFacts, RigFacts, WorkedShot, worked};
use tapemark_core::frame::Developed;
use tapemark_core::grip::grip_near;
use tapemark_core::kit::KitFile;
use tapemark_core::notices::{Severity, caution};
use tapemark_core::plan::{LightingState, Plan, Shot, lighting_states};
use tapemark_core::power::power_caution;
use tapemark_core::progress::{Progress, Stopped};
use tapemark_core::units::format_length;
use tapemark_words::{figure, say};

/// A picture from outside: a storyboard drawing, the plan's underlay.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Four bytes a pixel, sRGB and opacity, rows from the top.
    pub rgba: Vec<u8>,
}

impl Picture {
    /// Fitted into a box on a page: its marks and size, millimetres.
    pub(crate) fn fitted(&self, corner: DVec2, room: DVec2) -> (Vec<Mark>, DVec2) {
        let cell = (room.x / self.width as f64).min(room.y / self.height as f64);
        let shape = Shape::Raster { origin: corner, cell, nx: self.width, ny: self.height, rgba: self.rgba.clone() };
        (vec![Mark::new(Layer::Page, shape)], DVec2::new(self.width as f64, self.height as f64) * cell)
    }
}

/// Where a shot's storyboard picture comes from.
pub type Pictures<'a> = dyn Fn(&Shot) -> Option<Picture> + Sync + 'a;

/// Everything the crew works from, page by page.
///
/// # Errors
/// When it was stopped.
pub fn day_pages(
    plan: &Plan,
    kit: &KitFile,
    spec: &SheetSpec,
    pictures: &Pictures<'_>,
    progress: &Progress,
) -> Result<Vec<Page>, Stopped> {
    let states = lighting_states(plan);
    progress.expect(plan.shots.len() + states.len());
    let day = DayFacts::watched(plan, kit, spec.at_s, progress)?;
    let lists = lists_of(plan, &day);
    let list = |name: &str| lists.iter().find(|l| l.name == name).filter(|l| !l.rows.is_empty());
    let of_rig = |(state, r): (_, _)| progress.step(|| rig_pages(plan, state, r, spec));
    let of_rigs: Vec<Vec<Page>> = states.par_iter().zip(&day.rigs).map(of_rig).collect::<Result<_, _>>()?;
    let of_shot = |w: &WorkedShot<'_>| {
        progress.step(|| {
            let (large, small) = seen_twice(plan, w, shot::PIXELS).map(|[large, small]| (large, small)).unzip();
            let page = shot::page(plan, w, spec, large.as_ref(), pictures(w.shot).as_ref(), list("marks"));
            (page, small.map(|s| (format!("{} {}", w.shot.name, w.shot.size.label()), s)))
        })
    };
    let (of_shots, frames): (Vec<Page>, Vec<_>) =
        day.shots.par_iter().map(of_shot).collect::<Result<Vec<_>, _>>()?.into_iter().unzip();
    let frames: Vec<(String, Developed)> = frames.into_iter().flatten().collect();
    let mut pages = cover(plan, &day, &lists, &frames, spec);
    pages.extend(of_rigs.into_iter().flatten());
    pages.extend(of_shots);
    let mut floor = Flow::new(plan, spec.paper, say!("taping-in-order"));
    floor.table(plan, list("taping"));
    pages.append(&mut floor.done());
    let mut rest = Flow::new(plan, spec.paper, say!("light-and-cuts"));
    rest.table(plan, list("readings"));
    rest.table(plan, list("margins"));
    rest.table(plan, list("continuity"));
    rest.table(plan, list("notices"));
    rest.table(plan, list("cover"));
    pages.append(&mut rest.done());
    let mut bag = Flow::new(plan, spec.paper, say!("kit"));
    bag.paragraph(&say!(
        "to-carry-kg-l-rent-buy",
        weight_kg = figure(day.kit.weight_kg, 0),
        volume_l = figure(day.kit.volume_l, 0),
        rent_cost = day.kit.price(day.kit.rent_cost),
        buy_cost = day.kit.price(day.kit.buy_cost),
        unpriced = day.kit.unpriced
    ));
    bag.table(plan, list("kit"));
    bag.table(plan, list("stand-ins"));
    pages.append(&mut bag.done());
    let mut power = Flow::new(plan, spec.paper, say!("power"));
    power.caution(power_caution());
    power.table(plan, list("circuits"));
    power.table(plan, list("cables"));
    for r in day.rigs.iter().filter(|r| !r.suggestion.moves.is_empty() || !r.suggestion.holds) {
        power.paragraph(&spread(plan, r));
    }
    pages.append(&mut power.done());
    let mut order = Flow::new(plan, spec.paper, say!("order-of-the-day"));
    order.paragraph(&order_words(plan, &day));
    day.order.troubles.iter().for_each(|t| order.caution(t));
    order.table(plan, list("order"));
    order.table(plan, list("cast-calls"));
    pages.append(&mut order.done());
    number(&mut pages);
    Ok(pages)
}

fn order_words(plan: &Plan, day: &DayFacts<'_>) -> String {
    let o = &day.order;
    let proved = if o.exact { say!("no-order-costs-less") } else { say!("the-best-order-found") };
    say!(
        "set-ups-from-to-min-left",
        start = plan.day.start,
        ends = o.ends,
        slack_min = figure(o.slack_min, 0),
        wrap = plan.day.wrap,
        cost = figure(o.cost, 0),
        storyboard_cost = figure(o.storyboard_cost, 0),
        proved
    )
}

fn spread(plan: &Plan, r: &RigFacts) -> String {
    let s = &r.suggestion;
    if s.moves.is_empty() {
        return say!("no-spread-of-the-plugs-holds-word", rig = r.rig.name, short_a = figure(s.short_a, 1));
    }
    let name = |id| plan.location.circuits.iter().find(|c| &c.id == id).map_or("", |c| c.name.as_str());
    let moves: Vec<String> = s
        .moves
        .iter()
        .map(|m| say!("name-into-to-on-circuit", name = m.name, to = m.to, circuit = name(&m.circuit)))
        .collect();
    say!("rig-suggested-plugs-moves", rig = r.rig.name, moves = moves.join("; "))
}

fn cover(
    plan: &Plan,
    day: &DayFacts<'_>,
    lists: &[List],
    frames: &[(String, Developed)],
    spec: &SheetSpec,
) -> Vec<Page> {
    let mut f = Flow::new(plan, spec.paper, "");
    f.title(&plan.title, &plan.location.name);
    let date = plan.daylight.as_ref().map(|d| String::from(d.date)).unwrap_or_default();
    f.paragraph(&format!("{date} {}", plan.notes));
    f.paragraph(&order_words(plan, day));
    f.table(plan, lists.iter().find(|l| l.name == "shots"));
    f.pictures(frames);
    f.heading(say!("cautions"));
    f.caution(caution());
    f.caution(power_caution());
    let mut said: Vec<&str> = Vec::new();
    for w in &day.shots {
        for n in w.facts.notices.iter().filter(|n| n.severity == Severity::Caution) {
            if !said.contains(&n.what.as_str()) {
                said.push(&n.what);
                f.caution(&say!("shot-what-remedy", shot = w.shot.name, what = n.what, remedy = n.remedy));
            }
        }
    }
    f.done()
}

/// A lighting state on the plan, with its lamps and grip taped and its cables laid, and its lists under it; what has no
/// room there goes on to pages of its own.
fn rig_pages(plan: &Plan, state: &LightingState<'_>, r: &RigFacts, spec: &SheetSpec) -> Vec<Page> {
    // The rig with nobody there: what stands before the cast arrives.
    let mut empty = Shot::new("rig", &r.rig.name, r.rig.id.clone());
    empty.lamps.clone_from(&state.first.lamps);
    empty.clock = state.first.clock;
    let w: WorkedShot<'_> = worked(plan, &empty, 0.0);
    let (width_mm, height_mm) = spec.paper.size_mm();
    // Its name and shots stand over the table already.
    let mut table = lamps(plan, std::slice::from_ref(r));
    table.heads.drain(..2);
    table.rows.iter_mut().for_each(|row| drop(row.drain(..2)));
    let mut f = Flow::new(plan, spec.paper, &say!("rig-rig-shots-shots", rig = r.rig.name, shots = r.shots.join(", ")));
    let lamps_at = r.rig.fixtures.iter().map(|f| DVec2::from_array(f.position_m));
    let boards = Some(grip(plan, &grip_near(plan, lamps_at))).filter(|g| !g.rows.is_empty());
    let table_mm = f.height_of(plan, &table) + boards.as_ref().map_or(0.0, |g| f.height_of(plan, g));
    let top = f.y();
    let bottom = (height_mm - FOOT - table_mm - 4.0).max(top + 60.0);
    let window = [MARGIN, top, width_mm - MARGIN, bottom - 10.0];
    let fit = Fit::of(extent(plan, &empty, Crop::Whole), spec.scale, window);
    let clipped = drawn_plan(plan, &w, spec, &fit);
    f.down_to(bottom);
    f.table(plan, Some(&table));
    f.table(plan, boards.as_ref());
    let mut pages = f.done();
    let page = &mut pages[0];
    page.marks.push(window_frame(window));
    let mut feet = Vec::new();
    foot(&mut feet, plan, fit.denominator, window, height_mm);
    page.marks.append(&mut feet);
    page.clip = Some(window);
    page.clipped = clipped;
    page.scale_denominator = fit.denominator;
    pages
}

/// Page numbers, at the upper right.
fn number(pages: &mut [Page]) {
    let n = pages.len();
    for (i, p) in pages.iter_mut().enumerate() {
        let at = DVec2::new(p.width_mm - MARGIN, p.height_mm - 4.2);
        p.marks.push(flow::words(
            at,
            &say!("i-of-n", i = i + 1, n),
            2.3,
            crate::marks::Weight::Regular,
            crate::marks::Align::Right,
            Palette::PAPER.quiet,
        ));
    }
}

/// A length in the plan's unit.
fn l(plan: &Plan, m: f64) -> String {
    format_length(m, plan.length_unit)
}
