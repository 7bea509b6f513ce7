//! What keeps the pictures: riding through mains gaps, the day on which an array is full, copies
//! elsewhere, and what is lost without them.

mod samples;

pub mod backup;
pub mod copies;
pub mod growth;
pub mod outage;

pub use samples::{KeepingFault, Range};
