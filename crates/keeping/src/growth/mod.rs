//! How fast an array fills, and when it is full: a chance for every month, never one date.

mod answer;
mod archive;
mod fill;
mod incoming;
mod readings;
mod volume;

pub use answer::{ArchiveAnswer, FullAnswer, GrowthAnswer, OtherArray, Point, Question, growth};
pub(crate) use answer::{asked, largest, read_rate};
pub use archive::{Archive, held_in_the_long_run};
pub use fill::{
    Need, Seasons, by_gamma, by_inverse_gaussian, by_normal, by_normal_of_history, gamma_quantile,
    when,
};
pub(crate) use incoming::daily;
pub use readings::readings;
pub use volume::{History, ShootingDay, history, month};

/// Sentences that belong under every answer about growth.
pub const CAUTIONS: [&str; 2] = [
    "A date is a chance: what is shot next decides it, and a short history decides little.",
    "Space comes free only when the copies in the archive were read back and snapshots have expired. An array is not a backup.",
];

#[cfg(test)]
mod questions;
#[cfg(test)]
mod tests;
