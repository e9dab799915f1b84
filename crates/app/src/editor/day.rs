//! The day's page: order and call times, cuts and carry-over, wiring, kit.

use super::aside::Job;
use super::dialogs::{Ask, Wanted};
use super::fields::{number, tick};
use super::state::Editor;
use super::theme::colour;
use crate::files;
use crate::words::{call_text, carry_lines, count_text, difference_text, proof_text, stand_in_text};
use egui::{Grid, RichText, Ui};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, channel};
use tapemark_core::continuity::{self, CarryOver, Match, carry_over};
use tapemark_core::day::{RigFacts, rig_facts};
use tapemark_core::edit::{Edit, Settings};
use tapemark_core::kit::{KitFile, KitItem, KitList, Thing, Way, kit_list, kit_to_json};
use tapemark_core::order::{DayOrder, order, pins_of, tasks_in_words};
use tapemark_core::plan::{Clock, PersonId, Pin, Plan, ShotId};
use tapemark_words::{figure, say};

/// What was worked out of the whole plan in the background.
struct Worked {
    plan: Plan,
    kit_file: KitFile,
    order: DayOrder,
    rigs: Vec<RigFacts>,
    matches: Vec<Match>,
    kit: KitList,
}

/// The page's own state.
#[derive(Default)]
pub(crate) struct DayPage {
    job: Option<Receiver<Worked>>,
    asked: Option<(Plan, KitFile)>,
    found: Option<Worked>,
    carry: Option<Result<CarryOver, String>>,
    carry_job: Option<Job<Result<CarryOver, String>>>,
}

impl DayPage {
    /// Works everything out anew.
    pub fn touch(&mut self) {
        self.asked = None;
    }

    /// Whether what is shown is of the plan as it is.
    pub fn is_ready(&self) -> bool {
        self.job.is_none() && self.found.is_some()
    }
}

fn work(plan: Plan, kit_file: KitFile) -> Worked {
    let (order, rigs) = (order(&plan), rig_facts(&plan));
    let (matches, kit) = rayon::join(|| continuity::of_plan(&plan), || kit_list(&plan, &kit_file));
    Worked { order, rigs, matches, kit, plan, kit_file }
}

impl Editor {
    fn tend_day(&mut self, ctx: &egui::Context) {
        if let Some(came) = self.day.job.as_ref().and_then(|j| j.try_recv().ok()) {
            self.day.job = None;
            self.day.found = Some(came);
        }
        let fits = self.day.asked.as_ref().is_some_and(|(p, k)| *p == self.plan && *k == self.kit);
        if !fits && self.day.job.is_none() && !self.moving() {
            let (send, receive) = channel();
            let (plan, kit, ctx) = (self.plan.clone(), self.kit.clone(), ctx.clone());
            self.day.asked = Some((plan.clone(), kit.clone()));
            (self.day.carry, self.day.carry_job) = (None, None);
            let started = std::thread::Builder::new().name("day".into()).spawn(move || {
                if send.send(super::aside::in_pool(|| work(plan, kit))).is_ok() {
                    ctx.request_repaint();
                }
            });
            self.day.job = started.is_ok().then_some(receive);
        }
    }

    /// The day fills the window's middle.
    pub(crate) fn show_day(&mut self, ui: &mut Ui) {
        self.tend_day(&ui.ctx().clone());
        egui::ScrollArea::both().auto_shrink([false, false]).show(ui, |ui| {
            ui.add_space(8.0);
            // Taken out while it is shown, so that buttons may change the plan.
            let Some(found) = self.day.found.take() else {
                ui.label(say!("working-out-the-day"));
                return;
            };
            if found.plan != self.plan || found.kit_file != self.kit {
                ui.weak(say!("working-it-out-again"));
            }
            self.order_part(ui, &found);
            ui.separator();
            self.cuts_part(ui, &found);
            ui.separator();
            self.power_part(ui, &found.plan, &found.rigs);
            ui.separator();
            self.kit_part(ui, &found);
            self.day.found = Some(found);
        });
    }

