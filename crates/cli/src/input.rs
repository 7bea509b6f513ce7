mod pipe;

use crate::arguments::Format;
use crate::render::faults::{Texts, draw};
use crate::render::json_faults as json;
use crate::{Outcome, Screen, render};
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::site::{Faults, Site, read_bytes, read_bytes_with_tasks, understood};
use std::io::Read;
use std::path::Path;

/// More than any description of a studio needs; a film is larger.
const LARGEST_FILE: u64 = 1 << 20;

/// The text of a description and what to call it.
pub(crate) struct Description {
    pub path: String,
    pub bytes: Vec<u8>,
}

/// Why a command ends early: what it wrote is already on the screen.
pub(crate) enum Stop {
    Written(Outcome),
    Broken(std::io::Error),
}

impl From<std::io::Error> for Stop {
    fn from(error: std::io::Error) -> Self {
        Self::Broken(error)
    }
}

impl Stop {
    pub(crate) fn outcome(self) -> std::io::Result<Outcome> {
        match self {
            Self::Written(outcome) => Ok(outcome),
            Self::Broken(error) => Err(error),
        }
    }
}

/// Says in one or two lines why nothing can be done.
pub(crate) fn refuse(screen: &mut Screen<'_>, what: &str, help: &str) -> Stop {
    if screen.format == Format::Json {
        return written(json::refusal(screen, what, help));
    }
    match writeln!(screen.err, "error: {what}\nhelp: {help}") {
        Ok(()) => Stop::Written(Outcome::BadInput),
        Err(error) => Stop::Broken(error),
    }
}

/// The catalogue that comes with the program.
pub(crate) fn catalogue(screen: &mut Screen<'_>) -> Result<Catalogue, Stop> {
    Catalogue::embedded().map_err(|fault| {
        refuse(
            screen,
            &format!("the catalogue is broken: {fault}"),
            "this is a mistake in the program; please report it",
        )
    })
}

fn written(done: std::io::Result<()>) -> Stop {
    match done {
        Ok(()) => Stop::Written(Outcome::BadInput),
        Err(error) => Stop::Broken(error),
    }
}

/// With it begins whatever a terminal obeys.
pub(crate) const ESCAPE: u8 = 0x1b;

/// What the standard input is called on the command line.
const STANDARD_INPUT: &str = "-";

/// What it is called in sentences.
const PIPED: &str = "standard input";

/// What a file is read as.
#[derive(Clone, Copy)]
struct Expected {
    noun: &'static str,
    /// How to come by one.
    help: &'static str,
    /// How large one is.
    size: &'static str,
}

const SITE: Expected = Expected {
    noun: "a site file",
    help: "give the path of a site file; to make one: narrows describe, or narrows example granary-lane > example.toml",
    size: "a few kilobytes of text",
};

/// Reads a site file, unless it cannot be one; `-` is the standard input.
pub(crate) fn file(path: &Path, screen: &mut Screen<'_>) -> Result<Description, Stop> {
    expected(path, SITE, screen)
}

/// Reads a file that is no site file: a list of jacks, a file of tasks; `help` says how to come by one.
pub(crate) fn list(
    path: &Path,
    (noun, help): (&'static str, &'static str),
    screen: &mut Screen<'_>,
) -> Result<Description, Stop> {
    let size = "at most a megabyte of text";
    expected(path, Expected { noun, help, size }, screen)
}

/// Reads a list from a spreadsheet; its faults are drawn in the text that was read out of it.
pub(crate) fn table<T>(
    path: &Path,
    of: (&'static str, &'static str),
    screen: &mut Screen<'_>,
    read: impl FnOnce(&[u8]) -> (String, Result<T, Faults>),
) -> Result<T, Stop> {
    let file = list(path, of, screen)?;
    tabled(file, screen, read)
}

