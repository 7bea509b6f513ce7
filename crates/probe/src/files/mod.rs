//! Files in a folder that was named: a large one, several at once, small ones, round trips.
//!
//! Only new files with names of our own are written, none of anybody's is opened, and all are removed on every way out.

mod large;
mod own;
mod pieces;
mod several;
mod size;
mod small;
mod wake;

pub use large::{ReadBack, Written};
pub use own::{fit, left_over, remove_left_over};
pub use several::Several;
pub use size::{Sized, is_small, reserve, size_of_test};
pub use small::{Opening, Small};

use crate::clocked::Clocked;
use crate::machine::reason;
use crate::ring::{Ring, seed};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Why a test of files ended early.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// It is no folder.
    NoFolder(PathBuf),
    /// It belongs to the system.
    OfTheSystem(PathBuf),
    /// There is no room left.
    Full,
    /// The system refused: what was done, and its reason.
    Refused(&'static str, String),
    /// What was read is not what was written, from this byte on.
    Differs(u64),
    /// Somebody stopped it.
    Stopped,
}

impl Trouble {
    fn of(doing: &'static str, error: &std::io::Error) -> Self {
        use std::io::ErrorKind::{QuotaExceeded, StorageFull};
        match error.kind() {
            StorageFull | QuotaExceeded => Self::Full,
            _ => Self::Refused(doing, reason(error)),
        }
    }
}

impl std::fmt::Display for Trouble {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoFolder(path) => write!(f, "{} is no folder", path.display()),
            Self::OfTheSystem(path) => write!(f, "{} belongs to the system", path.display()),
            Self::Full => f.write_str("there is no room left; the test file is removed"),
            Self::Refused(doing, why) => {
                write!(
                    f,
                    "{doing} failed: {why}; the test file is removed, if the folder is still there"
                )
            }
            Self::Differs(at) => write!(
                f,
                "what was read is not what was written, from byte {at} on: keep no pictures there until somebody has looked"
            ),
            Self::Stopped => f.write_str("stopped; the test file is removed"),
        }
    }
}

/// What cannot be passed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Caps<'a> {
    bytes: u64,
    time: Duration,
    stop: &'a AtomicBool,
}

impl Caps<'_> {
    fn go_on(&self) -> Result<(), Trouble> {
        if self.stop.load(Ordering::Relaxed) {
            Err(Trouble::Stopped)
        } else {
            Ok(())
        }
    }
}

/// What goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Drives that may stand still are given time.
    Waking,
    /// A large file is written.
    Writing,
    /// It is made safe.
    Syncing,
    /// It is read.
    Reading,
    /// Several files at once.
    Several,
    /// Small files.
    Small,
}

/// How far it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// What goes on.
    pub stage: Stage,
    /// Bytes so far.
    pub bytes: u64,
    /// Bytes at most.
    pub of: u64,
    /// MB/s of the last window.
    pub now: f64,
    /// MB/s so far.
    pub so_far: f64,
}

impl Progress {
    fn of(stage: Stage, clocked: &Clocked, of: u64) -> Self {
        let seconds = clocked.elapsed().as_secs_f64().max(1e-9);
        Self {
            stage,
            bytes: clocked.all(),
            of,
            now: clocked.windows.last().map_or(0.0, |w| w.megabytes_per_s()),
            so_far: clocked.all() as f64 / seconds / 1e6,
        }
    }
}

/// What is to be measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// Where.
    pub folder: PathBuf,
    /// Bytes of the large file, at most.
    pub bytes: u64,
    /// Time for each way of the large file and for the small files, at most.
    pub time: Duration,
    /// How many files at once in a second run, of a quarter of the bytes together; none for 0.
    pub at_once: usize,
    /// How many small files, at most; none for 0.
    pub small: u64,
    /// How long drives that may stand still are given before anything is timed; they are not touched for 0.
    pub settle: Duration,
}

/// Everything that was measured in a folder.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// How long the first block took, where drives were touched before.
    pub woken: Option<Duration>,
    /// The large file, written.
    pub written: Written,
    /// And read.
    pub read: ReadBack,
    /// Several files at once.
    pub several: Option<Several>,
    /// Small files.
    pub small: Option<Small>,
    /// Creating and opening.
    pub opening: Option<Opening>,
}

/// Measures files in a folder.
///
/// Writes at most `asked.bytes` in one large file, then a quarter of that in `asked.at_once` files, then at most `asked.small`
/// files of 50 kB; each stage ends after `asked.time` at the next piece. Assumes that nothing else writes there. Tests:
/// `verify_a_run_in_a_folder_of_its_own`, `verify_several_files_at_once`.
///
/// # Errors
/// Where the folder is unfit, full or goes away, where what was read is not what was written, or where `stop` was set; no file is
/// left then, if the folder can be reached.
pub fn measure(
    asked: &Asked,
    stop: &AtomicBool,
    tell: &mut dyn FnMut(Progress),
) -> Result<Found, Trouble> {
    let folder = own::fit(&asked.folder)?;
    let caps = Caps {
        bytes: asked.bytes,
        time: asked.time,
        stop,
    };
    let mut woken = None;
    if asked.settle > Duration::ZERO {
        tell(Progress {
            stage: Stage::Waking,
            bytes: 0,
            of: 0,
            now: 0.0,
            so_far: 0.0,
        });
        woken = Some(wake::wake(&folder, asked.settle, &caps)?);
    }
    let (written, read) = large_file(&folder, &caps, tell)?;
    let mut several = None;
    if asked.at_once > 0 {
        let caps = Caps {
            bytes: asked.bytes / 4,
            ..caps
        };
        several = Some(several::measure(&folder, asked.at_once, &caps, tell)?);
    }
    let (mut small, mut opening) = (None, None);
    if asked.small > 0 {
        let large = |judged: &Option<crate::series::Judged>| judged.as_ref().map(|j| j.rate.mean);
        let found = small::measure(
            &folder,
            asked.small,
            (large(&written.judged), large(&read.judged)),
            &caps,
            tell,
        )?;
        small = Some(found.0);
        opening = found.1;
    }
    Ok(Found {
        woken,
        written,
        read,
        several,
        small,
        opening,
    })
}

fn large_file(
    folder: &Path,
    caps: &Caps<'_>,
    tell: &mut dyn FnMut(Progress),
) -> Result<(Written, ReadBack), Trouble> {
    let mut own = own::OwnFile::create(folder)?;
    let mut ring = Ring::new(seed());
    let written = large::write(&mut own, &mut ring, caps, tell)?;
    let read = large::read(&mut own, &ring, caps, tell)?;
    Ok((written, read))
}

#[cfg(test)]
mod tests;
