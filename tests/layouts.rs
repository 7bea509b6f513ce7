//! Choosing among layouts on the command line.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{Ran, narrows};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;

const EXAMPLE: &str = "data/sites/granary-lane.toml";
const TEN: &str = "10 TB hdd-7200, 240 EUR";

fn layouts(arguments: &[&str]) -> Ran {
    let all: Vec<&str> = std::iter::once("layouts")
        .chain(arguments.iter().copied())
        .collect();
    narrows(&all)
}

fn json(arguments: &[&str]) -> Value {
    layouts(&[arguments, &["--format", "json"]].concat()).json()
}

fn rows(top: &Value) -> &Vec<Value> {
    top["answer"]["layouts"].as_array().unwrap()
}

/// A file of choices for one test.
fn file(name: &str, text: &str) -> PathBuf {
    let path = std::env::temp_dir().join(format!("narrows-{}-{name}.csv", std::process::id()));
    std::fs::write(&path, text).unwrap();
    path
}

#[test]
fn what_meets_the_needs_is_told_with_its_price() {
    let needs = [
        "--bays",
        "8",
        "--drives",
        TEN,
        "--need",
        "50 TB",
        "--need",
        "900 MB/s read at the array",
        "--survive",
        "2",
        "--streams",
        "4",
        "--fill",
        "60 %",
    ];
    let top = json(&needs);
    assert_eq!(top["answer"]["met"], true);
    for row in rows(&top) {
        assert!(row["survives_any"].as_u64().unwrap() >= 2);
        assert!(row["usable_bytes"].as_u64().unwrap() >= 50_000_000_000_000);
        let read = &row["read_megabytes_per_s"];
        assert!(read["p50"].as_f64().unwrap() >= 900.0);
        assert!(read["p05"].as_f64() <= read["p50"].as_f64());
        // money is counted: drives times 240 EUR
        let drives = row["drives"].as_i64().unwrap();
        assert_eq!(
            row["price"]["hundredths"].as_i64().unwrap(),
            drives * 24_000
        );
        assert_eq!(row["price"]["currency"], "EUR");
        assert!(row["array_lost_a_year"]["typical"].as_f64().unwrap() >= 0.001);
    }
    let text = layouts(&needs);
    assert_eq!((text.code, text.err.as_str()), (0, ""));
    for said in [
        "meets the needs for 1920 EUR",
        "no promise",
        "An array is not a backup",
        "comes on top of every row",
        "of cases",
    ] {
        assert!(
            text.out.replace('\n', " ").contains(said),
            "{said} is not in\n{}",
            text.out
        );
    }
    for line in text.out.lines() {
        assert!(!line.ends_with(' '), "{line:?}");
    }
}

#[test]
fn where_nothing_fits_the_exit_code_says_so_and_the_misses_are_counted() {
    let arguments = [
        "--bays",
        "4",
        "--drives",
        TEN,
        "--need",
        "36 TB",
        "--survive",
        "1",
    ];
    let ran = layouts(&arguments);
    assert_eq!(ran.code, 1, "{}", ran.err);
    let flat = ran.out.replace('\n', " ");
    assert!(
        flat.contains("Nothing in 4 bays meets the needs"),
        "{}",
        ran.out
    );
    assert!(flat.contains("An array is not a backup"));
    let top = json(&arguments);
    assert_eq!(top["answer"]["met"], false);
    assert!(rows(&top).is_empty());
    let nearest = top["answer"]["nearest"].as_array().unwrap();
    let mut before = 0.0;
    for row in nearest {
        let usable = row["usable_bytes"].as_f64().unwrap();
        let short = row["needs"][0]["short_share"].as_f64().unwrap();
        assert!((short - (1.0 - usable / 36e12)).abs() < 1e-5);
        if row["survives_any"] == 1 {
            assert!(short >= before);
            before = short;
        }
    }
    assert!(!nearest.is_empty());
}

