//! Two of our programs over loopback.

use super::{EXAMPLE, answer, fine, flat, names, roomy};
use narrows_tests::{Ran, narrows};
use std::path::Path;
use tempfile::TempDir;

/// A port that nobody uses now.
fn free() -> String {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap().to_string()
}

/// Starts a waiting side and gives its address and the file of its token.
fn waiting(folder: &Path) -> (String, String, std::thread::JoinHandle<Ran>) {
    let address = free();
    let token = folder.join("token");
    let text = token.to_str().unwrap().to_owned();
    let (at, file) = (address.clone(), text.clone());
    let thread = std::thread::spawn(move || {
        narrows(&[
            "measure",
            "network",
            "--wait",
            "--at",
            &at,
            "--token-file",
            &file,
            "--as-administrator",
            "--minutes",
            "2",
        ])
    });
    for _ in 0..500 {
        // the token is written when the port listens
        if std::fs::read_to_string(&token).is_ok_and(|text| text.ends_with('\n')) {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    (address, text, thread)
}

#[test]
fn the_network_is_measured_over_loopback_and_explain_takes_it() {
    let folder = TempDir::new().unwrap();
    let (address, token, thread) = waiting(folder.path());
    let list = folder.path().join("readings.csv");
    let list = list.to_str().unwrap();
    let ran = fine(&[
        "measure",
        "network",
        "--ask",
        &address,
        "--token-file",
        &token,
        "--seconds",
        "1",
        "--as-administrator",
        "--desk",
        "cut-1",
        "--readings",
        list,
    ]);
    let text = flat(&ran.out);
    for part in [
        "Memory to memory this machine reads",
        "Round trip, ms:",
        "under load",
        "This program alone, over loopback",
    ] {
        assert!(text.contains(part), "{part}: {}", ran.out);
    }
    let waited = thread.join().unwrap();
    assert_eq!(waited.code, 0, "{}", waited.err);
    assert!(
        waited.out.contains("Token: ") && waited.out.contains("Done: 8 runs"),
        "{}",
        waited.out
    );
    let rows = std::fs::read_to_string(list).unwrap();
    let count = |what: &str| rows.lines().filter(|row| row.contains(what)).count();
    assert_eq!(
        (
            count(",raw tcp,read"),
            count(",raw tcp,write"),
            count(",ping,")
        ),
        (3, 3, 1),
        "{rows}"
    );
    let explained = answer(&["explain", EXAMPLE, "--readings", list]);
    assert!(
        explained["readings"].as_array().unwrap().len() >= 7,
        "{explained}"
    );
}

#[test]
fn a_wrong_token_ends_with_two() {
    let folder = TempDir::new().unwrap();
    let (address, token, thread) = waiting(folder.path());
    let wrong = folder.path().join("wrong");
    std::fs::write(&wrong, "0000-0000-0000-0000-0000-0000-0000-0000").unwrap();
    for _ in 0..3 {
        let ran = narrows(&[
            "measure",
            "network",
            "--ask",
            &address,
            "--token-file",
            wrong.to_str().unwrap(),
            "--as-administrator",
        ]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
        assert!(
            ran.err.contains("the token is not that of the other side"),
            "{}",
            ran.err
        );
    }
    assert_eq!(thread.join().unwrap().code, 2);
    // nobody waits any more
    let ran = narrows(&[
        "measure",
        "network",
        "--ask",
        &address,
        "--token-file",
        &token,
        "--as-administrator",
    ]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("connecting failed"), "{}", ran.err);
}

#[test]
fn explain_measures_at_its_desk() {
    let folder = TempDir::new().unwrap();
    let share = roomy();
    let (address, token, thread) = waiting(folder.path());
    let arguments = [
        "explain",
        EXAMPLE,
        "--measure",
        "--desk",
        "cut-1",
        "--folder",
        share.path().to_str().unwrap(),
        "--ask",
        &address,
        "--token-file",
        &token,
        "--measure-seconds",
        "1",
        "--as-administrator",
    ];
    // without consent nothing happens
    let refused = narrows(&arguments);
    assert_eq!(refused.code, 2, "{}", refused.out);
    assert!(refused.err.contains("answer with --yes"), "{}", refused.err);
    let explained = answer(&[&arguments[..], &["--yes"]].concat());
    let what: Vec<&str> = explained["readings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["what"].as_str().unwrap())
        .collect();
    for wanted in ["local-disk", "raw-tcp", "ping"] {
        assert!(what.contains(&wanted), "{wanted}: {what:?}");
    }
    assert_eq!(thread.join().unwrap().code, 0);
    assert!(names(share.path()).is_empty());
}
