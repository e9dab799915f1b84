//! Nothing lost: the journal, work that was left behind, files that change under the editor, newer files.

use super::dialogs::{Ask, system_chooser};
use super::errands::Lane;
use super::state::Editor;
use crate::files;
use crate::journal::{self, Found, Keeper, Kept};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use tapemark_core::plan::{Plan, PlanError};
use tapemark_words::say;

/// The editor's care for the plan's file.
#[derive(Default)]
pub(crate) struct Safety {
    folder: Option<PathBuf>,
    keeper: Option<Keeper>,
    due: bool,
    sent: Option<Instant>,
    /// Takes away a journal that was brought back.
    tidying: Option<std::thread::JoinHandle<()>>,
    /// Why the journal cannot be written, while it cannot.
    pub trouble: Option<String>,
    /// What the plan's file held when it was opened or saved.
    pub on_disk: Option<u32>,
    /// Why the plan may be looked at but not changed.
    pub read_only: Option<String>,
}

/// A plan on its way to a file.
struct Writing {
    path: PathBuf,
    plan: Plan,
    /// What the file held when this editor last saw it, where it is the plan's own.
    seen: Option<u32>,
}

/// What came of it.
enum Written {
    /// It is in the file, which holds this.
    Done(Option<u32>),
    /// The file holds something else than this editor last saw there; nothing was written.
    ChangedOnDisk,
    /// It could not be written.
    Failed(PlanError),
}

impl Writing {
    fn write(self) -> (Writing, Written) {
        let changed = self.seen.is_some_and(|seen| files::fingerprint(&self.path).is_some_and(|now| now != seen));
        if changed {
            return (self, Written::ChangedOnDisk);
        }
        let written = match files::write(&self.path, &self.plan) {
            Ok(()) => Written::Done(files::fingerprint(&self.path)),
            Err(e) => Written::Failed(e),
        };
        (self, written)
    }
}

/// While a gesture goes on, its plans are noted no more often than this.
const BETWEEN: Duration = Duration::from_millis(200);

impl Safety {
    /// The plan changed.
    pub fn touch(&mut self) {
        self.due = true;
    }

    /// Takes what outlives a change of plan from the editor before.
    pub fn after(before: &mut Safety) -> Safety {
        // The plan before was saved, or its changes were thrown away on purpose.
        if let Some(keeper) = before.keeper.take() {
            keeper.finish();
        }
        Safety { folder: before.folder.take(), ..Safety::default() }
    }
}

impl Editor {
    /// Puts another plan in the place of this one.
    pub fn replace(&mut self, plan: Plan, path: Option<PathBuf>) {
        self.keep_layout();
        let (look, memory) = (self.look, std::mem::take(&mut self.memory));
        let chooser = std::mem::replace(&mut self.chooser, system_chooser());
        let (view, patient) = (self.view.rect, self.patient);
        let safety = Safety::after(&mut self.safety);
        *self = Editor::new(plan, path);
        self.patient = patient;
        self.safety = safety;
        self.remember(memory);
        self.look = look;
        self.chooser = chooser;
        self.view.rect = view;
        self.begin_journal();
    }

    /// Opens a plan file.
    pub fn open_file(&mut self, path: &Path) {
        match files::open(path) {
            Ok(opened) => self.take_opened(opened, path),
            Err(e) => self.ask = Some(Ask::Trouble(e)),
        }
    }

    /// The same beside the frames. What is changed before it has been read is asked about.
    pub(crate) fn open_aside(&mut self, path: PathBuf) {
        let what = say!("reading-path", path = files::name_of(&path));
        let before = self.plan.clone();
        let file = path.clone();
        self.send_on(
            Lane::Plan,
            (what, None),
            move || files::open(&file),
            move |editor, opened| match opened {
                Ok(_) if editor.plan != before => editor.guarded(Ask::ThenOpenThis(path)),
                Ok(opened) => editor.take_opened(opened, &path),
                Err(e) => editor.ask = Some(Ask::Trouble(e)),
            },
        );
    }

    /// Puts a plan that was just read in the place of this one.
    fn take_opened(&mut self, opened: files::Opened, path: &Path) {
        self.replace(opened.plan, Some(path.to_path_buf()));
        self.note_opened(path, opened.fingerprint, opened.read_only);
    }

    /// Remembers what was on disk when this plan was read: so for every way in.
    pub(crate) fn note_opened(&mut self, path: &Path, fingerprint: u32, read_only: Option<String>) {
        self.safety.on_disk = Some(fingerprint);
        self.memory.note(path);
        self.tell(read_only.clone().unwrap_or_else(|| say!("opened-path", path = path.display())));
        self.safety.read_only = read_only;
        self.warn_of_other_windows();
    }

    /// Saves to a file and waits for it; false when it was not saved.
    pub fn save_to(&mut self, path: &Path) -> bool {
        let Some(writing) = self.writing(path) else { return false };
        let written = writing.write();
        self.take_written(written)
    }

