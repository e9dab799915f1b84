//! What the editor holds: the plan, what is selected and shown, and how edits get in.

use super::canvas::Camera2d;
use super::dialogs::{Ask, Chooser, system_chooser};
use super::room_tool::RoomDraft;
use super::theme::Shade;
use super::tools::Drag;
use crate::files::Memory;
use glam::DVec2;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::time::{Duration, Instant};
use tapemark_core::blocking::Moments;
use tapemark_core::edit::{Edit, History, Item, ItemRef, apply, touched};
use tapemark_core::facts::{ShotFacts, facts_of_scene};
use tapemark_core::kit::KitFile;
use tapemark_core::light::{Detail, LightMap, MapFacing, MapShows, MapSpec, Reached, SunSpell, Transport, light_map};
use tapemark_core::plan::{HeadClass, PersonId, Plan, Shot, ShotId};
use tapemark_core::scene::{Scene, Stage};
use tapemark_core::units::LevelUnit;
use tapemark_words::say;

/// What a click on the plan does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tool {
    /// Selects and drags.
    #[default]
    Select,
    /// Draws a room corner by corner.
    Room,
    /// Puts a door on a wall.
    Door,
    /// Puts a window on a wall.
    Window,
    /// Puts an open passage on a wall.
    Passage,
    /// Puts a piece.
    Piece,
    /// Puts a bounce board.
    Board,
    /// Puts a person's mark.
    Person,
    /// Puts the shot's camera.
    Camera,
    /// Puts a lamp.
    Lamp(HeadClass),
    /// Puts an outlet.
    Outlet,
}

/// How the light over the floor is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightShown {
    /// Whether it is drawn.
    pub on: bool,
    /// Height of the readings, metres.
    pub height_m: f64,
    /// Unit of legend and read-out.
    pub unit: LevelUnit,
    /// Which way the receptors look.
    pub facing: MapFacing,
    /// What of the light.
    pub shows: MapShows,
}

/// Cell of the light map while something is dragged, metres.
const COARSE_M: f64 = 0.3;
/// Cell of the light map when all is still, metres.
pub(super) const FINE_M: f64 = 0.05;
/// Patches for bounced light while something that shapes it is dragged, metres.
const COARSE_PATCH_M: f64 = 1.0;
/// Nodes of the map's bounced light while something is dragged, metres.
const COARSE_BOUNCE_M: f64 = 1.5;
/// Most answers of a lamp to a cell in such a map, and most nodes, about.
const COARSE_ANSWERS: f64 = 24_000.0;
const COARSE_NODES: f64 = 40.0;

/// A map that takes longer than this is made less often while something moves: between two lies this many times what
/// one takes.
const SLOW_MAP: Duration = Duration::from_millis(4);
const MAP_EVERY: u32 = 5;

/// Whether surfaces are linked beside the frames only.
fn is_large(plan: &Plan) -> bool {
    plan.location.rooms.len() > 6 || plan.location.pieces.len() > 120
}

/// A change under way: the plan before it, and what undo will call it.
pub(crate) struct Pending {
    pub before: Plan,
    pub label: String,
}