/// As [`table`], of a file that is there already.
pub(crate) fn tabled<T>(
    file: Description,
    screen: &mut Screen<'_>,
    read: impl FnOnce(&[u8]) -> (String, Result<T, Faults>),
) -> Result<T, Stop> {
    let (text, found) = read(&file.bytes);
    found.map_err(|faults| {
        let decoded = Description {
            path: file.path,
            bytes: text.into_bytes(),
        };
        show(&faults, &decoded, &[], screen)
    })
}

pub(crate) const TASKS: (&str, &str) = (
    "a file of tasks",
    "give the path of a file of [[task]]; the tasks of a site: narrows example granary-lane",
);
pub(crate) const JACKS: (&str, &str) = (
    "a list of jacks",
    "give the path of a table with the columns jack, desk, cable and length m; save it as CSV",
);
pub(crate) const JOBS: (&str, &str) = (
    "a list of jobs",
    "give the path of a table with the columns desk, what, size and start; save it as CSV",
);
pub(crate) const OFFERS: (&str, &str) = (
    "a file of offers",
    "give the path of a file of [[offer]] with id, price and set",
);
pub(crate) const READINGS: (&str, &str) = (
    "a list of readings",
    "give the path of a table with the columns desk, what, direction, value and unit; save it as CSV",
);

fn expected(path: &Path, expected: Expected, screen: &mut Screen<'_>) -> Result<Description, Stop> {
    if path.as_os_str() == STANDARD_INPUT {
        return standard_input(expected, screen);
    }
    let name = path.display().to_string();
    let about = match std::fs::metadata(path) {
        Ok(about) => about,
        Err(error) => {
            let what = format!("cannot read {name}: {}", plain(&error));
            return Err(refuse(screen, &what, expected.help));
        }
    };
    if about.is_dir() {
        return Err(refuse(
            screen,
            &format!("{name} is a folder"),
            &format!("give the path of {} in it", expected.noun),
        ));
    }
    if about.len() > LARGEST_FILE {
        return Err(refuse(
            screen,
            &format!("{name} is {} bytes long", about.len()),
            &too_large(expected),
        ));
    }
    let mut bytes = Vec::new();
    // a pipe has no length beforehand
    let read = if about.is_file() {
        std::fs::File::open(path).and_then(|f| f.take(LARGEST_FILE + 1).read_to_end(&mut bytes))
    } else {
        pipe::read(path, LARGEST_FILE + 1, &mut bytes)
    };
    if let Err(error) = read {
        let what = format!("cannot read {name}: {}", plain(&error));
        return Err(refuse(screen, &what, "check the file and its permissions"));
    }
    if bytes.len() as u64 > LARGEST_FILE {
        let what = format!("{name} goes on after a megabyte");
        return Err(refuse(screen, &what, &too_large(expected)));
    }
    if bytes.is_empty() && !about.is_file() {
        let what = format!("nothing came out of {name}");
        let help = format!("write {} into it first", expected.noun);
        return Err(refuse(screen, &what, &help));
    }
    obeyed(Description { path: name, bytes }, screen)
}

/// Passes a text on unless a terminal would obey it: styles of our own pass the gate before the screen, so nobody else's may come that far.
fn obeyed(description: Description, screen: &mut Screen<'_>) -> Result<Description, Stop> {
    let mut lines = description.bytes.split(|byte| *byte == b'\n');
    let Some(line) = lines.position(|line| line.contains(&ESCAPE)) else {
        return Ok(description);
    };
    let what = format!(
        "{}, line {}: a letter that terminals obey and nobody sees (escape, U+001B)",
        description.path,
        line + 1
    );
    Err(refuse(
        screen,
        &what,
        "take it out; a list saved as plain text has none",
    ))
}

fn too_large(expected: Expected) -> String {
    let Expected { noun, size, .. } = expected;
    format!("{noun} is {size}; is this the right file?")
}

