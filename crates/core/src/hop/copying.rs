//! The copy tool, write caches, and flash that tires.

use crate::quantity::{DataRate, Information, Ratio, Time, TimePerInformation, ratio, units};

/// What a byte costs a tool that reads, then writes, and never both: `1/Xr + 1/Xw`.
///
/// `Xr`, `Xw` rates of source and target. With overlap the cost is the larger of the two.
/// Source: definition of a serial resource. Checked by `validate_serial_copy`.
pub fn serial_copy_cost(read: DataRate, write: DataRate) -> TimePerInformation {
    ratio(1.0) / read + ratio(1.0) / write
}

/// Time of an overlapped copy in pieces: `b/Xr + (ceil(F/b) - 1) max(b/Xr, b/Xw) + b/Xw`.
///
/// `F` file and `b` piece in bytes, `F >= b > 0`; `Xr`, `Xw` rates of source and target.
/// Source: two-stage pipeline. Checked by `validate_pipeline`.
pub fn pipeline_time(
    file: Information,
    piece: Information,
    read: DataRate,
    write: DataRate,
) -> Time {
    let pieces = libm::ceil((file / piece).get::<units::ratio::one>());
    let (reading, writing) = (piece / read, piece / write);
    let slower = if reading > writing { reading } else { writing };
    reading + slower * ratio(pieces - 1.0) + writing
}

/// What a write cache does to a long copy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burst {
    /// Bytes copied at the first rate.
    pub absorbed: Information,
    /// How long that lasts.
    pub lasts: Time,
}

/// How far a cache carries a copy: `t = D / (Rin - Rd)`, `B = Rin t`.
///
/// `D` bytes the cache takes, `Rin` rate at which data arrive, `Rd` rate at which they drain.
/// `None` where data do not arrive faster than they drain: the cache never fills.
/// Source: conservation of bytes. Checked by `validate_bursts`.
pub fn burst(cache: Information, arriving: DataRate, draining: DataRate) -> Option<Burst> {
    if arriving <= draining {
        return None;
    }
    let lasts = cache / (arriving - draining);
    Some(Burst {
        absorbed: arriving * lasts,
        lasts,
    })
}

/// Time until the copy dialog closes: `F / Rin` while the cache lasts, then at `Rd`.
///
/// `F` bytes to copy. Symbols as in [`burst`]. Checked by `validate_bursts`.
pub fn accepted_time(
    file: Information,
    cache: Information,
    arriving: DataRate,
    draining: DataRate,
) -> Time {
    match burst(cache, arriving, draining) {
        Some(b) if file > b.absorbed => b.lasts + (file - b.absorbed) / draining,
        _ => file / arriving,
    }
}

/// Time until the data are on the drives: the whole file has drained, and has arrived.
///
/// `max(F / Rd, F / Rin)`. Symbols as in [`burst`]. Checked by `verify_safe_is_never_before_closed`.
pub fn drained_time(file: Information, arriving: DataRate, draining: DataRate) -> Time {
    let (in_time, out_time) = (file / arriving, file / draining);
    if in_time > out_time {
        in_time
    } else {
        out_time
    }
}

