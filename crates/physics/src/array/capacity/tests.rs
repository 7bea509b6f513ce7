use super::*;
use crate::array::{DriveSize, Placement};
use narrows_units::quantity::{percent, terabytes};
use proptest::prelude::*;

fn size(terabytes_: u32) -> DriveSize {
    DriveSize::new(terabytes(f64::from(terabytes_))).unwrap()
}

fn systems(level: Level) -> Vec<FileSystem> {
    if level.is_pooled() {
        [128, 1024]
            .map(|k| FileSystem::Pool {
                record: Bytes::kibibytes(k),
                sector: Bytes::kibibytes(4),
            })
            .to_vec()
    } else if level.is_summed() {
        vec![FileSystem::Btrfs { checksum_bytes: 4 }]
    } else {
        vec![
            FileSystem::Bare,
            FileSystem::Ext4 { reserve_percent: 5 },
            FileSystem::Xfs {
                reflink: true,
                reverse_map: false,
            },
            FileSystem::Btrfs { checksum_bytes: 32 },
        ]
    }
}

fn usable(layout: &Layout, system: FileSystem) -> u64 {
    let terms = Terms::usual(layout).with(system);
    space(layout, &terms).unwrap().usable.get()
}

#[test]
fn validate_eight_drives_of_12_tb() {
    // TiB on the bare device: (8 - parity) members of 12 TB less 129 MiB each
    const PRINTED: f64 = 5e-4;
    for (text, tebibytes) in [
        ("raid5 8 x 12 TB", 76.398),
        ("raid6 8 x 12 TB", 65.484),
        ("raid10 8 x 12 TB", 43.656),
        ("raid50 2 x 4 x 12 TB", 65.484),
    ] {
        let layout = Layout::parse(text).unwrap();
        let found = usable(&layout, FileSystem::Bare) as f64 / (1_u64 << 40) as f64;
        assert!((found - tebibytes).abs() < PRINTED, "{text}: {found}");
    }
}

#[test]
fn verify_integers_are_those_of_the_catalogue() {
    // space is counted in integers, so its constants stand in the code; the rows give their source
    let catalogue = narrows_units::catalogue::Catalogue::embedded().unwrap();
    let copying = FileSystem::usual(Level::RaidZ1).comfortable_percent();
    let rewriting = FileSystem::usual(Level::Raid5).comfortable_percent();
    for (id, value) in [
        ("array.chunk", DEFAULT_CHUNK.get() / 1024),
        ("array.record", DEFAULT_RECORD.get() / 1024),
        ("array.fill.copying", copying),
        ("array.fill.rewriting", rewriting),
    ] {
        let row = catalogue.number(id).unwrap();
        assert!((row.likely - value as f64).abs() < 1e-9, "{id}");
    }
    let trees = catalogue.number("array.btrfs-trees").unwrap().likely;
    assert!((trees * 1e4 - btrfs::TREES as f64).abs() < 1e-6);
}

#[test]
fn a_file_system_that_does_not_go_is_refused() {
    for (text, system) in [
        ("raidz1 3 x 4 TB", FileSystem::Ext4 { reserve_percent: 5 }),
        ("two-copy 3 x 4 TB", FileSystem::Bare),
        ("raid5 3 x 4 TB", FileSystem::usual(Level::RaidZ1)),
    ] {
        let layout = Layout::parse(text).unwrap();
        let fault = space(&layout, &Terms::usual(&layout).with(system)).unwrap_err();
        assert!(
            matches!(fault, SpaceFault::Mismatch { .. }),
            "{text}: {fault}"
        );
    }
}

#[test]
fn the_share_to_fill_is_stated_and_can_be_changed() {
    let layout = Layout::parse("raid5 4 x 4 TB").unwrap();
    let mut terms = Terms::usual(&layout);
    let made = space(&layout, &terms).unwrap();
    assert_eq!(made.comfortable.get(), made.usable.get() * 9 / 10);
    terms.fill_to = Some(percent(70.0));
    let less = space(&layout, &terms).unwrap();
    assert!(less.comfortable < made.comfortable && less.usable == made.usable);
    for nonsense in [0.0, -5.0, 101.0, f64::NAN] {
        terms.fill_to = Some(percent(nonsense));
        assert!(space(&layout, &terms).is_err(), "{nonsense}");
    }
}

/// Any layout: a level, one to three groups, drives of two sizes, spares.
fn any_layout() -> impl Strategy<Value = Layout> {
    (
        0..Level::ALL.len(),
        1..4_usize,
        0..8_usize,
        1..26_u32,
        prop::collection::vec(1..26_u32, 0..3),
    )
        .prop_map(|(level, groups, more, first, others)| {
            let level = Level::ALL[level];
            let groups = match level {
                level if level.comes_in_groups() => groups.max(level.least_groups()),
                _ => 1,
            };
            let width = if level == Level::Single {
                1
            } else {
                level.least_drives() + more
            };
            let mut drives = vec![size(first); width];
            for (drive, other) in drives.iter_mut().zip(&others) {
                *drive = size(*other);
            }
            let spares = others.iter().map(|s| size(*s)).collect();
            Layout::new(vec![(level, drives); groups], spares).unwrap()
        })
}

