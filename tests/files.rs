//! Files that are written and read from the command line: whole or not at all, never over another by
//! mistake, and nothing that waits for ever.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{Ran, narrows, root};
use std::path::Path;
use std::process::Command;

const LANE: &str = "data/sites/granary-lane.toml";

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

fn is_refused(ran: &Ran, with: &str) {
    assert_eq!(ran.code, 2, "{}{}", ran.out, ran.err);
    assert!(ran.err.contains(with), "{}", ran.err);
}

#[test]
fn a_picture_is_never_drawn_over_another_file_without_a_word() {
    let folder = folder();
    let file = folder.path().join("mine.txt");
    let path = text(&file);
    std::fs::write(&file, "what I wrote").unwrap();
    let commands: [&[&str]; 4] = [
        &["budget", LANE, "--desk", "cut-1"],
        &["together", LANE],
        &["cable", "cat5e 31 m"],
        &["wireless", "data/sites/granary-lane-whole.toml"],
    ];
    for command in commands {
        let drawn = [command, &["--svg", &path]].concat();
        is_refused(&narrows(&drawn), "is there already");
        assert_eq!(std::fs::read_to_string(&file).unwrap(), "what I wrote");
    }
    let forced = [commands[2], &["--svg", &path, "--force"]].concat();
    assert_ne!(narrows(&forced).code, 2);
    assert!(std::fs::read_to_string(&file).unwrap().contains("<svg"));
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "{left:?}");
}

#[test]
fn a_page_replaces_a_page_and_nothing_else() {
    let folder = folder();
    let file = folder.path().join("page.html");
    let path = text(&file);
    let page = ["report", "data/sites/one-desk.toml", "-o", &path];
    assert_eq!(narrows(&page).code, 0);
    assert_eq!(narrows(&page).code, 0, "its own page is replaced");
    std::fs::write(&file, "somebody else's").unwrap();
    is_refused(&narrows(&page), "no page of this program");
    let forced = [&page[..], &["--force"]].concat();
    assert_eq!(narrows(&forced).code, 0);
}

#[test]
fn a_refused_command_leaves_no_picture() {
    let folder = folder();
    let file = folder.path().join("none.svg");
    let path = text(&file);
    for format in ["text", "json", "csv", "markdown"] {
        let hop = ["budget", LANE, "--why", "nas.nowhere", "--format", format];
        for ran in [
            narrows(&hop),
            narrows(&[&hop[..], &["--svg", &path]].concat()),
        ] {
            assert_eq!(ran.code, 2, "{format}: {}", ran.out);
            let said = format!("{}{}", ran.out, ran.err);
            assert!(
                said.contains("no path passes a place 'nas.nowhere'"),
                "{said}"
            );
        }
        let rate = [
            "cable",
            "cat5e 31 m",
            "--why",
            "40 Gb/s",
            "--format",
            format,
        ];
        assert_eq!(narrows(&rate).code, 2, "{format}");
        assert!(!file.exists());
    }
}

#[test]
fn a_list_that_is_missing_is_called_by_its_name() {
    let missing: [(&[&str], &str); 5] = [
        (&["together", LANE, "--day", "no.csv"], "start"),
        (&["together", LANE, "--tasks", "no.toml"], "[[task]]"),
        (&["ports", LANE, "--jacks", "no.csv"], "jack, desk"),
        (
            &["explain", LANE, "--readings", "no.csv"],
            "direction, value",
        ),
        (&["buy", LANE, "--offers", "no.toml"], "[[offer]]"),
    ];
    for (command, help) in missing {
        let ran = narrows(command);
        is_refused(&ran, "there is no such file");
        assert!(ran.err.contains(help), "{}", ran.err);
        assert!(!ran.err.contains("site file"), "{}", ran.err);
    }
    is_refused(&narrows(&["check", "no.toml"]), "site file");
}

#[test]
fn what_never_ends_ends_at_once() {
    let zeros = narrows(&["check", "/dev/zero"]);
    is_refused(&zeros, "goes on after a megabyte");
    let folder = folder();
    let large = folder.path().join("film.toml");
    let file = std::fs::File::create(&large).unwrap();
    file.set_len(1_000_000_000).unwrap();
    is_refused(&narrows(&["check", &text(&large)]), "1000000000 bytes long");
    is_refused(
        &narrows(&["ports", LANE, "--jacks", &text(&large)]),
        "a list of jacks is at most a megabyte",
    );
    let pipe = folder.path().join("pipe");
    if Command::new("mkfifo")
        .arg(&pipe)
        .status()
        .is_ok_and(|s| s.success())
    {
        is_refused(&narrows(&["check", &text(&pipe)]), "nothing came out of");
    }
}

#[test]
fn a_pipe_is_read_as_a_file_is() {
    let folder = folder();
    let pipe = folder.path().join("pipe");
    if !Command::new("mkfifo")
        .arg(&pipe)
        .status()
        .is_ok_and(|s| s.success())
    {
        return;
    }
    let site = std::fs::read(root().join(LANE)).unwrap();
    let to = pipe.clone();
    let writer = std::thread::spawn(move || std::fs::write(to, site));
    let ran = narrows(&["budget", &text(&pipe), "--format", "csv"]);
    writer.join().unwrap().unwrap();
    assert_eq!(ran, narrows(&["budget", LANE, "--format", "csv"]));
}
