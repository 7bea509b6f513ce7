//! The first lines of an answer, and how it fits its screen.

use super::{EXAMPLE, LIST, at_granary_lane, explain, flat, json, of, said};
use narrows_tests::narrows;
use serde_json::Value;

#[test]
fn property_a_number_that_is_expected_is_not_called_a_fault() {
    for desk in ["cut-1", "cut-2", "colour", "sound", "ingest"] {
        for way in ["read", "write"] {
            let asked = |rate: f64| {
                let text = format!("{desk} copy {way} {rate:.2} MB/s");
                json(&[EXAMPLE, "--measured", &text])["answer"].clone()
            };
            let expected = asked(50.0)["readings"][0]["expected_megabytes_per_s"].clone();
            let at = |name: &str| expected[name].as_f64().unwrap();
            let (low, middle, high) = (at("p05"), at("p50"), at("p95"));
            for told in [low * 1.02, f64::midpoint(low, middle), middle, high * 0.98] {
                let answer = asked(told);
                let line = answer["in_words"].as_str().unwrap();
                assert_eq!(answer["verdict"], "normal", "{desk} {way} {told}: {line}");
                let said = ["is possible here", "is what", "a little more than"];
                assert!(
                    said.iter().any(|words| line.contains(words)),
                    "{desk} {way} {told}: {line}"
                );
            }
        }
    }
}

#[test]
fn what_is_expected_is_what_budget_says_to_the_digit() {
    for (name, _) in narrows_data::SITES {
        let site = format!("data/sites/{name}.toml");
        let budget = narrows(&["budget", &site, "--format", "json"]);
        let budget: Value = serde_json::from_str(&budget.out).unwrap();
        for flow in budget["answer"]["flows"].as_array().unwrap() {
            let word = |key: &str| flow[key].as_str().unwrap();
            let text = format!("{} copy {} 50 MB/s", word("desk"), word("direction"));
            let answer = &json(&[&site, "--measured", &text])["answer"];
            let expected = &answer["readings"][0]["expected_megabytes_per_s"];
            assert_eq!(expected, &flow["megabytes_per_s"], "{name} {text}");
        }
    }
}

/// Where a number lies, and which verdict, first and second line it gets.
fn first_lines(site: &str, desk: &str, way: &str, more: &[&str]) -> Vec<(String, String)> {
    let asked = |rate: f64| {
        let text = format!("{desk} copy {way} {rate:.2} MB/s");
        let mut all = vec![site, "--measured", &text];
        for remark in more {
            all.extend(["--measured", remark]);
        }
        json(&all)["answer"].clone()
    };
    let expected = asked(50.0)["readings"][0]["expected_megabytes_per_s"].clone();
    let at = |name: &str| expected[name].as_f64().unwrap();
    let (low, middle, high) = (at("p05"), at("p50"), at("p95"));
    let mut found = Vec::new();
    for (place, rate) in [
        ("far below", low * 0.02),
        ("far below", low * 0.1),
        ("below", low * 0.5),
        ("below", low * 0.9),
        ("low", low * 1.03),
        ("low", f64::midpoint(low, f64::midpoint(low, middle))),
        ("in the middle", middle),
        ("high", high * 0.99),
        ("above", high * 1.4),
        ("far above", high * 10.0),
    ] {
        let answer = asked(rate);
        let word = |key: &str| answer[key].as_str().unwrap().to_owned();
        let cause = answer["causes"][0]["id"]
            .as_str()
            .unwrap_or("none")
            .to_owned();
        let noticed = if more.is_empty() {
            ""
        } else {
            ", with a remark"
        };
        let key = format!("{}, {place}{noticed}, {cause}", word("verdict"));
        let lines = format!(
            "{}\n{}\n{}\n",
            word("in_words"),
            word("why"),
            word("next_step")
        );
        found.push((key, lines));
    }
    found
}

#[test]
fn first_lines_of_every_kind_are_kept() {
    let mut all = std::collections::BTreeMap::new();
    let cases: [(&str, &[&str]); 4] = [
        ("granary-lane", &["cut-1", "cut-2", "colour", "sound"]),
        ("one-desk", &["cut-1"]),
        ("laptop-adapter", &["laptop"]),
        ("flash-array", &["colour"]),
    ];
    for (site, desks) in cases {
        let site = format!("data/sites/{site}.toml");
        for desk in desks {
            for way in ["read", "write"] {
                let with_remark: &[&[&str]] = match *desk {
                    "cut-1" | "colour" => &[&[], &["other-computer-better"]],
                    _ => &[&[]],
                };
                for remarks in with_remark {
                    for (key, lines) in first_lines(&site, desk, way, remarks) {
                        all.entry(key).or_insert(lines);
                    }
                }
            }
        }
    }
    let text = all.iter().fold(String::new(), |text, (key, lines)| {
        text + &format!("[{key}]\n{lines}\n")
    });
    for (key, lines) in &all {
        for line in lines.lines() {
            assert!(!line.contains(" bit "), "{key}: {line}");
            assert!(!line.contains(" %"), "{key}: {line}");
        }
    }
    let path = narrows_tests::root().join("tests/explaining/first-lines.txt");
    narrows_tests::kept(&path, &text).unwrap();
}

#[test]
fn every_answer_fits_its_screen_and_carries_its_caution() {
    for (arguments, why) in [
        (at_granary_lane(&["sound copy read 11.4 MB/s"]), false),
        (
            at_granary_lane(&["cut-1 copy write 110 MB/s", "raw tcp write 9.4 Gb/s"]),
            true,
        ),
        (
            at_granary_lane(&["cut-1 copy stalled", "connects, then nothing moves"]),
            true,
        ),
        (
            at_granary_lane(&[
                "cut-2 link rate 1 Gb/s",
                "store core busy 99 %",
                "errors 1200",
            ]),
            false,
        ),
        (said(&["112"]), true),
        (said(&["read 2400 MB/s again"]), false),
        (
            vec![EXAMPLE.to_owned(), "--readings".to_owned(), LIST.to_owned()],
            true,
        ),
    ] {
        let mut all = of(&arguments);
        if why {
            all.push("--why");
        }
        let ran = explain(&all);
        assert_eq!(ran.code, 0, "{all:?}: {}", ran.err);
        assert!(
            flat(&ran.out).contains("An array is not a backup."),
            "{all:?}"
        );
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 80, "{all:?}: {line:?}");
            assert!(!line.ends_with(' '), "{all:?}: {line:?}");
        }
    }
}
