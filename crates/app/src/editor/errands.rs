//! Asking for files, reading and writing them, and long answers: what would hold the frames up is done beside them.

use super::dialogs::{Ask, Wanted};
use super::state::Editor;
use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Duration;
use tapemark_core::plan::PlanError;
use tapemark_core::progress::Progress;
use tapemark_words::say;

/// What is done beside the frames, and what the editor does with what came of it.
type Work = Box<dyn FnOnce() -> Then + Send>;
type Then = Box<dyn FnOnce(&mut Editor) + Send>;

/// How often a window looks whether an errand is done.
const LOOK: Duration = Duration::from_millis(50);

/// Which worker does something; each does one thing after another, and none waits for another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lane {
    /// The plan's own file is read or written.
    Plan,
    /// Drawings are read, paper and lists are written.
    Paper,
    /// A person is asked for a file.
    Asking,
}

/// A worker and what it has been sent for.
#[derive(Default)]
struct Worker {
    channels: Option<(Sender<Work>, Receiver<Then>)>,
    under_way: VecDeque<Errand>,
}

/// What is under way, in words, and how far it has come where it tells that.
struct Errand {
    what: String,
    progress: Option<Arc<Progress>>,
}

impl Worker {
    fn start(&mut self, lane: Lane) -> Option<&Sender<Work>> {
        if self.channels.is_none() {
            let (orders, inbox) = channel::<Work>();
            let (outbox, done) = channel();
            let run = move || {
                let pool = (lane == Lane::Paper).then(super::aside::pool).flatten();
                while let Ok(work) = inbox.recv() {
                    let then = if lane == Lane::Paper { super::aside::install(pool.as_ref(), work) } else { work() };
                    if outbox.send(then).is_err() {
                        return;
                    }
                }
            };
            std::thread::Builder::new().name("errands".into()).spawn(run).ok()?;
            self.channels = Some((orders, done));
        }
        self.channels.as_ref().map(|(orders, _)| orders)
    }

    fn done(&mut self) -> Option<Then> {
        let then = self.channels.as_ref()?.1.try_recv().ok()?;
        self.under_way.pop_front();
        Some(then)
    }
}

/// The workers.
#[derive(Default)]
pub(crate) struct Errands {
    plan: Worker,
    paper: Worker,
    asking: Worker,
}

impl Errands {
    fn lane(&mut self, lane: Lane) -> &mut Worker {
        match lane {
            Lane::Plan => &mut self.plan,
            Lane::Paper => &mut self.paper,
            Lane::Asking => &mut self.asking,
        }
    }

    fn all(&self) -> impl Iterator<Item = &Errand> {
        [&self.asking, &self.plan, &self.paper].into_iter().flat_map(|w| &w.under_way)
    }

    /// Whether nothing at all is under way, nobody being asked for a file either.
    pub fn are_at_rest(&self) -> bool {
        self.all().next().is_none()
    }

    /// Whether nothing is read or written.
    pub fn are_done(&self) -> bool {
        self.plan.under_way.is_empty() && self.paper.under_way.is_empty()
    }

    /// Whether the plan is being read or written.
    pub fn hold_the_plan(&self) -> bool {
        !self.plan.under_way.is_empty()
    }

    /// What is under way, in words; none when nothing is.
    pub fn in_words(&self) -> Option<String> {
        let mut all = self.all();
        let first = all.next()?;
        let steps = first.progress.as_ref().map(|p| p.steps()).filter(|(_, of)| *of > 0);
        let what = match steps {
            Some((done, of)) => format!("{} – {}", first.what, say!("so-many-steps-of", done, of)),
            None => first.what.clone(),
        };
        Some(match all.count() {
            0 => what,
            more => say!("what-and-more-after-it", what, more),
        })
    }

    /// How far what is under way has come, where it can be stopped.
    pub fn progress(&self) -> Option<&Progress> {
        self.paper.under_way.front()?.progress.as_deref()
    }
}

