//! What keeps the pictures: exit codes, formats and faults of outage, growth and backup.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{narrows, root};

const WHOLE: &str = "data/sites/granary-lane-whole.toml";
const BARE: &str = "data/sites/granary-lane.toml";

#[test]
fn what_the_site_does_not_describe_is_asked_for() {
    for (command, part) in [
        ("outage", "[supply.closet]"),
        ("growth", "[project]"),
        ("backup", "[copy.shelf]"),
    ] {
        let ran = narrows(&[command, BARE]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{command}");
        assert!(ran.err.contains(part), "{}", ran.err);
    }
}

#[test]
fn a_need_that_is_not_met_ends_with_one() {
    let code = |arguments: &[&str]| narrows(arguments).code;
    assert_eq!(code(&["outage", WHOLE, "--need", "10 h"]), 1);
    assert_eq!(code(&["growth", WHOLE, "--need", "3650 d"]), 1);
    assert_eq!(code(&["growth", WHOLE, "--need", "1 d"]), 0);
    assert_eq!(code(&["backup", WHOLE, "--need", "1 h"]), 1);
    assert_eq!(code(&["backup", WHOLE, "--need", "60 d"]), 0);
    assert_eq!(code(&["backup", WHOLE, "--move", "raid1 2 x 4 TB"]), 1);
}

#[test]
fn options_that_say_nothing_are_refused() {
    for (arguments, words) in [
        (["outage", WHOLE, "--gap", "ten"], "--gap 'ten'"),
        (["outage", WHOLE, "--need", "0 s"], "begins at zero"),
        (["backup", WHOLE, "--move", "raid9 6 x 14 TB"], "raid9"),
        (
            ["growth", WHOLE, "--readings", "data/jobs/granary-lane.csv"],
            "no readings",
        ),
    ] {
        let ran = narrows(&arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(words), "{}", ran.err);
    }
    let seasons = ["growth", WHOLE, "--from", "3", "--seasons", "1,2,3"];
    let ran = narrows(&seasons);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("twelve"), "{}", ran.err);
}

#[test]
fn readings_of_the_fill_beat_the_project() {
    let ran = narrows(&["growth", WHOLE, "--readings", "data/fill/granary-lane.csv"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out
            .contains("by 6 readings of the fill a month brings 1.69 TB"),
        "{}",
        ran.out
    );
}

#[test]
fn every_format_has_the_same_copies() {
    let rows = |format: &str| narrows(&["backup", WHOLE, "--format", format]).out;
    for name in ["hourly", "cellar", "shelf"] {
        for format in ["text", "json", "csv", "markdown"] {
            assert!(rows(format).contains(name), "{name} in {format}");
        }
    }
    assert_eq!(rows("csv").lines().count(), 4);
}

#[test]
fn copies_run_beside_a_day() {
    let ran = narrows(&["backup", WHOLE, "--day", "data/jobs/granary-lane.csv"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("jobs of the day"), "{}", ran.out);
}

/// What keeps the pictures moves no answer about rates.
#[test]
fn rates_are_those_of_the_place_without_what_keeps_it() {
    let flows = |site: &str| -> serde_json::Value {
        let ran = narrows(&["budget", site, "--format", "json"]);
        let whole: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        whole["answer"]["flows"].clone()
    };
    assert!(root().join(WHOLE).exists());
    // its laptops come on top
    let (whole, bare) = (flows(WHOLE), flows(BARE));
    let (whole, bare) = (whole.as_array().unwrap(), bare.as_array().unwrap());
    let desks: Vec<_> = bare.iter().map(|flow| &flow["desk"]).collect();
    let same: Vec<_> = whole
        .iter()
        .filter(|flow| desks.contains(&&flow["desk"]))
        .collect();
    assert_eq!(same, bare.iter().collect::<Vec<_>>());
}