/// The editor.
pub struct Editor {
    /// The plan as it is.
    pub plan: Plan,
    /// Its file.
    pub path: Option<PathBuf>,
    /// What is selected.
    pub selected: BTreeSet<ItemRef>,
    /// The shot looked at.
    pub shot: ShotId,
    /// The moment looked at, seconds.
    pub seconds: f64,
    /// The tool in hand.
    pub tool: Tool,
    /// Light over the floor.
    pub light: LightShown,
    /// What the editor remembers between runs.
    pub memory: Memory,
    /// How a person is asked for a file.
    pub chooser: Chooser,
    pub(crate) history: History,
    pub(crate) saved: Plan,
    pub(crate) pending: Option<Pending>,
    pub(crate) clipboard: Vec<Item>,
    pub(crate) view: Camera2d,
    pub(crate) drag: Option<Drag>,
    /// A move that took other rooms' walls along, while it can be made without them.
    pub(crate) taken_along: Option<super::walls::TakenAlong>,
    pub(crate) room_draft: RoomDraft,
    pub(crate) ask: Option<Ask>,
    pub(crate) told: Option<String>,
    /// How the window looks.
    pub look: Shade,
    pub(crate) snap: bool,
    pub(crate) dimensions: bool,
    pub(crate) taping: bool,
    /// Height of the bar along the lower edge in the frame before, points.
    pub(crate) bar_px: f32,
    /// Width of the panels of numbers and of the large picture in the frame before, points.
    pub(crate) panels_px: [f32; 2],
    pub(crate) cover: bool,
    pub(crate) playing: bool,
    pub(crate) scrubbing: bool,
    pub(crate) pointer: Option<DVec2>,
    /// Where the pointer is that arrow keys move, with a tool in hand.
    pub(crate) by_key: Option<DVec2>,
    /// The place as drawn for a gesture.
    pub(crate) place: Option<super::draw::KeptPlace>,
    /// Whether a finger or pen was the last to point.
    pub(crate) by_finger: bool,
    pub(crate) close_now: bool,
    pub(crate) first_frame_told: bool,
    pub(crate) scene: Scene,
    pub(crate) transport: Transport,
    pub(crate) moments: Moments,
    pub(crate) facts: ShotFacts,
    pub(crate) map: Option<LightMap>,
    pub(crate) texture: Option<egui::TextureHandle>,
    /// When direct sun comes in on the plan's day; none until asked for.
    pub(crate) spells: Option<Vec<SunSpell>>,
    /// The light asked for at a face, and what reaches it.
    pub(crate) wish: Wish,
    /// What the lens sees.
    pub(crate) lens: super::lens::Lens,
    /// The storyboard picture.
    pub(crate) storyboard: super::storyboard::Storyboard,
    /// Where else the camera could stand.
    pub(crate) blocking: super::blocking_panel::Blocking,
    /// What is owned and what the rest costs.
    pub(crate) kit: KitFile,
    pub(crate) kit_saved: KitFile,
    /// What fills the window's middle.
    pub page: Page,
    /// What the panel shows, and the selection it was chosen for.
    pub leaf: super::leaves::Leaf,
    pub(crate) leaf_of: BTreeSet<ItemRef>,
    pub(crate) strip: super::strip::Strip,
    pub(crate) scripts: super::scripts::Scripts,
    pub(crate) board: super::board::Board,
    pub(crate) day: super::day::DayPage,
    pub(crate) underlay: super::exchange::UnderlayShown,
    stale: bool,
    pub(crate) map_stale: MapState,
    /// When the coarse map was made last, and how long it took.
    map_made: Option<(Instant, Duration)>,
    pub(crate) refiner: super::refine::Refiner,
    pub(crate) safety: super::safety::Safety,
    pub(crate) errands: super::errands::Errands,
    /// What is typed into the list of commands, while it is open.
    pub(crate) finder: Option<String>,
    /// Whether frames wait for finished light: for taking pictures and for tests.
    pub patient: bool,
}

/// What fills the window's middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Page {
    /// The floor plan.
    #[default]
    Plan,
    /// The storyboard.
    Board,
    /// The shooting day.
    Day,
}

/// The light asked for at a face.
#[derive(Debug)]
pub struct Wish {
    pub(crate) person: Option<PersonId>,
    pub(crate) t_stop: f64,
    pub(crate) ratio: f64,
    pub(crate) wall: bool,
    pub(crate) background_stops: f64,
    pub(crate) found: Option<Result<Reached, String>>,
    pub(crate) job: Option<super::aside::Job<Result<Reached, String>>>,
}

impl Default for Wish {
    fn default() -> Self {
        Wish { person: None, t_stop: 2.8, ratio: 4.0, wall: false, background_stops: -1.0, found: None, job: None }
    }
}

/// How the light map stands to the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum MapState {
    Stale,
    Coarse,
    Fine,
}

