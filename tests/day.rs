//! A day of jobs and the room for more desks, on the command line.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{Ran, Scratch, kept, narrows, root};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write;

const EXAMPLE: &str = "data/sites/granary-lane.toml";
const JOBS: &str = "data/jobs/granary-lane.csv";

/// Numbers are written at six digits.
const SIX_DIGITS: f64 = 1e-5;

/// What two neighbouring cases in the middle of four thousand may lie apart, relative.
const NEIGHBOURS: f64 = 2e-3;

fn day(list: &str, arguments: &[&str]) -> Ran {
    narrows(&[&["together", EXAMPLE, "--day", list], arguments].concat())
}

fn json(ran: &Ran) -> Value {
    ran.json()["answer"].take()
}

fn job<'a>(answer: &'a Value, name: &str) -> &'a Value {
    let jobs = answer["day"]["jobs"].as_array().unwrap();
    jobs.iter().find(|j| j["job"] == name).unwrap()
}

#[test]
fn the_first_line_names_the_worst_and_the_exit_code_is_one() {
    let ran = day(JOBS, &[]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    let first = ran.out.lines().next().unwrap();
    let late = "card A of the morning is late: it ends at ";
    assert!(first.starts_with(late), "{first}");
    let answer = json(&day(JOBS, &["--format", "json"]));
    let worst = job(&answer, "card A of the morning");
    let minutes = (worst["late_by_s"].as_f64().unwrap() / 60.0).round();
    let by = format!(
        "{} h {} min after it is due",
        (minutes / 60.0).floor(),
        minutes % 60.0
    );
    assert!(first.contains(&by), "{first}");
    assert_eq!(answer["day"]["in_time"], false);
    // what is late or not sure says how much of it is done
    assert!(ran.out.contains("Late or close:"), "{}", ran.out);
    assert!(
        ran.out.contains("done at 18:00; it would need"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("An array is not a backup"), "{}", ran.out);
}

#[test]
fn a_day_that_fits_says_what_is_closest() {
    // without the card and with the run that may fall back certain
    let list = Scratch::new(
        "fits.csv",
        "what,size,from,to,earliest,due\n\
         rushes,400 GB,vault,cut-1,10:00,13:00\n\
         mix,80 GB,sound,vault,17:00,20:00\n",
    );
    let ran = day(list.path(), &[]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let first = ran.out.lines().next().unwrap();
    assert!(
        first.starts_with("All 2 jobs are done in time; the closest is mix, with "),
        "{first}"
    );
    let one = Scratch::new("one.csv", "size,from,to\n10 GB,vault,cut-1\n");
    let first = day(one.path(), &[]).out;
    assert!(first.starts_with("The job is done by 00:0"), "{first}");
}

#[test]
fn every_form_has_the_same_numbers() {
    let answer = json(&day(JOBS, &["--format", "json"]));
    let rows = day(JOBS, &["--format", "csv"]).rows();
    assert_eq!(rows.len(), 7);
    let markdown = day(JOBS, &["--format", "markdown"]).out;
    let text = day(JOBS, &[]).out;
    let of = |row: &BTreeMap<String, String>, head: &str| row[head].clone();
    let seconds = |clock: &str| {
        let (hour, days) = clock.split_once(" +").unwrap_or((clock, "0"));
        let (hours, minutes) = hour.split_once(':').unwrap();
        let whole = |text: &str| text.parse::<f64>().unwrap();
        whole(days) * 86_400.0 + whole(hours) * 3600.0 + whole(minutes) * 60.0
    };
    for row in &rows {
        let found = job(&answer, &row["job"]);
        for (head, key) in [("ends 5 %", "p05"), ("ends", "p50"), ("ends 95 %", "p95")] {
            let exact = found["ends_s"][key].as_f64().unwrap();
            // shown to the minute, rounded up
            let later = seconds(&row[head]) - exact;
            assert!(
                (-1.0..=60.0 + 1.0).contains(&later),
                "{row:?} {head} {later}"
            );
        }
        assert!(text.contains(&row["ends"]), "{row:?}");
        assert!(text.contains(&row["ends 95 %"]), "{row:?}");
        assert!(
            markdown.contains(&format!("| {} |", of(row, "ends"))),
            "{row:?}"
        );
        let share = found["in_time_probability"].as_f64().unwrap();
        assert!((row["in time %"].parse::<f64>().unwrap() - 100.0 * share).abs() < 0.051);
    }
}

#[test]
fn jobs_move_what_they_are_and_what_plays_takes_its_time() {
    let answer = json(&day(JOBS, &["--format", "json"]));
    for found in answer["day"]["jobs"].as_array().unwrap() {
        let number = |key: &str| found[key].as_f64().unwrap();
        let ends = found["ends_s"]["p50"].as_f64().unwrap();
        let times = if found["read_back"] == true { 2.0 } else { 1.0 };
        // the middle rate and the middle end are of neighbouring cases
        let moved = number("megabytes_per_s") * 1e6 * (ends - number("earliest_s"));
        let size = number("size_bytes") * times;
        assert!((moved / size - 1.0).abs() < NEIGHBOURS, "{found}");
    }
    let screening = job(&answer, "screening");
    for key in ["p05", "p50", "p95"] {
        assert_eq!(screening["ends_s"][key], 57_600.0);
    }
    // two hours of it: 0.45 GB an hour for each Mb/s
    let rate = screening["megabytes_per_s"].as_f64().unwrap();
    let size = screening["size_bytes"].as_f64().unwrap();
    assert!((size / (0.45e9 * 2.0 * rate * 8.0) - 1.0).abs() < SIX_DIGITS);
    assert_eq!(screening["waits"][0]["for"], "the rate it is held to");
    let line = job(&answer, "masters to the client");
    assert!((line["ends_s"]["p50"].as_f64().unwrap() - 64_800.0 - 60e9 / 11.25e6).abs() < 1.0);
}

#[test]
fn a_better_switch_gets_the_card_done() {
    let set = "switch.stairs.port.any.rate=\"1 Gb/s\"";
    let answer = json(&day(JOBS, &["--set", set, "--format", "json"]));
    let card = job(&answer, "card A of the morning");
    assert_eq!(card["in_time"], true);
    assert!(card["ends_s"]["p95"].as_f64() < card["due_s"].as_f64());
    assert!(card["late_by_s"].is_null());
}

#[test]
fn a_long_list_says_that_fewer_cases_are_played() {
    let mut list = "what,size,from,to,earliest\n".to_owned();
    for number in 0..60 {
        let hour = number % 24;
        let _ = writeln!(list, "copy {number},20 GB,vault,cut-1,{hour:02}:00");
    }
    let list = Scratch::new("long.csv", &list);
    let ran = day(list.path(), &[]);
    assert!(
        ran.out.contains("666 of 4096 cases are played"),
        "{}",
        ran.out
    );
    assert!(
        ran.out.starts_with("All 60 jobs are done by "),
        "{}",
        ran.out
    );
}

#[test]
fn every_broken_list_draws_the_kept_fault() {
    let folder = root().join("tests/jobs/broken");
    let mut lists: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "csv"))
        .collect();
    lists.sort();
    assert!(lists.len() >= 20);
    for list in lists {
        let name = list.file_name().unwrap().to_str().unwrap();
        let ran = day(&format!("tests/jobs/broken/{name}"), &[]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{name}");
        kept(&list.with_extension("txt"), &ran.err).unwrap();
    }
}

#[test]
fn no_line_is_wider_than_the_screen() {
    let list = Scratch::new(
        "wide.csv",
        "what,size,from,to,earliest,due\n\
         a name that is a good deal longer than any screen has room for,6 TB,vault,cut-2,20:00,06:00 +1\n",
    );
    for ran in [day(list.path(), &[]), day(JOBS, &[])] {
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
    }
}

#[test]
fn what_cannot_be_asked_together_is_refused() {
    let ran = day("nothing.csv", &[]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("there is no such file"), "{}", ran.err);
    for other in [
        ["--need", "1 MB/s"],
        ["--tasks", "data/tasks/granary-lane.toml"],
    ] {
        let ran = day(JOBS, &other);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("cannot be used with"), "{}", ran.err);
    }
}

/// Small streams at cut-1, a long group that cut-2 scrubs, a sequence at colour and a copy.
const PICTURES: &str = "data/tasks/pictures.toml";

#[test]
fn room_for_more_is_told_with_all_three_numbers() {
    let ask =
        |more: &[&str]| narrows(&[&["together", EXAMPLE, "--tasks", PICTURES], more].concat());
    // lines are broken anywhere
    let text = ask(&[])
        .out
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let answer = json(&ask(&["--format", "json"]));
    let room = &answer["room"];
    let first = &room["more_desks"][0];
    assert_eq!(first["pausing"], "counted");
    let crowd = &first["if_they_pause"];
    let more = crowd["more"].as_u64().unwrap();
    assert!(more > first["at_once_p50"].as_u64().unwrap());
    assert!(text.contains(&format!(
        "- {more} more desks like cut-1, at work 40 % of the time"
    )));
    let number = |state: &str, key: &str| crowd[state][key].as_f64().unwrap();
    let allowed = room["spells_per_hour_allowed"].as_f64().unwrap();
    assert!(number("with", "spells_per_hour") <= allowed);
    assert!(number("beyond", "spells_per_hour") > allowed);
    for state in ["with", "beyond"] {
        // P = nu L
        let share = number(state, "spells_per_hour") / 3600.0 * number(state, "overload_s");
        let told = number(state, "overload_probability");
        assert!(
            (share / told - 1.0).abs() < 10.0 * SIX_DIGITS,
            "{share} {told}"
        );
        assert!(number(state, "stalls_per_hour") <= number(state, "spells_per_hour"));
    }
    for words in ["of the time", "runs dry", "With one more"] {
        assert!(text.contains(words), "{words}: {text}");
    }
    // the copy takes whatever there is
    assert_eq!(room["not_counted"][0], "task.4");
    assert!(text.contains("Not in the count: task.4"), "{text}");
    let pictures = room["pictures"].as_array().unwrap();
    assert_eq!(pictures.len(), 2);
    assert_eq!(pictures[0]["decoded_pictures"], 8.0);
    assert!(pictures[0]["places_per_s"].as_f64().unwrap() > 1.0);
    let one = pictures[1]["pictures_per_s"].as_f64().unwrap();
    assert!(one < pictures[1]["pictures_per_s_several"].as_f64().unwrap());
    assert!(text.contains("pictures a second if each file is fetched after the other"));
}

#[test]
fn without_pauses_told_there_is_the_peak_rule_and_it_says_so() {
    let tasks = "data/tasks/granary-lane.toml";
    let ran = narrows(&["together", EXAMPLE, "--tasks", tasks]);
    let said = "\"not told\" because active or spell";
    assert!(ran.out.replace('\n', " ").contains(said), "{}", ran.out);
    let alone = narrows(&["together", EXAMPLE]);
    assert!(!alone.out.contains("Room for more desks"), "{}", alone.out);
}
