//! What is not known, as people ask for it.

use super::places::Places;
use narrows_core::budget::{Answer, UnknownShare};
use narrows_core::site::{Assumption, SitePath};

/// An unknown that explains less of the scatter does not move an answer.
const MOVES: f64 = 0.05;

/// More kinds of unknowns than one line has room for.
const MOST_KINDS: usize = 5;

/// The field that an id ends with: what stands behind a stroke belongs to the part before it.
fn field(id: &str) -> &str {
    match id.rsplit('/').next() {
        Some(last) if id.contains('/') => last,
        _ => SitePath::field(id),
    }
}

/// What kind of thing it is, for a list: field, words, and minutes to find it out.
const KINDS: [(&str, &str, u32); 24] = [
    ("signed", "signing", 2),
    ("encrypted", "encryption", 2),
    ("client", "how the desks reach the share", 2),
    ("cpu", "the processors", 2),
    ("cores", "how many cores", 2),
    ("overlap", "how the copy programs work", 5),
    ("disk", "the disks of desks", 2),
    ("capacity", "how large the disks are", 2),
    ("disk-fill", "how full the disks are", 2),
    ("fill", "how full the array is", 2),
    ("rates", "which rates the ports know", 5),
    ("rate", "the rates of ports", 5),
    ("cable", "what cable it is", 5),
    ("length", "how long the cables are", 10),
    ("bundle", "how the cables lie", 5),
    ("carries", "what the cables hold", 5),
    ("shadow", "the signal through the air", 2),
    ("round-trip", "the round trip", 2),
    ("outer-rate", "the rate of the drives", 5),
    ("drives", "the drives", 5),
    ("array", "the array", 5),
    ("memory", "the memory of the NAS", 2),
    ("service", "the file service", 2),
    ("switch", "whether there is a switch", 2),
];

fn kind(id: &str) -> Option<&'static (&'static str, &'static str, u32)> {
    KINDS.iter().find(|(name, ..)| *name == field(id))
}

/// What an unknown is called in a list of kinds.
pub(crate) fn label(id: &str) -> String {
    kind(id).map_or_else(|| id.to_owned(), |(_, words, _)| (*words).to_owned())
}

/// What is asked, of one place.
fn asked(id: &str, places: Places<'_>) -> String {
    let parts: Vec<&str> = id.split(['.', '/']).collect();
    let name = parts.get(1).copied().unwrap_or_default();
    match (parts.first().copied().unwrap_or_default(), field(id)) {
        ("nas", "signed") => format!("whether {} signs its packets", places.nas(name)),
        ("nas", "encrypted") => format!("whether {} encrypts", places.nas(name)),
        ("nas", "cpu") => format!("which processor {} has", places.nas(name)),
        ("desk", "client") => format!("how {name} reaches the share"),
        ("desk", "signed") => format!("whether {name} signs its packets"),
        ("desk", "cpu") => format!("which processor {name} has"),
        ("desk", "disk") => format!("which disk {name} has"),
        ("desk", "overlap") => {
            format!("whether the copy program of {name} reads and writes at the same time")
        }
        ("run", "cable") => format!("what cable it is: {}", places.name(&run(name), None)),
        ("run", "length") => format!("how long it is: {}", places.name(&run(name), None)),
        ("run", "bundle") => format!("how it lies: {}", places.name(&run(name), None)),
        ("run", "carries") => {
            let cable = places.name(&run(name), None);
            format!("what it holds, from the rate and the error counters of both ends: {cable}")
        }
        ("run", "shadow") => format!("the signal in dBm: {}", places.name(&run(name), None)),
        ("array", "fill") => format!("how full {name} is"),
        ("array", "outer-rate") => format!("how fast the drives of {name} are"),
        ("array", _) if id.contains("drives") => format!("which drives {name} has"),
        _ => kind(id).map_or_else(|| id.to_owned(), |(_, words, _)| (*words).to_owned()),
    }
}

fn run(number: &str) -> String {
    format!("run.{number}")
}

/// An option as people say it.
fn option(id: &str, word: &str) -> String {
    match (field(id), word) {
        ("client", "kernel") => "by the system".to_owned(),
        ("client", "user-space") => "by a program of its own".to_owned(),
        ("client", "old") => "by an old version".to_owned(),
        ("overlap", "yes") => "at the same time".to_owned(),
        ("overlap", "no") => "one after the other".to_owned(),
        ("encrypted", "yes") => "encrypted".to_owned(),
        ("encrypted", "no") => "not encrypted".to_owned(),
        _ => word.to_owned(),
    }
}

