//! Drives that stand still are given time to turn before anything is timed.

use super::own::OwnFile;
use super::{Caps, Trouble};
use crate::ring::{Ring, seed};
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

/// Bytes that are written to wake them.
const TOUCH: usize = 4096;
/// How often a stop is looked for.
const LOOK: Duration = Duration::from_millis(50);

/// Writes one block, makes it safe, and waits until `settle` has passed since; how long the block took.
pub(super) fn wake(folder: &Path, settle: Duration, caps: &Caps<'_>) -> Result<Duration, Trouble> {
    let start = Instant::now();
    let mut own = OwnFile::create(folder)?;
    let mut ring = Ring::of_size(seed(), TOUCH);
    own.file
        .write_all(ring.piece(TOUCH))
        .and_then(|()| own.file.sync_all())
        .map_err(|error| Trouble::of("writing", &error))?;
    let took = start.elapsed();
    while start.elapsed() < settle {
        caps.go_on()?;
        std::thread::sleep(LOOK.min(settle));
    }
    Ok(took)
}
