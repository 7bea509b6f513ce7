//! What the README and the tour show is what the program prints.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{narrows, rewriting, root};

/// Texts with sessions in them, and the least number of each.
const TEXTS: [(&str, usize); 2] = [("README.md", 1), ("docs/tour.md", 20)];

/// A session in a text: a command and the lines that it is said to print.
struct Session {
    arguments: Vec<String>,
    shown: Vec<String>,
    /// Index of the first line shown, in the text.
    first: usize,
}

fn sessions(text: &str) -> Vec<Session> {
    let mut found: Vec<Session> = Vec::new();
    let mut inside = false;
    for (at, line) in text.lines().enumerate() {
        if line.starts_with("```") {
            inside = line == "```console";
        } else if inside {
            if let Some(command) = line.strip_prefix("$ narrows") {
                found.push(Session {
                    arguments: words(command),
                    shown: Vec::new(),
                    first: at + 1,
                });
            } else if let Some(session) = found.last_mut() {
                session.shown.push(line.to_owned());
            }
        }
    }
    found
}

/// Splits a command as a shell does, as far as the texts need it.
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

/// How many words two lines share, by place from the left.
fn alike(a: &str, b: &str) -> usize {
    let (a, b): (Vec<&str>, Vec<&str>) = (
        a.split_whitespace().collect(),
        b.split_whitespace().collect(),
    );
    let same = a.iter().zip(&b).filter(|(a, b)| a == b).count();
    2 * same + a.iter().filter(|w| b.contains(w)).count()
}

/// The lines to show now in place of those shown, with the same gaps: behind a `...` each piece begins at
/// the line most like its first one, and is as long as it was.
fn renewed(shown: &[String], printed: &[&str]) -> Vec<String> {
    let mut lines = Vec::new();
    let mut at = 0;
    let pieces: Vec<&[String]> = shown.split(|line| line == "...").collect();
    for (i, piece) in pieces.iter().enumerate() {
        if i > 0 {
            lines.push("...".to_owned());
        }
        let Some(first) = piece.first() else { continue };
        if i > 0 {
            at = (at..printed.len())
                .rev()
                .max_by_key(|&k| alike(first, printed[k]))
                .unwrap_or(at);
        }
        let last = i + 1 == pieces.len();
        let end = if last {
            printed.len()
        } else {
            (at + piece.len()).min(printed.len())
        };
        lines.extend(printed[at..end].iter().map(|l| (*l).to_owned()));
        at = end;
    }
    lines
}

#[test]
fn the_texts_show_what_the_program_prints() {
    for (name, least) in TEXTS {
        let text = std::fs::read_to_string(root().join(name)).unwrap();
        let sessions = sessions(&text);
        assert!(sessions.len() >= least, "{name}: {}", sessions.len());
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        let mut wrong = String::new();
        for session in sessions.iter().rev() {
            let arguments: Vec<&str> = session.arguments.iter().map(String::as_str).collect();
            let ran = narrows(&arguments);
            let printed = format!("{}{}", ran.out, ran.err);
            let now: Vec<&str> = printed.lines().collect();
            if matches(&session.shown, &now) {
                continue;
            }
            wrong.extend([format!(
                "{name}, line {}: narrows {arguments:?} prints\n{printed}\n",
                session.first
            )]);
            lines.splice(
                session.first..session.first + session.shown.len(),
                renewed(&session.shown, &now),
            );
        }
        if rewriting() {
            std::fs::write(root().join(name), lines.join("\n") + "\n").unwrap();
        } else {
            assert!(
                wrong.is_empty(),
                "{wrong}(write anew with NARROWS_REWRITE=1, and read the difference)"
            );
        }
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

#[test]
fn a_session_is_renewed_with_its_gaps() {
    let shown: Vec<String> = ["a 1", "...", "b 2 of 3", "c", "..."]
        .map(str::to_owned)
        .into();
    let printed = ["a 5", "x", "y", "b 7 of 3", "d", "z"];
    let now = renewed(&shown, &printed);
    assert_eq!(now, ["a 5", "...", "b 7 of 3", "d", "..."]);
    assert!(matches(&now, &printed));
    assert!(!matches(&shown, &printed));
}
