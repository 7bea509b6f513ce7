//! What a series of windows says: its mean, how sure that is, and whether it is steady.

mod judge;
mod mean;
mod steps;
mod trips;

pub use judge::{Judged, RAMP, Remarked, Window, judge, summed};
pub use mean::{
    Estimate, LEAST_ERROR, batches, correlated, correlation, deviation, error, estimate,
    half_width_of_batches, least_error_cut, least_error_cut_of_fives, mean, values_needed,
};
pub use steps::{
    Levels, MANY_STEPS, best_split, levels, levels_with, median, noise, noise_correlated, threshold,
};
pub use trips::{
    SmallFiles, Trips, at_most_of_none, comes_round_after, edge, evenness, payload_ceiling,
    payload_of_counted, small_files, trips, under_way,
};

#[cfg(test)]
mod tests;
