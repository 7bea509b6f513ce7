//! One TCP stream: what its window and the round trip allow.

use crate::quantity::{DataRate, Information, Ratio, Time, bytes, ratio, units};

/// The rate of a stream that waits for a full window to be acknowledged: `W / T`.
///
/// `W` bytes in flight (the least of receive window, send buffer and congestion window), `T`
/// round trip in seconds, greater than zero. Assumes no loss.
/// Source: RFC 7323 section 1.1. Checked by `validate_window_table`.
pub fn window_rate(window: Information, round_trip: Time) -> DataRate {
    window / round_trip
}

/// Bytes in flight that fill a path: `R T`.
///
/// Source: RFC 7323 section 1.1. Checked by `validate_bandwidth_delay_products`.
pub fn bandwidth_delay_product(rate: DataRate, round_trip: Time) -> Information {
    rate * round_trip
}

/// The largest window: 65535 B shifted by at most 14.
///
/// Source: RFC 7323 section 2.2. Checked by `validate_largest_window`.
pub fn largest_window(shift: u32) -> Information {
    bytes(f64::from(65_535u32) * f64::from(1u32 << shift.min(14)))
}

/// Round trips until slow start has opened the window from ten segments: `log2(W / (10 S))`.
///
/// `W` window and `S` segment in bytes; at least zero. Assumes doubling every round trip.
/// Source: RFC 6928 section 2, RFC 5681 section 3.1. Checked by `validate_slow_start`.
pub fn slow_start_rounds(window: Information, segment: Information) -> Ratio {
    let segments = (window / segment).get::<units::ratio::one>();
    ratio(libm::log2(segments / 10.0).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{LinkRate, in_megabytes_per_second, milliseconds};
    use approx::assert_relative_eq;

    /// Half a unit of the sixth printed digit.
    const SIX_DIGITS: f64 = 5e-6;

    #[test]
    fn validate_window_table() {
        let times = [0.2, 0.5, 1.0, 10.0, 30.0, 100.0];
        let rows = [
            (
                65535.0,
                [327.675, 131.070, 65.5350, 6.55350, 2.18450, 0.655350],
            ),
            (
                262144.0,
                [1310.72, 524.288, 262.144, 26.2144, 8.73813, 2.62144],
            ),
            (
                1048576.0,
                [5242.88, 2097.15, 1048.58, 104.858, 34.9525, 10.4858],
            ),
            (
                6291456.0,
                [31457.3, 12582.9, 6291.46, 629.146, 209.715, 62.9146],
            ),
        ];
        for (window, rates) in rows {
            for (time, expected) in times.into_iter().zip(rates) {
                let found = window_rate(bytes(window), milliseconds(time));
                assert_relative_eq!(
                    in_megabytes_per_second(found),
                    expected,
                    max_relative = SIX_DIGITS
                );
            }
        }
    }

    #[test]
    fn validate_bandwidth_delay_products() {
        for (megabits, ms, expected) in [
            (1000, 0.2, 25e3),
            (1000, 20.0, 2.5e6),
            (10_000, 0.5, 625e3),
            (10_000, 20.0, 2.5e7),
        ] {
            let found = bandwidth_delay_product(
                LinkRate::from_megabits(megabits).signalled(),
                milliseconds(ms),
            );
            assert_relative_eq!(
                found.get::<units::information::byte>(),
                expected,
                max_relative = 1e-12
            );
        }
    }

    #[test]
    fn validate_largest_window() {
        let found = largest_window(14).get::<units::information::byte>();
        assert!((found - 1_073_725_440.0).abs() < 0.5);
        assert_eq!(
            largest_window(14),
            largest_window(20),
            "the shift ends at 14"
        );
    }

    #[test]
    fn validate_slow_start() {
        // link, round trip, then rounds and the seconds they take; 1448 B of payload a segment
        for (megabits, ms, rounds, expected) in [
            (1000, 20.0, Some(7.43172), 0.148634),
            (1000, 100.0, None, 0.975365),
        ] {
            let segment = bytes(1448.0);
            let window = bandwidth_delay_product(
                LinkRate::from_megabits(megabits).signalled(),
                milliseconds(ms),
            );
            let found = slow_start_rounds(window, segment);
            if let Some(rounds) = rounds {
                assert_relative_eq!(
                    found.get::<units::ratio::one>(),
                    rounds,
                    max_relative = SIX_DIGITS
                );
            }
            let spent = (milliseconds(ms) * found).get::<units::time::second>();
            assert_relative_eq!(spent, expected, max_relative = SIX_DIGITS);
        }
    }
}
