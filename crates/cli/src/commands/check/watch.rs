//! Checking again whenever a file is saved.

use crate::arguments::Check;
use crate::input::{self, Stop};
use crate::{Outcome, Screen};
use std::time::{Duration, SystemTime};

/// How often the file is looked at.
const PAUSE: Duration = Duration::from_millis(200);

/// Checks until somebody stops it, or nobody listens any more.
pub(super) fn run(arguments: &Check, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    if arguments.site.as_os_str() == "-" {
        return input::refuse(
            screen,
            "the standard input cannot be watched",
            "give the path of a site file",
        )
        .outcome();
    }
    let saved = || {
        std::fs::metadata(&arguments.site)
            .and_then(|m| Ok((m.modified()?, m.len())))
            .ok()
    };
    let mut last: Option<Option<(SystemTime, u64)>> = None;
    loop {
        let now = saved();
        if last != Some(now) {
            last = Some(now);
            super::work_out(arguments, screen).or_else(Stop::outcome)?;
            writeln!(
                screen.out,
                "\n-- waiting for the next save of {}; ctrl-C ends\n",
                arguments.site.display()
            )?;
            screen.out.flush()?;
            screen.err.flush()?;
        }
        std::thread::sleep(PAUSE);
    }
}
