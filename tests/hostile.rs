//! Text from outside that a terminal would obey, or nobody would see: no command lets it through.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_core::letters::is_hidden;
use narrows_tests::{Ran, narrows};

const EXAMPLE: &str = "data/sites/granary-lane.toml";
/// A bell, a C1 control, a turn of direction, a joiner, a tag.
const HOSTILE: &str = "a]0;x\u{7}\u{9b}2J\u{202e}b\u{200b}\u{e0041}";

/// The text without sequences that only set a style.
fn without_styles(text: &str) -> String {
    let mut pieces = text.split("\u{1b}[");
    let mut plain = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let end = piece.find(|c: char| !c.is_ascii_digit() && c != ';');
        match end.filter(|end| piece[*end..].starts_with('m')) {
            Some(end) => plain.push_str(&piece[end + 1..]),
            None => plain.extend(["\u{1b}[", piece]),
        }
    }
    plain
}

fn holds_nothing_hidden(ran: &Ran, what: &str) {
    for text in [&ran.out, &ran.err] {
        let text = without_styles(text);
        let found = text.chars().find(|c| is_hidden(*c) && *c != '\n');
        assert!(
            found.is_none(),
            "{what} lets {} through",
            found.unwrap_or_default().escape_unicode()
        );
    }
}

/// Commands with a file that the hostile text is written into.
fn with_a_list(list: &str) -> Vec<Vec<&str>> {
    vec![
        vec!["together", EXAMPLE, "--day", list],
        vec!["together", EXAMPLE, "--tasks", list],
        vec!["cable", list],
        vec!["ports", EXAMPLE, "--jacks", list],
        vec!["buy", EXAMPLE, "--offers", list, "--spend", "300 EUR"],
        vec!["explain", EXAMPLE, "--readings", list],
        vec!["check", list],
        vec!["budget", list],
    ]
}

#[test]
fn lists_and_sites_with_hidden_letters_show_them_in_writing_or_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let lists = [
        format!("what,size,from,to,earliest,due\n{HOSTILE},10 GB,ingest,vault,09:00,18:00\n"),
        format!("jack,cable,length\n{HOSTILE},cat5e,30 m\n"),
        format!("desk,what,direction,value\ncut-1,copy,read,{HOSTILE}\n"),
        format!("[[offer]]\nwhat = \"{HOSTILE}\"\nprice = \"90 EUR\"\n"),
        format!("name = \"{HOSTILE}\"\n[desk.\"{HOSTILE}\"]\n"),
        HOSTILE.to_owned(),
    ];
    for (number, list) in lists.iter().enumerate() {
        let path = folder.path().join(format!("list-{number}"));
        std::fs::write(&path, list).unwrap();
        let path = path.to_str().unwrap();
        for call in with_a_list(path) {
            for format in ["text", "json", "csv", "markdown"] {
                let mut call = call.clone();
                call.extend(["--format", format]);
                let ran = narrows(&call);
                holds_nothing_hidden(&ran, &format!("{call:?} of list {number}"));
            }
        }
    }
}

#[test]
fn arguments_and_paths_with_hidden_letters_show_them_in_writing() {
    let set = format!("name=\"{HOSTILE}\"");
    for call in [
        vec!["budget", EXAMPLE, "--desk", HOSTILE],
        vec!["budget", EXAMPLE, "--why", HOSTILE],
        vec!["budget", EXAMPLE, "--set", set.as_str()],
        vec!["budget", HOSTILE],
        vec!["capacity", HOSTILE],
        vec!["layouts", HOSTILE],
        vec!["explain", EXAMPLE, "--measured", HOSTILE],
        vec!["facts", HOSTILE],
        vec![HOSTILE],
    ] {
        let ran = narrows(&call);
        assert_ne!(ran.code, 0, "{call:?}");
        holds_nothing_hidden(&ran, &format!("{call:?}"));
    }
}

/// Colours of others would pass where ours do.
#[test]
fn styles_from_outside_reach_no_terminal() {
    const STYLED: &str = "cut\u{1b}[35;7m-1";
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("list.csv");
    let list = format!("what,size,from,to,earliest,due\n{STYLED},10 GB,ingest,vault,09:00,18:00\n");
    std::fs::write(&path, list).unwrap();
    let mut calls = with_a_list(path.to_str().unwrap());
    calls.extend([
        vec!["budget", EXAMPLE, "--desk", STYLED],
        vec!["budget", STYLED],
        vec![STYLED],
    ]);
    for call in calls {
        for format in ["text", "json"] {
            let mut call = call.clone();
            call.extend(["--format", format]);
            let ran = narrows(&call);
            assert_eq!(ran.code, 2, "{call:?}");
            let said = format!("{}{}", ran.out, ran.err);
            assert!(
                !said.contains("[35;7m") || said.contains("\\u001b[35;7m"),
                "{said}"
            );
            assert!(!said.contains("\u{1b}[35;7m"), "{said}");
        }
    }
    let ran = narrows(&["together", EXAMPLE, "--day", path.to_str().unwrap()]);
    assert!(
        ran.err.contains("list.csv, line 2: a letter"),
        "{}",
        ran.err
    );
}

#[test]
fn a_name_in_json_reads_back_as_it_was_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("day.csv");
    let name = "card \u{202e}A";
    let list = format!("what,size,from,to,earliest,due\n{name},10 GB,ingest,vault,09:00,18:00\n");
    std::fs::write(&path, list).unwrap();
    let path = path.to_str().unwrap();
    let ran = narrows(&["together", EXAMPLE, "--day", path, "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(json["answer"]["day"]["jobs"][0]["job"], name, "{}", ran.out);
}

#[test]
fn ten_thousand_faults_are_counted_and_a_hundred_drawn() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.toml");
    let lines: Vec<String> = (0..10_000)
        .map(|key| format!("key-{key} = {key}\n"))
        .collect();
    std::fs::write(&path, lines.concat()).unwrap();
    let ran = narrows(&["check", path.to_str().unwrap()]);
    assert_eq!(ran.code, 2);
    assert_eq!(ran.err.matches("error: ").count(), 100);
    assert!(
        ran.err.contains(" more after these 100"),
        "{}",
        &ran.err[ran.err.len() - 300..]
    );
}
