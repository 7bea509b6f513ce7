//! What this machine says of itself, and what it measures: of its files and of its network.

mod against;
mod chart;
mod files;
mod files_text;
mod for_desk;
mod json;
mod machine;
mod network;
mod network_text;

pub(crate) use for_desk::{ForDesk, for_desk};

use crate::arguments::{Measure, Measured};
use crate::input::{self, Stop};
use crate::interrupt::asked as interrupt;
use crate::output::{Over, whole};
use crate::{Outcome, Screen};
use narrows_probe::readings::{HEADS, Row};
use std::io::{BufRead, IsTerminal, Write};
use std::path::Path;

/// Looks at this machine, or measures.
pub(crate) fn run(arguments: &Measure, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    let done = match &arguments.what {
        Measured::Machine(asked) => machine::run(asked, screen),
        Measured::Files(asked) => files::run(asked, screen),
        Measured::Network(asked) => network::run(asked, screen),
    };
    done.or_else(Stop::outcome)
}

/// Whether a person agrees; without a terminal only `--yes` does.
fn agreed(question: &str, yes: bool, screen: &mut Screen<'_>) -> Result<bool, Stop> {
    if yes {
        return Ok(true);
    }
    if !std::io::stdin().is_terminal() {
        return Err(input::refuse(
            screen,
            &format!("this has to be agreed to: {question}"),
            "answer with --yes",
        ));
    }
    write!(screen.err, "{question} (yes or no) ")?;
    screen.err.flush()?;
    let mut answer = String::new();
    std::io::stdin().lock().read_line(&mut answer)?;
    Ok(matches!(answer.trim(), "y" | "yes"))
}

/// Refuses to work with the rights of the administrator unless told.
fn as_somebody(told: bool, screen: &mut Screen<'_>) -> Result<(), Stop> {
    if narrows_probe::is_administrator() && !told {
        return Err(input::refuse(
            screen,
            "this runs as the system's administrator, which no measurement needs",
            "run it as an ordinary user, or say --as-administrator",
        ));
    }
    Ok(())
}

/// A list of readings as `explain` takes it.
fn list(rows: &[Row], desk: &str) -> std::io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADS)?;
    let mut noticed: Vec<&str> = Vec::new();
    for row in rows {
        // what was noticed several times is told once
        if row.what.is_empty() {
            if noticed.contains(&row.remark.as_str()) {
                continue;
            }
            noticed.push(&row.remark);
        }
        writer.write_record(row.cells(desk))?;
    }
    writer.into_inner().map_err(csv::IntoInnerError::into_error)
}

/// Writes a list of readings into a file that is not there yet, or one that is such a list.
fn keep(
    path: &Path,
    rows: &[Row],
    desk: Option<&str>,
    screen: &mut Screen<'_>,
) -> Result<(), Stop> {
    let new = list(rows, desk.unwrap_or(""))?;
    let heads = HEADS.join(",");
    let bytes = match std::fs::read(path) {
        Ok(old) if old.starts_with(heads.as_bytes()) => {
            // further readings behind those that are there
            let rows = new.get(heads.len() + 1..).unwrap_or_default();
            [old.as_slice(), rows].concat()
        }
        Ok(_) => {
            return Err(input::refuse(
                screen,
                &format!(
                    "{} is there and is no list of readings of this program",
                    path.display()
                ),
                "name another file",
            ));
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => new,
        Err(error) => {
            let what = format!("{} cannot be read: {error}", path.display());
            return Err(input::refuse(screen, &what, "name another file"));
        }
    };
    whole(path, &bytes, Over::Anything).map_err(|error| {
        input::refuse(
            screen,
            &format!("{} cannot be written: {error}", path.display()),
            "name another file",
        )
    })
}

/// How far it is, for a person who waits.
struct Told {
    watched: bool,
}

impl Told {
    fn new() -> Self {
        Self {
            watched: std::io::stderr().is_terminal(),
        }
    }

    fn say(&self, text: &str) {
        if self.watched {
            let _ = write!(std::io::stderr(), "\r{text:<60}");
        }
    }

    fn clear(&self) {
        if self.watched {
            let _ = write!(std::io::stderr(), "\r{:60}\r", "");
        }
    }
}