#[test]
fn small_requests_are_shown_where_they_are_needed() {
    let spinning = ["--bays", "6", "--drives", TEN];
    let need = "2000 IOPS random read";
    // six spinning drives give a thousand or so: 78 a second each, twice that in their own order
    let asked = [&spinning[..], &["--need", need]].concat();
    let ran = layouts(&asked);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.out.contains("of 2000 op/s random read"), "{}", ran.out);
    assert!(ran.out.contains("random reads"), "{}", ran.out);
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80));
    for row in json(&asked)["answer"]["nearest"].as_array().unwrap() {
        let requests = |key: &str| row[key]["p50"].as_f64().unwrap();
        let drives = row["drives"].as_f64().unwrap();
        let reads = requests("random_reads_per_s");
        assert!(reads > 100.0 * drives && reads < 250.0 * drives, "{row}");
        assert!(requests("random_writes_per_s") <= reads);
        assert_eq!(
            row["needs"][0]["has_requests_per_s"],
            row["random_reads_per_s"]["p50"]
        );
    }
    // nobody asked: no table of them
    let ran = layouts(&spinning);
    assert!(!ran.out.contains("random reads"), "{}", ran.out);
    // flash has them to spare
    let ran = layouts(&["--bays", "4", "--drives", "4 TB ssd-sata", "--need", need]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("2000 op/s random read in 100 % of cases"),
        "{}",
        ran.out
    );
}

#[test]
fn states_that_are_not_healthy_are_in_the_json() {
    let asked = ["--bays", "4", "--drives", TEN, "--all"];
    for row in rows(&json(&asked)) {
        let median = |key: &str| row[key]["p50"].as_f64();
        let healthy = median("read_megabytes_per_s").unwrap();
        let survives = row["survives_any"].as_u64().unwrap();
        for (key, needs) in [
            ("read_degraded_megabytes_per_s", 1),
            ("read_degraded_two_megabytes_per_s", 2),
            ("read_rebuilding_megabytes_per_s", 1),
            ("read_scrubbing_megabytes_per_s", 1),
        ] {
            assert_eq!(median(key).is_some(), survives >= needs, "{key} {row}");
            assert!(
                median(key).is_none_or(|rate| rate <= healthy),
                "{key} {row}"
            );
        }
    }
}

#[test]
fn all_rows_include_those_that_are_left_out() {
    let arguments = ["--bays", "5", "--drives", TEN, "--survive", "1"];
    let few = json(&arguments);
    let all = json(&[&arguments[..], &["--all"]].concat());
    let left_out = few["answer"]["left_out"].as_u64().unwrap() as usize;
    assert!(left_out > 0);
    assert_eq!(rows(&few).len() + left_out, rows(&all).len());
    let beaten = rows(&all).iter().filter(|r| r["beaten"] == true).count();
    assert_eq!(beaten, left_out);
    for row in rows(&few) {
        assert!(row["buys"].as_str().unwrap().ends_with('.'), "{row}");
        // each sentence is the kept row's own
        assert!(
            rows(&all)
                .iter()
                .any(|r| r["layout"] == row["layout"] && r["buys"] == row["buys"])
        );
    }
    let text = layouts(&[&arguments[..], &["--all"]].concat());
    assert!(text.out.contains("beaten"), "{}", text.out);
}

#[test]
fn a_site_gives_drives_fill_bays_and_nas() {
    let top = json(&[EXAMPLE]);
    assert_eq!(top["answer"]["bays"], 6);
    // what chances of loss rest on is no field of a site
    let assumed = top["assumptions"].as_array().unwrap();
    let fields = assumed
        .iter()
        .filter(|a| !a["id"].as_str().unwrap().starts_with("durability."));
    assert_eq!(fields.count(), 0);
    for row in rows(&top) {
        assert_eq!(row["class"], "hdd-7200");
        assert!(row["price"].is_null());
        assert!(row["drives"].as_u64().unwrap() <= 6);
    }
    // options go before the site
    let top = json(&[
        EXAMPLE,
        "--bays",
        "4",
        "--drives",
        "4 TB ssd-sata, 250 EUR",
        "--fill",
        "80 %",
    ]);
    assert_eq!(top["answer"]["bays"], 4);
    assert!(rows(&top).iter().all(|r| r["class"] == "ssd-sata"));
    // the fuller the slower
    let read = |fill: &str| {
        let top = json(&[EXAMPLE, "--fill", fill, "--all"]);
        let rows = rows(&top).clone();
        let row = rows
            .into_iter()
            .find(|r| r["layout"] == "raid6 6 x 10 TB")
            .unwrap();
        row["read_megabytes_per_s"]["p50"].as_f64().unwrap()
    };
    assert!(read("90 %") < read("20 %"));
}