impl Editor {
    /// An editor on a plan.
    #[must_use]
    pub fn new(plan: Plan, path: Option<PathBuf>) -> Editor {
        let shot = plan.shots.first().cloned().unwrap_or_else(|| Shot::new("shot-1", "1", "rig-1"));
        let scene = Scene::of(&plan, &shot, 0.0);
        let rig = plan.shot_rig(&shot);
        let transport = if is_large(&plan) {
            Transport::at_once(&plan, rig.as_deref(), &scene, None)
        } else {
            Transport::of(&plan, rig.as_deref(), &scene, COARSE_PATCH_M, None)
        }
        .at_detail(Detail::Quick);
        let moments = Moments::of(&plan, &shot);
        let facts = facts_of_scene(&plan, &shot, &scene, &transport, &moments);
        Editor {
            saved: plan.clone(),
            plan,
            path,
            selected: BTreeSet::new(),
            shot: shot.id,
            seconds: 0.0,
            tool: Tool::Select,
            light: LightShown {
                on: true,
                height_m: 1.5,
                unit: LevelUnit::Stops,
                facing: MapFacing::Lens,
                shows: MapShows::Level,
            },
            memory: Memory::default(),
            chooser: system_chooser(),
            history: History::default(),
            pending: None,
            clipboard: Vec::new(),
            view: Camera2d::default(),
            drag: None,
            room_draft: RoomDraft::default(),
            ask: None,
            told: None,
            taken_along: None,
            look: Shade::default(),
            snap: true,
            dimensions: true,
            taping: false,
            bar_px: 80.0,
            panels_px: [0.0; 2],
            cover: false,
            playing: false,
            scrubbing: false,
            pointer: None,
            by_key: None,
            by_finger: false,
            place: None,
            close_now: false,
            first_frame_told: false,
            scene,
            transport,
            moments,
            facts,
            map: None,
            texture: None,
            spells: None,
            wish: Wish::default(),
            lens: super::lens::Lens::default(),
            storyboard: super::storyboard::Storyboard::default(),
            blocking: super::blocking_panel::Blocking::default(),
            kit: KitFile::default(),
            kit_saved: KitFile::default(),
            page: Page::default(),
            leaf: Default::default(),
            leaf_of: BTreeSet::new(),
            strip: Default::default(),
            scripts: Default::default(),
            board: Default::default(),
            day: Default::default(),
            underlay: Default::default(),
            stale: true,
            map_stale: MapState::Stale,
            map_made: None,
            refiner: super::refine::Refiner::default(),
            safety: super::safety::Safety::default(),
            errands: super::errands::Errands::default(),
            finder: None,
            patient: false,
        }
    }

    /// The shot looked at.
    #[must_use]
    pub fn current_shot(&self) -> &Shot {
        self.plan.shot(&self.shot).unwrap_or(&self.plan.shots[0])
    }

    /// Everything computed of the shot at this moment.
    #[must_use]
    pub fn facts(&self) -> &ShotFacts {
        &self.facts
    }

    /// Whether the plan differs from its file.
    #[must_use]
    pub fn unsaved(&self) -> bool {
        self.plan != self.saved
    }

    /// Whether the page shown has worked out all it shows, nothing is being read or written, and nobody is asked for a
    /// file.
    #[must_use]
    pub fn worked_out(&self) -> bool {
        self.errands.are_at_rest()
            && match self.page {
                Page::Plan => self.strip.is_ready(),
                Page::Board => self.board.is_ready(),
                Page::Day => self.day.is_ready(),
            }
    }

    /// How many edits can be undone.
    #[must_use]
    pub fn undo_depth(&self) -> usize {
        self.history.depth()
    }

    /// Where a point of the plan lies in the window, points.
    #[must_use]
    pub fn on_screen(&self, plan_m: DVec2) -> egui::Pos2 {
        self.view.to_screen(plan_m)
    }

    /// Shows something once in the status bar.
    pub(crate) fn tell(&mut self, text: impl Into<String>) {
        self.told = Some(text.into());
    }

    /// Marks everything computed as out of date.
    pub(crate) fn touch(&mut self) {
        self.touch_moment();
        self.blocking.touch();
        self.safety.touch();
    }

    /// Marks what depends on the moment looked at as out of date.
    pub(crate) fn touch_moment(&mut self) {
        self.stale = true;
        self.spells = None;
        (self.wish.found, self.wish.job) = (None, None);
        self.map_stale = MapState::Stale;
        self.lens.touch();
    }

