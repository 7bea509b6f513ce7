//! What was measured, out of the amounts of a sentence.

use crate::amounts::{Amount, Bound, amounts};
use crate::numbers::{clocks, tokens};
use crate::playback::playback;
use crate::units::Unit;
use std::ops::Range;

/// What came out.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// The lower end, where there is one.
    pub low: Option<f64>,
    /// The upper end, where there is one.
    pub high: Option<f64>,
    /// What they count.
    pub unit: Counted,
    /// Bytes that were moved, where that is told.
    pub size: Option<f64>,
    /// Parts of the text that it was made from.
    pub spans: Vec<Range<usize>>,
}

/// What a measured number counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Counted {
    /// Data a second, in the unit that was written; `Unit::Bare` where none was.
    Rate(Unit),
    /// Bytes a second, from a size and a time.
    BytesPerSecond,
    /// Files a second.
    FilesPerSecond,
    /// Seconds.
    Seconds,
    /// Hundredths.
    Percent,
    /// Events.
    Events,
    /// Layers at once.
    Layers,
    /// Streams at once.
    Streams,
    /// Dropped frames a minute.
    FramesPerMinute,
}

/// The number of a reading of some kind.
pub fn measured(kind: &str, text: &str) -> Option<Measured> {
    let all = amounts(text);
    match kind {
        "ping" => of(
            &all,
            |u| matches!(u, Unit::Time(s) if *s < 60.0),
            Counted::Seconds,
            |a| match a.unit {
                Unit::Time(seconds) => seconds,
                _ => 1.0,
            },
        ),
        "core-busy" => of(
            &all,
            |u| matches!(u, Unit::Percent),
            Counted::Percent,
            |_| 1.0,
        )
        .or_else(|| {
            // "a 14-core server" says how many there are
            let share = |a: &Amount| {
                let after = text.get(a.span.end..).unwrap_or_default();
                let after = after.trim_start_matches([' ', '-']);
                let cores = ["core", "cpu", "processor", "thread"];
                a.unit == Unit::Bare && !cores.iter().any(|word| after.starts_with(word))
            };
            let first = all.iter().find(|a| share(a))?;
            Some(made(first, Counted::Percent, 1.0))
        }),
        "errors" => errors(&all, text),
        "playback" => playback(&all, text),
        "link-rate" => link(&all),
        _ => rate(kind, &all, text),
    }
}

/// The first amount of a unit.
fn of(
    all: &[Amount],
    is: impl Fn(&Unit) -> bool,
    unit: Counted,
    factor: impl Fn(&Amount) -> f64,
) -> Option<Measured> {
    let amount = all.iter().find(|a| is(&a.unit))?;
    Some(made(amount, unit, factor(amount)))
}

pub(crate) fn made(amount: &Amount, unit: Counted, factor: f64) -> Measured {
    let (low, high) = (amount.low * factor, amount.high * factor);
    Measured {
        low: (amount.bound != Bound::AtMost).then_some(low),
        high: (amount.bound != Bound::AtLeast).then_some(high),
        unit,
        size: None,
        spans: vec![amount.span.clone()],
    }
}

fn errors(all: &[Amount], text: &str) -> Option<Measured> {
    let share = of(
        all,
        |u| matches!(u, Unit::Percent),
        Counted::Percent,
        |_| 1.0,
    );
    // "zero at both ends" counts no two
    let ends = |a: &Amount| {
        text.get(a.span.clone())
            .is_some_and(|t| t.eq_ignore_ascii_case("both"))
    };
    let count = all
        .iter()
        .filter(|a| matches!(a.unit, Unit::Bare) && !ends(a))
        .max_by(|a, b| a.high.total_cmp(&b.high));
    let lower = text.to_lowercase();
    let none = [
        "no errors",
        "zero errors",
        "no crc",
        "no error",
        "without errors",
        "not a single error",
        "none",
    ];
    share
        .or_else(|| count.map(|a| made(a, Counted::Events, 1.0)))
        .or_else(|| {
            none.iter().any(|n| lower.contains(n)).then(|| Measured {
                low: Some(0.0),
                high: Some(0.0),
                unit: Counted::Events,
                size: None,
                spans: Vec::new(),
            })
        })
}

