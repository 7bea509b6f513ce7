use crate::quantity::DataRate;

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
/// Stripes run at n times the slowest, not at n times the mean. Valid for spreads up to about 10 %;
/// `k_n` is computed by Simpson's rule, exact to six digits up to 1000 drives. Source: order
/// statistics. Checked by `validate_slowest_of_many`.
pub fn slowest_of(drives: usize, mean: DataRate, spread: crate::quantity::Ratio) -> DataRate {
    let spread = spread.get::<crate::quantity::units::ratio::one>();
    mean * (1.0 - mean_largest_score(drives) * spread).max(0.0)
}

/// `integral over z of z n phi(z) Phi(z)^(n - 1)`.
fn mean_largest_score(n: usize) -> f64 {
    const STEPS: u32 = 2000;
    const REACH: f64 = 9.0;
    if n < 2 {
        return 0.0;
    }
    let n = n as f64;
    let step = 2.0 * REACH / f64::from(STEPS);
    let mut sum = 0.0;
    for i in 0..=STEPS {
        let z = -REACH + f64::from(i) * step;
        let weight = match i {
            0 | STEPS => 1.0,
            i if i % 2 == 1 => 4.0,
            _ => 2.0,
        };
        let density = libm::exp(-z * z / 2.0) / libm::sqrt(2.0 * std::f64::consts::PI);
        let below = crate::spread::normal_share(z);
        sum += weight * z * n * density * libm::pow(below, n - 1.0);
    }
    sum * step / 3.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{in_megabytes_per_second, megabytes_per_second, ratio};
    use approx::assert_relative_eq;

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
            assert_relative_eq!(mean_largest_score(n), score, max_relative = PRINTED);
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
        let share =
            (megabytes_per_second(1150.0) / ceiling).get::<crate::quantity::units::ratio::one>();
        assert!((share - 0.38).abs() < 0.005);
        assert_eq!(parity_ceiling(megabytes_per_second(3000.0), 0), ceiling);
    }
}
