//! The way in: forms that are understood, the questions, the examples, pipes and shells.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_core::catalogue::Catalogue;
use narrows_core::site::{read, tidied};
use narrows_tests::{kept, narrows, narrows_reading, root};
use std::path::{Path, PathBuf};

/// A folder of this test's own.
fn folder(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("narrows-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn text(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap()
}

#[test]
fn a_short_form_is_the_site_that_its_long_form_is() {
    let catalogue = Catalogue::embedded().unwrap();
    let short =
        read(&text("tests/forms/short.toml"), &[], &catalogue).unwrap_or_else(|f| panic!("{f}"));
    let long = read(&text("tests/forms/long.toml"), &[], &catalogue).unwrap();
    assert_eq!(short.runs, long.runs);
    assert_eq!(short.switches, long.switches);
    assert_eq!(short.desks, long.desks);
    assert_eq!(short.arrays, long.arrays);
    assert_eq!(short.nas, long.nas);
}

#[test]
fn a_tidied_site_is_the_same_site_and_is_tidy() {
    let catalogue = Catalogue::embedded().unwrap();
    let mut files = vec![
        "tests/forms/short.toml".to_owned(),
        "tests/forms/long.toml".to_owned(),
    ];
    for entry in std::fs::read_dir(root().join("data/sites")).unwrap() {
        files.push(format!(
            "data/sites/{}",
            entry.unwrap().file_name().to_str().unwrap()
        ));
    }
    for file in files {
        let written = text(&file);
        let tidy = tidied(written.as_bytes(), &[], &catalogue).unwrap();
        let again = tidied(tidy.text.as_bytes(), &[], &catalogue)
            .unwrap_or_else(|f| panic!("{file}: {f}\n{}", tidy.text));
        assert_eq!(tidy.text, again.text, "{file}");
        assert!(
            again.understood.is_empty(),
            "{file}: {:?}",
            again.understood
        );
        let mut before = read(&written, &[], &catalogue).unwrap();
        let mut after = read(&tidy.text, &[], &catalogue).unwrap();
        // the order of what is assumed is that of the file
        before.assumptions.sort_by(|a, b| a.id.cmp(&b.id));
        after.assumptions.sort_by(|a, b| a.id.cmp(&b.id));
        assert_eq!(before, after, "{file}");
        for comment in written.lines().filter(|l| l.trim_start().starts_with('#')) {
            assert!(tidy.text.contains(comment.trim()), "{file} lost {comment}");
        }
    }
}

#[test]
fn what_was_understood_is_said_back() {
    let ran = narrows(&["check", "tests/forms/short.toml"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for said in [
        "'SMB' is smb",
        "'10 gig' is 10 Gb/s",
        "'gigabit'",
        "'SATA SSD' is ssd-sata",
        "'don't know' is unknown",
    ] {
        assert!(ran.out.contains(said), "{said} is not in\n{}", ran.out);
    }
    let tidy = narrows(&["check", "tests/forms/short.toml", "--tidy"]);
    assert!(
        tidy.out.contains("to     = \"switch.attic.slow\""),
        "{}",
        tidy.out
    );
    let json = narrows(&["check", "tests/forms/short.toml", "--format", "json"]);
    assert!(json.out.contains("\"understood\""));
}

#[test]
fn an_edit_is_understood_like_a_file() {
    let plain = narrows(&[
        "check",
        "data/sites/granary-lane.toml",
        "--tidy",
        "--set",
        "run.2.cable=Cat 6A",
        "--set",
        "switch.stairs.port.any.rate=gigabit",
    ]);
    assert_eq!(plain.code, 0, "{}", plain.err);
    assert!(
        plain
            .out
            .contains("cable  = \"cat6a\"\nlength = \"20..35 m\""),
        "{}",
        plain.out
    );
    let never = narrows(&[
        "check",
        "data/sites/granary-lane.toml",
        "--set",
        "run.2.cable=cat 9",
    ]);
    assert_eq!(never.code, 2);
    assert!(!never.err.contains("did you mean"), "{}", never.err);
}

#[test]
fn ports_of_which_only_the_number_is_known_are_assumed_and_listed() {
    let site = text("tests/forms/long.toml").replace(
        "port.fast = { rate = \"10 Gb/s\", count = 3 }\nport.slow = { rate = \"1 Gb/s\", count = 8 }",
        "ports = 16",
    );
    let site = site
        .replace("switch.attic.fast", "switch.attic")
        .replace("switch.attic.slow", "switch.attic");
    let ran = narrows_reading(&["check", "-"], site.as_bytes());
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out
            .contains("switch.attic.port.any.rate (1 Gb/s is assumed)"),
        "{}",
        ran.out
    );
}

#[test]
fn examples_come_along_and_can_be_asked() {
    let list = narrows(&["example"]);
    assert_eq!(list.code, 0);
    for (name, file, _, body) in narrows_data::EXAMPLES {
        assert!(list.out.contains(name), "{}", list.out);
        let one = narrows(&["example", name]);
        assert_eq!(&one.out, body);
        assert_eq!(narrows(&["example", file]).out, *body);
    }
    let none = narrows(&["example", "nowhere"]);
    assert_eq!(none.code, 2);
    assert!(none.err.contains("granary-lane"), "{}", none.err);
}

#[test]
fn the_name_alone_says_three_ways_to_begin() {
    let ran = narrows(&[]);
    assert_eq!(ran.code, 0);
    for way in [
        "narrows describe",
        "narrows example",
        "narrows budget --port",
    ] {
        assert!(ran.out.contains(way), "{}", ran.out);
    }
}

#[test]
fn a_file_may_come_on_the_standard_input() {
    let site = text("data/sites/granary-lane.toml");
    let piped = narrows_reading(&["budget", "-", "--format", "csv"], site.as_bytes());
    let named = narrows(&["budget", "data/sites/granary-lane.toml", "--format", "csv"]);
    assert_eq!(piped, named);
    let nothing = narrows_reading(&["budget", "-"], b"");
    assert_eq!(nothing.code, 2);
    assert!(nothing.err.contains("standard input"), "{}", nothing.err);
    let tasks = text("data/tasks/granary-lane.toml");
    let ran = narrows_reading(
        &["together", "data/sites/granary-lane.toml", "--tasks", "-"],
        tasks.as_bytes(),
    );
    assert!(ran.code <= 1 && ran.out.contains("multicam"), "{}", ran.err);
}

#[test]
fn faults_in_json_go_out_in_one_envelope() {
    let ran = narrows(&[
        "budget",
        "tests/sites/broken/many-faults.toml",
        "--format",
        "json",
    ]);
    assert_eq!((ran.code, ran.err.as_str()), (2, ""));
    let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let faults = value["faults"].as_array().unwrap();
    assert_eq!(value["faults_total"], faults.len());
    assert!(faults.len() > 8);
    let lenght = faults.iter().find(|f| f["fix"] == "length").unwrap();
    assert_eq!(
        (lenght["line"].as_u64(), lenght["column"].as_u64()),
        (Some(22), Some(1))
    );
    assert_eq!(lenght["kind"], "file");
    assert!(lenght["allowed"].as_str().unwrap().contains("from, to"));
    let gone = narrows(&["budget", "nowhere.toml", "--format", "json"]);
    let value: serde_json::Value = serde_json::from_str(&gone.out).unwrap();
    assert_eq!(
        (gone.code, &value["faults"][0]["kind"]),
        (2, &"input".into())
    );
    let edit = narrows(&[
        "budget",
        "data/sites/granary-lane.toml",
        "--set",
        "run.99.cable=cat6",
        "--format",
        "json",
    ]);
    let value: serde_json::Value = serde_json::from_str(&edit.out).unwrap();
    assert_eq!(
        (edit.code, &value["faults"][0]["kind"]),
        (2, &"edit".into())
    );
}

#[test]
fn of_very_many_faults_the_first_hundred_are_drawn() {
    let machines: Vec<String> = (0..150)
        .map(|i| format!("[nas.n{i}]\nlenght = 1\n"))
        .collect();
    let site = format!("name = \"x\"\n{}", machines.concat());
    let drawn = narrows_reading(&["check", "-"], site.as_bytes());
    assert_eq!(
        drawn.err.lines().filter(|l| l.starts_with("error")).count(),
        100,
        "{}",
        drawn.err.lines().last().unwrap()
    );
    assert!(drawn.err.contains("--format json has all"));
    let json = narrows_reading(&["check", "-", "--format", "json"], site.as_bytes());
    let value: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    assert!(value["faults_total"].as_u64().unwrap() > 100);
}

/// A dialogue: its answers, what else is given, and the most questions that it may take.
fn dialogue(name: &str, more: &[&str], most: usize) -> String {
    let here = folder(name);
    let target = here.join("site.toml");
    let answers = format!("tests/dialogues/{name}.answers");
    let mut arguments = vec!["describe", target.to_str().unwrap(), "--answers", &answers];
    arguments.extend(more);
    let ran = narrows(&arguments);
    assert_eq!(ran.code, 0, "{}\n{}", ran.out, ran.err);
    let questions = ran.out.lines().find_map(|l| {
        let before = l.split(" question").next()?;
        before
            .rsplit(' ')
            .next()?
            .parse::<usize>()
            .ok()
            .filter(|_| l.contains("question") && l.contains("asked"))
    });
    assert!(questions.unwrap() <= most, "{questions:?}\n{}", ran.out);
    let checked = narrows(&["check", target.to_str().unwrap()]);
    assert_eq!(checked.code, 0, "{}", checked.err);
    assert!(!here.join("site.answers").exists());
    // never over another file
    let again = narrows(&arguments);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("is there already"), "{}", again.err);
    let site = std::fs::read_to_string(&target).unwrap();
    let dialogue = ran.out.replace(target.to_str().unwrap(), "site.toml");
    let (dialogue, _) = dialogue
        .split_once("\n\n")
        .map_or((dialogue.as_str(), ""), |_| (dialogue.as_str(), ""));
    let asked = dialogue.split("\nWritten: ").next().unwrap();
    kept(
        &Path::new(&root()).join(format!("tests/dialogues/{name}.txt")),
        &format!("{asked}\n---\n{site}"),
    )
    .unwrap();
    assert!(dialogue.contains("Worth finding out first"), "{dialogue}");
    let _ = std::fs::remove_dir_all(&here);
    ran.out
}

#[test]
fn three_kinds_of_people_get_to_a_site() {
    let nothing = dialogue("knows-nothing", &[], 15);
    assert!(nothing.contains("To find out:"));
    dialogue("knows-the-nas", &[], 15);
    let jacks = dialogue("has-jacks", &["--jacks", "data/jacks/closet.csv"], 12);
    assert!(!jacks.contains("Which cable leads from"), "{jacks}");
}

#[test]
fn what_was_said_before_an_interruption_is_kept() {
    let here = folder("interrupted");
    let target = here.join("site.toml");
    let arguments = ["describe", target.to_str().unwrap()];
    let stopped = narrows_reading(
        &arguments,
        b"Granary Lane\ncut-1, nvme\n\n6 x 10 TB raid 6\n",
    );
    assert_eq!(stopped.code, 2);
    assert!(!target.exists());
    let answers = here.join("site.answers");
    assert!(stopped.out.contains("nothing is lost"), "{}", stopped.out);
    let rest = b"10 Gb/s\nsmb, unsigned\n60 %\nnone\n\n10 Gb/s\n\ncat 6a 20 m\n";
    let on = narrows_reading(
        &[
            "describe",
            target.to_str().unwrap(),
            "--answers",
            answers.to_str().unwrap(),
        ],
        rest,
    );
    assert_eq!(on.code, 0, "{}\n{}", on.out, on.err);
    assert!(target.exists() && !answers.exists());
    let site = std::fs::read_to_string(&target).unwrap();
    assert!(
        site.contains("desk.cut-1 - nas.store: cat6a, 20 m"),
        "{site}"
    );
    let _ = std::fs::remove_dir_all(&here);
}

#[test]
fn completions_offer_the_names_of_a_site() {
    for shell in ["bash", "zsh", "fish", "powershell"] {
        let plain = narrows(&["completions", shell]);
        assert_eq!(plain.code, 0);
        assert!(
            plain.out.contains("together") && !plain.out.contains("cut-2"),
            "{shell}"
        );
        let with = narrows(&[
            "completions",
            shell,
            "--site",
            "data/sites/granary-lane.toml",
        ]);
        assert_eq!(with.code, 0, "{}", with.err);
        // the shell whose completions clap cannot give values to is told apart
        assert!(
            shell == "powershell" || with.out.contains("cut-1"),
            "{shell}"
        );
    }
}

#[test]
fn every_command_has_a_manual_page() {
    let here = folder("manual");
    let ran = narrows(&["manual", here.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    // bold and underlined words, which a pipe does not get
    let help = ["\u{1b}[1m", "\u{1b}[4m", "\u{1b}[0m"]
        .iter()
        .fold(narrows(&["--help"]).out, |text, mark| {
            text.replace(mark, "")
        });
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|l| !l.starts_with("Commands:"))
        .skip(1)
        .take_while(|l| l.starts_with("  "))
        .filter(|l| l.starts_with("  ") && !l.starts_with("   "))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|c| *c != "help")
        .collect();
    assert!(commands.len() >= 12, "{help}");
    for command in commands {
        let page = std::fs::read_to_string(here.join(format!("narrows-{command}.1"))).unwrap();
        assert!(
            page.contains(".SH NAME") && page.contains(".SH OPTIONS"),
            "{command}"
        );
    }
    let nowhere = narrows(&["manual", "/nowhere/at/all"]);
    assert_eq!(nowhere.code, 2);
    let _ = std::fs::remove_dir_all(&here);
}

/// Takes what is written until a word has come so often, then breaks as a closed pipe does.
struct Until {
    seen: String,
    word: &'static str,
    times: usize,
    on: Box<dyn FnMut(usize) + Send>,
}

impl std::io::Write for Until {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let before = self.seen.matches(self.word).count();
        self.seen.push_str(&String::from_utf8_lossy(bytes));
        let now = self.seen.matches(self.word).count();
        if now >= self.times {
            return Err(std::io::ErrorKind::BrokenPipe.into());
        }
        if now > before {
            (self.on)(now);
        }
        Ok(bytes.len())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_watched_file_is_checked_when_it_is_saved() {
    let here = folder("watch");
    let file = here.join("site.toml");
    let good = text("data/sites/one-desk.toml");
    std::fs::write(&file, good.replace("length", "lenght")).unwrap();
    let saved = file.clone();
    let mut out = Until {
        seen: String::new(),
        word: "-- waiting",
        times: 2,
        on: Box::new(move |_| std::fs::write(&saved, &good).unwrap()),
    };
    let mut err = Vec::new();
    let arguments = ["narrows", "check", file.to_str().unwrap(), "--watch"];
    narrows::run_reading(arguments, &mut &b""[..], &mut out, &mut err, false);
    assert!(String::from_utf8_lossy(&err).contains("did you mean 'length'?"));
    assert!(out.seen.contains("No faults in"), "{}", out.seen);
    let _ = std::fs::remove_dir_all(&here);
}
