//! Memory, and what of it is not yet on a drive.

use super::{NotThere, Said, numbered};

/// Memory in bytes. The system writes kB and means KiB.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Memory {
    /// All of it.
    pub total: u64,
    /// What programs could have.
    pub available: Option<u64>,
    /// What waits to be written, and is not yet safe.
    pub unsaved: Option<u64>,
}

/// `/proc/meminfo`. Test: `validate_memory`.
pub fn memory(text: &str) -> Said<Memory> {
    let kib = |name: &str| numbered(text, name)?.checked_mul(1024);
    let unsaved = match (kib("Dirty"), kib("Writeback")) {
        (None, None) => None,
        (dirty, writeback) => Some(dirty.unwrap_or(0).saturating_add(writeback.unwrap_or(0))),
    };
    Ok(Memory {
        total: kib("MemTotal")
            .filter(|total| *total > 0)
            .ok_or_else(|| NotThere::because("the size of memory is not said"))?,
        available: kib("MemAvailable"),
        unsaved,
    })
}
