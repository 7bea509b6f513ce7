use super::{Heads, Zones};
use narrows_units::quantity::units::information::byte;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{DataRate, Information, Ratio, Time, TimePerInformation};

/// Rate of two or more streams together on one spinning drive that takes turns.
///
/// `X = S / (t_pos + S c)`: a turn of S bytes costs one positioning and S at c seconds a byte. Where S
/// takes as long as positioning the drive gives half its rate. Valid for two streams or more; a
/// single one does not move the heads and gets `1 / c`. Source: competitive prefetching, Li, Shen
/// and Papathanasiou, `EuroSys` 2007; within 5 % of an event simulation. Checked by
/// `validate_interleaved_streams`, `verify_streams_against_simulation`.
pub fn interleaved(turn: Information, position: Time, cost: TimePerInformation) -> DataRate {
    turn / (position + turn * cost)
}

/// The turn at which streams together get a share of the drive's rate:
/// `S = t_pos / c * share / (1 - share)`. A share of one would take an endless turn.
pub fn turn_for_share(share: Ratio, position: Time, cost: TimePerInformation) -> Information {
    let share = share.get::<one>().clamp(0.0, 1.0);
    position / cost * (share / (1.0 - share))
}

/// How a request falls on the drives of a group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pieces {
    /// How many drives it reaches.
    pub count: usize,
    /// Bytes on each.
    pub size: Information,
}

/// A request in pieces: `q = min(d, ceil(R / c))` drives of the `d` that hold data of a stripe,
/// `R / q` bytes on each. Neighbouring chunks of one drive are one piece.
pub fn pieces(request: Information, chunk: Information, data_drives: usize) -> Pieces {
    let chunks = libm::ceil(request.get::<byte>() / chunk.get::<byte>().max(1.0) * (1.0 - 1e-12));
    let most = data_drives.max(1) as f64;
    // a request without bytes, or not a number, is one piece
    let count = if chunks >= 1.0 { chunks.min(most) } else { 1.0 };
    Pieces {
        count: count as usize,
        size: request / count,
    }
}

/// Rate of many streams together on rotating parity or copies over `drives` spinning drives.
///
/// `X = n s / (t_pos + s c)` with pieces of s bytes: all n drives work, since parity rotates and the
/// pieces of different requests mix. Valid with three pieces in flight a drive or more; with fewer,
/// drives wait. Sources: derived; an event simulation lies within 5 %. Checked by
/// `validate_many_streams`, `verify_array_streams_against_simulation`.
pub fn many_streams(
    drives: usize,
    piece: Information,
    position: Time,
    cost: TimePerInformation,
) -> DataRate {
    interleaved(piece, position, cost) * drives as f64
}

/// Rate of one stream whose large requests lie scattered, each on all `drives` and waiting for the
/// last of them: `X = R / (t_pos(last of m) + R / m c)`. Checked by `validate_fork_and_join`.
pub fn scattered_stream(
    drives: usize,
    request: Information,
    heads: &Heads,
    (zones, filled): (&Zones, Ratio),
) -> DataRate {
    let drives = drives.max(1);
    let position = heads.to_last_of(drives, zones.stroke(filled));
    let piece = request / drives as f64;
    request / (position + piece * zones.mean_cost(filled))
}

/// Streams of a fixed rate that fit: `floor(X / b)`. None where the stream has no rate.
pub fn streams_carried(together: DataRate, one_stream: DataRate) -> usize {
    let count = (together / one_stream).get::<one>();
    if one_stream > DataRate::default() && count.is_finite() {
        libm::floor(count + 1e-9) as usize
    } else {
        0
    }
}

/// Rate of flash with requests in flight: `min(ceiling, N S / L)` (Little's law).
pub fn flash_streams(
    ceiling: DataRate,
    in_flight: f64,
    request: Information,
    latency: Time,
) -> DataRate {
    let reached: DataRate = request * in_flight / latency;
    if reached < ceiling { reached } else { ceiling }
}

#[cfg(test)]
mod tests {
    use super::super::heads::class_7200;
    use super::*;
    use crate::array::Bytes;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{
        bytes, in_megabytes_per_second, megabytes, megabytes_per_second, milliseconds, ratio,
        terabytes,
    };
    use proptest::prelude::*;

    fn size(count: Bytes) -> Information {
        count.information()
    }

    fn cost_of(rate: DataRate) -> TimePerInformation {
        ratio(1.0) / rate
    }

    /// Half a unit of the sixth printed digit.
    const PRINTED: f64 = 5e-6;

    fn zones(outer: f64) -> Zones {
        Zones::new(megabytes_per_second(outer), ratio(0.48), terabytes(12.0)).unwrap()
    }

    fn kibibytes(count: u32) -> Information {
        size(Bytes::kibibytes(count))
    }

