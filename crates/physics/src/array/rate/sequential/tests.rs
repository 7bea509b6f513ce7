use super::super::heads::class_7200;
use super::*;
use crate::array::DriveSize;
use crate::array::capacity::DEFAULT_RECORD;
use approx::assert_relative_eq;
use narrows_units::quantity::{in_megabytes_per_second, megabytes_per_second, terabytes};
use proptest::prelude::*;

/// Half a unit of the sixth printed digit.
const PRINTED: f64 = 5e-6;
const SMALL: (Bytes, Bytes) = (DEFAULT_RECORD, Bytes::kibibytes(4));
const LARGE: (Bytes, Bytes) = (Bytes::kibibytes(1024), Bytes::kibibytes(4));

#[test]
fn validate_one_stream() {
    // drives' worth: read on spinning drives low and high, on flash low and high, write
    for (text, spinning, flash, write) in [
        ("single 8 TB", (1.0, 1.0), (1.0, 1.0), 1.0),
        ("raid0 4 x 8 TB", (4.0, 4.0), (4.0, 4.0), 4.0),
        ("raid1 2 x 8 TB", (1.0, 1.0), (1.0, 1.0), 1.0),
        ("mirror 2 x 8 TB", (1.0, 2.0), (2.0, 2.0), 1.0),
        ("4 x mirror 2 x 8 TB", (4.0, 8.0), (8.0, 8.0), 4.0),
        ("raid10 8 x 8 TB", (4.0, 4.0), (8.0, 8.0), 4.0),
        ("raid10 far 8 x 8 TB", (8.0, 8.0), (8.0, 8.0), 4.0),
        ("raid10 offset 8 x 8 TB", (4.0, 8.0), (4.0, 8.0), 4.0),
        ("raid5 5 x 8 TB", (4.0, 5.0), (5.0, 5.0), 4.0),
        ("raid6 8 x 8 TB", (6.0, 8.0), (8.0, 8.0), 6.0),
        ("raid50 2 x 4 x 8 TB", (6.0, 8.0), (8.0, 8.0), 6.0),
        ("raid60 2 x 4 x 8 TB", (4.0, 8.0), (8.0, 8.0), 4.0),
        ("two-copy 4 x 8 TB", (1.0, 1.0), (1.0, 1.0), 1.0),
        // stripes over three mirrors of three: one of each for one stream
        ("3 x raid1 3 x 8 TB", (3.0, 3.0), (3.0, 3.0), 3.0),
    ] {
        let layout = Layout::parse(text).unwrap();
        for (medium, (low, high)) in [(Medium::Spinning, spinning), (Medium::Flash, flash)] {
            let found = read_one_stream(&layout, medium, 0, LARGE).unwrap();
            assert_relative_eq!(found.low.get::<one>(), low, max_relative = 1e-12);
            assert_relative_eq!(found.high.get::<one>(), high, max_relative = 1e-12);
            let outer = text.contains("far");
            assert_eq!(found.place == Place::OuterHalf, outer);
        }
        let found = write_one_stream(&layout, 0, LARGE).unwrap();
        assert_relative_eq!(found.high.get::<one>(), write, max_relative = 1e-12);
    }
}

#[test]
fn validate_flash_of_the_kernels_driver() {
    // measured on software arrays of equal flash with several requests under way, in drives' worth:
    // RAID 10 reads from the idlest side, one stream of RAID 1 from one drive, and RAID 6 with one drive
    // missing n - 2
    for (text, failed, expected) in [
        ("raid10 4 x 8 TB", 0, 4.0),
        ("raid1 2 x 8 TB", 0, 1.0),
        ("raid6 6 x 8 TB", 1, 4.0),
        ("raid5 4 x 8 TB", 1, 3.0),
    ] {
        let layout = Layout::parse(text).unwrap();
        let found = read_one_stream(&layout, Medium::Flash, failed, LARGE).unwrap();
        for end in [found.low, found.high] {
            assert_relative_eq!(end.get::<one>(), expected, max_relative = 1e-12);
        }
    }
}

#[test]
fn validate_eight_drives_of_12_tb() {
    // 60 % full, 179.744 MB/s a drive: one stream reading, printed at four digits
    let drive = 179.744;
    for (text, expected) in [
        ("raid0 8 x 12 TB", 1438.0),
        ("raid5 8 x 12 TB", 1258.0),
        ("raid6 8 x 12 TB", 1078.0),
        ("raid10 8 x 12 TB", 719.0),
        ("raid50 2 x 4 x 12 TB", 1078.0),
        ("raidz2 8 x 12 TB", 1076.0),
        ("2 x raidz1 4 x 12 TB", 1076.0),
    ] {
        let layout = Layout::parse(text).unwrap();
        let read = read_one_stream(&layout, Medium::Spinning, 0, LARGE).unwrap();
        let write = write_one_stream(&layout, 0, LARGE).unwrap();
        for worth in [read.low, write.low] {
            let found = worth.get::<one>() * drive;
            assert!((found - expected).abs() <= 0.6, "{text}: {found}");
        }
    }
}

