use super::{Heads, stripe_operations};
use crate::array::capacity::record_sectors;
use crate::array::level::Family;
use crate::array::{Bytes, Group, Layout, Level};
use narrows_units::quantity::units::operations::operation;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{DataRate, Information, OperationRate, Operations, Ratio, Time};

/// Small random requests a second of one spinning drive, one at a time, over data that cover a share
/// of the stroke: one over the mean time to a random place. Checked by `validate_single_requests`.
pub fn single_requests(heads: &Heads, stroke: Ratio) -> OperationRate {
    Operations::new::<operation>(1.0) / heads.to_random_place(stroke)
}

/// The queue of a Serial ATA drive, and the depth at which drives are compared.
pub const IN_FLIGHT: f64 = 32.0;

/// Requests a second of one spinning drive with some in flight: `k^(log2(q) / 5) / (t + s / r)`.
///
/// `t` to a random place in seconds, `s` bytes a request, `r` the rate there, `k` what the drive's own order
/// of 32 requests gains, `q` requests in flight, cut to 1 to 32. Between 1 and 32 the gain grows by the same
/// factor with each doubling: judgement. Checked by `verify_one_and_thirty_two_in_flight`.
pub fn turning_requests(
    position: Time,
    (piece, rate): (Information, DataRate),
    reordering: f64,
    in_flight: f64,
) -> OperationRate {
    let doublings = libm::log2(in_flight.clamp(1.0, IN_FLIGHT)) / libm::log2(IN_FLIGHT);
    let gain = libm::pow(reordering, doublings);
    let time: Time = position + piece / rate;
    Operations::new::<operation>(1.0) * gain / time
}

/// Bytes that one drive of a group of `width` moves for one small request: in a pool with parity its part of
/// the records that hold the request, in a pool of mirrors those records, since a record is read, checked and
/// written whole; elsewhere the request.
///
/// Checked by `verify_a_pool_moves_whole_records`.
pub fn piece_of_a_request(
    (level, width): (Level, usize),
    request: Information,
    (record, sector): (Bytes, Bytes),
    writes: bool,
) -> Information {
    if level.family() != Family::Pool {
        return request;
    }
    let whole = record.information();
    let records = libm::ceil((request / whole).get::<one>()).max(1.0);
    if level == Level::Mirror {
        return whole * records;
    }
    let parity = level.parity();
    let own = record.get().div_ceil(sector.get().max(1));
    let (sectors, drives) = if writes {
        (record_sectors(record, sector, width, parity), width)
    } else {
        (own, width.saturating_sub(parity))
    };
    let each = sectors.div_ceil(drives.max(1) as u64);
    sector.information() * (each as f64 * records)
}

/// Random reads a second, with `failed` drives of the first group missing; none where that
/// loses the array.
///
/// With all drives, every one takes part: `n I`. In a parity group of m with f missing, a read of a
/// missing chunk costs d = m - p reads, so that each of the others takes `f d / (m (m - f)) + 1 / m`
/// of the group's reads. The partners of a missing mirror take its share. A record of a pool with
/// parity is spread over `min(sectors, w - p)` drives that all must answer: about one drive's
/// worth a group for full records.
///
/// Valid for even load and enough requests in flight. Checked by `validate_random_requests`.
pub fn random_reads(
    layout: &Layout,
    one_drive: OperationRate,
    failed: usize,
    (record, sector): (Bytes, Bytes),
) -> Option<OperationRate> {
    let drives = layout.working_drives() as f64;
    // the busiest drive of all sets the rate: share of all reads that it takes
    let mut busiest = 0.0_f64;
    for (i, group) in layout.groups().iter().enumerate() {
        let missing = if i == 0 { failed } else { 0 };
        if missing > group.survives_any() {
            return None;
        }
        let share = group.width() as f64 / drives;
        busiest = busiest.max(share * busiest_in(group, missing, record, sector));
    }
    Some(one_drive / busiest)
}

