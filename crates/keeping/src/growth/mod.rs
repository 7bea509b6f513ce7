//! How fast an array fills, and when it is full: a chance for every month, never one date.

mod archive;
mod fill;
mod volume;

pub use archive::{Archive, held_in_the_long_run};
pub use fill::{
    Need, Seasons, by_gamma, by_inverse_gaussian, by_normal, by_normal_of_history, gamma_quantile,
    when,
};
pub use volume::{History, ShootingDay, history, month};

#[cfg(test)]
mod tests;
