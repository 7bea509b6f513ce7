//! What the README shows is what the program prints.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{narrows, rewriting, root};

/// A session in the README: a command and the lines that it is said to print.
struct Session {
    arguments: Vec<String>,
    shown: Vec<String>,
}

fn sessions(text: &str) -> Vec<Session> {
    let mut found: Vec<Session> = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with("```") {
            inside = line == "```console";
        } else if inside {
            if let Some(command) = line.strip_prefix("$ narrows ") {
                found.push(Session {
                    arguments: words(command),
                    shown: Vec::new(),
                });
            } else if let Some(session) = found.last_mut() {
                session.shown.push(line.to_owned());
            }
        }
    }
    found
}

/// Splits a command as a shell does, as far as the README needs it.
fn words(command: &str) -> Vec<String> {
    let mut found = vec![String::new()];
    let mut quote = None;
    for c in command.chars() {
        match (quote, c) {
            (Some(q), c) if c == q => quote = None,
            (None, '\'' | '"') => quote = Some(c),
            (None, ' ') => found.push(String::new()),
            (_, c) => {
                if let Some(word) = found.last_mut() {
                    word.push(c);
                }
            }
        }
    }
    found.retain(|w| !w.is_empty());
    found
}

/// Whether the lines are those shown, where `...` stands for any number of lines.
fn matches(shown: &[String], printed: &[&str]) -> bool {
    match shown.split_first() {
        None => printed.is_empty(),
        Some((first, rest)) if first == "..." => {
            (0..=printed.len()).any(|skip| matches(rest, &printed[skip..]))
        }
        Some((first, rest)) => printed
            .split_first()
            .is_some_and(|(line, more)| line == first && matches(rest, more)),
    }
}

#[test]
fn the_readme_shows_what_the_program_prints() {
    let text = std::fs::read_to_string(root().join("README.md")).unwrap();
    let sessions = sessions(&text);
    assert!(sessions.len() >= 5, "{}", sessions.len());
    for session in sessions {
        let arguments: Vec<&str> = session.arguments.iter().map(String::as_str).collect();
        let ran = narrows(&arguments);
        let printed = format!("{}{}", ran.out, ran.err);
        let lines: Vec<&str> = printed.lines().collect();
        assert!(
            rewriting() || matches(&session.shown, &lines),
            "narrows {arguments:?} prints\n{printed}"
        );
    }
}

#[test]
fn the_two_commands_are_there() {
    let text = std::fs::read_to_string(root().join("README.md")).unwrap();
    for command in [
        "cargo run --release -- budget data/sites/granary-lane.toml",
        "cargo test --workspace",
    ] {
        assert!(text.contains(command), "{command}");
    }
}
