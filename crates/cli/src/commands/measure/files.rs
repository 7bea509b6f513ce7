//! A large file, small files and round trips in a folder.

use super::chart::chart;
use super::{Told, agreed, as_somebody, interrupt, json, keep};
use crate::arguments::{Format, MeasureFiles};
use crate::input::{self, Stop};
use crate::render::prose::{item, paragraph};
use crate::render::table::{Side, Table};
use crate::{Outcome, Screen};
use narrows_core::quantity::{
    Information, bytes, in_megabytes_per_second, megabytes_per_second, parse, seconds, show,
    three_digits,
};
use narrows_probe::files::{
    self, Asked, Found, Progress, ReadBack, Stage, Written, is_small, reserve, size_of_test,
};
use narrows_probe::machine::{Machine, Root, below, machine, space};
use narrows_probe::readings::{Place, Row, of_files};
use narrows_probe::says::{Drive, Turning, holding};
use narrows_probe::series::{Judged, Remarked, Window};
use std::fmt::Write;
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
    let text = match asked.format {
        Format::Json => json::files(&measured).map_err(std::io::Error::other)?,
        Format::Csv => measured.table().csv()?,
        Format::Markdown => measured.table().markdown(),
        Format::Text => measured.text(screen.width, asked.readings.as_deref()),
    };
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

pub(super) fn mean(judged: Option<&Judged>) -> String {
    judged.map_or("-".to_owned(), |judged| three_digits(judged.rate.mean))
}

pub(super) fn ends(judged: Option<&Judged>) -> [String; 4] {
    let Some(judged) = judged else {
        return [
            "-".to_owned(),
            "-".to_owned(),
            "-".to_owned(),
            "-".to_owned(),
        ];
    };
    [
        three_digits(in_megabytes_per_second(judged.rate.low())),
        three_digits(in_megabytes_per_second(judged.rate.high())),
        three_digits(judged.slow_windows),
        three_digits(judged.fast_windows),
    ]
}

/// What was noticed, as sentences.
pub(super) fn noticed(what: &str, judged: Option<&Judged>) -> Vec<String> {
    let Some(judged) = judged else {
        return vec![format!("{what}: too little came through to say a rate.")];
    };
    let size = |bytes_: u64| show(bytes(bytes_ as f64));
    let said = |remark: &Remarked| match remark {
        Remarked::DropsAfter(bytes) => Some(format!(
            "{what} fell after {}: a cache was full, or something got hot. The rate above is that of the later part.",
            size(*bytes)
        )),
        Remarked::RoseAfter(bytes) => Some(format!(
            "{what} rose after {}: something else ended then. The rate above is that of the later part.",
            size(*bytes)
        )),
        Remarked::WentAway => Some(format!(
            "{what} fell to a tenth and came back: look whether the link went away."
        )),
        Remarked::Varies => Some(format!(
            "{what} was not steady: the range covers what was seen. Measure again when nobody else works."
        )),
        Remarked::Short => None,
    };
    judged.remarks.iter().filter_map(said).collect()
}

pub(super) fn picture(what: &str, windows: &[Window], width: usize) -> Option<String> {
    let (letters, most, seconds) = chart(windows, width.saturating_sub(12))?;
    Some(format!(
        "{what:<8}{letters}\n        from 0 to {} MB/s, {} s a letter",
        three_digits(most),
        three_digits(seconds)
    ))
}

