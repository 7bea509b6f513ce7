//! Runs of cable on the command line.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{Ran, Scratch, kept, narrows, root};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write;

const EXAMPLE: &str = "data/sites/granary-lane.toml";
const JACKS: &str = "data/jacks/granary-lane.csv";
const ONE: &str = "cat5e 31 m, loose, 6 neighbours at 1 Gb/s";

fn cable(arguments: &[&str]) -> Ran {
    let all: Vec<&str> = std::iter::once("cable")
        .chain(arguments.iter().copied())
        .collect();
    narrows(&all)
}

fn json(arguments: &[&str]) -> Value {
    cable(&[arguments, &["--format", "json"]].concat()).json()
}

/// Rows of the csv form, each with its cells by head.
fn rows(arguments: &[&str]) -> Vec<BTreeMap<String, String>> {
    cable(&[arguments, &["--format", "csv"]].concat()).rows()
}

fn rate_of(run: &Value, megabits: f64) -> Value {
    let rates = run["rates"].as_array().unwrap();
    let found = rates.iter().find(|r| r["link_megabits_per_s"] == megabits);
    found.unwrap().clone()
}

#[test]
fn the_first_line_says_what_the_run_holds_today_and_later() {
    let ran = cable(&[ONE]);
    let first: String = ran.out.lines().take(2).collect::<Vec<_>>().join(" ");
    let run = &json(&[ONE])["answer"]["runs"][0];
    let ten = rate_of(run, 10_000.0);
    let percent = |state: &str| {
        let share = ten[state]["holds_probability"].as_f64().unwrap();
        format!("{:.0}", share * 100.0)
    };
    assert!(first.contains("10 Gb/s holds in"), "{first}");
    assert!(first.contains(&percent("today")), "{first}");
    assert!(first.contains(&percent("upgraded")), "{first}");
    assert_eq!(run["holds_megabits_per_s"], 10_000.0);
}

#[test]
fn every_form_has_the_same_numbers() {
    let run = &json(&[ONE])["answer"]["runs"][0];
    let table = rows(&[ONE]);
    assert_eq!(table.len(), 5);
    let markdown = cable(&[ONE, "--format", "markdown"]).out;
    let text = cable(&[ONE]).out;
    for row in &table {
        let megabits = match row["rate"].split_once(' ').unwrap() {
            (number, "Gb/s") => number.parse::<f64>().unwrap() * 1000.0,
            (number, _) => number.parse::<f64>().unwrap(),
        };
        let rate = rate_of(run, megabits);
        let number = |head: &str| row[head].parse::<f64>().unwrap();
        let margin = &rate["today"]["margin_db"];
        for (head, key) in [("margin dB", "p50"), ("5 %", "p05"), ("95 %", "p95")] {
            let far = (number(head) - margin[key].as_f64().unwrap()).abs();
            assert!(far <= 0.0501, "{row:?} {key}");
            assert!(text.contains(&row[head]), "{row:?}");
        }
        let holds = rate["today"]["holds_probability"].as_f64().unwrap();
        assert!((number("holds %") - 100.0 * holds).abs() <= 0.1, "{row:?}");
        let line = markdown
            .lines()
            .find(|l| l.contains(&format!("| {} |", row["rate"])));
        assert!(line.unwrap().contains(&row["margin dB"]), "{line:?}");
        let shares = rate["today"]["noise_shares"].as_object().unwrap();
        let sum: f64 = shares.values().map(|share| share.as_f64().unwrap()).sum();
        assert!((sum - 1.0).abs() < 1e-4, "{sum}");
    }
}

