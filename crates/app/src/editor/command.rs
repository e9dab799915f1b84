//! Commands: one list behind menus and shortcuts.

use super::dialogs::Ask;
use super::state::{Editor, Page, Tool};
use egui::{Key, KeyboardShortcut, Modifiers};
use glam::DVec2;
use tapemark_core::edit::{Edit, Item, ItemRef};
use tapemark_core::plan::{HeadClass, Plan, Shot};
use tapemark_words::say;

/// Something a person can ask the editor to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Command {
    /// Anything, by its name.
    Find,
    /// An empty plan.
    New,
    /// Another plan.
    Open,
    /// Write the plan.
    Save,
    /// Write it elsewhere.
    SaveAs,
    /// The crew's sheet.
    Export,
    /// The demo plan.
    Demo,
    /// Close the window.
    Quit,
    /// Take the last edit back.
    Undo,
    /// Make it again.
    Redo,
    /// To the clipboard and away.
    Cut,
    /// To the clipboard.
    Copy,
    /// From the clipboard.
    Paste,
    /// A copy beside it.
    Duplicate,
    /// Away.
    Delete,
    /// Everything on the plan.
    SelectAll,
    /// Nothing; back to the select tool.
    Release,
    /// Nearer.
    ZoomIn,
    /// Further.
    ZoomOut,
    /// The whole plan.
    Fit,
    /// Snapping on and off.
    Snap,
    /// Light over the floor on and off.
    Light,
    /// The clear-view map on and off.
    ClearView,
    /// Taping distances on and off.
    Taping,
    /// Another shot.
    NewShot,
    /// Next shot.
    NextShot,
    /// Shot before.
    PreviousShot,
    /// Run or halt the move.
    Play,
    /// The floor plan.
    ShowPlan,
    /// The storyboard.
    ShowBoard,
    /// The shooting day.
    ShowDay,
    /// Room outlines from a drawing.
    BringIn,
    /// A drawing or scene for other programs.
    HandOn,
    /// A picture under the plan.
    Underlay,
    /// Lists as CSV.
    Lists,
    /// One page for the crew's phones.
    CrewPage,
    /// Phone-sized pictures of the shots.
    Phone,
    /// Another way of taking the shot.
    Variant,
    /// Selects the next thing on the plan.
    NextThing,
    /// Selects the thing before it.
    PreviousThing,
    /// Type and controls larger.
    LargerType,
    /// Type and controls smaller.
    SmallerType,
}

impl Command {
    /// All of them.
    pub const ALL: [Command; 42] = [
        Command::Find,
        Command::New,
        Command::Open,
        Command::Save,
        Command::SaveAs,
        Command::Export,
        Command::Demo,
        Command::Quit,
        Command::Undo,
        Command::Redo,
        Command::Cut,
        Command::Copy,
        Command::Paste,
        Command::Duplicate,
        Command::Delete,
        Command::SelectAll,
        Command::Release,
        Command::ZoomIn,
        Command::ZoomOut,
        Command::Fit,
        Command::Snap,
        Command::Light,
        Command::ClearView,
        Command::Taping,
        Command::NewShot,
        Command::NextShot,
        Command::PreviousShot,
        Command::Play,
        Command::ShowPlan,
        Command::ShowBoard,
        Command::ShowDay,
        Command::BringIn,
        Command::HandOn,
        Command::Underlay,
        Command::Lists,
        Command::CrewPage,
        Command::Phone,
        Command::Variant,
        Command::NextThing,
        Command::PreviousThing,
        Command::LargerType,
        Command::SmallerType,
    ];

