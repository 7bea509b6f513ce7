//! Copies of a site: whether they keep up, how old the newest one is, how long until work goes on,
//! what is lost in a year, and the next copy worth having.
//!
//! A run is a job of a day: the same fluid over the same network plays it, beside whatever else that
//! day brings. Nothing here evaluates rates for itself.

mod answer;
mod change;
mod line;
mod losses;
mod restores;
mod runs;

pub use answer::{Backup, CopyAnswer, Question, Tonight, backup};
pub use change::{Change, Step, change};
pub use losses::{EventAnswer, Losses, Taken, Worth};
pub use restores::{Back, RestoreAnswer};
pub use runs::jobs;

/// Sentences that belong under every answer about copies.
pub const CAUTIONS: [&str; 3] = [
    "An array is not a backup, and a copy counts once somebody got something back from it and opened it.",
    "Hours lost are a ranking, not a promise: from low to high rates they move three to six times, and what an event takes is judgement.",
    "Keep the cards until two copies were read back. The key of an encrypted copy belongs in two places, or the copy is nothing.",
];

#[cfg(test)]
mod tests;