    #[test]
    fn validate_turns_of_streams_in_step() {
        // half a turn of a 7200 rpm drive and a seek
        let (rate, position) = (megabytes_per_second(200.0), milliseconds(12.66));
        let cost = cost_of(rate);
        for (turn, share) in [
            (64, 0.0252301),
            (1024, 0.292851),
            (4096, 0.623567),
            (16384, 0.868871),
        ] {
            let found: Ratio = interleaved(kibibytes(turn), position, cost) / rate;
            assert_relative_eq!(found.get::<one>(), share, max_relative = PRINTED);
        }
        // both printed at kilobytes
        for (share, turn, printed) in [(0.7, 5.908, 1e-4), (0.9, 22.788, 3e-5)] {
            let found = turn_for_share(ratio(share), position, cost);
            let found = (found / megabytes(1.0)).get::<one>();
            assert_relative_eq!(found, turn, max_relative = printed);
        }
        let stream = megabytes_per_second(27.5);
        for (turn, fit, whole) in [(1024, 2.12983, 2), (16384, 6.31906, 6)] {
            let together = interleaved(kibibytes(turn), position, cost);
            let found: Ratio = together / stream;
            assert_relative_eq!(found.get::<one>(), fit, max_relative = PRINTED);
            assert_eq!(streams_carried(together, stream), whole);
        }
    }

    #[test]
    fn validate_interleaved_streams() {
        // 12 TB, 250 MB/s, rho 0.48, 7200 rpm, full: random order, and sweeps over 2, 4, 8 and 16
        let (heads, zones) = (class_7200(), zones(250.0));
        let all = ratio(1.0);
        let cost = zones.mean_cost(all);
        for (turn, row) in [
            (128, [9.72693, 9.72693, 10.1521, 11.8254, 13.8689]),
            (512, [33.6068, 33.6068, 34.8680, 39.6904, 45.2898]),
            (1024, [56.8807, 56.8807, 58.6768, 65.3587, 72.7659]),
            (4096, [118.354, 118.354, 120.269, 126.918, 133.516]),
            (16384, [162.170, 162.170, 163.060, 166.007, 168.734]),
        ] {
            let random = interleaved(kibibytes(turn), heads.to_random_place(all), cost);
            assert_relative_eq!(
                in_megabytes_per_second(random),
                row[0],
                max_relative = PRINTED
            );
            for (k, expected) in [2, 4, 8, 16].into_iter().zip(&row[1..]) {
                let found = interleaved(kibibytes(turn), heads.to_next_of(k, all), cost);
                assert_relative_eq!(
                    in_megabytes_per_second(found),
                    *expected,
                    max_relative = PRINTED
                );
            }
        }
        let turn = |share| {
            let found = turn_for_share(ratio(share), heads.to_random_place(all), cost);
            found.get::<narrows_units::quantity::units::information::megabyte>()
        };
        assert_relative_eq!(turn(0.5), 2.36183, max_relative = PRINTED);
        assert_relative_eq!(turn(0.9), 21.2565, max_relative = PRINTED);
    }

    #[test]
    fn validate_read_ahead_study() {
        // Wu et al. 2008, one disk, 4 KiB reads: 28.32 MB/s alone, 0.81 with ten streams and broken
        // read-ahead; that implies 4.91216 ms. 21.78 with on-demand read-ahead: a window of 512 KiB
        // would give 22.3814
        let cost = cost_of(megabytes_per_second(28.32));
        let position = bytes(4096.0) / megabytes_per_second(0.81) - bytes(4096.0) * cost;
        assert_relative_eq!(
            position.get::<narrows_units::quantity::units::time::millisecond>(),
            4.91216,
            max_relative = PRINTED
        );
        let found = in_megabytes_per_second(interleaved(kibibytes(512), position, cost));
        assert_relative_eq!(found, 22.3814, max_relative = PRINTED);
        assert!((found / 21.78 - 1.0).abs() < 0.03);
    }

    #[test]
    fn validate_many_streams() {
        // eight drives half full, requests of 4 MiB, chunks of 512 KiB, one, two and four parities
        let (heads, zones, half) = (class_7200(), zones(250.0), ratio(0.5));
        let position = heads.to_random_place(zones.stroke(half));
        let cost = zones.mean_cost(half);
        for (parity, expected) in [(1, 379.215), (2, 427.283), (4, 572.391)] {
            let piece = pieces(kibibytes(4096), kibibytes(512), 8 - parity);
            let found = many_streams(8, piece.size, position, cost);
            assert_relative_eq!(
                in_megabytes_per_second(found),
                expected,
                max_relative = PRINTED
            );
        }
        // six drives: requests of 256 KiB, 1, 4 and 16 MiB by chunk
        for (chunk, row) in [
            (64, [38.3701, 97.6538, 320.462, 745.961]),
            (512, [141.324, 255.651, 320.462, 745.961]),
            (2048, [141.324, 429.293, 650.058, 745.961]),
        ] {
            for (request, expected) in [256, 1024, 4096, 16384].into_iter().zip(row) {
                let piece = pieces(kibibytes(request), kibibytes(chunk), 6);
                let found = many_streams(6, piece.size, position, cost);
                assert_relative_eq!(
                    in_megabytes_per_second(found),
                    expected,
                    max_relative = PRINTED
                );
            }
        }
    }

