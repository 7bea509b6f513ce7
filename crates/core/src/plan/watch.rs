//! Somebody who watches a long search, and may stop it.

use std::sync::atomic::{AtomicBool, Ordering};

/// Told how many of how many are looked at; says whether to go on. Where it says no, the answer is what is known so
/// far, and says so.
pub type Watch<'a> = &'a (dyn Fn(usize, usize) -> bool + Sync);

/// How far a search came that somebody stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stopped {
    /// So many were looked at,
    pub done: usize,
    /// of so many.
    pub all: usize,
}

/// A watch that is asked no more once it has said no, and remembers that.
pub(crate) struct Patience<'a> {
    watch: Watch<'a>,
    over: AtomicBool,
}

impl<'a> Patience<'a> {
    pub(crate) fn of(watch: Watch<'a>) -> Self {
        Self {
            watch,
            over: AtomicBool::new(false),
        }
    }

    /// Whether to go on.
    pub(crate) fn lasts(&self, done: usize, all: usize) -> bool {
        let on = !self.is_over() && (self.watch)(done, all);
        if !on {
            self.over.store(true, Ordering::Relaxed);
        }
        on
    }

    pub(crate) fn is_over(&self) -> bool {
        self.over.load(Ordering::Relaxed)
    }
}