    /// Name in menus.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Command::Find => say!("do"),
            Command::New => say!("new-plan"),
            Command::Open => say!("open-ask"),
            Command::Save => say!("save"),
            Command::SaveAs => say!("save-as"),
            Command::Export => say!("export-sheet"),
            Command::Demo => say!("open-the-demo"),
            Command::Quit => say!("quit"),
            Command::Undo => say!("undo"),
            Command::Redo => say!("redo"),
            Command::Cut => say!("cut"),
            Command::Copy => say!("copy"),
            Command::Paste => say!("paste"),
            Command::Duplicate => say!("duplicate"),
            Command::Delete => say!("delete"),
            Command::SelectAll => say!("select-all"),
            Command::Release => say!("release"),
            Command::ZoomIn => say!("zoom-in"),
            Command::ZoomOut => say!("zoom-out"),
            Command::Fit => say!("show-the-whole-plan"),
            Command::Snap => say!("snap-to-5-cm-and-right"),
            Command::Light => say!("light-over-the-floor"),
            Command::ClearView => say!("clear-view-over-the-floor"),
            Command::Taping => say!("distances-to-tape"),
            Command::NewShot => say!("new-shot-like-this"),
            Command::NextShot => say!("next-shot"),
            Command::PreviousShot => say!("previous-shot"),
            Command::Play => say!("run-the-move"),
            Command::ShowPlan => say!("floor-plan"),
            Command::ShowBoard => say!("storyboard"),
            Command::ShowDay => say!("shooting-day"),
            Command::BringIn => say!("bring-in-a-drawing"),
            Command::HandOn => say!("hand-on-to-another-program"),
            Command::Underlay => say!("picture-under-the-plan"),
            Command::Lists => say!("write-the-lists-as-csv"),
            Command::CrewPage => say!("write-crew-page"),
            Command::Phone => say!("write-phone-pictures"),
            Command::Variant => say!("another-way-of-this-shot"),
            Command::NextThing => say!("select-the-next-thing"),
            Command::PreviousThing => say!("select-the-thing-before"),
            Command::LargerType => say!("larger-type"),
            Command::SmallerType => say!("smaller-type"),
        }
    }

    /// Its shortcut.
    #[must_use]
    pub fn shortcut(self) -> Option<KeyboardShortcut> {
        let ctrl = |key| Some(KeyboardShortcut::new(Modifiers::COMMAND, key));
        let ctrl_shift = |key| Some(KeyboardShortcut::new(Modifiers::COMMAND | Modifiers::SHIFT, key));
        let plain = |key| Some(KeyboardShortcut::new(Modifiers::NONE, key));
        match self {
            Command::Find => ctrl(Key::K),
            Command::New => ctrl(Key::N),
            Command::Open => ctrl(Key::O),
            Command::Save => ctrl(Key::S),
            Command::SaveAs => ctrl_shift(Key::S),
            Command::Export => ctrl(Key::E),
            Command::Quit => ctrl(Key::Q),
            Command::Undo => ctrl(Key::Z),
            Command::Redo => ctrl_shift(Key::Z),
            Command::Duplicate => ctrl(Key::D),
            Command::SelectAll => ctrl(Key::A),
            Command::Delete => plain(Key::Delete),
            Command::Release => plain(Key::Escape),
            Command::ZoomIn => plain(Key::Plus),
            Command::ZoomOut => plain(Key::Minus),
            Command::Fit => plain(Key::Home),
            Command::Snap => plain(Key::G),
            Command::Light => plain(Key::L),
            Command::ClearView => plain(Key::E),
            Command::Taping => plain(Key::T),
            Command::NewShot => ctrl_shift(Key::N),
            Command::NextShot => plain(Key::PageDown),
            Command::PreviousShot => plain(Key::PageUp),
            Command::Play => plain(Key::Space),
            Command::ShowPlan => plain(Key::F2),
            Command::ShowBoard => plain(Key::F3),
            Command::ShowDay => plain(Key::F4),
            // Cut, copy and paste come as events of their own.
            Command::Cut | Command::Copy | Command::Paste | Command::Demo => None,
            Command::BringIn | Command::HandOn | Command::Underlay | Command::Lists => None,
            Command::CrewPage | Command::Phone => None,
            Command::Variant => None,
            Command::NextThing => plain(Key::N),
            Command::PreviousThing => Some(KeyboardShortcut::new(Modifiers::SHIFT, Key::N)),
            Command::LargerType => ctrl(Key::Plus),
            Command::SmallerType => ctrl(Key::Minus),
        }
    }
}

