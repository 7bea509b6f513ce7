//! Space of layouts, and drives for a need, on the command line.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{Ran, narrows};

const EXAMPLE: &str = "data/sites/granary-lane.toml";

fn capacity(arguments: &[&str]) -> Ran {
    let all: Vec<&str> = std::iter::once("capacity")
        .chain(arguments.iter().copied())
        .collect();
    narrows(&all)
}

/// The rows of the csv form, each with its cells by head.
fn cells(arguments: &[&str]) -> Vec<std::collections::BTreeMap<String, String>> {
    capacity(&[arguments, &["--format", "csv"]].concat()).rows()
}

#[test]
fn the_bare_device_holds_what_the_members_hold() {
    // 4 members of 12000138625024 B less 129 MiB, in whole chunks, and two of parity
    let ran = capacity(&[
        "raid6 8 x 12 TB",
        "--file-system",
        "none",
        "--format",
        "json",
    ]);
    let top: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let layout = &top["answer"]["layouts"][0];
    assert_eq!(layout["usable_bytes"], 72_000_020_152_320_u64);
    assert_eq!(layout["raw_bytes"], 8 * 12_000_138_625_024_u64);
    assert_eq!(layout["file_system"], "none");
    // a pool, as it lists itself
    let ran = capacity(&["raidz2 6 x 12 TB", "--format", "json"]);
    let top: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let layout = &top["answer"]["layouts"][0];
    assert_eq!(layout["listed_bytes"], 47_804_797_943_808_u64);
}

#[test]
fn printed_parts_add_up_to_the_printed_raw_space() {
    let rows = cells(&[
        EXAMPLE,
        "raidz3 7 x 10 TB + 2 spares",
        "raid5 2 x 4 TB, 1 x 8 TB",
        "two-copy 4 TB, 4 TB, 20 TB",
        "raid60 2 x 4 x 18 TB",
    ]);
    assert_eq!(rows.len(), 5);
    for row in rows {
        let gigabytes = |head: &str| -> i64 {
            let cell = row[head].replace('.', "");
            cell.parse().unwrap()
        };
        let parts: i64 = [
            "redundancy TB",
            "padding TB",
            "spares TB",
            "unused TB",
            "metadata TB",
            "reserve TB",
            "usable TB",
        ]
        .into_iter()
        .map(gigabytes)
        .sum();
        assert_eq!(parts, gigabytes("raw TB"), "{row:?}");
        assert!(gigabytes("comfortable TB") < gigabytes("usable TB"));
    }
}

