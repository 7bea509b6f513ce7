//! The harness as it is called.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use std::process::Command;

fn ran(arguments: &[&str]) -> (Option<i32>, String) {
    let ran = Command::new(env!("CARGO_BIN_EXE_narrows-fuzz"))
        .args(arguments)
        .output()
        .unwrap();
    (
        ran.status.code(),
        String::from_utf8_lossy(&ran.stdout).into_owned(),
    )
}

#[test]
fn readers_are_named_and_others_are_not_known() {
    let (code, out) = ran(&["--seconds", "0", "site", "jobs"]);
    assert_eq!(code, Some(0), "{out}");
    assert_eq!(out.lines().count(), 3, "{out}");
    let (code, out) = ran(&["nothing"]);
    assert_eq!(code, Some(2));
    assert!(
        out.contains("no reader is called 'nothing'; there are quantity,"),
        "{out}"
    );
    let (code, out) = ran(&["--seconds", "many"]);
    assert_eq!(
        (code, out.contains("a whole number")),
        (Some(2), true),
        "{out}"
    );
}
