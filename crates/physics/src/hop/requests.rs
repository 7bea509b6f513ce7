//! Requests of a file service: how many are under way, what waits for them, and small files.

use narrows_units::quantity::{
    DataRate, Information, InformationPerOperation, Operations, Ratio, Time, TimePerInformation,
    ratio, units,
};

/// What a byte costs with a fixed number of requests under way: `(T0 + S/L) / (Q S)`.
///
/// `Q` requests outstanding (at least one), `S` bytes a request, `T0` round trip and server time
/// of one request in seconds, `L` rate of the wire. The rate is the least of this and `L`.
/// Assumes no queueing beyond the wire's own.
/// Source: Little's law; Denning and Buzen, Computing Surveys 10 (1978) 225, asymptotic bounds.
/// Checked by `validate_request_depth` and `validate_read_ahead_of_a_measured_mount`.
pub fn depth_cost(
    outstanding: Operations,
    size: InformationPerOperation,
    service_time: Time,
    wire: DataRate,
) -> TimePerInformation {
    let one = Operations::new::<units::operations::operation>(1.0);
    let bytes: Information = size * one;
    let in_flight: Information = size * outstanding;
    (service_time + bytes / wire) / in_flight
}

/// How many requests fill the wire: `(T0 + S/L) L / S`.
///
/// Source: as [`depth_cost`]. Checked by `validate_requests_to_fill_a_wire`.
pub fn requests_to_fill(
    size: InformationPerOperation,
    service_time: Time,
    wire: DataRate,
) -> Operations {
    let one = Operations::new::<units::operations::operation>(1.0);
    let bytes: Information = size * one;
    (service_time + bytes / wire) * wire / size
}

/// Requests that a number of credits allows: `floor(credits / charge)`, where a request of `S`
/// bytes is charged `(S - 1) / 65536 + 1`.
///
/// A request larger than the credits must shrink; then one fits. Valid for `S` of at least one.
/// Source: MS-SMB2 section 3.1.5.2. Checked by `validate_credits`.
pub fn requests_for_credits(credits: u32, size_bytes: u32) -> u32 {
    let charge = size_bytes.saturating_sub(1) / 65_536 + 1;
    (credits / charge).max(1)
}

/// Share of the stream's bytes that are the file's: `S / (S + h)`.
///
/// `S` bytes a request, `h` bytes of service headers a request. It is a quarter of a percent at
/// most: what services cost is waiting and work, not headers.
/// Source: MS-SMB2 sections 2.1, 2.2.19, 2.2.20, 2.2.41; RFC 5531; RFC 1813 section 3.3.6.
/// Checked by `validate_header_share`.
pub fn header_share(size: Information, headers: Information) -> Ratio {
    size / (size + headers)
}

/// Time for many small files: `n k (T + t) / c + n B / X`.
///
/// `n` files, `k` round trips a file that wait for each other, `T` round trip and `t` server
/// time of each, `c` files under way at once (at least one), `B` bytes a file, `X` rate of large
/// files. Assumes that transfers and waits of one file do not overlap.
/// Source: counting of dependent messages; MS-SMB2 section 3.2.4.1.4 for compounded requests.
/// Checked by `validate_small_files`.
pub fn files_time(
    files: f64,
    round_trips: f64,
    wait: Time,
    at_once: f64,
    size: Information,
    rate: DataRate,
) -> Time {
    wait * ratio(files * round_trips / at_once) + size * ratio(files) / rate
}

