//! Keys of the JSON answers: a contract with other programs.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{narrows, root};
use serde_json::Value;
use std::collections::BTreeSet;

const EXAMPLE: &str = "data/sites/granary-lane.toml";
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

#[test]
fn budget_has_the_promised_keys() {
    let top = json(&["budget", EXAMPLE, "--format", "json"]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "warnings",
            "assumptions",
            "answer",
        ],
    );
    assert_eq!(top["command"], "budget");
    let flows = top["answer"]["flows"].as_array().unwrap();
    assert_eq!(flows.len(), 10);
    for flow in flows {
        has(
            flow,
            &[
                "desk",
                "array",
                "port",
                "work",
                "direction",
                "megabytes_per_s",
                "branches",
                "limits",
                "hops",
                "unknowns",
            ],
        );
        assert_eq!(flow["work"], "copy");
        assert!(["read", "write"].contains(&flow["direction"].as_str().unwrap()));
        let rate = &flow["megabytes_per_s"];
        has(rate, &["p05", "p50", "p95"]);
        assert!(rate["p05"].as_f64() <= rate["p50"].as_f64());
        assert!(rate["p50"].as_f64() <= rate["p95"].as_f64());
        for branch in flow["branches"].as_array().unwrap() {
            has(branch, &["when", "probability", "megabytes_per_s"]);
        }
        let mut sum = 0.0;
        for limit in flow["limits"].as_array().unwrap() {
            has(limit, &["hops", "share"]);
            sum += limit["share"].as_f64().unwrap();
            let hops: Vec<&str> = flow["hops"]
                .as_array()
                .unwrap()
                .iter()
                .map(|h| h["id"].as_str().unwrap())
                .collect();
            for id in limit["hops"].as_array().unwrap() {
                assert!(hops.contains(&id.as_str().unwrap()));
            }
        }
        // shares are written at six digits
        assert!((sum - 1.0).abs() < 1e-4, "{sum}");
        for hop in flow["hops"].as_array().unwrap() {
            has(hop, &["id", "kind", "ceiling_megabytes_per_s"]);
            has(&hop["ceiling_megabytes_per_s"], &["p05", "p50", "p95"]);
        }
        for unknown in flow["unknowns"].as_array().unwrap() {
            has(unknown, &["id", "share"]);
        }
    }
    let play = json(&["budget", EXAMPLE, "--work", "play", "--format", "json"]);
    assert_eq!(play["answer"]["flows"][0]["work"], "play");
}

#[test]
fn a_long_copy_says_where_it_slows_down() {
    let top = json(&["budget", EXAMPLE, "--size", "400 GB", "--format", "json"]);
    let mut met = BTreeSet::new();
    for flow in top["answer"]["flows"].as_array().unwrap() {
        let transfer = &flow["transfer"];
        has(
            transfer,
            &[
                "size",
                "fits_probability",
                "drops_probability",
                "drops_after",
                "because",
                "folds_probability",
                "slowdowns",
            ],
        );
        for key in [
            "first_megabytes_per_s",
            "later_megabytes_per_s",
            "mean_megabytes_per_s",
            "dialog_closes_s",
            "data_safe_s",
        ] {
            has(&transfer[key], &["p05", "p50", "p95"]);
        }
        let chance = |of: &Value| of.as_f64().unwrap();
        let drops = chance(&transfer["drops_probability"]);
        for slow in transfer["slowdowns"].as_array().unwrap() {
            has(slow, &["what", "because", "probability", "after"]);
            has(&slow["after_s"], &["p05", "p50", "p95"]);
            has(&slow["megabytes_per_s"], &["p05", "p50", "p95"]);
            let what = slow["what"].as_str().unwrap();
            met.insert(what.to_owned());
            let one = chance(&slow["probability"]);
            assert!(one > 0.0 && one <= drops, "{slow}");
            if what == "folding" {
                assert_eq!(slow["probability"], transfer["folds_probability"]);
            }
        }
    }
    let met: Vec<&str> = met.iter().map(String::as_str).collect();
    assert_eq!(met, ["cache-full", "folding", "memory-full"]);
}

