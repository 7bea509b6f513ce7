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
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let found = answer(&["budget", site], "");
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
