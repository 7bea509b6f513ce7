use super::read;
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::site::{Faults, Site};

mod air;
mod broken;
mod changes;
mod properties;
mod reading;
mod states;
mod table;
mod tasks;

/// The example that the tests change.
const LANE: &str = narrows_data::SITES[0].1;

fn catalogue() -> Catalogue {
    Catalogue::embedded().unwrap()
}

/// The line that a byte lies in, from 1.
fn line_of(text: &str, at: usize) -> usize {
    text.bytes().take(at).filter(|&b| b == b'\n').count() + 1
}

/// The example with edits.
fn changed(edits: &[&str]) -> Result<Site, Faults> {
    let edits = Edit::parse_all(edits)?;
    read(LANE, &edits, &catalogue())
}
