//! One question has one answer, whichever command is asked: every example site, every desk, both
//! directions.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails
#![allow(clippy::float_cmp)] // the same to the last printed digit is what is asked

use narrows_tests::{narrows, narrows_reading};
use serde_json::Value;
use std::fmt::Write;

/// Numbers are written at six digits; a time of day hides a digit or two of a length of time.
const CLOCK: f64 = 2e-3;

const SHARES: [&str; 3] = ["p05", "p50", "p95"];

fn answer(arguments: &[&str], input: &str) -> Value {
    let ran = narrows_reading(
        &[arguments, &["--format", "json"]].concat(),
        input.as_bytes(),
    );
    assert!(ran.code < 2, "{arguments:?}: {}{}", ran.err, ran.out);
    serde_json::from_str::<Value>(&ran.out).unwrap()["answer"].take()
}

fn sites() -> Vec<String> {
    narrows_data::SITES
        .iter()
        .map(|(name, _)| format!("data/sites/{name}.toml"))
        .collect()
}

fn range(value: &Value) -> [f64; 3] {
    SHARES.map(|share| value[share].as_f64().unwrap())
}

/// Desk, array, direction and range of all desks of a site.
fn flows(site: &str) -> Vec<(String, String, String, [f64; 3])> {
    flows_of(site, "copy")
}

/// As [`flows`], of any work.
fn flows_of(site: &str, work: &str) -> Vec<(String, String, String, [f64; 3])> {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let found = answer(&["budget", site, "--work", work], "");
    let flows = found["flows"].as_array().unwrap().iter().map(|flow| {
        (
            text(&flow["desk"]),
            text(&flow["array"]),
            text(&flow["direction"]),
            range(&flow["megabytes_per_s"]),
        )
    });
    flows.collect()
}

#[test]
fn verify_a_desk_alone_gets_of_together_what_its_budget_says() {
    for site in sites() {
        for (desk, array, direction, expected) in flows(&site) {
            let mut task = String::new();
            writeln!(task, "[[task]]\ndesk = \"{desk}\"\narray = \"{array}\"").unwrap();
            writeln!(task, "does = \"copy\"\ndirection = \"{direction}\"").unwrap();
            let found = answer(&["together", &site, "--tasks", "-"], &task);
            let found = range(&found["tasks"][0]["megabytes_per_s"]);
            assert_eq!(found, expected, "{site} {desk} {direction}");
        }
    }
}

#[test]
fn verify_a_job_alone_takes_what_the_budget_says() {
    const MEGABYTES: f64 = 100_000.0;
    const BEGINS: f64 = 36_000.0;
    for site in sites() {
        for (desk, array, direction, expected) in flows(&site) {
            let (from, to) = if direction == "read" {
                (&array, &desk)
            } else {
                (&desk, &array)
            };
            let jobs = format!("what;size;from;to;earliest\na;100 GB;{from};{to};10:00\n");
            let found = answer(&["together", &site, "--day", "-"], &jobs);
            let job = &found["day"]["jobs"][0];
            let middle = job["megabytes_per_s"].as_f64().unwrap();
            assert_eq!(middle, expected[1], "{site} {desk} {direction}");
            // the slowest twentieth ends last
            let mut ends = range(&job["ends_s"]);
            ends.reverse();
            for (end, rate) in ends.into_iter().zip(expected) {
                let takes = MEGABYTES / rate;
                let off = (end - BEGINS) / takes - 1.0;
                assert!(
                    off.abs() < CLOCK,
                    "{site} {desk} {direction}: {end} {takes}"
                );
            }
        }
    }
}

#[test]
fn verify_a_desk_that_keeps_its_port_has_the_rates_of_its_budget() {
    for site in sites() {
        let expected = flows(&site);
        let ran = narrows(&["ports", &site, "--format", "json"]);
        if ran.code == 2 {
            // a place with nothing to patch
            assert!(ran.out.contains("\"faults\""), "{site}: {}", ran.out);
            continue;
        }
        let found = answer(&["ports", &site], "");
        for patch in found["patches"].as_array().unwrap() {
            if patch["moves"].as_bool().unwrap() {
                continue;
            }
            for (desk, _, direction, expected) in &expected {
                if patch["desk"] != desk.as_str() {
                    continue;
                }
                let found = range(&patch[format!("{direction}_megabytes_per_s")]);
                assert_eq!(found, *expected, "{site} {desk} {direction}");
            }
        }
    }
}

