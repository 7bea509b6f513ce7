use super::*;
use crate::array::DriveSize;
use crate::array::durability::{Repairs, View, year};
use approx::assert_relative_eq;
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::units::information::byte;
use narrows_units::quantity::units::time::{day, hour};
use narrows_units::quantity::{Frequency, percent, terabytes};
use proptest::prelude::*;

/// Half a unit of the sixth printed digit.
const PRINTED: f64 = 5e-6;

fn plain() -> Outlook {
    Outlook {
        failures_a_year: percent(1.5),
        unreadable_a_year: percent(3.15),
        scrub_interval: Time::new::<day>(14.0),
        rebuild_share: percent(50.0),
        detection: Time::new::<hour>(0.0),
        replacement: Time::new::<hour>(0.0),
        correlation: ratio(1.0),
        repairs: Repairs::Parallel,
        common_cause: yearly(percent(0.0)),
        common_share: ratio(0.0),
    }
}

fn made(text: &str, repair: f64, outlook: &Outlook) -> Safety {
    let layout = Layout::parse(text).unwrap();
    safety(
        &layout,
        Time::new::<hour>(repair),
        terabytes(1.0),
        outlook,
        year(),
    )
    .unwrap()
}

#[test]
fn validate_field_form() {
    // RAID 5 of eight, 24 h, 3.15 % a year and a scrub every 14 days: 5.51603e-4, without 3.49273e-5
    let found = made("raid5 8 x 12 TB", 24.0, &plain());
    assert_relative_eq!(
        found.lost_to_drives.get::<one>(),
        3.49273e-5,
        max_relative = PRINTED
    );
    assert_relative_eq!(
        found.file_damaged.get::<one>(),
        5.51603e-4,
        max_relative = PRINTED
    );
}

#[test]
fn validate_eight_drives_of_12_tb() {
    // a rebuild at half the drives' time takes 36.7719 h; chance of loss in a year with a hot
    // spare and when the drive comes after 72 h, printed at four digits
    const FOUR: f64 = 6e-4;
    for (text, spare, later) in [
        ("raid0 8 x 12 TB", 0.1139, 0.1139),
        ("raid5 8 x 12 TB", 5.342e-5, 1.564e-4),
        ("raid6 8 x 12 TB", 1.015e-8, 8.758e-8),
        ("raid10 8 x 12 TB", 7.637e-6, 2.240e-5),
        ("raid50 2 x 4 x 12 TB", 2.291e-5, 6.714e-5),
        ("raidz2 8 x 12 TB", 1.015e-8, 8.758e-8),
        ("2 x raidz1 4 x 12 TB", 2.291e-5, 6.714e-5),
    ] {
        for (repair, expected) in [(36.7719, spare), (108.7719, later)] {
            let found = made(text, repair, &plain()).lost_to_drives.get::<one>();
            assert_relative_eq!(found, expected, max_relative = FOUR);
        }
    }
}

#[test]
fn validate_common_causes() {
    // a share of the failures of eight drives: 1.20908e-5, 1.20902e-4 and 1.20836e-3 a year
    for (share, expected) in [(1e-4, 1.20908e-5), (1e-3, 1.20902e-4), (1e-2, 1.20836e-3)] {
        let outlook = Outlook {
            common_share: ratio(share),
            ..plain()
        };
        let found = made("raid6 8 x 12 TB", 24.0, &outlook);
        assert_relative_eq!(
            found.lost_to_common_causes.get::<one>(),
            expected,
            max_relative = PRINTED
        );
        // they dominate a layout that survives two failures
        assert!(found.lost_to_drives < found.lost_to_common_causes / 1000.0);
        assert!(found.array_lost >= found.lost_to_common_causes);
    }
}

