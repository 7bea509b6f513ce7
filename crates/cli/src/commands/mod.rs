//! One module a command: reads, asks the core, hands the answer to the renderers.

pub(crate) mod backup;
pub(crate) mod budget;
pub(crate) mod buy;
pub(crate) mod cable;
pub(crate) mod capacity;
pub(crate) mod check;
pub(crate) mod completions;
pub(crate) mod day;
pub(crate) mod describe;
pub(crate) mod example;
pub(crate) mod explain;
pub(crate) mod facts;
pub(crate) mod growth;
pub(crate) mod layouts;
pub(crate) mod manual;
pub(crate) mod measure;
pub(crate) mod outage;
pub(crate) mod ports;
pub(crate) mod report;
pub(crate) mod schema;
pub(crate) mod together;
pub(crate) mod wireless;

use crate::arguments::Command;
use crate::{Outcome, Screen, interrupt};

/// Answers.
pub(crate) fn run(command: &Command, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    if is_known_at_once(command) {
        interrupt::has_nothing_to_tell();
    }
    match command {
        Command::Backup(backup) => backup::run(backup, screen),
        Command::Budget(budget) => budget::run(budget, screen),
        Command::Buy(buy) => buy::run(buy, screen),
        Command::Capacity(capacity) => capacity::run(capacity, screen),
        Command::Cable(cable) => cable::run(cable, screen),
        Command::Check(check) => check::run(check, screen),
        Command::Completions(completions) => completions::run(completions, screen),
        Command::Describe(describe) => describe::run(describe, screen),
        Command::Example(example) => example::run(example, screen),
        Command::Explain(explain) => explain::run(explain, screen),
        Command::Facts(facts) => facts::run(facts, screen),
        Command::Growth(growth) => growth::run(growth, screen),
        Command::Layouts(layouts) => layouts::run(layouts, screen),
        Command::Manual(manual) => manual::run(manual, screen),
        Command::Measure(measure) => measure::run(measure, screen),
        Command::Outage(outage) => outage::run(outage, screen),
        Command::Ports(ports) => ports::run(ports, screen),
        Command::Report(report) => report::run(report, screen),
        Command::Schema(schema) => schema::run(schema, screen),
        Command::Together(together) => together::run(together, screen),
        Command::Wireless(wireless) => wireless::run(wireless, screen),
    }
}

/// Whether nothing is known of the answer before all of it is, and nothing is asked or measured on the way.
fn is_known_at_once(command: &Command) -> bool {
    match command {
        Command::Explain(explain) => !explain.measuring.measure && explain.measuring.ask.is_none(),
        Command::Report(report) => !report.watch,
        Command::Budget(_)
        | Command::Together(_)
        | Command::Wireless(_)
        | Command::Backup(_)
        | Command::Growth(_)
        | Command::Outage(_) => true,
        _ => false,
    }
}

/// What somebody can do who has typed the name of the program only.
pub(crate) fn first_steps(screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    let what = "narrows says what each desk gets from shared storage, what holds it back, and what a change would do. \
                Three ways to begin:";
    writeln!(
        screen.out,
        "{}\n\n  \
         narrows describe\n      asks a dozen questions, writes a description\n  \
         narrows example granary-lane > example.toml && narrows budget example.toml\n      look at a made-up place first\n  \
         narrows budget --port \"1 Gb/s\" --cable \"cat5e 30 m\" --array \"raid5 4 x 8 TB\"\n      \
         ask about one desk without a file\n\n\
         All commands: narrows --help",
        crate::render::prose::paragraph(what, screen.width, 0)
    )?;
    Ok(Outcome::Fine)
}
