//! A large file, small files and round trips in a folder.

use super::{Told, agreed, as_somebody, interrupt, json, keep};
use crate::arguments::MeasureFiles;
use crate::input::{self, Stop};
use crate::render::document::printed;
use crate::render::prose::paragraph;
use crate::{Outcome, Screen};
use narrows_core::quantity::{
    Information, bytes, megabytes_per_second, parse, seconds, show, three_digits,
};
use narrows_probe::files::{self, Asked, Found, Progress, Stage, is_small, reserve, size_of_test};
use narrows_probe::machine::{Machine, Root, below, machine, space};
use narrows_probe::readings::{Place, Row, of_files};
use narrows_probe::says::{Drive, Turning, holding};
use std::path::Path;
use std::time::Duration;

/// What is written without being told a size: below what has to be agreed to.
const USUAL: f64 = 8e9;
/// More than this has to be agreed to.
const AGREED: f64 = 10e9;
/// A rate that is reckoned with before one is known, MB/s, and how long a file should take.
const RECKONED: (f64, f64) = (110.0, 20.0);
/// What drives that may stand still are given before anything is timed.
const SETTLE: Duration = Duration::from_secs(15);

/// What was measured, and of what.
pub(super) struct Measured {
    pub found: Found,
    pub folder: String,
    pub place: Place,
    pub short_of_memory: bool,
    pub rows: Vec<Row>,
}

/// How to measure.
pub(super) struct How<'a> {
    pub folder: &'a Path,
    pub size: Option<Information>,
    pub seconds: u32,
    pub at_once: u8,
    pub small: u64,
    pub array: bool,
    pub yes: bool,
}

pub(super) fn run(asked: &MeasureFiles, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    as_somebody(asked.safety.as_administrator, screen)?;
    let size = match &asked.size {
        None => None,
        Some(text) => Some(parse::<Information>(text).map_err(|fault| {
            input::refuse(
                screen,
                &format!("--size: {fault}"),
                "write for example --size \"20 GB\"",
            )
        })?),
    };
    let how = How {
        folder: &asked.folder,
        size,
        seconds: asked.seconds,
        at_once: asked.at_once,
        small: asked.small,
        array: asked.at_the_array,
        yes: asked.safety.yes,
    };
    let measured = measure(&how, screen)?;
    if let Some(path) = &asked.readings {
        keep(path, &measured.rows, asked.desk.as_deref(), screen)?;
    }
    let text = printed(
        asked.format,
        || json::files(&measured),
        || [measured.table()],
        || measured.text(screen.width, asked.readings.as_deref()),
    )?;
    write!(screen.out, "{text}")?;
    Ok(Outcome::Fine)
}

