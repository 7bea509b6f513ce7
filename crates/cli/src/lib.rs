//! Arguments, files and rendering of `narrows`; no models.

mod arguments;
mod commands;
mod input;
mod render;

use arguments::{Arguments, Command};
use clap::Parser;
use render::guard::Guard;
use std::ffi::OsString;
use std::io::Write;
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
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Fine => Self::from(0),
            Outcome::NotMet => Self::from(1),
            Outcome::BadInput => Self::from(2),
        }
    }
}

/// Where a command writes, and how wide.
pub(crate) struct Screen<'a> {
    pub out: &'a mut dyn Write,
    pub err: &'a mut dyn Write,
    /// Columns that a line may have.
    pub width: usize,
    /// Whether a person looks at a terminal.
    pub terminal: bool,
}

/// Runs the program with its arguments, the program's name first.
pub fn run<I, T>(arguments: I, out: &mut dyn Write, err: &mut dyn Write, terminal: bool) -> ExitCode
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let (out, err) = (&mut Guard::new(out), &mut Guard::new(err));
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
    let mut screen = Screen {
        out,
        err,
        width: columns(),
        terminal,
    };
    let done = match &parsed.command {
        Command::Backup(backup) => commands::backup::run(backup, &mut screen),
        Command::Budget(budget) => commands::budget::run(budget, &mut screen),
        Command::Buy(buy) => commands::buy::run(buy, &mut screen),
        Command::Capacity(capacity) => commands::capacity::run(capacity, &mut screen),
        Command::Cable(cable) => commands::cable::run(cable, &mut screen),
        Command::Check(check) => commands::check::run(check, &mut screen),
        Command::Explain(explain) => commands::explain::run(explain, &mut screen),
        Command::Facts(facts) => commands::facts::run(facts, &mut screen),
        Command::Growth(growth) => commands::growth::run(growth, &mut screen),
        Command::Layouts(layouts) => commands::layouts::run(layouts, &mut screen),
        Command::Measure(measure) => commands::measure::run(measure, &mut screen),
        Command::Outage(outage) => commands::outage::run(outage, &mut screen),
        Command::Ports(ports) => commands::ports::run(ports, &mut screen),
        Command::Report(report) => commands::report::run(report, &mut screen),
        Command::Together(together) => commands::together::run(together, &mut screen),
    };
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

/// Width of a line: what the terminal says, within what reads well.
fn columns() -> usize {
    std::env::var("COLUMNS")
        .ok()
        .and_then(|c| c.parse().ok())
        .unwrap_or(80)
        .clamp(40, 120)
}