#[test]
fn a_change_has_both_sides() {
    let top = json(&[
        "budget",
        EXAMPLE,
        "--set",
        "nas.store.signed=plain",
        "--format",
        "json",
    ]);
    let (before, after) = (
        &top["answer"]["before"]["flows"],
        &top["answer"]["after"]["flows"],
    );
    assert_eq!(
        before.as_array().unwrap().len(),
        after.as_array().unwrap().len()
    );
    has(
        &top["answer"]["changes"][0],
        &["desk", "factor_p50", "noticeable"],
    );
}

#[test]
fn capacity_has_the_promised_keys() {
    let top = json(&["capacity", EXAMPLE, "raidz2 6 x 10 TB", "--format", "json"]);
    has(&top, &["version", "command", "cautions", "answer"]);
    let layouts = top["answer"]["layouts"].as_array().unwrap();
    assert_eq!(layouts.len(), 2);
    assert_eq!(layouts[0]["array"], "vault");
    for layout in layouts {
        let bytes = |key: &str| layout[format!("{key}_bytes")].as_u64().unwrap();
        let parts = [
            "redundancy",
            "padding",
            "spares",
            "unused",
            "metadata",
            "reserve",
            "usable",
        ];
        assert_eq!(parts.into_iter().map(bytes).sum::<u64>(), bytes("raw"));
        assert!(bytes("comfortable") < bytes("usable"));
        for unused in layout["unused"].as_array().unwrap() {
            has(unused, &["why", "bytes"]);
        }
    }
    let turned = json(&[
        "capacity", "--need", "60 TB", "--drives", "10 TB", "--format", "json",
    ]);
    let answer = &turned["answer"];
    assert_eq!(answer["met"], true);
    let need = answer["need_bytes"].as_u64().unwrap();
    for kind in answer["kinds"].as_array().unwrap() {
        has(kind, &["kind", "smallest", "near_miss", "nearest"]);
        // one or the other is told of every kind
        assert_ne!(kind["smallest"].is_null(), kind["nearest"].is_null());
        if let Some(usable) = kind["smallest"]["usable_bytes"].as_u64() {
            let over = kind["smallest"]["over_bytes"].as_u64().unwrap();
            assert_eq!(need + over, usable);
        }
        if let Some(usable) = kind["near_miss"]["usable_bytes"].as_u64() {
            let short = kind["near_miss"]["short_bytes"].as_u64().unwrap();
            assert_eq!(usable + short, need);
            assert!(short * 50 <= need);
        }
    }
}

#[test]
fn layouts_have_the_promised_keys() {
    let top = json(&["layouts", EXAMPLE, "--need", "30 TB", "--format", "json"]);
    has(
        &top,
        &["version", "command", "assumptions", "cautions", "answer"],
    );
    assert_eq!(top["command"], "layouts");
    let said = top["cautions"].to_string();
    assert!(said.contains("no promise") && said.contains("not a backup"));
    has(
        &top["answer"],
        &[
            "bays",
            "streams",
            "survive",
            "met",
            "order",
            "looked_at",
            "left_out",
            "layouts",
            "nearest",
            "near_misses",
        ],
    );
    for row in top["answer"]["layouts"].as_array().unwrap() {
        has(
            row,
            &[
                "layout",
                "class",
                "drives",
                "spares",
                "survives_any",
                "usable_bytes",
                "comfortable_bytes",
                "read_empty_megabytes_per_s",
                "read_megabytes_per_s",
                "write_empty_megabytes_per_s",
                "write_megabytes_per_s",
                "read_streams_megabytes_per_s",
                "write_streams_megabytes_per_s",
                "read_degraded_megabytes_per_s",
                "rebuild_s",
                "array_lost_a_year",
                "lost_to_drives_a_year",
                "lost_to_common_causes_a_year",
                "file_damaged_a_year",
                "price",
                "price_per_terabyte",
                "needs",
                "beaten",
                "same_figures",
                "buys",
            ],
        );
        has(
            &row["array_lost_a_year"],
            &["optimistic", "typical", "pessimistic"],
        );
        has(
            &row["needs"][0],
            &[
                "need",
                "met",
                "probability",
                "short_share",
                "has_bytes",
                "has_megabytes_per_s",
            ],
        );
        // degraded never beats healthy
        if let Some(degraded) = row["read_degraded_megabytes_per_s"]["p50"].as_f64() {
            assert!(degraded <= row["read_megabytes_per_s"]["p50"].as_f64().unwrap());
        }
    }
}

