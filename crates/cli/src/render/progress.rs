use crate::interrupt;
use narrows_core::plan::Stopped;
use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock};
use std::time::{Duration, Instant};

/// How far a search is, for a person who waits; to the standard error, and only where that is a terminal. Whoever has had
/// enough gets what is known so far.
pub(crate) struct Progress {
    began: Instant,
    /// How long it took until the first was told of, and how many were done then: what comes before is not the pace.
    first: OnceLock<(Duration, usize)>,
    /// When something was last told; none where nothing was yet.
    told: Mutex<Option<Duration>>,
    watched: bool,
    stop: Arc<AtomicBool>,
    /// What is counted.
    noun: &'static str,
}

/// A person waits this long without wondering.
const PATIENCE: Duration = Duration::from_millis(500);
/// From one telling to the next.
const AGAIN: Duration = Duration::from_millis(200);

impl Progress {
    pub(crate) fn new(noun: &'static str) -> Self {
        Self {
            began: Instant::now(),
            first: OnceLock::new(),
            told: Mutex::new(None),
            watched: std::io::stderr().is_terminal(),
            stop: interrupt::asked(),
            noun,
        }
    }

    /// Tells how far it is; whether to go on.
    pub(crate) fn tell(&self, done: usize, all: usize) -> bool {
        if self.watched {
            self.write(done, all);
        }
        !self.stop.load(Ordering::Relaxed)
    }

    fn write(&self, done: usize, all: usize) {
        let since = self.began.elapsed();
        let &(begun, had) = self.first.get_or_init(|| (since, done));
        let Ok(mut told) = self.told.try_lock() else {
            return;
        };
        if is_due(since, *told) {
            *told = Some(since);
            let left = left(
                since.saturating_sub(begun),
                done.saturating_sub(had),
                all.saturating_sub(had),
            )
            .map_or(String::new(), |left| format!(", {left} left"));
            let _ = write!(
                std::io::stderr(),
                "\r{done} of {all} {}{left}    ",
                self.noun
            );
        }
    }

    pub(crate) fn clear(&self) {
        if self.told.lock().is_ok_and(|told| told.is_some()) {
            let _ = write!(std::io::stderr(), "\r{}\r", " ".repeat(40));
        }
    }
}

/// What an answer begins with that somebody stopped; nothing where nobody did.
pub(crate) fn stopped_after(stopped: Option<Stopped>, noun: &str) -> String {
    stopped.map_or_else(String::new, |Stopped { done, all }| {
        format!(
            "You stopped this after {done} of {all} {noun}; what follows is what is known so far. "
        )
    })
}

/// What is left at the pace so far, as a person would say it; nothing before there is a pace.
fn left(since: Duration, done: usize, all: usize) -> Option<String> {
    if done == 0 {
        return None;
    }
    let seconds = since.as_secs_f64() * all.saturating_sub(done) as f64 / done as f64;
    Some(if seconds >= 90.0 {
        format!("{:.0} min", seconds / 60.0)
    } else {
        format!("{:.0} s", seconds.max(1.0))
    })
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
        assert!(!is_due(ms(499), None));
        assert!(is_due(ms(501), None));
        assert!(!is_due(ms(1100), Some(ms(1001))));
        assert!(is_due(ms(1300), Some(ms(1001))));
    }

    #[test]
    fn what_is_left_follows_the_pace() {
        let second = Duration::from_secs(1);
        assert_eq!(left(second, 0, 10), None);
        assert_eq!(left(second, 5, 10).unwrap(), "1 s");
        assert_eq!(left(second, 1, 21).unwrap(), "20 s");
        assert_eq!(left(second, 1, 601).unwrap(), "10 min");
    }
}