impl Measured {
    fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("what", Side::Left),
            ("MB/s", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            ("slow", Side::Right),
            ("fast", Side::Right),
            ("GB", Side::Right),
            ("s", Side::Right),
        ]);
        let mut both = |behind: &str, written: &Written, read: &ReadBack| {
            for (what, judged, size, took) in [
                ("write", &written.judged, written.bytes, written.until_safe),
                ("read", &read.judged, read.bytes, read.took),
            ] {
                let [low, high, slow, fast] = ends(judged.as_ref());
                table.row(vec![
                    format!("{what}{behind}"),
                    mean(judged.as_ref()),
                    low,
                    high,
                    slow,
                    fast,
                    three_digits(size as f64 / 1e9),
                    three_digits(took.as_secs_f64()),
                ]);
            }
        };
        both("", &self.found.written, &self.found.read);
        if let Some(several) = &self.found.several {
            let behind = format!(", {} files at once", several.files);
            both(&behind, &several.written, &several.read);
        }
        table
    }

    /// What was noticed beside the rates.
    fn notes(&self) -> Vec<String> {
        let (written, read) = (&self.found.written, &self.found.read);
        let mut notes = noticed("Writing", written.judged.as_ref());
        notes.extend(noticed("Reading", read.judged.as_ref()));
        if let Some(several) = &self.found.several {
            let at_once = |what: &str| format!("{what} {} files at once", several.files);
            notes.extend(noticed(
                &at_once("Writing"),
                several.written.judged.as_ref(),
            ));
            notes.extend(noticed(&at_once("Reading"), several.read.judged.as_ref()));
        }
        if self.short_of_memory {
            notes.push("The file is smaller than twice this machine's memory, so caches may be in the rates: a larger --size shows the drives.".to_owned());
        }
        if self.place == Place::Share {
            notes.push(
                "What was just written may come out of the NAS's memory when it is read."
                    .to_owned(),
            );
        }
        notes
    }

    /// Small files, and what creating and opening takes, a sentence each.
    fn small(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if let Some(small) = &self.found.small {
            lines.push(format!(
                "{} files of 50 kB: {} written a second ({} MB/s, {} ms a file over its bytes), {} read a second ({} MB/s), {} removed a second.",
                small.count,
                three_digits(small.write.a_second),
                three_digits(small.write.megabytes_per_s),
                three_digits(small.write.cost_ms),
                three_digits(small.read.a_second),
                three_digits(small.read.megabytes_per_s),
                three_digits(small.removed_a_second)
            ));
        }
        if let Some(opening) = &self.found.opening {
            lines.push(format!(
                "Creating a file takes {} ms, opening one {} ms, in the middle.",
                three_digits(opening.create.median),
                three_digits(opening.open.median)
            ));
        }
        lines
    }

    fn text(&self, width: usize, kept: Option<&Path>) -> String {
        let mut out = String::new();
        let mut put = |text: &str| {
            let _ = writeln!(out, "{text}");
        };
        let (written, read) = (&self.found.written, &self.found.read);
        put(&paragraph(
            &format!(
                "{} is written at {} MB/s and read at {}.",
                self.folder,
                mean(written.judged.as_ref()),
                mean(read.judged.as_ref())
            ),
            width,
            0,
        ));
        let of = match self.place {
            Place::Share => {
                "It is a share of another machine: network, service and drives are all in it."
            }
            Place::OwnDisk => "It is a disk of this machine; the network has no part in it.",
            Place::Array => "It is an array of this machine; the network has no part in it.",
        };
        put(&paragraph(of, width, 0));
        put(&paragraph(&next(kept), width, 0));
        put("");
        put(self.table().text(width).trim_end());
        put(&paragraph(
            "MB/s until it was safe. from, to: the mean lies between them in about 9 of 10 cases. slow, fast: 1 quarter second in 20 was slower, 1 in 20 faster.",
            width,
            0,
        ));
        let early = written.bytes as f64 / written.until_last_write.as_secs_f64().max(1e-9) / 1e6;
        put(&paragraph(
            &format!(
                "The last write came back at {} MB/s; making it safe took {} s more.",
                three_digits(early),
                three_digits(
                    written
                        .until_safe
                        .saturating_sub(written.until_last_write)
                        .as_secs_f64()
                )
            ),
            width,
            0,
        ));
        put(&paragraph(how_read(read), width, 0));
        if let Some(woken) = self.found.woken {
            put(&paragraph(
                &format!(
                    "Drives that may have stood still were touched first and given 15 s; the touch took {} s.",
                    three_digits(woken.as_secs_f64())
                ),
                width,
                0,
            ));
        }
        let small = self.small();
        if !small.is_empty() {
            put("");
        }
        for line in small {
            put(&paragraph(&line, width, 0));
        }
        let pictures = [
            picture("write", &written.windows, width),
            picture("read", &read.windows, width),
        ];
        for text in pictures.iter().flatten() {
            put("");
            put(text);
        }
        let notes = self.notes();
        if !notes.is_empty() {
            put("");
            for note in &notes {
                put(&item(note, width));
            }
        }
        out
    }
}

/// How it was read back, as far as this machine's memory goes.
fn how_read(read: &ReadBack) -> &'static str {
    match (read.direct, read.forgotten) {
        (true, _) => "It was read past this machine's memory.",
        (false, true) => {
            "The file system reads through memory only; this machine was asked to forget the file before."
        }
        (false, false) => {
            "This system cannot be asked to forget a file, so reading may have come out of memory."
        }
    }
}

pub(super) fn next(kept: Option<&Path>) -> String {
    match kept {
        Some(path) => format!("Next: narrows explain SITE --readings {}", path.display()),
        None => "Next: keep it with --readings FILE --desk NAME, and ask narrows explain SITE --readings FILE.".to_owned(),
    }
}
