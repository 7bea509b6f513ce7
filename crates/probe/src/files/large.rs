//! One large file, written and read back.

use super::own::OwnFile;
use super::{Caps, Progress, Stage, Trouble};
use crate::clocked::{Clocked, WINDOW};
use crate::ring::Ring;
use crate::series::{Judged, Window, judge};
use std::fs::File;
use std::io::{Read, Seek, SeekFrom, Write};
use std::time::Duration;

/// Bytes of one write or read.
const PIECE: usize = 1 << 20;
/// What is left out in front of a file's run: no window of a link grows here.
const RAMP: Duration = Duration::from_millis(500);

/// A large file that was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// Bytes.
    pub bytes: u64,
    /// Until the last write came back: much of it may have been in memory.
    pub until_last_write: Duration,
    /// Until the system said that it is safe.
    pub until_safe: Duration,
    /// MB/s until safe, with its interval.
    pub judged: Option<Judged>,
    /// Windows of writing; what syncing took is in the last one.
    pub windows: Vec<Window>,
}

/// A large file that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadBack {
    /// Bytes.
    pub bytes: u64,
    /// How long it took.
    pub took: Duration,
    /// MB/s with its interval.
    pub judged: Option<Judged>,
    /// Windows.
    pub windows: Vec<Window>,
    /// Whether this machine forgot what it kept in memory before.
    pub forgotten: bool,
}

/// Asks the system to forget what it keeps of a file in memory; what is not yet safe it keeps.
#[cfg(any(target_os = "linux", target_os = "android", target_os = "freebsd"))]
pub(super) fn forget(file: &File) -> bool {
    rustix::fs::fadvise(file, 0, None, rustix::fs::Advice::DontNeed).is_ok()
}

/// This system has no such call.
#[cfg(not(any(target_os = "linux", target_os = "android", target_os = "freebsd")))]
pub(super) fn forget(_: &File) -> bool {
    false
}

/// Writes until the caps are reached, then makes it safe.
pub(super) fn write(
    own: &mut OwnFile,
    ring: &mut Ring,
    caps: &Caps<'_>,
    tell: &mut dyn FnMut(Progress),
) -> Result<Written, Trouble> {
    let mut clocked = Clocked::start(WINDOW);
    while clocked.all() < caps.bytes && clocked.elapsed() < caps.time {
        caps.go_on()?;
        let left = usize::try_from(caps.bytes - clocked.all()).unwrap_or(PIECE);
        let piece = ring.piece(PIECE.min(left));
        own.file
            .write_all(piece)
            .map_err(|error| Trouble::of("writing", &error))?;
        if clocked.count(piece.len() as u64) {
            tell(Progress::of(Stage::Writing, &clocked, caps.bytes));
        }
    }
    let until_last_write = clocked.elapsed();
    tell(Progress::of(Stage::Syncing, &clocked, caps.bytes));
    own.file
        .sync_all()
        .map_err(|error| Trouble::of("making it safe", &error))?;
    let until_safe = clocked.elapsed();
    clocked.end();
    let bytes = clocked.all();
    let windows = clocked.windows;
    Ok(Written {
        judged: safe(bytes, until_safe, &windows),
        bytes,
        until_last_write,
        until_safe,
        windows,
    })
}

/// Judged by its windows where syncing at the end was short; else all bytes over all time, as wide as the two rates are
/// apart.
fn safe(bytes: u64, took: Duration, windows: &[Window]) -> Option<Judged> {
    let mut judged = judge(windows, RAMP)?;
    let mean = bytes as f64 / took.as_secs_f64().max(1e-9) / 1e6;
    let apart = (judged.rate.mean - mean).abs();
    if apart > judged.rate.half_width || judged.rate.mean <= 0.0 {
        // memory took the first part: what counts is when it was safe
        judged.rate.half_width = (judged.rate.half_width * mean / judged.rate.mean.max(mean))
            .max(mean * crate::series::LEAST_ERROR)
            .min(mean);
        judged.rate.mean = mean;
        judged.remarks.clear();
    }
    Some(judged)
}

/// Reads the file back from its beginning and holds it against what was written.
pub(super) fn read(
    own: &mut OwnFile,
    ring: &Ring,
    caps: &Caps<'_>,
    tell: &mut dyn FnMut(Progress),
) -> Result<ReadBack, Trouble> {
    let forgotten = forget(&own.file);
    let failed = |error: std::io::Error| Trouble::of("reading", &error);
    own.file.seek(SeekFrom::Start(0)).map_err(failed)?;
    let mut buffer = vec![0; PIECE];
    let mut clocked = Clocked::start(WINDOW);
    let mut number = 0;
    while clocked.all() < caps.bytes && clocked.elapsed() < caps.time {
        caps.go_on()?;
        let mut filled = 0;
        while let Some(rest) = buffer.get_mut(filled..).filter(|rest| !rest.is_empty()) {
            match own.file.read(rest) {
                Ok(0) => break,
                Ok(count) => filled += count,
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) => return Err(failed(error)),
            }
        }
        if filled == 0 {
            break;
        }
        let piece = buffer.get(..filled).unwrap_or_default();
        if !ring.is_right(piece, number) {
            return Err(Trouble::Differs(clocked.all()));
        }
        number += (filled / 4096) as u64;
        if clocked.count(filled as u64) {
            tell(Progress::of(Stage::Reading, &clocked, caps.bytes));
        }
    }
    let took = clocked.elapsed();
    clocked.end();
    Ok(ReadBack {
        bytes: clocked.all(),
        took,
        judged: judge(&clocked.windows, RAMP),
        windows: clocked.windows,
        forgotten,
    })
}
