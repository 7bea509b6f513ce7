//! One large file, written and read back.

use super::own::OwnFile;
use super::{Caps, Progress, Stage, Trouble, pieces};
use crate::clocked::{Clocked, WINDOW};
use crate::ring::Ring;
use crate::series::{Judged, Window, judge};
use std::time::Duration;

/// What is left out in front of a file's run: no window of a link grows here.
pub(super) const RAMP: Duration = Duration::from_millis(500);

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
    /// Whether it was read past this machine's memory.
    pub direct: bool,
}

/// Writes until the caps are reached, then makes it safe.
pub(super) fn write(
    own: &mut OwnFile,
    ring: &mut Ring,
    caps: &Caps<'_>,
    tell: &mut dyn FnMut(Progress),
) -> Result<Written, Trouble> {
    let mut clocked = Clocked::start(WINDOW);
    pieces::write(own, ring, caps, &mut |bytes| {
        if clocked.count(bytes) {
            tell(Progress::of(Stage::Writing, &clocked, caps.bytes));
        }
    })?;
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
pub(super) fn safe(bytes: u64, took: Duration, windows: &[Window]) -> Option<Judged> {
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
    let mut clocked = Clocked::start(WINDOW);
    let past = pieces::read(own, ring, caps, &mut |bytes| {
        if clocked.count(bytes) {
            tell(Progress::of(Stage::Reading, &clocked, caps.bytes));
        }
    })?;
    let took = clocked.elapsed();
    clocked.end();
    Ok(ReadBack {
        bytes: clocked.all(),
        took,
        judged: judge(&clocked.windows, RAMP),
        windows: clocked.windows,
        forgotten: past.forgotten,
        direct: past.direct,
    })
}