#[test]
fn the_first_line_says_what_is_left() {
    let ran = capacity(&["raid6 6 x 10 TB"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let first: String = ran.out.lines().take(2).collect::<Vec<_>>().join(" ");
    let first = first.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in ["raid6 6 x 10 TB", "TB (", "TiB)", "comfortable to fill"] {
        assert!(first.contains(word), "{first}");
    }
    assert!(ran.out.contains("not a backup"));
}

#[test]
fn every_column_is_explained_and_every_unused_space_has_its_reason() {
    let ran = capacity(&[
        "raidz2 7 x 10 TB + 1 spare",
        "raid5 2 x 4 TB, 1 x 8 TB",
        "two-copy 4 TB, 20 TB",
        "raid0 4 TB, 8 TB",
    ]);
    for word in [
        "may fail",
        "raw",
        "redundancy",
        "padding",
        "spares",
        "unused",
        "metadata",
        "reserve",
        "usable",
        "comfortable",
    ] {
        assert!(ran.out.contains(&format!("\n{word}: ")), "{word}");
    }
    let joined = ran.out.replace("\n    ", " ");
    for reason in [
        "drives larger than the smallest of their group",
        "no other drive has room for the copies",
        "left after whole slabs of the pool",
        "uses all of unequal drives",
    ] {
        assert!(joined.contains(reason), "{reason} in {joined}");
    }
}

#[test]
fn file_system_record_sector_and_fill_are_obeyed() {
    let usable = |arguments: &[&str]| -> f64 { cells(arguments)[0]["usable TB"].parse().unwrap() };
    let of = |system| usable(&["raid6 6 x 10 TB", "--file-system", system]);
    // the bare device, then a few GB, a share, and 5 % taken away
    assert!(of("none") > of("btrfs") && of("btrfs") > of("ext4"));
    assert!(of("none") > of("xfs") && of("xfs") > of("ext4"));
    let padded = usable(&["raidz2 8 x 10 TB"]);
    assert!(usable(&["raidz2 8 x 10 TB", "--record", "1 MiB"]) > padded);
    assert!(usable(&["raidz2 8 x 10 TB", "--sector", "512 B"]) > padded);
    let row = &cells(&["raid6 6 x 10 TB", "--file-system", "none", "--fill", "50 %"])[0];
    let number = |head: &str| row[head].parse::<f64>().unwrap();
    // each is rounded to whole gigabytes
    assert!((number("comfortable TB") * 2.0 - number("usable TB")).abs() < 0.003);
    // it goes on the one, and of the other the table says what it is
    let rows = cells(&[
        "raid6 6 x 10 TB",
        "raidz2 6 x 10 TB",
        "--file-system",
        "xfs",
    ]);
    assert_eq!(rows[0]["file system"], "XFS");
    assert_eq!(rows[1]["file system"], "ZFS");
}

#[test]
fn all_faulty_layouts_come_at_once_with_their_spots() {
    let ran = capacity(&[
        "raid6 3 x 10 TB",
        "raid6 6 x 10 TB",
        "raid9 4 x 8 TB",
        "mirror 2 x 8 GB",
        "tests/sites/broken/raid6-of-three.toml",
        "--fill",
        "120 %",
    ]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    for word in [
        "raid6 needs 4 drives or more, not 3",
        "'raid9' is no level",
        "does not fit into",
        "raid6-of-three.toml:",
        "not above 0 and up to 100 %",
        "4 faults in the command line",
        "^^^^^",
    ] {
        assert!(ran.err.contains(word), "{word}: {}", ran.err);
    }
}

#[test]
fn what_would_change_nothing_is_refused() {
    for (arguments, word) in [
        (
            &["raidz2 6 x 10 TB", "--file-system", "ext4"][..],
            "goes on none",
        ),
        (&["raid6 6 x 10 TB", "--record", "1 MiB"], "for pools"),
        (&["raid6 6 x 10 TB", "--sector", "4096 B"], "for pools"),
        (&["raidz2 6 x 10 TB", "--record", "1 MB"], "no power of two"),
        (
            &["raidz2 6 x 10 TB", "--sector", "4000 B"],
            "no power of two",
        ),
        (&["no-such-site.toml"], "no such file"),
        (&["raid6 6 x 10 TB", "--spares", "1"], "--need"),
        (
            &["raid6 6 x 10 TB", "--need", "60 TB"],
            "cannot be used with",
        ),
        (&["--need", "60 TB"], "--drives"),
        (&["--need", "60", "--drives", "10 TB"], "has no unit"),
        (&["--need", "60 TB", "--drives", "6 x 10 TB"], "one drive"),
        (
            &[
                "--need", "60 TB", "--drives", "10 TB", "--most", "1", "--spares", "1",
            ],
            "room for no layout",
        ),
        (
            &["--need", "1 TB", "--drives", "8 GB", "--file-system", "zfs"],
            "does not fit",
        ),
        (&[], "required"),
    ] {
        let ran = capacity(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(word), "{arguments:?}: {}", ran.err);
    }
}

#[test]
fn a_need_takes_the_fewest_drives_of_each_layout() {
    // on bare devices 60 TB are six drives of 10 TB, and redundancy on top
    let rows = cells(&[
        "--need",
        "60 TB",
        "--drives",
        "10 TB",
        "--file-system",
        "none",
    ]);
    let layouts: Vec<&str> = rows.iter().map(|r| r["layout"].as_str()).collect();
    assert_eq!(
        layouts,
        [
            "raid0 6 x 10 TB",
            "raid5 7 x 10 TB",
            "raid6 8 x 10 TB",
            "raid50 2 x 4 x 10 TB",
            "raid60 2 x 5 x 10 TB",
            "raid10 12 x 10 TB",
            "6 x raid1 3 x 10 TB"
        ]
    );
    // comfort at 90 % takes a seventh
    let rows = cells(&[
        "--need",
        "60 TB comfortable",
        "--drives",
        "10 TB",
        "--file-system",
        "none",
    ]);
    assert_eq!(rows[0]["layout"], "raid0 7 x 10 TB");
    // a spare is a drive more
    let rows = cells(&[
        "--need",
        "60 TB",
        "--drives",
        "10 TB",
        "--file-system",
        "none",
        "--spares",
        "1",
    ]);
    assert_eq!(rows[0]["drives"], "7");
}

#[test]
fn a_narrow_miss_is_shown_beside_what_meets_the_need() {
    // eight drives of 12 TB, two of parity, hold 72.00002 TB: 73 TB miss by 1.4 %, 74 TB by 2.7 %
    let shown = |need: &str| {
        let rows = cells(&["--need", need, "--drives", "12 TB", "--file-system", "none"]);
        rows.iter()
            .find(|r| r["layout"] == "raid6 8 x 12 TB")
            .map(|r| r["over TB"].clone())
    };
    assert_eq!(shown("73 TB").as_deref(), Some("-1.000"));
    assert_eq!(shown("74 TB"), None);
    let ran = capacity(&[
        "--need",
        "73 TB",
        "--drives",
        "12 TB",
        "--file-system",
        "none",
    ]);
    assert_eq!(ran.code, 0);
    assert!(ran.out.contains("Narrow misses:"), "{}", ran.out);
    assert!(ran.out.contains("(1.4 %) short"), "{}", ran.out);
}

#[test]
fn a_need_that_nothing_meets_gives_the_nearest_and_exit_code_1() {
    let ran = capacity(&[
        "--need",
        "60 TB",
        "--drives",
        "10 TB",
        "--most",
        "5",
        "--file-system",
        "none",
    ]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    let text = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("The nearest is raid0 5 x 10 TB, 10.0 TB (17 %) short."),
        "{text}"
    );
    // the nearest of each kind, and nothing else
    let rows = cells(&[
        "--need",
        "60 TB",
        "--drives",
        "10 TB",
        "--most",
        "5",
        "--file-system",
        "none",
    ]);
    assert_eq!(rows.len(), 6);
    assert!(rows.iter().all(|r| r["over TB"].starts_with('-')));
}

#[test]
fn text_fits_eighty_columns_and_keeps_sizes_together() {
    for arguments in [
        &[EXAMPLE][..],
        &[
            "raidz2 7 x 10 TB + 1 spare",
            "raid5 2 x 4 TB, 1 x 8 TB + 2 spares",
            "2 x raidz1 4 x 8 TB",
            "raid60 2 x 4 x 10 TB",
        ],
        &["--need", "47.7 TB", "--drives", "10 TB", "--spares", "1"],
        &["--need", "60 TB", "--drives", "10 TB", "--most", "4"],
    ] {
        let ran = capacity(arguments);
        assert!(ran.code < 2, "{arguments:?}: {}", ran.err);
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 80, "{arguments:?}: {line:?}");
            assert!(!line.ends_with(' '), "{arguments:?}: {line:?}");
            assert!(!line.contains('\u{a0}'), "{arguments:?}: {line:?}");
        }
        let table = ran.out.lines().filter(|l| l.starts_with("TB"));
        assert_eq!(table.filter(|l| !l.starts_with("TB columns")).count(), 0);
    }
}

#[test]
fn parity_of_a_file_system_is_warned_of() {
    let warned = |layout: &str| {
        let ran = narrows(&["capacity", layout]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        ran.out.contains("no longer fits its parity")
            || ran.out.contains("no longer\nfits its parity")
    };
    assert!(warned("two-parity 4 x 10 TB"));
    assert!(warned("one-parity 4 TB, 4 TB, 8 TB"));
    assert!(!warned("raid6 4 x 10 TB"));
}