    fn order_part(&mut self, ui: &mut Ui, found: &Worked) {
        super::panels::heading(ui, say!("order-of-the-day"));
        let d = &found.order;
        ui.label(say!(
            "to-min-before-the-wrap-cost",
            start = found.plan.day.start,
            ends = d.ends,
            slack_min = figure(d.slack_min, 0),
            cost = figure(d.cost, 0),
            storyboard_cost = figure(d.storyboard_cost, 0),
            proved = proof_text(d)
        ));
        let wrong = colour(self.look.palette().wrong);
        for t in &d.troubles {
            ui.label(RichText::new(t).color(wrong));
        }
        let mut pins: Option<Vec<Pin>> = None;
        let now = self.plan.day.pins.clone();
        Grid::new("order of the day").num_columns(8).spacing([14.0, 4.0]).striped(true).show(ui, |ui| {
            for h in [
                "",
                say!("change-word"),
                say!("shooting"),
                say!("shots-word"),
                say!("rig-and-camera"),
                say!("cast-word"),
                say!("lamps-at-the-change-word"),
                "",
            ] {
                ui.weak(h);
            }
            ui.end_row();
            for c in &d.calls {
                ui.label(format!("{}.", c.place));
                ui.label(say!("change-at-change-min", change_at = c.change_at, change_min = figure(c.change_min, 0)));
                let slack = c.slack_min.map_or(String::new(), |s| say!("s-min-slack", s = figure(s, 0)));
                ui.label(say!("from-to-slack", from = c.from, to = c.to, slack));
                ui.strong(c.setup.names.join(", "));
                let rig = found.plan.rig(&c.setup.rig).map_or("", |r| r.name.as_str());
                let camera =
                    c.setup.camera.as_ref().and_then(|id| found.plan.camera(id)).map_or(say!("no-camera"), |k| &k.name);
                ui.label(format!("{rig}, {camera}"));
                let cast: Vec<&str> =
                    c.setup.cast.iter().filter_map(|id| found.plan.person(id)).map(|p| p.name.as_str()).collect();
                ui.label(cast.join(", "));
                ui.add(egui::Label::new(tasks_in_words(&c.lamps)).wrap());
                ui.horizontal(|ui| {
                    let id = c.setup.shots.first().cloned();
                    let n = c.setup.names.join(", ");
                    let mut pinned = c.pinned;
                    let tip = say!("keep-shot-at-place", shot = n, place = c.place);
                    let tick = ui.checkbox(&mut pinned, say!("pin")).on_hover_text(&tip);
                    tick.widget_info(|| egui::WidgetInfo::selected(egui::Role::CheckBox, true, pinned, &tip));
                    if tick.changed()
                        && let Some(id) = &id
                    {
                        let mut next = now.clone();
                        next.retain(|p| !c.setup.shots.contains(&p.shot) && p.place != c.place);
                        if pinned {
                            next.push(Pin { shot: id.clone(), place: c.place });
                        }
                        pins = Some(next);
                    }
                    for (text, to) in [("↑", c.place.wrapping_sub(1)), ("↓", c.place + 1)] {
                        let on = (1..=d.calls.len()).contains(&to);
                        let tip = say!("keep-shot-at-place", shot = n, place = to);
                        let b = ui.add_enabled(on, egui::Button::new(text).small());
                        b.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, on, &tip));
                        if b.on_hover_text(tip).clicked()
                            && let Some(id) = &id
                        {
                            let mut next = now.clone();
                            next.retain(|p| !c.setup.shots.contains(&p.shot) && p.place != to);
                            next.push(Pin { shot: id.clone(), place: to });
                            pins = Some(next);
                        }
                    }
                });
                ui.end_row();
            }
        });
        ui.horizontal(|ui| {
            if ui.button(say!("pin-the-day-as-it-is")).clicked() {
                pins = Some(pins_of(d, d.calls.len()));
            }
            if ui.add_enabled(!now.is_empty(), egui::Button::new(say!("take-all-pins-out"))).clicked() {
                pins = Some(Vec::new());
            }
        });
        for p in &d.people {
            ui.label(call_text(p));
        }
        let mut day = self.plan.day.clone();
        let mut changed = false;
        ui.collapsing(say!("what-changes-cost"), |ui| {
            Grid::new("costs").num_columns(2).spacing([10.0, 4.0]).show(ui, |ui| {
                changed |= clock(ui, say!("day-starts"), &mut day.start);
                changed |= clock(ui, say!("wrap"), &mut day.wrap);
                changed |= number(ui, say!("another-rig"), &mut day.rig_change_min, 0.0..=240.0, 1.0, say!("min-word"));
                changed |= number(ui, say!("a-lamp"), &mut day.lamp_min, 0.0..=60.0, 0.5, say!("min-word"));
                changed |= number(
                    ui,
                    say!("another-camera-place"),
                    &mut day.camera_move_min,
                    0.0..=120.0,
                    1.0,
                    say!("min-word"),
                );
                changed |= number(ui, say!("rehearsal"), &mut day.rehearse_min, 0.0..=240.0, 1.0, say!("min-word"));
                let mut takes = f64::from(day.takes);
                if number(ui, say!("takes"), &mut takes, 1.0..=100.0, 1.0, "") {
                    day.takes = takes.round() as u32;
                    changed = true;
                }
                changed |=
                    number(ui, say!("between-takes"), &mut day.between_takes_min, 0.0..=60.0, 0.5, say!("min-word"));
                changed |=
                    number(ui, say!("a-shots-hour-within"), &mut day.window_min, 0.0..=600.0, 5.0, say!("min-word"));
                changed |= number(ui, say!("a-waiting-minute-weighs"), &mut day.waiting_weight, 0.0..=10.0, 0.05, "");
            });
            ui.label(say!("hours-of-the-cast"));
            for p in self.plan.cast.clone() {
                let mut next = p.clone();
                let mut own = false;
                Grid::new(("hours", p.id.as_str())).num_columns(2).spacing([10.0, 4.0]).show(ui, |ui| {
                    own |= hour(ui, &say!("name-comes", name = p.name), &mut next.from, day.start);
                    own |= hour(ui, &say!("name-leaves", name = p.name), &mut next.until, day.wrap);
                });
                if own {
                    self.edit(&Edit::Put(tapemark_core::edit::Item::Person(next)));
                }
            }
        });
        if let Some(pins) = pins {
            day.pins = pins;
            self.edit(&Edit::Settings(Box::new(Settings { day, ..Settings::of(&self.plan) })));
        } else if changed {
            self.edit_live(&Edit::Settings(Box::new(Settings { day, ..Settings::of(&self.plan) })));
        }
    }

    fn cuts_part(&mut self, ui: &mut Ui, found: &Worked) {
        super::panels::heading(ui, say!("shots-that-cut-together"));
        if found.matches.is_empty() {
            ui.weak(say!("none-or-none-with-a-face"));
        }
        let palette = self.look.palette();
        let name = |id: &ShotId| found.plan.shot(id).map_or(String::new(), |s| s.name.clone());
        let mut carry: Option<(ShotId, ShotId, PersonId)> = None;
        for m in &found.matches {
            let (a, b) = (name(&m.first.shot), name(&m.second.shot));
            let verdict = if m.matches { say!("matches") } else { say!("does-not-match-verdict") };
            ui.strong(say!("a-to-b-name-verdict", a, b, name = m.name, verdict));
            ui.horizontal_wrapped(|ui| {
                for d in &m.differences {
                    let ink = if d.within { palette.quiet } else { palette.wrong };
                    ui.label(RichText::new(difference_text(d)).color(colour(ink)));
                    ui.label(" ");
                }
            });
            ui.horizontal(|ui| {
                for (from, to) in [(&m.first.shot, &m.second.shot), (&m.second.shot, &m.first.shot)] {
                    let text = say!("carry-s-light-from-over-to", name = m.name, from = name(from), to = name(to));
                    if ui.button(text).clicked() {
                        carry = Some((from.clone(), to.clone(), m.person.clone()));
                    }
                }
            });
        }
        if let Some((from, to, person)) = carry {
            let plan = self.plan.clone();
            self.day.carry = None;
            self.day.carry_job = Job::start(ui.ctx(), move || {
                let (a, b) =
                    plan.shot(&from).zip(plan.shot(&to)).ok_or_else(|| say!("the-shot-is-gone").to_string())?;
                carry_over(&plan, a, b, &person)
            });
        }
        if let Some(found) = self.day.carry_job.as_ref().and_then(Job::answer) {
            (self.day.carry, self.day.carry_job) = (Some(found), None);
        }
        if self.day.carry_job.is_some() {
            ui.weak(say!("looking"));
        }
        let mut apply = None;
        match &self.day.carry {
            None => {}
            Some(Err(why)) => {
                ui.label(why);
            }
            Some(Ok(c)) => {
                for line in carry_lines(&self.plan, c) {
                    ui.label(line);
                }
                if ui.button(say!("place-the-lamps-so")).clicked() {
                    apply.clone_from(&c.edit);
                }
            }
        }
        if let Some(edit) = apply {
            self.day.carry = None;
            self.edit(&edit);
        }
        let mut limits = self.plan.limits.clone();
        let m = &mut limits.matching;
        let mut changed = false;
        ui.collapsing(say!("what-is-tolerated-at-a-cut"), |ui| {
            Grid::new("tolerated").num_columns(2).spacing([10.0, 4.0]).show(ui, |ui| {
                changed |= number(ui, say!("key-direction-label"), &mut m.key_angle_deg, 0.0..=180.0, 1.0, "°");
                changed |=
                    number(ui, say!("key-fill-label"), &mut m.key_fill_stops, 0.0..=6.0, 0.1, say!("stops-word"));
                changed |= number(ui, say!("face-level-label"), &mut m.face_stops, 0.0..=6.0, 0.1, say!("stops-word"));
                changed |= number(ui, say!("colour-ciede2000-label"), &mut m.delta_e, 0.0..=50.0, 0.5, "");
                changed |=
                    number(ui, say!("colour-temperature-label"), &mut m.mired, 0.0..=200.0, 1.0, say!("mired-word"));
                changed |=
                    number(ui, say!("background-label"), &mut m.background_stops, 0.0..=8.0, 0.1, say!("stops-word"));
                changed |= number(ui, say!("hair-light-label"), &mut m.hair_stops, 0.0..=8.0, 0.1, say!("stops-word"));
            });
        });
        if changed {
            self.edit_live(&Edit::Settings(Box::new(Settings { limits, ..Settings::of(&self.plan) })));
        }
    }

    fn save_kit(&mut self, path: PathBuf) {
        match files::write_atomically(&path, kit_to_json(&self.kit).as_bytes()) {
            Ok(()) => {
                self.kit_saved = self.kit.clone();
                self.tell(say!("saved-path", path = path.display()));
                self.memory.kit = Some(path);
                self.memory.write();
            }
            Err(e) => self.ask = Some(Ask::Trouble(e)),
        }
    }

    fn kit_part(&mut self, ui: &mut Ui, found: &Worked) {
        super::panels::heading(ui, say!("kit"));
        ui.horizontal(|ui| {
            if ui.button(say!("open-a-kit-file")).clicked() {
                self.choose(Wanted::Kit, "", |editor, path| editor.open_kit(&path));
            }
            if ui.button(say!("save-the-kit-file")).clicked() {
                self.choose(Wanted::KitSave, "bag.tapemark-kit.json", |editor, path| editor.save_kit(path));
            }
            let name = ui.label(say!("currency"));
            ui.add(egui::TextEdit::singleline(&mut self.kit.currency).desired_width(60.0).char_limit(8))
                .labelled_by(name.id);
        });
        if self.memory.kit.is_none() && self.kit != KitFile::default() {
            ui.label(RichText::new(say!("not-kept-yet-save-the-kit")).color(colour(self.look.palette().selected)));
        }
        let k = &found.kit;
        ui.label(say!(
            "to-carry-kg-l-rent-buy-word",
            weight_kg = figure(k.weight_kg, 0),
            volume_l = figure(k.volume_l, 0),
            rent_cost = k.price(k.rent_cost),
            buy_cost = k.price(k.buy_cost),
            unpriced = k.unpriced
        ));
        let wrong = colour(self.look.palette().wrong);
        Grid::new("kit").num_columns(8).spacing([14.0, 4.0]).striped(true).show(ui, |ui| {
            for h in [
                say!("needed"),
                say!("what-word"),
                say!("where-word"),
                say!("owned"),
                say!("rent-each"),
                say!("buy-each"),
                say!("missing-word"),
                "kg",
            ] {
                ui.weak(h);
            }
            ui.end_row();
            for l in &k.lines {
                ui.label(count_text(l.needed, &l.thing));
                ui.label(&l.name);
                ui.label(if l.only_if_wanted { say!("why-if-wanted", why = l.why) } else { l.why.clone() });
                self.kit_numbers(ui, &l.thing, &l.name);
                if l.missing > 0.0 {
                    let price = l.cost.map_or(String::new(), |c| format!(", {}", figure(c, 2)));
                    let word = if l.way == Way::Unpriced { say!("to-find") } else { l.way.label() };
                    ui.label(RichText::new(format!("{} {word}{price}", count_text(l.missing, &l.thing))).color(wrong));
                } else {
                    ui.label("—");
                }
                ui.label(figure(l.weight_kg, 1));
                ui.end_row();
            }
        });
        for s in &k.stand_ins {
            ui.label(stand_in_text(s));
        }
    }

    /// How many of a thing are owned and what it costs, typed into the kit.
    fn kit_numbers(&mut self, ui: &mut Ui, thing: &Thing, name: &str) {
        let at = self.kit.items.iter().position(|i| i.thing == *thing);
        let mut item = at.map_or_else(
            || KitItem {
                thing: thing.clone(),
                count: 0.0,
                rent_price: None,
                buy_price: None,
                weight_kg: None,
                volume_l: None,
            },
            |i| self.kit.items[i].clone(),
        );
        let before = item.clone();
        let mut count = egui::DragValue::new(&mut item.count).range(0.0..=10_000.0).speed(0.1).max_decimals(1);
        if !matches!(thing, Thing::Cloth { .. }) {
            count = count.max_decimals(0).speed(0.05);
        }
        ui.add(count).on_hover_text(say!("name-owned", name));
        for (price, tip) in [(&mut item.rent_price, say!("rent-a-day")), (&mut item.buy_price, say!("to-buy"))] {
            let mut v = price.unwrap_or(0.0);
            let field = egui::DragValue::new(&mut v).range(0.0..=1e6).speed(0.1).max_decimals(2);
            if ui.add(field).on_hover_text(say!("name-price-tip-0-none-known", name, tip)).changed() {
                *price = (v > 0.0).then_some(v);
            }
        }
        if item != before {
            match at {
                Some(i) => self.kit.items[i] = item,
                None => self.kit.items.push(item),
            }
        }
    }
}

/// A time of day, dragged or typed.
fn clock(ui: &mut Ui, label: &str, value: &mut Clock) -> bool {
    let name = ui.label(label);
    let mut minutes = value.minutes;
    let field = egui::DragValue::new(&mut minutes)
        .range(0..=1439)
        .speed(1.0)
        .custom_formatter(|v, _| Clock { minutes: v as u32 }.to_string())
        .custom_parser(|t| Clock::try_from(t.to_string()).ok().map(|c| f64::from(c.minutes)));
    let changed = ui.add(field).labelled_by(name.id).changed();
    value.minutes = minutes;
    ui.end_row();
    changed
}

/// A time of day that may be absent.
fn hour(ui: &mut Ui, label: &str, value: &mut Option<Clock>, usual: Clock) -> bool {
    let mut set = value.is_some();
    let mut changed = tick(ui, label, &mut set);
    if changed {
        *value = set.then_some(usual);
    }
    if let Some(c) = value {
        changed |= clock(ui, say!("at"), c);
    }
    changed
}
