//! The first lines of an answer, and how it fits its screen.

use super::{EXAMPLE, LIST, at_granary_lane, explain, flat, json, of, said};
use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{Explanation, Listener, Observations, Remarks, Statement, settle};
use narrows_core::quantity::in_megabytes_per_second;
use narrows_core::site::{Site, read};
use narrows_tests::narrows;
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

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

/// What is said of some texts at an example, as the program says it.
fn answered(site: &Site, texts: &[String], catalogue: &Catalogue) -> Explanation {
    let listener = Listener::at(site).unwrap();
    let mut told = Observations {
        sites: vec![(site.clone(), 1.0)],
        path_told: true,
        array_told: true,
        ..Observations::default()
    };
    for statement in texts.iter().flat_map(|text| listener.hear(text).unwrap()) {
        match statement {
            Statement::Reading(reading) => told.readings.push(reading),
            Statement::Remark(remark) => told.remarks.push(remark),
        }
    }
    settle(&mut told, &Remarks::embedded().unwrap(), catalogue).unwrap();
    narrows_core::explain::explain(&told, catalogue).unwrap()
}

/// One way of an example, with what else is said.
struct Asked<'s> {
    site: &'s Site,
    desk: &'s str,
    way: &'static str,
    more: &'static [&'static str],
}

/// Keys of first lines, each with its lines.
type Lines = Vec<(String, String)>;

/// Where a number lies, and which verdict, first and second line it gets.
fn first_lines(asked: &Asked<'_>, catalogue: &Catalogue) -> Lines {
    let at = |rate: f64| {
        let mut texts = vec![format!("{} copy {} {rate:.2} MB/s", asked.desk, asked.way)];
        texts.extend(asked.more.iter().map(|text| (*text).to_owned()));
        answered(asked.site, &texts, catalogue)
    };
    let expected = at(50.0).readings[0].expected[0].rates;
    let [low, middle, high] = expected.map(in_megabytes_per_second);
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
        let answer = at(rate);
        let cause = answer.causes.first().map_or("none", |cause| &cause.id);
        let noticed = asked
            .more
            .first()
            .map_or(String::new(), |remark| format!(", {remark}"));
        let key = format!("{}, {place}{noticed}, {cause}", answer.verdict.word());
        let lines = format!(
            "{}\n{}\n{}\n",
            answer.in_words, answer.why, answer.next_step
        );
        found.push((key, lines));
    }
    found
}

/// What is noticed beside a number.
const NOTICED: [&[&str]; 5] = [
    &[],
    &["other-computer-better"],
    &["better-before"],
    &["drops-after"],
    &["parallel-flat"],
];

#[test]
fn first_lines_of_every_kind_are_kept() {
    let catalogue = Catalogue::embedded().unwrap();
    let sites: Vec<Site> = narrows_data::SITES
        .iter()
        .map(|(_, text)| read(text, &[], &catalogue).unwrap())
        .collect();
    let mut ways = Vec::new();
    for site in &sites {
        for (at, desk) in site.desks.iter().enumerate() {
            // what is noticed besides, at the first desk of each
            let noticed = if at == 0 { &NOTICED[..] } else { &NOTICED[..1] };
            for way in ["read", "write"] {
                ways.extend(noticed.iter().map(|more| Asked {
                    site,
                    desk: &desk.name,
                    way,
                    more,
                }));
            }
        }
    }
    let next = AtomicUsize::new(0);
    let found: Mutex<Vec<(usize, Lines)>> = Mutex::default();
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(asked) = ways.get(at) else { return };
                    let lines = first_lines(asked, &catalogue);
                    found.lock().unwrap().push((at, lines));
                }
            });
        }
    });
    let mut found = found.into_inner().unwrap();
    found.sort_by_key(|(at, _)| *at);
    let mut all = BTreeMap::new();
    for (key, lines) in found.into_iter().flat_map(|(_, lines)| lines) {
        all.entry(key).or_insert(lines);
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