/// Share of a group's reads that its busiest drive takes.
fn busiest_in(group: &Group, missing: usize, record: Bytes, sector: Bytes) -> f64 {
    let (m, f) = (group.width() as f64, missing as f64);
    let parity = group.level().parity();
    match group.level() {
        Level::RaidZ1 | Level::RaidZ2 | Level::RaidZ3 => {
            let data = group.width() - parity;
            let spread = record.get().div_ceil(sector.get().max(1)).min(data as u64);
            // a stripe is as wide as its record: a missing column is made of as many others
            spread.max(1) as f64 / (m - f)
        }
        Level::Raid1 | Level::Mirror | Level::TwoCopy | Level::ThreeCopy => 1.0 / (m - f),
        Level::Raid10(_) => (1.0 + f) / m,
        _ => {
            let data = m - parity as f64;
            f * data / (m * (m - f)) + 1.0 / m
        }
    }
}

/// Random writes a second, each within one chunk or one record.
///
/// Copies cost one write each. Parity costs `min(2 (1 + p), n)` requests
/// ([`stripe_operations`]). A pool writes whole records anew, in one turn of the drives they are
/// spread over; gathering small writes into large ones, which a pool also does, is not counted.
///
/// Checked by `validate_random_requests`.
pub fn random_writes(
    layout: &Layout,
    one_drive: OperationRate,
    (record, sector): (Bytes, Bytes),
) -> OperationRate {
    let groups = layout.groups().iter().map(|group| {
        let n = group.width();
        let parity = group.level().parity();
        let requests = match (group.level(), group.level().family()) {
            (Level::Single | Level::Raid0, _) => 1,
            (Level::Raid1 | Level::Mirror, _) => n,
            (Level::Raid10(_) | Level::TwoCopy, _) => 2,
            (Level::ThreeCopy, _) => 3,
            (_, Family::Pool) => record_sectors(record, sector, n, parity).min(n as u64) as usize,
            _ => stripe_operations(n, parity, 1),
        };
        n as f64 / requests.max(1) as f64
    });
    one_drive * groups.sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::super::heads::class_7200;
    use super::*;
    use crate::array::capacity::DEFAULT_RECORD;
    use approx::assert_relative_eq;
    use narrows_units::quantity::units::information::byte;
    use narrows_units::quantity::units::operation_rate::operation_per_second;
    use narrows_units::quantity::{bytes, megabytes_per_second, milliseconds, ratio, seconds};
    use proptest::prelude::*;

    /// Half a unit of the sixth printed digit.
    const PRINTED: f64 = 5e-6;
    const RECORD: (Bytes, Bytes) = (DEFAULT_RECORD, Bytes::kibibytes(4));

    fn eighty() -> OperationRate {
        OperationRate::new::<operation_per_second>(80.0)
    }

    #[test]
    fn validate_random_requests() {
        // eight drives of 80 requests a second: reads with none, one and two missing, and writes
        for (text, reads, writes) in [
            ("raid0 8 x 4 TB", [Some(640.0), None, None], 640.0),
            ("raid10 8 x 4 TB", [Some(640.0), Some(320.0), None], 320.0),
            ("raid5 8 x 4 TB", [Some(640.0), Some(320.0), None], 160.0),
            (
                "raid6 8 x 4 TB",
                [Some(640.0), Some(344.615), Some(213.333)],
                106.667,
            ),
            (
                "raid50 2 x 4 x 4 TB",
                [Some(640.0), Some(320.0), None],
                160.0,
            ),
            // full records: one drive's worth a group, of parity too
            (
                "raidz2 8 x 4 TB",
                [Some(640.0 / 6.0), Some(560.0 / 6.0), Some(80.0)],
                80.0,
            ),
            (
                "4 x mirror 2 x 4 TB",
                [Some(640.0), Some(320.0), None],
                320.0,
            ),
        ] {
            let layout = Layout::parse(text).unwrap();
            for (failed, expected) in reads.into_iter().enumerate() {
                let found = random_reads(&layout, eighty(), failed, RECORD);
                let found = found.map(|r| r.get::<operation_per_second>());
                match (found, expected) {
                    (Some(found), Some(expected)) => {
                        assert_relative_eq!(found, expected, max_relative = PRINTED);
                    }
                    (found, expected) => assert_eq!(found, expected, "{text} {failed}"),
                }
            }
            let found = random_writes(&layout, eighty(), RECORD).get::<operation_per_second>();
            assert_relative_eq!(found, writes, max_relative = PRINTED);
        }
    }

    #[test]
    fn validate_single_requests() {
        // 78.3 a second for 7200 turns a minute and 8.5 ms, 60 for 5400 and 11 ms; one decimal
        let rate = |heads: &Heads| single_requests(heads, ratio(1.0)).get::<operation_per_second>();
        assert!((rate(&class_7200()) - 78.3).abs() < 0.05);
        let slow = Heads {
            average_seek: milliseconds(11.0),
            turn: seconds(60.0 / 5400.0),
            ..class_7200()
        };
        assert!((rate(&slow) - 60.0).abs() < 0.5);
    }

    #[test]
    fn verify_one_and_thirty_two_in_flight() {
        let rate = |in_flight: f64| {
            let piece = (bytes(4096.0), megabytes_per_second(200.0));
            let found = turning_requests(milliseconds(12.5), piece, 2.0, in_flight);
            found.get::<operation_per_second>()
        };
        let single = 1.0 / (0.0125 + 4096.0 / 200e6);
        for (in_flight, gain) in [
            (0.2, 1.0),
            (1.0, 1.0),
            (32.0, 2.0),
            (500.0, 2.0),
            (2.0, libm::pow(2.0, 0.2)),
        ] {
            assert_relative_eq!(rate(in_flight), single * gain, max_relative = 1e-12);
        }
    }

    #[test]
    fn verify_a_pool_moves_whole_records() {
        let small = bytes(4096.0);
        let piece = |level, width, request, writes| {
            piece_of_a_request((level, width), request, RECORD, writes).get::<byte>()
        };
        assert_relative_eq!(piece(Level::Raid6, 8, small, false), 4096.0);
        assert_relative_eq!(piece(Level::Mirror, 2, small, false), 131_072.0);
        // 32 sectors over six drives are six a drive at most; with parity 44 over eight
        assert_relative_eq!(piece(Level::RaidZ2, 8, small, false), 6.0 * 4096.0);
        assert_relative_eq!(piece(Level::RaidZ2, 8, small, true), 6.0 * 4096.0);
        // a request that is larger than a record takes two
        assert_relative_eq!(
            piece(Level::Mirror, 2, bytes(200_000.0), false),
            2.0 * 131_072.0
        );
    }

    proptest! {
        #[test]
        fn property_missing_drives_never_help(
            level in 0..Level::ALL.len(), more in 0..8_usize, record in 0..11_u32,
        ) {
            let level = Level::ALL[level];
            prop_assume!(level != Level::Single);
            let size = crate::array::DriveSize::new(narrows_units::quantity::terabytes(4.0)).unwrap();
            let layout = Layout::uniform(level, level.least_groups(), level.least_drives() + more, size, 0).unwrap();
            let record = (Bytes::kibibytes(1 << record), Bytes::kibibytes(4));
            let mut before = f64::INFINITY;
            for failed in 0..=layout.survives_any() {
                let found = random_reads(&layout, eighty(), failed, record).unwrap();
                let found = found.get::<operation_per_second>();
                prop_assert!(found <= before * (1.0 + 1e-12), "{level} {failed}: {found} {before}");
                before = found;
            }
            prop_assert!(random_reads(&layout, eighty(), layout.survives_any() + 1, record).is_none());
            prop_assert!(random_writes(&layout, eighty(), record) <= eighty() * layout.working_drives() as f64);
        }
    }
}
