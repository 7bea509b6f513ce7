//! What was measured as readings and remarks, in the list that `explain` takes.

use crate::files::{Found, ReadBack};
use crate::machine::Link;
use crate::network::Run;
use crate::series::{Estimate, Judged, Remarked};
use narrows_units::quantity::{LinkRate, in_megabytes_per_second, three_digits};

/// A row of the list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// What it is of, as a list of readings says it.
    pub what: &'static str,
    /// read or write.
    pub direction: &'static str,
    /// One number, or none.
    pub value: String,
    /// From, or none.
    pub low: String,
    /// To, or none.
    pub high: String,
    /// Unit of the numbers.
    pub unit: &'static str,
    /// How exact.
    pub exactness: &'static str,
    /// How much was moved.
    pub size: String,
    /// How many at once.
    pub streams: String,
    /// Whether it may have come out of memory.
    pub again: bool,
    /// What was noticed.
    pub remark: String,
}

/// Columns of the list, in order.
pub const HEADS: [&str; 12] = [
    "desk",
    "what",
    "direction",
    "value",
    "low",
    "high",
    "unit",
    "exactness",
    "size",
    "streams",
    "again",
    "remark",
];

impl Row {
    /// The cells of a row, for a desk.
    pub fn cells(&self, desk: &str) -> [String; 12] {
        let plain = |text: &str| text.to_owned();
        [
            plain(desk),
            plain(self.what),
            plain(self.direction),
            self.value.clone(),
            self.low.clone(),
            self.high.clone(),
            plain(self.unit),
            plain(self.exactness),
            self.size.clone(),
            self.streams.clone(),
            plain(if self.again { "yes" } else { "" }),
            self.remark.clone(),
        ]
    }

    fn remark(text: impl Into<String>) -> Self {
        Self {
            remark: text.into(),
            ..Self::default()
        }
    }

    fn rate(what: &'static str, direction: &'static str, rate: Estimate) -> Self {
        let digits = |value| three_digits(in_megabytes_per_second(value));
        if rate.half_width > TOO_WIDE * rate.mean {
            // so few windows say no range: one from nothing on would be taken for next to nothing
            return Self {
                what,
                direction,
                value: three_digits(rate.mean),
                unit: "MB/s",
                exactness: "about",
                ..Self::default()
            };
        }
        Self {
            what,
            direction,
            low: digits(rate.low()),
            high: digits(rate.high()),
            unit: "MB/s",
            exactness: "range",
            ..Self::default()
        }
    }
}

/// A half-width of more than this share of the mean is no range. Judgement.
const TOO_WIDE: f64 = 0.5;
/// A share of segments sent again that is told. Judgement.
const MANY_RESENT: f64 = 1e-4;
/// So many without one sent again are told as none: then the share is below [`MANY_RESENT`] with a certainty of 95 % (rule of three).
const ENOUGH: u64 = 30_000;
/// A core that is busier than this holds something up; one below the other does not. Judgement.
const BUSY: f64 = 0.9;
/// See [`BUSY`].
const IDLE: f64 = 0.5;

fn size(bytes: u64) -> String {
    format!("{} GB", three_digits(bytes as f64 / 1e9))
}

/// Readings of a run between two machines.
pub fn of_run(run: &Run) -> Vec<Row> {
    let mut rows = Vec::new();
    let held = run.plan.held_to.is_some();
    for (direction, way) in [("read", &run.read), ("write", &run.write)] {
        let Some(way) = way else { continue };
        let Some(judged) = &way.judged else { continue };
        // both ways at once says something else than one way alone
        if run.read.is_some() && run.write.is_some() {
            continue;
        }
        let mut row = Row::rate("raw tcp", direction, judged.rate);
        if held {
            if row.value.is_empty() {
                row.value = std::mem::take(&mut row.low);
            }
            row.high.clear();
            row.exactness = "at least";
        }
        if run.plan.streams > 1 {
            row.streams = run.plan.streams.to_string();
        }
        rows.push(row);
        if judged.remarks.contains(&Remarked::Varies) {
            rows.push(Row::remark("varies"));
        }
    }
    rows
}