/// Smallest and largest type, and from one size to the next.
const TYPE_SIZES: (f32, f32) = (0.75, 2.5);
const TYPE_STEP: f32 = 0.125;

/// Keys that pick a tool, and what it is called.
pub(crate) const TOOL_KEYS: [(Key, Tool, &str); 10] = [
    (Key::V, Tool::Select, "select"),
    (Key::R, Tool::Room, "room-label"),
    (Key::D, Tool::Door, "door-label"),
    (Key::W, Tool::Window, "window-label"),
    (Key::O, Tool::Passage, "passage-label"),
    (Key::F, Tool::Piece, "piece-label"),
    (Key::B, Tool::Board, "bounce"),
    (Key::P, Tool::Person, "person-label"),
    (Key::C, Tool::Camera, "camera-label"),
    (Key::U, Tool::Outlet, "outlet-label"),
];

impl Editor {
    /// Reads the keyboard.
    pub(crate) fn shortcuts(&mut self, ctx: &egui::Context) {
        if self.ask.is_some() || self.finder.is_some() {
            return;
        }
        let typing = ctx.egui_wants_keyboard_input();
        let mut wanted = Vec::new();
        // A shortcut also answers with shift held unless one that asks for shift comes first.
        let mut list: Vec<_> = Command::ALL.iter().filter_map(|c| c.shortcut().map(|s| (*c, s))).collect();
        list.sort_by_key(|(_, s)| !s.modifiers.shift);
        for (command, shortcut) in list {
            let plain = !shortcut.modifiers.command;
            if plain && (typing || self.typing_length(shortcut.logical_key)) {
                continue;
            }
            if typing && matches!(command, Command::Undo | Command::Redo | Command::SelectAll) {
                continue;
            }
            if ctx.input_mut(|i| i.consume_shortcut(&shortcut)) {
                wanted.push(command);
            }
        }
        if ctx.input_mut(|i| i.consume_key(Modifiers::COMMAND, Key::Y)) {
            wanted.push(Command::Redo);
        }
        if !typing {
            ctx.input(|i| {
                for event in &i.events {
                    match event {
                        egui::Event::Copy => wanted.push(Command::Copy),
                        egui::Event::Cut => wanted.push(Command::Cut),
                        egui::Event::Paste(_) => wanted.push(Command::Paste),
                        _ => {}
                    }
                }
            });
            if self.room_draft.points.is_empty() {
                if ctx.input_mut(|i| i.consume_key(Modifiers::NONE, Key::Backspace)) {
                    wanted.push(Command::Delete);
                }
                for (key, tool, _) in TOOL_KEYS {
                    if ctx.input_mut(|i| i.consume_key(Modifiers::NONE, key)) {
                        self.take(tool);
                    }
                }
                if ctx.input_mut(|i| i.consume_key(Modifiers::NONE, Key::K)) {
                    self.take(Tool::Lamp(HeadClass::SoftBox));
                }
            }
            self.nudge(ctx);
        }
        for command in wanted {
            self.run(command, ctx);
        }
    }

    /// Arrow keys move what is selected, or the view; with shift, ten times as far; with alt, they turn.
    fn nudge(&mut self, ctx: &egui::Context) {
        for (key, dir) in [
            (Key::ArrowLeft, DVec2::NEG_X),
            (Key::ArrowRight, DVec2::X),
            (Key::ArrowUp, DVec2::Y),
            (Key::ArrowDown, DVec2::NEG_Y),
        ] {
            for (modifiers, step) in [(Modifiers::NONE, 0.05), (Modifiers::SHIFT, 0.5)] {
                if ctx.input_mut(|i| i.consume_key(modifiers, key)) {
                    if self.tool != Tool::Select {
                        // The pointer by key: a tool needs no mouse.
                        let from = self.by_key.or(self.pointer).unwrap_or(self.view.centre);
                        self.by_key = Some(((from + dir * step) / 0.05).round() * 0.05);
                        ctx.memory_mut(|m| m.stop_text_input());
                    } else if self.selected.is_empty() {
                        self.view.pan(dir * -1.2 * step * 10.0);
                    } else {
                        let items = self.selected.iter().cloned().collect();
                        self.edit(&Edit::Move { items, by: dir * step });
                    }
                }
            }
            if ctx.input_mut(|i| i.consume_key(Modifiers::ALT, key)) && !self.selected.is_empty() {
                let items = self.selected.iter().cloned().collect();
                self.edit(&Edit::Turn { items, by_deg: if dir.x + dir.y > 0.0 { 5.0 } else { -5.0 } });
            }
        }
    }

