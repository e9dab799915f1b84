//! The journal's own thread: frames hand it plans and never wait for a disk.

use super::{ENDING, Journal};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;
use tapemark_core::plan::Plan;
use tapemark_words::say;

enum Order {
    /// The plan as it now is in its file or as it was opened.
    Begin(Option<PathBuf>, Box<Plan>),
    /// The plan as it now is in the window.
    Note(Box<Plan>),
    /// Told when everything before it is on disk, dropped when it could not be written.
    Wait(Sender<()>),
}

/// What became of an order.
#[derive(Debug, Clone, PartialEq)]
pub enum Kept {
    /// It is on disk.
    Written,
    /// It could not be written, with why.
    Failed(String),
}

/// Keeps one window's journal.
pub struct Keeper {
    orders: Option<Sender<Order>>,
    told: Receiver<Kept>,
    worker: Option<std::thread::JoinHandle<()>>,
    path: PathBuf,
}

/// A failed write is tried again after this.
const AGAIN: Duration = Duration::from_secs(3);

impl Keeper {
    /// Starts a journal in a folder for a plan as it is in its file, or as it was opened.
    #[must_use]
    pub fn start(folder: &Path, plan_file: Option<PathBuf>, plan: &Plan) -> Option<Keeper> {
        let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap_or_default();
        let name = format!("{}-{}-{}", std::process::id(), since.as_nanos(), next_number());
        let path = folder.join(name).with_extension(ENDING);
        let (orders, inbox) = channel();
        let (outbox, told) = channel();
        let at = path.clone();
        let worker =
            std::thread::Builder::new().name("journal".into()).spawn(move || work(&at, &inbox, &outbox)).ok()?;
        let keeper = Keeper { orders: Some(orders), told, worker: Some(worker), path };
        keeper.begin(plan_file, plan);
        Some(keeper)
    }

    /// The journal's file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The plan is in its file as it is here: a new journal begins from it.
    pub fn begin(&self, plan_file: Option<PathBuf>, plan: &Plan) {
        self.send(Order::Begin(plan_file, Box::new(plan.clone())));
    }

    /// Notes the plan as it now is.
    pub fn note(&self, plan: &Plan) {
        self.send(Order::Note(Box::new(plan.clone())));
    }

    /// Waits until all that was noted is on disk; false when it could not be written.
    #[must_use]
    pub fn wait(&self) -> bool {
        self.once_kept().recv().is_ok()
    }

    /// Hears once when all that was noted is on disk; the line ends without a word when it could not be written.
    #[must_use]
    pub fn once_kept(&self) -> Receiver<()> {
        let (done, here) = channel();
        self.send(Order::Wait(done));
        here
    }

    /// The newest answer, if one came since the last question.
    #[must_use]
    pub fn told(&self) -> Option<Kept> {
        self.told.try_iter().last()
    }

    fn send(&self, order: Order) {
        if let Some(orders) = &self.orders {
            let _ = orders.send(order);
        }
    }

    /// The window closes with nothing unsaved, or with what is unsaved thrown away on purpose.
    pub fn finish(mut self) {
        self.end();
        super::remove(&self.path);
    }

    fn end(&mut self) {
        self.orders = None;
        if let Some(worker) = self.worker.take() {
            let _ = worker.join();
        }
    }
}

impl Drop for Keeper {
    /// What was noted is on disk, and the journal is no longer held.
    fn drop(&mut self) {
        self.end();
    }
}

fn next_number() -> u64 {
    static NEXT: std::sync::atomic::AtomicU64 = std::sync::atomic::AtomicU64::new(0);
    NEXT.fetch_add(1, std::sync::atomic::Ordering::Relaxed)
}

/// What is to be on disk next.
#[derive(Default)]
struct Due {
    begin: Option<(Option<PathBuf>, Box<Plan>)>,
    note: Option<Box<Plan>>,
    waiting: Vec<Sender<()>>,
}

impl Due {
    fn take(&mut self, order: Order) {
        match order {
            Order::Begin(file, plan) => (self.begin, self.note) = (Some((file, plan)), None),
            // Only the newest counts.
            Order::Note(plan) => self.note = Some(plan),
            Order::Wait(done) => self.waiting.push(done),
        }
    }
}