    /// Carries out one edit as one step of undo.
    pub fn edit(&mut self, edit: &Edit) -> bool {
        self.commit();
        if !self.may_change() {
            return false;
        }
        match apply(&self.plan, edit) {
            Ok(next) => {
                self.say_touched(&self.plan.clone(), &next);
                self.history.note(edit.label(), &self.plan, &next);
                self.plan = next;
                self.touch();
                true
            }
            Err(why) => {
                self.tell(why.to_string());
                false
            }
        }
    }

    /// Carries out an edit as part of a gesture or of typing: undo takes the whole gesture back.
    pub(crate) fn edit_live(&mut self, edit: &Edit) -> bool {
        self.edit_live_from(None, edit)
    }

    /// As [`Self::edit_live`], applied to the plan before the gesture instead of the plan as it is.
    pub(crate) fn edit_live_from(&mut self, base: Option<&Plan>, edit: &Edit) -> bool {
        if !self.may_change() {
            return false;
        }
        match apply(base.unwrap_or(&self.plan), edit) {
            Ok(next) => {
                if self.pending.is_none() {
                    self.pending = Some(Pending { before: base.unwrap_or(&self.plan).clone(), label: edit.label() });
                }
                self.plan = next;
                self.touch();
                true
            }
            Err(why) => {
                self.tell(why.to_string());
                false
            }
        }
    }

    /// Ends a gesture: what it changed becomes one step of undo.
    pub(crate) fn commit(&mut self) {
        if let Some(p) = self.pending.take() {
            self.say_touched(&p.before, &self.plan.clone());
            self.history.note(p.label, &p.before, &self.plan);
        }
    }

    /// Says in which other shots a change is seen.
    fn say_touched(&mut self, before: &Plan, after: &Plan) {
        if before.location != after.location {
            // The place is every shot's; that goes without saying.
            return;
        }
        let name = |id: &ShotId| after.shot(id).map_or(String::new(), |s| s.name.clone());
        let all = touched(before, after);
        if all.iter().any(|id| *id != self.shot) && all.len() > 1 {
            let names: Vec<String> = all.iter().map(name).collect();
            self.tell(say!("seen-in-shots-names", names = names.join(", ")));
        }
    }

    /// Takes the last step back.
    pub fn undo(&mut self) {
        self.commit();
        if let Some(label) = self.history.undo(&mut self.plan) {
            self.tell(say!("undid-label", label));
            self.after_jump();
        }
    }

    /// Makes the last step taken back again.
    pub fn redo(&mut self) {
        self.commit();
        if let Some(label) = self.history.redo(&mut self.plan) {
            self.tell(say!("redid-label", label));
            self.after_jump();
        }
    }

    fn after_jump(&mut self) {
        let plan = &self.plan;
        self.selected.retain(|i| i.get(plan).is_some());
        if plan.shot(&self.shot).is_none() {
            self.shot = plan.shots[0].id.clone();
        }
        self.touch();
    }

    /// Looks at another shot.
    pub fn go_to_shot(&mut self, id: ShotId) {
        self.shot = id;
        self.seconds = 0.0;
        let shot = self.current_shot().clone();
        let plan = &self.plan;
        self.selected.retain(|i| match i {
            ItemRef::Mark(m) => shot.marks.iter().any(|x| &x.id == m),
            ItemRef::Camera(c) => shot.camera.as_ref() == Some(c),
            ItemRef::Fixture(f) => plan.shot_fixtures(&shot).iter().any(|x| &x.id == f),
            _ => true,
        });
        self.touch();
    }

