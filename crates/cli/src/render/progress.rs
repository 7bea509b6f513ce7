use std::io::{IsTerminal, Write};
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// How far a search is, for a person who waits; to the standard error, and only where that is a terminal.
pub(crate) struct Progress {
    began: Instant,
    /// When something was last told; none where nothing was yet.
    told: Mutex<Option<Duration>>,
    watched: bool,
    /// What is counted.
    noun: &'static str,
}

/// A person waits this long without wondering.
const PATIENCE: Duration = Duration::from_secs(1);
/// From one telling to the next.
const AGAIN: Duration = Duration::from_millis(200);

impl Progress {
    pub(crate) fn new(noun: &'static str) -> Self {
        Self {
            began: Instant::now(),
            told: Mutex::new(None),
            watched: std::io::stderr().is_terminal(),
            noun,
        }
    }

    pub(crate) fn tell(&self, done: usize, all: usize) {
        if !self.watched {
            return;
        }
        let since = self.began.elapsed();
        let Ok(mut told) = self.told.try_lock() else {
            return;
        };
        if is_due(since, *told) {
            *told = Some(since);
            let _ = write!(std::io::stderr(), "\r{done} of {all} {} ", self.noun);
        }
    }

    pub(crate) fn clear(&self) {
        if self.told.lock().is_ok_and(|told| told.is_some()) {
            let _ = write!(std::io::stderr(), "\r{}\r", " ".repeat(40));
        }
    }
}

/// Whether it is time to tell something, so long after the start and the last telling.
fn is_due(since: Duration, told: Option<Duration>) -> bool {
    match told {
        None => since > PATIENCE,
        Some(before) => since.saturating_sub(before) > AGAIN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_waits_and_does_not_flicker() {
        let ms = Duration::from_millis;
        assert!(!is_due(ms(999), None));
        assert!(is_due(ms(1001), None));
        assert!(!is_due(ms(1100), Some(ms(1001))));
        assert!(is_due(ms(1300), Some(ms(1001))));
    }
}
