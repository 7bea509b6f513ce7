//! Several files at once, each by a thread of its own.

use super::large::{ReadBack, Written, safe};
use super::own::OwnFile;
use super::pieces::{self, Past};
use super::{Caps, Progress, Stage, Trouble};
use crate::clocked::{Clocked, WINDOW};
use crate::ring::{Ring, seed};
use crate::series::judge;
use std::path::Path;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Bytes of the ring of each thread.
const RING: usize = 8 << 20;
/// How often the clock is looked at.
const LOOK: Duration = Duration::from_millis(5);

/// Several files that were written and read at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Several {
    /// How many files, and threads.
    pub files: usize,
    /// All of them, written.
    pub written: Written,
    /// And read.
    pub read: ReadBack,
}

/// Files of equal size, written at once, made safe, and read at once; the caps are those of all together.
pub(super) fn measure(
    folder: &Path,
    files: usize,
    caps: &Caps<'_>,
    tell: &mut dyn FnMut(Progress),
) -> Result<Several, Trouble> {
    let each = Caps {
        bytes: caps.bytes / files.max(1) as u64,
        ..*caps
    };
    let mut all = Vec::new();
    for _ in 0..files {
        all.push((OwnFile::create(folder)?, Ring::of_size(seed(), RING)));
    }
    let start = Instant::now();
    let last_write = AtomicU64::new(0);
    let (clocked, _) = at_once(&mut all, caps.bytes, tell, &|(own, ring), count| {
        pieces::write(own, ring, &each, count)?;
        last_write.fetch_max(start.elapsed().as_micros() as u64, Ordering::Relaxed);
        own.file
            .sync_all()
            .map_err(|error| Trouble::of("making it safe", &error))
    })?;
    let until_safe = start.elapsed();
    let bytes = clocked.all();
    let written = Written {
        judged: safe(bytes, until_safe, &clocked.windows),
        bytes,
        until_last_write: Duration::from_micros(last_write.load(Ordering::Relaxed)),
        until_safe,
        windows: clocked.windows,
    };
    let start = Instant::now();
    let (clocked, past) = at_once(&mut all, bytes, tell, &|(own, ring), count| {
        pieces::read(own, ring, &each, count)
    })?;
    let of_all = |what: fn(&Past) -> bool| past.iter().all(what);
    Ok(Several {
        files,
        written,
        read: ReadBack {
            bytes: clocked.all(),
            took: start.elapsed(),
            judged: judge(&clocked.windows, super::large::RAMP),
            forgotten: of_all(|past| past.forgotten),
            direct: of_all(|past| past.direct),
            windows: clocked.windows,
        },
    })
}

/// Does the same to all files at once, and counts what comes through on one clock; the first fault ends it.
fn at_once<F: Send, T: Send>(
    all: &mut [F],
    of: u64,
    tell: &mut dyn FnMut(Progress),
    work: &(impl Fn(&mut F, &mut dyn FnMut(u64)) -> Result<T, Trouble> + Sync),
) -> Result<(Clocked, Vec<T>), Trouble> {
    let came = AtomicU64::new(0);
    let open = AtomicUsize::new(all.len());
    let mut clocked = Clocked::start(WINDOW);
    let ended = std::thread::scope(|scope| {
        let threads: Vec<_> = all
            .iter_mut()
            .map(|file| {
                let (came, open) = (&came, &open);
                scope.spawn(move || {
                    let done = work(file, &mut |bytes| {
                        came.fetch_add(bytes, Ordering::Relaxed);
                    });
                    open.fetch_sub(1, Ordering::Release);
                    done
                })
            })
            .collect();
        let mut last = 0;
        while open.load(Ordering::Acquire) > 0 {
            std::thread::sleep(LOOK);
            let now = came.load(Ordering::Relaxed);
            if clocked.count(now - last) {
                tell(Progress::of(Stage::Several, &clocked, of));
            }
            last = now;
        }
        clocked.count(came.load(Ordering::Relaxed) - last);
        clocked.end();
        threads
            .into_iter()
            .map(|thread| {
                let lost = || Trouble::Refused("a thread", "it ended early".to_owned());
                thread.join().unwrap_or_else(|_| Err(lost()))
            })
            .collect::<Result<Vec<T>, Trouble>>()
    });
    ended.map(|done| (clocked, done))
}
