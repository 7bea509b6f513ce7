use crate::hop::drives::{in_step, slowest_of as slowest_score};
use narrows_units::quantity::DataRate;

/// The most that parity lets through: bytes of data a second that one core computes parity for,
/// times the threads that may do so.
///
/// The kernel's driver handles stripes in one thread unless told otherwise; that thread is a
/// ceiling of its own, lower than the parity code alone (`array.stripe-thread` of the
/// catalogue). It turns writes and degraded reads, never reads of a healthy array; a pool computes
/// checksums for every read. Checked by `validate_parity_ceiling`.
pub fn parity_ceiling(data_a_core: DataRate, threads: usize) -> DataRate {
    data_a_core * threads.max(1) as f64
}

/// Mean of the slowest of `drives` whose rates are normal with this relative spread:
/// `mean (1 - k_n spread)`, with `k_n` the mean of the largest of n standard normal scores.
///
/// Stripes run at n times the slowest, not at n times the mean. Valid for spreads up to about 10 %.
/// Source: order statistics. Checked by `validate_slowest_of_many`.
pub fn slowest_of(
    drives: usize,
    mean: DataRate,
    spread: narrows_units::quantity::Ratio,
) -> DataRate {
    mean * in_step(slowest_score(drives), spread)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{in_megabytes_per_second, megabytes_per_second, ratio};

    #[test]
    fn validate_slowest_of_many() {
        const PRINTED: f64 = 5e-6;
        for (n, score) in [
            (2, 0.564190),
            (4, 1.02938),
            (6, 1.26721),
            (8, 1.42360),
            (12, 1.62923),
        ] {
            assert_relative_eq!(slowest_score(n), score, max_relative = PRINTED);
        }
        // eight drives with 5 % spread: 0.929 of the mean
        let found = slowest_of(8, megabytes_per_second(1000.0), ratio(0.05));
        assert!((in_megabytes_per_second(found) - 929.0).abs() < 0.5);
        let one = slowest_of(1, megabytes_per_second(1000.0), ratio(0.05));
        assert_relative_eq!(in_megabytes_per_second(one), 1000.0);
    }

    #[test]
    fn validate_parity_ceiling() {
        // 10 Gb/s of files (1150 MB/s) take 38 % of a core at 3.0 GB/s
        let ceiling = parity_ceiling(megabytes_per_second(3000.0), 1);
        let share = (megabytes_per_second(1150.0) / ceiling)
            .get::<narrows_units::quantity::units::ratio::one>();
        assert!((share - 0.38).abs() < 0.005);
        assert_eq!(parity_ceiling(megabytes_per_second(3000.0), 0), ceiling);
    }
}