/// A journal as written, to be forced to the disk, and who waits for that.
struct Written {
    file: Arc<File>,
    waiting: Vec<Sender<()>>,
}

/// Forces files to the disk, the newest of those that wait; a slow disk holds up no note.
fn force(path: &Path, inbox: &Receiver<Written>, outbox: &Sender<Kept>) {
    let mut named: Option<Arc<File>> = None;
    while let Ok(mut due) = inbox.recv() {
        while let Ok(newer) = inbox.try_recv() {
            due.file = newer.file;
            due.waiting.extend(newer.waiting);
        }
        if let Err(e) = due.file.sync_data() {
            let _ = outbox.send(Kept::Failed(e.to_string()));
            // Dropping who waits tells them that it is not there.
            continue;
        }
        if !named.as_ref().is_some_and(|f| Arc::ptr_eq(f, &due.file)) {
            // A new file outlasts a power cut once its folder knows its name.
            if let Some(Ok(folder)) = path.parent().map(File::open) {
                let _ = folder.sync_all();
            }
            named = Some(due.file);
        }
        for done in due.waiting {
            let _ = done.send(());
        }
    }
}

fn work(path: &Path, inbox: &Receiver<Order>, outbox: &Sender<Kept>) {
    let (written, waiting) = channel();
    let told = outbox.clone();
    let at = path.to_path_buf();
    let forcing =
        std::thread::Builder::new().name("journal to disk".into()).spawn(move || force(&at, &waiting, &told)).ok();
    note(path, inbox, outbox, &written);
    drop(written);
    if let Some(forcing) = forcing {
        let _ = forcing.join();
    }
}

/// Writes what it is handed, until its window is gone.
fn note(path: &Path, inbox: &Receiver<Order>, outbox: &Sender<Kept>, written: &Sender<Written>) {
    let mut journal: Option<Journal> = None;
    let mut origin: Option<(Option<PathBuf>, Box<Plan>)> = None;
    let mut due = Due::default();
    let mut failed = false;
    loop {
        let order =
            if failed { inbox.recv_timeout(AGAIN) } else { inbox.recv().map_err(|_| RecvTimeoutError::Disconnected) };
        match order {
            Ok(order) => due.take(order),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return,
        }
        while let Ok(order) = inbox.try_recv() {
            due.take(order);
        }
        let result = write(path, &mut journal, &mut origin, &mut due);
        failed = result.is_err();
        // Without a journal nobody waits longer: dropping who waits tells them so.
        let waiting = std::mem::take(&mut due.waiting);
        if let Some(journal) = journal.as_ref().filter(|_| !failed) {
            let _ = written.send(Written { file: journal.file.clone(), waiting });
        }
        let _ = outbox.send(match result {
            Ok(()) => Kept::Written,
            Err(e) => Kept::Failed(e.to_string()),
        });
    }
}

/// Writes what is due; what could not be written stays due.
fn write(
    path: &Path,
    journal: &mut Option<Journal>,
    origin: &mut Option<(Option<PathBuf>, Box<Plan>)>,
    due: &mut Due,
) -> std::io::Result<()> {
    if let Some((file, plan)) = due.begin.take() {
        let begun = Journal::begin(path, file.as_deref(), &plan, None, journal.as_ref());
        *origin = Some((file, plan));
        match begun {
            Ok(j) => *journal = Some(j),
            Err(e) => {
                due.begin.clone_from(origin);
                return Err(e);
            }
        }
    }
    let Some(plan) = due.note.take() else { return Ok(()) };
    let Some(open) = journal.as_mut() else {
        due.note = Some(plan);
        return Err(std::io::Error::other(say!("the-journal-could-not-be-begun")));
    };
    // The folder may have gone with its disk: a line written to a file without a name is lost.
    if !path.exists() {
        *journal = None;
        (due.begin, due.note) = (origin.clone(), Some(plan));
        return write(path, journal, origin, due);
    }
    if let Err(e) = open.note(&plan) {
        due.note = Some(plan);
        return Err(e);
    }
    if open.is_long()
        && let Some((file, first)) = origin
    {
        // Begun anew from the same first plan, with all changes since in one.
        *journal = Some(Journal::begin(path, file.as_deref(), first, Some(&plan), journal.as_ref())?);
    }
    Ok(())
}