#[test]
fn neighbours_that_stay_slow_are_told_apart_from_upgraded_ones() {
    let text = "cat6 55 m, tight, 6 neighbours at 1 Gb/s";
    let ten = rate_of(&json(&[text])["answer"]["runs"][0], 10_000.0);
    let (today, later) = (&ten["today"], &ten["upgraded"]);
    let holds = |state: &Value| state["holds_probability"].as_f64().unwrap();
    assert!(holds(today) > 0.9 && holds(later) < 0.9, "{ten}");
    assert_eq!(ten["best_improvement"]["what"], "keep-neighbours");
    assert!(
        cable(&[text])
            .out
            .contains("leave the neighbours as they are")
    );
    // the exception: at 1 Gb/s they send more below 60 MHz than 2.5 Gb/s does
    let text = "cat5e 100 m, tight, 6 neighbours at 1 Gb/s, 20 C";
    let slow = rate_of(&json(&[text])["answer"]["runs"][0], 2500.0);
    let margin = |state: &Value| state["margin_db"]["at_limits"].as_f64().unwrap();
    assert!((margin(&slow["today"]) - margin(&slow["upgraded"]) + 1.0).abs() < 0.1);
}

#[test]
fn a_need_gives_exit_code_one_where_it_is_not_held() {
    let met = cable(&[ONE, "--need", "10 Gb/s"]);
    assert_eq!(met.code, 0, "{}", met.out);
    assert!(met.out.starts_with("10 Gb/s is met."), "{}", met.out);
    let text = "cat5e 60 m, loose";
    let missed = cable(&[text, "--need", "10 Gb/s"]);
    assert_eq!(missed.code, 1);
    assert!(
        missed.out.starts_with("10 Gb/s is not met."),
        "{}",
        missed.out
    );
    let need = &json(&[text, "--need", "10 Gb/s"])["answer"]["runs"][0]["need"];
    assert_eq!(need["met"], false);
    assert!(need["probability"].as_f64().unwrap() < 0.9);
    // of several runs, the ones that miss it are named
    let site = cable(&[EXAMPLE, "--need", "1 Gb/s"]);
    assert_eq!(site.code, 1);
    assert!(
        site.out.contains("is not met by 3 of 7 runs: run.5"),
        "{}",
        site.out
    );
    assert_eq!(cable(&[ONE, "--need", "10 GB/s"]).code, 2);
}

