//! Arguments, files and rendering of `narrows`; no models.

mod arguments;
mod commands;
mod input;
mod interrupt;
mod output;
mod render;

use arguments::{Arguments, Command, Format};
use clap::Parser;
use render::guard::Guard;
use std::ffi::OsString;
use std::io::{BufRead, Write};
use std::process::ExitCode;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// All is well.
    Fine,
    /// A stated need is not met, or a checked site has faults.
    NotMet,
    /// The input cannot be used.
    BadInput,
    /// What was said may mean several things.
    AsksBack,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Fine => Self::from(0),
            Outcome::NotMet => Self::from(1),
            Outcome::BadInput => Self::from(2),
            Outcome::AsksBack => Self::from(3),
        }
    }
}

/// Where a command reads and writes, and how wide.
pub(crate) struct Screen<'a> {
    /// Where somebody answers, and what `-` names.
    pub input: &'a mut dyn BufRead,
    pub out: &'a mut dyn Write,
    pub err: &'a mut dyn Write,
    /// Columns that a line may have.
    pub width: usize,
    /// Whether a person looks at a terminal.
    pub terminal: bool,
    /// What is asked.
    pub command: &'static str,
    /// How the answer is printed, and so the faults.
    pub format: Format,
    /// What was understood of the site file, to be said below the answer.
    pub understood: Option<String>,
}

/// Runs the program with its arguments, the program's name first.
pub fn run<I, T>(arguments: I, out: &mut dyn Write, err: &mut dyn Write, terminal: bool) -> ExitCode
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    run_reading(arguments, &mut std::io::stdin().lock(), out, err, terminal)
}

/// As [`run`], with what stands in for the standard input.
pub fn run_reading<I, T>(
    arguments: I,
    input: &mut dyn BufRead,
    out: &mut dyn Write,
    err: &mut dyn Write,
    terminal: bool,
) -> ExitCode
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let width = columns(terminal);
    run_on(arguments, input, (out, err), (terminal, width))
}

/// As [`run_reading`], on a screen of so many columns that nobody looks at.
pub fn run_at_width<I, T>(
    arguments: I,
    input: &mut dyn BufRead,
    out: &mut dyn Write,
    err: &mut dyn Write,
    width: usize,
) -> ExitCode
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    run_on(arguments, input, (out, err), (false, width))
}

fn run_on<I, T>(
    arguments: I,
    input: &mut dyn BufRead,
    (out, err): (&mut dyn Write, &mut dyn Write),
    (terminal, width): (bool, usize),
) -> ExitCode
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let (out, err) = (&mut Guard::new(out), &mut Guard::new(err));
    let arguments: Vec<OsString> = arguments.into_iter().map(Into::into).collect();
    let obeyed = |argument: &&OsString| argument.as_encoded_bytes().contains(&input::ESCAPE);
    if let Some(argument) = arguments.iter().find(obeyed) {
        // in writing: a style would pass the gate as one of our own
        let shown = argument.to_string_lossy().replace('\u{1b}', "\\u001b");
        let _ = writeln!(
            err,
            "error: a letter that terminals obey and nobody sees in '{shown}'\nhelp: leave \\u001b (escape) away"
        );
        return Outcome::BadInput.into();
    }
    let parsed = match Arguments::try_parse_from(arguments) {
        Ok(parsed) => parsed,
        Err(error) => {
            let text = error.render();
            let outcome = if error.use_stderr() {
                let _ = write!(err, "{}", text.ansi());
                Outcome::BadInput
            } else {
                let _ = write!(out, "{}", text.ansi());
                Outcome::Fine
            };
            let _ = out.flush();
            return outcome.into();
        }
    };
    let (command, format) = parsed
        .command
        .as_ref()
        .map_or(("", Format::Text), Command::about);
    let mut screen = Screen {
        input,
        out,
        err,
        width,
        terminal,
        command,
        format,
        understood: None,
    };
    let done = match &parsed.command {
        None => commands::first_steps(&mut screen),
        Some(command) => commands::run(command, &mut screen),
    };
    if let (Ok(Outcome::Fine | Outcome::NotMet), Some(text)) = (&done, screen.understood.take()) {
        let _ = writeln!(screen.out, "{}", render::prose::paragraph(&text, width, 2));
    }
    let flushed = screen.out.flush();
    match done.and_then(|outcome| flushed.map(|()| outcome)) {
        Ok(outcome) => outcome.into(),
        // whoever reads our output has seen enough
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Outcome::Fine.into(),
        Err(error) => {
            let _ = writeln!(screen.err, "cannot write the answer: {error}");
            Outcome::BadInput.into()
        }
    }
}

/// Width of a line: what the terminal says, or the variable that stands in for it, within what reads well.
fn columns(terminal: bool) -> usize {
    let said = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok());
    let of_terminal = || {
        let (width, _) = terminal.then(terminal_size::terminal_size).flatten()?;
        Some(usize::from(width.0))
    };
    said.or_else(of_terminal).unwrap_or(80).clamp(40, 120)
}