    /// Saves to a file beside the frames, then goes on with what waits for that.
    pub(crate) fn save_aside(&mut self, path: &Path, then: Option<Ask>) {
        // What is under way is told; what will be found on the disk after it is not known yet.
        if self.errands.hold_the_plan() {
            return;
        }
        let Some(writing) = self.writing(path) else { return };
        let what = say!("writing-path", path = files::name_of(path));
        self.send_on(
            Lane::Plan,
            (what, None),
            move || writing.write(),
            move |editor, written| {
                if editor.take_written(written)
                    && let Some(then) = then
                {
                    // Asks again when something was changed meanwhile.
                    editor.guarded(then);
                }
            },
        );
    }

    /// The plan as it is to be written; none, with the reason told, when it may not be.
    fn writing(&mut self, path: &Path) -> Option<Writing> {
        self.commit();
        if let Some(why) = self.safety.read_only.clone().filter(|_| self.path.as_deref() == Some(path)) {
            self.tell(say!("save-it-under-another-name", why));
            return None;
        }
        let own = self.path.as_deref().is_some_and(|p| p == path || files::is_same(p, path));
        let seen = self.safety.on_disk.filter(|_| own);
        Some(Writing { path: path.to_path_buf(), plan: self.plan.clone(), seen })
    }

    /// Goes on with a plan that was written, or tells why it was not.
    fn take_written(&mut self, (writing, written): (Writing, Written)) -> bool {
        match written {
            Written::Done(fingerprint) => {
                self.saved = writing.plan;
                self.path = Some(writing.path.clone());
                self.safety.on_disk = fingerprint;
                self.safety.read_only = None;
                self.begin_journal();
                self.memory.note(&writing.path);
                self.tell(say!("saved-path", path = writing.path.display()));
                true
            }
            Written::ChangedOnDisk => {
                self.ask = Some(Ask::ChangedOnDisk(writing.path));
                false
            }
            Written::Failed(e) => {
                self.ask = Some(Ask::Trouble(e));
                false
            }
        }
    }

    /// Keeps a journal of unsaved changes in a folder from now on, and offers what earlier windows left behind.
    pub fn keep_journal(&mut self, folder: &Path) {
        self.safety.folder = Some(folder.to_path_buf());
        let left = journal::look(folder);
        self.begin_journal();
        if !left.found.is_empty() {
            self.ask = Some(Ask::Found(left.found));
        } else if let Some(first) = left.not_read.first() {
            let folder = first.parent().unwrap_or(Path::new("")).display().to_string();
            self.ask = Some(Ask::Trouble(PlanError {
                what: say!("a-journal-could-not-be-read", count = left.not_read.len()),
                place: first.display().to_string(),
                remedy: say!("it-is-kept-in-folder", folder),
            }));
        }
    }

    /// Begins the journal anew from what the plan's file holds, with what has changed since.
    pub(crate) fn begin_journal(&mut self) {
        let Some(folder) = self.safety.folder.clone() else { return };
        match &self.safety.keeper {
            Some(keeper) => keeper.begin(self.path.clone(), &self.saved),
            None => self.safety.keeper = Keeper::start(&folder, self.path.clone(), &self.saved),
        }
        self.safety.due = self.plan != self.saved;
    }

    /// Waits until everything changed so far is in the journal; false when it could not be written there.
    pub fn settle_journal(&mut self) -> bool {
        self.tend_journal(true);
        let kept = self.safety.keeper.as_ref().is_some_and(Keeper::wait);
        if let Some(tidying) = self.safety.tidying.take() {
            let _ = tidying.join();
        }
        kept
    }

    /// Hands the plan to the journal when it has changed.
    pub(crate) fn tend_journal(&mut self, now: bool) {
        let Some(keeper) = &self.safety.keeper else { return };
        match keeper.told() {
            Some(Kept::Failed(why)) => {
                self.safety.trouble = Some(say!(
                    "changes-are-not-kept-aside-save",
                    why,
                    keeper = keeper.path().parent().unwrap_or(Path::new("")).display()
                ));
            }
            Some(Kept::Written) => self.safety.trouble = None,
            None => {}
        }
        let soon = self.safety.sent.is_some_and(|t| t.elapsed() < BETWEEN);
        if self.safety.due && (now || !soon) {
            keeper.note(&self.plan);
            (self.safety.due, self.safety.sent) = (false, Some(Instant::now()));
        }
    }

    /// How long until a change that waits is to be noted; none when nothing waits.
    pub(crate) fn journal_waits(&self) -> Option<Duration> {
        let sent = self.safety.sent.filter(|_| self.safety.due && self.safety.keeper.is_some())?;
        Some(BETWEEN.saturating_sub(sent.elapsed()))
    }

    /// The window closes: nothing is unsaved, or it was thrown away on purpose.
    pub(crate) fn finish_journal(&mut self) {
        if let Some(keeper) = self.safety.keeper.take() {
            keeper.finish();
        }
    }

    /// Whether the plan may be changed; says why not.
    pub(crate) fn may_change(&mut self) -> bool {
        if let Some(why) = self.safety.read_only.clone() {
            self.tell(why);
            return false;
        }
        true
    }