/// Says what it will do, asks where that is much, and measures.
#[allow(clippy::too_many_lines)] // one question after another
pub(super) fn measure(how: &How<'_>, screen: &mut Screen<'_>) -> Result<Measured, Stop> {
    let refuse = |trouble: &files::Trouble, screen: &mut Screen<'_>| {
        input::refuse(
            screen,
            &trouble.to_string(),
            "name a folder that may be written to, with room in it",
        )
    };
    let folder = files::fit(how.folder).map_err(|trouble| refuse(&trouble, screen))?;
    let shown = folder.display().to_string();
    for old in files::left_over(&folder) {
        let question = format!("{} is left of an earlier test. Remove it?", old.display());
        let remove = how.yes
            || (std::io::IsTerminal::is_terminal(&std::io::stdin())
                && agreed(&question, how.yes, screen)?);
        if remove {
            if let Err(error) = files::remove_left_over(&old) {
                writeln!(
                    screen.err,
                    "{} could not be removed: {error}",
                    old.display()
                )?;
            }
        } else {
            writeln!(
                screen.err,
                "{} is left of an earlier test; --yes removes it.",
                old.display()
            )?;
        }
    }
    let about = machine(&Root::own());
    let Below {
        place,
        shingled,
        turning,
    } = below_of(&about, &shown, how.array);
    let memory = about
        .memory
        .as_ref()
        .map_or(8e9, |memory| memory.total as f64);
    let room = space(&folder)
        .map_err(|why| input::refuse(screen, &format!("{shown}: {why}"), "name another folder"))?;
    let sized = size_of_test(
        bytes(memory),
        megabytes_per_second(RECKONED.0),
        seconds(RECKONED.1),
        room.free,
        reserve(room.total),
        how.size.unwrap_or(bytes(USUAL)),
    );
    let wanted = match how.size {
        Some(size) if is_small(size, room.free) => size,
        Some(size) => size.min(sized.size),
        None => sized.size,
    };
    if wanted < bytes(1e6) {
        return Err(input::refuse(
            screen,
            &format!(
                "{shown} has {} left, too little for a test",
                show(room.free)
            ),
            "make room, or name another folder",
        ));
    }
    let most = how.seconds;
    let several = match how.at_once {
        0 => String::new(),
        files => format!(", then {} in {files} files at once", show(wanted * 0.25)),
    };
    writeln!(
        screen.err,
        "{}",
        paragraph(
            &format!(
                "Writing at most {} into {shown} and reading it back{several}, then {} small files: at most {most} s each. All of it is new and is removed again. Writing wears flash; a snapshot taken meanwhile keeps it, and a folder that is mirrored elsewhere sends it on.",
                show(wanted),
                how.small
            ),
            screen.width,
            0
        )
    )?;
    let total = if how.at_once > 0 {
        wanted * 1.25
    } else {
        wanted
    };
    let much = total > bytes(AGREED);
    let question = match (much, shingled) {
        (_, true) => Some(format!(
            "The drives have shingled tracks and are slow for hours after {}. Go on?",
            show(total)
        )),
        (true, _) => Some(format!("{} is much. Go on?", show(total))),
        _ => None,
    };
    if let Some(question) = question
        && !agreed(&question, how.yes, screen)?
    {
        return Err(input::refuse(
            screen,
            "nothing was written",
            "say a smaller --size",
        ));
    }
    let asked = Asked {
        folder,
        bytes: wanted.get::<narrows_core::quantity::units::information::byte>() as u64,
        time: Duration::from_secs(u64::from(how.seconds)),
        at_once: usize::from(how.at_once),
        small: how.small,
        settle: if turning { SETTLE } else { Duration::ZERO },
    };
    let told = Told::new();
    let found = files::measure(&asked, &interrupt(), &mut |progress| {
        told.say(&words(&progress));
    });
    told.clear();
    let found = found.map_err(|trouble| refuse(&trouble, screen))?;
    let rows = of_files(
        &found,
        place,
        about.memory.as_ref().ok().map(|memory| memory.total),
    );
    Ok(Measured {
        // read past memory and written until safe, memory has no part in the rates of this machine's own drives
        short_of_memory: (sized.short_of_memory || found.read.bytes as f64 * 1.01 < 2.0 * memory)
            && (place == Place::Share || !found.read.direct),
        folder: shown,
        found,
        place,
        rows,
    })
}

/// What a folder is, and what stands below it.
struct Below {
    place: Place,
    shingled: bool,
    /// Whether drives may stand still: those of a share are not seen.
    turning: bool,
}

fn below_of(about: &Machine, folder: &str, array: bool) -> Below {
    let mount = holding(&about.mounts, folder);
    let remote = mount.is_some_and(|mount| mount.service.is_remote());
    let names = mount.map_or_else(Vec::new, |mount| below(&Root::own(), &mount.device));
    let any =
        |what: fn(&Drive) -> bool| names.iter().any(|name| about.drive(name).is_some_and(what));
    Below {
        place: match (remote, array) {
            (true, _) => Place::Share,
            (false, true) => Place::Array,
            (false, false) => Place::OwnDisk,
        },
        shingled: any(|drive| drive.shingled),
        turning: remote || any(|drive| drive.turning == Ok(Turning::Likely)),
    }
}

fn words(progress: &Progress) -> String {
    let doing = match progress.stage {
        Stage::Waking => return "drives that may stand still are given 15 s".to_owned(),
        Stage::Writing => "writing",
        Stage::Syncing => "making it safe",
        Stage::Reading => "reading",
        Stage::Several => "several files at once",
        Stage::Small => "small files",
    };
    format!(
        "{doing}: {} of {} GB, {} MB/s now, {} so far",
        three_digits(progress.bytes as f64 / 1e9),
        three_digits(progress.of as f64 / 1e9),
        three_digits(progress.now),
        three_digits(progress.so_far)
    )
}

impl Measured {}
