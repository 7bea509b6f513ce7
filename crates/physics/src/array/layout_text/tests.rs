use super::*;
use proptest::prelude::*;

fn layout(text: &str) -> Layout {
    Layout::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"))
}

#[test]
fn layouts_are_read_and_written_back() {
    for (text, groups, drives, spares, survives) in [
        ("single 8 TB", 1, 1, 0, 0),
        ("raid0 2 x 4 TB", 1, 2, 0, 0),
        ("raid1 3 x 4 TB", 1, 3, 0, 2),
        ("raid6 6 x 10 TB", 1, 6, 0, 2),
        ("RAID6 6x10TB", 1, 6, 0, 2),
        ("raidz2 8 x 12 TB", 1, 8, 0, 2),
        ("2 x raidz1 4 x 8 TB", 2, 8, 0, 1),
        ("raid50 2 x 4 x 10 TB", 2, 8, 0, 1),
        ("raid60 2 x 4 x 10 TB, 1 x 5 x 12 TB", 3, 13, 0, 2),
        ("raid50 2 x (3 x 4 TB, 1 x 8 TB)", 2, 8, 0, 1),
        ("raid10 far 4 x 4 TB", 1, 4, 0, 1),
        ("raid10 offset 5 × 4 TB", 1, 5, 0, 1),
        ("raid6 8 x 10 TB + 1 spare", 1, 8, 1, 2),
        ("mirror 3 x 4 TB", 1, 3, 0, 2),
        ("raid5 2 x 4 TB, 1 x 8 TB", 1, 3, 0, 1),
        ("raid5 4 TB, 4 TB, 8 TB + 2 spares 8 TB", 1, 3, 2, 1),
        (
            "raidz3 5 x 8 TB + 2 x mirror 2 x 4 TB + 1 spare",
            3,
            9,
            1,
            1,
        ),
        ("two-copy 4 TB, 4 TB, 8 TB", 1, 3, 0, 1),
        ("three-copy 4 x 4 TB", 1, 4, 0, 2),
        ("4 x raid1 3 x 8 TB", 4, 12, 0, 2),
        ("2 x raid0 4 x 8 TB", 2, 8, 0, 0),
        ("2 x raid10 far 4 x 8 TB + 1 spare", 2, 8, 1, 1),
        ("raid1 2 x 4 TB + raid1 3 x 8 TB", 2, 5, 0, 1),
    ] {
        let read = layout(text);
        assert_eq!(read.groups().len(), groups, "{text}");
        assert_eq!(read.working_drives(), drives, "{text}");
        assert_eq!(read.spares().len(), spares, "{text}");
        assert_eq!(read.survives_any(), survives, "{text}");
        assert_eq!(layout(&read.to_string()), read, "{text} as {read}");
    }
    assert_eq!(
        layout("raid6 8x10TB+1spare").to_string(),
        "raid6 8 x 10 TB + 1 spare 10 TB"
    );
    // groups of RAID 5 and 6 have a name of their own
    for (groups, named) in [
        ("2 x raid5 4 x 8 TB", "raid50 2 x 4 x 8 TB"),
        (
            "raid6 4 x 8 TB + raid6 5 x 8 TB",
            "raid60 1 x 4 x 8 TB, 1 x 5 x 8 TB",
        ),
    ] {
        assert_eq!(layout(groups), layout(named));
        assert_eq!(layout(groups).to_string(), named);
    }
    assert_eq!(
        layout("raid5 4 TB, 4 TB, 8 TB + 1 spare").spares()[0],
        layout("single 8 TB").groups()[0].drives()[0]
    );
}

