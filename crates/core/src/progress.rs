//! How far long work has come, and whether it is still wanted.

use std::fmt;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::Relaxed};

/// Shared between whoever works and whoever waits: steps done of those expected, and a wish to stop.
#[derive(Debug, Default)]
pub struct Progress {
    done: AtomicUsize,
    expected: AtomicUsize,
    stopped: AtomicBool,
}

/// The work was stopped before its end; there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stopped;

impl fmt::Display for Stopped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("stopped before the end")
    }
}

impl std::error::Error for Stopped {}

impl Progress {
    /// So many steps more are to come.
    pub fn expect(&self, steps: usize) {
        self.expected.fetch_add(steps, Relaxed);
    }

    /// Does one of the steps expected.
    ///
    /// # Errors
    /// When the work is no longer wanted; it is not begun then.
    pub fn step<T>(&self, work: impl FnOnce() -> T) -> Result<T, Stopped> {
        if self.is_stopped() {
            return Err(Stopped);
        }
        let done = work();
        self.done.fetch_add(1, Relaxed);
        Ok(done)
    }

    /// The work is no longer wanted: the steps under way are ended, no more are begun.
    pub fn stop(&self) {
        self.stopped.store(true, Relaxed);
    }

    /// Whether the work is no longer wanted.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.stopped.load(Relaxed)
    }

    /// Steps done and expected; none expected before the work has told.
    #[must_use]
    pub fn steps(&self) -> (usize, usize) {
        (self.done.load(Relaxed), self.expected.load(Relaxed))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_step_begins_once_it_is_stopped() {
        let progress = Progress::default();
        progress.expect(2);
        assert_eq!(progress.step(|| 7), Ok(7));
        progress.stop();
        assert_eq!(progress.step(|| 7), Err(Stopped));
        assert_eq!(progress.steps(), (1, 2));
    }
}