/// What the counters of both machines said during one stream each way.
pub fn of_meanwhile(runs: &[Run]) -> Vec<Row> {
    let single = || {
        runs.iter()
            .filter(|run| run.plan.streams == 1 && run.plan.held_to.is_none())
            .filter(|run| run.read.is_some() != run.write.is_some())
    };
    let mut rows = Vec::new();
    let (mut sent, mut resent, mut busiest) = (0, 0, None);
    for run in single() {
        if let Ok(here) = run.here.resent {
            // what counts is what was sent with data in it: the side that sends
            if run.write.is_some() {
                sent += here.sent;
                resent += here.resent;
            }
        }
        if let (Some(there), Some(read)) = (run.resent_there, &run.read) {
            // the other side tells no count of segments; they hold at most 64 KiB and mostly 1448 B
            sent += read.bytes() / 1448;
            resent += there;
        }
        let here = run.here.busiest_by_the_run();
        for busy in here.into_iter().chain(run.busiest_there) {
            busiest = Some(busiest.map_or(busy, |most: f64| most.max(busy)));
        }
    }
    if sent > 0 && resent as f64 > MANY_RESENT * sent as f64 {
        rows.push(Row {
            what: "errors",
            value: resent.to_string(),
            ..Row::default()
        });
        rows.push(Row::remark("many retransmissions"));
    } else if resent == 0 && sent >= ENOUGH {
        rows.push(Row::remark("no retransmissions"));
    }
    if let Some(busy) = busiest.filter(|busy| !(IDLE..=BUSY).contains(busy)) {
        rows.push(Row {
            what: "core busy",
            value: format!("{:.0}", busy * 100.0),
            unit: "%",
            ..Row::default()
        });
    }
    if let Some(trips) = runs
        .iter()
        .find(|run| run.plan.way == crate::network::Way::Echo)
        .and_then(|run| run.trips)
    {
        rows.push(Row {
            what: "ping",
            value: three_digits(trips.median),
            unit: "ms",
            ..Row::default()
        });
    }
    rows
}

/// What kind of place a folder is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// A share of another machine.
    Share,
    /// A disk of a desk.
    OwnDisk,
    /// An array, on its own machine.
    Array,
}

/// Readings of a folder; `memory` is that of this machine, in bytes.
pub fn of_files(found: &Found, place: Place, memory: Option<u64>) -> Vec<Row> {
    let what = match place {
        Place::Share => "copy",
        Place::OwnDisk => "local disk",
        Place::Array => "local array",
    };
    let mut rows = Vec::new();
    let mut add = |direction, streams: usize, judged: &Option<Judged>, bytes: u64, again: bool| {
        if let Some(judged) = judged {
            let mut row = Row::rate(what, direction, judged.rate);
            row.size = size(bytes);
            row.again = again;
            if streams > 1 {
                row.streams = streams.to_string();
            }
            rows.push(row);
            for remark in &judged.remarks {
                match remark {
                    Remarked::DropsAfter(bytes) => {
                        rows.push(Row::remark(format!(
                            "fast then drops after {}",
                            size(*bytes)
                        )));
                    }
                    Remarked::Varies => rows.push(Row::remark("varies")),
                    _ => {}
                }
            }
        }
    };
    let written = &found.written;
    add("write", 1, &written.judged, written.bytes, false);
    // our own memory forgot it or was passed by; that of another machine was not, unless the file is larger than that
    let again = |read: &ReadBack| {
        let small = memory.is_none_or(|memory| read.bytes < memory.saturating_mul(2));
        !(read.forgotten || read.direct) || (place == Place::Share && small)
    };
    let read = &found.read;
    add("read", 1, &read.judged, read.bytes, again(read));
    if let Some(several) = &found.several {
        let (written, read) = (&several.written, &several.read);
        add(
            "write",
            several.files,
            &written.judged,
            written.bytes,
            false,
        );
        add("read", several.files, &read.judged, read.bytes, again(read));
    }
    if place == Place::Share
        && let Some(small) = &found.small
    {
        for (direction, files) in [("write", small.write), ("read", small.read)] {
            rows.push(Row {
                what: "many files",
                direction,
                value: three_digits(files.megabytes_per_s),
                unit: "MB/s",
                size: String::new(),
                ..Row::default()
            });
        }
    }
    rows
}