#[test]
fn faults_point_at_the_part_that_is_wrong() {
    for (text, part, help) in [
        ("", "", "raid6 6 x 10 TB"),
        ("raid7 4 x 8 TB", "raid7", "write one of"),
        ("riad6 4 x 8 TB", "riad6", "write 'raid6'"),
        ("raid-6 4 x 8 TB", "raid-6", "write 'raid6'"),
        ("stripes 4 x 8 TB", "stripes", "write one of"),
        ("raid6 3 x 10 TB", "raid6 3 x 10 TB", "raid6 4 x 8 TB"),
        ("raid6", "raid6", "raid6 4 x 8 TB"),
        ("raid6 6 x 10", "10", "10 TB"),
        ("raid6 6 x 10 MB", "10 MB", "12 TB"),
        ("raid6 6 x", "", "6 x 10 TB"),
        ("raid6 0 x 10 TB", "0", "from 1"),
        ("raid6 9999 x 10 TB", "9999", "up to 1024"),
        (
            "600 x raidz1 3 x 4 TB",
            "600 x raidz1 3 x 4 TB",
            "two arrays",
        ),
        ("single 2 x 8 TB", "single 2 x 8 TB", "raid0"),
        ("2 x single 8 TB", "2 x single 8 TB", "raid0 2 x 8 TB"),
        (
            "2 x two-copy 4 x 8 TB",
            "2 x two-copy 4 x 8 TB",
            "one group with all drives",
        ),
        (
            "raid5 3 x 4 TB + raid6 4 x 4 TB",
            "raid6 4 x 4 TB",
            "groups of one level",
        ),
        (
            "raidz1 3 x 4 TB + raid5 3 x 4 TB",
            "raid5 3 x 4 TB",
            "go together",
        ),
        (
            "raid50 1 x 4 x 8 TB",
            "raid50 1 x 4 x 8 TB",
            "raid50 2 x 3 x 8 TB",
        ),
        ("raid50 8 x 8 TB", "8 x 8 TB", "groups, drives in each"),
        ("raid50 8 TB", "8 TB", "groups, drives in each"),
        ("raid5 2 x 4 x 8 TB", "2 x 4 x 8 TB", "2 x raidz1 4 x 8 TB"),
        ("raid10 wide 4 x 4 TB", "wide", "near, far or offset"),
        ("raid6 8 x 10 TB + spare", "spare", "1 spare"),
        ("1 spare", "1 spare", "raid6 6 x 10 TB"),
        (
            "mirror 2 x 4 TB + 1 spare + mirror 2 x 4 TB",
            "mirror 2 x 4 TB",
            "groups first",
        ),
        ("raid5 3 x 4 Tb", "Tb", "TB"),
    ] {
        let fault = Layout::parse(text).unwrap_err();
        assert_eq!(&text[fault.span.clone()], part, "{text}: {fault}");
        assert!(fault.help.contains(help), "{text}: {fault}");
    }
}

#[test]
fn every_level_knows_its_least_drives() {
    // RAID 0 and 1: 2, RAID 5: 3, RAID 6: 4, RAID 10: 4, RAID 50: 6, RAID 60: 8, three parities: 5
    for (level, least) in [
        (Level::Raid0, 2),
        (Level::Raid1, 2),
        (Level::Raid5, 3),
        (Level::RaidZ1, 3),
        (Level::Raid6, 4),
        (Level::RaidZ2, 4),
        (Level::Raid10(Placement::Near), 4),
        (Level::Raid50, 6),
        (Level::Raid60, 8),
        (Level::RaidZ3, 5),
    ] {
        assert_eq!(
            level.least_drives() * level.least_groups(),
            least,
            "{level}"
        );
    }
    let size = DriveSize::new(narrows_units::quantity::terabytes(4.0)).unwrap();
    for level in Level::ALL {
        let (groups, least) = (level.least_groups(), level.least_drives());
        assert!(Layout::uniform(level, groups, least, size, 0).is_ok());
        let fault = Layout::uniform(level, groups, least - 1, size, 0);
        assert!(fault.is_err(), "{level}");
        assert_eq!(
            Level::from_word(level.word()).map(Level::word),
            Some(level.word())
        );
    }
    assert!(Layout::new(Vec::new(), Vec::new()).is_err());
    assert!(Layout::uniform(Level::Raid0, 1, 1025, size, 0).is_err());
}

proptest! {
    #[test]
    fn property_a_written_layout_reads_back(
        level in 0..Level::ALL.len(),
        groups in prop::collection::vec(prop::collection::vec(1..30_u32, 0..6), 1..4),
        spares in prop::collection::vec(1..30_u32, 0..3),
    ) {
        let level = Level::ALL[level];
        let sizes = |sizes: &[u32]| -> Vec<DriveSize> {
            sizes.iter().filter_map(|s| {
                DriveSize::new(narrows_units::quantity::terabytes(f64::from(*s))).ok()
            }).collect()
        };
        let mut made: Vec<(Level, Vec<DriveSize>)> = Vec::new();
        let count = match level.family() {
            Family::Striped => groups.len().max(2),
            _ if level.comes_in_groups() => groups.len(),
            _ => 1,
        };
        for group in groups.iter().cycle().take(count) {
            let mut drives = sizes(group);
            let least = level.least_drives();
            if level == Level::Single { drives.truncate(1); }
            while drives.len() < least { drives.extend(sizes(&[4])); }
            made.push((level, drives));
        }
        let made = Layout::new(made, sizes(&spares)).unwrap();
        prop_assert_eq!(layout(&made.to_string()), made);
    }

    #[test]
    fn property_no_text_panics(text in "[ raidz0-9x×+,()TBnear]{0,40}") {
        let _ = Layout::parse(&text);
    }
}
