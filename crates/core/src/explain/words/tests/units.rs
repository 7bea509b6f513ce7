use super::*;
use crate::explain::{Amount, Meaning, RateUnit, Units};
use crate::quantity::{DataRate, Measure};
use std::collections::BTreeMap;

/// Sums of whole percents as shares.
const SHARES: f64 = 1e-12;

fn meanings(text: &str) -> Vec<Meaning> {
    match reading(text).amount {
        Amount::Rate(rate) => rate.meanings,
        other => panic!("{text}: {other:?}"),
    }
}

fn of(text: &str, unit: RateUnit) -> Meaning {
    let all = meanings(text);
    let found = all.iter().find(|meaning| meaning.unit == unit);
    *found.unwrap_or_else(|| panic!("{text} has no {}", unit.word()))
}

#[test]
fn validate_a_value_is_shown_in_all_three_units() {
    // 112 MiB/s = 112 x 2^20 B/s: IEC 80000-13
    let rate = DataRate::from_base(117_440_512.0);
    let shown = RateUnit::ALL.map(|unit| unit.count(rate));
    for (number, expected) in shown.into_iter().zip([117.440512, 112.0, 939.524096]) {
        approx::assert_relative_eq!(number, expected, max_relative = SHARES);
    }
}

#[test]
fn weights_of_every_way_to_write_a_unit_add_up() {
    let mut sums: BTreeMap<(String, String), f64> = BTreeMap::new();
    let units = Units::embedded().unwrap();
    for row in units.rows() {
        *sums
            .entry((row.context.clone(), row.written.clone()))
            .or_default() += row.percent;
        assert!(row.source.starts_with("judgement: "), "{row:?}");
        // the text says another unit exactly where a unit is written and it is another
        let clear =
            row.written.ends_with("B/s") || row.written.ends_with("Mb/s") || row.written == "Gb/s";
        assert_eq!(row.slip, clear && row.written != row.meaning, "{row:?}");
    }
    assert_eq!(sums.len(), 3 * 11 + 1);
    for (row, sum) in sums {
        assert!((sum - 100.0).abs() < SHARES, "{row:?}: {sum}");
    }
}

#[test]
fn every_way_to_write_a_unit_has_its_meanings() {
    for unit in [
        "",
        "MB/s",
        "MBps",
        "MByte/s",
        "megabytes per second",
        "MiB/s",
        "Mb/s",
        "Mbit/s",
        "Mbps",
        "mb/s",
        "mbs",
        "MBPS",
        "mbps",
        "kB/s",
        "kbit/s",
        "GB/s",
        "GiB/s",
        "Gb/s",
        "gbps",
        "gb/s",
        "B/s",
        "meg",
        "mebibytes/s",
        "Mibit/s",
    ] {
        for what in ["copy", "raw tcp", "local array", "local disk", "many files"] {
            let text = format!("{what} read 112 {unit}");
            let all = meanings(&text);
            let sum: f64 = all.iter().map(|meaning| meaning.weight).sum();
            assert!((sum - 1.0).abs() < SHARES, "{text}: {sum}");
            assert!(
                all.windows(2).all(|pair| pair[0].weight >= pair[1].weight),
                "{text}"
            );
        }
    }
}

#[test]
fn a_unit_in_the_wrong_case_says_neither() {
    for text in ["112 mbs", "112 mb/s", "112 mB/s", "112 MBPS", "112 mbps"] {
        for unit in RateUnit::ALL {
            assert!(!of(text, unit).slip, "{text}");
        }
        // bits and bytes are an eighth of each other
        let (bytes, bits) = (of(text, RateUnit::Megabytes), of(text, RateUnit::Megabits));
        let eighth = 8.0 * bits.middle.base();
        approx::assert_relative_eq!(bytes.middle.base(), eighth, max_relative = SHARES);
    }
}

#[test]
fn a_unit_that_is_not_what_is_meant_is_a_slip() {
    assert!(!of("112 Mb/s", RateUnit::Megabits).slip);
    assert!(of("112 Mb/s", RateUnit::Megabytes).slip);
    assert!(of("112 MB/s", RateUnit::Mebibytes).slip);
    assert!(of("112 MB/s", RateUnit::Megabits).slip);
    assert!(!of("112", RateUnit::Megabits).slip);
    // a test of the network prints bits, a dialog bytes
    assert_eq!(meanings("raw tcp 940")[0].unit, RateUnit::Megabits);
    assert_eq!(meanings("copy 940")[0].unit, RateUnit::Megabytes);
}

#[test]
fn scales_go_with_their_unit() {
    let middle = |text: &str, unit| of(text, unit).middle.base();
    for (text, unit, expected) in [
        ("1 GB/s", RateUnit::Megabytes, 1e9),
        ("1 GB/s", RateUnit::Mebibytes, 1_073_741_824.0),
        ("1 GB/s", RateUnit::Megabits, 1.25e8),
        ("1 kB/s", RateUnit::Mebibytes, 1024.0),
        ("8 Mibit/s", RateUnit::Megabits, 1_048_576.0),
        ("raw tcp 9.4", RateUnit::Megabits, 9.4e9 / 8.0),
    ] {
        approx::assert_relative_eq!(middle(text, unit), expected, max_relative = SHARES);
    }
}

#[test]
fn rows_that_say_nothing_are_refused() {
    let head = "context,written,meaning,percent,slip,source\n";
    for (row, problem) in [
        (
            "files,MB/s,furlongs,100,no,judgement",
            "'furlongs' is no unit of a rate",
        ),
        (
            "files,MB/s,MB/s,100,perhaps,judgement",
            "'perhaps' is neither yes nor no",
        ),
        ("files,MB/s,MB/s,100,no,", "field 6 is empty"),
    ] {
        let fault = Units::read("x.csv", &format!("{head}{row}\n")).unwrap_err();
        assert_eq!(fault.to_string(), format!("x.csv:2: {problem}"));
    }
}
