//! Keys of the JSON answers: a contract with other programs.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{narrows, root};
use serde_json::Value;
use std::collections::BTreeSet;

mod desks;
mod planning;
mod sharing;

const EXAMPLE: &str = "data/sites/granary-lane.toml";
const WHOLE: &str = "data/sites/granary-lane-whole.toml";
const JOBS: &str = "data/jobs/granary-lane.csv";
const TASKS: &str = "data/tasks/granary-lane.toml";

fn json(arguments: &[&str]) -> Value {
    let ran = narrows(arguments);
    assert!(ran.code <= 1, "{}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

fn keys(value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                found.insert(key.clone());
                keys(inner, found);
            }
        }
        Value::Array(items) => items.iter().for_each(|i| keys(i, found)),
        _ => {}
    }
}

fn has(value: &Value, expected: &[&str]) {
    for key in expected {
        assert!(value.get(key).is_some(), "{key} is missing in {value}");
    }
}

/// One run or more of each command, so that every key that there is comes out once.
#[allow(clippy::too_many_lines)] // one list
fn every_command() -> Vec<&'static [&'static str]> {
    vec![
        &["budget", EXAMPLE, "--format", "json"],
        &["budget", EXAMPLE, "--size", "200 GB", "--format", "json"],
        &["budget", EXAMPLE, "--need", "100 MB/s", "--format", "json"],
        &[
            "budget",
            EXAMPLE,
            "--set",
            "nas.store.signed=plain",
            "--format",
            "json",
        ],
        &["capacity", EXAMPLE, "raidz2 6 x 10 TB", "--format", "json"],
        &[
            "capacity", "--need", "60 TB", "--drives", "10 TB", "--format", "json",
        ],
        &["cable", EXAMPLE, "--format", "json"],
        &[
            "cable",
            "data/jacks/granary-lane.csv",
            "twinax 3 m",
            "--need",
            "1 Gb/s",
            "--power-budget",
            "90 W",
            "--format",
            "json",
        ],
        &["check", EXAMPLE, "--format", "json"],
        &[
            "explain",
            EXAMPLE,
            "--measured",
            "cut-1 copy write 110 MB/s",
            "--measured",
            "another computer is faster",
            "--format",
            "json",
        ],
        &["facts", "--format", "json"],
        &[
            "measure",
            "machine",
            "--root",
            "tests/machines/cut-1",
            "--site",
            EXAMPLE,
            "--desk",
            "cut-1",
            "--format",
            "json",
        ],
        &["growth", WHOLE, "--need", "90 d", "--format", "json"],
        &["backup", WHOLE, "--need", "3 d", "--format", "json"],
        &[
            "backup",
            WHOLE,
            "--move",
            "raidz2 6 x 14 TB",
            "--format",
            "json",
        ],
        &[
            "outage",
            WHOLE,
            "--gap",
            "10 min",
            "--times",
            "2",
            "--pause",
            "20 min",
            "--need",
            "15 min",
            "--generator",
            "45 s",
            "--format",
            "json",
        ],
        &["layouts", EXAMPLE, "--need", "30 TB", "--format", "json"],
        &[
            "ports",
            EXAMPLE,
            "--jacks",
            "data/jacks/closet.csv",
            "--tasks",
            "data/tasks/granary-lane.toml",
            "--format",
            "json",
        ],
        &[
            "buy",
            EXAMPLE,
            "--offers",
            "data/offers/granary-lane.toml",
            "--spend",
            "500 EUR",
            "--need",
            "100 MB/s",
            "--format",
            "json",
        ],
        &[
            "together",
            EXAMPLE,
            "--tasks",
            TASKS,
            "--need",
            "5 MB/s",
            "--set",
            "task.7.held-to=20 MB/s",
            "--format",
            "json",
        ],
        &["together", EXAMPLE, "--day", JOBS, "--format", "json"],
        &["wireless", WHOLE, "--place", "2", "--format", "json"],
        &[
            "together",
            EXAMPLE,
            "--tasks",
            "data/tasks/pictures.toml",
            "--format",
            "json",
        ],
        &[
            "layouts",
            "--bays",
            "2",
            "--drives",
            "10 TB hdd-7200, 240 EUR",
            "--need",
            "2 GB/s read at the array",
            "--format",
            "json",
        ],
    ]
}

#[test]
fn every_key_is_documented() {
    let docs = std::fs::read_to_string(root().join("docs/json.md")).unwrap();
    let mut found = BTreeSet::new();
    for arguments in every_command() {
        keys(&json(arguments), &mut found);
    }
    for key in found {
        assert!(
            docs.contains(&format!("`{key}`")),
            "{key} is not in docs/json.md"
        );
    }
}

#[test]
fn numbers_have_at_most_six_digits() {
    let ran = narrows(&["budget", EXAMPLE, "--format", "json"]);
    for token in ran.out.split([' ', ',', '\n']) {
        if let Ok(number) = token.parse::<f64>() {
            let mantissa = token.split('e').next().unwrap_or_default();
            let digits = mantissa
                .trim_start_matches(['0', '.'])
                .bytes()
                .filter(u8::is_ascii_digit)
                .count();
            assert!(
                digits <= 6 || (number - number.trunc()).abs() < f64::EPSILON,
                "{token}"
            );
        }
    }
}