#[test]
fn cable_has_the_promised_keys() {
    let top = json(&[
        "cable",
        "data/jacks/granary-lane.csv",
        "twinax 3 m",
        "--need",
        "1 Gb/s",
        "--format",
        "json",
    ]);
    let all = [
        "version",
        "command",
        "site",
        "assumptions",
        "cautions",
        "answer",
    ];
    has(&top, &all);
    assert_eq!(top["command"], "cable");
    let power = &top["answer"]["power"];
    let (reserved, drawn) = (&power["reserved_watts"], &power["drawn_watts"]);
    assert!(reserved.as_f64() >= drawn.as_f64());
    for run in top["answer"]["runs"].as_array().unwrap() {
        has(run, &["run", "medium", "length_m", "holds_megabits_per_s"]);
        has(&run["need"], &["link_megabits_per_s", "probability", "met"]);
        let copper = run["medium"] == "copper";
        assert_eq!(!run["rates"].as_array().unwrap().is_empty(), copper);
        for rate in run["rates"].as_array().unwrap() {
            has(rate, &["link_megabits_per_s", "upgraded"]);
            let what = ["what", "use_megabits_per_s", "holds_probability"];
            has(&rate["best_improvement"], &what);
            let today = &rate["today"];
            let state = ["standing", "margin_db", "noise_shares"];
            has(today, &state);
            let (links, holds) = (&today["links_probability"], &today["holds_probability"]);
            assert!(holds.as_f64().unwrap() <= links.as_f64().unwrap());
            let margin = &today["margin_db"];
            assert_eq!(margin.is_null(), today["standing"] != "modelled");
            if !margin.is_null() {
                assert!(margin["p05"].as_f64() < margin["p50"].as_f64());
                assert!(margin["p50"].as_f64() < margin["p95"].as_f64());
            }
        }
        if !run["power"].is_null() {
            let keys = [
                "class",
                "source_watts",
                "guaranteed_watts",
                "expected_watts",
                "lost_watts",
                "bundle_warmer_k",
                "refused",
            ];
            has(&run["power"], &keys);
        }
    }
}

#[test]
fn ports_have_the_promised_keys() {
    let jacks = "data/jacks/closet.csv";
    let tasks = "data/tasks/granary-lane.toml";
    let top = json(&[
        "ports", EXAMPLE, "--jacks", jacks, "--tasks", tasks, "--format", "json",
    ]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "assumptions",
            "cautions",
            "answer",
        ],
    );
    assert_eq!(top["command"], "ports");
    let answer = &top["answer"];
    has(
        answer,
        &[
            "met",
            "waits_today_s",
            "waits_s",
            "assumed_bytes_a_day",
            "relieved",
            "given_up",
            "not_patched",
            "spare_jacks",
            "free_ports",
        ],
    );
    for patch in answer["patches"].as_array().unwrap() {
        has(
            patch,
            &[
                "desk",
                "jack",
                "run",
                "panel_port",
                "room",
                "traced",
                "moves",
            ],
        );
        has(&patch["port"], &["switch", "port", "link_megabits_per_s"]);
        has(&patch["today"], &["switch", "port", "link_megabits_per_s"]);
        for link in patch["links"].as_array().unwrap() {
            has(link, &["link_megabits_per_s", "probability"]);
        }
        has(&patch["read_megabytes_per_s"], &["p05", "p50", "p95"]);
        has(&patch["write_megabytes_per_s"], &["p05", "p50", "p95"]);
    }
    for stream in answer["streams"].as_array().unwrap() {
        has(
            stream,
            &[
                "desk",
                "does",
                "direction",
                "needs_megabytes_per_s",
                "gets_megabytes_per_s",
                "own_link_probability",
                "full",
                "met",
            ],
        );
    }
    let shared = answer["shared_links"].as_array().unwrap();
    assert!(!shared.is_empty());
    for link in shared {
        has(
            link,
            &[
                "run",
                "between",
                "direction",
                "carries_megabytes_per_s",
                "wanted_megabytes_per_s",
            ],
        );
    }
}