#[test]
fn validate_expected_bytes() {
    // a usable terabyte: RAID 5 loses 3.49273e7 B a year with the array, RAID 6 4333.56; of 84 TB,
    // 0.0251941 B a terabyte in sectors
    let five = made("raid5 8 x 12 TB", 24.0, &plain());
    assert_relative_eq!(
        five.bytes_with_array.get::<byte>(),
        3.49273e7,
        max_relative = PRINTED
    );
    assert_relative_eq!(
        five.bytes_in_sectors.get::<byte>() / 84.0,
        0.0251941,
        max_relative = PRINTED
    );
    let six = made("raid6 8 x 12 TB", 24.0, &plain());
    assert_relative_eq!(
        six.bytes_with_array.get::<byte>(),
        4333.56,
        max_relative = PRINTED
    );
    assert!(five.bytes_lost() > six.bytes_lost());
}

#[test]
fn verify_views_are_in_order_and_keep_the_floor() {
    let catalogue = Catalogue::embedded().unwrap();
    for text in [
        "single 12 TB",
        "raid1 2 x 12 TB",
        "raid5 4 x 12 TB",
        "raid6 8 x 12 TB",
        "raid10 far 5 x 12 TB",
    ] {
        for spare in [true, false] {
            let mut before = 0.0;
            for view in View::ALL {
                let outlook = Outlook::of(view, true, spare, &catalogue).unwrap();
                let repair = 20.0 + outlook.replacement.get::<hour>();
                let found = made(text, repair, &outlook);
                let lost = found.array_lost.get::<one>();
                assert!(lost > before, "{text} {}", view.word());
                // the floor of the catalogue: one array in a thousand a year
                assert!(lost >= 0.001 * (1.0 - 1e-9), "{text}: {lost}");
                assert!(found.file_damaged >= found.array_lost);
                before = lost;
            }
        }
    }
    let flash = Outlook::of(View::Typical, false, true, &catalogue).unwrap();
    let spinning = Outlook::of(View::Typical, true, true, &catalogue).unwrap();
    assert!(flash.failures_a_year < spinning.failures_a_year);
}

#[test]
fn without_redundancy_a_bad_sector_is_a_damaged_file() {
    let outlook = Outlook {
        failures_a_year: percent(0.0001),
        ..plain()
    };
    let found = made("raid0 2 x 12 TB", 24.0, &outlook)
        .file_damaged
        .get::<one>();
    // two drives at 3.15 % a year
    assert_relative_eq!(found, 1.0 - 0.9685 * 0.9685, max_relative = 1e-4);
}

#[test]
fn a_rate_of_zero_is_refused() {
    let layout = Layout::parse("raid5 3 x 4 TB").unwrap();
    let outlook = Outlook {
        failures_a_year: percent(0.0),
        ..plain()
    };
    let hours = Time::new::<hour>(24.0);
    assert!(safety(&layout, hours, terabytes(1.0), &outlook, year()).is_err());
    assert!(safety(&layout, hours * 0.0, terabytes(1.0), &plain(), year()).is_err());
    let floor = Outlook {
        common_cause: yearly(percent(0.1)),
        ..plain()
    };
    assert!(floor.common_cause > Frequency::default());
}

proptest! {
    #[test]
    fn property_scrubbing_and_redundancy_never_harm(
        n in 5..12_usize, repair in 5.0..200.0_f64, days in 1.0..300.0_f64,
    ) {
        let size = DriveSize::new(terabytes(8.0)).unwrap();
        let often = Outlook { scrub_interval: Time::new::<day>(days), ..plain() };
        let seldom = Outlook { scrub_interval: Time::new::<day>(days * 2.0), ..plain() };
        let mut before = 1.0;
        for level in [Level::Raid0, Level::Raid5, Level::Raid6, Level::RaidZ3] {
            let layout = Layout::uniform(level, 1, n, size, 0).unwrap();
            let hours = Time::new::<hour>(repair);
            let one_year = |o: &Outlook| safety(&layout, hours, terabytes(8.0), o, year()).unwrap();
            let (good, bad) = (one_year(&often), one_year(&seldom));
            prop_assert!(good.file_damaged.get::<one>() <= bad.file_damaged.get::<one>() * (1.0 + 1e-12));
            prop_assert!(good.array_lost == bad.array_lost);
            let lost = good.array_lost.get::<one>();
            prop_assert!(lost < before);
            prop_assert!(good.file_damaged.get::<one>() >= lost);
            before = lost;
        }
    }
}
