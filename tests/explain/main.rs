//! What a measured number means, end to end.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

mod heard;
mod lines;

use narrows_tests::{Ran, flat, narrows};
use serde_json::Value;

const EXAMPLE: &str = "data/sites/granary-lane.toml";
const LIST: &str = "data/readings/granary-lane.csv";

fn explain(arguments: &[&str]) -> Ran {
    let all: Vec<&str> = std::iter::once("explain")
        .chain(arguments.iter().copied())
        .collect();
    narrows(&all)
}

fn json(arguments: &[&str]) -> Value {
    let ran = explain(&[arguments, &["--format", "json"]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

fn said(texts: &[&str]) -> Vec<String> {
    let pairs = texts.iter().flat_map(|text| ["--measured", text]);
    pairs.map(str::to_owned).collect()
}

fn at_granary_lane(texts: &[&str]) -> Vec<String> {
    let mut all = vec![EXAMPLE.to_owned()];
    all.extend(said(texts));
    all
}

fn of(arguments: &[String]) -> Vec<&str> {
    arguments.iter().map(String::as_str).collect()
}

#[test]
fn a_link_at_its_limit_is_normal() {
    // 100 Mb/s carry 11.4 to 11.9 MB/s of payload: IEEE 802.3 framing of 1500-byte packets
    let arguments = at_granary_lane(&["sound copy read 11.4 MB/s", "sound copy write 11.2 MB/s"]);
    let ran = explain(&of(&arguments));
    assert_eq!(ran.code, 0, "{}", ran.err);
    let first = "11.4 MB/s is what sound should read";
    assert!(ran.out.starts_with(first), "{}", ran.out);
    let answer = &json(&of(&arguments))["answer"];
    assert_eq!(answer["verdict"], "normal");
    assert_eq!(answer["readings"].as_array().unwrap().len(), 2);
}

#[test]
fn a_tenth_of_what_is_there_is_slow() {
    let arguments = at_granary_lane(&["colour copy read 11.2 MB/s", "colour copy write 11.3 MB/s"]);
    let answer = &json(&of(&arguments))["answer"];
    assert_eq!(answer["verdict"], "slow");
    let first = &answer["causes"][0];
    assert_eq!(first["family"], "slow-hop", "{first}");
    let once_fixed = first["once_fixed_megabytes_per_s"]["p50"].as_f64().unwrap();
    // 1 Gb/s carries at most 118.7 MB/s: IEEE 802.3 framing
    assert!((100.0..118.7).contains(&once_fixed), "{once_fixed}");
}

#[test]
fn a_number_in_the_wrong_unit_is_told() {
    let ran = explain(&["--port", "1 Gb/s", "--measured", "copy read 112 Mb/s"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let answer = &json(&["--port", "1 Gb/s", "--measured", "copy read 112 Mb/s"])["answer"];
    assert_eq!(answer["causes"][0]["family"], "unit-slip", "{answer}");
}

#[test]
fn every_rate_is_shown_in_three_units() {
    let answer = &json(&of(&at_granary_lane(&["colour read 112 MB/s"])))["answer"];
    let reading = &answer["readings"][0];
    let number = |key: &str| reading[key].as_f64().unwrap();
    let bytes = number("megabytes_per_s");
    // a factor of 2^20 / 10^6 and of 8, at six digits
    assert!((number("mebibytes_per_s") * 1.048_576 / bytes - 1.0).abs() < 1e-5);
    assert!((number("megabits_per_s") / 8.0 / bytes - 1.0).abs() < 1e-5);
    let text = explain(&of(&at_granary_lane(&["colour read 112 MB/s"]))).out;
    for head in ["MB/s", "MiB/s", "Mb/s", "expected MB/s"] {
        assert!(text.contains(head), "{head}: {text}");
    }
}

#[test]
fn a_direction_that_is_not_told_is_shown_both_ways() {
    let arguments = at_granary_lane(&["cut-1 copy 300 MB/s"]);
    let answer = &json(&of(&arguments))["answer"];
    let reading = &answer["readings"][0];
    assert!(reading["expected_megabytes_per_s"].is_null());
    let ways = reading["expected_each_way"].as_array().unwrap();
    let each = |at: usize| ways[at]["megabytes_per_s"]["p50"].as_f64().unwrap();
    assert_eq!(
        (&ways[0]["direction"], &ways[1]["direction"]),
        (&"read".into(), &"write".into())
    );
    // the drives of a parity array write more slowly than they read
    assert!(each(0) > 1.2 * each(1), "{ways:?}");
    let text = explain(&of(&arguments)).out;
    for part in ["300 MB/s, if reading", "300 MB/s, if writing"] {
        assert!(flat(&text).contains(part), "{text}");
    }
}

#[test]
fn a_cause_is_named_at_the_desk_that_is_slow() {
    let texts = [
        "cut-1 copy read 600 MB/s",
        "colour copy read 11.2 MB/s",
        "colour copy write 11.1 MB/s",
    ];
    let answer = &json(&of(&at_granary_lane(&texts)))["answer"];
    let first = &answer["causes"][0];
    assert_eq!(first["id"], "run-at-100");
    assert_eq!(first["place"], "run.4");
    // another reading first, the same answer
    let turned = [texts[1], texts[2], texts[0]];
    let turned = &json(&of(&at_granary_lane(&turned)))["answer"];
    assert_eq!(turned["causes"][0]["place"], "run.4");
    let places = |answer: &Value| -> Vec<Value> {
        let causes = answer["causes"].as_array().unwrap();
        causes.iter().map(|cause| cause["place"].clone()).collect()
    };
    for place in ["run.2", "run.1", "desk.cut-1"] {
        assert!(!places(answer).contains(&place.into()), "{answer}");
    }
}

#[test]
fn probabilities_add_up() {
    for texts in [
        vec!["cut-1 copy write 110 MB/s"],
        vec![
            "cut-1 copy write 110 MB/s",
            "raw tcp write 9.4 Gb/s",
            "local array write 420 MB/s",
        ],
        vec!["sound copy read 3 MB/s", "fast then drops after 20 GB"],
        vec!["sound copy read 3 MB/s", "cut-1 copy write 110 MB/s"],
    ] {
        let answer = &json(&of(&at_granary_lane(&texts)))["answer"];
        let sum: f64 = answer["families"]
            .as_array()
            .unwrap()
            .iter()
            .map(|family| family["probability"].as_f64().unwrap())
            .sum();
        // six digits of each of some twenty
        assert!((sum - 1.0).abs() < 1e-4, "{texts:?}: {sum}");
        let causes = answer["causes"].as_array().unwrap();
        let mut last = 1.0;
        for cause in causes {
            let probability = cause["probability"].as_f64().unwrap();
            assert!(probability <= last + 1e-9 && probability >= 0.01, "{cause}");
            last = probability;
        }
    }
}

#[test]
fn every_form_has_the_same_causes() {
    let arguments = at_granary_lane(&["cut-1 copy write 110 MB/s"]);
    let causes = json(&of(&arguments))["answer"]["causes"].clone();
    let text = flat(&explain(&of(&arguments)).out);
    let first = causes[0]["words"].as_str().unwrap();
    assert!(text.contains(first), "{text}");
    // ids are for programs, and for who asks why
    let first = format!("[{}", causes[0]["id"].as_str().unwrap());
    let why = explain(&[of(&arguments).as_slice(), &["--why"]].concat()).out;
    assert!(!text.contains(&first) && why.contains(&first), "{why}");
    for format in ["csv", "markdown"] {
        let ran = explain(&[of(&arguments).as_slice(), &["--format", format]].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        for cause in causes.as_array().unwrap() {
            assert!(
                ran.out.contains(cause["id"].as_str().unwrap()),
                "{format}: {cause}"
            );
        }
    }
    let csv = explain(&[of(&arguments).as_slice(), &["--format", "csv"]].concat()).out;
    assert_eq!(csv.lines().count(), 1 + causes.as_array().unwrap().len());
}

#[test]
fn a_list_says_what_the_command_line_says() {
    let listed = json(&[EXAMPLE, "--readings", LIST]);
    assert_eq!(listed["answer"]["unused_columns"][0], "seen on");
    let texts = [
        "sound copy read 11.4 MB/s of 20 GB",
        "sound copy write about 11.2 MB/s of 20 GB",
        "sound raw tcp read 93..95 Mb/s",
        "sound ping 0.6 ms",
        "sound: another computer gets 11 MB/s on the same cable",
    ];
    let told = json(&of(&at_granary_lane(&texts)));
    assert_eq!(
        listed["answer"]["causes"][0]["id"],
        told["answer"]["causes"][0]["id"]
    );
    assert_eq!(listed["answer"]["verdict"], told["answer"]["verdict"]);
    assert_eq!(listed["answer"]["families"], told["answer"]["families"]);
}

#[test]
fn a_rate_in_a_remark_is_compared_with_what_was_read() {
    let texts = [
        "sound read 11.4 MB/s",
        "another computer gets 11 MB/s on the same cable",
    ];
    let answer = &json(&of(&at_granary_lane(&texts)))["answer"];
    assert_eq!(answer["remarks"][0]["id"], "other-computer-same");
    let texts = ["sound read 11.4 MB/s", "was 11 MB/s before"];
    let answer = &json(&of(&at_granary_lane(&texts)))["answer"];
    assert!(answer["remarks"][0]["id"].is_null());
    let text = explain(&of(&at_granary_lane(&texts))).out;
    assert!(
        flat(&text).contains("tells nothing beside what was read"),
        "{text}"
    );
}

#[test]
fn nothing_but_a_number_has_an_answer() {
    let ran = explain(&["--measured", "112"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(flat(&ran.out).contains("Would help to know"), "{}", ran.out);
    let top = json(&["--measured", "112"]);
    assert!(top["site"].is_null());
    assert!(!top["assumptions"].as_array().unwrap().is_empty());
}

#[test]
fn a_change_of_the_site_changes_what_is_expected() {
    let arguments = at_granary_lane(&["sound copy read 11.4 MB/s"]);
    let expected = |more: &[&str]| {
        let all = [of(&arguments).as_slice(), more].concat();
        let answer = json(&all)["answer"].clone();
        answer["readings"][0]["expected_megabytes_per_s"]["p50"]
            .as_f64()
            .unwrap()
    };
    let before = expected(&[]);
    let after = expected(&["--set", "switch.stairs.port.any.rate=\"1 Gb/s\""]);
    assert!(after > 5.0 * before, "{before} {after}");
}

#[test]
fn everything_is_there_with_why() {
    let arguments = at_granary_lane(&["cut-1 copy write 110 MB/s", "raw tcp write 9.4 Gb/s"]);
    let short = explain(&of(&arguments)).out;
    let long = explain(&[of(&arguments).as_slice(), &["--why"]].concat()).out;
    let answer = json(&of(&arguments))["answer"].clone();
    for cause in answer["causes"].as_array().unwrap() {
        let id = format!("[{}", cause["id"].as_str().unwrap());
        assert!(long.contains(&id), "{id}");
    }
    let lines = |text: &str| text.lines().count();
    assert!(lines(&long) > lines(&short));
    let ruled_out = answer["ruled_out"].as_array().unwrap().len();
    let after = long.split_once("Ruled out:").unwrap().1;
    let until = after.split("\n\n").next().unwrap();
    assert_eq!(until.matches("  - ").count(), ruled_out);
}

#[test]
fn what_cannot_be_read_is_shown_where_it_is() {
    let ingest = "ingest copy read 11 MB/s";
    for (arguments, places) in [
        (vec![], vec!["nothing was measured"]),
        (vec![EXAMPLE], vec!["nothing was measured"]),
        (
            vec![EXAMPLE, "--measured", "read 112"],
            vec!["it is not told whose", "--desk NAME"],
        ),
        (
            vec![EXAMPLE, "--measured", "read 112", "--desk", "cut-9"],
            vec!["no desk 'cut-9'", "cut-1, cut-2"],
        ),
        (
            vec!["--measured", "a-1 read 112", "--measured", "a-2 read 90"],
            vec!["readings of a-1 and a-2, and no site"],
        ),
        (vec!["--nas", "banana", "--measured", "112"], vec!["banana"]),
        (
            vec![EXAMPLE, "--readings", "nothing.csv"],
            vec!["no such file"],
        ),
        (
            vec![
                EXAMPLE,
                "--measured",
                ingest,
                "--set",
                "desk.cut-1.disk=banana",
            ],
            vec!["banana"],
        ),
    ] {
        let ran = explain(&arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        for place in places {
            assert!(
                ran.err.contains(place),
                "{arguments:?} {place}: {}",
                ran.err
            );
        }
    }
    let list = std::env::temp_dir().join(format!("narrows-{}-readings.csv", std::process::id()));
    std::fs::write(
        &list,
        "desk;direction;value\ncut-1;read;112\ncut-1;raed;112\n",
    )
    .unwrap();
    let ran = explain(&[
        EXAMPLE,
        "--measured",
        "cut-9 read 112",
        "--readings",
        list.to_str().unwrap(),
    ]);
    std::fs::remove_file(&list).unwrap();
    assert!(ran.err.contains("readings.csv:3:7"), "{}", ran.err);
    assert!(ran.err.contains("command line:1:1"), "{}", ran.err);
}

#[test]
fn the_catalogue_lists_what_explain_knows() {
    for (word, name) in [
        ("causes", "causes run-at-100"),
        ("tests", "tests raw-tcp-read"),
        (
            "remarks",
            "remarks drops-after: fast then drops after 20 GB",
        ),
        ("units", "units files MB/s"),
    ] {
        let ran = narrows(&["facts", word]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(ran.out.contains(name), "{word}: {}", ran.out);
    }
}

#[test]
fn the_same_question_has_the_same_answer() {
    let arguments = at_granary_lane(&["cut-1 copy write 110 MB/s"]);
    assert_eq!(explain(&of(&arguments)), explain(&of(&arguments)));
}

#[test]
fn what_the_guide_shows_can_be_said() {
    let guide = std::fs::read_to_string(narrows_tests::root().join("docs/readings.md")).unwrap();
    let rates: Vec<&str> = guide
        .lines()
        .filter(|line| line.starts_with("| how much"))
        .flat_map(|line| line.split('`').skip(1).step_by(2))
        .collect();
    assert!(rates.len() > 8, "{rates:?}");
    for text in rates {
        let ran = explain(&["--port", "1 Gb/s", "--measured", text]);
        assert_eq!(ran.code, 0, "{text}: {}", ran.err);
    }
    for column in [
        "desk",
        "what",
        "direction",
        "value",
        "low",
        "high",
        "unit",
        "date",
    ] {
        assert!(guide.contains(&format!("`{column}`")), "{column}");
    }
    for text in [
        "cut-1 read 112, write 95 MB/s",
        "store core busy 98 %",
        "drops-after 20 GB",
    ] {
        assert!(guide.contains(&format!("`{text}`")), "{text}");
        let more = "cut-1 copy read 90 MB/s";
        let ran = explain(&[EXAMPLE, "--measured", text, "--measured", more]);
        assert_eq!(ran.code, 0, "{text}: {}", ran.err);
    }
}
