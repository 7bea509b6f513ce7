//! One TCP stream: what its window, the round trip and lost frames allow.

use narrows_units::quantity::{DataRate, Information, Measure, Ratio, Time, bytes, ratio, units};

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

/// What a stream waits while its window opens: the sum of `T - 2^i W / R` over the round trips `i` at
/// whose end data are left and that do not fill the path, `2^i W < R T`.
///
/// `W` ten segments of `S` bytes, `R` rate at which the path runs full, `T` round trip in seconds,
/// `B` bytes in all. A window that holds all that is left waits for nothing more. Assumes doubling
/// every round trip and no loss. Together with `B / R` it never falls when `R` does.
/// Source: RFC 6928 section 2, RFC 5681 section 3.1. Checked by `validate_small_files_pay_for_the_start`
/// and `verify_a_start_is_that_of_its_rounds`.
pub fn slow_start_waits(
    size: Information,
    segment: Information,
    rate: DataRate,
    round_trip: Time,
) -> Time {
    let mut window = segment * 10.0;
    let mut left = size;
    let mut waited = Time::default();
    // sixty doublings are more than any path holds
    for _ in 0..60 {
        let sending: Time = window / rate;
        if left <= window || sending >= round_trip {
            break;
        }
        left -= window;
        waited += round_trip - sending;
        window *= 2.0;
    }
    waited
}