    #[test]
    fn validate_eight_drives_of_12_tb() {
        // 245 MB/s, 60 % full, new data at the edge of the filled part: requests of 4 MiB by the
        // data drives of a stripe, and how many streams of 50 MB/s that is
        let (heads, zones, filled) = (class_7200(), zones(245.0), ratio(0.6));
        let edge = zones.rate(filled);
        assert_relative_eq!(
            in_megabytes_per_second(edge),
            179.744,
            max_relative = PRINTED
        );
        let position = heads.to_random_place(zones.stroke(filled));
        for (data, together, streams) in [
            (8, 312.0, 6),
            (7, 346.0, 6),
            (6, 388.0, 7),
            (4, 513.0, 10),
            (3, 611.0, 12),
        ] {
            let piece = pieces(kibibytes(4096), kibibytes(512), data);
            let found = many_streams(8, piece.size, position, cost_of(edge));
            // printed at three digits
            assert!(
                (in_megabytes_per_second(found) - together).abs() < 0.5,
                "{data}"
            );
            assert_eq!(streams_carried(found, megabytes_per_second(50.0)), streams);
        }
    }

    #[test]
    fn validate_fork_and_join() {
        // half full: requests over all m drives, with others in between and alone
        let (heads, zones, half) = (class_7200(), zones(250.0), ratio(0.5));
        let position = heads.to_random_place(zones.stroke(half));
        for (m, mebibytes, together, alone) in [
            (4, 4, 286.196, 244.489),
            (10, 16, 960.009, 803.307),
            (6, 32, 957.950, 882.930),
            (6, 4, 320.462, 261.092),
        ] {
            let request = kibibytes(mebibytes * 1024);
            let piece = request / f64::from(m);
            let found = many_streams(m as usize, piece, position, zones.mean_cost(half));
            assert_relative_eq!(
                in_megabytes_per_second(found),
                together,
                max_relative = PRINTED
            );
            let found = scattered_stream(m as usize, request, &heads, (&zones, half));
            assert_relative_eq!(
                in_megabytes_per_second(found),
                alone,
                max_relative = PRINTED
            );
        }
        // streams on six drives by their rate, requests of 4 and 16 MiB
        for (rate, small, large) in [
            (12.5, 25, 59),
            (25.0, 12, 29),
            (50.0, 6, 14),
            (100.0, 3, 7),
            (200.0, 1, 3),
        ] {
            for (mebibytes, expected) in [(4, small), (16, large)] {
                let piece = kibibytes(mebibytes * 1024) / 6.0;
                let found = many_streams(6, piece, position, zones.mean_cost(half));
                assert_eq!(streams_carried(found, megabytes_per_second(rate)), expected);
            }
        }
    }

    #[test]
    fn edges_are_answers_not_panics() {
        assert_eq!(
            streams_carried(megabytes_per_second(100.0), megabytes_per_second(0.0)),
            0
        );
        assert_eq!(pieces(megabytes(0.0), megabytes(1.0), 0).count, 1);
        assert_eq!(pieces(megabytes(f64::NAN), megabytes(0.0), 4).count, 1);
        let ceiling = megabytes_per_second(540.0);
        let found = flash_streams(ceiling, 1.0, bytes(4096.0), milliseconds(0.1));
        assert_relative_eq!(in_megabytes_per_second(found), 40.96, max_relative = 1e-12);
        assert_eq!(
            flash_streams(ceiling, 32.0, bytes(4096.0), milliseconds(0.1)),
            ceiling
        );
    }

    proptest! {
        #[test]
        fn property_larger_turns_and_emptier_drives_never_slow_down(
            turn in 0.1..20.0_f64, more in 1.0..4.0_f64, fill in 0.1..0.9_f64, k in 2..30_usize,
        ) {
            let (heads, zones) = (class_7200(), zones(250.0));
            let at = |turn: f64, fill: f64, k: usize| {
                let fill = ratio(fill);
                let rate = interleaved(megabytes(turn), heads.to_next_of(k, zones.stroke(fill)), zones.mean_cost(fill));
                in_megabytes_per_second(rate)
            };
            prop_assert!(at(turn * more, fill, k) >= at(turn, fill, k));
            prop_assert!(at(turn, fill * 0.9, k) >= at(turn, fill, k));
            prop_assert!(at(turn, fill, k + 1) >= at(turn, fill, k));
            prop_assert!(at(turn, fill, k) < 250.0);
        }
    }
}