#[test]
fn purchases_have_the_promised_keys() {
    let offers = "data/offers/granary-lane.toml";
    let top = json(&["buy", EXAMPLE, "--offers", offers, "--format", "json"]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "assumptions",
            "cautions",
            "answer",
        ],
    );
    assert_eq!(top["command"], "buy");
    let answer = &top["answer"];
    has(
        answer,
        &[
            "met",
            "needs",
            "spend",
            "need_megabytes_per_s",
            "assumed_bytes_a_day",
            "looked_at",
            "fell_out",
            "first",
            "best",
        ],
    );
    let mut rows = vec![&answer["today"]];
    rows.extend(answer["purchases"].as_array().unwrap());
    assert!(rows.len() > 2);
    for row in rows {
        has(
            row,
            &[
                "offers",
                "price",
                "desks_met",
                "helps_probability",
                "beats_probability",
            ],
        );
        has(&row["price"], &["hundredths", "currency"]);
        assert!(row["price"]["hundredths"].is_i64());
        for key in ["waits_s", "saves_s"] {
            has(&row[key], &["mean", "p05", "p50", "p95"]);
        }
        for desk in row["desks"].as_array().unwrap() {
            has(
                desk,
                &[
                    "desk",
                    "read_megabytes_per_s",
                    "write_megabytes_per_s",
                    "waits_s",
                    "met_probability",
                ],
            );
        }
    }
    for offer in answer["offers"].as_array().unwrap() {
        has(offer, &["id", "label", "price", "helps", "with", "why"]);
    }
}

#[test]
fn together_has_the_promised_keys() {
    let top = json(&["together", EXAMPLE, "--tasks", TASKS, "--format", "json"]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "warnings",
            "assumptions",
            "cautions",
            "answer",
        ],
    );
    assert_eq!(top["command"], "together");
    let answer = &top["answer"];
    assert_eq!(answer["from_tasks"], true);
    let tasks = answer["tasks"].as_array().unwrap();
    assert_eq!(tasks.len(), 7);
    for task in tasks {
        has(
            task,
            &[
                "id",
                "desk",
                "does",
                "array",
                "port",
                "direction",
                "material",
                "because",
                "demand_megabytes_per_s",
                "held_to_megabytes_per_s",
                "megabytes_per_s",
                "alone_megabytes_per_s",
                "short_probability",
                "short_by_megabytes_per_s",
                "limits",
            ],
        );
        // a task has a deadline or it has none
        assert_eq!(
            task["demand_megabytes_per_s"].is_null(),
            task["short_probability"].is_null()
        );
        let mut sum = 0.0;
        for limit in task["limits"].as_array().unwrap() {
            has(
                limit,
                &["hops", "alone", "share", "if_lifted_megabytes_per_s"],
            );
            sum += limit["share"].as_f64().unwrap();
        }
        // shares are written at six digits; in the rest a task gets all that it asks for
        assert!(sum < 1.0 + 1e-4, "{sum}");
    }
    for hop in answer["shared_hops"].as_array().unwrap() {
        has(
            hop,
            &[
                "id",
                "kind",
                "label",
                "note",
                "towards",
                "tasks",
                "busy",
                "full_probability",
                "moving",
            ],
        );
    }
    for total in answer["totals"].as_array().unwrap() {
        has(total, &["array", "direction", "megabytes_per_s"]);
    }
}

#[test]
fn room_has_the_promised_keys() {
    let top = json(&["together", EXAMPLE, "--tasks", TASKS, "--format", "json"]);
    let room = &top["answer"]["room"];
    has(
        room,
        &[
            "more_desks",
            "pictures",
            "read_ahead_s",
            "spells_per_hour_allowed",
            "not_counted",
        ],
    );
    let kinds = room["more_desks"].as_array().unwrap();
    assert!(!kinds.is_empty());
    for more in kinds {
        has(
            more,
            &[
                "tasks",
                "desks",
                "material",
                "megabytes_per_s",
                "at_once_p50",
                "at_once_surely",
                "full_first",
                "pausing",
                "not_told",
                "if_they_pause",
            ],
        );
        assert!(more["at_once_surely"].as_u64() <= more["at_once_p50"].as_u64());
        let pausing = more["pausing"].as_str().unwrap();
        assert!(["counted", "few", "not-told"].contains(&pausing));
        assert_eq!(more["if_they_pause"].is_null(), pausing != "counted");
        assert_eq!(more["not_told"].is_null(), pausing != "not-told");
    }
}