    /// Warns when another window has the same plan open.
    pub(crate) fn warn_of_other_windows(&mut self) {
        let Some((folder, path)) = self.safety.folder.clone().zip(self.path.clone()) else { return };
        let own = self.safety.keeper.as_ref().map(|k| k.path().to_path_buf());
        if journal::open_elsewhere(&folder, &path, own.as_deref()) {
            self.tell(say!("another-window-has-this-plan-open"));
        }
    }

    /// Puts work that was left behind in the place of this plan, unsaved.
    pub fn bring_back(&mut self, found: Found) {
        // A name from an old journal that hangs on a working folder nobody knows is none.
        let plan_file = found.plan_file.filter(|p| p.is_absolute());
        let in_file = plan_file.as_deref().and_then(|p| files::read(p).ok());
        let on_disk = plan_file.as_deref().and_then(files::fingerprint);
        self.replace(found.plan, plan_file);
        self.saved = in_file.unwrap_or_else(Plan::empty);
        self.safety.on_disk = on_disk;
        self.begin_journal();
        self.tend_journal(true);
        // The old journal goes once the new one is on the disk with what it held; the window does not wait for that.
        if let Some(kept) = self.safety.keeper.as_ref().map(Keeper::once_kept) {
            let (old, fault) = (found.journal.clone(), found.fault);
            // Without a word nothing is kept yet, and the old one is all there is.
            let tidy = move || match (kept.recv(), fault) {
                (Ok(()), false) => journal::remove(&old),
                (Ok(()), true) => drop(journal::set_aside(&old)),
                (Err(_), _) => {}
            };
            self.safety.tidying = std::thread::Builder::new().name("old journal".into()).spawn(tidy).ok();
        }
        let folder = found.journal.parent().unwrap_or(Path::new("")).display().to_string();
        self.tell(match found.fault {
            true => say!("brought-back-up-to-a-fault", folder),
            false => say!("brought-back-save-the-plan-to").into(),
        });
    }

    pub(crate) fn ask_found(&mut self, ctx: &egui::Context, mut list: Vec<Found>) {
        let (mut back, mut away, mut later) = (None, None, false);
        egui::Modal::new(egui::Id::unique("left behind")).show(ctx, |ui| {
            ui.set_max_width(520.0);
            ui.heading(say!("work-that-was-not-saved"));
            ui.label(say!("the-program-ended-before-these-plans"));
            ui.add_space(6.0);
            for (i, f) in list.iter().enumerate() {
                ui.push_id(i, |ui| {
                    ui.strong(if f.plan.title.is_empty() { say!("untitled-plan") } else { &f.plan.title });
                    ui.weak(f.plan_file.as_ref().map_or(say!("never-saved").into(), |p| p.display().to_string()));
                    if let Some(ago) = f.when.and_then(|w| w.elapsed().ok()) {
                        ui.weak(say!("last-changed-ago", ago = ago_text(ago)));
                    }
                    ui.horizontal(|ui| {
                        if ui.button(say!("bring-it-back")).clicked() {
                            back = Some(i);
                        }
                        if ui.button(say!("throw-it-away")).clicked() {
                            away = Some(i);
                        }
                    });
                    ui.add_space(4.0);
                });
            }
            later = ui.button(say!("ask-again-next-time")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Escape));
        });
        // Nothing is drawn anew while the question stands.
        if away.is_some() || back.is_some() || later {
            ctx.request_repaint();
        }
        if let Some(i) = away {
            journal::remove(&list.remove(i).journal);
        }
        match back {
            Some(i) if self.unsaved() => {
                // What is here is asked about first; the list comes back after it.
                self.ask = Some(Ask::Unsaved(Box::new(Ask::ThenBringBack(Box::new(list.remove(i))))));
            }
            Some(i) => self.bring_back(list.remove(i)),
            None if !later && !list.is_empty() => self.ask = Some(Ask::Found(list)),
            None => {}
        }
    }

    pub(crate) fn ask_changed_on_disk(&mut self, ctx: &egui::Context, path: PathBuf) {
        let (mut over, mut other, mut cancel) = (false, false, false);
        egui::Modal::new(egui::Id::unique("changed on disk")).show(ctx, |ui| {
            ui.set_max_width(480.0);
            ui.heading(say!("the-file-has-changed-since-it"));
            ui.label(path.display().to_string());
            ui.label(say!("another-window-or-program-wrote-it"));
            ui.horizontal(|ui| {
                other = ui.button(say!("save-under-another-name")).clicked();
                over = ui.button(say!("save-over-it")).clicked();
                cancel = ui.button(say!("do-not-save")).clicked() || ui.input(|i| i.key_pressed(egui::Key::Escape));
            });
        });
        if over || other || cancel {
            ctx.request_repaint();
        }
        if over {
            self.safety.on_disk = None;
            self.save_aside(&path, None);
        } else if other {
            self.save_as(None);
        } else if !cancel {
            self.ask = Some(Ask::ChangedOnDisk(path));
        }
    }
}

fn ago_text(ago: Duration) -> String {
    match ago.as_secs() {
        s @ ..120 => format!("{s} s"),
        s @ ..7200 => say!("s-min", s = s / 60),
        s @ ..172_800 => format!("{} h", s / 3600),
        s => say!("s-days", s = s / 86_400),
    }
}