impl Editor {
    /// Has paper or a drawing done beside the frames; with what came of it the editor goes on when it is there.
    pub(crate) fn send<T: Send + 'static>(
        &mut self,
        what: String,
        work: impl FnOnce() -> T + Send + 'static,
        then: impl FnOnce(&mut Editor, T) + Send + 'static,
    ) {
        self.send_on(Lane::Paper, (what, None), work, then);
    }

    /// The same by one of the workers, with what tells how far it has come and lets it be stopped.
    pub(crate) fn send_on<T: Send + 'static>(
        &mut self,
        lane: Lane,
        (what, progress): (String, Option<Arc<Progress>>),
        work: impl FnOnce() -> T + Send + 'static,
        then: impl FnOnce(&mut Editor, T) + Send + 'static,
    ) {
        if self.patient {
            let came = work();
            return then(self, came);
        }
        let work: Work = Box::new(move || match catch_unwind(AssertUnwindSafe(work)) {
            Ok(came) => Box::new(move |editor: &mut Editor| then(editor, came)),
            Err(_) => Box::new(|editor: &mut Editor| {
                editor.ask = Some(Ask::Trouble(PlanError {
                    what: say!("it-could-not-be-finished").into(),
                    place: String::new(),
                    remedy: say!("report-this").into(),
                }));
            }),
        });
        let worker = self.errands.lane(lane);
        if let Some(orders) = worker.start(lane)
            && orders.send(work).is_ok()
        {
            worker.under_way.push_back(Errand { what, progress });
            self.told = None;
        }
    }

    /// Asks a person for a file, the window going on meanwhile; `then` has the answer, if there was one.
    pub(crate) fn choose(
        &mut self,
        wanted: Wanted,
        name: &str,
        then: impl FnOnce(&mut Editor, PathBuf) + Send + 'static,
    ) {
        // One at a time; that it is asked for is told.
        if !self.errands.asking.under_way.is_empty() {
            return;
        }
        let (chooser, name) = (self.chooser.clone(), name.to_string());
        self.send_on(
            Lane::Asking,
            (say!("a-file-is-being-asked-for").into(), None),
            move || chooser(wanted, &name),
            move |editor, chosen| match chosen {
                Some(path) => then(editor, path),
                None if wanted == Wanted::Save => editor.tell(say!("not-saved-no-file-was-chosen")),
                None => {}
            },
        );
    }

    /// Goes on with what has been done, unless a gesture or a question is in the way.
    pub(crate) fn tend_errands(&mut self, ctx: &egui::Context) {
        for lane in [Lane::Asking, Lane::Plan, Lane::Paper] {
            let free =
                |e: &Editor| e.drag.is_none() && e.pending.is_none() && matches!(e.ask, None | Some(Ask::Finishing));
            while free(self)
                && let Some(then) = self.errands.lane(lane).done()
            {
                then(self);
                ctx.request_repaint();
            }
        }
        if self.errands.all().next().is_some() {
            ctx.request_repaint_after(LOOK);
        }
    }

    /// The window closes once what is under way is done, or at once if wanted.
    pub(crate) fn ask_finishing(&mut self, ctx: &egui::Context) {
        let Some(what) = self.errands.in_words().filter(|_| !self.errands.are_done()) else {
            self.ask = Some(Ask::ThenClose);
            return;
        };
        let (mut stay, mut leave) = (false, false);
        egui::Modal::new(egui::Id::unique("finishing")).show(ctx, |ui| {
            ui.heading(what);
            ui.label(say!("the-window-closes-when-it-is"));
            ui.horizontal(|ui| {
                leave = ui.button(say!("close-without-it")).clicked();
                stay = ui.button(say!("stay")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Escape));
            });
        });
        if leave {
            self.errands.all().filter_map(|e| e.progress.as_ref()).for_each(|p| p.stop());
            self.errands.plan.under_way.clear();
            self.errands.paper.under_way.clear();
            self.ask = Some(Ask::ThenClose);
        } else if !stay {
            self.ask = Some(Ask::Finishing);
        }
    }
}