/// What a byte of a small file costs in waiting: `k (T + t) / (c B)`.
///
/// Symbols as in [`files_time`]. Checked by `validate_small_files`.
pub fn file_wait_cost(
    round_trips: f64,
    wait: Time,
    at_once: f64,
    size: Information,
) -> TimePerInformation {
    wait * ratio(round_trips / at_once) / size
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{
        bytes, in_megabytes_per_second, megabytes_per_second, milliseconds,
    };

    const SIX_DIGITS: f64 = 5e-6;

    fn size(count: f64) -> InformationPerOperation {
        InformationPerOperation::new::<units::information_per_operation::byte_per_operation>(count)
    }

    fn operations(count: f64) -> Operations {
        Operations::new::<units::operations::operation>(count)
    }

    fn depth_rate(bytes: f64, depth: f64, ms: f64, wire: f64) -> f64 {
        let wire = megabytes_per_second(wire);
        let rate: DataRate =
            ratio(1.0) / depth_cost(operations(depth), size(bytes), milliseconds(ms), wire);
        in_megabytes_per_second(if rate < wire { rate } else { wire })
    }

    #[test]
    fn validate_request_depth() {
        let (k64, m1, m4) = (65536.0, 1048576.0, 4194304.0);
        let rows = [
            (k64, 1.0, 0.5, 117.685, 62.0091),
            (k64, 1.0, 0.3, 117.685, 76.4824),
            (k64, 2.0, 0.5, 117.685, 117.685),
            (m1, 1.0, 1.2, 1176.85, 501.471),
            (m1, 2.0, 1.2, 1176.85, 1002.94),
            (m1, 4.0, 1.2, 1176.85, 1176.85),
            (m4, 1.0, 1.2, 1176.85, 880.415),
            (m1, 1.0, 20.0, 117.685, 36.2703),
            (k64, 16.0, 30.0, 117.685, 34.3155),
        ];
        for (bytes, depth, ms, wire, expected) in rows {
            assert_relative_eq!(
                depth_rate(bytes, depth, ms, wire),
                expected,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn validate_read_ahead_of_a_measured_mount() {
        // 300 MB/s were measured over 10 Gb/s with 128 KiB of read-ahead; T0 follows as 0.327 ms
        assert_relative_eq!(
            depth_rate(131072.0, 1.0, 0.327, 1176.85),
            298.995,
            max_relative = SIX_DIGITS
        );
    }

    #[test]
    fn validate_requests_to_fill_a_wire() {
        let rows = [
            (65536.0, 0.5, 117.685, 1.89787),
            (65536.0, 0.5, 294.213, 3.24467),
            (65536.0, 0.5, 1176.85, 9.97865),
            (1048576.0, 1.2, 1176.85, 2.34680),
        ];
        for (bytes, ms, wire, expected) in rows {
            let found = requests_to_fill(size(bytes), milliseconds(ms), megabytes_per_second(wire));
            assert_relative_eq!(
                found.get::<units::operations::operation>(),
                expected,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn validate_credits() {
        let kib = 1024;
        for (credits, size, expected) in [
            (128, 64 * kib, 128),
            (128, 1024 * kib, 8),
            (128, 4096 * kib, 2),
            (512, 1024 * kib, 32),
            (512, 4096 * kib, 8),
        ] {
            assert_eq!(requests_for_credits(credits, size), expected);
        }
        assert_eq!(
            requests_for_credits(1, 8 * 1024 * kib),
            1,
            "the request shrinks to fit"
        );
    }

    #[test]
    fn validate_header_share() {
        // stream mark 4 B, header 64 B, then 16 B of a read or 48 B of a write, 52 B if encrypted;
        // the last column is an RPC reply: mark 4, reply 24, status 4, attributes 88, counts 12
        let rows = [
            (65536.0, [0.998720, 0.998233, 0.997929, 0.997990]),
            (1048576.0, [0.999920, 0.999889, 0.999870, 0.999874]),
            (4194304.0, [0.999980, 0.999972, 0.999968, 0.999969]),
        ];
        for (size, expected) in rows {
            for (headers, expected) in [84.0, 116.0, 84.0 + 52.0, 132.0].into_iter().zip(expected) {
                let found = header_share(bytes(size), bytes(headers)).get::<units::ratio::one>();
                // printed with six decimals
                assert!(
                    (found - expected).abs() <= 0.5e-6,
                    "{size} {headers}: {found}"
                );
            }
        }
    }

    #[test]
    fn validate_small_files() {
        // files, round trips, wait in ms, bytes, rate, at once; then seconds and MB/s
        let rows = [
            (10000.0, 3.0, 0.5, 50e3, 117.685, 1.0, 19.2486, 25.9759),
            (10000.0, 3.0, 0.5, 50e3, 1176.85, 1.0, 15.4249, 32.4152),
            (10000.0, 5.0, 5.3, 50e3, 117.685, 1.0, 269.249, 1.85702),
            (10000.0, 5.0, 5.3, 50e3, 1176.85, 1.0, 265.425, 1.88377),
            (10000.0, 5.0, 5.3, 50e3, 1176.85, 8.0, 33.5499, 14.9032),
            (10000.0, 3.0, 0.5, 25e6, 117.685, 1.0, 2139.31, 116.860),
            (1000.0, 3.0, 30.5, 50e3, 12.5, 1.0, 95.5, 0.523560),
            (1000.0, 1.0, 30.5, 50e3, 12.5, 1.0, 34.5, 1.44928),
            (1000.0, 1.0, 30.5, 50e3, 12.5, 16.0, 5.90625, 8.46561),
        ];
        for (n, k, wait, size, rate, c, seconds, mean) in rows {
            let time = files_time(
                n,
                k,
                milliseconds(wait),
                c,
                bytes(size),
                megabytes_per_second(rate),
            );
            assert_relative_eq!(
                time.get::<units::time::second>(),
                seconds,
                max_relative = SIX_DIGITS
            );
            let cost = file_wait_cost(k, milliseconds(wait), c, bytes(size))
                + ratio(1.0) / megabytes_per_second(rate);
            let found: DataRate = ratio(1.0) / cost;
            assert_relative_eq!(
                in_megabytes_per_second(found),
                mean,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn validate_mixed_work_adds_times() {
        // 200 GB in big files and 10 000 files of 50 kB at three waits of 0.5 ms
        let rate = megabytes_per_second(365.344);
        let big = bytes(200e9) / rate;
        let small = files_time(10000.0, 3.0, milliseconds(0.5), 1.0, bytes(50e3), rate);
        let mixed: DataRate = bytes(200e9 + 0.5e9) / (big + small);
        assert_relative_eq!(
            in_megabytes_per_second(mixed),
            355.624,
            max_relative = SIX_DIGITS
        );
    }
}