proptest! {
    #[test]
    fn property_parts_add_up(layout in any_layout(), which in 0..4_usize) {
        let systems = systems(layout.level());
        let system = systems[which % systems.len()];
        let made = space(&layout, &Terms::usual(&layout).with(system)).unwrap();
        prop_assert_eq!(made.sum_of_parts(), made.raw);
        prop_assert!(made.usable <= made.raw && made.usable.get() > 0);
        prop_assert!(made.comfortable <= made.usable);
        for unused in &made.unused {
            prop_assert!(unused.bytes.get() > 0);
        }
    }

    #[test]
    fn property_more_parity_never_adds_space(
        width in 5..20_usize, terabytes_ in 1..26_u32, kibibytes in 2..11_u32,
    ) {
        let ladders: [&[Level]; 2] = [
            &[Level::Raid0, Level::Raid5, Level::Raid6],
            &[Level::RaidZ1, Level::RaidZ2, Level::RaidZ3],
        ];
        for ladder in ladders {
            for pair in ladder.windows(2) {
                let made = |level: Level| {
                    let layout = Layout::uniform(level, 1, width, size(terabytes_), 0).unwrap();
                    let system = match systems(level)[0] {
                        FileSystem::Pool { sector, .. } => FileSystem::Pool {
                            record: Bytes::kibibytes(1 << kibibytes),
                            sector,
                        },
                        other => other,
                    };
                    usable(&layout, system)
                };
                prop_assert!(made(pair[1]) <= made(pair[0]));
            }
        }
    }

    #[test]
    fn property_a_larger_drive_never_lowers_space(
        level in 0..Level::ALL.len(), more in 0..8_usize, at in 0..16_usize,
        small in 1..20_u32, by in 1..6_u32,
    ) {
        let level = Level::ALL[level];
        // ext4 changes its tables at 4 and 16 TiB, the bare device shows the array alone
        let system = systems(level)[0];
        let width = if level == Level::Single { 1 } else { level.least_drives() + more };
        let mut drives = vec![size(small); width];
        let groups = level.least_groups();
        let before = Layout::new(vec![(level, drives.clone()); groups], Vec::new()).unwrap();
        drives[at % width] = size(small + by);
        let after = Layout::new(vec![(level, drives); groups], Vec::new()).unwrap();
        prop_assert!(usable(&after, system) >= usable(&before, system));
    }

    #[test]
    fn property_one_more_drive_never_lowers_space_of_fixed_stripes(
        level in 0..Level::ALL.len(), more in 0..8_usize, terabytes_ in 1..26_u32,
    ) {
        let level = Level::ALL[level];
        prop_assume!(level != Level::Single && level.parity() == 0 || !level.is_pooled());
        prop_assume!(level != Level::Single);
        let made = |more: usize| {
            let layout = Layout::uniform(
                level, level.least_groups(), level.least_drives() + more, size(terabytes_), 0,
            ).unwrap();
            usable(&layout, systems(level)[0])
        };
        prop_assert!(made(more + 1) >= made(more));
    }
}

#[test]
fn verify_one_more_equal_drive_never_lowers_a_pool() {
    // A record's sectors, own + parity * ceil(own / (width - parity)) rounded up, never grow with
    // the width. Padding can eat what a drive should bring, never more than that; the whole range
    // is tried, so that slabs, 512ths and the reserve are in it too.
    for level in [Level::RaidZ1, Level::RaidZ2, Level::RaidZ3] {
        for kibibytes in [4, 16, 128, 1024, 16384] {
            for terabytes_ in [1, 4, 10, 24] {
                let mut before = 0;
                for width in level.least_drives()..=32 {
                    let layout = Layout::uniform(level, 1, width, size(terabytes_), 0).unwrap();
                    let found = usable(
                        &layout,
                        FileSystem::Pool {
                            record: Bytes::kibibytes(kibibytes),
                            sector: Bytes::kibibytes(4),
                        },
                    );
                    assert!(found > before, "{layout}, {kibibytes} KiB");
                    before = found;
                }
            }
        }
    }
}

#[test]
fn padding_can_keep_a_drive_from_bringing_its_share() {
    // slabs and 512ths take up to a thousandth each
    const ROUNDING: f64 = 3e-3;
    // two parities, records of 128 KiB: 48 sectors on six drives and on seven, so that the share
    // of the raw space stays at 2/3 where (7 - 2)/7 = 71 % could be expected
    let share = |width| {
        let layout = Layout::uniform(Level::RaidZ2, 1, width, size(12), 0).unwrap();
        let made = space(&layout, &Terms::usual(&layout)).unwrap();
        let data = made.usable.get() + made.reserve.get();
        (data as f64 / made.raw.get() as f64, made.padding.get())
    };
    let ((six, none), (seven, some)) = (share(6), share(7));
    assert!((six - 2.0 / 3.0).abs() < ROUNDING, "{six}");
    assert!((seven - 2.0 / 3.0).abs() < ROUNDING, "{seven}");
    assert!(some > 10 * none, "{some} {none}");
}

#[test]
fn a_smaller_drive_more_can_lower_space() {
    // every drive of a parity group counts as the smallest: 2 x 8 TB of data become 3 x 1 TB
    let with = usable(
        &Layout::parse("raid5 3 x 8 TB, 1 x 1 TB").unwrap(),
        FileSystem::Bare,
    );
    let without = usable(&Layout::parse("raid5 3 x 8 TB").unwrap(), FileSystem::Bare);
    assert!(with < without / 5);
    // level 0 takes all of each
    let with = usable(
        &Layout::parse("raid0 3 x 8 TB, 1 x 1 TB").unwrap(),
        FileSystem::Bare,
    );
    let without = usable(&Layout::parse("raid0 3 x 8 TB").unwrap(), FileSystem::Bare);
    assert!(with > without);
}

#[test]
fn odd_copies_use_the_odd_drive() {
    for placement in Placement::ALL {
        let made = |n| {
            let layout = Layout::uniform(Level::Raid10(placement), 1, n, size(4), 0).unwrap();
            usable(&layout, FileSystem::Bare)
        };
        let ratio = made(5) as f64 / made(4) as f64;
        assert!((ratio - 1.25).abs() < 1e-6, "{ratio}");
    }
}