#[test]
fn working_leads_to_the_printed_chance() {
    let ran = cable(&["cat5e 45 m, loose", "--why", "10 Gb/s"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let run = &json(&["cat5e 45 m, loose"])["answer"]["runs"][0];
    let ten = rate_of(run, 10_000.0)["today"].clone();
    let holds = ten["holds_probability"].as_f64().unwrap() * 100.0;
    let limits = ten["margin_db"]["at_limits"].as_f64().unwrap();
    assert!(
        ran.out
            .contains(&format!("P = {holds:.0} %: chance of holding")),
        "{}",
        ran.out
    );
    assert!(ran.out.contains(&format!(
        "m = {limits:+.1} dB: margin of a run at the limits"
    )));
    for word in ["Salz", "TIA-568.2", "judgement", "insertion loss of 45 m"] {
        assert!(ran.out.contains(word), "{word}: {}", ran.out);
    }
    let short = cable(&["cat6 3 m", "--why", "10 Gb/s"]);
    assert_eq!((short.code, short.out.as_str()), (2, ""));
    let unknown = cable(&["cat6 30 m", "--why", "25 Gb/s"]);
    assert!(
        unknown.err.contains("rates in question: 1 Gb/s, 10 Gb/s"),
        "{}",
        unknown.err
    );
}

#[test]
fn the_chart_marks_the_run_and_names_its_lines() {
    let text = cable(&["cat5e 50 m, loose"]).out;
    let chart = text.split_once("Margin in dB over the length").unwrap().1;
    let marks: Vec<usize> = chart.lines().filter_map(|l| l.find(':')).collect();
    // 60 columns for 100 m behind six
    let expected = 6 + 30;
    assert!(
        marks.iter().filter(|at| **at == expected).count() >= 8,
        "{chart}"
    );
    for label in [
        "a 10 Gb/s",
        "b 5 Gb/s",
        "c 2.5 Gb/s",
        "d 1 Gb/s",
        "e 100 Mb/s",
    ] {
        assert!(chart.contains(label), "{label}: {chart}");
    }
    assert!(!cable(&["om3 50 m"]).out.contains("Margin in dB over"));
}

#[test]
fn the_picture_is_the_kept_one_and_can_be_read_without_colours() {
    let file = Scratch::new("margin.svg", b"");
    let ran = cable(&["cat5e 40..55 m, loose", "--svg", file.path()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = file.text();
    kept(&root().join("docs/margin.svg"), &text).unwrap();
    for part in [
        "viewBox=\"0 0 860 520\"",
        "role=\"img\"",
        "<title id=\"picture-title\">Margin over length: cat5e 40..55 m, loose</title>",
        "<desc id=\"picture-words\">",
        "prefers-color-scheme:dark",
        "This run is 40 to 55 m long.",
        ">this run</text>",
    ] {
        assert!(text.contains(part), "{part}");
    }
    let dashes: Vec<&str> = text
        .lines()
        .filter_map(|l| l.split_once("stroke-dasharray=\"")?.1.split('"').next())
        .collect();
    let different: std::collections::BTreeSet<&str> = dashes.iter().copied().collect();
    assert_eq!((dashes.len(), different.len()), (5, 5), "{dashes:?}");
    for rate in ["10 Gb/s", "5 Gb/s", "2.5 Gb/s", "1 Gb/s", "100 Mb/s"] {
        assert!(text.contains(&format!(">{rate}</text>")), "{rate}");
    }
    assert_eq!(text.matches("class=\"spread").count(), 5);
    // no style of its own on any shape
    let body = text.split_once("</style>").unwrap().1;
    assert!(!body.contains("style=") && !body.contains("fill=") && !body.contains("stroke=\""));
}

#[test]
fn names_cannot_break_the_picture() {
    let list = Scratch::new(
        "one.csv",
        b"jack,cable,length m\n\"<A & \"\"B\"\">\",cat6,30\n",
    );
    let file = Scratch::new("one.svg", b"");
    let ran = cable(&[list.path(), "--svg", file.path()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = file.text();
    assert!(text.contains("&lt;A &amp; &quot;B&quot;&gt;") && !text.contains("<A"));
}

#[test]
fn pictures_that_cannot_be_drawn_are_refused() {
    let file = Scratch::new("none.svg", b"");
    for (arguments, word) in [
        (vec!["om3 50 m", "--svg", file.path()], "twisted pair"),
        (vec![ONE, "--svg", "/no/such/folder/a.svg"], "cannot write"),
    ] {
        let ran = cable(&arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(word), "{arguments:?}: {}", ran.err);
    }
    assert_eq!(file.text(), "");
}

#[test]
fn a_site_and_a_budget_tell_the_same_chance() {
    // one by draws, the other by cases: whole percentages may differ by three
    let budget = narrows(&["budget", EXAMPLE]);
    let said = budget.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let runs = json(&[EXAMPLE])["answer"]["runs"].clone();
    for number in [2, 3] {
        let id = format!("run.{number}");
        let warning = said.split(&format!("- {id}: ")).nth(1).unwrap();
        let percent = warning.split(" carries 10 Gb/s in ").nth(1).unwrap();
        let percent: f64 = percent.split(' ').next().unwrap().parse().unwrap();
        let run = runs
            .as_array()
            .unwrap()
            .iter()
            .find(|r| r["run"] == id.as_str())
            .unwrap();
        let here = rate_of(run, 10_000.0)["today"]["holds_probability"]
            .as_f64()
            .unwrap();
        assert!(
            (100.0 * here - percent).abs() <= 3.0,
            "{id}: {here} and {percent} %"
        );
    }
    assert_eq!(runs[0]["between"][0], "store");
}

#[test]
fn runs_that_are_no_twisted_pair_are_judged_where_their_length_is_told() {
    let text = std::fs::read_to_string(root().join(EXAMPLE)).unwrap();
    let changed = text
        .replace("cable  = \"cat6a\"\nlength = \"3 m\"", "cable  = \"twinax\"")
        .replace(
            "port.a  = { rate = \"10 Gb/s\", slot = \"pcie 3 x4\" }",
            "port.a  = { rate = \"10 Gb/s\", slot = \"pcie 3 x4\", socket = \"cage\" }",
        )
        .replace("port.fast = { rate = \"10 Gb/s\", count = 3 }", "port.up = { rate = \"10 Gb/s\", socket = \"cage\" }\nport.fast = { rate = \"10 Gb/s\", count = 2 }")
        .replacen("switch.attic.fast", "switch.attic.up", 1);
    let file = Scratch::new("site.toml", changed.as_bytes());
    let ran = cable(&[file.path()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("without a length: run.1: twinax."),
        "{}",
        ran.out
    );
    let other = &json(&[file.path()])["answer"]["other_runs"][0];
    assert_eq!(
        (&other["run"], &other["medium"]),
        (&"run.1".into(), &"twinax".into())
    );
    let lines = "cable = \"fibre\"\nlength = \"80 m\"\ngrade = \"om3\"";
    let told = changed.replace("cable  = \"twinax\"", lines);
    let file = Scratch::new("told.toml", told.as_bytes());
    let ran = cable(&[file.path()]);
    assert!(!ran.out.contains("without a length"), "{}", ran.out);
    assert!(ran.out.contains("10gbase-sr"), "{}", ran.out);
    // its ports know no more than 10 Gb/s
    assert!(!ran.out.contains("25gbase-sr"), "{}", ran.out);
    let runs = json(&[file.path()])["answer"]["runs"].clone();
    assert_eq!(
        (&runs[0]["run"], &runs[0]["medium"]),
        (&"run.1".into(), &"fibre".into())
    );
    let optics = runs[0]["optics"].as_array().unwrap();
    let carried = |o: &Value| o["optic"] == "10gbase-sr" && o["carries"] == true;
    assert!(optics.iter().any(carried), "{optics:?}");
    // 20 m are short enough; it is the step between the cores that is too much
    let lossy = cable(&["om1 20 m, cords om3"]);
    assert!(
        lossy
            .out
            .contains("nothing that is known here gets through"),
        "{}",
        lossy.out
    );
    assert!(lossy.out.contains("loses too much"), "{}", lossy.out);
}

#[test]
fn a_list_of_jacks_is_judged_row_by_row() {
    let top = json(&[JACKS]);
    let runs = top["answer"]["runs"].as_array().unwrap();
    assert_eq!(runs.len(), 7);
    assert_eq!(top["answer"]["unused_columns"][0], "room");
    let media: Vec<&str> = runs.iter().map(|r| r["medium"].as_str().unwrap()).collect();
    assert_eq!(media[6], "fibre");
    assert_eq!(runs[0]["length_m"][1], 31.5);
    assert_eq!(runs[4]["power"]["class"], 4);
    assert_eq!(runs[5]["power"]["load_watts"], 30.0);
    // the same run in words has the same numbers
    let words = "cat5e 31.5 m measured, loose, 6 neighbours at 1 Gb/s, uncertified";
    assert_eq!(
        json(&[words])["answer"]["runs"][0]["rates"],
        runs[0]["rates"]
    );
    // as another spreadsheet writes it
    let text = std::fs::read_to_string(root().join(JACKS)).unwrap();
    let mut wide = vec![0xff, 0xfe];
    for unit in text.replace(';', "\t").replace('\n', "\r\n").encode_utf16() {
        wide.extend(unit.to_le_bytes());
    }
    let file = Scratch::new("wide.txt", &wide);
    assert_eq!(
        json(&[file.path()])["answer"]["runs"],
        top["answer"]["runs"]
    );
}

#[test]
fn what_was_seen_on_a_port_outweighs_the_estimate() {
    let file = Scratch::new(
        "seen.csv",
        b"jack,cable,length m,negotiated\nA,cat6,30,1 Gb/s\nB,cat6,30,\n",
    );
    let text = cable(&[file.path()]).out;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("Seen on its ports: A at 1 Gb/s. What was seen outweighs"),
        "{text}"
    );
    let runs = json(&[file.path()])["answer"]["runs"].clone();
    assert_eq!(runs[0]["negotiated_megabits_per_s"], 1000.0);
    assert!(runs[1]["negotiated_megabits_per_s"].is_null());
}

#[test]
fn a_long_list_gets_one_line_a_jack() {
    let mut text = String::from("jack,cable,length m,bundle\n");
    for i in 0..30 {
        writeln!(text, "J-{i},cat5e,{},tight", 10 + 3 * i).unwrap();
    }
    let file = Scratch::new("many.csv", text.as_bytes());
    let ran = cable(&[file.path()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for i in 0..30 {
        let start = format!("J-{i} ");
        assert_eq!(
            ran.out.lines().filter(|l| l.starts_with(&start)).count(),
            1,
            "{i}"
        );
    }
    assert_eq!(rows(&[file.path()]).len(), 150);
}

#[test]
fn faults_are_shown_where_they_are() {
    for (arguments, places) in [
        (
            vec!["cat5e 31 m lose"],
            vec!["command line:1:12", "did you mean 'loose'"],
        ),
        (
            vec!["cat6", "cat9 3 m"],
            vec!["no length is told", "'cat9'", "2 faults"],
        ),
        (
            vec![ONE, "--power", "class 12"],
            vec!["'12' is no power class"],
        ),
        (
            vec![ONE, "--power-budget", "370 W"],
            vec!["nothing is powered"],
        ),
        (
            vec!["om3 80 m", "--power", "class 4", "--power-budget", "9 W"],
            vec!["nothing is powered"],
        ),
        (vec!["data/jacks"], vec!["a word that says nothing"]),
        (vec!["nothing.csv"], vec!["no such file"]),
        (
            vec!["tests/sites/broken/unknown-key.toml"],
            vec!["unknown-key.toml:18:1"],
        ),
    ] {
        let ran = cable(&arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        for place in places {
            assert!(
                ran.err.contains(place),
                "{arguments:?} {place}: {}",
                ran.err
            );
        }
    }
    let file = Scratch::new("bad.csv", b"jack;cable;length m\nA;cat6;30\nB;cat6;3o\n");
    let ran = cable(&[file.path()]);
    assert!(ran.err.contains(".csv:3:9"), "{}", ran.err);
}

#[test]
fn power_is_told_promised_expected_and_against_the_switch() {
    let text = "cat6 60 m, power class 6, 24 powered, enclosed";
    let ran = cable(&[text]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for word in [
        "promised W",
        "expected W",
        "bundle warmer by K",
        "51.0",
        "(fire)",
    ] {
        assert!(ran.out.contains(word), "{word}: {}", ran.out);
    }
    let power = &json(&[text])["answer"]["runs"][0]["power"];
    let watts = |key: &str| power[format!("{key}_watts")].as_f64().unwrap();
    assert!((watts("source") - watts("lost") - watts("expected")).abs() < 1e-3);
    assert_eq!((watts("guaranteed"), watts("reserved")), (51.0, 60.0));
    let heat = |key: &str| power["bundle_warmer_k"][key].as_f64().unwrap();
    assert!(heat("p05") < heat("p50") && heat("p50") < heat("p95"));
    // 7 runs of class 4 are 210 W
    let fits = cable(&[EXAMPLE, "--power", "class 4", "--power-budget", "210 W"]);
    assert_eq!(fits.code, 0, "{}", fits.out);
    let over = cable(&[EXAMPLE, "--power", "class 4", "--power-budget", "209 W"]);
    assert_eq!(over.code, 1, "{}", over.out);
    assert!(over.out.contains("too little"), "{}", over.out);
    let sum = &json(&[EXAMPLE, "--power", "class 4", "--power-budget", "209 W"])["answer"]["power"];
    assert_eq!(
        (&sum["powered_runs"], &sum["fits"]),
        (&7.into(), &false.into())
    );
    let clad = cable(&["cat6 30 m, copper-clad, power class 4"]);
    assert!(clad.out.contains("must not carry"), "{}", clad.out);
}

#[test]
fn fibre_and_twinax_have_reach_and_loss() {
    let top = json(&["fibre om3 80 m, 2 connections", "twinax 4 m"]);
    let runs = &top["answer"]["runs"];
    let optics = runs[0]["optics"].as_array().unwrap();
    let of = |name: &str| optics.iter().find(|o| o["optic"] == name).unwrap();
    // 80 m at 3 dB/km and two mated pairs: 1.74 dB of 2.6 dB
    assert_eq!(
        (&of("10gbase-sr")["loss_db"], &of("10gbase-sr")["left_db"]),
        (&1.74.into(), &0.86.into())
    );
    assert_eq!(
        (&of("25gbase-sr")["reach_m"], &of("25gbase-sr")["carries"]),
        (&70.0.into(), &false.into())
    );
    let twinax = runs[1]["twinax"].as_array().unwrap();
    let fast = twinax
        .iter()
        .find(|t| t["link_megabits_per_s"] == 25_000.0)
        .unwrap();
    assert_eq!(
        (&fast["carries"], &fast["carries_strong"]),
        (&false.into(), &true.into())
    );
    let text = cable(&["fibre om3 80 m"]).out;
    assert!(text.contains("Never look into a fibre end"), "{text}");
    assert_eq!(cable(&["fibre om3 80 m", "--need", "40 Gb/s"]).code, 0);
    assert_eq!(cable(&["fibre om3 400 m", "--need", "10 Gb/s"]).code, 1);
}

#[test]
fn what_is_not_modelled_says_so() {
    for (text, standing, word) in [
        ("cat6 3 m", "short-not-modelled", "short, not modelled"),
        (
            "cat6 110 m",
            "beyond-promise",
            "longer than any standard promises",
        ),
        ("cat6 50 m, two pairs", "too-few-pairs", "needs four pairs"),
        (
            "cat6a 50 m, module 30 m",
            "beyond-module",
            "beyond the reach of the module",
        ),
    ] {
        let ten = rate_of(&json(&[text])["answer"]["runs"][0], 10_000.0);
        assert_eq!(ten["today"]["standing"], standing, "{text}");
        assert!(ten["today"]["margin_db"].is_null(), "{text}");
        let said = cable(&[text])
            .out
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(said.contains(word), "{text}: {said}");
    }
}

#[test]
fn every_answer_carries_its_caution_and_fits_its_screen() {
    for arguments in [
        vec![ONE],
        vec![EXAMPLE],
        vec![JACKS],
        vec![JACKS, "--power", "class 4", "--power-budget", "100 W"],
        vec!["fibre 80 m", "twinax 3 m", "unknown 20..90 m, about"],
        vec!["cat5 90 m, copper-clad, screened, two pairs"],
        vec!["cat8 25 m, 2 connections", "--need", "25 Gb/s"],
    ] {
        let ran = cable(&arguments);
        assert!(ran.code < 2, "{}", ran.err);
        let text = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        for word in ["only a certification", "licensed people"] {
            assert!(text.contains(word), "{arguments:?} {word}");
        }
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 80, "{arguments:?}: {line:?}");
            assert!(!line.ends_with(' '), "{arguments:?}: {line:?}");
        }
        let cautions = json(&arguments)["cautions"].as_array().unwrap().len();
        assert!(cautions >= 2);
    }
}