    /// Takes a tool in hand.
    pub fn take(&mut self, tool: Tool) {
        self.commit();
        self.room_draft = Default::default();
        self.tool = tool;
        self.by_key = None;
    }

    /// Carries out a command.
    pub fn run(&mut self, command: Command, ctx: &egui::Context) {
        match command {
            Command::Find => self.finder = Some(String::new()),
            Command::New => self.guarded(Ask::ThenNew),
            Command::Open => self.guarded(Ask::ThenOpen),
            Command::Demo => self.guarded(Ask::ThenDemo),
            Command::Quit => ctx.send_viewport_cmd(egui::ViewportCommand::Close),
            Command::Save => {
                self.save(None);
            }
            Command::SaveAs => {
                self.save_as(None);
            }
            Command::Export => self.ask = Some(Ask::Export),
            Command::Undo => self.undo(),
            Command::Redo => self.redo(),
            Command::Copy => self.clipboard = self.selected_items(),
            Command::Cut => {
                self.clipboard = self.selected_items();
                self.delete_selected();
            }
            Command::Paste => self.paste(self.clipboard.clone()),
            Command::Duplicate => self.paste(self.selected_items()),
            Command::Delete => self.delete_selected(),
            Command::SelectAll => self.select_all(),
            Command::Release => {
                if self.underlay.points.take().is_some() {
                    return;
                }
                if !self.room_draft.points.is_empty() {
                    self.room_draft = Default::default();
                } else if self.tool == Tool::Select {
                    self.selected.clear();
                } else {
                    self.take(Tool::Select);
                }
            }
            Command::ZoomIn => self.view.zoom_about(self.view.rect.center(), 1.25),
            Command::ZoomOut => self.view.zoom_about(self.view.rect.center(), 0.8),
            Command::Fit => self.view.fitted = false,
            Command::Snap => self.snap = !self.snap,
            Command::Light => {
                self.light.on = !self.light.on;
                self.blocking.shown &= !self.light.on;
                self.touch_moment();
            }
            Command::ClearView => {
                // One of the two lies over the floor.
                self.blocking.shown = !self.blocking.shown;
                self.light.on &= !self.blocking.shown;
            }
            Command::Taping => self.taping = !self.taping,
            Command::ShowPlan => self.page = Page::Plan,
            Command::ShowBoard => self.page = Page::Board,
            Command::ShowDay => self.page = Page::Day,
            Command::BringIn => self.bring_in(),
            Command::HandOn => self.hand_on(),
            Command::Underlay => self.choose_underlay(),
            Command::Lists => self.write_lists(),
            Command::CrewPage => self.write_crew_page(),
            Command::Phone => self.write_phones(),
            Command::Variant => self.make_variant(&self.shot.clone()),
            Command::NextThing => self.select_along(1),
            Command::PreviousThing => self.select_along(-1),
            Command::LargerType => self.set_type_size(self.memory.layout.type_size + TYPE_STEP),
            Command::SmallerType => self.set_type_size(self.memory.layout.type_size - TYPE_STEP),
            Command::NewShot => self.new_shot(),
            Command::NextShot => self.step_shot(1),
            Command::PreviousShot => self.step_shot(-1),
            Command::Play => self.playing = !self.playing,
        }
    }

    /// Selects the thing so many places along in the order of the plan.
    fn select_along(&mut self, by: isize) {
        let all = everything(&self.plan, self.current_shot());
        if all.is_empty() {
            return;
        }
        let at = self.selected.first().and_then(|s| all.iter().position(|i| i == s));
        let n = all.len() as isize;
        let next = match at {
            Some(i) => (i as isize + by).rem_euclid(n),
            None if by > 0 => 0,
            None => n - 1,
        };
        let item = all[next as usize].clone();
        self.tell(say!("selected-item", item = crate::words::item_name(&self.plan, &item)));
        self.selected = [item].into();
    }

