use super::{Heads, stripe_operations};
use crate::array::capacity::record_sectors;
use crate::array::level::Family;
use crate::array::{Bytes, Group, Layout, Level};
use narrows_units::quantity::units::operations::operation;
use narrows_units::quantity::{OperationRate, Operations, Ratio};

/// Small random requests a second of one spinning drive, one at a time, over data that cover a share
/// of the stroke: one over the mean time to a random place. Checked by `validate_single_requests`.
pub fn single_requests(heads: &Heads, stroke: Ratio) -> OperationRate {
    Operations::new::<operation>(1.0) / heads.to_random_place(stroke)
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
    use narrows_units::quantity::units::operation_rate::operation_per_second;
    use narrows_units::quantity::{milliseconds, ratio, seconds};
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