#[test]
fn validate_rotating_read() {
    // 200 MB/s, 7200 turns: chunks of 512 KiB pass under the head, 2.5 tracks are jumped over
    let rate = megabytes_per_second(200.0);
    for (n, p, kibibytes, expected) in [
        (5, 1, 512, 800.0),
        (8, 2, 512, 1200.0),
        (8, 1, 4096, 1548.27),
    ] {
        let chunk = Bytes::kibibytes(kibibytes).information();
        let found = rotating_read(n, p, chunk, rate, &class_7200());
        assert_relative_eq!(
            in_megabytes_per_second(found),
            expected,
            max_relative = PRINTED
        );
    }
}

#[test]
fn validate_far_copies() {
    // four drives of 250 MB/s, a quarter full: read 950.684; write with 1, 8 and 32 MiB gathered;
    // near copies 449.333 both ways
    let zones = Zones::new(megabytes_per_second(250.0), ratio(0.48), terabytes(12.0)).unwrap();
    let filled = ratio(0.25);
    let layout = Layout::parse("raid10 far 4 x 12 TB").unwrap();
    let worth = read_one_stream(&layout, Medium::Spinning, 0, LARGE).unwrap();
    let read = zones.rate(worth.depth(filled)) * worth.low;
    assert_relative_eq!(
        in_megabytes_per_second(read),
        950.684,
        max_relative = PRINTED
    );
    for (mebibytes, expected) in [(1, 103.015), (8, 298.652), (32, 374.944)] {
        let gathered = Bytes::kibibytes(mebibytes * 1024).information();
        let found = far_write(4, &zones, filled, gathered, &class_7200());
        assert_relative_eq!(
            in_megabytes_per_second(found),
            expected,
            max_relative = PRINTED
        );
        assert!(found < megabytes_per_second(449.333));
    }
    let near = Layout::parse("raid10 4 x 12 TB").unwrap();
    let worth = read_one_stream(&near, Medium::Spinning, 0, LARGE).unwrap();
    let read = zones.rate(worth.depth(filled)) * worth.low;
    assert_relative_eq!(
        in_megabytes_per_second(read),
        449.333,
        max_relative = PRINTED
    );
}

#[test]
fn missing_drives_cost_flash_and_leave_spinning_parity_as_it_was() {
    let layout = Layout::parse("raid6 8 x 8 TB").unwrap();
    let worth = |medium, failed| read_one_stream(&layout, medium, failed, LARGE);
    for failed in [1, 2] {
        assert_eq!(worth(Medium::Spinning, failed).unwrap().low, ratio(6.0));
        // the rest of a stripe is fetched, second parity too
        assert_eq!(worth(Medium::Flash, failed).unwrap().high, ratio(6.0));
    }
    assert!(worth(Medium::Spinning, 3).is_none());
    assert!(write_one_stream(&layout, 3, LARGE).is_none());
    let nested = Layout::parse("raid50 2 x 4 x 8 TB").unwrap();
    let found = read_one_stream(&nested, Medium::Flash, 1, LARGE).unwrap();
    // stripes run at the slower group
    assert_eq!(found.low, ratio(6.0));
}

proptest! {
    #[test]
    fn property_missing_drives_never_help_and_no_worth_exceeds_the_drives(
        level in 0..Level::ALL.len(), groups in 1..4_usize, more in 0..8_usize, large: bool,
    ) {
        let level = Level::ALL[level];
        let record = if large { LARGE } else { SMALL };
        let groups = if level.comes_in_groups() { groups.max(level.least_groups()) } else { 1 };
        let width = if level == Level::Single { 1 } else { level.least_drives() + more };
        let size = DriveSize::new(terabytes(8.0)).unwrap();
        let layout = Layout::uniform(level, groups, width, size, 0).unwrap();
        for medium in [Medium::Spinning, Medium::Flash] {
            let mut before = (f64::INFINITY, f64::INFINITY);
            let mut written = f64::INFINITY;
            for failed in 0..=layout.survives_any() {
                let found = read_one_stream(&layout, medium, failed, record).unwrap();
                let (low, high) = (found.low.get::<one>(), found.high.get::<one>());
                prop_assert!(low > 0.0 && low <= high && high <= layout.working_drives() as f64);
                prop_assert!(low <= before.0 && high <= before.1);
                before = (low, high);
                let write = write_one_stream(&layout, failed, record).unwrap().high.get::<one>();
                prop_assert!(write <= written && write <= layout.working_drives() as f64);
                written = write;
            }
            prop_assert!(read_one_stream(&layout, medium, layout.survives_any() + 1, record).is_none());
        }
    }
}