    /// Recomputes what is out of date.
    pub(crate) fn refresh(&mut self) {
        if self.plan.shot(&self.shot).is_none() {
            self.shot = self.plan.shots[0].id.clone();
        }
        if std::mem::take(&mut self.stale) {
            self.refiner.forget();
            let shot = self.current_shot().clone();
            let known = self.moments.stage_of(&self.plan);
            let fresh = known.is_none().then(|| Stage::of(&self.plan));
            if let Some(stage) = known.or(fresh.as_ref()) {
                self.scene = stage.scene(&self.plan, &shot, self.seconds);
            }
            // Once the rooms or people change, patches are coarse at first; while only lamps or the camera move,
            // the surfaces are known and stay fine.
            // In a large plan linking the surfaces takes many frames: until that is done, light bounces off them as
            // they were.
            let fits = self.transport.fits(&self.plan, &self.scene);
            let patch_m = if fits { self.transport.patch_m() } else { COARSE_PATCH_M };
            let rig = self.plan.shot_rig(&shot);
            let (rig, before) = (rig.as_deref(), Some(&self.transport));
            self.transport = if is_large(&self.plan) {
                Transport::at_once(&self.plan, rig, &self.scene, before)
            } else {
                Transport::of(&self.plan, rig, &self.scene, patch_m, before)
            }
            .at_detail(Detail::Quick);
            if !self.moments.fits(&self.plan, &shot) {
                let stage = fresh.unwrap_or_else(|| self.moments.stage.clone());
                self.moments = Moments::on(stage, &self.plan, &shot).keeping(&self.moments);
            }
            self.facts = facts_of_scene(&self.plan, &shot, &self.scene, &self.transport, &self.moments);
        }
        if !self.light.on {
            return;
        }
        // While something moves, a map that takes long leaves time for the frames themselves.
        let soon =
            self.moving() && self.map_made.is_some_and(|(at, took)| took > SLOW_MAP && at.elapsed() < took * MAP_EVERY);
        if self.map_stale == MapState::Stale && !(soon && self.map.is_some()) {
            let began = Instant::now();
            let floor = self.plan.floor_m2();
            let lamps = self.transport.emitters().len().max(1) as f64;
            let cell = COARSE_M.max((floor * lamps / COARSE_ANSWERS).sqrt());
            let mut spec = MapSpec::new(self.light.height_m, cell, self.light.facing);
            spec.shows = self.light.shows;
            spec.bounce_cell_m = COARSE_BOUNCE_M.max((floor / COARSE_NODES).sqrt());
            self.map = Some(light_map(&self.plan, &self.scene, &self.transport, &spec));
            self.texture = None;
            self.map_stale = MapState::Coarse;
            self.map_made = Some((Instant::now(), began.elapsed()));
        }
    }

    /// Whether the plan or the moment changes from frame to frame.
    pub(crate) fn moving(&self) -> bool {
        self.drag.is_some() || self.pending.is_some() || self.playing || self.scrubbing
    }

    /// Whether the picture shown is the finished one of what the plan now is.
    #[must_use]
    pub fn lens_is_finished(&self) -> bool {
        self.lens.is_finished()
    }

    /// Whether the clear-view map is wanted over the floor.
    #[must_use]
    pub fn clear_view_shown(&self) -> bool {
        self.blocking.shown
    }

    /// Whether the clear-view map drawn is that of the plan as it is.
    #[must_use]
    pub fn clear_view_is_current(&self) -> bool {
        self.blocking.is_current()
    }

    /// The level the shot's exposure wants, or a usual one before there is a camera, lux.
    pub(crate) fn wanted_lx(&self) -> f64 {
        self.facts.camera.as_ref().map_or(300.0, |c| c.wanted_lx)
    }

    /// What is selected, by value.
    pub(crate) fn selected_items(&self) -> Vec<Item> {
        self.selected.iter().filter_map(|r| r.get(&self.plan)).collect()
    }

    /// End of a frame: gestures that are over become steps of undo.
    pub(crate) fn settle(&mut self, ctx: &egui::Context) {
        self.tend_errands(ctx);
        let busy = ctx.input(|i| i.pointer.any_down());
        if !busy {
            self.keep_kit();
            self.keep_layout();
        }
        if !busy && self.drag.is_none() && self.pending.is_some() {
            self.commit();
            ctx.request_repaint();
        }
        self.tend_light(ctx);
        self.tend_journal(false);
        if let Some(wait) = self.journal_waits() {
            ctx.request_repaint_after(wait);
        }
    }
}