/// The next step that finds an unknown out, and what each outcome means.
pub(crate) fn step(
    unknown: &UnknownShare,
    assumptions: &[Assumption],
    places: Places<'_>,
) -> String {
    let id = unknown.id.as_str();
    let how = assumptions
        .iter()
        .find(|a| id == a.id || id.starts_with(&format!("{}/", a.id)))
        .map_or("", |a| a.find_out.trim_end_matches('.'));
    // what may be found is told by the outcomes
    let how = how.split(':').next().unwrap_or_default();
    let minutes = kind(id).map_or(String::new(), |(_, _, minutes)| format!(" ({minutes} min)"));
    let outcomes: Vec<String> = unknown
        .outcomes
        .iter()
        .map(|o| {
            let rate = super::prose::rate(o.rate);
            format!("{} {rate}", option(id, &o.option))
        })
        .collect();
    let then = if outcomes.len() < 2 {
        ".".to_owned()
    } else {
        format!(". MB/s then: {}.", outcomes.join(", "))
    };
    let how = if how.is_empty() {
        String::new()
    } else {
        format!(": {how}")
    };
    format!("find out {}{minutes}{how}{then}", asked(id, places))
}

/// What was assumed, in one statement: the kinds that move the answers, and how many values more.
pub(crate) fn assumed(answer: &Answer, site: &str) -> Option<String> {
    let mut moving: Vec<(f64, &str)> = Vec::new();
    for unknown in answer.flows.iter().flat_map(|flow| &flow.unknowns) {
        if unknown.can_be_found_out && unknown.share >= MOVES {
            moving.push((unknown.share, &unknown.id));
        }
    }
    moving.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    let ids: Vec<&str> = moving.into_iter().map(|(_, id)| id).collect();
    assumed_of(&ids, &answer.assumptions, site)
}

/// As [`assumed`], of the ids that matter most, first.
fn assumed_of(ids: &[&str], all: &[Assumption], site: &str) -> Option<String> {
    let of = |a: &Assumption, id: &str| id == a.id || id.starts_with(&format!("{}/", a.id));
    let assumed = ids.iter().filter(|id| all.iter().any(|a| of(a, id)));
    let mut kinds: Vec<String> = Vec::new();
    for id in assumed {
        let words = label(id);
        if kinds.len() < MOST_KINDS && !kinds.contains(&words) {
            kinds.push(words);
        }
    }
    if all.is_empty() {
        return None;
    }
    let rest = all
        .iter()
        .filter(|a| !kinds.contains(&label(&a.id)))
        .count();
    let more = match (kinds.is_empty(), rest) {
        (true, 1) => "1 value that nobody stated".to_owned(),
        (true, _) => format!("{rest} values that nobody stated"),
        (false, 0) => String::new(),
        (false, _) => format!(", {rest} more"),
    };
    let list = match site {
        "" => String::new(),
        _ => format!(" All, with how to find out: narrows check {site}"),
    };
    Some(format!("Assumed: {}{more}.{list}", kinds.join(", ")))
}

/// Kinds of unknowns that decide most often, where nobody has worked out how much.
const USUAL: [&str; 6] = ["signed", "client", "outer-rate", "cable", "fill", "cpu"];

/// What was assumed of many desks at once.
pub(crate) fn assumed_usually(all: &[Assumption], site: &str) -> Option<String> {
    let kind_of = |kind: &&'static str| all.iter().find(|a| field(&a.id) == *kind);
    let ids: Vec<&str> = USUAL
        .iter()
        .filter_map(kind_of)
        .map(|a| a.id.as_str())
        .collect();
    assumed_of(&ids, all, site)
}

/// What to find out first, by what decides most often.
pub(crate) fn first_of(all: &[Assumption]) -> Option<String> {
    let kind_of = |wanted: &&'static str| all.iter().find(|a| field(&a.id) == *wanted);
    let first = USUAL.iter().find_map(kind_of).or_else(|| all.first())?;
    let minutes = kind(&first.id).map_or(String::new(), |(_, _, min)| format!(" ({min} min)"));
    Some(format!(
        "find out {} first: {}{minutes}.",
        label(&first.id),
        first.find_out.trim_end_matches('.')
    ))
}
