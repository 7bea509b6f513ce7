//! Patch lists on the command line.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{Ran, Scratch, kept, narrows, root};
use serde_json::Value;

const EXAMPLE: &str = "data/sites/granary-lane.toml";
const JACKS: &str = "data/jacks/closet.csv";
const TASKS: &str = "data/tasks/granary-lane.toml";

fn ports(arguments: &[&str]) -> Ran {
    narrows(&[&["ports", EXAMPLE], arguments].concat())
}

fn json(arguments: &[&str]) -> Value {
    ports(&[arguments, &["--format", "json"]].concat()).json()
}

fn patch<'a>(top: &'a Value, desk: &str) -> &'a Value {
    let patches = top["answer"]["patches"].as_array().unwrap();
    patches.iter().find(|p| p["desk"] == desk).unwrap()
}

#[test]
fn the_first_line_says_who_gets_the_fast_ports_and_what_is_won() {
    let ran = ports(&["--jacks", JACKS]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let first: String = ran.out.lines().take(3).collect::<Vec<_>>().join(" ");
    assert!(
        first.starts_with("cut-1 and cut-2 get the 2 ports of 10 Gb/s"),
        "{first}"
    );
    assert!(ran.out.contains("\nNext: move 1 cord"), "{}", ran.out);
    let top = json(&["--jacks", JACKS]);
    let (before, after) = (&top["answer"]["waits_today_s"], &top["answer"]["waits_s"]);
    assert!(
        before.as_f64().unwrap() > 1.5 * after.as_f64().unwrap(),
        "{before} {after}"
    );
    assert_eq!(patch(&top, "sound")["moves"], true);
    assert_eq!(patch(&top, "sound")["port"]["switch"], "attic");
    assert_eq!(
        patch(&top, "ingest")["moves"],
        false,
        "its panel is next to the stairs only"
    );
    assert!(
        ran.out.lines().all(|line| line.chars().count() <= 80),
        "{}",
        ran.out
    );
}

#[test]
fn every_form_has_the_same_numbers() {
    let top = json(&["--jacks", JACKS]);
    let csv = ports(&["--jacks", JACKS, "--format", "csv"]);
    let markdown = ports(&["--jacks", JACKS, "--format", "markdown"]).out;
    let text = ports(&["--jacks", JACKS]).out;
    let rows = csv.rows();
    assert_eq!(rows.len(), 5);
    for row in &rows {
        let patch = patch(&top, &row["desk"]);
        let rate = &patch["read_megabytes_per_s"];
        for (head, key) in [("MB/s", "p50"), ("5 %", "p05"), ("95 %", "p95")] {
            let told: f64 = row[head].parse().unwrap();
            let exact = rate[key].as_f64().unwrap();
            assert!((told / exact - 1.0).abs() < 0.006, "{row:?} {key} {exact}");
        }
        let likeliest = patch["links"].as_array().unwrap().iter();
        let likeliest = likeliest
            .map(|l| l["probability"].as_f64().unwrap())
            .fold(0.0, f64::max);
        let told: f64 = row["%"].trim_start_matches(['<', '>']).parse().unwrap();
        assert!((told - 100.0 * likeliest).abs() <= 1.0, "{row:?}");
        let sum: f64 = patch["links"]
            .as_array()
            .unwrap()
            .iter()
            .map(|l| l["probability"].as_f64().unwrap())
            .sum();
        assert!((sum - 1.0).abs() < 1e-4, "{sum}");
        assert!(markdown.contains(&format!("| {} | {} |", row["desk"], row["jack"])));
        assert!(text.contains(&row["jack"]));
    }
}

#[test]
fn streams_of_the_tasks_are_put_on_the_links() {
    let top = json(&["--jacks", JACKS, "--tasks", TASKS]);
    let streams = top["answer"]["streams"].as_array().unwrap();
    // four of the seven tasks have a deadline
    assert_eq!(streams.len(), 4);
    let colour = streams.iter().find(|s| s["desk"] == "colour").unwrap();
    // 737 Mb/s, from the codec
    assert!((colour["needs_megabytes_per_s"].as_f64().unwrap() - 737.0 / 8.0).abs() < 0.5);
    assert!(streams.iter().all(|s| s["met"] == true), "{streams:?}");
    // only what is waited for counts as waiting
    assert_eq!(patch(&top, "cut-1")["waits_s"], 0.0);
    assert!(patch(&top, "ingest")["waits_s"].as_f64().unwrap() > 0.0);
    assert!(top["answer"]["assumed_bytes_a_day"].is_null());
}

#[test]
fn a_stream_that_no_port_carries_ends_with_exit_code_1() {
    let tasks = Scratch::new(
        "tasks.toml",
        "[[task]]\ndesk = \"colour\"\ndoes = \"play\"\ndemand = \"1500 Mb/s\"\n",
    );
    let ran = ports(&["--jacks", JACKS, "--tasks", tasks.path()]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    let first: String = ran.out.lines().take(3).collect::<Vec<_>>().join(" ");
    assert!(
        first.starts_with("No patching found carries the stream of colour"),
        "{first}"
    );
    let top = json(&["--jacks", JACKS, "--tasks", tasks.path()]);
    assert_eq!(top["answer"]["met"], false);
    // two streams of 8 MB/s behind the one link of 100 Mb/s
    let both = Scratch::new(
        "both.toml",
        "[[task]]\ndesk = \"sound\"\ndoes = \"play\"\ndemand = \"64 Mb/s\"\n\
         [[task]]\ndesk = \"ingest\"\ndoes = \"play\"\ndemand = \"64 Mb/s\"\n",
    );
    let ran = ports(&["--tasks", both.path()]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.out.contains("run.5"), "{}", ran.out);
    // with the jack of one of them in the closet, both run
    let ran = ports(&["--tasks", both.path(), "--jacks", JACKS]);
    assert_eq!(ran.code, 0, "{}", ran.out);
}

#[test]
fn faults_of_a_list_are_drawn_all_at_once() {
    let list = Scratch::new(
        "jacks.csv",
        "jack;panel port;desk;switch;traced;cable;length m\n\
         E-1;P-01;cut-1;;sure;cat5e;31\n\
         E-1;P-02;cut-3;;;cat9;58\n\
         E-3;P-01;cut-1;atic;;cat6;far\n",
    );
    let ran = ports(&["--jacks", list.path()]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    let drawn = ran.err.replace(list.path(), "jacks.csv");
    kept(&root().join("tests/jacks/broken.txt"), &drawn).unwrap();
    for path in ["nowhere.csv", "data"] {
        let ran = ports(&["--jacks", path]);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("help:"), "{}", ran.err);
    }
}

#[test]
fn what_has_to_be_traced_is_told_with_the_caution() {
    let ran = ports(&["--jacks", JACKS]);
    let one_line = ran.out.replace("\n    ", " ").replace('\n', " ");
    for text in [
        "S-1 to P-07, sound: nobody traced it: trace it in two ways.",
        "E-3 to P-03, cut-2: traced once: trace it another way.",
        "Never put a tone on a live port",
        "Jacks without a desk: E-2.",
        "Free afterwards: 5 x attic slow at 1 Gb/s, 3 x stairs any at 100 Mb/s.",
    ] {
        assert!(one_line.contains(text), "{text}\n{}", ran.out);
    }
}

#[test]
fn a_cable_that_carries_nothing_is_not_called_a_link() {
    let text = std::fs::read_to_string(root().join(JACKS)).unwrap();
    let far = text.replacen(";31,5;", ";250;", 1);
    assert_ne!(far, text);
    let far = Scratch::new("far.csv", &far);
    let holds =
        |jacks: &str| patch(&json(&["--jacks", jacks]), "cut-1")["holds_probability"].clone();
    assert!(holds(JACKS).as_f64().unwrap() > 0.99);
    // far beyond the 100 m at which every standard ends
    assert!(holds(far.path()).as_f64().unwrap() < 0.01);
    let ran = ports(&["--jacks", far.path()]);
    let row = ran.out.lines().find(|l| l.contains(" P-01 ")).unwrap();
    assert!(row.contains(" <1 "), "{row}");
    let verify = "E-1, cut-1: its cable holds a rate that both ends know with a chance of <1";
    let words: Vec<&str> = ran.out.split_whitespace().collect();
    assert!(words.join(" ").contains(verify), "{}", ran.out);
    assert!(!ports(&["--jacks", JACKS]).out.contains("its cable holds"));
}