/// The rate of a stream that backs off at lost packets:
/// `S / (T sqrt(2 b p / 3) + O 3 sqrt(3 b p / 8) p (1 + 32 p^2))`.
///
/// `S` bytes a segment; `T` round trip and `O` retransmission timeout in seconds, above zero; `b`
/// packets that one acknowledgement answers, at least one; `p` share of packets lost, 0 to 1.
/// Without losses the rate has no limit here (infinite): the window and the wire decide. The
/// source recommends `b = 1` and `O = 4 T`; a stack that waits a second for a lost packet that
/// nothing follows is far slower on a short path. Assumes losses far apart, a sender that backs
/// off at each as Reno does, and that one frame carries one segment: good to a factor of two or
/// three. Senders that watch the rate instead of losses do not follow it at all.
/// Source: RFC 5348 section 3.1, from Padhye et al., SIGCOMM 1998. For small `p` it is that of
/// Mathis et al., Computer Communication Review 27:3 (1997).
/// Checked by `validate_rates_under_loss` and `validate_small_losses_give_the_inverse_square_root`.
pub fn loss_rate(
    segment: Information,
    round_trip: Time,
    timeout: Time,
    packets_an_acknowledgement: u32,
    lost: Ratio,
) -> DataRate {
    let p = lost.get::<units::ratio::one>();
    if p <= 0.0 {
        return DataRate::from_base(f64::INFINITY);
    }
    let b = f64::from(packets_an_acknowledgement.max(1));
    let backing_off = round_trip * ratio(libm::sqrt(2.0 * b * p / 3.0));
    let timed_out = 3.0 * libm::sqrt(3.0 * b * p / 8.0) * p * (1.0 + 32.0 * p * p);
    segment / (backing_off + timeout * ratio(timed_out))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{
        LinkRate, in_megabytes_per_second, megabytes, milliseconds, seconds,
    };

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

    #[test]
    fn validate_small_files_pay_for_the_start() {
        // files of 256 KiB one after another, read by a lean client over a link held to 1 Gb/s with a round trip
        // of 10 ms, 4.4 round trips each: without the start they are said to be 83 % too fast
        let (size, round_trip) = (bytes(262_144.0), milliseconds(10.0));
        let rate = LinkRate::from_megabits(1000).signalled() * ratio(0.9415);
        let plain = round_trip * ratio(4.4) + size / rate;
        let waits = slow_start_waits(size, bytes(1448.0), rate, round_trip);
        let too_fast = ((plain + waits) / plain).get::<units::ratio::one>();
        // as measured, but for the 6 % that are left
        assert_relative_eq!(too_fast, 1.83 / 1.06, max_relative = 0.06);
        // one copy of 25 MB over 50 ms: 17 % too fast without
        let (size, round_trip) = (megabytes(25.0), milliseconds(50.0));
        let waits = slow_start_waits(size, bytes(1448.0), rate, round_trip);
        let plain = size / rate;
        assert!(waits > plain * ratio(0.17));
    }

    #[test]
    fn verify_a_start_is_that_of_its_rounds() {
        let segment = bytes(1448.0);
        let (rate, round_trip) = (
            LinkRate::from_megabits(1000).signalled(),
            milliseconds(20.0),
        );
        // a path that is full after 8 windows of 10 to 1280 segments
        let waits = slow_start_waits(megabytes(1e6), segment, rate, round_trip);
        let by_hand: f64 = (0..8)
            .map(|i| 0.02 - f64::from(1u32 << i) * 14_480.0 / 125e6)
            .sum();
        assert_relative_eq!(
            waits.get::<units::time::second>(),
            by_hand,
            max_relative = 1e-12
        );
        // what fits into the first window waits for nothing
        let none = slow_start_waits(bytes(14_480.0), segment, rate, round_trip);
        assert_eq!(none, Time::default());
    }

    /// A loss rate in Mb/s with a segment of 1460 B.
    fn under_loss(round_trip: f64, p: f64, b: u32, timeout: Time) -> f64 {
        let found = loss_rate(bytes(1460.0), seconds(round_trip), timeout, b, ratio(p));
        in_megabytes_per_second(found) * 8.0
    }

    #[test]
    fn validate_rates_under_loss() {
        // round trip in s and share lost; then Mb/s for b of 1 and 2 with a timeout of four round
        // trips, and for both with at least a second
        let rows = [
            (0.1, 1e-2, [1.31204, 0.927753, 1.16707, 0.825244]),
            (0.1, 1e-4, [14.2922, 10.1061, 14.2729, 10.0925]),
            (0.1, 1e-3, [4.48329, 3.17017, 4.42410, 3.12831]),
            (0.1, 0.1, [0.206748, 0.146193, 0.113946, 0.0805718]),
            (0.02, 1e-3, [22.4165, 15.8508, 20.3309, 14.3761]),
            (5e-4, 1e-5, [9046.47, 6396.82, 8657.69, 6121.91]),
        ];
        for (round_trip, p, expected) in rows {
            let short = seconds(4.0 * round_trip);
            let long = seconds((4.0 * round_trip).max(1.0));
            let ways = [(1, short), (2, short), (1, long), (2, long)];
            for ((b, timeout), expected) in ways.into_iter().zip(expected) {
                assert_relative_eq!(
                    under_loss(round_trip, p, b, timeout),
                    expected,
                    max_relative = SIX_DIGITS
                );
            }
        }
        // the same in bytes a second, with more digits
        for (p, expected) in [(1e-2, 164_005.062), (1e-4, 1_786_519.64)] {
            let found = loss_rate(bytes(1460.0), seconds(0.1), seconds(0.4), 1, ratio(p));
            assert_relative_eq!(
                found.get::<units::data_rate::byte_per_second>(),
                expected,
                max_relative = 5e-9
            );
        }
    }

    /// Vectors of `(S/T) sqrt(3/2) / sqrt(p)`; timeouts take a fifth of a percent at such losses.
    #[test]
    fn validate_small_losses_give_the_inverse_square_root() {
        const TIMEOUTS: f64 = 2e-3;
        for (round_trip, p, expected) in [(0.1, 1e-4, 14.3050), (0.01, 1e-4, 143.050)] {
            let found = under_loss(round_trip, p, 1, seconds(4.0 * round_trip));
            assert_relative_eq!(found, expected, max_relative = TIMEOUTS);
        }
    }

    #[test]
    fn without_losses_there_is_no_limit() {
        for p in [0.0, -0.0] {
            assert!(under_loss(1e-4, p, 1, seconds(4e-4)).is_infinite());
        }
        // no packet is answered by none
        let (none, one) = (0, 1);
        let rate = |b| under_loss(0.1, 1e-2, b, seconds(0.4));
        assert_relative_eq!(rate(none), rate(one), max_relative = 1e-12);
    }

    #[test]
    fn property_more_losses_and_longer_round_trips_never_help() {
        let shares = [1e-9, 1e-6, 1e-4, 1e-3, 1e-2, 0.1, 0.5, 1.0];
        for pair in shares.windows(2) {
            for round_trip in [1e-4, 1e-3, 0.1] {
                let rate = |t: f64, p: f64| under_loss(t, p, 1, seconds(4.0 * t));
                assert!(rate(round_trip, pair[1]) < rate(round_trip, pair[0]));
                assert!(rate(2.0 * round_trip, pair[0]) < rate(round_trip, pair[0]));
            }
        }
    }
}
