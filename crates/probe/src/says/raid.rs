//! `/proc/mdstat`: RAID of the kernel.

use super::shown;
use narrows_units::quantity::{DataRate, Information, Time, bytes, megabytes_per_second, seconds};

/// Whether an array works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Running {
    /// It does.
    Yes,
    /// It stands still until somebody writes.
    ReadOnly,
    /// It does not: a fault for a person.
    No,
}

/// What goes on in an array.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Activity {
    /// A drive is put together again, or the layout changes.
    Rebuilding,
    /// A rebuild waits.
    Waiting,
    /// All drives are read through.
    Scrubbing,
}

/// An array of the kernel.
#[derive(Clone, Debug, PartialEq)]
pub struct Raid {
    /// Its name.
    pub name: String,
    /// Whether it works.
    pub running: Running,
    /// The layout as a site writes it, where the level is one that a site knows.
    pub layout: Option<&'static str>,
    /// Usable space.
    pub size: Option<Information>,
    /// Names of the drives, spares and failed ones included.
    pub drives: Vec<String>,
    /// Drives that the array should have.
    pub wanted: Option<u32>,
    /// How many of them are missing.
    pub failed: Option<u32>,
    /// Drives that wait.
    pub spares: u32,
    /// What goes on.
    pub activity: Option<Activity>,
    /// How far that is, from 0 to 1.
    pub done: Option<f64>,
    /// How fast that goes, on each drive.
    pub rate: Option<DataRate>,
    /// How long it takes.
    pub left: Option<Time>,
}

/// More arrays than any machine has.
const MOST: usize = 256;

/// Reads all arrays. Sizes are in KiB, rates in KiB a second. Test: `validate_arrays`.
pub fn arrays(text: &str) -> Vec<Raid> {
    let mut found: Vec<Raid> = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with("Personalities") || line.starts_with("unused devices") {
            inside = false;
        } else if let Some((name, rest)) = line.split_once(" : ")
            && !line.starts_with([' ', '\t'])
        {
            inside = found.len() < MOST;
            if inside {
                found.push(headed(name, rest));
            }
        } else if inside && let Some(array) = found.last_mut() {
            detail(array, line);
        }
    }
    found
}

fn headed(name: &str, rest: &str) -> Raid {
    let mut words = rest.split_whitespace().peekable();
    let mut running = match words.next() {
        Some("active") => Running::Yes,
        _ => Running::No,
    };
    while let Some(word) = words.next_if(|word| word.starts_with('(')) {
        if running == Running::Yes && word.contains("read-only") {
            running = Running::ReadOnly;
        }
    }
    let layout = words
        .next_if(|word| !word.contains('['))
        .and_then(layout_of);
    let mut drives = Vec::new();
    let mut spares = 0;
    for word in words.take(1024) {
        let Some((drive, flags)) = word.split_once('[') else {
            continue;
        };
        drives.push(shown(drive));
        // in an array that stands still every drive is marked as waiting
        if flags.contains("(S)") && running != Running::No {
            spares += 1;
        }
    }
    Raid {
        name: shown(name),
        running,
        layout,
        size: None,
        drives,
        wanted: None,
        failed: None,
        spares,
        activity: None,
        done: None,
        rate: None,
        left: None,
    }
}

fn layout_of(level: &str) -> Option<&'static str> {
    Some(match level {
        "raid0" => "raid0",
        "raid1" => "raid1",
        "raid5" => "raid5",
        "raid6" => "raid6",
        "raid10" => "raid10",
        _ => return None,
    })
}

fn detail(array: &mut Raid, line: &str) {
    let line = line.trim();
    if let Some((count, rest)) = line.split_once(" blocks") {
        if let Ok(kib) = count.trim().parse::<u64>() {
            array.size = Some(bytes(kib as f64 * 1024.0));
        }
        if let Some((wanted, there)) = members(rest) {
            array.wanted = Some(wanted);
            array.failed = wanted.checked_sub(there);
        }
        return;
    }
    for (word, activity) in [
        ("recovery", Activity::Rebuilding),
        ("resync", Activity::Rebuilding),
        ("reshape", Activity::Rebuilding),
        ("check", Activity::Scrubbing),
    ] {
        let Some(at) = line.find(word) else {
            continue;
        };
        let rest = line.get(at + word.len()..).unwrap_or_default().trim_start();
        let Some(rest) = rest.strip_prefix('=') else {
            continue;
        };
        let rest = rest.trim_start();
        array.activity = Some(
            if rest.starts_with("PENDING") || rest.starts_with("DELAYED") {
                Activity::Waiting
            } else {
                activity
            },
        );
        array.done = rest
            .split_once('%')
            .and_then(|(share, _)| number(share))
            .map(|share| (share / 100.0).clamp(0.0, 1.0));
        array.left = behind(rest, "finish=", "min").map(|minutes| seconds(minutes * 60.0));
        array.rate =
            behind(rest, "speed=", "K/sec").map(|kib| megabytes_per_second(kib * 1024.0 / 1e6));
        return;
    }
}

/// `[6/5]`: wanted and there.
fn members(text: &str) -> Option<(u32, u32)> {
    text.split('[').find_map(|part| {
        let (counts, _) = part.split_once(']')?;
        let (wanted, there) = counts.split_once('/')?;
        Some((wanted.parse().ok()?, there.parse().ok()?))
    })
}

fn behind(text: &str, name: &str, unit: &str) -> Option<f64> {
    let (_, rest) = text.split_once(name)?;
    number(rest.split_once(unit)?.0)
}

fn number(text: &str) -> Option<f64> {
    let value: f64 = text.trim().parse().ok()?;
    (value.is_finite() && value >= 0.0).then_some(value)
}