/// Bytes of fast cache on a drive that is partly full.
///
/// `C s (1 - f)`: `C` capacity, `s` share of an empty drive, `f` fill. Dynamic caches shrink
/// with the free space; in proportion is a judgement.
/// Source: judgement. Checked by `verify_cache_shrinks_with_fill`.
pub fn fast_cache(capacity: Information, share: Ratio, fill: Ratio) -> Information {
    capacity * share * (ratio(1.0) - fill)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{bytes, in_megabytes_per_second, megabytes, megabytes_per_second, units};
    use approx::assert_relative_eq;

    const SIX_DIGITS: f64 = 5e-6;

    fn mb(rate: f64) -> DataRate {
        megabytes_per_second(rate)
    }

    #[test]
    fn validate_serial_copy() {
        for (read, write, expected) in [
            (500.0, 110.0, 90.1639),
            (550.0, 550.0, 275.0),
            (1176.85, 400.0, 298.532),
            (117.685, 117.685, 58.8425),
        ] {
            let rate: DataRate = ratio(1.0) / serial_copy_cost(mb(read), mb(write));
            assert_relative_eq!(
                in_megabytes_per_second(rate),
                expected,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn validate_pipeline() {
        let time = |file: f64, read: f64, write: f64| {
            pipeline_time(megabytes(file), megabytes(1.0), mb(read), mb(write))
                .get::<units::time::second>()
        };
        assert_relative_eq!(
            time(1000.0, 500.0, 110.0),
            9.09291,
            max_relative = SIX_DIGITS
        );
        assert_relative_eq!(
            1000.0 / time(1000.0, 500.0, 110.0),
            109.976,
            max_relative = SIX_DIGITS
        );
        assert_relative_eq!(
            4.0 / time(4.0, 500.0, 110.0),
            104.265,
            max_relative = SIX_DIGITS
        );
        assert_relative_eq!(
            10.0 / time(10.0, 500.0, 500.0),
            454.545,
            max_relative = SIX_DIGITS
        );
    }

    #[test]
    fn validate_bursts() {
        // dirtyable memory, rates in and out; then seconds, bytes, and mean rates of copies
        type Row = (f64, f64, f64, Option<f64>, f64, &'static [(f64, f64)]);
        let gib = 1_073_741_824.0;
        let rows: [Row; 4] = [
            (
                8.0,
                1176.85,
                400.0,
                Some(1.65861),
                1951.93,
                &[(10e9, 459.163), (50e9, 410.581)],
            ),
            (
                16.0,
                1176.85,
                400.0,
                None,
                3903.87,
                &[(10e9, 538.864), (50e9, 421.736)],
            ),
            (
                2.0,
                117.685,
                80.0,
                Some(8.54777),
                1005.94,
                &[(10e9, 82.6628)],
            ),
            (
                32.0,
                1176.85,
                900.0,
                None,
                21908.8,
                &[(10e9, 1176.85), (50e9, 1003.43)],
            ),
        ];
        for (memory, arriving, draining, lasts, absorbed, copies) in rows {
            let cache = bytes(0.15 * memory * gib);
            let found = burst(cache, mb(arriving), mb(draining)).unwrap();
            if let Some(expected) = lasts {
                assert_relative_eq!(
                    found.lasts.get::<units::time::second>(),
                    expected,
                    max_relative = SIX_DIGITS
                );
            }
            assert_relative_eq!(
                found.absorbed.get::<units::information::megabyte>(),
                absorbed,
                max_relative = SIX_DIGITS
            );
            for &(file, expected) in copies {
                let time = accepted_time(bytes(file), cache, mb(arriving), mb(draining));
                let mean: DataRate = bytes(file) / time;
                assert_relative_eq!(
                    in_megabytes_per_second(mean),
                    expected,
                    max_relative = SIX_DIGITS
                );
            }
        }
    }

    #[test]
    fn a_cache_that_drains_as_fast_as_it_fills_never_fills() {
        assert_eq!(burst(bytes(1e9), mb(100.0), mb(100.0)), None);
        assert_eq!(burst(bytes(1e9), mb(100.0), mb(200.0)), None);
        let time = accepted_time(bytes(1e9), bytes(1.0), mb(100.0), mb(200.0));
        assert_relative_eq!(
            time.get::<units::time::second>(),
            10.0,
            max_relative = 1e-12
        );
    }

    #[test]
    fn verify_safe_is_never_before_closed() {
        for (arriving, draining) in [(100.0, 50.0), (50.0, 100.0), (1176.85, 400.0)] {
            for file in [1e6, 1e9, 1e12] {
                let closed = accepted_time(bytes(file), bytes(1.3e9), mb(arriving), mb(draining));
                let safe = drained_time(bytes(file), mb(arriving), mb(draining));
                assert!(safe >= closed * ratio(1.0 - 1e-12));
            }
        }
    }

    #[test]
    fn verify_cache_shrinks_with_fill() {
        let at = |fill: f64| fast_cache(bytes(1e12), ratio(0.2), ratio(fill));
        assert!(at(0.0) > at(0.5) && at(0.5) > at(0.9));
        assert_eq!(at(1.0), bytes(0.0));
    }
}
