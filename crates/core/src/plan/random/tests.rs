#![allow(clippy::unwrap_used)]

use super::super::luck::{DriveLuck, Luck};
use super::super::tests::{certain, certain_drive, model_of, stated};
use super::*;
use crate::array::rate::Medium;
use crate::array::{DriveSize, Layout, Level};
use crate::quantity::{Time, megabytes_per_second, ratio, terabytes};
use proptest::prelude::*;

/// Rounding of a few operations.
const EXACT: f64 = 1e-9;

/// Flash of known rates and latency.
fn flash(read: f64, write: f64, latency: Time) -> DriveLuck {
    let (read, write) = (megabytes_per_second(read), megabytes_per_second(write));
    DriveLuck {
        medium: Medium::Flash,
        read_empty: stated(read),
        read: stated(read),
        read_outer_half: stated(read),
        write_empty: stated(write),
        write: stated(write),
        interface: vec![megabytes_per_second(1e6)],
        turning: None,
        latency: Some(vec![latency]),
    }
}

fn asked(
    text: &str,
    luck: &Luck,
    drive: &DriveLuck,
    direction: Direction,
    missing: usize,
) -> Option<f64> {
    let layout = Layout::parse(text).unwrap();
    let drawn = model_of(&layout, luck, drive).requests(direction, missing)?;
    Some(drawn[0])
}

fn close(found: Option<f64>, expected: f64, share: f64) {
    let found = found.unwrap();
    assert!(
        (found / expected - 1.0).abs() <= share,
        "{found} {expected}"
    );
}

fn microseconds(count: f64) -> Time {
    Time::new::<crate::quantity::units::time::microsecond>(count)
}

#[test]
fn validate_requests_of_one_drive() {
    // 7200 turns a minute, 8.5 ms, 0.1 ms a command, full: 78.3 a second one at a time, to which
    // 4 KiB at the inner edge add 0.3 %; printed at three digits
    const PRINTED: f64 = 0.004;
    let full = ratio(1.0);
    let (mut luck, drive) = (certain(full), certain_drive(full));
    let single = "single 12 TB";
    close(
        asked(single, &luck, &drive, Direction::Read, 0),
        78.3,
        PRINTED,
    );
    // in the drive's own order twice as many
    luck.reordering = vec![2.0];
    close(
        asked(single, &luck, &drive, Direction::Read, 0),
        156.6,
        PRINTED,
    );
    // flash by hand: 32 / 70 us while the rate lasts, 540 MB/s / 4 KiB where it does not
    let nvme = flash(3300.0, 900.0, microseconds(70.0));
    close(
        asked(single, &luck, &nvme, Direction::Read, 0),
        32.0 / 70e-6,
        EXACT,
    );
    let sata = flash(540.0, 420.0, microseconds(110.0));
    close(
        asked(single, &luck, &sata, Direction::Read, 0),
        540e6 / 4096.0,
        EXACT,
    );
    luck.scattered_writes = vec![ratio(0.5)];
    close(
        asked(single, &luck, &sata, Direction::Write, 0),
        210e6 / 4096.0,
        EXACT,
    );
}

#[test]
fn validate_requests_of_eight_drives() {
    // by the worth of each level, from one drive of its own: reads, one missing, writes
    let full = ratio(1.0);
    let (luck, drive) = (certain(full), certain_drive(full));
    let one = |direction| asked("single 12 TB", &luck, &drive, direction, 0).unwrap();
    let (read, write) = (one(Direction::Read), one(Direction::Write));
    for (text, reads, degraded, writes) in [
        ("raid0 8 x 12 TB", 8.0, None, 8.0),
        ("raid10 8 x 12 TB", 8.0, Some(4.0), 4.0),
        ("raid5 8 x 12 TB", 8.0, Some(4.0), 2.0),
        ("raid6 8 x 12 TB", 8.0, Some(344.615 / 80.0), 8.0 / 6.0),
        ("4 x raid1 2 x 12 TB", 8.0, Some(4.0), 4.0),
    ] {
        close(
            asked(text, &luck, &drive, Direction::Read, 0),
            reads * read,
            EXACT,
        );
        close(
            asked(text, &luck, &drive, Direction::Write, 0),
            writes * write,
            EXACT,
        );
        match degraded {
            // printed at six digits
            Some(degraded) => close(
                asked(text, &luck, &drive, Direction::Read, 1),
                degraded * read,
                2e-6,
            ),
            None => assert_eq!(asked(text, &luck, &drive, Direction::Read, 1), None),
        }
    }
    // more than survives is no answer
    assert_eq!(
        asked("raid5 8 x 12 TB", &luck, &drive, Direction::Read, 2),
        None
    );
    assert_eq!(
        asked("raid5 8 x 12 TB", &luck, &drive, Direction::Write, 1),
        None
    );
}

#[test]
fn verify_a_pool_moves_whole_records() {
    // flash of 540 MB/s: a record of 128 KiB from one of a mirror, or 6 sectors from each of six drives
    let luck = certain(ratio(0.5));
    let sata = flash(540.0, 420.0, microseconds(10.0));
    let record = 131_072.0;
    close(
        asked("mirror 2 x 4 TB", &luck, &sata, Direction::Read, 0),
        2.0 * 540e6 / record,
        EXACT,
    );
    close(
        asked("raidz2 8 x 4 TB", &luck, &sata, Direction::Read, 0),
        540e6 / (6.0 * 4096.0) * 8.0 / 6.0,
        EXACT,
    );
}

proptest! {
    #[test]
    fn property_requests_fall_with_missing_drives(
        level in 0..Level::ALL.len(), groups in 1..4_usize, more in 0..6_usize, turns: bool,
    ) {
        let level = Level::ALL[level];
        let groups = if level.comes_in_groups() { groups.max(level.least_groups()) } else { 1 };
        let width = if level == Level::Single { 1 } else { level.least_drives() + more };
        let size = DriveSize::new(terabytes(12.0)).unwrap();
        let layout = Layout::uniform(level, groups, width, size, 0).unwrap();
        let fill = ratio(0.6);
        let luck = certain(fill);
        let drive = if turns { certain_drive(fill) } else { flash(540.0, 420.0, microseconds(110.0)) };
        let model = model_of(&layout, &luck, &drive);
        let one = asked("single 12 TB", &luck, &drive, Direction::Read, 0).unwrap();
        let mut before = one * layout.working_drives() as f64 * (1.0 + 1e-9);
        for missing in 0..=layout.survives_any() {
            let found = model.requests(Direction::Read, missing).unwrap()[0];
            prop_assert!(found > 0.0 && found <= before, "{layout} {missing}: {found} {before}");
            before = found * (1.0 + 1e-9);
        }
        prop_assert_eq!(model.requests(Direction::Read, layout.survives_any() + 1), None);
        let writes = model.requests(Direction::Write, 0).unwrap()[0];
        let one = asked("single 12 TB", &luck, &drive, Direction::Write, 0).unwrap();
        prop_assert!(writes > 0.0 && writes <= one * layout.working_drives() as f64 * (1.0 + 1e-9));
    }
}