fn link(all: &[Amount]) -> Option<Measured> {
    let data = all.iter().find(|a| matches!(a.unit, Unit::Data { .. }));
    let bare = || {
        all.iter().find(|a| {
            a.unit == Unit::Bare
                && [10.0, 100.0, 1000.0, 2500.0, 5000.0, 10_000.0].contains(&a.high)
        })
    };
    let amount = data.or_else(bare)?;
    let bits = match amount.unit {
        // links are told in bits, whatever is written
        Unit::Data {
            bytes,
            bits: false,
            unclear: true,
            ..
        } => Unit::Data {
            bytes: bytes / 8.0,
            bits: true,
            unclear: false,
            binary: false,
            ps: false,
            over: Some(1.0),
        },
        Unit::Bare => Unit::Data {
            bytes: 1.25e5,
            bits: true,
            unclear: false,
            binary: false,
            ps: false,
            over: Some(1.0),
        },
        unit => unit,
    };
    Some(made(amount, Counted::Rate(bits), 1.0))
}

/// Whether an amount is a rate by itself: with "a second", or in bits, which sizes are not told in.
fn is_rate(amount: &Amount) -> bool {
    matches!(
        amount.unit,
        Unit::Data { over: Some(_), .. } | Unit::Data { bits: true, .. }
    )
}

fn is_size(amount: &Amount) -> bool {
    matches!(
        amount.unit,
        Unit::Data {
            over: None,
            bits: false,
            ..
        }
    )
}

fn bytes(amount: &Amount) -> f64 {
    match amount.unit {
        Unit::Data { bytes, .. } => amount.middle() * bytes,
        _ => 0.0,
    }
}

fn rate(kind: &str, all: &[Amount], text: &str) -> Option<Measured> {
    let files = all.iter().find(|a| matches!(a.unit, Unit::Files(Some(_))));
    if let Some(amount) = files
        && let Unit::Files(Some(over)) = amount.unit
        && !all.iter().any(is_rate)
    {
        return Some(made(amount, Counted::FilesPerSecond, 1.0 / over));
    }
    let size = all.iter().find(|a| is_size(a) && !a.each);
    let moved = size.map(bytes);
    if let Some(amount) = all.iter().find(|a| is_rate(a)) {
        let Unit::Data { over, .. } = amount.unit else {
            return None;
        };
        let mut found = made(
            amount,
            Counted::Rate(amount.unit),
            1.0 / over.unwrap_or(1.0),
        );
        found.size = moved.filter(|m| *m >= 1e9);
        return Some(found);
    }
    over_time(kind, all, text).or_else(|| {
        // a number with nothing behind it, or megabytes that nobody took a time for
        let small =
            |a: &&Amount| matches!(a.unit, Unit::Data { bytes, over: None, .. } if bytes < 2e6);
        let wire = |a: &&Amount| kind == "raw-tcp" && is_size(a);
        let bare = |a: &&Amount| a.unit == Unit::Bare && a.high >= 5.0;
        let amount = all
            .iter()
            .find(small)
            .or_else(|| all.iter().find(wire))
            .or_else(|| all.iter().find(bare))?;
        let unit = match amount.unit {
            // "9.4 gig between the two boxes"
            Unit::Data {
                bytes,
                unclear: true,
                bits: false,
                ..
            } if wire(&amount) && bytes > 2e6 => Unit::Data {
                bytes: bytes / 8.0,
                bits: true,
                unclear: false,
                binary: false,
                ps: false,
                over: Some(1.0),
            },
            unit => unit,
        };
        Some(made(amount, Counted::Rate(unit), 1.0))
    })
}