#[test]
fn a_day_has_the_promised_keys() {
    let top = json(&["together", EXAMPLE, "--day", JOBS, "--format", "json"]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "warnings",
            "assumptions",
            "cautions",
        ],
    );
    assert_eq!(top["command"], "together");
    let day = &top["answer"]["day"];
    has(day, &["in_time", "cases", "jobs"]);
    for job in day["jobs"].as_array().unwrap() {
        has(
            job,
            &[
                "job",
                "from",
                "to",
                "size_bytes",
                "read_back",
                "earliest_s",
                "due_s",
                "ends_s",
                "in_time",
                "in_time_probability",
                "done_when_due_share",
                "late_by_s",
                "megabytes_per_s",
                "needs_megabytes_per_s",
                "waits",
            ],
        );
        has(&job["ends_s"], &["p05", "p50", "p95"]);
        for wait in job["waits"].as_array().unwrap() {
            has(wait, &["for", "share"]);
        }
    }
}

#[test]
fn explain_has_the_promised_keys() {
    let top = json(&[
        "explain",
        EXAMPLE,
        "--measured",
        "cut-1 copy write 110 MB/s",
        "--measured",
        "another computer gets 112 MB/s",
        "--measured",
        "was 110 MB/s before",
        "--format",
        "json",
    ]);
    let all = ["version", "command", "site", "assumptions", "cautions"];
    has(&top, &all);
    assert_eq!(top["command"], "explain");
    let answer = &top["answer"];
    let verdicts = ["normal", "slow", "too-fast", "unclear"];
    assert!(verdicts.contains(&answer["verdict"].as_str().unwrap()));
    let list = |key: &str| answer[key].as_array().unwrap().clone();
    assert_eq!(list("readings").len(), 1);
    for reading in list("readings") {
        let keys = ["text", "what", "direction", "expected_megabytes_per_s"];
        has(&reading, &keys);
        let keys = ["megabytes_per_s", "mebibytes_per_s", "megabits_per_s"];
        has(&reading, &keys);
        has(&reading, &["expected_each_way", "left_out"]);
        for way in reading["expected_each_way"].as_array().unwrap() {
            has(way, &["direction", "megabytes_per_s"]);
            has(&way["megabytes_per_s"], &["p05", "p50", "p95"]);
        }
    }
    assert_eq!(list("remarks").len(), 2);
    for remark in list("remarks") {
        has(&remark, &["text", "id", "meaning"]);
    }
    for cause in list("causes") {
        let keys = ["id", "family", "place", "probability", "words", "remedy"];
        has(&cause, &keys);
        let keys = ["speaks_for", "speaks_against"];
        has(&cause, &keys);
        let keys = ["together_with", "together_at", "once_fixed_each_way"];
        has(&cause, &keys);
        let rate = &cause["once_fixed_megabytes_per_s"];
        if !rate.is_null() {
            assert!(rate["p05"].as_f64() <= rate["p50"].as_f64());
            assert!(rate["p50"].as_f64() <= rate["p95"].as_f64());
        }
    }
    for family in list("families") {
        has(&family, &["family", "probability"]);
    }
    for one in list("ruled_out") {
        has(&one, &["id", "family", "why"]);
    }
    for test in list("next_tests") {
        has(&test, &["id", "words", "minutes", "gain_bits", "caution"]);
        for outcome in test["outcomes"].as_array().unwrap() {
            has(outcome, &["outcome", "points_to"]);
        }
    }
    has(
        answer,
        &["in_words", "none_of_these", "would_help", "unused_columns"],
    );
}

/// One run or more of each command, so that every key that there is comes out once.
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