    /// Sets how large type and controls are, and remembers it.
    pub fn set_type_size(&mut self, size: f32) {
        self.memory.layout.type_size = size.clamp(TYPE_SIZES.0, TYPE_SIZES.1);
        self.memory.write();
    }

    fn delete_selected(&mut self) {
        if self.selected.is_empty() {
            return;
        }
        let items: Vec<ItemRef> = self.selected.iter().cloned().collect();
        if self.edit(&Edit::Remove(items)) {
            self.selected.clear();
        }
    }

    fn paste(&mut self, items: Vec<Item>) {
        if items.is_empty() {
            return;
        }
        let before: std::collections::HashSet<String> = self.plan.all_ids().map(str::to_string).collect();
        let (rig, shot) = (self.current_shot().rig.clone(), self.shot.clone());
        if self.edit(&Edit::Paste { items, by: DVec2::new(0.4, -0.4), rig, shot }) {
            let fresh: Vec<ItemRef> =
                everything(&self.plan, self.current_shot()).into_iter().filter(|r| !before.contains(r.id())).collect();
            self.selected = fresh.into_iter().collect();
        }
    }

    fn select_all(&mut self) {
        self.selected = everything(&self.plan, self.current_shot()).into_iter().collect();
    }

    fn new_shot(&mut self) {
        let old = self.current_shot().clone();
        let mut shot = Shot {
            id: self.plan.fresh_id("shot").into(),
            name: (self.plan.shots.len() + 1).to_string(),
            description: String::new(),
            ..old
        };
        let mut copy = self.plan.clone();
        // A camera place of its own, where the old one stood.
        if let Some(camera) = self.plan.shot_camera(self.current_shot()).cloned() {
            let letter = char::from(b'A' + (self.plan.cameras.len() % 26) as u8);
            let new = tapemark_core::plan::Camera {
                id: self.plan.fresh_id("camera").into(),
                name: say!("cam-letter", letter),
                ..camera
            };
            shot.camera = Some(new.id.clone());
            copy.cameras.push(new);
        }
        for (i, m) in shot.marks.iter_mut().enumerate() {
            m.id = format!("{}-mark-{}", shot.id, i + 1).into();
        }
        let id = shot.id.clone();
        copy.shots.push(shot);
        self.commit();
        if self.may_change() && tapemark_core::plan::validate(&copy).is_empty() {
            self.history.note(say!("new-shot").into(), &self.plan, &copy);
            self.plan = copy;
            self.go_to_shot(id);
        }
    }

    fn step_shot(&mut self, by: isize) {
        let at = self.plan.shots.iter().position(|s| s.id == self.shot).unwrap_or(0) as isize;
        let n = self.plan.shots.len() as isize;
        let id = self.plan.shots[(at + by).rem_euclid(n) as usize].id.clone();
        self.go_to_shot(id);
    }
}

/// Everything that stands on the plan in a shot.
pub(crate) fn everything(plan: &Plan, shot: &Shot) -> Vec<ItemRef> {
    let l = &plan.location;
    let mut out: Vec<ItemRef> = Vec::new();
    out.extend(l.rooms.iter().map(|x| ItemRef::Room(x.id.clone())));
    out.extend(l.openings.iter().map(|x| ItemRef::Opening(x.id.clone())));
    out.extend(l.pieces.iter().map(|x| ItemRef::Piece(x.id.clone())));
    out.extend(l.outlets.iter().map(|x| ItemRef::Outlet(x.id.clone())));
    out.extend(shot.camera.iter().map(|c| ItemRef::Camera(c.clone())));
    out.extend(plan.shot_fixtures(shot).iter().map(|f| ItemRef::Fixture(f.id.clone())));
    out.extend(shot.marks.iter().map(|m| ItemRef::Mark(m.id.clone())));
    out
}
