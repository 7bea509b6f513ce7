//! Many small files, and what creating and opening costs.

use super::own::OwnFolder;
use super::{Caps, Progress, Stage, Trouble};
use crate::ring::{Ring, seed};
use crate::series::{SmallFiles, Trips, small_files, trips};
use std::path::Path;
use std::time::{Duration, Instant};

/// Bytes of a small file.
const BYTES: usize = 50_000;
/// How many are created and opened one by one.
const OPENED: usize = 200;
/// Left out in front.
const SKIPPED: usize = 10;

/// Small files of 50 kB in one folder, one after another.
#[derive(Clone, Debug, PartialEq)]
pub struct Small {
    /// How many.
    pub count: u64,
    /// Creating, writing, closing.
    pub write: SmallFiles,
    /// Opening, reading, closing.
    pub read: SmallFiles,
    /// Files removed a second.
    pub removed_a_second: f64,
}

/// Round trips of creating an empty file, and of opening one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// ms to create one.
    pub create: Trips,
    /// ms to open one.
    pub open: Trips,
}

/// Measures small files; the rates of a large one, writing and reading, tell what bytes alone would take.
pub(super) fn measure(
    folder: &Path,
    most: u64,
    (write_rate, read_rate): (Option<f64>, Option<f64>),
    caps: &Caps<'_>,
    tell: &mut dyn FnMut(Progress),
) -> Result<(Small, Option<Opening>), Trouble> {
    let mut ring = Ring::of_size(seed(), 4 << 20);
    let mut own = OwnFolder::create(folder)?;
    let start = Instant::now();
    while own.made() < most && start.elapsed() < caps.time {
        caps.go_on()?;
        let piece = ring.piece(BYTES).to_vec();
        own.write(&piece)
            .map_err(|error| Trouble::of("writing small files", &error))?;
        if own.made() % 100 == 0 {
            tell(so_far(own.made(), most, start.elapsed()));
        }
    }
    let count = own.made();
    let wrote = start.elapsed();
    for number in 0..count {
        own.forget(number);
    }
    let mut buffer = Vec::with_capacity(BYTES);
    let start = Instant::now();
    let mut read = 0;
    while read < count && start.elapsed() < caps.time {
        caps.go_on()?;
        own.read(read, &mut buffer)
            .map_err(|error| Trouble::of("reading small files", &error))?;
        read += 1;
    }
    let took = start.elapsed();
    let start = Instant::now();
    let removed = own.remove();
    let cleared = start.elapsed();
    let opening = opening(&mut own, caps)?;
    let of = |count: u64, took: Duration, large: Option<f64>| {
        let seconds = took.as_secs_f64().max(1e-9);
        small_files(count, BYTES as u64, seconds, large.unwrap_or(f64::INFINITY))
    };
    let nothing = || Trouble::Refused("small files", "no time for one".to_owned());
    Ok((
        Small {
            count,
            write: of(count, wrote, write_rate).ok_or_else(nothing)?,
            read: of(read, took, read_rate).ok_or_else(nothing)?,
            removed_a_second: removed as f64 / cleared.as_secs_f64().max(1e-9),
        },
        opening,
    ))
}

fn so_far(made: u64, most: u64, since: Duration) -> Progress {
    let rate = made as f64 * BYTES as f64 / since.as_secs_f64().max(1e-9) / 1e6;
    Progress {
        stage: Stage::Small,
        bytes: made * BYTES as u64,
        of: most * BYTES as u64,
        now: rate,
        so_far: rate,
    }
}

fn opening(own: &mut OwnFolder, caps: &Caps<'_>) -> Result<Option<Opening>, Trouble> {
    let failed = |error: std::io::Error| Trouble::of("creating small files", &error);
    let (mut create, mut open) = (Vec::new(), Vec::new());
    let mut buffer = Vec::new();
    let until = Instant::now() + caps.time;
    for _ in 0..OPENED {
        if Instant::now() >= until {
            break;
        }
        caps.go_on()?;
        let start = Instant::now();
        own.write(&[]).map_err(failed)?;
        create.push(start.elapsed().as_secs_f64() * 1e3);
        let start = Instant::now();
        own.read(own.made() - 1, &mut buffer).map_err(failed)?;
        open.push(start.elapsed().as_secs_f64() * 1e3);
    }
    own.remove();
    let settled = |ms: &[f64]| trips(ms.get(SKIPPED..).unwrap_or_default());
    Ok(settled(&create)
        .zip(settled(&open))
        .map(|(create, open)| Opening { create, open }))
}
