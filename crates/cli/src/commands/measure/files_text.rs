//! What was measured with files, in words.

use super::chart::chart;
use super::files::Measured;
use crate::render::prose::{item, paragraph};
use crate::render::table::{Side, Table};
use narrows_core::quantity::{bytes, in_megabytes_per_second, show, three_digits};
use narrows_probe::files::{ReadBack, Written};
use narrows_probe::readings::Place;
use narrows_probe::series::{Judged, Remarked, Window};
use std::fmt::Write;
use std::path::Path;

impl Measured {
    pub(super) fn table(&self) -> Table {
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
    pub(super) fn notes(&self) -> Vec<String> {
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
    pub(super) fn small(&self) -> Vec<String> {
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

    pub(super) fn text(&self, width: usize, kept: Option<&Path>) -> String {
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

/// How it was read back, as far as this machine's memory goes.
pub(super) fn how_read(read: &ReadBack) -> &'static str {
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
