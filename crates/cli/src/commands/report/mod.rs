mod asked;
pub(crate) mod file;
mod gather;
mod kept;
mod watch;

use crate::arguments::Report;
use crate::input::Stop;
use crate::{Outcome, Screen};
use narrows_draw::Files;
use std::path::{Path, PathBuf};

/// Makes one page of what the other commands answer.
pub(crate) fn run(arguments: &Report, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    let done = work_out(arguments, screen);
    done.or_else(Stop::outcome)
}

fn work_out(arguments: &Report, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    if arguments.watch {
        return watch::watch(arguments, screen);
    }
    make(arguments, screen)?;
    if arguments.open {
        open(&arguments.output, screen)?;
    }
    Ok(Outcome::Fine)
}

/// Makes the page and says where it is.
fn make(arguments: &Report, screen: &mut Screen<'_>) -> Result<(), Stop> {
    let found = gather::gather(arguments, screen)?;
    let name = |path: &Path| path.display().to_string();
    let named = |path: &Option<PathBuf>| path.as_deref().map(name);
    let (site, jacks, tasks) = (
        name(&arguments.site),
        named(&arguments.jacks),
        named(&arguments.tasks),
    );
    let (day, offers, readings) = (
        named(&arguments.day),
        named(&arguments.offers),
        named(&arguments.readings),
    );
    let report = narrows_draw::Report {
        version: env!("CARGO_PKG_VERSION"),
        site: &found.site,
        files: Files {
            site: &site,
            jacks: jacks.as_deref(),
            tasks: tasks.as_deref(),
            day: day.as_deref(),
            offers: offers.as_deref(),
            readings: readings.as_deref(),
        },
        budget: found.budget,
        together: found.together,
        runs: found.runs,
        space: found.space,
        layouts: found.layouts,
        reading: found.reading,
        purchases: found.purchases,
        ports: found.ports,
        day: found.day,
        air: found.air,
        growth: found.growth,
        copies: found.copies,
        outage: found.outage,
        cautions: found.cautions,
    };
    let page = narrows_draw::page(&report);
    file::write_page(&arguments.output, &page, arguments.force, screen)?;
    if file::is_output(&arguments.output) {
        screen.understood = None;
    } else {
        writeln!(
            screen.out,
            "Written: {}. Open it in a browser, or print it.",
            arguments.output.display()
        )?;
        screen.out.flush()?;
    }
    Ok(())
}

/// Hands the page to whatever opens pages on this machine.
fn open(path: &Path, screen: &mut Screen<'_>) -> Result<(), Stop> {
    let program = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(target_os = "windows") {
        "explorer"
    } else {
        "xdg-open"
    };
    // a whole path never looks like an option
    let whole = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let quiet = std::process::Stdio::null;
    let started = std::process::Command::new(program)
        .arg(&whole)
        .stdin(quiet())
        .stdout(quiet())
        .stderr(quiet())
        .spawn();
    if started.is_err() {
        writeln!(
            screen.err,
            "No browser could be opened: open {} yourself.",
            whole.display()
        )?;
    }
    Ok(())
}