/// What an explanation expects of each row of a list of readings.
fn expected(site: &str, rows: &[String]) -> Vec<[f64; 3]> {
    let list = format!(
        "desk,what,direction,value,unit,streams\n{}",
        rows.join("\n")
    );
    let found = answer(&["explain", site, "--readings", "-"], &list);
    let readings = found["readings"].as_array().unwrap();
    assert_eq!(readings.len(), rows.len(), "{site}: {list}");
    let ranges = readings
        .iter()
        .map(|r| range(&r["expected_megabytes_per_s"]));
    ranges.collect()
}

#[test]
fn verify_an_explanation_expects_what_the_budget_says() {
    let mut compared = 0;
    for site in sites() {
        let (mut rows, mut said) = (Vec::new(), Vec::new());
        for (work, what) in [
            ("copy", "copy"),
            ("wire", "memory to memory"),
            ("at-the-array", "at the array"),
        ] {
            let flows = flows_of(&site, work);
            for (at, (desk, array, direction, alone)) in flows.iter().enumerate() {
                // of several ways to a NAS the fastest in the middle is taken
                let same = |other: &&(String, String, String, [f64; 3])| {
                    (&other.0, &other.2) == (desk, direction)
                };
                let best = flows
                    .iter()
                    .filter(same)
                    .map(|f| f.3[1])
                    .fold(0.0, f64::max);
                let first = flows.iter().position(|f| same(&f) && f.3[1] == best);
                if first != Some(at) || work == "at-the-array" && *array != flows[0].1 {
                    continue;
                }
                rows.push(format!("{desk},{what},{direction},{},MB/s,1", alone[1]));
                said.push((work, desk.clone(), direction.clone(), *alone));
            }
        }
        for (found, (work, desk, direction, alone)) in expected(&site, &rows).into_iter().zip(said)
        {
            assert_eq!(found, alone, "{site} {work} {desk} {direction}");
            compared += 1;
        }
    }
    assert!(compared > 60, "{compared}");
}

#[test]
fn verify_an_explanation_expects_of_several_copies_what_they_get_together() {
    for site in sites() {
        for (desk, array, direction, _) in flows(&site) {
            let streams = if direction == "read" { 4 } else { 2 };
            let task = format!(
                "[[task]]\ndesk = \"{desk}\"\narray = \"{array}\"\ndoes = \"copy\"\n\
                 direction = \"{direction}\"\n"
            );
            let found = answer(&["together", &site, "--tasks", "-"], &task.repeat(streams));
            let together = range(&found["totals"][0]["megabytes_per_s"]);
            let row = format!("{desk},copy,{direction},{},MB/s,{streams}", together[1]);
            assert_eq!(
                expected(&site, &[row]),
                [together],
                "{site} {desk} {direction} {streams}"
            );
        }
    }
}

#[test]
fn verify_a_layout_gives_what_the_budget_says_at_the_array() {
    // several streams: the heads' cost is that of the middle of the filled part in one and its mean in the other
    const MIDDLES: f64 = 0.05;
    for site in sites() {
        let flows = flows_of(&site, "at-the-array");
        let found = answer(&["layouts", &site, "--all", "--streams", "4"], "");
        let described = answer(&["capacity", &site], "");
        let own = &described["layouts"][0]["layout"];
        let rows = found["layouts"].as_array().unwrap();
        let row = rows.iter().find(|row| row["layout"] == *own);
        let row = row.unwrap_or_else(|| panic!("{site}: {own}"));
        // a budget without a size writes into flash's fast cache, a layout is compared by what comes after it
        let turns = row["class"].as_str().unwrap().starts_with("hdd");
        for (_, _, direction, alone) in flows.iter().take(2) {
            let state = if turns || direction == "read" {
                ""
            } else {
                "_empty"
            };
            let mine = range(&row[format!("{direction}{state}_megabytes_per_s")]);
            assert_eq!(mine, *alone, "{site} {direction}");
        }
        let four = expected(&site, &[",at the array,read,100,MB/s,4".to_owned()]);
        let mine = range(&row["read_streams_megabytes_per_s"]);
        for (mine, four) in mine.into_iter().zip(four[0]) {
            assert!((mine / four - 1.0).abs() < MIDDLES, "{site}: {mine} {four}");
        }
    }
}