/// A size, or a number of files, over a time.
fn over_time(kind: &str, all: &[Amount], text: &str) -> Option<Measured> {
    // "a 10 minute clip" is what was copied
    let long = |a: &&Amount| {
        let after = text.get(a.span.end..).unwrap_or_default().trim_start();
        [
            "clip",
            "film",
            "video",
            "master",
            "take",
            "interview",
            "episode",
            "old",
            "ago",
            "recording",
        ]
        .iter()
        .any(|w| after.starts_with(w))
    };
    let time = all
        .iter()
        .filter(|a| matches!(a.unit, Unit::Time(_)))
        .filter(|a| !long(a))
        .max_by(|a, b| seconds(a).total_cmp(&seconds(b)));
    let (seconds, span) = match time {
        Some(time) => (seconds(time), Some(time.span.clone())),
        None => (between(text)?, None),
    };
    let count = all
        .iter()
        .find(|a| matches!(a.unit, Unit::Files(None)) && a.high > 1.0);
    let each = all
        .iter()
        .find(|a| is_size(a) && (a.each || (count.is_some() && bytes(a) < 1e9)));
    let total = all
        .iter()
        .filter(|a| is_size(a) && !a.each)
        .max_by(|a, b| bytes(a).total_cmp(&bytes(b)));
    let mut spans: Vec<Range<usize>> = span.into_iter().collect();
    let size = match (count, each, total) {
        (Some(count), Some(each), None) => Some(count.middle() * bytes(each)),
        (Some(count), Some(each), Some(total)) if each == total => {
            Some(count.middle() * bytes(each))
        }
        (_, _, total) => total.map(bytes),
    };
    spans.extend(each.or(total).map(|a| a.span.clone()));
    if seconds <= 0.0 {
        return None;
    }
    let both = |value: f64, unit: Counted| Measured {
        low: Some(value),
        high: Some(value),
        unit,
        size,
        spans: spans.clone(),
    };
    match (size, count) {
        (Some(size), _) => Some(both(size / seconds, Counted::BytesPerSecond)),
        (None, Some(count)) if kind == "many-files" => {
            Some(both(count.middle() / seconds, Counted::FilesPerSecond))
        }
        _ => None,
    }
}

fn seconds(amount: &Amount) -> f64 {
    match amount.unit {
        Unit::Time(seconds) => amount.middle() * seconds,
        _ => 0.0,
    }
}

/// Seconds between two times of day.
fn between(text: &str) -> Option<f64> {
    let all = clocks(&tokens(text));
    let [from, to] = all.get(..2)? else {
        return None;
    };
    let day = if *from > 12.0 || *to > 12.0 {
        24.0
    } else {
        12.0
    };
    let hours = libm::fmod(to - from + day, day);
    (hours > 0.0).then_some(hours * 3600.0)
}

impl Measured {
    /// Whether it is data a second, with a unit.
    pub fn is_rate(&self) -> bool {
        matches!(
            self.unit,
            Counted::Rate(Unit::Data { .. }) | Counted::BytesPerSecond
        )
    }

    /// Whether what was counted is what only this kind counts.
    pub(crate) fn fits(&self, kind: &str) -> bool {
        match self.unit {
            Counted::Seconds => kind == "ping",
            Counted::Layers | Counted::Streams | Counted::FramesPerMinute => kind == "playback",
            Counted::FilesPerSecond => kind == "many-files",
            _ => false,
        }
    }

    /// The ends in the unit of its kind: MB/s, files/s, ms, %, count, layers, streams or frames/min.
    pub fn plain(&self) -> (Option<f64>, Option<f64>, &'static str) {
        let (factor, unit) = match self.unit {
            Counted::Rate(Unit::Data { bytes, .. }) => (bytes / 1e6, "MB/s"),
            Counted::Rate(_) => (1.0, "MB/s"),
            Counted::BytesPerSecond => (1e-6, "MB/s"),
            Counted::FilesPerSecond => (1.0, "files/s"),
            Counted::Seconds => (1e3, "ms"),
            Counted::Percent => (1.0, "%"),
            Counted::Events => (1.0, "count"),
            Counted::Layers => (1.0, "layers"),
            Counted::Streams => (1.0, "streams"),
            Counted::FramesPerMinute => (1.0, "frames/min"),
        };
        (
            self.low.map(|v| v * factor),
            self.high.map(|v| v * factor),
            unit,
        )
    }
}
