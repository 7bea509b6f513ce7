use super::{make, open};
use crate::arguments::Report;
use crate::input::{Stop, refuse};
use crate::{Outcome, Screen};
use std::path::Path;
use std::time::{Duration, SystemTime};

/// How often the files are looked at.
const PAUSE: Duration = Duration::from_millis(300);

/// What tells that a file is another one than before.
type Seen = Option<(SystemTime, u64)>;

fn seen(path: &Path) -> Seen {
    let about = std::fs::metadata(path).ok()?;
    Some((about.modified().ok()?, about.len()))
}

/// Makes the page anew whenever one of its files changes, until somebody ends the program.
///
/// The page is replaced only as long as it is the one that was written last.
pub(super) fn watch(arguments: &Report, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    if super::file::is_output(&arguments.output) {
        return Err(refuse(
            screen,
            "--watch needs a file",
            "give one with -o, for example -o page.html",
        ));
    }
    let files: Vec<&Path> = std::iter::once(&arguments.site)
        .chain(
            [
                &arguments.jacks,
                &arguments.tasks,
                &arguments.day,
                &arguments.offers,
                &arguments.readings,
            ]
            .into_iter()
            .flatten(),
        )
        .map(std::path::PathBuf::as_path)
        .collect();
    let look = || files.iter().map(|path| seen(path)).collect::<Vec<Seen>>();
    let mut before = look();
    make(arguments, screen)?;
    let mut page = std::fs::read(&arguments.output).ok();
    if arguments.open {
        open(&arguments.output, screen)?;
    }
    writeln!(screen.out, "Looking for changes; end with Ctrl-C.")?;
    screen.out.flush()?;
    loop {
        std::thread::sleep(PAUSE);
        let now = look();
        if now == before {
            continue;
        }
        before = now;
        if std::fs::read(&arguments.output).ok() != page {
            let what = format!(
                "{} was changed by somebody else",
                arguments.output.display()
            );
            return Err(refuse(screen, &what, "move it away, and start again"));
        }
        match make(arguments, screen) {
            Ok(()) => page = std::fs::read(&arguments.output).ok(),
            // the faults are on the screen; the next change may mend them
            Err(Stop::Written(_)) => screen.err.flush()?,
            Err(stop) => return Err(stop),
        }
    }
}
