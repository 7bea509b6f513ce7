//! One desk: what it gets, what a change does, what a number means.

use super::*;

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
