//! Threads beside the frames: they never queue with a frame's own questions, and stand back for them.

use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::mpsc::{Receiver, channel};
use thread_priority::{ThreadPriority, set_current_thread_priority};

/// Priority of threads beside the frames, of 100; a frame's own have 50.
const ASIDE: u8 = 25;

/// A pool whose threads stand back while a frame is under way. Where the system does not let them, they do not.
pub(super) fn pool_of(threads: usize, name: &'static str) -> Option<ThreadPool> {
    let stand_back = |_| {
        let _ = ASIDE.try_into().map(|p| set_current_thread_priority(ThreadPriority::Crossplatform(p)));
    };
    let pool = ThreadPoolBuilder::new().num_threads(threads).thread_name(move |_| name.into());
    pool.start_handler(stand_back).build().ok()
}

/// A pool of all processors but the one that draws the frames.
pub(super) fn pool() -> Option<ThreadPool> {
    let others = std::thread::available_parallelism().map_or(1, |n| n.get().saturating_sub(1).max(1));
    pool_of(others, "aside")
}

/// Does something once in a pool of its own.
pub(super) fn in_pool<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    install(pool().as_ref(), work)
}

/// Does something in a pool, or where it stands when there is none.
pub(super) fn install<T: Send>(pool: Option<&ThreadPool>, work: impl FnOnce() -> T + Send) -> T {
    match pool {
        Some(pool) => pool.install(work),
        None => work(),
    }
}

/// What is worked out beside the frames.
#[derive(Debug)]
pub(crate) struct Job<T> {
    answer: Receiver<T>,
}

impl<T: Send + 'static> Job<T> {
    /// Starts work in a thread of its own; the window is drawn again when it is done.
    pub fn start(ctx: &egui::Context, work: impl FnOnce() -> T + Send + 'static) -> Option<Job<T>> {
        let (send, answer) = channel();
        let ctx = ctx.clone();
        std::thread::Builder::new()
            .name("aside".into())
            .spawn(move || {
                let _ = send.send(in_pool(work));
                ctx.request_repaint();
            })
            .ok()
            .map(|_| Job { answer })
    }

    /// The answer, when it has come.
    pub fn answer(&self) -> Option<T> {
        self.answer.try_recv().ok()
    }
}
