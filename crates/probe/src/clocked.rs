//! Bytes over true lengths of time.

use crate::series::Window;
use std::time::{Duration, Instant};

/// How long a window is at least.
pub(crate) const WINDOW: Duration = Duration::from_millis(250);

/// Counts bytes into windows, each closed by the clock after a read or a write.
#[derive(Debug)]
pub(crate) struct Clocked {
    start: Instant,
    opened: Instant,
    bytes: u64,
    all: u64,
    length: Duration,
    pub(crate) windows: Vec<Window>,
}

impl Clocked {
    pub(crate) fn start(length: Duration) -> Self {
        let now = Instant::now();
        Self {
            start: now,
            opened: now,
            bytes: 0,
            all: 0,
            length,
            windows: Vec::new(),
        }
    }

    /// Counts bytes; whether a window was closed by it.
    pub(crate) fn count(&mut self, bytes: u64) -> bool {
        self.bytes += bytes;
        self.all += bytes;
        let now = Instant::now();
        let length = now - self.opened;
        if length < self.length {
            return false;
        }
        self.windows.push(Window {
            bytes: self.bytes,
            length,
        });
        self.bytes = 0;
        self.opened = now;
        true
    }

    pub(crate) fn elapsed(&self) -> Duration {
        self.start.elapsed()
    }

    pub(crate) fn all(&self) -> u64 {
        self.all
    }

    /// Closes the last window if it is at least half a window long; a shorter one would be noise.
    pub(crate) fn end(&mut self) {
        let length = self.opened.elapsed();
        if self.windows.is_empty() || length * 2 >= self.length {
            self.windows.push(Window {
                bytes: self.bytes,
                length,
            });
            self.bytes = 0;
        }
    }
}