#[test]
fn without_a_site_what_is_assumed_is_told() {
    let top = json(&["--bays", "2", "--drives", TEN]);
    let assumed: Vec<&str> = top["assumptions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|a| a["id"].as_str().unwrap())
        .collect();
    assert_eq!(
        assumed,
        [
            "array.fill",
            "nas.cpu",
            "durability.failures-a-year.hdd",
            "durability.correlation",
            "durability.unreadable-a-year",
            "durability.scrub-interval"
        ]
    );
}

#[test]
fn choices_come_from_a_table_and_are_not_mixed() {
    let path = file(
        "good",
        "# offers\ndrive,price\n10 TB hdd-7200,240 EUR\n4 TB ssd-sata,250.50 EUR\n",
    );
    let name = path.display().to_string();
    let top = json(&["--bays", "3", "--choices", &name, "--all"]);
    let mut classes: BTreeMap<&str, usize> = BTreeMap::new();
    for row in rows(&top) {
        let class = row["class"].as_str().unwrap();
        *classes.entry(class).or_default() += 1;
        let size = if class == "hdd-7200" { "10 TB" } else { "4 TB" };
        assert!(row["layout"].as_str().unwrap().contains(size));
    }
    // every layout once for each choice
    assert_eq!(classes["hdd-7200"], classes["ssd-sata"]);
    assert_eq!(classes.len(), 2);
    std::fs::remove_file(path).unwrap();
}

#[test]
fn every_cell_of_the_csv_has_its_head_and_markdown_is_a_table() {
    let arguments = [
        "--bays",
        "4",
        "--drives",
        TEN,
        "--need",
        "300 MB/s read at the array with 2 streams",
    ];
    let ran = layouts(&[&arguments[..], &["--format", "csv"]].concat());
    let rows = ran.rows();
    assert!(!rows.is_empty());
    for row in rows {
        assert_eq!(row["currency"], "EUR");
        let euro: f64 = row["price"].parse().unwrap();
        let drives: f64 = row["drives"].parse().unwrap();
        assert!((euro - 240.0 * drives).abs() < 1e-9);
        let chance: f64 = row["chance of 300 MB/s read at the array with 2 streams %"]
            .parse()
            .unwrap();
        assert!((50.0..=100.0).contains(&chance));
    }
    let ran = layouts(&[&arguments[..], &["--format", "markdown"]].concat());
    assert!(ran.out.starts_with("| layout | class |"), "{}", ran.out);
}

#[test]
fn what_cannot_be_read_is_pointed_at() {
    let bad = file("bad", "drive,price\n10 TB hdd-7200,dear\n");
    let bad_name = bad.display().to_string();
    for (arguments, said) in [
        (&["--bays", "4"][..], "no drives to choose from"),
        (&["--drives", TEN], "how many bays"),
        (&["--bays", "0", "--drives", TEN], "from 1 to 100"),
        (
            &["--bays", "4", "--drives", "10 TB hdd-7300"],
            "is no class of drives",
        ),
        (
            &["--bays", "4", "--drives", TEN, "--need", "900 MB/s"],
            "which way",
        ),
        (
            &[
                "--bays",
                "4",
                "--drives",
                TEN,
                "--need",
                "900 MB/s read at cut-1",
            ],
            "narrows budget",
        ),
        (
            &["--bays", "4", "--drives", TEN, "--fill", "0 %"],
            "how full",
        ),
        (&["--bays", "4", "--drives", TEN, "--fill", "60"], "60 %"),
        (
            &[
                "--bays",
                "4",
                "--drives",
                TEN,
                "--drives",
                "8 TB hdd-5400, 150 CHF",
            ],
            "EUR and in CHF",
        ),
        (
            &["--bays", "4", "--drives", TEN, "--drives", "8 TB hdd-5400"],
            "no price for 8 TB hdd-5400",
        ),
        (&["--bays", "4", "--choices", "nothing.csv"], "no such file"),
        (&["--bays", "4", "--choices", &bad_name], "'dear'"),
        (&[EXAMPLE, "--array", "barn"], "no array 'barn'"),
        (
            &["--array", "vault", "--bays", "4", "--drives", TEN],
            "SITE",
        ),
    ] {
        let ran = layouts(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(
            ran.err.contains(said),
            "{arguments:?}: {said} is not in\n{}",
            ran.err
        );
    }
    std::fs::remove_file(bad).unwrap();
}

#[test]
fn shingled_drives_are_warned_of() {
    let ran = layouts(&[
        "--bays",
        "3",
        "--drives",
        "8 TB hdd-smr, 140 EUR",
        "--survive",
        "1",
    ]);
    assert!(ran.out.contains("shingled tracks"), "{}", ran.out);
    let ran = layouts(&["--bays", "3", "--drives", TEN, "--survive", "1"]);
    assert!(!ran.out.contains("shingled"));
}