fn standard_input(expected: Expected, screen: &mut Screen<'_>) -> Result<Description, Stop> {
    let mut bytes = Vec::new();
    let read = (&mut *screen.input)
        .take(LARGEST_FILE + 1)
        .read_to_end(&mut bytes);
    let path = PIPED.to_owned();
    match read {
        Err(error) => {
            let what = format!("cannot read the {path}: {}", plain(&error));
            Err(refuse(screen, &what, "give a file, or pipe one in"))
        }
        Ok(_) if bytes.is_empty() => Err(refuse(
            screen,
            "nothing came on the standard input",
            "pipe a file in, or give its path; only one file can come that way",
        )),
        Ok(_) if bytes.len() as u64 > LARGEST_FILE => Err(refuse(
            screen,
            "more than a megabyte came on the standard input",
            &too_large(expected),
        )),
        Ok(_) => obeyed(Description { path, bytes }, screen),
    }
}

fn plain(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::PermissionDenied => "it may not be read".to_owned(),
        _ => error.to_string(),
    }
}

/// Reads a site with edits, or draws what is wrong with it.
pub(crate) fn site(
    description: &Description,
    sets: &[String],
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Site, Stop> {
    let made =
        Edit::parse_all(sets).and_then(|edits| read_bytes(&description.bytes, &edits, catalogue));
    let made = made.map_err(|faults| show(&faults, description, sets, screen))?;
    echo(description, catalogue, screen);
    Ok(made)
}

/// Commands that answer about a site; those that make or check one say themselves what they understood.
const ANSWERS: [&str; 13] = [
    "backup", "budget", "buy", "cable", "capacity", "explain", "growth", "layouts", "outage",
    "ports", "report", "together", "wireless",
];

/// Keeps what was understood of a site file that is in forms of its own, to be said below the answer.
fn echo(description: &Description, catalogue: &Catalogue, screen: &mut Screen<'_>) {
    let of_a_file = description.path == PIPED || Path::new(&description.path).is_file();
    let asked = screen.format == Format::Text && ANSWERS.contains(&screen.command);
    if !asked || !of_a_file || screen.understood.is_some() {
        return;
    }
    let found = understood(&description.bytes, catalogue);
    screen.understood = render::understood::in_short(&found, &description.path);
}

/// As [`site`], with the tasks of a file of their own in place of those of the site.
pub(crate) fn site_with_tasks(
    description: &Description,
    tasks: Option<&Description>,
    sets: &[String],
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Site, Stop> {
    let made = Edit::parse_all(sets).and_then(|edits| {
        let tasks = tasks.map(|t| t.bytes.as_slice());
        read_bytes_with_tasks(&description.bytes, tasks, &edits, catalogue)
    });
    let made = made.map_err(|faults| show_all(&faults, (description, tasks), sets, screen))?;
    echo(description, catalogue, screen);
    Ok(made)
}

/// Draws faults.
pub(crate) fn show(
    faults: &Faults,
    description: &Description,
    sets: &[String],
    screen: &mut Screen<'_>,
) -> Stop {
    show_all(faults, (description, None), sets, screen)
}

fn show_all(
    faults: &Faults,
    (description, tasks): (&Description, Option<&Description>),
    sets: &[String],
    screen: &mut Screen<'_>,
) -> Stop {
    let file = String::from_utf8_lossy(&description.bytes);
    let tasks = tasks.map(|t| (t.path.as_str(), String::from_utf8_lossy(&t.bytes)));
    let texts = Texts {
        path: &description.path,
        file: &file,
        tasks: tasks.as_ref().map(|(path, text)| (*path, text.as_ref())),
        edits: sets,
    };
    if screen.format == Format::Json {
        return written(json::faults(screen, faults, &texts));
    }
    let drawn = draw(faults, &texts, screen.terminal, screen.width);
    match write!(screen.err, "{drawn}") {
        Ok(()) => Stop::Written(Outcome::BadInput),
        Err(error) => Stop::Broken(error),
    }
}
