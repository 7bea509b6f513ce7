//! Answers against the schemas that the program prints, by a small validator of the words that they use
//! (JSON Schema 2020-12: type, const, properties, required, additionalProperties, items).
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{narrows, narrows_reading};
use serde_json::{Value, json};

const LANE: &str = "data/sites/granary-lane.toml";
const WHOLE: &str = "data/sites/granary-lane-whole.toml";

/// Words that a schema of ours may use; one more would be a rule that nobody holds answers to.
const WORDS: [&str; 8] = [
    "$schema",
    "title",
    "type",
    "const",
    "properties",
    "required",
    "additionalProperties",
    "items",
];

fn schema(of: &str) -> Value {
    let ran = narrows(&["schema", of]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

fn is(kind: &str, value: &Value) -> bool {
    match kind {
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        "number" => value.is_number(),
        "string" => value.is_string(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        _ => false,
    }
}

/// Everything that is wrong, each with its path.
fn faults(schema: &Value, value: &Value, at: &str, found: &mut Vec<String>) {
    for word in schema.as_object().unwrap().keys() {
        assert!(
            WORDS.contains(&word.as_str()),
            "{at}: the schema says '{word}'"
        );
    }
    if let Some(only) = schema.get("const")
        && only != value
    {
        found.push(format!("{at} is {value} and not {only}"));
    }
    let kinds: Vec<&str> = match schema.get("type") {
        Some(Value::String(one)) => vec![one],
        Some(Value::Array(several)) => several.iter().map(|k| k.as_str().unwrap()).collect(),
        _ => Vec::new(),
    };
    if !kinds.is_empty() && !kinds.iter().any(|kind| is(kind, value)) {
        found.push(format!("{at} is {value} and not {}", kinds.join(" or ")));
    }
    if let Value::Object(map) = value {
        let properties = schema.get("properties").and_then(Value::as_object);
        for (key, inner) in map {
            match properties.and_then(|p| p.get(key)) {
                Some(rule) => faults(rule, inner, &format!("{at}/{key}"), found),
                None if schema.get("additionalProperties") == Some(&Value::Bool(false)) => {
                    found.push(format!("{at}/{key} is in no schema"));
                }
                None => {}
            }
        }
        for key in schema
            .get("required")
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
        {
            if !map.contains_key(key.as_str().unwrap()) {
                found.push(format!("{at} lacks {key}"));
            }
        }
    }
    if let (Value::Array(items), Some(rule)) = (value, schema.get("items")) {
        for (index, item) in items.iter().enumerate() {
            faults(rule, item, &format!("{at}/{index}"), found);
        }
    }
}

fn all_faults(schema: &Value, value: &Value) -> Vec<String> {
    let mut found = Vec::new();
    faults(schema, value, "", &mut found);
    found
}

/// Answers of every command; of most an ordinary one and one that leaves much out or adds something.
fn answers() -> Vec<(&'static str, Vec<&'static str>)> {
    vec![
        ("backup", vec!["backup", WHOLE, "--need", "2 d"]),
        (
            "budget",
            vec!["budget", LANE, "--desk", "colour", "--size", "50 GB"],
        ),
        (
            "budget",
            vec!["budget", WHOLE, "--set", "nas.store.encrypted=yes"],
        ),
        ("budget", vec!["budget", LANE, "--plays", "--desk", "sound"]),
        (
            "budget",
            vec![
                "budget",
                "data/sites/laptop-adapter.toml",
                "--compare",
                LANE,
            ],
        ),
        (
            "budget",
            vec!["budget", "--array", "raid1 2 x 8 TB", "--need", "100 MB/s"],
        ),
        (
            "buy",
            vec!["buy", LANE, "--offer", "10 Gb/s card for colour, 90 EUR"],
        ),
        (
            "buy",
            vec!["buy", "data/sites/flash-array.toml", "--spend", "1 EUR"],
        ),
        (
            "cable",
            vec!["cable", "cat6 70 m", "fibre om4 90 m", "--need", "10 Gb/s"],
        ),
        (
            "capacity",
            vec!["capacity", "raidz1 5 x 8 TB", "raid10 4 x 4 TB"],
        ),
        (
            "capacity",
            vec![
                "capacity",
                "--need",
                "90 TB comfortable",
                "--drives",
                "18 TB",
            ],
        ),
        ("check", vec!["check", "data/sites/flash-array.toml"]),
        (
            "day",
            vec!["together", LANE, "--day", "data/jobs/granary-lane.csv"],
        ),
        (
            "explain",
            vec!["explain", LANE, "--measured", "sound read 11 MB/s"],
        ),
        ("facts", vec!["facts", "pcie"]),
        ("growth", vec!["growth", WHOLE]),
        (
            "layouts",
            vec![
                "layouts",
                "--bays",
                "4",
                "--drives",
                "8 TB hdd-5400, 150 EUR",
            ],
        ),
        (
            "layouts",
            vec![
                "layouts", "--bays", "3", "--drives", "8 TB", "--need", "90 TB",
            ],
        ),
        ("outage", vec!["outage", WHOLE, "--gap", "2 min"]),
        (
            "ports",
            vec!["ports", LANE, "--tasks", "data/tasks/granary-lane.toml"],
        ),
        (
            "together",
            vec!["together", LANE, "--tasks", "data/tasks/pictures.toml"],
        ),
        (
            "together",
            vec![
                "together",
                "data/sites/flash-array.toml",
                "--direction",
                "write",
            ],
        ),
        ("wireless", vec!["wireless", WHOLE]),
    ]
}

#[test]
fn every_answer_is_as_its_schema_says() {
    for (of, arguments) in answers() {
        let ran = narrows(&[&arguments[..], &["--format", "json"]].concat());
        assert!(ran.code <= 1, "{arguments:?}: {}", ran.err);
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        let found = all_faults(&schema(of), &answer);
        assert!(found.is_empty(), "{arguments:?}\n{}", found.join("\n"));
    }
}

#[test]
fn faults_are_as_their_schema_says() {
    let broken = b"[desk.a]\nport.a = { rate = \"1 Gbs\" }\nlenght = 3\n";
    let ran = narrows_reading(&["budget", "-", "--format", "json"], broken);
    assert_eq!(ran.code, 2);
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(all_faults(&schema("faults"), &answer), Vec::<String>::new());
}

#[test]
fn the_validator_finds_what_is_wrong() {
    let rule = json!({
        "type": "object",
        "properties": { "a": { "type": ["number", "null"] }, "b": { "type": "array", "items": { "type": "string" } } },
        "required": ["a"],
        "additionalProperties": false
    });
    assert!(all_faults(&rule, &json!({ "a": 1, "b": ["x"] })).is_empty());
    assert!(all_faults(&rule, &json!({ "a": null })).is_empty());
    for wrong in [
        json!({ "a": "1" }),
        json!({ "b": [] }),
        json!({ "a": 1, "b": [2] }),
        json!({ "a": 1, "c": 2 }),
        json!([]),
    ] {
        assert_eq!(all_faults(&rule, &wrong).len(), 1, "{wrong}");
    }
    let mut answer: Value =
        serde_json::from_str(&narrows(&["budget", LANE, "--format", "json"]).out).unwrap();
    answer["answer"]["flows"][0]["megabytes_per_s"]["p50"] = json!("fast");
    answer["answer"]["flows"][1]
        .as_object_mut()
        .unwrap()
        .remove("limits");
    assert_eq!(all_faults(&schema("budget"), &answer).len(), 2);
}

#[test]
fn the_schema_of_a_site_is_there_and_others_are_refused() {
    let site = schema("site");
    assert!(site["properties"]["desk"].is_object());
    let ran = narrows(&["schema", "budgets"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("budget, buy"), "{}", ran.err);
}
