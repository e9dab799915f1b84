//! Reading drawings, writing paper and lists: what would hold the frames up is done beside them, one after another.

use super::dialogs::Ask;
use super::state::Editor;
use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
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

/// The worker and what it has been sent for.
#[derive(Default)]
pub(crate) struct Errands {
    worker: Option<(Sender<Work>, Receiver<Then>)>,
    under_way: VecDeque<Errand>,
}

/// What is under way, in words, and how far it has come where it tells that.
struct Errand {
    what: String,
    progress: Option<Arc<Progress>>,
}

impl Errands {
    fn start(&mut self) -> Option<&Sender<Work>> {
        if self.worker.is_none() {
            let (orders, inbox) = channel::<Work>();
            let (outbox, done) = channel();
            let pool = super::aside::pool();
            let run = move || {
                while let Ok(work) = inbox.recv() {
                    let then = super::aside::install(pool.as_ref(), work);
                    if outbox.send(then).is_err() {
                        return;
                    }
                }
            };
            std::thread::Builder::new().name("errands".into()).spawn(run).ok()?;
            self.worker = Some((orders, done));
        }
        self.worker.as_ref().map(|(orders, _)| orders)
    }

    /// Whether nothing is under way.
    pub fn are_done(&self) -> bool {
        self.under_way.is_empty()
    }

    /// What is under way, in words; none when nothing is.
    pub fn in_words(&self) -> Option<String> {
        let first = self.under_way.front()?;
        let steps = first.progress.as_ref().map(|p| p.steps()).filter(|(_, of)| *of > 0);
        let what = match steps {
            Some((done, of)) => format!("{} – {}", first.what, say!("so-many-steps-of", done, of)),
            None => first.what.clone(),
        };
        Some(match self.under_way.len() - 1 {
            0 => what,
            more => say!("what-and-more-after-it", what, more),
        })
    }

    /// How far what is under way has come, where it can be stopped.
    pub fn progress(&self) -> Option<&Progress> {
        self.under_way.front()?.progress.as_deref()
    }
}

impl Editor {
    /// Has something done beside the frames; with what came of it the editor goes on when it is there.
    pub(crate) fn send<T: Send + 'static>(
        &mut self,
        what: String,
        work: impl FnOnce() -> T + Send + 'static,
        then: impl FnOnce(&mut Editor, T) + Send + 'static,
    ) {
        self.send_watched(what, None, work, then);
    }

    /// The same for work that tells how far it has come and can be stopped.
    pub(crate) fn send_watched<T: Send + 'static>(
        &mut self,
        what: String,
        progress: Option<Arc<Progress>>,
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
        if let Some(orders) = self.errands.start()
            && orders.send(work).is_ok()
        {
            self.told = None;
            self.errands.under_way.push_back(Errand { what, progress });
        }
    }

    /// Goes on with what has been done, unless a gesture or a question is in the way.
    pub(crate) fn tend_errands(&mut self, ctx: &egui::Context) {
        let free = self.drag.is_none() && self.pending.is_none() && matches!(self.ask, None | Some(Ask::Finishing));
        while free && let Some(then) = self.errands.worker.as_ref().and_then(|(_, done)| done.try_recv().ok()) {
            self.errands.under_way.pop_front();
            then(self);
            ctx.request_repaint();
        }
        if !self.errands.are_done() {
            ctx.request_repaint_after(LOOK);
        }
    }

    /// The window closes once what is under way is done, or at once if wanted.
    pub(crate) fn ask_finishing(&mut self, ctx: &egui::Context) {
        let Some(what) = self.errands.in_words() else {
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
            self.errands.under_way.iter().filter_map(|e| e.progress.as_ref()).for_each(|p| p.stop());
            self.errands.under_way.clear();
            self.ask = Some(Ask::ThenClose);
        } else if !stay {
            self.ask = Some(Ask::Finishing);
        }
    }
}
