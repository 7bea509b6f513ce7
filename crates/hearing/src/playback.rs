//! Whether a film plays: what plays is the lower end of what the way carries, what fails the upper one.

use crate::amounts::Amount;
use crate::measured::{Counted, Measured, made};
use crate::units::Unit;

/// Words that say that a film did not play as it should.
const FAILS: &[&str] = &[
    "stutter",
    "drop",
    "jerk",
    "chop",
    "judder",
    "block",
    "hicup",
    "hiccup",
    "won't",
    "wont",
    "not play",
    "fails",
    "freez",
    "stall",
    "struggl",
    "gives up",
    "falls over",
    "skips",
    "lag",
    "can't",
    "cannot",
    "too much",
    "breaks",
];

/// Words that say that it did.
const PLAYS: &[&str] = &[
    "plays",
    "play smoothly",
    "smooth",
    "fine",
    "without a hiccup",
    "without drop",
    "without dropping",
    "without stutter",
    "no dropped",
    "holds",
    "play ok",
    "no problem",
    "clean",
    "manages",
    "happily",
    "play",
];

/// Words that say that nothing failed, though one of [`FAILS`] stands in them.
const SMOOTH: &[&str] = &[
    "without dropping",
    "without drops",
    "without a hiccup",
    "no dropped",
    "without stutter",
    "without dropped",
    "does not drop",
    "doesn't drop",
    "doesn't stutter",
    "no stutter",
];

/// Words that only name the matter.
const MATTER: &[&str] = &["not play", "won't play", "playback", "play it", "played"];

/// The next of several, by its number.
const NEXT: &[(&str, f64)] = &[
    (" second ", 2.0),
    (" third ", 3.0),
    (" fourth ", 4.0),
    (" fifth ", 5.0),
    (" sixth ", 6.0),
    (" seventh ", 7.0),
    (" eighth ", 8.0),
];

/// More at once is not a number of layers.
const MOST: f64 = 32.0;

fn counted(unit: Unit) -> Option<Counted> {
    match unit {
        Unit::Layers => Some(Counted::Layers),
        Unit::Streams => Some(Counted::Streams),
        _ => None,
    }
}

/// What was seen of a film that plays, or does not.
pub(crate) fn playback(all: &[Amount], text: &str) -> Option<Measured> {
    if let Some(frames) = all.iter().find(|a| a.unit == Unit::FramesPerMinute) {
        return Some(made(frames, Counted::FramesPerMinute, 1.0));
    }
    let lower = text.to_lowercase();
    let without = |words: &[&str], by: &str| {
        words
            .iter()
            .fold(lower.clone(), |text, word| text.replace(word, by))
    };
    let smooth = without(SMOOTH, "fine");
    let fails = FAILS.iter().any(|word| smooth.contains(word));
    let range = all
        .iter()
        .find(|a| a.low < a.high && counted(a.unit).is_some());
    if let Some(range) = range {
        return Some(made(range, counted(range.unit)?, 1.0));
    }
    let counts = counts(all, &lower);
    let rate = all.iter().find(|a| matches!(a.unit, Unit::Data { .. }));
    if let (Some(rate), true) = (rate, counts.iter().all(|(count, _)| *count <= 1.0)) {
        let Unit::Data { over, .. } = rate.unit else {
            return None;
        };
        let mut found = made(rate, Counted::Rate(rate.unit), 1.0 / over.unwrap_or(1.0));
        if fails {
            found.low = None;
        } else {
            found.high = None;
        }
        return Some(found);
    }
    let plays = PLAYS.iter().any(|word| without(MATTER, "").contains(word));
    let (least, most) = (counts.first()?, counts.last()?);
    let (low, high) = match (counts.len(), fails) {
        (1, true) if plays && lower.contains("plays") => (Some(least.0), Some(least.0 + 1.0)),
        (1, true) => (None, Some(most.0)),
        (1, false) => (Some(least.0), None),
        _ => (Some(least.0), Some(most.0)),
    };
    Some(Measured {
        low,
        high,
        unit: most.1,
        size: None,
        spans: Vec::new(),
    })
}

/// How many at once are spoken of, the fewest first.
fn counts(all: &[Amount], lower: &str) -> Vec<(f64, Counted)> {
    let usual = if lower.contains("layer") {
        Counted::Layers
    } else {
        Counted::Streams
    };
    let mut found: Vec<(f64, Counted)> = all
        .iter()
        .filter_map(|a| Some((a.low, counted(a.unit)?)))
        .collect();
    let first = found.first().copied();
    let unit = first.map_or(usual, |(_, unit)| unit);
    for (word, count) in NEXT {
        let told = found.iter().any(|(known, _)| (known - count).abs() < 0.5);
        if lower.contains(word) && !told {
            found.push((*count, unit));
        }
    }
    // "plays two layers, stutters on three"; alone only where nothing else counts
    let of_material = |a: &&Amount| {
        let after = lower.get(a.span.end..).unwrap_or_default();
        let after = after.trim_start();
        ["fps", "p ", "p,", "frames", "bit"]
            .iter()
            .any(|word| after.starts_with(word))
            || after == "p"
    };
    let bare = all
        .iter()
        .filter(|a| a.unit == Unit::Bare && (1.0..=MOST).contains(&a.high))
        .filter(|a| !of_material(a));
    if first.is_some() {
        found.extend(bare.map(|a| (a.low, unit)));
    } else if found.is_empty() {
        found.extend(bare.take(1).map(|a| (a.low, unit)));
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found
}