/// The rate that a port shows.
pub fn of_link(link: &Link) -> Option<Row> {
    let rate = link.rate.as_ref().ok()?;
    Some(Row {
        what: "link rate",
        value: rate.to_string(),
        ..Row::default()
    })
}

/// Rates that links have.
const RATES: [u64; 8] = [10, 100, 1000, 2500, 5000, 10_000, 25_000, 40_000];

/// The link whose payload this is, where it is within 6 % below what that carries, and not more.
///
/// Symbols: MB/s of payload; mtu, bytes. Assumes TCP over IPv4. Judgement: 6 %. Test: `verify_links_are_recognised`.
pub fn fits(megabytes_per_s: f64, mtu: u32) -> Option<LinkRate> {
    RATES
        .into_iter()
        .find(|rate| {
            let most = crate::series::payload_ceiling(*rate as f64, mtu);
            (0.94 * most..=1.01 * most).contains(&megabytes_per_s)
        })
        .map(LinkRate::from_megabits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verify_links_are_recognised() {
        let of = |rate: f64| fits(rate, 1500).map(LinkRate::megabits);
        assert_eq!(of(11.5), Some(100.0));
        assert_eq!(of(112.3), Some(1000.0));
        assert_eq!(of(1150.0), Some(10_000.0));
        assert_eq!(of(130.0), None);
        assert_eq!(of(60.0), None);
        // more than such a link can carry is no such link
        assert_eq!(of(120.0), None);
        assert_eq!(fits(123.0, 9000).map(LinkRate::megabits), Some(1000.0));
    }

    #[test]
    fn verify_a_rate_of_few_windows_is_about() {
        let rate = |half_width| Estimate {
            mean: 600.0,
            half_width,
            count: 2,
        };
        let few = Row::rate("copy", "read", rate(600.0))
            .cells("cut-1")
            .join(";");
        assert_eq!(few, "cut-1;copy;read;600;;;MB/s;about;;;;");
        let more = Row::rate("copy", "read", rate(60.0))
            .cells("cut-1")
            .join(";");
        assert_eq!(more, "cut-1;copy;read;;540;660;MB/s;range;;;;");
    }

    #[test]
    fn verify_rows_of_a_file() {
        use crate::files::Written;
        use crate::series::{Window, judge};
        use std::time::Duration;
        let window = |rate: u64| Window {
            bytes: rate * 250_000,
            length: Duration::from_millis(250),
        };
        let mut windows: Vec<Window> = (0..40).map(|i| window(1100 + i % 3)).collect();
        windows.extend((0..40).map(|i| window(400 + i % 3)));
        let judged = judge(&windows, Duration::ZERO);
        let bytes = windows.iter().map(|w| w.bytes).sum();
        let found = Found {
            written: Written {
                bytes,
                until_last_write: Duration::from_secs(20),
                until_safe: Duration::from_secs(20),
                judged: judged.clone(),
                windows: windows.clone(),
            },
            read: ReadBack {
                bytes,
                took: Duration::from_secs(20),
                judged,
                windows,
                forgotten: true,
                direct: false,
            },
            woken: None,
            several: None,
            small: None,
            opening: None,
        };
        let rows = of_files(&found, Place::Share, Some(16_000_000_000));
        let cells = rows[0].cells("cut-1").join(";");
        assert_eq!(cells, "cut-1;copy;write;;397;405;MB/s;range;15.0 GB;;;");
        assert_eq!(rows[1].remark, "fast then drops after 11.0 GB");
        assert!(rows[2].again, "{:?}", rows[2]);
        // on the machine itself it was not in memory: it was forgotten
        let own = of_files(&found, Place::Array, Some(1_000_000_000));
        assert_eq!((own[2].what, own[2].again), ("local array", false));
        let large = of_files(&found, Place::Share, Some(1_000_000_000));
        assert!(!large[2].again);
    }
}
