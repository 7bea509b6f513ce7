//! Faults for a program: the same envelope for whatever is wrong.

use super::document::pretty;
use super::faults::{Texts, text_of};
use crate::Screen;
use narrows_core::site::{Fault, FaultSource, Faults};
use serde::Serialize;

#[derive(Serialize)]
struct Envelope<'a> {
    version: &'a str,
    command: &'a str,
    faults: Vec<One<'a>>,
    faults_total: usize,
}

#[derive(Serialize)]
struct One<'a> {
    file: Option<String>,
    line: Option<usize>,
    column: Option<usize>,
    kind: &'static str,
    text: &'a str,
    found: &'a str,
    allowed: &'a str,
    fix: Option<&'a str>,
    choices: Vec<Choice<'a>>,
}

#[derive(Serialize)]
struct Choice<'a> {
    id: &'a str,
    meaning: &'a str,
    probability: f64,
}

/// Prints faults in texts.
pub(crate) fn faults(
    screen: &mut Screen<'_>,
    faults: &Faults,
    texts: &Texts<'_>,
) -> std::io::Result<()> {
    let all = faults.into_iter().map(|fault| one(fault, texts)).collect();
    print(screen, all)
}

/// Prints why nothing can be done.
pub(crate) fn refusal(screen: &mut Screen<'_>, what: &str, help: &str) -> std::io::Result<()> {
    let one = One {
        file: None,
        line: None,
        column: None,
        kind: "input",
        text: what,
        found: what,
        allowed: help,
        fix: None,
        choices: Vec::new(),
    };
    print(screen, vec![one])
}

fn print(screen: &mut Screen<'_>, faults: Vec<One<'_>>) -> std::io::Result<()> {
    let envelope = Envelope {
        version: env!("CARGO_PKG_VERSION"),
        command: screen.command,
        faults_total: faults.len(),
        faults,
    };
    write!(screen.out, "{}", pretty(&envelope)?)
}

fn one<'f>(fault: &'f Fault, texts: &Texts<'_>) -> One<'f> {
    let (text, path) = text_of(&fault.source, texts);
    let before = text.get(..fault.span.start.min(text.len())).unwrap_or(text);
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    One {
        file: Some(path),
        line: Some(before.matches('\n').count() + 1),
        column: Some(before.get(start..).unwrap_or_default().chars().count() + 1),
        kind: match fault.source {
            FaultSource::Argument(_) if fault.title.starts_with("not understood") => {
                "not-understood"
            }
            FaultSource::File => "file",
            FaultSource::Tasks => "tasks",
            FaultSource::Edit(_) => "edit",
            FaultSource::Argument(_) => "argument",
        },
        text: &fault.title,
        found: &fault.found,
        allowed: &fault.help,
        fix: fault.replacement.as_ref().map(|fix| fix.text.as_str()),
        choices: fault
            .near
            .iter()
            .map(|near| Choice {
                id: &near.id,
                meaning: &near.meaning,
                probability: f64::from(near.thousandths) / 1000.0,
            })
            .collect(),
    }
}
