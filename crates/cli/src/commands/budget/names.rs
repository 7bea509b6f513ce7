//! Words for hops, limits and changes.

use crate::render::prose::{duration, rate, share};
use narrows_core::budget::{Change, Flow, HopKind, Limit};
use narrows_core::quantity::three_digits;
use narrows_core::work::Direction;

/// Site paths in short: those that differ only in the name are counted.
pub(crate) fn together<'a>(ids: impl Iterator<Item = &'a str>) -> String {
    let mut kinds: Vec<(String, usize, &str)> = Vec::new();
    for id in ids {
        let mut parts: Vec<&str> = id.split('.').collect();
        if let Some(name) = parts.get_mut(1) {
            *name = "*";
        }
        let kind = parts.join(".");
        match kinds.iter_mut().find(|(k, ..)| *k == kind) {
            Some((_, count, _)) => *count += 1,
            None => kinds.push((kind, 1, id)),
        }
    }
    kinds
        .into_iter()
        .map(|(kind, count, first)| {
            if count == 1 {
                first.to_owned()
            } else {
                format!("{kind} ({count} of them)")
            }
        })
        .collect::<Vec<_>>()
        .join(", ")
}

pub(crate) fn limits(flow: &Flow) -> String {
    let worth: Vec<&Limit> = flow
        .limits
        .iter()
        .filter(|l| l.share >= 0.1)
        .take(3)
        .collect();
    worth
        .iter()
        .map(|l| {
            let names: Vec<String> = l.hops.iter().map(|h| name_of(flow, h)).collect();
            let names = names.join(" with ");
            if l.share > 0.99 {
                names
            } else {
                format!("{names} {}", share(l.share))
            }
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// A hop in a few words.
fn name_of(flow: &Flow, id: &str) -> String {
    let Some(hop) = flow.hop(id) else {
        return id.to_owned();
    };
    match hop.kind {
        HopKind::Array => format!("array {}", hop.label),
        HopKind::Link => {
            // a run that may fall back has no one rate to name
            let at = hop
                .link_megabits_per_s
                .filter(|_| hop.link_is_certain)
                .map_or(String::new(), |r| format!(" at {r}"));
            format!("{id}{at}")
        }
        HopKind::Disk => "own disk".to_owned(),
        HopKind::Bus => hop.note.clone(),
        HopKind::Processor
        | HopKind::Window
        | HopKind::Requests
        | HopKind::Files
        | HopKind::Program => hop.label.clone(),
    }
}

/// After over before, as a range where there is one.
pub(crate) fn times(change: &Change) -> String {
    let (low, high) = (
        three_digits(change.factor_p05),
        three_digits(change.factor_p95),
    );
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

pub(crate) fn meaning(change: &Change) -> String {
    if !change.noticeable {
        return "no difference you would notice".to_owned();
    }
    match (change.gains_probability, change.loses_probability) {
        (g, l) if l < 0.01 && g > 0.99 => "faster".to_owned(),
        (g, l) if g < 0.01 && l > 0.99 => "slower".to_owned(),
        (g, l) if l < 0.01 => format!("faster in {} of cases", share(g)),
        (g, l) if g < 0.01 => format!("slower in {} of cases", share(l)),
        (g, l) => format!("faster in {}, slower in {} of cases", share(g), share(l)),
    }
}

/// A limit in a smaller share of the cases is named with "most often".
const MOSTLY: f64 = 0.6;

/// From this share on, a way most likely gives no link, which comes before any rate.
const MOST_LIKELY: f64 = 0.5;

/// The answer in a sentence or two.
pub(crate) fn headline(flows: &[Flow]) -> String {
    let dead = flows
        .iter()
        .max_by(|a, b| a.no_link_probability.total_cmp(&b.no_link_probability))
        .filter(|flow| flow.no_link_probability > MOST_LIKELY);
    let Some(dead) = dead else {
        return rates(flows);
    };
    format!(
        "In {} of cases a cable on the way of {} gives no link at all. Where it does: {}",
        share(dead.no_link_probability),
        dead.desk,
        rates(flows)
    )
}

fn rates(flows: &[Flow]) -> String {
    let by = |flow: &Flow| {
        flow.limits.first().map_or(String::new(), |l| {
            let often = if l.share < MOSTLY { "most often " } else { "" };
            format!(", held back {often}by {}", places_of(flow, &l.hops))
        })
    };
    if let [read, write] = flows
        && read.desk == write.desk
        && read.direction == Direction::Read
        && write.direction == Direction::Write
    {
        let subject = if read.desk.is_empty() {
            format!("On its own NAS, {} is", read.array)
        } else {
            format!("{} gets", read.desk)
        };
        let (r, w) = (by(read), by(write));
        let (r_rate, w_rate) = (
            rate(read.megabytes_per_s.p50),
            rate(write.megabytes_per_s.p50),
        );
        let verb = if read.desk.is_empty() { "read at" } else { "" };
        return if r == w {
            format!("{subject} {verb} {r_rate} MB/s reading and {w_rate} MB/s writing{r}; 100 GB take {} to read.", duration(read.hundred_gigabytes_s.p50))
        } else {
            format!("{subject} {verb} {r_rate} MB/s reading{r}, and {w_rate} MB/s writing{w}.")
        }
        .replace("gets  ", "gets ")
        .replace("is read at", "gives");
    }
    let key = |f: &&Flow| narrows_core::quantity::in_megabytes_per_second(f.megabytes_per_s.p50);
    let fastest = flows.iter().max_by(|a, b| key(a).total_cmp(&key(b)));
    let slowest = flows.iter().min_by(|a, b| key(a).total_cmp(&key(b)));
    let (Some(fastest), Some(slowest)) = (fastest, slowest) else {
        return String::new();
    };
    let say = |f: &Flow| {
        let who = if f.desk.is_empty() { &f.array } else { &f.desk };
        format!(
            "{who} {}s {} MB/s{}",
            f.direction.word(),
            rate(f.megabytes_per_s.p50),
            by(f)
        )
    };
    format!("Slowest: {}. Fastest: {}.", say(slowest), say(fastest))
}

/// One place, or several equally slow ones.
fn places_of(flow: &Flow, ids: &[String]) -> String {
    if let [id] = ids {
        return place_of(flow, id);
    }
    let notes: Vec<&str> = ids
        .iter()
        .filter_map(|id| flow.hop(id))
        .map(|h| h.note.as_str())
        .collect();
    let note = match notes.split_first() {
        Some((first, rest)) if rest.iter().all(|n| n == first) => format!(" ({first})"),
        Some((first, _)) => format!(" ({first})"),
        None => String::new(),
    };
    format!("{}, equally slow{note}", ids.join(" and "))
}

fn place_of(flow: &Flow, id: &str) -> String {
    let Some(hop) = flow.hop(id) else {
        return id.to_owned();
    };
    match hop.kind {
        HopKind::Array => format!("the array ({})", hop.label),
        HopKind::Link => format!("{id}, {} ({})", hop.label, hop.note),
        HopKind::Disk => "the desk's own disk".to_owned(),
        HopKind::Bus | HopKind::Processor => format!("{} ({})", hop.label, hop.note),
        HopKind::Window | HopKind::Requests | HopKind::Files | HopKind::Program => {
            hop.label.clone()
        }
    }
}
